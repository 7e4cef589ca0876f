//! What stands around a cell about it: the texts before it and the heading above it, the name and the unit in them.

use super::feed::{is_weighed, of_effect};
use super::flywheels::{is_flywheel, is_of_inertia};
use super::{Binder, CellAt, asked_result, label};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::{Input, Program};
use crate::spreadsheet::Cell;
use crate::unit::{Factor, Kind, Unit, parse_unit};

/// Cells before a value in which its name and its words stand: `T_load | load torque | 4.2`.
const BEFORE: i64 = 3;

/// Numbers below one heading that are passed on the way up to it.
const BELOW: i64 = 500;

impl Binder<'_> {
    /// The texts before a cell, the nearest first, and the heading above it and the numbers over it.
    pub(super) fn texts_about(&self, cell: &CellAt) -> Vec<(String, CellAt)> {
        let before = (1..=BEFORE).map_while(|left| {
            let at = self.beside(cell, 0, -left)?;
            matches!(self.cell(&at), Cell::Text(_) | Cell::Empty).then_some(at)
        });
        let mut found: Vec<(String, CellAt)> =
            before.filter_map(|at| Some((self.text_of(&at)?, at))).collect();
        let above = (1..=BELOW)
            .map_while(|up| self.beside(cell, -up, 0))
            .find(|at| !matches!(self.cell(at), Cell::Number(_)));
        found.extend(above.and_then(|at| Some((self.text_of(&at)?, at))));
        // `r/min` alone is the unit of another cell, not an `r` in min
        found.retain(|(text, _)| label(text).unit.is_none() || parse_unit(text).is_err());
        found
    }

    /// A cell that is bound to one name, or feeds it, while the texts about it bear another name of the sheet.
    pub(super) fn named_otherwise(
        &self,
        program: &Program,
        name: &str,
        cell: &CellAt,
    ) -> Option<(String, CellAt)> {
        let is_input = |name: &str| program.input_named(name);
        let knows = |name: &str| is_input(name).is_some() || asked_result(program, name).is_some();
        // a name that the sheet does not know has a message of its own
        if !knows(name) {
            return None;
        }
        let kind = is_input(name).and_then(|input| input.kind);
        let own = name.replace('.', " ");
        // `R` stands before a cell of `window.R` or of `R.highest`
        let is_own = |said: &str| {
            let said = said.replace('.', " ");
            own == said
                || own.ends_with(&format!(" {said}"))
                || own.starts_with(&format!("{said} "))
        };
        // a letter before a number may be its unit
        let is_unit = |said: &str| match kind {
            Some(kind) => kind.read_plate(said).is_ok(),
            None => parse_unit(said).is_ok(),
        };
        let texts = self.texts_about(cell);
        let said: Vec<(String, CellAt)> = texts
            .into_iter()
            .flat_map(|(text, at)| {
                let whole = label(&text).name;
                let words = text.split(|it: char| !(it.is_alphanumeric() || "_.".contains(it)));
                let symbols = words.filter(|word| word.contains('_') && **word != *whole);
                let symbols: Vec<String> = symbols.map(str::to_owned).collect();
                std::iter::once(whole).chain(symbols).map(move |it| (it, at.clone()))
            })
            .collect();
        if said.iter().any(|(said, _)| is_own(said)) {
            return None;
        }
        said.into_iter().find(|(said, _)| knows(said) && !is_unit(said))
    }

    /// As [`Self::named_otherwise`], of a cell that is bound to a name, with what to do about it.
    pub(super) fn labelled_otherwise(
        &self,
        program: &Program,
        name: &str,
        cell: &CellAt,
    ) -> Option<Diagnostic> {
        let (said, at) = self.named_otherwise(program, name, cell)?;
        let words = match at.position.row == cell.position.row {
            true => format!("this cell is bound to `{name}`, and the cell before it says `{said}`"),
            false => {
                format!("this cell is bound to `{name}`, and the heading above it says `{said}`")
            }
        };
        Some(
            Diagnostic::error(Name::TwoStatements, words)
                .at(self.place(cell))
                .label(self.place(&at), format!("here it is `{said}`"))
                .remedy(format!(
                    "bind `{name}` to its own cell, or change the text of {}",
                    at.position.name()
                )),
        )
    }

    /// The unit that is stated for a cell: to its right, in a text before it, or in the heading above it.
    pub(in crate::workbook) fn unit_about(
        &self,
        cell: &CellAt,
        kind: &'static Kind,
    ) -> Option<(Unit, CellAt)> {
        let read = |text: &str| kind.read_plate(text).or_else(|_| parse_unit(text)).ok();
        let right = self.unit_cell(cell).and_then(|at| Some((read(&self.text_of(&at)?)?, at)));
        let said = right.or_else(|| {
            let texts = self.texts_about(cell);
            texts.into_iter().find_map(|(text, at)| Some((read(&label(&text).unit?)?, at)))
        });
        // `0.0" kg·cm²"`
        said.or_else(|| {
            let tab = self.book.tab(&cell.tab).filter(|tab| !tab.shows_plainly(cell.position))?;
            let Cell::Number(number) = self.cell(cell) else { return None };
            let view = tab.views(cell.position).into_iter().next()?;
            let shown = view.number(*number).after;
            Some((read(shown.trim()).filter(|it| !it.symbol.is_empty())?, cell.clone()))
        })
    }

    /// As [`Self::unit_about`], of a cell that feeds an input read in `own`: a number that is called a flywheel effect is four
    /// times the inertia, with its unit or in that of the input.
    pub(in crate::workbook) fn unit_fed(
        &self,
        cell: &CellAt,
        input: &Input,
        own: Option<&Unit>,
        said: Option<(Unit, CellAt)>,
    ) -> Option<(Unit, CellAt)> {
        let mut texts = self.texts_about(cell);
        let right = self.unit_cell(cell);
        texts.extend(right.and_then(|at| Some((self.text_of(&at)?, at))));
        let Some(own) = own.filter(|_| is_of_inertia(input)) else { return said };
        // in kgf·m² it is as many kg·m²
        let mass = said.as_ref().and_then(|(unit, at)| Some((of_mass(unit, own)?, at.clone())));
        // `GD² = 0.0936 kg·m²` states a figure of its own, not the cell's
        let states = |text: &str| {
            let behind = text.split('=').skip(1);
            behind.into_iter().any(|it| it.trim_start().starts_with(|it: char| it.is_ascii_digit()))
        };
        let called =
            texts.into_iter().find(|it| is_flywheel(&it.0) && !states(&it.0)).map(|it| it.1);
        let found = match (mass, called, &said) {
            (Some((unit, at)), ..) => (of_effect(&unit)?, at),
            (None, Some(at), None) => (of_effect(own)?, at),
            (None, Some(at), Some((unit, _))) if unit.dimension == own.dimension => {
                (of_effect(unit)?, at)
            }
            _ => return said,
        };
        Some(found)
    }
}

/// The unit of as much mass as its unit weighs at standard gravity (ISO 80000-3: 9.806 65 m/s²); none for another kind, and
/// none for the units of inches and feet, in which plates give WK², the inertia itself.
fn of_mass(unit: &Unit, own: &Unit) -> Option<Unit> {
    if !["kgf", "kp"].iter().any(|force| unit.symbol.starts_with(force)) {
        return None;
    }
    let factor = unit.factor.over(Factor::decimal(980_665, -5))?;
    let found = Unit { factor, dimension: own.dimension, ..unit.clone() };
    is_weighed(unit.dimension, own.dimension, 9.806_65).then_some(found)
}
