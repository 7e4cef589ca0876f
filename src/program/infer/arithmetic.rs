//! Sums, products and rounding.

use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Expression, Node, Rounding, Sign, Span};
use crate::program::compile::Compiler;
use crate::program::conversion::Figure;
use crate::program::flat::{Binary, Op, Type};
use crate::program::mismatch;
use crate::program::scope::{Factors, Sheet, Value};

use super::number;

/// What both are.
fn same(x: i32, y: i32) -> i32 {
    if x == y { x } else { 0 }
}

impl Compiler<'_> {
    pub(super) fn sum(
        &mut self,
        sheet: &mut Sheet,
        a: &Expression,
        sign: &Span,
        plus: bool,
        b: &Expression,
    ) -> Option<Value> {
        let (left, right) = (self.number_of(sheet, a), self.number_of(sheet, b));
        let (left, right) = (left?, right?);
        let done = if plus { "added" } else { "subtracted" };
        let dimension = self.same_kind(sheet, (done, sign), (a, &left), (b, &right))?;
        let point = match (self.is_point(&left), self.is_point(&right), plus) {
            (true, true, true) | (false, true, false) => {
                return self.point_trouble(sheet, b, done);
            }
            (true, true, false) | (false, false, _) => false,
            (true, false, _) | (false, true, true) => true,
        };
        let series = self.is_series(&left) || self.is_series(&right);
        let op = if plus { Binary::Add } else { Binary::Subtract };
        let made = self.emit(
            Op::Binary(op, left.register, right.register),
            Type::Number { dimension, point, series },
        );
        // a sum of plain numbers is one
        Some(match (left.factors.constant(), right.factors.constant()) {
            (Some(x), Some(y)) => {
                let y = if plus { y } else { Figure { value: -y.value, ..y } };
                made.made_of(Factors::plain(x.plus(y)))
            }
            _ => {
                let (x, y) = (&left.factors, &right.factors);
                let squares = [(x, y), (y, x)];
                if squares.iter().any(|(x, y)| x.bare_radii() != 0 && y.bare_diameters() != 0) {
                    let span = a.span.start..b.span.end;
                    self.problems.push(
                        Diagnostic::error(
                            Name::WrongPowerOfRad,
                            "powers of a radius and of a diameter stand in one sum",
                        )
                        .at(sheet.place(&span))
                        .remedy("write `d / 2` for the diameter d, or `2 * r` for the radius r"),
                    );
                }
                let [left_arms, right_arms] = [&left, &right].map(|it| match it.type_ {
                    Type::Number { dimension: own, .. } => it.factors.arms.seen_as(own, dimension),
                    _ => it.factors.arms,
                });
                let factors = Factors {
                    arms: left_arms.with(right_arms, |x, y| if x.abs() < y.abs() { y } else { x }),
                    diameters: same(x.bare_diameters(), y.bare_diameters()),
                    radii: same(x.bare_radii(), y.bare_radii()),
                    ..made.factors.clone()
                };
                made.made_of(factors)
            }
        })
    }

    pub(super) fn product(&mut self, sheet: &mut Sheet, tree: &Expression) -> Option<Value> {
        let Node::Binary(a, sign, b) = &tree.node else { return self.number_of(sheet, tree) };
        if !matches!(sign.value, Sign::Times | Sign::Over) {
            return self.number_of(sheet, tree);
        }
        let (left, right) = (self.product(sheet, a), self.product(sheet, b));
        let (left, right) = (left?, right?);
        for (side, value) in [(a, &left), (b, &right)] {
            if self.is_point(value) {
                return self.point_trouble(sheet, side, "multiplied or divided");
            }
        }
        let (Type::Number { dimension: x, .. }, Type::Number { dimension: y, .. }) =
            (&left.type_, &right.type_)
        else {
            return None;
        };
        let times = sign.value == Sign::Times;
        let (op, dimension) =
            if times { (Binary::Multiply, x.times(*y)) } else { (Binary::Divide, x.over(*y)) };
        let series = self.is_series(&left) || self.is_series(&right);
        let mut made =
            self.emit(Op::Binary(op, left.register, right.register), number(dimension, series));
        made.factors = left.factors.times(&right.factors, !times);
        Some(made)
    }

    /// A value rounded to a step.
    pub(in crate::program) fn rounded(
        &mut self,
        sheet: &mut Sheet,
        tree: &Expression,
        value: Value,
        rounding: &Rounding,
    ) -> Option<Value> {
        let step = self.number_of(sheet, &rounding.step)?;
        if self.is_point(&value) || self.is_series(&step) {
            return self.point_trouble(sheet, tree, "rounded");
        }
        let span = rounding.step.span.clone();
        self.alike(sheet, (mismatch::ROUNDED, &span), (tree, &value), (&rounding.step, &step))?;
        let op = Op::Round(rounding.direction, value.register, step.register);
        let made = self.emit(op, value.type_);
        Some(match value.factors.constant() {
            Some(_) => made.made_of(value.factors),
            None => made,
        })
    }
}
