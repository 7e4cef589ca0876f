//! What is wrong with a unit, and how to put it right.

use std::fmt;
use std::ops::Range;

use crate::diagnostic::Name;

/// Why a text is not the unit that is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum UnitReason {
    /// A symbol is not in the catalogue.
    Unknown,
    /// The text does not read as unit notation.
    Unreadable,
    /// A unit, but of another kind of quantity.
    WrongKind,
    /// The unit fits but for the angle.
    WrongPowerOfRad,
    /// A temperature on a scale stands inside a product or a quotient.
    TemperaturePoint,
    /// The exact factor has more digits than can be kept.
    TooManyDigits,
}

impl UnitReason {
    /// The stable name under which a problem of that reason is reported.
    #[must_use]
    pub fn name(self) -> Name {
        match self {
            Self::Unknown | Self::Unreadable | Self::TooManyDigits => Name::UnknownUnit,
            Self::WrongKind => Name::UnitMismatch,
            Self::WrongPowerOfRad => Name::WrongPowerOfRad,
            Self::TemperaturePoint => Name::TemperaturePoint,
        }
    }
}

/// A text that is not the unit that is needed.
///
/// # Example
/// ```
/// use standstill::unit::{UnitReason, parse_unit};
/// let problem = parse_unit("rmp").unwrap_err();
/// assert_eq!(problem.reason, UnitReason::Unknown);
/// assert_eq!(problem.headline(), "nothing is called `rmp` among the units");
/// assert_eq!(problem.remedy, "did you mean `rpm`, a unit of speed of rotation?");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitProblem {
    /// Why.
    pub reason: UnitReason,
    /// Bytes of the text concerned.
    pub span: Range<usize>,
    /// What stands there.
    pub found: String,
    /// Units that may have been meant, the best first, at most three.
    pub nearest: Vec<String>,
    /// How to put it right; can be typed as it stands.
    pub remedy: String,
    pub(super) headline: String,
    /// Whether the first of the nearest was meant: another spelling of the same.
    pub(crate) certain: bool,
}

impl UnitProblem {
    /// What is the matter, in lower case and without a full stop.
    #[must_use]
    pub fn headline(&self) -> &str {
        &self.headline
    }
}

impl fmt::Display for UnitProblem {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}", self.headline)?;
        if !self.remedy.is_empty() {
            write!(to, "; {}", self.remedy)?;
        }
        Ok(())
    }
}

impl std::error::Error for UnitProblem {}
