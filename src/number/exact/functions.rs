//! Functions of exact decimals, each to at least 24 digits from 1e-200 to 1e200.
//!
//! A function is calculated for the number as if it were exactly known, in fixed point with spare
//! digits; what the slack of the argument can do to the value is then added to the slack of the value.
//! The digits stated beside each function are those of an exactly known argument.

use super::angle::reduced;
use super::fixed::{ERROR, Fixed};
use super::{ArithmeticError, Exact, FIRST, Outcome, PLACES, magnitude, up};
use crate::diagnostic::Name;
use crate::elementary;
use crate::program::Ratio;

/// Below this magnitude (or distance from 1, for a logarithm) a power series keeps the relative error small.
const NEAR: f64 = 0.05;
/// Largest power that is calculated by multiplying.
const MULTIPLIED: u32 = 64;

impl Exact {
    /// e to the power, to 27 digits.
    ///
    /// Below 1e-199 it is zero, with that as the bound of what was rounded: a part of a friction that is gone.
    ///
    /// # Errors
    /// [`Name::TooLarge`] beyond 1e200.
    pub fn exponential(&self) -> Outcome {
        if self.digits() == 0 && self.is_exact() {
            return Ok(Self::whole(1));
        }
        // e^-459 = 10^-199.34
        if self.to_f64() + self.error_bound() < -459.0 {
            return Ok(Self::ZERO.widened(1.0, -199));
        }
        let Some(power) = Fixed::from_exact(self) else { return Err(outgrown("e", self)) };
        let (value, ten) = power.exponential();
        let mut result = value.to_exact(ERROR);
        result.ten += ten;
        // e^(x + d) − e^x = e^x · (e^d − 1)
        let error = self.error_bound();
        let part = if error < 0.1 { error * (1.0 + error) } else { elementary::exponential(error) };
        result.widened_by_part(part).ranged()
    }

    /// Natural logarithm, to 26 digits.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] for zero and below.
    pub fn logarithm(&self) -> Outcome {
        self.needs_above_zero("the logarithm")?;
        let x = self.bare();
        let from_one = x.sum(&Self::whole(-1));
        let value = if from_one.digits() == 0 {
            Self::ZERO
        } else if from_one.to_f64().abs() < NEAR {
            let z = from_one.over(&x.sum(&Self::whole(1)))?;
            let series = Fixed::from_exact(&z).unwrap_or(Fixed::ONE).area_tangent_over_argument();
            z.times(&series.to_exact(ERROR))?.times(&Self::whole(2))?
        } else {
            x.logarithm_in_fixed().to_exact(ERROR)
        };
        let part = self.relative_error_bound();
        Ok(value.widened(up(part / (1.0 - part)), 0))
    }

    /// Logarithm to base ten, to 26 digits; exact for powers of ten.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] for zero and below.
    pub fn decimal_logarithm(&self) -> Outcome {
        self.needs_above_zero("the logarithm")?;
        if self.is_exact() && self.digits() == FIRST {
            return Ok(Self::whole(i64::from(self.ten)));
        }
        // 1/ln 10; source: mpmath 1.3.0
        self.logarithm()?.times(&Self::settle(4_342_944_819_032_518_276_511_289_189, -28, 0.2))
    }

    /// Sine of an angle in rad, to 26 digits for every angle to 1e200.
    ///
    /// # Errors
    /// None for a number that can be kept.
    pub fn sine(&self) -> Outcome {
        let (quarter, rest) = quarters(self);
        Ok(quadrant(quarter, &rest)?.widened(self.slack, self.exponent()))
    }

    /// Cosine of an angle in rad, to 26 digits for every angle to 1e200.
    ///
    /// # Errors
    /// None for a number that can be kept.
    pub fn cosine(&self) -> Outcome {
        let (quarter, rest) = quarters(self);
        Ok(quadrant(quarter + 1, &rest)?.widened(self.slack, self.exponent()))
    }

