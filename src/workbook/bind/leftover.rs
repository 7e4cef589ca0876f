//! What an earlier workbook has left behind: verdicts that no calculation writes any more, and rows without a head.

use super::{Binder, CellAt, Part, asked_result, label};
use crate::calculation::is_verdict_text;
use crate::diagnostic::{Diagnostic, Name};
use crate::program::Program;
use crate::spreadsheet::{Cell, Position, Tab, TabKind};

/// Rows of names, one below the other, that are taken for a block without its head.
const ROWS: usize = 3;

impl Binder<'_> {
    /// Old verdicts and blocks without a head; with a bind file a verdict may be that of another file's run.
    pub(super) fn left_over(&self, bind_file: bool) -> Vec<Diagnostic> {
        let mut found = Vec::new();
        for tab in self.book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells) {
            let old = tab.entries().filter_map(|entry| match &entry.cell {
                Cell::Text(text) if !entry.formula && is_verdict_text(own(text)) => {
                    self.old_verdict(tab, entry.position, text, bind_file)
                }
                _ => None,
            });
            found.extend(old);
            found.extend(self.headless(tab));
        }
        found
    }

    /// A verdict of an earlier run in a cell that this run does not write.
    fn old_verdict(
        &self,
        tab: &Tab,
        at: Position,
        text: &str,
        bind_file: bool,
    ) -> Option<Diagnostic> {
        let cell = CellAt { tab: tab.name.clone(), position: at };
        let written = self.bound.requests.iter().flat_map(|request| &request.results);
        let mut cells = written.flat_map(|target| &target.cells);
        if cells.any(|it| it.position == at && it.tab.eq_ignore_ascii_case(&tab.name))
            || is_of_a_table(tab, at)
        {
            return None;
        }
        let here = at.name();
        let words = format!(
            "an old verdict stands in {here}, and nothing in this run writes it: \"{}\"",
            text.trim()
        );
        let problem = match bind_file {
            true => Diagnostic::caution(Name::StaleFigures, words),
            false => Diagnostic::error(Name::StaleFigures, words),
        };
        Some(problem.at(self.place(&cell)).remedy(format!(
            "empty {here}, or let a calculation write it: a row `checks` of a block that begins with its sheet, or a name `SHEET.checks`"
        )))
    }

    /// Rows of names and values that no block reads, as where a block was copied without the cell that names its sheet.
    fn headless(&self, tab: &Tab) -> Vec<Diagnostic> {
        let mut columns: Vec<u32> = Vec::new();
        let mut found = Vec::new();
        for entry in tab.entries() {
            let Position { row, column } = entry.position;
            if !matches!(entry.cell, Cell::Text(_)) || columns.contains(&column) {
                continue;
            }
            let first = CellAt { tab: tab.name.clone(), position: entry.position };
            let request = self.bound.requests.iter().find(|request| {
                let rows = (row..).map_while(|row| {
                    let position = Position::new(row, column)?;
                    self.row_left(&request.program, &CellAt { tab: tab.name.clone(), position })
                });
                let rows: Vec<Unread> = rows.collect();
                let count = |one| rows.iter().filter(|it| **it == one).count();
                // a list of inputs and their ranges has no results
                rows.len() >= ROWS && count(Unread::Value) > 1 && count(Unread::Result) > 0
            });
            let Some(request) = request else { continue };
            columns.push(column);
            let words = format!(
                "rows with names of `{}` begin here, and no calculation reads them: no cell above them names the sheet",
                request.sheet
            );
            found.push(Diagnostic::caution(Name::UnknownRow, words).at(self.place(&first)).remedy(
                format!(
                    "write `sheet {}` into the cell above, or take the rows out",
                    request.sheet
                ),
            ));
        }
        found
    }

    /// What a cell names with the cell beside it; none where it holds no name, or where a calculation reads it or what
    /// stands beside it.
    fn row_left(&self, program: &Program, cell: &CellAt) -> Option<Unread> {
        let name = label(&self.text_of(cell)?).name;
        let input = program.input_named(&name).is_some();
        let (value, unit) = (self.beside(cell, 0, 1)?, self.beside(cell, 0, 2)?);
        // `name, least, most` is a list, and what a formula names is another cell's
        let tab = self.book.tab(&cell.tab)?;
        if tab.has_formula(cell.position) || matches!(self.cell(&unit), Cell::Number(_)) {
            return None;
        }
        let found = match (self.cell(&value), input) {
            (Cell::Number(_), true) => Unread::Value,
            (Cell::Empty, true) => Unread::Empty,
            (Cell::Number(_) | Cell::Empty, false) => Unread::Result,
            (Cell::Text(text), false) if is_verdict_text(own(text)) => Unread::Result,
            _ => return None,
        };
        let known = input || asked_result(program, &name).is_some();
        let read = |at: &CellAt| {
            self.bound.requests.iter().any(|request| {
                let mut results = request.results.iter().flat_map(|target| &target.cells);
                let of = |part| matches!(part, Part::Label | Part::Value);
                request.reads.iter().any(|read| of(read.part) && read.cell == *at)
                    || results.any(|it| it == at)
            })
        };
        (known && !read(cell) && !read(&value)).then_some(found)
    }
}

/// A row of a name and a cell beside it that nothing reads.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Unread {
    /// An input with a number.
    Value,
    /// An input without one.
    Empty,
    /// A result.
    Result,
}

/// A text without the sign that keeps an office program from reading it as a formula.
fn own(text: &str) -> &str {
    text.trim().trim_start_matches('\'')
}

/// Whether a verdict stands in the column of the status of a table, which `range` writes.
fn is_of_a_table(tab: &Tab, at: Position) -> bool {
    let above = (0..at.row).rev().map(|row| tab.cell(Position { row, ..at }));
    let mut heads = above.filter_map(|cell| match cell {
        Cell::Text(text) if !is_verdict_text(own(text)) => Some(label(text).name.to_lowercase()),
        _ => None,
    });
    heads.next().is_some_and(|head| matches!(head.as_str(), "status" | "checks" | "checks worst"))
}
