//! Whether what a calculation gives may be set in a drive: the one place that decides, for every door.

use serde_json::{Value, json};

use super::examples::of_no_machine;
use crate::calculation::{Results, WorstCase};
use crate::diagnostic::Problems;

/// What stands before the value of a setting that may not be set.
pub const NOT_TO_BE_SET: &str = "NOT to be set";

/// Why a setting may not be set: a check fails, is not proved, or the figures are those of an example.
pub(crate) const WHY: [&str; 3] = [
    "a check FAILS",
    "a check is not proved within the tolerances",
    "inputs are the sheet's examples",
];

/// The verdict on a calculation as a whole: with the nominal values, and for everything within the tolerances
/// where inputs have one.
///
/// A setting may be set only where both hold. Whoever shows a setting asks here, whether or not the worst case was
/// asked for: a tolerance that is stated counts.
#[derive(Clone, Debug)]
pub struct Release {
    granted: bool,
    examples: bool,
    why: &'static str,
    verdict: String,
    worst: Option<Result<WorstCase, Problems>>,
}

impl Release {
    /// Of a calculation; where inputs have tolerances its worst case is calculated.
    #[must_use]
    pub fn of(results: &Results) -> Self {
        let stated = results.inputs().any_spread();
        let worst = stated.then(|| WorstCase::compute(results.program(), results.inputs()));
        let open = match &worst {
            None => None,
            Some(Ok(worst)) => Some((worst.holds(), worst.verdict_text())),
            Some(Err(problems)) => {
                let first = problems.first().map_or("", |problem| problem.headline.as_str());
                Some((
                    false,
                    format!("MAY FAIL: there is no worst case within the tolerances: {first}"),
                ))
            }
        };
        Self { worst, ..Self::decided(results, open) }
    }

    /// Of a calculation whose worst case is there already.
    #[must_use]
    pub fn of_worst(worst: &WorstCase) -> Self {
        let stated = !worst.uncertain().is_empty() || !worst.holds();
        Self::decided(worst.nominal(), stated.then(|| (worst.holds(), worst.verdict_text())))
    }

    fn decided(results: &Results, open: Option<(bool, String)>) -> Self {
        let examples = !of_no_machine(results.inputs()).is_empty();
        let [fails, unproved, example] = WHY;
        let (granted, why, verdict) = match open {
            _ if !results.holds() => (false, fails, results.verdict_text()),
            Some((false, words)) => (false, unproved, words),
            open => {
                let why = if examples { example } else { "" };
                (true, why, open.map_or_else(|| results.verdict_text(), |(_, words)| words))
            }
        };
        Self { granted, examples, why, verdict, worst: None }
    }

    /// Whether every check holds.
    #[must_use]
    pub fn granted(&self) -> bool {
        self.granted
    }

    /// Whether settings may be set: no figure of an example is one.
    #[must_use]
    pub fn may_be_set(&self) -> bool {
        self.granted && !self.examples
    }

    /// Why not, in a few words; empty where they may be.
    #[must_use]
    pub fn why(&self) -> &'static str {
        self.why
    }

    /// Why an input is none to go by: it does not fail, what is calculated with it does.
    #[must_use]
    pub(crate) fn why_of_input(&self) -> &'static str {
        let [_, _, example] = WHY;
        if self.examples { example } else { "" }
    }

    /// The verdict in words, for a cell or a line.
    #[must_use]
    pub fn verdict(&self) -> &str {
        &self.verdict
    }

    /// The worst case that decided, or why there is none; nothing where no input has a tolerance, or where it was
    /// there already.
    #[must_use]
    pub fn worst(&self) -> Option<&Result<WorstCase, Problems>> {
        self.worst.as_ref()
    }

    /// The value of a setting as it may be shown: marked where it may not be set.
    #[must_use]
    pub fn shown(&self, value: &str) -> String {
        match self.may_be_set() {
            true => value.to_owned(),
            false => format!("{NOT_TO_BE_SET} ({value})"),
        }
    }

    /// What a program reads of the tolerances; null where no input has one.
    pub(super) fn over_tolerances(&self) -> Value {
        let worst = self.worst.as_ref();
        worst.map_or(Value::Null, |worst| {
            let holds = worst.as_ref().is_ok_and(WorstCase::holds);
            let verdict =
                worst.as_ref().map_or_else(|_| self.verdict.clone(), WorstCase::verdict_text);
            json!({ "holds": holds, "verdict": verdict })
        })
    }
}
