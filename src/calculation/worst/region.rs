//! A box of inputs, run on bounds, and its corners, run on exact decimals.

use std::cell::RefCell;
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;
use std::sync::Arc;

use super::slices::{Slice, Slices, met};
use super::uncertain::{At, Key, Sides, Uncertain};
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Name, Problems};
use crate::number::{
    Bound, Bounds, Checked, Decimals, Demand, Exact, ExactRun, Fault, InputValue, Interval,
    NoCache, Registers, Slot, SlotOf, System, evaluate_some, evaluate_these, inputs_of,
    run_exact_on,
};
use crate::program::{Binary, LineId, Op, Program, Register};

/// Runs by what is calculated of them, and by their sides.
type Kept<R> = RefCell<HashMap<usize, BTreeMap<Key, R>>>;

/// The registers that were asked for, each with what it holds.
pub(super) struct Found<S: System> {
    slice: Rc<Slice>,
    slots: Registers<S>,
}

impl<S: System> Found<S> {
    /// What a register holds; none where it was not asked for.
    pub(super) fn get(&self, register: Register) -> Option<&SlotOf<S>> {
        let at = self.slice.registers.iter().position(|it| *it == register)?;
        self.slots.get(at)
    }
}

/// A box on relaxed bounds, with how far each direction goes from its centre.
type LooseBox = (Rc<Registers<Bounds>>, Vec<Interval>);

/// Roundings that are relaxed at most.
const ROUNDINGS: usize = 24;

/// Comparisons that are taken both ways at most, one within the other.
const OPEN: usize = 4;

/// Runs of boxes and corners, each kept.
pub(in crate::calculation) struct Region<'a> {
    pub(super) program: &'a Arc<Program>,
    inputs: &'a Inputs,
    pub(super) uncertain: Vec<Uncertain>,
    pub(in crate::calculation) bounds: Bounds,
    /// The same with roundings relaxed.
    pub(super) loose: Bounds,
    /// How many roundings are relaxed.
    pub(super) roundings: usize,
    slices: Slices,
    /// The nominal inputs on exact decimals and on bounds.
    nominal: Vec<SlotOf<Decimals>>,
    bounded: Vec<SlotOf<Bounds>>,
    /// Lower end, nominal value and upper end of each uncertain input.
    ends: Vec<[Option<Exact>; 3]>,
    /// Boxes of which everything is known.
    whole_boxes: RefCell<BTreeMap<Key, Rc<Registers<Bounds>>>>,
    boxes: Kept<Rc<Found<Bounds>>>,
    relaxed: Kept<LooseBox>,
    points: Kept<Rc<Found<Decimals>>>,
    /// Room for runs.
    spare: (RefCell<Registers<Bounds>>, RefCell<Registers<Decimals>>),
    corners: RefCell<BTreeMap<Key, Rc<ExactRun>>>,
    /// Whether an uncertain input is a count, of which not every number is a value.
    counts: bool,
    /// Whether elements of a series are chosen: several values then depend on one open comparison.
    chooses: bool,
}

impl<'a> Region<'a> {
    pub(in crate::calculation) fn new(program: &'a Arc<Program>, inputs: &'a Inputs) -> Self {
        let mut uncertain = Vec::new();
        for (at, input) in program.inputs.iter().enumerate() {
            let (Some(spread), Some(given)) = (inputs.spread(input), inputs.value(input)) else {
                continue;
            };
            let (values, series) = match given {
                InputValue::One(value) => (vec![value], false),
                InputValue::Many(values) => (values, true),
                InputValue::Word(_) => continue,
            };
            for (element, (value, (low, high))) in values.into_iter().zip(&spread.ends).enumerate()
            {
                let point = Exact::from_literal(low).ok().zip(Exact::from_literal(high).ok());
                if point.is_some_and(|(low, high)| low.stands_to(&high).is_eq()) {
                    continue;
                }
                uncertain.push(Uncertain {
                    input: at,
                    element: series.then_some(element),
                    value,
                    low: low.clone(),
                    high: high.clone(),
                });
            }
        }
        let bounds = Bounds::new(uncertain.len());
        let slices = Slices::new(program, &uncertain);
        let roundings = slices.roundings.min(ROUNDINGS);
        let given: Vec<_> = program.inputs.iter().map(|input| inputs.value(input)).collect();
        let nominal = inputs_of(program, &given);
        let bound = |value: &Checked| match value {
            Ok(value) => Bound::of(*value),
            Err(_) => Bound::within(Interval::ALL),
        };
        let bounded = nominal.iter().map(|slot| match slot {
            Slot::One(value) => Slot::One(bound(value)),
            Slot::Many(values) => Slot::Many(values.iter().map(bound).collect()),
            Slot::Truth(_) | Slot::Empty => Slot::Empty,
        });
        let ends = uncertain.iter().map(|it| [At::Low, At::Value, At::High].map(|at| it.exact(at)));
        let of = |it: &Uncertain| program.inputs.get(it.input).and_then(|input| input.kind);
        let counts = uncertain.iter().any(|it| of(it).is_some_and(|kind| kind.name == "count"));
        Self {
            counts,
            chooses: chooses(program),
            bounded: bounded.collect(),
            nominal,
            ends: ends.collect(),
            program,
            inputs,
            loose: Bounds::relaxed(uncertain.len(), roundings),
            roundings,
            slices,
            uncertain,
            bounds,
            whole_boxes: RefCell::default(),
            spare: Default::default(),
            boxes: RefCell::default(),
            relaxed: RefCell::default(),
            points: RefCell::default(),
            corners: RefCell::default(),
        }
    }

