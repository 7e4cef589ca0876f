//! Slips of the hand that leave a workbook readable: a number far from the others of its column, a name that stands twice,
//! a number typed over a formula, a remark that takes a value back, a sum that counts a total as well, numbers below no heading.
//!
//! Common practice of offices, no source: the mistakes here are those that people make. All of them are told, none is
//! refused, since each may be meant.

use rust_xlsxwriter::{Format, Formula, Workbook, Worksheet};
use standstill::diagnostic::{Diagnostic, Name};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::Book;
use standstill::workbook::compute;
use standstill::workbook::range::{ProductLine, TableRequest, VariantVerdict};

fn words(found: &[Diagnostic]) -> Vec<String> {
    let asked = [Name::TwoStatements, Name::StaleFigures];
    let told = found.iter().filter(|it| asked.contains(&it.name)).map(|it| {
        let place = it.place.as_ref().unwrap().to_text();
        format!("{} {}", place.rsplit(['!', ' ']).next().unwrap(), it.headline)
    });
    told.collect()
}

/// What is told of a line of `run-down`.
fn line_of(book: &Book) -> Vec<String> {
    let line = ProductLine::find(book, &TableRequest::default(), &Project::new(&NoFs)).unwrap();
    let count = line.variants.len();
    // in two pieces, as a long line passes by
    let mut summary = line.summary(book, &line.compute(book, 0..2, 1, &|_| {}));
    let rest = line.compute(book, 2..count, 1, &|_| {});
    summary.join(&line, line.summary(book, &rest), 100);
    assert_eq!(summary.count(VariantVerdict::Wrong), 0, "{:?}", summary.problems);
    let mut found = summary.apart(&line, book);
    found.extend(summary.unread());
    found.extend(line.cautions.clone());
    words(&found)
}

/// Every unit of two kinds, as plates write it, as a remark alone and behind the row's own figure; and the unit of the
/// column, which says nothing against it.
#[test]
fn a_unit_of_a_plate_is_held_against_the_row_in_every_spelling() {
    for (kind, own, figure) in [("torque", "N·m", "37"), ("inertia", "kg·m²", "0.35")] {
        let kind = standstill::unit::kind(kind).unwrap();
        let own = kind.read_unit(own).unwrap();
        let mut typed: Vec<String> = kind.units.iter().map(|it| (*it).to_owned()).collect();
        for (from, to) in
            [("lbf", "lb"), ("ozf", "oz"), ("²", "2"), ("·", "-"), ("-", " "), ("-", "")]
        {
            let more: Vec<String> = typed.iter().map(|it| it.replace(from, to)).collect();
            typed.extend(more);
        }
        typed.sort();
        typed.dedup();
        let read = typed.iter().filter_map(|it| Some((it, kind.read_plate(it).ok()?)));
        let remarks = read.flat_map(|(unit, read)| {
            let remarks = [
                unit.clone(),
                format!("in {unit}"),
                format!("{figure} {unit}"),
                format!("plate {figure}{unit}"),
                format!("{figure} {unit} (plate)"),
            ];
            remarks.map(|it| (it, read.factor != own.factor))
        });
        let remarks: Vec<(String, bool)> = remarks.collect();
        assert!(remarks.iter().filter(|it| it.1).count() > 100);
        let rows = remarks.iter().map(|(it, _)| format!("A,0.35,1450,37,{it}\n"));
        let text = format!(
            "sheet run-down\n\nname,J / (kg·m²),n_0 / (r/min),T_0 / (N·m),remark\n{}",
            rows.collect::<String>()
        );
        let book = Book::read("line.csv", text.as_bytes()).unwrap();
        let line =
            ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs)).unwrap();
        let found = line.compute(&book, 0..remarks.len(), 1, &|_| {});
        assert_eq!(found.variants.len(), remarks.len());
        for ((remark, differs), variant) in remarks.iter().zip(&found.variants) {
            assert_eq!(variant.verdict == VariantVerdict::Wrong, *differs, "{remark}");
        }
    }
}

