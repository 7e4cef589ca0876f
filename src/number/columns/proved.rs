//! Roots and integrals that bounds confirm: nothing hides between the points that were tried. A row in which it is
//! not confirmed goes to exact decimals.

use super::{Chunks, Lanes, MISSING, OnBounds, ROUNDING, Rows, Truths, YES};
use crate::number::{Bound, Integrand, Interval, Possible};

/// Part of an integral that the ends of pieces, rounded to f64, may leave open.
const ROUNDED: f64 = 1e-9;

impl Chunks<'_> {
    /// Whether each root is the only one, and no jump; first of all rows at once.
    pub(super) fn prove_roots(
        &self,
        function: &mut dyn Integrand<Lanes>,
        from: &Lanes,
        to: &Lanes,
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

    /// Whether each integral lies where bounds enclose it.
    pub(super) fn prove_integrals(
        &self,
        function: &mut dyn Integrand<Lanes>,
        (from, to): (&Lanes, &Lanes),
        integral: &Lanes,
        cuts: &[Vec<f64>],
    ) {
        for row in self.rows_without_doubt() {
            let (low, high) = (from.at(row), to.at(row));
            if low == high {
                continue;
            }
            let cuts = cuts.get(row).into_iter().flatten();
            let cuts: Vec<f64> = cuts.map(|part| low * (1.0 - part) + high * part).collect();
            self.on_bounds.set(OnBounds::One(row));
            let pieces = function.dissect(low, high, &cuts);
            self.on_bounds.set(OnBounds::Nothing);
            let lies_in = |enclosure: Interval| {
                let beside = ROUNDED * enclosure.absolute().high;
                let found = integral.at(row);
                enclosure.low - beside <= found && found <= enclosure.high + beside
            };
            if !pieces.and_then(|pieces| pieces.integral).is_some_and(lies_in) {
                self.doubt(Some(row));
            }
        }
    }

    fn rows_without_doubt(&self) -> Vec<usize> {
        let doubtful = self.doubtful.borrow();
        doubtful.iter().enumerate().filter_map(|(row, mark)| (!mark).then_some(row)).collect()
    }

    pub(super) fn lanes_on_bounds(&self, lanes: &Lanes) -> Option<Bound> {
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
