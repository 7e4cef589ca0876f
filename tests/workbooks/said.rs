//! What a run says of a workbook besides its figures, and what it refuses where two statements differ.
//!
//! Common practice of offices, no source: the layouts here are those that people make.

use standstill::diagnostic::{Diagnostic, Name, Place, Source};
use standstill::environment::NoFs;
use standstill::program::Sheets as _;
use standstill::project::Project;
use standstill::spreadsheet::{Allow, Book, Position, write_cells};
use standstill::workbook::range::{ProductLine, TableRequest};
use standstill::workbook::{Filling, Unfilled, compute};

use super::mutants::grid::{Content, Grid, Tab};

fn number(value: f64) -> Content {
    Content::Number(value)
}

/// A tab from rows of cells.
fn tab(name: &str, rows: &[&[(&str, u16)]], numbers: &[(u32, u16, f64)]) -> Tab {
    let mut tab = Tab { name: name.to_owned(), ..Tab::default() };
    for (row, cells) in (0..).zip(rows) {
        for (text, column) in *cells {
            tab.text(row, *column, text);
        }
    }
    for (row, column, value) in numbers {
        tab.cells.insert((*row, *column), number(*value));
    }
    tab
}

/// A run-down of 2 kg·m² from 1450 r/min by 4 N·m, with its result.
fn run_down() -> Tab {
    tab(
        "Saw",
        &[
            &[("sheet run-down", 0)],
            &[("J", 0), ("kg·m²", 2)],
            &[("n_0", 0), ("r/min", 2)],
            &[("T_0", 0), ("N·m", 2)],
            &[("t_stop", 0), ("s", 2)],
        ],
        &[(1, 1, 2.0), (2, 1, 1450.0), (3, 1, 4.0)],
    )
}

fn book(grid: &Grid) -> Book {
    Book::read("Saw.xlsx", &grid.xlsx()).unwrap()
}

fn filled(grid: &Grid, bind: Option<&str>) -> Result<Filling, Unfilled> {
    let source = bind.map(|text| Source::new("saw.bind", text));
    compute(&book(grid), source.as_ref(), &Project::new(&NoFs))
}

/// Headline, cell and remedy of the first error.
fn refusal(grid: &Grid, bind: Option<&str>) -> (Name, String, String) {
    let problems = filled(grid, bind).expect_err("it is refused").problems;
    let first: &Diagnostic = problems.iter().find(|problem| problem.is_error()).unwrap();
    let place = first.place.as_ref().map(Place::to_text);
    (first.name, place.unwrap_or_default(), first.remedy.clone())
}

fn one(tab: Tab) -> Grid {
    Grid { tabs: vec![tab], names: Vec::new() }
}

#[test]
fn a_remedy_names_the_first_cell_of_a_merged_area() {
    // value and unit cell are one: the unit goes behind the area
    let mut saw = run_down();
    saw.cells.remove(&(1, 2));
    saw.merged.push((1, 1, 1, 2));
    let (name, place, remedy) = refusal(&one(saw.clone()), None);
    assert_eq!((name, place.as_str()), (Name::MissingUnit, "Saw.xlsx ▸ Saw!B2"));
    assert!(remedy.contains("into D2"), "{remedy}");
    saw.text(1, 3, "kg·m²");
    assert!(filled(&one(saw), None).is_ok());
    // one unit cell for two rows is read for both
    let mut saw = run_down();
    saw.text(2, 2, "r/min");
    saw.merged.push((3, 2, 4, 2));
    let problems = filled(&one(saw), None).expect_err("s is not there for t_stop").problems;
    assert!(problems.iter().any(|problem| problem.name == Name::ResultUnit), "{problems:?}");
}

