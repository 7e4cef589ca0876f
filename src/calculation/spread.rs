//! How far a value may lie from what is written: `350 ms ± 10 ms`, `+20 ms -0 ms`, `from 340 ms to 360 ms`.

use rust_decimal::Decimal;

use super::input_text::{element, quantity, read, values_of, written};
use crate::diagnostic::{Diagnostic, Name};
use crate::number::{ArithmeticError, Exact, InputValue};
use crate::program::{Input, Reach, Tolerance, Type};
use crate::unit::{self, Kind, Literal, Unit};

/// Both ends of a value, and how it is spread between them.
///
/// A worst case takes the ends as limits. `± 10 ms` alone is even: every value between the ends is as
/// likely. `± 10 ms normal` is the normal distribution whose ± is two standard deviations, as
/// certificates of measuring instruments state it (coverage factor 2; JCGM 100:2008, 6.2 and 7.2.4, from
/// memory); values drawn from it may lie outside the ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Lower end and upper end, one pair for a single value, one for each of a series.
    pub ends: Vec<(Literal, Literal)>,
    /// How it is spread.
    pub shape: Shape,
}

/// How values are spread between two ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Every value between the ends is as likely.
    Even,
    /// A bell around the middle of the ends, whose ends are two standard deviations away.
    Normal,
}

/// Reads the text of an input with its tolerance, if it has one.
///
/// Forms, each with `normal` behind it if it is meant so: `350 ms ± 10 ms` (or `+-`), `350 ms ± 3 %`,
/// `350 ms +20 ms -0 ms`, `from 340 ms to 360 ms` (the value is the middle), `345 ms from 340 ms to 360 ms`.
/// A percentage is one of the value, unless the value itself is written in %: `95 % ± 1 %` goes from 94 %
/// to 96 %, and beyond 100 %, where points reach less far than a part, what is meant is asked. In a series each value
/// has its own.
///
/// # Errors
/// What the text has wrong, without a place.
pub fn read_with_spread(
    input: &Input,
    text: &str,
) -> Result<(InputValue, Option<Spread>), Diagnostic> {
    let (Type::Number { .. }, Some(_)) = (&input.type_, input.kind) else {
        return Ok((read(input, text)?, None));
    };
    read_beside(input, text, None)
}

/// As [`read_with_spread`] of a number; a unit that stands beside the text covers its numbers without one.
pub(crate) fn read_beside(
    input: &Input,
    text: &str,
    beside: Option<&str>,
) -> Result<(InputValue, Option<Spread>), Diagnostic> {
    let (Type::Number { series, .. }, Some(kind)) = (&input.type_, input.kind) else {
        return Ok((read(input, text)?, None));
    };
    let kind = Reads { kind, beside };
    let parts = if *series { values_of(input, text)? } else { vec![text] };
    if !parts.iter().any(|part| begin(part).is_some()) {
        return Ok((read(input, text)?, None));
    }
    let mut values = Vec::new();
    let mut all = Vec::new();
    let mut shape = Shape::Even;
    for part in parts {
        let Some(at) = begin(part) else {
            let value = match series {
                true => element(kind.kind, part, &|part| kind.quantity(input, part), input)?,
                false => kind.quantity(input, part)?,
            };
            all.push((value.clone(), value.clone()));
            values.push(value);
            continue;
        };
        let (value, rest) = part.split_at(at);
        // what puts the value right leaves its tolerance where it is
        let kept = |problem: Diagnostic| {
            let remedy = format!("{}; behind that `{}` as it is", problem.remedy, rest.trim());
            problem.remedy(remedy)
        };
        let value = match value.trim() {
            "" => None,
            _ => Some(kind.quantity(input, value).map_err(kept)?),
        };
        let (rest, this) = shaped(rest);
        if this == Shape::Normal {
            shape = this;
        }
        let reach = read_reach(input, kind, value.as_ref(), rest.trim())?;
        if let Some(value) = value.as_ref().filter(|value| is_share_of_zero(value, &reach)) {
            return Err(varies_nothing(input, value));
        }
        let (low, high) = ends(input, value.as_ref(), &reach)?;
        values.push(match value {
            Some(value) => value,
            None => middle(&low, &high).map_err(|trouble| beyond(input, &trouble))?,
        });
        all.push((low, high));
    }
    let spread = Some(Spread { ends: all, shape });
    Ok(match (series, values.pop()) {
        (false, Some(value)) => (InputValue::One(value), spread),
        (_, last) => {
            values.extend(last);
            (InputValue::Many(values), spread)
        }
    })
}