#[test]
fn a_number_far_from_those_of_its_column_is_asked() {
    let of = |rows: &str| {
        let text = format!("sheet run-down\n\nname,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n{rows}");
        line_of(&Book::read("line.csv", text.as_bytes()).unwrap())
    };
    assert_eq!(of("A,0.35,1450,4.2\nB,0.9,3000,3\nC,7,750,9\nD,0.35,1450,4.2\n"), [""; 0]);
    // grams for kilograms; turns a second for turns a minute
    assert_eq!(
        of("A,0.35,1450,4.2\nB,360,1450,4.2\nC,0.37,24,4.2\n"),
        [
            "B5 `J` of row 5 is 360, 973 times the next in its column, 0.37",
            "C6 `n_0` of row 6 is 24, a part of 1/60 of the next in its column, 1450",
        ]
    );
    // two cells that changed places
    assert_eq!(
        of("A,0.35,1450,4.2\nB,0.36,1450,4.3\nC,4.2,1450,0.36\nD,0.35,1450,4.2\nE,0.4,1450,4\n"),
        ["B6 `J` of row 6 is 4.2 and `T_0` 0.36: each lies among the numbers of the other column"]
    );
    // two values are two values, and a line may reach far
    assert_eq!(of("A,0.35,1450,4.2\nB,360,1450,4.2\n"), [""; 0]);
    assert_eq!(of("A,0.35,1450,4.2\nB,360,1450,4.2\nC,340,1450,4\nD,0.4,1450,4\n"), [""; 0]);
    assert_eq!(
        of("A,0.35,1450,4.2\nB,0.36,1450,4.2\nA,0.37,1450,4.2\n"),
        ["A6 rows 4 and 6 bear the same name, \"A\""]
    );
    assert_eq!(
        of("1,0.35,1450,4.2\n2,0.36,1450,4.2\n1,0.37,1450,4.2\n"),
        ["A6 rows 4 and 6 bear the same name, \"1\""]
    );
    // numbers of a remark may repeat
    let year = "sheet run-down\n\nyear,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n\
                2019,0.35,1450,4.2\n2020,0.36,1450,4.2\n2019,0.37,1450,4.2\n";
    assert_eq!(line_of(&Book::read("line.csv", year.as_bytes()).unwrap()), [""; 0]);
    // GD² in the place of J: with commas, semicolons or tabs between
    for (cell, factor, times) in [("B11", 4.0, " times the next"), ("B11", 0.25, " a part of 1/")] {
        for mark in [",", ";", "\t"] {
            let rows: String = (0..12)
                .map(|at| {
                    let j = 0.0213 + 0.0003 * f64::from(at);
                    let j = if at == 7 { j * factor } else { j };
                    format!("R{at},{j:.6},1450,{:.2}\n", 1.9 - 0.01 * f64::from(at))
                })
                .collect();
            let text =
                format!("sheet run-down\n\nname,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n{rows}");
            let book = Book::read("line.csv", text.replace(',', mark).as_bytes()).unwrap();
            let found = line_of(&book);
            let [one] = found.as_slice() else { panic!("{found:?}") };
            assert!(one.starts_with(cell) && one.contains(times), "{one}");
        }
    }
}

#[test]
fn a_slip_of_one_number_is_asked_among_sizes_that_rise_together() {
    // rated powers in kW: IEC 60072-1, from memory; the inertia rises with them, the friction not quite evenly
    let powers = [0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5, 11.0, 15.0, 18.5, 22.0];
    let rows = |mixed: bool| {
        let mut rows: Vec<[f64; 3]> = (0..)
            .zip(powers)
            .map(|(at, power): (usize, f64)| {
                let speed = [1450.0, 960.0, 1465.0][at % 3];
                [0.0012 * power * power.sqrt(), speed, 0.3 * power * [1.0, 1.1, 0.95][at % 3]]
            })
            .collect();
        if mixed {
            rows.sort_by_key(|row| (row[0] * 1e6) as u64 % 17);
        }
        rows
    };
    let of = |rows: &[[f64; 3]]| {
        let mut text = "sheet run-down\n\nname,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n".to_owned();
        for (at, [inertia, speed, friction]) in rows.iter().enumerate() {
            text.push_str(&format!("V{at},{inertia:.6},{speed},{friction:.4}\n"));
        }
        line_of(&Book::read("line.csv", text.as_bytes()).unwrap())
    };
    for mixed in [false, true] {
        assert_eq!(of(&rows(mixed)), [""; 0]);
        for slip in [10.0, 60.0, 1000.0, 9.806_65, std::f64::consts::TAU] {
            for (row, column, up) in [(3, 0, true), (5, 2, true), (8, 0, false), (7, 2, false)] {
                let mut rows = rows(mixed);
                rows[row][column] *= if up { slip } else { 1.0 / slip };
                let found = of(&rows);
                // in rows without an order, two columns say of each other that one of them is off
                let place = match mixed {
                    false => format!("{}{} ", ["B", "C", "D"][column], row + 4),
                    true => format!("{} ", row + 4),
                };
                let told = |it: &String| match mixed {
                    false => it.starts_with(&place),
                    true => it[1..].starts_with(&place),
                };
                assert!(found.len() == 1 && told(&found[0]), "{slip}: {found:?}");
            }
        }
        // a large one is large in all
        let mut rows = rows(mixed);
        rows.push([30.0, 1450.0, 300.0]);
        assert_eq!(of(&rows), [""; 0]);
    }
}

