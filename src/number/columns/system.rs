//! Columns as a number system: basic operations, comparisons, cases.

use std::rc::Rc;

use super::span::Span;
use super::{
    ColumnSystem, FINE, MISSING, NO, Precision, RANGE, ROUNDING, Rows, Truth, Truths, Vector,
    WHOLE, YES,
};
use crate::number::exact::Exact;
use crate::number::smoothness::Smoothness;
use crate::number::system::sample_deviation;
use crate::number::{Bound, Fault, Integrand, Possible, System};
use crate::program::{Binary, Direction, LineId, Preferred, Ratio, Relation, Table, Unary};
use crate::unit::Literal;

impl System for ColumnSystem<'_> {
    type Value = Vector;
    type Truth = Truths;

    fn literal(&self, literal: &Literal, _: LineId) -> Vector {
        Exact::from_literal(literal)
            .map_or(Vector::same(f64::NAN, 0.0), |value| Vector::from_exact(&value))
    }

    fn pi(&self) -> Vector {
        Vector::same(std::f64::consts::PI, ROUNDING)
    }

    fn whole(&self, number: i64) -> Vector {
        Vector::from_exact(&Exact::whole(number))
    }

    fn fault(&self, _: Fault) -> Vector {
        Vector::same(f64::NAN, 0.0)
    }

    fn unary(&self, function: Unary, x: &Vector, _: LineId) -> Vector {
        self.function(function, x)
    }

    fn binary(&self, function: Binary, x: &Vector, y: &Vector, _: LineId) -> Vector {
        match function {
            Binary::Add if x.is_zero() => y.clone(),
            Binary::Add => self.sum(x, y, y.span, |x, y| x + y),
            Binary::Subtract => self.sum(x, y, y.span.negated(), |x, y| x - y),
            Binary::Multiply => self.product(x, y),
            Binary::Divide => self.quotient(x, y),
            Binary::Least => self.least(x, y),
            Binary::Greatest => self.greatest(x, y),
            Binary::Raise => self.raise(x, y),
        }
    }

    fn power(&self, x: &Vector, by: Ratio, _: LineId) -> Vector {
        self.rational_power(x, by)
    }

    fn compare(&self, relation: Relation, x: &Vector, y: &Vector) -> Truths {
        if let Some(truth) = certain(relation, x, y) {
            return Truths::same(truth);
        }
        if x.rows.is(&y.rows) && !x.span.missing {
            let holds = matches!(relation, Relation::Equal | Relation::AtMost | Relation::AtLeast);
            return Truths::same(Truth::from(holds));
        }
        let missing = x.span.missing | y.span.missing;
        let (xs, ys) = (&x.rows, &y.rows);
        let rows = match relation {
            Relation::Below => truths(xs, ys, missing, |x, y| x < y),
            Relation::AtMost => truths(xs, ys, missing, |x, y| x <= y),
            Relation::Above => truths(xs, ys, missing, |x, y| x > y),
            Relation::AtLeast => truths(xs, ys, missing, |x, y| x >= y),
            Relation::Equal => truths(xs, ys, missing, |x, y| x == y),
            Relation::Unequal => truths(xs, ys, missing, |x, y| x != y),
        };
        if x.is_shortest() && y.is_shortest() {
            return truths_of(rows, missing);
        }
        // closer than the error of any row would allow; one bound for all, so that it is quick
        let reach = reach(x, y);
        if any_pair(xs, ys, |x, y| (x - y).abs() <= reach) {
            let true_zero = x.true_zero && y.true_zero;
            for row in found(xs, ys, |x, y| (x - y).abs() <= reach) {
                let (ex, ey) = (2.0 * x.error_at(row), 2.0 * y.error_at(row));
                let (x, y) = (xs.at(row.unwrap_or(0)), ys.at(row.unwrap_or(0)));
                let near = (x - y).abs() <= ex * x.abs() + ey * y.abs();
                if near && !(true_zero && x == 0.0 && y == 0.0) {
                    self.doubt(row);
                }
            }
            if self.any_doubtful.get() {
                return Truths { rows, missing };
            }
        }
        truths_of(rows, missing)
    }

    fn both(&self, x: &Truths, y: &Truths) -> Truths {
        match (&x.rows, &y.rows) {
            (Rows::Same(NO), _) | (_, Rows::Same(NO)) => Truths::same(NO),
            (Rows::Same(YES), _) => y.clone(),
            (_, Rows::Same(YES)) => x.clone(),
            _ => logic(x, y, |x, y| if x == NO || y == NO { NO } else { x.max(y) }),
        }
    }

    fn either(&self, x: &Truths, y: &Truths) -> Truths {
        match (&x.rows, &y.rows) {
            (Rows::Same(YES), _) | (_, Rows::Same(YES)) => Truths::same(YES),
            (Rows::Same(NO), _) => y.clone(),
            (_, Rows::Same(NO)) => x.clone(),
            _ => logic(x, y, |x, y| if x == YES || y == YES { YES } else { x.max(y) }),
        }
    }

    fn not(&self, x: &Truths) -> Truths {
        logic(x, x, |x, _| match x {
            NO => YES,
            YES => NO,
            other => other,
        })
    }

    fn truth_of_fault(&self, _: &Vector) -> Truths {
        Truths::same(MISSING)
    }

    fn select(&self, which: &Truths, x: &Vector, y: &Vector) -> Vector {
        let truths = match &which.rows {
            Rows::Same(YES) => return x.clone(),
            Rows::Same(NO) => return y.clone(),
            Rows::Same(_) => return Vector::same(f64::NAN, 0.0),
            Rows::Each(truths) => truths,
        };
        let rows = if which.missing {
            self.picked(truths, x, y, |truth, x, y| match truth {
                YES => x,
                NO => y,
                _ => f64::NAN,
            })
        } else {
            self.picked(truths, x, y, |truth, x, y| if truth == YES { x } else { y })
        };
        // what one of them holds where the other is taken does not count
        let span = match (&x.rows, &y.rows) {
            (Rows::Same(_), Rows::Same(_)) if !which.missing => x.span.joined(y.span),
            _ => Span::of_rows(&rows),
        };
        self.with_errors(joined(rows, span, x, y), x, y, f64::max)
    }

    fn round(&self, direction: Direction, x: &Vector, step: &Vector, _: LineId) -> Vector {
        self.to_multiple(direction, x, step)
    }

    fn preferred(&self, direction: Direction, series: Preferred, x: &Vector, _: LineId) -> Vector {
        self.to_preferred(direction, series, x)
    }

    fn read(&self, table: &Table, x: &Vector, _: LineId) -> Vector {
        self.read_table(table, x)
    }

    fn root(
        &self,
        function: &mut dyn Integrand<Vector>,
        from: &Vector,
        to: &Vector,
        _: LineId,
    ) -> Vector {
        let root = self.find_root(&mut |x| function.at(x), from, to);
        // that a zero is the only one, and no jump, is plain of straight lines alone
        if !function.is_straight() {
            self.prove_roots(function, from, to);
        }
        root
    }

    fn integral(
        &self,
        function: &mut dyn Integrand<Vector>,
        from: &Vector,
        to: &Vector,
        _: LineId,
    ) -> Vector {
        if !matches!(self.integrand.get(), Smoothness::Unknown | Smoothness::Smooth) {
            return self.integrate(&mut |x| function.at(x), from, to, &[]);
        }
        let cuts = self.corners(function, from, to);
        if function.is_complete() {
            return self.integrate(&mut |x| function.at(x), from, to, &cuts);
        }
        let at_once = self.at_once.replace(false);
        let integral = self.proved_integral(function, (from, to), cuts);
        self.at_once.set(at_once);
        integral
    }

    fn as_bound(&self, value: &Vector) -> Option<Bound> {
        self.lanes_on_bounds(value)
    }

    fn as_possible(&self, truth: &Truths) -> Option<Possible> {
        self.truths_on_bounds(truth)
    }

    fn deviation(&self, values: &[Vector], line: LineId) -> Vector {
        // distances from the mean lose digits without harm, as long as they are not far below the mean
        let mut result = self.with_care(Precision::NONE, || sample_deviation(self, values, line));
        let error = values.iter().map(|value| value.error).fold(0.0, f64::max);
        let mut most = 0.0_f64;
        for value in values {
            most =
                most.max(self.worst_loss([&value.rows, &result.rows], |x, deviation| {
                    2.0 * x.abs() / deviation
                }));
        }
        let count = f64::from(u32::try_from(values.len()).unwrap_or(u32::MAX));
        result.error = self.bounded((error + ROUNDING * count) * most.max(1.0));
        result.errors = None;
        result.true_zero = false;
        result
    }

    fn recycle(&self, value: Vector) {
        self.reuse(value.rows);
    }
}

