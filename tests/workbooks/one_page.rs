//! A result workbook opens on one page that can be read and signed: by its XML for every sheet of the library, and as an
//! independent office suite shows it.

use std::fs;
use std::path::Path;
use std::process::Command;

use standstill::Sheet;
use standstill::library::SHEETS;
use standstill::spreadsheet::{Allow, Book, Cell, Edit, NewValue, Position, write_cells};
use standstill::workbook::result_book;

use super::files::part;
use super::recalculate::{recalculated, suite, without_results};

fn results(name: &str) -> standstill::Results {
    let sheet = Sheet::library(name).unwrap();
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    sheet.run(&inputs).unwrap()
}

/// The values of an attribute, in their order.
fn attributes<'a>(xml: &'a str, element: &str, name: &str) -> Vec<Option<&'a str>> {
    let begin = format!("<{element}");
    let of = |tag: &'a str| {
        let (_, value) = tag.split_once(&format!(" {name}=\""))?;
        value.split('"').next()
    };
    let elements = xml.split(&begin).skip(1).filter(|rest| rest.starts_with(' '));
    let tags = elements.map(|rest| rest.split('>').next().unwrap());
    tags.map(of).collect()
}

/// Height of a row that says nothing of it (ECMA-376 Part 1, 18.3.1.81, as the writer sets it), in points.
const ROW: f64 = 15.0;

/// What is left of a page of A4 (ISO 216: 297 mm) between its margins, in points, printed at two thirds: smaller letters
/// than 6.5 points are hard to read.
const PAGE: f64 = (297.0 / 25.4 - 1.3) * 72.0 / 0.66;

#[test]
fn the_first_tab_of_every_sheet_is_one_page_with_verdict_figures_settings_and_chart() {
    for shelved in SHEETS {
        let name = shelved.name;
        let results = results(name);
        let bytes = result_book(&results).unwrap();
        let book = part(&bytes, "xl/workbook.xml");
        let tabs = attributes(&book, "sheet", "name").into_iter().map(Option::unwrap);
        let hidden = attributes(&book, "sheet", "state");
        for (tab, state) in tabs.clone().zip(hidden) {
            let helps = ["stop", "integrals", "tables"].contains(&tab);
            assert_eq!(state, helps.then_some("hidden"), "{name} {tab}");
        }
        let names: Vec<&str> = tabs.collect();
        assert_eq!(names[..2], ["summary", "results"], "{name}");
        let xml = part(&bytes, "xl/worksheets/sheet1.xml");
        assert!(xml.contains("fitToPage=\"1\"") && !xml.contains("fitToHeight=\"0\""), "{name}");
        let area = book.split("summary!$A$1:$G$").nth(1).unwrap();
        let last: u32 = area.split('<').next().unwrap().parse().unwrap();
        let given = attributes(&xml, "row", "ht").into_iter().flatten();
        let given: Vec<f64> = given.map(|it| it.parse().unwrap()).collect();
        let plain = f64::from(last) - f64::from(u32::try_from(given.len()).unwrap());
        let high = given.iter().sum::<f64>() + plain * ROW;
        assert!(high <= PAGE, "{name}: {high} points");
        let read = Book::read("r.xlsx", &bytes).unwrap();
        let first = read.tab("summary").unwrap();
        let texts: Vec<&str> = first
            .entries()
            .filter_map(|entry| match &entry.cell {
                Cell::Text(text) => Some(text.as_str()),
                _ => None,
            })
            .collect();
        let program = results.program();
        let settings = program.outputs.iter().filter(|it| it.setting.is_some());
        for output in settings.clone() {
            assert_eq!(texts.iter().filter(|it| **it == output.name).count(), 2, "{name}");
        }
        let mut wanted =
            vec!["verdict", "decisive figures", "signatures", &program.scopes[0].title];
        wanted.extend((settings.count() > 0).then_some("to be set"));
        for words in wanted {
            assert!(texts.contains(&words), "{name}: {words}");
        }
        if names.contains(&"stop") {
            let drawing = part(&bytes, "xl/drawings/drawing1.xml");
            let row = drawing.split("<xdr:to>").skip(1).last().unwrap();
            let row = row.split("<xdr:row>").nth(1).unwrap().split('<').next().unwrap();
            assert!(row.parse::<u32>().unwrap() < last, "{name}: the chart leaves the page");
            assert!(xml.contains("<drawing "), "{name}");
        }
    }
}

/// The first page as the suite prints it: its lines in cells.
fn printed(suite: &str, file: &Path, folder: &Path) -> Vec<Vec<String>> {
    let made = Command::new(suite)
        .arg(format!("-env:UserInstallation=file://{}", folder.join("profile").display()))
        .args(["--headless", "--convert-to", "pdf", "--outdir"])
        .args([folder, file])
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let pdf = file.with_extension("pdf");
    let text = Command::new("pdftotext").args(["-l", "1", "-layout"]).arg(pdf).arg("-").output();
    let text = String::from_utf8(text.unwrap().stdout).unwrap();
    let cells = |line: &str| {
        let cells = line.split("  ").map(str::trim).filter(|it| !it.is_empty());
        cells.map(str::to_owned).collect()
    };
    text.lines().map(cells).collect()
}

#[test]
fn figures_are_shown_with_the_digits_of_the_report_and_no_changed_unit_is_believed() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let results = results("safe-stop");
    let bytes = result_book(&results).unwrap();
    let file = folder.path().join("shown.xlsx");
    fs::write(&file, without_results(&bytes)).unwrap();
    let rows = printed(suite, &file, folder.path());
    let mut found = 0;
    for output in results.program().outputs.iter().filter(|it| it.setting.is_none()) {
        let row = rows.iter().find(|row| row.first() == Some(&output.name)).unwrap();
        let report = results.to_text(output);
        let report = report.split(' ').next().unwrap();
        // zeros at the end say that a digit is known
        let there = row[1].split(' ').next().unwrap();
        let there = if there.contains('.') { there.trim_end_matches('0') } else { there };
        assert_eq!(there.trim_end_matches('.'), report, "{}", output.name);
        assert!(row[1..].concat().contains(&output.unit.symbol), "{}", output.name);
        found += 1;
    }
    assert_eq!(found, 25);
    assert!(rows.iter().any(|row| row.first().is_some_and(|it| it == "approved")), "{rows:?}");
    // a unit that is typed over beside a value, on the tab of results and on the first one
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let cell = |tab: &str, name: &str, column: u32| {
        let named = |row: &u32| {
            let cell = ours.tab(tab).unwrap().cell(Position::new(*row, 0).unwrap());
            *cell == Cell::Text(name.to_owned())
        };
        Position::new((0..80).find(named).unwrap(), column).unwrap()
    };
    let unit = |tab: &str, name: &str, to: &str| {
        Edit::new(tab, cell(tab, name, 2), NewValue::Text(to.to_owned()))
    };
    let edits = [unit("results", "S", "m"), unit("summary", "R_low", "kΩ")];
    let changed = write_cells("ours.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let file = folder.path().join("changed.xlsx");
    fs::write(&file, without_results(&changed.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder.path());
    let theirs = Book::read("theirs.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap();
    for (tab, name, wanted) in [
        ("results", "S", "ITS UNIT IS mm"),
        ("summary", "S", "ITS UNIT IS mm"),
        ("summary", "R_low", "ITS UNIT IS Ω"),
    ] {
        let there = theirs.tab(tab).unwrap().cell(cell(tab, name, 1));
        assert_eq!(there, &Cell::Text(wanted.to_owned()), "{tab} {name}");
    }
}
