//! The figures of handbooks that fold units into a number, each with what it turns into what.

use crate::unit::{Base, Dimension};

/// Pairs that are known by their first three digits to everybody in the trade.
pub(super) const WELL_KNOWN: &[(&str, &str)] = &[
    ("r/min", "rad/s"),
    ("°", "rad"),
    ("mm", "in"),
    ("m", "in"),
    ("m", "ft"),
    ("kg", "lb"),
    ("N", "lbf"),
    ("N", "kgf"),
    ("N·m", "lbf·ft"),
    ("kW", "hp"),
    ("kW", "hp_M"),
    ("bar", "psi"),
    ("kPa", "psi"),
];

/// A customary figure: a number and units over units, and what it turns into what.
pub(super) struct Customary {
    pub(super) times: f64,
    pub(super) from: &'static [&'static str],
    pub(super) to: &'static [&'static str],
    pub(super) words: (&'static str, &'static str),
}

const fn customary(
    times: f64,
    from: &'static [&'static str],
    to: &'static [&'static str],
    words: (&'static str, &'static str),
) -> Customary {
    Customary { times, from, to, words }
}

/// The customary figures of handbooks, each calculated from the table of units (common practice, no
/// source): 9550, 9.55, 7121, 7024, 5252, 63 025, 716, 974, 19.1, 182.4, 5868, 307, 375, 33 000, 367, 6120, 612.
#[rustfmt::skip]
pub(super) const CUSTOMARY: &[Customary] = &[
    customary(1.0, &["kW"], &["r/min", "N·m"], ("kW and r/min", "N·m")),
    customary(1.0, &["hp"], &["r/min", "N·m"], ("hp and r/min", "N·m")),
    customary(1.0, &["hp_E"], &["r/min", "N·m"], ("hp_E and r/min", "N·m")),
    customary(1.0, &["hp_M"], &["r/min", "N·m"], ("hp_M and r/min", "N·m")),
    customary(1.0, &["hp"], &["r/min", "lbf·ft"], ("hp and r/min", "lbf·ft")),
    customary(1.0, &["hp"], &["r/min", "lbf·in"], ("hp and r/min", "lbf·in")),
    customary(1.0, &["kW"], &["r/min", "lbf·ft"], ("kW and r/min", "lbf·ft")),
    customary(1.0, &["kW"], &["r/min", "kgf·m"], ("kW and r/min", "kgf·m")),
    customary(1.0, &["hp_M"], &["r/min", "kgf·m"], ("hp_M and r/min", "kgf·m")),
    customary(0.5, &["r/min"], &["rad/s"], ("a diameter and r/min", "m/s")),
    customary(4.0, &["rad/s"], &["r/min"], ("a diameter squared and r/min", "rad/s")),
    customary(0.5, &["r/min", "r/min"], &["rad/s", "rad/s"], ("kg·m² and (r/min)²", "J")),
    customary(0.5, &["lb·ft²", "r/min", "r/min"], &["ft·lbf"], ("lb·ft² and (r/min)²", "ft·lbf")),
    customary(1.0, &["lb·ft²", "r/min"], &["lbf·ft"], ("lb·ft², r/min and lbf·ft", "s")),
    customary(0.25, &["r/min"], &["kgf·m"], ("GD² in kgf·m², r/min and kgf·m", "s")),
    customary(60.0, &["hp"], &["ft·lbf/s"], ("hp", "ft·lbf/min")),
    customary(3.6, &["kW"], &["kgf·m/s"], ("kW", "t·m/h lifted")),
    customary(60.0, &["kW"], &["kgf·m/s"], ("kW", "kgf·m/min")),
    customary(6.0, &["kW"], &["kgf·m/s"], ("kW", "kgf/cm² and L/min")),
];

