//! Numbers as a person reads them.

use super::{Exact, Slot};
use crate::program::{Direction, Type};
use crate::unit::Unit;

/// Significant digits of a value that is not short by itself.
const SHOWN: u32 = 6;

/// Longest value that is shown whole.
const SHORT: usize = 10;

/// Digits to which a value has to be short: 319.0484 ms that a quotient left a digit in the 28th place is.
/// So many that doubles tell the same, in the page of a review.
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
    let number = digits(value, unit, direction);
    if unit.symbol.is_empty() { number } else { format!("{number} {}", unit.symbol) }
}

/// The number alone.
#[must_use]
pub fn show_in(value: &Exact, unit: &Unit) -> String {
    digits(value, unit, Direction::Nearest)
}

fn digits(value: &Exact, unit: &Unit, direction: Direction) -> String {
    let Ok(number) = value.in_unit(unit) else { return "beyond all numbers".to_owned() };
    let whole = number.to_decimal_string(LOOKED_AT, Direction::Nearest);
    if whole.len() <= SHORT {
        return whole;
    }
    number.to_decimal_string(SHOWN, direction)
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
