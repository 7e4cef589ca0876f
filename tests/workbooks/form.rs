//! A form goes straight into `fill`: filled in with the examples of its sheets it gives what the sheets
//! give, and an office suite sees the ranges that the sheets set.

use std::fs;
use std::sync::Arc;

use standstill::Sheet;
use standstill::library::{self, SHELVED, Shelves};
use standstill::number::Slot;
use standstill::program::{Checked, compile};
use standstill::surroundings::Nowhere;
use standstill::workbook::{
    Allow, Book, Cell, FormOptions, Position, Sheets, form, work_out, write_cells,
};

const EXAMPLES: FormOptions = FormOptions { examples: true, uses: false };

use super::recalculate::{recalculated, suite, without_results};

struct Library;

impl Sheets for Library {
    fn checked(&self, name: &str) -> Option<Checked> {
        Some(compile(&library::sheet(name)?, &Shelves { surroundings: &Nowhere }))
    }

    fn names(&self) -> Vec<String> {
        SHELVED.iter().map(|sheet| sheet.name.to_owned()).collect()
    }
}

fn all() -> Vec<Arc<standstill::program::Program>> {
    SHELVED.iter().map(|sheet| Arc::clone(Sheet::library(sheet.name).unwrap().program())).collect()
}

#[test]
fn a_form_of_every_sheet_goes_straight_into_fill() {
    let bytes = form(&all(), EXAMPLES).unwrap();
    let book = Book::read("Forms.xlsx", &bytes).unwrap();
    let filling = work_out(&book, None, &Library)
        .unwrap_or_else(|unfilled| panic!("{:#?}", unfilled.problems));
    assert_eq!(filling.calculated.len(), SHELVED.len());
    for calculated in &filling.calculated {
        let program = calculated.results.program();
        let name = &program.scopes[0].sheet;
        let sheet = Sheet::library(name).unwrap();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let direct = sheet.run(&inputs).unwrap();
        for output in &program.outputs {
            assert_eq!(
                calculated.results.in_words(output),
                direct.in_words(output),
                "{name} {}",
                output.name
            );
            assert!(
                calculated.cells.iter().any(|(cell, ..)| *cell == output.name),
                "{name} {} has no cell",
                output.name
            );
        }
        assert!(
            calculated.cells.iter().any(|(cell, ..)| cell == "checks"),
            "{name} has no cell for its checks"
        );
    }
    // and the results can be written into it without asking for anything to be allowed
    let written = write_cells("Forms.xlsx", &bytes, &filling.edits(), Allow::default()).unwrap();
    let again = Book::read("Forms.xlsx", &written.bytes).unwrap();
    let afterwards = work_out(&again, None, &Library)
        .unwrap_or_else(|unfilled| panic!("{:#?}", unfilled.problems));
    assert_eq!(afterwards.calculated.len(), SHELVED.len());
}

#[test]
fn an_empty_form_names_what_is_missing_and_nothing_else() {
    let bytes = form(&all(), FormOptions::default()).unwrap();
    let unfilled =
        work_out(&Book::read("Forms.xlsx", &bytes).unwrap(), None, &Library).unwrap_err();
    assert!(!unfilled.problems.is_empty());
    for problem in &unfilled.problems {
        assert!(
            ["missing-input", "empty-cell"].contains(&problem.name.word()),
            "{}",
            problem.headline
        );
    }
}

#[test]
fn a_series_takes_one_cell_a_value_and_the_rest_stays_free() {
    let sheet = Sheet::library("gear-train").unwrap();
    let bytes = form(&[Arc::clone(sheet.program())], EXAMPLES).unwrap();
    let book = Book::read("Form.xlsx", &bytes).unwrap();
    let filling = work_out(&book, None, &Library)
        .unwrap_or_else(|unfilled| panic!("{:#?}", unfilled.problems));
    let calculated = &filling.calculated[0];
    for output in &calculated.results.program().outputs {
        let Some(Slot::Many(values)) = calculated.results.slot(output) else { continue };
        let cells: Vec<_> =
            calculated.cells.iter().filter(|(name, ..)| *name == output.name).collect();
        assert!(
            cells.len() >= values.len(),
            "{} has {} cells for {} values",
            output.name,
            cells.len(),
            values.len()
        );
    }
}

#[test]
fn the_same_sheets_make_the_same_bytes() {
    assert!(form(&all(), EXAMPLES).unwrap() == form(&all(), EXAMPLES).unwrap());
}

#[test]
fn two_sheets_with_one_name_get_two_tabs() {
    let sheet = Sheet::library("run-down").unwrap();
    let twice = [Arc::clone(sheet.program()), Arc::clone(sheet.program())];
    let book = Book::read("Form.xlsx", &form(&twice, EXAMPLES).unwrap()).unwrap();
    let names: Vec<&str> = book.tabs.iter().map(|tab| tab.name.as_str()).collect();
    assert_eq!(names, ["run-down", "run-down 2", "ranges"]);
}

#[test]
fn ranges_are_worked_out_in_the_unit_that_is_chosen() {
    // the office suite works the bounds out afresh after another unit was chosen in each form
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let sheet = Sheet::library("run-down").unwrap();
    let bytes = form(&[Arc::clone(sheet.program())], EXAMPLES).unwrap();
    let book = Book::read("Form.xlsx", &bytes).unwrap();
    let at = |name: &str| {
        let tab = book.tab("run-down").unwrap();
        let entry = tab.entries().find(|entry| entry.cell == Cell::Text(name.to_owned())).unwrap();
        entry.position.row
    };
    let edits = [("n_0", "rad/s", 152.0), ("J", "kg·cm²", 101.0), ("n_end", "r/s", 1.0)]
        .iter()
        .flat_map(|(name, unit, value)| {
            let cell = |column| Position::new(at(name), column).unwrap();
            [
                standstill::workbook::Edit::new(
                    "run-down",
                    cell(1),
                    standstill::workbook::NewValue::Number(*value),
                ),
                standstill::workbook::Edit::new(
                    "run-down",
                    cell(2),
                    standstill::workbook::NewValue::Text((*unit).to_owned()),
                ),
            ]
        })
        .collect::<Vec<_>>();
    let changed = write_cells("Form.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let file = folder.path().join("Form.xlsx");
    fs::write(&file, without_results(&changed.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder.path());
    let afresh = Book::read("Form.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap();
    let ranges = afresh.tab("ranges").unwrap();
    let number = |name: &str, column: u32| {
        let entry = ranges
            .entries()
            .find(|entry| entry.position.column == 1 && entry.cell == Cell::Text(name.to_owned()));
        let row = entry.unwrap().position.row;
        match ranges.cell(Position::new(row, column).unwrap()) {
            Cell::Number(number) => *number,
            other => panic!("{name}, column {column}: {other:?}"),
        }
    };
    let near = |found: f64, wanted: f64| {
        assert!((found - wanted).abs() <= 1e-9 * wanted.abs(), "{found}, wanted {wanted}")
    };
    // 1 r/min is π/30 rad/s, 1 r/s is 2π rad/s, 1 kg·cm² is 1e-4 kg·m² (SI Brochure, chapter 4)
    near(number("n_0", 9), 100_000.0 * std::f64::consts::PI / 30.0);
    near(number("n_0", 8), std::f64::consts::TAU);
    near(number("J", 3), 1e-4);
    near(number("J", 5), 101e-4);
    near(number("n_end", 5), std::f64::consts::TAU);
}
