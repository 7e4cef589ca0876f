//! A product line in a review: how its variants come out, and the least that each check has left.

use std::sync::Arc;

use super::given::given;
use crate::calculation::{Margin, Verdict};
use crate::diagnostic::{Diagnostic, Problems};
use crate::program::Program;
use crate::report::markdown::signs;
use crate::report::tolerance;
use crate::spreadsheet::Book;
use crate::workbook::range::{LeftInRow, Outcome, ProductLine, Variant, VariantVerdict};

/// A product line that a document shows.
#[derive(Clone, Debug)]
pub struct ProductReview {
    /// Name under which the text speaks of it.
    pub alias: String,
    /// The sheet.
    pub(super) program: Arc<Program>,
    /// Workbook and tab, in words.
    pub from: String,
    /// Whether any value has a tolerance: verdicts and margins are those over the tolerances then.
    pub(super) toleranced: bool,
    /// How many variants hold.
    pub holds: usize,
    /// How many fail or are not proved.
    pub fails: usize,
    /// How many of those are not proved.
    pub(super) not_proved: usize,
    /// The variants that fail or are not proved, by name and row.
    pub failing: Vec<String>,
    /// The variants of which a caution was found, by name and row; a variant may fail as well.
    pub cautioned: Vec<String>,
    /// What is said of variants, as `range` says it.
    pub(super) said: Vec<Diagnostic>,
    /// What is said of the first variant found whose inputs are those of the sheet's example; empty where none is.
    pub examples: String,
    /// Whether nothing of it may be signed for that.
    pub(super) unsigned: bool,
    /// What became of each check.
    pub(super) checks: Vec<LineCheck>,
    /// The variants with the least left, the worst first.
    pub(super) worst: Vec<WorstVariant>,
}

/// Most variants that are listed one by one.
const WORST: usize = 10;

/// What became of a check over all variants.
#[derive(Clone, Debug)]
pub(super) struct LineCheck {
    /// The check in words, with the path of the used sheet it belongs to.
    pub(super) text: String,
    /// Whether it only cautions.
    pub(super) caution: bool,
    /// In how many variants it fails.
    pub(super) fails: usize,
    /// In how many variants it is not proved.
    pub(super) not_proved: usize,
    /// What each variant has left, as a share of the larger side, and whether it holds.
    pub(super) left: Vec<(f64, bool)>,
    /// The variant that is worst.
    pub(super) worst: Option<LeastMargin>,
}

/// The variant that is worst in a check, as `range` names it.
#[derive(Clone, Debug)]
pub(super) struct LeastMargin {
    /// The variant, by its name and row.
    pub(super) variant: String,
    /// Both sides and what is left; none where it fails without.
    pub(super) margin: Option<Margin>,
    /// What is left, as a share of the larger side.
    pub(super) share: Option<f64>,
}

/// A variant that has little left.
#[derive(Clone, Debug)]
pub(super) struct WorstVariant {
    /// Its name and row.
    pub(super) name: String,
    /// The check that has least, by its place.
    pub(super) check: usize,
    /// Both sides of that check and what is left; none where it compares nothing.
    pub(super) margin: Option<Margin>,
    /// Of each check: what is left as a share of the larger side, and whether it holds.
    pub(super) left: Vec<(Option<f64>, bool)>,
    /// Its inputs as they were given, by name, where it does not hold; empty where it does.
    pub(super) inputs: Vec<(String, String)>,
}

impl ProductReview {
    /// Calculates every variant; each row that is wrong is a problem.
    ///
    /// # Errors
    /// Every problem of every row.
    pub(super) fn compute(alias: &str, book: &Book, line: &ProductLine) -> Result<Self, Problems> {
        let (outcome, left) = line.compute_with_shares(book);
        let problems: Vec<Diagnostic> =
            outcome.variants.iter().flat_map(|variant| variant.problems.clone()).collect();
        if !problems.is_empty() {
            return Err(problems.into());
        }
        let examples = line.not_your_machine(book, &outcome.variants);
        let (examples, unsigned) = examples.unwrap_or_default();
        let named = |row: u32| line.variant_text(book, row);
        let open = |one: &&Variant| one.verdict != VariantVerdict::Holds;
        let is_cautioned = |one: &&LeftInRow| {
            let mut checks = one.checks.iter().zip(&line.program.checks);
            checks.any(|((_, holds), check)| check.caution && !holds)
        };
        Ok(Self {
            alias: alias.to_owned(),
            program: Arc::clone(&line.program),
            from: if line.tab.is_empty() {
                book.name.clone()
            } else {
                format!("{} ▸ {}", book.name, line.tab)
            },
            toleranced: line.worst,
            holds: outcome.count(VariantVerdict::Holds),
            fails: outcome.count(VariantVerdict::Fails) + outcome.count(VariantVerdict::NotProved),
            not_proved: outcome.count(VariantVerdict::NotProved),
            failing: outcome.variants.iter().filter(open).map(|one| named(one.row)).collect(),
            said: line
                .said_of_rows(book, &line.variants)
                .into_iter()
                .chain(line.set_apart(book))
                .collect(),
            examples,
            unsigned,
            cautioned: left.iter().filter(is_cautioned).map(|one| named(one.row)).collect(),
            worst: worst(book, line, &left),
            checks: checks(book, line, &outcome, &left),
        })
    }

