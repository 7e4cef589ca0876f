//! Formulas in the columns of inputs: what they take their values from, and rows whose formula is not that of the others.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::super::bind::feed::Fed;
use super::super::bind::{Binder, CellAt, label};
use super::{InputColumns, ProductLine, units};
use crate::calculation::scale::{of_another_kind, unusual_unit};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::Input;
use crate::spreadsheet::{Book, Cell, Position, Tab, relative};
use crate::unit::{Unit, parse_unit};

/// Kinds of formulas in one column whose first row is looked at.
const KINDS: usize = 100;

/// The rows of each kind of formula in a column.
type Kinds = BTreeMap<String, Vec<u32>>;

impl ProductLine {
    /// The rows of a column by the formulas in them, each seen from its own row.
    fn kinds(&self, tab: &Tab, column: u32) -> Kinds {
        let mut kinds = Kinds::new();
        for row in &self.variants {
            if let Some(text) = relative(tab, Position { row: *row, column }) {
                kinds.entry(text).or_default().push(*row);
            }
        }
        kinds
    }

    /// The first row of each kind of formula in a column, and of those that take no cell, such as `=SPEED()`.
    fn firsts(&self, tab: &Tab, column: u32) -> Vec<u32> {
        let kinds = self.kinds(tab, column);
        let firsts = kinds.values().filter_map(|rows| rows.first().copied());
        let own = |row: &u32| tab.formulas.text(Position { row: *row, column });
        let bare = self.variants.iter().copied().filter(|row| {
            own(row).is_some() && relative(tab, Position { row: *row, column }).is_none()
        });
        let mut seen = BTreeSet::new();
        let bare = bare.filter(|row| seen.insert(own(row).map(|(text, _)| text)));
        firsts.take(KINDS).chain(bare.take(KINDS)).collect()
    }

    /// Columns whose formulas take what is in another unit, or another input.
    pub(super) fn fed_otherwise(&self, binder: &Binder<'_>, tab: &Tab) -> Vec<Diagnostic> {
        let mut found = Vec::new();
        for (columns, input) in self.columns_of_inputs() {
            for column in &columns.columns {
                for row in self.firsts(tab, *column) {
                    let position = Position { row, column: *column };
                    let cell = CellAt { tab: tab.name.clone(), position };
                    found.extend(binder.unchecked(&cell, &input.name));
                    found.extend(self.fed(binder, tab, columns, input, row, *column));
                }
                // what stands elsewhere is taken by many rows
                let passed = RefCell::new(BTreeSet::new());
                let rows = self.variants.iter().filter_map(|row| {
                    let position = Position { row: *row, column: *column };
                    let cell = CellAt { tab: tab.name.clone(), position };
                    let of_row = |at: &CellAt| {
                        let key = (at.tab.clone(), at.position);
                        at.tab == cell.tab && at.position.row == *row
                            || !passed.borrow_mut().insert(key)
                    };
                    tab.formulas.text(position)?;
                    let (program, unit) = (&self.program, Some(&columns.unit));
                    let fed = Fed { program, input, unit, cell: &cell };
                    binder.of_sources(&cell, &fed, &of_row)
                });
                found.extend(rows.take(1));
            }
        }
        found
    }

    fn fed(
        &self,
        binder: &Binder<'_>,
        tab: &Tab,
        columns: &InputColumns,
        input: &Input,
        row: u32,
        column: u32,
    ) -> Option<Diagnostic> {
        let cell = CellAt { tab: tab.name.clone(), position: Position { row, column } };
        let here = |at: &CellAt| at.tab.eq_ignore_ascii_case(&tab.name);
        let fed = Fed { program: &self.program, input, unit: Some(&columns.unit), cell: &cell };
        let other = |at: &CellAt| {
            let of_row = self.columns_of_inputs().find(|(columns, _)| {
                here(at) && at.position.row == row && columns.columns.contains(&at.position.column)
            });
            let shared = self.shared_cells.iter().find(|read| read.cell == *at);
            let name = of_row.map(|(_, input)| input.name.clone());
            let name = name.or_else(|| shared.map(|read| read.name.clone()))?;
            (name != input.name).then_some(name)
        };
        let said_of = |at: &CellAt| {
            let kind = input.kind?;
            if !here(at) || at.position.row <= self.header {
                return binder.unit_about(at, kind);
            }
            let read = |text: &str| kind.read_plate(text).or_else(|_| parse_unit(text)).ok();
            let column = at.position.column;
            let said = |row: u32| -> Option<(Unit, CellAt)> {
                let position = Position { row, column };
                let unit = match tab.cell(position) {
                    Cell::Text(text) if row == self.header => read(&label(text).unit?)?,
                    _ => read(&units::text_at(tab, row, column)?)?,
                };
                Some((unit, CellAt { tab: tab.name.clone(), position }))
            };
            said(self.header).or_else(|| said(self.units?))
        };
        let unit_of = |at: &CellAt| binder.unit_fed(at, input, fed.unit, said_of(at));
        binder.linked_otherwise(&fed, &other, &unit_of).or_else(|| binder.another_end(&fed))
    }

