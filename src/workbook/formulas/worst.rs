//! The tab of the worst case: how far each result can go, and how each check comes out over the tolerances.
//!
//! A bound is proved, not calculated by a formula: its cell shows it while every input is as it was.

use std::collections::BTreeMap;

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{Shown, beside_unit, write as put};
use super::express::Express;
use super::heading;
use super::plan::{FIRST, Plan, TabOf};
use crate::calculation::{Extreme, Range, WorstCase, written};
use crate::number::{Exact, InputValue, show_towards};
use crate::program::{Direction, Input, Output, Type};
use crate::report::{Check, LEFT_OUT, NOT_TO_BE_SET, Release, explanations};
use crate::unit::Unit;
use crate::workbook::cell_formats::{Page, Paper};

const HEADS: [&str; 7] =
    ["name", "nominal", "unit", "lowest", "highest", "lowest at", "highest at"];

/// The cell that says whether every input is as it was.
pub(super) const STILL: &str = "$B$3";

pub(super) fn write(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    worst: &WorstCase,
    release: &Release,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let page = Page {
        widths: &[18.0, 15.0, 12.0, 15.0, 15.0, 40.0, 40.0],
        landscape: true,
        headings: (0, FIRST - 1),
        foot: "bounds over all tolerances, proved; shown while every input is as it was",
    };
    tab.set_name(TabOf::Worst.name())?;
    let about = "How far each result can go within the tolerances of the inputs below: proved for all of them, not only for those tried.";
    heading(tab, plan, paper, (TabOf::Worst.name(), about), 3)?;
    page.heads(tab, FIRST - 1, &HEADS, paper)?;
    let mut row = FIRST;
    let mut on_results = FIRST;
    for (at, output) in plan.program.outputs.iter().enumerate() {
        let number = matches!(output.type_, Type::Number { .. });
        let ranges = worst.ranges().iter().filter(|range| number && range.output == at);
        for (element, range) in (0_u32..).zip(ranges) {
            tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
            let live = format!("results!B{}", on_results + element + 1);
            let withheld = output.setting.is_some() && !release.may_be_set();
            let shown = match withheld {
                true => Shown::Words(NOT_TO_BE_SET.to_owned()),
                false => plan.shown_in(output.register, element, &output.unit),
            };
            let live = beside_unit(&live, (row, 1), &output.unit);
            put(tab, (row, 1), Some(&live), &shown, &paper.number)?;
            tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
            ends(tab, row, range, &output.unit, withheld, paper)?;
            let [low, high] = [cause(&range.low), cause(&range.high)];
            tab.write_string_with_format(row, 5, &low, &paper.text)?;
            tab.write_string_with_format(row, 6, &high, &paper.text)?;
            page.fit(tab, row, &[(5, 5, &low), (6, 6, &high)])?;
            row += 1;
        }
        if plan.results.never(output).is_some() {
            tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
            let live = format!("results!B{}", on_results + 1);
            let shown = Shown::Words(plan.results.to_text(output));
            put(tab, (row, 1), Some(&live), &shown, &paper.number)?;
            row += 1;
        }
        on_results += plan.count(output.register).unwrap_or(1).max(1);
    }
    row = checks(tab, &page, worst, paper, row + 1)?;
    inputs(tab, &page, plan, worst, paper, row + 1)?;
    page.set(tab)
}

/// The first row of each result that has one here, by its place.
pub(super) fn rows(plan: &Plan<'_>, worst: &WorstCase) -> BTreeMap<usize, u32> {
    let mut row = FIRST;
    let mut found = BTreeMap::new();
    for (at, output) in plan.program.outputs.iter().enumerate() {
        let number = matches!(output.type_, Type::Number { .. });
        let ranges = worst.ranges().iter().filter(|range| number && range.output == at).count();
        if ranges > 0 {
            found.insert(at, row);
        }
        row += u32::try_from(ranges).unwrap_or(0);
        row += u32::from(plan.results.never(output).is_some());
    }
    found
}

/// One end of a result, as its row here shows it.
pub(super) fn end(
    worst: &WorstCase,
    (at, output): (usize, &Output),
    upwards: bool,
    release: &Release,
) -> Shown {
    let withheld = output.setting.is_some() && !release.may_be_set();
    let range = worst.ranges().iter().find(|range| range.output == at);
    range.map_or(Shown::Error, |range| shown_end(range, upwards, &output.unit, withheld))
}

/// Both ends of a result in its unit.
fn ends(
    tab: &mut Worksheet,
    row: u32,
    range: &Range,
    unit: &Unit,
    withheld: bool,
    paper: &Paper,
) -> Result<(), XlsxError> {
    for (column, upwards) in [(3, false), (4, true)] {
        let shown = shown_end(range, upwards, unit, withheld);
        put(tab, (row, column), Some(&while_still(&shown)), &shown, &paper.number)?;
    }
    Ok(())
}

fn shown_end(range: &Range, upwards: bool, unit: &Unit, withheld: bool) -> Shown {
    let end = if upwards { &range.high } else { &range.low };
    match (&range.may, end.limit) {
        _ if withheld => Shown::Words(NOT_TO_BE_SET.to_owned()),
        (Some(_), _) => Shown::Words("may not exist".to_owned()),
        (None, None) => number(&end.reached, unit, upwards),
        (None, Some(limit)) if limit.is_finite() => {
            Exact::from_f64(limit).map_or(Shown::Error, |limit| number(&limit, unit, upwards))
        }
        (None, Some(_)) => Shown::Words("not bounded".to_owned()),
    }
}

