//! A `.csv` calculated while its rows pass by, into itself and into a fresh workbook; what is kept in memory;
//! what is told of hidden cells and of tolerances in a table.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::process::Command;

use rust_xlsxwriter::{Workbook, Worksheet};
use standstill::spreadsheet::{Book, Cell, Position, Reading, RowBook, write_fields};
use standstill::workbook::range::{Outcome, ProductLine, TableRequest, VariantVerdict, open};

use super::files::container;
use super::range::{Shelf, long};
use super::range_command::{LINE, at_work, json, out, output_text, standstill};

fn opened<'b>(name: &str, bytes: &'b [u8]) -> (RowBook<'b>, ProductLine) {
    let asked = TableRequest::default();
    let file = open(name, bytes, &Reading::default(), &asked, &Shelf).unwrap();
    let line = ProductLine::find(file.outline(), &asked, &Shelf).unwrap();
    (file, line)
}

/// The long line with what a `.csv` may have: a byte order mark, line ends of two kinds, quotes, separators
/// and a line end within a field, a row that is too short, no end of the last line.
fn strange(rows: u32) -> String {
    let mut text =
        format!("\u{feff}{}", long(rows).replacen("V7,", "\"V7, a \"\"b\"\"\r\nc\",", 1));
    text = text.replacen("V9,", "=V9+1,", 1);
    text.push_str("last,1\r\n\r\nsum of all,,,,7");
    text
}

#[test]
fn csv_rows_passing_by_give_the_file_that_memory_gives() {
    let text = strange(3000);
    let bytes = text.as_bytes();
    let whole = Book::read("long.csv", bytes).unwrap();
    let line = ProductLine::find(&whole, &TableRequest::default(), &Shelf).unwrap();
    let outcome = line.compute(&whole, 0..line.variants.len(), 1, &|_| {});
    let in_memory = write_fields("long.csv", bytes, &line.edits(&whole, &outcome), false).unwrap();
    assert!(outcome.count(VariantVerdict::Wrong) > 60 && outcome.variants.len() > 2 * 1024);

    let (file, found) = opened("long.csv", bytes);
    assert_eq!((&found.variants, &found.passed_over), (&line.variants, &line.passed_over));
    assert_eq!((&found.inputs, &found.results), (&line.inputs, &line.results));
    assert_eq!(file.text_that_runs().map(Position::name).as_deref(), Some("A15"));
    let mut variants = Vec::new();
    let look = |_: &Book, outcome: &Outcome| outcome.clone();
    let mut each = |more: Outcome| variants.extend(more.variants);
    let passing = found.write_rows(&file, &|_| {}, &look, &mut each).unwrap();
    assert_eq!(variants, outcome.variants);
    assert_eq!(passing.changed, in_memory.changed.len());
    assert!(passing.bytes == in_memory.bytes);
    // a second run writes nothing
    let (file, found) = opened("long.csv", &passing.bytes);
    let again = found.write_rows(&file, &|_| {}, &|_, _| (), &mut |()| {}).unwrap();
    assert_eq!((again.changed, again.bytes == passing.bytes), (0, true));
}

#[test]
fn a_fresh_workbook_holds_what_the_text_holds_and_the_results() {
    let text = strange(3000);
    let whole = Book::read("long.csv", text.as_bytes()).unwrap();
    let (file, line) = opened("long.csv", text.as_bytes());
    let span = 0..line.variants.len();
    let outcome = line.compute(&whole, span.clone(), 1, &|_| {});
    let fresh = line.fresh_rows(&file, &|_| {}, &|_, _| (), &mut |()| {}).unwrap();
    let edits = line.edits(&whole, &outcome);
    assert_eq!(fresh.changed, edits.len());
    let book = Book::read("fresh.xlsx", &fresh.bytes).unwrap();
    let tab = &book.tabs[0];
    let mut wanted: BTreeMap<Position, Cell> =
        whole.tabs[0].entries().map(|entry| (entry.position, entry.cell.clone())).collect();
    wanted.extend(edits.iter().map(|edit| (edit.position, edit.value.as_cell())));
    wanted.retain(|_, cell| !matches!(cell, Cell::Empty));
    let found: BTreeMap<Position, Cell> = tab
        .entries()
        .filter(|entry| !matches!(entry.cell, Cell::Empty))
        .map(|entry| (entry.position, entry.cell.clone()))
        .collect();
    assert_eq!(found.len(), wanted.len());
    for (position, cell) in &wanted {
        // a line end within a text is one sign in a workbook
        let same = match (&found[position], cell) {
            (Cell::Text(one), Cell::Text(other)) => {
                one.replace("\r\n", "\n") == other.replace("\r\n", "\n")
            }
            (one, other) => one == other,
        };
        assert!(same, "{}: {:?} {cell:?}", position.name(), found[position]);
        assert!(!tab.has_formula(*position), "{}", position.name());
    }
    // the thousand nearest of the margins
    assert_eq!(book.tabs[1].used().unwrap().last.row, 3 + 1000);
}

