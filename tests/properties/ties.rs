//! A limit, a round-up or a step is decided on exact decimals, in single runs and in columns.

use standstill::diagnostic::Name;
use standstill::number::{
    ColumnInput, Exact, InputValue, OutputColumn, RowProblem, Slot, run_columns,
};
use standstill::program::{
    Between, Binary, Direction, Fold, Op, Preferred, Ratio, Relation, Table, Unary,
};
use standstill::unit::{Dimension, Factor, Literal, Unit};

use super::sheet::{LINE, Sheet, given, literal, one};

fn column<'a>(values: &'a [f64], unit: &'a Unit) -> ColumnInput<'a> {
    ColumnInput::Column { values, unit }
}

fn numbers(output: &OutputColumn) -> &[f64] {
    match output {
        OutputColumn::Numbers(values) => values,
        other => panic!("{other:?}"),
    }
}

// worked by hand; in binary 0.1 + 0.2 is above 0.3
#[test]
fn a_tenth_and_two_are_at_most_three() {
    let mut sheet = Sheet::default();
    let (x, y) = (sheet.input(false), sheet.input(false));
    let sum = sheet.binary(Binary::Add, x, y);
    let limit = sheet.number("0.3");
    sheet.check(Relation::AtMost, sum, limit);
    sheet.check(Relation::Above, sum, limit);
    let run = sheet.run(&[given("0.1"), given("0.2")]);
    assert_eq!(run.checks[0].holds, Ok(true));
    assert_eq!(run.checks[1].holds, Ok(false));
    let one = Unit::one();
    let tenths = vec![0.1; 3000];
    let twos = vec![0.2; 3000];
    let columns = run_columns(&sheet.program, &[column(&tenths, &one), column(&twos, &one)], 3000);
    assert!(columns.checks[0].iter().all(|holds| *holds));
    assert!(columns.checks[1].iter().all(|holds| !holds));
    assert_eq!((columns.settled, columns.on_exact), (2 * 3000, 0));
}

// worked by hand: 1/3 · 3 is 1
#[test]
fn a_third_three_times_is_at_most_one() {
    let mut sheet = Sheet::default();
    let (x, three, one) = (sheet.input(false), sheet.number("3"), sheet.number("1"));
    let third = sheet.binary(Binary::Divide, x, three);
    let again = sheet.binary(Binary::Multiply, third, three);
    for relation in
        [Relation::AtMost, Relation::AtLeast, Relation::Equal, Relation::Below, Relation::Above]
    {
        sheet.check(relation, again, one);
    }
    let run = sheet.run(&[given("1")]);
    let holds: Vec<_> = run.checks.iter().map(|check| check.holds.clone().unwrap()).collect();
    assert_eq!(holds, [true, true, true, false, false]);
}

// worked by hand: 0.15 is three steps of 0.05; in binary 0.15 / 0.05 is 2.9999999999999996
#[test]
fn a_multiple_is_not_rounded_up() {
    let mut sheet = Sheet::default();
    let (x, step) = (sheet.input(false), sheet.number("0.05"));
    for direction in [Direction::Up, Direction::Down, Direction::Nearest] {
        let rounded = sheet.step(Op::Round(direction, x, step));
        sheet.output(rounded, false);
    }
    let run = sheet.run(&[given("0.15")]);
    for output in 0..3 {
        assert_eq!(one(&run, output).to_string(), "0.15");
    }
    let run = sheet.run(&[given("0.175")]);
    let found: Vec<_> = (0..3).map(|output| one(&run, output).to_string()).collect();
    assert_eq!(found, ["0.2", "0.15", "0.2"]);
    let run = sheet.run(&[given("-0.175")]);
    let found: Vec<_> = (0..3).map(|output| one(&run, output).to_string()).collect();
    assert_eq!(found, ["-0.15", "-0.2", "-0.2"]);

    let unit = Unit::one();
    let values: Vec<f64> = (0..1000).map(|k| f64::from(k) / 100.0).collect();
    let columns = run_columns(&sheet.program, &[column(&values, &unit)], values.len());
    for (row, value) in values.iter().enumerate() {
        let run = sheet.run(&[given(&value.to_string())]);
        for output in 0..3 {
            let (found, expected) =
                (numbers(&columns.outputs[output])[row], one(&run, output).to_f64());
            // a multiple of 0.05 is decided exactly; its f64 is within two units in the last place
            assert!((found - expected).abs() <= 4e-16 * expected, "{value}: {found}, {expected}");
        }
    }
}

