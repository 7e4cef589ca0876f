//! Quantities typed by a person: a number, a blank, a unit.

use crate::diagnostic::phrase;
use std::fmt;
use std::ops::Range;

use rust_decimal::Decimal;

use super::decimal::{
    MOST_DIGITS, end_of_number, has_leading_zero, is_dash, is_sign, never_thousands, parse_number,
    without_leading_zeros, without_zeros,
};

/// Why a text does not read as a number with its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum QuantityReason {
    /// There is nothing.
    Empty,
    /// It does not begin with a number.
    NoNumber,
    /// A comma stands where the decimal point is needed.
    DecimalComma,
    /// The digits are grouped, or may be.
    GroupedDigits,
    /// Three digits after the only point or comma, which may part thousands: `1.450`.
    Thousands,
    /// A fraction: `3/4`.
    Fraction,
    /// Two numbers with a dash between: `1450-1500`.
    TwoNumbers,
    /// A date or a time of day.
    DateOrTime,
    /// A zero before the first digit: `0166`.
    LeadingZero,
    /// More significant digits than are kept, or a power of ten beyond use.
    TooManyDigits,
}

/// A text that does not read as a number with its unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityProblem {
    /// Why.
    pub reason: QuantityReason,
    /// Bytes of the text concerned.
    pub span: Range<usize>,
    /// What stands there.
    pub found: String,
    /// How to put it right; can be typed as it stands.
    pub remedy: String,
    /// What it may mean, as plain decimal numbers: the one that it means, or both of two; none where only its writer
    /// can say.
    pub numbers: Vec<String>,
}

impl QuantityProblem {
    /// The text with what it may mean in the place of what is wrong with it: `1450 r/min` for `1 450 r/min`.
    #[must_use]
    pub fn meant(&self, text: &str) -> Vec<String> {
        let before = text.get(..self.span.start).unwrap_or_default();
        let after = text.get(self.span.end..).unwrap_or_default();
        self.numbers
            .iter()
            .map(|number| format!("{before}{number}{after}").trim().to_owned())
            .collect()
    }

    /// What is the matter, in lower case and without a full stop.
    #[must_use]
    pub fn headline(&self) -> String {
        let found = &self.found;
        match self.reason {
            QuantityReason::Empty => "a number is needed, and there is nothing".to_owned(),
            QuantityReason::NoNumber => format!("`{found}` does not begin with a number"),
            QuantityReason::DecimalComma => format!("`{found}` has a comma for its decimal point"),
            QuantityReason::GroupedDigits => {
                format!("`{found}` has a blank, a comma, a point or an apostrophe among its digits")
            }
            QuantityReason::Thousands => {
                format!("`{found}` may be thousands or have a decimal point")
            }
            QuantityReason::Fraction => {
                format!("`{found}` is a fraction, and a decimal number is needed")
            }
            QuantityReason::TwoNumbers => format!("`{found}` is two numbers, and one is needed"),
            QuantityReason::DateOrTime => format!("`{found}` looks like a date or a time"),
            QuantityReason::LeadingZero => format!("`{found}` has a zero before its first digit"),
            QuantityReason::TooManyDigits => {
                format!("`{found}` has more digits than the {MOST_DIGITS} that are kept exactly")
            }
        }
    }
}

impl fmt::Display for QuantityProblem {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}; {}", self.headline(), self.remedy)
    }
}

impl std::error::Error for QuantityProblem {}

