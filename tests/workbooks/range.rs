//! Product lines: the table recognised, each variant calculated, wrong rows named, spans merged.
//!
//! Values are compared with a run of the same row alone on exact decimals, and for some rows with
//! figures of Python 3 (`J*n*2*pi/60/T`, double precision).

use std::path::Path;
use std::sync::Arc;

use standstill::Sheet;
use standstill::diagnostic::{Diagnostic, Place, Source};
use standstill::environment::NoFs;
use standstill::program::Sheets;
use standstill::program::{Checked, NoResolver, Output, compile};
use standstill::project::Project;
use standstill::spreadsheet::{
    Allow, Book, Cell, NewValue, Position, Reading, write_cells, write_fields,
};
use standstill::unit::parse_unit;
use standstill::workbook::Unfilled;
use standstill::workbook::range::{Outcome, ProductLine, TableRequest, VariantVerdict};

use super::files::{at, entries};

/// The sheet of these tests and those of the library.
pub(super) struct Shelf;

impl Sheets for Shelf {
    fn checked(&self, name: &str, place: &Place) -> Result<Checked, Box<Diagnostic>> {
        let library = Project::new(&NoFs);
        match name {
            "timed-stop" => Ok(compile(&Source::new("timed-stop.sheet", sheet_text()), &library)),
            other => library.checked(other, place),
        }
    }

    fn names(&self) -> Vec<String> {
        vec!["timed-stop".to_owned(), "safe-stop".to_owned()]
    }
}

pub(super) fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/lines")
}

fn sheet_text() -> String {
    std::fs::read_to_string(folder().join("timed-stop.sheet")).unwrap()
}

fn file(name: &str) -> Vec<u8> {
    std::fs::read(folder().join(name)).unwrap()
}

fn find(book: &Book, sheet: Option<&str>) -> Result<ProductLine, Unfilled> {
    let asked = TableRequest { sheet: sheet.map(str::to_owned), ..TableRequest::default() };
    ProductLine::find(book, &asked, &Shelf)
}

fn whole(book: &Book, line: &ProductLine) -> Outcome {
    line.compute(book, 0..line.variants.len(), 2, &|_| {})
}

/// A result of one run on exact decimals, in a unit.
fn alone(inputs: &[(&str, String)], name: &str, unit: &str) -> f64 {
    let sheet = Sheet::parse("timed-stop.sheet", &sheet_text()).unwrap();
    let mut given = sheet.inputs();
    for (name, text) in inputs {
        given.write(name, text).unwrap();
    }
    let value = sheet.run(&given).unwrap().exact(name).unwrap();
    value.in_unit(&parse_unit(unit).unwrap()).unwrap().to_f64()
}

fn close(found: f64, wanted: f64) -> bool {
    // what runs by columns promise against runs on exact decimals
    (found - wanted).abs() <= 1e-9 * wanted.abs()
}

fn named(line: &ProductLine, result: usize) -> &Output {
    &line.program.outputs[line.results[result].output]
}

const ROW_BOOK: &str = "units_in_a_row_openpyxl_3.1.5.xlsx";
const HEADED_BOOK: &str = "units_in_headings_xlsxwriter_3.3.1.xlsx";

