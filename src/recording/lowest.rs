//! How low the speeds are that a recording shows: a channel may read nothing below a least speed, and then a machine
//! that still turns looks as one that stands.

use super::measure::count_f64;
use super::trace::Trace;

/// Samples that a mean is taken of, at most.
const MOST: usize = 64;

impl Trace<'_> {
    /// A fall to rest from one sample to the next, far steeper than before it: what lies between was not read. Counts
    /// are read at any speed.
    pub(super) fn unread_end(&self) -> Option<f64> {
        if self.is_position() || self.plan.least.is_some() {
            return None;
        }
        let height = |at: usize| self.v.get(at).map(|v| (v - self.rest).abs());
        let last =
            (0..self.v.len()).rev().find(|at| height(*at) > Some(self.plan.standstill.si))?;
        let (from, to) = (height(last)?, height(last + 1)?);
        let before = last.checked_sub(8)?;
        let usual = ((height(before)? - from) / 8.0).max(0.0);
        let fall = from - to;
        (fall > 2.5 * usual + 6.0 * self.noise + 2.0 * self.step).then_some(from)
    }

    /// The least speed that the samples are sure to show, as a sample or as the first of two means that follow one
    /// another: a channel that reads nothing below a speed makes one mean of less than it, and no two.
    pub(super) fn lowest(&self) -> f64 {
        let end = self.last_above(self.plan.standstill.si).unwrap_or(0.0) + self.plan.filter.si;
        let end = self.t.partition_point(|t| *t <= end);
        let all = self.v.get(self.before..end).unwrap_or_default();
        let mut lowest = f64::INFINITY;
        let mut n = 1;
        while n <= MOST {
            let root = (count_f64(n) / self.lasting).max(1.0).sqrt();
            // four standard deviations of what is read at rest, three of what is read before
            let clear = (4.0 * self.still / root).max(self.step / 2.0);
            let mean = |part: &[f64]| part.iter().sum::<f64>() / count_f64(n) - self.rest;
            let seen = all.windows(if n == 1 { 1 } else { 2 * n }).filter_map(|both| {
                let (first, second) = both.split_at(n);
                let first = mean(first);
                let shows = first > clear && (second.is_empty() || mean(second) > clear);
                shows.then_some(first)
            });
            lowest = lowest.min(seen.fold(f64::INFINITY, f64::min) + 3.0 * self.noise / root);
            n *= 2;
        }
        lowest
    }
}
