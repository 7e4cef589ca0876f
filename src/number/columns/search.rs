//! Roots and integrals of columns, all rows in step.

use super::nodes::PAIR;
use super::{Care, Chunks, LOSS, Lanes, ROUNDING, Rows};

/// Width of the bracket of a root, over the larger of the two bounds.
const ROOT_TOLERANCE: f64 = 1e-12;
/// Distance over the larger bound at which the change of sign is looked at again.
const ROOT_CERTAIN: f64 = 1e-11;
/// Error of an integral, over the integral of the function's magnitude.
const INTEGRAL_TOLERANCE: f64 = 1e-12;
/// Evaluations after which a row goes to exact decimals.
const ROOT_STEPS: usize = 120;
/// Panels after which a row goes to exact decimals.
const PANELS: usize = 200;

/// Share of an integral's points, by weight, that may lose digits before the integral is doubtful.
const DOUBTED: f64 = 0.1;

/// One row of a root under way.
#[derive(Clone, Copy)]
struct Bracket {
    a: f64,
    b: f64,
    fa: f64,
    fb: f64,
    part: f64,
    tolerance: f64,
    done: bool,
}

impl Chunks<'_> {
    /// Roots by the method of T. R. Chandrupatla (Advances in Engineering Software 28, 1997), to 1e-12 of
    /// the larger bound; where the sign does not change within 1e-11 on both sides, the row is doubtful.
    pub(super) fn find_root(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
    ) -> Lanes {
        let count = self.count.get();
        let mut at =
            |care: Care, points: Vec<f64>| self.with_care(care, || function(&tried(points)));
        let starts: Vec<f64> = (0..count).map(|row| from.at(row)).collect();
        let ends: Vec<f64> = (0..count).map(|row| to.at(row)).collect();
        let (first, last) = (at(Care::NONE, starts.clone()), at(Care::NONE, ends.clone()));
        let mut rows: Vec<Bracket> = starts
            .iter()
            .zip(&ends)
            .enumerate()
            .map(|(row, (a, b))| Bracket::new(*a, *b, first.at(row), last.at(row)))
            .collect();
        for _ in 0..ROOT_STEPS {
            if rows.iter().all(|row| row.done) {
                break;
            }
            let values = at(Care::NONE, rows.iter().map(Bracket::next).collect());
            for (row, bracket) in rows.iter_mut().enumerate() {
                bracket.narrow(values.at(row));
            }
        }
        let distance = |row: &Bracket| row.tolerance / ROOT_TOLERANCE * ROOT_CERTAIN;
        let left = at(Care::SIGNS, rows.iter().map(|row| row.best() - distance(row)).collect());
        let right = at(Care::SIGNS, rows.iter().map(|row| row.best() + distance(row)).collect());
        let mut roots = self.buffer();
        let mut worst = 1.0_f64;
        for (row, bracket) in rows.iter().enumerate() {
            let root = if bracket.done { bracket.best() } else { f64::NAN };
            roots.push(root);
            let loss = bracket.tolerance / ROOT_TOLERANCE / root.abs();
            let certain = left.at(row) * right.at(row) < 0.0;
            if certain && loss <= 64.0 {
                worst = worst.max(loss);
            } else {
                self.doubt(Some(row));
            }
        }
        let error = self.bounded(ROOT_CERTAIN * worst);
        Lanes { rows: Rows::Each(roots), error, exact: false, true_zero: false }
    }

    /// Integrals by the Gauss–Kronrod pair 7-15; each row halves its own worst panel, all rows in step, until
    /// the two rules, and a panel and its halves, agree to 1e-12 of the integral of the magnitude
    /// (R. Piessens et al., "QUADPACK", 1983).
    pub(super) fn integrate(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
    ) -> Lanes {
        let ends: Vec<_> = (0..self.count.get()).map(|row| (from.at(row), to.at(row))).collect();
        let mut own = (0.0_f64, Tally(vec![(0.0, 0.0); ends.len()]));
        let mut panels = |parts: &[(f64, f64)]| self.panels(function, &ends, parts, &mut own);
        let all = vec![(0.0, 1.0); ends.len()];
        let mut rows: Vec<Vec<Panel>> = panels(&all)
            .into_iter()
            // the first panel is always halved once, so that two answers are compared
            .map(|panel| vec![Panel { error: panel.error.max(panel.magnitude), ..panel }])
            .collect();
        for _ in 0..PANELS {
            // a row that is done goes along without an effect
            let worst: Vec<Option<usize>> = rows.iter().map(|row| next_panel(row)).collect();
            if worst.iter().all(Option::is_none) {
                break;
            }
            let mut whole = Vec::with_capacity(rows.len());
            let mut left = Vec::with_capacity(rows.len());
            let mut right = Vec::with_capacity(rows.len());
            for (row, worst) in rows.iter_mut().zip(&worst) {
                let panel = worst.map(|at| row.swap_remove(at));
                let (from, to) = panel.map_or((0.0, 1.0), |panel| (panel.from, panel.to));
                whole.push(panel);
                let middle = from.midpoint(to);
                left.push((from, middle));
                right.push((middle, to));
            }
            let halves = panels(&left).into_iter().zip(panels(&right));
            for ((row, whole), (mut left, mut right)) in rows.iter_mut().zip(&whole).zip(halves) {
                if let Some(whole) = whole {
                    // a corner between the last node and the end of a panel shows up here alone
                    let apart = (whole.value - left.value - right.value).abs() / 2.0;
                    left.error = left.error.max(apart);
                    right.error = right.error.max(apart);
                    row.extend([left, right]);
                }
            }
        }
        let mut sums = self.buffer();
        let mut worst = 1.0_f64;
        for (row, panels) in rows.iter().enumerate() {
            let sum: f64 = panels.iter().map(|panel| panel.value).sum();
            let magnitude: f64 = panels.iter().map(|panel| panel.magnitude).sum();
            let error: f64 = panels.iter().map(|panel| panel.error).sum();
            // also where the error is NaN
            let satisfied = error <= INTEGRAL_TOLERANCE * magnitude;
            sums.push(if satisfied { sum } else { f64::NAN });
            let loss = if magnitude == 0.0 { 1.0 } else { magnitude / sum.abs() };
            if loss <= 64.0 {
                worst = worst.max(loss);
            } else {
                self.doubt(Some(row));
            }
        }
        // the function's own error, and that of the bounds where it changes by no more than its magnitude
        // times LOSS from one to the other
        let (mut own, tally) = own;
        own += (from.error + to.error + 16.0 * ROUNDING) * LOSS;
        for (row, (all, doubted)) in tally.0.iter().enumerate() {
            if *doubted > DOUBTED * all {
                self.doubt(Some(row));
            }
        }
        let error = self.bounded((10.0 * INTEGRAL_TOLERANCE + own) * worst);
        Lanes { rows: Rows::Each(sums), error, exact: false, true_zero: false }
    }

    /// One panel of each row, from and to a part of the way between its bounds.
    fn panels(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        ends: &[(f64, f64)],
        parts: &[(f64, f64)],
        own: &mut (f64, Tally),
    ) -> Vec<Panel> {
        let tally = &mut own.1;
        let mut panels: Vec<_> = parts
            .iter()
            .map(|(from, to)| Panel { from: *from, to: *to, ..Panel::default() })
            .collect();
        for (node, many, few) in PAIR {
            for sign in [1.0, -1.0] {
                if node == 0.0 && sign < 0.0 {
                    continue;
                }
                let points = ends
                    .iter()
                    .zip(parts)
                    .map(|((a, b), (from, to))| {
                        let part = from.midpoint(*to) + sign * node * (to - from) / 2.0;
                        a * (1.0 - part) + b * part
                    })
                    .collect();
                let weights = parts.iter().map(|(from, to)| many * (to - from));
                let values = self.tallied(tally, weights, || function(&tried(points)));
                own.0 = own.0.max(values.error);
                for (row, (panel, (a, b))) in panels.iter_mut().zip(ends).enumerate() {
                    let value = values.at(row) * (b - a) * (panel.to - panel.from) / 2.0;
                    panel.value += many * value;
                    panel.magnitude += many * value.abs();
                    panel.fewer += few * value;
                }
            }
        }
        for panel in &mut panels {
            panel.error = (panel.value - panel.fewer).abs();
        }
        panels
    }
}

