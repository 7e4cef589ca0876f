//! A value in running text: `{stop.S in mm rounded up to 5 mm}`.

use std::ops::Range;

use pulldown_cmark::{Event, Parser, Tag, TagEnd};

use super::images::title_range;
use super::model::WorstReview;
use super::model::{Calculation, Inline, What, options};
use super::product::ProductReview;
use crate::calculation::{Results, difference, show};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::language::Relation;
use crate::number::{Decimals, Exact, Slot, System as _};
use crate::program::{Direction, LineId, Op, Program, Register, Type, nearest, result_unit};
use crate::report::{NOT_TO_BE_SET, WHY};
use crate::unit::{Dimension, Literal, Unit, split_quantity};

impl Inline {
    /// The value as a person reads it.
    pub(super) fn to_text(&self, calculations: &[Calculation], lines: &[ProductReview]) -> String {
        if let What::Line = self.what {
            return lines.get(self.calculation).map_or_else(String::new, ProductReview::to_text);
        }
        let Some(calculation) = calculations.get(self.calculation) else { return String::new() };
        let results = &calculation.results;
        match &self.what {
            What::Checks | What::Line => results.verdict_text(),
            What::End { words, .. } => words.clone(),
            What::Worst => calculation
                .worst
                .as_ref()
                .map_or_else(|| "no input has a tolerance".to_owned(), WorstReview::to_text),
            What::Value { register, type_, unit, rounding, .. } => rounding
                .as_ref()
                .and_then(|(direction, step)| rounded(results, *register, unit, *direction, step))
                .map_or_else(
                    || results.register_text(*register, type_, unit),
                    |value| show(&value, unit),
                ),
        }
    }
}

impl Inline {
    /// What stands beside the value: why it is not one to go by; empty where it may be.
    ///
    /// A setting says so of an example too, as every table of settings does.
    pub(super) fn caveat(&self, calculations: &[Calculation]) -> String {
        let Some(one) = calculations.get(self.calculation) else { return String::new() };
        let release = &one.release;
        match &self.what {
            What::End { holds: false, .. } => {
                let [_, unproved, _] = WHY;
                unproved.to_owned()
            }
            What::Value { register, .. } => {
                let outputs = &one.results.program().outputs;
                let is_setting =
                    outputs.iter().any(|it| it.register == *register && it.setting.is_some());
                let mut inputs = one.results.program().inputs.iter();
                match is_setting && !release.may_be_set() {
                    true => format!("{NOT_TO_BE_SET}: {}", release.why()),
                    false => match inputs.position(|it| it.register == *register) {
                        Some(at) => {
                            release.why_of_input(one.links.iter().any(|link| link.input == at))
                        }
                        None => release.why(),
                    },
                }
            }
            // what fails says so itself
            What::Checks if one.results.holds() => release.caveat_of_checks(),
            _ => String::new(),
        }
    }
}

fn rounded(
    results: &Results,
    register: Register,
    unit: &Unit,
    direction: Direction,
    step: &Literal,
) -> Option<Exact> {
    let Ok(Slot::One(value)) = results.run().register(register) else { return None };
    let step = Decimals.literal(step, LineId(0));
    // a temperature is rounded on its scale, from the zero of the scale
    let zero =
        Exact::from_literal(&Literal::new(rust_decimal::Decimal::ZERO, 0, unit.clone())).ok()?;
    let above = value.minus(&zero).ok()?;
    Decimals.round(direction, &Ok(above), &step, LineId(0)).ok()?.plus(&zero).ok()
}

/// Every text in braces, outside code and outside fenced blocks: `\{` is a brace that is meant.
pub(super) fn find<'a>(text: &'a str, whole: &str) -> Vec<(Range<usize>, &'a str)> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    let mut in_code = false;
    for (event, range) in Parser::new_ext(whole, options()).into_offset_iter() {
        match event {
            Event::Start(Tag::CodeBlock(_)) => in_code = true,
            Event::End(TagEnd::CodeBlock) => in_code = false,
            Event::Start(Tag::Image { title, .. }) => {
                runs.extend(title_range(whole, &range, &title));
            }
            Event::Text(_) if !in_code => match runs.last_mut() {
                Some(last) if last.end == range.start => last.end = range.end,
                _ => runs.push(range),
            },
            _ => {}
        }
    }
    let mut found = Vec::new();
    for run in runs {
        let Some(part) = text.get(run.clone()) else { continue };
        let mut at = 0;
        while let Some(open) = part.get(at..).and_then(|rest| rest.find('{')).map(|open| at + open)
        {
            let rest = part.get(open..).unwrap_or_default();
            let close = rest.find('}').map_or(rest.len(), |close| close + 1);
            let inner = rest.get(..close).unwrap_or_default();
            let escaped = text.get(..run.start + open).is_some_and(|before| before.ends_with('\\'));
            if !escaped {
                found.push((run.start + open..run.start + open + close, inner));
            }
            at = open + 1;
        }
    }
    found
}

