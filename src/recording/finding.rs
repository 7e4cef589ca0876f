//! A finding, and how stops are named in one.

use super::measure::{Measured, limit as limit_text, rounded_up, with_u};
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

/// What to do where a measurement is too uncertain to show what it is held against; `instead` is what to type then.
fn not_sharp(instead: Option<&str>) -> String {
    let figure = instead.map_or_else(String::new, |it| format!(", {it}"));
    format!(
        "the measurement cannot show it, and says nothing against the machine: measure again without the filter of the recorder or with a quicker one, with shorter times between samples and less noise; or calculate with what the uncertainty leaves open{figure}, and issue ramp, delay and distance again"
    )
}

/// How a measured value lies against what it may be at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Lies {
    Within,
    /// Within or beyond: its uncertainty leaves it open.
    Open,
    Beyond,
}

impl Lies {
    fn of(it: Measured, most: f64) -> Self {
        match (it.value + it.u <= most, it.value - it.u > most) {
            (true, _) => Self::Within,
            (_, true) => Self::Beyond,
            _ => Self::Open,
        }
    }
}

/// Beyond by the uncertainty alone, in words; `beyond` where the value itself is.
const fn by_uncertainty(beyond: bool) -> &'static str {
    if beyond {
        "beyond it by less than its uncertainty"
    } else {
        "beyond it by its uncertainty alone"
    }
}

/// A value held against what it may be at most, or where both are turned in sign at least; `instead` is what to type
/// where it is more.
pub(super) fn at_most(
    text: &str,
    detail: String,
    it: Measured,
    most: f64,
    otherwise: &str,
    instead: Option<&str>,
) -> Finding {
    let figure = instead.map_or_else(String::new, |it| format!(", {it}"));
    match Lies::of(it, most) {
        Lies::Within => finding(true, text, detail, otherwise),
        Lies::Beyond => finding(false, text, detail, &format!("{otherwise}{figure}")),
        Lies::Open => {
            let detail = format!("{detail}; {}", by_uncertainty(it.value > most));
            finding(false, text, detail, &not_sharp(instead))
        }
    }
}

/// Times of stops held against the longest calculated, `limit`; `in_words` puts the longest of them, the limit and
/// the number of stops into a sentence, and `name` is the input of the calculation that says it. None where there are no
/// stops.
pub(super) fn within(
    text: &str,
    times: &[(&Stop, Measured)],
    (limit, slack): (f64, f64),
    in_words: fn(&str, &str, &str) -> String,
    name: Option<&str>,
) -> Option<Finding> {
    let most = |it: &Measured| it.value + it.u;
    let limit_to = limit * (1.0 + slack);
    let longest = times.iter().map(|it| it.1).max_by(|a, b| most(a).total_cmp(&most(b)))?;
    let all_that = |is: &dyn Fn(Lies) -> bool| -> Vec<&Stop> {
        times.iter().filter(|it| is(Lies::of(it.1, limit_to))).map(|it| it.0).collect()
    };
    let beyond = all_that(&|it| it != Lies::Within);
    let most_text = limit_text(limit, longest, 1e-3);
    let detail = in_words(&with_u(longest, 1e-3), &most_text, &counted(times.len()));
    let instead = name.map(|it| format!("`{it} = \"{} ms\"`", rounded_up(most(&longest) * 1e3, 4)));
    let otherwise = match &instead {
        Some(it) => format!("find the cause, or calculate with the longest measured, {it},"),
        None => "find the cause, correct the calculation,".to_owned(),
    };
    let otherwise = format!("{otherwise} and issue ramp, delay and distance again");
    if beyond.is_empty() {
        return Some(finding(true, text, detail, &otherwise));
    }
    // what is not surely longer is not the machine's
    Some(if all_that(&|it| it == Lies::Beyond).is_empty() {
        let itself = times.iter().any(|it| it.1.value > limit_to);
        let detail = format!("{detail}; {}: {}", by_uncertainty(itself), named(&beyond));
        finding(false, text, detail, &not_sharp(instead.as_deref()))
    } else {
        finding(false, text, format!("{detail}; beyond it: {}", named(&beyond)), &otherwise)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_uncertainty_leaves_open_is_not_the_machines() {
        let figure = Some("`T_0 = \"1.7 N·m\"`");
        for (value, u, verdict, detail, otherwise) in [
            (1.84, 0.05, Verdict::Holds, "", "calculate again"),
            (1.84, 0.14, Verdict::Fails, "by its uncertainty alone", "cannot show it"),
            (1.70, 0.14, Verdict::Fails, "by less than its uncertainty", "cannot show it"),
            (1.50, 0.14, Verdict::Fails, "", "calculate again, `T_0 = \"1.7 N·m\"`"),
        ] {
            // at least 1.75, turned in sign
            let it = Measured { value: -value, u };
            let found = at_most("friction", String::new(), it, -1.75, "calculate again", figure);
            assert_eq!(found.verdict, verdict, "{value} ± {u}");
            assert!(found.detail.ends_with(detail), "{found:?}");
            assert!(found.otherwise.contains(otherwise), "{found:?}");
            let typed = found.otherwise.contains("`T_0 = \"1.7 N·m\"`");
            assert_eq!(typed, verdict == Verdict::Fails, "{found:?}");
            let surely = detail.is_empty();
            assert_eq!(found.otherwise.contains("nothing against the machine"), !surely);
        }
    }
}
