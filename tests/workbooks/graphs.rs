//! A formula of an input is followed to the cells that it takes, and its unit is worked out from theirs: units by formulas
//! by places where a unit stands, each wrong as it is and right with the factor between the two units.
//!
//! The factors are exact or as the SI Brochure (9th edition), NIST SP 811 (appendix B.8) and, of the flywheel effect, common
//! practice give them: GD² is four times the inertia, and 1 kgf is the weight of 1 kg.

use standstill::diagnostic::{Diagnostic, Name, Place};
use standstill::spreadsheet::{Book, Position};
use standstill::workbook::compute;

use super::mutants::grid::{Content, Grid, Tab};
use super::spoken::{MACHINE, Machine, SHEET};

/// An input, the unit of the cell that its formula takes, its words, and what one of it is in the unit of the input.
const TAKEN: &[(&str, &str, &str, f64)] = &[
    ("J", "kg·cm²", "rotor", 1e-4),
    ("J", "g·m²", "rotor", 1e-3),
    ("J", "lb·ft²", "rotor", 0.042_140_1),
    ("J", "kg·m²", "GD²", 0.25),
    ("J", "kgf·m²", "GD²", 0.25),
    ("J", "kgf·m²", "rotor", 0.25),
    ("J", "kp·m²", "PD² of the rotor", 0.25),
    ("J", "kg·cm²", "GD²", 2.5e-5),
    ("T_b", "kN·m", "torque", 1e3),
    ("T_b", "N·cm", "torque", 1e-2),
    ("T_b", "daN·m", "torque", 10.0),
    ("T_b", "lbf·in", "torque", 0.112_984_829),
    ("t_resp", "s", "answer", 1e3),
    ("t_resp", "min", "answer", 6e4),
];

/// Formulas of the cell `F`, and what they make of its number. `N` is a cell with a count of two and no unit.
const FORMULAS: &[(&str, f64)] = &[
    ("F", 1.0),
    ("F*2", 2.0),
    ("F*N", 2.0),
    ("N*F", 2.0),
    ("F/N", 0.5),
    ("F*N/2", 1.0),
    ("ROUND(F*N,9)", 2.0),
    ("MAX(F,0)", 1.0),
    ("IF(N>1,F,F)", 1.0),
    ("SUM(F,F)", 2.0),
    ("AVERAGE(F,F)", 1.0),
    ("F+F", 2.0),
    ("SQRT(F*F)", 1.0),
    ("PRODUCT(F,N)", 2.0),
    ("SUMPRODUCT(F,N)", 2.0),
    ("part", 1.0),
    ("part*N", 2.0),
];

/// Where the unit of the cell stands.
const PLACES: &[&str] = &["beside", "label", "heading", "format", "through a cell"];

/// The machine, one input of which is a formula.
fn drive(input: &str, formula: Content) -> Tab {
    let mut drive = Tab { name: "Drive".to_owned(), ..Tab::default() };
    drive.text(3, 1, "sheet machine");
    for (row, (name, value, own)) in (4..).zip(MACHINE) {
        drive.text(row, 1, name);
        drive.cells.insert((row, 2), Content::Number(value));
        drive.text(row, 3, own);
        if name == input {
            drive.cells.insert((row, 2), formula.clone());
        }
    }
    drive.text(7, 1, "t_stop");
    drive.text(7, 3, "s");
    drive
}

fn case(input: &str, formula: &str, (words, unit, place): (&str, &str, &str), made: f64) -> Grid {
    let number = 0.03;
    let drive = {
        let cell = if place == "through a cell" { "Parts!C20" } else { "Parts!C11" };
        let mut text = String::from("=");
        let signs: Vec<char> = formula.chars().collect();
        for (at, sign) in signs.iter().enumerate() {
            let beside = |at: Option<usize>| {
                at.and_then(|at| signs.get(at)).is_some_and(char::is_ascii_alphabetic)
            };
            let alone = !beside(at.checked_sub(1)) && !beside(at.checked_add(1));
            match sign {
                'F' if alone => text.push_str(cell),
                'N' if alone => text.push_str("Parts!C13"),
                _ => text.push(*sign),
            }
        }
        drive(input, Content::Formula(text, number * made))
    };
    let mut parts = Tab { name: "Parts".to_owned(), ..Tab::default() };
    parts.text(10, 1, words);
    parts.cells.insert((10, 2), Content::Number(number));
    match place {
        "label" => parts.text(10, 1, &format!("{words} / ({unit})")),
        "heading" => parts.text(9, 2, &format!("value [{unit}]")),
        "format" => {
            // the code is kept as long as the test runs
            let code: &'static str = Box::leak(format!("0.000\" {unit}\"").into_boxed_str());
            parts.cells.insert((10, 2), Content::Shown(number, code));
        }
        _ => parts.text(10, 3, unit),
    }
    parts.text(12, 1, "how many");
    parts.cells.insert((12, 2), Content::Number(2.0));
    parts.cells.insert((19, 2), Content::Formula("=C11".to_owned(), number));
    Grid { tabs: vec![drive, parts], names: vec![("part".to_owned(), "=Parts!$C$11".to_owned())] }
}

