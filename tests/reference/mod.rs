//! Checks against definitions, other programs' numbers and the trade's notation.

mod notation;
mod typed_quantities;
mod units_by_pint;
mod units_by_uom;
