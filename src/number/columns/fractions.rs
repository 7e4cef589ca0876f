//! Fractions of whole numbers with a power of ten and one of π: a number system for near ties.
//!
//! Most of what f64 leaves in doubt is a few sums and products of short numbers. On fractions it is decided
//! in a small part of the time that exact decimals take, and as they decide: each fraction carries a bound of
//! what exact decimals may have rounded on the same way, and whatever lies within it is left to them.
//! None stands for everything that is not calculated here: functions, searches, long numbers, faults.

use std::cmp::Ordering;

use super::{ROUNDING, Vector, WHOLE};
use crate::elementary::power_of_ten;
use crate::number::run::InputValue;
use crate::number::{Fault, Integrand, Slot, System};
use crate::program::{
    Binary, Direction, LineId, Preferred, Program, Ratio, Relation, Table, Unary,
};
use crate::unit::{Literal, Unit};

/// The number system of fractions.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Fractions;

/// above / below · 10^ten · π^pi.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fraction {
    above: i128,
    /// Above zero.
    below: i128,
    ten: i32,
    pi: i32,
    /// Bound of the relative error of the same value on exact decimals; zero where these are exact.
    slack: f64,
}

/// What one rounding to 28 digits costs at most, doubled.
const ROUNDED: f64 = 2e-27;
/// What an input may have cost that is converted by a fraction or by π.
const CONVERTED: f64 = 2e-26;
/// Numbers of 28 digits lie below; exact decimals keep them exactly.
const KEPT: u128 = 10_u128.pow(28);
/// Powers of ten beside a fraction, up or down.
const TENS: i32 = 60;
/// Whole numbers up to here are f64 themselves and have 15 digits at most.
const SHORT: f64 = 1e15;

impl Fraction {
    const ZERO: Self = Self { above: 0, below: 1, ten: 0, pi: 0, slack: 0.0 };

    pub(super) fn whole(number: i128) -> Self {
        Self { above: number, ..Self::ZERO }
    }

    /// The shortest decimal that reads back as this f64, if it has at most 15 digits.
    pub(super) fn from_f64(value: f64) -> Option<Self> {
        // a decimal of 15 digits that reads back is the only one, since 15 digits survive f64
        (0..=15).find_map(|places| {
            let power = power_of_ten(places);
            let digits = (value * power).round();
            let found = digits.abs() < SHORT && digits / power == value;
            found.then(|| Self { above: whole_of(digits), ten: -places, ..Self::ZERO })
        })
    }

    /// A whole number of steps.
    pub(super) fn multiple(count: f64, step: Self) -> Option<Self> {
        if count.abs() < SHORT { Self::whole(whole_of(count)).times(step) } else { None }
    }

    /// (number + zero) · factor of a unit.
    pub(super) fn in_unit(self, unit: &Unit) -> Option<Self> {
        let shifted = if unit.zero.is_zero() {
            self
        } else {
            let ten = -i32::try_from(unit.zero.scale()).ok()?;
            self.plus(Self { above: unit.zero.mantissa(), ten, ..Self::ZERO })?
        };
        let factor = unit.factor;
        let factor = Self {
            above: i128::try_from(factor.numerator()).ok()?,
            below: i128::try_from(factor.denominator()).ok()?,
            ten: factor.ten(),
            pi: i32::from(factor.pi_power()),
            slack: 0.0,
        };
        let plain = factor.below == 1 && factor.pi == 0;
        let value = shifted.times(factor)?;
        let sure = plain || value.is_zero();
        Some(Self { slack: if sure { value.slack } else { value.slack + CONVERTED }, ..value })
    }

    fn is_zero(self) -> bool {
        self.above == 0
    }

    fn negated(self) -> Self {
        Self { above: -self.above, ..self }
    }

    /// With the slack of an operation on exact decimals: none is added where 28 digits hold the result.
    fn after(self, slack: f64) -> Option<Self> {
        if self.above == 0 {
            return (slack == 0.0).then_some(Self::ZERO);
        }
        if self.ten.abs() > TENS || !slack.is_finite() {
            return None;
        }
        let kept = self.below == 1 && self.pi == 0 && slack == 0.0 && self.has_28_digits();
        Some(Self { slack: if kept { 0.0 } else { slack + ROUNDED }, ..self })
    }

