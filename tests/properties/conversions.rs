//! Numbers that hide a conversion of units, inserted into every sheet of the library in many shapes: none
//! passes without an error. Numbers that formulas have stay what they are.
//!
//! The factors are those of the trade's handbooks, from memory and common practice, no source; each follows
//! from the definitions of the units (NIST SP 811, appendix B; 9.80665 m/s²: 3rd CGPM, 1901).

use std::sync::Arc;

use proptest::prelude::*;
use standstill::diagnostic::{Diagnostic, Name, Source};
use standstill::environment::NoFs;
use standstill::language::{Body, Expression, Node, parse};
use standstill::library::SHEETS;
use standstill::program::{Program, Type, compile};
use standstill::project::Project;
use standstill::unit::{Base, Dimension};

/// What must be at hand for a factor to be a conversion.
#[derive(Clone, Copy, PartialEq)]
enum Needs {
    Anything,
    Quantity,
    Time,
}

const FACTORS: &[(&str, Needs)] = &[
    ("2 * pi / 60", Needs::Anything),
    ("60 / (2 * pi)", Needs::Anything),
    ("pi / 30", Needs::Anything),
    ("30 / pi", Needs::Anything),
    ("2 * 3.14 / 60", Needs::Anything),
    ("6.28 / 60", Needs::Anything),
    ("0.1047", Needs::Anything),
    ("0.10472", Needs::Anything),
    ("9.55", Needs::Anything),
    ("9.5493", Needs::Anything),
    ("(2 * pi / 60)^2", Needs::Anything),
    ("91.19", Needs::Anything),
    ("182.4", Needs::Anything),
    ("9550", Needs::Anything),
    ("9549", Needs::Anything),
    ("9549.3", Needs::Anything),
    ("7121", Needs::Anything),
    ("7127", Needs::Anything),
    ("7023", Needs::Anything),
    ("7024", Needs::Anything),
    ("716.2", Needs::Anything),
    ("973", Needs::Anything),
    ("974", Needs::Anything),
    ("5252", Needs::Anything),
    ("5250", Needs::Anything),
    ("63025", Needs::Anything),
    ("33000", Needs::Anything),
    ("308", Needs::Anything),
    ("375", Needs::Anything),
    ("19.1", Needs::Anything),
    ("19.0986", Needs::Anything),
    ("57.3", Needs::Anything),
    ("180 / pi", Needs::Anything),
    ("pi / 180", Needs::Anything),
    ("0.01745", Needs::Anything),
    ("9.81", Needs::Anything),
    ("9.80665", Needs::Anything),
    ("0.102", Needs::Anything),
    ("745.7", Needs::Anything),
    ("1.341", Needs::Anything),
    ("735.5", Needs::Anything),
    ("0.7376", Needs::Anything),
    ("1.356", Needs::Anything),
    ("4.448", Needs::Anything),
    ("0.2248", Needs::Anything),
    ("25.4", Needs::Anything),
    ("0.0254", Needs::Anything),
    ("0.3048", Needs::Anything),
    ("3.281", Needs::Anything),
    ("2.205", Needs::Anything),
    ("0.4536", Needs::Anything),
    ("6.895", Needs::Anything),
    ("60", Needs::Quantity),
    ("1000", Needs::Quantity),
    ("0.001", Needs::Quantity),
    ("1e-6", Needs::Quantity),
    ("3600", Needs::Quantity),
    ("1000 / 60", Needs::Quantity),
    ("3.6", Needs::Time),
    ("1 / 3.6", Needs::Time),
    ("0.2778", Needs::Time),
    ("((1 kJ) / (1 J))", Needs::Quantity),
    ("((1 min) / (1 s))", Needs::Quantity),
    ("(1 m / (1 mm))", Needs::Quantity),
    ("1 h / (1 s)", Needs::Quantity),
    ("1 lb / (1 kg)", Needs::Anything),
    ("(1 in / (1 mm))", Needs::Anything),
    ("abs(-60)", Needs::Quantity),
    ("max(60, 1)", Needs::Quantity),
    ("min(60, 100)", Needs::Quantity),
    ("cbrt(60^3)", Needs::Quantity),
    ("(60 rounded up to 1)", Needs::Quantity),
    ("meant 1 \"one\" * 60", Needs::Quantity),
    ("5 / 18", Needs::Time),
    ("exp(ln(60))", Needs::Quantity),
    ("10^(log10(3600) * 1)", Needs::Quantity),
    ("exp(ln(pi / 30))", Needs::Anything),
    ("367", Needs::Anything),
    ("367.1", Needs::Anything),
    ("6120", Needs::Anything),
    ("612", Needs::Anything),
];

