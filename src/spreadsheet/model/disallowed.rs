//! Whether a value is one that the owner of a workbook allows in its cell.

use super::allowed::{Limits, What};
use super::book::{Book, Tab};
use super::cell::Cell;
use super::position::Position;
use crate::spreadsheet::formula::value::{Value, worth_of};

impl Tab {
    /// What the owner's rule allows in a cell, where it does not allow a value.
    pub(crate) fn disallowed(&self, book: &Book, cell: Position, value: &Cell) -> Option<String> {
        let rules = self.room.as_deref()?.allowed.iter();
        let mut rules = rules.filter(|it| it.areas.iter().any(|area| area.contains(cell)));
        rules.find_map(|rule| {
            let written = rule.areas.first().map_or(cell, |area| area.first);
            self.against(book, &rule.what, (cell, written), value)
        })
    }

    fn against(
        &self,
        book: &Book,
        what: &What,
        (cell, written): (Position, Position),
        value: &Cell,
    ) -> Option<String> {
        let worth = |text: &str| worth_of(book, self, (text, written), cell);
        let same = |one: &Cell| match (one, value) {
            (Cell::Text(one), Cell::Text(other)) => one.trim().eq_ignore_ascii_case(other.trim()),
            (Cell::Number(one), Cell::Number(other)) => one == other,
            (Cell::Text(one), Cell::Number(other)) => one.trim().parse() == Ok(*other),
            (one, other) => one == other,
        };
        match what {
            _ if value.is_empty() => None,
            What::Words(words) => {
                let allowed = words.iter().any(|word| same(&Cell::Text(word.clone())));
                (!allowed).then(|| words.join(", "))
            }
            What::Cells(tab, area) => {
                let tab = tab.as_deref().map_or(Some(self), |name| book.tab(name))?;
                let rows = area.first.row..=area.last.row.min(tab.used()?.last.row);
                let known = rows.clone().all(|row| tab.keeps(row));
                let mut cells = rows.flat_map(|row| tab.row(row));
                let found = cells.any(|entry| area.contains(entry.position) && same(&entry.cell));
                let named = || match tab.name == self.name {
                    true => format!("what stands in {}", area.name()),
                    false => format!("what stands in {}!{}", tab.name, area.name()),
                };
                (known && !found).then(named)
            }
            What::Number { whole, limits } => match value {
                Cell::Number(number) if !limits.allow(*number) => Some(limits.to_text()),
                Cell::Number(number) if *whole && number.fract() != 0.0 => {
                    Some("whole numbers".to_owned())
                }
                Cell::Number(_) => None,
                _ => Some(format!("numbers, {}", limits.to_text())),
            },
            What::Beside { whole, relation, first, second } => {
                let number = |text| match worth(text)? {
                    Value::Number(number) => Some(number),
                    _ => None,
                };
                let limits = Limits::of(relation, number(first)?, number(second))?;
                let what = What::Number { whole: *whole, limits };
                self.against(book, &what, (cell, written), value)
            }
            // of a value that is still to be written it says nothing
            What::Formula(text) => {
                let held = self.cell(cell) == value;
                let not = matches!(worth(text)?, Value::Truth(false) | Value::Number(0.0));
                (held && not).then(|| format!("only what its formula `{}` does", text.trim()))
            }
            What::Length(limits) => {
                let signs = match value {
                    Cell::Text(text) => text.chars().count(),
                    Cell::Number(number) => number.to_string().chars().count(),
                    _ => return None,
                };
                let count = u32::try_from(signs).ok()?;
                let allowed = limits.allow(f64::from(count));
                (!allowed).then(|| format!("so many signs: {}", limits.to_text()))
            }
        }
    }
}