/// Splits a quantity typed by a person into digits, power of ten and the text of its unit.
///
/// The blank before the unit may be missing (`95%`). The unit is not looked at; a dash in its place, as in the menus of
/// a page and in tables, is none.
///
/// # Errors
/// No number at the beginning, a decimal comma, grouped digits, too many digits.
///
/// # Example
/// ```
/// use standstill::unit::split_quantity;
/// let (digits, ten, unit) = split_quantity("-3.5e2 r/min").unwrap();
/// assert_eq!((digits.to_string().as_str(), ten, unit), ("-3.5", 2, "r/min"));
/// assert_eq!(split_quantity("0.9 –").unwrap().2, "");
///
/// let problem = split_quantity("1,5 mm").unwrap_err();
/// assert_eq!(problem.headline(), "`1,5` has a comma for its decimal point");
/// assert_eq!(problem.remedy, "write `1.5`");
/// ```
pub fn split_quantity(text: &str) -> Result<(Decimal, i32, &str), QuantityProblem> {
    let trimmed = text.trim();
    let start = text.len() - text.trim_start().len();
    let problem = |reason, range: Range<usize>, remedy: String| QuantityProblem {
        reason,
        found: trimmed.get(range.clone()).unwrap_or_default().to_owned(),
        span: start + range.start..start + range.end,
        remedy,
        numbers: Vec::new(),
    };
    if trimmed.is_empty() {
        let remedy = "write a number, and its unit behind it".to_owned();
        return Err(problem(QuantityReason::Empty, 0..0, remedy));
    }
    if let Some((end, number)) = with_sign_of_fraction(trimmed) {
        let numbers = vec![number];
        let remedy = choice(&numbers);
        let found = problem(QuantityReason::Fraction, 0..end, remedy);
        return Err(QuantityProblem { numbers, ..found });
    }
    let end = end_of_number(trimmed);
    let (number, rest) = trimmed.split_at(end);
    if end == 0 {
        let remedy = "write the number first, then a blank and its unit".to_owned();
        return Err(problem(QuantityReason::NoNumber, 0..trimmed.len(), remedy));
    }
    if let Some(Unclear { reason, end, meant }) = unclear(trimmed, end) {
        let remedy = match meant {
            Meant::Asked(remedy) => remedy,
            Meant::Numbers(numbers) => {
                let numbers: Vec<String> = numbers.into_iter().map(never_thousands).collect();
                let remedy = choice(&numbers);
                return Err(QuantityProblem { numbers, ..problem(reason, 0..end, remedy) });
            }
        };
        return Err(problem(reason, 0..end, remedy));
    }
    let unit = rest.trim_start();
    // a dash without a blank before it may be the minus of accounts: `5-`
    let says_none = unit.len() < rest.len() && !unit.is_empty() && unit.chars().all(is_dash);
    let unit = if says_none { "" } else { unit };
    let unsigned = number.trim_start_matches(is_sign);
    if has_leading_zero(unsigned) {
        let sign = if number.starts_with(is_dash) { "-" } else { "" };
        let numbers = vec![format!("{sign}{}", without_leading_zeros(unsigned))];
        let remedy = format!("{}, if that is meant", choice(&numbers));
        return Err(QuantityProblem {
            numbers,
            ..problem(QuantityReason::LeadingZero, 0..end, remedy)
        });
    }
    match parse_number(number) {
        Some((digits, ten)) => Ok((digits, ten, unit)),
        None => {
            let remedy = format!("round it to {MOST_DIGITS} significant digits");
            Err(problem(QuantityReason::TooManyDigits, 0..end, remedy))
        }
    }
}

/// Signs that are a fraction, in thousandths.
const FRACTIONS: &[(char, i64)] =
    &[('¼', 250), ('½', 500), ('¾', 750), ('⅛', 125), ('⅜', 375), ('⅝', 625), ('⅞', 875)];

/// A number that ends in the sign of a fraction, and how much of the text it takes: `½ hp`, `1½ hp`.
fn with_sign_of_fraction(text: &str) -> Option<(usize, String)> {
    let (at, sign) = text.char_indices().find(|(_, it)| !(it.is_ascii_digit() || *it == ' '))?;
    let (_, part) = FRACTIONS.iter().find(|(of, _)| *of == sign)?;
    let whole = text.get(..at)?.trim();
    let whole = if whole.is_empty() { Decimal::ZERO } else { whole.parse().ok()? };
    let number = whole.checked_add(Decimal::new(*part, 3))?.normalize();
    Some((at + sign.len_utf8(), never_thousands(number.to_string())))
}

/// What to write: one number, or either of two.
pub(crate) fn choice(numbers: &[String]) -> String {
    let written = phrase::quoted(numbers);
    let whichever = if numbers.len() > 1 { ", whichever is meant" } else { "" };
    format!("write {}{whichever}", written.join(" or "))
}

/// Digits that are not one plain number.
struct Unclear {
    reason: QuantityReason,
    /// Where they end.
    end: usize,
    meant: Meant,
}

