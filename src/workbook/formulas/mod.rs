//! A result workbook that can be followed without this program: every line of the sheet as a native
//! formula over the input cells, with the value that was calculated here as its cached result.
//!
//! Tabs: one page with what decides, what is set and, where the sheet has a stop in it, a chart of speed over
//! time, of courses one of each value; all results and checks; the inputs, with the factor and zero of each unit in sight; the working, one row a
//! line of the sheet, in coherent SI and in the reader's unit; and, hidden, what these are made from: the points of
//! the chart, integrals point by point, tables and preferred numbers. An integral is a sum over fixed points where that is good enough,
//! and `#N/A` as soon as it is not. A root, and any other integral, is no formula: its cell holds the
//! value, shown only while everything that it was calculated from is unchanged, and `#N/A` afterwards, so
//! that no figure is silently old.

mod cells;
mod constant;
mod course;
mod express;
mod front;
mod frozen;
mod inputs;
mod integrals;
mod plan;
mod stop;
mod summary;
mod tables;
mod working;
mod worst;

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cell_formats::{Paper, fresh, internal};
use crate::calculation::{Results, WorstCase};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::report::{Identity, Release};
use crate::spreadsheet::{Book, Cell, Position};
use plan::{Plan, TabOf};

pub(super) use constant::{Term, factor, literal, words};
pub(super) use express::{binary, power, unary};

/// Why nothing is read from a workbook of results, as [`result_book`] writes it: its tabs are formulas on their own
/// inputs, and what looks like a form there is none.
#[must_use]
pub fn result_book_refused(book: &Book) -> Option<Diagnostic> {
    let first = Position { row: 0, column: 0 };
    let is_own = |tab: TabOf| match book.tab(tab.name())?.cell(first) {
        Cell::Text(text) => text.ends_with(&format!(": {}", tab.name())).then_some(()),
        _ => None,
    };
    [TabOf::Results, TabOf::Inputs, TabOf::Working].into_iter().try_for_each(is_own)?;
    let words = "this is a workbook of results, and nothing is read from one";
    let problem =
        Diagnostic::error(Name::NothingAsked, words).at(Place::File { name: book.name.clone() });
    Some(problem.remedy("type other values into the boxes of its tab `inputs`, where an office program calculates with them; for inputs that are read here begin with `standstill form SHEET -o FORM.xlsx`"))
}

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

/// Names of the lines that a workbook of these results cannot calculate again, as a root or an integral with a corner in
/// it: they stand for these inputs, and are `#N/A` once one changes.
///
/// # Example
/// ```
/// use standstill::{Sheet, workbook::frozen_lines};
/// let sheet = Sheet::library("ramp-stop")?;
/// let mut inputs = sheet.inputs();
/// inputs.fill_with_examples();
/// assert!(frozen_lines(&sheet.run(&inputs)?).is_empty());
/// # Ok::<(), standstill::Problems>(())
/// ```
#[must_use]
pub fn frozen_lines(results: &Results) -> Vec<String> {
    frozen::frozen(&Plan::new(results))
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
    let mut plan = Plan::new(results);
    let paper = Paper::new();
    let title = results.program().scopes.first().map_or("", |scope| scope.title.as_str());
    let mut book = fresh(title)?;
    let decided = Decided { release, worst: worst_case };
    plan.verdict = front::verdict_now(&plan, &decided);
    let stop = stop::find(&plan);
    let mut tab = Worksheet::new();
    let courses = if stop.is_none() { course::find(&plan) } else { None };
    let charts = match (&stop, &courses) {
        (Some(stop), _) => vec![stop::write(&mut tab, &plan, stop, &paper)?],
        (None, Some(courses)) => course::write(&mut tab, &plan, courses, &paper)?,
        (None, None) => Vec::new(),
    };
    let points = (!charts.is_empty()).then_some(tab);
    let mut results_tab = Worksheet::new();
    let front = front::write(&mut results_tab, &plan, &decided, &paper)?;
    summary::write(book.add_worksheet(), &plan, &decided, &front, &charts, &paper)?;
    book.push_worksheet(results_tab);
    if let Some(worst_case) = worst_case {
        worst::write(book.add_worksheet(), &plan, worst_case, release, &paper)?;
    }
    inputs::write(book.add_worksheet(), &plan, &paper)?;
    working::write(book.add_worksheet(), &plan, &paper)?;
    // what the tabs above are made from is not printed
    if let Some(mut points) = points {
        points.set_hidden(true);
        book.push_worksheet(points);
    }
    if !plan.integrals.is_empty() {
        integrals::write(book.add_worksheet().set_hidden(true), &plan, &paper)?;
    }
    if !plan.tables.is_empty() || !plan.decades.is_empty() {
        tables::write(book.add_worksheet().set_hidden(true), &plan, &paper)?;
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

    /// What stands where settings may not be set.
    fn why_not(&self) -> &'static str {
        match self.of_examples() {
            true => "NO: inputs are the sheet's examples; make this workbook with your own values",
            false => "NO: see the verdict above",
        }
    }

    /// Whether they may be, as calculated.
    fn may_be_set_text(&self) -> &'static str {
        if self.release.may_be_set() { "yes" } else { self.why_not() }
    }

    /// Whether tolerances have a part in it.
    fn tolerated(&self, results: &Results) -> bool {
        let stated = self.worst.is_some_and(|worst| !worst.uncertain().is_empty());
        stated || self.release.worst().is_some() || (results.holds() && !self.release.granted())
    }
}

/// The row of the verdict on every tab.
const VERDICT: u32 = 2;

/// What stands above the figures of every tab, and on each of its pages: what it is, a line about it, and from a column
/// on the verdict.
fn heading(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    paper: &Paper,
    (name, about): (&str, &str),
    column: u16,
) -> Result<(), XlsxError> {
    let (title, identity) = title(plan);
    tab.write_string_with_format(0, 0, format!("{title}: {name}"), &paper.title)?;
    tab.set_row_height(0, 22)?;
    let about = format!("{identity}. {about}");
    tab.write_string_with_format(1, 0, about, &paper.name)?;
    tab.write_string_with_format(VERDICT, column, "verdict", &paper.sheet)?;
    let text = format!("{}!$B${}", TabOf::Results.name(), VERDICT + 1);
    let shown = cells::Shown::Words(plan.verdict.clone());
    cells::write(tab, (VERDICT, column + 1), Some(&text), &shown, &paper.sheet)
}

/// The title of the sheet, and which sheet it is.
fn title<'a>(plan: &Plan<'a>) -> (&'a str, String) {
    plan.program.scopes.first().map_or(("", String::new()), |scope| {
        (scope.title.as_str(), format!("Sheet {}, {}", scope.sheet, Identity::of(scope)))
    })
}
