//! Functions of columns, with what they make of the error of their argument.

use super::{Chunks, Lanes, ROUNDING, Rows};
use crate::number::elementary::{self, ERROR};
use crate::program::{Ratio, Unary};

impl Chunks<'_> {
    pub(super) fn function(&self, function: Unary, x: &Lanes) -> Lanes {
        match function {
            Unary::Negate => Lanes { rows: self.map(&x.rows, |x| -x), ..kept(x) },
            Unary::Absolute => Lanes { rows: self.map(&x.rows, f64::abs), ..kept(x) },
            // the square root of less than zero is NaN
            Unary::SquareRoot => Lanes {
                rows: self.map(&x.rows, f64::sqrt),
                error: x.error / 2.0 + ROUNDING,
                exact: false,
                true_zero: x.true_zero,
            },
            Unary::Exponential => {
                let rows = self.map(&x.rows, elementary::exponential);
                let rows = self.ranged(rows, [&x.rows, &x.rows], |_, _| false);
                // beyond 461 the result is out of range anyway
                let most = self.most(&x.rows, |x| x.abs().min(461.0));
                self.result(rows, x.error * most + ERROR)
            }
            Unary::Logarithm => self.logarithm(x, elementary::logarithm, 1.0),
            Unary::DecimalLogarithm => {
                self.logarithm(x, elementary::decimal_logarithm, std::f64::consts::LOG10_E)
            }
            Unary::Sine => self.losing(x, elementary::sine, |x, r| x.abs() / r.abs()),
            Unary::Cosine => self.losing(x, elementary::cosine, |x, r| x.abs() / r.abs()),
            Unary::Tangent => {
                self.losing(x, elementary::tangent, |x, r| x.abs() * (1.0 + r * r) / r.abs())
            }
            Unary::ArcSine => self.losing(x, elementary::arc_sine, |x, r| {
                x.abs() / ((1.0 - x) * (1.0 + x)).sqrt() / r.abs()
            }),
            Unary::ArcCosine => self.losing(x, elementary::arc_cosine, |x, r| {
                x.abs() / ((1.0 - x) * (1.0 + x)).sqrt() / r.abs()
            }),
            Unary::ArcTangent => {
                let rows = self.map(&x.rows, elementary::arc_tangent);
                Lanes { true_zero: x.true_zero, ..self.result(rows, x.error + ERROR) }
            }
        }
    }

    pub(super) fn raise(&self, x: &Lanes, y: &Lanes) -> Lanes {
        let rows = self
            .zip(&x.rows, &y.rows, |x, y| // 1 to a missing power would be 1
            if x > 0.0 && !y.is_nan() { elementary::power(x, y) } else { f64::NAN });
        let rows = self.ranged(rows, [&x.rows, &y.rows], |_, _| false);
        let most = self.most(&y.rows, f64::abs);
        // |y ln x| is at most 461 where the result is in range
        self.result(rows, x.error * most + 461.0 * y.error + ERROR)
    }

    pub(super) fn rational_power(&self, x: &Lanes, by: Ratio) -> Lanes {
        let Ratio { numerator, denominator } = by;
        let exponent = f64::from(numerator) / f64::from(denominator.max(1));
        let odd = numerator % 2 != 0;
        let rows = match (numerator, denominator) {
            // zero times a missing value is still missing
            (0, _) => self.map(&x.rows, |x| 1.0 + 0.0 * x),

            (1, 1) => return x.clone(),
            (2, 1) => self.map(&x.rows, |x| x * x),
            (3, 1) => self.map(&x.rows, |x| x * x * x),
            (-1, 1) => self.map(&x.rows, |x| 1.0 / x),
            (1, 2) => self.map(&x.rows, f64::sqrt),
            (1, 3) => self.map(&x.rows, elementary::cube_root),
            (_, 1) => self.map(&x.rows, |x| elementary::power(x, exponent)),
            _ if denominator % 2 == 0 => self
                .map(&x.rows, |x| if x >= 0.0 { elementary::power(x, exponent) } else { f64::NAN }),
            _ => self.map(&x.rows, |x| {
                let size = elementary::power(x.abs(), exponent);
                if odd && x < 0.0 { -size } else { size }
            }),
        };
        let rows = self.ranged(rows, [&x.rows, &x.rows], |x, _| x == 0.0 && numerator > 0);
        let exact = x.exact
            && matches!(by, Ratio { numerator: 0 | 2 | 3, denominator: 1 })
            && self.whole_numbers(&rows);
        // the exponent is rounded as well, which a result near the ends of the range feels
        let rounded = if denominator == 1 { 0.0 } else { 461.0 * ROUNDING };
        let error = x.error * exponent.abs() + rounded + 2.0 * ERROR;
        Lanes {
            exact,
            true_zero: x.true_zero,
            ..self.result(rows, if exact { 0.0 } else { error })
        }
    }

    fn logarithm(&self, x: &Lanes, function: impl Fn(f64) -> f64, slope: f64) -> Lanes {
        let rows = self.map(&x.rows, |x| if x > 0.0 { function(x) } else { f64::NAN });
        // ln(x(1 + e)) = ln x + e: near 1 little is left
        let loss = self.worst_loss([&x.rows, &rows], |_, r| slope / r.abs());
        self.result(rows, x.error * loss + ERROR)
    }

    fn losing(
        &self,
        x: &Lanes,
        function: impl Fn(f64) -> f64,
        loss: impl Fn(f64, f64) -> f64,
    ) -> Lanes {
        let rows = self.map(&x.rows, function);
        let worst =
            self.worst_loss([&x.rows, &rows], |x, r| if x == 0.0 { 1.0 } else { loss(x, r) });
        Lanes { true_zero: x.true_zero, ..self.result(rows, x.error * worst + ERROR) }
    }

    fn result(&self, rows: Rows<f64>, error: f64) -> Lanes {
        Lanes { rows, error: self.bounded(error), exact: false, true_zero: false }
    }

    fn most(&self, rows: &Rows<f64>, size: impl Fn(f64) -> f64) -> f64 {
        match rows {
            Rows::Same(x) => size(*x),
            Rows::Each(xs) => xs.iter().fold(0.0, |most, x| size(*x).max(most)),
        }
    }
}

/// What is left of a value whose sign alone changes.
fn kept(x: &Lanes) -> Lanes {
    Lanes { rows: Rows::Same(0.0), ..*x }
}