    /// Where an uncertain input stands, exact.
    pub(super) fn exact(&self, direction: usize, at: At) -> Option<Exact> {
        let [low, value, high] = self.ends.get(direction)?;
        match at {
            At::Low => *low,
            At::Value => *value,
            At::High => *high,
            At::Inside(x) => Exact::from_f64(x).ok(),
        }
    }

    /// The nominal values have been calculated already.
    pub(super) fn knows(&self, nominal: &Results) {
        let key = key_of(&vec![At::Value; self.uncertain.len()]);
        self.corners.borrow_mut().insert(key, Rc::new(nominal.run().clone()));
    }

    /// The box of everything the inputs can be.
    pub(in crate::calculation) fn whole(&self) -> Sides {
        vec![(At::Low, At::High); self.uncertain.len()]
    }

    /// A box on bounds.
    pub(in crate::calculation) fn bound(&self, sides: &Sides) -> Rc<Registers<Bounds>> {
        let key = key_of_sides(sides);
        if let Some(known) = self.whole_boxes.borrow().get(&key) {
            return Rc::clone(known);
        }
        let slice = &self.slices.whole;
        let relaxed = self.relaxed_of(sides, sides, &[], slice);
        let given = self.given(sides, sides, &self.bounds);
        let memory = self.slices.within(slice, &key, &relaxed, self.program);
        let demand = &slice.demand;
        let registers = evaluate_some(&self.bounds, self.program, &given, demand, &memory);
        drop(memory);
        let registers = Rc::new(self.either_way(registers, &given, demand, |it| it));
        self.whole_boxes.borrow_mut().insert(key, Rc::clone(&registers));
        registers
    }

    /// A box on bounds, calculated as far as these registers depend on it.
    /// `narrowed` by relaxed bounds of the same box, which takes as long again.
    pub(super) fn bound_for(
        &self,
        sides: &Sides,
        registers: &[Register],
        narrowed: bool,
    ) -> Rc<Found<Bounds>> {
        let slice = self.slices.of(self.program, registers);
        let key = key_of_sides(sides);
        if let Some(known) = known(&self.boxes, slice.number, &key) {
            return known;
        }
        let slots = match self.whole_boxes.borrow().get(&key) {
            Some(all) => {
                let of = |register: &Register| all.get(register.place()?).cloned();
                registers.iter().map(|register| of(register).unwrap_or(Slot::Empty)).collect()
            }
            None => {
                let relaxed = match narrowed {
                    true => self.relaxed_of(sides, sides, &[], &slice),
                    false => Rc::default(),
                };
                let given = self.given(sides, sides, &self.bounds);
                let memory = self.slices.within(&slice, &key, &relaxed, self.program);
                let (asked, spare) = ((&slice.demand, registers), &self.spare.0);
                let spare = &mut spare.borrow_mut();
                let again = given.clone();
                let found =
                    evaluate_these(&self.bounds, self.program, given, asked, &memory, spare);
                drop(memory);
                self.either_way(found, &again, &slice.demand, |all| {
                    let of = |register: &Register| all.get(register.place()?).cloned();
                    registers.iter().map(|it| of(it).unwrap_or(Slot::Empty)).collect()
                })
            }
        };
        let found = Rc::new(Found { slice: Rc::clone(&slice), slots });
        keep(&self.boxes, slice.number, key, Rc::clone(&found));
        found
    }

