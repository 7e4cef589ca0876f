//! What is close to something that we know and is not it: never passed over.

use super::{Binder, CellAt, Request};
use crate::calculation::is_tolerance;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::nearest;
use crate::spreadsheet::Cell;
use crate::unit::{Kind, parse_unit, slips};

/// The word behind `Sheet`, `sheet:`, `shet` and the like, and the rest of the text.
pub(in crate::workbook) fn asked_nearly(text: &str) -> Option<&str> {
    let text = text.trim();
    let end = text.find(|it: char| it.is_whitespace() || matches!(it, ':' | '=' | '-'))?;
    let (first, rest) = text.split_at(end);
    let lower = first.to_lowercase();
    let near = lower == "sheet" || (4..=6).contains(&lower.len()) && slips(&lower, "sheet") <= 1;
    let second = rest
        .trim_start_matches(|it: char| it.is_whitespace() || matches!(it, ':' | '=' | '-'))
        .split(|it: char| it.is_whitespace() || matches!(it, ',' | ';' | ':' | '('))
        .next()?;
    (near && !second.is_empty()).then_some(second)
}

impl Binder<'_> {
    /// A cell that nearly asks for a sheet: `Sheet run-down`, `sheet: run-down`, `sheet run-down of the saw`, or
    /// `sheet` with the name in the cell beside.
    pub(in crate::workbook) fn nearly_asks(&self, cell: &CellAt, text: &str) -> Option<Diagnostic> {
        let beside;
        let second =
            if text.trim().trim_end_matches([':', '=']).trim_end().eq_ignore_ascii_case("sheet") {
                beside = self.text_of(&self.beside(cell, 0, 1)?)?;
                beside.as_str()
            } else {
                asked_nearly(text)?
            };
        let wanted = second.to_lowercase().replace('_', "-");
        let names = self.sheets.names();
        let known =
            if names.contains(&wanted) || self.sheets.checked(second, &self.place(cell)).is_ok() {
                if names.contains(&wanted) { wanted } else { second.to_owned() }
            } else {
                let near = nearest(&wanted, names.iter().map(String::as_str));
                near.first().filter(|(_, slips)| *slips <= 1)?.0.to_owned()
            };
        Some(
            Diagnostic::error(
                Name::UnknownSheet,
                format!("\"{text}\" looks like the name of a sheet and does not read as one"),
            )
            .at(self.place(cell))
            .remedy(format!(
                "write `sheet {known}` into {}, with nothing else",
                cell.position.name()
            )),
        )
    }

    /// Two units of one value that differ; what does not read as a unit is left to the reader of the unit.
    pub(super) fn units_differ(
        &self,
        name: &str,
        kind: Option<&'static Kind>,
        one: &(String, Place),
        other: &(String, Place),
    ) -> Option<Diagnostic> {
        let read = |text: &str| match kind {
            Some(kind) => kind.read_unit(text).ok().or_else(|| parse_unit(text).ok()),
            None => parse_unit(text).ok(),
        };
        let (first, second) = (read(&one.0)?, read(&other.0)?);
        let same = first.factor == second.factor
            && first.zero == second.zero
            && first.dimension == second.dimension;
        if same || one.1 == other.1 {
            return None;
        }
        Some(
            Diagnostic::error(
                Name::UnitMismatch,
                format!("`{name}` has two units: {} and {}", one.0, other.0),
            )
            .at(one.1.clone())
            .label(other.1.clone(), format!("here it is {}", other.0))
            .remedy(format!("take one of them out, or write {} in both places", one.0)),
        )
    }

    /// Several cells where one is meant; the cells of one merged area are one.
    pub(super) fn one_cell(
        &self,
        name: &str,
        cells: &[CellAt],
        place: Place,
    ) -> Option<Diagnostic> {
        let (first, last) = (cells.first()?, cells.last()?);
        let merged = self.book.tab(&first.tab).and_then(|tab| tab.merged_at(first.position));
        if cells.len() == 1 || merged.is_some_and(|area| area.contains(last.position)) {
            return None;
        }
        Some(
            Diagnostic::error(
                Name::BrokenReference,
                format!("`{name}` is one value, and {} cells are given for it", cells.len()),
            )
            .at(place)
            .remedy(format!(
                "point it to one cell: {} is the first of them",
                first.position.name()
            )),
        )
    }

    /// A row that stands apart from its block and yet bears a name of the sheet, or nearly, with a value.
    pub(super) fn strays(
        &self,
        request: &Request,
        taken: &[String],
        start: CellAt,
        from: u32,
        last: u32,
    ) -> Vec<Diagnostic> {
        let program = &request.program;
        let mut found = Vec::new();
        for row in from..=last {
            let at = |right: u32| {
                let column = start.position.column + right;
                let position = crate::spreadsheet::Position::new(row, column)?;
                Some(CellAt { tab: start.tab.clone(), position })
            };
            let (Some(name_cell), Some(value), Some(unit)) = (at(0), at(1), at(2)) else { break };
            let Some(text) = self.text_of(&name_cell) else { continue };
            if super::blocks::asked(&text).is_some() {
                break;
            }
            let holds = match self.cell(&value) {
                Cell::Number(_) => true,
                Cell::Empty => self.text_of(&unit).is_some_and(|unit| parse_unit(&unit).is_ok()),
                Cell::Text(text) => {
                    text.trim_start().starts_with(|it: char| it.is_ascii_digit())
                        || is_tolerance(text)
                }
                _ => false,
            };
            let name = super::label(&text).name;
            let known = || {
                let inputs = program.inputs.iter().map(|input| input.name.as_str());
                inputs.chain(program.outputs.iter().map(|output| output.name.as_str()))
            };
            let exact = known().any(|known| known == name);
            let near = name.chars().count() > 2
                && nearest(&name, known()).first().is_some_and(|(_, slips)| *slips == 1);
            // a name that the block has already may be listed once more, with what it means
            if holds && (exact || near) && !taken.contains(&name) {
                found.push(
                    Diagnostic::error(
                        Name::UnknownRow,
                        format!(
                            "`{name}` stands apart from the block of `{}`, below two empty rows",
                            request.sheet
                        ),
                    )
                    .at(self.place(&name_cell))
                    .label(request.place.clone(), "the block begins here")
                    .remedy("move the row up to the block, or rename it if it is a remark"),
                );
            }
        }
        found
    }
}
