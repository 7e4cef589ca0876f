//! Results compared with those that the table holds already.

use super::{Outcome, ProductLine};
use crate::spreadsheet::{Book, Cell, NewValue, Position};

/// Numbers that differ by less than this part of themselves are the same: results by columns are within
/// it of those on exact decimals.
const SAME: f64 = 1e-9;

/// A cell whose value is another now.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// The row of the variant, from 0.
    pub row: u32,
    /// The variant in words.
    pub variant: String,
    /// The result, or `status`.
    pub name: String,
    /// Its unit; empty for a pure number or a text.
    pub unit: String,
    /// What the table holds.
    pub was: Cell,
    /// What comes out now.
    pub is: NewValue,
    /// By how much a number has moved.
    pub by: Option<f64>,
}

impl ProductLine {
    /// Whether the table holds any results to compare with.
    #[must_use]
    pub fn holds_results(&self) -> bool {
        !self.status.appended || self.results.iter().any(|result| !result.appended)
    }

    /// Every result and status that has moved against what the table holds.
    #[must_use]
    pub fn moved(&self, book: &Book, outcome: &Outcome) -> Vec<Moved> {
        let Some(tab) = self.tab(book) else { return Vec::new() };
        let mut moved = Vec::new();
        for variant in &outcome.variants {
            let row = variant.row;
            let held = |column: u32| tab.cell(Position { row, column }).clone();
            for (result, value) in
                self.results.iter().zip(&variant.values).filter(|(result, _)| !result.appended)
            {
                let was = held(result.column);
                if let Some(by) = difference(&was, value) {
                    let name = result.name(&self.program);
                    moved.push(Moved {
                        row,
                        variant: self.variant_text(book, row),
                        name,
                        unit: result.unit.symbol.clone(),
                        was,
                        is: value.clone(),
                        by,
                    });
                }
            }
            if !self.status.appended {
                let is = NewValue::Text(variant.status.to_string());
                let was = held(self.status.column);
                if difference(&was, &is).is_some() {
                    moved.push(Moved {
                        row,
                        variant: self.variant_text(book, row),
                        name: "status".to_owned(),
                        unit: String::new(),
                        was,
                        is,
                        by: None,
                    });
                }
            }
        }
        moved
    }
}

/// None if both are the same; else by how much a number has moved.
fn difference(was: &Cell, is: &NewValue) -> Option<Option<f64>> {
    match (was, is) {
        (Cell::Number(was), NewValue::Number(is)) => {
            let by = is - was;
            (by.abs() > SAME * was.abs().max(is.abs())).then_some(Some(by))
        }
        // a word that looks like a number is read as one
        (Cell::Number(was), NewValue::Text(is)) if was.to_string() == *is => None,
        (was, is) => (*was != is.as_cell()).then_some(None),
    }
}
