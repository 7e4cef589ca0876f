//! What a table has in hidden rows, columns and tabs.

use super::super::hidden::{Cell, told};
use super::ProductLine;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::spreadsheet::{Book, Position, Visibility};

impl ProductLine {
    /// What a person should know of hidden cells: the columns and shared values that are read or written,
    /// and how many variants stand in hidden rows. It stops nothing.
    #[must_use]
    pub fn hidden(&self, book: &Book) -> Vec<Diagnostic> {
        let Some(tab) = self.tab(book) else { return Vec::new() };
        let at = |column: u32| Position { row: self.header, column };
        let mut cells: Vec<Cell<'_>> = Vec::new();
        for columns in &self.inputs {
            let name = self.program.inputs.get(columns.input).map_or("", |it| it.name.as_str());
            let of = columns.columns.iter().chain(&columns.tolerance);
            let of = of.map(|column| Cell { name, tab, position: at(*column), read: true });
            cells.extend(of);
        }
        for input in self.program.inputs.iter().filter(|input| self.shared.is_given(input)) {
            if let Place::Cell { tab, row, column, .. } = self.shared.place(input) {
                let position = Position { row, column };
                cells.extend(Cell::of(book, &input.name, &tab, position, true));
            }
        }
        for result in &self.results {
            let name = self.program.outputs.get(result.output).map_or("", |it| it.name.as_str());
            cells.push(Cell { name, tab, position: at(result.column), read: false });
        }
        cells.push(Cell { name: "status", tab, position: at(self.status.column), read: false });
        let mut cautions = told(book, &cells);
        let mut unseen = self.variants.iter().filter(|row| tab.hidden.row(**row));
        if let (Some(first), Visibility::Visible) = (unseen.next(), tab.visibility) {
            let words = match unseen.count() {
                0 => {
                    "1 variant stands in a hidden row; it is worked out like the others".to_owned()
                }
                more => format!(
                    "{} variants stand in hidden rows; they are worked out like the others",
                    more + 1
                ),
            };
            cautions.push(
                Diagnostic::caution(Name::HiddenCells, words)
                    .at(book.place(&self.tab, Position { row: *first, column: 0 }))
                    .remedy(
                        "show the rows, or take the filter off, before the figures are checked",
                    ),
            );
        }
        cautions
    }
}