#[test]
fn a_cell_that_is_bound_to_one_name_and_bears_another_is_refused() {
    let mut plain = run_down();
    plain.text(0, 0, "Data of the saw");
    plain.text(5, 0, "E_stop");
    plain.cells.insert((5, 1), number(9.0));
    let grid = one(plain);
    let bind = |to: &str| {
        format!(
            "sheet run-down\n  J from Saw!B2\n  n_0 from Saw!B3\n  T_0 from Saw!B4\n  t_stop to Saw!{to} in s\n"
        )
    };
    assert!(filled(&grid, Some(&bind("B5"))).is_ok());
    let (name, place, _) = refusal(&grid, Some(&bind("B6")));
    assert_eq!((name, place.as_str()), (Name::TwoStatements, "Saw.xlsx ▸ Saw!B6"));
}

#[test]
fn words_of_the_owner_are_not_overwritten() {
    let mut saw = run_down();
    saw.text(4, 1, "see the manual");
    let (name, place, _) = refusal(&one(saw.clone()), None);
    assert_eq!((name, place.as_str()), (Name::OwnersWords, "Saw.xlsx ▸ Saw!B5"));
    // 4 s is typed, a run of before wrote 2 · 151.844 / 4 with all its digits
    saw.cells.insert((4, 1), number(4.0));
    let (name, place, _) = refusal(&one(saw.clone()), None);
    assert_eq!((name, place.as_str()), (Name::OwnersWords, "Saw.xlsx ▸ Saw!B5"));
    saw.cells.insert((4, 1), number(75.921_823_245_678_9));
    assert!(filled(&one(saw), None).is_ok(), "a figure of an earlier run is replaced");
}

#[test]
fn errors_about_defined_names_name_a_cell() {
    let mut saw = run_down();
    saw.text(0, 0, "Data of the saw");
    let mut grid = one(saw);
    let names = [("J", 2), ("n_0", 3), ("T_0", 4), ("t_stpo", 5)];
    for (name, row) in names {
        grid.names.push((format!("run_down.{name}"), format!("=Saw!$B${row}")));
    }
    let (name, place, _) = refusal(&grid, None);
    assert_eq!((name, place.as_str()), (Name::UnknownRow, "Saw.xlsx ▸ Saw!B5"));
}

/// Twelve stops in a column, with their unit; names for them and for what comes out.
fn stops() -> Grid {
    let mut stops = Tab { name: "Stops".to_owned(), ..Tab::default() };
    for row in 0..12 {
        stops.cells.insert((row, 0), number(310.0 + f64::from(row)));
        stops.text(row, 1, "ms");
    }
    stops.cells.insert((20, 0), number(2.0));
    stops.text(20, 1, "ms");
    stops.text(21, 1, "ms");
    let mut grid = one(stops);
    let names = [("t_k", "$A$1:$A$12"), ("u", "$A$21"), ("t_stop", "$A$22")];
    for (name, cells) in names {
        grid.names.push((format!("measured_stops.{name}"), format!("=Stops!{cells}")));
    }
    grid
}

#[test]
fn a_name_that_ends_short_of_its_column_is_refused() {
    let mut grid = stops();
    assert!(filled(&grid, None).is_ok());
    for (cells, next) in [("$A$1:$A$11", "A12"), ("$A$2:$A$12", "A1")] {
        grid.names[0].1 = format!("=Stops!{cells}");
        let (name, place, _) = refusal(&grid, None);
        assert_eq!((name, place), (Name::UnknownRow, format!("Saw.xlsx ▸ Stops!{next}")));
    }
}

#[test]
fn hidden_values_of_a_series_and_hidden_units_are_said() {
    let said = |grid: &Grid| -> Vec<String> {
        let cautions = filled(grid, None).unwrap().cautions;
        cautions.into_iter().map(|caution| caution.headline).collect()
    };
    let mut grid = stops();
    assert_eq!(said(&grid), Vec::<String>::new());
    grid.tabs[0].hidden_rows.insert(7);
    assert_eq!(said(&grid), ["`t_k` comes from hidden rows"]);
    let mut saw = run_down();
    saw.hidden_columns.insert(2);
    assert_eq!(said(&one(saw)), ["the unit of `J` and 3 more come from hidden columns"]);
}

