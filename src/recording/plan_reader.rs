//! A plan read: every key once, in its unit, with what it needs beside it.

use std::path::Path;
use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use super::channel::{Channel, Edge, quantity, unread};
use super::plan::{Asked, KEYS, MEASURED_WITH, Plan, Recording, Said, Value, Zero};
use super::smear::Smear;
use crate::diagnostic::{Diagnostic, Name, Place, Problems, Source, turning_marks};
use crate::program::did_you_mean;

pub(super) const SPEED: &[&str] = &["speed of rotation", "speed"];
const POSITION: &[&str] = &["angle", "length"];
pub(super) const TIME: &[&str] = &["time"];
const SHARE: &[&str] = &["ratio"];

/// Parts of a plan with keys of their own.
const PARTS: [&str; 5] = ["calculation", "distance", "settings", "left_out", "shown"];

/// Words of which something that was seen is told, at least: who and how (common practice, no source).
const SEEN: usize = 4;

/// What is only written down.
const TEXTS: [&str; 6] =
    ["machine", "instrument", "calibrated", "calibrated_until", "measured", "next"];

impl Plan {
    /// Reads a plan: the text of a file, if there is one, and words `key=value` and files of the terminal, which
    /// come before it.
    ///
    /// # Errors
    /// `recording-plan` for what cannot be read or is not known, `unreadable-quantity` and the names of wrong units.
    ///
    /// # Example
    /// ```
    /// use standstill::recording::Plan;
    /// let words = ["a.csv", "time=t in ms", "speed=n in r/min", "stop=cmd falls", "standstill=10 r/min", "error=2 r/min"];
    /// let plan = Plan::read(None, &words.map(str::to_owned))?;
    /// assert_eq!(plan.recordings[0].file, "a.csv");
    /// assert!(Plan::read(None, &["a.csv".to_owned()]).is_err());
    /// # Ok::<(), standstill::Problems>(())
    /// ```
    pub fn read(source: Option<&Arc<Source>>, words: &[String]) -> Result<Self, Problems> {
        let mut reader = Reader::default();
        for word in words {
            let place = Place::Argument { text: word.clone() };
            match word.split_once('=') {
                Some((key, text)) => reader.said.push(Said {
                    key: key.trim().to_owned(),
                    text: text.trim().to_owned(),
                    place,
                }),
                None => reader.files.push(File {
                    path: word.clone(),
                    condition: None,
                    disabled: false,
                    place,
                }),
            }
        }
        reader.twice();
        if let Some(source) = source {
            reader.file(source);
        }
        reader.known();
        let plan = reader.plan();
        match plan {
            Some(plan) if reader.problems.is_empty() => Ok(plan),
            _ => Err(reader.problems.into()),
        }
    }
}

/// A file as it is named.
struct File {
    path: String,
    condition: Option<String>,
    disabled: bool,
    place: Place,
}

/// A plan on its way.
#[derive(Default)]
pub(super) struct Reader {
    said: Vec<Said>,
    files: Vec<File>,
    pub(super) problems: Vec<Diagnostic>,
}

impl Reader {
    /// Words of the terminal that say one thing twice.
    fn twice(&mut self) {
        for (at, said) in self.said.iter().enumerate() {
            if let Some(before) = self.said.iter().take(at).find(|it| it.key == said.key) {
                self.problems.push(
                    Diagnostic::error(Name::TwoStatements, format!("`{}` is said twice", said.key))
                        .at(said.place.clone())
                        .label(before.place.clone(), "said here already")
                        .remedy("leave one of them out"),
                );
            }
        }
    }

