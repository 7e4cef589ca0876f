//! The checks of a report.

use serde_json::{Map, Value, json};

use super::table::{Column, Table};
use crate::calculation::{CheckResult, Margin, Results, Verdict, WorstCheck, of_the_same_cause};
use crate::program::with_path;

const COLUMNS: &[Column] =
    &[Column::words("verdict"), Column::words("check"), Column::words("sides and margin")];

/// Of what holds where inputs have tolerances that were not looked at.
pub(crate) const AT_THE_VALUES_GIVEN: &str = "at the values given";

/// A check, and how it came out.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// How it came out.
    pub verdict: Verdict,
    /// Only a caution.
    pub caution: bool,
    /// The check in words.
    pub text: String,
    /// Path of aliases of the used sheet it belongs to; empty for the sheet itself.
    pub path: String,
    /// What to do when it does not hold.
    pub otherwise: String,
    /// Whether that says why what it speaks of never exists.
    never: bool,
    /// What it compares.
    detail: Detail,
    /// Whether it was looked at for the values given alone, where inputs have tolerances.
    at_the_values_given: bool,
}

#[derive(Clone, Debug, PartialEq)]
enum Detail {
    /// Both sides with the nominal values.
    Sides(Option<Margin>),
    /// The least that is left within the tolerances, and where.
    Least { margin: Option<String>, corner: String },
}

impl From<&CheckResult> for Check {
    fn from(check: &CheckResult) -> Self {
        Self {
            verdict: check.verdict,
            caution: check.caution,
            text: check.text.clone(),
            path: check.path.clone(),
            otherwise: check.otherwise.clone(),
            never: check.never,
            detail: Detail::Sides(check.margin.clone()),
            at_the_values_given: false,
        }
    }
}

impl From<&WorstCheck> for Check {
    fn from(check: &WorstCheck) -> Self {
        let (margin, corner) = (check.least_margin.clone(), check.corner.clone());
        Self {
            verdict: check.verdict,
            caution: check.caution,
            text: check.text.clone(),
            path: check.path.clone(),
            otherwise: check.otherwise.clone(),
            never: false,
            detail: Detail::Least { margin, corner },
            at_the_values_given: false,
        }
    }
}

/// The checks of a calculation.
#[must_use]
pub fn checks(results: &Results) -> Vec<Check> {
    let at_the_values_given = results.inputs().any_spread();
    let checks = results.checks().iter();
    checks.map(|check| Check { at_the_values_given, ..Check::from(check) }).collect()
}

impl Check {
    /// Whether it holds.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.verdict == Verdict::Holds
    }

    /// How it came out; what holds at the values given is not taken for the worst case.
    #[must_use]
    pub fn word(&self) -> String {
        let word = self.verdict.word();
        match self.holds() && self.at_the_values_given {
            true => format!("{word} {AT_THE_VALUES_GIVEN}"),
            false => word.to_owned(),
        }
    }

    /// The check in words, with the used sheet it belongs to.
    #[must_use]
    pub fn label(&self) -> String {
        with_path(&self.path, &self.text)
    }

    /// Both sides and what lies between them, or the least that is left and where; empty where nothing is compared.
    #[must_use]
    pub fn detail(&self) -> String {
        match &self.detail {
            Detail::Sides(None) => String::new(),
            Detail::Sides(Some(Margin { sides, left: None })) => sides.clone(),
            Detail::Sides(Some(Margin { sides, left: Some(left) })) => {
                format!("{sides}, margin {left}")
            }
            Detail::Least { margin, corner } => {
                let margin = margin.as_ref().map(|margin| format!("least margin {margin}"));
                let open = !self.holds() && !corner.is_empty();
                let corner = open.then(|| format!("with {corner}"));
                margin.into_iter().chain(corner).collect::<Vec<_>>().join(", ")
            }
        }
    }

    /// What to do; none where it holds, or nothing is known.
    #[must_use]
    pub fn advice(&self) -> Option<&str> {
        (!self.holds() && !self.otherwise.is_empty()).then_some(self.otherwise.as_str())
    }

    /// All of it in one sentence: `the guard stands far enough away: may fail, least margin -5 mm, with v = 2 m/s`.
    #[must_use]
    pub fn sentence(&self) -> String {
        let detail = Some(self.detail()).filter(|detail| !detail.is_empty());
        let detail = detail.map_or_else(String::new, |detail| format!(", {detail}"));
        format!("{}: {}{detail}", self.label(), self.word())
    }

    /// For a program.
    #[must_use]
    pub fn json(&self) -> Value {
        let mut to = json!({
            "verdict": self.verdict.name(), "caution": self.caution, "text": self.text, "path": self.path,
            "otherwise": self.otherwise,
        });
        let more = match &self.detail {
            Detail::Sides(margin) => json!({
                "sides": margin.as_ref().map(|margin| &margin.sides),
                "margin": margin.as_ref().and_then(|margin| margin.left.as_ref()),
            }),
            Detail::Least { margin, corner } => {
                json!({ "least_margin": margin, "corner": corner })
            }
        };
        let why = self.verdict.explanation().map(|words| json!({ "explanation": words }));
        if let Value::Object(to) = &mut to {
            for part in [Some(more), why].into_iter().flatten() {
                to.extend(part.as_object().cloned().unwrap_or_else(Map::new));
            }
        }
        to
    }
}

/// What a reader has to know of the verdicts among some checks, each once.
#[must_use]
pub fn explanations(checks: &[Check]) -> Vec<String> {
    let mut words: Vec<String> = checks
        .iter()
        .filter_map(|it| Some(format!("{}: {}", it.verdict.word(), it.verdict.explanation()?)))
        .collect();
    words.dedup();
    words
}

/// For a program.
#[must_use]
pub fn checks_json(checks: &[Check]) -> Value {
    checks.iter().map(Check::json).collect()
}

/// The checks, or those alone that do not hold, with how many do; none where there is nothing to show.
#[must_use]
pub fn checks_table(checks: &[Check], all: bool) -> Option<Table> {
    let open = || checks.iter().filter(|check| !check.holds());
    if checks.is_empty() {
        return None;
    }
    let holding = checks.len() - open().count();
    let given = checks.iter().any(|check| check.at_the_values_given);
    let given = if given { format!(" {AT_THE_VALUES_GIVEN}") } else { String::new() };
    let title = match all {
        true => "checks".to_owned(),
        false => format!("checks: {holding} of {} hold{given}", checks.len()),
    };
    let rows = checks.iter().filter(|check| all || !check.holds());
    // what never exists fails every check that speaks of it: the cause is told once
    let alike = |one: &Check, other: &Check| {
        one.never && other.never && (&one.otherwise, &one.path) == (&other.otherwise, &other.path)
    };
    let first = |at: usize, check: &Check| !open().take(at).any(|before| alike(before, check));
    let advice =
        open().enumerate().filter(|(at, check)| first(*at, check)).filter_map(|(_, check)| {
            let more = of_the_same_cause(open().filter(|other| alike(check, other)).count());
            Some(format!("{}: {}{more}", check.label(), check.advice()?))
        });
    Some(Table {
        title,
        columns: COLUMNS,
        headed: false,
        rows: rows.map(|check| vec![check.word(), check.label(), check.detail()]).collect(),
        notes: explanations(checks).into_iter().chain(advice).collect(),
    })
}
