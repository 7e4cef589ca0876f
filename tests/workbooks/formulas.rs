//! Every cell of a result workbook, calculated afresh by an independent office suite, equals what was
//! calculated here on exact decimals.

use std::fs;
use std::path::Path;

use standstill::Sheet;
use standstill::diagnostic::{Diagnostic, Place, render_line};
use standstill::library::SHEETS;
use standstill::number::Slot;
use standstill::spreadsheet::{Allow, Book, Cell, Edit, NewValue, Position, write_cells};
use standstill::workbook::result_book;

use super::recalculate::{recalculated, suite, without_results};

/// A sheet that has one of everything the language knows.
const EVERYTHING: &str = include_str!("everything.sheet");

/// Differences of nearly equal numbers lose digits in binary arithmetic: what is that much smaller than
/// one is as good as nothing.
const NOTHING: f64 = 1e-12;

fn differ(ours: &Cell, theirs: &Cell) -> Option<String> {
    let same = match (ours, theirs) {
        (Cell::Number(a), Cell::Number(b)) => {
            (a - b).abs() <= 1e-9 * a.abs().max(b.abs()) || (a.abs() < NOTHING && b.abs() < NOTHING)
        }
        (Cell::Text(a), Cell::Text(b)) => a == b,
        (Cell::Truth(a), Cell::Truth(b)) => a == b,
        (Cell::Error(_), Cell::Error(_)) => true,
        _ => false,
    };
    (!same).then(|| format!("{ours:?}, the office suite has {theirs:?}"))
}

fn output_text(problems: &[Diagnostic]) -> String {
    problems.iter().map(render_line).collect::<Vec<_>>().join("\n")
}

fn everything(text: &str) -> Sheet {
    Sheet::parse("everything.sheet", text)
        .unwrap_or_else(|problems| panic!("{}", output_text(&problems)))
}

fn results(sheet: &Sheet) -> standstill::Results {
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    sheet.run(&inputs).unwrap_or_else(|problems| panic!("{}", output_text(&problems)))
}

/// The cell in a column of the row that begins with a name.
fn beside(book: &Book, tab: &str, name: &str, column: u32) -> Position {
    let tab = book.tab(tab).unwrap();
    let named = |row: &u32| matches!(tab.cell(Position::new(*row, 0).unwrap()), Cell::Text(text) if text == name);
    Position::new((0..80).find(named).unwrap(), column).unwrap()
}

