//! How the function of an integral follows the point at which it is tried, read off its steps.

use std::collections::{BTreeMap, BTreeSet};

use super::{Decimals, Registers, Slot, operands};
use crate::program::{Binary, Block, BlockId, Op, Program, Ratio, Register, TableId, Unary};
use crate::unit::Literal;

/// From the least to the most that can happen between two points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Smoothness {
    /// Not at all: it is the same at every point.
    Constant,
    /// As a polynomial, up to the third degree.
    Polynomial(u8),
    /// Without a corner.
    Smooth,
    /// Corners and jumps are not excluded.
    Unknown,
}

/// The highest degree that Simpson's rule integrates exactly.
const DEGREE: u8 = 3;

impl Smoothness {
    fn times(self, other: Self) -> Self {
        match (self, other) {
            (Self::Polynomial(x), Self::Polynomial(y)) if x + y <= DEGREE => {
                Self::Polynomial(x + y)
            }
            (Self::Polynomial(_), Self::Polynomial(_)) => Self::Smooth,
            _ => self.max(other),
        }
    }

    /// Through a function without corners or poles.
    fn smoothed(self) -> Self {
        if self == Self::Constant { self } else { self.max(Self::Smooth) }
    }

    /// Through a function that may have corners.
    fn broken(self) -> Self {
        if self == Self::Constant { self } else { Self::Unknown }
    }
}

/// How the result of a block follows its argument; `same` holds what is known beforehand.
pub(super) fn smoothness(
    program: &Program,
    block: &Block,
    same: &Registers<Decimals>,
) -> Smoothness {
    of_block(program, block, same).get(&block.result).copied().unwrap_or(Smoothness::Constant)
}

fn of_block(
    program: &Program,
    block: &Block,
    same: &Registers<Decimals>,
) -> BTreeMap<Register, Smoothness> {
    let point = Smoothness::Polynomial(1);
    let mut known: BTreeMap<Register, Smoothness> =
        block.parameters.iter().map(|parameter| (*parameter, point)).collect();
    for step in &block.steps {
        let found = of_step(program, &step.op, &known, same);
        known.insert(step.to, found);
    }
    known
}

/// Where a function may have a corner or a jump: a register of its block passes a level there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Corner {
    /// The register is zero.
    Zero(Register),
    /// Two registers are equal.
    Equal(Register, Register),
    /// The register is the argument of a row of a table, or the table's lowest argument.
    Rows(TableId, Register),
}

/// The corners of a block.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Corners {
    /// Those whose place follows from the values at two points, because the registers run as straight lines.
    pub(super) straight: Vec<Corner>,
    /// Whether these are all, and nothing may rise and fall between all points tried.
    pub(super) complete: bool,
    /// Whether the function itself runs as a straight line.
    pub(super) is_straight: bool,
}

/// A register with another, or with a number in coherent SI, to which it is equal at a corner.
pub(crate) type Level = (Register, Option<Register>, f64);

/// The corners of a function's block for the browser; whether there are no others; whether the function runs as a
/// straight line.
pub(crate) fn corner_levels(program: &Program, block: BlockId) -> (Vec<Level>, bool, bool) {
    let Some(block) = program.block(block) else {
        return (Vec::new(), false, false);
    };
    let corners = corners(program, block);
    let mut levels = Vec::new();
    for corner in corners.straight {
        match corner {
            Corner::Zero(x) => levels.push((x, None, 0.0)),
            Corner::Equal(x, y) => levels.push((x, Some(y), 0.0)),
            Corner::Rows(table, x) => {
                let arguments = arguments(program, table);
                levels.extend(arguments.map(|argument| (x, None, argument.si_f64())));
            }
        }
    }
    (levels, corners.complete, corners.is_straight)
}

/// The arguments of the rows of a table, and its lowest.
pub(super) fn arguments(program: &Program, table: TableId) -> impl Iterator<Item = &Literal> {
    let table = program.table(table);
    table
        .into_iter()
        .flat_map(|table| table.rows.iter().map(|(argument, _)| argument).chain(&table.lowest))
}

