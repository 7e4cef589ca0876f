//! A formula that takes another of several measured values than the sheet says that an input is: the mean for the least.
//!
//! Common practice of test benches, no source: of repeated runs the least torque and the longest time protect.

use std::fs;

use rust_xlsxwriter::{Formula, Workbook};
use standstill::diagnostic::{Diagnostic, Name};
use standstill::spreadsheet::Book;
use standstill::workbook::compute;

use super::range_command::{out, output_text, standstill};
use super::spoken::Machine;

const SHEET: &str = "\
sheet machine
title \"Machine\"
source \"invented\"
takes
  t_resp : time in ms from 0 ms like 60 ms       \"from the command to first torque, the longest\"
  T_b    : torque in N·m above 0 N·m like 15 N·m \"full brake torque, the least\"
works
  t_stop = t_resp + 1 kg·m² * 100 rad/s / T_b    \"until it stands\"
gives
  t_stop in s
";

/// Five runs in A1:A5, equal ones in B1:B5, and numbers in C.
const RUNS: [f64; 5] = [22.0, 24.0, 23.0, 26.0, 25.0];
const EQUAL: f64 = 23.0;

/// What is taken of the runs, with `#` for where they stand, and what it gives: least, greatest, between.
const LEAST: &[(&str, f64)] = &[
    ("MIN(#)", 22.0),
    ("SMALL(#,1)", 22.0),
    ("LARGE(#,5)", 22.0),
    ("-MAX(Runs!D1:D5)", 22.0),
    ("QUARTILE(#,0)", 22.0),
    ("SUBTOTAL(5,#)", 22.0),
    ("AGGREGATE(15,6,#,1)", 22.0),
    ("MIN(#)*0.9", 19.8),
    ("ABS(MAX(Runs!D1:D5))", 22.0),
    ("22", 22.0),
    ("Runs!A1", 22.0),
];
const GREATEST: &[(&str, f64)] = &[
    ("MAX(#)", 26.0),
    ("LARGE(#,1)", 26.0),
    ("SMALL(#,5)", 26.0),
    ("QUARTILE(#,4)", 26.0),
    ("SUBTOTAL(104,#)", 26.0),
    ("-MIN(Runs!D1:D5)", 26.0),
    ("ABS(MIN(Runs!D1:D5))", 26.0),
    ("IF(1>0,MAX(#),0)", 26.0),
    ("MAX(Runs!A1,Runs!A4)", 26.0),
    ("ROUND(MAX(#),0)", 26.0),
    ("Runs!C1", 26.0),
];
const BETWEEN: &[(&str, f64)] = &[
    ("AVERAGE(#)", 24.0),
    ("AVERAGEA(#)", 24.0),
    ("MEDIAN(#)", 24.0),
    ("TRIMMEAN(#,0.4)", 24.0),
    ("PERCENTILE(#,0.5)", 24.0),
    ("LARGE(#,2)", 25.0),
    ("SMALL(#,2)", 23.0),
    ("SUM(#)/COUNT(#)", 24.0),
    ("SUM(#)/5", 24.0),
    ("(Runs!A1+Runs!A4)/2", 24.0),
    ("AVERAGE(#)*1000/1000", 24.0),
    ("AVERAGEIF(#,\">0\")", 24.0),
    ("SUBTOTAL(1,#)", 24.0),
    ("ROUND(AVERAGE(#),1)", 24.0),
    ("Runs!C2", 24.0),
];
/// What stays silent for either: one value, equal ones, a mean with a margin, the last that a number is held to.
const NEITHER: &[(&str, f64)] = &[
    ("AVERAGE(Runs!B1:B5)", EQUAL),
    ("MAX(Runs!B1:B5)", EQUAL),
    ("AVERAGE(Runs!A3)", EQUAL),
    ("AVERAGE(#)*0.8", 19.2),
    ("AVERAGE(#)-3*STDEV(#)", 19.256_583_509_747_43),
    ("AVERAGE(#)-Runs!B1", 1.0),
    ("MAX(Runs!A1,20)", 22.0),
    ("MIN(Runs!A1,100)", 22.0),
    ("SUM(#)", 120.0),
    ("SUM(#)/2", 60.0),
];

fn book(input: &str, formula: &str, value: f64, line: bool) -> Vec<u8> {
    let formula = format!("={}", formula.replace('#', "Runs!A1:A5"));
    let formula = Formula::new(formula).set_result(value.to_string());
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("In").unwrap();
    tab.write_string(0, 0, "sheet machine").unwrap();
    let rows = [("t_resp", 75.0, "ms"), ("T_b", 22.0, "N·m")];
    for (at, (name, number, unit)) in rows.into_iter().enumerate() {
        let (row, column) = (1 + u32::try_from(at).unwrap(), 1 + u16::try_from(at).unwrap());
        if line {
            tab.write_string(2, column, format!("{name} / ({unit})")).unwrap();
            for row in 3..6 {
                tab.write_number(row, column, number).unwrap();
                tab.write_string(row, 0, format!("V{row}")).unwrap();
            }
            if name == input {
                tab.write_formula(3, column, formula.clone()).unwrap();
            }
            continue;
        }
        tab.write_string(row, 0, name).unwrap();
        tab.write_number(row, 1, number).unwrap();
        tab.write_string(row, 2, unit).unwrap();
        if name == input {
            tab.write_formula(row, 1, formula.clone()).unwrap();
        }
    }
    match line {
        true => drop(tab.write_row(2, 3, ["t_stop / s", "status"]).unwrap()),
        false => drop(tab.write_row(3, 0, ["t_stop", "", "s"]).unwrap()),
    }
    let runs = book.add_worksheet().set_name("Runs").unwrap();
    for (row, run) in (0..).zip(RUNS) {
        runs.write_number(row, 0, run).unwrap();
        runs.write_number(row, 1, EQUAL).unwrap();
        runs.write_number(row, 3, -run).unwrap();
    }
    runs.write_formula(0, 2, Formula::new("=MAX(A1:A5)").set_result("26")).unwrap();
    runs.write_formula(1, 2, Formula::new("=AVERAGE(A1:A5)").set_result("24")).unwrap();
    book.save_to_buffer().unwrap()
}