// 180/π · (π/6) by definition 30; the factor π never terminates, yet the limit is kept
#[test]
fn thirty_degrees_keep_a_limit_of_thirty_degrees() {
    let factor = Factor::pi(1).over(Factor::decimal(180, 0)).unwrap();
    let degree = Unit {
        symbol: "°".into(),
        dimension: Dimension::ANGLE,
        factor,
        zero: 0.into(),
        point: false,
        typed: None,
    };
    let mut sheet = Sheet::default();
    let (x, limit) = (
        sheet.input(false),
        sheet.step(Op::Literal(Literal { unit: degree.clone(), ..literal("30") })),
    );
    let half = sheet.number("2");
    let doubled = sheet.binary(Binary::Multiply, x, half);
    let back = sheet.binary(Binary::Divide, doubled, half);
    sheet.check(Relation::AtMost, back, limit);
    let sine = sheet.step(Op::Unary(Unary::Sine, back));
    sheet.output(sine, false);
    let given = Some(InputValue::One(Literal { unit: degree.clone(), ..literal("30") }));
    let run = sheet.run(&[given]);
    assert_eq!(run.checks[0].holds, Ok(true));
    // sin 30° = 1/2
    assert!(one(&run, 0).stands_to(&Exact::from_f64(0.5).unwrap()).is_eq());
    assert_eq!(one(&run, 0).certain_digits(), 27);
    let back = Exact::from_literal(&Literal { unit: degree.clone(), ..literal("30") }).unwrap();
    assert_eq!(back.in_unit(&degree).unwrap().to_string(), "30");
    let values = vec![30.0; 50];
    let columns = run_columns(&sheet.program, &[column(&values, &degree)], 50);
    assert!(columns.checks[0].iter().all(|holds| *holds));
}

// the fault of the case that is not taken vanishes, that of the one taken does not
#[test]
fn a_case_that_is_not_taken_takes_its_fault_away() {
    let mut sheet = Sheet::default();
    let (x, zero) = (sheet.input(false), sheet.number("0"));
    let is_zero = sheet.step(Op::Compare(Relation::Equal, x, zero));
    let one_ = sheet.number("1");
    let inverse = sheet.binary(Binary::Divide, one_, x);
    let safe = sheet.step(Op::Select(is_zero, zero, inverse));
    sheet.output(safe, false);
    sheet.output(inverse, false);
    let run = sheet.run(&[given("0")]);
    assert_eq!(one(&run, 0).to_string(), "0");
    let fault = run.output(1).unwrap_err();
    assert_eq!((fault.name, fault.line), (Name::DividedByZero, LINE));
    assert_eq!(fault.words, "1 is divided by zero");
    let unit = Unit::one();
    let columns = run_columns(&sheet.program, &[column(&[4.0, 0.0], &unit)], 2);
    assert_eq!(numbers(&columns.outputs[0]), [0.25, 0.0]);
    assert!(numbers(&columns.outputs[1])[1].is_nan());
    let RowProblem::Fault(fault) = &columns.problems[&1] else { panic!() };
    assert_eq!(fault.name, Name::DividedByZero);
    assert_eq!(columns.problems.len(), 1);
}

