//! What is to be written: headings of new columns, results, the status.

use super::{Outcome, ProductLine};
use crate::spreadsheet::{Book, Edit, Form, NewValue, Position, Tab};

/// A heading with its unit, as ISO 80000-1, 7.1.4, writes it: `n_0 / (r/min)`.
pub(super) fn heading(name: &str, unit: &str) -> String {
    if unit.is_empty() {
        name.to_owned()
    } else if unit.contains(['/', '·', '*', ' ']) {
        format!("{name} / ({unit})")
    } else {
        format!("{name} / {unit}")
    }
}

impl ProductLine {
    /// What is to be written for an outcome; cells that hold it already are left out.
    #[must_use]
    pub fn edits(&self, book: &Book, outcome: &Outcome) -> Vec<Edit> {
        let mut edits = self.heading_edits(book);
        edits.extend(self.row_edits(book, outcome));
        edits
    }

    /// The headings of new columns.
    pub(super) fn heading_edits(&self, book: &Book) -> Vec<Edit> {
        let mut edits = Putting::new(self, book);
        // a new heading looks like the last of the old ones
        let old = self.inputs.iter().flat_map(|input| input.columns.iter().copied());
        let old = old.chain(
            self.results.iter().filter(|result| !result.appended).map(|result| result.column),
        );
        let like = old.max().unwrap_or(0);
        let style = |row: u32| Position::new(row, like);
        let mut put = |row: u32, column: u32, text: String| {
            edits.put(row, column, NewValue::Text(text), style(row));
        };
        for result in self.results.iter().filter(|result| result.appended) {
            let name = result.name(&self.program);
            let unit = &result.unit.symbol;
            match self.units {
                Some(units) => {
                    put(self.header, result.column, name);
                    put(units, result.column, unit.clone());
                }
                None => put(self.header, result.column, heading(&name, unit)),
            }
        }
        if self.status.appended {
            put(self.header, self.status.column, "status".to_owned());
        }
        edits.edits
    }

    /// Results and status of some variants.
    pub(super) fn row_edits(&self, book: &Book, outcome: &Outcome) -> Vec<Edit> {
        let mut edits = Putting::new(self, book);
        for variant in &outcome.variants {
            for (result, value) in self.results.iter().zip(&variant.values) {
                edits.put(variant.row, result.column, value.clone(), None);
            }
            let status = NewValue::Text(variant.status.to_string());
            edits.put(variant.row, self.status.column, status, None);
        }
        edits.edits
    }
}

/// Edits of cells that do not hold the value yet.
struct Putting<'a> {
    line: &'a ProductLine,
    tab: Option<&'a Tab>,
    csv: bool,
    edits: Vec<Edit>,
}

impl<'a> Putting<'a> {
    fn new(line: &'a ProductLine, book: &'a Book) -> Self {
        Self { line, tab: line.tab(book), csv: book.form == Form::Csv, edits: Vec::new() }
    }

    fn put(&mut self, row: u32, column: u32, value: NewValue, style_of: Option<Position>) {
        let (Some(tab), Some(position)) = (self.tab, Position::new(row, column)) else { return };
        let value = if self.csv { never_a_formula(value) } else { value };
        let known = tab.entry(position);
        let same = known.map_or(value.as_cell().is_empty(), |entry| {
            value.is_held(&entry.cell) && !entry.formula
        });
        if !same {
            self.edits.push(Edit { style_of, ..Edit::new(self.line.tab.clone(), position, value) });
        }
    }
}

/// In a `.csv` nothing tells a text from a formula: one that an office program would take for a formula
/// gets the apostrophe that such programs write before a text (common practice, no source).
pub(super) fn never_a_formula(value: NewValue) -> NewValue {
    match value {
        NewValue::Text(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => {
            NewValue::Text(format!("'{text}"))
        }
        value => value,
    }
}
