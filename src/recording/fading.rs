//! A brake whose torque falls as it heats: by how much the stops show it, and how much longer it makes a stop that heats
//! it more than they do.

use super::condition::Condition;
use super::fit::{least_squares, quantile_of_t};
use super::measure::{Measured, count_f64};
use super::trace::Trace;

/// Shares of the speed before the stop between which a brake is looked at: it has gripped, and has not stopped yet.
const FROM: f64 = 0.7;
const TO: f64 = 0.1;

/// Samples between them, at least.
const LEAST: usize = 8;

impl Trace<'_> {
    /// By how much more the machine slows at the square of a higher speed, early in the stop, than at a lower one, later:
    /// β of dω/dt = −α − β·ω², by least squares of the integrated equation. A torque that falls in proportion to the heat
    /// that was taken up, which is energy lost, makes just this; friction that grows with the speed looks like it.
    pub(super) fn fading(&self, removed: f64, end: f64) -> Option<Measured> {
        let from = self.last_above(FROM * self.v_0)?.max(removed) + self.behind();
        let to = self.last_above(TO * self.v_0)?.min(end) - self.ahead();
        let points = self.between(from, to);
        let (first, _) = *points.first()?;
        if points.len() < LEAST {
            return None;
        }
        let (mut last, mut squares) = (*points.first()?, 0.0);
        let rows = points.iter().map(|(t, v)| {
            squares += (t - last.0) * (v * v + last.1 * last.1) / 2.0;
            last = (*t, *v);
            ([1.0, t - first, squares], *v)
        });
        let fit = least_squares(&rows.collect::<Vec<_>>())?;
        let [.., variance] = fit.covariance[2];
        // a few samples may lie on a curve by chance: their noise is that of the others
        let few = if fit.rms > 0.0 { (self.noise / fit.rms).max(1.0) } else { 1.0 };
        Some(Measured { value: -fit.x[2], u: 2.0 * variance.sqrt() * few })
    }
}

/// What the stops of a condition show of it: the most that they leave open, and what surely is there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shown {
    pub(super) most: f64,
    pub(super) surely: f64,
}

/// What the stops of a condition show of it: all of them together, or one that surely shows more. None where fewer than
/// half of them show anything.
pub(super) fn fades(condition: &Condition) -> Option<Shown> {
    let all: Vec<Measured> = condition.stops.iter().filter_map(|it| it.fading).collect();
    if 2 * all.len() < condition.stops.len().max(4) {
        return None;
    }
    let n = count_f64(all.len());
    let mean = |of: &dyn Fn(&Measured) -> f64| all.iter().map(of).sum::<f64>() / n;
    let middle = mean(&|it| it.value);
    let apart = mean(&|it| (it.value - middle).powi(2)) * n / (n - 1.0);
    let k = quantile_of_t(all.len() - 1);
    let u = ((k * k * apart).max(mean(&|it| it.u.powi(2))) / n).sqrt();
    let one = |share: f64| all.iter().map(move |it| it.value - share * it.u).fold(0.0, f64::max);
    // of many stops one lies beyond its uncertainty by chance
    Some(Shown { most: (middle + u).max(one(1.0)), surely: (middle - u).max(one(2.0)) })
}

/// A brake as stops show it, and what acts beside it: in coherent SI, the load below zero where it drives.
#[derive(Clone, Copy, Debug)]
pub(super) struct Brake {
    pub(super) inertia: f64,
    pub(super) friction: f64,
    pub(super) load: f64,
    pub(super) torque: f64,
}

/// Time and angle that are added, and which share of its torque the brake loses over a measured stop.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Faded {
    pub(super) time: f64,
    pub(super) angle: f64,
    pub(super) share: f64,
    /// Whether the stops show it, or only leave it open.
    pub(super) sure: bool,
}

/// Steps of a stop that is followed, and of a search.
const STEPS: u32 = 400;
const SEARCH: u32 = 50;

