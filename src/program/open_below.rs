//! Inputs of a kind that is never below zero whose range has no lower end, and of which no check says anything there: a
//! `from 0` that was forgotten. A time or a mass with a minus would shorten a stop without a word.

use rust_decimal::Decimal;

use super::compile::Compiler;
use super::decided::number;
use super::flat::{Guard, Type};
use super::scope::{Named, Sheet};
use super::signs::Signs;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Shape, Take};
use crate::unit;

/// What lasts, reaches, weighs or lets through no less than nothing.
const NEVER_BELOW: [&str; 20] = [
    "time", "length", "radius", "diameter", "area", "volume", "mass", "density", "mass per length",
    "inertia", "flywheel effect", "coefficient of friction", "heat capacity",
    "specific heat capacity", "thermal resistance", "heat transfer coefficient", "resistance",
    "capacitance", "inductance", TEMPERATURE,
];

/// On a scale, whose zero is not the lowest there is.
const TEMPERATURE: &str = "temperature";

impl Compiler<'_> {
    /// Every input of the asked sheet.
    pub(super) fn open_below(&mut self, sheet: &Sheet) {
        self.below_absolute_zero(sheet);
        let open: Vec<&Take> = sheet.tree.takes.iter().filter(|it| it.low.is_none()).collect();
        for take in open {
            let Some(Named::Value(value, _)) = sheet.names.get(&take.name.value) else { continue };
            let kind = self.program.inputs.iter().find(|it| it.register == value.register);
            let Some(kind) = kind.and_then(|it| it.kind) else { continue };
            // moments of a recording may lie before its start
            let is_series = matches!(take.shape, Shape::Series(..)) && kind.name == "time";
            let is_number = matches!(value.type_, Type::Number { .. });
            let bounds = |it: &Guard| it.register == value.register && it.low.is_some();
            if !is_number
                || is_series
                || !NEVER_BELOW.contains(&kind.name)
                || self.program.guards.iter().any(bounds)
                || Signs::new(self.ops(), &self.program).is_compared(value.register)
            {
                continue;
            }
            let name = &take.name.value;
            let unit = take.unit.as_ref().map_or_else(String::new, |it| format!(" {}", it.value));
            let absolute = if kind.name == TEMPERATURE { "absolute " } else { "" };
            let least = match take.unit.as_ref().and_then(|it| unit::parse_unit(&it.value).ok()) {
                Some(unit) if kind.name == TEMPERATURE => -unit.zero,
                _ => Decimal::ZERO,
            };
            self.problems.push(
                Diagnostic::caution(
                    Name::OpenBelow,
                    format!("`{name}` may be below {absolute}zero, and a {} never is", kind.name),
                )
                .at(sheet.place_of(take))
                .remedy(format!(
                    "write how low it may be, `from {least}{unit}` or `above {least}{unit}`; where it counts from a point between, the lowest there is"
                )),
            );
        }
    }

    /// A lower bound that lies below what can be is a slip, as `-400 °C` for `-40 °C`.
    fn below_absolute_zero(&mut self, sheet: &Sheet) {
        for take in &sheet.tree.takes {
            let is_scale = matches!(&take.shape, Shape::Kind(kind) if kind.value == TEMPERATURE);
            let Some(low) = take.low.as_ref().filter(|_| is_scale) else { continue };
            if number(&low.value).is_some_and(|it| it.si_f64() < 0.0) {
                let words = format!("`{}` may be below absolute zero", take.name.value);
                self.problems.push(
                    Diagnostic::error(Name::OpenBelow, words)
                        .at(sheet.place(&low.value.span))
                        .remedy("write the lowest that it may be; 0 K is −273.15 °C"),
                );
            }
        }
    }
}