    /// How the variants come out, in words.
    #[must_use]
    pub fn to_text(&self) -> String {
        let all = self.holds + self.fails;
        let within = if self.toleranced { " within the tolerances" } else { "" };
        let words = match (all, self.fails) {
            (1, 0) if self.checks.is_empty() => "the only variant is not checked".to_owned(),
            (_, 0) if self.checks.is_empty() => format!("none of the {all} variants is checked"),
            (1, 0) => format!("the only variant holds{within}"),
            (_, 0) => format!("all {all} variants hold{within}"),
            (_, open) => {
                let open = match (open - self.not_proved, self.not_proved) {
                    (0, open) => format!("{open} of {all} variants NOT PROVED{within}"),
                    (1, 0) => format!("1 of {all} variants FAILS{within}"),
                    (fails, 0) => format!("{fails} of {all} variants FAIL{within}"),
                    (1, open) => format!("1 of {all} variants FAILS{within}, {open} NOT PROVED"),
                    (fails, open) => {
                        format!("{fails} of {all} variants FAIL{within}, {open} NOT PROVED")
                    }
                };
                format!("{open}: {}", few(&self.failing))
            }
        };
        match self.cautioned.len() {
            0 => words,
            count => format!("{words}; {count} with a caution: {}", few(&self.cautioned)),
        }
    }

    /// How many of the variants are listed as the worst, in words.
    pub(super) fn worst_text(&self) -> String {
        let all = self.holds + self.fails;
        match self.worst.len() {
            listed if listed == all => format!("All {all} variants, the worst first"),
            listed => format!("The worst {listed} of {all} variants"),
        }
    }

    /// The verdict on all variants.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        match (self.fails, self.cautioned.len() + self.said.len()) {
            (0, 0) => Verdict::Holds,
            (0, _) => Verdict::Caution,
            _ => Verdict::Fails,
        }
    }
}

/// Most variants that a sentence names.
const NAMED: usize = 3;

/// The first of some names, and how many more there are.
fn few(names: &[String]) -> String {
    let first = names.get(..NAMED).unwrap_or(names).join(", ");
    match names.len().saturating_sub(NAMED) {
        0 => first,
        more => format!("{first} (and {more} more)"),
    }
}

fn checks(
    book: &Book,
    line: &ProductLine,
    outcome: &Outcome,
    left: &[LeftInRow],
) -> Vec<LineCheck> {
    let all = line.program.checks.iter().zip(&outcome.checks).enumerate();
    let rows = all.map(|(at, (check, tally))| {
        let shares = left.iter().filter_map(|variant| {
            let (share, holds) = variant.checks.get(at)?;
            Some((share.as_ref()?, *holds, variant.row))
        });
        let worst = tally.worst.map(|worst| LeastMargin {
            variant: line.variant_text(book, worst.row),
            margin: margin(book, line, worst.row, at),
            share: shares.clone().find(|(.., row)| *row == worst.row).map(|(share, ..)| *share),
        });
        let text = check.label();
        let left = shares.map(|(share, holds, _)| (*share, holds)).collect();
        LineCheck {
            text,
            caution: check.caution,
            fails: tally.fails,
            not_proved: tally.not_proved,
            left,
            worst,
        }
    });
    rows.collect()
}

impl WorstVariant {
    /// What it has left of its tightest check, as a share of the larger side.
    pub(super) fn share(&self) -> Option<f64> {
        self.left.get(self.check)?.0
    }
}

impl LineCheck {
    /// In how many variants it does not hold, with the word for how; nothing where it holds in all.
    pub(super) fn open(&self) -> Vec<(Verdict, usize)> {
        let fails = if self.caution { Verdict::Caution } else { Verdict::Fails };
        let all = [(fails, self.fails), (Verdict::NotProved, self.not_proved)];
        all.into_iter().filter(|(_, count)| *count > 0).collect()
    }

    /// What its worst variant has left, and where; empty where it fails without.
    pub(super) fn least(&self) -> [String; 3] {
        let Some(worst) = &self.worst else { return Default::default() };
        let margin = worst.margin.as_ref();
        let left = margin.and_then(|margin| margin.left.clone()).unwrap_or_default();
        [left, margin.map_or_else(String::new, |it| signs(&it.sides)), worst.variant.clone()]
    }
}

/// The variants with the least left among the checks that are more than a caution; those that fail first.
fn worst(book: &Book, line: &ProductLine, left: &[LeftInRow]) -> Vec<WorstVariant> {
    let mut found: Vec<(bool, f64, usize, &LeftInRow)> = left
        .iter()
        .filter_map(|variant| {
            let checks = variant.checks.iter().zip(&line.program.checks).enumerate();
            let counted = checks.filter(|(_, (_, check))| !check.caution);
            // a check that fails without a share has all of it to make up
            let least = counted
                .filter_map(|(at, ((share, holds), _))| {
                    Some((*holds, share.or((!holds).then_some(-1.0))?, at))
                })
                .min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
            Some((least.0, least.1, least.2, variant))
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.3.row.cmp(&b.3.row)));
    let worst = found.into_iter().take(WORST).map(|(holds, _, check, variant)| WorstVariant {
        inputs: if holds { Vec::new() } else { inputs(book, line, variant.row) },
        name: line.variant_text(book, variant.row),
        check,
        margin: margin(book, line, variant.row, check),
        left: variant.checks.clone(),
    });
    worst.collect()
}

/// What a variant was calculated with.
fn inputs(book: &Book, line: &ProductLine, row: u32) -> Vec<(String, String)> {
    let Ok(results) = line.exactly(book, row) else { return Vec::new() };
    let all = results.program().inputs.iter().filter(|it| !results.inputs().is_spared(it));
    let all = all.map(|input| {
        let reach = tolerance(&results, input).map(|it| format!(" ({it})"));
        (input.name.clone(), given(&results, input) + &reach.unwrap_or_default())
    });
    all.collect()
}

/// Both sides of a check in a variant, or where within its tolerances it is tightest, and what is left there.
fn margin(book: &Book, line: &ProductLine, row: u32, check: usize) -> Option<Margin> {
    line.left_of(book, row, check)?.margin
}
