//! What a formula behind an input rests on: empty cells, numbers typed as text, values that change by themselves.
//!
//! Every case goes through a block, through a chain of two formulas, and through a row of a product line. That an empty
//! cell counts as zero, that a sum passes over texts and blanks, and which functions are another each time: ECMA-376
//! Part 1, 18.17 (from memory); the saved results are those that office programs write.

use rust_xlsxwriter::{Formula, Table, TableColumn, Workbook};
use standstill::diagnostic::{Diagnostic, Name, Place};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::{Book, Position};
use standstill::workbook::range::{ProductLine, TableRequest};
use standstill::workbook::{Options, compute_with};

use super::mutants::grid::{Content, Grid, Tab};

/// Where the numbers of the formulas stand: 0.2, an empty cell, 0.15, the text `0,9`, 0.35; words; blanks.
fn data() -> Tab {
    let mut tab = Tab { name: "Data".to_owned(), ..Tab::default() };
    for (row, number) in [(0, 0.2), (2, 0.15), (4, 0.35)] {
        tab.cells.insert((row, 1), Content::Number(number));
    }
    tab.text(3, 1, "0,9");
    for (row, word) in (0..).zip(["motor", "brake", "gear", "coupling", "all"]) {
        tab.text(row, 0, word);
    }
    for row in 0..3 {
        tab.cells.insert((row, 2), Content::Number(1.0));
    }
    tab.text(6, 1, "inertias 2024");
    tab.text(7, 1, "0.5 kg·m²");
    tab.cells.insert((8, 1), Content::Number(0.35));
    tab.cells.insert((9, 1), Content::Formula("=B10/1".to_owned(), 0.35));
    tab.cells.insert((10, 1), Content::Formula("=B2*2+0.35".to_owned(), 0.35));
    tab.text(0, 4, "inertias");
    tab.cells.insert((1, 4), Content::Number(0.35));
    tab.text(2, 4, "TBD");
    tab.cells.insert((3, 4), Content::Number(0.35));
    tab.text(4, 4, "see the drawing");
    tab.cells.insert((0, 5), Content::Number(0.35));
    // lines of a list that are not used
    tab.cells.insert((1, 5), Content::Formula("=IF(B2=\"\",0,B2)".to_owned(), 0.0));
    tab.cells.insert((2, 5), Content::Formula("=IFERROR(B5/B2,0)".to_owned(), 0.0));
    tab
}

fn place(problem: &Diagnostic) -> (Name, String) {
    let cell = match &problem.place {
        Some(Place::Cell { tab, row, column, .. }) => {
            format!("{tab}!{}", Position { row: *row, column: *column }.name())
        }
        other => format!("{other:?}"),
    };
    (problem.name, cell)
}

fn whole(tab: Tab, deep: Option<&str>) -> Vec<u8> {
    let mut data = data();
    data.cells.remove(&(9, 1));
    if let Some(formula) = deep {
        data.cells.insert((11, 1), Content::Formula(formula.replace("Data!", ""), 0.35));
    }
    Grid { tabs: vec![tab, data], names: Vec::new() }.xlsx()
}

/// What `fill` says of a block of `run-down` whose J is this formula: errors, then cautions.
fn of_block(formula: &str, deep: Option<&str>) -> Vec<(Name, String)> {
    let mut tab = Tab { name: "In".to_owned(), ..Tab::default() };
    tab.text(0, 0, "sheet run-down");
    let rows = [
        ("J", 0.0, "kg·m²"),
        ("n_0", 1450.0, "r/min"),
        ("T_0", 4.2, "N·m"),
        ("T_load", 0.0, "N·m"),
    ];
    for (row, (name, value, unit)) in (1..).zip(rows) {
        tab.text(row, 0, name);
        tab.cells.insert((row, 1), Content::Number(value));
        tab.text(row, 2, unit);
    }
    tab.cells.insert((1, 1), Content::Formula(formula.to_owned(), 0.35));
    tab.text(5, 0, "t_stop");
    tab.text(5, 2, "s");
    tab.text(6, 0, "checks");
    let book = Book::read("a.xlsx", &whole(tab, deep)).unwrap();
    match compute_with(&book, None, &Project::new(&NoFs), Options::default()) {
        Ok(filling) => {
            let found = filling.cautions.iter().filter(|it| it.name == Name::StaleFigures);
            found.map(place).collect()
        }
        Err(unfilled) => unfilled.problems.iter().filter(|it| it.is_error()).map(place).collect(),
    }
}

