//! What the README shows is what the program prints: its blocks are filled from the program itself.
//!
//! `UPDATE_README=1 cargo test readme` writes them anew; without it they must match.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

use standstill::diagnostic::Source;
use standstill::language::parse;
use standstill::library::{GROUPS, SHELVED};

use crate::published_values::case_files;

/// What a command prints, in a folder with the example and the workbook with five mistakes.
fn prints(arguments: &[&str]) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("examples")).unwrap();
    for (from, to) in [
        ("examples/carton-wrapper.xlsx", "examples/carton-wrapper.xlsx"),
        ("examples/roller-line.xlsx", "examples/roller-line.xlsx"),
        ("tests/workbooks/asked/five-mistakes.xlsx", "five-mistakes.xlsx"),
    ] {
        fs::copy(root.join(from), folder.path().join(to)).unwrap();
    }
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(arguments)
        .current_dir(folder.path())
        .output()
        .unwrap();
    let text = if output.stdout.is_empty() { output.stderr } else { output.stdout };
    String::from_utf8(text).unwrap().trim_end().to_owned()
}

/// The reverse question that the README asks.
const DESIGN: &[&str] = &[
    "design",
    "safe-stop",
    "S<=2300 mm",
    "by",
    "J_load",
    "from",
    "0.05 kg·m²",
    "to",
    "0.5 kg·m²",
    "in",
    "steps",
    "of",
    "0.01 kg·m²",
    "--example",
];

/// The lines of what a command prints that hold one of some words.
fn lines_with(arguments: &[&str], words: &[&str]) -> String {
    let text = prints(arguments);
    let kept = text.lines().filter(|line| words.iter().any(|word| line.contains(word)));
    kept.collect::<Vec<_>>().join("\n")
}

fn fenced(text: &str) -> String {
    format!("```text\n{text}\n```")
}

/// One line a sheet: what it is, its first source, and what it is held against.
fn sheets() -> String {
    let cases = case_files();
    let mut table =
        String::from("| sheet | works out | source | held against |\n| --- | --- | --- | --- |\n");
    for (group, about) in GROUPS {
        let _ = writeln!(table, "| **{group}** | {about} | | |");
        for sheet in SHELVED.iter().filter(|sheet| sheet.group == *group) {
            let (tree, _) = parse(&Source::new("", sheet.text));
            let title = tree.title.map(|title| title.value).unwrap_or_default();
            let source =
                tree.sources.first().map(|source| source.value.clone()).unwrap_or_default();
            let own = cases
                .iter()
                .find(|(name, _)| name == sheet.name)
                .map(|(_, cases)| cases.as_slice())
                .unwrap_or_default();
            let mut sources: Vec<&str> = own.iter().map(|case| case.source.as_str()).collect();
            sources.dedup();
            let first = sources.first().copied().unwrap_or_default();
            let _ = writeln!(
                table,
                "| `{}` | {title} | {} | {} cases: {} |",
                sheet.name,
                source.replace('|', "\\|"),
                own.len(),
                first.replace('|', "\\|")
            );
        }
    }
    table.trim_end().to_owned()
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let before = fs::read_to_string(&path).unwrap();
    let mut after = before.clone();
    let blocks = [
        ("fill", fenced(&prints(&["fill", "examples/carton-wrapper.xlsx", "-o", "filled.xlsx"]))),
        (
            "run",
            fenced(&prints(&["run", "run-down", "J=0.35 kg·m²", "n_0=1450 r/min", "T_0=4.2 N·m"])),
        ),
        (
            "worst",
            fenced(&lines_with(
                &[
                    "run",
                    "safe-stop",
                    "--example",
                    "T_0=1.6 N·m ± 10 %",
                    "t_sensor=14 ms ± 2 ms",
                    "--worst",
                ],
                &["as given", "  S_works ", "  S_fails ", "far enough"],
            )),
        ),
        (
            "slopes",
            fenced(
                &prints(&["run", "safe-stop", "--example", "--slopes", "--of", "t_ramp_fails"])
                    .lines()
                    .skip(4)
                    .take(7)
                    .collect::<Vec<_>>()
                    .join("\n"),
            ),
        ),
        ("mistakes", fenced(&prints(&["fill", "five-mistakes.xlsx"]))),
        (
            "design",
            fenced(prints(DESIGN).split("\n\n").take(2).collect::<Vec<_>>().join("\n\n").as_str()),
        ),
        ("sheets", sheets()),
    ];
    for (name, text) in blocks {
        let (open, close) = (format!("<!-- {name} -->\n"), format!("<!-- /{name} -->"));
        let start =
            after.find(&open).unwrap_or_else(|| panic!("README has no block {name}")) + open.len();
        let end = start + after[start..].find(&close).unwrap();
        after.replace_range(start..end, &format!("{text}\n"));
    }
    if std::env::var_os("UPDATE_README").is_some() {
        fs::write(&path, &after).unwrap();
    } else {
        assert!(
            before == after,
            "README.md shows something else than the program prints; UPDATE_README=1 cargo test readme"
        );
    }
}
