//! The traps of the trade: numbers that hide a conversion, 2π beside a speed of rotation, percentages.

use super::compile::Compiler;
use super::conversion::{Figure, conversion_in, is_of_time, is_unmistakable};
use super::flat::Type;
use super::scope::{Factors, Plain, Sheet, Value, length_of};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::Expression;
use crate::unit::{self, Base, Dimension, Kind};

/// Most numbers of a product that are looked at in every combination; those beyond are taken as one.
const MOST: usize = 8;

/// How often one product of a function is looked at, each time with other values.
const OFTEN: u32 = 16;

/// Looks at a finished product: at all its plain numbers together, and at every part of them, so that
/// neither brackets nor other numbers beside it hide a conversion.
pub(super) fn product(
    compiler: &mut Compiler<'_>,
    sheet: &Sheet,
    tree: &Expression,
    value: &mut Value,
) {
    let factors = &value.factors;
    if !factors.varies || factors.reported {
        return;
    }
    let round = whole_diameter(factors, &value.type_).or_else(|| radius_formula(factors));
    if let Some(problem) = round {
        compiler.problems.push(problem.at(sheet.place(&tree.span)));
        value.factors.reported = true;
        return;
    }
    if factors.numbers.is_empty() {
        return;
    }
    // one text, however often its function is called, is looked at a few times
    let seen = compiler.looked.entry((sheet.scope, tree.span.start, tree.span.end)).or_default();
    *seen += 1;
    if *seen > OFTEN {
        return;
    }
    let mut hand = factors.quantities.clone();
    if let Type::Number { dimension, .. } = &value.type_
        && !dimension.is_none()
    {
        hand.push(*dimension);
    }
    let problem = turn(factors).or_else(|| turned(value)).or_else(|| hidden(factors, &hand));
    match problem {
        Some(problem) => {
            let mut problem = problem.at(sheet.place(&tree.span));
            let places = factors.numbers.iter().filter_map(|number| number.place.as_ref());
            for place in places {
                problem = problem.label(place.clone(), "a number of this product");
            }
            compiler.problems.push(problem);
            value.factors.reported = true;
        }
        None => percent(compiler, sheet, tree, value),
    }
}

/// A diameter beside what turns, and nothing halves it: n·d is twice the speed at the edge.
fn whole_diameter(factors: &Factors, type_: &Type) -> Option<Diagnostic> {
    let Type::Number { dimension: made, .. } = type_ else { return None };
    let turns =
        |dimension: &Dimension| dimension.sixths(Base::Angle) != 0 && !only_length(*dimension);
    let is_mass = |dimension: &Dimension| dimension.sixths(Base::Mass) != 0;
    let number: f64 = factors.numbers.iter().map(|number| number.figure.value).product();
    let beside = match factors.diameters.abs() {
        6 => turns(made) || factors.quantities.iter().any(turns),
        12 => factors.quantities.iter().any(is_mass),
        _ => false,
    };
    let loose = factors.numbers.iter().any(|number| number.loose);
    let whole = beside && number.abs() == 1.0 && !loose;
    whole.then(|| {
        Diagnostic::error(
            Name::WrongPowerOfRad,
            "a diameter stands beside a quantity of rotation where the radius is needed",
        )
        .remedy(
            "write `d / 2` for the diameter d, or declare it as `radius`, if that is what it is",
        )
    })
}

/// Formulas of what is round by its radius: power of the radius, power of π, whether a mass is beside it, the
/// number before them, what it is, and the number of the same by the diameter.
///
/// OpenStax University Physics vol. 1, figure 10.20; areas and second moments of area: geometry. The last is that of
/// a square, b⁴/12, which a diameter is not the side of.
const ROUND: &[(i32, i32, bool, f64, &str, &str)] = &[
    (1, 1, false, 2.0, "the circumference", "pi * d"),
    (2, 1, false, 1.0, "the area of a circle", "pi * d^2 / 4"),
    (3, 1, false, 4.0 / 3.0, "the volume of a sphere", "pi * d^3 / 6"),
    (4, 1, false, 0.5, "the polar moment of a circle", "pi * d^4 / 32"),
    (4, 1, false, 0.25, "the second moment of a circle", "pi * d^4 / 64"),
    (2, 0, true, 0.5, "the inertia of a cylinder", "m * d^2 / 8"),
    (2, 0, true, 0.4, "the inertia of a sphere", "m * d^2 / 10"),
    (4, 0, false, 1.0 / 12.0, "the second moment of a section", "pi * d^4 / 64"),
];

