//! What a workbook shows and what it holds apart: old results of formulas, texts in pieces, units and words that say
//! another quantity, and rows that nothing reads.
//!
//! Common practice of offices, no source: the layouts here are those that people make. What the formulas give is
//! calculated by hand.

use rust_xlsxwriter::{CalculationMode, Formula, Workbook};
use standstill::diagnostic::Name;
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::Book;
use standstill::workbook::range::{ProductLine, TableRequest};
use standstill::workbook::{Filling, compute};

use super::mutants::grid::{Content, Grid, Tab};

fn fill(bytes: &[u8]) -> Result<Filling, (Name, String, String)> {
    let book = Book::read("Saw.xlsx", bytes).unwrap();
    compute(&book, None, &Project::new(&NoFs)).map_err(|unfilled| {
        let first = unfilled.problems.iter().find(|problem| problem.is_error()).unwrap();
        let place = first.place.as_ref().map(standstill::diagnostic::Place::to_text);
        (first.name, place.unwrap_or_default(), format!("{}; {}", first.headline, first.remedy))
    })
}

/// A run-down whose friction is 4.2, saved as the result of a formula over a table beside it.
fn with_formula(text: &str, mode: CalculationMode) -> Vec<u8> {
    let mut book = Workbook::new();
    book.set_calculation_mode(mode);
    let tab = book.add_worksheet().set_name("Saw").unwrap();
    let rows = [("J", "kg·m²", 2.0), ("n_0", "r/min", 1450.0), ("T_0", "N·m", 4.2)];
    tab.write(0, 0, "sheet run-down").unwrap();
    for (row, (name, unit, value)) in (1..).zip(rows) {
        tab.write(row, 0, name).unwrap();
        tab.write(row, 1, value).unwrap();
        tab.write(row, 2, unit).unwrap();
    }
    tab.write(4, 0, "t_stop").unwrap();
    tab.write(4, 2, "s").unwrap();
    for (row, (key, number)) in (0..).zip([("a", 2.14), ("be", 4.2), ("ce", 8.44)]) {
        tab.write(row, 9, key).unwrap();
        tab.write(row, 10, number).unwrap();
    }
    tab.write_formula(3, 1, Formula::new(text).set_result("4.2")).unwrap();
    book.define_name("friction", "=4.2").unwrap();
    book.define_name("rest", "=2.1").unwrap();
    book.save_to_buffer().unwrap()
}

#[test]
fn an_old_result_is_found_through_many_functions() {
    for (right, old) in [
        ("=ROUNDUP(K2,1)", "=ROUNDUP(K1,1)"),
        ("=ROUNDDOWN(K2,1)", "=ROUNDDOWN(K3,1)"),
        ("=INT(K2)+0.2", "=INT(K3)+0.2"),
        ("=TRUNC(K2)+0.2", "=TRUNC(K1)+0.2"),
        ("=CEILING(4.13,0.6)", "=CEILING(K1,0.6)"),
        ("=FLOOR(4.3,0.6)", "=FLOOR(K1,0.6)"),
        ("=MROUND(4.3,0.6)", "=MROUND(K1,0.6)"),
        ("=MEDIAN(K1:K3)", "=MEDIAN(K1:K2)"),
        ("=INDEX(K1:K3,2)", "=INDEX(K1:K3,1)"),
        ("=INDEX(J1:K3,2,2)", "=INDEX(J1:K3,3,2)"),
        ("=VLOOKUP(\"be\",J1:K3,2,FALSE)", "=VLOOKUP(\"a\",J1:K3,2,FALSE)"),
        ("=INDEX(K1:K3,MATCH(\"be\",J1:J3,0))", "=INDEX(K1:K3,MATCH(\"ce\",J1:J3,0))"),
        ("=SUMIF(J1:J3,\"be\",K1:K3)", "=SUMIF(J1:J3,\"ce\",K1:K3)"),
        ("=SUMIF(K1:K3,\"<3\")+2.06", "=SUMIF(K1:K3,\">3\")"),
        ("=SUMPRODUCT(K2:K2,K2:K2)/4.2", "=SUMPRODUCT(K1:K2,K1:K2)"),
        ("=IFERROR(K2/1,9)", "=IFERROR(K1/1,9)"),
        ("=N(K2)", "=N(K1)"),
        ("=friction", "=rest"),
        ("=friction*1", "=2*rest+1"),
    ] {
        assert!(fill(&with_formula(right, CalculationMode::Automatic)).is_ok(), "{right}");
        assert!(fill(&with_formula(right, CalculationMode::Manual)).is_ok(), "{right}, by hand");
        let (name, place, words) =
            fill(&with_formula(old, CalculationMode::Automatic)).expect_err(old);
        assert_eq!((name, place.as_str()), (Name::StaleFigures, "Saw.xlsx ▸ Saw!B4"), "{old}");
        assert!(words.contains("the file holds 4.2 as its result"), "{old}: {words}");
    }
}

