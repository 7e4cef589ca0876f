//! Kinds of quantity: what an input is, its dimension, and how the angle stands in it.

use super::Dimension;

/// Whether a unit of the kind writes its radian.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum AngleWritten {
    /// The unit must show it: r/min, rad/s², mm/r, N·m/rad.
    Yes,
    /// SI's habit leaves it out: kg·m², N·m, the m of a radius.
    No,
}

/// A kind of quantity.
#[derive(Debug, PartialEq)]
pub struct Kind {
    /// Name as a sheet writes it: `speed of rotation`.
    pub name: &'static str,
    /// Dimension, angle included.
    pub dimension: Dimension,
    /// A temperature on the scale, not a difference.
    pub point: bool,
    /// Units offered in forms and messages, the usual one first; empty for a pure number.
    pub units: &'static [&'static str],
    /// Whether a unit of the kind writes its radian.
    pub angle: AngleWritten,
    /// A line whose dimension equals this one's but for the angle takes this power of angle.
    pub settles: bool,
    /// Pure ratios and counts are read without a unit.
    pub bare: bool,
    /// What it is, with its source.
    pub about: &'static str,
}
