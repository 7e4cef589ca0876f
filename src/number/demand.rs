//! What is asked for: a step that only a case reads is asked for where that case may be taken.
//!
//! For each step, the ways in which somebody comes to read it; on each way the truths that must come out so and
//! so. A way that gets long, or many ways, are shortened to what they have in common: a step is then asked for
//! more often than it need be, never less.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

use crate::program::{Op, Program, Register};

/// A truth that must come out one way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Turn {
    pub(super) truth: Register,
    pub(super) holds: bool,
}

/// What a step reads, and the turn on which it does.
pub(super) type Read = (Register, Option<Turn>);

/// Turns of one way, sorted; none of them decided otherwise.
type Way = Vec<Turn>;

/// Ways to one step, and turns of one way, that are kept apart.
const KEPT: usize = 8;

/// What is asked for of a program's steps.
#[derive(Clone, Debug, Default)]
pub(crate) struct Demand {
    /// The steps that anybody may ask for, each after those it reads and, where there is such an order, after the truths that decide whether
    /// it is asked for.
    pub(super) order: Vec<usize>,
    /// For each step, its place in `ways`; none where it is always asked for.
    asked: Vec<Option<usize>>,
    /// Ways to a step; one of them must be open.
    ways: Vec<Vec<Way>>,
}

impl Demand {
    /// `reads` gives what a step reads, nothing for one that does not count; `kept` are read after the last step.
    pub(super) fn new(
        program: &Program,
        kept: &BTreeSet<Register>,
        reads: &dyn Fn(usize) -> Vec<Read>,
    ) -> Self {
        let count = program.steps.len();
        let mut makes = vec![None; usize::try_from(program.registers).unwrap_or(0)];
        for (at, step) in program.steps.iter().enumerate() {
            if let Some(slot) = step.to.place().and_then(|to| makes.get_mut(to)) {
                *slot = Some(at);
            }
        }
        let maker = |register: Register| register.place().and_then(|to| *makes.get(to)?);
        // what nobody asks for need not be looked at
        let mut read: Vec<Vec<Read>> = vec![Vec::new(); count];
        let mut ways: Vec<Vec<Way>> = program
            .steps
            .iter()
            .map(|step| if kept.contains(&step.to) { vec![Way::new()] } else { Vec::new() })
            .collect();
        for at in (0..count).rev() {
            let here = ways.get_mut(at).map(|ways| shortened(std::mem::take(ways)));
            let here = here.unwrap_or_default();
            let reads = if here.is_empty() { Vec::new() } else { reads(at) };
            for (register, turn) in &reads {
                let Some(to) = maker(*register).and_then(|to| ways.get_mut(to)) else { continue };
                if to.iter().any(Vec::is_empty) {
                    continue;
                }
                let mut turns = Vec::new();
                turn.iter().for_each(|turn| spelt_out(program, &maker, *turn, &mut turns));
                let further = here.iter().filter_map(|way| with_turns(way, &turns));
                to.extend(further);
                if to.len() > 4 * KEPT {
                    *to = shortened(std::mem::take(to));
                }
            }
            if let (Some(slot), Some(read)) = (ways.get_mut(at), read.get_mut(at)) {
                (*slot, *read) = (here, reads);
            }
        }
        let order = ordered(&read, &mut ways, &maker);
        let mut numbers: BTreeMap<Vec<Way>, usize> = BTreeMap::new();
        let mut kinds = Vec::new();
        let asked = ways
            .into_iter()
            .map(|ways| {
                (!ways.iter().any(Vec::is_empty)).then(|| {
                    *numbers.entry(ways).or_insert_with_key(|ways| {
                        kinds.push(ways.clone());
                        kinds.len() - 1
                    })
                })
            })
            .collect();
        Self { order, asked, ways: kinds }
    }

    /// Of some steps in the order of the program, whatever case is taken.
    pub(crate) fn of_steps(wanted: &[bool]) -> Self {
        let steps = wanted.iter().enumerate().filter(|(_, wanted)| **wanted);
        Self { order: steps.map(|(at, _)| at).collect(), ..Self::default() }
    }

    /// Of what some registers depend on.
    pub(crate) fn of_registers(program: &Program, registers: &BTreeSet<Register>) -> Self {
        let reads = |at: usize| {
            program.steps.get(at).map_or_else(Vec::new, |step| reads(program, &step.op))
        };
        Self::new(program, registers, &reads)
    }

    /// Without some of the steps.
    pub(super) fn kept_where(mut self, kept: impl Fn(usize) -> bool) -> Self {
        self.order.retain(|at| kept(*at));
        self
    }

