//! A number format that contradicts what is read from a cell or written into it: `0" ms"` on seconds.
//!
//! What a person sees of a number is a statement of it, and two statements of one thing that differ are an error.

use super::Request;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::shown::{Shown, fitted_off};
use crate::spreadsheet::views::View;
use crate::spreadsheet::{Book, NewValue, Position, Tab};
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

/// What the ways in which a cell shows its number say against that number; none where all show the same.
pub(in crate::workbook) fn otherwise(
    book: &Book,
    tab: &Tab,
    cell: Position,
    held: &Held<'_>,
) -> Option<Diagnostic> {
    if tab.shows_plainly(cell) {
        return None;
    }
    let views = tab.views(cell);
    let percent = tab.shows_percent(cell);
    let words = views.iter().find_map(|view| against(view, percent, cell, held))?;
    let here = cell.name();
    let symbol = symbol(held.unit);
    let problem = Diagnostic::error(Name::TwoStatements, words).at(book.place(&tab.name, cell));
    Some(problem.remedy(format!(
        "give {here} a number format without words, such as `0.###`, black letters of 10 points and no conditional format, and make sure that its number is meant in {symbol}"
    )))
}

fn symbol(unit: &Unit) -> &str {
    if unit.symbol.is_empty() { "1" } else { unit.symbol.as_str() }
}

/// What makes a cell look so: its own format, or a rule.
fn format_of(view: &View<'_>, cell: Position) -> String {
    let what = if view.by_rule { "a conditional format" } else { "the number format" };
    format!("{what} of {}", cell.name())
}

/// What one way of showing a number says against it; `percent` if the cell's own format shows a percentage.
fn against(view: &View<'_>, percent: bool, cell: Position, held: &Held<'_>) -> Option<String> {
    let Held { name, unit, number, .. } = held;
    let format = format_of(view, cell);
    let shown = view.number(*number);
    if view.clock {
        Some(format!("`{name}` is a number, and {format} shows a date or a time"))
    } else if !shown.digits && !shown.before.trim().is_empty() {
        let seen = shown.before.trim();
        Some(format!("`{name}` is {number}, and {format} shows \"{seen}\" in its place"))
    } else if !shown.digits {
        Some(format!("{format} hides `{name}`: the cell looks empty and holds {number}"))
    } else if let Some(why) = view.unseen(&shown) {
        Some(format!("`{name}` is {number}, and nobody sees it in {}: it is {why}", cell.name()))
    } else if shown.turns_sign(*number) {
        Some(format!("`{name}` is {number}, and {format} shows it with the other sign"))
    } else if view.is_percent() != percent {
        Some(format!(
            "`{name}` is {number}, and {format} shows it as a percentage or not, as it happens"
        ))
    } else {
        let seen = seen(&shown, held)?;
        Some(format!("`{name}` is {number} in {}, and {format} shows {seen}", symbol(unit)))
    }
}

/// By what part of itself a shown number may be off: less than it is, and more.
const ROUNDED: (f64, f64) = (0.001, 0.005);

/// Below it a number in the unit that people write is what rounding leaves of 0, and 0 is what its cell should show.
const NOISE: f64 = 1e-12;

/// Whether a cell may show another number than it holds: nearly all cells do not.
pub(in crate::workbook) fn shows_rounded(tab: &Tab, cell: Position, number: f64) -> bool {
    let near = |room: f64| fitted_off(number, room) <= ROUNDED.0 * number.abs();
    !(tab.shows_general(cell) && tab.digits_in(cell).is_none_or(near))
}

/// A number that its cell shows rounded, so that a person reads another.
pub(in crate::workbook) fn rounded_off(
    book: &Book,
    tab: &Tab,
    cell: Position,
    held: &Held<'_>,
) -> Option<Diagnostic> {
    let Held { name, unit, number, .. } = held;
    if number.abs() < NOISE || !shows_rounded(tab, cell, *number) {
        return None;
    }
    let room = tab.digits_in(cell);
    let views = tab.views(cell);
    let (view, seen) = views.iter().find_map(|view| {
        let shown = view.number(*number);
        let seen = shown.rounded(*number).or_else(|| shown.fitted(*number, room?))?;
        let least = if seen.abs() < number.abs() { ROUNDED.0 } else { ROUNDED.1 };
        ((seen - number).abs() > least * number.abs()).then_some((view, seen))
    })?;
    let way = if seen.abs() < number.abs() { "less" } else { "more" };
    let words = format!(
        "`{name}` is {number} in {}, and {} shows {seen}, {way} than it is",
        symbol(unit),
        format_of(view, cell)
    );
    let digits = if tab.shows_percent(cell) { "`0.###%`" } else { "`0.####`" };
    Some(
        Diagnostic::caution(Name::TwoStatements, words).at(book.place(&tab.name, cell)).remedy(
            format!("give {} a number format with more digits, such as {digits}", cell.name()),
        ),
    )
}

/// What the ways in which a cell shows a text say against that text, such as a verdict; none where all show it as it
/// is.
pub(in crate::workbook) fn text_otherwise(
    book: &Book,
    tab: &Tab,
    cell: Position,
    name: &str,
    text: &str,
) -> Option<Diagnostic> {
    if text.is_empty() || tab.shows_plainly(cell) {
        return None;
    }
    let here = cell.name();
    let words = tab.views(cell).iter().find_map(|view| {
        let shown = view.text();
        let format = format_of(view, cell);
        let around = format!("{}{}", shown.before, shown.after);
        if !shown.digits && around.trim().is_empty() {
            Some(format!("{format} hides {name}: the cell looks empty and holds \"{text}\""))
        } else if !shown.digits || shown.between || !around.trim().is_empty() {
            Some(format!(
                "{name} is \"{text}\", and {format} shows \"{}\" with it or in its place",
                around.trim()
            ))
        } else {
            let why = view.unseen(&shown)?;
            Some(format!("{name} is \"{text}\", and nobody sees it in {here}: it is {why}"))
        }
    })?;
    let problem = Diagnostic::error(Name::TwoStatements, words).at(book.place(&tab.name, cell));
    Some(problem.remedy(format!(
        "give {here} the number format `General`, black letters of 10 points and no conditional format"
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

/// The results of a calculation whose cells show them otherwise than they are: numbers, words and the verdict; as cautions
/// those that are shown rounded.
pub(in crate::workbook) fn of_results(
    book: &Book,
    request: &Request,
    cells: &[(String, super::CellAt, NewValue)],
) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (_, cell, value) in cells {
        let target = request.results.iter().find(|target| target.cells.contains(cell));
        let (Some(target), Some(tab)) = (target, book.tab(&cell.tab)) else { continue };
        let name = target.what.name(&request.program);
        found.extend(match (value, &target.what) {
            (
                NewValue::Number(number),
                TargetValue::Result(_, unit) | TargetValue::Extreme(_, unit, _),
            ) => {
                let held = Held { name: &name, kind: None, unit, number: *number };
                otherwise(book, tab, cell.position, &held)
                    .or_else(|| rounded_off(book, tab, cell.position, &held))
            }
            (NewValue::Text(text), _) => {
                text_otherwise(book, tab, cell.position, &format!("`{name}`"), text)
            }
            _ => None,
        });
    }
    found
}
