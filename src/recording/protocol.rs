//! The protocol: stops of every condition, the calculation beside them, the distance issued.

use std::sync::OnceLock;

use super::clock::another_clock;
use super::condition::{Condition, conditions, decisive, known_by};
use super::figures::judge;
use super::finding::Finding;
use super::finding::counted;
use super::named_sheets::{Issue, Sheets};
use super::passing::{FileOfStops, read};
use super::plan::Plan;
use super::predicted::Predicted;
use super::recheck::Earlier;
use super::series::fewest;
use super::stop::Stop;
use super::torque_lost::{TorqueLost, torque_lost};
use super::trend::Trend;
use crate::diagnostic::{Diagnostic, Name, Place, Problems, put_in_order};
use crate::environment::Environment;

/// The dimension of speeds that are those of a way.
pub(super) fn speed_of_a_way() -> Option<crate::unit::Dimension> {
    crate::unit::kind("speed").map(|kind| kind.dimension)
}

/// All of it.
///
/// # Example
/// ```
/// use std::path::{Path, PathBuf};
/// use standstill::diagnostic::{Diagnostic, Name, Source};
/// use standstill::environment::Environment;
/// use standstill::recording::{Plan, Protocol};
/// struct Disk;
/// impl Environment for Disk {
///     fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
///         let unreadable = |it: std::io::Error| Diagnostic::error(Name::UnreadableFile, it.to_string());
///         std::fs::read(path).map_err(unreadable)
///     }
///     fn replace(&self, _: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
///         Err(Diagnostic::error(Name::UnreadableFile, "nothing is written here"))
///     }
///     fn canonical(&self, path: &Path) -> Option<PathBuf> {
///         path.canonicalize().ok()
///     }
/// }
/// let name = "examples/measured-stops/coasting.toml";
/// let text = std::fs::read_to_string(name)?;
/// let plan = Plan::read(Some(&Source::new(name, &text)), &[])?;
/// let protocol = Protocol::make(&plan, &[], &Disk)?;
/// assert!(protocol.is_released());
/// let longest = protocol.decisive().map(|it| it.times.figure);
/// assert!(longest > Some(0.9) && longest < Some(1.0), "in s: {longest:?}");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Protocol {
    /// What was said.
    pub plan: Plan,
    /// The files, without their samples.
    pub files: Vec<FileOfStops>,
    /// The stops, by condition and by how they ended.
    pub conditions: Vec<Condition>,
    /// The calculation, if one is named.
    pub predicted: Option<Predicted>,
    /// The stop by torque lost, where by calculation it is the longest and stops show it.
    pub(super) lost: Option<TorqueLost>,
    /// The distance, if a sheet is named for it.
    pub issue: Option<Issue>,
    /// The trend from earlier checks.
    pub trend: Option<Trend>,
    /// The day on which it is made, counted from 1970-01-01; none without a clock.
    pub(super) today: Option<i64>,
    /// The findings, once they were asked for.
    pub(super) found: OnceLock<Vec<Finding>>,
}

