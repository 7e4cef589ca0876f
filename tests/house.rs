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
    files(folder, found);
    found.retain(|path| path.extension().is_some_and(|extension| extension == "rs"));
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && path.file_name().is_some_and(|name| name != "node_modules") {
            files(&path, found);
        } else {
            found.push(path);
        }
    }
}

#[test]
fn no_folder_knows_more_than_the_table_allows() {
    let table = table();
    let folder = |file: &str| file.split('/').next().unwrap().to_owned();
    let mut wrong = BTreeSet::new();
    for (file, used) in uses() {
        let own = folder(&file);
        if own == "lib" || own == "main" {
            continue;
        }
        let Some(may) = table.get(&own) else {
            wrong.insert(format!("src/{own} has no row"));
            continue;
        };
        for name in used.iter().map(|it| folder(it)).filter(|name| *name != own) {
            if !table.contains_key(&name) {
                wrong.insert(format!("src/{file} knows {name}, which has no row"));
            } else if may.as_ref().is_some_and(|may| !may.contains(&name)) {
                wrong.insert(format!("src/{file} knows {name}"));
            }
        }
    }
    let wrong: Vec<String> = wrong.into_iter().collect();
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

/// Every path that a text uses, from `crate`, `super` or `self` on, with its braces opened.
fn paths(text: &str) -> Vec<Vec<String>> {
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    let code = code.collect::<Vec<_>>().join("\n");
    let code = code.split("#[cfg(test)]\nmod tests").next().unwrap();
    let mut found = Vec::new();
    for root in ["crate::", "super::", "self::"] {
        for (at, _) in code.match_indices(root) {
            let sign = code[..at].chars().next_back();
            if sign.is_none_or(|sign| !sign.is_alphanumeric() && !matches!(sign, '_' | ':')) {
                open(&code[at..], &[], &mut found);
            }
        }
    }
    found
}

/// Opens the path that a text begins with; gives what is left of the text.
fn open<'t>(text: &'t str, before: &[String], found: &mut Vec<Vec<String>>) -> &'t str {
    let mut path = before.to_vec();
    let mut rest = text.trim_start();
    loop {
        if let Some(mut list) = rest.strip_prefix('{') {
            loop {
                list = list.trim_start_matches(|sign: char| sign.is_whitespace() || sign == ',');
                match list.chars().next() {
                    Some('}') => return &list[1..],
                    Some(sign) if sign.is_alphabetic() || sign == '_' => {
                        list = open(list, &path, found);
                    }
                    Some(sign) => list = &list[sign.len_utf8()..],
                    None => return list,
                }
            }
        }
        let end = rest.find(|sign: char| !sign.is_alphanumeric() && sign != '_');
        let (word, after) = rest.split_at(end.unwrap_or(rest.len()));
        path.push(word.to_owned());
        match after.strip_prefix("::") {
            Some(next) => rest = next,
            None => {
                found.push(path);
                return after;
            }
        }
    }
}

/// The files of `src` by their path of modules, each with its code.
fn modules() -> BTreeMap<String, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    let module = |file: &PathBuf| {
        let inner = file.strip_prefix(&root).unwrap().with_extension("");
        let inner = inner.to_str().unwrap().replace('\\', "/");
        inner.strip_suffix("/mod").map_or(inner.clone(), str::to_owned)
    };
    files.iter().map(|file| (module(file), fs::read_to_string(file).unwrap())).collect()
}

/// What each file hands on with `pub use`: the name, and the path behind it.
fn handed_on(modules: &BTreeMap<String, String>) -> BTreeMap<&str, BTreeMap<String, Vec<String>>> {
    let of = |text: &str| {
        let mut found = Vec::new();
        for line in text.split(';') {
            let words = line.rsplit_once("pub use ").or(line.rsplit_once("pub(crate) use "));
            let words = words.or(line.rsplit_once("pub(super) use "));
            if let Some((_, path)) = words {
                open(path, &[], &mut found);
            }
        }
        found.into_iter().map(|path| (path.last().unwrap().clone(), path)).collect()
    };
    modules.iter().map(|(name, text)| (name.as_str(), of(text))).collect()
}

