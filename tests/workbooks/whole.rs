//! `fill`, as a person starts it, on the workbooks of every writer: each part that was not asked to change
//! stays byte for byte, of whatever kind it is.

use std::fs;
use std::process::Command;

use standstill::Sheet;
use standstill::spreadsheet::{Book, Cell};
use standstill::workbook::{FormOptions, form};

use super::files::{FILLABLE, at, changed_parts, corpus, entries};

/// A bind file for a tab of the corpus: a run-down with the cells of J and n_0 that the tab has.
fn bind(name: &str, tab: &str) -> String {
    let (inertia, speed) = match name {
        name if name.contains("xlsxwriter") => ("B4", "B2"),
        name if name.starts_with("pivot") => ("B2", "B3"),
        name if name.starts_with("unusual") => ("A2", "A3"),
        _ => ("C3", "C2"),
    };
    format!(
        "sheet run-down\n  J from {tab}!{inertia} in kg·m²\n  n_0 from {tab}!{speed} in r/min\n  T_0 = 4 N·m\n  t_stop to {tab}!K40 in s\n  checks to {tab}!K41\n"
    )
}

/// J·ω/T in s, with T 4 N·m.
fn stop(book: &Book, tab: &str, name: &str) -> f64 {
    let text = bind(name, tab);
    let cell = |word: &str| {
        let line = text.lines().find(|line| line.trim().starts_with(word)).unwrap();
        let cell = line.split('!').nth(1).unwrap().split(' ').next().unwrap();
        match book.tab(tab).unwrap().cell(at(cell)) {
            Cell::Number(number) => *number,
            other => panic!("{name} {cell}: {other}"),
        }
    };
    cell("J from") * cell("n_0 from") * std::f64::consts::PI / 30.0 / 4.0
}

#[test]
fn each_part_keeps_its_bytes_through_fill() {
    for (name, tab) in FILLABLE {
        let folder = tempfile::tempdir().unwrap();
        let before = corpus(name);
        fs::write(folder.path().join(name), &before).unwrap();
        fs::write(folder.path().join("b.bind"), bind(name, tab)).unwrap();
        let fill = || {
            let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
                .args(["fill", name, "--bind", "b.bind"])
                .current_dir(folder.path())
                .output()
                .unwrap();
            let words = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(0), "{name}: {words}");
            String::from_utf8_lossy(&output.stdout).into_owned()
        };
        // the corpus workbook of the pivot table has defined names that ask for the same sheet
        let printed = fill();
        assert!(printed.contains("cells written to"), "{name}: {printed}");
        let after = fs::read(folder.path().join(name)).unwrap();
        let changed = changed_parts(&before, &after);
        // the tab itself, and tabs whose formulas may depend on it
        let tab_part =
            |part: &String| part.contains("worksheets/sheet") || part.ends_with("one.xml");
        let workbook = |part: &String| part.ends_with("workbook.xml");
        assert!(changed.iter().all(|part| tab_part(part) || workbook(part)), "{name}: {changed:?}");
        assert!(changed.len() <= 3, "{name}: {changed:?}");
        let book = Book::read(name, &after).unwrap();
        let Cell::Number(found) = book.tab(tab).unwrap().cell(at("K40")) else { panic!("{name}") };
        let wanted = stop(&book, tab, name);
        assert!((found / wanted - 1.0).abs() < 1e-12, "{name}: {found}, not {wanted}");
        // a second run changes nothing
        assert!(fill().contains("nothing was written"), "{name}");
        assert!(fs::read(folder.path().join(name)).unwrap() == after, "{name}");
    }
}

/// Kinds of parts that somewhere in the corpus must be there to be kept.
const KINDS: &[&str] = &[
    "xl/charts/", "xl/pivotTables/", "xl/pivotCache/", "xl/media/", "xl/comments", "xl/tables/",
    "xl/externalLinks/", "customXml/", "xl/printerSettings/", "xl/vbaProject.bin",
    "xl/chartsheets/", "xl/drawings/", "xl/styles.xml", "xl/sharedStrings.xml", "xl/metadata.xml",
];

/// What stands within the tabs and the workbook part itself.
const INSIDE: &[&str] = &[
    "<conditionalFormatting", "<dataValidation ", "<mergeCell ", "<definedName ",
    "<sheetProtection", "<extLst", "<pageSetup", "r:id=\"rIdPrinter\"", "<legacyDrawing",
    "<tableParts", "<autoFilter",
];