#[test]
fn a_workbook_that_calculates_only_when_asked_is_asked() {
    // GEOMEAN is not evaluated here
    let text = "=GEOMEAN(K1:K3)";
    assert!(fill(&with_formula(text, CalculationMode::Automatic)).is_ok());
    let (name, _, words) = fill(&with_formula(text, CalculationMode::Manual)).unwrap_err();
    assert_eq!(name, Name::StaleFigures);
    assert!(words.contains("calculates only when asked"), "{words}");
    assert!(words.ends_with("set the workbook to calculate automatically, save it, and try again"));
}

/// A run-down of 2 kg·m² from 1450 r/min by 4 N·m.
fn block() -> Tab {
    let mut tab = Tab { name: "Saw".to_owned(), ..Tab::default() };
    tab.text(0, 0, "sheet run-down");
    let rows = [("J", "kg·m²", 2.0), ("n_0", "r/min", 1450.0), ("T_0", "N·m", 4.0)];
    for (row, (name, unit, value)) in (1..).zip(rows) {
        tab.text(row, 0, name);
        tab.cells.insert((row, 1), Content::Number(value));
        tab.text(row, 2, unit);
    }
    tab.text(4, 0, "t_stop");
    tab.text(4, 2, "s");
    tab
}

fn changed(change: impl FnOnce(&mut Tab)) -> Result<Filling, (Name, String, String)> {
    let mut tab = block();
    change(&mut tab);
    fill(&Grid { tabs: vec![tab], names: Vec::new() }.xlsx())
}

#[test]
fn pieces_of_a_text_are_never_joined() {
    let raised = |at: (u32, u16), first, second| {
        changed(|tab| drop(tab.cells.insert(at, Content::Raised(first, second))))
    };
    let (_, place, words) = raised((2, 1), "10", "3").unwrap_err();
    assert!(place.ends_with("B3") && words.contains("\"10³\""), "{words}");
    assert!(words.ends_with("write the number alone into B3"), "{words}");
    // a raised digit of a unit is what it is
    assert!(raised((1, 2), "kg·m", "2").is_ok());
    let struck = |at: (u32, u16), first: &str, second: &str| {
        let cell = Content::HalfStruck(first.to_owned(), second.to_owned());
        changed(|tab| drop(tab.cells.insert(at, cell))).unwrap_err()
    };
    for (at, first, second) in [
        ((2, 1), "2900", "1450"),
        ((3, 2), "k", "N·m"),
        ((3, 0), "T_0", "_old"),
        ((1, 2), "x", "kg·m²"),
    ] {
        let (name, _, words) = struck(at, first, second);
        let joined = format!("{first}{second}");
        assert!(!words.contains(&format!("write {joined}")), "{words}");
        assert!(name == Name::TwoStatements || at == (3, 0) || at == (1, 2), "{name:?} {words}");
    }
}

#[test]
fn a_unit_that_makes_a_value_absurd_is_asked() {
    let unit = |row: u32, unit: &'static str| changed(move |tab| tab.text(row, 2, unit));
    let (name, _, words) = unit(3, "MN·m").unwrap_err();
    assert_eq!(name, Name::TwoStatements);
    assert!(words.contains("is mN·m or N·m meant?"), "{words}");
    for fine in ["mN·m", "kN·m", "N·cm"] {
        assert!(unit(3, fine).is_ok(), "{fine}");
    }
    // who means it writes it without the prefix
    assert!(changed(|tab| drop(tab.cells.insert((3, 1), Content::Number(4e6)))).is_ok());
}

/// A run-down whose cells bear names, with a label before each.
fn named(labels: [&str; 4], unread: &str) -> Result<Filling, (Name, String, String)> {
    let mut tab = Tab { name: "Saw".to_owned(), ..Tab::default() };
    let rows = [("kg·m²", 2.0), ("r/min", 1450.0), ("N·m", 4.0), ("N·m", -1.0)];
    for (row, (label, (unit, value))) in (0..).zip(labels.into_iter().zip(rows)) {
        tab.text(row, 0, label);
        tab.cells.insert((row, 1), Content::Number(value));
        tab.text(row, 2, unit);
    }
    tab.text(4, 2, "s");
    let names = [("J", 1), ("n_0", 2), ("T_0", 3), ("T_load", 4), ("t_stop", 5)];
    let names = names.into_iter().filter(|(name, _)| *name != unread);
    let names = names.map(|(name, row)| (format!("run_down.{name}"), format!("=Saw!$B${row}")));
    fill(&Grid { tabs: vec![tab], names: names.collect() }.xlsx())
}

