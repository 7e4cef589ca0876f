//! The reverse question: the largest or smallest input that still holds every check and bound.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use super::worst::Region;
use super::{Inputs, Results, Verdict, show, written};
use crate::diagnostic::{Diagnostic, Name};
use crate::number::{Bound, Checked, Decimals, Exact, Given, Possible, Slot, System};
use crate::program::{LineId, Program, Relation, Type};
use crate::unit::Literal;

/// Runs of one question; beyond, what is not decided is told as not proved.
const RUNS: usize = 3000;
/// Points looked at to say what forbids every value.
const LOOKS: u32 = 32;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Name of the input that is free.
    pub input: String,
    /// Least value of it.
    pub from: Literal,
    /// Largest value of it.
    pub to: Literal,
    /// Step in which it can be set.
    pub step: Literal,
    /// What results must keep, beside every check that is more than a caution.
    pub wanted: Vec<Wanted>,
    /// Which end of what fits is asked for; found where it is not said.
    pub towards: Option<Wish>,
}

/// A bound of a result: `S <= 600 mm`.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Name of the result.
    pub result: String,
    /// `<`, `<=`, `>` or `>=`.
    pub relation: Relation,
    /// The bound.
    pub value: Literal,
}

/// Which end of what fits is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// The largest value that fits.
    Largest,
    /// The smallest value that fits.
    Smallest,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Which end it is.
    pub wish: Wish,
    /// The value, and the calculation with it; none when nothing fits.
    pub found: Option<(Literal, Results)>,
    /// The value one step further, and what forbids it; none at the end of the range.
    pub beyond: Option<(Literal, Vec<String>)>,
    /// Whether no value further on fits, proved on bounds for all of them, not only for those tried.
    pub none_further: bool,
    /// Whether every value from the answer to the other end fits: proved, a value that does not, or unknown.
    pub all_before: Before,
    /// When nothing fits: what forbids it, and how near it comes, the nearest first.
    pub forbids: Vec<String>,
    /// How many calculations it took on exact decimals.
    pub runs: usize,
}

/// Whether every value on the other side of the answer fits.
#[derive(Clone, Debug, PartialEq)]
pub enum Before {
    /// Proved.
    All,
    /// This one does not.
    Not(Literal),
    /// Neither proved nor disproved.
    Unknown,
}

/// One row of a sweep.
#[derive(Clone, Debug)]
pub struct Swept {
    /// Value of the input.
    pub value: Literal,
    /// The calculation with it, or why there is none.
    pub results: Result<Rc<Results>, String>,
    /// What it does not keep.
    pub broken: Vec<String>,
}

/// A question at work.
///
/// # Example
/// ```
/// use standstill::{Sheet, calculation::{Before, Design, Question, Wanted, asked_bound, asked_value, written}};
/// use standstill::program::Relation;
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("n_0", "1500 r/min"), ("T_0", "4 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let value = |text| asked_value(sheet.program(), "J", text).map_err(|problem| vec![problem]);
/// let limit = asked_bound(sheet.program(), "t_stop", "60 s").map_err(|problem| vec![problem])?;
/// let question = Question {
///     input: "J".to_owned(),
///     from: value("0.1 kg·m²")?,
///     to: value("5 kg·m²")?,
///     step: value("0.01 kg·m²")?,
///     wanted: vec![Wanted { result: "t_stop".to_owned(), relation: Relation::AtMost, value: limit }],
///     towards: None,
/// };
/// let answer = Design::new(sheet.program(), &inputs, &question)?.answer()?;
/// // J = t·T/ω: 60 · 4 / 157.0796 = 1.5279
/// let (largest, _) = answer.found.unwrap();
/// assert_eq!(written(&largest), "1.52 kg·m²");
/// assert!(answer.none_further && answer.all_before == Before::All);
/// # Ok::<(), Vec<standstill::diagnostic::Diagnostic>>(())
/// ```
pub struct Design<'a> {
    program: &'a Arc<Program>,
    inputs: &'a Inputs,
    question: &'a Question,
    from: Exact,
    step: Exact,
    last: u32,
    runs: RefCell<BTreeMap<u32, Rc<Outcome>>>,
    boxes: RefCell<usize>,
}

struct Outcome {
    results: Result<Rc<Results>, String>,
    broken: Vec<Broken>,
}

#[derive(Clone)]
struct Broken {
    what: String,
    /// How much is missing, over the size of the bound, to set one against another.
    short: f64,
}

