//! Columns and shared values that have no effect in any variant that is looked at.

use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};

use super::ProductLine;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::spreadsheet::{Book, Position};

/// How many variants of a block are looked at, as long as an input has had no effect in any of them.
const LOOKED_AT: usize = 4;

/// The inputs that had no effect in the variants looked at so far; none before the first.
pub(super) type Idle = Arc<Mutex<Option<BTreeSet<usize>>>>;

impl ProductLine {
    /// Looks at some rows, first and last among them, for inputs that have an effect.
    pub(super) fn look_for_effects(&self, book: &Book, rows: &[u32]) {
        let last = rows.len().saturating_sub(1);
        let some: BTreeSet<usize> = (0..LOOKED_AT).map(|at| at * last / (LOOKED_AT - 1)).collect();
        for row in some.into_iter().filter_map(|at| rows.get(at)) {
            let settled =
                |idle: &Option<BTreeSet<usize>>| idle.as_ref().is_some_and(BTreeSet::is_empty);
            if self.idle.lock().is_ok_and(|idle| settled(&idle)) {
                return;
            }
            let Ok(results) = self.exactly(book, *row) else { continue };
            let found: BTreeSet<usize> = results.idle().into_iter().collect();
            if let Ok(mut idle) = self.idle.lock() {
                *idle = Some(match idle.take() {
                    Some(before) => before.intersection(&found).copied().collect(),
                    None => found,
                });
            }
        }
    }

    /// Columns and shared values that differ from the sheet's default and have no effect in any of the variants
    /// looked at, each at its heading; after the variants have been calculated.
    #[must_use]
    pub fn without_effect(&self, book: &Book) -> Vec<Diagnostic> {
        let idle = self.idle.lock().ok().and_then(|idle| idle.clone()).unwrap_or_default();
        let problems = idle.into_iter().filter_map(|at| {
            let input = self.program.inputs.get(at)?;
            let column = self.inputs.iter().find(|known| known.input == at);
            let place: Place = match column.and_then(|known| known.columns.first()) {
                Some(column) => {
                    book.place(&self.tab, Position { row: self.header, column: *column })
                }
                None => self.shared.place(input),
            };
            let words = format!(
                "`{}` is given, and nothing that is calculated depends on it in the variants looked at",
                input.name
            );
            Some(Diagnostic::error(Name::InputWithoutEffect, words).at(place).remedy(format!(
                "take `{}` out, or change the input that leaves it out",
                input.name
            )))
        });
        problems.collect()
    }
}
