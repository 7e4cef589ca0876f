//! Workbooks: read, bind, fill in place, write fresh.
//!
//! [`Book::read`] turns the bytes of a file into tabs of [`Cell`]s; [`bind()`] finds out what the
//! workbook asks for, [`work_out`] works it out; [`write_cells`] puts values into single cells of the
//! same bytes and leaves everything else as it was, byte for byte; [`store`] is the only place that
//! touches the disk.

mod archive;
mod bind;
mod book;
mod cell;
mod delimited;
mod fill;
mod form;
mod formula;
mod formulas;
mod fresh;
pub mod guard;
mod hidden;
mod layout;
mod number_format;
mod ods;
mod paper;
mod plain_cell;
mod position;
pub mod range;
mod rows;
mod sheet;
pub mod store;
mod stream;
mod styles;
mod write;
mod xlsb;
mod xml;

pub use bind::{
    Bound, CellAt, End, Label, Request, Sheets, Target as ResultCell, Wanted, bind, label,
};
pub use book::{Book, Entry, Form, Reading, Tab, TabKind, Visibility};
pub use cell::Cell;
pub use fill::{Calculated, Filling, Unfilled, work_out, work_out_worst};
pub use form::{FormOptions, form};
pub use formulas::{result_book, worst_book};
pub use fresh::fresh_copy;
pub use layout::{DefinedName, Target};
pub use position::{Area, COLUMNS, Position, ROWS};
pub use rows::table_rows;
pub use stream::outline::RowBook;
pub use write::{
    Allow, Change, Edit, NewValue, RowsWritten, Stale, Written, write_cells, write_fields,
};
