//! One set of inputs on exact decimals.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::demand::Demand;
use super::evaluate::{NoCache, Run, SlotOf, StepCache};
use super::{Checked, Decimals, Exact, Fault, Slot, System};
use crate::diagnostic::Name;
use crate::program::{Block, Guard, Limit, LineId, Program, Register, Relation, Type};
use crate::unit::Literal;

/// A value given for an input.
#[derive(Clone, Debug, PartialEq)]
pub enum InputValue {
    /// One number with its unit.
    One(Literal),
    /// A series.
    Many(Vec<Literal>),
    /// A word, by its place in the list of the input.
    Word(usize),
}

/// What a register holds after a run on exact decimals.
pub type ExactSlot = Slot<Exact, bool>;

/// A range that a value does not keep.
#[derive(Clone, Debug, PartialEq)]
pub struct GuardFailure {
    /// Index into [`Program::guards`].
    pub guard: usize,
    /// Place in the series, from 0; `None` for a single value.
    pub element: Option<usize>,
    /// What is not kept.
    pub broken: BrokenLimit,
}

/// Which part of a guard is not kept.
#[derive(Clone, Debug, PartialEq)]
pub enum BrokenLimit {
    /// The value lies below the lower bound, or on it where it is not allowed.
    Low {
        /// Value found, in coherent SI.
        value: Exact,
        /// The bound, in coherent SI.
        bound: Exact,
    },
    /// The value lies above the upper bound, or on it where it is not allowed.
    High {
        /// Value found, in coherent SI.
        value: Exact,
        /// The bound, in coherent SI.
        bound: Exact,
    },
    /// The series is too short.
    TooFew {
        /// Number of values found.
        found: usize,
        /// Number needed.
        needed: usize,
    },
    /// The value or its bound could not be calculated.
    Fault(Fault),
}

/// How a check came out.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckOutcome {
    /// Whether it holds, or why that cannot be said.
    pub holds: Result<bool, Fault>,
    /// Both sides in coherent SI, where the check is a single comparison of single values.
    pub sides: Option<(Exact, Exact)>,
}

/// The outcome of one set of inputs.
#[derive(Clone, Debug, PartialEq)]
pub struct ExactRun {
    registers: Vec<Result<ExactSlot, Fault>>,
    outputs: Vec<Register>,
    /// How each check came out, in the order of [`Program::checks`].
    pub checks: Vec<CheckOutcome>,
    /// Every range that is not kept, in the order of [`Program::guards`].
    pub guard_failures: Vec<GuardFailure>,
}

impl ExactRun {
    /// What an output holds; `output` by place in [`Program::outputs`].
    ///
    /// # Errors
    /// The fault that stands in its place.
    pub fn output(&self, output: usize) -> Result<&ExactSlot, &Fault> {
        let register = self.outputs.get(output).copied().unwrap_or(Register(u32::MAX));
        self.register(register)
    }

    /// What a register holds; [`Slot::Empty`] for one that no step has written.
    ///
    /// # Errors
    /// The fault that stands in its place.
    pub fn register(&self, register: Register) -> Result<&ExactSlot, &Fault> {
        register
            .place()
            .and_then(|at| self.registers.get(at))
            .map_or(Ok(&Slot::Empty), Result::as_ref)
    }

    /// Whether every guard is kept and every output and check has a value, or never exists in the words of the
    /// sheet's author.
    pub(crate) fn is_sound(&self) -> bool {
        let faults = self.checks.iter().filter_map(|check| check.holds.as_ref().err());
        let outputs = (0..self.outputs.len()).filter_map(|output| self.output(output).err());
        self.guard_failures.is_empty()
            && faults.chain(outputs).all(|fault| fault.name == Name::Never)
    }

    /// Whether every guard is kept, every check holds and every output exists.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.guard_failures.is_empty()
            && self.checks.iter().all(|check| check.holds == Ok(true))
            && (0..self.outputs.len()).all(|output| self.output(output).is_ok())
    }
}

/// Runs a program on exact decimals; `given` by place in [`Program::inputs`].
///
/// An input that is not given takes its default; without one, whatever needs it is the fault
/// [`Name::MissingInput`]. Guards are looked at beside the values, not instead of them: the caller decides
/// what a broken range stops.
///
/// # Example
/// ```
/// use standstill::{Sheet, number::{Slot, run_exact}};
/// let sheet = Sheet::parse("half", "sheet half\nworks\n  h = 1/2\ngives\n  h\n")?;
/// let run = run_exact(sheet.program(), &[]);
/// let Ok(Slot::One(value)) = run.output(0) else { panic!("a number") };
/// assert_eq!(value.to_string(), "0.5");
/// # Ok::<(), standstill::Problems>(())
/// ```
#[must_use]
pub fn run_exact(program: &Program, given: &[Option<InputValue>]) -> ExactRun {
    run_exact_with(program, given, &demand_of(program), &NoCache)
}

