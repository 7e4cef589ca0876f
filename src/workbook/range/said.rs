//! What the remarks of a variant say of it: another quantity or another unit than that in which its columns are read.

use super::super::bind::is_flywheel;
use super::super::bind::said::{two_units, unit_alone};
use super::ProductLine;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Book, Cell, Tab};

impl ProductLine {
    /// The columns of inputs, results, tolerances and the status.
    pub(in crate::workbook) fn is_own_column(&self, column: u32) -> bool {
        let of_inputs =
            |it: &super::InputColumns| it.columns.contains(&column) || it.tolerance == Some(column);
        self.inputs.iter().any(of_inputs)
            || self.results.iter().any(|result| result.column == column)
            || self.status.column == column
    }

    /// A flywheel effect among the words of a row, whose first text is its name, and a unit in a column of units
    /// or alone.
    pub(super) fn said_in_row(&self, book: &Book, tab: &Tab, row: u32) -> Option<Diagnostic> {
        let texts = tab.row(row).iter().filter_map(|entry| match &entry.cell {
            Cell::Text(text) if !self.is_own_column(entry.position.column) => {
                Some((entry.position, text.trim()))
            }
            _ => None,
        });
        let (at, words, remedy) = texts.enumerate().find_map(|(count, (at, text))| {
            let (words, remedy) = self.flywheel(text).filter(|_| count > 0).or_else(|| {
                let headed = self.said_units.contains(&at.column).then_some(text);
                self.other_unit(
                    at.column,
                    headed.or_else(|| unit_alone(text).filter(|_| self.said_units.is_empty()))?,
                )
            })?;
            Some((at, words, remedy))
        })?;
        let problem = Diagnostic::error(Name::TwoStatements, words);
        Some(problem.at(book.place(&tab.name, at)).remedy(remedy))
    }

    fn flywheel(&self, text: &str) -> Option<(String, String)> {
        let inputs = self.inputs.iter().filter_map(|it| self.program.inputs.get(it.input));
        let input = inputs
            .filter(|input| input.kind.is_some_and(|kind| kind.name == "inertia"))
            .find(|input| {
                is_flywheel(text)
                    && ![&input.name, &input.note].into_iter().any(|own| is_flywheel(own))
            })?;
        Some((
            format!(
                "\"{text}\" stands in the row of `{}`, and a flywheel effect is four times the inertia",
                input.name
            ),
            "write the inertia, a quarter of it, and take the flywheel effect out of the words"
                .to_owned(),
        ))
    }

    /// What a text in a column of units says against the nearest input before it of whose kind it is.
    fn other_unit(&self, column: u32, text: &str) -> Option<(String, String)> {
        let read = self.inputs.iter().filter_map(|columns| {
            let before = *columns.columns.iter().filter(|it| **it < column).max()?;
            let input = self.program.inputs.get(columns.input)?;
            Some((before, input, &columns.unit, input.kind?.read_plate(text).ok()?))
        });
        let (_, input, own, said) = read.max_by_key(|it| it.0)?;
        if said.is_same(own) {
            return None;
        }
        Some(two_units(&input.name, own, &said))
    }
}
