//! Conversion factors: printed ones to half a unit in their last digit, and those that follow from
//! the exact definitions (inch 0.0254 m, pound 0.45359237 kg, g_n 9.80665 m/s²).

// the digits stand as printed
#![allow(clippy::excessive_precision)]

use standstill::unit::{Factor, Unit, kind, parse_unit};

fn unit(text: &str) -> Unit {
    parse_unit(text).unwrap_or_else(|problem| panic!("{problem}"))
}

/// digits · 10^ten as printed
fn decimal(text: &str) -> Factor {
    let (mantissa, ten) = text.split_once('e').unwrap_or((text, "0"));
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let ten: i32 = ten.parse().unwrap();
    let digits = format!("{whole}{fraction}").parse().unwrap();
    Factor::decimal(digits, ten - i32::try_from(fraction.len()).unwrap())
}

/// Half a unit in the last printed digit.
fn half_a_unit(text: &str) -> f64 {
    let (mantissa, ten) = text.split_once('e').unwrap_or((text, "0"));
    let places = mantissa.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    format!("5e{}", ten.parse::<i32>().unwrap() - i32::try_from(places).unwrap() - 1)
        .parse()
        .unwrap()
}

fn assert_printed(text: &str, unit: &Unit, printed: &str) {
    let found = unit.factor.as_f64();
    let expected: f64 = printed.parse().unwrap();
    // a last bit beyond the half unit, for ties such as 0.5 exactly
    let allowed = half_a_unit(printed) * (1.0 + 1e-9);
    assert!((found - expected).abs() <= allowed, "{text}: {found}, printed {printed}");
}

// NIST SP 811 (2008), appendix B.8, from memory
#[test]
fn nist_sp_811() {
    for (text, printed) in [
        ("atm", "1.01325e5"),
        ("Btu", "1.055056e3"),
        ("Btu_th", "1.054350e3"),
        ("cal_IT", "4.1868"),
        ("cal_th", "4.184"),
        ("°", "1.745329e-2"),
        ("ft", "3.048e-1"),
        ("ft²", "9.290304e-2"),
        ("ft³", "2.831685e-2"),
        ("ft·lbf", "1.355818"),
        ("gal", "3.785412e-3"),
        ("g_n", "9.80665"),
        ("hp", "7.456999e2"),
        ("hp_E", "7.46e2"),
        ("hp_M", "7.354988e2"),
        ("in", "2.54e-2"),
        ("in²", "6.4516e-4"),
        ("in³", "1.638706e-5"),
        ("kgf", "9.80665"),
        ("kgf·m", "9.80665"),
        ("kW·h", "3.6e6"),
        ("kn", "5.144444e-1"),
        ("lb", "4.535924e-1"),
        ("lb·ft²", "4.214011e-2"),
        ("lb·in²", "2.926397e-4"),
        ("lb/ft³", "1.601846e1"),
        ("lbf", "4.448222"),
        ("lbf·ft", "1.355818"),
        ("lbf·in", "1.129848e-1"),
        ("mile", "1.609344e3"),
        ("mile/h", "4.4704e-1"),
        ("ft/min", "5.08e-3"),
        ("oz", "2.834952e-2"),
        ("ozf", "2.780139e-1"),
        ("ozf·in", "7.061552e-3"),
        ("psi", "6.894757e3"),
        ("rpm", "1.047198e-1"),
        ("slug", "1.459390e1"),
        ("yd", "9.144e-1"),
    ] {
        assert_printed(text, &unit(text), printed);
    }
}

// "Conversion Factors" of Engineering Statics, read in a second-hand copy; there the pound is a force
#[test]
fn engineering_statics_conversion_factors() {
    let torque = kind("torque").unwrap();
    assert_printed("hp", &unit("hp"), "7.4570e2");
    assert_printed("lb·ft", &torque.read_unit("lb·ft").unwrap(), "1.3558");
    assert_printed("lb·in", &torque.read_unit("lb·in").unwrap(), "0.11298");
    assert_printed("psi", &unit("psi"), "6.8948e3");
    assert_printed("slug", &unit("slug"), "1.4594e1");
    assert_printed("Btu", &unit("Btu"), "1.0551e3");
    assert_eq!(unit("kW·h").factor, decimal("3.60e6"));
}

// "Inertia Conversion Tables", read in a second-hand copy, in kg·cm²
#[test]
fn a_printed_inertia_table() {
    for (text, printed) in [
        ("lb·ft²", "421.4e-4"),
        ("lb·in²", "2.926e-4"),
        ("oz·in²", "0.183e-4"),
        ("oz·in·s²", "70.616e-4"),
        ("lb·in·s²", "1.130e-1"),
    ] {
        assert_printed(text, &unit(text), printed);
    }
    let ratio = unit("oz·in·s²").factor.over(unit("oz·in²").factor).unwrap();
    // the table cuts 386.0885… off instead of rounding it
    assert!((ratio.as_f64() - 386.088).abs() <= 0.001);
    // the ratio of the force ounce to the mass ounce is g_n in inches
    assert_eq!(ratio, unit("g_n").factor.over(unit("in").factor).unwrap());
}

