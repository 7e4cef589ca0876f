//! Quantities in uom's types: out of them, into them, and refused where the kind differs.

use standstill::unit::{Dimension, TypedAs, from_typed, kind, to_typed, typed_as};
use uom::si::f64::*;

fn of(name: &str) -> Dimension {
    kind(name).unwrap().dimension
}

macro_rules! round_trip {
    ($($quantity:ident $module:ident $unit:ident $kind:literal,)*) => {$(
        let quantity = $quantity::new::<uom::si::$module::$unit>(2.5);
        let (value_si, typed) = from_typed(quantity).unwrap();
        assert!(standstill::unit::kinds_of(typed.dimension).iter().any(|it| it.name == $kind), $kind);
        assert_eq!(typed.dimension, of($kind), $kind);
        assert_eq!(typed.point, kind($kind).unwrap().point, $kind);
        assert_eq!(value_si, quantity.value);
        assert_eq!(to_typed(value_si, typed), Some(quantity), $kind);
    )*};
}

#[test]
fn a_quantity_comes_back_as_it_went() {
    round_trip!(
        Length length millimeter "length",
        Area area square_meter "area",
        Volume volume liter "volume",
        Time time millisecond "time",
        Velocity velocity meter_per_second "speed",
        Acceleration acceleration meter_per_second_squared "acceleration",
        Angle angle revolution "angle",
        AngularVelocity angular_velocity revolution_per_minute "speed of rotation",
        AngularAcceleration angular_acceleration radian_per_second_squared "angular acceleration",
        AngularJerk angular_jerk radian_per_second_cubed "angular jerk",
        Frequency frequency hertz "frequency",
        Mass mass kilogram "mass",
        MassDensity mass_density kilogram_per_cubic_meter "density",
        MomentOfInertia moment_of_inertia kilogram_square_meter "inertia",
        AngularMomentum angular_momentum kilogram_square_meter_per_second "angular momentum",
        Force force newton "force",
        Pressure pressure bar "pressure",
        Torque torque newton_meter "torque",
        Energy energy joule "energy",
        Power power kilowatt "power",
        Ratio ratio percent "ratio",
        ThermodynamicTemperature thermodynamic_temperature degree_celsius "temperature",
        TemperatureInterval temperature_interval kelvin "temperature difference",
        ThermalConductance thermal_conductance watt_per_kelvin "thermal conductance",
        HeatCapacity heat_capacity joule_per_kelvin "heat capacity",
        SpecificHeatCapacity specific_heat_capacity joule_per_kilogram_kelvin "specific heat capacity",
        HeatTransfer heat_transfer watt_per_square_meter_kelvin "heat transfer coefficient",
        ElectricPotential electric_potential volt "voltage",
        ElectricCurrent electric_current ampere "current",
        ElectricalResistance electrical_resistance ohm "resistance",
        Capacitance capacitance microfarad "capacitance",
        Inductance inductance millihenry "inductance",
        ElectricCharge electric_charge coulomb "charge",
    );
}

#[test]
fn a_torque_is_not_taken_out_as_an_energy_nor_a_speed_of_rotation_as_a_frequency() {
    let typed = |name| TypedAs { dimension: of(name), point: false };
    assert!(to_typed::<uom::si::torque::Dimension>(1.0, typed("torque")).is_some());
    assert!(to_typed::<uom::si::energy::Dimension>(1.0, typed("torque")).is_none());
    assert!(to_typed::<uom::si::torque::Dimension>(1.0, typed("energy")).is_none());
    assert!(to_typed::<uom::si::frequency::Dimension>(1.0, typed("speed of rotation")).is_none());
    assert!(to_typed::<uom::si::angular_velocity::Dimension>(1.0, typed("rate")).is_none());
    assert!(to_typed::<uom::si::ratio::Dimension>(1.0, typed("angle")).is_none());
    // a radius is a length as well
    assert!(to_typed::<uom::si::length::Dimension>(1.0, typed("radius")).is_some());
    let rise = typed("temperature difference");
    assert!(to_typed::<uom::si::temperature_interval::Dimension>(1.0, rise).is_some());
    assert!(to_typed::<uom::si::thermodynamic_temperature::Dimension>(1.0, rise).is_none());
}

#[test]
fn what_has_moles_candelas_or_solid_angles_is_not_taken() {
    assert_eq!(typed_as::<uom::si::amount_of_substance::Dimension>(), None);
    assert_eq!(typed_as::<uom::si::luminous_intensity::Dimension>(), None);
    assert_eq!(typed_as::<uom::si::solid_angle::Dimension>(), None);
    assert_eq!(typed_as::<uom::si::information::Dimension>(), None);
    assert_eq!(typed_as::<uom::si::mass_concentration::Dimension>(), None);
}
