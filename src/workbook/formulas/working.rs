//! The tab of the working: one row a line of the sheet.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{Shown, beside_unit, conversion, write as put};
use super::express::Express;
use super::heading;
use super::inputs::in_range;
use super::plan::{Entry, FIRST, Holds, Plan, TabOf, short};
use crate::language::{Body, Span, one_line};
use crate::number::Slot;
use crate::program::{Line, LineSource, Op, Register};
use crate::unit::Unit;
use crate::workbook::cell_formats::{Page, Paper};

const HEADS: [&str; 9] =
    ["name", "the sheet says", "in SI", "SI unit", "factor", "zero", "value", "unit", "what it is"];

const FOUND_BY_SEARCH: &str = "found by search or in parts, not by a formula: stands for these inputs alone, #N/A once they change";

const BY_POINTS: &str = "a sum over fixed points, see the tab integrals";

const TOO_LONG: &str = "too long for a formula: stands for these inputs alone";

pub(super) fn write(tab: &mut Worksheet, plan: &Plan<'_>, paper: &Paper) -> Result<(), XlsxError> {
    let page = Page {
        widths: &[20.0, 46.0, 13.0, 14.0, 13.0, 7.0, 12.0, 13.0, 40.0],
        landscape: true,
        headings: (0, FIRST - 1),
        foot: "worked in SI by the formulas in the cells; value = in SI / factor − zero",
    };
    tab.set_name(TabOf::Working.name())?;
    let about = "Each row calculates one line of the sheet in SI; value = in SI / factor − zero. In comparisons, rounding \
and tables two values within one part in 10^12 count as equal, so that binary arithmetic decides no tie";
    heading(tab, plan, paper, (TabOf::Working.name(), ""), 0)?;
    let about = format!("{}. {about}", super::title(plan).1);
    page.across(tab, 1, &about, &paper.across)?;
    page.heads(tab, FIRST - 1, &HEADS, paper)?;
    let express = Express { plan, tab: TabOf::Working };
    let mut row = FIRST;
    for entry in &plan.entries {
        one(tab, &express, &page, entry, paper)?;
        row = entry.row + entry.count.unwrap_or(1).max(1);
    }
    ranges(tab, &express, &page, row + 1, paper)?;
    page.set(tab)
}

fn one(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    page: &Page<'_>,
    entry: &Entry,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let plan = express.plan;
    let register = match entry.holds {
        Holds::Heading(scope) => return part(tab, plan, page, scope, entry.row, paper),
        Holds::Value(register)
        | Holds::Same(register)
        | Holds::TableRow(register)
        | Holds::Decade(register) => register,
    };
    let line = entry.line.and_then(|id| plan.line(id));
    let of = plan.line(entry.of).map_or("", |line| match line.says {
        LineSource::Holds(_) => "a check",
        _ => short(&line.name),
    });
    let name = match (entry.holds, line) {
        (_, Some(line)) => short(&line.name).to_owned(),
        _ => format!("… of {of}"),
    };
    let said = match (entry.holds, line) {
        (_, Some(line)) => said(plan, line),
        (Holds::TableRow(_), _) => "row at which the table is read".to_owned(),
        (Holds::Decade(_), _) => "power of ten below the number".to_owned(),
        _ => "a part that is used more than once".to_owned(),
    };
    let mut note = line.map_or(String::new(), |line| match line.says {
        LineSource::Holds(_) => String::new(),
        _ => line.note.clone(),
    });
    if let Holds::Value(register) = entry.holds
        && plan.integrals.iter().any(|known| known.register == register)
    {
        note = if note.is_empty() { BY_POINTS.to_owned() } else { format!("{note}; {BY_POINTS}") };
    }
    let name = if matches!(line.map(|line| &line.says), Some(LineSource::Holds(_))) {
        "check".to_owned()
    } else {
        name
    };
    for at in 0..entry.count.unwrap_or(1).max(1) {
        let row = entry.row + at;
        let (formula, value) = content(express, entry.holds, register, at);
        let formula = match (formula, entry.holds) {
            (None, Holds::Value(register)) => {
                let searched = matches!(
                    plan.makers.get(&register).map(|step| &step.op),
                    Some(Op::Root { .. } | Op::Integral { .. })
                );
                let words = if searched { FOUND_BY_SEARCH } else { TOO_LONG };
                if at == 0 {
                    note =
                        if note.is_empty() { words.to_owned() } else { format!("{note}; {words}") };
                }
                express.frozen(register, at, &value.constant())
            }
            (formula, _) => formula,
        };
        put(tab, (row, 2), formula.as_deref(), &value, &paper.number)?;
        if let (Some(dimension), Shown::Number(_)) = (entry.dimension, &value) {
            if !dimension.is_none() {
                tab.write_string_with_format(row, 3, dimension.to_string(), &paper.aside)?;
            }
            if entry.unit != Unit::one() {
                conversion(tab, row, (4, 5), &entry.unit, &paper.side_number)?;
            }
            let cell = row + 1;
            let text = match (entry.unit == Unit::one(), entry.unit.zero.is_zero()) {
                (true, _) => format!("C{cell}"),
                (false, true) => format!("C{cell}/E{cell}"),
                (false, false) => format!("C{cell}/E{cell}-F{cell}"),
            };
            let shown = plan.shown_in(register, at, &entry.unit);
            let text = beside_unit(&text, (row, 6), &entry.unit);
            put(tab, (row, 6), Some(&text), &shown, &paper.number)?;
            tab.write_string_with_format(row, 7, &entry.unit.symbol, &paper.unit)?;
        }
    }
    tab.write_string_with_format(entry.row, 0, &name, &paper.across)?;
    tab.write_string_with_format(entry.row, 1, &said, &paper.text)?;
    tab.write_string_with_format(entry.row, 8, &note, &paper.text)?;
    page.fit(tab, entry.row, &[(0, 0, &name), (1, 1, &said), (8, 8, &note)])
}

