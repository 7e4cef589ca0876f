//! Between which values a value lies whatever is given within the ranges of the inputs, and the comparisons that are
//! thereby decided. Of a series it is where each element lies. What is not seen from the steps alone is left open.

use std::collections::{HashMap, HashSet};

use super::flat::{
    Binary, BlockId, Direction, Fold, Op, Program, Ratio, Register, Relation, Unary,
};
use super::sums::{Product, Sum, Sums};
use crate::elementary;

/// Deepest chain of steps that is followed; beyond, a value may be anything.
const DEEPEST: u32 = 200;

/// One end in coherent SI, and whether the value may lie on it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct End {
    at: f64,
    reached: bool,
}

/// From its low end to its high end; nothing where there is no value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent(Option<(End, End)>);

const ANYTHING: Extent = Extent(Some((
    End { at: f64::NEG_INFINITY, reached: false },
    End { at: f64::INFINITY, reached: false },
)));

const NOTHING: Extent =
    Extent(Some((End { at: 0.0, reached: true }, End { at: 0.0, reached: true })));

/// The steps of a program, and the extents that are known.
pub(super) struct Extents<'a> {
    ops: HashMap<Register, &'a Op>,
    program: &'a Program,
    parameters: HashMap<Register, Parameter>,
    known: HashMap<Register, Extent>,
    /// Those that are being looked for.
    open: HashSet<Register>,
    sums: Sums,
}

/// What a function that is run many times is called with.
#[derive(Clone, Copy, Debug)]
enum Parameter {
    /// Each element of a series.
    Element(Register),
    /// What lies between two bounds.
    Between(Register, Register),
    /// The value before, along a series: at first the one, then the result of the block.
    Before(Register, BlockId),
}

impl End {
    fn new(at: f64, reached: bool) -> Self {
        Self { at, reached }
    }

    /// A little beyond, since it was rounded on the way; zero and what was not rounded stay.
    fn beyond(self, up: bool) -> Self {
        let by = self.at.abs() * 4.0 * f64::EPSILON;
        Self { at: if up { self.at + by } else { self.at - by }, ..self }
    }

    fn turned(self) -> Self {
        Self { at: -self.at, ..self }
    }

    /// The product of two ends; a zero that is reached makes zero of anything.
    fn times(self, other: Self) -> Self {
        let is_zero = |it: Self| it.at == 0.0;
        match (is_zero(self), is_zero(other)) {
            (true, true) => Self::new(0.0, self.reached || other.reached),
            (true, false) => Self::new(0.0, self.reached),
            (false, true) => Self::new(0.0, other.reached),
            (false, false) => Self::new(self.at * other.at, self.reached && other.reached),
        }
    }
}

/// The lower of two ends, a reached one of two equal ones.
fn lower(a: End, b: End) -> End {
    if b.at < a.at || b.at == a.at && b.reached { b } else { a }
}

fn higher(a: End, b: End) -> End {
    lower(a.turned(), b.turned()).turned()
}

impl Extent {
    fn new(low: End, high: End) -> Self {
        if low.at.is_nan() || high.at.is_nan() { ANYTHING } else { Self(Some((low, high))) }
    }

    fn of(low: f64, high: f64) -> Self {
        Self::new(End::new(low, low.is_finite()), End::new(high, high.is_finite()))
    }

    fn not_below(low: f64) -> Self {
        Self::of(low, f64::INFINITY)
    }

    fn with(self, other: Self) -> Self {
        match (self.0, other.0) {
            (Some((a, b)), Some((c, d))) => Self::new(lower(a, c), higher(b, d)),
            (None, _) => other,
            (_, None) => self,
        }
    }

    fn map(self, map: impl FnOnce(End, End) -> Self) -> Self {
        self.0.map_or(self, |(low, high)| map(low, high))
    }

    fn both(self, other: Self, map: impl FnOnce((End, End), (End, End)) -> Self) -> Self {
        match (self.0, other.0) {
            (Some(a), Some(b)) => map(a, b),
            _ => Self(None),
        }
    }

    fn turned(self) -> Self {
        self.map(|low, high| Self::new(high.turned(), low.turned()))
    }

    fn plus(self, other: Self) -> Self {
        self.both(other, |(a, b), (c, d)| {
            let sum = |x: End, y: End| End::new(x.at + y.at, x.reached && y.reached);
            Self::new(sum(a, c).beyond(false), sum(b, d).beyond(true))
        })
    }

