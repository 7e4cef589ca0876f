//! Columns and shared values that have no effect: in any variant that is looked at, or where words of a choice leave
//! them out.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};

use super::ProductLine;
use super::row::Plain;
use crate::calculation::Results;
use crate::calculation::unused::usual_of;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Input, Type};
use crate::spreadsheet::{Book, Position};

/// How many variants of a block are looked at, as long as an input has had no effect in any of them: a right line is not
/// refused because few of its machines need an input.
const LOOKED_AT: usize = 64;

/// What is known of inputs without effect while variants are worked out.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// Those without effect in every variant looked at so far; none before the first.
    always: Option<BTreeSet<usize>>,
    /// Those that a case leaves out, by the words of the columns of choices and the signs of the numbers, and whether words
    /// alone do.
    by_case: BTreeMap<Vec<Option<usize>>, Arc<BTreeMap<usize, bool>>>,
    /// The rows in which an input is left out that has a value of its own.
    left_out: BTreeMap<usize, BTreeSet<u32>>,
}

pub(super) type Idle = Arc<Mutex<Known>>;

impl ProductLine {
    /// Looks at some rows, first and last among them, for inputs that have an effect.
    pub(super) fn look_for_effects(&self, book: &Book, rows: &[u32]) {
        let last = rows.len().saturating_sub(1);
        let some: BTreeSet<usize> = (0..LOOKED_AT).map(|at| at * last / (LOOKED_AT - 1)).collect();
        for row in some.into_iter().filter_map(|at| rows.get(at)) {
            let settled = |idle: &Known| idle.always.as_ref().is_some_and(BTreeSet::is_empty);
            if self.idle.lock().is_ok_and(|idle| settled(&idle)) {
                return;
            }
            let Ok(results) = self.exactly(book, *row) else { continue };
            let found: BTreeSet<usize> = results.idle().into_iter().collect();
            if let Ok(mut idle) = self.idle.lock() {
                idle.always = Some(match idle.always.take() {
                    Some(before) => before.intersection(&found).copied().collect(),
                    None => found,
                });
            }
        }
    }

    /// Columns and shared values that differ from the sheet's default and have no effect in any of the variants
    /// looked at, each at its heading; after the variants have been calculated.
    #[must_use]
    pub fn without_effect(&self, book: &Book) -> Vec<Diagnostic> {
        let idle = self.idle.lock().ok().and_then(|idle| idle.always.clone()).unwrap_or_default();
        let problems = idle.into_iter().filter_map(|at| {
            let input = self.program.inputs.get(at)?;
            let words = format!(
                "`{}` is given, and nothing that is calculated depends on it in the variants looked at",
                input.name
            );
            let remedy =
                format!("take `{}` out, or change the input that leaves it out", input.name);
            let problem = Diagnostic::error(Name::InputWithoutEffect, words);
            Some(problem.at(self.given_at(book, at, input)).remedy(remedy))
        });
        problems.collect()
    }

    /// Columns and shared values with values of their own that are left out in some variants, each
    /// at its heading; after the variants have been calculated.
    #[must_use]
    pub fn left_out(&self, book: &Book) -> Vec<Diagnostic> {
        let found = self.idle.lock().map(|idle| idle.left_out.clone()).unwrap_or_default();
        let cautions = found.into_iter().filter_map(|(at, rows)| {
            let input = self.program.inputs.get(at)?;
            let (name, first) = (&input.name, self.variant_text(book, *rows.first()?));
            let words = match rows.len() {
                1 => format!("`{name}` is given, and in {first} nothing that is calculated depends on it"),
                count => format!(
                    "`{name}` is given, and in {count} variants nothing that is calculated depends on it, first in {first}"
                ),
            };
            let caution = Diagnostic::caution(Name::InputWithoutEffect, words);
            Some(caution.at(self.given_at(book, at, input)).remedy(
                "make sure of what leaves it out there, such as a choice; if that is right, nothing is to be done",
            ))
        });
        cautions.collect()
    }

