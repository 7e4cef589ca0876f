//! What is written where a person cannot read it, or reads another figure: each is told at its cell, and a verdict that
//! speaks against a figure first.

use super::bind::CellAt;
use super::bind::shown::{Held, rounded_off, shows_rounded};
use super::bind::taken_back::{name_struck, taken_back, takes_back};
use super::range::{ProductLine, Variant};
use crate::calculation::{OPEN_VERDICTS, is_verdict_text};
use crate::diagnostic::{Diagnostic, Name};
use crate::report::NOT_TO_BE_SET;
use crate::spreadsheet::legible::{Hindrance, Illegible};
use crate::spreadsheet::shown::whole_digits;
use crate::spreadsheet::{Book, Cell, NewValue, Position, Tab};
use crate::unit::Unit;

/// What is written, or read, and is not seen as it is.
#[derive(Clone, Debug)]
pub(super) struct Unread {
    tab: String,
    column: u32,
    kind: Kind,
    caution: Diagnostic,
    /// In how many more cells it is so.
    more: usize,
}

/// What is counted together.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    /// Words that speak against a figure: those of each column.
    Grave(Hindrance),
    Figure(Hindrance),
    /// Figures that are shown rounded away: those of each column.
    Rounded,
    /// Values that the owner's own rule for the cell does not allow: those of each column.
    Disallowed,
    /// Words, or a line through a name, that take a variant back.
    TakenBack,
}

/// What a cell is given.
#[derive(Clone, Copy)]
enum Written<'v> {
    Text(&'v str),
    Number(f64),
}

impl<'v> Written<'v> {
    fn of(value: &'v NewValue) -> Option<Self> {
        match value {
            NewValue::Text(text) => Some(Self::Text(text)),
            NewValue::Number(number) => Some(Self::Number(*number)),
            NewValue::Truth(_) | NewValue::Empty => None,
        }
    }
}

impl Unread {
    /// Whether it is said of a value that is read, not of one that is written.
    pub(super) fn is_of_reading(&self) -> bool {
        matches!(self.kind, Kind::TakenBack | Kind::Rounded)
    }

    /// A value that is written into a cell, if it cannot be read there; `taken` says of empty cells whether they are
    /// filled by the same run.
    fn of(
        book: &Book,
        tab: &Tab,
        position: Position,
        value: Written<'_>,
        (name, taken): (&dyn Fn() -> String, &dyn Fn(Position) -> bool),
    ) -> Option<Self> {
        let found = match value {
            Written::Text(text) => tab.illegible(position, text, head(text), taken)?,
            Written::Number(number) => {
                // as nearly all cells are
                let width = match tab.shows_general(position) {
                    true => whole_digits(number),
                    false => {
                        let views = tab.views(position).into_iter();
                        let widths = views.filter_map(|it| it.number(number).width(number));
                        widths.fold(0.0, f64::max)
                    }
                };
                tab.illegible_number(position, width)?
            }
        };
        let Illegible { kind, why, remedy } = found;
        let (name, here) = (name(), position.name());
        let (kind, caution) = match value {
            Written::Text(text) if is_grave(text) => {
                let words = format!("{name} is \"{text}\", and nobody reads that in {here}: {why}");
                (Kind::Grave(kind), Diagnostic::caution(Name::CheckFails, words))
            }
            // of hidden figures another caution speaks
            _ if kind == Hindrance::Hidden => return None,
            _ => {
                let words = format!("{name} cannot be read in {here}: {why}");
                (Kind::Figure(kind), Diagnostic::caution(Name::HiddenCells, words))
            }
        };
        let caution = caution.at(book.place(&tab.name, position)).remedy(remedy);
        Some(Self { tab: tab.name.clone(), column: position.column, kind, caution, more: 0 })
    }

    fn join(&mut self, other: &Self) -> bool {
        let by_column = !matches!(self.kind, Kind::Figure(_));
        let same = self.kind == other.kind
            && self.tab == other.tab
            && (!by_column || self.column == other.column);
        self.more += if same { other.more + 1 } else { 0 };
        same
    }

    /// The caution at its first cell.
    pub(super) fn caution(&self) -> Diagnostic {
        let mut caution = self.caution.clone();
        if self.more > 0 {
            let cells = if self.more == 1 { "cell" } else { "cells" };
            caution.headline =
                format!("{} (and so in {} more {cells})", caution.headline, self.more);
            caution.remedy = format!("{}, and so for the others", caution.remedy);
        }
        caution
    }
}

