//! Numbers among the columns of a table that no heading names: nothing reads them, and they may be the newer ones.

use std::collections::BTreeMap;

use super::ProductLine;
use crate::diagnostic::{Diagnostic, Name};
use crate::spreadsheet::{Book, Cell, Position, Tab};

impl ProductLine {
    /// Columns without a heading, between columns that have one or next to them, in which numbers stand in rows of variants;
    /// each at its first number.
    pub(super) fn without_heading(&self, book: &Book, tab: &Tab) -> Vec<Diagnostic> {
        let heads =
            [Some(self.header), self.units].into_iter().flatten().flat_map(|row| tab.row(row));
        let headed: Vec<u32> = heads
            .filter(|entry| !entry.held().is_empty())
            .flat_map(|entry| {
                let last = tab.merged_at(entry.position).map_or(entry.position, |area| area.last);
                entry.position.column..=last.column
            })
            .collect();
        let Some((first, last)) = headed.iter().min().zip(headed.iter().max()) else {
            return Vec::new();
        };
        let asked = |column: u32| {
            // before the first heading rows are counted and named
            (*first..=last + 1).contains(&column)
                && !headed.contains(&column)
                && !self.is_own_column(column)
        };
        let mut found: BTreeMap<u32, (u32, usize)> = BTreeMap::new();
        tab.each_filled(&mut |row, cells| {
            if self.variants.binary_search(&row).is_ok() {
                for cell in cells.iter().filter(|cell| !cell.text && asked(cell.column)) {
                    found.entry(cell.column).or_insert((row, 0)).1 += 1;
                }
            }
        });
        let is_number = |(row, column): (u32, u32)| {
            !tab.keeps(row) || matches!(tab.cell(Position { row, column }), Cell::Number(_))
        };
        let found = found.into_iter().filter(|(column, (row, _))| is_number((*row, *column)));
        let caution = |(column, (row, count)): (u32, (u32, usize))| {
            let cell = Position { row, column };
            let head = Position { row: self.header, column }.name();
            let more =
                if count > 1 { format!(" and {} more below it", count - 1) } else { String::new() };
            let words = format!(
                "the number in {}{more} is not used: its column has no heading",
                cell.name()
            );
            Diagnostic::caution(Name::UnknownRow, words).at(book.place(&tab.name, cell)).remedy(format!(
                "if it counts, put it into the column of its input; if not, write into {head} what it is"
            ))
        };
        found.map(caution).collect()
    }
}
