//! A function of one argument looked at between two numbers: its pieces, and the places where it may be zero.
//!
//! Points alone never show what lies between them. Here every number between the bounds is covered: a piece is
//! accepted when the function has no corner in it and its integral over the piece is known closely, a place is
//! left out when the function is proved not to be zero there.

use super::search::{Function, Panel};
use super::{Bounds, Interval};
use crate::number::{Dissection, Zero};

/// Pieces after which a function is given up.
const PIECES: usize = 3000;
/// Part of the integral that its pieces may leave open together.
const CLOSE_ENOUGH: f64 = 1e-4;
/// Width of a piece with a corner that is not cut further, over the larger of the bounds.
const NARROW: f64 = 1e-14;
/// Part of the integral that one corner may leave open.
const SMALL: f64 = 1e-20;
/// Width of a place that is not cut further, over the larger of the bounds.
const PLACE: f64 = 1e-13;
/// Halvings that find the ends of a stretch to the last digit of an f64.
const PLACES: usize = 80;
/// Where a place is cut: not in the middle, where people put their zeros.
const CUT: f64 = 0.487_1;

impl Bounds {
    /// Cuts a function into pieces, at `cuts` to begin with, then at every corner and wherever its integral is
    /// not yet known closely.
    pub(crate) fn dissect(
        &self,
        function: Function<'_>,
        from: f64,
        to: f64,
        cuts: &[f64],
    ) -> Dissection {
        let (low, high) = (from.min(to), from.max(to));
        let scale = low.abs().max(high.abs());
        let mut edges = vec![low];
        let mut cuts = cuts.to_vec();
        cuts.sort_by(f64::total_cmp);
        for cut in cuts {
            let reach = 4.0 * f64::EPSILON * cut.abs().max(NARROW * scale);
            edges.extend([cut - reach, cut + reach].map(|edge| edge.clamp(low, high)));
        }
        edges.push(high);
        edges.dedup_by(|next, before| *next <= *before);
        self.nested(|direction| {
            let mut panel =
                |low: f64, high: f64| Panel::of(function, Interval { low, high }, direction, self);
            let ends = edges.iter().zip(edges.iter().skip(1));
            let mut panels: Vec<Panel> = ends.map(|(low, high)| panel(*low, *high)).collect();
            let spoilt = loop {
                let size: f64 = panels.iter().map(|panel| panel.size).sum();
                let doubt: f64 = panels.iter().map(|panel| panel.doubt).sum();
                if let Some(never) = panels.iter().find(|panel| panel.value.is_none()) {
                    break Some(never.over);
                }
                let corner = |panel: &Panel| {
                    panel.rough && panel.over.width() > NARROW * scale && panel.doubt > SMALL * size
                };
                let by_doubt = |a: &(usize, &Panel), b: &(usize, &Panel)| {
                    (corner(a.1), a.1.doubt)
                        .partial_cmp(&(corner(b.1), b.1.doubt))
                        .unwrap_or(std::cmp::Ordering::Equal)
                };
                let worst = panels.iter().enumerate().max_by(by_doubt);
                let Some((worst, corner)) = worst.map(|(at, panel)| (at, corner(panel))) else {
                    break None;
                };
                let close = doubt <= CLOSE_ENOUGH * size && size.is_finite();
                if close && !corner {
                    break None;
                }
                let old = panels.swap_remove(worst);
                let middle = old.over.middle();
                if panels.len() >= PIECES || middle <= old.over.low || middle >= old.over.high {
                    let place = old.over;
                    panels.push(old);
                    break (!close).then_some(place);
                }
                panels.push(panel(old.over.low, middle));
                panels.push(panel(middle, old.over.high));
            };
            panels.sort_by(|a, b| a.over.low.total_cmp(&b.over.low));
            let mut edges: Vec<f64> = panels.iter().map(|panel| panel.over.low).collect();
            edges.push(high);
            let rough = || panels.iter().filter(|panel| panel.rough);
            let mut corners: Vec<f64> =
                rough().flat_map(|panel| [panel.over.low, panel.over.high]).collect();
            corners.dedup();
            let open = rough().map(|panel| panel.doubt).sum();
            let sum = panels.iter().filter_map(|panel| panel.value).reduce(Interval::plus);
            let mut integral = sum.filter(|_| spoilt.is_none());
            if from > to {
                edges.reverse();
                integral = integral.map(Interval::negated);
            }
            Dissection { edges, corners, open, integral, spoilt }
        })
    }

