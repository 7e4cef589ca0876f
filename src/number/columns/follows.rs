//! How the function of an integral follows the point at which it is tried, read off its steps.

use std::collections::{BTreeMap, BTreeSet};

use super::invariant::operands;
use crate::number::{Decimals, Registers, Slot, evaluate::place};
use crate::program::{Binary, Block, Op, Program, Ratio, Register, Unary};

/// From the least to the most that can happen between two points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Follows {
    /// Not at all: it is the same at every point.
    Not,
    /// As a polynomial, up to the third degree.
    Polynomial(u8),
    /// Without a corner.
    Smoothly,
    /// Corners and jumps are not excluded.
    Anyhow,
}

/// The highest degree that Simpson's rule integrates exactly.
const DEGREE: u8 = 3;

impl Follows {
    fn times(self, other: Self) -> Self {
        match (self, other) {
            (Self::Polynomial(x), Self::Polynomial(y)) if x + y <= DEGREE => {
                Self::Polynomial(x + y)
            }
            (Self::Polynomial(_), Self::Polynomial(_)) => Self::Smoothly,
            _ => self.max(other),
        }
    }

    /// Through a function without corners or poles.
    fn smoothed(self) -> Self {
        if self == Self::Not { self } else { self.max(Self::Smoothly) }
    }

    /// Through a function that may have corners.
    fn broken(self) -> Self {
        if self == Self::Not { self } else { Self::Anyhow }
    }
}

/// How the result of a block follows its argument; `same` holds what is the same in every row.
pub(super) fn follows(program: &Program, block: &Block, same: &Registers<Decimals>) -> Follows {
    let point = Follows::Polynomial(1);
    let mut known: BTreeMap<Register, Follows> =
        block.parameters.iter().map(|parameter| (*parameter, point)).collect();
    for step in &block.steps {
        let found = of_step(program, &step.op, &known, same);
        known.insert(step.to, found);
    }
    known.get(&block.result).copied().unwrap_or(Follows::Not)
}

fn of_step(
    program: &Program,
    op: &Op,
    known: &BTreeMap<Register, Follows>,
    same: &Registers<Decimals>,
) -> Follows {
    let get = |register: &Register| known.get(register).copied().unwrap_or(Follows::Not);
    let slot = |register: &Register| place(*register).and_then(|at| same.get(at));
    let is_zero = |register: &Register| match slot(register) {
        Some(Slot::One(Ok(value))) => value.is_exact() && value.is_like_zero(),
        _ => false,
    };
    match op {
        Op::Unary(Unary::Negate, x) => get(x),
        Op::Unary(Unary::Exponential | Unary::Sine | Unary::Cosine | Unary::ArcTangent, x) => {
            get(x).smoothed()
        }
        Op::Binary(Binary::Add | Binary::Subtract, x, y) => get(x).max(get(y)),
        Op::Binary(Binary::Multiply, x, y) => match (get(x), get(y)) {
            (_, Follows::Polynomial(_)) if is_zero(x) => Follows::Not,
            (Follows::Polynomial(_), _) if is_zero(y) => Follows::Not,
            (one, other) => one.times(other),
        },
        Op::Binary(Binary::Divide, x, y) => get(x).max(get(y).smoothed()),
        Op::Power(x, Ratio { numerator, denominator: 1 }) => match (get(x), numerator) {
            (Follows::Not, _) | (_, 0) => Follows::Not,
            (one, 1..=3) => (1..*numerator).fold(one, |power, _| power.times(one)),
            (one, _) => one.smoothed(),
        },
        Op::Select(which, x, y) => match (slot(which), get(which)) {
            (Some(Slot::Truth(Ok(truth))), _) => get(if *truth { x } else { y }),
            (_, Follows::Not) => get(x).max(get(y)),
            _ => Follows::Anyhow,
        },
        op => {
            let mut read = BTreeSet::new();
            operands(program, op, &mut read);
            read.iter().map(get).max().unwrap_or(Follows::Not).broken()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Sheet;
    use crate::number::{Given, OutputColumn, run_columns, run_exact};

    /// The function of x, how it follows x, and its integral from 0 to 4 with a = 3, worked by hand.
    const CASES: [(&str, Follows, f64); 9] = [
        ("a", Follows::Not, 12.0),
        ("a * (x - 1)", Follows::Polynomial(1), 12.0),
        ("(x - a)^2 + x", Follows::Polynomial(2), 28.0 / 3.0 + 8.0),
        ("x^2 * (x - a)", Follows::Polynomial(3), 0.0),
        ("x^2 * x^2", Follows::Smoothly, 1024.0 / 5.0),
        ("a / (1 + x)^2", Follows::Smoothly, 2.4),
        // what the middle alone shows is not all: 1 up to 3, then x − 2
        ("max(x - 2, 1)", Follows::Anyhow, 4.5),
        ("step(x, 1.5, 1, 2)", Follows::Anyhow, 6.5),
        ("abs(x - a)", Follows::Anyhow, 5.0),
    ];

    #[test]
    fn a_function_is_integrated_as_it_follows_its_argument() {
        for (function, expected, integral) in CASES {
            let text = format!(
                "sheet one\ntitle \"One\"\ntakes\n  a : ratio like 3 \"a\"\nworks\n  \
                 step(x, edge, low, high) = when x < edge : low\n                           otherwise : high\n  \
                 A = integral of {function} for x from 0 to 4\ngives\n  A\n"
            );
            let sheet = Sheet::parse("one.sheet", &text).unwrap();
            let program = sheet.program();
            let calls = program.steps.iter().find_map(|step| step.op.calls()).unwrap();
            let block = &program.blocks[calls.0 as usize];
            assert_eq!(follows(program, block, &Vec::new()), expected, "{function}");
            let three = crate::unit::Literal::from_f64(3.0, crate::unit::Unit::one()).unwrap();
            let exact = run_exact(program, &[Some(Given::One(three))]);
            let Ok(Slot::One(exact)) = exact.output(0) else { panic!("a number") };
            assert!((exact.to_f64() - integral).abs() < 1e-12, "{function}: {exact}");
            let (unit, values) = (crate::unit::Unit::one(), [3.0, 3.0]);
            let given = [crate::number::ColumnInput::Column { values: &values, unit: &unit }];
            let run = run_columns(program, &given, 2);
            let OutputColumn::Numbers(found) = &run.outputs[0] else { panic!("numbers") };
            assert!(
                (found[0] - integral).abs() < 1e-9 * integral.max(1e-3),
                "{function}: {found:?}"
            );
        }
    }
}
