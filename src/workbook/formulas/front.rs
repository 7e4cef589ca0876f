//! The tab of results: everything that came out, how the checks stand, and what to mind.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{Shown, beside_unit, write as put};
use super::constant::words;
use super::express::Express;
use super::plan::{FIRST, Plan, TabOf};
use super::worst::STILL;
use super::{Decided, VERDICT, factor, inputs};
use crate::calculation::Verdict;
use crate::number::Slot;
use crate::program::{Output, Register, Type};
use crate::report::{NOT_TO_BE_SET, remarks};
use crate::unit::Unit;
use crate::workbook::cell_formats::{Page, Paper};
use crate::workbook::form::closing;

/// Columns of the words.
const WHAT: u16 = 4;
const ADVICE: u16 = 5;

/// What the first page needs to know of this tab: rows from 0.
pub(super) struct Front {
    /// The row of each result, in their order.
    pub(super) results: Vec<u32>,
    /// First and last row of the checks.
    pub(super) checks: (u32, u32),
    /// The row that says whether all inputs are in range.
    pub(super) ranges: u32,
    /// The row that says whether settings may be set; it is there where any is.
    pub(super) may: u32,
}

impl Front {
    /// A cell of this tab as any tab writes it.
    pub(super) fn cell(column: char, row: u32) -> String {
        format!("{}!${column}${}", TabOf::Results.name(), row + 1)
    }

    /// A formula that shows a setting only where it may be set.
    pub(super) fn granted(&self, text: &str) -> String {
        format!("IF({}=\"yes\",{text},{})", Self::cell('B', self.may), words(NOT_TO_BE_SET))
    }
}

pub(super) fn write(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    decided: &Decided<'_>,
    paper: &Paper,
) -> Result<Front, XlsxError> {
    let page = Page {
        widths: &[18.0, 13.0, 12.0, 13.0, 62.0, 62.0],
        landscape: true,
        // the checks further down have headings of their own
        headings: (0, VERDICT),
        foot: "a calculation, to be checked by a competent person and confirmed by measured stops",
    };
    tab.set_name(TabOf::Results.name())?;
    let about = "Every figure follows from the tab inputs by the formulas in the cells.";
    let (title, identity) = super::title(plan);
    page.title(tab, 0, &format!("{title}: {}", TabOf::Results.name()), &paper.title)?;
    let examples = examples(plan);
    page.across(tab, 1, &format!("{identity}. {about}{examples}"), &paper.across)?;
    let heads = [(1, "value"), (2, "unit"), (WHAT, "what it is")];
    page.part(tab, FIRST - 1, "all results", &heads, paper)?;
    let rows = results_rows(plan);
    let end = FIRST + plan.program.outputs.iter().map(|it| cells_of(plan, it)).sum::<u32>();
    let sets = plan.program.outputs.iter().any(|output| output.setting.is_some());
    let first = end + 2 + u32::from(sets);
    let express = Express { plan, tab: TabOf::Results };
    let last = write_checks(tab, &express, &page, paper, first)?;
    let checks = (first + 1, last.saturating_sub(2));
    let front = Front { results: rows, checks, ranges: end, may: end + 1 };
    for (output, row) in plan.program.outputs.iter().zip(&front.results) {
        result(tab, &express, &page, (output, *row), (&front, decided), paper)?;
    }
    ranges(tab, plan, paper, end)?;
    let may = verdict(tab, &page, decided, plan, paper, (end, first, last))?;
    if sets {
        let text = format!("IF({may},\"yes\",{})", words(decided.why_not()));
        let now = decided.may_be_set_text();
        tab.write_string_with_format(front.may, 0, "may be set", &paper.name)?;
        put(tab, (front.may, 1), Some(&text), &Shown::Words(now.to_owned()), &paper.truth)?;
    }
    let row = said(tab, &page, paper, plan, last)?;
    closing(tab, &page, paper, plan.program, row)?;
    page.set(tab)?;
    Ok(front)
}

/// What is said of inputs that are the sheet's examples; empty where none is.
pub(super) fn examples(plan: &Plan<'_>) -> String {
    match crate::report::not_your_machine(plan.results.inputs()) {
        words if words.is_empty() => words,
        words => format!(" As calculated, {words}; the tab inputs says which."),
    }
}

/// Rows of a result: one a value.
fn cells_of(plan: &Plan<'_>, output: &Output) -> u32 {
    plan.count(output.register).unwrap_or(1).max(1)
}

/// The first row of each result.
fn results_rows(plan: &Plan<'_>) -> Vec<u32> {
    let rows = plan.program.outputs.iter().scan(FIRST, |next, output| {
        let row = *next;
        *next += cells_of(plan, output);
        Some(row)
    });
    rows.collect()
}

