//! How many variants hold, and the worst margin of each check.

use super::super::Book;
use super::{Outcome, ProductLine, Verdict};
use crate::calculation::{self, Margin};

/// What became of a check over all variants.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckSummary {
    /// The check in words.
    pub text: String,
    /// Path of aliases of the used sheet it belongs to.
    pub path: String,
    /// Whether it only cautions.
    pub caution: bool,
    /// In how many variants it does not hold.
    pub fails: usize,
    /// The variant with the least margin, where the check is one comparison.
    pub worst: Option<Worst>,
}

/// The least margin of a check.
#[derive(Clone, Debug, PartialEq)]
pub struct Worst {
    /// The row of the variant, from 0.
    pub row: u32,
    /// Both sides and what lies between, on exact decimals.
    pub margin: Margin,
    /// Whether the check holds there.
    pub holds: bool,
}

impl Outcome {
    /// How many variants came out so.
    #[must_use]
    pub fn count(&self, verdict: Verdict) -> usize {
        self.variants.iter().filter(|variant| variant.verdict == verdict).count()
    }
}

impl ProductLine {
    /// What became of each check; the worst variants are worked out once more on exact decimals.
    #[must_use]
    pub fn checks(&self, book: &Book, outcome: &Outcome) -> Vec<CheckSummary> {
        let checks = self.program.checks.iter().zip(&outcome.checks).enumerate();
        checks
            .map(|(at, (check, tally))| {
                let worst = tally.worst.and_then(|(_, row)| {
                    let results = self.exactly(book, row).ok()?;
                    let found = results.checks().get(at)?;
                    let holds = found.verdict == calculation::Verdict::Holds;
                    Some(Worst { row, margin: found.margin.clone()?, holds })
                });
                CheckSummary {
                    text: check.text.clone(),
                    path: check.path.clone(),
                    caution: check.caution,
                    fails: tally.fails,
                    worst,
                }
            })
            .collect()
    }
}
