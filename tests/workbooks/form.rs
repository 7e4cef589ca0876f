//! A form goes straight into `fill`: filled in with the examples of its sheets it gives what the sheets
//! give, and an office suite sees the ranges that the sheets set.

use std::fs;
use std::io::{Cursor, Read as _, Write as _};
use std::sync::Arc;

use standstill::Sheet;
use standstill::environment::NoFs;
use standstill::library::SHEETS;
use standstill::number::Slot;
use standstill::project::Project;
use standstill::spreadsheet::{Allow, Book, Cell, Edit, NewValue, Position, write_cells};
use standstill::workbook::{FormOptions, compute, form};

const EXAMPLES: FormOptions = FormOptions { examples: true, uses: false, worst: false };

use super::recalculate::{recalculated, suite, without_results};

fn all() -> Vec<Arc<standstill::program::Program>> {
    SHEETS.iter().map(|sheet| Arc::clone(Sheet::library(sheet.name).unwrap().program())).collect()
}

#[test]
fn a_form_of_every_sheet_goes_straight_into_fill() {
    let bytes = form(&all(), EXAMPLES).unwrap();
    let book = Book::read("Forms.xlsx", &bytes).unwrap();
    let filling = compute(&book, None, &Project::new(&NoFs))
        .unwrap_or_else(|unfilled| panic!("{:#?}", unfilled.problems));
    assert_eq!(filling.calculated.len(), SHEETS.len());
    // its own words speak against none of its values
    let own: Vec<&str> = filling.cautions.iter().map(|it| it.headline.as_str()).collect();
    // an example holds no values of ways that it does not go
    let said =
        |it: &&&str| it.contains("stands beside") || it.contains("nothing that is calculated");
    let own: Vec<&&str> = own.iter().filter(said).collect();
    assert!(own.is_empty(), "{own:#?}");
    for calculated in &filling.calculated {
        let program = calculated.results.program();
        let name = &program.scopes[0].sheet;
        let sheet = Sheet::library(name).unwrap();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let direct = sheet.run(&inputs).unwrap();
        for output in &program.outputs {
            assert_eq!(
                calculated.results.to_text(output),
                direct.to_text(output),
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
    let afterwards = compute(&again, None, &Project::new(&NoFs))
        .unwrap_or_else(|unfilled| panic!("{:#?}", unfilled.problems));
    assert_eq!(afterwards.calculated.len(), SHEETS.len());
}

#[test]
fn an_empty_form_names_what_is_missing_and_nothing_else() {
    let bytes = form(&all(), FormOptions::default()).unwrap();
    let unfilled = compute(&Book::read("Forms.xlsx", &bytes).unwrap(), None, &Project::new(&NoFs))
        .unwrap_err();
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
    let filling = compute(&book, None, &Project::new(&NoFs))
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
                standstill::spreadsheet::Edit::new(
                    "run-down",
                    cell(1),
                    standstill::spreadsheet::NewValue::Number(*value),
                ),
                standstill::spreadsheet::Edit::new(
                    "run-down",
                    cell(2),
                    standstill::spreadsheet::NewValue::Text((*unit).to_owned()),
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

/// A form as its parts: cells by the reader, the rest as it is written.
fn tab_part(bytes: &[u8], tab: usize) -> String {
    super::files::part(bytes, &format!("xl/worksheets/sheet{tab}.xml"))
}

/// Cells and inside of each validation of a tab.
fn validations(xml: &str) -> Vec<(String, String)> {
    let cells = |text: &str| {
        let from = text.find("sqref=\"").unwrap() + 7;
        text[from..].split('"').next().unwrap().to_owned()
    };
    xml.split("<dataValidation ").skip(1).map(|text| (cells(text), text.to_owned())).collect()
}

/// The row of a name in the first column, counted from 1.
fn row_of(tab: &standstill::spreadsheet::Tab, name: &str) -> u32 {
    let named = |e: &standstill::spreadsheet::Entry| {
        e.position.column == 0 && e.cell == Cell::Text(name.to_owned())
    };
    tab.entries().find(|entry| named(entry)).unwrap_or_else(|| panic!("{name}")).position.row + 1
}

fn words(tab: &standstill::spreadsheet::Tab, row: u32, column: u32) -> String {
    match tab.cell(Position::new(row - 1, column).unwrap()) {
        Cell::Text(text) => text.clone(),
        Cell::Empty => String::new(),
        other => other.to_string(),
    }
}

#[test]
fn each_input_has_its_kind_note_range_and_units_that_fit() {
    let (mut choices, mut left_to_fill) = (0, Vec::new());
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        let program = sheet.program();
        let bytes = form(&[Arc::clone(program)], FormOptions::default()).unwrap();
        let book = Book::read("Form.xlsx", &bytes).unwrap();
        let tab = &book.tabs[0];
        let rules = validations(&tab_part(&bytes, 1));
        for input in &program.inputs {
            let at = format!("{} {}", shelved.name, input.name);
            let row = row_of(tab, &input.name);
            assert_eq!(words(tab, row, 3), input.note, "{at}");
            let kind = words(tab, row, 4);
            assert!(
                kind.ends_with(input.kind.map_or("a choice", |kind| kind.name)),
                "{at}: {kind}"
            );
            let limits = input.limits_text();
            assert!(words(tab, row, 5).contains(&limits), "{at}: {limits}");
            // the cell of the value has a rule of its own, and one that looks at the range where there is one
            let starts = |column: char| {
                let (one, many) = (format!("{column}{row}"), format!("{column}{row}:"));
                rules.iter().find(move |(cells, _)| *cells == one || cells.starts_with(&many))
            };
            let (_, rule) = starts('B').unwrap_or_else(|| panic!("{at} has no rule"));
            let Some(kind) = input.kind else {
                choices += 1;
                assert!(rule.contains("type=\"list\""), "{at}: {rule}");
                continue;
            };
            assert!(rule.contains("type=\"custom\"") && rule.contains("ISNUMBER"), "{at}: {rule}");
            let single =
                !matches!(input.type_, standstill::program::Type::Number { series: true, .. });
            if single {
                for (column, limit) in [("ranges!$I", &input.low), ("ranges!$J", &input.high)] {
                    if limit.is_some() && !rule.contains(column) {
                        left_to_fill.push(format!("{at} {limits}"));
                    } else {
                        assert_eq!(rule.contains(column), limit.is_some(), "{at}: {rule}");
                    }
                }
            }
            assert!(
                rule.contains("showErrorMessage=\"1\"") && rule.contains("showInputMessage=\"1\""),
                "{at}"
            );
            // every unit that is offered is one of the kind
            let offered = starts('C').map(|(_, rule)| {
                assert!(rule.contains("type=\"list\""), "{at}: {rule}");
                rule.split("<formula1>").nth(1).unwrap().split('<').next().unwrap().to_owned()
            });
            match offered {
                Some(list) => {
                    for unit in list.replace("&quot;", "").trim_matches('"').split(',') {
                        let read = kind.read_unit(unit);
                        assert!(read.is_ok(), "{at}: {unit} in {list} is none of {}", kind.name);
                    }
                    assert!(
                        list.contains(&input.unit.symbol),
                        "{at}: {} is not in {list}",
                        input.unit.symbol
                    );
                }
                None => assert!(kind.units.is_empty(), "{at} offers no unit"),
            }
        }
    }
    assert!(choices > 5, "{choices}");
    // a bound that is more than arithmetic on other inputs is checked by `fill` alone
    assert_eq!(
        left_to_fill,
        ["vertical-drop T_b above max(0 N, abs(m * g_n - F_bal) - F_f) * lead"]
    );
}

#[test]
fn sources_cautions_and_results_stand_on_the_form() {
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        let program = sheet.program();
        let bytes = form(&[Arc::clone(program)], FormOptions::default()).unwrap();
        let book = Book::read("Form.xlsx", &bytes).unwrap();
        let tab = &book.tabs[0];
        let said = |text: &str| tab.entries().any(|e| e.cell == Cell::Text(text.to_owned()));
        for scope in &program.scopes {
            for text in scope.sources.iter().chain(&scope.cautions) {
                assert!(said(text), "{}: {text}", shelved.name);
            }
        }
        assert!(said(standstill::report::DISCLAIMER), "{}", shelved.name);
        let heading = row_of(tab, "results");
        for output in &program.outputs {
            // an input that is given again as a result stands twice: the later row takes the result
            let rows = tab.entries().filter(|e| {
                e.position.column == 0
                    && e.position.row + 1 > heading
                    && e.cell == Cell::Text(output.name.clone())
            });
            let row = rows.map(|e| e.position.row + 1).next();
            let row = row.unwrap_or_else(|| panic!("{} {}", shelved.name, output.name));
            assert_eq!(words(tab, row, 1), "", "{} {}", shelved.name, output.name);
            assert_eq!(words(tab, row, 2), output.unit.symbol, "{} {}", shelved.name, output.name);
        }
        assert!(row_of(tab, "checks") > heading);
    }
}

#[test]
fn every_tab_prints_one_page_wide_with_its_headings_on_each_page_and_in_sight() {
    let options = FormOptions { examples: true, uses: true, worst: false };
    let bytes = form(&all(), options).unwrap();
    let book = Book::read("Forms.xlsx", &bytes).unwrap();
    for (at, tab) in (1..).zip(&book.tabs) {
        let xml = tab_part(&bytes, at);
        let name = &tab.name;
        assert!(xml.contains("<pageSetUpPr fitToPage=\"1\"/>"), "{name}");
        let setup = &xml[xml.find("<pageSetup ").unwrap_or_else(|| panic!("{name}"))..];
        let setup = setup.split('>').next().unwrap();
        // one page across is what is fitted to when nothing is said; down as many as it takes
        assert!(
            !setup.contains("fitToWidth") && setup.contains("fitToHeight=\"0\""),
            "{name}: {setup}"
        );
        assert!(setup.contains("paperSize=\"9\""), "{name}: {setup}");
        assert!(xml.contains("state=\"frozen\""), "{name}");
        assert!(xml.contains("<cols>"), "{name}");
        assert!(xml.contains("&amp;P of &amp;N"), "{name}");
        let titles = book.names.iter().any(|known| {
            known.name == "_xlnm.Print_Titles" && known.scope.as_deref() == Some(name.as_str())
        });
        assert!(titles, "{name} repeats no headings");
    }
}

#[test]
fn a_form_filled_in_and_saved_by_an_office_suite_goes_straight_into_fill() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let sheet = Sheet::library("safe-stop").unwrap();
    let program = sheet.program();
    let options = FormOptions { examples: false, uses: true, worst: false };
    let bytes = form(&[Arc::clone(program)], options).unwrap();
    let empty = Book::read("Form.xlsx", &bytes).unwrap();
    // what a person types: the example of each input that has no default, in another unit where there is one
    let mut edits = Vec::new();
    let mut inputs = sheet.inputs();
    for input in program.inputs.iter().filter(|input| input.default.is_none()) {
        let row = row_of(&empty.tabs[0], &input.name) - 1;
        let cell = |column| Position::new(row, column).unwrap();
        let (value, unit) = match (input.name.as_str(), &input.type_) {
            ("n_0", _) => (NewValue::Number(24.0), Some("r/s")),
            ("S_there", _) => (NewValue::Number(98.5), Some("in")),
            (_, standstill::program::Type::Choice(all)) => {
                let word = &all[usize::try_from(input.example[0].digits).unwrap()];
                (NewValue::Text(word.clone()), None)
            }
            _ => {
                let example = &input.example[0];
                let number: f64 = format!("{}e{}", example.digits, example.ten).parse().unwrap();
                (NewValue::Number(number), None)
            }
        };
        edits.push(Edit::new("safe-stop", cell(1), value));
        if let Some(unit) = unit {
            edits.push(Edit::new("safe-stop", cell(2), NewValue::Text(unit.to_owned())));
        }
    }
    inputs.write("n_0", "24 r/s").unwrap();
    inputs.write("S_there", "98.5 in").unwrap();
    inputs.fill_with_examples();
    let direct = sheet.run(&inputs).unwrap();
    let typed = write_cells("Form.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let file = folder.path().join("Form.xlsx");
    fs::write(&file, &typed.bytes).unwrap();
    let saved = recalculated(suite, &[file], folder.path());
    let saved = fs::read(&saved[0]).unwrap();
    let book = Book::read("Form.xlsx", &saved).unwrap();
    let filling = compute(&book, None, &Project::new(&NoFs))
        .unwrap_or_else(|unfilled| panic!("{:#?}", unfilled.problems));
    let [calculated] = filling.calculated.as_slice() else {
        panic!("one calculation is asked for")
    };
    let gives = |line: &&standstill::program::Line| {
        matches!(line.says, standstill::program::LineSource::Gives)
    };
    // each result of the sheet and of every sheet it uses has its cell, with the value that the sheet gives
    let lines: Vec<_> = program.lines.iter().filter(gives).collect();
    assert!(lines.len() > 3 * program.outputs.len(), "{}", lines.len());
    let mut withheld = 0;
    for line in lines {
        let value = calculated.cells.iter().find(|(name, ..)| *name == line.name);
        let (_, _, value) = value.unwrap_or_else(|| panic!("{} has no cell", line.name));
        let wanted = match direct.run().register(line.register) {
            Ok(Slot::One(value)) => value.in_unit(&line.unit).unwrap().to_f64(),
            other => panic!("{}: {other:?}", line.name),
        };
        // of examples no setting is set
        let number = match value {
            NewValue::Text(words) => words.strip_prefix("NOT to be set (").and_then(|it| {
                withheld += 1;
                it.split(' ').next()?.parse().ok()
            }),
            NewValue::Number(number) => Some(*number),
            other => panic!("{}: {other:?}", line.name),
        };
        assert_eq!(number, Some(wanted), "{}", line.name);
    }
    assert!(withheld > 0);
    // and what is handed over is what stands in the form, after the results are written and calculated afresh
    let written = write_cells("Form.xlsx", &saved, &filling.edits(), Allow::default()).unwrap();
    let file = folder.path().join("Filled.xlsx");
    fs::write(&file, without_results(&written.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder.path());
    let afresh = Book::read("Filled.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap();
    let used = afresh.tab("safe-stop uses").unwrap();
    let (mut path, mut handed, mut checked) = (String::new(), false, 0);
    for row in 1..=used.used().unwrap().last.row + 1 {
        let name = words(used, row, 0);
        if let Some((before, _)) = name.split_once(": ") {
            path = before.to_owned();
        }
        handed = match name.as_str() {
            "it is handed" => true,
            "it gives" => false,
            _ => handed,
        };
        let whole = format!("{path}.{name}");
        let Some(line) = program.lines.iter().find(|line| handed && line.name == whole) else {
            continue;
        };
        let Cell::Number(found) = used.cell(Position::new(row - 1, 1).unwrap()) else { continue };
        let unit = standstill::unit::parse_unit(&words(used, row, 2))
            .unwrap_or(standstill::unit::Unit::one());
        let Ok(Slot::One(value)) = direct.run().register(line.register) else { continue };
        let wanted = value.in_unit(&unit).unwrap().to_f64();
        assert!((found - wanted).abs() <= 1e-9 * wanted.abs(), "{whole}: {found}, not {wanted}");
        checked += 1;
    }
    assert!(checked > 60, "only {checked} handed values were compared");
}

#[test]
fn results_of_used_sheets_are_asked_for_in_all_three_ways() {
    let sheet = Sheet::library("brake-resistor").unwrap();
    let bytes = form(&[Arc::clone(sheet.program())], EXAMPLES).unwrap();
    let book = Book::read("Form.xlsx", &bytes).unwrap();
    let free = book.tabs[0].used().unwrap().last.row + 5;
    // a row of a block of its own
    let rows = row_of(&book.tabs[0], "checks");
    let edits = [
        Edit::new(
            "brake-resistor",
            Position::new(rows, 0).unwrap(),
            NewValue::Text("inertia.J_ref".into()),
        ),
        Edit::new(
            "brake-resistor",
            Position::new(rows, 2).unwrap(),
            NewValue::Text("kg·cm²".into()),
        ),
    ];
    let by_row = write_cells("Form.xlsx", &bytes, &edits, Allow::default()).unwrap().bytes;
    let cells = |bytes: &[u8], bind: Option<&str>| {
        let source = bind.map(|text| standstill::diagnostic::Source::new("b.bind", text));
        let book = Book::read("Form.xlsx", bytes).unwrap();
        let filling = compute(&book, source.as_ref(), &Project::new(&NoFs))
            .unwrap_or_else(|unfilled| panic!("{:#?}", unfilled.problems));
        let all = filling.calculated.into_iter().flat_map(|calculated| calculated.cells);
        all.filter(|(name, ..)| name == "inertia.J_ref").collect::<Vec<_>>()
    };
    let direct = {
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let results = sheet.run(&inputs).unwrap();
        let line = sheet.program().lines.iter().find(|line| line.name == "inertia.J_ref").unwrap();
        match results.run().register(line.register) {
            Ok(Slot::One(value)) => value.to_f64(),
            other => panic!("{other:?}"),
        }
    };
    let value = |found: &[(String, standstill::workbook::CellAt, NewValue)]| match found {
        [(_, _, NewValue::Number(number))] => *number,
        other => panic!("{other:?}"),
    };
    let near = |found: f64, wanted: f64| {
        assert!((found / wanted - 1.0).abs() < 1e-12, "{found}, not {wanted}")
    };
    near(value(&cells(&by_row, None)), direct * 1e4);
    // a defined name, as the tab of used sheets has it
    let options = FormOptions { examples: true, uses: true, worst: false };
    let named = form(&[Arc::clone(sheet.program())], options).unwrap();
    near(value(&cells(&named, None)), direct);
    // a line of a bind file
    let mut text = "sheet brake-resistor\n".to_owned();
    for input in &sheet.program().inputs {
        if let Some(value) = input.example.first().filter(|_| input.default.is_none()) {
            text.push_str(&format!(
                "  {} = {}\n",
                input.name,
                standstill::calculation::written(value)
            ));
        }
    }
    text.push_str(&format!("  inertia.J_ref to brake-resistor!B{free} in kg·m²\n"));
    let by_line = cells(&bytes, Some(&text));
    near(value(&by_line), direct);
    // a misspelt one is told with what is close
    let wrong = write_cells(
        "Form.xlsx",
        &by_row,
        &[Edit::new(
            "brake-resistor",
            Position::new(rows, 0).unwrap(),
            NewValue::Text("inertia.J_rfe".into()),
        )],
        Allow::default(),
    )
    .unwrap()
    .bytes;
    let unfilled =
        compute(&Book::read("Form.xlsx", &wrong).unwrap(), None, &Project::new(&NoFs)).unwrap_err();
    assert_eq!(unfilled.problems.len(), 1);
    assert_eq!(unfilled.problems[0].name.word(), "unknown-row");
    assert!(
        unfilled.problems[0].remedy.contains("`inertia.J_ref` is close"),
        "{}",
        unfilled.problems[0].remedy
    );
}

/// A box that is changed takes the verdict, the settings and the figures back, in every form and every kind of box, and
/// as an office suite calculates it; a form that is as it was filled keeps them, with the results that a preview shows.
#[test]
fn a_filled_form_says_that_a_box_has_changed_since() {
    let names = ["mechanical-brake-stop", "allowed-ramp"];
    let programs: Vec<_> =
        names.iter().map(|name| Arc::clone(Sheet::library(name).unwrap().program())).collect();
    for worst in [false, true] {
        let bytes = form(&programs, FormOptions { worst, ..EXAMPLES }).unwrap();
        let filled = |bytes: &[u8]| {
            let book = Book::read("Form.xlsx", bytes).unwrap();
            let filling = compute(&book, None, &Project::new(&NoFs)).unwrap();
            write_cells("Form.xlsx", bytes, &filling.edits(), Allow::default()).unwrap()
        };
        let bytes = filled(&bytes).bytes;
        assert_eq!(filled(&bytes).bytes, bytes, "filled twice is filled once");
        let book = Book::read("Form.xlsx", &bytes).unwrap();
        for name in names {
            let tab = book.tab(name).unwrap();
            assert!(words(tab, 3, 0).contains("hold"), "{name}: {}", words(tab, 3, 0));
            // every formula has a saved result
            let bare = tab.entries().find(|entry| entry.formula && entry.cell == Cell::Empty);
            assert!(bare.is_none(), "{name}: {bare:?}");
        }
        let Some(suite) = suite() else { continue };
        let t_resp = row_of(book.tab(names[0]).unwrap(), "t_resp") - 1;
        let cell = |column| Position::new(t_resp, column).unwrap();
        let changes = [
            (1, NewValue::Number(60.0), false),
            (1, NewValue::Number(60.000_000_1), true),
            (1, NewValue::Empty, true),
            (2, NewValue::Text("s".to_owned()), true),
            (2, NewValue::Text("Ms".to_owned()), true),
            (3, NewValue::Text("± 1 ms".to_owned()), worst),
        ];
        let folder = tempfile::tempdir().unwrap();
        let files: Vec<_> = (0..changes.len())
            .map(|at| {
                let edit = Edit::new(names[0], cell(changes[at].0), changes[at].1.clone());
                let written = write_cells("Form.xlsx", &bytes, &[edit], Allow::default()).unwrap();
                let file = folder.path().join(format!("{at}.xlsx"));
                fs::write(&file, without_results(&written.bytes)).unwrap();
                file
            })
            .collect();
        let afresh = recalculated(suite, &files, folder.path());
        for ((_, value, changed), file) in changes.iter().zip(afresh) {
            let again = Book::read("Form.xlsx", &fs::read(file).unwrap()).unwrap();
            let says = words(again.tab(names[0]).unwrap(), 3, 0);
            assert_eq!(says.starts_with("CHANGED"), *changed, "{value:?}: {says}");
            // the other form is as it was
            assert!(words(again.tab(names[1]).unwrap(), 3, 0).contains("hold"));
        }
    }
}

/// What a run has written is its own wherever it stands: no form speaks against itself, and a second run changes nothing.
#[test]
fn a_form_that_is_filled_again_says_nothing_of_its_own_tabs() {
    let all = all();
    let (using, alone): (Vec<_>, Vec<_>) = all.iter().partition(|it| it.scopes.len() > 1);
    let worst = FormOptions { worst: true, ..EXAMPLES };
    let uses = FormOptions { uses: true, ..EXAMPLES };
    let named = |names: &[&str]| {
        let of = |name: &&str| Arc::clone(Sheet::library(name).unwrap().program());
        names.iter().map(of).collect::<Vec<_>>()
    };
    // settings that are withheld one below the other; several values of a series in a cell; a kind that is the name of an
    // input of another form, without bounds behind it
    let mut forms = vec![
        (named(&["safe-stop"]), uses),
        (named(&["gear-train"]), worst),
        (named(&["phase-brake", "angled-field"]), EXAMPLES),
    ];
    forms.extend(using.into_iter().step_by(6).map(|it| (vec![Arc::clone(it)], uses)));
    forms.extend(alone.into_iter().step_by(18).map(|it| (vec![Arc::clone(it)], worst)));
    for (programs, options) in forms {
        let name = &programs[0].scopes[0].sheet;
        let mut bytes = form(&programs, options).unwrap();
        for run in 0..3 {
            let book = Book::read("Form.xlsx", &bytes).unwrap();
            let filling = compute(&book, None, &Project::new(&NoFs))
                .unwrap_or_else(|it| panic!("{name}, run {run}: {:#?}", it.problems));
            let own: Vec<_> = filling.cautions.iter().map(|it| &it.headline).collect();
            assert!(own.is_empty(), "{name}, {options:?}, run {run}: {own:#?}");
            let written =
                write_cells("Form.xlsx", &bytes, &filling.edits(), Allow::default()).unwrap();
            assert_eq!(run > 0, written.changed.is_empty(), "{name}, run {run}");
            bytes = written.bytes;
        }
    }
}

/// A form that takes a result of another one speaks for that as well: its verdict is taken back with the other's.
#[test]
fn a_form_that_takes_from_a_changed_one_says_so_itself() {
    let names = ["mechanical-brake-stop", "run-down", "separation-curtain"];
    let programs: Vec<_> =
        names.iter().map(|name| Arc::clone(Sheet::library(name).unwrap().program())).collect();
    let bytes = form(&programs, EXAMPLES).unwrap();
    let filled = |bytes: &[u8]| {
        let book = Book::read("Form.xlsx", bytes).unwrap();
        let filling = compute(&book, None, &Project::new(&NoFs))
            .unwrap_or_else(|it| panic!("{:#?}", it.problems));
        write_cells("Form.xlsx", bytes, &filling.edits(), Allow::default()).unwrap().bytes
    };
    let bytes = filled(&bytes);
    let book = Book::read("Form.xlsx", &bytes).unwrap();
    let tab = book.tab(names[0]).unwrap();
    // the last row of a name is that of the result
    let from = row_of(tab, "t_stop");
    let Cell::Number(t_stop) = tab.cell(Position::new(from - 1, 1).unwrap()) else { panic!() };
    let to = row_of(book.tab(names[2]).unwrap(), "T");
    let bytes = with_formula(
        &bytes,
        3,
        &format!("B{to}"),
        &format!("'{}'!B{from}*1000", names[0]),
        1000.0 * t_stop,
    );
    let bytes = filled(&bytes);
    let Some(suite) = suite() else { return };
    let t_resp = row_of(book.tab(names[0]).unwrap(), "t_resp") - 1;
    let folder = tempfile::tempdir().unwrap();
    let n_0 = row_of(book.tab(names[1]).unwrap(), "n_0") - 1;
    let changes = [(names[0], t_resp, 61.0), (names[1], n_0, 61.0)];
    let files: Vec<_> = changes
        .iter()
        .map(|(tab, row, value)| {
            let edit = Edit::new(*tab, Position::new(*row, 1).unwrap(), NewValue::Number(*value));
            let written = write_cells("Form.xlsx", &bytes, &[edit], Allow::default()).unwrap();
            let file = folder.path().join(format!("{tab}.xlsx"));
            fs::write(&file, without_results(&written.bytes)).unwrap();
            file
        })
        .collect();
    // of the form from which nothing is taken nothing is said
    let expected = [[true, false, true], [false, true, false]];
    for (file, expected) in recalculated(suite, &files, folder.path()).into_iter().zip(expected) {
        let again = Book::read("Form.xlsx", &fs::read(file).unwrap()).unwrap();
        let says = names.map(|name| words(again.tab(name).unwrap(), 3, 0));
        let changed = says.clone().map(|it| it.starts_with("CHANGED"));
        assert_eq!(changed, expected, "{says:?}");
    }
}

/// A workbook with a formula and its result in a cell of one of its tabs, counted from 1, that holds a number.
fn with_formula(bytes: &[u8], tab: usize, cell: &str, formula: &str, result: f64) -> Vec<u8> {
    let part = format!("xl/worksheets/sheet{tab}.xml");
    let mut from = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..from.len() {
        let mut one = from.by_index(at).unwrap();
        let name = one.name().unwrap().into_owned();
        let mut content = Vec::new();
        one.read_to_end(&mut content).unwrap();
        if name == part {
            let xml = String::from_utf8(content).unwrap();
            let (before, rest) = xml.split_once(&format!("<c r=\"{cell}\"")).unwrap();
            let (style, rest) = rest.split_once('>').unwrap();
            let (_, rest) = rest.split_once("</c>").unwrap();
            content =
                format!("{before}<c r=\"{cell}\"{style}><f>{formula}</f><v>{result}</v></c>{rest}")
                    .into_bytes();
        }
        to.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        to.write_all(&content).unwrap();
    }
    to.finish().unwrap().into_inner()
}
