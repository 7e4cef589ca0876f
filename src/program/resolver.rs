//! Where used sheets and outside tables come from; the caller says, so that checking needs no disk.

use std::sync::Arc;

use super::checked::Checked;
use super::suggest::nearest;
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::language::{Outside, Whose};

/// Finds what a sheet asks for by name.
pub trait Resolver {
    /// The sheet that a name stands for where it is asked for; who asks is seen from the place.
    ///
    /// # Errors
    /// `unknown-sheet`, `ambiguous-sheet`, and `unreadable-file` for one that is there and cannot be read.
    fn sheet(
        &self,
        whose: Whose,
        name: &str,
        place: &Place,
    ) -> Result<Arc<Source>, Box<Diagnostic>>;

    /// The group of inputs that a name stands for where it is asked for.
    ///
    /// # Errors
    /// As for a sheet.
    fn group(
        &self,
        whose: Whose,
        name: &str,
        place: &Place,
    ) -> Result<Arc<Source>, Box<Diagnostic>>;

    /// The rows of a table outside the sheet: argument and value as number texts, in order.
    ///
    /// # Errors
    /// In the reader's words, when the file or the range cannot be read.
    fn rows(&self, outside: &Outside, from: &Source) -> Result<Vec<(String, String)>, String>;
}

/// Finds and checks the sheets that a workbook or a document names.
pub trait Sheets {
    /// The sheet that a text stands for where it is asked for, checked.
    ///
    /// # Errors
    /// Why there is none: `unknown-sheet`, `ambiguous-sheet`, `unreadable-file`.
    fn checked(&self, name: &str, place: &Place) -> Result<Checked, Box<Diagnostic>>;

    /// Names of the sheets that are known.
    fn names(&self) -> Vec<String>;
}

/// No sheet is called so, wherever it was looked for; known names near it come first as a remedy, then the sheets that
/// answer it as words of a question.
#[must_use]
pub fn unknown_sheet(
    name: &str,
    known: &[String],
    answers: &[String],
    place: &Place,
) -> Box<Diagnostic> {
    let near = nearest(name, known.iter().map(String::as_str));
    let remedy = match (near.first(), answers) {
        (Some((near, _)), _) => format!("did you mean `{near}`?"),
        (None, [one]) => format!("did you mean `{one}`?"),
        (None, [first, second, ..]) => {
            format!("did you mean `{first}` or `{second}`? `standstill list {name}` shows what fits")
        }
        (None, []) => {
            "`standstill list` shows the library; a sheet of your own is a file `name.sheet` beside what asks for it, \
             or in a folder named with `--sheets`"
                .to_owned()
        }
    };
    Box::new(
        Diagnostic::error(Name::UnknownSheet, format!("no sheet is called `{name}`"))
            .at(place.clone())
            .remedy(remedy),
    )
}

/// No group is called so; known names near it come first as a remedy.
pub(crate) fn unknown_group(name: &str, known: &[String], place: &Place) -> Box<Diagnostic> {
    let remedy = match nearest(name, known.iter().map(String::as_str)).first() {
        Some((near, _)) => format!("did you mean `{near}`?"),
        None => format!(
            "a group of inputs is a file `{name}.group` beside the sheet, or in a folder named with `--sheets`"
        ),
    };
    Box::new(
        Diagnostic::error(Name::UnknownSheet, format!("no group is called `{name}`"))
            .at(place.clone())
            .remedy(remedy),
    )
}

/// A resolver that knows no sheet, for sheets that stand alone.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoResolver;

impl Resolver for NoResolver {
    fn sheet(&self, _: Whose, name: &str, place: &Place) -> Result<Arc<Source>, Box<Diagnostic>> {
        Err(unknown_sheet(name, &[], &[], place))
    }

    fn group(&self, _: Whose, name: &str, place: &Place) -> Result<Arc<Source>, Box<Diagnostic>> {
        Err(unknown_group(name, &[], place))
    }

    fn rows(&self, outside: &Outside, _: &Source) -> Result<Vec<(String, String)>, String> {
        Err(format!("no file `{}` is at hand", outside.file.value))
    }
}
