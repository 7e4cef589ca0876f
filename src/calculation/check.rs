//! How checks come out.

use super::worst::uncertain::At;

/// How a check comes out: with the nominal values, or for everything within the tolerances.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// It holds; within the tolerances: proved for all of them.
    Holds,
    /// It does not hold for the nominal values, and the sheet only cautions.
    Caution,
    /// It holds wherever it was tried within the tolerances, which proves nothing.
    NotProved,
    /// It holds for the nominal values, and fails somewhere within the tolerances.
    MayFail,
    /// It fails for the nominal values.
    Fails,
}

impl Verdict {
    /// As a person reads it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Caution => "look",
            Self::NotProved => "not proved",
            Self::MayFail => "may fail",
            Self::Fails => "FAILS",
        }
    }

    /// As a program reads it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Caution => "caution",
            Self::NotProved => "not-proved",
            Self::MayFail => "may-fail",
            Self::Fails => "fails",
        }
    }

    /// What a reader has to know of a word that does not explain itself.
    #[must_use]
    pub fn explanation(self) -> Option<&'static str> {
        match self {
            Self::NotProved => {
                Some("neither proved nor refuted within the search; treat it as failing")
            }
            Self::MayFail => {
                Some("it holds for the nominal values, and fails for others within the tolerances")
            }
            Self::Holds | Self::Caution | Self::Fails => None,
        }
    }
}

/// A check with its margin.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct CheckResult {
    /// How it came out.
    pub verdict: Verdict,
    /// The check in words.
    pub text: String,
    /// Path of aliases of the used sheet it belongs to; empty for the sheet itself.
    pub path: String,
    /// Only a caution.
    pub caution: bool,
    /// What to do when it does not hold.
    pub otherwise: String,
    /// What it speaks of never exists: `otherwise` says why, in the words of the cause.
    pub never: bool,
    /// Both sides and what lies between, where the check is one comparison.
    pub margin: Option<Margin>,
}

/// Both sides of a comparison, as a person reads them.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Margin {
    /// `1165 mm <= 2500 mm`
    pub sides: String,
    /// What is left: below zero when the check fails; none for `=` and `<>`.
    pub left: Option<String>,
}

/// How a check comes out within the tolerances.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WorstCheck {
    /// How it comes out.
    pub verdict: Verdict,
    /// The check in words.
    pub text: String,
    /// Path of aliases of the used sheet it belongs to.
    pub path: String,
    /// What to do when it does not hold.
    pub otherwise: String,
    /// Only a caution.
    pub caution: bool,
    /// The least that is left between its sides, in words; where the check is one comparison.
    pub least_margin: Option<String>,
    /// The corner where it fails, or has least left; empty when none is known.
    pub corner: String,
    /// The least that is left between its sides, in coherent SI, or what it is never below; where the check is one
    /// comparison.
    pub least: Option<f64>,
    /// The least that is reached between them.
    pub(crate) reached: Option<f64>,
    /// How much is missing or left at `least`, over the size of the sides; without end where it is not known.
    pub(super) short: f64,
    /// Where every uncertain input stands when it fails.
    pub(super) failing: Option<Vec<At>>,
}
