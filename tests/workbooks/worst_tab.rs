//! The tab of the worst case in a result workbook: what it holds, and that no bound outlives its inputs.

use std::fs;

use standstill::Sheet;
use standstill::calculation::WorstCase;
use standstill::spreadsheet::{Allow, Book, Cell, Edit, NewValue, Position, write_cells};
use standstill::workbook::worst_book;

use super::recalculate::{recalculated, suite, without_results};

/// J·ω/T by hand: 2.1·157.0796327/3.5 = 94.2477796 and 1.9·157.0796327/4.5 = 66.3225116 around 78.5398163.
fn bytes() -> Vec<u8> {
    let sheet = Sheet::library("run-down").unwrap();
    let mut inputs = sheet.inputs();
    for (name, text) in [("J", "2 kg·m² ± 5 %"), ("n_0", "1500 r/min"), ("T_0", "4 N·m ± 0.5 N·m")]
    {
        inputs.write(name, text).unwrap();
    }
    worst_book(&WorstCase::compute(sheet.program(), &inputs).unwrap()).unwrap()
}

fn row_of(book: &Book, tab: &str, name: &str) -> u32 {
    let tab = book.tab(tab).unwrap();
    let mut found = tab.entries();
    let entry =
        found.find(|entry| entry.position.column == 0 && entry.cell == Cell::Text(name.to_owned()));
    entry.unwrap_or_else(|| panic!("{name}")).position.row
}

fn cell(book: &Book, row: u32, column: u32) -> Cell {
    book.tab("worst case").unwrap().cell(Position::new(row, column).unwrap()).clone()
}

fn number(book: &Book, row: u32, column: u32) -> f64 {
    match cell(book, row, column) {
        Cell::Number(number) => number,
        other => panic!("{row} {column}: {other:?}"),
    }
}

#[test]
fn the_tab_shows_each_result_as_given_at_its_lowest_and_at_its_highest() {
    let book = Book::read("worst.xlsx", &bytes()).unwrap();
    let row = row_of(&book, "worst case", "t_stop");
    for (column, wanted) in [(1, 78.539_816_3), (3, 66.322_511_6), (4, 94.247_779_6)] {
        let found = number(&book, row, column);
        // an end is rounded outward to six digits, as in the report
        let off = if column == 1 { 1e-6 } else { 1e-4 };
        assert!((found - wanted).abs() < off, "{column}: {found}");
        assert!(column != 3 || found <= wanted, "{found}");
        assert!(column != 4 || found >= wanted, "{found}");
    }
    assert_eq!(cell(&book, row, 5), Cell::Text("J = 1.9 kg·m², T_0 = 4.5 N·m".to_owned()));
    assert_eq!(cell(&book, row, 6), Cell::Text("J = 2.1 kg·m², T_0 = 3.5 N·m".to_owned()));
    assert_eq!(cell(&book, 2, 1), Cell::Truth(true));
}

#[test]
fn a_changed_input_takes_every_bound_away() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let bytes = bytes();
    let ours = Book::read("worst.xlsx", &bytes).unwrap();
    let n_0 = Position::new(row_of(&ours, "inputs", "n_0"), 1).unwrap();
    let same = write_cells("worst.xlsx", &bytes, &[], Allow::default()).unwrap();
    let edit = Edit::new("inputs", n_0, NewValue::Number(1600.0));
    let changed = write_cells("worst.xlsx", &bytes, &[edit], Allow::default()).unwrap();
    let files = [("same", same.bytes), ("changed", changed.bytes)].map(|(name, bytes)| {
        let file = folder.path().join(format!("{name}.xlsx"));
        fs::write(&file, without_results(&bytes)).unwrap();
        file
    });
    let afresh = recalculated(suite, &files, folder.path());
    let read = |at: usize| Book::read("theirs.xlsx", &fs::read(&afresh[at]).unwrap()).unwrap();
    let (same, changed) = (read(0), read(1));
    let row = row_of(&ours, "worst case", "t_stop");
    for column in [1, 3, 4] {
        let (theirs, mine) = (number(&same, row, column), number(&ours, row, column));
        assert!((theirs - mine).abs() < 1e-9, "{column}: {theirs}");
    }
    // as given it follows the input: 2·(1600 r/min)/4, that is 83.7758041 s; the bounds are gone
    assert!((number(&changed, row, 1) - 83.775_804_1).abs() < 1e-6);
    assert!(matches!(cell(&changed, row, 3), Cell::Error(_)));
    assert!(matches!(cell(&changed, row, 4), Cell::Error(_)));
    assert_eq!(cell(&changed, 2, 1), Cell::Truth(false));
}
