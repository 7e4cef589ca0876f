//! The names that the owner of a workbook gave to something in it.

use super::position::Area;

/// A name that the owner of the workbook gave to something in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DefinedName {
    /// The name.
    pub name: String,
    /// The tab in which it holds; none if it holds in the whole workbook.
    pub scope: Option<String>,
    /// Whether the office program hides it.
    pub hidden: bool,
    /// Whether the office program made it for itself, such as `_xlnm.Print_Area`.
    pub built_in: bool,
    /// What it stands for.
    pub target: Target,
    /// The text of what it stands for, as it is stored.
    pub text: String,
}

/// What a defined name stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// Cells of a tab of this workbook.
    Cells {
        /// The tab.
        tab: String,
        /// The cells.
        area: Area,
    },
    /// Cells that were deleted: `#REF!`.
    Broken,
    /// Cells of a tab that the workbook does not have.
    MissingTab(String),
    /// Cells counted from wherever the name is used, because a `$` is missing.
    Relative,
    /// A constant, a formula, several areas, or another workbook.
    NotCells,
}