/// Reads a value; none where the calculation it belongs to has failed already.
pub(super) fn read(
    text: &str,
    calculations: &[Calculation],
    lines: &[ProductReview],
    failed: &[String],
    place: &dyn Fn(Range<usize>) -> Place,
) -> Result<Option<Inline>, Diagnostic> {
    let Some(inner) = text.strip_prefix('{').and_then(|text| text.strip_suffix('}')).map(str::trim)
    else {
        return Err(Diagnostic::error(Name::ReviewLine, format!("the value `{text}` is not closed, or other marks stand in it"))
            .at(place(0..text.len()))
            .remedy("close it with `}`; write `·` for a product of units, and `\\{` where no value is meant"));
    };
    let span = |part: &str| {
        // a part of the text itself: the same letters may stand in it before
        let start = (part.as_ptr() as usize).saturating_sub(text.as_ptr() as usize);
        let start = if text.get(start..start + part.len()) == Some(part) { start } else { 0 };
        place(start..start + part.len())
    };
    let (rest, rounding) = match inner.split_once(" rounded ") {
        Some((rest, rounding)) => (rest, Some(rounding.trim())),
        None => (inner, None),
    };
    let (path, unit) = match rest.split_once(" in ") {
        Some((path, unit)) => (path.trim(), Some(unit.trim())),
        None => (rest.trim(), None),
    };
    let Some((alias, name)) = path.split_once('.').map(|(alias, name)| (alias.trim(), name.trim()))
    else {
        return Err(no_value(text, path, calculations).at(place(0..text.len())));
    };
    if failed.iter().any(|failed| failed == alias) {
        return Ok(None);
    }
    if let Some(at) = lines.iter().position(|one| one.alias == alias) {
        return match name {
            "checks" => Ok(Some(Inline { calculation: at, what: What::Line })),
            _ => Err(Diagnostic::error(
                Name::UnknownName,
                format!("`{alias}` is a product line, it has many values of `{name}`"),
            )
            .at(span(name))
            .remedy(format!("`{{{alias}.checks}}` shows how its variants come out"))),
        };
    }
    let Some(at) = calculations.iter().position(|one| one.alias == alias) else {
        return Err(no_calculation(alias, calculations, failed).at(span(alias)));
    };
    let Some(results) = calculations.get(at).map(|one| &one.results) else { return Ok(None) };
    let ends = [("lowest", false), ("highest", true)];
    let end = ends.iter().find_map(|(word, high)| {
        let rest = name.strip_suffix(word)?;
        rest.ends_with(' ').then(|| (rest.trim_end(), *word, *high))
    });
    if let (Some((name, word, high)), Some(calculation)) = (end, calculations.get(at)) {
        if unit.is_some() || rounding.is_some() {
            return Err(Diagnostic::error(
                Name::ReviewLine,
                format!("the {word} value is shown in the unit of the sheet, rounded outward"),
            )
            .at(place(0..text.len()))
            .remedy(format!("write `{{{path}}}`")));
        }
        return match end_of(calculation, name, word, high) {
            Ok(what) => Ok(Some(Inline { calculation: at, what })),
            Err(problem) => Err(problem.at(span(name))),
        };
    }
    if name == "checks" {
        return Ok(Some(Inline { calculation: at, what: What::Checks }));
    }
    if name == "worst" && named(results, name).is_none() {
        return Ok(Some(Inline { calculation: at, what: What::Worst }));
    }
    let Some((register, type_, own)) = named(results, name) else {
        let problem = calculations.get(at).map(|one| not_there(one, name));
        return problem.map_or(Ok(None), |problem| Err(problem.at(span(name))));
    };
    let Type::Number { dimension, point, .. } = type_ else {
        if unit.is_some() || rounding.is_some() {
            return Err(Diagnostic::error(
                Name::NotANumber,
                format!("`{path}` is a word, it has no unit and is not rounded"),
            )
            .at(span(path))
            .remedy(format!("write `{{{path}}}`")));
        }
        return Ok(Some(Inline {
            calculation: at,
            what: What::Value {
                name: name.to_owned(),
                register,
                type_,
                unit: Box::new(own),
                rounding: None,
                rounded: String::new(),
                extent: None,
            },
        }));
    };
    let in_unit = |text: &str| {
        result_unit(text, dimension, point).ok_or_else(|| {
            Diagnostic::error(
                Name::ResultUnit,
                format!(
                    "`{path}` is {}, and `{text}` is not a unit of it",
                    crate::unit::name_of(dimension)
                ),
            )
            .at(span(text))
            .remedy(format!("write {}", own.symbol))
        })
    };
    let unit = match unit {
        Some(text) => in_unit(text)?,
        None => own.clone(),
    };
    let rounding =
        rounding.map(|written| read_rounding(written, dimension, &in_unit, &span)).transpose()?;
    let safe = safe_way(results.program(), register);
    let rounding = match (rounding, safe) {
        (Some((direction, step)), Some(way)) => {
            let safely = |way| rounded(results, register, &unit, way, &step).map(|it| it.to_f64());
            if safely(direction) != safely(way) {
                let word = if way == Direction::Up { "up" } else { "down" };
                let written = inner.rsplit_once(" to ").map_or("", |(_, step)| step.trim());
                let headline = format!("`{path}` is rounded to the unsafe side");
                return Err(Diagnostic::error(Name::ReviewLine, headline)
                    .at(place(0..text.len()))
                    .remedy(format!("write `rounded {word} to {written}`")));
            }
            // a trial keeps to that side
            Some((way, step))
        }
        (rounding, _) => rounding,
    };
    let unsaid = rounding.is_some() && safe.is_none();
    let rounded = inner.find("rounded ").filter(|_| unsaid).and_then(|at| inner.get(at..));
    let rounded = rounded.unwrap_or_default().to_owned();
    let extent = calculations.get(at).and_then(|one| extent(one, name));
    Ok(Some(Inline {
        calculation: at,
        what: What::Value {
            name: name.to_owned(),
            register,
            type_,
            unit: Box::new(unit),
            rounding,
            rounded,
            extent,
        },
    }))
}

