//! Bounds: what a program can come to when its inputs lie anywhere between two ends.
//!
//! A [`Bound`] holds every value that a step can have (rounded outward), whether it may have none, and
//! the slope of it over each followed input: an enclosure of (f(x) − f(y))/(x − y) for any two values of
//! that input, all others being anywhere between their ends. So a slope that keeps its sign proves that
//! the worst case lies at an end of the input, through rounding, tables and cases alike.
//!
//! A value on which no uncertain input bears is carried as an exact decimal as well, so that a limit is
//! decided on it as [`run_exact`](crate::number::run_exact) decides.
//!
//! # Source
//! R. E. Moore, R. B. Kearfott, M. J. Cloud, "Introduction to Interval Analysis", SIAM 2009 (mean value
//! form, interval slopes); from memory.

mod forms;
mod functions;
mod interval;
mod pieces;
mod relaxed;
mod search;
mod slopes;
mod steps;
mod system;

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use super::{Exact, Fault};
pub use interval::Interval;
use relaxed::Relaxation;
pub(crate) use slopes::Slopes;

/// The number system of bounds.
#[derive(Debug)]
pub struct Bounds {
    /// How integrals find their slopes and, off the exact way, their values.
    quadrature: Quadrature,
    /// The next free direction: those of the inputs come first, then one for each nested search.
    next: Cell<usize>,
    /// How many values were rounded to a grid, to distinguish them.
    grids: Cell<u64>,
    /// Set by a step that may have a corner or a jump within its operands.
    rough: Cell<bool>,
    /// Where roundings are relaxed and values are followed from the centre of the box.
    relaxed: Option<Relaxation>,
    /// Whether slopes pass through roundings as if they were not there.
    smooth: bool,
    /// How open comparisons are taken, where they are.
    assumed: RefCell<Option<Assumed>>,
}

/// Comparisons that are open within a box, in the order in which they are met.
#[derive(Debug, Default)]
struct Assumed {
    /// How the first of them are taken.
    taken: Vec<bool>,
    /// How many were met.
    met: usize,
    /// The directions that they depend on.
    depends: u128,
}

/// How an integral is calculated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Quadrature {
    /// Enclosed, panel by panel.
    Enclosed,
    /// Estimated by the Gauss–Kronrod pair, for slopes at one point.
    Estimated,
}

/// What a value can be.
#[derive(Clone, Debug)]
pub struct Bound {
    /// Every value it can have; `None` when it never has one.
    pub range: Option<Interval>,
    /// Why it may have no value, or has none.
    pub may: Option<Arc<Fault>>,
    /// The value itself where nothing uncertain bears on it.
    pub exact: Option<Exact>,
    /// Slope over each direction.
    pub(crate) slopes: Slopes,
    /// The step that it is a multiple of, and which value it is, so that it equals itself.
    grid: Option<(Exact, u64)>,
    /// The value at the centre of the box, where bounds follow it.
    centre: Option<Interval>,
    /// The value as a sum over what it depends on, where bounds follow it.
    form: Option<Arc<forms::Form>>,
}

/// What a truth can be.
#[derive(Clone, Debug)]
pub struct Possible {
    /// Whether it may hold.
    pub holds: bool,
    /// Whether it may fail.
    pub fails: bool,
    /// Why it may be neither.
    pub may: Option<Arc<Fault>>,
    /// The directions it may depend on, a bit each; the last bit stands for all beyond.
    pub(crate) depends: u128,
    /// How it is at the centre of the box, where that is known.
    at_centre: Option<bool>,
}

impl Bounds {
    /// For worst cases; `directions` is how many inputs (or elements of series) are followed.
    #[must_use]
    pub fn new(directions: usize) -> Self {
        Self::with(Quadrature::Enclosed, directions)
    }

    /// For slopes at one point: integrals are estimated, not enclosed.
    #[must_use]
    pub fn at_a_point(directions: usize) -> Self {
        Self::with(Quadrature::Estimated, directions)
    }

    /// For slopes at one point as they would be without roundings, to steps and to preferred numbers.
    #[must_use]
    pub fn smooth_at_a_point(directions: usize) -> Self {
        Self { smooth: true, ..Self::at_a_point(directions) }
    }

    fn with(quadrature: Quadrature, directions: usize) -> Self {
        let (next, grids) = (Cell::new(directions), Cell::new(0));
        let (rough, assumed) = (Cell::new(false), RefCell::default());
        Self { quadrature, next, grids, rough, relaxed: None, smooth: false, assumed }
    }