#[test]
fn a_range_names_the_bound_and_the_value() {
    let mut sheet = Sheet::default();
    let x = sheet.input(false);
    sheet.guard(x, ("0.5", false), ("1", true));
    sheet.output(x, false);
    for (value, kept) in [("0.5", false), ("0.5000001", true), ("1", true), ("1.0001", false)] {
        let run = sheet.run(&[given(value)]);
        assert_eq!(run.guard_failures.is_empty(), kept, "{value}");
    }
    let unit = Unit::one();
    let columns = run_columns(&sheet.program, &[column(&[0.5, 0.7, 1.0, 1.2, f64::NAN], &unit)], 5);
    let rows: Vec<_> = columns.problems.keys().copied().collect();
    assert_eq!(rows, [0, 3, 4]);
    assert!(matches!(columns.problems[&3], RowProblem::Guard(_)));
    assert!(matches!(&columns.problems[&4], RowProblem::Fault(f) if f.name == Name::MissingInput));
}

// steps of a table: worked by hand
#[test]
fn a_row_of_a_table_belongs_where_the_table_says() {
    let table = |between| Table {
        name: "k".into(),
        between,
        rows: [("0.1", "1"), ("0.3", "2"), ("0.7", "6")]
            .map(|(x, y)| (literal(x), literal(y)))
            .to_vec(),
        lowest: Some(literal("0")),
        argument_unit: Unit::one(),
        value_unit: Unit::one(),
        place: None,
    };
    let mut sheet = Sheet::default();
    let (x, y) = (sheet.input(false), sheet.input(false));
    let sum = sheet.binary(Binary::Add, x, y);
    for between in [Between::Straight, Between::StepFrom, Between::StepUpTo] {
        let read = sheet.table(table(between), sum);
        sheet.output(read, false);
    }
    // argument 0.1 + 0.2 = 0.3 exactly at a row, 0.1, 0.5, 0.7, outside below and above
    let cases = [
        ("0.1", "0.2", ["2", "2", "2"]),
        ("0.05", "0.05", ["1", "1", "1"]),
        ("0.2", "0.3", ["4", "2", "6"]),
        ("0.3", "0.4", ["6", "6", "6"]),
        ("0.01", "0.04", ["-", "-", "1"]),
        ("0.3", "0.5", ["-", "-", "-"]),
        ("-0.1", "0.05", ["-", "-", "-"]),
    ];
    let unit = Unit::one();
    let columns: Vec<Vec<f64>> = vec![
        cases.iter().map(|case| case.0.parse().unwrap()).collect(),
        cases.iter().map(|case| case.1.parse().unwrap()).collect(),
    ];
    let inputs = [column(&columns[0], &unit), column(&columns[1], &unit)];
    let many = run_columns(&sheet.program, &inputs, cases.len());
    for (row, (x, y, expected)) in cases.iter().enumerate() {
        let run = sheet.run(&[given(x), given(y)]);
        for (output, expected) in expected.iter().enumerate() {
            let found = numbers(&many.outputs[output])[row];
            if *expected == "-" {
                let fault = run.output(output).unwrap_err();
                assert_eq!(fault.name, Name::OutsideTable);
                assert!(found.is_nan());
            } else {
                assert_eq!(one(&run, output).to_string(), *expected, "{x} + {y}");
                assert!((found - expected.parse::<f64>().unwrap()).abs() < 1e-12);
            }
        }
    }
    let words = &sheet.run(&[given("0.3"), given("0.5")]).output(0).unwrap_err().words.clone();
    assert_eq!(words, "table `k` is read at 0.8, it goes from 0.1 to 0.7");
}

