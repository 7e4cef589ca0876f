//! Values as sums over what they depend on: `c + Σ aᵢ·εᵢ`, each ε anywhere from −1 to 1.
//!
//! An ε belongs to an input, to a rounding, or to what a step does beyond a straight line. It stays the same wherever
//! the value goes, so that what two values share is gone in their difference: of `(x / k) · k − x` nothing is left,
//! whatever x was made of. That decides conditions that hold by construction.
//!
//! # Source
//! J. Stolfi, L. H. de Figueiredo, "Self-Validated Numerical Methods and Applications", 1997 (affine arithmetic); from
//! memory.

use std::sync::Arc;

use super::interval::up;
use super::relaxed::Relaxation;
use super::{Bound, Bounds, Interval};
use crate::program::{Binary, Unary};

/// The first ε that belongs to no direction.
const OWN: usize = 1 << 16;
/// Terms beyond which the small ones are put together.
const TERMS: usize = 96;
/// What one operation of f64 rounds, as a part.
const ROUNDED: f64 = f64::EPSILON;

/// A value as a sum.
#[derive(Clone, Debug, Default)]
pub(super) struct Form {
    centre: f64,
    /// In the order of their ε.
    terms: Vec<(usize, f64)>,
    /// How far the value may be from that sum.
    rest: f64,
}

impl Form {
    /// Anything in an interval; none where that has no end.
    fn within(range: Interval) -> Option<Self> {
        let centre = range.middle();
        let rest = up((range.high - centre).max(centre - range.low));
        rest.is_finite().then(|| Self { centre, terms: Vec::new(), rest })
    }

    /// How far it goes from its centre.
    fn radius(&self) -> f64 {
        let sum: f64 = self.terms.iter().map(|(_, term)| term.abs()).sum();
        let count = f64::from(u32::try_from(self.terms.len()).unwrap_or(u32::MAX));
        up((sum + self.rest) * (1.0 + (count + 2.0) * ROUNDED))
    }

    fn range(&self) -> Interval {
        let radius = Interval::new(-self.radius(), self.radius());
        Interval::point(self.centre).plus(radius)
    }

    /// `self · by + other · times`, whose rounding goes to the rest.
    fn combined(&self, by: f64, other: &Self, times: f64) -> Self {
        let mut terms = Vec::with_capacity(self.terms.len() + other.terms.len());
        let (mut ours, mut others) = (self.terms.iter().peekable(), other.terms.iter().peekable());
        let mut size = 0.0;
        loop {
            let (at, a, b) = match (ours.peek(), others.peek()) {
                (Some((at, a)), Some((to, b))) if at == to => (*at, *a, *b),
                (Some((at, a)), Some((to, _))) if at < to => (*at, *a, 0.0),
                (Some((at, a)), None) => (*at, *a, 0.0),
                (_, Some((to, b))) => (*to, 0.0, *b),
                (None, None) => break,
            };
            ours.next_if(|(it, _)| *it == at);
            others.next_if(|(it, _)| *it == at);
            let (a, b) = (a * by, b * times);
            size += a.abs() + b.abs();
            if a + b != 0.0 {
                terms.push((at, a + b));
            }
        }
        let (a, b) = (self.centre * by, other.centre * times);
        size += a.abs() + b.abs();
        let rest = self.rest * by.abs() + other.rest * times.abs();
        let rest = up(rest * (1.0 + 4.0 * ROUNDED)) + up(size * 2.0 * ROUNDED);
        Self { centre: a + b, terms, rest: up(rest) }
    }

    fn moved(mut self, by: f64) -> Self {
        let centre = self.centre + by;
        self.rest = up(self.rest + up(centre.abs() * ROUNDED));
        self.centre = centre;
        self
    }

    fn is_finite(&self) -> bool {
        self.centre.is_finite() && self.radius().is_finite()
    }
}