    fn times(self, other: Self) -> Self {
        self.both(other, |(a, b), (c, d)| {
            let all = [a.times(c), a.times(d), b.times(c), b.times(d)];
            let ends = all.into_iter().map(|end| (end, end));
            let Some((low, high)) =
                ends.reduce(|(low, high), (end, _)| (lower(low, end), higher(high, end)))
            else {
                return ANYTHING;
            };
            Self::new(low.beyond(false), high.beyond(true))
        })
    }

    /// One over it; a divisor of zero has no value.
    fn inverse(self) -> Self {
        self.map(|low, high| {
            let over = |end: End| End::new(end.at.recip(), end.reached && end.at.is_finite());
            if low.at > 0.0 || high.at < 0.0 {
                Self::new(over(high).beyond(false), over(low).beyond(true))
            } else if low.at == 0.0 {
                Self::new(over(high).beyond(false), End::new(f64::INFINITY, false))
            } else if high.at == 0.0 {
                Self::new(End::new(f64::NEG_INFINITY, false), over(low).beyond(true))
            } else {
                ANYTHING
            }
        })
    }

    /// A function that rises wherever it has a value; below `from` it has none.
    fn rising(self, from: f64, of: impl Fn(f64) -> f64) -> Self {
        self.map(|low, high| {
            let at = |end: End| End::new(of(end.at.max(from)), end.reached || end.at < from);
            Self::new(at(low).beyond(false), at(high).beyond(true))
        })
    }

    fn absolute(self) -> Self {
        self.map(|low, high| {
            if low.at >= 0.0 {
                self
            } else if high.at <= 0.0 {
                self.turned()
            } else {
                Self::new(End::new(0.0, true), higher(low.turned(), high))
            }
        })
    }

    fn power(self, exponent: Ratio) -> Self {
        let power = f64::from(exponent.numerator) / f64::from(exponent.denominator);
        let even = exponent.numerator % 2 == 0 || exponent.denominator % 2 == 0;
        let base = if even { self.absolute() } else { self };
        base.map(|low, high| {
            let raised = |base: Self| base.rising(0.0, |x| elementary::power(x, power.abs()));
            let positive = match (low.at >= 0.0, high.at <= 0.0) {
                (true, _) => raised(base),
                (_, true) => raised(base.turned()).turned(),
                _ => raised(Self::new(End::new(0.0, true), high))
                    .with(raised(Self::new(End::new(0.0, true), low.turned())).turned()),
            };
            if power < 0.0 { positive.inverse() } else { positive }
        })
    }

    /// How two values stand to each other whatever they are: whether the relation always, or never, holds.
    fn decides(self, relation: Relation, other: Self) -> Option<bool> {
        let (Some((a, b)), Some((c, d))) = (self.0, other.0) else { return None };
        let apart = |low: End, high: End| {
            low.at > high.at || low.at == high.at && !(low.reached && high.reached)
        };
        let not_below = |low: End, high: End| low.at >= high.at;
        let (above, below) = (apart(a, d), apart(c, b));
        match relation {
            Relation::Above if above => Some(true),
            Relation::Above if not_below(c, b) => Some(false),
            Relation::AtLeast if not_below(a, d) => Some(true),
            Relation::AtLeast if below => Some(false),
            Relation::Below if below => Some(true),
            Relation::Below if not_below(a, d) => Some(false),
            Relation::AtMost if not_below(c, b) => Some(true),
            Relation::AtMost if above => Some(false),
            Relation::Equal if above || below => Some(false),
            Relation::Unequal if above || below => Some(true),
            _ => None,
        }
    }
}

impl<'a> Extents<'a> {
    pub(super) fn new(ops: HashMap<Register, &'a Op>, program: &'a Program) -> Self {
        let parameters: HashMap<_, _> =
            ops.values().flat_map(|op| parameters(program, op)).collect();
        let elements = parameters.iter().filter_map(|(parameter, is)| match is {
            Parameter::Element(series) => Some((*parameter, *series)),
            _ => None,
        });
        let sums = Sums::new(elements.collect());
        Self { ops, program, parameters, known: HashMap::new(), open: HashSet::new(), sums }
    }

