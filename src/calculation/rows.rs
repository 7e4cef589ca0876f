//! Many rows of one sheet at a time, by the names of its inputs and results.

use crate::number::cores;
use std::collections::BTreeMap;

use uom::si::{Quantity, SI};

use super::input_text::read;
use super::inputs::{coherent, not_finite};
use super::{Inputs, Results, Sheet};
use crate::diagnostic::{Diagnostic, Name, Problems};
use crate::number::{ColumnInput, Columns, InputValue, OutputColumn, inputs_of_row};
use crate::program::{Input, Output, Type};
use crate::unit::{self, Unit};

/// Values for many rows: columns for some inputs, one value for the others.
///
/// A number is an f64 and stands for the shortest decimal that reads back as it; NaN is a row without a number.
///
/// # Example
/// ```
/// use standstill::Sheet;
/// use uom::si::f64::Time;
/// use uom::si::time::second;
/// let sheet = Sheet::library("run-down")?;
/// let mut rows = sheet.rows();
/// rows.write("n_0", "1500 r/min")?.write("T_0", "4 N·m")?.column("J", &[1.0, 2.0, -3.0], "kg·m²")?;
/// let results = rows.run()?;
/// let t_stop = results.get::<uom::si::time::Dimension>("t_stop")?;
/// // J·ω/T: 2 · 157.0796 / 4
/// assert!((t_stop[1].get::<second>() - 78.5398163397).abs() < 1e-9);
/// // an inertia below zero is reported, and its row has no figure
/// assert!(t_stop[2].get::<second>().is_nan());
/// assert_eq!(results.problems().keys().collect::<Vec<_>>(), [&2]);
/// # Ok::<(), standstill::Problems>(())
/// ```
#[derive(Clone, Debug)]
pub struct Rows {
    sheet: Sheet,
    /// What is the same in every row.
    inputs: Inputs,
    columns: BTreeMap<usize, Column>,
}

#[derive(Clone, Debug)]
enum Column {
    Numbers(Vec<f64>, Unit),
    Words(Vec<usize>),
}

/// What many rows gave.
#[derive(Clone, Debug)]
pub struct RowResults {
    sheet: Sheet,
    outputs: Vec<OutputColumn>,
    checks: Vec<Vec<bool>>,
    problems: BTreeMap<usize, Problems>,
    never: BTreeMap<(usize, usize), String>,
}

impl Sheet {
    /// Many rows of values to be filled in.
    #[must_use]
    pub fn rows(&self) -> Rows {
        Rows { sheet: self.clone(), inputs: self.inputs(), columns: BTreeMap::new() }
    }
}

impl Rows {
    /// Sets an input for all rows, from a text such as `1450 r/min`.
    ///
    /// # Errors
    /// As [`Inputs::write`]; `two-statements` where it has a column.
    pub fn write(&mut self, name: &str, text: &str) -> Result<&mut Self, Problems> {
        self.free(name)?;
        self.inputs.write(name, text)?;
        Ok(self)
    }

