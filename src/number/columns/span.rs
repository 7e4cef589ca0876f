//! Where all rows of a value lie, followed from step to step without looking at them.
//!
//! The bounds hold for the numbers as calculated in f64: +, −, ×, ÷ and √ are rounded correctly (IEEE 754),
//! and correct rounding keeps the order, so that the operation on the bounds gives the bounds of the result.

use super::{RANGE, Rows};

/// The first where it is the smaller; the second where one of them is NaN.
fn smaller(x: f64, y: f64) -> f64 {
    if x < y { x } else { y }
}

/// The first where it is the larger; the second where one of them is NaN.
fn larger(x: f64, y: f64) -> f64 {
    if x > y { x } else { y }
}

/// The smallest magnitude but zero.
fn least_of(values: &[f64]) -> f64 {
    let size = |x: &f64| if *x == 0.0 { f64::INFINITY } else { x.abs() };
    let (blocks, rest) = values.as_chunks::<2>();
    let mut least = [f64::INFINITY; 2];
    for [a, b] in blocks {
        least = [smaller(size(a), least[0]), smaller(size(b), least[1])];
    }
    let rest = rest.iter().map(size);
    least.into_iter().chain(rest).fold(f64::INFINITY, |least, size| smaller(size, least))
}

/// Bounds of the rows that have a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Span {
    pub(super) low: f64,
    pub(super) high: f64,
    /// No magnitude but zero is smaller.
    pub(super) least: f64,
    /// Whether a row may have no number.
    pub(super) missing: bool,
}

impl Span {
    pub(super) fn of_one(value: f64) -> Self {
        if value.is_nan() {
            return Self { missing: true, ..Self::NONE };
        }
        let least = if value == 0.0 { f64::INFINITY } else { value.abs() };
        Self { low: value, high: value, least, missing: false }
    }

    /// Of no row.
    const NONE: Self =
        Self { low: f64::INFINITY, high: f64::NEG_INFINITY, least: f64::INFINITY, missing: false };

    /// By looking at every row.
    pub(super) fn of_each(values: &[f64]) -> Self {
        // four lanes without branches, so that it is quick; a comparison with NaN is false
        let (blocks, rest) = values.as_chunks::<4>();
        let (mut low, mut high, mut odd) = ([f64::INFINITY; 4], [f64::NEG_INFINITY; 4], [0.0; 4]);
        for [a, b, c, d] in blocks {
            low = [
                smaller(*a, low[0]),
                smaller(*b, low[1]),
                smaller(*c, low[2]),
                smaller(*d, low[3]),
            ];
            high = [
                larger(*a, high[0]),
                larger(*b, high[1]),
                larger(*c, high[2]),
                larger(*d, high[3]),
            ];
            // NaN once a value is NaN or infinite
            odd = [odd[0] + a * 0.0, odd[1] + b * 0.0, odd[2] + c * 0.0, odd[3] + d * 0.0];
        }
        let span = Self {
            low: low.iter().chain(rest).fold(f64::INFINITY, |low, x| smaller(*x, low)),
            high: high.iter().chain(rest).fold(f64::NEG_INFINITY, |high, x| larger(*x, high)),
            missing: odd.iter().chain(rest).any(|x| x.is_nan()),
            ..Self::NONE
        };
        let least = span.nearest_to_zero();
        Self { least: if least > 0.0 { least } else { least_of(values) }, ..span }
    }

    pub(super) fn of_rows(rows: &Rows<f64>) -> Self {
        match rows {
            Rows::Same(value) => Self::of_one(*value),
            Rows::Each(values) => Self::of_each(values),
        }
    }

    /// The largest magnitude.
    pub(super) fn most(self) -> f64 {
        self.low.abs().max(self.high.abs())
    }

    /// The smallest magnitude, zero counted.
    pub(super) fn nearest_to_zero(self) -> f64 {
        if self.low > 0.0 {
            self.low
        } else if self.high < 0.0 {
            -self.high
        } else {
            0.0
        }
    }

    pub(super) fn has_zero(self) -> bool {
        self.low <= 0.0 && self.high >= 0.0
    }

    /// Whether it proves that every row has a number that can be kept.
    pub(super) fn is_kept(self) -> bool {
        !self.missing && self.least >= RANGE.0 && self.most() <= RANGE.1 && self.low <= self.high
    }

    pub(super) fn negated(self) -> Self {
        Self { low: -self.high, high: -self.low, ..self }
    }

    pub(super) fn absolute(self) -> Self {
        Self { low: self.nearest_to_zero(), high: self.most(), ..self }
    }

    /// Whether two spans lie on the same side of zero.
    pub(super) fn same_side(self, other: Self) -> bool {
        (self.low >= 0.0 && other.low >= 0.0) || (self.high <= 0.0 && other.high <= 0.0)
    }

    pub(super) fn plus(self, other: Self) -> Self {
        // both are multiples of the last place of the smaller magnitude, and so is what is left of them
        let left = if self.same_side(other) { 1.0 } else { f64::EPSILON / 2.0 };
        Self {
            low: self.low + other.low,
            high: self.high + other.high,
            least: self.least.min(other.least) * left,
            missing: self.missing | other.missing,
        }
    }

    pub(super) fn times(self, other: Self) -> Self {
        let corners = [
            self.low * other.low,
            self.low * other.high,
            self.high * other.low,
            self.high * other.high,
        ];
        self.of_corners(other, corners, self.least * other.least)
    }

    /// Bounds of nothing that can be kept where the divisor may be zero.
    pub(super) fn over(self, other: Self) -> Self {
        if other.has_zero() {
            return Self { missing: true, ..Self::NONE };
        }
        let corners = [
            self.low / other.low,
            self.low / other.high,
            self.high / other.low,
            self.high / other.high,
        ];
        self.of_corners(other, corners, self.least / other.most())
    }

    fn of_corners(self, other: Self, corners: [f64; 4], least: f64) -> Self {
        let low = corners.iter().copied().fold(f64::INFINITY, f64::min);
        let high = corners.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        // zero times infinity and the like prove nothing
        let missing = self.missing | other.missing | corners.iter().any(|corner| corner.is_nan());
        Self { low, high, least, missing }
    }

    /// Of a function that keeps the order, rounded correctly.
    pub(super) fn through(self, function: impl Fn(f64) -> f64) -> Self {
        let (low, high) = (function(self.low), function(self.high));
        let missing = self.missing | low.is_nan() | high.is_nan();
        Self { low, high, least: function(self.least), missing }
    }

    pub(super) fn squared(self) -> Self {
        self.absolute().through(|x| x * x)
    }

    /// Of either.
    pub(super) fn joined(self, other: Self) -> Self {
        Self {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
            least: self.least.min(other.least),
            missing: self.missing | other.missing,
        }
    }

    /// Of the smaller of two.
    pub(super) fn smaller(self, other: Self) -> Self {
        let both = self.joined(other);
        Self { high: self.high.min(other.high), ..both }
    }
}
