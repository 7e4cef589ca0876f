//! What a recording shows that a measured stop does not: no noise at all, zero alone at rest, an end far steeper than the
//! way down, a fall before its cause.

use super::copies::second;
use super::doubts::{Doubts, Sooner};
use super::fit::straight;
use super::measure::{Measured, count_f64};
use super::stop::Ramp;
use super::trace::Trace;

/// Share of the speed below which two values are one: what the last digits leave.
const SAME: f64 = 1e-6;

/// Share of the speed that noise or steps of a measured channel leave from one sample to the next (common practice, no
/// source).
const EVEN: f64 = 2e-4;

/// An end that is so many times as steep as the way down before it, from so large a share of the speed on, within so
/// many seconds, is no run-down (common practice, no source).
const STEEP: (f64, f64, f64) = (3.0, 0.05, 0.05);

/// A brake closes within so many seconds of the removal of torque (common practice, no source).
const CLOSES: f64 = 0.2;

/// So many values at rest are a last digit that goes to and fro, and noise that is so many times less there than at speed
/// is cut off (common practice, no source).
const DIGITS: usize = 3;
const QUIET: f64 = 10.0;

/// Share of the speed that a fall must have which is in many stops alike (common practice, no source).
const SLIGHT: f64 = 0.001;

/// Share of the speed that a fall before its cause must have, beside its uncertainty (common practice, no source).
const FALLEN: f64 = 0.005;

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / count_f64(values.len().max(1))
}

fn spread(values: &[f64]) -> f64 {
    let (low, high) =
        values.iter().fold((f64::MAX, f64::MIN), |(low, high), it| (low.min(*it), high.max(*it)));
    high - low
}

