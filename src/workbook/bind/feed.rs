//! A formula behind an input, and how numbers in one unit become those in another on the way.

use rust_decimal::Decimal;

use super::{Binder, CellAt};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::{Input, Program};
use crate::unit::{Dimension, Unit};

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
const GRAVITY: std::ops::RangeInclusive<f64> = 9.7..=9.9;

/// What plain numbers make of a value.
#[derive(Clone, Debug)]
pub(super) struct Times {
    pub(super) factor: f64,
    /// The numbers of which the factor is made.
    plain: Vec<f64>,
}

impl Times {
    /// As it is.
    pub(super) fn one() -> Self {
        Self { factor: 1.0, plain: Vec::new() }
    }

    /// Times a further factor that is made of these numbers.
    pub(super) fn with(&self, factor: f64, plain: &[f64]) -> Self {
        let plain = self.plain.iter().chain(plain).copied().collect();
        Self { factor: self.factor * factor, plain }
    }

    /// Both, one after the other.
    pub(super) fn and(&self, other: &Self) -> Self {
        self.with(other.factor, &other.plain)
    }

    /// Whether its numbers convert by a factor: some of them, or all in one with a multiple, as in `*0.0006`.
    pub(super) fn fits(&self, by: f64, left: f64) -> bool {
        self.converts(by) || is_multiple(left) && !is_multiple(self.factor.abs())
    }

    /// Whether no plain number stands in it.
    pub(super) fn is_bare(&self) -> bool {
        self.plain.is_empty()
    }

    /// Whether some of its numbers are exactly a conversion.
    fn converts(&self, by: f64) -> bool {
        let mut products = vec![1.0];
        for number in self.plain.iter().filter(|it| **it != 1.0).take(MOST) {
            products.extend(products.clone().iter().map(|it| it * number));
        }
        products.into_iter().skip(1).any(|it| near(it, by))
    }
}

/// Plain numbers of one formula that are looked at.
const MOST: usize = 8;

/// Behind the unit of a number that is a flywheel effect: its unit is a quarter of that of the inertia.
const EFFECT: &str = " of GD²";

/// The unit of a number that is a flywheel effect.
pub(super) fn of_effect(unit: &Unit) -> Option<Unit> {
    let factor = unit.factor.over(crate::unit::Factor::decimal(4, 0))?;
    Some(Unit { symbol: format!("{}{EFFECT}", unit.symbol), factor, typed: None, ..unit.clone() })
}

/// Whether numbers in a unit are a flywheel effect.
pub(super) fn is_effect(unit: &Unit) -> bool {
    unit.symbol.ends_with(EFFECT)
}

/// Whether numbers make an inertia of a flywheel effect, of whose unit one is so many of the unit of the inertia.
pub(super) fn is_quartered(times: &Times, by: f64) -> bool {
    times.converts(0.25) || times.converts(by)
}

/// What is wrong with a flywheel effect that nothing divides by four.
pub(super) const NOT_QUARTERED: &str = "a flywheel effect is four times the inertia";

/// A formula on the way to an input, and what its number must be.
#[derive(Clone, Copy)]
pub(super) struct Way<'a> {
    pub(super) at: &'a CellAt,
    pub(super) own: &'a Unit,
    /// What the formulas before it multiply by.
    pub(super) times: &'a Times,
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

    /// As [`Self::asked_of_formula`], where the formula of the input needs a factor and nothing else: the formula as it is
    /// to be typed.
    pub(super) fn asked_with_factor(
        &self,
        fed: &Fed<'_>,
        asked: Diagnostic,
        by: f64,
    ) -> Diagnostic {
        let tab = self.book.tab(&fed.cell.tab);
        let Some((text, (0, 0))) = tab.and_then(|tab| tab.formulas.text(fed.cell.position)) else {
            return asked;
        };
        let here = fed.cell.position.name();
        asked.remedy(format!(
            "write `=({text})*{}` into {here}; where the cell holds {} already, correct the unit or the words that say otherwise",
            short(by),
            fed.unit.map_or("that", symbol)
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

/// Whether a factor makes the weight of a mass, or the mass of a weight.
pub(super) fn is_weighed(own: Dimension, said: Dimension, times: f64) -> bool {
    const ACCELERATION: Dimension = Dimension::of(1, 0, -2, 0, 0, 0);
    let (own, said) = (own.without_angle(), said.without_angle());
    own.over(said) == ACCELERATION && GRAVITY.contains(&times)
        || said.over(own) == ACCELERATION && GRAVITY.contains(&(1.0 / times))
}

/// What is wrong where a number in one unit is taken, times a factor, as one in another; none where both agree.
pub(super) fn differs(own: &Unit, said: &Unit, by: &Times) -> Option<&'static str> {
    let factor = by.factor;
    if own.dimension != said.dimension {
        // r/min from Hz, and the weight of a mass: what a factor makes of another kind
        let turns = own.dimension.without_angle() == said.dimension.without_angle();
        let times = (factor * size(own) / size(said)).abs();
        let made = match turns {
            true => factor != 1.0,
            false => is_weighed(own.dimension, said.dimension, times),
        };
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
    if is_effect(said) && !is_quartered(by, size(said) / size(own)) {
        return Some(NOT_QUARTERED);
    }
    let conversion = CONVERSIONS.iter().any(|it| near(times, *it) || near(times, 1.0 / it));
    // ten times as much is a multiple in one unit, and a conversion that went wrong between two
    let ten = near(times, 10.0) || near(times, 0.1);
    match (own.is_same(said), factor == 1.0) {
        (false, true) => Some("nothing converts it"),
        (false, false)
            if conversion
                || ten
                || !(0.03..=30.0).contains(&times)
                || !by.fits(size(said) / size(own), times) =>
        {
            Some("the formula does not convert it so")
        }
        (true, false) if conversion => Some("the formula converts it, and the unit stays"),
        _ => None,
    }
}

/// Whether a factor may count pieces, divide by their number, or be a share: what is left of one that converts as well.
fn is_multiple(times: f64) -> bool {
    let whole = |it: f64| near(it, it.round());
    whole(times) || whole(1.0 / times) || (0.3..=3.0).contains(&times)
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
            ("r/min", "rad/s", 9.549_296_585),
            ("N", "kg", 9.81),
            ("s", "ms", 0.001),
            ("°C", "°C", 1.0),
            ("r/min", "Hz", 60.0),
        ] {
            let by = Times::one().with(factor, &[factor]);
            assert_eq!(differs(&unit(own), &unit(said), &by), None, "{own} {said} {factor}");
        }
        for (own, said, factor) in [
            ("N·m", "kg·m²", 1.0),
            ("N·m", "kg·m²", 12.0),
            ("r/min", "rad/s", 1.0),
            ("r/min", "rad/s", 2.0 * std::f64::consts::PI / 60.0),
            ("kg·m²", "kg·cm²", 1.0),
            ("kg·m²", "kg·cm²", 1e-3),
            // six pieces and the conversion in one number may as well be a slip of it
            ("kg·m²", "kg·cm²", 6e-4),
            ("N·m", "mN·m", 2.0),
            ("s", "s", 1000.0),
            ("s", "s", 0.001),
            ("°C", "K", 1.0),
        ] {
            let by = Times::one().with(factor, &[factor]);
            assert!(differs(&unit(own), &unit(said), &by).is_some(), "{own} {said} {factor}");
        }
    }
}
