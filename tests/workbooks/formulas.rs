//! Every cell of a result workbook, worked out afresh by an independent office suite, equals what was
//! worked out here on exact decimals.

use std::fs;

use standstill::Sheet;
use standstill::diagnostic::{Diagnostic, render_line};
use standstill::library::SHELVED;
use standstill::number::Slot;
use standstill::workbook::{Allow, Book, Cell, Edit, NewValue, Position, result_book, write_cells};

use super::recalculate::{recalculated, suite, without_results};

/// A sheet that has one of everything the language knows.
const EVERYTHING: &str = include_str!("everything.sheet");

/// Differences of nearly equal numbers lose digits in binary arithmetic: what is that much smaller than
/// one is as good as nothing.
const NOTHING: f64 = 1e-12;

fn differ(ours: &Cell, theirs: &Cell) -> Option<String> {
    let same = match (ours, theirs) {
        (Cell::Number(a), Cell::Number(b)) => {
            (a - b).abs() <= 1e-9 * a.abs().max(b.abs()) || (a.abs() < NOTHING && b.abs() < NOTHING)
        }
        (Cell::Text(a), Cell::Text(b)) => a == b,
        (Cell::Truth(a), Cell::Truth(b)) => a == b,
        (Cell::Error(_), Cell::Error(_)) => true,
        _ => false,
    };
    (!same).then(|| format!("{ours:?}, the office suite has {theirs:?}"))
}

fn told(problems: &[Diagnostic]) -> String {
    problems.iter().map(render_line).collect::<Vec<_>>().join("\n")
}

fn everything(text: &str) -> Sheet {
    Sheet::parse("everything.sheet", text).unwrap_or_else(|problems| panic!("{}", told(&problems)))
}

fn results(sheet: &Sheet) -> standstill::Results {
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    sheet.run(&inputs).unwrap_or_else(|problems| panic!("{}", told(&problems)))
}

#[test]
fn every_formula_is_worked_out_to_the_same_value() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let mut books = Vec::new();
    let mut sheets = vec![("everything".to_owned(), everything(EVERYTHING))];
    sheets.extend(
        SHELVED.iter().map(|sheet| (sheet.name.to_owned(), Sheet::library(sheet.name).unwrap())),
    );
    for (name, sheet) in &sheets {
        let bytes = result_book(&results(sheet)).unwrap();
        let file = folder.path().join(format!("{name}.xlsx"));
        fs::write(&file, without_results(&bytes)).unwrap();
        books.push((name.clone(), bytes, file));
    }
    let files: Vec<_> = books.iter().map(|(.., file)| file.clone()).collect();
    let afresh = recalculated(suite, &files, folder.path());
    let mut wrong = Vec::new();
    let mut formulas = 0;
    for ((name, bytes, _), file) in books.iter().zip(&afresh) {
        let ours = Book::read("ours.xlsx", bytes).unwrap();
        let theirs = Book::read("theirs.xlsx", &fs::read(file).unwrap()).unwrap();
        for tab in &ours.tabs {
            let other = theirs.tab(&tab.name).unwrap();
            for entry in tab.entries() {
                formulas += usize::from(entry.formula);
                if let Some(words) = differ(&entry.cell, other.cell(entry.position))
                    .filter(|_| !entry.cell.is_empty())
                {
                    wrong.push(format!("{name} ▸ {}!{}: {words}", tab.name, entry.position.name()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {formulas} formulas:\n{}", wrong.len(), wrong.join("\n"));
    // a workbook without formulas would pass all of the above
    assert!(formulas > 100 * SHELVED.len() / 3, "only {formulas} formulas");
}

#[test]
fn a_changed_input_is_followed_or_makes_an_error_never_an_old_value() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let sheet = everything(EVERYTHING);
    let bytes = result_book(&results(&sheet)).unwrap();
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let inputs = ours.tab("inputs").unwrap();
    let row = |tab: &str, name: &str| {
        let tab = ours.tab(tab).unwrap();
        let found = tab
            .entries()
            .find(|entry| entry.position.column == 0 && entry.cell == Cell::Text(name.to_owned()));
        found.unwrap_or_else(|| panic!("{name}")).position.row
    };
    let value = |name: &str| Position::new(row("inputs", name), 1).unwrap();
    assert_eq!(inputs.cell(value("x")), &Cell::Number(4.7));
    let edits = [
        Edit::new("inputs", value("x"), NewValue::Number(5.2)),
        Edit::new("inputs", value("n"), NewValue::Number(600.0)),
        Edit::new("inputs", value("mode"), NewValue::Text("linear".to_owned())),
        Edit::new("inputs", value("theta"), NewValue::Number(80.0)),
    ];
    let changed = write_cells("ours.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let file = folder.path().join("changed.xlsx");
    fs::write(&file, without_results(&changed.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder.path());
    let theirs = Book::read("theirs.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap();
    let mut inputs = sheet.inputs();
    for (name, text) in [("x", "5.2"), ("n", "600 r/min"), ("mode", "linear"), ("theta", "50 °C")]
    {
        inputs.write(name, text).unwrap();
    }
    inputs.fill_with_examples();
    let again = sheet.run(&inputs).unwrap();
    let cell = |name: &str| {
        theirs.tab("results").unwrap().cell(Position::new(row("results", name), 1).unwrap())
    };
    for output in &again.program().outputs {
        let Some(Slot::One(value)) = again.slot(output) else { continue };
        match output.name.as_str() {
            // this stands on a root
            "after" => assert!(matches!(cell("after"), Cell::Error(_)), "{:?}", cell("after")),
            // these stand on the temperature, which is out of range on purpose
            "warm" | "heat" => {}
            name => {
                let ours = Cell::Number(value.in_unit(&output.unit).unwrap().to_f64());
                assert_eq!(differ(&ours, cell(name)), None, "{name}");
            }
        }
    }
    assert_eq!(
        cell("ranges"),
        &Cell::Text("AN INPUT IS OUT OF ITS RANGE: see the tab inputs".to_owned())
    );
}

#[test]
fn the_same_results_make_the_same_bytes() {
    let sheet = everything(EVERYTHING);
    assert!(result_book(&results(&sheet)).unwrap() == result_book(&results(&sheet)).unwrap());
}

#[test]
fn texts_never_become_formulas() {
    let text = EVERYTHING
        .replace("\"One of everything\"", "\"=1+1\"")
        .replace("\"a length\"", "\"=cmd()\"")
        .replace("\"make it longer\"", "\"=HYPERLINK(1)\"");
    let sheet = everything(&text);
    let book = Book::read("r.xlsx", &result_book(&results(&sheet)).unwrap()).unwrap();
    let mut found = 0;
    for tab in &book.tabs {
        for entry in tab.entries() {
            if let Cell::Text(text) = &entry.cell
                && (text.starts_with("=1+1") || text.starts_with("=cmd"))
            {
                found += 1;
                assert!(!entry.formula, "{text}");
            }
        }
    }
    assert!(found >= 2);
}
