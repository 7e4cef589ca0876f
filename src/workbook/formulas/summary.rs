//! The first tab, one page: what it is, the verdict, the figures that decide, what is set, the chart of the stop,
//! questions about the inputs, and room for those who sign.

use rust_xlsxwriter::{Chart, Format, Worksheet, XlsxError};

use super::cells::{Shown, beside_unit, write as put};
use super::constant::words;
use super::express::Express;
use super::front::{Front, about, examples, value, withheld};
use super::plan::{Plan, TabOf};
use super::{Decided, VERDICT, worst};
use crate::program::{Output, Type};
use crate::report::{Remark, decisive, remarks};
use crate::workbook::cell_formats::{Page, Paper};

/// Widths of the columns in digits.
const WIDTHS: [f64; 7] = [18.0, 14.0, 11.0, 14.0, 14.0, 14.0, 32.0];

/// The same in pixels, at the size in which a width of one digit has seven.
const WIDE: u32 = 854;

/// The last column.
const LAST: u16 = 6;

/// Rows of the charts.
const CHART: u32 = 19;

/// The most results beside those that decide that have room on the page.
const OTHERS: usize = 24;

/// The most questions that have room on the page.
const QUESTIONS: usize = 6;

pub(super) fn write(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    decided: &Decided<'_>,
    front: &Front,
    charts: &[Chart],
    paper: &Paper,
) -> Result<(), XlsxError> {
    let page = Page {
        widths: &WIDTHS,
        landscape: false,
        headings: (0, VERDICT),
        foot: "a calculation, to be checked by a competent person and confirmed by measured stops",
    };
    tab.set_name(TabOf::Summary.name())?;
    let (title, identity) = super::title(plan);
    page.title(tab, 0, title, &paper.title)?;
    page.across(tab, 1, &identity, &paper.across)?;
    told(tab, &page, plan, VERDICT, paper)?;
    let mut row = VERDICT + 1;
    if !plan.program.checks.is_empty() {
        open_check(tab, &page, plan, front, row, paper)?;
        row += 1;
    }
    let examples = examples(plan);
    if !examples.is_empty() {
        page.across(tab, row, examples.trim_start(), &paper.strong)?;
        row += 1;
    }
    let first = decisive(plan.program);
    let all = 0..plan.program.outputs.len();
    let others: Vec<usize> = all.filter(|at| !first.contains(at)).collect();
    let figures = Figures { plan, decided, front, page: &page, paper };
    row = figures.write(tab, row + 1, "decisive figures", &first, &paper.figure)? + 1;
    row = settings(tab, &page, plan, decided, front, row, paper)?;
    // side by side
    let count = u32::try_from(charts.len()).unwrap_or(1).max(1);
    for (at, chart) in (0..count).zip(charts) {
        let mut chart = chart.clone();
        chart.set_width(WIDE / count).set_height(CHART * 20 - 10);
        tab.insert_chart_with_offset(row, 0, &chart, at * (WIDE / count), 0)?;
    }
    if !charts.is_empty() {
        row += CHART + 1;
    }
    if !others.is_empty() {
        let (shown, more) = others.split_at(OTHERS.min(others.len()));
        row = figures.write(tab, row, "other results", shown, &paper.number)?;
        if !more.is_empty() {
            let words = format!("{} more on the tab {}", more.len(), TabOf::Results.name());
            page.across(tab, row, &words, &paper.aside_name)?;
            row += 1;
        }
        row += 1;
    }
    row = questions(tab, &page, plan, row, paper)?;
    row = signatures(tab, &page, plan, row, paper)?;
    page.set(tab)?;
    tab.set_print_area(0, 0, row, LAST)?;
    tab.set_print_fit_to_pages(1, 1);
    Ok(())
}

/// The verdict of the tab of results.
fn told(
    tab: &mut Worksheet,
    page: &Page<'_>,
    plan: &Plan<'_>,
    row: u32,
    paper: &Paper,
) -> Result<(), XlsxError> {
    tab.write_string_with_format(row, 0, "verdict", &paper.verdict)?;
    tab.merge_range(row, 1, row, LAST, "", &paper.verdict)?;
    let text = Front::cell('B', VERDICT);
    put(tab, (row, 1), Some(&text), &Shown::Words(plan.verdict.clone()), &paper.verdict)?;
    page.fit(tab, row, &[(1, 6, &plan.verdict)])
}

