//! How many variants hold, and the worst margin of each check.

use std::collections::BTreeSet;

use super::super::bind::shown::{self, Held};
use super::super::legible::{Unread, gather};
use super::super::owners::is_in_the_place_of_a_number;
use super::apart::Apart;
use super::run::NOMINAL;
use super::{Outcome, ProductLine, Tally, Variant, VariantVerdict};
use crate::calculation::is_verdict_text;
use crate::calculation::{self, Margin};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Type, with_path};
use crate::report::{as_in_example, not_your_machine, of_no_machine};
use crate::spreadsheet::{Book, Cell, NewValue, Position, Tab};
use crate::unit::Unit;

/// Variants of a block whose inputs are compared with the sheet's example.
const LOOKED_AT: usize = 16;

/// What became of a check over all variants.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckSummary {
    /// The check in words.
    pub text: String,
    /// Path of aliases of the used sheet it belongs to.
    pub path: String,
    /// Whether it only cautions.
    pub caution: bool,
    /// In how many variants it fails.
    pub fails: usize,
    /// In how many variants it is not proved.
    pub not_proved: usize,
    /// The variant that is worst: one that fails without a margin, else the one with the least.
    pub worst: Option<WorstMargin>,
}

impl CheckSummary {
    /// The check in words, with the path of the used sheet that it belongs to.
    #[must_use]
    pub fn label(&self) -> String {
        with_path(&self.path, &self.text)
    }
}

/// What a check has left in a variant.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstMargin {
    /// The row of the variant, from 0.
    pub row: u32,
    /// Both sides and what lies between, on exact decimals; none where it fails without.
    pub margin: Option<Margin>,
    /// Whether the check holds there.
    pub holds: bool,
}

/// What is left of the outcome of many variants once they are written.
#[derive(Clone, Debug, Default)]
pub struct Summary {
    /// How many variants hold, fail, are not proved, and could not be calculated.
    counts: [usize; 4],
    /// What became of each check, in the order of [`Program::checks`](crate::program::Program::checks).
    pub checks: Vec<Tally>,
    /// What is wrong with rows, the first of it.
    pub problems: Vec<Diagnostic>,
    /// How many problems there are beyond those.
    pub more: usize,
    /// Cells for results that hold words of the owner, the first of them.
    pub foreign: Vec<Diagnostic>,
    /// What is said of a variant whose inputs are those of the sheet's example.
    pub examples: Option<String>,
    /// What is written where nobody can read it.
    unread: Vec<Unread>,
    /// What sets variants apart from the others.
    apart: Apart,
    /// The rows of the worst variants.
    rows: Option<Book>,
    /// Whether figures of a variant with tolerances are those of the nominal values alone.
    nominal: bool,
}

impl Outcome {
    /// How many variants came out so.
    #[must_use]
    pub fn count(&self, verdict: VariantVerdict) -> usize {
        self.variants.iter().filter(|variant| variant.verdict == verdict).count()
    }
}

impl Summary {
    /// How many variants came out so.
    #[must_use]
    pub fn count(&self, verdict: VariantVerdict) -> usize {
        let [holds, fails, not_proved, wrong] = self.counts;
        match verdict {
            VariantVerdict::Holds => holds,
            VariantVerdict::Fails => fails,
            VariantVerdict::NotProved => not_proved,
            VariantVerdict::Wrong => wrong,
        }
    }

    /// How many variants there are.
    #[must_use]
    pub fn variants(&self) -> usize {
        self.counts.iter().sum()
    }

    /// Takes in what follows; no more than `listed` problems are kept.
    pub fn join(&mut self, line: &ProductLine, other: Self, listed: usize) {
        for (count, more) in self.counts.iter_mut().zip(other.counts) {
            *count += more;
        }
        self.checks.resize(self.checks.len().max(other.checks.len()), Tally::default());
        for (tally, more) in self.checks.iter_mut().zip(other.checks) {
            tally.join(more);
        }
        let room = listed.saturating_sub(self.problems.len());
        self.more += other.more + other.problems.len().saturating_sub(room);
        self.problems.extend(other.problems.into_iter().take(room));
        let room = listed.saturating_sub(self.foreign.len());
        self.foreign.extend(other.foreign.into_iter().take(room));
        self.examples = self.examples.take().or(other.examples);
        gather(&mut self.unread, other.unread);
        self.apart.join(other.apart);
        self.nominal |= other.nominal;
        self.rows = match (self.rows.take(), other.rows) {
            (Some(known), Some(more)) => Some(joined(known, more, &line.tab)),
            (known, more) => known.or(more),
        };
        self.keep_the_worst(line);
    }

