//! The rows of a table: variants, totals over them, and what is neither.

use super::super::bind::series::{EXTREMES, TOTALS};
use super::super::bind::{Label, label};
use super::ProductLine;
use crate::calculation::is_verdict_text;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Book, Cell, Position, Tab};
use crate::unit::is_unit;

/// The rows of a table.
#[derive(Default)]
pub(super) struct Rows {
    pub(super) variants: Vec<u32>,
    /// Sums, averages and the like over the variants.
    pub(super) totals: Vec<u32>,
    /// Rows that hold something and none of the inputs.
    pub(super) others: Vec<u32>,
    /// Headings or units that stand again among the rows and say something else than those at the head.
    pub(super) headed_otherwise: Vec<Diagnostic>,
    /// Rows whose name leaves open whether they are variants: `max`, `spare`.
    pub(super) open: Vec<Diagnostic>,
}

/// Beginnings of words before totals: `Total of the line`.
const BEGINNINGS: &[&str] = &["total ", "sum of ", "average of ", "mean of "];

/// Words before rows that are kept and not built, or not any more.
const SET_ASIDE: &[&str] = &[
    "spare", "old", "obsolete", "example", "sample", "template", "draft", "deleted", "cancelled",
    "void", "not used", "do not use", "out of use", "e.g",
];

/// Words before rows that say what values may be, and are none.
const LIMITS: &[&str] = &[
    "limit", "limits", "limit value", "lower limit", "upper limit", "low limit", "high limit",
    "lowest", "highest", "least", "greatest", "largest", "smallest", "allowed", "permitted",
    "permissible", "target", "tolerance", "unit", "units", "dimension",
];

/// Whether a name is that of a row set aside: `old`, `spare:`, `V3 (old)`.
fn is_set_aside(bare: &str) -> bool {
    let within = bare.strip_suffix([')', ']']).and_then(|text| text.rsplit_once(['(', '[']));
    let word = within.map_or(bare, |(_, word)| word);
    SET_ASIDE.contains(&word.trim()) || LIMITS.contains(&bare)
}

/// A row with numbers whose name leaves open whether it is a variant.
fn open_row(book: &Book, tab: &Tab, at: Position, name: &str) -> Diagnostic {
    let name = name.trim();
    let words =
        format!("row {} is named \"{name}\", and holds values as a variant does", at.row + 1);
    Diagnostic::error(Name::UnknownRow, words).at(book.place(&tab.name, at)).remedy(format!(
        "if it is a variant, write `variant {}` as its name; if not, empty its cells below the headings of inputs",
        name.trim_end_matches([':', '=', '.']).replace(['(', ')', '[', ']'], "")
    ))
}

/// A row that is not calculated, and yet bears the verdict of a variant.
fn old_verdict(book: &Book, tab: &Tab, at: Position) -> Diagnostic {
    let words =
        format!("row {} reads as a total, and an old verdict stands in {}", at.row + 1, at.name());
    let remedy =
        "if it is a variant, give it the name of one and its own inputs; if not, empty that cell";
    Diagnostic::error(Name::StaleFigures, words).at(book.place(&tab.name, at)).remedy(remedy)
}

fn bare(text: &str) -> String {
    text.trim().trim_end_matches([':', '=', '.']).trim_end().to_lowercase()
}

fn is_total(bare: &str) -> bool {
    TOTALS.contains(&bare) || BEGINNINGS.iter().any(|beginning| bare.starts_with(beginning))
}

/// Whether a text may stand before totals, or before a row set aside.
pub(super) fn names_no_variant(text: &str) -> bool {
    let bare = bare(text);
    is_total(&bare) || EXTREMES.contains(&bare.as_str()) || is_set_aside(&bare)
}

impl ProductLine {
    /// Whether a name is that of an input or of a result.
    fn knows(&self, name: &str) -> bool {
        self.program.input_named(name).is_some() || self.program.output_named(name).is_some()
    }
}

