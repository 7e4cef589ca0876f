//! Ranges that are not kept and faults on the way, reported with the input behind them.

use std::collections::{BTreeMap, BTreeSet};

use super::Inputs;
use super::cause::cause;
use super::input_text::written;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::show;
use crate::number::{BrokenLimit, ExactRun, Fault, GuardFailure, InputValue};
use crate::program::{Guard, Input, Limit, Line, LineId, Op, Program, Register, Step};

/// Every range that is not kept.
pub(super) fn of_guards(program: &Program, inputs: &Inputs, run: &ExactRun) -> Vec<Diagnostic> {
    let guard = |failure: &GuardFailure| program.guards.get(failure.guard);
    let input = |guard: &Guard| guard.input.and_then(|id| program.input(id));
    let failures = run.guard_failures.iter();
    let own: Vec<&str> = failures
        .filter(|failure| !matches!(failure.broken, BrokenLimit::Fault(_)))
        .filter_map(|failure| Some(input(guard(failure)?)?.name.as_str()))
        .collect();
    // an input beyond its own range is told there, and not again by what follows from it in each sheet
    let again = |failure: &GuardFailure| {
        let handed_on = guard(failure).filter(|it| input(it).is_none());
        let stands_on = handed_on.map(|it| behind(program, it.register)).unwrap_or_default();
        stands_on.iter().any(|name| own.contains(&name.as_str()))
    };
    let told = run.guard_failures.iter().filter(|failure| !again(failure));
    told.filter_map(|failure| of_guard(program, inputs, failure)).collect()
}

fn of_guard(program: &Program, inputs: &Inputs, failure: &GuardFailure) -> Option<Diagnostic> {
    let guard = program.guards.get(failure.guard)?;
    // what stands on a value that could not be read says nothing
    let limits = [&guard.low, &guard.high].into_iter().flatten().map(|limit| limit.register);
    let mut stands_on =
        limits.chain([guard.register]).flat_map(|register| behind(program, register));
    if stands_on.any(|name| inputs.is_given_up(&name)) {
        return None;
    }
    let line = line_of(program, guard.line)?;
    let input = guard.input.and_then(|id| program.input(id));
    let short = line.name.rsplit('.').next().unwrap_or(&line.name);
    let place = input.map_or_else(|| line.place.clone(), |input| inputs.place(input));
    let (value, bound, limit, low) = match &failure.broken {
        BrokenLimit::Low { value, bound } => (value, bound, guard.low.as_ref()?, true),
        BrokenLimit::High { value, bound } => (value, bound, guard.high.as_ref()?, false),
        BrokenLimit::TooFew { found, needed } => {
            return Some(
                Diagnostic::error(
                    Name::TooFewValues,
                    format!("`{short}` holds {found} values, the sheet needs {needed}"),
                )
                .at(place)
                .about(input.map_or("", |input| input.name.as_str()))
                .label(line.place.clone(), "declared here")
                .remedy("add values; fewer say too little about the spread"),
            );
        }
        // the fault is reported where it stands
        BrokenLimit::Fault(_) => return None,
    };
    // a value that an input wrote is reported as it was written
    let amount = input
        .and_then(|input| as_written(inputs, input, failure.element))
        .unwrap_or_else(|| show(value, &line.unit));
    let limit_value = show(bound, &line.unit);
    let wanted = wanted(guard, limit, low, &limit_value);
    let which =
        failure.element.map_or(String::new(), |at| format!(", value {} of the series,", at + 1));
    let headline = format!("`{short}` = {amount}{which} is not {wanted}");
    let about = input.map_or("", |input| input.name.as_str());
    let mut problem = Diagnostic::error(Name::OutOfRange, headline).at(place.clone()).about(about);
    if limit.place != place {
        problem = problem.label(limit.place.clone(), "limit set here");
    }
    let remedy = match input {
        Some(input) if input.kind.is_some_and(|kind| kind.name == "efficiency") && !low => {
            "an efficiency above 100 % would create energy; write `95 %` or `0.95`".to_owned()
        }
        Some(input) if input.note.is_empty() => "check the value and its unit".to_owned(),
        Some(input) => format!("check the value and its unit; `{short}` is: {}", input.note),
        None => {
            let behind = behind(program, guard.register);
            if behind.len() == 1 {
                problem = problem.about(behind.first().cloned().unwrap_or_default());
            }
            for input in behind.iter().filter_map(|name| program.input_named(name)).take(4) {
                problem = problem.label(inputs.place(input), input_text(inputs, input));
            }
            "this value follows from the inputs named here; change one of them".to_owned()
        }
    };
    Some(problem.remedy(remedy))
}

