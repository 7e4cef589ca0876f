//! Kinds of quantity: what an input is, its dimension, how the angle stands in it; one line a kind.
//!
//! ISO 80000-3 is space and time, -4 mechanics, -5 thermodynamics, -6 electromagnetism.

use super::Dimension;

/// Whether a unit of the kind writes its radian.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum AngleWritten {
    /// The unit must show it: r/min, rad/s², mm/r, N·m/rad.
    Yes,
    /// SI's habit leaves it out: kg·m², N·m, the m of a radius.
    No,
}

/// A kind of quantity.
#[derive(Debug, PartialEq)]
pub struct Kind {
    /// Name as a sheet writes it: `speed of rotation`.
    pub name: &'static str,
    /// Dimension, angle included.
    pub dimension: Dimension,
    /// A temperature on the scale, not a difference.
    pub point: bool,
    /// Units offered in forms and messages, the usual one first; empty for a pure number.
    pub units: &'static [&'static str],
    /// Whether a unit of the kind writes its radian.
    pub angle: AngleWritten,
    /// A line whose dimension equals this one's but for the angle takes this power of angle.
    pub settles: bool,
    /// Pure ratios and counts are read without a unit.
    pub bare: bool,
    /// What it is, with its source.
    pub about: &'static str,
}

const fn line(
    name: &'static str,
    dimension: Dimension,
    units: &'static [&'static str],
    about: &'static str,
) -> Kind {
    Kind {
        name,
        dimension,
        point: false,
        units,
        angle: AngleWritten::Yes,
        settles: false,
        bare: false,
        about,
    }
}

impl Kind {
    const fn rad_left_out(self) -> Self {
        Self { angle: AngleWritten::No, ..self }
    }

    const fn settling(self) -> Self {
        Self { settles: true, ..self }
    }

    const fn on_a_scale(self) -> Self {
        Self { point: true, ..self }
    }

    const fn read_bare(self) -> Self {
        Self { bare: true, ..self }
    }
}

/// Dimension: powers of length, mass, time, current, temperature, angle.
const fn d(length: i8, mass: i8, time: i8, current: i8, temperature: i8, angle: i8) -> Dimension {
    Dimension::of(length, mass, time, current, temperature, angle)
}