/// For each file of `src`, by its path of modules, the files beside or away from it that it uses, each name followed to
/// the file that makes it; what a folder's own file and its inner files use of one another is the folder's.
fn uses() -> BTreeMap<String, BTreeSet<String>> {
    let modules = modules();
    let handed_on = handed_on(&modules);
    let made_in = |own: &str, path: Vec<String>| {
        let (mut at, mut path) = (own.to_owned(), path);
        loop {
            let mut whole: Vec<&str> = at.split('/').collect();
            for word in &path {
                match word.as_str() {
                    "crate" => whole.clear(),
                    "super" => drop(whole.pop()),
                    "self" => {}
                    word => whole.push(word),
                }
            }
            let count = (1..=whole.len()).rev();
            let count =
                count.clone().find(|count| modules.contains_key(&whole[..*count].join("/")));
            let target = count.map_or("lib".to_owned(), |count| whole[..count].join("/"));
            match whole
                .get(count.unwrap_or(0))
                .and_then(|name| handed_on[target.as_str()].get(*name))
            {
                Some(next) => (at, path) = (target, next.clone()),
                None => return target,
            }
        }
    };
    let one = |(own, text): (&String, &String)| {
        let all = paths(text).into_iter().map(|path| made_in(own, path)).filter(|it| it != "lib");
        let inside = |outer: &str, inner: &str| inner.starts_with(&format!("{outer}/"));
        let away = all.filter(|it| it != own && !inside(it, own) && !inside(own, it));
        (own.clone(), away.collect())
    };
    modules.iter().map(one).collect()
}

/// The files that are reached from a file, itself only by a circle.
fn reached(uses: &BTreeMap<String, BTreeSet<String>>, from: &str) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    let mut waiting: Vec<&String> = uses[from].iter().collect();
    while let Some(file) = waiting.pop() {
        if seen.insert(file.clone()) {
            waiting.extend(uses.get(file).into_iter().flatten());
        }
    }
    seen
}

/// The circles that DEVELOPERS.md names: files that may use one another.
fn named_circles() -> BTreeSet<BTreeSet<String>> {
    let rows =
        include_str!("../DEVELOPERS.md").lines().filter(|line| line.starts_with("| circle "));
    rows.map(|row| {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let folder = cells[0].trim_start_matches("circle ").trim_matches('`');
        cells[1].split(", ").map(|name| format!("{folder}{name}")).collect()
    })
    .collect()
}

#[test]
fn no_circle_stands_between_files_but_those_that_are_named() {
    let uses = uses();
    let mut there = BTreeSet::new();
    for file in uses.keys() {
        let after = reached(&uses, file);
        if after.contains(file) {
            let back = after.into_iter().filter(|other| reached(&uses, other).contains(file));
            there.insert(back.collect::<BTreeSet<String>>());
        }
    }
    let named = named_circles();
    let wrong: Vec<_> = there.difference(&named).collect();
    assert!(wrong.is_empty(), "circles that DEVELOPERS.md does not name: {wrong:?}");
    let gone: Vec<_> = named.difference(&there).collect();
    assert!(gone.is_empty(), "circles that are no longer there, to be taken out: {gone:?}");
}

#[test]
fn a_path_is_followed_into_its_braces() {
    let text = "use super::{ties, results::{self, Part}};\nuse crate::unit::Unit;\nfn f(x: super::x::Y) {}\n// super::no";
    let found: BTreeSet<String> = paths(text).iter().map(|path| path.join(" ")).collect();
    let expected =
        ["crate unit Unit", "super results Part", "super results self", "super ties", "super x Y"];
    assert!(found.iter().eq(expected), "{found:?}");
}

