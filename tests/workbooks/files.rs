//! The corpus, and the parts of a workbook as a plain list.

use std::io::{Cursor, Read, Write};
use std::path::Path;

use standstill::spreadsheet::{Area, Edit, NewValue, Position};
use zip::{CompressionMethod, DateTime, ZipArchive, ZipWriter, write::SimpleFileOptions};

/// Every workbook of the corpus that can be filled in place, with the tab to fill.
pub(crate) const FILLABLE: &[(&str, &str)] = &[
    ("everyday_openpyxl_3.1.5.xlsx", "Inputs"),
    ("everyday_libreoffice_7.4.7.xlsx", "Inputs"),
    ("everyday_sheetjs_0.18.5.xlsx", "Inputs"),
    ("everything_xlsxwriter_3.3.1.xlsx", "Inputs"),
    ("macros_xlsxwriter_3.3.1.xlsm", "Inputs"),
    ("pivot_and_links_libreoffice_7.4.7.xlsx", "Inputs"),
    ("unusual_shapes_by_hand.xlsx", "One"),
];

pub(crate) fn corpus(name: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/corpus");
    std::fs::read(folder.join(name)).unwrap()
}

pub(crate) fn at(cell: &str) -> Position {
    Position::parse(cell).unwrap()
}

pub(crate) fn area(cells: &str) -> Area {
    Area::parse(cells).unwrap()
}

pub(crate) fn number(tab: &str, cell: &str, value: f64) -> Edit {
    Edit::new(tab, at(cell), NewValue::Number(value))
}

pub(crate) fn text(tab: &str, cell: &str, value: &str) -> Edit {
    Edit::new(tab, at(cell), NewValue::Text(value.to_owned()))
}

/// An entry of the container: everything that a copy must keep.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entry {
    pub(crate) name: String,
    pub(crate) packed: Vec<u8>,
    pub(crate) content: String,
    pub(crate) checksum: u32,
    pub(crate) time: Option<DateTime>,
    pub(crate) mode: Option<u32>,
    pub(crate) method: CompressionMethod,
}

pub(crate) fn entries(bytes: &[u8]) -> Vec<Entry> {
    let mut zip = ZipArchive::new(Cursor::new(bytes)).unwrap();
    (0..zip.len())
        .map(|index| {
            let mut packed = Vec::new();
            zip.by_index_raw(index).unwrap().read_to_end(&mut packed).unwrap();
            let mut entry = zip.by_index(index).unwrap();
            let mut content = Vec::new();
            entry.read_to_end(&mut content).unwrap();
            Entry {
                name: entry.name().unwrap().into_owned(),
                packed,
                content: String::from_utf8_lossy(&content).into_owned(),
                checksum: entry.crc32(),
                // a writer that leaves the time at zero, which is no date, gets the first that is one
                time: Some(entry.last_modified().unwrap_or_default()),
                mode: entry.unix_mode(),
                method: entry.compression(),
            }
        })
        .collect()
}

/// The names of the entries that differ; the same entries must be there in the same order.
pub(crate) fn changed_parts(before: &[u8], after: &[u8]) -> Vec<String> {
    let (before, after) = (entries(before), entries(after));
    let names = |list: &[Entry]| list.iter().map(|e| e.name.clone()).collect::<Vec<_>>();
    assert_eq!(names(&before), names(&after));
    let differing = before.iter().zip(&after).filter(|(a, b)| a != b);
    differing
        .map(|(a, b)| {
            assert_eq!((a.time, a.mode, a.method), (b.time, b.mode, b.method), "{}", a.name);
            a.name.clone()
        })
        .collect()
}

pub(crate) fn part(bytes: &[u8], name: &str) -> String {
    entries(bytes).into_iter().find(|entry| entry.name == name).unwrap().content
}

/// A container of parts, packed.
pub(crate) fn container(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(content).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";

/// The smallest workbook of one tab `T`, whose part is the text given; more parts may follow.
pub(crate) fn smallest(sheet: &str, more: &[(&str, &str)]) -> Vec<u8> {
    let types = format!(
        "{HEAD}<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\"><Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/><Default Extension=\"xml\" ContentType=\"application/xml\"/><Override PartName=\"/xl/workbook.xml\" ContentType=\"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml\"/><Override PartName=\"/xl/worksheets/sheet1.xml\" ContentType=\"application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml\"/></Types>"
    );
    let kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let rels = |inner: &str| {
        format!(
            "{HEAD}<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">{inner}</Relationships>"
        )
    };
    let root = rels(&format!(
        "<Relationship Id=\"rId1\" Type=\"{kind}/officeDocument\" Target=\"xl/workbook.xml\"/>"
    ));
    let shared = more.iter().any(|(name, _)| name.ends_with("sharedStrings.xml"));
    let shared = if shared {
        format!(
            "<Relationship Id=\"rId2\" Type=\"{kind}/sharedStrings\" Target=\"sharedStrings.xml\"/>"
        )
    } else {
        String::new()
    };
    let book = rels(&format!(
        "<Relationship Id=\"rId1\" Type=\"{kind}/worksheet\" Target=\"worksheets/sheet1.xml\"/>{shared}"
    ));
    let workbook = format!(
        "{HEAD}<workbook xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\" xmlns:r=\"{kind}\"><sheets><sheet name=\"T\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>"
    );
    let mut parts: Vec<(&str, &[u8])> = vec![
        ("[Content_Types].xml", types.as_bytes()),
        ("_rels/.rels", root.as_bytes()),
        ("xl/workbook.xml", workbook.as_bytes()),
        ("xl/_rels/workbook.xml.rels", book.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
    ];
    parts.extend(more.iter().map(|(name, content)| (*name, content.as_bytes())));
    container(&parts)
}

/// A tab's part around its cells.
pub(crate) fn worksheet(inner: &str) -> String {
    format!(
        "{HEAD}<worksheet xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\">{inner}</worksheet>"
    )
}

/// The inside of [`worksheet`].
pub(crate) fn inner(sheet: &str) -> String {
    let from = sheet.find("main\">").unwrap() + 6;
    sheet[from..].strip_suffix("</worksheet>").unwrap().to_owned()
}

/// A workbook with macros under the name of one without, and the reverse: office programs open neither (common practice,
/// no source; the kinds are those of ECMA-376 Part 1, 12.3.23).
#[test]
fn a_file_whose_name_ends_otherwise_than_its_kind_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let corpus = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/corpus");
    for (file, name, told) in [
        ("macros_xlsxwriter_3.3.1.xlsm", "a.xlsm", None),
        ("macros_xlsxwriter_3.3.1.xlsm", "a.xlsx", Some("`a.xlsm`")),
        ("everyday_openpyxl_3.1.5.xlsx", "a.xlsx", None),
        ("everyday_openpyxl_3.1.5.xlsx", "a.xlsm", Some("`a.xlsx`")),
        ("everyday_openpyxl_3.1.5.xlsx", "a.xltx", Some("`a.xlsx`")),
        ("everyday_libreoffice_7.4.7.xlsx", "a.xlsx", None),
        ("everyday_sheetjs_0.18.5.xlsx", "a.xlsx", None),
    ] {
        std::fs::copy(corpus.join(file), folder.path().join(name)).unwrap();
        let run = super::range_command::standstill(folder.path(), &["fill", name]);
        let said = super::range_command::output_text(&run);
        let said = format!("{}{said}", super::range_command::out(&run));
        assert_eq!(said.contains("unreadable-file"), told.is_some(), "{file} {name}: {said}");
        assert!(told.is_none_or(|told| said.contains(told)), "{file} {name}: {said}");
    }
}
