//! What checking a sheet gives.

use std::sync::Arc;

use super::flat::Program;
use crate::diagnostic::Diagnostic;

/// What checking a sheet gives: the program where no error stands in the way, and every problem.
#[derive(Clone, Debug)]
pub struct Checked {
    /// The program; `None` when there is an error.
    pub program: Option<Arc<Program>>,
    /// Errors and cautions in the order of file and place.
    pub problems: Vec<Diagnostic>,
}
