//! The function of a root or an integral as a block of a program: its values, its corners, its pieces on bounds.

use std::collections::BTreeSet;

use super::evaluate::{Run, SlotOf};
use super::smoothness::{Corner, Corners, arguments, corners};
use super::{Bound, Bounds, Dissection, Integrand, Slot, System, Zero, operands};
use crate::program::{Binary, Block, LineId, Op, Program};

/// The function that a block calculates, within a run.
pub(super) struct OfBlock<'r, 'a, S: System> {
    run: &'r mut Run<'a, S>,
    block: &'a Block,
    line: LineId,
    corners: Option<Corners>,
}

impl<'r, 'a, S: System> OfBlock<'r, 'a, S> {
    pub(super) fn new(run: &'r mut Run<'a, S>, block: &'a Block, line: LineId) -> Self {
        Self { run, block, line, corners: None }
    }

    /// Looked for when they are asked for.
    fn found(&mut self) -> Corners {
        let (program, block) = (self.run.program, self.block);
        self.corners.get_or_insert_with(|| corners(program, block)).clone()
    }

    /// The same block on bounds, reading what it reads here.
    fn on_bounds<'b>(&self, bounds: &'b Bounds, program: &'b Program) -> Option<Run<'b, Bounds>> {
        let mut read = BTreeSet::new();
        let mut reads_inputs = false;
        for step in &self.block.steps {
            operands(program, &step.op, &mut read);
            reads_inputs |= matches!(step.op, Op::Input(_)) || step.op.calls().is_some();
        }
        read.insert(self.block.result);
        let inputs = if reads_inputs {
            self.run.inputs.iter().map(|slot| self.slot(slot)).collect::<Option<_>>()?
        } else {
            Vec::new()
        };
        let mut run = Run::new(bounds, program, inputs);
        for register in read {
            let slot = self.slot(self.run.get(register))?;
            run.put(register, slot);
        }
        Some(run)
    }

    fn slot(&self, slot: &SlotOf<S>) -> Option<SlotOf<Bounds>> {
        let one = |value: &S::Value| self.run.system.as_bound(value);
        Some(match slot {
            Slot::Empty => Slot::Empty,
            Slot::One(value) => Slot::One(one(value)?),
            Slot::Many(values) => Slot::Many(values.iter().map(one).collect::<Option<_>>()?),
            Slot::Truth(truth) => Slot::Truth(self.run.system.as_possible(truth)?),
        })
    }

    fn with_bounds<T>(
        &self,
        look: impl FnOnce(&Bounds, &mut dyn FnMut(&Bound) -> Bound) -> T,
    ) -> Option<T> {
        let bounds = Bounds::new(0);
        let mut run = self.on_bounds(&bounds, self.run.program)?;
        let mut function = |x: &Bound| run.call(self.block, vec![x.clone()], self.line);
        Some(look(&bounds, &mut function))
    }
}

impl<S: System> Integrand<S::Value> for OfBlock<'_, '_, S> {
    fn at(&mut self, x: &S::Value) -> S::Value {
        self.run.call(self.block, vec![x.clone()], self.line)
    }

    fn corners(&mut self, x: &S::Value) -> Vec<S::Value> {
        let corners = self.found();
        if corners.straight.is_empty() {
            return Vec::new();
        }
        self.run.call(self.block, vec![x.clone()], self.line);
        let (system, line) = (self.run.system, self.line);
        let mut levels = Vec::new();
        for corner in corners.straight {
            match corner {
                Corner::Zero(x) => levels.extend(value(self.run.get(x))),
                Corner::Equal(x, y) => {
                    let both = value(self.run.get(x)).zip(value(self.run.get(y)));
                    levels.extend(both.map(|(x, y)| system.binary(Binary::Subtract, &x, &y, line)));
                }
                Corner::Rows(table, x) => {
                    let Some(x) = value(self.run.get(x)) else { continue };
                    levels.extend(arguments(self.run.program, table).map(|row| {
                        let row = system.literal(row, line);
                        system.binary(Binary::Subtract, &x, &row, line)
                    }));
                }
            }
        }
        levels
    }

    fn is_complete(&mut self) -> bool {
        self.found().complete
    }

    fn is_straight(&mut self) -> bool {
        self.found().is_straight
    }

    fn dissect(&mut self, from: f64, to: f64, cuts: &[f64]) -> Option<Dissection> {
        self.with_bounds(|bounds, function| bounds.dissect(function, from, to, cuts))
    }

    fn zeros(&mut self, from: f64, to: f64) -> Option<Vec<Zero>> {
        self.with_bounds(|bounds, function| bounds.zeros(function, from, to))
    }
}

fn value<V: Clone, T>(slot: &Slot<V, T>) -> Option<V> {
    if let Slot::One(value) = slot { Some(value.clone()) } else { None }
}
