//! What f64 leaves in doubt: one value of one row, calculated on exact decimals from the steps that lead to it.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use super::fractions::{Fraction, Fractions};
use super::input::{ColumnInput, input_of_row};
use super::invariant::{LoopInvariants, Partition};
use super::{ColumnSystem, MISSING, NO, PROMISED, Rows, Truth, Truths, Vector, YES};
use crate::number::demand::Demand;
use crate::number::evaluate::Run;
use crate::number::exact::Exact;
use crate::number::run::{limit_relation, slot_of};
use crate::number::{Checked, Decimals, Slot, System};
use crate::program::{Guard, Op, Program, Register, Step};

/// Exact decimals beside a run by columns.
pub(super) struct Settler<'a> {
    program: &'a Program,
    split: &'a Partition,
    inputs: &'a [ColumnInput<'a>],
    run: Run<'a, Decimals>,
    fractions: Run<'a, Fractions>,
    /// What leads to a register, by the register.
    slices: BTreeMap<(u32, bool), Rc<Demand>>,
    /// For each step: whether its result is known where columns have it.
    ends: Vec<bool>,
    /// By register, for the rows of the chunk.
    known: Vec<Option<Cached>>,
}

/// What columns hold exactly.
#[derive(Clone)]
enum Cached {
    Truths(Truths),
    /// Of what a register holds.
    Multiples(Vector, Register),
}

/// What fractions know of one row.
enum Settled {
    Number(Vector),
    Truth(bool),
}

type FractionSlot = Slot<Option<Fraction>, Option<bool>>;
type ExactSlot = Slot<Checked, Checked<bool>>;