    /// The number of the ways to a step; none where it is asked for in any case.
    pub(super) fn of(&self, step: usize) -> Option<usize> {
        self.asked.get(step).copied().flatten()
    }

    /// Whether anybody may ask for a step.
    pub(super) fn is_ever_asked(&self, step: usize) -> bool {
        self.of(step).is_none_or(|number| !self.ways(number).is_empty())
    }

    /// The ways of a number.
    pub(super) fn ways(&self, number: usize) -> &[Vec<Turn>] {
        self.ways.get(number).map(Vec::as_slice).unwrap_or_default()
    }

    /// How many kinds of ways there are.
    pub(super) fn kinds(&self) -> usize {
        self.ways.len()
    }

    /// The truths that decide whether a step is asked for.
    pub(super) fn truths(&self, step: usize) -> impl Iterator<Item = Register> {
        let ways = self.of(step).map(|number| self.ways(number)).unwrap_or_default();
        ways.iter().flatten().map(|turn| turn.truth)
    }

    /// Whether a step is asked for, when `open` says which turns may be taken.
    pub(super) fn asks(&self, step: usize, open: impl Fn(Turn) -> bool) -> bool {
        self.of(step).is_none_or(|number| {
            self.ways(number).iter().any(|way| way.iter().all(|turn| open(*turn)))
        })
    }

    /// Asks always for what takes next to no time and waits for nothing that is left out: it can then be shown.
    pub(super) fn sparing_long_steps_alone(mut self, program: &Program) -> Self {
        let mut left_out = BTreeSet::new();
        for at in &self.order {
            let Some(step) = program.steps.get(*at) else { continue };
            let long = step.op.calls().is_some();
            let after = || reads(program, &step.op).iter().any(|(it, _)| left_out.contains(it));
            match self.asked.get_mut(*at) {
                Some(Some(_)) if long || after() => {
                    left_out.insert(step.to);
                }
                Some(asked) => *asked = None,
                None => {}
            }
        }
        self
    }
}

/// What an operation reads, each with the turn on which it does; what its block reads counts as read in any case.
pub(super) fn reads(program: &Program, op: &Op) -> Vec<Read> {
    let turn = |truth: Register, holds: bool| Some(Turn { truth, holds });
    match op {
        Op::Select(which, x, y) => {
            vec![(*which, None), (*x, turn(*which, true)), (*y, turn(*which, false))]
        }
        Op::Both(x, y) => vec![(*x, None), (*y, turn(*x, true))],
        Op::Either(x, y) => vec![(*x, None), (*y, turn(*x, false))],
        op if op.calls().is_some() => {
            let mut read = BTreeSet::new();
            operands(program, op, &mut read);
            read.into_iter().map(|register| (register, None)).collect()
        }
        op => op.reads().into_iter().map(|register| (register, None)).collect(),
    }
}

/// The turns of the parts of a truth that say the same.
fn spelt_out(
    program: &Program,
    maker: &dyn Fn(Register) -> Option<usize>,
    turn: Turn,
    to: &mut Vec<Turn>,
) {
    if to.len() > KEPT {
        return to.push(turn);
    }
    let mut more = |truth: Register, holds: bool| {
        spelt_out(program, maker, Turn { truth, holds }, to);
    };
    match maker(turn.truth).and_then(|at| program.steps.get(at)).map(|step| &step.op) {
        Some(Op::Negate(x)) => more(*x, !turn.holds),
        Some(Op::Both(x, y)) if turn.holds => [x, y].into_iter().for_each(|it| more(*it, true)),
        Some(Op::Either(x, y)) if !turn.holds => {
            [x, y].into_iter().for_each(|it| more(*it, false));
        }
        _ => to.push(turn),
    }
}

/// A way with more turns; none where it can never be open.
fn with_turns(way: &Way, turns: &[Turn]) -> Option<Way> {
    let mut way = way.clone();
    for turn in turns {
        if way.contains(&Turn { holds: !turn.holds, ..*turn }) {
            return None;
        }
        if let Err(at) = way.binary_search(turn) {
            way.insert(at, *turn);
        }
    }
    Some(way)
}

/// Few short ways, open wherever those were.
fn shortened(mut ways: Vec<Way>) -> Vec<Way> {
    for way in &mut ways {
        // what decides last is kept: it mostly includes what came before
        let more = way.len().saturating_sub(KEPT);
        way.drain(..more);
    }
    ways.sort_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
    ways.dedup();
    let mut kept: Vec<Way> = Vec::new();
    for way in ways {
        if !kept.iter().any(|other| other.iter().all(|turn| way.contains(turn))) {
            kept.push(way);
        }
    }
    // open one way or the other: open
    while let Some((one, other, turn)) = two_turns_of_one_truth(&kept) {
        let mut joined = kept.swap_remove(one.max(other));
        kept.swap_remove(one.min(other));
        joined.retain(|it| it.truth != turn);
        kept.retain(|way| !joined.iter().all(|turn| way.contains(turn)));
        kept.push(joined);
    }
    if kept.len() > KEPT {
        let mut common = kept.pop().unwrap_or_default();
        common.retain(|turn| kept.iter().all(|way| way.contains(turn)));
        return vec![common];
    }
    kept.sort();
    kept
}

