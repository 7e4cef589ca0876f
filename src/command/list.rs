//! `standstill list`: the library, the kinds, the units, the names of problems.

use clap::ValueEnum as _;

use super::Ending;
use super::arguments::{List, Listed};
use super::print::Terminal;
use crate::diagnostic::{ALL_NAMES, Source};
use crate::language::parse;
use crate::library::{GROUPS, SHELVED, search};
use crate::unit::{KINDS, catalogue};

pub(super) fn list(asked: &List, terminal: &mut Terminal) -> Ending {
    let what = match asked.what.as_slice() {
        [] => Listed::Sheets,
        [one] => match Listed::from_str(one, false) {
            Ok(what) => what,
            Err(_) => return find(one, asked.json, terminal),
        },
        many => return find(&many.join(" "), asked.json, terminal),
    };
    let rows = match what {
        Listed::Sheets => return sheets(asked.json, terminal),
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
    if asked.json {
        terminal.json(serde_json::json!({ "listed": rows }));
    } else {
        terminal.columns(&rows);
    }
    Ending::Holds
}

/// The sheets that answer some words, best first.
fn find(question: &str, json: bool, terminal: &mut Terminal) -> Ending {
    let found = search(question);
    if json {
        let all: Vec<_> = found
            .iter()
            .map(|found| serde_json::json!({ "group": found.sheet.group, "name": found.sheet.name, "title": found.title }))
            .collect();
        terminal.json(serde_json::json!({ "listed": all }));
    } else if found.is_empty() {
        terminal.tell(format!(
            "No sheet of the library answers \"{question}\"; `standstill list` shows them all."
        ));
    } else {
        let rows: Vec<Vec<String>> = found
            .iter()
            .map(|found| vec![found.sheet.name.to_owned(), found.title.clone()])
            .collect();
        terminal.columns(&rows);
        terminal.say("");
        terminal.say("`standstill show SHEET` lists inputs, results and sources.");
    }
    if found.is_empty() { Ending::WrongInput } else { Ending::Holds }
}

fn sheets(json: bool, terminal: &mut Terminal) -> Ending {
    let title = |text: &str| {
        let (tree, _) = parse(&Source::new("", text));
        tree.title.map(|title| title.value).unwrap_or_default()
    };
    if json {
        let all: Vec<_> = SHELVED
            .iter()
            .map(|sheet| serde_json::json!({ "group": sheet.group, "name": sheet.name, "title": title(sheet.text) }))
            .collect();
        terminal.json(serde_json::json!({ "listed": all }));
        return Ending::Holds;
    }
    for (group, about) in GROUPS {
        let rows: Vec<Vec<String>> = SHELVED
            .iter()
            .filter(|sheet| sheet.group == *group)
            .map(|sheet| vec![sheet.name.to_owned(), title(sheet.text)])
            .collect();
        if rows.is_empty() {
            continue;
        }
        terminal.say(format!("{group}: {about}"));
        terminal.columns(&rows);
        terminal.say("");
    }
    terminal.say("`standstill show SHEET` lists inputs, results and sources; `standstill run SHEET --example` calculates the sheet's own example.");
    Ending::Holds
}
