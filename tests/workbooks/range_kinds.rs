//! `standstill range` from one kind of file into another.

use std::fs;
use std::process::Command;

use standstill::spreadsheet::{Book, Cell, Tab};

use super::files::{at, entries};
use super::range_command::{LINE, at_work, json, out, output_text, standstill};
use super::range_rows::long_book;

fn number(tab: &Tab, cell: &str) -> f64 {
    match tab.cell(at(cell)) {
        Cell::Number(number) => *number,
        other => panic!("{cell} holds {other}"),
    }
}

fn text(text: &str) -> Cell {
    Cell::Text(text.to_owned())
}

#[test]
fn a_csv_becomes_a_workbook_with_a_tab_of_margins() {
    let place = at_work();
    let line = LINE.replace("A,1.5", "=1+2,1.5") + "C,3,1450\nD,,1450\n";
    fs::write(place.path().join("line.csv"), &line).unwrap();
    let found = standstill(place.path(), &["range", "line.csv", "-o", "line.xlsx"]);
    assert_eq!(found.status.code(), Some(2), "{}", output_text(&found));
    assert!(
        out(&found).contains("4 variants: 2 hold, 1 fail, 1 could not be calculated"),
        "{}",
        out(&found)
    );
    assert_eq!(fs::read_to_string(place.path().join("line.csv")).unwrap(), line);
    let bytes = fs::read(place.path().join("line.xlsx")).unwrap();
    let book = Book::read("line.xlsx", &bytes).unwrap();
    let names: Vec<&str> = book.tabs.iter().map(|tab| tab.name.as_str()).collect();
    assert_eq!(names, ["Sheet1", "margins"]);
    let tab = &book.tabs[0];
    // a text stays a text
    assert_eq!((tab.cell(at("A6")), tab.has_formula(at("A6"))), (&text("=1+2"), false));
    assert_eq!(tab.cell(at("D5")), &text("t_stop / s"));
    // J·n·2π/60/40 with Python 3, for J = 1.5, 1 and 3
    for (cell, wanted) in
        [("D6", 5.6941366846315), ("D7", 3.7960911230877), ("D8", 11.388273369263)]
    {
        assert!((number(tab, cell) - wanted).abs() < 1e-9 * wanted, "{cell}");
    }
    assert_eq!(tab.cell(at("G8")), &text("FAILS: it stops in time: raise the torque"));
    assert_eq!(tab.cell(at("D9")), &Cell::Empty);
    // (8 s - t_stop)/8 s, and beyond the limit (8 s - t_stop)/t_stop; the caution does not count
    let tab = &book.tabs[1];
    assert_eq!(tab.cell(at("A5")), &text("C (row 8): FAILS"));
    assert!((number(tab, "C5") - 100.0 * (8.0 - 11.388273369263) / 11.388273369263).abs() < 1e-6);
    assert_eq!(tab.cell(at("A6")), &text("=1+2 (row 6)"));
    assert!((number(tab, "B6") - 100.0 * (8.0 - 5.6941366846315) / 8.0).abs() < 1e-6);
    assert_eq!(tab.cell(at("D7")), &text("it stops in time"));
    assert_eq!(tab.cell(at("A8")), &Cell::Empty);
    // D was not calculated
    let bare = "Not here, without any margin: 1 that fail, are not proved or are not calculated; the table's status says which.";
    assert_eq!(tab.cell(at("D3")), &text(bare));
    let chart = entries(&bytes).into_iter().find(|entry| entry.name == "xl/charts/chart1.xml");
    let chart = chart.unwrap().content;
    assert!(chart.contains("margins!$B$5:$B$7") && chart.contains("margins!$A$5:$A$7"), "{chart}");
    // the same input makes the same bytes
    standstill(place.path(), &["range", "line.csv", "-o", "again.xlsx"]);
    assert_eq!(fs::read(place.path().join("again.xlsx")).unwrap(), bytes);
}

#[test]
fn the_first_line_of_a_csv_may_be_the_head_of_the_table() {
    let place = at_work();
    // no cell names the sheet: it stands behind the file
    let line = "J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n2,1500,4\n2,1500,8\n";
    fs::write(place.path().join("head.csv"), line).unwrap();
    let found =
        standstill(place.path(), &["range", "head.csv", "run-down", "--all", "-o", "out.csv"]);
    assert_eq!(found.status.code(), Some(0), "{}", output_text(&found));
    let book = Book::read("out.csv", &fs::read(place.path().join("out.csv")).unwrap()).unwrap();
    // J·ω/T by hand: 2 · 157.0796327 / 4, and half of it
    assert!((number(&book.tabs[0], "D2") - 78.539_816_34).abs() < 1e-7);
    assert!((number(&book.tabs[0], "D3") - 39.269_908_17).abs() < 1e-7);
}

