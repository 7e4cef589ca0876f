//! Where the stopping time goes from check to check, each condition held against itself.

use super::condition::{Condition, decisive};
use super::finding::counted;
use super::fit::least_squares;
use super::measure::count_f64;
use super::plan::Plan;
use super::recheck::{Earlier, PASSED};
use super::stop::Stop;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::{day, written_day};

/// Where the stopping time goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Trend {
    /// Day and stopping time in s of the condition that decided then, in their order, the present one last.
    pub points: Vec<(String, f64)>,
    /// Day and verdict of the earlier checks that were not passed, or passed with something not confirmed.
    pub not_passed: Vec<(String, String)>,
    /// The conditions that were measured before as well, the steepest first.
    pub conditions: Vec<Course>,
    /// Change in s a year of the steepest.
    pub a_year: f64,
    /// The first day on which the allowance of one of them is used up, if it goes on so.
    pub used_up: Option<String>,
    /// Conditions of earlier checks that are not measured now.
    pub(super) missing: Vec<Missing>,
    /// What is measured in another way than in the check before: what, then and now.
    pub(super) differs: Vec<(&'static str, String, String)>,
    /// The day on which this check was due, and by how many days it is late.
    pub(super) late: Option<(String, i64)>,
}

/// One condition from check to check.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// The condition.
    pub name: String,
    /// Day and stopping time in s, in their order, the present one last.
    pub points: Vec<(String, f64)>,
    /// Change in s a year: the larger of that since the check before and of a straight line through all of them.
    pub a_year: f64,
    /// The day on which its allowance is used up, if it goes on so.
    pub(super) used_up: Option<i64>,
}

/// A condition that was measured before.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Missing {
    pub(super) name: String,
    pub(super) day: String,
    pub(super) figure: f64,
    /// Whether it is longer than all that is measured now.
    pub(super) decides: bool,
}

impl Trend {
    /// The trend from earlier checks to this one; `spare` is by how much a stop may still become longer, in s.
    ///
    /// # Errors
    /// `part-mismatch` for another machine, or a check that is not earlier; `asked-twice` for a stop that an earlier
    /// one holds already.
    pub(super) fn of(
        earlier: &[Earlier],
        plan: &Plan,
        conditions: &[Condition],
        spare: Option<f64>,
    ) -> Result<Option<Self>, Problems> {
        if earlier.is_empty() {
            return Ok(None);
        }
        let mut problems = held_already(earlier, conditions);
        let wrong = |one: &Earlier, words: String, remedy: &str| {
            Diagnostic::error(Name::PartMismatch, words)
                .at(Place::File { name: one.file.clone() })
                .remedy(remedy)
        };
        let (machine, today) = (plan.text("machine"), day(plan.text("measured")));
        let mut days: Vec<i64> = Vec::new();
        for one in earlier {
            if one.machine != machine {
                let words =
                    format!("it is a protocol of `{}`, and this one of `{machine}`", one.machine);
                problems.push(wrong(one, words, "give an earlier protocol of the same machine"));
            }
            if today.is_none_or(|today| one.day >= today) {
                let words = format!(
                    "it was measured on {}, which is not before this check",
                    written_day(one.day)
                );
                problems.push(wrong(
                    one,
                    words,
                    "say the day of this check, `measured = \"…\"`, and give protocols before it",
                ));
            }
            if days.contains(&one.day) {
                let words = format!("a second protocol of {}", written_day(one.day));
                problems.push(wrong(one, words, "give one protocol of each check"));
            }
            days.push(one.day);
        }
        let Some(today) = today.filter(|_| problems.is_empty()) else {
            return Err(problems.into());
        };
        let mut before: Vec<&Earlier> = earlier.iter().collect();
        before.sort_by_key(|it| it.day);
        let figure = decisive(conditions).map_or(0.0, |it| it.times.figure);
        let mut courses: Vec<Course> = conditions
            .iter()
            .filter_map(|it| {
                let of = |one: &&Earlier| Some((one.day, one.figure_of(&it.name)?));
                let mut points: Vec<(i64, f64)> = before.iter().filter_map(of).collect();
                points.push((today, it.times.figure));
                // what the others allow, a shorter stop has in addition
                let spare = spare.map(|spare| spare + figure - it.times.figure);
                (points.len() > 1).then(|| course(&it.name, &points, spare))
            })
            .collect();
        courses.sort_by(|a, b| b.a_year.total_cmp(&a.a_year));
        let used_up = courses.iter().filter_map(|it| it.used_up).min().map(written_day);
        let last = before.last();
        let points = before.iter().map(|one| (one.day, one.figure)).chain([(today, figure)]);
        Ok(Some(Self {
            points: points.map(|(day, figure)| (written_day(day), figure)).collect(),
            not_passed: before
                .iter()
                .filter(|one| !one.verdict.starts_with(PASSED))
                .map(|one| (written_day(one.day), one.verdict.clone()))
                .collect(),
            a_year: courses.first().map_or(0.0, |it| it.a_year),
            used_up,
            missing: missing(&before, conditions, figure),
            differs: last.map_or_else(Vec::new, |it| it.differs(plan)),
            late: last
                .and_then(|it| it.next)
                .filter(|due| *due < today)
                .map(|due| (written_day(due), today - due)),
            conditions: courses,
        }))
    }
}

