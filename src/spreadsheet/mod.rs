//! Spreadsheet files as files: read, streamed, spliced in place. Nothing here knows a calculation.
//!
//! [`Book::read`] turns the bytes of a file into tabs of [`Cell`]s; [`write_cells`] puts values into single
//! cells of the same bytes and leaves everything else as it was, byte for byte.

mod formula;
mod model;
mod read;
pub(crate) mod write;

pub(crate) use formula::ends;
pub(crate) use formula::link::{link, relative};
pub(crate) use formula::rests;
pub(crate) use formula::terms;
pub(crate) use formula::value::{Value, worth};
pub(crate) use formula::{Mention, TOTAL_WORDS, is_number, mentions, shifted};
pub use model::book::{Book, Entry, Form, Tab, TabKind, Visibility};
pub use model::cell::Cell;
pub use model::names::{DefinedName, Target};
pub use model::position::{Area, COLUMNS, Position, ROWS};
pub use model::rows::table_rows;
pub(crate) use model::{legible, shown, views};
pub(crate) use read::delimited::wider_than_headings;
pub(crate) use read::foreign::is_careful;
pub(crate) use read::is_workbook;
pub use read::stream::outline::RowBook;
pub use read::{Reading, guard};
pub use write::{
    Allow, Change, Edit, NewValue, RowsWritten, Stale, Written, write_cells, write_fields,
};
