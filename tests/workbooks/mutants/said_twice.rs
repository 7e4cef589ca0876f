//! What a workbook says of a number beside the number: a formula whose result nothing calculated, a factor in the
//! brackets of a label or heading, headings that stand again, rows over the other rows. The figure meant, or an error.

use rust_xlsxwriter::{Formula, Workbook, Worksheet};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::{Book, Reading};
use standstill::workbook::compute;
use standstill::workbook::range::{ProductLine, Summary, TableRequest, VariantVerdict, open};

/// A block of `run-down` with `T_0` = 4.2 N·m, changed; its stop time in s, or the names of what is wrong.
fn stop_time(change: impl Fn(&mut Worksheet)) -> Result<f64, Vec<String>> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    tab.write_row(0, 0, ["sheet run-down"]).unwrap();
    for (row, (name, value, unit)) in
        (1..).zip([("J", 0.35, "kg·m²"), ("n_0", 1450.0, "r/min"), ("T_0", 4.2, "N·m")])
    {
        tab.write_string(row, 0, name).unwrap();
        tab.write_number(row, 1, value).unwrap();
        tab.write_string(row, 2, unit).unwrap();
    }
    tab.write_row(4, 0, ["t_stop", "", "s"]).unwrap();
    change(tab);
    let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    let filled = compute(&book, None, &Project::new(&NoFs)).map_err(|unfilled| {
        let placed = unfilled.problems.iter().all(|problem| problem.place.is_some());
        assert!(placed, "{:?}", unfilled.problems);
        unfilled.problems.iter().map(|problem| problem.name.word().to_owned()).collect::<Vec<_>>()
    })?;
    let results = &filled.calculated.first().unwrap().results;
    let time: uom::si::f64::Time = results.get("t_stop").unwrap();
    Ok(time.value)
}

fn refused(change: impl Fn(&mut Worksheet), name: &str, what: &str) {
    assert_eq!(stop_time(change), Err(vec![name.to_owned()]), "{what}");
}

/// t = J·ω / T, worked by hand: 0.35 kg·m² · 151.844 rad/s / 4.2 N·m
const STOP: f64 = 12.6536;

fn held(change: impl Fn(&mut Worksheet), what: &str) {
    let found = stop_time(change);
    assert!(found.as_ref().is_ok_and(|time| (time - STOP).abs() < 1e-3), "{what}: {found:?}");
}

#[test]
fn a_formula_that_nothing_calculated_is_no_zero() {
    // a library saves 0 for every formula that it is given no result for, and asks for a calculation on opening
    for formula in
        ["=29*50", "=F1*50", "=SUM(F1:F2)*50", "=F3", "=IF(F1>0,1450,0)", "=INDEX(F1:F1,1)*50"]
    {
        let change = |tab: &mut Worksheet, saved: &str| {
            tab.write_number(0, 5, 29.0).unwrap();
            tab.write_formula(2, 5, Formula::new("=29*50").set_result(saved)).unwrap();
            tab.write_formula(2, 1, Formula::new(formula).set_result(saved)).unwrap();
        };
        refused(|tab| change(tab, "0"), "stale-figures", formula);
        held(|tab| change(tab, "1450"), formula);
    }
    // saved before the cell that it takes was changed
    let old = |tab: &mut Worksheet| {
        tab.write_number(0, 5, 2.1).unwrap();
        tab.write_formula(3, 1, Formula::new("=F1").set_result("4.2")).unwrap();
    };
    refused(old, "stale-figures", "an old result");
    let sum = |tab: &mut Worksheet| {
        tab.write_formula(3, 1, Formula::new("=0.1+0.2+3.9").set_result("4.2")).unwrap();
    };
    held(sum, "rounding on the way");
}

/// What may stand in brackets: whether it is a remark, another unit, or nothing that is understood.
const ASIDES: &[(&str, Option<&str>)] = &[
    ("motor side", None),
    ("max. 5 N·m", None),
    ("at 20 °C", None),
    ("N·m", None),
    ("Nm", None),
    ("kN·m", Some("unit-mismatch")),
    ("10⁻³ N·m", Some("two-statements")),
    ("×10^-3 N m", Some("two-statements")),
    ("10-4 N·m", Some("two-statements")),
    ("1000 N·m", Some("two-statements")),
    ("N·m × 10⁻³", Some("two-statements")),
    ("N·m/1000", Some("two-statements")),
    ("× 1000", Some("two-statements")),
    ("thousands", Some("two-statements")),
    ("GD²", Some("two-statements")),
    ("WK²", Some("two-statements")),
    ("N·m each", Some("two-statements")),
    ("each of 60", Some("two-statements")),
    ("kkN", Some("two-statements")),
    ("both rollers", Some("two-statements")),
];