impl<'a> Settler<'a> {
    /// `same` holds what is the same in every row.
    pub(super) fn new(
        program: &'a Program,
        split: &'a Partition,
        inputs: &'a [ColumnInput<'a>],
        same: &LoopInvariants<Checked, Checked<bool>>,
        fractions: &LoopInvariants<Option<Fraction>, Option<bool>>,
    ) -> Self {
        let run = same.run(&Decimals, program);
        let fractions = fractions.run(&Fractions, program);
        let known = vec![None; run.registers.len()];
        let ends = program.steps.iter().map(|step| is_known(split, step)).collect();
        Self { program, split, inputs, run, fractions, slices: BTreeMap::new(), ends, known }
    }

    /// Forgets what the chunk before has made known.
    pub(super) fn begin(&mut self) {
        self.known.fill(None);
    }

    /// Takes note of truths and multiples: they are known exactly, and what led to them is not asked again.
    pub(super) fn know(&mut self, step: &Step, slot: &Slot<Vector, Truths>) {
        let known = match (&step.op, slot) {
            (_, Slot::Truth(truths)) => Cached::Truths(truths.clone()),
            (Op::Round(_, _, by), Slot::One(lanes)) if lanes.step.is_some() => {
                Cached::Multiples(lanes.clone(), *by)
            }
            _ => return,
        };
        if let Some(to) = step.to.place().and_then(|at| self.known.get_mut(at)) {
            *to = Some(known);
        }
    }

    /// What a register holds in a row, on fractions; none within where they cannot decide.
    fn fraction(&mut self, register: Register, row: usize, start: usize) -> Option<&FractionSlot> {
        let program = self.program;
        let slice = self.slice(register, true);
        for at in slice.order.iter().copied() {
            let Some(step) = program.steps.get(at) else { continue };
            if !slice.asks(at, |turn| self.fractions.may_turn(turn)) {
                self.fractions.put(step.to, Slot::Empty);
                continue;
            }
            if self.ends.get(at) == Some(&true) && step.to != register {
                let known = step.to.place().and_then(|at| self.known.get(at)?.as_ref());
                let slot = match known {
                    Some(Cached::Truths(truths)) => match truths.at(row) {
                        MISSING => Slot::Truth(None),
                        truth => Slot::Truth(Some(truth == YES)),
                    },
                    Some(Cached::Multiples(lanes, by)) => match self.fractions.get(*by) {
                        Slot::One(Some(by)) => Slot::One(lanes.multiple_at(row, *by)),
                        _ => Slot::Empty,
                    },
                    // of a case that no row takes
                    None => Slot::Empty,
                };
                self.fractions.put(step.to, slot);
            } else if let Some(Some(register)) = self.split.taken.get(at) {
                self.fractions.put(step.to, self.fractions.get(*register).clone());
            } else if let Op::Input(input) = &step.op {
                let input = usize::try_from(input.0).ok()?;
                let slot = fraction_of_input(self.inputs.get(input)?, start + row)?;
                self.fractions.put(step.to, slot);
            } else {
                self.fractions.step(step);
            }
        }
        Some(self.fractions.get(register))
    }

    /// The same as what columns take, if fractions can decide.
    fn on_fractions(&mut self, register: Register, row: usize, start: usize) -> Option<Settled> {
        match self.fraction(register, row, start)? {
            Slot::One(value) => Some(Settled::Number((*value)?.lanes()?)),
            Slot::Truth(truth) => Some(Settled::Truth((*truth)?)),
            Slot::Many(_) | Slot::Empty => None,
        }
    }

    /// Whether a value keeps its range in a row, if fractions can decide.
    fn keeps_on_fractions(&mut self, guard: &Guard, row: usize, start: usize) -> Option<bool> {
        let Slot::One(value) = self.fraction(guard.register, row, start)?.clone() else {
            return None;
        };
        for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
            let Some(limit) = limit else { continue };
            let Slot::One(bound) = self.fraction(limit.register, row, start)?.clone() else {
                return None;
            };
            let relation = limit_relation(limit.included, is_low);
            if !Fractions.compare(relation, &value, &bound)? {
                return Some(false);
            }
        }
        Some(true)
    }

    /// What a register holds in a row; none where an input has no number.
    fn at(&mut self, register: Register, row: usize) -> Option<&ExactSlot> {
        let program = self.program;
        let slice = self.slice(register, false);
        for at in slice.order.iter().copied() {
            let Some(step) = program.steps.get(at) else { continue };
            if !slice.asks(at, |turn| self.run.may_turn(turn)) {
                self.run.put(step.to, Slot::Empty);
                continue;
            }
            // what says the same as an earlier step reads nothing of its own
            if let Some(Some(register)) = self.split.taken.get(at) {
                self.run.put(step.to, self.run.get(*register).clone());
                continue;
            }
            if let Op::Input(input) = &step.op {
                self.read(usize::try_from(input.0).ok()?, row)?;
            }
            if step.op.calls().is_some() && self.split.inputs_in_blocks {
                for input in 0..self.inputs.len() {
                    self.read(input, row)?;
                }
            }
            self.run.step(step);
        }
        Some(self.run.get(register))
    }

    fn read(&mut self, input: usize, row: usize) -> Option<()> {
        let column = self.inputs.get(input)?;
        if let ColumnInput::Same(_) | ColumnInput::Default = column {
            return Some(());
        }
        let given = input_of_row(column, row)?;
        let line = self.program.inputs.get(input)?.line;
        *self.run.inputs.get_mut(input)? = slot_of(&given, line);
        Some(())
    }

    /// What leads to a register; where `short`, from what is known already on.
    fn slice(&mut self, register: Register, short: bool) -> Rc<Demand> {
        if let Some(slice) = self.slices.get(&(register.0, short)) {
            return Rc::clone(slice);
        }
        let (program, split) = (self.program, self.split);
        let reads_of = |at: usize| match program.steps.get(at) {
            Some(step) if split.varies(at) => {
                let ends = short && step.to != register && self.ends.get(at) == Some(&true);
                if ends { Vec::new() } else { split.reads(program, at) }
            }
            _ => Vec::new(),
        };
        let slice = Demand::new(program, &BTreeSet::from([register]), &reads_of);
        let slice = Rc::new(slice.kept_where(|at| split.varies(at)));
        self.slices.insert((register.0, short), Rc::clone(&slice));
        slice
    }

    /// Whether a value keeps its range in a row; none where that cannot be said.
    fn keeps(&mut self, guard: &Guard, row: usize) -> Option<bool> {
        let Slot::One(value) = self.at(guard.register, row)?.clone() else { return None };
        for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
            let Some(limit) = limit else { continue };
            let Slot::One(bound) = self.at(limit.register, row)?.clone() else { return None };
            let relation = limit_relation(limit.included, is_low);
            if !Decimals.compare(relation, &value, &bound).ok()? {
                return Some(false);
            }
        }
        Some(true)
    }
}

