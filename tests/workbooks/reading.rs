//! What each writer stored is what is read; expected values are those of `make_corpus.py`.

use standstill::spreadsheet::{Book, Cell, Form, TabKind, Target, Visibility};

use super::files::{area, at, corpus, smallest, worksheet};

fn text(text: &str) -> Cell {
    Cell::Text(text.to_owned())
}

#[test]
fn every_kind_of_cell_keeps_its_kind() {
    for name in [
        "everyday_openpyxl_3.1.5.xlsx", "everyday_libreoffice_7.4.7.xlsx",
        "everyday_libreoffice_7.4.7.ods",
    ] {
        let book = Book::read(name, &corpus(name)).unwrap();
        let tab = book.tab("inputs").unwrap();
        assert_eq!(tab.cell(at("A1")), &text("what"), "{name}");
        assert_eq!(tab.cell(at("C2")), &Cell::Number(1450.0), "{name}");
        assert_eq!(tab.cell(at("C4")), &Cell::Number(0.95), "{name}");
        assert!(
            matches!(tab.cell(at("C5")), Cell::Date(date) if date.replace('T', " ") == "2026-11-25 06:30:00"),
            "{name}: {}",
            tab.cell(at("C5"))
        );
        assert_eq!(tab.cell(at("C6")), &Cell::Truth(true), "{name}");
        assert_eq!(tab.cell(at("C7")), &text(" two  spaces & <tags> µ "), "{name}");
        assert_eq!(tab.cell(at("D4")), &Cell::Empty, "{name}");
        assert_eq!(tab.cell(at("XFD1048576")), &Cell::Empty, "{name}");
        assert!(tab.has_formula(at("E2")) && !tab.has_formula(at("C2")), "{name}");
    }
}

#[test]
fn a_formula_shows_its_saved_result_and_nothing_if_none_was_saved() {
    let saved = "everyday_libreoffice_7.4.7.xlsx";
    let book = Book::read(saved, &corpus(saved)).unwrap();
    let tab = book.tab("Inputs").unwrap();
    // 1450 r/min in rad/s
    let Cell::Number(speed) = tab.cell(at("E2")) else { panic!("{}", tab.cell(at("E2"))) };
    assert!((speed - 1450.0 * std::f64::consts::PI / 30.0).abs() < 1e-9);
    assert_eq!(tab.cell(at("E4")), &text("fine"));
    assert_eq!(tab.cell(at("E5")), &Cell::Error("#DIV/0!".to_owned()));
    assert_eq!(tab.cell(at("E6")), &Cell::Truth(true));
    // openpyxl saves formulas without results
    let unsaved = "everyday_openpyxl_3.1.5.xlsx";
    let book = Book::read(unsaved, &corpus(unsaved)).unwrap();
    let tab = book.tab("Inputs").unwrap();
    assert_eq!(tab.cell(at("E2")), &Cell::Empty);
    assert!(tab.has_formula(at("E2")));
}

#[test]
fn formats_protection_and_merged_areas_are_known() {
    let name = "everyday_openpyxl_3.1.5.xlsx";
    let book = Book::read(name, &corpus(name)).unwrap();
    let inputs = book.tab("Inputs").unwrap();
    assert_eq!(inputs.format(at("C4")), "0.0%");
    assert_eq!(inputs.format(at("C3")), "0.00\" kg·m²\"");
    assert_eq!(inputs.format(at("C2")), "General");
    assert_eq!(inputs.merged_at(at("D10")), Some(area("A9:D10")));
    assert_eq!(inputs.merged_at(at("A11")), None);
    let locked = book.tab("Locked").unwrap();
    assert!(locked.protected && !inputs.protected);
    let name = "everything_xlsxwriter_3.3.1.xlsx";
    let book = Book::read(name, &corpus(name)).unwrap();
    let inputs = book.tab("Inputs").unwrap();
    // an empty cell has the format of its row before that of its column
    assert_eq!(inputs.format(at("F3")), "0.0%");
    assert_eq!(inputs.format(at("F7")), "0.000");
    assert_eq!(inputs.format(at("K7")), "0.000");
    assert_eq!(inputs.format(at("K3")), "General");
    assert_eq!(inputs.cell(at("A4")), &text("inertia"));
    assert_eq!(inputs.cell(at("C8")), &Cell::Error("#N/A".to_owned()));
}

