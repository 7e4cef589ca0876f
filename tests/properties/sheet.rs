//! Flat programs built by hand, pure numbers only.

use rust_decimal::Decimal;
use standstill::diagnostic::{Place, Source};
use standstill::number::{Exact, ExactRun, InputValue, Slot, run_exact};
use standstill::program::{
    Binary, Block, BlockId, Check, Guard, Input, InputId, Limit, LineId, Op, Output, Program,
    Register, Relation, Step, Table, TableId, Type,
};
use standstill::unit::{Dimension, Literal, Unit};

pub(crate) const LINE: LineId = LineId(7);

/// A pure number as written, such as `0.05` or `3e-5`.
pub(crate) fn literal(text: &str) -> Literal {
    let (digits, ten) = text.split_once('e').unwrap_or((text, "0"));
    Literal {
        digits: Decimal::from_str_exact(digits).unwrap(),
        ten: ten.parse().unwrap(),
        unit: Unit::one(),
    }
}

pub(crate) fn given(text: &str) -> Option<InputValue> {
    Some(InputValue::One(literal(text)))
}

/// A program being built.
#[derive(Default)]
pub(crate) struct Sheet {
    pub(crate) program: Program,
    /// Blocks under way: steps go to the innermost.
    open: Vec<Block>,
}

fn place() -> Place {
    Place::text(&Source::new("test.sheet", ""), 0..0)
}

impl Sheet {
    pub(crate) fn register(&mut self) -> Register {
        self.program.registers += 1;
        Register(self.program.registers - 1)
    }

    pub(crate) fn step(&mut self, op: Op) -> Register {
        let to = self.register();
        let step = Step { op, to, line: LINE };
        match self.open.last_mut() {
            Some(block) => block.steps.push(step),
            None => self.program.steps.push(step),
        }
        to
    }

    pub(crate) fn input(&mut self, series: bool) -> Register {
        let id = InputId(self.program.inputs.len() as u32);
        let register = self.step(Op::Input(id));
        let name = format!("x_{}", id.0);
        let type_ = Type::Number { dimension: Dimension::NONE, point: false, series };
        self.program.inputs.push(Input {
            name,
            kind: None,
            type_,
            unit: Unit::one(),
            default: None,
            example: Vec::new(),
            default_tolerance: None,
            default_from: None,
            example_tolerances: Vec::new(),
            low: None,
            high: None,
            at_least: None,
            note: String::new(),
            heading: String::new(),
            place: place(),
            line: LINE,
            register,
        });
        register
    }

    pub(crate) fn number(&mut self, text: &str) -> Register {
        self.step(Op::Literal(literal(text)))
    }

    pub(crate) fn binary(&mut self, function: Binary, x: Register, y: Register) -> Register {
        self.step(Op::Binary(function, x, y))
    }

    pub(crate) fn table(&mut self, table: Table, x: Register) -> Register {
        self.program.tables.push(table);
        self.step(Op::Read(TableId(self.program.tables.len() as u32 - 1), x))
    }

    pub(crate) fn guard(&mut self, register: Register, low: (&str, bool), high: (&str, bool)) {
        let mut limit = |(text, included): (&str, bool)| {
            let register = self.number(text);
            Some(Limit { register, included, written: text.to_owned(), place: place() })
        };
        let (low, high) = (limit(low), limit(high));
        let guard =
            Guard { line: LINE, register, low, high, at_least: Some(2), input: Some(InputId(0)) };
        self.program.guards.push(guard);
    }

    /// A block with some parameters, built by a function of them.
    pub(crate) fn block(
        &mut self,
        parameters: usize,
        build: impl FnOnce(&mut Self, &[Register]) -> Register,
    ) -> BlockId {
        let parameters: Vec<_> = (0..parameters).map(|_| self.register()).collect();
        self.open.push(Block {
            parameters: parameters.clone(),
            steps: Vec::new(),
            result: Register(0),
        });
        let result = build(self, &parameters);
        let mut block = self.open.pop().unwrap();
        block.result = result;
        self.program.blocks.push(block);
        BlockId(self.program.blocks.len() as u32 - 1)
    }

    pub(crate) fn check(&mut self, relation: Relation, x: Register, y: Register) -> usize {
        let register = self.step(Op::Compare(relation, x, y));
        self.program.checks.push(Check {
            register,
            sides: Some((relation, x, y)),
            unit: Unit::one(),
            text: String::new(),
            written: String::new(),
            otherwise: String::new(),
            caution: false,
            path: String::new(),
            place: place(),
            line: LINE,
        });
        self.program.checks.len() - 1
    }

    pub(crate) fn output(&mut self, register: Register, series: bool) -> usize {
        self.program.outputs.push(Output {
            name: format!("y_{}", self.program.outputs.len()),
            register,
            type_: Type::Number { dimension: Dimension::NONE, point: false, series },
            unit: Unit::one(),
            rounding: String::new(),
            setting: None,
            note: String::new(),
            place: place(),
            line: LINE,
        });
        self.program.outputs.len() - 1
    }

    pub(crate) fn run(&self, given: &[Option<InputValue>]) -> ExactRun {
        run_exact(&self.program, given)
    }
}

/// The one number of an output.
pub(crate) fn one(run: &ExactRun, output: usize) -> Exact {
    match run.output(output) {
        Ok(Slot::One(value)) => *value,
        other => panic!("{other:?}"),
    }
}
