//! Roots and integrals of bounds.

use std::sync::Arc;

use super::interval::{down, up};
use super::slopes::Slopes;
use super::system::{first_fault, follow};
use super::{Bound, Bounds, Interval, Quadrature};
use crate::diagnostic::Name;
use crate::number::columns::PAIR;
use crate::number::{Checked, Decimals, Dissection, Fault, Integrand, System, Zero};
use crate::program::LineId;

/// Evaluations of a function after which one end of a root is left as it is.
const ROOT_STEPS: usize = 120;
/// Most panels of an enclosed integral.
const PANELS: usize = 96;
/// Part of the integral below which its panels are fine enough.
const FINE: f64 = 1e-7;
/// Part of the integral below which an estimate is good enough.
const CLOSE: f64 = 1e-11;
/// How often a panel of an estimate is halved at most.
const HALVINGS: u32 = 14;

pub(super) type Function<'a> = &'a mut dyn FnMut(&Bound) -> Bound;

impl Bounds {
    pub(super) fn nested<T>(&self, work: impl FnOnce(usize) -> T) -> T {
        let direction = self.next.get();
        self.next.set(direction + 1);
        let result = work(direction);
        self.next.set(direction);
        result
    }

    pub(super) fn search_root(
        &self,
        asked: &mut dyn Integrand<Bound>,
        from: &Bound,
        to: &Bound,
        line: LineId,
    ) -> Bound {
        let (Some(start), Some(end)) = (from.range, to.range) else { return first_fault(from, to) };
        let may = from.may.clone().or_else(|| to.may.clone());
        let exact = self.exactly(asked, from, to, |f, a, b| Decimals.root(f, a, b, line));
        let function: Function<'_> = &mut |x| asked.at(x);
        if let Some(Err(fault)) = exact {
            return Bound::never(fault);
        }
        let all = start.hull(end);
        let mut bound = self.nested(|direction| {
            let (range, sure) = match &exact {
                Some(Ok(root)) => (Interval::of(root), true),
                _ => {
                    let at_start = function(&Bound::within(start));
                    let at_end = function(&Bound::within(end));
                    let signs = (sign(&at_start), sign(&at_end));
                    if let (Some(a), Some(b)) = signs
                        && a == b
                    {
                        let words = format!(
                            "the function has the same sign for {:.6e} and {:.6e}",
                            start.middle(),
                            end.middle()
                        );
                        return Bound::never(Arc::new(Fault::new(Name::NoRoot, line, words)));
                    }
                    let sure = matches!(signs, (Some(a), Some(b)) if a != b);
                    let low = edge(self, function, all, direction, false);
                    let high = edge(self, function, all, direction, true);
                    match (low, high) {
                        (Some(low), Some(high)) if low <= high => (Interval { low, high }, sure),
                        _ => {
                            let words = format!(
                                "the function is not zero between {:.6e} and {:.6e}",
                                all.low, all.high
                            );
                            return Bound::never(Arc::new(Fault::new(Name::NoRoot, line, words)));
                        }
                    }
                }
            };
            // 0 = s·(x₁ − x₂) + p·(p₁ − p₂), so (x₁ − x₂)/(p₁ − p₂) = −p/s
            let value = function(&self.variable(range, direction));
            let own = value.slope(direction);
            let slopes =
                value.slopes.map(|slope| slope.negated().over(own).0.unwrap_or(Interval::ALL));
            let slopes =
                if own.contains(0.0) { value.slopes.map(|_| Interval::ALL) } else { slopes }
                    .truncated(direction);
            let doubt = || {
                Fault::new(
                    Name::NoRoot,
                    line,
                    "the function may have no change of sign between the bounds",
                )
            };
            let may = may
                .clone()
                .or_else(|| value.may.clone())
                .or_else(|| (!sure).then(|| Arc::new(doubt())));
            Bound {
                range: Some(range),
                may,
                exact: None,
                slopes,
                grid: None,
                centre: None,
                form: None,
            }
        });
        if let Some(Ok(root)) = exact {
            bound.exact = Some(root);
        }
        bound
    }

