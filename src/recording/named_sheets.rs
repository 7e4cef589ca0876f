//! The sheets that a plan names: the calculation with its worst case, and the distance from what was measured.

use std::sync::Arc;

use super::channel::quantity;
use super::condition::{Condition, decisive};
use super::measure::{Measured, apart as together, plain, trimmed};
use super::of_sheet;
use super::plan::{Asked, Plan, Said};
use super::predicted::{ByWord, Predicted, taken};
use super::series::fewest;
use super::stop::{Ramp, Stop};
use super::together::{departing, friction, inertias};
use super::torque_lost::{self, TorqueLost};
use crate::calculation::{Inputs, Range, Results, Verdict, WorstCase};
use crate::diagnostic::{Diagnostic, Name};
use crate::environment::Environment;
use crate::number::InputValue;
use crate::program::{Output, Program, Type, compile, nearest};
use crate::project::Project;
use crate::report::{self, Check};
use crate::unit::kind;

/// The distance, issued through the device's own sheet.
#[derive(Clone, Debug)]
pub struct Issue {
    /// The calculation.
    pub results: Results,
    /// What was handed to it from the measurement: name and value.
    pub handed: Vec<(String, String)>,
}

/// Values of `[calculation]` and `[distance]` that are not written but measured or calculated.
const HANDED: &[(&str, &str)] = &[
    ("measured times", "times to standstill of the decisive condition, a series"),
    ("measured uncertainty", "the largest uncertainty of one of them"),
    ("measured response", "response time, with how far it lies apart"),
    ("measured delay", "delay until torque is removed, likewise"),
    ("measured speed", "speed before the stop, likewise"),
    (
        "measured way",
        "longest way from the command to standstill, its uncertainty added, that of torque lost where it counts; turned × `lead` of the calculation",
    ),
    (
        torque_lost::WORDS,
        "of `t_other`: the stop by torque lost that lost-from-measured finds from the stops whose ramp fails, with all that goes with it",
    ),
    ("measured T_0", "constant friction from the run-downs, likewise"),
    ("measured b", "friction that grows with the speed, likewise"),
    ("measured c", "friction that grows with its square, likewise"),
    ("measured J", "inertia from the run-downs, likewise"),
    ("calculated works", "highest stopping time of the calculation, ramp works"),
    ("calculated fails", "the same, ramp fails"),
    ("calculated stops", "the same, of a stop without a ramp"),
];

/// A checked sheet, its inputs, and which of them are measured.
type Filled = (Arc<Program>, Inputs, Vec<(String, String)>);

/// The sheets that a plan names, with what was measured.
#[derive(Clone, Copy)]
pub(super) struct Sheets<'a> {
    pub(super) plan: &'a Plan,
    pub(super) environment: &'a dyn Environment,
    pub(super) conditions: &'a [Condition],
    /// Whether the channel is of a way, not of a shaft.
    pub(super) linear: bool,
    /// Whether every stop could be judged: figures of some of them are not handed over.
    pub(super) whole: bool,
    /// The stop by torque lost, or why there is none and what to do.
    pub(super) lost: Option<&'a Result<TorqueLost, [&'static str; 2]>>,
}

/// The high end of a result within the tolerances.
fn high(range: &Range) -> f64 {
    range.high.limit.unwrap_or_else(|| range.high.reached.to_f64())
}

/// What to write so that a time exists within the tolerances that are left: for the input of one tolerance the end of it
/// that makes the time longest.
fn one_end(inputs: &Inputs, output: usize) -> Option<String> {
    let program = inputs.program();
    let ends = program.inputs.iter().filter_map(|input| {
        let (low, high) = inputs.spread(input)?.ends.first()?;
        Some([low, high].map(|end| (input, end.si_f64() / input.unit.factor.as_f64())))
    });
    let exists = ends.flatten().filter_map(|(input, end)| {
        let text = format!("{} {}", plain(end), input.unit.symbol);
        let mut one = inputs.clone();
        one.write_from(&input.name, &text, inputs.place(input)).ok()?;
        let worst = WorstCase::compute(program, &one).ok()?;
        let range = worst.ranges().iter().find(|it| it.output == output && it.may.is_none())?;
        let text = format!("{} {}", trimmed(end, 9), input.unit.symbol);
        Some((high(range), format!("`{} = \"{text}\"`", input.name)))
    });
    let (_, one) = exists.max_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(format!(
        "calculate with the end of one tolerance alone, {one} in `[calculation]` and `[settings]`: no other end makes it longer"
    ))
}

