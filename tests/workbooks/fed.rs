//! What feeds an input besides a number of its own: another input's cell, a formula that takes another cell, a mean
//! among the values of a series; and what an earlier run or an owner has left in the cells of results.
//!
//! Common practice of offices, no source: the mistakes here are those that people make.

use standstill::diagnostic::{Name, Place, Source};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::{Book, Position};
use standstill::workbook::range::{ProductLine, TableRequest, VariantVerdict};
use standstill::workbook::{Filling, Options, Unfilled, compute_with};

use super::mutants::grid::{Content, Grid, Tab};

/// t = J·ω / T, worked by hand: 0.35 kg·m² · 151.844 rad/s / 4.2 N·m
const STOP: f64 = 12.6536;

/// A block of `run-down` in A1:C7.
fn block() -> Tab {
    let mut tab = Tab { name: "Saw".to_owned(), ..Tab::default() };
    tab.text(0, 0, "sheet run-down");
    for (row, (name, value, unit)) in (1..).zip([
        ("J", 0.35, "kg·m²"),
        ("n_0", 1450.0, "r/min"),
        ("T_0", 4.2, "N·m"),
        ("T_load", 0.0, "N·m"),
    ]) {
        tab.text(row, 0, name);
        tab.cells.insert((row, 1), Content::Number(value));
        tab.text(row, 2, unit);
    }
    tab.text(5, 0, "t_stop");
    tab.text(5, 2, "s");
    tab.text(6, 0, "checks");
    tab
}

fn grid(tab: Tab) -> Grid {
    Grid { tabs: vec![tab], names: Vec::new() }
}

fn filled(grid: &Grid, bind: Option<&str>, options: Options<'_>) -> Result<Filling, Unfilled> {
    let book = Book::read("Saw.xlsx", &grid.xlsx()).unwrap();
    let source = bind.map(|text| Source::new("saw.bind", text));
    compute_with(&book, source.as_ref(), &Project::new(&NoFs), options)
}

/// The time to standstill, or the name and the cell of each error.
fn stop(grid: &Grid, bind: Option<&str>) -> Result<f64, Vec<(Name, String)>> {
    let filling = filled(grid, bind, Options::default()).map_err(|unfilled| {
        let errors = unfilled.problems.iter().filter(|problem| problem.is_error());
        let cell = |place: &Place| match place {
            Place::Cell { tab, row, column, .. } => {
                format!("{tab}!{}", Position { row: *row, column: *column }.name())
            }
            other => other.to_text(),
        };
        errors
            .map(|it| (it.name, it.place.as_ref().map_or(String::new(), cell)))
            .collect::<Vec<_>>()
    })?;
    let time: uom::si::f64::Time =
        filling.calculated.first().unwrap().results.get("t_stop").unwrap();
    Ok(time.value)
}

fn stops(grid: &Grid, what: &str) {
    let found = stop(grid, None);
    assert!(found.as_ref().is_ok_and(|it| (it - STOP).abs() < 1e-3), "{what}: {found:?}");
}

fn asked(grid: &Grid, bind: Option<&str>, name: Name, cell: &str, what: &str) {
    assert_eq!(stop(grid, bind), Err(vec![(name, cell.to_owned())]), "{what}");
}

fn formula(text: &str, saved: f64) -> Content {
    Content::Formula(text.to_owned(), saved)
}

