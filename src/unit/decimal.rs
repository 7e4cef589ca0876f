//! Decimal numbers as they are written: read exactly, and where their point may part thousands.

use rust_decimal::Decimal;

/// Most significant digits that are kept, all of them exactly.
pub(super) const MOST_DIGITS: usize = 28;

/// Whether a sign is a dash: the minus sign, the hyphen of keyboards, and what programs for texts make of it. Directly
/// before digits each of them is a minus, alone behind a number it says that there is no unit.
pub(crate) const fn is_dash(sign: char) -> bool {
    matches!(sign, '-' | '−' | '\u{2010}'..='\u{2015}' | '\u{fe58}' | '\u{fe63}' | '\u{ff0d}')
}

/// Whether a sign stands before a number.
pub(super) const fn is_sign(sign: char) -> bool {
    is_dash(sign) || sign == '+'
}

/// Reads a decimal number exactly, as digits and a power of ten beside them.
///
/// Up to 28 significant digits are kept as written; `None` for more, for anything but a plain
/// decimal number, and for powers of ten beyond an `i32`.
///
/// # Example
/// ```
/// use standstill::unit::parse_number;
/// let (digits, ten) = parse_number("1.50e3").unwrap();
/// assert_eq!((digits.to_string().as_str(), ten), ("1.50", 3));
/// assert!(parse_number("1.5 kg").is_none());
/// assert!(parse_number("12345678901234567890123456789").is_none());
/// ```
#[must_use]
pub fn parse_number(text: &str) -> Option<(Decimal, i32)> {
    if text.is_empty() || end_of_number(text) != text.len() {
        return None;
    }
    let negative = text.starts_with(is_dash);
    let text = text.trim_start_matches(is_sign);
    let (mantissa, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let mut ten: i32 = exponent.replace(is_dash, "-").parse().ok()?;
    if has_leading_zero(mantissa) {
        return None;
    }
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let digits = format!("{whole}{fraction}");
    let significant = digits.trim_start_matches('0');
    let mut scale = fraction.len();
    let mut kept = significant;
    if significant.len() > MOST_DIGITS {
        // zeros at the end are not digits that are lost
        kept = significant.trim_end_matches('0');
        if kept.len() > MOST_DIGITS {
            return None;
        }
        let dropped = significant.len() - kept.len();
        if dropped <= scale {
            scale -= dropped;
        } else {
            ten = ten.checked_add(i32::try_from(dropped - scale).ok()?)?;
            scale = 0;
        }
    }
    if scale > MOST_DIGITS {
        ten = ten.checked_sub(i32::try_from(scale - MOST_DIGITS).ok()?)?;
        scale = MOST_DIGITS;
    }
    let value: i128 = if kept.is_empty() { 0 } else { kept.parse().ok()? };
    let value = if negative { -value } else { value };
    Some((Decimal::try_from_i128_with_scale(value, u32::try_from(scale).ok()?).ok()?, ten))
}

/// Whether a zero stands before the first digit of an unsigned number: `0166` may be a torn `10166` or `0.166`.
pub(crate) fn has_leading_zero(number: &str) -> bool {
    number.strip_prefix('0').is_some_and(|rest| rest.starts_with(|it: char| it.is_ascii_digit()))
}

/// The number that is left without them.
pub(crate) fn without_leading_zeros(number: &str) -> String {
    let rest = number.trim_start_matches('0');
    if rest.starts_with(|it: char| it.is_ascii_digit()) {
        rest.to_owned()
    } else {
        format!("0{rest}")
    }
}

/// Bytes of the decimal number at the beginning; 0 when there is none.
///
/// An `e` counts only with digits after it, so that `3 eV` and `3em` keep theirs.
pub(super) fn end_of_number(text: &str) -> usize {
    let sign = text.chars().next().filter(|it| is_sign(*it)).map_or(0, char::len_utf8);
    let digits = |from: usize| {
        let rest = text.get(from..).unwrap_or_default();
        rest.find(|it: char| !it.is_ascii_digit()).unwrap_or(rest.len())
    };
    let whole = digits(sign);
    let mut end = sign + whole;
    let mut any = whole > 0;
    if text.get(end..).is_some_and(|rest| rest.starts_with('.')) {
        let fraction = digits(end + 1);
        any |= fraction > 0;
        end += 1 + fraction;
    }
    if !any {
        return 0;
    }
    if text.get(end..).is_some_and(|rest| rest.starts_with(['e', 'E'])) {
        let after = text.get(end + 1..).unwrap_or_default();
        let sign = after.chars().next().filter(|it| is_sign(*it)).map_or(0, char::len_utf8);
        let exponent = digits(end + 1 + sign);
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    end
}

/// Whether a number may be thousands with a point between: `1.450`.
///
/// # Example
/// ```
/// use standstill::unit::may_be_thousands;
/// assert_eq!(may_be_thousands("1.450 r/min").as_deref(), Some("1450"));
/// assert_eq!(may_be_thousands("0.350 kg"), None);
/// ```
#[must_use]
pub fn may_be_thousands(text: &str) -> Option<String> {
    let text = text.trim().trim_start_matches(is_sign);
    let number = text.get(..end_of_number(text))?;
    let (whole, fraction) = number.split_once('.')?;
    let digits = |part: &str| part.bytes().all(|it| it.is_ascii_digit());
    let grouped = (1..=3).contains(&whole.len()) && !whole.starts_with('0') && fraction.len() == 3;
    (grouped && digits(whole) && digits(fraction)).then(|| format!("{whole}{fraction}"))
}

/// A decimal number as this program writes it: with a zero after it where it might be read as thousands.
///
/// # Example
/// ```
/// use standstill::unit::never_thousands;
/// assert_eq!(never_thousands("1.125".to_owned()), "1.1250");
/// assert_eq!(never_thousands("0.125".to_owned()), "0.125");
/// ```
#[must_use]
pub fn never_thousands(number: String) -> String {
    if may_be_thousands(&number).is_some() { number + "0" } else { number }
}

/// Whether the point of a plain number is certainly a decimal point.
///
/// # Example
/// ```
/// use standstill::unit::is_decimal;
/// assert!(is_decimal("0.350") && is_decimal("1450.125") && is_decimal("1.45e3"));
/// assert!(!is_decimal("1.450") && !is_decimal("1450"));
/// ```
#[must_use]
pub fn is_decimal(number: &str) -> bool {
    number.split_once('.').is_some_and(|(_, fraction)| !fraction.is_empty())
        && may_be_thousands(number).is_none()
}

/// A decimal number without zeros at its end: `1.45` for `1.450`.
pub(super) fn without_zeros(number: &str) -> String {
    match number.contains('.') {
        true => number.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => number.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Option<String> {
        parse_number(text).map(|(digits, ten)| format!("{digits} {ten}"))
    }

    #[test]
    fn digits_are_kept_as_written() {
        for (text, kept) in [
            ("12", "12 0"),
            ("0.350", "0.350 0"),
            ("-3e2", "-3 2"),
            ("−3e−2", "-3 -2"),
            ("+7", "7 0"),
            (".5", "0.5 0"),
            ("5.", "5 0"),
            ("1e999999999", "1 999999999"),
            ("7922816251426433759354395034", "7922816251426433759354395034 0"),
            ("10000000000000000000000000000000", "1 31"),
            ("0.00000000000000000000000000000000012", "0.0000000000000000000000000012 -7"),
        ] {
            assert_eq!(number(text).as_deref(), Some(kept), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_is_none() {
        for text in [
            "", "-", ".", "e5", "1e", "NaN", "inf", "1,5", "1 5", "0x1f", "1e99999999999", "--1",
            "1_000",
        ] {
            assert_eq!(number(text), None, "{text}");
        }
        assert_eq!(number("1.2345678901234567890123456789"), None);
    }
}
