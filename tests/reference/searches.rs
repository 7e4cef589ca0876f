//! `integral of` and `root of` in sheets, on both number systems, against `stops.csv` (scipy 1.17.1 quad and
//! brentq, mpmath 1.3.0; the script `stops.py` demands that two routes agree before it prints a value).

use std::collections::BTreeMap;

use standstill::Sheet;
use standstill::number::{OutputColumn, run_columns};

/// Name in `stops.csv`, formula, unit of the result.
const SEARCHES: &[(&str, &str, &str)] = &[
    ("integral.sine_0_to_pi", "integral of sin(x * 1 rad) for x from 0 to pi", ""),
    ("integral.exp_minus_square_0_to_3", "integral of exp(-x^2) for x from 0 to 3", ""),
    ("integral.reciprocal_1_to_1000", "integral of 1 / x for x from 1 to 1000", ""),
    ("integral.sqrt_0_to_2", "integral of sqrt(x) for x from 0 to 2", ""),
    ("integral.narrow_peak", "integral of 1 / (x^2 + 1e-6) for x from -1 to 1", ""),
    ("root.cos_x_is_x", "root of cos(x * 1 rad) - x for x from 0 to 1", ""),
    ("root.cubic_x3_2x_5", "root of x^3 - 2*x - 5 for x from 0 to 10", ""),
    (
        "root.fan_speed",
        "root of 0.0002 N·m·s²/rad² * w^2 + 0.02 N·m·s/rad * w - 5 N·m for w from 0 rad/s to 1000 rad/s",
        "rad/s",
    ),
    (
        "root.fan_speed_rpm",
        "root of 0.0002 N·m·s²/rad² * w^2 + 0.02 N·m·s/rad * w - 5 N·m for w from 0 r/min to 9000 r/min",
        "r/min",
    ),
];

#[test]
fn integrals_and_roots_agree_with_scipy_and_mpmath() {
    let stored: BTreeMap<&str, f64> = include_str!("stops.csv")
        .lines()
        .filter_map(|line| line.split_once(','))
        .filter_map(|(name, value)| Some((name, value.parse().ok()?)))
        .collect();
    for (name, formula, unit) in SEARCHES {
        let wanted = stored[name];
        let given = if unit.is_empty() { String::new() } else { format!(" in {unit}") };
        let text = format!(
            "sheet search\ntitle \"t\"\nsource \"s\"\nworks\n  y = {formula}\ngives\n  y{given}\n"
        );
        let sheet = Sheet::parse("search.sheet", &text)
            .unwrap_or_else(|problems| panic!("{name}: {}", problems[0]));
        let results =
            sheet.run(&sheet.inputs()).unwrap_or_else(|problems| panic!("{name}: {}", problems[0]));
        let output = &sheet.program().outputs[0];
        let exact = results.exact("y").unwrap().in_unit(&output.unit).unwrap().to_f64();
        // the stored values hold 16 digits and more; an f64 holds them to 2e-16
        assert!((exact / wanted - 1.0).abs() < 5e-16, "{name}: {exact} is not {wanted}");
        let columns = run_columns(sheet.program(), &[], 1);
        let OutputColumn::Numbers(numbers) = &columns.outputs[0] else {
            panic!("{name} is no number")
        };
        let found = output.unit.from_si(numbers[0]);
        // columns promise 1e-9 and state 1e-12 for both
        assert!((found / wanted - 1.0).abs() < 1e-11, "{name}: {found} is not {wanted} in columns");
    }
}
