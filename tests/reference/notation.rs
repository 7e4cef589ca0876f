//! What each notation means, by itself and for a declared kind.
//!
//! Common practice, no source, except where a line says more.

use standstill::unit::{
    Dimension, KINDS, UnitReason, fits, kind, kinds_of, name_of, parse_unit, settle, usual_unit,
};

fn of(name: &str) -> Dimension {
    kind(name).unwrap_or_else(|| panic!("no kind {name}")).dimension
}

#[test]
fn a_unit_by_itself_has_its_true_dimension() {
    for (text, name) in [
        ("N·m", "torque"),
        ("kN·m", "torque"),
        ("lbf·ft", "torque"),
        ("lbf·in", "torque"),
        ("ozf·in", "torque"),
        ("kgf·m", "torque"),
        ("kgf*cm", "torque"),
        ("ft·lbf", "energy"),
        ("in·lbf", "energy"),
        ("J", "energy"),
        ("W·s", "energy"),
        ("kW·h", "energy"),
        ("hp·h", "energy"),
        ("kg·m²/s²", "energy"),
        ("ft·lbf/s", "power"),
        ("Btu/h", "power"),
        ("N·m/s", "torque per time"),
        ("N·(m/s)", "power"),
        ("kgf·mph", "power"),
        ("(N·m)/s", "torque per time"),
        ("N·(m)", "torque"),
        ("N·m/rad", "torsional stiffness"),
        ("N·m·s/rad", "speed-proportional drag"),
        ("N·m/(rad/s)", "speed-proportional drag"),
        ("N·m/(r/min)", "speed-proportional drag"),
        ("N·m·s²/rad²", "square-law drag"),
        ("N·m/(r/min)²", "square-law drag"),
        ("N·m/A", "torque per current"),
        ("V·s/rad", "voltage per speed of rotation"),
        ("mV/(r/min)", "voltage per speed of rotation"),
        ("N·m·s", "angular momentum"),
        ("kg·m²", "inertia"),
        ("kg·cm²", "inertia"),
        ("g·cm²", "inertia"),
        ("lb·ft²", "inertia"),
        ("lb·in²", "inertia"),
        ("oz·in²", "inertia"),
        ("oz·in·s²", "inertia"),
        ("lb·in·s²", "inertia"),
        ("lb·ft·s²", "inertia"),
        ("lbf·ft·s²", "inertia"),
        ("kgf·m·s²", "inertia"),
        ("slug·ft²", "inertia"),
        ("r", "angle"),
        ("rad", "angle"),
        ("°", "angle"),
        ("rpm", "speed of rotation"),
        ("r/min", "speed of rotation"),
        ("1/s", "rate"),
        ("Hz", "frequency"),
        ("(r/min)/s", "angular acceleration"),
        ("mm/r", "travel per turn"),
        ("mm", "length"),
        ("%", "ratio"),
        ("m/min", "speed"),
        ("W/(m²·K)", "heat transfer coefficient"),
        ("cm³/(kW·h)", "wear rate"),
    ] {
        let unit = parse_unit(text).unwrap_or_else(|problem| panic!("{text}: {problem}"));
        assert_eq!(unit.dimension, of(name), "{text}");
        assert!(!unit.point);
    }
    assert_eq!(parse_unit("").unwrap().dimension, Dimension::NONE);
    assert!(parse_unit("°C").unwrap().point);
    assert!(!parse_unit("K").unwrap().point);
}