fn of_workbook(change: &dyn Fn(&mut Worksheet)) -> Vec<String> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    tab.write(0, 0, "sheet run-down").unwrap();
    let heads = ["name", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)", "t_stop / s", "remark"];
    tab.write_row(2, 0, heads).unwrap();
    for row in 3..8 {
        tab.write(row, 0, format!("V{row}")).unwrap();
        tab.write_row(row, 1, [0.35, 1450.0, 4.2]).unwrap();
        tab.write(row, 9, 0.35).unwrap();
    }
    change(tab);
    line_of(&Book::read("Line.xlsx", &book.save_to_buffer().unwrap()).unwrap())
}

#[test]
fn a_variant_that_its_owner_takes_back_is_told() {
    assert_eq!(of_workbook(&|_| {}), [""; 0]);
    let struck = Format::new().set_font_strikethrough();
    let found = of_workbook(&|tab| {
        tab.write_with_format(4, 0, "V4", &struck).unwrap();
    });
    assert_eq!(found, ["A5 row 5 is used, and its name \"V4\" is struck through"]);
    for (remark, told) in [
        ("wrong, use 0.5", true),
        ("Superseded by V9", true),
        ("now 0.5", true),
        ("not to be used", true),
        ("as built", false),
        ("wrongly labelled on the plate", false),
        ("use with brake", false),
        ("now in the hall", false),
    ] {
        let found = of_workbook(&|tab| {
            tab.write(6, 5, remark).unwrap();
        });
        let wanted =
            told.then(|| format!("F7 row 7 is used, and the remark \"{remark}\" stands beside it"));
        assert_eq!(found, wanted.into_iter().collect::<Vec<_>>(), "{remark}");
    }
}

#[test]
fn a_number_typed_over_one_of_many_formulas_is_told() {
    let formulas = |rows: &[u32]| {
        let rows = rows.to_vec();
        of_workbook(&move |tab| {
            for row in &rows {
                let formula = Formula::new(format!("=J{}", row + 1)).set_result("0.35");
                tab.write_formula(*row, 1, formula).unwrap();
            }
        })
    };
    assert_eq!(formulas(&[3, 4, 5, 6, 7]), [""; 0]);
    assert_eq!(formulas(&[]), [""; 0]);
    assert_eq!(formulas(&[3, 4]), [""; 0]);
    assert_eq!(
        formulas(&[3, 4, 6, 7]),
        ["B6 `J`: B6 holds no formula, and 4 other rows of its column have the same one"]
    );
}

/// What is told of a block of `run-down`.
fn of_block(change: &dyn Fn(&mut Worksheet)) -> Vec<String> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    tab.write_column(0, 0, ["sheet run-down", "J", "n_0", "T_0", "t_stop"]).unwrap();
    tab.write_column(1, 1, [0.35, 1450.0, 4.2]).unwrap();
    tab.write_column(1, 2, ["kg·m²", "r/min", "N·m", "s"]).unwrap();
    change(tab);
    let book = Book::read("a.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    let filling = compute(&book, None, &Project::new(&NoFs));
    words(&filling.unwrap_or_else(|it| panic!("{:?}", it.problems)).cautions)
}

#[test]
fn a_remark_that_takes_a_value_back_is_told_beside_a_row() {
    for (remark, told) in [("old value, now 0.5", true), ("from the data sheet", false)] {
        let found = of_block(&|tab| {
            tab.write(1, 3, remark).unwrap();
        });
        let wanted =
            told.then(|| format!("D2 `J` is used, and the remark \"{remark}\" stands beside it"));
        assert_eq!(found, wanted.into_iter().collect::<Vec<_>>(), "{remark}");
    }
}

