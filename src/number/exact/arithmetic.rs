//! Sum, product and quotient: exact where 28 digits are enough, else rounded and said so.

use rust_decimal::Decimal;

use super::wide::{divide, multiply};
use super::{ArithmeticError, Exact, FIRST, Outcome, PLACES, RANGE, magnitude, power_of_ten, up};
use crate::diagnostic::Name;

/// Spare places between 28 digits and what an i128 holds.
const SPARE: i32 = 10;

impl Exact {
    /// Sum; exact if it has at most 28 digits.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e±200.
    pub fn plus(&self, other: &Self) -> Outcome {
        self.sum(other).ranged()
    }

    /// Difference; exact if it has at most 28 digits.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e±200.
    pub fn minus(&self, other: &Self) -> Outcome {
        self.sum(&other.negated()).ranged()
    }

    /// Product; exact if it has at most 28 digits.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e±200.
    pub fn times(&self, other: &Self) -> Outcome {
        let (a, b) = (self.digits(), other.digits());
        let (size_a, size_b) = (magnitude(a), magnitude(b));
        let error = size_a * other.slack + size_b * self.slack + self.slack * other.slack;
        // two steps, since 10^27 is more than one 64-bit divisor holds
        let (once, first) = divide(multiply(a.unsigned_abs(), b.unsigned_abs()), 10_u64.pow(19));
        let ((_, quotient), second) = divide(once, 10_u64.pow(8));
        let rest = u128::from(second) * 10_u128.pow(19) + u128::from(first);
        let product = nearest(quotient, rest, FIRST.unsigned_abs());
        let exponent = self.ten + other.ten - PLACES;
        let slack = up(error * power_of_ten(-PLACES));
        Self::settle_rounded(product, exponent, slack, a.signum() * b.signum()).ranged()
    }

    /// Quotient; exact if it has at most 28 digits.
    ///
    /// # Errors
    /// [`Name::DividedByZero`] where the divisor cannot be distinguished from zero, [`Name::TooLarge`] beyond 1e±200.
    pub fn over(&self, other: &Self) -> Outcome {
        if other.is_like_zero() {
            return Err(ArithmeticError::new(
                Name::DividedByZero,
                format!("{self} is divided by zero"),
            ));
        }
        let (a, b) = (self.digits().unsigned_abs(), other.digits().unsigned_abs());
        // 28 digits come out if the last step is longer by one where the dividend is the smaller
        let last = if a >= b { 7 } else { 8 };
        let mut quotient = a / b;
        let mut rest = a % b;
        for places in [10, 10, last] {
            let shift = 10_u128.pow(places);
            quotient = quotient * shift + rest * shift / b;
            rest = rest * shift % b;
        }
        let scale = 20 + i32::try_from(last).unwrap_or(0);
        let exponent = self.ten - other.ten - scale;
        let part = other.slack / magnitude(other.digits());
        let error = self.slack * power_of_ten(scale) / magnitude(other.digits())
            + quotient_size(quotient) * part;
        let sign = self.digits().signum() * other.digits().signum();
        let rounded = nearest(quotient, rest, b);
        Self::settle_rounded(rounded, exponent, up(error / (1.0 - part)), sign).ranged()
    }

    /// Sign turned.
    #[must_use]
    pub fn negated(&self) -> Self {
        Self { mantissa: -self.mantissa, ..*self }
    }

    /// Absolute value.
    #[must_use]
    pub fn absolute(&self) -> Self {
        Self { mantissa: self.mantissa.abs(), ..*self }
    }

    /// A whole number without a sign; rounded to 28 digits.
    pub(super) fn from_u128(number: u128) -> Self {
        match i128::try_from(number) {
            Ok(number) => Self::settle(number, 0, 0.0),
            Err(_) => Self::settle_rounded(nearest(number / 10, number % 10, 10), 1, 0.0, 1),
        }
    }