    fn has_28_digits(self) -> bool {
        let mut size = self.above.unsigned_abs();
        while size >= KEPT && size.is_multiple_of(10) {
            size /= 10;
        }
        size < KEPT
    }

    fn times(self, other: Self) -> Option<Self> {
        if self.is_zero() || other.is_zero() {
            return Some(Self::ZERO);
        }
        let (mut x, mut y) = (self, other);
        let of_both =
            |x: Self, y: Self| Some((product(x.above, y.above)?, product(x.below, y.below)?));
        let (above, below) = of_both(x, y).or_else(|| {
            // what divides out across leaves shorter numbers
            (x.above, y.below) = reduced(x.above, y.below);
            (y.above, x.below) = reduced(y.above, x.below);
            of_both(x, y)
        })?;
        let (ten, pi) = (self.ten + other.ten, self.pi + other.pi);
        Self { above, below, ten, pi, slack: 0.0 }.after(self.slack + other.slack)
    }

    fn over(self, other: Self) -> Option<Self> {
        let sign = other.above.signum();
        if sign == 0 {
            return None;
        }
        if self.is_zero() {
            return Some(Self::ZERO);
        }
        let (above, below) = reduced(
            product(self.above, other.below)? * sign,
            product(self.below, other.above.checked_abs()?)?,
        );
        let (ten, pi) = (self.ten - other.ten, self.pi - other.pi);
        Self { above, below, ten, pi, slack: 0.0 }.after(self.slack + other.slack)
    }

    fn plus(self, other: Self) -> Option<Self> {
        if self.is_zero() || other.is_zero() {
            return Some(if self.is_zero() { other } else { self });
        }
        let (x, y, below, ten) = self.beside(other)?;
        let above = x.checked_add(y)?;
        let slack = if self.slack == 0.0 && other.slack == 0.0 {
            0.0
        } else {
            (size(x) * self.slack + size(y) * other.slack) / size(above)
        };
        let pi = self.pi;
        Self { above, below, ten, pi, slack: 0.0 }.after(slack)
    }

    /// Both over one whole number and one power of ten; none where one has another power of π.
    fn beside(self, other: Self) -> Option<(i128, i128, i128, i32)> {
        if self.pi != other.pi {
            return None;
        }
        let ten = self.ten.min(other.ten);
        let lift = |x: Self| match x.ten.abs_diff(ten) {
            0 => Some(x.above),
            gap => product(x.above, tens(gap)?),
        };
        let (x, y) = (lift(self)?, lift(other)?);
        if self.below == other.below {
            return Some((x, y, self.below, ten));
        }
        let (x, y) = (product(x, other.below)?, product(y, self.below)?);
        Some((x, y, product(self.below, other.below)?, ten))
    }

    /// How two values stand to each other, where exact decimals say the same.
    fn stands_to(self, other: Self) -> Option<Ordering> {
        if self.is_zero() || other.is_zero() {
            return Some(self.above.cmp(&other.above));
        }
        let (x, y, ..) = self.beside(other)?;
        let apart = size(x.checked_sub(y)?);
        let slack = 4.0 * (size(x) * self.slack + size(y) * other.slack);
        (apart == 0.0 || apart > slack).then(|| x.cmp(&y))
    }

    fn rounded(self, step: Self, direction: Direction) -> Option<Self> {
        if step.above <= 0 || self.pi != step.pi {
            return if self.is_zero() && step.above > 0 { Some(self) } else { None };
        }
        let above = product(self.above, step.below)?;
        let below = product(self.below, step.above)?;
        let power = tens(self.ten.abs_diff(step.ten))?;
        let (above, below) = if self.ten < step.ten {
            (above, product(below, power)?)
        } else {
            (product(above, power)?, below)
        };
        let (down, rest) = divided(above, below);
        // a whole number of steps exactly, or one that is not within what exact decimals have rounded
        let slack = self.slack + step.slack + ROUNDED;
        let slack = 4.0 * size(above) * slack;
        let clear = |distance: i128| size(distance) > slack;
        let whole = if rest == 0 {
            down
        } else if !clear(rest) || !clear(below - rest) {
            return None;
        } else {
            match direction {
                Direction::Up => down + 1,
                Direction::Down => down,
                Direction::Nearest => {
                    let border = rest.checked_mul(2)?.checked_sub(below)?;
                    if border == 0 || !clear(border.abs()) {
                        return None;
                    }
                    if border > 0 { down + 1 } else { down }
                }
            }
        };
        Self::whole(whole).times(step)
    }