    /// Whether a truth holds, or does not, for every value that may be given.
    pub(super) fn decided(&mut self, truth: Register) -> Option<bool> {
        match self.ops.get(&truth).copied()? {
            Op::Compare(relation, a, b) => {
                if a == b {
                    return None;
                }
                let (first, second) = (self.of(*a), self.of(*b));
                first.decides(*relation, second).or_else(|| {
                    let (difference, _) = self.difference(*a, *b);
                    difference.decides(*relation, NOTHING)
                })
            }
            Op::Both(a, b) => match (self.decided(*a), self.decided(*b)) {
                (Some(true), Some(true)) => Some(true),
                (Some(false), _) | (_, Some(false)) => Some(false),
                _ => None,
            },
            Op::Either(a, b) => match (self.decided(*a), self.decided(*b)) {
                (Some(false), Some(false)) => Some(false),
                (Some(true), _) | (_, Some(true)) => Some(true),
                _ => None,
            },
            Op::Negate(inner) => self.decided(*inner).map(|it| !it),
            _ => None,
        }
    }

    /// Whether a value is zero or below, whatever is given.
    pub(super) fn is_never_above_zero(&mut self, register: Register) -> bool {
        self.of(register).0.is_some_and(|(_, high)| high.at <= 0.0)
    }

    /// Whether the first value is never below the second, or never above it.
    pub(super) fn stands(&mut self, first: Register, second: Register) -> Option<Relation> {
        let (a, b) = (self.of(first), self.of(second));
        let (difference, _) = self.difference(first, second);
        let is = |relation| {
            a.decides(relation, b) == Some(true)
                || difference.decides(relation, NOTHING) == Some(true)
        };
        [Relation::AtLeast, Relation::AtMost].into_iter().find(|it| is(*it))
    }

    /// What a comparison comes to by what stands on both of its sides.
    pub(super) fn compared(&mut self, truth: Register) -> Option<Compared> {
        let Op::Compare(relation, a, b) = self.ops.get(&truth).copied()? else { return None };
        let [x, y] = [a, b].map(|it| self.sums.of((&self.ops, self.program), *it));
        if let Some(by) = x.over(&y) {
            return Some(Compared::ByANumber(by));
        }
        let (difference, shares) = self.difference(*a, *b);
        difference.decides(*relation, NOTHING).filter(|_| shares).map(Compared::Decided)
    }

    /// One value less another, without what stands in both, and whether something that varies does.
    fn difference(&mut self, a: Register, b: Register) -> (Extent, bool) {
        let [x, y] = [a, b].map(|it| self.sums.of((&self.ops, self.program), it));
        let left = x.plus(&y, -1.0);
        let common = left.common();
        let of_both = |it: &Product| !it.is_empty() && y.0.contains_key(it);
        let factor = !common.is_empty() && !x.is_zero() && !y.is_zero();
        let shares = factor || x.0.keys().any(of_both);
        let rest = self.extent_of(&left.without(&common));
        (self.extent_of_product(&common).times(rest), shares)
    }

    fn extent_of(&mut self, sum: &Sum) -> Extent {
        sum.0.iter().fold(NOTHING, |all, (product, number)| {
            let number = Extent::of(*number, *number);
            all.plus(number.times(self.extent_of_product(product)))
        })
    }

    fn extent_of_product(&mut self, product: &Product) -> Extent {
        product.iter().fold(Extent::of(1.0, 1.0), |all, (register, power)| {
            let power = Ratio { numerator: *power, denominator: 1 };
            all.times(self.of(*register).power(power))
        })
    }

    fn of(&mut self, register: Register) -> Extent {
        self.within(register, 0)
    }

    fn within(&mut self, register: Register, depth: u32) -> Extent {
        if let Some(known) = self.known.get(&register) {
            return *known;
        }
        // a bound that waits for itself says nothing
        if depth > DEEPEST || !self.open.insert(register) {
            return ANYTHING;
        }
        let depth = depth + 1;
        let found = match self.ops.get(&register).copied() {
            Some(Op::Input(_)) => self.input(register, depth),
            Some(op) => self.op(op, depth),
            None => match self.parameters.get(&register).copied() {
                Some(Parameter::Element(series)) => self.within(series, depth),
                Some(Parameter::Between(from, to)) => self.hull(from, to, depth),
                Some(Parameter::Before(start, block)) => self.before(register, start, block, depth),
                None => ANYTHING,
            },
        };
        self.open.remove(&register);
        self.known.insert(register, found);
        found
    }

