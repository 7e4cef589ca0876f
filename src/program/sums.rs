//! A value as a sum of products of what is not looked into, in which what is added and taken away is gone: by it
//! `x + y` lies above `x`, and `u^2 - 0.2 m * u` is zero at 0.2 m.

use std::collections::{BTreeMap, HashMap};
use std::mem::Discriminant;
use std::rc::Rc;

use super::flat::{Binary, Op, Program, Ratio, Register, Unary};

/// Most products of one sum; a value of more is not looked into.
const MOST: usize = 48;

/// Deepest chain of steps that is followed.
const DEEPEST: u32 = 200;

/// Highest power that is multiplied out.
const HIGHEST: i32 = 4;

/// Two figures as near as this, beside their size, are one: both were rounded.
const NEAR: f64 = 16.0 * f64::EPSILON;

/// Powers of values that are not looked into, none of them 0.
pub(super) type Product = BTreeMap<Register, i32>;

/// Products and the numbers before them, none of them 0.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Sum(pub(super) BTreeMap<Product, f64>);

/// The sums of the values of a program.
#[derive(Debug, Default)]
pub(super) struct Sums {
    /// What stands for another value: a parameter for its bound, an element for its series.
    stands_for: HashMap<Register, Register>,
    known: HashMap<Register, Rc<Sum>>,
    /// The first of the values that are the same by their steps.
    firsts: HashMap<Register, Register>,
    by_key: HashMap<(Discriminant<Op>, String, Vec<Register>), Register>,
}

impl Sum {
    fn one_of(product: Product, number: f64) -> Self {
        let mut sum = Self::default();
        sum.add(product, number);
        sum
    }

    fn number(value: f64) -> Self {
        Self::one_of(Product::new(), value)
    }

    fn add(&mut self, product: Product, number: f64) {
        let before = self.0.get(&product).copied().unwrap_or_default();
        let sum = before + number;
        match sum == 0.0 || sum.abs() <= NEAR * before.abs() {
            true => self.0.remove(&product),
            false => self.0.insert(product, sum),
        };
    }

    pub(super) fn plus(&self, other: &Self, sign: f64) -> Self {
        let mut sum = self.clone();
        for (product, number) in &other.0 {
            sum.add(product.clone(), sign * number);
        }
        sum
    }

    pub(super) fn times(&self, other: &Self) -> Self {
        let mut sum = Self::default();
        for (a, x) in &self.0 {
            for (b, y) in &other.0 {
                let mut product = a.clone();
                for (register, power) in b {
                    let power = product.remove(register).unwrap_or_default() + power;
                    if power != 0 {
                        product.insert(*register, power);
                    }
                }
                sum.add(product, x * y);
            }
        }
        sum
    }

    /// One over it, where it is one product.
    fn inverse(&self) -> Option<Self> {
        let mut all = self.0.iter();
        let (Some((product, number)), None) = (all.next(), all.next()) else { return None };
        let turned = product.iter().map(|(register, power)| (*register, -power));
        Some(Self::one_of(turned.collect(), number.recip()))
    }

    /// The number by which it is another one that varies.
    pub(super) fn over(&self, other: &Self) -> Option<f64> {
        let varies = other.0.keys().any(|product| !product.is_empty());
        let by = self.0.values().next()? / other.0.values().next()?;
        let same = self.0.len() == other.0.len()
            && self
                .0
                .iter()
                .zip(&other.0)
                .all(|((a, x), (b, y))| a == b && (x / y / by - 1.0).abs() <= NEAR);
        (varies && same).then_some(by)
    }

    pub(super) fn is_zero(&self) -> bool {
        self.0.is_empty()
    }

    /// What all its products have in common.
    pub(super) fn common(&self) -> Product {
        let mut all = self.0.keys();
        let first = all.next().cloned().unwrap_or_default();
        all.fold(first, |common, product| {
            let power = |(register, power): (Register, i32)| {
                let other = product.get(&register).copied()?;
                (other.signum() == power.signum()).then(|| {
                    (register, if power > 0 { power.min(other) } else { power.max(other) })
                })
            };
            common.into_iter().filter_map(power).collect()
        })
    }

    /// Itself over a product that is in all of its own.
    pub(super) fn without(&self, common: &Product) -> Self {
        let turned = common.iter().map(|(register, power)| (*register, -power)).collect();
        self.times(&Self::one_of(turned, 1.0))
    }
}

impl Sums {
    pub(super) fn new(stands_for: HashMap<Register, Register>) -> Self {
        Self { stands_for, ..Self::default() }
    }

