//! The catalogue against uom 0.38, walked at run time.
//!
//! uom keeps its factors as f64 with at most seven digits for what is built on the pound, so these
//! agree to 1e-6 alone; all others to 1e-12, which leaves room for its sums of rounded products.

use std::str::FromStr;

use standstill::unit::{fits, parse_unit, typed_as};

/// Symbols for which uom holds a value of seven digits.
const SEVEN_DIGITS: &[&str] = &[
    "lb", "oz", "lbf", "ozf", "slug", "psi", "hp", "hp_M", "mi³", "Btu", "Btu_th", "gal", "in³",
    "ft³", "ft²", "yd³", "yd²", "mile²", "in⁴",
];

/// Abbreviations that mean another unit in uom, with what it means there.
const OTHER_MEANINGS: &[(&str, &str, &str)] = &[
    ("energy", "Btu", "uom's Btu is the thermochemical one"),
    ("power", "Btu/h", "uom's Btu is the thermochemical one"),
    ("power", "Btu/min", "uom's Btu is the thermochemical one"),
    ("power", "Btu/s", "uom's Btu is the thermochemical one"),
    ("volume", "RT", "register ton; here ronnatesla"),
    ("volume_rate", "RT/s", "register ton; here ronnatesla"),
    ("electric_charge", "F", "faraday; here farad"),
    ("temperature_interval", "°C", "by itself a point on the scale here"),
    ("temperature_interval", "°F", "by itself a point on the scale here"),
    ("thermal_conductance", "g·m/(s³·K)", "uom prints m where it means m²"),
    ("thermal_conductance", "µg·m/(s³·K)", "uom prints m where it means m²"),
];

struct Walk {
    agreed: Vec<String>,
    quarrels: Vec<String>,
}

impl Walk {
    fn compare<D>(&mut self, quantity: &str, abbreviation: &str, value_si: f64)
    where
        D: uom::si::Dimension + ?Sized,
        D::Kind: 'static,
    {
        let text: String = abbreviation.chars().filter(|letter| !letter.is_whitespace()).collect();
        let Ok(unit) = parse_unit(&text) else { return };
        if OTHER_MEANINGS.iter().any(|it| it.0 == quantity && it.1 == text) {
            return;
        }
        let typed = typed_as::<D>().unwrap();
        let found = unit.to_si("1".parse().unwrap(), 0);
        let rounded = SEVEN_DIGITS.iter().any(|symbol| {
            text.split(['·', '/', '(', ')'])
                .any(|part| part == *symbol || part == symbol.trim_end_matches(['²', '³']))
        });
        let allowed = if rounded { 1e-6 } else { 1e-12 };
        let far = ((found - value_si) / value_si).abs();
        if !fits(typed.dimension, unit.dimension) || far > allowed {
            self.quarrels.push(format!(
                "{quantity} {text}: {found} {value_si} {far:.1e} {}",
                unit.dimension
            ));
        } else {
            self.agreed.push(text);
        }
    }
}

macro_rules! walk {
    ($walk:ident, $($module:ident $quantity:ident,)*) => {$(
        for unit in uom::si::$module::units() {
            let abbreviation = unit.abbreviation();
            let Ok(one) = uom::si::f64::$quantity::from_str(&format!("1 {abbreviation}")) else { continue };
            $walk.compare::<uom::si::$module::Dimension>(stringify!($module), abbreviation, one.value);
        }
    )*};
}

#[test]
fn every_unit_that_uom_knows_too_agrees() {
    let mut walk = Walk { agreed: Vec::new(), quarrels: Vec::new() };
    walk!(walk,
        length Length, area Area, volume Volume, time Time, velocity Velocity,
        acceleration Acceleration, jerk Jerk, angle Angle, angular_velocity AngularVelocity,
        angular_acceleration AngularAcceleration, frequency Frequency, mass Mass,
        mass_density MassDensity, linear_mass_density LinearMassDensity,
        moment_of_inertia MomentOfInertia, force Force, pressure Pressure, torque Torque,
        energy Energy, power Power, ratio Ratio, temperature_interval TemperatureInterval,
        electric_potential ElectricPotential, electric_current ElectricCurrent,
        electrical_resistance ElectricalResistance, capacitance Capacitance, inductance Inductance,
        electric_charge ElectricCharge, thermal_conductance ThermalConductance,
        heat_capacity HeatCapacity, specific_heat_capacity SpecificHeatCapacity,
        heat_transfer HeatTransfer, thermal_conductivity ThermalConductivity,
        heat_flux_density HeatFluxDensity, volume_rate VolumeRate,
        temperature_coefficient TemperatureCoefficient,
    );
    assert_eq!(walk.quarrels, Vec::<String>::new());
    for text in ["mm", "in", "N·m", "lbf·ft", "kW·h", "rpm", "rad/s²", "lb", "psi", "hp", "%", "Ω"]
    {
        assert!(walk.agreed.iter().any(|it| it == text), "{text} was not met in uom");
    }
    assert!(walk.agreed.len() > 800, "only {} units were met", walk.agreed.len());
}
