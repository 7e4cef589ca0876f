//! Columns as a number system: basic operations, comparisons, cases.

use super::{Care, Chunks, Lanes, MISSING, NO, RANGE, ROUNDING, Rows, Truth, YES};
use crate::number::exact::Exact;
use crate::number::system::sample_deviation;
use crate::number::{Fault, System};
use crate::program::{Binary, Direction, LineId, Preferred, Ratio, Relation, Table, Unary};
use crate::unit::Literal;

impl System for Chunks<'_> {
    type Value = Lanes;
    type Truth = Rows<Truth>;

    fn literal(&self, literal: &Literal, _: LineId) -> Lanes {
        Exact::from_literal(literal)
            .map_or(Lanes::same(f64::NAN, 0.0), |value| Lanes::from_exact(&value))
    }

    fn pi(&self) -> Lanes {
        Lanes::same(std::f64::consts::PI, ROUNDING)
    }

    fn whole(&self, number: i64) -> Lanes {
        Lanes::from_exact(&Exact::whole(number))
    }

    fn fault(&self, _: Fault) -> Lanes {
        Lanes::same(f64::NAN, 0.0)
    }

    fn unary(&self, function: Unary, x: &Lanes, _: LineId) -> Lanes {
        self.function(function, x)
    }

    fn binary(&self, function: Binary, x: &Lanes, y: &Lanes, _: LineId) -> Lanes {
        match function {
            Binary::Add => self.sum(x, y, |x, y| x + y),
            Binary::Subtract => self.sum(x, y, |x, y| x - y),
            Binary::Multiply => {
                let rows = self.zip(&x.rows, &y.rows, |x, y| x * y);
                let rows = self.ranged(rows, [&x.rows, &y.rows], |x, y| x == 0.0 || y == 0.0);
                let exact = x.exact && y.exact && self.whole_numbers(&rows);
                self.product(rows, x, y, exact)
            }
            Binary::Divide => {
                // a quotient by zero is infinite or NaN, and out of range either way
                let rows = self.zip(&x.rows, &y.rows, |x, y| x / y);
                let rows = self.ranged(rows, [&x.rows, &y.rows], |x, y| x == 0.0 && y != 0.0);
                self.product(rows, x, y, false)
            }
            Binary::Least => self.choice(x, y, |x, y| {
                if x < y {
                    x
                } else if y <= x {
                    y
                } else {
                    f64::NAN
                }
            }),
            Binary::Greatest => self.choice(x, y, |x, y| {
                if x > y {
                    x
                } else if y >= x {
                    y
                } else {
                    f64::NAN
                }
            }),
            Binary::Raise => self.raise(x, y),
        }
    }

    fn power(&self, x: &Lanes, by: Ratio, _: LineId) -> Lanes {
        self.rational_power(x, by)
    }

    fn compare(&self, relation: Relation, x: &Lanes, y: &Lanes) -> Rows<Truth> {
        let holds = |x: f64, y: f64| match relation {
            Relation::Below => x < y,
            Relation::AtMost => x <= y,
            Relation::Above => x > y,
            Relation::AtLeast => x >= y,
            Relation::Equal => x == y,
            Relation::Unequal => x != y,
        };
        let (ex, ey) = (2.0 * x.error, 2.0 * y.error);
        let sure = x.exact && y.exact;
        let true_zero = x.true_zero && y.true_zero;
        let (xs, ys) = (&x.rows, &y.rows);
        let truths =
            pairs(
                xs,
                ys,
                |x, y| {
                    if x.is_nan() | y.is_nan() { MISSING } else { Truth::from(holds(x, y)) }
                },
            );
        // not so where one of them is missing
        let far = |x: f64, y: f64| (x - y).abs() > ex * x.abs() + ey * y.abs();
        if !sure && !all_three(xs, ys, ys, |x, y, _| far(x, y)) {
            self.look([xs, ys], |[x, y], row| {
                let zeros = true_zero && x == 0.0 && y == 0.0;
                if !far(x, y) && !zeros && !x.is_nan() && !y.is_nan() {
                    self.doubt(row);
                }
            });
        }
        truths
    }

    fn both(&self, x: &Rows<Truth>, y: &Rows<Truth>) -> Rows<Truth> {
        self.logic(x, y, |x, y| if x == NO || y == NO { NO } else { x.max(y) })
    }

    fn either(&self, x: &Rows<Truth>, y: &Rows<Truth>) -> Rows<Truth> {
        self.logic(x, y, |x, y| if x == YES || y == YES { YES } else { x.max(y) })
    }

    fn not(&self, x: &Rows<Truth>) -> Rows<Truth> {
        self.logic(x, x, |x, _| match x {
            NO => YES,
            YES => NO,
            other => other,
        })
    }

    fn truth_of_fault(&self, _: &Lanes) -> Rows<Truth> {
        Rows::Same(MISSING)
    }

    fn select(&self, which: &Rows<Truth>, x: &Lanes, y: &Lanes) -> Lanes {
        let pick = |truth: Truth, x: f64, y: f64| match truth {
            YES => x,
            NO => y,
            _ => f64::NAN,
        };
        let rows = match which {
            Rows::Same(YES) => return x.clone(),
            Rows::Same(NO) => return y.clone(),
            Rows::Same(_) => return Lanes::same(f64::NAN, 0.0),
            Rows::Each(truths) => {
                let mut to = self.buffer();
                match (&x.rows, &y.rows) {
                    (Rows::Each(xs), Rows::Each(ys)) => to.extend(
                        truths.iter().zip(xs.iter().zip(ys)).map(|(t, (x, y))| pick(*t, *x, *y)),
                    ),
                    (Rows::Each(xs), Rows::Same(y)) => {
                        to.extend(truths.iter().zip(xs).map(|(t, x)| pick(*t, *x, *y)));
                    }
                    (Rows::Same(x), Rows::Each(ys)) => {
                        to.extend(truths.iter().zip(ys).map(|(t, y)| pick(*t, *x, *y)));
                    }
                    (Rows::Same(x), Rows::Same(y)) => {
                        to.extend(truths.iter().map(|t| pick(*t, *x, *y)));
                    }
                }
                Rows::Each(to)
            }
        };
        joined(rows, x, y)
    }

    fn round(&self, direction: Direction, x: &Lanes, step: &Lanes, _: LineId) -> Lanes {
        self.to_multiple(direction, x, step)
    }

    fn preferred(&self, direction: Direction, series: Preferred, x: &Lanes, _: LineId) -> Lanes {
        self.to_preferred(direction, series, x)
    }

    fn read(&self, table: &Table, x: &Lanes, _: LineId) -> Lanes {
        self.read_table(table, x)
    }

    fn root(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
        _: LineId,
    ) -> Lanes {
        self.find_root(function, from, to)
    }

    fn integral(
        &self,
        function: &mut dyn FnMut(&Lanes) -> Lanes,
        from: &Lanes,
        to: &Lanes,
        _: LineId,
    ) -> Lanes {
        self.integrate(function, from, to)
    }

    fn deviation(&self, values: &[Lanes], line: LineId) -> Lanes {
        // distances from the mean lose digits without harm, as long as they are not far below the mean
        let mut result = self.with_care(Care::NONE, || sample_deviation(self, values, line));
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
        result.true_zero = false;
        result
    }

    fn recycle(&self, value: Lanes) {
        if let Rows::Each(buffer) = value.rows {
            let mut pool = self.pool.borrow_mut();
            if pool.len() < 256 {
                pool.push(buffer);
            }
        }
    }
}

