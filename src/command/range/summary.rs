//! The report of a product line.

use super::super::arguments::Range;
use super::super::print::Terminal;
use super::super::print::{cell_json, cell_text};
use super::{Compared, Done, LISTED, RangeOutcome, Wrote};
use crate::calculation;
use crate::diagnostic::{phrase, render_json, render_line};
use crate::report::{self, Remark};
use crate::spreadsheet::Cell;
use crate::workbook::range::{CheckSummary, ProductLine, Summary, VariantVerdict};

pub(super) fn report(asked: &Range, done: &Done, terminal: &mut Terminal) {
    let Done { line, summary, .. } = done;
    problems(done, terminal);
    terminal.lines(report::heading(&line.program));
    terminal.print(counts(summary));
    for remark in &done.remarks {
        match remark {
            Remark::Said(problem) => terminal.print(render_line(problem)),
            words => terminal.print(words.to_text()),
        }
    }
    if !line.passed_over.is_empty() {
        terminal.print(format!(
            "passed over, for they hold none of the inputs: {}",
            rows_text(&line.passed_over)
        ));
    }
    if !line.totals.is_empty() {
        let rows = rows_text(&line.totals);
        terminal.print(format!("passed over, for they hold totals and no variant: {rows}"));
    }
    if !line.remarks.is_empty() {
        let names = phrase::quoted(&line.remarks).join(", ");
        let words = format!("columns that are not used: {names}");
        terminal.prose(&words);
    }
    if let Some(words) = unused_text(line) {
        terminal.prose(&words);
    }
    terminal.print("");
    terminal.print("checks");
    let mut rows =
        vec![["check", "", "least margin", "there", "variant"].map(str::to_owned).to_vec()];
    // what fails comes first; the rest in the order of the sheet
    let (fail, hold): (Vec<&CheckSummary>, Vec<&CheckSummary>) =
        done.checks.iter().partition(|check| check.fails + check.not_proved > 0);
    for check in fail.into_iter().chain(hold) {
        let calculated = summary.variants() - summary.count(VariantVerdict::Wrong);
        let mut verdict = match (check.fails, check.caution) {
            (0, _) if check.not_proved > 0 => String::new(),
            (0, _) if calculated < summary.variants() => {
                format!("holds in {calculated} of {calculated} calculated")
            }
            (0, _) => "holds in all".to_owned(),
            (count, true) => format!("caution in {count}"),
            (count, false) => format!("FAILS in {count}"),
        };
        if check.not_proved > 0 {
            let between = if verdict.is_empty() { "" } else { ", " };
            verdict.push_str(&format!("{between}not proved in {}", check.not_proved));
        }
        let mut row = vec![check.label(), verdict];
        if let Some(worst) = &check.worst {
            let margin = worst.margin.as_ref();
            row.push(margin.and_then(|it| it.left.clone()).unwrap_or_default());
            row.push(margin.map_or_else(String::new, |it| it.sides.clone()));
            row.push(summary.variant_text(line, worst.row));
        }
        rows.push(row);
    }
    terminal.columns(&rows);
    let open = done.checks.iter().any(|check| check.not_proved > 0);
    let words = calculation::Verdict::NotProved.explanation().filter(|_| open);
    if let Some(words) = words {
        terminal.print(format!("  not proved: {words}"));
    }
    terminal.print("");
    match &done.became {
        RangeOutcome::Compared(compared) => moved(done, compared, terminal),
        RangeOutcome::Written(written) => written_text(asked, done, written, terminal),
    }
    if summary.is_of_nominal_values() {
        terminal.prose("Inputs have tolerances; these figures are for the nominal values. The status is that over the tolerances; `--worst` adds columns that show how far results can go.");
        terminal.print("");
    }
    if let Some(words) = report::defaults_text(&line.defaults()) {
        terminal.list("defaults taken", &[words]);
    }
    let open = [VariantVerdict::Fails, VariantVerdict::NotProved];
    if let (RangeOutcome::Written(it), true) = (&done.became, asked.check)
        && open.into_iter().all(|verdict| summary.count(verdict) == 0)
    {
        terminal.stale(it.changed, asked.output.as_ref().unwrap_or(&asked.book));
    }
    terminal.closing([&*line.program]);
}

