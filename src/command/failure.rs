//! How a command ends that could not do what was asked.

use super::ExitStatus;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};

/// How a command ends.
pub(super) type Ending = Result<ExitStatus, Failure>;

/// Problems for which a command gave up.
#[derive(Debug)]
pub(super) struct Failure {
    pub(super) problems: Problems,
    pub(super) status: ExitStatus,
    /// Lines for a person, after the problems.
    pub(super) advice: Vec<String>,
}

impl Failure {
    fn new(problems: impl Into<Problems>, status: ExitStatus) -> Self {
        Self { problems: problems.into(), status, advice: Vec::new() }
    }

    /// What was asked for is wrong.
    pub(super) fn input(problems: impl Into<Problems>) -> Self {
        Self::new(problems, ExitStatus::WrongInput)
    }

    /// A sheet is wrong.
    pub(super) fn sheet(problems: impl Into<Problems>) -> Self {
        Self::new(problems, ExitStatus::WrongSheet)
    }

    /// A file could not be read or written.
    pub(super) fn file(problems: impl Into<Problems>) -> Self {
        Self::new(problems, ExitStatus::File)
    }

    /// Recordings cannot be evaluated: a file of them cannot be read, or what it holds is wrong.
    pub(super) fn recordings(problems: Problems) -> Self {
        let file = |it: &Diagnostic| {
            it.name == Name::UnreadableFile && matches!(it.place, Some(Place::File { .. }))
        };
        if problems.iter().any(file) { Self::file(problems) } else { Self::input(problems) }
    }

    /// A workbook cannot be worked on: a sheet that it asks for is wrong, or something in it.
    pub(super) fn workbook(problems: impl Into<Problems>, sheet_is_wrong: bool) -> Self {
        if sheet_is_wrong { Self::sheet(problems) } else { Self::input(problems) }
    }
}