/// Whether a formula of an input of a block is told to take another end.
fn told(input: &str, formula: &str, value: f64) -> bool {
    told_of(SHEET, input, formula, value)
}

fn told_of(sheet: &'static str, input: &str, formula: &str, value: f64) -> bool {
    let book = Book::read("a.xlsx", &book(input, formula, value, false)).unwrap();
    let filling = compute(&book, None, &Machine(sheet));
    let said = filling.map_or_else(|unfilled| unfilled.problems, |filling| filling.cautions);
    assert!(!said.iter().any(Diagnostic::is_error), "{formula}: {said:?}");
    said.iter().any(|it| it.name == Name::TwoStatements)
}

#[test]
fn a_formula_that_takes_another_end_of_measured_values_is_told() {
    let mut wrong = Vec::new();
    for input in ["t_resp", "T_b"] {
        let (right, other) = if input == "T_b" { (LEAST, GREATEST) } else { (GREATEST, LEAST) };
        let several = |formula: &str| formula.contains('(');
        let other = other.iter().filter(|it| several(it.0) || it.0 == "Runs!C1");
        let all = right.iter().chain(NEITHER).map(|it| (it, false));
        let all = all.chain(other.chain(BETWEEN).map(|it| (it, true)));
        for ((formula, value), wanted) in all {
            if told(input, formula, *value) != wanted {
                wrong.push(format!("{input} ={formula}, {wanted}"));
            }
        }
    }
    // what its note says besides switches nothing off
    let mean = SHEET.replace("full brake torque, the least", "mean braking torque, the least");
    let slow =
        SHEET.replace("to first torque, the longest", "to the threshold, the longest: failed");
    let of_note: [(&'static str, &str, _, _); 2] = [
        (Box::leak(mean.into_boxed_str()), "T_b", LEAST, GREATEST),
        (Box::leak(slow.into_boxed_str()), "t_resp", GREATEST, LEAST),
    ];
    for (sheet, input, right, other) in of_note {
        let all = [(right, false), (BETWEEN, true), (other, true)];
        for (formula, value, wanted) in
            all.iter().filter_map(|(all, wanted)| all.first().map(|it| (it.0, it.1, *wanted)))
        {
            if told_of(sheet, input, formula, value) != wanted {
                wrong.push(format!("{input} ={formula}, {wanted}, by its note"));
            }
        }
    }
    // rounded to the wrong side, by more than people round
    for (input, formula, value, wanted) in [
        ("T_b", "ROUNDUP(Runs!A1/4,0)*4", 24.0, true),
        ("T_b", "ROUNDDOWN(Runs!A1/4,0)*4", 20.0, false),
        ("t_resp", "FLOOR(Runs!A1,5)", 20.0, true),
        ("t_resp", "CEILING(Runs!A1,5)", 25.0, false),
        ("T_b", "ROUNDUP(Runs!A1+0.01,1)", 22.1, false),
    ] {
        if told(input, formula, value) != wanted {
            wrong.push(format!("{input} ={formula}, {wanted}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Of several limits the least holds: known by the checks, since a higher one only ever helps them. Of several lower
/// limits the greatest does.
#[test]
fn a_formula_that_takes_the_greatest_of_several_limits_is_told() {
    const LIMITED: &str = "\
sheet machine
title \"Machine\"
source \"invented\"
takes
  t_resp : time in ms from 0 ms like 60 ms        \"least response that the drive allows\"
  T_b    : torque in N·m above 0 N·m like 30 N·m  \"that gear and brake bear, the highest\"
works
  T = 18 N·m + 1 N·m * 1 ms / (1 ms + 10 ms)      \"what the brake gives\"
  t_stop = 80 ms                                  \"until it stands\"
holds
  T <= T_b  \"gear and brake bear it\" else \"a stronger gear is needed\"
  t_stop >= t_resp  \"the drive is quick enough\" else \"a quicker drive is needed\"
gives
  t_stop in s, T in N·m
";
    let mut wrong = Vec::new();
    for (input, right, other) in [("T_b", LEAST, GREATEST), ("t_resp", GREATEST, LEAST)] {
        let several = |formula: &str| formula.contains('(');
        let other = other.iter().filter(|it| several(it.0));
        let all = right.iter().map(|it| (it, false)).chain(other.map(|it| (it, true)));
        for ((formula, value), wanted) in all {
            if told_of(LIMITED, input, formula, *value) != wanted {
                wrong.push(format!("{input} ={formula}, {wanted}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same in a product line, which reads the other tab as its rows pass by.
#[test]
fn a_product_line_tells_another_end_as_well_and_calculates_it() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("machine.sheet"), SHEET).unwrap();
    for (formula, value, wanted) in [
        ("AVERAGE(#)", 24.0, true),
        ("MAX(#)", 26.0, true),
        ("MIN(#)", 22.0, false),
        ("AVERAGE(Runs!A:A)*0.8", 19.2, false),
    ] {
        fs::write(folder.path().join("l.xlsx"), book("T_b", formula, value, true)).unwrap();
        let output = standstill(folder.path(), &["range", "l.xlsx"]);
        let said = format!("{}{}", out(&output), output_text(&output));
        assert_eq!(said.contains("caution two-statements"), wanted, "{formula}: {said}");
        assert!(!said.contains("not calculated"), "{formula}: {said}");
    }
}
