//! Slopes over the directions: the chain rule, kept valid for any two values of an interval.

use super::Interval;

/// A slope for each direction; those beyond the end are zero.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Slopes(Vec<Interval>);

impl Slopes {
    /// One direction.
    pub(super) fn along(direction: usize, seed: Interval) -> Self {
        let mut all = vec![Interval::ZERO; direction];
        all.push(seed);
        Self(all)
    }

    pub(super) fn get(&self, direction: usize) -> Interval {
        self.0.get(direction).copied().unwrap_or(Interval::ZERO)
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    /// Each slope changed.
    pub(super) fn map(&self, change: impl Fn(Interval) -> Interval) -> Self {
        Self(
            self.0
                .iter()
                .map(|slope| if *slope == Interval::ZERO { *slope } else { change(*slope) })
                .collect(),
        )
    }

    /// Each slope times a factor.
    pub(super) fn times(&self, factor: Interval) -> Self {
        if factor == Interval::ONE { self.clone() } else { self.map(|slope| slope.times(factor)) }
    }

    /// Two slopes of each direction made one; both zero stays zero.
    pub(super) fn zip(&self, other: &Self, join: impl Fn(Interval, Interval) -> Interval) -> Self {
        let count = self.len().max(other.len());
        Self(
            (0..count)
                .map(|at| match (self.get(at), other.get(at)) {
                    (Interval::ZERO, Interval::ZERO) => Interval::ZERO,
                    (x, y) => join(x, y),
                })
                .collect(),
        )
    }

    /// Sum.
    pub(super) fn plus(&self, other: &Self) -> Self {
        if other.len() == 0 {
            return self.clone();
        }
        self.zip(other, Interval::plus)
    }

    /// Each slope with its direction changed, up to a number of directions.
    pub(super) fn map_at(
        &self,
        count: usize,
        change: impl Fn(usize, Interval) -> Interval,
    ) -> Self {
        Self((0..count.max(self.len())).map(|at| change(at, self.get(at))).collect())
    }

    /// The first so many directions.
    pub(super) fn truncated(mut self, count: usize) -> Self {
        self.0.truncate(count);
        self
    }

    /// The directions that are not zero, a bit each; the last bit stands for all beyond.
    pub(super) fn directions(&self) -> u128 {
        self.0
            .iter()
            .enumerate()
            .filter(|(_, slope)| **slope != Interval::ZERO)
            .fold(0, |bits, (at, _)| bits | bit(at))
    }
}

/// The bit of a direction.
pub(super) fn bit(direction: usize) -> u128 {
    1_u128 << direction.min(127)
}

/// The slope of a step function that never falls.
pub(super) fn never_falling(slope: Interval) -> Interval {
    let low = if slope.low < 0.0 { f64::NEG_INFINITY } else { 0.0 };
    let high = if slope.high > 0.0 { f64::INFINITY } else { 0.0 };
    Interval::new(low, high)
}
