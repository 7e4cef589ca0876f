//! The lines of `works`, each with the unit in which it is read.

use super::mismatch::unit_problem;
use crate::diagnostic::{Diagnostic, Name, Place};
use std::sync::Arc;

use super::absorb::absorbs;
use super::compile::Compiler;
use super::flat::{Guard, Line, LineId, LineSource, Type};
use super::scope::{Named, Sheet, Value};
use super::{across, lint, mismatch};
use crate::language::{Body, Bound, Definition, Expression};
use crate::unit::{self, Dimension, Kind, Unit};

impl Compiler<'_> {
    /// One line of `works`.
    pub(super) fn works(&mut self, sheet: &mut Sheet, at: usize, line: &Definition) {
        let name = line.name.value.clone();
        let named = match &line.body {
            Body::Function { .. } => Named::Function(at),
            Body::Table(table) => match self.table(sheet, line, table) {
                Some((id, argument, value)) => Named::Table(id, argument, value),
                None => Named::Silent,
            },
            Body::Value(tree) => match self.definition(sheet, line, tree) {
                Some((value, kind)) => Named::Value(value, kind),
                None => Named::Silent,
            },
        };
        sheet.names.entry(name).or_insert(named);
    }

    fn definition(
        &mut self,
        sheet: &mut Sheet,
        line: &Definition,
        tree: &Expression,
    ) -> Option<(Value, Option<&'static Kind>)> {
        let id = self.next_line();
        self.line = id;
        let value = self.expression(sheet, tree);
        let kind = match &line.kind {
            Some(word) => Some(self.kind(sheet, word)?),
            None => None,
        };
        let mut value = value?;
        if let Type::Number { dimension, point, series } = value.type_ {
            let settled = match kind {
                Some(kind) => {
                    if !value.zero
                        && (!unit::fits(dimension, kind.dimension)
                            || !absorbs(&value, dimension, kind.dimension)
                            || point != kind.point)
                    {
                        let problem = mismatch::declared(sheet, line, kind, (tree, dimension));
                        self.problems.push(problem);
                        return None;
                    }
                    lint::travel(self, sheet, tree, kind, &value);
                    if kind.name == "frequency" && lint::is_angular(&value.factors) {
                        self.problems.push(
                            lint::angular(sheet.text(&tree.span)).at(sheet.place(&tree.span)),
                        );
                    }
                    let text = sheet.text(&tree.span);
                    let mistaken = across::mistaken(text, Some(kind), value.factors.across)
                        .or_else(|| lint::otherwise_halved(kind, &value.factors));
                    self.problems.extend(mistaken.map(|it| it.at(sheet.place(&tree.span))));
                    kind.dimension
                }
                None => match lint::circumference(&value) {
                    Some(dimension) => dimension,
                    None => {
                        self.angle_left(sheet, line, tree, &value, dimension)?;
                        unit::settle(dimension)
                    }
                },
            };
            value.type_ = Type::Number { dimension: settled, point, series };
        }
        // an input or a constant taken over as it is gets a register of its own line all the same
        let place = sheet.place(&line.name.span);
        let mut named = Value::new(value.register, value.type_);
        // a line that is a plain number goes on as one; so does one that may be a conversion
        if value.factors.is_number() || !value.factors.open {
            named.factors = value.factors.clone().read_at(&place);
        }
        if let Type::Number { dimension, .. } = named.type_
            && unit::kinds_of(dimension).is_empty()
        {
            named.factors.arms = value.factors.arms;
        }
        named.factors.diameters = value.factors.bare_diameters();
        named.factors.radii = value.factors.bare_radii();
        named.factors.part = value.factors.part;
        // one problem of a frequency is enough
        let is_frequency = kind.is_some_and(|kind| kind.name == "frequency");
        named.factors.angular = lint::is_angular(&value.factors) && !is_frequency;
        if kind.is_none() {
            named.factors.take_across(value.factors.across);
        }
        named.named = Some((line.name.value.clone(), place));
        let lead = value.factors.across.filter(|it| *it == across::Across::Lead);
        let read_as = kind.or_else(|| lead.and_then(across::Across::kind));
        let own = match (&line.unit, kind) {
            (Some(word), Some(kind)) => self.unit_of(sheet, word, Some(kind)),
            _ => None,
        };
        let unit = self.unit_for(sheet, &line.name.value, (read_as, own), &named.type_);
        sheet.units.insert(line.name.value.clone(), unit.symbol.clone());
        let said = Line {
            name: format!("{}{}", sheet.path, line.name.value),
            scope: sheet.scope,
            register: named.register,
            unit,
            type_: named.type_.clone(),
            note: line.note.clone(),
            place: sheet.place(&line.span),
            says: LineSource::Works(Arc::new(line.clone())),
        };
        self.put_line(id, said);
        sheet.lines.insert(line.name.value.clone(), id);
        self.range_of_line(sheet, line, id, &named, kind);
        Some((named, kind))
    }

    /// The range that a line says of its value: outside is an error there, as for an input.
    fn range_of_line(
        &mut self,
        sheet: &mut Sheet,
        line: &Definition,
        id: LineId,
        value: &Value,
        kind: Option<&'static Kind>,
    ) {
        let mut limit =
            |bound: Option<&Bound>| bound.and_then(|bound| self.limit(sheet, value, kind, bound));
        let (low, high) = (limit(line.low.as_ref()), limit(line.high.as_ref()));
        if low.is_none() && high.is_none()
            || self.nothing_between(&line.name.value, low.as_ref(), high.as_ref())
        {
            return;
        }
        let register = value.register;
        self.program.guards.push(Guard {
            line: id,
            register,
            low,
            high,
            at_least: None,
            input: None,
        });
    }

    /// The unit in which a line is read: that of the result of its name, else its own, else the usual one.
    fn unit_for(
        &mut self,
        sheet: &Sheet,
        name: &str,
        (kind, own): (Option<&'static Kind>, Option<Unit>),
        type_: &Type,
    ) -> Unit {
        let Type::Number { dimension, point, .. } = type_ else { return Unit::one() };
        let given = sheet.given_units.get(name);
        if let Some(unit) = given.and_then(|unit| self.given_unit(unit, *dimension, *point)) {
            return unit;
        }
        own.unwrap_or_else(|| {
            kind.map_or_else(|| unit::usual_unit(*dimension, *point), Kind::usual_unit)
        })
    }
}

