//! Intervals of f64 with outward rounding.

use crate::elementary::ERROR;
use crate::number::Exact;
use crate::unit::Literal;

/// All numbers from `low` to `high`, both included; an end may be infinite.
///
/// Every operation encloses: whatever two numbers are taken from the operands, the true result lies in
/// the result. Rounding goes outward by the next f64 (IEEE 754: basic operations are within half a unit
/// in the last place).
///
/// # Example
/// ```
/// use standstill::number::Interval;
/// let third = Interval::point(1.0).over(Interval::point(3.0)).0.unwrap();
/// assert!(third.low < third.high && third.width() < 2e-16);
/// assert_eq!(Interval::new(-1.0, 2.0).times(Interval::new(3.0, 4.0)), Interval::new(-4.0, 8.0));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Zero.
    pub const ZERO: Self = Self { low: 0.0, high: 0.0 };
    /// One.
    pub const ONE: Self = Self { low: 1.0, high: 1.0 };
    /// Every number.
    pub const ALL: Self = Self { low: f64::NEG_INFINITY, high: f64::INFINITY };

    /// From one number to another, in either order; all numbers when one of them is none.
    #[must_use]
    pub fn new(a: f64, b: f64) -> Self {
        if a.is_nan() || b.is_nan() {
            return Self::ALL;
        }
        if a <= b { Self { low: a, high: b } } else { Self { low: b, high: a } }
    }

    /// One number.
    #[must_use]
    pub fn point(x: f64) -> Self {
        Self::new(x, x)
    }

    /// What encloses an exact decimal and the bound of its error.
    #[must_use]
    pub fn of(value: &Exact) -> Self {
        let x = value.to_f64();
        if value.is_exact() && whole(x) && *value == Exact::whole(truncated(x)) {
            return Self::point(x);
        }
        let error = value.error_bound();
        Self::new(down(x.next_down() - error), up(x.next_up() + error))
    }

    /// What encloses a number as written, in coherent SI.
    #[must_use]
    pub fn of_literal(literal: &Literal) -> Self {
        Exact::from_literal(literal).map_or(Self::ALL, |value| Self::of(&value))
    }

    /// Upper end minus lower end.
    #[must_use]
    pub fn width(self) -> f64 {
        self.high - self.low
    }

    /// A number inside, near the middle.
    #[must_use]
    pub fn middle(self) -> f64 {
        if self.low == f64::NEG_INFINITY && self.high == f64::INFINITY {
            return 0.0;
        }
        (self.low / 2.0 + self.high / 2.0).clamp(self.low.max(f64::MIN), self.high.min(f64::MAX))
    }

    /// Whether a number lies inside.
    #[must_use]
    pub fn contains(self, x: f64) -> bool {
        self.low <= x && x <= self.high
    }

    /// Whether it is one number.
    #[must_use]
    pub fn is_point(self) -> bool {
        self.low == self.high
    }

    /// The smallest interval around both.
    #[must_use]
    pub fn hull(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// What lies in both; the first where rounding has torn them apart.
    #[must_use]
    pub fn meet(self, other: Self) -> Self {
        let (low, high) = (self.low.max(other.low), self.high.min(other.high));
        if low <= high { Self { low, high } } else { self }
    }

    /// Sign turned.
    #[must_use]
    pub fn negated(self) -> Self {
        Self { low: -self.high, high: -self.low }
    }

    /// Sum.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self { low: sum_down(self.low, other.low), high: -sum_down(-self.high, -other.high) }
    }

    /// Difference.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        self.plus(other.negated())
    }

    /// Product.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        if self == Self::ONE {
            return other;
        }
        if other == Self::ONE {
            return self;
        }
        let (a, b, c, d) = (self.low, self.high, other.low, other.high);
        let products = [product(a, c), product(a, d), product(b, c), product(b, d)];
        let low = products.iter().fold(f64::INFINITY, |least, p| least.min(p.0));
        let high = products.iter().fold(f64::NEG_INFINITY, |most, p| most.max(p.1));
        Self { low, high }
    }

    /// Quotient, none where the divisor is zero and nothing else, and whether the divisor may be zero.
    #[must_use]
    pub fn over(self, other: Self) -> (Option<Self>, bool) {
        if other == Self::ONE {
            return (Some(self), false);
        }
        if !other.contains(0.0) {
            return (Some(self.over_signed(other)), false);
        }
        if other.is_point() {
            return (None, true);
        }
        if self == Self::ZERO {
            return (Some(Self::ZERO), true);
        }
        // one of the ends of the divisor is zero: the quotient goes to infinity on one side
        let whole = match (other.low == 0.0, other.high == 0.0) {
            (true, _) if self.low >= 0.0 => Self::new(down(self.low / other.high), f64::INFINITY),
            (true, _) if self.high <= 0.0 => {
                Self::new(f64::NEG_INFINITY, up(self.high / other.high))
            }
            (_, true) if self.low >= 0.0 => Self::new(f64::NEG_INFINITY, up(self.low / other.low)),
            (_, true) if self.high <= 0.0 => Self::new(down(self.high / other.low), f64::INFINITY),
            _ => Self::ALL,
        };
        (Some(whole), true)
    }

    /// Absolute value.
    #[must_use]
    pub fn absolute(self) -> Self {
        if self.low >= 0.0 {
            self
        } else if self.high <= 0.0 {
            self.negated()
        } else {
            Self { low: 0.0, high: self.high.max(-self.low) }
        }
    }

    /// The smaller of two numbers.
    #[must_use]
    pub fn least(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.min(other.high) }
    }

    /// The larger of two numbers.
    #[must_use]
    pub fn greatest(self, other: Self) -> Self {
        Self { low: self.low.max(other.low), high: self.high.max(other.high) }
    }

    /// Wider by the bound of the relative error of the functions, at both ends.
    pub(super) fn blurred(self) -> Self {
        let blur = |x: f64| if x.is_finite() { x.abs() * ERROR + f64::MIN_POSITIVE } else { 0.0 };
        Self { low: down(self.low - blur(self.low)), high: up(self.high + blur(self.high)) }
    }
}

