//! The value of an input as a text, read and written.

use std::ops::Range;

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
            let parts = values_of(input, text)?;
            let values: Result<Vec<Literal>, Diagnostic> = parts
                .iter()
                .map(|part| element(kind, part, &|part| quantity(input, kind, part), input))
                .collect();
            values.map(InputValue::Many).map_err(|problem| match problem.name {
                Name::MissingUnit => with_unit_of_all(problem, &parts),
                _ => problem,
            })
        }
        (Type::Number { .. }, Some(kind)) => Ok(InputValue::One(quantity(input, kind, text)?)),
        _ => Err(Diagnostic::error(
            Name::Internal,
            format!("`{}` is neither a number nor a choice", input.name),
        )),
    }
}

/// The values of a series as they are typed, none of them empty.
///
/// They are parted by `;`, else by commas; a comma between two digits belongs to a number, but where both numbers
/// have a point.
///
/// # Errors
/// `missing-input` where there is none, or nothing stands between two of them; without a place.
pub(crate) fn values_of<'a>(input: &Input, text: &'a str) -> Result<Vec<&'a str>, Diagnostic> {
    let parts: Vec<&str> =
        parted(text).into_iter().map(|part| text.get(part).unwrap_or_default()).collect();
    let held: Vec<&str> =
        parts.iter().map(|part| part.trim()).filter(|part| !part.is_empty()).collect();
    let problem =
        |headline, remedy| Err(Diagnostic::error(Name::MissingInput, headline).remedy(remedy));
    match held.len() {
        0 => problem(
            format!("`{}` is a series and has no values", input.name),
            "write the values with commas between: `312 ms, 318 ms`".to_owned(),
        ),
        all if all < parts.len() => problem(
            format!("one of the values of `{}` is empty", input.name),
            format!(
                "write the value that is missing, or `{}` without it",
                held.join(if text.contains(';') { "; " } else { ", " })
            ),
        ),
        _ => Ok(parts),
    }
}

/// Where the values of a series stand in a text, as [`values_of`] parts them.
pub(crate) fn parted(text: &str) -> Vec<Range<usize>> {
    let by_semicolon = text.contains(';');
    let mut found = Vec::new();
    let mut start = 0;
    for (at, sign) in text.char_indices() {
        let parts = match sign {
            ';' => true,
            ',' => !by_semicolon && !within_a_number(text, at),
            _ => false,
        };
        if parts {
            found.push(start..at);
            start = at + 1;
        }
    }
    found.push(start..text.len());
    found
}

/// Whether the comma at a place stands between two digits, and not between two numbers with a point each.
fn within_a_number(text: &str, comma: usize) -> bool {
    let part = |it: &char| it.is_ascii_digit() || *it == '.';
    let before: String =
        text.get(..comma).unwrap_or_default().chars().rev().take_while(part).collect();
    let after: String =
        text.get(comma + 1..).unwrap_or_default().chars().take_while(part).collect();
    let digit = |it: &str| it.starts_with(|it: char| it.is_ascii_digit());
    digit(&before) && digit(&after) && !(before.contains('.') && after.contains('.'))
}

/// That a value has no unit, where those that have one all have the same.
fn with_unit_of_all(problem: Diagnostic, parts: &[&str]) -> Diagnostic {
    let unit = |part: &&str| unit::split_quantity(part).ok().map(|(.., unit)| unit.to_owned());
    let Some(units) = parts.iter().map(unit).collect::<Option<Vec<_>>>() else { return problem };
    let mut own = units.iter().filter(|unit| !unit.is_empty());
    let Some(one) = own.next().filter(|one| own.all(|it| it == *one)) else { return problem };
    let all = parts.iter().zip(&units).map(|(part, unit)| match unit.is_empty() {
        true => format!("{} {one}", part.trim()),
        false => part.trim().to_owned(),
    });
    problem.remedy(format!(
        "write `{}` if all are in {one}; a unit is never assumed",
        all.collect::<Vec<_>>().join(", ")
    ))
}

