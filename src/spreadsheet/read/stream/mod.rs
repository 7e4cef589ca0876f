//! A tab read row by row, in pieces of whole rows: memory does not grow with them.
//!
//! `pieces` cuts the text of a part, `lines` a plain text, `values` reads the cells of a piece, `outline`
//! keeps of a workbook what a search for a table needs, `in_order` works on many pieces side by side.

pub(crate) mod in_order;
pub(crate) mod lines;
pub(crate) mod outline;
pub(crate) mod pieces;
pub(crate) mod values;
