//! `standstill measured` with several plans: a row for every machine, with its verdict, distance and next check.

use serde_json::json;

use super::arguments::Measured;
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, output, read_sheet};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::environment::Environment;
use crate::recording::{Earlier, Plan, Protocol, counted_twice, earlier};
use crate::report::{Column, DISCLAIMER, Table, text};
use crate::workbook::{FreeTab, tabs_and_form};

/// Formats of the table, by the ending of its name.
const FORMATS: &[&str] = &[".xlsx", ".json"];

const COLUMNS: [Column; 6] = [
    Column { head: "plan", figures: false },
    Column { head: "machine", figures: false },
    Column { head: "distance", figures: true },
    Column { head: "next check", figures: false },
    Column { head: "trend", figures: true },
    Column { head: "verdict", figures: false },
];

const NOTE: &str = "A distance stands here only where nothing fails and everything is confirmed; each plan by itself shows every finding, and writes the protocol that is signed.";

/// A plan by its name, and its protocol; none where it has a problem of its own or with another plan.
type Made<'a> = (&'a str, Result<Protocol, Problems>);

pub(super) fn machines(
    asked: &Measured,
    plans: &[String],
    words: &[String],
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    refuse_of_one(asked, plans, words, environment)?;
    for output in &asked.output {
        output::check(output, FORMATS, environment)?;
    }
    let read: Vec<_> = plans
        .iter()
        .map(|name| {
            let source = read_sheet(name, environment).map_err(|it| it.problems);
            (name, source.and_then(|source| Plan::read(Some(&source), &[])))
        })
        .collect();
    let before = earlier_ones(asked, environment)?;
    let known: Vec<_> =
        read.iter().filter_map(|(name, it)| Some((name.as_str(), it.as_ref().ok()?))).collect();
    // where a plan cannot be read, its machine is not known
    if known.len() == plans.len() {
        of_one_plan_each(&before, &known)?;
    }
    let made = read.into_iter().map(|(name, plan)| {
        let make = |plan: Plan| {
            let of_it = |it: &&Earlier| it.machine == plan.text("machine");
            let own: Vec<Earlier> = before.iter().filter(of_it).cloned().collect();
            Protocol::make(&plan, &own, environment)
        };
        (name.as_str(), plan.and_then(make))
    });
    let made: Vec<Made> = made.collect();
    let whole: Vec<(&str, &Protocol)> =
        made.iter().filter_map(|(name, it)| Some((*name, it.as_ref().ok()?))).collect();
    let twice = counted_twice(&whole);
    let problems_of = |name: &str| {
        let shared = twice.iter().filter(|(both, _)| {
            both.iter().any(|at| whole.get(*at).is_some_and(|it| it.0 == name))
        });
        shared.count()
    };
    let rows: Vec<Row> = made.iter().map(|one| Row::of(one, problems_of(one.0))).collect();
    let mut problems = Vec::new();
    for (name, found) in made.iter().filter_map(|(name, it)| Some((name, it.as_ref().err()?))) {
        problems.extend(found.iter().cloned().map(|mut it| {
            it.headline = format!("`{name}`: {}", it.headline);
            it
        }));
    }
    problems.extend(twice.iter().map(|it| it.1.clone()));
    let verdict = verdict(&rows, &whole);
    let table = table(&rows, !before.is_empty());
    if problems.is_empty() {
        save(asked, &rows, (&verdict, &table), environment)?;
    }
    if !asked.json {
        terminal.print(&verdict);
        terminal.lines(text::table(&table));
        terminal.closing_of(std::iter::empty(), &verdict);
    }
    if !problems.is_empty() {
        return Err(Failure::recordings(problems.into()));
    }
    if asked.json {
        terminal.json(json_of(&rows, &verdict));
    } else if !asked.output.is_empty() {
        terminal.print("");
        terminal.print(format!("{} written.", asked.output.join(", ")));
    }
    Ok(ExitStatus::of(rows.iter().all(|it| it.released && !it.overdue)))
}

/// A plan in the table.
struct Row<'a> {
    name: &'a str,
    made: Option<&'a Protocol>,
    /// The same, where nothing keeps it from being judged.
    protocol: Option<&'a Protocol>,
    /// How many problems keep it from having one.
    problems: usize,
    released: bool,
    overdue: bool,
}

