//! What is the same in every row, calculated once, on exact decimals.

use std::collections::BTreeSet;

use super::shared::shared;
use super::{MISSING, Truth, Truths, Vector};
use crate::number::demand::{Demand, Read, Turn, operands, reads};
use crate::number::evaluate::Run;
use crate::number::run::{demand_with, kept};
use crate::number::smoothness::{Smoothness, smoothness};
use crate::number::{Checked, Decimals, Registers, Slot, System};
use crate::program::{Binary, Op, Program, Register, Step, Unary};

/// Steps of a program by whether they change from row to row.
#[derive(Clone, Debug)]
pub(super) struct Partition {
    /// For each step: whether it depends on a column.
    varies: Vec<bool>,
    /// The same for each register.
    changing: Vec<bool>,
    /// For each step: whether it must be worked for every chunk.
    pub(super) work: Vec<bool>,
    /// What is asked for of the steps that change from row to row, and their order.
    pub(super) demand: Demand,
    /// For each step: registers that no later step reads.
    pub(super) over: Vec<Vec<Register>>,
    /// Columns and the registers that they go to; their steps need not run.
    pub(super) columns: Vec<(usize, Register)>,
    /// For each step that says what an earlier one says, or is a case decided for all rows: where to take it.
    pub(super) taken: Vec<Option<Register>>,
    /// For each step: whether it only matters that it exists, since zero times it is all that is read of it.
    pub(super) exists: Vec<bool>,
    /// For each step: how the function of its integral follows its argument.
    pub(super) follows: Vec<Smoothness>,
    /// Whether a block reads a column by itself.
    pub(super) inputs_in_blocks: bool,
}

impl Partition {
    /// `is_column` by place in [`Program::inputs`].
    pub(super) fn new(program: &Program, is_column: &[bool]) -> Self {
        let count = usize::try_from(program.registers).unwrap_or(0);
        let mut changing = vec![false; count];
        let mut varies = Vec::with_capacity(program.steps.len());
        for step in &program.steps {
            let mut read = BTreeSet::new();
            operands(program, &step.op, &mut read);
            let is_changing = |register: &Register| {
                register.place().and_then(|at| changing.get(at)) == Some(&true)
            };
            let here = is_input(program, &step.op, is_column) || read.iter().any(is_changing);
            if let Some(slot) = step.to.place().and_then(|at| changing.get_mut(at)) {
                *slot = here;
            }
            varies.push(here);
        }
        let mut in_blocks = program.blocks.iter().flat_map(|block| &block.steps);
        let inputs_in_blocks = in_blocks.any(|step| is_input(program, &step.op, is_column));
        let (over, columns, taken) = (Vec::new(), Vec::new(), shared(program));
        let follows = vec![Smoothness::Unknown; program.steps.len()];
        let (work, demand) = (varies.clone(), Demand::default());
        let exists = vec![false; program.steps.len()];
        Self {
            varies,
            changing,
            work,
            demand,
            over,
            columns,
            taken,
            exists,
            follows,
            inputs_in_blocks,
        }
    }

    /// What a step reads that changes from row to row, each with the turn of a case on which it does.
    pub(super) fn reads(&self, program: &Program, step: usize) -> Vec<Read> {
        let Some(op) = program.steps.get(step).map(|step| &step.op) else { return Vec::new() };
        if !self.varies(step) {
            return Vec::new();
        }
        match self.taken.get(step) {
            Some(Some(register)) => vec![(*register, None)],
            _ => reads(program, op),
        }
    }

    /// Leaves out what no result, check or range needs, branches not taken in any row among it; `same` holds
    /// what is the same in every row.
    pub(super) fn keep_needed(&mut self, program: &Program, same: &Registers<Decimals>) {
        let known = |register: Register| match register.place().and_then(|at| same.get(at)) {
            Some(Slot::Truth(Ok(truth))) => Some(*truth),
            _ => None,
        };
        for (step, taken) in program.steps.iter().zip(&mut self.taken) {
            if let (Op::Select(which, x, y), None) = (&step.op, &taken)
                && let Some(truth) = known(*which)
            {
                *taken = Some(if truth { *x } else { *y });
            }
        }
        let kept = kept(program);
        self.find_what_must_only_exist(program, &kept, same);
        self.demand = Demand::new(program, &kept, &|at| self.reads(program, at));
        for at in 0..program.steps.len() {
            let work = self.varies(at) && self.demand.is_ever_asked(at);
            if let Some(slot) = self.work.get_mut(at) {
                *slot = work;
            }
        }
        let mut needed = kept;
        let mut over = vec![Vec::new(); program.steps.len()];
        for at in self.demand.order.iter().rev().copied() {
            if self.work.get(at) != Some(&true) {
                continue;
            }
            let read = self.reads(program, at).into_iter().map(|(register, _)| register);
            for register in read.chain(self.demand.truths(at)) {
                // the first to be met on the way back is the last to read it
                if needed.insert(register)
                    && let Some(list) = over.get_mut(at)
                {
                    list.push(register);
                }
            }
        }
        let varying = program.steps.iter().zip(&self.varies).filter(|(_, varies)| **varies);
        let varying: BTreeSet<_> = varying.map(|(step, _)| step.to).collect();
        for list in &mut over {
            list.retain(|register| varying.contains(register));
        }
        self.over = over;
        for (step, to) in program.steps.iter().zip(&mut self.follows) {
            if let Op::Integral { block, .. } = step.op
                && let Some(block) = program.block(block)
            {
                *to = smoothness(program, block, same);
            }
        }
        for (step, work) in program.steps.iter().zip(&mut self.work) {
            if let (Op::Input(input), true) = (&step.op, *work) {
                let input = usize::try_from(input.0).ok();
                self.columns.extend(input.map(|input| (input, step.to)));
                *work = false;
            }
        }
    }

