//! Variants run in blocks, on as many threads as are given; the outcome does not depend on how many.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::row::Plain;
use super::{
    End, InputColumns, Least, Outcome, ProductLine, ResultColumn, Tally, Variant, VariantVerdict,
    Worst,
};
use crate::calculation::unused::usual_of;
use crate::calculation::{self, Results, show_in, verdict_text, with_questions};
use crate::diagnostic::{Diagnostic, Name, Place, Severity};
use crate::number::{ColumnInput, Columns, ColumnsRun, OutputColumn, Slot, cores, side_by_side};
use crate::program::{Relation, Type};
use crate::report::NOT_TO_BE_SET;
use crate::spreadsheet::{Book, NewValue, Position, Tab};
use crate::unit::Unit;

/// Variants of a block. Blocks are counted from the first variant of the table, so that a span of them is
/// calculated just as it is within the whole.
pub(super) const BLOCK: usize = 1024;

/// Significant digits that are written: what f64 and exact decimals round differently is gone.
const WRITTEN: usize = 14;

/// Behind a verdict over tolerances whose effect on the figures beside it no column shows.
pub(super) const NOMINAL: &str = "; figures of the nominal values";

/// A variant with the margins of its checks.
struct CalculatedVariant {
    variant: Variant,
    holds: Vec<bool>,
    /// Checks that are not proved over the tolerances; empty for a plain run.
    open: Vec<bool>,
    margins: Vec<Option<MarginLeft>>,
}

/// What is left of a limit: in coherent SI what is proved and what is reached, and as a share of the larger side what
/// is proved.
#[derive(Clone, Copy)]
struct MarginLeft {
    left: [f64; 2],
    share: f64,
}

/// What a variant leaves, check by check.
pub(crate) struct LeftInRow {
    pub(crate) row: u32,
    /// The share of the larger side, and whether the check holds.
    pub(crate) checks: Vec<(Option<f64>, bool)>,
}

impl ProductLine {
    /// Calculates a span of the variants, counted from 0.
    ///
    /// `threads` work side by side; `done` receives how many variants a thread has just finished. The
    /// outcome is the same for any number of threads, and that of a span is a piece of that of the whole.
    #[must_use]
    pub fn compute(
        &self,
        book: &Book,
        span: Range<usize>,
        threads: usize,
        done: &(dyn Fn(usize) + Sync),
    ) -> Outcome {
        let span = span.start.min(self.variants.len())..span.end.min(self.variants.len());
        let blocks =
            if span.is_empty() { 0..0 } else { span.start / BLOCK..span.end.div_ceil(BLOCK) };
        let found = side_by_side(blocks.len(), threads, &|at| {
            let found = self.block(book, blocks.start + at, &span);
            done(found.variants.len());
            found
        });
        let mut outcome = self.nothing_yet();
        found.into_iter().for_each(|found| outcome.join(found));
        outcome
    }

    /// One block, and of it what lies within the span.
    pub(super) fn block(&self, book: &Book, block: usize, span: &Range<usize>) -> Outcome {
        let mut outcome = self.nothing_yet();
        self.each(book, block, span, |worked| outcome.take(worked));
        outcome
    }

    /// Calculates all variants on all cores. Beside what comes out, of every variant by its row: what each check
    /// leaves as a share of the larger side, and whether it holds; nothing for a row that is wrong.
    pub(crate) fn compute_with_shares(&self, book: &Book) -> (Outcome, Vec<LeftInRow>) {
        let span = 0..self.variants.len();
        let found = side_by_side(span.len().div_ceil(BLOCK), cores(), &|block| {
            let (mut outcome, mut left) = (self.nothing_yet(), Vec::new());
            self.each(book, block, &span, |worked| {
                let shares = worked.margins.iter().map(|it| it.as_ref().map(|it| it.share));
                let checks: Vec<_> = shares.zip(worked.holds.iter().copied()).collect();
                if !checks.is_empty() {
                    left.push(LeftInRow { row: worked.variant.row, checks });
                }
                outcome.take(worked);
            });
            (outcome, left)
        });
        let (mut all, mut left) = (self.nothing_yet(), Vec::new());
        for (outcome, more) in found {
            all.join(outcome);
            left.extend(more);
        }
        (all, left)
    }

    /// What came out before the first variant.
    fn nothing_yet(&self) -> Outcome {
        Outcome { variants: Vec::new(), checks: vec![Tally::default(); self.program.checks.len()] }
    }

