//! An earlier protocol read again: the trend, and when the allowance will be used up.

use std::path::Path;

use super::finding::counted;
use super::fit::least_squares;
use super::measure::count_f64;
use super::seal::{ROWS, TAB, is_sealed, is_verdict};
use super::stop::Stop;
use crate::calculation::Verdict;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::Environment;
use crate::environment::{day, written_day};
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
}

/// Where the stopping time goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Trend {
    /// Day and stopping time in s, in their order, the present one last.
    pub points: Vec<(String, f64)>,
    /// Day and verdict of the earlier checks that were not passed, or passed with something not confirmed.
    pub not_passed: Vec<(String, String)>,
    /// Change in s a year: the larger of that since the check before and of a straight line through all of them.
    pub a_year: f64,
    /// The day on which the allowance is used up, if it goes on so.
    pub used_up: Option<String>,
    pub(super) used_up_day: Option<i64>,
}

/// Prints that a cell of a workbook holds.
pub(super) const PRINTS: usize = 1500;

/// Of a workbook that is no longer what was written.
const CHANGED: &str = "is no longer the protocol that was written: a verdict, a finding or an input of its form was CHANGED since, or it was written by an older edition";

/// How the verdict of a check begins that needs no further word.
const PASSED: &str = "passed: ";

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
    let lower = file.to_lowercase();
    let [machine, measured, figure, verdict, prints] = if lower.ends_with(".json") {
        let json: serde_json::Value = serde_json::from_slice(&bytes)
            .map_err(|error| wrong(&format!("cannot be read as JSON: {error}")))?;
        let text =
            |key: &str| json.get(key).and_then(|it| it.as_str()).unwrap_or_default().to_owned();
        let figure = json.pointer("/stopping_time/value").and_then(serde_json::Value::as_f64);
        let figure = figure.map_or_else(String::new, |it| it.to_string());
        [text("machine"), text("measured"), figure, text("verdict"), text("prints")]
    } else {
        let book = Book::read(file, &bytes)?;
        let tab = book.tab(TAB).ok_or_else(|| wrong(&format!("has no tab `{TAB}`")))?;
        if !is_sealed(&book) {
            return Err(wrong(CHANGED).into());
        }
        ROWS.map(|name| {
            let found = tab.entries().find(|entry| entry.cell == Cell::Text(name.to_owned()));
            let beside =
                found.and_then(|it| Position::new(it.position.row, it.position.column + 1));
            match beside.map(|it| tab.cell(it)) {
                Some(Cell::Text(text) | Cell::Date(text)) => text.clone(),
                Some(Cell::Number(number)) => number.to_string(),
                _ => String::new(),
            }
        })
    };
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
    Ok(Earlier { file: file.to_owned(), machine, day: found, figure, verdict, prints })
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

impl Trend {
    /// The trend from earlier checks to this one; `spare` is by how much a stop may still become longer, in s.
    ///
    /// # Errors
    /// `part-mismatch` for another machine, or a check that is not earlier; `asked-twice` for a stop that an earlier
    /// one holds already.
    pub(super) fn of(
        earlier: &[Earlier],
        stops: &[&Stop],
        machine: &str,
        measured: &str,
        figure: f64,
        spare: Option<f64>,
    ) -> Result<Option<Self>, Problems> {
        if earlier.is_empty() {
            return Ok(None);
        }
        let mut problems = Vec::new();
        let wrong = |one: &Earlier, words: String, remedy: &str| {
            Diagnostic::error(Name::PartMismatch, words)
                .at(Place::File { name: one.file.clone() })
                .remedy(remedy)
        };
        for one in earlier {
            let known = |stop: &&&Stop| one.prints.contains(&stop.print);
            let known: Vec<&Stop> = stops.iter().filter(known).copied().collect();
            if let Some(first) = known.first() {
                let words = format!(
                    "{} of this check, such as this one, are in the protocol of {} already: `{}`",
                    counted(known.len()),
                    written_day(one.day),
                    one.file
                );
                problems.push(
                    Diagnostic::error(Name::AskedTwice, words).at(first.place.clone()).remedy(
                        "measure the machine again: what was recorded then says nothing of today",
                    ),
                );
            }
        }
        let today = day(measured);
        let mut all: Vec<(i64, f64)> = Vec::new();
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
            if all.iter().any(|it| it.0 == one.day) {
                let words = format!("a second protocol of {}", written_day(one.day));
                problems.push(wrong(one, words, "give one protocol of each check"));
            }
            all.push((one.day, one.figure));
        }
        let Some(today) = today.filter(|_| problems.is_empty()) else {
            return Err(problems.into());
        };
        all.push((today, figure));
        all.sort_by_key(|it| it.0);
        let last_two = all.iter().rev().take(2).collect::<Vec<_>>();
        let since = match last_two.as_slice() {
            [now, before] => (now.1 - before.1) / days(now.0 - before.0),
            _ => 0.0,
        };
        let rows: Vec<([f64; 2], f64)> =
            all.iter().map(|(day, figure)| ([1.0, days(day - today)], *figure)).collect();
        let line = least_squares(&rows).map_or(since, |fit| fit.x[1]);
        let a_day = since.max(line);
        let used_up_day = spare.filter(|_| a_day > 0.0).and_then(|spare| {
            let left = (spare.max(0.0) / a_day).floor();
            // beyond a century nothing is foretold by a straight line
            (left < 36_525.0)
                .then(|| today + (0..=36_525).rev().find(|it| days(*it) <= left).unwrap_or(0))
        });
        Ok(Some(Self {
            not_passed: earlier
                .iter()
                .filter(|one| !one.verdict.starts_with(PASSED))
                .map(|one| (written_day(one.day), one.verdict.clone()))
                .collect(),
            points: all.iter().map(|(day, figure)| (written_day(*day), *figure)).collect(),
            a_year: a_day * 365.25,
            used_up: used_up_day.map(written_day),
            used_up_day,
        }))
    }
}

fn days(count: i64) -> f64 {
    let size = usize::try_from(count.unsigned_abs()).map_or(0.0, count_f64);
    if count < 0 { -size } else { size }
}
