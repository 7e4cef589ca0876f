//! Rows that state an input which is not read, while the sheet's default is taken in its place.

use super::label::asked;
use super::{Binder, CellAt, Part, ReadCell, Request, label};
use crate::calculation::Inputs;
use crate::diagnostic::{Diagnostic, Name, Place, Severity};
use crate::number::InputValue;
use crate::program::{Input, Program, nearest};
use crate::spreadsheet::terms::{Of, terms};
use crate::spreadsheet::{Area, Cell, Position, Tab, TabKind};
use crate::unit::Unit;

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
    /// Rows of other tabs, and around cells that bear names, that state an input which is not read, or once more; a row of
    /// which something is wrong already is said once.
    pub(super) fn rows_apart(&self) -> Vec<Diagnostic> {
        let row = |problem: &Diagnostic| match &problem.place {
            Some(Place::Cell { tab, row, .. }) => Some((tab.clone(), *row)),
            _ => None,
        };
        let said: Vec<_> = self.bound.problems.iter().filter_map(row).collect();
        let found = self.bound.requests.iter().flat_map(|request| {
            let taken = Taken {
                program: &request.program,
                inputs: &request.inputs,
                reads: &request.reads,
                but: None,
            };
            let unread = self.unread(&taken, &|cell| self.is_bound(cell));
            unread.into_iter().chain(self.stated_again(request))
        });
        found.filter(|it| !row(it).is_some_and(|row| said.contains(&row))).collect()
    }

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
            let known = |it: &&&Input| it.name == name || is_near(&name, it);
            let Some(input) = defaults.iter().find(known) else { continue };
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
            let measured = self.has_unit_of(input, text, &value);
            if name != input.name && !measured {
                continue;
            }
            let severity = if between || measured { Severity::Error } else { Severity::Caution };
            let here = entry.position.name();
            let words = format!(
                "`{name}` stands in {here} with a value that nothing reads, and the sheet's default is taken for `{}`",
                input.name
            );
            let problem = match severity {
                Severity::Error => Diagnostic::error(Name::UnknownRow, words),
                _ => Diagnostic::caution(Name::UnknownRow, words),
            };
            found.push(problem.at(self.place(&name_cell)).remedy(format!(
                "if it counts, let `{0}` be read from {1}; if not, state `{0}` beside the other inputs, as what it is, or rename the text of {here}",
                input.name,
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
        input.name.contains('_') || self.has_unit_of(input, text, value)
    }

    /// Whether a unit of an input's kind stands beside a value, or in the label before it.
    fn has_unit_of(&self, input: &Input, text: &str, value: &CellAt) -> bool {
        self.unit_stated(input, text, value).is_some()
    }

    pub(super) fn unit_stated(&self, input: &Input, text: &str, value: &CellAt) -> Option<Unit> {
        let beside = self.unit_cell(value).and_then(|cell| self.text_of(&cell));
        let unit = beside.or_else(|| label(text).unit);
        input.kind.filter(|kind| !kind.bare)?.read_plate(&unit?).ok()
    }

    /// Whether the formula of an input takes a cell.
    fn is_part_of(&self, cell: &CellAt, input: &Place) -> bool {
        let Place::Cell { tab, row, column, .. } = input else { return false };
        let tab = self.book.tab(tab);
        let found = tab.and_then(|tab| terms(self.book, tab, Position::new(*row, *column)?));
        found.is_some_and(|found| {
            let taken = found.terms.iter().flat_map(|term| &term.parts);
            taken.into_iter().any(|part| {
                matches!(&part.of, Of::Cell(tab, at) if *tab == cell.tab && *at == cell.position)
            })
        })
    }

    /// Inputs that are read, and that stand elsewhere once more with another value in a unit of their kind.
    fn stated_again(&self, request: &Request) -> Vec<Diagnostic> {
        let tabs = self.book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells);
        let mut known: Vec<&str> = Vec::new();
        let mut found = Vec::new();
        for (tab, entry) in tabs.flat_map(|tab| tab.entries().map(move |entry| (tab, entry))) {
            let Cell::Text(text) = &entry.cell else { continue };
            let name = label(text).name;
            let given = request.program.inputs.iter().find(|input| {
                input.name == name
                    && request.inputs.is_given(input)
                    && !known.contains(&input.name.as_str())
            });
            let Some(input) = given else { continue };
            let name_cell = CellAt { tab: tab.name.clone(), position: entry.position };
            let Some(value) = self.value_of(&name_cell) else { continue };
            let (Cell::Number(number), Some(unit), Some(InputValue::One(own))) = (
                self.cell(&value),
                self.unit_stated(input, text, &value),
                request.inputs.value(input),
            ) else {
                continue;
            };
            let (said, own) = (*number, unit.from_si(own.si_f64()));
            if (said - own).abs() <= 1e-9 * said.abs().max(own.abs())
                || self.is_bound(&value)
                || self.is_bound(&name_cell)
                || self.is_part_of(&value, &request.inputs.place(input))
            {
                continue;
            }
            known.push(&input.name);
            let words = format!(
                "`{name}` stands in {} once more with another value, {number} {}, which is not used",
                entry.position.name(),
                unit.symbol
            );
            found.push(
                Diagnostic::caution(Name::TwoStatements, words)
                    .at(self.place(&value))
                    .label(request.inputs.place(input), "the value that is used")
                    .remedy("if it is the value that is meant, put it there; if it is another machine's or an older one, say so in its name"),
            );
        }
        found
    }
}

/// Whether a name is a slip away from that of an input.
fn is_near(name: &str, input: &Input) -> bool {
    name.chars().count() > 2
        && nearest(name, std::iter::once(input.name.as_str()))
            .first()
            .is_some_and(|(_, slips)| *slips == 1)
}
