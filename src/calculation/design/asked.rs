//! The values of a question, read from text.

use crate::calculation::input_text::{read, unsettled};
use crate::diagnostic::{Diagnostic, Name};
use crate::number::InputValue;
use crate::program::{Program, Type};
use crate::unit::Literal;

/// A value of an input as a literal, for a question.
///
/// # Errors
/// `unknown-input`, a series or a choice, or what the text has wrong.
pub fn asked_value(program: &Program, name: &str, text: &str) -> Result<Literal, Diagnostic> {
    let Some(input) = program.input_named(name) else {
        let all: Vec<&str> = program.inputs.iter().map(|input| input.name.as_str()).collect();
        return Err(Diagnostic::error(Name::UnknownInput, format!("the sheet takes no `{name}`"))
            .remedy(format!("it takes {}", all.join(", "))));
    };
    if !matches!(input.type_, Type::Number { series: false, .. }) {
        return Err(Diagnostic::error(
            Name::UnreadableQuantity,
            format!("`{name}` is not one number"),
        )
        .remedy("ask by an input that is one number"));
    }
    if let Some(problem) = unsettled(input, text) {
        return Err(problem);
    }
    match read(input, text)? {
        InputValue::One(literal) => Ok(literal),
        _ => {
            Err(Diagnostic::error(Name::UnreadableQuantity, format!("`{name}` is not one number")))
        }
    }
}

/// The bound of a result as a literal in a unit that fits it.
///
/// # Errors
/// `unknown-name`, or what the text has wrong.
pub fn asked_bound(program: &Program, name: &str, text: &str) -> Result<Literal, Diagnostic> {
    let Some(output) = program.output_named(name) else {
        let all: Vec<&str> = program.outputs.iter().map(|output| output.name.as_str()).collect();
        return Err(Diagnostic::error(Name::UnknownName, format!("the sheet gives no `{name}`"))
            .remedy(format!("it gives {}", all.join(", "))));
    };
    let Type::Number { dimension, point, .. } = output.type_ else {
        return Err(Diagnostic::error(Name::UnreadableQuantity, format!("`{name}` is no number"))
            .remedy("ask for a bound of a number"));
    };
    let (digits, ten, symbol) = crate::unit::split_typed(text).map_err(|problem| {
        Diagnostic::error(Name::UnreadableQuantity, format!("`{name}`: {}", problem.headline()))
            .remedy(problem.remedy)
    })?;
    let unit = if symbol.is_empty() {
        dimension.is_none().then(crate::unit::Unit::one)
    } else {
        crate::program::result_unit_of_plate(symbol, dimension, point)
    };
    unit.map(|unit| Literal::new(digits, ten, unit)).ok_or_else(|| {
        let name_ = match crate::unit::parse_unit(symbol) {
            _ if symbol.is_empty() => Name::MissingUnit,
            Ok(_) => Name::UnitMismatch,
            Err(problem) => problem.reason.name(),
        };
        Diagnostic::error(
            name_,
            format!("`{name}` is given in {}, found `{text}`", output.unit.symbol),
        )
        .remedy(format!("write the bound in {}", output.unit.symbol))
    })
}
