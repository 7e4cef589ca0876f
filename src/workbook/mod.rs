//! What a workbook asks for, worked out and written back: our conventions on top of [`crate::spreadsheet`].
//!
//! [`bind()`] finds out what the workbook asks for, [`work_out`] works it out.

mod bind;
mod fill;
mod form;
mod formulas;
mod fresh;
mod hidden;
mod order;
mod owners;
mod paper;
pub mod range;
mod tabs;

pub use bind::{
    Bound, CellAt, End, Label, Part, ReadCell, Request, Target as ResultCell, Wanted, bind, label,
};
pub use fill::{Calculated, Filling, Options, ReadBy, Unfilled, work_out, work_out_with};
pub use form::{FormOptions, form, form_asking};
pub use formulas::{result_book, worst_book};
pub use fresh::fresh_copy;
pub use tabs::{FreeTab, tabs_and_form};
