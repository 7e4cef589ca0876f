//! Numbers and factors as they stand in a spreadsheet formula.

use rust_decimal::Decimal;

use crate::calculation::digits;
use crate::unit::{Factor, Literal, Unit};

/// A part of a formula, and how strongly its outermost sign binds.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::workbook) struct Term {
    pub(in crate::workbook) text: String,
    pub(in crate::workbook) binds: Binds,
}

/// How strongly a sign binds. A leading minus binds like a sum, so that it is put in parentheses
/// everywhere else: spreadsheets read `-2^2` as 4.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::workbook) enum Binds {
    Comparison,
    Sum,
    Product,
    Power,
    Whole,
}

impl Term {
    pub(in crate::workbook) fn new(text: impl Into<String>, binds: Binds) -> Self {
        Self { text: text.into(), binds }
    }

    pub(in crate::workbook) fn whole(text: impl Into<String>) -> Self {
        Self::new(text, Binds::Whole)
    }

    /// In parentheses where it binds less than asked for.
    pub(in crate::workbook) fn at_least(&self, binds: Binds) -> String {
        if self.binds >= binds { self.text.clone() } else { format!("({})", self.text) }
    }
}

/// A decimal number.
pub(in crate::workbook) fn number(value: Decimal, ten: i32) -> Term {
    let text = digits(value, ten).replace('e', "E");
    let binds = if text.starts_with('-') { Binds::Sum } else { Binds::Whole };
    Term::new(text, binds)
}

/// A number as f64, with all its digits.
pub(in crate::workbook) fn float(value: f64) -> Term {
    let plain = format!("{value}");
    let text = if plain.len() > 18 { format!("{value:E}") } else { plain };
    let binds = if text.starts_with('-') { Binds::Sum } else { Binds::Whole };
    Term::new(text, binds)
}

/// What one unit is in coherent SI, written out: `PI()/30` for r/min.
pub(in crate::workbook) fn factor(factor: Factor) -> Term {
    let mut above = Vec::new();
    let mut below = Vec::new();
    let mut ten = factor.ten();
    let plain = |mut digits: u128, mut ten: i32| {
        while (1..=12).contains(&ten)
            && let Some(longer) = digits.checked_mul(10)
        {
            digits = longer;
            ten -= 1;
        }
        match i128::try_from(digits) {
            Ok(digits) => Decimal::try_from_i128_with_scale(digits, 0)
                .map_or_else(|_| format!("{digits}E{ten}"), |value| number(value, ten).text),
            Err(_) => format!("{digits}E{ten}"),
        }
    };
    let mut divisor = factor.denominator();
    let has_pi = factor.pi_power() != 0;
    // a fraction of whole numbers reads better than one of decimals: π/30, not 0.1·π/3
    if divisor != 1 && (-6..0).contains(&ten) {
        for _ in ten..0 {
            divisor = divisor.saturating_mul(10);
        }
        ten = 0;
    }
    // 5/300 is 1/60
    let mut numerator = factor.numerator();
    for prime in [2, 5] {
        while numerator.is_multiple_of(prime) && divisor.is_multiple_of(prime) && ten == 0 {
            numerator /= prime;
            divisor /= prime;
        }
    }
    if numerator != 1 || ten != 0 || !has_pi {
        above.push(plain(numerator, ten));
    }
    let pi = |power: u8| if power == 1 { "PI()".to_owned() } else { format!("PI()^{power}") };
    match factor.pi_power() {
        0 => {}
        power if power > 0 => above.push(pi(power.unsigned_abs())),
        power => below.push(pi(power.unsigned_abs())),
    }
    if above.is_empty() {
        above.push("1".to_owned());
    }
    if divisor != 1 {
        below.insert(0, plain(divisor, 0));
    }
    let binds = match (above.as_slice(), below.as_slice()) {
        ([one], []) if one.contains('^') => Binds::Power,
        ([_], []) => Binds::Whole,
        _ => Binds::Product,
    };
    let below: String = below.iter().map(|part| format!("/{part}")).collect();
    Term::new(format!("{}{below}", above.join("*")), binds)
}

/// A number with its unit in coherent SI, the conversion in sight: `40*0.001`.
pub(in crate::workbook) fn literal(literal: &Literal) -> Term {
    in_si(&number(literal.digits, literal.ten), &literal.unit)
}

/// A number in a unit, in coherent SI.
pub(in crate::workbook) fn in_si(value: &Term, unit: &Unit) -> Term {
    let shifted = if unit.zero.is_zero() {
        value.clone()
    } else {
        Term::new(format!("{}+{}", value.text, unit.zero.normalize()), Binds::Sum)
    };
    if unit.factor == Factor::ONE {
        return shifted;
    }
    let factor = factor(unit.factor);
    if shifted.text == "1" {
        return factor;
    }
    if shifted.text == "0" {
        return shifted;
    }
    Term::new(format!("{}*{}", shifted.at_least(Binds::Product), factor.text), Binds::Product)
}

/// A text inside a formula.
pub(in crate::workbook) fn words(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

#[cfg(test)]
mod tests {
    use super::{factor, literal};
    use crate::unit::{Literal, parse_unit, split_quantity};

    fn of(text: &str) -> String {
        let (digits, ten, unit) = split_quantity(text).unwrap();
        literal(&Literal::new(digits, ten, parse_unit(unit).unwrap())).text
    }

    // the definitions of the units: SI Brochure; degree Celsius: T = t + 273.15 K
    #[test]
    fn units_show_how_they_convert() {
        assert_eq!(of("40 mm"), "40*0.001");
        assert_eq!(of("1450 r/min"), "1450*PI()/30");
        assert_eq!(of("20 °C"), "20+273.15");
        assert_eq!(of("95 %"), "95*0.01");
        assert_eq!(of("3 m"), "3");
        assert_eq!(factor(parse_unit("r").unwrap().factor).text, "2*PI()");
        assert_eq!(factor(parse_unit("1/min").unwrap().factor).text, "1/60");
    }
}
