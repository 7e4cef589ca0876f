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

/// What a table says with these rows above it, its sheet named in a cell or by the command.
fn with_rows_above(above: &str, named_in_cell: bool) -> Result<Vec<String>, Vec<String>> {
    let head = if named_in_cell { "sheet run-down" } else { "Line of 2026" };
    let text = format!(
        "{head},,,\n{above}\nmachine,J / (kg·m²),n_0 / (r/min),T_0 / (N·m),t_stop / s\nA,0.01,1400,0.6,\nB,0.02,1400,0.9,\n"
    );
    let asked = asked((!named_in_cell).then_some("run-down"));
    let said = |all: &[standstill::diagnostic::Diagnostic]| -> Vec<String> {
        all.iter().filter(|it| it.is_error()).map(standstill::diagnostic::render_line).collect()
    };
    let file = open("line.csv", text.as_bytes(), &Reading::default(), &asked, &Shelf);
    let file = file.map_err(|it| said(&it))?;
    let line =
        ProductLine::find(file.outline(), &asked, &Shelf).map_err(|it| said(&it.problems))?;
    let (_, outcome) = write(&file, &line);
    Ok(outcome.variants.iter().map(|it| format!("{:?} {:?}", it.verdict, it.values)).collect())
}

/// Rows above a table are read, and what is wrong in them is told, whoever names the sheet.
#[test]
fn rows_above_a_table_count_whoever_names_its_sheet() {
    let mut seen = std::collections::BTreeSet::new();
    for above in [
        "", "T_load,-0.3,N·m,", "T_load / (N·m),-0.3,,", "T_load,-300,N·mm,", "T_load,-0.3 N·m,,",
        "T_laod,-0.3,N·m,", "T_load,-0.3,N·m,\nT_load,-0.2,N·m,", "n_0,2800,r/min,",
        "T_load,-0.9,N·m,", "T_load,-0.3,N,", "T_load,soon,N·m,",
        "T_load,0.3,N·m,\nn_end,20,r/min,", "T_load,-0.3,N·m,\n,,,", "t_stop,4,s,",
        "b,0.001,N·m·s/rad,goods",
    ] {
        let (cell, command) = (with_rows_above(above, true), with_rows_above(above, false));
        assert_eq!(cell.is_ok(), command.is_ok(), "{above}: {cell:?} {command:?}");
        if cell.is_ok() {
            assert_eq!(cell, command, "{above}");
        }
        seen.insert(format!("{command:?}"));
    }
    assert!(seen.len() > 8, "{seen:#?}");
}

/// A cell above a table that asks for another sheet than the command is not passed over.
#[test]
fn a_table_of_another_sheet_is_refused() {
    let table = "J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n0.01,1400,0.6\n";
    for (head, refused) in
        [("sheet ramp-stop", true), ("sheet run-down", false), ("ramp-stop", false)]
    {
        let text = format!("{head},,\n{table}");
        let asked = asked(Some("run-down"));
        let file = open("line.csv", text.as_bytes(), &Reading::default(), &asked, &Shelf).unwrap();
        let found = ProductLine::find(file.outline(), &asked, &Shelf);
        let said = found
            .err()
            .map(|it| it.problems.iter().map(|it| format!("{:?}", it.name)).collect::<Vec<_>>());
        assert_eq!(said, refused.then(|| vec!["TwoStatements".to_owned()]), "{head}");
    }
}

/// A column of tolerances is known however it is headed, with its unit in the heading or in the row of units, and as
/// plates write it.
#[test]
fn a_column_of_tolerances_is_known_however_it_is_headed() {
    let found = |heading: &str, unit: &str, below: bool| {
        let (heading, units) = match below {
            true => (heading.to_owned(), format!("kg·m²,r/min,N·m,{unit}\n")),
            false => (format!("{heading} / {unit}"), String::new()),
        };
        let names = if below { "J,n_0,T_0" } else { "J / (kg·m²),n_0 / (r/min),T_0 / (N·m)" };
        let text = format!("{names},{heading}\n{units}0.01,1400,0.6,0.06\n");
        let asked = TableRequest { worst: true, ..asked(Some("run-down")) };
        let file = open("line.csv", text.as_bytes(), &Reading::default(), &asked, &Shelf).unwrap();
        let line = ProductLine::find(file.outline(), &asked, &Shelf);
        let line = line.map_err(|it| {
            it.problems.iter().map(standstill::diagnostic::render_line).collect::<Vec<_>>()
        });
        let (_, outcome) =
            write(&file, &line.unwrap_or_else(|it| panic!("{heading}, {unit}: {it:#?}")));
        // the lowest and the highest of the first result, behind the results as given
        format!("{:?}", outcome.variants.iter().map(|it| &it.values).collect::<Vec<_>>())
    };
    let mut seen = std::collections::BTreeMap::new();
    for heading in [
        "± T_0", "T_0 ±", "+- T_0", "+/- T_0", "T_0 +/-", "T_0 tol", "T_0 tol.", "tol. T_0",
        "Tol T_0", "T_0 tolerance", "tolerance of T_0", "Tolerance T_0",
    ] {
        for (unit, share) in [("N·m", false), ("Nm", false), ("%", true)] {
            for below in [false, true] {
                let values = found(heading, unit, below);
                let first = seen.entry(share).or_insert_with(|| values.clone());
                assert_eq!(*first, values, "{heading} in {unit}");
            }
        }
    }
    assert_ne!(seen[&false], seen[&true], "0.06 N·m and 0.06 % are two tolerances");
}

/// A heading of an input with words behind its unit is asked for with that unit.
#[test]
fn a_heading_that_is_meant_keeps_its_unit_in_the_remedy() {
    for (heading, meant) in [
        ("J / kgm2 (incl. motor)", "J / kgm2"),
        ("J / (kg·cm²) total", "J / (kg·cm²)"),
        ("J [g·cm²] measured", "J / (g·cm²)"),
    ] {
        let text = |heading: &str| format!("{heading},n_0 / (r/min),T_0 / (N·m)\n0.01,1400,0.6\n");
        let asked = asked(Some("run-down"));
        let remedies = |text: String| {
            let file =
                open("line.csv", text.as_bytes(), &Reading::default(), &asked, &Shelf).unwrap();
            let found = ProductLine::find(file.outline(), &asked, &Shelf);
            found.map_or_else(
                |it| it.problems.iter().map(|it| it.remedy.clone()).collect(),
                |_| Vec::new(),
            )
        };
        let told = remedies(text(heading));
        let start = format!("did you mean `{meant}`?");
        assert!(told.iter().any(|it| it.starts_with(&start)), "{heading}: {told:?}");
        assert!(remedies(text(meant)).is_empty(), "{meant}");
    }
}