impl ColumnSystem<'_> {
    /// A sum, or a difference with `other` as the span of what is taken off turned round.
    fn sum(
        &self,
        x: &Vector,
        y: &Vector,
        other: Span,
        function: impl Fn(f64, f64) -> f64,
    ) -> Vector {
        if y.is_zero() {
            return x.clone();
        }
        let rows = self.zip(&x.rows, &y.rows, function);
        let span = x.span.plus(other);
        let (rows, span) = self.ranged(rows, span, [&x.rows, &y.rows], |_, _| true);
        let exact = x.exact && y.exact && span.most() < WHOLE;
        let one = Vector { rows, span, exact, ..of_two(x, y) };
        if exact {
            return one;
        }
        // what cancels loses digits; by how much at most, the spans may say
        let loss = match (x.span.same_side(other), one.span.nearest_to_zero()) {
            (true, _) => 1.0,
            (false, least) => (x.span.most() + y.span.most()) / least,
        };
        if loss <= 4.0 && !one.span.missing {
            return self.with_errors(one, x, y, |x, y| x.max(y) * loss + ROUNDING);
        }
        self.cancelled(one, x, y)
    }

    /// A sum that may lose digits, by each row as many as it has lost; rows that lose too many are doubtful.
    fn cancelled(&self, one: Vector, x: &Vector, y: &Vector) -> Vector {
        let Rows::Each(found) = &one.rows else {
            // what is missing is as it is
            if !one.at(0).is_nan() {
                self.doubt(None);
            }
            return Vector { error: ROUNDING, ..one };
        };
        let found = Rc::clone(found);
        let sized = |lanes: &Vector| match (&lanes.errors, &lanes.rows) {
            (None, Rows::Same(x)) => Rows::Same(lanes.error * x.abs()),
            _ if lanes.error == 0.0 => Rows::Same(0.0),
            (None, _) => self.map(&lanes.rows, |x| lanes.error * x.abs()),
            (Some(errors), rows) => {
                self.zip(rows, &Rows::Each(Rc::clone(errors)), |x, error| error * x.abs())
            }
        };
        let left = self.zip(&sized(x), &sized(y), |x, y| x + y);
        let errors = self.zip(&left, &one.rows, |left, r| left / r.abs() + ROUNDING);
        let Rows::Each(mut errors) = errors else { return one };
        let worst = self.care.get().worst;
        let is_kept = |error: f64| error <= worst;
        // a comparison with NaN is false: zeros left of zeros, and what is missing, are as they are
        if errors.iter().fold(false, |any, error| any | !is_kept(*error)) {
            for (row, error) in Rc::make_mut(&mut errors).iter_mut().enumerate() {
                if !is_kept(*error) {
                    if *error > worst && !found.get(row).is_some_and(|found| found.is_nan()) {
                        self.doubt(Some(row));
                    }
                    *error = ROUNDING;
                }
            }
        }
        let error =
            errors.iter().fold(0.0, |most, error| if *error > most { *error } else { most });
        // where the worst is small, one bound for all is quicker and does as well
        let errors = (error > FINE).then_some(errors);
        Vector { error, errors, ..one }
    }

    /// With the errors of two values put together, by row where one of them has them by row.
    pub(super) fn with_errors(
        &self,
        one: Vector,
        x: &Vector,
        y: &Vector,
        put_together: impl Fn(f64, f64) -> f64,
    ) -> Vector {
        let worst = self.care.get().worst;
        let error = put_together(x.error, y.error);
        if (x.errors.is_none() && y.errors.is_none()) || matches!(one.rows, Rows::Same(_)) {
            return Vector { error: self.bounded(error), ..one };
        }
        let errors_of = |lanes: &Vector| match &lanes.errors {
            Some(errors) => Rows::Each(Rc::clone(errors)),
            None => Rows::Same(lanes.error),
        };
        let errors = self.zip(&errors_of(x), &errors_of(y), put_together);
        let Rows::Each(mut errors) = errors else { return one };
        if error > worst {
            for (row, error) in Rc::make_mut(&mut errors).iter_mut().enumerate() {
                if *error > worst {
                    self.doubt(Some(row));
                    *error = ROUNDING;
                }
            }
        }
        Vector { error: error.min(worst), errors: Some(errors), ..one }
    }

    pub(super) fn product(&self, x: &Vector, y: &Vector) -> Vector {
        for (zero, other) in [(x, y), (y, x)] {
            if zero.is_zero() && other.span.is_kept() {
                return zero.clone();
            }
        }
        let rows = self.zip(&x.rows, &y.rows, |x, y| x * y);
        let span = x.span.times(y.span);
        let operands = [&x.rows, &y.rows];
        let (rows, span) = self.ranged(rows, span, operands, |x, y| x == 0.0 || y == 0.0);
        let exact = x.exact && y.exact && span.most() < WHOLE;
        let one = Vector { rows, span, exact, ..of_two(x, y) };
        if exact {
            return one;
        }
        self.with_errors(one, x, y, |x, y| x + y + ROUNDING)
    }

    fn quotient(&self, x: &Vector, y: &Vector) -> Vector {
        // a quotient by zero is infinite or NaN, and out of range either way
        let rows = self.zip(&x.rows, &y.rows, |x, y| x / y);
        let span = x.span.over(y.span);
        let exact = x.exact && y.exact;
        let operands = [&x.rows, &y.rows];
        let (rows, span) = self.ranged(rows, span, operands, |x, y| x == 0.0 && y != 0.0);
        if let (Rows::Same(found), Rows::Same(x), Rows::Same(y)) = (&rows, &x.rows, &y.rows) {
            // one whole number in another
            if exact && found.fract() == 0.0 && found.abs() < WHOLE && found * y == *x {
                return Vector { rows, span, exact, ..Vector::same(0.0, 0.0) };
            }
        }
        let one = Vector { rows, span, ..of_two(x, y) };
        self.with_errors(one, x, y, |x, y| x + y + ROUNDING)
    }

    fn least(&self, x: &Vector, y: &Vector) -> Vector {
        let span = x.span.smaller(y.span);
        self.choice(x, y, span, |x, y| x.high < y.low, |x, y| x < y)
    }

    fn greatest(&self, x: &Vector, y: &Vector) -> Vector {
        let span = x.span.negated().smaller(y.span.negated()).negated();
        self.choice(x, y, span, |x, y| x.low > y.high, |x, y| x > y)
    }

    /// The one of two values that comes first, in every row or by row.
    fn choice(
        &self,
        x: &Vector,
        y: &Vector,
        span: Span,
        always: impl Fn(Span, Span) -> bool,
        first: impl Fn(f64, f64) -> bool,
    ) -> Vector {
        let rows = if span.missing {
            self.zip(&x.rows, &y.rows, |x, y| match (first(x, y), x.is_nan() || y.is_nan()) {
                (_, true) => f64::NAN,
                (true, false) => x,
                (false, false) => y,
            })
        } else if always(x.span, y.span) {
            return x.clone();
        } else if always(y.span, x.span) {
            return y.clone();
        } else {
            self.zip(&x.rows, &y.rows, |x, y| if first(x, y) { x } else { y })
        };
        self.with_errors(joined(rows, span, x, y), x, y, f64::max)
    }

    /// Makes every row missing that is beyond 1e±200, or zero where `may_be_zero` does not allow it; unless
    /// the span, as followed from the operands, proves that there is none.
    pub(super) fn ranged(
        &self,
        mut rows: Rows<f64>,
        span: Span,
        operands: [&Rows<f64>; 2],
        may_be_zero: impl Fn(f64, f64) -> bool,
    ) -> (Rows<f64>, Span) {
        if span.is_kept() {
            return (rows, span);
        }
        let span = Span::of_rows(&rows);
        if span.is_kept() && !span.has_zero() {
            return (rows, span);
        }
        let inside = |r: f64| r.abs() >= RANGE.0 && r.abs() <= RANGE.1;
        let at = |rows: &Rows<f64>, row: usize| rows.at(row);
        let [x, y] = operands;
        let fix = |r: &mut f64, row: usize| {
            let zero = *r == 0.0 && may_be_zero(at(x, row), at(y, row));
            if !inside(*r) && !zero {
                *r = f64::NAN;
            }
        };
        match &mut rows {
            Rows::Same(r) => fix(r, 0),
            Rows::Each(rs) => {
                Rc::make_mut(rs).iter_mut().enumerate().for_each(|(row, r)| fix(r, row));
            }
        }
        let span = Span::of_rows(&rows);
        (rows, span)
    }

    /// The largest loss of digits of any row; rows beyond what care allows are doubtful and do not count.
    pub(super) fn worst_loss(
        &self,
        values: [&Rows<f64>; 2],
        loss: impl Fn(f64, f64) -> f64,
    ) -> f64 {
        self.worst_of(values, self.care.get().loss, |[x, y]| loss(x, y))
    }

    fn worst_of<const N: usize>(
        &self,
        values: [&Rows<f64>; N],
        limit: f64,
        loss: impl Fn([f64; N]) -> f64,
    ) -> f64 {
        let mut worst = 1.0_f64;
        self.look(values, |numbers, row| {
            if numbers.iter().any(|number| number.is_nan()) {
                return;
            }
            let loss = loss(numbers);
            if loss <= limit {
                worst = worst.max(loss);
            } else {
                self.doubt(row);
            }
        });
        worst
    }

    pub(super) fn whole_numbers(&self, rows: &Rows<f64>) -> bool {
        let whole = |x: f64| x.fract() == 0.0 && x.abs() < WHOLE;
        match rows {
            Rows::Same(x) => whole(*x),
            Rows::Each(xs) => xs.iter().all(|x| whole(*x)),
        }
    }

    fn picked(
        &self,
        truths: &[Truth],
        x: &Vector,
        y: &Vector,
        pick: impl Fn(Truth, f64, f64) -> f64,
    ) -> Rows<f64> {
        let mut to = self.buffer();
        match (&x.rows, &y.rows) {
            (Rows::Each(xs), Rows::Each(ys)) => to.extend(
                truths.iter().zip(xs.iter().zip(ys.iter())).map(|(t, (x, y))| pick(*t, *x, *y)),
            ),
            (Rows::Each(xs), Rows::Same(y)) => {
                to.extend(truths.iter().zip(xs.iter()).map(|(t, x)| pick(*t, *x, *y)));
            }
            (Rows::Same(x), Rows::Each(ys)) => {
                to.extend(truths.iter().zip(ys.iter()).map(|(t, y)| pick(*t, *x, *y)));
            }
            (Rows::Same(x), Rows::Same(y)) => to.extend(truths.iter().map(|t| pick(*t, *x, *y))),
        }
        Rows::each(to)
    }
}