/// The tolerance of a value that is known already: `± 10 ms`, `+20 ms -0 ms`, `from 340 ms to 360 ms`.
///
/// Each value of a series takes it.
///
/// # Errors
/// What the text has wrong, without a place.
pub fn spread_of(input: &Input, given: &InputValue, text: &str) -> Result<Spread, Diagnostic> {
    spread_beside(input, given, text, None)
}

/// As [`spread_of`]; a unit that is stated for value and tolerance covers the numbers without one.
pub(crate) fn spread_beside(
    input: &Input,
    given: &InputValue,
    text: &str,
    beside: Option<&str>,
) -> Result<Spread, Diagnostic> {
    let values = match given {
        InputValue::One(value) => std::slice::from_ref(value),
        InputValue::Many(values) => values.as_slice(),
        InputValue::Word(_) => &[],
    };
    let (Some(kind), false) = (input.kind, values.is_empty()) else {
        return Err(unreadable(input, "a word has no tolerance", "take the tolerance out"));
    };
    let kind = Reads { kind, beside };
    let (rest, shape) = shaped(text.trim());
    let mut all = Vec::with_capacity(values.len());
    let mut shares_of_zero = 0;
    for value in values {
        let reach = read_reach(input, kind, Some(value), rest)?;
        shares_of_zero += usize::from(is_share_of_zero(value, &reach));
        all.push(ends(input, Some(value), &reach)?);
    }
    // one zero among the values of a series has no tolerance; where all are zero the tolerance says nothing
    match values.first().filter(|_| shares_of_zero == values.len()) {
        Some(value) => Err(varies_nothing(input, value)),
        None => Ok(Spread { ends: all, shape }),
    }
}

/// Whether a tolerance is a percentage of a value that is zero: it would vary nothing.
fn is_share_of_zero(value: &Literal, reach: &Reach) -> bool {
    let share = |amount: &Literal| {
        amount.unit.symbol == "%" && value.unit.symbol != "%" && !amount.digits.is_zero()
    };
    value.digits.is_zero()
        && matches!(reach, Reach::Around { above, below } if share(above) || share(below))
}

fn varies_nothing(input: &Input, value: &Literal) -> Diagnostic {
    let what = format!("a percentage of {} is nothing", written(value));
    let one = Literal { digits: Decimal::ONE, ..value.clone() };
    let remedy = format!("write how far it may lie, such as `± {}`", written(&one));
    unreadable(input, &what, &remedy)
}

/// What the sheet itself says of how far the values of an input may lie from what is written: those of its
/// default, or of its examples.
///
/// # Errors
/// A number that is beyond what can be worked with.
pub(super) fn of_the_sheet(
    input: &Input,
    values: &[Literal],
    tolerances: &[Option<Tolerance>],
) -> Result<Option<Spread>, Diagnostic> {
    if tolerances.iter().all(Option::is_none) {
        return Ok(None);
    }
    let all = values.iter().zip(tolerances).map(|(value, tolerance)| match tolerance {
        Some(tolerance) => ends(input, Some(value), &tolerance.reach),
        None => Ok((value.clone(), value.clone())),
    });
    let normal = tolerances.iter().flatten().any(|tolerance| tolerance.normal);
    let shape = if normal { Shape::Normal } else { Shape::Even };
    Ok(Some(Spread { ends: all.collect::<Result<_, _>>()?, shape }))
}

/// A tolerance of the sheet as it is written behind a value: ` ± 10 ms`; empty for none.
#[must_use]
pub fn tolerance_text(tolerance: Option<&Tolerance>) -> String {
    let Some(Tolerance { reach, normal }) = tolerance else { return String::new() };
    let words = match reach {
        Reach::Around { above, below } if above == below => format!(" ± {}", written(above)),
        Reach::Around { above, below } => format!(" +{} -{}", written(above), written(below)),
        Reach::Between { low, high } => format!(" from {} to {}", written(low), written(high)),
    };
    if *normal { words + " normal" } else { words }
}

