//! A program over many rows: chunks in f64, doubtful rows on exact decimals.

use std::cell::OnceCell;
use std::ops::Range;

use super::fractions::{Fraction, Fractions, inputs_on_fractions};
use super::input::{ColumnInput, inputs_of_row};
use super::invariant::{LoopInvariants, Partition, spread};
use super::results::{ColumnsRun, Part};
use super::span::Span;
use super::ties::Settler;
use super::{CHUNK, ColumnSystem, MISSING, ROUNDING, Rows, Truths, Vector, YES};
use crate::number::evaluate::NoCache;
use crate::number::evaluate::Run;
use crate::number::run::{demand_of, inputs_of, limit_relation, run_exact_with};
use crate::number::{Checked, Decimals, Slot, System};
use crate::program::{Guard, Program, Register};
use crate::unit::{Literal, Unit};

/// Runs a program over many rows; `inputs` by place in [`Program::inputs`].
///
/// Every number is within 1e-9 of what [`run_exact`](crate::number::run_exact) gives for the row (a loss of digits is followed from
/// step to step); every limit, round-up, preferred number and step of a table is decided as it decides.
/// An f64 stands for the shortest decimal that reads back as it. Faults and broken ranges are those of
/// [`run_exact`](crate::number::run_exact). A column that is shorter than `rows` has no number in the rows after its end.
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
    Columns::new(program, inputs).run(program, inputs, rows, 1)
}

/// A program made ready for columns: what does not change from row to row is calculated, what no result
/// needs is left out.
#[derive(Clone, Debug)]
pub struct Columns {
    split: Partition,
    /// What is the same in every row.
    same: LoopInvariants<Checked, Checked<bool>>,
    /// The same on fractions.
    fractions: LoopInvariants<Option<Fraction>, Option<bool>>,
}