    fn file(&mut self, source: &Arc<Source>) {
        self.problems.extend(turning_marks(source));
        let table = match DeTable::parse(&source.text) {
            Ok(table) => table,
            Err(error) => {
                let span = error.span().unwrap_or(0..0);
                let place = Place::text(source, span);
                let words = error.message().lines().next().unwrap_or_default().to_owned();
                self.problems.push(unread(
                    &place,
                    format!("the plan cannot be read: {words}"),
                    "write `key = \"value\"`, a line each; a key once",
                ));
                return;
            }
        };
        let folder = Path::new(&source.name).parent().unwrap_or(Path::new(""));
        for (key, value) in table.get_ref() {
            let name = key.get_ref().as_ref();
            let place = Place::text(source, key.span().start..value.span().end);
            match (name, value.get_ref()) {
                ("recordings", DeValue::Array(all)) => {
                    for one in all.iter() {
                        self.recording(source, folder, one.get_ref(), one.span());
                    }
                }
                (name, DeValue::Table(inner)) if PARTS.contains(&name) => {
                    for (key, value) in inner {
                        let place = Place::text(source, key.span().start..value.span().end);
                        self.say(format!("{name}.{}", key.get_ref()), value.get_ref(), place);
                    }
                }
                (name, _) if name == "recordings" || PARTS.contains(&name) => {
                    self.problems.push(unread(
                        &place,
                        format!("`{name}` is a part of its own"),
                        if name == "settings" {
                            "write `[settings]`, and below it what was read back, `t_unlock = \"3 s\"`"
                        } else if name == "left_out" {
                            "write `[left_out]`, and below it each condition with the reason, `\"cold\" = \"the hall is heated now\"`"
                        } else if name == "shown" {
                            "write `[shown]`, and below it who saw it and how, `closes = \"A. Name, 2026-03-02: …\"`"
                        } else if name == "recordings" {
                            "write `[[recordings]]`, and below it `file = \"cold.csv\"` and `condition = \"cold\"`"
                        } else {
                            "write `[calculation]` or `[distance]`, and below it `sheet = \"…\"` and its inputs"
                        },
                    ));
                }
                (_, value) => self.say(name.to_owned(), value, place),
            }
        }
    }

    fn say(&mut self, key: String, value: &DeValue<'_>, place: Place) {
        let text = match value {
            DeValue::String(text) => text.to_string(),
            DeValue::Boolean(truth) => if *truth { "yes" } else { "no" }.to_owned(),
            _ => {
                self.problems.push(unread(
                    &place,
                    format!("`{key}` is not a text in quotes"),
                    "write the value with its unit in quotes, such as `\"10 r/min\"`",
                ));
                return;
            }
        };
        // the terminal comes before the file
        if !self.said.iter().any(|said| said.key == key) {
            self.said.push(Said { key, text: text.trim().to_owned(), place });
        }
    }

    fn recording(
        &mut self,
        source: &Arc<Source>,
        folder: &Path,
        value: &DeValue<'_>,
        span: std::ops::Range<usize>,
    ) {
        let place = Place::text(source, span);
        let table = value.as_table();
        let text = |key: &str| table.and_then(|table| table.get(key)?.get_ref().as_str());
        let stranger = table.and_then(|it| {
            it.keys().find(|key| !["file", "condition", "ramp"].contains(&key.get_ref().as_ref()))
        });
        if let Some(key) = stranger {
            self.problems.push(unread(
                &Place::text(source, key.span()),
                format!("a recording has no `{}`", key.get_ref()),
                "it has `file`, `condition` and, where it fails on purpose, `ramp = \"disabled\"`",
            ));
        }
        let disabled = table.is_some_and(|it| it.contains_key("ramp"));
        if disabled && text("ramp") != Some("disabled") {
            let remedy = "write `ramp = \"disabled\"` where it fails on purpose, or leave it out";
            self.problems.push(unread(&place, "`ramp` is not `disabled`".to_owned(), remedy));
        }
        match text("file") {
            Some(file) => {
                let path = folder.join(file).to_string_lossy().into_owned();
                let condition = text("condition").map(str::to_owned);
                self.files.push(File { path, condition, disabled, place });
            }
            None => self.problems.push(unread(
                &place,
                "a recording without its file".to_owned(),
                "write `file = \"cold.csv\"` below `[[recordings]]`",
            )),
        }
    }