/// What `range` says of a variant whose J is this formula, the second of three.
fn of_line(formula: &str) -> Vec<(Name, String)> {
    let mut tab = Tab { name: "In".to_owned(), ..Tab::default() };
    tab.text(0, 0, "sheet run-down");
    let heads = [
        "type", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)", "T_load / (N·m)", "t_stop / s",
        "status",
    ];
    for (column, head) in (0..).zip(heads) {
        tab.text(2, column, head);
    }
    for row in 3..6 {
        tab.text(row, 0, &format!("type {row}"));
        for (column, number) in (1..).zip([0.35, 1450.0, 4.2, 0.0]) {
            tab.cells.insert((row, column), Content::Number(number));
        }
    }
    tab.cells.insert((4, 1), Content::Formula(formula.to_owned(), 0.35));
    let book = Book::read("a.xlsx", &whole(tab, None)).unwrap();
    let line = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs)).unwrap();
    let outcome = line.compute(&book, 0..3, 1, &|_| {});
    let wrong = outcome.variants.iter().flat_map(|it| &it.problems).map(place).collect::<Vec<_>>();
    let told = line.cautions.iter().filter(|it| it.name == Name::StaleFigures).map(place);
    if wrong.is_empty() { told.collect() } else { wrong }
}

/// Formulas that give 0.35 as saved and rest on nothing that is in doubt.
const SOUND: &[&str] = &[
    "=Data!B5",
    "=Data!B1+Data!B3",
    "=SUM(Data!B1:B3)",
    "=SUM(Data!B1:B3,0)",
    "=MAX(Data!B1:B3)+Data!B3",
    "=SUM(Data!E1:E2)",
    "=IF(1>0,Data!B5,Data!B2)",
    "=IF(Data!B5=\"\",0.2,Data!B5)",
    "=IF(ISBLANK(Data!B2),Data!B5,Data!B1)",
    "=IFERROR(Data!B5/Data!C1,0.2)",
    "=IFERROR(VLOOKUP(\"all\",Data!A1:B5,2,FALSE),0.2)",
    "=SUM(Data!F1:F3)",
    "=N(Data!B5)",
    "=CHOOSE(2,Data!B2,Data!B5)",
    "=VLOOKUP(\"all\",Data!A1:B5,2,FALSE)",
    "=INDEX(Data!B1:B5,MATCH(\"all\",Data!A1:A5,0))",
    "=SUMIF(Data!A1:A3,\"<>brake\",Data!B1:B3)",
    "=COUNT(Data!B1:B5)*0.35/3",
    "=INDIRECT(\"Data!B5\")",
    "=OFFSET(Data!B1,4,0)",
    "=ROUND(Data!B5,3)",
    "=SUMPRODUCT(Data!B1:B1,Data!C1:C1)+Data!B3",
    "=0.35*EXP(0)",
];

