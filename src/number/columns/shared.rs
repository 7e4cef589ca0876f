//! Steps that say the same: the second takes what the first has found.

use std::collections::{BTreeMap, HashMap};
use std::mem::{Discriminant, discriminant};

use crate::program::{Block, BlockId, Op, Program, Register};

/// For each step, the register of an earlier step that says the same.
pub(super) fn shared(program: &Program) -> Vec<Option<Register>> {
    let mut known: HashMap<Key, Vec<(Op, Register)>> = HashMap::new();
    let mut stands_for: BTreeMap<Register, Register> = BTreeMap::new();
    let mut found = Vec::with_capacity(program.steps.len());
    for step in &program.steps {
        let op = renamed(&step.op, &stands_for);
        let same = |(other, _): &&(Op, Register)| says_the_same(program, &op, other, &stands_for);
        let candidates = known.entry(key(&op)).or_default();
        let earlier = candidates.iter().find(same).map(|(_, register)| *register);
        if let Some(register) = earlier {
            stands_for.insert(step.to, register);
        } else {
            candidates.push((op, step.to));
        }
        found.push(earlier);
    }
    found
}

type Key = (Discriminant<Op>, Vec<Register>);

fn key(op: &Op) -> Key {
    (discriminant(op), op.reads())
}

fn says_the_same(
    program: &Program,
    one: &Op,
    other: &Op,
    names: &BTreeMap<Register, Register>,
) -> bool {
    match (one.calls(), other.calls()) {
        (None, None) => one == other,
        (Some(first), Some(second)) => {
            with_block(one, BlockId(0)) == with_block(other, BlockId(0))
                && (first == second || blocks_say_the_same(program, first, second, names))
        }
        _ => false,
    }
}

fn blocks_say_the_same(
    program: &Program,
    one: BlockId,
    other: BlockId,
    names: &BTreeMap<Register, Register>,
) -> bool {
    let block = |id: BlockId| program.block(id);
    let (Some(one), Some(other)) = (block(one), block(other)) else { return false };
    let counts = |block: &Block| (block.parameters.len(), block.steps.len());
    if counts(one) != counts(other) {
        return false;
    }
    let mut names = names.clone();
    names.extend(other.parameters.iter().copied().zip(one.parameters.iter().copied()));
    for (first, second) in one.steps.iter().zip(&other.steps) {
        let (first_op, second_op) = (renamed(&first.op, &names), renamed(&second.op, &names));
        if !says_the_same(program, &first_op, &second_op, &names) {
            return false;
        }
        names.insert(second.to, first.to);
    }
    let name = |register: Register| names.get(&register).copied().unwrap_or(register);
    name(one.result) == name(other.result)
}

/// With other names for the registers that it reads.
fn renamed(op: &Op, names: &BTreeMap<Register, Register>) -> Op {
    let name = |register: &Register| names.get(register).copied().unwrap_or(*register);
    match op {
        Op::Literal(_) | Op::Pi | Op::Input(_) | Op::NoCase | Op::Never(_) => op.clone(),
        Op::Unary(function, x) => Op::Unary(*function, name(x)),
        Op::Binary(function, x, y) => Op::Binary(*function, name(x), name(y)),
        Op::Power(x, by) => Op::Power(name(x), *by),
        Op::Compare(relation, x, y) => Op::Compare(*relation, name(x), name(y)),
        Op::Both(x, y) => Op::Both(name(x), name(y)),
        Op::Either(x, y) => Op::Either(name(x), name(y)),
        Op::Negate(x) => Op::Negate(name(x)),
        Op::Select(which, x, y) => Op::Select(name(which), name(x), name(y)),
        Op::Round(direction, x, step) => Op::Round(*direction, name(x), name(step)),
        Op::Preferred(direction, series, x) => Op::Preferred(*direction, *series, name(x)),
        Op::Read(table, x) => Op::Read(*table, name(x)),
        Op::Fold(fold, x) => Op::Fold(*fold, name(x)),
        Op::Running { block, start, over } => {
            Op::Running { block: *block, start: name(start), over: over.iter().map(name).collect() }
        }
        Op::Root { block, from, to } => Op::Root { block: *block, from: name(from), to: name(to) },
        Op::Integral { block, from, to } => {
            Op::Integral { block: *block, from: name(from), to: name(to) }
        }
    }
}

/// With another block.
fn with_block(op: &Op, block: BlockId) -> Op {
    match op.clone() {
        Op::Running { start, over, .. } => Op::Running { block, start, over },
        Op::Root { from, to, .. } => Op::Root { block, from, to },
        Op::Integral { from, to, .. } => Op::Integral { block, from, to },
        op => op,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Sheet;

    const TWICE: &str = "sheet twice\ntitle \"Twice\"\ntakes\n  a : ratio like 2 \"a\"\n  b : ratio like 3 \"b\"\nworks\n  \
        p = a * b + 1\n  q = a * b + 1\n  r = b * a + 2\n  \
        s = integral of a * x^2 for x from 0 to b\n  t = integral of a * y^2 for y from 0 to b\n  \
        u = integral of b * y^2 for y from 0 to b\ngives\n  p, q, r, s, t, u\n";

    #[test]
    fn what_stands_twice_is_found_in_blocks_too() {
        let sheet = Sheet::parse("twice.sheet", TWICE).unwrap();
        let program = sheet.program();
        let shared = shared(program);
        let register = |name: &str| program.output_named(name).unwrap().register;
        let stands_for = |name: &str| {
            let at = program.steps.iter().position(|step| step.to == register(name)).unwrap();
            shared[at]
        };
        assert_eq!(stands_for("q"), Some(register("p")));
        assert_eq!(stands_for("r"), None);
        assert_eq!(stands_for("t"), Some(register("s")));
        assert_eq!(stands_for("u"), None);
    }
}
