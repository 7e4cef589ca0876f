//! Laws that hold for random values.

mod bounds;
mod decimals;
mod programs;
mod sheet;
mod ties;
mod units;