impl Chunks<'_> {
    /// Weighs the rows that a function makes doubtful instead of marking them: a few points of an integral
    /// may lose digits, near a zero of the function, without harm to the sum.
    fn tallied<R>(
        &self,
        tally: &mut Tally,
        weights: impl Iterator<Item = f64>,
        work: impl FnOnce() -> R,
    ) -> R {
        let clear = vec![false; self.count.get()];
        let before = self.doubtful.replace(clear);
        let result = work();
        let marks = self.doubtful.replace(before);
        for (((all, doubted), mark), weight) in tally.0.iter_mut().zip(marks).zip(weights) {
            *all += weight;
            *doubted += if mark { weight } else { 0.0 };
        }
        result
    }
}

/// Weights of the points at which the function of an integral was worked out, all and with doubt, by row.
struct Tally(Vec<(f64, f64)>);

/// The panel to halve next; none if the row is within its tolerance or its function is missing somewhere.
fn next_panel(panels: &[Panel]) -> Option<usize> {
    let magnitude: f64 = panels.iter().map(|panel| panel.magnitude).sum();
    let error: f64 = panels.iter().map(|panel| panel.error).sum();
    if error <= INTEGRAL_TOLERANCE * magnitude || !error.is_finite() {
        return None;
    }
    let by_error = |a: &(usize, &Panel), b: &(usize, &Panel)| a.1.error.total_cmp(&b.1.error);
    panels.iter().enumerate().max_by(by_error).map(|(at, _)| at)
}