#[test]
fn the_corpus_holds_every_kind_of_part_that_must_survive() {
    let all: Vec<_> = FILLABLE.iter().flat_map(|(name, _)| entries(&corpus(name))).collect();
    for kind in KINDS {
        assert!(all.iter().any(|entry| entry.name.starts_with(kind)), "no part is like {kind}");
    }
    for inside in INSIDE {
        assert!(all.iter().any(|entry| entry.content.contains(inside)), "nowhere stands {inside}");
    }
    // and at least three different writers
    for writer in ["openpyxl", "xlsxwriter", "libreoffice", "sheetjs", "by_hand"] {
        assert!(FILLABLE.iter().any(|(name, _)| name.contains(writer)), "{writer}");
    }
}

#[test]
fn a_workbook_of_our_own_writer_keeps_its_parts_too() {
    let sheet = Sheet::library("safe-stop").unwrap();
    let options = FormOptions { examples: true, uses: true, worst: false };
    let before = form(&[std::sync::Arc::clone(sheet.program())], options).unwrap();
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("form.xlsx"), &before).unwrap();
    let status = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(["fill", "form.xlsx"])
        .current_dir(folder.path())
        .output()
        .unwrap()
        .status;
    assert!(status.success());
    let after = fs::read(folder.path().join("form.xlsx")).unwrap();
    let changed = changed_parts(&before, &after);
    let allowed = ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml"];
    assert!(changed.iter().all(|part| allowed.contains(&part.as_str())), "{changed:?}");
}

#[test]
fn other_kinds_of_file_are_read_and_a_fresh_workbook_is_made() {
    // J = 0.0018 + 0.35/25 kg·m², E = ½·J·ω²·0.95, by hand as for block.xlsx
    let omega = 1450.0 * std::f64::consts::PI / 30.0;
    let energy = 0.5 * (0.0018 + 0.35 / 25.0) * omega * omega * 0.95 / 1000.0;
    let asked = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/asked");
    for name in ["block_sheetjs_0.18.5.xlsb", "block_libreoffice_7.4.7.ods"] {
        let folder = tempfile::tempdir().unwrap();
        let before = fs::read(asked.join(name)).unwrap();
        fs::write(folder.path().join(name), &before).unwrap();
        let fill = |more: &[&str]| {
            let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
            command.args(["fill", name]).args(more).current_dir(folder.path()).output().unwrap()
        };
        // not in place
        let output = fill(&[]);
        assert_eq!(output.status.code(), Some(4), "{name}");
        assert!(String::from_utf8_lossy(&output.stderr).contains("`-o filled.xlsx`"), "{name}");
        let output = fill(&["-o", "filled.xlsx"]);
        let words = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{name}: {words}");
        let printed = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(printed.contains("caution values-only"), "{name}: {printed}");
        assert!(fs::read(folder.path().join(name)).unwrap() == before, "{name}");
        let filled = fs::read(folder.path().join("filled.xlsx")).unwrap();
        let book = Book::read("filled.xlsx", &filled).unwrap();
        let cell = |cell: &str| book.tab("Inputs").unwrap().cell(at(cell)).clone();
        let Cell::Number(found) = cell("C16") else { panic!("{name}: {}", cell("C16")) };
        assert!((found / energy - 1.0).abs() < 1e-12, "{name}: {found}, not {energy}");
        assert_eq!(cell("C19"), Cell::Number(750.0), "{name}");
        assert_eq!(cell("C20"), Cell::Text("all 3 checks hold".into()), "{name}");
        // what was there is still there
        assert_eq!(cell("B2"), Cell::Text("sheet brake-resistor".into()), "{name}");
        assert_eq!(cell("D6"), Cell::Text("kg·cm²".into()), "{name}");
        assert_eq!(cell("C7"), Cell::Number(1450.0), "{name}");
        if name.ends_with("xlsb") {
            assert_eq!(cell("G2"), Cell::Text("=1+1".into()));
            assert!(!book.tab("Inputs").unwrap().has_formula(at("G2")));
            assert_eq!(cell("G3"), Cell::Truth(true));
            assert_eq!(cell("G4"), Cell::Number(0.5));
            // the saved result of a formula
            assert_eq!(cell("G5"), Cell::Number(2900.0));
        }
        // and the fresh one is filled in place from then on
        let again = Command::new(env!("CARGO_BIN_EXE_standstill"))
            .args(["fill", "filled.xlsx"])
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(String::from_utf8_lossy(&again.stdout).contains("nothing was written"), "{name}");
    }
}
