//! Slopes of every sheet against central differences in exact decimals.

use standstill::Sheet;
use standstill::calculation::Sensitivities;
use standstill::library::SHEETS;
use standstill::number::{Exact, InputValue, Slot};
use standstill::program::Type;
use standstill::unit::{Literal, Unit};

/// A step of 1e-6 leaves an error of the second order, 1e-12 of the curvature; 28 digits leave 1e-16 of
/// rounding on the difference, integrals 1e-18. So 1e-6 of the largest change of the result is allowed.
#[test]
fn slopes_of_every_sheet_agree_with_central_differences() {
    let (mut compared, mut one_side) = (0, 0);
    let mut troubles = Vec::new();
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let found = Sensitivities::compute(sheet.program(), &inputs).unwrap();
        for (at, input) in sheet.program().inputs.iter().enumerate() {
            let Type::Number { point, dimension, .. } = input.type_ else { continue };
            if input.kind.is_some_and(|kind| kind.name == "count") {
                continue;
            }
            let Some(given) = inputs.value(input) else { continue };
            let zero = |literal: &Literal| literal.digits.is_zero();
            let all_zero = match &given {
                InputValue::One(value) => zero(value),
                InputValue::Many(values) => values.iter().all(zero),
                InputValue::Word(_) => false,
            };
            let hundred = || Literal::new(rust_decimal::Decimal::ONE_HUNDRED, 0, Unit::one());
            let moved = |share: f64| {
                let shift = |literal: &Literal| {
                    let value = Exact::from_literal(literal).unwrap();
                    let by = Exact::from_f64(share).unwrap();
                    // 1 % of the value, 1 K of a temperature, or one unit (without one 1 %) of what is zero, a hundred times
                    let hundred = match literal.unit.symbol.is_empty() {
                        true => Literal::new(rust_decimal::Decimal::ONE, 0, literal.unit.clone()),
                        false => Literal { unit: literal.unit.clone(), ..hundred() },
                    };
                    let base = match point {
                        true => Exact::whole(100),
                        false if all_zero => Exact::from_literal(&hundred).unwrap(),
                        false => value,
                    };
                    let x = value.plus(&base.times(&by).unwrap()).unwrap();
                    Literal::new(x.mantissa(), x.ten(), Unit { dimension, point, ..Unit::one() })
                };
                let mut one = inputs.clone();
                let value = match &given {
                    InputValue::One(value) => InputValue::One(shift(value)),
                    InputValue::Many(values) => {
                        InputValue::Many(values.iter().map(shift).collect())
                    }
                    InputValue::Word(_) => return None,
                };
                one.put(&input.name, value, None).unwrap();
                sheet.run(&one).ok()
            };
            // a value at the edge of its range has its slope on one side alone, where a shorter step passes no
            // step of a rounding
            let one_sided = moved(-1e-6).is_none();
            let (h, other) = if one_sided { (1e-9, 2e-9) } else { (1e-6, -1e-6) };
            let (Some(up), Some(down)) = (moved(h), moved(other)) else { continue };
            for (place, output) in sheet.program().outputs.iter().enumerate() {
                let one = |results: &standstill::calculation::Results| match results.slot(output) {
                    Some(Slot::One(value)) if matches!(output.type_, Type::Number { .. }) => {
                        Some(*value)
                    }
                    _ => None,
                };
                let (Some(above), Some(below), Some(middle)) =
                    (one(&up), one(&down), one(found.nominal()))
                else {
                    continue;
                };
                let half = |a: &Exact, b: &Exact| a.minus(b).unwrap().to_f64() / h / 100.0;
                let right = half(&above, &middle);
                // on one side: f(2h) − f(h) instead of f(0) − f(−h)
                let left = if one_sided { half(&below, &above) } else { half(&middle, &below) };
                // a kink or a step between the two points has no slope to compare
                if (right - left).abs() > 1e-3 * right.abs().max(left.abs()) {
                    continue;
                }
                // both are exact to the second order
                let wanted =
                    if one_sided { 1.5 * right - 0.5 * left } else { (right + left) / 2.0 };
                one_side += usize::from(one_sided);
                let influence = found.all().iter().find(|it| it.output == place && it.input == at);
                let change = influence.map_or(0.0, |it| it.change);
                let largest =
                    found.of(&output.name).map(|it| it.change.abs()).fold(wanted.abs(), f64::max);
                if influence.is_some_and(|it| {
                    it.within.width() > 1e-6 * largest && it.within.contains(wanted)
                }) {
                    continue;
                }
                compared += 1;
                if (change - wanted).abs() > 1e-6 * largest {
                    troubles.push(format!(
                        "{}: {} by {}: {change:e}, the difference gives {wanted:e}",
                        shelved.name, output.name, input.name
                    ));
                }
            }
        }
    }
    assert!(troubles.is_empty(), "{} of {compared}:\n{}", troubles.len(), troubles.join("\n"));
    assert!(compared > 1000, "only {compared} slopes were compared");
    assert!(one_side > 50, "only {one_side} of them at the edge of a range");
}

