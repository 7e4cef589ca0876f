//! Figures that a sheet must give: a `.cases` file beside it, one statement a line.
//!
//! ```text
//! sheet press-stop
//! source "measured on the machine, 3 March"
//! case at full speed
//!   n_0 = 1450 r/min
//!   gives t_stop = 312 ms within 5 %
//! case too fast
//!   n_0 = 3000 r/min
//!   fails "the brake takes the energy"
//! case standing still
//!   n_0 = 0 r/min
//!   error out-of-range
//! ```
//! Inputs left out take their default, else the sheet's example. A tolerance with a unit is absolute, one without
//! (below 1), or in %, a part of the value. A check that is not named under `fails` must hold; beside `error` nothing
//! else is expected.

use std::collections::BTreeMap;
use std::sync::Arc;

use rust_decimal::Decimal;

use super::{Inputs, Results, Verdict};
use crate::diagnostic::{Diagnostic, Name, Place, Source, phrase};
use crate::language::without_comment;
use crate::number::{Exact, Slot};
use crate::program::{Output, Program, Type, result_unit_of_plate};
use crate::unit::{Literal, Unit, parse_unit, split_quantity};

/// The cases of one sheet.
#[derive(Clone, Debug)]
pub struct Cases {
    /// Name of the sheet.
    pub sheet: String,
    /// One after the other.
    pub cases: Vec<Case>,
}

/// One case.
#[derive(Clone, Debug)]
pub struct Case {
    /// What it shows.
    pub title: String,
    /// Where its figures come from; empty where it does not say.
    pub source: String,
    /// Where it stands.
    pub place: Place,
    /// Inputs as typed.
    pub inputs: Vec<(String, String, Place)>,
    /// What must come out.
    pub expectations: Vec<(Expectation, Place)>,
    /// Whether every line of it was read; else only its inputs are looked at.
    pub is_whole: bool,
}

/// What must come out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Expectation {
    /// A result within a tolerance, absolute with its unit or relative without.
    Gives {
        /// Result.
        name: String,
        /// Value, or several with commas or semicolons between.
        value: String,
        /// Tolerance.
        tolerance: String,
    },
    /// A check that must fail.
    Fails(String),
    /// A problem in which the run must end.
    Error(String),
}

impl Cases {
    /// Reads a file of cases.
    ///
    /// # Errors
    /// `cases-file` for every line that cannot be read, and for a case that expects nothing.
    ///
    /// # Example
    /// ```
    /// use standstill::calculation::Cases;
    /// use standstill::diagnostic::Source;
    /// let text = "sheet rated-torque\ncase four poles\n  P = 1.5 kW\n  n = 1450 r/min\n  gives T = 9.879 N·m within 0.01 %\n";
    /// assert_eq!(Cases::read(&Source::new("rated-torque.cases", text)).0.cases.len(), 1);
    /// assert!(!Cases::read(&Source::new("empty.cases", "case nothing\n")).1.is_empty());
    /// ```
    #[must_use]
    pub fn read(source: &Arc<Source>) -> (Self, Vec<Diagnostic>) {
        let mut all = Self { sheet: String::new(), cases: Vec::new() };
        let mut problems = Vec::new();
        let mut figures = String::new();
        let mut at = 0;
        for whole in source.text.split_inclusive('\n') {
            let begin = at;
            at += whole.len();
            let line = without_comment(whole.trim_end());
            let begin = begin + line.len() - line.trim_start().len();
            let line = line.trim();
            if line.is_empty() {
                continue;
            }
            let place = Place::text(source, begin..begin + line.len());
            let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
            let rest = rest.trim();
            match word {
                "sheet" => rest.clone_into(&mut all.sheet),
                "source" => rest.trim_matches('"').clone_into(&mut figures),
                "case" => all.cases.push(Case {
                    title: rest.to_owned(),
                    source: figures.clone(),
                    place,
                    inputs: Vec::new(),
                    expectations: Vec::new(),
                    is_whole: true,
                }),
                _ => match (all.cases.last_mut(), statement(line, word, rest)) {
                    (Some(case), Ok(Statement::Input(name, value))) => {
                        case.inputs.push((name, value, place));
                    }
                    (Some(case), Ok(Statement::Expects(what))) => {
                        case.expectations.push((what, place));
                    }
                    (None, _) => problems.push(
                        unreadable("this stands before the first case", &place)
                            .remedy("begin with `case` and what it shows"),
                    ),
                    (Some(case), Err(remedy)) => {
                        case.is_whole = false;
                        let words = format!("`{line}` is not a line of a case");
                        problems.push(unreadable(&words, &place).remedy(remedy));
                    }
                },
            }
        }
        if all.cases.is_empty() && problems.is_empty() {
            let whole = Place::File { name: source.name.clone() };
            problems.push(
                unreadable("there is no case in this file, so that nothing is checked", &whole)
                    .remedy("write `case` and what it shows, its inputs, and what must come out: `gives t = 312 ms within 1 %`"),
            );
        }
        problems.extend(said_twice(&all.cases));
        problems.extend(all.cases.iter().filter_map(Case::unheard));
        for case in all.cases.iter().filter(|case| case.is_whole && case.expectations.is_empty()) {
            let words = format!("the case \"{}\" expects nothing", case.title);
            problems.push(
                unreadable(&words, &case.place)
                    .remedy("say what must come out: `gives t = 312 ms within 1 %`, `fails \"the words of a check\"`, or `error out-of-range`"),
            );
        }
        (all, problems)
    }
}

