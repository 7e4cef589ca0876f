//! A number format that contradicts what is read from a cell or written into it: `0" ms"` on seconds.
//!
//! What a person sees of a number is a statement of it, and two statements of one thing that differ are an error.

use super::Request;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::shown::Shown;
use crate::spreadsheet::{Book, Position, Tab};
use crate::unit::{Factor, Kind, Unit, parse_unit};
use crate::workbook::bind::TargetValue;

/// What a cell holds, or is to hold.
pub(in crate::workbook) struct Held<'a> {
    pub(in crate::workbook) name: &'a str,
    pub(in crate::workbook) kind: Option<&'static Kind>,
    /// The unit in which its number is read or written.
    pub(in crate::workbook) unit: &'a Unit,
    pub(in crate::workbook) number: f64,
}

/// What a cell's number format says against its number; none where it shows the same.
pub(in crate::workbook) fn otherwise(
    book: &Book,
    tab: &Tab,
    cell: Position,
    held: &Held<'_>,
) -> Option<Diagnostic> {
    if tab.shows_plainly(cell) && !tab.shows_time(cell) {
        return None;
    }
    let here = cell.name();
    let Held { name, unit, number, .. } = held;
    let symbol = if unit.symbol.is_empty() { "1" } else { unit.symbol.as_str() };
    let shown = tab.shown(cell, *number);
    let words = if tab.shows_time(cell) {
        format!("`{name}` is a number, and the number format of {here} shows a date or a time")
    } else if !shown.digits {
        format!(
            "the number format of {here} hides `{name}`: the cell looks empty and holds {number}"
        )
    } else if shown.turns_sign(*number) {
        format!(
            "`{name}` is {number}, and the number format of {here} shows it with the other sign"
        )
    } else {
        let seen = seen(&shown, held)?;
        format!("`{name}` is {number} in {symbol}, and the number format of {here} shows {seen}")
    };
    let problem = Diagnostic::error(Name::TwoStatements, words).at(book.place(&tab.name, cell));
    Some(problem.remedy(format!(
        "give {here} a number format without words, such as `0.###`, and make sure that its number is meant in {symbol}"
    )))
}

/// What a person sees, if it means another number than is read.
fn seen(shown: &Shown, held: &Held<'_>) -> Option<String> {
    let (before, after) = (shown.before.trim(), shown.after.trim());
    let quoted = |words: &str| format!("\"{words}\" beside it");
    if shown.between {
        return Some(format!("\"{after}\" among its digits"));
    }
    if shown.more_digits() {
        return Some(format!(
            "more digits than it has: \"{}\"",
            format!("{before} {after}").trim()
        ));
    }
    let says = |text: &str| {
        text.chars().any(|sign| sign.is_alphabetic() || "%‰°€$£<>~≈±²³".contains(sign))
    };
    if says(before) {
        return Some(quoted(before));
    }
    let read = |text: &str| match held.kind {
        Some(kind) => kind.read_plate(text).or_else(|_| parse_unit(text)).ok(),
        None => crate::program::result_unit(text, held.unit.dimension, held.unit.point)
            .or_else(|| parse_unit(text).ok()),
    };
    let bare = after.trim_matches(['[', ']', '(', ')', ' ', '\u{a0}']);
    if !says(after) {
        let scaled = || {
            format!("its {}", if shown.ten < 0 { "thousands or millions" } else { "hundredfold" })
        };
        return (shown.ten != 0).then(scaled);
    }
    let Some(unit) = read(bare) else { return Some(quoted(after)) };
    // x · 10^ten in the unit that is shown
    let scaled = Factor::decimal(1, shown.ten).times(unit.factor);
    let pure = unit.dimension.is_none() && held.unit.dimension.is_none();
    let same = scaled == Some(held.unit.factor)
        && unit.zero == held.unit.zero
        && (unit.dimension == held.unit.dimension || pure);
    match (same, shown.ten) {
        (true, _) => None,
        (false, 0) => Some(format!("{after} behind it")),
        (false, ten) => Some(format!("the number times 10^{ten} in {after}")),
    }
}

/// The results of a calculation whose cells show them otherwise than they are.
pub(in crate::workbook) fn of_results<'v>(
    book: &Book,
    request: &Request,
    numbers: impl Iterator<Item = (&'v super::CellAt, f64)>,
) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (cell, number) in numbers {
        let target = request.results.iter().find(|target| target.cells.contains(cell));
        let (Some(target), Some(tab)) = (target, book.tab(&cell.tab)) else { continue };
        let (TargetValue::Result(_, unit) | TargetValue::Extreme(_, unit, _)) = &target.what else {
            continue;
        };
        let name = target.what.name(&request.program);
        let held = Held { name: &name, kind: None, unit, number };
        found.extend(otherwise(book, tab, cell.position, &held));
    }
    found
}
