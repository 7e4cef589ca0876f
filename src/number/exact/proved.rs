//! Roots and integrals of exact decimals that bounds confirm: nothing hides between the points that were tried.

use std::sync::Arc;

use super::Exact;
use super::checked::{Checked, at, size};
use super::search::{integral, root};
use crate::diagnostic::Name;
use crate::number::{Fault, Integrand, Interval, Zero};
use crate::program::LineId;

/// Part of a function's size between the bounds that it may have beside a root.
const STEEP: f64 = 1e-6;

/// The integral of a function, cut at its corners, within what bounds enclose.
///
/// # Errors
/// [`Name::NotConverged`] with the place where bounds cannot confirm it.
pub(super) fn proved_integral(
    function: &mut dyn Integrand<Checked>,
    from: &Exact,
    to: &Exact,
    line: LineId,
) -> Checked {
    if from.stands_to(to).is_eq() {
        return integral(&mut |x| function.at(&Ok(*x)), &[*from, *to], line);
    }
    let corners = straight_corners(function, from, to, line)?;
    let mut edges = vec![*from];
    edges.extend(&corners);
    edges.push(*to);
    let value = integral(&mut |x| function.at(&Ok(*x)), &edges, line);
    if value.as_ref().is_err_and(|fault| fault.name != Name::NotConverged) {
        return value;
    }
    let cuts: Vec<f64> = corners.iter().map(Exact::to_f64).collect();
    let Some(pieces) = function.dissect(from.to_f64(), to.to_f64(), &cuts) else { return value };
    let Some(enclosure) = pieces.integral else {
        return Err(unconfirmed(pieces.spoilt, line));
    };
    if let Ok(value) = &value
        && pieces.corners.is_empty()
        && agrees(value, enclosure)
    {
        return Ok(*value);
    }
    // a corner between the last point of a panel and its end is seen by no point: every one is an end
    let inner = pieces.edges.get(1..pieces.edges.len().saturating_sub(1)).unwrap_or_default();
    for ends in [pieces.corners.as_slice(), inner] {
        let value = along(function, (from, to), &corners, ends, line)?;
        if agrees(&value, enclosure) {
            return Ok(value.widened(pieces.open, 0));
        }
    }
    Err(unconfirmed(None, line))
}

/// The integral along the corners that are known and further ends of pieces.
fn along(
    function: &mut dyn Integrand<Checked>,
    (from, to): (&Exact, &Exact),
    corners: &[Exact],
    ends: &[f64],
    line: LineId,
) -> Checked {
    let mut edges = vec![*from];
    let (low, high) = (from.to_f64().min(to.to_f64()), from.to_f64().max(to.to_f64()));
    for end in ends.iter().filter(|end| **end > low && **end < high) {
        edges.push(at(line, Exact::from_f64(*end))?);
    }
    edges.extend(corners);
    edges.push(*to);
    let rises = to.stands_to(from).is_ge();
    edges.sort_by(|a, b| if rises { a.stands_to(b) } else { b.stands_to(a) });
    edges.dedup_by(|a, b| a.stands_to(b).is_eq());
    integral(&mut |x| function.at(&Ok(*x)), &edges, line)
}

