//! The library of sheets that is part of the binary.

use std::sync::Arc;

mod search;

pub(crate) use search::client_index;
pub use search::{Match, search, search_with, unknown_words};

use crate::diagnostic::{Origin, Source};

/// A sheet of the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LibrarySheet {
    /// Step of the job: the folder it stands in.
    pub group: &'static str,
    /// Name.
    pub name: &'static str,
    /// Text.
    pub text: &'static str,
}

/// All sheets of the library, sorted by group and name.
pub static SHEETS: &[LibrarySheet] = include!(concat!(env!("OUT_DIR"), "/sheets.rs"));

/// The groups of inputs that sheets of the library take, likewise.
pub static INPUTS: &[LibrarySheet] = include!(concat!(env!("OUT_DIR"), "/groups.rs"));

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
    let found = SHEETS.iter().find(|sheet| sheet.name == name)?;
    Some(Source::of(format!("{name}.sheet"), Origin::Library, found.text))
}

/// A group of inputs of the library by name.
#[must_use]
pub fn inputs(name: &str) -> Option<Arc<Source>> {
    let found = INPUTS.iter().find(|group| group.name == name)?;
    Some(Source::of(format!("{name}.group"), Origin::Library, found.text))
}
