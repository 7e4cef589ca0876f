//! Exact decimals as text.

use std::fmt;

use super::{Exact, PLACES, magnitude};
use crate::program::Direction;

/// Digits shown of a value that is not exactly known.
const SHOWN: u32 = 15;

impl Exact {
    /// The number with so many significant digits (1 to 28), without zeros at the end.
    ///
    /// From 1e-6 to below 1e21 plain, such as `0.15`; else with a power of ten, such as `1.5e-9`. A value
    /// within its slack of a number of so many digits counts as that one, in every direction.
    ///
    /// # Example
    /// ```
    /// use standstill::number::Exact;
    /// use standstill::program::Direction;
    /// let third = Exact::whole(1).over(&Exact::whole(3))?;
    /// assert_eq!(third.to_decimal_string(4, Direction::Up), "0.3334");
    /// let one = third.times(&Exact::whole(3))?;
    /// assert_eq!(one.to_decimal_string(24, Direction::Down), "1");
    /// # Ok::<(), standstill::number::ArithmeticError>(())
    /// ```
    #[must_use]
    pub fn to_decimal_string(&self, significant: u32, direction: Direction) -> String {
        let kept = significant.clamp(1, 28);
        let dropped = PLACES + 1 - i32::try_from(kept).unwrap_or(0);
        let unit = 10_i128.pow(dropped.unsigned_abs());
        let whole = rounded(self.digits(), unit, self.slack, direction);
        write(whole, self.exponent() + dropped)
    }

    /// How many of the 28 digits are certain to one unit.
    #[must_use]
    pub fn certain_digits(&self) -> u32 {
        if self.is_exact() {
            return 28;
        }
        let mut digits = 0;
        let mut unit = self.slack.max(1.0);
        while digits < 28 && unit <= magnitude(self.digits()) {
            digits += 1;
            unit *= 10.0;
        }
        digits
    }
}

impl fmt::Display for Exact {
    /// All digits of an exact value, up to 15 of another; a precision asks for so many significant digits.
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = match to.precision() {
            Some(digits) => u32::try_from(digits).unwrap_or(28),
            None if self.is_exact() => 28,
            None if self.is_like_zero() => return to.write_str("0"),
            None => self.certain_digits().clamp(1, SHOWN),
        };
        to.write_str(&self.to_decimal_string(digits, Direction::Nearest))
    }
}

impl fmt::Debug for Exact {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}e{} ± {}", self.mantissa, self.ten, self.error_bound())
    }
}

/// Whole units of a number, where a number within `slack` of a whole one counts as that.
pub(super) fn rounded(digits: i128, unit: i128, slack: f64, direction: Direction) -> i128 {
    let down = digits.div_euclid(unit);
    let rest = digits.rem_euclid(unit);
    let (below, above) = (magnitude(rest), magnitude(unit - rest));
    if below <= slack && below <= above {
        return down;
    }
    if above <= slack {
        return down + 1;
    }
    match direction {
        Direction::Down => down,
        Direction::Up => down + i128::from(rest != 0),
        Direction::Nearest => {
            // half away from zero, and a tie within the slack counts as one; subtracted as whole numbers,
            // since two f64 take what lies 1e-17 beside a tie for the tie
            let past_half = rest - (unit - rest);
            let tie = magnitude(past_half) <= 2.0 * slack;
            if (tie && digits >= 0) || (!tie && past_half > 0) { down + 1 } else { down }
        }
    }
}

fn write(whole: i128, exponent: i32) -> String {
    let mut size = whole.unsigned_abs();
    let mut exponent = exponent;
    if size == 0 {
        return "0".to_owned();
    }
    while size.is_multiple_of(10) {
        size /= 10;
        exponent += 1;
    }
    let digits = size.to_string();
    let sign = if whole < 0 { "-" } else { "" };
    let count = i32::try_from(digits.len()).unwrap_or(0);
    let ten = exponent + count - 1;
    let zeros = |count: i32| "0".repeat(usize::try_from(count).unwrap_or(0));
    if !(-6..21).contains(&ten) {
        let (first, rest) = digits.split_at(1);
        let point = if rest.is_empty() { "" } else { "." };
        format!("{sign}{first}{point}{rest}e{ten}")
    } else if exponent >= 0 {
        format!("{sign}{digits}{}", zeros(exponent))
    } else if ten < 0 {
        format!("{sign}0.{}{digits}", zeros(-ten - 1))
    } else {
        let (before, after) = digits.split_at(usize::try_from(ten + 1).unwrap_or(0));
        format!("{sign}{before}.{after}")
    }
}
