//! The traps of the trade: numbers that hide a conversion, 2π beside a speed of rotation, percentages.

use super::across::Across;
use super::compile::Compiler;
use super::conversion::{Figure, conversion_in, is_of_time, is_unmistakable, rough_in};
use super::flat::Type;
use super::scope::{Factors, Part, Plain, Sheet, Value, length_of};
use super::{mismatch, tens};
use crate::diagnostic::{Diagnostic, Name, phrase};
use crate::language::{Expression, Node};
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
    if let Some(problem) = turn_of_a_root(factors) {
        compiler.problems.push(problem.at(sheet.place(&tree.span)));
        value.factors.reported = true;
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
    if percent(compiler, sheet, tree, value) {
        value.factors.reported = true;
        return;
    }
    let problem = turn(factors).or_else(|| turned(value)).or_else(|| hidden(factors, &hand));
    if let Some(problem) = problem {
        let mut problem = problem.at(sheet.place(&tree.span));
        let places = factors.numbers.iter().filter_map(|number| number.place.as_ref());
        for place in places {
            problem = problem.label(place.clone(), "a number of this product");
        }
        compiler.problems.push(problem);
        value.factors.reported = true;
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
    // who doubles what is to be halved has gone the wrong way; beside a number that halves it, 2 counts something else
    let over = factors.diameters < 0;
    let halves = if over { 2.0 } else { 0.5 };
    let halved = factors.numbers.iter().any(|it| it.figure.value == halves);
    let doubled = factors.diameters.abs() == 6 && !halved && number.abs() == 1.0 / halves;
    let whole = beside && (number.abs() == 1.0 || doubled) && !loose;
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

/// A diameter times a number where its half is needed, or a radius where its double is: `d / 4`, `d * 2`.
pub(super) fn otherwise_halved(kind: &Kind, factors: &Factors) -> Option<Diagnostic> {
    let (power, from, write) = match Across::of_kind(kind)? {
        Across::Radius => (factors.diameters, Across::Diameter, "write `d / 2` for the diameter d"),
        Across::Diameter => (factors.radii, Across::Radius, "write `2 * r` for the radius r"),
        Across::Lead => return None,
    };
    if factors.across.is_some()
        || power != 6
        || factors.quantities.len() != 1
        || factors.numbers.iter().any(|it| it.loose)
    {
        return None;
    }
    let number: f64 = factors.numbers.iter().map(|it| it.figure.value.abs()).product();
    [0.125, 0.25, 0.5, 1.0, 2.0, 4.0].contains(&number).then(|| {
        let (from, to) = (from.to_text(), kind.with_article());
        let words = format!("{from} times {number} stands where {to} is needed");
        Diagnostic::error(Name::WrongPowerOfRad, words).remedy(format!(
            "{write}; where another number is meant, write `meant` before it and `\"why\"` behind"
        ))
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
    (2, 1, false, 4.0, "the surface of a sphere", "4 * pi * (d / 2)^2"),
    (3, 1, false, 4.0 / 3.0, "the volume of a sphere", "pi * d^3 / 6"),
    (4, 1, false, 0.5, "the polar moment of a circle", "pi * d^4 / 32"),
    (4, 1, false, 0.25, "the second moment of a circle", "pi * d^4 / 64"),
    (2, 0, true, 0.5, "the inertia of a cylinder", "m * d^2 / 8"),
    (2, 0, true, 0.4, "the inertia of a sphere", "m * d^2 / 10"),
    (4, 0, false, 1.0 / 12.0, "the second moment of a section", "pi * d^4 / 64"),
    (2, 0, false, 0.5, "the radius of gyration of a cylinder, squared,", "d^2 / 8"),
    (2, 0, false, 0.4, "the radius of gyration of a sphere, squared,", "d^2 / 10"),
];

/// The same of formulas by the diameter, and the number of the same by the radius.
const BY_DIAMETER: &[(i32, i32, bool, f64, &str, &str)] = &[
    (2, 1, false, 0.25, "the area of a circle", "pi * r^2"),
    (3, 1, false, 1.0 / 6.0, "the volume of a sphere", "4/3 * pi * r^3"),
    (4, 1, false, 1.0 / 32.0, "the polar moment of a circle", "pi * r^4 / 2"),
    (4, 1, false, 1.0 / 64.0, "the second moment of a circle", "pi * r^4 / 4"),
    (2, 0, true, 0.125, "the inertia of a cylinder", "m * r^2 / 2"),
    (2, 0, true, 0.1, "the inertia of a sphere", "2/5 * m * r^2"),
];

/// A formula by the radius into which a diameter was put, or the other way round: π·d² is four times the area.
fn radius_formula(factors: &Factors) -> Option<Diagnostic> {
    match (factors.diameters, factors.radii) {
        (power, 0) => formula_of(factors, power, ROUND, ("diameter", "d", "radius")),
        (0, power) => formula_of(factors, power, BY_DIAMETER, ("radius", "r", "diameter")),
        _ => None,
    }
}

/// A formula of the table into which the other of both was put.
fn formula_of(
    factors: &Factors,
    found: i32,
    table: &[(i32, i32, bool, f64, &str, &str)],
    (wrong, letter, right): (&str, &str, &str),
) -> Option<Diagnostic> {
    // who halves the diameter, as in (d / 2)^2, has seen that it is one
    let plain = factors.numbers.iter().filter(|number| !number.pi && number.figure.value != 1.0);
    let raised = |it: &Plain| ![it.base.value, it.base.value.recip()].contains(&it.figure.value);
    let halved = plain.clone().count() > 2 || plain.clone().any(raised);
    if halved || factors.numbers.iter().any(|number| number.loose) {
        return None;
    }
    // below a fraction line stands what divides: F / (π·d²) is F over a circle of 1 / (1 / π)
    let over = found < 0;
    let sign = if over { -1 } else { 1 };
    let pi = std::f64::consts::PI.powi(factors.pi / 6);
    let all: f64 = factors.numbers.iter().map(|number| number.figure.value).product();
    let number = (all / pi).abs().powi(sign);
    let mass = factors.quantities.iter().any(|it| it.sixths(Base::Mass) != 0);
    let only_lengths =
        factors.quantities.iter().all(|it| only_length(*it)) && factors.lengths == 12;
    let line = table.iter().find(|(power, of_pi, with_mass, by_other, ..)| {
        let near = (number / by_other - 1.0).abs() < 1e-3;
        let powers = (found, factors.pi) == (6 * power * sign, 6 * of_pi * sign);
        // a number before d² is that of an inertia where d² stands by itself
        let alone = (*power, *of_pi, mass) != (2, 0, false) || only_lengths;
        let beside = match of_pi {
            // whether a mass stands above or below the line is not known here
            0 => !over && mass == *with_mass,
            _ => mass || !with_mass,
        };
        powers && alone && near && beside
    });
    line.map(|(_, of_pi, _, _, what, formula)| {
        let meant = match of_pi {
            0 => "where the number is meant as it stands, write `meant` before it and `\"why\"` behind",
            _ => "where π is meant as it stands, write `meant pi \"why\"`",
        };
        Diagnostic::error(
            Name::WrongPowerOfRad,
            format!("a {wrong} stands where the formula of {what} has the {right}"),
        )
        .remedy(format!("by the {wrong} {letter} it is `{formula}`; {meant}"))
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
    let rough = || {
        let alone = factors.numbers.iter().filter(|it| !it.loose);
        alone
            .flat_map(|it| [it.figure, it.base].map(|figure| (figure, it.base)))
            .find_map(|(figure, base)| Some((rough_in(figure, hand)?, figure, vec![to_text(base)])))
    };
    let found = figures.find_map(|(figure, loose, written)| {
        if loose && !is_unmistakable(figure) && !is_of_time(figure, hand) {
            return None;
        }
        let alone =
            factors.numbers.iter().any(|number| [number.figure, number.base].contains(&figure));
        // what is rounded and multiplied is only taken for what is well known
        let hand = if alone || figure.slack == 0.0 { hand } else { &[] };
        Some((conversion_in(figure, hand)?, figure, written))
    });
    let tens = || {
        let (words, figure, written) = tens::between(&factors.numbers, hand)?;
        Some((words, figure, written.into_iter().map(to_text).collect()))
    };
    let (words, figure, written) = found.or_else(rough).or_else(tens)?;
    // the numbers as they stand, not what their product comes to: that is what is looked for, and left out
    let written: Vec<String> = written.into_iter().filter(|number| number != "1").collect();
    let (numbers, verb) = match written.as_slice() {
        [only] => (format!("the number {only}"), "hides"),
        [] => (format!("the number {}", to_text(figure)), "hides"),
        all => (format!("the numbers {} together", phrase::joined(all, "and")), "hide"),
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

/// A share or an efficiency beside 100.
fn percent(compiler: &mut Compiler<'_>, sheet: &Sheet, tree: &Expression, value: &Value) -> bool {
    let numbers = value.factors.numbers.iter().filter(|number| !number.loose);
    let number: f64 = numbers.map(|number| number.figure.value).product();
    let hundred = [number, number.recip()].iter().any(|number| (number / 100.0 - 1.0).abs() < 1e-4);
    let part = match value.factors.has_part.filter(|_| hundred) {
        Some(Part::Share) => "a share",
        Some(Part::Efficiency) => "an efficiency",
        None => return false,
    };
    compiler.problems.push(
        Diagnostic::error(
            Name::PercentAsNumber,
            format!("100 stands beside {part}, which is a part of 1: 95 % is 0.95"),
        )
        .at(sheet.place(&tree.span))
        .remedy("leave the 100 out, and write percentages with their sign: `95 %`; where the number is meant, write `meant` before it and `\"why\"` behind"),
    );
    true
}

/// A share or an efficiency, by its name, beside a plain number above one: 5 % is 0.05. Without its place.
pub(super) fn part_beside_number(
    done: &str,
    a: (&Expression, &Value, &str),
    b: (&Expression, &Value, &str),
) -> Option<Diagnostic> {
    let is_part =
        |it: (&Expression, &Value, &str)| it.1.factors.part && matches!(it.0.node, Node::Name(_));
    let above_one = |it: (&Expression, &Value, &str)| match &it.0.node {
        Node::Number { unit: None, .. } => {
            // below or at 1 a share may well lie; 1 as a step is 100 %
            let least = if done == mismatch::ROUNDED { 1.0 } else { 1.0_f64.next_up() };
            it.1.factors.constant().filter(|it| it.value >= least).map(|_| it.2.to_owned())
        }
        _ => None,
    };
    let number = match (is_part(a), is_part(b)) {
        (true, false) => above_one(b)?,
        (false, true) => above_one(a)?,
        _ => return None,
    };
    let name = if is_part(a) { a.2 } else { b.2 };
    Some(
        Diagnostic::error(
            Name::PercentAsNumber,
            format!("`{name}` is a part of a whole, and {number} is {number}00 %"),
        )
        .remedy(format!("write `{number} %`")),
    )
}

/// Whether a value is a root of a stiffness over an inertia that no 2π has turned into a frequency.
pub(super) fn is_angular(factors: &Factors) -> bool {
    factors.angular && factors.pi == 0
}

/// The root of a stiffness over an inertia, in rad/s, times a whole turn.
fn turn_of_a_root(factors: &Factors) -> Option<Diagnostic> {
    let turn = |(figure, dimension): (Figure, Dimension)| {
        dimension == Dimension::ANGLE && (figure.value / std::f64::consts::TAU - 1.0).abs() < 1e-9
    };
    (factors.angular && factors.pi == 0 && factors.all_written().is_some_and(turn)).then(|| {
        Diagnostic::error(
            Name::WrongPowerOfRad,
            "the root of a stiffness over an inertia is in rad/s, and `1 r` makes it 2π times as much",
        )
        .remedy("write `1 rad` for `1 r`")
    })
}

/// The root of a stiffness over an inertia is no frequency: a root or a power, which needs no parentheses before a
/// division. Without its place.
pub(super) fn angular(text: &str) -> Diagnostic {
    Diagnostic::error(
        Name::WrongPowerOfRad,
        "the root of a stiffness over an inertia is in rad/s, not in Hz",
    )
    .remedy(format!("write `{text} / (2 * pi)`"))
}

/// A share or an efficiency whose default, example or bound says more than one.
pub(super) fn part(
    compiler: &mut Compiler<'_>,
    sheet: &Sheet,
    tree: &Expression,
    kind: &Kind,
    number: f64,
    with_unit: bool,
) {
    if number <= 1.0 {
        return;
    }
    let written = sheet.text(&tree.span).to_owned();
    if kind.name == "share" {
        if !with_unit {
            let words = format!("a share of {written} would be {} %", number * 100.0);
            let problem = Diagnostic::error(Name::PercentAsNumber, words)
                .at(sheet.place(&tree.span))
                .remedy(format!("write `{written} %`"));
            compiler.problems.push(problem);
        }
        return;
    }
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