    /// What was found of a box, narrowed by taking comparisons that are open in it one way and the other: what several
    /// values have from one of them then goes together.
    fn either_way(
        &self,
        found: Registers<Bounds>,
        given: &[SlotOf<Bounds>],
        demand: &Demand,
        of: impl Fn(Registers<Bounds>) -> Registers<Bounds>,
    ) -> Registers<Bounds> {
        if !self.chooses || self.uncertain.is_empty() {
            return found;
        }
        let run = || of(evaluate_some(&self.bounds, self.program, given, demand, &NoCache));
        match self.taken_both_ways(&run, &mut Vec::new()) {
            None => found,
            Some((narrow, _)) => found.into_iter().zip(&narrow).map(|(x, y)| met(x, y)).collect(),
        }
    }

    /// The box under these answers, and its parts under the next; none where no comparison is open.
    fn taken_both_ways(
        &self,
        run: &dyn Fn() -> Registers<Bounds>,
        taken: &mut Vec<bool>,
    ) -> Option<(Registers<Bounds>, u128)> {
        let (found, met, depends) = self.bounds.assuming(&*taken, run);
        if met <= taken.len() || taken.len() >= OPEN {
            return (!taken.is_empty()).then_some((found, depends));
        }
        let mut way = |holds| {
            taken.push(holds);
            let found = self.taken_both_ways(run, taken);
            taken.pop();
            found
        };
        let ((x, a), (y, b)) = (way(true)?, way(false)?);
        let depends = a | b | depends;
        let joined = x.into_iter().zip(y).map(|(x, y)| match (x, y) {
            (Slot::One(x), Slot::One(y)) => Slot::One(self.bounds.joined(&x, &y, depends)),
            (Slot::Truth(x), Slot::Truth(y)) => Slot::Truth(x.joined(&y, depends)),
            (Slot::Many(x), Slot::Many(y)) if x.len() == y.len() => {
                let both = x.iter().zip(&y);
                Slot::Many(both.map(|(x, y)| self.bounds.joined(x, y, depends)).collect())
            }
            // what one of the two does not ask for says nothing
            _ => Slot::Empty,
        });
        Some((joined.collect(), depends))
    }

    /// Looks whether corners say everything of the whole box, which then needs no narrowing: where no value is rounded
    /// to a step, every slope keeps its sign and every truth is decided.
    pub(super) fn settle(&self) {
        if self.slices.roundings > 0 {
            return;
        }
        let (whole, slice) = (self.whole(), &self.slices.whole);
        let given = self.given(&whole, &whole, &self.bounds);
        let demand = &slice.demand;
        let plain = evaluate_some(&self.bounds, self.program, &given, demand, &NoCache);
        if self.is_settled(&plain) {
            self.whole_boxes.borrow_mut().insert(key_of_sides(&whole), Rc::new(plain));
        }
    }

    /// Whether every value and every margin of a check lies at a corner of the box, and every truth is decided.
    fn is_settled(&self, registers: &Registers<Bounds>) -> bool {
        let has_sign = |value: &Bound| {
            let directions = 0..self.uncertain.len();
            let signs = directions.map(|direction| value.slope(direction));
            value.may.is_none()
                && (value.exact.is_some()
                    || signs.into_iter().all(|slope| slope.low >= 0.0 || slope.high <= 0.0))
        };
        let decided = registers.iter().all(|slot| match slot {
            Slot::Empty => true,
            Slot::One(value) => has_sign(value),
            Slot::Many(values) => values.iter().all(has_sign),
            Slot::Truth(truth) => truth.may.is_none() && truth.holds != truth.fails,
        });
        let one = |register: Register| match registers.get(register.place()?)? {
            Slot::One(value) => Some(value),
            _ => None,
        };
        decided
            && self.program.checks.iter().filter_map(|check| check.sides).all(|(_, x, y)| {
                let sides = one(x).zip(one(y));
                let line = LineId(0);
                sides.is_some_and(|(x, y)| {
                    has_sign(&self.bounds.binary(Binary::Subtract, y, x, line))
                })
            })
    }