#[test]
fn what_stands_in_the_brackets_of_a_label_is_understood_or_asked() {
    for (aside, wanted) in ASIDES {
        for label in [format!("T_0 ({aside})"), format!("T_0 [{aside}]")] {
            let change = |tab: &mut Worksheet| {
                tab.write_string(3, 0, &label).unwrap();
            };
            match wanted {
                None => held(change, &label),
                Some(name) => refused(change, name, &label),
            }
        }
    }
    for label in ["T_0 in 10⁻³ N·m", "T_0 / 10⁻³ N·m"] {
        let change = |tab: &mut Worksheet| {
            tab.write_string(3, 0, label).unwrap();
        };
        refused(change, "two-statements", label);
    }
    for beside in ["mN·m", "×10⁻³", "all in mN·m"] {
        let change = |tab: &mut Worksheet| {
            tab.write_string(3, 3, beside).unwrap();
        };
        let found = stop_time(change);
        assert!(found.is_err(), "{beside}: {found:?}");
    }
}

#[test]
fn digits_of_a_format_are_no_digits_of_the_number() {
    let shown = |format: &'static str| {
        move |tab: &mut Worksheet| {
            let format = rust_xlsxwriter::Format::new().set_num_format(format);
            tab.write_number_with_format(2, 1, 1450.0, &format).unwrap();
        }
    };
    for format in ["0\"0\"", "\"1\"0", "0\\0", "0\".5\"", "0\"-\"000", "0\" r/s\"", "0-"] {
        refused(shown(format), "two-statements", format);
    }
    for format in ["0\" min-1\"", "0\\ \"min\"\\-1", "0\" 1/min\"", "0 \"r/min\"", "#,##0.0"] {
        held(shown(format), format);
    }
}

/// A table of two variants with rows between and below them: how many variants it has, or what is wrong.
fn variants(rows: &[&[&str]]) -> Result<(usize, usize), String> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    tab.write_row(0, 0, ["sheet run-down"]).unwrap();
    let head: &[&str] =
        &["type", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)", "t_stop / s", "status"];
    let one: &[&str] = &["a", "0.35", "1450", "4.2"];
    let all = [head, one].into_iter().chain(rows.iter().copied());
    for (row, cells) in (2..).zip(all) {
        for (column, text) in (0..).zip(cells) {
            match text.parse::<f64>() {
                Ok(number) => {
                    tab.write_number(row, column, number).unwrap();
                }
                Err(_) if text.starts_with('=') => {
                    tab.write_formula(row, column, Formula::new(*text).set_result("1")).unwrap();
                }
                Err(_) => {
                    tab.write_string(row, column, *text).unwrap();
                }
            }
        }
    }
    let bytes = book.save_to_buffer().unwrap();
    let (sheets, asked) = (Project::new(&NoFs), TableRequest::default());
    let file = open("Line.xlsx", &bytes, &Reading::default(), &asked, &sheets).unwrap();
    let line = ProductLine::find(file.outline(), &asked, &sheets)
        .map_err(|unfilled| unfilled.problems[0].name.word().to_owned())?;
    let mut summary = Summary::default();
    let look = |book: &_, outcome| line.summary(book, &outcome);
    line.go_through(&file, &|_| {}, &look, &mut |more| {
        summary.join(&line, more, 100);
    })
    .unwrap();
    Ok((summary.count(VariantVerdict::Holds), summary.count(VariantVerdict::Wrong)))
}

