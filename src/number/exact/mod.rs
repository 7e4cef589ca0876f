//! Exact decimals: up to 28 digits with a power of ten beside them, and a bound of what was rounded.

mod angle;
mod arithmetic;
mod checked;
mod fixed;
mod functions;
mod nearest;
mod nodes;
mod proved;
mod search;
mod show;
mod system;
mod wide;

use std::cmp::Ordering;
use std::fmt;

use rust_decimal::Decimal;

use nearest::nearest_f64;

use crate::diagnostic::Name;
use crate::elementary::power_of_ten;
use crate::unit::{Factor, Literal, Unit};

pub use checked::Checked;
pub(crate) use nodes::PAIR;
pub use system::Decimals;

/// Digits after the point of a mantissa.
const PLACES: i32 = 27;
/// 10^27, the smallest mantissa read as a whole number.
const FIRST: i128 = 10_i128.pow(27);
/// Largest power of ten, up or down.
const RANGE: i32 = 200;

/// A decimal number: a mantissa of 28 digits from 1 to below 10, times a power of ten, and a bound of
/// its error.
///
/// What can be written with 28 digits is kept exactly: `slack` is then zero. Everything else is within
/// `slack` units of the last of the 28 digits of the true value. Numbers from 1e-200 to below 1e201 are
/// kept; beyond is [`Name::TooLarge`], never a silent zero and never an infinity.
///
/// # Example
/// ```
/// use standstill::number::Exact;
/// let tenth = Exact::from_f64(0.1)?;
/// let sum = tenth.plus(&Exact::from_f64(0.2)?)?;
/// assert_eq!(sum.to_string(), "0.3");
/// assert!(sum.is_exact());
/// # Ok::<(), standstill::number::ArithmeticError>(())
/// ```
#[derive(Clone, Copy, PartialEq)]
pub struct Exact {
    /// From 1 to below 10, 27 places; or zero.
    mantissa: Decimal,
    /// Power of ten beside the mantissa.
    ten: i32,
    /// Bound of the error in units of the last of 28 digits; zero if exactly known.
    slack: f64,
}

/// Why a number could not be calculated.
///
/// # Example
/// ```
/// use standstill::number::Exact;
/// use standstill::diagnostic::Name;
/// let trouble = Exact::whole(1).over(&Exact::ZERO).unwrap_err();
/// assert_eq!(trouble.name, Name::DividedByZero);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ArithmeticError {
    /// Stable name.
    pub name: Name,
    /// What was found, in coherent SI where no unit is said.
    pub words: String,
}

impl ArithmeticError {
    /// Names a trouble.
    #[must_use]
    pub fn new(name: Name, words: impl Into<String>) -> Self {
        Self { name, words: words.into() }
    }
}

impl fmt::Display for ArithmeticError {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}: {}", self.name.word(), self.words)
    }
}

impl std::error::Error for ArithmeticError {}

/// What a step of exact arithmetic yields.
pub type Outcome = Result<Exact, ArithmeticError>;

impl Exact {
    /// Zero, exactly.
    pub const ZERO: Self = Self { mantissa: Decimal::ZERO, ten: 0, slack: 0.0 };

    /// π to 28 digits.
    ///
    /// # Source
    /// mpmath 1.3.0; the digits after the 28th are 2795.
    #[must_use]
    pub fn pi() -> Self {
        Self::settle(3_141_592_653_589_793_238_462_643_383, -PLACES, 0.28)
    }

    /// A whole number.
    #[must_use]
    pub fn whole(number: i64) -> Self {
        Self::settle(i128::from(number), 0, 0.0)
    }

    /// A number as written, in coherent SI: `(digits · 10^ten + unit.zero) · unit.factor`.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e±200.
    pub fn from_literal(literal: &Literal) -> Outcome {
        let written = Self::from_decimal(literal.digits, literal.ten)?;
        let shifted = written.plus(&Self::from_decimal(literal.unit.zero, 0)?)?;
        shifted.times_factor(literal.unit.factor)
    }

    /// digits · 10^ten.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e±200.
    pub fn from_decimal(digits: Decimal, ten: i32) -> Outcome {
        let scale = i32::try_from(digits.scale()).unwrap_or(0);
        Self::settle(digits.mantissa(), ten.saturating_sub(scale), 0.0).ranged()
    }

    /// The shortest decimal that reads back as this f64, which is what a person typed into a cell.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e±200 and for what is not a number.
    pub fn from_f64(value: f64) -> Outcome {
        let (digits, ten) = shortest(value).ok_or_else(|| {
            ArithmeticError::new(Name::TooLarge, format!("{value} cannot be kept"))
        })?;
        Self::from_decimal(digits, ten)
    }

    /// A bound: what is too close to zero to be kept becomes zero, or the nearest number beyond that is kept, so that
    /// it is still a bound.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e200 and for what is not a number.
    pub(crate) fn from_bound(limit: f64, upwards: bool) -> Outcome {
        const LEAST: f64 = 1e-199;
        let outward = match upwards {
            true if limit < 0.0 => 0.0,
            true => LEAST,
            false if limit > 0.0 => 0.0,
            false => -LEAST,
        };
        Self::from_f64(if limit != 0.0 && limit.abs() < LEAST { outward } else { limit })
    }

