//! `standstill list`: the library, the kinds, the units, the names of problems.

use super::Ending;
use super::arguments::{List, Listed};
use super::print::Terminal;
use crate::diagnostic::{ALL_NAMES, Source};
use crate::language::parse;
use crate::library::{GROUPS, SHELVED};
use crate::unit::{KINDS, catalogue};

pub(super) fn list(asked: &List, terminal: &mut Terminal) -> Ending {
    let rows = match asked.what {
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
        terminal.json(&serde_json::json!(rows));
    } else {
        terminal.columns(&rows);
    }
    Ending::Holds
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
        terminal.json(&serde_json::json!(all));
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
    terminal.say("`standstill show SHEET` tells inputs, results and sources; `standstill run SHEET --example` works the sheet's own example.");
    Ending::Holds
}