/// By hand: S = 2·a rounded up to 5 mm. 1 % of a = 100 mm moves S from 200 mm to 205 mm, of a = 101 mm from 205 mm
/// to 205 mm; without the rounding 2 % of a. A step k of 5.05 mm goes 40 times into both.
#[test]
fn a_change_for_one_percent_is_what_a_second_calculation_gives() {
    let text = "sheet s\ntitle \"s\"\nsource \"by hand\"\ntakes\n  a : length in mm above 0 mm\n  k : length in mm above 0 mm\n\
        works\n  S = 2 * a rounded up to k\ngives\n  S in mm\n";
    let sheet = Sheet::parse("s.sheet", text).unwrap();
    for (a, k, expected) in [
        ("100 mm", "5 mm", [("a", 5.0, 2.0), ("k", 2.0, 0.0)]),
        ("101 mm", "5 mm", [("a", 0.0, 2.02), ("k", -3.0, 0.0)]),
        // the step is as long as the slope, and is a step
        ("100 mm", "2 mm", [("a", 2.0, 2.0), ("k", 2.0, 0.0)]),
    ] {
        let mut inputs = sheet.inputs();
        inputs.write("a", a).unwrap();
        inputs.write("k", k).unwrap();
        let found = Sensitivities::compute(sheet.program(), &inputs).unwrap();
        for (name, change, smooth) in expected {
            let it = found.changes_of("S").find(|it| it.name == name).unwrap();
            let millimetres = |x: f64| (x * 1e3 * 1e9).round() / 1e9;
            assert_eq!(millimetres(it.change.unwrap()), change, "{a} {name}");
            assert_eq!(millimetres(it.smooth), smooth, "{a} {name}");
            assert!(it.differs(), "{a} {name}");
        }
    }
}

/// By hand: the way x·t + x²/(2·a) = s, its second part as an integral, so that dx/ds = 1/(t + x/a),
/// dx/dt = -x/(t + x/a) and dx/da = x²/(2·a²)/(t + x/a). Nothing is rounded: both columns are that.
#[test]
fn a_root_over_an_integral_has_its_slope() {
    let (a, t, s) = (3.0_f64, 0.11_f64, 2.0_f64);
    let x = a * ((t * t + 2.0 * s / a).sqrt() - t);
    let by = (t + x / a).recip();
    for function in [
        "x * t + (integral of u / a for u from 0 m/s to x) - s",
        "(integral of u / a + t for u from 0 m/s to x) - s",
        "x * t + x^2 / (2 * a) - s",
    ] {
        let text = format!(
            "sheet r\ntitle \"r\"\nsource \"by hand\"\ntakes\n  a : acceleration in m/s² above 0 m/s²\n  t : time in s from 0 s\n  \
             s : length in m above 0 m\nworks\n  v : speed = root of {function} for x from 0 m/s to 9 m/s\ngives\n  v in m/s\n"
        );
        let sheet =
            Sheet::parse("r.sheet", &text).unwrap_or_else(|it| panic!("{function}: {}", it[0]));
        let mut inputs = sheet.inputs();
        for (name, value) in [("a", "3 m/s²"), ("t", "0.11 s"), ("s", "2 m")] {
            inputs.write(name, value).unwrap();
        }
        let found = Sensitivities::compute(sheet.program(), &inputs).unwrap();
        for (name, slope) in
            [("s", by * s), ("t", -x * by * t), ("a", x * x / (2.0 * a * a) * by * a)]
        {
            let percent = slope / 100.0;
            let near = |it: f64| (it / percent - 1.0).abs() < 1e-9;
            let own = found.of("v").find(|it| it.name == name).map(|it| it.change);
            assert!(own.is_some_and(near), "{function} {name}: {own:?}, not {percent}");
            let it = found.changes_of("v").find(|it| it.name == name).unwrap();
            assert!(near(it.smooth) && !it.differs(), "{function} {name}: {it:?}, not {percent}");
        }
    }
}

/// By hand, from zero: the step is one unit, 1 % where there is none, a tenth of it where the range ends before.
#[test]
fn a_step_from_zero_stays_within_the_range() {
    for (kind, value, step, change) in [
        ("ratio", "0", "1 %", 0.01),
        ("ratio from 0 to 0.5", "0", "1 %", 0.01),
        ("ratio from 0 to 0.005", "0", "0.1 %", 0.001),
        ("coefficient of friction from 0 to 1", "0", "1 %", 0.01),
        ("ratio in %", "0 %", "1 %", 0.01),
        ("ratio in % from 0 % to 0.5 %", "0 %", "0.1 %", 0.001),
        ("efficiency in % from 0 % to 100 %", "0 %", "1 %", 0.01),
        ("count from 0 to 9", "0", "1", 1.0),
        ("length in mm", "0 mm", "1 mm", 1e-3),
        ("length in mm from 0 mm below 1 mm", "0 mm", "0.1 mm", 1e-4),
        ("length in mm from 0 mm to 40 µm", "0 mm", "0.01 mm", 1e-5),
        ("torque in N·m", "0 N·m", "1 N·m", 1.0),
    ] {
        let unit = kind
            .split_once(" in ")
            .map_or(String::new(), |(_, rest)| format!(" in {}", rest.split(' ').next().unwrap()));
        let text = format!(
            "sheet z\ntitle \"z\"\nsource \"by hand\"\ntakes\n  a : {kind} like {value}\nworks\n  y = a + (min(1, 2) - 1) * a\ngives\n  y{unit}\n"
        );
        let sheet = Sheet::parse("z.sheet", &text).unwrap_or_else(|it| panic!("{kind}: {}", it[0]));
        let mut inputs = sheet.inputs();
        inputs.write("a", value).unwrap();
        let found = Sensitivities::compute(sheet.program(), &inputs).unwrap();
        let it = found.changes_of("y").next().unwrap_or_else(|| panic!("{kind}: nothing"));
        assert_eq!(it.step, standstill::calculation::Step::One(step.to_owned()), "{kind}");
        let near = |x: f64| (x / change - 1.0).abs() < 1e-12;
        assert!(it.change.is_some_and(near) && near(it.smooth), "{kind}: {it:?}");
    }
}
