//! Where a cell stands in the bytes of its tab.

use crate::spreadsheet::model::position::Position;

/// A cell element.
#[derive(Clone, Copy)]
pub(crate) struct CellSpan {
    pub(crate) position: Position,
    pub(crate) start: u32,
    pub(crate) tag_end: u32,
    pub(crate) end: u32,
    pub(crate) style: u32,
    pub(crate) kind: Kind,
    /// The whole value element; empty range if there is none.
    pub(crate) value: (u32, u32),
    /// Its formula among all formulas.
    pub(crate) formula: Option<u32>,
    /// Whether the value element, or the text written in place, has any content.
    pub(crate) filled: bool,
}

/// How a cell says its value is to be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Number,
    SharedText,
    InlineText,
    FormulaText,
    Truth,
    Error,
    Date,
    Unknown,
}