    fn keep_the_worst(&mut self, line: &ProductLine) {
        let worst: BTreeSet<u32> =
            self.checks.iter().filter_map(|tally| Some(tally.worst?.row)).collect();
        if let Some(tab) = self.rows.as_mut().and_then(|book| book.tab_mut(&line.tab)) {
            tab.entries.retain(|entry| worst.contains(&entry.position.row));
        }
    }

    /// What sets a variant apart from the others of its line, as a slip of the hand does.
    #[must_use]
    pub fn apart(&self, line: &ProductLine, book: &Book) -> Vec<Diagnostic> {
        self.apart.cautions(line, book)
    }

    /// Whether figures are those of nominal values alone where the verdict is that over tolerances.
    #[must_use]
    pub fn is_of_nominal_values(&self) -> bool {
        self.nominal
    }

    /// What is said of values that are read, whatever becomes of the results.
    #[must_use]
    pub fn read_in_doubt(&self) -> Vec<Diagnostic> {
        self.unread.iter().filter(|it| it.is_of_reading()).map(Unread::caution).collect()
    }

    /// What stands in the workbook where nobody can read it, verdicts first.
    #[must_use]
    pub fn unread(&self) -> Vec<Diagnostic> {
        let mut cautions: Vec<_> = self.unread.iter().map(Unread::caution).collect();
        cautions.sort_by_key(|caution| caution.name != Name::CheckFails);
        cautions
    }

    /// What became of each check; the worst variants are calculated once more on exact decimals.
    #[must_use]
    pub fn checks(&self, line: &ProductLine) -> Vec<CheckSummary> {
        match &self.rows {
            Some(rows) => line.checks_of(rows, &self.checks),
            None => Vec::new(),
        }
    }

    /// The name of a worst variant; see [`ProductLine::variant_text`].
    #[must_use]
    pub fn variant_text(&self, line: &ProductLine, row: u32) -> String {
        let rows = self.rows.as_ref();
        rows.map_or_else(|| format!("row {}", row + 1), |rows| line.variant_text(rows, row))
    }
}

/// A number that stands where a result goes, in a row that no run has filled.
fn owners_number(place: Place, number: f64) -> Diagnostic {
    Diagnostic::error(
        Name::OwnersWords,
        format!("a result would be written over the number {number}, which no run has written: the row has no status"),
    )
    .at(place)
    .remedy("head your own column otherwise, or empty the cell")
}

/// The rows of both, in their order.
fn joined(mut known: Book, mut more: Book, tab: &str) -> Book {
    if let (Some(known), Some(more)) = (known.tab_mut(tab), more.tab_mut(tab)) {
        known.entries.append(&mut more.entries);
        known.sheet_styles.rows.append(&mut more.sheet_styles.rows);
    }
    known
}

impl ProductLine {
    /// The outcome of some variants in short.
    #[must_use]
    pub fn summary(&self, book: &Book, outcome: &Outcome) -> Summary {
        let counts = [
            VariantVerdict::Holds,
            VariantVerdict::Fails,
            VariantVerdict::NotProved,
            VariantVerdict::Wrong,
        ];
        let problems = outcome.variants.iter().flat_map(|variant| &variant.problems);
        let worst: BTreeSet<u32> =
            outcome.checks.iter().filter_map(|tally| Some(tally.worst?.row)).collect();
        let rows = self.tab(book).map(|tab| {
            let rows = worst.iter().flat_map(|row| tab.row(*row)).cloned().collect();
            book.of_rows(tab, rows)
        });
        Summary {
            counts: counts.map(|verdict| outcome.count(verdict)),
            checks: outcome.checks.clone(),
            problems: problems.cloned().collect(),
            more: 0,
            foreign: self.foreign(book, outcome),
            examples: self.not_your_machine(book, &outcome.variants).map(|(words, _)| words),
            unread: self.tab(book).map_or_else(Vec::new, |tab| {
                let mut unread = Vec::new();
                let rows = outcome.variants.iter();
                rows.for_each(|it| gather(&mut unread, self.unread(book, tab, it)));
                unread
            }),
            apart: self
                .tab(book)
                .map(|tab| self.apart(tab, outcome.variants.iter().map(|it| it.row)))
                .unwrap_or_default(),
            rows,
            nominal: outcome.variants.iter().any(|it| it.status.contains(NOMINAL)),
        }
    }

