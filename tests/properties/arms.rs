//! A radius, a diameter and a travel per turn are told apart, and so are rad/s and Hz, a share and a plain number.
//!
//! What is right follows from the definitions: a travel per turn is a length per turn (r = 2π rad), an area is π·r² or
//! π·d²/4, an inertia m·r²/2 or m·d²/8 (OpenStax University Physics vol. 1, figure 10.20), an oscillation has
//! f = √(k/m)/(2π) (the same, 15.5), 1 % is 0.01 (ISO 80000-1).

use standstill::diagnostic::{Diagnostic, Name, Source};
use standstill::environment::NoFs;
use standstill::program::compile;
use standstill::project::Project;

const TAKES: &str = "  lead : travel per turn in mm/r above 0 mm/r like 20 mm/r\n  z : count above 0 like 3\n  \
    r : radius in mm above 0 mm like 100 mm\n  d : diameter in mm above 0 mm like 200 mm\n  \
    e : diameter in mm above 0 mm like 100 mm\n  L : length in mm above 0 mm like 100 mm\n  phi : angle in r like 3 r\n  \
    n : speed of rotation in r/min like 1200 r/min\n  v : speed in m/s like 1 m/s\n  m : mass in kg above 0 kg like 10 kg\n  \
    k : stiffness in N/mm above 0 N/mm like 900 N/mm\n  c : torsional stiffness in N·m/rad above 0 N·m/rad like 50 N·m/rad\n  \
    J : inertia in kg·m² above 0 kg·m² like 2 kg·m²\n  q : share in % from 0 % to 100 % like 12 %\n  E : energy in J like 3 J\n  \
    F : force in N like 3 N\n  g : ratio = 60\n";

fn errors(formula: &str, holds: &str, gives: &str) -> Vec<Diagnostic> {
    let holds = match holds {
        "" => String::new(),
        holds => format!("holds\n  {holds} \"so\" else \"not so\"\n"),
    };
    let text = format!(
        "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n{TAKES}works\n  {formula}\n{holds}gives\n  {gives}\n"
    );
    let checked = compile(&Source::new("s.sheet", text), &Project::new(&NoFs));
    checked.problems.into_iter().filter(Diagnostic::is_error).collect()
}

#[test]
fn a_travel_per_turn_is_no_length() {
    for (formula, holds, gives) in [
        ("x = 3 * lead", "", "x in mm"),
        ("x = z * lead", "", "x in mm"),
        ("x = lead * z / 2", "", "x in mm"),
        ("x = z * lead", "x <= 10 mm", "z"),
        ("x = z * lead", "10 mm > x", "z"),
        ("x = z * lead\n  y = x", "y <= L", "z"),
        ("x = z * lead", "", "x in mm/r rounded up to 1 mm"),
        ("x = lead + r", "", "x in mm"),
        ("x = r - lead", "", "x in mm"),
        ("x = lead + L", "", "x in mm"),
        ("x = max(lead, r)", "", "x in mm"),
        ("x = min(L, lead)", "", "x in mm"),
        ("x = when z > 1 : lead\n      otherwise : L", "", "x in mm"),
        ("x : radius = lead", "", "x in mm"),
        ("x : diameter = 2 * lead", "", "x in mm"),
        ("x : length = lead", "", "x in mm"),
        ("x : travel per turn = d", "", "x in mm/r"),
        ("x = r", "", "r in mm/r, x in mm"),
        ("x = d", "", "x in mm/r"),
    ] {
        let found = errors(formula, holds, gives);
        let is = |it: &Diagnostic| it.name == Name::WrongPowerOfRad;
        assert!(found.iter().any(is), "{formula}; {holds}; {gives}: {found:?}");
    }
    for (formula, holds, gives) in [
        ("x = phi * lead", "", "x in mm"),
        ("x = z * 1 r * lead", "x < 10 mm", "x in mm"),
        ("x = 3 * lead", "", "x in mm/r"),
        ("x = z * lead", "x < 10 mm/r", "x in mm/r rounded up to 1 mm/r"),
        ("x = n * lead", "", "x in m/s"),
        ("x : travel per turn = d / 2", "", "x in mm/r"),
        ("x : travel per turn = r", "", "x in mm/r"),
        ("x : torque = F * lead", "", "x in N·m"),
        ("x : inertia = m * lead^2", "", "x in kg·m²"),
        ("x : speed of rotation = v / lead", "", "x in r/min"),
        ("x = v / n", "lead < x", "z"),
        ("x = max(lead, 2 * lead)", "", "x in mm/r"),
        ("x = d / 2 + r", "r < d / 2", "x in mm"),
    ] {
        let found = errors(formula, holds, gives);
        assert!(found.is_empty(), "{formula}; {holds}; {gives}: {found:?}");
    }
}

