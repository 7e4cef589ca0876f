//! Roots and integrals of columns, all rows in step.

use super::nodes::PAIR;
use super::span::Span;
use super::{Care, Chunks, Lanes, ROUNDING, Rows};
use crate::number::System;
use crate::program::{Binary, LineId};

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

/// By how many times its magnitude the function of an integral may change from one bound to the other.
const CHANGE: f64 = 4096.0;
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
        let mut at = |care: Care, points: Vec<f64>| {
            self.with_care(care, || function(&tried(Rows::each(points))))
        };
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
        let span = Span::of_each(&roots);
        Lanes { span, rows: Rows::each(roots), ..Lanes::approximate(error, from.tried || to.tried) }
    }

    /// Integrals by the Gauss–Kronrod pair 7-15; each row halves its own worst panel, all rows in step, until
    /// the two rules, and a panel and its halves, agree to 1e-12 of the integral of the magnitude
    /// (R. Piessens et al., "QUADPACK", 1983). What does not depend on the argument is a product.
    pub(super) fn integrate(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
    ) -> Lanes {
        let first = self.point(&from.rows, &to.rows, 0.5);
        let value = self.with_care(Care::NONE, || function(&tried(first)));
        if !value.tried && !value.span.missing {
            let width = self.binary(Binary::Subtract, to, from, LineId(0));
            return self.product(&value, &width);
        }
        let mut own = Own::new(self.count.get());
        // the first panel is always halved once, so that two answers are compared
        let whole = self.panel(function, from, to, (0.0, 1.0), &mut own);
        let left = self.panel(function, from, to, (0.0, 0.5), &mut own);
        let right = self.panel(function, from, to, (0.5, 1.0), &mut own);
        let (mut sums, mut worst, mut done) = (self.buffer(), 1.0_f64, true);
        for row in 0..self.count.get() {
            let (whole, left, right) = (whole.at(row), left.at(row), right.at(row));
            let sum = left.value + right.value;
            let magnitude = left.magnitude + right.magnitude;
            let apart = (whole.value - sum).abs() / 2.0;
            let error = left.error.max(apart) + right.error.max(apart);
            done &= error <= INTEGRAL_TOLERANCE * magnitude;
            worst = if magnitude > worst * sum.abs() { magnitude / sum.abs() } else { worst };
            sums.push(sum);
        }
        if !done || worst > 64.0 {
            let halves = (whole, left, right);
            (sums, worst) = self.halved(function, from, to, &halves, &mut own);
        }
        for row in own.doubtful() {
            self.doubt(Some(row));
        }
        // the function's own error, and that of the bounds
        let bounds = (from.error + to.error + 16.0 * ROUNDING) * CHANGE;
        let error = self.bounded((10.0 * INTEGRAL_TOLERANCE + own.error + bounds) * worst);
        let span = Span::of_each(&sums);
        let tried = from.tried || to.tried;
        Lanes { span, rows: Rows::each(sums), ..Lanes::approximate(error, tried) }
    }

    /// Goes on halving where two panels do not do; gives the integrals and the largest loss of digits.
    fn halved(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
        (whole, left, right): &(Wave, Wave, Wave),
        own: &mut Own,
    ) -> (Vec<f64>, f64) {
        let ends: Vec<_> = (0..self.count.get()).map(|row| (from.at(row), to.at(row))).collect();
        let joined = |whole: Panel, [mut left, mut right]: [Panel; 2]| {
            // a corner between the last node and the end of a panel shows up here alone
            let apart = (whole.value - left.value - right.value).abs() / 2.0;
            left.error = left.error.max(apart);
            right.error = right.error.max(apart);
            [left, right]
        };
        let mut rows: Vec<Vec<Panel>> = (0..ends.len())
            .map(|row| joined(whole.at(row), [left.at(row), right.at(row)]).to_vec())
            .collect();
        for _ in 0..PANELS {
            // a row that is done goes along without an effect
            let worst: Vec<Option<usize>> = rows.iter().map(|row| next_panel(row)).collect();
            if worst.iter().all(Option::is_none) {
                break;
            }
            let mut whole = Vec::with_capacity(rows.len());
            let (mut left, mut right) = (Vec::new(), Vec::new());
            for (row, worst) in rows.iter_mut().zip(&worst) {
                let panel = worst.map(|at| row.swap_remove(at));
                let (from, to) = panel.map_or((0.0, 1.0), |panel| (panel.from, panel.to));
                whole.push(panel);
                let middle = from.midpoint(to);
                left.push((from, middle));
                right.push((middle, to));
            }
            let left = self.panels(function, &ends, &left, own);
            let halves = left.into_iter().zip(self.panels(function, &ends, &right, own));
            for ((row, whole), (left, right)) in rows.iter_mut().zip(&whole).zip(halves) {
                if let Some(whole) = whole {
                    row.extend(joined(*whole, [left, right]));
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
        (sums, worst)
    }

    /// A part of the way between two bounds.
    fn point(&self, from: &Rows<f64>, to: &Rows<f64>, part: f64) -> Rows<f64> {
        self.zip(from, to, |a, b| a * (1.0 - part) + b * part)
    }

    /// The same panel of every row, from and to a part of the way between its bounds.
    fn panel(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
        (low, high): (f64, f64),
        own: &mut Own,
    ) -> Wave {
        let count = self.count.get();
        let zeros = || {
            let mut zeros = self.buffer();
            zeros.resize(count, 0.0);
            zeros
        };
        let (mut value, mut fewer, mut magnitude) = (zeros(), zeros(), zeros());
        let mut positive = true;
        for (node, many, few) in nodes() {
            let part = low.midpoint(high) + node * (high - low) / 2.0;
            let point = tried(self.point(&from.rows, &to.rows, part));
            let found = self.tallied(own, |_| many * (high - low), || function(&point));
            self.recycle(point);
            own.take(&found);
            positive &= found.span.low >= 0.0;
            match &found.rows {
                Rows::Same(one) => {
                    value.iter_mut().for_each(|to| *to += many * one);
                    fewer.iter_mut().for_each(|to| *to += few * one);
                    magnitude.iter_mut().for_each(|to| *to += many * one.abs());
                }
                Rows::Each(each) => {
                    add(&mut value, each, |x| many * x);
                    if few != 0.0 {
                        add(&mut fewer, each, |x| few * x);
                    }
                    if !positive {
                        add(&mut magnitude, each, |x| many * x.abs());
                    }
                }
            }
            self.recycle(found);
        }
        if positive {
            magnitude.clone_from(&value);
        }
        let half = (high - low) / 2.0;
        let widths = self.zip(&from.rows, &to.rows, |a, b| (b - a) * half);
        match &widths {
            Rows::Same(width) => {
                value.iter_mut().for_each(|to| *to *= width);
                fewer.iter_mut().for_each(|to| *to *= width);
                magnitude.iter_mut().for_each(|to| *to *= width.abs());
            }
            Rows::Each(widths) => {
                scale(&mut value, widths, |width| width);
                scale(&mut fewer, widths, |width| width);
                scale(&mut magnitude, widths, f64::abs);
            }
        }
        Wave { from: low, to: high, value, fewer, magnitude }
    }

    /// One panel of each row, from and to a part of the way between its bounds.
    fn panels(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        ends: &[(f64, f64)],
        parts: &[(f64, f64)],
        own: &mut Own,
    ) -> Vec<Panel> {
        let mut panels: Vec<_> = parts
            .iter()
            .map(|(from, to)| Panel { from: *from, to: *to, ..Panel::default() })
            .collect();
        let mut fewer = vec![0.0; parts.len()];
        for (node, many, few) in nodes() {
            let points = ends.iter().zip(parts).map(|((a, b), (from, to))| {
                let part = from.midpoint(*to) + node * (to - from) / 2.0;
                a * (1.0 - part) + b * part
            });
            let points = tried(Rows::each(points.collect()));
            let weight = |row: usize| parts.get(row).map_or(0.0, |(from, to)| many * (to - from));
            let values = self.tallied(own, weight, || function(&points));
            own.take(&values);
            let rows = panels.iter_mut().zip(&mut fewer).zip(ends);
            for (row, ((panel, fewer), (a, b))) in rows.enumerate() {
                let value = values.at(row) * (b - a) * (panel.to - panel.from) / 2.0;
                panel.value += many * value;
                panel.magnitude += many * value.abs();
                *fewer += few * value;
            }
        }
        for (panel, fewer) in panels.iter_mut().zip(fewer) {
            panel.error = (panel.value - fewer).abs();
        }
        panels
    }

    /// Weighs the rows that a function makes doubtful instead of marking them: a few points of an integral
    /// may lose digits, near a zero of the function, without harm to the sum.
    fn tallied<R>(
        &self,
        own: &mut Own,
        weight: impl Fn(usize) -> f64,
        work: impl FnOnce() -> R,
    ) -> R {
        let clear = std::mem::take(&mut own.clear);
        let before = (self.doubtful.replace(clear), self.any_doubtful.replace(false));
        let result = work();
        own.clear = self.doubtful.replace(before.0);
        let any = self.any_doubtful.replace(before.1);
        for (row, (all, doubted)) in own.weights.iter_mut().enumerate() {
            *all += weight(row);
            if any && own.clear.get_mut(row).is_some_and(std::mem::take) {
                *doubted += weight(row);
            }
        }
        result
    }
}

fn add(to: &mut [f64], from: &[f64], term: impl Fn(f64) -> f64) {
    to.iter_mut().zip(from).for_each(|(to, from)| *to += term(*from));
}

fn scale(to: &mut [f64], by: &[f64], factor: impl Fn(f64) -> f64) {
    to.iter_mut().zip(by).for_each(|(to, by)| *to *= factor(*by));
}

/// Nodes from −1 to 1 of the pair, with their weights among 15 and among 7.
fn nodes() -> impl Iterator<Item = (f64, f64, f64)> {
    let mirrored = PAIR.iter().filter(|(node, ..)| *node != 0.0);
    let mirrored = mirrored.map(|(node, many, few)| (-node, *many, *few));
    PAIR.iter().copied().chain(mirrored)
}

/// What the function of an integral brings along: its largest error, and by row the weights of the points
/// at which it was worked out, all and with doubt.
struct Own {
    error: f64,
    weights: Vec<(f64, f64)>,
    clear: Vec<bool>,
}

impl Own {
    fn new(rows: usize) -> Self {
        Self { error: 0.0, weights: vec![(0.0, 0.0); rows], clear: vec![false; rows] }
    }

    fn take(&mut self, values: &Lanes) {
        self.error = self.error.max(values.error);
    }

    fn doubtful(&self) -> impl Iterator<Item = usize> {
        let rows = self.weights.iter().enumerate();
        rows.filter(|(_, (all, doubted))| *doubted > DOUBTED * all).map(|(row, _)| row)
    }
}

/// The same panel of every row.
struct Wave {
    from: f64,
    to: f64,
    value: Vec<f64>,
    fewer: Vec<f64>,
    magnitude: Vec<f64>,
}

impl Wave {
    fn at(&self, row: usize) -> Panel {
        let at = |values: &[f64]| values.get(row).copied().unwrap_or(f64::NAN);
        let value = at(&self.value);
        Panel {
            from: self.from,
            to: self.to,
            value,
            error: (value - at(&self.fewer)).abs(),
            magnitude: at(&self.magnitude),
        }
    }
}

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
fn tried(points: Rows<f64>) -> Lanes {
    let span = Span::of_rows(&points);
    Lanes { span, rows: points, true_zero: true, ..Lanes::approximate(ROUNDING, true) }
}