impl Relaxation {
    /// A form with what it may be off by as an ε of its own.
    fn own(&self, mut form: Form, off: f64) -> Option<Arc<Form>> {
        if !(off.is_finite() && form.is_finite()) {
            return None;
        }
        if form.terms.len() > TERMS {
            let small = form.radius() * 1e-4;
            let less: f64 = form.terms.iter().map(|it| it.1.abs()).filter(|it| *it < small).sum();
            form.terms.retain(|(_, term)| term.abs() >= small);
            form.rest = up(form.rest + less * (1.0 + 1e-12));
        }
        let off = up(off + form.rest);
        if off > 0.0 {
            let next = self.own.get();
            self.own.set(next + 1);
            form.terms.push((OWN + next, off));
            form.rest = 0.0;
        }
        Some(Arc::new(form))
    }

    /// A function over an argument: its value at the centre of that, and its slope anywhere.
    fn bent(&self, x: &Form, at_centre: Interval, slope: Interval) -> Option<Arc<Form>> {
        let straight = slope.middle();
        let skew = up((slope.high - straight).max(straight - slope.low));
        let value = Form::within(at_centre)?;
        let line = Form { centre: 0.0, ..x.clone() };
        self.own(line.combined(straight, &value, 1.0), up(skew * x.radius()))
    }

    fn product(&self, x: &Form, y: &Form) -> Option<Arc<Form>> {
        let sum = x.combined(y.centre, y, x.centre);
        let twice = x.centre * y.centre;
        let off = up(up(x.radius() * y.radius()) + up(twice.abs() * 2.0 * ROUNDED));
        self.own(sum.moved(-twice), off)
    }

    /// The smaller or the larger of two, `sign` −1 or 1: (x + y ± |x − y|) / 2.
    fn outer(&self, x: &Form, y: &Form, sign: f64) -> Option<Arc<Form>> {
        let gap = x.combined(1.0, y, -1.0);
        let Interval { low, high } = gap.range();
        if low >= 0.0 || high <= 0.0 {
            return Some(Arc::new(if (low >= 0.0) == (sign > 0.0) { x } else { y }.clone()));
        }
        // |d| lies above the line from end to end through zero by at most twice q
        let straight = (high + low) / (high - low);
        let most = up(up(-low * high / (high - low)) + high.max(-low) * 4.0 * ROUNDED);
        let sum = x.combined(0.5, y, 0.5);
        let form = sum.combined(1.0, &gap, 0.5 * sign * straight).moved(sign * most / 2.0);
        self.own(form, up(most / 2.0) + up(high.max(-low) * 4.0 * ROUNDED))
    }
}

impl Bounds {
    fn form_of(x: &Bound) -> Option<Arc<Form>> {
        x.form.clone().or_else(|| Form::within(x.range?).map(Arc::new))
    }

    /// The form of an input or a rounding, which goes over a range.
    pub(super) fn form_along(range: Interval, direction: usize) -> Option<Arc<Form>> {
        let mut form = Form::within(range)?;
        form.terms.push((direction, std::mem::take(&mut form.rest)));
        Some(Arc::new(form))
    }

    /// What follows forms, outside of a search.
    fn forms(&self) -> Option<&Relaxation> {
        self.relaxed.as_ref().filter(|relaxed| !relaxed.searching.get())
    }

    /// A value narrowed by its form.
    pub(super) fn formed(
        &self,
        mut bound: Bound,
        form: impl FnOnce(&Relaxation) -> Option<Arc<Form>>,
    ) -> Bound {
        let (Some(relaxed), Some(range), None) = (self.forms(), bound.range, bound.exact) else {
            return bound;
        };
        if bound.slopes.len() == 0 {
            return bound;
        }
        let found = form(relaxed);
        if let Some(form) = &found {
            bound.range = Some(range.meet(form.range()));
        }
        bound.form = found;
        bound
    }