    /// The places where a function may be zero, each as narrow as can be decided, in their order.
    pub(crate) fn zeros(&self, function: Function<'_>, from: f64, to: f64) -> Vec<Zero> {
        let all = Interval::new(from, to);
        let scale = all.low.abs().max(all.high.abs());
        self.nested(|direction| {
            let mut open = vec![all];
            let mut found: Vec<(Zero, bool)> = Vec::new();
            let mut taken = 0;
            while let Some(part) = open.pop() {
                taken += 1;
                let value = function(&self.variable(part, direction));
                let slope = value.slope(direction);
                let middle = part.low + CUT * part.width();
                let mut monotone = false;
                if let Some(range) = value.range {
                    let centre = function(&super::Bound::within(Interval::point(middle))).range;
                    let reach = Interval::new(part.low - middle, part.high - middle);
                    let form = centre.map_or(range, |centre| centre.plus(slope.times(reach)));
                    if range.meet(form).low > 0.0 || range.meet(form).high < 0.0 {
                        continue;
                    }
                    let finite = slope.low.is_finite() && slope.high.is_finite();
                    monotone = finite
                        && value.may.is_none()
                        && (slope.low >= 0.0 || slope.high <= 0.0)
                        && slope != Interval::ZERO;
                }
                if monotone {
                    let mut at = |x: f64| {
                        let point = super::Bound::within(Interval::point(x));
                        function(&point).range.unwrap_or(Interval::ALL)
                    };
                    let (first, last) = (at(part.low), at(part.high));
                    let above = first.low > 0.0 && last.low > 0.0;
                    let below = first.high < 0.0 && last.high < 0.0;
                    if !above && !below {
                        let level = slope.low == 0.0 || slope.high == 0.0;
                        match level.then(|| stretch(&mut at, part)).flatten() {
                            // two zeros stand for a stretch of them
                            Some((low, high)) => {
                                found.push((Zero { within: low, sure: true }, true));
                                found.push((Zero { within: high, sure: true }, false));
                            }
                            None => {
                                found.push((Zero { within: part, sure: true }, slope.low >= 0.0));
                            }
                        }
                    }
                    continue;
                }
                let splits = middle > part.low && middle < part.high;
                if !splits || part.width() <= PLACE * scale || taken > PIECES {
                    found.push((Zero { within: part, sure: false }, false));
                    continue;
                }
                open.push(Interval { low: middle, ..part });
                open.push(Interval { high: middle, ..part });
            }
            let mut merged: Vec<(Zero, bool)> = Vec::new();
            for (zero, rises) in found {
                match merged.last_mut() {
                    // a zero where two pieces touch belongs to both
                    Some((last, same))
                        if last.within.high >= zero.within.low
                            && (last.sure, *same) == (zero.sure, rises) =>
                    {
                        last.within = last.within.hull(zero.within);
                    }
                    _ => merged.push((zero, rises)),
                }
            }
            merged.into_iter().map(|(zero, _)| zero).collect()
        })
    }
}

/// The halves of a stretch on which a function that rises only, or falls only, is zero throughout.
fn stretch(at: &mut dyn FnMut(f64) -> Interval, part: Interval) -> Option<(Interval, Interval)> {
    let rises = at(part.low).low < 0.0 || at(part.high).high > 0.0;
    // the last place that is surely before the zeros, and the first that is surely after them
    let mut edge = |before: bool| {
        let (mut low, mut high) = (part.low, part.high);
        for _ in 0..PLACES {
            let middle = low + (high - low) / 2.0;
            let value = at(middle);
            let (under, over) = (value.high < 0.0, value.low > 0.0);
            let (is_before, is_after) = if rises { (under, over) } else { (over, under) };
            if is_before || !before && !is_after { low = middle } else { high = middle }
        }
        low + (high - low) / 2.0
    };
    let (first, last) = (edge(true), edge(false));
    let middle = first + (last - first) / 2.0;
    let inside = [first + (last - first) / 4.0, middle, last - (last - first) / 4.0];
    let level = last > first && inside.iter().all(|x| at(*x) == Interval::ZERO);
    level.then_some((Interval { low: first, high: middle }, Interval { low: middle, high: last }))
}
