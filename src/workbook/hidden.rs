//! What is read from hidden tabs, rows and columns, or goes into them: it is done, and reported, since nobody
//! sees it.

use super::bind::{CellAt, Part, ReadCell};
use super::{Calculated, Request};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::spreadsheet::rests::sources;
use crate::spreadsheet::{Book, Position, Tab, Visibility};

/// What a calculation reads from hidden cells and what it writes into them.
pub(super) fn of_fill(book: &Book, request: &Request, calculated: &Calculated) -> Vec<Diagnostic> {
    let mut cells: Vec<Cell<'_>> = Vec::new();
    for (name, cell, _) in &calculated.cells {
        cells.extend(Cell::of(book, format!("`{name}`"), cell, false));
    }
    beside_values(book, &mut cells, &request.reads);
    self::cautions(book, &cells)
}

/// Adds the cells that are read; a unit or a label that is hidden with its value needs no words of its own.
pub(super) fn beside_values<'a>(book: &'a Book, cells: &mut Vec<Cell<'a>>, reads: &[ReadCell]) {
    for read in reads.iter().filter(|read| read.part == Part::Value) {
        cells.extend(Cell::of(book, format!("`{}`", read.name), &read.cell, true));
    }
    for read in reads.iter().filter(|read| read.part == Part::Value) {
        let sources = sources(book, &read.cell.tab, read.cell.position).into_iter();
        let sources = sources.map(|(tab, position)| CellAt { tab, position });
        for source in sources.filter(|it| !reads.iter().any(|read| read.cell == *it)) {
            cells.extend(Cell::of(book, format!("the source of `{}`", read.name), &source, true));
        }
    }
    let noted: Vec<String> =
        cells.iter().filter(|cell| cell.is_hidden()).map(|cell| cell.name.clone()).collect();
    for read in reads.iter().filter(|read| !noted.contains(&format!("`{}`", read.name))) {
        let name = match read.part {
            Part::Value => continue,
            Part::Unit => format!("the unit of `{}`", read.name),
            Part::Tolerance => format!("the tolerance of `{}`", read.name),
            Part::Label => format!("the text `{}`", read.name),
        };
        cells.extend(Cell::of(book, name, &read.cell, true));
    }
}

/// A cell that is read or written.
pub(super) struct Cell<'a> {
    /// What it holds, in words: `` `J` ``, ``the unit of `J` ``.
    pub(super) name: String,
    pub(super) tab: &'a Tab,
    pub(super) position: Position,
    /// Whether an input is read from it, or a result goes to it.
    pub(super) read: bool,
}

impl<'a> Cell<'a> {
    pub(super) fn of(book: &'a Book, name: String, cell: &CellAt, read: bool) -> Option<Self> {
        Some(Self { name, tab: book.tab(&cell.tab)?, position: cell.position, read })
    }

    fn is_hidden(&self) -> bool {
        let Self { tab, position, .. } = self;
        tab.visibility != Visibility::Visible
            || tab.hidden.row(position.row)
            || tab.hidden.column(position.column)
    }
}

/// One caution for each tab that is hidden, and one for the hidden rows and columns of each other.
pub(super) fn cautions(book: &Book, cells: &[Cell<'_>]) -> Vec<Diagnostic> {
    let mut cautions = Vec::new();
    for tab in &book.tabs {
        let on_tab = |cell: &&Cell<'_>| std::ptr::eq(cell.tab, tab);
        if tab.visibility != Visibility::Visible {
            let Some(words) = to_text(cells.iter().filter(on_tab)) else { continue };
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
        let unseen = |cell: &&Cell<'_>| on_tab(cell) && cell.is_hidden();
        let Some(words) = to_text(cells.iter().filter(unseen)) else { continue };
        let first = cells.iter().find(unseen).map(|cell| cell.position);
        let first = first.unwrap_or(Position { row: 0, column: 0 });
        let at = || cells.iter().filter(unseen).map(|cell| cell.position);
        let rows = ends(at().map(|it| it.row).filter(|row| tab.hidden.row(*row)));
        let columns = ends(at().map(|it| it.column).filter(|column| tab.hidden.column(*column)));
        let row = |row: u32| (row + 1).to_string();
        let column_name = |column| Position { row: 0, column }.column_name();
        let (what, where_) = match (rows, columns) {
            (Some(rows), Some(columns)) => (
                "rows and columns",
                format!("{} and {}", span("row", rows, row), span("column", columns, column_name)),
            ),
            (Some(rows), None) => ("rows", span("row", rows, row)),
            (None, Some(columns)) => ("columns", span("column", columns, column_name)),
            (None, None) => ("cells", "them".to_owned()),
        };
        cautions.push(
            Diagnostic::caution(Name::HiddenCells, format!("{words} hidden {what}"))
                .at(book.place(&tab.name, first))
                .remedy(format!("show {where_} before the figures are checked")),
        );
    }
    cautions
}

fn ends(all: impl Iterator<Item = u32> + Clone) -> Option<(u32, u32)> {
    all.clone().min().zip(all.max())
}

/// `row 15`, `rows 15 to 19`
fn span(what: &str, (first, last): (u32, u32), name: impl Fn(u32) -> String) -> String {
    match first == last {
        true => format!("{what} {}", name(first)),
        false => format!("{what}s {} to {}", name(first), name(last)),
    }
}

/// `J` and 2 more come from, and `t` goes to,; none for no cells.
fn to_text<'c, 'a: 'c>(cells: impl Iterator<Item = &'c Cell<'a>>) -> Option<String> {
    let (mut inputs, mut results): (Vec<&str>, Vec<&str>) = (Vec::new(), Vec::new());
    for cell in cells {
        let names = if cell.read { &mut inputs } else { &mut results };
        if !names.contains(&cell.name.as_str()) {
            names.push(&cell.name);
        }
    }
    let listed = |names: &[&str], one: &str, many: &str| match names {
        [name] => format!("{name} {one}"),
        [name, more @ ..] => format!("{name} and {} more {many}", more.len()),
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
