//! Laws that hold for any small tab and any edits.

use std::collections::BTreeMap;

use proptest::prelude::*;
use standstill::spreadsheet::{Allow, Book, Cell, Edit, NewValue, Position, write_cells};

use super::files::{changed_parts, inner, part, smallest, worksheet};

type Place = (u32, u32);

/// How a cell of the tab is spelled.
#[derive(Clone, Debug)]
enum Stored {
    Number(f64),
    Inline(String),
    Blank,
    Truth(bool),
}

fn stored() -> impl Strategy<Value = Stored> {
    prop_oneof![
        any::<f64>().prop_filter("finite", |number| number.is_finite()).prop_map(Stored::Number),
        "[a-z<&\"' ]{0,5}".prop_map(Stored::Inline),
        Just(Stored::Blank),
        any::<bool>().prop_map(Stored::Truth),
    ]
}

fn new_value() -> impl Strategy<Value = NewValue> {
    prop_oneof![
        any::<f64>().prop_filter("finite", |number| number.is_finite()).prop_map(NewValue::Number),
        "\\PC{0,8}".prop_map(NewValue::Text),
        any::<bool>().prop_map(NewValue::Truth),
        Just(NewValue::Empty),
    ]
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;")
}

/// A tab whose rows and cells spell their places, or leave them out where that means the same.
fn tab(cells: &BTreeMap<Place, Stored>, spell: &[bool]) -> String {
    let mut rows: BTreeMap<u32, Vec<(u32, &Stored)>> = BTreeMap::new();
    for ((row, column), cell) in cells {
        rows.entry(*row).or_default().push((*column, cell));
    }
    let mut spelled = spell.iter().cycle();
    let mut must =
        |expected: u32, found: u32| expected != found || *spelled.next().unwrap_or(&true);
    let (mut out, mut next_row) = (String::new(), 0);
    for (row, cells) in rows {
        let place = if must(next_row, row) { format!(" r=\"{}\"", row + 1) } else { String::new() };
        out.push_str(&format!("\n <row{place}>"));
        next_row = row + 1;
        let mut next_column = 0;
        for (column, cell) in cells {
            let name = Position { row, column }.name();
            let place =
                if must(next_column, column) { format!(" r='{name}'") } else { String::new() };
            next_column = column + 1;
            out.push_str(&match cell {
                Stored::Number(number) => format!("<c{place}><v>{number:?}</v></c>"),
                Stored::Inline(text) => format!(
                    "<c{place} t=\"inlineStr\"><is><t xml:space=\"preserve\">{}</t></is></c>",
                    escaped(text)
                ),
                Stored::Blank => format!("<c{place}  />"),
                Stored::Truth(truth) => format!("<c t='b'{place}><v>{}</v></c>", u8::from(*truth)),
            });
        }
        out.push_str("</row>");
    }
    if out.is_empty() {
        "<sheetData/>".to_owned()
    } else {
        format!("<sheetData>{out}\n</sheetData>")
    }
}

/// The bytes of a tab between its cell elements.
fn without_cells(xml: &str) -> String {
    let mut out = String::new();
    let mut rest = xml;
    while let Some(from) = rest.find("<c") {
        out.push_str(&rest[..from]);
        let tag = from + rest[from..].find('>').unwrap() + 1;
        let end = if rest[..tag].ends_with("/>") {
            tag
        } else {
            tag + rest[tag..].find("</c>").unwrap() + 4
        };
        rest = &rest[end..];
    }
    out + rest
}