    /// Keys that are not known.
    fn known(&mut self) {
        for said in &self.said {
            let key = said.key.as_str();
            let part = key.split_once('.').map(|it| it.0);
            if part.is_some_and(|it| PARTS.contains(&it)) || KEYS.iter().any(|it| it.name == key) {
                continue;
            }
            let remedy = did_you_mean(key, KEYS.iter().map(|it| it.name)).unwrap_or_else(|| {
                format!(
                    "it is one of {}",
                    KEYS.iter().map(|it| it.name).collect::<Vec<_>>().join(", ")
                )
            });
            self.problems.push(
                Diagnostic::error(Name::RecordingPlan, format!("nothing is called `{key}` here"))
                    .at(said.place.clone())
                    .remedy(remedy),
            );
        }
    }

    /// What was said of a key.
    pub(super) fn get(&self, key: &str) -> Option<&Said> {
        self.said.iter().find(|said| said.key == key)
    }

    /// What must be said.
    fn must(&mut self, key: &str) -> Option<Said> {
        let found = self.get(key).cloned();
        if found.is_none() {
            let about = KEYS.iter().find(|it| it.name == key).map_or("", |it| it.about);
            self.problems.push(
                Diagnostic::error(Name::RecordingPlan, format!("`{key}` is not said: {about}"))
                    .remedy(format!(
                        "add `{key} = \"…\"` to the plan, or `{key}='…'` at the terminal"
                    )),
            );
        }
        found
    }

    fn value(&mut self, key: &str, kinds: &[&str], from_zero: bool) -> Option<Value> {
        let said = self.get(key)?.clone();
        match quantity(kinds, &said.text, &said.place) {
            Ok((si, _)) if si > 0.0 || (from_zero && si == 0.0) => {
                Some(Value { si, written: said.text, place: said.place })
            }
            Ok(_) => {
                self.problems.push(
                    Diagnostic::error(
                        Name::OutOfRange,
                        format!("`{key}` = {} is not above zero", said.text),
                    )
                    .at(said.place)
                    .remedy("write a value above zero"),
                );
                None
            }
            Err(problem) => {
                self.problems.push(problem);
                None
            }
        }
    }

    fn kept<T>(&mut self, read: Result<T, Diagnostic>) -> Option<T> {
        read.map_err(|problem| self.problems.push(problem)).ok()
    }

    fn or(value: Option<Value>, written: &str, si: f64) -> Value {
        let place = Place::Argument { text: written.to_owned() };
        value.unwrap_or(Value { si, written: written.to_owned(), place })
    }

