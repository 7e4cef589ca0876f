//! Where the stopping time goes from check to check, each condition held against itself.

use super::condition::{Condition, Mode, decisive, known_by, label_known_by, stands_on};
use super::finding::counted;
use super::fit::least_squares;
use super::measure::count_f64;
use super::measure::with_u;
use super::plan::{Plan, Said};
use super::recheck::{Before, Differs, Earlier, PASSED};
use super::series::fewest;
use super::stop::Stop;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::{day, written_day};
use crate::program::nearest;

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
    /// Conditions of earlier checks that are not measured now: each later check still knows them.
    pub(super) missing: Vec<Missing>,
    /// What is not as in the check before.
    pub(super) differs: Vec<Differs>,
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
    /// How many stops of it there are now, fewer than a figure needs.
    pub(super) stops: usize,
}

impl Missing {
    /// What `[left_out]` says of it, by its name with the way in which its stops ended, or for all ways.
    pub(super) fn left_out<'a>(&self, plan: &'a Plan) -> Option<&'a Said> {
        plan.left_out.iter().find(|said| self.is(&said.key))
    }

    fn is(&self, key: &str) -> bool {
        let (name, mode) = label_known_by(&self.name);
        let said = label_known_by(key);
        said == (name.clone(), mode) || said == (name, None)
    }
}

impl Trend {
    /// The trend from earlier checks to this one; `spare` is by how much a stop may still become longer, in s;
    /// `unit` that in which speeds are shown, and its size.
    ///
    /// # Errors
    /// `protocol-mismatch` for another machine, or a check that is not earlier; `asked-twice` for a stop that an earlier
    /// one holds already.
    pub(super) fn of(
        earlier: &[Earlier],
        plan: &Plan,
        conditions: &[Condition],
        spare: Option<f64>,
        unit: (&str, f64),
    ) -> Result<Option<Self>, Problems> {
        if earlier.is_empty() {
            let unknown = plan.left_out.iter().map(|said| {
                let words = format!(
                    "`{}` is left out of what was measured before, and no earlier protocol is named",
                    said.key
                );
                Diagnostic::error(Name::UnknownName, words).at(said.place.clone()).remedy(
                    "name the protocol of the check before, `--before FILE`; where this is the first check, leave `[left_out]` out",
                )
            });
            let problems: Vec<Diagnostic> = unknown.collect();
            return if problems.is_empty() { Ok(None) } else { Err(problems.into()) };
        }
        let mut problems = held_already(earlier, conditions);
        let wrong = |one: &Earlier, words: String, remedy: &str| {
            Diagnostic::error(Name::ProtocolMismatch, words)
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
        let figure = decisive(conditions, plan).map_or(0.0, |it| it.times.figure);
        let mode = stands_on(plan);
        let mut courses: Vec<Course> = conditions
            .iter()
            .filter_map(|it| {
                let name = it.label();
                // a stop from another speed is another stop
                let of = |one: &&Earlier| {
                    let then = one.of(&name).filter(|then| !other_speed(then, it))?;
                    Some((one.day, then.figure))
                };
                let mut points: Vec<(i64, f64)> = before.iter().filter_map(of).collect();
                points.push((today, it.times.figure));
                // what the others allow, a shorter stop has in addition; where the distance stands on a ramp that
                // works, one that fails uses up nothing
                let counts = mode != Some(Mode::Works) || it.mode == Mode::Works;
                let spare = spare.map(|spare| spare + figure - it.times.figure);
                (points.len() > 1).then(|| course(&name, &points, spare.filter(|_| counts)))
            })
            .collect();
        courses.sort_by(|a, b| b.a_year.total_cmp(&a.a_year));
        let used_up = courses.iter().filter_map(|it| it.used_up).min().map(written_day);
        let missing = missing(&before, conditions, figure);
        let nothing: Vec<Diagnostic> = leaves_out_nothing(plan, &missing, conditions).collect();
        if !nothing.is_empty() {
            return Err(nothing.into());
        }
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
            missing,
            differs: last.map_or_else(Vec::new, |it| differs(it, plan, conditions, unit)),
            late: last
                .and_then(|it| it.next)
                .filter(|due| *due < today)
                .map(|due| (written_day(due), today - due)),
            conditions: courses,
        }))
    }
}