// IEC 60063 and ISO 3; values worked by hand from the decades
#[test]
fn preferred_numbers_step_across_decades() {
    let cases = [
        (Preferred::E24, Direction::Down, "40.56", "39"),
        (Preferred::E24, Direction::Up, "40.56", "43"),
        (Preferred::E12, Direction::Up, "0.083", "0.1"),
        (Preferred::E12, Direction::Down, "0.0999", "0.082"),
        (Preferred::E96, Direction::Up, "976", "976"),
        (Preferred::E96, Direction::Up, "976.1", "1000"),
        (Preferred::E6, Direction::Down, "1e-7", "1e-7"),
        (Preferred::R40, Direction::Up, "1070", "1120"),
        (Preferred::R10, Direction::Down, "3.15", "3.15"),
        // nearest by ratio: √(1.0 · 1.6) = 1.265 (ISO 3, R5)
        (Preferred::R5, Direction::Nearest, "1.26", "1"),
        (Preferred::R5, Direction::Nearest, "1.27", "1.6"),
        (Preferred::R5, Direction::Nearest, "7.93", "6.3"),
        (Preferred::R5, Direction::Nearest, "7.94", "10"),
    ];
    let unit = Unit::one();
    for (series, direction, value, expected) in cases {
        let mut sheet = Sheet::default();
        let x = sheet.input(false);
        let next = sheet.step(Op::Preferred(direction, series, x));
        sheet.output(next, false);
        assert_eq!(one(&sheet.run(&[given(value)]), 0).to_string(), expected, "{value}");
        let values = [value.parse().unwrap(); 3];
        let columns = run_columns(&sheet.program, &[column(&values, &unit)], 3);
        let found = numbers(&columns.outputs[0])[2];
        let expected: f64 = expected.parse().unwrap();
        assert!((found / expected - 1.0).abs() < 1e-15, "{value}: {found}");
    }
}

// mean 3, deviation √2.5 worked by hand; recurrence T ← (T + P)/2 from 0
#[test]
fn series_are_folded_and_run_through() {
    let mut sheet = Sheet::default();
    let xs = sheet.input(true);
    for fold in [
        Fold::Sum,
        Fold::Product,
        Fold::Mean,
        Fold::SampleDeviation,
        Fold::Greatest,
        Fold::Least,
        Fold::Count,
        Fold::First,
        Fold::Last,
    ] {
        let folded = sheet.step(Op::Fold(fold, xs));
        sheet.output(folded, false);
    }
    let start = sheet.number("0");
    let block = sheet.block(2, |sheet, parameters| {
        let sum = sheet.binary(Binary::Add, parameters[0], parameters[1]);
        let two = sheet.number("2");
        sheet.binary(Binary::Divide, sum, two)
    });
    let running = sheet.step(Op::Running { block, start, over: vec![xs] });
    let output = sheet.output(running, true);
    let series = ["1", "2", "3", "4", "5"].map(literal).to_vec();
    let run = sheet.run(&[Some(InputValue::Many(series.clone()))]);
    let found: Vec<_> = [0, 1, 2, 4, 5, 6, 7, 8].map(|at| one(&run, at).to_string()).to_vec();
    assert_eq!(found, ["15", "120", "3", "5", "1", "5", "1", "5"]);
    let deviation = one(&run, 3);
    assert!(deviation.times(&deviation).unwrap().stands_to(&Exact::from_f64(2.5).unwrap()).is_eq());
    let Ok(Slot::Many(values)) = run.output(output) else { panic!() };
    let values: Vec<_> = values.iter().map(ToString::to_string).collect();
    assert_eq!(values, ["0.5", "1.25", "2.125", "3.0625", "4.03125"]);

    let unit = Unit::one();
    let elements: Vec<Vec<f64>> = (1..=5).map(|k| vec![f64::from(k); 4]).collect();
    let elements = elements.iter().map(Vec::as_slice).collect();
    let inputs = [ColumnInput::Series { elements, unit: &unit }];
    let columns = run_columns(&sheet.program, &inputs, 4);
    assert_eq!(numbers(&columns.outputs[0]), [15.0; 4]);
    assert!((numbers(&columns.outputs[3])[1] - 2.5_f64.sqrt()).abs() < 1e-12);
    let OutputColumn::Series(series_out) = &columns.outputs[output] else { panic!() };
    assert_eq!(series_out[4], [4.03125; 4]);
    let same = run_columns(&sheet.program, &[ColumnInput::Same(InputValue::Many(series))], 2);
    assert_eq!(numbers(&same.outputs[1]), [120.0; 2]);
    assert_eq!(same.on_exact, 0);
}