/// Sorts the rows below the head of a table.
pub(super) fn rows(book: &Book, tab: &Tab, line: &ProductLine, last: u32) -> Rows {
    let mut found = Rows::default();
    let first = line.units.unwrap_or(line.header) + 1;
    let inputs: Vec<u32> =
        line.inputs.iter().flat_map(|input| input.columns.iter().copied()).collect();
    let ours: Vec<u32> =
        line.results.iter().map(|result| result.column).chain([line.status.column]).collect();
    tab.each_filled(&mut |row, cells| {
        if !(first..=last).contains(&row) {
            return;
        }
        let of_inputs: Vec<_> = cells.iter().filter(|cell| inputs.contains(&cell.column)).collect();
        let any = !of_inputs.is_empty();
        let headed_again = any && of_inputs.iter().all(|cell| cell.text) && {
            let texts = tab.row(row).iter().filter_map(|entry| match &entry.cell {
                Cell::Text(text) => Some((entry.position.column, text.trim())),
                _ => None,
            });
            let texts: Vec<(u32, &str)> = texts.collect();
            let again = texts.iter().any(|(column, text)| {
                inputs.contains(column)
                    && !text.is_empty()
                    && (line.knows(&label(text).name) || is_unit(text))
            });
            if again {
                let other = texts.iter().find(|(column, text)| {
                    let ours = inputs.contains(column) || ours.contains(column);
                    let named = line.knows(&label(text).name);
                    let above = [Some(line.header), line.units].into_iter().flatten();
                    let mut above = above.map(|row| tab.cell(Position { row, column: *column }));
                    (ours || named) && !above.any(|cell| says_the_same(cell, text))
                });
                let other = other.map(|(column, text)| {
                    headed_otherwise(book, tab, line, Position { row, column: *column }, text)
                });
                found.headed_otherwise.extend(other);
            }
            again
        };
        // the first text of the row says what it is
        let named = cells.iter().find(|cell| cell.text && !inputs.contains(&cell.column));
        let at = named.map(|cell| Position { row, column: cell.column });
        let written = at.and_then(|at| match tab.cell(at) {
            Cell::Text(text) => Some((at, text)),
            _ => None,
        });
        let named = written.map(|(_, text)| bare(text));
        let is_total = named.as_deref().is_some_and(is_total);
        let is_extreme = named.as_deref().is_some_and(|it| EXTREMES.contains(&it));
        // a customer may be called `Total`: what holds plain numbers is never passed over
        let totals = of_inputs.iter().all(|cell| cell.total)
            || (is_total || is_extreme) && of_inputs.iter().all(|cell| cell.formula);
        if let (Some((at, text)), Some(named), true, false) = (written, &named, any, totals)
            && (is_total || is_extreme || is_set_aside(named))
        {
            found.open.push(open_row(book, tab, at, text));
            return;
        }
        let status = Position { row, column: line.status.column };
        if (any && totals || is_total)
            && matches!(tab.cell(status), Cell::Text(text) if is_verdict_text(text))
            && !tab.has_formula(status)
        {
            found.open.push(old_verdict(book, tab, status));
            return;
        }
        // its inputs may be gone while its results are still there
        let holds_ours = || cells.iter().any(|cell| ours.contains(&cell.column) && !cell.formula);
        if any && totals {
            found.totals.push(row);
        } else if any && !headed_again || !any && holds_ours() && !is_total {
            found.variants.push(row);
        } else {
            found.others.push(row);
        }
    });
    let among = |row: &&u32| {
        found.variants.first().is_some_and(|first| *row > first)
            && found.variants.last().is_some_and(|last| *row < last)
    };
    let remarks = found.others.iter().filter(among).find_map(|row| {
        tab.row(*row).iter().find_map(|entry| match &entry.cell {
            Cell::Text(text) if says_a_unit(text) => {
                Some(headed_otherwise(book, tab, line, entry.position, text))
            }
            _ => None,
        })
    });
    found.headed_otherwise.extend(remarks);
    found
}

/// Whether a heading, or a unit below it, says what a text among the rows says again.
fn says_the_same(cell: &Cell, text: &str) -> bool {
    match cell {
        Cell::Text(head) => head.trim() == text || label(head).unit.as_deref() == Some(text),
        _ => false,
    }
}

/// `from here J in kg·cm²`
fn says_a_unit(text: &str) -> bool {
    matches!(label(text), Label { name, unit: Some(unit) } if name.contains(' ') && is_unit(&unit))
}

fn headed_otherwise(
    book: &Book,
    tab: &Tab,
    line: &ProductLine,
    at: Position,
    text: &str,
) -> Diagnostic {
    let head = Position { row: line.header, column: at.column };
    let words = match tab.cell(head) {
        Cell::Text(above) => format!(
            "row {} says \"{text}\" among the variants, and the heading of its column says \"{}\"",
            at.row + 1,
            above.trim()
        ),
        _ => format!(
            "row {} says \"{text}\" among the variants, and no heading above does",
            at.row + 1
        ),
    };
    Diagnostic::error(Name::SeveralTables, words)
        .at(book.place(&tab.name, at))
        .label(book.place(&tab.name, head), "the heading of the table")
        .remedy("write all variants below one heading, in its order and its units, or put those below on a tab of their own, with a cell that names the sheet")
}