fn content(
    express: &Express<'_, '_>,
    holds: Holds,
    register: Register,
    at: u32,
) -> (Option<String>, Shown) {
    let plan = express.plan;
    match holds {
        Holds::Heading(_) => (None, Shown::Error),
        Holds::Value(_) => (express.formula(register, at), plan.shown(register, at)),
        Holds::Same(_) => {
            (express.term(register, at).map(|term| term.text), plan.shown(register, at))
        }
        Holds::TableRow(_) => {
            let row = table_row(plan, register, at)
                .map_or(Shown::Error, |row| Shown::Number(f64::from(row)));
            (express.table_row_of(register, at), row)
        }
        Holds::Decade(_) => (express.decade_of(register, at), decade(plan, register, at)),
    }
}

/// The row at which a table was read.
fn table_row(plan: &Plan<'_>, register: Register, at: u32) -> Option<u32> {
    use crate::number::Exact;
    use crate::program::Between;
    let Op::Read(table, x) = plan.makers.get(&register)?.op else { return None };
    let (table, ..) = plan.table(table)?;
    let x = plan.exact(x, at)?;
    let arguments: Vec<Exact> =
        table.rows.iter().filter_map(|(argument, _)| Exact::from_literal(argument).ok()).collect();
    let count = |holds: fn(std::cmp::Ordering) -> bool| {
        u32::try_from(arguments.iter().filter(|argument| holds(argument.stands_to(&x))).count())
            .ok()
    };
    let rows = u32::try_from(arguments.len()).ok()?;
    match table.between {
        Between::StepFrom => count(std::cmp::Ordering::is_le),
        Between::StepUpTo => count(std::cmp::Ordering::is_lt).map(|below| below + 1),
        Between::Straight => count(std::cmp::Ordering::is_le).map(|row| row.min((rows - 1).max(1))),
    }
}

fn decade(plan: &Plan<'_>, register: Register, at: u32) -> Shown {
    let Some(Op::Preferred(_, _, x)) = plan.makers.get(&register).map(|step| &step.op) else {
        return Shown::Error;
    };
    match plan.exact(*x, at).map(|value| format!("1e{}", value.ten()).parse()) {
        Some(Ok(value)) => Shown::Number(value),
        _ => Shown::Error,
    }
}

fn part(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    page: &Page<'_>,
    scope: u32,
    row: u32,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let scope = usize::try_from(scope).ok().and_then(|at| plan.program.scopes.get(at));
    let text = scope.map_or(String::new(), |scope| {
        let path = scope.path.trim_end_matches('.');
        if path.is_empty() {
            format!("{}: {}", scope.sheet, scope.title)
        } else {
            format!("{path} ({}): {}", scope.sheet, scope.title)
        }
    });
    page.part(tab, row, &text, &[], paper)
}

/// Ranges of what is handed to used sheets.
fn ranges(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    page: &Page<'_>,
    mut row: u32,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let plan = express.plan;
    let mut begun = false;
    for guard in plan.program.guards.iter().filter(|guard| guard.input.is_none()) {
        let Some(line) = plan.line(guard.line) else { continue };
        let Some(text) = in_range(express, guard, 0) else { continue };
        if !begun {
            page.part(
                tab,
                row,
                "ranges of lines and of what is handed to used sheets",
                &[],
                paper,
            )?;
            begun = true;
            row += 1;
        }
        let mut words = Vec::new();
        if let Some(low) = &guard.low {
            words.push(format!("{} {}", if low.included { "from" } else { "above" }, low.written));
        }
        if let Some(high) = &guard.high {
            words.push(format!("{} {}", if high.included { "to" } else { "below" }, high.written));
        }
        let all: Option<String> = match guard_count(plan, guard.register) {
            None | Some(0 | 1) => Some(text),
            Some(count) if count <= 60 => (0..count)
                .map(|at| in_range(express, guard, at))
                .collect::<Option<Vec<_>>>()
                .map(|all| format!("AND({})", all.join(","))),
            Some(_) => None,
        };
        let words = words.join(" ");
        put(tab, (row, 2), all.as_deref(), &Shown::Truth(true), &paper.number)?;
        tab.write_string_with_format(row, 0, &line.name, &paper.across)?;
        tab.write_string_with_format(row, 1, &words, &paper.text)?;
        page.fit(tab, row, &[(0, 0, &line.name), (1, 1, &words)])?;
        row += 1;
    }
    Ok(())
}

fn guard_count(plan: &Plan<'_>, register: Register) -> Option<u32> {
    match plan.results.run().register(register) {
        Ok(Slot::Many(_)) => plan.count(register),
        _ => None,
    }
}

/// The line as the sheet writes it, without comments and line ends.
fn said(plan: &Plan<'_>, line: &Line) -> String {
    let scope = usize::try_from(line.scope).ok().and_then(|at| plan.program.scopes.get(at));
    let text = |span: &Span| {
        scope.and_then(|scope| scope.source.text.get(span.clone())).unwrap_or_default()
    };
    match &line.says {
        LineSource::Works(definition) => match &definition.body {
            Body::Value(tree) => one_line(text(&tree.span)),
            _ => String::new(),
        },
        LineSource::Holds(check) => one_line(text(&check.condition.span)),
        LineSource::Gives => {
            let output =
                plan.program.outputs.iter().find(|output| output.register == line.register);
            let rounding = output.map_or("", |output| output.rounding.as_str());
            format!("{} {rounding}", short(&line.name)).trim_end().to_owned()
        }
        LineSource::Takes | LineSource::Default | LineSource::Hands(_) => String::new(),
    }
}
