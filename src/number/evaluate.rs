//! A program run on a number system: series, folds, recurrences and blocks.

use super::demand::{Demand, Turn};
use super::integrand::OfBlock;
use super::{Fault, Integrand, System};
use crate::diagnostic::Name;
use crate::program::{Binary, Block, BlockId, Fold, LineId, Op, Program, Register, Step};

/// What a register holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Slot<V, T> {
    /// Nothing yet.
    Empty,
    /// One value: a number, or the place of a word in its list.
    One(V),
    /// A series.
    Many(Vec<V>),
    /// A truth.
    Truth(T),
}

/// The registers of a program on a number system.
pub type Registers<S> = Vec<Slot<<S as System>::Value, <S as System>::Truth>>;

/// One register.
pub(crate) type SlotOf<S> = Slot<<S as System>::Value, <S as System>::Truth>;

/// Runs a program; `inputs` by place in [`Program::inputs`], the result by register.
///
/// A comparison with a series holds if it holds for every element. Registers of blocks keep what the last
/// call left in them. A series of another length where two meet is [`Name::LengthsDiffer`].
///
/// # Example
/// ```
/// use standstill::number::{Decimals, Slot, evaluate};
/// use standstill::program::{LineId, Op, Program, Register, Step, Unary};
/// let mut program = Program { registers: 2, ..Program::default() };
/// program.steps.push(Step { op: Op::Pi, to: Register(0), line: LineId(0) });
/// program.steps.push(Step { op: Op::Unary(Unary::Cosine, Register(0)), to: Register(1), line: LineId(0) });
/// let registers = evaluate(&Decimals, &program, &[]);
/// let Slot::One(Ok(cosine)) = &registers[1] else { panic!("a number") };
/// assert!((cosine.to_f64() + 1.0).abs() < 1e-15);
/// ```
pub fn evaluate<S: System>(system: &S, program: &Program, inputs: &[SlotOf<S>]) -> Registers<S> {
    let mut run = Run::new(system, program, inputs.to_vec());
    for step in &program.steps {
        run.step(step);
    }
    run.registers
}

/// What was calculated of a step before, and is to be kept of it.
pub(crate) trait StepCache<S: System> {
    /// Whether anybody asks for the step, by its place in [`Program::steps`].
    fn wants(&self, step: usize) -> bool;
    /// The value of the step with these inputs, where it is known.
    fn known(&self, step: usize) -> Option<SlotOf<S>>;
    /// The step was calculated.
    fn keep(&self, step: usize, value: &SlotOf<S>);

    /// The value of a step with what is known of it in another way.
    fn refined(&self, _step: usize, value: SlotOf<S>) -> SlotOf<S> {
        value
    }
}

/// Evaluates the steps that are asked for and not known; the others stay empty.
pub(crate) fn evaluate_some<S: System>(
    system: &S,
    program: &Program,
    inputs: &[SlotOf<S>],
    demand: &Demand,
    memory: &dyn StepCache<S>,
) -> Registers<S> {
    let mut run = Run::new(system, program, inputs.to_vec());
    run.steps(demand, memory);
    run.registers
}

/// The same of some registers alone; `spare` is room for all of them that is used again.
pub(crate) fn evaluate_these<S: System>(
    system: &S,
    program: &Program,
    inputs: Vec<SlotOf<S>>,
    (demand, registers): (&Demand, &[Register]),
    memory: &dyn StepCache<S>,
    spare: &mut Registers<S>,
) -> Registers<S> {
    let room = std::mem::take(spare);
    let mut run = match room.is_empty() {
        true => Run::new(system, program, inputs),
        false => Run { system, program, inputs, registers: room },
    };
    run.steps(demand, memory);
    let found = registers.iter().map(|register| run.get(*register).clone()).collect();
    let steps = demand.order.iter().filter_map(|at| program.steps.get(*at));
    steps.for_each(|step| run.put(step.to, Slot::Empty));
    *spare = run.registers;
    found
}

/// No memory: every step is calculated.
pub(crate) struct NoCache;