/// The words with another of which torque lost would be a longer stop than it is, and than a ramp that fails.
fn by_word(inputs: &Inputs, depends: &[String], lost: Option<f64>, fails: f64) -> Vec<ByWord> {
    let program = inputs.program();
    let own = lost.unwrap_or(0.0).max(fails) * (1.0 + 1e-9);
    let counted = program.inputs.iter().filter(|it| depends.contains(&it.name));
    let found = counted.filter_map(|input| {
        let (Type::Choice(words), Some(InputValue::Word(at))) = (&input.type_, inputs.value(input))
        else {
            return None;
        };
        let with = |other: &String| {
            let mut inputs = inputs.clone();
            inputs.write_from(&input.name, other, inputs.place(input)).ok()?;
            let worst = WorstCase::compute(program, &inputs).ok()?;
            let output = program.outputs.iter().position(|it| it.name == "t_lost")?;
            let range = worst.ranges().iter().find(|it| it.output == output);
            let longest = range.filter(|it| it.may.is_none()).map(high);
            Some((other.clone(), longest)).filter(|it| it.1.is_none_or(|it| it > own))
        };
        let others = words.iter().enumerate().filter(|it| it.0 != at).filter_map(|it| with(it.1));
        let size = |it: &(String, Option<f64>)| it.1.unwrap_or(f64::INFINITY);
        let (other, longest) = others.max_by(|a, b| size(a).total_cmp(&size(b)))?;
        let word = words.get(at)?.clone();
        Some(ByWord { name: input.name.clone(), word, other, longest })
    });
    found.collect()
}

/// A time for a sheet, rounded up to a microsecond.
fn up(seconds: f64) -> String {
    format!("{:.3} ms", (seconds * 1e6 - 1e-6).ceil() / 1e3)
}

/// Whether what is said is not nothing.
fn counts(said: &Said) -> bool {
    said.text.starts_with("measured ") || said.text.contains(|it| matches!(it, '1'..='9'))
}

/// Whether an input takes a speed along a way.
fn is_of_way(program: &Program, key: &str) -> bool {
    let way = kind("speed").map(|kind| kind.dimension);
    program.input_named(key).is_some_and(|it| Some(it.unit.dimension) == way)
}

/// A figure that is typed beside a stop by torque lost of these recordings, and goes with it.
fn beside_lost(said: &Said) -> Option<Diagnostic> {
    let own = torque_lost::GROUP.contains(&said.key.as_str());
    own.then(|| {
        Diagnostic::error(
            Name::TwoStatements,
            format!(
                "`{}` is typed beside `t_other = \"{}\"`, with which it comes",
                said.key,
                torque_lost::WORDS
            ),
        )
        .at(said.place.clone())
        .remedy(format!("leave `{}` out", said.key))
    })
}

