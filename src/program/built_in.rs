//! The built-in functions, one table.

use super::across::Across;
use super::compile::Compiler;
use super::conversion::Figure;
use super::flat::{Binary, Fold, Op, Ratio, Relation, Type, Unary};
use super::infer::number;
use super::scope::{Arms, Asks, Factors, Named, Sheet, Value};
use super::{mismatch, suggest};
use crate::diagnostic::{Diagnostic, Name};
use crate::elementary;
use crate::language::{Expression, FUNCTIONS, Word, print_expression};
use crate::unit::{self, Dimension};

/// What a function takes and gives.
enum Shape {
    /// A pure number to a pure number.
    Pure(Unary),
    /// An angle to a pure number.
    OfAngle(Unary),
    /// A pure number to an angle.
    ToAngle(Unary),
    /// Anything to the same.
    Same(Unary),
    /// Anything to a root of it.
    Root(i32),
    /// Two or more of one kind to the same, or a series folded.
    Extreme(Binary, Fold),
    /// A series folded.
    Fold(Fold),
    /// Anything to -1, 0 or 1.
    Sign,
}

const TABLE: &[(&str, Shape)] = &[
    ("sqrt", Shape::Root(2)),
    ("cbrt", Shape::Root(3)),
    ("exp", Shape::Pure(Unary::Exponential)),
    ("ln", Shape::Pure(Unary::Logarithm)),
    ("log10", Shape::Pure(Unary::DecimalLogarithm)),
    ("sin", Shape::OfAngle(Unary::Sine)),
    ("cos", Shape::OfAngle(Unary::Cosine)),
    ("tan", Shape::OfAngle(Unary::Tangent)),
    ("asin", Shape::ToAngle(Unary::ArcSine)),
    ("acos", Shape::ToAngle(Unary::ArcCosine)),
    ("atan", Shape::ToAngle(Unary::ArcTangent)),
    ("abs", Shape::Same(Unary::Absolute)),
    ("sign", Shape::Sign),
    ("min", Shape::Extreme(Binary::Least, Fold::Least)),
    ("max", Shape::Extreme(Binary::Greatest, Fold::Greatest)),
    ("sum", Shape::Fold(Fold::Sum)),
    ("product", Shape::Fold(Fold::Product)),
    ("mean", Shape::Fold(Fold::Mean)),
    ("stdev", Shape::Fold(Fold::SampleDeviation)),
    ("count", Shape::Fold(Fold::Count)),
    ("first", Shape::Fold(Fold::First)),
    ("last", Shape::Fold(Fold::Last)),
];

/// Whether a call makes one value of a series.
pub(super) fn folds(name: &str, arguments: &[Expression]) -> bool {
    TABLE.iter().any(|(known, shape)| {
        *known == name
            && match shape {
                Shape::Fold(_) => true,
                Shape::Extreme(..) => arguments.len() == 1,
                _ => false,
            }
    })
}

