//! The values that the free inputs can be set to: a grid of steps.

use std::sync::Arc;

use super::{Design, FreeInput, Goal, Question};
use crate::calculation::{Inputs, written};
use crate::diagnostic::{Diagnostic, Name, Problems};
use crate::number::{Exact, InputValue};
use crate::program::Program;
use crate::unit::{Literal, Unit};

/// Digits that a setting can have: more than anybody types, fewer than an exact number keeps.
const TYPED: u32 = 18;

/// Steps that a range may have.
const MOST: u32 = 1_000_000;

/// A free input on its steps.
pub(super) struct Free {
    pub(super) input: String,
    unit: Unit,
    from: Literal,
    first: Exact,
    step: Exact,
    /// Place of the last step, from 0.
    pub(super) last: u32,
    pub(super) towards: Option<Goal>,
}

impl Free {
    /// The place one step further, if there is one.
    pub(super) fn further(&self, at: u32, wish: Goal) -> Option<u32> {
        match wish {
            Goal::Largest => at.checked_add(1).filter(|next| *next <= self.last),
            Goal::Smallest => at.checked_sub(1),
        }
    }

    /// As it would be typed: a step of 1 ° or 1 r/min is a multiple of π, and the last digits of its sums are noise.
    pub(super) fn value(&self, at: u32) -> Literal {
        let value =
            self.step.times(&Exact::whole(i64::from(at))).and_then(|way| self.first.plus(&way));
        value.and_then(|value| value.in_unit(&self.unit)).map_or_else(
            |_| self.from.clone(),
            |value| {
                let digits = value.mantissa();
                let typed = digits.round_sf(TYPED).unwrap_or(digits).normalize();
                Literal::new(typed, value.ten(), self.unit.clone())
            },
        )
    }

    /// The place of a part of the range.
    pub(super) fn part(&self, part: u32, of: u32) -> u32 {
        let of = u64::from(of.max(1));
        u32::try_from((u64::from(self.last) * u64::from(part) + of / 2) / of).unwrap_or(0)
    }
}

impl Design<'_> {
    /// The values at a point of the grid, and the inputs that are asked with them.
    pub(super) fn at(&self, point: &[u32]) -> (Vec<Literal>, Inputs) {
        self.put(point, &self.inputs)
    }

    /// The values at a point of the grid, and these inputs with them.
    pub(super) fn put(&self, point: &[u32], inputs: &Inputs) -> (Vec<Literal>, Inputs) {
        let mut inputs = inputs.clone();
        let mut values = Vec::with_capacity(point.len());
        for (free, at) in self.frees.iter().zip(point) {
            let value = free.value(*at);
            inputs.store(&free.input, InputValue::One(value.clone()), None);
            values.push(value);
        }
        (values, inputs)
    }
}

/// Every free input on its steps.
pub(super) fn frees(program: &Arc<Program>, question: &Question) -> Result<Vec<Free>, Problems> {
    for wanted in &question.wanted {
        if program.output_named(&wanted.result).is_none() {
            let all: Vec<&str> =
                program.outputs.iter().map(|output| output.name.as_str()).collect();
            let words = format!("the sheet gives no `{}`", wanted.result);
            return Err(trouble(Name::UnknownName, words, &format!("it gives {}", all.join(", "))));
        }
    }
    let mut frees: Vec<Free> = Vec::new();
    for by in &question.by {
        if frees.iter().any(|free| free.input == by.input) {
            let words = format!("the question asks by `{}` twice", by.input);
            return Err(trouble(Name::AskedTwice, words, "take one of them out"));
        }
        frees.push(free(by)?);
    }
    if frees.is_empty() {
        let words = "the question names no input that is free".to_owned();
        return Err(trouble(
            Name::UnknownInput,
            words,
            "say by which input, such as `by t_ramp from '0.1 s' to '1 s'`",
        ));
    }
    Ok(frees)
}

fn free(by: &FreeInput) -> Result<Free, Problems> {
    let known = |literal: &Literal| {
        Exact::from_literal(literal).map_err(|found| {
            trouble(found.name, found.words, "write numbers of the size that machines have")
        })
    };
    let (from, to) = (known(&by.from)?, known(&by.to)?);
    let step = {
        let unit = Unit { zero: rust_decimal::Decimal::ZERO, point: false, ..by.step.unit.clone() };
        known(&Literal { unit, ..by.step.clone() })?
    };
    if step.is_like_zero() || step.is_below_zero() {
        let words = format!("the step is {}", written(&by.step));
        return Err(trouble(Name::BadStep, words, "write a step above zero"));
    }
    if from.stands_to(&to).is_gt() {
        let words = format!("the range from {} to {} falls", written(&by.from), written(&by.to));
        return Err(trouble(Name::UnreadableQuantity, words, "write the smaller end first"));
    }
    let count = to
        .minus(&from)
        .and_then(|width| width.over(&step))
        .map_or(f64::INFINITY, |count| count.to_f64());
    let last = whole_below(count);
    if last == 0 && from.stands_to(&to).is_lt() {
        let (from, to) = (written(&by.from), written(&by.to));
        let words = format!(
            "the step of {} is larger than the range from {from} to {to}",
            written(&by.step)
        );
        return Err(trouble(Name::BadStep, words, "write a smaller step"));
    }
    if last > MOST {
        let words =
            format!("the step {} cuts the range into more than a million", written(&by.step));
        return Err(trouble(Name::BadStep, words, "write a larger step"));
    }
    Ok(Free {
        input: by.input.clone(),
        unit: by.from.unit.clone(),
        from: by.from.clone(),
        first: from,
        step,
        last,
        towards: by.towards,
    })
}

fn trouble(name: Name, words: String, remedy: &str) -> Problems {
    Diagnostic::error(name, words).remedy(remedy).into()
}

/// The whole number at or below a count, with a little slack for what was rounded; one more than a range may
/// have for more.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between zero and a million and one"
)]
fn whole_below(count: f64) -> u32 {
    (count + 1e-9).floor().clamp(0.0, f64::from(MOST) + 1.0) as u32
}
