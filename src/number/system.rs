//! What a number system must be able to do.

use super::{Bound, Fault, Interval, Possible};
use crate::program::{Binary, Direction, LineId, Preferred, Ratio, Relation, Table, Unary};
use crate::unit::Literal;

/// What a function between two bounds can do, found on bounds.
#[derive(Clone, Debug, Default)]
pub struct Dissection {
    /// Where its pieces end, from the lower bound to the upper; within a piece nothing is hidden.
    pub edges: Vec<f64>,
    /// The ends of the pieces that may still hold a corner or a jump, however narrow.
    pub corners: Vec<f64>,
    /// What the integral over those pieces leaves open.
    pub open: f64,
    /// What its integral lies within; none where that is not found.
    pub integral: Option<Interval>,
    /// The place that spoils it, where it is not found.
    pub spoilt: Option<Interval>,
}

/// A place where a function may be zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Zero {
    /// Where.
    pub within: Interval,
    /// Whether it is continuous there and rises or falls only: then it is zero once.
    pub sure: bool,
}

/// A function within a search: what `root of` or `integral of` is asked of.
pub trait Integrand<V> {
    /// Its value.
    fn at(&mut self, x: &V) -> V;

    /// How far each of the levels that make a corner lies away; each runs as a straight line, and the corner is
    /// where it is zero.
    fn corners(&mut self, x: &V) -> Vec<V>;

    /// Whether there are no other corners, and nothing that may hide between points.
    fn is_complete(&mut self) -> bool;

    /// Whether it runs as a straight line.
    fn is_straight(&mut self) -> bool;

    /// Its pieces on bounds between two numbers, cut at others; none without bounds of it.
    fn dissect(&mut self, from: f64, to: f64, cuts: &[f64]) -> Option<Dissection>;

    /// The places on bounds between two numbers where it may be zero; none without bounds of it.
    fn zeros(&mut self, from: f64, to: f64) -> Option<Vec<Zero>>;
}

/// The arithmetic of one number system.
///
/// A value may be poisoned by a [`Fault`]; whatever reads it passes the first fault on. Values are in
/// coherent SI. A system may keep many rows in one value: then every method works row by row.
pub trait System {
    /// A number, or the fault that stands in its place.
    type Value: Clone;
    /// True, false, or the fault that stands in its place.
    type Truth: Clone;

    /// A number as written.
    fn literal(&self, literal: &Literal, line: LineId) -> Self::Value;
    /// π.
    fn pi(&self) -> Self::Value;
    /// A whole number.
    fn whole(&self, number: i64) -> Self::Value;
    /// The value that stands for a fault.
    fn fault(&self, fault: Fault) -> Self::Value;

    /// A function of one value.
    fn unary(&self, function: Unary, x: &Self::Value, line: LineId) -> Self::Value;
    /// A function of two values.
    fn binary(
        &self,
        function: Binary,
        x: &Self::Value,
        y: &Self::Value,
        line: LineId,
    ) -> Self::Value;
    /// A rational power.
    fn power(&self, x: &Self::Value, by: Ratio, line: LineId) -> Self::Value;

    /// How two values stand to each other; a tie within what was rounded is equal.
    fn compare(&self, relation: Relation, x: &Self::Value, y: &Self::Value) -> Self::Truth;
    /// Both; false if one is false, whatever the other.
    fn both(&self, x: &Self::Truth, y: &Self::Truth) -> Self::Truth;
    /// At least one; true if one is true, whatever the other.
    fn either(&self, x: &Self::Truth, y: &Self::Truth) -> Self::Truth;
    /// Turned round.
    fn not(&self, x: &Self::Truth) -> Self::Truth;
    /// How a truth comes out, where no fault stands in its place and it can only come out so: what the other case
    /// alone reads is then not asked for.
    fn decided(&self, _truth: &Self::Truth) -> Option<bool> {
        None
    }
    /// The truth that stands for the fault of a value.
    fn truth_of_fault(&self, value: &Self::Value) -> Self::Truth;
    /// The second where the first holds, else the third.
    fn select(&self, which: &Self::Truth, x: &Self::Value, y: &Self::Value) -> Self::Value;

    /// A value rounded to a multiple of a step above zero.
    fn round(
        &self,
        direction: Direction,
        x: &Self::Value,
        step: &Self::Value,
        line: LineId,
    ) -> Self::Value;
    /// The preferred number next to a value above zero.
    fn preferred(
        &self,
        direction: Direction,
        series: Preferred,
        x: &Self::Value,
        line: LineId,
    ) -> Self::Value;
    /// A table read at a value.
    fn read(&self, table: &Table, x: &Self::Value, line: LineId) -> Self::Value;

    /// The argument between two bounds at which a function is zero.
    fn root(
        &self,
        function: &mut dyn Integrand<Self::Value>,
        from: &Self::Value,
        to: &Self::Value,
        line: LineId,
    ) -> Self::Value;

    /// The integral of a function between two bounds.
    fn integral(
        &self,
        function: &mut dyn Integrand<Self::Value>,
        from: &Self::Value,
        to: &Self::Value,
        line: LineId,
    ) -> Self::Value;

    /// A value as bounds, for a function to be looked at between points; none without such a view.
    fn as_bound(&self, _value: &Self::Value) -> Option<Bound> {
        None
    }

    /// The same for a truth.
    fn as_possible(&self, _truth: &Self::Truth) -> Option<Possible> {
        None
    }

    /// Sample standard deviation of two values or more.
    fn deviation(&self, values: &[Self::Value], line: LineId) -> Self::Value {
        sample_deviation(self, values, line)
    }

    /// Takes back a value that is no longer read, to use its memory again.
    fn recycle(&self, _value: Self::Value) {}
}

/// Sample standard deviation step by step: √(Σ (x − mean)² / (n − 1)).
pub(super) fn sample_deviation<S: System + ?Sized>(
    system: &S,
    values: &[S::Value],
    line: LineId,
) -> S::Value {
    let count = i64::try_from(values.len()).unwrap_or(i64::MAX);
    let zero = || system.whole(0);
    let sum = values.iter().fold(zero(), |sum, x| system.binary(Binary::Add, &sum, x, line));
    let mean = system.binary(Binary::Divide, &sum, &system.whole(count), line);
    let squares = values.iter().fold(zero(), |sum, x| {
        let distance = system.binary(Binary::Subtract, x, &mean, line);
        let square = system.binary(Binary::Multiply, &distance, &distance, line);
        system.binary(Binary::Add, &sum, &square, line)
    });
    let variance = system.binary(Binary::Divide, &squares, &system.whole(count - 1), line);
    system.unary(Unary::SquareRoot, &variance, line)
}
