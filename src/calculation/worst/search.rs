//! Where a value is largest or smallest: corners where slopes prove it, else boxes cut in halves.

use super::region::{Found, Region};
use super::uncertain::{At, Sides};
use crate::diagnostic::Problems;
use crate::number::{Bound, Bounds, Decimals, Exact, Interval, Possible, Slot, SlotOf, System};
use crate::program::{Binary, LineId, Register};

/// Boxes that one question may take beyond the first.
const BOXES: usize = 48;
/// Boxes after which a question is left that is answered closely enough, or gets no closer.
const FEW: usize = 8;
/// Part of the way from the nominal value to an end that is close enough.
const CLOSE: f64 = 5e-3;
/// Part of what was left to be found that must be gone after some boxes more.
const STUCK: f64 = 0.8;
/// Boxes of one question that relaxed bounds narrow: beyond, halving alone does as much for its time.
const NARROWED: usize = 4;
/// Rounds over all inputs of a search for a corner that goes further.
const CLIMBS: usize = 2;
/// How often a box is narrowed to the ends that relaxed slopes point to.
const NARROWINGS: usize = 4;

/// What is asked for its extremes.
#[derive(Clone, Copy, Debug)]
pub(super) enum Aim {
    /// A value, or an element of a series.
    Value(Register, Option<usize>),
    /// How far the second value (or an element of it) lies above the first.
    Above(Register, (Register, Option<usize>)),
    /// How far the second value lies below the first.
    Below(Register, (Register, Option<usize>)),
}

/// Which extreme.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Towards {
    /// The smallest.
    Least,
    /// The largest.
    Most,
}

/// An extreme: what is reached at a point, and what it can never go beyond.
#[derive(Clone, Debug)]
pub(super) struct Extremum {
    /// Value at the point, exact.
    pub(super) reached: Exact,
    /// The point.
    pub(super) point: Vec<At>,
    /// The directions that the value depends on.
    pub(super) hangs: Vec<usize>,
    /// What it never goes beyond, where that is not proved to be `reached` itself; in coherent SI.
    pub(super) limit: Option<f64>,
}

impl Extremum {
    /// Takes a value that goes further; whether there is one at all.
    fn take(&mut self, aim: Aim, towards: Towards, found: &Found<Decimals>, point: &[At]) -> bool {
        let Some(value) = aim.exact(found) else { return false };
        let order = value.stands_to(&self.reached);
        let further = if towards == Towards::Most { order.is_gt() } else { order.is_lt() };
        if further {
            self.reached = value;
            self.point = point.to_vec();
        }
        true
    }
}

/// The step that every value in question is a multiple of, where there is one: between two of them is nothing.
#[derive(Clone, Copy, Debug)]
struct Steps(Option<f64>);

impl Steps {
    /// Whether a value may lie beyond one that is reached, up to `far`.
    fn is_beyond(self, far: f64, reached: f64) -> bool {
        far > reached + self.shown_step(far).map_or(0.0, |step| step / 2.0)
    }

    /// The last value up to `far`.
    fn last(self, far: f64) -> f64 {
        let last = |step: f64| ((far / step + 1e-6).floor() * step).next_up();
        self.shown_step(far).map_or(far, last)
    }

    /// The step, where a double is off by less than a millionth of it.
    fn shown_step(self, far: f64) -> Option<f64> {
        self.0.filter(|step| (far / step).abs() < 1e9)
    }
}

impl Aim {
    /// Whether the sign of a margin is known, of which the least is sought: it never gets below `-far`, and gets as low
    /// as `-reached`.
    fn is_decided(self, far: f64, reached: f64) -> bool {
        !matches!(self, Self::Value(..)) && (far < 0.0 || reached > 0.0)
    }

    fn registers(self) -> Vec<Register> {
        match self {
            Self::Value(register, _) => vec![register],
            Self::Above(x, (y, _)) | Self::Below(x, (y, _)) => vec![x, y],
        }
    }

