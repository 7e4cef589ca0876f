//! What is said when units, names or words do not fit.

use super::scope::{Named, Sheet, Value};
use super::suggest;
use crate::diagnostic::{Diagnostic, Name, phrase};
use crate::language::{Definition, Expression, Group, Node, Span, Word};
use crate::unit::{self, Dimension, UnitProblem};

const RATE: Dimension = Dimension::of(0, 0, -1, 0, 0, 0);
const ENERGY: Dimension = Dimension::of(2, 1, -2, 0, 0, 0);
const SPEED: Dimension = Dimension::of(1, 0, -1, 0, 0, 0);

/// A value that meets another one: as written, as it is, and in what dimension.
type Side<'a> = (&'a Expression, &'a Value, Dimension);

/// Two values of different kinds where they must be alike; `done` is what was tried, and where.
pub(super) fn unlike(sheet: &Sheet, done: (&str, &Span), a: Side<'_>, b: Side<'_>) -> Diagnostic {
    let (x, y) = (a.2, b.2);
    let (first, second) = (called(sheet, a), called(sheet, b));
    let name = name_of(x, y).unwrap_or(Name::UnitMismatch);
    let headline = match done.0 {
        ROUNDED => format!("{first} cannot be rounded to {second}"),
        CARRIED => format!("`running` begins with {first} and goes on with {second}"),
        _ => format!("{first} and {second} cannot be {}", done.0),
    };
    let mut problem = Diagnostic::error(name, headline).at(sheet.place(done.1));
    for side in [a, b] {
        if side.0.span == *done.1 {
            problem.words = whence(sheet, side);
        } else {
            problem = problem.label(sheet.place(&side.0.span), whence(sheet, side));
        }
    }
    problem.remedy(match done.0 {
        ROUNDED => match quantity("1", x) {
            Some(step) => format!("give a step of the same kind, such as `{step}`"),
            None => "give a step of the same kind".to_owned(),
        },
        _ => remedy(sheet, a, b),
    })
}

/// What is tried where a value meets the step it is rounded to.
pub(super) const ROUNDED: &str = "rounded";

/// What is tried where `running` carries a value on.
pub(super) const CARRIED: &str = "carried on";

/// The name of what is wrong where two dimensions differ by the angle alone.
pub(super) fn name_of(x: Dimension, y: Dimension) -> Option<Name> {
    if x.without_angle() != y.without_angle() {
        return None;
    }
    let meet = |a: Dimension, b: Dimension| (x == a && y == b) || (x == b && y == a);
    Some(if meet(RATE, RATE.times(Dimension::ANGLE)) {
        Name::RotationMeetsRate
    } else if meet(ENERGY, ENERGY.over(Dimension::ANGLE)) {
        Name::TorqueMeetsEnergy
    } else {
        Name::WrongPowerOfRad
    })
}

/// What a dimension is called, the angle counted: what is near a kind is not called by its name.
fn exact_name(dimension: Dimension) -> String {
    match unit::kinds_of(dimension).is_empty() && !dimension.is_none() {
        true => format!("a quantity in {dimension}"),
        false => unit::name_of(dimension),
    }
}

/// A line that declares one kind and calculates another.
pub(super) fn declared(
    sheet: &Sheet,
    line: &Definition,
    kind: &unit::Kind,
    (tree, found): (&Expression, Dimension),
) -> Diagnostic {
    let name = match name_of(kind.dimension, found) {
        _ if kind.dimension == found => Name::TemperaturePoint,
        name => name.unwrap_or(Name::UnitMismatch),
    };
    let found_words = exact_name(found);
    let what = if line.is_next { "in its state" } else { "declared as" };
    let headline = format!(
        "`{}` is {what} {}, and its formula gives {found_words}",
        line.name.value,
        kind.with_article()
    );
    let remedy = match unit::kinds_of(found).first() {
        _ if kind.dimension != found && kind.dimension.without_angle() == found.without_angle() => {
            super::absorb::missing(found, kind.dimension)
        }
        Some(other) if !line.is_next => {
            format!("write `{} : {} = …`, or check the formula", line.name.value, other.name)
        }
        _ => "check the formula".to_owned(),
    };
    let place = line.kind.as_ref().map_or(&line.name.span, |word| &word.span);
    Diagnostic::error(name, headline)
        .at(sheet.place(place))
        .label(sheet.place(&tree.span), found_words)
        .remedy(remedy)
}

