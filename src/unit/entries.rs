//! The table of unit symbols, one line a unit, each with its exact definition.
//!
//! A line may only build on lines above it. `g`, `m`, `s`, `A`, `K` and `rad` are the base.

/// One line of the table.
pub(super) struct UnitLine {
    /// Symbol as printed.
    pub(super) symbol: &'static str,
    /// Further spellings that read the same.
    pub(super) spellings: &'static [&'static str],
    /// Name in words.
    pub(super) name: &'static str,
    /// Exact definition: a number and a unit.
    pub(super) is: &'static str,
    /// Number added before multiplying; a temperature on a scale.
    pub(super) zero: Option<&'static str>,
    /// Whether SI prefixes may stand before it.
    pub(super) prefixes: bool,
    /// Where the definition is laid down.
    pub(super) source: &'static str,
}

const fn line(
    symbol: &'static str,
    spellings: &'static [&'static str],
    name: &'static str,
    is: &'static str,
    source: &'static str,
) -> UnitLine {
    UnitLine { symbol, spellings, name, is, zero: None, prefixes: false, source }
}

impl UnitLine {
    const fn with_prefixes(self) -> Self {
        Self { prefixes: true, ..self }
    }

    const fn zero_at(self, zero: &'static str) -> Self {
        Self { zero: Some(zero), ..self }
    }
}

const SI: &str = "SI Brochure, 9th edition, tables 2 to 4";
const BESIDE_SI: &str = "SI Brochure, 9th edition, table 8";
const ISO: &str = "ISO 80000-3";
const YARD_AND_POUND: &str =
    "international yard and pound agreement of 1959, as in NIST SP 811, appendix B";
const SP811: &str = "NIST SP 811, appendix B.8 and its footnotes";