impl ColumnSystem<'_> {
    /// Rows that the last step made doubtful; they are doubtful no longer.
    fn take_doubtful(&self) -> Vec<usize> {
        self.any_doubtful.set(false);
        let mut doubtful = self.doubtful.borrow_mut();
        let marked = |(row, mark): (usize, &mut bool)| std::mem::take(mark).then_some(row);
        doubtful.iter_mut().enumerate().filter_map(marked).collect()
    }

    /// Settles what the last step left in doubt; gives how many values. A value that even exact decimals know
    /// to fewer digits than results are promised marks its row in `unsettled`: only the row as a whole,
    /// calculated with that slack, decides as they do.
    pub(super) fn settle(
        &self,
        settler: &mut Settler<'_>,
        slot: &mut Slot<Vector, Truths>,
        register: Register,
        start: usize,
        unsettled: &mut [bool],
    ) -> usize {
        if !self.any_doubtful.get() {
            return 0;
        }
        let mut rows = self.take_doubtful();
        let all = rows.len() == self.count.get();
        if is_same(slot) {
            rows.truncate(1);
        }
        if all {
            // every row gets the error of its own exact value
            let lanes = match slot {
                Slot::One(lanes) => std::slice::from_mut(lanes),
                Slot::Many(elements) => elements.as_mut_slice(),
                Slot::Truth(_) | Slot::Empty => &mut [],
            };
            for lanes in lanes {
                (lanes.error, lanes.errors) = (0.0, None);
                (lanes.exact, lanes.shortest, lanes.true_zero) = (true, true, true);
            }
        }
        for row in rows.iter().copied() {
            match (settler.on_fractions(register, row, start), &mut *slot) {
                (Some(Settled::Number(one)), Slot::One(lanes)) => {
                    lanes.put(row, Some(&one));
                    continue;
                }
                (Some(Settled::Truth(truth)), Slot::Truth(truths)) => {
                    truths.put(row, Truth::from(truth));
                    continue;
                }
                _ => {}
            }
            match settler.at(register, start + row) {
                Some(found) => {
                    put(slot, row, found);
                    if !is_sharp(found) {
                        let same = is_same(slot);
                        unsettled
                            .iter_mut()
                            .enumerate()
                            .filter(|(other, _)| same || *other == row)
                            .for_each(|(_, mark)| *mark = true);
                    }
                }
                None => put(slot, row, &Slot::Empty),
            }
        }
        if let Slot::Truth(truths) = slot
            && let Rows::Each(rows) = &truths.rows
        {
            *truths = Truths::of(rows.to_vec(), truths.missing);
        }
        rows.len()
    }

    /// Marks the rows that break a guard, or cannot be shown not to; those that f64 leaves in doubt are
    /// settled first.
    pub(super) fn settle_guard(
        &self,
        settler: &mut Settler<'_>,
        guard: &Guard,
        start: usize,
        broken: &[Truths],
        unsettled: &mut [bool],
    ) {
        let doubtful: BTreeSet<_> = if self.any_doubtful.get() {
            self.take_doubtful().into_iter().collect()
        } else {
            BTreeSet::new()
        };
        for truths in broken {
            let rows = unsettled.iter_mut().enumerate();
            rows.filter(|(row, _)| !doubtful.contains(row))
                .for_each(|(row, mark)| *mark |= truths.at(row) != NO);
        }
        for row in doubtful {
            let keeps = settler
                .keeps_on_fractions(guard, row, start)
                .or_else(|| settler.keeps(guard, start + row));
            if let Some(mark) = unsettled.get_mut(row) {
                *mark |= keeps != Some(true);
            }
        }
    }
}

/// Whether columns hold the result of a step exactly: truths, and multiples of what is the same in all rows.
fn is_known(split: &Partition, step: &Step) -> bool {
    match step.op {
        Op::Compare(..) | Op::Both(..) | Op::Either(..) | Op::Negate(_) => true,
        Op::Round(_, _, by) => !split.register_varies(by),
        _ => false,
    }
}