#[test]
fn spellings_print_in_si_notation() {
    for (typed, printed) in [
        ("kg*m^2", "kg·m²"),
        ("Ohm", "Ω"),
        ("\u{2126}", "Ω"),
        ("kOhm", "kΩ"),
        ("um", "µm"),
        ("\u{3bc}m", "µm"),
        ("degC", "°C"),
        ("deg/s", "°/s"),
        ("rev/min", "r/min"),
        ("m*s^-1", "m·s⁻¹"),
        ("m/s^2", "m/s²"),
        ("lb·in·s²", "lbf·in·s²"),
        ("oz·in·s²", "ozf·in·s²"),
        ("kp*m", "kgf·m"),
        ("rpm", "r/min"),
        ("mph", "mile/h"),
        ("rpm/s", "(r/min)/s"),
        ("N·m/rpm", "N·m/(r/min)"),
        ("N·m/rpm²", "N·m/(r/min)²"),
    ] {
        assert_eq!(parse_unit(typed).unwrap().symbol, printed, "{typed}");
    }
}

#[test]
fn every_kind_reads_the_units_it_offers() {
    for kind in KINDS {
        for text in kind.units {
            let unit =
                kind.read_unit(text).unwrap_or_else(|it| panic!("{} {text}: {it}", kind.name));
            assert_eq!(unit.dimension, kind.dimension, "{} {text}", kind.name);
            assert_eq!(unit.symbol, *text, "{}", kind.name);
            assert_eq!(unit.point, kind.point, "{} {text}", kind.name);
            let alone = parse_unit(text).unwrap();
            // GD² is held as the inertia behind it
            if kind.name != "flywheel effect" {
                assert!(fits(alone.dimension, kind.dimension), "{} {text}", kind.name);
                assert_eq!(alone.factor, unit.factor, "{} {text}", kind.name);
            }
        }
    }
}

#[test]
fn a_declared_kind_reads_what_the_trade_writes() {
    for (name, text) in [
        ("torque", "lb·ft"),
        ("torque", "lb·in"),
        ("torque", "oz·in"),
        ("torque", "ft·lbf"),
        ("torque", "ft·lb"),
        ("torque", "in·lbf"),
        ("torque", "J/rad"),
        ("energy", "lbf·ft"),
        ("energy", "lbf·in"),
        ("energy", "ft·lbf"),
        ("power", "lbf·ft/s"),
        ("torsional stiffness", "lb·in/rad"),
        ("torsional stiffness", "N·m/r"),
        ("inertia", "kg·m²/rad²"),
        ("inertia", "N·m·s²"),
        ("inertia", "kg*cm^2"),
        ("inertia", "lb·ft·s²"),
        ("inertia", "slug·ft²"),
        ("radius", "mm"),
        ("radius", "m/rad"),
        ("diameter", "in"),
        ("travel per turn", "mm/rad"),
        ("speed of rotation", "rpm"),
        ("speed of rotation", "°/s"),
        ("rate", "1/min"),
        ("temperature", "K"),
        ("temperature difference", "°F"),
        ("ratio", "%"),
        ("ratio", "mm/m"),
        ("pressure", "N/mm²"),
        ("energy per area", "J/cm²"),
        ("voltage per speed of rotation", "V/rpm"),
        ("angular momentum", "kg·m²/(s·rad)"),
        ("angular momentum", "kg·m²/s"),
        ("torque per current", "V·s"),
    ] {
        let unit = kind(name).unwrap().read_unit(text);
        let unit = unit.unwrap_or_else(|it| panic!("{name} {text}: {it}"));
        assert_eq!(unit.dimension, of(name), "{name} {text}");
    }
    assert_eq!(kind("torque").unwrap().read_unit("lb·ft").unwrap().symbol, "lbf·ft");
}