/// Cases of one name, cases that say the same, and in a case what is said twice.
fn said_twice(cases: &[Case]) -> Vec<Diagnostic> {
    let mut problems = Vec::new();
    let mut twice = |words: String, place: &Place, before: &Place, remedy: &str| {
        let problem = Diagnostic::error(Name::CasesFile, words).at(place.clone());
        problems.push(problem.label(before.clone(), "here already").remedy(remedy));
    };
    let mut names: BTreeMap<&str, &Place> = BTreeMap::new();
    let mut texts: BTreeMap<String, &Place> = BTreeMap::new();
    for case in cases {
        let (title, place) = (case.title.as_str(), &case.place);
        if let Some(before) = names.insert(title, place) {
            let words = format!("two cases are called \"{title}\"");
            twice(words, place, before, "say of each what it shows");
        }
        let mut given: BTreeMap<&str, &Place> = BTreeMap::new();
        for (name, _, place) in &case.inputs {
            if let Some(before) = given.insert(name, place) {
                let words = format!("`{name}` is given twice in this case");
                twice(words, place, before, "leave one of the two out, or begin a second case");
            }
        }
        let mut expected: BTreeMap<String, &Place> = BTreeMap::new();
        for (what, place) in &case.expectations {
            if let Some(before) = expected.insert(format!("{what:?}"), place) {
                let words = "the same is expected twice in this case".to_owned();
                twice(words, place, before, "leave one of the two out");
            }
        }
        let said = |(name, value, _): &(String, String, Place)| format!("{name}={value}");
        let mut inputs: Vec<String> = case.inputs.iter().map(said).collect();
        inputs.sort();
        let mut wanted: Vec<String> =
            case.expectations.iter().map(|(what, _)| format!("{what:?}")).collect();
        wanted.sort();
        let text = [inputs, wanted].concat().join("\n");
        if !case.is_whole || case.expectations.is_empty() {
            continue;
        }
        if let Some(before) = texts.insert(text, place) {
            let words = format!("the case \"{title}\" says what another says already");
            twice(
                words,
                place,
                before,
                "leave one of the two out, or write the values that are meant",
            );
        }
    }
    problems
}

fn unreadable(words: &str, place: &Place) -> Diagnostic {
    Diagnostic::error(Name::CasesFile, words).at(place.clone())
}

enum Statement {
    Input(String, String),
    Expects(Expectation),
}

fn statement(line: &str, word: &str, rest: &str) -> Result<Statement, String> {
    let own = |text: &str| text.trim().to_owned();
    let expects = match word {
        "gives" => {
            let parts = rest.split_once('=').and_then(|(name, rest)| {
                let (value, tolerance) = rest.split_once(" within ")?;
                Some(Expectation::Gives {
                    name: own(name),
                    value: own(value),
                    tolerance: own(tolerance),
                })
            });
            let parts =
                parts.ok_or_else(|| match rest.contains('=') && !rest.contains("within") {
                    true => format!("say how near it must come: `gives {rest} within 1 %`"),
                    false => "write `gives t = 312 ms within 1 %`".to_owned(),
                })?;
            if let Expectation::Gives { tolerance, .. } = &parts
                && let Some(amount) = tolerance.strip_prefix(['-', '−'])
            {
                let amount = amount.trim();
                return Err(format!("a tolerance is not below zero: write `within {amount}`"));
            }
            parts
        }
        "fails" => Expectation::Fails(own(rest.trim_matches('"'))),
        "error" => Expectation::Error(own(rest)),
        _ => {
            let input = line.split_once('=').map(|(name, value)| (own(name), own(value)));
            let (name, value) = input.ok_or(
                "write `name = value`, or begin with `gives`, `fails`, `error`, `case`, `source` or `sheet`".to_owned(),
            )?;
            return Ok(Statement::Input(name, value));
        }
    };
    Ok(Statement::Expects(expects))
}

