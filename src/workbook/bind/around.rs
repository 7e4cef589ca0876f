//! What a text around values says of all of them: `all in mm`, `speeds ×1000`. Each value has a unit of its own, so a unit
//! is compared with it, and a factor is asked: neither is applied.

use std::ops::RangeInclusive;

use super::factor::is_factor;
use super::label::asked;
use super::pieces::{SEVERAL, is_of_several};
use super::taken_back::{BACK, withdraws};
use super::{Binder, CellAt, label};
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Cell, Entry, Position};
use crate::unit::{Kind, Unit, is_unit, parse_unit};

/// Rows of titles above a block or a table, besides the one before it.
const TITLES: u32 = 2;

/// Columns from the one before the names to that of the units.
const OWN: u32 = 3;

/// Cells around values, and the units that the values have.
pub(in crate::workbook) struct Around<'a> {
    pub(in crate::workbook) tab: &'a str,
    pub(in crate::workbook) rows: RangeInclusive<u32>,
    pub(in crate::workbook) columns: RangeInclusive<u32>,
    /// Whether a cell belongs to the values themselves: a name, a value, a unit.
    pub(in crate::workbook) is_own: &'a dyn Fn(Position) -> bool,
    /// The kind and the unit of each value.
    pub(in crate::workbook) units: Vec<(Option<&'static Kind>, String)>,
}

impl Binder<'_> {
    /// What is said of all values around them: of their factor or their unit, or that they do not count.
    pub(in crate::workbook) fn said_of_all(&self, around: &Around<'_>) -> Option<Diagnostic> {
        self.unit_of_all(around).or_else(|| self.withdrawn_around(around))
    }

    /// A title, a heading between the values or the name of their tab that takes all of them back, or counts pieces.
    fn withdrawn_around(&self, around: &Around<'_>) -> Option<Diagnostic> {
        let tab = self.book.tab(around.tab)?;
        let (first, last) = (*around.rows.start(), *around.rows.end());
        let holds = |row: &u32, is: fn(&Cell) -> bool| tab.row(*row).iter().any(|it| is(&it.cell));
        let number = |cell: &Cell| matches!(cell, Cell::Number(_));
        let asks = |cell: &Cell| matches!(cell, Cell::Text(text) if asked(text).is_some());
        let above = (1..=TITLES).map_while(|up| first.checked_sub(up));
        let above = above.take_while(|row| !holds(row, number) && !holds(row, asks));
        let rows: Vec<u32> = above.chain(first..=last).filter(|row| !holds(row, number)).collect();
        let texts = rows.iter().flat_map(|row| tab.row(*row)).filter_map(|it| match &it.cell {
            Cell::Text(text) if !(around.is_own)(it.position) => Some((it.position, text.as_str())),
            _ => None,
        });
        let begins = Position { row: first, column: *around.columns.start() };
        let texts = texts.filter(|(at, _)| around.columns.contains(&at.column));
        let texts = texts.map(|(at, text)| (at, text, "stands above them"));
        let mut texts = texts.chain([(begins, tab.name.as_str(), "is the name of their tab")]);
        texts.find_map(|(position, text, stands)| {
            let text = text.trim();
            // what stands above all of a block is its title
            let several = position.row > first + 1 && is_of_several(text);
            let remedy = match several {
                true => SEVERAL,
                false if withdraws(text) => BACK,
                false => return None,
            };
            let words = format!("values are used, and \"{text}\" {stands}");
            let cell = CellAt { tab: tab.name.clone(), position };
            let caution = Diagnostic::caution(Name::TwoStatements, words).at(self.place(&cell));
            Some(caution.remedy(remedy))
        })
    }

    /// A text that says of all values, or of those of a kind, what they do not say themselves.
    fn unit_of_all(&self, around: &Around<'_>) -> Option<Diagnostic> {
        let tab = self.book.tab(around.tab)?;
        let beside = |entry: &Entry| {
            // a name with a value of its own: another block, or a remark of the owner's
            let next = Position::new(entry.position.row, entry.position.column + 1);
            next.is_some_and(|next| matches!(tab.cell(next), Cell::Number(_)))
        };
        // the heading of numbers further to the right, which are the owner's
        let heads = |entry: &Entry| {
            let below = Position::new(entry.position.row + 1, entry.position.column);
            entry.position.column > around.columns.start() + OWN
                && below.is_some_and(|below| matches!(tab.cell(below), Cell::Number(_)))
        };
        let rows = around.rows.clone().flat_map(|row| tab.row(row));
        let mut texts = rows.filter_map(|entry| match &entry.cell {
            Cell::Text(text) if around.columns.contains(&entry.position.column) => {
                Some((entry, text.trim()))
            }
            _ => None,
        });
        texts.find_map(|(entry, text)| {
            if (around.is_own)(entry.position) || beside(entry) || heads(entry) {
                return None;
            }
            let words = match says(text)? {
                Says::Factor => format!("\"{text}\" stands beside values, and a factor is not applied to them"),
                Says::Unit(said) => {
                    let (_, other) = around.units.iter().find(|(kind, own)| differs(*kind, own, &said))?;
                    format!("\"{text}\" stands beside values, and one of them is in {other}")
                }
            };
            let cell = CellAt { tab: tab.name.clone(), position: entry.position };
            let remedy = format!(
                "write every value in the unit that is stated for it, and take \"{text}\" out of {}",
                entry.position.name()
            );
            Some(Diagnostic::error(Name::TwoStatements, words).at(self.place(&cell)).remedy(remedy))
        })
    }
}