// computed from the exact definitions
#[test]
fn factors_that_end_are_exact() {
    for (text, value) in [
        ("in", "0.0254"),
        ("ft", "0.3048"),
        ("lb", "0.45359237"),
        ("oz", "0.028349523125"),
        ("lbf", "4.4482216152605"),
        ("ozf", "0.27801385095378125"),
        ("kgf", "9.80665"),
        ("ft·lbf", "1.3558179483314004"),
        ("lbf·ft", "1.3558179483314004"),
        ("in·lbf", "0.1129848290276167"),
        ("ozf·in", "0.00706155181422604375"),
        ("kgf·m", "9.80665"),
        ("hp", "745.69987158227022"),
        ("hp_M", "735.49875"),
        ("hp_E", "746"),
        ("lb·ft²", "0.0421401100938048"),
        ("lb·in²", "0.0002926396534292"),
        ("oz·in²", "1.82899783393250e-5"),
        ("oz·in·s²", "0.00706155181422604375"),
        ("ozf·in·s²", "0.00706155181422604375"),
        ("lb·in·s²", "0.1129848290276167"),
        ("lbf·in·s²", "0.1129848290276167"),
        ("lb·ft·s²", "1.3558179483314004"),
        ("slug·ft²", "1.3558179483314004"),
        ("kgf·m·s²", "9.80665"),
        ("kgf·cm·s²", "0.0980665"),
        ("Btu", "1055.05585262"),
        ("kW·h", "3600000"),
        ("ft/min", "0.00508"),
        ("mile/h", "0.44704"),
    ] {
        assert_eq!(unit(text).factor, decimal(value), "{text}");
    }
    // 63 in/s and 100 in/s
    assert_eq!(unit("in/s").to_si("63".parse().unwrap(), 0), 1.6002);
    assert_eq!(unit("in/s").to_si("100".parse().unwrap(), 0), 2.54);
}

// computed from the exact definitions, printed with 15 digits or more: 1e-15 relative
#[test]
fn factors_that_go_on_agree_to_the_last_digits() {
    let near = |text: &str, found: f64, expected: f64| {
        assert!((found / expected - 1.0).abs() <= 1e-15, "{text}: {found} {expected}");
    };
    for (text, value) in [
        ("slug", 14.593_902_937_206_364_8),
        ("rpm", 0.104_719_755_119_659_775),
        ("psi", 6_894.757_293_168_361_34),
        ("Btu/h", 0.293_071_070_172_222),
    ] {
        near(text, unit(text).factor.as_f64(), value);
    }
    // printed to 15 digits
    let found = unit("Btu_th").factor.as_f64();
    assert!((found - 1_054.350_264_488_89).abs() <= 0.5e-11);
    near("1600 mm/s", unit("in/s").from_si(1.6), 62.992_125_984_252_0);
    near("2000 mm/s", unit("in/s").from_si(2.0), 78.740_157_480_315_0);
    near("g_n", unit("ft/s²").from_si(9.80665), 32.174_048_556_430_446_2);
    near("g_n", unit("in/s²").from_si(9.80665), 386.088_582_677_165_354);
}

// common practice, no source: GD² 24 kgf·m² is J = 6 kg·m²
#[test]
fn a_flywheel_effect_is_held_as_its_inertia() {
    let flywheel_effect = kind("flywheel effect").unwrap();
    let read = |text: &str| flywheel_effect.read_unit(text).unwrap();
    assert_eq!(read("kgf·m²").to_si("24".parse().unwrap(), 0), 6.0);
    assert_eq!(read("kg·m²").to_si("24".parse().unwrap(), 0), 6.0);
    let by_newton = read("N·m²").factor.as_f64();
    assert!((by_newton - 0.025_492_905_324_448_2).abs() <= 0.5e-16);
    assert_eq!(read("kgf·m²").dimension, kind("inertia").unwrap().dimension);
}

/// The unit of the customary constant, as a product of units: what the constant hides.
fn product(parts: &[(&str, i32)]) -> f64 {
    let factor = parts.iter().fold(Factor::ONE, |all, (text, power)| {
        all.times(unit(text).factor.power(*power).unwrap()).unwrap()
    });
    factor.as_f64()
}

// computed from the exact definitions
#[test]
fn the_constants_of_the_handbooks_are_conversions_of_units() {
    for (words, found, expected, digits) in [
        (
            "hp = lb·ft · rpm / k",
            product(&[("hp", 1), ("lbf·ft", -1), ("rpm", -1)]),
            5_252.113_122_032_546_08,
            1e-15,
        ),
        (
            "hp = lb·in · rpm / k",
            product(&[("hp", 1), ("lbf·in", -1), ("rpm", -1)]),
            63_025.357_464_390_553,
            1e-15,
        ),
        (
            "kW = N·m · rpm / k",
            product(&[("kW", 1), ("N·m", -1), ("rpm", -1)]),
            9_549.296_585_513_720_15,
            1e-15,
        ),
        (
            "s = WK² · rpm / (k · lb·ft)",
            product(&[("s", 1), ("lbf·ft", 1), ("lb·ft²", -1), ("rpm", -1)]),
            307.239_532_022_073_897,
            1e-15,
        ),
        (
            "ft·lbf = WK² · rpm² / k",
            2.0 * product(&[("ft·lbf", 1), ("lb·ft²", -1), ("rpm", -2)]),
            5_867.842_828_146_447_08,
            1e-15,
        ),
        ("J = kg·m² · rpm² / k", 2.0 * product(&[("rpm", -2)]), 182.378_130_556_207_989, 1e-15),
        (
            "s = GD² · rpm / (k · kgf·m)",
            4.0 * product(&[("kgf·m", 1), ("rpm", -1)]),
            374.586_437_441_312_495,
            1e-15,
        ),
        // printed to 12 digits
        (
            "hp·s = WK² · rpm² / k",
            2.0 * product(&[("hp", 1), ("lb·ft²", -1), ("rpm", -2)]),
            3_227_313.555_48,
            2e-12,
        ),
    ] {
        assert!((found / expected - 1.0).abs() <= digits, "{words}: {found} {expected}");
    }
}