/// A formula by the radius into which a diameter was put: π·d² is four times the area.
fn radius_formula(factors: &Factors) -> Option<Diagnostic> {
    // who halves the diameter, as in (d / 2)^2, has seen that it is one
    let plain = factors.numbers.iter().filter(|number| !number.pi && number.figure.value != 1.0);
    let raised = |it: &Plain| ![it.base.value, it.base.value.recip()].contains(&it.figure.value);
    let halved = plain.clone().count() > 2 || plain.clone().any(raised);
    if halved || factors.numbers.iter().any(|number| number.loose) {
        return None;
    }
    // below a fraction line stands what divides: F / (π·d²) is F over a circle of 1 / (1 / π)
    let over = factors.diameters < 0;
    let sign = if over { -1 } else { 1 };
    let pi = std::f64::consts::PI.powi(factors.pi / 6);
    let all: f64 = factors.numbers.iter().map(|number| number.figure.value).product();
    let number = (all / pi).abs().powi(sign);
    let mass = factors.quantities.iter().any(|it| it.sixths(Base::Mass) != 0);
    let found = ROUND.iter().find(|(power, of_pi, with_mass, by_radius, ..)| {
        let near = (number / by_radius - 1.0).abs() < 1e-3;
        let powers = (factors.diameters, factors.pi) == (6 * power * sign, 6 * of_pi * sign);
        // with a wall beside it π·d² is the surface of a sphere
        let alone = (*power, *of_pi) != (2, 1) || sign * factors.lengths <= 12;
        let beside = match of_pi {
            // whether a mass stands above or below the line is not known here
            0 => !over && mass == *with_mass,
            _ => mass || !with_mass,
        };
        powers && alone && near && beside
    });
    found.map(|(_, of_pi, _, _, what, by_diameter)| {
        let (sign, why) = if *of_pi == 0 { ("", "a number") } else { ("pi ", "π") };
        Diagnostic::error(
            Name::WrongPowerOfRad,
            format!("a diameter stands where the formula of {what} has the radius"),
        )
        .remedy(format!(
            "by the diameter d it is `{by_diameter}`; where {why} is meant as it stands, write `meant {sign}\"why\"`"
        ))
    })
}

fn only_length(dimension: Dimension) -> bool {
    Base::ALL
        .iter()
        .all(|base| matches!(base, Base::Length | Base::Angle) || dimension.sixths(*base) == 0)
        && dimension.sixths(Base::Length) != 0
}

/// π beside what turns.
fn turn(factors: &Factors) -> Option<Diagnostic> {
    let turns = |dimension: &Dimension| dimension.sixths(Base::Angle) > 0;
    let pi = factors.numbers.iter().any(|number| number.pi)
        || factors.numbers.iter().enumerate().any(|(at, one)| {
            let others = factors.numbers.iter().skip(at + 1);
            others.map(|other| one.figure.times(other.figure)).any(Figure::is_fraction_of_pi)
        });
    (pi && factors.quantities.iter().any(turns)).then(|| {
        Diagnostic::error(
            Name::HiddenConversion,
            "π stands beside a speed of rotation or an angle, which brings its own 2π",
        )
        .remedy("leave 2π and 60 out: r/min converts itself, the speed at a radius is `n * d / 2`, and a full turn is `1 r`; where π is meant, write `meant pi \"why\"`")
    })
}

/// Whether the power of π is that of an area or a volume of the lengths beside it, not that of a turn.
fn is_of_a_circle(factors: &Factors) -> bool {
    let alike = factors.pi.signum() == factors.lengths.signum();
    alike && factors.lengths.abs() >= 2 * factors.pi.abs()
}