#[test]
fn a_reference_between_two_calculations_that_cannot_be_resolved_stops_the_run() {
    let mut grid = one(run_down());
    let mut other = run_down();
    other.name = "Drum".to_owned();
    other
        .cells
        .insert((3, 1), Content::Formula("=INDIRECT(\"Saw!B\"&LEN(\"12345\"))".to_owned(), 5.0));
    grid.tabs.push(other);
    let bytes = grid.xlsx();
    let book = book(&grid);
    let filling = filled(&grid, None).unwrap();
    let written = write_cells("Saw.xlsx", &bytes, &filling.edits(), Allow::default()).unwrap();
    let found = filling.uncertain(&book, &written);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].is_error() && found[0].remedy.contains("--only Saw!A1"), "{found:?}");
    assert_eq!(found[0].place, Some(book.place("Drum", Position { row: 3, column: 1 })));
    // once the results are there nothing changes, and nothing may be out of date
    let again = Book::read("Saw.xlsx", &written.bytes).unwrap();
    let filling = compute(&again, None, &Project::new(&NoFs)).unwrap();
    let second =
        write_cells("Saw.xlsx", &written.bytes, &filling.edits(), Allow::default()).unwrap();
    assert!(filling.uncertain(&again, &second).is_empty());
}

#[test]
fn numbers_beside_a_block_and_defaults_are_said() {
    let mut saw = run_down();
    saw.cells.insert((1, 3), number(3.0));
    saw.cells.insert((2, 3), number(1500.0));
    let cautions = filled(&one(saw), None).unwrap().cautions;
    let said: Vec<&str> = cautions.iter().map(|it| it.headline.as_str()).collect();
    let words = "the number in D2 and 1 more cells beside the block is not used: values stand next to the names";
    assert_eq!(said, [words]);
}

#[test]
fn rows_of_totals_are_no_variants_and_defaults_of_a_table_are_listed() {
    let mut line = tab(
        "Line",
        &[
            &[("sheet run-down", 0)],
            &[],
            &[("id", 0), ("J / (kg·m²)", 1), ("T_0 / (N·m)", 2), ("n_0 / (r/min)", 3)],
            &[("A", 0)],
            &[("B", 0)],
            &[],
            &[("Average", 0)],
        ],
        &[(3, 1, 2.0), (3, 2, 4.0), (3, 3, 1450.0), (4, 1, 3.0), (4, 2, 4.0), (4, 3, 1450.0)],
    );
    for (column, letter) in [(1, 'B'), (2, 'C'), (3, 'D')] {
        let text = format!("=AVERAGE({letter}4:{letter}5)");
        line.cells.insert((6, column), Content::Formula(text, 3.0));
    }
    let book = book(&one(line));
    let found = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs)).unwrap();
    assert_eq!(
        (found.variants.as_slice(), found.totals.as_slice()),
        ([3, 4].as_slice(), [6].as_slice())
    );
    let defaults: Vec<String> = found.defaults().into_iter().map(|it| it.name).collect();
    let program = &found.program;
    let wanted: Vec<String> = program
        .inputs
        .iter()
        .filter(|input| !["J", "T_0", "n_0"].contains(&input.name.as_str()))
        .map(|input| input.name.clone())
        .collect();
    assert!(
        wanted.iter().all(|name| defaults.contains(name)) && !wanted.is_empty(),
        "{defaults:?}"
    );
}

/// What a run says, whether it stops or not.
fn all_said(grid: &Grid) -> Vec<Diagnostic> {
    match filled(grid, None) {
        Ok(filling) => filling.cautions,
        Err(unfilled) => unfilled.problems,
    }
}