/// A value that the owner of the workbook does not allow in its cell.
pub(super) fn disallowed(
    book: &Book,
    tab: &Tab,
    cell: Position,
    name: &str,
    value: &Cell,
) -> Option<Diagnostic> {
    let allowed = tab.disallowed(book, cell, value)?;
    let here = cell.name();
    let words = format!(
        "{name} is {value} in {here}, and the rule of that cell for what is typed there allows {allowed}"
    );
    let caution = Diagnostic::caution(Name::TwoStatements, words).at(book.place(&tab.name, cell));
    Some(caution.remedy(format!(
        "make sure which of them is meant; then change the value, or the rule of {here}"
    )))
}

/// Each kind once, with how many there are.
pub(super) fn gather(known: &mut Vec<Unread>, more: impl IntoIterator<Item = Unread>) {
    for one in more {
        if !known.iter_mut().any(|it| it.join(&one)) {
            known.push(one);
        }
    }
}

/// What a calculation writes where nobody can read it.
pub(super) fn of_fill(book: &Book, cells: &[(String, CellAt, NewValue)]) -> Vec<Diagnostic> {
    let (mut found, mut told) = (Vec::new(), Vec::new());
    for (name, cell, value) in cells {
        let Some(tab) = book.tab(&cell.tab) else { continue };
        let filled = |at: Position| {
            cells.iter().any(|(_, other, value)| {
                other.position == at
                    && other.tab.eq_ignore_ascii_case(&cell.tab)
                    && value.as_cell() != Cell::Empty
            })
        };
        let named = || format!("`{name}`");
        let one = Written::of(value)
            .and_then(|value| Unread::of(book, tab, cell.position, value, (&named, &filled)));
        match one {
            // each of these words is told at its cell
            Some(one) if matches!(one.kind, Kind::Grave(_)) => found.push(one),
            one => gather(&mut found, one),
        }
        told.extend(disallowed(book, tab, cell.position, &named(), &value.as_cell()));
    }
    told.extend(found.iter().map(Unread::caution));
    told
}

impl ProductLine {
    /// What the row of a variant holds, or is given, that nobody sees as it is.
    pub(super) fn unread(&self, book: &Book, tab: &Tab, variant: &Variant) -> Vec<Unread> {
        let taken = |at: Position| {
            self.status.column == at.column || self.results.iter().any(|it| it.column == at.column)
        };
        let at = |column: u32| Position { row: variant.row, column };
        let mut found = Vec::new();
        for (result, value) in self.results.iter().zip(&variant.values) {
            let Some(value) = Written::of(value) else { continue };
            let name = || format!("`{}`", result.name(&self.program));
            let cell = at(result.column);
            let unread = Unread::of(book, tab, cell, value, (&name, &taken));
            found.extend(unread.or_else(|| match value {
                Written::Number(number) => {
                    let name = || result.name(&self.program);
                    rounded(book, tab, cell, (&name, &result.unit, number))
                }
                Written::Text(_) => None,
            }));
        }
        let (cell, status) = (at(self.status.column), Written::Text(&variant.status));
        let name = || "the status".to_owned();
        found.extend(Unread::of(book, tab, cell, status, (&name, &taken)));
        found.extend(self.disallowed_in_row(book, tab, variant));
        found.extend(self.read_in_doubt(book, tab, variant.row));
        found
    }

    /// What is said of the values that are read of a row, whatever becomes of its results.
    fn read_in_doubt(&self, book: &Book, tab: &Tab, row: u32) -> Vec<Unread> {
        let mut found = Vec::new();
        for columns in &self.inputs {
            let name = || {
                self.program.inputs.get(columns.input).map_or(String::new(), |it| it.name.clone())
            };
            let cells = columns.columns.iter().map(|column| Position { row, column: *column });
            found.extend(cells.filter_map(|at| match tab.cell(at) {
                Cell::Number(number) => rounded(book, tab, at, (&name, &columns.unit, *number)),
                _ => None,
            }));
        }
        found.extend(self.taken_back(book, tab, row).map(|(column, caution)| Unread {
            tab: tab.name.clone(),
            column,
            kind: Kind::TakenBack,
            caution,
            more: 0,
        }));
        found
    }

