//! Defined names of an `.xlsb`. No library at hand writes them, so their records are put into the workbook of
//! another writer. Source of the records: [MS-XLSB], 2.4.711 BrtName, 2.4.655 BrtExternSheet, and 2.5.98 for
//! the tokens of a cell and an area on a tab (from memory); the library that reads them here is an independent
//! reader.

use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::Path;

use standstill::spreadsheet::{Area, Book, Cell, Target};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::files::at;
use super::range_command::{out, output_text, standstill};

const FILE: &str = "block_sheetjs_0.18.5.xlsb";

fn record(kind: &[u8], content: &[u8]) -> Vec<u8> {
    let mut bytes = kind.to_vec();
    let mut length = content.len();
    while length >= 0x80 {
        bytes.push(u8::try_from(length & 0x7f).unwrap() | 0x80);
        length >>= 7;
    }
    bytes.push(u8::try_from(length).unwrap());
    bytes.extend(content);
    bytes
}

/// A name for an area of the first tab that the list of tabs has; `flags` of a column: 0xc000 is relative.
fn name(name: &str, area: &str, flags: u16) -> Vec<u8> {
    let area = Area::parse(area).unwrap();
    let column = |column: u32| (u16::try_from(column).unwrap() | flags).to_le_bytes();
    let mut token = Vec::new();
    if area.is_single() {
        token.extend([0x3a, 0, 0]);
        token.extend(area.first.row.to_le_bytes());
        token.extend(column(area.first.column));
    } else {
        token.extend([0x3b, 0, 0]);
        token.extend(area.first.row.to_le_bytes());
        token.extend(area.last.row.to_le_bytes());
        token.extend(column(area.first.column));
        token.extend(column(area.last.column));
    }
    let mut content = vec![0; 5];
    content.extend(u32::MAX.to_le_bytes());
    let signs: Vec<u16> = name.encode_utf16().collect();
    content.extend(u32::try_from(signs.len()).unwrap().to_le_bytes());
    content.extend(signs.iter().flat_map(|sign| sign.to_le_bytes()));
    content.extend(u32::try_from(token.len()).unwrap().to_le_bytes());
    content.extend(&token);
    content.extend([0; 4]);
    record(&[0x27], &content)
}

/// The workbook with these records behind its list of tabs.
fn with_names(names: &[Vec<u8>]) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/asked");
    let mut zip = ZipArchive::new(Cursor::new(fs::read(folder.join(FILE)).unwrap())).unwrap();
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    // one tab of this workbook: an index into the books, first and last tab
    let tabs = [1_u32, 0, 0, 0].map(u32::to_le_bytes).concat();
    let mut more = record(&[0xea, 0x02], &tabs);
    more.extend(names.concat());
    for index in 0..zip.len() {
        let mut entry = zip.by_index(index).unwrap();
        let name = entry.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).unwrap();
        if name == "xl/workbook.bin" {
            let end = [0x90, 0x01, 0x00];
            let behind = bytes.windows(3).position(|three| three == end).unwrap() + 3;
            bytes.splice(behind..behind, more.iter().copied());
        }
        out.start_file(name, SimpleFileOptions::default()).unwrap();
        out.write_all(&bytes).unwrap();
    }
    out.finish().unwrap().into_inner()
}

#[test]
fn names_of_a_binary_workbook_say_what_they_stand_for() {
    let bytes = with_names(&[
        name("spin.J", "C6", 0),
        name("curve", "B3:C9", 0),
        name("beside", "C6", 0xc000),
    ]);
    let book = Book::read(FILE, &bytes).unwrap();
    let found: Vec<(&str, &Target)> =
        book.names.iter().map(|name| (name.name.as_str(), &name.target)).collect();
    let cells =
        |area: &str| Target::Cells { tab: "Inputs".to_owned(), area: Area::parse(area).unwrap() };
    assert_eq!(found[..2], [("spin.J", &cells("C6")), ("curve", &cells("B3:C9"))]);
    // counted from wherever it is used: never taken for a cell
    assert!(!matches!(found[2].1, Target::Cells { .. }), "{:?}", found[2]);
}

#[test]
fn a_binary_workbook_is_filled_by_its_names() {
    let place = tempfile::tempdir().unwrap();
    let names = [name("spin.J", "C6", 0), name("spin.n_0", "C7", 0), name("spin.x", "C22", 0)];
    fs::write(place.path().join(FILE), with_names(&names)).unwrap();
    let sheet = "sheet spin\ntitle \"energy of a rotor\"\nsource \"E = J·ω²/2\"\ntakes\n  J : inertia in kg·m² above 0 \"inertia\"\n  n_0 : speed of rotation in r/min above 0 \"speed\"\nworks\n  x = 1/2 * J * n_0^2 / (1 J)\ngives\n  x\n";
    fs::write(place.path().join("spin.sheet"), sheet).unwrap();
    let found = standstill(place.path(), &["fill", FILE, "-o", "filled.xlsx"]);
    assert_eq!(found.status.code(), Some(0), "{}{}", out(&found), output_text(&found));
    let filled = fs::read(place.path().join("filled.xlsx")).unwrap();
    let book = Book::read("filled.xlsx", &filled).unwrap();
    let Cell::Number(found) = book.tab("Inputs").unwrap().cell(at("C22")) else { panic!() };
    // J·ω²/2 by hand: 18 kg·cm² at 1450 r/min
    let omega = 1450.0 * std::f64::consts::PI / 30.0;
    assert!((found / (0.5 * 0.0018 * omega * omega) - 1.0).abs() < 1e-12, "{found}");
}