/// kind, unit, reason, headline, remedy
#[rustfmt::skip]
const REFUSED: &[(&str, &str, UnitReason, &str, &str)] = &[
    ("torque", "J", UnitReason::WrongPowerOfRad, "`J` is a unit of energy, not of torque", "a torque is given in N·m"),
    ("energy", "N·m", UnitReason::WrongPowerOfRad, "`N·m` is a unit of torque, not of energy", "an energy is given in J"),
    ("energy", "kgf·m", UnitReason::WrongPowerOfRad, "`kgf·m` is a unit of torque, not of energy", "an energy is given in J"),
    ("power", "N·m/s", UnitReason::WrongPowerOfRad, "`N·m/s` is a unit of torque per time, not of power", "a power is given in W"),
    ("torque", "mm", UnitReason::WrongKind, "`mm` is a unit of length, radius or diameter, not of torque", "a torque is given in N·m"),
    ("torque", "nm", UnitReason::WrongKind, "`nm` is a unit of length, radius or diameter, not of torque", "write `N·m`"),
    ("speed of rotation", "1/min", UnitReason::WrongPowerOfRad, "`1/min` is a unit of rate, not of speed of rotation", "write `r/min`"),
    ("speed of rotation", "Hz", UnitReason::WrongPowerOfRad, "`Hz` is a unit of frequency, not of speed of rotation", "a speed of rotation is given in r/min"),
    ("frequency", "1/s", UnitReason::WrongPowerOfRad, "`1/s` is a unit of rate, not of frequency", "a frequency is given in Hz"),
    ("rate", "Hz", UnitReason::WrongPowerOfRad, "`Hz` is a unit of frequency, not of rate", "a rate is given in 1/s"),
    ("rate", "r/min", UnitReason::WrongPowerOfRad, "`r/min` is a unit of speed of rotation, not of rate", "a rate is given in 1/s"),
    ("travel per turn", "mm", UnitReason::WrongPowerOfRad, "`mm` is a unit of length, radius or diameter, not of travel per turn", "a travel per turn is given in mm/r"),
    ("radius", "mm/r", UnitReason::WrongPowerOfRad, "`mm/r` is a unit of travel per turn, not of radius", "a radius is given in mm"),
    ("torsional stiffness", "N·m", UnitReason::WrongPowerOfRad, "`N·m` is a unit of torque, not of torsional stiffness", "a torsional stiffness is given in N·m/rad"),
    ("speed-proportional drag", "N·m·s", UnitReason::WrongPowerOfRad, "`N·m·s` is a unit of angular momentum, not of speed-proportional drag", "a speed-proportional drag is given in N·m·s/rad"),
    ("ratio", "r", UnitReason::WrongPowerOfRad, "`r` is a unit of angle, not of ratio", "a ratio is a pure number; leave the unit out"),
    ("angle", "%", UnitReason::WrongPowerOfRad, "`%` is a unit of ratio, efficiency or coefficient of friction, not of angle", "an angle is given in °"),
    ("inertia", "kgf·m²", UnitReason::WrongKind, "`kgf·m²` is a unit of flywheel effect, not of inertia", "is it GD², four times the inertia? `standstill list GD2` finds the sheet that reads it; an inertia itself is given in kg·m²"),
    ("force", "lb", UnitReason::WrongKind, "`lb` is a unit of mass, not of force", "a force is given in N"),
    ("torque", "", UnitReason::WrongKind, "a torque needs its unit", "a torque is given in N·m"),
    ("torque", "Nm", UnitReason::Unknown, "nothing is called `Nm` among the units", "write `N·m`"),
    ("torque", "NM", UnitReason::Unknown, "nothing is called `NM` among the units", "write `N·m`"),
    ("torque", "lb-ft", UnitReason::Unknown, "nothing is called `lb-ft` among the units", "write `lbf·ft`"),
    ("torque", "ft-lbs", UnitReason::Unknown, "nothing is called `ft-lbs` among the units", "write `ft·lbf`"),
    ("torque", "N m", UnitReason::Unreadable, "`N m` does not read as a unit: a unit has no blanks inside", "write `N·m`"),
    ("inertia", "kgm²", UnitReason::Unknown, "nothing is called `kgm` among the units", "write `kg·m²`"),
    ("inertia", "kgm2", UnitReason::Unknown, "nothing is called `kgm2` among the units", "write `kg·m²`"),
    ("inertia", "lb-ft²", UnitReason::Unknown, "nothing is called `lb-ft` among the units", "write `lb·ft²`"),
    ("inertia", "lb-ft2", UnitReason::Unknown, "nothing is called `lb-ft2` among the units", "write `lb·ft²`"),
    ("speed of rotation", "RPM", UnitReason::Unknown, "nothing is called `RPM` among the units", "write `rpm`"),
    ("speed of rotation", "krpm", UnitReason::Unknown, "nothing is called `krpm` among the units", "write `rpm`, and a thousand times the number"),
    ("speed of rotation", "kr/min", UnitReason::Unknown, "nothing is called `kr` among the units", "write `r/min`, and a thousand times the number"),
    ("speed of rotation", "krev/min", UnitReason::Unknown, "nothing is called `krev` among the units", "write `r/min`, and a thousand times the number"),
    ("speed of rotation", "kU/min", UnitReason::Unknown, "nothing is called `kU` among the units", "write `r/min`, and a thousand times the number"),
    ("speed of rotation", "krps", UnitReason::Unknown, "nothing is called `krps` among the units", "write `r/s`, and a thousand times the number"),
    ("speed of rotation", "rmp", UnitReason::Unknown, "nothing is called `rmp` among the units", "did you mean `rpm`?"),
    ("speed of rotation", "U/min", UnitReason::Unknown, "nothing is called `U` among the units", "write `r/min`"),
    ("speed of rotation", "min⁻¹", UnitReason::WrongPowerOfRad, "`min⁻¹` is a unit of rate, not of speed of rotation", "a speed of rotation is given in r/min"),
    ("mass", "KG", UnitReason::Unknown, "nothing is called `KG` among the units", "write `kg`"),
    ("power", "PS", UnitReason::Unknown, "nothing is called `PS` among the units", "write `hp_M`"),
    ("energy", "kWh", UnitReason::Unknown, "nothing is called `kWh` among the units", "write `kW·h`"),
    ("thermal resistance", "°C/W", UnitReason::TemperaturePoint, "`°C` is a point on a scale and cannot be a part of `°C/W`", "write `K/W`"),
    ("acceleration", "m/s/s", UnitReason::Unreadable, "`m/s/s` does not read as a unit: after a `/` everything below it stands in parentheses", "write `m/(s·s)`"),
    ("pressure", "lb/in²", UnitReason::WrongKind, "`lb/in²` is not a unit of pressure", "write `lbf/in²`"),
    ("voltage per speed of rotation", "V/krpm", UnitReason::Unknown, "nothing is called `krpm` among the units", "write `mV/(r/min)`"),
    ("torque", "kg·m", UnitReason::WrongKind, "`kg·m` is not a unit of torque", "write `kgf·m`"),
    ("temperature", "C", UnitReason::WrongKind, "`C` is a unit of charge, not of temperature", "write `°C`"),
    ("temperature", "deg C", UnitReason::Unreadable, "`deg C` does not read as a unit: a unit has no blanks inside", "write `°C`"),
    ("temperature", "K²/K", UnitReason::WrongKind, "`K²/K` is a unit of temperature difference, not of temperature", "a temperature is given in °C"),
    ("capacitance", "uf", UnitReason::Unknown, "nothing is called `uf` among the units", "write `µF`"),
    ("specific heat capacity", "J/kgK", UnitReason::Unknown, "nothing is called `kgK` among the units", "write `J/(kg·K)`"),
    ("speed", "mpm", UnitReason::Unknown, "nothing is called `mpm` among the units", "write `m/min`"),
    ("resistance", "R", UnitReason::Unknown, "nothing is called `R` among the units", "a resistance is given in Ω, mΩ, kΩ"),
    ("length", "xyzzyx", UnitReason::Unknown, "nothing is called `xyzzyx` among the units", "a length is given in mm, m, cm, km, µm, in, ft"),
];

