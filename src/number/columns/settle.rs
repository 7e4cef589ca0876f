//! What f64 leaves in doubt: one value of one row, worked out on exact decimals from the steps that lead to it.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use super::driver::{ColumnInput, given_of_input};
use super::invariant::{Split, operands};
use super::{Chunks, Lanes, MISSING, NO, PROMISED, Rows, Truths, YES};
use crate::number::evaluate::Run;
use crate::number::exact::Exact;
use crate::number::run::{limit_relation, slot_of};
use crate::number::{Checked, Decimals, Registers, Slot, System};
use crate::program::{Guard, Op, Program, Register};

/// Exact decimals beside a run by columns.
pub(super) struct Settler<'a> {
    program: &'a Program,
    split: &'a Split,
    inputs: &'a [ColumnInput<'a>],
    run: Run<'a, Decimals>,
    /// The steps that lead to a register, by the register.
    slices: BTreeMap<u32, Rc<[usize]>>,
}

type ExactSlot = Slot<Checked, Checked<bool>>;

impl<'a> Settler<'a> {
    /// `same` holds what is the same in every row.
    pub(super) fn new(
        program: &'a Program,
        split: &'a Split,
        inputs: &'a [ColumnInput<'a>],
        same: &Registers<Decimals>,
        given: Vec<ExactSlot>,
    ) -> Self {
        let mut run = Run::new(&Decimals, program, given);
        run.registers.clone_from(same);
        Self { program, split, inputs, run, slices: BTreeMap::new() }
    }

    /// What a register holds in a row; none where an input has no number.
    fn at(&mut self, register: Register, row: usize) -> Option<&ExactSlot> {
        let program = self.program;
        let slice = self.slice(register);
        for step in slice.iter().filter_map(|at| program.steps.get(*at)) {
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
        let given = given_of_input(column, row)?;
        let line = self.program.inputs.get(input)?.line;
        *self.run.inputs.get_mut(input)? = slot_of(&given, line);
        Some(())
    }

    fn slice(&mut self, register: Register) -> Rc<[usize]> {
        if let Some(slice) = self.slices.get(&register.0) {
            return Rc::clone(slice);
        }
        let mut needed = BTreeSet::from([register]);
        let mut slice = Vec::new();
        for (at, step) in self.program.steps.iter().enumerate().rev() {
            if needed.contains(&step.to) && self.split.varies(at) {
                operands(self.program, &step.op, &mut needed);
                slice.push(at);
            }
        }
        slice.reverse();
        let slice: Rc<[usize]> = slice.into();
        self.slices.insert(register.0, Rc::clone(&slice));
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

impl Chunks<'_> {
    /// Rows that the last step made doubtful; they are doubtful no longer.
    fn take_doubtful(&self) -> Vec<usize> {
        self.any_doubtful.set(false);
        let mut doubtful = self.doubtful.borrow_mut();
        let marked = |(row, mark): (usize, &mut bool)| std::mem::take(mark).then_some(row);
        doubtful.iter_mut().enumerate().filter_map(marked).collect()
    }

    /// Settles what the last step left in doubt; gives how many values. A value that even exact decimals know
    /// to fewer digits than results are promised marks its row in `unsettled`: only the row as a whole,
    /// worked out with that slack, decides as they do.
    pub(super) fn settle(
        &self,
        settler: &mut Settler<'_>,
        slot: &mut Slot<Lanes, Truths>,
        register: Register,
        start: usize,
        unsettled: &mut [bool],
    ) -> usize {
        if !self.any_doubtful.get() {
            return 0;
        }
        let mut rows = self.take_doubtful();
        let all = rows.len() == self.count.get();
        if all && is_same(slot) {
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
            }
        }
        for row in rows.iter().copied() {
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

    /// Marks the rows that break a guard, or that cannot be told not to; those that f64 leaves in doubt are
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
        for (row, mark) in unsettled.iter_mut().enumerate() {
            if doubtful.is_empty() && broken.is_empty() {
                return;
            }
            *mark |= if doubtful.contains(&row) {
                settler.keeps(guard, start + row) != Some(true)
            } else {
                broken.iter().any(|broken| broken.at(row) != NO)
            };
        }
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
fn is_same(slot: &Slot<Lanes, Truths>) -> bool {
    match slot {
        Slot::One(lanes) => matches!(lanes.rows, Rows::Same(_)),
        Slot::Many(elements) => elements.iter().all(|lanes| matches!(lanes.rows, Rows::Same(_))),
        Slot::Truth(truths) => matches!(truths.rows, Rows::Same(_)),
        Slot::Empty => true,
    }
}

/// Puts an exact value in its row; a fault, or a value of another shape, is missing there.
fn put(slot: &mut Slot<Lanes, Truths>, row: usize, found: &ExactSlot) {
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
            truths.missing |= truth == MISSING;
            match &mut truths.rows {
                Rows::Same(one) => *one = truth,
                Rows::Each(rows) => {
                    if let Some(to) = Rc::make_mut(rows).get_mut(row) {
                        *to = truth;
                    }
                }
            }
        }
        (Slot::Empty, _) => {}
    }
}

fn put_number(lanes: &mut Lanes, row: usize, value: Option<&Exact>) {
    let one = value.map_or(Lanes::same(f64::NAN, 0.0), Lanes::from_exact);
    lanes.rows.set(Some(row), one.at(0));
    lanes.span = match lanes.rows {
        Rows::Same(_) => one.span,
        Rows::Each(_) => lanes.span.joined(one.span),
    };
    if value.is_some() {
        lanes.exact &= one.exact;
        lanes.error = lanes.error.max(one.error);
        if let Some(error) = lanes.errors.as_mut().and_then(|all| Rc::make_mut(all).get_mut(row)) {
            *error = one.error;
        }
        lanes.true_zero &= one.true_zero;
    }
}
