//! The table's tab as plain text, one row a line, with the results among its values.

use std::collections::BTreeMap;
use std::ops::Range;

use super::write::never_a_formula;
use super::{Outcome, ProductLine};
use crate::calculation::scale::hundredfold;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::write::field;
use crate::spreadsheet::{Book, Cell, Edit, NewValue, Position, Tab};

/// Rows as lines: the first row, from 0, and the text of each row from there.
pub type Lines = Vec<(u32, String)>;

/// Puts rows in the order they come into one text; rows between them are empty lines.
#[derive(Default)]
pub struct Text {
    text: String,
    next: u32,
}

impl Text {
    /// Appends lines that stand below all before.
    pub fn append(&mut self, lines: Lines) {
        for (row, line) in lines {
            for _ in self.next..row {
                self.text.push_str("\r\n");
            }
            self.text.push_str(&line);
            self.text.push_str("\r\n");
            self.next = row + 1;
        }
    }

    /// The whole text, in UTF-8.
    #[must_use]
    pub fn into_bytes(self) -> Vec<u8> {
        self.text.into_bytes()
    }
}

impl ProductLine {
    /// The rows of a book as lines, with the results of an outcome and, if they are among its rows, the
    /// headings; how many cells are new. With a decimal comma, semicolons part the values, else commas
    /// (RFC 4180).
    ///
    /// A text that an office program would run as a formula gets an apostrophe before it.
    ///
    /// # Errors
    /// `too-large` for a number that is not finite.
    pub fn lines(
        &self,
        book: &Book,
        outcome: &Outcome,
        decimal_comma: bool,
    ) -> Result<(Lines, usize), Diagnostic> {
        let Some(tab) = self.tab(book) else { return Ok((Vec::new(), 0)) };
        let mut edits = self.row_edits(book, outcome);
        if !tab.row(self.header).is_empty() {
            edits.extend(self.heading_edits(book));
        }
        let changed = edits.len();
        let mut rows: BTreeMap<u32, BTreeMap<u32, NewValue>> = BTreeMap::new();
        for entry in tab.entries() {
            let value = match &entry.cell {
                Cell::Empty => continue,
                Cell::Number(number) => self.shown(tab, entry.position, *number),
                Cell::Truth(truth) => NewValue::Truth(*truth),
                Cell::Text(text) | Cell::Error(text) | Cell::Date(text) => {
                    NewValue::Text(text.clone())
                }
            };
            rows.entry(entry.position.row).or_default().insert(entry.position.column, value);
        }
        for Edit { position, value, .. } in edits {
            let value = match value {
                NewValue::Number(number) => self.shown(tab, position, number),
                value => value,
            };
            rows.entry(position.row).or_default().insert(position.column, value);
        }
        let mut lines = Vec::with_capacity(rows.len());
        for (row, cells) in rows {
            let line = line(&cells, decimal_comma).map_err(|column| {
                let position = Position { row, column };
                Diagnostic::error(Name::TooLarge, "a number to be written is not finite")
                    .at(book.place(&self.tab, position))
            })?;
            lines.push((row, line));
        }
        Ok((lines, changed))
    }
}

impl ProductLine {
    /// A number as a text shows it: a text has no formats, so a percentage is written out, as a number
    /// where the column says the sign.
    fn shown(&self, tab: &Tab, position: Position, number: f64) -> NewValue {
        if !tab.shows_percent(position) {
            return NewValue::Number(number);
        }
        let Some(percent) = hundredfold(number) else { return NewValue::Number(number) };
        let inputs = self.inputs.iter().filter(|input| input.columns.contains(&position.column));
        let results = self.results.iter().filter(|result| result.column == position.column);
        let units = inputs.map(|input| &input.unit).chain(results.map(|result| &result.unit));
        let in_table = position.row > self.units.unwrap_or(self.header);
        match units.map(|unit| unit.symbol.as_str()).next() {
            Some("%") if in_table => NewValue::Number(percent),
            _ => NewValue::Text(format!("{percent} %")),
        }
    }
}

/// One row; the column of a number that no text can hold.
fn line(cells: &BTreeMap<u32, NewValue>, decimal_comma: bool) -> Result<String, u32> {
    let separator = if decimal_comma { ';' } else { ',' };
    let mut line = String::new();
    let mut next = 0;
    for (column, value) in cells {
        let Range { start, end } = next..*column;
        line.extend(std::iter::repeat_n(separator, (end - start) as usize));
        let value = match value {
            NewValue::Text(text) if text.len() < 2 => value.clone(),
            value => never_a_formula(value.clone()),
        };
        line.push_str(&field(&value, separator, decimal_comma).ok_or(*column)?);
        next = *column;
    }
    Ok(line)
}