#[test]
fn an_ods_goes_into_a_fresh_workbook_and_never_into_itself() {
    let place = at_work();
    let name = "units_in_headings_libreoffice_7.4.7.ods";
    let before = fs::read(place.path().join(name)).unwrap();
    let found = standstill(place.path(), &["range", name, "timed-stop"]);
    assert_eq!(found.status.code(), Some(4));
    assert!(
        output_text(&found).contains("write the results into a fresh workbook: `-o NAME.xlsx`"),
        "{}",
        output_text(&found)
    );
    let found = standstill(place.path(), &["range", name, "timed-stop", "-o", "line.xlsx"]);
    assert_eq!(found.status.code(), Some(2), "{}", output_text(&found));
    assert!(out(&found).contains("values-only"), "{}", out(&found));
    assert_eq!(fs::read(place.path().join(name)).unwrap(), before);
    let bytes = fs::read(place.path().join("line.xlsx")).unwrap();
    let book = Book::read("line.xlsx", &bytes).unwrap();
    let tab = book.tab("Table").unwrap();
    // Python 3: J*w*w/2 with J = 1.5 and w = 1450*2*pi/60
    assert!((number(tab, "J5") - 17292.369377741983).abs() < 1e-9 * 17292.0);
    // 90 % of 40 N·m: the fraction and its sign are not read apart, and stay together
    assert_eq!((number(tab, "K5"), number(tab, "K6")), (10125.0, 20250.0));
    assert_eq!((number(tab, "G5"), tab.format(at("G5"))), (0.9, "0.##%"));
}

#[test]
fn a_workbook_becomes_a_text_with_a_decimal_comma_where_that_is_said() {
    let place = at_work();
    let book = "units_in_a_row_openpyxl_3.1.5.xlsx";
    let before = fs::read(place.path().join(book)).unwrap();
    let found = standstill(place.path(), &["range", book, "-o", "line.csv", "--decimal-comma"]);
    assert_eq!(found.status.code(), Some(2), "{}", output_text(&found));
    assert_eq!(fs::read(place.path().join(book)).unwrap(), before);
    let written = fs::read_to_string(place.path().join("line.csv")).unwrap();
    let lines: Vec<&str> = written.split("\r\n").collect();
    assert_eq!(lines[1], ";sheet timed-stop");
    assert_eq!(lines[6], ";press;J;n_0;J in words;t_stop;twice;status");
    assert_eq!(lines[7], ";;kg·m²;r/min;;ms");
    // Python 3: 1.5*1450*2*pi/60/40*1000
    assert_eq!(lines[8], ";P1;1,5;1450;;5694,1366846315;;both checks hold");
    assert_eq!(lines[10], "");
    assert_eq!(
        lines[17],
        ";P8;250;50;;32724,923474894;;\"FAILS: it stops in time: raise the torque; with a question: `J` of row 18 is 250, 100 times the next in its column, 2.5\""
    );
    assert_eq!(lines.len(), 19);
    // a percentage is a fraction with a format, which a text does not have
    let headed = "units_in_headings_xlsxwriter_3.3.1.xlsx";
    standstill(place.path(), &["range", headed, "timed-stop", "-o", "headed.csv"]);
    let written = fs::read_to_string(place.path().join("headed.csv")).unwrap();
    let lines: Vec<&str> = written.split("\r\n").collect();
    assert!(
        lines[3].starts_with(",no.,machine,J [kg·cm²],n_0/(r/min),T_1 in N·m,share / %,wet,"),
        "{written}"
    );
    assert!(
        lines[4].contains(",40,90,no,") && lines[4].contains(",17292.369377742,10125,"),
        "{written}"
    );
    let found = standstill(place.path(), &["range", book, "-o", "line.pdf"]);
    assert_eq!(found.status.code(), Some(2));
    assert!(
        output_text(&found).contains("write `-o line.xlsx` or `-o line.csv`"),
        "{}",
        output_text(&found)
    );
}

#[test]
fn the_summary_of_a_long_workbook_names_the_worst_variants() {
    let place = at_work();
    fs::write(place.path().join("long.xlsx"), long_book(2500)).unwrap();
    let run = |words: &[&str]| standstill(place.path(), &[&["range", "long.xlsx"], words].concat());
    // the worst variants stand far apart, each is named with what is left
    let summary = json(&run(&["--json", "--dry-run"]));
    for check in summary["checks"].as_array().unwrap() {
        assert!(check["worst"]["left"].is_string(), "{check}");
    }
}

#[test]
fn a_workbook_is_compared_with_the_results_it_holds() {
    let place = at_work();
    let book = "units_in_headings_xlsxwriter_3.3.1.xlsx";
    let run = |words: &[&str]| {
        standstill(place.path(), &[&["range", book, "timed-stop"], words].concat())
    };
    // its old results are other figures
    let moved = run(&["--changed"]);
    assert!(out(&moved).contains("variants have moved. Nothing was written."), "{}", out(&moved));
    run(&[]);
    assert!(out(&run(&["--changed"])).contains("No variant has moved. Nothing was written."));
}

/// `script` runs a command on a terminal of its own; it comes with every system of the kind that CI is.
#[test]
fn a_bar_with_rows_and_time_left_is_drawn_on_a_terminal_and_only_there() {
    let place = at_work();
    let mut line = LINE.to_owned();
    for row in 0..4000 {
        line.push_str(&format!("V{row},1,{}\n", 40 + row % 999));
    }
    fs::write(place.path().join("line.csv"), &line).unwrap();
    let run = format!("{} range line.csv --dry-run", env!("CARGO_BIN_EXE_standstill"));
    let drawn = Command::new("script")
        .args(["-qec", &run, "/dev/null"])
        .current_dir(place.path())
        .output()
        .unwrap();
    let drawn = out(&drawn);
    assert!(drawn.contains(" of 4,002 variants, ") && drawn.contains(" left"), "{drawn}");
    let piped = standstill(place.path(), &["range", "line.csv", "--dry-run"]);
    assert_eq!(output_text(&piped), "");
    assert!(!out(&piped).contains(" left\r"));
}
