//! Protocols of several plans beside one another: each stop is one machine's, and each distance is issued once.

use super::finding::counted;
use super::measure::digits;
use super::protocol::Protocol;
use super::recheck::same_value;
use crate::diagnostic::{Diagnostic, Name};
use crate::environment::written_day;
use crate::report::{self, Release};

/// One problem for every two protocols, each with the name of its plan, that cannot both be counted, and which two: plans
/// of different machines with a stop in common, and plans of one machine that issue the same distance from the same
/// stops. Two distances of one machine may stand on the same stops.
#[must_use]
pub fn counted_twice(made: &[(&str, &Protocol)]) -> Vec<([usize; 2], Diagnostic)> {
    let mut found = Vec::new();
    for (later, (name, own)) in made.iter().enumerate() {
        for (earlier, (other, before)) in made.iter().enumerate().take(later) {
            found.extend(twice((name, own), (other, before)).map(|it| ([earlier, later], it)));
        }
    }
    found
}

fn twice((name, own): (&str, &Protocol), (other, before): (&str, &Protocol)) -> Option<Diagnostic> {
    let mut same = own
        .stops()
        .filter_map(|stop| Some((stop, before.stops().find(|it| it.print == stop.print)?)));
    let (stop, first) = same.next()?;
    let count = counted(1 + same.count());
    let is_one = own.machine().is_some_and(|it| before.machine() == Some(it));
    let (words, remedy) = if !is_one {
        (
            format!(
                "`{name}` holds {count} of `{other}`: the samples are the same, and no two machines stop alike"
            ),
            "name under `file` what was recorded at each machine; where both plans are of one machine, say the same `machine` in them".to_owned(),
        )
    } else if issue_the_same(own, before) {
        (
            format!(
                "`{name}` is `{other}` once more: the same machine, the same distance, and {count} of the same samples"
            ),
            format!(
                "leave `{name}` out; where it is of another machine, say its `machine` and name its recordings; where it is of another device, say that in `[distance]`"
            ),
        )
    } else {
        return None;
    };
    let problem = Diagnostic::error(Name::AskedTwice, words);
    Some(
        problem
            .at(stop.place.clone())
            .label(first.place.clone(), "of the other plan already")
            .remedy(&remedy),
    )
}

/// Whether nothing that is asked of the distance differs, or nothing that comes out.
fn issue_the_same(one: &Protocol, other: &Protocol) -> bool {
    let asked = |it: &Protocol| -> Vec<(String, String)> {
        let all = it.plan.said.iter().filter(|it| it.0.starts_with("distance."));
        let mut all: Vec<_> = all.cloned().collect();
        all.sort();
        all
    };
    let (a, b) = (asked(one), asked(other));
    let pairs = || a.iter().zip(&b);
    let is_asked = a.len() == b.len() && pairs().all(|(a, b)| a.0 == b.0 && same_value(&a.1, &b.1));
    let results = |it: &Protocol| {
        let results = &it.issue.as_ref()?.results;
        let name = &results.program().scopes.first()?.sheet;
        let all = report::results_json(results, &Release::of(results));
        Some((name.clone(), all.get("results")?.clone()))
    };
    is_asked || results(one).is_some_and(|it| results(other) == Some(it))
}

impl Protocol {
    /// The machine as it is told from others; none where it is not said.
    #[must_use]
    pub fn machine(&self) -> Option<String> {
        let machine = self.plan.text("machine").trim().to_lowercase();
        (!machine.is_empty()).then_some(machine)
    }

    /// Where the stops of the condition go whose allowance is used up first; none without an earlier check.
    #[must_use]
    pub fn trend_text(&self) -> Option<String> {
        let shown = self.trend.as_ref()?.first_used_up()?;
        let used_up = shown.used_up.map(|it| format!(", used up {}", written_day(it)));
        let a_year = digits(shown.a_year * 1e3, 3);
        Some(format!("{a_year} ms a year{}", used_up.unwrap_or_default()))
    }
}