    /// The value in f64 with what is known of it, where exact decimals hold it exactly.
    pub(super) fn lanes(self) -> Option<Vector> {
        let whole = self.slack == 0.0 && self.below == 1 && self.pi == 0;
        if !whole || size(self.above) >= WHOLE || self.ten.abs() > 22 {
            return None;
        }
        // both are f64 themselves, so that this one operation rounds correctly
        let power = power_of_ten(self.ten.abs());
        let number = if self.ten < 0 { near(self.above) / power } else { near(self.above) * power };
        let divisor = 10_i128.checked_pow(self.ten.min(0).unsigned_abs())?;
        let exact = self.above % divisor == 0 && number.abs() < WHOLE;
        Some(Vector { exact, ..Vector::same(number, if exact { 0.0 } else { ROUNDING }) })
    }
}

/// A power of ten.
fn tens(power: u32) -> Option<i128> {
    if power < 19 { Some(i128::from(10_i64.pow(power))) } else { 10_i128.checked_pow(power) }
}

/// Whole number of times that one number above zero is in another, and what is left.
fn divided(above: i128, below: i128) -> (i128, i128) {
    match (i64::try_from(above), i64::try_from(below)) {
        (Ok(above), Ok(below)) => {
            (i128::from(above.div_euclid(below)), i128::from(above.rem_euclid(below)))
        }
        _ => (above.div_euclid(below), above.rem_euclid(below)),
    }
}

/// Product of two numbers; short ones are quicker.
fn product(x: i128, y: i128) -> Option<i128> {
    match (i64::try_from(x), i64::try_from(y)) {
        (Ok(x), Ok(y)) => Some(i128::from(x) * i128::from(y)),
        _ => x.checked_mul(y),
    }
}

#[expect(clippy::cast_precision_loss, reason = "for bounds, and where it is known to be exact")]
fn near(number: i128) -> f64 {
    number as f64
}

fn size(number: i128) -> f64 {
    near(number).abs()
}

#[expect(clippy::cast_possible_truncation, reason = "whole and below 1e15")]
fn whole_of(digits: f64) -> i128 {
    i128::from(digits as i64)
}

/// Without what divides both; the second is above zero.
fn reduced(above: i128, below: i128) -> (i128, i128) {
    let (mut x, mut y) = (above.unsigned_abs(), below.unsigned_abs());
    if y == 1 {
        return (above, below);
    }
    while y != 0 {
        // short numbers are quicker
        (x, y) = match (u64::try_from(x), u64::try_from(y)) {
            (Ok(x), Ok(y)) => (u128::from(y), u128::from(x % y)),
            _ => (y, x % y),
        };
    }
    let common = i128::try_from(x.max(1)).unwrap_or(1);
    if common == 1 { (above, below) } else { (above / common, below / common) }
}

/// What an input is given, or its default.
pub(super) fn inputs_on_fractions(
    program: &Program,
    given: &[Option<InputValue>],
) -> Vec<Slot<Option<Fraction>, Option<bool>>> {
    let number = |literal: &Literal| Fractions.literal(literal, LineId(0));
    let inputs = program.inputs.iter().enumerate();
    inputs
        .map(|(at, input)| match (given.get(at).and_then(Option::as_ref), &input.default) {
            (Some(InputValue::One(literal)), _) | (None, Some(literal)) => {
                Slot::One(number(literal))
            }
            (Some(InputValue::Many(literals)), _) => {
                Slot::Many(literals.iter().map(number).collect())
            }
            (Some(InputValue::Word(place)), _) => {
                Slot::One(i128::try_from(*place).ok().map(Fraction::whole))
            }
            (None, None) => Slot::One(None),
        })
        .collect()
}