    fn plan(&mut self) -> Option<Plan> {
        let time = self.must("time");
        let time = time.and_then(|said| {
            let read = Channel::read(&said.text, TIME, &said.place);
            self.kept(read)
        });
        let position = self.get("position").cloned();
        if let (Some(position), Some(speed)) = (&position, self.get("speed")) {
            let problem = Diagnostic::error(
                Name::TwoStatements,
                "both a speed and a position are said, and the stop can follow one alone",
            )
            .at(position.place.clone())
            .label(speed.place.clone(), "the speed is said here")
            .remedy("leave one of them out");
            self.problems.push(problem);
        }
        let is_position = position.is_some();
        let speed = match position {
            Some(said) => Some((said, POSITION)),
            None => self.must("speed").map(|said| (said, SPEED)),
        };
        let speed = speed.and_then(|(said, kinds)| {
            let read = Channel::read(&said.text, kinds, &said.place);
            self.kept(read)
        });
        let stop = self.must("stop").and_then(|said| {
            let read = Edge::read(&said.text, &said.place);
            self.kept(read)
        });
        let removed = match self.get("removed").cloned() {
            Some(said) => {
                let read = Edge::read(&said.text, &said.place);
                self.kept(read)
            }
            None => None,
        };
        let decimal_comma = self.choice("decimal_comma", ["no", "yes"]);
        let at_once = self.choice("category", ["1", "0"]);
        let before = self.value("calculation.before", TIME, true);
        self.of_category(at_once);
        let (must_standstill, must_error) = (self.must("standstill"), self.must("error"));
        let standstill = self.value("standstill", SPEED, false);
        let error = self.value("error", SPEED, true);
        let filter = self.value("filter", TIME, true);
        let hold = self.value("hold", TIME, false);
        let recorder = self.get("recorder").cloned();
        let recorder = recorder.and_then(|said| self.kept(Smear::read(&said.text, &said.place)));
        let least = self.value("least", SPEED, true);
        self.least(least.as_ref(), standstill.as_ref(), is_position);
        let [
            n_ref,
            t_ramp,
            tol_ramp,
            rounded,
            reserve,
            t_delay,
            tol_delay,
            inertia,
            tol_inertia,
            torque,
        ] = [
            ("n_ref", SPEED, false),
            ("t_ramp", TIME, false),
            ("tol_ramp", SHARE, true),
            ("f", SHARE, true),
            ("t_reserve", TIME, true),
            ("t_delay", TIME, false),
            ("tol_delay", SHARE, true),
            ("J", &["inertia"] as &[&str], false),
            ("tol_J", SHARE, true),
            ("torque", &["torque"], false),
        ]
        .map(|(key, kinds, from_zero)| self.value(key, kinds, from_zero));
        self.shares([
            ("tol_ramp", &tol_ramp, 1.0),
            ("tol_delay", &tol_delay, 1.0),
            ("tol_J", &tol_inertia, 1.0),
            ("f", &rounded, 0.5),
        ]);
        self.pairs();
        let calculation = self.asked("calculation");
        let distance = self.asked("distance");
        let settings = self.inner("settings");
        let left_out = self.inner("left_out");
        let shown = self.inner("shown");
        self.reasons(&left_out, &shown);
        let zero = self.zero(speed.as_ref());
        let said = self.kept_for_later();
        let texts = TEXTS
            .iter()
            .filter_map(|key| {
                let said = self.get(key)?;
                Some((*key, said.text.clone(), said.place.clone()))
            })
            .collect();
        let recordings = self.recordings();
        must_standstill.and(must_error)?;
        Some(Plan {
            recordings,
            time: time?,
            speed: speed?,
            is_position,
            stop: stop?,
            removed,
            at_once,
            before,
            decimal_comma,
            standstill: standstill?,
            filter: Self::or(filter, "5 ms", 0.005),
            hold: Self::or(hold, "200 ms", 0.2),
            recorder,
            error: error?,
            least,
            n_ref,
            t_ramp,
            tol_ramp,
            rounded,
            t_delay,
            tol_delay,
            reserve,
            inertia,
            tol_inertia,
            torque,
            texts,
            calculation,
            distance,
            settings,
            left_out,
            shown,
            zero,
            said,
        })
    }

    /// What is known of a channel that reads no noise at rest.
    fn zero(&mut self, speed: Option<&Channel>) -> Option<Zero> {
        let said = self.get("zero")?.clone();
        let (words, remedy) = match said.text.as_str() {
            // of a voltage the range may end, whatever makes it
            "counted" => match speed.and_then(Channel::is_electrical) {
                None => return Some(Zero::Counted),
                Some(unit) => (
                    format!(
                        "`zero` is `counted`, and the speed is recorded in {unit}: the range of that may end at 0"
                    ),
                    "look whether it reads below 0 with the machine turned backwards, and say `zero = \"below 0 seen\"`; else record it with a range that reaches below 0",
                ),
            },
            "below 0 seen" => return Some(Zero::BelowSeen),
            other => (
                format!("`zero` is counted or below 0 seen, found `{other}`"),
                "write `zero = \"counted\"` or `zero = \"below 0 seen\"`",
            ),
        };
        self.problems.push(unread(&said.place, words, remedy));
        None
    }

