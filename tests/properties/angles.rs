//! Single mistakes in kind or angle, seeded into every sheet of the library: an energy for a torque, Hz for
//! r/min, a length for a lead, a diameter that nobody halved. What is no error is listed with its reason.

use standstill::Sheet;
use standstill::diagnostic::{Diagnostic, Name, Source};
use standstill::environment::NoFs;
use standstill::language::{Shape, parse};
use standstill::library::SHEETS;
use standstill::program::compile;
use standstill::project::Project;

/// The kind that is meant, the one that stands there by mistake, and its unit.
const MISTAKES: [(&str, &str, &str); 7] = [
    ("torque", "energy", "J"),
    ("energy", "torque", "N·m"),
    ("speed of rotation", "frequency", "Hz"),
    ("speed of rotation", "rate", "1/s"),
    ("rate", "speed of rotation", "r/min"),
    ("travel per turn", "length", "mm"),
    ("length", "travel per turn", "mm/r"),
];

/// What no dimension tells apart: sheet, input, mistake, why. The list must not grow.
const SILENT: &[(&str, &str, &str, &str)] = &[
    (
        "reflected-linear",
        "lead",
        "travel per turn as length",
        "a case beside a radius, which is a length too",
    ),
    ("reflected-linear", "r", "module for module / 2", "the line is the radius by its name alone"),
    (
        "roll",
        "L_off",
        "length as travel per turn",
        "a length times a thickness beside the square of a diameter",
    ),
];

fn is_refused(text: &str) -> bool {
    let checked = compile(&Source::new("mutant.sheet", text), &Project::new(&NoFs));
    checked.problems.iter().any(Diagnostic::is_error)
}

/// Every single mistake: sheet, what was changed, and the text with it.
fn mutants() -> Vec<(String, String, String, String)> {
    let mut all = Vec::new();
    for sheet in SHEETS {
        let (tree, _) = parse(&Source::new("mutant.sheet", sheet.text));
        let mut put = |span: std::ops::Range<usize>, new: &str, name: &str, how: String| {
            let text = format!("{}{new}{}", &sheet.text[..span.start], &sheet.text[span.end..]);
            all.push((sheet.name.to_owned(), name.to_owned(), how, text));
        };
        for take in &tree.takes {
            let (Shape::Kind(kind), Some(unit)) = (&take.shape, &take.unit) else { continue };
            for (meant, wrong, other) in MISTAKES {
                if kind.value != meant {
                    continue;
                }
                let line = sheet.text[take.span.clone()].replacen(meant, wrong, 1);
                let word = |word: &str| match word.trim_end_matches(',') {
                    bare if bare == unit.value => word.replacen(bare, other, 1),
                    _ => word.to_owned(),
                };
                let line: Vec<String> = line.split(' ').map(word).collect();
                put(
                    take.span.clone(),
                    &line.join(" "),
                    &take.name.value,
                    format!("{meant} as {wrong}"),
                );
            }
        }
        for line in &tree.works {
            let text = &sheet.text[line.span.clone()];
            for (at, _) in text.match_indices(" / 2") {
                let before = &text[..at];
                let name = before
                    .rsplit(|sign: char| !sign.is_alphanumeric() && sign != '_')
                    .next()
                    .unwrap();
                let is_diameter = tree.takes.iter().any(|take| {
                    take.name.value == name
                        && matches!(&take.shape, Shape::Kind(kind) if kind.value == "diameter")
                });
                if is_diameter {
                    let start = line.span.start + at;
                    put(start..start + 4, "", &line.name.value, format!("{name} for {name} / 2"));
                }
            }
        }
    }
    all
}

#[test]
fn a_mistake_in_kind_or_angle_is_an_error() {
    let mutants = mutants();
    assert!(mutants.len() > 300, "{}", mutants.len());
    let mut silent: Vec<(&str, &str, &str)> = Vec::new();
    for (sheet, name, how, text) in &mutants {
        if !is_refused(text) {
            silent.push((sheet, name, how));
        }
    }
    silent.sort_unstable();
    let known: Vec<(&str, &str, &str)> = SILENT.iter().map(|(a, b, c, _)| (*a, *b, *c)).collect();
    assert_eq!(silent, known, "of {}", mutants.len());
    assert!(silent.len() * 50 <= mutants.len(), "{} of {}", silent.len(), mutants.len());
}

fn problems(takes: &str, formula: &str, unit: &str) -> Vec<Diagnostic> {
    let text = format!(
        "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n{takes}works\n  y = {formula}\ngives\n  y in {unit}\n"
    );
    compile(&Source::new("mutant.sheet", text), &Project::new(&NoFs)).problems
}