/// What a text says of the values around it.
enum Says {
    Factor,
    Unit(String),
}

fn says(text: &str) -> Option<Says> {
    if is_factor(text) {
        return Some(Says::Factor);
    }
    let whole = text.strip_prefix('(').and_then(|text| text.strip_suffix(')'));
    let text = whole.filter(|text| !text.contains(['(', ')'])).unwrap_or(text);
    let said = label(text).unit.unwrap_or_else(|| text.to_owned());
    let of_all = ["all values in ", "all in ", "values in ", "all ", "in "];
    let bare = of_all.iter().find_map(|words| said.strip_prefix(words)).map(str::trim);
    let unit = bare.unwrap_or(&said);
    // `Axis (A)` names one of several, and a unit alone belongs to the cell beside it
    let letter = unit.len() == 1 && unit.starts_with(|it: char| ('A'..='H').contains(&it));
    let alone = bare.is_none() && said == text;
    (is_unit(unit) && !letter && !alone).then(|| Says::Unit(unit.to_owned()))
}

/// Whether a unit is of the kind of a value and is not its own.
fn differs(kind: Option<&'static Kind>, own: &str, said: &str) -> bool {
    let read = |text: &str| match kind {
        Some(kind) => kind.read_plate(text).ok(),
        None => parse_unit(text).ok(),
    };
    let alike = |one: &Unit, other: &Unit| kind.is_some() || one.dimension == other.dimension;
    match (read(own), read(said)) {
        (Some(own), Some(said)) => alike(&own, &said) && !own.is_same(&said),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_or_a_unit_for_all_is_told_from_a_title() {
        for text in
            ["Inputs (×1000)", "speeds x1000", "speeds x 10^3", "in thousands", "*1000", "× 0.001"]
        {
            assert!(matches!(says(text), Some(Says::Factor)), "{text}");
        }
        for (text, unit) in [
            ("all in mm", "mm"),
            ("dimensions in mm", "mm"),
            ("(all mm)", "mm"),
            ("in kN", "kN"),
            ("speeds / (rad/s)", "rad/s"),
        ] {
            assert!(matches!(says(text), Some(Says::Unit(found)) if found == unit), "{text}");
        }
        for text in [
            "Axis (A)", "mm", "Saw 1000 mm", "drawing 4711/100", "Carton wrapper 7, axis 2",
            "Box 10", "max 10",
        ] {
            assert!(says(text).is_none(), "{text}");
        }
    }
}
