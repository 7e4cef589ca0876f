//! What a recording does not show: a channel may read nothing below a least speed, and steps hide a creep; a machine
//! that still turns then looks as one that stands.

use super::measure::{Measured, apart, count_f64};
use super::trace::Trace;

/// Samples that a mean is taken of, at most.
const MOST: usize = 64;

/// How long a smoothed drop of the channel lasts at most: so many samples, or seconds.
const DROP: (usize, f64) = (10, 0.05);

/// A drop is by so much steeper than the way down before it.
const STEEPER: f64 = 1.4;

/// The least number of samples that show a creep, each of them a step above rest and none below.
const FEW: usize = 3;

impl Trace<'_> {
    /// A fall to rest from one sample to the next, far steeper than before it: what lies between was not read. Counts
    /// are read at any speed.
    pub(super) fn unread_end(&self) -> Option<f64> {
        if self.is_position() {
            return None;
        }
        let height = |at: usize| self.v.get(at).map(|v| (v - self.rest).abs());
        let last =
            (0..self.v.len()).rev().find(|at| height(*at) > Some(self.plan.standstill.si))?;
        let (from, to) = (height(last)?, height(last + 1)?);
        let before = last.checked_sub(8)?;
        let usual = ((height(before)? - from) / 8.0).max(0.0);
        let fall = from - to;
        // what is said of low speeds says nothing of a fall from a high one
        let high = if self.plan.least.is_some() { self.high() } else { 0.0 };
        (from > high && fall > 2.5 * usual + 6.0 * self.noise + 2.0 * self.step).then_some(from)
    }

    /// The sample from which the last of the way down is steeper than before it, down to rest: a channel that drops to
    /// nothing, and a filter behind it, make such an end as well as a brake does.
    fn drops_from(&self) -> Option<usize> {
        let last = (0..self.v.len()).rev().find(|at| self.height(*at) > self.plan.standstill.si)?;
        let long = count_f64(DROP.0).max(DROP.1 / self.sampling);
        let from = |at: &usize| count_f64(last - at) < long;
        (self.before.max(8)..=last).rev().take_while(from).find(|at| {
            let start = self.height(*at);
            let steep = |n: usize| {
                // as long a part before it, so that the noise of its slope does not grow with n
                let long = n.max(8).min(*at);
                let share = STEEPER * count_f64(n) / count_f64(long);
                let before = (self.height(at - long) - start).max(0.0);
                // five standard deviations of the difference of three samples
                let margin =
                    5.0 * self.noise * ((1.0 + share).powi(2) + 1.0 + share * share).sqrt();
                start - self.height(at + n) > share * before + margin
            };
            start < 0.25 * self.v_0 && (1..=last + 1 - at).any(steep)
        })
    }

    fn height(&self, at: usize) -> f64 {
        self.v.get(at).map_or(0.0, |v| v - self.rest)
    }

    /// The least speed that the samples are sure to show, as a sample or as the first of two means that follow one
    /// another: a channel that reads nothing below a speed makes one mean of less than it, and no two. What an end
    /// shows that is steeper than before it may be a drop of the channel.
    pub(super) fn lowest(&self) -> f64 {
        let end = self.last_above(self.floor() + self.rest).unwrap_or(0.0) + self.plan.filter.si;
        let end = self.t.partition_point(|t| *t <= end);
        let end = self.drops_from().map_or(end, |from| end.min(from + 1));
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

    /// Samples at the end of `hold` that read a step or more above the middle one, and below it.
    pub(super) fn flickers(&self) -> [usize; 2] {
        let tail = self.standing();
        let level = self.level(tail);
        let off = |side: f64| tail.iter().filter(|v| side * (*v - level) > self.step / 2.0).count();
        if self.step > 0.0 { [off(1.0), off(-1.0)] } else { [0, 0] }
    }

    fn level(&self, tail: &[f64]) -> f64 {
        let mut all = tail.to_vec();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(self.rest)
    }

    /// Standstill, where steps show something after it now and then, always on the way ahead, and nothing at the end: a
    /// creep of less than a step ends some way after it is seen for the last time, or there was none. `end` is that of
    /// the way down, `time` what was found so far.
    pub(super) fn with_flickers(&self, end: Measured, time: Measured) -> Measured {
        let tail = self.standing();
        if self.step == 0.0 || self.flickers() != [0, 0] {
            return time;
        }
        let level = self.level(tail);
        let after = self.t.iter().zip(&self.v).filter(|(t, _)| **t > end.value + end.u);
        let off = after.filter(|(_, v)| (*v - level).abs() > self.step / 2.0);
        let off: Vec<(f64, bool)> = off.map(|(t, v)| (*t, *v > level)).collect();
        let (Some(first), Some(last)) = (off.first(), off.last()) else { return time };
        if off.len() < FEW || off.iter().any(|it| !it.1) {
            return time;
        }
        // three times what lies between two of them: of chance alone one in twenty is longer
        let gap = (last.0 - first.0) / count_f64(off.len() - 1);
        let latest = Measured { value: last.0, u: self.sampling + 3.0 * gap };
        apart(&[time, latest]).unwrap_or(time)
    }
}