    pub(super) fn compute_integral(
        &self,
        asked: &mut dyn Integrand<Bound>,
        from: &Bound,
        to: &Bound,
        line: LineId,
    ) -> Bound {
        let (Some(start), Some(end)) = (from.range, to.range) else { return first_fault(from, to) };
        let before = from.may.clone().or_else(|| to.may.clone());
        if let (Some(a), Some(b)) = (from.exact, to.exact)
            && a == b
            && from.slopes.len() == 0
            && to.slopes.len() == 0
        {
            return Bound { may: before, ..self.whole(0) };
        }
        let exact = self.exactly(asked, from, to, |f, a, b| Decimals.integral(f, a, b, line));
        let function: Function<'_> = &mut |x| asked.at(x);
        match exact {
            Some(Err(fault)) if self.quadrature == Quadrature::Estimated => {
                return Bound::never(fault);
            }
            Some(Ok(value)) if self.quadrature == Quadrature::Enclosed => {
                return Bound { may: before, ..Bound::of(value) };
            }
            _ => {}
        }
        let at_start = function(&Bound::within(start));
        let at_end = function(&Bound::within(end));
        let mut sum = match self.quadrature {
            Quadrature::Estimated => estimate(function, start.middle(), end.middle()),
            Quadrature::Enclosed => self.enclose(function, from, to),
        };
        let centre = sum.centre;
        // Leibniz: what the bounds of the integral themselves do
        let (low, high) =
            (at_start.range.unwrap_or(Interval::ALL), at_end.range.unwrap_or(Interval::ALL));
        let ends = to.slopes.zip(&from.slopes, |up, down| high.times(up).minus(low.times(down)));
        sum.slopes = sum.slopes.plus(&ends);
        if let Some(Ok(value)) = exact {
            return follow(Ok(value), before.as_ref(), || sum.slopes);
        }
        sum.may = before.or(at_start.may).or(at_end.may).or(sum.may);
        self.centred(sum, || centre)
    }

    /// Panels over what lies surely between the bounds, and a piece at each end for what may.
    fn enclose(&self, function: Function<'_>, from: &Bound, to: &Bound) -> Bound {
        let all = Interval::ALL;
        let (start, end) = (from.range.unwrap_or(all), to.range.unwrap_or(all));
        let centres = [from, to].map(|bound| bound.at_centre().unwrap_or(all));
        let turned = start.low > end.high;
        let (near, far) = if turned { (end, start) } else { (start, end) };
        let mut total = if near.high <= far.low {
            let mut total = self.panels(function, Interval { low: near.high, high: far.low });
            let mut centre = total.centre;
            let [from, to] = centres;
            let (at_near, at_far) = if turned { (to, from) } else { (from, to) };
            let ways = [
                (near, Interval::point(near.high).minus(at_near)),
                (far, at_far.minus(Interval::point(far.low))),
            ];
            for (piece, way) in ways.into_iter().filter(|(piece, _)| !piece.is_point()) {
                let value = function(&Bound::within(piece));
                let length = Interval { low: 0.0, high: up(piece.high - piece.low) };
                let part = value.range.map(|range| way.times(range));
                centre = centre.zip(part).map(|(sum, part)| sum.plus(part));
                total = joined(
                    total,
                    value.range.map(|range| length.times(range)),
                    &value.slopes.times(length),
                    value.may,
                );
            }
            total.centre = centre;
            total
        } else {
            // the bounds overlap: either may be the larger
            let all = near.hull(far);
            let value = function(&Bound::within(all));
            let length = far.minus(near);
            joined(
                Bound::within(Interval::ZERO),
                value.range.map(|range| length.times(range)),
                &value.slopes.times(length),
                value.may,
            )
        };
        if turned {
            total.range = total.range.map(Interval::negated);
            total.centre = total.centre.map(Interval::negated);
            total.slopes = total.slopes.map(Interval::negated);
        }
        total
    }

    fn panels(&self, function: Function<'_>, all: Interval) -> Bound {
        if all.is_point() {
            return Bound::within(Interval::ZERO);
        }
        self.nested(|direction| {
            let mut panel =
                |low: f64, high: f64| Panel::of(function, Interval { low, high }, direction, self);
            let mut panels = Vec::with_capacity(PANELS);
            let first = 4_u32;
            let at = |part: u32| {
                if part == first {
                    all.high
                } else {
                    all.low + (all.high - all.low) * f64::from(part) / f64::from(first)
                }
            };
            for part in 0..first {
                panels.push(panel(at(part), at(part + 1)));
            }
            while panels.len() < PANELS {
                let total: f64 = panels.iter().map(|panel| panel.size).sum();
                let doubt: f64 = panels.iter().map(|panel| panel.doubt).sum();
                let finite = doubt.is_finite();
                if finite && doubt <= FINE * total {
                    break;
                }
                let worst = panels
                    .iter()
                    .enumerate()
                    .max_by(|a, b| a.1.doubt.total_cmp(&b.1.doubt))
                    .map(|(at, _)| at);
                let Some(worst) = worst else { break };
                let old = panels.swap_remove(worst);
                let middle = old.over.middle();
                if middle <= old.over.low || middle >= old.over.high {
                    panels.push(old);
                    break;
                }
                panels.push(panel(old.over.low, middle));
                panels.push(panel(middle, old.over.high));
            }
            let mut total = Bound::within(Interval::ZERO);
            let mut centre = Some(Interval::ZERO);
            for panel in panels {
                centre = centre.zip(panel.centre.or(panel.value)).map(|(sum, one)| sum.plus(one));
                total = joined(total, panel.value, &panel.slopes, panel.may);
            }
            total.slopes = total.slopes.truncated(direction);
            total.centre = centre;
            total
        })
    }
}

