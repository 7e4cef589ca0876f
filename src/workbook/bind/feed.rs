//! A formula behind an input, and how numbers in one unit become those in another on the way.

use rust_decimal::Decimal;

use super::{Binder, CellAt};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::{Input, Program};
use crate::unit::Unit;

/// What conversions multiply by that are no multiples of machine parts: powers of a thousand, of sixty, of a turn.
pub(super) const CONVERSIONS: &[f64] = &[
    1e2,
    1e3,
    1e4,
    1e6,
    1e9,
    60.0,
    3600.0,
    6e4,
    std::f64::consts::TAU,
    60.0 / std::f64::consts::TAU,
    180.0 / std::f64::consts::PI,
    9.806_65,
    9.81,
];

/// An input whose cell is a formula, and the unit in which its number is read.
pub(in crate::workbook) struct Fed<'a> {
    pub(in crate::workbook) program: &'a Program,
    pub(in crate::workbook) input: &'a Input,
    pub(in crate::workbook) unit: Option<&'a Unit>,
    pub(in crate::workbook) cell: &'a CellAt,
}

/// The other input of one calculation that reads a cell, if there is one.
pub(in crate::workbook) type OtherInput<'a> = &'a dyn Fn(&CellAt) -> Option<String>;

/// The unit that is stated for a cell, and where.
pub(in crate::workbook) type UnitOf<'a> = &'a dyn Fn(&CellAt) -> Option<(Unit, CellAt)>;

/// m/s², as people round it.
pub(super) const GRAVITY: std::ops::RangeInclusive<f64> = 9.7..=9.9;

/// A formula on the way to an input, and what its number must be.
#[derive(Clone, Copy)]
pub(super) struct Way<'a> {
    pub(super) at: &'a CellAt,
    pub(super) own: &'a Unit,
    /// What the formulas before it multiply by.
    pub(super) factor: f64,
    pub(super) depth: u32,
}

impl Binder<'_> {
    /// A cell as a formula of an input speaks of it.
    pub(super) fn there(&self, fed: &Fed<'_>, at: &CellAt) -> String {
        match at.tab.eq_ignore_ascii_case(&fed.cell.tab) {
            true => at.position.name(),
            false => format!("{}!{}", at.tab, at.position.name()),
        }
    }

    pub(super) fn asked_of_formula(
        &self,
        fed: &Fed<'_>,
        at: &CellAt,
        words: String,
        label: String,
    ) -> Diagnostic {
        let here = fed.cell.position.name();
        Diagnostic::error(Name::TwoStatements, words)
            .at(self.place(fed.cell))
            .label(self.place(at), label)
            .remedy(format!(
                "let the formula of {here} take the cell that is meant, and convert where the units differ; where two inputs happen to be equal, write the number of each into its own cell"
            ))
    }
}

/// What one of a unit is in coherent SI.
pub(super) fn size(unit: &Unit) -> f64 {
    unit.to_si(Decimal::ONE, 0)
}

pub(super) fn near(one: f64, other: f64) -> bool {
    (one / other - 1.0).abs() < 1e-3
}

/// What is wrong where a number in one unit is taken, times a factor, as one in another; none where both agree.
pub(super) fn differs(own: &Unit, said: &Unit, factor: f64) -> Option<&'static str> {
    if own.dimension != said.dimension {
        // r/min from Hz, and the weight of a mass: what a factor makes of another kind
        let gravity = |by: f64| GRAVITY.contains(&by) || GRAVITY.contains(&(1.0 / by));
        let turns = own.dimension.without_angle() == said.dimension.without_angle();
        let made =
            if turns { factor != 1.0 } else { gravity((factor * size(own) / size(said)).abs()) };
        return (!made).then_some("units of two kinds");
    }
    if own.is_same(said) && factor == 1.0 {
        return None;
    }
    if own.point || said.point {
        return (factor == 1.0).then_some("units that differ");
    }
    // by what the quantity itself is multiplied
    let times = (factor * size(own) / size(said)).abs();
    if near(times, 1.0) {
        return None;
    }
    let conversion = CONVERSIONS.iter().any(|it| near(times, *it) || near(times, 1.0 / it));
    // ten times as much is a multiple in one unit, and a conversion that went wrong between two
    let ten = near(times, 10.0) || near(times, 0.1);
    match (own.is_same(said), factor == 1.0) {
        (false, true) => Some("nothing converts it"),
        (false, false) if conversion || ten || !(0.03..=30.0).contains(&times) => {
            Some("the formula does not convert it so")
        }
        (true, false) if conversion => Some("the formula converts it, and the unit stays"),
        _ => None,
    }
}

pub(super) fn symbol(unit: &Unit) -> &str {
    if unit.symbol.is_empty() { "1" } else { unit.symbol.as_str() }
}

/// A factor to six digits.
pub(super) fn short(number: f64) -> String {
    format!("{number:.5e}").parse::<f64>().map_or_else(|_| number.to_string(), |it| it.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::unit::parse_unit;

    #[test]
    fn a_factor_converts_multiplies_or_is_asked() {
        let unit = |text: &str| parse_unit(text).unwrap();
        for (own, said, factor) in [
            ("N·m", "N·m", 1.0),
            ("N·m", "N·m", 2.0),
            ("N·m", "N·m", 0.85),
            ("kg·m²", "kg·cm²", 1e-4),
            ("kg·m²", "kg·cm²", 6e-4),
            ("r/min", "rad/s", 9.549_296_585),
            ("N", "kg", 9.81),
            ("s", "ms", 0.001),
            ("°C", "°C", 1.0),
            ("r/min", "Hz", 60.0),
        ] {
            assert_eq!(differs(&unit(own), &unit(said), factor), None, "{own} {said} {factor}");
        }
        for (own, said, factor) in [
            ("N·m", "kg·m²", 1.0),
            ("N·m", "kg·m²", 12.0),
            ("r/min", "rad/s", 1.0),
            ("r/min", "rad/s", 2.0 * std::f64::consts::PI / 60.0),
            ("kg·m²", "kg·cm²", 1.0),
            ("kg·m²", "kg·cm²", 1e-3),
            ("N·m", "mN·m", 2.0),
            ("s", "s", 1000.0),
            ("s", "s", 0.001),
            ("°C", "K", 1.0),
        ] {
            assert!(differs(&unit(own), &unit(said), factor).is_some(), "{own} {said} {factor}");
        }
    }
}