/// Formulas that do not: the error, and the cell at which it stands; `In!` for the cell of the input.
const IN_DOUBT: &[(&str, Name, &str)] = &[
    ("=Data!B2", Name::EmptyCell, "In!"),
    ("=+Data!$B$2", Name::EmptyCell, "In!"),
    ("=Data!B2+0.35", Name::EmptyCell, "In!"),
    ("=Data!B5+Data!B2", Name::EmptyCell, "In!"),
    ("=Data!B5-Data!B2*2", Name::EmptyCell, "In!"),
    ("=ROUND(Data!B2,2)+0.35", Name::EmptyCell, "In!"),
    ("=SUM(Data!B5,Data!B2)", Name::EmptyCell, "In!"),
    ("=MAX(Data!B5,Data!B2)", Name::EmptyCell, "In!"),
    ("=SUM(Data!D1:D9)+0.35", Name::EmptyCell, "In!"),
    ("=MAX(Data!D1:D9)+0.35", Name::EmptyCell, "In!"),
    ("=IF(Data!B5>0,Data!B2+0.35,0)", Name::EmptyCell, "In!"),
    ("=IF(Data!B2>0,1,0.35)", Name::EmptyCell, "In!"),
    ("=VLOOKUP(\"brake\",Data!A1:B5,2,FALSE)+0.35", Name::EmptyCell, "In!"),
    ("=INDEX(Data!B1:B5,2)+0.35", Name::EmptyCell, "In!"),
    ("=CHOOSE(1,Data!B2,Data!B5)+0.35", Name::EmptyCell, "In!"),
    ("=INDIRECT(\"Data!B2\")+0.35", Name::EmptyCell, "In!"),
    ("=OFFSET(Data!B1,1,0)+0.35", Name::EmptyCell, "In!"),
    ("=SUMPRODUCT(Data!B1:B3,Data!C1:C3)", Name::EmptyCell, "In!"),
    ("=EXP(Data!B2)*0.35", Name::EmptyCell, "In!"),
    ("=Data!B11", Name::EmptyCell, "In!"),
    ("=SUM(Data!B1:B4)", Name::TextForNumber, "Data!B4"),
    ("=MAX(Data!B3:B5)", Name::TextForNumber, "Data!B4"),
    ("=AVERAGE(Data!B4:B5)", Name::TextForNumber, "Data!B4"),
    ("=SUM(Data!B4)+0.35", Name::TextForNumber, "Data!B4"),
    ("=SUM(Data!B7:B9)", Name::TextForNumber, "Data!B8"),
    ("=SUMIF(Data!A1:A5,\"*\",Data!B1:B5)", Name::TextForNumber, "Data!B4"),
    ("=SUM(Data!E1:E3)", Name::TextForNumber, "Data!E3"),
    ("=RAND()", Name::StaleFigures, "In!"),
    ("=TODAY()/100000", Name::StaleFigures, "In!"),
    ("=Data!B5*RANDBETWEEN(1,2)", Name::StaleFigures, "In!"),
    ("=IF(NOW()>1,Data!B5,0)", Name::StaleFigures, "In!"),
];

/// Formulas of which a number stands in for one that is not there, and where that is.
const STANDS_IN: &[(&str, &str)] = &[
    ("=IF(Data!B2=\"\",0.35,Data!B2)", "Data!B2"),
    ("=IF(ISBLANK(Data!B2),0.35,Data!B2)", "Data!B2"),
    ("=IF(\"\"<>Data!B2,Data!B2,Data!B5)", "Data!B2"),
    ("=IF(COUNT(Data!B2)=0,0.35,Data!B2)", "Data!B2"),
    ("=IF(COUNTA(Data!B2:B2)>0,Data!B2,0.35)", "Data!B2"),
    ("=IF(NOT(ISBLANK(Data!B2)),Data!B2,0.35)", "Data!B2"),
    ("=IFERROR(Data!B5/Data!B2,0.35)", "In!"),
    ("=IFERROR(1/0,0.35)", "In!"),
    ("=IFERROR(VLOOKUP(\"none\",Data!A1:B5,2,FALSE),0.35)", "In!"),
    ("=_xlfn.IFNA(VLOOKUP(\"none\",Data!A1:B5,2,FALSE),0.35)", "In!"),
    ("=N(Data!B4)+0.35", "Data!B4"),
    ("=N(Data!A1)+Data!B5", "Data!A1"),
];