impl Columns {
    /// Makes a program ready; of `inputs`, in the order of [`Program::inputs`], those that have columns are
    /// looked at again in each run.
    #[must_use]
    pub fn new(program: &Program, inputs: &[ColumnInput<'_>]) -> Self {
        let inputs = padded(program, inputs);
        let is_column: Vec<_> = inputs
            .iter()
            .map(|input| !matches!(input, ColumnInput::Same(_) | ColumnInput::Default))
            .collect();
        let given: Vec<_> = inputs
            .iter()
            .map(
                |input| {
                    if let ColumnInput::Same(given) = input { Some(given.clone()) } else { None }
                },
            )
            .collect();
        let mut split = Partition::new(program, &is_column);
        let same = LoopInvariants::new(&Decimals, program, &split, inputs_of(program, &given));
        let short = inputs_on_fractions(program, &given);
        let fractions = LoopInvariants::new(&Fractions, program, &split, short);
        split.keep_needed(program, &same.registers);
        Self { split, same, fractions }
    }

    /// Runs it, as [`run_columns`] does, on so many threads side by side; the outcome is the same for any
    /// number of them. It must be the program that was made ready, the same inputs must have columns, and the
    /// others must be the same.
    ///
    /// # Example
    /// ```
    /// use standstill::number::{ColumnInput, Columns, OutputColumn};
    /// use standstill::{Sheet, unit::Unit};
    /// let sheet = Sheet::parse("twice.sheet", "sheet twice
    /// title \"Twice\"
    /// takes
    ///   a : ratio \"a number\"
    /// works
    ///   b = 2 * a
    /// gives
    ///   b
    /// ")?;
    /// let (unit, values) = (Unit::one(), [1.0, 2.5]);
    /// let inputs = [ColumnInput::Column { values: &values, unit: &unit }];
    /// let ready = Columns::new(sheet.program(), &inputs);
    /// let run = ready.run(sheet.program(), &inputs, 2, 1);
    /// assert_eq!(run.outputs, [OutputColumn::Numbers(vec![2.0, 5.0])]);
    /// # Ok::<(), standstill::Problems>(())
    /// ```
    #[must_use]
    pub fn run(
        &self,
        program: &Program,
        inputs: &[ColumnInput<'_>],
        rows: usize,
        threads: usize,
    ) -> ColumnsRun {
        let inputs = &padded(program, inputs);
        let each = rows.div_ceil(CHUNK).div_ceil(threads.max(1)).max(1) * CHUNK;
        let spans: Vec<_> =
            (0..rows).step_by(each).map(|start| start..(start + each).min(rows)).collect();
        let mut result = ColumnsRun::empty(program, rows);
        // each thread fills its own rows of the columns that are there already
        let mut parts = result.parts(&spans);
        std::thread::scope(|scope| {
            let mut parts = parts.iter_mut().zip(&spans);
            let first = parts.next();
            let others: Vec<_> = parts
                .map(|(part, span)| {
                    scope.spawn(move || self.span(program, inputs, span.clone(), part))
                })
                .collect();
            if let Some((part, span)) = first {
                self.span(program, inputs, span.clone(), part);
            }
            for other in others {
                if let Err(panic) = other.join() {
                    std::panic::resume_unwind(panic);
                }
            }
        });
        let found: Vec<_> = parts.into_iter().map(Part::found).collect();
        found.into_iter().for_each(|found| result.join(found));
        result
    }

    /// Runs some of the rows.
    fn span(
        &self,
        program: &Program,
        inputs: &[ColumnInput<'_>],
        span: Range<usize>,
        result: &mut Part<'_>,
    ) {
        let split = &self.split;
        let chunks = ColumnSystem::new(program);
        let mut settler = Settler::new(program, split, inputs, &self.same, &self.fractions);
        let mut run = Run::new(&chunks, program, Vec::new());
        run.registers = self.same.registers.iter().map(spread).collect();
        // what a row alone asks for is found out for the first of them
        let demand = OnceCell::new();
        for start in span.clone().step_by(CHUNK) {
            let count = CHUNK.min(span.end - start);
            chunks.begin(count);
            let mut unsettled = vec![false; count];
            for (input, to) in &split.columns {
                if let Some(input) = inputs.get(*input) {
                    run.put(*to, chunks.input(input, start));
                }
            }
            if split.inputs_in_blocks {
                run.inputs = inputs.iter().map(|input| chunks.input(input, start)).collect();
            }
            result.settled(chunks.run(&mut run, split, &mut settler, start, &mut unsettled));
            for guard in &program.guards {
                let broken = chunks.broken(guard, &run);
                chunks.settle_guard(&mut settler, guard, start, &broken, &mut unsettled);
            }
            let here = start - span.start;
            result.take(program, &chunks, &run, here);
            mark_missing(program, &run, &mut unsettled);
            for row in unsettled.iter().enumerate().filter_map(|(row, mark)| mark.then_some(row)) {
                match inputs_of_row(inputs, start + row) {
                    Ok(given) => {
                        let demand = demand.get_or_init(|| demand_of(program));
                        let run = run_exact_with(program, &given, demand, &NoCache);
                        result.put_exact(here + row, &run);
                    }
                    Err(at) => result.put_missing(here + row, program, at),
                }
            }
        }
    }
}

fn padded<'i>(program: &Program, inputs: &[ColumnInput<'i>]) -> Vec<ColumnInput<'i>> {
    let mut inputs = inputs.to_vec();
    inputs.resize(program.inputs.len(), ColumnInput::Default);
    inputs
}

