//! The tab of results: what came out, how the checks stand, what is to be set, and what to mind.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{Shown, conversion, write as put};
use super::constant::words;
use super::express::Express;
use super::plan::{FIRST, Plan, TabOf};
use super::worst::STILL;
use super::{Decided, factor, heading, inputs};
use crate::calculation::Verdict;
use crate::number::Slot;
use crate::program::{Register, Type};
use crate::report::{NOT_TO_BE_SET, remarks};
use crate::unit::Unit;
use crate::workbook::cell_formats::{Page, Paper};
use crate::workbook::form::closing;

const HEADS: [&str; 6] = ["name", "value", "unit", "factor", "zero", "what it is"];

/// The row of the verdict, below the title.
const VERDICT: u32 = 2;

pub(super) fn write(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    decided: &Decided<'_>,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let page = Page {
        widths: &[18.0, 13.0, 14.0, 13.0, 9.0, 54.0],
        landscape: false,
        // the checks and the settings further down have headings of their own
        headings: (0, FIRST - 2),
        foot: "a calculation, to be checked by a competent person and confirmed by measured stops",
    };
    tab.set_name(TabOf::Results.name())?;
    let (sheet, title) =
        plan.program.scopes.first().map_or(("", ""), |scope| (&scope.sheet, &scope.title));
    let examples = match crate::report::not_your_machine(plan.results.inputs()) {
        words if words.is_empty() => words,
        words => format!(" As calculated, {words}; the tab inputs says which."),
    };
    let about = format!(
        "Results of the sheet {sheet}; every figure follows from the tab inputs by the formulas in the cells.{examples}"
    );
    heading(tab, paper, title, &about)?;
    page.heads(tab, FIRST - 1, &HEADS, paper)?;
    let express = Express { plan, tab: TabOf::Results };
    let mut row = FIRST;
    let mut settings_at = Vec::new();
    for output in &plan.program.outputs {
        if output.setting.is_some() {
            settings_at.push((row, output));
        }
        let note = match (output.note.is_empty(), output.rounding.is_empty()) {
            (_, true) => output.note.clone(),
            (true, false) => output.rounding.clone(),
            (false, false) => format!("{} ({})", output.note, output.rounding),
        };
        tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
        tab.write_string_with_format(row, 5, &note, &paper.text)?;
        page.fit(tab, row, &[(5, 5, &note)])?;
        for at in 0..plan.count(output.register).unwrap_or(1).max(1) {
            if matches!(output.type_, Type::Number { .. }) {
                let cell = row + 1;
                let plain = output.unit == Unit::one();
                let zero =
                    if output.unit.zero.is_zero() { String::new() } else { format!("-E{cell}") };
                let factors = format!("/D{cell}{zero}");
                let how = Some(factors.as_str()).filter(|_| !plain);
                let text = converted(&express, (output.register, at), &output.unit, how);
                let (text, shown) = plan.or_never(output, at, text);
                put(tab, (row, 1), text.as_deref(), &shown, &paper.number)?;
                tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
                if !plain {
                    conversion(tab, row, (3, 4), &output.unit, &paper.side_number)?;
                }
            } else {
                let text = express.term(output.register, at).map(|term| term.text);
                put(
                    tab,
                    (row, 1),
                    text.as_deref(),
                    &plan.shown(output.register, at),
                    &paper.number,
                )?;
            }
            row += 1;
        }
    }
    row = ranges(tab, plan, paper, row)?;
    let first = row + 1;
    row = checks(tab, &express, &page, paper, first)?;
    let (may, words_now) = verdict(tab, &page, decided, plan, paper, (first, row))?;
    row = settings(tab, &express, &page, paper, row, (&may, decided))?;
    // a setting that may not be set is no figure among the results either
    for (row, output) in settings_at {
        let cell = row + 1;
        let zero = if output.unit.zero.is_zero() { String::new() } else { format!("-E{cell}") };
        let factors = format!("/D{cell}{zero}");
        let how = Some(factors.as_str()).filter(|_| output.unit != Unit::one());
        let text = converted(&express, (output.register, 0), &output.unit, how);
        let (text, shown) = plan.or_never(output, 0, text);
        setting(tab, (row, 1), (text, shown), (&may, decided), paper)?;
    }
    row = said(tab, &page, paper, plan, row)?;
    row = closing(tab, &page, paper, plan.program, row)?;
    signatures(tab, &page, paper, row, &words_now)?;
    page.set(tab)
}

