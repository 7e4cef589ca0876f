//! Inputs of a kind that is never below zero whose range has no lower end, and of which no check says anything there: a
//! `from 0` that was forgotten. A time or a mass with a minus would shorten a stop without a word.

use super::compile::Compiler;
use super::decided::number;
use super::flat::{Guard, Type};
use super::scope::{Named, Sheet};
use super::signs::Signs;
use crate::diagnostic::{Diagnostic, Name};
use crate::language::{Shape, Take};

/// What lasts, reaches, weighs or lets through no less than nothing.
const NEVER_BELOW: [&str; 19] = [
    "time", "length", "radius", "diameter", "area", "volume", "mass", "density", "mass per length",
    "inertia", "flywheel effect", "coefficient of friction", "heat capacity",
    "specific heat capacity", "thermal resistance", "heat transfer coefficient", "resistance",
    "capacitance", "inductance",
];

impl Compiler<'_> {
    /// Every input of the asked sheet.
    pub(super) fn open_below(&mut self, sheet: &Sheet) {
        let open: Vec<&Take> = sheet.tree.takes.iter().filter(|it| it.low.is_none()).collect();
        for take in open {
            let Some(Named::Value(value, _)) = sheet.names.get(&take.name.value) else { continue };
            let kind = self.program.inputs.iter().find(|it| it.register == value.register);
            let Some(kind) = kind.and_then(|it| it.kind) else { continue };
            // moments of a recording may lie before its start
            let is_series = matches!(take.shape, Shape::Series(..)) && kind.name == "time";
            let is_number = matches!(value.type_, Type::Number { .. });
            // the state of a course begins at 0 and goes on from part to part
            let begins = take.default.as_ref().and_then(|it| number(it.value.as_ref()?));
            let bounds = |it: &Guard| it.register == value.register && it.low.is_some();
            if !is_number
                || is_series
                || begins.is_some_and(|it| it.digits.is_zero())
                || !NEVER_BELOW.contains(&kind.name)
                || self.program.guards.iter().any(bounds)
                || Signs::new(self.ops(), &self.program).is_compared(value.register)
            {
                continue;
            }
            let name = &take.name.value;
            let unit = take.unit.as_ref().map_or_else(String::new, |it| format!(" {}", it.value));
            self.problems.push(
                Diagnostic::caution(
                    Name::OpenBelow,
                    format!("`{name}` may be below zero, and a {} never is", kind.name),
                )
                .at(sheet.place_of(take))
                .remedy(format!(
                    "write how low it may be, `from 0{unit}` or `above 0{unit}`; where it counts from a point between, the lowest there is"
                )),
            );
        }
    }
}
