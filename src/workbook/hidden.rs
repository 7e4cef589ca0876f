//! What is read from hidden tabs, rows and columns, or goes into them: it is done, and told, since nobody
//! sees it.

use super::{Calculated, Request};
use crate::diagnostic::{Diagnostic, Name, Place, cell_name};
use crate::spreadsheet::{Book, Position, Tab, Visibility};

/// What a calculation reads from hidden cells and what it writes into them.
pub(super) fn of_fill(book: &Book, request: &Request, calculated: &Calculated) -> Vec<Diagnostic> {
    let inputs = request.program.inputs.iter().filter_map(|input| {
        let Place::Cell { tab, row, column, .. } = request.inputs.place(input) else { return None };
        Some((input.name.as_str(), tab, Position { row, column }))
    });
    let results =
        calculated.cells.iter().map(|(name, cell, _)| (name.as_str(), &cell.tab, cell.position));
    let mut cells: Vec<Cell<'_>> = Vec::new();
    for (name, tab, position) in inputs {
        cells.extend(Cell::of(book, name, &tab, position, true));
    }
    for (name, tab, position) in results {
        cells.extend(Cell::of(book, name, tab, position, false));
    }
    told(book, &cells)
}

/// A cell that is read or written.
pub(super) struct Cell<'a> {
    pub(super) name: &'a str,
    pub(super) tab: &'a Tab,
    pub(super) position: Position,
    /// Whether an input is read from it, or a result goes to it.
    pub(super) read: bool,
}

impl<'a> Cell<'a> {
    pub(super) fn of(
        book: &'a Book,
        name: &'a str,
        tab: &str,
        position: Position,
        read: bool,
    ) -> Option<Self> {
        Some(Self { name, tab: book.tab(tab)?, position, read })
    }
}

/// One caution for each tab that is hidden, and one for the hidden rows and columns of each other.
pub(super) fn told(book: &Book, cells: &[Cell<'_>]) -> Vec<Diagnostic> {
    let mut cautions = Vec::new();
    for tab in &book.tabs {
        let on_tab = |cell: &&Cell<'_>| std::ptr::eq(cell.tab, tab);
        if tab.visibility != Visibility::Visible {
            let Some(words) = in_words(cells.iter().filter(on_tab)) else { continue };
            let (how, remedy) = match tab.visibility {
                Visibility::DeeplyHidden => (
                    "hidden so that only a macro shows it",
                    format!("have a macro show `{}` before the figures are checked", tab.name),
                ),
                _ => (
                    "hidden",
                    format!("show the tab `{}` before the figures are checked", tab.name),
                ),
            };
            let words = format!("{words} the tab `{}`, which is {how}", tab.name);
            let caution = Diagnostic::caution(Name::HiddenTab, words);
            cautions.push(caution.at(Place::File { name: book.name.clone() }).remedy(remedy));
            continue;
        }
        let unseen = |cell: &&Cell<'_>| {
            on_tab(cell)
                && (tab.hidden.row(cell.position.row) || tab.hidden.column(cell.position.column))
        };
        let Some(words) = in_words(cells.iter().filter(unseen)) else { continue };
        let first = cells.iter().find(unseen).map(|cell| cell.position);
        let first = first.unwrap_or(Position { row: 0, column: 0 });
        let rows = cells.iter().filter(unseen).any(|cell| tab.hidden.row(cell.position.row));
        let columns =
            cells.iter().filter(unseen).any(|cell| tab.hidden.column(cell.position.column));
        let (what, where_) = match (rows, columns) {
            (true, true) => ("rows and columns", "them".to_owned()),
            (true, false) => ("rows", format!("row {}", first.row + 1)),
            _ => ("columns", format!("column {}", column_name(first.column))),
        };
        cautions.push(
            Diagnostic::caution(Name::HiddenCells, format!("{words} hidden {what}"))
                .at(book.place(&tab.name, first))
                .remedy(format!("show {where_} before the figures are checked")),
        );
    }
    cautions
}

/// The letters of a column.
pub(super) fn column_name(column: u32) -> String {
    cell_name(0, column).trim_end_matches('1').to_owned()
}

/// `J` and 2 more come from, and `t` goes to,; none for no cells.
fn in_words<'c, 'a: 'c>(cells: impl Iterator<Item = &'c Cell<'a>>) -> Option<String> {
    let (mut inputs, mut results): (Vec<&str>, Vec<&str>) = (Vec::new(), Vec::new());
    for cell in cells {
        let names = if cell.read { &mut inputs } else { &mut results };
        if !names.contains(&cell.name) {
            names.push(cell.name);
        }
    }
    let listed = |names: &[&str], one: &str, many: &str| match names {
        [name] => format!("`{name}` {one}"),
        [name, more @ ..] => format!("`{name}` and {} more {many}", more.len()),
        [] => String::new(),
    };
    let from = listed(&inputs, "comes from", "come from");
    let to = listed(&results, "goes to", "go to");
    match (inputs.is_empty(), results.is_empty()) {
        (true, true) => None,
        (false, true) => Some(from),
        (true, false) => Some(to),
        (false, false) => Some(format!("{from}, and {to},")),
    }
}
