//! What lies between the points at which a function is tried: notches of any width, corners of every kind.
//!
//! Every expected value is in closed form, calculated here in f64: a notch of one value in a function of another
//! adds its width times the difference; nothing of the engine is used.

use proptest::prelude::*;
use standstill::Sheet;
use standstill::diagnostic::Name;
use standstill::number::{ColumnInput, Exact, OutputColumn, run_columns};
use standstill::unit::Unit;

/// How a function of x says that it is `high` but `low` between a and b; the integral from 0 to 1.
const NOTCHES: [(&str, &str); 6] = [
    (
        "cases",
        "  f(x) = when x < a : high\n         when x < b : low\n         otherwise  : high\n",
    ),
    (
        "a case on a square",
        "  f(x) = when x^2 < a^2 : high\n         when x^2 < b^2 : low\n         otherwise      : high\n",
    ),
    (
        "least and greatest",
        "  f(x) = high + (low - high) * min(max((b - x) / (b - a), 0), 1) * step(x)\n  \
         step(x) = when x < a : 0\n            otherwise : 2\n",
    ),
    (
        "an absolute value",
        "  f(x) = high + (low - high) * 2 * max(1 - abs(x - (a + b) / 2) / ((b - a) / 2), 0)\n",
    ),
    (
        "rounding",
        "  w = b - a\n  r(x) = x - a rounded down to w\n  f(x) = when r(x) = 0 : low\n         otherwise : high\n",
    ),
    (
        "a square within an absolute value",
        "  f(x) = when abs((x - (a + b) / 2)^2) < ((b - a) / 2)^2 : low\n         otherwise : high\n",
    ),
];

fn sheet(function: &str) -> Sheet {
    let text = format!(
        "sheet notch\ntitle \"A notch\"\nsource \"derivation\"\ntakes\n  a : ratio like 0.1 \"from\"\n  \
         b : ratio like 0.2 \"to\"\n  low : ratio like 0.1 \"in it\"\n  high : ratio like 2 \"beside it\"\n\
         works\n{function}  y = integral of 2 * f(x) / 2 for x from 0 to 1\ngives\n  y\n"
    );
    Sheet::parse("notch.sheet", &text).unwrap_or_else(|problems| panic!("{}", problems[0]))
}

fn decimal(x: f64, places: usize) -> f64 {
    format!("{x:.places$}").parse().unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// No notch is stepped over, however narrow: its place in the integral is exact, in columns as well.
    #[test]
    fn no_notch_is_stepped_over(
        form in 0..NOTCHES.len(),
        place in 0.01_f64..0.9,
        width in -6.0_f64..-1.1,
        low in -3.0_f64..3.0,
        high in 1.0_f64..9.0,
    ) {
        notch(form, place, width, low, high)?;
    }

    /// A narrow bell without any corner: bounds see it where no point does (area √π·s; Gauss's integral).
    #[test]
    fn no_bell_is_stepped_over(place in 0.1_f64..0.9, width in -5.0_f64..-2.0) {
        let (place, width) = (decimal(place, 6), decimal(10_f64.powf(width), 7));
        let text = format!(
            "sheet bell\ntitle \"A bell\"\nsource \"derivation\"\nworks\n  y = integral of exp(max(-((x - meant {place} \"place\") / meant {width} \"width\")^2, -300)) for x from 0 to 1\ngives\n  y\n"
        );
        let sheet = Sheet::parse("bell.sheet", &text).unwrap();
        let expected = std::f64::consts::PI.sqrt() * width;
        let found = sheet.run(&sheet.inputs()).unwrap().exact("y").unwrap().to_f64();
        prop_assert!((found / expected - 1.0).abs() < 1e-9, "{found} is not {expected}");
    }

    /// What changes its sign without being zero, or is zero more than once, is never taken for a root.
    #[test]
    fn a_pole_a_jump_and_one_of_several_are_no_roots(place in 0.05_f64..0.95, form in 0_usize..5) {
        let place = decimal(place, 4);
        let (function, expected) = [
            (format!("1 / (x - {place})"), Some(Name::NotContinuous)),
            ("step(x)".to_owned(), Some(Name::NotContinuous)),
            (format!("(x - {place}) * (x - {place} - 0.01) * (x - 0.03 - {place})"), Some(Name::SeveralRoots)),
            (format!("(x - {place})^3"), None),
            (format!("abs(x - {place}) + 2 * (x - {place})"), None),
        ][form].clone();
        let text = format!(
            "sheet root\ntitle \"A root\"\nsource \"derivation\"\nworks\n  step(x) = when x < {place} : -3 - x\n            otherwise : 2\n  y = root of {function} for x from -1 to 1\ngives\n  y\n"
        );
        let sheet = Sheet::parse("root.sheet", &text).unwrap();
        match (sheet.run(&sheet.inputs()), expected) {
            (Ok(results), None) => {
                let found = results.exact("y").unwrap().to_f64();
                prop_assert!((found - place).abs() < 1e-9, "{function}: {found}");
            }
            (Err(problems), Some(name)) => prop_assert_eq!(problems[0].name, name, "{}", &problems[0]),
            (Ok(results), Some(_)) => {
                let y: Exact = results.exact("y").unwrap();
                prop_assert!(false, "{function}: {y}");
            }
            (Err(problems), None) => prop_assert!(false, "{function}: {}", &problems[0]),
        }
    }
}

/// One notch, on exact decimals within the error that the result states, and in columns.
fn notch(form: usize, place: f64, width: f64, low: f64, high: f64) -> Result<(), TestCaseError> {
    let a = decimal(place, 8);
    let b = decimal(a + 10_f64.powf(width), 8);
    let (low, high) = (decimal(low, 3), decimal(high, 3));
    let (name, function) = NOTCHES[form];

    let sheet = sheet(function);
    let mut inputs = sheet.inputs();
    for (input, value) in [("a", a), ("b", b), ("low", low), ("high", high)] {
        inputs.write(input, &value.to_string()).unwrap();
    }
    let expected = high + (low - high) * (b - a);
    let results =
        sheet.run(&inputs).map_err(|problems| TestCaseError::fail(problems[0].to_string()))?;
    let found = results.exact("y").unwrap().to_f64();
    // what it states is the bound of what was rounded and of where its corners lie
    let stated = results.exact("y").unwrap().relative_error_bound() * found.abs();
    prop_assert!(stated < 1e-12 * high, "{name}: {found} within {stated}");
    let rounding = 4.0 * f64::EPSILON * high.abs().max(low.abs());
    prop_assert!(
        (found - expected).abs() <= stated + rounding,
        "{name}: {found} is not {expected} within {stated}"
    );
    let unit = Unit::one();
    let columns = [[a], [b], [low], [high]];
    let given: Vec<_> =
        columns.iter().map(|values| ColumnInput::Column { values, unit: &unit }).collect();
    let run = run_columns(sheet.program(), &given, 1);
    let OutputColumn::Numbers(numbers) = &run.outputs[0] else { panic!("numbers") };
    prop_assert!((numbers[0] - expected).abs() < 1e-9 * high, "{name}: {} in columns", numbers[0]);
    Ok(())
}

/// Corners that lay between the last point of a panel and its end, and were seen by no point.
#[test]
fn no_corner_beside_the_end_of_a_panel_is_stepped_over() {
    for (form, place, width, low, high) in [
        (3, 0.533_187_337_171_413_5, -2.739_799_945_801_068_2, 0.0, 1.0),
        (2, 0.533_187_337_171_413_5, -2.739_799_945_801_068_2, 0.0, 1.0),
    ] {
        notch(form, place, width, low, high).unwrap();
    }
}
