//! What an owner noted at a cell counts in every kind of workbook: the same notes by two writers, in three kinds of file.
//!
//! The files are those of `make_sheetjs.mjs`.

use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::Path;

use rust_xlsxwriter::{Note, Workbook};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::Book;
use standstill::workbook::compute;

use super::range_command::{out, output_text, standstill};

const FILES: [&str; 3] =
    ["noted_sheetjs_0.18.5.xlsx", "noted_sheetjs_0.18.5.xlsb", "noted_libreoffice_7.4.7.ods"];

fn asked(name: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/asked");
    fs::read(folder.join(name)).unwrap()
}

/// What is told of the notes of a workbook.
fn told(name: &str, bytes: &[u8]) -> Vec<String> {
    let book = Book::read(name, bytes).unwrap();
    let filling = compute(&book, None, &Project::new(&NoFs));
    let cautions = filling.unwrap_or_else(|it| panic!("{name}: {:?}", it.problems)).cautions;
    let notes = cautions.iter().filter(|it| it.headline.contains("the remark"));
    let cell = |it: &standstill::diagnostic::Diagnostic| {
        let place = it.place.as_ref().unwrap().to_text();
        format!("{} {}", place.rsplit('!').next().unwrap(), it.headline)
    };
    notes.map(cell).collect()
}

#[test]
fn a_hidden_tab_of_an_ods_is_told() {
    let bytes = with_part(2, "content.xml", "table:display=\"true\"", "table:display=\"false\"");
    let book = Book::read("Noted.ods", &bytes).unwrap();
    let filling = compute(&book, None, &Project::new(&NoFs)).unwrap();
    assert!(filling.cautions.iter().any(|it| it.name.word() == "hidden-tab"));
}

const TOLD: [&str; 3] = [
    "B2 `J` is used, and the remark \"measured: 0.5 kg·m²\" stands beside it",
    "C3 `n_0` is used, and the remark \"wrong\" stands beside it",
    "A4 `T_0` is used, and the remark \"to be confirmed\" stands beside it",
];

#[test]
fn notes_are_read_in_every_kind_of_workbook() {
    for name in FILES {
        assert_eq!(told(name, &asked(name)), TOLD, "{name}");
    }
}

/// A file with one text in the place of another in one of its parts.
fn with_part(file: usize, inner: &str, from: &str, to: &str) -> Vec<u8> {
    let mut archive = zip::ZipArchive::new(Cursor::new(asked(FILES[file]))).unwrap();
    let mut copy = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..archive.len() {
        let mut part = archive.by_index(at).unwrap();
        let name = part.name().unwrap().into_owned();
        let mut content = Vec::new();
        part.read_to_end(&mut content).unwrap();
        if name == inner {
            let text = String::from_utf8(content).unwrap();
            assert!(text.contains(from), "{text}");
            content = text.replace(from, to).into_bytes();
        }
        copy.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        copy.write_all(&content).unwrap();
    }
    copy.finish().unwrap().into_inner()
}

/// The workbook with one text in the place of another in the part of its notes.
fn with(from: &str, to: &str) -> Vec<u8> {
    with_part(0, "xl/comments1.xml", from, to)
}

#[test]
fn a_note_over_several_cells_belongs_to_each_of_them() {
    // merged cells bear one note; ECMA-376 Part 1, 18.7.3: `ref` is a reference, from memory
    let over = |area: &str| {
        let bytes = with("ref=\"B2\"", &format!("ref=\"{area}\""));
        told("Noted.xlsx", &bytes)
    };
    assert_eq!(over("A2:C2").len(), 3);
    assert_eq!(over("B1:B2").len(), 3);
    // beside the unit as a remark would, and beside nothing
    assert_eq!(over("D2:E9").len(), 3);
    assert_eq!(over("D20:E29").len(), 2);
    // "measured" is not said of a name alone, but where the area reaches its value
    assert_eq!(over("B2:B3").len(), 3);
}

#[test]
fn a_note_at_a_variant_or_at_a_heading_is_told_wherever_the_results_go() {
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("Line").unwrap();
    tab.write(0, 0, "sheet run-down").unwrap();
    tab.write_row(2, 0, ["name", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)"]).unwrap();
    for row in 3..9 {
        tab.write(row, 0, format!("V{row}")).unwrap();
        tab.write_row(row, 1, [0.35, 1450.0, 4.2]).unwrap();
    }
    let note = |text: &str| Note::new(text).add_author_prefix(false);
    tab.insert_note(2, 3, &note("obsolete")).unwrap();
    tab.insert_note(4, 1, &note("measured: 0.5 kg·m²")).unwrap();
    tab.insert_note(6, 1, &note("measured: 3500 kg·cm²")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("l.xlsx"), book.save_to_buffer().unwrap()).unwrap();
    for target in ["o.xlsx", "o.csv"] {
        let output = standstill(folder.path(), &["range", "l.xlsx", "-o", target]);
        let words = format!("{}{}", out(&output), output_text(&output));
        for told in ["Line!D3: caution", "Line!B5: caution"] {
            assert!(words.contains(told), "{target}: {words}");
        }
        assert!(!words.contains("Line!B7"), "{target}: {words}");
    }
}