    /// A box on relaxed bounds, narrowed to `sides` and as far as these registers depend on it; `shares` say how far each
    /// rounding goes.
    pub(super) fn relaxed_for(
        &self,
        base: &Sides,
        sides: &Sides,
        shares: &[Interval],
        registers: &[Register],
    ) -> Rc<Registers<Bounds>> {
        self.relaxed_of(base, sides, shares, &self.slices.of(self.program, registers))
    }

    fn relaxed_of(
        &self,
        base: &Sides,
        sides: &Sides,
        shares: &[Interval],
        slice: &Slice,
    ) -> Rc<Registers<Bounds>> {
        // a side that is narrowed to an end is not the same as one that is given there: it stays followed
        let key: Key = sides
            .iter()
            .zip(base)
            .map(|((from, to), base)| {
                let pinned = from == to && base.0 != base.1;
                [from.key(), if pinned { !to.key() } else { to.key() }]
            })
            .collect();
        let mut long = key.clone();
        long.extend(shares.iter().map(|share| [share.low.to_bits(), share.high.to_bits()]));
        for number in [slice.number, self.slices.whole.number] {
            if let Some((known, reach)) = known(&self.relaxed, number, &long) {
                self.loose.follow_again(&reach);
                return known;
            }
        }
        self.loose.begin(shares, sides != base);
        let given = self.given(base, sides, &self.loose);
        let memory = self.slices.relaxed(slice, &key);
        let registers = Rc::new({
            let demand = &slice.every_case;
            evaluate_some(&self.loose, self.program, &given, demand, &memory)
        });
        drop(memory);
        let kept = (Rc::clone(&registers), self.loose.followed());
        keep(&self.relaxed, slice.number, long, kept);
        registers
    }

    /// The inputs of a box narrowed to some sides.
    fn given(&self, base: &Sides, sides: &Sides, bounds: &Bounds) -> Vec<SlotOf<Bounds>> {
        let mut given = self.bounded.clone();
        for (direction, (uncertain, ((from, to), base))) in
            self.uncertain.iter().zip(sides.iter().zip(base)).enumerate()
        {
            let (low, high) = (self.exact(direction, *from), self.exact(direction, *to));
            let value = match (low, high) {
                (Some(low), Some(_)) if base.0 == base.1 => Bound::of(low),
                (Some(low), Some(high)) => {
                    bounds.variable(Interval::of(&low).hull(Interval::of(&high)), direction)
                }
                _ => bounds.variable(Interval::ALL, direction),
            };
            uncertain.put(&mut given, value);
        }
        given
    }

    /// The inputs at one point of the box.
    fn inputs_on(&self, point: &[At]) -> Vec<SlotOf<Decimals>> {
        let mut given = self.nominal.clone();
        for (direction, (uncertain, at)) in self.uncertain.iter().zip(point).enumerate() {
            if let Some(value) = self.exact(direction, *at) {
                uncertain.put(&mut given, Ok(value));
            }
        }
        given
    }

    /// One point of the box on exact decimals, all of it.
    ///
    /// # Errors
    /// What is wrong there: nothing can be said of a worst case that has no results.
    pub(super) fn corner(&self, point: &[At]) -> Result<Rc<ExactRun>, Problems> {
        let key = key_of(point);
        if let Some(known) = self.corners.borrow().get(&key) {
            return Ok(Rc::clone(known));
        }
        let demand = &self.slices.whole.demand;
        let memory = self.slices.at(&self.slices.whole, &key);
        let run = run_exact_on(self.program, self.inputs_on(point), demand, &memory);
        drop(memory);
        if !run.is_sound() || self.counts {
            let inputs = inputs_at(self.program, self.inputs, &self.uncertain, point);
            Results::compute(self.program, &inputs).map_err(|problems| {
                let corner = self.to_text(point, |_| true);
                let problems = problems.into_iter().map(|mut problem| {
                    problem.headline =
                        format!("{}, within the tolerances, with {corner}", problem.headline);
                    problem
                });
                problems.collect::<Vec<_>>()
            })?;
        }
        let run = Rc::new(run);
        self.corners.borrow_mut().insert(key, Rc::clone(&run));
        Ok(run)
    }

