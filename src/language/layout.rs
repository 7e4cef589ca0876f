//! The layout of a sheet: header lines, blocks, and the entries of a block by their indentation.

use std::ops::Range;

use super::words;
use crate::unit::slips;

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
    /// Those that a word opens, in their order.
    pub(super) fn all() -> impl Iterator<Item = Self> {
        Self::NAMED.iter().map(|(_, block)| *block)
    }

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

    /// The block that a head means which names none: by its nearest word, else the one that is not there.
    fn meant_by(head: &str, after: Self, there: &[Self]) -> Option<Self> {
        let head = head.to_lowercase();
        let first = head.split(|sign: char| !sign.is_alphabetic()).find(|word| !word.is_empty())?;
        let near = MEANT.iter().filter_map(|(word, block)| {
            let far = slips(first, word);
            (far <= (word.len() / 3).max(1)).then_some((far, *block))
        });
        let missing = || Self::all().find(|block| *block > after && !there.contains(block));
        // of two that are as near the one whose place it is
        let elsewhere = |block: &Self| *block <= after || there.contains(block);
        near.min_by_key(|(far, block)| (*far, elsewhere(block)))
            .map(|(_, block)| block)
            .or_else(missing)
    }
}

/// The words that open a block, in their order.
pub(crate) fn block_words() -> impl Iterator<Item = &'static str> {
    Block::all().map(Block::word)
}

/// The word of the block that a line opens.
pub(crate) fn block_word(line: &str) -> Option<&'static str> {
    Block::opened_by(line.trim_end()).map(Block::word)
}

/// What people write over a block, with the block that it means.
const MEANT: &[(&str, Block)] = &[
    ("uses", Block::Uses),
    ("imports", Block::Uses),
    ("takes", Block::Takes),
    ("inputs", Block::Takes),
    ("given", Block::Takes),
    ("parameters", Block::Takes),
    ("works", Block::Works),
    ("calculation", Block::Works),
    ("formulas", Block::Works),
    ("equations", Block::Works),
    ("holds", Block::Holds),
    ("checks", Block::Holds),
    ("limits", Block::Holds),
    ("conditions", Block::Holds),
    ("gives", Block::Gives),
    ("results", Block::Gives),
    ("outputs", Block::Gives),
];

/// One entry: a line of a block with the lines that continue it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Entry {
    pub(super) block: Block,
    /// An indented line below no block.
    pub(super) stray: bool,
    /// Bytes from the first sign to the end of the last line, comments inside included.
    pub(super) span: Range<usize>,
}

/// What the layout alone says is wrong.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum LayoutError {
    /// A block word that stands after a later block, or twice.
    Order { word: Range<usize>, block: Block, after: Block },
    /// A line over indented lines that names no block, or a block word that is indented; with the block it means.
    Head { word: Range<usize>, meant: Block },
    /// A line of a block that stands at the edge, the first of several.
    Edge { line: Range<usize>, block: Block },
    /// The first line of a block whose head is not there.
    NoHead { line: Range<usize>, block: Block },
}

