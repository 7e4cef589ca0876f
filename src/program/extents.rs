//! Between which values a value lies whatever is given within the ranges of the inputs, and the comparisons that are
//! thereby decided. What is not seen from the steps alone is left open.

use std::collections::HashMap;

use super::flat::{Binary, Direction, Fold, Op, Program, Ratio, Register, Relation, Unary};
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

/// The steps of a program, and the extents that are known.
pub(super) struct Extents<'a> {
    ops: HashMap<Register, &'a Op>,
    program: &'a Program,
    known: HashMap<Register, Extent>,
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
        Self { ops, program, known: HashMap::new() }
    }

    /// Whether a truth holds, or does not, for every value that may be given.
    pub(super) fn decided(&mut self, truth: Register) -> Option<bool> {
        match self.ops.get(&truth).copied()? {
            Op::Compare(relation, a, b) => {
                if a == b {
                    return None;
                }
                let (first, second) = (self.of(*a), self.of(*b));
                first.decides(*relation, second)
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
        let is = |relation| a.decides(relation, b) == Some(true);
        [Relation::AtLeast, Relation::AtMost].into_iter().find(|it| is(*it))
    }

    fn of(&mut self, register: Register) -> Extent {
        self.within(register, 0)
    }

    fn within(&mut self, register: Register, depth: u32) -> Extent {
        if let Some(known) = self.known.get(&register) {
            return *known;
        }
        if depth > DEEPEST {
            return ANYTHING;
        }
        // a bound that waits for itself says nothing
        self.known.insert(register, ANYTHING);
        let found = match self.ops.get(&register).copied() {
            Some(Op::Input(_)) => self.input(register, depth + 1),
            Some(op) => self.op(op, depth + 1),
            None => ANYTHING,
        };
        self.known.insert(register, found);
        found
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
                None => {
                    let a = self.within(*a, depth);
                    a.with(self.within(*b, depth))
                }
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
                Fold::Sum | Fold::Product => of(a).sign(),
            },
            Op::Root { from, to, .. } => {
                let from = of(from);
                from.with(of(to))
            }
            Op::Running { .. }
            | Op::Integral { .. }
            | Op::Input(_)
            | Op::Compare(..)
            | Op::Both(..)
            | Op::Either(..)
            | Op::Negate(_) => ANYTHING,
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

impl Extent {
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