/// How far a result goes within the tolerances, where that is more than one value.
fn extent(calculation: &Calculation, name: &str) -> Option<String> {
    let worst = calculation.worst.as_ref()?;
    let (low, high) = (worst.end(name, false)?, worst.end(name, true)?);
    // what may not be set has no ends to show
    let open = [&low, &high].iter().any(|end| end.contains(NOT_TO_BE_SET));
    (low != high && !open).then(|| format!("nominal; {low} to {high} within the tolerances"))
}

/// The way in which a value is rounded to the safe side; none where the sheet does not say.
///
/// It says so by the way in which it rounds the value itself, else by the side of a check on which the value stands.
fn safe_way(program: &Program, register: Register) -> Option<Direction> {
    let own = program.outputs.iter().find(|output| output.register == register);
    let own = own.map_or("", |output| output.rounding.as_str());
    // what the sheet rounds itself, or rounds further on, says the side as well
    let turned = program.steps.iter().filter_map(|step| match step.op {
        Op::Round(way, of, _) if step.to == register || of == register => Some(way),
        _ => None,
    });
    let turned: Vec<Direction> = turned.collect();
    let hard = || program.checks.iter().filter(|check| !check.caution);
    let sides = || hard().filter_map(|check| check.sides);
    let less = [Relation::Below, Relation::AtMost];
    let more = [Relation::Above, Relation::AtLeast];
    let stands = |left: &[Relation], right: &[Relation]| {
        sides().any(|(relation, one, other)| {
            (one == register && left.contains(&relation))
                || (other == register && right.contains(&relation))
        })
    };
    let (high, low) = (stands(&less, &more), stands(&more, &less));
    let up = own.contains("up") || turned.contains(&Direction::Up) || (high && !low);
    let down = own.contains("down") || turned.contains(&Direction::Down) || (low && !high);
    match (up, down) {
        (true, false) => Some(Direction::Up),
        (false, true) => Some(Direction::Down),
        _ => None,
    }
}

/// `up to 5 mm`, `down to 5 mm` or `to 5 mm`.
fn read_rounding(
    written: &str,
    dimension: Dimension,
    in_unit: &dyn Fn(&str) -> Result<Unit, Diagnostic>,
    span: &dyn Fn(&str) -> Place,
) -> Result<(Direction, Box<Literal>), Diagnostic> {
    let ways =
        [("up to ", Direction::Up), ("down to ", Direction::Down), ("to ", Direction::Nearest)];
    let found = ways.iter().find_map(|(way, to)| Some((*to, written.strip_prefix(way)?)));
    let Some((direction, step)) = found else {
        let words = format!("`rounded {written}` does not say which way");
        let remedy = "write `rounded up to 5 mm`, `rounded down to 5 mm` or `rounded to 5 mm`";
        return Err(Diagnostic::error(Name::ReviewLine, words).at(span(written)).remedy(remedy));
    };
    let (digits, ten, text) = split_quantity(step).map_err(|problem| {
        Diagnostic::error(Name::UnreadableQuantity, problem.headline())
            .at(span(step))
            .remedy(problem.remedy)
    })?;
    let unit = if text.is_empty() && dimension.is_none() {
        Unit::one()
    } else {
        difference(&in_unit(if text.is_empty() { step } else { text })?)
    };
    let literal = Literal::new(digits, ten, unit);
    if literal.digits <= rust_decimal::Decimal::ZERO {
        let words = format!("the step `{step}` is not above zero");
        return Err(Diagnostic::error(Name::BadStep, words)
            .at(span(step))
            .remedy("give a step above zero"));
    }
    Ok((direction, Box::new(literal)))
}