#[test]
fn a_table_is_found_wherever_it_stands_with_units_in_a_row_and_shared_inputs_above() {
    let bytes = file(ROW_BOOK);
    let book = Book::read(ROW_BOOK, &bytes).unwrap();
    let line = find(&book, None).unwrap();
    assert_eq!((line.tab.as_str(), line.header, line.units), ("Line", 6, Some(7)));
    // row 11 is empty, row 15 holds none of the inputs; rows counted from 0 here
    assert_eq!(line.variants, [8, 9, 11, 12, 13, 15, 16, 17]);
    assert_eq!(line.passed_over, [14]);
    // the sheet gives more, the person asked for one result
    assert_eq!(line.results.len(), 1);
    let outcome = whole(&book, &line);
    let edits = line.edits(&book, &outcome);
    let written = write_cells(ROW_BOOK, &bytes, &edits, Allow::default()).unwrap();
    let after = Book::read(ROW_BOOK, &written.bytes).unwrap();
    let tab = after.tab("Line").unwrap();
    let number = |cell: &str| match tab.cell(at(cell)) {
        Cell::Number(number) => *number,
        other => panic!("{cell} holds {other}"),
    };
    // Python 3: J*n*2*pi/60/40*1000
    for (cell, wanted, inertia, speed) in [
        ("F9", 5694.1366846315, "1.5", "1450"),
        ("F10", 9490.227807719168, "2.5", "1450"),
        ("F17", 4712.38898038469, "0.6", "3000"),
        ("F18", 32724.923474893677, "250", "50"),
    ] {
        assert!(close(number(cell), wanted), "{cell}");
        let inputs = [
            ("J", format!("{inertia} kg·m²")),
            ("n_0", format!("{speed} r/min")),
            ("T_1", "40 N·m".to_owned()),
            ("t_max", "8000 ms".to_owned()),
        ];
        assert!(close(number(cell), alone(&inputs, "t_stop", "ms")), "{cell}");
    }
    for (cell, words) in [
        ("H7", "status"),
        ("H9", "both checks hold"),
        ("H10", "FAILS: it stops in time: raise the torque"),
        (
            "H12",
            "not calculated: `n_0` (speed of rotation) needs a number, the cell holds the text \"1450rpm\"",
        ),
        (
            "H13",
            "not calculated: `J` (inertia) needs a number, the cell is empty; empty is not zero",
        ),
        ("H14", "not calculated: `n_0` = 3600 r/min is not within 0 r/min to 3000 r/min"),
        (
            "H16",
            "not calculated: `J` (inertia) needs a number, and the formula in the cell gives nothing, or its result was never saved",
        ),
        ("E10", "about as before"),
    ] {
        assert_eq!(tab.cell(at(cell)), &Cell::Text(words.to_owned()), "{cell}");
    }
    for cell in ["F12", "F13", "F14", "F15", "F16", "H8", "H11", "H15"] {
        assert_eq!(tab.cell(at(cell)), &Cell::Empty, "{cell}");
    }
    // only the tab itself has changed
    let changed: Vec<String> = entries(&bytes)
        .iter()
        .zip(entries(&written.bytes))
        .filter(|(old, new)| *old != new)
        .map(|(old, _)| old.name.clone())
        .collect();
    assert_eq!(changed, ["xl/worksheets/sheet2.xml"]);
    // `=2*F9` and its like beside the four results that are new
    assert_eq!(written.to_recalculate.len(), 4);
}

#[test]
fn a_second_run_writes_nothing() {
    for (name, sheet) in [(ROW_BOOK, None), (HEADED_BOOK, Some("timed-stop"))] {
        let bytes = file(name);
        let book = Book::read(name, &bytes).unwrap();
        let line = find(&book, sheet).unwrap();
        let edits = line.edits(&book, &whole(&book, &line));
        let written = write_cells(name, &bytes, &edits, Allow::default()).unwrap();
        let again = Book::read(name, &written.bytes).unwrap();
        let line = find(&again, sheet).unwrap();
        let outcome = whole(&again, &line);
        assert_eq!(line.edits(&again, &outcome), [], "{name}");
        assert_eq!(line.moved(&again, &outcome), [], "{name}");
    }
}

#[test]
fn every_way_of_heading_a_unit_is_read_and_old_results_of_wrong_rows_go() {
    let bytes = file(HEADED_BOOK);
    let book = Book::read(HEADED_BOOK, &bytes).unwrap();
    let line = find(&book, Some("timed-stop")).unwrap();
    assert_eq!((line.header, line.units, line.status.column), (3, None, 11));
    let outcome = whole(&book, &line);
    let values: Vec<&[NewValue]> =
        outcome.variants.iter().map(|variant| variant.values.as_slice()).collect();
    assert_eq!(named(&line, 0).name, "E");
    // Python 3: J*w*w/2 with J = 1.5 and w = 1450*2*pi/60; 1600 mm/s for J*w/(0.9*40), and twice as long
    for (row, wanted, distance) in
        [(0, 17292.369377741983, 10125.0), (1, 17292.369377741983, 20250.0)]
    {
        let [NewValue::Number(energy), distance_found] = values[row] else { panic!("two numbers") };
        assert!(close(*energy, wanted), "{energy}");
        assert_eq!(*distance_found, NewValue::Number(distance));
        let inputs = [
            ("J", "15000 kg·cm²"),
            ("n_0", "1450 r/min"),
            ("T_1", "40 N·m"),
            ("share", "90 %"),
            ("wet", if row == 0 { "no" } else { "yes" }),
            ("t_max", "8000 ms"),
        ]
        .map(|(name, text)| (name, text.to_owned()));
        assert!(close(*energy, alone(&inputs, "E", "J")));
        assert!(close(distance, alone(&inputs, "S", "mm")));
    }
    let verdicts: Vec<VariantVerdict> =
        outcome.variants.iter().map(|variant| variant.verdict).collect();
    assert_eq!(
        verdicts,
        [
            VariantVerdict::Holds,
            VariantVerdict::Fails,
            VariantVerdict::Wrong,
            VariantVerdict::Wrong
        ]
    );
    assert_eq!(values[2], [NewValue::Empty, NewValue::Empty]);
    let named: Vec<(&str, String)> = outcome
        .variants
        .iter()
        .flat_map(|variant| &variant.problems)
        .map(|problem| (problem.name.word(), problem.place.as_ref().unwrap().to_text()))
        .collect();
    assert_eq!(
        named,
        [
            ("unknown-word", format!("{HEADED_BOOK} ▸ Table!H7")),
            ("divided-by-zero", format!("{HEADED_BOOK} ▸ Table!B8")),
        ]
    );
    let checks = line.checks_of(&book, &outcome.checks);
    assert_eq!((checks[0].fails, checks[1].fails), (1, 0));
    let worst = checks[0].worst.as_ref().unwrap();
    // 8 s - 12.6536 s
    assert_eq!(
        (worst.row, worst.margin.as_ref().unwrap().left.as_deref(), worst.holds),
        (5, Some("-4.6536 s"), false)
    );
    assert_eq!(line.variant_text(&book, worst.row), "wet (row 6)");
}

