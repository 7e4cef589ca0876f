//! A product line in a review: how its variants come out, and the least that each check has left.

use crate::calculation::Margin;
use crate::diagnostic::Diagnostic;
use crate::program::Relation;
use crate::workbook::Book;
use crate::workbook::range::{Outcome, ProductLine, Verdict};

/// A product line that a document shows.
#[derive(Clone, Debug)]
pub struct ProductReview {
    /// Name under which the text speaks of it.
    pub alias: String,
    /// Name of the sheet.
    pub sheet: String,
    /// Title of the sheet.
    pub title: String,
    /// Workbook and tab, in words.
    pub from: String,
    /// How many variants hold.
    pub holds: usize,
    /// How many fail.
    pub fails: usize,
    /// What became of each check.
    pub(super) checks: Vec<LineCheck>,
}

/// What became of a check over all variants.
#[derive(Clone, Debug)]
pub(super) struct LineCheck {
    /// The check in words, with the path of the used sheet it belongs to.
    pub(super) text: String,
    /// Whether it only cautions.
    pub(super) caution: bool,
    /// In how many variants it does not hold.
    pub(super) fails: usize,
    /// The variant with the least margin.
    pub(super) worst: Option<LeastMargin>,
}

/// The least margin of a check over all variants.
#[derive(Clone, Debug)]
pub(super) struct LeastMargin {
    /// The variant, by its name and row.
    pub(super) variant: String,
    /// Both sides and what is left.
    pub(super) margin: Margin,
    /// What is left, as part of the limit; none where the limit is zero.
    pub(super) part: Option<f64>,
}

impl ProductReview {
    /// Works out every variant; each row that is wrong is a problem.
    ///
    /// # Errors
    /// Every problem of every row.
    pub(super) fn work_out(
        alias: &str,
        book: &Book,
        line: &ProductLine,
    ) -> Result<Self, Vec<Diagnostic>> {
        let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let outcome = line.work_out(book, 0..line.variants.len(), threads, &|_| {});
        let problems: Vec<Diagnostic> =
            outcome.variants.iter().flat_map(|variant| variant.problems.clone()).collect();
        if !problems.is_empty() {
            return Err(problems);
        }
        Ok(Self {
            alias: alias.to_owned(),
            sheet: line.sheet.clone(),
            title: line.program.scopes.first().map(|scope| scope.title.clone()).unwrap_or_default(),
            from: format!("{} ▸ {}", book.name, line.tab),
            holds: outcome.count(Verdict::Holds),
            fails: outcome.count(Verdict::Fails),
            checks: checks(book, line, &outcome),
        })
    }

    /// How the variants come out, in words.
    #[must_use]
    pub fn in_words(&self) -> String {
        let all = self.holds + self.fails;
        match (all, self.fails) {
            (1, 0) => "the only variant holds".to_owned(),
            (_, 0) => format!("all {all} variants hold"),
            (_, fails) => format!("{fails} of {all} variants FAIL"),
        }
    }
}

fn checks(book: &Book, line: &ProductLine, outcome: &Outcome) -> Vec<LineCheck> {
    let summaries = line.checks(book, outcome);
    let rows = summaries.into_iter().enumerate().map(|(at, summary)| {
        let worst = summary.worst.map(|worst| LeastMargin {
            part: part(book, line, at, worst.row),
            variant: line.variant_in_words(book, worst.row),
            margin: worst.margin,
        });
        let text = if summary.path.is_empty() {
            summary.text
        } else {
            format!("{}: {}", summary.path, summary.text)
        };
        LineCheck { text, caution: summary.caution, fails: summary.fails, worst }
    });
    rows.collect()
}

/// What a check has left in a variant, as part of its limit, which stands on the right.
fn part(book: &Book, line: &ProductLine, check: usize, row: u32) -> Option<f64> {
    let results = line.exactly(book, row).ok()?;
    let (relation, ..) = line.program.checks.get(check)?.sides?;
    let (one, limit) = results.run().checks.get(check)?.sides.as_ref()?;
    let (one, limit) = (one.to_f64(), limit.to_f64());
    let left = match relation {
        Relation::Below | Relation::AtMost => limit - one,
        Relation::Above | Relation::AtLeast => one - limit,
        Relation::Equal | Relation::Unequal => return None,
    };
    (limit != 0.0).then(|| left / limit.abs())
}