#[test]
fn a_refused_unit_says_what_it_is_and_what_to_write() {
    for (name, text, reason, headline, remedy) in REFUSED {
        let problem = kind(name).unwrap().read_unit(text);
        let problem = problem.err().unwrap_or_else(|| panic!("{name} reads {text}"));
        assert_eq!(
            (problem.reason, problem.headline(), problem.remedy.as_str()),
            (*reason, *headline, *remedy),
            "{name} {text}"
        );
        assert!(text.get(problem.span.clone()).is_some(), "{text}");
    }
}

#[test]
fn what_stands_next_to_a_wrong_unit_is_offered_too() {
    for (name, text, nearest) in [
        ("torque", "nm", "N·m"),
        ("pressure", "lb/in²", "lbf/in²"),
        ("speed of rotation", "1/min", "r/min"),
    ] {
        let problem = kind(name).unwrap().read_unit(text).unwrap_err();
        assert_eq!(problem.nearest.first().map(String::as_str), Some(nearest), "{name} {text}");
    }
}

#[test]
fn a_pound_by_itself_must_say_whether_it_is_a_force() {
    let problem = parse_unit("lb·ft").unwrap_err();
    assert_eq!(
        problem.to_string(),
        "`lb·ft` does not say whether its pound is a mass or a force; write `lbf·ft` for a torque"
    );
    assert_eq!(parse_unit("oz·in").unwrap_err().remedy, "write `ozf·in` for a torque");
}