#[test]
fn one_cell_feeds_one_input_of_a_calculation() {
    let names = |t_load: &str| {
        let mut grid = grid(block());
        grid.tabs[0].cells.retain(|(_, column), _| *column > 0);
        grid.names = [
            ("J", "$B$2"),
            ("n_0", "$B$3"),
            ("T_0", "$B$4"),
            ("T_load", t_load),
            ("t_stop", "$B$6"),
        ]
        .iter()
        .map(|(name, cell)| (format!("run_down.{name}"), format!("=Saw!{cell}")))
        .collect();
        grid
    };
    stops(&names("$B$5"), "each has a cell");
    asked(&names("$B$4"), None, Name::AskedTwice, "Saw!B4", "T_load is bound to the cell of T_0");
    let bind = "sheet run-down\n J from Saw!B2 in kg·m²\n n_0 from Saw!B3 in r/min\n T_0 from Saw!B4 in N·m\n T_load from Saw!B4 in N·m\n t_stop to Saw!B6 in s\n";
    let mut bare = grid(block());
    bare.tabs[0].cells.retain(|(_, column), _| *column == 1);
    asked(&bare, Some(bind), Name::AskedTwice, "Saw!B4", "in a bind file");
    // two calculations share what they have in common
    let both = format!(
        "{}{}",
        bind.replace("T_load from Saw!B4", "T_load from Saw!B5"),
        "sheet ramp-stop\n n_0 from Saw!B3 in r/min\n"
    );
    let problems = filled(&bare, Some(&both), Options::default()).err().map(|it| it.problems);
    let twice = problems.iter().flatten().any(|it| it.name == Name::AskedTwice);
    assert!(!twice, "{problems:?}");
}

#[test]
fn a_formula_takes_what_its_input_is() {
    let with = |text: &str, row: u32, saved: f64, beside: &[(u32, u16, Content)]| {
        let mut tab = block();
        tab.cells.insert((row, 1), formula(text, saved));
        for (row, column, cell) in beside {
            tab.cells.insert((*row, *column), cell.clone());
        }
        grid(tab)
    };
    let number = Content::Number;
    let text = |text: &str| Content::from(text);
    // torque, one row of it: the number in F and what stands about it
    let torque = |formula: &str, number_in_f: f64, before: &str, behind: &str| {
        let mut beside = vec![(3, 5, number(number_in_f))];
        beside.extend((!before.is_empty()).then(|| (3, 4, text(before))));
        beside.extend((!behind.is_empty()).then(|| (3, 6, text(behind))));
        with(formula, 3, 4.2, &beside)
    };
    for (formula, value, before, behind) in [
        ("=F4", 4.2, "", "N·m"),
        ("=F4", 4.2, "", ""),
        ("=F4", 4.2, "friction / (N·m)", ""),
        ("=F4", 4.2, "T_0", "N·m"),
        ("=F4", 4.2, "T_max", "N·m"),
        ("=F4/1000", 4200.0, "", "mN·m"),
        ("=F4*2", 2.1, "", "N·m"),
        ("=ROUND(F4,1)", 4.2, "", "N·m"),
        ("=F4+0.2", 4.0, "", "N·m"),
        ("=F4*9.81", 4.2 / 9.81, "", "kg·m"),
    ] {
        stops(&torque(formula, value, before, behind), &format!("{formula} {before} {behind}"));
    }
    for (formula, value, before, behind) in [
        ("=F4", 4.2, "", "mN·m"),
        ("=F4", 4.2, "friction [mN·m]", ""),
        ("=F4", 4.2, "", "kg·m²"),
        ("=F4*12", 0.35, "", "kg·m²"),
        ("=F4", 4.2, "T_load", "N·m"),
        ("=F4", 4.2, "T_load", ""),
        ("=F4/1000", 4200.0, "", "N·m"),
        ("=F4*2", 2.1, "", "mN·m"),
        ("=B4", 4.2, "", ""),
    ] {
        let what = format!("{formula} {before} {behind}");
        asked(&torque(formula, value, before, behind), None, Name::TwoStatements, "Saw!B4", &what);
    }
    // the unit of the row, three cells before F3, is not a label of F3
    stops(&with("=F3", 2, 1450.0, &[(2, 5, number(1450.0))]), "in the row of its block");
    let speed = [(2, 5, number(1450.0)), (2, 6, text("rad/s"))];
    asked(&with("=F3", 2, 1450.0, &speed), None, Name::TwoStatements, "Saw!B3", "rad/s as r/min");
    // the cell of another input, by itself and through another cell
    let same = [(4, 1, number(4.2)), (3, 5, formula("=B5", 4.2))];
    asked(&with("=B5", 3, 4.2, &same), None, Name::TwoStatements, "Saw!B4", "the cell of T_load");
    asked(&with("=F4", 3, 4.2, &same), None, Name::TwoStatements, "Saw!B4", "through F4");
    // a cell of another tab, and a chain of cells whose last is in another unit
    let mut other = with("=Data!B1", 3, 4.2, &[]);
    let mut data = Tab { name: "Data".to_owned(), ..Tab::default() };
    data.cells.insert((0, 1), formula("=B2", 4.2));
    data.cells.insert((1, 1), number(4.2));
    other.tabs.push(data);
    stops(&other, "a chain without units");
    other.tabs[1].text(1, 2, "mN·m");
    asked(&other, None, Name::TwoStatements, "Saw!B4", "a chain that ends in mN·m");
}

