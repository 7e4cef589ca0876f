//! Files that ask for more than they explain end in a message, soon and in little memory.

use standstill::diagnostic::Diagnostic;
use standstill::spreadsheet::guard::{Limits, check};
use standstill::spreadsheet::{Allow, Book, write_cells};

use super::files::{container, corpus, number, smallest, worksheet};

fn refused(bytes: &[u8]) -> Diagnostic {
    let problems = Book::read("Book.xlsx", bytes).unwrap_err();
    let edit = number("T", "A1", 1.0);
    assert!(write_cells("Book.xlsx", bytes, &[edit], Allow::default()).is_err());
    problems[0].clone()
}

fn named(bytes: &[u8], name: &str, words: &str) {
    let problem = refused(bytes);
    assert_eq!(problem.name.word(), name, "{}", problem.headline);
    assert!(problem.headline.contains(words), "{}", problem.headline);
    assert!(!problem.remedy.is_empty());
}

fn cells(inner: &str) -> Vec<u8> {
    smallest(&worksheet(&format!("<sheetData>{inner}</sheetData>")), &[])
}

#[test]
fn a_part_that_unpacks_to_a_multiple_of_its_size_is_refused() {
    let blanks = vec![b' '; 60 << 20];
    let bytes = container(&[("xl/workbook.xml", &blanks)]);
    named(&bytes, "hostile-file", "times its size");
    let small = Limits { unpacked: 1 << 20, ..Limits::default() };
    let problem = check("Book.xlsx", &bytes, &small).unwrap_err();
    assert!(problem.headline.contains("above 1 MiB"), "{}", problem.headline);
}

#[test]
fn a_part_that_is_nearly_all_blanks_is_refused_however_well_it_is_packed() {
    // packed so badly that its size alone would explain it
    let mut cells = String::new();
    for row in 1..=40_000_u32 {
        let noise = row.wrapping_mul(2_654_435_761);
        cells.push_str(&format!("<row r=\"{row}\"/>{}{noise:08x}\n", " ".repeat(480)));
    }
    let bytes = smallest(&worksheet(&format!("<sheetData>{cells}</sheetData>")), &[]);
    assert!(bytes.len() * 50 > cells.len(), "{} bytes", bytes.len());
    named(&bytes, "hostile-file", "`xl/worksheets/sheet1.xml` is nearly all blanks");
    // half blanks, as a program that indents may write them, is no reason
    let indented = format!("<sheetData>{}</sheetData>", "<row/>      \n".repeat(2 << 20));
    let few = Limits { ratio: 100_000, ..Limits::default() };
    assert!(check("Book.xlsx", &smallest(&worksheet(&indented), &[]), &few).is_ok());
}

#[test]
fn a_part_that_lies_about_its_size_is_refused() {
    let mut bytes = container(&[("xl/workbook.xml", &vec![b' '; 1 << 20])]);
    // the size unpacked, in the directory's line and in the entry's own head
    for (mark, at) in [(b"PK\x01\x02", 24), (b"PK\x03\x04", 22)] {
        let from = bytes.windows(4).position(|four| four == mark).unwrap();
        bytes[from + at..from + at + 4].copy_from_slice(&10_u32.to_le_bytes());
    }
    let problem = refused(&bytes);
    assert!(["hostile-file", "unreadable-file"].contains(&problem.name.word()));
}

#[test]
fn a_file_cut_off_anywhere_is_refused() {
    let whole = corpus("everyday_openpyxl_3.1.5.xlsx");
    for length in (0..whole.len()).step_by(whole.len() / 40) {
        let problem = refused(&whole[..length]);
        assert_eq!(problem.name.word(), "unreadable-file", "cut at {length}");
    }
}

#[test]
fn a_flipped_byte_never_passes_unseen_or_breaks_us() {
    let whole = corpus("everything_xlsxwriter_3.3.1.xlsx");
    let read = |bytes: &[u8]| {
        let book = Book::read("Book.xlsx", bytes).ok()?;
        let cells = book.tabs.iter().flat_map(|tab| {
            tab.entries().map(|entry| format!("{} {:?} {:?}", tab.name, entry.position, entry.cell))
        });
        Some(cells.collect::<Vec<_>>())
    };
    let meant = read(&whole).unwrap();
    let mut refused = 0;
    for at in (0..whole.len()).step_by(97) {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x15;
        // a change within packed bytes fails its checksum; one in the directory may be harmless
        match read(&bytes) {
            Some(cells) => assert_eq!(cells, meant, "byte {at}"),
            None => refused += 1,
        }
    }
    assert!(2 * refused > whole.len() / 97, "{refused} of {} refused", whole.len() / 97);
}

#[test]
fn declarations_of_entities_are_refused() {
    let laughs =
        "<!DOCTYPE sst [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;\">]><sst><si><t>&b;</t></si></sst>";
    let bytes = smallest(&worksheet("<sheetData/>"), &[("xl/sharedStrings.xml", laughs)]);
    named(&bytes, "hostile-file", "entities");
}