/// One value of a series; what parts its digits may part several values.
///
/// # Errors
/// What the text has wrong, without a place.
pub(crate) fn element(
    kind: &Kind,
    part: &str,
    read: &dyn Fn(&str) -> Result<Literal, Diagnostic>,
    input: &Input,
) -> Result<Literal, Diagnostic> {
    let found = read(part);
    let text = part.trim();
    let Err(problem) = unit::split_quantity(text) else { return found };
    let Some((several, unit)) = several(input, text).filter(|_| found.is_err()) else {
        return found;
    };
    // no number is meant that has more digits than are kept
    let kept = |it: &String| it.chars().filter(char::is_ascii_digit).count() <= 28;
    let one = problem.meant(text).into_iter().filter(|it| unit.is_empty() && kept(it));
    let remedy = unit::choice(&one.chain([several]).collect::<Vec<_>>());
    Err(Diagnostic::error(
        Name::UnreadableQuantity,
        format!("`{}` ({}): `{text}` may be several values", input.name, kind.name),
    )
    .remedy(match unit.is_empty() {
        true => remedy,
        false => format!("{remedy} if they are in {unit}; a unit is never assumed"),
    }))
}

/// Digits that may be several values, parted by one kind of sign: each with the unit behind them all, or, where there is
/// none, with the one in which the sheet asks for them, which is named too.
fn several(input: &Input, text: &str) -> Option<(String, String)> {
    let digits = |it: char| {
        it.is_ascii_digit() || it.is_whitespace() || unit::is_dash(it) || ",.+".contains(it)
    };
    let (numbers, unit) = text.split_at(text.find(|it| !digits(it)).unwrap_or(text.len()));
    let parts: Vec<&str> = match numbers.contains(',') {
        true => numbers.split(',').map(str::trim).collect(),
        false => numbers.split_whitespace().collect(),
    };
    let plain = |part: &&str| {
        unit::split_quantity(part).is_ok_and(|(.., rest)| rest.is_empty())
            && part.ends_with(|it: char| it.is_ascii_digit())
            && unit::unsettled_point(part).is_none()
    };
    let is_bare = input.kind.is_some_and(|kind| kind.bare);
    let assumed = if unit.is_empty() && !is_bare { input.unit.symbol.as_str() } else { "" };
    let unit = if assumed.is_empty() { unit } else { assumed };
    (parts.len() > 1 && !unit.starts_with(not_of_a_unit) && parts.iter().all(plain)).then(|| {
        let all = parts.iter().map(|part| format!("{part} {unit}").trim_end().to_owned());
        (all.collect::<Vec<_>>().join(", "), assumed.to_owned())
    })
}