/// Every radius and every diameter of the library, with a remark that says the other, and with the sheet's own words.
#[test]
fn words_that_say_diameter_beside_a_radius_are_refused() {
    let project = Project::new(&NoFs);
    let mut tried = 0;
    for sheet in project.names() {
        let nowhere = Place::File { name: "Saw.xlsx".to_owned() };
        let program = project.checked(&sheet, &nowhere).unwrap().program.unwrap();
        for input in &program.inputs {
            let other = match input.kind.map(|kind| kind.name) {
                Some("radius") => "diameter",
                Some("diameter") => "radius",
                _ => continue,
            };
            let Some(example) = input.example.first() else { continue };
            for words in [format!("outer {other}"), input.note.clone()] {
                let head = format!("sheet {sheet}");
                let row =
                    [(input.name.as_str(), 0), (example.unit.symbol.as_str(), 2), (&words, 3)];
                let value = format!("{}e{}", example.digits, example.ten).parse().unwrap();
                let said = all_said(&one(tab("Saw", &[&[(&head, 0)], &row], &[(1, 1, value)])));
                let told = said.iter().any(|it| it.headline.contains("stands beside"));
                assert_eq!(told, words != input.note, "{sheet} {}: {words} {said:?}", input.name);
                tried += 1;
            }
        }
    }
    assert!(tried > 20, "{tried}");
}

/// Common practice of drawings and offices, no source: how a diameter and a radius are written, with the figure `#`.
const AS_DIAMETER: &[&str] = &[
    "Ø#", "Ø #", "Ø # mm", "#Ø", "# Ø", "Ø=#", "⌀#", "⌀ #", "∅ #", "dia#", "dia. #", "diam. #",
    "diameter #", "O.D. #", "O/D #", "OD #", "D = #", "D=#", "D #", "d = # mm", "Da = #",
    "Durchmesser #", "Aussendurchmesser #", "Durchm. #", "disc Ø#",
];
const AS_RADIUS: &[&str] = &["R#", "R #", "r = #", "r=# mm", "radius #", "Halbmesser #"];

/// A symbol stands anywhere among words; a part that is named is another one, and of the own measure there is one figure.
#[test]
fn a_measure_among_other_words_is_held_against_the_value() {
    let refused = |sheet: &str, input: &str, value: f64, words: &str| {
        let head = format!("sheet {sheet}");
        let row = [(input, 0), ("mm", 2), (words, 3)];
        let said = all_said(&one(tab("Saw", &[&[(&head, 0)], &row], &[(1, 1, value)])));
        said.iter().any(|it| it.name == Name::TwoStatements)
    };
    for (words, wanted) in [
        ("drum R 310", true),
        ("drum R 310 mm by drawing", true),
        ("drum D 310", false),
        ("radius of sheave 100", false),
        ("radius of the sheave 100 mm", false),
        ("radius of the drum 310", true),
        ("sheave R 100", false),
    ] {
        assert_eq!(refused("hoist", "d", 310.0, words), wanted, "{words}");
    }
    for (words, wanted) in [
        ("R 310", true),
        ("outer R 70", true),
        ("outer radius R 62", false),
        ("groove R 5", false),
        ("sheave R 310", false),
    ] {
        assert_eq!(refused("disc-brake", "r_o", 62.0, words), wanted, "{words}");
    }
}

/// Capitals that are a unit and nothing else are compared with that of the value, in a block and in a row.
#[test]
fn capitals_that_are_a_unit_alone_are_compared() {
    for (sheet, input, unit, words, wanted) in [
        ("solid-cylinder", "m", "kg", "LB", true),
        ("solid-cylinder", "m", "kg", "KG", false),
        ("solid-cylinder", "m", "lb", "LB", false),
        ("solid-cylinder", "d", "mm", "IN", false),
        ("run-down", "n_0", "r/min", "RAD", false),
        ("run-down", "T_0", "N·m", "KPCM", true),
    ] {
        let head = format!("sheet {sheet}");
        let block =
            tab("Saw", &[&[(&head, 0)], &[(input, 0), (unit, 2), (words, 3)]], &[(1, 1, 40.0)]);
        let said = all_said(&one(block));
        let told = said.iter().any(|it| it.name == Name::TwoStatements);
        assert_eq!(told, wanted, "{input} in {unit}: {words}, {said:?}");
    }
}

