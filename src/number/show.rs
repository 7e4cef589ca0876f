//! Numbers as a person reads them.

use super::{Exact, Slot};
use crate::elementary::decimal_logarithm;
use crate::program::{Direction, Type};
use crate::unit::Unit;

/// Significant digits of a value that is not short by itself.
const SHOWN: u32 = 6;

/// Longest value that is shown whole.
pub(crate) const SHORT: usize = 10;

/// Digits to which a value has to be short: 319.0484 ms that a quotient left a digit in the 28th place is.
/// The page of a review, on doubles, decides the same to this many digits.
const LOOKED_AT: u32 = 14;

/// A value in a unit, with the unit: `1165 mm`. Short values are shown whole, others to six
/// significant digits.
#[must_use]
pub fn show(value: &Exact, unit: &Unit) -> String {
    show_towards(value, unit, Direction::Nearest)
}

/// A value in a unit, with the unit, its sixth digit rounded in a direction: an end that is shown must not lie
/// within what it bounds.
#[must_use]
pub fn show_towards(value: &Exact, unit: &Unit, direction: Direction) -> String {
    with_unit(digits(value, unit, direction), unit)
}

fn with_unit(number: String, unit: &Unit) -> String {
    if unit.symbol.is_empty() { number } else { format!("{number} {}", unit.symbol) }
}

/// The number alone.
#[must_use]
pub fn show_in(value: &Exact, unit: &Unit) -> String {
    digits(value, unit, Direction::Nearest)
}

fn digits(value: &Exact, unit: &Unit, direction: Direction) -> String {
    let Ok(number) = value.in_unit(unit) else { return "beyond all numbers".to_owned() };
    short(&number).unwrap_or_else(|| number.to_decimal_string(SHOWN, direction))
}

/// The whole number where it is short.
fn short(number: &Exact) -> Option<String> {
    Some(number.to_decimal_string(LOOKED_AT, Direction::Nearest)).filter(|it| it.len() <= SHORT)
}

fn is_short(value: &Exact, unit: &Unit) -> bool {
    value.in_unit(unit).is_ok_and(|number| short(&number).is_some())
}

/// Two values that are compared, and what lies between them, each with its unit and none with more decimals than
/// the coarsest that is not shown whole; with so many that what lies between is not nothing.
#[must_use]
pub(crate) fn show_compared(sides: [&Exact; 2], left: &Exact, units: [&Unit; 2]) -> [String; 3] {
    let [unit, of_left] = units;
    let all = [(sides[0], unit), (sides[1], unit), (left, of_left)];
    let whole = all.map(|(value, unit)| show(value, unit));
    let numbers = all.map(|(value, unit)| value.in_unit(unit).map(|it| it.to_f64()).unwrap_or(0.0));
    let long = all.map(|(value, unit)| !is_short(value, unit));
    let decimals = |number: f64, digits: i32| digits - 1 - decimal_place(number);
    let coarsest = numbers.iter().zip(long).filter(|it| it.1).map(|it| decimals(*it.0, 6)).min();
    let Some(coarsest) = coarsest.filter(|_| numbers.iter().all(|it| *it == 0.0 || is_plain(*it)))
    else {
        return whole;
    };
    let least = if numbers[2] == 0.0 { 0 } else { decimals(numbers[2], 2) };
    let places = coarsest.max(least).max(0);
    let mut shown = whole;
    for (text, ((value, unit), number)) in shown.iter_mut().zip(all.into_iter().zip(numbers)) {
        let digits =
            u32::try_from(places + 1 + decimal_place(number)).unwrap_or(1).clamp(1, LOOKED_AT);
        let Ok(value) = value.in_unit(unit) else { continue };
        let number = value.to_decimal_string(digits, Direction::Nearest);
        *text = with_unit(number, unit);
    }
    shown
}

/// Whether a number is written without a power of ten.
fn is_plain(number: f64) -> bool {
    (1e-6..1e15).contains(&number.abs())
}

/// The power of ten of the first digit.
#[allow(
    clippy::cast_possible_truncation,
    reason = "the decimal logarithm of a float lies within ±330"
)]
fn decimal_place(number: f64) -> i32 {
    if number == 0.0 { 0 } else { (decimal_logarithm(number.abs()) + 1e-12).floor() as i32 }
}

/// What a register holds, as a person reads it.
pub(crate) fn show_slot(slot: &Slot<Exact, bool>, type_: &Type, unit: &Unit) -> String {
    match (slot, type_) {
        (Slot::One(value), Type::Choice(words)) => {
            let at = value.to_f64();
            words
                .iter()
                .enumerate()
                .find(|(place, _)| u32::try_from(*place).is_ok_and(|place| f64::from(place) == at))
                .map_or_else(|| show(value, unit), |(_, word)| word.clone())
        }
        (Slot::One(value), _) => show(value, unit),
        (Slot::Many(values), _) => {
            let numbers: Vec<String> = values.iter().map(|value| show_in(value, unit)).collect();
            let list = numbers.join(", ");
            if unit.symbol.is_empty() { list } else { format!("{list} {}", unit.symbol) }
        }
        (Slot::Truth(true), _) => "holds".to_owned(),
        (Slot::Truth(false), _) => "does not hold".to_owned(),
        (Slot::Empty, _) => "nothing".to_owned(),
    }
}