/// One panel of an enclosed integral.
pub(super) struct Panel {
    pub(super) over: Interval,
    pub(super) value: Option<Interval>,
    centre: Option<Interval>,
    slopes: Slopes,
    may: Option<Arc<Fault>>,
    /// How far a finer panel could narrow it.
    pub(super) doubt: f64,
    pub(super) size: f64,
    /// Whether the function may have a corner in it.
    pub(super) rough: bool,
}

impl Panel {
    /// By the mean value form: f(m)·h ± (slope's width)·h²/8, within range·h.
    pub(super) fn of(
        function: Function<'_>,
        over: Interval,
        direction: usize,
        bounds: &Bounds,
    ) -> Self {
        bounds.rough.set(false);
        let value = function(&bounds.variable(over, direction));
        let rough = bounds.rough.get();
        let length =
            Interval { low: down(over.high - over.low).max(0.0), high: up(over.high - over.low) };
        let slopes = value.slopes.times(length);
        let Some(range) = value.range else {
            return Self {
                over,
                value: None,
                centre: None,
                slopes,
                may: value.may,
                doubt: 0.0,
                size: 0.0,
                rough,
            };
        };
        let middle = over.middle();
        let at_middle = function(&Bound::within(Interval::point(middle))).range.unwrap_or(range);
        let slope = value.slope(direction);
        // the middle may lie beside the true one by rounding, which the longer half covers
        let half = up((over.high - middle).max(middle - over.low));
        let swing = up(up(slope.width() * half) * half) / 2.0;
        let simple = range.times(length);
        let skew = slope.absolute().high * up(half * 2.0 - length.low).max(0.0) * half;
        let reach = up(swing + skew);
        let around = |middle: Interval| {
            let sum = middle.times(length);
            let form = Interval { low: down(sum.low - reach), high: up(sum.high + reach) };
            if reach.is_finite() { simple.meet(form) } else { simple }
        };
        let found = around(at_middle);
        let centre = value.centre.map(around);
        let doubt = found.width() - at_middle.times(length).width();
        let size = at_middle.absolute().high * length.high;
        Self {
            over,
            value: Some(found),
            centre,
            slopes,
            may: value.may,
            doubt: if doubt.is_nan() { f64::INFINITY } else { doubt.max(0.0) },
            size,
            rough,
        }
    }
}

/// A sum with one more piece.
fn joined(sum: Bound, value: Option<Interval>, slopes: &Slopes, may: Option<Arc<Fault>>) -> Bound {
    let range = match (sum.range, value) {
        (Some(a), Some(b)) => Some(a.plus(b)),
        _ => None,
    };
    let slopes = sum.slopes.plus(slopes);
    Bound { range, may: sum.may.or(may), exact: None, slopes, grid: None, centre: None, form: None }
}

/// A function on bounds as one on exact decimals.
struct Exactly<'f> {
    function: &'f mut dyn Integrand<Bound>,
    bounds: &'f Bounds,
    /// Whether something uncertain bears on it after all.
    lost: bool,
}

impl Exactly<'_> {
    fn exact(&mut self, value: Bound) -> Checked {
        match (value.exact, value.range, value.may) {
            (Some(exact), ..) => Ok(exact),
            (None, None, Some(fault)) => Err(fault),
            _ => {
                self.lost = true;
                Err(Arc::new(Fault::new(Name::Internal, LineId(0), "an exact value is lost")))
            }
        }
    }
}

impl Integrand<Checked> for Exactly<'_> {
    fn at(&mut self, x: &Checked) -> Checked {
        let value = self.function.at(&Bound::of(x.clone()?));
        self.exact(value)
    }

    fn corners(&mut self, x: &Checked) -> Vec<Checked> {
        let Ok(x) = x else { return Vec::new() };
        let levels = self.function.corners(&Bound::of(*x));
        levels.into_iter().map(|level| self.exact(level)).collect()
    }

    fn is_complete(&mut self) -> bool {
        self.function.is_complete()
    }

    fn is_straight(&mut self) -> bool {
        self.function.is_straight()
    }

    fn dissect(&mut self, from: f64, to: f64, cuts: &[f64]) -> Option<Dissection> {
        match self.bounds.quadrature {
            Quadrature::Enclosed => {
                Some(self.bounds.dissect(&mut |x| self.function.at(x), from, to, cuts))
            }
            // an estimate proves nothing
            Quadrature::Estimated => self.function.dissect(from, to, cuts),
        }
    }

    fn zeros(&mut self, from: f64, to: f64) -> Option<Vec<Zero>> {
        match self.bounds.quadrature {
            Quadrature::Enclosed => Some(self.bounds.zeros(&mut |x| self.function.at(x), from, to)),
            Quadrature::Estimated => self.function.zeros(from, to),
        }
    }
}

