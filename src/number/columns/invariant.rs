//! What is the same in every row, worked out once, on exact decimals.

use std::collections::BTreeSet;

use super::settle::Settler;
use super::shared::shared;
use super::{Chunks, Lanes, MISSING, Truth, Truths};
use crate::number::evaluate::{Run, place};
use crate::number::smoothness::{Smoothness, smoothness};
use crate::number::{Checked, Decimals, Registers, Slot, System};
use crate::program::{Block, BlockId, Op, Program, Register};

/// Steps of a program by whether they change from row to row.
#[derive(Clone, Debug)]
pub(super) struct Split {
    /// For each step: whether it depends on a column.
    varies: Vec<bool>,
    /// For each step: whether it must be worked for every chunk.
    work: Vec<bool>,
    /// For each step: registers that no later step reads.
    pub(super) over: Vec<Vec<Register>>,
    /// Columns and the registers that they go to; their steps need not run.
    pub(super) columns: Vec<(usize, Register)>,
    /// For each step that says what an earlier one says, or is a case decided for all rows: where to take it.
    taken: Vec<Option<Register>>,
    /// For each step: how the function of its integral follows its argument.
    follows: Vec<Smoothness>,
    /// Whether a block reads a column by itself.
    pub(super) inputs_in_blocks: bool,
}

impl Split {
    /// `is_column` by place in [`Program::inputs`].
    pub(super) fn new(program: &Program, is_column: &[bool]) -> Self {
        let count = usize::try_from(program.registers).unwrap_or(0);
        let mut changing = vec![false; count];
        let mut varies = Vec::with_capacity(program.steps.len());
        for step in &program.steps {
            let mut read = BTreeSet::new();
            operands(program, &step.op, &mut read);
            let is_changing = |register: &Register| {
                place(*register).and_then(|at| changing.get(at)) == Some(&true)
            };
            let here = is_input(program, &step.op, is_column) || read.iter().any(is_changing);
            if let Some(slot) = place(step.to).and_then(|at| changing.get_mut(at)) {
                *slot = here;
            }
            varies.push(here);
        }
        let mut in_blocks = program.blocks.iter().flat_map(|block| &block.steps);
        let inputs_in_blocks = in_blocks.any(|step| is_input(program, &step.op, is_column));
        let (over, columns, taken) = (Vec::new(), Vec::new(), shared(program));
        let follows = vec![Smoothness::Unknown; program.steps.len()];
        Self { work: varies.clone(), varies, over, columns, taken, follows, inputs_in_blocks }
    }

