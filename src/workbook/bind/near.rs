//! The words that belong to a cell which is bound by itself, by a defined name or a bind file: its labels before it, and
//! the heading of its column. A text that is the value, or the unit, of another is none of them.

use super::factor::is_factor;
use super::label::{label, scales};
use super::{Binder, CellAt};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::spreadsheet::Cell;
use crate::unit::{Kind, Unit, is_unit, parse_unit};

/// Columns before a value in which its labels stand: its symbol, and what it is in words.
const LABELS: i64 = 3;

/// Rows above a value in which its heading is looked for.
const ABOVE: i64 = 200;

impl Binder<'_> {
    /// The texts before a cell, the nearest first.
    pub(super) fn labels(&self, cell: &CellAt) -> Vec<CellAt> {
        let mut found = Vec::new();
        for left in 1..=LABELS {
            let Some(at) = self.beside(cell, 0, -left) else { break };
            match self.cell(&at) {
                Cell::Empty => {}
                // behind a number stands what belongs to that number
                Cell::Text(_) if left > 1 && self.is_behind_a_number(&at) => break,
                Cell::Text(text) if !text.trim().is_empty() => found.push(at),
                _ => break,
            }
        }
        found
    }

    fn is_behind_a_number(&self, cell: &CellAt) -> bool {
        self.beside(cell, 0, -1).is_some_and(|it| matches!(self.cell(&it), Cell::Number(_)))
    }

    /// The heading of a cell, and the line of it above: directly above a cell that no label stands before, else the first
    /// text of its column that is not itself the value of a row.
    pub(super) fn headings(&self, cell: &CellAt) -> Vec<CellAt> {
        let labelled = !self.labels(cell).is_empty();
        let mut empty = 0;
        for up in 1..=if labelled { ABOVE } else { 1 } {
            let Some(at) = self.beside(cell, -up, 0) else { break };
            if self.text_of(&at).is_none() {
                empty = if self.cell(&at).is_empty() { empty + 1 } else { 0 };
                if empty > 1 {
                    break;
                }
                continue;
            }
            empty = 0;
            if labelled && self.is_value(&at) {
                continue;
            }
            let above = self.beside(&at, -1, 0).filter(|it| self.text_of(it).is_some());
            return std::iter::once(at).chain(above).collect();
        }
        Vec::new()
    }

    /// The heading of a cell where it stands directly above.
    pub(super) fn heading_above(&self, cell: &CellAt) -> Option<CellAt> {
        let above = self.beside(cell, -1, 0)?;
        self.headings(cell).into_iter().find(|it| *it == above)
    }

    /// Whether a text among values is one of them: it begins as a quantity does, or a number stands above it and no
    /// heading beside it.
    fn is_value(&self, cell: &CellAt) -> bool {
        let Some(text) = self.text_of(cell) else { return false };
        let quantity = text.starts_with(|it: char| it.is_ascii_digit()) && !scales(&text);
        let mut above = (1..=ABOVE).map_while(|up| self.beside(cell, -up, 0));
        let first = above.find(|it| self.text_of(it).is_none());
        let below = first
            .is_some_and(|it| matches!(self.cell(&it), Cell::Number(_)) || self.has_formula(&it));
        let headed = self.beside(cell, 0, 1).and_then(|it| self.text_of(&it));
        quantity || below && headed.is_none_or(|text| is_unit(&text))
    }

    /// Tells a problem of a cell, where none of its kind is told there: one heading may stand over many values.
    pub(in crate::workbook) fn tell_once(&mut self, problem: Diagnostic) {
        let same =
            |it: &Diagnostic| it.is_error() && it.name == problem.name && it.place == problem.place;
        if !self.bound.problems.iter().any(same) {
            self.bound.problems.push(problem);
        }
    }

    /// Another unit than that of a cell, of the same kind of quantity, in a label or heading that is not beside it.
    pub(super) fn another_unit_near(
        &self,
        name: &str,
        kind: Option<&'static Kind>,
        cell: &CellAt,
        own: &(String, Place),
    ) -> Option<Diagnostic> {
        let read = |text: &str| -> Option<Unit> {
            match kind {
                Some(kind) => kind.read_plate(text).ok(),
                None => parse_unit(text).ok(),
            }
        };
        let unit = read(&own.0)?;
        let (labels, headings) = (self.labels(cell), self.headings(cell));
        labels.iter().skip(1).chain(&headings).find_map(|at| {
            let said = label(&self.text_of(at)?).unit?;
            read(&said).filter(|said| said.dimension == unit.dimension)?;
            self.units_differ(name, kind, own, &(said, self.place(at)))
        })
    }

    /// The unit that is stated for a cell, as it is written: beside it, or in its label or heading.
    fn stated_unit(&self, kind: Option<&'static Kind>, cell: &CellAt) -> Option<String> {
        let beside = self.unit_cell(cell).and_then(|at| self.text_of(&at));
        let words = self.labels(cell).into_iter().chain(self.headings(cell));
        let said = words.filter_map(|at| label(&self.text_of(&at)?).unit);
        let reads = |unit: &String| kind.is_some_and(|it| !it.bare && it.read_plate(unit).is_ok());
        beside.into_iter().chain(said).find(reads)
    }

    /// A factor in a label, the heading or the unit of a cell: it would be applied by a person, and is not applied here.
    pub(super) fn factor_near(
        &self,
        name: &str,
        kind: Option<&'static Kind>,
        cell: &CellAt,
    ) -> Option<Diagnostic> {
        let of_unit = self.unit_cell(cell).filter(|_| kind.is_none_or(|kind| !kind.bare));
        let words = self.labels(cell).into_iter().chain(self.headings(cell)).chain(of_unit);
        let (at, text) = words
            .filter_map(|at| Some((at.clone(), self.text_of(&at)?)))
            .find(|(_, text)| is_factor(text))?;
        let unit = match self.stated_unit(kind, cell) {
            Some(unit) => format!(" in `{unit}`"),
            None if kind.is_some_and(|kind| kind.bare) => String::new(),
            None => " in the unit that is stated for it".to_owned(),
        };
        let words = format!("\"{text}\" stands beside `{name}`, and a factor is not applied to it");
        Some(Diagnostic::error(Name::TwoStatements, words).at(self.place(&at)).remedy(format!(
            "write the value itself{unit} into {}, with the factor in it, and {} without the factor into {}",
            cell.position.name(),
            if self.unit_cell(cell).is_some_and(|it| it == at) { "that unit" } else { "the words" },
            at.position.name()
        )))
    }
}
