//! Where the results of chunks go: columns made once, of which each thread fills its own rows.

use std::collections::BTreeMap;
use std::ops::Range;

use super::{ColumnSystem, Rows, Truths, Vector, YES};
use crate::diagnostic::Name;
use crate::number::evaluate::Run;
use crate::number::{ExactRun, Fault, GuardFailure, Slot};
use crate::program::{Program, Type};

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
    /// How many values were settled on exact decimals alone, near ties most of them.
    pub settled: usize,
    /// How many rows were calculated whole on exact decimals.
    pub on_exact: usize,
}

/// Some rows of every column.
pub(super) struct Part<'r> {
    outputs: Vec<To<'r>>,
    checks: Vec<&'r mut [bool]>,
    found: SideResults,
}

/// Rows of an output.
enum To<'r> {
    Numbers(&'r mut [f64]),
    Truths(&'r mut [bool]),
    /// How many columns a series has shows up on the way.
    Series(Vec<Vec<f64>>),
}

/// What is found on the way and not by column.
#[derive(Default)]
pub(super) struct SideResults {
    rows: Range<usize>,
    /// By place among the outputs.
    series: Vec<(usize, Vec<Vec<f64>>)>,
    /// By row of the part.
    problems: BTreeMap<usize, RowProblem>,
    pub(super) settled: usize,
    on_exact: usize,
}

impl ColumnsRun {
    /// Columns of zeros, whose memory is touched by who fills them.
    pub(super) fn empty(program: &Program, rows: usize) -> Self {
        let column = |type_: &Type| match type_ {
            Type::Number { series: true, .. } => OutputColumn::Series(Vec::new()),
            Type::Truth => OutputColumn::Truths(vec![false; rows]),
            Type::Number { .. } | Type::Choice(_) => OutputColumn::Numbers(vec![0.0; rows]),
        };
        Self {
            outputs: program.outputs.iter().map(|output| column(&output.type_)).collect(),
            checks: program.checks.iter().map(|_| vec![false; rows]).collect(),
            ..Self::default()
        }
    }

    /// Parts of the columns, a span after the other.
    pub(super) fn parts(&mut self, spans: &[Range<usize>]) -> Vec<Part<'_>> {
        let empty = |rows: &Range<usize>| {
            let found = SideResults { rows: rows.clone(), ..SideResults::default() };
            Part { outputs: Vec::new(), checks: Vec::new(), found }
        };
        let mut parts: Vec<Part<'_>> = spans.iter().map(empty).collect();
        for column in &mut self.outputs {
            match column {
                OutputColumn::Numbers(column) => {
                    let cut = parts.iter_mut().zip(cut(column, spans));
                    cut.for_each(|(part, to)| part.outputs.push(To::Numbers(to)));
                }
                OutputColumn::Truths(column) => {
                    let cut = parts.iter_mut().zip(cut(column, spans));
                    cut.for_each(|(part, to)| part.outputs.push(To::Truths(to)));
                }
                OutputColumn::Series(_) => {
                    parts.iter_mut().for_each(|part| part.outputs.push(To::Series(Vec::new())));
                }
            }
        }
        for column in &mut self.checks {
            let cut = parts.iter_mut().zip(cut(column, spans));
            cut.for_each(|(part, to)| part.checks.push(to));
        }
        parts
    }

    /// Takes what a part has found; the parts come in their order.
    pub(super) fn join(&mut self, found: SideResults) {
        let Range { start, end } = found.rows;
        for (at, more) in found.series {
            let Some(OutputColumn::Series(to)) = self.outputs.get_mut(at) else { continue };
            to.resize(to.len().max(more.len()), vec![f64::NAN; start]);
            let mut more = more.into_iter();
            for to in to.iter_mut() {
                to.extend(more.next().unwrap_or_default());
                to.resize(end, f64::NAN);
            }
        }
        let moved = found.problems.into_iter().map(|(row, problem)| (start + row, problem));
        self.problems.extend(moved);
        self.settled += found.settled;
        self.on_exact += found.on_exact;
    }
}