impl<'a> Design<'a> {
    /// Looks at the question.
    ///
    /// # Errors
    /// An unknown input or result, a range that falls, a step that is not above zero.
    pub fn new(
        program: &'a Arc<Program>,
        inputs: &'a Inputs,
        question: &'a Question,
    ) -> Result<Self, Vec<Diagnostic>> {
        let trouble =
            |name, words: String, remedy: &str| vec![Diagnostic::error(name, words).remedy(remedy)];
        let known = |literal: &Literal| {
            Exact::from_literal(literal).map_err(|found| {
                trouble(found.name, found.words, "write numbers of the size that machines have")
            })
        };
        let (from, to) = (known(&question.from)?, known(&question.to)?);
        let step = {
            let unit = crate::unit::Unit {
                zero: rust_decimal::Decimal::ZERO,
                point: false,
                ..question.step.unit.clone()
            };
            known(&Literal { unit, ..question.step.clone() })?
        };
        if step.is_like_zero() || step.is_below_zero() {
            return Err(trouble(
                Name::BadStep,
                format!("the step is {}", written(&question.step)),
                "write a step above zero",
            ));
        }
        if from.stands_to(&to).is_gt() {
            let words = format!(
                "the range from {} to {} falls",
                written(&question.from),
                written(&question.to)
            );
            return Err(trouble(Name::UnreadableQuantity, words, "write the smaller end first"));
        }
        for wanted in &question.wanted {
            if !program.outputs.iter().any(|output| output.name == wanted.result) {
                let all: Vec<&str> =
                    program.outputs.iter().map(|output| output.name.as_str()).collect();
                return Err(trouble(
                    Name::UnknownName,
                    format!("the sheet gives no `{}`", wanted.result),
                    &format!("it gives {}", all.join(", ")),
                ));
            }
        }
        let count = to
            .minus(&from)
            .and_then(|width| width.over(&step))
            .map_or(f64::INFINITY, |count| count.to_f64());
        let last = whole_below(count);
        if last > 1_000_000 {
            return Err(trouble(
                Name::BadStep,
                format!(
                    "the step {} cuts the range into more than a million",
                    written(&question.step)
                ),
                "write a larger step",
            ));
        }
        Ok(Self {
            program,
            inputs,
            question,
            from,
            step,
            last,
            runs: RefCell::default(),
            boxes: RefCell::default(),
        })
    }

    /// Answers it.
    ///
    /// # Errors
    /// What is wrong with the other inputs.
    pub fn answer(&self) -> Result<Answer, Vec<Diagnostic>> {
        // everything but the free input must be there
        let missing: Vec<Diagnostic> = self.at(0).1.problems();
        if !missing.is_empty() {
            return Err(missing);
        }
        let wish =
            self.question.towards.unwrap_or_else(|| match (self.fits(0), self.fits(self.last)) {
                (false, true) => Wish::Smallest,
                _ => Wish::Largest,
            });
        let (found, none_further) = self.outermost(wish);
        let mut answer = Answer {
            wish,
            found: None,
            beyond: None,
            none_further,
            all_before: Before::Unknown,
            forbids: Vec::new(),
            runs: 0,
        };
        match found {
            Some(at) => {
                let outcome = self.run(at);
                if let Ok(results) = &outcome.results {
                    answer.found = Some((self.at(at).0, (**results).clone()));
                }
                let next = match wish {
                    Wish::Largest => at.checked_add(1).filter(|next| *next <= self.last),
                    Wish::Smallest => at.checked_sub(1),
                };
                answer.beyond = next.map(|next| {
                    let broken =
                        self.run(next).broken.iter().map(|broken| broken.what.clone()).collect();
                    (self.at(next).0, broken)
                });
                answer.all_before = match wish {
                    Wish::Largest => self.all_fit(0, at),
                    Wish::Smallest => self.all_fit(at, self.last),
                };
            }
            None => answer.forbids = self.forbidding(),
        }
        answer.runs = self.runs.borrow().len();
        Ok(answer)
    }

    /// Every value of the range, at most so many, evenly chosen.
    #[must_use]
    pub fn sweep(&self, most: u32) -> Vec<Swept> {
        let every = (self.last / most.max(1)).max(1);
        let every = if self.last / every >= most { every + 1 } else { every };
        (0..=self.last)
            .step_by(usize::try_from(every).unwrap_or(1))
            .map(|at| {
                let outcome = self.run(at);
                Swept {
                    value: self.at(at).0,
                    results: outcome.results.clone(),
                    broken: outcome.broken.iter().map(|broken| broken.what.clone()).collect(),
                }
            })
            .collect()
    }

