//! Exact factors: what one unit is in coherent SI, as a fraction times a power of π.

use rust_decimal::Decimal;

use super::{Unit, parse_number};

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

    /// The nearest f64, within 2 units in the last place.
    #[must_use]
    pub fn as_f64(self) -> f64 {
        self.times_decimal(Decimal::ONE, 0)
    }

    /// digits · 10^ten times this factor, within 2 units in the last place.
    ///
    /// The nearest f64 unless the digits are very many.
    #[must_use]
    pub fn times_decimal(self, digits: Decimal, ten: i32) -> f64 {
        let mantissa = digits.mantissa().unsigned_abs();
        let ten =
            ten.saturating_sub(i32::try_from(digits.scale()).unwrap_or(0)).saturating_add(self.ten);
        let value = self.in_whole_numbers(mantissa, ten).unwrap_or_else(|| {
            let mut value = read(mantissa, ten) * read(self.numerator, 0);
            for _ in 0..self.pi.max(0) {
                value *= std::f64::consts::PI;
            }
            for _ in self.pi.min(0)..0 {
                value /= std::f64::consts::PI;
            }
            value / read(self.denominator, 0)
        });
        if digits.is_sign_negative() { -value } else { value }
    }

    /// The product by whole numbers alone, rounded once; `None` when they grow too large.
    ///
    /// π, π², 1/π and 1/π² are taken to 20 digits, four more than an f64 holds.
    fn in_whole_numbers(self, mantissa: u128, mut ten: i32) -> Option<f64> {
        let (irrational, places) = match self.pi {
            0 => (1, 0),
            1 => (31_415_926_535_897_932_385, 19),
            2 => (98_696_044_010_893_586_188, 19),
            -1 => (31_830_988_618_379_067_154, 20),
            -2 => (10_132_118_364_233_777_144, 20),
            _ => return None,
        };
        let mut above = mantissa.checked_mul(self.numerator)?.checked_mul(irrational)?;
        ten = ten.saturating_sub(places);
        let below = self.denominator;
        if below == 1 || above == 0 {
            return Some(read(above, ten));
        }
        while let Some(longer) = above.checked_mul(10) {
            above = longer;
            ten = ten.saturating_sub(1);
        }
        let quotient = above / below;
        // enough digits that cutting the rest off does not move the nearest f64
        (quotient >= 10_u128.pow(19)).then(|| read(quotient, ten))
    }

    /// A number divided by this factor, within 2 units in the last place.
    #[must_use]
    pub fn divide(self, number: f64) -> f64 {
        // powers of ten up to 22 are exact in f64, their inverses are not
        let plain = self.pi == 0 && self.numerator == 1 && self.denominator == 1;
        if plain && (-22..0).contains(&self.ten) {
            return number * Self { ten: -self.ten, ..self }.as_f64();
        }
        number / self.as_f64()
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

/// Reads a decimal with the correctly rounded parser of the standard library.
fn read(digits: u128, ten: i32) -> f64 {
    format!("{digits}e{ten}").parse().unwrap_or(f64::NAN)
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

impl Literal {
    /// A number as written, in a unit.
    #[must_use]
    pub fn new(digits: Decimal, ten: i32, unit: Unit) -> Self {
        Self { digits, ten, unit }
    }

    /// The shortest decimal that reads back as this f64; `None` when it is not finite.
    ///
    /// # Example
    /// ```
    /// use standstill::unit::{Literal, parse_unit};
    /// let literal = Literal::from_f64(0.1, parse_unit("kg").unwrap()).unwrap();
    /// assert_eq!(literal.digits.to_string(), "1");
    /// assert_eq!(literal.ten, -1);
    /// ```
    #[must_use]
    pub fn from_f64(x: f64, unit: Unit) -> Option<Self> {
        let (digits, ten) = x.is_finite().then(|| parse_number(&format!("{x:e}")))??;
        Some(Self { digits, ten, unit })
    }

    /// The number in coherent SI, within 2 units in the last place.
    ///
    /// # Example
    /// ```
    /// use standstill::unit::{Literal, parse_unit, split_quantity};
    /// let (digits, ten, unit) = split_quantity("20 °C").unwrap();
    /// let literal = Literal::new(digits, ten, parse_unit(unit).unwrap());
    /// assert_eq!(literal.si_f64(), 293.15);
    /// ```
    #[must_use]
    pub fn si_f64(&self) -> f64 {
        self.unit.to_si(self.digits, self.ten)
    }
}
