//! Series: values carried along one, and one folded to a value.

use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Word};
use crate::program::compile::Compiler;
use crate::program::flat::{Block, Fold, Op, Type};
use crate::program::mismatch;
use crate::program::scope::{Sheet, Value};
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
        let before = self.parameter(first.type_.clone());
        sheet.locals.push((name.value.clone(), before.clone()));
        sheet.running.push(Vec::new());
        let outer = std::mem::take(&mut self.steps);
        let result = self.number_of(sheet, body);
        let steps = std::mem::replace(&mut self.steps, outer);
        // series that the body named were given a register for their element, see `element`
        let elements = sheet.running.pop().unwrap_or_default();
        sheet.locals.pop();
        let result = result?;
        let span = body.span.clone();
        self.alike(sheet, (mismatch::CARRIED, &span), (start, &first), (body, &result))?;
        if elements.is_empty() {
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
        let over = elements.iter().map(|(series, _)| *series).collect();
        let mut parameters = vec![before.register];
        parameters.extend(elements.iter().map(|(_, one)| one.register));
        let block = self.keep(Block { parameters, steps, result: result.register });
        let type_ = if first.zero { result.type_ } else { first.type_ };
        let Type::Number { dimension, point, .. } = type_ else { return None };
        let type_ = Type::Number { dimension, point, series: true };
        Some(self.emit(Op::Running { block, start: first.register, over }, type_))
    }

    /// A series read inside `running` is its element: one register however often it is named.
    pub(super) fn element(&mut self, sheet: &mut Sheet, value: Value) -> Value {
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
        let value = self.number_of(sheet, argument);
        sheet.running = running;
        let value = value?;
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
        let type_ = Type::Number { dimension, point: point_out, series: false };
        Some(self.emit(Op::Fold(fold, value.register), type_))
    }
}
