//! What is known of the rows of a long tab that are not kept.

use std::ops::Range;
use std::sync::Arc;

use super::position::Area;

/// What is known of the rows of a tab that are not kept.
#[derive(Clone, Debug, Default)]
pub(crate) struct Thinned {
    pub(crate) used: Option<Area>,
    pub(crate) runs: Vec<(Range<u32>, Arc<[Filled]>)>,
}

/// A cell of a row that holds something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Filled {
    pub(crate) column: u32,
    pub(crate) text: bool,
    pub(crate) formula: bool,
    /// Whether it is a sum or the like over cells of its own column.
    pub(crate) total: bool,
}

impl Thinned {
    /// Whether a row of the tab holds anything.
    pub(crate) fn holds(&self, row: u32) -> bool {
        let at = self.runs.partition_point(|(rows, _)| rows.end <= row);
        self.runs.get(at).is_some_and(|(rows, _)| rows.contains(&row))
    }

    /// The rows from the first to the last that hold anything, with what they hold.
    pub(crate) fn rows(&self) -> impl Iterator<Item = (u32, &[Filled])> {
        let runs = self.runs.iter();
        runs.flat_map(|(rows, filled)| rows.clone().map(move |row| (row, &**filled)))
    }
}
