//! What feeds the cell of an input: another input's cell, or through its formula a cell of another unit or name.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::composed::Way;
use super::{Binder, CellAt, Part, Request};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::InputValue;
use crate::program::{Input, Program};
use crate::spreadsheet::{Position, link};
use crate::unit::Unit;

/// Formulas that lead to formulas, for one input.
const DEEPEST: usize = 40;

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

type Key = (String, Position);

fn key(cell: &CellAt) -> Key {
    (cell.tab.to_lowercase(), cell.position)
}

impl Binder<'_> {
    /// Inputs of a calculation that share one cell, or that are fed from what they are not.
    pub(in crate::workbook) fn fed_otherwise(&self, request: &Request) -> Vec<Diagnostic> {
        let mut readers: BTreeMap<Key, &str> = BTreeMap::new();
        let mut found = Vec::new();
        let values = || request.reads.iter().filter(|read| read.part == Part::Value);
        for read in values() {
            let first = *readers.entry(key(&read.cell)).or_insert(&read.name);
            if first != read.name {
                found.push(two_inputs(&read.cell, first, &read.name, self.place(&read.cell)));
            }
        }
        for read in values() {
            let input = request.program.inputs.iter().find(|input| input.name == read.name);
            let Some(input) = input.filter(|input| request.inputs.is_given(input)) else {
                continue;
            };
            let unit = match request.inputs.value(input) {
                Some(InputValue::One(value)) => Some(value.unit),
                Some(InputValue::Many(values)) => values.into_iter().next().map(|it| it.unit),
                _ => None,
            };
            let program = &request.program;
            let fed = Fed { program, input, unit: unit.as_ref(), cell: &read.cell };
            let other = |cell: &CellAt| {
                let name = readers.get(&key(cell)).copied();
                name.filter(|name| *name != read.name).map(str::to_owned)
            };
            let unit_of = |cell: &CellAt| self.unit_about(cell, input.kind?);
            found.extend(self.linked_otherwise(&fed, &other, &unit_of));
        }
        found
    }

    /// A formula of an input that takes its value from a cell which, by what stands about it, holds something else.
    pub(in crate::workbook) fn linked_otherwise(
        &self,
        fed: &Fed<'_>,
        other: OtherInput<'_>,
        unit_of: UnitOf<'_>,
    ) -> Option<Diagnostic> {
        let name = &fed.input.name;
        let mut at = fed.cell.clone();
        let (mut factor, mut plain) = (1.0, true);
        let mut passed = vec![key(fed.cell)];
        for _ in 0..DEEPEST {
            let Some(next) = link(self.book, self.book.tab(&at.tab)?, at.position) else {
                let way = Way { at: &at, own: fed.unit?, factor, depth: 0 };
                return self.composed_otherwise(fed, way, other, unit_of);
            };
            factor *= next.factor;
            plain &= next.is_plain();
            at = CellAt { tab: next.tab, position: next.cell };
            if passed.contains(&key(&at)) {
                let words =
                    format!("the formula of `{name}` leads back to {}", self.there(fed, &at));
                let label = "it takes its value from itself".to_owned();
                return Some(self.asked_of_formula(fed, &at, words, label));
            }
            passed.push(key(&at));
            let there = self.there(fed, &at);
            if let Some(other) = other(&at).filter(|_| plain) {
                let words = format!(
                    "the formula of `{name}` takes {there}, which is the cell of `{other}`"
                );
                return Some(self.asked_of_formula(
                    fed,
                    &at,
                    words,
                    format!("`{other}` is read from here"),
                ));
            }
            if let Some((said, text)) =
                self.named_otherwise(fed.program, name, &at).filter(|(said, _)| {
                    plain && fed.program.inputs.iter().any(|input| input.name == *said)
                })
            {
                let words = format!(
                    "the formula of `{name}` takes {there}, and the text in {} calls it `{said}`",
                    text.position.name()
                );
                return Some(self.asked_of_formula(
                    fed,
                    &text,
                    words,
                    format!("here it is `{said}`"),
                ));
            }
            if let (Some(own), Some((said, text))) = (fed.unit, unit_of(&at)) {
                let percent = |cell: &CellAt| self.shows_percent(cell);
                let one = Unit::one();
                let own = if own.dimension.is_none() && percent(fed.cell) { &one } else { own };
                let said =
                    if said.dimension.is_none() && percent(&at) { one.clone() } else { said };
                if let Some(what) = differs(own, &said, factor) {
                    let times = if factor == 1.0 {
                        String::new()
                    } else {
                        format!(" times {}", short(factor))
                    };
                    let words = format!(
                        "`{name}` is in {}, and its formula takes {there}{times}, which is in {}: {what}",
                        symbol(own),
                        symbol(&said)
                    );
                    let label = format!("here it is {}", symbol(&said));
                    return Some(self.asked_of_formula(fed, &text, words, label));
                }
            }
        }
        None
    }

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

/// One cell from which two inputs of a calculation are read.
fn two_inputs(cell: &CellAt, one: &str, other: &str, place: Place) -> Diagnostic {
    let here = cell.position.name();
    let words = format!("`{one}` and `{other}` are both read from {here}");
    Diagnostic::error(Name::AskedTwice, words).at(place).remedy(format!(
        "point one of them elsewhere; if both have this value, give `{other}` a cell of its own with the number in it"
    ))
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
