//! What came of a calculation of a workbook, or why nothing did.

use super::bind::CellAt;
use crate::calculation::{Results, WorstCase};
use crate::diagnostic::{Diagnostic, Place};
use crate::report::Release;
use crate::spreadsheet::{Edit, NewValue};

/// One calculation of a workbook, calculated.
#[derive(Clone, Debug)]
pub struct Calculated {
    /// Where the workbook asks for it.
    pub place: Place,
    /// What came out.
    pub results: Results,
    /// The verdict on all of it, and whether its settings may be set.
    pub release: Release,
    /// The worst case within the tolerances, where it was asked for or inputs have tolerances.
    pub worst: Option<WorstCase>,
    /// Whether an input has a tolerance.
    pub tolerances: bool,
    /// The cells that take the results, each with the name of what it takes.
    pub cells: Vec<(String, CellAt, NewValue)>,
}

impl Calculated {
    /// Whether every check holds, over the tolerances where inputs have one.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.release.granted()
    }
}

/// Why a workbook could not be filled.
#[derive(Clone, Debug)]
pub struct Unfilled {
    /// Every problem.
    pub problems: Vec<Diagnostic>,
    /// Whether a sheet is wrong rather than the workbook.
    pub sheet_is_wrong: bool,
    /// Where results were to go.
    pub(crate) cells: Vec<CellAt>,
}

impl Unfilled {
    /// What would be written where results were to go, to be judged and not to be kept.
    pub(crate) fn trial(&self) -> Vec<Edit> {
        let edit = |cell: &CellAt| Edit::new(&cell.tab, cell.position, NewValue::Number(0.0));
        self.cells.iter().map(edit).collect()
    }
}
