//! What is the same in every row, worked out once, on exact decimals.

use std::collections::BTreeSet;

use super::{Chunks, Lanes, MISSING, Rows, Truth};
use crate::number::evaluate::{Run, place};
use crate::number::{Checked, Decimals, Registers, Slot};
use crate::program::{Block, BlockId, Op, Program, Register};

/// Steps of a program by whether they change from row to row.
pub(super) struct Split {
    /// For each step: whether it depends on a column.
    varies: Vec<bool>,
    /// For each step: whether it must be worked for every chunk.
    work: Vec<bool>,
    /// For each step: registers that no later step reads.
    pub(super) over: Vec<Vec<Register>>,
    /// Columns and the registers that they go to; their steps need not run.
    pub(super) columns: Vec<(usize, Register)>,
    /// Whether a block reads a column by itself.
    pub(super) inputs_in_blocks: bool,
}

impl Split {
    /// `is_column` by place in [`Program::inputs`].
    pub(super) fn new(program: &Program, is_column: &[bool]) -> Self {
        let count = usize::try_from(program.registers).unwrap_or(0);
        let mut changing = vec![false; count];
        let mut varies = Vec::with_capacity(program.steps.len());
        let mut last = vec![None; count];
        for (at, step) in program.steps.iter().enumerate() {
            let mut read = BTreeSet::new();
            operands(program, &step.op, &mut read);
            let mut here = is_input(program, &step.op, is_column);
            for register in read {
                if let Some(at) = place(register) {
                    here |= changing.get(at).copied().unwrap_or(false);
                }
                if let Some(last) = place(register).and_then(|place| last.get_mut(place)) {
                    *last = Some(at);
                }
            }
            if let Some(slot) = place(step.to).and_then(|at| changing.get_mut(at)) {
                *slot = here;
            }
            varies.push(here);
        }
        let mut work = varies.clone();
        let kept = kept(program);
        let mut over = vec![Vec::new(); program.steps.len()];
        for step in &program.steps {
            let changing = place(step.to).and_then(|at| changing.get(at)).copied();
            let last = place(step.to).and_then(|at| last.get(at)).copied().flatten();
            if let (Some(true), Some(last), false) = (changing, last, kept.contains(&step.to))
                && let Some(list) = over.get_mut(last)
            {
                list.push(step.to);
            }
        }
        let mut columns = Vec::new();
        for (step, varies) in program.steps.iter().zip(&mut work) {
            if let (Op::Input(input), true) = (&step.op, *varies) {
                columns.extend(usize::try_from(input.0).ok().map(|input| (input, step.to)));
                *varies = false;
            }
        }
        let mut in_blocks = program.blocks.iter().flat_map(|block| &block.steps);
        let inputs_in_blocks = in_blocks.any(|step| is_input(program, &step.op, is_column));
        Self { varies, work, over, columns, inputs_in_blocks }
    }
}

/// Runs the steps that are the same in every row; the others stay empty.
pub(super) fn once(
    program: &Program,
    split: &Split,
    inputs: &[Slot<Checked, Checked<bool>>],
) -> Registers<Decimals> {
    let mut run = Run::new(&Decimals, program, inputs.to_vec());
    for (step, varies) in program.steps.iter().zip(&split.varies) {
        if !varies {
            run.step(step);
        }
    }
    run.registers
}

/// Exact values, the same for every row of a chunk.
pub(super) fn spread(slot: &Slot<Checked, Checked<bool>>) -> Slot<Lanes, Rows<Truth>> {
    let lanes =
        |value: &Checked| value.as_ref().map_or(Lanes::same(f64::NAN, 0.0), Lanes::from_exact);
    match slot {
        Slot::Empty => Slot::Empty,
        Slot::One(value) => Slot::One(lanes(value)),
        Slot::Many(values) => Slot::Many(values.iter().map(lanes).collect()),
        Slot::Truth(truth) => {
            Slot::Truth(Rows::Same(truth.as_ref().map_or(MISSING, |truth| Truth::from(*truth))))
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

fn is_input(program: &Program, op: &Op, is_column: &[bool]) -> bool {
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

fn body(program: &Program, block: BlockId) -> Option<&Block> {
    usize::try_from(block.0).ok().and_then(|at| program.blocks.get(at))
}

/// Every register that an operation reads, those of its block included.
fn operands(program: &Program, op: &Op, to: &mut BTreeSet<Register>) {
    let inside = |block: BlockId, to: &mut BTreeSet<Register>| {
        for step in body(program, block).map(|block| block.steps.as_slice()).unwrap_or_default() {
            operands(program, &step.op, to);
        }
        to.extend(body(program, block).map(|block| block.result));
    };
    match op {
        Op::Literal(_) | Op::Pi | Op::Input(_) | Op::NoCase => {}
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
    /// Runs the steps that change from row to row over registers that hold the others already.
    pub(super) fn run<'a>(&'a self, run: &mut Run<'a, Self>, split: &Split) {
        let steps = self.program.steps.iter().zip(&split.work).zip(&split.over);
        for ((step, work), over) in steps {
            if *work {
                run.step(step);
            }
            for register in over {
                run.put(*register, Slot::Empty);
            }
        }
    }
}