    /// The sum that a value is.
    pub(super) fn of(
        &mut self,
        (ops, program): (&HashMap<Register, &Op>, &Program),
        register: Register,
    ) -> Rc<Sum> {
        self.within((ops, program), register, 0)
    }

    fn within(
        &mut self,
        all: (&HashMap<Register, &Op>, &Program),
        register: Register,
        depth: u32,
    ) -> Rc<Sum> {
        let register = self.meant(register);
        if let Some(known) = self.known.get(&register) {
            return Rc::clone(known);
        }
        let op = all.0.get(&register).copied().filter(|_| depth < DEEPEST);
        let found = op.and_then(|op| self.op(all, op, depth + 1)).filter(|it| it.0.len() <= MOST);
        let found = Rc::new(found.unwrap_or_else(|| {
            let first = self.first(all, register, depth);
            Sum::one_of(Product::from([(first, 1)]), 1.0)
        }));
        self.known.insert(register, Rc::clone(&found));
        found
    }

    fn meant(&self, register: Register) -> Register {
        self.stands_for.get(&register).copied().unwrap_or(register)
    }

    /// What an operation makes of the sums that it reads; nothing where it is not looked into.
    fn op(&mut self, all: (&HashMap<Register, &Op>, &Program), op: &Op, depth: u32) -> Option<Sum> {
        let mut of = |register: &Register| self.within(all, *register, depth);
        let short = |sum: &Sum, other: &Sum| sum.0.len() * other.0.len() <= MOST;
        match op {
            Op::Literal(literal) => Some(Sum::number(literal.si_f64())),
            Op::Unary(Unary::Negate, a) => Some(Sum::default().plus(&of(a), -1.0)),
            Op::Unary(
                Unary::Absolute
                | Unary::SquareRoot
                | Unary::Sine
                | Unary::Tangent
                | Unary::ArcSine
                | Unary::ArcTangent,
                a,
            )
            | Op::Round(_, a, _) => of(a).is_zero().then(Sum::default),
            Op::Binary(Binary::Add, a, b) => Some(of(a).plus(&of(b), 1.0)),
            Op::Binary(Binary::Subtract, a, b) => Some(of(a).plus(&of(b), -1.0)),
            Op::Binary(Binary::Multiply, a, b) => {
                let (a, b) = (of(a), of(b));
                short(&a, &b).then(|| a.times(&b))
            }
            Op::Binary(Binary::Divide, a, b) => {
                let (above, below) = (of(a), of(b));
                let below = match below.is_zero() {
                    true => None,
                    false => below.inverse().or_else(|| {
                        let first = self.first(all, *b, depth);
                        Some(Sum::one_of(Product::from([(first, -1)]), 1.0))
                    }),
                };
                Some(above.times(&below?))
            }
            Op::Binary(Binary::Least | Binary::Greatest, a, b) | Op::Select(_, a, b) => {
                let (a, b) = (of(a), of(b));
                (a == b).then(|| Sum::clone(&a))
            }
            Op::Power(a, Ratio { numerator, denominator }) => {
                let base = of(a);
                let whole = *denominator == 1 && (1..=HIGHEST).contains(&numerator.abs());
                let base = match base.is_zero() {
                    true => return (*numerator > 0).then(Sum::default),
                    false if *numerator < 0 => base.inverse()?,
                    false => Sum::clone(&base),
                };
                let mut raised = Some(base.clone()).filter(|_| whole)?;
                for _ in 1..numerator.abs() {
                    raised = short(&raised, &base).then(|| raised.times(&base))?;
                }
                Some(raised)
            }
            _ => None,
        }
    }

    /// The first of the values that are the same as one, operation by operation.
    fn first(
        &mut self,
        all: (&HashMap<Register, &Op>, &Program),
        register: Register,
        depth: u32,
    ) -> Register {
        let register = self.meant(register);
        if let Some(first) = self.firsts.get(&register) {
            return *first;
        }
        let is_open = |op: &&Op| !matches!(op, Op::Input(_)) && op.calls().is_none();
        let first = match all.0.get(&register).copied().filter(is_open) {
            Some(op) if depth < DEEPEST => {
                let reads = op.reads().into_iter();
                let reads = reads.map(|it| self.first(all, it, depth + 1)).collect();
                let key = (std::mem::discriminant(op), op.beside(all.1), reads);
                *self.by_key.entry(key).or_insert(register)
            }
            _ => register,
        };
        self.firsts.insert(register, first);
        first
    }
}
