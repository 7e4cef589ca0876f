//! The tolerance of a default or an example: its amounts read, its units checked.

use super::compile::Compiler;
use super::literal;
use super::scope::Sheet;
use super::tolerance::{Reach, Tolerance};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{self, Expression, Node};
use crate::unit::{self, Kind, Literal};

impl Compiler<'_> {
    /// A default or an example: its number, and its tolerance where it has one.
    pub(super) fn tolerated(
        &mut self,
        sheet: &Sheet,
        given: &language::InputLiteral,
        kind: &'static Kind,
    ) -> Option<(Literal, Option<Tolerance>)> {
        let Some(tolerance) = &given.tolerance else {
            return Some((self.given(sheet, given.value.as_ref()?, kind)?, None));
        };
        let (value, reach) = match (&given.value, &tolerance.reach) {
            (Some(value), language::Reach::Around(amount)) => {
                let value = self.given(sheet, value, kind)?;
                let amount = self.amount(sheet, amount, kind, &value)?;
                (value, Reach::Around { above: amount.clone(), below: amount })
            }
            (Some(value), language::Reach::Sides(above, below)) => {
                let value = self.given(sheet, value, kind)?;
                let above = self.amount(sheet, above, kind, &value)?;
                let below = self.amount(sheet, below, kind, &value)?;
                (value, Reach::Around { above, below })
            }
            (_, language::Reach::Between(low, high)) => {
                let ends = (self.given(sheet, low, kind)?, self.given(sheet, high, kind)?);
                let middle = self.middle(sheet, given, &ends)?;
                let (low, high) = ends;
                (middle, Reach::Between { low, high })
            }
            (None, _) => return None,
        };
        Some((value, Some(Tolerance { reach, normal: tolerance.normal })))
    }

    /// How far above or below a value.
    fn amount(
        &mut self,
        sheet: &Sheet,
        tree: &Expression,
        kind: &'static Kind,
        value: &Literal,
    ) -> Option<Literal> {
        let percent = |tree: &Expression| matches!(&tree.node, Node::Number { unit: Some(unit), .. } if unit.value == "%");
        let amount = match &tree.node {
            Node::Number { digits, .. } if percent(tree) && value.unit.symbol != "%" => {
                if kind.point {
                    self.problems.push(
                        Diagnostic::error(
                            Name::UnreadableQuantity,
                            "a temperature on the scale has no percentage",
                        )
                        .at(sheet.place(&tree.span))
                        .remedy("write the tolerance in K"),
                    );
                    return None;
                }
                let (digits, ten) = unit::parse_number(digits)?;
                if value.digits.is_zero() && !digits.is_zero() {
                    let unit = &value.unit.symbol;
                    let gap = if unit.is_empty() { "" } else { " " };
                    self.problems.push(
                        Diagnostic::error(
                            Name::UnreadableQuantity,
                            format!("a percentage of 0{gap}{unit} is nothing"),
                        )
                        .at(sheet.place(&tree.span))
                        .remedy(format!("write how far it may lie, such as `1{gap}{unit}`")),
                    );
                    return None;
                }
                Literal::new(digits, ten, unit::parse_unit("%").ok()?)
            }
            _ => self.plain_number(sheet, tree, kind)?,
        };
        if amount.digits.is_sign_negative() && !amount.digits.is_zero() {
            self.problems.push(
                Diagnostic::error(
                    Name::UnreadableQuantity,
                    format!("the tolerance {} is below zero", sheet.text(&tree.span)),
                )
                .at(sheet.place(&tree.span))
                .remedy("write it without its sign"),
            );
            return None;
        }
        Some(amount)
    }

    /// The value between two ends.
    fn middle(
        &mut self,
        sheet: &Sheet,
        given: &language::InputLiteral,
        (low, high): &(Literal, Literal),
    ) -> Option<Literal> {
        let falls = literal::compare(low, high).is_gt();
        let sum = (low.unit == high.unit && low.ten == high.ten)
            .then(|| low.digits.checked_add(high.digits))
            .flatten();
        let middle = sum.and_then(|sum| sum.checked_mul(rust_decimal::Decimal::new(5, 1)));
        if let (Some(middle), false) = (middle, falls) {
            return Some(Literal::new(middle, low.ten, low.unit.clone()));
        }
        let words = format!("`{}` has no middle", sheet.text(&given.span));
        let remedy =
            if falls { "write the lower end first" } else { "write both ends in one unit" };
        self.problems.push(
            Diagnostic::error(Name::UnreadableQuantity, words)
                .at(sheet.place(&given.span))
                .remedy(remedy),
        );
        None
    }
}
