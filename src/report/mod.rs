//! A calculation as a report: rows that are typed once, and small renderers that set them out.
//!
//! What is said of a figure, a check, a worst case or a sheet is decided in its row. The terminal, JSON, Markdown,
//! the page of a review and a result workbook differ only in how they set it out: [`text`], [`markdown`] and
//! `json` take a [`Table`] or a row, the page adds what follows an input.

mod checks;
mod examples;
mod figures;
mod identity;
pub mod markdown;
mod release;
mod remarks;
mod sensitivities;
mod sheets;
mod steps;
mod table;
pub mod text;
mod worst;

pub(crate) use checks::AT_THE_VALUES_GIVEN;
pub use checks::{Check, checks, checks_json, checks_table, explanations};
pub(crate) use examples::{
    EXAMPLES, LEFT, LEFT_OUT, as_in_example, left, of_no_machine, of_no_machine_text,
};
pub use examples::{examples_text, examples_words, left_as_examples, not_your_machine};
pub(crate) use figures::decisive;
pub use figures::{Figure, figures, figures_table, settings_table};
pub use identity::{Identity, sha256};
pub(crate) use release::WHY;
pub use release::{Foundation, NOT_TO_BE_SET, Release};
pub use remarks::{Remark, remarks, remarks_json};
pub(crate) use sensitivities::{Influence, UNMOVED, influences};
pub use sensitivities::{
    SENSITIVITY, sensitivities_json, sensitivities_table, slope_json, slope_text, step_text,
};
pub(crate) use sheets::to_text;
pub use sheets::{
    Default, calculated, cautions, defaults, defaults_json, defaults_of_used, defaults_text,
    defaults_without, document, heading, identities, results_json, sources,
};
pub use steps::{StepRow, as_json as steps_json, as_text as steps_text, idle_text, worked};
pub use table::{Column, Table};
pub use worst::{End, Extent, Tolerated, WorstCaseReport, tolerance, worst_json};

/// What every report says once, in plain words.
pub const DISCLAIMER: &str = "These figures are a calculation. A competent person checks them, measured stops on the real machine \
confirm them, and the edition of the standard and the local rules in force come before them.";

/// The version of the form in which JSON comes: it rises when a key changes its meaning or goes.
pub const JSON_FORMAT: u32 = 2;
