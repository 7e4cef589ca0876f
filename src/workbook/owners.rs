//! What stands in a cell and was not written by a run: it is its owner's, and stays.

use super::bind::{CellAt, Request};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::Program;
use crate::report::NOT_TO_BE_SET;
use crate::spreadsheet::{Book, Cell, NewValue};

/// Results that would be written over words, or words over a number, of the owner.
pub(super) fn of_fill(
    book: &Book,
    request: &Request,
    cells: &[(String, CellAt, NewValue)],
) -> Vec<Diagnostic> {
    let found = cells.iter().filter_map(|(name, cell, value)| {
        let tab = book.tab(&cell.tab)?;
        let held = tab.cell(cell.position);
        let ours = match (held, value) {
            (Cell::Text(text), NewValue::Number(_)) => {
                is_in_the_place_of_a_number(&request.program, text)
            }
            (Cell::Text(text), NewValue::Text(_)) if name.starts_with("checks") => {
                let text = text.trim().trim_start_matches('\'');
                text.is_empty() || is_own_status(text)
            }
            (Cell::Number(_), NewValue::Text(_)) if name.starts_with("checks") => false,
            (Cell::Truth(_), _) => false,
            _ => true,
        };
        (!ours && !tab.has_formula(cell.position)).then(|| {
            Diagnostic::error(
                Name::OwnersWords,
                format!("`{name}` would be written over {held}, which no run has written"),
            )
            .at(book.place(&cell.tab, cell.position))
            .remedy(format!("let `{name}` point to a cell of its own, or empty the cell"))
        })
    });
    found.collect()
}

/// Whether a run has written a text where there was no number: `stays as it is`, `0.2; 0.4`, `NOT to be set (5 s)`.
pub(super) fn is_in_the_place_of_a_number(program: &Program, text: &str) -> bool {
    let text = text.trim().trim_start_matches('\'');
    let series =
        text.contains(';') && text.split(';').all(|part| part.trim().parse::<f64>().is_ok());
    text.is_empty()
        || series
        || is_own_status(text)
        || text == "may not exist"
        || text == "not calculated"
        || text.starts_with(NOT_TO_BE_SET)
        || text.starts_with("no ") && text.ends_with(" value is proved")
        || program.never_words().any(|words| words == text)
}

/// Whether words in a column of the status are those that a run writes.
pub(super) fn is_own_status(text: &str) -> bool {
    let counted = text.strip_prefix("all ").and_then(|rest| rest.split_once(' '));
    counted
        .is_some_and(|(count, rest)| count.parse::<usize>().is_ok() && rest.starts_with("checks "))
        || text == "no checks"
        || [
            "FAILS: ",
            "MAY FAIL: ",
            "not proved: ",
            "holds, with a caution: ",
            "the check hold",
            "both checks hold",
            "not calculated: ",
        ]
        .iter()
        .any(|begins| text.starts_with(begins))
}