/// Whether a text is a tolerance by itself, without a value before it.
#[must_use]
pub fn is_tolerance(text: &str) -> bool {
    let text = text.trim();
    let sides = || {
        let number = |side: &str| {
            side.trim_start().starts_with(|it: char| it.is_ascii_digit() || ".-−+".contains(it))
        };
        // and so is `from 75 ms to 130 ms after the command`
        let few = |side: &str| side.split_whitespace().count() <= 3;
        text.strip_prefix("from")
            .and_then(|rest| rest.split_once(" to "))
            .is_some_and(|it| number(it.1) && few(it.1))
    };
    // `from 2024 catalogue` is a remark
    begin(text) == Some(0) && (!text.starts_with("from") || sides())
}

/// Whether a text holds a tolerance, with or without a value before it.
#[must_use]
pub fn has_tolerance(text: &str) -> bool {
    begin(text.trim()).is_some()
}

/// Where the tolerance begins in a text; none where there is none.
#[must_use]
pub fn tolerance_begins(text: &str) -> Option<usize> {
    begin(text)
}

fn begin(text: &str) -> Option<usize> {
    let mut found = text.find(['±']).or_else(|| text.find("+-")).or_else(|| text.find("+/-"));
    let first = text.len() - text.trim_start().len();
    for (at, sign) in text.char_indices() {
        let alone = at == first
            || text.get(..at).is_some_and(|before| before.ends_with(char::is_whitespace));
        let rest = text.get(at..).unwrap_or_default();
        // two sides: both a plus and a minus, each before a number; a minus at the beginning is the value's own
        let parted = rest.contains([' ', '/']);
        let other = |it| match sign {
            '+' => matches!(it, '-' | '−'),
            _ => it == '+',
        };
        let first_side = sign == '+' || (unit::is_dash(sign) && at > first);
        // the minus of `+1.5e-3` and of `+1450-1500` begins no second side
        // a dash with blanks around it stands between two values
        let dash = |it, next: Option<char>| {
            sign == '+'
                && unit::is_dash(it)
                && next.is_some_and(|next| next.is_ascii_digit() || next == '.')
        };
        let signs: Vec<char> = rest.chars().collect();
        let second = |(at, it): (usize, &char)| {
            let before = at.checked_sub(1).and_then(|at| signs.get(at));
            (other(*it) || dash(*it, signs.get(at + 1).copied()))
                && before.is_some_and(|it| matches!(it, ' ' | '/' | '\u{a0}' | '\t'))
        };
        let sided = first_side && parted && signs.iter().enumerate().any(second);
        let word = rest.strip_prefix("from").is_some_and(|after| {
            let number =
                |sign: char| sign.is_ascii_digit() || unit::is_dash(sign) || ".+".contains(sign);
            after.starts_with(char::is_whitespace) && after.trim_start().starts_with(number)
        });
        if alone && (sided || word) {
            found = Some(found.map_or(at, |before| before.min(at)));
        }
    }
    found
}

fn shaped(text: &str) -> (&str, Shape) {
    match text.trim_end().strip_suffix("normal") {
        Some(rest) => (rest.trim_end(), Shape::Normal),
        None => (text.trim_end(), Shape::Even),
    }
}

/// How the numbers of a text are read.
#[derive(Clone, Copy)]
struct Reads<'b> {
    kind: &'static Kind,
    /// The unit of those that have none.
    beside: Option<&'b str>,
}

impl Reads<'_> {
    fn quantity(self, input: &Input, text: &str) -> Result<Literal, Diagnostic> {
        match (self.beside, unit::split_quantity(text)) {
            (Some(unit), Ok((digits, ten, ""))) => {
                super::with_unit(input, self.kind, digits, ten, Some(unit))
            }
            _ => quantity(input, self.kind, text),
        }
    }
}

/// How a tolerance stands behind a value of an input.
fn with_value(input: &Input, tolerance: &str) -> String {
    let value = input.example.first().map_or_else(|| "350 ms".to_owned(), written);
    format!("write the value before it, such as `{value} {tolerance}`")
}