    fn each(
        &self,
        book: &Book,
        block: usize,
        span: &Range<usize>,
        mut take: impl FnMut(CalculatedVariant),
    ) {
        let start = block * BLOCK;
        let end = (start + BLOCK).min(self.variants.len());
        let rows = self.variants.get(start..end).unwrap_or_default();
        let Some(tab) = self.tab(book) else { return };
        let (mut plain, mut without) = (Vec::with_capacity(rows.len()), BTreeMap::new());
        let mut columns: Vec<Column> = self.inputs.iter().map(|_| Column::default()).collect();
        for row in rows {
            let Some(values) = self.plain_row(book, tab, *row) else { continue };
            let at = self.variants.get(start..).unwrap_or_default().partition_point(|it| it < row);
            if span.contains(&(start + at)) {
                let Some(left_out) = self.left_out_of_plain(book, *row, &values) else { continue };
                without.insert(*row, left_out);
            }
            plain.push(*row);
            for ((column, value), known) in columns.iter_mut().zip(values).zip(&self.inputs) {
                match value {
                    Plain::Number(number) => column.numbers.push(number),
                    Plain::Word(word) => column.words.push(word),
                    // nothing depends on it
                    Plain::Nothing => self.put_usual(column, known),
                }
            }
        }
        let given = self.given(&columns);
        let ready = self.ready.get_or_init(|| Columns::new(&self.widened, &given));
        let run = ready.run(&self.widened, &given, plain.len(), 1);
        let by_row: BTreeMap<u32, usize> =
            plain.iter().enumerate().map(|(at, row)| (*row, at)).collect();
        let mut words = BTreeMap::new();
        for (at, row) in rows.iter().enumerate() {
            if !span.contains(&(start + at)) {
                continue;
            }
            let mut worked = match by_row.get(row) {
                _ if self.worst => self.by_worst(book, tab, *row),
                Some(at) if !run.problems.contains_key(at) => {
                    let mut worked = self.by_columns(tab, *row, &run, *at, &mut words);
                    let without = without.get(row).map_or(&[][..], Vec::as_slice);
                    worked.variant.status = self.with_left_out(worked.variant.status, without);
                    worked
                }
                _ => self.by_itself(book, tab, *row),
            };
            let own = self.taken_back(book, tab, *row).map(|(_, caution)| caution.headline);
            self.with_own_questions(&mut worked.variant, own);
            self.with_questions(&mut worked.variant);
            take(worked);
        }
    }

    /// Puts what its own row, its column or what all variants share asks into the status of a variant.
    fn with_own_questions(&self, variant: &mut Variant, own: Option<String>) {
        let of_row = |it: &Diagnostic| match &it.place {
            Some(Place::Cell { tab, row, .. }) => {
                *tab == self.tab && Some(row) != self.variants.first() && *row > self.header
            }
            _ => false,
        };
        let asks = |it: &&Diagnostic| it.name == Name::TwoStatements;
        let of_all = self.asked_of_all.get_or_init(|| {
            let said = self.cautions.iter().filter(asks).filter(|it| !of_row(it)).cloned();
            let said = said.chain(self.said_of_shared());
            let asked = said.filter(|it| it.severity == Severity::Caution);
            asked.filter(|it| it.name != Name::PlateNotation).map(|it| it.headline).collect()
        });
        let here = |it: &&Diagnostic| matches!(it.place, Some(Place::Cell { row, .. }) if row == variant.row);
        let own_cell = self.cautions.iter().filter(asks).filter(|it| of_row(it)).filter(here);
        let own = own.into_iter().chain(own_cell.map(|it| it.headline.clone()));
        let all: Vec<String> = own.chain(of_all.iter().cloned()).collect();
        ask(variant, &all);
    }

    /// Puts what is asked of a variant beside the others into its status, whether it was worked out here or read from a part.
    pub(super) fn with_questions(&self, variant: &mut Variant) {
        if let Some(beside) = self.asked.get(&variant.row) {
            ask(variant, beside);
        }
    }

    /// Puts what the sheet shows of an input into its column.
    fn put_usual(&self, column: &mut Column, known: &InputColumns) {
        let Some(input) = self.program.inputs.get(known.input) else { return };
        let Some(usual) = usual_of(input).first() else { return };
        match input.type_ {
            Type::Choice(_) => column.words.push(usize::try_from(usual.digits).unwrap_or(0)),
            _ => column.numbers.push(known.unit.from_si(usual.si_f64())),
        }
    }

