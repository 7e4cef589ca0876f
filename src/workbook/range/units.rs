//! Units of columns: in the heading, or in a row of units below the headings.

use super::super::bind::label;
use super::super::bind::label::unclear;
use crate::calculation::with_unit;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Input, Output, Program, Type, result_unit_or};
use crate::spreadsheet::{Cell, Entry, Position, Tab};
use crate::unit::{self, Kind, Unit};

/// What the table says of the unit of a column, each with its place.
pub(super) struct HeaderUnit<'a> {
    pub(super) heading: Option<(&'a str, Place)>,
    pub(super) below: Option<(String, Place)>,
}

/// The text of a unit; a dash or a one is none.
pub(super) fn text_at(tab: &Tab, row: u32, column: u32) -> Option<String> {
    match tab.cell(Position { row, column }) {
        Cell::Text(text) if text.trim() != "1" && !text.trim().chars().all(unit::is_dash) => {
            Some(text.trim().to_owned())
        }
        _ => None,
    }
}

/// The row directly below the headings, if it holds units.
pub(super) fn row_below(
    tab: &Tab,
    program: &Program,
    headings: &[Entry],
    header: u32,
) -> Option<u32> {
    let row = header + 1;
    let mut any = false;
    for entry in headings {
        let Cell::Text(text) = &entry.cell else { continue };
        let name = label(text).name;
        let input = program.input_named(&name);
        let output = program.output_named(&name).is_some();
        if input.is_none() && !output {
            continue;
        }
        let bare = input.is_some_and(|input| input.kind.is_none_or(|kind| kind.bare));
        match tab.cell(Position { row, column: entry.position.column }) {
            Cell::Number(number) if input.is_some() && !(bare && *number == 1.0) => return None,
            Cell::Text(text) => {
                let of_kind = input
                    .and_then(|input| input.kind)
                    .is_some_and(|kind| kind.read_plate(text.trim()).is_ok());
                any |= of_kind || unit::is_unit(text.trim());
            }
            _ => {}
        }
    }
    any.then_some(row)
}

/// The unit of an input's column; a unit is never assumed.
pub(super) fn of_input(
    input: &Input,
    says: &HeaderUnit<'_>,
    heading: &Place,
) -> Result<Unit, Box<Diagnostic>> {
    let Some(kind) = input.kind else { return Ok(Unit::one()) };
    let read = |text: &str, place: &Place| {
        with_unit(input, kind, rust_decimal::Decimal::ONE, 0, Some(text))
            .map(|literal| literal.unit)
            .map_err(|mut problem| {
                if problem.name == Name::UnitMismatch {
                    problem.remedy = kind.meets_flywheel(text).map_or_else(
                        || {
                            let units = kind.offered();
                            format!("write the unit in which the numbers below are: {units}")
                        },
                        str::to_owned,
                    );
                }
                Box::new(problem.at(place.clone()))
            })
    };
    let unit = chosen(&input.name, Some(kind), says, &read)?;
    match unit {
        Some(unit) => Ok(unit),
        None if kind.bare => Ok(Unit::one()),
        None => {
            let usual = kind.units.first().copied().unwrap_or_default();
            Err(Box::new(
                Diagnostic::error(
                    Name::MissingUnit,
                    format!("the column of `{}` ({}) says no unit", input.name, kind.name),
                )
                .at(heading.clone())
                .remedy(format!(
                    "write `{}` as the heading, and numbers alone below it; a unit is never assumed",
                    super::write::heading(&input.name, usual)
                )),
            ))
        }
    }
}

/// The unit of a result's column.
pub(super) fn of_result(
    output: &Output,
    says: &HeaderUnit<'_>,
    heading: &Place,
) -> Result<Unit, Box<Diagnostic>> {
    let Type::Number { dimension, point, .. } = output.type_ else { return Ok(Unit::one()) };
    let usual = || super::write::heading(&output.name, &output.unit.symbol);
    let read = |text: &str, place: &Place| {
        result_unit_or(text, (&output.name, dimension, point), place).map_err(Box::new)
    };
    match chosen(&output.name, None, says, &read)? {
        Some(unit) => Ok(unit),
        None if dimension.is_none() => Ok(Unit::one()),
        None => Err(Box::new(
            Diagnostic::error(
                Name::MissingUnit,
                format!("the column of the result `{}` says no unit", output.name),
            )
            .at(heading.clone())
            .remedy(format!("write `{}` as the heading", usual())),
        )),
    }
}

/// Reads the text of a unit, with its place for the message.
type Reads<'a> = dyn Fn(&str, &Place) -> Result<Unit, Box<Diagnostic>> + 'a;

/// The heading's unit before that of the row below; two that differ are an error.
fn chosen(
    name: &str,
    kind: Option<&'static Kind>,
    says: &HeaderUnit<'_>,
    read: &Reads<'_>,
) -> Result<Option<Unit>, Box<Diagnostic>> {
    let heading = says.heading.as_ref().map(|(text, place)| (*text, place, read(text, place)));
    let below = says.below.as_ref().map(|(text, place)| (text.as_str(), place, read(text, place)));
    match (heading, below) {
        (Some((one, place, Ok(first))), Some((other, other_place, Ok(second)))) => {
            let same = first.is_same(&second);
            if same {
                return Ok(Some(first));
            }
            Err(Box::new(
                Diagnostic::error(Name::UnitMismatch, format!("`{name}` has two units: its heading says {one}, the row of units says {other}"))
                    .at(place.clone())
                    .label(other_place.clone(), "the other")
                    .remedy("take one of them out"),
            ))
        }
        // a remark in brackets behind a name, where a row of units says the unit
        (Some((said, place, Err(_))), Some((_, _, Ok(unit)))) => match unclear(name, kind, said) {
            Some(problem) => Err(Box::new(problem.at(place.clone()))),
            None => Ok(Some(unit)),
        },
        (Some((_, _, Ok(unit))), _) | (None, Some((_, _, Ok(unit)))) => Ok(Some(unit)),
        (Some((_, _, Err(problem))), _) | (None, Some((_, _, Err(problem)))) => Err(problem),
        (None, None) => Ok(None),
    }
}