fn csv(text: &str, decimal_comma: bool) -> Book {
    Book::read_as("line.csv", text.as_bytes(), &Reading { decimal_comma, ..Reading::default() })
        .unwrap()
}

#[test]
fn a_csv_keeps_its_separator_its_quotes_and_its_line_ends() {
    let text = "\u{feff}sheet timed-stop;;\r\nT_1;40;N·m\r\nt_max;8;s\r\n\r\nmachine;\"J / (kg·m²)\";n_0 / (r/min)\r\n\"A \"\"x\"\"\";1,5;1450\r\n=1+2;2,5;1450\r\n";
    let book = csv(text, true);
    let line = find(&book, None).unwrap();
    let edits = line.edits(&book, &whole(&book, &line));
    let written = write_fields("line.csv", text.as_bytes(), &edits, true).unwrap();
    let found = String::from_utf8(written.bytes.clone()).unwrap();
    // Python 3: 5.6941366846315, 17.292369377741983 and 9.490227807719168, 28.820615629569966
    assert_eq!(
        found,
        "\u{feff}sheet timed-stop;;\r\nT_1;40;N·m\r\nt_max;8;s\r\n\r\nmachine;\"J / (kg·m²)\";n_0 / (r/min);t_stop / s;E / kJ;S / mm;status\r\n\
         \"A \"\"x\"\"\";1,5;1450;5,6941366846315;17,292369377742;9115;both checks hold\r\n\
         =1+2;2,5;1450;9,4902278077192;28,82061562957;15185;FAILS: it stops in time: raise the torque\r\n"
    );
    let again = csv(&found, true);
    let line = find(&again, None).unwrap();
    assert_eq!(line.edits(&again, &whole(&again, &line)), []);
    // a comma counts only when it is said
    let problems = find(&csv(text, false), None)
        .map(|line| whole(&csv(text, false), &line).variants[0].problems.clone());
    assert_eq!(problems.unwrap()[0].name.word(), "text-for-number");
}

#[test]
fn a_text_that_is_written_never_becomes_a_formula() {
    let text = "sheet s\n\nx,words\n1,\n";
    let sheet = "sheet s\ntitle \"t\"\nsource \"none\"\ntakes\n  x : ratio like 1 \"x\"\nworks\n  y = x\nholds\n  y > 2 \"=cmd()\"\ngives\n  y\n";
    struct One(String);
    impl Sheets for One {
        fn checked(&self, _: &str, _: &Place) -> Result<Checked, Box<Diagnostic>> {
            Ok(compile(&Source::new("s.sheet", self.0.as_str()), &NoResolver))
        }
        fn names(&self) -> Vec<String> {
            Vec::new()
        }
    }
    // a status begins with a word of ours; a result that is a word of the sheet could begin with anything
    let book = csv(text, false);
    let line = ProductLine::find(&book, &TableRequest::default(), &One(sheet.to_owned())).unwrap();
    let mut outcome = whole(&book, &line);
    assert_eq!(&*outcome.variants[0].status, "FAILS: =cmd()");
    outcome.variants[0].status = Arc::from("=cmd()");
    outcome.variants[0].values[0] = NewValue::Text("@x".to_owned());
    let written =
        write_fields("line.csv", text.as_bytes(), &line.edits(&book, &outcome), false).unwrap();
    assert_eq!(
        String::from_utf8(written.bytes).unwrap(),
        "sheet s\n\nx,words,y,status\n1,,'@x,'=cmd()\n"
    );
}