impl Chunks<'_> {
    fn sum(&self, x: &Lanes, y: &Lanes, function: impl Fn(f64, f64) -> f64) -> Lanes {
        let rows = self.zip(&x.rows, &y.rows, function);
        let exact = x.exact && y.exact && self.whole_numbers(&rows);
        let error = x.error.max(y.error);
        // a row that loses no digits is as long as both operands together
        let all_add = all_three(&x.rows, &y.rows, &rows, |x, y, r| {
            x.abs() + y.abs() <= r.abs() * (1.0 + 4.0 * ROUNDING)
        });
        let loss = if exact || all_add {
            1.0
        } else {
            let Care { loss, worst, .. } = self.care.get();
            let limit = if error > 0.0 { loss.min(worst / error / 4.0) } else { loss };
            self.worst_of([&x.rows, &y.rows, &rows], limit, |[x, y, r]| {
                if x == 0.0 || y == 0.0 { 1.0 } else { (x.abs() + y.abs()) / r.abs() }
            })
        };
        let error = if exact { 0.0 } else { self.bounded(error * loss + ROUNDING) };
        let true_zero = x.true_zero && y.true_zero;
        let rows = self.ranged(rows, [&x.rows, &y.rows], |_, _| true);
        Lanes { rows, error, exact, true_zero }
    }

    fn product(&self, rows: Rows<f64>, x: &Lanes, y: &Lanes, exact: bool) -> Lanes {
        let error = if exact { 0.0 } else { self.bounded(x.error + y.error + ROUNDING) };
        Lanes { rows, error, exact, true_zero: x.true_zero && y.true_zero }
    }

    fn choice(&self, x: &Lanes, y: &Lanes, function: impl Fn(f64, f64) -> f64) -> Lanes {
        joined(self.zip(&x.rows, &y.rows, function), x, y)
    }

    /// Makes every row missing that is beyond 1e±200, or zero where `may_be_zero` does not allow it.
    pub(super) fn ranged(
        &self,
        mut rows: Rows<f64>,
        operands: [&Rows<f64>; 2],
        may_be_zero: impl Fn(f64, f64) -> bool,
    ) -> Rows<f64> {
        let inside = |r: f64| r.abs() >= RANGE.0 && r.abs() <= RANGE.1;
        let all = match &rows {
            Rows::Same(r) => inside(*r),
            Rows::Each(rs) => rs.iter().fold(true, |all, r| all & inside(*r)),
        };
        if all {
            return rows;
        }
        let at = |rows: &Rows<f64>, row: usize| match rows {
            Rows::Same(x) => *x,
            Rows::Each(xs) => xs.get(row).copied().unwrap_or(f64::NAN),
        };
        let [x, y] = operands;
        let fix = |r: &mut f64, row: usize| {
            let zero = *r == 0.0 && may_be_zero(at(x, row), at(y, row));
            if !inside(*r) && !zero {
                *r = f64::NAN;
            }
        };
        match &mut rows {
            Rows::Same(r) => fix(r, 0),
            Rows::Each(rs) => rs.iter_mut().enumerate().for_each(|(row, r)| fix(r, row)),
        }
        rows
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
        let whole = |x: f64| x.fract() == 0.0 && x.abs() < 9e15;
        match rows {
            Rows::Same(x) => whole(*x),
            Rows::Each(xs) => xs.iter().all(|x| whole(*x)),
        }
    }

    fn logic(
        &self,
        x: &Rows<Truth>,
        y: &Rows<Truth>,
        function: impl Fn(Truth, Truth) -> Truth,
    ) -> Rows<Truth> {
        match (x, y) {
            (Rows::Same(x), Rows::Same(y)) => Rows::Same(function(*x, *y)),
            (Rows::Each(xs), Rows::Same(y)) => {
                Rows::Each(xs.iter().map(|x| function(*x, *y)).collect())
            }
            (Rows::Same(x), Rows::Each(ys)) => {
                Rows::Each(ys.iter().map(|y| function(*x, *y)).collect())
            }
            (Rows::Each(xs), Rows::Each(ys)) => {
                Rows::Each(xs.iter().zip(ys).map(|(x, y)| function(*x, *y)).collect())
            }
        }
    }
}