    /// The heading of an input, or where its shared value stands.
    fn given_at(&self, book: &Book, at: usize, input: &Input) -> Place {
        let column = self.inputs.iter().find(|known| known.input == at);
        match column.and_then(|known| known.columns.first()) {
            Some(column) => book.place(&self.tab, Position { row: self.header, column: *column }),
            None => self.shared.place(input),
        }
    }

    /// Those of a row worked out by itself that are left out.
    pub(super) fn left_out_of(&self, row: u32, results: &Results) -> Vec<usize> {
        let found: Vec<usize> = results.left_out_here().into_keys().collect();
        let differs = |at: &usize| {
            self.program
                .inputs
                .get(*at)
                .is_some_and(|it| results.inputs().is_given(it) && results.inputs().differs(it))
        };
        self.note_left_out(row, found.into_iter().filter(differs).collect())
    }

    /// The same of a row worked out by columns: rows with the same words leave out the same. What numbers leave out is
    /// looked for once for each pattern of their signs, and made sure of row by row.
    pub(super) fn left_out_of_plain(&self, book: &Book, row: u32, values: &[Plain]) -> Vec<usize> {
        let is_choice = |input: &Input| matches!(input.type_, Type::Choice(_));
        let chooses = self.program.inputs.iter().any(is_choice);
        let given = |at: usize, input: &Input| {
            let column = self.inputs.iter().any(|columns| columns.input == at);
            (input.default.is_some() || chooses) && (column || self.shared.is_given(input))
        };
        let mut all = self.program.inputs.iter().enumerate();
        if !all.any(|(at, input)| given(at, input)) {
            return Vec::new();
        }
        let case = values.iter().map(|value| match value {
            Plain::Word(word) => Some(*word),
            Plain::Number(number) if *number == 0.0 => None,
            Plain::Number(number) => Some(usize::from(*number > 0.0)),
        });
        let case: Vec<Option<usize>> = case.collect();
        let known = self.idle.lock().ok().and_then(|idle| idle.by_case.get(&case).cloned());
        let known = known.unwrap_or_else(|| {
            let results = self.exactly(book, row);
            let found = results.map(|it| it.left_out_here()).unwrap_or_default();
            let found = Arc::new(found);
            if let Ok(mut idle) = self.idle.lock() {
                idle.by_case.insert(case, Arc::clone(&found));
            }
            found
        });
        let differs = |at: &usize| {
            let Some(input) = self.program.inputs.get(*at) else { return false };
            let usual = usual_of(input).first();
            let mut columns = self.inputs.iter().zip(values);
            match columns.find(|(columns, _)| columns.input == *at) {
                Some((columns, Plain::Number(number))) => usual.is_none_or(|usual| {
                    let usual = columns.unit.from_si(usual.si_f64());
                    (number - usual).abs() > 1e-12 * usual.abs()
                }),
                Some((_, Plain::Word(word))) => {
                    usual.and_then(|it| usize::try_from(it.digits).ok()) != Some(*word)
                }
                None => self.shared.is_given(input) && self.shared.differs(input),
            }
        };
        let found = known.iter().filter(|(at, _)| differs(at));
        let mut found: Vec<(usize, bool)> = found.map(|(at, chosen)| (*at, *chosen)).collect();
        if found.iter().any(|(_, chosen)| !chosen) {
            let here = self.exactly(book, row).map(|it| it.left_out_here()).unwrap_or_default();
            found.retain(|(at, chosen)| *chosen || here.contains_key(at));
        }
        self.note_left_out(row, found.into_iter().map(|it| it.0).collect())
    }

    fn note_left_out(&self, row: u32, found: Vec<usize>) -> Vec<usize> {
        if let (false, Ok(mut idle)) = (found.is_empty(), self.idle.lock()) {
            for at in &found {
                idle.left_out.entry(*at).or_default().insert(row);
            }
        }
        found
    }

    /// What a status says besides.
    pub(super) fn with_left_out(&self, status: Arc<str>, left_out: &[usize]) -> Arc<str> {
        let inputs = left_out.iter().filter_map(|at| self.program.inputs.get(*at));
        let names: Vec<&str> = inputs.map(|input| input.name.as_str()).collect();
        match names.is_empty() {
            true => status,
            false => Arc::from(format!("{status}; without effect here: {}", names.join(", "))),
        }
    }
}
