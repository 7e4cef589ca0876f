//! Filling the workbooks of several writers: what was asked changes, everything else stays.

use standstill::diagnostic::{Diagnostic, Name};
use standstill::spreadsheet::{Allow, Book, Cell, Edit, NewValue, Written, write_cells};

use super::files::{
    FILLABLE, at, changed_parts, container, corpus, entries, number, part, smallest, text,
    worksheet,
};

fn fill(name: &str, edits: &[Edit]) -> Written {
    write_cells(name, &corpus(name), edits, Allow::default())
        .unwrap_or_else(|problems| panic!("{name}: {}", problems[0].headline))
}

fn refuse(name: &str, edits: &[Edit]) -> Vec<Diagnostic> {
    write_cells(name, &corpus(name), edits, Allow::default()).unwrap_err().into()
}

fn only(problems: &[Diagnostic], name: Name, place: &str) {
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert_eq!(problems[0].name, name, "{}", problems[0].headline);
    assert!(!problems[0].remedy.is_empty());
    let words = problems[0].place.as_ref().unwrap().to_text();
    assert!(words.ends_with(place), "{words}");
}

#[test]
fn every_part_that_was_not_asked_to_change_stays_byte_for_byte() {
    for (name, tab) in FILLABLE {
        let before = corpus(name);
        let edits =
            [number(tab, "A2", 42.5), text(tab, "K30", "new & <row>"), number(tab, "K2", -1e-9)];
        let written = fill(name, &edits);
        let changed = changed_parts(&before, &written.bytes);
        assert!(changed.len() <= 4, "{name}: {changed:?}");
        let allowed = |part: &String| {
            part.contains("sheet")
                || part.contains("one.xml")
                || part.ends_with("workbook.xml")
                || part.ends_with("plan.xml")
        };
        assert!(changed.iter().all(allowed), "{name}: {changed:?}");
        let book = Book::read(name, &written.bytes).unwrap();
        let tab = book.tab(tab).unwrap();
        assert_eq!(tab.cell(at("A2")), &Cell::Number(42.5), "{name}");
        assert_eq!(tab.cell(at("K30")), &Cell::Text("new & <row>".to_owned()), "{name}");
        assert_eq!(tab.cell(at("K2")), &Cell::Number(-1e-9), "{name}");
    }
}

#[test]
fn every_cell_that_was_not_asked_to_change_reads_as_before() {
    for (name, tab) in FILLABLE {
        let written = fill(name, &[number(tab, "A2", 42.5)]);
        let (before, after) =
            (Book::read(name, &corpus(name)).unwrap(), Book::read(name, &written.bytes).unwrap());
        assert_eq!(before.names, after.names);
        for (one, other) in before.tabs.iter().zip(&after.tabs) {
            let stale = |position| {
                written.to_recalculate.iter().any(|s| s.tab == one.name && s.position == position)
            };
            for entry in one.entries() {
                let now = other.entry(entry.position).unwrap();
                let asked = one.name == *tab && entry.position == at("A2");
                assert_eq!(one.format(entry.position), other.format(entry.position));
                if !asked && !stale(entry.position) {
                    assert_eq!(entry, now, "{name} {}!{}", one.name, entry.position.name());
                }
            }
            assert_eq!(one.entries().count(), other.entries().count());
        }
    }
}

#[test]
fn writing_twice_is_writing_once_and_writing_nothing_is_nothing() {
    for (name, tab) in FILLABLE {
        let before = corpus(name);
        let edits = [number(tab, "K40", 0.1), text(tab, "K41", " µ\n"), number(tab, "K42", 1e300)];
        let once = write_cells(name, &before, &edits, Allow::default()).unwrap();
        let twice = write_cells(name, &once.bytes, &edits, Allow::default()).unwrap();
        assert!(once.bytes == twice.bytes && twice.changed.is_empty(), "{name}");
        assert_eq!(write_cells(name, &before, &[], Allow::default()).unwrap().bytes, before);
    }
    // the very values that openpyxl stored, a shared text among them
    let name = "everyday_openpyxl_3.1.5.xlsx";
    let same = [
        number("Inputs", "C2", 1450.0),
        number("inputs", "C4", 0.95),
        text("Inputs", "C7", " two  spaces & <tags> µ "),
        Edit::new("Inputs", at("C6"), NewValue::Truth(true)),
        Edit::new("Inputs", at("Z99"), NewValue::Empty),
    ];
    assert_eq!(fill(name, &same).bytes, corpus(name));
}