    /// What is said of the first variant looked at whose inputs are those of the sheet's example, how many more there
    /// are, and whether nothing of them may be signed: a table of one's own may be that of the example's machine.
    pub(crate) fn not_your_machine(
        &self,
        book: &Book,
        variants: &[Variant],
    ) -> Option<(String, bool)> {
        // of a long line some, first and last among them
        let step = variants.len().div_ceil(LOOKED_AT).max(1);
        let last = variants.len().saturating_sub(1);
        let looked = variants.iter().enumerate().filter(|(at, _)| at % step == 0 || *at == last);
        let few = as_in_example(&self.shared);
        let (mut first, mut more, mut all, mut unsigned) = (None, 0_usize, 0_usize, false);
        for (_, variant) in looked.filter(|(_, it)| it.verdict != VariantVerdict::Wrong) {
            let Ok(inputs) = self.inputs_of(book, variant.row) else { continue };
            all += 1;
            let words = not_your_machine(&inputs);
            if words.is_empty() {
                continue;
            }
            unsigned |= !of_no_machine(&inputs).is_empty();
            match first {
                None => first = Some(format!("{}: {words}", self.variant_text(book, variant.row))),
                Some(_) => more += 1,
            }
        }
        let of = if step > 1 { format!(" of the {all} looked at") } else { String::new() };
        let first = first.map(|first| match more {
            0 => first,
            1 => format!("{first}; 1 more variant likewise{of}"),
            more => format!("{first}; {more} more variants likewise{of}"),
        });
        // what stands above the table counts for every variant
        first.map(|first| (first, unsigned)).or_else(|| (!few.is_empty()).then_some((few, false)))
    }

    /// Words in the columns of results and status that were not written here: they are the owner's, and stay.
    fn foreign(&self, book: &Book, outcome: &Outcome) -> Vec<Diagnostic> {
        let Some(tab) = self.tab(book) else { return Vec::new() };
        let status = (!self.status.appended).then_some(self.status.column);
        let mut columns: Vec<(u32, bool)> =
            status.map(|column| (column, true)).into_iter().collect();
        for result in self.results.iter().filter(|result| !result.appended) {
            let output = self.program.outputs.get(result.output);
            if output.is_some_and(|output| matches!(output.type_, Type::Number { .. })) {
                columns.push((result.column, false));
            }
        }
        let mut found = Vec::new();
        // an earlier run that was not told of decimal commas has written its results with points
        let pointed = |text: &str| book.decimal_comma && text.parse::<f64>().is_ok();
        for variant in &outcome.variants {
            found.extend(self.shown_otherwise(book, tab, variant));
            for (column, is_status) in &columns {
                let position = Position { row: variant.row, column: *column };
                let text = match tab.cell(position) {
                    Cell::Text(text) => text,
                    Cell::Number(number) if !is_status && !self.is_own(tab, variant.row) => {
                        let same =
                            self.results.iter().position(|it| it.column == *column).is_some_and(
                                |at| match variant.values.get(at) {
                                    Some(NewValue::Number(new)) => new == number,
                                    _ => true,
                                },
                            );
                        if !same {
                            found.push(owners_number(book.place(&tab.name, position), *number));
                        }
                        continue;
                    }
                    _ => continue,
                };
                let text = text.trim().trim_start_matches('\'');
                let ours = text.is_empty()
                    || match is_status {
                        true => is_verdict_text(text),
                        false => {
                            is_in_the_place_of_a_number(&self.program, text)
                                || pointed(text) && self.is_own(tab, variant.row)
                        }
                    };
                if !ours {
                    let what = if *is_status { "the status" } else { "a result" };
                    found.push(
                        Diagnostic::error(
                            Name::OwnersWords,
                            format!("{what} would be written over the words \"{text}\""),
                        )
                        .at(book.place(&tab.name, position))
                        .remedy("head your own column otherwise, or empty the cell"),
                    );
                }
            }
        }
        found
    }