/// Figures of heat that handbooks use, with the unit that is turned into the other (International Table calorie,
/// 4.1868 J, and thermochemical calorie, 4.184 J: NIST SP 811, appendix B; the Btu from 1055.056 J).
pub(super) const HEAT: &[(f64, &str, &str)] = &[
    (4186.8, "kcal", "J"),
    (4.1868, "kcal", "kJ"),
    (4.184, "kcal", "kJ"),
    (4184.0, "kcal", "J"),
    (859.8452, "kW·h", "kcal"),
    (0.859_845_2, "W·h", "kcal"),
    (1.163, "kcal/h", "W"),
    (1055.056, "Btu", "J"),
    (1.055_056, "Btu", "kJ"),
    (3412.142, "kW·h", "Btu"),
    (3.412_142, "W·h", "Btu"),
];

/// Figures in use that are not the rounded factor: what stands in handbooks, and what is exact.
pub(super) const ROUNDED: &[(f64, f64)] = &[
    (9550.0, 9549.297),
    (860.0, 859.8452),
    (0.86, 0.859_845_2),
    (5252.0, 5252.113),
    (182.5, 182.378),
    (7124.0, 7120.9),
    (7127.0, 7120.9),
    (5250.0, 5252.113),
    (63_000.0, 63_025.357),
    (308.0, 307.237),
    (973.0, 973.797),
    (975.0, 973.797),
    (367.2, 367.0978),
    (6120.0, 6118.297),
    (6116.0, 6118.297),
];

/// A figure of two or three digits that converts beside the quantities it belongs to, and is a plain factor beside
/// others.
pub(super) struct Rough {
    pub(super) value: f64,
    /// Whether it belongs to a quantity.
    pub(super) beside: fn(Dimension) -> bool,
    pub(super) words: (&'static str, &'static str),
}

/// What turns a flywheel effect with the square of r/min into an energy: 1/2 · 1/4 · (π/30)² = 1/729.5.
const OF_GD2: (&str, &str) =
    ("turns J and GD² in kg·m² and (r/min)² into J", "turns kg·m² and (r/min)² of GD² into J");

/// Common practice, no source: g as 9.8, the pound as 1 kg / 2.2, the horsepower as 0.75 kW, 1 bar as 1.02 kgf/cm².
pub(super) const ROUGH: &[Rough] = &[
    Rough {
        value: 9.8,
        beside: has_weight,
        words: (
            "turns kgf into N, or a mass into its weight",
            "turns N into kgf, or a weight into its mass",
        ),
    },
    Rough { value: 2.2, beside: |it| it == MASS, words: ("turns kg into lb", "turns lb into kg") },
    Rough {
        value: 0.75,
        beside: |it| it == POWER,
        words: ("turns hp into kW", "turns kW into hp"),
    },
    Rough { value: 730.0, beside: |it| it.without_angle() == INERTIA, words: OF_GD2 },
    Rough { value: 729.5, beside: |it| it.without_angle() == INERTIA, words: OF_GD2 },
    Rough { value: 365.0, beside: |it| it.without_angle() == INERTIA, words: OF_GD2 },
    Rough { value: 7160.0, beside: |it| it.without_angle() == INERTIA, words: OF_GD2 },
    Rough {
        value: 1.02,
        beside: is_of_force,
        words: (
            "turns bar into kgf/cm², or daN into kgf",
            "turns kgf/cm² into bar, or kgf into daN",
        ),
    },
];

const INERTIA: Dimension = Dimension::of(2, 1, 0, 0, 0, 0);
const MASS: Dimension = Dimension::of(0, 1, 0, 0, 0, 0);
const POWER: Dimension = Dimension::of(2, 1, -3, 0, 0, 0);

/// What a technical system of units counts in kgf, or an acceleration.
fn has_weight(dimension: Dimension) -> bool {
    dimension.sixths(Base::Mass).abs() == 6 || dimension == Dimension::of(1, 0, -2, 0, 0, 0)
}

/// A force, a torque or a pressure.
fn is_of_force(dimension: Dimension) -> bool {
    [(1, 0), (2, -1), (-1, 0)]
        .iter()
        .any(|(length, angle)| dimension == Dimension::of(*length, 1, -2, 0, 0, *angle))
}