fn truths_of(rows: Rows<Truth>, missing: bool) -> Truths {
    match rows {
        Rows::Same(truth) => Truths::same(truth),
        Rows::Each(rows) => Truths::of(Rc::unwrap_or_clone(rows), missing),
    }
}

/// By how much two values of the same size may differ through their errors, in any row.
fn reach(x: &Vector, y: &Vector) -> f64 {
    2.0 * (x.error * x.span.most() + y.error * y.span.most())
}

/// What a function of two values takes over from them, its rows left out.
fn of_two(x: &Vector, y: &Vector) -> Vector {
    Vector { true_zero: x.true_zero && y.true_zero, ..Vector::same(f64::NAN, 0.0) }
}

/// What the spans alone say of a comparison, errors counted.
fn certain(relation: Relation, x: &Vector, y: &Vector) -> Option<Truth> {
    if x.span.missing || y.span.missing {
        return None;
    }
    let apart = reach(x, y);
    let below = y.span.low - x.span.high > apart;
    let above = x.span.low - y.span.high > apart;
    let holds = match relation {
        Relation::Below | Relation::AtMost => below,
        Relation::Above | Relation::AtLeast => above,
        Relation::Equal => false,
        Relation::Unequal => below || above,
    };
    (below || above).then_some(Truth::from(holds))
}