/// Cuts a text into entries; with the blocks whose heads are there, misspelt or not.
pub(super) fn entries(text: &str) -> (Vec<Entry>, Vec<LayoutError>, Vec<Block>) {
    let mut entries: Vec<Entry> = Vec::new();
    let mut slips = Vec::new();
    // the furthest block, that of the lines that follow, and that of a line at the edge
    let (mut block, mut reading) = (Block::Header, Block::Header);
    let mut block_indent: Option<usize> = None;
    let mut opened: Option<usize> = None;
    let mut at_edge = false;
    let lines = lines(text);
    let mut there: Vec<Block> =
        lines.iter().filter(|line| line.indent == 0).filter_map(|line| line.head()).collect();
    for (line, next) in lines.iter().zip(lines.iter().skip(1).map(Some).chain([None])) {
        let span = line.span.clone();
        let over_indented = next.is_some_and(|next| next.indent > 0);
        let misspelt = line.indent == 0 && over_indented && line.is_bare();
        let meant = || Block::meant_by(line.text, reading, &there);
        let head = match line.head() {
            Some(found) => Some((found, line.indent == 0)),
            None if misspelt => meant().map(|found| (found, false)),
            None => None,
        };
        if let Some((found, is_right)) = head {
            if !is_right {
                slips.push(LayoutError::Head { word: span, meant: found });
            } else if found <= block {
                slips.push(LayoutError::Order { word: span, block: found, after: block });
            }
            there.push(found);
            // an entry of a misplaced block is still read as what it is
            (block, reading) = (found.max(block), found);
            (block_indent, opened, at_edge) = (None, None, false);
            continue;
        }
        if line.indent == 0 {
            let header = reading == Block::Header || line.is_of_the_header();
            if !header && !std::mem::replace(&mut at_edge, true) {
                slips.push(LayoutError::Edge { line: span.clone(), block: reading });
            }
            (block_indent, opened) = (None, None);
            let block = if header { Block::Header } else { reading };
            entries.push(Entry { block, stray: false, span });
            continue;
        }
        let level = *block_indent.get_or_insert(line.columns);
        match (line.columns > level, opened.and_then(|last| entries.get_mut(last))) {
            (true, Some(entry)) => entry.span.end = span.end,
            _ => {
                opened = Some(entries.len());
                entries.push(Entry { block: reading, stray: reading == Block::Header, span });
            }
        }
    }
    (entries, slips, there)
}

/// An entry cut once more by the indentation of what stands below its first line: the first line, with those that go on
/// behind a comma, then each line below with those that are indented further.
pub(super) fn below(text: &str, entry: &Entry) -> (Range<usize>, Vec<Entry>) {
    let start = entry.span.start;
    let mut head = start..start;
    let mut cut: Vec<Entry> = Vec::new();
    let mut level = None;
    for line in lines(text.get(entry.span.clone()).unwrap_or_default()) {
        let span = line.span.start + start..line.span.end + start;
        let goes_on = text.get(head.clone()).is_none_or(|it| it.is_empty() || it.ends_with(','));
        if cut.is_empty() && goes_on {
            head.end = span.end;
            continue;
        }
        match cut.last_mut() {
            Some(last) if line.columns > *level.get_or_insert(line.columns) => {
                last.span.end = span.end;
            }
            _ => {
                level.get_or_insert(line.columns);
                cut.push(Entry { span, ..entry.clone() });
            }
        }
    }
    (head, cut)
}

/// A line that says something.
struct Line<'a> {
    /// Without comment and blanks around.
    text: &'a str,
    span: Range<usize>,
    indent: usize,
    columns: usize,
}

impl Line<'_> {
    fn head(&self) -> Option<Block> {
        Block::opened_by(self.text)
    }

    /// Words alone, as a head has them: no formula, no text, no name with its kind.
    fn is_bare(&self) -> bool {
        let words = self.text.trim_matches(|sign: char| !sign.is_alphanumeric());
        let is_word =
            |sign: char| sign.is_alphanumeric() || sign.is_whitespace() || "_-'".contains(sign);
        !words.is_empty() && words.chars().all(is_word) && !self.is_of_the_header()
    }

    fn is_of_the_header(&self) -> bool {
        let first = self.text.split_whitespace().next().unwrap_or_default();
        words::HEADER.contains(&first)
    }
}

fn lines(text: &str) -> Vec<Line<'_>> {
    let mut lines = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let start = at;
        at += line.len();
        let content = without_comment(line);
        let text = content.trim();
        if text.is_empty() {
            continue;
        }
        let indent = content.len() - content.trim_start().len();
        let span = start + indent..start + content.trim_end().len();
        lines.push(Line { text, span, indent, columns: columns(content, indent) });
    }
    lines
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