impl System for Fractions {
    type Value = Option<Fraction>;
    type Truth = Option<bool>;

    fn literal(&self, literal: &Literal, _: LineId) -> Option<Fraction> {
        let scale = i32::try_from(literal.digits.scale()).ok()?;
        let (above, ten) = (literal.digits.mantissa(), literal.ten.checked_sub(scale)?);
        Fraction { above, ten, ..Fraction::ZERO }.after(0.0)?.in_unit(&literal.unit)
    }

    fn pi(&self) -> Option<Fraction> {
        Some(Fraction { pi: 1, slack: CONVERTED, ..Fraction::whole(1) })
    }

    fn whole(&self, number: i64) -> Option<Fraction> {
        Some(Fraction::whole(i128::from(number)))
    }

    fn fault(&self, _: Fault) -> Option<Fraction> {
        None
    }

    fn unary(&self, function: Unary, x: &Option<Fraction>, _: LineId) -> Option<Fraction> {
        let x = (*x)?;
        match function {
            Unary::Negate => Some(x.negated()),
            Unary::Absolute => Some(Fraction { above: x.above.abs(), ..x }),
            _ => None,
        }
    }

    fn binary(
        &self,
        function: Binary,
        x: &Option<Fraction>,
        y: &Option<Fraction>,
        _: LineId,
    ) -> Option<Fraction> {
        let (x, y) = ((*x)?, (*y)?);
        match function {
            Binary::Add => x.plus(y),
            Binary::Subtract => x.plus(y.negated()),
            Binary::Multiply => x.times(y),
            Binary::Divide => x.over(y),
            Binary::Least | Binary::Greatest => {
                let wanted =
                    if function == Binary::Least { Ordering::Less } else { Ordering::Greater };
                let order = x.stands_to(y)?;
                let first = if order.is_eq() { x.slack <= y.slack } else { order == wanted };
                Some(if first { x } else { y })
            }
            Binary::Raise => None,
        }
    }

    fn power(&self, x: &Option<Fraction>, by: Ratio, _: LineId) -> Option<Fraction> {
        match by {
            Ratio { numerator: count @ 1..=8, denominator: 1 } => {
                let x = (*x)?;
                (1..count).try_fold(x, |power, _| power.times(x))
            }
            _ => None,
        }
    }

    fn compare(
        &self,
        relation: Relation,
        x: &Option<Fraction>,
        y: &Option<Fraction>,
    ) -> Option<bool> {
        Some(relation.holds((*x)?.stands_to((*y)?)?))
    }

    fn both(&self, x: &Option<bool>, y: &Option<bool>) -> Option<bool> {
        match (x, y) {
            (Some(false), _) | (_, Some(false)) => Some(false),
            (Some(true), Some(true)) => Some(true),
            _ => None,
        }
    }

    fn either(&self, x: &Option<bool>, y: &Option<bool>) -> Option<bool> {
        match (x, y) {
            (Some(true), _) | (_, Some(true)) => Some(true),
            (Some(false), Some(false)) => Some(false),
            _ => None,
        }
    }

    fn not(&self, x: &Option<bool>) -> Option<bool> {
        x.map(|truth| !truth)
    }

    fn decided(&self, truth: &Option<bool>) -> Option<bool> {
        *truth
    }

    fn truth_of_fault(&self, _: &Option<Fraction>) -> Option<bool> {
        None
    }

    fn select(
        &self,
        which: &Option<bool>,
        x: &Option<Fraction>,
        y: &Option<Fraction>,
    ) -> Option<Fraction> {
        if (*which)? { *x } else { *y }
    }

    fn round(
        &self,
        direction: Direction,
        x: &Option<Fraction>,
        step: &Option<Fraction>,
        _: LineId,
    ) -> Option<Fraction> {
        (*x)?.rounded((*step)?, direction)
    }

    fn preferred(
        &self,
        _: Direction,
        _: Preferred,
        _: &Option<Fraction>,
        _: LineId,
    ) -> Option<Fraction> {
        None
    }