fn places() -> impl Strategy<Value = Place> {
    (0_u32..6, prop_oneof![0_u32..6, Just(16_383_u32)])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn edits_read_back_and_nothing_else_moves(
        cells in prop::collection::btree_map(places(), stored(), 0..12),
        edits in prop::collection::btree_map(places(), new_value(), 0..8),
        spell in prop::collection::vec(any::<bool>(), 1..6),
    ) {
        let before_xml = tab(&cells, &spell);
        let before = smallest(&worksheet(&before_xml), &[]);
        let asked: Vec<Edit> = edits
            .iter()
            .map(|((row, column), value)| {
                Edit::new("T", Position { row: *row, column: *column }, value.clone())
            })
            .collect();
        let written = write_cells("Book.xlsx", &before, &asked, Allow::default()).unwrap();

        // each cell asked reads back, each other cell reads as before
        let old = Book::read("Book.xlsx", &before).unwrap();
        let new = Book::read("Book.xlsx", &written.bytes).unwrap();
        for row in 0..6 {
            for column in (0..6).chain([16_383]) {
                let position = Position { row, column };
                let expected = match edits.get(&(row, column)) {
                    Some(value) => value.as_cell(),
                    None => old.tabs[0].cell(position).clone(),
                };
                let found = new.tabs[0].cell(position).clone();
                let found = if found == Cell::Text(String::new()) { Cell::Empty } else { found };
                let expected =
                    if expected == Cell::Text(String::new()) { Cell::Empty } else { expected };
                prop_assert_eq!(found, expected, "{}", position.name());
            }
        }

        // outside the cells not a byte has moved, where no row had to be made
        let after_xml = inner(&part(&written.bytes, "xl/worksheets/sheet1.xml"));
        let rows = |xml: &str| xml.matches("<row").count();
        if rows(&before_xml) == rows(&after_xml) {
            prop_assert_eq!(without_cells(&before_xml), without_cells(&after_xml));
        }
        let parts = changed_parts(&before, &written.bytes);
        prop_assert!(parts.is_empty() || parts == ["xl/worksheets/sheet1.xml"]);
        prop_assert_eq!(parts.is_empty(), written.changed.is_empty());
        prop_assert_eq!(written.changed.is_empty(), written.bytes == before);

        // twice is once
        let again = write_cells("Book.xlsx", &written.bytes, &asked, Allow::default()).unwrap();
        prop_assert!(again.bytes == written.bytes);
    }

    #[test]
    fn damaged_tabs_end_in_a_message_or_a_value(
        wounds in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..9, 0_usize..TOKENS.len()), 1..4),
    ) {
        let mut xml: Vec<char> = worksheet(HEALTHY).chars().collect();
        for (at, length, token) in wounds {
            let at = at.index(xml.len());
            let end = (at + length).min(xml.len());
            xml.splice(at..end, TOKENS[token].chars());
        }
        let bytes = smallest(&xml.into_iter().collect::<String>(), &[]);
        let readable = Book::read("Book.xlsx", &bytes).is_ok();
        let edits = ["A1", "B2", "C3", "D9"].map(|cell| {
            Edit::new("T", Position::parse(cell).unwrap(), NewValue::Number(1.0))
        });
        match write_cells("Book.xlsx", &bytes, &edits, Allow::default()) {
            // what cannot be read is never filled: the cells that bind it are read first
            Ok(_) if !readable => {}
            Ok(written) => {
                let book = Book::read("Book.xlsx", &written.bytes).unwrap();
                for edit in &edits {
                    prop_assert_eq!(book.tabs[0].cell(edit.position), &Cell::Number(1.0));
                }
            }
            // a fault of ours would be one even for damaged bytes
            Err(problems) => prop_assert!(
                problems.iter().all(|problem| problem.name.word() != "ours"),
                "{problems:?}"
            ),
        }
    }
}

const HEALTHY: &str = "<dimension ref=\"A1:C3\"/><cols><col min=\"1\" max=\"2\" style=\"1\"/></cols><sheetData><row r=\"1\" spans=\"1:3\"><c r=\"A1\" s=\"1\"><v>1</v></c><c r=\"B1\" t=\"inlineStr\"><is><t>x</t></is></c></row><row r=\"2\"><c r=\"A2\"><f>A1*2</f><v>2</v></c></row></sheetData><mergeCells><mergeCell ref=\"E1:F2\"/></mergeCells>";

const TOKENS: &[&str] = &[
    "", "<", ">", "\"", "'", "=", "/", "&", "<c>", "</c>", "<row r=\"7\">", "</row>", "<v>",
    "</v>", "<!--", "-->", "<![CDATA[", "]]>", "<?", "99999999999", "ZZZZZZZZ", "\u{0}", "µ",
    " r=\"A1\"", "</sheetData>", "<sheetData/>", "t=\"s\"", "<x:c r=\"A1\"/>",
    "<f t=\"shared\" si=\"4294967295\"/>",
];
