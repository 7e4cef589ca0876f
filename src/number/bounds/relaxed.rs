//! Values followed from the centre of a box, and roundings relaxed to what they can do at most.
//!
//! A value lies within (value at the centre) + Σ slope · (way from the centre), which keeps what belongs together:
//! of `(x + e) − x` only e is left. A rounded value is `x + e·step` with e from 0 to 1 (up), so that a margin that
//! rounding up makes by construction is proved, however often the value goes over a step.
//!
//! Where a rounding is relaxed, so it stays in every run of a box in which e does not go its whole way: a value
//! rounded there for certain may be another one where e is elsewhere.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

use super::slopes::Slopes;
use super::{Bound, Bounds, Interval};
use crate::program::{Direction, LineId};

/// Values closer than this part of their size are equal, as they are to exact decimals within what is rounded.
pub(super) const TIE: f64 = 1e-13;

/// What relaxed bounds remember.
#[derive(Debug)]
pub(super) struct Relaxation {
    /// How far each direction goes from its centre.
    pub(super) reach: RefCell<Vec<Interval>>,
    /// The direction of the first rounding.
    first: usize,
    most: usize,
    /// The roundings by line and by their number there.
    known: RefCell<BTreeMap<(LineId, usize), usize>>,
    /// How many roundings of each line this run has seen.
    seen: RefCell<BTreeMap<LineId, usize>>,
    /// From where to where each e goes; the whole way beyond the end.
    shares: RefCell<Vec<Interval>>,
    /// Whether every rounding is relaxed, also one that is certain.
    forced: Cell<bool>,
    /// Within a search a rounding happens more than once.
    pub(super) searching: Cell<bool>,
    /// How many ε belong to a step of their own.
    pub(super) own: Cell<usize>,
}

impl Relaxation {
    pub(super) fn new(first: usize, most: usize) -> Self {
        Self {
            reach: RefCell::default(),
            first,
            most,
            known: RefCell::default(),
            seen: RefCell::default(),
            shares: RefCell::default(),
            forced: Cell::new(false),
            searching: Cell::new(false),
            own: Cell::new(0),
        }
    }

    /// The direction of the next rounding of a line, and its share; none when there are too many.
    fn next(&self, line: LineId) -> Option<(usize, Interval)> {
        let mut seen = self.seen.borrow_mut();
        let number = seen.entry(line).or_default();
        let mut known = self.known.borrow_mut();
        let (count, key) = (known.len(), (line, *number));
        *number += 1;
        let at = match known.get(&key) {
            Some(at) => *at,
            None if count < self.most => *known.entry(key).or_insert(count),
            None => return None,
        };
        let whole = Interval { low: 0.0, high: 1.0 };
        Some((self.first + at, self.shares.borrow().get(at).copied().unwrap_or(whole)))
    }

    pub(super) fn set_reach(&self, direction: usize, reach: Interval) {
        let mut all = self.reach.borrow_mut();
        if all.len() <= direction {
            all.resize(direction + 1, Interval::ZERO);
        }
        if let Some(to) = all.get_mut(direction) {
            *to = reach;
        }
    }
}

impl Bounds {
    /// Begins a run in a box: from where to where the roundings go, the whole way if there are none given, and whether
    /// anything else is narrowed to an end.
    pub(crate) fn begin(&self, shares: &[Interval], narrowed: bool) {
        let Some(relaxed) = &self.relaxed else { return };
        relaxed.seen.borrow_mut().clear();
        relaxed.reach.borrow_mut().clear();
        relaxed.shares.replace(shares.to_vec());
        let whole = Interval { low: 0.0, high: 1.0 };
        relaxed.forced.set(narrowed || shares.iter().any(|share| *share != whole));
    }

    /// How far each direction goes from its centre in this run.
    pub(crate) fn followed(&self) -> Vec<Interval> {
        self.relaxed.as_ref().map_or_else(Vec::new, |relaxed| relaxed.reach.borrow().clone())
    }

