//! One calculation: a checked sheet, values for its inputs, and what comes out.

mod cases;
mod cause;
mod design;
mod draws;
mod influence;
mod inputs;
pub(crate) mod pictured;
mod results;
mod rows;
mod sheet;
mod spread;
mod trouble;
mod unused;
mod verdict;
mod worst;

pub use crate::number::{show, show_in};
pub use cases::{Case, Cases, Expectation};
pub use design::{
    Answer, Before, Beyond, Broken, By, Design, Question, Swept, Wanted, Which, Wish, asked_bound,
    asked_value,
};
pub use draws::{Drawn, Sample};
pub use influence::{Change, Influence, Influences, Step};
pub(crate) use inputs::plate;
pub use inputs::{Inputs, digits, read, sample, with_unit, written};
pub(crate) use results::difference;
pub use results::{CheckResult, Margin, Results, Setting};
pub use rows::{RowResults, Rows};
pub use sheet::Sheet;
pub use spread::{
    Shape, Spread, has_tolerance, is_tolerance, read_with_spread, spread_of, tolerance_begins,
    tolerance_in_words,
};
pub use verdict::Verdict;
pub(crate) use verdict::verdict_in_words;
pub(crate) use worst::enclosed;
pub use worst::{Extreme, Range, Uncertain, Worst, WorstCheck};