/// What is wrong at the cell of the input.
fn wrong(grid: &Grid, input: &str) -> Vec<Diagnostic> {
    let book = Book::read("Case.xlsx", &grid.xlsx()).unwrap();
    let problems = match compute(&book, None, &Machine(SHEET)) {
        Ok(_) => Vec::new(),
        Err(unfilled) => unfilled.problems,
    };
    let row = 4 + u32::try_from(MACHINE.iter().position(|it| it.0 == input).unwrap()).unwrap();
    let here = Position { row, column: 2 };
    let at = |it: &Diagnostic| matches!(&it.place, Some(Place::Cell { tab, row, column, .. }) if tab == "Drive" && here == Position { row: *row, column: *column });
    let errors = problems.into_iter().filter(Diagnostic::is_error);
    errors.filter(|it| it.name == Name::TwoStatements && at(it)).collect()
}

/// The formula that a remedy tells to type.
fn told(remedy: &str) -> Option<&str> {
    remedy.split_once("write `=")?.1.split_once('`').map(|it| it.0)
}

#[test]
fn a_formula_is_followed_to_cells_of_another_unit_and_its_remedy_is_right_when_typed() {
    let mut failed = Vec::new();
    let mut tried = 0;
    for (input, unit, words, factor) in TAKEN {
        for (formula, made) in FORMULAS {
            for place in PLACES {
                // a name stands for one cell
                let named = formula.starts_with("part");
                if named && *place == "through a cell" {
                    continue;
                }
                tried += 1;
                let what = format!("{input}: {formula} of {words} in {unit}, {place}");
                let about = (*words, *unit, *place);
                let found = wrong(&case(input, formula, about, *made), input);
                let Some(problem) = found.first() else {
                    failed.push(format!("{what}: silent"));
                    continue;
                };
                let known = if unit.starts_with('k') { "k" } else { *unit };
                if !problem.headline.contains(known) {
                    failed.push(format!("{what}: {}", problem.headline));
                }
                // the formula with the factor of the remedy
                if let Some(typed) = told(&problem.remedy) {
                    let by = typed.rsplit_once('*').and_then(|it| it.1.parse::<f64>().ok());
                    let by = by.unwrap_or(f64::NAN);
                    if (by / factor - 1.0).abs() > 1e-4 {
                        failed.push(format!("{what}: {}", problem.remedy));
                    }
                } else if !["SUM(F,F)", "F+F", "AVERAGE(F,F)", "IF(N>1,F,F)"].contains(formula) {
                    let twice = formula.contains("*2") || formula.contains("/2");
                    if !twice {
                        failed.push(format!("{what}: no formula in {}", problem.remedy));
                    }
                }
                let right = format!("({formula})*{factor}");
                let found = wrong(&case(input, &right, about, made * factor), input);
                if let Some(problem) = found.first() {
                    failed.push(format!("{what}, converted: {}", problem.headline));
                }
                let right = format!("({formula})/{}", 1.0 / factor);
                let found = wrong(&case(input, &right, about, made * factor), input);
                if let Some(problem) = found.first() {
                    failed.push(format!("{what}, divided: {}", problem.headline));
                }
            }
        }
    }
    assert!(failed.is_empty() && tried > 1000, "{tried}\n{}", failed.join("\n"));
}

#[test]
fn a_formula_of_cells_in_the_unit_of_the_input_passes() {
    for (input, unit) in [("J", "kg·m²"), ("T_b", "N·m"), ("t_resp", "ms")] {
        for (formula, made) in FORMULAS {
            for place in PLACES.iter().filter(|it| **it != "through a cell") {
                let found = wrong(&case(input, formula, ("part", unit, place), *made), input);
                assert!(found.is_empty(), "{input}: {formula}, {place}: {found:?}");
            }
        }
    }
}

#[test]
fn a_torque_of_a_pull_takes_the_radius() {
    // a pull, its unit, and what a formula makes of it at a length in millimetres
    let pulls =
        [("pull", "N", "", 1.0), ("pull", "kN", "*1000", 1e3), ("load", "kg", "*9.81", 9.81)];
    let lengths = [
        ("drum diameter", 0.5),
        ("Ø drum", 0.5),
        ("drum Ø", 0.5),
        ("D", 0.5),
        ("Trommeldurchmesser", 0.5),
        ("drum radius", 1.0),
        ("r", 1.0),
        ("lever", 1.0),
    ];
    let mut failed = Vec::new();
    for (words, unit, more, newtons) in pulls {
        for (length, to_radius) in lengths {
            for (half, by) in [("", 1.0), ("/2", 0.5), ("*0.5", 0.5)] {
                let formula = format!("Parts!C11{more}*Parts!C13{half}/1000");
                let typed = format!("={formula}");
                let mut parts = Tab { name: "Parts".to_owned(), ..Tab::default() };
                parts.text(10, 1, words);
                parts.cells.insert((10, 2), Content::Number(20.0));
                parts.text(10, 3, unit);
                parts.text(12, 1, length);
                parts.cells.insert((12, 2), Content::Number(300.0));
                parts.text(12, 3, "mm");
                let grid = Grid {
                    tabs: vec![drive("T_b", Content::Formula(typed, newtons * 6.0 * by)), parts],
                    names: Vec::new(),
                };
                let found = wrong(&grid, "T_b");
                let what = format!("{length}: {formula}");
                let remedy = found.first().map(|it| it.remedy.clone());
                if (by > to_radius) != remedy.is_some() {
                    failed.push(format!("{what}: {found:?}"));
                }
                if remedy.is_some_and(|it| told(&it) != Some(&format!("({formula})*0.5"))) {
                    failed.push(format!("{what}: {found:?}"));
                }
            }
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
}
