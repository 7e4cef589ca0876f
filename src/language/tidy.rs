//! Blanks of a sheet put in order, nothing else: comments stay, and a line that is in order stays as it is.

use std::collections::BTreeMap;

use super::layout::{Block, columns, without_comment};
use super::parse::parse;
use super::print::{check, definition, give, group, print, take, used};
use crate::diagnostic::Source;

/// Blanks before an entry of a block.
const INDENT: usize = 2;

/// A sheet with its blanks in order: entries indented by two, lines that continue one as far beyond it as before, one
/// empty line before a block and none after its word, blanks inside a line as the language prints them.
///
/// Columns that stand under one another are left as they are, so that a change of one line never moves others. Only
/// blanks and empty lines differ from the text; where that cannot be kept, the text comes back unchanged. Lines end as
/// the first one does, and a mark of the byte order stays.
///
/// # Example
/// ```
/// use standstill::language::tidy;
/// let text = "sheet s\ntitle \"t\"\nworks\n\n    a=2*b   # twice\n\n\n    c   =   a \n";
/// assert_eq!(tidy(text), "sheet s\ntitle \"t\"\n\nworks\n  a = 2 * b   # twice\n\n  c   =   a\n");
/// ```
#[must_use]
pub fn tidy(text: &str) -> String {
    let begin = if text.starts_with('\u{feff}') { "\u{feff}" } else { "" };
    let plain = text.strip_prefix(begin).unwrap_or(text).replace("\r\n", "\n");
    let tidied = lines(&plain);
    let (before, after) = (parse(&Source::new("", &*plain)), parse(&Source::new("", &*tidied)));
    let comments =
        |text: &str| text.lines().filter_map(comment).map(str::to_owned).collect::<Vec<_>>();
    let same = print(&before.0) == print(&after.0)
        && before.1.len() == after.1.len()
        && comments(&plain) == comments(&tidied);
    // lines end as the first one does
    let returns = text.split_once('\n').is_some_and(|(first, _)| first.ends_with('\r'));
    match (same, returns) {
        (false, _) => text.to_owned(),
        (true, true) => format!("{begin}{}", tidied.replace('\n', "\r\n")),
        (true, false) => format!("{begin}{tidied}"),
    }
}

/// The comment of a line, `#` included.
fn comment(line: &str) -> Option<&str> {
    line.get(without_comment(line).len()..).map(str::trim_end).filter(|rest| !rest.is_empty())
}

fn lines(text: &str) -> String {
    let printed = printed(text);
    let mut out: Vec<String> = Vec::new();
    let mut level: Option<usize> = None;
    let mut shift = 0_isize;
    for (at, line) in text.lines().enumerate() {
        let content = without_comment(line);
        let trimmed = content.trim();
        let note = comment(line);
        let indent = line.len() - line.trim_start().len();
        let width = columns(line, indent);
        if trimmed.is_empty() && note.is_none() {
            if out.last().is_some_and(|last| !last.is_empty() && Block::opened_by(last).is_none()) {
                out.push(String::new());
            }
            continue;
        }
        if indent == 0 {
            level = None;
            if Block::opened_by(trimmed).is_some()
                && out.last().is_some_and(|last| !last.is_empty() && !last.starts_with('#'))
            {
                out.push(String::new());
            }
            out.push(line.trim_end().to_owned());
            continue;
        }
        let beyond = level.is_some_and(|level| width > level);
        if !beyond && !trimmed.is_empty() {
            level.get_or_insert(width);
            shift = INDENT.cast_signed() - width.cast_signed();
        }
        let indent = match beyond {
            true => width.checked_add_signed(shift).unwrap_or(INDENT).max(INDENT + 1),
            false => INDENT,
        };
        let alone = !beyond && !trimmed.is_empty();
        let own = printed.get(&at).filter(|own| alone && squeezed(own) != squeezed(trimmed));
        let own = own.filter(|own| bare(own) == bare(trimmed)).map_or(trimmed, String::as_str);
        let gap = content.len() - content.trim_end().len();
        let tail = match note {
            Some(note) if !trimmed.is_empty() => format!("{}{note}", " ".repeat(gap.max(1))),
            Some(note) => note.to_owned(),
            None => String::new(),
        };
        out.push(format!("{}{own}{tail}", " ".repeat(indent)).trim_end().to_owned());
    }
    while out.last().is_some_and(String::is_empty) {
        out.pop();
    }
    out.join("\n") + "\n"
}

/// Entries that stand in one line, as the language prints them, by the line.
fn printed(text: &str) -> BTreeMap<usize, String> {
    let source = Source::new("", text);
    let (tree, _) = parse(&source);
    let uses = tree.uses.iter().map(|it| (it.span.clone(), used(it)));
    let takes = tree.takes.iter().map(|it| (it.span.clone(), take(it)));
    let groups = tree.groups.iter().map(|it| (it.span.clone(), group(it)));
    let works = tree.works.iter().map(|it| (it.span.clone(), definition(it)));
    let holds = tree.holds.iter().map(|it| (it.span.clone(), check(it)));
    let gives = tree.gives.iter().map(|it| (it.span.clone(), give(it)));
    uses.chain(takes)
        .chain(groups)
        .chain(works)
        .chain(holds)
        .chain(gives)
        .filter(|(span, own)| {
            !own.contains('\n') && text.get(span.clone()).is_some_and(|it| !it.contains('\n'))
        })
        .map(|(span, own)| (source.line_and_column(span.start).0.saturating_sub(1), own))
        .collect()
}

/// Without blanks, but for those inside a text.
fn bare(line: &str) -> String {
    let parts = line.split('"').enumerate();
    parts
        .map(|(at, part)| match at % 2 {
            0 => part.split_whitespace().collect(),
            _ => format!("\"{part}\""),
        })
        .collect()
}

/// With one blank where there are some, and none about the signs of a product, which stand as their author likes them;
/// but for those inside a text.
fn squeezed(line: &str) -> String {
    let parts = line.split('"').enumerate().map(|(at, part)| match at % 2 {
        0 => {
            let spaced = part.split_whitespace().collect::<Vec<_>>().join(" ");
            spaced.replace(" * ", "*").replace(" / ", "/")
        }
        _ => part.to_owned(),
    });
    parts.collect::<Vec<_>>().join("\"")
}
