//! Units as rating plates write them: made by rule from the strict notation, read back as the same unit or refused.
//!
//! The rules of writing are common practice, no source; what a plate's text means is known here because it was made
//! from the unit, not because it was read.

use standstill::Sheet;
use standstill::calculation::{Cases, asked_bound, asked_value};
use standstill::diagnostic::Source;
use standstill::unit::{KINDS, Kind, Unit, kind};

type Way = fn(&str) -> String;

/// How a plate writes a unit of the strict notation.
const WAYS: &[(&str, Way)] = &[
    ("run together", |unit| unit.replace('·', "")),
    ("plain digits", |unit| plain(unit, "")),
    ("plain digits, run together", |unit| plain(unit, "").replace('·', "")),
    ("carets", |unit| plain(unit, "^")),
    ("carets, run together", |unit| plain(unit, "^").replace('·', "")),
    ("blanks", |unit| plain(unit, "").replace('·', " ")),
    ("blanks around a solidus", |unit| unit.replace('/', " / ")),
    ("points", |unit| plain(unit, "").replace('·', ".")),
    ("hyphens", |unit| unit.replace('·', "-")),
    ("dot operator", |unit| unit.replace('·', "⋅")),
    ("Greek mu", |unit| unit.replace('µ', "\u{3bc}")),
    ("u for micro", |unit| unit.replace('µ', "u")),
    ("Ohm", |unit| unit.replace('Ω', "Ohm")),
    ("ohm", |unit| unit.replace('Ω', "ohm")),
    ("RPM", |unit| unit.replace("(r/min)", "RPM").replace("r/min", "RPM")),
    ("rpm", |unit| unit.replace("(r/min)", "rpm").replace("r/min", "rpm")),
    ("U/min", |unit| unit.replace("r/min", "U/min")),
    ("sec", |unit| words(unit, "s", "sec")),
    ("hr", |unit| words(unit, "h", "hr")),
    ("deg", |unit| unit.replace('°', "deg")),
    ("no parentheses below", |unit| unit.replace(['(', ')'], "")),
    ("capital kilo", |unit| {
        unit.replace("kW", "KW").replace("kg·", "KG·").replace("kN", "KN").replace("kV", "KV")
    }),
    ("lbs", |unit| words(unit, "lb", "lbs")),
    ("negative power", |unit| match unit.split_once('/') {
        Some((above, below)) if !above.is_empty() && below.chars().all(char::is_alphabetic) => {
            format!("{} {below}-1", if above == "1" { "" } else { above }).trim().to_owned()
        }
        _ => unit.to_owned(),
    }),
];

fn plain(unit: &str, caret: &str) -> String {
    unit.replace('²', &format!("{caret}2")).replace('³', &format!("{caret}3"))
}

/// A symbol replaced where it stands alone.
fn words(unit: &str, symbol: &str, word: &str) -> String {
    let mut made = String::new();
    let mut token = String::new();
    for sign in unit.chars().chain(['\0']) {
        if sign.is_alphabetic() {
            token.push(sign);
            continue;
        }
        made.push_str(if token == symbol { word } else { &token });
        token.clear();
        made.push(sign);
    }
    made.trim_end_matches('\0').to_owned()
}

fn same(one: &Unit, other: &Unit) -> bool {
    one.factor == other.factor && one.zero == other.zero && one.dimension == other.dimension
}

/// Every unit that kinds offer, with every way of writing it, and two ways one after the other.
fn made() -> Vec<(&'static Kind, &'static str, String)> {
    let mut all = Vec::new();
    for kind in KINDS {
        for unit in kind.units {
            for (_, first) in WAYS {
                let once = first(unit);
                for (_, second) in WAYS {
                    all.push((kind, *unit, second(&once)));
                }
                all.push((kind, *unit, once));
            }
        }
    }
    all.sort_by(|a, b| (a.0.name, a.1, &a.2).cmp(&(b.0.name, b.1, &b.2)));
    all.dedup_by(|a, b| (a.0.name, a.1, &a.2) == (b.0.name, b.1, &b.2));
    all
}