    /// The inputs as a run by columns takes them.
    fn given<'c>(&'c self, columns: &'c [Column]) -> Vec<ColumnInput<'c>> {
        let program = &self.program;
        // what has neither column nor value is left out by the words of every row that is worked out here
        let mut shared = self.shared.clone();
        self.nowhere().for_each(|(_, input)| shared.spare(input));
        let mut given: Vec<ColumnInput<'c>> = program
            .inputs
            .iter()
            .map(|input| match shared.value(input) {
                Some(value) if shared.is_given(input) => ColumnInput::Same(value),
                _ => ColumnInput::Default,
            })
            .collect();
        for (known, column) in self.inputs.iter().zip(columns) {
            let is_word = program
                .inputs
                .get(known.input)
                .is_some_and(|input| matches!(input.type_, Type::Choice(_)));
            if let Some(to) = given.get_mut(known.input) {
                *to = if is_word {
                    ColumnInput::Words(&column.words)
                } else {
                    ColumnInput::Column { values: &column.numbers, unit: &known.unit }
                };
            }
        }
        given
    }

    fn by_columns(
        &self,
        tab: &Tab,
        row: u32,
        run: &ColumnsRun,
        at: usize,
        words: &mut BTreeMap<Vec<bool>, Arc<str>>,
    ) -> CalculatedVariant {
        let program = &self.program;
        let holds: Vec<bool> =
            run.checks.iter().map(|check| check.get(at).copied().unwrap_or(false)).collect();
        let number = |output: usize| match run.outputs.get(output) {
            Some(OutputColumn::Numbers(numbers)) => numbers.get(at).copied(),
            _ => None,
        };
        let margins: Vec<Option<MarginLeft>> = program
            .checks
            .iter()
            .zip(&self.sides)
            .map(|(check, sides)| {
                let ((relation, ..), (one, other)) = check.sides.zip(*sides)?;
                margin(relation, number(one)?, number(other)?)
            })
            .collect();
        let values = self.values(tab, row, &|result| match (
            run.outputs.get(result.output)?,
            &program.outputs.get(result.output)?.type_,
        ) {
            (OutputColumn::Numbers(numbers), Type::Choice(words)) => {
                let place = numbers.get(at).copied()?;
                let words = words.iter().enumerate();
                let found = words
                    .into_iter()
                    .find(|(at, _)| u32::try_from(*at).is_ok_and(|at| f64::from(at) == place));
                found.map(|(_, word)| RowValue::Text(word.clone()))
            }
            (OutputColumn::Numbers(numbers), _) => {
                numbers.get(at).map(|number| RowValue::One(*number))
            }
            (OutputColumn::Series(elements), _) => Some(RowValue::Many(
                elements.iter().filter_map(|element| element.get(at).copied()).collect(),
            )),
            (OutputColumn::Truths(truths), _) => {
                truths.get(at).map(|truth| RowValue::Text(truth_text(*truth)))
            }
        });
        let (verdict, status) = self.verdict(&holds, words);
        self.worked(row, (verdict, status), values, holds, margins)
    }

    /// A row that columns do not settle, or that is wrong.
    fn by_itself(&self, book: &Book, tab: &Tab, row: u32) -> CalculatedVariant {
        let results = match self.exactly(book, row) {
            Ok(results) => results,
            Err(problems) => return wrong(self, row, problems.into()),
        };
        if results.inputs().any_spread() {
            return self.by_worst(book, tab, row);
        }
        let program = &self.program;
        let holds: Vec<bool> =
            results.run().checks.iter().map(|check| check.holds == Ok(true)).collect();
        let margins: Vec<Option<MarginLeft>> = program
            .checks
            .iter()
            .zip(&results.run().checks)
            .map(|(check, found)| {
                let ((relation, ..), (one, other)) = check.sides.zip(found.sides.as_ref())?;
                margin(relation, one.to_f64(), other.to_f64())
            })
            .collect();
        let values = self.values(tab, row, &|result| exact(&results, result.output));
        let verdict = if results.holds() { VariantVerdict::Holds } else { VariantVerdict::Fails };
        // with the words of what never exists, which are this row's own
        let status = Arc::from(results.verdict_text());
        let status = self.with_left_out(status, &self.left_out_of(row, &results));
        self.worked(row, (verdict, status), values, holds, margins)
    }

