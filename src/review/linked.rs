//! Inputs that one calculation of a document takes from another: their order, circles, and the value itself.

use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;

use super::block::{BlockRequest, LinkedInput, LinkedPart};
use super::model::{Calculation, Link, Origin};
use super::value::{named, not_there};
use crate::calculation::{Inputs, enclosed, read};
use crate::diagnostic::{Diagnostic, Name, Place, Source, phrase};
use crate::number::{Bound, Bounds, Exact, InputValue, Registers, Slot};
use crate::program::{Input, Register, Type};
use crate::unit::{self, Kind, Literal, Unit, fits, split_quantity};

/// The order in which blocks can be calculated; blocks in a circle, or that wait for one, are left out, and each circle
/// is a problem.
pub(super) fn order(
    source: &Arc<Source>,
    asked: &[BlockRequest],
    problems: &mut Vec<Diagnostic>,
) -> Vec<usize> {
    let waits: Vec<BTreeSet<usize>> = asked
        .iter()
        .map(|one| {
            let names = one.taken.iter().flat_map(LinkedInput::others);
            names
                .filter_map(|(alias, _)| asked.iter().position(|other| other.alias == alias.value))
                .collect()
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
        // whatever is left waits for something that is left or was reported already: follow it
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

fn circle_problem(source: &Arc<Source>, asked: &[BlockRequest], circle: &[usize]) -> Diagnostic {
    let names: Vec<String> = circle
        .iter()
        .filter_map(|at| asked.get(*at))
        .map(|one| format!("`{}`", one.alias))
        .collect();
    let headline = match names.as_slice() {
        [one] => format!("{one} takes an input from itself"),
        names => format!("{} wait for each other", phrase::joined(names, "and")),
    };
    let mut problem = Diagnostic::error(Name::CircularDefinition, headline);
    let mut first = true;
    for (at, next) in circle.iter().zip(circle.iter().cycle().skip(1)) {
        let (Some(one), Some(other)) = (asked.get(*at), asked.get(*next)) else { continue };
        let Some(taken) = one
            .taken
            .iter()
            .find(|taken| taken.others().any(|(alias, _)| alias.value == other.alias))
        else {
            continue;
        };
        let place = Place::text(source, taken.name.span.start..taken.written.span.end);
        if std::mem::take(&mut first) {
            problem = problem.at(place);
        } else {
            problem = problem.label(place, format!("`{}` waits for `{}`", one.alias, other.alias));
        }
    }
    problem.remedy("give one of these inputs a value of its own, such as `E = 80 J`")
}

/// Puts other calculations' values into an input, with their worst case where they have one.
///
/// # Errors
/// A name that is not there, or a value of another kind; none where another has failed and is reported.
pub(super) fn take(
    source: &Arc<Source>,
    inputs: &mut Inputs,
    calculations: &[Calculation],
    taken: &LinkedInput,
) -> Result<Option<Link>, Diagnostic> {
    let name = &taken.name.value;
    let place = Place::text(source, taken.name.span.start..taken.written.span.end);
    let at = inputs.program().inputs.iter().position(|input| input.name == *name);
    let Some((at, input)) = at.and_then(|at| Some((at, inputs.program().inputs.get(at)?.clone())))
    else {
        // the ordinary message for an input that the sheet does not take
        return inputs.write_from(name, "0", place).map(|()| None);
    };
    let series = matches!(input.type_, Type::Number { series: true, .. });
    if taken.parts.len() > 1 && !series {
        let headline = format!("`{name}` is one value, and there are {}", taken.parts.len());
        let problem = Diagnostic::error(Name::SeriesForNumber, headline).at(place);
        return Err(problem.remedy("leave one of them"));
    }
    let mut link =
        Link { input: at, from: Vec::new(), written: taken.written.value.clone(), words: None };
    let mut values: Vec<Literal> = Vec::new();
    let mut reach: Vec<(Literal, Literal)> = Vec::new();
    for part in &taken.parts {
        let (alias, there) = match part {
            LinkedPart::Others(alias, there) => (alias, there),
            LinkedPart::Own(text) => {
                let here = Place::text(source, text.span.clone());
                let read = read(&input, &text.value).map_err(|problem| problem.at(here))?;
                if let InputValue::Many(own) = read {
                    reach.extend(own.iter().map(|value| (value.clone(), value.clone())));
                    values.extend(own);
                }
                continue;
            }
        };
        let Some(from) = calculations.iter().find(|one| one.alias == alias.value) else {
            return Ok(None);
        };
        let Some((register, type_, unit)) = named(&from.results, &there.value) else {
            return Err(not_there(from, &there.value).at(Place::text(source, there.span.clone())));
        };
        let wrong = |(found, remedy): (String, String)| {
            let wanted = input.kind.map_or("one of its own words".to_owned(), Kind::with_article);
            let (alias, there) = (&alias.value, &there.value);
            Diagnostic::error(
                Name::UnitMismatch,
                format!("`{name}` is {wanted}, `{alias}.{there}` is {found}"),
            )
            .at(place.clone())
            .label(input.place.clone(), "the sheet asks for it here")
            .remedy(remedy)
        };
        link.words = meets(&input, &type_).map_err(wrong)?;
        let element = (taken.parts.len() > 1).then_some(values.len());
        link.from.push((element, Origin { alias: alias.value.clone(), register }));
        if let Some(words) = &link.words {
            let word = word(from, register, words).ok_or_else(|| {
                wrong((
                    "a word it does not know".to_owned(),
                    "give it one of its own words".to_owned(),
                ))
            })?;
            inputs.store(name, InputValue::Word(word), Some(place));
            return Ok(Some(link));
        }
        let found = literals(from, register, &unit);
        if element.is_some() && found.len() != 1 {
            return Err(wrong((
                "a series".to_owned(),
                "take it alone, or element by element".to_owned(),
            )));
        }
        let ends = if from.results.inputs().any_spread() {
            let bounds = enclosed(from.results.program(), from.results.inputs());
            ends(&bounds, register, &input, &found)
        } else {
            Some(found.iter().map(|value| (value.clone(), value.clone())).collect())
        };
        let Some(ends) = ends else {
            let (alias, there) = (&alias.value, &there.value);
            let headline =
                format!("`{alias}.{there}` has no bound within the tolerances of `{alias}`");
            let problem = Diagnostic::error(Name::TooLarge, headline).at(place);
            return Err(problem.remedy("narrow these tolerances"));
        };
        values.extend(found);
        reach.extend(ends);
    }
    let given = match values.first() {
        Some(first) if !series => InputValue::One(first.clone()),
        _ => InputValue::Many(values),
    };
    inputs.store(name, given, Some(place));
    if reach.iter().any(|(low, high)| low != high) {
        inputs.spread_over(name, reach);
    }
    Ok(Some(link))
}

/// Whether an input can hold a value of a type; for words, the place of each among its own.
///
/// # Errors
/// What is found, and what to do.
fn meets(input: &Input, type_: &Type) -> Result<Option<Vec<Option<usize>>>, (String, String)> {
    match (&input.type_, type_) {
        (Type::Choice(own), Type::Choice(others)) => {
            let place = |word: &String| own.iter().position(|own| own == word);
            Ok(Some(others.iter().map(place).collect()))
        }
        (
            Type::Number { dimension: own, point: own_point, series: own_series },
            Type::Number { dimension, point, series },
        ) => {
            let kind = input.kind.map_or("it asks for", |kind| kind.name);
            if !fits(*own, *dimension) || own_point != point {
                let remedy = format!("take a value of the kind {kind}");
                return Err((unit::name_of(*dimension), remedy));
            }
            if *series && !own_series {
                let remedy = "take one value, such as its largest".to_owned();
                return Err(("a series".to_owned(), remedy));
            }
            Ok(None)
        }
        _ => Err(("of another kind".to_owned(), "take a value of the kind it asks for".to_owned())),
    }
}

/// The values in the unit in which they are read there, with the digits that are certain.
fn literals(from: &Calculation, register: Register, unit: &Unit) -> Vec<Literal> {
    let literal = |value: &Exact| {
        let number = value.in_unit(unit).ok()?;
        let digits = number.certain_digits().clamp(1, 28);
        let text = number.to_decimal_string(digits, crate::program::Direction::Nearest);
        let (digits, ten, _) = split_quantity(&text).ok()?;
        Some(Literal::new(digits, ten, unit.clone()))
    };
    match from.results.run().register(register) {
        Ok(Slot::One(value)) => literal(value).into_iter().collect(),
        Ok(Slot::Many(values)) => values.iter().filter_map(literal).collect(),
        _ => Vec::new(),
    }
}

/// The place of a word among the input's own.
fn word(from: &Calculation, register: Register, words: &[Option<usize>]) -> Option<usize> {
    let Ok(Slot::One(value)) = from.results.run().register(register) else { return None };
    let at = value.to_f64();
    let mut places = words.iter().enumerate();
    places
        .find(|(place, _)| u32::try_from(*place).is_ok_and(|place| f64::from(place) == at))?
        .1
        .to_owned()
}

/// From where to where the values can go, in coherent SI; none where one has no end.
fn ends(
    bounds: &Rc<Registers<Bounds>>,
    register: Register,
    input: &Input,
    values: &[Literal],
) -> Option<Vec<(Literal, Literal)>> {
    let Type::Number { dimension, point, .. } = input.type_ else { return None };
    let si = Unit { dimension, point, ..Unit::one() };
    let pair = |bound: &Bound, value: &Literal| match bound.exact {
        // what nothing uncertain bears on stays as it is
        Some(_) => Some((value.clone(), value.clone())),
        None => Some((
            Literal::from_f64(bound.range?.low, si.clone())?,
            Literal::from_f64(bound.range?.high, si.clone())?,
        )),
    };
    match bounds.get(register.place()?)? {
        Slot::One(bound) => values.iter().map(|value| pair(bound, value)).collect(),
        Slot::Many(all) => {
            all.iter().zip(values).map(|(bound, value)| pair(bound, value)).collect()
        }
        Slot::Truth(_) | Slot::Empty => None,
    }
}
