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
    /// What is asked for.
    pub(super) registers: Vec<Register>,
    wanted: Vec<bool>,
    /// The directions that it depends on.
    pub(super) depends: Vec<bool>,
    /// What is asked for where a case is decided.
    pub(super) demand: Demand,
    /// Of every case: roundings are told apart by how many came before.
    pub(super) every_case: Demand,
}

/// What steps came to.
struct Remembered<S: System> {
    /// Those that no direction bears on, by the step.
    fixed: RefCell<Vec<Option<SlotOf<S>>>>,
    /// Long ones, by the step and the sides that it depends on.
    long: RefCell<HashMap<(usize, Key), SlotOf<S>>>,
}

/// For each step the directions it depends on, where what it came to is remembered.
type Hangs = Vec<Option<Vec<usize>>>;

/// What is known of a program's steps.
pub(super) struct Slices {
    /// Of steps with a search or a recurrence, and of those that no direction bears on.
    long: Hangs,
    /// The directions that each register depends on.
    hangs: HashMap<Register, BTreeSet<usize>>,
    directions: usize,
    slices: RefCell<BTreeMap<Vec<Register>, Rc<Slice>>>,
    /// The same without those that a rounding bears on.
    unrounded: Hangs,
    /// How many steps round to a multiple.
    pub(super) roundings: usize,
    boxes: Remembered<Bounds>,
    relaxed: Remembered<Bounds>,
    points: Remembered<Decimals>,
    /// Everything.
    pub(super) whole: Rc<Slice>,
}

impl Slice {
    fn of(
        number: usize,
        registers: &[Register],
        wanted: Vec<bool>,
        depends: Vec<bool>,
        demand: Demand,
    ) -> Self {
        let every_case = Demand::of_steps(&wanted);
        Self { number, registers: registers.to_vec(), wanted, depends, demand, every_case }
    }
}

impl Slices {
    pub(super) fn new(program: &Program, uncertain: &[Uncertain]) -> Self {
        let steps = program.steps.len();
        let (wanted, depends) = (vec![true; steps], vec![true; uncertain.len()]);
        let whole = Slice::of(0, &[], wanted, depends, demand_of(program));
        let hangs = hangs(program, uncertain);
        Self {
            long: long(program, &hangs, &BTreeSet::new()),
            unrounded: long(program, &hangs, &rounded(program)),
            hangs,
            directions: uncertain.len(),
            roundings: program.steps.iter().filter(|it| matches!(it.op, Op::Round(..))).count(),
            slices: RefCell::default(),
            boxes: Remembered::of(steps),
            relaxed: Remembered::of(steps),
            points: Remembered::of(steps),
            whole: Rc::new(whole),
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
            let on = registers.iter().filter_map(|register| self.hangs.get(register)).flatten();
            let mut depends = vec![false; self.directions];
            for direction in on {
                if let Some(depends) = depends.get_mut(*direction) {
                    *depends = true;
                }
            }
            Rc::new(Slice::of(number, registers, wanted, depends, demand))
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

    /// The memory for one point.
    pub(super) fn at<'s>(
        &'s self,
        slice: &'s Slice,
        point: &'s Key,
    ) -> impl StepCache<Decimals> + 's {
        Recalled { long: &self.long, remembered: &self.points, slice, sides: point }
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

/// The directions that each register depends on.
fn hangs(program: &Program, uncertain: &[Uncertain]) -> HashMap<Register, BTreeSet<usize>> {
    let mut hangs: HashMap<Register, BTreeSet<usize>> = HashMap::new();
    for step in &program.steps {
        let mut on = BTreeSet::new();
        if let Op::Input(id) = &step.op {
            let input = usize::try_from(id.0).ok();
            let of_input = uncertain.iter().enumerate().filter(|(_, it)| Some(it.input) == input);
            on.extend(of_input.map(|(direction, _)| direction));
        }
        let mut read = BTreeSet::new();
        operands(program, &step.op, &mut read);
        on.extend(read.iter().filter_map(|register| hangs.get(register)).flatten());
        hangs.insert(step.to, on);
    }
    hangs
}

/// Of each step that no direction bears on, and of each with a search or a recurrence, the directions it depends on;
/// `without` are left out.
fn long(
    program: &Program,
    hangs: &HashMap<Register, BTreeSet<usize>>,
    without: &BTreeSet<Register>,
) -> Hangs {
    let of = |step: &Step| {
        let on: Vec<usize> = hangs.get(&step.to).into_iter().flatten().copied().collect();
        let is_long = step.op.calls().is_some() && !without.contains(&step.to);
        (is_long || on.is_empty()).then_some(on)
    };
    program.steps.iter().map(of).collect()
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
        match place.and_then(|at| self.relaxed.get(at)) {
            Some(other) => met(value, other),
            None => value,
        }
    }
}

/// What is known of a register in two ways.
pub(super) fn met(value: SlotOf<Bounds>, other: &SlotOf<Bounds>) -> SlotOf<Bounds> {
    match (value, other) {
        (Slot::One(value), Slot::One(other)) => Slot::One(value.met(other)),
        (Slot::Truth(truth), Slot::Truth(other)) => Slot::Truth(truth.met(other)),
        (Slot::Many(values), Slot::Many(others)) if values.len() == others.len() => {
            Slot::Many(values.into_iter().zip(others).map(|(x, y)| x.met(y)).collect())
        }
        (value, _) => value,
    }
}

struct Recalled<'s, S: System> {
    long: &'s Hangs,
    remembered: &'s Remembered<S>,
    slice: &'s Slice,
    sides: &'s Key,
}

impl<S: System> Remembered<S> {
    fn of(steps: usize) -> Self {
        Self { fixed: RefCell::new(vec![None; steps]), long: RefCell::default() }
    }
}

impl<S: System> Recalled<'_, S> {
    fn key(&self, step: usize, directions: &[usize]) -> (usize, Key) {
        let sides = directions.iter().filter_map(|direction| self.sides.get(*direction)).copied();
        (step, sides.collect())
    }
}

impl<S: System> StepCache<S> for Recalled<'_, S> {
    fn wants(&self, step: usize) -> bool {
        self.slice.wanted.get(step).copied().unwrap_or(true)
    }

    fn known(&self, step: usize) -> Option<SlotOf<S>> {
        match self.long.get(step)?.as_deref()? {
            [] => self.remembered.fixed.borrow().get(step)?.clone(),
            directions => self.remembered.long.borrow().get(&self.key(step, directions)).cloned(),
        }
    }

    fn keep(&self, step: usize, value: &SlotOf<S>) {
        match self.long.get(step).and_then(Option::as_deref) {
            Some([]) => {
                if let Some(slot) = self.remembered.fixed.borrow_mut().get_mut(step) {
                    *slot = Some(value.clone());
                }
            }
            Some(directions) => {
                let key = self.key(step, directions);
                self.remembered.long.borrow_mut().insert(key, value.clone());
            }
            None => {}
        }
    }
}
