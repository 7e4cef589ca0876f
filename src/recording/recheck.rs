//! An earlier protocol read again.

use std::path::Path;

use super::channel::quantity;
use super::condition::{label, label_known_by};
use super::measure::{Measured, count_f64};
use super::plan::{MEASURED_WITH, Plan};
use super::seal::{LEFT_OUT, OF, ROWS, SAID, SPEED_OF, TAB, is_sealed, is_sealed_json, is_verdict};
use super::series::fewest;
use crate::calculation::Verdict;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::{Environment, day};
use crate::spreadsheet::{Book, Cell, Position, Tab};

/// What an earlier protocol says.
#[derive(Clone, Debug, PartialEq)]
pub struct Earlier {
    /// The file.
    pub file: String,
    /// The machine.
    pub machine: String,
    /// The day, counted from 1970-01-01.
    pub(super) day: i64,
    /// Stopping time to go on with, in s.
    pub figure: f64,
    /// Its verdict in one sentence.
    pub verdict: String,
    /// What its stops are known by.
    pub(super) prints: Vec<String>,
    /// The day on which the next check was due.
    pub(super) next: Option<i64>,
    /// Its conditions.
    pub(super) conditions: Vec<Before>,
    /// The conditions that were known and not measured then, each with the day on which it was measured last.
    pub(super) left_out: Vec<(String, Before)>,
    /// What was said of machine and measurement, by the keys of the plan.
    with: Vec<(String, String)>,
}

/// What was said or measured then, and is something else now.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Differs {
    pub(super) what: String,
    pub(super) then: String,
    pub(super) now: String,
    /// Whether it is how it is measured, or else a setting or an input.
    pub(super) is_way: bool,
}

/// A condition of an earlier check.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Before {
    /// Its name, and how its stops ended.
    pub(super) label: String,
    /// Stopping time to go on with, in s.
    pub(super) figure: f64,
    /// The speed before its stops, in coherent SI.
    pub(super) speed: Option<Measured>,
}

/// Keys of which another value is another way of measuring.
const WAYS: [&str; 4] = ["speed", "position", "zero", "least"];

impl Earlier {
    pub(super) fn of(&self, label: &str) -> Option<&Before> {
        let known = label_known_by(label);
        self.conditions.iter().find(|it| label_known_by(&it.label) == known)
    }

    /// What is said now that is not what was said then.
    pub(super) fn differs(&self, plan: &Plan) -> Vec<Differs> {
        let now = plan.alike();
        let of = |all: &[(String, String)], key: &str| {
            all.iter().find(|it| it.0 == key).map(|it| it.1.clone()).unwrap_or_default()
        };
        let mut keys: Vec<&String> = now.iter().map(|it| &it.0).collect();
        keys.extend(self.with.iter().map(|it| &it.0).filter(|key| of(&now, key).is_empty()));
        keys.dedup();
        let shown = |text: String| if text.is_empty() { "not said".to_owned() } else { text };
        keys.into_iter()
            .map(|key| (key, of(&self.with, key), of(&now, key)))
            .filter(|(_, then, now)| !same_value(then, now))
            .map(|(key, then, now)| Differs {
                what: key.replacen('.', ": ", 1),
                then: shown(then),
                now: shown(now),
                is_way: MEASURED_WITH.iter().chain(&WAYS).any(|it| it == key),
            })
            .collect()
    }
}

/// What is written in a plan with a unit.
const KINDS: &[&str] = &[
    "time", "speed of rotation", "speed", "length", "angle", "inertia", "torque", "ratio",
    "energy", "force", "mass",
];

/// Whether two texts say the same: the same value may be written in another unit.
pub(super) fn same_value(one: &str, other: &str) -> bool {
    let place = Place::Argument { text: one.to_owned() };
    let read = |text: &str| quantity(KINDS, text, &place).ok();
    let values = read(one).zip(read(other));
    one == other || values.is_some_and(|(a, b)| (a.0 - b.0).abs() <= 1e-9 * a.0.abs())
}

/// Prints that a cell of a workbook holds.
pub(super) const PRINTS: usize = 1500;

/// Of a workbook that is no longer what was written.
const CHANGED: &str = "is no longer the protocol that was written: what it shows, or an input of its form, was CHANGED since, or it was written by an older edition";

/// How the verdict of a check begins that needs no further word.
pub(super) const PASSED: &str = "passed: ";