/// A workbook with cells changed, calculated afresh by an office program.
fn changed(suite: &str, bytes: &[u8], edits: &[Edit], folder: &Path) -> Book {
    let written = write_cells("ours.xlsx", bytes, edits, Allow::default()).unwrap();
    let file = folder.join("changed.xlsx");
    fs::write(&file, without_results(&written.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder);
    Book::read("theirs.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap()
}

#[test]
fn every_formula_is_worked_out_to_the_same_value() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let mut books = Vec::new();
    let mut sheets = vec![("everything".to_owned(), everything(EVERYTHING))];
    sheets.extend(
        SHEETS.iter().map(|sheet| (sheet.name.to_owned(), Sheet::library(sheet.name).unwrap())),
    );
    for (name, sheet) in &sheets {
        let bytes = result_book(&results(sheet)).unwrap();
        let file = folder.path().join(format!("{name}.xlsx"));
        fs::write(&file, without_results(&bytes)).unwrap();
        books.push((name.clone(), bytes, file));
    }
    let files: Vec<_> = books.iter().map(|(.., file)| file.clone()).collect();
    let afresh = recalculated(suite, &files, folder.path());
    let mut wrong = Vec::new();
    let mut formulas = 0;
    for ((name, bytes, _), file) in books.iter().zip(&afresh) {
        let ours = Book::read("ours.xlsx", bytes).unwrap();
        let theirs = Book::read("theirs.xlsx", &fs::read(file).unwrap()).unwrap();
        for tab in &ours.tabs {
            let other = theirs.tab(&tab.name).unwrap();
            for entry in tab.entries() {
                formulas += usize::from(entry.formula);
                if let Some(words) = differ(&entry.cell, other.cell(entry.position))
                    .filter(|_| !entry.cell.is_empty())
                {
                    wrong.push(format!("{name} ▸ {}!{}: {words}", tab.name, entry.position.name()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {formulas} formulas:\n{}", wrong.len(), wrong.join("\n"));
    // a workbook without formulas would pass all of the above
    assert!(formulas > 100 * SHEETS.len() / 3, "only {formulas} formulas");
}

/// The points of one curve of the tab `stop`: time in s, speed in r/min.
fn curve(book: &Book, begins: &str) -> Vec<(f64, f64)> {
    let tab = book.tab("stop").unwrap();
    let titled = |entry: &standstill::spreadsheet::Entry| matches!(&entry.cell, Cell::Text(text) if text.starts_with(begins));
    let title = tab.entries().find(|entry| entry.position.column == 0 && titled(entry)).unwrap();
    let number = |row, column| match tab.cell(Position::new(row, column).unwrap()) {
        Cell::Number(number) => Some(*number),
        _ => None,
    };
    (title.position.row + 2..).map_while(|row| number(row, 3).zip(number(row, 4))).collect()
}

#[test]
fn a_sheet_with_a_stop_in_it_has_a_chart_over_live_points() {
    let mut with_charts = Vec::new();
    for shelved in SHEETS {
        let bytes = result_book(&results(&Sheet::library(shelved.name).unwrap())).unwrap();
        let parts = super::files::entries(&bytes);
        let Some(chart) = parts.iter().find(|part| part.name == "xl/charts/chart1.xml") else {
            continue;
        };
        with_charts.push(shelved.name);
        let book = Book::read("r.xlsx", &bytes).unwrap();
        let tab = book.tab("stop").unwrap();
        // every range of the chart lies on formulas of the tab beside it
        let ranges: Vec<&str> = chart
            .content
            .split("<c:f>")
            .skip(1)
            .map(|rest| rest.split("</c:f>").next().unwrap())
            .collect();
        assert!(ranges.len() >= 3, "{}: {ranges:?}", shelved.name);
        for range in ranges {
            let area = super::files::area(&range.replace('$', "").replace("stop!", ""));
            for row in area.first.row..=area.last.row {
                let cell = Position::new(row, area.first.column).unwrap();
                assert!(tab.has_formula(cell), "{} {}", shelved.name, cell.name());
            }
        }
        let speeds = ["speed / (r/min)", "speed of rotation n / (r/min)"];
        assert!(speeds.iter().any(|axis| chart.content.contains(axis)), "{}", shelved.name);
        let times = ["time / s", "time t / s"];
        assert!(times.iter().any(|axis| chart.content.contains(axis)), "{}", shelved.name);
    }
    // the three that the review draws by their roles, the one with courses, and the sheets that use one of them
    let wanted =
        ["axis-stop", "ramp-then-release", "run-down", "safe-stop", "ss1-brake", "whole-axis"];
    assert_eq!(with_charts, wanted);
}

#[test]
fn the_charts_of_courses_follow_the_inputs_to_the_states_of_the_sheet() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let sheet = Sheet::library("ss1-brake").unwrap();
    let bytes = result_book(&results(&sheet)).unwrap();
    let parts = super::files::entries(&bytes);
    for (chart, axis) in [("chart1", "speed of rotation n / (r/min)"), ("chart2", "angle phi / r")]
    {
        let name = format!("xl/charts/{chart}.xml");
        let chart = &parts.iter().find(|part| part.name == name).unwrap().content;
        assert!(chart.contains(axis), "{chart}");
        for phase in ["dead", "ramp", "held", "slip", "runs", "stop"] {
            assert!(chart.contains(&format!(">{phase}<")), "{phase}: {chart}");
        }
    }
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let inputs = ours.tab("inputs").unwrap();
    let named = |it: &&standstill::spreadsheet::Entry| it.cell == Cell::Text("T_load".to_owned());
    let row = inputs.entries().find(named).unwrap().position.row;
    let edit = Edit::new("inputs", Position::new(row, 1).unwrap(), NewValue::Number(-2.0));
    let changed = write_cells("ours.xlsx", &bytes, &[edit], Allow::default()).unwrap();
    let file = folder.path().join("changed.xlsx");
    fs::write(&file, without_results(&changed.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder.path());
    let theirs = Book::read("theirs.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap();
    let mut inputs = sheet.inputs();
    inputs.write("T_load", "-2 N·m").unwrap();
    inputs.fill_with_examples();
    let again = sheet.run(&inputs).unwrap();
    let direct = Book::read("d.xlsx", &result_book(&again).unwrap()).unwrap();
    for entry in direct.tab("stop").unwrap().entries().filter(|entry| !entry.cell.is_empty()) {
        let other = theirs.tab("stop").unwrap().cell(entry.position);
        assert_eq!(differ(&entry.cell, other), None, "{}", entry.position.name());
    }
    // the speed over the time comes to the angle that the sheet calculates, and the curve ends where that does
    let tab = theirs.tab("stop").unwrap();
    let number = |row, column| match tab.cell(Position::new(row, column).unwrap()) {
        Cell::Number(number) => Some(*number),
        _ => None,
    };
    let value = |name: &str| again.exact(name).unwrap().to_f64();
    for (course, phases, time, angle) in [
        ("kept: ", 4, "t_works", "phi_works"),
        ("fails: ", 2, "t_fails", "phi_fails"),
        ("lost: ", 1, "t_lost", "phi_lost"),
    ] {
        let title = |it: &&standstill::spreadsheet::Entry| matches!(&it.cell, Cell::Text(text) if text.starts_with(course));
        let title = tab.entries().find(title).unwrap().position.row;
        let points: Vec<[f64; 3]> = (title + phases + 5..)
            .map_while(|row| Some([number(row, 1)?, number(row, 2)?, number(row, 3)?]))
            .take(usize::try_from(phases).unwrap() * 22)
            .collect();
        let last = points[points.len() - 1];
        let turns = value(angle) / std::f64::consts::TAU;
        assert!((last[0] - value(time)).abs() < 1e-9 && (last[2] - turns).abs() < 1e-9, "{last:?}");
        let area: f64 =
            points.windows(2).map(|it| (it[1][0] - it[0][0]) * (it[1][1] + it[0][1]) / 120.0).sum();
        assert!((area - turns).abs() < 0.004 * turns, "{course}: {area} {turns}");
    }
}

#[test]
fn the_points_of_a_run_down_lie_on_its_curve() {
    // friction that grows with the speed alone: ω = ω_0·e^(−b·t/J) down to the rest speed (OpenStax
    // University Physics vol. 1, section 10.7, J·α = ΣT, integrated)
    let (sheet, mut inputs) = super::typed(
        "run-down",
        &[
            ("J", "0.5 kg·m²"),
            ("n_0", "1500 r/min"),
            ("n_end", "150 r/min"),
            ("T_0", "0 N·m"),
            ("b", "0.02 N·m·s/rad"),
        ],
    );
    inputs.fill_with_examples();
    let bytes = result_book(&sheet.run(&inputs).unwrap()).unwrap();
    let points = curve(&Book::read("r.xlsx", &bytes).unwrap(), "torque removed at once");
    assert_eq!(points.len(), 25);
    for (time, speed) in points {
        // Simpson's rule over 24 steps: the last, from 206 to 150 r/min, is off by h⁵/2880·24/ω⁵ ≈ 2e-5 of J/b
        let wanted = 0.5 / 0.02 * (1500.0 / speed).ln();
        assert!(
            (time - wanted).abs() < 1e-4 * 0.5 / 0.02,
            "{speed} r/min at {time} s, not {wanted} s"
        );
    }
}

#[test]
fn a_chart_follows_the_inputs_to_the_corner_points_of_the_sheet() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let sheet = Sheet::library("safe-stop").unwrap();
    let bytes = result_book(&results(&sheet)).unwrap();
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let inputs = ours.tab("inputs").unwrap();
    // a rounded ramp that the delay cuts short, and friction of every kind
    let changes = [
        ("f", 0.2, "20 %"),
        ("t_delay_used", 200.0, "200 ms"),
        ("b", 0.002, "0.002 N·m·s/rad"),
        ("c", 1e-5, "1e-5 N·m·s²/rad²"),
    ];
    let percent = |name: &str| {
        let row =
            inputs.entries().find(|e| e.cell == Cell::Text(name.to_owned())).unwrap().position.row;
        (Position::new(row, 1).unwrap(), inputs.cell(Position::new(row, 2).unwrap()).clone())
    };
    let edits: Vec<Edit> = changes
        .iter()
        .map(|(name, value, _)| {
            let (cell, unit) = percent(name);
            let value = if unit == Cell::Text("%".to_owned()) { value * 100.0 } else { *value };
            Edit::new("inputs", cell, NewValue::Number(value))
        })
        .collect();
    let changed = write_cells("ours.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let file = folder.path().join("changed.xlsx");
    fs::write(&file, without_results(&changed.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder.path());
    let theirs = Book::read("theirs.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap();
    let mut inputs = sheet.inputs();
    for (name, _, text) in changes {
        inputs.write(name, text).unwrap();
    }
    inputs.fill_with_examples();
    let again = sheet.run(&inputs).unwrap();
    let seconds = |name: &str| again.exact(name).unwrap().to_f64();
    // the curves begin at the highest speed and end at standstill, when the sheet says so
    for (begins, ends) in [
        ("ramp works", "t_ramp_works"),
        ("ramp fails", "t_ramp_fails"),
        ("torque removed at once", "t_release"),
    ] {
        let points = curve(&theirs, begins);
        let (first, last) = (points[0], points[points.len() - 1]);
        assert_eq!(first.0, 0.0, "{begins}");
        assert!((first.1 - 1450.0).abs() < 1e-9 && last.1.abs() < 1e-9, "{begins}: {points:?}");
        assert!(
            (last.0 - seconds(ends)).abs() < 1e-9,
            "{begins}: {last:?}, wanted {}",
            seconds(ends)
        );
        assert!(
            points.windows(2).all(|two| two[0].0 <= two[1].0 && two[0].1 >= two[1].1 - 1e-9),
            "{begins}"
        );
    }
    // and there is a rounded ramp that was cut short between them
    let works = curve(&theirs, "ramp works");
    let left = again.exact("n_left").unwrap().to_f64() * 30.0 / std::f64::consts::PI;
    assert!(left > 100.0, "{left}");
    assert!(
        works.iter().any(|(_, speed)| (speed - left).abs() < 1e-9),
        "{left} is not among {works:?}"
    );
    // every cell of the tab is what is calculated here for the same inputs
    let direct = Book::read("d.xlsx", &result_book(&again).unwrap()).unwrap();
    for entry in direct.tab("stop").unwrap().entries().filter(|entry| !entry.cell.is_empty()) {
        let other = theirs.tab("stop").unwrap().cell(entry.position);
        assert_eq!(differ(&entry.cell, other), None, "{}", entry.position.name());
    }
}

#[test]
fn a_changed_input_is_followed_or_makes_an_error_never_an_old_value() {
    let Some(suite) = suite() else { return };
    let folder = tempfile::tempdir().unwrap();
    let sheet = everything(EVERYTHING);
    let bytes = result_book(&results(&sheet)).unwrap();
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let inputs = ours.tab("inputs").unwrap();
    let row = |tab: &str, name: &str| {
        let tab = ours.tab(tab).unwrap();
        let found = tab
            .entries()
            .find(|entry| entry.position.column == 0 && entry.cell == Cell::Text(name.to_owned()));
        found.unwrap_or_else(|| panic!("{name}")).position.row
    };
    let value = |name: &str| Position::new(row("inputs", name), 1).unwrap();
    assert_eq!(inputs.cell(value("x")), &Cell::Number(4.7));
    let edits = [
        Edit::new("inputs", value("x"), NewValue::Number(5.2)),
        Edit::new("inputs", value("n"), NewValue::Number(600.0)),
        Edit::new("inputs", value("mode"), NewValue::Text("linear".to_owned())),
        Edit::new("inputs", value("theta"), NewValue::Number(80.0)),
    ];
    let changed = write_cells("ours.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let file = folder.path().join("changed.xlsx");
    fs::write(&file, without_results(&changed.bytes)).unwrap();
    let afresh = recalculated(suite, &[file], folder.path());
    let theirs = Book::read("theirs.xlsx", &fs::read(&afresh[0]).unwrap()).unwrap();
    let mut inputs = sheet.inputs();
    for (name, text) in [("x", "5.2"), ("n", "600 r/min"), ("mode", "linear"), ("theta", "50 °C")]
    {
        inputs.write(name, text).unwrap();
    }
    inputs.fill_with_examples();
    let again = sheet.run(&inputs).unwrap();
    let cell = |name: &str| {
        theirs.tab("results").unwrap().cell(Position::new(row("results", name), 1).unwrap())
    };
    for output in &again.program().outputs {
        let Some(Slot::One(value)) = again.slot(output) else { continue };
        match output.name.as_str() {
            // this stands on a root
            "after" => assert!(matches!(cell("after"), Cell::Error(_)), "{:?}", cell("after")),
            // these stand on the temperature, which is out of range on purpose
            "warm" | "heat" => {}
            // with an input out of its range nothing may be set
            name if output.setting.is_some() => {
                assert_eq!(cell(name), &Cell::Text("NOT to be set".to_owned()), "{name}");
            }
            name => {
                let ours = Cell::Number(value.in_unit(&output.unit).unwrap().to_f64());
                assert_eq!(differ(&ours, cell(name)), None, "{name}");
            }
        }
    }
    assert_eq!(
        cell("ranges"),
        &Cell::Text("AN INPUT IS OUT OF ITS RANGE: see the tab inputs".to_owned())
    );
}

#[test]
fn the_same_results_make_the_same_bytes() {
    let sheet = everything(EVERYTHING);
    assert!(result_book(&results(&sheet)).unwrap() == result_book(&results(&sheet)).unwrap());
}

#[test]
fn texts_never_become_formulas() {
    let text = EVERYTHING
        .replace("\"One of everything\"", "\"=1+1\"")
        .replace("\"a length\"", "\"=cmd()\"")
        .replace("\"make it longer\"", "\"=HYPERLINK(1)\"");
    let sheet = everything(&text);
    let book = Book::read("r.xlsx", &result_book(&results(&sheet)).unwrap()).unwrap();
    let mut found = 0;
    for tab in &book.tabs {
        for entry in tab.entries() {
            if let Cell::Text(text) = &entry.cell
                && (text.starts_with("=1+1") || text.starts_with("=cmd"))
            {
                found += 1;
                assert!(!entry.formula, "{text}");
            }
        }
    }
    assert!(found >= 2);
}

/// After a change a check may have no figure (what was searched is not searched again), and a unit may be typed over:
/// the verdict is that of a run, or says that there is none.
#[test]
fn a_verdict_holds_only_where_every_check_has_a_figure_and_every_unit_is_its_own() {
    let Some(suite) = suite() else { return };
    let text = "sheet searched\ntitle \"Searched\"\nsource \"derivation\"\ntakes\n  \
                a : length in mm above 0 mm like 10 mm  \"reach\"\n  \
                t : time in ms like 480 ms               \"delay\"\nworks\n  \
                x = root of z^3 - a * (1 mm)^2 for z from 0 mm to 100 mm\n  S = meant 100 \"a scale\" * x\n  S_t = 1 m/s * t\nholds\n  \
                S <= 300 mm    \"near enough\"  else \"a shorter reach\"\n  \
                S_t <= 500 mm  \"soon enough\"  else \"a shorter delay\"\ngives\n  S in mm\n  S_t in mm\n";
    let sheet = everything(text);
    let bytes = result_book(&results(&sheet)).unwrap();
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let cell = |tab: &str, name: &str, column: u32| beside(&ours, tab, name, column);
    let verdict = cell("results", "verdict", 1);
    let text = |it: &str| NewValue::Text(it.to_owned());
    let folder = tempfile::tempdir().unwrap();
    for (name, column, value, wanted) in [
        ("a", 1, NewValue::Number(10.0), "every check holds"),
        ("a", 1, NewValue::Number(50.0), "NOT CALCULATED: 1 of 3 checks have no figure"),
        ("t", 1, NewValue::Number(0.6), "every check holds"),
        ("t", 1, NewValue::Number(600.0), "FAILS: 1 of 3 checks, see below"),
        ("t", 2, text("s"), "AN INPUT IS NOT GIVEN, NO NUMBER OR IN ANOTHER UNIT"),
        ("t", 2, text("Ms"), "AN INPUT IS NOT GIVEN, NO NUMBER OR IN ANOTHER UNIT"),
        ("t", 1, text("480 ms"), "AN INPUT IS NOT GIVEN, NO NUMBER OR IN ANOTHER UNIT"),
        ("a", 1, NewValue::Number(-1.0), "AN INPUT IS OUT OF ITS RANGE"),
    ] {
        let edits = [Edit::new("inputs", cell("inputs", name, column), value.clone())];
        let theirs = changed(suite, &bytes, &edits, folder.path());
        let found = theirs.tab("results").unwrap().cell(verdict);
        assert_eq!(found, &Cell::Text(wanted.to_owned()), "{name} {value:?}");
    }
}

/// A run need not be given what the chosen word leaves out; its workbook knows nothing of it, and another word asks for it.
#[test]
fn what_was_left_out_is_asked_for_when_another_word_needs_it() {
    let Some(suite) = suite() else { return };
    let text = "sheet left\ntitle \"Left out\"\nsource \"derivation\"\ntakes\n  \
                way : one of plain, deep like plain      \"way\"\n  \
                a   : length in mm above 0 mm like 10 mm \"reach\"\n  \
                b   : length in mm above 0 mm like 20 mm \"depth\"\nworks\n  \
                S = when way is plain : a\n      when way is deep  : a + b\nholds\n  \
                S <= 60 mm     \"near enough\"  else \"a shorter reach\"\ngives\n  S in mm\n";
    let sheet = everything(text);
    let mut inputs = sheet.inputs();
    for (name, given) in [("way", "plain"), ("a", "15 mm")] {
        let place = Place::Argument { text: String::new() };
        inputs.write_typed(name, given, place).unwrap();
    }
    let bytes = result_book(&sheet.run(&inputs).unwrap()).unwrap();
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let cell = |tab: &str, name: &str| beside(&ours, tab, name, 1);
    let verdict = cell("results", "verdict");
    assert_eq!(ours.tab("inputs").unwrap().cell(cell("inputs", "b")), &Cell::Empty);
    let deep = || ("way", NewValue::Text("deep".to_owned()));
    let folder = tempfile::tempdir().unwrap();
    for (changes, wanted) in [
        (vec![("a", NewValue::Number(16.0))], "every check holds"),
        (vec![deep()], "AN INPUT IS NOT GIVEN, NO NUMBER OR IN ANOTHER UNIT"),
        (vec![deep(), ("b", NewValue::Number(25.0))], "every check holds"),
        (vec![deep(), ("b", NewValue::Number(55.0))], "FAILS: 1 of 1 checks, see below"),
    ] {
        let edits = changes
            .iter()
            .map(|(name, value)| Edit::new("inputs", cell("inputs", name), value.clone()));
        let edits: Vec<Edit> = edits.collect();
        let theirs = changed(suite, &bytes, &edits, folder.path());
        let found = theirs.tab("results").unwrap().cell(verdict);
        assert_eq!(found, &Cell::Text(wanted.to_owned()), "{changes:?}");
    }
}

/// A word that nobody gave is in no box either; the sheet's example of it may be what is meant. While one is wanted, no
/// figure stands beside the verdict.
#[test]
fn a_word_that_was_left_out_is_asked_for_and_may_be_the_example() {
    let Some(suite) = suite() else { return };
    let (sheet, inputs) = super::typed("protective-device", super::PRESS);
    let bytes = result_book(&sheet.run(&inputs).unwrap()).unwrap();
    let ours = Book::read("ours.xlsx", &bytes).unwrap();
    let cell = |tab: &str, name: &str| beside(&ours, tab, name, 1);
    assert_eq!(ours.tab("inputs").unwrap().cell(cell("inputs", "edition")), &Cell::Empty);
    let word = |name: &'static str, word: &str| (name, NewValue::Text(word.to_owned()));
    let curtain = || vec![word("device", "curtain"), ("d", NewValue::Number(40.0))];
    let open = "AN INPUT IS NOT GIVEN, NO NUMBER OR IN ANOTHER UNIT";
    let folder = tempfile::tempdir().unwrap();
    // ISO 13855:2010: 1600 mm/s · 335 ms + 8 · (40 − 14) mm
    for (changes, verdict, figure) in [
        (vec![word("edition", "2024")], "every check holds", Some(536.067)),
        (vec![word("device", "curtain")], open, None),
        (curtain(), open, None),
        ([curtain(), vec![word("edition", "2010")]].concat(), "every check holds", Some(744.0)),
        (
            [curtain(), vec![("edition", NewValue::Number(2010.0))]].concat(),
            "every check holds",
            Some(744.0),
        ),
    ] {
        let edits = changes
            .iter()
            .map(|(name, value)| Edit::new("inputs", cell("inputs", name), value.clone()));
        let edits: Vec<Edit> = edits.collect();
        let theirs = changed(suite, &bytes, &edits, folder.path());
        let first = theirs.tab("summary").unwrap();
        let found = first.cell(cell("summary", "verdict"));
        assert_eq!(found, &Cell::Text(verdict.to_owned()), "{changes:?}");
        match (first.cell(cell("summary", "S")), figure) {
            (Cell::Number(found), Some(figure)) => assert!((found - figure).abs() < 1e-6),
            (Cell::Text(_), None) => {}
            (found, _) => panic!("{changes:?}: {found:?}"),
        }
    }
}