    /// Leaves out what no result, check or range needs, branches not taken in any row among it; `same` holds
    /// what is the same in every row.
    pub(super) fn keep_needed(&mut self, program: &Program, same: &Registers<Decimals>) {
        let kept = kept(program);
        let mut needed = kept.clone();
        let mut over = vec![Vec::new(); program.steps.len()];
        let known = |register: Register| match place(register).and_then(|at| same.get(at)) {
            Some(Slot::Truth(Ok(truth))) => Some(*truth),
            _ => None,
        };
        for (at, step) in program.steps.iter().enumerate().rev() {
            let work = self.varies(at) && needed.contains(&step.to);
            if let Some(slot) = self.work.get_mut(at) {
                *slot = work;
            }
            if !work {
                continue;
            }
            let mut read = BTreeSet::new();
            match step.op {
                _ if self.taken.get(at).copied().flatten().is_some() => {
                    read.extend(self.taken.get(at).copied().flatten());
                }
                Op::Select(which, x, y) if known(which).is_some() => {
                    let taken = if known(which) == Some(true) { x } else { y };
                    read.insert(taken);
                    if let Some(slot) = self.taken.get_mut(at) {
                        *slot = Some(taken);
                    }
                }
                _ => operands(program, &step.op, &mut read),
            }
            for register in read {
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
                && let Some(block) = body(program, block)
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

    /// Whether a register depends on a column.
    pub(super) fn register_varies(&self, program: &Program, register: Register) -> bool {
        program.steps.iter().zip(&self.varies).any(|(step, varies)| step.to == register && *varies)
    }

    /// Whether a step depends on a column.
    pub(super) fn varies(&self, step: usize) -> bool {
        self.varies.get(step) == Some(&true)
    }
}

/// What is the same in every row, on a number system.
#[derive(Clone, Debug)]
pub(super) struct Same<V, T> {
    /// The inputs that are.
    inputs: Vec<Slot<V, T>>,
    pub(super) registers: Vec<Slot<V, T>>,
}

impl<V: Clone, T: Clone> Same<V, T> {
    /// Runs the steps that are the same in every row; the others stay empty.
    pub(super) fn new(
        system: &impl System<Value = V, Truth = T>,
        program: &Program,
        split: &Split,
        inputs: Vec<Slot<V, T>>,
    ) -> Self {
        let mut run = Run::new(system, program, inputs);
        for (step, varies) in program.steps.iter().zip(&split.varies) {
            if !varies {
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
pub(super) fn spread(slot: &Slot<Checked, Checked<bool>>) -> Slot<Lanes, Truths> {
    let lanes =
        |value: &Checked| value.as_ref().map_or(Lanes::same(f64::NAN, 0.0), Lanes::from_exact);
    match slot {
        Slot::Empty => Slot::Empty,
        Slot::One(value) => Slot::One(lanes(value)),
        Slot::Many(values) => Slot::Many(values.iter().map(lanes).collect()),
        Slot::Truth(truth) => {
            Slot::Truth(Truths::same(truth.as_ref().map_or(MISSING, |truth| Truth::from(*truth))))
        }
    }
}

/// Registers read after the last step.
fn kept(program: &Program) -> BTreeSet<Register> {
    let mut kept: BTreeSet<_> = program.outputs.iter().map(|output| output.register).collect();
    kept.extend(program.checks.iter().map(|check| check.register));
    for guard in &program.guards {
        kept.insert(guard.register);
        kept.extend(guard.low.iter().chain(&guard.high).map(|limit| limit.register));
    }
    kept
}

pub(super) fn is_input(program: &Program, op: &Op, is_column: &[bool]) -> bool {
    match op {
        Op::Input(input) => {
            usize::try_from(input.0).ok().and_then(|at| is_column.get(at)).copied().unwrap_or(false)
        }
        Op::Running { block, .. } | Op::Root { block, .. } | Op::Integral { block, .. } => {
            body(program, *block).is_some_and(|block| {
                block.steps.iter().any(|step| is_input(program, &step.op, is_column))
            })
        }
        _ => false,
    }
}

pub(super) fn body(program: &Program, block: BlockId) -> Option<&Block> {
    usize::try_from(block.0).ok().and_then(|at| program.blocks.get(at))
}

/// Every register that an operation reads, those of its block included.
pub(crate) fn operands(program: &Program, op: &Op, to: &mut BTreeSet<Register>) {
    let inside = |block: BlockId, to: &mut BTreeSet<Register>| {
        for step in body(program, block).map(|block| block.steps.as_slice()).unwrap_or_default() {
            operands(program, &step.op, to);
        }
        to.extend(body(program, block).map(|block| block.result));
    };
    match op {
        Op::Literal(_) | Op::Pi | Op::Input(_) | Op::NoCase | Op::Never(_) => {}
        Op::Unary(_, x)
        | Op::Power(x, _)
        | Op::Negate(x)
        | Op::Preferred(_, _, x)
        | Op::Read(_, x)
        | Op::Fold(_, x) => {
            to.insert(*x);
        }
        Op::Binary(_, x, y)
        | Op::Compare(_, x, y)
        | Op::Both(x, y)
        | Op::Either(x, y)
        | Op::Round(_, x, y) => to.extend([*x, *y]),
        Op::Select(which, x, y) => to.extend([*which, *x, *y]),
        Op::Running { block, start, over } => {
            to.insert(*start);
            to.extend(over);
            inside(*block, to);
        }
        Op::Root { block, from, to: end } | Op::Integral { block, from, to: end } => {
            to.extend([*from, *end]);
            inside(*block, to);
        }
    }
}

impl Chunks<'_> {
    /// Runs the steps that change from row to row over registers that hold the others already; gives how
    /// many values were settled on exact decimals.
    pub(super) fn run<'a>(
        &'a self,
        run: &mut Run<'a, Self>,
        split: &Split,
        settler: &mut Settler<'_>,
        start: usize,
        unsettled: &mut [bool],
    ) -> usize {
        let steps = self.program.steps.iter().zip(&split.work).zip(&split.over).zip(&split.taken);
        let mut settled = 0;
        settler.begin();
        for ((((step, work), over), taken), follows) in steps.zip(&split.follows) {
            if *work {
                match taken {
                    Some(register) => run.put(step.to, run.get(*register).clone()),
                    None if matches!(step.op, Op::Integral { .. }) => {
                        self.integrand.set(*follows);
                        self.integral_by_rows(run, step, split.inputs_in_blocks);
                    }
                    None => run.step(step),
                }
                if self.any_doubtful.get()
                    && let Some(slot) = place(step.to).and_then(|at| run.registers.get_mut(at))
                {
                    settled += self.settle(settler, slot, step.to, start, unsettled);
                }
                settler.know(step, run.get(step.to));
            }
            for register in over {
                run.put(*register, Slot::Empty);
            }
        }
        settled
    }
}