/// What the run said beside its figures, as calculated.
fn said(
    tab: &mut Worksheet,
    page: &Page<'_>,
    paper: &Paper,
    plan: &Plan<'_>,
    mut row: u32,
) -> Result<u32, XlsxError> {
    let remarks = remarks(plan.results.inputs(), Some(plan.results));
    if remarks.is_empty() {
        return Ok(row);
    }
    page.part(tab, row, "said of the inputs, as calculated", &[], paper)?;
    for remark in remarks {
        row += 1;
        page.across(tab, row, &remark.to_line(), &paper.across)?;
    }
    Ok(row + 2)
}

/// A value in a unit.
fn value(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    cell: (u32, u16),
    register: Register,
    unit: &Unit,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let text = converted(express, (register, 0), unit, None);
    put(tab, cell, text.as_deref(), &express.plan.shown_in(register, 0, unit), &paper.number)
}

/// The formula of a value in a unit; `how` converts by cells, else the factor is written out.
fn converted(
    express: &Express<'_, '_>,
    (register, at): (Register, u32),
    unit: &Unit,
    how: Option<&str>,
) -> Option<String> {
    use super::constant::Binds;
    express.term(register, at).map(|term| {
        let si = term.at_least(Binds::Product);
        match how {
            Some(factors) => format!("{si}{factors}"),
            None if *unit
                == Unit {
                    dimension: unit.dimension,
                    symbol: unit.symbol.clone(),
                    ..Unit::one()
                } =>
            {
                term.text
            }
            None if unit.zero.is_zero() => {
                format!("{si}/{}", factor(unit.factor).at_least(Binds::Power))
            }
            None => format!(
                "{si}/{}-{}",
                factor(unit.factor).at_least(Binds::Power),
                unit.zero.normalize()
            ),
        }
    })
}

/// One row that says whether all inputs are in range.
fn ranges(tab: &mut Worksheet, plan: &Plan<'_>, paper: &Paper, row: u32) -> Result<u32, XlsxError> {
    let homes = plan.program.inputs.iter().filter_map(|input| plan.homes.get(&input.register));
    let last =
        homes.map(|home| home.row + home.count.unwrap_or(1).max(1)).max().unwrap_or(FIRST + 1);
    tab.write_string_with_format(row, 0, "ranges", &paper.name)?;
    let good = "every input is within its range";
    // what is not said to be in range counts: an error, a cell that was emptied
    let text = format!(
        "IF(COUNTIF(inputs!J{}:J{last},{})={},{},\"AN INPUT IS OUT OF ITS RANGE: see the tab inputs\")",
        FIRST + 1,
        words(inputs::IN_RANGE),
        inputs::values(plan),
        words(good)
    );
    put(tab, (row, 1), Some(&text), &Shown::Words(good.to_owned()), &paper.truth)?;
    Ok(row + 1)
}

fn checks(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    page: &Page<'_>,
    paper: &Paper,
    mut row: u32,
) -> Result<u32, XlsxError> {
    let plan = express.plan;
    if plan.program.checks.is_empty() {
        return Ok(row);
    }
    page.part(
        tab,
        row,
        "checks",
        &[(1, "left side"), (2, "unit"), (3, "right side"), (5, "what is checked")],
        paper,
    )?;
    row += 1;
    for (check, outcome) in plan.program.checks.iter().zip(plan.results.checks()) {
        let bad = if check.caution { Verdict::Caution } else { Verdict::Fails }.word();
        let now = outcome.verdict.word();
        let text = express
            .term(check.register, 0)
            .map(|term| format!("IF({},\"holds\",\"{bad}\")", term.text))
            // a comparison with what never exists fails
            .map(|text| match plan.program.may_never_exist() {
                true => format!("IFERROR({text},\"{bad}\")"),
                false => text,
            });
        put(tab, (row, 0), text.as_deref(), &Shown::Words(now.to_owned()), &paper.truth)?;
        if let Some((_, a, b)) =
            check.sides.filter(|(_, a, b)| single(plan, *a) && single(plan, *b))
        {
            value(tab, express, (row, 1), a, &check.unit, paper)?;
            tab.write_string_with_format(row, 2, &check.unit.symbol, &paper.unit)?;
            value(tab, express, (row, 3), b, &check.unit, paper)?;
        }
        let advice = if check.otherwise.is_empty() {
            String::new()
        } else {
            format!("; if not: {}", check.otherwise)
        };
        let words = format!("{}{advice}", check.label());
        tab.write_string_with_format(row, 5, &words, &paper.text)?;
        page.fit(tab, row, &[(5, 5, &words)])?;
        row += 1;
    }
    Ok(row + 1)
}

