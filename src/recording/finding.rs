//! A finding, and how stops are named in one.

use super::stop::Stop;
use crate::calculation::Verdict;
use crate::diagnostic::Place;

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

pub(super) fn at(place: &Place) -> String {
    place.to_text()
}

pub(super) fn finding(verdict: bool, text: &str, detail: String, otherwise: &str) -> Finding {
    Finding {
        verdict: if verdict { Verdict::Holds } else { Verdict::Fails },
        text: text.to_owned(),
        detail,
        otherwise: otherwise.to_owned(),
        confirmed: true,
    }
}

pub(super) fn caution(text: &str, detail: String, otherwise: &str) -> Finding {
    Finding {
        verdict: Verdict::Caution,
        text: text.to_owned(),
        detail,
        otherwise: otherwise.to_owned(),
        confirmed: true,
    }
}

/// What is assumed, and nothing was recorded or said that shows it.
pub(super) fn unconfirmed(text: &str, detail: &str, otherwise: &str) -> Finding {
    let detail = format!("not confirmed: {detail}");
    Finding { confirmed: false, ..caution(text, detail, otherwise) }
}

pub(super) fn counted(stops: usize) -> String {
    if stops == 1 { "1 stop".to_owned() } else { format!("{stops} stops") }
}

/// Stops named by their places, at most a few.
pub(super) fn named(stops: &[&Stop]) -> String {
    let all: Vec<String> = stops.iter().take(4).map(|stop| at(&stop.place)).collect();
    let more = stops.len().saturating_sub(all.len());
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{rest}", all.join(", "))
}