/// How a factor k is put beside an expression e: the line, and lines before it.
const SHAPES: &[(&str, &str)] = &[
    ("({e}) * {k}", ""),
    ("({e}) / ({k})", ""),
    ("{k} * ({e})", ""),
    ("2 * (({k}) * 1) * ({e}) / 2", ""),
    ("({e}) * (0.5 * ({k})) * 2", ""),
    ("({e}) * ({k})^2", ""),
    ("({e}) / ({k})^3", ""),
    ("sqrt(({k})^2) * ({e})", ""),
    ("-(({e}) * (-({k})))", ""),
    ("k_xx * ({e})", "k_xx = {k}\n  "),
    ("({e}) / k_xx", "k_xx = {k}\n  "),
    ("k_yy * ({e})", "k_yy = k_xx * 2 / 2\n  k_xx = {k}\n  "),
    ("k_xx * ({e})", "k_xx = when pi > 3 : {k}\n         otherwise : {k}\n  "),
    ("f_xx({e})", "f_xx(x) = x * {k}\n  "),
    ("f_xx({k}) * ({e})", "f_xx(x) = 2 * x / 2\n  "),
    ("abs({k}) * ({e})", ""),
    ("meant 2 \"two\" * ({k}) * ({e})", ""),
    ("k_xx * ({e})", "k_xx = meant 2 \"two\" * ({k})\n  "),
];

fn checked(text: &str) -> (Vec<Diagnostic>, Option<Arc<Program>>) {
    let checked = compile(&Source::new("mutant.sheet", text), &Project::new(&NoFs));
    (checked.problems, checked.program)
}

/// A formula of the library: its sheet, where it stands, where its line begins, and its dimension.
struct Formula {
    text: &'static str,
    span: std::ops::Range<usize>,
    line: usize,
    dimension: Dimension,
}

fn formulas() -> Vec<Formula> {
    let mut all = Vec::new();
    for sheet in SHEETS {
        let source = Source::new("mutant.sheet", sheet.text);
        let (tree, _) = parse(&source);
        let program = checked(sheet.text).1.unwrap_or_else(|| panic!("{}", sheet.name));
        for line in &tree.works {
            let Body::Value(Expression { node, span }) = &line.body else { continue };
            if matches!(node, Node::Cases { .. } | Node::Running { .. } | Node::Number { .. }) {
                continue;
            }
            let made = program.lines.iter().find(|made| made.name == line.name.value).unwrap();
            let Type::Number { dimension, point: false, .. } = made.type_ else { continue };
            let (text, line) = (sheet.text, line.span.start);
            all.push(Formula { text, span: span.clone(), line, dimension });
        }
    }
    all
}

impl Formula {
    fn fits(&self, needs: Needs) -> bool {
        match needs {
            Needs::Anything => true,
            Needs::Quantity => !self.dimension.is_none(),
            Needs::Time => self.dimension.sixths(Base::Time) != 0,
        }
    }

    fn with(&self, factor: &str, shape: (&str, &str)) -> String {
        let written =
            |text: &str| text.replace("{k}", factor).replace("{e}", &self.text[self.span.clone()]);
        let (before, after) = (&self.text[..self.line], &self.text[self.span.end..]);
        let head = &self.text[self.line..self.span.start];
        format!("{before}{}{head}{}{after}", written(shape.1), written(shape.0))
    }
}

