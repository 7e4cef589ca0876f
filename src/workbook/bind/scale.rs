//! A value whose unit makes it absurd by its scale: `MN·m` where `mN·m` was meant, `Ms` for `ms`.
//!
//! The sheet's own example shows what size its input usually has. A prefix is asked where the value lies far from it and
//! the same unit with the prefix in its other case, or without a prefix of a million, brings it near. Who means it writes
//! it in the unit without the prefix.

use super::Request;
use super::percent::{hundredfold, hundredth};
use crate::diagnostic::{Diagnostic, Name};
use crate::number::InputValue;
use crate::program::Input;
use crate::unit::{Kind, Literal, Unit};

/// How many times smaller or larger than every example a value is that bears the figure of another unit: r/s for r/min is
/// sixty times.
const UNUSUAL: f64 = 50.0;

/// Values in an unusual unit that would be usual in that of the sheet's example: `1.6 mN·m` beside an example of 1.6 N·m.
pub(in crate::workbook) fn unusual(request: &Request) -> Vec<Diagnostic> {
    let inputs = request.program.inputs.iter().filter(|input| request.inputs.is_given(input));
    let found = inputs.filter_map(|input| {
        let values = match request.inputs.value(input)? {
            InputValue::One(given) => vec![given],
            InputValue::Many(given) => given,
            InputValue::Word(_) => return None,
        };
        // of a series the value that is the least unusual
        let number = |it: &Literal| Unit::one().to_si(it.digits, it.ten);
        let off = |it: &Literal| away(input, number(it), &it.unit).unwrap_or(1.0);
        let given = values.iter().min_by(|one, other| off(one).total_cmp(&off(other)))?;
        let number = number(given);
        let place = request.inputs.place(input);
        unusual_unit(input, number, &given.unit).map(|problem| problem.at(place))
    });
    found.collect()
}

/// As [`unusual`], of one number.
pub(in crate::workbook) fn unusual_unit(
    input: &Input,
    number: f64,
    unit: &Unit,
) -> Option<Diagnostic> {
    let usual = input.example.first()?;
    let (own, other) = (away(input, number, unit)?, away(input, number, &usual.unit)?);
    if unit.is_same(&usual.unit) {
        let other = slipped(input, number, unit, own)?;
        return Some(is_it_in(input, number, unit, (own, &other)));
    }
    if own < UNUSUAL || other > 10.0 {
        return None;
    }
    if unit.symbol.is_empty() && usual.unit.symbol == "%" {
        // as a cell gives it that shows a percentage
        let (whole, part) = (hundredfold(number)?, hundredth(number)?);
        let words = format!("`{}` is {number}, which is {whole} %", input.name);
        return Some(Diagnostic::caution(Name::TwoStatements, words).remedy(format!(
            "if {number} % is meant, write {part} where the cell shows a percentage, else `{number} %`; if {whole} %, nothing is to be done"
        )));
    }
    Some(is_it_in(input, number, unit, (own, &usual.unit)))
}

/// How many times smaller or larger than every example a value in the unit of the example is that bears the figure of
/// another unit: seconds under ms are a thousand times; a machine may well be a hundred times the one of the example.
const SLIPPED: f64 = 300.0;

/// The unit of the kind in which a number is as large as the sheet's example, within three times.
fn slipped(input: &Input, number: f64, unit: &Unit, own: f64) -> Option<Unit> {
    let units = input.kind.filter(|_| own >= SLIPPED)?.units.iter();
    let read = units.filter_map(|unit| input.kind?.read_plate(unit).ok());
    let mut near = read.filter(|other| away(input, number, other).is_some_and(|it| it <= 3.0));
    near.find(|other| !other.is_same(unit))
}

/// Whether a number is meant in another unit.
fn is_it_in(input: &Input, number: f64, unit: &Unit, (own, other): (f64, &Unit)) -> Diagnostic {
    let usual = input.example.first().map(crate::calculation::written).unwrap_or_default();
    let words = format!(
        "`{}` is {number} {}, {} times off the sheet's example of {usual}: is it in {}?",
        input.name,
        unit.symbol,
        own.round(),
        other.symbol
    );
    Diagnostic::caution(Name::TwoStatements, words).remedy(format!(
        "if it is, write {} in the place of {}; if not, nothing is to be done",
        other.symbol, unit.symbol
    ))
}