/// π in what gives an angle, a speed of rotation, a torque, an inertia: their rad brings its own 2π.
fn turned(value: &Value) -> Option<Diagnostic> {
    let Type::Number { dimension, .. } = &value.type_ else { return None };
    let dimension = unit::settle(*dimension);
    let turns = dimension.sixths(Base::Angle) != 0 && length_of(dimension) == 0;
    (turns && value.factors.pi != 0 && !is_of_a_circle(&value.factors)).then(|| {
        Diagnostic::error(
            Name::HiddenConversion,
            format!("π stands in what gives {}, which brings its own 2π", unit::name_of(dimension)),
        )
        .remedy("leave 2π out: the speed of rotation of a rim is `v / (d / 2)`, its angle `s / (d / 2)`, and the torque of a screw `F * p` with its travel per turn; where π is meant, write `meant pi \"why\"`")
    })
}

/// The dimension of π·d: what is once around is a length, not a radius.
pub(super) fn circumference(value: &Value) -> Option<Dimension> {
    let Type::Number { dimension, point: false, .. } = value.type_ else { return None };
    let once = value.factors.pi > 0 && value.factors.pi == value.factors.lengths;
    (once && length_of(dimension) != 0).then(|| dimension.without_angle())
}

/// π in a travel per turn: that of a pulley is π·d a turn, which is d/2 a radian.
pub(super) fn travel(
    compiler: &mut Compiler<'_>,
    sheet: &Sheet,
    tree: &Expression,
    kind: &Kind,
    value: &Value,
) {
    if kind.name == "travel per turn" && value.factors.pi > 0 && !value.factors.reported {
        compiler.problems.push(
            Diagnostic::error(
                Name::HiddenConversion,
                "π stands in what gives a travel per turn, which brings its own 2π",
            )
            .at(sheet.place(&tree.span))
            .remedy("leave π out: the travel per turn of a pulley is `d / 2`, and that of a known length `L / (1 r)`; where π is meant, write `meant pi \"why\"`"),
        );
    }
}

/// A number, or a part of the numbers, that converts.
fn hidden(factors: &Factors, hand: &[Dimension]) -> Option<Diagnostic> {
    let bases = factors.numbers.iter().map(|it| (it.base, it.loose, vec![to_text(it.base)]));
    let mut figures = combinations(&factors.numbers).chain(bases);
    let (words, figure, written) = figures.find_map(|(figure, loose, written)| {
        if loose && !is_unmistakable(figure) && !is_of_time(figure, hand) {
            return None;
        }
        let alone =
            factors.numbers.iter().any(|number| [number.figure, number.base].contains(&figure));
        // what is rounded and multiplied is only taken for what is well known
        let hand = if alone || figure.slack == 0.0 { hand } else { &[] };
        Some((conversion_in(figure, hand)?, figure, written))
    })?;
    // the numbers as they stand, not what their product comes to: that is what is looked for, and left out
    let written: Vec<String> = written.into_iter().filter(|number| number != "1").collect();
    let (numbers, verb) = match written.as_slice() {
        [only] => (format!("the number {only}"), "hides"),
        [first @ .., last] => {
            (format!("the numbers {} and {last} together", first.join(", ")), "hide")
        }
        [] => (format!("the number {}", to_text(figure)), "hides"),
    };
    let meant = match written.as_slice() {
        [only] => format!("where the number is meant, write `meant {only} \"why\"`"),
        _ => "where a number is meant, write `meant` before it and `\"why\"` behind".to_owned(),
    };
    Some(
        Diagnostic::error(
            Name::HiddenConversion,
            format!("{numbers} {verb} a conversion of units: it {words}"),
        )
        .remedy(format!("leave it out: every value carries its unit and converts itself; a part is written with its sign, such as `0.1 %`, and {meant}")),
    )
}