impl<S: System> StepCache<S> for NoCache {
    fn wants(&self, _: usize) -> bool {
        true
    }

    fn known(&self, _: usize) -> Option<SlotOf<S>> {
        None
    }

    fn keep(&self, _: usize, _: &SlotOf<S>) {}
}

/// A run under way.
pub(super) struct Run<'a, S: System> {
    pub(super) system: &'a S,
    pub(super) program: &'a Program,
    /// By place in [`Program::inputs`].
    pub(super) inputs: Vec<SlotOf<S>>,
    pub(super) registers: Registers<S>,
}

impl<'a, S: System> Run<'a, S> {
    pub(super) fn new(system: &'a S, program: &'a Program, inputs: Vec<SlotOf<S>>) -> Self {
        let count = usize::try_from(program.registers).unwrap_or(0);
        Self { system, program, inputs, registers: vec![Slot::Empty; count] }
    }

    /// All steps of the program that are asked for; those of a case that is not taken are not.
    pub(super) fn steps(&mut self, demand: &Demand, memory: &dyn StepCache<S>) {
        for at in demand.order.iter().copied() {
            let Some(step) = self.program.steps.get(at) else { continue };
            if !memory.wants(at) || !demand.asks(at, |turn| self.may_turn(turn)) {
                continue;
            }
            let value = memory.known(at).unwrap_or_else(|| {
                let value = self.work(&step.op, step.line);
                memory.keep(at, &value);
                value
            });
            self.put(step.to, memory.refined(at, value));
        }
    }

    /// Whether a truth may come out so; one that nobody has asked for decides nothing that anybody asks for.
    pub(super) fn may_turn(&self, turn: Turn) -> bool {
        match self.get(turn.truth) {
            Slot::Truth(truth) => self.system.decided(truth).is_none_or(|it| it == turn.holds),
            Slot::Empty => false,
            Slot::One(_) | Slot::Many(_) => true,
        }
    }

    pub(super) fn step(&mut self, step: &Step) {
        let value = self.work(&step.op, step.line);
        self.put(step.to, value);
    }

    pub(super) fn put(&mut self, to: Register, value: SlotOf<S>) {
        if let Some(slot) = to.place().and_then(|at| self.registers.get_mut(at)) {
            let before = std::mem::replace(slot, value);
            match before {
                Slot::One(value) => self.system.recycle(value),
                Slot::Many(values) => {
                    values.into_iter().for_each(|value| self.system.recycle(value));
                }
                Slot::Empty | Slot::Truth(_) => {}
            }
        }
    }

    pub(super) fn get(&self, register: Register) -> &SlotOf<S> {
        register.place().and_then(|at| self.registers.get(at)).unwrap_or(&Slot::Empty)
    }

    fn work(&mut self, op: &Op, line: LineId) -> SlotOf<S> {
        let system = self.system;
        match op {
            Op::Literal(literal) => Slot::One(system.literal(literal, line)),
            Op::Pi => Slot::One(system.pi()),
            Op::Input(input) => usize::try_from(input.0)
                .ok()
                .and_then(|at| self.inputs.get(at))
                .cloned()
                .unwrap_or(Slot::Empty),
            Op::Unary(function, x) => {
                self.map(*x, line, |value| system.unary(*function, value, line))
            }
            Op::Binary(function, x, y) => {
                self.zip(*x, *y, line, |x, y| system.binary(*function, x, y, line))
            }
            Op::Power(x, by) => self.map(*x, line, |value| system.power(value, *by, line)),
            Op::Compare(relation, x, y) => {
                self.truth(*x, *y, line, |x, y| system.compare(*relation, x, y))
            }
            Op::Both(x, y) => self.logic(*x, *y, line, |x, y| system.both(x, y)),
            Op::Either(x, y) => self.logic(*x, *y, line, |x, y| system.either(x, y)),
            Op::Negate(x) => self.logic(*x, *x, line, |x, _| system.not(x)),
            Op::Select(which, x, y) => self.select(*which, *x, *y, line),
            Op::NoCase => Slot::One(system.fault(Fault::new(Name::NoCase, line, ""))),
            Op::Never(why) => Slot::One(system.fault(Fault::new(Name::Never, line, why.as_ref()))),
            Op::Round(direction, x, step) => {
                self.zip(*x, *step, line, |x, step| system.round(*direction, x, step, line))
            }
            Op::Preferred(direction, series, x) => {
                self.map(*x, line, |x| system.preferred(*direction, *series, x, line))
            }
            Op::Read(table, x) => {
                let program = self.program;
                let table = program.table(*table);
                match table {
                    Some(table) => self.map(*x, line, |x| system.read(table, x, line)),
                    None => self.internal(line, "the program reads a table that it does not have"),
                }
            }
            Op::Fold(fold, x) => self.fold(*fold, *x, line),
            Op::Running { block, start, over } => self.running(*block, *start, over, line),
            Op::Root { block, from, to } => {
                self.search(*block, *from, *to, line, |f, from, to| system.root(f, from, to, line))
            }
            Op::Integral { block, from, to } => {
                self.search(*block, *from, *to, line, |f, from, to| {
                    system.integral(f, from, to, line)
                })
            }
        }
    }