    /// A run in which the first open comparisons are taken so, with how many were met and on which directions these
    /// depend. What a box can come to is what the runs for both ways can.
    pub(crate) fn assuming<R>(&self, taken: &[bool], run: impl FnOnce() -> R) -> (R, usize, u128) {
        let assumed = Assumed { taken: taken.to_vec(), ..Assumed::default() };
        self.assumed.replace(Some(assumed));
        let found = run();
        let Assumed { met, depends, .. } = self.assumed.take().unwrap_or_default();
        (found, met, depends)
    }

    /// A truth as it is taken here.
    fn taken(&self, found: Possible) -> Possible {
        let mut assumed = self.assumed.borrow_mut();
        match assumed.as_mut().filter(|_| found.holds && found.fails) {
            None => found,
            Some(all) => {
                let at = all.met;
                all.met += 1;
                all.depends |= found.depends;
                match all.taken.get(at) {
                    None => found,
                    Some(holds) => Possible { holds: *holds, fails: !holds, ..found },
                }
            }
        }
    }

    /// The same for worst cases, with every value that is rounded to a step taken as lying anywhere within a step of
    /// the value before; each such rounding, up to `most` of them, is a direction of its own after the others.
    pub(crate) fn relaxed(directions: usize, most: usize) -> Self {
        let relaxed = Some(Relaxation::new(directions, most));
        Self { relaxed, ..Self::with(Quadrature::Enclosed, directions + most) }
    }
}

impl Bound {
    /// The step that it is a multiple of.
    pub(crate) fn step(&self) -> Option<Exact> {
        self.grid.map(|(step, _)| step)
    }

    /// An exact value.
    #[must_use]
    pub fn of(value: Exact) -> Self {
        Self {
            range: Some(Interval::of(&value)),
            may: None,
            exact: Some(value),
            slopes: Slopes::default(),
            grid: None,
            centre: None,
            form: None,
        }
    }

    /// Anything in an interval.
    #[must_use]
    pub fn within(range: Interval) -> Self {
        Self {
            range: Some(range),
            may: None,
            exact: None,
            slopes: Slopes::default(),
            grid: None,
            centre: None,
            form: None,
        }
    }

    /// The same, followed in a direction: its slope over that direction is `seed`, one for the input itself.
    #[must_use]
    pub fn followed(mut self, direction: usize, seed: Interval) -> Self {
        self.slopes = Slopes::along(direction, seed);
        self
    }

    /// No value, ever.
    #[must_use]
    pub fn never(fault: Arc<Fault>) -> Self {
        Self {
            range: None,
            may: Some(fault),
            exact: None,
            slopes: Slopes::default(),
            grid: None,
            centre: None,
            form: None,
        }
    }

    /// The slope over a direction; zero where it does not depend on it.
    #[must_use]
    pub fn slope(&self, direction: usize) -> Interval {
        self.slopes.get(direction)
    }
}

impl Bound {
    /// What lies in both: the same value known in two ways.
    #[must_use]
    pub(crate) fn met(mut self, other: &Self) -> Self {
        if let (Some(one), Some(two), None) = (self.range, other.range, self.exact) {
            self.range = Some(one.meet(two));
        }
        if other.may.is_none() {
            self.may = None;
        }
        self
    }
}

impl Possible {
    /// What both allow: the same truth known in two ways.
    #[must_use]
    pub(crate) fn met(mut self, other: &Self) -> Self {
        if self.holds && self.fails && (other.holds != other.fails) {
            (self.holds, self.fails) = (other.holds, other.fails);
        }
        if other.may.is_none() {
            self.may = None;
        }
        self
    }

    /// Either of two, where truths that depend on these directions tell which.
    pub(crate) fn joined(mut self, other: &Self, depends: u128) -> Self {
        self.holds |= other.holds;
        self.fails |= other.fails;
        self.depends |= other.depends | depends;
        self.may = self.may.or_else(|| other.may.clone());
        Self { at_centre: None, ..self }
    }

    /// Surely so, or surely not.
    #[must_use]
    pub fn surely(truth: bool) -> Self {
        Self { holds: truth, fails: !truth, may: None, depends: 0, at_centre: Some(truth) }
    }

    /// Either way.
    pub(crate) fn open() -> Self {
        Self { fails: true, ..Self::surely(true) }
    }

    /// Neither, ever.
    #[must_use]
    pub fn never(fault: Arc<Fault>) -> Self {
        Self { holds: false, fails: false, may: Some(fault), depends: 0, at_centre: None }
    }

    /// Holds whatever the inputs are.
    #[must_use]
    pub fn always(&self) -> bool {
        self.holds && !self.fails && self.may.is_none()
    }
}