#[test]
fn tabs_keep_their_order_kind_and_visibility() {
    let name = "macros_xlsxwriter_3.3.1.xlsm";
    let book = Book::read(name, &corpus(name)).unwrap();
    let tabs: Vec<_> =
        book.tabs.iter().map(|tab| (tab.name.as_str(), tab.kind, tab.visibility)).collect();
    assert_eq!(
        tabs,
        [
            ("Inputs", TabKind::Cells, Visibility::Visible),
            ("Line", TabKind::Cells, Visibility::Visible),
            ("Chart", TabKind::Chart, Visibility::Visible),
            ("Empty", TabKind::Cells, Visibility::DeeplyHidden),
        ]
    );
    assert!(book.form.takes_cells());
    let name = "everyday_libreoffice_7.4.7.ods";
    let book = Book::read(name, &corpus(name)).unwrap();
    assert_eq!((book.form, book.form.takes_cells()), (Form::Ods, false));
    let names: Vec<_> = book.tabs.iter().map(|tab| tab.name.as_str()).collect();
    assert_eq!(names, ["Inputs", "Re'sults & more", "Locked", "Line", "Hidden"]);
}

#[test]
fn names_keep_their_scope_and_say_where_they_point() {
    for name in [
        "everyday_openpyxl_3.1.5.xlsx", "everyday_libreoffice_7.4.7.xlsx",
        "everyday_libreoffice_7.4.7.ods",
    ] {
        let book = Book::read(name, &corpus(name)).unwrap();
        let cells =
            |tab: &str, cells: &str| Target::Cells { tab: tab.to_owned(), area: area(cells) };
        let seen = |tab: &str, wanted: &str| {
            book.name_seen_from(tab, wanted).unwrap_or_else(|| panic!("{name}: {wanted}")).clone()
        };
        assert_eq!(seen("Line", "n_0").target, cells("Inputs", "C2"), "{name}");
        assert_eq!(seen("Inputs", "LINE_SPEED").target, cells("Line", "B2:B6"), "{name}");
        assert_eq!(seen("Inputs", "loc").target, cells("Inputs", "C3"), "{name}");
        assert_eq!(seen("Line", "loc").target, cells("Line", "B3"), "{name}");
        assert!(book.name_seen_from("Locked", "loc").is_none(), "{name}");
        if book.form == Form::Ods {
            continue; // the converter drops what is not a range
        }
        assert_eq!(seen("Inputs", "gone").target, Target::Broken, "{name}");
        assert_eq!(seen("Inputs", "gravity").target, Target::NotCells, "{name}");
        let area = book.names.iter().find(|known| known.name == "_xlnm.Print_Area").unwrap();
        assert!(area.built_in && area.scope.as_deref() == Some("Inputs"), "{name}");
    }
}

#[test]
fn unusual_shapes_are_read_where_they_stand() {
    let name = "unusual_shapes_by_hand.xlsx";
    let book = Book::read(name, &corpus(name)).unwrap();
    let tab = book.tab("One").unwrap();
    let found: Vec<_> =
        tab.entries().map(|entry| (entry.position.name(), entry.cell.clone())).collect();
    let expected = [
        ("A2", 1.0),
        ("B2", 2.0),
        ("A3", 3.0),
        ("B3", 6.0),
        ("A4", 4.0),
        ("B4", 8.0),
        ("C4", 16.0),
    ];
    assert_eq!(found, expected.map(|(cell, value)| (cell.to_owned(), Cell::Number(value))));
    assert!(book.tab("Two").unwrap().entries().next().is_none());
}

#[test]
fn a_value_that_only_one_reader_sees_is_not_taken_for_empty() {
    let sheet =
        worksheet("<sheetData><row r=\"1\"><c r=\"A1\"><v><![CDATA[5]]></v></c></row></sheetData>");
    let problems = Book::read("Book.xlsx", &smallest(&sheet, &[])).unwrap_err();
    assert_eq!(problems[0].name.word(), "unreadable-file");
    assert!(problems[0].headline.contains("A1"), "{}", problems[0].headline);
}