/// How many times larger or smaller than every example and default a value is far: four powers of ten, as a machine
/// may well be a thousand times the one of the example.
const FAR: f64 = 1e4;

/// How many times nearer the other unit brings it.
const NEARER: f64 = 1e3;

/// The question about a value in its unit; none where the prefix is likely.
pub(in crate::workbook) fn doubt(input: &Input, number: f64, unit: &Unit) -> Option<Diagnostic> {
    let kind = input.kind?;
    let off = |unit: &Unit| away(input, number, unit);
    let own = off(unit).filter(|own| *own > FAR)?;
    let others = meant(kind, unit);
    let near: Vec<&Unit> =
        others.iter().filter(|other| off(other).is_some_and(|it| it * NEARER < own)).collect();
    if near.is_empty() {
        return None;
    }
    let plain = unit.symbol.get(1..).and_then(|rest| kind.read_plate(rest).ok())?;
    let usual = input.example.first().or(input.default.as_ref())?;
    let words = format!(
        "`{}` ({}): {number} {} is far from the sheet's example of {}",
        input.name,
        kind.name,
        unit.symbol,
        crate::calculation::written(usual)
    );
    let near: Vec<&str> = near.iter().map(|unit| unit.symbol.as_str()).collect();
    Some(Diagnostic::error(Name::TwoStatements, words).remedy(format!(
        "is {} meant? If {} is, write the value in {}",
        near.join(" or "),
        unit.symbol,
        plain.symbol
    )))
}

/// From where to where, without its sign, nothing is asked of a number in that unit.
pub(in crate::workbook) fn unasked(input: &Input, unit: &Unit) -> (f64, f64) {
    let mut shown = input.example.iter().chain(&input.default).map(|it| it.si_f64().abs());
    match shown.find(|it| *it > 0.0 && !unit.point).map(|it| it / unit.factor.as_f64().abs()) {
        // well within, whatever is rounded
        Some(usual) => (usual * 2.0 / FAR, usual * FAR / 2.0),
        None => (0.0, f64::INFINITY),
    }
}

/// How many times larger or smaller a value is than the nearest of the sheet's own; none for zero, or without any.
fn away(input: &Input, number: f64, unit: &Unit) -> Option<f64> {
    if unit.point || number == 0.0 {
        return None;
    }
    let value = (number * unit.factor.as_f64()).abs();
    let shown = input.example.iter().chain(&input.default).map(|it| it.si_f64().abs());
    let ratios = shown.filter(|it| *it > 0.0).map(|it| (value / it).max(it / value));
    ratios.reduce(f64::min)
}

/// The units that a prefix may have been written for: `mN·m` and `N·m` for `MN·m`, `Mm` for `mm`.
fn meant(kind: &'static Kind, unit: &Unit) -> Vec<Unit> {
    let read = |text: String| kind.read_plate(&text).ok();
    let found = match (unit.symbol.strip_prefix('M'), unit.symbol.strip_prefix('m')) {
        (Some(rest), _) => vec![read(format!("m{rest}")), read(rest.to_owned())],
        (_, Some(rest)) => vec![read(format!("M{rest}"))],
        _ => Vec::new(),
    };
    found.into_iter().flatten().collect()
}

/// What to do about a unit of another kind: the units of the input in which its number is near the sheet's example, as
/// a question.
pub(in crate::workbook) fn unit_question(
    input: &Input,
    kind: &'static Kind,
    number: f64,
) -> String {
    let near = kind.units.iter().filter(|unit| {
        let unit = kind.read_plate(unit).ok();
        unit.and_then(|unit| away(input, number, &unit)).is_some_and(|times| times <= 10.0)
    });
    let near: Vec<&str> = near.copied().collect();
    match near.as_slice() {
        [] => format!("write the unit in which {number} is: {}", kind.offered()),
        near => format!("is it in {}? Write the unit in which {number} is", near.join(" or ")),
    }
}
