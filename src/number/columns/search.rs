//! Roots and integrals of columns, all rows in step.

use super::nodes::PAIR;
use super::span::Span;
use super::{ColumnSystem, Precision, ROUNDING, Rows, Vector};
use crate::number::smoothness::Smoothness;
use crate::number::{Integrand, System};
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
pub(super) const PANELS: usize = 200;

/// By how many times its magnitude the function of an integral may change from one bound to the other.
const CHANGE: f64 = 4096.0;
/// Share of an integral's points, by weight, that may lose digits before the integral is doubtful.
pub(super) const DOUBTED: f64 = 0.1;

/// By how many times the integral of the magnitude may be above the integral.
const LOST: f64 = 64.0;

/// A row whose integral must be followed further, and its panels so far.
pub(super) struct Open {
    pub(super) row: usize,
    pub(super) panels: Vec<Panel>,
}

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

impl ColumnSystem<'_> {
    /// Roots by the method of T. R. Chandrupatla (Advances in Engineering Software 28, 1997), to 1e-12 of
    /// the larger bound; where the sign does not change within 1e-11 on both sides, the row is doubtful.
    pub(super) fn find_root(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
        from: &Vector,
        to: &Vector,
    ) -> Vector {
        let count = self.count.get();
        let mut at = |care: Precision, points: Vec<f64>| {
            let span = Span::of_each(&points);
            self.with_care(care, || function(&tried(Rows::each(points), span)))
        };
        let starts: Vec<f64> = (0..count).map(|row| from.at(row)).collect();
        let ends: Vec<f64> = (0..count).map(|row| to.at(row)).collect();
        let (first, last) =
            (at(Precision::NONE, starts.clone()), at(Precision::NONE, ends.clone()));
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
            let values = at(Precision::NONE, rows.iter().map(Bracket::next).collect());
            for (row, bracket) in rows.iter_mut().enumerate() {
                bracket.narrow(values.at(row));
            }
        }
        let distance = |row: &Bracket| row.tolerance / ROOT_TOLERANCE * ROOT_CERTAIN;
        let left =
            at(Precision::SIGNS, rows.iter().map(|row| row.best() - distance(row)).collect());
        let right =
            at(Precision::SIGNS, rows.iter().map(|row| row.best() + distance(row)).collect());
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
        Vector { span, rows: Rows::each(roots), ..Vector::approximate(error) }
    }

    /// Integrals. What does not follow the argument, or as a straight line, is its value in the middle times
    /// the width; up to the third degree it is Simpson's rule, exactly. Anything else goes by the
    /// Gauss–Kronrod pair 7-15; each row halves its own worst panel, all rows in step, until the two rules,
    /// and a panel and its halves, agree to 1e-12 of the integral of the magnitude (R. Piessens et al.,
    /// "QUADPACK", 1983). A function without corners needs no halves where the two rules agree.
    ///
    /// `cuts` are the corners of each row, in their order, as parts of the way between its bounds.
    pub(super) fn integrate(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
        from: &Vector,
        to: &Vector,
        cuts: &[Vec<f64>],
    ) -> Vector {
        // of an integral within the function nothing is known
        let follows = self.integrand.replace(Smoothness::Unknown);
        let width = self.binary(Binary::Subtract, to, from, LineId(0));
        let result = match follows {
            _ if width.is_zero() => self.product(&function(&self.middle(from, to)), &width),
            Smoothness::Constant | Smoothness::Polynomial(0 | 1) => {
                self.product(&function(&self.middle(from, to)), &width)
            }
            Smoothness::Polynomial(_) => {
                let (first, last) = (function(from), function(to));
                let middle = function(&self.middle(from, to));
                let of = |x: &Vector, y: &Vector| self.binary(Binary::Add, x, y, LineId(0));
                let four = self.product(&middle, &self.whole(4));
                let sum = of(&of(&first, &four), &last);
                self.binary(Binary::Divide, &self.product(&sum, &width), &self.whole(6), LineId(0))
            }
            _ => self.quadrature(function, from, to, follows, cuts),
        };
        self.integrand.set(follows);
        result
    }

    fn middle(&self, from: &Vector, to: &Vector) -> Vector {
        let sum = self.binary(Binary::Add, from, to, LineId(0));
        self.product(&sum, &Vector::same(0.5, 0.0))
    }

    fn quadrature(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
        from: &Vector,
        to: &Vector,
        follows: Smoothness,
        cuts: &[Vec<f64>],
    ) -> Vector {
        let count = self.count.get();
        let mut own = Own::new(count);
        let mut sums = self.buffer();
        let mut worst = 1.0_f64;
        let mut open: Vec<Open> = Vec::new();
        let mut judge = |row: usize, panels: &[Panel], sums: &mut Vec<f64>| {
            let (sum, magnitude, error) = total(panels);
            if error <= INTEGRAL_TOLERANCE * magnitude && magnitude <= LOST * sum.abs() {
                worst = if magnitude > worst * sum.abs() { magnitude / sum.abs() } else { worst };
            } else if !sum.is_nan() {
                open.push(Open { row, panels: panels.to_vec() });
            }
            sums.push(sum);
        };
        if cuts.iter().any(|cuts| !cuts.is_empty()) {
            for (row, panels) in
                self.cut_panels(function, from, to, cuts, &mut own).iter().enumerate()
            {
                judge(row, panels, &mut sums);
            }
            return self.quadrature_ended(function, (from, to), open, own, sums, worst);
        }
        let whole = self.panel(function, from, to, (0.0, 1.0), &mut own);
        if self.at_once.get() && follows == Smoothness::Smooth {
            let rules = whole.value.iter().zip(&whole.fewer).zip(&whole.magnitude);
            for (row, ((value, fewer), magnitude)) in rules.enumerate() {
                let error = (value - fewer).abs();
                // most rows end here, without a loss of digits
                if error <= INTEGRAL_TOLERANCE * magnitude && *magnitude == value.abs() {
                    sums.push(*value);
                } else {
                    judge(row, &[whole.at(row)], &mut sums);
                }
            }
        } else {
            // the first panel is halved, so that two answers are compared
            let left = self.panel(function, from, to, (0.0, 0.5), &mut own);
            let right = self.panel(function, from, to, (0.5, 1.0), &mut own);
            for row in 0..count {
                judge(row, &joined(whole.at(row), [left.at(row), right.at(row)]), &mut sums);
            }
            [left, right].into_iter().for_each(|wave| self.give_back(wave));
        }
        self.give_back(whole);
        self.quadrature_ended(function, (from, to), open, own, sums, worst)
    }

    /// Halves what is still open, or puts it by, and gives the result.
    fn quadrature_ended(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
        (from, to): (&Vector, &Vector),
        open: Vec<Open>,
        mut own: Own,
        mut sums: Vec<f64>,
        mut worst: f64,
    ) -> Vector {
        let count = self.count.get();
        if self.at_once.get() {
            self.open.replace(open);
        } else if !open.is_empty() {
            let mut panels: Vec<Vec<Panel>> = vec![Vec::new(); count];
            for open in open {
                if let Some(to) = panels.get_mut(open.row) {
                    *to = open.panels;
                }
            }
            let more = self.halved(function, from, to, panels, &mut own, &mut sums);
            worst = worst.max(more);
        }
        for row in own.doubtful() {
            self.doubt(Some(row));
        }
        let error = self.error_of_integral(own.error, from, to, worst);
        let span = Span::of_each(&sums);
        Vector { span, rows: Rows::each(sums), ..Vector::approximate(error) }
    }

    /// The corners of each row, as parts of the way between its bounds.
    pub(super) fn corners(
        &self,
        function: &mut dyn Integrand<Vector>,
        from: &Vector,
        to: &Vector,
    ) -> Vec<Vec<f64>> {
        let mut levels = |x: &Vector| self.with_care(Precision::NONE, || function.corners(x));
        let (first, last) = (levels(from), levels(to));
        if first.is_empty() {
            return Vec::new();
        }
        let of_row = |row: usize| {
            let both = first.iter().zip(&last).map(|(a, b)| (a.at(row), b.at(row)));
            let crossed = both.filter(|(a, b)| a * b < 0.0).map(|(a, b)| a / (a - b));
            let mut cuts: Vec<f64> = crossed.filter(|part| (0.0..1.0).contains(part)).collect();
            cuts.sort_by(f64::total_cmp);
            cuts.dedup();
            cuts
        };
        (0..self.count.get()).map(of_row).collect()
    }

    /// The panels of each row from corner to corner; a row without corners has two halves.
    fn cut_panels(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
        from: &Vector,
        to: &Vector,
        cuts: &[Vec<f64>],
        own: &mut Own,
    ) -> Vec<Vec<Panel>> {
        let count = self.count.get();
        let ends: Vec<_> = (0..count).map(|row| (from.at(row), to.at(row))).collect();
        let edge = |row: usize, at: usize| match cuts.get(row).map(Vec::as_slice) {
            _ if at == 0 => 0.0,
            Some(cuts) if !cuts.is_empty() => cuts.get(at - 1).copied().unwrap_or(1.0),
            _ if at == 1 => 0.5,
            _ => 1.0,
        };
        let most = cuts.iter().map(Vec::len).max().unwrap_or(0).max(1) + 1;
        let mut rows: Vec<Vec<Panel>> = vec![Vec::new(); count];
        for at in 0..most {
            let parts: Vec<_> = (0..count).map(|row| (edge(row, at), edge(row, at + 1))).collect();
            for (row, panel) in rows.iter_mut().zip(self.panels(function, &ends, &parts, own)) {
                if panel.from < panel.to {
                    row.push(panel);
                }
            }
        }
        rows
    }

    /// Goes on halving the panels of rows that have some; gives the largest loss of digits.
    fn halved(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
        from: &Vector,
        to: &Vector,
        mut rows: Vec<Vec<Panel>>,
        own: &mut Own,
        sums: &mut [f64],
    ) -> f64 {
        let ends: Vec<_> = (0..self.count.get()).map(|row| (from.at(row), to.at(row))).collect();
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
        let mut worst = 1.0_f64;
        for (row, (panels, to)) in rows.iter().zip(sums).enumerate() {
            if !panels.is_empty() {
                let (sum, loss) = self.ended(row, panels);
                *to = sum;
                worst = worst.max(loss);
            }
        }
        worst
    }

    /// The integral of a row and its loss of digits, when nothing is left to halve.
    pub(super) fn ended(&self, row: usize, panels: &[Panel]) -> (f64, f64) {
        let (sum, magnitude, error) = total(panels);
        // also where the error is NaN
        let satisfied = error <= INTEGRAL_TOLERANCE * magnitude;
        let loss = if magnitude == 0.0 { 1.0 } else { magnitude / sum.abs() };
        if loss > LOST || loss.is_nan() {
            self.doubt(Some(row));
        }
        (if satisfied { sum } else { f64::NAN }, if loss <= LOST { loss } else { 1.0 })
    }

    /// The error of an integral, from that of its function and of its bounds.
    pub(super) fn error_of_integral(
        &self,
        own: f64,
        from: &Vector,
        to: &Vector,
        worst: f64,
    ) -> f64 {
        let bounds = (from.error + to.error + 16.0 * ROUNDING) * CHANGE;
        self.bounded((10.0 * INTEGRAL_TOLERANCE + own + bounds) * worst)
    }

    /// A part of the way between two bounds.
    fn point(&self, from: &Vector, to: &Vector, part: f64) -> Vector {
        let (near, far) = (1.0 - part, part);
        let scaled = |lanes: &Vector, by: f64| lanes.span.times(Span::of_one(by));
        let span = scaled(from, near).plus(scaled(to, far));
        let rows = if from.is_zero() {
            self.map(&to.rows, |b| b * far)
        } else {
            self.zip(&from.rows, &to.rows, |a, b| a * near + b * far)
        };
        tried(rows, span)
    }

    /// The same panel of every row, from and to a part of the way between its bounds.
    fn panel(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
        from: &Vector,
        to: &Vector,
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
            let point = self.point(from, to, part);
            let weight = many * (high - low);
            own.all += weight;
            let found = self.tallied(own, |_| weight, || function(&point));
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

    fn give_back(&self, wave: Wave) {
        [wave.value, wave.fewer, wave.magnitude].into_iter().for_each(|rows| self.keep(rows));
    }

    /// One panel of each row, from and to a part of the way between its bounds.
    fn panels(
        &self,
        function: &mut dyn FnMut(&Vector) -> Vector,
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
            let points: Vec<_> = points.collect();
            let span = Span::of_each(&points);
            let points = tried(Rows::each(points), span);
            let weight = |row: usize| parts.get(row).map_or(0.0, |(from, to)| many * (to - from));
            own.more.resize(parts.len(), 0.0);
            own.more.iter_mut().enumerate().for_each(|(row, all)| *all += weight(row));
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
        if any {
            own.doubted.resize(own.clear.len(), 0.0);
            for (row, (doubted, mark)) in own.doubted.iter_mut().zip(&mut own.clear).enumerate() {
                if std::mem::take(mark) {
                    *doubted += weight(row);
                }
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
pub(super) fn nodes() -> impl Iterator<Item = (f64, f64, f64)> {
    let mirrored = PAIR.iter().filter(|(node, ..)| *node != 0.0);
    let mirrored = mirrored.map(|(node, many, few)| (-node, *many, *few));
    PAIR.iter().copied().chain(mirrored)
}

/// What the function of an integral brings along: its largest error, and the weights of the points at which
/// it was calculated.
struct Own {
    error: f64,
    /// Of all points that are the same part of the way in every row.
    all: f64,
    /// By row, of all other points.
    more: Vec<f64>,
    /// By row, of the points with doubt; empty without any.
    doubted: Vec<f64>,
    /// Marks of no row, to be lent to the function.
    clear: Vec<bool>,
}

impl Own {
    fn new(rows: usize) -> Self {
        let (more, doubted) = (Vec::new(), Vec::new());
        Self { error: 0.0, all: 0.0, more, doubted, clear: vec![false; rows] }
    }

    fn take(&mut self, values: &Vector) {
        self.error = self.error.max(values.error);
    }

    fn doubtful(&self) -> impl Iterator<Item = usize> {
        let more = self.more.iter().copied().chain(std::iter::repeat(0.0));
        let rows = self.doubted.iter().zip(more).enumerate();
        rows.filter(|(_, (doubted, more))| **doubted > DOUBTED * (self.all + more))
            .map(|(row, _)| row)
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

/// Integral, integral of the magnitude and error.
fn total(panels: &[Panel]) -> (f64, f64, f64) {
    panels.iter().fold((0.0, 0.0, 0.0), |(sum, magnitude, error), panel| {
        (sum + panel.value, magnitude + panel.magnitude, error + panel.error)
    })
}

/// Two halves with what they are apart from the whole in their errors.
pub(super) fn joined(whole: Panel, [mut left, mut right]: [Panel; 2]) -> [Panel; 2] {
    // a corner between the last node and the end of a panel shows up here alone
    let apart = (whole.value - left.value - right.value).abs() / 2.0;
    left.error = left.error.max(apart);
    right.error = right.error.max(apart);
    [left, right]
}

/// The panel to halve next; none if the row is within its tolerance or its function is missing somewhere.
pub(super) fn next_panel(panels: &[Panel]) -> Option<usize> {
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
pub(super) struct Panel {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) value: f64,
    pub(super) error: f64,
    pub(super) magnitude: f64,
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
pub(super) fn tried(rows: Rows<f64>, span: Span) -> Vector {
    Vector { span, rows, true_zero: true, ..Vector::approximate(ROUNDING) }
}
