//! Product lines calculated while their rows pass by: the same file as from memory, and little of it kept.

use std::fmt::Write as _;

use rust_xlsxwriter::{Format, Formula, Workbook};
use standstill::spreadsheet::{Allow, Book, Cell, Reading, RowBook, RowsWritten, write_cells};
use standstill::workbook::range::{Outcome, ProductLine, TableRequest, VariantVerdict, open};

use super::files::{at, changed_parts, container, entries, part, smallest, worksheet};
use super::range::{Shelf, folder, long};

const ROW_BOOK: &str = "units_in_a_row_openpyxl_3.1.5.xlsx";
const HEADED_BOOK: &str = "units_in_headings_xlsxwriter_3.3.1.xlsx";

fn asked(sheet: Option<&str>) -> TableRequest {
    TableRequest { sheet: sheet.map(str::to_owned), ..TableRequest::default() }
}

fn opened<'b>(name: &str, bytes: &'b [u8], asked: &TableRequest) -> (RowBook<'b>, ProductLine) {
    let file = open(name, bytes, &Reading::default(), asked, &Shelf).unwrap();
    let line = ProductLine::find(file.outline(), asked, &Shelf).unwrap();
    (file, line)
}

fn write(file: &RowBook<'_>, line: &ProductLine) -> (RowsWritten, Outcome) {
    let mut outcome = Outcome::default();
    let mut each = |more: Outcome| {
        outcome.variants.extend(more.variants);
        outcome.checks = more.checks;
    };
    let written = line
        .write_rows(file, &|_| {}, &|_, outcome| outcome.clone(), &mut each)
        .map_err(|problems| {
            problems.iter().map(standstill::diagnostic::render_line).collect::<Vec<_>>()
        })
        .unwrap();
    (written, outcome)
}

/// A long line as a workbook: totals above the table and on another tab, a formula in each row, an array
/// formula, styles of rows and columns, a percentage, and wrong rows.
pub(super) fn long_book(rows: u32) -> Vec<u8> {
    let cells = Book::read("long.csv", long(rows).as_bytes()).unwrap();
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("Line").unwrap();
    let percent = Format::new().set_num_format("0 %");
    tab.set_column_format(10, &Format::new().set_num_format("0.000")).unwrap();
    tab.set_row_format(1500, &Format::new().set_italic()).unwrap();
    for entry in cells.tabs[0].entries() {
        let (row, column) = (entry.position.row, u16::try_from(entry.position.column).unwrap());
        match &entry.cell {
            Cell::Number(number) if column == 3 => {
                tab.write_with_format(row, column, number / 100.0, &percent).unwrap();
            }
            Cell::Number(number) => {
                tab.write(row, column, *number).unwrap();
            }
            Cell::Text(text) => {
                tab.write(row, column, text).unwrap();
            }
            other => panic!("{other}"),
        }
    }
    // J is the first free column: it will hold the first result
    tab.write(1, 6, Formula::new("=MAX(J6:J9999)").set_result("1")).unwrap();
    tab.write_array_formula(1, 8, 2, 8, Formula::new("=K6:K7*2").set_result("2")).unwrap();
    tab.write(3, 6, Formula::new("=MAX(A6:A9999)").set_result("0")).unwrap();
    let other = book.add_worksheet().set_name("Sums").unwrap();
    other.write(0, 0, Formula::new("=SUM(Line!K:K)").set_result("3")).unwrap();
    other.write(1, 0, Formula::new("=A1/1000").set_result("4")).unwrap();
    book.save_to_buffer().unwrap()
}