    /// Tangent of an angle in rad, to 26 digits for every angle to 1e200.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] where the cosine cannot be distinguished from zero.
    pub fn tangent(&self) -> Outcome {
        let cosine = self.cosine()?;
        if cosine.is_like_zero() {
            return Err(outside("the tangent", self, "away from a quarter turn"));
        }
        self.sine()?.over(&cosine)
    }

    /// Angle in rad whose sine it is, to 25 digits.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] outside −1 to 1.
    pub fn arc_sine(&self) -> Outcome {
        let (x, square) = self.within_one("the arc sine")?;
        let value = if square.digits() == 0 {
            Fixed::half_pi().to_exact(ERROR).times(&x)?
        } else {
            x.over(&square.square_root()?)?.arc_tangent()?
        };
        Ok(value.widened(self.arc_error(), 0))
    }

    /// Angle in rad whose cosine it is, to 25 digits, near 1 as well.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] outside −1 to 1.
    pub fn arc_cosine(&self) -> Outcome {
        let (x, _) = self.within_one("the arc cosine")?;
        let one = Self::whole(1);
        let (below, above) = (one.sum(&x.negated()), one.sum(&x));
        let value = if above.digits() == 0 {
            Self::pi()
        } else {
            below.over(&above)?.square_root()?.arc_tangent()?.times(&Self::whole(2))?
        };
        Ok(value.widened(self.arc_error(), 0))
    }

    /// Angle in rad whose tangent it is, to 26 digits.
    ///
    /// # Errors
    /// None for a number that can be kept.
    pub fn arc_tangent(&self) -> Outcome {
        let x = self.bare();
        let one = Self::whole(1);
        let size = x.absolute();
        let mut value = if size.ten >= 0 && size.digits() != 0 {
            let rest = one.over(&size)?.arc_tangent_up_to_one()?;
            let value = Fixed::half_pi().to_exact(ERROR).minus(&rest)?;
            if x.digits() < 0 { value.negated() } else { value }
        } else {
            x.arc_tangent_up_to_one()?
        };
        // the slope is 1/(1 + x²); a wide slack is not allowed to lean on it
        let error = self.error_bound();
        let near = (size.to_f64() - error).max(0.0);
        value = value.widened(up(error / (1.0 + near * near)), 0);
        Ok(value)
    }

    /// Square root, to 27 digits; exact if it has at most 14 digits.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] below zero.
    pub fn square_root(&self) -> Outcome {
        self.power(Ratio { numerator: 1, denominator: 2 })
    }

    /// A rational power: roots to 27 digits, others to 24; exact where every step of it is.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] for a root of even degree below zero, [`Name::DividedByZero`] for a
    /// negative power of zero, [`Name::TooLarge`] beyond 1e±200.
    pub fn power(&self, by: Ratio) -> Outcome {
        if by.numerator == 0 || by.denominator <= 0 {
            return Ok(Self::whole(1));
        }
        if self.is_like_zero() {
            return self.power_of_zero(by);
        }
        if self.digits() < 0 && by.denominator % 2 == 0 {
            let words = if by == (Ratio { numerator: 1, denominator: 2 }) {
                "the square root"
            } else {
                "the root"
            };
            return Err(outside(words, self, "zero or above"));
        }
        let odd = by.numerator % 2 != 0;
        let size = self.bare().absolute();
        let times = by.numerator.unsigned_abs();
        let mut value = size.root(by.denominator)?;
        if times > 1 {
            let multiplied = value.multiplied(times);
            value = match multiplied {
                Ok(value) if value.is_exact() || times <= MULTIPLIED => value,
                Err(trouble) if times <= MULTIPLIED => return Err(trouble),
                _ => value.raised(&Self::whole(i64::from(times)))?,
            };
        }
        if by.numerator < 0 {
            value = Self::whole(1).over(&value)?;
        }
        if self.digits() < 0 && odd {
            value = value.negated();
        }
        let part = self.relative_error_bound();
        let exponent = f64::from(by.numerator.abs()) / f64::from(by.denominator);
        value.widened_by_part(grown(part, exponent)).ranged()
    }

