//! The layout of a sheet: header lines, blocks, and the entries of a block by their indentation.

use std::ops::Range;

/// A block of a sheet, in the order in which blocks stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Block {
    Header,
    Uses,
    Takes,
    Works,
    Holds,
    Gives,
}

impl Block {
    const NAMED: [(&'static str, Self); 5] = [
        ("uses", Self::Uses),
        ("takes", Self::Takes),
        ("works", Self::Works),
        ("holds", Self::Holds),
        ("gives", Self::Gives),
    ];

    /// The word that opens it.
    pub(super) fn word(self) -> &'static str {
        Self::NAMED.iter().find(|(_, block)| *block == self).map_or("the header", |(word, _)| word)
    }

    pub(super) fn opened_by(line: &str) -> Option<Self> {
        let line = line.strip_suffix(':').unwrap_or(line).trim_end();
        Self::NAMED.iter().find(|(word, _)| *word == line).map(|(_, block)| *block)
    }
}

/// One entry: a line of a block with the lines that continue it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Entry {
    pub(super) block: Block,
    /// Bytes from the first sign to the end of the last line, comments inside included.
    pub(super) span: Range<usize>,
}

/// What the layout alone says is wrong.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum LayoutError {
    /// A block word that stands after a later block, or twice.
    Order { word: Range<usize>, block: Block, after: Block },
    /// An indented line before any block.
    Stray(Range<usize>),
}

/// Cuts a text into entries.
pub(super) fn entries(text: &str) -> (Vec<Entry>, Vec<LayoutError>) {
    let mut entries: Vec<Entry> = Vec::new();
    let mut slips = Vec::new();
    let mut block = Block::Header;
    let mut block_indent: Option<usize> = None;
    let mut opened: Option<usize> = None;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let start = at;
        at += line.len();
        let content = without_comment(line);
        let trimmed = content.trim();
        if trimmed.is_empty() {
            continue;
        }
        let indent = content.len() - content.trim_start().len();
        let span = start + indent..start + content.trim_end().len();
        if indent == 0 {
            block_indent = None;
            if let Some(next) = Block::opened_by(trimmed) {
                if next <= block {
                    slips.push(LayoutError::Order { word: span, block: next, after: block });
                }
                block = next.max(block);
                // an entry of a misplaced block is still read as what it is
                opened = None;
                entries.push(Entry { block: next, span: start..start });
                continue;
            }
            entries.push(Entry { block: Block::Header, span });
            opened = None;
            continue;
        }
        let here = entries.last().map(|entry| entry.block);
        match here {
            None | Some(Block::Header) => slips.push(LayoutError::Stray(span)),
            Some(current) => {
                let columns = columns(content, indent);
                let level = *block_indent.get_or_insert(columns);
                match (columns > level, opened.and_then(|last| entries.get_mut(last))) {
                    (true, Some(entry)) => entry.span.end = span.end,
                    _ => {
                        opened = Some(entries.len());
                        entries.push(Entry { block: current, span });
                    }
                }
            }
        }
    }
    entries.retain(|entry| !entry.span.is_empty());
    (entries, slips)
}

/// Width of the indentation, a tab counted to the next multiple of four.
pub(super) fn columns(line: &str, indent: usize) -> usize {
    line.chars()
        .take(indent)
        .fold(0, |width, sign| if sign == '\t' { width / 4 * 4 + 4 } else { width + 1 })
}

/// A line without its comment; `#` inside a text is no comment.
pub(crate) fn without_comment(line: &str) -> &str {
    let mut inside = false;
    for (at, sign) in line.char_indices() {
        match sign {
            '"' => inside = !inside,
            '#' if !inside => return line.get(..at).unwrap_or(line),
            _ => {}
        }
    }
    line
}

/// A part of a sheet's text in one line: without line ends, comments and runs of blanks.
pub(crate) fn one_line(text: &str) -> String {
    text.lines().map(without_comment).flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}