/// What unclear digits may mean.
enum Meant {
    /// One number or either of two.
    Numbers(Vec<String>),
    /// Only their writer can say; what to do.
    Asked(String),
}

const WITH_A_POINT: &str = "write the number with digits and one decimal point";

/// What stands between digits that are not one plain number.
fn joins_digits(sign: char) -> bool {
    is_dash(sign) || ".…/:,'’`".contains(sign)
}

/// What follows the first number of a text where digits go on that are not a unit: why, how far, what to write.
fn unclear(text: &str, end: usize) -> Option<Unclear> {
    let rest = text.get(end..)?;
    let begins = |rest: &str| rest.trim_start().starts_with(|it: char| it.is_ascii_digit());
    let first = rest.chars().next()?;
    let next = rest.trim_start().chars().next()?;
    let after = rest.trim_start().trim_start_matches(joins_digits);
    let joins = joins_digits(next) && begins(after);
    // `30 1/h` has the unit 1/h
    let unit_of_one = first.is_whitespace()
        && rest
            .trim_start()
            .strip_prefix("1/")
            .is_some_and(|unit| !begins(unit) && !unit.is_empty());
    let blanks = first.is_whitespace() && begins(rest) && !unit_of_one;
    if !joins && !blanks {
        return None;
    }
    let part = |it: char| it.is_ascii_digit() || it.is_whitespace() || joins_digits(it);
    let all =
        text.char_indices().skip(1).find(|(_, it)| !part(*it)).map_or(text.len(), |(at, _)| at);
    let blob = text.get(..all)?.trim_end_matches(|it: char| !it.is_ascii_digit());
    let blob = without_unit_of_one(blob, text.get(blob.len()..)?);
    let power = exponent(text.get(blob.len()..)?);
    let end = blob.len() + power.len();
    let unclear = |reason, meant| Some(Unclear { reason, end, meant });
    let body = blob.trim_start_matches(is_sign);
    let sign = if body.len() == blob.len() || blob.starts_with('+') { "" } else { "-" };
    let parts: Vec<&str> =
        body.split(|it: char| !it.is_ascii_digit()).filter(|it| !it.is_empty()).collect();
    // 5:1 is a ratio, 12:30 a time
    let ratio = body.split_once(':').filter(|(_, below)| below.len() != 2 && !below.contains(':'));
    if (body.contains(':') && ratio.is_none()) || is_date(body, &parts) {
        return unclear(QuantityReason::DateOrTime, Meant::Asked(WITH_A_POINT.to_owned()));
    }
    if let Some((above, below)) = ratio.or_else(|| body.split_once('/')) {
        let (above, below) = (above.trim(), below.trim());
        let quotient = quotient(above, below).filter(|_| power.is_empty());
        let sign = if quotient.is_some_and(|it| it.is_zero()) { "" } else { sign };
        let quotient = quotient.map(|it| format!("{sign}{it}"));
        if ratio.is_none() && are_two(above, below) && power.is_empty() {
            let both = [above, below].map(|it| format!("{sign}{it}"));
            // a quarter of GD², half a diameter
            let part = quotient.filter(|_| matches!(below, "2" | "4"));
            let all = part.into_iter().chain(both).collect();
            return unclear(QuantityReason::TwoNumbers, Meant::Numbers(all));
        }
        // `1/4 · 1.4 kg·m²`
        let product = text.get(end..).unwrap_or_default().trim_start();
        let product = product.strip_prefix(['·', '*', '×', 'x']).is_some_and(begins);
        let meant = match quotient {
            _ if product => Meant::Asked("write the product as one decimal number".to_owned()),
            Some(quotient) => Meant::Numbers(vec![quotient]),
            None if is_zero(below) => Meant::Asked(
                "zero stands below the line, so it is no number: look up what is meant".to_owned(),
            ),
            None => Meant::Asked("write it as a decimal number".to_owned()),
        };
        return unclear(QuantityReason::Fraction, meant);
    }
    if body.contains(|it| is_dash(it) || it == '…') || body.contains("..") {
        let unit = text.get(end..).unwrap_or_default();
        let both = ends_of(body).map(|(low, high)| {
            let [low, high] = [low, high].map(|it| format!("{it} {}", unit.trim()));
            format!(": `from {sign}{} to {}`", low.trim_end(), high.trim_end())
        });
        let both = both.unwrap_or_default();
        let remedy = format!("write one value, or both ends with their units{both}");
        return unclear(QuantityReason::TwoNumbers, Meant::Asked(remedy));
    }
    match separated(body) {
        Some((reason, numbers)) => {
            let whole = numbers.into_iter().map(|number| format!("{sign}{number}{power}"));
            unclear(reason, Meant::Numbers(whole.collect()))
        }
        None => unclear(QuantityReason::GroupedDigits, Meant::Asked(WITH_A_POINT.to_owned())),
    }
}

