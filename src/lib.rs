//! Text → tree → program → numbers → results.
//!
//! A sheet is text; [`language`] makes a tree of it, [`program`] checks names, kinds and units once and makes
//! a flat program, [`number`] runs it on exact decimals or on columns of f64, and [`calculation`] gives typed
//! results, or every problem with its place.
//!
//! ```
//! use standstill::Sheet;
//! use uom::si::f64::{Length, Time};
//! use uom::si::{length::millimeter, time::millisecond};
//!
//! let sheet = Sheet::parse(
//!     "guard.sheet",
//!     "sheet guard\n\
//!      title \"How far people are kept away\"\n\
//!      source \"ISO 13855:2010, 5: S = K·T + C\"\n\
//!      takes\n\
//!      \x20 T : time in ms above 0 ms\n\
//!      \x20 C : length in mm = 850 mm from 0 mm\n\
//!      works\n\
//!      \x20 S = 1600 mm/s * T + C rounded up to 5 mm\n\
//!      gives\n\
//!      \x20 S in mm\n",
//! )?;
//! let mut inputs = sheet.inputs();
//! inputs.set("T", Time::new::<millisecond>(201.0))?;
//! let distance: Length = sheet.run(&inputs)?.get("S")?;
//! // 1600 · 0.201 + 850 = 1171.6
//! assert_eq!(distance.get::<millimeter>().round(), 1175.0);
//! # Ok::<(), standstill::Problems>(())
//! ```
//!
//! # Features
//! `cli` (the default) builds the terminal program and all below it, `editor` what an editor asks, `review` documents
//! that carry their calculations, `workbook` workbooks to read, fill and write. Without any of them the crate checks and runs
//! sheets; a table in a file is then an error.

#![cfg_attr(
    not(feature = "cli"),
    allow(dead_code, unused_imports, reason = "what only the terminal program and the pages use")
)]

#[doc(hidden)]
pub mod calculation;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod command;
#[doc(hidden)]
pub mod diagnostic;
#[cfg(feature = "editor")]
mod editor;
mod elementary;
#[doc(hidden)]
pub mod environment;
#[doc(hidden)]
pub mod language;
#[doc(hidden)]
pub mod library;
#[doc(hidden)]
pub mod number;
#[doc(hidden)]
pub mod program;
#[doc(hidden)]
pub mod project;
#[cfg(feature = "workbook")]
#[doc(hidden)]
pub mod recording;
#[doc(hidden)]
pub mod report;
#[cfg(feature = "review")]
#[doc(hidden)]
pub mod review;
#[cfg(feature = "workbook")]
#[doc(hidden)]
pub mod spreadsheet;
#[doc(hidden)]
pub mod unit;
#[cfg(feature = "workbook")]
#[doc(hidden)]
pub mod workbook;

#[doc(inline)]
pub use calculation::{
    Answer, Change, CheckResult, Design, Extreme, Inputs, Margin, Question, Range, Results,
    RowResults, Rows, Sensitivities, Sensitivity, Setting, Sheet, Verdict, WorstCase, WorstCheck,
};
#[doc(inline)]
pub use diagnostic::{Diagnostic, Problems};
#[doc(inline)]
pub use unit::Unit;
pub use uom;

/// What stands behind the public face: language, compiler, number systems, workbooks, pages. It changes with every version.
pub mod unstable {
    #[cfg(feature = "cli")]
    #[doc(inline)]
    pub use crate::command;
    #[cfg(feature = "review")]
    #[doc(inline)]
    pub use crate::review;
    #[doc(inline)]
    pub use crate::{
        calculation, diagnostic, environment, language, library, number, program, project, report,
        unit,
    };
    #[cfg(feature = "workbook")]
    #[doc(inline)]
    pub use crate::{recording, spreadsheet, workbook};
}

/// The README's programs, so that they are compiled and run.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
pub struct Readme;
