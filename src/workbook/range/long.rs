//! A product line calculated while its rows pass by.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::{Arc, Mutex};

use super::needed::Needed;
use super::part::{self, Parts};
use super::run::BLOCK;
use super::{Outcome, ProductLine, TableRequest, Tally, VariantVerdict};
use crate::diagnostic::{Diagnostic, Place, Problems};
use crate::number::cores;
use crate::program::Sheets;
use crate::spreadsheet::write::Plan;
use crate::spreadsheet::{Area, Book, Edit, Position, Reading, RowBook, RowsWritten};

/// Where the outcome of variants comes from.
#[derive(Clone, Copy)]
pub enum From<'f> {
    /// They are calculated: a span of them, counted from 0; the function receives how many have just been
    /// finished.
    Working(&'f Range<usize>, &'f (dyn Fn(usize) + Sync)),
    /// They were calculated before, all of them, and kept in parts.
    Parts(&'f Parts<'f>),
}

/// Opens a workbook for its table of variants. Of an `.xlsx` or `.csv` only the rows that
/// [`ProductLine::find`] needs stay in memory.
///
/// # Errors
/// As [`Book::read`](crate::spreadsheet::Book::read).
///
/// # Example
/// ```
/// use standstill::{environment::NoFs, project::Project};
/// use standstill::workbook::range::{TableRequest, From, ProductLine, Summary, VariantVerdict, open};
/// use standstill::spreadsheet::Reading;
/// let sheets = Project::new(&NoFs);
/// let text = "sheet run-down\nT_0,4,N·m\n\nroller,J / (kg·m²),n_0 / (r/min)\nA,2,1500\nB,,1500\n";
/// let asked = TableRequest::default();
/// let file = open("rollers.csv", text.as_bytes(), &Reading::default(), &asked, &sheets).unwrap();
/// let line = ProductLine::find(file.outline(), &asked, &sheets).unwrap();
/// let mut summary = Summary::default();
/// let look = |book: &_, outcome| line.summary(book, &outcome);
/// line.go_through(&file, From::Working(&(0..2), &|_| {}), &look, &mut |more| summary.join(&line, more, 100))
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
    /// `each`, in the order of the rows. Rows behind the last variant come with an empty outcome.
    ///
    /// # Errors
    /// `unreadable-file` where the rows do not read; `part-mismatch` for a part that does not belong.
    pub fn go_through<T: Send>(
        &self,
        file: &RowBook<'_>,
        from: From<'_>,
        work: &(dyn Fn(&Book, Outcome) -> T + Sync),
        each: &mut dyn FnMut(T),
    ) -> Result<(), Problems> {
        let strange = Mutex::new(Vec::new());
        let of_block = |at: Option<usize>, book: &Book| {
            let outcome = at.and_then(|at| self.outcome(book, at, from, &strange));
            work(book, outcome.unwrap_or_default())
        };
        file.read_rows(&self.plan(), &of_block, each)?;
        none_of(strange)
    }

    /// Writes the outcome into the rows of the workbook; `work` and `each` as in
    /// [`go_through`](Self::go_through).
    ///
    /// # Errors
    /// As [`write_cells`](crate::spreadsheet::write_cells) and [`go_through`](Self::go_through).
    pub fn write_rows<T: Send>(
        &self,
        file: &RowBook<'_>,
        from: From<'_>,
        work: &(dyn Fn(&Book, &Outcome) -> T + Sync),
        each: &mut (dyn FnMut(T) + Send),
    ) -> Result<RowsWritten, Problems> {
        let strange = Mutex::new(Vec::new());
        let of_block = |at: Option<usize>, book: &Book| -> (Vec<Edit>, Option<T>) {
            let mut edits = if at == Some(0) { self.heading_edits(book) } else { Vec::new() };
            let outcome = at.and_then(|at| self.outcome(book, at, from, &strange));
            let Some(outcome) = outcome else {
                return (edits, None);
            };
            edits.extend(self.row_edits(book, &outcome));
            (edits, Some(work(book, &outcome)))
        };
        let mut each = |made: Option<T>| made.into_iter().for_each(&mut *each);
        let written = file.write_rows(&self.plan(), &of_block, &mut each)?;
        none_of(strange)?;
        Ok(written)
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

    /// The outcome of a block; none where nothing of it is asked for.
    fn outcome(
        &self,
        book: &Book,
        at: usize,
        from: From<'_>,
        strange: &Mutex<Vec<Diagnostic>>,
    ) -> Option<Outcome> {
        let whole = at * BLOCK..((at + 1) * BLOCK).min(self.variants.len());
        match from {
            From::Working(span, done) => {
                let outcome = (span.start < whole.end && whole.start < span.end)
                    .then(|| self.block(book, at, span))?;
                done(outcome.variants.len());
                Some(outcome)
            }
            From::Parts(parts) => {
                let tell = |problem| {
                    if let Ok(mut strange) = strange.lock() {
                        strange.push(problem);
                    }
                };
                let mut variants = parts.block(self, at).map_err(tell).ok()?;
                for variant in
                    variants.iter_mut().filter(|one| one.verdict == VariantVerdict::Wrong)
                {
                    let _ = part::relabel(self, book, variant).map_err(tell);
                }
                // what its own row asks a part says already
                variants.iter_mut().for_each(|it| self.with_questions(it));
                let (first, last) = (variants.first()?.row, variants.last()?.row);
                let checks = parts.checks.iter().map(|tally| Tally {
                    // they are those of all variants: what fails counts once, and the worst variant
                    // belongs to its block
                    fails: if at == 0 { tally.fails } else { 0 },
                    not_proved: if at == 0 { tally.not_proved } else { 0 },
                    worst: tally.worst.filter(|it| (first..=last).contains(&it.row)),
                });
                let checks = checks.collect();
                Some(Outcome { variants, checks })
            }
        }
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

fn none_of(strange: Mutex<Vec<Diagnostic>>) -> Result<(), Problems> {
    let strange = strange.into_inner().unwrap_or_default();
    if strange.is_empty() { Ok(()) } else { Err(strange.into()) }
}
