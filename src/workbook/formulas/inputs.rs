//! The tab of inputs: as given, with the factor and zero of the unit, and in coherent SI.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{Shown, conversion, its_unit, write as put};
use super::constant::{float, words};
use super::express::{Express, whole};
use super::frozen::frozen;
use super::heading;
use super::plan::{FIRST, Home, Plan, TabOf};
use crate::number::InputValue;
use crate::program::{Guard, Input, Relation, Type};
use crate::report::LEFT_OUT;
use crate::unit::Literal;
use crate::workbook::cell_formats::{Page, Paper};

const HEADS: [&str; 10] = [
    "name", "value", "unit", "what it is", "allowed", "range", "factor", "zero", "in SI", "SI unit",
];

/// Columns of what stands beside an input, as formulas write the first.
pub(super) const RANGE: (char, u16) = ('F', 5);
const WHAT: u16 = 3;
const ALLOWED: u16 = 4;
const FACTOR: u16 = 6;
const ZERO: u16 = 7;
const IN_SI: u16 = 8;
const SI_UNIT: u16 = 9;

/// What stands beside an input that can be calculated with.
pub(super) const IN_RANGE: &str = "in range";

/// What stands beside an input that was not given.
const EXAMPLE: &str = "the sheet's example, not your machine yet";

/// How many cells of the tab say so when all can be calculated with: one a value.
pub(super) fn values(plan: &Plan<'_>) -> usize {
    let inputs = plan.program.inputs.iter();
    let known = inputs.filter(|input| plan.homes.contains_key(&input.register));
    known
        .map(|input| match plan.results.inputs().value(input) {
            Some(InputValue::Many(values)) => values.len(),
            Some(_) => 1,
            None => 0,
        })
        .sum()
}

pub(super) fn write(tab: &mut Worksheet, plan: &Plan<'_>, paper: &Paper) -> Result<(), XlsxError> {
    let page = Page {
        widths: &[16.0, 12.0, 12.0, 46.0, 34.0, 15.0, 13.0, 8.0, 13.0, 14.0],
        landscape: true,
        headings: (0, FIRST - 1),
        foot: "inputs as given; in SI = (value + zero) · factor",
    };
    tab.set_name(TabOf::Inputs.name())?;
    let frozen = match frozen(plan) {
        names if names.is_empty() => String::new(),
        names => {
            format!(" but for {}, which no formula gives, and what stands on it", names.join(", "))
        }
    };
    let about = format!(
        "A changed value in a box is followed by every tab{frozen}; factor and zero belong to the unit beside the value, which stays."
    );
    heading(tab, plan, paper, (TabOf::Inputs.name(), &about), 0)?;
    page.heads(tab, FIRST - 1, &HEADS, paper)?;
    let express = Express { plan, tab: TabOf::Inputs };
    let same = as_chosen(plan);
    for (at, (id, input)) in (0_u32..).zip(&plan.program.inputs).enumerate() {
        let Some(home) = plan.homes.get(&input.register) else { continue };
        if let Some(heading) = plan.program.heading_above(at) {
            page.part(tab, home.row - 1, heading, &[], paper)?;
        }
        let guard =
            plan.program.guards.iter().find(|guard| guard.input.is_some_and(|input| input.0 == id));
        tab.write_string_with_format(home.row, 0, &input.name, &paper.name)?;
        tab.write_string_with_format(home.row, WHAT, &input.note, &paper.text)?;
        let spared = plan.results.inputs().is_spared(input);
        let example = match spared {
            true => Some(LEFT_OUT.to_owned()),
            false => plan.results.inputs().is_example(input).then(|| EXAMPLE.to_owned()),
        };
        let same = spared.then_some(same.as_str());
        let allowed: Vec<String> = input.allowed_text().into_iter().chain(example).collect();
        let allowed = allowed.join("; ");
        tab.write_string_with_format(home.row, ALLOWED, &allowed, &paper.aside)?;
        page.fit(tab, home.row, &[(3, 3, &input.note), (4, 4, &allowed)])?;
        match plan.results.inputs().value(input) {
            Some(InputValue::Word(place)) => word(tab, home.row, input, (place, same), paper)?,
            Some(InputValue::One(value)) => {
                number(tab, home.row, &value, same, paper)?;
                ranged(tab, &express, home.row, guard, 0, (&value, same, paper))?;
            }
            Some(InputValue::Many(values)) => {
                for (at, value) in (0_u32..).zip(&values) {
                    number(tab, home.row + at, value, same, paper)?;
                    ranged(tab, &express, home.row + at, guard, at, (value, same, paper))?;
                }
            }
            None => {}
        }
    }
    page.set(tab)
}

/// Whether all words that were given are as they were: what they left out was not given, and counts as soon as they are
/// not.
fn as_chosen(plan: &Plan<'_>) -> String {
    let inputs = plan.program.inputs.iter();
    let given = inputs.filter(|input| !plan.results.inputs().is_spared(input));
    let chosen = given.filter_map(|input| {
        let Type::Choice(all) = &input.type_ else { return None };
        let Some(InputValue::Word(place)) = plan.results.inputs().value(input) else {
            return None;
        };
        let cell = plan.homes.get(&input.register)?.row + 1;
        Some(format!("B{cell}&\"\"={}", words(all.get(place)?)))
    });
    format!("AND({})", chosen.collect::<Vec<_>>().join(","))
}

/// What stands beside an input that was left out, and is needed now.
const NOT_GIVEN: &str = "\"NOT GIVEN\"";