    /// The nearest f64.
    #[must_use]
    pub fn to_f64(&self) -> f64 {
        // the standard library's parser rounds correctly, where two doubles do not say it
        nearest_f64(self.digits(), self.exponent()).unwrap_or_else(|| {
            format!("{}e{}", self.digits(), self.exponent()).parse().unwrap_or(f64::NAN)
        })
    }

    /// What the number is in a unit, taken as being in coherent SI.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e±200.
    pub fn in_unit(&self, unit: &Unit) -> Outcome {
        let factor = unit.factor;
        let ten = Self::from_decimal(Decimal::ONE, factor.ten())?;
        let mut value = self.times_u128(factor.denominator())?;
        value = value.over(&Self::from_u128(factor.numerator()))?.over(&ten)?;
        value = value.times_pi(-i32::from(factor.pi_power()))?;
        value.minus(&Self::from_decimal(unit.zero, 0)?)
    }

    /// Mantissa, from 1 to below 10 or zero.
    #[must_use]
    pub fn mantissa(&self) -> Decimal {
        self.mantissa.normalize()
    }

    /// Power of ten beside the mantissa.
    #[must_use]
    pub fn ten(&self) -> i32 {
        self.ten
    }

    /// Whether the value is known exactly.
    #[must_use]
    pub fn is_exact(&self) -> bool {
        self.slack == 0.0
    }

    /// Bound of the absolute error.
    #[must_use]
    pub fn error_bound(&self) -> f64 {
        self.slack * power_of_ten(self.exponent())
    }

    /// Bound of the error over the value; infinite where the value cannot be distinguished from zero.
    #[must_use]
    pub fn relative_error_bound(&self) -> f64 {
        if self.is_exact() {
            return 0.0;
        }
        if self.is_like_zero() { f64::INFINITY } else { self.slack / magnitude(self.digits()) }
    }

    /// Whether the value cannot be distinguished from zero.
    #[must_use]
    pub fn is_like_zero(&self) -> bool {
        magnitude(self.digits()) <= self.slack
    }

    /// Below zero, counting what cannot be distinguished from zero as zero.
    #[must_use]
    pub fn is_below_zero(&self) -> bool {
        self.digits() < 0 && !self.is_like_zero()
    }

    /// How two values stand to each other; equal where the difference is within what was rounded.
    ///
    /// So 1/3·3 equals 1. The relation is not an order: values a little apart may each equal a third.
    #[must_use]
    pub fn stands_to(&self, other: &Self) -> Ordering {
        let difference = self.sum(&other.negated());
        if difference.is_like_zero() { Ordering::Equal } else { difference.digits().cmp(&0) }
    }

    fn times_factor(&self, factor: Factor) -> Outcome {
        let mut value = self.times_u128(factor.numerator())?;
        value = value.times(&Self::from_decimal(Decimal::ONE, factor.ten())?)?;
        if factor.denominator() != 1 {
            value = value.over(&Self::from_u128(factor.denominator()))?;
        }
        value.times_pi(i32::from(factor.pi_power()))
    }

    fn times_u128(&self, number: u128) -> Outcome {
        if number == 1 { Ok(*self) } else { self.times(&Self::from_u128(number)) }
    }

    fn times_pi(&self, power: i32) -> Outcome {
        let mut value = *self;
        for _ in 0..power.unsigned_abs() {
            value = if power > 0 { value.times(&Self::pi())? } else { value.over(&Self::pi())? };
        }
        Ok(value)
    }

    /// The mantissa as a whole number of 28 digits.
    fn digits(&self) -> i128 {
        self.mantissa.mantissa()
    }

    /// Power of ten of the last digit.
    fn exponent(&self) -> i32 {
        self.ten - PLACES
    }

    /// The same, taken as exactly known.
    fn bare(&self) -> Self {
        Self { slack: 0.0, ..*self }
    }

    /// The same with an absolute error, given in units of 10^exponent, added to its slack.
    fn widened(&self, error: f64, exponent: i32) -> Self {
        let added = error * power_of_ten(exponent.saturating_sub(self.exponent()));
        Self::settle(self.digits(), self.exponent(), up(self.slack + added))
    }

    /// The same with an error of a part of itself added to its slack.
    fn widened_by_part(&self, part: f64) -> Self {
        Self { slack: up(self.slack + part * magnitude(self.digits())), ..*self }
    }
}

/// Digits and power of ten of the shortest decimal that reads back as the number; `None` if it is not finite.
///
/// # Example
/// ```
/// use standstill::number::shortest;
/// let (digits, ten) = shortest(0.15).unwrap();
/// assert_eq!((digits.to_string().as_str(), ten), ("1.5", -1));
/// ```
#[must_use]
pub fn shortest(value: f64) -> Option<(Decimal, i32)> {
    if !value.is_finite() {
        return None;
    }
    let text = format!("{value:e}");
    let (digits, ten) = text.split_once('e')?;
    Some((Decimal::from_str_exact(digits).ok()?, ten.parse().ok()?))
}

/// The magnitude of a mantissa as f64; good to 1 part in 2^53, which the rounding up of slacks covers.
#[expect(clippy::cast_precision_loss, reason = "a bound of an error needs no more digits")]
fn magnitude(digits: i128) -> f64 {
    digits.unsigned_abs() as f64
}

/// A bound kept a bound through f64 rounding.
fn up(bound: f64) -> f64 {
    bound * (1.0 + 1e-14)
}