    /// Cells of results whose number formats contradict what is written into them.
    fn shown_otherwise(&self, book: &Book, tab: &Tab, variant: &Variant) -> Vec<Diagnostic> {
        if tab.all_plain() {
            return Vec::new();
        }
        let status = Position { row: variant.row, column: self.status.column };
        let status = shown::text_otherwise(book, tab, status, "the status", &variant.status);
        let cells = self.results.iter().zip(&variant.values);
        let odd = cells.filter_map(|(result, value)| {
            let cell = Position { row: variant.row, column: result.column };
            let number = match value {
                NewValue::Number(number) => number,
                NewValue::Text(text) => {
                    let name = format!("`{}`", result.name(&self.program));
                    return shown::text_otherwise(book, tab, cell, &name, text);
                }
                _ => return None,
            };
            if tab.shows_plainly(cell) {
                return None;
            }
            let one = Unit::one();
            let percent = tab.shows_percent(cell) && result.unit.dimension.is_none();
            let unit = if percent { &one } else { &result.unit };
            let name = result.name(&self.program);
            let held = Held { name: &name, kind: None, unit, number: *number };
            shown::otherwise(book, tab, cell, &held)
        });
        odd.chain(status).collect()
    }

    /// Whether a row bears a status that a run has written: then its results are a run's too.
    fn is_own(&self, tab: &Tab, row: u32) -> bool {
        let column = self.status.column;
        match tab.cell(Position { row, column }) {
            Cell::Text(text) => is_verdict_text(text.trim().trim_start_matches('\'')),
            _ => false,
        }
    }

    /// The least margin of a check over the tolerances of a variant, and the corner that has it.
    fn worst_there(&self, book: &Book, row: u32, at: usize) -> Option<WorstMargin> {
        let worst = self.worst_of(book, row).ok()?;
        // the ranges of inputs come first, then the checks of the sheet
        let first = worst.checks().len().checked_sub(self.program.checks.len())?;
        let check = worst.checks().get(first + at)?;
        let sides = match check.corner.as_str() {
            "" => "as given".to_owned(),
            corner => format!("with {corner}"),
        };
        let margin = Some(Margin { sides, left: check.least_margin.clone() });
        Some(WorstMargin { row, margin, holds: check.verdict == calculation::Verdict::Holds })
    }

    /// What a check of a variant has left, on exact decimals: over its tolerances where it has any, for its verdict is
    /// that over them too.
    pub(crate) fn left_of(&self, book: &Book, row: u32, at: usize) -> Option<WorstMargin> {
        let results = self.exactly(book, row).ok()?;
        if self.worst || results.inputs().any_spread() {
            return self.worst_there(book, row, at);
        }
        let found = results.checks().get(at)?;
        let holds = found.verdict == calculation::Verdict::Holds;
        Some(WorstMargin { row, margin: found.margin.clone(), holds })
    }

    /// What became of each check; the worst variants are calculated once more on exact decimals.
    #[must_use]
    pub fn checks_of(&self, book: &Book, tallies: &[Tally]) -> Vec<CheckSummary> {
        let checks = self.program.checks.iter().zip(tallies).enumerate();
        checks
            .map(|(at, (check, tally))| {
                let worst = tally.worst.and_then(|worst| self.left_of(book, worst.row, at));
                CheckSummary {
                    text: check.text.clone(),
                    path: check.path.clone(),
                    caution: check.caution,
                    fails: tally.fails,
                    not_proved: tally.not_proved,
                    worst,
                }
            })
            .collect()
    }
}