#[test]
fn a_scale_of_temperature_stands_alone() {
    let problem = parse_unit("W/(m²·°C)").unwrap_err();
    assert_eq!(
        (problem.reason, problem.remedy.as_str()),
        (UnitReason::TemperaturePoint, "write `W/(m²·K)`")
    );
    assert_eq!(parse_unit("Btu/(lb·°F)").unwrap_err().remedy, "write `Btu/(lb·°R)`");
    let rise = kind("temperature difference").unwrap().read_unit("°C").unwrap();
    assert!(!rise.point && rise.zero.is_zero());
    let scale = kind("temperature").unwrap().read_unit("K").unwrap();
    assert!(scale.point && scale.zero.is_zero());
}

#[test]
fn names_carry_their_article() {
    for (name, words) in [
        ("torque", "a torque"),
        ("inertia", "an inertia"),
        ("area", "an area"),
        ("energy", "an energy"),
        ("rate", "a rate"),
        ("ratio", "a pure number"),
    ] {
        assert_eq!(name_of(of(name)), words);
    }
    // an area reckoned from radii has absorbed its rad
    assert_eq!(name_of(of("radius").times(of("radius"))), "an area");
}

#[test]
fn what_a_line_takes_and_what_it_keeps() {
    let omega = of("speed of rotation");
    for (found, settled) in [
        (of("radius").times(of("radius")), of("area")),
        (of("radius").times(omega).times(omega), of("acceleration")),
        (of("torque").over(of("length")), of("force")),
        (of("radius"), of("radius")),
        (of("length"), of("length")),
        (of("inertia"), of("inertia")),
        (of("square-law drag"), of("square-law drag")),
        (of("torque"), of("torque")),
        (of("energy"), of("energy")),
    ] {
        assert_eq!(settle(found), settled);
    }
    assert!(!fits(of("torsional stiffness"), of("torque")));
    assert!(!fits(of("speed-proportional drag"), of("angular momentum")));
    assert!(!fits(of("radius").times(of("angle")).times(omega), of("speed")));
    assert!(fits(of("travel per turn"), of("length")));
    assert!(!fits(of("angle"), of("ratio")));
}

#[test]
fn a_dimension_shows_in_the_unit_a_person_reads() {
    for (name, symbol) in [
        ("torque", "N·m"),
        ("inertia", "kg·m²"),
        ("speed of rotation", "r/min"),
        ("length", "mm"),
        ("rate", "1/s"),
        ("square-law drag", "N·m·s²/rad²"),
    ] {
        let unit = usual_unit(of(name), false);
        assert_eq!((unit.symbol.as_str(), unit.dimension), (symbol, of(name)));
    }
    assert_eq!(kinds_of(of("radius")).len(), 3);
}
