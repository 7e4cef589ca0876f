//! Roots and integrals that bounds confirm: nothing hides between the points that were tried. A row in which it is
//! not confirmed goes to exact decimals.

use super::{ColumnSystem, MISSING, OnBounds, ROUNDING, Rows, Truths, Vector, YES};
use crate::number::{Bound, Integrand, Interval, Possible};

/// Part of an integral that the ends of pieces, rounded to f64, may leave open.
const ROUNDED: f64 = 1e-9;
/// Part of an integral that the places of its corners may leave open.
const OPEN: f64 = 1e-11;
/// Ends of pieces with a corner beyond which a row goes to exact decimals.
const CORNERS: usize = 16;

impl ColumnSystem<'_> {
    /// Whether each root is the only one, and no jump; first of all rows at once.
    pub(super) fn prove_roots(
        &self,
        function: &mut dyn Integrand<Vector>,
        from: &Vector,
        to: &Vector,
    ) {
        let mut is_one = |which: OnBounds, from: f64, to: f64| {
            self.on_bounds.set(which);
            let zeros = function.zeros(from, to);
            self.on_bounds.set(OnBounds::Nothing);
            matches!(zeros.as_deref(), Some([only]) if only.sure)
        };
        let all = from.span.joined(to.span);
        if !all.missing && is_one(OnBounds::Every, all.low, all.high) {
            return;
        }
        for row in self.rows_without_doubt() {
            if !is_one(OnBounds::One(row), from.at(row), to.at(row)) {
                self.doubt(Some(row));
            }
        }
    }

    /// An integral that may have corners anywhere: cut at each that bounds find, and held against what they enclose.
    pub(super) fn proved_integral(
        &self,
        function: &mut dyn Integrand<Vector>,
        (from, to): (&Vector, &Vector),
        mut cuts: Vec<Vec<f64>>,
    ) -> Vector {
        let count = self.count.get();
        cuts.resize(count, Vec::new());
        let mut enclosures = Vec::with_capacity(count);
        for (row, cuts) in cuts.iter_mut().enumerate() {
            let (low, high) = (from.at(row), to.at(row));
            if low == high {
                enclosures.push(Some((Interval::ZERO, 0.0)));
                continue;
            }
            let places: Vec<f64> =
                cuts.iter().map(|part| low * (1.0 - part) + high * part).collect();
            self.on_bounds.set(OnBounds::One(row));
            let pieces = function.dissect(low, high, &places);
            self.on_bounds.set(OnBounds::Nothing);
            let pieces = pieces.filter(|pieces| pieces.corners.len() <= CORNERS);
            enclosures.push(pieces.and_then(|pieces| {
                cuts.extend(pieces.corners.iter().map(|corner| (corner - low) / (high - low)));
                cuts.retain(|part| *part > 0.0 && *part < 1.0);
                cuts.sort_by(f64::total_cmp);
                cuts.dedup();
                Some((pieces.integral?, pieces.open))
            }));
        }
        let integral = self.integrate(&mut |x| function.at(x), from, to, &cuts);
        for (row, enclosure) in enclosures.into_iter().enumerate() {
            let found = integral.at(row);
            let agrees = enclosure.is_some_and(|(within, open)| {
                let beside = ROUNDED * within.absolute().high;
                within.low - beside <= found
                    && found <= within.high + beside
                    && open <= OPEN * found.abs()
            });
            if !agrees && !found.is_nan() {
                self.doubt(Some(row));
            }
        }
        integral
    }

    fn rows_without_doubt(&self) -> Vec<usize> {
        let doubtful = self.doubtful.borrow();
        doubtful.iter().enumerate().filter_map(|(row, mark)| (!mark).then_some(row)).collect()
    }

    pub(super) fn lanes_on_bounds(&self, lanes: &Vector) -> Option<Bound> {
        let (low, high, error) = match self.on_bounds.get() {
            OnBounds::Nothing => return None,
            OnBounds::Every => (lanes.span.low, lanes.span.high, lanes.error),
            OnBounds::One(row) => (lanes.at(row), lanes.at(row), lanes.error_at(Some(row))),
        };
        let missing = matches!(self.on_bounds.get(), OnBounds::Every) && lanes.span.missing;
        if missing || low.is_nan() || high.is_nan() {
            return None;
        }
        let part = if lanes.exact { 0.0 } else { 2.0 * error + ROUNDING };
        Some(Bound::within(Interval::new(low - part * low.abs(), high + part * high.abs())))
    }

    pub(super) fn truths_on_bounds(&self, truths: &Truths) -> Option<Possible> {
        let truth = match (self.on_bounds.get(), &truths.rows) {
            (OnBounds::Nothing, _) => return None,
            (OnBounds::One(row), _) => truths.at(row),
            (OnBounds::Every, Rows::Same(truth)) => *truth,
            (OnBounds::Every, Rows::Each(_)) if truths.has_missing() => MISSING,
            (OnBounds::Every, Rows::Each(_)) => {
                return Some(Possible::open());
            }
        };
        (truth != MISSING).then(|| Possible::surely(truth == YES))
    }
}