    /// Sum without a look at the range.
    pub(super) fn sum(&self, other: &Self) -> Self {
        let (high, low) = if self.ten >= other.ten { (self, other) } else { (other, self) };
        if high.digits() == 0 && high.slack == 0.0 {
            return *low;
        }
        if low.digits() == 0 && low.slack == 0.0 {
            return *high;
        }
        let gap = high.ten - low.ten;
        let lift = gap.min(SPARE);
        let drop = gap - lift;
        let exponent = high.exponent() - lift;
        let raised = high.digits() * 10_i128.pow(lift.unsigned_abs());
        let (lowered, lost) = match 10_i128.checked_pow(drop.unsigned_abs()) {
            Some(divisor) => {
                let rest = low.digits() % divisor;
                (low.digits() / divisor, if rest == 0 { 0.0 } else { 1.0 })
            }
            None => (0, f64::from(u8::from(low.digits() != 0))),
        };
        let slack = high.slack * power_of_ten(lift) + low.slack * power_of_ten(-drop) + lost;
        Self::settle(raised + lowered, exponent, up(slack))
    }

    /// The number digits · 10^exponent with a slack in units of 10^exponent, brought to 28 digits.
    pub(super) fn settle(digits: i128, exponent: i32, slack: f64) -> Self {
        let mut size = digits.unsigned_abs();
        let mut exponent = exponent;
        let mut slack = slack;
        if size == 0 {
            while slack >= 1e28 && slack.is_finite() {
                slack /= 10.0;
                exponent = exponent.saturating_add(1);
            }
            let ten = if slack == 0.0 { 0 } else { exponent.saturating_add(PLACES) };
            return Self { mantissa: Decimal::ZERO, ten, slack: up(slack) };
        }
        let places = i32::try_from(size.ilog10()).unwrap_or(0) - PLACES;
        exponent = exponent.saturating_add(places);
        if places > 0 {
            let divisor = 10_u128.pow(places.unsigned_abs());
            let (quotient, rest) = (size / divisor, size % divisor);
            let rounded = nearest(quotient, rest, divisor);
            slack = up(slack * power_of_ten(-places)) + rounded.1;
            size = rounded.0;
            if size == 10 * FIRST.unsigned_abs() {
                size /= 10;
                slack = up(slack / 10.0);
                exponent = exponent.saturating_add(1);
            }
        } else if places < 0 {
            size *= 10_u128.pow(places.unsigned_abs());
            slack = up(slack * power_of_ten(-places));
        }
        let number = i128::try_from(size).unwrap_or(0) * digits.signum();
        // at most 28 digits, well inside the 96 bits of a Decimal
        let mantissa = Decimal::from_i128_with_scale(number, PLACES.unsigned_abs());
        Self { mantissa, ten: exponent.saturating_add(PLACES), slack }
    }

    /// The number itself if it lies within 1e±200.
    pub(super) fn ranged(self) -> Outcome {
        if !self.slack.is_finite() {
            return Err(ArithmeticError::new(Name::TooLarge, "no digit of the number is certain"));
        }
        if self.ten > RANGE {
            return Err(ArithmeticError::new(
                Name::TooLarge,
                format!("the number is near 1e{}", self.ten),
            ));
        }
        if self.ten < -RANGE {
            if self.digits() == 0 {
                return Ok(self);
            }
            return Err(ArithmeticError::new(
                Name::TooLarge,
                format!("the number is near 1e{}, too close to zero", self.ten),
            ));
        }
        Ok(self)
    }

    fn settle_rounded(rounded: (u128, f64), exponent: i32, slack: f64, sign: i128) -> Self {
        let digits = i128::try_from(rounded.0).unwrap_or(i128::MAX) * sign;
        let mut result = Self::settle(digits, exponent, slack + rounded.1);
        if sign == 0 {
            result = Self::settle(0, exponent, slack);
        }
        result
    }
}

/// A quotient rounded to the nearest, half to even, and what that may have cost.
fn nearest(quotient: u128, rest: u128, divisor: u128) -> (u128, f64) {
    if rest == 0 {
        return (quotient, 0.0);
    }
    let half = divisor / 2;
    let above = rest > half || (rest == half && divisor.is_multiple_of(2) && quotient % 2 == 1);
    let rounded = if above { quotient + 1 } else { quotient };
    (rounded, 0.5)
}

#[expect(clippy::cast_precision_loss, reason = "a bound of an error needs no more digits")]
fn quotient_size(quotient: u128) -> f64 {
    quotient as f64
}