/// One panel of one row: parts of the way between the bounds, integral, error, integral of the magnitude.
#[derive(Clone, Copy, Default)]
struct Panel {
    from: f64,
    to: f64,
    value: f64,
    fewer: f64,
    error: f64,
    magnitude: f64,
}

impl Bracket {
    fn new(a: f64, b: f64, fa: f64, fb: f64) -> Self {
        let tolerance = ROOT_TOLERANCE * a.abs().max(b.abs());
        // no change of sign, or a missing value: the root is missing and exact decimals say why
        let done = fa * fb >= 0.0 || fa.is_nan() || fb.is_nan();
        let (a, b) = if done { (f64::NAN, f64::NAN) } else { (a, b) };
        Self { a, b, fa, fb, part: 0.5, tolerance, done }
    }

    fn next(&self) -> f64 {
        if self.done { self.a } else { self.a + self.part * (self.b - self.a) }
    }

    fn best(&self) -> f64 {
        if self.fa.abs() < self.fb.abs() { self.a } else { self.b }
    }

    fn narrow(&mut self, fx: f64) {
        if self.done {
            return;
        }
        let x = self.next();
        if fx.is_nan() {
            (self.a, self.b, self.done) = (f64::NAN, f64::NAN, true);
            return;
        }
        let (c, fc);
        if (fx > 0.0) == (self.fa > 0.0) {
            (c, fc) = (self.a, self.fa);
        } else {
            (c, fc) = (self.b, self.fb);
            (self.b, self.fb) = (self.a, self.fa);
        }
        (self.a, self.fa) = (x, fx);
        let (a, b, fa, fb) = (self.a, self.b, self.fa, self.fb);
        let width = (b - a).abs();
        if fx == 0.0 || width <= self.tolerance {
            self.done = true;
            return;
        }
        let xi = (a - b) / (c - b);
        let phi = (fa - fb) / (fc - fb);
        let quadratic =
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb);
        let safe = phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi && quadratic.is_finite();
        let least = (self.tolerance / width / 2.0).min(0.5);
        self.part = if safe { quadratic.clamp(least, 1.0 - least) } else { 0.5 };
    }
}

/// Points at which a function is tried.
fn tried(points: Vec<f64>) -> Lanes {
    Lanes { rows: Rows::Each(points), error: ROUNDING, exact: false, true_zero: true }
}