#[test]
fn in_a_product_line_a_row_with_another_formula_is_asked() {
    let line = |second: &str, third: &str, torque: Content| {
        let mut tab = Tab { name: "Line".to_owned(), ..Tab::default() };
        tab.text(0, 0, "sheet run-down");
        for (column, head) in (0..).zip([
            "type", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)", "t_stop / s", "status", "each",
            "other",
        ]) {
            tab.text(2, column, head);
        }
        for (row, formula_text) in (3..).zip(["=G4*2", second, third]) {
            tab.text(row, 0, &format!("type {row}"));
            tab.cells.insert((row, 1), formula(formula_text, 0.35));
            tab.cells.insert((row, 2), Content::Number(1450.0));
            tab.cells.insert((row, 3), Content::Number(4.2));
            tab.cells.insert((row, 6), Content::Number(0.175));
            tab.cells.insert((row, 7), Content::Number(0.175));
        }
        tab.cells.insert((5, 3), torque);
        let mut data = Tab { name: "Data".to_owned(), ..Tab::default() };
        data.text(0, 1, "J / (kg·cm²)");
        for row in 1..6 {
            data.cells.insert((row, 1), Content::Number(0.175));
        }
        let grid = Grid { tabs: vec![tab, data], names: Vec::new() };
        let book = Book::read("Line.xlsx", &grid.xlsx()).unwrap();
        let found = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs));
        found.map_err(|unfilled| unfilled.problems.first().unwrap().name).map(|line| {
            let outcome = line.compute(&book, 0..3, 1, &|_| {});
            outcome.variants.iter().map(|it| it.verdict).collect::<Vec<_>>()
        })
    };
    let torque = Content::Number(4.2);
    let holds = VariantVerdict::Holds;
    assert_eq!(line("=G5*2", "=G6*2", torque.clone()), Ok(vec![holds; 3]));
    assert_eq!(
        line("=G4*2", "=G6*2", torque.clone()),
        Ok(vec![holds, VariantVerdict::Wrong, holds]),
        "row 5 takes row 4"
    );
    assert_eq!(
        line("=Data!B5*2", "=Data!B6*2", torque),
        Err(Name::TwoStatements),
        "Data is in kg·cm²"
    );
    assert_eq!(
        line("=G5*2", "=G6*2", formula("=B6*12", 4.2)),
        Err(Name::TwoStatements),
        "T_0 from J"
    );
}

#[test]
fn what_a_row_says_of_its_own_numbers_is_asked() {
    let verdicts = |unit: &str, remark: &str| {
        let mut tab = Tab { name: "Line".to_owned(), ..Tab::default() };
        tab.text(0, 0, "sheet run-down");
        let heads =
            ["type", "J / (kg·m²)", "unit", "n_0 / (r/min)", "T_0 / (N·m)", "remark", "t_stop / s"];
        for (column, head) in (0..).zip(heads) {
            tab.text(2, column, head);
        }
        for row in 3..5 {
            tab.text(row, 0, "GD2 rotor");
            for (column, number) in [(1, 0.35), (3, 1450.0), (4, 4.2)] {
                tab.cells.insert((row, column), Content::Number(number));
            }
        }
        tab.text(4, 2, unit);
        tab.text(4, 5, remark);
        let book = Book::read("Line.xlsx", &grid(tab).xlsx()).unwrap();
        let line =
            ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs)).unwrap();
        let outcome = line.compute(&book, 0..2, 1, &|_| {});
        outcome.variants.iter().map(|it| it.problems.first().map(|it| it.name)).collect::<Vec<_>>()
    };
    for (unit, remark) in [
        ("", ""),
        ("kg·m²", "from the data sheet"),
        ("kg m²", "kg·cm²"),
        ("each", "J"),
        ("", "WK²"),
    ] {
        assert_eq!(verdicts(unit, remark), [None, None], "{unit} {remark}");
    }
    for (unit, remark) in [
        ("kg·cm²", ""),
        ("g·m²", ""),
        ("", "J is GD²"),
        ("", "GD2, from the data sheet"),
        ("", "PD²"),
    ] {
        let asked = Some(Name::TwoStatements);
        assert_eq!(verdicts(unit, remark), [None, asked], "{unit} {remark}");
    }
}