/// A file that no `mod` names is neither compiled nor tested, and nothing says so.
#[test]
fn every_file_is_named_by_a_mod() {
    let mut lost = Vec::new();
    for (folder, roots) in [
        ("src", &["src/lib.rs", "src/main.rs", "src/build.rs"][..]),
        ("tests", &["tests/main.rs", "tests/bench/main.rs"]),
    ] {
        let base = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut files = Vec::new();
        sources(&base.join(folder), &mut files);
        for file in files {
            let own = file.strip_prefix(base).unwrap().to_str().unwrap().replace('\\', "/");
            if roots.contains(&own.as_str()) {
                continue;
            }
            let module = own.trim_end_matches(".rs").trim_end_matches("/mod");
            let (outer, name) = module.rsplit_once('/').unwrap();
            let above =
                ["/mod.rs", "/lib.rs", "/main.rs", ".rs"].map(|end| format!("{outer}{end}"));
            let text = above.iter().filter_map(|path| fs::read_to_string(base.join(path)).ok());
            let line = format!("mod {name};");
            if !text.collect::<String>().lines().any(|it| it.trim_end().ends_with(&line)) {
                lost.push(own);
            }
        }
    }
    assert!(lost.is_empty(), "no `mod` names these files: {lost:?}");
}

/// A path that DEVELOPERS.md names leads somewhere: a file of that name stands at it or below it.
#[test]
fn every_file_that_developers_are_sent_to_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = Vec::new();
    for folder in ["src", "tests", "examples", "sheets"] {
        files(&root.join(folder), &mut all);
    }
    let all: Vec<String> =
        all.iter().map(|path| path.to_str().unwrap().replace('\\', "/")).collect();
    let quoted = include_str!("../DEVELOPERS.md").split('`').skip(1).step_by(2);
    let words = quoted.flat_map(str::split_whitespace);
    let endings = ["rs", "py", "mjs", "js", "json", "csv", "cases", "sheet", "txt", "svg", "md"];
    let named = words.filter(|text| {
        let ending = text.rsplit_once('.').map_or("", |(name, ending)| match name {
            "" => "",
            _ => ending,
        });
        let is_pattern = text.contains(['*', '{', '[', '…']) || text.contains("NAME");
        endings.contains(&ending) && !is_pattern
    });
    let lost: Vec<&str> =
        named.filter(|name| !all.iter().any(|path| path.ends_with(&format!("/{name}")))).collect();
    assert!(lost.is_empty(), "DEVELOPERS.md names what is not there: {lost:?}");
}

/// The crates of one table of Cargo.toml; of the dependencies, only those that every build needs where asked.
fn crates(table: &str, needed: bool) -> BTreeSet<String> {
    let manifest: toml::Table = toml::from_str(include_str!("../Cargo.toml")).unwrap();
    let rows = manifest[table].as_table().unwrap().iter();
    let optional =
        |row: &toml::Value| row.get("optional").is_some_and(|it| it.as_bool() == Some(true));
    rows.filter(|(_, row)| !(needed && optional(row))).map(|(name, _)| name.clone()).collect()
}

#[test]
fn every_crate_has_its_reason_and_the_readme_counts_them() {
    let papers = include_str!("../DEVELOPERS.md");
    let (_, rows) = papers.split_once("## Dependencies").unwrap();
    let first = rows.lines().filter_map(|row| row.strip_prefix("| ")?.split(" | ").next());
    let named: BTreeSet<String> =
        first.flat_map(|cell| cell.split('`').skip(1).step_by(2)).map(str::to_owned).collect();
    let all: BTreeSet<String> =
        crates("dependencies", false).union(&crates("dev-dependencies", false)).cloned().collect();
    assert_eq!(named, all);
    let words = ["six", "seven", "eight", "nine", "ten", "eleven"];
    let count = words[crates("dependencies", true).len() - 6];
    assert!(include_str!("../README.md").contains(&format!("the crate needs {count} others")));
}
