//! Dimensions, kinds, the unit catalogue, and unit notation read and printed.

mod dimension;
mod factor;
mod kind;

use rust_decimal::Decimal;

pub use dimension::{Base, Dimension, superscript};
pub use factor::{Factor, Literal};
pub use kind::{AngleWritten, Kind};

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
}

impl Unit {
    /// The pure number one.
    #[must_use]
    pub fn one() -> Self {
        Self {
            symbol: String::new(),
            dimension: Dimension::NONE,
            factor: Factor::ONE,
            zero: Decimal::ZERO,
            point: false,
        }
    }
}
