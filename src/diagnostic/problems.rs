//! The one error type of the crate: every problem of a calculation at once.

use std::error::Error;
use std::fmt;
use std::ops::Deref;

use super::{Diagnostic, render_long};

/// Every problem that was found, in the order of its places; it can be looped over, printed and handed on by `?`.
///
/// [`fmt::Display`] gives what a person reads, each problem with its place and its remedy.
///
/// # Example
/// ```
/// use standstill::{Problems, Sheet};
/// let problems: Problems = Sheet::library("run-downn").unwrap_err();
/// assert_eq!(problems.len(), 1);
/// assert!(problems.to_string().starts_with("error"));
/// let boxed: Box<dyn std::error::Error> = problems.into();
/// # drop(boxed);
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Problems(Vec<Diagnostic>);

impl Problems {
    /// The problems as a list.
    #[must_use]
    pub fn into_vec(self) -> Vec<Diagnostic> {
        self.0
    }
}

impl Deref for Problems {
    type Target = [Diagnostic];

    fn deref(&self) -> &Self::Target {
        &self.0
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, problem) in self.0.iter().enumerate() {
            let gap = if at > 0 { "\n" } else { "" };
            write!(f, "{gap}{}", render_long(problem).trim_end())?;
        }
        Ok(())
    }
}

impl Error for Problems {}

impl From<Diagnostic> for Problems {
    fn from(problem: Diagnostic) -> Self {
        Self(vec![problem])
    }
}

impl From<Box<Diagnostic>> for Problems {
    fn from(problem: Box<Diagnostic>) -> Self {
        (*problem).into()
    }
}

impl From<Vec<Diagnostic>> for Problems {
    fn from(problems: Vec<Diagnostic>) -> Self {
        Self(problems)
    }
}

impl From<Problems> for Vec<Diagnostic> {
    fn from(problems: Problems) -> Self {
        problems.0
    }
}

impl FromIterator<Diagnostic> for Problems {
    fn from_iter<I: IntoIterator<Item = Diagnostic>>(problems: I) -> Self {
        Self(problems.into_iter().collect())
    }
}

impl Extend<Diagnostic> for Problems {
    fn extend<I: IntoIterator<Item = Diagnostic>>(&mut self, problems: I) {
        self.0.extend(problems);
    }
}

impl IntoIterator for Problems {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'a> IntoIterator for &'a Problems {
    type Item = &'a Diagnostic;
    type IntoIter = std::slice::Iter<'a, Diagnostic>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}