    /// Columns whose first number, in the unit of the column, bears the figure of another unit, or whose unit is that of
    /// something else.
    pub(super) fn unusual_units(&self, book: &Book, tab: &Tab) -> Vec<Diagnostic> {
        let found = self.columns_of_inputs().filter_map(|(columns, input)| {
            let position =
                Position { row: *self.variants.first()?, column: *columns.columns.first()? };
            let Cell::Number(number) = tab.cell(position) else { return None };
            let unit = &columns.unit;
            let problem = unusual_unit(input, *number, unit).or_else(|| {
                let value = format!("{number} {}", unit.symbol);
                of_another_kind(input, unit, &value)
            })?;
            Some(problem.at(book.place(&tab.name, position)))
        });
        found.collect()
    }

    fn columns_of_inputs(&self) -> impl Iterator<Item = (&InputColumns, &Input)> {
        self.inputs
            .iter()
            .filter_map(|columns| Some((columns, self.program.inputs.get(columns.input)?)))
    }

    /// What is asked of rows whose formula is not that of the other rows of its column.
    pub(super) fn odd_formulas(&self, book: &Book, tab: &Tab) -> BTreeMap<u32, Vec<Diagnostic>> {
        let mut found: BTreeMap<u32, Vec<Diagnostic>> = BTreeMap::new();
        for (columns, input) in self.columns_of_inputs() {
            for column in &columns.columns {
                let kinds = self.kinds(tab, *column);
                let all: usize = kinds.values().map(Vec::len).sum();
                let Some(most) = kinds.values().max_by_key(|rows| rows.len()) else { continue };
                let odd = all - most.len();
                let Some(like) = most.first().filter(|_| most.len() > 1) else { continue };
                if odd == 0 || odd > (all / 10).max(1) {
                    continue;
                }
                let at = |row: u32| Position { row, column: *column };
                let of_most = at(*like).name();
                for row in kinds.values().filter(|rows| rows.len() < most.len()).flatten() {
                    let here = at(*row).name();
                    let words = format!(
                        "`{}`: the formula of {here} is not that of the other rows of its column",
                        input.name
                    );
                    let problem = Diagnostic::error(Name::TwoStatements, words)
                        .at(book.place(&tab.name, at(*row)))
                        .label(book.place(&tab.name, at(*like)), format!("{} rows have this one", most.len()))
                        .remedy(format!(
                            "copy the formula of {of_most} into {here}; if this variant differs, write its number in place of the formula"
                        ));
                    found.entry(*row).or_default().push(problem);
                }
            }
        }
        found
    }

    /// Columns of formulas in a few rows of which a number was typed instead.
    pub(super) fn typed_over(&self, book: &Book, tab: &Tab) -> Vec<Diagnostic> {
        let mut found = Vec::new();
        for (columns, input) in self.columns_of_inputs() {
            for column in &columns.columns {
                let kinds = self.kinds(tab, *column);
                let Some(most) = kinds.values().map(Vec::len).max() else { continue };
                let at = |row: u32| Position { row, column: *column };
                let bare = |row: &&u32| tab.formulas.text(at(**row)).is_none();
                let typed: Vec<u32> = self.variants.iter().filter(bare).copied().collect();
                let [first, more @ ..] = typed.as_slice() else { continue };
                if most < 2 || typed.len() > (most / 10).max(1) {
                    continue;
                }
                let more = if more.is_empty() {
                    String::new()
                } else {
                    format!(" (and so in {} more)", more.len())
                };
                let words = format!(
                    "`{}`: {} holds no formula{more}, and {most} other rows of its column have the same one",
                    input.name,
                    at(*first).name()
                );
                let caution = Diagnostic::caution(Name::TwoStatements, words);
                found.push(caution.at(book.place(&tab.name, at(*first))).remedy(
                    "if the number is meant for this variant, leave it; if not, copy the formula there",
                ));
            }
        }
        found
    }
}
