//! Fixed-point numbers of 118 binary places, in which the functions are calculated with spare digits.
//!
//! One unit is 2^-118, about 3e-36. An i128 holds magnitudes below 512; numbers come in below 500.

use super::wide::{multiply, shift_right};
use super::{Exact, PLACES, power_of_ten, up};

const BITS: u32 = 118;
const ONE: i128 = 1 << BITS;

/// ln 10 · 2^118, rounded. Source: mpmath 1.3.0.
const LOG_TEN: i128 = 765_165_142_071_174_869_927_088_362_015_085_322;
/// π/2 · 2^118, rounded. Source: mpmath 1.3.0 (half of π · 2^118).
const HALF_PI: i128 = 521_986_613_312_972_044_853_359_557_207_944_718;

/// Bound of the absolute error of every function here, arguments taken as exact: it covers some thousand
/// roundings of 2^-118 each.
pub(super) const ERROR: f64 = 1e-31;

/// A fixed-point number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fixed(i128);

impl Fixed {
    pub(super) const ONE: Self = Self(ONE);

    /// The nearest below in magnitude; `None` from 500 on. The slack is not looked at.
    pub(super) fn from_exact(value: &Exact) -> Option<Self> {
        // a zero keeps the power of ten of what cancelled
        if value.digits() == 0 {
            return Some(Self(0));
        }
        if value.ten > 2 {
            return None;
        }
        let mut size = value.digits().unsigned_abs();
        let mut below = (-value.exponent()).unsigned_abs();
        // a divisor of at most 28 digits leaves room for 30 bits in each step of the division
        let extra = below.saturating_sub(28);
        below -= extra;
        let divisor = 10_u128.pow(below);
        let mut quotient = size / divisor;
        if quotient >= 500 {
            return None;
        }
        size %= divisor;
        for bits in [30, 30, 30, 28] {
            size <<= bits;
            quotient = (quotient << bits) | (size / divisor);
            size %= divisor;
        }
        let quotient = 10_u128.checked_pow(extra).map_or(0, |more| quotient / more);
        Some(Self(i128::try_from(quotient).ok()? * value.digits().signum()))
    }

    /// A small f64, exactly but for bits below 2^-60.
    #[expect(clippy::cast_possible_truncation, reason = "a start value for Newton's method")]
    pub(super) fn start(value: f64) -> Self {
        Self(((value * (1_u64 << 60) as f64) as i128) << (BITS - 60))
    }

    /// 28 digits, with a slack that covers `error` beside the rounding.
    pub(super) fn to_exact(self, error: f64) -> Exact {
        if self.0 == 0 {
            return Exact::settle(0, -PLACES, error * power_of_ten(PLACES));
        }
        // 35 digits after the point are as many as 118 bits hold
        let digits = shift_right(multiply(self.0.unsigned_abs(), 10_u128.pow(35)), BITS);
        let digits = i128::try_from(digits).unwrap_or(i128::MAX) * self.0.signum();
        Exact::settle(digits, -35, up(error * power_of_ten(35)) + 1.0)
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }

    pub(super) fn minus(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }

    pub(super) fn negated(self) -> Self {
        Self(-self.0)
    }

    pub(super) fn times(self, other: Self) -> Self {
        let size = shift_right(multiply(self.0.unsigned_abs(), other.0.unsigned_abs()), BITS);
        Self(i128::try_from(size).unwrap_or(i128::MAX) * self.0.signum() * other.0.signum())
    }

    pub(super) fn times_whole(self, by: i32) -> Self {
        Self(self.0 * i128::from(by))
    }

    pub(super) fn over_whole(self, by: i32) -> Self {
        Self(self.0 / i128::from(by))
    }

    /// Quotient of magnitude below 512, bit by bit.
    pub(super) fn over(self, other: Self) -> Self {
        let divisor = other.0.unsigned_abs().max(1);
        let mut quotient = self.0.unsigned_abs() / divisor;
        let mut rest = self.0.unsigned_abs() % divisor;
        for _ in 0..BITS {
            rest <<= 1;
            quotient <<= 1;
            if rest >= divisor {
                rest -= divisor;
                quotient |= 1;
            }
        }
        Self(i128::try_from(quotient).unwrap_or(i128::MAX) * self.0.signum() * other.0.signum())
    }

