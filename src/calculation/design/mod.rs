//! The reverse question: the largest or smallest inputs that still hold every check and bound.

mod asked;
mod grid;
mod proof;
mod sweep;
mod trial;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use super::{Inputs, Results};
use crate::diagnostic::Problems;
use crate::program::{Program, Relation};
use crate::unit::Literal;
pub use asked::{asked_bound, asked_value};
use grid::Free;
pub use sweep::Swept;
use trial::Outcome;
pub use trial::{Unmet, Which};

/// Points of the grid, one place for each free input.
type Point = Vec<u32>;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// The inputs that are free, the one that matters most first.
    pub by: Vec<FreeInput>,
    /// What results must keep, beside every check that is more than a caution.
    pub wanted: Vec<Requirement>,
    /// Whether all of it must hold over the tolerances of the other inputs, not only for their nominal values.
    pub worst: bool,
}

/// A free input, and what it can be set to.
#[derive(Clone, Debug)]
pub struct FreeInput {
    /// Name of the input.
    pub input: String,
    /// Least value of it.
    pub from: Literal,
    /// Largest value of it.
    pub to: Literal,
    /// Step in which it can be set.
    pub step: Literal,
    /// Which end of what fits is asked for; found where it is not said.
    pub towards: Option<Goal>,
}

/// A bound of a result: `S <= 600 mm`.
#[derive(Clone, Debug, PartialEq)]
pub struct Requirement {
    /// Name of the result.
    pub result: String,
    /// `<`, `<=`, `>` or `>=`.
    pub relation: Relation,
    /// The bound.
    pub value: Literal,
}

/// Which end of what fits is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Goal {
    /// The largest value that fits.
    Largest,
    /// The smallest value that fits.
    Smallest,
}

/// The answer.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Answer {
    /// Which end it is, for each free input.
    pub wishes: Vec<Goal>,
    /// Whether that was said, or one end of its range fits and the other does not, for each free input; else `largest`
    /// stands for want of better knowledge.
    pub shown: Vec<bool>,
    /// The values, and the calculation with them; none when nothing fits.
    pub found: Option<(Vec<Literal>, Results)>,
    /// The value of each free input one step further, and what forbids it; none at the end of its range.
    pub beyond: Vec<Option<Beyond>>,
    /// Whether nothing further on fits, proved on bounds for all of it, not only for what was tried.
    pub none_further: bool,
    /// Whether every value of the last free input from the answer to its other end fits.
    pub all_before: Before,
    /// When nothing fits: what forbids it, and how near it comes, the nearest first.
    pub forbids: Vec<String>,
    /// How many calculations it took on exact decimals.
    pub runs: usize,
}

/// One step further than the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Beyond {
    /// The value.
    pub value: Literal,
    /// What it does not keep, the other inputs as in the answer.
    pub broken: Vec<String>,
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

/// A question at work.
///
/// With several free inputs the first is taken as far as any setting of the others allows, then the second
/// with the first where it stands, and so on.
///
/// # Example
/// ```
/// use standstill::{Problems, Sheet, calculation::{Before, FreeInput, Design, Question, Requirement, asked_bound, asked_value, written}};
/// use standstill::program::Relation;
/// let sheet = Sheet::library("run-down")?;
/// let mut inputs = sheet.inputs();
/// for (name, text) in [("n_0", "1500 r/min"), ("T_0", "4 N·m")] {
///     inputs.write(name, text)?;
/// }
/// let value = |text| asked_value(sheet.program(), "J", text).map_err(Problems::from);
/// let limit = asked_bound(sheet.program(), "t_stop", "60 s")?;
/// let by = FreeInput {
///     input: "J".to_owned(),
///     from: value("0.1 kg·m²")?,
///     to: value("5 kg·m²")?,
///     step: value("0.01 kg·m²")?,
///     towards: None,
/// };
/// let wanted = vec![Requirement { result: "t_stop".to_owned(), relation: Relation::AtMost, value: limit }];
/// let question = Question { by: vec![by], wanted, worst: false };
/// let answer = Design::new(sheet.program(), &inputs, &question)?.answer()?;
/// // J = t·T/ω: 60 · 4 / 157.0796 = 1.5279
/// let (largest, _) = answer.found.unwrap();
/// assert_eq!(written(&largest[0]), "1.52 kg·m²");
/// assert!(answer.none_further && answer.all_before == Before::All);
/// # Ok::<(), standstill::Problems>(())
/// ```
pub struct Design<'a> {
    program: &'a Arc<Program>,
    /// The nominal inputs; with their tolerances where these count.
    inputs: Inputs,
    /// The nominal inputs, with every tolerance that is stated.
    stated: Inputs,
    /// The inputs at points within their tolerances where something failed; the nominal values among them.
    corners: RefCell<Vec<Inputs>>,
    question: &'a Question,
    frees: Vec<Free>,
    runs: RefCell<BTreeMap<Point, Rc<Outcome>>>,
    boxes: RefCell<usize>,
}

