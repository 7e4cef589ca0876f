//! The value of an input as a text, read and written.

use rust_decimal::Decimal;

use crate::diagnostic::{Diagnostic, Name, phrase};
use crate::number::InputValue;
use crate::program::{Input, Type};
use crate::unit::{self, Kind, Literal, QuantityProblem, Unit, UnitProblem};

/// That a unit was read from the notation of plates; without a place.
pub(crate) fn plate(typed: &str, unit: &str, names: &str) -> Diagnostic {
    Diagnostic::caution(Name::PlateNotation, format!("`{typed}` is read as {unit} ({names})"))
        .remedy(format!("write {unit}, and nothing is left to be read into it"))
}

/// A literal as it was written: `1450 r/min`.
#[must_use]
pub fn written(literal: &Literal) -> String {
    let digits = digits(literal.digits, literal.ten);
    let unit = &literal.unit.symbol;
    if unit.is_empty() { digits } else { format!("{digits} {unit}") }
}

/// Digits with a power of ten, plain where that is short.
#[must_use]
pub fn digits(digits: Decimal, ten: i32) -> String {
    match ten {
        0 => digits.normalize().to_string(),
        1..=12 => {
            let factor = Decimal::from(10_u64.pow(ten.unsigned_abs()));
            digits
                .checked_mul(factor)
                .map_or_else(|| format!("{digits}e{ten}"), |all| all.normalize().to_string())
        }
        -12..=-1 => {
            let factor = Decimal::new(1, ten.unsigned_abs());
            digits
                .checked_mul(factor)
                .map_or_else(|| format!("{digits}e{ten}"), |all| all.normalize().to_string())
        }
        _ => format!("{}e{ten}", digits.normalize()),
    }
}

/// Reads the text of an input: a word, a quantity, or several.
///
/// # Errors
/// What the text has wrong, without a place.
pub fn read(input: &Input, text: &str) -> Result<InputValue, Diagnostic> {
    match (&input.type_, input.kind) {
        (Type::Choice(words), _) => word(input, words, text),
        (Type::Number { series: true, .. }, Some(kind)) => {
            let separator = if text.contains(';') { ';' } else { ',' };
            let mut values = Vec::new();
            for part in text.split(separator).filter(|part| !part.trim().is_empty()) {
                values.push(quantity(input, kind, part)?);
            }
            if values.is_empty() {
                return Err(Diagnostic::error(
                    Name::MissingInput,
                    format!("`{}` is a series and has no values", input.name),
                )
                .remedy("write the values with commas between: `312 ms, 318 ms`"));
            }
            Ok(InputValue::Many(values))
        }
        (Type::Number { .. }, Some(kind)) => Ok(InputValue::One(quantity(input, kind, text)?)),
        _ => Err(Diagnostic::error(
            Name::Internal,
            format!("`{}` is neither a number nor a choice", input.name),
        )),
    }
}

fn word(input: &Input, words: &[String], text: &str) -> Result<InputValue, Diagnostic> {
    let text = text.trim();
    let at = words.iter().position(|word| word == text);
    let at = at.or_else(|| words.iter().position(|word| word.eq_ignore_ascii_case(text)));
    at.map(InputValue::Word).ok_or_else(|| {
        let list = phrase::quoted(words).join(", ");
        Diagnostic::error(
            Name::UnknownWord,
            format!("`{}` is one of {list}, found `{text}`", input.name),
        )
        .remedy(format!("write {list}").replacen(
            ", ",
            " or ",
            if words.len() == 2 { 1 } else { 0 },
        ))
    })
}

pub(super) fn quantity(
    input: &Input,
    kind: &'static Kind,
    text: &str,
) -> Result<Literal, Diagnostic> {
    let (number, ten, written) =
        unit::split_quantity(text).map_err(|problem| unreadable(input, kind, text, &problem))?;
    with_unit(input, kind, number, ten, Some(written).filter(|unit| !unit.is_empty()))
}

/// What a person typed for an input where the point of a number may part thousands; without a place.
pub(crate) fn unsettled(input: &Input, text: &str) -> Option<Diagnostic> {
    let problem = unit::unsettled_point(text)?;
    Some(unreadable(input, input.kind?, text, &problem))
}

fn unreadable(input: &Input, kind: &Kind, text: &str, problem: &QuantityProblem) -> Diagnostic {
    let whole = phrase::quoted(problem.meant(text));
    let remedy = match whole.as_slice() {
        [] => problem.remedy.clone(),
        [meant] => format!("write {meant}"),
        _ => format!("write {}, whichever is meant", whole.join(" or ")),
    };
    Diagnostic::error(
        Name::UnreadableQuantity,
        format!("`{}` ({}): {}", input.name, kind.name, problem.headline()),
    )
    .remedy(remedy)
}

/// A number and the text of its unit as a value of an input.
///
/// # Errors
/// `missing-unit`, or what the unit has wrong; without a place.
pub fn with_unit(
    input: &Input,
    kind: &'static Kind,
    number: Decimal,
    ten: i32,
    written: Option<&str>,
) -> Result<Literal, Diagnostic> {
    let Some(text) = written else {
        if kind.bare {
            return Ok(Literal::new(number, ten, Unit::one()));
        }
        let units = kind.offered();
        return Err(Diagnostic::error(
            Name::MissingUnit,
            format!(
                "`{}` is {} and {} has no unit",
                input.name,
                kind.with_article(),
                digits(number, ten)
            ),
        )
        .remedy(format!("write {units} behind the number; a unit is never assumed")));
    };
    match kind.read_plate(text) {
        Ok(unit) => Ok(Literal::new(number, ten, unit)),
        Err(problem) => Err(unit_trouble(input, kind, text, &problem)),
    }
}

fn unit_trouble(
    input: &Input,
    kind: &'static Kind,
    text: &str,
    problem: &UnitProblem,
) -> Diagnostic {
    let name = problem.reason.name();
    let name = match (name, kind.name) {
        (Name::WrongPowerOfRad | Name::UnitMismatch, "speed of rotation") if is_rate(text) => {
            Name::RotationMeetsRate
        }
        (name, _) => name,
    };
    Diagnostic::error(
        name,
        format!("`{}` ({}) in `{text}`: {}", input.name, kind.name, problem.headline()),
    )
    .remedy(if name == Name::RotationMeetsRate {
        "a speed of rotation is given in r/min; if the figure counts turns a second, write r/s"
            .to_owned()
    } else {
        problem.remedy.clone()
    })
}

fn is_rate(text: &str) -> bool {
    unit::parse_unit(text)
        .is_ok_and(|unit| unit.dimension == unit::Dimension::of(0, 0, -1, 0, 0, 0))
}
