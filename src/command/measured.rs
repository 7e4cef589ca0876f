//! `standstill measured`: recorded stops become figures, a protocol and an issued distance.

use super::arguments::Measured;
use super::failure::{Ending, Failure};
use super::machines::{earlier_ones, machines};
use super::print::Terminal;
use super::{ExitStatus, output, read_sheet};
use crate::diagnostic::Problems;
use crate::environment::Environment;
use crate::recording::{Finding, Plan, Protocol, SEAL, seal, tables};
use crate::report::{Column, Table, text};
use crate::review::{moment, protocol_page};
use crate::spreadsheet::Book;
use crate::workbook::{FreeTab, tabs_and_form};

/// Formats of a protocol, by the ending of its name.
const FORMATS: &[&str] = &[".html", ".xlsx", ".json"];

/// Why the workbook of a protocol that is not released cannot be filled.
const NO_FORM: &str = "No form for the distance: it stands in this workbook only once nothing fails and everything is confirmed. Do what the verdict says, measure again, and write the protocol again.";

pub(super) fn measured(
    asked: &Measured,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let (plans, words) = named(asked);
    if plans.len() > 1 {
        return machines(asked, &plans, &words, environment, terminal);
    }
    let protocol = made(asked, (&plans, &words), environment)?;
    if asked.json {
        terminal.json(protocol.json());
    } else {
        report(asked, &protocol, terminal);
    }
    // a pass with something that nobody confirmed is none for who asks by the exit code
    Ok(ExitStatus::of(protocol.is_released()))
}

/// The plans that are named, and what else is.
fn named(asked: &Measured) -> (Vec<String>, Vec<String>) {
    let is_plan = |word: &String| !word.contains('=') && word.ends_with(".toml");
    asked.words.iter().cloned().partition(is_plan)
}

fn made(
    asked: &Measured,
    (plans, words): (&[String], &[String]),
    environment: &dyn Environment,
) -> Result<Protocol, Failure> {
    let source = plans.first().map(|plan| read_sheet(plan, environment)).transpose()?;
    let plan = Plan::read(source.as_ref(), words).map_err(Failure::input)?;
    for output in &asked.output {
        output::check(output, FORMATS, environment)?;
    }
    let before = earlier_ones(asked, environment)?;
    let protocol = Protocol::make(&plan, &before, environment).map_err(Failure::recordings)?;
    // everything is made before anything is written
    let files: Vec<(&String, Vec<u8>)> = asked
        .output
        .iter()
        .map(|output| Ok((output, bytes(output, &protocol, environment)?)))
        .collect::<Result<_, Problems>>()
        .map_err(Failure::file)?;
    for (output, bytes) in files {
        output::save_page(output, &bytes, FORMATS, asked.force, environment)?;
    }
    Ok(protocol)
}

fn bytes(
    output: &str,
    protocol: &Protocol,
    environment: &dyn Environment,
) -> Result<Vec<u8>, Problems> {
    let lower = output.to_lowercase();
    if lower.ends_with(".xlsx") {
        return book(protocol);
    }
    if lower.ends_with(".json") {
        let text = serde_json::to_string_pretty(&protocol.json()).unwrap_or_default();
        return Ok(format!("{text}\n").into_bytes());
    }
    let moment = moment(environment.clock().unwrap_or(0));
    Ok(protocol_page(protocol, &moment).into_bytes())
}

/// The protocol as a workbook: all of it to be signed, the distance as a form for `fill` where it is released, and what the next check reads.
fn book(protocol: &Protocol) -> Result<Vec<u8>, Problems> {
    const KEPT: &[Column] =
        &[Column { head: "what", figures: false }, Column { head: "value", figures: true }];
    let machine = protocol.plan.text("machine");
    let title = format!("Measured stops {machine}");
    let mut all = vec![findings(protocol.findings())];
    all.extend(tables(protocol, true));
    let kept = protocol.kept().into_iter().map(|(name, value)| vec![name, value]);
    let mut tabs = [
        FreeTab {
            name: "protocol".to_owned(),
            title: title.trim().to_owned(),
            lead: std::iter::once(protocol.verdict_text())
                .chain(protocol.issued_text())
                .chain((!protocol.is_released()).then(|| NO_FORM.to_owned()))
                .collect(),
            tables: all,
            signed: true,
        },
        FreeTab {
            name: Protocol::kept_in().to_owned(),
            title: "What the next check reads".to_owned(),
            lead: Vec::new(),
            tables: vec![Table {
                title: "this check".to_owned(),
                columns: KEPT,
                headed: true,
                rows: kept.collect(),
                notes: Vec::new(),
            }],
            signed: false,
        },
    ];
    // a form calculates the distance alone: whoever fills it would read a pass
    let issue = protocol.issue.as_ref().filter(|_| protocol.is_released());
    let asked = issue.and_then(|it| {
        let sheet = it.results.program().scopes.first()?;
        Some((it.results.inputs(), sheet.sheet.as_str()))
    });
    let bytes = tabs_and_form(title.trim(), &tabs, asked)?;
    // sealed as it will be read
    let made = Book::read("protocol.xlsx", &bytes)?;
    if let Some(table) = tabs.last_mut().and_then(|tab| tab.tables.first_mut()) {
        table.rows.push(vec![SEAL.to_owned(), seal(&made)]);
    }
    Ok(tabs_and_form(title.trim(), &tabs, asked)?)
}

/// The verdict, finding by finding.
fn findings(all: &[Finding]) -> Table {
    const COLUMNS: &[Column] = &[
        Column { head: "verdict", figures: false },
        Column { head: "what was looked at", figures: false },
        Column { head: "figures", figures: false },
        Column { head: "what to do", figures: false },
    ];
    let row = |it: &Finding| {
        let otherwise =
            if it.verdict == crate::calculation::Verdict::Holds { "" } else { &it.otherwise };
        vec![it.verdict.word().to_owned(), it.text.clone(), it.detail.clone(), otherwise.to_owned()]
    };
    Table {
        title: "verdict".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows: all.iter().map(row).collect(),
        notes: Vec::new(),
    }
}

fn report(asked: &Measured, protocol: &Protocol, terminal: &mut Terminal) {
    terminal.print(protocol.verdict_text());
    if let Some(words) = protocol.issued_text() {
        terminal.print(words);
    }
    terminal.print("");
    for finding in protocol.findings() {
        let detail =
            if finding.detail.is_empty() { String::new() } else { format!(": {}", finding.detail) };
        let lines = text::wrapped(&format!("{}{detail}", finding.text), 90);
        let marks = std::iter::once(format!("{:<6}", finding.verdict.word()))
            .chain(std::iter::repeat("      ".to_owned()));
        for (mark, line) in marks.zip(lines) {
            terminal.print(format!("  {mark}  {line}"));
        }
        if finding.verdict != crate::calculation::Verdict::Holds && !finding.otherwise.is_empty() {
            for line in text::wrapped(&format!("to do: {}", finding.otherwise), 90) {
                terminal.print(format!("          {line}"));
            }
        }
    }
    // the stops themselves stand in the protocol
    for table in tables(protocol, asked.stops) {
        terminal.lines(text::table(&table));
    }
    let programs = [
        protocol.predicted.as_ref().map(|it| &**it.results.program()),
        protocol.issue.as_ref().map(|it| &**it.results.program()),
    ];
    terminal.closing_of(programs.into_iter().flatten(), &protocol.verdict_text());
    if !asked.output.is_empty() {
        terminal.print("");
        terminal.print(format!("{} written.", asked.output.join(", ")));
    }
}
