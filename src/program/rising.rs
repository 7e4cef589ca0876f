//! Which way the checks go as an input rises, seen from the steps alone: of several limits the least counts where
//! raising it only ever helps them.

use std::collections::{HashMap, HashSet};

use super::flat::{
    Binary, Fold, Input, InputId, Op, Program, Ratio, Register, Relation, Step, Unary,
};
use super::signs::Signs;

/// Which way a value goes as the input rises; a truth rises when it comes to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Stays,
    Rises,
    Falls,
    /// Both, or it is not seen.
    Either,
}

use Way::{Either, Falls, Rises, Stays};

impl Way {
    fn turned(self) -> Self {
        match self {
            Rises => Falls,
            Falls => Rises,
            other => other,
        }
    }

    fn with(self, other: Self) -> Self {
        match (self, other) {
            (Stays, way) | (way, Stays) => way,
            (one, other) if one == other => one,
            _ => Either,
        }
    }
}

impl Program {
    /// Whether raising an input only ever helps every check that depends on it: true; or only ever harms: false. None
    /// where it does both, where nothing depends on it, or where that is not seen.
    pub(crate) fn helped_by_more(&self, input: &Input) -> Option<bool> {
        let blocks = self.blocks.iter().flat_map(|block| &block.steps);
        let ops = self.steps.iter().chain(blocks).map(|step| (step.to, &step.op)).collect();
        let mut rising =
            Rising { program: self, signs: Signs::new(ops, self), ways: HashMap::new() };
        rising.ways.insert(input.register, Rises);
        for step in &self.steps {
            let way = rising.step(step, input);
            rising.ways.entry(step.to).or_insert(way);
        }
        // a range of another input that depends on it is a check as well
        let others = self.guards.iter().filter(|guard| guard.register != input.register);
        let ranges = others.flat_map(|guard| {
            let own = rising.way(guard.register);
            let low = guard.low.iter().map(|low| rising.way(low.register).turned());
            let high = guard.high.iter().map(|high| rising.way(high.register));
            let of = |bound: Way, own: Way| bound.with(own);
            let low: Vec<Way> = low.map(|it| of(it, own)).collect();
            let high: Vec<Way> = high.map(|it| of(it, own.turned())).collect();
            low.into_iter().chain(high)
        });
        let checks = self.checks.iter().map(|check| rising.way(check.register));
        match ranges.chain(checks).fold(Stays, Way::with) {
            Rises => Some(true),
            Falls => Some(false),
            Stays | Either => None,
        }
    }
}

struct Rising<'a> {
    program: &'a Program,
    signs: Signs<'a>,
    ways: HashMap<Register, Way>,
}

impl Rising<'_> {
    fn way(&self, register: Register) -> Way {
        self.ways.get(&register).copied().unwrap_or(Stays)
    }

    fn step(&mut self, step: &Step, input: &Input) -> Way {
        let way = |register: &Register| self.way(*register);
        match &step.op {
            Op::Literal(_) | Op::Pi | Op::NoCase | Op::Never(_) => Stays,
            Op::Input(InputId(id)) => {
                let read = usize::try_from(*id).ok().and_then(|at| self.program.inputs.get(at));
                if read.is_some_and(|it| it.register == input.register) { Rises } else { Stays }
            }
            Op::Unary(function, of) => match (function, way(of)) {
                (_, Stays) => Stays,
                (
                    Unary::SquareRoot
                    | Unary::Exponential
                    | Unary::Logarithm
                    | Unary::DecimalLogarithm
                    | Unary::ArcSine
                    | Unary::ArcTangent,
                    way,
                ) => way,
                (Unary::Negate | Unary::ArcCosine, way) => way.turned(),
                (Unary::Absolute, way) if self.signs.is_not_below(*of) => way,
                _ => Either,
            },
            Op::Binary(function, a, b) => {
                let (one, other) = (way(a), way(b));
                self.binary(*function, (*a, one), (*b, other))
            }
            Op::Power(of, Ratio { numerator, denominator }) => {
                match way(of) {
                    Stays => Stays,
                    way if self.signs.is_not_below(*of) => {
                        if (*numerator < 0) == (*denominator < 0) { way } else { way.turned() }
                    }
                    _ => Either,
                }
            }
            Op::Compare(relation, a, b) => match relation {
                Relation::Above | Relation::AtLeast => way(a).with(way(b).turned()),
                Relation::Below | Relation::AtMost => way(b).with(way(a).turned()),
                Relation::Equal | Relation::Unequal => either(&[way(a), way(b)]),
            },
            Op::Both(a, b) | Op::Either(a, b) => way(a).with(way(b)),
            Op::Negate(of) => way(of).turned(),
            Op::Select(truth, a, b) => match way(truth) {
                Stays => way(a).with(way(b)),
                _ => Either,
            },
            Op::Round(_, of, to) if way(to) == Stays => way(of),
            Op::Round(_, of, to) => either(&[way(of), way(to)]),
            Op::Preferred(_, _, of) => way(of),
            Op::Read(_, of) => either(&[way(of)]),
            Op::Fold(Fold::Product | Fold::SampleDeviation, of) => either(&[way(of)]),
            Op::Fold(Fold::Count, _) => Stays,
            Op::Fold(_, of) => way(of),
            Op::Running { block, start, over } => {
                let inner = self.within(*block);
                either(&[inner, way(start), either(&over.iter().map(way).collect::<Vec<_>>())])
            }
            Op::Root { block, from, to } | Op::Integral { block, from, to } => {
                either(&[self.within(*block), way(from), way(to)])
            }
        }
    }

    fn binary(
        &mut self,
        function: Binary,
        (a, one): (Register, Way),
        (b, other): (Register, Way),
    ) -> Way {
        let both_stay = one == Stays && other == Stays;
        match function {
            _ if both_stay => Stays,
            Binary::Add | Binary::Least | Binary::Greatest => one.with(other),
            Binary::Subtract => one.with(other.turned()),
            Binary::Multiply | Binary::Divide => {
                let other_side = if function == Binary::Divide { other.turned() } else { other };
                let known = (other == Stays || self.signs.is_not_below(a))
                    && (one == Stays || self.signs.is_not_below(b))
                    && (function == Binary::Multiply || self.signs.is_not_below(b));
                if known { one.with(other_side) } else { Either }
            }
            Binary::Raise => Either,
        }
    }

    /// What the steps of a block take from outside of it.
    fn within(&self, block: super::flat::BlockId) -> Way {
        let mut seen = HashSet::new();
        either(&[self.taken(block, &mut seen)])
    }

    fn taken(&self, block: super::flat::BlockId, seen: &mut HashSet<u32>) -> Way {
        let Some(known) = self.program.block(block).filter(|_| seen.insert(block.0)) else {
            return Stays;
        };
        let mut found = self.way(known.result);
        for step in &known.steps {
            for register in step.op.reads() {
                found = either(&[found, self.way(register)]);
            }
            if let Op::Running { block, .. } | Op::Root { block, .. } | Op::Integral { block, .. } =
                &step.op
            {
                found = either(&[found, self.taken(*block, seen)]);
            }
        }
        found
    }
}

/// Of values through which no way is seen: any, unless all of them stay.
fn either(ways: &[Way]) -> Way {
    if ways.iter().all(|way| *way == Stays) { Stays } else { Either }
}