    /// A number above zero raised to any number, to 24 digits.
    ///
    /// # Errors
    /// [`Name::OutsideFunction`] for a base of zero or below, [`Name::TooLarge`] beyond 1e±200.
    pub fn raised(&self, exponent: &Self) -> Outcome {
        self.needs_above_zero("a power with a free exponent")?;
        if let Some(whole) = exponent.as_small_whole() {
            return self.power(Ratio { numerator: whole, denominator: 1 });
        }
        let power =
            self.logarithm()?.times(exponent).map_err(|_| outgrown("the base", exponent))?;
        power.exponential()
    }

    /// The exponent as a whole number that power by multiplying can take, if it is one exactly.
    fn as_small_whole(&self) -> Option<i32> {
        if !self.is_exact() || self.ten > 1 || self.ten < 0 {
            return (self.is_exact() && self.digits() == 0).then_some(0);
        }
        let unit = 10_i128.checked_pow((-self.exponent()).unsigned_abs())?;
        let whole = i32::try_from(self.digits() / unit).ok()?;
        let small = whole.unsigned_abs() <= MULTIPLIED;
        (self.digits() % unit == 0 && small).then_some(whole)
    }

    /// Root of a bare number above zero: 10^(k + j/q) · m^(1/q), with k whole.
    fn root(&self, degree: i32) -> Outcome {
        if degree == 1 {
            return Ok(*self);
        }
        let (k, j) = (self.ten.div_euclid(degree), self.ten.rem_euclid(degree));
        let one_to_ten = Self { ten: 0, ..*self };
        // j may come near the degree, so the part of ln 10 is divided before it is added
        let power = one_to_ten
            .logarithm_in_fixed()
            .over_whole(degree)
            .plus(Fixed::log_ten(j).over_whole(degree));
        let (value, ten) = power.exponential();
        let mut value = value.to_exact(ERROR);
        value.ten += ten + k;
        // an exact root has at most 28/q digits: try whether the rounded one is it
        let places = PLACES / degree + 1;
        let short = value.cut_to(places);
        match short.multiplied(degree.unsigned_abs()) {
            Ok(whole)
                if whole.is_exact() && whole.digits() == self.digits() && whole.ten == self.ten =>
            {
                Ok(short)
            }
            _ => Ok(value),
        }
    }

    /// The number rounded to some digits and taken as exact.
    fn cut_to(&self, digits: i32) -> Self {
        let unit = 10_i128.pow((PLACES + 1 - digits.clamp(1, PLACES + 1)).unsigned_abs());
        let cut = (self.digits() + unit / 2 * self.digits().signum()) / unit;
        Self::settle(cut, self.exponent() + unit.ilog10().cast_signed(), 0.0)
    }

    /// A whole power above zero by squaring and multiplying.
    fn multiplied(&self, mut times: u32) -> Outcome {
        let mut square = *self;
        let mut result = Self::whole(1);
        loop {
            if times % 2 == 1 {
                result = result.times(&square)?;
            }
            times /= 2;
            if times == 0 {
                return Ok(result);
            }
            square = square.times(&square)?;
        }
    }

    fn power_of_zero(&self, by: Ratio) -> Outcome {
        if by.numerator < 0 {
            let words = "zero is raised to a negative power";
            return Err(ArithmeticError::new(Name::DividedByZero, words));
        }
        if self.is_exact() {
            return Ok(Self::ZERO);
        }
        // 0 ± s becomes 0 ± s^(p/q), with what lies on the other side of zero counted in
        let reach =
            self.bare().absolute().sum(&Self::settle(ceiling(self.slack), self.exponent(), 0.0));
        let reach = reach.power(by)?;
        Ok(Self::settle(0, reach.exponent(), up(magnitude(reach.digits()) + reach.slack)))
    }

    /// ln of a bare number above zero in fixed point.
    fn logarithm_in_fixed(&self) -> Fixed {
        let mantissa = Self { ten: 0, ..*self };
        let start = elementary::logarithm(mantissa.to_f64());
        let fixed = Fixed::from_exact(&mantissa).unwrap_or(Fixed::ONE);
        fixed.logarithm(start).plus(Fixed::log_ten(self.ten))
    }