    /// A condition is left out for a reason, and what no stop shows was seen by somebody, in some way.
    fn reasons(&mut self, left_out: &[Said], shown: &[Said]) {
        let words = |it: &Said| {
            let all = it.text.split_whitespace();
            all.filter(|it| it.chars().any(char::is_alphabetic)).count()
        };
        for said in shown.iter().filter(|it| words(it) < SEEN) {
            self.problems.push(unread(
                &said.place,
                format!("`{}` is said to be shown, and not by whom and how", said.key),
                &format!("write who saw it, when and how, such as `{} = \"A. Name, 2026-03-02: torque taken away while the drive held the brake open: it closed\"`", said.key),
            ));
        }
        for said in left_out.iter().filter(|it| !it.text.chars().any(char::is_alphabetic)) {
            self.problems.push(unread(
                &said.place,
                format!("`{}` is left out, and not why", said.key),
                "write why the machine is never in it any more, such as `\"cold\" = \"the hall is heated now\"`",
            ));
        }
    }

    /// What a later check is held against, beside the way of measuring: settings, inputs, the channel of the speed.
    fn kept_for_later(&self) -> Vec<(String, String)> {
        const OTHERS: [&str; 5] = ["time", "stop", "removed", "decimal_comma", "condition"];
        let is_kept = |key: &str| {
            let own = [&TEXTS[..], &MEASURED_WITH, &OTHERS].iter().any(|all| all.contains(&key));
            !own && !["left_out.", "shown."].iter().any(|part| key.starts_with(part))
        };
        let all = self.said.iter().filter(|said| is_kept(&said.key));
        all.map(|said| (said.key.clone(), said.text.clone())).collect()
    }

    /// Whether the second of two words is said; the first one counts unless said.
    fn choice(&mut self, key: &str, words: [&str; 2]) -> bool {
        let Some(said) = self.get(key).cloned() else { return false };
        let [first, second] = words;
        if said.text != first && said.text != second {
            self.problems.push(unread(
                &said.place,
                format!("`{key}` is {first} or {second}, found `{}`", said.text),
                &format!("write `{key} = \"{second}\"`"),
            ));
        }
        said.text == second
    }

    /// What stands in a part of the plan.
    fn inner(&self, part: &str) -> Vec<Said> {
        let begins = format!("{part}.");
        let inner = |said: &Said| {
            let key = said.key.strip_prefix(&begins)?.to_owned();
            Some(Said { key, ..said.clone() })
        };
        self.said.iter().filter_map(inner).collect()
    }

    fn asked(&mut self, part: &str) -> Option<Asked> {
        let mut inputs = self.inner(part);
        let first = inputs.first()?.place.clone();
        let Some(at) = inputs.iter().position(|said| said.key == "sheet") else {
            self.problems.push(unread(
                &first,
                format!("`{part}` names no sheet"),
                "write `sheet = \"…\"` in it",
            ));
            return None;
        };
        let sheet = inputs.remove(at);
        Some(Asked { sheet: sheet.text, place: sheet.place, inputs })
    }

    fn recordings(&mut self) -> Vec<Recording> {
        let common = self.get("condition").map(|said| said.text.clone());
        let mut found: Vec<Recording> = Vec::new();
        for File { path: file, condition, disabled, place } in std::mem::take(&mut self.files) {
            if let Some(before) = found.iter().find(|it| it.file == file) {
                self.problems.push(
                    Diagnostic::error(
                        Name::AskedTwice,
                        format!("`{file}` is named twice: its stops would count twice"),
                    )
                    .at(place)
                    .label(before.place.clone(), "named here already")
                    .remedy("leave one of them out"),
                );
                continue;
            }
            let condition = condition.or_else(|| common.clone());
            if condition.as_ref().is_some_and(|it| !it.chars().any(char::is_alphanumeric)) {
                self.problems.push(unread(
                    &place,
                    format!("the condition of `{file}` has no word"),
                    "say under which it was recorded, `condition = \"cold\"`, or leave `condition` out",
                ));
            }
            let condition_said = condition.is_some();
            let condition = condition.unwrap_or_else(|| "one condition".to_owned());
            found.push(Recording { file, condition, condition_said, disabled, place });
        }
        if found.is_empty() && self.problems.is_empty() {
            self.problems.push(
                Diagnostic::error(Name::RecordingPlan, "no recording is named").remedy(
                    "name the files at the terminal, or below `[[recordings]]` in the plan",
                ),
            );
        }
        found
    }
}
