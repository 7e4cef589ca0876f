//! Texts of several pieces that look different: joined, they say something else than what a person sees.

use std::collections::{BTreeMap, BTreeSet};

/// Texts of a workbook that their looks change.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pieces {
    /// A part of them is struck through.
    pub(crate) struck: BTreeSet<String>,
    /// A part of them is raised: as they are shown.
    pub(crate) raised: BTreeMap<String, String>,
}
