//! A long step for the rows alone that ask for it: these are put together, and what comes out goes back.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::{ColumnSystem, Rows, Truths, Vector};
use crate::number::Slot;
use crate::number::evaluate::Run;
use crate::number::operands;
use crate::program::{Register, Step};

type ColumnSlot = Slot<Vector, Truths>;

impl ColumnSystem<'_> {
    /// Does some work for the marked rows; its result holds something else in the others.
    pub(super) fn in_rows<'a>(
        &'a self,
        run: &mut Run<'a, Self>,
        step: &Step,
        marked: &[bool],
        work: impl FnOnce(&mut Run<'a, Self>),
    ) {
        let rows: Vec<usize> =
            marked.iter().enumerate().filter_map(|(row, mark)| mark.then_some(row)).collect();
        let before: Vec<(Register, ColumnSlot)> = self
            .read_from_outside(step)
            .into_iter()
            .map(|register| (register, run.get(register).clone()))
            .collect();
        for (register, slot) in &before {
            run.put(*register, put_together(slot, &rows));
        }
        let count = self.count.replace(rows.len());
        let doubtful = self.doubtful.replace(vec![false; rows.len()]);
        let any = self.any_doubtful.replace(false);
        work(run);
        let any_here = self.any_doubtful.replace(any);
        let marks = self.doubtful.replace(doubtful);
        self.count.set(count);
        for (register, slot) in before {
            run.put(register, slot);
        }
        if let Some(slot) = step.to.place().and_then(|at| run.registers.get_mut(at)) {
            *slot = put_back(slot, &rows, count);
        }
        if any_here {
            let doubted = rows.iter().zip(marks).filter_map(|(row, mark)| mark.then_some(*row));
            doubted.for_each(|row| self.doubt(Some(row)));
        }
    }

    /// The registers that a step and its block read, those left out that the block writes.
    pub(super) fn read_from_outside(&self, step: &Step) -> BTreeSet<Register> {
        let mut read = BTreeSet::new();
        operands(self.program, &step.op, &mut read);
        if let Some(block) = step.op.calls().and_then(|block| self.program.block(block)) {
            let inner = block.steps.iter().map(|step| step.to);
            for register in inner.chain(block.parameters.iter().copied()) {
                read.remove(&register);
            }
        }
        read
    }
}

fn put_together(slot: &ColumnSlot, rows: &[usize]) -> ColumnSlot {
    slot_of(
        slot,
        |lanes| lanes_of(lanes, |values| picked(values, rows)),
        |truths| picked(truths, rows),
    )
}

fn put_back(slot: &ColumnSlot, rows: &[usize], count: usize) -> ColumnSlot {
    slot_of(
        slot,
        |lanes| lanes_of(lanes, |values| spread(values, rows, count)),
        |truths| spread(truths, rows, count),
    )
}

fn slot_of(
    slot: &ColumnSlot,
    lanes: impl Fn(&Vector) -> Vector,
    truths: impl Fn(&[u8]) -> Vec<u8>,
) -> ColumnSlot {
    match slot {
        Slot::Empty => Slot::Empty,
        Slot::One(one) => Slot::One(lanes(one)),
        Slot::Many(elements) => Slot::Many(elements.iter().map(lanes).collect()),
        Slot::Truth(of) => Slot::Truth(Truths { rows: rows_of(&of.rows, truths), ..of.clone() }),
    }
}

fn lanes_of(lanes: &Vector, of: impl Fn(&[f64]) -> Vec<f64>) -> Vector {
    let errors = lanes.errors.as_ref().map(|errors| Rc::new(of(errors)));
    Vector { rows: rows_of(&lanes.rows, of), errors, ..lanes.clone() }
}

fn rows_of<T: Copy>(rows: &Rows<T>, of: impl Fn(&[T]) -> Vec<T>) -> Rows<T> {
    match rows {
        Rows::Same(value) => Rows::Same(*value),
        Rows::Each(values) => Rows::each(of(values)),
    }
}

fn picked<T: Copy>(values: &[T], rows: &[usize]) -> Vec<T> {
    rows.iter().filter_map(|row| values.get(*row).copied()).collect()
}

/// In rows that nobody asks for the first of the values, which lies within their span.
fn spread<T: Copy>(values: &[T], rows: &[usize], count: usize) -> Vec<T> {
    let Some(first) = values.first() else { return Vec::new() };
    let mut to = vec![*first; count];
    for (row, value) in rows.iter().zip(values) {
        if let Some(slot) = to.get_mut(*row) {
            *slot = *value;
        }
    }
    to
}
