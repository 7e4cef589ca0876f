//! Series: values carried along one, and one folded to a value.

use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Node, Word};
use crate::program::built_in::folds;
use crate::program::compile::Compiler;
use crate::program::flat::{Block, Fold, Op, Register, Type};
use crate::program::mismatch;
use crate::program::scope::{Named, Sheet, Value};
use crate::unit::{self, Dimension};

impl Compiler<'_> {
    pub(super) fn running(
        &mut self,
        sheet: &mut Sheet,
        name: &Word,
        start: &Expression,
        body: &Expression,
    ) -> Option<Value> {
        let first = self.number_of(sheet, start)?;
        if self.is_series(&first) {
            return self.series_trouble(sheet, start);
        }
        let (made, result, over) = self.carried(sheet, &first, |compiler, sheet, before| {
            sheet.locals.push((name.value.clone(), before));
            let result = compiler.number_of(sheet, body);
            sheet.locals.pop();
            result
        })?;
        let span = body.span.clone();
        self.alike(sheet, (mismatch::CARRIED, &span), (start, &first), (body, &result))?;
        if over == 0 {
            self.problems.push(
                Diagnostic::error(
                    Name::SeriesForNumber,
                    "`running` goes along a series, and its body names none",
                )
                .at(sheet.place(&body.span))
                .remedy("name at least one input that is a series in the body"),
            );
            return None;
        }
        Some(made)
    }

    /// A value carried along the series that `body` names, which gets the value before: the series made, the value of
    /// one element, and the number of series.
    pub(super) fn carried(
        &mut self,
        sheet: &mut Sheet,
        start: &Value,
        body: impl FnOnce(&mut Self, &mut Sheet, Value) -> Option<Value>,
    ) -> Option<(Value, Value, usize)> {
        let before = self.parameter(start.type_.clone());
        sheet.running.push(Vec::new());
        let outer = std::mem::take(&mut self.steps);
        let result = body(self, sheet, before.clone());
        let steps = std::mem::replace(&mut self.steps, outer);
        // series that the body named were given a register for their element, see `element`
        let elements = sheet.running.pop().unwrap_or_default();
        let result = result?;
        let type_ = if start.zero { &result.type_ } else { &start.type_ };
        let Type::Number { dimension, point, .. } = *type_ else { return None };
        let type_ = Type::Number { dimension, point, series: true };
        let over: Vec<Register> = elements.iter().map(|(series, _)| *series).collect();
        let count = over.len();
        let mut parameters = vec![before.register];
        parameters.extend(elements.iter().map(|(_, one)| one.register));
        let block = self.keep(Block { parameters, steps, result: result.register });
        let made = self.emit(Op::Running { block, start: start.register, over }, type_);
        Some((made, result, count))
    }

    /// A value calculated for each element of the series that `body` names.
    pub(in crate::program) fn each(
        &mut self,
        sheet: &mut Sheet,
        body: impl FnOnce(&mut Self, &mut Sheet) -> Option<Value>,
    ) -> Option<Value> {
        let mut start = self.whole(0);
        start.zero = true;
        let (made, one, _) =
            self.carried(sheet, &start, |compiler, sheet, _| body(compiler, sheet))?;
        Some(made.made_of(one.factors))
    }

    /// Whether a condition goes along a series: one is named in it that is not folded there.
    pub(super) fn goes_along(&self, sheet: &Sheet, tree: &Expression) -> bool {
        match &tree.node {
            Node::Name(name) => {
                let local = sheet.locals.iter().rev().find(|(local, _)| local == name);
                match (local, sheet.names.get(name)) {
                    (Some((_, value)), _) | (None, Some(Named::Value(value, _))) => {
                        self.is_series(value)
                    }
                    _ => false,
                }
            }
            Node::Dotted(alias, result) => match sheet.names.get(&alias.value) {
                Some(Named::Use(results)) => {
                    let value = results.get(&result.value).and_then(Option::as_ref);
                    value.is_some_and(|value| self.is_series(value))
                }
                _ => false,
            },
            Node::Call(name, arguments) if folds(&name.value, arguments) => false,
            _ => tree.parts().into_iter().any(|part| self.goes_along(sheet, part)),
        }
    }

    /// A series read inside `running` is its element: one register however often it is named.
    pub(in crate::program) fn element(&mut self, sheet: &mut Sheet, value: Value) -> Value {
        let Type::Number { dimension, point, series: true } = value.type_ else { return value };
        let Some(frame) = sheet.running.last_mut() else { return value };
        if let Some((_, one)) = frame.iter().find(|(series, _)| *series == value.register) {
            return one.clone();
        }
        let mut one = self.parameter(Type::Number { dimension, point, series: false });
        one.named = value.named;
        frame.push((value.register, one.clone()));
        one
    }

    pub(in crate::program) fn fold(
        &mut self,
        sheet: &mut Sheet,
        fold: Fold,
        argument: &Expression,
    ) -> Option<Value> {
        // inside `running` a fold still means the whole series
        let running = std::mem::take(&mut sheet.running);
        let value = match &argument.node {
            Node::Where(series, condition) => self.fold_where(sheet, fold, series, condition),
            _ => self
                .number_of(sheet, argument)
                .and_then(|value| self.fold_whole(sheet, fold, argument, value)),
        };
        sheet.running = running;
        value
    }

    fn fold_whole(
        &mut self,
        sheet: &Sheet,
        fold: Fold,
        argument: &Expression,
        value: Value,
    ) -> Option<Value> {
        let type_ = self.type_of_fold(sheet, fold, argument, &value)?;
        Some(self.emit(Op::Fold(fold, value.register), type_))
    }

    /// What comes of a series that is folded.
    pub(super) fn type_of_fold(
        &mut self,
        sheet: &Sheet,
        fold: Fold,
        argument: &Expression,
        value: &Value,
    ) -> Option<Type> {
        let Type::Number { dimension, point, series } = value.type_ else { return None };
        if !series {
            self.problems.push(
                Diagnostic::error(
                    Name::SeriesForNumber,
                    "a series is needed here, found one value",
                )
                .at(sheet.place(&argument.span))
                .remedy("name an input declared as `series of …`"),
            );
            return None;
        }
        let point_out = point && !matches!(fold, Fold::Count | Fold::SampleDeviation);
        let dimension = match fold {
            Fold::Count => Dimension::NONE,
            Fold::Product if !dimension.is_none() => {
                self.problems.push(
                    Diagnostic::error(
                        Name::UnitMismatch,
                        format!(
                            "the product of a series needs pure numbers, found {}",
                            unit::name_of(dimension)
                        ),
                    )
                    .at(sheet.place(&argument.span))
                    .remedy("divide the series by a reference first"),
                );
                return None;
            }
            _ => dimension,
        };
        if point && matches!(fold, Fold::Sum) {
            return self.point_trouble(sheet, argument, "added up");
        }
        Some(Type::Number { dimension, point: point_out, series: false })
    }
}
