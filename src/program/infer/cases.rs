//! Choices tested, and values by cases.

use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Node, Word};
use crate::program::across::Across;
use crate::program::compile::Compiler;
use crate::program::conversion::{Figure, conversion_in};
use crate::program::flat::{Op, Relation, Type};
use crate::program::mismatch;
use crate::program::scope::{Arms, Asks, Factors, Sheet, Value};

/// What a case gives.
#[derive(Clone, Debug)]
enum Case {
    Value(Box<Value>),
    /// Nothing, and why.
    Never(Arc<str>),
}

/// What cases of plain numbers are as a factor: the number where it is the same in all, else the one
/// that converts.
fn numbers_of(cases: &[(&Expression, Value)]) -> Option<Factors> {
    let constant = |(_, value): &(&Expression, Value)| value.factors.constant();
    let first = cases.first().and_then(constant);
    let same =
        |case| constant(case).zip(first).is_some_and(|(one, first)| one.value == first.value);
    if cases.iter().all(same) {
        return first.map(Factors::plain);
    }
    let converts = |figure: &Figure| conversion_in(*figure, &[]).is_some();
    let found = cases.iter().filter_map(constant).find(converts)?;
    Some(Factors::plain(found))
}

impl Compiler<'_> {
    pub(super) fn cases(
        &mut self,
        sheet: &mut Sheet,
        cases: &[(Expression, Expression)],
        otherwise: Option<&Expression>,
    ) -> Option<Value> {
        let along = |(condition, _): &(Expression, Expression)| self.goes_along(sheet, condition);
        if sheet.running.is_empty() && cases.iter().any(along) {
            return self.each(sheet, |compiler, sheet| compiler.cases(sheet, cases, otherwise));
        }
        let mut branches = Vec::new();
        let mut whole = true;
        for (at, (condition, result)) in cases.iter().enumerate() {
            let truth = self.truth_of(sheet, condition);
            let value = self.case(sheet, result);
            match (truth, value) {
                (Some(truth), Some(value)) => {
                    let behind = cases.get(at + 1).map(|(next, _)| next).or(otherwise);
                    let behind = behind.map(|it| sheet.place(&it.span));
                    let asks = Asks::Case { truth: truth.register, behind };
                    self.ask_of_ranges(sheet, condition, asks);
                    branches.push((truth, result, value));
                }
                _ => whole = false,
            }
        }
        let last = match otherwise {
            Some(result) => {
                let value = self.case(sheet, result);
                whole &= value.is_some();
                value.map(|value| (result, value))
            }
            None => None,
        };
        // every branch must be of one kind; the first that is not a bare zero says which
        let all: Vec<(&Expression, Value)> = branches
            .iter()
            .map(|(_, tree, value)| (*tree, value.clone()))
            .chain(last.clone())
            .filter_map(|(tree, case)| match case {
                Case::Value(value) => Some((tree, *value)),
                Case::Never(_) => None,
            })
            .collect();
        let Some(model) = all.iter().find(|(_, value)| !value.zero).or(all.first()) else {
            if whole && let Some((_, tree, _)) = branches.first() {
                self.problems.push(
                    Diagnostic::error(Name::NotANumber, "none of the cases has a value")
                        .at(sheet.place(&tree.span))
                        .remedy("give at least one case a value; a line that never has one is not needed"),
                );
            }
            return None;
        };
        let mut series = false;
        for (tree, value) in &all {
            let span = tree.span.clone();
            whole &= self
                .alike(
                    sheet,
                    ("given by the same cases", &span),
                    (model.0, &model.1),
                    (tree, value),
                )
                .is_some();
            series |= self.is_series(value);
        }
        if !whole {
            return None;
        }
        let Type::Number { dimension, point, .. } = model.1.type_ else { return None };
        let type_ = Type::Number { dimension, point, series };
        let factors = numbers_of(&all);
        let made = |compiler: &mut Self, case| match case {
            Case::Value(value) => *value,
            Case::Never(why) => compiler.emit(Op::Never(why), type_.clone()),
        };
        let mut result = match last {
            Some((_, case)) => made(self, case),
            None => self.emit(Op::NoCase, type_.clone()),
        };
        for (truth, _, case) in branches.into_iter().rev() {
            let value = made(self, case);
            result = self
                .emit(Op::Select(truth.register, value.register, result.register), type_.clone());
        }
        Some(match factors {
            Some(factors) => result.made_of(factors),
            None => {
                let arms = Arms::of_one_of(all.iter().map(|(_, value)| &value.factors));
                let mut factors = Factors { arms, ..result.factors.clone() };
                factors.take_across(Across::of_one_of(
                    all.iter().map(|(_, value)| value.factors.across),
                ));
                result.made_of(factors)
            }
        })
    }

    fn case(&mut self, sheet: &mut Sheet, tree: &Expression) -> Option<Case> {
        match &tree.node {
            Node::Never(why) => Some(Case::Never(Arc::from(why.value.as_str()))),
            _ => self.number_of(sheet, tree).map(|value| Case::Value(Box::new(value))),
        }
    }

    pub(super) fn is(
        &mut self,
        sheet: &mut Sheet,
        choice: &Expression,
        word: &Word,
    ) -> Option<Value> {
        let value = self.expression(sheet, choice)?;
        let Type::Choice(words) = &value.type_ else {
            self.problems.push(
                Diagnostic::error(Name::NotANumber, "`is` asks for one of the words of a choice")
                    .at(sheet.place(&choice.span))
                    .remedy("compare numbers with `=`, `<`, `<=`, `>`, `>=`"),
            );
            return None;
        };
        let Some(at) = words.iter().position(|known| *known == word.value) else {
            self.problems.push(mismatch::unknown_word(sheet, word, words));
            return None;
        };
        let index = self.whole(at);
        Some(self.emit(Op::Compare(Relation::Equal, value.register, index.register), Type::Truth))
    }
}
