//! The library of sheets that is part of the binary, and the shelf that looks beside a sheet first.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::diagnostic::Source;
use crate::environment::Environment;
use crate::language::Outside;
use crate::program::Shelf;

/// A sheet of the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shelved {
    /// Step of the job: the folder it stands in.
    pub group: &'static str,
    /// Name.
    pub name: &'static str,
    /// Text.
    pub text: &'static str,
}

/// All sheets of the library, sorted by group and name.
pub static SHELVED: &[Shelved] = include!(concat!(env!("OUT_DIR"), "/shelved.rs"));

/// The groups in the order of the job.
pub const GROUPS: &[(&str, &str)] = &[
    ("inertia", "what must be stopped"),
    ("load", "what helps and what drives"),
    ("stop", "how the machine stops"),
    ("regeneration", "where the energy goes"),
    ("brake", "the mechanical brake"),
    ("duty", "how often, and how warm"),
    ("separation", "how far people must be kept away"),
    ("design", "the reverse: what would make it fit"),
    ("commissioning", "measured stops"),
];

/// A sheet of the library by name.
///
/// # Example
/// ```
/// assert!(standstill::library::sheet("run-down").is_some());
/// assert!(standstill::library::sheet("no-such-sheet").is_none());
/// ```
#[must_use]
pub fn sheet(name: &str) -> Option<Arc<Source>> {
    let found = SHELVED.iter().find(|sheet| sheet.name == name)?;
    Some(Source::new(format!("{name}.sheet"), found.text))
}

/// Looks for sheets and tables beside the asking sheet, then in the library.
#[derive(Clone, Copy)]
pub struct Shelves<'a> {
    /// Files are read through it.
    pub environment: &'a dyn Environment,
}

impl Shelves<'_> {
    fn beside(self, from: &Source, file: &str) -> Option<PathBuf> {
        // a library sheet has no folder, and looks nowhere else
        let own = Path::new(&from.name);
        if SHELVED.iter().any(|sheet| sheet.text == from.text) {
            return None;
        }
        let plain = Path::new(file);
        if plain.is_absolute()
            || plain.components().any(|part| part == std::path::Component::ParentDir)
        {
            return None;
        }
        Some(own.parent().unwrap_or(Path::new("")).join(plain))
    }
}

impl Shelf for Shelves<'_> {
    fn sheet(&self, name: &str, from: &Source) -> Option<Arc<Source>> {
        if let Some(path) = self.beside(from, &format!("{name}.sheet"))
            && let Ok(bytes) = self.environment.read(&path)
            && let Ok(text) = String::from_utf8(bytes)
        {
            return Some(Source::new(path.to_string_lossy(), text));
        }
        sheet(name)
    }

    fn names(&self) -> Vec<String> {
        SHELVED.iter().map(|sheet| sheet.name.to_owned()).collect()
    }

    fn rows(&self, outside: &Outside, from: &Source) -> Result<Vec<(String, String)>, String> {
        let file = &outside.file.value;
        let path = self.beside(from, file).ok_or_else(|| {
            format!("`{file}` must stand beside the sheet, in the same folder or below it")
        })?;
        let bytes = self.environment.read(&path).map_err(|problem| problem.headline)?;
        crate::spreadsheet::table_rows(
            file,
            &bytes,
            outside.range.as_ref().map(|range| range.value.as_str()),
        )
    }
}
