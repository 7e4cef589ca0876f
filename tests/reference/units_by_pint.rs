//! The whole catalogue against `units.csv`, which `units.py` wrote with pint and scipy.

use standstill::unit::{Factor, KINDS, Unit, catalogue, kind, parse_unit};

const TABLE: &str = include_str!("units.csv");

struct Row {
    unit: &'static str,
    kind: &'static str,
    value: &'static str,
    ends: bool,
}

fn rows() -> Vec<Row> {
    let rows = TABLE.lines().skip(2).map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        Row { unit: cells[0], kind: cells[1], value: cells[2], ends: cells[3] == "ends" }
    });
    rows.collect()
}

/// Units that the trade's shorthand leaves to the declared kind.
fn read(row: &Row) -> Unit {
    let declared = match row.unit {
        "lb·ft" | "oz·in" => "torque",
        _ => row.kind,
    };
    match kind(declared) {
        Some(kind) => kind.read_unit(row.unit),
        None => parse_unit(row.unit),
    }
    .unwrap_or_else(|problem| panic!("{}: {problem}", row.unit))
}

fn decimal(text: &str) -> Factor {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits = format!("{whole}{fraction}").parse().unwrap();
    Factor::decimal(digits, -i32::try_from(fraction.len()).unwrap())
}

#[test]
fn every_unit_of_the_catalogue_and_of_every_kind_is_in_the_table() {
    let rows = rows();
    let has = |unit: &str, kind: &str| rows.iter().any(|row| row.unit == unit && row.kind == kind);
    let missing: Vec<&str> =
        catalogue().iter().map(|entry| entry.symbol).filter(|symbol| !has(symbol, "")).collect();
    assert_eq!(missing, Vec::<&str>::new());
    for kind in KINDS {
        for unit in kind.units {
            let column = if kind.name == "flywheel effect" { kind.name } else { "" };
            assert!(has(unit, column), "{} {unit}", kind.name);
        }
    }
}

#[test]
fn factors_that_end_agree_to_the_last_digit() {
    let mut checked = 0;
    for row in rows().iter().filter(|row| row.ends) {
        assert_eq!(read(row).factor, decimal(row.value), "{}", row.unit);
        checked += 1;
    }
    assert!(checked > 180, "{checked} rows");
}

// The table has 40 digits; both sides are rounded to f64 once, so not even the last bit may differ.
#[test]
fn factors_that_go_on_agree_to_the_last_bit() {
    let mut checked = 0;
    for row in rows().iter().filter(|row| !row.ends && !row.kind.starts_with("zero")) {
        let expected: f64 = row.value.parse().unwrap();
        assert_eq!(read(row).factor.as_f64(), expected, "{}", row.unit);
        checked += 1;
    }
    assert!(checked > 30, "{checked} rows");
}

// scipy works in f64: 273.15 and 255.372… are good to 1 part in 10^15
#[test]
fn the_zeros_of_the_scales_agree() {
    let mut checked = 0;
    for row in rows().iter().filter(|row| row.kind.starts_with("zero")) {
        let expected: f64 = row.value.parse().unwrap();
        let found = parse_unit(row.unit).unwrap().to_si("0".parse().unwrap(), 0);
        assert!((found - expected).abs() <= 1e-15 * expected, "{}: {found}", row.unit);
        checked += 1;
    }
    assert_eq!(checked, 2);
}
