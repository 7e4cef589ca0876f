//! What was given for an input, in words.

use crate::calculation::Results;
use crate::program::{Input, Type};

/// The nominal value of an input.
pub(super) fn given(results: &Results, input: &Input) -> String {
    let given = results.inputs().value(input);
    given.as_ref().map_or(String::new(), |given| match given {
        crate::number::InputValue::One(one) => crate::calculation::written(one),
        crate::number::InputValue::Many(many) => {
            many.iter().map(crate::calculation::written).collect::<Vec<_>>().join(", ")
        }
        crate::number::InputValue::Word(word) => match &input.type_ {
            Type::Choice(words) => words.get(*word).cloned().unwrap_or_default(),
            Type::Number { .. } | Type::Truth => String::new(),
        },
    })
}