    /// Sets an input for all rows, from a `uom` quantity.
    ///
    /// # Errors
    /// As [`Inputs::set`]; `two-statements` where it has a column.
    pub fn set<D>(
        &mut self,
        name: &str,
        quantity: Quantity<D, SI<f64>, f64>,
    ) -> Result<&mut Self, Problems>
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        self.free(name)?;
        self.inputs.set(name, quantity)?;
        Ok(self)
    }

    /// Gives an input a number for each row, all in one unit.
    ///
    /// # Errors
    /// `unknown-input`; what the unit has wrong; `not-whole` with the row, counted from 0, where a count has
    /// a fraction; `series-for-number` where the input is a series; `two-statements`.
    pub fn column(
        &mut self,
        name: &str,
        numbers: &[f64],
        unit: &str,
    ) -> Result<&mut Self, Problems> {
        let (at, input) = self.free(name)?;
        // the unit is checked as it is for a text
        let unit = match read(&input, &format!("1 {unit}")).map_err(Problems::from)? {
            InputValue::One(literal) => literal.unit,
            _ => return Err(not_one_number(&input)),
        };
        self.put(at, &input, numbers.to_vec(), unit)
    }

    /// Gives an input a `uom` quantity for each row.
    ///
    /// # Errors
    /// As [`Self::column`].
    pub fn quantities<D>(
        &mut self,
        name: &str,
        quantities: &[Quantity<D, SI<f64>, f64>],
    ) -> Result<&mut Self, Problems>
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        let (at, input) = self.free(name)?;
        let unit = coherent::<D>(&input)?;
        if matches!(input.type_, Type::Number { series: true, .. }) {
            return Err(not_one_number(&input));
        }
        let numbers = quantities.iter().map(|quantity| quantity.value).collect();
        self.put(at, &input, numbers, unit)
    }

    /// Gives a choice a word for each row.
    ///
    /// # Errors
    /// `unknown-input`; `unknown-word` with the row, counted from 0; `two-statements`.
    pub fn words(&mut self, name: &str, words: &[&str]) -> Result<&mut Self, Problems> {
        let (at, input) = self.free(name)?;
        let mut places = Vec::with_capacity(words.len());
        let mut problems = Vec::new();
        for (row, word) in words.iter().enumerate() {
            match read(&input, word) {
                Ok(InputValue::Word(place)) => places.push(place),
                Ok(_) => return Err(not_one_number(&input)),
                Err(problem) => problems.push(in_row(problem, row)),
            }
        }
        if !problems.is_empty() {
            return Err(problems.into());
        }
        self.columns.insert(at, Column::Words(places));
        Ok(self)
    }

    /// Runs all rows, on as many threads as the machine has cores.
    ///
    /// A row that cannot be calculated does not stop the others: see [`RowResults::problems`].
    ///
    /// # Errors
    /// `missing-input`, what is wrong with a value that is the same in all rows, `lengths-differ` where
    /// columns have not the same number of rows.
    pub fn run(&self) -> Result<RowResults, Problems> {
        let count = self.count()?;
        let program = self.sheet.program();
        let mut rest = self.inputs.clone();
        for at in self.columns.keys() {
            if let Some(input) = program.inputs.get(*at) {
                rest.give_up(&input.name, input.place.clone());
            }
        }
        let wrong = rest.problems();
        if !wrong.is_empty() {
            return Err(wrong.into());
        }
        let inputs = program.inputs.iter().enumerate();
        let inputs: Vec<_> = inputs
            .map(|(at, input)| match self.columns.get(&at) {
                Some(Column::Numbers(values, unit)) => ColumnInput::Column { values, unit },
                Some(Column::Words(places)) => ColumnInput::Words(places),
                None => self.inputs.value(input).map_or(ColumnInput::Default, ColumnInput::Same),
            })
            .collect();
        let run = Columns::new(program, &inputs).run(program, &inputs, count, cores());
        let mut found = RowResults {
            sheet: self.sheet.clone(),
            outputs: run.outputs,
            checks: run.checks,
            problems: BTreeMap::new(),
            never: BTreeMap::new(),
        };
        for row in run.problems.keys() {
            match self.exactly(&inputs, *row) {
                Ok(results) => found.never.extend(nevers(&results, *row)),
                Err(problems) => {
                    // columns keep what a row gives outside of its ranges; nobody may use it
                    found.outputs.iter_mut().for_each(|column| without(column, *row));
                    found.checks.iter_mut().for_each(|check| put(check, *row, false));
                    found.problems.insert(*row, problems);
                }
            }
        }
        Ok(found)
    }

    /// One row alone on exact decimals, for what it has to say.
    fn exactly(&self, inputs: &[ColumnInput<'_>], row: usize) -> Result<Results, Problems> {
        let program = self.sheet.program();
        let given = inputs_of_row(inputs, row).map_err(|at| {
            let name = program.inputs.get(at).map_or("", |input| input.name.as_str());
            Diagnostic::error(Name::MissingInput, format!("`{name}` has no number in row {row}"))
                .remedy("give every row a number, or leave the row out")
        })?;
        let mut alone = self.inputs.clone();
        for (input, given) in program.inputs.iter().zip(given) {
            if let Some(given) = given {
                alone.store(&input.name, given, None);
            }
        }
        self.sheet.run(&alone)
    }

    /// How many rows there are.
    fn count(&self) -> Result<usize, Problems> {
        let length = |column: &Column| match column {
            Column::Numbers(values, _) => values.len(),
            Column::Words(places) => places.len(),
        };
        let mut lengths = self.columns.iter().map(|(at, column)| {
            let inputs = &self.sheet.program().inputs;
            (inputs.get(*at).map_or("", |input| input.name.as_str()), length(column))
        });
        let Some((first, count)) = lengths.next() else { return Ok(1) };
        match lengths.find(|(_, other)| *other != count) {
            None => Ok(count),
            Some((name, other)) => Err(Diagnostic::error(
                Name::LengthsDiffer,
                format!("`{first}` has {count} rows and `{name}` has {other}"),
            )
            .remedy("give all columns the same number of rows")
            .into()),
        }
    }

    /// An input that has no column yet.
    fn free(&self, name: &str) -> Result<(usize, Input), Problems> {
        let (at, input) = self.inputs.known(name)?;
        if self.columns.contains_key(&at) {
            return Err(Diagnostic::error(
                Name::TwoStatements,
                format!("`{name}` has a column already"),
            )
            .remedy("give it once")
            .into());
        }
        if self.inputs.is_given(&input) {
            return Err(Diagnostic::error(
                Name::TwoStatements,
                format!("`{name}` has a value for all rows already"),
            )
            .remedy("give it once")
            .into());
        }
        Ok((at, input))
    }

    fn put(
        &mut self,
        at: usize,
        input: &Input,
        numbers: Vec<f64>,
        unit: Unit,
    ) -> Result<&mut Self, Problems> {
        if input.kind.is_some_and(|kind| kind.name == "count") {
            let broken = numbers
                .iter()
                .enumerate()
                .filter(|(_, number)| number.is_finite() && number.fract() != 0.0);
            let broken: Problems = broken
                .map(|(row, number)| {
                    let words =
                        format!("`{}` counts, and {number} is not a whole number", input.name);
                    in_row(Diagnostic::error(Name::NotWhole, words), row)
                        .remedy("give a whole number")
                })
                .collect();
            if !broken.is_empty() {
                return Err(broken);
            }
        }
        if let Some(row) = numbers.iter().position(|number| number.is_infinite()) {
            return Err(in_row(not_finite(&input.name), row).into());
        }
        self.columns.insert(at, Column::Numbers(numbers, unit));
        Ok(self)
    }
}