#[test]
fn a_plate_is_never_read_as_another_unit_of_its_kind() {
    let (mut read, mut refused) = (0, Vec::new());
    let all = made();
    for (kind, strict, typed) in &all {
        let meant = kind.read_unit(strict).unwrap();
        match kind.unit_of_plate(typed) {
            Some(unit) => {
                assert!(
                    same(&unit, &meant),
                    "{}: {typed} is read as {}, meant {strict}",
                    kind.name,
                    unit.symbol
                );
                read += 1;
            }
            // N/m/s: who knows
            None if typed.matches('/').count() > 1 && !typed.contains('(') => {}
            None => refused.push(format!("{}: {typed} for {strict}", kind.name)),
        }
    }
    // what is refused is asked; that must not be the rule
    assert!(all.len() > 1500, "{}", all.len());
    let share = f64::from(read) / all.len() as f64;
    assert!(share > 0.96, "{share}: {} of {}:\n{}", refused.len(), all.len(), refused.join("\n"));
}

#[test]
fn the_strict_notation_stays_as_it_is_and_is_not_reported() {
    for kind in KINDS {
        for strict in kind.units {
            let (unit, plate) = (kind.read_unit(strict).unwrap(), kind.read_plate(strict).unwrap());
            assert_eq!(unit, plate);
            assert_eq!(plate.typed, None, "{strict}");
        }
    }
}