impl Protocol {
    /// Reads the recordings and judges them.
    ///
    /// # Errors
    /// All that is wrong with plan and files, in one go; a condition with fewer than ten stops is refused.
    pub fn make(
        plan: &Plan,
        earlier: &[Earlier],
        environment: &dyn Environment,
    ) -> Result<Self, Problems> {
        let mut problems: Vec<Diagnostic> = Vec::new();
        let mut files = Vec::new();
        for recording in &plan.recordings {
            match read(recording, plan, environment) {
                Ok(file) => files.push(file),
                Err(found) => problems.extend(found),
            }
        }
        problems.extend(super::copies::copies(&files));
        let mut named: Vec<(String, Vec<Stop>)> = Vec::new();
        for file in &mut files {
            let same = |it: &str| known_by(it) == known_by(&file.recording.condition);
            let own = named.iter().position(|it| same(&it.0));
            // of several names for one, that of a ramp that is not switched off
            let own = own.unwrap_or_else(|| {
                let mut names = plan.recordings.iter().filter(|it| same(&it.condition));
                let first = names.clone().find(|it| !it.disabled).or_else(|| names.next());
                let name = first.map_or("", |it| it.condition.trim());
                named.push((name.to_owned(), Vec::new()));
                named.len() - 1
            });
            for recorded in file.stops.drain(..) {
                match judge(&recorded, plan) {
                    Ok(stop) if another_clock(plan, &stop).is_some() => {
                        problems.extend(another_clock(plan, &stop));
                    }
                    Ok(stop) => {
                        named.get_mut(own).into_iter().for_each(|it| it.1.push(stop.clone()))
                    }
                    Err(found) => problems.extend(found),
                }
            }
        }
        // stops that could not be judged are not missing stops
        if problems.is_empty() {
            for (name, stops) in named.iter().filter(|it| it.1.len() < fewest()) {
                let words = format!(
                    "{} of `{name}`, and every condition needs {}",
                    counted(stops.len()),
                    fewest()
                );
                let same = |it: &&FileOfStops| known_by(&it.recording.condition) == known_by(name);
                let place = files.iter().find(same);
                let place = place.map_or(Place::File { name: name.clone() }, |it| Place::File {
                    name: it.recording.file.clone(),
                });
                problems.push(Diagnostic::error(Name::TooFewValues, words).at(place).remedy(
                    "record more stops under this condition; no figure is given from fewer",
                ));
            }
        }
        let units: Vec<&str> = files.iter().map(|it| it.unit.symbol.as_str()).collect();
        if let Some(other) = files
            .iter()
            .find(|it| Some(it.unit.dimension) != files.first().map(|it| it.unit.dimension))
        {
            let words = format!(
                "speeds in `{}` and in `{}` cannot stand in one protocol",
                units.first().unwrap_or(&""),
                other.unit.symbol
            );
            problems.push(
                Diagnostic::error(Name::UnitMismatch, words)
                    .at(Place::File { name: other.recording.file.clone() })
                    .remedy("record the same axis in all files"),
            );
        }
        let each = named.iter().flat_map(|(name, stops)| conditions(name, stops, plan));
        let conditions: Vec<Condition> = each.collect();
        let linear = files.first().is_some_and(|it| Some(it.unit.dimension) == speed_of_a_way());
        let sheets = Sheets {
            plan,
            environment,
            conditions: &conditions,
            linear,
            whole: problems.is_empty(),
            lost: None,
        };
        let predicted = sheets.predicted(&mut problems);
        let longest = predicted.as_ref().filter(|it| it.longest_is_lost().is_some());
        let lost = longest
            .filter(|_| sheets.whole)
            .map(|predicted| torque_lost(plan, &conditions, predicted, linear, &mut problems));
        // what is not found is not handed on
        let whole = sheets.whole && problems.is_empty();
        let sheets = Sheets { lost: lost.as_ref(), whole, ..sheets };
        let issue = sheets.issue(predicted.as_ref(), &mut problems);
        if !problems.is_empty() {
            put_in_order(&mut problems);
            return Err(problems.into());
        }
        let spare = issue.as_ref().and_then(|it| it.results.exact("t_spare")).map(|it| it.to_f64());
        let unit = if linear { ("m/s", 1.0) } else { ("r/min", std::f64::consts::PI / 30.0) };
        let trend = Trend::of(earlier, plan, &conditions, spare, unit)?;
        let (plan, found) = (plan.clone(), OnceLock::new());
        let today = environment.clock().and_then(|it| i64::try_from(it / 86_400).ok());
        let lost = lost.and_then(Result::ok);
        Ok(Self { plan, files, conditions, predicted, lost, issue, trend, today, found })
    }

    /// The condition with the largest stopping time, of the stops that the distance stands on: it is issued from them.
    #[must_use]
    pub fn decisive(&self) -> Option<&Condition> {
        decisive(&self.conditions, &self.plan)
    }

    /// All stops.
    pub fn stops(&self) -> impl Iterator<Item = &Stop> {
        self.conditions.iter().flat_map(|it| &it.stops)
    }
}