    /// What holds one value and the other.
    fn hull(&mut self, a: Register, b: Register, depth: u32) -> Extent {
        let first = self.within(a, depth);
        first.with(self.within(b, depth))
    }

    /// Where the value before lies along a series: within what it begins with, or on one side of that and of zero, if
    /// the result of the block lies there whenever it does.
    fn before(
        &mut self,
        register: Register,
        start: Register,
        block: BlockId,
        depth: u32,
    ) -> Extent {
        let start = self.within(start, depth);
        let Some(block) = self.program.block(block) else { return ANYTHING };
        // what does not depend on it is looked for once
        for parameter in block.parameters.iter().skip(1) {
            self.within(*parameter, depth);
        }
        let open = std::mem::take(&mut self.open);
        let zero = start.with(Extent::of(0.0, 0.0));
        let [above, below] = [Extent::not_below(0.0), Extent::not_below(0.0).turned()];
        let found = [start, zero.with(above), zero.with(below)].into_iter().find(|supposed| {
            let known = self.known.clone();
            self.known.insert(register, *supposed);
            let kept = self.within(block.result, depth).lies_in(*supposed);
            if !kept {
                self.known = known;
            }
            kept
        });
        self.open = open;
        found.unwrap_or(ANYTHING)
    }

    fn input(&mut self, register: Register, depth: u32) -> Extent {
        let program = self.program;
        let own = program.guards.iter().filter(|it| it.register == register && it.input.is_some());
        let (mut low, mut high) = match ANYTHING.0 {
            Some(ends) => ends,
            None => return ANYTHING,
        };
        for guard in own {
            if let Some(limit) = &guard.low
                && let Some((end, _)) = self.within(limit.register, depth).0
            {
                low = End::new(end.at, end.reached && limit.included);
            }
            if let Some(limit) = &guard.high
                && let Some((_, end)) = self.within(limit.register, depth).0
            {
                high = End::new(end.at, end.reached && limit.included);
            }
        }
        Extent::new(low, high)
    }

    fn op(&mut self, op: &Op, depth: u32) -> Extent {
        let mut of = |register: &Register| self.within(*register, depth);
        match op {
            Op::Literal(literal) => Extent::of(literal.si_f64(), literal.si_f64()),
            Op::Pi => Extent::of(std::f64::consts::PI, std::f64::consts::PI.next_up()),
            Op::NoCase | Op::Never(_) => Extent(None),
            Op::Unary(unary, a) => of(a).unary(*unary),
            Op::Binary(Binary::Multiply, a, b) if a == b => {
                of(a).power(Ratio { numerator: 2, denominator: 1 })
            }
            Op::Binary(Binary::Subtract, a, b) if a == b => ANYTHING,
            Op::Binary(binary, a, b) => {
                let (a, b) = (of(a), of(b));
                match binary {
                    Binary::Add => a.plus(b),
                    Binary::Subtract => a.plus(b.turned()),
                    Binary::Multiply => a.times(b),
                    Binary::Divide => a.times(b.inverse()),
                    Binary::Greatest => {
                        a.both(b, |(a, b), (c, d)| Extent::new(higher(a, c), higher(b, d)))
                    }
                    Binary::Least => {
                        a.both(b, |(a, b), (c, d)| Extent::new(lower(a, c), lower(b, d)))
                    }
                    Binary::Raise => Extent::not_below(0.0),
                }
            }
            Op::Power(a, exponent) => of(a).power(*exponent),
            Op::Select(truth, a, b) => match self.decided(*truth) {
                Some(true) => self.within(*a, depth),
                Some(false) => self.within(*b, depth),
                None => self.hull(*a, *b, depth),
            },
            Op::Round(direction, a, _) => of(a).map(|low, high| {
                let (down, up) = match direction {
                    Direction::Up => (low, End::new(f64::INFINITY, false)),
                    Direction::Down => (End::new(f64::NEG_INFINITY, false), high),
                    Direction::Nearest => return Extent::new(low, high).sign(),
                };
                // no step leads over zero
                Extent::new(down, up).with_sign_of(low, high)
            }),
            Op::Preferred(..) => Extent::not_below(0.0),
            Op::Read(table, _) => self.table(*table),
            Op::Fold(fold, a) => match fold {
                Fold::Mean | Fold::Greatest | Fold::Least | Fold::First | Fold::Last => of(a),
                Fold::Count | Fold::SampleDeviation => Extent::not_below(0.0),
                Fold::Sum => of(a).sign(),
                Fold::Product => of(a).map(|low, _| match low.at >= 0.0 {
                    true => Extent::not_below(0.0),
                    false => ANYTHING,
                }),
            },
            Op::Root { from, to, .. } => self.hull(*from, *to, depth),
            Op::Running { block, .. } => {
                let Some(block) = self.program.block(*block) else { return ANYTHING };
                // the value before first, so that the result is looked for where it is known
                for parameter in &block.parameters {
                    self.within(*parameter, depth);
                }
                self.within(block.result, depth)
            }
            Op::Integral { block, from, to } => {
                let Some(block) = self.program.block(*block) else { return ANYTHING };
                // where it would run backwards, it does not exist
                let from = self.within(*from, depth);
                let way = self.within(*to, depth).plus(from.turned()).cut_at_zero();
                way.times(self.within(block.result, depth))
            }
            Op::Input(_) | Op::Compare(..) | Op::Both(..) | Op::Either(..) | Op::Negate(_) => {
                ANYTHING
            }
        }
    }

