//! Inputs of a product line that come from formulas which depend on its own results.

use std::collections::BTreeMap;

use super::ProductLine;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Book, Position, RowsWritten, Stale};

impl ProductLine {
    /// Inputs that are read from formulas which depend on results that change with this run: what they show was
    /// saved before. One problem for each column and each shared value; nothing may be written then.
    #[must_use]
    pub fn outdated(&self, book: &Book, written: &RowsWritten) -> Vec<Diagnostic> {
        let problems = self.inputs_among(&written.outdated).into_iter().map(|(name, first, cells)| {
            let headline = format!(
                "`{name}` comes from a formula that depends on a result of this table{cells}, so its saved figure is out of date"
            );
            Diagnostic::error(Name::StaleFigures, headline)
                .at(book.place(&self.tab, first))
                .remedy(format!("let the formula of {} not depend on a result column", first.name()))
        });
        problems.collect()
    }

    /// Inputs that are read from formulas which may depend on results that change with this run, through a
    /// reference that cannot be resolved, such as `INDIRECT(A1)`. One caution for each column and shared value.
    #[must_use]
    pub fn uncertain(&self, book: &Book, written: &RowsWritten) -> Vec<Diagnostic> {
        let problems = self.inputs_among(&written.possible).into_iter().map(|(name, first, cells)| {
            let words = format!(
                "`{name}` comes from a formula that may depend on a result of this table{cells}: its reference cannot be resolved, and its saved figure is taken"
            );
            Diagnostic::caution(Name::StaleFigures, words)
                .at(book.place(&self.tab, first))
                .remedy(format!("open the workbook so that it calculates {}, save it, and run it again: nothing may change", first.name()))
        });
        problems.collect()
    }

    /// The inputs that are read from some cells: the name, the first cell, and words for how many there are.
    fn inputs_among(&self, cells: &[Stale]) -> Vec<(String, Position, String)> {
        let mut found: BTreeMap<(String, u32), (String, Position, usize)> = BTreeMap::new();
        for stale in cells {
            let Some(name) = self.read_from(&stale.tab, stale.position) else { continue };
            let first = (name.clone(), stale.position, 0);
            found.entry((name, stale.position.column)).or_insert(first).2 += 1;
        }
        let words = |count: usize| match count {
            1 => String::new(),
            _ => format!(" (and {} more cells)", count - 1),
        };
        found.into_values().map(|(name, first, count)| (name, first, words(count))).collect()
    }

    /// The input that is read from a cell.
    fn read_from(&self, tab: &str, position: Position) -> Option<String> {
        let shared = self
            .shared_cells
            .iter()
            .find(|read| read.cell.tab.eq_ignore_ascii_case(tab) && read.cell.position == position);
        if let Some(read) = shared {
            return Some(read.name.clone());
        }
        if !self.tab.eq_ignore_ascii_case(tab)
            || self.variants.binary_search(&position.row).is_err()
        {
            return None;
        }
        let of_column = self.inputs.iter().find(|input| {
            input.columns.contains(&position.column) || input.tolerance == Some(position.column)
        })?;
        self.program.inputs.get(of_column.input).map(|input| input.name.clone())
    }
}
