//! What stands near a cell that bears a name: labels, the heading of its column, its unit, a remark, a note. A factor or
//! another unit there is an error at its place, what takes the value back is told, and all else changes nothing.
//!
//! Common practice of offices, no source: the words are those that people write.

use rust_xlsxwriter::{Format, Formula, Note, Workbook, Worksheet};
use standstill::diagnostic::Name;
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::Book;
use standstill::workbook::compute;

/// Names of errors, each with its cell or its remedy.
type Errors = Vec<(Name, String)>;

/// A run-down by names: what | symbol | value | unit | remark, the heading in row 3; t = J·ω / T by hand, 0.35 kg·m² ·
/// 151.844 rad/s / 4.2 N·m. The time in s with the words of the cautions, or names and cells of the errors.
fn run_down(change: &dyn Fn(&mut Worksheet)) -> Result<(f64, Vec<String>), Errors> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("Drive").unwrap();
    tab.write_row(2, 0, ["what", "symbol", "value", "unit", "remark"]).unwrap();
    let rows = [
        ("inertia at the motor", "J", 0.35, "kg·m²"),
        ("speed", "n_0", 1450.0, "r/min"),
        ("least friction", "T_0", 4.2, "N·m"),
        ("drag", "b", 0.0, "N·m·s/rad"),
    ];
    for (row, (what, name, value, unit)) in (3..).zip(rows) {
        tab.write_row(row, 0, [what, name]).unwrap();
        tab.write_number(row, 2, value).unwrap();
        tab.write_string(row, 3, unit).unwrap();
    }
    tab.write_row(9, 1, ["t_stop", "", "s"]).unwrap();
    change(tab);
    for (name, row) in [("J", 4), ("n_0", 5), ("T_0", 6), ("b", 7), ("t_stop", 10)] {
        book.define_name(format!("run_down.{name}"), &format!("=Drive!$C${row}")).unwrap();
    }
    let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    match compute(&book, None, &Project::new(&NoFs)) {
        Ok(filling) => {
            let results = &filling.calculated.first().unwrap().results;
            let time: uom::si::f64::Time = results.get("t_stop").unwrap();
            Ok((time.value, filling.cautions.into_iter().map(|it| it.headline).collect()))
        }
        Err(unfilled) => {
            let errors = unfilled.problems.iter().filter(|it| it.is_error());
            let cell = |it: &standstill::diagnostic::Place| {
                it.to_text().rsplit('!').next().unwrap().to_owned()
            };
            Err(errors
                .map(|it| (it.name, it.place.as_ref().map(cell).unwrap_or_default()))
                .collect())
        }
    }
}

const STOP: f64 = 12.6536;

/// Writes a text into a cell.
fn with(row: u32, column: u16, text: &str) -> impl Fn(&mut Worksheet) {
    move |tab| {
        tab.write_string(row, column, text).unwrap();
    }
}

fn silent(change: &dyn Fn(&mut Worksheet), what: &str) {
    let (time, cautions) = run_down(change).unwrap_or_else(|errors| panic!("{what}: {errors:?}"));
    assert!((time - STOP).abs() < 1e-3, "{what}: {time}");
    assert_eq!(cautions, Vec::<String>::new(), "{what}");
}

#[test]
fn a_factor_in_the_heading_the_label_or_the_unit_of_a_named_cell_is_an_error() {
    silent(&|_| {}, "as it is");
    let factors = [
        "×10⁻³", "· 10⁻³", "x10^-3", "x 10-3", "*1e-3", "1e-3", "×1000", "x1e3", "x100",
        "(x 1000)", "in thousands", "10³",
    ];
    for factor in factors {
        for (row, column, text) in [
            (2, 2, format!("value {factor}")),
            (3, 1, format!("J {factor}")),
            (3, 0, format!("inertia {factor}")),
            (3, 3, format!("{factor} kg·m²")),
        ] {
            let found = run_down(&with(row, column, &text))
                .map_err(|errors| errors.into_iter().map(|(name, _)| name).collect::<Vec<_>>());
            assert_eq!(found, Err(vec![Name::TwoStatements]), "{text}");
        }
    }
    for label in ["10³·J", "J*1000", "1000 J"] {
        let cell = (Name::TwoStatements, "B4".to_owned());
        assert_eq!(run_down(&with(3, 1, label)), Err(vec![cell]), "{label}");
    }
    for heading in [
        "value", "value (SI)", "value 2026-11", "value, 800 x 1000 mm table", "values of axis 10",
        "as built",
    ] {
        silent(&with(2, 2, heading), heading);
    }
    // a unit with words in its cell is named, not called missing
    for unit in ["kg·m² (static)", "kg·cm² (not kg·m²)", "kg·m² [motor]", "kg·cm²(J)"] {
        let errors = run_down(&with(3, 3, unit)).unwrap_err();
        assert!(errors.iter().all(|(name, _)| *name != Name::MissingUnit), "{unit}: {errors:?}");
    }
    for what in ["inertia, drawing 4711/100", "table 800 x 1000 mm", "box 10", "inertia 2 x motor"]
    {
        silent(&with(3, 0, what), what);
    }
}