/// A number that is no word of a choice.
fn single(plan: &Plan<'_>, register: Register) -> bool {
    let word = plan.program.inputs.iter().any(|input| {
        matches!(input.type_, Type::Choice(_))
            && plan.homes.get(&input.register) == plan.homes.get(&register)
    });
    !word && matches!(plan.results.run().register(register), Ok(Slot::One(_)))
}

/// Writes the verdict below the title, live as everything else; answers with the formula of whether settings may be
/// set, and with the words of now. A worst case counts while every input is as it was: a change proves nothing.
fn verdict(
    tab: &mut Worksheet,
    page: &Page<'_>,
    decided: &Decided<'_>,
    plan: &Plan<'_>,
    paper: &Paper,
    (first, end): (u32, u32),
) -> Result<(String, String), XlsxError> {
    let count = |word| format!("COUNTIF($A${}:$A${end},\"{word}\")", first + 1);
    let now = |wanted| plan.results.checks().iter().filter(|it| it.verdict == wanted).count();
    let (fails, cautions) = (count("FAILS"), count("look"));
    // a check without a figure is an error in its cell, which no count of words sees
    let known = format!("({fails}+{cautions}+{})", count("holds"));
    let all = plan.program.checks.len();
    let holds = "every check holds";
    let checked = format!(
        "IF({cautions}>0,\"no check fails, cautions found: \"&{cautions}&\" of {all} checks\",\"{holds}\")"
    );
    let checked_now = match now(Verdict::Caution) {
        0 => holds.to_owned(),
        cautions => format!("no check fails, cautions found: {cautions} of {all} checks"),
    };
    let still = format!("'{}'!{STILL}", TabOf::Worst.name());
    let within = " within the tolerances";
    let unknown = words("NOT PROVED: the worst case was calculated for other inputs");
    let open = "MAY FAIL within the tolerances: see the tab worst case";
    let none = "MAY FAIL: there is no worst case within the tolerances";
    let (rest, rest_now, may) = match (decided.tolerated(plan.results), decided.worst) {
        (false, _) => (checked, checked_now, "TRUE()".to_owned()),
        (true, None) => (words(none), none.to_owned(), "FALSE()".to_owned()),
        (true, Some(_)) if decided.release.granted() => (
            format!("IF({still},{checked}&\"{within}\",{unknown})"),
            format!("{checked_now}{within}"),
            still,
        ),
        (true, Some(_)) => (
            format!("IF({still},{},{unknown})", words(open)),
            open.to_owned(),
            "FALSE()".to_owned(),
        ),
    };
    // what is calculated with the sheet's examples is of no machine
    let may = if decided.of_examples() { "FALSE()".to_owned() } else { may };
    let in_range = format!("LEFT($B${},5)=\"every\"", first - 1);
    let text = format!(
        "IF({in_range},IF({fails}>0,\"FAILS: \"&{fails}&\" of {all} checks, see below\",IF({known}={all},{rest},\"NOT CALCULATED: \"&({all}-{known})&\" of {all} checks have no figure\")),\"AN INPUT IS OUT OF ITS RANGE\")"
    );
    let shown = match now(Verdict::Fails) {
        0 => rest_now,
        fails => format!("FAILS: {fails} of {all} checks, see below"),
    };
    tab.write_string_with_format(VERDICT, 0, "verdict", &paper.strong)?;
    tab.merge_range(VERDICT, 1, VERDICT, 5, "", &paper.strong)?;
    page.fit(tab, VERDICT, &[(1, 5, &shown)])?;
    put(tab, (VERDICT, 1), Some(&text), &Shown::Words(shown.clone()), &paper.strong)?;
    Ok((format!("AND({in_range},{fails}=0,{known}={all},{may})"), shown))
}

