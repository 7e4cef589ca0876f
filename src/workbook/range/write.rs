//! What is to be written: headings of new columns, results, the status.

use super::super::{Book, Edit, Form, NewValue, Position};
use super::{Outcome, ProductLine};

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
        let Some(tab) = self.tab(book) else { return Vec::new() };
        let csv = book.form == Form::Csv;
        let mut edits = Vec::new();
        let mut put = |row: u32, column: u32, value: NewValue, style_of: Option<Position>| {
            let Some(position) = Position::new(row, column) else { return };
            let value = if csv { never_a_formula(value) } else { value };
            let known = tab.entry(position);
            let same = known.map_or(value.as_cell().is_empty(), |entry| {
                entry.cell == value.as_cell() && !entry.formula
            });
            if !same {
                edits.push(Edit { tab: self.tab.clone(), position, value, style_of });
            }
        };
        // a new heading looks like the last of the old ones
        let old = self.inputs.iter().flat_map(|input| input.columns.iter().copied());
        let old = old.chain(
            self.results.iter().filter(|result| !result.appended).map(|result| result.column),
        );
        let like = old.max().unwrap_or(0);
        let style = |row: u32| Position::new(row, like);
        for result in self.results.iter().filter(|result| result.appended) {
            let name = result.name(&self.program);
            let unit = &result.unit.symbol;
            match self.units {
                Some(units) => {
                    put(self.header, result.column, NewValue::Text(name), style(self.header));
                    put(units, result.column, NewValue::Text(unit.clone()), style(units));
                }
                None => put(
                    self.header,
                    result.column,
                    NewValue::Text(heading(&name, unit)),
                    style(self.header),
                ),
            }
        }
        if self.status.appended {
            put(
                self.header,
                self.status.column,
                NewValue::Text("status".to_owned()),
                style(self.header),
            );
        }
        for variant in &outcome.variants {
            for (result, value) in self.results.iter().zip(&variant.values) {
                put(variant.row, result.column, value.clone(), None);
            }
            put(variant.row, self.status.column, NewValue::Text(variant.status.to_string()), None);
        }
        edits
    }
}

/// In a `.csv` nothing tells a text from a formula: one that an office program would take for a formula
/// gets the apostrophe that such programs write before a text (common practice, no source).
fn never_a_formula(value: NewValue) -> NewValue {
    match value {
        NewValue::Text(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => {
            NewValue::Text(format!("'{text}"))
        }
        value => value,
    }
}
