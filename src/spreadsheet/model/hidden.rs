//! Rows and columns of a tab that are not shown.

use std::ops::Range;

/// The rows and columns of a tab that are not shown, rising and apart.
#[derive(Clone, Debug, Default)]
pub(crate) struct Hidden {
    pub(crate) rows: Vec<Range<u32>>,
    pub(crate) columns: Vec<Range<u32>>,
}

impl Hidden {
    /// Takes in rows that follow all before.
    pub(crate) fn rows(&mut self, rows: Range<u32>) {
        match self.rows.last_mut() {
            Some(last) if last.end == rows.start => last.end = rows.end,
            _ => self.rows.push(rows),
        }
    }

    pub(crate) fn row(&self, row: u32) -> bool {
        let at = self.rows.partition_point(|rows| rows.end <= row);
        self.rows.get(at).is_some_and(|rows| rows.contains(&row))
    }

    pub(crate) fn column(&self, column: u32) -> bool {
        self.columns.iter().any(|columns| columns.contains(&column))
    }
}