/// Formulas whose value nothing here can check: taken, and told.
const UNCHECKED: &[&str] = &[
    "=INDIRECT(Data!A1)", "=OFFSET(Data!B1,4,0,1,1)", "='[other.xlsx]Data'!$B$5",
    "=INERTIA(Data!B5)", "=INERTIA()",
];

/// Formulas over which an office program may have saved anything: none here calculates them.
const NOT_CALCULATED: &[&str] = &[
    "=LET(a,Data!B5,a)",
    "=VALUE(TEXT(Data!B5,\"0.00\"))",
    "=AGGREGATE(9,6,Data!B5:B5)",
    "=SUBTOTAL(9,Data!B5:B5)",
    "=TREND(Data!B1:B3,Data!C1:C3)",
    "=FORECAST(1,Data!B1:B3,Data!C1:C3)",
    "=SLOPE(Data!B1:B3,Data!C1:C3)",
    "=PERCENTILE(Data!B1:B3,0.9)",
    "=SUMPRODUCT((Data!A1:A3=\"motor\")*Data!B1:B3)",
    "=SUM(FILTER(Data!B1:B3,Data!C1:C3=1))",
    "=SUM(OFFSET(Data!B1,0,0,3,1))",
    "=NUMBERVALUE(\"0,35\",\",\")",
    "=SINH(Data!B5)",
    "=SUM(Data!B1:INDEX(Data!B1:B5,3))",
    "=VLOOKUP(\"mo*\",Data!A1:B5,2,FALSE)",
    "=Data!B5#",
    "=IF(SUBTOTAL(9,Data!B5:B5)>0,Data!B5,0)",
    "=_xlfn.IFNA(INDEX(Data!B1:B5,MATCH(\"none\",Data!A1:A5,0)),0.35)",
];

/// Formulas that no longer give the 0.35 that is saved with them.
const STALE: &[&str] = &[
    "=SUMIFS(Data!B1:B3,Data!A1:A3,\"motor\")",
    "=AVERAGEIF(Data!A1:A3,\"motor\",Data!B1:B3)",
    "=AVERAGEIFS(Data!B1:B3,Data!A1:A3,\"motor\",Data!C1:C3,\">0\")",
    "=_xlfn.MINIFS(Data!B1:B3,Data!C1:C3,1)",
    "=_xlfn.MAXIFS(Data!B1:B3,Data!C1:C3,1)",
    "=COUNTIF(Data!A1:A5,\"motor\")",
    "=LARGE(Data!B1:B3,2)",
    "=SMALL(Data!B1:B3,1)",
    "=CHOOSE(1,Data!B3,Data!B5)",
    "=_xlfn.IFS(Data!B5>1,Data!B5,TRUE,Data!B3)",
    "=_xlfn.SWITCH(\"motor\",Data!A1,Data!B3,Data!B5)",
    "=OFFSET(Data!B1,2,0)",
    "=INDIRECT(\"Data!B3\")",
    "=EXP(LN(Data!B3))",
    "=QUOTIENT(Data!B5,0.1)",
    "=_xlfn.CEILING.MATH(Data!B5)",
    "=STDEV(Data!B1:B3)",
    "=SUM(Data!C:C)",
    "=IFERROR(Data!B5/0,Data!B3)",
    "=IFERROR(VLOOKUP(\"none\",Data!A1:B5,2,FALSE),Data!B3)",
    "=LOOKUP(2,Data!C1:C1,Data!B3:B3)",
    "=MAX(Data!B1,Data!B3)^0.7",
];

/// Formulas that pass over words among their numbers: taken, and told where the words stand.
const PASSED_OVER: &[(&str, &str)] =
    &[("=SUM(Data!B5:B7)", "Data!B7"), ("=SUM(Data!E4:E5)", "Data!E5")];

