//! The results of a report, and those of them that are set in the drive.

use serde_json::Value;

use super::release::{NOT_TO_BE_SET, Release};
use super::table::{Column, Table};
use crate::calculation::Results;
use crate::program::{Output, Program};

const COLUMNS: &[Column] =
    &[Column::words("result"), Column::figures("value"), Column::words("what it is")];

const SETTINGS: &[Column] = &[
    Column::words("setting"),
    Column::figures("value"),
    Column::figures("step"),
    Column::figures("least"),
    Column::figures("most"),
    Column::words("what it is"),
    Column::words("read back, date, name"),
];

/// A result.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Its name.
    pub name: String,
    /// Its value with the unit; the author's words where it never exists.
    pub value: String,
    /// What it is.
    pub note: String,
    /// How it is rounded, in words.
    pub rounding: String,
}

/// The results of a calculation; a setting that may not be set says so.
#[must_use]
pub fn figures(results: &Results, release: &Release) -> Vec<Figure> {
    let outputs = results.program().outputs.iter();
    outputs
        .map(|output| Figure {
            name: output.name.clone(),
            value: match output.setting {
                Some(_) => release.shown(&results.to_text(output)),
                None => results.to_text(output),
            },
            note: output.note.clone(),
            rounding: output.rounding.clone(),
        })
        .collect()
}

impl Figure {
    /// What it is and how it is rounded.
    #[must_use]
    pub fn about(&self) -> String {
        let rounding = match self.rounding.as_str() {
            "" => String::new(),
            rounding => format!("({rounding})"),
        };
        format!("{} {rounding}", self.note).trim().to_owned()
    }
}

/// The most results that are put before the others.
const DECISIVE: usize = 10;

/// The results that decide, by their places: what is set, the first, what the sheet's own checks compare, then what
/// those of the sheets that it uses do; where no check compares any, the first three. In the order of the sheet.
pub(crate) fn decisive(program: &Program) -> Vec<usize> {
    let rank = |at: usize, output: &Output| {
        let checks = program
            .checks
            .iter()
            .filter(|check| check.sides.is_some_and(|(_, a, b)| [a, b].contains(&output.register)));
        let own = checks.map(|check| check.path.is_empty()).max();
        match (output.setting, at, own) {
            (Some(_), ..) => 0,
            (_, 0, _) | (.., Some(true)) => 1,
            (.., Some(false)) => 2,
            _ => 3,
        }
    };
    let outputs = program.outputs.iter().enumerate();
    let mut ranked: Vec<_> = outputs.map(|(at, output)| (rank(at, output), at)).collect();
    ranked.sort_unstable();
    let counted = ranked.iter().filter(|(rank, _)| *rank < 3).count();
    let count = if counted > 1 { counted.min(DECISIVE) } else { 3 };
    let mut found: Vec<usize> = ranked.into_iter().map(|(_, at)| at).take(count).collect();
    found.sort_unstable();
    found
}

/// The results as a table.
#[must_use]
pub fn figures_table(results: &Results, release: &Release) -> Table {
    let rows = figures(results, release).into_iter();
    let rows = rows.map(|it| vec![it.name.clone(), it.value.clone(), it.about()]);
    Table {
        title: "results".to_owned(),
        columns: COLUMNS,
        rows: rows.collect(),
        ..Table::default()
    }
}

/// What is set in the drive, with room to sign; none where nothing is.
///
/// Where it may not be, every row says so, and there is no room to sign: a row that is copied on its own cannot
/// be taken for a setting either.
#[must_use]
pub fn settings_table(results: &Results, release: &Release) -> Option<Table> {
    let rows = results.settings().into_iter().map(|it| {
        let sign = match release.may_be_set() {
            true => "____________________".to_owned(),
            false => release.why(),
        };
        vec![it.name, release.shown(&it.value), it.step, it.low, it.high, it.note, sign]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    let title = match release.may_be_set() {
        true => "to be set in the drive".to_owned(),
        false => format!("{NOT_TO_BE_SET} in the drive: {}", release.why()),
    };
    let notes = match release.granted() {
        true => Vec::new(),
        false => vec![release.verdict().to_owned()],
    };
    (!rows.is_empty()).then_some(Table { title, columns: SETTINGS, headed: true, rows, notes })
}

/// Results and settings for a program.
pub(super) fn as_json(results: &Results, release: &Release) -> [(&'static str, Value); 2] {
    let outputs = results.program().outputs.iter().map(|output| {
        let mut one = results.output_json(output);
        if let (Some(_), Value::Object(one)) = (output.setting, &mut one) {
            one.insert("may_be_set".to_owned(), release.may_be_set().into());
        }
        one
    });
    let settings = results.settings().into_iter().map(|it| {
        serde_json::json!({
            "name": it.name, "value": it.value, "step": it.step,
            "least": it.low, "most": it.high, "what": it.note, "may_be_set": release.may_be_set(),
        })
    });
    [("results", outputs.collect()), ("settings", settings.collect())]
}