/// The first check that does not hold, in words, and how many more; where all do, how many.
fn open_check(
    tab: &mut Worksheet,
    page: &Page<'_>,
    plan: &Plan<'_>,
    front: &Front,
    row: u32,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let (first, last) = front.checks;
    let range = |column: char| {
        let end = format!("${column}${}", last + 1);
        format!("{}:{end}", Front::cell(column, first))
    };
    let more_on = format!(" more, see the tab {}", TabOf::Results.name());
    let first_of = |word: &str| {
        let all = range('A');
        let count = format!("COUNTIF({all},\"{word}\")");
        format!(
            "\"{word}: \"&INDEX({},MATCH(\"{word}\",{all},0))&IF({count}>1,\"; and \"&({count}-1)&\"{more_on}\",\"\")",
            range('E')
        )
    };
    let of = words(&format!(" of {} checks hold", plan.program.checks.len()));
    let count = format!("COUNTIF({},\"holds\")&{of}", range('A'));
    let text = format!(
        "IF(LEFT({},5)=\"every\",IFERROR({},IFERROR({},{count})),\"no check counts before that is put right\")",
        Front::cell('B', front.ranges),
        first_of("FAILS"),
        first_of("look")
    );
    let all = plan.program.checks.len();
    let open = plan.program.checks.iter().zip(plan.results.checks());
    let open = open.map(|(check, outcome)| (check.label(), outcome.verdict.word()));
    let open: Vec<_> = open.collect();
    let shown = ["FAILS", "look"].iter().find_map(|wanted| {
        let mut alike = open.iter().filter(|(_, word)| word == wanted);
        let (label, word) = alike.next()?;
        let more = match alike.count() {
            0 => String::new(),
            more => format!("; and {more}{more_on}"),
        };
        Some(format!("{word}: {label}{more}"))
    });
    let shown = shown.unwrap_or_else(|| format!("{all} of {all} checks hold"));
    tab.merge_range(row, 1, row, LAST, "", &paper.across)?;
    put(tab, (row, 1), Some(&text), &Shown::Words(shown.clone()), &paper.across)?;
    page.fit(tab, row, &[(1, 6, &shown)])
}

/// Results beside one another with their ends, where there is a worst case.
struct Figures<'a> {
    plan: &'a Plan<'a>,
    decided: &'a Decided<'a>,
    front: &'a Front,
    page: &'a Page<'a>,
    paper: &'a Paper,
}

impl Figures<'_> {
    /// Writes those at some places below a heading; answers with the next row.
    fn write(
        &self,
        tab: &mut Worksheet,
        mut row: u32,
        title: &str,
        places: &[usize],
        format: &Format,
    ) -> Result<u32, XlsxError> {
        let Self { plan, decided, front, page, paper } = self;
        let ends = decided.worst.map(|worst| worst::rows(plan, worst));
        let what = if ends.is_some() { 5 } else { 3 };
        let mut heads = vec![(1, "value"), (2, "unit"), (what, "what it is")];
        if ends.is_some() {
            heads.extend([(3, "lowest"), (4, "highest")]);
        }
        page.part(tab, row, title, &heads, paper)?;
        for at in places {
            let found = plan.program.outputs.get(*at).zip(front.results.get(*at));
            let Some((output, from)) = found else { continue };
            row += 1;
            let note = about(output);
            tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
            tab.merge_range(row, what, row, LAST, "", &paper.text)?;
            tab.write_string_with_format(row, what, &note, &paper.text)?;
            page.fit(tab, row, &[(usize::from(what), usize::from(LAST), &note)])?;
            let (text, shown) = as_there(plan, output, *from);
            let text = beside_unit(&text, (row, 1), &output.unit);
            let shown = if output.setting.is_some() { withheld(decided, shown) } else { shown };
            put(tab, (row, 1), Some(&text), &shown, format)?;
            tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
            let there = ends.as_ref().and_then(|ends| ends.get(at));
            let Some((worst, from)) = decided.worst.zip(there) else { continue };
            for (column, letter, upwards) in [(3, 'D', false), (4, 'E', true)] {
                let cell = format!("'{}'!${letter}${}", TabOf::Worst.name(), from + 1);
                let text = beside_unit(&cell, (row, 1), &output.unit);
                let shown = worst::end(worst, (*at, output), upwards, decided.release);
                put(tab, (row, column), Some(&text), &shown, format)?;
            }
        }
        Ok(row + 1)
    }
}

