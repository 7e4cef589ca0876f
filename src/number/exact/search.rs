//! Roots and integrals of exact decimals.

use std::sync::Arc;

use super::Exact;
use super::checked::{Checked, at, size};
use super::nodes::PAIR;
use crate::diagnostic::Name;
use crate::number::Fault;
use crate::program::LineId;

/// Width of the bracket of a root, over the larger of the two bounds.
const ROOT_TOLERANCE: f64 = 1e-24;
/// Error of an integral, over the integral of the function's magnitude.
const INTEGRAL_TOLERANCE: f64 = 1e-18;
/// Evaluations of a function after which a root is given up; bisection alone needs about 80.
const ROOT_STEPS: usize = 300;
/// Panels after which an integral is given up.
const PANELS: usize = 600;

/// The argument between two bounds at which a function is zero.
///
/// The bracket always holds a change of sign; its width at the end, or the distance within which the sign
/// cannot be decided, is the slack of the root.
///
/// Source: T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a
/// nonlinear function without using derivatives", Advances in Engineering Software 28 (1997).
pub(super) fn root(
    function: &mut dyn FnMut(&Exact) -> Checked,
    from: &Exact,
    to: &Exact,
    line: LineId,
) -> Checked {
    let (mut a, mut b) = (from.bare(), to.bare());
    let (mut fa, mut fb) = (function(&a)?, function(&b)?);
    let tolerance = ROOT_TOLERANCE * size(&a).max(size(&b));
    if fa.is_like_zero() {
        return certain(function, &a, &fa, &b, tolerance);
    }
    if fb.is_like_zero() {
        return certain(function, &b, &fb, &a, tolerance);
    }
    if fa.digits().signum() == fb.digits().signum() {
        let words = format!("the function is {fa:.6} at {a:.6} and {fb:.6} at {b:.6}");
        return Err(Arc::new(Fault::new(Name::NoRoot, line, words)));
    }
    let mut part = 0.5;
    for _ in 0..ROOT_STEPS {
        let width = b.sum(&a.negated());
        let share = at(line, Exact::from_f64(part))?;
        let x = a.sum(&at(line, width.times(&share))?).bare();
        let fx = function(&x).map_err(|fault| match fault.name {
            // between two bounds of different sign: what stands there is a pole
            Name::DividedByZero => {
                let words = format!("at {x:.6} it divides by zero");
                Arc::new(Fault::new(Name::NotContinuous, line, words).at(&[x]))
            }
            _ => fault,
        })?;
        if fx.is_like_zero() {
            return certain(function, &x, &fx, if part < 0.5 { &a } else { &b }, tolerance);
        }
        let (c, fc);
        if fx.digits().signum() == fa.digits().signum() {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let bracket = size(&b.sum(&a.negated()));
        if bracket <= tolerance || a == b {
            let nearer = if size(&fa) < size(&fb) { a } else { b };
            return Ok(nearer.widened(bracket, 0));
        }
        part = next_part([a, b, c], [fa, fb, fc], (tolerance / bracket / 2.0).min(0.5));
    }
    Err(Arc::new(Fault::new(Name::NotConverged, line, format!("a root near {a:.6} is not found"))))
}

/// Where the next point lies between a (0) and b (1): inverse quadratic where that is safe, else half.
fn next_part(x: [Exact; 3], f: [Exact; 3], least: f64) -> f64 {
    // only the place of the next point depends on this, so f64 is enough; the sign test is exact
    let [a, b, c] = x;
    let width = |p: &Exact, q: &Exact| p.sum(&q.negated()).to_f64();
    let [fa, fb, fc] = f.map(|value| value.to_f64());
    let xi = width(&a, &b) / width(&c, &b);
    let phi = (fa - fb) / (fc - fb);
    let part = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
        fa / (fb - fa) * fc / (fb - fc)
            + width(&c, &a) / width(&b, &a) * fa / (fc - fa) * fb / (fc - fb)
    } else {
        0.5
    };
    if part.is_finite() { part.clamp(least, 1.0 - least) } else { 0.5 }
}

/// A zero of the function as far as can be decided, with the undecided distance as slack.
fn certain(
    function: &mut dyn FnMut(&Exact) -> Checked,
    x: &Exact,
    fx: &Exact,
    towards: &Exact,
    tolerance: f64,
) -> Checked {
    if fx.is_exact() {
        return Ok(*x);
    }
    let reach = size(&towards.sum(&x.negated()));
    let sign = if towards.stands_to(x).is_ge() { 1.0 } else { -1.0 };
    let mut step = tolerance;
    while step < reach {
        let Ok(shift) = Exact::from_f64(sign * step) else { break };
        if !function(&x.sum(&shift).bare())?.is_like_zero() {
            return Ok(x.widened(step, 0));
        }
        step *= 10.0;
    }
    Ok(x.widened(reach.max(tolerance), 0))
}