    /// e to this power as a number from 0.3 to 3.2 and a power of ten.
    ///
    /// Argument less a multiple of ln 10, a 16th of it in a Taylor series, squared four times.
    pub(super) fn exponential(self) -> (Self, i32) {
        let half = LOG_TEN / 2;
        let shifted = if self.0 >= 0 { self.0 + half } else { self.0 - half };
        let ten = i32::try_from(shifted / LOG_TEN).unwrap_or(0);
        let part = Self((self.0 - LOG_TEN * i128::from(ten)) / 16);
        let mut term = Self::ONE;
        let mut sum = Self::ONE;
        for n in 1..40 {
            term = term.times(part).over_whole(n);
            if term.0 == 0 {
                break;
            }
            sum = sum.plus(term);
        }
        for _ in 0..4 {
            sum = sum.times(sum);
        }
        (sum, ten)
    }

    /// Natural logarithm of a number from 1 to 10 whose logarithm is nearly `start`.
    ///
    /// One step from the f64 `start` y: y + 2 (m·e^-y − 1)/(m·e^-y + 1), whose error is of third order.
    pub(super) fn logarithm(self, start: f64) -> Self {
        let start = Self::start(start);
        let (inverse, ten) = start.negated().exponential();
        // ten is 0 or −1: the argument lies between −2.4 and 0
        let near_one =
            if ten == -1 { self.times(inverse).over_whole(10) } else { self.times(inverse) };
        let step = near_one.minus(Self::ONE).over(near_one.plus(Self::ONE));
        start.plus(step.plus(step))
    }

    /// ln 10 times a whole number, at most 200 in magnitude.
    pub(super) fn log_ten(times: i32) -> Self {
        Self(LOG_TEN * i128::from(times))
    }

    /// π/2.
    pub(super) fn half_pi() -> Self {
        Self(HALF_PI)
    }

    /// sin t / t for |t| up to 1, from its power series.
    pub(super) fn sine_over_argument(self) -> Self {
        self.even_series(|k| (2 * k) * (2 * k + 1))
    }

    /// cos t for |t| up to 1, from its power series.
    pub(super) fn cosine(self) -> Self {
        self.even_series(|k| (2 * k - 1) * (2 * k))
    }

    /// atan t / t for |t| up to 0.1, from its power series.
    pub(super) fn arc_tangent_over_argument(self) -> Self {
        self.odd_divisors(-1)
    }

    /// artanh t / t for |t| up to 0.1, from its power series.
    pub(super) fn area_tangent_over_argument(self) -> Self {
        self.odd_divisors(1)
    }

    /// Arc tangent of a number from 0 to 1 whose arc tangent is nearly `start`.
    ///
    /// One step from the f64 `start` y: y + u − u³/3 with u = tan(atan x − y), |u| below 1e-15.
    pub(super) fn arc_tangent(self, start: f64) -> Self {
        let start = Self::start(start);
        let sine = start.times(start.sine_over_argument());
        let cosine = start.cosine();
        let step = self.times(cosine).minus(sine).over(cosine.plus(self.times(sine)));
        start.plus(step)
    }

    fn even_series(self, divisor: impl Fn(i32) -> i32) -> Self {
        let square = self.times(self);
        let mut term = Self::ONE;
        let mut sum = Self::ONE;
        for k in 1..40 {
            term = term.times(square).over_whole(divisor(k)).negated();
            if term.0 == 0 {
                break;
            }
            sum = sum.plus(term);
        }
        sum
    }

    fn odd_divisors(self, sign: i32) -> Self {
        let square = self.times(self).times_whole(sign);
        let mut power = Self::ONE;
        let mut sum = Self::ONE;
        for k in 1..60 {
            power = power.times(square);
            if power.0 == 0 {
                break;
            }
            sum = sum.plus(power.over_whole(2 * k + 1));
        }
        sum
    }
}