impl Trend {
    /// The conditions that were measured on a day, each with its stopping time in s.
    pub(super) fn of_day(&self, day: &str) -> Vec<(&str, f64)> {
        let course = |it: &'_ Course| it.points.iter().find(|it| it.0 == day).map(|it| it.1);
        let courses = self.conditions.iter().filter_map(|it| Some((it.name.as_str(), course(it)?)));
        let missing = self.missing.iter().filter(|it| it.day == day);
        courses.chain(missing.map(|it| (it.name.as_str(), it.figure))).collect()
    }
}

/// One problem for every earlier protocol that holds stops of this check.
fn held_already(earlier: &[Earlier], conditions: &[Condition]) -> Vec<Diagnostic> {
    let mut problems = Vec::new();
    for one in earlier {
        let stops = conditions.iter().flat_map(|it| &it.stops);
        let known: Vec<&Stop> = stops.filter(|stop| one.prints.contains(&stop.print)).collect();
        let Some(first) = known.first() else { continue };
        let words = format!(
            "{} of this check, such as this one, are in the protocol of {} already: `{}`",
            counted(known.len()),
            written_day(one.day),
            one.file
        );
        problems.push(
            Diagnostic::error(Name::AskedTwice, words)
                .at(first.place.clone())
                .remedy("measure the machine again: what was recorded then says nothing of today"),
        );
    }
    problems
}

/// A condition from check to check, the present one last; `spare` is by how much it may still become longer.
fn course(name: &str, points: &[(i64, f64)], spare: Option<f64>) -> Course {
    let today = points.last().map_or(0, |it| it.0);
    let since = match points {
        [.., before, now] => (now.1 - before.1) / days(now.0 - before.0),
        _ => 0.0,
    };
    let rows: Vec<([f64; 2], f64)> =
        points.iter().map(|(day, figure)| ([1.0, days(day - today)], *figure)).collect();
    let line = least_squares(&rows).map_or(since, |fit| fit.x[1]);
    let a_day = since.max(line);
    let used_up = spare.filter(|_| a_day > 0.0).and_then(|spare| {
        let left = (spare.max(0.0) / a_day).floor();
        // beyond a century nothing is foretold by a straight line
        (left < 36_525.0)
            .then(|| today + (0..=36_525).rev().find(|it| days(*it) <= left).unwrap_or(0))
    });
    Course {
        name: name.to_owned(),
        points: points.iter().map(|(day, figure)| (written_day(*day), *figure)).collect(),
        a_year: a_day * 365.25,
        used_up,
    }
}

fn days(count: i64) -> f64 {
    let size = usize::try_from(count.unsigned_abs()).map_or(0.0, count_f64);
    if count < 0 { -size } else { size }
}

/// Conditions that earlier checks have and this one has not, each as it was measured last.
fn missing(before: &[&Earlier], conditions: &[Condition], figure: f64) -> Vec<Missing> {
    let mut found: Vec<Missing> = Vec::new();
    for one in before.iter().rev() {
        for (name, time) in &one.conditions {
            if conditions.iter().any(|it| it.name == *name)
                || found.iter().any(|it| it.name == *name)
            {
                continue;
            }
            let (name, day) = (name.clone(), written_day(one.day));
            found.push(Missing { name, day, figure: *time, decides: *time > figure });
        }
    }
    found
}