/// Spans of a column, one after another from its start.
fn cut<'r, T>(column: &'r mut [T], spans: &[Range<usize>]) -> Vec<&'r mut [T]> {
    let mut rest = column;
    let mut parts = Vec::with_capacity(spans.len());
    for span in spans {
        let (part, after) = std::mem::take(&mut rest).split_at_mut(span.len());
        parts.push(part);
        rest = after;
    }
    parts
}

impl Part<'_> {
    /// What is left when the columns are given back.
    pub(super) fn found(self) -> SideResults {
        let series = self.outputs.into_iter().enumerate().filter_map(|(at, to)| match to {
            To::Series(columns) => Some((at, columns)),
            To::Numbers(_) | To::Truths(_) => None,
        });
        SideResults { series: series.collect(), ..self.found }
    }

    pub(super) fn settled(&mut self, more: usize) {
        self.found.settled += more;
    }

    /// Takes what a chunk holds, from the row `start` of the part on.
    pub(super) fn take(
        &mut self,
        program: &Program,
        chunks: &ColumnSystem<'_>,
        run: &Run<'_, ColumnSystem<'_>>,
        start: usize,
    ) {
        let rows = start..start + chunks.count.get();
        for (output, to) in program.outputs.iter().zip(&mut self.outputs) {
            let slot = run.get(output.register);
            match to {
                To::Numbers(to) => {
                    let Some(to) = to.get_mut(rows.clone()) else { continue };
                    match slot {
                        Slot::One(lanes) => put_numbers(to, lanes),
                        _ => to.fill(f64::NAN),
                    }
                }
                To::Truths(to) => {
                    let Some(to) = to.get_mut(rows.clone()) else { continue };
                    put_truths(to, slot);
                }
                To::Series(to) => {
                    let elements = if let Slot::Many(elements) = slot { elements } else { &vec![] };
                    while to.len() < elements.len() {
                        to.push(vec![f64::NAN; rows.start]);
                    }
                    let mut elements = elements.iter();
                    for to in to {
                        to.resize(rows.end, f64::NAN);
                        if let (Some(lanes), Some(to)) = (elements.next(), to.get_mut(rows.clone()))
                        {
                            put_numbers(to, lanes);
                        }
                    }
                }
            }
        }
        for (check, to) in program.checks.iter().zip(&mut self.checks) {
            if let Some(to) = to.get_mut(rows.clone()) {
                put_truths(to, run.get(check.register));
            }
        }
    }

    pub(super) fn put_exact(&mut self, row: usize, run: &ExactRun) {
        self.found.on_exact += 1;
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
            self.found.problems.insert(row, problem);
        }
    }

    pub(super) fn put_missing(&mut self, row: usize, program: &Program, input: usize) {
        self.outputs.iter_mut().for_each(|output| output.clear(row));
        for check in &mut self.checks {
            if let Some(to) = check.get_mut(row) {
                *to = false;
            }
        }
        if let Some(input) = program.inputs.get(input) {
            let words = format!("`{}` has no number in this row", input.name);
            let fault = Fault::new(Name::MissingInput, input.line, words);
            self.found.problems.insert(row, RowProblem::Fault(fault));
        }
    }
}

fn put_numbers(to: &mut [f64], lanes: &Vector) {
    match &lanes.rows {
        Rows::Same(value) => to.fill(*value),
        Rows::Each(values) if values.len() == to.len() => to.copy_from_slice(values),
        Rows::Each(_) => to.fill(f64::NAN),
    }
}

fn put_truths(to: &mut [bool], slot: &Slot<Vector, Truths>) {
    match slot {
        Slot::Truth(Truths { rows: Rows::Same(truth), .. }) => to.fill(*truth == YES),
        Slot::Truth(Truths { rows: Rows::Each(truths), .. }) => {
            to.iter_mut().zip(truths.iter()).for_each(|(to, truth)| *to = *truth == YES);
        }
        _ => to.fill(false),
    }
}

impl To<'_> {
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
