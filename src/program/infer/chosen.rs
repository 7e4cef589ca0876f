//! The elements of a series at which a condition holds, folded: `mean(v_k where t_k > 2 s)`.
//!
//! All of it is made of steps that every number system has: a series of 1 and 0 for the condition, and values carried
//! along beside it.

use std::sync::Arc;

use super::number;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, print_expression};
use crate::program::compile::Compiler;
use crate::program::flat::{Binary, Fold, Op, Ratio, Register, Relation, Type, Unary};
use crate::program::scope::{Asks, Sheet, Value};
use crate::unit::Dimension;

/// A series with 1 at each element that counts and 0 at the others.
struct Marked {
    values: Value,
    flags: Value,
    /// Of one element.
    type_: Type,
}

/// One element: the value before, its own value, whether it counts.
struct Element {
    before: Register,
    value: Register,
    counts: Register,
}

impl Compiler<'_> {
    /// The elements at which the condition holds, folded.
    pub(super) fn fold_where(
        &mut self,
        sheet: &mut Sheet,
        fold: Fold,
        series: &Expression,
        condition: &Expression,
    ) -> Option<Value> {
        let values = self.number_of(sheet, series);
        if !self.goes_along(sheet, condition) {
            self.problems.push(
                Diagnostic::error(Name::SeriesForNumber, "no series is named behind `where`")
                    .at(sheet.place(&condition.span))
                    .remedy("compare the elements of a series there, as `t_k > 2 s`"),
            );
            return None;
        }
        let flags = self.each(sheet, |compiler, sheet| {
            let truth = compiler.truth_of(sheet, condition)?.register;
            compiler.ask_of_ranges(sheet, condition, Asks::Taken { truth });
            let [none, one] = [0, 1].map(|whole| compiler.whole(whole).register);
            let plain = number(Dimension::NONE, false);
            Some(Value::new(compiler.select(truth, one, none, &plain), plain))
        });
        let (values, flags) = (values?, flags?);
        let folded = self.type_of_fold(sheet, fold, series, &values)?;
        let Type::Number { dimension, point, .. } = values.type_ else { return None };
        let type_ = Type::Number { dimension, point, series: false };
        let marked = Marked { values, flags, type_ };
        let made = match fold {
            Fold::Count => self.count_of(sheet, &marked)?,
            _ => self.fold_some(sheet, fold, &marked, condition, &folded)?,
        };
        Some(Value::new(made, folded))
    }

    /// A fold that needs an element or two.
    fn fold_some(
        &mut self,
        sheet: &mut Sheet,
        fold: Fold,
        marked: &Marked,
        condition: &Expression,
        folded: &Type,
    ) -> Option<Register> {
        let count = self.count_of(sheet, marked)?;
        let (needed, made) = match fold {
            Fold::Count => return None,
            Fold::Sum => (1, self.summed(sheet, marked, fold, 0)?),
            Fold::Product => (1, self.summed(sheet, marked, fold, 1)?),
            Fold::Mean => (1, self.mean_of(sheet, marked, count)?),
            Fold::First => (1, self.first_of(sheet, marked)?),
            Fold::Last => (1, self.last_of(sheet, marked)?),
            Fold::Greatest | Fold::Least => {
                let first = self.first_of(sheet, marked)?;
                let kept = self.pass(sheet, marked, None, |compiler, it| {
                    compiler.select(it.counts, it.value, first, &marked.type_)
                })?;
                (1, self.emit(Op::Fold(fold, kept), marked.type_.clone()).register)
            }
            Fold::SampleDeviation => (2, self.deviation_of(sheet, marked, count)?),
        };
        let words = match needed {
            1 => "there is no element for which",
            _ => "there are fewer than two elements for which",
        };
        let why = format!("{words} {}", print_expression(condition));
        let needed = self.whole(needed).register;
        let enough = Op::Compare(Relation::AtLeast, count, needed);
        let enough = self.emit(enough, Type::Truth).register;
        let never = self.emit(Op::Never(Arc::from(why)), folded.clone()).register;
        Some(self.select(enough, made, never, folded))
    }

    /// How many count; a series of another length than the condition's is found here.
    fn count_of(&mut self, sheet: &mut Sheet, marked: &Marked) -> Option<Register> {
        let plain = number(Dimension::NONE, false);
        let [none, one] = [0, 1].map(|whole| self.whole(whole).register);
        let kept = self.pass(sheet, marked, None, |compiler, it| {
            compiler.select(it.counts, one, none, &plain)
        })?;
        Some(self.emit(Op::Fold(Fold::Sum, kept), plain).register)
    }

    /// The sum or the product, to which those that do not count add nothing.
    fn summed(
        &mut self,
        sheet: &mut Sheet,
        marked: &Marked,
        fold: Fold,
        nothing: usize,
    ) -> Option<Register> {
        let nothing = self.whole(nothing).register;
        let kept = self.pass(sheet, marked, None, |compiler, it| {
            compiler.select(it.counts, it.value, nothing, &marked.type_)
        })?;
        Some(self.emit(Op::Fold(fold, kept), marked.type_.clone()).register)
    }

    fn mean_of(&mut self, sheet: &mut Sheet, marked: &Marked, count: Register) -> Option<Register> {
        let sum = self.summed(sheet, marked, Fold::Sum, 0)?;
        Some(self.binary(Binary::Divide, sum, count, &marked.type_))
    }

    /// The sample deviation about the mean of those that count.
    fn deviation_of(
        &mut self,
        sheet: &mut Sheet,
        marked: &Marked,
        count: Register,
    ) -> Option<Register> {
        let type_ = &marked.type_;
        let mean = self.mean_of(sheet, marked, count)?;
        let [none, one] = [0, 1].map(|whole| self.whole(whole).register);
        let squares = self.pass(sheet, marked, None, |compiler, it| {
            let off = compiler.binary(Binary::Subtract, it.value, mean, type_);
            // a power, which no bound takes for less than nothing
            let square = Op::Power(off, Ratio { numerator: 2, denominator: 1 });
            let square = compiler.emit(square, type_.clone()).register;
            compiler.select(it.counts, square, none, type_)
        })?;
        let sum = self.emit(Op::Fold(Fold::Sum, squares), type_.clone()).register;
        let others = self.binary(Binary::Subtract, count, one, type_);
        let variance = self.binary(Binary::Divide, sum, others, type_);
        Some(self.emit(Op::Unary(Unary::SquareRoot, variance), type_.clone()).register)
    }

    fn first_of(&mut self, sheet: &mut Sheet, marked: &Marked) -> Option<Register> {
        let start = self.any_of(marked);
        let none = self.whole(0);
        let so_far = self.pass(sheet, marked, Some(&none), |compiler, it| {
            let one = compiler.whole(1).register;
            let more = compiler.binary(Binary::Add, it.before, one, &none.type_);
            compiler.select(it.counts, more, it.before, &none.type_)
        })?;
        let so_far = Value::new(so_far, number(Dimension::NONE, true));
        let (made, _, _) = self.carried(sheet, &start, |compiler, sheet, before| {
            let it = compiler.element_of(sheet, marked, &before);
            let so_far = compiler.element(sheet, so_far).register;
            let one = compiler.whole(1).register;
            let first = Op::Compare(Relation::Equal, so_far, one);
            let first = compiler.emit(first, Type::Truth).register;
            let first = compiler.emit(Op::Both(first, it.counts), Type::Truth).register;
            let chosen = compiler.select(first, it.value, it.before, &marked.type_);
            Some(Value::new(chosen, marked.type_.clone()))
        })?;
        Some(self.emit(Op::Fold(Fold::Last, made.register), marked.type_.clone()).register)
    }

    fn last_of(&mut self, sheet: &mut Sheet, marked: &Marked) -> Option<Register> {
        let start = self.any_of(marked);
        let last = self.pass(sheet, marked, Some(&start), |compiler, it| {
            compiler.select(it.counts, it.value, it.before, &marked.type_)
        })?;
        Some(self.emit(Op::Fold(Fold::Last, last), marked.type_.clone()).register)
    }

    /// An element to begin with, which a result never shows.
    fn any_of(&mut self, marked: &Marked) -> Value {
        self.emit(Op::Fold(Fold::First, marked.values.register), marked.type_.clone())
    }

    /// A value for each element, marked or not; `start` is what stands before the first.
    fn pass(
        &mut self,
        sheet: &mut Sheet,
        marked: &Marked,
        start: Option<&Value>,
        body: impl FnOnce(&mut Self, Element) -> Register,
    ) -> Option<Register> {
        let start = start.cloned().unwrap_or_else(|| self.whole(0));
        let (made, _, _) = self.carried(sheet, &start, |compiler, sheet, before| {
            let element = compiler.element_of(sheet, marked, &before);
            Some(Value::new(body(compiler, element), start.type_.clone()))
        })?;
        Some(made.register)
    }

    fn element_of(&mut self, sheet: &mut Sheet, marked: &Marked, before: &Value) -> Element {
        let value = self.element(sheet, marked.values.clone()).register;
        let flag = self.element(sheet, marked.flags.clone()).register;
        let one = self.whole(1).register;
        let counts = self.emit(Op::Compare(Relation::Equal, flag, one), Type::Truth).register;
        Element { before: before.register, value, counts }
    }

    fn select(&mut self, which: Register, x: Register, y: Register, type_: &Type) -> Register {
        self.emit(Op::Select(which, x, y), type_.clone()).register
    }

    fn binary(&mut self, function: Binary, x: Register, y: Register, type_: &Type) -> Register {
        self.emit(Op::Binary(function, x, y), type_.clone()).register
    }
}