    /// A row over its tolerances.
    fn by_worst(&self, book: &Book, tab: &Tab, row: u32) -> CalculatedVariant {
        let worst = match self.worst_of(book, row) {
            Ok(worst) => worst,
            Err(problems) => return wrong(self, row, problems.into()),
        };
        // the ranges of inputs come first, then the checks of the sheet
        let own = worst.checks().len().saturating_sub(self.program.checks.len());
        let checks = worst.checks().get(own..).unwrap_or_default();
        let values = self.values(tab, row, &|result| match result.end {
            None => exact(worst.nominal(), result.output),
            Some(end) => {
                end_of(&worst, result.output, end).or_else(|| exact(worst.nominal(), result.output))
            }
        });
        let proved = |check: &calculation::WorstCheck| {
            check.caution || check.verdict <= calculation::Verdict::NotProved
        };
        let verdict = match (worst.holds(), worst.checks().iter().all(proved)) {
            (true, _) => VariantVerdict::Holds,
            (false, true) if worst.ranges().iter().all(|range| range.may.is_none()) => {
                VariantVerdict::NotProved
            }
            _ => VariantVerdict::Fails,
        };
        let nominal = match self.shows_ends() || worst.uncertain().is_empty() {
            true => "",
            false => NOMINAL,
        };
        let status = Arc::from(format!("{}{nominal}", worst.verdict_text()));
        let status = self.with_left_out(status, &self.left_out_of(row, worst.nominal()));
        let margins: Vec<Option<MarginLeft>> = checks
            .iter()
            .map(|check| {
                let left = [check.least?, check.reached?];
                Some(MarginLeft { left, share: check.least_share()? })
            })
            .collect();
        let is = |verdict| move |check: &calculation::WorstCheck| check.verdict == verdict;
        let holds = checks.iter().map(is(calculation::Verdict::Holds)).collect();
        let open = checks.iter().map(is(calculation::Verdict::NotProved)).collect();
        CalculatedVariant { open, ..self.worked(row, (verdict, status), values, holds, margins) }
    }

    /// Whether columns show the lowest or the highest of a result.
    fn shows_ends(&self) -> bool {
        self.results.iter().any(|it| it.end.is_some())
    }

    fn worked(
        &self,
        row: u32,
        (verdict, status): (VariantVerdict, Arc<str>),
        mut values: Vec<NewValue>,
        holds: Vec<bool>,
        margins: Vec<Option<MarginLeft>>,
    ) -> CalculatedVariant {
        if verdict != VariantVerdict::Holds {
            self.mark_settings(&mut values);
        }
        let least = self.least(&holds, &margins);
        let problems = Vec::new();
        let variant = Variant { row, verdict, status, values, least, problems };
        CalculatedVariant { variant, holds, open: Vec::new(), margins }
    }

    /// Settings of a row that does not hold, in words that no drive and no formula takes for a number.
    fn mark_settings(&self, values: &mut [NewValue]) {
        for (value, column) in values.iter_mut().zip(&self.results) {
            let output = self.program.outputs.get(column.output);
            if let (NewValue::Number(number), true) =
                (&*value, output.is_some_and(|output| output.setting.is_some()))
            {
                let shown = format!("{number} {}", column.unit.symbol);
                *value = NewValue::Text(format!("{NOT_TO_BE_SET} ({})", shown.trim_end()));
            }
        }
    }

    /// What the result columns of a row take.
    fn values(
        &self,
        tab: &Tab,
        row: u32,
        found: &dyn Fn(&ResultColumn) -> Option<RowValue>,
    ) -> Vec<NewValue> {
        let mut values = Vec::with_capacity(self.results.len());
        for (at, result) in self.results.iter().enumerate() {
            let same =
                |other: &&ResultColumn| other.output == result.output && other.end == result.end;
            let position = Position { row, column: result.column };
            // a cell formatted as a percentage holds the fraction
            let fraction = result.unit.dimension.is_none()
                && !result.unit.symbol.is_empty()
                && tab.shows_percent(position);
            let number =
                |value: f64| if fraction { tidy(value) } else { tidy(result.unit.from_si(value)) };
            values.push(match found(result) {
                Some(RowValue::One(value)) => NewValue::Number(number(value)),
                Some(RowValue::Limit { limit, reached }) => {
                    let upwards = result.end == Some(End::Highest);
                    let own = |value| if fraction { value } else { result.unit.from_si(value) };
                    NewValue::Number(tidy_outward(own(limit), own(reached), upwards))
                }
                Some(RowValue::Text(text)) => NewValue::Text(text),
                Some(RowValue::Many(all)) => {
                    let cells = self.results.iter().filter(same).count();
                    let place = self.results.iter().take(at).filter(same).count();
                    match (cells >= all.len().max(2), place) {
                        (true, _) => all
                            .get(place)
                            .map_or(NewValue::Empty, |value| NewValue::Number(number(*value))),
                        (false, 0) => NewValue::Text(
                            all.iter()
                                .map(|value| number(*value).to_string())
                                .collect::<Vec<_>>()
                                .join("; "),
                        ),
                        (false, _) => NewValue::Empty,
                    }
                }
                None => NewValue::Empty,
            });
        }
        values
    }

