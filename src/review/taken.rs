//! Inputs that one calculation of a document takes from another: their order, circles, and the value itself.

use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;

use super::block::Asked;
use super::document::Calculation;
use super::value::{named, not_there};
use crate::calculation::{Inputs, enclosed};
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::language::Word;
use crate::number::{Bounds, Exact, Given, Interval, Registers, Slot};
use crate::program::{Input, Register, Type};
use crate::unit::{self, Literal, Unit, fits, split_quantity};

/// An input that is another calculation's value.
#[derive(Clone, Debug)]
pub(super) struct Link {
    /// Place in [`crate::program::Program::inputs`].
    pub(super) input: usize,
    /// The calculation it comes from.
    pub(super) alias: String,
    /// The name of the value there.
    pub(super) name: String,
    /// Where the value is kept there.
    pub(super) register: Register,
    /// For a choice: the place of each word of the other's list in the list of this input.
    pub(super) words: Option<Vec<Option<usize>>>,
}

/// The order in which blocks can be worked out; blocks in or behind a circle are left out, and each circle
/// is a problem.
pub(super) fn order(
    source: &Arc<Source>,
    asked: &[Asked],
    problems: &mut Vec<Diagnostic>,
) -> Vec<usize> {
    let waits: Vec<BTreeSet<usize>> = asked
        .iter()
        .map(|one| {
            let found = one.taken.iter().filter_map(|(_, alias, _)| {
                asked.iter().position(|other| other.alias == alias.value)
            });
            found.collect()
        })
        .collect();
    let mut open: Vec<usize> = waits.iter().map(BTreeSet::len).collect();
    let mut ready: BTreeSet<usize> =
        open.iter().enumerate().filter(|(_, count)| **count == 0).map(|(at, _)| at).collect();
    let mut order = Vec::new();
    while let Some(at) = ready.pop_first() {
        order.push(at);
        for (other, count) in open.iter_mut().enumerate() {
            if waits.get(other).is_some_and(|waits| waits.contains(&at)) {
                *count -= 1;
                if *count == 0 {
                    ready.insert(other);
                }
            }
        }
    }
    let mut left: BTreeSet<usize> = (0..asked.len()).filter(|at| !order.contains(at)).collect();
    while let Some(start) = left.first().copied() {
        // whatever is left waits for something that is left or was told already: follow it
        let mut path = vec![start];
        loop {
            let last = path.last().copied().unwrap_or(start);
            left.remove(&last);
            let next =
                waits.get(last).and_then(|waits| waits.iter().find(|at| !order.contains(at)));
            match next {
                Some(next) if path.contains(next) => {
                    let circle: Vec<usize> = path.into_iter().skip_while(|at| at != next).collect();
                    problems.push(circle_problem(source, asked, &circle));
                    break;
                }
                Some(next) if left.contains(next) => path.push(*next),
                _ => break,
            }
        }
    }
    order
}

fn circle_problem(source: &Arc<Source>, asked: &[Asked], circle: &[usize]) -> Diagnostic {
    let names: Vec<String> = circle
        .iter()
        .filter_map(|at| asked.get(*at))
        .map(|one| format!("`{}`", one.alias))
        .collect();
    let headline = match names.as_slice() {
        [one] => format!("{one} takes an input from itself"),
        names => {
            let (last, before) = names
                .split_last()
                .map_or((String::new(), &[][..]), |(last, before)| (last.clone(), before));
            format!("{} and {last} wait for each other", before.join(", "))
        }
    };
    let mut problem = Diagnostic::error(Name::CircularDefinition, headline);
    let mut first = true;
    for (at, next) in circle.iter().zip(circle.iter().cycle().skip(1)) {
        let (Some(one), Some(other)) = (asked.get(*at), asked.get(*next)) else { continue };
        let Some((name, alias, there)) =
            one.taken.iter().find(|(_, alias, _)| alias.value == other.alias)
        else {
            continue;
        };
        let place = Place::text(source, name.span.start..there.span.end);
        if std::mem::take(&mut first) {
            problem = problem.at(place);
        } else {
            problem = problem.label(place, format!("`{}` waits for `{}`", one.alias, alias.value));
        }
    }
    problem.remedy("give one of these inputs a value of its own, such as `E = 80 J`")
}

