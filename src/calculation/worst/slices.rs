//! The part of a program that a question depends on, and what is remembered of its long steps from one box to
//! the next: most boxes are cut across an input that a root or an integral does not depend on.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::rc::Rc;

use super::uncertain::{Key, Uncertain};
use crate::number::{
    Bounds, Decimals, Demand, Registers, Slot, SlotOf, StepCache, System, demand_of, operands,
};
use crate::program::{Op, Program, Register, Step};

/// Steps that are calculated, by their place; the number names the choice.
pub(super) struct Slice {
    pub(super) number: usize,
    wanted: Vec<bool>,
    /// What is asked for where a case is decided.
    pub(super) demand: Demand,
}

/// What long steps came to, by the step and the sides that it depends on.
type Remembered<S> = RefCell<HashMap<(usize, Key), SlotOf<S>>>;

/// What is known of a program's steps.
pub(super) struct Slices {
    /// For each step with a search or a recurrence: the directions it depends on.
    long: HashMap<usize, Vec<usize>>,
    slices: RefCell<BTreeMap<Vec<Register>, Rc<Slice>>>,
    /// For each step with a search or a recurrence that no rounding bears on: the directions it depends on.
    unrounded: HashMap<usize, Vec<usize>>,
    /// How many steps round to a multiple.
    pub(super) roundings: usize,
    boxes: Remembered<Bounds>,
    relaxed: Remembered<Bounds>,
    corners: Remembered<Decimals>,
    /// Everything.
    pub(super) whole: Rc<Slice>,
    /// Every case: roundings are told apart by how many came before.
    pub(super) every_case: Demand,
}

impl Slices {
    pub(super) fn new(program: &Program, uncertain: &[Uncertain]) -> Self {
        let wanted = vec![true; program.steps.len()];
        let whole = Slice { number: 0, wanted, demand: demand_of(program) };
        Self {
            long: long(program, uncertain, &BTreeSet::new()),
            unrounded: long(program, uncertain, &rounded(program)),
            roundings: program.steps.iter().filter(|it| matches!(it.op, Op::Round(..))).count(),
            slices: RefCell::default(),
            boxes: RefCell::default(),
            relaxed: RefCell::default(),
            corners: RefCell::default(),
            whole: Rc::new(whole),
            every_case: Demand::of_everything(program),
        }
    }

    /// What these registers depend on.
    pub(super) fn of(&self, program: &Program, registers: &[Register]) -> Rc<Slice> {
        let mut slices = self.slices.borrow_mut();
        let number = slices.len() + 1;
        let slice = slices.entry(registers.to_vec()).or_insert_with(|| {
            let mut needed: BTreeSet<Register> = registers.iter().copied().collect();
            let mut wanted = vec![false; program.steps.len()];
            for (step, wanted) in program.steps.iter().zip(&mut wanted).rev() {
                if needed.contains(&step.to) {
                    *wanted = true;
                    operands(program, &step.op, &mut needed);
                }
            }
            let demand = Demand::of_registers(program, &registers.iter().copied().collect());
            Rc::new(Slice { number, wanted, demand })
        });
        Rc::clone(slice)
    }

    /// The memory for one box.
    pub(super) fn within<'s>(
        &'s self,
        slice: &'s Slice,
        sides: &'s Key,
        relaxed: &'s Registers<Bounds>,
        program: &'s Program,
    ) -> impl StepCache<Bounds> + 's {
        let recalled = Recalled { long: &self.long, remembered: &self.boxes, slice, sides };
        Refined { recalled, relaxed, program }
    }

    /// The memory for one box with its roundings relaxed.
    pub(super) fn relaxed<'s>(
        &'s self,
        slice: &'s Slice,
        sides: &'s Key,
    ) -> impl StepCache<Bounds> + 's {
        Recalled { long: &self.unrounded, remembered: &self.relaxed, slice, sides }
    }

    /// The memory for one corner.
    pub(super) fn at<'s>(&'s self, point: &'s Key) -> impl StepCache<Decimals> + 's {
        Recalled { long: &self.long, remembered: &self.corners, slice: &self.whole, sides: point }
    }
}

