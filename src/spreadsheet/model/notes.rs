//! What the owner noted at cells, whatever file it came from.

use std::sync::Arc;

use super::position::{Area, Position};

/// The notes of a tab, in the order of the rows in which they begin.
#[derive(Clone, Debug, Default)]
pub(crate) struct Notes {
    all: Arc<[(Area, String)]>,
    /// Rows of the tallest area that bears one.
    tallest: u32,
}

impl Notes {
    /// Notes as a file lists them; one may belong to an area, as that of merged cells does.
    pub(crate) fn of(mut all: Vec<(Area, String)>) -> Self {
        all.retain(|(_, text)| !text.trim().is_empty());
        all.sort();
        let rows = |area: &Area| area.last.row - area.first.row + 1;
        Self { tallest: all.iter().map(|(area, _)| rows(area)).max().unwrap_or(0), all: all.into() }
    }

    /// The notes whose cells a row has, each with the first cell that bears it.
    pub(crate) fn in_row(&self, row: u32) -> impl Iterator<Item = (Area, &str)> {
        let from = self.all.partition_point(|(at, _)| at.first.row + self.tallest <= row);
        let to = self.all.partition_point(|(at, _)| at.first.row <= row);
        let found = self.all.get(from..to).unwrap_or_default().iter();
        found.filter(move |(at, _)| at.last.row >= row).map(|(at, text)| (*at, text.as_str()))
    }

    /// The notes at a cell.
    pub(crate) fn at(&self, cell: Position) -> impl Iterator<Item = &str> {
        self.in_row(cell.row).filter(move |(at, _)| at.contains(cell)).map(|(_, text)| text)
    }
}
