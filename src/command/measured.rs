//! `standstill measured`: recorded stops become figures, a protocol and an issued distance.

use super::arguments::Measured;
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, output, read_sheet};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::Environment;
use crate::recording::{Finding, Plan, Protocol, SEAL, earlier, seal, tables};
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
        return line(asked, &plans, &words, environment, terminal);
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

fn unmade(problems: Problems) -> Failure {
    let file = |it: &Diagnostic| {
        it.name == Name::UnreadableFile && matches!(it.place, Some(Place::File { .. }))
    };
    if problems.iter().any(file) { Failure::file(problems) } else { Failure::input(problems) }
}

/// The plans that are named, and what else is.
fn named(asked: &Measured) -> (Vec<String>, Vec<String>) {
    let is_plan = |word: &String| !word.contains('=') && word.ends_with(".toml");
    asked.words.iter().cloned().partition(is_plan)
}

/// Several plans, each of a machine: its verdict, distance and next check in a row.
fn line(
    asked: &Measured,
    plans: &[String],
    words: &[String],
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    const COLUMNS: &[Column] = &[
        Column { head: "plan", figures: false },
        Column { head: "machine", figures: false },
        Column { head: "distance", figures: true },
        Column { head: "next check", figures: false },
        Column { head: "verdict", figures: false },
    ];
    refuse_of_one(asked, plans, words)?;
    let (mut rows, mut problems, mut released, mut overdue) = (Vec::new(), Vec::new(), 0, 0);
    let made = plans.iter().map(|name| {
        let read = read_sheet(name, environment)
            .map_err(|it| it.problems)
            .and_then(|source| Plan::read(Some(&source), &[]));
        (name, read.and_then(|plan| Protocol::make(&plan, &[], environment)))
    });
    let made: Vec<_> = made.collect();
    let shared = shared(&made);
    for (name, made) in made {
        let twice = shared.iter().filter(|it| it.0.contains(&name)).count();
        let row = match made {
            Ok(protocol) => {
                let is_released = protocol.is_released() && twice == 0;
                released += usize::from(is_released);
                let is_overdue = protocol.is_overdue();
                overdue += usize::from(is_overdue);
                let next = protocol.plan.text("next");
                let next = if is_overdue { format!("{next} OVERDUE") } else { next.to_owned() };
                // what is not released is no distance to build to
                let distance = protocol.distance_text().filter(|_| is_released);
                let machine = protocol.plan.text("machine").to_owned();
                let verdict = if twice == 0 { protocol.verdict_text() } else { unjudged(twice) };
                [machine, distance.unwrap_or_default(), next, verdict]
            }
            Err(found) => {
                let what = unjudged(found.iter().count());
                problems.extend(found.into_iter().map(|mut it| {
                    it.headline = format!("`{name}`: {}", it.headline);
                    it
                }));
                [String::new(), String::new(), String::new(), what]
            }
        };
        rows.push(std::iter::once(name.clone()).chain(row).map(or_none).collect());
    }
    problems.extend(shared.into_iter().map(|it| it.1));
    let all = plans.len();
    let verdict = match (all - released, overdue) {
        (0, 0) => format!("passed: all {all} plans"),
        (0, late) => format!("OVERDUE: {late} of {all} plans; all passed when they were measured"),
        (open, 0) => format!("NOT PASSED or NOT CONFIRMED: {open} of {all} plans"),
        (open, late) => {
            format!("NOT PASSED or NOT CONFIRMED: {open} of {all} plans; OVERDUE: {late}")
        }
    };
    terminal.print(&verdict);
    let table = Table {
        title: "machines".to_owned(),
        columns: COLUMNS,
        headed: true,
        rows,
        notes: vec![
            "A distance stands here only where nothing fails and everything is confirmed; each plan by itself shows every finding, and writes the protocol that is signed.".to_owned(),
        ],
    };
    terminal.lines(text::table(&table));
    terminal.closing_of(std::iter::empty(), &verdict);
    if problems.is_empty() {
        return Ok(ExitStatus::of(released == all && overdue == 0));
    }
    Err(unmade(problems.into()))
}

/// One problem for every two plans of different machines that hold a stop in common; two distances of one machine may
/// stand on the same stops.
fn shared<'a>(
    made: &[(&'a String, Result<Protocol, Problems>)],
) -> Vec<([&'a String; 2], Diagnostic)> {
    let machine = |it: &Protocol| it.plan.text("machine").trim().to_lowercase();
    let made: Vec<_> =
        made.iter().filter_map(|(name, it)| Some((*name, it.as_ref().ok()?))).collect();
    let mut found = Vec::new();
    for (at, (name, later)) in made.iter().enumerate() {
        for (other, earlier) in made.iter().take(at) {
            let mut same = later.stops().filter_map(|stop| {
                Some((stop, earlier.stops().find(|it| it.print == stop.print)?))
            });
            let Some((stop, first)) = same.next() else { continue };
            if !machine(later).is_empty() && machine(later) == machine(earlier) {
                continue;
            }
            let count = 1 + same.count();
            let what = if count == 1 { "a stop".to_owned() } else { format!("{count} stops") };
            let words = format!(
                "`{name}` holds {what} of `{other}`: the samples are the same, and no two machines stop alike"
            );
            let problem = Diagnostic::error(Name::AskedTwice, words)
                .at(stop.place.clone())
                .label(first.place.clone(), "of the other plan already")
                .remedy("name under `file` what was recorded at each machine; where both plans are of one machine, say the same `machine` in them");
            found.push(([*name, *other], problem));
        }
    }
    found
}

fn unjudged(problems: usize) -> String {
    let s = if problems == 1 { "" } else { "s" };
    format!("NO PROTOCOL: {problems} problem{s}")
}

fn or_none(cell: String) -> String {
    if cell.is_empty() { "–".to_owned() } else { cell }
}

/// What belongs to one plan alone, and one that is named twice.
fn refuse_of_one(asked: &Measured, plans: &[String], words: &[String]) -> Result<(), Failure> {
    let options = [
        ("--output", !asked.output.is_empty()),
        ("--before", !asked.before.is_empty()),
        ("--stops", asked.stops),
        ("--json", asked.json),
    ];
    let options = options.into_iter().filter(|it| it.1).map(|it| it.0.to_owned());
    let of_one = words.iter().cloned().chain(options).next();
    let twice =
        plans.iter().enumerate().find(|(at, plan)| plans.iter().take(*at).any(|it| it == *plan));
    let problem = if let Some(one) = of_one {
        Diagnostic::error(Name::TwoStatements, format!("`{one}` belongs to one plan, and several are named"))
            .at(Place::Argument { text: one })
            .remedy("name one plan with it, or leave it out: of several the verdicts, distances and next checks stand in one table")
    } else if let Some((_, plan)) = twice {
        Diagnostic::error(Name::TwoStatements, "a plan is named twice")
            .at(Place::Argument { text: plan.clone() })
            .remedy("name every plan once")
    } else {
        return Ok(());
    };
    Err(Failure::input(problem))
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
    let before: Vec<_> = asked
        .before
        .iter()
        .map(|file| earlier(file, environment))
        .collect::<Result<_, _>>()
        .map_err(Failure::file)?;
    let protocol = Protocol::make(&plan, &before, environment).map_err(unmade)?;
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