/// A block of `measured-stops` with values in B2 and below.
fn measured(values: &[Content]) -> Grid {
    let mut tab = Tab { name: "Saw".to_owned(), ..Tab::default() };
    tab.text(0, 0, "sheet measured-stops");
    tab.text(1, 0, "t_k");
    tab.text(1, 2, "ms");
    for (row, value) in (1..).zip(values) {
        tab.cells.insert((row, 1), value.clone());
    }
    let row = u32::try_from(values.len()).unwrap() + 1;
    for (down, (name, unit)) in (row..).zip([("u", "ms"), ("t_stop", "ms"), ("checks", "")]) {
        tab.text(down, 0, name);
        tab.text(down, 2, unit);
    }
    tab.cells.insert((row, 1), Content::Number(0.0));
    grid(tab)
}

#[test]
fn a_mean_among_measured_stops_and_stops_pasted_twice_are_asked() {
    let ten = [312.0, 318.0, 305.0, 309.0, 321.0, 315.0, 311.0, 307.0, 319.0, 313.0];
    let of = |numbers: &[f64]| numbers.iter().map(|it| Content::Number(*it)).collect::<Vec<_>>();
    let refusal = |grid: &Grid| {
        filled(grid, None, Options::default()).err().map(|unfilled| {
            let problem = unfilled.problems.first().unwrap();
            (problem.name, problem.place.as_ref().unwrap().to_text())
        })
    };
    let asked = |cell: &str| Some((Name::TwoStatements, format!("Saw.xlsx ▸ Saw!{cell}")));
    assert_eq!(refusal(&measured(&of(&ten))), None);
    let nine: f64 = ten[..9].iter().sum::<f64>() / 9.0;
    for (text, saved) in [("=AVERAGE(B2:B10)", nine), ("=MAX(B2:B10)", 321.0), ("=B3", 318.0)] {
        let mut values = of(&ten);
        values[9] = formula(text, saved);
        assert_eq!(refusal(&measured(&values)), asked("B11"), "{text}");
    }
    let five = [&ten[..5], &ten[..5]].concat();
    assert_eq!(refusal(&measured(&of(&five))), asked("B7"));
    // a name over the whole column, its last row labelled
    let mut grid = measured(&of(&ten));
    grid.tabs[0].cells.remove(&(0, 0));
    grid.tabs[0].text(1, 0, "stop 1");
    grid.names = vec![
        ("measured_stops.t_k".to_owned(), "=Saw!$B$2:$B$11".to_owned()),
        ("measured_stops.u".to_owned(), "=Saw!$B$12".to_owned()),
        ("measured_stops.t_stop".to_owned(), "=Saw!$B$13".to_owned()),
    ];
    assert_eq!(refusal(&grid), None);
    for word in ["mean", "Mean:", "max.", "total", "Mittelwert", "arithmetic mean"] {
        grid.tabs[0].text(10, 0, word);
        assert_eq!(refusal(&grid), asked("B11"), "{word}");
    }
}