    /// The value at a place of the grid, and the inputs with it.
    fn at(&self, at: u32) -> (Literal, Inputs) {
        let unit = &self.question.from.unit;
        let value =
            self.step.times(&Exact::whole(i64::from(at))).and_then(|way| self.from.plus(&way));
        let literal = value.and_then(|value| value.in_unit(unit)).map_or_else(
            |_| self.question.from.clone(),
            |value| Literal::new(value.mantissa(), value.ten(), unit.clone()),
        );
        let mut inputs = self.inputs.clone();
        inputs.put(&self.question.input, Given::One(literal.clone()), None);
        (literal, inputs)
    }

    fn run(&self, at: u32) -> Rc<Outcome> {
        if let Some(known) = self.runs.borrow().get(&at) {
            return Rc::clone(known);
        }
        let outcome = Rc::new(match Results::work_out(self.program, &self.at(at).1) {
            Ok(results) => {
                let broken = self.broken(&results);
                Outcome { results: Ok(Rc::new(results)), broken }
            }
            Err(problems) => {
                let words =
                    problems.first().map_or_else(String::new, |problem| problem.headline.clone());
                Outcome {
                    results: Err(words.clone()),
                    broken: vec![Broken { what: words, short: f64::INFINITY }],
                }
            }
        });
        self.runs.borrow_mut().insert(at, Rc::clone(&outcome));
        outcome
    }

    fn fits(&self, at: u32) -> bool {
        self.run(at).broken.is_empty()
    }

    /// What a calculation does not keep: wanted bounds first, then checks.
    fn broken(&self, results: &Results) -> Vec<Broken> {
        let mut broken = Vec::new();
        for wanted in &self.question.wanted {
            let Some(output) =
                self.program.outputs.iter().find(|output| output.name == wanted.result)
            else {
                continue;
            };
            let values = match results.slot(output) {
                Some(Slot::One(value)) => vec![*value],
                Some(Slot::Many(values)) => values.clone(),
                _ => continue,
            };
            let bound: Checked = Decimals.literal(&wanted.value, LineId(0));
            let lost = values
                .iter()
                .find(|value| Decimals.compare(wanted.relation, &Ok(**value), &bound) != Ok(true));
            if let (Some(value), Ok(bound)) = (lost, &bound) {
                let what = format!(
                    "{} = {}, wanted {} {}",
                    wanted.result,
                    show(value, &output.unit),
                    wanted.relation.sign(),
                    written(&wanted.value)
                );
                broken.push(Broken { what, short: apart(value, bound) });
            }
        }
        for (check, sides) in results.checks().iter().zip(&results.run().checks) {
            if check.verdict != Verdict::Fails {
                continue;
            }
            let path =
                if check.path.is_empty() { String::new() } else { format!("{}: ", check.path) };
            let margin = check
                .margin
                .as_ref()
                .map_or_else(String::new, |margin| format!(" ({})", margin.sides));
            let short = sides.sides.as_ref().map_or(f64::INFINITY, |(x, y)| apart(x, y));
            broken.push(Broken { what: format!("{path}{}{margin}", check.text), short });
        }
        broken
    }

