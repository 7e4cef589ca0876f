//! A formula whose saved result is not its own: nothing calculated it, or not since its cells changed.

use super::CellAt;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Book, Cell, worth};

/// What an owner does about it.
pub(in crate::workbook) const CALCULATE: &str =
    "open the workbook in an office program, let it calculate, save it, and try again";

/// What is wrong with the number that is saved as the result of a cell's formula; none where the cell has no formula.
pub(in crate::workbook) fn not_its_own(
    book: &Book,
    cell: &CellAt,
    saved: f64,
    what: &str,
) -> Option<Diagnostic> {
    let tab = book.tab(&cell.tab)?;
    if !tab.has_formula(cell.position) {
        return None;
    }
    let here = cell.position.name();
    let (words, remedy) = match worth(book, &cell.tab, cell.position) {
        Some(worth) if worth.is(saved) => return None,
        // a cell that is still to be filled: whoever fills it says what depends on it
        Some(worth) if worth.of_empty && !book.may_be_uncalculated(&Cell::Number(saved)) => {
            return None;
        }
        Some(worth) => (
            format!(
                "{what}: the formula of {here} gives {worth}, and the file holds {saved} as its result"
            ),
            CALCULATE.to_owned(),
        ),
        None if !book.may_be_uncalculated(&Cell::Number(saved)) => return None,
        None => (
            format!(
                "{what}: the file holds 0 as the result of the formula of {here}, as where nothing ever calculated it"
            ),
            format!("{CALCULATE}; if it stays 0, write 0 itself into {here}"),
        ),
    };
    Some(
        Diagnostic::error(Name::StaleFigures, words)
            .at(book.place(&tab.name, cell.position))
            .remedy(remedy),
    )
}