/// A text that a plate writes for a unit of one kind is read for another kind only where the strict notation of the
/// unit is read there too, and then as the same: a torque never becomes an energy or a length.
#[test]
fn a_plate_of_one_kind_says_nothing_of_another() {
    let mut texts: Vec<(&str, String)> = Vec::new();
    for kind in KINDS {
        for unit in kind.units {
            texts.extend(WAYS.iter().map(|(_, way)| (*unit, way(unit))));
        }
    }
    texts.sort();
    texts.dedup();
    let (mut wrong, mut read) = (Vec::new(), 0);
    for (strict, typed) in &texts {
        for other in KINDS {
            let Some(unit) = other.unit_of_plate(typed) else { continue };
            let Some(typed) = unit.typed.as_deref() else { continue };
            read += 1;
            match other.read_unit(strict) {
                Ok(meant) if same(&meant, &unit) => {}
                // what a plate says of a shaft in 1/min counts turns
                Err(_) if *strict == "1/min" && unit.symbol == "r/min" => {}
                _ => wrong.push(format!("{typed} ({strict}) for {}: {}", other.name, unit.symbol)),
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), texts.len(), wrong.join("\n"));
    assert!(read > 700, "{read}");
}

/// Plates as they are found: text, kind, the unit meant. From memory of rating plates and catalogues.
#[rustfmt::skip]
const FOUND: &[(&str, &str, &str)] = &[
    ("Nm", "torque", "N·m"), ("kNm", "torque", "kN·m"), ("mNm", "torque", "mN·m"), ("MNm", "torque", "MN·m"), ("NM", "torque", "N·m"),
    ("N m", "torque", "N·m"), ("N-m", "torque", "N·m"), ("N.m", "torque", "N·m"), ("Ncm", "torque", "N·cm"), ("Nmm", "torque", "N·mm"),
    ("lb-ft", "torque", "lbf·ft"), ("lb ft", "torque", "lbf·ft"), ("lbft", "torque", "lbf·ft"), ("in-lbs", "torque", "lbf·in"), ("oz-in", "torque", "ozf·in"), ("mkp", "torque", "kgf·m"),
    ("kgm²", "inertia", "kg·m²"), ("kgm2", "inertia", "kg·m²"), ("kg m2", "inertia", "kg·m²"), ("kg.m2", "inertia", "kg·m²"), ("kg m^2", "inertia", "kg·m²"),
    ("kgcm²", "inertia", "kg·cm²"), ("kg-cm2", "inertia", "kg·cm²"), ("lb-ft2", "inertia", "lb·ft²"), ("lb-in²", "inertia", "lb·in²"),
    ("RPM", "speed of rotation", "r/min"), ("rpm", "speed of rotation", "r/min"), ("Rpm", "speed of rotation", "r/min"), ("r.p.m.", "speed of rotation", "r/min"),
    ("U/min", "speed of rotation", "r/min"), ("tr/min", "speed of rotation", "r/min"), ("rev/min", "speed of rotation", "r/min"), ("min⁻¹", "speed of rotation", "r/min"),
    ("min-1", "speed of rotation", "r/min"), ("min^-1", "speed of rotation", "r/min"), ("min^(-1)", "speed of rotation", "r/min"), ("1/min", "speed of rotation", "r/min"), ("/min", "speed of rotation", "r/min"), ("rad/sec", "speed of rotation", "rad/s"),
    ("rad s-1", "speed of rotation", "rad/s"), ("rps", "speed of rotation", "r/s"), ("deg/sec", "speed of rotation", "°/s"), ("rad/s2", "angular acceleration", "rad/s²"), ("rad/sec²", "angular acceleration", "rad/s²"), ("rpm/s", "angular acceleration", "(r/min)/s"),
    ("sec", "time", "s"), ("SEC", "time", "s"), ("seconds", "time", "s"), ("msec", "time", "ms"), ("milliseconds", "time", "ms"), ("hrs", "time", "h"), ("hours", "time", "h"), ("mins", "time", "min"), ("minutes", "time", "min"),
    ("\u{b5}m", "length", "µm"), ("\u{3bc}m", "length", "µm"), ("um", "length", "µm"), ("meters", "length", "m"), ("millimetre", "length", "mm"), ("inches", "length", "in"), ("feet", "length", "ft"), ("micron", "length", "µm"),
    ("Ohm", "resistance", "Ω"), ("ohm", "resistance", "Ω"), ("OHM", "resistance", "Ω"), ("mOhm", "resistance", "mΩ"), ("kOhm", "resistance", "kΩ"), ("KOhm", "resistance", "kΩ"), ("ohms", "resistance", "Ω"), ("Ω", "resistance", "Ω"), ("\u{2126}", "resistance", "Ω"),
    ("m/s2", "acceleration", "m/s²"), ("m/s^2", "acceleration", "m/s²"), ("m/sec2", "acceleration", "m/s²"), ("m s-2", "acceleration", "m/s²"), ("m/sec", "speed", "m/s"), ("m s-1", "speed", "m/s"), ("km/hr", "speed", "km/h"), ("kph", "speed", "km/h"), ("ft/min", "speed", "ft/min"), ("fpm", "speed", "ft/min"),
    ("deg", "angle", "°"), ("°", "angle", "°"), ("degrees", "angle", "°"), ("turns", "angle", "r"), ("degC", "temperature", "°C"), ("deg C", "temperature", "°C"), ("ºC", "temperature", "°C"), ("℃", "temperature", "°C"),
    ("KW", "power", "kW"), ("kw", "power", "kW"), ("kilowatt", "power", "kW"), ("PS", "power", "hp_M"), ("CV", "power", "hp_M"), ("watts", "power", "W"), ("kVA", "power", "kV·A"), ("KVA", "power", "kV·A"),
    ("kWh", "energy", "kW·h"), ("KWh", "energy", "kW·h"), ("Ws", "energy", "W·s"), ("kJ", "energy", "kJ"), ("KJ", "energy", "kJ"), ("Ah", "charge", "A·h"), ("mAh", "charge", "mA·h"),
    ("Volt", "voltage", "V"), ("VDC", "voltage", "V"), ("V DC", "voltage", "V"), ("Amp", "current", "A"), ("uF", "capacitance", "µF"), ("\u{3bc}F", "capacitance", "µF"), ("N/mm2", "pressure", "N/mm²"), ("PSI", "pressure", "psi"), ("kg/m3", "density", "kg/m³"),
    ("J/kgK", "specific heat capacity", "J/(kg·K)"), ("J/kg K", "specific heat capacity", "J/(kg·K)"), ("J/(kg K)", "specific heat capacity", "J/(kg·K)"), ("W/m2K", "heat transfer coefficient", "W/(m²·K)"), ("Nm/A", "torque per current", "N·m/A"), ("Nms/rad", "speed-proportional drag", "N·m·s/rad"), ("Nm/rpm", "speed-proportional drag", "N·m/(r/min)"),
    ("lbs", "mass", "lb"), ("KG", "mass", "kg"), ("Kg", "mass", "kg"), ("kgs", "mass", "kg"), ("kilograms", "mass", "kg"), ("percent", "efficiency", "%"), ("pct", "share", "%"), ("hz", "frequency", "Hz"), ("KHz", "frequency", "kHz"), ("/h", "rate", "1/h"), ("1/hr", "rate", "1/h"), ("per hour", "rate", ""),
];

#[test]
fn plates_as_they_are_found_are_read() {
    let mut wrong = Vec::new();
    for (typed, name, strict) in FOUND {
        let kind = kind(name).unwrap();
        match (kind.read_plate(typed), strict.is_empty()) {
            (Ok(unit), false) if same(&unit, &kind.read_unit(strict).unwrap()) => {}
            (Err(_), true) => {}
            (found, _) => wrong.push(format!(
                "{typed} for {name}, meant {strict}: {:?}",
                found.map(|unit| unit.symbol)
            )),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What may mean two things, or is another kind's: asked, never chosen.
#[rustfmt::skip]
#[test]
fn what_may_mean_two_things_is_asked() {
    for (typed, name) in [
        ("MA", "current"), ("MF", "capacitance"), ("Mm", "length"), ("Ms", "time"), ("Grad", "angle"),
        ("1/s", "speed of rotation"), ("s-1", "speed of rotation"), ("Hz", "speed of rotation"), ("hz", "speed of rotation"), ("rev", "speed of rotation"), ("U", "angle"), ("krpm", "speed of rotation"), ("1/h", "speed of rotation"), ("RPM", "rate"), ("RPM", "frequency"), ("U/min", "rate"),
        ("g", "acceleration"), ("G", "acceleration"), ("M", "length"), ("M", "torque"), ("MM", "length"), ("NM", "length"), ("Nm", "length"), ("Nm", "energy"), ("NM", "energy"), ("J", "torque"), ("Ws", "torque"), ("nm", "torque"),
        ("mnm", "torque"), ("MNM", "torque"), ("mw", "power"), ("Mw", "power"), ("mpa", "pressure"), ("Mpa", "pressure"), ("MS", "time"), ("Ms ", "force"), ("HP", "power"), ("Hp", "power"), ("kn", "force"), ("kg", "force"), ("lbs", "force"), ("kgm", "torque"), ("kg m", "torque"), ("kgcm", "torque"),
        ("C", "temperature"), ("F", "temperature"), ("°", "temperature"), ("deg", "temperature"), ("kcal", "energy"), ("cal", "energy"), ("psig", "pressure"), ("ton", "mass"), ("tons", "mass"), ("mpm", "speed"), ("MOHM", "resistance"), ("mohms", "speed"), ("mhz", "frequency"),
        ("ms-1", "speed"), ("%%", "share"), ("% %", "efficiency"), ("%·%", "rate"), ("%%", "ratio"), ("m/s/s", "acceleration"), ("W/mK", "thermal conductivity"), ("mm", "area"), ("min", "area"), ("kgfm2", "inertia"), ("kgm", "inertia"), ("GD2", "inertia"), ("Nm2", "inertia"), ("kg", "inertia"), ("m2", "inertia"), ("", "torque"), ("-", "torque"), ("/", "rate"), ("1", "rate"), ("1/", "rate"), ("()", "time"), ("s^", "time"), ("²", "area"), ("·", "length"),
    ] {
        let kind = kind(name).unwrap();
        assert!(kind.read_plate(typed).is_err(), "{typed} for {name}: {:?}", kind.read_plate(typed).map(|it| it.symbol));
    }
}

/// A unit of a plate is read at every door at which a person gives a value: a question's bound and range, the inputs and
/// figures of a case, a plan of recorded stops. What may mean two things, or another kind, is refused at all of them.
#[test]
fn every_door_reads_a_plate_alike() {
    let sheet = Sheet::library("run-down").unwrap();
    let program = sheet.program();
    for (input, plate, strict) in [
        ("J", "0.1 kgm2", "0.1 kg·m²"),
        ("J", "0.1 kg m2", "0.1 kg·m²"),
        ("n_0", "1450 RPM", "1450 r/min"),
        ("n_0", "1450 U/min", "1450 r/min"),
        ("T_0", "4 Nm", "4 N·m"),
    ] {
        let value = |text| asked_value(program, input, text).unwrap().si_f64();
        assert_eq!(value(plate), value(strict), "{plate}");
    }
    for (plate, strict) in [("10 sec", "10 s"), ("0.5 hrs", "0.5 h")] {
        let value = |text| asked_bound(program, "t_stop", text).unwrap().si_f64();
        assert_eq!(value(plate), value(strict), "{plate}");
    }
    let hoist = Sheet::library("hoist").unwrap();
    let bound = |text| asked_bound(hoist.program(), "T_raise", text);
    assert_eq!(bound("60 Nm").unwrap().si_f64(), 60.0);
    assert_eq!(bound("0.06 kNm").unwrap().si_f64(), 60.0);
    // a torque is not an energy, mN·m is not MN·m
    for refused in ["60 J", "60 MNM", "60"] {
        assert!(bound(refused).is_err(), "{refused}");
    }

    // J ω / T = 0.35 · 151.8436 / 4 = 13.286 s
    let case = |gives: &str| {
        let text = format!(
            "sheet run-down\ncase a\n  J = 0.35 kgm2\n  n_0 = 1450 RPM\n  T_0 = 4 Nm\n  gives t_stop = {gives}\n"
        );
        let (cases, problems) = Cases::read(&Source::new("run-down.cases", text.as_str()));
        assert_eq!(problems, vec![]);
        cases.cases[0].run(program)
    };
    assert_eq!(case("13.286 sec within 0.1 %"), vec![]);
    assert_eq!(case("13.286 sec within 0.005 sec"), vec![]);
    assert_eq!(case("13.2 sec within 0.1 %").len(), 1);

    let plan = |words: [&str; 3]| {
        let all = ["a.csv", "time=t in ms", "speed=n in r/min", "stop=cmd falls"];
        let all: Vec<String> = all.iter().chain(&words).map(|it| (*it).to_owned()).collect();
        standstill::recording::Plan::read(None, &all)
    };
    let sizes = |words| {
        let plan = format!("{:?}", plan(words).unwrap());
        let sizes = plan.split("si: ").skip(1).map(|it| it.split([',', ' ', '}']).next());
        sizes.map(|it| it.unwrap().to_owned()).collect::<Vec<_>>()
    };
    let strict = sizes(["standstill=10 r/min", "error=2 r/min", "filter=0.02 s"]);
    assert!(strict.len() >= 3, "{strict:?}");
    assert_eq!(sizes(["standstill=10 U/min", "error=2 RPM", "filter=0.02 sec"]), strict);
    assert!(plan(["standstill=10 U/sec²", "error=2 RPM", "filter=0.02 sec"]).is_err());
}
