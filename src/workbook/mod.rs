//! Workbooks: read, bind, fill in place, write fresh.
//!
//! [`Book::read`] turns the bytes of a file into tabs of [`Cell`]s; [`write_cells`] puts values into
//! single cells of the same bytes and leaves everything else as it was, byte for byte;
//! [`store`] is the only place that touches the disk.

mod archive;
mod book;
mod cell;
mod delimited;
mod formula;
pub mod guard;
mod layout;
mod number_format;
mod ods;
mod position;
mod sheet;
pub mod store;
mod styles;
mod write;
mod xml;

pub use book::{Book, Entry, Form, Reading, Tab, TabKind, Visibility};
pub use cell::Cell;
pub use layout::{DefinedName, Target};
pub use position::{Area, COLUMNS, Position, ROWS};
pub use write::{Allow, Change, Edit, NewValue, Stale, Written, write_cells};
