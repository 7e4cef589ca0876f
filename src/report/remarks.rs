//! What a run has to say beside its figures: the one list that every door shows the whole of.
//!
//! A door prints it as text, as lines of cells or as JSON. A new kind of remark is put in here; a product line, which says
//! what is so of many rows in one line, puts its list together in `command/range.rs`, and takes the new kind up there.

use serde_json::{Value, json};

use super::examples::{as_in_example, not_your_machine};
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Diagnostic, Name, render_json, render_long};

/// One thing that a run says beside its figures.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// From which book, variant and row the inputs come, and which were typed in the place of those there.
    Origin(String),
    /// Inputs that are the sheet's examples, or may have been left so.
    Examples(String),
    /// A question, a caution, how something was read.
    Said(Diagnostic),
}

/// What is said of some inputs, and of what came out where something did.
#[must_use]
pub fn remarks(inputs: &Inputs, results: Option<&Results>) -> Vec<Remark> {
    let examples = [not_your_machine(inputs), as_in_example(inputs)];
    let examples = examples.into_iter().filter(|words| !words.is_empty()).map(Remark::Examples);
    let unused = results.map(Results::unused).unwrap_or_default();
    let said = inputs.plates().into_iter().chain(inputs.said_of_origin().iter().cloned());
    let said = said.chain(unused).chain(inputs.questions()).map(Remark::Said);
    inputs.origin_text().map(Remark::Origin).into_iter().chain(examples).chain(said).collect()
}

impl Remark {
    /// As a person reads it.
    #[must_use]
    pub fn to_text(&self) -> String {
        match self {
            Self::Origin(words) | Self::Examples(words) => words.clone(),
            Self::Said(problem) if problem.name == Name::PlateNotation => {
                format!("note: {}", problem.headline)
            }
            Self::Said(problem) => render_long(problem),
        }
    }

    /// In one line, for a cell.
    #[must_use]
    pub fn to_line(&self) -> String {
        match self {
            Self::Said(problem)
                if problem.remedy.is_empty() || problem.name == Name::PlateNotation =>
            {
                problem.headline.clone()
            }
            Self::Said(problem) => format!("{}; {}", problem.headline, problem.remedy),
            words => words.to_text(),
        }
    }

    /// For a program.
    #[must_use]
    pub fn to_json(&self) -> Value {
        let words = |name: &str, words: &str| json!({ "severity": "note", "name": name, "headline": words });
        match self {
            Self::Origin(it) => words("inputs-from", it),
            Self::Examples(it) => words("examples", it),
            Self::Said(problem) => render_json(problem),
        }
    }
}

/// The whole list for a program.
#[must_use]
pub fn remarks_json(remarks: &[Remark]) -> Value {
    remarks.iter().map(Remark::to_json).collect()
}