#[test]
fn rows_passing_by_give_the_file_that_memory_gives() {
    let file = |name: &str| std::fs::read(folder().join(name)).unwrap();
    for (name, bytes, sheet) in [
        (ROW_BOOK, file(ROW_BOOK), None),
        (HEADED_BOOK, file(HEADED_BOOK), Some("timed-stop")),
        ("long.xlsx", long_book(3000), None),
    ] {
        let asked = asked(sheet);
        let whole = Book::read(name, &bytes).unwrap();
        let line = ProductLine::find(&whole, &asked, &Shelf).unwrap();
        let outcome = line.compute(&whole, 0..line.variants.len(), 1, &|_| {});
        let edits = line.edits(&whole, &outcome);
        let in_memory = write_cells(name, &bytes, &edits, Allow::default()).unwrap();

        let (file, found) = opened(name, &bytes, &asked);
        assert_eq!(
            (&found.variants, &found.passed_over),
            (&line.variants, &line.passed_over),
            "{name}"
        );
        assert_eq!(
            (found.header, found.units, found.status),
            (line.header, line.units, line.status)
        );
        assert_eq!((&found.inputs, &found.results), (&line.inputs, &line.results), "{name}");
        let (passing, worked) = write(&file, &found);
        assert_eq!(worked.variants, outcome.variants, "{name}");
        assert_eq!(passing.changed, in_memory.changed.len(), "{name}");
        assert_eq!(passing.to_recalculate, in_memory.to_recalculate, "{name}");
        assert_eq!(
            changed_parts(&bytes, &passing.bytes),
            changed_parts(&bytes, &in_memory.bytes),
            "{name}"
        );
        for (one, other) in entries(&passing.bytes).iter().zip(entries(&in_memory.bytes)) {
            assert_eq!(one.content, other.content, "{name}: {}", one.name);
        }
        // a second run writes nothing
        let (file, found) = opened(name, &passing.bytes, &asked);
        let (again, _) = write(&file, &found);
        assert_eq!((again.changed, again.bytes == passing.bytes), (0, true), "{name}");
    }
}

#[test]
fn the_long_line_has_what_the_test_is_to_try() {
    let bytes = long_book(3000);
    let (file, line) = opened("long.xlsx", &bytes, &TableRequest::default());
    let (written, outcome) = write(&file, &line);
    let stale: Vec<String> = written
        .to_recalculate
        .iter()
        .map(|stale| format!("{}!{}", stale.tab, stale.position.name()))
        .collect();
    assert_eq!(stale, ["Line!G2", "Line!I2", "Sums!A1", "Sums!A2"]);
    assert!(outcome.count(VariantVerdict::Wrong) > 60 && outcome.variants.len() > 2 * 1024);
    let sheet = part(&written.bytes, "xl/worksheets/sheet1.xml");
    assert!(!sheet.contains("<v>2</v></c><c r=\"J2\""), "no saved result of the array formula");
    let after = Book::read("long.xlsx", &written.bytes).unwrap();
    let tab = after.tab("Line").unwrap();
    // new cells take the style of their column
    assert_eq!(tab.format(at("K7")), "0.000");
    assert_eq!(tab.cell(at("G4")), &Cell::Number(0.0));
}

#[test]
fn what_is_kept_of_a_line_does_not_grow_with_its_rows() {
    let kept = |rows: u32| {
        let bytes = long_book(rows);
        let (file, line) = opened("long.xlsx", &bytes, &TableRequest::default());
        assert!(line.variants.len() > rows as usize * 9 / 10);
        file.outline().tab("Line").unwrap().entries().count()
    };
    let (few, many) = (kept(200), kept(4000));
    // the cell that names the sheet, two shared inputs, the headings and the row below them
    assert_eq!(few, many);
    assert!(few < 30, "{few}");
}

