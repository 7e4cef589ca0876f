//! What cannot be below zero, seen from the steps alone: a sum of what is not, a product, a square, an input with its
//! range, what a check holds above another. What is not seen may be below zero, and is asked of the values.

use std::collections::HashMap;

use super::flat::{Binary, BlockId, Fold, Guard, Op, Program, Ratio, Register, Relation, Unary};

/// Most steps that are looked at for one value; beyond, nothing is said of it.
const MOST: u32 = 20_000;

/// The first of each pair is not below the second, wherever a value is looked at.
type Facts = Vec<(Register, Register)>;

/// The steps of a program, and what is known of its values.
pub(super) struct Signs<'a> {
    ops: HashMap<Register, &'a Op>,
    program: &'a Program,
    known: Facts,
    looked: u32,
    /// Whether sums are compared part by part.
    by_parts: bool,
}

impl<'a> Signs<'a> {
    /// Of steps so far; ranges and checks count as kept, since a value for which they are not has no verdict to lose.
    pub(super) fn new(ops: HashMap<Register, &'a Op>, program: &'a Program) -> Self {
        let mut signs = Self::within(ops, program, |_| true);
        for check in program.checks.iter().filter(|check| !check.caution) {
            let found = signs.facts(check.register, true);
            signs.known.extend(found);
        }
        signs
    }

    /// Of steps so far, with the ranges of the inputs alone: what holds for every value that may be given.
    pub(super) fn of_ranges(ops: HashMap<Register, &'a Op>, program: &'a Program) -> Self {
        Self::within(ops, program, |guard| guard.input.is_some())
    }

    /// The same, for what is said as a caution alone: sums are compared part by part too.
    pub(super) fn of_parts(ops: HashMap<Register, &'a Op>, program: &'a Program) -> Self {
        Self { by_parts: true, ..Self::of_ranges(ops, program) }
    }

    fn within(
        ops: HashMap<Register, &'a Op>,
        program: &'a Program,
        counts: impl Fn(&Guard) -> bool,
    ) -> Self {
        let guards = program.guards.iter().filter(|guard| counts(guard));
        let known = guards.flat_map(|guard| {
            let low = guard.low.iter().map(|low| (guard.register, low.register));
            low.chain(guard.high.iter().map(|high| (high.register, guard.register)))
        });
        Self { ops, program, known: known.collect(), looked: 0, by_parts: false }
    }

    /// Whether one value is seen not to be below another.
    pub(super) fn is_ordered(&mut self, larger: Register, smaller: Register) -> bool {
        self.looked = 0;
        self.ordered(larger, smaller, &Facts::new(), 0)
    }

    /// Whether a check holds a value above a written number, or above what is not below zero, so that the sheet says
    /// what it means there.
    pub(super) fn is_compared(&mut self, register: Register) -> bool {
        let checks: Vec<Register> = self.program.checks.iter().map(|it| it.register).collect();
        let facts: Vec<_> = checks.iter().flat_map(|it| self.facts(*it, true)).collect();
        facts.into_iter().any(|(larger, smaller)| {
            larger == register
                && (self.is_written(smaller) || self.not_below(smaller, &Facts::new(), 0))
        })
    }

    /// Whether a value is a number as it stands in the sheet, with or without a minus before it.
    fn is_written(&self, register: Register) -> bool {
        match self.ops.get(&register) {
            Some(Op::Literal(_)) => true,
            Some(Op::Unary(Unary::Negate, inner)) => {
                matches!(self.ops.get(inner), Some(Op::Literal(_)))
            }
            _ => false,
        }
    }

    /// Whether a value is seen not to be below zero.
    pub(super) fn is_not_below(&mut self, register: Register) -> bool {
        self.looked = 0;
        self.not_below(register, &Facts::new(), 0)
    }

    /// What a truth says of values that are compared, where it holds or where it does not.
    fn facts(&self, truth: Register, holds: bool) -> Facts {
        match (self.ops.get(&truth), holds) {
            (Some(Op::Compare(relation, a, b)), _) => match (relation, holds) {
                (Relation::Above | Relation::AtLeast, true)
                | (Relation::Below | Relation::AtMost, false) => vec![(*a, *b)],
                (Relation::Below | Relation::AtMost, true)
                | (Relation::Above | Relation::AtLeast, false) => vec![(*b, *a)],
                (Relation::Equal, true) | (Relation::Unequal, false) => vec![(*a, *b), (*b, *a)],
                (Relation::Equal, false) | (Relation::Unequal, true) => Vec::new(),
            },
            (Some(Op::Both(a, b)), true) | (Some(Op::Either(a, b)), false) => {
                [self.facts(*a, holds), self.facts(*b, holds)].concat()
            }
            (Some(Op::Negate(inner)), _) => self.facts(*inner, !holds),
            _ => Vec::new(),
        }
    }