/// A small generator of numbers, the same on every machine.
fn draw(state: &mut u64, below: usize) -> usize {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    usize::try_from(*state >> 33).unwrap() % below
}

#[test]
fn no_conversion_inserted_into_the_library_is_silent() {
    let formulas = formulas();
    assert!(formulas.len() > 500, "{}", formulas.len());
    let (mut seed, mut silent, mut tried) = (13, Vec::new(), 0);
    for (at, (factor, needs)) in FACTORS.iter().cycle().take(700).enumerate() {
        let formula = loop {
            let formula = &formulas[draw(&mut seed, formulas.len())];
            if formula.fits(*needs) {
                break formula;
            }
        };
        let shape = SHAPES[(at + draw(&mut seed, SHAPES.len())) % SHAPES.len()];
        let text = formula.with(factor, shape);
        let (problems, program) = checked(&text);
        let is =
            |problem: &Diagnostic| problem.is_error() && problem.name == Name::HiddenConversion;
        tried += 1;
        if program.is_some() || !problems.iter().any(is) {
            let line = text[formula.line..].lines().take(3).collect::<Vec<_>>().join(" | ");
            silent.push(format!("{factor} as {shape:?}: {line}"));
        }
    }
    assert!(tried >= 560);
    assert!(silent.is_empty(), "{} of {tried}:\n{}", silent.len(), silent.join("\n"));
}

fn sheet(takes: &str, formula: &str) -> String {
    format!(
        "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n{takes}works\n  {formula}\ngives\n  y in {}\n",
        "{unit}"
    )
}

