//! Laws that hold for random values.

mod decimals;
mod language;
mod physics;
mod programs;
mod sheet;
mod ties;
mod units;