impl Case {
    /// What a case expects beside an error: a run that ends in one gives nothing, so that it would never be looked at.
    fn unheard(&self) -> Option<Diagnostic> {
        let is_error = |it: &&(Expectation, Place)| matches!(it.0, Expectation::Error(_));
        let (_, error) = self.expectations.iter().find(is_error)?;
        let (_, place) = self.expectations.iter().find(|it| !is_error(it))?;
        let words = format!(
            "the case \"{}\" must end in an error and gives no result, so that this is never looked at",
            self.title
        );
        let problem = unreadable(&words, place).label(error.clone(), "the error is expected here");
        Some(problem.remedy("leave one of the two out, or begin the next case above this line: `case` and what it shows"))
    }

    /// Everything that is not as the case says; nothing where all is.
    #[must_use]
    pub fn run(&self, program: &Arc<Program>) -> Vec<Diagnostic> {
        let mut inputs = Inputs::new(program);
        let mut problems = Vec::new();
        for (name, value, place) in &self.inputs {
            problems.extend(inputs.write_from(name, value, place.clone()).err());
            problems.extend(inputs.tolerance_given(name).map(|alone| {
                let words = format!("a case calculates values as they are, and the tolerance of `{name}` would be passed over");
                unreadable(&words, place).remedy(format!("write {alone}; where its ends count, give each of them a case"))
            }));
        }
        if !self.is_whole {
            return problems;
        }
        inputs.fill_with_examples();
        let results = match problems.is_empty() {
            true => Results::compute(program, &inputs),
            false => Err(problems.into()),
        };
        let error = self.expectations.iter().find_map(|(what, place)| match what {
            Expectation::Error(name) => Some((name, place)),
            _ => None,
        });
        let results = match (results, error) {
            (Ok(results), None) => results,
            (Err(found), Some((name, _))) if found.iter().any(|it| it.name.word() == name) => {
                return Vec::new();
            }
            (Err(found), Some((name, place))) => {
                let first = found.iter().next().map(ToString::to_string).unwrap_or_default();
                return vec![
                    self.differs(format!("must end in {name}, and ends in {first}"), place),
                ];
            }
            (Ok(_), Some((name, place))) => {
                return vec![self.differs(format!("must end in {name}, and runs"), place)];
            }
            (Err(found), None) => return found.into_iter().collect(),
        };
        let mut found: Vec<Diagnostic> = Vec::new();
        let mut must_fail: Vec<(&str, &Place)> = Vec::new();
        for (what, place) in &self.expectations {
            match what {
                Expectation::Gives { name, value, tolerance } => {
                    let outcome = gives(&results, name, value, tolerance);
                    found.extend(outcome.err().map(|words| self.differs(words, place)));
                }
                Expectation::Fails(text) => must_fail.push((text, place)),
                Expectation::Error(_) => {}
            }
        }
        for check in results.checks() {
            let wanted = must_fail.iter().any(|(text, _)| *text == check.text);
            if check.verdict == Verdict::Fails && !wanted {
                let words =
                    format!("the check \"{}\" fails, and is not named under `fails`", check.text);
                found.push(self.differs(words, &self.place));
            }
        }
        for (text, place) in must_fail {
            let named = || results.checks().iter().filter(|check| check.text == text);
            if named().next().is_none() {
                let all = results.checks().iter().map(|it| format!("`fails \"{}\"`", it.text));
                let all: Vec<String> = all.collect();
                let words = format!("there is no check \"{text}\"");
                let remedy = match all.is_empty() {
                    true => "leave it out: the sheet has no checks".to_owned(),
                    false => format!("write, each in its own line, {}", phrase::joined(&all, "or")),
                };
                found.push(self.differs(words, place).remedy(remedy));
            } else if named().all(|check| check.verdict == Verdict::Holds) {
                let words = format!("the check \"{text}\" must fail, and holds");
                found.push(self.differs(words, place));
            }
        }
        found
    }

    fn differs(&self, words: String, place: &Place) -> Diagnostic {
        let source = match self.source.as_str() {
            "" => String::new(),
            source => format!("; its figures are from: {source}"),
        };
        Diagnostic::error(Name::CaseDiffers, format!("case \"{}\": {words}", self.title))
            .at(place.clone())
            .remedy(format!("find out which of the two is right, the sheet or the case{source}"))
    }
}