/// A result, or that there is none while an input is not given that words had left out.
pub(super) fn unless_not_given(plan: &Plan<'_>, text: String) -> String {
    let inputs = plan.program.inputs.iter();
    let spared = inputs.filter(|input| plan.results.inputs().is_spared(input));
    let cells: Vec<String> = spared
        .filter_map(|input| plan.homes.get(&input.register))
        .map(|home| Home { column: RANGE.0, ..*home })
        .map(|home| format!("COUNTIF({},{NOT_GIVEN})", home.range(TabOf::Results)))
        .collect();
    match cells.is_empty() {
        true => text,
        false => format!("IF({}>0,\"no figure\",{text})", cells.join("+")),
    }
}

/// What stands in the place of a value while its box is empty: the example, on which nothing depends, as long as the words
/// are `same`.
fn held(cell: u32, (same, example): (&str, &str), text: &str) -> String {
    format!("IF(ISBLANK(B{cell}),IF({same},{example},NA()),{text})")
}

fn word(
    tab: &mut Worksheet,
    row: u32,
    input: &Input,
    (place, same): (usize, Option<&str>),
    paper: &Paper,
) -> Result<(), XlsxError> {
    let Type::Choice(all) = &input.type_ else { return Ok(()) };
    let word = all.get(place).cloned().unwrap_or_default();
    let cell = row + 1;
    match same {
        None => {
            tab.write_string_with_format(row, 1, &word, &paper.input)?;
        }
        Some(same) => {
            tab.write_blank(row, 1, &paper.input)?;
            let text = held(cell, (same, &words(&word)), &format!("B{cell}&\"\""));
            put(tab, (row, IN_SI), Some(&text), &Shown::Words(word), &paper.unit)?;
        }
    }
    let list: Vec<String> =
        all.iter().map(|word| format!("B{cell}&\"\"={}", words(word))).collect();
    let text = format!("IF(OR({}),{},\"OUT OF RANGE\")", list.join(","), words(IN_RANGE));
    let text = or_not_given(cell, same, text);
    put(tab, (row, RANGE.1), Some(&text), &Shown::Words(IN_RANGE.to_owned()), &paper.unit)?;
    let validation = rust_xlsxwriter::DataValidation::new().allow_list_strings(all)?;
    tab.add_data_validation(row, 1, row, 1, &validation)?;
    Ok(())
}

fn number(
    tab: &mut Worksheet,
    row: u32,
    value: &Literal,
    same: Option<&str>,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let given: f64 = format!("{}e{}", value.digits, value.ten).parse().unwrap_or(f64::NAN);
    if same.is_some() {
        tab.write_blank(row, 1, &paper.input)?;
    } else {
        put(tab, (row, 1), None, &Shown::Number(given), &paper.input)?;
    }
    tab.write_string_with_format(row, 2, &value.unit.symbol, &paper.unit)?;
    conversion(tab, row, (FACTOR, ZERO), &value.unit, &paper.side_number)?;
    let cell = row + 1;
    let text = if value.unit.zero.is_zero() {
        format!("B{cell}*G{cell}")
    } else {
        format!("(B{cell}+H{cell})*G{cell}")
    };
    let text = match same {
        Some(same) => held(cell, (same, &float(value.si_f64()).text), &text),
        None => text,
    };
    put(tab, (row, IN_SI), Some(&text), &Shown::Number(value.si_f64()), &paper.number)?;
    if !value.unit.dimension.is_none() {
        tab.write_string_with_format(row, SI_UNIT, value.unit.dimension.to_string(), &paper.aside)?;
    }
    Ok(())
}

/// Whether a value is a number, in the unit that its factor belongs to, and within its range.
fn ranged(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    row: u32,
    guard: Option<&Guard>,
    at: u32,
    (value, same, paper): (&Literal, Option<&str>, &Paper),
) -> Result<(), XlsxError> {
    let unit = &value.unit.symbol;
    let cell = row + 1;
    let range = guard.and_then(|guard| in_range(express, guard, at));
    let range = range.unwrap_or_else(|| "TRUE()".to_owned());
    let text = format!(
        "IF(NOT(ISNUMBER(B{cell})),\"NO NUMBER\",IF(EXACT(C{cell}&\"\",{}),IF({range},{},\"OUT OF RANGE\"),{}))",
        words(unit),
        words(IN_RANGE),
        words(&its_unit(&value.unit))
    );
    let text = or_not_given(cell, same, text);
    put(tab, (row, RANGE.1), Some(&text), &Shown::Words(IN_RANGE.to_owned()), &paper.unit)
}

/// The same of an input that words left out: while its box is empty, whether they still are those.
fn or_not_given(cell: u32, same: Option<&str>, text: String) -> String {
    match same {
        Some(same) => {
            format!("IF(ISBLANK(B{cell}),IF({same},{},{NOT_GIVEN}),{text})", words(IN_RANGE))
        }
        None => text,
    }
}

/// The range of a value as one truth; none where there is no bound.
pub(super) fn in_range(express: &Express<'_, '_>, guard: &Guard, at: u32) -> Option<String> {
    let mut parts = Vec::new();
    if let Some(low) = &guard.low {
        let relation = if low.included { Relation::AtLeast } else { Relation::Above };
        parts.push(express.comparison(relation, guard.register, low.register, at)?.text);
    }
    if let Some(high) = &guard.high {
        let relation = if high.included { Relation::AtMost } else { Relation::Below };
        parts.push(express.comparison(relation, guard.register, high.register, at)?.text);
    }
    if let (Some(least), Some(home)) = (guard.at_least, express.plan.homes.get(&guard.register)) {
        let least = whole(u32::try_from(least).ok()?).text;
        parts.push(format!("COUNT({})>={least}", home.range(express.tab)));
    }
    match parts.as_slice() {
        [] => None,
        [one] => Some(one.clone()),
        all => Some(format!("AND({})", all.join(","))),
    }
}
