//! A plain number that may be a share as well as a percentage: 0.9 beside `%`, 95 beside nothing.
//!
//! The sheet's own example or default shows what size its input usually has. A number has two readings, a hundred apart;
//! where the one that its cell does not state is nearer to the usual size, as a ratio, the owner is asked. An input whose
//! usual values lie below 1 % is read as it stands, and so is a cell that shows its number as a percentage.

use crate::calculation::scale::{hundredfold, hundredth};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::{Input, Limit};
use crate::unit::{Kind, Unit, parse_number, split_quantity};

/// How many times nearer the other reading is than the stated one, where both are as near: the middle of a hundredfold.
const MIDDLE: f64 = 10.0;

/// The question about a number in the unit that is stated for it; none where only one reading is likely.
pub(in crate::workbook) fn doubt(
    input: &Input,
    number: f64,
    unit: &Unit,
    here: &str,
) -> Option<Diagnostic> {
    let kind = input.kind.filter(|kind| kind.dimension.is_none())?;
    let stated = unit.symbol == "%";
    if number <= 0.0 || !stated && !unit.symbol.is_empty() {
        return None;
    }
    // nothing is asked of a percentage from 1 to 100, nor of what may have any size
    let quiet = if stated { number > 1.0 && number <= 100.0 } else { !is_share(input, kind) };
    if quiet {
        return None;
    }
    let usual = usual_percent(input);
    let of_usual = |one: fn(f64, f64) -> f64| usual.iter().copied().reduce(one);
    let percent = if stated { number } else { hundredfold(number)? };
    let (share, whole) = (hundredth(number)?, hundredfold(number)?);
    let (words, remedy) = if stated && number <= 1.0 {
        let far = of_usual(f64::min).is_none_or(|usual| MIDDLE * number < usual);
        if !far || !allows(input, whole) {
            return None;
        }
        (
            format!("{number} in a cell for % may be the share: {whole} %"),
            match allows(input, number) {
                true => format!(
                    "if {number} % is meant, write `{number} %` into {here}; if {whole} %, write {whole}"
                ),
                false => format!("if {whole} % is meant, write {whole} into {here}"),
            },
        )
    } else {
        let far = of_usual(f64::max).is_none_or(|usual| percent > MIDDLE * usual);
        // a share of more than the whole is rare; a ratio without a unit may have any size
        let beyond = percent > 100.0 || input.unit.symbol == "%";
        let possible = allows(input, percent);
        let known = !stated || percent > 100.0 && possible;
        if !(far && beyond && known) {
            return None;
        }
        let (said, meant, typed) = match stated {
            true => ("in a cell for %", share, share.to_string()),
            false => ("without a unit", number, format!("`{number} %`")),
        };
        let only = format!("if {meant} % is meant, write {typed} into {here}");
        (
            format!("{number} {said} is {percent} %, and may be meant as {meant} %"),
            if possible { format!("{only}; if {percent} %, write `{percent} %`") } else { only },
        )
    };
    let words = format!("`{}` ({}): {words}", input.name, kind.name);
    Some(Diagnostic::error(Name::TwoStatements, words).remedy(remedy))
}

/// The number of a text that states its own percent sign: `0.9 %`; none for any other text.
pub(in crate::workbook) fn stated(text: &str) -> Option<&str> {
    let number = text.trim().strip_suffix('%')?.trim_end();
    let plain = parse_number(number).is_some() && crate::unit::may_be_thousands(number).is_none();
    plain.then_some(number)
}

/// Whether an input is a part of a whole, and not a ratio of any size.
fn is_share(input: &Input, kind: &Kind) -> bool {
    input.unit.symbol == "%"
        || kind.units.first() == Some(&"%")
        || kind.name == "coefficient of friction"
}

/// The sizes that the sheet shows for an input, in %; a zero shows none.
fn usual_percent(input: &Input) -> Vec<f64> {
    let shown = input.example.iter().chain(&input.default);
    shown.map(|literal| literal.si_f64().abs() * 100.0).filter(|percent| *percent > 0.0).collect()
}

/// Whether the range of an input lets it have that percentage; a bound that is calculated is not looked at.
fn allows(input: &Input, percent: f64) -> bool {
    let bound = |limit: &Limit| {
        let (digits, ten, unit) = split_quantity(&limit.written).ok()?;
        let unit =
            if unit.is_empty() { Unit::one() } else { crate::unit::parse_unit(unit).ok()? };
        Some((unit.to_si(digits, ten) * 100.0, limit.included))
    };
    let low = input.low.as_ref().and_then(bound);
    let high = input.high.as_ref().and_then(bound);
    low.is_none_or(|(low, included)| percent > low || included && percent >= low)
        && high.is_none_or(|(high, included)| percent < high || included && percent <= high)
}