/// A line of so many rows whose part is written by hand.
fn by_hand(rows: u32, behind: &str, more: &dyn Fn(u32) -> String) -> Vec<u8> {
    let text = |words: &str| format!("<c t=\"inlineStr\"><is><t>{words}</t></is></c>");
    let mut data = String::from("<sheetData>");
    let heads = ["name", "J / (kg·m²)", "n_0 / (r/min)", "T_1 / (N·m)", "t_max / s", "E / J"];
    let heads: String = heads.iter().map(|words| text(words)).collect();
    write!(data, "<row>{}</row><row>{heads}</row>", text("sheet timed-stop")).unwrap();
    for row in 0..rows {
        write!(
            data,
            "<row>{}<c><v>1.5</v></c><c><v>{}</v></c><c><v>40</v></c><c><v>8</v></c>{}</row>",
            text(&format!("V{row}")),
            1000 + row / 2,
            more(row)
        )
        .unwrap();
    }
    smallest(&worksheet(&format!("{data}</sheetData>{behind}")), &[])
}

fn refused(bytes: &[u8]) -> Vec<(String, String)> {
    let file =
        open("B.xlsx", bytes, &Reading::default(), &TableRequest::default(), &Shelf).unwrap();
    let line = ProductLine::find(file.outline(), &TableRequest::default(), &Shelf).unwrap();
    let problems = line.write_rows(&file, &|_| {}, &|_, _| (), &mut |()| {}).unwrap_err();
    let printed = problems.iter().map(|problem| {
        let place = problem.place.as_ref().map_or(String::new(), |place| place.to_text());
        (problem.name.word().to_owned(), place)
    });
    printed.collect()
}

#[test]
fn cells_that_must_not_be_written_are_reported_wherever_they_stand() {
    let none = |_: u32| String::new();
    // in the third block of rows
    let merged = "<mergeCells><mergeCell ref=\"F2500:F2501\"/></mergeCells>";
    let found = refused(&by_hand(2600, merged, &none));
    assert_eq!(found, [("merged-cell".to_owned(), "B.xlsx ▸ T!F2501".to_owned())]);
    let formula = |row: u32| match row {
        5 | 2000 => "<c><f>1+1</f><v>2</v></c>".to_owned(),
        _ => String::new(),
    };
    let found = refused(&by_hand(2600, "", &formula));
    let place = |cell: &str| ("formula-in-the-way".to_owned(), format!("B.xlsx ▸ T!{cell}"));
    assert_eq!(found, [place("F8"), place("F2003")]);
    // all cells are locked: a thousand are told of, not ten thousand
    let found = refused(&by_hand(2600, "<sheetProtection sheet=\"1\"/>", &none));
    assert!(found.len() == 1000 && found.iter().all(|(name, _)| name == "protected-tab"));
}

#[test]
fn a_cell_that_can_be_read_in_two_ways_is_refused() {
    // with a space before it, one reader sees a number and the other a text
    let twofold =
        |row: u32| if row == 40 { "<c r=\"H43\"><v> 5</v></c>".to_owned() } else { String::new() };
    let found = refused(&by_hand(50, "", &twofold));
    assert_eq!(found[0].0, "unreadable-file");
    let good = by_hand(50, "", &|_| String::new());
    let (file, line) = opened("B.xlsx", &good, &TableRequest::default());
    assert_eq!(write(&file, &line).0.changed, 50 + 50 + 1);
}

#[test]
fn a_part_that_is_cut_off_is_an_error_at_once() {
    let bytes = by_hand(50, "", &|_| String::new());
    let sheet = part(&bytes, "xl/worksheets/sheet1.xml");
    for cut in [sheet.len() / 2, sheet.len() - 20] {
        let parts: Vec<_> =
            entries(&bytes).into_iter().map(|entry| (entry.name, entry.content)).collect();
        let parts: Vec<(&str, &[u8])> = parts
            .iter()
            .map(|(name, content)| {
                let end = if name.ends_with("sheet1.xml") { cut } else { content.len() };
                let end = (0..=end).rev().find(|at| content.is_char_boundary(*at)).unwrap();
                (name.as_str(), &content.as_bytes()[..end])
            })
            .collect();
        let cut = container(&parts);
        let problems = open("B.xlsx", &cut, &Reading::default(), &TableRequest::default(), &Shelf)
            .err()
            .unwrap();
        assert_eq!(problems[0].name.word(), "unreadable-file");
    }
}