#[test]
fn a_list_of_texts_that_cannot_be_as_long_as_it_says_is_refused() {
    let sheet = worksheet("<sheetData/>");
    for count in [
        "uniqueCount=\"400000000000\"",
        "uniqueCount='99999999999999999999999'",
        "uniqueCount=\"1\" uniqueCount=\"400000000000\"",
    ] {
        let texts = format!("<sst {count}><si><t>a</t></si></sst>");
        let bytes = smallest(&sheet, &[("xl/sharedStrings.xml", &texts)]);
        named(&bytes, "hostile-file", "room for");
    }
    let nested = "<a><sst uniqueCount=\"400000000000\"/></a>";
    let bytes = smallest(&sheet, &[("xl/sharedStrings.xml", nested)]);
    named(&bytes, "unreadable-file", "no list of texts");
}

#[test]
fn the_last_cell_of_all_costs_nothing() {
    let bytes = cells("<row r=\"1048576\"><c r=\"XFD1048576\"><v>7</v></c></row>");
    let book = Book::read("Book.xlsx", &bytes).unwrap();
    assert_eq!(book.tabs[0].entries().count(), 1);
    assert_eq!(book.tabs[0].used().unwrap().name(), "XFD1048576");
}

#[test]
fn cells_beyond_a_worksheet_are_refused() {
    for (row, cell) in [
        ("1", "XFE1"),
        ("1", "ZZZZZZZZZ1"),
        ("1", "A0"),
        ("1048577", "A1048577"),
        ("4294967295", "A4294967295"),
        ("99999999999", "A1"),
        ("1", "A2"),
    ] {
        let bytes = cells(&format!("<row r=\"{row}\"><c r=\"{cell}\"><v>7</v></c></row>"));
        named(&bytes, "unreadable-file", "tab `T`");
    }
    let wide = worksheet("<dimension ref=\"A1:ZZZZZZZZZ9\"/><sheetData/>");
    named(&smallest(&wide, &[]), "unreadable-file", "tab `T`");
}

#[test]
fn rows_and_cells_that_come_twice_are_refused() {
    for rows in [
        "<row r=\"2\"/><row r=\"1\"/>",
        "<row r=\"2\"/><row r=\"2\"/>",
        "<row r=\"1\"><c r=\"B1\"/><c r=\"A1\"/></row>",
        "<row r=\"1\"><c r=\"B1\"/><c r=\"B1\"/></row>",
    ] {
        named(&cells(rows), "unreadable-file", "out of order");
    }
}

#[test]
fn a_cell_with_content_of_another_program_is_not_half_understood() {
    let cell = "<c r=\"A1\"><v>1</v><extLst><ext uri=\"x\"/></extLst></c>";
    named(&cells(&format!("<row r=\"1\">{cell}</row>")), "unreadable-file", "A1");
}

#[test]
fn names_that_climb_out_and_names_that_come_twice_are_refused() {
    for name in ["../evil.xml", "xl/../../evil.xml", "/etc/evil", "C:/evil", "xl\\..\\evil"] {
        named(&container(&[(name, b"<a/>")]), "hostile-file", "outside");
    }
    named(&container(&[("xl/A.xml", b"<a/>"), ("xl/a.xml", b"<a/>")]), "hostile-file", "two parts");
}

#[test]
fn a_container_of_countless_parts_is_refused() {
    let names: Vec<String> = (0..300).map(|number| format!("xl/{number}.xml")).collect();
    let parts: Vec<(&str, &[u8])> =
        names.iter().map(|name| (name.as_str(), b"<a/>".as_slice())).collect();
    let few = Limits { parts: 200, ..Limits::default() };
    let problem = check("Book.xlsx", &container(&parts), &few).unwrap_err();
    assert!(problem.headline.contains("300 parts"), "{}", problem.headline);
}

#[test]
fn a_workbook_with_a_password_says_so() {
    let mut bytes = vec![0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1];
    bytes.resize(4096, 0);
    named(&bytes, "unreadable-file", "password");
}

#[test]
fn text_in_other_encodings_and_broken_xml_are_refused() {
    let units: Vec<u8> =
        worksheet("<sheetData/>").encode_utf16().flat_map(u16::to_le_bytes).collect();
    let mut marked = vec![0xff, 0xfe];
    marked.extend(units);
    named(&container(&[("xl/worksheets/sheet1.xml", &marked)]), "unreadable-file", "UTF-8");
    named(
        &container(&[("xl/a.xml", b"<?xml version=\"1.0\" encoding=\"UTF-16\"?><a/>")]),
        "unreadable-file",
        "utf-16",
    );
    named(
        &smallest("<worksheet><sheetData><row></sheetData></worksheet>", &[]),
        "unreadable-file",
        "tab `T`",
    );
    let deep = format!("{}{}", "<a>".repeat(100_000), "</a>".repeat(100_000));
    named(&smallest(&deep, &[]), "unreadable-file", "tab `T`");
    named(&smallest("<chartsheet/>", &[]), "unreadable-file", "not a worksheet");
}

#[test]
fn files_of_another_kind_are_refused_by_their_name() {
    for name in ["Book.xls", "Book.pdf", "Book", ".xlsx.txt"] {
        let problems = Book::read(name, b"anything").unwrap_err();
        assert_eq!(problems[0].name.word(), "unreadable-file");
        assert!(problems[0].remedy.contains(".xlsx"));
    }
}
