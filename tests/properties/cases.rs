//! Cases that are not taken: what stands in them, a fault, a value that never exists or a long calculation, neither
//! matters nor is calculated. Random sheets on every number system.

use proptest::prelude::*;
use standstill::Sheet;
use standstill::calculation::WorstCase;
use standstill::diagnostic::Name;
use standstill::number::{
    Bound, Bounds, ColumnInput, Columns, Decimals, Exact, OutputColumn, Slot, evaluate,
    inputs_of_row, run_columns, run_exact,
};
use standstill::program::Op;
use standstill::unit::Unit;

/// One line of a random sheet; earlier values are picked by number.
#[derive(Clone, Debug)]
enum Line {
    Plain(usize, [usize; 2]),
    Faulty(usize, usize),
    Long(usize, [usize; 2]),
    Case { conditions: Vec<(usize, [usize; 4])>, values: Vec<usize>, never: bool },
}

fn line() -> impl Strategy<Value = Line> {
    let pick = || 0_usize..1000;
    let condition = (0_usize..6, prop::array::uniform4(pick()));
    prop_oneof![
        3 => (0_usize..4, prop::array::uniform2(pick())).prop_map(|(f, of)| Line::Plain(f, of)),
        2 => (0_usize..4, pick()).prop_map(|(form, of)| Line::Faulty(form, of)),
        2 => (0_usize..3, prop::array::uniform2(pick())).prop_map(|(f, of)| Line::Long(f, of)),
        5 => (
            prop::collection::vec(condition, 1..4),
            prop::collection::vec(pick(), 4),
            prop::bool::weighted(0.3)
        )
            .prop_map(|(conditions, values, never)| Line::Case { conditions, values, never }),
    ]
}

/// The sheet of some lines; none where a condition is decided before any value is known, or decides nothing, which no sheet may
/// have.
fn sheet(lines: &[Line]) -> Option<Sheet> {
    let mut names: Vec<String> = ["a", "b", "c"].map(str::to_owned).to_vec();
    let mut works = String::new();
    for (at, line) in lines.iter().enumerate() {
        let of = |pick: &usize| names[pick % names.len()].clone();
        let formula = match line {
            Line::Plain(form, [x, y]) => {
                // a term does not stand twice in a sum
                let next = of(&(y + 1));
                let (x, y) = (of(x), of(y));
                let y = if x == y { next } else { y };
                [
                    format!("{x} + {y}"),
                    format!("{x} - {y}"),
                    format!("{x} * {y} / 8"),
                    format!("min({x}, {y})"),
                ][*form]
                    .clone()
            }
            Line::Faulty(form, x) => {
                let x = of(x);
                [
                    format!("1 / ((min(1, 2) - 1) * {x})"),
                    format!("sqrt(-1 - abs({x}))"),
                    format!("never \"{x} does not stand\""),
                    format!("root of 1 + abs(x * {x}) for x from 0 to 1"),
                ][*form]
                    .clone()
            }
            Line::Long(form, [x, y]) => {
                let (x, y) = (of(x), of(y));
                [
                    format!("integral of 1 / (1 + abs({x}) + x) for x from 0 to (1 + abs({y}))"),
                    format!("integral of max(x, {x}) for x from 0 to (2 + abs({y}))"),
                    format!("root of x - 1 / (2 + abs({x})) for x from 0 to 2"),
                ][*form]
                    .clone()
            }
            Line::Case { conditions, values, never } => {
                let mut cases = String::new();
                for ((form, [x, y, z, w]), value) in conditions.iter().zip(values) {
                    let (x, y, z, w) = (of(x), of(y), of(z), of(w));
                    let condition = [
                        format!("{x} < {y}"),
                        format!("{x} >= {y}"),
                        format!("{x} = {y}"),
                        format!("{x} < {y} and {z} > {w}"),
                        format!("{x} < {y} or {z} > {w}"),
                        format!("not {x} <= {y}"),
                    ][*form]
                        .clone();
                    let gap = if cases.is_empty() { "" } else { "\n       " };
                    cases.push_str(&format!("{gap}when {condition} : {}", of(value)));
                }
                let last = match (never, values.last()) {
                    (false, Some(value)) => of(value),
                    _ => "never \"it does not stand\"".to_owned(),
                };
                format!("{cases}\n       otherwise : {last}")
            }
        };
        let formula = match line {
            Line::Faulty(2, _) => format!("when a < 1000 : {formula}\n       otherwise : a"),
            _ => formula,
        };
        works.push_str(&format!("  v{at} = {formula}\n"));
        names.push(format!("v{at}"));
    }
    let results = names.iter().rev().take(2).cloned().collect::<Vec<_>>().join(", ");
    let text = format!(
        "sheet cases\ntitle \"Cases\"\nsource \"derivation\"\ntakes\n  a : ratio like 1 \"a\"\n  b : ratio like 2 \"b\"\n  \
         c : ratio like 3 \"c\"\nworks\n{works}gives\n  {results}\n"
    );
    match Sheet::parse("cases.sheet", &text) {
        Ok(sheet) => Some(sheet),
        Err(problems) => {
            let decided = [Name::UnreachedCase, Name::ChangesNothing];
            let other = problems.iter().find(|it| it.is_error() && !decided.contains(&it.name));
            assert!(other.is_none(), "{}\n{text}", problems[0]);
            None
        }
    }
}