/// What a run of a program asks for: whatever takes next to no time, and long steps where a case that reads them
/// is taken.
pub(crate) fn demand_of(program: &Program) -> Demand {
    demand_with(program, std::iter::empty())
}

/// The same, and what leads to some registers besides.
pub(super) fn demand_with(program: &Program, more: impl Iterator<Item = Register>) -> Demand {
    let read: BTreeSet<_> = program.steps.iter().flat_map(|step| step.op.reads()).collect();
    let mut asked = kept(program);
    asked.extend(more);
    // lines that nobody reads but a person
    asked.extend(program.lines.iter().map(|it| it.register).filter(|it| !read.contains(it)));
    Demand::of_registers(program, &asked).sparing_long_steps_alone(program)
}

/// Registers read after the last step.
pub(super) fn kept(program: &Program) -> BTreeSet<Register> {
    let mut kept: BTreeSet<_> = program.outputs.iter().map(|output| output.register).collect();
    kept.extend(program.outputs.iter().filter_map(|it| it.setting).flat_map(|(a, b, c)| [a, b, c]));
    for check in &program.checks {
        kept.insert(check.register);
        kept.extend(check.sides.iter().flat_map(|(_, x, y)| [*x, *y]));
    }
    for guard in &program.guards {
        kept.insert(guard.register);
        kept.extend(guard.low.iter().chain(&guard.high).map(|limit| limit.register));
    }
    kept
}

/// Runs a program in the same way, with a memory of what some of its steps came to.
pub(crate) fn run_exact_with(
    program: &Program,
    given: &[Option<InputValue>],
    demand: &Demand,
    memory: &dyn StepCache<Decimals>,
) -> ExactRun {
    run_exact_on(program, inputs_of(program, given), demand, memory)
}

/// The same on inputs that are decimals already.
pub(crate) fn run_exact_on(
    program: &Program,
    inputs: Vec<SlotOf<Decimals>>,
    demand: &Demand,
    memory: &dyn StepCache<Decimals>,
) -> ExactRun {
    let mut run = Run::new(&Decimals, program, inputs.clone());
    // an input register that no step fills is filled here, so both ways of writing a program work
    for (input, value) in program.inputs.iter().zip(&inputs) {
        run.put(input.register, value.clone());
    }
    run.steps(demand, memory);
    let registers: Vec<_> = run.registers.into_iter().map(plain).collect();
    let mut outcome = ExactRun {
        registers,
        outputs: program.outputs.iter().map(|output| output.register).collect(),
        checks: Vec::new(),
        guard_failures: Vec::new(),
    };
    outcome.checks = program
        .checks
        .iter()
        .map(|check| CheckOutcome {
            holds: outcome.truth(check.register, check.line),
            sides: check.sides.and_then(|(_, x, y)| Some((outcome.number(x)?, outcome.number(y)?))),
        })
        .collect();
    for (at, guard) in program.guards.iter().enumerate() {
        outcome.look_at(at, guard, program);
    }
    outcome
}

/// The nominal inputs of a program, its defaults, or the fault of having neither.
pub(crate) fn inputs_of(program: &Program, given: &[Option<InputValue>]) -> Vec<SlotOf<Decimals>> {
    program
        .inputs
        .iter()
        .enumerate()
        .map(|(at, input)| match (given.get(at).and_then(Option::as_ref), &input.default) {
            (Some(given), _) => slot_of(given, input.line),
            (None, Some(default)) => Slot::One(Decimals.literal(default, input.line)),
            (None, None) => {
                let words = format!("`{}` has no value and no default", input.name);
                Slot::One(Decimals.fault(Fault::new(Name::MissingInput, input.line, words)))
            }
        })
        .collect()
}

/// What a function of a program (the body of `root of` or `integral of`) is at some arguments, after a run;
/// none where it has no value.
///
/// # Example
/// ```
/// use standstill::{Sheet, number::{Exact, function_at}};
/// let sheet = Sheet::parse("square.sheet", "sheet square
/// title \"Area below a parabola\"
/// takes
///   a : ratio above 0 like 3   \"upper end\"
/// works
///   A = integral of x^2 for x from 0 to a
/// gives
///   A
/// ")?;
/// let mut inputs = sheet.inputs();
/// inputs.fill_with_examples();
/// let results = sheet.run(&inputs)?;
/// let program = results.program();
/// let found = function_at(program, results.run(), &program.blocks[0], &[Exact::whole(2)]);
/// assert_eq!(found[0].map(|value| value.to_f64()), Some(4.0));
/// # Ok::<(), standstill::Problems>(())
/// ```
#[must_use]
pub fn function_at(
    program: &Program,
    run: &ExactRun,
    block: &Block,
    arguments: &[Exact],
) -> Vec<Option<Exact>> {
    let mut again = Run::new(&Decimals, program, Vec::new());
    for (register, slot) in (0..program.registers).map(Register).zip(&run.registers) {
        let slot = match slot {
            Ok(Slot::One(value)) => Slot::One(Ok(*value)),
            Ok(Slot::Many(values)) => Slot::Many(values.iter().map(|value| Ok(*value)).collect()),
            Ok(Slot::Truth(truth)) => Slot::Truth(Ok(*truth)),
            Ok(Slot::Empty) => Slot::Empty,
            Err(fault) => Slot::One(Err(Arc::new(fault.clone()))),
        };
        again.put(register, slot);
    }
    arguments.iter().map(|x| again.call(block, vec![Ok(*x)], LineId(0)).ok()).collect()
}