/// Digits without the 1 of a unit such as 1/s behind them: `24,17` of `24,17 1/s`.
fn without_unit_of_one<'a>(blob: &'a str, rest: &str) -> &'a str {
    let unit = rest.trim_start().strip_prefix('/').map(str::trim_start).unwrap_or_default();
    let is_unit = unit.starts_with(|it: char| !it.is_ascii_digit());
    let before = blob.strip_suffix('1').filter(|it| is_unit && it.ends_with(char::is_whitespace));
    before.map_or(blob, |it| it.trim_end_matches(|it: char| !it.is_ascii_digit()))
}

/// Two numbers with one sign of a span between: `3.8..4.6`, `1450 – 1500`.
fn ends_of(body: &str) -> Option<(&str, &str)> {
    let (low, high) =
        body.split_once("..").or_else(|| body.split_once(|it| is_dash(it) || it == '…'))?;
    let (low, high) = (low.trim(), high.trim_start_matches('.').trim());
    let plain = |it: &str| it.parse::<Decimal>().is_ok() && !it.starts_with(['-', '+']);
    (plain(low) && plain(high)).then_some((low, high))
}

fn is_zero(text: &str) -> bool {
    text.parse::<Decimal>().is_ok_and(|it| it.is_zero())
}

/// The number that a fraction is: exact where that is short, else to ten digits; none for less than 10⁻⁵.
fn quotient(above: &str, below: &str) -> Option<Decimal> {
    let below = below.parse::<Decimal>().ok()?;
    let above = match above.split_once(char::is_whitespace) {
        // `1 1/2`
        Some((whole, above)) => whole
            .parse::<Decimal>()
            .ok()?
            .checked_mul(below)?
            .checked_add(above.trim().parse().ok()?)?,
        None => above.parse::<Decimal>().ok()?,
    };
    let exact = above.checked_div(below)?.normalize();
    if exact.scale() <= 6 {
        return Some(exact);
    }
    let rounded = exact.round_sf(10)?.normalize();
    (rounded >= Decimal::new(1, 5)).then_some(rounded)
}

/// By how much two values of a plate differ at most.
const TWO_VALUES: f64 = 8.0;

/// Whether numbers with a stroke between are two values of a plate, `230/400 V`, `7.5/9 kW`, and not a fraction: both of
/// two digits or more before the point, or one with a point. The parts of an inch, `1/100` and `1/31.5` are fractions.
fn are_two(above: &str, below: &str) -> bool {
    let is_number = |it: &str| it.parse::<Decimal>().is_ok();
    let long = |it: &str| it.split('.').next().is_some_and(|whole| whole.len() > 1);
    let of_inch = matches!(below, "16" | "32" | "64" | "128") && above.len() <= below.len();
    let pointed = above.contains('.') || below.contains('.');
    let near = || match (above.parse::<f64>(), below.parse::<f64>()) {
        (Ok(above), Ok(below)) => above <= TWO_VALUES * below && below <= TWO_VALUES * above,
        _ => false,
    };
    is_number(above)
        && is_number(below)
        && !of_inch
        && (pointed && near() || (long(above) && long(below)))
}

/// The power of ten with which a text begins: `E+03`; empty for none.
fn exponent(text: &str) -> &str {
    let Some(rest) = text.strip_prefix(['e', 'E']) else { return "" };
    let digits = rest.strip_prefix(is_sign).unwrap_or(rest);
    let count = digits.find(|it: char| !it.is_ascii_digit()).unwrap_or(digits.len());
    if count == 0 {
        return "";
    }
    text.get(..text.len() - digits.len() + count).unwrap_or_default()
}