/// Whether an exact value is known to as many digits as results are promised.
fn is_sharp(found: &ExactSlot) -> bool {
    let sharp = |value: &Checked| {
        let of = |value: &Exact| value.is_exact() || value.relative_error_bound() <= PROMISED;
        value.as_ref().map_or(true, of)
    };
    match found {
        Slot::One(value) => sharp(value),
        Slot::Many(values) => values.iter().all(sharp),
        Slot::Truth(_) | Slot::Empty => true,
    }
}

/// Whether a slot holds the same in every row.
fn is_same(slot: &Slot<Vector, Truths>) -> bool {
    match slot {
        Slot::One(lanes) => matches!(lanes.rows, Rows::Same(_)),
        Slot::Many(elements) => elements.iter().all(|lanes| matches!(lanes.rows, Rows::Same(_))),
        Slot::Truth(truths) => matches!(truths.rows, Rows::Same(_)),
        Slot::Empty => true,
    }
}

/// Puts an exact value in its row; a fault, or a value of another shape, is missing there.
fn put(slot: &mut Slot<Vector, Truths>, row: usize, found: &ExactSlot) {
    match (slot, found) {
        (Slot::One(lanes), Slot::One(value)) => put_number(lanes, row, value.as_ref().ok()),
        (Slot::One(lanes), _) => put_number(lanes, row, None),
        (Slot::Many(elements), Slot::Many(values)) if elements.len() == values.len() => {
            for (lanes, value) in elements.iter_mut().zip(values) {
                put_number(lanes, row, value.as_ref().ok());
            }
        }
        (Slot::Many(elements), _) => {
            elements.iter_mut().for_each(|lanes| put_number(lanes, row, None));
        }
        (Slot::Truth(truths), found) => {
            let truth = match found {
                Slot::Truth(Ok(true)) => YES,
                Slot::Truth(Ok(false)) => NO,
                _ => MISSING,
            };
            truths.put(row, truth);
        }
        (Slot::Empty, _) => {}
    }
}

fn put_number(lanes: &mut Vector, row: usize, value: Option<&Exact>) {
    lanes.put(row, value.map(Vector::from_exact).as_ref());
}

impl Truths {
    fn put(&mut self, row: usize, truth: Truth) {
        self.missing |= truth == MISSING;
        match &mut self.rows {
            Rows::Same(one) => *one = truth,
            Rows::Each(rows) => {
                if let Some(to) = Rc::make_mut(rows).get_mut(row) {
                    *to = truth;
                }
            }
        }
    }
}

impl Vector {
    /// Puts a value in its row, the same for all rows as it stands.
    fn put(&mut self, row: usize, one: Option<&Self>) {
        let missing = Self::same(f64::NAN, 0.0);
        let value = one.unwrap_or(&missing);
        self.rows.set(Some(row), value.at(0));
        self.span = match self.rows {
            Rows::Same(_) => value.span,
            Rows::Each(_) => self.span.joined(value.span),
        };
        if one.is_some() {
            self.exact &= value.exact;
            self.shortest &= value.shortest;
            self.error = self.error.max(value.error);
            if let Some(to) = self.errors.as_mut().and_then(|all| Rc::make_mut(all).get_mut(row)) {
                *to = value.error;
            }
            self.true_zero &= value.true_zero;
        }
    }
}

impl Vector {
    /// The whole multiple of a step that a row is.
    fn multiple_at(&self, row: usize, by: Fraction) -> Option<Fraction> {
        Fraction::multiple((self.at(row) / self.step?).round(), by)
    }
}

/// One input of one row; none if fractions cannot hold it.
fn fraction_of_input(input: &ColumnInput<'_>, row: usize) -> Option<FractionSlot> {
    match input {
        ColumnInput::Column { values, unit } => {
            Some(Slot::One(Some(Fraction::from_f64(*values.get(row)?)?.in_unit(unit)?)))
        }
        ColumnInput::Words(places) => {
            let place = i128::try_from(*places.get(row)?).ok()?;
            Some(Slot::One(Some(Fraction::whole(place))))
        }
        ColumnInput::Series { .. } | ColumnInput::Same(_) | ColumnInput::Default => None,
    }
}