#[test]
fn words_of_another_quantity_or_unit_are_compared() {
    let plain = ["inertia of the motor", "speed, r/min", "friction, least", "load"];
    assert!(named(plain, "").is_ok());
    // mass times the square of the radius of gyration is the inertia itself (any handbook of mechanics, from memory)
    assert!(named(["WK2 of the plate", plain[1], plain[2], plain[3]], "").is_ok());
    for (at, words, part) in [
        (0, "GD² of the motor", "four times the inertia"),
        (0, "PD2", "four times the inertia"),
        (2, "friction, mN·m", "mN·m"),
        (2, "friction (mN·m), least", "mN·m"),
        (1, "turns per second", "per s"),
    ] {
        let mut labels = plain;
        labels[at] = words;
        let (name, _, found) = named(labels, "").expect_err(words);
        assert!(name == Name::TwoStatements && found.contains(part), "{words}: {found}");
    }
    let (_, place, found) =
        changed(|tab| tab.text(1, 3, "GD² of the motor")).expect_err("behind a row");
    assert!(place.ends_with("D2") && found.contains("a quarter of it"), "{found}");
}

#[test]
fn a_row_that_states_an_input_and_is_not_read_is_shown() {
    let labels = ["motor", "speed", "friction", "T_load"];
    assert!(named(["motor", "speed", "friction", "load"], "T_load").is_ok());
    // below the values that are read, in a unit of its kind, and one slip away from its name
    for label in ["T_load", "T_laod", "T_load [N·m]"] {
        let (name, place, words) =
            named([labels[0], labels[1], labels[2], label], "T_load").expect_err(label);
        assert_eq!((name, place.as_str()), (Name::UnknownRow, "Saw.xlsx ▸ Saw!A4"));
        assert!(words.contains("the sheet's default is taken for `T_load`"), "{words}");
    }
    // between them
    let mut tab = Tab { name: "Saw".to_owned(), ..Tab::default() };
    for (row, (label, unit, value)) in (0..).zip([
        ("J", "kg·m²", 2.0),
        ("T_load", "N·m", -1.0),
        ("n_0", "r/min", 1450.0),
        ("T_0", "N·m", 4.0),
    ]) {
        tab.text(row, 0, label);
        tab.cells.insert((row, 1), Content::Number(value));
        tab.text(row, 2, unit);
    }
    tab.text(4, 2, "s");
    let names = [("J", 1), ("n_0", 3), ("T_0", 4), ("t_stop", 5)];
    let names = names.map(|(name, row)| (format!("run_down.{name}"), format!("=Saw!$B${row}")));
    let (name, place, _) = fill(&Grid { tabs: vec![tab], names: names.into() }.xlsx()).unwrap_err();
    assert_eq!((name, place.as_str()), (Name::UnknownRow, "Saw.xlsx ▸ Saw!A2"));
}

#[test]
fn a_flywheel_effect_in_a_heading_is_said_with_its_factor() {
    for heading in ["J (GD²) / (kg·m²)", "GD² / (kg·m²)", "J GD2 / (kg·m²)"] {
        let mut tab = Tab { name: "Line".to_owned(), ..Tab::default() };
        tab.text(0, 0, "sheet run-down");
        for (column, text) in (0..).zip(["type", heading, "n_0 / (r/min)", "T_0 / (N·m)"]) {
            tab.text(2, column, text);
        }
        tab.text(3, 0, "A");
        for (column, value) in (1..).zip([2.0, 1450.0, 4.0]) {
            tab.cells.insert((3, column), Content::Number(value));
        }
        let book = Book::read("Line.xlsx", &Grid { tabs: vec![tab], names: Vec::new() }.xlsx());
        let line =
            ProductLine::find(&book.unwrap(), &TableRequest::default(), &Project::new(&NoFs));
        let problems = line.unwrap_err().problems;
        let of_heading =
            problems.iter().find(|it| it.headline.contains("flywheel")).expect(heading);
        assert!(of_heading.remedy.contains("`inertia-data` reads GD²"), "{}", of_heading.remedy);
        assert!(problems.iter().all(|it| !it.remedy.contains("did you mean `J`")), "{heading}");
    }
}