    fn arc_tangent_up_to_one(&self) -> Outcome {
        let fixed = Fixed::from_exact(self).unwrap_or(Fixed::ONE);
        let start = self.to_f64();
        if start.abs() < NEAR {
            return self.times(&fixed.arc_tangent_over_argument().to_exact(ERROR));
        }
        Ok(fixed.arc_tangent(elementary::arc_tangent(start)).to_exact(ERROR))
    }

    /// The bare number, brought to ±1 if only its slack lies beyond, and 1 − x².
    fn within_one(&self, words: &str) -> Result<(Self, Self), ArithmeticError> {
        let one = Self::whole(1);
        let size = self.bare().absolute();
        let beyond = size.sum(&one.negated());
        if beyond.digits() <= 0 {
            let square = one.sum(&size.negated()).times(&one.sum(&size))?;
            return Ok((self.bare(), square));
        }
        if self.absolute().sum(&one.negated()).is_like_zero() {
            let end = if self.digits() < 0 { one.negated() } else { one };
            return Ok((end, Self::ZERO));
        }
        Err(outside(words, self, "within −1 to 1"))
    }

    /// What the slack can do to an arc sine or arc cosine.
    fn arc_error(&self) -> f64 {
        let error = self.error_bound();
        if error == 0.0 {
            return 0.0;
        }
        // |asin u − asin v| is at most π/2 · √(2 |u − v|), and the slope at the far end times |u − v|
        let steep = 1.571 * (2.0 * error).sqrt();
        let far = self.to_f64().abs() + error;
        let square = (1.0 - far) * (1.0 + far);
        // near ±1 the f64 difference is too coarse to lean on
        if square > 1e-10 { up(error / square.sqrt() * (1.0 + 1e-5)).min(steep) } else { up(steep) }
    }

    fn needs_above_zero(&self, words: &str) -> Result<(), ArithmeticError> {
        if self.digits() <= 0 || self.is_like_zero() {
            return Err(outside(words, self, "above zero"));
        }
        Ok(())
    }
}

/// Whole quarter turns and the rest of an angle taken as exact.
fn quarters(angle: &Exact) -> (usize, Exact) {
    let bare = angle.bare();
    if bare.digits() == 0 || bare.ten < -1 { (0, bare) } else { reduced(&bare) }
}

/// Sine of a rest after whole quarter turns.
fn quadrant(quarter: usize, rest: &Exact) -> Outcome {
    let fixed = Fixed::from_exact(rest).unwrap_or(Fixed::ONE);
    let value = if quarter.is_multiple_of(2) {
        // the slope of sin t / t is at most t/3, so the slack of t itself covers it with a third more
        let wider = Exact { slack: up(rest.slack * 1.34), ..*rest };
        wider.times(&fixed.sine_over_argument().to_exact(ERROR))?
    } else if rest.digits() == 0 {
        Exact::whole(1)
    } else {
        fixed.cosine().to_exact(ERROR).widened(rest.slack, rest.exponent())
    };
    Ok(if quarter % 4 >= 2 { value.negated() } else { value })
}

/// (1 + part)^exponent − 1, from above.
fn grown(part: f64, exponent: f64) -> f64 {
    if part == 0.0 {
        return 0.0;
    }
    if part >= 1.0 {
        return f64::INFINITY;
    }
    let small = exponent * part / (1.0 - part);
    if small < 0.1 { small * (1.0 + small) } else { elementary::exponential(small) }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a slack beyond 28 digits leaves no digit certain"
)]
fn ceiling(slack: f64) -> i128 {
    (slack * 1.000_001 + 1.0).min(1e37) as i128
}

fn outside(words: &str, value: &Exact, expected: &str) -> ArithmeticError {
    ArithmeticError::new(
        Name::OutsideFunction,
        format!("{words} of {value} is asked for, which needs a value {expected}"),
    )
}

fn outgrown(base: &str, exponent: &Exact) -> ArithmeticError {
    ArithmeticError::new(Name::TooLarge, format!("{base} is raised to {exponent}"))
}