impl Compiler<'_> {
    /// The unit of a result, each text read once.
    pub(super) fn given_unit(
        &mut self,
        text: &str,
        dimension: Dimension,
        point: bool,
    ) -> Option<Unit> {
        let asked = (dimension, point, text.to_owned());
        let read = || result_unit(text, dimension, point);
        self.given_units.entry(asked).or_insert_with(read).clone()
    }
}

/// The unit of a result, read as any kind of that dimension reads it.
///
/// `point` says whether the result is a temperature on the scale. A difference of temperatures has no
/// zero in any unit: a rise of 54.8 K is 54.8 °C and 98.64 °F.
pub(crate) fn result_unit(text: &str, dimension: Dimension, point: bool) -> Option<Unit> {
    for kind in unit::kinds_of(dimension) {
        if kind.name == "flywheel effect" || kind.point != point {
            continue;
        }
        if let Some(unit) = kind.unit_written(text) {
            return Some(unit);
        }
    }
    let unit = unit::parse_unit(text).ok()?;
    (unit.point == point && unit::fits(unit.dimension, dimension))
        .then_some(Unit { dimension, ..unit })
}

/// The unit in which results of that dimension are usually read, as it can be typed; none where no unit says it, such as
/// for the root of a mass.
pub(crate) fn unit_to_type(dimension: Dimension, point: bool) -> Option<String> {
    let usual = unit::usual_unit(dimension, point).symbol;
    result_unit(&usual, dimension, point).map(|_| usual)
}

/// The remedy where no unit can be typed.
pub(crate) const NO_UNIT: &str =
    "no unit is made of broken powers: check the formula, or raise it to a whole power";

/// The unit of a result that a cell asks for, on a plate too, or what is wrong with it.
pub(crate) fn result_unit_or(
    text: &str,
    (name, dimension, point): (&str, Dimension, bool),
    place: &Place,
) -> Result<Unit, Diagnostic> {
    result_unit_of_plate(text, dimension, point).ok_or_else(|| match unit::parse_unit(text) {
        Ok(found) => {
            let is = unit::name_of(dimension);
            let words =
                format!("the result `{name}` is {is}, and `{text}` is a unit of another kind");
            let remedy = unit_to_type(dimension, point);
            Diagnostic::error(Name::ResultUnit, words)
                .at(place.clone())
                .saying(unit::name_of(found.dimension))
                .remedy(remedy.map_or_else(|| NO_UNIT.to_owned(), |unit| format!("write `{unit}`")))
        }
        Err(problem) => unit_problem(&problem).at(place.clone()),
    })
}

/// The unit that a person writes for a result, in the strict notation or in that of plates.
pub(crate) fn result_unit_of_plate(text: &str, dimension: Dimension, point: bool) -> Option<Unit> {
    result_unit(text, dimension, point).or_else(|| {
        let mut kinds = unit::kinds_of(dimension).into_iter().filter(|kind| kind.point == point);
        kinds.find_map(|kind| kind.unit_of_plate(text))
    })
}
