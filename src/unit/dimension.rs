//! Dimensions: the powers of length, mass, time, current, temperature and angle in a quantity.

use std::fmt;

/// A base dimension. Angle is one of them: a revolution is not a plain number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Base {
    /// Metre.
    Length,
    /// Kilogram.
    Mass,
    /// Second.
    Time,
    /// Ampere.
    Current,
    /// Kelvin.
    Temperature,
    /// Radian.
    Angle,
}

impl Base {
    /// All of them, in the order in which powers are kept.
    pub const ALL: [Self; 6] =
        [Self::Length, Self::Mass, Self::Time, Self::Current, Self::Temperature, Self::Angle];

    /// Symbol of the coherent unit.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Length => "m",
            Self::Mass => "kg",
            Self::Time => "s",
            Self::Current => "A",
            Self::Temperature => "K",
            Self::Angle => "rad",
        }
    }
}

/// Powers are kept in sixths, so that square and cube roots stay whole.
const PARTS: i16 = 6;

/// The powers of the base dimensions in a quantity.
///
/// # Example
/// ```
/// use standstill::unit::Dimension;
/// let torque = Dimension::of(2, 1, -2, 0, 0, -1);
/// let speed_of_rotation = Dimension::of(0, 0, -1, 0, 0, 1);
/// let power = torque.times(speed_of_rotation);
/// assert_eq!(power, Dimension::of(2, 1, -3, 0, 0, 0));
/// assert_eq!(power.to_string(), "m²·kg·s⁻³");
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Dimension([i16; 6]);

impl Dimension {
    /// A pure number.
    pub const NONE: Self = Self([0; 6]);
    /// A plane angle.
    pub const ANGLE: Self = Self::of(0, 0, 0, 0, 0, 1);

    /// Whole powers of length, mass, time, current, temperature and angle.
    #[must_use]
    pub const fn of(
        length: i8,
        mass: i8,
        time: i8,
        current: i8,
        temperature: i8,
        angle: i8,
    ) -> Self {
        Self([
            length as i16 * PARTS,
            mass as i16 * PARTS,
            time as i16 * PARTS,
            current as i16 * PARTS,
            temperature as i16 * PARTS,
            angle as i16 * PARTS,
        ])
    }

    /// The power of one base, in sixths.
    #[must_use]
    pub fn sixths(self, base: Base) -> i16 {
        let [length, mass, time, current, temperature, angle] = self.0;
        match base {
            Base::Length => length,
            Base::Mass => mass,
            Base::Time => time,
            Base::Current => current,
            Base::Temperature => temperature,
            Base::Angle => angle,
        }
    }

    /// Dimension of a product.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        Self(std::array::from_fn(|at| self.part(at).saturating_add(other.part(at))))
    }

    /// Dimension of a quotient.
    #[must_use]
    pub fn over(self, other: Self) -> Self {
        Self(std::array::from_fn(|at| self.part(at).saturating_sub(other.part(at))))
    }

    /// Dimension of a power; `None` when a power would not be a whole number of sixths or grows beyond use.
    #[must_use]
    pub fn power(self, numerator: i32, denominator: i32) -> Option<Self> {
        let mut parts = [0_i16; 6];
        for (at, part) in parts.iter_mut().enumerate() {
            let raised = i32::from(self.part(at)).checked_mul(numerator)?;
            if denominator == 0 || raised % denominator != 0 {
                return None;
            }
            *part = i16::try_from(raised / denominator).ok()?;
        }
        Some(Self(parts))
    }

    /// The same without its power of angle.
    #[must_use]
    pub fn without_angle(self) -> Self {
        self.with_angle_of(Self::NONE)
    }

    /// The same with the power of angle of another.
    #[must_use]
    pub fn with_angle_of(self, other: Self) -> Self {
        let [length, mass, time, current, temperature, _] = self.0;
        Self([length, mass, time, current, temperature, other.sixths(Base::Angle)])
    }

    /// Whether it is a pure number.
    #[must_use]
    pub fn is_none(self) -> bool {
        self == Self::NONE
    }

    fn part(self, at: usize) -> i16 {
        self.0.get(at).copied().unwrap_or(0)
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_none() {
            return to.write_str("1");
        }
        let mut first = true;
        for base in Base::ALL {
            let sixths = self.sixths(base);
            if sixths == 0 {
                continue;
            }
            if !first {
                to.write_str("·")?;
            }
            first = false;
            to.write_str(base.symbol())?;
            if sixths % PARTS == 0 {
                if sixths != PARTS {
                    to.write_str(&superscript(i32::from(sixths / PARTS)))?;
                }
            } else {
                let divisor = if sixths % 3 == 0 { 3 } else { 2 };
                write!(to, "^({}/{})", sixths / divisor, PARTS / divisor)?;
            }
        }
        Ok(())
    }
}

impl fmt::Debug for Dimension {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "Dimension({self})")
    }
}

/// A whole number in superscript digits.
#[must_use]
pub fn superscript(number: i32) -> String {
    number
        .to_string()
        .chars()
        .map(|digit| match digit {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '0' => '⁰',
            '4'..='9' => {
                char::from_u32(u32::from(digit) - u32::from('4') + 0x2074).unwrap_or(digit)
            }
            other => other,
        })
        .collect()
}