fn column() -> impl Strategy<Value = Vec<f64>> {
    let number = (-40_i32..40, 0_i32..2)
        .prop_map(|(digits, places)| f64::from(digits) / 10_f64.powi(places));
    prop::collection::vec(number, 9)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    /// With everything calculated, and with only what is asked for, the results and their faults are the same; and
    /// columns and bounds say so too.
    #[test]
    fn what_is_not_asked_for_makes_no_difference(
        lines in prop::collection::vec(line(), 2..14),
        columns in prop::array::uniform3(column()),
    ) {
        let sheet = sheet(&lines);
        prop_assume!(sheet.is_some());
        let sheet = sheet.unwrap();
        let program = sheet.program();
        let unit = Unit::one();
        let inputs: Vec<_> =
            columns.iter().map(|values| ColumnInput::Column { values, unit: &unit }).collect();
        let many = run_columns(program, &inputs, 9);
        for row in 0..9 {
            let asked = run_exact(program, &inputs_of_row(&inputs, row).unwrap());
            let numbers = columns.iter().map(|column| Exact::from_f64(column[row]).unwrap());
            let numbers: Vec<Exact> = numbers.collect();
            let given: Vec<_> = numbers.iter().map(|x| Slot::One(Ok(*x))).collect();
            let all = evaluate(&Decimals, program, &given);
            let given: Vec<_> = numbers.iter().map(|x| Slot::One(Bound::of(*x))).collect();
            let bounds = evaluate(&Bounds::new(0), program, &given);
            for (at, output) in program.outputs.iter().enumerate() {
                let register = output.register.0 as usize;
                let Slot::One(expected) = &all[register] else { panic!("a number") };
                let Slot::One(bound) = &bounds[register] else { panic!("a bound") };
                let OutputColumn::Numbers(found) = &many.outputs[at] else { panic!("numbers") };
                match (expected, asked.output(at)) {
                    (Ok(expected), Ok(Slot::One(value))) => {
                        prop_assert_eq!(expected, value, "row {}", row);
                        let expected = expected.to_f64();
                        if !many.problems.contains_key(&row) {
                            prop_assert!(
                                (found[row] - expected).abs() <= 1e-9 * expected.abs().max(1e-9),
                                "row {row}: {} in columns, {expected} exactly", found[row]
                            );
                        }
                        let range = bound.range.expect("a range");
                        let beside = 1e-9 * expected.abs();
                        prop_assert!(
                            range.low - beside <= expected && expected <= range.high + beside
                        );
                    }
                    (Err(expected), Err(fault)) => {
                        prop_assert_eq!(&**expected, fault);
                        prop_assert!(found[row].is_nan() && many.problems.contains_key(&row));
                        prop_assert!(bound.may.is_some());
                    }
                    (expected, asked) => prop_assert!(false, "{expected:?}, {asked:?}"),
                }
            }
        }
    }

    /// Every value within a tolerance lies within its worst case, whatever stands in the cases.
    #[test]
    fn a_worst_case_covers_what_is_calculated(
        lines in prop::collection::vec(line(), 2..9),
        numbers in prop::array::uniform3(-40_i32..40),
    ) {
        let sheet = sheet(&lines);
        prop_assume!(sheet.is_some());
        let sheet = sheet.unwrap();
        let mut inputs = sheet.inputs();
        for (name, number) in ["a", "b", "c"].into_iter().zip(numbers) {
            inputs.write(name, &format!("{number} ± 0.25")).unwrap();
        }
        let Ok(worst) = WorstCase::compute(sheet.program(), &inputs) else { return Ok(()) };
        for part in 0..9_i32 {
            for (name, number) in ["a", "b", "c"].into_iter().zip(numbers) {
                let share = f64::from(part * (number.rem_euclid(5) + 1) % 9) / 8.0;
                let value = f64::from(number) - 0.25 + 0.5 * share;
                inputs.write(name, &format!("{value}")).unwrap();
            }
            // what has no value at a corner of the box has no worst case either
            let results = sheet.run(&inputs);
            prop_assert!(results.is_ok(), "{results:?}");
            let results = results.unwrap();
            for range in worst.ranges() {
                let output = &sheet.program().outputs[range.output];
                let Some(Slot::One(value)) = results.slot(output) else { continue };
                let value = value.to_f64();
                let low = range.low.limit.unwrap_or_else(|| range.low.reached.to_f64());
                let high = range.high.limit.unwrap_or_else(|| range.high.reached.to_f64());
                let beside = 1e-9 * value.abs();
                prop_assert!(low - beside <= value && value <= high + beside);
            }
        }
    }
}