/// Products of some of the numbers, all of them first, and whether only a number that may be changed is
/// in it, with the numbers as they are written. Of rounded numbers there is at most one in each: two rounded ones fit
/// anything; nor is a product of values that may be changed taken for a conversion.
fn combinations(numbers: &[Plain]) -> impl Iterator<Item = (Figure, bool, Vec<String>)> {
    let (first, rest) = numbers.split_at(numbers.len().min(MOST));
    let whole = rest.iter().map(|number| number.figure).reduce(Figure::times);
    let all = (1_u32..1 << first.len()).rev();
    all.filter_map(move |chosen| {
        let chosen: Vec<&Plain> = first
            .iter()
            .enumerate()
            .filter(|(at, _)| chosen & (1 << at) != 0)
            .map(|(_, number)| number)
            .collect();
        let rounded =
            chosen.iter().filter(|number| number.figure.slack > 0.0 && !number.pi).count();
        let figures = chosen.iter().map(|number| number.figure);
        let figure =
            figures.chain(whole.filter(|_| chosen.len() == first.len())).reduce(Figure::times)?;
        let loose = chosen.iter().all(|number| number.loose || number.figure.value == 1.0);
        let changeable = chosen.iter().filter(|number| number.loose).count();
        let written = || chosen.iter().map(|number| to_text(number.base)).collect();
        (rounded < 2 && !(loose && changeable > 1)).then(|| (figure, loose, written()))
    })
}

/// A number as a person writes it: with its own digits, or with five where it is exact.
fn to_text(figure: Figure) -> String {
    let digits = if figure.digits <= 12 { figure.digits } else { 5 };
    let digits = usize::try_from(digits).unwrap_or(5);
    let text = format!("{:.*e}", digits.saturating_sub(1), figure.value);
    let Some((mantissa, ten)) = text.split_once('e') else { return text };
    let ten: i32 = ten.parse().unwrap_or(0);
    if !(-4..9).contains(&ten) {
        return format!("{}e{ten}", trimmed(mantissa));
    }
    let after = usize::try_from(i32::try_from(digits).unwrap_or(5) - 1 - ten).unwrap_or(0);
    trimmed(&format!("{:.after$}", figure.value)).to_owned()
}

fn trimmed(text: &str) -> &str {
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => text,
    }
}

/// An efficiency beside 100.
fn percent(compiler: &mut Compiler<'_>, sheet: &Sheet, tree: &Expression, value: &Value) {
    let numbers = value.factors.numbers.iter().filter(|number| !number.loose);
    let Some(number) = numbers.map(|number| number.figure.value).reduce(|x, y| x * y) else {
        return;
    };
    let hundred = [number, number.recip()].iter().any(|number| (number / 100.0 - 1.0).abs() < 1e-4);
    if value.factors.efficiency && hundred {
        compiler.problems.push(
            Diagnostic::caution(
                Name::PercentAsNumber,
                "100 stands beside an efficiency, which is a ratio: 95 % is 0.95",
            )
            .at(sheet.place(&tree.span))
            .remedy("leave the 100 out, and write percentages with their sign: `95 %`"),
        );
    }
}

/// An efficiency whose default, example or bound says more than one.
pub(super) fn efficiency(
    compiler: &mut Compiler<'_>,
    sheet: &Sheet,
    tree: &Expression,
    number: f64,
    with_unit: bool,
) {
    if number <= 1.0 {
        return;
    }
    let written = sheet.text(&tree.span).to_owned();
    let problem = if with_unit {
        Diagnostic::error(
            Name::EfficiencyAboveOne,
            format!("an efficiency of {written} would create energy"),
        )
        .remedy("an efficiency is 100 % at most")
    } else {
        let remedy = if number < 2.0 {
            "an efficiency is 100 % at most, such as `95 %` or `0.95`".to_owned()
        } else {
            format!("write `{written} %`")
        };
        Diagnostic::error(
            Name::PercentAsNumber,
            format!("an efficiency of {written} would be {} %", number * 100.0),
        )
        .remedy(remedy)
    };
    compiler.problems.push(problem.at(sheet.place(&tree.span)));
}