fn wanted(guard: &Guard, limit: &Limit, low: bool, limit_value: &str) -> String {
    let both = guard.low.as_ref().zip(guard.high.as_ref()).filter(|(low, high)| {
        low.included && high.included && is_plain(&low.written) && is_plain(&high.written)
    });
    if let Some((low, high)) = both {
        return format!("within {} to {}", low.written, high.written);
    }
    let word = match (low, limit.included) {
        (true, true) => "at or above",
        (true, false) => "above",
        (false, true) => "at or below",
        (false, false) => "below",
    };
    if is_plain(&limit.written) {
        format!("{word} {}", limit.written)
    } else {
        format!("{word} `{}`, which is {limit_value}", limit.written)
    }
}

/// Whether a bound is written as a number, with its unit or without.
fn is_plain(written: &str) -> bool {
    let (number, unit) = written.split_once(' ').unwrap_or((written, ""));
    number.trim_start_matches('-').starts_with(|sign: char| sign.is_ascii_digit())
        && !unit.contains(' ')
}

/// Every fault that stands in the place of a result or a check, each cause once.
pub(super) fn of_faults(program: &Program, inputs: &Inputs, run: &ExactRun) -> Vec<Diagnostic> {
    let outputs = (0..program.outputs.len()).filter_map(|at| run.output(at).err().cloned());
    let checks = run.checks.iter().filter_map(|check| check.holds.as_ref().err().cloned());
    let guards = run.guard_failures.iter().filter_map(|failure| match &failure.broken {
        BrokenLimit::Fault(fault) => Some(fault.clone()),
        _ => None,
    });
    let mut seen = BTreeSet::new();
    outputs
        .chain(checks)
        .chain(guards)
        // what never exists is a failing check, not a wrong input
        .filter(|fault| fault.name != Name::Never)
        .filter(|fault| seen.insert((fault.name, fault.line)))
        .map(|fault| of_fault(program, inputs, run, &fault))
        .collect()
}

/// What puts a fault right.
pub(crate) fn remedy_of(fault: Name) -> &'static str {
    match fault {
        Name::DividedByZero => "give a value that is not zero, or treat zero with `when`",
        Name::OutsideFunction => "check the inputs behind it; their signs and sizes",
        Name::OutsideTable => {
            "a table is never extended by a guess: add rows from its source, or change the input"
        }
        Name::NoRoot => "widen the bounds; the function must change its sign between them",
        Name::SeveralRoots => "narrow the bounds to the root that is meant",
        Name::NotContinuous => "narrow the bounds to where the function is continuous",
        Name::NotConverged => {
            "narrow the bounds; a function that runs away cannot be summed up (a rest speed above zero ends a run-down that friction alone never ends)"
        }
        Name::NoCase => "add `otherwise`, or change the input",
        Name::TooLarge => "check the units of the inputs behind it",
        Name::LengthsDiffer => "give the series the same number of values",
        Name::TooFewValues => "add values to the series",
        Name::BadStep => "give a step above zero",
        _ => "please report this with the sheet and the inputs",
    }
}

/// Faults that inputs can cause.
pub(crate) const FAULTS: &[Name] = &[
    Name::DividedByZero,
    Name::OutsideFunction,
    Name::OutsideTable,
    Name::NoRoot,
    Name::SeveralRoots,
    Name::NotContinuous,
    Name::NotConverged,
    Name::NoCase,
    Name::TooLarge,
    Name::LengthsDiffer,
    Name::TooFewValues,
    Name::BadStep,
];