    fn map(
        &self,
        x: Register,
        line: LineId,
        function: impl Fn(&S::Value) -> S::Value,
    ) -> SlotOf<S> {
        match self.get(x) {
            Slot::One(value) => Slot::One(function(value)),
            Slot::Many(values) => Slot::Many(values.iter().map(function).collect()),
            Slot::Empty | Slot::Truth(_) => self.internal(line, "a number is missing"),
        }
    }

    fn zip(
        &self,
        x: Register,
        y: Register,
        line: LineId,
        function: impl Fn(&S::Value, &S::Value) -> S::Value,
    ) -> SlotOf<S> {
        self.zip_slots(self.get(x), self.get(y), line, function)
    }

    fn zip_slots(
        &self,
        x: &SlotOf<S>,
        y: &SlotOf<S>,
        line: LineId,
        function: impl Fn(&S::Value, &S::Value) -> S::Value,
    ) -> SlotOf<S> {
        match (x, y) {
            (Slot::One(x), Slot::One(y)) => Slot::One(function(x, y)),
            (Slot::Many(xs), Slot::One(y)) => {
                Slot::Many(xs.iter().map(|x| function(x, y)).collect())
            }
            (Slot::One(x), Slot::Many(ys)) => {
                Slot::Many(ys.iter().map(|y| function(x, y)).collect())
            }
            (Slot::Many(xs), Slot::Many(ys)) if xs.len() == ys.len() => {
                Slot::Many(xs.iter().zip(ys).map(|(x, y)| function(x, y)).collect())
            }
            (Slot::Many(xs), Slot::Many(ys)) => self.lengths_differ(xs.len(), ys.len(), line),
            _ => self.internal(line, "a number is missing"),
        }
    }

    fn truth(
        &self,
        x: Register,
        y: Register,
        line: LineId,
        function: impl Fn(&S::Value, &S::Value) -> S::Truth,
    ) -> SlotOf<S> {
        let all = |truths: &mut dyn Iterator<Item = S::Truth>| {
            truths.reduce(|x, y| self.system.both(&x, &y)).map_or(Slot::Empty, Slot::Truth)
        };
        match (self.get(x), self.get(y)) {
            (Slot::One(x), Slot::One(y)) => Slot::Truth(function(x, y)),
            (Slot::Many(xs), Slot::One(y)) => all(&mut xs.iter().map(|x| function(x, y))),
            (Slot::One(x), Slot::Many(ys)) => all(&mut ys.iter().map(|y| function(x, y))),
            (Slot::Many(xs), Slot::Many(ys)) if xs.len() == ys.len() => {
                all(&mut xs.iter().zip(ys).map(|(x, y)| function(x, y)))
            }
            (Slot::Many(xs), Slot::Many(ys)) => {
                self.as_truth(self.lengths_differ(xs.len(), ys.len(), line))
            }
            _ => self.as_truth(self.internal(line, "a number is missing")),
        }
    }