/// A long line with wrong rows strewn in; a plain congruential sequence, so that it is the same each time.
pub(super) fn long(rows: u32) -> String {
    let mut text = String::from(
        "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\n\nname,J / (kg·m²),n_0 / (r/min),share / %\n",
    );
    let mut state = 12345_u64;
    let mut next = |below: u64| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % below
    };
    for row in 0..rows {
        let inertia = format!("{}.{:03}", next(4), next(1000));
        match next(50) {
            0 => text.push_str(&format!("V{row},{inertia},1450rpm,80\n")),
            1 => text.push_str(&format!("V{row},,1450,80\n")),
            2 => text.push('\n'),
            3 => text.push_str(&format!("V{row},{inertia},1450,0\n")),
            _ => text.push_str(&format!("V{row},{inertia},{},{}\n", next(3100), 50 + next(50))),
        }
    }
    text
}

#[test]
fn spans_put_together_are_the_whole_and_threads_change_nothing() {
    let text = long(3000);
    let book = csv(&text, false);
    let line = find(&book, None).unwrap();
    let count = line.variants.len();
    let one = line.compute(&book, 0..count, 1, &|_| {});
    let done = std::sync::atomic::AtomicUsize::new(0);
    let many = line.compute(&book, 0..count, 5, &|more| {
        done.fetch_add(more, std::sync::atomic::Ordering::Relaxed);
    });
    assert_eq!(one, many);
    assert_eq!(done.into_inner(), count);
    let wrong = one.count(VariantVerdict::Wrong);
    assert!(
        wrong > 60
            && one.count(VariantVerdict::Holds) > 1000
            && one.count(VariantVerdict::Fails) > 100,
        "{wrong}"
    );
    // a span is a piece of the whole wherever it is cut
    for (from, to) in [(1500, count), (0, 7), (7, 1025), (1025, 1500)] {
        let piece = line.compute(&book, from..to, 2, &|_| {});
        assert_eq!(piece.variants, one.variants[from..to]);
    }
}

#[test]
fn each_row_by_columns_is_what_it_is_alone() {
    let text = long(400);
    let book = csv(&text, false);
    let line = find(&book, None).unwrap();
    let tab = book.tab("").unwrap();
    let mut compared = 0;
    for variant in whole(&book, &line)
        .variants
        .iter()
        .filter(|variant| variant.verdict != VariantVerdict::Wrong)
    {
        let cell = |column: u32| match tab.cell(Position::new(variant.row, column).unwrap()) {
            Cell::Number(number) => number.to_string(),
            other => panic!("{other}"),
        };
        let inputs = [
            ("J", format!("{} kg·m²", cell(1))),
            ("n_0", format!("{} r/min", cell(2))),
            ("share", format!("{} %", cell(3))),
            ("T_1", "40 N·m".to_owned()),
            ("t_max", "8 s".to_owned()),
        ];
        for (at, unit) in [(0, "s"), (1, "kJ"), (2, "mm")] {
            let NewValue::Number(found) = variant.values[at] else { panic!("a number") };
            assert!(
                close(found, alone(&inputs, &named(&line, at).name, unit)),
                "row {}",
                variant.row
            );
        }
        compared += 1;
    }
    assert!(compared > 300, "{compared}");
}