/// Every kind of quantity an input may have. Where kinds share a dimension, the one a person means
/// first comes first.
#[rustfmt::skip]
pub static KINDS: &[Kind] = &[
    // space and time
    line("length", d(1, 0, 0, 0, 0, 0), &["mm", "m", "cm", "km", "µm", "in", "ft"],
        "extent or distance along a path (ISO 80000-3)"),
    line("radius", d(1, 0, 0, 0, 0, -1), &["mm", "m", "cm", "in", "ft"],
        "arc per angle: r·ω is a speed (ISO 80000-3; the rad is left out in writing)").rad_left_out(),
    line("diameter", d(1, 0, 0, 0, 0, -1), &["mm", "m", "cm", "in", "ft"],
        "twice a radius: d/2 is a radius (ISO 80000-3; the rad is left out in writing)").rad_left_out(),
    line("travel per turn", d(1, 0, 0, 0, 0, -1), &["mm/r", "m/r", "mm/rad", "in/r"],
        "path for one turn or one radian: the lead of a screw (ISO 80000-3; the angle is written)"),
    line("area", d(2, 0, 0, 0, 0, 0), &["mm²", "cm²", "m²", "in²", "ft²"],
        "extent of a surface (ISO 80000-3)").settling(),
    line("volume", d(3, 0, 0, 0, 0, 0), &["m³", "L", "cm³", "mm³", "in³", "ft³", "gal"],
        "extent of a body (ISO 80000-3)").settling(),
    line("time", d(0, 0, 1, 0, 0, 0), &["s", "ms", "min", "h", "d", "µs"],
        "duration (ISO 80000-3)"),
    line("speed", d(1, 0, -1, 0, 0, 0), &["m/s", "mm/s", "m/min", "km/h", "ft/s", "in/s", "ft/min", "mile/h"],
        "length per time (ISO 80000-3)"),
    line("acceleration", d(1, 0, -2, 0, 0, 0), &["m/s²", "mm/s²", "g_n", "ft/s²", "in/s²"],
        "speed per time (ISO 80000-3)").settling(),
    line("jerk", d(1, 0, -3, 0, 0, 0), &["m/s³", "mm/s³", "ft/s³", "in/s³"],
        "acceleration per time (ISO 80000-3)").settling(),
    line("angle", d(0, 0, 0, 0, 0, 1), &["°", "rad", "r", "mrad"],
        "plane angle; one turn is r = 2π rad (ISO 80000-3)"),
    line("speed of rotation", d(0, 0, -1, 0, 0, 1), &["r/min", "rad/s", "r/s", "°/s"],
        "angle per time: angular velocity, in r/min as the trade writes it (ISO 80000-3)"),
    line("angular acceleration", d(0, 0, -2, 0, 0, 1), &["rad/s²", "r/s²", "(r/min)/s", "°/s²"],
        "speed of rotation per time (ISO 80000-3)"),
    line("angular jerk", d(0, 0, -3, 0, 0, 1), &["rad/s³", "r/s³", "°/s³"],
        "angular acceleration per time (common practice, no source)"),
    line("rate", d(0, 0, -1, 0, 0, 0), &["1/s", "1/min", "1/h", "1/d"],
        "how many per time: stops per hour (ISO 80000-1)"),
    line("frequency", d(0, 0, -1, 0, 0, 0), &["Hz", "kHz", "MHz"],
        "periods per time (ISO 80000-3)"),
    // mechanics
    line("mass", d(0, 1, 0, 0, 0, 0), &["kg", "g", "t", "lb", "oz", "slug"],
        "mass; weight in everyday words (ISO 80000-4)").settling(),
    line("density", d(-3, 1, 0, 0, 0, 0), &["kg/m³", "g/cm³", "kg/dm³", "lb/ft³", "lb/in³"],
        "mass per volume (ISO 80000-4)").settling(),
    line("mass per length", d(-1, 1, 0, 0, 0, 0), &["kg/m", "g/m", "lb/ft"],
        "linear density of a belt or rope (ISO 80000-4)").settling(),
    line("inertia", d(2, 1, 0, 0, 0, -2), &["kg·m²", "kg·cm²", "g·cm²", "lb·ft²", "lb·in²", "oz·in²", "lbf·in·s²", "ozf·in·s²", "lbf·ft·s²", "kgf·m·s²"],
        "moment of inertia: torque per angular acceleration, kg·m²/rad² (ISO 80000-4; the rad is left out in writing)").rad_left_out(),
    line("flywheel effect", d(2, 1, 0, 0, 0, -2), &["kgf·m²", "N·m²", "kgf·cm²", "kg·m²"],
        "GD²: weight times the square of the diameter of gyration; read as the inertia J = GD²/4 (weight in kgf is its mass in kg; weight in N is divided by g_n too); common practice, no source").rad_left_out(),
    line("angular momentum", d(2, 1, -1, 0, 0, -1), &["N·m·s"],
        "inertia times speed of rotation (ISO 80000-4; the rad is left out in writing)").rad_left_out(),
    line("force", d(1, 1, -2, 0, 0, 0), &["N", "kN", "MN", "lbf", "kgf", "ozf"],
        "force (ISO 80000-4)").settling(),
    line("stiffness", d(0, 1, -2, 0, 0, 0), &["N/m", "N/mm", "lbf/in", "lbf/ft"],
        "force per length of a straight spring (ISO 80000-4)").settling(),
    line("pressure", d(-1, 1, -2, 0, 0, 0), &["MPa", "bar", "Pa", "kPa", "N/mm²", "psi", "atm"],
        "force per area; stress (ISO 80000-4)").settling(),
    line("torque", d(2, 1, -2, 0, 0, -1), &["N·m", "kN·m", "mN·m", "N·cm", "lbf·ft", "lbf·in", "ozf·in", "kgf·m", "kgf·cm"],
        "moment of force: energy per angle, J/rad (ISO 80000-4; the rad is left out in writing)").rad_left_out(),
    line("torsional stiffness", d(2, 1, -2, 0, 0, -2), &["N·m/rad", "kN·m/rad", "N·m/°", "lbf·in/rad", "lbf·ft/rad"],
        "torque per angle of a shaft or coupling (ISO 80000-4)"),
    line("speed-proportional drag", d(2, 1, -1, 0, 0, -2), &["N·m·s/rad", "N·m/(r/min)", "lbf·in·s/rad", "lbf·ft/(r/min)"],
        "torque per speed of rotation: viscous friction (common practice, no source)"),
    line("square-law drag", d(2, 1, 0, 0, 0, -3), &["N·m·s²/rad²", "N·m/(r/min)²", "lbf·ft/(r/min)²"],
        "torque per square of the speed of rotation: a fan (common practice, no source)"),
    line("linear drag", d(0, 1, -1, 0, 0, 0), &["N·s/m", "N/(m/s)", "lbf·s/in"],
        "force per speed (common practice, no source)"),
    line("energy", d(2, 1, -2, 0, 0, 0), &["J", "kJ", "MJ", "W·s", "W·h", "kW·h", "ft·lbf", "in·lbf", "Btu"],
        "work, heat (ISO 80000-4)"),
    line("power", d(2, 1, -3, 0, 0, 0), &["W", "kW", "MW", "hp", "hp_M", "hp_E", "ft·lbf/s", "Btu/h"],
        "energy per time (ISO 80000-4)"),
    line("torque per time", d(2, 1, -3, 0, 0, -1), &["N·m/s", "kN·m/s", "lbf·ft/s"],
        "how fast a drive or brake builds up torque (common practice, no source)").rad_left_out(),
    line("energy per area", d(0, 1, -2, 0, 0, 0), &["J/mm²", "J/cm²", "J/m²"],
        "energy per stop on the area of a lining (common practice, no source)").settling(),
    line("power per area", d(0, 1, -3, 0, 0, 0), &["W/mm²", "W/cm²", "W/m²", "kW/m²", "hp/in²"],
        "density of heat flow rate (ISO 80000-5)").settling(),
    line("wear rate", d(1, -1, 2, 0, 0, 0), &["mm³/J", "mm³/MJ", "cm³/MJ", "cm³/(kW·h)", "in³/(hp·h)"],
        "volume worn off per energy (common practice, no source)"),
    line("volume flow", d(3, 0, -1, 0, 0, 0), &["m³/s", "m³/h", "L/min", "L/s", "ft³/min"],
        "volume per time: cooling air, oil (ISO 80000-4)"),
    // pure numbers
    line("ratio", Dimension::NONE, &[], "a quantity over another of its kind: a gear ratio (ISO 80000-1)").read_bare(),
    line("efficiency", Dimension::NONE, &["%"], "power out over power in (ISO 80000-4)").read_bare(),
    line("coefficient of friction", Dimension::NONE, &[], "friction force over normal force (ISO 80000-4)").read_bare(),
    line("share", Dimension::NONE, &["%", "‰", "ppm"], "a part of a whole: duty, slip, tolerance (ISO 80000-1)").read_bare(),
    line("count", Dimension::NONE, &[], "a number of things (ISO 80000-1)").read_bare(),
    // heat
    line("temperature", d(0, 0, 0, 0, 1, 0), &["°C", "K", "°F"],
        "temperature on the scale; in K once converted (ISO 80000-5)").on_a_scale(),
    line("temperature difference", d(0, 0, 0, 0, 1, 0), &["K", "°C", "°F", "°R"],
        "temperature rise or drop: no zero of a scale is added (ISO 80000-5)"),
    line("temperature change rate", d(0, 0, -1, 0, 1, 0), &["K/s", "K/min", "K/h"],
        "temperature difference per time (common practice, no source)"),
    line("temperature coefficient", d(0, 0, 0, 0, -1, 0), &["1/K", "%/K", "ppm/K"],
        "relative change per temperature difference: resistance, length (ISO 80000-5)"),
    line("heat capacity", d(2, 1, -2, 0, -1, 0), &["J/K", "kJ/K", "W·s/K"],
        "energy per temperature difference (ISO 80000-5)"),
    line("specific heat capacity", d(2, 0, -2, 0, -1, 0), &["J/(kg·K)", "kJ/(kg·K)", "Btu/(lb·°R)"],
        "heat capacity per mass (ISO 80000-5)"),
    line("thermal resistance", d(-2, -1, 3, 0, 1, 0), &["K/W", "K/kW"],
        "temperature difference per heat flow rate (ISO 80000-5)"),
    line("thermal conductance", d(2, 1, -3, 0, -1, 0), &["W/K", "kW/K"],
        "heat flow rate per temperature difference (ISO 80000-5)"),
    line("thermal conductivity", d(1, 1, -3, 0, -1, 0), &["W/(m·K)"],
        "heat flow rate through a body (ISO 80000-5)"),
    line("heat transfer coefficient", d(0, 1, -3, 0, -1, 0), &["W/(m²·K)", "W/(cm²·K)", "Btu/(h·ft²·°R)"],
        "heat flow rate per area and temperature difference (ISO 80000-5)"),
    // electricity
    line("voltage", d(2, 1, -3, -1, 0, 0), &["V", "mV", "kV"], "electric tension (ISO 80000-6)"),
    line("current", d(0, 0, 0, 1, 0, 0), &["A", "mA", "kA"], "electric current (ISO 80000-6)"),
    line("resistance", d(2, 1, -3, -2, 0, 0), &["Ω", "mΩ", "kΩ"], "electric resistance (ISO 80000-6)"),
    line("capacitance", d(-2, -1, 4, 2, 0, 0), &["µF", "mF", "F", "nF"], "charge per voltage (ISO 80000-6)"),
    line("inductance", d(2, 1, -2, -2, 0, 0), &["mH", "H", "µH"], "flux per current (ISO 80000-6)"),
    line("charge", d(0, 0, 1, 1, 0, 0), &["C", "A·s", "A·h", "mA·h"], "electric charge (ISO 80000-6)"),
    line("current-squared time", d(0, 0, 1, 2, 0, 0), &["A²·s"], "what a fuse or a resistor lets through (common practice, no source)"),
    line("torque per current", d(2, 1, -2, -1, 0, -1), &["N·m/A", "lbf·in/A", "ozf·in/A"],
        "torque constant of a motor (common practice, no source; the rad is left out in writing)").rad_left_out(),
    line("voltage per speed of rotation", d(2, 1, -2, -1, 0, -1), &["V/(r/min)", "mV/(r/min)", "V/(rad/s)", "V·s/rad"],
        "voltage constant of a motor: 1 mV/(r/min) is 1 V at 1000 r/min (common practice, no source)"),
];