impl<'a> Design<'a> {
    /// Looks at the question.
    ///
    /// # Errors
    /// An unknown input or result, a range that falls, a step that is not above zero, an input asked twice.
    pub fn new(
        program: &'a Arc<Program>,
        inputs: &Inputs,
        question: &'a Question,
    ) -> Result<Self, Problems> {
        let frees = grid::frees(program, question)?;
        // what words leave out wherever the free inputs lie need not be given
        let mut open = inputs.clone();
        for input in frees.iter().filter_map(|free| program.input_named(&free.input)) {
            open.give_up(&input.name, input.place.clone());
        }
        let mut inputs = open.spared().unwrap_or_else(|| inputs.clone());
        frees.iter().for_each(|free| inputs.seek(&free.input));
        let inputs = &inputs;
        let as_given = inputs.without_tolerances();
        Ok(Self {
            program,
            inputs: if question.worst { inputs.clone() } else { as_given.clone() },
            stated: inputs.clone(),
            corners: RefCell::new(vec![as_given]),
            question,
            frees,
            runs: RefCell::default(),
            boxes: RefCell::default(),
        })
    }

    /// Answers it.
    ///
    /// # Errors
    /// What is wrong with the other inputs.
    pub fn answer(&self) -> Result<Answer, Problems> {
        // everything but the free inputs must be there
        let missing = self.at(&vec![0; self.frees.len()]).1.problems();
        if !missing.is_empty() {
            return Err(missing.into());
        }
        let mut wishes = Vec::new();
        let (found, none_further) = self.best(&[], &mut wishes);
        let (wishes, shown) = wishes.into_iter().unzip();
        let mut answer = Answer {
            wishes,
            shown,
            found: None,
            beyond: Vec::new(),
            none_further,
            all_before: Before::Unknown,
            forbids: Vec::new(),
            runs: 0,
        };
        match found {
            Some(at) => {
                // a tolerance that is stated belongs to the answer, whether or not the question is asked over it
                let (values, inputs) = self.put(&at, &self.stated);
                answer.found = Some((values, Results::compute(self.program, &inputs)?));
                for (free, wish) in answer.wishes.iter().enumerate() {
                    answer.beyond.push(self.beyond(&at, free, *wish));
                }
                answer.all_before = self.all_before(&at, answer.wishes.last().copied());
            }
            None => answer.forbids = self.forbidding(),
        }
        answer.runs = self.runs.borrow().len();
        Ok(answer)
    }

    fn beyond(&self, at: &[u32], free: usize, wish: Goal) -> Option<Beyond> {
        let mut next = at.to_vec();
        let place = next.get_mut(free)?;
        *place = self.frees.get(free)?.further(*place, wish)?;
        let value = self.at(&next).0.get(free)?.clone();
        let broken = self.run(&next).broken.iter().map(|broken| broken.what.clone()).collect();
        Some(Beyond { value, broken })
    }
}