#[test]
fn what_a_block_without_its_head_holds_is_reported_and_an_old_verdict_refused() {
    let copied = |verdict: &str, head: &str| {
        let mut tab = block();
        for (row, cells) in (9..).zip((0..7).map(|row| block().row(row))) {
            tab.put_row(row, cells);
        }
        tab.cells.remove(&(9, 0));
        tab.text(9, 0, head);
        tab.text(15, 1, verdict);
        grid(tab)
    };
    let found = filled(&copied("", ""), None, Options::default()).unwrap();
    let caution = found.cautions.iter().find(|it| it.name == Name::UnknownRow).unwrap();
    assert_eq!(caution.place.as_ref().unwrap().to_text(), "Saw.xlsx ▸ Saw!A11");
    assert!(caution.headline.contains("rows with names of `run-down`"), "{}", caution.headline);
    asked(&copied("all 2 checks hold", ""), None, Name::StaleFigures, "Saw!B16", "an old verdict");
    asked(&copied("", "Machine 2: sheet run-down"), None, Name::UnknownSheet, "Saw!A10", "a head");
    stops(&copied("all 2 checks hold", "sheet run-down"), "a second block");
    // the status of a table is `range`'s
    let mut tab = block();
    tab.text(0, 5, "status");
    tab.text(1, 5, "all 2 checks hold");
    tab.text(2, 5, "FAILS: the run-down is followed to standstill");
    stops(&grid(tab), "a column of a table");
}

#[test]
fn a_number_of_the_owner_in_the_cell_of_a_result_stays() {
    let with = |held: Content, verdict: &str, checks: bool| {
        let mut tab = block();
        tab.cells.insert((5, 1), held);
        tab.text(6, 1, verdict);
        if !checks {
            tab.cells.remove(&(6, 0));
        }
        grid(tab)
    };
    let owners = |grid: &Grid, what| asked(grid, None, Name::OwnersWords, "Saw!B6", what);
    let number = Content::Number;
    owners(&with(number(30.0), "", true), "never run");
    owners(&with(number(30.0), "", false), "without a cell of the verdict");
    owners(&with(number(30.123_456_789_012), "", true), "a verdict would stand there");
    let date = stop(&with(Content::Date(45_000.0), "all 2 checks hold", true), None);
    assert!(date.unwrap_err().contains(&(Name::OwnersWords, "Saw!B6".to_owned())), "a date");
    stops(&with(number(30.0), "all 2 checks hold", true), "a run before");
    stops(&with(number(12.653_645_654_123_4), "", false), "a calculated number");
    let over = Options { over_numbers: true, ..Options::default() };
    assert!(filled(&with(number(30.0), "", true), None, over).is_ok());
}

#[test]
fn a_name_of_another_input_around_a_bound_cell_is_an_error() {
    // symbol | words | value | unit
    let rows = |before: &[(u16, &str)], above: &str| {
        let mut tab = Tab { name: "Saw".to_owned(), ..Tab::default() };
        for (row, (value, unit)) in (1..).zip([(0.35, "kg·m²"), (1450.0, "r/min"), (4.2, "N·m")])
        {
            tab.cells.insert((row * 2, 3), Content::Number(value));
            tab.text(row * 2, 4, unit);
        }
        for (column, text) in before {
            tab.text(6, *column, text);
        }
        tab.text(5, 3, above);
        grid(tab)
    };
    let bind = "sheet run-down\n J from Saw!D3 in kg·m²\n n_0 from Saw!D5 in r/min\n T_0 from Saw!D7 in N·m\n";
    for (before, above) in [
        (&[(2, "friction")][..], ""),
        (&[(1, "T_0"), (2, "friction")], ""),
        (&[(2, "friction T_0 in N·m")], ""),
        (&[(1, "T_0"), (2, "T_load is separate")], ""),
        (&[], "T_0 / (N·m)"),
        (&[], "value"),
    ] {
        let found = stop(&rows(before, above), Some(bind));
        assert!(
            found.as_ref().is_ok_and(|it| (it - STOP).abs() < 1e-3),
            "{before:?} {above}: {found:?}"
        );
    }
    for (before, above) in [
        (&[(2, "T_load")][..], ""),
        (&[(1, "T_load"), (2, "load")], ""),
        (&[(0, "T_load"), (2, "load")], ""),
        (&[(2, "load torque T_load (N·m)")], ""),
        (&[(2, "J")], ""),
        (&[], "T_load / (N·m)"),
    ] {
        let what = format!("{before:?} {above}");
        asked(&rows(before, above), Some(bind), Name::TwoStatements, "Saw!D7", &what);
    }
}