fn of_fault(program: &Program, inputs: &Inputs, run: &ExactRun, fault: &Fault) -> Diagnostic {
    let words = cause(program, run, fault);
    let words = if words.is_empty() { words } else { format!(": {words}") };
    let line = line_of(program, fault.line);
    let name = line.map_or(String::new(), |line| line.name.clone());
    let headline = match fault.name {
        Name::DividedByZero => format!("`{name}` divides by zero{words}"),
        Name::OutsideFunction => {
            format!("`{name}` asks for a function where it has no value{words}")
        }
        Name::OutsideTable => format!("`{name}` reads a table outside its rows{words}"),
        Name::NoRoot => format!("`{name}` finds no root between its bounds{words}"),
        Name::SeveralRoots => format!("`{name}` has more than one root between its bounds{words}"),
        Name::NotContinuous => {
            format!("`{name}` has a jump or a pole between its bounds, not a root{words}")
        }
        Name::NotConverged => format!("`{name}` did not converge{words}"),
        Name::NoCase => format!("no case of `{name}` applies{words}"),
        Name::TooLarge => format!("`{name}` grows or shrinks beyond all use{words}"),
        Name::LengthsDiffer => format!("`{name}` joins series of different lengths{words}"),
        Name::TooFewValues => format!("`{name}` needs more values{words}"),
        Name::BadStep => format!("`{name}` is rounded to a step that is not above zero{words}"),
        _ => format!("`{name}` could not be calculated{words}"),
    };
    let mut problem = Diagnostic::error(fault.name, headline).remedy(remedy_of(fault.name));
    let Some(line) = line else { return problem };
    let behind = behind(program, line.register);
    let given: Vec<&Input> = program
        .inputs
        .iter()
        .filter(|input| behind.contains(&input.name) && inputs.is_given(input))
        .collect();
    if let [input] = given.as_slice() {
        problem = problem.about(&input.name);
    }
    // the cell of the input comes first where there is just one
    problem = match (given.as_slice(), given.first().map(|input| inputs.place(input))) {
        ([_], Some(place @ Place::Cell { .. })) => {
            problem.at(place).label(line.place.clone(), format!("in `{}`", line.name))
        }
        _ => {
            let mut problem = problem.at(line.place.clone());
            for input in given.iter().take(6) {
                problem = problem.label(inputs.place(input), input_text(inputs, input));
            }
            problem
        }
    };
    problem
}

fn input_text(inputs: &Inputs, input: &Input) -> String {
    match as_written(inputs, input, None) {
        Some(value) => format!("`{}` = {value}", input.name),
        None => format!("`{}`", input.name),
    }
}

fn as_written(inputs: &Inputs, input: &Input, element: Option<usize>) -> Option<String> {
    match inputs.value(input)? {
        InputValue::One(literal) => Some(written(&literal)),
        InputValue::Many(values) => match element {
            Some(at) => values.get(at).map(written),
            None => Some(values.iter().map(written).collect::<Vec<_>>().join(", ")),
        },
        InputValue::Word(_) => None,
    }
}

fn line_of(program: &Program, line: LineId) -> Option<&Line> {
    program.line(line)
}

/// The inputs that a register depends on, along the chain of `uses`.
fn behind(program: &Program, register: Register) -> BTreeSet<String> {
    let blocks = program.blocks.iter().flat_map(|block| &block.steps);
    let by_register: BTreeMap<Register, &Step> =
        program.steps.iter().chain(blocks).map(|step| (step.to, step)).collect();
    let mut found = BTreeSet::new();
    let mut seen = BTreeSet::new();
    let mut open = vec![register];
    while let Some(register) = open.pop() {
        if !seen.insert(register) {
            continue;
        }
        let Some(step) = by_register.get(&register) else { continue };
        if let Op::Input(id) = step.op
            && let Some(input) = program.input(id)
        {
            found.insert(input.name.clone());
        }
        open.extend(step.op.reads());
        let block = step.op.calls().and_then(|block| program.block(block));
        open.extend(block.map(|block| block.result));
    }
    found
}