/// Factors that convert only beside what they convert: times, heat, a power over a speed of rotation, π in a turn,
/// and a diameter in a formula that has the radius.
#[test]
fn what_converts_beside_its_own_quantity_is_an_error_there() {
    let takes = "  m : mass in kg like 3 kg\n  d : diameter in mm like 200 mm\n  d_i : diameter in mm like 100 mm\n  L : length in m like 2 m\n  \
        t : time in s like 2 s\n  P : power in kW like 3 kW\n  E : energy in kJ like 3 kJ\n  F : force in N like 3 N\n  \
        n : speed of rotation in r/min like 1450 r/min\n  q : ratio from 0 = 60\n  rho : density in kg/m³ like 7850 kg/m³\n";
    let wrong = [
        ("y = t * 24", "s"),
        ("y = t / 24", "s"),
        ("y = 60.1 * t", "s"),
        ("y = t * q", "s"),
        ("y = t / q", "s"),
        ("y = E / 860", "kJ"),
        ("y = 860 * P", "W"),
        ("y = E * 4.187", "J"),
        ("y = 4187 * E", "J"),
        ("y = 9554 * P / n", "N·m"),
        ("y = 9.55 * P / n", "N·m"),
        ("y = 9.56 * P / n", "N·m"),
        ("y = 30/3.14 * P / n", "N·m"),
        ("y = 2 * 22/7 * n", "r/min"),
        ("y = 355/113 * n * d", "m/s"),
        ("y = 1.341 * P", "kW"),
        ("y = pi * d^2", "m²"),
        ("y = 2 * pi * d", "m"),
        ("y = 1/2 * m * d^2", "kg·m²"),
        ("y : inertia = 0.5 * m * d^2", "kg·m²"),
        ("y : inertia = 2/5 * m * d^2", "kg·m²"),
        ("y : inertia = pi / 2 * rho * L * d^4", "kg·m²"),
        ("y = d^4 / 12", "m⁴"),
        ("y = pi / 4 * d^4", "m⁴"),
        ("y = 4/3 * pi * d^3", "m³"),
        ("y = F / (pi * d^2)", "MPa"),
        ("y = F / pi / d^2", "MPa"),
        ("y = F * (pi * d^2)^-1", "MPa"),
        ("y = 1 / (2 * pi * d) * F", "N/m"),
        ("y = F * L / (pi / 2 * d^4)", "N/m²/m"),
        ("y = 9500 * P / n", "N·m"),
        ("y = P / n * 9600", "N·m"),
        ("y = P * 970 / n", "N·m"),
        ("y = n * d / 2 * F / 9500", "W"),
        ("y = 9.8 * F", "N"),
        ("y = F / 9.8", "N"),
        ("y = m / 9.8", "kg"),
        ("y = 9.8 * E", "J"),
        ("y = 9.8 * P", "W"),
        ("y = F * g\n  g = 9.8", "N"),
        ("y = a(m)\n  a(x) = x * 9.8", "kg"),
        ("y = 2.2 * m", "kg"),
        ("y = m / 2.2", "kg"),
        ("y = 0.75 * P", "W"),
        ("y = P / 0.75", "W"),
        ("y = 1.02 * F", "N"),
        ("y = F / 1.02", "N"),
        ("y = 0.159 * n", "r/min"),
        ("y = n / 0.159", "r/min"),
        ("y = n * 0.318 * d", "m/s"),
        ("y = 6.28 * n", "r/min"),
        ("y = L * F / 367", "J"),
        ("y = pi * d^2 * L", "m³"),
        ("y = rho * pi * d^2 * L", "kg"),
        ("y = F * L / (pi * d^2 * L)", "MPa"),
        ("y = pi * (d^2 - d_i^2)", "m²"),
        ("y = pi / 2 * (d^4 - d_i^4)", "m⁴"),
        ("y = (d^4 - d_i^4) * pi / 4", "m⁴"),
        ("y : inertia = m * (d^2 + d_i^2) / 2", "kg·m²"),
        ("y : inertia = pi / 2 * rho * L * (d^4 - d_i^4)", "kg·m²"),
        ("y = F / (pi * (d^2 - d_i^2))", "MPa"),
        ("y = pi * q2\n  q2 = d^2", "m²"),
        ("y = pi / 2 * q4\n  q4 = d^4 - d_i^4", "m⁴"),
        ("y = d^2 / 2", "m²"),
        ("y : inertia = m * k2\n  k2 = d^2 / 2", "kg·m²"),
    ];
    let right = [
        ("y = 4 * F / (pi * d^2)", "MPa"),
        ("y = F / (pi / 4 * d^2)", "MPa"),
        ("y = F / (pi * (d / 2)^2)", "MPa"),
        ("y = F / (pi * d)", "N/m"),
        ("y = F / (pi * d * L)", "MPa"),
        ("y = 2 * m / d^2", "kg/m²"),
        ("y = 16 * F * L / (pi * d^3)", "MPa"),
        ("y = 32 * F * L / (pi * d^3)", "MPa"),
        ("y = F * L / 24", "J"),
        ("y = n / q", "r/min"),
        ("y = q * n", "r/min"),
        ("y = 860 * L", "m"),
        ("y = 24 * m", "kg"),
        ("y = pi * d^2 / 4", "m²"),
        ("y = pi * (d / 2)^2", "m²"),
        ("y = 4 * pi * (d / 2)^2", "m²"),
        ("y = pi * d^2 * L / 4", "m³"),
        ("y = pi * d", "m"),
        ("y = pi * d * L", "m²"),
        ("y = pi * d^3 / 6", "m³"),
        ("y : inertia = m * d^2 / 8", "kg·m²"),
        ("y : inertia = 1/2 * m * (d / 2)^2", "kg·m²"),
        ("y : inertia = m * d^2 / 10", "kg·m²"),
        ("y : inertia = pi / 32 * rho * L * d^4", "kg·m²"),
        ("y = pi / 64 * d^4", "m⁴"),
        ("y = 22/7 * m", "kg"),
        ("y = exp(-1) * F", "N"),
        ("y = 9.8 * t", "s"),
        ("y = 9.8 m/s² * m", "N"),
        ("y = m * g_n", "N"),
        ("y = 2.2 * F", "N"),
        ("y = 2.2 * L", "m"),
        ("y = 75 % * P", "W"),
        ("y = 0.75 * F", "N"),
        ("y = P / 0.8", "W"),
        ("y = 1.02 * n", "r/min"),
        ("y = n / 1.02", "r/min"),
        ("y = 1.05 * F", "N"),
        ("y = 9.5 * P / n", "N·m"),
        ("y = 950 * L", "m"),
        ("y = 36.7 * L", "m"),
        ("y = 0.16 * n", "r/min"),
        ("y = pi / 4 * (d^2 - d_i^2)", "m²"),
        ("y = pi / 32 * (d^4 - d_i^4)", "m⁴"),
        ("y = pi / 2 * ((d / 2)^4 - (d_i / 2)^4)", "m⁴"),
        ("y : inertia = m * (d^2 + d_i^2) / 8", "kg·m²"),
        ("y : inertia = m / 2 * ((d / 2)^2 + (d_i / 2)^2)", "kg·m²"),
        ("y = pi / 4 * q2 * L\n  q2 = d^2 - d_i^2", "m³"),
        ("y = pi / 4 * q2\n  q2 = d^2", "m²"),
        ("y = (d - d_i) / 2", "mm"),
        ("y = (d + d_i) / 4 * n", "m/s"),
        ("y = d^2 / 4", "m²"),
        ("y = F * d / 2 * L / d", "J"),
        ("y = F * L^2 / 2 / d^2", "N"),
    ];
    let names = |formula: &str, unit: &str| -> Vec<Name> {
        let (problems, _) = checked(&sheet(takes, formula).replace("{unit}", unit));
        problems.iter().filter(|it| it.is_error()).map(|it| it.name).collect()
    };
    for (formula, unit) in wrong {
        let found = names(formula, unit);
        let is = |name: &Name| matches!(name, Name::HiddenConversion | Name::WrongPowerOfRad);
        assert!(found.iter().any(is), "{formula}: {found:?}");
    }
    for (formula, unit) in right {
        assert_eq!(names(formula, unit), vec![], "{formula}");
    }
}

