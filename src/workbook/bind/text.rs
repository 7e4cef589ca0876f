//! A number that is written as a text: how its owner puts it right.
//!
//! A number is offered only where the whole text is understood, with its unit; everything else is asked.

use crate::calculation::{digits, written};
use crate::spreadsheet::{Book, Form};
use crate::unit::{Kind, Literal, Unit, may_be_thousands, never_thousands, split_quantity};

/// Where the unit of a number stands.
pub(in crate::workbook) enum UnitAt<'a> {
    /// Nowhere yet; it can be written there.
    Free(&'a str),
    /// It is said already, in words: `D7`, `the heading`.
    Said(&'a Unit, &'a str),
}

/// What a text means.
enum Means<'t> {
    /// One number, or one of two, with the text of their unit; whether it is certain.
    Number(Vec<String>, &'t str, bool),
    /// Several numbers where one is needed.
    Several,
    /// Nothing that is certain.
    Unknown,
}

fn means(text: &str) -> Means<'_> {
    match split_quantity(text) {
        // `601/h` may be 60 1/h without its blank
        Ok((_, _, unit)) if unit.starts_with('/') => Means::Unknown,
        Ok((number, ten, unit)) => {
            let plain = digits(number, ten);
            let sign = if plain.starts_with('-') { "-" } else { "" };
            let plain = never_thousands(plain);
            match may_be_thousands(text) {
                Some(thousands) => {
                    Means::Number(vec![format!("{sign}{thousands}"), plain], unit, true)
                }
                None => Means::Number(vec![plain], unit, true),
            }
        }
        Err(problem) if problem.reason == crate::unit::QuantityReason::TwoNumbers => Means::Several,
        // `3/4` may be a quotient, a date or two values
        Err(problem) if problem.reason == crate::unit::QuantityReason::Fraction => Means::Unknown,
        Err(problem) if problem.numbers.is_empty() => Means::Unknown,
        Err(problem) => {
            let certain = problem.reason == crate::unit::QuantityReason::DecimalComma;
            let unit = text.get(problem.span.end..).unwrap_or_default().trim();
            Means::Number(problem.numbers, unit, certain)
        }
    }
}

/// A remedy as it is typed into the file: with its decimal mark, and in place of a formula.
pub(in crate::workbook) fn as_typed(
    book: &Book,
    text: &str,
    remedy: String,
    formula: bool,
) -> String {
    if formula {
        return remedy + ", in place of its formula";
    }
    if !book.decimal_comma {
        return remedy + of_commas(book, text);
    }
    let signs: Vec<char> = remedy.chars().collect();
    let digit =
        |at: Option<usize>| at.and_then(|at| signs.get(at)).is_some_and(char::is_ascii_digit);
    let typed = signs.iter().enumerate().map(|(at, sign)| {
        let mark = *sign == '.' && digit(at.checked_sub(1)) && digit(at.checked_add(1));
        if mark { ',' } else { *sign }
    });
    typed.collect()
}

/// What helps with a number that has a decimal comma, in a file that is read with points.
fn of_commas(book: &Book, text: &str) -> &'static str {
    let digits = |text: &str| !text.is_empty() && text.chars().all(|sign| sign.is_ascii_digit());
    let plain = text.trim().trim_start_matches(['-', '+', '−']);
    let comma = plain.split_once(',').is_some_and(|(whole, rest)| digits(whole) && digits(rest));
    match comma && book.form == Form::Csv {
        true => "; decimal commas are read by `standstill range --decimal-comma` alone",
        false => "",
    }
}

/// How the default of a sheet is taken instead, behind what is to be written.
pub(in crate::workbook) fn or_default(default: &Literal) -> String {
    format!("; to take the sheet's default of {}, take the whole row or name out", written(default))
}

/// What to write into a cell in the place of a text.
pub(in crate::workbook) fn remedy(
    kind: &'static Kind,
    text: &str,
    here: &str,
    unit: &UnitAt<'_>,
) -> String {
    let ask = || match unit {
        UnitAt::Free(_) if kind.bare => format!("write the number alone into {here}"),
        UnitAt::Free(right) => {
            format!(
                "write the number alone into {here}, and its unit ({}) into {right}",
                kind.offered()
            )
        }
        UnitAt::Said(unit, at) if unit.symbol.is_empty() => {
            let _ = at;
            format!("write the number alone into {here}")
        }
        UnitAt::Said(unit, at) => {
            format!(
                "write the number alone into {here}, in {}: that unit stands in {at}",
                unit.symbol
            )
        }
    };
    let (numbers, typed, certain) = match means(text) {
        Means::Number(numbers, typed, certain) => (numbers, typed, certain),
        Means::Several => {
            return match unit {
                UnitAt::Free(right) => {
                    format!("write one number into {here}, and its unit into {right}")
                }
                UnitAt::Said(..) => format!("write one number into {here}"),
            };
        }
        Means::Unknown => return ask(),
    };
    let own = if typed.is_empty() { None } else { kind.read_plate(typed).ok() };
    if !typed.is_empty() && own.is_none() {
        return ask();
    }
    let number = numbers.join(" or ");
    let meant = match (numbers.len(), certain) {
        (1, true) => "",
        (1, false) => ", if that is meant",
        _ => ", whichever is meant",
    };
    let only = format!("write {number} into {here} as a number{meant}");
    // the sign stays with the number: 0.9 alone may be the share
    if own.as_ref().is_some_and(|own| own.symbol == "%") {
        let signed: Vec<String> = numbers.iter().map(|number| format!("`{number} %`")).collect();
        return format!("write {} into {here}{meant}", signed.join(" or "));
    }
    match (own, unit) {
        (None, UnitAt::Free(_)) if kind.bare => only,
        (None, UnitAt::Free(right)) => {
            format!("{only}, and its unit ({}) into {right}", kind.offered())
        }
        (Some(own), UnitAt::Free(right)) => {
            format!(
                "write {number} into {here} as a number{meant}, and {} into {right}",
                own.symbol
            )
        }
        (None, UnitAt::Said(..)) => only,
        (Some(own), UnitAt::Said(said, at)) if own.is_same(said) => {
            format!("{only}; its unit {} stands in {at}", said.symbol)
        }
        (Some(_), UnitAt::Said(..)) => ask(),
    }
}