    /// What bounds say of all values between two places: surely none fits, surely all fit, or neither.
    fn between(&self, low: u32, high: u32) -> Option<bool> {
        *self.boxes.borrow_mut() += 1;
        let (from, mut inputs) = self.at(low);
        let (to, _) = self.at(high);
        inputs.spread_between(&self.question.input, from, to);
        let region = Region::new(self.program, &inputs);
        let registers = region.bound(&region.whole());
        let slot = |register: crate::program::Register| {
            usize::try_from(register.0).ok().and_then(|at| registers.get(at))
        };
        let mut all = true;
        let mut look = |truth: Possible| {
            all &= truth.always();
            // neither holding nor may it fail: a value that never exists
            truth.holds
        };
        for check in self.program.checks.iter().filter(|check| !check.caution) {
            if let Some(Slot::Truth(truth)) = slot(check.register)
                && !look(truth.clone())
            {
                return Some(false);
            }
        }
        for wanted in &self.question.wanted {
            let Some(output) =
                self.program.outputs.iter().find(|output| output.name == wanted.result)
            else {
                continue;
            };
            let end = region.bounds.literal(&wanted.value, LineId(0));
            let values: &[Bound] = match slot(output.register) {
                Some(Slot::One(value)) => std::slice::from_ref(value),
                Some(Slot::Many(values)) => values,
                _ => &[],
            };
            for value in values {
                if !look(region.bounds.compare(wanted.relation, value, &end)) {
                    return Some(false);
                }
            }
        }
        for guard in &self.program.guards {
            for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
                let (Some(limit), Some(Slot::One(value))) = (limit, slot(guard.register)) else {
                    continue;
                };
                let Some(Slot::One(end)) = slot(limit.register) else { continue };
                let relation = match (is_low, limit.included) {
                    (true, true) => Relation::AtLeast,
                    (true, false) => Relation::Above,
                    (false, true) => Relation::AtMost,
                    (false, false) => Relation::Below,
                };
                if !look(region.bounds.compare(relation, value, end)) {
                    return Some(false);
                }
            }
        }
        for output in &self.program.outputs {
            let exists = match slot(output.register) {
                Some(Slot::One(value)) => value.may.is_none(),
                Some(Slot::Many(values)) => values.iter().all(|value| value.may.is_none()),
                _ => true,
            };
            all &= exists;
        }
        all.then_some(true)
    }

    fn spent(&self) -> bool {
        self.runs.borrow().len() + *self.boxes.borrow() > RUNS
    }

    /// The outermost place that fits, and whether all beyond it are proved not to.
    fn outermost(&self, wish: Wish) -> (Option<u32>, bool) {
        let mut open = vec![(0, self.last)];
        while let Some((low, high)) = open.pop() {
            if low == high {
                if self.fits(low) {
                    return (Some(low), true);
                }
                continue;
            }
            if self.spent() {
                // what is left is bisected between places that were tried
                let tried = self.runs.borrow();
                let mut fitting = tried
                    .iter()
                    .filter(|(_, outcome)| outcome.broken.is_empty())
                    .map(|(at, _)| *at);
                let best = if wish == Wish::Largest { fitting.next_back() } else { fitting.next() };
                return (best, false);
            }
            let outer = if wish == Wish::Largest { high } else { low };
            if self.fits(outer) {
                return (Some(outer), true);
            }
            if self.between(low, high) == Some(false) {
                continue;
            }
            let middle = low + (high - low) / 2;
            match wish {
                Wish::Largest => open.extend([(low, middle), (middle + 1, high)]),
                Wish::Smallest => open.extend([(middle + 1, high), (low, middle)]),
            }
        }
        (None, true)
    }

    fn all_fit(&self, low: u32, high: u32) -> Before {
        let mut open = vec![(low, high)];
        let mut budget = 400;
        while let Some((low, high)) = open.pop() {
            budget -= 1;
            if budget == 0 {
                return Before::Unknown;
            }
            if let Some(out) = [low, high].into_iter().find(|at| !self.fits(*at)) {
                return Before::Not(self.at(out).0);
            }
            if high - low < 2 {
                continue;
            }
            match self.between(low, high) {
                Some(true) => {}
                Some(false) => return Before::Not(self.at(low + 1).0),
                None => {
                    let middle = low + (high - low) / 2;
                    open.extend([(low, middle), (middle, high)]);
                }
            }
        }
        Before::All
    }

    /// What forbids every value, each where it is least broken.
    fn forbidding(&self) -> Vec<String> {
        let places: std::collections::BTreeSet<u32> = (0..=LOOKS)
            .map(|part| {
                u32::try_from(u64::from(self.last) * u64::from(part) / u64::from(LOOKS))
                    .unwrap_or(0)
            })
            .collect();
        let outcomes: Vec<(u32, Rc<Outcome>)> =
            places.iter().map(|at| (*at, self.run(*at))).collect();
        let name = |broken: &Broken| {
            broken.what.split(['=', '(']).next().unwrap_or_default().trim().to_owned()
        };
        let mut found: Vec<(bool, f64, String)> = Vec::new();
        let mut names: Vec<String> =
            outcomes.iter().flat_map(|(_, outcome)| outcome.broken.iter().map(name)).collect();
        names.sort();
        names.dedup();
        for one in names {
            let here: Vec<(u32, &Broken)> = outcomes
                .iter()
                .filter_map(|(at, outcome)| {
                    Some((*at, outcome.broken.iter().find(|broken| name(broken) == one)?))
                })
                .collect();
            let everywhere = here.len() == outcomes.len();
            let Some((at, nearest)) = here.iter().min_by(|a, b| a.1.short.total_cmp(&b.1.short))
            else {
                continue;
            };
            let place = written(&self.at(*at).0);
            let words = if everywhere {
                format!(
                    "everywhere: {}; nearest with {} = {place}",
                    nearest.what, self.question.input
                )
            } else {
                format!(
                    "at {} of {} values tried: {}; nearest with {} = {place}",
                    here.len(),
                    outcomes.len(),
                    nearest.what,
                    self.question.input
                )
            };
            found.push((!everywhere, nearest.short, words));
        }
        found.sort_by(|a, b| {
            (a.0, a.1).partial_cmp(&(b.0, b.1)).unwrap_or(std::cmp::Ordering::Equal)
        });
        found.into_iter().map(|(_, _, words)| words).collect()
    }
}