/// What is wrong with rows, each with its cell, to standard error.
fn problems(done: &Done, terminal: &mut Terminal) {
    let Summary { problems, more, .. } = &done.summary;
    for problem in problems.iter().take(LISTED) {
        terminal.report(render_line(problem));
    }
    let more = more + problems.len().saturating_sub(LISTED);
    if more > 0 {
        terminal.report(format!(
            "… and {more} more; the status column names the first of each row, `--json` lists all"
        ));
    }
}

fn counts(summary: &Summary) -> String {
    let all = summary.variants();
    let variants = if all == 1 { "1 variant".to_owned() } else { format!("{all} variants") };
    let (holds, fails, not_proved, wrong) = (
        summary.count(VariantVerdict::Holds),
        summary.count(VariantVerdict::Fails),
        summary.count(VariantVerdict::NotProved),
        summary.count(VariantVerdict::Wrong),
    );
    let mut words = format!("{variants}: {holds} hold, {fails} fail");
    if not_proved > 0 {
        words.push_str(&format!(", {not_proved} not proved"));
    }
    if wrong > 0 {
        words.push_str(&format!(", {wrong} could not be calculated"));
    }
    words
}

fn rows_text(rows: &[u32]) -> String {
    let shown: Vec<String> = rows.iter().take(10).map(|row| (row + 1).to_string()).collect();
    let more = rows.len() - shown.len();
    let more = if more == 0 { String::new() } else { format!(" and {more} more") };
    format!("{} {}{more}", if rows.len() == 1 { "row" } else { "rows" }, shown.join(", "))
}

fn written_text(asked: &Range, done: &Done, written: &Wrote, terminal: &mut Terminal) {
    let target = asked.output.as_ref().unwrap_or(&asked.book);
    terminal.written(written.changed, target, (asked.writes_nothing(), asked.output.is_none()));
    let appended = done.line.results.iter().filter(|result| result.appended);
    let names: Vec<String> = appended.map(|result| result.name(&done.line.program)).collect();
    if !names.is_empty() {
        terminal.prose(&format!("New columns: {}.", names.join(", ")));
    }
    terminal.recalculated(written.to_recalculate.len(), written.possible);
}

fn moved(done: &Done, compared: &Compared, terminal: &mut Terminal) {
    let Compared { moved, more, variants } = compared;
    if moved.is_empty() {
        terminal.print("No variant has moved. Nothing was written.");
        return;
    }
    terminal.print("moved");
    let mut rows = vec![["variant", "", "was", "is", "by"].map(str::to_owned).to_vec()];
    for one in moved.iter().take(LISTED) {
        let by = one.by.map_or_else(String::new, |by| {
            let part = match one.was {
                Cell::Number(was) if was != 0.0 => format!(" ({:+.3} %)", 100.0 * by / was.abs()),
                _ => String::new(),
            };
            format!("{}{part}", signed(by))
        });
        let name = if one.unit.is_empty() {
            one.name.clone()
        } else {
            format!("{} / {}", one.name, one.unit)
        };
        rows.push(vec![
            one.variant.clone(),
            name,
            cell_text(&one.was),
            cell_text(&one.is.as_cell()),
            by,
        ]);
    }
    terminal.columns(&rows);
    let more = more + moved.len().saturating_sub(LISTED);
    if more > 0 {
        terminal.print(format!("  … and {more} more; `--json` lists all"));
    }
    terminal.print("");
    let of = done.summary.variants();
    terminal.print(format!("{variants} of {of} variants have moved. Nothing was written."));
}

fn signed(number: f64) -> String {
    let short: f64 = format!("{number:.5e}").parse().unwrap_or(number);
    format!("{short:+}")
}

