//! Text → tree → program → numbers → results.

pub mod diagnostic;
pub mod language;
pub mod library;
pub mod number;
pub mod program;
pub mod surroundings;
pub mod unit;
pub mod workbook;
