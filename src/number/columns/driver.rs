//! A program over many rows: chunks in f64, doubtful rows on exact decimals.

use std::collections::BTreeMap;

use super::invariant::{Split, once, spread};
use super::{CHUNK, Chunks, Lanes, MISSING, NO, ROUNDING, Rows, YES};
use crate::diagnostic::Name;
use crate::number::evaluate::Run;
use crate::number::exact::shortest;
use crate::number::run::{inputs_of, limit_relation};
use crate::number::{ExactRun, Fault, Given, GuardFailure, Slot, System, run_exact};
use crate::program::{Program, Register, Type};
use crate::unit::{Literal, Unit};

/// What an input is given for all rows.
#[derive(Clone, Debug)]
pub enum ColumnInput<'a> {
    /// One number a row, in a unit; NaN where a row has none.
    Column {
        /// Numbers.
        values: &'a [f64],
        /// Their unit.
        unit: &'a Unit,
    },
    /// One word a row, by its place in the list of the input.
    Words(&'a [usize]),
    /// A series a row, all of one length, in a unit: the first values of all rows, then the second …
    Series {
        /// Numbers, a column for each place in the series.
        elements: Vec<&'a [f64]>,
        /// Their unit.
        unit: &'a Unit,
    },
    /// The same for every row.
    Same(Given),
    /// Nothing: the input's default.
    Default,
}

/// What an output holds, by row; NaN, or false, where the row has a problem.
#[derive(Clone, Debug, PartialEq)]
pub enum OutputColumn {
    /// Numbers in coherent SI, or places of words.
    Numbers(Vec<f64>),
    /// Series in coherent SI: a column for each place in the series.
    Series(Vec<Vec<f64>>),
    /// Truths.
    Truths(Vec<bool>),
}

/// Why a row has no results, or results that must not be used.
#[derive(Clone, Debug, PartialEq)]
pub enum RowProblem {
    /// An input, or an argument handed on, lies outside its range.
    Guard(GuardFailure),
    /// A value does not exist.
    Fault(Fault),
}

/// The outcome of many rows.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct ColumnsRun {
    /// What each output holds, in the order of [`Program::outputs`].
    pub outputs: Vec<OutputColumn>,
    /// Whether each check holds, by row, in the order of [`Program::checks`]; false where it cannot be said.
    pub checks: Vec<Vec<bool>>,
    /// The first problem of each row that has one.
    pub problems: BTreeMap<usize, RowProblem>,
    /// How many rows were worked out on exact decimals.
    pub on_exact: usize,
}

