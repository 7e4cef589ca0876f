//! An earlier protocol read again.

use std::path::Path;

use super::channel::quantity;
use super::plan::Plan;
use super::plan_reader::{SPEED, TIME};
use super::seal::{OF, ROWS, TAB, is_sealed, is_sealed_json, is_verdict};
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
    /// Its conditions, each with its stopping time to go on with, in s.
    pub(super) conditions: Vec<(String, f64)>,
    /// How it was measured, as [`MEASURED_WITH`] names it.
    with: Vec<(&'static str, String)>,
}

/// What two checks are measured with alike, by the keys of the plan.
pub(super) const MEASURED_WITH: [&str; 6] =
    ["instrument", "standstill", "filter", "hold", "error", "recorder"];

impl Earlier {
    pub(super) fn figure_of(&self, condition: &str) -> Option<f64> {
        self.conditions.iter().find(|it| it.0 == condition).map(|it| it.1)
    }

    /// What is measured now in another way: what, then and now.
    pub(super) fn differs(&self, plan: &Plan) -> Vec<(&'static str, String, String)> {
        let place = Place::File { name: self.file.clone() };
        let alike = |one: &str, other: &str| {
            // the same value may be written in another unit
            let read = |text: &str| quantity(&[TIME, SPEED].concat(), text, &place).ok();
            let values = read(one).zip(read(other));
            one == other || values.is_some_and(|(a, b)| (a.0 - b.0).abs() <= 1e-9 * a.0.abs())
        };
        let both = self.with.iter().map(|(what, then)| (*what, then, plan.measured_with(what)));
        both.filter(|(_, then, now)| !alike(then, now))
            .map(|(what, then, now)| (what, then.clone(), now.to_owned()))
            .collect()
    }
}

/// Prints that a cell of a workbook holds.
pub(super) const PRINTS: usize = 1500;

/// Of a workbook that is no longer what was written.
const CHANGED: &str = "is no longer the protocol that was written: a verdict, a finding or an input of its form was CHANGED since, or it was written by an older edition";

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
    let (kept, conditions) = if lower.ends_with(".json") {
        let json: serde_json::Value = serde_json::from_slice(&bytes)
            .map_err(|error| wrong(&format!("cannot be read as JSON: {error}")))?;
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
    let with = MEASURED_WITH.map(|name| (name, value(name))).to_vec();
    let (file, day) = (file.to_owned(), found);
    Ok(Earlier { file, machine, day, figure, verdict, prints, next, conditions, with })
}

/// Names and values that a check keeps for a later one, and its conditions.
type Kept = (Vec<(String, String)>, Vec<(String, f64)>);

fn of_json(json: &serde_json::Value) -> Kept {
    let text = |key: &str| json.get(key).and_then(|it| it.as_str()).unwrap_or_default().to_owned();
    let figure = json.pointer("/stopping_time/value").and_then(serde_json::Value::as_f64);
    let [machine, measured, time, verdict, prints] = ROWS;
    let mut kept = vec![
        (time.to_owned(), figure.map_or_else(String::new, |it| it.to_string())),
        (prints.to_owned(), text("prints")),
    ];
    let others = [machine, measured, verdict, "next"].into_iter().chain(MEASURED_WITH);
    kept.extend(others.map(|name| (name.to_owned(), text(name))));
    let conditions = json.get("conditions").and_then(serde_json::Value::as_array);
    let conditions = conditions
        .into_iter()
        .flatten()
        .filter_map(|it| Some((it.get("name")?.as_str()?.to_owned(), it.get("figure")?.as_f64()?)));
    (kept, conditions.collect())
}

fn of_tab(tab: &Tab) -> Kept {
    let mut kept = Vec::new();
    let mut conditions = Vec::new();
    for entry in tab.entries().filter(|entry| entry.position.column == 0) {
        let Cell::Text(name) = &entry.cell else { continue };
        let beside = Position::new(entry.position.row, entry.position.column + 1);
        let value = match beside.map(|it| tab.cell(it)) {
            Some(Cell::Text(text) | Cell::Date(text)) => text.clone(),
            Some(Cell::Number(number)) => number.to_string(),
            _ => continue,
        };
        match (name.strip_prefix(OF), value.parse()) {
            (Some(condition), Ok(figure)) => conditions.push((condition.to_owned(), figure)),
            _ => kept.push((name.clone(), value)),
        }
    }
    (kept, conditions)
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
