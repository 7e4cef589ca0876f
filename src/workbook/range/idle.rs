//! Columns and shared values that have no effect in the case of a variant.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};

use super::ProductLine;
use super::row::Plain;
use crate::calculation::Results;
use crate::calculation::unused::usual_of;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Input, Type};
use crate::spreadsheet::{Book, Position};

/// What is known of inputs without effect while variants are worked out.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// Those that a case leaves out, by the words of the columns of choices and the signs of the numbers, and whether words
    /// alone do.
    by_case: BTreeMap<Vec<Option<usize>>, Arc<BTreeMap<usize, bool>>>,
    /// The rows in which an input is left out that has a value of its own.
    left_out: BTreeMap<usize, BTreeSet<u32>>,
}

pub(super) type Idle = Arc<Mutex<Known>>;

impl ProductLine {
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

    /// The inputs without a default that have neither a column nor a shared value.
    pub(super) fn nowhere(&self) -> impl Iterator<Item = (usize, &Input)> {
        let all = self.program.inputs.iter().enumerate();
        all.filter(|(at, input)| {
            let column = || self.inputs.iter().any(|columns| columns.input == *at);
            input.default.is_none() && !self.shared.is_given(input) && !column()
        })
    }

    /// The same of a row worked out by columns: rows with the same words leave out the same. What numbers leave out is
    /// looked for once for each pattern of their signs, and made sure of row by row. None where an input is not given
    /// that words do not leave out.
    pub(super) fn left_out_of_plain(
        &self,
        book: &Book,
        row: u32,
        values: &[Plain],
    ) -> Option<Vec<usize>> {
        let is_choice = |input: &Input| matches!(input.type_, Type::Choice(_));
        let chooses = self.program.inputs.iter().any(is_choice);
        let given = |at: usize, input: &Input| {
            let column = self.inputs.iter().any(|columns| columns.input == at);
            (input.default.is_some() || chooses) && (column || self.shared.is_given(input))
        };
        let nothing = self.inputs.iter().zip(values);
        let nothing = nothing.filter(|(_, value)| matches!(value, Plain::Nothing));
        let nothing = nothing.map(|(columns, _)| columns.input);
        let missing: Vec<usize> = nothing.chain(self.nowhere().map(|(at, _)| at)).collect();
        let mut all = self.program.inputs.iter().enumerate();
        if missing.is_empty() && !all.any(|(at, input)| given(at, input)) {
            return Some(Vec::new());
        }
        let case = values.iter().map(|value| match value {
            Plain::Word(word) => Some(*word),
            Plain::Nothing => Some(usize::MAX),
            Plain::Number(number) if *number == 0.0 => None,
            Plain::Number(number) => Some(usize::from(*number > 0.0)),
        });
        let case: Vec<Option<usize>> = case.collect();
        let known = self.idle.lock().ok().and_then(|idle| idle.by_case.get(&case).cloned());
        let known = match known {
            Some(known) => known,
            None => {
                // what is wrong with this row need not be so with the next
                let found = Arc::new(self.exactly(book, row).ok()?.left_out_here());
                if let Ok(mut idle) = self.idle.lock() {
                    idle.by_case.insert(case, Arc::clone(&found));
                }
                found
            }
        };
        if !missing.iter().all(|at| known.get(at) == Some(&true)) {
            return None;
        }
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
                Some((_, Plain::Nothing)) => false,
                None => self.shared.is_given(input) && self.shared.differs(input),
            }
        };
        let found = known.iter().filter(|(at, _)| differs(at));
        let mut found: Vec<(usize, bool)> = found.map(|(at, chosen)| (*at, *chosen)).collect();
        if found.iter().any(|(_, chosen)| !chosen) {
            let here = self.exactly(book, row).map(|it| it.left_out_here()).unwrap_or_default();
            found.retain(|(at, chosen)| *chosen || here.contains_key(at));
        }
        Some(self.note_left_out(row, found.into_iter().map(|it| it.0).collect()))
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