#[test]
fn the_change_is_reported_with_the_old_value() {
    let name = "everyday_libreoffice_7.4.7.xlsx";
    let written = fill(name, &[number("Inputs", "C2", 1500.0), text("Inputs", "A2", "speed")]);
    let words: Vec<String> = written
        .changed
        .iter()
        .map(|change| {
            format!("{}!{}: {} → {}", change.tab, change.position.name(), change.old, change.new)
        })
        .collect();
    assert_eq!(
        words,
        [
            "Inputs!A2: the text \"speed of rotation\" → the text \"speed\"",
            "Inputs!C2: the number 1450 → the number 1500",
        ]
    );
}

#[test]
fn dependents_are_found_through_tabs_names_and_ranges() {
    let stale = |name: &str, edit: Edit| -> Vec<String> {
        let written = fill(name, &[edit]);
        written.to_recalculate.iter().map(|s| format!("{}!{}", s.tab, s.position.name())).collect()
    };
    for name in ["everyday_openpyxl_3.1.5.xlsx", "everyday_libreoffice_7.4.7.xlsx"] {
        assert_eq!(
            stale(name, number("Inputs", "C2", 1500.0)),
            [
                "Inputs!E2", "Inputs!G2", "Inputs!E3", "Re'sults & more!B1", "Re'sults & more!B3",
                "Re'sults & more!B4"
            ],
            "{name}"
        );
        // line_speed, then a sum, then a hidden tab
        assert_eq!(
            stale(name, number("Line", "B3", 1.0)),
            ["Re'sults & more!B2", "Line!B7", "Hidden!A1"],
            "{name}"
        );
        assert_eq!(stale(name, number("Inputs", "Z9", 1.0)), [""; 0], "{name}");
    }
    // a shared formula, moved to the row of each of its cells
    assert_eq!(
        stale("unusual_shapes_by_hand.xlsx", number("One", "A3", 9.0)),
        ["One!B3", "One!C4"]
    );
}

#[test]
fn saved_results_of_dependents_are_gone_and_recalculation_is_asked_for() {
    let name = "everyday_libreoffice_7.4.7.xlsx";
    let written = fill(name, &[number("Inputs", "C2", 1500.0)]);
    let book = Book::read(name, &written.bytes).unwrap();
    let tab = book.tab("Inputs").unwrap();
    assert!(tab.has_formula(at("E2")) && tab.cell(at("E2")).is_empty());
    // the cells that an array formula fills
    assert!(tab.cell(at("G3")).is_empty() && tab.cell(at("G4")).is_empty());
    assert_eq!(tab.cell(at("E4")), &Cell::Text("fine".to_owned()));
    assert!(part(&written.bytes, "xl/workbook.xml").contains("fullCalcOnLoad=\"1\""));
}

#[test]
fn cells_that_are_not_ours_to_write_are_refused_with_a_remedy() {
    let everyday = "everyday_openpyxl_3.1.5.xlsx";
    let everything = "everything_xlsxwriter_3.3.1.xlsx";
    let unusual = "unusual_shapes_by_hand.xlsx";
    for (name, edit, expected, place) in [
        (everyday, number("Inputs", "B10", 1.0), Name::MergedCell, "Inputs!B10"),
        (everyday, number("Inputs", "E2", 1.0), Name::FormulaInTheWay, "Inputs!E2"),
        (everyday, number("Inputs", "G3", 1.0), Name::FormulaInTheWay, "Inputs!G3"),
        (everyday, number("Locked", "A1", 9.0), Name::ProtectedTab, "Locked!A1"),
        (everyday, number("Locked", "B7", 9.0), Name::ProtectedTab, "Locked!B7"),
        (everyday, number("Line", "B1", 1.0), Name::TableHeader, "Line!B1"),
        (everyday, number("Inputs", "A1", f64::NAN), Name::TooLarge, "Inputs!A1"),
        (everyday, number("Inputs", "A1", f64::INFINITY), Name::TooLarge, "Inputs!A1"),
        (everyday, text("Inputs", "A1", &"x".repeat(32_768)), Name::TextTooLong, "Inputs!A1"),
        (everything, number("Inputs", "D2", 1.0), Name::FormulaInTheWay, "Inputs!D2"),
        (everything, number("Inputs", "D4", 1.0), Name::FormulaInTheWay, "Inputs!D4"),
        (everything, number("Line", "A5", 1.0), Name::TableHeader, "Line!A5"),
        (everything, number("Chart", "A1", 1.0), Name::MissingTab, "xlsx"),
        (everything, number("Outputs", "A1", 1.0), Name::MissingTab, "xlsx"),
        (unusual, number("One", "B2", 1.0), Name::FormulaInTheWay, "One!B2"),
        (unusual, number("One", "B3", 1.0), Name::FormulaInTheWay, "One!B3"),
    ] {
        only(&refuse(name, &[edit]), expected, place);
    }
    let twice = [number("Inputs", "K1", 1.0), number("inputs", "K1", 2.0)];
    only(&refuse(everyday, &twice), Name::AskedTwice, "Inputs!K1");
    // the anchor of a merged area and an unlocked cell are free
    let free = [text("Inputs", "A9", "x"), number("Locked", "A2", 9.0)];
    assert_eq!(fill(everyday, &free).changed.len(), 2);
}