#[test]
fn a_sum_that_adds_a_total_as_well_is_told() {
    let sum = |formula: &'static str, total: &'static str| {
        of_block(&|tab| {
            tab.write_column(0, 7, [0.1, 0.075]).unwrap();
            tab.write_formula(2, 7, Formula::new(total).set_result("0.175")).unwrap();
            tab.write_formula(1, 1, Formula::new(formula).set_result("0.35")).unwrap();
        })
    };
    let told = [
        "H3 `J`: the formula of B2 adds H3, which is itself a sum over numbers that it adds: they count twice",
    ];
    assert_eq!(sum("=SUM(H1:H3)", "=SUM(H1:H2)"), told);
    assert_eq!(sum("=SUM(H1:H3)", "=H1+0.075"), [""; 0]);
    assert_eq!(sum("=SUM(H1:H2)+H3", "=SUM(H1:H2)"), [""; 0]);
}

#[test]
fn a_typed_total_among_the_numbers_of_a_sum_is_told() {
    // numbers below one another with their labels, the formula over them
    let sum = |labels: &[&str], numbers: &[f64], formula: &str| {
        of_block(&|tab| {
            tab.write_column(0, 6, labels.iter().copied()).unwrap();
            tab.write_column(0, 7, numbers.iter().copied()).unwrap();
            tab.write_formula(1, 1, Formula::new(formula).set_result("0.35")).unwrap();
        })
    };
    let told = |cell: &str| {
        vec![format!(
            "{cell} `J`: the formula of B2 adds {cell}, which stands there as the total of others that it adds: they count twice"
        )]
    };
    for word in [
        "total", "Total:", "SUM", "subtotal", "Sum of the gear", "totals", "Total (motor)",
        "Average", "mean", "grand total", "Σ",
    ] {
        let found = sum(&["motor", "gear", word], &[0.1, 0.075, 0.175], "=SUM(H1:H3)");
        assert_eq!(found, told("H3"), "{word}");
        let found = sum(&["motor", word, "gear"], &[0.1, 0.1, 0.15], "=SUM(H1:H3)");
        assert_eq!(found, told("H2"), "{word}");
    }
    // without a word: the last is the sum of all others, of which there are three and more
    let bare = ["", "", "", "", ""];
    assert_eq!(sum(&bare, &[0.1, 0.05, 0.025, 0.175], "=SUM(H1:H4)"), told("H4"));
    assert_eq!(sum(&bare, &[0.1, 0.05, 0.025, 0.175], "=SUM(H1:H3,H4)"), told("H4"));
    assert_eq!(sum(&bare, &[0.1, 0.05, 0.025, 0.175], "=SUM(H1,H2,H3,H4)"), told("H4"));
    let silent: [(&[&str], &[f64], &str); 6] = [
        (&["motor", "gear", "total"], &[0.2, 0.15, 0.35], "=SUM(H1:H2)"),
        (&["motor", "gear", "drum"], &[0.1, 0.075, 0.175], "=SUM(H1:H3)"),
        (&["motor total", "gear total", "drum"], &[0.1, 0.075, 0.175], "=SUM(H1:H3)"),
        (&["total 1", "total 2"], &[0.2, 0.15], "=SUM(H1:H2)"),
        (&bare, &[0.2, 0.05, 0.05, 0.05], "=SUM(H1:H4)"),
        (&["motor", "gear", "total"], &[0.2, 0.15, 0.35], "=H3"),
    ];
    for (labels, numbers, formula) in silent {
        let found = sum(labels, numbers, formula);
        let twice = found.iter().any(|it| it.contains("count twice"));
        assert!(!twice, "{formula} over {labels:?}: {found:?}");
    }
    // a total in another column of what is added
    let found = of_block(&|tab| {
        tab.write_column(0, 7, [0.1, 0.075]).unwrap();
        tab.write_formula(2, 8, Formula::new("=SUM(H1:H2)").set_result("0.175")).unwrap();
        tab.write_formula(1, 1, Formula::new("=SUM(H1:H2,I3)").set_result("0.35")).unwrap();
    });
    let words = "I3 `J`: the formula of B2 adds I3, which is itself a sum over numbers that it adds: they count twice";
    assert_eq!(found, [words]);
}

/// What is told of columns without a heading.
fn unheaded(change: &dyn Fn(&mut Worksheet)) -> Vec<String> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    tab.write(0, 0, "sheet run-down").unwrap();
    tab.write_row(2, 1, ["J / (kg·m²)", "n_0 / (r/min)", "", "T_0 / (N·m)", "t_stop / s"]).unwrap();
    for row in 3..7 {
        tab.write(row, 0, format!("V{row}")).unwrap();
        tab.write_row(row, 1, [0.35, 1450.0]).unwrap();
        tab.write(row, 4, 4.2).unwrap();
    }
    change(tab);
    let book = Book::read("a.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    let line = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs)).unwrap();
    line.cautions.iter().map(|it| it.headline.clone()).collect()
}