#[test]
fn what_a_formula_rests_on_is_found_wherever_it_stands() {
    let here =
        |place: &str, own: &str| if place == "In!" { own.to_owned() } else { place.to_owned() };
    let found = |formula: &str| {
        [of_block(formula, None), of_block("=Data!B12", Some(formula)), of_line(formula)]
    };
    for formula in SOUND {
        assert_eq!(found(formula), [vec![], vec![], vec![]], "{formula}");
    }
    for (formula, name, cell) in IN_DOUBT {
        let at = |own| vec![(*name, here(cell, own))];
        assert_eq!(found(formula), [at("In!B2"), at("In!B2"), at("In!B5")], "{formula}");
    }
    for formula in UNCHECKED {
        let at = |own: &str| vec![(Name::StaleFigures, own.to_owned())];
        assert_eq!(found(formula), [at("In!B2"), at("In!B2"), at("In!B5")], "{formula}");
    }
    for formula in NOT_CALCULATED.iter().chain(STALE) {
        let at = |own: &str| vec![(Name::StaleFigures, own.to_owned())];
        assert_eq!(found(formula), [at("In!B2"), at("In!B2"), at("In!B5")], "{formula}");
    }
    for (formula, cell) in PASSED_OVER {
        let at = || vec![(Name::StaleFigures, (*cell).to_owned())];
        assert_eq!(found(formula), [at(), at(), at()], "{formula}");
    }
    for (formula, cell) in STANDS_IN {
        let at = |own| vec![(Name::StaleFigures, here(cell, own))];
        let deep = if *cell == "In!" { "Data!B12" } else { "In!B2" };
        assert_eq!(found(formula), [at("In!B2"), at(deep), at("In!B5")], "{formula}");
    }
}

/// A reference to a column of a table is followed as one to its cells (ISO/IEC 29500-1, 18.17.2.3, from memory).
#[test]
fn a_formula_over_a_table_is_followed_to_its_cells() {
    let of = |formula: &str, cells: [&str; 2]| {
        let mut book = Workbook::new();
        let tab = book.add_worksheet().set_name("In").unwrap();
        tab.write_column(0, 0, ["sheet run-down", "J", "n_0", "T_0", "t_stop"]).unwrap();
        tab.write_column(1, 2, ["kg·m²", "r/min", "N·m", "s"]).unwrap();
        tab.write_column(2, 1, [1450.0, 4.2]).unwrap();
        tab.write_formula(1, 1, Formula::new(formula).set_result("0.35")).unwrap();
        let columns = ["Load", "Own [kg]"].map(|it| TableColumn::new().set_header(it));
        let table = Table::new().set_name("Loads").set_columns(&columns);
        tab.add_table(0, 10, 2, 11, &table).unwrap();
        for (row, cell) in (1..).zip(cells) {
            match cell.parse::<f64>() {
                Ok(number) => tab.write(row, 10, number).unwrap(),
                Err(_) if cell.is_empty() => tab.write(row, 11, 0.1).unwrap(),
                Err(_) => tab.write(row, 10, cell).unwrap(),
            };
        }
        let book = Book::read("a.xlsx", &book.save_to_buffer().unwrap()).unwrap();
        match compute_with(&book, None, &Project::new(&NoFs), Options::default()) {
            Ok(_) => Vec::new(),
            Err(it) => it.problems.iter().filter(|it| it.is_error()).map(place).collect(),
        }
    };
    for (formula, cells, wanted) in [
        ("=Loads[[#This Row],[Load]]", ["0.35", "1"], None),
        ("=Loads[[#This Row],[Load]]", ["", "1"], Some((Name::EmptyCell, "In!B2"))),
        ("=Loads[[#This Row],[Load]]+0.35", ["", "1"], Some((Name::EmptyCell, "In!B2"))),
        ("=Loads[[#This Row],[Load]]", ["0.36", "1"], Some((Name::StaleFigures, "In!B2"))),
        ("=SUM(Loads[Load])", ["0.2", "0.15"], None),
        ("=SUM(Loads[Load])", ["0.35", ""], None),
        ("=SUM(Loads[Load])", ["0.35", "0,9"], Some((Name::TextForNumber, "In!K3"))),
        ("=SUM(Loads[Load])", ["0.35", "open"], Some((Name::TextForNumber, "In!K3"))),
        ("=SUM(Loads[Load])", ["0.35", "1"], Some((Name::StaleFigures, "In!B2"))),
    ] {
        let wanted: Vec<_> = wanted.into_iter().map(|(name, at)| (name, at.to_owned())).collect();
        assert_eq!(of(formula, cells), wanted, "{formula} over {cells:?}");
    }
}

