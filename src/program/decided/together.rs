//! Checks against one another and against the ranges: two that never hold together, and one that always holds.

use std::collections::BTreeSet;

use super::{Cells, Compiler, Condition, Scope, Sheet, decided_check};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::Check;
use crate::program::flat::{Op, Register, Relation};
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

    /// Checks that hold for every value within the ranges of the inputs, seen from the signs of what they compare.
    pub(in crate::program) fn held_by_ranges(&mut self, registers: &[(Place, Register)]) {
        let ops = self.ops();
        let mut signs = Signs::of_ranges(ops, &self.program);
        let ops = self.ops();
        let always = registers.iter().filter(|(place, register)| {
            let sides = match ops.get(register) {
                Some(Op::Compare(Relation::AtLeast, a, b)) => Some((*a, *b)),
                Some(Op::Compare(Relation::AtMost, a, b)) => Some((*b, *a)),
                _ => None,
            };
            let is_reported =
                |it: &Diagnostic| it.name == Name::DecidedCheck && it.place.as_ref() == Some(place);
            sides.is_some_and(|(larger, smaller)| signs.is_ordered(larger, smaller))
                && !self.problems.iter().any(is_reported)
        });
        let found: Vec<Diagnostic> = always.map(|(place, _)| decided_check(place, true)).collect();
        self.problems.extend(found);
    }
}
