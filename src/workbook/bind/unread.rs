//! Rows that state an input which is not read, while the sheet's default is taken in its place.

use super::blocks::asked;
use super::{Binder, CellAt, Part, ReadCell, label};
use crate::calculation::Inputs;
use crate::diagnostic::{Diagnostic, Name, Severity};
use crate::program::{Input, Program};
use crate::spreadsheet::{Area, Cell, Position, Tab, TabKind};

/// Columns to the right of a name in which its value is looked for.
const REACH: i64 = 3;

/// What a calculation takes.
pub(in crate::workbook) struct Taken<'a> {
    pub(in crate::workbook) program: &'a Program,
    pub(in crate::workbook) inputs: &'a Inputs,
    /// Cells that it reads.
    pub(in crate::workbook) reads: &'a [ReadCell],
    /// A tab whose rows are asked for elsewhere.
    pub(in crate::workbook) but: Option<&'a str>,
}

impl Binder<'_> {
    /// Rows that nothing reads, and that state an input for which the default is taken: between rows that are read a
    /// mistake, elsewhere a caution.
    pub(in crate::workbook) fn unread(
        &self,
        taken: &Taken<'_>,
        is_read: &dyn Fn(&CellAt) -> bool,
    ) -> Vec<Diagnostic> {
        let defaults = taken.program.inputs.iter().filter(|input| {
            input.default.is_some()
                && input.kind.is_some()
                && !taken.inputs.is_given(input)
                && !taken.inputs.is_given_up(&input.name)
        });
        let defaults: Vec<&Input> = defaults.collect();
        if defaults.is_empty() {
            return Vec::new();
        }
        let tabs = self.book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells);
        let tabs = tabs.filter(|tab| Some(tab.name.as_str()) != taken.but);
        tabs.flat_map(|tab| self.unread_on(tab, &defaults, taken, is_read)).collect()
    }

    fn unread_on(
        &self,
        tab: &Tab,
        defaults: &[&Input],
        taken: &Taken<'_>,
        is_read: &dyn Fn(&CellAt) -> bool,
    ) -> Vec<Diagnostic> {
        let values =
            taken.reads.iter().filter(|read| read.part == Part::Value && read.cell.tab == tab.name);
        let own = values
            .map(|read| Area::between(read.cell.position, read.cell.position))
            .reduce(Area::with);
        let mut starts: Vec<Position> = Vec::new();
        let mut found = Vec::new();
        for entry in tab.entries() {
            let Cell::Text(text) = &entry.cell else { continue };
            if asked(text).is_some() {
                starts.push(entry.position);
                continue;
            }
            let name = label(text).name;
            let Some(input) = defaults.iter().find(|input| input.name == name) else { continue };
            // a row of a block is asked with its block
            if starts.iter().any(|it| it.column == entry.position.column) {
                continue;
            }
            let name_cell = CellAt { tab: tab.name.clone(), position: entry.position };
            let Some(value) = self.value_of(&name_cell) else { continue };
            if is_read(&value) || is_read(&name_cell) || !self.states(input, text, &value) {
                continue;
            }
            let between = own.is_some_and(|own| {
                (own.first.row..=own.last.row).contains(&value.position.row)
                    && (own.first.column..=own.last.column).contains(&value.position.column)
            });
            let severity = if between { Severity::Error } else { Severity::Caution };
            let words = format!(
                "`{name}` stands in {} with a value that nothing reads, and the sheet's default is taken",
                entry.position.name()
            );
            let problem = match severity {
                Severity::Error => Diagnostic::error(Name::UnknownRow, words),
                _ => Diagnostic::caution(Name::UnknownRow, words),
            };
            found.push(problem.at(self.place(&name_cell)).remedy(format!(
                "if it counts, let `{name}` be read from {}; if not, rename it or take it out",
                value.position.name()
            )));
        }
        found
    }

    /// The first number to the right of a name, without other words between.
    fn value_of(&self, name: &CellAt) -> Option<CellAt> {
        for right in 1..=REACH {
            let cell = self.beside(name, 0, right)?;
            match self.cell(&cell) {
                Cell::Number(_) => return Some(cell),
                Cell::Empty => {}
                _ => return None,
            }
        }
        None
    }

    /// Whether a row states an input: by a symbol of several letters, or with a unit of its kind.
    fn states(&self, input: &Input, text: &str, value: &CellAt) -> bool {
        let beside = self.unit_cell(value).and_then(|cell| self.text_of(&cell));
        let unit = beside.or_else(|| label(text).unit);
        let of_kind = unit.is_some_and(|unit| {
            input.kind.is_some_and(|kind| !kind.bare && kind.read_plate(&unit).is_ok())
        });
        of_kind || input.name.contains('_')
    }
}
