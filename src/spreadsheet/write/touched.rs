//! Which cells change: a bit a cell, so that a long column takes little room.

use std::collections::BTreeMap;

use crate::spreadsheet::model::position::Position;

/// Cells of the tabs of a workbook, in the order of the tabs.
#[derive(Default)]
pub(super) struct Touched(BTreeMap<(usize, u32), Vec<u64>>);

impl Touched {
    pub(super) fn insert(&mut self, tab: usize, cell: Position) {
        let (word, bit) = place(cell.row);
        let words = self.0.entry((tab, cell.column)).or_default();
        if words.len() <= word {
            words.resize(word + 1, 0);
        }
        if let Some(word) = words.get_mut(word) {
            *word |= bit;
        }
    }

    pub(super) fn contains(&self, tab: usize, cell: Position) -> bool {
        let (word, bit) = place(cell.row);
        let words = self.0.get(&(tab, cell.column));
        words.and_then(|words| words.get(word)).is_some_and(|word| word & bit != 0)
    }

    /// All of them, column by column.
    pub(super) fn iter(&self) -> impl Iterator<Item = (usize, Position)> {
        self.0.iter().flat_map(|(&(tab, column), words)| {
            words.iter().zip(0_u32..).flat_map(move |(word, at)| {
                let bits = (0..64_u32).filter(move |bit| word >> bit & 1 == 1);
                bits.map(move |bit| (tab, Position { row: 64 * at + bit, column }))
            })
        })
    }
}

fn place(row: u32) -> (usize, u64) {
    ((row / 64) as usize, 1 << (row % 64))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_put_in_comes_out_and_no_other() {
        let cells = [(0, "A1"), (0, "A64"), (0, "A65"), (0, "C1048576"), (2, "B7")];
        let mut touched = Touched::default();
        for (tab, cell) in cells {
            touched.insert(tab, Position::parse(cell).unwrap());
        }
        let found: Vec<_> = touched.iter().map(|(tab, cell)| (tab, cell.name())).collect();
        assert_eq!(found, cells.map(|(tab, cell)| (tab, cell.to_owned())));
        for (tab, cell, expected) in
            [(0, "A64", true), (1, "A64", false), (0, "A63", false), (2, "B8", false)]
        {
            assert_eq!(touched.contains(tab, Position::parse(cell).unwrap()), expected, "{cell}");
        }
    }
}