/// A tolerance as it is written behind a value.
fn read_reach(
    input: &Input,
    kind: Reads<'_>,
    value: Option<&Literal>,
    text: &str,
) -> Result<Reach, Diagnostic> {
    if let Some(rest) = text.strip_prefix("from") {
        let (from, to) = rest.split_once(" to ").ok_or_else(|| {
            unreadable(
                input,
                &format!("`{text}` has no second end"),
                "write `from 340 ms to 360 ms`",
            )
        })?;
        let (low, high) = (kind.quantity(input, from)?, kind.quantity(input, to)?);
        return Ok(Reach::Between { low, high });
    }
    let Some(value) = value else {
        return Err(unreadable(
            input,
            &format!("`{text}` has no value before it"),
            &with_value(input, text),
        ));
    };
    let symmetric = ["±", "+-", "+/-", "+−"].iter().find_map(|sign| text.strip_prefix(sign));
    if let Some(amount) = symmetric {
        let amount = read_amount(input, kind, value, amount)?;
        return Ok(Reach::Around { above: amount.clone(), below: amount });
    }
    let plus = text.strip_prefix('+').and_then(|rest| rest.split_once(unit::is_dash));
    let minus = text.strip_prefix(unit::is_dash).and_then(|rest| rest.split_once('+'));
    let (first, second) = plus.or(minus).ok_or_else(|| {
        unreadable(
            input,
            &format!("`{text}` is not a tolerance"),
            "write `± 10 ms`, `± 3 %`, `+20 ms -0 ms` or `from 340 ms to 360 ms`",
        )
    })?;
    // `+5/-10 %`: one unit behind both
    let first = first.trim_end().trim_end_matches(['/', '\u{2044}']).trim_end();
    let behind = unit::split_quantity(second.trim()).map_or("", |(.., unit)| unit);
    let bare = unit::split_quantity(first).is_ok_and(|(.., unit)| unit.is_empty());
    let first = if bare { format!("{first} {behind}") } else { first.to_owned() };
    let amount = |text| read_amount(input, kind, value, text);
    let (first, second) = (amount(&first)?, amount(second)?);
    Ok(match plus {
        Some(_) => Reach::Around { above: first, below: second },
        None => Reach::Around { above: second, below: first },
    })
}

/// An amount not below zero.
fn read_amount(
    input: &Input,
    kind: Reads<'_>,
    value: &Literal,
    text: &str,
) -> Result<Literal, Diagnostic> {
    let text = text.trim();
    let (digits, ten, symbol) = unit::split_quantity(text).map_err(|problem| {
        unreadable(input, &format!("the tolerance: {}", problem.headline()), &problem.remedy)
    })?;
    let symbol = if symbol.is_empty() { kind.beside.unwrap_or_default() } else { symbol };
    if digits.is_sign_negative() && !digits.is_zero() {
        return Err(unreadable(
            input,
            &format!("the tolerance {text} is below zero"),
            "write it without its sign",
        ));
    }
    if symbol == "%" && symbol == value.unit.symbol {
        points_or_part(input, value, digits, ten)?;
    }
    if symbol == value.unit.symbol {
        return Ok(Literal::new(digits, ten, value.unit.clone()));
    }
    let other = if symbol == "%" || symbol == "K" && value.unit.point {
        unit::parse_unit(symbol).ok()
    } else {
        None
    };
    match other {
        Some(_) if symbol == "%" && value.unit.point => Err(unreadable(
            input,
            "a temperature on the scale has no percentage",
            "write the tolerance in K",
        )),
        Some(unit) => Ok(Literal::new(digits, ten, unit)),
        None => {
            let symbol = Some(symbol).filter(|symbol| !symbol.is_empty());
            super::with_unit(input, kind.kind, digits, ten, symbol)
        }
    }
}

/// Up to 100 % the points of a percentage reach further than a part of it, whichever was meant; beyond they do not,
/// and what is meant is asked.
fn points_or_part(
    input: &Input,
    value: &Literal,
    digits: Decimal,
    ten: i32,
) -> Result<(), Diagnostic> {
    let read = |digits, ten| Exact::from_decimal(digits, ten);
    let over = || {
        let (whole, points) = (read(value.digits, value.ten)?, read(digits, ten)?);
        let size = read(value.digits.abs(), value.ten)?;
        let part = size.times(&points)?.times(&read(Decimal::ONE, -2)?)?;
        let low = literal(&outward(&whole.minus(&part)?, -2.0)?, &value.unit);
        let high = literal(&outward(&whole.plus(&part)?, 2.0)?, &value.unit);
        Ok((part.stands_to(&points).is_gt()).then_some((low, high)))
    };
    let Some((low, high)) = over().map_err(|trouble| beyond(input, &trouble))? else {
        return Ok(());
    };
    let what = format!("a percentage of {} may be points or a part of it", written(value));
    let remedy = format!(
        "write both ends: `{0} from {1} to {2}` for a part, or those of the points",
        written(value),
        written(&low),
        written(&high)
    );
    Err(unreadable(input, &what, &remedy))
}

