//! A result workbook that can be followed without this program: every line of the sheet as a native
//! formula over the input cells, with the value that was calculated here as its cached result.
//!
//! Tabs: results with checks and settings; the stop as a chart of speed over time, where the sheet has one;
//! the inputs with the factor and zero of each unit in sight;
//! the working, one row a line of the sheet, in coherent SI and in the reader's unit; integrals, point by
//! point; tables and preferred numbers. An integral is a sum over fixed points where that is good enough,
//! and `#N/A` as soon as it is not. A root, and any other integral, is no formula: its cell holds the
//! value, shown only while everything that it was calculated from is unchanged, and `#N/A` afterwards, so
//! that no figure is silently old.

mod cells;
mod constant;
mod express;
mod front;
mod inputs;
mod integrals;
mod plan;
mod stop;
mod tables;
mod working;
mod worst;

use rust_xlsxwriter::XlsxError;

use super::cell_formats::{Paper, fresh, internal};
use crate::calculation::{Results, WorstCase};
use crate::diagnostic::Diagnostic;
use crate::report::Release;
use plan::Plan;

pub(super) use constant::{Term, factor, literal};
pub(super) use express::{binary, power, unary};

/// The bytes of a fresh `.xlsx` workbook with the results of one calculation as live formulas.
///
/// The same results make the same bytes. Where inputs have tolerances the worst case is on a tab of its own, as of
/// [`worst_book`]: whether settings may be set depends on it.
///
/// # Errors
/// `ours` if the workbook cannot be written.
///
/// # Example
/// ```
/// use standstill::{Sheet, workbook::result_book};
/// let sheet = Sheet::library("ramp-stop")?;
/// let mut inputs = sheet.inputs();
/// inputs.fill_with_examples();
/// let bytes = result_book(&sheet.run(&inputs)?)?;
/// assert_eq!(bytes.get(..2), Some(b"PK".as_slice()));
/// # Ok::<(), standstill::Problems>(())
/// ```
pub fn result_book(results: &Results) -> Result<Vec<u8>, Diagnostic> {
    let release = Release::of(results);
    let worst = release.worst().and_then(|worst| worst.as_ref().ok());
    written(results, &release, worst).map_err(|problem| internal(&problem))
}

/// As [`result_book`], with a tab for the worst case: each result as given, at its lowest and at its highest,
/// what brings these about, and how each check comes out over the tolerances.
///
/// A bound is no formula: it is shown while every input is as it was, and `#N/A` afterwards.
///
/// # Errors
/// `ours` if the workbook cannot be written.
///
/// # Example
/// ```
/// use standstill::{Sheet, calculation::WorstCase, workbook::worst_book};
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("J", "2 kg·m² ± 5 %"), ("n_0", "1500 r/min"), ("T_0", "4 N·m ± 0.5 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let worst = WorstCase::compute(sheet.program(), &inputs)?;
/// let bytes = worst_book(&worst)?;
/// assert_eq!(bytes.get(..2), Some(b"PK".as_slice()));
/// # Ok::<(), standstill::Problems>(())
/// ```
pub fn worst_book(worst: &WorstCase) -> Result<Vec<u8>, Diagnostic> {
    let release = Release::of_worst(worst);
    written(worst.nominal(), &release, Some(worst)).map_err(|problem| internal(&problem))
}

fn written(
    results: &Results,
    release: &Release,
    worst_case: Option<&WorstCase>,
) -> Result<Vec<u8>, XlsxError> {
    let plan = Plan::new(results);
    let paper = Paper::new();
    let title = results.program().scopes.first().map_or("", |scope| scope.title.as_str());
    let mut book = fresh(title)?;
    let decided = Decided { release, worst: worst_case };
    front::write(book.add_worksheet(), &plan, &decided, &paper)?;
    if let Some(worst_case) = worst_case {
        worst::write(book.add_worksheet(), &plan, worst_case, release, &paper)?;
    }
    if let Some(stop) = stop::find(&plan) {
        stop::write(book.add_worksheet(), &stop, &paper)?;
    }
    inputs::write(book.add_worksheet(), &plan, &paper)?;
    working::write(book.add_worksheet(), &plan, &paper)?;
    if !plan.integrals.is_empty() {
        integrals::write(book.add_worksheet(), &plan, &paper)?;
    }
    if !plan.tables.is_empty() || !plan.decades.is_empty() {
        tables::write(book.add_worksheet(), &plan, &paper)?;
    }
    book.save_to_buffer()
}

/// Whether settings may be set, and the worst case that has a tab.
struct Decided<'a> {
    release: &'a Release,
    worst: Option<&'a WorstCase>,
}

impl Decided<'_> {
    /// Whether nothing but the examples among the inputs keeps its settings back.
    fn of_examples(&self) -> bool {
        self.release.granted() && !self.release.may_be_set()
    }

    /// Whether tolerances have a part in it.
    fn tolerated(&self, results: &Results) -> bool {
        let stated = self.worst.is_some_and(|worst| !worst.uncertain().is_empty());
        stated || self.release.worst().is_some() || (results.holds() && !self.release.granted())
    }
}

/// What stands above the figures of every tab: what it is, and a line about it.
fn heading(
    tab: &mut rust_xlsxwriter::Worksheet,
    paper: &Paper,
    title: &str,
    about: &str,
) -> Result<(), XlsxError> {
    tab.write_string_with_format(0, 0, title, &paper.title)?;
    tab.set_row_height(0, 22)?;
    tab.write_string_with_format(1, 0, about, &paper.name)?;
    Ok(())
}
