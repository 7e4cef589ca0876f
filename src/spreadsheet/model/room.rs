//! How much room a tab leaves to what its cells show: widths and heights, what lies over them, what is printed, what its
//! owner allows.

use std::ops::Range;

use super::allowed::Allowed;
use super::position::Area;

/// The layout of a tab; what is not said is as the program chooses.
#[derive(Clone, Debug, Default)]
pub(crate) struct Room {
    /// Columns whose width is said, in digits of the common letters, without their margins.
    pub(crate) columns: Vec<(Range<u32>, f64)>,
    /// The width of all others.
    pub(crate) column: Option<f64>,
    /// Rows whose height is said, in points, rising and apart.
    pub(crate) rows: Vec<(Range<u32>, f64)>,
    /// The height of all others.
    pub(crate) row: Option<f64>,
    /// What pictures, charts and filled shapes cover.
    pub(crate) covered: Vec<Area>,
    /// What is printed of the tab; all of it if nothing is said.
    pub(crate) printed: Vec<Area>,
    /// What the owner allows in cells.
    pub(crate) allowed: Vec<Allowed>,
}

/// The width of a column and the height of a row of which nothing is said; common practice, no source.
const COLUMN: f64 = 8.43;
const ROW: f64 = 15.0;

impl Room {
    /// Takes in the height of a row that follows all before.
    pub(crate) fn height(&mut self, row: u32, points: f64) {
        match self.rows.last_mut() {
            Some((rows, known)) if rows.end == row && *known == points => rows.end += 1,
            _ => self.rows.push((row..row + 1, points)),
        }
    }

    /// Takes in the heights of rows that follow all before.
    pub(crate) fn heights(&mut self, rows: Vec<(Range<u32>, f64)>) {
        for (rows, points) in rows {
            match self.rows.last_mut() {
                Some((last, known)) if last.end == rows.start && *known == points => {
                    last.end = rows.end;
                }
                _ => self.rows.push((rows, points)),
            }
        }
    }

    /// The width of a column in digits.
    pub(crate) fn width_of(&self, column: u32) -> f64 {
        let said = self.columns.iter().find(|(columns, _)| columns.contains(&column));
        said.map(|(_, width)| *width).or(self.column).unwrap_or(COLUMN)
    }

    /// The height of a row in points, where it is said: else the program makes the row as high as it must be.
    pub(crate) fn stated_height(&self, row: u32) -> Option<f64> {
        let at = self.rows.partition_point(|(rows, _)| rows.end <= row);
        let said = self.rows.get(at).filter(|(rows, _)| rows.contains(&row));
        said.map(|(_, points)| *points).or(self.row)
    }

    /// The height of a row in points, that of a row of one line where nothing is said.
    pub(crate) fn height_of(&self, row: u32) -> f64 {
        self.stated_height(row).unwrap_or(ROW)
    }
}
