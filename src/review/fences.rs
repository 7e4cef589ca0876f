//! The fenced blocks of a document: those that are calculated, and those that were meant to be and are not.

use std::ops::Range;
use std::sync::Arc;

use pulldown_cmark::{CodeBlockKind, Event, Parser, Tag, TagEnd};

use super::block;
use super::model::options;
use crate::diagnostic::{Diagnostic, Name, Place, Source};

/// A block that is calculated.
pub(super) struct Fence {
    /// All of it.
    pub(super) all: Range<usize>,
    /// The words after its fence.
    pub(super) info: String,
    /// What stands between its fences.
    pub(super) body: Range<usize>,
}

/// The blocks that are calculated, in their order. One that Markdown takes for something else would be gone
/// without a word, and with it its checks: it is a problem.
pub(super) fn find(source: &Arc<Source>, problems: &mut Vec<Diagnostic>) -> Vec<Fence> {
    let text = &source.text;
    let mut found: Vec<Fence> = Vec::new();
    let mut open = false;
    for (event, range) in Parser::new_ext(text, options()).into_offset_iter() {
        match event {
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                open = block::is_sheet(&info);
                if open {
                    let body = range.end..range.end;
                    found.push(Fence { all: range, info: info.to_string(), body });
                }
            }
            Event::Text(_) if open => {
                if let Some(Fence { all, body, .. }) = found.last_mut() {
                    let start = if body.start == all.end { range.start } else { body.start };
                    *body = start..range.end;
                }
            }
            Event::End(TagEnd::CodeBlock) => open = false,
            _ => {}
        }
    }
    let mut quoted: Vec<usize> = Vec::new();
    let passed_over = lines(text).filter_map(|(at, line)| {
        let fence = written_fence(line)?;
        let start = at + (line.len() - fence.text.len());
        let inside = |all: &Range<usize>| all.start < start && start < all.end;
        let first = found.iter().any(|it| (at..=start).contains(&it.all.start));
        if first && line.get(..line.len() - fence.text.len())?.contains('>') {
            quoted.push(start);
            return Some(Passed::Quoted.at(source, start, &fence));
        }
        let known = first || found.iter().any(|it| inside(&it.all));
        (!known).then(|| fence.kind().at(source, start, &fence))
    });
    problems.extend(passed_over.collect::<Vec<_>>());
    found.retain(|it| !quoted.iter().any(|start| it.all.contains(start)));
    found
}

/// A line that opens a block, after blanks and the marks of lists and quotations.
struct Written<'a> {
    /// From its fence on.
    text: &'a str,
    /// The words after it.
    info: &'a str,
}

/// Why a block is not calculated.
enum Passed {
    /// Its words are not those of a block that is calculated, and were meant to be.
    Meant,
    /// It stands in HTML, is indented, or within another block.
    Around,
    /// It stands in a quotation, whose marks would be part of every line.
    Quoted,
}

/// Each line with the place at which it starts.
fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.split_inclusive('\n').scan(0, |at, line| {
        let start = *at;
        *at += line.len();
        Some((start, line.trim_end_matches(['\n', '\r'])))
    })
}

fn written_fence(line: &str) -> Option<Written<'_>> {
    let mark = |it: char| it.is_whitespace() || it.is_ascii_digit() || ">-*+.)".contains(it);
    let text = line.trim_start_matches(mark);
    let info = ["``", "~~"].iter().find_map(|two| {
        let rest = text.strip_prefix(two)?;
        Some(rest.trim_start_matches(two.get(..1)?))
    })?;
    let bare = bare(info);
    let asked = block::is_sheet(&bare) || block::meant(&bare).is_some();
    // a code span in running text ends on its line
    (asked && !info.contains('`')).then_some(Written { text, info })
}

/// The words after a fence without the signs that some put around them.
fn bare(info: &str) -> String {
    info.trim().trim_start_matches(['{', '.']).replace('}', " ")
}

impl Written<'_> {
    fn kind(&self) -> Passed {
        match block::is_sheet(self.info) {
            true => Passed::Around,
            false => Passed::Meant,
        }
    }
}

impl Passed {
    fn at(&self, source: &Arc<Source>, start: usize, fence: &Written<'_>) -> Diagnostic {
        let word = fence.info.split_whitespace().next().unwrap_or_default();
        let headline = match self {
            Self::Meant => format!("a block marked `{word}` is text and is not calculated"),
            Self::Around => "this block is text and is not calculated: a comment, HTML, another fence or blanks before it make it so".to_owned(),
            Self::Quoted => "a block in a quotation is text and is not calculated".to_owned(),
        };
        let remedy = match self {
            Self::Meant => {
                let bare = bare(fence.info);
                let meant = block::meant(&bare).unwrap_or(bare);
                format!("write `{meant}`; a block that is only to be shown is marked `text`")
            }
            Self::Around => "close what stands open before it, put an empty line before it and its fence of three marks at the beginning of its line; a block that is only to be shown is marked `text`".to_owned(),
            Self::Quoted => "take the `>` before its lines away".to_owned(),
        };
        Diagnostic::error(Name::ReviewLine, headline)
            .at(Place::text(source, start..start + fence.text.len()))
            .remedy(remedy)
    }
}