/// A number that is typed as text beside a row is told as one that is a number is.
#[test]
fn a_number_typed_as_text_beside_a_row_is_told() {
    let of = |text: &str| {
        let mut book = Workbook::new();
        let tab = book.add_worksheet().set_name("In").unwrap();
        tab.write_column(0, 0, ["sheet run-down", "J", "n_0", "T_0", "t_stop"]).unwrap();
        tab.write_column(1, 2, ["kg·m²", "r/min", "N·m", "s"]).unwrap();
        tab.write_column(1, 1, [0.35, 1450.0, 4.2]).unwrap();
        tab.write(1, 3, text).unwrap();
        let book = Book::read("a.xlsx", &book.save_to_buffer().unwrap()).unwrap();
        match compute_with(&book, None, &Project::new(&NoFs), Options::default()) {
            Ok(filling) => {
                let rows = filling.cautions.iter().filter(|it| it.name == Name::UnknownRow);
                rows.map(place).collect::<Vec<_>>()
            }
            Err(it) => it.problems.iter().filter(|it| it.is_error()).map(place).collect(),
        }
    };
    for text in ["0,5", "1 450", "ca. 0.4", "12", "TBD", "4 kg·m²?"] {
        let found = of(text);
        let told = |it: &(Name, String)| {
            matches!(it.0, Name::UnknownRow | Name::TwoStatements) && it.1 == "In!D2"
        };
        assert!(found.len() == 1 && found.iter().all(told), "{text}: {found:?}");
    }
    // what may be meant as a factor
    for text in ["0.5", "1000"] {
        assert_eq!(of(text), [(Name::TwoStatements, "In!D2".to_owned())], "{text}");
    }
    for text in ["from the data sheet", "sheet 4", "motor and gear"] {
        assert_eq!(of(text), [], "{text}");
    }
}

/// A value that is to be written with its factor is asked for in the unit of its cell: in the kind's first unit it would
/// be another one.
#[test]
fn a_value_with_its_factor_is_asked_for_in_the_unit_of_its_cell() {
    for unit in ["N·m", "N·cm", "kN·m"] {
        for factor in ["× 0.8", "x 1.25", "20 % less", "half"] {
            let mut book = Workbook::new();
            let tab = book.add_worksheet();
            tab.write_column(0, 0, ["sheet run-down", "J", "n_0", "T_0", "t_stop"]).unwrap();
            tab.write_column(1, 1, [0.35, 1450.0, 4.2]).unwrap();
            tab.write_column(1, 2, ["kg·m²", "r/min", unit, "s"]).unwrap();
            tab.write(3, 3, factor).unwrap();
            let book = Book::read("a.xlsx", &book.save_to_buffer().unwrap()).unwrap();
            let found = compute_with(&book, None, &Project::new(&NoFs), Options::default());
            let told = match found {
                Ok(filling) => filling.cautions,
                Err(unfilled) => unfilled.problems,
            };
            let remedies = told.iter().map(|it| it.remedy.as_str());
            let asked = remedies.filter(|it| it.contains("write the value itself"));
            let wanted = format!("write the value itself in `{unit}`, with the ");
            let right: Vec<_> = asked.map(|it| it.contains(&wanted)).collect();
            assert_eq!(right, [true], "{factor} beside {unit}");
        }
    }
}