/// The first value of a result as its tab has it.
fn as_there(plan: &Plan<'_>, output: &Output, row: u32) -> (String, Shown) {
    let shown = match output.type_ {
        Type::Number { .. } => plan.or_never(output, 0, None).1,
        _ => plan.shown(output.register, 0),
    };
    (Front::cell('B', row), shown)
}

/// What is set in the drive, with room to sign; no value is shown where the verdict does not let it be set.
fn settings(
    tab: &mut Worksheet,
    page: &Page<'_>,
    plan: &Plan<'_>,
    decided: &Decided<'_>,
    front: &Front,
    mut row: u32,
    paper: &Paper,
) -> Result<u32, XlsxError> {
    let set = || plan.program.outputs.iter().zip(&front.results);
    if set().all(|(output, _)| output.setting.is_none()) {
        return Ok(row);
    }
    let heads = [
        (1, "value"),
        (2, "unit"),
        (3, "step"),
        (4, "least"),
        (5, "most"),
        (LAST, "read back, date, name"),
    ];
    let express = Express { plan, tab: TabOf::Summary };
    page.part(tab, row, "to be set", &heads, paper)?;
    row += 1;
    tab.write_string_with_format(row, 0, "may be set", &paper.name)?;
    let text = Front::cell('B', front.may);
    let now = Shown::Words(decided.may_be_set_text().to_owned());
    put(tab, (row, 1), Some(&text), &now, &paper.truth)?;
    for (output, from) in set() {
        let Some((step, low, high)) = output.setting else { continue };
        row += 1;
        tab.write_string_with_format(row, 0, &output.name, &paper.sheet)?;
        let (text, shown) = as_there(plan, output, *from);
        let text = front.granted(&beside_unit(&text, (row, 1), &output.unit));
        put(tab, (row, 1), Some(&text), &withheld(decided, shown), &paper.figure)?;
        tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
        for (column, register) in [(3, step), (4, low), (5, high)] {
            value(tab, &express, (row, column), (register, &output.unit, 2), paper)?;
        }
        tab.write_blank(row, LAST, &paper.pen)?;
        tab.set_row_height(row, 24)?;
    }
    Ok(row + 2)
}

/// What a run asks about its inputs; the tab of results has all that it said.
fn questions(
    tab: &mut Worksheet,
    page: &Page<'_>,
    plan: &Plan<'_>,
    mut row: u32,
    paper: &Paper,
) -> Result<u32, XlsxError> {
    let mut said = remarks(plan.results.inputs(), Some(plan.results));
    said.retain(|remark| matches!(remark, Remark::Said(_)));
    if said.is_empty() {
        return Ok(row);
    }
    page.part(tab, row, "asked of the inputs, as calculated", &[], paper)?;
    for remark in said.iter().take(QUESTIONS) {
        row += 1;
        page.across(tab, row, &remark.to_line(), &paper.across)?;
    }
    if let more @ 1.. = said.len().saturating_sub(QUESTIONS) {
        row += 1;
        let words = format!("{more} more on the tab {}", TabOf::Results.name());
        page.across(tab, row, &words, &paper.strong)?;
    }
    Ok(row + 2)
}

/// The verdict once more, and below it room for those who sign; answers with the last row.
fn signatures(
    tab: &mut Worksheet,
    page: &Page<'_>,
    plan: &Plan<'_>,
    mut row: u32,
    paper: &Paper,
) -> Result<u32, XlsxError> {
    page.part(tab, row, "signatures", &[(1, "name"), (4, "date"), (LAST, "signature")], paper)?;
    row += 1;
    told(tab, page, plan, row, paper)?;
    for who in ["prepared", "checked", "approved"] {
        row += 1;
        tab.set_row_height(row, 27)?;
        tab.write_string_with_format(row, 0, who, &paper.name)?;
        for column in 1..=LAST {
            tab.write_blank(row, column, &paper.pen)?;
        }
    }
    Ok(row)
}