fn logic(x: &Truths, y: &Truths, function: impl Fn(Truth, Truth) -> Truth) -> Truths {
    let rows = match (&x.rows, &y.rows) {
        (Rows::Same(x), Rows::Same(y)) => return Truths::same(function(*x, *y)),
        (Rows::Each(xs), Rows::Same(y)) => xs.iter().map(|x| function(*x, *y)).collect(),
        (Rows::Same(x), Rows::Each(ys)) => ys.iter().map(|y| function(*x, *y)).collect(),
        (Rows::Each(xs), Rows::Each(ys)) => {
            xs.iter().zip(ys.iter()).map(|(x, y)| function(*x, *y)).collect()
        }
    };
    Truths::of(rows, x.missing || y.missing)
}

/// A truth of two numbers a row.
fn truths(
    x: &Rows<f64>,
    y: &Rows<f64>,
    missing: bool,
    holds: impl Fn(f64, f64) -> bool,
) -> Rows<Truth> {
    if missing {
        let either = |x: f64, y: f64| {
            if x.is_nan() | y.is_nan() { MISSING } else { Truth::from(holds(x, y)) }
        };
        pairs(x, y, either)
    } else {
        pairs(x, y, |x, y| Truth::from(holds(x, y)))
    }
}

fn pairs(x: &Rows<f64>, y: &Rows<f64>, function: impl Fn(f64, f64) -> Truth) -> Rows<Truth> {
    Rows::each(match (x, y) {
        (Rows::Same(x), Rows::Same(y)) => return Rows::Same(function(*x, *y)),
        (Rows::Each(xs), Rows::Same(y)) => xs.iter().map(|x| function(*x, *y)).collect(),
        (Rows::Same(x), Rows::Each(ys)) => ys.iter().map(|y| function(*x, *y)).collect(),
        (Rows::Each(xs), Rows::Each(ys)) => {
            xs.iter().zip(ys.iter()).map(|(x, y)| function(*x, *y)).collect()
        }
    })
}

