//! What a number system must be able to do.

use crate::diagnostic::Name;
use crate::program::{Binary, Direction, LineId, Preferred, Ratio, Relation, Table, Unary};
use crate::unit::Literal;

/// Why a value does not exist, and which line asked for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Stable name.
    pub name: Name,
    /// Line of the sheet whose step failed first.
    pub line: LineId,
    /// What was found, in coherent SI where no unit is said; may be empty.
    pub words: String,
}

impl Fault {
    /// Names a fault.
    #[must_use]
    pub fn new(name: Name, line: LineId, words: impl Into<String>) -> Self {
        Self { name, line, words: words.into() }
    }
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
        function: &mut dyn FnMut(&Self::Value) -> Self::Value,
        from: &Self::Value,
        to: &Self::Value,
        line: LineId,
    ) -> Self::Value;
    /// The integral of a function between two bounds.
    fn integral(
        &self,
        function: &mut dyn FnMut(&Self::Value) -> Self::Value,
        from: &Self::Value,
        to: &Self::Value,
        line: LineId,
    ) -> Self::Value;

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