impl Trend {
    /// The condition whose allowance is used up first, or else the steepest.
    pub(super) fn first_used_up(&self) -> Option<&Course> {
        let all = self.conditions.iter().filter(|it| it.used_up.is_some());
        all.min_by_key(|it| it.used_up).or(self.conditions.first())
    }

    /// The conditions that were measured on a day, each with its stopping time in s.
    pub(super) fn of_day(&self, day: &str) -> Vec<(&str, f64)> {
        let course = |it: &'_ Course| it.points.iter().find(|it| it.0 == day).map(|it| it.1);
        let courses = self.conditions.iter().filter_map(|it| Some((it.name.as_str(), course(it)?)));
        let missing = self.missing.iter().filter(|it| it.day == day);
        courses.chain(missing.map(|it| (it.name.as_str(), it.figure))).collect()
    }
}

/// Share of the speed by which the mains may make a machine quicker or slower (common practice, no source).
const OF_MAINS: f64 = 0.005;

fn other_speed(then: &Before, now: &Condition) -> bool {
    let now = now.speed();
    let limit = |then: f64| OF_MAINS * then + now.u;
    then.speed.is_some_and(|it| (it.value - now.value).abs() > limit(it.value) + it.u)
}

/// What was said and measured in the check before, and is something else now.
fn differs(
    before: &Earlier,
    plan: &Plan,
    conditions: &[Condition],
    unit: (&str, f64),
) -> Vec<Differs> {
    let shown = |speed| format!("{} {}", with_u(speed, unit.1), unit.0);
    let speeds = conditions.iter().filter_map(|it| {
        let then = before.of(&it.label()).filter(|then| other_speed(then, it))?;
        Some(Differs {
            what: format!("speed before the stops under {}", it.label()),
            then: shown(then.speed?),
            now: shown(it.speed()),
            is_way: true,
        })
    });
    speeds.chain(before.differs(plan)).collect()
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

/// Conditions that earlier checks have, or had left out, and this one has not, each as it was measured last.
fn missing(before: &[&Earlier], conditions: &[Condition], figure: f64) -> Vec<Missing> {
    let mut found: Vec<Missing> = Vec::new();
    for one in before.iter().rev() {
        let day = written_day(one.day);
        let own = one.conditions.iter().map(|it| (it, &day));
        let all = own.chain(one.left_out.iter().map(|(day, it)| (it, day)));
        for (it, day) in all {
            let known = label_known_by(&it.label);
            let now = conditions.iter().find(|now| label_known_by(&now.label()) == known);
            let stops = now.map_or(0, |it| it.times.count);
            if stops >= fewest() || found.iter().any(|other| label_known_by(&other.name) == known) {
                continue;
            }
            let (name, day, decides) = (it.label.clone(), day.clone(), it.figure > figure);
            found.push(Missing { name, day, figure: it.figure, decides, stops });
        }
    }
    found
}

/// One problem for everything that `[left_out]` names and that is no condition of an earlier check, or is measured now.
fn leaves_out_nothing<'a>(
    plan: &'a Plan,
    missing: &'a [Missing],
    conditions: &'a [Condition],
) -> impl Iterator<Item = Diagnostic> + 'a {
    let unknown = plan.left_out.iter().filter(|said| !missing.iter().any(|it| it.is(&said.key)));
    unknown.map(|said| {
        let measured = conditions.iter().any(|it| {
            let known = label_known_by(&said.key);
            known == label_known_by(&it.label()) || known == (known_by(&it.name), None)
        });
        let what = if measured { "is measured now" } else { "is no condition of an earlier check" };
        let names: Vec<&str> = missing.iter().map(|it| it.name.as_str()).collect();
        let near = nearest(&said.key, names.iter().copied()).first().map(|it| it.0.to_owned());
        let remedy = match near {
            _ if measured || names.is_empty() => "leave it out of `[left_out]`".to_owned(),
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("write what is not measured any more: `{}`", names.join("`, `")),
        };
        let words = format!("`{}` is left out, and {what}", said.key);
        Diagnostic::error(Name::UnknownName, words).at(said.place.clone()).remedy(remedy)
    })
}