#[test]
fn another_unit_in_words_before_the_symbol_is_an_error_and_no_value_of_a_row_is_a_heading() {
    for (row, text) in [
        (3, "inertia at the motor in kg·cm²"),
        (3, "inertia / (kg·cm²)"),
        (3, "inertia [lb·ft²]"),
        (4, "speed [rad/s]"),
        (4, "speed in r/s"),
        (4, "speed (r/h)"),
        (5, "friction / N·cm"),
        (5, "friction in mN·m"),
        (5, "friction (lbf·ft)"),
        (5, "least friction [kN·m]"),
    ] {
        let found = run_down(&with(row, 0, text));
        assert_eq!(found, Err(vec![(Name::UnitMismatch, format!("D{}", row + 1))]), "{text}");
    }
    // a unit of another kind may be a symbol
    for (row, text) in [
        (3, "inertia (J)"),
        (5, "friction (N)"),
        (4, "speed [rpm]"),
        (4, "speed (n)"),
        (3, "inertia in kg·m²"),
    ] {
        silent(&with(row, 0, text), text);
    }
    // rows of the owner's own between those that are read
    for text in ["see list in mm", "IP 55 (m)", "400 V / 50 Hz", "foot-mounted", "2.2 kW", "10 mm"]
    {
        let own = |tab: &mut Worksheet| {
            tab.write_row(5, 0, ["mounting", "", text, ""]).unwrap();
            tab.write_row(6, 0, ["cooling", "", text, ""]).unwrap();
            tab.write_row(7, 0, ["least friction", "T_0"]).unwrap();
            tab.write_number(7, 2, 4.2).unwrap();
            tab.write_string(7, 3, "N·m").unwrap();
        };
        let mut book = Workbook::new();
        let tab = book.add_worksheet().set_name("Drive").unwrap();
        tab.write_row(2, 0, ["what", "symbol", "value", "unit"]).unwrap();
        for (row, name, value, unit) in [(3, "J", 0.35, "kg·m²"), (4, "n_0", 1450.0, "r/min")] {
            tab.write_row(row, 0, ["it", name]).unwrap();
            tab.write_number(row, 2, value).unwrap();
            tab.write_string(row, 3, unit).unwrap();
        }
        own(tab);
        tab.write_row(9, 1, ["t_stop", "", "s"]).unwrap();
        for (name, row) in [("J", 4), ("n_0", 5), ("T_0", 8), ("t_stop", 10)] {
            book.define_name(format!("run_down.{name}"), &format!("=Drive!$C${row}")).unwrap();
        }
        let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
        let found = compute(&book, None, &Project::new(&NoFs));
        assert!(found.is_ok(), "{text}: {:?}", found.err().map(|it| it.problems));
    }
}

#[test]
fn a_remark_or_a_note_that_takes_a_value_back_is_told() {
    let words = [
        "do not use", "WRONG, measure again", "old value", "wrong, use 0.5",
        "superseded by drawing 12", "not valid", "should be 3", "now 5.1", "obsolete", "typo",
        "this is not correct", "?", "n/a", "TBD", "to be measured", "value to be confirmed",
        "4.2 or 2.4?", "preliminary",
    ];
    let told = |change: &dyn Fn(&mut Worksheet), text: &str| {
        let (time, cautions) = run_down(change).unwrap();
        assert!((time - STOP).abs() < 1e-3);
        let wanted = format!("`T_0` is used, and the remark \"{text}\" stands beside it");
        assert_eq!(cautions, [wanted], "{text}");
    };
    for text in words {
        told(&with(5, 4, text), text);
        for column in [0, 1, 2, 3] {
            told(
                &|tab| {
                    tab.insert_note(5, column, &Note::new(text).add_author_prefix(false)).unwrap();
                },
                text,
            );
        }
    }
    for text in ["measured: 5.2 N·m", "T_0 = 3.9 N·m", "now 410 N·cm", "is 5.2 Nm"] {
        told(
            &|tab| {
                tab.insert_note(5, 2, &Note::new(text).add_author_prefix(false)).unwrap();
            },
            text,
        );
    }
    for text in [
        "friction in N·cm",
        "the value is meant in lbf·ft",
        "as measured by the maker of the machine (N·cm)",
    ] {
        let found = run_down(&|tab| {
            tab.insert_note(5, 2, &Note::new(text).add_author_prefix(false)).unwrap();
        });
        assert_eq!(found, Err(vec![(Name::TwoStatements, "C6".to_owned())]), "{text}");
    }
    for text in [
        "least of five",
        "data sheet, page 4",
        "T_0 = 4.2 N·m",
        "measured: 420 N·cm",
        "at 20 °C",
        "limit 10 N·m",
        "N·m",
        "friction in N·m",
        "the maker's sheet says it in N·m, 420 N·cm",
        "use with care",
        "now in the bill of material",
    ] {
        silent(
            &|tab| {
                tab.insert_note(5, 2, &Note::new(text).add_author_prefix(false)).unwrap();
            },
            text,
        );
        silent(&with(5, 4, text), text);
    }
    // a remark that is a unit and nothing else
    for text in ["in N·cm", "[kN·m]", "N·cm", "(mN·m)"] {
        let found = run_down(&with(5, 4, text));
        assert_eq!(found, Err(vec![(Name::TwoStatements, "E6".to_owned())]), "{text}");
    }
    for text in ["in N·m", "N·m", "r/min", "kg·m²", "A/B", "m", "in hall 3", "[3/2]"] {
        silent(&with(5, 4, text), text);
    }
    // a line through the words before it
    for column in [0, 1] {
        let struck = |tab: &mut Worksheet| {
            let line = Format::new().set_font_strikethrough();
            let text = ["least friction", "T_0"][usize::from(column)];
            tab.write_string_with_format(5, column, text, &line).unwrap();
        };
        let (_, cautions) = run_down(&struck).unwrap();
        assert!(cautions.len() == 1 && cautions[0].ends_with("is struck through"), "{cautions:?}");
    }
    // a note at a cell that is not read
    silent(
        &|tab| {
            tab.insert_note(7, 2, &Note::new("wrong")).unwrap();
        },
        "elsewhere",
    );
}

