//! One variant read from its row, as numbers of a column or, where that does not do, on its own.

use super::super::bind::formula::{not_its_own, nothing_saved, text_not_its_own};
use super::super::bind::is_nothing;
use super::super::bind::percent::doubt;
use super::super::bind::ratio;
use super::super::bind::text::{UnitAt, as_typed, remedy};
use super::super::bind::{Binder, CellAt, ToleranceAt};
use super::{InputColumns, ProductLine};
use crate::calculation::scale::hundredfold;
use crate::calculation::unused::usual_of;
use crate::calculation::{Inputs, Results, WorstCase, scale, written};
use crate::diagnostic::{Diagnostic, Name, Place, Problems, put_in_order};
use crate::program::{Checked, Input, Sheets, Type, unknown_sheet};
use crate::spreadsheet::{Book, Cell, Entry, Position, Tab};
use crate::unit::{Literal, Unit};

/// What an input of one row holds, fit for a column.
pub(super) enum Plain {
    Number(f64),
    Word(usize),
    /// Nothing, which stands where the words of the row leave the input out.
    Nothing,
}

impl ProductLine {
    /// The inputs of a row, if each is as a column can hold it; none where the row needs a closer look.
    pub(super) fn plain_row(&self, book: &Book, tab: &Tab, row: u32) -> Option<Vec<Plain>> {
        if self.odd.contains_key(&row) || self.said_in_row(book, tab, row).is_some() {
            return None;
        }
        let cells = tab.row(row);
        self.inputs.iter().map(|columns| self.plain(book, tab, cells, columns)).collect()
    }

    fn plain(
        &self,
        book: &Book,
        tab: &Tab,
        cells: &[Entry],
        columns: &InputColumns,
    ) -> Option<Plain> {
        let input = self.program.inputs.get(columns.input)?;
        let [column] = columns.columns.as_slice() else { return None };
        let at = cells.binary_search_by_key(column, |entry| entry.position.column).ok();
        let entry = at.and_then(|at| cells.get(at));
        let holds_nothing = |entry: &Entry| match &entry.cell {
            Cell::Empty => true,
            Cell::Text(text) => is_nothing(text),
            _ => false,
        };
        let Some(entry) = entry.filter(|it| !holds_nothing(it)) else {
            return (!usual_of(input).is_empty()).then_some(Plain::Nothing);
        };
        let pieced = |text: &String| {
            book.pieces.struck.contains(text) || book.pieces.raised.contains_key(text)
        };
        if tab.is_struck(entry.position) || matches!(&entry.cell, Cell::Text(text) if pieced(text))
        {
            return None;
        }
        if let (true, Cell::Number(saved)) = (entry.formula, &entry.cell) {
            let cell = CellAt { tab: tab.name.clone(), position: entry.position };
            if not_its_own(book, &cell, *saved, "").is_some() {
                return None;
            }
        }
        if entry.formula
            && text_not_its_own(book, &CellAt { tab: tab.name.clone(), position: entry.position })
                .is_some()
        {
            return None;
        }
        match (&input.type_, &entry.cell) {
            (Type::Number { series: false, .. }, Cell::Number(number)) if number.is_finite() => {
                let saved = *number;
                let number = number_of(tab, entry.position, saved, &columns.unit)?;
                let (from, to) = columns.unasked;
                let asked = !(from..=to).contains(&number.abs());
                if asked && scale::doubt(input, number, &columns.unit).is_some() {
                    return None;
                }
                // a cell that shows a percentage states what it is
                if number == saved && doubt(input, number, &columns.unit, "").is_some() {
                    return None;
                }
                let counts = input.kind.is_some_and(|kind| kind.name == "count");
                (!counts || number.fract() == 0.0).then_some(Plain::Number(number))
            }
            (Type::Choice(words), cell) => {
                let found = match cell {
                    Cell::Text(text) => text.trim().to_owned(),
                    Cell::Number(number) => number.to_string(),
                    _ => return None,
                };
                words.iter().position(|word| word.eq_ignore_ascii_case(&found)).map(Plain::Word)
            }
            _ => None,
        }
    }

    /// A row on exact decimals.
    pub(crate) fn exactly(&self, book: &Book, row: u32) -> Result<Results, Problems> {
        self.of_row(book, row, &|inputs| Results::compute(&self.program, inputs))
    }