/// Runs a program over many rows; `inputs` by place in [`Program::inputs`].
///
/// Every number is within 1e-9 of what [`run_exact`] gives for the row (a loss of digits is followed from
/// step to step); every limit, round-up, preferred number and step of a table is decided as it decides.
/// An f64 stands for the shortest decimal that reads back as it. Faults and broken ranges are those of
/// [`run_exact`]. A column that is shorter than `rows` has no number in the rows after its end.
///
/// # Example
/// ```
/// use standstill::number::{ColumnInput, run_columns};
/// use standstill::program::Program;
/// use standstill::unit::Unit;
/// let program = Program::default(); // takes nothing, gives nothing
/// let run = run_columns(&program, &[], 3);
/// assert!(run.outputs.is_empty() && run.problems.is_empty());
/// ```
#[must_use]
pub fn run_columns(program: &Program, inputs: &[ColumnInput<'_>], rows: usize) -> ColumnsRun {
    let mut inputs = inputs.to_vec();
    inputs.resize(program.inputs.len(), ColumnInput::Default);
    let is_column: Vec<_> = inputs
        .iter()
        .map(|input| !matches!(input, ColumnInput::Same(_) | ColumnInput::Default))
        .collect();
    let given: Vec<_> = inputs
        .iter()
        .map(|input| if let ColumnInput::Same(given) = input { Some(given.clone()) } else { None })
        .collect();
    let split = Split::new(program, &is_column);
    let mut result = ColumnsRun::empty(program);
    let chunks = Chunks::new(program);
    let mut run = Run::new(&chunks, program, Vec::new());
    run.registers = once(program, &split, &inputs_of(program, &given)).iter().map(spread).collect();
    for start in (0..rows).step_by(CHUNK) {
        let count = CHUNK.min(rows - start);
        chunks.begin(count);
        for (input, to) in &split.columns {
            if let Some(input) = inputs.get(*input) {
                run.put(*to, chunks.input(input, start));
            }
        }
        if split.inputs_in_blocks {
            run.inputs = inputs.iter().map(|input| chunks.input(input, start)).collect();
        }
        chunks.run(&mut run, &split);
        result.take(program, &chunks, &run, start);
        for row in result.rows_in_doubt(program, &chunks, &run, start) {
            let given = given_of_row(&inputs, row);
            match given {
                Ok(given) => result.put_exact(row, &run_exact(program, &given)),
                Err(at) => result.put_missing(row, program, at),
            }
        }
    }
    result
}

/// The inputs of one row as [`run_exact`] takes them.
///
/// # Errors
/// The place of an input that has no number in the row.
pub fn given_of_row(inputs: &[ColumnInput<'_>], row: usize) -> Result<Vec<Option<Given>>, usize> {
    let literal = |value: Option<&f64>, unit: &Unit| {
        let (digits, ten) = shortest(*value?)?;
        Some(Literal { digits, ten, unit: unit.clone() })
    };
    let mut given = Vec::with_capacity(inputs.len());
    for (at, input) in inputs.iter().enumerate() {
        given.push(match input {
            ColumnInput::Default => None,
            ColumnInput::Same(given) => Some(given.clone()),
            ColumnInput::Words(places) => Some(Given::Word(places.get(row).copied().ok_or(at)?)),
            ColumnInput::Column { values, unit } => {
                Some(Given::One(literal(values.get(row), unit).ok_or(at)?))
            }
            ColumnInput::Series { elements, unit } => {
                let values = elements.iter().map(|column| literal(column.get(row), unit));
                Some(Given::Many(values.collect::<Option<_>>().ok_or(at)?))
            }
        });
    }
    Ok(given)
}

impl Chunks<'_> {
    /// The rows of an input from `start` on.
    fn input(&self, input: &ColumnInput<'_>, start: usize) -> Slot<Lanes, Rows<u8>> {
        let count = self.count.get();
        match input {
            ColumnInput::Default | ColumnInput::Same(_) => Slot::Empty,
            ColumnInput::Column { values, unit } => Slot::One(self.column(values, unit, start)),
            ColumnInput::Series { elements, unit } => {
                Slot::Many(elements.iter().map(|values| self.column(values, unit, start)).collect())
            }
            ColumnInput::Words(places) => {
                let mut to = self.buffer();
                let number = |place: &usize| u32::try_from(*place).map_or(f64::NAN, f64::from);
                to.extend(places.iter().skip(start).take(count).map(number));
                to.resize(count, f64::NAN);
                Slot::One(Lanes { rows: Rows::Each(to), error: 0.0, exact: true, true_zero: true })
            }
        }
    }

    fn column(&self, values: &[f64], unit: &Unit, start: usize) -> Lanes {
        let count = self.count.get();
        let end = values.len().min(start + count);
        let mut to = self.buffer();
        to.extend_from_slice(values.get(start..end).unwrap_or_default());
        to.resize(count, f64::NAN);
        let given = Rows::Each(to);
        let whole = self.whole_numbers(&given);
        // a shortest decimal and its f64 differ by half a unit at most
        let mut lanes = Lanes { rows: given, error: ROUNDING, exact: whole, true_zero: true };
        if whole {
            lanes.error = 0.0;
        }
        let line = crate::program::LineId(0);
        if !unit.zero.is_zero() {
            let one = Unit::one();
            let zero = self.literal(&Literal { digits: unit.zero, ten: 0, unit: one }, line);
            lanes = self.binary(crate::program::Binary::Add, &lanes, &zero, line);
        }
        let factor = unit.factor.as_f64();
        if factor != 1.0 {
            // the factor is good to two units in the last place
            let factor = Lanes::same(factor, 2.0 * ROUNDING);
            lanes = self.binary(crate::program::Binary::Multiply, &lanes, &factor, line);
        }
        lanes
    }
}

impl ColumnsRun {
    fn empty(program: &Program) -> Self {
        let column = |type_: &Type| match type_ {
            Type::Number { series: true, .. } => OutputColumn::Series(Vec::new()),
            Type::Truth => OutputColumn::Truths(Vec::new()),
            Type::Number { .. } | Type::Choice(_) => OutputColumn::Numbers(Vec::new()),
        };
        Self {
            outputs: program.outputs.iter().map(|output| column(&output.type_)).collect(),
            checks: vec![Vec::new(); program.checks.len()],
            problems: BTreeMap::new(),
            on_exact: 0,
        }
    }

    /// Appends what a chunk holds.
    fn take(
        &mut self,
        program: &Program,
        chunks: &Chunks<'_>,
        run: &Run<'_, Chunks<'_>>,
        start: usize,
    ) {
        let count = chunks.count.get();
        let append = |to: &mut Vec<f64>, lanes: &Lanes| match &lanes.rows {
            Rows::Same(value) => to.resize(start + count, *value),
            Rows::Each(values) => to.extend_from_slice(values),
        };
        for (output, to) in program.outputs.iter().zip(&mut self.outputs) {
            match (to, run.get(output.register)) {
                (OutputColumn::Numbers(to), Slot::One(lanes)) => append(to, lanes),
                (OutputColumn::Series(to), Slot::Many(elements)) => {
                    while to.len() < elements.len() {
                        to.push(vec![f64::NAN; start]);
                    }
                    to.iter_mut().zip(elements).for_each(|(to, lanes)| append(to, lanes));
                }
                (OutputColumn::Truths(to), Slot::Truth(truths)) => {
                    to.extend((0..count).map(|row| truths.at(row) == YES));
                }
                _ => {}
            }
        }
        let end = start + count;
        for output in &mut self.outputs {
            match output {
                OutputColumn::Numbers(to) => to.resize(end, f64::NAN),
                OutputColumn::Truths(to) => to.resize(end, false),
                OutputColumn::Series(to) => {
                    to.iter_mut().for_each(|column| column.resize(end, f64::NAN));
                }
            }
        }
        for (check, to) in program.checks.iter().zip(&mut self.checks) {
            if let Slot::Truth(truths) = run.get(check.register) {
                to.extend((0..count).map(|row| truths.at(row) == YES));
            }
            to.resize(end, false);
        }
    }

    /// Rows of a chunk that f64 alone does not settle.
    fn rows_in_doubt(
        &self,
        program: &Program,
        chunks: &Chunks<'_>,
        run: &Run<'_, Chunks<'_>>,
        start: usize,
    ) -> Vec<usize> {
        let guards: Vec<_> =
            program.guards.iter().flat_map(|guard| chunks.guard_truths(guard, run)).collect();
        let mut doubtful = chunks.doubtful.borrow().clone();
        let mut mark = |is_missing: &dyn Fn(usize) -> bool| {
            for (row, doubtful) in doubtful.iter_mut().enumerate() {
                *doubtful |= is_missing(row);
            }
        };
        for truths in &guards {
            let broken = chunks.not(truths);
            if broken.any_from(YES) {
                mark(&|row| broken.at(row) != NO);
            }
        }
        let outputs = program.outputs.iter().map(|output| output.register);
        let checks = program.checks.iter().map(|check| check.register);
        for register in outputs.chain(checks) {
            let lanes = match run.get(register) {
                Slot::One(lanes) => std::slice::from_ref(lanes),
                Slot::Many(elements) => elements.as_slice(),
                Slot::Truth(truths) => {
                    if truths.any_from(MISSING) {
                        mark(&|row| truths.at(row) == MISSING);
                    }
                    continue;
                }
                Slot::Empty => {
                    mark(&|_| true);
                    continue;
                }
            };
            for lanes in lanes.iter().filter(|lanes| lanes.rows.has_missing()) {
                mark(&|row| lanes.at(row).is_nan());
            }
        }
        let rows = doubtful.iter().enumerate().filter(|(_, doubtful)| **doubtful);
        rows.map(|(row, _)| start + row).collect()
    }

    fn put_exact(&mut self, row: usize, run: &ExactRun) {
        self.on_exact += 1;
        let mut fault = None;
        for (at, to) in self.outputs.iter_mut().enumerate() {
            match run.output(at) {
                Ok(Slot::One(value)) => to.set(row, 0, value.to_f64()),
                Ok(Slot::Many(values)) => {
                    values.iter().enumerate().for_each(|(k, value)| to.set(row, k, value.to_f64()));
                }
                Ok(Slot::Truth(truth)) => to.set(row, 0, f64::from(u8::from(*truth))),
                Ok(Slot::Empty) => to.clear(row),
                Err(found) => {
                    to.clear(row);
                    fault.get_or_insert_with(|| found.clone());
                }
            }
        }
        for (to, check) in self.checks.iter_mut().zip(&run.checks) {
            if let Some(to) = to.get_mut(row) {
                *to = check.holds == Ok(true);
            }
            if let Err(found) = &check.holds {
                fault.get_or_insert_with(|| found.clone());
            }
        }
        let guard = run.guard_failures.first().cloned().map(RowProblem::Guard);
        if let Some(problem) = guard.or(fault.map(RowProblem::Fault)) {
            self.problems.insert(row, problem);
        }
    }

    fn put_missing(&mut self, row: usize, program: &Program, input: usize) {
        self.outputs.iter_mut().for_each(|output| output.clear(row));
        for check in &mut self.checks {
            if let Some(to) = check.get_mut(row) {
                *to = false;
            }
        }
        if let Some(input) = program.inputs.get(input) {
            let words = format!("`{}` has no number in this row", input.name);
            let fault = Fault::new(Name::MissingInput, input.line, words);
            self.problems.insert(row, RowProblem::Fault(fault));
        }
    }
}

impl Chunks<'_> {
    /// For each bound of a guard, and each element of a series: whether it is kept.
    fn guard_truths(
        &self,
        guard: &crate::program::Guard,
        run: &Run<'_, Chunks<'_>>,
    ) -> Vec<Rows<u8>> {
        let get = |register: Register| run.get(register);
        let values = match get(guard.register) {
            Slot::One(lanes) => std::slice::from_ref(lanes),
            Slot::Many(elements) => {
                if guard.at_least.is_some_and(|needed| elements.len() < needed) {
                    return vec![Rows::Same(MISSING)];
                }
                elements.as_slice()
            }
            Slot::Truth(_) | Slot::Empty => return Vec::new(),
        };
        let mut truths = Vec::new();
        for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
            let Some(limit) = limit else { continue };
            let relation = limit_relation(limit.included, is_low);
            match get(limit.register) {
                Slot::One(bound) => {
                    truths.extend(values.iter().map(|value| self.compare(relation, value, bound)));
                }
                _ => truths.push(Rows::Same(MISSING)),
            }
        }
        truths
    }
}

impl OutputColumn {
    fn set(&mut self, row: usize, element: usize, value: f64) {
        match self {
            Self::Numbers(to) => {
                if let Some(to) = to.get_mut(row) {
                    *to = value;
                }
            }
            Self::Truths(to) => {
                if let Some(to) = to.get_mut(row) {
                    *to = value != 0.0;
                }
            }
            Self::Series(to) => {
                while to.len() <= element {
                    to.push(vec![f64::NAN; row + 1]);
                }
                if let Some(column) = to.get_mut(element) {
                    if column.len() <= row {
                        column.resize(row + 1, f64::NAN);
                    }
                    if let Some(to) = column.get_mut(row) {
                        *to = value;
                    }
                }
            }
        }
    }

    fn clear(&mut self, row: usize) {
        match self {
            Self::Numbers(to) => to.get_mut(row).into_iter().for_each(|to| *to = f64::NAN),
            Self::Truths(to) => to.get_mut(row).into_iter().for_each(|to| *to = false),
            Self::Series(to) => {
                to.iter_mut().filter_map(|to| to.get_mut(row)).for_each(|to| *to = f64::NAN);
            }
        }
    }
}