    fn read(&self, _: &Table, _: &Option<Fraction>, _: LineId) -> Option<Fraction> {
        None
    }

    fn root(
        &self,
        _: &mut dyn Integrand<Option<Fraction>>,
        _: &Option<Fraction>,
        _: &Option<Fraction>,
        _: LineId,
    ) -> Option<Fraction> {
        None
    }

    fn integral(
        &self,
        function: &mut dyn Integrand<Option<Fraction>>,
        from: &Option<Fraction>,
        to: &Option<Fraction>,
        _: LineId,
    ) -> Option<Fraction> {
        // from a place to itself
        let same = (*to)? == (*from)? && (*to)?.slack == 0.0;
        if same { function.at(from)?.times(Fraction::ZERO) } else { None }
    }

    fn deviation(&self, _: &[Option<Fraction>], _: LineId) -> Option<Fraction> {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::Exact;
    use crate::unit::parse_unit;

    fn read(value: f64, unit: &str) -> (Fraction, Exact) {
        let unit = if unit.is_empty() { Unit::one() } else { parse_unit(unit).unwrap() };
        let literal = Literal::from_f64(value, unit.clone()).unwrap();
        let fraction = Fraction::from_f64(value).unwrap().in_unit(&unit).unwrap();
        (fraction, Exact::from_literal(&literal).unwrap())
    }

    // what a fraction says of a value is what exact decimals say of it
    #[test]
    fn fractions_stand_as_exact_decimals_do() {
        let values = [
            (0.1, ""),
            (0.2, ""),
            (0.3, ""),
            (1.0, ""),
            (-2.5, "mm"),
            (350.0, "ms"),
            (0.35, ""),
            (1450.0, "r/min"),
            (1500.0, "r/min"),
            (20.0, "°C"),
            (1.0, "in"),
            (25.4, "mm"),
            (0.0, ""),
        ];
        let all: Vec<_> = values.iter().map(|(value, unit)| read(*value, unit)).collect();
        let mut compared = 0;
        for (x, exact_x) in &all {
            assert!(x.slack > 0.0 || exact_x.is_exact());
            for (y, exact_y) in &all {
                let pairs = [
                    (x.plus(*y), exact_x.plus(exact_y)),
                    (x.times(*y), exact_x.times(exact_y)),
                    (x.over(*y), exact_x.over(exact_y)),
                ];
                for (fraction, exact) in pairs {
                    let (Some(fraction), Ok(exact)) = (fraction, exact) else { continue };
                    for (z, exact_z) in &all {
                        if let Some(order) = fraction.stands_to(*z) {
                            assert_eq!(order, exact.stands_to(exact_z), "{x:?} {y:?} {z:?}");
                            compared += 1;
                        }
                    }
                    if let Some(lanes) = fraction.lanes() {
                        assert_eq!(lanes.at(0), exact.to_f64(), "{x:?} {y:?}");
                    }
                }
            }
        }
        assert!(compared > 4000, "{compared}");
    }

    // worked by hand: 0.3 s · 1500 / 1450 = 0.31034… s; 0.29 · 1500 / 1450 = 0.3 exactly, π and all
    #[test]
    fn a_multiple_is_reported_from_its_neighbours_through_pi() {
        let (reference, speed) = (read(1500.0, "r/min").0, read(1450.0, "r/min").0);
        let step = read(0.01, "").0;
        for (ramp, up) in [(0.3, 0.32), (0.29, 0.3), (0.2901, 0.31)] {
            let set = read(ramp, "").0.times(reference).unwrap().over(speed).unwrap();
            let found = set.rounded(step, Direction::Up).unwrap().lanes().unwrap();
            assert_eq!(found.at(0), up, "{ramp}");
        }
    }

    #[test]
    fn long_numbers_are_left_to_exact_decimals() {
        assert_eq!(Fraction::from_f64(1.0 / 3.0), None);
        assert_eq!(Fraction::from_f64(f64::NAN), None);
        let many = Fraction::whole(i128::MAX / 3);
        assert_eq!(many.times(many), None);
    }
}