/// Where the function of a block may have corners.
pub(super) fn corners(program: &Program, block: &Block) -> Corners {
    let known = of_block(program, block, &Vec::new());
    let get = |register: &Register| known.get(register).copied().unwrap_or(Smoothness::Constant);
    let is_straight = get(&block.result) <= Smoothness::Polynomial(1);
    let mut found = Corners { straight: Vec::new(), complete: true, is_straight };
    for step in &block.steps {
        let (corner, line) = match &step.op {
            Op::Unary(Unary::Absolute, x) => (Corner::Zero(*x), get(x)),
            Op::Binary(Binary::Least | Binary::Greatest, x, y) | Op::Compare(_, x, y) => {
                (Corner::Equal(*x, *y), get(x).max(get(y)))
            }
            Op::Read(table, x) => (Corner::Rows(*table, *x), get(x)),
            // a peak of its own making may be narrower than any distance between points
            Op::Unary(Unary::Exponential, x) | Op::Round(_, x, _) | Op::Preferred(_, _, x) => {
                found.complete &= get(x) == Smoothness::Constant;
                continue;
            }
            Op::Binary(Binary::Raise, x, y) => {
                found.complete &= get(x).max(get(y)) == Smoothness::Constant;
                continue;
            }
            op if op.calls().is_some() => {
                let mut read = BTreeSet::new();
                operands(program, op, &mut read);
                found.complete &= read.iter().all(|x| get(x) == Smoothness::Constant);
                continue;
            }
            _ => continue,
        };
        match line {
            Smoothness::Constant => {}
            Smoothness::Polynomial(0 | 1) => found.straight.push(corner),
            _ => found.complete = false,
        }
    }
    found
}

fn of_step(
    program: &Program,
    op: &Op,
    known: &BTreeMap<Register, Smoothness>,
    same: &Registers<Decimals>,
) -> Smoothness {
    let get = |register: &Register| known.get(register).copied().unwrap_or(Smoothness::Constant);
    let slot = |register: &Register| register.place().and_then(|at| same.get(at));
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
            (_, Smoothness::Polynomial(_)) if is_zero(x) => Smoothness::Constant,
            (Smoothness::Polynomial(_), _) if is_zero(y) => Smoothness::Constant,
            (one, other) => one.times(other),
        },
        Op::Binary(Binary::Divide, x, y) => get(x).max(get(y).smoothed()),
        Op::Power(x, Ratio { numerator, denominator: 1 }) => match (get(x), numerator) {
            (Smoothness::Constant, _) | (_, 0) => Smoothness::Constant,
            (one, 1..=3) => (1..*numerator).fold(one, |power, _| power.times(one)),
            (one, _) => one.smoothed(),
        },
        Op::Select(which, x, y) => match (slot(which), get(which)) {
            (Some(Slot::Truth(Ok(truth))), _) => get(if *truth { x } else { y }),
            (_, Smoothness::Constant) => get(x).max(get(y)),
            _ => Smoothness::Unknown,
        },
        op => {
            let mut read = BTreeSet::new();
            operands(program, op, &mut read);
            read.iter().map(get).max().unwrap_or(Smoothness::Constant).broken()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Sheet;
    use crate::number::{InputValue, OutputColumn, run_columns, run_exact};

    /// The function of x, how it follows x, and its integral from 0 to 4 with a = 3, worked by hand.
    const CASES: [(&str, Smoothness, f64); 9] = [
        ("a", Smoothness::Constant, 12.0),
        ("a * (x - 1)", Smoothness::Polynomial(1), 12.0),
        ("(x - a)^2 + x", Smoothness::Polynomial(2), 28.0 / 3.0 + 8.0),
        ("x^2 * (x - a)", Smoothness::Polynomial(3), 0.0),
        ("x^2 * x^2", Smoothness::Smooth, 1024.0 / 5.0),
        ("a / (1 + x)^2", Smoothness::Smooth, 2.4),
        // what the middle alone shows is not all: 1 up to 3, then x − 2
        ("max(x - 2, 1)", Smoothness::Unknown, 4.5),
        ("step(x, 1.5, 1, 2)", Smoothness::Unknown, 6.5),
        ("abs(x - a)", Smoothness::Unknown, 5.0),
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
            assert_eq!(smoothness(program, block, &Vec::new()), expected, "{function}");
            let three = crate::unit::Literal::from_f64(3.0, crate::unit::Unit::one()).unwrap();
            let exact = run_exact(program, &[Some(InputValue::One(three))]);
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