    fn not_below(&mut self, register: Register, facts: &Facts, depth: u32) -> bool {
        self.looked += 1;
        if self.looked > MOST || depth > 60 {
            return false;
        }
        let depth = depth + 1;
        let of_op = match self.ops.get(&register).copied() {
            Some(op) => self.op(op, facts, depth),
            None => false,
        };
        of_op || {
            let below = self.known.iter().chain(facts).filter(|(larger, _)| *larger == register);
            let below: Vec<Register> = below.map(|(_, smaller)| *smaller).collect();
            // a bound that is another value is followed twice at the most, for bounds go in circles
            below.iter().any(|it| {
                self.is_zero_or_above(*it) || depth < 3 && self.not_below(*it, facts, depth)
            })
        }
    }

    fn is_one_or_above(&self, register: Register) -> bool {
        matches!(self.ops.get(&register), Some(Op::Literal(literal)) if literal.si_f64() >= 1.0)
    }

    fn is_zero_or_above(&self, register: Register) -> bool {
        matches!(self.ops.get(&register), Some(Op::Literal(literal)) if literal.si_f64() >= 0.0)
    }

    fn op(&mut self, op: &Op, facts: &Facts, depth: u32) -> bool {
        let mut all = |these: &[Register]| these.iter().all(|it| self.not_below(*it, facts, depth));
        match op {
            Op::Literal(literal) => literal.si_f64() >= 0.0,
            Op::Pi | Op::NoCase | Op::Never(_) | Op::Preferred(..) => true,
            Op::Unary(Unary::Absolute | Unary::SquareRoot | Unary::Exponential, _) => true,
            Op::Unary(Unary::Logarithm | Unary::DecimalLogarithm, a) => match self.ops.get(a) {
                // of one and more
                Some(Op::Binary(Binary::Add, a, b)) => {
                    let (a, b) = (*a, *b);
                    self.is_one_or_above(a) && self.not_below(b, facts, depth)
                        || self.is_one_or_above(b) && self.not_below(a, facts, depth)
                }
                _ => false,
            },
            Op::Unary(Unary::ArcSine | Unary::ArcTangent, a) => all(&[*a]),
            Op::Unary(Unary::ArcCosine, _) => true,
            Op::Unary(Unary::Negate, a) => match self.ops.get(a) {
                Some(Op::Literal(literal)) => literal.si_f64() <= 0.0,
                Some(Op::Binary(Binary::Subtract, a, b)) => self.ordered(*b, *a, facts, depth),
                _ => false,
            },
            Op::Unary(..) | Op::Input(_) => false,
            Op::Binary(Binary::Multiply, a, b) if a == b => true,
            Op::Binary(Binary::Add | Binary::Multiply | Binary::Divide | Binary::Least, a, b) => {
                all(&[*a, *b])
            }
            Op::Binary(Binary::Greatest, a, b) => all(&[*a]) || all(&[*b]),
            Op::Binary(Binary::Subtract, a, b) => self.ordered(*a, *b, facts, depth),
            Op::Binary(Binary::Raise, ..) => true,
            Op::Power(a, Ratio { numerator, denominator }) => {
                numerator % 2 == 0 || denominator % 2 == 0 || all(&[*a])
            }
            Op::Select(truth, a, b) => {
                let [mut so, mut not] = [true, false].map(|holds| self.facts(*truth, holds));
                so.extend(facts);
                not.extend(facts);
                self.not_below(*a, &so, depth) && self.not_below(*b, &not, depth)
            }
            Op::Round(_, a, _) => all(&[*a]),
            Op::Read(table, _) => self
                .program
                .table(*table)
                .is_some_and(|table| table.rows.iter().all(|(_, value)| value.si_f64() >= 0.0)),
            Op::Fold(Fold::SampleDeviation | Fold::Count, _) => true,
            Op::Fold(_, a) => all(&[*a]),
            Op::Root { from, to, .. } => all(&[*from, *to]),
            Op::Running { block, start, over } => {
                all(&[*start])
                    && all(over)
                    && self.block(*block, &[&[*start], over.as_slice()].concat(), facts, depth)
            }
            Op::Integral { block, from, to } => {
                all(&[*from])
                    && self.ordered(*to, *from, facts, depth)
                    && self.block(*block, &[*from], facts, depth)
            }
            Op::Compare(..) | Op::Both(..) | Op::Either(..) | Op::Negate(_) => false,
        }
    }

