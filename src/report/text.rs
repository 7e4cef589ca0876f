//! A report as plain text: aligned columns, long sentences in lines.

use unicode_width::UnicodeWidthStr as _;

use super::{DISCLAIMER, Table};

/// Columns of a line of prose.
const WIDTH: usize = 100;

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
pub fn list<T: AsRef<str>>(title: &str, texts: &[T]) -> Vec<String> {
    if texts.is_empty() {
        return Vec::new();
    }
    let mut lines = vec![String::new(), title.to_owned()];
    for text in texts {
        let parts = wrapped(text.as_ref(), WIDTH - 4);
        let marks = std::iter::once("  - ").chain(std::iter::repeat("    "));
        lines.extend(marks.zip(parts).map(|(mark, part)| format!("{mark}{part}")));
    }
    lines
}

/// A sentence in lines below a free line.
#[must_use]
pub fn paragraph(text: &str) -> Vec<String> {
    std::iter::once(String::new()).chain(wrapped(text, WIDTH)).collect()
}

/// What stands at the end of every report: the cautions, and what every report says once.
#[must_use]
pub fn closing(cautions: &[&str]) -> Vec<String> {
    let mut lines = list("cautions", cautions);
    lines.extend(paragraph(DISCLAIMER));
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