    /// Takes up a run again, to go on with its values.
    pub(crate) fn follow_again(&self, reach: &[Interval]) {
        if let Some(relaxed) = &self.relaxed {
            relaxed.reach.replace(reach.to_vec());
        }
    }

    /// Works within a search, where a rounding happens more than once and is taken as it is.
    pub(super) fn within_search<T>(&self, work: impl FnOnce() -> T) -> T {
        // a search meets its comparisons again and again: none of them is taken one way
        let assumed = self.assumed.take();
        let before = self.relaxed.as_ref().map(|relaxed| relaxed.searching.replace(true));
        let result = work();
        if let (Some(relaxed), Some(before)) = (&self.relaxed, before) {
            relaxed.searching.set(before);
        }
        self.assumed.replace(assumed);
        result
    }

    /// Anything in an interval, followed in a direction from its centre.
    pub(crate) fn variable(&self, range: Interval, direction: usize) -> Bound {
        let mut bound = Bound::within(range).followed(direction, Interval::ONE);
        if let Some(relaxed) = &self.relaxed {
            let centre = Interval::point(range.middle());
            relaxed.set_reach(direction, range.minus(centre));
            bound.centre = Some(centre);
            bound.form = Self::form_along(range, direction);
        }
        bound
    }

    /// A value with what it is at the centre, which narrows it.
    pub(super) fn centred(
        &self,
        mut bound: Bound,
        centre: impl FnOnce() -> Option<Interval>,
    ) -> Bound {
        let (Some(relaxed), Some(range), None) = (&self.relaxed, bound.range, bound.exact) else {
            return bound;
        };
        if bound.slopes.len() == 0 {
            return bound;
        }
        let centre = centre().map_or(range, |centre| centre.meet(range));
        let reach = relaxed.reach.borrow();
        bound.range = Some(range.meet(centre.plus(bound.slopes.swing(&reach))));
        bound.centre = Some(centre);
        bound
    }

    /// A rounded value as the value before and a share of the step; none where it is to be taken as it is.
    pub(super) fn relaxed_round(
        &self,
        direction: Direction,
        x: &Bound,
        step: &Bound,
        line: LineId,
        certain: bool,
    ) -> Option<Bound> {
        let relaxed = self.relaxed.as_ref().filter(|relaxed| !relaxed.searching.get())?;
        let (at, share) = relaxed.next(line)?;
        if certain && !relaxed.forced.get() {
            return None;
        }
        let share = match direction {
            Direction::Up => share,
            Direction::Down => share.minus(Interval::ONE),
            Direction::Nearest => share.minus(Interval::point(0.5)),
        };
        let (range, by) = (x.range?, step.range?);
        let middle = Interval::point(share.middle());
        relaxed.set_reach(at, share.minus(middle));
        let own = Slopes::along(at, by);
        let slopes = x.slopes.plus(&step.slopes.times(share)).plus(&own);
        let bound = Bound {
            range: Some(range.plus(share.times(by))),
            may: x.may.clone().or_else(|| step.may.clone()),
            exact: None,
            slopes,
            grid: None,
            centre: None,
            form: None,
        };
        let bound =
            self.centred(bound, || Some(x.at_centre()?.plus(middle.times(step.at_centre()?))));
        Some(self.formed(bound, |relaxed| Self::form_of_round(relaxed, x, step, (at, share))))
    }
}

impl Bound {
    /// The value at the centre of the box, or what encloses it.
    pub(super) fn at_centre(&self) -> Option<Interval> {
        self.centre.or(self.range)
    }
}

impl Slopes {
    /// What all directions together can do from the centre.
    fn swing(&self, reach: &[Interval]) -> Interval {
        reach.iter().enumerate().fold(Interval::ZERO, |sum, (direction, reach)| {
            let slope = self.get(direction);
            if slope == Interval::ZERO { sum } else { sum.plus(slope.times(*reach)) }
        })
    }
}