    /// The least share among the margins of checks that are more than a caution; none where the only checks that fail
    /// have none.
    fn least(&self, holds: &[bool], margins: &[Option<MarginLeft>]) -> Option<Least> {
        let checks = self.program.checks.iter().zip(holds.iter().zip(margins)).enumerate();
        let counted = checks.filter(|(_, (check, _))| !check.caution);
        let fails = counted.clone().any(|(_, (_, (holds, _)))| !holds);
        let shares = counted.filter(|(_, (_, (holds, _)))| !fails || !**holds).filter_map(
            |(check, (_, (_, margin)))| Some(Least { check, share: margin.as_ref()?.share }),
        );
        shares.min_by(|one, other| one.share.total_cmp(&other.share))
    }

    fn verdict(
        &self,
        holds: &[bool],
        words: &mut BTreeMap<Vec<bool>, Arc<str>>,
    ) -> (VariantVerdict, Arc<str>) {
        let checks = self.program.checks.iter().zip(holds);
        let fails = checks.clone().any(|(check, holds)| !holds && !check.caution);
        let status = words.entry(holds.to_vec()).or_insert_with(|| {
            let verdict = checks.map(|(check, holds)| {
                let verdict = match (holds, check.caution) {
                    (true, _) => calculation::Verdict::Holds,
                    (false, true) => calculation::Verdict::Caution,
                    (false, false) => calculation::Verdict::Fails,
                };
                (verdict, check.text.as_str(), check.otherwise.as_str(), false)
            });
            Arc::from(verdict_text(verdict))
        });
        (if fails { VariantVerdict::Fails } else { VariantVerdict::Holds }, Arc::clone(status))
    }
}

fn ask(variant: &mut Variant, questions: &[String]) {
    if !questions.is_empty() && variant.verdict != VariantVerdict::Wrong {
        variant.status = Arc::from(with_questions(&variant.status, questions));
    }
}

/// An end of what a result can be.
fn end_of(worst: &calculation::WorstCase, output: usize, end: End) -> Option<RowValue> {
    let range = worst.ranges().iter().find(|range| range.output == output)?;
    if range.may.is_some() {
        return Some(RowValue::Text("may not exist".to_owned()));
    }
    let extreme = if end == End::Lowest { &range.low } else { &range.high };
    Some(match extreme.limit {
        None => RowValue::One(extreme.reached.to_f64()),
        Some(limit) if limit.is_finite() => {
            RowValue::Limit { limit, reached: extreme.reached.to_f64() }
        }
        Some(_) => RowValue::Text(format!("no {} value is proved", end.word())),
    })
}

/// What a result holds in one row, numbers in coherent SI.
enum RowValue {
    One(f64),
    /// A bound that is never gone beyond, and the value nearest to it that is reached.
    Limit {
        limit: f64,
        reached: f64,
    },
    Many(Vec<f64>),
    Text(String),
}

#[derive(Default)]
struct Column {
    numbers: Vec<f64>,
    words: Vec<usize>,
}

fn exact(results: &Results, output: usize) -> Option<RowValue> {
    let output = results.program().outputs.get(output)?;
    if results.never(output).is_some() {
        return Some(RowValue::Text(results.to_text(output)));
    }
    match (results.slot(output)?, &output.type_) {
        (Slot::One(value), Type::Number { .. }) => Some(RowValue::One(value.to_f64())),
        (Slot::Many(values), _) => {
            Some(RowValue::Many(values.iter().map(crate::number::Exact::to_f64).collect()))
        }
        (Slot::One(value), Type::Choice(_)) => {
            Some(RowValue::Text(match results.to_text(output) {
                words if words.is_empty() => show_in(value, &Unit::one()),
                words => words,
            }))
        }
        (Slot::Truth(truth), _) => Some(RowValue::Text(truth_text(*truth))),
        _ => None,
    }
}

