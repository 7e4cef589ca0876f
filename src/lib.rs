//! Text → tree → program → numbers → results.

pub mod calculation;
pub mod command;
pub mod diagnostic;
pub mod language;
pub mod library;
pub mod number;
pub mod program;
pub mod review;
pub mod surroundings;
pub mod unit;
pub mod workbook;

pub use calculation::{Inputs, Results, Sheet};
