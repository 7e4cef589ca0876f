//! The rule "may know" of DEVELOPERS.md, read from its table and held against every `crate::` in `src`.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Each folder or file of `src` in the table, with what it may know; `None` where that is all.
fn table() -> BTreeMap<String, Option<BTreeSet<String>>> {
    let rows = include_str!("../DEVELOPERS.md").lines().filter(|line| line.starts_with("| `src/"));
    rows.flat_map(|row| {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let known = cells[2].split(", ").filter(|name| *name != "nothing").map(str::to_owned);
        let known: BTreeSet<String> = known.collect();
        let known = (!known.contains("all")).then_some(known);
        let names = cells[0].split(", ").map(|name| {
            name.trim_matches('`').trim_start_matches("src/").trim_matches('/').replace(".rs", "")
        });
        names.map(|name| (name, known.clone())).collect::<Vec<_>>()
    })
    .collect()
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// The folders that a text names after `crate::`, alone or in braces.
fn named(text: &str) -> BTreeSet<String> {
    let word = |text: &str| {
        text.trim_start()
            .chars()
            .take_while(|sign| sign.is_alphanumeric() || *sign == '_')
            .collect()
    };
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    let code = code.collect::<Vec<_>>().join("\n");
    let mut names = BTreeSet::new();
    for after in code.split("crate::").skip(1) {
        match after.strip_prefix('{') {
            Some(list) => {
                // the first word of each part, on the outermost level
                let mut depth = 0;
                let mut start = true;
                for (at, sign) in list.char_indices() {
                    match sign {
                        '{' => depth += 1,
                        '}' if depth == 0 => break,
                        '}' => depth -= 1,
                        ',' if depth == 0 => start = true,
                        sign if start && sign.is_alphabetic() => {
                            names.insert(word(&list[at..]));
                            start = false;
                        }
                        _ => {}
                    }
                }
            }
            None => {
                names.insert(word(after));
            }
        }
    }
    names
}

#[test]
fn no_folder_knows_more_than_the_table_allows() {
    let table = table();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    let mut wrong = Vec::new();
    for file in files {
        let inner = file.strip_prefix(&root).unwrap();
        let own = inner.iter().next().unwrap().to_str().unwrap().replace(".rs", "");
        if own == "lib" || own == "main" {
            continue;
        }
        let Some(may) = table.get(&own) else {
            wrong.push(format!("src/{own} has no row"));
            continue;
        };
        let text = fs::read_to_string(&file).unwrap();
        for name in named(&text).iter().filter(|name| **name != own && table.contains_key(*name)) {
            if may.as_ref().is_some_and(|may| !may.contains(name)) {
                wrong.push(format!("src/{} knows {name}", inner.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "not in the table of DEVELOPERS.md:\n{}", wrong.join("\n"));
}

/// What the table allows has no circle, whatever the code makes of it.
#[test]
fn the_table_has_no_circle() {
    let table = table();
    let all: BTreeSet<String> = table.keys().cloned().collect();
    let mut placed = BTreeSet::new();
    while placed.len() < all.len() {
        let free: Vec<_> = table
            .iter()
            .filter(|(name, may)| {
                let may = Option::clone(may).unwrap_or_else(|| {
                    all.iter().filter(|other| *other != *name).cloned().collect()
                });
                !placed.contains(*name) && may.iter().all(|other| placed.contains(other))
            })
            .map(|(name, _)| name.clone())
            .collect();
        assert!(!free.is_empty(), "a circle among {:?}", all.difference(&placed));
        placed.extend(free);
    }
}

#[test]
fn the_rule_sees_every_shape_of_a_name() {
    let text = "use crate::unit::Unit;\nuse crate::{number, program::{Op, Type}, language};\n// crate::review\nfn f(x: crate::workbook::Cell) {}";
    let expected = ["language", "number", "program", "unit", "workbook"];
    assert!(named(text).iter().eq(expected.iter()));
}