/// How far two values are apart, over the larger of them.
fn apart(x: &Exact, y: &Exact) -> f64 {
    let (x, y) = (x.to_f64(), y.to_f64());
    (x - y).abs() / x.abs().max(y.abs()).max(f64::MIN_POSITIVE)
}

/// The whole number at or below a count, with a little slack for what was rounded; a million and one for more.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between zero and a million and one"
)]
fn whole_below(count: f64) -> u32 {
    (count + 1e-9).floor().clamp(0.0, 1_000_001.0) as u32
}

/// A value of an input as a literal, for a question.
///
/// # Errors
/// `unknown-input`, a series or a choice, or what the text has wrong.
pub fn asked_value(program: &Program, name: &str, text: &str) -> Result<Literal, Diagnostic> {
    let Some(input) = program.inputs.iter().find(|input| input.name == name) else {
        let all: Vec<&str> = program.inputs.iter().map(|input| input.name.as_str()).collect();
        return Err(Diagnostic::error(Name::UnknownInput, format!("the sheet takes no `{name}`"))
            .remedy(format!("it takes {}", all.join(", "))));
    };
    if !matches!(input.type_, Type::Number { series: false, .. }) {
        return Err(Diagnostic::error(
            Name::UnreadableQuantity,
            format!("`{name}` is not one number"),
        )
        .remedy("ask by an input that is one number"));
    }
    match super::read(input, text)? {
        Given::One(literal) => Ok(literal),
        _ => {
            Err(Diagnostic::error(Name::UnreadableQuantity, format!("`{name}` is not one number")))
        }
    }
}

/// The bound of a result as a literal in a unit that fits it.
///
/// # Errors
/// `unknown-name`, or what the text has wrong.
pub fn asked_bound(program: &Program, name: &str, text: &str) -> Result<Literal, Diagnostic> {
    let Some(output) = program.outputs.iter().find(|output| output.name == name) else {
        let all: Vec<&str> = program.outputs.iter().map(|output| output.name.as_str()).collect();
        return Err(Diagnostic::error(Name::UnknownName, format!("the sheet gives no `{name}`"))
            .remedy(format!("it gives {}", all.join(", "))));
    };
    let Type::Number { dimension, .. } = output.type_ else {
        return Err(Diagnostic::error(Name::UnreadableQuantity, format!("`{name}` is no number"))
            .remedy("ask for a bound of a number"));
    };
    let (digits, ten, symbol) = crate::unit::split_quantity(text).map_err(|problem| {
        Diagnostic::error(Name::UnreadableQuantity, format!("`{name}`: {}", problem.headline()))
            .remedy(problem.remedy)
    })?;
    let unit = if symbol.is_empty() {
        dimension.is_none().then(crate::unit::Unit::one)
    } else {
        crate::unit::kinds_of(dimension)
            .into_iter()
            .find_map(|kind| kind.read_unit(symbol).ok())
            .or_else(|| {
                crate::unit::parse_unit(symbol)
                    .ok()
                    .filter(|unit| crate::unit::fits(dimension, unit.dimension))
            })
    };
    unit.map(|unit| Literal::new(digits, ten, unit)).ok_or_else(|| {
        let name_ = if symbol.is_empty() { Name::MissingUnit } else { Name::UnitMismatch };
        Diagnostic::error(
            name_,
            format!("`{name}` is given in {}, found `{text}`", output.unit.symbol),
        )
        .remedy(format!("write the bound in {}", output.unit.symbol))
    })
}