/// One panel of an integral.
struct Panel {
    from: Exact,
    to: Exact,
    value: Exact,
    error: f64,
    magnitude: f64,
    largest: f64,
}

/// The integral of a function along edges, from the first to the last, by the Gauss–Kronrod pair 15-31 on panels
/// that are halved until the two rules, and a panel and its halves, differ by at most 1e-18 of the integral of |f|.
///
/// Source of the method: R. Piessens et al., "QUADPACK", 1983; nodes: see [`PAIR`].
pub(super) fn integral(
    function: &mut dyn FnMut(&Exact) -> Checked,
    edges: &[Exact],
    line: LineId,
) -> Checked {
    let (Some(from), Some(to)) = (edges.first(), edges.last()) else { return Ok(Exact::ZERO) };
    if from.stands_to(to).is_eq() && from.is_exact() && to.is_exact() {
        return Ok(Exact::ZERO);
    }
    let mut panels = Vec::with_capacity(edges.len());
    for (low, high) in edges.iter().zip(edges.iter().skip(1)) {
        panels.push(panel(function, &low.bare(), &high.bare(), line)?);
    }
    if let [first] = panels.as_mut_slice() {
        // a single panel is always halved once, so that two answers are compared
        first.error = first.error.max(first.magnitude);
    }
    let most_panels = PANELS.max(3 * panels.len());
    loop {
        let magnitude: f64 = panels.iter().map(|panel| panel.magnitude).sum();
        let error: f64 = panels.iter().map(|panel| panel.error).sum();
        if error <= INTEGRAL_TOLERANCE * magnitude || magnitude == 0.0 {
            let mut sum = Exact::ZERO;
            for panel in &panels {
                sum = sum.sum(&panel.value);
            }
            // what the slack of the bounds can do
            let ends = (from.error_bound() + to.error_bound())
                * panels.iter().map(|panel| panel.largest).fold(0.0, f64::max);
            return at(line, sum.widened(error + ends, 0).ranged());
        }
        if panels.len() >= most_panels || !error.is_finite() {
            let words = format!(
                "the integral from {from:.6} to {to:.6} is uncertain by {:.1e} of itself",
                error / magnitude
            );
            return Err(Arc::new(Fault::new(Name::NotConverged, line, words)));
        }
        let mut worst = 0;
        let mut most = -1.0;
        for (at, panel) in panels.iter().enumerate() {
            if panel.error > most {
                (worst, most) = (at, panel.error);
            }
        }
        let old = panels.swap_remove(worst);
        let half = Exact::settle(5, -1, 0.0);
        let middle = at(line, old.from.sum(&old.to).times(&half))?.bare();
        let mut left = panel(function, &old.from, &middle, line)?;
        let mut right = panel(function, &middle, &old.to, line)?;
        // a corner between the last node and the end of a panel shows up here alone
        let apart = old.value.sum(&left.value.sum(&right.value).negated());
        if !apart.is_like_zero() {
            left.error = left.error.max(size(&apart) / 2.0);
            right.error = right.error.max(size(&apart) / 2.0);
        }
        panels.extend([left, right]);
    }
}

fn panel(
    function: &mut dyn FnMut(&Exact) -> Checked,
    from: &Exact,
    to: &Exact,
    line: LineId,
) -> Result<Panel, Arc<Fault>> {
    let half = Exact::settle(5, -1, 0.0);
    let radius = at(line, to.sum(&from.negated()).times(&half))?;
    let middle = at(line, from.sum(to).times(&half))?;
    let (mut many, mut few) = (Exact::ZERO, Exact::ZERO);
    let (mut magnitude, mut largest) = (0.0_f64, 0.0_f64);
    for (node, weight, fewer) in PAIR {
        let weight = Exact::settle(weight, -30, 1.0);
        let distance = at(line, radius.times(&Exact::settle(node, -30, 0.0)))?;
        let mut sum = function(&middle.sum(&distance).bare())?;
        largest = largest.max(size(&sum));
        let mut sizes = size(&sum);
        if node != 0 {
            let other = function(&middle.sum(&distance.negated()).bare())?;
            largest = largest.max(size(&other));
            sizes += size(&other);
            sum = sum.sum(&other);
        }
        magnitude += sizes * weight.to_f64();
        many = many.sum(&at(line, weight.times(&sum))?);
        if fewer != 0 {
            few = few.sum(&at(line, Exact::settle(fewer, -30, 1.0).times(&sum))?);
        }
    }
    let difference = many.sum(&few.negated());
    // a difference that is only rounding cannot be made smaller by halving
    let error = if difference.is_like_zero() { 0.0 } else { size(&difference) * size(&radius) };
    let value = at(line, many.times(&radius))?;
    let scale = size(&radius);
    Ok(Panel { from: *from, to: *to, value, error, magnitude: magnitude * scale, largest })
}