/// The corners between two bounds that follow from straight lines, in the order of the bounds.
fn straight_corners(
    function: &mut dyn Integrand<Checked>,
    from: &Exact,
    to: &Exact,
    line: LineId,
) -> Result<Vec<Exact>, Arc<Fault>> {
    let (first, last) = (from.bare(), to.bare());
    let at_first = function.corners(&Ok(first));
    if at_first.is_empty() {
        return Ok(Vec::new());
    }
    let at_last = function.corners(&Ok(last));
    let width = last.sum(&first.negated());
    let mut found: Vec<(f64, Exact)> = Vec::new();
    for (a, b) in at_first.into_iter().zip(at_last) {
        let (Ok(a), Ok(b)) = (a, b) else { continue };
        if a.is_like_zero() || b.is_like_zero() || a.digits().signum() == b.digits().signum() {
            continue;
        }
        let part = at(line, a.over(&a.sum(&b.negated())))?;
        let x = first.sum(&at(line, width.times(&part))?).bare();
        found.push((part.to_f64(), x));
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.dedup_by(|a, b| a.1.stands_to(&b.1).is_eq());
    Ok(found.into_iter().map(|(_, x)| x).collect())
}

fn agrees(value: &Exact, enclosure: Interval) -> bool {
    let x = value.to_f64();
    // the ends of the pieces are rounded to f64
    let rounding = 1e-9 * enclosure.absolute().high;
    enclosure.low - rounding <= x && x <= enclosure.high + rounding
}

fn unconfirmed(place: Option<Interval>, line: LineId) -> Arc<Fault> {
    let near = place.and_then(|place| Exact::from_f64(place.middle()).ok());
    let words = match near {
        Some(near) => format!("the function cannot be enclosed near {near:.6}"),
        None => "the sum lies outside what encloses it".to_owned(),
    };
    Arc::new(Fault::new(Name::NotConverged, line, words).at(near.as_slice()))
}

/// The root of a function that is continuous there and has no other between the bounds.
///
/// # Errors
/// [`Name::NotContinuous`] where the function jumps or has a pole, [`Name::SeveralRoots`] where it is zero, or may
/// be, somewhere else as well.
pub(super) fn proved_root(
    function: &mut dyn Integrand<Checked>,
    from: &Exact,
    to: &Exact,
    line: LineId,
) -> Checked {
    let found = root(&mut |x| function.at(&Ok(*x)), from, to, line)?;
    let Some(zeros) = function.zeros(from.to_f64(), to.to_f64()) else { return Ok(found) };
    let x = found.to_f64();
    let reach = 1e-12 * size(from).max(size(to));
    let is_here = |zero: &&Zero| zero.within.low - reach <= x && x <= zero.within.high + reach;
    if let [only] = zeros.as_slice()
        && only.sure
    {
        return Ok(found);
    }
    let here: Vec<&Zero> = zeros.iter().filter(is_here).collect();
    if !here.iter().any(|zero| zero.sure) {
        let mut beside = |x: f64| function.at(&at(line, Exact::from_f64(x)));
        let step = 1e-6 * (to.to_f64() - from.to_f64()).abs();
        let mut is_zero = |x: f64| beside(x).is_ok_and(|value| size(&value) == 0.0);
        let mut all_zero = |way: f64| [0.0, 0.5, 1.0].iter().all(|part| is_zero(x + part * way));
        if all_zero(step) || all_zero(-step) {
            let words = format!("it is zero all along a stretch near {found:.6}");
            return Err(Arc::new(Fault::new(Name::SeveralRoots, line, words).at(&[found])));
        }
        let ends = here.iter().map(|zero| zero.within).reduce(Interval::hull);
        let ends = ends.unwrap_or(Interval::point(x));
        let (low, high) = (from.to_f64().min(to.to_f64()), from.to_f64().max(to.to_f64()));
        let left = beside((ends.low - reach).max(low));
        let right = beside((ends.high + reach).min(high));
        let scale = [beside(low), beside(high)];
        let scale = scale.iter().flatten().map(size).fold(0.0, f64::max);
        if let (Ok(left), Ok(right)) = (&left, &right)
            && size(left).max(size(right)) <= STEEP * scale
        {
            let words = format!("whether it is zero once near {found:.6} cannot be proved");
            return Err(Arc::new(Fault::new(Name::NotConverged, line, words).at(&[found])));
        }
        let value = |value: &Checked| {
            value.as_ref().map_or_else(|_| "nothing".to_owned(), |value| format!("{value:.6}"))
        };
        let words = format!(
            "near {found:.6} it goes from {} to {} without being zero",
            value(&left),
            value(&right)
        );
        return Err(Arc::new(Fault::new(Name::NotContinuous, line, words).at(&[found])));
    }
    let other = zeros.iter().find(|zero| !is_here(zero));
    // the place itself, where it is not yet narrow
    let narrowed = other.filter(|zero| zero.sure).and_then(|zero| {
        let ends = [zero.within.low, zero.within.high].map(Exact::from_f64);
        let [Ok(low), Ok(high)] = ends else { return None };
        root(&mut |x| function.at(&Ok(*x)), &low, &high, line).ok()
    });
    let other = match narrowed {
        Some(other) => other,
        None => at(line, Exact::from_f64(other.map_or(x, |zero| zero.within.middle())))?,
    };
    let words = format!("near {found:.6} and near {other:.6}");
    Err(Arc::new(Fault::new(Name::SeveralRoots, line, words).at(&[found, other])))
}
