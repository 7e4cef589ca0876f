//! Where used sheets and outside tables come from; the caller says, so that checking needs no disk.

use std::sync::Arc;

use crate::diagnostic::Source;
use crate::language::Outside;

/// Finds what a sheet asks for by name.
pub trait Shelf {
    /// The text of a sheet by name; `from` is the sheet that asks.
    fn sheet(&self, name: &str, from: &Source) -> Option<Arc<Source>>;

    /// Names of all sheets that can be used, for suggestions.
    fn names(&self) -> Vec<String>;

    /// The rows of a table outside the sheet: argument and value as number texts, in order.
    ///
    /// # Errors
    /// In the reader's words, when the file or the range cannot be read.
    fn rows(&self, outside: &Outside, from: &Source) -> Result<Vec<(String, String)>, String>;
}

/// A shelf with nothing on it, for sheets that stand alone.
#[derive(Clone, Copy, Debug, Default)]
pub struct EmptyShelf;

impl Shelf for EmptyShelf {
    fn sheet(&self, _: &str, _: &Source) -> Option<Arc<Source>> {
        None
    }

    fn names(&self) -> Vec<String> {
        Vec::new()
    }

    fn rows(&self, outside: &Outside, _: &Source) -> Result<Vec<(String, String)>, String> {
        Err(format!("no file `{}` is at hand", outside.file.value))
    }
}
