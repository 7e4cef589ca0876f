//! What a table has in hidden rows, columns and tabs.

use super::super::bind::CellAt;
use super::super::hidden::{Cell, beside_values, cautions};
use super::ProductLine;
use super::units::text_at;
use crate::calculation::plate;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::rests::sources;
use crate::spreadsheet::{Book, Position, Visibility};

impl ProductLine {
    /// How the units of shared values were read, and what is asked of these values.
    pub(crate) fn said_of_shared(&self) -> Vec<Diagnostic> {
        let mut shared = self.shared.clone();
        // a default that a column replaces is not asked about
        for input in self.inputs.iter().filter_map(|it| self.program.inputs.get(it.input)) {
            shared.give_up(&input.name, input.place.clone());
        }
        shared.plates().into_iter().chain(shared.questions()).collect()
    }

    /// What a person should know of hidden cells: the columns and shared values that are read or written,
    /// and how many variants stand in hidden rows; and how the units of headings were read. It stops nothing.
    #[must_use]
    pub fn hidden(&self, book: &Book) -> Vec<Diagnostic> {
        let Some(tab) = self.tab(book) else { return Vec::new() };
        let at = |row: u32, column: u32| Position { row, column };
        let mut cells: Vec<Cell<'_>> = Vec::new();
        let mut put = |name: String, row: u32, column: u32, read: bool| {
            cells.push(Cell { name, tab, position: at(row, column), read });
        };
        for columns in &self.inputs {
            let name = self.program.inputs.get(columns.input).map_or("", |it| it.name.as_str());
            for column in columns.columns.iter().chain(&columns.tolerance) {
                put(format!("`{name}`"), self.header, *column, true);
            }
            let shown = columns.columns.iter().find(|column| !tab.hidden.column(**column));
            if let (Some(row), Some(column)) = (self.units, shown) {
                put(format!("the unit of `{name}`"), row, *column, true);
            }
        }
        for result in &self.results {
            let name = self.program.outputs.get(result.output).map_or("", |it| it.name.as_str());
            put(format!("`{name}`"), self.header, result.column, false);
        }
        put("`status`".to_owned(), self.header, self.status.column, false);
        beside_values(book, &mut cells, &self.shared_cells);
        // what the formulas of the first row take from other tabs
        let first = self.variants.first().copied();
        let taken = self.inputs.iter().flat_map(|columns| {
            let name = self.program.inputs.get(columns.input).map_or("", |it| it.name.as_str());
            let at = columns.columns.iter().filter_map(|column| Some(at(first?, *column)));
            let sources = at.flat_map(|cell| sources(book, &tab.name, cell));
            sources.map(move |source| (name, source))
        });
        for (name, (of, position)) in taken.filter(|(_, (of, _))| *of != tab.name) {
            let cell = CellAt { tab: of, position };
            cells.extend(Cell::of(book, format!("the source of `{name}`"), &cell, true));
        }
        let mut cautions = cautions(book, &cells);
        for columns in &self.inputs {
            let name = self.program.inputs.get(columns.input).map_or("", |it| it.name.as_str());
            if let (Some(typed), Some(column)) = (&columns.unit.typed, columns.columns.first()) {
                let caution = plate(typed, &columns.unit.symbol, &format!("`{name}`"));
                let below = self.units.filter(|row| text_at(tab, *row, *column).is_some());
                let position = Position { row: below.unwrap_or(self.header), column: *column };
                cautions.push(caution.at(book.place(&tab.name, position)));
            }
        }
        let mut unseen = self.variants.iter().filter(|row| tab.hidden.row(**row));
        if let (Some(first), Visibility::Visible) = (unseen.next(), tab.visibility) {
            let words = match unseen.count() {
                0 => {
                    "1 variant stands in a hidden row; it is calculated like the others".to_owned()
                }
                more => format!(
                    "{} variants stand in hidden rows; they are calculated like the others",
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
