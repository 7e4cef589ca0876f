//! Dimensions, kinds, the unit catalogue, and unit notation read and printed.

mod catalogue;
mod decimal;
mod dimension;
mod entries;
mod expression;
mod factor;
mod kind;
mod kinds;
mod nearest;
mod notation;
mod plate;
mod problem;
mod quantity;
mod radian;
mod reading;
mod shapes;
mod thousands;
mod typed;

use rust_decimal::Decimal;

pub use catalogue::{Entry, catalogue};
pub(crate) use decimal::{has_leading_zero, is_dash, without_leading_zeros};
pub use decimal::{is_decimal, may_be_thousands, never_thousands, parse_number};
pub use dimension::{Base, Dimension, superscript};
pub use factor::{Factor, Literal};
pub(crate) use kind::nearest_kind_of;
pub use kind::{kind, kinds_of, name_of, nearest_kinds, usual_unit};
pub use kinds::KINDS;
pub use kinds::{AngleWritten, Kind};
pub(crate) use nearest::{likeness, slips};
pub use plate::is_unit;
pub(crate) use plate::{alternates, prefixes, symbols_of_plates};
pub use problem::{UnitProblem, UnitReason};
pub(crate) use quantity::choice;
pub use quantity::{QuantityProblem, QuantityReason, split_quantity};
pub use radian::{fits, settle};
pub use reading::parse_unit;
pub(crate) use reading::{OF_DIAMETER, PrintedInertia, printed_inertia};
pub(crate) use shapes::symbols;
pub use thousands::{split_typed, unsettled_point};
pub use typed::{TypedAs, from_typed, to_typed, typed_as};

/// A unit, ready to convert with.
///
/// A number x in this unit is `(x + zero) · factor` in coherent SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// As a person reads it, in SI notation: `kg·m²`, `r/min`; empty for a pure number.
    pub symbol: String,
    /// Dimension, angle included.
    pub dimension: Dimension,
    /// What one unit is in coherent SI.
    pub factor: Factor,
    /// Added before multiplying: 273.15 for °C, 459.67 for °F, else 0.
    pub zero: Decimal,
    /// A temperature on the scale (°C, °F), not a difference.
    pub point: bool,
    /// The text it was read from, where that was the notation of plates: `RPM` for r/min.
    pub typed: Option<String>,
}

impl Unit {
    /// Whether a number means the same in both, however they are written.
    pub(crate) fn is_same(&self, other: &Self) -> bool {
        self.factor == other.factor && self.zero == other.zero && self.dimension == other.dimension
    }

    /// The pure number one.
    #[must_use]
    pub fn one() -> Self {
        Self {
            symbol: String::new(),
            dimension: Dimension::NONE,
            factor: Factor::ONE,
            zero: Decimal::ZERO,
            point: false,
            typed: None,
        }
    }
    /// digits · 10^ten in this unit, in coherent SI, within 2 units in the last place.
    ///
    /// # Example
    /// ```
    /// let unit = standstill::unit::parse_unit("°F").unwrap();
    /// assert_eq!(unit.to_si("68".parse().unwrap(), 0), 293.15);
    /// ```
    #[must_use]
    pub fn to_si(&self, digits: Decimal, ten: i32) -> f64 {
        if self.zero.is_zero() {
            return self.factor.times_decimal(digits, ten);
        }
        let exact = power_of_ten(ten)
            .and_then(|power| digits.checked_mul(power))
            .and_then(|number| number.checked_add(self.zero));
        match exact {
            Some(number) => self.factor.times_decimal(number, 0),
            None => {
                let zero = Factor::ONE.times_decimal(self.zero, 0);
                (Factor::ONE.times_decimal(digits, ten) + zero) * self.factor.as_f64()
            }
        }
    }

    /// A number in coherent SI as a number in this unit.
    ///
    /// # Example
    /// ```
    /// let unit = standstill::unit::parse_unit("mm").unwrap();
    /// assert_eq!(unit.from_si(0.35), 350.0);
    /// ```
    #[must_use]
    #[allow(clippy::wrong_self_convention)] // converts a number, not the unit
    pub fn from_si(&self, value_si: f64) -> f64 {
        let number = self.factor.divide(value_si);
        if self.zero.is_zero() { number } else { number - Factor::ONE.times_decimal(self.zero, 0) }
    }
}

/// 10^ten for the powers at which digits stay within a decimal.
fn power_of_ten(ten: i32) -> Option<Decimal> {
    let digits = ten.unsigned_abs();
    if ten < 0 {
        Decimal::try_new(1, digits).ok()
    } else {
        10_i64.checked_pow(digits).map(Decimal::from)
    }
}
