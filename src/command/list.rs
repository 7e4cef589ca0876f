//! `standstill list`: the library, the kinds, the units, the names of problems.

use std::sync::Arc;

use clap::ValueEnum as _;

use super::ExitStatus;
use super::arguments::{List, Listed};
use super::failure::{Ending, Failure};
use super::print::Terminal;
use crate::diagnostic::{ALL_NAMES, Source, phrase};
use crate::environment::Environment;
use crate::language::parse;
use crate::library::{GROUPS, Match, SHEETS, search_with, unknown_words};
use crate::project::Project;
use crate::unit::{KINDS, catalogue};

pub(super) fn list(asked: &List, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    let what = match asked.what.as_slice() {
        [] => Listed::Sheets,
        [one] => match Listed::from_str(one, false) {
            Ok(what) => what,
            Err(_) => match ALL_NAMES.iter().find(|entry| entry.word == one) {
                Some(entry) => {
                    let row = vec![entry.word.to_owned(), entry.about.to_owned()];
                    return rows(&[row], asked.json, terminal);
                }
                None => return find(one, asked.json, environment, terminal),
            },
        },
        many => return find(&many.join(" "), asked.json, environment, terminal),
    };
    let listed = match what {
        Listed::Sheets => return sheets(asked.json, environment, terminal),
        Listed::Kinds => KINDS
            .iter()
            .map(|kind| vec![kind.name.to_owned(), kind.units.join(", "), kind.about.to_owned()])
            .collect::<Vec<_>>(),
        Listed::Units => catalogue()
            .iter()
            .map(|unit| {
                vec![
                    unit.symbol.to_owned(),
                    unit.spellings.join(", "),
                    unit.kinds().join(", "),
                    unit.definition.to_owned(),
                ]
            })
            .collect(),
        Listed::Problems => ALL_NAMES
            .iter()
            .map(|entry| vec![entry.word.to_owned(), entry.about.to_owned()])
            .collect(),
    };
    rows(&listed, asked.json, terminal)
}

fn rows(listed: &[Vec<String>], json: bool, terminal: &mut Terminal) -> Ending {
    if json {
        terminal.json(serde_json::json!({ "listed": listed }));
    } else {
        terminal.columns(listed);
    }
    Ok(ExitStatus::Holds)
}

/// The sheets that answer some words, best first.
fn find(
    question: &str,
    json: bool,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let own = own(environment)?;
    let found = search_with(question, &own);
    if let (Some(way), false) = (other_way(question), json) {
        terminal.print(way);
        terminal.print("");
    }
    if json {
        let row = |found: &Match| serde_json::json!({ "group": found.group, "name": found.name, "title": found.title });
        terminal.json(serde_json::json!({ "listed": found.iter().map(row).collect::<Vec<_>>() }));
    } else if found.is_empty() {
        terminal
            .report(format!("No sheet answers \"{question}\"; `standstill list` shows them all."));
    } else {
        let rows: Vec<Vec<String>> =
            found.iter().map(|found| vec![found.name.clone(), found.title.clone()]).collect();
        terminal.columns(&rows);
        terminal.print("");
        let unknown = phrase::quoted(unknown_words(question, &own));
        if !unknown.is_empty() {
            terminal.print(format!("No sheet speaks of {}.", phrase::joined(&unknown, "or")));
        }
        terminal.print("`standstill show SHEET` lists inputs, results and sources; `standstill run SHEET` what it needs.");
    }
    Ok(if found.is_empty() { ExitStatus::WrongInput } else { ExitStatus::Holds })
}

/// Words by which many machines at once are asked for.
const MANY: [&str; 8] =
    ["variants", "variant", "spreadsheet", "many", "table", "drives", "machines", "rows"];

/// What is no sheet and asked for all the same: how many machines are calculated at once.
fn other_way(question: &str) -> Option<&'static str> {
    let asked = question.to_lowercase();
    let words: Vec<&str> = asked.split(|it: char| !it.is_alphanumeric()).collect();
    let has = |word: &&str| words.contains(word);
    let of_many = ["product", "line"].iter().all(has) || MANY.iter().any(has);
    of_many.then_some("Many machines at once, one a row of a table: `standstill range TABLE.csv SHEET`; one calculation in a workbook: `standstill form SHEET -o FORM.xlsx`.")
}

/// The own sheets that can be asked for from here.
fn own(environment: &dyn Environment) -> Result<Vec<Arc<Source>>, Failure> {
    let project = Project::new(environment);
    let files = project.own_files().map_err(Failure::file)?;
    files.iter().map(|file| project.file(file).map_err(Failure::file)).collect()
}

fn sheets(json: bool, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    let title = |source: &Arc<Source>| {
        let (tree, _) = parse(source);
        tree.title.map(|title| title.value).unwrap_or_default()
    };
    let own = own(environment)?;
    let own = own.iter().map(|source| (None, source.name.clone(), title(source)));
    let library = SHEETS.iter().map(|sheet| {
        (Some(sheet.group), sheet.name.to_owned(), title(&Source::new("", sheet.text)))
    });
    let all: Vec<(Option<&str>, String, String)> = own.chain(library).collect();
    if json {
        let row = |(group, name, title): &(Option<&str>, String, String)| serde_json::json!({ "group": group, "name": name, "title": title });
        terminal.json(serde_json::json!({ "listed": all.iter().map(row).collect::<Vec<_>>() }));
        return Ok(ExitStatus::Holds);
    }
    let own =
        [(None, "own", "sheets beside you, and in the folders of standstill.toml and --sheets")];
    let groups = GROUPS.iter().map(|(group, about)| (Some(*group), *group, *about));
    for (group, name, about) in groups.chain(own) {
        let rows: Vec<Vec<String>> = all
            .iter()
            .filter(|(of, ..)| *of == group)
            .map(|(_, name, title)| vec![name.clone(), title.clone()])
            .collect();
        if rows.is_empty() {
            continue;
        }
        terminal.print(format!("{name}: {about}"));
        terminal.columns(&rows);
        terminal.print("");
    }
    terminal.print("`standstill list WORDS` finds sheets by trade words; `standstill show SHEET` lists inputs, results and sources; `standstill run SHEET --example` calculates the sheet's own example.");
    Ok(ExitStatus::Holds)
}