#[test]
fn everything_that_is_wrong_is_said_at_once() {
    let name = "everyday_openpyxl_3.1.5.xlsx";
    let edits = [
        number("Nowhere", "A1", 1.0),
        number("Inputs", "E2", 1.0),
        number("Inputs", "B10", 1.0),
        number("Inputs", "K1", 1.0),
    ];
    let problems = refuse(name, &edits);
    let words: Vec<_> = problems.iter().map(|problem| problem.name.word()).collect();
    assert_eq!(words, ["formula-in-the-way", "merged-cell", "missing-tab"]);
}

#[test]
fn what_is_refused_may_be_allowed_one_by_one() {
    let name = "everyday_openpyxl_3.1.5.xlsx";
    let allow = Allow { locked_cells: true, ..Allow::default() };
    let written = write_cells(name, &corpus(name), &[number("Locked", "A1", 9.0)], allow).unwrap();
    let book = Book::read(name, &written.bytes).unwrap();
    assert_eq!(book.tab("Locked").unwrap().cell(at("A1")), &Cell::Number(9.0));
    // never a formula that fills or feeds other cells
    let allow = Allow { formulas: true, locked_cells: true, signature: true };
    for (name, edit) in [
        (name, number("Inputs", "G2", 1.0)),
        ("unusual_shapes_by_hand.xlsx", number("One", "B2", 1.0)),
    ] {
        let problems = write_cells(name, &corpus(name), &[edit], allow).unwrap_err();
        assert_eq!(problems[0].name, Name::FormulaInTheWay);
    }
}

#[test]
fn an_overwritten_formula_leaves_the_order_of_calculation() {
    let name = "unusual_shapes_by_hand.xlsx";
    let before = corpus(name);
    let allow = Allow { formulas: true, ..Allow::default() };
    let written = write_cells(name, &before, &[number("One", "C4", 16.0)], allow).unwrap();
    let names = |bytes: &[u8]| entries(bytes).into_iter().map(|e| e.name).collect::<Vec<_>>();
    let mut expected = names(&before);
    expected.retain(|name| name != "book/calcChain.xml");
    assert_eq!(names(&written.bytes), expected);
    for listing in ["[Content_Types].xml", "book/_rels/plan.xml.rels"] {
        let text = part(&written.bytes, listing);
        assert!(!text.contains("calcChain"), "{text}");
        assert!(text.contains("one.xml") || text.contains("rels"), "{text}");
    }
    let book = Book::read(name, &written.bytes).unwrap();
    let tab = book.tab("One").unwrap();
    assert!(!tab.has_formula(at("C4")) && tab.cell(at("C4")) == &Cell::Number(16.0));
}

#[test]
fn a_signed_workbook_is_left_alone_unless_it_may_lose_its_signature() {
    let sheet = worksheet("<sheetData/>");
    let bytes = smallest(&sheet, &[("_xmlsignatures/sig1.xml", "<Signature/>")]);
    let edit = [number("T", "A1", 1.0)];
    let problems = write_cells("Book.xlsx", &bytes, &edit, Allow::default()).unwrap_err();
    only(&problems, Name::SignedWorkbook, "Book.xlsx");
    let allow = Allow { signature: true, ..Allow::default() };
    let written = write_cells("Book.xlsx", &bytes, &edit, allow).unwrap();
    assert_eq!(changed_parts(&bytes, &written.bytes), ["xl/worksheets/sheet1.xml"]);
}