    fn bound<'r>(
        self,
        bounds: &Bounds,
        slot: impl Fn(Register) -> Option<&'r SlotOf<Bounds>>,
    ) -> Option<Bound> {
        match self {
            Self::Value(register, element) => pick(slot(register)?, element).cloned(),
            Self::Above(x, (y, element)) | Self::Below(x, (y, element)) => {
                let (x, y) = (pick(slot(x)?, None)?, pick(slot(y)?, element)?);
                let (x, y) = if matches!(self, Self::Above(..)) { (x, y) } else { (y, x) };
                Some(bounds.binary(Binary::Subtract, y, x, LineId(0)))
            }
        }
    }

    fn exact(self, found: &Found<Decimals>) -> Option<Exact> {
        let one = |register, element| pick(found.get(register)?, element)?.clone().ok();
        match self {
            Self::Value(register, element) => one(register, element),
            Self::Above(x, (y, element)) => one(y, element)?.minus(&one(x, None)?).ok(),
            Self::Below(x, (y, element)) => one(x, None)?.minus(&one(y, element)?).ok(),
        }
    }
}

fn pick<V, T>(slot: &Slot<V, T>, element: Option<usize>) -> Option<&V> {
    match (slot, element) {
        (Slot::One(value), _) => Some(value),
        (Slot::Many(values), Some(element)) => values.get(element),
        _ => None,
    }
}