    fn table(&self, table: super::flat::TableId) -> Extent {
        let Some(table) = self.program.table(table) else { return ANYTHING };
        let values = table.rows.iter().map(|(_, value)| value.si_f64());
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| {
            (low.min(it), high.max(it))
        });
        Extent::of(low, high)
    }
}

/// What is found of a comparison by what stands on both of its sides.
#[derive(Clone, Copy, Debug)]
pub(super) enum Compared {
    /// The first is the second times this.
    ByANumber(f64),
    /// What is left of both decides whether it holds.
    Decided(bool),
}

/// What the parameters of the block that an operation calls are.
fn parameters(program: &Program, op: &Op) -> Vec<(Register, Parameter)> {
    let block = op.calls().and_then(|id| Some((id, program.block(id)?)));
    let Some((id, block)) = block else { return Vec::new() };
    let values = match op {
        Op::Running { start, over, .. } => {
            let elements = over.iter().map(|it| Parameter::Element(*it));
            std::iter::once(Parameter::Before(*start, id)).chain(elements).collect()
        }
        Op::Root { from, to, .. } | Op::Integral { from, to, .. } => {
            vec![Parameter::Between(*from, *to)]
        }
        _ => Vec::new(),
    };
    block.parameters.iter().copied().zip(values).collect()
}

impl Extent {
    /// Whether no value of it lies outside another.
    fn lies_in(self, other: Self) -> bool {
        self.with(other) == other
    }

    /// Without what lies below zero.
    fn cut_at_zero(self) -> Self {
        self.map(|low, high| {
            let zero = End::new(0.0, true);
            match high.at < 0.0 {
                true => Self(None),
                false if low.at < 0.0 => Self::new(zero, high),
                false => self,
            }
        })
    }

    /// What is left of it when only its sign is known.
    fn sign(self) -> Self {
        self.map(|low, high| ANYTHING.with_sign_of(low, high))
    }

    /// Cut at zero where both ends lie on one side of it.
    fn with_sign_of(self, low: End, high: End) -> Self {
        self.map(|from, to| {
            let zero = End::new(0.0, true);
            let from = if low.at >= 0.0 && from.at < 0.0 { zero } else { from };
            let to = if high.at <= 0.0 && to.at > 0.0 { zero } else { to };
            Self::new(from, to)
        })
    }

    fn unary(self, unary: Unary) -> Self {
        match unary {
            Unary::Negate => self.turned(),
            Unary::Absolute => self.absolute(),
            Unary::SquareRoot => self.rising(0.0, f64::sqrt),
            Unary::Exponential => self.rising(f64::NEG_INFINITY, elementary::exponential),
            Unary::Logarithm => self.rising(0.0, elementary::logarithm),
            Unary::DecimalLogarithm => self.rising(0.0, elementary::decimal_logarithm),
            Unary::Sine | Unary::Cosine => Self::of(-1.0, 1.0),
            Unary::ArcSine | Unary::ArcTangent => {
                Self::of(-std::f64::consts::PI, std::f64::consts::PI).with_sign_of_both(self)
            }
            Unary::ArcCosine => Self::of(0.0, 4.0),
            Unary::Tangent => ANYTHING,
        }
    }

    fn with_sign_of_both(self, other: Self) -> Self {
        other.map(|low, high| self.with_sign_of(low, high))
    }
}
