//! Values calculated by other programs; the script beside each file of values says which.

mod bounds_and_slopes;
mod functions;
mod notation;
mod preferred;
mod searches;
mod typed_quantities;
mod units_by_pint;
mod units_by_uom;