/// Not above, whatever was rounded.
pub(super) fn down(x: f64) -> f64 {
    if x.is_nan() { f64::NEG_INFINITY } else { x.next_down() }
}

/// Not below, whatever was rounded.
pub(super) fn up(x: f64) -> f64 {
    if x.is_nan() { f64::INFINITY } else { x.next_up() }
}

/// A lower bound of a sum; the sum itself where it is exact (Knuth's error-free sum).
fn sum_down(a: f64, b: f64) -> f64 {
    let sum = a + b;
    if !sum.is_finite() {
        return if sum == f64::NEG_INFINITY { sum } else { down(sum) };
    }
    let part = sum - a;
    let error = (a - (sum - part)) + (b - part);
    if error == 0.0 { sum } else { down(sum) }
}

/// Lower and upper bound of a product; zero times infinity is zero, as the infinite end is never reached.
fn product(a: f64, b: f64) -> (f64, f64) {
    if a == 0.0 || b == 0.0 {
        return (0.0, 0.0);
    }
    let product = a * b;
    if product.is_infinite() && (a.is_infinite() || b.is_infinite()) {
        return (product, product);
    }
    if whole(a) && whole(b) && whole(product) {
        (product, product)
    } else {
        (down(product), up(product))
    }
}

/// Whether a number is whole and every whole number up to it can be represented.
fn whole(x: f64) -> bool {
    x.fract() == 0.0 && x.abs() < 9_007_199_254_740_992.0
}

#[expect(clippy::cast_possible_truncation, reason = "only for whole numbers below 2^53")]
fn truncated(x: f64) -> i64 {
    x as i64
}

impl Interval {
    /// The quotient by a divisor without zero.
    fn over_signed(self, other: Self) -> Self {
        if self == Self::ZERO {
            return self;
        }
        let quotients = [
            self.low / other.low,
            self.low / other.high,
            self.high / other.low,
            self.high / other.high,
        ];
        // nothing over something is nothing, without rounding: an end at zero keeps its sign
        let nothing = self.low == 0.0 || self.high == 0.0;
        let least = quotients.iter().fold(f64::INFINITY, |least, q| least.min(down(*q)));
        let most = quotients.iter().fold(f64::NEG_INFINITY, |most, q| most.max(up(*q)));
        let rises = (self.low >= 0.0) == (other.low > 0.0);
        match (nothing, rises) {
            (true, true) => Self { low: 0.0, high: most },
            (true, false) => Self { low: least, high: 0.0 },
            (false, _) => Self { low: least, high: most },
        }
    }
}
