//! A box of inputs, run on bounds, and its corners, run on exact decimals.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use super::slices::{Slice, Slices};
use super::uncertain::{At, Key, Sides, Uncertain};
use crate::calculation::{Inputs, Results};
use crate::diagnostic::Problems;
use crate::number::{
    Bound, Bounds, Exact, InputValue, Interval, NoCache, Registers, Slot, SlotOf, System,
    evaluate_some, run_exact_with,
};
use crate::program::{Binary, LineId, Program, Register};
use crate::unit::Literal;

/// By what is calculated of it, and its sides.
type Boxes = BTreeMap<(usize, Key), Rc<Registers<Bounds>>>;

/// The same with how far each direction goes from its centre.
type LooseBoxes = BTreeMap<(usize, Key), (Rc<Registers<Bounds>>, Vec<Interval>)>;

/// Roundings that are relaxed at most.
const ROUNDINGS: usize = 24;

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
    boxes: RefCell<Boxes>,
    relaxed: RefCell<LooseBoxes>,
    corners: RefCell<BTreeMap<Key, Rc<Results>>>,
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
        Self {
            program,
            inputs,
            loose: Bounds::relaxed(uncertain.len(), roundings),
            roundings,
            slices,
            uncertain,
            bounds,
            boxes: RefCell::default(),
            relaxed: RefCell::default(),
            corners: RefCell::default(),
        }
    }

    /// The nominal values have been calculated already.
    pub(super) fn knows(&self, nominal: &Results) {
        let key = key_of(&vec![At::Value; self.uncertain.len()]);
        self.corners.borrow_mut().insert(key, Rc::new(nominal.clone()));
    }

    /// The box of everything the inputs can be.
    pub(in crate::calculation) fn whole(&self) -> Sides {
        vec![(At::Low, At::High); self.uncertain.len()]
    }

    /// A box on bounds.
    pub(in crate::calculation) fn bound(&self, sides: &Sides) -> Rc<Registers<Bounds>> {
        self.bound_of(sides, &self.slices.whole, true)
    }

    /// A box on bounds, calculated as far as these registers depend on it; all others stay empty.
    /// `narrowed` by relaxed bounds of the same box, which takes as long again.
    pub(super) fn bound_for(
        &self,
        sides: &Sides,
        registers: &[Register],
        narrowed: bool,
    ) -> Rc<Registers<Bounds>> {
        self.bound_of(sides, &self.slices.of(self.program, registers), narrowed)
    }

    fn bound_of(&self, sides: &Sides, slice: &Slice, narrowed: bool) -> Rc<Registers<Bounds>> {
        let key = key_of_sides(sides);
        for number in [slice.number, self.slices.whole.number] {
            if let Some(known) = self.boxes.borrow().get(&(number, key.clone())) {
                return Rc::clone(known);
            }
        }
        let relaxed =
            if narrowed { self.relaxed_of(sides, sides, &[], slice) } else { Rc::default() };
        let given = self.given(sides, sides, &self.bounds);
        let memory = self.slices.within(slice, &key, &relaxed, self.program);
        let registers =
            Rc::new(evaluate_some(&self.bounds, self.program, &given, &slice.demand, &memory));
        drop(memory);
        self.boxes.borrow_mut().insert((slice.number, key), Rc::clone(&registers));
        registers
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
            let key = key_of_sides(&whole);
            self.boxes.borrow_mut().insert((slice.number, key), Rc::new(plain));
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
            if let Some((known, reach)) = self.relaxed.borrow().get(&(number, long.clone())) {
                self.loose.follow_again(reach);
                return Rc::clone(known);
            }
        }
        self.loose.begin(shares, sides != base);
        let given = self.given(base, sides, &self.loose);
        let memory = self.slices.relaxed(slice, &key);
        let registers = Rc::new({
            let demand = &self.slices.every_case;
            evaluate_some(&self.loose, self.program, &given, demand, &memory)
        });
        drop(memory);
        let kept = (Rc::clone(&registers), self.loose.followed());
        self.relaxed.borrow_mut().insert((slice.number, long), kept);
        registers
    }

    /// The inputs of a box narrowed to some sides.
    fn given(&self, base: &Sides, sides: &Sides, bounds: &Bounds) -> Vec<SlotOf<Bounds>> {
        let mut given: Vec<Slot<Bound, _>> = self
            .program
            .inputs
            .iter()
            .map(|input| {
                let exact = |literal: &Literal| {
                    Exact::from_literal(literal)
                        .map_or_else(|_| Bound::within(Interval::ALL), Bound::of)
                };
                match self.inputs.value(input) {
                    Some(InputValue::One(literal)) => Slot::One(exact(&literal)),
                    Some(InputValue::Many(all)) => Slot::Many(all.iter().map(exact).collect()),
                    Some(InputValue::Word(place)) => {
                        Slot::One(Bound::of(Exact::whole(i64::try_from(place).unwrap_or(i64::MAX))))
                    }
                    None => Slot::Empty,
                }
            })
            .collect();
        for (direction, (uncertain, ((from, to), base))) in
            self.uncertain.iter().zip(sides.iter().zip(base)).enumerate()
        {
            let (low, high) = (uncertain.exact(*from), uncertain.exact(*to));
            let value = match (low, high) {
                (Some(low), Some(_)) if base.0 == base.1 => Bound::of(low),
                (Some(low), Some(high)) => {
                    bounds.variable(Interval::of(&low).hull(Interval::of(&high)), direction)
                }
                _ => bounds.variable(Interval::ALL, direction),
            };
            match (given.get_mut(uncertain.input), uncertain.element) {
                (Some(Slot::Many(all)), Some(element)) => {
                    if let Some(slot) = all.get_mut(element) {
                        *slot = value;
                    }
                }
                (Some(slot), _) => *slot = Slot::One(value),
                (None, _) => {}
            }
        }
        given
    }

    /// One point of the box on exact decimals.
    ///
    /// # Errors
    /// What is wrong there: nothing can be said of a worst case that has no results.
    pub(super) fn corner(&self, point: &[At]) -> Result<Rc<Results>, Problems> {
        let key = key_of(point);
        if let Some(known) = self.corners.borrow().get(&key) {
            return Ok(Rc::clone(known));
        }
        let inputs = inputs_at(self.program, self.inputs, &self.uncertain, point);
        let run = |given: &[Option<InputValue>]| {
            run_exact_with(self.program, given, &self.slices.whole.demand, &self.slices.at(&key))
        };
        let results = Results::compute_by(self.program, &inputs, &run).map_err(|problems| {
            let corner = self.to_text(point, |_| true);
            problems
                .into_iter()
                .map(|mut problem| {
                    problem.headline =
                        format!("{}, within the tolerances, with {corner}", problem.headline);
                    problem
                })
                .collect::<Vec<_>>()
        })?;
        let results = Rc::new(results);
        self.corners.borrow_mut().insert(key, Rc::clone(&results));
        Ok(results)
    }

    /// A point of the box that differs from the one that is asked for in `free` directions alone, one that is known if
    /// there is one: a value that does not depend on these is the same there.
    ///
    /// # Errors
    /// As for a corner.
    pub(super) fn corner_but_for(
        &self,
        point: &[At],
        free: &[bool],
    ) -> Result<Rc<Results>, Problems> {
        let key = key_of(point);
        let is_like = |other: &Key| {
            let mut sides = key.iter().zip(other).zip(free);
            sides.all(|((one, two), free)| *free || one == two)
        };
        let known = self.corners.borrow().get(&key).cloned();
        let known = known.or_else(|| {
            let corners = self.corners.borrow();
            corners.iter().find(|(other, _)| is_like(other)).map(|(_, known)| Rc::clone(known))
        });
        known.map_or_else(|| self.corner(point), Ok)
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