#[test]
fn two_series_of_different_lengths_are_a_fault() {
    let mut sheet = Sheet::default();
    let (xs, ys) = (sheet.input(true), sheet.input(true));
    let sum = sheet.binary(Binary::Add, xs, ys);
    let total = sheet.step(Op::Fold(Fold::Sum, sum));
    sheet.output(total, false);
    let many = |count: usize| Some(InputValue::Many(vec![literal("1"); count]));
    let run = sheet.run(&[many(3), many(4)]);
    let fault = run.output(0).unwrap_err();
    assert_eq!(fault.name, Name::LengthsDiffer);
    assert_eq!(fault.words, "a series of 3 values meets one of 4");
}

// √2 and the root of cos x = x (0.7390851332151606416553120877, mpmath 1.3.0)
#[test]
fn roots_hold_24_digits_and_say_what_is_uncertain() {
    let mut sheet = Sheet::default();
    let (from, to, square) = (sheet.input(false), sheet.input(false), sheet.input(false));
    let block = sheet.block(1, |sheet, x| {
        let power = sheet.step(Op::Power(x[0], Ratio { numerator: 2, denominator: 1 }));
        sheet.binary(Binary::Subtract, power, square)
    });
    let root = sheet.step(Op::Root { block, from, to });
    sheet.output(root, false);
    let block = sheet.block(1, |sheet, x| {
        let cosine = sheet.step(Op::Unary(Unary::Cosine, x[0]));
        sheet.binary(Binary::Subtract, cosine, x[0])
    });
    let fixed_point = sheet.step(Op::Root { block, from, to });
    sheet.output(fixed_point, false);
    let run = sheet.run(&[given("0"), given("2"), given("2")]);
    let expected = [
        Exact::whole(2).square_root().unwrap(),
        Exact::from_literal(&literal("0.7390851332151606416553120877")).unwrap(),
    ];
    for (output, expected) in expected.iter().enumerate() {
        let found = one(&run, output);
        assert!(found.stands_to(expected).is_eq(), "{found:?}");
        assert!(found.error_bound() <= 2.01e-24, "{found:?}");
    }
    // an exact root at a bound, and a root that is hit
    let run = sheet.run(&[given("0"), given("1.5"), given("2.25")]);
    assert_eq!(one(&run, 0).to_string(), "1.5");
    let run = sheet.run(&[given("2"), given("3"), given("2")]);
    let fault = run.output(0).unwrap_err();
    assert_eq!(fault.name, Name::NoRoot);
    assert_eq!(fault.words, "the function is 2 at 2 and 7 at 3");

    let unit = Unit::one();
    let squares: Vec<f64> = (1..2000).map(|k| f64::from(k) * 0.002).collect();
    let same = |text: &str| ColumnInput::Same(InputValue::One(literal(text)));
    let inputs = [same("0"), same("2"), column(&squares, &unit)];
    let columns = run_columns(&sheet.program, &inputs, squares.len());
    for (square, root) in squares.iter().zip(numbers(&columns.outputs[0])) {
        assert!((root / square.sqrt() - 1.0).abs() < 1e-9, "{square}: {root}");
    }
    assert!(columns.on_exact < 100, "{}", columns.on_exact);
}