impl Sheets<'_> {
    /// A sheet with its inputs; what is missing is found when it runs.
    fn inputs(
        &self,
        asked: &Asked,
        predicted: Option<&Predicted>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Filled> {
        let project = Project::new(self.environment);
        let source = match project.find(&asked.sheet, &asked.place) {
            Ok(source) => source,
            Err(problem) => {
                problems.push(*problem);
                return None;
            }
        };
        let checked = compile(&source, &project);
        let Some(program) = checked.program else {
            problems.extend(checked.problems);
            return None;
        };
        let mut inputs = Inputs::new(&program);
        let mut handed = Vec::new();
        let lost = self.counted_lost().filter(|_| program.input_named("t_other").is_some());
        for said in &asked.inputs {
            if ["works", "fails", "stops", "before"].contains(&said.key.as_str()) {
                continue;
            }
            // the measured stop from which it is found is that of these recordings
            if said.key == "t_found" && lost.is_some() && !self.asks_for_lost() {
                continue;
            }
            if let Some(problem) = beside_lost(said).filter(|_| self.asks_for_lost()) {
                problems.push(problem);
                continue;
            }
            if !self.whole && said.text.starts_with("measured ") {
                inputs.give_up(&said.key, said.place.clone());
                continue;
            }
            let text = if said.text.starts_with("measured ") || said.text.starts_with("calculated ")
            {
                match self.handed(said, &program, predicted) {
                    Ok(text) => {
                        handed.push((said.key.clone(), text.clone()));
                        text
                    }
                    Err(problem) => {
                        problems.push(problem.at(said.place.clone()));
                        inputs.give_up(&said.key, said.place.clone());
                        continue;
                    }
                }
            } else {
                said.text.clone()
            };
            let typed = text == said.text;
            let outcome = if typed {
                inputs.write_typed(&said.key, &text, said.place.clone())
            } else {
                inputs.write_from(&said.key, &text, said.place.clone())
            };
            if let Err(problem) = outcome {
                inputs.give_up(&said.key, said.place.clone());
                problems.push(problem);
            }
        }
        if let Some(lost) = lost.filter(|_| self.whole) {
            self.goes_with_lost(lost, &program, &mut inputs, &mut handed);
        }
        Some((program, inputs, handed))
    }

    /// What `[distance]` says of the stop that nobody measured.
    fn said_other(&self) -> Option<&Said> {
        self.plan.distance.as_ref()?.inputs.iter().find(|said| said.key == "t_other")
    }

    /// Whether the distance counts the way of an axis.
    fn way_is_counted(&self) -> bool {
        let all = self.plan.distance.iter().flat_map(|it| &it.inputs);
        all.into_iter().any(|said| ["s_meas", "v_own"].contains(&said.key.as_str()) && counts(said))
    }

    /// Whether it asks for the one that is found here.
    fn asks_for_lost(&self) -> bool {
        self.said_other().is_some_and(|said| said.text == torque_lost::WORDS)
    }

    /// The stop by torque lost, where it is found and the distance counts one.
    fn counted_lost(&self) -> Option<&TorqueLost> {
        let says = self.said_other().is_some_and(counts);
        self.lost.filter(|_| says)?.as_ref().ok()
    }

    /// All that goes with a stop by torque lost and is not said.
    fn goes_with_lost(
        &self,
        lost: &TorqueLost,
        program: &Program,
        inputs: &mut Inputs,
        handed: &mut Vec<(String, String)>,
    ) {
        let value = |inputs: &Inputs, name: &str| match inputs.value(program.input_named(name)?)? {
            InputValue::One(value) => Some(value.si_f64()),
            _ => None,
        };
        let other = value(inputs, "t_other").unwrap_or(0.0);
        let Some(decisive) = decisive(self.conditions, self.plan) else { return };
        let said = |name: &str| {
            let all = self.plan.distance.iter().flat_map(|it| &it.inputs);
            name != "t_found" && all.into_iter().any(|said| said.key == name)
        };
        for (name, text) in [
            ("t_worn", up(lost.most("t_worn").max(other))),
            ("r_other", plain(lost.most("r_other"))),
            ("t_found", up(decisive.times.figure)),
        ] {
            let place = self.said_other().map(|it| it.place.clone());
            if let Some(place) =
                place.filter(|_| !said(name) && program.input_named(name).is_some())
                && inputs.write_from(name, &text, place).is_ok()
            {
                handed.push((name.to_owned(), text));
            }
        }
    }

    /// The calculation, with its worst case.
    pub(super) fn predicted(&self, problems: &mut Vec<Diagnostic>) -> Option<Predicted> {
        let asked = self.plan.calculation.as_ref()?;
        let (program, inputs, _) = self.inputs(asked, None, problems)?;
        let worst = match WorstCase::compute(&program, &inputs) {
            Ok(worst) => worst,
            Err(found) => {
                problems.extend(found);
                return None;
            }
        };
        let time = crate::unit::kind("time").map(|kind| kind.dimension);
        let is_time = |it: &Output| Some(it.unit.dimension) == time;
        let mut highest = |key: &str| {
            let Some(said) = asked.inputs.iter().find(|said| said.key == key) else {
                problems.push(
                    Diagnostic::error(
                        Name::RecordingPlan,
                        format!("`{key}` does not say which result is the stopping time"),
                    )
                    .at(asked.place.clone())
                    .remedy(match key {
                        "stops" => "write the name of a result, such as `stops = \"t_stop\"`".to_owned(),
                        _ => format!("write the name of a result, such as `{key} = \"t_ramp_{key}\"`; for a stop without a ramp say `category = \"0\"` and name its time in `stops`"),
                    }),
                );
                return None;
            };
            let outputs = &program.outputs;
            let range = worst.ranges().iter().find(|range| {
                outputs.get(range.output).is_some_and(|output| output.name == said.text)
            });
            let output = outputs.iter().find(|it| it.name == said.text && is_time(it));
            let never = output.and_then(|it| worst.nominal().never(it)).map(|why| {
                let words = format!("`{}` of `{}` does not exist: {why}", said.text, asked.sheet);
                (words, "put the inputs of `[calculation]` right: a stop that never ends is not what was measured".to_owned())
            });
            let may =
                range.filter(|_| output.is_some()).and_then(|it| Some((it, it.may.as_ref()?)));
            let may = may.map(|(range, why)| {
                let words = format!("`{}` of `{}` exists with the values themselves, and is not proved to within all of their tolerances: {}", said.text, asked.sheet, why.words);
                let one = one_end(&inputs, range.output).unwrap_or_else(|| "give narrower tolerances".to_owned());
                (words, one)
            });
            if let Some((words, remedy)) = never.or(may) {
                problems.push(
                    Diagnostic::error(Name::RecordingPlan, words)
                        .at(said.place.clone())
                        .remedy(remedy),
                );
                return None;
            }
            let Some(range) = range.filter(|_| output.is_some()) else {
                let times = outputs.iter().filter(|it| is_time(it));
                let near = nearest(&said.text, times.map(|it| it.name.as_str()));
                let remedy = near
                    .first()
                    .map_or("name a result that is a time and always exists".to_owned(), |it| {
                        format!("did you mean `{}`?", it.0)
                    });
                problems.push(
                    Diagnostic::error(
                        Name::UnknownName,
                        format!("`{}` gives no stopping time `{}`", asked.sheet, said.text),
                    )
                    .at(said.place.clone())
                    .remedy(remedy),
                );
                return None;
            };
            // a stop with its ramp off is no loss of torque at the command, of which there is no recording
            let ends = format!("_{key}");
            let own = outputs.iter().find(|it| it.name.ends_with(&ends) && is_time(it));
            if let Some(own) = own
                && !said.text.ends_with(&ends)
            {
                problems.push(
                    Diagnostic::error(
                        Name::RecordingPlan,
                        format!(
                            "`{key}` is `{}`, and `{}` gives `{}` for such stops",
                            said.text, asked.sheet, own.name
                        ),
                    )
                    .at(said.place.clone())
                    .remedy(format!("write `{key} = \"{}\"`", own.name)),
                );
                return None;
            }
            Some(high(range))
        };
        let results = worst.nominal().clone();
        let nominal =
            report::checks(&results).into_iter().filter(|it| it.verdict == Verdict::Fails);
        let mut open: Vec<Check> = nominal.collect();
        let within = worst.checks().iter().map(Check::from).filter(|it| !it.caution && !it.holds());
        for check in within {
            if !open.iter().any(|it| it.label() == check.label()) {
                open.push(check);
            }
        }
        let named = |keys: &[&str]| -> Vec<&str> {
            let of = |key: &&str| asked.inputs.iter().find(|said| said.key == **key);
            keys.iter().filter_map(of).map(|said| said.text.as_str()).collect()
        };
        // how a failing ramp ends counts where one was recorded, or a distance takes it
        let stops = || self.conditions.iter().flat_map(|it| &it.stops);
        let fails = stops().any(|stop| stop.ramp.is_some_and(|it| it != Ramp::Finished))
            || self
                .plan
                .distance
                .as_ref()
                .is_some_and(|it| it.inputs.iter().any(|said| said.text == "calculated fails"));
        let counted: &[&str] = if self.plan.at_once {
            &["stops"]
        } else if fails {
            &["works", "fails"]
        } else {
            &["works"]
        };
        // what decides whether torque lost is the longest stop counts where a failing ramp does, under a load that drives
        let load = program.input_named("T_load").and_then(|it| results.inputs().value(it));
        let drives = matches!(load, Some(InputValue::One(load)) if load.si_f64() < 0.0);
        let lost = program.outputs.iter().find(|it| it.name == "t_lost" && is_time(it));
        let lost =
            lost.filter(|_| drives && fails && !self.plan.at_once).map(|it| it.name.as_str());
        let longest_lost = worst.ranges().iter().find(|range| {
            let output = program.outputs.get(range.output);
            output.is_some_and(|it| it.name == "t_lost" && is_time(it))
        });
        let longest_lost = longest_lost.map(high);
        let mut of_settings = Vec::new();
        let mut settings = of_sheet::of_sheet(self.plan, &results, &mut of_settings);
        if settings.iter().any(|it| it.is_input && it.set.as_ref().is_some_and(|set| !set.1)) {
            let no_longer = self.no_longer(&inputs, &worst, &named(&["works", "fails", "stops"]));
            settings.iter_mut().for_each(|it| it.no_longer = no_longer);
        }
        let (works, fails, before) = if self.plan.at_once {
            let before = self.plan.before.as_ref().map(|it| it.si);
            let most = highest("stops").map(|stops| stops + before.unwrap_or(0.0));
            (most, most, before)
        } else {
            (highest("works"), highest("fails"), None)
        };
        problems.extend(of_settings);
        let depends: Vec<&str> = named(counted).into_iter().chain(lost).collect();
        let mut depends = of_sheet::depends(&results, &depends);
        // it moves no time, and the way of a distance stands on it
        if !self.linear && self.way_is_counted() && program.input_named("lead").is_some() {
            depends.push("lead".to_owned());
        }
        let (works, fails) = (works?, fails?);
        let has_a_brake = of_sheet::has_a_brake(&results, &depends, &named(counted));
        let by_word = match lost {
            Some(_) => by_word(&inputs, &depends, longest_lost, fails),
            None => Vec::new(),
        };
        let idle = self.plan.shown.iter().filter(|it| by_word.iter().all(|one| one.name != it.key));
        problems.extend(idle.map(|said| {
            let words = format!("`{}` is said to be shown, and nothing rests on it", said.key);
            Diagnostic::error(Name::RecordingPlan, words)
                .at(said.place.clone())
                .remedy("leave it out of `[shown]`: no stop that nobody measures is longer with another word for it")
        }));
        Some(Predicted {
            results,
            open,
            works,
            fails,
            lost: longest_lost,
            before,
            depends,
            has_a_brake,
            settings,
            by_word,
        })
    }

    /// Whether no stop and no way is longer, and no further check open, with the inputs as they were read back.
    fn no_longer(&self, inputs: &Inputs, worst: &WorstCase, times: &[&str]) -> bool {
        let program = inputs.program();
        let mut read = inputs.clone();
        for said in &self.plan.settings {
            let is_input = program.input_named(&said.key).is_some();
            if is_input && read.write_typed(&said.key, &said.text, said.place.clone()).is_err() {
                return false;
            }
        }
        let Ok(read) = WorstCase::compute(program, &read) else { return false };
        let open = |worst: &WorstCase| {
            let all = worst.checks().iter().map(Check::from);
            all.filter(|it| !it.caution && !it.holds()).map(|it| it.label()).collect::<Vec<_>>()
        };
        let before = open(worst);
        let also = ["t_lost", "s_works", "s_fails", "s_lost", "s_own"];
        let counted = |at: usize| {
            let output = program.outputs.get(at);
            output.is_some_and(|it| {
                times.contains(&it.name.as_str()) || also.contains(&it.name.as_str())
            })
        };
        open(&read).iter().all(|it| before.contains(it))
            && read.ranges().iter().filter(|it| counted(it.output)).all(|range| {
                let same = worst.ranges().iter().find(|it| it.output == range.output);
                range.may.is_none() && same.is_some_and(|it| high(range) <= high(it) * (1.0 + 1e-9))
            })
    }

    /// The distance from what was measured.
    pub(super) fn issue(
        &self,
        predicted: Option<&Predicted>,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Issue> {
        let asked = self.plan.distance.as_ref()?;
        let before = problems.len();
        if !asked.inputs.iter().any(|said| said.text == "measured times") {
            problems.push(
                Diagnostic::error(Name::RecordingPlan, "no input of `distance` takes the measured times: the distance would not stand on them")
                    .at(asked.place.clone())
                    .remedy("write `t_k = \"measured times\"` for the input that takes them"),
            );
        } else if !asked.inputs.iter().any(|said| said.text == "measured uncertainty") {
            problems.push(
                Diagnostic::error(
                    Name::RecordingPlan,
                    "no input of `distance` takes the uncertainty of the measurement",
                )
                .at(asked.place.clone())
                .remedy("write `u = \"measured uncertainty\"` for the input that takes it"),
            );
        }
        // a calculation that has problems of its own would be reported as missing
        if self.plan.calculation.is_some() && predicted.is_none() || self.conditions.is_empty() {
            return None;
        }
        // no figure is made of fewer stops of one kind; the rest of what is said is looked at all the same
        let enough =
            decisive(self.conditions, self.plan).is_some_and(|it| it.times.count >= fewest());
        let these = Sheets { whole: self.whole && enough, ..*self };
        let (program, inputs, handed) = these.inputs(asked, predicted, problems)?;
        if problems.len() > before || !self.whole {
            return None;
        }
        problems.extend(self.two_statements(&program, &inputs, predicted));
        // a distance from nominal values alone would leave the tolerances out
        for input in program.inputs.iter().filter(|input| inputs.spread(input).is_some()) {
            problems.push(
                Diagnostic::error(
                    Name::RecordingPlan,
                    format!(
                        "`{}` has a tolerance, and a distance is issued from single values",
                        input.name
                    ),
                )
                .at(inputs.place(input))
                .remedy("write the end of it that makes the distance larger"),
            );
        }
        if problems.len() > before || !enough {
            return None;
        }
        match Results::compute(&program, &inputs) {
            Ok(results) => Some(Issue { results, handed }),
            Err(found) => {
                problems.extend(found.into_iter().map(|it| self.with_words(it, predicted)));
                None
            }
        }
    }

    /// A missing input with the words that hand it what was measured.
    fn with_words(&self, problem: Diagnostic, predicted: Option<&Predicted>) -> Diagnostic {
        let missing = problem.name == Name::MissingInput;
        let words = match problem.input.as_str() {
            "t_other" if self.lost_for("t_other", predicted).is_ok() => torque_lost::WORDS,
            "s_meas" if self.travel("", predicted).is_ok() => "measured way",
            "v_own" if self.travel("", predicted).is_ok() => "measured speed",
            _ => return problem,
        };
        if !missing {
            return problem;
        }
        let remedy = format!(
            "write `{} = \"{words}\"` in `[distance]`, or what is known of it",
            problem.input
        );
        problem.remedy(remedy)
    }

    /// What is typed for the distance, and for the calculation as something else.
    fn two_statements(
        &self,
        program: &Program,
        inputs: &Inputs,
        predicted: Option<&Predicted>,
    ) -> Vec<Diagnostic> {
        let Some((predicted, asked)) = predicted.zip(self.plan.distance.as_ref()) else {
            return Vec::new();
        };
        let calculation = &predicted.results;
        let mut problems = Vec::new();
        for said in &asked.inputs {
            let Some(input) = program.input_named(&said.key) else {
                continue;
            };
            if said.key == "t_calc" && !said.text.starts_with("calculated ") {
                problems.push(
                    Diagnostic::error(Name::TwoStatements, format!("`t_calc` = {} is typed, and there is a calculation", said.text))
                        .at(said.place.clone())
                        .remedy("write `calculated fails`, `calculated works` or, of a stop without a ramp, `calculated stops`"),
                );
            }
            let same = calculation.program().input_named(&said.key);
            let Some(same) = same.filter(|it| it.type_ == input.type_) else { continue };
            let si = |value: Option<InputValue>| match value {
                Some(InputValue::One(value)) => Some(value.si_f64()),
                _ => None,
            };
            let (one, other) = (si(calculation.inputs().value(same)), si(inputs.value(input)));
            let differ = one.zip(other).is_some_and(|(a, b)| (a - b).abs() > 1e-9 * a.abs());
            if differ && !said.text.starts_with("measured ") {
                problems.push(
                    Diagnostic::error(
                        Name::TwoStatements,
                        format!(
                            "`{}` is one value in `[calculation]` and another in `[distance]`",
                            said.key
                        ),
                    )
                    .at(said.place.clone())
                    .label(calculation.inputs().place(same), "the other value")
                    .remedy("write the same value in both"),
                );
            }
        }
        problems
    }

    /// Way per unit of what the channel reads; of a shaft the travel of the calculation per turn, the most.
    fn travel(&self, text: &str, predicted: Option<&Predicted>) -> Result<f64, Diagnostic> {
        let lead = || Some(taken(predicted?, "lead")?.1);
        if self.linear { Some(1.0) } else { lead() }.ok_or_else(|| {
            Diagnostic::error(Name::RecordingPlan, format!("`{text}`: the channel turns, and no `lead` says how far a turn travels"))
                .remedy("calculate with a sheet that takes `lead`, such as axis-stop or ss1-brake, or write the value itself, in mm or mm/s")
        })
    }

    /// The longest way of all stops, or the highest speed before one, rounded up to a micrometre; that of torque lost where
    /// it counts and is more.
    fn of_way(
        &self,
        text: &str,
        predicted: Option<&Predicted>,
    ) -> Result<Option<String>, Diagnostic> {
        let per = self.travel(text, predicted)?;
        let lost = self.counted_lost();
        // a stop that is said to last longer than the one whose way is known goes farther too
        let known = lost.map_or(0.0, |it| it.most("t_other"));
        let typed = self.said_other().filter(|it| counts(it) && it.text != torque_lost::WORDS);
        let time = typed.map(|it| quantity(&["time"], &it.text, &it.place));
        // what was found is written rounded up to 1 ms
        if time.is_some_and(|it| it.is_ok_and(|(time, _)| time > known + 1e-3)) {
            return Err(Diagnostic::error(Name::RecordingPlan, format!("`{text}`: `t_other` says that a stop which was not measured is the longest, and its way and speed are more too"))
                .remedy("write `s_other` of lost-from-measured for `s_meas`, and its `v_other` for `v_own`"));
        }
        let of = |get: &dyn Fn(&Stop) -> Measured| {
            let all = self.conditions.iter().flat_map(|it| &it.stops).map(get);
            all.map(|it| it.value.abs() + it.u).reduce(f64::max)
        };
        let (most, lost, unit) = if text == "measured way" {
            (of(&|it| it.turned), lost.map(|it| it.most("s_other")), "mm")
        } else {
            (of(&|it| it.speed), lost.map(|it| it.most("v_other")), "mm/s")
        };
        let most = most.map(|it| (it * per).max(lost.unwrap_or(0.0)));
        Ok(most.map(|it| format!("{:.3} {unit}", (it * 1e6 - 1e-6).ceil() / 1e3)))
    }

    /// The stop by torque lost, as it is asked for; none where by calculation none is longer.
    fn lost_for(
        &self,
        key: &str,
        predicted: Option<&Predicted>,
    ) -> Result<String, [&'static str; 2]> {
        if key != "t_other" {
            return Err([
                "it is a stop that was not measured",
                "write it for `t_other` alone; `t_worn`, `r_other` and `t_found` come with it, and `measured way` and `measured speed` count it",
            ]);
        }
        let Some(predicted) = predicted else {
            return Err([
                "there is no calculation",
                "add `[calculation]` with its sheet and inputs",
            ]);
        };
        if predicted.lost.is_some() && predicted.longest_is_lost().is_none() {
            return Ok("0 ms".to_owned());
        }
        match self.lost {
            Some(Ok(lost)) => Ok(up(lost.most("t_other"))),
            Some(Err(why)) => Err(*why),
            None => Err([
                "the calculation has no stop by torque lost",
                "calculate with a sheet that gives `t_lost`, such as axis-stop or ss1-brake, or write `t_other = \"0 ms\"` where no load drives",
            ]),
        }
    }

    /// A measured or calculated value as it is written for a sheet; times rounded up to a microsecond.
    fn handed(
        &self,
        said: &Said,
        program: &Program,
        predicted: Option<&Predicted>,
    ) -> Result<String, Diagnostic> {
        let text = said.text.as_str();
        let none = |words: &str, remedy: &str| {
            Diagnostic::error(Name::RecordingPlan, format!("`{text}`: {words}")).remedy(remedy)
        };
        let stops = || self.conditions.iter().flat_map(|it| &it.stops);
        let decisive = decisive(self.conditions, self.plan);
        let apart = |values: Vec<Measured>, scale: f64, unit: &str| {
            let one = together(&values)?;
            Some(format!("{} {unit} ± {} {unit}", plain(one.value / scale), plain(one.u / scale)))
        };
        let found = match text {
            "measured times" => decisive.map(|it| {
                it.stops.iter().map(|stop| up(stop.time.value)).collect::<Vec<_>>().join(", ")
            }),
            "measured uncertainty" => decisive.map(|it| up(it.times.u)),
            "measured response" => {
                apart(stops().filter_map(|it| it.response).collect(), 1e-3, "ms")
            }
            "measured delay" => apart(stops().filter_map(|it| it.delay).collect(), 1e-3, "ms"),
            "measured speed" if is_of_way(program, &said.key) => self.of_way(text, predicted)?,
            "measured speed" => {
                apart(stops().map(|it| it.speed).collect(), std::f64::consts::PI / 30.0, "r/min")
            }
            "measured way" => self.of_way(text, predicted)?,
            torque_lost::WORDS => {
                let lost = self.lost_for(&said.key, predicted);
                Some(lost.map_err(|[words, remedy]| none(words, remedy))?)
            }
            "measured T_0" => apart(friction(self.plan, stops(), 0), 1.0, "N·m"),
            "measured b" => apart(friction(self.plan, stops(), 1), 1.0, "N·m·s/rad"),
            "measured c" => apart(friction(self.plan, stops(), 2), 1.0, "N·m·s²/rad²"),
            "measured J" => apart(inertias(self.plan, stops()), 1.0, "kg·m²"),
            "calculated works" | "calculated fails" | "calculated stops" => {
                let Some(predicted) = predicted else {
                    return Err(none(
                        "there is no calculation",
                        "add `[calculation]` with its sheet and inputs",
                    ));
                };
                if text.ends_with("stops") != self.plan.at_once {
                    let (wrong, right) = if self.plan.at_once {
                        ("a stop of category 0 has no ramp", "write `calculated stops`")
                    } else {
                        ("a stop of category 1 has a ramp", "write `calculated fails`")
                    };
                    return Err(none(wrong, right));
                }
                Some(up(if text.ends_with("works") { predicted.works } else { predicted.fails }))
            }
            _ => {
                let near = nearest(text, HANDED.iter().map(|it| it.0));
                let remedy = near.first().map_or_else(
                    || {
                        format!(
                            "it is one of {}",
                            HANDED.iter().map(|it| it.0).collect::<Vec<_>>().join(", ")
                        )
                    },
                    |it| format!("did you mean `{}`?", it.0),
                );
                return Err(none("nothing of that name is measured", &remedy));
            }
        };
        let of_run_downs = ["measured T_0", "measured b", "measured c", "measured J"];
        let departs = departing(stops()).filter(|_| of_run_downs.contains(&text));
        found.ok_or_else(|| match departs {
            Some(words) => none(
                &words,
                "find what else brakes and record run-downs of friction alone, say the filter of the recorder, or write the value itself",
            ),
            None => none(
                "no stop of these recordings has it",
                "write the value itself, or record what it needs",
            ),
        })
    }
}