/// Whether a result is what it must be; else in words what it is.
fn gives(results: &Results, name: &str, value: &str, tolerance: &str) -> Result<(), String> {
    let outputs = &results.program().outputs;
    let output = outputs
        .iter()
        .find(|output| output.name == name)
        .ok_or_else(|| format!("the sheet gives no `{name}`"))?;
    let found = match results.slot(output) {
        Some(Slot::One(value)) => vec![*value],
        Some(Slot::Many(values)) => values.clone(),
        _ => return Err(format!("`{name}` is {}", results.to_text(output))),
    };
    let separator = if value.contains(';') { ';' } else { ',' };
    let wanted: Vec<&str> = value.split(separator).collect();
    if wanted.len() != found.len() {
        let (has, wants) = (found.len(), wanted.len());
        if let (1, [whole, part]) = (has, wanted.as_slice())
            && [whole, part]
                .iter()
                .all(|it| it.trim().starts_with(|sign: char| sign.is_ascii_digit()))
        {
            return Err(format!("a decimal mark is a point: write `{name} = {whole}.{part}`"));
        }
        return Err(format!("`{name}` has {has} values, and {wants} are wanted"));
    }
    let unreadable = |text: &str| format!("`{text}` is not a value of `{name}`");
    for (found, text) in found.iter().zip(wanted) {
        let has_dimension =
            matches!(output.type_, Type::Number { dimension, .. } if !dimension.is_none());
        if has_dimension && matches!(split_quantity(text), Ok((_, _, ""))) {
            return Err(format!(
                "`{}` has no unit, and a unit is never assumed: write `{name} = {} {}`",
                text.trim(),
                text.trim(),
                output.unit.symbol
            ));
        }
        let wanted = quantity(text, output).ok_or_else(|| unreadable(text))?;
        if let Ok((digits, ten, "")) = split_quantity(tolerance)
            && Exact::from_decimal(digits, ten).is_ok_and(|it| it.to_f64() >= 1.0)
        {
            let unit = match has_dimension {
                true => format!(" or `within {tolerance} {}`", output.unit.symbol),
                false => String::new(),
            };
            return Err(format!(
                "`within {tolerance}` is {tolerance} times the value itself: write `within {tolerance} %`{unit}"
            ));
        }
        let difference = found.minus(&wanted).map_or(f64::INFINITY, |it| it.absolute().to_f64());
        let allowed = allowed(tolerance, output, &wanted).ok_or_else(|| unreadable(tolerance))?;
        let size = wanted.absolute().to_f64();
        if size > 0.0 && allowed > size * (1.0 + 1e-9) {
            return Err(format!(
                "`within {tolerance}` is more than {value} itself, so that nothing is checked: write how near it must come"
            ));
        }
        // the written tolerance is a decimal: its own rounding is forgiven
        if difference > allowed * (1.0 + 1e-9) {
            let is = results.to_text(output);
            return Err(format!("`{name}` is {is}, wanted {value} within {tolerance}"));
        }
    }
    Ok(())
}

/// A tolerance in SI: absolute with a unit, else a part of the value.
fn allowed(text: &str, output: &Output, wanted: &Exact) -> Option<f64> {
    let (digits, ten, unit) = split_quantity(text).ok()?;
    let Type::Number { dimension, .. } = output.type_ else { return None };
    let share = match unit {
        "" => Unit::one(),
        "%" if !dimension.is_none() => parse_unit("%").ok()?,
        _ => {
            let read = quantity_in(text, output)?;
            let plain = Unit { zero: Decimal::ZERO, ..read.unit };
            return Some(Exact::from_literal(&Literal::new(digits, ten, plain)).ok()?.to_f64());
        }
    };
    Some(share.to_si(digits, ten) * wanted.absolute().to_f64())
}

fn quantity(text: &str, output: &Output) -> Option<Exact> {
    Exact::from_literal(&quantity_in(text, output)?).ok()
}

fn quantity_in(text: &str, output: &Output) -> Option<Literal> {
    let (digits, ten, unit) = split_quantity(text).ok()?;
    let Type::Number { dimension, point, .. } = output.type_ else { return None };
    let unit = match unit {
        "" => Unit::one(),
        unit => result_unit_of_plate(unit, dimension, point)?,
    };
    Some(Literal::new(digits, ten, unit))
}
