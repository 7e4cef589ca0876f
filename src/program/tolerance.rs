//! How far a value may lie from what is written.

use crate::unit::Literal;

/// How far a value may lie from what is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// From where to where.
    pub reach: Reach,
    /// A bell around the middle whose ends are two standard deviations away; else even.
    pub normal: bool,
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
