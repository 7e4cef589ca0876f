//! A finding, and how stops are named in one.

use super::measure::{Measured, limit as limit_text, with_u};
use super::stop::Stop;
use crate::calculation::Verdict;
use crate::report::Check;

/// One line of the verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// How it came out.
    pub verdict: Verdict,
    /// What was looked at.
    pub text: String,
    /// The figures.
    pub detail: String,
    /// What to do, where it does not hold.
    pub otherwise: String,
    /// Whether something was recorded or said that shows it.
    pub confirmed: bool,
}

impl Finding {
    fn new(verdict: Verdict, text: &str, detail: String, otherwise: &str) -> Self {
        let (text, otherwise) = (text.to_owned(), otherwise.to_owned());
        Self { verdict, text, detail, otherwise, confirmed: true }
    }
}

impl From<&Check> for Finding {
    fn from(check: &Check) -> Self {
        Self::new(check.verdict, &check.label(), check.detail(), &check.otherwise)
    }
}

pub(super) fn finding(holds: bool, text: &str, detail: String, otherwise: &str) -> Finding {
    let verdict = if holds { Verdict::Holds } else { Verdict::Fails };
    Finding::new(verdict, text, detail, otherwise)
}

pub(super) fn caution(text: &str, detail: String, otherwise: &str) -> Finding {
    Finding::new(Verdict::Caution, text, detail, otherwise)
}

/// What is assumed, and nothing was recorded or said that shows it.
pub(super) fn unconfirmed(text: &str, detail: &str, otherwise: &str) -> Finding {
    let detail = format!("not confirmed: {detail}");
    Finding { confirmed: false, ..caution(text, detail, otherwise) }
}

/// What to do where a measurement is too uncertain to show what it is held against.
const NOT_SHARP: &str = "the measurement cannot show it, and says nothing against the machine: measure again without the filter of the recorder or with a quicker one, with shorter times between samples and less noise; or calculate with what the uncertainty leaves open, and issue ramp, delay and distance again";

/// Times of stops held against the longest calculated, `limit`; `in_words` puts the longest of them, the limit and
/// the number of stops into a sentence. None where there are no stops.
pub(super) fn within(
    text: &str,
    times: &[(&Stop, Measured)],
    (limit, slack): (f64, f64),
    in_words: fn(&str, &str, &str) -> String,
    otherwise: &str,
) -> Option<Finding> {
    let most = |it: &Measured| it.value + it.u;
    let longest = times.iter().map(|it| it.1).max_by(|a, b| most(a).total_cmp(&most(b)))?;
    let beyond = times.iter().filter(|(_, it)| most(it) > limit * (1.0 + slack));
    let beyond: Vec<&Stop> = beyond.map(|it| it.0).collect();
    let most_text = limit_text(limit, longest, 1e-3);
    let detail = in_words(&with_u(longest, 1e-3), &most_text, &counted(times.len()));
    if beyond.is_empty() {
        return Some(finding(true, text, detail, otherwise));
    }
    // what is not longer by itself is not the machine's
    let surely = times.iter().any(|(_, it)| it.value > limit * (1.0 + slack));
    Some(if surely {
        finding(false, text, format!("{detail}; beyond it: {}", named(&beyond)), otherwise)
    } else {
        let detail = format!("{detail}; beyond it by its uncertainty alone: {}", named(&beyond));
        finding(false, text, detail, NOT_SHARP)
    })
}

pub(super) fn counted(stops: usize) -> String {
    if stops == 1 { "1 stop".to_owned() } else { format!("{stops} stops") }
}

/// Stops named by their places, at most a few.
pub(super) fn named(stops: &[&Stop]) -> String {
    let all: Vec<String> = stops.iter().take(4).map(|stop| stop.place.to_text()).collect();
    let more = stops.len().saturating_sub(all.len());
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{rest}", all.join(", "))
}
