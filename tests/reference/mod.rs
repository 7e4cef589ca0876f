//! Checks against definitions, other programs' numbers and the trade's notation.

mod notation;
