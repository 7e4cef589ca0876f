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

/// A calculation whose values another takes, and why it is none to go by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Foundation {
    /// Its name.
    pub alias: String,
    /// Why it is none to go by.
    pub why: &'static str,
}

impl Foundation {
    /// That a figure stands on it, in a few words.
    #[must_use]
    pub fn to_text(&self) -> String {
        format!("stands on {}, where {}", self.alias, self.why)
    }
}

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
    stands_on: Vec<Foundation>,
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
        Self { granted, examples, why, stands_on: Vec::new(), verdict, worst: None }
    }

    /// The same where inputs are values of other calculations that are none to go by.
    #[must_use]
    pub(crate) fn standing_on(self, stands_on: Vec<Foundation>) -> Self {
        Self { stands_on, ..self }
    }

    /// The calculations whose values it takes, at once or by way of others, that are none to go by.
    #[must_use]
    pub(crate) fn stands_on(&self) -> &[Foundation] {
        &self.stands_on
    }

    /// Whether every check holds.
    #[must_use]
    pub fn granted(&self) -> bool {
        self.granted
    }

    /// Whether settings may be set: no figure of an example is one, nor what stands on a calculation that fails.
    #[must_use]
    pub fn may_be_set(&self) -> bool {
        self.granted && !self.examples && self.stands_on.is_empty()
    }

    /// Why not, in a few words; empty where they may be.
    #[must_use]
    pub fn why(&self) -> String {
        self.with_foundations(self.why)
    }

    /// Why not for what it has itself: a check, its tolerances, its examples.
    #[must_use]
    pub(crate) fn own_why(&self) -> &'static str {
        self.why
    }

    /// Why an input is none to go by: it does not fail, what is calculated with it does; one that is `handed` on by another
    /// calculation may.
    #[must_use]
    pub(crate) fn why_of_input(&self, handed: bool) -> String {
        let [_, _, example] = WHY;
        match (handed, self.examples) {
            (true, _) => self.with_foundations(""),
            (_, true) => example.to_owned(),
            _ => String::new(),
        }
    }

    /// What stands behind a verdict that holds at the values given: that it is not proved, and what it stands on.
    #[must_use]
    pub(crate) fn caveat_of_checks(&self) -> String {
        self.with_foundations(if self.granted { "" } else { self.why })
    }

    fn with_foundations(&self, own: &str) -> String {
        let all =
            [own.to_owned()].into_iter().chain(self.stands_on.iter().map(Foundation::to_text));
        all.filter(|words| !words.is_empty()).collect::<Vec<_>>().join("; ")
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