/// Formulas of handbooks, each with its result's unit: none of their numbers converts.
///
/// OpenStax University Physics vol. 1, figure 10.20 (inertias), 10.4, 12.3 (stress), 15.5 (frequency of a
/// spring); the rest common practice, no source.
#[test]
fn the_numbers_of_formulas_are_no_conversions() {
    let takes = "  m : mass in kg like 3 kg\n  d : length in m like 2 m\n  L : length in m like 4 m\n  \
        v : speed in m/s like 1 m/s\n  t : time in s like 2 s\n  F : force in N like 3 N\n  \
        k : stiffness in N/m like 3 N/m\n  rho : density in kg/m³ like 7850 kg/m³\n  \
        a : acceleration in m/s² like 2 m/s²\n  q : count like 4\n  \
        n : speed of rotation in r/min like 1450 r/min\n  J : inertia in kg·m² like 1 kg·m²\n  \
        T : torque in N·m like 4 N·m\n  U : voltage in V like 560 V\n  C : capacitance in mF like 1 mF\n";
    let formulas = [
        ("y = 1/2 * m * v^2", "J"),
        ("y = 0.5 * m * v^2", "J"),
        ("y : inertia = 1/12 * m * L^2", "kg·m²"),
        ("y : inertia = m * L^2 / 3", "kg·m²"),
        ("y : inertia = 2/5 * m * d^2", "kg·m²"),
        ("y : inertia = pi / 32 * rho * L * d^4", "kg·m²"),
        ("y : inertia = m * (3 * d^2 + 4 * L^2) / 48", "kg·m²"),
        ("y = pi * d^2 / 4", "m²"),
        ("y = pi / 6 * d^3", "m³"),
        ("y = 4/3 * pi * (d/2)^3", "m³"),
        ("y = 2 * pi * sqrt(m / k)", "s"),
        ("y = sqrt(k / m) / (2 * pi)", "Hz"),
        ("y = 16 * F * L / (pi * d^3)", "MPa"),
        ("y = 32 * F * L / (pi * d^3)", "MPa"),
        ("y = 64 * F * L / (pi * d^3)", "MPa"),
        ("y = pi^2 * rho * d^4 / 64 * L / d^2", "kg"),
        ("y = F * L / 48", "J"),
        ("y = 5 * F * L / 384", "J"),
        ("y = 1.25 * F", "N"),
        ("y = 0.85 * F + 1.15 * F * 0.7", "N"),
        ("y = 1.1 * 1.05 * T", "N·m"),
        ("y = 3.6 * d", "m"),
        ("y = 12 * d", "m"),
        ("y = 2 * v * t", "m"),
        ("y = 0.375 * F", "N"),
        ("y = 1.414 * F", "N"),
        ("y = 1.732 * U", "V"),
        ("y = 0.866 * F", "N"),
        ("y = 0.707 * F", "N"),
        ("y = 0.577 * F", "N"),
        ("y = 1/2 * J * n^2", "J"),
        ("y = 1/2 * C * U^2", "J"),
        ("y = q * 1000 + 60 * q", ""),
        ("y = 100 * F / 100", "N"),
        ("y = 10 * F", "N"),
        ("y = 0.02 * n", "r/min"),
        ("y = 0.1 % * n", "r/min"),
        ("y = n * 1 min", "r"),
        ("y = 8 * (d - 14 mm)", "m"),
        ("y = 1.5 * T", "N·m"),
        ("y = 3/8 * T + 9/16 * T", "N·m"),
    ];
    for (formula, unit) in formulas {
        let text = sheet(takes, formula).replace(
            " in {unit}",
            &match unit {
                "" => String::new(),
                unit => format!(" in {unit}"),
            },
        );
        let (problems, _) = checked(&text);
        // the result has no unit here: that alone is reported
        let others = problems.iter().filter(|it| it.is_error() && it.name != Name::MissingUnit);
        let others: Vec<&String> = others.map(|it| &it.headline).collect();
        assert!(others.is_empty(), "{formula}: {others:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    /// A factor of one or two digits is a factor, but for those that everybody takes for a conversion.
    #[test]
    fn short_factors_are_no_conversions(digits in 1_u32..100, ten in -2..2_i32) {
        prop_assume!(![36, 60, 18, 10, 88, 98].contains(&digits) && ![6, 1].contains(&digits));
        let factor = f64::from(digits) * 10_f64.powi(ten);
        let text = sheet("  F : force in N like 3 N\n", &format!("y = {} * F", (factor * 1e3).round() / 1e3));
        prop_assume!(factor >= 0.1 && ![5.5, 33.0, 55.0, 550.0, 330.0].contains(&factor));
        let (problems, _) = checked(&text.replace("{unit}", "N"));
        prop_assert!(!problems.iter().any(Diagnostic::is_error), "{factor}: {problems:?}");
    }
}

/// Default, table, used sheet: the number comes from another place than the formula.
#[test]
fn a_number_from_elsewhere_is_found_where_it_is_multiplied() {
    let takes = "  n : speed of rotation in r/min like 1450 r/min\n  P : power in kW like 4 kW\n";
    for (before, formula) in [
        ("  k : ratio = 9550\n", "y = P / n * k"),
        ("  k : ratio = 0.10472\n", "y = P / (n * k)"),
        ("  k : ratio = 60\n", "y = P / n / (2 * pi) * k"),
        (
            "",
            "y = P / n * c(1)\n  table c (x : ratio) : ratio, straight\n    0    9549\n    2    9549",
        ),
        ("", "y = P / n * c\n  c = d + 0.049\n  d = 9.5"),
        (
            "  w : one of a, b = a\n",
            "y = P / n * c\n  c = when w is a : 9.5493\n      otherwise : 1",
        ),
    ] {
        let text = sheet(&format!("{takes}{before}"), formula).replace("{unit}", "N·m");
        let (problems, program) = checked(&text);
        let found = problems.iter().find(|it| it.name == Name::HiddenConversion);
        assert!(
            program.is_none() && found.is_some_and(Diagnostic::is_error),
            "{formula}: {problems:?}"
        );
    }
    // a gear of that ratio is a gear
    let gear =
        sheet(&format!("{takes}  i : ratio = 19.1\n"), "y = P / n * i").replace("{unit}", "N·m");
    assert_eq!(checked(&gear).0, vec![]);
}

const TURNING: &str = "  d : diameter in mm like 200 mm\n  r : radius in mm like 100 mm\n  \
    v : speed in m/s like 1 m/s\n  s : length in m like 2 m\n  a : acceleration in m/s² like 1 m/s²\n  \
    F : force in N like 3 N\n  p : travel per turn in mm/r like 10 mm/r\n  m : mass in kg like 3 kg\n  \
    P : power in kW like 4 kW\n  E : energy in J like 3 J\n  T : torque in N·m like 4 N·m\n  \
    T_b : torque in N·m like 4 N·m\n  t : time in s like 2 s\n  J : inertia in kg·m² like 1 kg·m²\n";

/// Textbook formulas of screws, rims and rotating masses in turns, each with a 2π that the unit brings
/// already (common practice, no source): W stands for 2π, H for π.
#[test]
fn no_pi_beside_what_turns_is_silent() {
    let formulas = [
        "y = v / (H * d)",
        "y = v / (W * r)",
        "y = v / H / d",
        "y = s / (H * d)",
        "y = a / (H * d)",
        "y = 2 * H * v / p",
        "y = W * v / p",
        "y = F * p / (W)",
        "y = F / (W) * p * 0.9",
        "y : inertia = m * (p / (W))^2",
        "y : inertia = m * p^2 / (W)^2",
        "y : inertia = m * p * p / (4 * H^2)",
        "y = P / (W * T)",
        "y = E / (W * T)",
        "y = T * t / (W * J)",
        "y = sqrt(2 * E / J) / (W)",
        "y = sqrt(2 * E / (J * (W)^2))",
        "y = T / J / (W)",
        "y = (T_b - T) / J / (W)",
        "y = T_b + F * p / (W)",
        "y = k * v / r\n  k = 1 / (W)",
        "y = f(v / r)\n  f(x) = x / (W)",
        "y = when s > 1 m : v / (W * r)\n      otherwise : v / r",
        "y = abs(T / J) / (W)",
        "y : travel per turn = H * d",
        "y : speed of rotation = v / u\n  u = H * d",
        "y : torque = F * u / 2\n  u = H * d",
    ];
    let writings = [
        ("pi", "2 * pi"),
        ("3.14", "2 * 3.14"),
        ("3.1416", "6.28"),
        ("3.14159", "6.2832"),
        ("(pi * 1)", "(pi * 2)"),
        ("abs(-pi)", "max(6.283, 1)"),
        ("1 / 0.3183", "1 / 0.15915"),
        ("pi", "1 r / (1 rad)"),
    ];
    let mut silent = Vec::new();
    for (half, whole) in writings {
        for formula in formulas {
            let line =
                formula.replace('W', &format!("({whole})")).replace('H', &format!("({half})"));
            let text = sheet(TURNING, &line).replace(" in {unit}", "");
            let (problems, _) = checked(&text);
            let is = |it: &Diagnostic| {
                it.is_error()
                    && matches!(
                        it.name,
                        Name::HiddenConversion
                            | Name::WrongPowerOfRad
                            | Name::UnitMismatch
                            | Name::RotationMeetsRate
                            | Name::TorqueMeetsEnergy
                    )
            };
            if !problems.iter().any(is) {
                let said = problems.iter().filter(|it| it.is_error()).map(|it| &it.headline);
                silent.push(format!("{line}: {:?}", said.collect::<Vec<_>>()));
            }
        }
    }
    assert!(silent.is_empty(), "{}:\n{}", silent.len(), silent.join("\n"));
}

/// Of areas, volumes, oscillations and circumferences the π stays (OpenStax University Physics vol. 1,
/// figure 10.20 and 15.5; torsion of a round shaft: common practice, no source).
#[test]
fn pi_of_a_circle_stays() {
    let takes = format!(
        "{TURNING}  rho : density in kg/m³ like 7850 kg/m³\n  L : length in m like 1 m\n  \
         k : torsional stiffness in N·m/rad like 3 N·m/rad\n"
    );
    for formula in [
        "y : inertia = pi / 32 * rho * L * d^4", "y : inertia = pi / 2 * rho * L * r^4",
        "y = 2 * pi * sqrt(J / k)", "y = sqrt(k / J) / (2 * pi)", "y : area = pi / 4 * d^2",
        "y : volume = pi * d * L * s", "y : length = pi * d", "y = u / v\n  u = pi * d",
        "y : pressure = 16 * T / (pi * d^3)", "y = v / r * meant pi \"as measured\"", "y = F * p",
        "y = v / (d / 2)",
    ] {
        let text = sheet(&takes, formula).replace(" in {unit}", "");
        let (problems, _) = checked(&text);
        // the result has no unit here: that alone is reported
        let others = problems.iter().filter(|it| it.is_error() && it.name != Name::MissingUnit);
        let others: Vec<&String> = others.map(|it| &it.headline).collect();
        assert!(others.is_empty(), "{formula}: {others:?}");
    }
}

/// A table that has one number is that number, and a number is not meant without a reason.
#[test]
fn constant_tables_and_empty_reasons_are_found() {
    let takes = "  v : speed in m/s like 1 m/s\n";
    for formula in [
        "y = v * c(1)\n  table c (x : ratio) : ratio, straight\n    1    60\n    2    60",
        "y = v * meant 60 \"\"",
        "y = v * meant 60 \" \"",
    ] {
        let text = sheet(takes, formula).replace("{unit}", "m/s");
        let (problems, program) = checked(&text);
        assert!(program.is_none() && problems.iter().any(Diagnostic::is_error), "{formula}");
    }
}

fn examples(sheet: &standstill::Sheet) -> standstill::calculation::Inputs {
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    inputs
}

/// What the remedies say is typed: the message is gone, and the figure is the one meant.
#[test]
fn the_remedies_are_right() {
    let takes = "  n : speed of rotation in r/min like 1450 r/min\n  P : power in kW like 4 kW\n";
    let wrong = sheet(takes, "y = 9550 * P / n").replace("{unit}", "N·m");
    let problem = checked(&wrong).0.remove(0);
    assert_eq!(problem.name, Name::HiddenConversion);
    assert!(
        problem.headline.contains("9550") && problem.headline.contains("kW and r/min"),
        "{problem}"
    );
    let read = |text: &str| {
        let sheet =
            standstill::Sheet::parse("s.sheet", text).unwrap_or_else(|it| panic!("{}", it[0]));
        let results = sheet.run(&examples(&sheet)).unwrap_or_else(|it| panic!("{}", it[0]));
        results.to_text(&sheet.program().outputs[0])
    };
    // 4 kW at 1450 r/min: 4000 · 60 / (2π · 1450) = 26.343 N·m
    assert!(read(&wrong.replace("9550 * ", "")).starts_with("26.34"));
    // said to be meant it counts as it is
    let meant = problem.remedy.split('`').find(|it| it.starts_with("meant")).unwrap();
    assert_eq!(meant, "meant 9550 \"why\"");
    let text = wrong.replace("9550", meant);
    assert!(read(&text).starts_with("2515"), "{}", read(&text));
    let (problems, program) = checked(&text);
    assert_eq!(problems, vec![]);
    let program = program.unwrap();
    assert_eq!((program.meant[0].written.as_str(), program.meant[0].why.as_str()), ("9550", "why"));
    assert_eq!(program.scopes[0].cautions, ["The number 9550 in line 8 is meant: why"]);
}

#[test]
fn only_a_plain_number_can_be_meant() {
    let takes = "  F : force in N like 3 N\n";
    for (part, found) in [("F", "a force"), ("(9.81 m/s²)", "an acceleration")] {
        let text = sheet(takes, &format!("y = 2 * meant {part} \"so\"")).replace("{unit}", "N");
        let problem = checked(&text).0.into_iter().find(Diagnostic::is_error).unwrap();
        assert!(
            problem.headline == format!("`meant` takes a plain number, found {found}"),
            "{problem}"
        );
    }
}
