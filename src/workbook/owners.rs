//! What stands in a cell and was not written by a run: it is its owner's, and stays.

use super::bind::{CellAt, Request, TargetValue};
use crate::calculation::is_verdict_text;
use crate::diagnostic::{Diagnostic, Name};
use crate::program::{Program, Type};
use crate::report::NOT_TO_BE_SET;
use crate::spreadsheet::{Book, Cell, NewValue};

/// Significant digits that a calculated number has, but for one that comes out short, and a number that a person
/// typed has not.
const DIGITS: usize = 12;

/// Results that would be written over words, a number or a date of the owner; `numbers` if a number may go.
pub(super) fn of_fill(
    book: &Book,
    request: &Request,
    cells: &[(String, CellAt, NewValue)],
    numbers: bool,
) -> Vec<Diagnostic> {
    // a run before left figures with all their digits, in this row or another
    let calculated = cells.iter().any(|(_, cell, _)| {
        let held = book.tab(&cell.tab).map(|tab| tab.cell(cell.position));
        matches!(held, Some(Cell::Number(held)) if digits(*held) >= DIGITS)
    });
    let ran = has_run(book, request);
    let found = cells.iter().filter_map(|(name, cell, value)| {
        let tab = book.tab(&cell.tab)?;
        let held = tab.cell(cell.position);
        let ours = match (held, value) {
            (Cell::Text(text), NewValue::Number(_)) => {
                is_in_the_place_of_a_number(&request.program, text)
            }
            (Cell::Text(text), NewValue::Text(_)) if name.starts_with("checks") => {
                let text = text.trim().trim_start_matches('\'');
                text.is_empty() || is_verdict_text(text)
            }
            (Cell::Number(_), NewValue::Text(_)) if name.starts_with("checks") => false,
            (Cell::Truth(_) | Cell::Date(_), _) => false,
            (Cell::Number(held), value) => {
                let same = matches!(value, NewValue::Number(new) if new == held);
                numbers || same || ran.unwrap_or(calculated)
            }
            _ => true,
        };
        (!ours && !tab.has_formula(cell.position)).then(|| {
            Diagnostic::error(
                Name::OwnersWords,
                match (held, ran) {
                    (Cell::Number(_), None) => format!(
                        "`{name}` would be written over {held}, of which no verdict beside it tells whether a run has written it"
                    ),
                    _ => format!("`{name}` would be written over {held}, which no run has written"),
                },
            )
            .at(book.place(&cell.tab, cell.position))
            .remedy(match held {
                Cell::Number(_) if !name.starts_with("checks") => {
                    // a run knows its own figures by the verdict
                    let verdict = match ran {
                        None => "; a row `checks` tells later runs which figures are theirs",
                        Some(_) => "",
                    };
                    format!(
                        "let `{name}` point to a cell of its own, empty the cell, or allow it with `--allow numbers`{verdict}"
                    )
                }
                _ => format!("let `{name}` point to a cell of its own, or empty the cell"),
            })
        })
    });
    found.collect()
}

/// Words of the owner in cells of results that could not be calculated: they are told with what keeps them from it.
pub(super) fn words(book: &Book, request: &Request) -> Vec<Diagnostic> {
    let lines = &request.program.lines;
    let cells = request.results.iter().flat_map(|target| {
        let value = match target.what {
            TargetValue::Checks | TargetValue::WorstChecks => Some(NewValue::Text(String::new())),
            TargetValue::Extreme(..) => Some(NewValue::Number(0.0)),
            TargetValue::Result(at, _) => {
                let line = usize::try_from(at.0).ok().and_then(|at| lines.get(at));
                let number = line.filter(|it| matches!(it.type_, Type::Number { .. }));
                number.map(|_| NewValue::Number(0.0))
            }
        };
        let name = target.what.name(&request.program);
        let all =
            value.into_iter().flat_map(|it| target.cells.iter().map(move |at| (at, it.clone())));
        all.map(move |(at, value)| (name.clone(), at.clone(), value))
    });
    let cells: Vec<_> = cells.collect();
    of_fill(book, request, &cells, true)
}

/// Whether the cell of the verdict bears that of an earlier run: then the results are a run's too. None where the
/// calculation has no such cell.
fn has_run(book: &Book, request: &Request) -> Option<bool> {
    let verdicts = request
        .results
        .iter()
        .filter(|it| matches!(it.what, TargetValue::Checks | TargetValue::WorstChecks));
    let held = verdicts.flat_map(|target| &target.cells).map(|cell| {
        let held = book.tab(&cell.tab).map(|tab| tab.cell(cell.position));
        matches!(held, Some(Cell::Text(text)) if is_verdict_text(text.trim().trim_start_matches('\'')))
    });
    held.reduce(|one, other| one || other)
}

/// How many significant digits a number has.
fn digits(number: f64) -> usize {
    let text = format!("{number:e}");
    let mantissa = text.split('e').next().unwrap_or_default();
    mantissa.chars().filter(char::is_ascii_digit).count()
}

/// Whether a run has written a text where there was no number: `stays as it is`, `0.2; 0.4`, `NOT to be set (5 s)`.
pub(super) fn is_in_the_place_of_a_number(program: &Program, text: &str) -> bool {
    let text = text.trim().trim_start_matches('\'');
    let series =
        text.contains(';') && text.split(';').all(|part| part.trim().parse::<f64>().is_ok());
    text.is_empty()
        || series
        || is_of_a_run(text)
        || program.never_words().any(|words| words == text)
}

/// Whether a text is what a run writes where there is no number, whatever the sheet: nobody's remark about another cell.
pub(super) fn is_of_a_run(text: &str) -> bool {
    let text = text.trim().trim_start_matches('\'');
    is_verdict_text(text)
        || text == "may not exist"
        || text == "not calculated"
        || text.starts_with(NOT_TO_BE_SET)
        || text.starts_with("no ") && text.ends_with(" value is proved")
}
