//! The results of a report, and those of them that are set in the drive.

use serde_json::Value;

use super::table::{Column, Table};
use crate::calculation::Results;

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

/// What stands before the value of a setting whose calculation fails a check.
pub const NOT_TO_BE_SET: &str = "NOT to be set";

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

/// The results of a calculation.
#[must_use]
pub fn figures(results: &Results) -> Vec<Figure> {
    let outputs = results.program().outputs.iter();
    outputs
        .map(|output| Figure {
            name: output.name.clone(),
            value: results.to_text(output),
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

/// The results as a table.
#[must_use]
pub fn figures_table(results: &Results) -> Table {
    let rows =
        figures(results).into_iter().map(|it| vec![it.name.clone(), it.value.clone(), it.about()]);
    Table {
        title: "results".to_owned(),
        columns: COLUMNS,
        rows: rows.collect(),
        ..Table::default()
    }
}

/// What is set in the drive, with room to sign; none where nothing is.
///
/// Where a check fails every row says so, and there is no room to sign: a row that is copied on its own cannot
/// be taken for a setting either.
#[must_use]
pub fn settings_table(results: &Results) -> Option<Table> {
    let good = results.holds();
    let rows = results.settings().into_iter().map(|it| {
        let (value, sign) = match good {
            true => (it.value, "____________________".to_owned()),
            false => (format!("{NOT_TO_BE_SET} ({})", it.value), "a check FAILS".to_owned()),
        };
        vec![it.name, value, it.step, it.low, it.high, it.note, sign]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    let (title, notes) = match good {
        true => ("to be set in the drive", Vec::new()),
        false => ("NOT to be set in the drive: a check FAILS", vec![results.verdict_text()]),
    };
    (!rows.is_empty()).then(|| Table {
        title: title.to_owned(),
        columns: SETTINGS,
        headed: true,
        rows,
        notes,
    })
}

/// Results and settings for a program.
pub(super) fn as_json(results: &Results) -> [(&'static str, Value); 2] {
    let outputs = results.program().outputs.iter();
    let settings = results.settings().into_iter().map(|it| {
        serde_json::json!({
            "name": it.name, "value": it.value, "step": it.step,
            "least": it.low, "most": it.high, "what": it.note, "may_be_set": results.holds(),
        })
    });
    [
        ("results", outputs.map(|output| results.output_json(output)).collect()),
        ("settings", settings.collect()),
    ]
}
