//! A point that was tried: what came out, and what it does not keep.

use std::rc::Rc;

use super::{Design, Requirement};
use crate::calculation::{Extreme, Inputs, Results, Verdict, WorstCase, show, written};
use crate::number::{Checked, Decimals, Exact, Slot, System};
use crate::program::{LineId, Output, Relation};

/// Points that are looked at along a free input to say what forbids every value.
const LOOKS: u32 = 32;
/// The same where several inputs are free.
const LOOKS_EACH: u32 = 6;

pub(super) struct Outcome {
    pub(super) results: Result<Rc<Results>, String>,
    pub(super) broken: Vec<Unmet>,
}

/// Something that is not kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Unmet {
    /// Which.
    pub which: Which,
    /// In words, with its figures.
    pub what: String,
    /// How much is missing, over the size of the bound, to set one against another.
    pub(super) short: f64,
}

/// What is not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Which {
    /// A wanted bound, by its place in the question.
    Requirement(usize),
    /// A check, by its place in the program.
    Check(usize),
    /// A result that may not exist somewhere within the tolerances, by its place in the program.
    Exists(usize),
    /// There are no results.
    Nothing,
}

impl Design<'_> {
    pub(super) fn run(&self, at: &[u32]) -> Rc<Outcome> {
        if let Some(known) = self.runs.borrow().get(at) {
            return Rc::clone(known);
        }
        let outcome = Rc::new(self.tried(&self.at(at).1));
        self.runs.borrow_mut().insert(at.to_vec(), Rc::clone(&outcome));
        outcome
    }

    pub(super) fn fits(&self, at: &[u32]) -> bool {
        self.run(at).broken.is_empty()
    }

    fn tried(&self, inputs: &Inputs) -> Outcome {
        let nothing = |problems: crate::diagnostic::Problems| {
            let words =
                problems.first().map_or_else(String::new, |problem| problem.headline.clone());
            let broken = Unmet { which: Which::Nothing, what: words.clone(), short: f64::INFINITY };
            Outcome { results: Err(words), broken: vec![broken] }
        };
        let results = match Results::compute(self.program, inputs) {
            Ok(results) => results,
            Err(problems) => return nothing(problems),
        };
        let broken = self.broken(&results);
        if !self.question.worst || !broken.is_empty() {
            return Outcome { results: Ok(Rc::new(results)), broken };
        }
        match WorstCase::compute(self.program, inputs) {
            Ok(worst) => {
                Outcome { results: Ok(Rc::new(results)), broken: self.broken_in_worst(&worst) }
            }
            Err(problems) => nothing(problems),
        }
    }

    /// What a calculation does not keep: wanted bounds first, then checks.
    fn broken(&self, results: &Results) -> Vec<Unmet> {
        let mut broken = Vec::new();
        for (at, wanted, output) in self.wanted() {
            let values = match results.slot(output) {
                Some(Slot::One(value)) => vec![*value],
                Some(Slot::Many(values)) => values.clone(),
                _ => {
                    if results.never(output).is_some() {
                        let what = unwanted(wanted, &results.to_text(output));
                        let which = Which::Requirement(at);
                        broken.push(Unmet { which, what, short: f64::INFINITY });
                    }
                    continue;
                }
            };
            let bound: Checked = Decimals.literal(&wanted.value, LineId(0));
            let lost = values
                .iter()
                .find(|value| Decimals.compare(wanted.relation, &Ok(**value), &bound) != Ok(true));
            if let (Some(value), Ok(bound)) = (lost, &bound) {
                let what = unwanted(wanted, &show(value, &output.unit));
                broken.push(Unmet {
                    which: Which::Requirement(at),
                    what,
                    short: apart(value, bound),
                });
            }
        }
        for (at, (check, sides)) in results.checks().iter().zip(&results.run().checks).enumerate() {
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
            let what = format!("{path}{}{margin}", check.text);
            broken.push(Unmet { which: Which::Check(at), what, short });
        }
        broken
    }

    /// What is not proved to be kept over the tolerances; the corners where it fails are remembered.
    fn broken_in_worst(&self, worst: &WorstCase) -> Vec<Unmet> {
        let mut broken = Vec::new();
        let with = |corner: &str| {
            if corner.is_empty() { String::new() } else { format!(", with {corner}") }
        };
        for (at, wanted, output) in self.wanted() {
            let bound: Checked = Decimals.literal(&wanted.value, LineId(0));
            let upwards = matches!(wanted.relation, Relation::Below | Relation::AtMost);
            let place = self.program.outputs.iter().position(|known| known.name == output.name);
            for range in worst.ranges().iter().filter(|range| Some(range.output) == place) {
                let end = if upwards { &range.high } else { &range.low };
                let value = end.limit.map_or(Ok(end.reached), |limit| {
                    Exact::from_bound(limit, upwards).map_err(|_| ())
                });
                let kept = value.is_ok_and(|value| {
                    Decimals.compare(wanted.relation, &Ok(value), &bound) == Ok(true)
                });
                if kept {
                    continue;
                }
                self.remember(worst, end);
                let what = unwanted(wanted, &end.to_text(output, upwards));
                let short =
                    bound.as_ref().map_or(f64::INFINITY, |bound| apart(&end.reached, bound));
                let what = format!("{what}{}", with(&end.corner));
                broken.push(Unmet { which: Which::Requirement(at), what, short });
                break;
            }
        }
        for check in worst.checks() {
            if check.caution || check.verdict == Verdict::Holds {
                continue;
            }
            let path =
                if check.path.is_empty() { String::new() } else { format!("{}: ", check.path) };
            let how = match check.verdict {
                Verdict::NotProved => " is not proved to hold",
                _ => " may fail",
            };
            let margin = check
                .least_margin
                .as_ref()
                .map_or_else(String::new, |margin| format!(" (least margin {margin})"));
            let what = format!("{path}{}{how}{margin}{}", check.text, with(&check.corner));
            let at = self
                .program
                .checks
                .iter()
                .position(|known| known.text == check.text && known.path == check.path);
            if let Some(inputs) = worst.inputs_where_it_fails(check) {
                self.keep(inputs);
            }
            let which = at.map_or(Which::Nothing, Which::Check);
            broken.push(Unmet { which, what, short: check.short });
        }
        for range in worst.ranges() {
            let (Some(fault), Some(output)) = (&range.may, self.program.outputs.get(range.output))
            else {
                continue;
            };
            let what = format!("{} may not exist: {}", output.name, fault.words);
            broken.push(Unmet { which: Which::Exists(range.output), what, short: f64::INFINITY });
        }
        broken
    }

    fn remember(&self, worst: &WorstCase, end: &Extreme) {
        self.keep(worst.inputs_at(end));
    }

    /// The free inputs are not part of a corner: proofs set them anew.
    fn keep(&self, inputs: Inputs) {
        const MOST: usize = 8;
        let mut corners = self.corners.borrow_mut();
        if corners.len() < MOST {
            corners.push(inputs.without_tolerances());
        }
    }

    pub(super) fn wanted(&self) -> impl Iterator<Item = (usize, &Requirement, &Output)> {
        self.question.wanted.iter().enumerate().filter_map(|(at, wanted)| {
            let output = self.program.output_named(&wanted.result)?;
            Some((at, wanted, output))
        })
    }

    /// What forbids every value, each where it is least broken.
    pub(super) fn forbidding(&self) -> Vec<String> {
        let looks = if self.frees.len() == 1 { LOOKS } else { LOOKS_EACH };
        let mut places: Vec<Vec<u32>> = vec![Vec::new()];
        for free in &self.frees {
            let mut along: Vec<u32> = (0..=looks).map(|part| free.part(part, looks)).collect();
            along.dedup();
            places = places
                .iter()
                .flat_map(|before| {
                    along.iter().map(|at| before.iter().copied().chain([*at]).collect())
                })
                .collect();
        }
        let outcomes: Vec<(&Vec<u32>, Rc<Outcome>)> =
            places.iter().map(|at| (at, self.run(at))).collect();
        let mut all: Vec<Which> = outcomes
            .iter()
            .flat_map(|(_, outcome)| outcome.broken.iter().map(|broken| broken.which))
            .collect();
        all.sort();
        all.dedup();
        let mut found: Vec<(bool, f64, String)> = Vec::new();
        for one in all {
            let here: Vec<(&Vec<u32>, &Unmet)> = outcomes
                .iter()
                .filter_map(|(at, outcome)| {
                    Some((*at, outcome.broken.iter().find(|broken| broken.which == one)?))
                })
                .collect();
            let everywhere = here.len() == outcomes.len();
            let Some((at, nearest)) = here.iter().min_by(|a, b| a.1.short.total_cmp(&b.1.short))
            else {
                continue;
            };
            let place: Vec<String> = self
                .frees
                .iter()
                .zip(self.at(at).0)
                .map(|(free, value)| format!("{} = {}", free.input, written(&value)))
                .collect();
            let where_ = if everywhere {
                "everywhere".to_owned()
            } else {
                format!("at {} of {} values tried", here.len(), outcomes.len())
            };
            let words = format!("{where_}: {}; nearest with {}", nearest.what, place.join(", "));
            found.push((!everywhere, nearest.short, words));
        }
        found.sort_by(|a, b| {
            (a.0, a.1).partial_cmp(&(b.0, b.1)).unwrap_or(std::cmp::Ordering::Equal)
        });
        found.into_iter().map(|(_, _, words)| words).collect()
    }
}

fn unwanted(wanted: &Requirement, value: &str) -> String {
    format!(
        "{} = {value}, wanted {} {}",
        wanted.result,
        wanted.relation.sign(),
        written(&wanted.value)
    )
}

/// How far two values are apart, over the larger of them.
fn apart(x: &Exact, y: &Exact) -> f64 {
    let (x, y) = (x.to_f64(), y.to_f64());
    (x - y).abs() / x.abs().max(y.abs()).max(f64::MIN_POSITIVE)
}