/// A dash in the place of a value that has a default: what is to be done where nothing is meant.
#[test]
fn a_dash_in_the_cell_of_an_input_with_a_default_is_told_how_to_take_it() {
    let mut saw = run_down();
    saw.insert_rows(4, 1);
    saw.text(4, 0, "n_end");
    saw.text(4, 1, "–");
    saw.text(4, 2, "r/min");
    let (name, place, remedy) = refusal(&one(saw.clone()), None);
    assert_eq!((name, place.as_str()), (Name::TextForNumber, "Saw.xlsx ▸ Saw!B5"));
    assert!(
        remedy
            .ends_with("; to take the sheet's default of 0 r/min, take the whole row or name out"),
        "{remedy}"
    );
    saw.cells.retain(|at, _| at.0 != 4);
    assert!(filled(&one(saw), None).is_ok());
}

/// The very value in the spelling of the other measure is refused; what the other measure is, that of another part, and its
/// own spelling, is not.
#[test]
fn every_spelling_of_the_other_measure_is_held_against_the_value() {
    let cases = [("disc-brake", "r_o", 62.0, [AS_DIAMETER, AS_RADIUS], 2.0)].into_iter().chain([(
        "hoist",
        "d",
        310.0,
        [AS_RADIUS, AS_DIAMETER],
        0.5,
    )]);
    let mut wrong = Vec::new();
    for (sheet, input, value, [others, own], times) in cases {
        let refused = |words: &str| {
            let head = format!("sheet {sheet}");
            let row = [(input, 0), ("mm", 2), (words, 3)];
            let said = all_said(&one(tab("Saw", &[&[(&head, 0)], &row], &[(1, 1, value)])));
            said.iter().any(|it| it.name == Name::TwoStatements)
        };
        for form in others {
            for (number, wanted) in [(value, true), (value * times, false), (22.5, false)] {
                let words = form.replace('#', &number.to_string());
                if refused(&words) != wanted {
                    wrong.push(format!("{input} \"{words}\", {wanted}"));
                }
            }
        }
        for form in own {
            let words = form.replace('#', &value.to_string());
            if refused(&words) {
                wrong.push(format!("{input} \"{words}\""));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn words_that_say_another_of_several_are_told() {
    for (words, told) in [
        ("mean torque", true),
        ("maximum by the maker", true),
        ("smallest of three", false),
        ("min", false),
        ("between least and most", false),
        ("by the maker", false),
    ] {
        let rows: &[&[(&str, u16)]] = &[
            &[("sheet mechanical-brake-stop", 0)],
            &[("J", 0), ("kg·m²", 2)],
            &[("n_0", 0), ("r/min", 2)],
            &[("t_resp", 0), ("ms", 2)],
            &[("t_build", 0), ("ms", 2)],
            &[("T_f", 0), ("N·m", 2)],
            &[("T_b", 0), ("N·m", 2), (words, 3)],
            &[("n_max", 0), ("r/min", 2)],
            &[("E_max", 0), ("J", 2)],
            &[("T_load", 0), ("N·m", 2)],
        ];
        let values = [0.0101, 1450.0, 60.0, 40.0, 1.6, 15.0, 1800.0, 500.0, -2.0];
        let values: Vec<_> = (1..).zip(values).map(|(row, value)| (row, 1, value)).collect();
        let saw = tab("Saw", rows, &values);
        let found = all_said(&one(saw));
        let found = found.iter().any(|it| it.headline.contains("of which the sheet says"));
        assert_eq!(found, told, "{words}");
    }
}

/// What stands behind a formula is looked at as the cell itself is.
#[test]
fn a_source_that_is_struck_hidden_or_taken_back_is_told() {
    let told = |formula: &str, change: &dyn Fn(&mut Tab)| {
        let mut saw = run_down();
        saw.cells.insert((1, 1), Content::Formula(formula.to_owned(), 2.0));
        let rows: &[&[(&str, u16)]] = &[&[("new", 0)], &[("old", 0)]];
        let mut parts = tab("Parts", rows, &[(0, 1, 2.0), (1, 1, 3.0)]);
        change(&mut parts);
        let said = all_said(&Grid { tabs: vec![saw, parts], names: Vec::new() });
        said.iter().map(|it| (it.name, it.is_error())).collect::<Vec<_>>()
    };
    let of_one = [
        "=Parts!B1",
        "=SUMIFS(Parts!B1:B2,Parts!A1:A2,\"new\")",
        "=VLOOKUP(\"new\",Parts!A1:B2,2,FALSE)",
        "=SUM(Parts!B1)",
        "=Parts!B1+0*Parts!B2",
    ];
    for formula in of_one {
        assert_eq!(told(formula, &|_| {}), [], "{formula}");
        let struck = |parts: &mut Tab| drop(parts.cells.insert((0, 1), Content::Struck(2.0)));
        assert_eq!(told(formula, &struck), [(Name::TwoStatements, true)], "{formula}");
        let hidden = |parts: &mut Tab| assert!(parts.hidden_rows.insert(0));
        assert_eq!(told(formula, &hidden), [(Name::HiddenCells, false)], "{formula}");
        let unseen = |parts: &mut Tab| parts.hidden = true;
        assert_eq!(told(formula, &unseen), [(Name::HiddenTab, false)], "{formula}");
        let doubt = |parts: &mut Tab| parts.text(0, 2, "preliminary");
        assert_eq!(told(formula, &doubt), [(Name::TwoStatements, false)], "{formula}");
    }
    // a row that is not taken says nothing
    let other = |parts: &mut Tab| {
        parts.cells.insert((1, 1), Content::Struck(3.0));
        parts.text(1, 2, "preliminary");
        parts.hidden_rows.insert(1);
    };
    for formula in of_one.iter().take(4) {
        assert_eq!(told(formula, &other), [], "{formula}");
    }
}

#[test]
fn units_before_their_values_are_told_once() {
    let mut saw = run_down();
    for row in 1..4 {
        saw.swap((row, 1), (row, 2));
    }
    let unfilled = filled(&one(saw.clone()), None).unwrap_err();
    let [problem] = unfilled.problems.as_slice() else { panic!("{:?}", unfilled.problems) };
    assert!(problem.remedy.starts_with("exchange what stands in the columns B and C"));
    // heads of their own make it no table of variants
    saw.insert_rows(1, 1);
    for (column, text) in (0..).zip(["symbol", "unit", "value"]) {
        saw.text(1, column, text);
    }
    assert_eq!(filled(&one(saw), None).unwrap_err().problems.len(), 1);
}

/// Signs that tables put where a pure number has no unit, and around a unit; common practice, no source.
#[test]
fn a_sign_for_no_unit_and_a_unit_in_brackets_are_read() {
    let of = |unit: &str, of_torque: &str| {
        let rows: &[&[(&str, u16)]] = &[
            &[("sheet disc-brake", 0)],
            &[("F", 0), ("N", 2)],
            &[("N", 0), (unit, 2)],
            &[("mu", 0), (unit, 2)],
            &[("r_o", 0), ("[mm]", 2)],
            &[("r_i", 0), ("mm", 2)],
            &[("p_max", 0), ("MPa", 2)],
            &[("n", 0), ("[r/min]", 2)],
            &[("v_max", 0), ("m/s", 2)],
            &[("T", 0), (of_torque, 2)],
        ];
        let values = [900.0, 2.0, 0.35, 60.0, 40.0, 0.5, 1450.0, 25.0];
        let values: Vec<_> = (1..).zip(values).map(|(row, value)| (row, 1, value)).collect();
        filled(&one(tab("Disc", rows, &values)), None).map(|_| ())
    };
    for unit in ["", "-", "–", "—", "1"] {
        assert!(of(unit, "[N·m]").is_ok(), "{unit} {:?}", of(unit, "[N·m]"));
    }
    assert!(of("", "N∙m").is_ok());
    assert!(of("pcs", "N·m").is_err() && of("", "-").is_err());
}

/// The time between two stops, and their number in a time.
#[test]
fn stops_in_a_time_are_held_against_the_time_between_them() {
    for (words, told) in [
        ("10 stops per minute", true),
        ("360 stops per hour", true),
        ("600/h", true),
        ("10 cycles/min", true),
        ("257 per hour", false),
        ("4.286 per minute", false),
        // less often than the shortest
        ("200 stops per hour", false),
    ] {
        let row = [("t_cycle", 0), ("s", 2), (words, 3)];
        let said =
            all_said(&one(tab("Saw", &[&[("sheet brake-resistor", 0)], &row], &[(1, 1, 14.0)])));
        let found: Vec<&str> = said.iter().map(|it| it.headline.as_str()).collect();
        let asked = format!("`t_cycle` is 14 s, and \"{words}\" stands beside it");
        assert_eq!(found.contains(&asked.as_str()), told, "{words}: {found:?}");
        assert!(!said.iter().any(|it| it.name == Name::UnitMismatch), "{words}: {found:?}");
    }
}

/// A title, a heading between the values and the name of a tab that take them back, or count pieces.
#[test]
fn what_stands_above_values_and_withdraws_them_is_said() {
    let withdrawn = |saw: Tab| {
        let said = filled(&one(saw), None).unwrap().cautions;
        said.iter().any(|it| it.headline.starts_with("values are used, and "))
    };
    for (words, told) in [
        ("OLD - do not use", true),
        ("superseded by tab Rev C", true),
        ("OBSOLETE", true),
        ("Press 3, old town plant", false),
        ("Rev C, supersedes Rev B", false),
    ] {
        let mut titled = run_down();
        titled.insert_rows(0, 2);
        titled.text(0, 0, words);
        assert_eq!(withdrawn(titled), told, "title: {words}");
        let mut heading = run_down();
        heading.insert_rows(2, 1);
        heading.text(2, 0, words);
        assert_eq!(withdrawn(heading), told, "heading: {words}");
        let mut named = run_down();
        named.name = words.to_owned();
        assert_eq!(withdrawn(named), told, "tab: {words}");
    }
    let mut several = run_down();
    several.insert_rows(2, 1);
    several.text(2, 0, "Per roller, 4 rollers");
    assert!(withdrawn(several));
}

/// Without a row for the verdict, a figure with all its digits tells that the others are a run's too.
#[test]
fn a_second_run_without_a_verdict_knows_its_own_figures() {
    let mut saw = run_down();
    saw.text(5, 0, "E_stop");
    saw.text(5, 2, "J");
    saw.cells.insert((5, 1), number(23_000.0));
    let (name, place, remedy) = refusal(&one(saw.clone()), None);
    assert_eq!((name, place.as_str()), (Name::OwnersWords, "Saw.xlsx ▸ Saw!B6"));
    assert!(remedy.ends_with("a row `checks` tells later runs which figures are theirs"));
    saw.cells.insert((4, 1), number(75.921_823_245_678_9));
    assert!(filled(&one(saw), None).is_ok());
}

#[test]
fn words_in_the_cells_of_results_are_told_with_what_keeps_them_from_being_calculated() {
    let mut saw = run_down();
    saw.cells.remove(&(2, 2));
    saw.text(4, 1, "mine");
    let problems = filled(&one(saw), None).expect_err("it is refused").problems;
    let names: Vec<Name> = problems.iter().map(|it| it.name).collect();
    assert_eq!(names, [Name::MissingUnit, Name::OwnersWords]);
}

#[test]
fn a_remedy_for_a_power_of_ten_before_a_unit_is_right_when_typed() {
    let mut saw = run_down();
    saw.text(1, 2, "10⁻³ kg·m²");
    let (.., remedy) = refusal(&one(saw.clone()), None);
    assert_eq!(remedy, "write 0.002 into B2 and `kg·m²` into C2");
    saw.cells.insert((1, 1), number(0.002));
    saw.text(1, 2, "kg·m²");
    assert!(filled(&one(saw), None).is_ok());
}

#[test]
fn usual_heads_of_a_column_of_values_are_passed_over() {
    for head in ["Value used", "Input value", "Values", "Number", "value", "Maximum"] {
        let mut saw = run_down();
        saw.insert_rows(1, 1);
        saw.text(1, 0, "Name");
        saw.text(1, 1, head);
        saw.text(1, 2, "Unit");
        assert!(filled(&one(saw), None).is_ok(), "{head}");
    }
}