pub(super) fn as_json(asked: &Range, done: &Done) -> serde_json::Value {
    let Done { line, summary, .. } = done;
    let checks: Vec<_> = done
        .checks
        .iter()
        .map(|check| {
            let worst = check.worst.as_ref().map(|worst| {
                serde_json::json!({
                    "variant": summary.variant_text(line, worst.row), "row": worst.row + 1,
                    "sides": worst.margin.as_ref().map(|it| &it.sides), "left": worst.margin.as_ref().map(|it| &it.left), "holds": worst.holds,
                })
            });
            serde_json::json!({ "check": check.text, "path": check.path, "caution": check.caution, "fails": check.fails, "not_proved": check.not_proved, "worst": worst })
        })
        .collect();
    let columns: Vec<_> = line
        .results
        .iter()
        .map(|result| {
            let name = result.name(&line.program);
            serde_json::json!({ "name": name, "unit": result.unit.symbol, "column": result.column + 1, "appended": result.appended })
        })
        .collect();
    let problems: Vec<_> = summary.problems.iter().map(render_json).collect();
    let open = [VariantVerdict::Fails, VariantVerdict::NotProved, VariantVerdict::Wrong];
    let holds = open.into_iter().all(|verdict| summary.count(verdict) == 0);
    let mut json = serde_json::json!({
        "book": asked.book, "output": asked.output, "tab": line.tab,
        "header_row": line.header + 1, "variants": summary.variants(),
        "holds": holds, "holding": summary.count(VariantVerdict::Holds), "fails": summary.count(VariantVerdict::Fails), "not_proved": summary.count(VariantVerdict::NotProved), "wrong": summary.count(VariantVerdict::Wrong),
        "passed_over": line.passed_over.iter().map(|row| row + 1).collect::<Vec<_>>(),
        "not_used": line.remarks, "unused_remarks": unused(line).map(|(cell, text)| serde_json::json!({ "cell": cell, "text": text })).collect::<Vec<_>>(), "totals": line.totals.iter().map(|row| row + 1).collect::<Vec<_>>(),
        "defaults": report::defaults_json(line.defaults()), "left_as_examples": summary.examples, "columns": columns, "checks": checks, "problems": problems, "remarks": report::remarks_json(&done.remarks),
    });
    let became = match &done.became {
        RangeOutcome::Written(written) => serde_json::json!({
            "written": !asked.writes_nothing(), "changed": written.changed,
            "to_recalculate": written.to_recalculate.iter().map(|stale| format!("{}!{}", stale.tab, stale.position.name())).collect::<Vec<_>>(),
        }),
        RangeOutcome::Compared(Compared { moved, .. }) => serde_json::json!({
            "written": false,
            "moved": moved.iter().map(|moved| serde_json::json!({
                "variant": moved.variant, "row": moved.row + 1, "name": moved.name, "unit": moved.unit,
                "was": cell_json(&moved.was), "is": cell_json(&moved.is.as_cell()), "by": moved.by,
            })).collect::<Vec<_>>(),
        }),
    };
    if let (Some(all), Some(more)) = (json.as_object_mut(), became.as_object()) {
        all.extend(more.clone());
    }
    report::document(&line.program, json)
}

/// Remarks with figures that are quoted; of more, their number.
const QUOTED: usize = 12;

/// Remarks with figures that are not used: where, and their words in one line.
fn unused(line: &ProductLine) -> impl Iterator<Item = (String, String)> {
    line.unused.iter().map(|(at, text)| {
        let words: Vec<&str> = text.split_whitespace().collect();
        (at.name(), words.join(" "))
    })
}

fn unused_text(line: &ProductLine) -> Option<String> {
    let quoted = unused(line).take(QUOTED).map(|(at, text)| format!("{at} \"{text}\""));
    let quoted = quoted.collect::<Vec<_>>().join(", ");
    let more = match line.unused.len().saturating_sub(QUOTED) {
        0 => String::new(),
        more => format!(", and {more} more"),
    };
    (!quoted.is_empty()).then(|| format!("remarks with figures that are not used: {quoted}{more}"))
}
