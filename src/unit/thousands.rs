//! A point with three digits after it, which may part thousands: `1.450`.
//!
//! Where a person typed it, it is asked; what this program writes is never of this form.

use std::ops::Range;

use rust_decimal::Decimal;

use super::decimal::{end_of_number, is_decimal, may_be_thousands, never_thousands, without_zeros};
use super::quantity::{QuantityProblem, QuantityReason, choice, split_quantity};

/// The first number of a text typed by a person whose point may part thousands.
///
/// Nothing is asked where another number of the same text shows what the point is: `1.450 s ± 0.02 s`.
///
/// # Example
/// ```
/// use standstill::unit::unsettled_point;
/// let problem = unsettled_point("1.450 r/min").unwrap();
/// assert_eq!(problem.remedy, "write `1450` or `1.45`, whichever is meant");
/// assert!(unsettled_point("0.321 s").is_none());
/// assert!(unsettled_point("1.450 s ± 0.02 s").is_none());
/// ```
#[must_use]
pub fn unsettled_point(text: &str) -> Option<QuantityProblem> {
    let mut first: Option<(Range<usize>, String)> = None;
    let mut at = 0;
    while let Some(start) = next_number(text, at) {
        let rest = text.get(start..)?;
        let length = end_of_number(rest).max(1);
        let number = rest.get(..length)?;
        at = start + length;
        // `1.450.000` and `1.450,5` are asked for their groups; `1.450,2.310` is two numbers
        let digit = |it: char| it.is_ascii_digit();
        let goes_on = rest.get(length..).is_some_and(|rest| {
            let after = rest.strip_prefix(['.', ',', '\'', '’']).unwrap_or_default();
            let list = rest.starts_with(',') && after.trim_start_matches(digit).starts_with('.');
            after.starts_with(digit) && !list
        });
        match may_be_thousands(number) {
            Some(thousands) if !goes_on => first = first.or(Some((start..at, thousands))),
            None if is_decimal(number) && !goes_on => return None,
            _ => {}
        }
    }
    let (span, thousands) = first?;
    let found = text.get(span.clone())?.to_owned();
    let numbers = vec![thousands, never_thousands(without_zeros(&found))];
    let remedy = choice(&numbers);
    Some(QuantityProblem { reason: QuantityReason::Thousands, span, found, remedy, numbers })
}

/// Splits a quantity as [`split_quantity`], and asks where its point may part thousands.
///
/// # Errors
/// As [`split_quantity`], and [`QuantityReason::Thousands`].
pub fn split_typed(text: &str) -> Result<(Decimal, i32, &str), QuantityProblem> {
    unsettled_point(text).map_or_else(|| split_quantity(text), Err)
}

/// Where the next number begins that is not part of a name, of a unit or of another number.
fn next_number(text: &str, from: usize) -> Option<usize> {
    let within = |before: Option<char>| {
        before.is_some_and(|it| it.is_alphanumeric() || matches!(it, '.' | '_' | '^' | '\'' | '’'))
    };
    let mut before = text.get(..from)?.chars().next_back();
    for (at, sign) in text.get(from..)?.char_indices() {
        if sign.is_ascii_digit() && !within(before) {
            return Some(from + at);
        }
        before = Some(sign);
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_that_nothing_settles_is_asked_and_either_answer_is_taken() {
        for (text, thousands, decimal) in [
            ("1.450", "1450", "1.45"),
            ("-1.450 r/min", "-1450 r/min", "-1.45 r/min"),
            ("12.125 s", "12125 s", "12.1250 s"),
            ("100.000 N", "100000 N", "100 N"),
            ("350 ms ± 1.250 ms", "350 ms ± 1250 ms", "350 ms ± 1.25 ms"),
            ("from 1.450 s to 2.310 s", "from 1450 s to 2.310 s", "from 1.45 s to 2.310 s"),
            ("1.450 s, 2.310 s", "1450 s, 2.310 s", "1.45 s, 2.310 s"),
            ("1.450,2.310", "1450,2.310", "1.45,2.310"),
            ("1.450kg", "1450kg", "1.45kg"),
        ] {
            let problem = unsettled_point(text).map(|it| it.meant(text));
            assert_eq!(problem, Some(vec![thousands.to_owned(), decimal.to_owned()]), "{text}");
            assert!(unsettled_point(decimal).is_none(), "{decimal}");
        }
    }

    #[test]
    fn a_point_that_something_settles_is_not_asked() {
        for text in [
            "1450", "0.321 s", "1.45 s", "1.1250 s", "1450.125 s", "1.450e3 r/min",
            "1.450 s ± 20.5 ms", "350.250 ms +0.5 ms -0 ms", "S1.450", "a_1.450", "28.11.2026", "",
        ] {
            assert!(unsettled_point(text).is_none(), "{text}");
        }
    }
}