/// Whether something holds for some row; without a way out of the loop, so that it is quick.
pub(super) fn any_pair(x: &Rows<f64>, y: &Rows<f64>, holds: impl Fn(f64, f64) -> bool) -> bool {
    // as wide as the numbers, which the compiler then looks at side by side
    let holds = |x: f64, y: f64| if holds(x, y) { u64::MAX } else { 0 };
    let any = match (x, y) {
        (Rows::Same(x), Rows::Same(y)) => holds(*x, *y),
        (Rows::Each(xs), Rows::Same(y)) => xs.iter().fold(0, |any, x| any | holds(*x, *y)),
        (Rows::Same(x), Rows::Each(ys)) => ys.iter().fold(0, |any, y| any | holds(*x, *y)),
        (Rows::Each(xs), Rows::Each(ys)) => {
            xs.iter().zip(ys.iter()).fold(0, |any, (x, y)| any | holds(*x, *y))
        }
    };
    any != 0
}

/// The rows for which something holds; none as a row where both are the same in all of them.
pub(super) fn found(
    x: &Rows<f64>,
    y: &Rows<f64>,
    holds: impl Fn(f64, f64) -> bool,
) -> Vec<Option<usize>> {
    let mut found = Vec::new();
    let mut see = |row: usize, holds: bool| {
        if holds {
            found.push(Some(row));
        }
    };
    match (x, y) {
        (Rows::Same(x), Rows::Same(y)) => {
            if holds(*x, *y) {
                return vec![None];
            }
        }
        (Rows::Each(xs), Rows::Same(y)) => {
            xs.iter().enumerate().for_each(|(row, x)| see(row, holds(*x, *y)));
        }
        (Rows::Same(x), Rows::Each(ys)) => {
            ys.iter().enumerate().for_each(|(row, y)| see(row, holds(*x, *y)));
        }
        (Rows::Each(xs), Rows::Each(ys)) => {
            let pairs = xs.iter().zip(ys.iter()).enumerate();
            pairs.for_each(|(row, (x, y))| see(row, holds(*x, *y)));
        }
    }
    found
}

/// One of two values a row.
fn joined(rows: Rows<f64>, span: Span, x: &Vector, y: &Vector) -> Vector {
    Vector {
        rows,
        span,
        exact: x.exact && y.exact,
        shortest: x.is_shortest() && y.is_shortest(),
        step: x.step.filter(|step| y.step == Some(*step)),
        ..of_two(x, y)
    }
}