impl Trace<'_> {
    /// What is doubtful, with the speed before the stop, what became of its ramp, and the speed left at the removal.
    pub(super) fn doubts(
        &self,
        speed: Measured,
        ramp: Option<Ramp>,
        left: Option<Measured>,
    ) -> Doubts {
        let no_ramp = self.plan.at_once || ramp == Some(Ramp::Missing);
        let u = speed.u + self.smeared();
        // a load that drives lets it rise
        let lost = |left: Measured| Measured { value: speed.value - left.value, u: u + left.u };
        let clear = |it: &Measured| it.value.abs() > it.u + FALLEN * self.v_0;
        Doubts {
            no_noise: self.is_even(),
            cut_off: self.is_cut_off(),
            offset: Some(self.rest).filter(|it| it.abs() > self.unread_rest()),
            steep: self.steep_end(),
            commanded: self.lost_before(),
            removed: left.filter(|_| no_ramp).map(lost).filter(clear),
            sooner: left.filter(|_| no_ramp).and_then(|it| self.sooner(speed.value, it.value)),
            moved_off: left
                .filter(|it| ramp == Some(Ramp::Finished) && it.value > self.plan.standstill.si),
            off_ramp: left
                .filter(|_| !no_ramp && ramp == Some(Ramp::CutShort))
                .and_then(|it| self.off_ramp(it)),
        }
    }

    /// Speed lost before torque was removed.
    fn sooner(&self, speed: f64, left: f64) -> Option<Sooner> {
        let (removed, half) = self.removed?;
        let from = removed + half + self.settles();
        let long = (8.0 * self.sampling).max(0.01);
        let line = straight(&self.between(from, from + long), self.noise)?;
        let until = removed - half - self.late() - self.sampling - Sooner::LEFT;
        let early = self.between(until - long / 2.0, until);
        let count = count_f64(early.len().max(1));
        let before = early.iter().map(|it| it.1).sum::<f64>() / count;
        let early = if early.is_empty() { speed } else { before };
        Some(Sooner {
            lost: speed - left,
            early: speed - early,
            smeared: self.smeared(),
            falls: -line.slope,
            least: SLIGHT * self.v_0,
        })
    }

    /// How far a filter of the recorder shows the speed off where a fall begins or bends.
    fn smeared(&self) -> f64 {
        let Some(smear) = self.smear else { return 0.0 };
        let high = self.first_below(0.9 * self.v_0);
        let took = high.zip(self.first_below(0.5 * self.v_0)).map_or(0.0, |(a, b)| b - a);
        let steep = 0.4 * self.v_0 / took.max(self.sampling);
        steep * (smear.u_delay() + smear.square().sqrt())
    }

    /// Whether the samples are even before the stop, on the way down and at rest, as those of a set-point are.
    fn is_even(&self) -> bool {
        let all = self.t.iter().zip(&self.v).skip(self.before);
        let moves = all.filter(|(_, v)| (0.05..0.95).contains(&(**v / self.v_0)));
        let (times, speeds): (Vec<f64>, Vec<f64>) = moves.unzip();
        let mut bends: Vec<f64> = second(&times, &speeds).iter().map(|it| it.abs()).collect();
        bends.sort_by(f64::total_cmp);
        // where torque goes there may be a kink
        let most = bends.len().checked_sub(3).and_then(|at| bends.get(at));
        let same = |part: &[f64]| spread(part) <= SAME * self.v_0;
        most.is_some_and(|it| *it <= EVEN * self.v_0)
            && same(self.v.get(..self.before).unwrap_or_default())
            && same(self.standing())
    }

    /// Whether the channel reads one value alone at rest, or its last digit to and fro, where noise as before would show
    /// on both sides of it: its range may end there, whatever was said of its zero.
    fn is_cut_off(&self) -> bool {
        // from sample to sample: a ripple of the turning machine ends with it, and steps then hide the noise
        let of = |times: &[f64], speeds: &[f64]| {
            let bends = second(times, speeds);
            let squares: f64 = bends.iter().map(|it| it * it).sum();
            (squares / count_f64(bends.len().max(1)) / 6.0).sqrt()
        };
        let (times, speeds) = (self.t.get(..self.before), self.v.get(..self.before));
        let noise = of(times.unwrap_or_default(), speeds.unwrap_or_default());
        let tail = self.standing();
        let times = self.t.get(self.t.len().saturating_sub(tail.len())..).unwrap_or_default();
        let mut values = tail.to_vec();
        values.sort_by(f64::total_cmp);
        values.dedup_by(|a, b| (*a - *b).abs() <= SAME * self.v_0 / 10.0);
        !self.is_position()
            && self.plan.zero.is_none()
            && noise > self.step
            && noise > SAME * self.v_0
            && values.len() <= DIGITS
            && noise > QUIET * of(times, tail)
    }

    /// The least height of a fall that no run-down makes at once, whatever is said of low speeds.
    pub(super) fn high(&self) -> f64 {
        (3.0 * self.plan.standstill.si).max(STEEP.1 * self.v_0)
    }

    /// From which speed the end is far steeper than the way down before it, and how many times. What a channel reads
    /// of low speeds says nothing of it; a brake that closes as torque goes does.
    fn steep_end(&self) -> Option<(f64, f64)> {
        if self.is_position() || self.plan.least.is_none() {
            return None;
        }
        let height = |at: usize| self.v.get(at).map(|v| v - self.rest);
        let last =
            (0..self.v.len()).rev().find(|at| height(*at) > Some(self.plan.standstill.si))?;
        let end = self.t.get(last + 1)?;
        let within = STEEP.2.max(3.0 * self.sampling);
        let (mut level, mut found) = (self.high(), None);
        while level < 0.9 * self.v_0 {
            let at = (self.before..=last).rev().find(|at| height(*at) > Some(level))?;
            level *= 1.25;
            let (from, start) = (height(at)?, self.t.get(at)?);
            let took = end - start;
            if took > within {
                break;
            }
            let closes = self.removed.is_some_and(|(t, _)| (0.0..CLOSES).contains(&(start - t)));
            let earlier =
                self.t.partition_point(|t| *t < start - (2.0 * took).max(8.0 * self.sampling));
            let (Some(higher), Some(since)) = (height(earlier), self.t.get(earlier)) else {
                continue;
            };
            let long = start - since;
            let usual = ((higher - from) / long).max(0.0) + 5.0 * self.noise / long;
            let times = from / took / usual;
            if times > STEEP.0 && !closes {
                found = Some((from, times));
            }
        }
        found
    }

    /// Speed lost before the command: beyond noise, and beyond what the speed goes up and down before.
    fn lost_before(&self) -> Option<Measured> {
        let all = self.v.get(..self.before)?;
        let short = self.t.iter().take(all.len()).filter(|t| **t > -self.plan.filter.si).count();
        let n = short.max(4);
        // what lies between may hold some of the fall
        let early = all.get(..3 * all.len() / 5)?;
        let late = all.get(all.len().checked_sub(n)?..)?;
        if early.len() < 3 * n {
            return None;
        }
        let level = mean(early);
        let usual = early.windows(n).fold(0.0, |most: f64, it| most.max((mean(it) - level).abs()));
        let squares: f64 = early.iter().map(|it| (it - level).powi(2)).sum();
        let noise = (squares / count_f64(early.len())).sqrt();
        let lost = level - mean(late);
        let u =
            self.smeared() + self.step / 2.0 + (5.0 * noise / count_f64(n).sqrt()).max(1.5 * usual);
        (lost > u + FALLEN * self.v_0).then_some(Measured { value: lost, u })
    }

    /// How far the speed at the removal lies off the ramp before it: torque that went sooner leaves another slope. A
    /// ramp that is no straight line says nothing.
    fn off_ramp(&self, left: Measured) -> Option<Measured> {
        let (removed, _) = self.removed?;
        let before = (4.0 * self.plan.filter.si).max(12.0 * self.sampling);
        let line = self.ramp(removed - before)?;
        let straight = self.plan.rounded.as_ref().is_none_or(|it| it.si == 0.0)
            && line.rms < 2.0 * self.noise + self.step;
        let value = left.value - line.at(removed).max(0.0);
        let u = self.smeared()
            + left.u
            + line.k * line.variance_at(removed).sqrt()
            + 2.0 * FALLEN * self.v_0;
        (straight && value.abs() > u).then_some(Measured { value, u })
    }
}
