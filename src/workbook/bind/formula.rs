//! A formula whose saved result is not its own: nothing calculated it, or not since its cells changed.

use super::{Binder, CellAt, Part, Request};
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::rests::{CellOf, Rest, not_calculated, rests};
use crate::spreadsheet::{Book, Cell, Value, worth};

/// What an owner does about it.
const CALCULATE: &str =
    "open the workbook in an office program, let it calculate, save it, and try again";

/// What an owner does about a formula without a result.
pub(in crate::workbook) fn nothing_saved(here: &str) -> String {
    format!("{CALCULATE}; if {here} stays empty, write the number itself in place of its formula")
}

/// What an owner does about a workbook that calculates only when asked.
const AUTOMATIC: &str = "set the workbook to calculate automatically, save it, and try again";

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
    if let Some(problem) = rests_on(book, cell, what).into_iter().find(Diagnostic::is_error) {
        return Some(problem);
    }
    let here = cell.position.name();
    let (words, remedy) = match worth(book, &cell.tab, cell.position) {
        Some(worth) if worth.is(saved) => return None,
        // a cell that is still to be filled: whoever fills it says what depends on it
        Some(worth)
            if worth.of_empty
                && !book.by_hand
                && !book.may_be_uncalculated(&Cell::Number(saved)) =>
        {
            return None;
        }
        Some(worth) => (
            format!(
                "{what}: the formula of {here} gives {worth}, and the file holds {saved} as its result"
            ),
            remedy(book).to_owned(),
        ),
        None if book.by_hand => (
            format!(
                "{what}: the workbook calculates only when asked, and {saved} may be an old result of the formula of {here}"
            ),
            remedy(book).to_owned(),
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

/// What is in doubt about the value of a cell's formula, whatever is saved as its result: an error where it is not what
/// was meant, or another at each opening; a caution where nothing here can tell.
fn rests_on(book: &Book, cell: &CellAt, what: &str) -> Vec<Diagnostic> {
    let rests = rests(book, &cell.tab, cell.position);
    said_of(book, cell, what, rests)
}

/// As [`rests_on`], cautions alone, with what is not calculated here where nothing else says that it is taken unchecked.
fn unchecked(book: &Book, cell: &CellAt, what: &str) -> Vec<Diagnostic> {
    if !book.tab(&cell.tab).is_some_and(|tab| tab.has_formula(cell.position)) {
        return Vec::new();
    }
    let mut found = rests(book, &cell.tab, cell.position);
    if !found.iter().any(|rest| matches!(rest, Rest::Unknown { .. })) {
        found.extend(not_calculated(book, &cell.tab, cell.position));
    }
    said_of(book, cell, what, found).into_iter().filter(|it| !it.is_error()).collect()
}

fn said_of(book: &Book, cell: &CellAt, what: &str, rests: Vec<Rest>) -> Vec<Diagnostic> {
    let place = |(tab, position): &CellOf| book.place(tab, *position);
    let named = |(tab, position): &CellOf| match tab.eq_ignore_ascii_case(&cell.tab) {
        true => position.name(),
        false => format!("{tab}!{}", position.name()),
    };
    let at = place(&(cell.tab.clone(), cell.position));
    let found = rests.into_iter().map(|rest| match rest {
        Rest::Empty { taken_by, cell } => {
            let (by, it) = (named(&taken_by), named(&cell));
            let words = format!("{what}: the formula of {by} takes {it}, which is empty; empty is not zero");
            Diagnostic::error(Name::EmptyCell, words)
                .at(at.clone())
                .label(place(&cell), "this cell is empty")
                .remedy(format!("write into {it} what it is, 0 where it is zero, and save in an office program; or take {it} out of the formula of {by}"))
        }
        Rest::NoNumber { taken_by, tab, area } => {
            let by = named(&taken_by);
            let words = format!("{what}: the formula of {by} takes {}, in which no number stands", area.name());
            Diagnostic::error(Name::EmptyCell, words)
                .at(at.clone())
                .label(place(&(tab, area.first)), "here it begins")
                .remedy(format!("write the numbers there and save in an office program, or write the value itself in place of the formula of {by}"))
        }
        Rest::Text { taken_by, cell, text } => {
            let (by, it) = (named(&taken_by), named(&cell));
            let words = format!("{what}: the formula of {by} takes {it}, which holds the text \"{text}\" and not a number");
            Diagnostic::error(Name::TextForNumber, words)
                .at(place(&cell))
                .label(at.clone(), "it is read here")
                .remedy(format!("write the number into {it} as a number, in a cell that is not formatted as text, and save in an office program"))
        }
        Rest::StandIn { taken_by, cell, value } => {
            let by = named(&taken_by);
            let value = format!("{value}");
            let (missing, there) = match &cell {
                Some(cell) => (format!("{} holds no number", named(cell)), place(cell)),
                None => ("what it looks for is not there".to_owned(), place(&taken_by)),
            };
            let words = format!("{what}: the formula of {by} takes {value} instead, since {missing}");
            let into = cell.as_ref().map_or_else(|| by.clone(), &named);
            Diagnostic::caution(Name::StaleFigures, words)
                .at(there)
                .label(at.clone(), "it is read here")
                .remedy(format!("write the number into {into}, or make sure that {value} is right here"))
        }
        Rest::Words { taken_by, cell, text } => {
            let (by, it) = (named(&taken_by), named(&cell));
            let words = format!("{what}: the formula of {by} passes over {it}, which holds the words \"{text}\": it counts as nothing");
            Diagnostic::caution(Name::StaleFigures, words)
                .at(place(&cell))
                .label(at.clone(), "it is read here")
                .remedy(format!("write the number into {it}, or let the formula of {by} leave {it} out"))
        }
        Rest::Twice { taken_by, cell, typed } => {
            let (by, it) = (named(&taken_by), named(&cell));
            let total = match typed {
                true => "stands there as the total of others",
                false => "is itself a sum over numbers",
            };
            let words = format!("{what}: the formula of {by} adds {it}, which {total} that it adds: they count twice");
            Diagnostic::caution(Name::StaleFigures, words)
                .at(place(&cell))
                .label(at.clone(), "it is read here")
                .remedy(format!("let the formula of {by} leave {it} out"))
        }
        Rest::Changing { taken_by, function } => {
            let by = named(&taken_by);
            let words = format!("{what}: the formula of {by} calls {function}, whose value is another each time the workbook is opened");
            Diagnostic::error(Name::StaleFigures, words)
                .at(at.clone())
                .remedy(format!("write the number itself in place of the formula of {by}"))
        }
        Rest::Unknown { taken_by, what: of } => {
            let by = named(&taken_by);
            let words = format!("{what}: the formula of {by} takes {of}, so its saved value is taken unchecked");
            Diagnostic::caution(Name::StaleFigures, words)
                .at(at.clone())
                .remedy(format!("open the workbook, let it calculate, and make sure of {by}; or write the number itself there"))
        }
    });
    found.collect()
}

fn remedy(book: &Book) -> &'static str {
    if book.by_hand { AUTOMATIC } else { CALCULATE }
}

/// As [`not_its_own`], of a text that a formula gives: a name, a unit, a word, a tolerance.
pub(in crate::workbook) fn text_not_its_own(book: &Book, cell: &CellAt) -> Option<Diagnostic> {
    let tab = book.tab(&cell.tab)?;
    let Cell::Text(saved) = tab.cell(cell.position) else { return None };
    if !tab.has_formula(cell.position) {
        return None;
    }
    let of_text = || rests_on(book, cell, &format!("\"{saved}\""));
    if let Some(problem) = of_text().into_iter().find(Diagnostic::is_error) {
        return Some(problem);
    }
    let here = cell.position.name();
    let words = match worth(book, &cell.tab, cell.position) {
        Some(worth) if matches!(&worth.value, Value::Text(text) if text.trim() == saved.trim()) => {
            return None;
        }
        Some(worth) if worth.of_empty && !book.by_hand => return None,
        Some(worth) => format!(
            "the formula of {here} gives {worth}, and the file holds \"{saved}\" as its result"
        ),
        None if book.by_hand => format!(
            "the workbook calculates only when asked, and \"{saved}\" may be an old result of the formula of {here}"
        ),
        None => return None,
    };
    Some(
        Diagnostic::error(Name::StaleFigures, words)
            .at(book.place(&tab.name, cell.position))
            .remedy(remedy(book)),
    )
}

impl Binder<'_> {
    /// What nobody can check about the formula of an input.
    pub(in crate::workbook) fn unchecked(&self, cell: &CellAt, name: &str) -> Vec<Diagnostic> {
        unchecked(self.book, cell, &format!("`{name}`"))
    }

    /// The names, units and tolerances that a calculation reads from formulas whose saved result is not their own, or
    /// of which a part is struck through.
    pub(in crate::workbook) fn texts_not_their_own(&self, request: &Request) -> Vec<Diagnostic> {
        let mut cells: Vec<(&CellAt, &str)> = Vec::new();
        // those of values are asked where they are read
        for read in request.reads.iter().filter(|read| read.part != Part::Value) {
            if !cells.iter().any(|(known, _)| **known == read.cell) {
                cells.push((&read.cell, &read.name));
            }
        }
        let wrong = |(cell, name): (&CellAt, &str)| {
            // one that is struck through as a whole is asked where it is read
            let in_part = matches!(self.cell(cell), Cell::Text(text) if self.book.pieces.struck.contains(text));
            let struck = in_part.then(|| self.struck(name, std::slice::from_ref(cell))).flatten();
            let own = struck.or_else(|| text_not_its_own(self.book, cell));
            own.or_else(|| unchecked(self.book, cell, &format!("`{name}`")).into_iter().next())
        };
        cells.into_iter().filter_map(wrong).collect()
    }
}