#[test]
fn numbers_in_a_column_without_a_heading_are_told() {
    assert_eq!(unheaded(&|_| {}), [""; 0]);
    for (cells, first, more) in [
        (vec![(3, 3)], "D4", ""),
        (vec![(6, 3)], "D7", ""),
        (vec![(3, 3), (4, 3)], "D4", " and 1 more below it"),
        (vec![(4, 3), (5, 3), (6, 3)], "D5", " and 2 more below it"),
        (vec![(5, 3)], "D6", ""),
    ] {
        for number in [1500.0, 0.0] {
            let found = unheaded(&|tab| {
                for (row, column) in &cells {
                    tab.write(*row, *column, number).unwrap();
                }
            });
            let words =
                format!("the number in {first}{more} is not used: its column has no heading");
            assert_eq!(found, [words], "{cells:?}");
        }
    }
    // words, numbers before the first heading, beyond the next column, in rows of no variant, or below a remark of the owner's
    let silent: [&dyn Fn(&mut Worksheet); 6] = [
        &|tab| {
            tab.write(4, 3, "checked").unwrap();
        },
        &|tab| {
            tab.write(4, 0, 12.0).unwrap();
        },
        &|tab| {
            tab.write(4, 9, 12.0).unwrap();
        },
        &|tab| {
            tab.write(9, 3, 12.0).unwrap();
        },
        &|tab| {
            tab.write(1, 3, 12.0).unwrap();
        },
        &|tab| {
            tab.write(2, 3, "price").unwrap().write(4, 3, 12.0).unwrap();
        },
    ];
    for (at, change) in silent.iter().enumerate() {
        assert_eq!(unheaded(*change), [""; 0], "{at}");
    }
}

#[test]
fn a_row_that_is_named_as_a_limit_is_no_variant_in_silence() {
    let of = |name: &str| {
        let text = format!(
            "sheet run-down\n\nname,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\nA,0.35,1450,4.2\n{name},0.4,1450,4\nB,0.36,1400,4.2\n"
        );
        let book = Book::read("line.csv", text.as_bytes()).unwrap();
        match ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs)) {
            Ok(line) => Ok(line.variants.len()),
            Err(unfilled) => Err(unfilled.problems.iter().map(|it| it.name).collect::<Vec<_>>()),
        }
    };
    for name in [
        "limit", "Limits:", "upper limit", "Lower limit", "max", "min", "total", "mean", "lowest",
        "highest", "allowed", "target", "tolerance", "units", "permissible", "median",
    ] {
        assert_eq!(of(name), Err(vec![Name::UnknownRow]), "{name}");
    }
    for name in [
        "limit switch", "max 3", "variant limit", "target drum", "A (highest)", "unit 4", "Maxi",
        "worst case",
    ] {
        assert_eq!(of(name), Ok(3), "{name}");
    }
}

/// A frequency in a column of speeds: its factor is none of a prefix, and the others may be of several motors.
#[test]
fn a_frequency_among_speeds_is_told_in_its_row() {
    let told = |speeds: &[f64]| {
        let mut text = "sheet run-down\n\nid,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n".to_owned();
        for (at, speed) in speeds.iter().enumerate() {
            text += &format!("V{at},{},{speed},4\n", 2.0 + at as f64 / 10.0);
        }
        let found = line_of(&Book::read("line.csv", text.as_bytes()).unwrap());
        found.iter().filter(|it| it.contains("the next in its column")).count()
    };
    let alike = [1460.0; 8];
    let several = [2920.0, 1460.0, 1460.0, 965.0, 720.0, 1460.0, 2920.0, 965.0];
    for line in [alike, several] {
        assert_eq!(told(&line), 0);
        for hertz in [50.0, 60.0] {
            for at in 0..line.len() {
                let mut line = line;
                line[at] = hertz;
                let next = line.iter().filter(|it| **it > hertz).fold(f64::MAX, |a, b| a.min(*b));
                // of eight poles at 60 Hz the next is not far enough, but where the factor is a slip's
                assert!(next / hertz < 14.0 || told(&line) == 1, "{line:?}");
            }
        }
    }
}