/// All of them. Where two lines give one spelling, the first counts (a test sees to it that none do).
#[rustfmt::skip]
pub(super) const LINES: &[UnitLine] = &[
    // base
    line("m", &[], "metre", "1 m", SI).with_prefixes(),
    line("g", &[], "gram", "0.001 kg", SI).with_prefixes(),
    line("s", &[], "second", "1 s", SI).with_prefixes(),
    line("A", &[], "ampere", "1 A", SI).with_prefixes(),
    line("K", &[], "kelvin", "1 K", SI).with_prefixes(),
    line("rad", &[], "radian", "1 rad", SI).with_prefixes(),
    // derived, with a symbol of their own
    line("N", &[], "newton", "1 kg·m/s²", SI).with_prefixes(),
    line("Pa", &[], "pascal", "1 N/m²", SI).with_prefixes(),
    line("J", &[], "joule", "1 N·m", SI).with_prefixes(),
    line("W", &[], "watt", "1 J/s", SI).with_prefixes(),
    line("C", &[], "coulomb", "1 A·s", SI).with_prefixes(),
    line("V", &[], "volt", "1 W/A", SI).with_prefixes(),
    line("Ω", &["Ohm", "ohm", "\u{2126}"], "ohm", "1 V/A", SI).with_prefixes(),
    line("F", &[], "farad", "1 C/V", SI).with_prefixes(),
    line("Wb", &[], "weber", "1 V·s", SI).with_prefixes(),
    line("T", &[], "tesla", "1 Wb/m²", SI).with_prefixes(),
    line("H", &[], "henry", "1 Wb/A", SI).with_prefixes(),
    line("Hz", &[], "hertz", "1 s⁻¹", SI).with_prefixes(),
    line("°C", &["degC"], "degree Celsius", "1 K", SI).zero_at("273.15"),
    // beside the SI
    line("min", &[], "minute", "60 s", BESIDE_SI),
    line("h", &[], "hour", "60 min", BESIDE_SI),
    line("d", &[], "day", "24 h", BESIDE_SI),
    line("°", &["deg"], "degree of arc", "π/180 rad", BESIDE_SI),
    line("′", &["arcmin"], "minute of arc", "1/60 °", BESIDE_SI),
    line("″", &["arcsec"], "second of arc", "1/60 ′", BESIDE_SI),
    line("gon", &[], "gon", "π/200 rad", ISO),
    line("L", &["l"], "litre", "0.001 m³", BESIDE_SI).with_prefixes(),
    line("t", &[], "tonne", "1000 kg", BESIDE_SI),
    line("bar", &[], "bar", "100000 Pa", "SI Brochure, 8th edition, table 8").with_prefixes(),
    line("atm", &[], "standard atmosphere", "101325 Pa", SP811),
    line("kn", &[], "knot", "1852/3600 m/s", "SI Brochure, 8th edition, table 8: nautical mile 1852 m"),
    line("r", &["rev"], "revolution", "2·π rad", ISO),
    line("r/min", &["rpm"], "revolution per minute", "1 r/min", ISO),
    // pure numbers
    line("%", &[], "per cent", "0.01", "SI Brochure, 9th edition, 5.4.7"),
    line("‰", &[], "per mille", "0.001", "ISO 80000-1"),
    line("ppm", &[], "part per million", "0.000001", "SI Brochure, 9th edition, 5.4.7"),
    // yard and pound
    line("in", &[], "inch", "0.0254 m", YARD_AND_POUND),
    line("ft", &[], "foot", "12 in", YARD_AND_POUND),
    line("yd", &[], "yard", "3 ft", YARD_AND_POUND),
    line("mile", &["mi"], "mile", "5280 ft", YARD_AND_POUND),
    line("mile/h", &["mph"], "mile per hour", "1 mile/h", YARD_AND_POUND),
    line("gal", &[], "gallon (US)", "231 in³", SP811),
    line("lb", &[], "pound", "0.45359237 kg", YARD_AND_POUND),
    line("oz", &[], "ounce", "1/16 lb", YARD_AND_POUND),
    // standard acceleration of free fall, 3rd General Conference on Weights and Measures, 1901
    line("g_n", &["gn"], "standard acceleration of free fall", "9.80665 m/s²", "3rd CGPM, 1901"),
    line("kgf", &["kp"], "kilogram-force", "1 kg·g_n", SP811),
    line("lbf", &[], "pound-force", "1 lb·g_n", SP811),
    line("ozf", &[], "ounce-force", "1/16 lbf", SP811),
    line("slug", &[], "slug", "1 lbf·s²/ft", SP811),
    line("psi", &[], "pound-force per square inch", "1 lbf/in²", SP811),
    line("hp", &[], "horsepower (550 ft·lbf/s)", "550 ft·lbf/s", SP811),
    line("hp_M", &["hpM"], "metric horsepower", "75 kgf·m/s", SP811),
    line("hp_E", &["hpE"], "electrical horsepower", "746 W", SP811),
    line("cal_IT", &[], "calorie (International Table)", "4.1868 J", SP811).with_prefixes(),
    line("cal_th", &[], "calorie (thermochemical)", "4.184 J", SP811).with_prefixes(),
    // °F and °R: five ninths of the kelvin
    line("°R", &["degR"], "degree Rankine", "5/9 K", SP811),
    line("°F", &["degF"], "degree Fahrenheit", "5/9 K", SP811).zero_at("459.67"),
    // defined by 1 Btu/(lb·°F) = 1 kcal/(kg·°C)
    line("Btu", &["Btu_IT", "BTU"], "British thermal unit (International Table)", "5/9 lb·kcal_IT/kg", SP811),
    line("Btu_th", &[], "British thermal unit (thermochemical)", "5/9 lb·kcal_th/kg", SP811),
];

/// SI prefixes: symbol, further spelling, power of ten. SI Brochure, 9th edition, table 7.
#[rustfmt::skip]
pub(super) const PREFIXES: &[(&str, i32)] = &[
    ("Q", 30), ("R", 27), ("Y", 24), ("Z", 21), ("E", 18), ("P", 15), ("T", 12), ("G", 9),
    ("M", 6), ("k", 3), ("h", 2), ("da", 1), ("d", -1), ("c", -2), ("m", -3), ("µ", -6),
    ("n", -9), ("p", -12), ("f", -15), ("a", -18), ("z", -21), ("y", -24), ("r", -27), ("q", -30),
];