/// The verdict once more, and below it room for those who sign.
fn signatures(
    tab: &mut Worksheet,
    page: &Page<'_>,
    paper: &Paper,
    mut row: u32,
    verdict: &str,
) -> Result<(), XlsxError> {
    page.part(tab, row, "signatures", &[(1, "name"), (3, "date"), (5, "signature")], paper)?;
    row += 1;
    tab.write_string_with_format(row, 0, "verdict", &paper.strong)?;
    tab.merge_range(row, 1, row, 5, "", &paper.strong)?;
    let text = format!("$B${}", VERDICT + 1);
    put(tab, (row, 1), Some(&text), &Shown::Words(verdict.to_owned()), &paper.strong)?;
    for who in ["prepared", "checked", "approved"] {
        row += 1;
        tab.set_row_height(row, 30)?;
        tab.write_string_with_format(row, 0, who, &paper.name)?;
        for column in 1..6 {
            tab.write_blank(row, column, &paper.pen)?;
        }
    }
    Ok(())
}

/// A setting, or that it may not be set.
fn setting(
    tab: &mut Worksheet,
    cell: (u32, u16),
    (text, shown): (Option<String>, Shown),
    (may, decided): (&str, &Decided<'_>),
    paper: &Paper,
) -> Result<(), XlsxError> {
    let text = text.map(|text| format!("IF({may},{text},{})", words(NOT_TO_BE_SET)));
    let shown = match decided.release.may_be_set() {
        true => shown,
        false => Shown::Words(NOT_TO_BE_SET.to_owned()),
    };
    put(tab, cell, text.as_deref(), &shown, &paper.number)
}

/// What is set in the drive, with room to sign; no value is shown where the verdict does not let it be set.
fn settings(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    page: &Page<'_>,
    paper: &Paper,
    mut row: u32,
    (may, decided): (&str, &Decided<'_>),
) -> Result<u32, XlsxError> {
    let plan = express.plan;
    if plan.program.outputs.iter().all(|output| output.setting.is_none()) {
        return Ok(row);
    }
    let heads =
        [(1, "value"), (2, "step"), (3, "least"), (4, "most"), (5, "read back, date, name")];
    page.part(tab, row, "to be set", &heads, paper)?;
    row += 1;
    let no = match decided.of_examples() {
        true => "NO: inputs are the sheet's examples; make this workbook with your own values",
        false => "NO: see the verdict above",
    };
    let text = format!("IF({may},\"yes\",{})", words(no));
    let now = if decided.release.may_be_set() { "yes" } else { no };
    tab.write_string_with_format(row, 0, "may be set", &paper.name)?;
    put(tab, (row, 1), Some(&text), &Shown::Words(now.to_owned()), &paper.truth)?;
    row += 1;
    for output in &plan.program.outputs {
        let Some((step, low, high)) = output.setting else { continue };
        let name = format!("{} in {}", output.name, output.unit.symbol);
        tab.write_string_with_format(row, 0, name, &paper.name)?;
        let text = converted(express, (output.register, 0), &output.unit, None);
        let shown = plan.shown_in(output.register, 0, &output.unit);
        setting(tab, (row, 1), (text, shown), (may, decided), paper)?;
        for (column, register) in [(2, step), (3, low), (4, high)] {
            value(tab, express, (row, column), register, &output.unit, paper)?;
        }
        tab.write_string_with_format(row, 5, &output.note, &paper.pen)?;
        page.fit(
            tab,
            row,
            &[(
                5,
                5,
                "one\u{a0}line and a line to write on, so that a pen finds room enough on it",
            )],
        )?;
        row += 1;
    }
    Ok(row + 1)
}
