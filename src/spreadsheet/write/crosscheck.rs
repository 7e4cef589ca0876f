//! What the cells of a tab hold, taken together in one number, so that two readings can be compared
//! without keeping either.

use std::hash::{DefaultHasher, Hasher};
use std::io::Cursor;

use calamine::{DataRef, Reader, Xlsx, XlsxError};

use super::NewValue;
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::position::Position;

/// A sum over cells that does not depend on their order. Texts count as texts only, unless they are ours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Checksum(u64);

impl Checksum {
    /// A single cell of the owner.
    pub(super) fn one(cell: Position, held: &Cell) -> Self {
        let mut one = Self::default();
        one.add(cell, held);
        one
    }

    /// A cell of the owner.
    fn add(&mut self, cell: Position, held: &Cell) {
        match held {
            Cell::Empty => {}
            Cell::Number(number) => self.put(cell, 1, bits(*number)),
            Cell::Truth(truth) => self.put(cell, 2, u64::from(*truth)),
            // readers differ on spaces at the ends
            Cell::Text(text) if text.trim().is_empty() => {}
            Cell::Text(_) => self.put(cell, 3, 0),
            // of an error that the library does not know it does not say where it stands
            Cell::Error(_) => {}
            Cell::Date(_) => self.put(cell, 4, 0),
        }
    }

    /// A cell that was written.
    pub(super) fn add_written(&mut self, cell: Position, value: &NewValue) {
        match value {
            NewValue::Text(text) => self.text(cell, text),
            other => self.add(cell, &other.as_cell()),
        }
    }

    fn text(&mut self, cell: Position, text: &str) {
        if text.is_empty() {
            return;
        }
        let mut sum = DefaultHasher::new();
        // a reader of XML makes one line end of every kind
        sum.write(text.replace("\r\n", "\n").as_bytes());
        self.put(cell, 5, sum.finish());
    }

    fn put(&mut self, cell: Position, kind: u64, content: u64) {
        let place = u64::from(cell.row) << 20 | u64::from(cell.column) << 4 | kind;
        self.0 = self.0.wrapping_add(mixed(mixed(place) ^ content));
    }

    pub(super) fn join(&mut self, other: Self) {
        self.0 = self.0.wrapping_add(other.0);
    }

    /// What a tab holds by the library that reads workbooks. Cells that `passed_over` names do not count;
    /// of those that `written` names, texts count letter by letter.
    pub(super) fn by_library(
        bytes: &[u8],
        tab: &str,
        passed_over: &dyn Fn(Position) -> bool,
        written: &dyn Fn(Position) -> bool,
    ) -> Result<Self, String> {
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(|error| error.to_string())?;
        let mut cells = book.worksheet_cells_reader(tab).map_err(|error| error.to_string())?;
        let mut held = Self::default();
        loop {
            let next = match cells.next_cell() {
                Ok(Some(next)) => next,
                Ok(None) => break,
                Err(XlsxError::CellError(_)) => continue,
                Err(error) => return Err(error.to_string()),
            };
            let (row, column) = next.get_position();
            let cell = Position { row, column };
            if !passed_over(cell) {
                held.add_read(cell, next.get_value(), written(cell));
            }
        }
        Ok(held)
    }

    /// A cell as the library reads it, its text letter by letter if it is ours.
    pub(super) fn add_read(&mut self, cell: Position, value: &DataRef<'_>, ours: bool) {
        match *value {
            DataRef::Empty | DataRef::Error(_) => {}
            #[allow(clippy::cast_precision_loss, reason = "a cell holds no more than a double")]
            DataRef::Int(number) => self.put(cell, 1, bits(number as f64)),
            DataRef::Float(number) if number.is_finite() => self.put(cell, 1, bits(number)),
            DataRef::DateTime(ref date) => self.put(cell, 1, bits(date.as_f64())),
            DataRef::Float(_) => self.put(cell, 3, 0),
            DataRef::String(ref text) if ours => self.text(cell, text),
            DataRef::SharedString(text) if ours => self.text(cell, text),
            DataRef::String(ref text) if text.trim().is_empty() => {}
            DataRef::SharedString(text) if text.trim().is_empty() => {}
            DataRef::String(_) | DataRef::SharedString(_) => self.put(cell, 3, 0),
            DataRef::Bool(truth) => self.put(cell, 2, u64::from(truth)),
            DataRef::DateTimeIso(_) | DataRef::DurationIso(_) => self.put(cell, 4, 0),
        }
    }
}

fn bits(number: f64) -> u64 {
    // minus zero is zero
    (number + 0.0).to_bits()
}

/// Spreads the bits of a number over all 64: the finisher of SplitMix64 (public domain, from memory).
fn mixed(number: u64) -> u64 {
    let number = (number ^ number >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let number = (number ^ number >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
    number ^ number >> 31
}
