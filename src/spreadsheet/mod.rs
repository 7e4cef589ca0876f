//! Spreadsheet files as files: read, streamed, spliced in place. Nothing here knows a calculation.
//!
//! [`Book::read`] turns the bytes of a file into tabs of [`Cell`]s; [`write_cells`] puts values into single
//! cells of the same bytes and leaves everything else as it was, byte for byte.

mod archive;
mod book;
mod cell;
mod delimited;
mod formula;
pub mod guard;
mod hidden;
mod layout;
mod number_format;
mod ods;
mod plain_cell;
mod position;
mod rows;
mod sheet;
pub(crate) mod shown;
pub(crate) mod stream;
mod styles;
mod tables;
pub(crate) mod write;
mod xlsb;
mod xml;

pub(crate) use book::is_careful;
pub use book::{Book, Entry, Form, Reading, Tab, TabKind, Visibility};
pub use cell::Cell;
pub(crate) use delimited::wider_than_headings;
pub use layout::{DefinedName, Target};
pub use position::{Area, COLUMNS, Position, ROWS};
pub use rows::table_rows;
pub use stream::outline::RowBook;
pub use write::{
    Allow, Change, Edit, NewValue, RowsWritten, Stale, Written, write_cells, write_fields,
};