    /// One point of the box on exact decimals, calculated as far as these registers depend on it; all others stay
    /// empty. A point that differs in `free` directions alone is as good: the registers do not depend on these.
    ///
    /// # Errors
    /// As for a corner, where one of these registers has no value there.
    pub(super) fn point(
        &self,
        point: &[At],
        registers: &[Register],
        free: &[bool],
    ) -> Result<Rc<Found<Decimals>>, Problems> {
        let slice = self.slices.of(self.program, registers);
        let mut key = key_of(point);
        for (at, depends) in key.iter_mut().zip(&slice.depends) {
            if !depends {
                *at = [At::Value.key(); 2];
            }
        }
        if let Some(known) = self.points.borrow().get(&slice.number).and_then(|known| {
            let is_like = |other: &Key| {
                let mut sides = key.iter().zip(other).zip(free);
                sides.all(|((one, two), free)| *free || one == two)
            };
            let near = || known.iter().find(|(other, _)| is_like(other)).map(|(_, known)| known);
            known.get(&key).or_else(|| free.contains(&true).then(near).flatten())
        }) {
            return Ok(Rc::clone(known));
        }
        let memory = self.slices.at(&slice, &key);
        let (inputs, asked) = (self.inputs_on(point), (&slice.demand, registers));
        let spare = &mut self.spare.1.borrow_mut();
        let slots = evaluate_these(&Decimals, self.program, inputs, asked, &memory, spare);
        drop(memory);
        let is_fault = |fault: Option<&Arc<Fault>>| fault.is_some_and(|it| it.name != Name::Never);
        let wrong = slots.iter().any(|slot| match slot {
            Slot::One(value) => is_fault(value.as_ref().err()),
            Slot::Many(values) => values.iter().any(|value| is_fault(value.as_ref().err())),
            Slot::Truth(truth) => is_fault(truth.as_ref().err()),
            Slot::Empty => false,
        });
        if wrong || self.counts {
            self.corner(point)?;
        }
        let found = Rc::new(Found { slice: Rc::clone(&slice), slots });
        keep(&self.points, slice.number, key, Rc::clone(&found));
        Ok(found)
    }

    /// Where the inputs stand that are asked for: `T_0 = 1.44 N·m, t_sensor = 16 ms`.
    pub(super) fn to_text(&self, point: &[At], asked: impl Fn(usize) -> bool) -> String {
        let words: Vec<String> = self
            .uncertain
            .iter()
            .zip(point)
            .enumerate()
            .filter(|(direction, _)| asked(*direction))
            .filter_map(|(_, (uncertain, at))| uncertain.to_text(self.program, *at))
            .collect();
        words.join(", ")
    }
}

/// Whether a condition is asked of each element of a series.
fn chooses(program: &Program) -> bool {
    program.steps.iter().any(|step| match step.op {
        Op::Running { block, .. } => program
            .block(block)
            .is_some_and(|block| block.steps.iter().any(|step| matches!(step.op, Op::Compare(..)))),
        _ => false,
    })
}

fn known<R: Clone>(kept: &Kept<R>, number: usize, key: &Key) -> Option<R> {
    kept.borrow().get(&number)?.get(key).cloned()
}

fn keep<R>(kept: &Kept<R>, number: usize, key: Key, run: R) {
    kept.borrow_mut().entry(number).or_default().insert(key, run);
}

fn key_of_sides(sides: &Sides) -> Key {
    sides.iter().map(|(from, to)| [from.key(), to.key()]).collect()
}

fn key_of(point: &[At]) -> Key {
    point.iter().map(|at| [at.key(); 2]).collect()
}

/// The inputs at one point of a box.
pub(super) fn inputs_at(
    program: &Program,
    inputs: &Inputs,
    uncertain: &[Uncertain],
    point: &[At],
) -> Inputs {
    let mut inputs = inputs.clone();
    let mut given: BTreeMap<usize, InputValue> = BTreeMap::new();
    for (uncertain, at) in uncertain.iter().zip(point) {
        let Some(input) = program.inputs.get(uncertain.input) else { continue };
        let Some(literal) = uncertain.literal(*at, &input.type_) else { continue };
        let value = given
            .entry(uncertain.input)
            .or_insert_with(|| inputs.value(input).unwrap_or(InputValue::Word(0)));
        match (value, uncertain.element) {
            (InputValue::Many(all), Some(element)) => {
                if let Some(slot) = all.get_mut(element) {
                    *slot = literal;
                }
            }
            (value, _) => *value = InputValue::One(literal),
        }
    }
    for (at, value) in given {
        let Some(input) = program.inputs.get(at) else { continue };
        let place = inputs.place(input);
        inputs.store(&input.name, value, Some(place));
    }
    inputs
}
