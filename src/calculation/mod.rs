//! One calculation: a checked sheet, values for its inputs, and what comes out.

mod cases;
mod cause;
mod check;
mod design;
mod draws;
mod faults;
pub(crate) mod input_text;
mod inputs;
pub(crate) mod motion;
pub(crate) mod outlier;
pub(crate) mod picture_spec;
mod results;
mod rows;
pub(crate) mod scale;
mod sensitivity;
mod sheet;
mod spread;
pub(crate) mod unused;
mod verdict;
mod worst;

pub use crate::number::{show, show_in};
pub use cases::{Case, Cases, Expectation};
pub use check::{CheckResult, Margin, Verdict, WorstCheck};
pub use design::{
    Answer, Before, Beyond, Design, FreeInput, Goal, Question, Requirement, Swept, Unmet, Which,
    asked_bound, asked_value,
};
pub use draws::{DrawResults, Sample};
pub(crate) use faults::{FAULTS, remedy_of};
pub use input_text::{digits, read, with_unit, written};
pub(crate) use input_text::{parted, plate, unsettled, with_power};
pub use inputs::{Inputs, sample};
pub use results::{Results, Setting};
pub(crate) use results::{difference, number_json};
pub use rows::{RowResults, Rows};
pub use sensitivity::{Change, Sensitivities, Sensitivity, Step};
pub use sheet::Sheet;
pub use spread::{
    Shape, Spread, has_tolerance, is_tolerance, read_with_spread, spread_of, tolerance_begins,
    tolerance_text,
};
pub(crate) use spread::{read_beside, spread_beside};
pub(crate) use verdict::{
    OPEN_VERDICTS, is_verdict_text, of_the_same_cause, verdict_text, with_questions,
};
pub(crate) use worst::enclosed;
pub use worst::{Extreme, Range, Uncertain, WorstCase};
