//! A workbook as its owner sees it, whatever file it came from.

pub(crate) mod allowed;
pub(crate) mod book;
pub(crate) mod cell;
mod disallowed;
pub(crate) mod formulas;
pub(crate) mod hidden;
pub(crate) mod legible;
pub(crate) mod look;
pub(crate) mod names;
pub(crate) mod notes;
pub(crate) mod number_format;
pub(crate) mod pieces;
pub(crate) mod position;
pub(crate) mod room;
pub(crate) mod rows;
pub(crate) mod shown;
pub(crate) mod styles;
pub(crate) mod thinned;
pub(crate) mod views;