fn truth_text(truth: bool) -> String {
    (if truth { "holds" } else { "does not hold" }).to_owned()
}

/// What is left of a limit; none for `=` and `<>`.
fn margin(relation: Relation, one: f64, other: f64) -> Option<MarginLeft> {
    let left = match relation {
        Relation::Below | Relation::AtMost => other - one,
        Relation::Above | Relation::AtLeast => one - other,
        Relation::Equal | Relation::Unequal => return None,
    };
    let larger = one.abs().max(other.abs());
    let share = if larger == 0.0 { 0.0 } else { left / larger };
    left.is_finite().then_some(MarginLeft { left: [left, left], share })
}

/// A number with the digits that are written.
fn tidy(number: f64) -> f64 {
    format!("{number:.*e}", WRITTEN - 1).parse().unwrap_or(number)
}

/// By what part of itself a bound may lie beyond what is reached, for no other reason than the digits of its enclosure.
const SAME: f64 = 1e-12;

/// A bound with the digits that are written: never further in, and what is reached where the two are the same but for
/// rounding on the way.
fn tidy_outward(limit: f64, reached: f64, upwards: bool) -> f64 {
    if (limit - reached).abs() <= SAME * reached.abs() {
        return tidy(reached);
    }
    let near = tidy(limit);
    let inside = if upwards { near < limit } else { near > limit };
    if !inside {
        return near;
    }
    let step = limit.abs() * 10.0 / 10_f64.powi(14);
    tidy(if upwards { limit + step } else { limit - step })
}

pub(super) fn status_of_wrong(problems: &[Diagnostic]) -> Arc<str> {
    let first = problems
        .first()
        .map_or("the row could not be calculated", |problem| problem.headline.as_str());
    let more = problems.len().saturating_sub(1);
    let more = if more == 0 { String::new() } else { format!(" (and {more} more)") };
    Arc::from(format!("not calculated: {first}{more}"))
}

fn wrong(line: &ProductLine, row: u32, problems: Vec<Diagnostic>) -> CalculatedVariant {
    CalculatedVariant {
        variant: Variant {
            row,
            verdict: VariantVerdict::Wrong,
            status: status_of_wrong(&problems),
            values: vec![NewValue::Empty; line.results.len()],
            least: None,
            problems,
        },
        holds: Vec::new(),
        open: Vec::new(),
        margins: Vec::new(),
    }
}

impl Outcome {
    fn take(&mut self, worked: CalculatedVariant) {
        let row = worked.variant.row;
        let margins = worked.margins.into_iter().chain(std::iter::repeat(None));
        let mut open = worked.open.into_iter();
        for ((tally, holds), margin) in self.checks.iter_mut().zip(worked.holds).zip(margins) {
            let open = open.next().unwrap_or(false);
            let left = margin.map(|margin: MarginLeft| margin.left);
            tally.join(Tally {
                fails: usize::from(!holds && !open),
                not_proved: usize::from(open),
                worst: (!holds || left.is_some()).then_some(Worst { left, row }),
            });
        }
        self.variants.push(worked.variant);
    }

    /// Appends what came out for the variants behind these.
    pub(super) fn join(&mut self, other: Self) {
        self.checks.resize(self.checks.len().max(other.checks.len()), Tally::default());
        for (tally, more) in self.checks.iter_mut().zip(other.checks) {
            tally.join(more);
        }
        self.variants.extend(other.variants);
    }
}

impl Tally {
    pub(super) fn join(&mut self, other: Self) {
        self.fails += other.fails;
        self.not_proved += other.not_proved;
        self.worst = match (self.worst, other.worst) {
            (Some(known), Some(more)) if more.is_before(&known) => Some(more),
            (known, more) => known.or(more),
        };
    }
}

impl Worst {
    /// Whether it is worse than one of an earlier row.
    fn is_before(&self, known: &Self) -> bool {
        match (self.left, known.left) {
            // what differs by rounding alone is equal, and the earlier row stands
            (Some(left), Some(known)) => {
                let apart =
                    |it: &(f64, f64)| (it.0 - it.1).abs() > 1e-12 * it.0.abs().max(it.1.abs());
                left.into_iter().zip(known).find(apart).is_some_and(|(left, known)| left < known)
            }
            (left, known) => left.is_none() && known.is_some(),
        }
    }
}
