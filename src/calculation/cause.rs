//! What a fault stood on, in the units of the sheet rather than in coherent SI.

use crate::diagnostic::Name;
use crate::number::show;
use crate::number::{Exact, ExactRun, Fault};
use crate::program::{Binary, Op, Program, Register, Step, Unary};
use crate::unit::Unit;

/// The cause of a fault in words, where its step can be found and its values have units; else the fault's own
/// words, which then are of pure numbers.
pub(super) fn cause(program: &Program, run: &ExactRun, fault: &Fault) -> String {
    let operand = |register| operand_text(program, run, register);
    let unit = |register| unit_of(program, register);
    let mut steps = steps(program).filter(|step| step.line == fault.line);
    let found = match fault.name {
        Name::NoRoot => steps.find_map(|step| match step.op {
            Op::Root { from, to, .. } => {
                let ends = between(operand(from), operand(to));
                Some(format!("the function has one sign at both ends of the range{ends}"))
            }
            _ => None,
        }),
        Name::NotConverged => steps.find_map(|step| match step.op {
            Op::Root { from, to, .. } => {
                let (ends, near) = (between(operand(from), operand(to)), near(fault, &unit(from)));
                Some(match near {
                    Some(near) => format!(
                        "whether the root{ends} near {near} is the only one cannot be proved"
                    ),
                    None => format!("the root{ends} is not found"),
                })
            }
            Op::Integral { from, to, .. } => {
                let (ends, near) = (between(operand(from), operand(to)), near(fault, &unit(from)));
                Some(match near {
                    Some(near) => {
                        format!("the function of the integral{ends} cannot be enclosed near {near}")
                    }
                    None => format!("the integral{ends} cannot be calculated to its tolerance"),
                })
            }
            _ => None,
        }),
        Name::SeveralRoots | Name::NotContinuous => steps.find_map(|step| match step.op {
            Op::Root { from, to, .. } => {
                let ends = between(operand(from), operand(to));
                Some(format!("near {}{ends}", near(fault, &unit(from))?))
            }
            _ => None,
        }),
        Name::DividedByZero => steps.find_map(|step| match step.op {
            Op::Binary(Binary::Divide, _, divisor) if run.number(divisor)?.is_like_zero() => {
                operand(divisor)
                    .map(|divisor| format!("{divisor} stands below the line"))
                    .or_else(|| Some(String::new()))
            }
            _ => None,
        }),
        Name::OutsideFunction => steps.find_map(|step| match step.op {
            Op::Unary(Unary::SquareRoot, inside) if run.number(inside)?.is_below_zero() => {
                let inside = operand(inside).unwrap_or_else(|| "a value below zero".to_owned());
                Some(format!("{inside} has no square root"))
            }
            Op::Preferred(_, _, value) => operand(value)
                .map(|value| format!("{value} has no preferred number, which are all above zero")),
            _ => None,
        }),
        Name::BadStep => steps.find_map(|step| match step.op {
            Op::Round(_, _, step) => operand(step).map(|step| format!("the step is {step}")),
            _ => None,
        }),
        _ => None,
    };
    found.unwrap_or_else(|| fault.words.clone())
}

/// The arguments that a fault is about.
fn near(fault: &Fault, unit: &Unit) -> Option<String> {
    let all = fault.near.iter().map(|(digits, ten)| {
        let value = Exact::from_decimal(*digits, *ten).ok()?;
        Some(show(&value, unit))
    });
    let all: Vec<String> = all.collect::<Option<_>>()?;
    (!all.is_empty()).then(|| all.join(" and near "))
}

/// The unit in which a bound was written, or in which its line is read.
fn unit_of(program: &Program, register: Register) -> Unit {
    let written = steps(program).find(|step| step.to == register).and_then(|step| match &step.op {
        Op::Literal(literal) => Some(literal.unit.clone()),
        _ => None,
    });
    let line = || program.lines.iter().find(|line| line.register == register);
    written.or_else(|| Some(line()?.unit.clone())).unwrap_or_else(Unit::one)
}

fn between(from: Option<String>, to: Option<String>) -> String {
    match (from, to) {
        (Some(from), Some(to)) => format!(" from {from} to {to}"),
        _ => String::new(),
    }
}

/// A value in the unit in which it was written, or in which its line is read.
fn operand_text(program: &Program, run: &ExactRun, register: Register) -> Option<String> {
    let value = run.number(register)?;
    let written = steps(program).find(|step| step.to == register).and_then(|step| match &step.op {
        Op::Literal(literal) => Some(literal.unit.clone()),
        _ => None,
    });
    if let Some(unit) = written {
        return Some(show(&value, &unit));
    }
    let line = program.lines.iter().find(|line| line.register == register)?;
    Some(format!("`{}` = {}", line.name, in_unit(&value, &line.unit)))
}

fn in_unit(value: &Exact, unit: &Unit) -> String {
    if value.is_like_zero() { show(&Exact::ZERO, unit) } else { show(value, unit) }
}

fn steps(program: &Program) -> impl Iterator<Item = &Step> {
    program.steps.iter().chain(program.blocks.iter().flat_map(|block| &block.steps))
}