impl<'a> Row<'a> {
    fn of((name, made): &'a Made, twice: usize) -> Self {
        let problems = twice + made.as_ref().err().map_or(0, |it| it.iter().count());
        let made = made.as_ref().ok();
        let protocol = made.filter(|_| problems == 0);
        let released = protocol.is_some_and(Protocol::is_released);
        let overdue = made.is_some_and(Protocol::is_overdue);
        Self { name, made, protocol, problems, released, overdue }
    }

    fn verdict(&self) -> String {
        let s = if self.problems == 1 { "" } else { "s" };
        let unjudged = || format!("NO PROTOCOL: {} problem{s}", self.problems);
        self.protocol.map_or_else(unjudged, Protocol::verdict_text)
    }

    /// What is not released is no distance to build to.
    fn distance(&self) -> Option<String> {
        self.protocol.filter(|_| self.released)?.distance_text()
    }

    fn cells(&self) -> Vec<String> {
        let text = |key: &str| self.made.map_or("", |it| it.plan.text(key)).to_owned();
        let mut next = text("next");
        if self.overdue {
            next += " OVERDUE";
        }
        let trend = self.protocol.and_then(Protocol::trend_text).unwrap_or_default();
        let distance = self.distance().unwrap_or_default();
        let all = [self.name.to_owned(), text("machine"), distance, next, trend, self.verdict()];
        let or_none = |cell: String| if cell.is_empty() { "–".to_owned() } else { cell };
        all.map(or_none).to_vec()
    }
}

/// All of it in one sentence: how many machines they are of, where that is fewer than plans, too.
fn verdict(rows: &[Row], whole: &[(&str, &Protocol)]) -> String {
    let count = |of: fn(&Row) -> bool| rows.iter().filter(|it| of(it)).count();
    let (all, open, late) = (rows.len(), count(|it| !it.released), count(|it| it.overdue));
    let mut names: Vec<String> = whole.iter().filter_map(|it| it.1.machine()).collect();
    let named = names.len();
    names.sort();
    names.dedup();
    let machines = all - (named - names.len());
    let plans = match machines {
        1 => format!("{all} plans of 1 machine"),
        _ if machines < all => format!("{all} plans of {machines} machines"),
        _ => format!("{all} plans"),
    };
    match (open, late) {
        (0, 0) => format!("passed: all {plans}"),
        (0, late) => format!("OVERDUE: {late} of {plans}; all passed when they were measured"),
        (open, 0) => format!("NOT PASSED or NOT CONFIRMED: {open} of {plans}"),
        (open, late) => format!("NOT PASSED or NOT CONFIRMED: {open} of {plans}; OVERDUE: {late}"),
    }
}

/// The table, with the column of the trend where earlier protocols were named.
fn table(rows: &[Row], with_trend: bool) -> Table {
    const WITHOUT: &[Column] = &[COLUMNS[0], COLUMNS[1], COLUMNS[2], COLUMNS[3], COLUMNS[5]];
    const WITH: &[Column] = &COLUMNS;
    let columns = if with_trend { WITH } else { WITHOUT };
    let kept = |column: &Column| columns.iter().any(|it| it.head == column.head);
    let cells = |row: &Row| -> Vec<String> {
        let all = COLUMNS.iter().zip(row.cells());
        all.filter(|it| kept(it.0)).map(|it| it.1).collect()
    };
    Table {
        title: "machines".to_owned(),
        columns,
        headed: true,
        rows: rows.iter().map(cells).collect(),
        notes: vec![NOTE.to_owned()],
    }
}

fn json_of(rows: &[Row], verdict: &str) -> serde_json::Value {
    let plan = |it: &Row| {
        json!({
            "plan": it.name, "released": it.released, "overdue": it.overdue,
            "distance": it.distance(), "protocol": it.protocol.map(Protocol::json),
        })
    };
    let all = |of: fn(&Protocol) -> bool| rows.iter().all(|it| it.protocol.is_some_and(of));
    json!({
        "verdict": verdict, "holds": all(Protocol::holds), "confirmed": all(Protocol::is_confirmed), "plans": rows.iter().map(plan).collect::<Vec<_>>(),
        "disclaimer": DISCLAIMER,
    })
}