impl ColumnSystem<'_> {
    /// The rows of an input from `start` on.
    fn input(&self, input: &ColumnInput<'_>, start: usize) -> Slot<Vector, Truths> {
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
                let (span, rows) = (Span::of_each(&to), Rows::each(to));
                Slot::One(Vector { rows, span, exact: true, ..Vector::same(0.0, 0.0) })
            }
        }
    }

    fn column(&self, values: &[f64], unit: &Unit, start: usize) -> Vector {
        let count = self.count.get();
        let end = values.len().min(start + count);
        let values = values.get(start..end).unwrap_or_default();
        let factor = unit.factor.as_f64();
        let mut to = self.buffer();
        if factor == 1.0 || !unit.zero.is_zero() {
            to.extend_from_slice(values);
        } else {
            to.extend(values.iter().map(|value| value * factor));
        }
        to.resize(count, f64::NAN);
        let span = Span::of_each(&to);
        let given = Vector { rows: Rows::each(to), span, ..Vector::same(0.0, ROUNDING) };
        if unit.zero.is_zero() {
            if factor == 1.0 {
                // a shortest decimal and its f64 differ by half a unit at most
                let whole = self.whole_numbers(&given.rows);
                let error = if whole { 0.0 } else { ROUNDING };
                return Vector { error, exact: whole, shortest: true, ..given };
            }
            // the factor is good to two units in the last place
            let operands = [&given.rows, &given.rows];
            let (rows, span) =
                self.ranged(given.rows.clone(), given.span, operands, |scaled, _| scaled == 0.0);
            return Vector { rows, span, error: 4.0 * ROUNDING, ..given };
        }
        let line = crate::program::LineId(0);
        let zero = self.literal(&Literal { digits: unit.zero, ten: 0, unit: Unit::one() }, line);
        let lanes = self.binary(crate::program::Binary::Add, &given, &zero, line);
        self.product(&lanes, &Vector::same(factor, 2.0 * ROUNDING))
    }
}

impl ColumnSystem<'_> {
    /// For each bound of a guard, and each element of a series, which rows break it; those that break none
    /// for certain are left out.
    fn broken(&self, guard: &Guard, run: &Run<'_, ColumnSystem<'_>>) -> Vec<Truths> {
        let get = |register: Register| run.get(register);
        let values = match get(guard.register) {
            Slot::One(lanes) => std::slice::from_ref(lanes),
            Slot::Many(elements) => {
                if guard.at_least.is_some_and(|needed| elements.len() < needed) {
                    return vec![Truths::same(MISSING)];
                }
                elements.as_slice()
            }
            Slot::Truth(_) | Slot::Empty => return Vec::new(),
        };
        let mut broken = Vec::new();
        for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
            let Some(limit) = limit else { continue };
            let relation = limit_relation(limit.included, is_low);
            match get(limit.register) {
                Slot::One(bound) => {
                    let kept = values.iter().map(|value| self.compare(relation, value, bound));
                    broken.extend(kept.map(|kept| self.not(&kept)));
                }
                _ => broken.push(Truths::same(MISSING)),
            }
        }
        broken.retain(|truths| truths.any_from(YES));
        broken
    }
}

/// Marks the rows in which a result or a check is missing.
fn mark_missing(program: &Program, run: &Run<'_, ColumnSystem<'_>>, unsettled: &mut [bool]) {
    let mut mark = |is_missing: &dyn Fn(usize) -> bool| {
        unsettled.iter_mut().enumerate().for_each(|(row, mark)| *mark |= is_missing(row));
    };
    let outputs = program.outputs.iter().map(|output| output.register);
    let checks = program.checks.iter().map(|check| check.register);
    for register in outputs.chain(checks) {
        let lanes = match run.get(register) {
            Slot::One(lanes) => std::slice::from_ref(lanes),
            Slot::Many(elements) => elements.as_slice(),
            Slot::Truth(truths) => {
                if truths.has_missing() {
                    mark(&|row| truths.at(row) == MISSING);
                }
                continue;
            }
            Slot::Empty => {
                mark(&|_| true);
                continue;
            }
        };
        for lanes in lanes.iter().filter(|lanes| lanes.has_missing()) {
            mark(&|row| lanes.at(row).is_nan());
        }
    }
}