/// An end as every report gives it, rounded outward: what a cell shows must not lie within what it bounds, and no
/// number format rounds to one side.
fn number(value: &Exact, unit: &Unit, upwards: bool) -> Shown {
    let direction = if upwards { Direction::Up } else { Direction::Down };
    let plain = Unit { symbol: String::new(), ..unit.clone() };
    show_towards(value, &plain, direction).parse().map_or(Shown::Error, Shown::Number)
}

fn while_still(shown: &Shown) -> String {
    format!("IF({STILL},{},NA())", shown.constant())
}

fn cause(extreme: &Extreme) -> String {
    match extreme.limit {
        None => extreme.corner.clone(),
        Some(_) if extreme.corner.is_empty() => "a bound; it may not be reached".to_owned(),
        Some(_) => format!("a bound; what comes nearest: {}", extreme.corner),
    }
}

fn checks(
    tab: &mut Worksheet,
    page: &Page<'_>,
    worst: &WorstCase,
    paper: &Paper,
    mut row: u32,
) -> Result<u32, XlsxError> {
    if worst.checks().is_empty() {
        return Ok(row);
    }
    let heads =
        [(1, "least left between the sides"), (5, "what is checked"), (6, "where it is tightest")];
    page.part(tab, row, "checks", &heads, paper)?;
    row += 1;
    let found: Vec<Check> = worst.checks().iter().map(Check::from).collect();
    for (check, words) in worst.checks().iter().zip(&found) {
        let verdict = Shown::Words(check.verdict.word().to_owned());
        put(tab, (row, 0), Some(&while_still(&verdict)), &verdict, &paper.truth)?;
        let margin = check.least_margin.clone().unwrap_or_default();
        tab.write_string_with_format(row, 1, &margin, &paper.unit)?;
        let text = words.label();
        tab.write_string_with_format(row, 5, &text, &paper.text)?;
        tab.write_string_with_format(row, 6, &check.corner, &paper.text)?;
        page.fit(tab, row, &[(5, 5, &text), (6, 6, &check.corner)])?;
        row += 1;
    }
    for words in explanations(&found) {
        page.across(tab, row, &words, &paper.across)?;
        row += 1;
    }
    Ok(row)
}

/// Every input with its ends, and whether it is as it was; above all, whether every one is.
fn inputs(
    tab: &mut Worksheet,
    page: &Page<'_>,
    plan: &Plan<'_>,
    worst: &WorstCase,
    paper: &Paper,
    mut row: u32,
) -> Result<(), XlsxError> {
    let heads = [
        (1, "nominal"),
        (3, "lowest"),
        (4, "highest"),
        (5, "what it is"),
        (6, "the same on the tab inputs"),
    ];
    page.part(tab, row, "calculated with", &heads, paper)?;
    row += 1;
    let first = row + 1;
    let express = Express { plan, tab: TabOf::Worst };
    for (at, input) in plan.program.inputs.iter().enumerate() {
        let Some(home) = plan.homes.get(&input.register) else { continue };
        let conditions = express.still(*home, input.register, 0).unwrap_or_default();
        let given = to_text(plan, input);
        for (element, condition) in conditions.iter().enumerate() {
            tab.write_string_with_format(row, 0, &input.name, &paper.name)?;
            let value = given.get(element).map_or("", String::as_str);
            tab.write_string_with_format(row, 1, value, &paper.number)?;
            let uncertain = worst
                .uncertain()
                .iter()
                .find(|it| it.input == at && it.element.is_none_or(|place| place == element));
            if let Some(it) = uncertain {
                tab.write_string_with_format(row, 3, written(&it.low), &paper.number)?;
                tab.write_string_with_format(row, 4, written(&it.high), &paper.number)?;
            }
            tab.write_string_with_format(row, 5, &input.note, &paper.text)?;
            page.fit(tab, row, &[(5, 5, &input.note)])?;
            put(tab, (row, 6), Some(condition), &Shown::Truth(true), &paper.truth)?;
            row += 1;
        }
    }
    tab.write_string_with_format(2, 0, "inputs as they were", &paper.name)?;
    let all = if row < first { "TRUE()".to_owned() } else { format!("AND(G{first}:G{row})") };
    put(tab, (2, 1), Some(&all), &Shown::Truth(true), &paper.number)
}

/// The values of an input as they were given.
fn to_text(plan: &Plan<'_>, input: &Input) -> Vec<String> {
    match (plan.results.inputs().value(input), &input.type_) {
        _ if plan.results.inputs().is_spared(input) => vec![LEFT_OUT.to_owned()],
        (Some(InputValue::One(value)), _) => vec![written(&value)],
        (Some(InputValue::Many(values)), _) => values.iter().map(written).collect(),
        (Some(InputValue::Word(place)), Type::Choice(words)) => {
            words.get(place).cloned().into_iter().collect()
        }
        _ => Vec::new(),
    }
}