/// A temperature on the scale and a difference, where both must be the same.
pub(super) fn point_meets_difference(
    sheet: &Sheet,
    done: (&str, &Span),
    a: (&Expression, bool),
    b: (&Expression, bool),
) -> Diagnostic {
    let words = |point| if point { "temperature on the scale" } else { "temperature difference" };
    let mut problem = Diagnostic::error(
        Name::TemperaturePoint,
        format!("a temperature on the scale and a temperature difference cannot be {}", done.0),
    )
    .at(sheet.place(done.1));
    for (tree, point) in [a, b] {
        if tree.span != *done.1 {
            problem = problem.label(sheet.place(&tree.span), words(point));
        }
    }
    problem.remedy("a difference is given in K, a temperature in °C; subtract two temperatures to get a difference")
}

/// What a side is called: by the kind that is measured in the unit it bears, else by its dimension.
fn called(sheet: &Sheet, (tree, value, dimension): Side<'_>) -> String {
    let unit = match &tree.node {
        Node::Number { unit: Some(unit), .. } => Some(unit.value.as_str()),
        _ => value.named.as_ref().and_then(|(name, _)| Some(sheet.units.get(name)?.as_str())),
    };
    let measured = unit.and_then(|unit| {
        unit::kinds_of(dimension).into_iter().find(|kind| kind.units.contains(&unit))
    });
    measured.map_or_else(|| exact_name(dimension), |kind| kind.with_article())
}

/// Whether a side is a formula of which nothing bears the dimension: wrong itself, not what it meets.
fn is_of_no_kind((tree, _, dimension): Side<'_>) -> bool {
    !matches!(tree.node, Node::Number { .. })
        && !dimension.is_none()
        && unit::nearest_kind_of(dimension).is_none()
}

/// The line of works, or the formula, from which a side comes; none where it is an input or a number.
fn formula_of(sheet: &Sheet, (tree, value, _): Side<'_>) -> Option<String> {
    let Some((name, place)) = &value.named else {
        let is_formula = !matches!(tree.node, Node::Number { .. } | Node::Name(_));
        return is_formula.then(|| format!("the formula `{}`", sheet.text(&tree.span)));
    };
    sheet.tree.works.iter().any(|line| line.name.value == *name).then(|| match place {
        crate::diagnostic::Place::Text { source, span } if source == &sheet.source => {
            format!("the formula of `{name}` in line {}", source.line_and_column(span.0).0)
        }
        place => format!("the formula of `{name}`, {}", place.to_text()),
    })
}

/// `length in mm, from line 9`
fn whence(sheet: &Sheet, side: Side<'_>) -> String {
    let (_, value, dimension) = side;
    let kind = match unit::kinds_of(dimension).is_empty() {
        true => unit::name_of(dimension),
        false => called(sheet, side),
    };
    let has_kind = dimension.is_none() || unit::nearest_kind_of(dimension).is_some();
    let kind = kind.strip_prefix("a ").or(kind.strip_prefix("an ")).unwrap_or(&kind).to_owned();
    match &value.named {
        Some((name, crate::diagnostic::Place::Text { source, span }))
            if source == &sheet.source =>
        {
            let unit = sheet.units.get(name).filter(|unit| has_kind && !unit.is_empty());
            let unit = unit.map_or_else(String::new, |unit| format!(" in {unit}"));
            format!("{kind}{unit}, from line {}", source.line_and_column(span.0).0)
        }
        Some((_, place)) => format!("{kind}, from {}", place.to_text()),
        None => kind,
    }
}

