//! Checks against one another and against the ranges: two that never hold together, and one that always holds.

use std::collections::{BTreeSet, HashMap};

use super::{Cells, Compiler, Condition, Scope, Sheet, decided_check, decided_where};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::{Check, Expression};
use crate::program::extents::{Compared, Extents};
use crate::program::flat::{Op, Register, Relation};
use crate::program::scope::{Asks, Question};
use crate::program::signs::Signs;

/// What the ranges say of the values of a program.
struct Ranges<'a> {
    extents: Extents<'a>,
    signs: Signs<'a>,
    ops: HashMap<Register, &'a Op>,
}

impl Compiler<'_> {
    /// Two checks of which one fails whatever the values are.
    pub(super) fn never_together(&mut self, sheet: &Sheet) {
        let checks: Vec<&Check> = sheet.tree.holds.iter().filter(|it| !it.caution).collect();
        for (at, second) in checks.iter().enumerate() {
            for first in checks.iter().take(at) {
                let hidden = BTreeSet::new();
                let scope = Scope { takes: &[], hidden: &hidden };
                let mut cells = Cells::default();
                let [a, b] = [first, second].map(|it| cells.condition(&it.condition, scope));
                let Some(all) = cells.combinations() else { continue };
                let can = |it: &Condition| all.iter().any(|cell| cells.holds(it, cell));
                let together = all.iter().any(|it| cells.holds(&a, it) && cells.holds(&b, it));
                if together || !can(&a) || !can(&b) {
                    continue;
                }
                self.problems.push(
                    Diagnostic::error(
                        Name::DecidedCheck,
                        "this check and another can never hold together",
                    )
                    .at(sheet.place(&second.condition.span))
                    .label(sheet.place(&first.condition.span), "the other")
                    .remedy("correct one of the two, or make one of them `else caution`"),
                );
            }
        }
    }

    /// Asks of the ranges of the asked sheet what stands here, once they are known.
    pub(in crate::program) fn ask_of_ranges(&mut self, sheet: &Sheet, at: &Expression, asks: Asks) {
        if sheet.path.is_empty() {
            self.questions.push(Question { place: sheet.place(&at.span), asks });
        }
    }

    /// Cases that are never reached, elements that are never or always taken, and values of `max` and `min` that decide
    /// nothing, within the ranges of the inputs. What stands in a function is asked at each of its calls: it is said
    /// where all of them agree.
    pub(in crate::program) fn answered_by_ranges(&mut self) {
        let questions = std::mem::take(&mut self.questions);
        let mut ranges = Ranges {
            extents: Extents::new(self.ops(), &self.program),
            signs: Signs::of_parts(self.ops(), &self.program),
            ops: self.ops(),
        };
        let mut answers: Vec<(&Question, Option<Diagnostic>)> = Vec::new();
        let of_comparison = |it: &Question| matches!(it.asks, Asks::Compared { .. });
        for question in &questions {
            let answer = self.answer(&mut ranges, question);
            let same = |(before, _): &&mut (&Question, _)| {
                before.place == question.place && of_comparison(before) == of_comparison(question)
            };
            match answers.iter_mut().find(same) {
                Some((_, before)) if *before == answer => {}
                Some((_, before)) => *before = None,
                None => answers.push((question, answer)),
            }
        }
        // what is said of a condition says it of its comparisons
        answers.sort_by_key(|(question, _)| of_comparison(question));
        let mut said: Vec<&Place> = Vec::new();
        for (question, answer) in answers {
            let behind = match &question.asks {
                Asks::Case { behind, .. } => behind.as_ref(),
                _ => None,
            };
            let is_known = self
                .problems
                .iter()
                .any(|known| known.name == Name::UnreachedCase && known.place.as_ref() == behind);
            if answer.is_some() || is_known {
                let is_new = !said.iter().any(|known| meet(known, &question.place));
                said.push(&question.place);
                let answer = answer.filter(|it| {
                    is_new && !self.is_said(it) && !(of_comparison(question) && self.is_decided(it))
                });
                self.problems.extend(answer);
            }
        }
    }

    fn is_said(&self, new: &Diagnostic) -> bool {
        self.problems.iter().any(|known| known.name == new.name && known.place == new.place)
    }

    /// Whether what decides a comparison is said already, of it or of what holds it.
    fn is_decided(&self, comparison: &Diagnostic) -> bool {
        let names = [Name::DecidedCheck, Name::UnreachedCase, Name::ChangesNothing];
        self.problems.iter().filter(|it| it.is_error() && names.contains(&it.name)).any(|known| {
            let places = known.place.as_ref().zip(comparison.place.as_ref());
            places.is_some_and(|(a, b)| meet(a, b))
        })
    }

    fn answer(&self, ranges: &mut Ranges<'_>, question: &Question) -> Option<Diagnostic> {
        // a condition on what may never exist comes to nothing where it does not
        let decided = |ranges: &mut Ranges<'_>, truth: Register| {
            ranges.extents.decided(truth).filter(|it| !it || !self.may_never_exist(truth))
        };
        let place = &question.place;
        match &question.asks {
            Asks::Case { truth, behind } => {
                let (place, headline) = match (decided(ranges, *truth)?, behind) {
                    (true, behind) => {
                        (behind.as_ref()?, "this case is never reached: that above it always comes")
                    }
                    (false, _) => (place, "this case is never reached: its condition never holds"),
                };
                let problem = Diagnostic::error(Name::UnreachedCase, headline).at(place.clone());
                Some(problem.remedy("write the condition that is meant, or leave the case out"))
            }
            Asks::Compared { truth, words: [a, b], shared } => {
                let found = ranges.extents.compared(*truth);
                let headline = match (found, shared) {
                    (Some(Compared::ByANumber(by)), _) => {
                        let times = if by == 1.0 { "" } else { " times a number" };
                        format!("`{a}` and `{b}` are compared, and one is the other{times}")
                    }
                    (Some(Compared::Decided(holds)), _) => format!(
                        "`{a}` and `{b}` hold the same, and what is left of them decides: this {} holds",
                        if holds { "always" } else { "never" }
                    ),
                    (None, Some(term)) => {
                        format!("`{term}` stands on both sides, where it decides nothing")
                    }
                    (None, None) => return None,
                };
                let problem = Diagnostic::error(Name::ChangesNothing, headline).at(place.clone());
                Some(problem.remedy("write the value that is meant on one of the two sides"))
            }
            Asks::Taken { truth } => {
                decided(ranges, *truth).map(|holds| decided_where(place, holds))
            }
            Asks::Extreme { words: [name, before, text], values: [a, b], larger } => {
                let Ranges { extents, signs, ops } = ranges;
                let by_order = [(a, b, Relation::AtLeast), (b, a, Relation::AtMost)]
                    .into_iter()
                    .find(|(larger, smaller, _)| signs.is_ordered(**larger, **smaller));
                // a number as a bound, such as 0 s, may stand there for safety
                let written = [a, b].iter().any(|it| matches!(ops.get(it), Some(Op::Literal(_))));
                let by_order = by_order.filter(|_| a != b && !written).map(|(.., stands)| stands);
                let stands = extents.stands(*a, *b).or(by_order)?;
                let first_is_taken = (stands == Relation::AtLeast) == *larger;
                let (taken, idle) = if first_is_taken { (before, text) } else { (text, before) };
                let headline = format!(
                    "`{idle}` decides nothing in this `{name}` within the ranges: it is always `{taken}`"
                );
                let problem = Diagnostic::caution(Name::ChangesNothing, headline);
                Some(
                    problem
                        .at(place.clone())
                        .remedy("write the value that is meant, or leave it out"),
                )
            }
        }
    }

    /// Checks that hold, or fail, for every value within the ranges of the inputs.
    pub(in crate::program) fn held_by_ranges(&mut self, registers: &[(Place, Register)]) {
        let ops = self.ops();
        let mut signs = Signs::of_ranges(ops, &self.program);
        let mut extents = Extents::new(self.ops(), &self.program);
        let ops = self.ops();
        let decided = registers.iter().filter_map(|(place, register)| {
            let sides = match ops.get(register) {
                Some(Op::Compare(Relation::AtLeast, a, b)) => Some((*a, *b)),
                Some(Op::Compare(Relation::AtMost, a, b)) => Some((*b, *a)),
                _ => None,
            };
            let ordered = sides.is_some_and(|(larger, smaller)| signs.is_ordered(larger, smaller));
            let outcome = if ordered { Some(true) } else { extents.decided(*register) };
            // a check on what may never exist fails where it does not
            outcome
                .filter(|holds| ordered || !holds || !self.may_never_exist(*register))
                .map(|holds| decided_check(place, holds))
                .filter(|it| !self.is_said(it))
        });
        let found: Vec<Diagnostic> = decided.collect();
        self.problems.extend(found);
    }
}

/// Whether two places have a sign in common.
fn meet(a: &Place, b: &Place) -> bool {
    match (a, b) {
        (Place::Text { source: one, span: x }, Place::Text { source: other, span: y }) => {
            one.is_same(other) && x.0 < y.1 && y.0 < x.1
        }
        _ => false,
    }
}
