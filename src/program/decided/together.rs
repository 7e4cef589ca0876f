//! Checks against one another and against the ranges: two that never hold together, and one that always holds.

use std::collections::BTreeSet;

use super::{Cells, Compiler, Condition, Scope, Sheet, decided_check};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::Check;
use crate::program::extents::Extents;
use crate::program::flat::{Op, Register, Relation};
use crate::program::scope::Question;
use crate::program::signs::Signs;

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

    /// Whether what stands here is decided by the ranges of the asked sheet, and not by what a function is called with.
    pub(in crate::program) fn asks_of_ranges(&self, sheet: &Sheet) -> bool {
        sheet.path.is_empty()
            && self.calls == 0
            && sheet.locals.is_empty()
            && sheet.running.is_empty()
    }

    /// Cases that are never reached, and values of `max` and `min` that decide nothing, within the ranges of the inputs.
    pub(in crate::program) fn answered_by_ranges(&mut self) {
        let questions = std::mem::take(&mut self.questions);
        let mut extents = Extents::new(self.ops(), &self.program);
        let mut signs = Signs::of_parts(self.ops(), &self.program);
        let ops = self.ops();
        let mut found = Vec::new();
        for question in &questions {
            match question {
                Question::Case { place, truth, behind } => {
                    // a condition on what may never exist comes to nothing where it does not
                    let decided = extents.decided(*truth);
                    let Some(holds) = decided.filter(|it| !it || !self.may_never_exist(*truth))
                    else {
                        continue;
                    };
                    let (place, headline) = match (holds, behind) {
                        (true, None) => continue,
                        (true, Some(behind)) => {
                            (behind, "this case is never reached: that above it always comes")
                        }
                        (false, _) => {
                            (place, "this case is never reached: its condition never holds")
                        }
                    };
                    found.push(
                        Diagnostic::error(Name::UnreachedCase, headline)
                            .at(place.clone())
                            .remedy("write the condition that is meant, or leave the case out"),
                    );
                }
                Question::Extreme {
                    place,
                    words: [name, before, text],
                    values: [a, b],
                    larger,
                } => {
                    let by_order = [(a, b, Relation::AtLeast), (b, a, Relation::AtMost)]
                        .into_iter()
                        .find(|(larger, smaller, _)| signs.is_ordered(**larger, **smaller));
                    // a number as a bound, such as 0 s, may stand there for safety
                    let written =
                        [a, b].iter().any(|it| matches!(ops.get(it), Some(Op::Literal(_))));
                    let by_order =
                        by_order.filter(|_| a != b && !written).map(|(.., stands)| stands);
                    let Some(stands) = extents.stands(*a, *b).or(by_order) else { continue };
                    let first_is_taken = (stands == Relation::AtLeast) == *larger;
                    let (taken, idle) =
                        if first_is_taken { (before, text) } else { (text, before) };
                    let headline = format!(
                        "`{idle}` decides nothing in this `{name}` within the ranges: it is always `{taken}`"
                    );
                    found.push(
                        Diagnostic::caution(Name::ChangesNothing, headline)
                            .at(place.clone())
                            .remedy("write the value that is meant, or leave it out"),
                    );
                }
            }
        }
        let is_new = |it: &Diagnostic| {
            self.problems.iter().all(|known| known.place != it.place || known.name != it.name)
        };
        found.retain(is_new);
        self.problems.extend(found);
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
            let is_reported =
                |it: &Diagnostic| it.name == Name::DecidedCheck && it.place.as_ref() == Some(place);
            let ordered = sides.is_some_and(|(larger, smaller)| signs.is_ordered(larger, smaller));
            let outcome = if ordered { Some(true) } else { extents.decided(*register) };
            // a check on what may never exist fails where it does not
            outcome
                .filter(|holds| ordered || !holds || !self.may_never_exist(*register))
                .filter(|_| !self.problems.iter().any(is_reported))
                .map(|holds| decided_check(place, holds))
        });
        let found: Vec<Diagnostic> = decided.collect();
        self.problems.extend(found);
    }
}