/// Everything is made before anything is written.
fn save(
    asked: &Measured,
    rows: &[Row],
    (verdict, table): (&str, &Table),
    environment: &dyn Environment,
) -> Result<(), Failure> {
    let bytes = |output: &String| {
        if output.to_lowercase().ends_with(".json") {
            let text = serde_json::to_string_pretty(&json_of(rows, verdict)).unwrap_or_default();
            return Ok(format!("{text}\n").into_bytes());
        }
        let tab = FreeTab {
            name: "machines".to_owned(),
            title: "Measured stops: machines".to_owned(),
            lead: vec![verdict.to_owned()],
            tables: vec![table.clone()],
            signed: false,
        };
        tabs_and_form("Measured stops: machines", &[tab], None)
    };
    let files: Vec<(&String, Vec<u8>)> = asked
        .output
        .iter()
        .map(|output| Ok((output, bytes(output)?)))
        .collect::<Result<_, Diagnostic>>()
        .map_err(Failure::file)?;
    for (output, bytes) in files {
        output::save(output, &bytes, FORMATS, asked.force, environment)?;
    }
    Ok(())
}

/// An earlier protocol is held against the one plan of its machine.
fn of_one_plan_each(before: &[Earlier], plans: &[(&str, &Plan)]) -> Result<(), Failure> {
    let mut problems = Vec::new();
    for one in before {
        let of_it: Vec<&str> =
            plans.iter().filter(|it| it.1.text("machine") == one.machine).map(|it| it.0).collect();
        let (words, remedy) = match of_it.as_slice() {
            [_] => continue,
            [] => {
                let all: Vec<String> =
                    plans.iter().map(|it| format!("`{}`", it.1.text("machine"))).collect();
                (
                    format!(
                        "it is a protocol of `{}`, and the plans are of {}",
                        one.machine,
                        all.join(", ")
                    ),
                    "leave it out, or name the plan of that machine too".to_owned(),
                )
            }
            [first, ..] => (
                format!(
                    "it is a protocol of `{}`, of which {} plans are named: {}",
                    one.machine,
                    of_it.len(),
                    of_it.join(", ")
                ),
                format!(
                    "hold it against the one that it was made from by itself, such as `standstill measured {first} --before {}`",
                    one.file
                ),
            ),
        };
        problems.push(
            Diagnostic::error(Name::ProtocolMismatch, words)
                .at(Place::File { name: one.file.clone() })
                .remedy(remedy),
        );
    }
    if problems.is_empty() { Ok(()) } else { Err(Failure::input(problems)) }
}

/// What belongs to one plan alone, and one that is named twice: by the same path, or by another one to the same file.
fn refuse_of_one(
    asked: &Measured,
    plans: &[String],
    words: &[String],
    environment: &dyn Environment,
) -> Result<(), Failure> {
    let stops = asked.stops.then(|| "--stops".to_owned());
    let one_file = |a: &String, b: &String| {
        let path = |it: &String| environment.canonical(std::path::Path::new(it));
        a == b || path(a).is_some_and(|it| path(b) == Some(it))
    };
    let twice = plans
        .iter()
        .enumerate()
        .find_map(|(at, plan)| Some((plan, plans.iter().take(at).find(|it| one_file(it, plan))?)));
    let problem = if let Some(one) = words.iter().cloned().chain(stops).next() {
        Diagnostic::error(Name::TwoStatements, format!("`{one}` belongs to one plan, and several are named"))
            .at(Place::Argument { text: one })
            .remedy("name one plan with it, or leave it out: of several the verdicts, distances and next checks stand in one table")
    } else if let Some((plan, first)) = twice {
        let words = match plan == first {
            true => "a plan is named twice".to_owned(),
            false => format!("a plan is named twice: `{plan}` and `{first}` are one file"),
        };
        Diagnostic::error(Name::TwoStatements, words)
            .at(Place::Argument { text: plan.clone() })
            .remedy("name every plan once")
    } else {
        return Ok(());
    };
    Err(Failure::input(problem))
}

/// The earlier protocols that are named, read.
pub(super) fn earlier_ones(
    asked: &Measured,
    environment: &dyn Environment,
) -> Result<Vec<Earlier>, Failure> {
    let read = asked.before.iter().map(|file| earlier(file, environment));
    read.collect::<Result<_, _>>().map_err(Failure::file)
}