/// Both ends of a value; none is given where the tolerance itself says them.
fn ends(
    input: &Input,
    value: Option<&Literal>,
    reach: &Reach,
) -> Result<(Literal, Literal), Diagnostic> {
    let worked = |outcome: Result<(Literal, Literal), ArithmeticError>| {
        outcome.map_err(|trouble| beyond(input, &trouble))
    };
    match (reach, value) {
        (Reach::Between { low, high }, value) => {
            let si = |literal: &Literal| {
                Exact::from_literal(literal).map_err(|trouble| beyond(input, &trouble))
            };
            let inside = match value {
                Some(value) => {
                    let value = si(value)?;
                    si(low)?.stands_to(&value).is_le() && si(high)?.stands_to(&value).is_ge()
                }
                None => si(low)?.stands_to(&si(high)?).is_le(),
            };
            if inside {
                return Ok((low.clone(), high.clone()));
            }
            let range = format!("from {} to {}", written(low), written(high));
            let what = match value {
                Some(value) => format!("{} does not lie {range}", written(value)),
                None => format!("`{range}` falls"),
            };
            let remedy = "write the lower end first, and a value between them";
            Err(unreadable(input, &what, remedy))
        }
        (Reach::Around { above, below }, Some(value)) => worked((|| {
            let own = Exact::from_decimal(value.digits, value.ten)?;
            let low = own.minus(&amount(value, below)?)?;
            let high = own.plus(&amount(value, above)?)?;
            let unit = &value.unit;
            Ok((literal(&outward(&low, -2.0)?, unit), literal(&outward(&high, 2.0)?, unit)))
        })()),
        (Reach::Around { .. }, None) => {
            let remedy = with_value(input, "± 3 %");
            Err(unreadable(input, "the tolerance has no value before it", &remedy))
        }
    }
}

/// An amount in the unit of the value; a percentage is one of the value, unless the value itself is in %.
fn amount(value: &Literal, amount: &Literal) -> Result<Exact, ArithmeticError> {
    let plain = |unit: &Unit| Unit { zero: Decimal::ZERO, point: false, ..unit.clone() };
    let own = Exact::from_decimal(amount.digits, amount.ten)?;
    if amount.unit.symbol == "%" && value.unit.symbol != "%" {
        let whole = Exact::from_decimal(value.digits.abs(), value.ten)?;
        return whole.times(&own)?.times(&Exact::from_decimal(Decimal::ONE, -2)?);
    }
    if amount.unit.factor == value.unit.factor {
        return Ok(own);
    }
    Exact::from_literal(&Literal { unit: plain(&amount.unit), ..amount.clone() })?
        .in_unit(&plain(&value.unit))
}

/// A value moved by what was rounded on the way to it.
fn outward(value: &Exact, times: f64) -> Result<Exact, ArithmeticError> {
    if value.is_exact() {
        Ok(*value)
    } else {
        value.plus(&Exact::from_f64(value.error_bound() * times)?)
    }
}

fn literal(value: &Exact, unit: &Unit) -> Literal {
    Literal::new(value.mantissa(), value.ten(), unit.clone())
}

fn middle(low: &Literal, high: &Literal) -> Result<Literal, ArithmeticError> {
    let upper = if low.unit == high.unit {
        Exact::from_decimal(high.digits, high.ten)?
    } else {
        Exact::from_literal(high)?.in_unit(&low.unit)?
    };
    let half = Exact::from_decimal(Decimal::new(5, 1), 0)?;
    let sum = Exact::from_decimal(low.digits, low.ten)?.plus(&upper)?;
    Ok(literal(&sum.times(&half)?, &low.unit))
}

fn unreadable(input: &Input, what: &str, remedy: &str) -> Diagnostic {
    Diagnostic::error(Name::UnreadableQuantity, format!("`{}`: {what}", input.name)).remedy(remedy)
}