/// A long calculation in a case that is not taken leaves no trace of itself, on exact decimals nor in columns.
#[test]
fn a_case_that_is_not_taken_is_not_calculated() {
    let text = "sheet idle\ntitle \"Idle\"\nsource \"derivation\"\ntakes\n  a : ratio like 1 \"a\"\n  b : ratio like 2 \"b\"\nworks\n  \
        long = integral of 1 / (1 + x^2) for x from 0 to b\n  \
        after = long * (1 + long)\n  quick = 2 * b\n  other = root of x^3 - b for x from 0 to (2 * b + 1)\n  \
        y = when a < 0 : after\n      when a = 7 and other > 1 : other\n      otherwise : quick\ngives\n  y\n";
    let sheet = Sheet::parse("idle.sheet", text).unwrap();
    let program = sheet.program();
    let register = |name: &str| {
        program.lines.iter().find(|line| line.name == name).map(|line| line.register).unwrap()
    };
    let unit = Unit::one();
    let run = |a: f64| {
        let (first, second) = ([a], [2.0]);
        let given = [&first, &second].map(|values| ColumnInput::Column { values, unit: &unit });
        run_exact(program, &inputs_of_row(&given, 0).unwrap())
    };
    for (a, calculated) in [(1.0, [false, false]), (-1.0, [true, false]), (7.0, [false, true])] {
        let run = run(a);
        for (name, calculated) in ["long", "other"].into_iter().zip(calculated) {
            let slot = run.register(register(name)).unwrap();
            assert_eq!(matches!(slot, Slot::One(_)), calculated, "{name} with a = {a}");
        }
        assert!(matches!(run.register(register("after")).unwrap(), Slot::One(_)) == calculated[0]);
        assert!(matches!(run.register(register("quick")).unwrap(), Slot::One(_)));
    }
    // in columns a bound that no row could keep is never asked for: nothing is settled on exact decimals
    let text = "sheet idle\ntitle \"Idle\"\nsource \"derivation\"\ntakes\n  a : ratio like 1 \"a\"\n  b : ratio like 2 \"b\"\nworks\n  \
        lost = (b + 1000000000000) - 2 * b / 2\n  kept = 1 / (lost - 999999999999)\n  \
        y = when a < 0 : kept\n      otherwise : 2 * b\ngives\n  y\n";
    let sheet = Sheet::parse("idle.sheet", text).unwrap();
    assert!(sheet.program().steps.iter().any(|step| matches!(step.op, Op::Select(..))));
    let rows = 3000;
    let some: Vec<f64> = (0..rows).map(|row| if row % 1000 == 17 { -1.0 } else { 1.0 }).collect();
    let b: Vec<f64> = (0..rows).map(|row| 1.0 / f64::from(row + 3)).collect();
    for (a, most) in [(vec![1.0; rows as usize], 0), (some, 12)] {
        let given = [&a, &b].map(|values| ColumnInput::Column { values, unit: &unit });
        let run = Columns::new(sheet.program(), &given).run(sheet.program(), &given, a.len(), 1);
        assert!(run.settled + run.on_exact <= most, "{} and {}", run.settled, run.on_exact);
        let OutputColumn::Numbers(found) = &run.outputs[0] else { panic!("numbers") };
        for (row, a) in a.iter().enumerate() {
            let expected = if *a < 0.0 { 1.0 } else { 2.0 * b[row] };
            assert!((found[row] - expected).abs() < 1e-9, "row {row}: {}", found[row]);
        }
    }
}

/// A long step that says what an earlier one says takes its values row by row, also where only some rows ask for it:
/// 1/(2 + c) by hand, where b is below 0.
#[test]
fn a_long_step_written_twice_is_right_in_the_rows_that_ask() {
    let long = "root of x - 1 / (2 + abs(c)) for x from 0 to 2";
    let text = format!(
        "sheet s\ntitle \"s\"\nsource \"by hand\"\ntakes\n  b : ratio\n  c : ratio\nworks\n  v = {long}\n  w = {long}\n  \
y = when b >= 0 : 7\n      otherwise : w\n  z = when b >= 0 : 7\n      when w < v : 8\n      otherwise : v + w\ngives\n  y, z\n"
    );
    let sheet = Sheet::parse("s.sheet", &text).unwrap();
    let unit = Unit::one();
    let columns = [[0.0, -1.0, 0.0, 2.0, -3.0, -0.5], [5.0, 4.0, 3.0, 2.0, 1.0, 0.0]];
    let inputs: Vec<_> =
        columns.iter().map(|values| ColumnInput::Column { values, unit: &unit }).collect();
    let many = run_columns(sheet.program(), &inputs, 6);
    for (output, times) in many.outputs.iter().zip([1.0, 2.0]) {
        let OutputColumn::Numbers(found) = output else { panic!("numbers") };
        for (row, found) in found.iter().enumerate() {
            let expected =
                if columns[0][row] < 0.0 { times / (2.0 + columns[1][row]) } else { 7.0 };
            // the law of columns: within 1e-9
            assert!((found / expected - 1.0).abs() < 1e-9, "row {row}: {found}, not {expected}");
        }
    }
}
