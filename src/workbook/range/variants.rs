//! The rows of a table: variants, totals over them, and what is neither.

use super::ProductLine;
use crate::spreadsheet::{Cell, Entry, Position, Tab};

/// The rows of a table.
#[derive(Default)]
pub(super) struct Rows {
    pub(super) variants: Vec<u32>,
    /// Sums, averages and the like over the variants.
    pub(super) totals: Vec<u32>,
    /// Rows that hold something and none of the inputs.
    pub(super) others: Vec<u32>,
}

/// Words before totals that name no variant.
const TOTALS: &[&str] = &[
    "total",
    "totals",
    "grand total",
    "subtotal",
    "sum",
    "sums",
    "average",
    "avg",
    "mean",
    "count",
    "∑",
    "σ",
    "ø",
    "summe",
    "gesamt",
    "mittelwert",
    "durchschnitt",
    "somme",
    "moyenne",
    "suma",
    "media",
    "totale",
    "somma",
];

/// Beginnings of words before totals: `Total of the line`.
const BEGINNINGS: &[&str] = &["total ", "sum of ", "average of ", "mean of "];

/// Words that are totals before formulas, and may name a variant before numbers.
const EXTREMES: &[&str] = &[
    "max",
    "maximum",
    "min",
    "minimum",
    "median",
    "std",
    "stdev",
    "deviation",
    "standard deviation",
    "range",
    "spread",
];

fn bare(text: &str) -> String {
    text.trim().trim_end_matches([':', '=', '.']).trim_end().to_lowercase()
}

fn is_total(bare: &str) -> bool {
    TOTALS.contains(&bare) || BEGINNINGS.iter().any(|beginning| bare.starts_with(beginning))
}

/// Whether a text may stand before totals.
pub(super) fn is_word_of_totals(text: &str) -> bool {
    let bare = bare(text);
    is_total(&bare) || EXTREMES.contains(&bare.as_str())
}

/// Sorts the rows below the head of a table.
pub(super) fn rows(tab: &Tab, line: &ProductLine, headings: &[Entry], last: u32) -> Rows {
    let mut found = Rows::default();
    let first = line.units.unwrap_or(line.header) + 1;
    let inputs: Vec<u32> =
        line.inputs.iter().flat_map(|input| input.columns.iter().copied()).collect();
    let ours: Vec<u32> =
        line.results.iter().map(|result| result.column).chain([line.status.column]).collect();
    let heading_of = |column: u32| {
        headings.iter().find(|entry| entry.position.column == column).map(|entry| &entry.cell)
    };
    tab.each_filled(&mut |row, cells| {
        if !(first..=last).contains(&row) {
            return;
        }
        let of_inputs: Vec<_> = cells.iter().filter(|cell| inputs.contains(&cell.column)).collect();
        let any = !of_inputs.is_empty();
        let headed_again = of_inputs.iter().all(|cell| {
            let held = tab.cell(Position { row, column: cell.column });
            cell.text && heading_of(cell.column) == Some(held)
        });
        // the first text of the row says what it is
        let named = cells.iter().filter(|cell| cell.text && !inputs.contains(&cell.column));
        let named =
            named.take(1).find_map(|cell| match tab.cell(Position { row, column: cell.column }) {
                Cell::Text(text) => Some(bare(text)),
                _ => None,
            });
        let is_total = named.as_deref().is_some_and(is_total);
        let is_extreme = named.as_deref().is_some_and(|it| EXTREMES.contains(&it));
        let totals = of_inputs.iter().all(|cell| cell.total)
            || is_total
            || is_extreme && of_inputs.iter().all(|cell| cell.formula);
        // its inputs may be gone while its results are still there
        let holds_ours = || cells.iter().any(|cell| ours.contains(&cell.column) && !cell.formula);
        if any && totals {
            found.totals.push(row);
        } else if any && !headed_again || !any && holds_ours() && !is_total {
            found.variants.push(row);
        } else {
            found.others.push(row);
        }
    });
    found
}
