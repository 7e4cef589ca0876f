//! How far a value may lie from what is written.

use crate::unit::{Literal, Unit};

/// How far a value may lie from what is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// From where to where.
    pub reach: Reach,
    /// A bell around the middle whose ends are two standard deviations away; else even.
    pub normal: bool,
}

impl Tolerance {
    /// Lowest and highest value, in SI.
    pub(super) fn ends(&self, value: &Literal) -> (f64, f64) {
        let middle = value.si_f64();
        let plain = |literal: &Literal| {
            let unit = Unit { zero: rust_decimal::Decimal::ZERO, ..literal.unit.clone() };
            Literal { unit, ..literal.clone() }.si_f64()
        };
        let amount = |amount: &Literal| match amount.unit.symbol == "%" && value.unit.symbol != "%"
        {
            true => plain(amount) * plain(value).abs(),
            false => plain(amount),
        };
        match &self.reach {
            Reach::Around { above, below } => (middle - amount(below), middle + amount(above)),
            Reach::Between { low, high } => (low.si_f64(), high.si_f64()),
        }
    }
}

/// From where to where a value may lie.
#[derive(Clone, Debug, PartialEq)]
pub enum Reach {
    /// How far above and below the value, neither below zero; a percentage is one of the value, unless the
    /// value itself is written in %.
    Around {
        /// Above.
        above: Literal,
        /// Below.
        below: Literal,
    },
    /// The ends themselves.
    Between {
        /// Lower end.
        low: Literal,
        /// Upper end.
        high: Literal,
    },
}