/// Reads an earlier protocol: the workbook or the JSON that was written here.
///
/// # Errors
/// `unreadable-file` where it is neither, or lacks its day, its stopping time or its verdict.
pub fn earlier(file: &str, environment: &dyn Environment) -> Result<Earlier, Problems> {
    let bytes = environment.read(Path::new(file))?;
    let wrong = |words: &str| {
        Diagnostic::error(Name::UnreadableFile, format!("`{file}` {words}"))
            .at(Place::File { name: file.to_owned() })
            .remedy("give the protocol as it was written, `protocol.xlsx` or `protocol.json`")
    };
    let changed =
        || wrong(CHANGED).remedy("give the file as it was written, or measure the machine again");
    let lower = file.to_lowercase();
    let Kept { rows: kept, with, conditions, left_out } = if lower.ends_with(".json") {
        let json: serde_json::Value = serde_json::from_slice(&bytes)
            .map_err(|error| wrong(&format!("cannot be read as JSON: {error}")))?;
        if json.get("plans").is_some() {
            let words = "is the table of several plans, and no protocol";
            return Err(wrong(words)
                .remedy(
                    "write the protocol of each plan by itself, `-o protocol.json`, and give that",
                )
                .into());
        }
        if !is_sealed_json(&json) {
            return Err(changed().into());
        }
        of_json(&json)
    } else {
        let book = Book::read(file, &bytes)?;
        let tab = book.tab(TAB).ok_or_else(|| wrong(&format!("has no tab `{TAB}`")))?;
        if !is_sealed(&book) {
            return Err(changed().into());
        }
        of_tab(tab)
    };
    let value = |name: &str| {
        let found = kept.iter().find(|it| it.0 == name);
        found.map_or_else(String::new, |it| it.1.clone())
    };
    let [machine, measured, figure, verdict, prints] = ROWS.map(value);
    let found = day(&measured).ok_or_else(|| wrong("does not say on which day it was measured"))?;
    let figure: f64 = figure.parse().unwrap_or(f64::NAN);
    if !(figure > 0.0 && figure.is_finite()) {
        return Err(wrong("does not say its stopping time").into());
    }
    if !["passed", "NOT PASSED"].iter().any(|begins| verdict.starts_with(begins)) {
        return Err(wrong("does not say whether it was passed")
            .remedy("write it again from its recordings, `-o protocol.xlsx`: its verdict stands in it then")
            .into());
    }
    let prints: Vec<String> = prints.split_whitespace().map(str::to_owned).collect();
    if prints.is_empty() {
        return Err(wrong("does not say which stops it holds")
            .remedy("write it again from its recordings, `-o protocol.xlsx`: the prints of its stops stand in it then")
            .into());
    }
    let next = day(&value("next"));
    let (file, day) = (file.to_owned(), found);
    Ok(Earlier { file, machine, day, figure, verdict, prints, next, conditions, left_out, with })
}

/// What a check keeps for a later one.
#[derive(Default)]
struct Kept {
    rows: Vec<(String, String)>,
    with: Vec<(String, String)>,
    conditions: Vec<Before>,
    left_out: Vec<(String, Before)>,
}

fn of_json(json: &serde_json::Value) -> Kept {
    let text = |key: &str| json.get(key).and_then(|it| it.as_str()).unwrap_or_default().to_owned();
    let figure = json.pointer("/stopping_time/value").and_then(serde_json::Value::as_f64);
    let [machine, measured, time, verdict, prints] = ROWS;
    let mut rows = vec![
        (time.to_owned(), figure.map_or_else(String::new, |it| it.to_string())),
        (prints.to_owned(), text("prints")),
    ];
    let others = [machine, measured, verdict, "next"].into_iter();
    rows.extend(others.map(|name| (name.to_owned(), text(name))));
    let said = json.get("said").and_then(serde_json::Value::as_object).into_iter().flatten();
    let with = said.filter_map(|(key, it)| Some((key.clone(), it.as_str()?.to_owned()))).collect();
    let all = |key: &str| json.get(key).and_then(serde_json::Value::as_array).into_iter().flatten();
    let words = |it: &serde_json::Value, key: &str| {
        it.get(key).and_then(serde_json::Value::as_str).map(str::to_owned)
    };
    let number =
        |it: &serde_json::Value, place: &str| it.pointer(place).and_then(serde_json::Value::as_f64);
    let enough = |it: &&serde_json::Value| {
        let few = number(it, "/number").is_some_and(|it| it < count_f64(fewest()));
        !few
    };
    let before = |it: &serde_json::Value| {
        let speed = number(it, "/speed/value").zip(number(it, "/speed/u"));
        Some(Before {
            label: label(&words(it, "name")?, words(it, "ramp").as_deref()),
            figure: number(it, "/figure")?,
            speed: speed.map(|(value, u)| Measured { value, u }),
        })
    };
    let conditions = all("conditions").filter(enough).filter_map(before).collect();
    let left_out = all("left_out").filter_map(|it| Some((words(it, "measured")?, before(it)?)));
    Kept { rows, with, conditions, left_out: left_out.collect() }
}