impl Compiler<'_> {
    pub(super) fn built_in(
        &mut self,
        sheet: &mut Sheet,
        name: &Word,
        arguments: &[Expression],
    ) -> Option<Value> {
        let Some((_, shape)) = TABLE.iter().find(|(known, _)| *known == name.value) else {
            let known =
                sheet.names_of(|named| matches!(named, Named::Function(_) | Named::Table(..)));
            let known = FUNCTIONS.iter().copied().chain(known);
            let remedy = suggest::did_you_mean(&name.value, known).unwrap_or_else(|| {
                "define it in works: `f(x) = …`, or put `*` between a value and a parenthesis"
                    .to_owned()
            });
            self.problems.push(
                Diagnostic::error(
                    Name::UnknownFunction,
                    format!("no function or table is called `{}`", name.value),
                )
                .at(sheet.place(&name.span))
                .remedy(remedy),
            );
            return None;
        };
        match shape {
            Shape::Extreme(pair, fold) => self.extreme(sheet, name, arguments, *pair, *fold),
            Shape::Fold(fold) => {
                self.count(sheet, name, arguments, 1, 1)?;
                self.fold(sheet, *fold, arguments.first()?)
            }
            Shape::Pure(function) => {
                self.of(sheet, name, arguments, *function, Dimension::NONE, Dimension::NONE)
            }
            Shape::OfAngle(function) => {
                self.of(sheet, name, arguments, *function, Dimension::ANGLE, Dimension::NONE)
            }
            Shape::ToAngle(function) => {
                self.of(sheet, name, arguments, *function, Dimension::NONE, Dimension::ANGLE)
            }
            Shape::Same(function) => {
                let value = self.only(sheet, name, arguments)?;
                let made = self.emit(Op::Unary(*function, value.register), value.type_);
                Some(made.made_of(value.factors))
            }
            Shape::Sign => {
                let value = self.only(sheet, name, arguments)?;
                if self.is_series(&value) {
                    return self.each(sheet, |compiler, sheet| {
                        let one = compiler.element(sheet, value);
                        Some(compiler.sign(&one))
                    });
                }
                Some(self.sign(&value))
            }
            Shape::Root(degree) => {
                let value = self.only(sheet, name, arguments)?;
                let Type::Number { dimension, series, .. } = value.type_ else { return None };
                let Some(root) = dimension.power(1, *degree) else {
                    self.problems.push(
                        Diagnostic::error(
                            Name::UnitMismatch,
                            format!("{} has no root of that degree", unit::name_of(dimension)),
                        )
                        .at(sheet.place(&name.span))
                        .remedy("check the formula below the root"),
                    );
                    return None;
                };
                let op = match degree {
                    2 => Op::Unary(Unary::SquareRoot, value.register),
                    _ => Op::Power(value.register, Ratio { numerator: 1, denominator: *degree }),
                };
                let made = self.emit(op, number(root, series));
                let ratio = Ratio { numerator: 1, denominator: *degree };
                Some(made.made_of(value.factors.power(ratio)))
            }
        }
    }

    /// -1, 0 or 1.
    fn sign(&mut self, value: &Value) -> Value {
        let plain = number(Dimension::NONE, false);
        let [none, one] = [0, 1].map(|whole| self.whole(whole).register);
        let minus = self.emit(Op::Unary(Unary::Negate, one), plain.clone()).register;
        let below = self.emit(Op::Compare(Relation::Below, value.register, none), Type::Truth);
        let above = self.emit(Op::Compare(Relation::Above, value.register, none), Type::Truth);
        let not_above = self.emit(Op::Select(below.register, minus, none), plain.clone());
        self.emit(Op::Select(above.register, one, not_above.register), plain)
    }

    fn only(&mut self, sheet: &mut Sheet, name: &Word, arguments: &[Expression]) -> Option<Value> {
        self.count(sheet, name, arguments, 1, 1)?;
        let argument = arguments.first()?;
        let value = self.number_of(sheet, argument)?;
        if self.is_point(&value) {
            return self.point_trouble(sheet, argument, "put into a function");
        }
        Some(value)
    }

    fn of(
        &mut self,
        sheet: &mut Sheet,
        name: &Word,
        arguments: &[Expression],
        function: Unary,
        takes: Dimension,
        gives: Dimension,
    ) -> Option<Value> {
        let value = self.only(sheet, name, arguments)?;
        let argument = arguments.first()?;
        let Type::Number { dimension, series, .. } = value.type_ else { return None };
        if dimension != takes && !value.zero {
            self.problems.push(mismatch::argument(sheet, name, argument, dimension, takes));
            return None;
        }
        let made = self.emit(Op::Unary(function, value.register), number(gives, series));
        // exp(ln(60)) is 60, however it is written
        let constant = value.factors.constant().and_then(|figure| match function {
            Unary::Exponential => figure.of(elementary::exponential),
            Unary::Logarithm => figure.of(elementary::logarithm),
            Unary::DecimalLogarithm => figure.of(elementary::decimal_logarithm),
            _ => None,
        });
        Some(match constant {
            Some(figure) => made.made_of(Factors::plain(figure)),
            None => made,
        })
    }

    fn extreme(
        &mut self,
        sheet: &mut Sheet,
        name: &Word,
        arguments: &[Expression],
        pair: Binary,
        fold: Fold,
    ) -> Option<Value> {
        self.count(sheet, name, arguments, 1, usize::MAX)?;
        let (first, others) = arguments.split_first()?;
        if others.is_empty() {
            return self.fold(sheet, fold, first);
        }
        let mut values = Vec::new();
        for argument in arguments {
            values.push(self.number_of(sheet, argument).map(|value| (argument, value)));
        }
        let values: Vec<(&Expression, Value)> = values.into_iter().collect::<Option<_>>()?;
        let model = values.iter().find(|(_, value)| !value.zero).or(values.first())?.clone();
        let mut whole = true;
        let mut series = false;
        for (tree, value) in &values {
            let span = tree.span.clone();
            let asked = format!("put into one `{}`", name.value);
            whole &=
                self.alike(sheet, (&asked, &span), (model.0, &model.1), (tree, value)).is_some();
            series |= self.is_series(value);
        }
        if !whole {
            return None;
        }
        let Type::Number { dimension, point, .. } = model.1.type_ else { return None };
        let type_ = Type::Number { dimension, point, series };
        let arms = Arms::of_one_of(values.iter().map(|(_, value)| &value.factors));
        let across = Across::of_one_of(values.iter().map(|(_, value)| value.factors.across));
        let numbers: Option<Vec<Figure>> =
            values.iter().map(|(_, value)| value.factors.constant()).collect();
        let mut values = values.into_iter();
        let (tree, mut result) = values.next()?;
        let mut before = print_expression(tree);
        for (tree, value) in values {
            let text = print_expression(tree);
            let asks = Asks::Extreme {
                words: [name.value.clone(), before.clone(), text.clone()],
                values: [result.register, value.register],
                larger: pair == Binary::Greatest,
            };
            self.ask_of_ranges(sheet, tree, asks);
            before = format!("{before}, {text}");
            result = self.emit(Op::Binary(pair, result.register, value.register), type_.clone());
        }
        result.factors.arms = arms;
        result.factors.take_across(across);
        let chosen = numbers.and_then(|numbers| {
            numbers.into_iter().reduce(|x, y| match (pair == Binary::Least, x.value < y.value) {
                (true, true) | (false, false) => x,
                _ => y,
            })
        });
        if let Some(figure) = chosen {
            result.factors = Factors::plain(figure);
        }
        Some(result)
    }
}