    /// The worst case of a row within its tolerances.
    pub(super) fn worst_of(&self, book: &Book, row: u32) -> Result<WorstCase, Problems> {
        self.of_row(book, row, &|inputs| WorstCase::compute(&self.program, inputs))
    }

    /// The inputs of a variant, with those that all share and with their tolerances.
    ///
    /// # Errors
    /// What is wrong with the cells of its row, each at its cell.
    pub fn inputs_of(&self, book: &Book, row: u32) -> Result<Inputs, Problems> {
        self.of_row(book, row, &|inputs| Ok(inputs.clone()))
    }

    fn of_row<T>(
        &self,
        book: &Book,
        row: u32,
        work: &dyn Fn(&Inputs) -> Result<T, Problems>,
    ) -> Result<T, Problems> {
        let mut binder = Binder::new(book, &NoSheets);
        let place = Place::Cell { book: book.name.clone(), tab: self.tab.clone(), row, column: 0 };
        let mut request = binder.request(&self.sheet, place, &self.program);
        request.inputs = self.shared.clone();
        for columns in &self.inputs {
            let Some(input) = self.program.inputs.get(columns.input) else { continue };
            let cells: Vec<CellAt> = columns
                .columns
                .iter()
                .map(|column| CellAt {
                    tab: self.tab.clone(),
                    position: Position { row, column: *column },
                })
                .collect();
            let heading = book.place(
                &self.tab,
                Position {
                    row: self.header,
                    column: columns.columns.first().copied().unwrap_or(0),
                },
            );
            let symbol = columns.unit.symbol.clone();
            let unit = (!symbol.is_empty()).then_some((symbol, heading));
            let before = binder.bound.problems.len();
            let tolerance = columns.tolerance.map_or(ToleranceAt::Nowhere, |column| {
                let position = Position { row, column };
                let cell = CellAt { tab: self.tab.clone(), position };
                let tab = self.tab(book);
                let number = tab.and_then(|tab| match tab.cell(position) {
                    Cell::Number(number) if !tab.shows_percent(position) => Some(number),
                    _ => None,
                });
                match number.zip(columns.tolerance_unit.as_ref()) {
                    Some((number, unit)) => {
                        ToleranceAt::Said(format!("± {number} {unit}"), binder.place(&cell))
                    }
                    None => ToleranceAt::In(cell),
                }
            });
            // the words of a row are read with it as a whole
            binder.read_input(&mut request, &input.name, &cells, unit, &tolerance);
            let pending = request.pending.iter_mut().filter(|it| it.name == input.name);
            let pending = pending.flat_map(|it| &mut it.problems);
            for problem in binder.bound.problems.iter_mut().skip(before).chain(pending) {
                relabel(problem, input, &columns.unit, book);
            }
        }
        binder.settle(&mut request);
        let mut problems = binder.bound.problems;
        problems.extend(self.odd.get(&row).into_iter().flatten().cloned());
        let tab = self.tab(book);
        problems.extend(tab.and_then(|tab| self.said_in_row(book, tab, row)));
        let outcome = work(&request.inputs);
        match outcome {
            Ok(found) if problems.is_empty() => return Ok(found),
            Ok(_) => {}
            Err(found) => problems.extend(found.into_iter().map(|problem| {
                let column = self.spoken_of(book, &problem, row);
                in_row(problem, book, &self.tab, row, column)
            })),
        }
        put_in_order(&mut problems);
        Err(problems.into())
    }
}

impl ProductLine {
    /// The column of the input that a problem speaks of; else the first cell of the row, which names the variant.
    fn spoken_of(&self, book: &Book, problem: &Diagnostic, row: u32) -> u32 {
        let named = |names: &dyn Fn(&str) -> bool| {
            let mut columns = self.inputs.iter();
            let found = columns.find(|columns| {
                self.program.inputs.get(columns.input).is_some_and(|it| names(&it.name))
            });
            found.and_then(|columns| columns.columns.first().copied())
        };
        let symbol = |it: char| !(it.is_alphanumeric() || it == '_');
        let column = named(&|name| name == problem.input)
            .or_else(|| named(&|name| problem.headline.split(symbol).any(|word| word == name)));
        let first = || {
            let cells = book.tab(&self.tab).map(|tab| tab.row(row)).unwrap_or_default();
            cells.iter().find(|entry| !entry.held().is_empty()).map(|entry| entry.position.column)
        };
        column.or_else(first).unwrap_or(0)
    }
}

