//! Laws that hold for random values.

mod along;
mod angles;
mod arms;
mod bounds;
mod cases;
mod conversions;
mod decimals;
mod defaults;
mod design;
mod fifth_system;
mod groups;
mod hidden;
mod language;
mod mistyped;
mod physics;
mod plates;
mod programs;
mod remedies;
mod repeat;
mod rounding;
mod sheet;
mod slopes;
mod stops;
mod symbols;
mod ties;
mod units;