fn remedy(sheet: &Sheet, a: Side<'_>, b: Side<'_>) -> String {
    let (x, y) = (a.2, b.2);
    let second = sheet.text(&b.0.span);
    let (first_kind, second_kind) = (unit::name_of(x), unit::name_of(y));
    if x.without_angle() == y.without_angle() {
        return match x.without_angle() {
            RATE => "a speed of rotation is written in r/min, r/s or rad/s and converts itself; declare both as `speed of rotation`".to_owned(),
            ENERGY => "a torque times an angle is an energy; where a force acts at an arm, declare the arm as `radius`, and write a torque in N·m, an energy in J".to_owned(),
            SPEED => "a speed of rotation times a `radius` is a speed; declare the arm as `radius` or `diameter`".to_owned(),
            _ if x.without_angle().is_none() => "an angle is not a plain number: write it with its unit, such as `90 °`, `1 r` or `1 rad`".to_owned(),
            _ => "the sides differ by a power of rad: declare an arm as `radius` or `diameter`, a lead as `travel per turn`, a speed of rotation in r/min, not in Hz".to_owned(),
        };
    }
    let odd = [a, b].into_iter().find(|side| is_of_no_kind(*side));
    if let Some((odd, formula)) = odd.and_then(|odd| Some((odd, formula_of(sheet, odd)?))) {
        return format!("check {formula}: no kind is measured in {}", odd.2);
    }
    let number = |side: Side<'_>, other: Dimension| match &side.0.node {
        Node::Number { digits, .. } => {
            Some((if side.2.is_none() { "the number" } else { "it" }, quantity(digits, other)?))
        }
        _ => None,
    };
    let plain_first = x.is_none() && matches!(a.0.node, Node::Number { .. });
    let found = if plain_first { number(a, y) } else { number(b, x) };
    if let Some((what, with_unit)) = found {
        return match what {
            "it" => match formula_of(sheet, a) {
                Some(formula) => format!(
                    "check {formula}; where it is right, write {first_kind}, such as `{with_unit}`"
                ),
                None => format!("write it as {first_kind}, such as `{with_unit}`"),
            },
            _ => format!("write the number with its unit, such as `{with_unit}`"),
        };
    }
    // a line that declares no kind gives what its formula makes
    let open = [a, b].into_iter().find(|(_, value, _)| {
        let name = value.named.as_ref().map(|(name, _)| name);
        let line = sheet.tree.works.iter().find(|line| Some(&line.name.value) == name);
        line.is_some_and(|line| line.kind.is_none())
    });
    let first = open.and_then(|side| formula_of(sheet, side));
    let first = first.map_or_else(String::new, |it| format!("check {it}; where it is right, "));
    let quotient = y.over(x);
    if let Some(kind) = unit::kinds_of(quotient).into_iter().find(|_| !quotient.is_none()) {
        return format!(
            "{first}divide `{second}` by {} to get {first_kind}, or leave it out",
            kind.with_article()
        );
    }
    if let Some(kind) = unit::kinds_of(x.over(y)).into_iter().next() {
        return format!(
            "{first}multiply `{second}` by {} to get {first_kind}, or leave it out",
            kind.with_article()
        );
    }
    format!("check the formula: {first_kind} and {second_kind} have nothing in common")
}

/// `3 s`: a number of that dimension as it can be typed; none where no unit says it.
fn quantity(digits: &str, dimension: Dimension) -> Option<String> {
    let symbol = unit::usual_unit(dimension, false).symbol;
    let typed = unit::parse_unit(&symbol).ok()?;
    unit::fits(typed.dimension, dimension).then(|| match symbol.as_str() {
        "" => digits.to_owned(),
        symbol => format!("{digits} {symbol}"),
    })
}

/// A value of the wrong kind in a function's parentheses.
pub(super) fn argument(
    sheet: &Sheet,
    name: &Word,
    tree: &Expression,
    found: Dimension,
    takes: Dimension,
) -> Diagnostic {
    let headline =
        format!("`{}` takes {}, found {}", name.value, unit::name_of(takes), unit::name_of(found));
    let remedy = if takes == Dimension::ANGLE && found.is_none() {
        "write the angle with its unit, such as `30 °`"
    } else if takes.is_none() && found == Dimension::ANGLE {
        "divide the angle by `1 rad`"
    } else {
        "divide by a reference of the same kind first"
    };
    let code = if found.without_angle() == takes.without_angle() {
        Name::WrongPowerOfRad
    } else {
        Name::UnitMismatch
    };
    Diagnostic::error(code, headline).at(sheet.place(&tree.span)).remedy(remedy)
}

/// How many names are held against names that are not there: beyond, the nearest is not looked for, so that the
/// time for many mistakes grows as their number does.
const HELD: usize = 1_000_000;