/// Rules of mechanics in which an angle is let go: they stay (OpenStax University Physics vol. 1, chapter 10;
/// circumference and area of a circle: geometry).
#[test]
fn what_mechanics_writes_is_no_error() {
    for (takes, formula, unit) in [
        ("  d : diameter in mm like 2 mm\n", "pi * d", "mm"),
        ("  r : radius in mm like 2 mm\n", "pi * r^2", "mm²"),
        ("  r : radius in mm like 2 mm\n  p : pressure in MPa like 1 MPa\n", "p * pi * r^2", "N"),
        (
            "  r : radius in m like 2 m\n  m : mass in kg like 1 kg\n  n : speed of rotation in r/min like 9 r/min\n",
            "m * r * n^2",
            "N",
        ),
        ("  r : radius in m like 2 m\n  phi : angle in ° like 9 °\n", "r * phi", "m"),
        (
            "  l : travel per turn in mm/r like 2 mm/r\n  phi : angle in ° like 9 °\n",
            "l * phi",
            "mm",
        ),
        (
            "  l : travel per turn in mm/r like 2 mm/r\n  T : torque in N·m like 9 N·m\n",
            "T / l",
            "N",
        ),
        ("  m : mass in kg like 2 kg\n  L : length in m like 9 m\n", "m * L^2 / 12", "kg·m²"),
        (
            "  d : diameter in m like 2 m\n  n : speed of rotation in r/min like 9 r/min\n",
            "n * d / 2",
            "m/s",
        ),
    ] {
        // that a measure has no lower bound is another matter
        let found = problems(takes, formula, unit).into_iter();
        let found: Vec<_> = found.filter(|it| it.name != Name::OpenBelow).collect();
        assert_eq!(found, vec![], "{formula}");
    }
}

#[test]
fn a_quantity_of_the_wrong_angle_is_no_other() {
    let takes = "  J : inertia in kg·m² like 2 kg·m²\n  n : speed of rotation in r/min like 9 r/min\n  \
        f : frequency in Hz like 9 Hz\n  T : torque in N·m like 9 N·m\n  L : length in m like 9 m\n  \
        d : diameter in m like 2 m\n  t : time in s like 2 s\n  phi : angle in ° like 9 °\n";
    for (formula, unit) in [
        ("J * (n / f)^2", "kg·m²"),
        ("T * t / f", "kg·m²"),
        ("J + T * t / f", "kg·m²"),
        ("T / L", "N"),
        ("J / L^2", "kg"),
        ("phi * L", "m"),
        ("n * d", "m/s"),
        ("d * phi", "m"),
        ("T / d", "N"),
    ] {
        let found = problems(takes, formula, unit);
        assert!(found.iter().any(Diagnostic::is_error), "{formula}");
    }
}

/// Half of a diameter is a radius and twice a radius a diameter, through lines without a kind, `max` and cases; where
/// the other of both goes in by its name, or both stand in one sum, it is an error. Common practice, no source.
#[test]
fn a_radius_is_not_taken_for_a_diameter_by_any_way() {
    let problems = |uses: &str, lines: &str, unit: &str| {
        let text = format!(
            "sheet s\ntitle \"s\"\nsource \"by hand\"\n{uses}takes\n  n : speed of rotation in r/min\n  m : mass in kg\n  \
L : length in mm\n  r : radius in mm\n  d : diameter in mm\n  F : force in N\nworks\n{lines}gives\n  y in {unit}\n"
        );
        let found = Sheet::parse("s.sheet", &text).err().map(Vec::from).unwrap_or_default();
        found.into_iter().filter(Diagnostic::is_error).map(|it| it.name).collect::<Vec<_>>()
    };
    let with = |given: &str| format!("uses\n  c = solid-cylinder with m, L, d = {given}\n");
    let mut wrong = Vec::new();
    let mut check = |uses: &str, lines: &str, unit: &str, sound: bool| {
        let found = problems(uses, lines, unit);
        let expected = if sound { Vec::new() } else { vec![Name::WrongPowerOfRad] };
        if found != expected {
            wrong.push(format!("{uses}{lines}: {found:?}"));
        }
    };
    for (given, sound) in
        [("r", false), ("2 * r", true), ("d", true), ("d / 2", false), ("2 * (d / 2)", true)]
    {
        check(&with(given), "  y = c.J\n", "kg·m²", sound);
    }
    for (lines, sound) in [
        ("  x : radius = d\n  y = n * x\n", false),
        ("  x : radius = d / 2\n  y = n * x\n", true),
        ("  x : radius = 0.5 * d\n  y = n * x\n", true),
        ("  x : diameter = r\n  y = n * x / 2\n", false),
        ("  x : diameter = 2 * r\n  y = n * x / 2\n", true),
        ("  x : diameter = (d + 2 * r) / 2\n  y = n * x / 2\n", true),
        ("  x = d\n  y = n * x\n", false),
        ("  x = d / 2\n  y = n * x\n", true),
        ("  y = n * max(d, 100 mm)\n", false),
        ("  y = n * max(d, 100 mm) / 2\n", true),
        ("  y = n * max(r, 100 mm)\n", true),
        ("  y = n * min(r, 2 * r)\n", false),
    ] {
        check("", lines, "m/s", sound);
    }
    for (lines, sound) in [
        ("  y = F * (r + d)\n", false),
        ("  y = F * (r - d)\n", false),
        ("  y = F * (r + d / 2)\n", true),
        ("  y = F * (2 * r + d) / 2\n", true),
    ] {
        check("", lines, "N·m", sound);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