fn result(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    page: &Page<'_>,
    (output, row): (&Output, u32),
    (front, decided): (&Front, &Decided<'_>),
    paper: &Paper,
) -> Result<(), XlsxError> {
    let plan = express.plan;
    let note = about(output);
    tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
    tab.write_string_with_format(row, WHAT, &note, &paper.text)?;
    page.fit(tab, row, &[(4, 4, &note)])?;
    for (at, row) in (0..).zip(row..row + cells_of(plan, output)) {
        let register = (output.register, at);
        if !matches!(output.type_, Type::Number { .. }) {
            let text = express.term(output.register, at).map(|term| term.text);
            let text = text.map(|text| inputs::unless_not_given(plan, text));
            let shown = plan.shown(output.register, at);
            put(tab, (row, 1), text.as_deref(), &shown, &paper.number)?;
            continue;
        }
        let text = converted(express, register, &output.unit);
        let (text, shown) = plan.or_never(output, at, text);
        let text = text.map(|text| beside_unit(&text, (row, 1), &output.unit));
        let text = text.map(|text| inputs::unless_not_given(plan, text));
        // a setting that may not be set is no figure among the results either
        let (text, shown) = match output.setting {
            Some(_) => (text.map(|text| front.granted(&text)), withheld(decided, shown)),
            None => (text, shown),
        };
        put(tab, (row, 1), text.as_deref(), &shown, &paper.number)?;
        tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
    }
    Ok(())
}

/// What a result is and how it is rounded.
pub(super) fn about(output: &Output) -> String {
    match (output.note.is_empty(), output.rounding.is_empty()) {
        (_, true) => output.note.clone(),
        (true, false) => output.rounding.clone(),
        (false, false) => format!("{} ({})", output.note, output.rounding),
    }
}

/// A setting as calculated, or that it may not be set.
pub(super) fn withheld(decided: &Decided<'_>, shown: Shown) -> Shown {
    match decided.release.may_be_set() {
        true => shown,
        false => Shown::Words(NOT_TO_BE_SET.to_owned()),
    }
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

/// A value in the unit of the cell to the right, or of a cell further on.
pub(super) fn value(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    (row, column): (u32, u16),
    (register, unit, unit_column): (Register, &Unit, u16),
    paper: &Paper,
) -> Result<(), XlsxError> {
    let text = converted(express, (register, 0), unit);
    let text = text.map(|text| beside_unit(&text, (row, unit_column - 1), unit));
    let shown = express.plan.shown_in(register, 0, unit);
    put(tab, (row, column), text.as_deref(), &shown, &paper.number)
}

/// The formula of a value in a unit.
fn converted(
    express: &Express<'_, '_>,
    (register, at): (Register, u32),
    unit: &Unit,
) -> Option<String> {
    use super::constant::Binds;
    express.term(register, at).map(|term| {
        let plain = Unit { dimension: unit.dimension, symbol: unit.symbol.clone(), ..Unit::one() };
        if *unit == plain {
            return term.text;
        }
        let (si, factor) = (term.at_least(Binds::Product), factor(unit.factor));
        match unit.zero.is_zero() {
            true => format!("{si}/{}", factor.at_least(Binds::Power)),
            false => {
                format!("{si}/{}-{}", factor.at_least(Binds::Power), unit.zero.normalize())
            }
        }
    })
}

/// Where it is said which input is not taken.
const SEE: &str = ": see the tab inputs";

/// One row that says whether all inputs are in range.
fn ranges(tab: &mut Worksheet, plan: &Plan<'_>, paper: &Paper, row: u32) -> Result<(), XlsxError> {
    let homes = plan.program.inputs.iter().filter_map(|input| plan.homes.get(&input.register));
    let last =
        homes.map(|home| home.row + home.count.unwrap_or(1).max(1)).max().unwrap_or(FIRST + 1);
    tab.write_string_with_format(row, 0, "ranges", &paper.name)?;
    let column = inputs::RANGE.0;
    let good = "every input is within its range";
    // what is not said to be in range counts: an error, a cell that was emptied
    let count = |what: &str| format!("COUNTIF(inputs!{column}{}:{column}{last},{what})", FIRST + 1);
    let text = format!(
        "IF({}={},{},IF({}>0,\"AN INPUT IS OUT OF ITS RANGE{SEE}\",\"AN INPUT IS NOT GIVEN, NO NUMBER OR IN ANOTHER UNIT{SEE}\"))",
        count(&words(inputs::IN_RANGE)),
        inputs::values(plan),
        words(good),
        count("\"OUT OF RANGE\"")
    );
    put(tab, (row, 1), Some(&text), &Shown::Words(good.to_owned()), &paper.truth)
}

fn write_checks(
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
        &[
            (1, "left side"),
            (2, "unit"),
            (3, "right side"),
            (WHAT, "what is checked"),
            (ADVICE, "if it does not hold"),
        ],
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
            value(tab, express, (row, 1), (a, &check.unit, 2), paper)?;
            tab.write_string_with_format(row, 2, &check.unit.symbol, &paper.unit)?;
            value(tab, express, (row, 3), (b, &check.unit, 2), paper)?;
        }
        let label = check.label();
        tab.write_string_with_format(row, WHAT, &label, &paper.text)?;
        tab.write_string_with_format(row, ADVICE, &check.otherwise, &paper.aside)?;
        page.fit(tab, row, &[(4, 4, &label), (5, 5, &check.otherwise)])?;
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

/// How many checks came out so.
fn now(plan: &Plan<'_>, wanted: Verdict) -> usize {
    plan.results.checks().iter().filter(|it| it.verdict == wanted).count()
}

const WITHIN: &str = " within the tolerances";
const OPEN: &str = "MAY FAIL within the tolerances: see the tab worst case";
const NONE: &str = "MAY FAIL: there is no worst case within the tolerances";

/// What is said where no check fails, and nothing is to be looked at.
fn holds(plan: &Plan<'_>) -> &'static str {
    if plan.program.checks.is_empty() { "no checks" } else { "every check holds" }
}

/// The verdict as calculated.
pub(super) fn verdict_now(plan: &Plan<'_>, decided: &Decided<'_>) -> String {
    let all = plan.program.checks.len();
    let checked = match now(plan, Verdict::Caution) {
        0 => holds(plan).to_owned(),
        cautions => format!("no check fails, cautions found: {cautions} of {all} checks"),
    };
    match (now(plan, Verdict::Fails), decided.tolerated(plan.results), decided.worst) {
        (0, false, _) => checked,
        (0, true, None) => NONE.to_owned(),
        (0, true, Some(_)) if decided.release.granted() => format!("{checked}{WITHIN}"),
        (0, true, Some(_)) => OPEN.to_owned(),
        (fails, ..) => format!("FAILS: {fails} of {all} checks, see below"),
    }
}

/// Writes the verdict below the title, live as everything else; answers with the formula of whether settings may be
/// set. A worst case counts while every input is as it was: a change proves nothing.
fn verdict(
    tab: &mut Worksheet,
    page: &Page<'_>,
    decided: &Decided<'_>,
    plan: &Plan<'_>,
    paper: &Paper,
    (ranges, first, end): (u32, u32, u32),
) -> Result<String, XlsxError> {
    let count = |word| format!("COUNTIF($A${}:$A${end},\"{word}\")", first + 1);
    let (fails, cautions) = (count("FAILS"), count("look"));
    // a check without a figure is an error in its cell, which no count of words sees
    let known = format!("({fails}+{cautions}+{})", count("holds"));
    let all = plan.program.checks.len();
    let checked = format!(
        "IF({cautions}>0,\"no check fails, cautions found: \"&{cautions}&\" of {all} checks\",\"{}\")",
        holds(plan)
    );
    let still = format!("'{}'!{STILL}", TabOf::Worst.name());
    let unknown = words("NOT PROVED: the worst case was calculated for other inputs");
    let (rest, may) = match (decided.tolerated(plan.results), decided.worst) {
        (false, _) => (checked, "TRUE()".to_owned()),
        (true, None) => (words(NONE), "FALSE()".to_owned()),
        (true, Some(_)) if decided.release.granted() => {
            (format!("IF({still},{checked}&\"{WITHIN}\",{unknown})"), still)
        }
        (true, Some(_)) => (format!("IF({still},{},{unknown})", words(OPEN)), "FALSE()".to_owned()),
    };
    // what is calculated with the sheet's examples is of no machine
    let may = if decided.of_examples() { "FALSE()".to_owned() } else { may };
    let ranges = format!("$B${}", ranges + 1);
    let in_range = format!("LEFT({ranges},5)=\"every\"");
    let text = format!(
        "IF({in_range},IF({fails}>0,\"FAILS: \"&{fails}&\" of {all} checks, see below\",IF({known}={all},{rest},\"NOT CALCULATED: \"&({all}-{known})&\" of {all} checks have no figure\")),SUBSTITUTE({ranges},\"{SEE}\",\"\"))"
    );
    tab.write_string_with_format(VERDICT, 0, "verdict", &paper.strong)?;
    tab.merge_range(VERDICT, 1, VERDICT, 5, "", &paper.strong)?;
    page.fit(tab, VERDICT, &[(1, 5, &plan.verdict)])?;
    put(tab, (VERDICT, 1), Some(&text), &Shown::Words(plan.verdict.clone()), &paper.strong)?;
    Ok(format!("AND({in_range},{fails}=0,{known}={all},{may})"))
}