impl Region<'_> {
    /// The extreme of an aim; none where it has no value.
    pub(super) fn extreme(&self, aim: Aim, towards: Towards) -> Result<Option<Extremum>, Problems> {
        let nominal = vec![At::Value; self.uncertain.len()];
        let (asked, none) = (aim.registers(), vec![false; nominal.len()]);
        let at = |point: &[At]| self.point(point, &asked, &none);
        let Some(value) = aim.exact(&*at(&nominal)?) else { return Ok(None) };
        let mut best = Extremum { reached: value, point: nominal, hangs: Vec::new(), limit: None };
        // how far a box can go, upwards for either extreme
        let reach = |bound: &Bound| match (bound.range, towards) {
            (None, _) => f64::NEG_INFINITY,
            (Some(range), Towards::Most) => range.high,
            (Some(range), Towards::Least) => -range.low,
        };
        let mut open: Vec<(f64, Sides)> = vec![(f64::INFINITY, self.whole())];
        let mut taken = 0;
        let (nominal_value, mut before) = (best.reached, f64::INFINITY);
        let mut steps = Steps(None);
        while let Some((far, sides)) = take_farthest(&mut open) {
            let already = Interval::of(&best.reached);
            let reached = if towards == Towards::Most { already.low } else { -already.high };
            if !steps.is_beyond(far, reached) {
                break;
            }
            let left = far - reached;
            let moved = (best.reached.to_f64() - nominal_value.to_f64()).abs();
            // close enough, or no closer than some boxes before, or decided: more of them say no more
            let decided = aim.is_decided(far, reached);
            // along one input halving closes in on an end, from some point on quickly
            let stuck = best.hangs.len() > 1 && taken % FEW == 0 && left >= STUCK * before;
            if taken >= FEW && (left <= CLOSE * moved || decided || stuck) || taken >= BOXES {
                open.push((far, sides));
                break;
            }
            if taken == 1 || taken % FEW == 0 {
                before = left;
            }
            taken += 1;
            let registers = self.bound_for(&sides, &asked, taken <= NARROWED);
            let Some(bound) = aim.bound(&self.bounds, |it| registers.get(it)) else {
                return Ok(None);
            };
            if taken == 1 {
                steps = Steps(bound.step().map(|step| step.to_f64()));
            }
            let mut far = reach(&bound).min(far);
            if far == f64::NEG_INFINITY {
                continue;
            }
            let slope = |direction: usize| {
                let slope = bound.slope(direction);
                if towards == Towards::Most { slope } else { slope.negated() }
            };
            let mut narrowed = sides.clone();
            for (direction, side) in narrowed.iter_mut().enumerate() {
                if side.0 == side.1 {
                    continue;
                }
                let slope = slope(direction);
                if slope == Interval::ZERO {
                    let inside = *side == (At::Low, At::High);
                    *side = if inside { (At::Value, At::Value) } else { (side.0, side.0) };
                } else {
                    if !best.hangs.contains(&direction) {
                        best.hangs.push(direction);
                    }
                    if slope.low >= 0.0 {
                        *side = (side.1, side.1);
                    } else if slope.high <= 0.0 {
                        *side = (side.0, side.0);
                    }
                }
            }
            // the corner that the slopes point to, proved or not
            let point: Vec<At> = narrowed
                .iter()
                .enumerate()
                .map(
                    |(direction, (from, to))| {
                        if slope(direction).middle() >= 0.0 { *to } else { *from }
                    },
                )
                .collect();
            // what the value does not depend on anywhere in the box may stand where it is known already
            let free: Vec<bool> = sides
                .iter()
                .enumerate()
                .map(|(direction, side)| {
                    *side == (At::Low, At::High)
                        && bound.may.is_none()
                        && slope(direction) == Interval::ZERO
                })
                .collect();
            let found = self.point(&point, &asked, &free)?;
            let exists = best.take(aim, towards, &found, &point);
            // slopes lead away from where a value never exists, and nowhere else: what lies before it counts
            let is_sound = exists && narrowed.iter().all(|(from, to)| from == to);
            if is_sound {
                continue;
            }
            if bound.may.is_some() {
                narrowed.clone_from(&sides);
            }
            if taken <= NARROWED {
                let (loose, pointed) = self.loosely(aim, towards, &sides);
                far = far.min(loose);
                if let Some(point) = pointed {
                    best.take(aim, towards, &*at(&point)?, &point);
                }
            }
            if narrowed != sides {
                open.push((far, narrowed));
                continue;
            }
            let Some(halves) = self.halves(&sides, &slope) else {
                open.push((far, sides));
                break;
            };
            open.extend(halves.into_iter().map(|half| (far, half)));
        }
        if !open.is_empty() {
            self.climb(&mut best, aim, towards)?;
        }
        let already = Interval::of(&best.reached);
        let far = open.iter().map(|(far, _)| *far).fold(f64::NEG_INFINITY, f64::max);
        let reached = if towards == Towards::Most { already.high } else { -already.low };
        best.limit = steps.is_beyond(far, reached).then(|| {
            let far = steps.last(far);
            if towards == Towards::Most { far } else { -far }
        });
        Ok(Some(best))
    }

    /// Goes on from the best point that is known, an input at a time to one of its ends, as long as that goes further:
    /// a plain corner that goes further must not stay unseen because nothing is proved.
    fn climb(&self, best: &mut Extremum, aim: Aim, towards: Towards) -> Result<(), Problems> {
        for _ in 0..CLIMBS {
            let before = best.reached;
            for direction in best.hangs.clone() {
                for end in [At::Low, At::High] {
                    let mut point = best.point.clone();
                    let Some(at) = point.get_mut(direction).filter(|at| **at != end) else {
                        continue;
                    };
                    *at = end;
                    let found = self.point(&point, &aim.registers(), &[])?;
                    best.take(aim, towards, &found, &point);
                }
            }
            if before.stands_to(&best.reached).is_eq() {
                break;
            }
        }
        Ok(())
    }

    /// How far an aim can go in a box when its roundings are relaxed, upwards for either extreme, and the corner that
    /// its slopes point to.
    fn loosely(&self, aim: Aim, towards: Towards, sides: &Sides) -> (f64, Option<Vec<At>>) {
        let whole = Interval { low: 0.0, high: 1.0 };
        let inputs = sides.len();
        let (base, mut sides, mut shares) = (sides, sides.clone(), Vec::new());
        let mut far = f64::INFINITY;
        let mut pointed = None;
        for _ in 0..NARROWINGS {
            let registers = self.relaxed_for(base, &sides, &shares, &aim.registers());
            let slot = |it: Register| registers.get(it.place()?);
            let Some(bound) = aim.bound(&self.loose, slot) else { break };
            let Some(range) = bound.range else { break };
            far = far.min(if towards == Towards::Most { range.high } else { -range.low });
            let slope = |direction: usize| {
                let slope = bound.slope(direction);
                if towards == Towards::Most { slope } else { slope.negated() }
            };
            if pointed.is_none() {
                let to_corner = sides.iter().enumerate().map(|(direction, (from, to))| {
                    if slope(direction).middle() >= 0.0 { *to } else { *from }
                });
                pointed = Some(to_corner.collect());
            }
            if bound.may.is_some() {
                break;
            }
            let mut changed = false;
            for (direction, side) in sides.iter_mut().enumerate().filter(|(_, it)| it.0 != it.1) {
                let slope = slope(direction);
                if slope.low >= 0.0 {
                    (side.0, changed) = (side.1, true);
                } else if slope.high <= 0.0 {
                    (side.1, changed) = (side.0, true);
                }
            }
            for at in 0..self.roundings {
                let slope = slope(inputs + at);
                if shares.get(at).copied().unwrap_or(whole) != whole || slope == Interval::ZERO {
                    continue;
                }
                let end = match (slope.low >= 0.0, slope.high <= 0.0) {
                    (true, _) => Interval::ONE,
                    (_, true) => Interval::ZERO,
                    _ => continue,
                };
                if shares.len() <= at {
                    shares.resize(at + 1, whole);
                }
                if let Some(share) = shares.get_mut(at) {
                    (*share, changed) = (end, true);
                }
            }
            if !changed {
                break;
            }
        }
        (far, pointed)
    }

    /// Whether a truth that depends on a register holds everywhere, and a point found where it does not.
    pub(super) fn always(
        &self,
        register: Register,
        truth: impl Fn(&SlotOf<Bounds>) -> Option<Possible>,
        fails: impl Fn(&SlotOf<Decimals>) -> bool,
    ) -> Result<(bool, Option<Vec<At>>), Problems> {
        let mut open = vec![self.whole()];
        let mut taken = 0;
        while let Some(sides) = open.pop() {
            let found = self.bound_for(&sides, &[register], taken < NARROWED);
            let known = found.get(register).and_then(&truth);
            if known.is_some_and(|truth| truth.always()) {
                continue;
            }
            for which in [0, 1] {
                let point: Vec<At> =
                    sides.iter().map(|(from, to)| if which == 0 { *from } else { *to }).collect();
                if self.point(&point, &[register], &[])?.get(register).is_none_or(&fails) {
                    return Ok((false, Some(point)));
                }
            }
            taken += 1;
            let equal = |_| Interval::ONE;
            match self.halves(&sides, &equal) {
                Some(halves) if taken < BOXES => open.extend(halves),
                _ => return Ok((false, None)),
            }
        }
        Ok((true, None))
    }

    /// A box cut across the side that the value depends on most.
    fn halves(&self, sides: &Sides, slope: &dyn Fn(usize) -> Interval) -> Option<[Sides; 2]> {
        let mut widest: Option<(f64, usize, f64)> = None;
        for (direction, (from, to)) in sides.iter().enumerate() {
            if from == to {
                continue;
            }
            let at = |at: At| Some(self.exact(direction, at)?.to_f64());
            let (low, high) = (at(*from)?, at(*to)?);
            let middle = low / 2.0 + high / 2.0;
            if middle <= low || middle >= high {
                continue;
            }
            let all = at(At::High)? - at(At::Low)?;
            // where the slope is without end, the share of the whole width decides
            let steep = slope(direction).absolute().high;
            let weight = if steep.is_finite() {
                steep * (high - low)
            } else {
                f64::MAX / 4.0 * ((high - low) / all)
            };
            if steep > 0.0 && widest.is_none_or(|(most, ..)| weight > most) {
                widest = Some((weight, direction, middle));
            }
        }
        let (_, direction, middle) = widest?;
        let cut = |lower: bool| -> Sides {
            let mut half = sides.clone();
            if let Some(side) = half.get_mut(direction) {
                let (from, to) = *side;
                *side = if lower { (from, At::Inside(middle)) } else { (At::Inside(middle), to) };
            }
            half
        };
        Some([cut(true), cut(false)])
    }
}

fn take_farthest(open: &mut Vec<(f64, Sides)>) -> Option<(f64, Sides)> {
    let at = open.iter().enumerate().max_by(|a, b| a.1.0.total_cmp(&b.1.0)).map(|(at, _)| at)?;
    Some(open.swap_remove(at))
}