/// The registers that a rounding bears on.
fn rounded(program: &Program) -> BTreeSet<Register> {
    let mut rounded = BTreeSet::new();
    for step in &program.steps {
        let mut read = BTreeSet::new();
        operands(program, &step.op, &mut read);
        let block = step.op.calls().and_then(|block| program.block(block));
        let rounds = |step: &Step| matches!(step.op, Op::Round(..));
        if rounds(step)
            || block.is_some_and(|block| block.steps.iter().any(rounds))
            || read.iter().any(|register| rounded.contains(register))
        {
            rounded.insert(step.to);
        }
    }
    rounded
}

/// For each step with a search or a recurrence, the directions it depends on; `without` are left out.
fn long(
    program: &Program,
    uncertain: &[Uncertain],
    without: &BTreeSet<Register>,
) -> HashMap<usize, Vec<usize>> {
    let mut hangs: HashMap<Register, BTreeSet<usize>> = HashMap::new();
    let mut long = HashMap::new();
    for (at, step) in program.steps.iter().enumerate() {
        let mut on = BTreeSet::new();
        if let Op::Input(id) = &step.op {
            let input = usize::try_from(id.0).ok();
            let of_input = uncertain.iter().enumerate().filter(|(_, it)| Some(it.input) == input);
            on.extend(of_input.map(|(direction, _)| direction));
        }
        let mut read = BTreeSet::new();
        operands(program, &step.op, &mut read);
        on.extend(read.iter().filter_map(|register| hangs.get(register)).flatten());
        if step.op.calls().is_some() && !without.contains(&step.to) {
            long.insert(at, on.iter().copied().collect());
        }
        hangs.insert(step.to, on);
    }
    long
}

/// A memory of bounds whose values are narrowed by what relaxed bounds know of the same box.
struct Refined<'s> {
    recalled: Recalled<'s, Bounds>,
    relaxed: &'s Registers<Bounds>,
    program: &'s Program,
}

impl StepCache<Bounds> for Refined<'_> {
    fn wants(&self, step: usize) -> bool {
        self.recalled.wants(step)
    }

    fn known(&self, step: usize) -> Option<SlotOf<Bounds>> {
        self.recalled.known(step)
    }

    fn keep(&self, step: usize, value: &SlotOf<Bounds>) {
        self.recalled.keep(step, value);
    }

    fn refined(&self, step: usize, value: SlotOf<Bounds>) -> SlotOf<Bounds> {
        let place = self.program.steps.get(step).and_then(|it| it.to.place());
        match (value, place.and_then(|at| self.relaxed.get(at))) {
            (Slot::One(value), Some(Slot::One(other))) => Slot::One(value.met(other)),
            (Slot::Truth(truth), Some(Slot::Truth(other))) => Slot::Truth(truth.met(other)),
            (Slot::Many(values), Some(Slot::Many(others))) if values.len() == others.len() => {
                Slot::Many(values.into_iter().zip(others).map(|(x, y)| x.met(y)).collect())
            }
            (value, _) => value,
        }
    }
}

struct Recalled<'s, S: System> {
    long: &'s HashMap<usize, Vec<usize>>,
    remembered: &'s Remembered<S>,
    slice: &'s Slice,
    sides: &'s Key,
}

impl<S: System> Recalled<'_, S> {
    fn key(&self, step: usize) -> Option<(usize, Key)> {
        let directions = self.long.get(&step)?;
        let sides = directions.iter().filter_map(|direction| self.sides.get(*direction)).copied();
        Some((step, sides.collect()))
    }
}

impl<S: System> StepCache<S> for Recalled<'_, S> {
    fn wants(&self, step: usize) -> bool {
        self.slice.wanted.get(step).copied().unwrap_or(true)
    }

    fn known(&self, step: usize) -> Option<SlotOf<S>> {
        self.remembered.borrow().get(&self.key(step)?).cloned()
    }

    fn keep(&self, step: usize, value: &SlotOf<S>) {
        if let Some(key) = self.key(step) {
            self.remembered.borrow_mut().insert(key, value.clone());
        }
    }
}
