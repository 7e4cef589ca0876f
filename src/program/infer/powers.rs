//! Powers: a quantity to a fixed number, a pure number to any.

use crate::diagnostic::{Diagnostic, Name};
use crate::elementary;
use crate::language::{Expression, Node, Sign, Span};
use crate::program::compile::Compiler;
use crate::program::flat::{Binary, Op, Ratio, Type};
use crate::program::scope::{Factors, Sheet, Value};
use crate::unit::{self, Dimension};

use super::number;

impl Compiler<'_> {
    pub(super) fn power(
        &mut self,
        sheet: &mut Sheet,
        base: &Expression,
        sign: &Span,
        exponent: &Expression,
    ) -> Option<Value> {
        let value = self.number_of(sheet, base)?;
        if self.is_point(&value) {
            return self.point_trouble(sheet, base, "raised to a power");
        }
        let Type::Number { dimension, series, .. } = value.type_ else { return None };
        if let Some(ratio) = fixed_exponent(exponent) {
            let Some(raised) = dimension.power(ratio.numerator, ratio.denominator) else {
                self.problems.push(
                    Diagnostic::error(
                        Name::FixedExponent,
                        format!("{} cannot be raised to this power", unit::name_of(dimension)),
                    )
                    .at(sheet.place(sign))
                    .label(sheet.place(&base.span), unit::name_of(dimension))
                    .remedy("divide it by a reference first, so that a pure number is raised"),
                );
                return None;
            };
            let made = self.emit(Op::Power(value.register, ratio), number(raised, series));
            return Some(made.made_of(value.factors.power(ratio)));
        }
        let power = self.number_of(sheet, exponent)?;
        let Type::Number { dimension: of_power, series: many, .. } = power.type_ else {
            return None;
        };
        for (side, found) in [(base, dimension), (exponent, of_power)] {
            if !found.is_none() {
                self.problems.push(
                    Diagnostic::error(
                        Name::FixedExponent,
                        format!("a pure number is needed here, found {}", unit::name_of(found)),
                    )
                    .at(sheet.place(&side.span))
                    .remedy("divide by a reference first, such as `(n / n_0)^x`, or write the exponent as a number"),
                );
                return None;
            }
        }
        let op = Op::Binary(Binary::Raise, value.register, power.register);
        let made = self.emit(op, number(Dimension::NONE, series || many));
        let constant = value.factors.constant().zip(power.factors.constant());
        let raised = constant
            .filter(|(_, power)| power.slack == 0.0)
            .and_then(|(value, power)| value.of(|value| elementary::power(value, power.value)));
        Some(match raised {
            Some(figure) => made.made_of(Factors::plain(figure)),
            None => made,
        })
    }
}

/// The exponent, where it is a number that can be read off.
fn fixed_exponent(tree: &Expression) -> Option<Ratio> {
    let whole = |digits: &str| digits.parse::<i32>().ok();
    let ratio = match &tree.node {
        Node::Number { digits, unit: None } => match digits.split_once('.') {
            None => Ratio { numerator: whole(digits)?, denominator: 1 },
            Some((before, after)) if after.len() <= 4 => Ratio {
                numerator: whole(&format!("{before}{after}"))?,
                denominator: 10_i32.pow(u32::try_from(after.len()).ok()?),
            },
            Some(_) => return None,
        },
        Node::Negative(inner) => {
            let inner = fixed_exponent(inner)?;
            Ratio { numerator: inner.numerator.checked_neg()?, ..inner }
        }
        Node::Binary(a, sign, b) if sign.value == Sign::Over => {
            let (a, b) = (fixed_exponent(a)?, fixed_exponent(b)?);
            Ratio {
                numerator: a.numerator.checked_mul(b.denominator)?,
                denominator: a.denominator.checked_mul(b.numerator)?,
            }
        }
        _ => return None,
    };
    if ratio.denominator == 0 {
        return None;
    }
    let sign = ratio.denominator.signum();
    let shared = gcd(ratio.numerator.unsigned_abs(), ratio.denominator.unsigned_abs());
    Some(Ratio {
        numerator: sign * ratio.numerator / i32::try_from(shared).ok()?,
        denominator: sign * ratio.denominator / i32::try_from(shared).ok()?,
    })
}

fn gcd(mut a: u32, mut b: u32) -> u32 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}