fn no_value(text: &str, path: &str, calculations: &[Calculation]) -> Diagnostic {
    let known = calculations.iter().find(|one| one.alias == path).map(|one| &one.results);
    let remedy = match known.and_then(|results| results.program().outputs.first()) {
        Some(output) => {
            format!("write `{{{path}.{}}}`, or `{{{path}.checks}}` for its verdict", output.name)
        }
        None => "write `{name.result}`; write `\\{` where no value is meant".to_owned(),
    };
    Diagnostic::error(Name::ReviewLine, format!("`{text}` names no value")).remedy(remedy)
}

fn no_calculation(alias: &str, calculations: &[Calculation], failed: &[String]) -> Diagnostic {
    let known = calculations.iter().map(|one| one.alias.as_str());
    let near = nearest(alias, known.chain(failed.iter().map(String::as_str)));
    let remedy = match near.first() {
        Some((near, _)) => format!("`{near}` is close"),
        None => "name a calculation with `sheet … as name` behind its fence; write `\\{` where no value is meant".to_owned(),
    };
    let words = format!("no calculation of the document is called `{alias}`");
    Diagnostic::error(Name::UnknownName, words).remedy(remedy)
}

/// The lowest or highest value of a result within the tolerances.
fn end_of(
    calculation: &Calculation,
    name: &str,
    word: &str,
    high: bool,
) -> Result<What, Diagnostic> {
    let alias = &calculation.alias;
    let outputs = &calculation.results.program().outputs;
    if !outputs.iter().any(|output| output.name == name) {
        return Err(match named(&calculation.results, name) {
            Some(_) => Diagnostic::error(
                Name::UnknownName,
                format!(
                    "`{name}` is not a result of `{alias}`, and results alone have a worst case"
                ),
            )
            .remedy(format!("write `{{{alias}.{name}}}`")),
            None => not_there(calculation, name),
        });
    }
    let Some(worst) = &calculation.worst else {
        return Err(Diagnostic::error(
            Name::ReviewLine,
            format!("no input of `{alias}` has a tolerance, so `{name}` has no {word} value"),
        )
        .remedy(format!("write a tolerance, such as `T_0 ± 10 %`, or `{{{alias}.{name}}}`")));
    };
    worst.end(name, high).map(|words| What::End { words, holds: !worst.is_open() }).ok_or_else(
        || {
            Diagnostic::error(
            Name::ReviewLine,
            format!(
                "`{alias}.{name}` has no {word} value that is one number throughout the tolerances"
            ),
        )
        .remedy(format!("write `{{{alias}.worst}}`, which says what becomes of the checks"))
        },
    )
}

/// A calculation has no value of that name.
pub(super) fn not_there(calculation: &Calculation, name: &str) -> Diagnostic {
    let Calculation { alias, sheet, results, .. } = calculation;
    let program = results.program();
    let inputs = program.inputs.iter().map(|input| input.name.as_str());
    let outputs = program.outputs.iter().map(|output| output.name.as_str());
    let lines = program.lines.iter().map(|line| line.name.as_str());
    let near = nearest(name, outputs.chain(inputs).chain(lines));
    let remedy = match near.first() {
        Some((near, _)) => format!("`{alias}.{near}` is close"),
        None => format!("`standstill show {sheet}` lists what it takes and gives"),
    };
    Diagnostic::error(Name::UnknownName, format!("`{alias}` has no value `{name}`")).remedy(remedy)
}

/// A result, an input, or any line of a calculation.
pub(super) fn named(results: &Results, name: &str) -> Option<(Register, Type, Unit)> {
    let program = results.program();
    let output = program.output_named(name);
    if let Some(output) = output {
        return Some((output.register, output.type_.clone(), output.unit.clone()));
    }
    let line =
        program.lines.iter().rev().find(|line| line.name == name && line.type_ != Type::Truth)?;
    Some((line.register, line.type_.clone(), line.unit.clone()))
}