    fn logic(
        &self,
        x: Register,
        y: Register,
        line: LineId,
        function: impl Fn(&S::Truth, &S::Truth) -> S::Truth,
    ) -> SlotOf<S> {
        // where one decides, the other was not asked for
        match self.either_there(x, y) {
            (Slot::Truth(x), Slot::Truth(y)) => Slot::Truth(function(x, y)),
            // a fault takes the place of a truth as a single value
            (Slot::Truth(x), Slot::One(y)) => {
                Slot::Truth(function(x, &self.system.truth_of_fault(y)))
            }
            (Slot::One(x), Slot::Truth(y)) => {
                Slot::Truth(function(&self.system.truth_of_fault(x), y))
            }
            (Slot::One(x), Slot::One(y)) => {
                let fault = |value: &S::Value| self.system.truth_of_fault(value);
                Slot::Truth(function(&fault(x), &fault(y)))
            }
            _ => self.as_truth(self.internal(line, "a truth is missing")),
        }
    }

    /// Two registers; the one that is there for both where the other was not asked for.
    fn either_there(&self, x: Register, y: Register) -> (&SlotOf<S>, &SlotOf<S>) {
        match (self.get(x), self.get(y)) {
            (Slot::Empty, y) => (y, y),
            (x, Slot::Empty) => (x, x),
            both => both,
        }
    }

    fn select(&self, which: Register, x: Register, y: Register, line: LineId) -> SlotOf<S> {
        let system = self.system;
        let fault;
        let which = match self.get(which) {
            Slot::Truth(which) => which,
            Slot::One(value) => {
                fault = system.truth_of_fault(value);
                &fault
            }
            Slot::Many(_) | Slot::Empty => return self.internal(line, "a truth is missing"),
        };
        match self.either_there(x, y) {
            (Slot::Truth(x), Slot::Truth(y)) => {
                let first = system.both(which, x);
                let second = system.both(&system.not(which), y);
                Slot::Truth(system.either(&first, &second))
            }
            // a fault takes the place of a truth as a single value
            (Slot::Truth(x), Slot::One(fault)) => {
                let second = system.both(&system.not(which), &system.truth_of_fault(fault));
                Slot::Truth(system.either(&system.both(which, x), &second))
            }
            (Slot::One(fault), Slot::Truth(y)) => {
                let first = system.both(which, &system.truth_of_fault(fault));
                Slot::Truth(system.either(&first, &system.both(&system.not(which), y)))
            }
            (x, y) => self.zip_slots(x, y, line, |x, y| system.select(which, x, y)),
        }
    }

    fn fold(&self, fold: Fold, x: Register, line: LineId) -> SlotOf<S> {
        let system = self.system;
        let values = match self.get(x) {
            Slot::Many(values) => values.as_slice(),
            // a fault stands in the place of the whole series
            Slot::One(value) => std::slice::from_ref(value),
            Slot::Empty | Slot::Truth(_) => return self.internal(line, "a series is missing"),
        };
        let needed = match fold {
            Fold::Sum | Fold::Product | Fold::Count => 0,
            Fold::SampleDeviation => 2,
            _ => 1,
        };
        if let (Slot::One(value), true) = (self.get(x), fold != Fold::Count) {
            return Slot::One(value.clone());
        }
        if values.len() < needed {
            let words = format!("the series has {} values, {needed} are needed", values.len());
            return Slot::One(system.fault(Fault::new(Name::TooFewValues, line, words)));
        }
        let count = i64::try_from(values.len()).unwrap_or(i64::MAX);
        let by = |function: Binary, start: Option<S::Value>| {
            let mut values = values.iter();
            let first = start.or_else(|| values.next().cloned());
            first.map(|first| {
                values.fold(first, |sum, value| system.binary(function, &sum, value, line))
            })
        };
        let folded = match fold {
            Fold::Sum => by(Binary::Add, Some(system.whole(0))),
            Fold::Product => by(Binary::Multiply, Some(system.whole(1))),
            Fold::Mean => by(Binary::Add, None)
                .map(|sum| system.binary(Binary::Divide, &sum, &system.whole(count), line)),
            Fold::SampleDeviation => Some(system.deviation(values, line)),
            Fold::Greatest => by(Binary::Greatest, None),
            Fold::Least => by(Binary::Least, None),
            Fold::Count => Some(match self.get(x) {
                Slot::One(fault) => fault.clone(),
                _ => system.whole(count),
            }),
            Fold::First => values.first().cloned(),
            Fold::Last => values.last().cloned(),
        };
        folded.map_or_else(|| self.internal(line, "a series is empty"), Slot::One)
    }

