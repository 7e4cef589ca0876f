//! The shapes of XML that a tab may have, each with the bytes that must come out.

use standstill::spreadsheet::{Allow, Edit, NewValue, write_cells};

use super::files::{at, inner, number, part, smallest, text, worksheet};

fn filled(before: &str, edits: &[Edit]) -> String {
    let bytes = smallest(&worksheet(before), &[]);
    let written = write_cells("Book.xlsx", &bytes, edits, Allow::default())
        .unwrap_or_else(|problems| panic!("{before}: {}", problems[0].headline));
    inner(&part(&written.bytes, "xl/worksheets/sheet1.xml"))
}

#[test]
fn only_the_touched_bytes_differ() {
    let edits =
        |cells: &[&str]| -> Vec<Edit> { cells.iter().map(|cell| number("T", cell, 7.5)).collect() };
    for (before, cells, after) in [
        // no cells at all yet
        (
            "<sheetData/>",
            &["B2"][..],
            "<sheetData><row r=\"2\"><c r=\"B2\"><v>7.5</v></c></row></sheetData>",
        ),
        (
            "<sheetData />",
            &["A1", "B1", "A3"],
            "<sheetData><row r=\"1\"><c r=\"A1\"><v>7.5</v></c><c r=\"B1\"><v>7.5</v></c></row><row r=\"3\"><c r=\"A3\"><v>7.5</v></c></row></sheetData>",
        ),
        (
            "<sheetData></sheetData>",
            &["A1"],
            "<sheetData><row r=\"1\"><c r=\"A1\"><v>7.5</v></c></row></sheetData>",
        ),
        // an empty row keeps its looks
        (
            "<sheetData><row r='2' ht='20' /></sheetData>",
            &["B2"],
            "<sheetData><row r='2' ht='20'><c r=\"B2\"><v>7.5</v></c></row></sheetData>",
        ),
        // rows and cells go where they belong
        (
            "<sheetData>\n <row r=\"2\"/>\n <row r=\"5\"/>\n</sheetData>",
            &["A1", "A3", "A9"],
            "<sheetData>\n <row r=\"1\"><c r=\"A1\"><v>7.5</v></c></row><row r=\"2\"/>\n <row r=\"3\"><c r=\"A3\"><v>7.5</v></c></row><row r=\"5\"/>\n<row r=\"9\"><c r=\"A9\"><v>7.5</v></c></row></sheetData>",
        ),
        (
            "<sheetData><row r=\"1\"><c r=\"B1\"/><c r=\"D1\"><v>1</v></c></row></sheetData>",
            &["A1", "C1", "E1"],
            "<sheetData><row r=\"1\"><c r=\"A1\"><v>7.5</v></c><c r=\"B1\"/><c r=\"C1\"><v>7.5</v></c><c r=\"D1\"><v>1</v></c><c r=\"E1\"><v>7.5</v></c></row></sheetData>",
        ),
        // a new cell before a changed one
        (
            "<sheetData><row r=\"1\"><c r=\"B1\"><v>1</v></c></row></sheetData>",
            &["A1", "B1"],
            "<sheetData><row r=\"1\"><c r=\"A1\"><v>7.5</v></c><c r=\"B1\"><v>7.5</v></c></row></sheetData>",
        ),
        // kind, style, quotes
        (
            "<sheetData><row r='1'><c r='A1' s='3' t='str' cm='1' vm='1'><v>old</v></c></row></sheetData>",
            &["A1"],
            "<sheetData><row r='1'><c r='A1' s='3'><v>7.5</v></c></row></sheetData>",
        ),
        (
            "<sheetData><row r='1'><c t='b' r='A1'\n s='3'/></row></sheetData>",
            &["A1"],
            "<sheetData><row r='1'><c r='A1'\n s='3'><v>7.5</v></c></row></sheetData>",
        ),
        (
            "<sheetData><row r='1'><c r='A1' t='inlineStr'><is><r><t>a</t></r><r><t>b</t></r></is></c></row></sheetData>",
            &["A1"],
            "<sheetData><row r='1'><c r='A1'><v>7.5</v></c></row></sheetData>",
        ),
        // no `r` anywhere
        (
            "<sheetData><row><c><v>1</v></c><c><v>2</v></c></row><row><c><v>3</v></c></row></sheetData>",
            &["B1", "B2", "A3"],
            "<sheetData><row><c><v>1</v></c><c><v>7.5</v></c></row><row><c><v>3</v></c><c r=\"B2\"><v>7.5</v></c></row><row r=\"3\"><c r=\"A3\"><v>7.5</v></c></row></sheetData>",
        ),
        // comments, instructions and marked sections look like cells and are none
        (
            "<!-- <sheetData><row r=\"1\"> --><sheetData><!-- <c r=\"A1\"/> --><row r=\"1\"><?x <c r=\"A1\"/> ?><c r=\"A1\"><v>1</v></c><!-- > --></row></sheetData>",
            &["A1"],
            "<!-- <sheetData><row r=\"1\"> --><sheetData><!-- <c r=\"A1\"/> --><row r=\"1\"><?x <c r=\"A1\"/> ?><c r=\"A1\"><v>7.5</v></c><!-- > --></row></sheetData>",
        ),
        (
            "<sheetData><row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t><![CDATA[</c><c r=\"B1\">]]></t></is></c><c r=\"B1\"><v>1</v></c></row></sheetData>",
            &["B1"],
            "<sheetData><row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t><![CDATA[</c><c r=\"B1\">]]></t></is></c><c r=\"B1\"><v>7.5</v></c></row></sheetData>",
        ),
        // reach of the row and used area
        (
            "<dimension ref=\"A1:B1\"/><sheetData><row r=\"1\" spans=\"1:2\" ht=\"9\"><c r=\"A1\"><v>1</v></c></row></sheetData>",
            &["B1"],
            "<dimension ref=\"A1:B1\"/><sheetData><row r=\"1\" spans=\"1:2\" ht=\"9\"><c r=\"A1\"><v>1</v></c><c r=\"B1\"><v>7.5</v></c></row></sheetData>",
        ),
        (
            "<dimension ref='A1:B1'></dimension><sheetData><row r=\"1\" spans=\"1:2\" ht=\"9\"><c r=\"A1\"><v>1</v></c></row></sheetData>",
            &["D1"],
            "<dimension ref='A1:D1'></dimension><sheetData><row r=\"1\" ht=\"9\"><c r=\"A1\"><v>1</v></c><c r=\"D1\"><v>7.5</v></c></row></sheetData>",
        ),
        // styles of row and column
        (
            "<cols><col min=\"2\" max=\"3\" style=\"4\"/></cols><sheetData><row r=\"1\" s=\"9\" customFormat=\"1\"/><row r=\"2\" s=\"9\"/></sheetData>",
            &["B1", "B2", "B3", "D3"],
            "<cols><col min=\"2\" max=\"3\" style=\"4\"/></cols><sheetData><row r=\"1\" s=\"9\" customFormat=\"1\"><c r=\"B1\" s=\"9\"><v>7.5</v></c></row><row r=\"2\" s=\"9\"><c r=\"B2\" s=\"4\"><v>7.5</v></c></row><row r=\"3\"><c r=\"B3\" s=\"4\"><v>7.5</v></c><c r=\"D3\"><v>7.5</v></c></row></sheetData>",
        ),
    ] {
        assert_eq!(filled(before, &edits(cells)), after);
    }
}