/// What goes on with digits rather than begins a unit.
fn not_of_a_unit(sign: char) -> bool {
    "/:'’`–—…".contains(sign)
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

fn unreadable(
    input: &Input,
    kind: &'static Kind,
    text: &str,
    problem: &QuantityProblem,
) -> Diagnostic {
    let meant = problem.meant(text).into_iter().flat_map(|meant| in_its_unit(kind, meant));
    let meant: Vec<String> = meant.collect();
    // what is to be typed reads: a unit that is wrong as well is told at once
    let unit = meant.iter().find_map(|meant| {
        let (number, ten, unit) = unit::split_quantity(meant).ok()?;
        with_unit(input, kind, number, ten, Some(unit).filter(|it| !it.is_empty())).err()
    });
    let remedy = match unit {
        None if meant.is_empty() => problem.remedy.clone(),
        None => unit::choice(&meant),
        Some(wrong) => {
            let rate = if wrong.name == Name::RotationMeetsRate { RATE } else { "" };
            let first = unit::choice(&problem.numbers);
            let remedy = format!("{first}, and behind it its unit: {}; {rate}", units(input, kind));
            remedy.trim_end_matches("; ").to_owned()
        }
    };
    Diagnostic::error(
        Name::UnreadableQuantity,
        format!("`{}` ({}): {}", input.name, kind.name, problem.headline()),
    )
    .remedy(remedy)
}

/// That there is no unit, as it can be typed.
const NO_UNIT: &str = "– (no unit)";

/// The units in which an input may be given, as words.
fn units(input: &Input, kind: &Kind) -> String {
    let own = [input.unit.symbol.as_str()].into_iter().filter(|it| !it.is_empty());
    let others = kind.units.iter().copied().filter(|it| *it != input.unit.symbol);
    let none = kind.bare.then_some(NO_UNIT);
    phrase::joined(&own.chain(others).chain(none).collect::<Vec<_>>(), "or")
}

/// What may be meant, in the units that may be meant where its own is none: `0.5 hp` or `0.5 hp_E` for `0.5 HP`.
fn in_its_unit(kind: &'static Kind, meant: String) -> Vec<String> {
    let Ok((.., unit)) = unit::split_quantity(&meant) else { return vec![meant] };
    let number = meant.get(..meant.len() - unit.len()).unwrap_or_default();
    if let Some((power, own)) = power_of_ten(unit).filter(|(_, own)| kind.read_plate(own).is_ok()) {
        return vec![format!("{}e{power} {own}", number.trim_end())];
    }
    match kind.read_plate(unit) {
        // one unit in several writings, not units of its kind in the place of another's
        Err(problem) if !unit.is_empty() && !problem.nearest.is_empty() => {
            let (all, own) = (&problem.nearest, unit.to_lowercase());
            let same = |near: &String| near.to_lowercase().starts_with(&own);
            match all.len() > 1 && all.iter().all(same) {
                true => all.iter().map(|near| format!("{number}{near}")).collect(),
                false => vec![meant],
            }
        }
        _ => vec![meant],
    }
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
    kind.read_plate(text).map(|unit| Literal::new(number, ten, unit)).map_err(|problem| {
        let trouble = unit_trouble(input, kind, text, &problem);
        match with_power(kind, (number, ten), text) {
            Some((number, unit)) => trouble.remedy(format!("write `{number} {unit}`")),
            None => trouble,
        }
    })
}

/// A number with the power of ten that stands before its unit, and that unit: 0.0000021 and `kg·m²` of 0.0021 and
/// `10⁻³ kg·m²`.
pub(crate) fn with_power<'t>(
    kind: &'static Kind,
    (number, ten): (Decimal, i32),
    text: &'t str,
) -> Option<(String, &'t str)> {
    let (power, unit) = power_of_ten(text).filter(|(_, unit)| kind.read_plate(unit).is_ok())?;
    Some((digits(number, ten.checked_add(power)?), unit))
}

/// A power of ten that stands before a unit, as in `35·10⁻⁴ kg·m²` and `35 x 10^-4 kg·m²`.
fn power_of_ten(text: &str) -> Option<(i32, &str)> {
    let rest = text.trim_start().trim_start_matches(['·', 'x', 'X', '×', '*']).trim_start();
    let rest = rest.strip_prefix("10")?;
    let end = rest.find(char::is_whitespace)?;
    let (power, unit) = rest.split_at(end);
    let raised: String = power
        .chars()
        .map(|sign| match "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().position(|it| it == sign) {
            Some(digit) => u32::try_from(digit).ok().and_then(|it| char::from_digit(it, 10)),
            None => Some(if sign == '⁻' || unit::is_dash(sign) { '-' } else { sign }),
        })
        .collect::<Option<_>>()?;
    Some((raised.trim_start_matches('^').parse().ok()?, unit.trim()))
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
        format!("a speed of rotation is given in r/min; {RATE}")
    } else {
        kind.with_own_unit(&problem.remedy, &input.unit)
    })
}

/// What a rate may mean where a speed of rotation is asked for.
pub(crate) const RATE: &str =
    "if the figure counts turns a second, write r/s, if it is an angular speed, rad/s";

fn is_rate(text: &str) -> bool {
    unit::parse_unit(text)
        .is_ok_and(|unit| unit.dimension == unit::Dimension::of(0, 0, -1, 0, 0, 0))
}