impl RowResults {
    /// A result by row, in the unit that the sheet gives it in; NaN where it has none.
    ///
    /// # Errors
    /// `unknown-name`; `series-for-number` where it is not one number a row.
    pub fn numbers(&self, name: &str) -> Result<Vec<f64>, Problems> {
        let (output, numbers) = self.column(name)?;
        let unit = &output.unit;
        Ok(numbers.iter().map(|number| unit.from_si(*number)).collect())
    }

    /// A result by row as `uom` quantities; NaN where it has none.
    ///
    /// # Errors
    /// As [`Self::numbers`]; `unit-mismatch` where the type asked for is another.
    pub fn get<D>(&self, name: &str) -> Result<Vec<Quantity<D, SI<f64>, f64>>, Problems>
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        let (output, numbers) = self.column(name)?;
        let typed = super::results::typed(&output.type_);
        let quantities = numbers.iter().map(|number| unit::to_typed(*number, typed));
        quantities.collect::<Option<_>>().ok_or_else(|| super::results::other_type(output, typed))
    }

    /// Whether every check holds, by row; false where that cannot be said.
    #[must_use]
    pub fn holds(&self) -> Vec<bool> {
        let rows = self.outputs.first().map_or(0, length);
        let rows = self.checks.first().map_or(rows, Vec::len);
        (0..rows).map(|row| self.holds_in(row)).collect()
    }

    fn holds_in(&self, row: usize) -> bool {
        let held = self.checks.iter().all(|check| check.get(row).is_some_and(|holds| *holds));
        held && !self.problems.contains_key(&row)
            && self.never.range((row, 0)..(row + 1, 0)).next().is_none()
    }

    /// Every row without results, counted from 0, with its problems.
    #[must_use]
    pub fn problems(&self) -> &BTreeMap<usize, Problems> {
        &self.problems
    }

    /// Why a result of a row never exists, in the words of the sheet's author.
    #[must_use]
    pub fn never(&self, name: &str, row: usize) -> Option<&str> {
        let output = self.sheet.program().outputs.iter().position(|output| output.name == name)?;
        self.never.get(&(row, output)).map(String::as_str)
    }

    fn column(&self, name: &str) -> Result<(&Output, &[f64]), Problems> {
        let outputs = &self.sheet.program().outputs;
        let output = super::results::output(outputs, name)?;
        let at = outputs.iter().position(|one| one.name == name).unwrap_or_default();
        match self.outputs.get(at) {
            Some(OutputColumn::Numbers(numbers)) => Ok((output, numbers)),
            _ => Err(super::results::not_one_value(name)),
        }
    }
}

fn length(column: &OutputColumn) -> usize {
    match column {
        OutputColumn::Numbers(numbers) => numbers.len(),
        OutputColumn::Series(series) => series.first().map_or(0, Vec::len),
        OutputColumn::Truths(truths) => truths.len(),
    }
}

/// Takes the value of a row out of a result.
fn without(column: &mut OutputColumn, row: usize) {
    match column {
        OutputColumn::Numbers(numbers) => put(numbers, row, f64::NAN),
        OutputColumn::Series(series) => series.iter_mut().for_each(|one| put(one, row, f64::NAN)),
        OutputColumn::Truths(truths) => put(truths, row, false),
    }
}

fn put<T>(values: &mut [T], row: usize, value: T) {
    if let Some(to) = values.get_mut(row) {
        *to = value;
    }
}

fn nevers(results: &Results, row: usize) -> impl Iterator<Item = ((usize, usize), String)> {
    let outputs = results.program().outputs.iter().enumerate();
    outputs.filter_map(move |(at, output)| {
        results.never(output).map(|words| ((row, at), words.to_owned()))
    })
}

fn in_row(mut problem: Diagnostic, row: usize) -> Diagnostic {
    problem.headline.push_str(&format!(" (row {row})"));
    problem
}

fn not_one_number(input: &Input) -> Problems {
    let words = format!("`{}` is not one number a row", input.name);
    Diagnostic::error(Name::SeriesForNumber, words).remedy("write it once for all rows").into()
}