    fn running(
        &mut self,
        block: BlockId,
        start: Register,
        over: &[Register],
        line: LineId,
    ) -> SlotOf<S> {
        let Slot::One(mut before) = self.get(start).clone() else {
            return self.internal(line, "the value before the first is missing");
        };
        let Some(block) = self.block(block) else {
            return self.internal(line, "the program runs a block that it does not have");
        };
        let mut columns = Vec::with_capacity(over.len());
        for register in over {
            match self.get(*register) {
                Slot::Many(values) => columns.push(values.clone()),
                Slot::One(fault) => return Slot::One(fault.clone()),
                Slot::Empty | Slot::Truth(_) => return self.internal(line, "a series is missing"),
            }
        }
        let count = columns.first().map_or(0, Vec::len);
        if let Some(other) = columns.iter().find(|column| column.len() != count) {
            return self.lengths_differ(count, other.len(), line);
        }
        let mut result = Vec::with_capacity(count);
        for at in 0..count {
            let elements = columns.iter().filter_map(|column| column.get(at).cloned());
            let arguments = std::iter::once(before).chain(elements).collect();
            before = self.call(block, arguments, line);
            result.push(before.clone());
        }
        Slot::Many(result)
    }

    fn search(
        &mut self,
        block: BlockId,
        from: Register,
        to: Register,
        line: LineId,
        how: impl Fn(&mut dyn Integrand<S::Value>, &S::Value, &S::Value) -> S::Value,
    ) -> SlotOf<S> {
        let Some(block) = self.block(block) else {
            return self.internal(line, "the program runs a block that it does not have");
        };
        let bounds = self.zip(from, to, line, |from, _| from.clone());
        let ends = self.zip(from, to, line, |_, to| to.clone());
        let mut one =
            |from: &S::Value, to: &S::Value| how(&mut OfBlock::new(self, block, line), from, to);
        match (bounds, ends) {
            (Slot::One(from), Slot::One(to)) => Slot::One(one(&from, &to)),
            (Slot::Many(from), Slot::Many(to)) => {
                Slot::Many(from.iter().zip(&to).map(|(from, to)| one(from, to)).collect())
            }
            (other, _) => other,
        }
    }

    pub(super) fn call(
        &mut self,
        block: &Block,
        arguments: Vec<S::Value>,
        line: LineId,
    ) -> S::Value {
        for (parameter, argument) in block.parameters.iter().zip(arguments) {
            self.put(*parameter, Slot::One(argument));
        }
        for step in &block.steps {
            self.step(step);
        }
        match self.get(block.result) {
            Slot::One(value) => value.clone(),
            _ => self.system.fault(Fault::new(Name::Internal, line, "a block gives no number")),
        }
    }

    fn block(&self, block: BlockId) -> Option<&'a Block> {
        self.program.block(block)
    }

    fn lengths_differ(&self, x: usize, y: usize, line: LineId) -> SlotOf<S> {
        let words = format!("a series of {x} values meets one of {y}");
        Slot::One(self.system.fault(Fault::new(Name::LengthsDiffer, line, words)))
    }

    fn internal(&self, line: LineId, words: &str) -> SlotOf<S> {
        Slot::One(self.system.fault(Fault::new(Name::Internal, line, words)))
    }

    fn as_truth(&self, slot: SlotOf<S>) -> SlotOf<S> {
        match slot {
            Slot::One(fault) => Slot::Truth(self.system.truth_of_fault(&fault)),
            other => other,
        }
    }
}