    /// The result of a function whose parameters are not below these values.
    fn block(&mut self, block: BlockId, above: &[Register], facts: &Facts, depth: u32) -> bool {
        let Some(block) = self.program.block(block) else { return false };
        let mut inside = facts.clone();
        inside.extend(block.parameters.iter().copied().zip(above.iter().copied()));
        self.not_below(block.result, &inside, depth)
    }

    /// Whether one value is seen not to be below another.
    fn ordered(&mut self, larger: Register, smaller: Register, facts: &Facts, depth: u32) -> bool {
        self.looked += 1;
        if self.looked > MOST {
            return false;
        }
        let said = |(a, b): &(Register, Register)| *a == larger && *b == smaller;
        let is_zero =
            matches!(self.ops.get(&smaller), Some(Op::Literal(it)) if it.digits.is_zero());
        larger == smaller
            || self.known.iter().chain(facts).any(said)
            || is_zero && self.not_below(larger, facts, depth)
            || match (self.ops.get(&larger).copied(), self.ops.get(&smaller).copied()) {
                (Some(Op::Binary(Binary::Add, a, b)), _) if *a == smaller => {
                    self.not_below(*b, facts, depth)
                }
                (Some(Op::Binary(Binary::Add, a, b)), _) if *b == smaller => {
                    self.not_below(*a, facts, depth)
                }
                (Some(Op::Fold(one, a)), Some(Op::Fold(other, b))) if a == b => {
                    // what lies among the elements of one series
                    let among = |it: &Fold| matches!(it, Fold::Mean | Fold::First | Fold::Last);
                    match (one, other) {
                        (Fold::Greatest, it) => *it == Fold::Least || among(it),
                        (it, Fold::Least) => among(it),
                        _ => false,
                    }
                }
                (Some(Op::Binary(Binary::Greatest, a, b)), _) => *a == smaller || *b == smaller,
                (_, Some(Op::Binary(Binary::Least, a, b))) => *a == larger || *b == larger,
                (Some(Op::Literal(a)), Some(Op::Literal(b))) => a.si_f64() >= b.si_f64(),
                // a part of a whole is not above one
                (Some(Op::Literal(one)), Some(Op::Binary(Binary::Divide, part, whole))) => {
                    one.si_f64() >= 1.0
                        && depth < 30
                        && self.ordered(*whole, *part, facts, depth + 1)
                        && self.not_below(*whole, facts, depth)
                }
                _ => false,
            }
            || self.by_parts
                && depth < 30
                && self.ordered_by_parts(larger, smaller, facts, depth + 1)
    }

    fn ordered_by_parts(
        &mut self,
        larger: Register,
        smaller: Register,
        facts: &Facts,
        depth: u32,
    ) -> bool {
        let sum = |it: &Self, register| match it.ops.get(&register) {
            Some(Op::Binary(Binary::Add, a, b)) => Some((*a, *b)),
            _ => None,
        };
        let (above, below) = (sum(self, larger), sum(self, smaller));
        let less = match self.ops.get(&smaller) {
            Some(Op::Binary(Binary::Subtract, whole, less)) => Some((*whole, *less)),
            _ => None,
        };
        let mut ordered = |a, b| self.ordered(a, b, facts, depth);
        let both = above.zip(below).is_some_and(|((a, b), (c, d))| {
            ordered(a, c) && ordered(b, d) || ordered(a, d) && ordered(b, c)
        });
        let mut beyond = |part, rest| {
            self.ordered(part, smaller, facts, depth) && self.not_below(rest, facts, depth)
        };
        both || above.is_some_and(|(a, b)| beyond(a, b) || beyond(b, a))
            || less.is_some_and(|(whole, less)| {
                self.ordered(larger, whole, facts, depth) && self.not_below(less, facts, depth)
            })
    }
}