#[test]
fn what_is_kept_of_a_text_does_not_grow_with_its_rows() {
    let kept = |rows: u32, head: &str, row: &str| {
        let text = format!("{head}{}", row.repeat(rows as usize));
        let (file, line) = opened("line.csv", text.as_bytes());
        assert_eq!(line.variants.len(), rows as usize);
        file.outline().tabs[0].entries().count()
    };
    let head = "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\n\nname,J / (kg·m²),n_0 / (r/min)\n";
    assert_eq!(kept(200, head, "A,1.5,1450\n"), kept(20_000, head, "A,1.5,1450\n"));
    // one heading only, with texts beside it: what is kept ends with the first thousand rows
    let head = "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\nn_0,1450,r/min\n\nname,J / (kg·m²)\n";
    let (few, many) = (kept(3000, head, "A,1.5\n"), kept(20_000, head, "A,1.5\n"));
    assert_eq!(few, many);
    assert!(few < 2 * 1010 + 20, "{few}");
}

#[test]
fn a_value_for_all_rows_far_below_a_single_heading_is_answered_alike() {
    // the row of `J` alone could be a head; the table's head comes 2000 rows later, a shared value before it
    let mut text = String::from("sheet timed-stop\nJ / (kg·m²),\n");
    for row in 0..2000 {
        writeln!(text, "{row}").unwrap();
    }
    text.push_str("T_1,40,N·m\nt_max,8,s\nname,J / (kg·m²),n_0 / (r/min)\nA,1.5,1450\n");
    let asked = TableRequest::default();
    let whole = Book::read("line.csv", text.as_bytes()).unwrap();
    let in_memory = ProductLine::find(&whole, &asked, &Shelf).map(|line| line.header);
    let file = open("line.csv", text.as_bytes(), &Reading::default(), &asked, &Shelf).unwrap();
    let passing = ProductLine::find(file.outline(), &asked, &Shelf).map(|line| line.header);
    // the row of `J` could be the head as well: both readings ask, in the same words
    let said = |problems: &[standstill::diagnostic::Diagnostic]| {
        problems.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let (in_memory, passing) = (in_memory.unwrap_err(), passing.unwrap_err());
    assert_eq!(said(&in_memory.problems), said(&passing.problems));
    assert!(!in_memory.problems.is_empty());
}

/// A text as the second tab of an `.ods`, the numbers of the fourth column as percentages; the tab before it
/// and the one behind hold a remark.
fn ods(text: &str) -> Vec<u8> {
    let mut content = String::from(
        "<office:document-content xmlns:office=\"o\" xmlns:table=\"t\" xmlns:text=\"x\"><office:body><office:spreadsheet>",
    );
    let remark = |tab: &str| {
        format!(
            "<table:table table:name=\"{tab}\"><table:table-row><table:table-cell office:value-type=\"string\"><text:p>{tab}</text:p></table:table-cell></table:table-row></table:table>"
        )
    };
    content.push_str(&remark("Before"));
    content.push_str("<table:table table:name=\"Line\"><table:table-column/><table:table-column table:visibility=\"collapse\"/>");
    for line in text.lines() {
        content.push_str("<table:table-row>");
        for (column, field) in line.split(',').enumerate() {
            match field.parse::<f64>() {
                Ok(number) if column == 3 => write!(content, "<table:table-cell office:value-type=\"percentage\" office:value=\"{}\"/>", number / 100.0),
                Ok(number) => write!(content, "<table:table-cell office:value-type=\"float\" office:value=\"{number}\"/>"),
                Err(_) if field.is_empty() => write!(content, "<table:table-cell/>"),
                Err(_) => write!(content, "<table:table-cell office:value-type=\"string\"><text:p>{field}</text:p></table:table-cell>"),
            }
            .unwrap();
        }
        content.push_str("</table:table-row>");
    }
    // the last row stands for a hundred like it, and nothing follows to the end of the tab
    content = content.trim_end_matches("</table:table-row>").to_owned();
    let last = content.rfind("<table:table-row>").unwrap();
    content.insert_str(last + "<table:table-row".len(), " table:number-rows-repeated=\"100\"");
    content.push_str("</table:table-row><table:table-row table:number-rows-repeated=\"1000000\"><table:table-cell table:number-columns-repeated=\"16384\"/></table:table-row></table:table>");
    content.push_str(&remark("Behind"));
    content.push_str("</office:spreadsheet></office:body></office:document-content>");
    container(&[("content.xml", content.as_bytes())])
}

#[test]
fn ods_rows_passing_by_give_what_memory_gives() {
    let bytes = ods(&long(3000));
    let whole = Book::read("long.ods", &bytes).unwrap();
    let line = ProductLine::find(&whole, &TableRequest::default(), &Shelf).unwrap();
    let span = 0..line.variants.len();
    assert!(span.len() > 2 * 1024 + 100);
    let outcome = line.compute(&whole, span.clone(), 1, &|_| {});
    let (file, found) = opened("long.ods", &bytes);
    assert_eq!((&found.variants, &found.passed_over), (&line.variants, &line.passed_over));
    assert_eq!((&found.inputs, &found.results), (&line.inputs, &line.results));
    assert!(file.outline().tab("Line").unwrap().entries().count() < 40);
    let mut variants = Vec::new();
    let look = |_: &Book, outcome: &Outcome| outcome.clone();
    let mut each = |more: Outcome| variants.extend(more.variants);
    let fresh = found.fresh_rows(&file, &|_| {}, &look, &mut each).unwrap();
    assert_eq!(variants, outcome.variants);
    let book = Book::read("fresh.xlsx", &fresh.bytes).unwrap();
    let names: Vec<&str> = book.tabs.iter().map(|tab| tab.name.as_str()).collect();
    assert_eq!(names, ["Before", "Line", "Behind", "margins"]);
    for name in ["Before", "Behind"] {
        let first = Position { row: 0, column: 0 };
        assert_eq!(book.tab(name).unwrap().cell(first), &Cell::Text(name.to_owned()));
    }
    let edits: BTreeMap<Position, Cell> = line
        .edits(&whole, &outcome)
        .iter()
        .map(|edit| (edit.position, edit.value.as_cell()))
        .collect();
    let (old, new) = (whole.tab("Line").unwrap(), book.tab("Line").unwrap());
    let old: BTreeMap<Position, Cell> =
        old.entries().map(|entry| (entry.position, entry.cell.clone())).collect();
    let count = new.entries().filter(|entry| !matches!(entry.cell, Cell::Empty)).count();
    let mut wanted = old;
    wanted.extend(edits);
    wanted.retain(|_, cell| !matches!(cell, Cell::Empty));
    assert_eq!(count, wanted.len());
    for (position, cell) in &wanted {
        assert_eq!(new.cell(*position), cell, "{}", position.name());
    }
    let words: Vec<String> =
        found.hidden(file.outline()).iter().map(|caution| caution.headline.clone()).collect();
    assert_eq!(words, ["`J` and 2 more come from hidden columns"]);
}

/// A line of so many rows, each of about so many bytes.
fn rows(count: u32, remark: usize) -> String {
    let mut text = String::from(
        "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\n\nname,J / (kg·m²),n_0 / (r/min),remark\n",
    );
    let remark = "x".repeat(remark);
    for row in 0..count {
        let (inertia, speed) = (row % 4000 + 1, row % 2900);
        writeln!(text, "V{row},{}.{:03},{speed},{remark}", inertia / 1000, inertia % 1000).unwrap();
    }
    text
}

/// Runs the program on one core in an address space of so many MiB.
#[cfg(target_os = "linux")]
fn within(space: u64, folder: &std::path::Path, words: &[&str]) -> std::process::Output {
    let kibibytes = space << 10;
    Command::new("taskset")
        .args(["-c", "0", "sh", "-c"])
        .arg(format!("ulimit -v {kibibytes} && exec \"$0\" \"$@\""))
        .arg(env!("CARGO_BIN_EXE_standstill"))
        .args(words)
        .env("MALLOC_ARENA_MAX", "1")
        .current_dir(folder)
        .output()
        .unwrap()
}

/// What a run of some rows needs beside the program itself and the bytes that come in and go out, in MiB: measured on two
/// cores, with room. When all rows were in memory, each took about 2 KB: the larger of the two runs 78 MiB more.
#[cfg(target_os = "linux")]
const BESIDE: u64 = 40;

#[cfg(target_os = "linux")]
#[test]
fn memory_does_not_grow_with_the_rows_of_a_text() {
    let place = at_work();
    let program = fs::metadata(env!("CARGO_BIN_EXE_standstill")).unwrap().len() >> 20;
    for count in [4000, 40_000] {
        let text = rows(count, 10);
        fs::write(place.path().join("line.csv"), &text).unwrap();
        // in, and out with twice as many bytes a row
        let bytes = (4 * text.len() as u64) >> 20;
        let runs: &[&[&str]] = &[
            &["range", "line.csv", "-o", "whole.csv", "--force"],
            &["range", "line.csv", "-o", "out.xlsx", "--force"],
        ];
        for words in runs {
            let found = within(program + BESIDE + bytes, place.path(), words);
            let code = found.status.code();
            assert_eq!(code, Some(1), "{count} {words:?}: {}", output_text(&found));
        }
        fs::write(place.path().join("line.ods"), ods(&text)).unwrap();
        for output in ["out.xlsx", "out.csv"] {
            let words = ["range", "line.ods", "-o", output, "--force"];
            let found = within(program + BESIDE + bytes, place.path(), &words);
            assert_eq!(found.status.code(), Some(1), "{count} {words:?}: {}", output_text(&found));
        }
    }
}

#[test]
fn a_text_of_more_bytes_than_fill_takes_passes_through_range() {
    let place = at_work();
    let text = rows(1700, 10_000);
    assert!(text.len() > 16 << 20);
    fs::write(place.path().join("line.csv"), &text).unwrap();
    let found = standstill(place.path(), &["range", "line.csv", "-o", "out.csv", "--force"]);
    assert_eq!(found.status.code(), Some(0), "{}", output_text(&found));
    assert!(out(&found).contains("1700 variants: 1700 hold, 0 fail"), "{}", out(&found));
}

#[test]
fn a_tolerance_in_a_cell_of_the_table_counts_whether_or_not_the_worst_case_is_asked_for() {
    let place = at_work();
    for (table, counts) in [
        (LINE.to_owned(), 0),
        (LINE.replace("B,1,1450", "B,1,1450 r/min ± 10 r/min\nC,1 kg·m² ± 0.1 kg·m²,1450"), 2),
    ] {
        fs::write(place.path().join("line.csv"), table).unwrap();
        let found = standstill(place.path(), &["range", "line.csv", "-o", "out.csv", "--force"]);
        assert_eq!(found.status.code(), Some(0), "{}", output_text(&found));
        let written = fs::read_to_string(place.path().join("out.csv")).unwrap();
        assert!(written.matches("over the tolerances").count() >= counts, "{written}");
        assert_eq!(written.contains("over the tolerances"), counts > 0, "{written}");
    }
}

/// The line as a workbook, changed by hand.
fn workbook(change: &dyn Fn(&mut Worksheet)) -> Vec<u8> {
    let cells = Book::read("line.csv", LINE.as_bytes()).unwrap();
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("Line").unwrap();
    for entry in cells.tabs[0].entries() {
        let (row, column) = (entry.position.row, u16::try_from(entry.position.column).unwrap());
        match &entry.cell {
            Cell::Number(number) => tab.write(row, column, *number).unwrap(),
            Cell::Text(text) => tab.write(row, column, text).unwrap(),
            _ => tab,
        };
    }
    change(tab);
    // the first tab could not be hidden if it were the active one
    book.add_worksheet().set_name("Other").unwrap().set_active(true);
    book.save_to_buffer().unwrap()
}

#[test]
fn hidden_rows_and_columns_of_a_table_are_reported_once() {
    let place = at_work();
    let bytes = workbook(&|tab| {
        tab.set_column_hidden(1).unwrap();
        tab.set_row_hidden(1).unwrap();
        tab.set_row_hidden(5).unwrap();
        tab.set_row_hidden(6).unwrap();
    });
    fs::write(place.path().join("line.xlsx"), bytes).unwrap();
    let found = standstill(place.path(), &["range", "line.xlsx", "--dry-run"]);
    assert_eq!(
        output_text(&found),
        "line.xlsx ▸ Line!B5: caution hidden-cells: `J` and 2 more come from hidden rows and columns; show row 2 and column B before the figures are checked\n\
         line.xlsx ▸ Line!A6: caution hidden-cells: 2 variants stand in hidden rows; they are calculated like the others; show the rows, or take the filter off, before the figures are checked\n"
    );
    let found = json(&standstill(place.path(), &["range", "line.xlsx", "--dry-run", "--json"]));
    let remarks = found["remarks"].as_array().unwrap().iter();
    assert_eq!(remarks.filter(|it| it["name"] == "hidden-cells").count(), 2, "{found}");
    // nothing hidden, nothing told
    fs::write(place.path().join("line.xlsx"), workbook(&|_| {})).unwrap();
    assert_eq!(output_text(&standstill(place.path(), &["range", "line.xlsx", "--dry-run"])), "");
    // a whole tab
    let bytes = workbook(&|tab| {
        tab.set_hidden(true);
    });
    fs::write(place.path().join("line.xlsx"), bytes).unwrap();
    let found = standstill(place.path(), &["range", "line.xlsx", "--dry-run"]);
    assert_eq!(
        output_text(&found),
        "line.xlsx: caution hidden-tab: `J` and 3 more come from, and `t_stop` and 3 more go to, the tab `Line`, which is hidden; show the tab `Line` before the figures are checked\n"
    );
}

#[test]
fn hidden_cells_of_a_fill_are_reported_once() {
    let place = tempfile::tempdir().unwrap();
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("Run-down").unwrap();
    let rows: [(&str, Option<f64>, &str); 5] = [
        ("sheet run-down", None, ""),
        ("J", Some(2.0), "kg·m²"),
        ("n_0", Some(1500.0), "r/min"),
        ("T_0", Some(4.0), "N·m"),
        ("t_stop", None, "s"),
    ];
    for (row, (name, value, unit)) in (0..).zip(rows) {
        tab.write(row, 0, name).unwrap().write(row, 2, unit).unwrap();
        if let Some(value) = value {
            tab.write(row, 1, value).unwrap();
        }
    }
    tab.set_row_hidden(2).unwrap().set_row_hidden(4).unwrap();
    fs::write(place.path().join("book.xlsx"), book.save_to_buffer().unwrap()).unwrap();
    let found = standstill(place.path(), &["fill", "book.xlsx", "--json"]);
    assert_eq!(found.status.code(), Some(0), "{}", output_text(&found));
    let found = json(&found);
    let cautions = found["remarks"].as_array().unwrap();
    assert_eq!(cautions.len(), 1, "{cautions:?}");
    assert_eq!(cautions[0]["name"], "hidden-cells");
    assert_eq!(cautions[0]["headline"], "`n_0` comes from, and `t_stop` goes to, hidden rows");
    let bytes = fs::read(place.path().join("book.xlsx")).unwrap();
    let filled = Book::read("book.xlsx", &bytes).unwrap();
    // 25π s: J·ω/T with J 2 kg·m², 1500 r/min, 4 N·m
    let found = filled.tabs[0].cell(Position::parse("B5").unwrap());
    let Cell::Number(found) = found else { panic!("{found:?}") };
    assert!((found / (25.0 * std::f64::consts::PI) - 1.0).abs() < 1e-12);
}