/// `28.11.2026`, `2026-11-28`.
fn is_date(body: &str, parts: &[&str]) -> bool {
    let lengths: Vec<usize> = parts.iter().map(|part| part.len()).collect();
    let dated = matches!(lengths.as_slice(), [1 | 2, 1 | 2, 2 | 4] | [4, 1 | 2, 1 | 2]);
    // `1/0.0333` is a fraction
    let mixed = body.contains('/') && body.contains('.');
    dated && !mixed && !body.contains([',', ' ', '\'', '’'])
}

/// Digits with points, commas, blanks or apostrophes between: what can be meant.
fn separated(body: &str) -> Option<(QuantityReason, Vec<String>)> {
    let marks: Vec<char> = body.chars().filter(|it| !it.is_ascii_digit()).collect();
    let parts: Vec<&str> =
        body.split(|it: char| !it.is_ascii_digit()).filter(|it| !it.is_empty()).collect();
    let (last_mark, last) = (*marks.last()?, *parts.last()?);
    let whole: String = parts.iter().take(parts.len() - 1).copied().collect();
    let grouped = |parts: &[&str]| {
        parts.first().is_some_and(|it| it.len() <= 3)
            && parts.iter().skip(1).all(|it| it.len() == 3)
    };
    let kind = |it: char| {
        if it.is_whitespace() {
            ' '
        } else if it == '’' || it == '`' {
            '\''
        } else {
            it
        }
    };
    let same = marks.iter().all(|it| kind(*it) == kind(last_mark));
    let decimal_mark = matches!(last_mark, ',' | '.');
    let before = parts.get(..parts.len() - 1)?;
    let (joined, pointed) = (format!("{whole}{last}"), format!("{whole}.{last}"));
    // one comma: a decimal comma, or thousands
    if marks.len() == 1 && last_mark == ',' {
        return Some(if last.len() == 3 && whole.len() <= 3 && !whole.starts_with('0') {
            (QuantityReason::Thousands, vec![joined, without_zeros(&pointed)])
        } else {
            (QuantityReason::DecimalComma, vec![pointed])
        });
    }
    if same && grouped(&parts) {
        return Some((QuantityReason::GroupedDigits, vec![joined]));
    }
    // groups of one mark, then a decimal sign of another
    let groups = marks.get(..marks.len() - 1)?;
    let first = *groups.first()?;
    let regular =
        groups.iter().all(|it| kind(*it) == kind(first)) && kind(first) != kind(last_mark);
    (decimal_mark && regular && grouped(before))
        .then(|| (QuantityReason::GroupedDigits, vec![pointed]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_falls_into_number_and_unit() {
        for (text, digits, ten, unit) in [
            ("1450 r/min", "1450", 0, "r/min"),
            ("0.35 kg·m²", "0.35", 0, "kg·m²"),
            ("95 %", "95", 0, "%"),
            ("95%", "95", 0, "%"),
            ("20 °C", "20", 0, "°C"),
            ("  12  ", "12", 0, ""),
            ("3 eV", "3", 0, "eV"),
            ("2e", "2", 0, "e"),
            ("30 1/h", "30", 0, "1/h"),
            ("0.9 –", "0.9", 0, ""),
            ("0.9 -", "0.9", 0, ""),
            ("5-", "5", 0, "-"),
            ("–5 m", "-5", 0, "m"),
            ("−5 m", "-5", 0, "m"),
            ("\u{2011}5e–3 m", "-5", -3, "m"),
        ] {
            assert_eq!(split_quantity(text), Ok((digits.parse().unwrap(), ten, unit)), "{text}");
        }
    }

    #[test]
    fn a_quantity_that_does_not_read_says_how_to_put_it_right() {
        for (text, reason, remedy) in [
            ("", QuantityReason::Empty, "write a number, and its unit behind it"),
            ("fast", QuantityReason::NoNumber, "write the number first, then a blank and its unit"),
            ("0,35 kg", QuantityReason::DecimalComma, "write `0.35`"),
            ("1 450 r/min", QuantityReason::GroupedDigits, "write `1450`"),
            ("1 450,5 r/min", QuantityReason::GroupedDigits, "write `1450.5`"),
            ("1.450,5", QuantityReason::GroupedDigits, "write `1450.5`"),
            ("1,45E+03", QuantityReason::DecimalComma, "write `1.45E+03`"),
            ("-1.450,5e-2 m", QuantityReason::GroupedDigits, "write `-1450.5e-2`"),
            ("-1,450.5 m", QuantityReason::GroupedDigits, "write `-1450.5`"),
            ("1.450.000", QuantityReason::GroupedDigits, "write `1450000`"),
            ("1'450 r/min", QuantityReason::GroupedDigits, "write `1450`"),
            ("1’450.5 r/min", QuantityReason::GroupedDigits, "write `1450.5`"),
            ("24,17 1/s", QuantityReason::DecimalComma, "write `24.17`"),
            ("1 450,5 1/min", QuantityReason::GroupedDigits, "write `1450.5`"),
            ("3/4 m", QuantityReason::Fraction, "write `0.75`"),
            ("1 1/2 m", QuantityReason::Fraction, "write `1.5`"),
            ("½ hp", QuantityReason::Fraction, "write `0.5`"),
            ("1½ hp", QuantityReason::Fraction, "write `1.5`"),
            ("12 ¾ in", QuantityReason::Fraction, "write `12.75`"),
            ("1/3", QuantityReason::Fraction, "write `0.3333333333`"),
            ("1/31.5", QuantityReason::Fraction, "write `0.03174603175`"),
            ("1/0.0333", QuantityReason::Fraction, "write `30.03003003`"),
            (
                "1/0",
                QuantityReason::Fraction,
                "zero stands below the line, so it is no number: look up what is meant",
            ),
            ("-0/2", QuantityReason::Fraction, "write `0`"),
            (
                "1.4/4 kg·m²",
                QuantityReason::TwoNumbers,
                "write `0.35` or `1.4` or `4`, whichever is meant",
            ),
            (
                "1/4 · 1.4 kg·m²",
                QuantityReason::Fraction,
                "write the product as one decimal number",
            ),
            (
                "1450-1500 r/min",
                QuantityReason::TwoNumbers,
                "write one value, or both ends with their units: `from 1450 r/min to 1500 r/min`",
            ),
            (
                "1450 – 1500",
                QuantityReason::TwoNumbers,
                "write one value, or both ends with their units: `from 1450 to 1500`",
            ),
            (
                "3.8..4.6 N·m",
                QuantityReason::TwoNumbers,
                "write one value, or both ends with their units: `from 3.8 N·m to 4.6 N·m`",
            ),
            (
                "28.11.2026",
                QuantityReason::DateOrTime,
                "write the number with digits and one decimal point",
            ),
            (
                "2026-11-28",
                QuantityReason::DateOrTime,
                "write the number with digits and one decimal point",
            ),
            (
                "12:30",
                QuantityReason::DateOrTime,
                "write the number with digits and one decimal point",
            ),
            ("5:1", QuantityReason::Fraction, "write `5`"),
            ("15/16 in", QuantityReason::Fraction, "write `0.9375`"),
            ("1/100", QuantityReason::Fraction, "write `0.01`"),
            ("230/400 V", QuantityReason::TwoNumbers, "write `230` or `400`, whichever is meant"),
            ("7.5/9 kW", QuantityReason::TwoNumbers, "write `7.5` or `9`, whichever is meant"),
            ("1:4", QuantityReason::Fraction, "write `0.25`"),
            (
                "750,9,5",
                QuantityReason::GroupedDigits,
                "write the number with digits and one decimal point",
            ),
            (
                "1,450 r/min",
                QuantityReason::Thousands,
                "write `1450` or `1.45`, whichever is meant",
            ),
            ("1,125 s", QuantityReason::Thousands, "write `1125` or `1.1250`, whichever is meant"),
            ("9/8 m", QuantityReason::Fraction, "write `1.1250`"),
            (
                "1.2345678901234567890123456789 m",
                QuantityReason::TooManyDigits,
                "round it to 28 significant digits",
            ),
        ] {
            let problem = split_quantity(text).unwrap_err();
            assert_eq!((problem.reason, problem.remedy.as_str()), (reason, remedy), "{text}");
        }
    }
}