#[test]
fn kinds_that_are_only_read_are_not_filled() {
    let name = "everyday_libreoffice_7.4.7.ods";
    let edit = number("Inputs", "C2", 1.0);
    only(&refuse(name, &[edit]), Name::UnwritableFile, "ods");
}

#[test]
fn a_container_without_a_workbook_is_not_filled() {
    let bytes = container(&[("hello.txt", b"hello")]);
    let problems =
        write_cells("Book.xlsx", &bytes, &[number("T", "A1", 1.0)], Allow::default()).unwrap_err();
    assert_eq!(problems[0].name, Name::UnreadableFile);
}

/// Leaves filled copies and what they must hold for `check_with_openpyxl.py`, which other programs
/// run; results are worked by hand.
#[test]
fn filled_copies_are_left_for_other_programs() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("filled");
    std::fs::create_dir_all(&folder).unwrap();
    for (name, tab) in FILLABLE {
        let speed = if tab == &"One" {
            "A3"
        } else if name.contains("xlsxwriter") {
            "B2"
        } else if name.starts_with("pivot") {
            "B3"
        } else {
            "C2"
        };
        let mut edits = vec![
            number(tab, speed, 1500.0),
            number(tab, "K40", 0.1 + 0.2),
            number(tab, "L2", -1e-300),
            text(tab, "A2", " a < b & \"c\"\n µ"),
        ];
        if name.starts_with("everyday") {
            edits.push(number(tab, "C4", 0.25));
        }
        let written = fill(name, &edits);
        assert_eq!(written.changed.len(), edits.len());
        let line = |edit: &Edit| {
            let (kind, value) = match &edit.value {
                NewValue::Number(number) => ("number", format!("{number:e}")),
                NewValue::Text(text) => ("text", text.replace('\n', "\\n")),
                other => panic!("{other:?}"),
            };
            format!("{}\t{}\t{kind}\t{value}\n", edit.tab, edit.position.name())
        };
        std::fs::write(folder.join(name), &written.bytes).unwrap();
        let cells: String = edits.iter().map(line).collect();
        std::fs::write(folder.join(format!("{name}.cells.tsv")), cells).unwrap();
        std::fs::write(folder.join(format!("{name}.results.tsv")), results(name)).unwrap();
    }
}

/// What formulas must show once the speed is 1500; each follows from the formula in
/// `make_corpus.py` by hand.
fn results(name: &str) -> String {
    let lines: &[&str] = if name.contains("sheetjs") {
        &["Inputs\tE2\tnumber\t3000", "Inputs\tE3\ttext\t0.35 kg", "Others\tB1\tnumber\t6000"]
    } else if name.starts_with("pivot") {
        &["Inputs\tB8\tnumber\t3000"]
    } else if name.starts_with("everyday") {
        &[
            // 1500 r/min is 50π rad/s; 0.35/2 · (50π)² J
            "Inputs\tE2\tnumber\t157.07963267948966",
            "Inputs\tE3\tnumber\t4317.95192547659",
            "Inputs\tE4\ttext\tfine",
            "Inputs\tE6\tnumber\t0",
            "Inputs\tG4\tnumber\t0.5",
            "Inputs\tG2\tnumber\t3000",
            "Inputs\tG3\tnumber\t0.7",
            "Re'sults & more\tB1\tnumber\t314.1592653589793",
            "Re'sults & more\tB4\tnumber\t315.1592653589793",
            "Re'sults & more\tB2\tnumber\t5500",
            "Hidden\tA1\tnumber\t55",
        ]
    } else if name.contains("xlsxwriter") {
        &[
            "Inputs\tC2\tnumber\t3000", "Inputs\tC3\tnumber\t4500", "Inputs\tD2\tnumber\t3000",
            "Inputs\tC4\ttext\t0.35 kg",
        ]
    } else {
        // A2 became a text, A3 is 1500, A4 is 4; a text has no double
        &["One\tB3\tnumber\t3000", "One\tB4\tnumber\t8"]
    };
    lines.iter().map(|line| format!("{line}\n")).collect()
}