    pub(super) fn form_of_unary(
        relaxed: &Relaxation,
        function: Unary,
        x: &Bound,
    ) -> Option<Arc<Form>> {
        let (form, range) = (Self::form_of(x)?, x.range?);
        match function {
            Unary::Negate => Some(Arc::new(form.combined(-1.0, &Form::default(), 0.0))),
            Unary::Absolute => {
                relaxed.outer(&form, &form.combined(-1.0, &Form::default(), 0.0), 1.0)
            }
            _ => {
                let at = Interval::point(form.centre);
                // the centre of the form may lie beside the range, whose slopes do not hold there
                let over = range.hull(at);
                relaxed.bent(&form, at.unary(function).0?, over.slope_of(function))
            }
        }
    }

    /// A function with its value at the centre of the argument's form, and its slope over a range.
    pub(super) fn form_by(
        relaxed: &Relaxation,
        x: &Bound,
        value: impl Fn(Interval) -> Option<Interval>,
        slope: impl Fn(Interval) -> Interval,
    ) -> Option<Arc<Form>> {
        let form = Self::form_of(x)?;
        let at = Interval::point(form.centre);
        relaxed.bent(&form, value(at)?, slope(x.range?.hull(at)))
    }

    pub(super) fn form_of_binary(
        relaxed: &Relaxation,
        function: Binary,
        x: &Bound,
        y: &Bound,
    ) -> Option<Arc<Form>> {
        let (a, b) = (Self::form_of(x)?, Self::form_of(y)?);
        let kept = |form: Form| form.is_finite().then(|| Arc::new(form));
        match function {
            Binary::Add => kept(a.combined(1.0, &b, 1.0)),
            Binary::Subtract => kept(a.combined(1.0, &b, -1.0)),
            Binary::Multiply => relaxed.product(&a, &b),
            Binary::Divide => {
                let inverse = Self::form_by(
                    relaxed,
                    y,
                    |at| Interval::ONE.over(at).0,
                    |over| {
                        let square = over.times(over);
                        let square = if over.contains(0.0) { Interval::ALL } else { square };
                        Interval::ONE.over(square).0.map_or(Interval::ALL, Interval::negated)
                    },
                )?;
                relaxed.product(&a, &inverse)
            }
            Binary::Least => relaxed.outer(&a, &b, -1.0),
            Binary::Greatest => relaxed.outer(&a, &b, 1.0),
            Binary::Raise => None,
        }
    }

    /// A value of which slopes alone are known.
    pub(super) fn form_of_slopes(relaxed: &Relaxation, bound: &Bound) -> Option<Arc<Form>> {
        let (mut form, mut off) = (Form::within(bound.at_centre()?)?, 0.0);
        for (direction, reach) in relaxed.reach.borrow().iter().enumerate() {
            let (slope, way) = (bound.slope(direction), reach.absolute().high);
            let straight = slope.middle();
            form.terms.push((direction, straight * way));
            let skew = (slope.high - straight).max(straight - slope.low);
            off = up(off + up(up(skew * way) + up((straight * way).abs() * ROUNDED)));
        }
        form.terms.retain(|(_, term)| *term != 0.0);
        relaxed.own(form, off)
    }

    /// One of two: what is halfway between them, and half of what lies between.
    pub(super) fn form_of_either(relaxed: &Relaxation, x: &Bound, y: &Bound) -> Option<Arc<Form>> {
        let (a, b) = (Self::form_of(x)?, Self::form_of(y)?);
        let half = a.combined(0.5, &b, -0.5);
        relaxed.own(a.combined(0.5, &b, 0.5), half.range().absolute().high)
    }

    /// A rounded value: the value before and a share of the step.
    pub(super) fn form_of_round(
        relaxed: &Relaxation,
        x: &Bound,
        step: &Bound,
        (direction, share): (usize, Interval),
    ) -> Option<Arc<Form>> {
        let (x, step) = (Self::form_of(x)?, Self::form_of(step)?);
        let added = relaxed.product(&*Self::form_along(share, direction)?, &step)?;
        Some(Arc::new(x.combined(1.0, &added, 1.0)))
    }
}