/// Something of two numbers a row.
fn pairs(x: &Rows<f64>, y: &Rows<f64>, function: impl Fn(f64, f64) -> Truth) -> Rows<Truth> {
    Rows::Each(match (x, y) {
        (Rows::Same(x), Rows::Same(y)) => return Rows::Same(function(*x, *y)),
        (Rows::Each(xs), Rows::Same(y)) => xs.iter().map(|x| function(*x, *y)).collect(),
        (Rows::Same(x), Rows::Each(ys)) => ys.iter().map(|y| function(*x, *y)).collect(),
        (Rows::Each(xs), Rows::Each(ys)) => {
            xs.iter().zip(ys).map(|(x, y)| function(*x, *y)).collect()
        }
    })
}

/// Whether something holds for every row; without a way out of the loop, so that it is quick.
fn all_three(
    x: &Rows<f64>,
    y: &Rows<f64>,
    r: &Rows<f64>,
    holds: impl Fn(f64, f64, f64) -> bool,
) -> bool {
    let one = |rows: &Rows<f64>| rows.at(0);
    let each = |rows: &Rows<f64>| matches!(rows, Rows::Each(_));
    match (x, y, r) {
        (Rows::Each(xs), Rows::Each(ys), Rows::Each(rs)) => {
            xs.iter().zip(ys).zip(rs).fold(true, |all, ((x, y), r)| all & holds(*x, *y, *r))
        }
        (Rows::Each(xs), Rows::Same(y), r) => {
            let rs = if let Rows::Each(rs) = r { rs } else { xs };
            let same = if each(r) { None } else { Some(one(r)) };
            xs.iter().zip(rs).fold(true, |all, (x, r)| all & holds(*x, *y, same.unwrap_or(*r)))
        }
        (Rows::Same(x), Rows::Each(ys), r) => {
            let rs = if let Rows::Each(rs) = r { rs } else { ys };
            let same = if each(r) { None } else { Some(one(r)) };
            ys.iter().zip(rs).fold(true, |all, (y, r)| all & holds(*x, *y, same.unwrap_or(*r)))
        }
        _ => holds(one(x), one(y), one(r)),
    }
}

/// One of two values a row.
fn joined(rows: Rows<f64>, x: &Lanes, y: &Lanes) -> Lanes {
    Lanes {
        rows,
        error: x.error.max(y.error),
        exact: x.exact && y.exact,
        true_zero: x.true_zero && y.true_zero,
    }
}