fn beyond(input: &Input, trouble: &ArithmeticError) -> Diagnostic {
    Diagnostic::error(trouble.name, format!("`{}`: {}", input.name, trouble.words))
        .remedy("write numbers of the size that machines have")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Sheet;

    fn ends(name: &str, text: &str) -> Result<(String, String, String), String> {
        let sheet = Sheet::library("safe-stop").unwrap();
        let input = sheet.program().input_named(name).unwrap();
        let (given, spread) = read_with_spread(input, text).map_err(|problem| problem.headline)?;
        let InputValue::One(value) = given else { panic!("one value") };
        let spread = spread.ok_or("no spread")?;
        let (low, high) = &spread.ends[0];
        Ok((written(&value), written(low), written(high)))
    }

    #[test]
    fn every_way_of_writing_a_tolerance_gives_its_ends_exactly() {
        for (name, text, value, low, high) in [
            ("t_sensor", "350 ms ± 10 ms", "350 ms", "340 ms", "360 ms"),
            ("t_sensor", "350 ms +- 10 ms", "350 ms", "340 ms", "360 ms"),
            ("t_sensor", "350 ms +/-10 ms", "350 ms", "340 ms", "360 ms"),
            ("t_sensor", "350 ms ± 3 %", "350 ms", "339.5 ms", "360.5 ms"),
            ("t_sensor", "350 ms ± 0.01 s", "350 ms", "340 ms", "360 ms"),
            ("t_sensor", "350 ms +20 ms -0 ms", "350 ms", "350 ms", "370 ms"),
            ("t_sensor", "350 ms +20 ms −5 ms", "350 ms", "345 ms", "370 ms"),
            ("t_sensor", "350 ms -5 ms +20 ms", "350 ms", "345 ms", "370 ms"),
            ("t_sensor", "350 ms −5/+20 ms", "350 ms", "345 ms", "370 ms"),
            ("t_sensor", "from 340 ms to 360 ms", "350 ms", "340 ms", "360 ms"),
            ("t_sensor", "345 ms from 340 ms to 0.36 s", "345 ms", "340 ms", "0.36 s"),
            ("eta_back", "95 % ± 1 %", "95 %", "94 %", "96 %"),
            ("i", "5 ± 0.1", "5", "4.9", "5.1"),
            ("i", "5 ± 2 % normal", "5", "4.9", "5.1"),
        ] {
            let wanted = (value.to_owned(), low.to_owned(), high.to_owned());
            assert_eq!(ends(name, text), Ok(wanted), "{text}");
        }
    }

    #[test]
    fn a_tolerance_that_does_not_read_is_reported() {
        for (text, word) in [
            ("350 ms ± 10", "has no unit"),
            ("350 ms ± mm", "does not begin with a number"),
            ("350 ms ± 10 mm", "t_sensor"),
            ("350 ms ± -10 ms", "below zero"),
            ("± 10 ms", "no value before it"),
            ("from 360 ms to 340 ms", "falls"),
            ("300 ms from 340 ms to 360 ms", "does not lie"),
            ("0 ms ± 0.1 %", "a percentage of 0 ms is nothing"),
            ("0 ms +5 % -0 %", "a percentage of 0 ms is nothing"),
        ] {
            let found = ends("t_sensor", text).unwrap_err();
            assert!(found.contains(word), "{text}: {found}");
        }
        for text in ["120 % ± 10 %", "-120 % ± 10 %", "120 % +10 % -0 %"] {
            let asked = ends("f", text).unwrap_err();
            assert!(asked.contains("may be points or a part"), "{asked}");
        }
        assert!(ends("f", "100 % ± 10 %").is_ok());
        // what says that there is none, and a share in points of a percentage, are no mistakes
        assert!(ends("t_sensor", "0 ms ± 0 %").is_ok() && ends("f", "0 % ± 1 %").is_ok());
    }

    #[test]
    fn a_percentage_of_a_zero_is_reported_for_one_value_and_not_for_one_of_several() {
        let sheet = Sheet::library("measured-stops").unwrap();
        let mut inputs = sheet.inputs();
        inputs.write("t_k", "0 ms, 310 ms").unwrap();
        let place = sheet.program().inputs[0].place.clone();
        assert!(inputs.tolerate("t_k", "± 1 %", &place).is_ok());
        inputs.write("t_k", "0 ms, 0 ms").unwrap();
        let problem = inputs.tolerate("t_k", "± 1 %", &place).unwrap_err();
        assert_eq!(problem.headline, "`t_k`: a percentage of 0 ms is nothing");
        assert_eq!(problem.remedy, "write how far it may lie, such as `± 1 ms`");
        // the remedy as it is typed
        assert!(inputs.tolerate("t_k", "± 1 ms", &place).is_ok());
    }
}
