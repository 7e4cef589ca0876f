//! Text → tree → program → numbers → results.

pub mod diagnostic;
pub mod language;
pub mod number;
pub mod program;
pub mod unit;
pub mod workbook;
