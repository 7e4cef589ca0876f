//! The rows of a plain text, or of a workbook in memory, worked on piece by piece.

use super::delimited::spliced;
use super::rows::{Plan, Work};
use super::{Edit, RowsWritten};
use crate::diagnostic::{Diagnostic, Problems};
use crate::spreadsheet::model::book::{Book, Entry, Tab};
use crate::spreadsheet::read::archive::Archive;
use crate::spreadsheet::read::delimited::broken;
use crate::spreadsheet::read::ods;
use crate::spreadsheet::read::stream::in_order::in_order;
use crate::spreadsheet::read::stream::lines::{Lines, Stretch, Stretches};
use crate::spreadsheet::read::stream::outline::{PIECE, RowBook};

/// Cells of a piece of a workbook in memory where nothing else says how large it is to be.
const CELLS: usize = 20_000;

impl RowBook<'_> {
    /// Hands what `work` makes of each piece of the text to `each`, in order.
    pub(super) fn read_lines<T: Send>(
        &self,
        lines: &Lines<'_>,
        plan: &Plan,
        work: Work<'_, T>,
        each: &mut dyn FnMut(T),
    ) -> Result<(), Problems> {
        let made = |(number, stretch): (Option<usize>, Stretch<'_>)| {
            Ok(work(number, &self.rows_of(lines, stretch)?))
        };
        in_order(plan.threads, &mut stretches(lines, plan), &made, &mut |made: Result<
            T,
            Vec<Diagnostic>,
        >| {
            each(made?);
            Ok(())
        })
    }

    /// Writes what `work` says into the text and keeps every other byte.
    pub(super) fn write_lines<T: Send>(
        &self,
        lines: &Lines<'_>,
        plan: &Plan,
        work: Work<'_, (Vec<Edit>, T)>,
        each: &mut (dyn FnMut(T) + Send),
    ) -> Result<RowsWritten, Problems> {
        let made = |(number, stretch): (Option<usize>, Stretch<'_>)| {
            let (edits, report) = work(number, &self.rows_of(lines, stretch)?);
            let (name, piece) = (&self.book.name, (stretch.text, stretch.first));
            Ok((spliced(name, &lines.text, piece, &edits)?, edits.len(), report))
        };
        let mut bytes = Vec::with_capacity(self.bytes.len());
        if lines.text.marked {
            bytes.extend("\u{feff}".as_bytes());
        }
        let mut changed = 0;
        in_order(plan.threads, &mut stretches(lines, plan), &made, &mut |made: Result<
            (String, usize, T),
            Vec<Diagnostic>,
        >| {
            let (text, count, report) = made?;
            bytes.extend(text.as_bytes());
            changed += count;
            each(report);
            Ok(())
        })?;
        Ok(RowsWritten { bytes, changed, ..RowsWritten::default() })
    }

    fn rows_of(&self, lines: &Lines<'_>, stretch: Stretch<'_>) -> Result<Book, Problems> {
        let entries = lines.text.entries(stretch.text, stretch.first);
        let entries = entries.map_err(|words| vec![broken(&self.book.name, &words)])?;
        Ok(self.book.of_tab(Tab::plain(String::new(), entries)))
    }

    /// The same for rows that are in memory anyway.
    pub(super) fn read_memory<T: Send>(
        &self,
        plan: &Plan,
        work: Work<'_, T>,
        each: &mut dyn FnMut(T),
    ) -> Result<(), Problems> {
        let Some(tab) = self.book.tab(&plan.tab) else { return Ok(()) };
        let mut lasts = plan.last_rows.iter().copied().enumerate();
        let mut rest = tab.entries.as_slice();
        let mut source = || {
            let (number, last) = lasts.next().unzip();
            let last = last.or_else(|| rest.get(CELLS).or(rest.last()).map(|at| at.position.row));
            let rows = |entry: &Entry| last.is_some_and(|last| entry.position.row <= last);
            let (piece, after) = rest.split_at_checked(rest.partition_point(rows))?;
            rest = after;
            (number.is_some() || !piece.is_empty()).then_some((number, piece))
        };
        in_order(
            plan.threads,
            &mut || Ok(source()),
            &|(number, piece): (Option<usize>, &[Entry])| {
                work(number, &self.book.of_rows(tab, piece.to_vec()))
            },
            &mut |made| {
                each(made);
                Ok(())
            },
        )
    }

    /// The same for the rows of an `.ods`, as its content is unpacked.
    pub(super) fn read_ods<T: Send>(
        &self,
        archive: &Archive<'_>,
        plan: &Plan,
        work: Work<'_, T>,
        each: &mut dyn FnMut(T),
    ) -> Result<(), Problems> {
        let wanted = |known: &Tab| known.name.eq_ignore_ascii_case(&plan.tab);
        let Some(at) = self.book.tabs.iter().position(wanted) else { return Ok(()) };
        let Some(tab) = self.book.tabs.get(at) else { return Ok(()) };
        let mut zip = archive.zip.clone();
        let mut rows = ods::Rows::of(archive, &mut zip)?;
        let mut lasts = plan.last_rows.iter().copied().enumerate();
        // the row that was read and belongs to the next piece
        let mut waiting: Option<Vec<Entry>> = None;
        let mut source = || {
            let (number, last) = lasts.next().unzip();
            let mut piece: Vec<Entry> = Vec::new();
            loop {
                let row = match waiting.take() {
                    Some(row) => Some(row),
                    None => rows
                        .next()?
                        .filter(|(tab, _)| *tab <= at)
                        .map_or(Ok::<_, String>(None), |(tab, row)| {
                            Ok(Some(if tab == at { row } else { Vec::new() }))
                        })?,
                };
                let Some(row) = row else { break };
                let Some(first) = row.first() else { continue };
                let full = match last {
                    Some(last) => first.position.row > last,
                    None => piece.len() >= CELLS,
                };
                if full {
                    waiting = Some(row);
                    break;
                }
                piece.extend(row);
            }
            Ok((number.is_some() || !piece.is_empty()).then_some((number, piece)))
        };
        let read = in_order(
            plan.threads,
            &mut source,
            &|(number, piece): (Option<usize>, Vec<Entry>)| {
                work(number, &self.book.of_rows(tab, piece))
            },
            &mut |made| {
                each(made);
                Ok(())
            },
        );
        read.map_err(|words: String| archive.broken(&words).into())
    }
}

/// The pieces of the plan and those behind, each with its number in the plan.
fn stretches<'a>(
    lines: &Lines<'a>,
    plan: &Plan,
) -> impl FnMut() -> Result<Option<(Option<usize>, Stretch<'a>)>, Problems> + Send {
    let mut stretches = Stretches::of(lines.text.clone());
    let mut lasts = plan.last_rows.iter().copied().enumerate();
    move || {
        let (number, last) = lasts.next().unzip();
        Ok(stretches.next(last, PIECE).map(|stretch| (number, stretch)))
    }
}
