//! Checks that no author has to write: a result exists, is not below zero, and can be set in the drive.

use super::compile::Compiler;
use super::extents::Extents;
use super::flat::{Binary, Check, Direction, Guard, Op, Register, Relation, Type};
use super::scope::{Sheet, Value};
use super::signs::Signs;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::Give;
use crate::unit::{self, Unit};

impl Compiler<'_> {
    /// A result that may never exist is a check of its own: no verdict passes over a missing figure.
    pub(super) fn exists(&mut self, sheet: &Sheet, give: &Give, value: &Value) {
        if !self.may_never_exist(value.register) {
            return;
        }
        let truth = match &value.type_ {
            Type::Number { .. } => {
                // true for every value there is, and a fault where there is none
                let zero = self.whole(0);
                let nothing = Op::Binary(Binary::Multiply, value.register, zero.register);
                let nothing = self.emit(nothing, value.type_.clone());
                let equal = Op::Compare(Relation::Equal, nothing.register, zero.register);
                self.emit(equal, Type::Truth)
            }
            Type::Truth => {
                let other = self.emit(Op::Negate(value.register), Type::Truth);
                self.emit(Op::Either(value.register, other.register), Type::Truth)
            }
            Type::Choice(_) => return,
        };
        let text = format!("`{}` exists", give.name.value);
        self.program.checks.push(Check {
            register: truth.register,
            sides: None,
            unit: Unit::one(),
            written: text.clone(),
            text,
            otherwise: String::new(),
            caution: false,
            path: String::new(),
            place: sheet.place(&give.span),
            line: self.line,
        });
    }

    /// A time, a length, a mass or an inertia below zero would hold every check: one that is not seen to be kept
    /// above by its formula, and of which the sheet says nothing there, is a check of its own.
    pub(super) fn not_below_zero(
        &mut self,
        sheet: &Sheet,
        give: &Give,
        value: &Value,
        unit: &Unit,
    ) {
        let Type::Number { dimension, point: false, series: false } = value.type_ else { return };
        let kinds = ["time", "length", "mass", "inertia"];
        let of = |kind: &&unit::Kind| kinds.contains(&kind.name) && kind.dimension == dimension;
        if !unit::KINDS.iter().any(|kind| of(&kind)) {
            return;
        }
        // a line with a range of its own says how far down it may be
        let has_range = |guard: &Guard| guard.register == value.register && guard.low.is_some();
        if self.program.guards.iter().any(has_range) {
            return;
        }
        if sheet.path.is_empty()
            && Extents::new(self.ops(), &self.program).is_never_above_zero(value.register)
        {
            let words = format!("`{}` is never above zero, whatever is given", give.name.value);
            self.problems.push(
                Diagnostic::caution(Name::ChangesNothing, words)
                    .at(sheet.place(&give.span))
                    .remedy(
                        "correct its formula: nothing lasts, reaches or weighs less than nothing",
                    ),
            );
        }
        let mut signs = Signs::new(self.ops(), &self.program);
        if signs.is_not_below(value.register) || signs.is_compared(value.register) {
            return;
        }
        let zero = self.whole(0);
        let compare = Op::Compare(Relation::AtLeast, value.register, zero.register);
        let truth = self.emit(compare, Type::Truth);
        let name = &give.name.value;
        self.program.checks.push(Check {
            register: truth.register,
            // no side of it is a limit by which a figure may be rounded
            sides: None,
            unit: unit.clone(),
            written: format!("{name} >= 0"),
            text: format!("`{name}` is not below zero"),
            otherwise: "nothing lasts, reaches or weighs less than nothing: look at the inputs that lead to it"
                .to_owned(),
            caution: false,
            path: String::new(),
            place: sheet.place(&give.span),
            line: self.line,
        });
    }

    /// A setting must be one that the drive has: within its range and on its step.
    pub(super) fn settable(
        &mut self,
        sheet: &Sheet,
        give: &Give,
        value: &Value,
        unit: &Unit,
        (step, low, high): (Register, Register, Register),
    ) {
        let name = &give.name.value;
        let on_step = self
            .emit(Op::Round(Direction::Nearest, value.register, step), value.type_.clone())
            .register;
        let checks = [
            (
                Relation::AtLeast,
                low,
                format!("`{name}` is not below what can be set"),
                "choose the smallest value that can be set, and look at what follows",
            ),
            (
                Relation::AtMost,
                high,
                format!("`{name}` is not above what can be set"),
                "it cannot be set: shorten the stop, or use another function",
            ),
            (
                Relation::Equal,
                on_step,
                format!("`{name}` lies on a step that can be set"),
                "round it up to the step of the setting",
            ),
        ];
        for (relation, other, text, otherwise) in checks {
            let truth = self.emit(Op::Compare(relation, value.register, other), Type::Truth);
            self.program.checks.push(Check {
                register: truth.register,
                sides: Some((relation, value.register, other)),
                unit: unit.clone(),
                written: format!("{name} {} …", relation.sign()),
                text,
                otherwise: otherwise.to_owned(),
                caution: false,
                path: sheet.path.trim_end_matches('.').to_owned(),
                place: sheet.place(&give.span),
                line: self.line,
            });
        }
    }
}
