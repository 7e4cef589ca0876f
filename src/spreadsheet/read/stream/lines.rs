//! A plain text in pieces of whole rows.

use crate::spreadsheet::model::position::Position;
use crate::spreadsheet::read::delimited::{Text, row_end};

/// A plain text whose rows are read one after the other.
pub(crate) struct Lines<'a> {
    pub(crate) text: Text<'a>,
    /// The first cell whose text an office program would run.
    pub(crate) runs: Option<Position>,
}

/// Whole rows with their line ends.
#[derive(Clone, Copy)]
pub(crate) struct Stretch<'a> {
    pub(crate) text: &'a str,
    /// Its first row.
    pub(crate) first: u32,
}

/// Cuts a text into pieces.
pub(crate) struct Stretches<'a> {
    text: Text<'a>,
    at: usize,
    row: u32,
}

impl<'a> Stretches<'a> {
    pub(crate) fn of(text: Text<'a>) -> Self {
        Self { text, at: 0, row: 0 }
    }

    /// The rows up to and with `last`; without it, rows of so many bytes or a little more. None behind
    /// the last row.
    pub(crate) fn next(&mut self, last: Option<u32>, size: usize) -> Option<Stretch<'a>> {
        let Text { body, separator, .. } = self.text;
        let (from, first) = (self.at, self.row);
        while self.at < body.len() && last.map_or(self.at - from < size, |last| self.row <= last) {
            self.at = row_end(body, self.at, separator, &mut |_| {});
            self.row += 1;
        }
        let text = body.get(from..self.at).filter(|_| from < body.len())?;
        Some(Stretch { text, first })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_end_with_the_rows_that_are_asked_for() {
        let text = Text::of("a.csv", b"a,b\r\n\"1\n2\",3\r\n\r\n4\n5", false).unwrap();
        let mut pieces = Stretches::of(text);
        let mut next = |last| pieces.next(last, 1).map(|piece| (piece.text, piece.first));
        assert_eq!(next(Some(1)), Some(("a,b\r\n\"1\n2\",3\r\n", 0)));
        assert_eq!(next(None), Some(("\r\n", 2)));
        assert_eq!(next(Some(9)), Some(("4\n5", 3)));
        assert_eq!(next(None), None);
    }
}
