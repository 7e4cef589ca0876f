//! A product line calculated while its rows pass by.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::needed::Needed;
use super::run::BLOCK;
use super::{Outcome, ProductLine, TableRequest};
use crate::diagnostic::{Diagnostic, Place, Problems};
use crate::number::cores;
use crate::program::Sheets;
use crate::spreadsheet::write::Plan;
use crate::spreadsheet::{Area, Book, Edit, Position, Reading, RowBook, RowsWritten};

/// Opens a workbook for its table of variants. Of an `.xlsx` or `.csv` only the rows that
/// [`ProductLine::find`] needs stay in memory.
///
/// # Errors
/// As [`Book::read`](crate::spreadsheet::Book::read).
///
/// # Example
/// ```
/// use standstill::{environment::NoFs, project::Project};
/// use standstill::workbook::range::{TableRequest, ProductLine, Summary, VariantVerdict, open};
/// use standstill::spreadsheet::Reading;
/// let sheets = Project::new(&NoFs);
/// let text = "sheet run-down\nT_0,4,N·m\n\nroller,J / (kg·m²),n_0 / (r/min)\nA,2,1500\nB,,1500\n";
/// let asked = TableRequest::default();
/// let file = open("rollers.csv", text.as_bytes(), &Reading::default(), &asked, &sheets).unwrap();
/// let line = ProductLine::find(file.outline(), &asked, &sheets).unwrap();
/// let mut summary = Summary::default();
/// let look = |book: &_, outcome| line.summary(book, &outcome);
/// line.go_through(&file, &|_| {}, &look, &mut |more| summary.join(&line, more, 100))
///     .unwrap();
/// assert_eq!(summary.count(VariantVerdict::Wrong), 1);
/// assert_eq!(summary.problems[0].name.word(), "empty-cell");
/// ```
pub fn open<'a>(
    name: &str,
    bytes: &'a [u8],
    reading: &Reading,
    asked: &TableRequest,
    sheets: &dyn Sheets,
) -> Result<RowBook<'a>, Problems> {
    let mut needed = Needed::new(asked, name, sheets);
    RowBook::open(name, bytes, reading, cores(), &mut |tab, cells| needed.row(tab, cells))
}

impl ProductLine {
    /// Hands each block of variants and its outcome to `work`, on all cores, and what that makes to
    /// `each`, in the order of the rows; `done` receives how many variants have just been finished. Rows behind the
    /// last variant come with an empty outcome.
    ///
    /// # Errors
    /// `unreadable-file` where the rows do not read.
    pub fn go_through<T: Send>(
        &self,
        file: &RowBook<'_>,
        done: &(dyn Fn(usize) + Sync),
        work: &(dyn Fn(&Book, Outcome) -> T + Sync),
        each: &mut dyn FnMut(T),
    ) -> Result<(), Problems> {
        let of_block = |at: Option<usize>, book: &Book| {
            work(book, at.map(|at| self.outcome(book, at, done)).unwrap_or_default())
        };
        file.read_rows(&self.plan(), &of_block, each)
    }

    /// Writes the outcome into the rows of the workbook; `work` and `each` as in
    /// [`go_through`](Self::go_through).
    ///
    /// # Errors
    /// As [`write_cells`](crate::spreadsheet::write_cells) and [`go_through`](Self::go_through).
    pub fn write_rows<T: Send>(
        &self,
        file: &RowBook<'_>,
        done: &(dyn Fn(usize) + Sync),
        work: &(dyn Fn(&Book, &Outcome) -> T + Sync),
        each: &mut (dyn FnMut(T) + Send),
    ) -> Result<RowsWritten, Problems> {
        let of_block = |at: Option<usize>, book: &Book| -> (Vec<Edit>, Option<T>) {
            let mut edits = if at == Some(0) { self.heading_edits(book) } else { Vec::new() };
            let outcome = at.map(|at| self.outcome(book, at, done));
            let Some(outcome) = outcome else {
                return (edits, None);
            };
            edits.extend(self.row_edits(book, &outcome));
            (edits, Some(work(book, &outcome)))
        };
        let mut each = |made: Option<T>| made.into_iter().for_each(&mut *each);
        file.write_rows(&self.plan(), &of_block, &mut each)
    }

    /// Takes in what sets variants apart from the others, which only the whole table shows: from here on their status says
    /// it.
    pub fn ask(&mut self, questions: &[Diagnostic]) {
        let mut asked: BTreeMap<u32, Vec<String>> = BTreeMap::new();
        for problem in questions {
            if let Some(Place::Cell { row, .. }) = &problem.place {
                asked.entry(*row).or_default().push(problem.headline.clone());
            }
        }
        self.asked = Arc::new(asked);
    }

    /// The outcome of a block, whose count of variants `done` receives.
    fn outcome(&self, book: &Book, at: usize, done: &(dyn Fn(usize) + Sync)) -> Outcome {
        let outcome = self.block(book, at, &(0..self.variants.len()));
        done(outcome.variants.len());
        outcome
    }

    fn plan(&self) -> Plan {
        let blocks = self.variants.chunks(BLOCK);
        let ours = self.results.iter().map(|result| result.column).chain([self.status.column]);
        let reach = ours.clone().min().zip(ours.max()).zip(self.variants.last());
        Plan {
            tab: self.tab.clone(),
            last_rows: blocks.filter_map(|rows| rows.last().copied()).collect(),
            reach: reach.map(|((first, last), row)| {
                Area::between(
                    Position { row: self.header, column: first },
                    Position { row: *row, column: last },
                )
            }),
            threads: cores(),
        }
    }
}