#[test]
fn elements_with_a_prefix_get_neighbours_with_the_same_prefix() {
    let sheet = "<x:worksheet xmlns:x=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"><x:sheetData><x:row r=\"1\"><x:c r=\"A1\"><x:v>1</x:v></x:c></x:row></x:sheetData></x:worksheet>";
    let bytes = smallest(sheet, &[]);
    let edits = [number("T", "A1", 2.0), text("T", "B1", "b"), number("T", "A2", 3.0)];
    let written = write_cells("Book.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let after = part(&written.bytes, "xl/worksheets/sheet1.xml");
    assert!(after.contains("<x:row r=\"1\"><x:c r=\"A1\"><x:v>2</x:v></x:c><x:c r=\"B1\" t=\"inlineStr\"><x:is><x:t xml:space=\"preserve\">b</x:t></x:is></x:c></x:row><x:row r=\"2\"><x:c r=\"A2\"><x:v>3</x:v></x:c></x:row></x:sheetData>"), "{after}");
}

#[test]
fn a_byte_order_mark_stays() {
    let sheet = format!("\u{feff}{}", worksheet("<sheetData/>"));
    let bytes = smallest(&sheet, &[]);
    let written =
        write_cells("Book.xlsx", &bytes, &[number("T", "A1", 2.0)], Allow::default()).unwrap();
    assert!(part(&written.bytes, "xl/worksheets/sheet1.xml").starts_with("\u{feff}<?xml"));
}

#[test]
fn numbers_are_written_with_the_fewest_digits_that_read_back() {
    for (value, digits) in [
        (0.1 + 0.2, "0.30000000000000004"),
        (1e-300, "1E-300"),
        (-0.0, "0"),
        (1450.0, "1450"),
        (f64::MAX, "1.7976931348623157E308"),
        (5e-324, "5E-324"),
        (1e15, "1000000000000000"),
        (123_456_789.123_456_78, "123456789.12345678"),
        (-1.0 / 3.0, "-0.3333333333333333"),
    ] {
        let edit = number("T", "A1", value);
        let before = "<sheetData><row r=\"1\"><c r=\"A1\"><v>1</v></c></row></sheetData>";
        let after = filled(before, &[edit]);
        assert_eq!(after, before.replace("<v>1<", &format!("<v>{digits}<")));
        assert_eq!(digits.parse::<f64>().unwrap(), value);
    }
}

#[test]
fn texts_truths_and_nothing_are_written_as_what_they_are() {
    let before = "<sheetData><row r=\"1\"><c r=\"A1\" s=\"2\"><v>1</v></c></row></sheetData>";
    for (value, cell) in [
        (
            NewValue::Text(" a < b & \"c\" ".to_owned()),
            "<c r=\"A1\" s=\"2\" t=\"inlineStr\"><is><t xml:space=\"preserve\"> a &lt; b &amp; \"c\" </t></is></c>",
        ),
        (
            NewValue::Text("1e5".to_owned()),
            "<c r=\"A1\" s=\"2\" t=\"inlineStr\"><is><t xml:space=\"preserve\">1e5</t></is></c>",
        ),
        (
            NewValue::Text("=1+1".to_owned()),
            "<c r=\"A1\" s=\"2\" t=\"inlineStr\"><is><t xml:space=\"preserve\">=1+1</t></is></c>",
        ),
        (
            NewValue::Text("a\u{7}_x0041_\r\n".to_owned()),
            "<c r=\"A1\" s=\"2\" t=\"inlineStr\"><is><t xml:space=\"preserve\">a_x0007__x005F_x0041__x000D_\n</t></is></c>",
        ),
        (NewValue::Truth(true), "<c r=\"A1\" s=\"2\" t=\"b\"><v>1</v></c>"),
        (NewValue::Text(String::new()), "<c r=\"A1\" s=\"2\"/>"),
        (NewValue::Empty, "<c r=\"A1\" s=\"2\"/>"),
    ] {
        let after = filled(before, &[Edit::new("T", at("A1"), value)]);
        assert_eq!(after, format!("<sheetData><row r=\"1\">{cell}</row></sheetData>"));
    }
}

#[test]
fn a_new_cell_may_take_the_style_of_another() {
    let before = "<sheetData><row r=\"1\"><c r=\"A1\" s=\"2\"/></row></sheetData>";
    let edit = Edit { style_of: Some(at("A1")), ..number("T", "C1", 1.0) };
    assert!(filled(before, &[edit]).contains("<c r=\"C1\" s=\"2\"><v>1</v></c>"));
}

#[test]
fn results_that_depend_on_a_change_are_taken_out_and_no_others() {
    let before = "<sheetData><row r=\"1\"><c r=\"A1\"><v>1</v></c><c r=\"B1\"><f>A1*2</f><v>2</v></c><c r=\"C1\"><f>B1&amp;\"\"</f><v>2</v></c><c r=\"D1\"><f>E1*2</f><v>0</v></c></row></sheetData>";
    let bytes = smallest(&worksheet(before), &[]);
    let written =
        write_cells("Book.xlsx", &bytes, &[number("T", "A1", 5.0)], Allow::default()).unwrap();
    let after = inner(&part(&written.bytes, "xl/worksheets/sheet1.xml"));
    assert_eq!(
        after,
        "<sheetData><row r=\"1\"><c r=\"A1\"><v>5</v></c><c r=\"B1\"><f>A1*2</f></c><c r=\"C1\"><f>B1&amp;\"\"</f></c><c r=\"D1\"><f>E1*2</f><v>0</v></c></row></sheetData>"
    );
    let stale: Vec<_> = written.to_recalculate.iter().map(|one| one.position.name()).collect();
    assert_eq!(stale, ["B1", "C1"]);
    let workbook = part(&written.bytes, "xl/workbook.xml");
    assert!(workbook.contains("</sheets><calcPr fullCalcOnLoad=\"1\"/></workbook>"), "{workbook}");
    // what does not feed a formula leaves the workbook part alone
    let written =
        write_cells("Book.xlsx", &bytes, &[number("T", "F1", 5.0)], Allow::default()).unwrap();
    assert!(written.to_recalculate.is_empty());
    assert!(!part(&written.bytes, "xl/workbook.xml").contains("calcPr"));
}
