//! Cells with a formula and the value that was calculated here.

use std::collections::BTreeSet;

use rust_xlsxwriter::{Format, Formula, Worksheet, XlsxError};

use super::plan::Plan;
use crate::number::{Exact, Slot};
use crate::program::{Output, Register};
use crate::unit::Unit;

/// A value as a cell shows it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shown {
    Number(f64),
    Truth(bool),
    Words(String),
    /// No value: a case that is not taken, or a number beyond what a cell can hold.
    Error,
}

impl Shown {
    /// As a formula writes it.
    pub(super) fn constant(&self) -> String {
        match self {
            Self::Number(value) => super::constant::float(*value).text,
            Self::Truth(true) => "TRUE".to_owned(),
            Self::Truth(false) => "FALSE".to_owned(),
            Self::Words(words) => super::constant::words(words),
            Self::Error => "NA()".to_owned(),
        }
    }

    fn cached(&self) -> String {
        match self {
            Self::Number(value) => format!("{value:?}"),
            Self::Truth(_) => self.constant(),
            Self::Words(words) => words.clone(),
            Self::Error => "#N/A".to_owned(),
        }
    }
}

impl Plan<'_> {
    /// An element of a register in coherent SI.
    pub(super) fn exact(&self, register: Register, at: u32) -> Option<Exact> {
        match self.results.run().register(register).ok()? {
            Slot::One(value) => Some(*value),
            Slot::Many(values) => values.get(usize::try_from(at).ok()?).copied(),
            _ => None,
        }
    }

    /// An element of a register as its cell shows it, in coherent SI.
    pub(super) fn shown(&self, register: Register, at: u32) -> Shown {
        match self.results.run().register(register) {
            Ok(Slot::Truth(truth)) => Shown::Truth(*truth),
            _ => self.exact(register, at).map_or(Shown::Error, |value| number(value.to_f64())),
        }
    }

    /// A result's formula and value with the author's words where it never exists: `#N/A` says nothing.
    pub(super) fn or_never(
        &self,
        output: &Output,
        at: u32,
        text: Option<String>,
    ) -> (Option<String>, Shown) {
        let program = self.program;
        let shown = self.shown_in(output.register, at, &output.unit);
        let words = match self.results.never(output) {
            Some(why) => why.to_owned(),
            None => program
                .never_words()
                .collect::<BTreeSet<_>>()
                .into_iter()
                .collect::<Vec<_>>()
                .join(", or "),
        };
        if words.is_empty() {
            return (text, shown);
        }
        // what no formula calculates again is #N/A as well, as soon as an input has changed
        let live = program.blocks.is_empty();
        let words = match live {
            true => format!("never: {words}"),
            false => format!("no value: never ({words}), or to be calculated again"),
        };
        let text =
            text.map(|text| format!("IF(ISNA({text}),{},{text})", super::constant::words(&words)));
        let shown = if self.results.never(output).is_some() { Shown::Words(words) } else { shown };
        (text, shown)
    }

    /// An element of a register in a unit.
    pub(super) fn shown_in(&self, register: Register, at: u32, unit: &Unit) -> Shown {
        let value = self.exact(register, at).and_then(|value| value.in_unit(unit).ok());
        value.map_or(Shown::Error, |value| number(value.to_f64()))
    }
}

fn number(value: f64) -> Shown {
    if value.is_finite() { Shown::Number(value + 0.0) } else { Shown::Error }
}

/// Writes a formula with its value; without a formula the value alone.
pub(super) fn write(
    tab: &mut Worksheet,
    (row, column): (u32, u16),
    formula: Option<&str>,
    value: &Shown,
    format: &Format,
) -> Result<(), XlsxError> {
    match (formula, value) {
        (Some(text), value) => {
            let formula = Formula::new(format!("={text}")).set_result(value.cached());
            tab.write_formula_with_format(row, column, formula, format)?;
        }
        (None, Shown::Number(number)) => {
            tab.write_number_with_format(row, column, *number, format)?;
        }
        (None, Shown::Truth(truth)) => {
            tab.write_boolean_with_format(row, column, *truth, format)?;
        }
        (None, Shown::Words(words)) => {
            tab.write_string_with_format(row, column, words, format)?;
        }
        (None, Shown::Error) => {
            let formula = Formula::new("=NA()").set_result("#N/A");
            tab.write_formula_with_format(row, column, formula, format)?;
        }
    }
    Ok(())
}

/// A formula of a value that stands beside its unit, in the cell to the right: another unit there is refused, since the
/// value would not follow it.
pub(super) fn beside_unit(text: &str, (row, column): (u32, u16), unit: &Unit) -> String {
    use super::constant::words;
    let right = char::from(b'B'.saturating_add(u8::try_from(column).unwrap_or(0)));
    let symbol = words(&unit.symbol);
    format!("IF(EXACT(${right}{}&\"\",{symbol}),{text},{})", row + 1, words(&its_unit(unit)))
}

/// What is said where another unit is typed over that of a value.
pub(super) fn its_unit(unit: &Unit) -> String {
    match unit.symbol.as_str() {
        "" => "IT HAS NO UNIT".to_owned(),
        symbol => format!("ITS UNIT IS {symbol}"),
    }
}

/// Writes the factor of a unit, and its zero where it has one.
pub(super) fn conversion(
    tab: &mut Worksheet,
    row: u32,
    (factor, zero): (u16, u16),
    unit: &Unit,
    format: &Format,
) -> Result<(), XlsxError> {
    let text = super::constant::factor(unit.factor).text;
    let value = Shown::Number(unit.factor.as_f64());
    let formula = text.contains(['*', '/', '(']).then_some(text.as_str());
    write(tab, (row, factor), formula, &value, format)?;
    if unit.zero.is_zero() {
        return Ok(());
    }
    let zero_value = unit.zero.to_string().parse().unwrap_or(0.0);
    write(tab, (row, zero), None, &Shown::Number(zero_value), format)
}