/// A fault on the way stands in a line of the sheet, or at a value that all rows share; the person looks for the row.
fn in_row(mut problem: Diagnostic, book: &Book, tab: &str, row: u32, column: u32) -> Diagnostic {
    let cell = |at: &Place| matches!(at, Place::Cell { .. });
    let here = |at: &Place| matches!(at, Place::Cell { tab: of, row: at, .. } if *at == row && of.eq_ignore_ascii_case(tab));
    if problem.place.as_ref().is_some_and(here) {
        return problem;
    }
    let line = problem.place.replace(book.place(tab, Position { row, column }));
    match line {
        Some(shared) if cell(&shared) => problem.label(shared, "a value that all rows share"),
        Some(line) => problem.label(line, "in this line of the sheet"),
        None => problem,
    }
}

/// A cell's number in the unit of its column; a cell formatted as a percentage holds the fraction.
fn number_of(tab: &Tab, position: Position, number: f64, unit: &Unit) -> Option<f64> {
    if unit.symbol == "%" && tab.formats_unknown {
        return None;
    }
    if !tab.shows_plainly(position) && !shows_unit(tab, position, number, unit) {
        return None;
    }
    if unit.symbol != "%" || !tab.shows_percent(position) {
        return Some(number);
    }
    hundredfold(number)
}

/// Whether a cell shows its number with its own unit behind it, or as the percentage that it is read as.
fn shows_unit(tab: &Tab, position: Position, number: f64, unit: &Unit) -> bool {
    let own_percent = tab.shows_percent(position);
    tab.views(position).iter().all(|view| {
        let shown = view.number(number);
        let percent = shown.ten == 2 && unit.symbol == "%" && own_percent;
        let plain = shown.digits && !shown.between && shown.before.trim().is_empty();
        let seen = !view.clock && view.unseen(&shown).is_none();
        let agrees = view.is_percent() == own_percent && (shown.ten == 0 || percent);
        plain && seen && agrees && shown.after.trim() == unit.symbol
    })
}

/// In a table the unit stands in the heading, not beside the number.
fn relabel(problem: &mut Diagnostic, input: &Input, unit: &Unit, book: &Book) {
    let Some(Place::Cell { tab, row, column, .. }) = &problem.place else { return };
    let position = Position { row: *row, column: *column };
    let here = position.name();
    let cell = book.tab(tab).map_or(&Cell::Empty, |tab| tab.cell(position));
    match (problem.name, cell) {
        (Name::TextForNumber, Cell::Text(text)) => {
            let Some(kind) = input.kind else { return };
            let remedy = ratio::remedy(kind, text, (Some(unit.symbol.as_str()), &here))
                .unwrap_or_else(|| remedy(kind, text, &here, &UnitAt::Said(unit, "the heading")));
            let formula = book.tab(tab).is_some_and(|tab| tab.has_formula(position));
            problem.remedy = as_typed(book, text, remedy, formula);
            if let Some(default) = input.default.as_ref().filter(|_| is_nothing(text)) {
                problem.remedy.push_str(&default_is(default));
            }
        }
        (Name::MergedCell, _) => {
            problem.remedy =
                "take the merged cells apart, and write one value for each variant".to_owned();
        }
        (Name::EmptyCell, Cell::Empty)
            if book.tab(tab).is_some_and(|tab| tab.has_formula(position)) =>
        {
            problem.remedy = nothing_saved(&here);
        }
        (Name::EmptyCell, Cell::Empty) => {
            problem.remedy = match &input.default {
                Some(default) => format!("write a value into {here}{}", default_is(default)),
                None => format!("write a value into {here}, or empty the whole row"),
            };
        }
        _ => {}
    }
}

/// What the sheet's default is, behind what is to be written into a cell of a column.
fn default_is(default: &Literal) -> String {
    format!("; the sheet's default is {}", written(default))
}

/// The sheet is known when rows are read; no other is looked for.
struct NoSheets;

impl Sheets for NoSheets {
    fn checked(&self, name: &str, place: &Place) -> Result<Checked, Box<Diagnostic>> {
        Err(unknown_sheet(name, &[], &[], place))
    }

    fn names(&self) -> Vec<String> {
        Vec::new()
    }
}
