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

    /// Integrals by the Gauss–Kronrod pair 7-15; a panel is halved for all rows until every row is within
    /// 1e-12 of the integral of the magnitude (R. Piessens et al., "QUADPACK", 1983).
    pub(super) fn integrate(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
    ) -> Lanes {
        let count = self.count.get();
        let mut panels = vec![self.panel(function, from, to, 0.0, 1.0)];
        let mut satisfied = vec![false; count];
        loop {
            let mut worst: Option<(usize, f64)> = None;
            for (row, satisfied) in satisfied.iter_mut().enumerate() {
                let magnitude: f64 = panels.iter().map(|panel| panel.magnitude_at(row)).sum();
                let error: f64 = panels.iter().map(|panel| panel.error_at(row)).sum();
                *satisfied = error <= INTEGRAL_TOLERANCE * magnitude || magnitude == 0.0;
                // a row whose function is missing somewhere is not worth another panel
                if *satisfied || !error.is_finite() {
                    continue;
                }
                for (at, panel) in panels.iter().enumerate() {
                    let share = panel.error_at(row) / (INTEGRAL_TOLERANCE * magnitude);
                    if worst.is_none_or(|(_, most)| share > most) {
                        worst = Some((at, share));
                    }
                }
            }
            let Some((at, _)) = worst else { break };
            if panels.len() >= PANELS {
                break;
            }
            let old = panels.swap_remove(at);
            let middle = old.from.midpoint(old.to);
            panels.push(self.panel(function, from, to, old.from, middle));
            panels.push(self.panel(function, from, to, middle, old.to));
        }
        let mut sums = self.buffer();
        let mut worst = 1.0_f64;
        for (row, satisfied) in satisfied.iter().enumerate() {
            let sum: f64 = panels.iter().map(|panel| panel.value_at(row)).sum();
            let magnitude: f64 = panels.iter().map(|panel| panel.magnitude_at(row)).sum();
            sums.push(if *satisfied { sum } else { f64::NAN });
            let loss = if magnitude == 0.0 { 1.0 } else { magnitude / sum.abs() };
            if loss <= 64.0 {
                worst = worst.max(loss);
            } else {
                self.doubt(Some(row));
            }
        }
        // the function's own error, and that of the bounds where it changes by no more than its magnitude
        // times LOSS from one to the other
        let own = panels.iter().fold(0.0_f64, |most, panel| most.max(panel.own))
            + (from.error + to.error + 16.0 * ROUNDING) * LOSS;
        let error = self.bounded((10.0 * INTEGRAL_TOLERANCE + own) * worst);
        Lanes { rows: Rows::Each(sums), error, exact: false, true_zero: false }
    }

    fn panel(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
        start: f64,
        end: f64,
    ) -> Panel {
        let count = self.count.get();
        let mut panel = Panel { from: start, to: end, rows: vec![[0.0; 3]; count], own: 0.0 };
        let mut fewer = vec![0.0; count];
        let (middle, radius) = (start.midpoint(end), (end - start) / 2.0);
        for (node, many, few) in PAIR {
            for sign in [1.0, -1.0] {
                if node == 0.0 && sign < 0.0 {
                    continue;
                }
                let part = middle + sign * node * radius;
                let points = (0..count)
                    .map(|row| {
                        let (a, b) = (from.at(row), to.at(row));
                        a * (1.0 - part) + b * part
                    })
                    .collect();
                let values = self.with_care(Care::NONE, || function(&tried(points)));
                panel.own = panel.own.max(values.error);
                for (row, (sums, fewer)) in panel.rows.iter_mut().zip(&mut fewer).enumerate() {
                    let value = values.at(row) * (to.at(row) - from.at(row)) * radius;
                    let [sum, _, magnitude] = sums;
                    *sum += many * value;
                    *magnitude += many * value.abs();
                    *fewer += few * value;
                }
            }
        }
        for ([sum, error, _], fewer) in panel.rows.iter_mut().zip(fewer) {
            *error = (*sum - fewer).abs();
        }
        panel
    }
}

/// One panel for all rows: value, error, integral of the magnitude.
struct Panel {
    from: f64,
    to: f64,
    rows: Vec<[f64; 3]>,
    /// Bound of the relative error of the function's values.
    own: f64,
}

impl Panel {
    fn value_at(&self, row: usize) -> f64 {
        self.rows.get(row).map_or(f64::NAN, |[value, _, _]| *value)
    }

    fn error_at(&self, row: usize) -> f64 {
        self.rows.get(row).map_or(f64::NAN, |[_, error, _]| *error)
    }

    fn magnitude_at(&self, row: usize) -> f64 {
        self.rows.get(row).map_or(f64::NAN, |[_, _, magnitude]| *magnitude)
    }
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