#[test]
fn headings_that_stand_again_say_the_same_or_are_an_error() {
    let head: &[&str] =
        &["type", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)", "t_stop / s", "status"];
    let more: &[&str] = &["b", "0.7", "1450", "4.2"];
    assert_eq!(variants(&[more]), Ok((2, 0)));
    assert_eq!(variants(&[head, more]), Ok((2, 0)));
    assert_eq!(variants(&[&[], head, more]), Ok((2, 0)));
    assert_eq!(variants(&[&["large rollers"], more]), Ok((2, 0)));
    for other in [
        &["type", "J / (kg·cm²)", "n_0 / (r/min)", "T_0 / (N·m)"][..],
        &["type", "T_0 / (N·m)", "n_0 / (r/min)", "J / (kg·m²)"],
        &["type", "J / (kg·m²)", "n_0 / (r/s)", "T_0 / (N·m)", "t_stop / s", "status"],
        &["type", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)", "t_stop / min", "status"],
        &["", "kg·cm²", "r/min", "N·m"],
        &["from here J in kg·cm²"],
    ] {
        for below in [&[other, more][..], &[&[], other, more]] {
            assert_eq!(variants(below), Err("several-tables".to_owned()), "{other:?}");
        }
    }
}

#[test]
fn a_row_over_the_other_rows_is_no_variant() {
    let more: &[&str] = &["b", "0.7", "1450", "4.2"];
    for formula in [
        "SUM(X4:X5)", "X4+X5", "SUBTOTAL(109,X4:X5)", "SUMPRODUCT(X4:X5)", "AGGREGATE(9,5,X4:X5)",
        "AVERAGE(X4:X5)", "MAX(X4:X5)", "SUM(X4:X5)/2", "(X4+X5)/2", "MEDIAN(X4:X5)",
    ] {
        let cells: Vec<String> = ["B", "C", "D"]
            .iter()
            .map(|column| format!("={}", formula.replace('X', column)))
            .collect();
        for label in ["", "line", "all three"] {
            let row = [label, &cells[0], &cells[1], &cells[2]];
            assert_eq!(variants(&[more, &row]), Ok((2, 0)), "{formula} {label}");
        }
    }
    // a variant that comes from the one above it
    let next: &[&str] = &["c", "=B5*1/B5", "=1*C5/C5", "=1*D5/D5"];
    assert_eq!(variants(&[more, next]), Ok((3, 0)));
}

#[test]
fn a_heading_above_a_block_is_no_unit_that_is_passed_over() {
    let headed = |heading: &str, row: u32, shown: bool| {
        let mut book = Workbook::new();
        let tab = book.add_worksheet();
        if shown {
            tab.write_string(row, 1, heading).unwrap();
        }
        tab.write_row(2, 0, ["sheet run-down"]).unwrap();
        for (row, (name, value, unit)) in
            (3..).zip([("J", 0.35, "kg·m²"), ("n_0", 1450.0, "r/min"), ("T_0", 4.2, "N·m")])
        {
            tab.write_string(row, 0, name).unwrap();
            tab.write_number(row, 1, value).unwrap();
            tab.write_string(row, 2, unit).unwrap();
        }
        tab.write_row(6, 0, ["t_stop", "", "s"]).unwrap();
        let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
        let outcome = compute(&book, None, &Project::new(&NoFs));
        outcome.map(|_| ()).map_err(|unfilled| {
            unfilled.problems.iter().map(|it| it.name.word().to_owned()).collect::<Vec<_>>()
        })
    };
    for row in 0..=2 {
        for heading in [
            "value in rad/s", "value [rad/s]", "rad/s", "×1000", "x 1000", "10⁻³",
            "values in thousands",
        ] {
            assert_eq!(
                headed(heading, row, true),
                Err(vec!["two-statements".to_owned()]),
                "{heading}"
            );
            assert_eq!(headed(heading, row, false), Ok(()));
        }
        for heading in
            ["value", "Press 3", "28.11.2026", "10.12.2026", "A", "drive 1000", "1000 mm table"]
        {
            assert_eq!(headed(heading, row, true), Ok(()), "{heading}");
        }
    }
}

#[test]
fn a_unit_cell_with_a_word_names_the_unit_alone_and_brackets_are_a_habit() {
    for (text, habit) in [("[r/min]", true), ("in r/min", false)] {
        let speed = standstill::unit::kind("speed of rotation").unwrap();
        let problem = speed.read_plate(text).unwrap_err();
        assert_eq!(problem.remedy, "write r/min");
        let wrapped = |tab: &mut Worksheet| {
            tab.write_string(2, 2, text).unwrap();
        };
        if habit { held(wrapped, text) } else { refused(wrapped, "unknown-unit", text) }
    }
}