impl ExactRun {
    fn truth(&self, register: Register, line: LineId) -> Result<bool, Fault> {
        match self.register(register) {
            Ok(Slot::Truth(truth)) => Ok(*truth),
            Ok(_) => Err(Fault::new(Name::Internal, line, "a check is no truth")),
            Err(fault) => Err(fault.clone()),
        }
    }

    /// The number in a register; none where it holds another thing, or a fault.
    pub(crate) fn number(&self, register: Register) -> Option<Exact> {
        match self.register(register) {
            Ok(Slot::One(value)) => Some(*value),
            _ => None,
        }
    }

    fn look_at(&mut self, at: usize, guard: &Guard, program: &Program) {
        // a word needs no range
        let is_word = guard
            .input
            .and_then(|input| program.input(input))
            .is_some_and(|input| matches!(input.type_, Type::Choice(_)));
        if is_word {
            return;
        }
        let (values, is_series) = match self.register(guard.register) {
            Ok(Slot::One(value)) => (vec![*value], false),
            Ok(Slot::Many(values)) => (values.clone(), true),
            Ok(_) => return,
            Err(fault) => {
                let broken = BrokenLimit::Fault(fault.clone());
                self.guard_failures.push(GuardFailure { guard: at, element: None, broken });
                return;
            }
        };
        let mut failures = Vec::new();
        if let Some(needed) = guard.at_least.filter(|needed| is_series && values.len() < *needed) {
            failures.push((None, BrokenLimit::TooFew { found: values.len(), needed }));
        }
        for (limit, is_low) in [(&guard.low, true), (&guard.high, false)] {
            let Some(limit) = limit else { continue };
            match self.register(limit.register) {
                Ok(Slot::One(bound)) => {
                    for (element, value) in values.iter().enumerate() {
                        if !keeps(value, bound, limit, is_low) {
                            let (value, bound) = (*value, *bound);
                            let broken = if is_low {
                                BrokenLimit::Low { value, bound }
                            } else {
                                BrokenLimit::High { value, bound }
                            };
                            failures.push((is_series.then_some(element), broken));
                        }
                    }
                }
                Ok(_) => {}
                Err(fault) => failures.push((None, BrokenLimit::Fault(fault.clone()))),
            }
        }
        self.guard_failures.extend(failures.into_iter().map(|(element, broken)| GuardFailure {
            guard: at,
            element,
            broken,
        }));
    }
}

/// Whether a value keeps one bound of its range.
fn keeps(value: &Exact, bound: &Exact, limit: &Limit, is_low: bool) -> bool {
    let relation = limit_relation(limit.included, is_low);
    Decimals.compare(relation, &Ok(*value), &Ok(*bound)) == Ok(true)
}

/// How a value must stand to a bound.
pub(crate) fn limit_relation(included: bool, is_low: bool) -> Relation {
    match (is_low, included) {
        (true, true) => Relation::AtLeast,
        (true, false) => Relation::Above,
        (false, true) => Relation::AtMost,
        (false, false) => Relation::Below,
    }
}

/// A nominal value.
pub(super) fn slot_of(given: &InputValue, line: LineId) -> Slot<Checked, Checked<bool>> {
    match given {
        InputValue::One(number) => Slot::One(Decimals.literal(number, line)),
        InputValue::Many(numbers) => {
            Slot::Many(numbers.iter().map(|number| Decimals.literal(number, line)).collect())
        }
        InputValue::Word(place) => {
            Slot::One(Decimals.whole(i64::try_from(*place).unwrap_or(i64::MAX)))
        }
    }
}

/// A slot without its faults, or the first of them.
fn plain(slot: Slot<Checked, Checked<bool>>) -> Result<ExactSlot, Fault> {
    let fault = |fault: Arc<Fault>| Arc::unwrap_or_clone(fault);
    Ok(match slot {
        Slot::Empty => Slot::Empty,
        Slot::One(value) => Slot::One(value.map_err(fault)?),
        Slot::Many(values) => {
            let mut plain = Vec::with_capacity(values.len());
            for value in values {
                plain.push(value.map_err(fault)?);
            }
            Slot::Many(plain)
        }
        Slot::Truth(truth) => Slot::Truth(truth.map_err(fault)?),
    })
}