    /// Marks sums and products, and the like, of which nothing is read but zero times it.
    fn find_what_must_only_exist(
        &mut self,
        program: &Program,
        kept: &BTreeSet<Register>,
        same: &Registers<Decimals>,
    ) {
        let is_same_zero = |register: &Register| {
            let slot = register.place().and_then(|at| same.get(at));
            matches!(slot, Some(Slot::One(Ok(value))) if value.is_exact() && value.is_like_zero())
        };
        let mut zeros = BTreeSet::new();
        for step in &program.steps {
            if let Op::Binary(Binary::Multiply, x, y) = &step.op
                && [x, y].into_iter().any(|it| is_same_zero(it) || zeros.contains(it))
            {
                zeros.insert(step.to);
            }
        }
        let mut exact = kept.clone();
        for (at, step) in program.steps.iter().enumerate().rev() {
            let only_exists = !exact.contains(&step.to)
                && exists_as_its_operands_do(step, &|it| !self.register_varies(it));
            if let Some(slot) = self.exists.get_mut(at) {
                *slot = only_exists;
            }
            if only_exists || zeros.contains(&step.to) {
                continue;
            }
            exact.extend(self.reads(program, at).into_iter().map(|(register, _)| register));
        }
    }

    /// Whether a register depends on a column.
    pub(super) fn register_varies(&self, register: Register) -> bool {
        register.place().and_then(|at| self.changing.get(at)) == Some(&true)
    }

    /// Whether a step depends on a column.
    pub(super) fn varies(&self, step: usize) -> bool {
        self.varies.get(step) == Some(&true)
    }
}

/// Whether a step has a value where its operands have one, however few of their digits are known.
fn exists_as_its_operands_do(step: &Step, is_same: &dyn Fn(Register) -> bool) -> bool {
    match step.op {
        Op::Unary(Unary::Negate | Unary::Absolute, _) => true,
        Op::Binary(Binary::Divide, _, by) => is_same(by),
        Op::Binary(function, ..) => function != Binary::Raise,
        Op::Power(_, by) => by.denominator == 1 && (1..=4).contains(&by.numerator),
        _ => false,
    }
}

/// What is the same in every row, on a number system.
#[derive(Clone, Debug)]
pub(super) struct LoopInvariants<V, T> {
    /// The inputs that are.
    inputs: Vec<Slot<V, T>>,
    pub(super) registers: Vec<Slot<V, T>>,
}

impl<V: Clone, T: Clone> LoopInvariants<V, T> {
    /// Runs the steps that are the same in every row; the others stay empty.
    pub(super) fn new(
        system: &impl System<Value = V, Truth = T>,
        program: &Program,
        split: &Partition,
        inputs: Vec<Slot<V, T>>,
    ) -> Self {
        let mut run = Run::new(system, program, inputs);
        // what is taken from an earlier step asks for all that leads to that step
        let demand = demand_with(program, split.taken.iter().flatten().copied());
        for at in demand.order.iter().copied().filter(|at| !split.varies(*at)) {
            let open = |turn: Turn| split.register_varies(turn.truth) || run.may_turn(turn);
            if let (true, Some(step)) = (demand.asks(at, open), program.steps.get(at)) {
                run.step(step);
            }
        }
        Self { inputs: run.inputs, registers: run.registers }
    }

    /// A run that goes on from it.
    pub(super) fn run<'a, S: System<Value = V, Truth = T>>(
        &self,
        system: &'a S,
        program: &'a Program,
    ) -> Run<'a, S> {
        let mut run = Run::new(system, program, self.inputs.clone());
        run.registers.clone_from(&self.registers);
        run
    }
}

/// Exact values, the same for every row of a chunk.
pub(super) fn spread(slot: &Slot<Checked, Checked<bool>>) -> Slot<Vector, Truths> {
    let lanes =
        |value: &Checked| value.as_ref().map_or(Vector::same(f64::NAN, 0.0), Vector::from_exact);
    match slot {
        Slot::Empty => Slot::Empty,
        Slot::One(value) => Slot::One(lanes(value)),
        Slot::Many(values) => Slot::Many(values.iter().map(lanes).collect()),
        Slot::Truth(truth) => {
            Slot::Truth(Truths::same(truth.as_ref().map_or(MISSING, |truth| Truth::from(*truth))))
        }
    }
}

pub(super) fn is_input(program: &Program, op: &Op, is_column: &[bool]) -> bool {
    match op {
        Op::Input(input) => {
            usize::try_from(input.0).ok().and_then(|at| is_column.get(at)).copied().unwrap_or(false)
        }
        Op::Running { block, .. } | Op::Root { block, .. } | Op::Integral { block, .. } => {
            program.block(*block).is_some_and(|block| {
                block.steps.iter().any(|step| is_input(program, &step.op, is_column))
            })
        }
        _ => false,
    }
}
