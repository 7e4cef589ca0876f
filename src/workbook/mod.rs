//! What a workbook asks for, calculated and written back: our conventions on top of [`crate::spreadsheet`].
//!
//! [`bind()`] finds out what the workbook asks for, [`compute`] calculates it.

mod bind;
mod calculated;
mod calculated_for;
mod cell_formats;
mod fill;
mod form;
mod formulas;
mod fresh;
mod hidden;
mod legible;
mod order;
mod owners;
pub mod range;
mod tabs;

pub use bind::{
    Bound, CellAt, End, Label, Part, ReadCell, Request, Target as ResultCell, TargetValue, bind,
    label,
};
pub use calculated::{Calculated, Unfilled};
pub use fill::{Filling, Options, ReadBy, compute, compute_with};
pub use form::{FormOptions, form, form_asking};
pub use formulas::{frozen_lines, result_book, result_book_refused, worst_book};
pub use fresh::fresh_copy;
pub use tabs::{FreeTab, tabs_and_form};