// ∫ e^-x² from 0 to 2 = 0.8820813907624216799674810359 (mpmath 1.3.0: erf(2)·√π/2), ∫ |x − 0.3| from 0 to 1 = 0.29
#[test]
fn integrals_hold_their_tolerance() {
    let mut sheet = Sheet::default();
    let (from, to) = (sheet.input(false), sheet.input(false));
    let block = sheet.block(1, |sheet, x| {
        let square = sheet.binary(Binary::Multiply, x[0], x[0]);
        let negative = sheet.step(Op::Unary(Unary::Negate, square));
        sheet.step(Op::Unary(Unary::Exponential, negative))
    });
    let bell = sheet.step(Op::Integral { block, from, to });
    sheet.output(bell, false);
    let block = sheet.block(1, |sheet, x| {
        let corner = sheet.number("0.3");
        let distance = sheet.binary(Binary::Subtract, x[0], corner);
        sheet.step(Op::Unary(Unary::Absolute, distance))
    });
    let kinked = sheet.step(Op::Integral { block, from, to });
    sheet.output(kinked, false);
    let found = one(&sheet.run(&[given("0"), given("2")]), 0);
    let expected = Exact::from_literal(&literal("0.8820813907624216799674810359")).unwrap();
    assert!(found.minus(&expected).unwrap().to_f64().abs() < 1e-18, "{found:?}");
    assert!(found.stands_to(&expected).is_eq() && found.error_bound() < 2e-18, "{found:?}");
    let found = one(&sheet.run(&[given("0"), given("1")]), 1);
    let expected = Exact::from_f64(0.29).unwrap();
    assert!(found.stands_to(&expected).is_eq() && found.error_bound() < 1e-18, "{found:?}");
    // the other way round
    let found = one(&sheet.run(&[given("1"), given("0")]), 1);
    assert!(found.stands_to(&expected.negated()).is_eq());

    let unit = Unit::one();
    let ends: Vec<f64> = (1..300).map(|k| f64::from(k) * 0.01).collect();
    let inputs = [ColumnInput::Same(InputValue::One(literal("0"))), column(&ends, &unit)];
    let columns = run_columns(&sheet.program, &inputs, ends.len());
    for (row, end) in ends.iter().enumerate() {
        let exact = if *end < 0.3 {
            0.045 - (0.3 - end).powi(2) / 2.0
        } else {
            0.045 + (end - 0.3).powi(2) / 2.0
        };
        let found = numbers(&columns.outputs[1])[row];
        assert!((found / exact - 1.0).abs() < 1e-9, "{end}: {found} {exact}");
    }
    let found = numbers(&columns.outputs[0])[199];
    assert!((found - 0.882_081_390_762_421_7).abs() < 1e-12, "{found}");
    assert!(columns.on_exact < 30, "{}", columns.on_exact);
}

// a square root of 0.3 − 0.1 − 0.2, which in binary is below zero
#[test]
fn what_cancels_is_worked_out_exactly() {
    let mut sheet = Sheet::default();
    let (x, y, z) = (sheet.input(false), sheet.input(false), sheet.input(false));
    let rest = sheet.binary(Binary::Subtract, x, y);
    let rest = sheet.binary(Binary::Subtract, rest, z);
    let root = sheet.step(Op::Unary(Unary::SquareRoot, rest));
    sheet.output(root, false);
    let unit = Unit::one();
    let inputs =
        [column(&[0.3, 0.8], &unit), column(&[0.1, 0.1], &unit), column(&[0.2, 0.2], &unit)];
    let columns = run_columns(&sheet.program, &inputs, 2);
    assert_eq!(numbers(&columns.outputs[0])[0], 0.0);
    assert!((numbers(&columns.outputs[0])[1] - 0.5_f64.sqrt()).abs() < 1e-15);
    assert_eq!((columns.on_exact, columns.problems.len()), (0, 0));
}

// 35.8^35.8 is above 1e55: of its sine not one digit is left, and with that slack it may be 10
#[test]
fn what_has_lost_all_digits_is_decided_as_exact_decimals_decide_it() {
    let mut sheet = Sheet::default();
    let x = sheet.input(false);
    let power = sheet.binary(Binary::Raise, x, x);
    let sine = sheet.step(Op::Unary(Unary::Sine, power));
    let ten = sheet.number("10");
    sheet.check(Relation::Unequal, sine, ten);
    let exact = sheet.run(&[given("35.8")]).checks[0].holds.clone();
    let columns = run_columns(&sheet.program, &[column(&[35.8, 0.5], &Unit::one())], 2);
    assert_eq!(columns.checks[0], [exact == Ok(true), true]);
    assert_eq!(columns.on_exact, 1);
}