impl Brake {
    /// Time, angle and heat of a stop from a speed, by midpoints over the speed, of a brake that loses `loses` for every
    /// joule; none where it no longer stops the machine.
    fn stops(&self, speed: f64, loses: f64) -> Option<[f64; 3]> {
        let step = speed / f64::from(STEPS);
        let others = self.friction + self.load;
        let slows = |heat: f64| {
            let torque = self.torque - loses * heat;
            let a = (torque + others) / self.inertia;
            (a > 0.0 && torque > 0.0).then_some((a, torque))
        };
        let (mut time, mut angle, mut heat) = (0.0, 0.0, 0.0);
        for at in 0..STEPS {
            let middle = speed - (f64::from(at) + 0.5) * step;
            let (a, torque) = slows(heat)?;
            let (a, torque) = slows(heat + torque * middle * step / a / 2.0)?;
            time += step / a;
            angle += middle * step / a;
            heat += torque * middle * step / a;
        }
        Some([time, angle, heat])
    }

    /// How much longer it stops from `other` than a brake of one torque does, where from `measured` it stops as soon;
    /// `fades` is what its stops show. None where it does not stop the machine any more.
    pub(super) fn faded(&self, measured: f64, other: f64, fades: f64) -> Option<Faded> {
        let net = self.torque + self.friction + self.load;
        if fades <= 0.0 || net <= 0.0 {
            return Some(Faded::default());
        }
        // of what is taken off the energy of the machine, the brake takes its share, with what drives
        let loses = 2.0 * fades * net / self.torque;
        let [time, angle, _] = self.stops(measured, 0.0)?;
        // the torque with which it begins, so that the measured stop takes as long
        let (mut low, mut high) = (1.0, 2.0);
        let with = |times: f64| Self { torque: times * self.torque, ..*self };
        let late = |times: f64| with(times).stops(measured, loses).is_none_or(|it| it[0] > time);
        while late(high) && high < 64.0 {
            high *= 2.0;
        }
        for _ in 0..SEARCH {
            let middle = (low + high) / 2.0;
            if late(middle) { low = middle } else { high = middle }
        }
        let begins = with(high);
        let [.., heat] = begins.stops(measured, loses)?;
        let [one_time, one_angle, _] = self.stops(other, 0.0)?;
        let [longer, farther, _] = begins.stops(other, loses)?;
        let share = loses * heat / begins.torque;
        // as long a stop by a brake that begins stronger goes less far: what the measured one turned is known
        let [_, shorter, _] = begins.stops(measured, loses)?;
        Some(Faded {
            time: (longer - one_time).max(0.0),
            angle: (farther - one_angle + (angle - shorter).max(0.0)).max(0.0),
            share,
            sure: false,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Without what drives, ω′ = −α − β·ω² has a closed solution: t = atan(ω·√(β/α))/√(αβ) (separation of variables).
    #[test]
    #[expect(clippy::disallowed_methods, reason = "a test with the room of its comparison")]
    fn a_fading_brake_stops_as_its_closed_solution() {
        let brake = Brake { inertia: 0.01, friction: 0.0, load: 0.0, torque: 10.0 };
        let (speed, beta) = (150.0, 0.01);
        let loses = 2.0 * beta;
        // the torque at rest, after all of the energy went into the brake
        let alpha = (10.0 - loses * 0.5 * 0.01 * speed * speed) / 0.01;
        let rooted = f64::sqrt(beta / alpha);
        let truth = (speed * rooted).atan() / (alpha * beta).sqrt();
        let [time, ..] = brake.stops(speed, loses).unwrap();
        assert!((time - truth).abs() < 1e-5 * truth, "{time} {truth}");
        let same = brake.faded(speed, speed, beta).unwrap();
        assert!(same.time.abs() < 1e-9, "{same:?}");
        assert!(brake.faded(speed, 2.0 * speed, beta).unwrap().time > 0.01);
        assert_eq!(brake.faded(speed, 2.0 * speed, 0.0).unwrap().time, 0.0);
        assert!(brake.faded(speed, 20.0 * speed, beta).is_none());
    }
}