/// Puts another calculation's value into an input, with its worst case where that has one.
///
/// # Errors
/// A name that is not there, or a value of another kind; none where the other has failed and is told.
pub(super) fn take(
    source: &Arc<Source>,
    inputs: &mut Inputs,
    calculations: &[Calculation],
    (name, alias, there): &(Word, Word, Word),
) -> Result<Option<Link>, Diagnostic> {
    let place = Place::text(source, name.span.start..there.span.end);
    let Some(from) = calculations.iter().find(|one| one.alias == alias.value) else {
        return Ok(None);
    };
    let at = inputs.program().inputs.iter().position(|input| input.name == name.value);
    let Some((at, input)) = at.and_then(|at| Some((at, inputs.program().inputs.get(at)?.clone())))
    else {
        // the ordinary message for an input that the sheet does not take
        return inputs.write_from(&name.value, "0", place).map(|()| None);
    };
    let Some((register, type_, unit)) = named(&from.results, &there.value) else {
        return Err(not_there(from, &there.value).at(Place::text(source, there.span.clone())));
    };
    let wrong = |found: &str, remedy: String| {
        let wanted = input.kind.map_or("one of its own words", |kind| kind.name);
        Diagnostic::error(
            Name::UnitMismatch,
            format!("`{}` is {wanted}, `{}.{}` is {found}", name.value, alias.value, there.value),
        )
        .at(place.clone())
        .label(input.place.clone(), "the sheet asks for it here")
        .remedy(remedy)
    };
    let words = match (&input.type_, &type_) {
        (Type::Choice(own), Type::Choice(others)) => Some(
            others.iter().map(|word| own.iter().position(|own| own == word)).collect::<Vec<_>>(),
        ),
        (
            Type::Number { dimension: own, point: own_point, series: own_series },
            Type::Number { dimension, point, series },
        ) => {
            if !fits(*own, *dimension) || own_point != point {
                let found = unit::name_of(*dimension);
                return Err(wrong(
                    &found,
                    format!(
                        "take a value of the kind {}",
                        input.kind.map_or("it asks for", |kind| kind.name)
                    ),
                ));
            }
            if *series && !own_series {
                return Err(wrong("a series", "take one value, such as its largest".to_owned()));
            }
            None
        }
        _ => {
            return Err(wrong(
                "of another kind",
                "take a value of the kind it asks for".to_owned(),
            ));
        }
    };
    let Some(given) = given(from, register, &unit, words.as_deref(), own_series(&input)) else {
        return Err(wrong("a word it does not know", "give it one of its own words".to_owned()));
    };
    inputs.put(&name.value, given, Some(place.clone()));
    if from.results.inputs().any_spread() && words.is_none() {
        let bounds = enclosed(from.results.program(), from.results.inputs());
        match ends(&bounds, register, &input) {
            Some(ends) if ends.iter().any(|(low, high)| low != high) => {
                inputs.spread_over(&name.value, ends);
            }
            Some(_) => {}
            None => {
                let headline = format!(
                    "`{}.{}` has no bound within the tolerances of `{}`",
                    alias.value, there.value, alias.value
                );
                return Err(Diagnostic::error(Name::TooLarge, headline)
                    .at(place)
                    .remedy("narrow these tolerances"));
            }
        }
    }
    Ok(Some(Link {
        input: at,
        alias: alias.value.clone(),
        name: there.value.clone(),
        register,
        words,
    }))
}

fn own_series(input: &Input) -> bool {
    matches!(input.type_, Type::Number { series: true, .. })
}

/// The value in the unit in which it is read there, with the digits that are certain.
fn given(
    from: &Calculation,
    register: Register,
    unit: &Unit,
    words: Option<&[Option<usize>]>,
    series: bool,
) -> Option<Given> {
    let literal = |value: &Exact| {
        let number = value.in_unit(unit).ok()?;
        let digits = number.certain_digits().clamp(1, 28);
        let text = number.to_decimal_string(digits, crate::program::Direction::Nearest);
        let (digits, ten, _) = split_quantity(&text).ok()?;
        Some(Literal::new(digits, ten, unit.clone()))
    };
    match (from.results.run().register(register).ok()?, words) {
        (Slot::One(value), Some(words)) => {
            let at = value.to_f64();
            let place = words
                .iter()
                .enumerate()
                .find(|(place, _)| u32::try_from(*place).is_ok_and(|place| f64::from(place) == at));
            place.and_then(|(_, own)| *own).map(Given::Word)
        }
        (Slot::One(value), None) if series => Some(Given::Many(vec![literal(value)?])),
        (Slot::One(value), None) => Some(Given::One(literal(value)?)),
        (Slot::Many(values), None) => {
            Some(Given::Many(values.iter().map(literal).collect::<Option<_>>()?))
        }
        _ => None,
    }
}

/// From where to where the value can go, in coherent SI; none where it has no end.
fn ends(
    bounds: &Rc<Registers<Bounds>>,
    register: Register,
    input: &Input,
) -> Option<Vec<(Literal, Literal)>> {
    let Type::Number { dimension, point, .. } = input.type_ else { return None };
    let si = Unit { dimension, point, ..Unit::one() };
    let pair = |range: Interval| {
        Some((
            Literal::from_f64(range.low, si.clone())?,
            Literal::from_f64(range.high, si.clone())?,
        ))
    };
    match bounds.get(usize::try_from(register.0).ok()?)? {
        // what nothing uncertain bears on stays as it is
        Slot::One(value) if value.exact.is_some() => Some(Vec::new()),
        Slot::One(value) => Some(vec![pair(value.range?)?]),
        Slot::Many(all) => all.iter().map(|value| pair(value.range?)).collect(),
        Slot::Truth(_) | Slot::Empty => None,
    }
}