/// A name that is not there, with the nearest; `before` is how many problems came before.
pub(super) fn unknown_name(sheet: &Sheet, name: &str, span: &Span, before: usize) -> Diagnostic {
    let locals = sheet.locals.iter().map(|(local, _)| local.as_str());
    let values = sheet.names_of(|named| matches!(named, Named::Value(..)));
    let all = values.chain(locals).chain(["pi", "g_n"]);
    let known: Vec<&str> = match before * sheet.places.len() > HELD {
        true => Vec::new(),
        false => all.collect(),
    };
    // a name of one letter in another case is too short to be near elsewhere; where nothing else fits it is asked
    let letter = known.iter().copied().find(|known| known.to_lowercase() == name.to_lowercase());
    let near = suggest::nearest(name, known.iter().copied());
    // of some that are as near, as `T_br` and `t_b` for `t_br`, each may be meant
    let least = near.first().map(|(_, slips)| *slips);
    let as_near = near.iter().filter(|(_, slips)| Some(*slips) == least);
    let with_line = |near: &str| {
        let line = match sheet.places.get(near) {
            Some(crate::diagnostic::Place::Text { source, span }) => {
                format!(" (line {})", source.line_and_column(span.0).0)
            }
            _ => String::new(),
        };
        format!("`{near}`{line}")
    };
    let near: Vec<String> = as_near.map(|(near, _)| *near).map(with_line).collect();
    let near = if near.is_empty() { letter.map(with_line).into_iter().collect() } else { near };
    let remedy = match near.as_slice() {
        [_, ..] => format!("did you mean {}?", phrase::joined(&near, "or")),
        [] if is_torn_unit(sheet, name, span) => {
            format!("a unit has no blanks inside: write it in one piece, such as `12 m/{name}`")
        }
        [] => {
            format!("add it to takes: `{name} : kind in unit`, or define it in works: `{name} = …`")
        }
    };
    Diagnostic::error(Name::UnknownName, format!("nothing is called `{name}` here"))
        .at(sheet.place(span))
        .remedy(remedy)
}

/// A name before a point that is not a used sheet, with the nearest that is one.
pub(super) fn unknown_alias(sheet: &Sheet, alias: &Word) -> Diagnostic {
    let uses = sheet.names_of(|named| matches!(named, Named::Use(_)));
    let remedy = suggest::did_you_mean(&alias.value, uses).unwrap_or_else(|| {
        format!(
            "use a sheet by that name: `uses`, and below it `{} = run-down with …`",
            alias.value
        )
    });
    Diagnostic::error(Name::UnknownName, format!("no used sheet is called `{}`", alias.value))
        .at(sheet.place(&alias.span))
        .remedy(remedy)
}

/// Whether a name is the end of a unit that was written with blanks: `12 m / s`.
fn is_torn_unit(sheet: &Sheet, name: &str, span: &Span) -> bool {
    let before = sheet.text(&(0..span.start)).trim_end();
    before.ends_with('/') && unit::parse_unit(name).is_ok()
}

/// A result that a used sheet does not give.
pub(super) fn unknown_result(
    sheet: &Sheet,
    alias: &Word,
    result: &Word,
    known: &[&str],
) -> Diagnostic {
    let near = suggest::nearest(&result.value, known.iter().copied());
    let remedy = match near.first() {
        Some((near, _)) => format!("did you mean `{}.{near}`?", alias.value),
        None => format!("it gives {}", list(known)),
    };
    Diagnostic::error(
        Name::UnknownName,
        format!("the sheet behind `{}` gives no `{}`", alias.value, result.value),
    )
    .at(sheet.place(&result.span))
    .remedy(remedy)
}

/// A word that a choice does not have.
pub(super) fn unknown_word(sheet: &Sheet, word: &Word, words: &[String]) -> Diagnostic {
    let known: Vec<&str> = words.iter().map(String::as_str).collect();
    Diagnostic::error(
        Name::UnknownWord,
        format!("`{}` is not one of the words of this choice", word.value),
    )
    .at(sheet.place(&word.span))
    .remedy(format!("write {}", list(&known)))
}

/// `a, b or c`, each in back quotes.
pub(super) fn list(words: &[&str]) -> String {
    match words {
        [] => "nothing".to_owned(),
        words => phrase::joined(&phrase::quoted(words), "or"),
    }
}

/// A group of inputs stands where a value is needed.
pub(super) fn a_group(
    sheet: &Sheet,
    group: &Group,
    input: Option<&Word>,
    span: &Span,
) -> Diagnostic {
    let handle = &group.handle().value;
    let input = input.filter(|it| group.inputs.contains(&it.value)).map(|it| &it.value);
    let remedy = match (input, group.inputs.first()) {
        (Some(input), _) => format!("write `{}`", group.called(input)),
        (None, first) => format!(
            "name one of its inputs, such as `{}`",
            first.map_or_else(String::new, |first| group.called(first))
        ),
    };
    let headline = format!("`{handle}` is a group of inputs, not a value");
    Diagnostic::error(Name::UnknownName, headline).at(sheet.place(span)).remedy(remedy)
}

/// A unit that does not read, or does not fit its kind.
pub(crate) fn unit_problem(problem: &UnitProblem) -> Diagnostic {
    let name = problem.reason.name();
    let remedy = match (problem.remedy.is_empty(), name) {
        (true, Name::UnknownUnit) => "`standstill list units` shows all units".to_owned(),
        _ => problem.remedy.clone(),
    };
    Diagnostic::error(name, problem.headline()).remedy(remedy)
}