#[test]
fn an_empty_text_among_the_shared_ones_does_not_shift_the_others() {
    let sheet = worksheet(
        "<sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>1</v></c><c r=\"B1\" t=\"s\"><v>2</v></c><c r=\"C1\" t=\"s\"><v>3</v></c></row></sheetData>",
    );
    let texts = "<sst xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"><si><t>a</t></si><si><t/></si><si/><si><t>d</t></si></sst>";
    let bytes = smallest(&sheet, &[("xl/sharedStrings.xml", texts)]);
    let book = Book::read("Book.xlsx", &bytes).unwrap();
    assert_eq!(book.tabs[0].cell(at("C1")), &text("d"));
}

#[test]
fn what_is_stored_as_a_number_and_is_none_is_not_taken_for_one() {
    let sheet = worksheet(
        "<sheetData><row r=\"1\"><c r=\"A1\"><v>NaN</v></c><c r=\"B1\"><v>1e999</v></c><c r=\"C1\"><v>1,5</v></c><c r=\"D1\"><v/></c><c r=\"E1\"><v>2.5E-3</v></c></row></sheetData>",
    );
    let book = Book::read("Book.xlsx", &smallest(&sheet, &[])).unwrap();
    let tab = &book.tabs[0];
    assert_eq!(tab.cell(at("A1")), &text("NaN"));
    assert_eq!(tab.cell(at("B1")), &text("inf"));
    assert_eq!(tab.cell(at("C1")), &text("1,5"));
    assert_eq!(tab.cell(at("D1")), &Cell::Empty);
    assert_eq!(tab.cell(at("E1")), &Cell::Number(0.0025));
}

#[test]
fn an_error_of_a_newer_kind_stays_an_error() {
    let sheet = worksheet(
        "<sheetData><row r=\"1\"><c r=\"A1\" t=\"e\"><v>#GETTING_DATA</v></c><c r=\"B1\" t=\"e\"><v>#N/A</v></c><c r=\"C1\"><v>3</v></c></row></sheetData>",
    );
    let book = Book::read("Book.xlsx", &smallest(&sheet, &[])).unwrap();
    let found: Vec<_> = book.tabs[0].entries().map(|entry| entry.cell.to_string()).collect();
    assert_eq!(found, ["the error #GETTING_DATA", "the error #N/A", "the number 3"]);
}

/// ECMA-376 Part 1, 18.3.1.4 and 18.3.1.73: `r` of a cell and of a row may be left out, they then follow the one before.
#[test]
fn rows_and_cells_without_their_place_follow_the_one_before() {
    let rows: String = [("J", "0.35", "kg·m²"), ("n_0", "1450", "r/min"), ("T_0", "4.2", "N·m")]
        .iter()
        .map(|(name, value, unit)| {
            let text = |text: &str| format!("<c t=\"inlineStr\"><is><t>{text}</t></is></c>");
            format!("<row>{}<c><v>{value}</v></c>{}</row>", text(name), text(unit))
        })
        .collect();
    let head = "<row><c t=\"inlineStr\"><is><t>sheet run-down</t></is></c></row>";
    let last = "<row><c t=\"inlineStr\"><is><t>t_stop</t></is></c><c/><c t=\"inlineStr\"><is><t>s</t></is></c></row>";
    let bytes = smallest(&worksheet(&format!("<sheetData>{head}{rows}{last}</sheetData>")), &[]);
    let book = Book::read("Saw.xlsx", &bytes).unwrap();
    let project = standstill::project::Project::new(&standstill::environment::NoFs);
    let filling = standstill::workbook::compute(&book, None, &project)
        .unwrap_or_else(|unfilled| panic!("{:?}", unfilled.problems));
    let written = standstill::spreadsheet::write_cells(
        "Saw.xlsx",
        &bytes,
        &filling.edits(),
        standstill::spreadsheet::Allow::default(),
    )
    .unwrap();
    let again = Book::read("Saw.xlsx", &written.bytes).unwrap();
    // J·ω / T = 0.35 · 151.844 / 4.2, worked by hand
    let Cell::Number(time) = again.tabs[0].cell(at("B5")) else { panic!("no number") };
    assert!((time - 12.6536).abs() < 1e-3, "{time}");
    assert_eq!(again.tabs[0].cell(at("C5")), &text("s"));
}
