//! A report as plain text: aligned columns, long sentences in lines.

use unicode_width::UnicodeWidthStr as _;

use super::{DISCLAIMER, Table};

/// The most columns of a line of prose that is still easy to read.
pub const PROSE: usize = 100;

/// A table below a free line.
#[must_use]
pub fn table(table: &Table) -> Vec<String> {
    let heads = table.columns.iter().map(|column| column.head.to_owned()).collect();
    let count = table.columns.len();
    let rows: Vec<Vec<String>> = table
        .headed
        .then_some(heads)
        .into_iter()
        .chain(table.rows.iter().map(|row| row.iter().take(count).cloned().collect()))
        .collect();
    let mut lines = vec![String::new(), table.title.clone()];
    lines.extend(
        aligned(&rows).into_iter().chain(table.notes.clone()).map(|line| format!("  {line}")),
    );
    lines
}

/// A heading below a free line, and below it texts that may be long.
#[must_use]
pub fn list<T: AsRef<str>>(title: &str, texts: &[T], width: usize) -> Vec<String> {
    if texts.is_empty() {
        return Vec::new();
    }
    let mut lines = vec![String::new(), title.to_owned()];
    for text in texts {
        let parts = wrapped(text.as_ref(), width.saturating_sub(4));
        let marks = std::iter::once("  - ").chain(std::iter::repeat("    "));
        lines.extend(marks.zip(parts).map(|(mark, part)| format!("{mark}{part}")));
    }
    lines
}

/// A sentence in lines below a free line.
#[must_use]
pub fn paragraph(text: &str, width: usize) -> Vec<String> {
    std::iter::once(String::new()).chain(wrapped(text, width)).collect()
}

/// What stands at the end of every report: the cautions, and what every report says once.
#[must_use]
pub fn closing(cautions: &[&str], width: usize) -> Vec<String> {
    let mut lines = list("cautions", cautions, width);
    lines.extend(paragraph(DISCLAIMER, width));
    lines
}

/// Rows with their cells padded to the width of their column; the last cell of a row is not padded.
#[must_use]
pub fn aligned(rows: &[Vec<String>]) -> Vec<String> {
    let mut widths: Vec<usize> = Vec::new();
    for row in rows {
        for (at, cell) in row.iter().enumerate() {
            match widths.get_mut(at) {
                Some(width) => *width = (*width).max(cell.width()),
                None => widths.push(cell.width()),
            }
        }
    }
    rows.iter()
        .map(|row| {
            let mut line = String::new();
            for (cell, width) in row.iter().zip(&widths) {
                line.push_str(cell);
                line.push_str(&" ".repeat(width.saturating_sub(cell.width()) + 2));
            }
            line.trim_end().to_owned()
        })
        .collect()
}

/// A long text in lines of at most so many columns.
#[must_use]
pub fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            // a number is not torn from its sign
            Some(line) if word.starts_with('%') || line.width() + 1 + word.width() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A line of columns or of words within so many columns: what does not fit goes on below the start of its own column,
/// or, where too little room is left there, a little further in than the line. A picture of a place in a text (`│`) and a
/// command to be copied stay whole.
///
/// ```
/// use standstill::report::text::fitted;
/// assert_eq!(
///     fitted("  S  2195 mm  rests on T_used and K_used", 30),
///     ["  S  2195 mm  rests on T_used", "              and K_used"]
/// );
/// ```
#[must_use]
pub fn fitted(line: &str, width: usize) -> Vec<String> {
    let words = line.trim_start();
    let whole = words.starts_with("standstill ") || words.contains('│');
    if line.width() <= width || width < 20 || whole {
        return vec![line.to_owned()];
    }
    let begin = line.len() - words.len();
    let columns = line.char_indices().filter_map(|(at, _)| {
        let (head, rest) = line.split_at(at);
        let starts = head.ends_with("  ") && !rest.starts_with(' ') && !head.trim().is_empty();
        (starts && head.width() <= width * 3 / 5).then(|| head.width())
    });
    let indent = columns.max().unwrap_or(begin + 2);
    let mut lines = Vec::new();
    let mut rest = line.to_owned();
    while rest.width() > width {
        let Some(at) = last_gap(&rest, indent, width) else { break };
        let (head, tail) = rest.split_at(at);
        let tail = " ".repeat(indent) + tail.trim_start();
        lines.push(head.trim_end().to_owned());
        rest = tail;
    }
    lines.push(rest);
    lines
}

/// The blank at which a line is broken: the last one between two columns if it leaves the line more than half full, else
/// the last one between two words that does not tear a number from its unit, else the next one.
fn last_gap(line: &str, indent: usize, width: usize) -> Option<usize> {
    let blanks = line.match_indices(' ').filter_map(|(at, _)| Some((at, line.get(..at)?)));
    let gaps: Vec<(usize, &str)> =
        blanks.filter(|(_, head)| !head.ends_with(' ') && !head.is_empty()).collect();
    let inside = gaps.get(..gaps.partition_point(|(_, head)| head.width() <= width))?;
    let between = |(at, head): &&(usize, &str)| {
        line.get(*at..).is_some_and(|rest| rest.starts_with("  "))
            && head.width() > indent.max(width / 2)
    };
    let words = |(_, head): &&(usize, &str)| !head.ends_with(|it: char| it.is_ascii_digit());
    let last = inside.iter().rfind(between).or_else(|| inside.iter().rfind(words));
    last.or(inside.last()).or(gaps.first()).map(|(at, _)| *at)
}