impl Bounds {
    /// Runs a search on exact decimals where nothing uncertain bears on it.
    fn exactly(
        &self,
        function: &mut dyn Integrand<Bound>,
        from: &Bound,
        to: &Bound,
        search: impl FnOnce(&mut dyn Integrand<Checked>, &Checked, &Checked) -> Checked,
    ) -> Option<Checked> {
        let (a, b) = (from.exact?, to.exact?);
        let first = function.at(&Bound::of(a));
        if first.range.is_some() && first.exact.is_none() {
            return None;
        }
        let mut exactly = Exactly { function, bounds: self, lost: false };
        let outcome = search(&mut exactly, &Ok(a), &Ok(b));
        (!exactly.lost).then_some(outcome)
    }
}

/// Plus or minus, where every value has that sign.
fn sign(value: &Bound) -> Option<bool> {
    let range = value.range.filter(|_| value.may.is_none())?;
    if range.low > 0.0 {
        Some(true)
    } else if range.high < 0.0 {
        Some(false)
    } else {
        None
    }
}

/// The outermost number at which the function may be zero; none where it is nowhere zero.
fn edge(
    bounds: &Bounds,
    function: Function<'_>,
    all: Interval,
    direction: usize,
    from_above: bool,
) -> Option<f64> {
    let mut open = vec![all];
    let scale = all.low.abs().max(all.high.abs());
    let mut steps = 0;
    while let Some(part) = open.pop() {
        steps += 1;
        let value = function(&bounds.variable(part, direction));
        let middle = part.middle();
        if let Some(range) = value.range {
            let at_middle = function(&Bound::within(Interval::point(middle)));
            let reach = Interval::new(down(part.low - middle), up(part.high - middle));
            let form = at_middle
                .range
                .map_or(range, |centre| centre.plus(value.slope(direction).times(reach)));
            let (low, high) = (range.low.max(form.low), range.high.min(form.high));
            if low > 0.0 || high < 0.0 {
                continue;
            }
        } else {
            continue;
        }
        if steps > ROOT_STEPS
            || part.width() <= scale * 1e-13
            || middle <= part.low
            || middle >= part.high
        {
            return Some(if from_above { part.high } else { part.low });
        }
        let (below, above) = (Interval { high: middle, ..part }, Interval { low: middle, ..part });
        // the last pushed is looked at first
        if from_above { open.extend([below, above]) } else { open.extend([above, below]) }
    }
    None
}

/// An integral by the Gauss–Kronrod pair, halved where it is not yet close.
fn estimate(function: Function<'_>, from: f64, to: f64) -> Bound {
    let whole = pair(function, from, to);
    let scale = whole.2;
    let mut open = vec![(from, to, whole, 0)];
    let mut total = Bound::within(Interval::ZERO);
    while let Some((low, high, (sum, error, _), depth)) = open.pop() {
        if error <= CLOSE * scale || depth >= HALVINGS {
            total = joined(total, sum.range, &sum.slopes, sum.may);
            continue;
        }
        let middle = low / 2.0 + high / 2.0;
        open.push((low, middle, pair(function, low, middle), depth + 1));
        open.push((middle, high, pair(function, middle, high), depth + 1));
    }
    total
}

/// The sum of 15 nodes, its distance to that of 7, and the integral of the magnitude.
fn pair(function: Function<'_>, from: f64, to: f64) -> (Bound, f64, f64) {
    let (centre, radius) = (from / 2.0 + to / 2.0, to / 2.0 - from / 2.0);
    let mut sum = Bound::within(Interval::ZERO);
    let (mut fewer, mut magnitude) = (0.0, 0.0);
    for (node, weight, less) in PAIR {
        let both = [centre - node * radius, centre + node * radius];
        for x in both.into_iter().take(if node == 0.0 { 1 } else { 2 }) {
            let value = function(&Bound::within(Interval::point(x)));
            let middle = value.range.map_or(f64::NAN, Interval::middle);
            fewer += less * radius * middle;
            magnitude += (weight * radius * middle).abs();
            let factor = Interval::point(weight * radius);
            sum = joined(
                sum,
                value.range.map(|range| range.times(factor)),
                &value.slopes.times(factor),
                value.may,
            );
        }
    }
    let error = sum.range.map_or(0.0, |range| (range.middle() - fewer).abs());
    (sum, if error.is_nan() { 0.0 } else { error }, magnitude)
}