/// A series of stops in ms as a block, with what comes of it.
fn stops(change: &dyn Fn(&mut Worksheet)) -> Result<Vec<String>, Errors> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("Stops").unwrap();
    tab.write_row(0, 0, ["sheet measured-stops"]).unwrap();
    tab.write_row(1, 0, ["t_k", "", "ms"]).unwrap();
    for row in 1..=12 {
        tab.write_number(row, 1, 400.0 + f64::from((row * 7) % 12)).unwrap();
    }
    tab.write_row(13, 0, ["u", "", "ms"]).unwrap();
    tab.write_number(13, 1, 2.0).unwrap();
    tab.write_row(14, 0, ["t_stop", "", "ms"]).unwrap();
    change(tab);
    let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    compute(&book, None, &Project::new(&NoFs))
        .map(|filling| filling.cautions.into_iter().map(|it| it.headline).collect())
        .map_err(|unfilled| {
            let problems = unfilled.problems.iter().filter(|it| it.is_error());
            problems.map(|it| (it.name, it.remedy.clone())).collect()
        })
}

#[test]
fn a_stop_that_is_a_formula_without_a_result_is_not_dropped() {
    let of_formulas = [Name::EmptyCell, Name::TextForNumber, Name::StaleFigures];
    assert_eq!(stops(&|_| {}), Ok(Vec::new()));
    for formula in ["=480+0", "=AVERAGE(B2:B12)", "=A1", "=0.48*1000"] {
        for row in [1, 6, 11, 12] {
            let found = stops(&|tab| {
                tab.write_formula(row, 1, Formula::new(formula).set_result("")).unwrap();
            });
            let names: Vec<Name> = found.unwrap_err().into_iter().map(|it| it.0).collect();
            assert!(
                names.iter().any(|it| of_formulas.contains(it)),
                "{formula} in row {row}: {names:?}"
            );
        }
    }
    // a unit over the values that is not theirs
    for heading in ["[s]", "[min]", "[×1000]", "values in s", "×1000"] {
        let found = stops(&|tab| {
            tab.write(0, 1, heading).unwrap();
        });
        assert_eq!(found.unwrap_err()[0].0, Name::TwoStatements, "{heading}");
    }
    // the row behind a gap stands there: nobody is told to add it once more
    let found = stops(&|tab| {
        tab.write_blank(6, 1, &Format::new()).unwrap();
    })
    .unwrap_err();
    assert!(found.iter().all(|(_, remedy)| !remedy.contains("add a row")), "{found:?}");
}

#[test]
fn seconds_under_milliseconds_are_asked_in_a_value_and_in_a_series() {
    let in_seconds = |tab: &mut Worksheet| {
        for row in 1..=12 {
            tab.write_number(row, 1, 0.4 + f64::from((row * 7) % 12) / 1000.0).unwrap();
        }
    };
    let said = stops(&in_seconds).unwrap();
    assert!(
        said.iter().any(|it| it.starts_with("`t_k` is") && it.ends_with("is it in s?")),
        "{said:?}"
    );
    // one odd value is not the unit
    let said = stops(&|tab| {
        tab.write_number(3, 1, 0.4).unwrap();
    })
    .unwrap();
    assert!(said.iter().all(|it| !it.contains("is it in s?")), "{said:?}");
}