/// Two ways that differ in how one truth comes out alone.
fn two_turns_of_one_truth(ways: &[Way]) -> Option<(usize, usize, Register)> {
    for (one, first) in ways.iter().enumerate() {
        for (other, second) in ways.iter().enumerate().skip(one + 1) {
            let mut differ = first.iter().zip(second).filter(|(a, b)| a != b);
            if first.len() == second.len()
                && let (Some((a, b)), None) = (differ.next(), differ.next())
                && a.truth == b.truth
            {
                return Some((one, other, a.truth));
            }
        }
    }
    None
}

/// The steps that anybody asks for in an order in which a step follows what it reads and what decides about it; where these wait for one
/// another, what decides comes too late and is left out of the ways.
fn ordered(
    reads: &[Vec<Read>],
    ways: &mut [Vec<Way>],
    maker: &dyn Fn(Register) -> Option<usize>,
) -> Vec<usize> {
    let count = reads.len();
    // for each step: who waits for it, and whether to read it
    let mut waiting: Vec<Vec<(usize, bool)>> = vec![Vec::new(); count];
    let mut operands = vec![0_usize; count];
    let mut deciding = vec![0_usize; count];
    let is_asked: Vec<bool> = ways.iter().map(|ways| !ways.is_empty()).collect();
    for at in (0..count).filter(|at| is_asked.get(*at) == Some(&true)) {
        let from: BTreeSet<usize> =
            reads.get(at).into_iter().flatten().filter_map(|(it, _)| maker(*it)).collect();
        let truths: BTreeSet<usize> = ways
            .get(at)
            .into_iter()
            .flatten()
            .flatten()
            .filter_map(|turn| maker(turn.truth))
            .filter(|it| *it != at && !from.contains(it))
            .collect();
        if let (Some(one), Some(other)) = (operands.get_mut(at), deciding.get_mut(at)) {
            (*one, *other) = (from.len(), truths.len());
        }
        for (steps, reads) in [(from, true), (truths, false)] {
            for step in steps {
                if let Some(list) = waiting.get_mut(step) {
                    list.push((at, reads));
                }
            }
        }
    }
    let get = |counts: &[usize], at: usize| counts.get(at).copied().unwrap_or(0);
    let mut ready: BinaryHeap<Reverse<usize>> = BinaryHeap::new();
    // could run, if what decides about them did not come later
    let mut early: BTreeSet<usize> = BTreeSet::new();
    for at in (0..count).filter(|at| is_asked.get(*at) == Some(&true)) {
        if get(&operands, at) == 0 {
            if get(&deciding, at) == 0 { ready.push(Reverse(at)) } else { _ = early.insert(at) }
        }
    }
    let mut done = vec![false; count];
    let mut order = Vec::with_capacity(count);
    loop {
        let next = match ready.pop() {
            Some(Reverse(at)) => at,
            None => {
                let Some(at) = early.pop_first() else { break };
                let known = |turn: &Turn| {
                    maker(turn.truth).is_none_or(|it| done.get(it).copied().unwrap_or(true))
                };
                if let Some(ways) = ways.get_mut(at) {
                    ways.iter_mut().for_each(|way| way.retain(known));
                    *ways = shortened(std::mem::take(ways));
                }
                at
            }
        };
        if let Some(slot) = done.get_mut(next) {
            *slot = true;
        }
        order.push(next);
        for (at, reads) in waiting.get(next).cloned().unwrap_or_default() {
            let counts = if reads { &mut operands } else { &mut deciding };
            if let Some(left) = counts.get_mut(at) {
                *left -= 1;
            }
            if get(&operands, at) == 0 && done.get(at) == Some(&false) {
                if get(&deciding, at) == 0 {
                    early.remove(&at);
                    ready.push(Reverse(at));
                } else {
                    early.insert(at);
                }
            }
        }
    }
    order
}

/// Every register that an operation reads, those of its block included.
pub(crate) fn operands(program: &Program, op: &Op, to: &mut BTreeSet<Register>) {
    to.extend(op.reads());
    if let Some(block) = op.calls().and_then(|block| program.block(block)) {
        block.steps.iter().for_each(|step| operands(program, &step.op, to));
        to.insert(block.result);
    }
}
