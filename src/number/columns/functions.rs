//! Functions of columns, with what they make of the error of their argument.

use super::span::Span;
use super::{ColumnSystem, ROUNDING, Rows, Vector, WHOLE};
use crate::elementary::{self, ERROR};
use crate::program::{Ratio, Unary};

impl ColumnSystem<'_> {
    pub(super) fn function(&self, function: Unary, x: &Vector) -> Vector {
        match function {
            Unary::Negate => {
                Vector { rows: self.map(&x.rows, |x| -x), span: x.span.negated(), ..kept(x) }
            }
            Unary::Absolute => {
                Vector { rows: self.map(&x.rows, f64::abs), span: x.span.absolute(), ..kept(x) }
            }
            Unary::SquareRoot => {
                // the square root of less than zero is NaN
                let rows = self.map(&x.rows, f64::sqrt);
                let mut span = x.span.through(f64::sqrt);
                if span.missing {
                    span = Span::of_rows(&rows);
                }
                let one = Vector { rows, span, errors: None, exact: false, ..kept(x) };
                self.with_errors(one, x, x, |error, _| error / 2.0 + ROUNDING)
            }
            Unary::Exponential => {
                let rows = self.map(&x.rows, elementary::exponential);
                // beyond 461 the result is out of range anyway
                let most = x.span.most().min(461.0);
                self.result(self.no_zero(rows), x.error * most + ERROR)
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
                Vector { true_zero: x.true_zero, ..self.result(rows, x.error + ERROR) }
            }
        }
    }

    pub(super) fn raise(&self, x: &Vector, y: &Vector) -> Vector {
        let rows = self
            .zip(&x.rows, &y.rows, |x, y| // 1 to a missing power would be 1
            if x > 0.0 && !y.is_nan() { elementary::power(x, y) } else { f64::NAN });
        // |y ln x| is at most 461 where the result is in range
        let error = x.error * y.span.most() + 461.0 * y.error + ERROR;
        self.result(self.no_zero(rows), error)
    }

    pub(super) fn rational_power(&self, x: &Vector, by: Ratio) -> Vector {
        let Ratio { numerator, denominator } = by;
        let exponent = f64::from(numerator) / f64::from(denominator.max(1));
        let odd = numerator % 2 != 0;
        let rows = match (numerator, denominator) {
            // zero times a missing value is still missing
            (0, _) => self.map(&x.rows, |x| 1.0 + 0.0 * x),

            (1, 1) => return x.clone(),
            (2, 1) => self.map(&x.rows, |x| x * x),
            (3, 1) => self.map(&x.rows, |x| x * x * x),
            (4, 1) => self.map(&x.rows, |x| (x * x) * (x * x)),
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
        let span = match (numerator, denominator) {
            (2, 1) => x.span.squared(),
            (3, 1) => x.span.through(|x| x * x * x),
            (4, 1) => x.span.squared().squared(),
            (-1, 1) => Span::of_one(1.0).over(x.span),
            (1, 2) => x.span.through(f64::sqrt),
            _ => Span::of_one(f64::NAN),
        };
        let may_be_zero = |x: f64, _: f64| x == 0.0 && numerator > 0;
        let (rows, span) = self.ranged(rows, span, [&x.rows, &x.rows], may_be_zero);
        let exact = x.exact
            && matches!(by, Ratio { numerator: 0 | 2 | 3, denominator: 1 })
            && span.most() < WHOLE;
        // the exponent is rounded as well, which a result near the ends of the range feels
        let rounded = if denominator == 1 { 0.0 } else { 461.0 * ROUNDING };
        let one = Vector { rows, span, error: 0.0, errors: None, exact, ..kept(x) };
        if exact {
            return one;
        }
        self.with_errors(one, x, x, |error, _| error * exponent.abs() + rounded + 2.0 * ERROR)
    }

    fn logarithm(&self, x: &Vector, function: impl Fn(f64) -> f64, slope: f64) -> Vector {
        let rows = self.map(&x.rows, |x| if x > 0.0 { function(x) } else { f64::NAN });
        // ln(x(1 + e)) = ln x + e: near 1 little is left
        let loss = self.worst_loss([&x.rows, &rows], |_, r| slope / r.abs());
        self.result(rows, x.error * loss + ERROR)
    }

    fn losing(
        &self,
        x: &Vector,
        function: impl Fn(f64) -> f64,
        loss: impl Fn(f64, f64) -> f64,
    ) -> Vector {
        let rows = self.map(&x.rows, function);
        let worst =
            self.worst_loss([&x.rows, &rows], |x, r| if x == 0.0 { 1.0 } else { loss(x, r) });
        Vector { true_zero: x.true_zero, ..self.result(rows, x.error * worst + ERROR) }
    }

    /// A function that may not be zero.
    fn no_zero(&self, rows: Rows<f64>) -> Rows<f64> {
        let same = Rows::Same(f64::NAN);
        self.ranged(rows, Span::of_one(f64::NAN), [&same, &same], |_, _| false).0
    }

    /// The values of a function, their span found by looking.
    fn result(&self, rows: Rows<f64>, error: f64) -> Vector {
        let span = Span::of_rows(&rows);
        let error = self.bounded(error);
        Vector { rows, span, ..Vector::approximate(error) }
    }
}

/// What is left of a value whose sign alone changes.
fn kept(x: &Vector) -> Vector {
    Vector { rows: Rows::Same(0.0), step: None, ..x.clone() }
}