#[test]
fn formulas_by_the_radius_and_by_the_diameter_are_told_apart() {
    for (formula, holds, gives) in [
        ("x : inertia = 1/8 * m * r^2", "", "x in kg·m²"),
        ("x : inertia = m * r^2 / 8", "", "x in kg·m²"),
        ("x : inertia = 1/10 * m * r^2", "", "x in kg·m²"),
        ("x = pi / 4 * r^2", "", "x in mm²"),
        ("x = pi * r^2 * L / 4", "", "x in m³"),
        ("x = pi / 6 * r^3", "", "x in m³"),
        ("x = F / (pi / 4 * r^2)", "", "x in MPa"),
        ("x : inertia = 1/2 * m * (d^2 + e^2)", "", "x in kg·m²"),
        ("x : inertia = m * (r^2 + e^2) / 8", "", "x in kg·m²"),
        ("x = z", "r <= d", "x"),
        ("x = z", "e > r", "x"),
        ("x = max(r, d)", "", "x in mm"),
    ] {
        let found = errors(formula, holds, gives);
        let is = |it: &Diagnostic| it.name == Name::WrongPowerOfRad;
        assert!(found.iter().any(is), "{formula}; {holds}: {found:?}");
    }
    for (formula, holds, gives) in [
        ("x : inertia = 1/2 * m * r^2", "", "x in kg·m²"),
        ("x : inertia = m * (2 * r)^2 / 8", "", "x in kg·m²"),
        ("x : inertia = m * (r^2 + (e / 2)^2) / 2", "", "x in kg·m²"),
        ("x = pi * r^2", "", "x in mm²"),
        ("x = pi / 4 * (2 * r)^2", "", "x in mm²"),
        ("x = pi * (r^2 - (e / 2)^2)", "", "x in mm²"),
        ("x = z", "r <= d / 2", "x"),
        ("x = z", "2 * r <= d", "x"),
        ("x = z", "e < d", "x"),
    ] {
        let found = errors(formula, holds, gives);
        assert!(found.is_empty(), "{formula}; {holds}: {found:?}");
    }
}

#[test]
fn the_root_of_a_stiffness_over_an_inertia_is_in_radians() {
    for (formula, gives) in [
        ("x : frequency = sqrt(k / m)", "x in Hz"),
        ("x = sqrt(k / m)", "x in Hz"),
        ("x : frequency = sqrt(c / J)", "x in Hz"),
        ("x = sqrt(c / J)\n  y = x", "y in Hz"),
        ("x = (k / m)^0.5", "x in Hz"),
        ("x = sqrt(k / m) * 1 r", "x in r/min"),
    ] {
        let found = errors(formula, "", gives);
        let is = |it: &Diagnostic| it.name == Name::WrongPowerOfRad;
        assert!(found.iter().any(is), "{formula}: {found:?}");
    }
    for (formula, gives) in [
        ("x : frequency = sqrt(k / m) / (2 * pi)", "x in Hz"),
        ("x = sqrt(c / J) / (2 * pi)", "x in Hz"),
        ("x = w / (2 * pi)\n  w = sqrt(k / m)", "x in Hz"),
        ("x = sqrt(k / m) * 1 rad", "x in r/min"),
        ("x = v / L", "x in Hz"),
    ] {
        let found = errors(formula, "", gives);
        assert!(found.is_empty(), "{formula}: {found:?}");
    }
}

#[test]
fn a_share_is_no_plain_number() {
    for (formula, holds, gives) in [
        ("x = z", "q <= 15", "x"),
        ("x = z", "15 > q", "x"),
        ("x = when q > 10 : z\n      otherwise : 1", "", "x"),
        ("x = max(q, 5)", "", "x in %"),
        ("x = q", "", "x in % rounded up to 2"),
        ("x = q", "", "x in % rounded up to 1"),
        ("x = z", "", "x, q in % rounded up to 5"),
    ] {
        let found = errors(formula, holds, gives);
        let is = |it: &Diagnostic| it.name == Name::PercentAsNumber;
        assert!(found.iter().any(is), "{formula}; {holds}: {found:?}");
    }
    for (formula, holds, gives) in [
        ("x = z", "q <= 15 %", "x"),
        ("x = z", "q <= 0.15", "x"),
        ("x = z", "q < 1", "x"),
        ("x = L * (1 + q)", "1 + q < 2", "x in mm"),
        ("x = q", "", "x in % rounded up to 1 %"),
    ] {
        let found = errors(formula, holds, gives);
        assert!(found.is_empty(), "{formula}; {holds}: {found:?}");
    }
    for range in ["from 0 to 100 like 5 %", "like 5", "= 20"] {
        let text = format!(
            "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n  q : share in % {range}\nworks\n  x = q\ngives\n  x in %\n"
        );
        let checked = compile(&Source::new("s.sheet", text), &Project::new(&NoFs));
        let is = |it: &Diagnostic| it.is_error() && it.name == Name::PercentAsNumber;
        assert!(checked.problems.iter().any(is), "{range}: {:?}", checked.problems);
    }
}

/// A ratio of 60 by default beside a quantity with a time in it is a minute; beside what turns it is a gear.
#[test]
fn a_default_that_is_a_minute_is_found() {
    let found = errors("x = E * g", "", "x in J");
    assert!(found.iter().any(|it| it.name == Name::HiddenConversion), "{found:?}");
    assert!(errors("x = n * g", "", "x in r/min").is_empty());
}
