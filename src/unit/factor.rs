//! Exact factors: what one unit is in coherent SI, as a fraction times a power of π.

use rust_decimal::Decimal;

use super::Unit;

/// An exact factor above zero: numerator / denominator · 10^ten · π^pi.
///
/// Inch, foot, pound and all that is built of them are such factors, and so are degree and r/min;
/// a conversion by definition has no rounding error.
///
/// # Example
/// ```
/// use standstill::unit::Factor;
/// let inch = Factor::decimal(254, -4);
/// let square_inch = inch.power(2).unwrap();
/// assert_eq!(square_inch, Factor::decimal(64516, -8));
/// // one revolution per minute is 2π/60 rad/s
/// let r_per_min = Factor::pi(1).over(Factor::decimal(30, 0)).unwrap();
/// assert!((r_per_min.as_f64() - 0.104719755119659775).abs() < 1e-17);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Factor {
    numerator: u128,
    denominator: u128,
    ten: i32,
    pi: i8,
}

impl Factor {
    /// One.
    pub const ONE: Self = Self { numerator: 1, denominator: 1, ten: 0, pi: 0 };

    /// digits · 10^ten. Zero digits are read as one: a factor is never zero.
    #[must_use]
    pub fn decimal(digits: u128, ten: i32) -> Self {
        Self { numerator: digits.max(1), denominator: 1, ten, pi: 0 }.reduced()
    }

    /// π^power.
    #[must_use]
    pub const fn pi(power: i8) -> Self {
        Self { numerator: 1, denominator: 1, ten: 0, pi: power }
    }

    /// Product; `None` when it has more digits than can be kept exactly.
    #[must_use]
    pub fn times(self, other: Self) -> Option<Self> {
        // reduce across before multiplying, so that chains such as hp·h stay small
        let left = gcd(self.numerator, other.denominator);
        let right = gcd(other.numerator, self.denominator);
        Some(
            Self {
                numerator: (self.numerator / left).checked_mul(other.numerator / right)?,
                denominator: (self.denominator / right).checked_mul(other.denominator / left)?,
                ten: self.ten.checked_add(other.ten)?,
                pi: self.pi.checked_add(other.pi)?,
            }
            .reduced(),
        )
    }

    /// Quotient; `None` when it has more digits than can be kept exactly.
    #[must_use]
    pub fn over(self, other: Self) -> Option<Self> {
        self.times(Self {
            numerator: other.denominator,
            denominator: other.numerator,
            ten: other.ten.checked_neg()?,
            pi: other.pi.checked_neg()?,
        })
    }

    /// Whole power; `None` when it has more digits than can be kept exactly.
    #[must_use]
    pub fn power(self, power: i32) -> Option<Self> {
        let mut result = Self::ONE;
        for _ in 0..power.unsigned_abs().min(1000) {
            result = result.times(self)?;
        }
        if power < 0 { Self::ONE.over(result) } else { Some(result) }
    }

    /// Numerator of the reduced fraction; it has no factor ten.
    #[must_use]
    pub fn numerator(self) -> u128 {
        self.numerator
    }

    /// Denominator of the reduced fraction; it has no factor ten.
    #[must_use]
    pub fn denominator(self) -> u128 {
        self.denominator
    }

    /// Power of ten beside the fraction.
    #[must_use]
    pub fn ten(self) -> i32 {
        self.ten
    }

    /// Power of π.
    #[must_use]
    pub fn pi_power(self) -> i8 {
        self.pi
    }

    /// The nearest f64, to 2 units in the last place.
    #[must_use]
    pub fn as_f64(self) -> f64 {
        // the decimal part is read by the standard library's correctly rounded parser
        let decimal =
            |digits: u128, ten: i32| format!("{digits}e{ten}").parse().unwrap_or(f64::NAN);
        let fraction = if self.denominator == 1 {
            decimal(self.numerator, self.ten)
        } else {
            decimal(self.numerator, self.ten) / decimal(self.denominator, 0)
        };
        fraction * std::f64::consts::PI.powi(i32::from(self.pi))
    }

    fn reduced(mut self) -> Self {
        let shared = gcd(self.numerator, self.denominator);
        self.numerator /= shared;
        self.denominator /= shared;
        while self.numerator.is_multiple_of(10) {
            self.numerator /= 10;
            self.ten += 1;
        }
        while self.denominator.is_multiple_of(10) {
            self.denominator /= 10;
            self.ten -= 1;
        }
        // a denominator of twos or fives alone is a decimal: 1/5 is 2·10⁻¹
        for (factor, other) in [(5_u128, 2_u128), (2, 5)] {
            while self.denominator.is_multiple_of(factor) {
                let Some(numerator) = self.numerator.checked_mul(other) else { return self };
                self.numerator = numerator;
                self.denominator /= factor;
                self.ten -= 1;
            }
        }
        while self.numerator.is_multiple_of(10) {
            self.numerator /= 10;
            self.ten += 1;
        }
        self
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// A number with its unit, exactly as written: digits · 10^ten in `unit`.
///
/// In coherent SI it is `(digits · 10^ten + unit.zero) · unit.factor`.
#[derive(Clone, Debug, PartialEq)]
pub struct Literal {
    /// Digits as written; at most 28.
    pub digits: Decimal,
    /// Power of ten beside the digits.
    pub ten: i32,
    /// The unit.
    pub unit: Unit,
}