    /// The same of some rows, each kind once, for doors that read a line without working it out.
    pub(crate) fn said_of_rows(&self, book: &Book, rows: &[u32]) -> Vec<Diagnostic> {
        let Some(tab) = book.tab(&self.tab) else { return Vec::new() };
        let mut found = Vec::new();
        rows.iter().for_each(|row| gather(&mut found, self.read_in_doubt(book, tab, *row)));
        found.iter().map(Unread::caution).collect()
    }

    /// A remark in a row, or a line through its name, that takes it back, with its column.
    pub(super) fn taken_back(&self, book: &Book, tab: &Tab, row: u32) -> Option<(u32, Diagnostic)> {
        let texts = tab.row(row).iter().filter_map(|entry| match &entry.cell {
            Cell::Text(text) if !self.is_own_column(entry.position.column) => {
                Some((entry.position, text))
            }
            _ => None,
        });
        let what = || format!("row {}", row + 1);
        let caution = texts.enumerate().find_map(|(count, (at, text))| {
            let place = || book.place(&tab.name, at);
            // the first text is its name
            let caution = match count == 0 && tab.is_struck(at) {
                true => name_struck(&what(), text, place()),
                false => takes_back(text).then(|| taken_back(&what(), text, place()))?,
            };
            Some((at.column, caution))
        });
        let noted = || {
            let mut notes = tab.notes.in_row(row);
            let (area, text) = notes.find(|(_, text)| takes_back(text))?;
            let at = Position { row, column: area.first.column };
            Some((at.column, taken_back(&what(), text, book.place(&tab.name, at))))
        };
        let said = || {
            let mut said = self.said_of_row(tab, row).into_iter();
            let (at, said) = said.find(|(_, said)| !said.is_error())?;
            Some((at.column, said.at(book.place(&tab.name, at))))
        };
        caution.or_else(noted).or_else(said)
    }

    fn disallowed_in_row(&self, book: &Book, tab: &Tab, variant: &Variant) -> Vec<Unread> {
        if tab.room.as_ref().is_none_or(|room| room.allowed.is_empty()) {
            return Vec::new();
        }
        let at = |column: u32| Position { row: variant.row, column };
        let results = self.results.iter().zip(&variant.values);
        let mut held: Vec<(u32, String, Cell)> = results
            .map(|(it, value)| {
                (it.column, format!("`{}`", it.name(&self.program)), value.as_cell())
            })
            .collect();
        held.push((
            self.status.column,
            "the status".to_owned(),
            Cell::Text(variant.status.to_string()),
        ));
        for columns in &self.inputs {
            let name = self.program.inputs.get(columns.input).map_or("", |it| it.name.as_str());
            held.extend(
                columns
                    .columns
                    .iter()
                    .map(|column| (*column, format!("`{name}`"), tab.cell(at(*column)).clone())),
            );
        }
        let found = held.into_iter().filter_map(|(column, name, value)| {
            let caution = disallowed(book, tab, at(column), &name, &value)?;
            Some(Unread { tab: tab.name.clone(), column, kind: Kind::Disallowed, caution, more: 0 })
        });
        found.collect()
    }
}

/// A number of a row that its cell shows rounded, so that a person reads another.
fn rounded(
    book: &Book,
    tab: &Tab,
    cell: Position,
    (name, unit, number): (&dyn Fn() -> String, &Unit, f64),
) -> Option<Unread> {
    if !shows_rounded(tab, cell, number) {
        return None;
    }
    let name = &name();
    let one = Unit::one();
    let percent = unit.dimension.is_none() && tab.shows_percent(cell);
    let held = Held { name, kind: None, unit: if percent { &one } else { unit }, number };
    let caution = rounded_off(book, tab, cell, &held)?;
    let (tab, column) = (tab.name.clone(), cell.column);
    Some(Unread { tab, column, kind: Kind::Rounded, caution, more: 0 })
}

/// Whether a text speaks against a figure beside it, or stands in its place.
fn is_grave(text: &str) -> bool {
    text.starts_with(NOT_TO_BE_SET) || OPEN_VERDICTS.iter().any(|begins| text.starts_with(begins))
}

/// How much of a text has to be in sight, in bytes: what a verdict says before its reasons, of all else all.
fn head(text: &str) -> usize {
    let end = match text.starts_with(NOT_TO_BE_SET) {
        // "NOT" says enough
        true => text.find(' '),
        false if !is_verdict_text(text) => None,
        // `all 3 checks hold` is known by its first word
        false => text.find(':').or_else(|| text.find(' ')),
    };
    end.unwrap_or(text.len())
}