#[test]
fn a_wrong_head_is_reported_whole_and_once() {
    let printed = |text: &str| -> Vec<String> {
        let problems = find(&csv(text, false), None).unwrap_err().problems;
        problems.iter().map(standstill::diagnostic::render_line).collect()
    };
    let lines = printed("sheet timed-stop\nT_1,40,\nt_max,-8,s\n\nname,J,n0 / (r/min)\na,1,2\n");
    assert_eq!(lines.len(), 5, "{lines:#?}");
    assert!(
        lines.iter().any(|line| line.starts_with("line.csv ▸ C5: error unknown-row:")),
        "{lines:#?}"
    );
    assert!(
        lines.iter().any(|line| line.starts_with("line.csv ▸ B2: error missing-unit:")),
        "{lines:#?}"
    );
    assert!(
        lines.iter().any(|line| line.starts_with("line.csv ▸ B3: error out-of-range:")),
        "{lines:#?}"
    );
    assert!(
        lines.iter().any(|line| line.starts_with(
            "line.csv ▸ B5: error missing-unit: the column of `J` (inertia) says no unit"
        )),
        "{lines:#?}"
    );
    assert!(
        lines.iter().any(|line| line.contains("`n_0` (a speed of rotation) has no value")
            && line.contains("the heading `n0` is close")),
        "{lines:#?}"
    );
    let one = |text: &str, name: &str, words: &str| {
        let lines = printed(text);
        assert!(
            lines.len() == 1 && lines[0].contains(name) && lines[0].contains(words),
            "{lines:#?}"
        );
    };
    let head = "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\n\n";
    one("name,J\na,1\n", "nothing-asked", "nothing says which sheet");
    one("sheet timed-stop\n\nname,size\na,1\n", "no-header-row", "no row holds names");
    one("sheet no-such\n\nname,J\na,1\n", "unknown-sheet", "no sheet is called `no-such`");
    one(&format!("{head}name,J / (kg·m²),n_0 / Hz\na,1,2\n"), "rotation-meets-rate", "C5");
    one(
        &format!("{head}name,J / (kg·m²),n_0 / (r/min),T_1 / (N·m)\na,1,2,3\n"),
        "asked-twice",
        "a column and a row above",
    );
    one(
        &format!("{head}name,J / (kg·m²),n_0 / (r/min),J / g\na,1,2,3\n"),
        "asked-twice",
        "`J` has two columns",
    );
    one(
        &format!("{head}name,J / (kg·m²),n_0 / (r/min),E / N\na,1,2,3\n"),
        "result-unit",
        "a unit of another kind",
    );
    one(
        &format!("{head}name,J / (kg·m²),n_0 / (r/min)\n,g·m²,r/min\na,1,2\n"),
        "unit-mismatch",
        "has two units",
    );
    one(
        &format!("{head}name,J / (kg·m²),n_0 / (r/min)\n"),
        "nothing-asked",
        "headings and no rows",
    );
    one(
        &format!(
            "{head}name,J / (kg·m²),n_0 / (r/min)\na,1,2\n{head}name,J / (kg·m²),n_0 / (r/min)\na,1,2\n"
        ),
        "several-tables",
        "2 tables",
    );
}

#[test]
fn rows_without_inputs_are_passed_over_unless_they_still_hold_results() {
    let text = "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\n\nname,J / (kg·m²),n_0 / (r/min),E / kJ,status\na,1,60,,\nhalf-way,,,,\nname,J / (kg·m²),n_0 / (r/min),E / kJ,status\nb,,,7,both checks hold\nc,2,60,,\n";
    let book = csv(text, false);
    let line = find(&book, None).unwrap();
    assert_eq!(line.variants, [5, 8, 9]);
    assert_eq!(line.passed_over, [6, 7]);
    let outcome = whole(&book, &line);
    let cleared = &outcome.variants[1];
    assert_eq!(
        (cleared.verdict, cleared.values.as_slice()),
        (VariantVerdict::Wrong, [NewValue::Empty].as_slice())
    );
    assert_eq!(cleared.problems.len(), 2);
    assert_eq!(cleared.problems[0].name.word(), "empty-cell");
}

#[test]
fn series_stand_in_several_columns_of_one_name() {
    let sheet = "sheet s\ntitle \"t\"\nsource \"none\"\ntakes\n  t : series of time in ms, at least 2 above 0 ms like 1 ms, 2 ms \"stops\"\nworks\n  m = mean(t)\n  longest = max(t)\n  d = t - m\nholds\n  longest <= 20 ms \"short\"\ngives\n  m in ms, d in ms\n";
    struct One(&'static str);
    impl Sheets for One {
        fn checked(&self, _: &str, _: &Place) -> Result<Checked, Box<Diagnostic>> {
            Ok(compile(&Source::new("s.sheet", self.0), &NoResolver))
        }
        fn names(&self) -> Vec<String> {
            Vec::new()
        }
    }
    let text = "sheet s;;;;;;;\n\n-;t / ms;t / ms;t / ms;m / ms;d / ms;d / ms;d / ms\na;1;2;6;;;;\nb;1;2;;;;;9\nc;30;;;;;;\n";
    let book = csv(text, false);
    let line = ProductLine::find(&book, &TableRequest::default(), &One(sheet)).unwrap();
    let outcome = whole(&book, &line);
    let number = |value: f64| NewValue::Number(value);
    // means and differences worked by hand
    assert_eq!(outcome.variants[0].values, [number(3.0), number(-2.0), number(-1.0), number(3.0)]);
    assert_eq!(
        outcome.variants[1].values,
        [number(1.5), number(-0.5), number(0.5), NewValue::Empty]
    );
    assert_eq!(outcome.variants[2].problems[0].name.word(), "too-few-values");
}