fn of_tab(tab: &Tab) -> Kept {
    let mut kept = Kept::default();
    let mut speeds: Vec<(String, Measured)> = Vec::new();
    for entry in tab.entries().filter(|entry| entry.position.column == 0) {
        let Cell::Text(name) = &entry.cell else { continue };
        let beside = Position::new(entry.position.row, entry.position.column + 1);
        let value = match beside.map(|it| tab.cell(it)) {
            Some(Cell::Text(text) | Cell::Date(text)) => text.clone(),
            Some(Cell::Number(number)) => number.to_string(),
            _ => continue,
        };
        let two = || {
            let (first, second) = value.split_once(' ')?;
            Some((first.parse::<f64>().ok()?, second.to_owned()))
        };
        let before = |name: &str, figure| Before { label: name.to_owned(), figure, speed: None };
        if let (Some(name), Ok(figure)) = (name.strip_prefix(OF), value.parse()) {
            kept.conditions.push(before(name, figure));
        } else if let (Some(name), Some((speed, u))) = (name.strip_prefix(SPEED_OF), two()) {
            let u = u.parse().unwrap_or(0.0);
            speeds.push((name.to_owned(), Measured { value: speed, u }));
        } else if let (Some(name), Some((figure, day))) = (name.strip_prefix(LEFT_OUT), two()) {
            kept.left_out.push((day, before(name, figure)));
        } else if let Some(key) = name.strip_prefix(SAID) {
            kept.with.push((key.to_owned(), value.trim_matches('`').to_owned()));
        } else {
            kept.rows.push((name.clone(), value));
        }
    }
    for it in &mut kept.conditions {
        it.speed = speeds.iter().find(|speed| speed.0 == it.label).map(|speed| speed.1);
    }
    kept
}

/// What a workbook says of the protocol of measured stops that it holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProtocolVerdict {
    /// The verdict in words: `passed: all 17 findings hold, 1 to look at`.
    pub verdict: String,
    /// What it asks to look at, and what else does not hold, in words.
    pub open: Vec<String>,
    /// Whether the workbook is still what was written.
    pub sealed: bool,
}

impl ProtocolVerdict {
    /// Of a workbook that was written as a protocol; none of any other.
    #[must_use]
    pub fn of(book: &Book) -> Option<Self> {
        let [_, _, _, name, _] = ROWS;
        let beside = |at: Position| Position::new(at.row, at.column + 1);
        let text = |tab: &Tab, at: Option<Position>| match at.map(|at| tab.cell(at)) {
            Some(Cell::Text(text)) => text.clone(),
            _ => String::new(),
        };
        let kept = book.tab(TAB).and_then(|kept| {
            let mut entries = kept.entries();
            let found = entries.find(|entry| entry.cell == Cell::Text(name.to_owned()))?;
            Some(text(kept, beside(found.position)))
        });
        // a protocol without its seal is one all the same, whatever became of the tab
        let shown = || {
            let second = Position::new(1, 0);
            let mut all = book.tabs.iter().map(|tab| text(tab, second));
            all.find(|it| {
                ["passed", "NOT PASSED"].iter().any(|begins| it.starts_with(begins))
                    && it.contains(" finding")
            })
        };
        let verdict = kept.or_else(shown)?;
        let mut open = Vec::new();
        // the first tab begins with the verdict and its findings
        for tab in book.tabs.iter().take(1) {
            for entry in tab.entries().filter(|entry| entry.position.column == 0) {
                let Cell::Text(word) = &entry.cell else { continue };
                if Verdict::Holds.word() == word || !is_verdict(word) {
                    continue;
                }
                let what = beside(entry.position);
                let (words, figures) = (text(tab, what), text(tab, what.and_then(beside)));
                if !words.is_empty() {
                    let figures = Some(figures).filter(|it| !it.is_empty());
                    let figures = figures.map_or_else(String::new, |it| format!(": {it}"));
                    open.push(format!("{word}: {words}{figures}"));
                }
            }
        }
        // a verdict that is more than passed is never lost, whatever became of the list
        if open.is_empty() && (!verdict.starts_with(PASSED) || verdict.contains("to look at")) {
            open.push(verdict.clone());
        }
        Some(Self { verdict, open, sealed: is_sealed(book) })
    }

    /// Why nothing may be made of a workbook: it holds a protocol that is not passed or not confirmed, or that was
    /// changed since it was written.
    #[must_use]
    pub fn refused(book: &Book) -> Option<Diagnostic> {
        let it = Self::of(book)?;
        let (words, remedy) = if !it.sealed {
            (
                CHANGED.to_owned(),
                "take the protocol as it was written, or write it again from its recordings; to calculate with other inputs, copy the form into a workbook of its own",
            )
        } else if it.verdict.starts_with("passed") && !it.verdict.contains("NOT CONFIRMED") {
            return None;
        } else {
            (
                format!("holds a protocol that is {}", it.verdict),
                "a protocol holds the form for the distance only once it is passed and confirmed: do what its verdict says, and measure again",
            )
        };
        let problem = Diagnostic::error(Name::ProtocolOpen, format!("`{}` {words}", book.name));
        Some(problem.at(Place::File { name: book.name.clone() }).remedy(remedy))
    }
}
