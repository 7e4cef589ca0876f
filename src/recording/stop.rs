//! One recorded stop: its figures, each with its expanded uncertainty.

use super::fit::{Straight, straight};
use super::friction::{RunDown, run_down};
use super::measure::{Measured, count_f64, digits};
use super::plan::Plan;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::elementary::logarithm;

/// The samples of one stop, in coherent SI.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// The file.
    pub file: String,
    /// Where it begins.
    pub(super) place: Option<Place>,
    pub(super) row: u32,
    /// When the stop was commanded, on the recorder's clock, and half of what lies between two samples there.
    pub(super) commanded: f64,
    pub(super) half: f64,
    pub(super) before: Vec<(f64, f64)>,
    pub(super) points: Vec<(f64, f64)>,
    /// When torque was removed, likewise.
    pub(super) removed: Option<(f64, f64)>,
    pub(super) has_removed: bool,
    /// Whether the command was seen in the speed itself.
    pub(super) by_speed: bool,
    /// How many samples became one.
    pub(super) joined: usize,
    /// The longest time between two samples.
    pub(super) longest: f64,
}

/// What became of the ramp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ramp {
    /// It stood before torque went.
    Finished,
    /// Torque went while it still turned.
    CutShort,
    /// The speed had hardly fallen when torque went.
    Missing,
}

impl Ramp {
    /// As a person reads it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Finished => "finished",
            Self::CutShort => "cut short",
            Self::Missing => "missing",
        }
    }
}

/// The figures of one stop, in coherent SI, from the stop command on.
#[derive(Clone, Debug)]
pub struct Stop {
    /// The file.
    pub file: String,
    /// Where in it the stop begins.
    pub place: Place,
    /// Speed before the stop.
    pub speed: Measured,
    /// Noise of one sample, as a standard deviation.
    pub noise: f64,
    /// Step in which the speed was recorded; zero where none is seen.
    pub step: f64,
    /// Time between samples, the middle one.
    pub sampling: f64,
    /// From the command to the start of the ramp: where the line of the ramp meets the speed before it.
    pub response: Option<Measured>,
    /// Deceleration of the ramp's line.
    pub slope: Option<Measured>,
    /// Time from the command until the speed stays below the threshold.
    pub below: Measured,
    /// Time from the command to standstill: the line of the last speeds, down to zero.
    pub time: Measured,
    /// Angle, or way, from the command to standstill.
    pub turned: Measured,
    /// From the command to the removal of torque.
    pub delay: Option<Measured>,
    /// Speed left then; none where it stood, or nothing was recorded.
    pub left: Option<Measured>,
    /// What became of the ramp; none where the removal was not recorded.
    pub ramp: Option<Ramp>,
    /// Deceleration from the start of the ramp to standstill.
    pub mean: Measured,
    /// Largest deceleration over [`Stop::window`].
    pub peak: Measured,
    /// Window of the peak, in s.
    pub window: f64,
    /// Largest speed backwards after standstill; none above what noise makes.
    pub rebound: Option<Measured>,
    /// What follows the removal of torque.
    pub run_down: Option<RunDown>,
    /// The curve for a picture, times from the command.
    pub curve: Vec<(f64, f64)>,
}

/// Points of a curve in a picture.
const DRAWN: usize = 240;

/// Samples that a stop needs from command to standstill.
const LEAST: usize = 30;

/// Samples of a line.
const OF_A_LINE: usize = 8;

/// Standard deviation of points around the line through them.
pub(super) fn spread_of(points: &[(f64, f64)]) -> f64 {
    straight(points, 0.0).map_or(0.0, |line| line.rms)
}

/// The figures of a recorded stop.
///
/// # Errors
/// All that keeps it from being judged, each with the cell where the stop begins.
pub fn judge(recorded: &Recorded, plan: &Plan) -> Result<Stop, Vec<Diagnostic>> {
    let trace = Trace::new(recorded, plan);
    let place = recorded.place.clone().unwrap_or(Place::File { name: recorded.file.clone() });
    let located = |problem: Diagnostic| problem.at(place.clone());
    let problems: Vec<Diagnostic> = trace.problems().into_iter().map(located).collect();
    if !problems.is_empty() {
        return Err(problems);
    }
    trace.figures(recorded, &place).map_err(|problem| vec![located(problem)])
}

/// Samples from the command on, falling from a positive speed.
struct Trace<'a> {
    plan: &'a Plan,
    t: Vec<f64>,
    v: Vec<f64>,
    /// The centred mean of `v`.
    f: Vec<f64>,
    /// Samples before the command.
    before: usize,
    speed: Straight,
    v_0: f64,
    variance_0: f64,
    noise: f64,
    step: f64,
    /// Noise of the centred mean.
    calm: f64,
    sampling: f64,
    longest: f64,
    removed: Option<(f64, f64)>,
    by_speed: bool,
}

fn middle_of(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// The step in which values were recorded: all of them are whole numbers of it.
fn step_of(values: &[f64]) -> f64 {
    let pairs = values.iter().zip(values.iter().skip(1));
    let size = values.iter().fold(0.0, |most: f64, it| most.max(it.abs()));
    let jumps = pairs.map(|(a, b)| (a - b).abs()).filter(|jump| *jump > 1e-9 * size);
    let least = jumps.fold(f64::INFINITY, f64::min);
    if !least.is_finite() {
        return 0.0;
    }
    let first = values.first().copied().unwrap_or(0.0);
    let whole = |value: &&f64| {
        let parts = (*value - first) / least;
        (parts - parts.round()).abs() < 0.01 + 1e-7 * size / least
    };
    let count = values.iter().filter(whole).count();
    if count_f64(count) > 0.99 * count_f64(values.len()) { least } else { 0.0 }
}

/// The mean over a width around each moment; also how many samples it has, at the middle.
fn centred(t: &[f64], v: &[f64], width: f64) -> (Vec<f64>, f64) {
    let mut sums = Vec::with_capacity(v.len() + 1);
    let mut sum = 0.0;
    sums.push(0.0);
    for value in v {
        sum += value;
        sums.push(sum);
    }
    let (mut from, mut to) = (0, 0);
    let mut counts = Vec::with_capacity(v.len());
    let mean = t.iter().map(|moment| {
        while t.get(from).is_some_and(|it| *it < moment - width / 2.0) {
            from += 1;
        }
        while t.get(to).is_some_and(|it| *it <= moment + width / 2.0) {
            to += 1;
        }
        let count = count_f64((to - from).max(1));
        counts.push(count);
        let sum = sums.get(to).copied().unwrap_or(0.0) - sums.get(from).copied().unwrap_or(0.0);
        sum / count
    });
    let mean = mean.collect();
    (mean, middle_of(counts))
}

impl<'a> Trace<'a> {
    fn new(recorded: &Recorded, plan: &'a Plan) -> Self {
        let mean = recorded.before.iter().map(|it| it.1).sum::<f64>();
        let sign = if mean < 0.0 { -1.0 } else { 1.0 };
        let all = || recorded.before.iter().chain(&recorded.points);
        let t: Vec<f64> = all().map(|it| it.0 - recorded.commanded).collect();
        let v: Vec<f64> = all().map(|it| it.1 * sign).collect();
        let (f, count) = centred(&t, &v, plan.filter.si);
        let level: Vec<(f64, f64)> =
            t.iter().copied().zip(v.iter().copied()).take(recorded.before.len()).collect();
        let speed = straight(&level, 0.0).unwrap_or(Straight::flat(mean.abs()));
        let n = count_f64(level.len().max(1));
        let v_0 = level.iter().map(|it| it.1).sum::<f64>() / n;
        let step = step_of(&v);
        let noise = speed.rms;
        let coarse = if noise < step / 2.0 { step * step / 12.0 } else { 0.0 };
        let gaps = recorded.points.iter().zip(recorded.points.iter().skip(1));
        let sampling = middle_of(gaps.map(|(a, b)| b.0 - a.0).collect());
        let noise = noise.max(step / 12.0_f64.sqrt());
        Self {
            plan,
            t,
            v,
            f,
            before: recorded.before.len(),
            speed,
            v_0,
            variance_0: speed.rms * speed.rms / n + coarse,
            noise,
            step,
            calm: noise / count.sqrt(),
            sampling,
            longest: recorded.longest,
            removed: recorded.removed.map(|(t, half)| (t - recorded.commanded, half)),
            by_speed: recorded.by_speed,
        }
    }

    /// A speed as a person reads it, in the unit of the threshold.
    fn words(&self, speed: f64) -> String {
        let unit = if self.plan.standstill.written.contains("m/s") {
            ("m/s", 1.0)
        } else {
            ("r/min", 30.0 / std::f64::consts::PI)
        };
        format!("{} {}", digits(speed * unit.1, 4), unit.0)
    }

    /// What keeps the stop from being judged, before any figure is looked at.
    fn problems(&self) -> Vec<Diagnostic> {
        let mut problems = Vec::new();
        let mut say = |name, words: String, remedy: &str| {
            problems.push(Diagnostic::error(name, words).remedy(remedy));
        };
        let threshold = self.plan.standstill.si;
        if self.by_speed {
            say(
                Name::NoStopCommand,
                "the stop command is taken from the speed itself: nothing is known of the time before it falls".to_owned(),
                "record the command on a channel of its own, and name that in `stop`",
            );
        }
        if self.v_0 < 10.0 * threshold {
            say(
                Name::UnfitRecording,
                format!(
                    "before the command the speed is {}, which is not above ten times `standstill` = {}",
                    self.words(self.v_0),
                    self.plan.standstill.written
                ),
                "measure from full speed; look at the scale and offset of the channel",
            );
            return problems;
        }
        let window = self.t.get(self.before.saturating_sub(1)).copied().unwrap_or(0.0)
            - self.t.first().copied().unwrap_or(0.0);
        let change = (self.speed.slope * window).abs();
        if change > 0.02 * self.v_0 + self.speed.u_slope() * window {
            say(
                Name::UnfitRecording,
                format!(
                    "the speed is not steady before the command: it changes by {}",
                    self.words(change)
                ),
                "let the machine reach its speed, then stop it",
            );
        }
        let floor = 4.0 * self.calm + self.step / 2.0;
        if threshold < floor {
            say(
                Name::UnfitRecording,
                format!(
                    "`standstill` = {} lies within noise and steps of the recording, {}",
                    self.plan.standstill.written,
                    self.words(floor)
                ),
                "widen `filter`, record with finer steps, or set `standstill` above them",
            );
        }
        if self.longest > 5.0 * self.sampling && self.longest > 0.002 {
            say(
                Name::MissingSamples,
                format!(
                    "{:.2} ms lie between two samples of the stop, and {:.2} ms between most",
                    self.longest * 1e3,
                    self.sampling * 1e3
                ),
                "record it again without a gap; what happened in it is not known",
            );
        }
        let (before, after) = (self.v.get(..self.before), self.v.get(self.before..));
        let (before, after) = (before.unwrap_or_default(), after.unwrap_or_default());
        let most = after.iter().fold(f64::MIN, |most, it| most.max(*it));
        let flat = before
            .first()
            .is_some_and(|first| before.iter().all(|it| it == first) && most <= *first);
        let tail = after.get(after.len().saturating_sub(20)..).unwrap_or_default();
        let mut distinct: Vec<f64> = tail.to_vec();
        distinct.sort_by(f64::total_cmp);
        distinct.dedup();
        if flat && distinct.len() > 4 {
            say(
                Name::SignalLimit,
                format!(
                    "the speed before the command is {} in every sample, while noise is seen at standstill: the signal was at its limit",
                    self.words(self.v_0)
                ),
                "record it again with a range that holds the whole signal",
            );
        }
        let rest = tail.iter().sum::<f64>() / count_f64(tail.len().max(1));
        if rest.abs() > threshold / 2.0 {
            say(
                Name::UnfitRecording,
                format!(
                    "at the end the channel reads {}, more than half of `standstill`",
                    self.words(rest)
                ),
                "put its offset right, `offset …`, or record until the machine stands",
            );
        }
        problems
    }

    /// When the mean is above a level for the last time.
    fn last_above(&self, level: f64) -> Option<f64> {
        let at = self.f.iter().rposition(|it| *it > level)?;
        let (t, f) = (self.t.get(at)?, self.f.get(at)?);
        let (Some(next_t), Some(next)) = (self.t.get(at + 1), self.f.get(at + 1)) else {
            return Some(*t);
        };
        Some(t + (f - level) / (f - next) * (next_t - t))
    }

    /// When the mean falls below a level for the first time after the command.
    fn first_below(&self, level: f64) -> Option<f64> {
        let at = self.t.iter().zip(&self.f).position(|(t, f)| *t >= 0.0 && *f < level)?;
        self.t.get(at).copied()
    }

    /// The samples between two moments.
    fn between(&self, from: f64, to: f64) -> Vec<(f64, f64)> {
        let start = self.t.partition_point(|t| *t < from);
        let points = self.t.iter().zip(&self.v).skip(start);
        points.take_while(|(t, _)| **t <= to).map(|(t, v)| (*t, *v)).collect()
    }

    /// The line of the ramp.
    fn ramp(&self, end: f64) -> Option<Straight> {
        let half = self.plan.filter.si / 2.0;
        let high = (0.95 * self.v_0).min(self.v_0 - 5.0 * self.calm - self.step);
        let from = self.first_below(high)? + half;
        let to =
            self.first_below((0.1 * self.v_0).max(2.0 * self.plan.standstill.si))?.min(end) - half;
        let points = self.between(from, to);
        let line = straight(&points, self.noise).filter(|_| points.len() >= OF_A_LINE)?;
        let fallen = line.at(from) - line.at(to);
        let clear =
            line.slope < 0.0 && fallen > 0.04 * self.v_0 && line.u_slope() < -0.5 * line.slope;
        clear.then_some(line)
    }

    /// The line of the last speeds before standstill.
    fn end(&self) -> Option<Straight> {
        let (threshold, width) = (self.plan.standstill.si, self.plan.filter.si);
        let last = self.last_above(threshold)?;
        let look = 2.0 * width + 5.0 * self.sampling;
        let near = straight(&self.between(last - look, last), self.noise);
        let fall = near.map_or(0.0, |line| -line.slope).max(0.0);
        let low = threshold.max(0.6 * fall * width);
        let mut high = (4.0 * threshold).max(low + 10.0 * self.step).max(low + 8.0 * self.calm);
        let to = self.last_above(low)?;
        loop {
            let mut from = self.last_above(high).unwrap_or(0.0);
            // a kink where torque goes belongs to neither side
            if let Some((removed, _)) = self.removed
                && removed > from
                && self.between(removed + width / 2.0, to).len() >= OF_A_LINE
            {
                from = removed + width / 2.0;
            }
            let points = self.between(from, to);
            let line = straight(&points, self.noise).filter(|line| line.slope < 0.0);
            let enough =
                points.len() >= OF_A_LINE && line.is_some_and(|it| it.u_slope() < -0.2 * it.slope);
            if enough || high > 0.4 * self.v_0 {
                return line.filter(|_| points.len() >= 3);
            }
            high *= 1.5;
        }
    }

    fn figures(&self, recorded: &Recorded, place: &Place) -> Result<Stop, Diagnostic> {
        let error = self.plan.error.si;
        let edge = recorded.half * recorded.half / 3.0;
        let coarse = |count: usize| {
            Diagnostic::error(
                Name::TooFewSamples,
                format!("{count} samples from the command to standstill, {LEAST} are needed: the sampling is too coarse"),
            )
            .remedy("record with shorter times between samples")
        };
        let threshold = self.plan.standstill.si;
        let last = self.last_above(threshold).unwrap_or(0.0);
        let count = self.between(0.0, last).len();
        if count < LEAST {
            return Err(coarse(count));
        }
        let end = self.end().ok_or_else(|| coarse(count))?;
        let whole = |u: f64, of: f64| (u * u + 4.0 * edge * of * of).sqrt();
        let with_error = |u: f64, sensitivity: f64| (u * u + (error * sensitivity).powi(2)).sqrt();
        let reached = |level: f64| {
            let (t, u) = end.reaches(level, 0.0);
            Measured { value: t, u: with_error(whole(u, 1.0), 1.0 / end.slope.abs()) }
        };
        let mut below = reached(threshold);
        below.value = below.value.max(last - self.plan.filter.si / 2.0);
        let mut time = reached(0.0);
        time.value = time.value.max(below.value);
        let speed = Measured { value: self.v_0, u: with_error(2.0 * self.variance_0.sqrt(), 1.0) };
        let removed = self.removed;
        let delay = removed
            .map(|(t, half)| Measured { value: t, u: 2.0 * ((half * half) / 3.0 + edge).sqrt() });
        let cut = removed.filter(|(t, _)| *t < below.value);
        let line = self.ramp(cut.map_or(below.value, |it| it.0));
        let line = line.filter(|line| cut.is_none_or(|(t, _)| line.at(t) < 0.9 * self.v_0));
        let response = line.map(|line| {
            let (t, u) = line.reaches(self.v_0, self.variance_0);
            Measured { value: t, u: whole(u, 1.0) }
        });
        let slope = line.map(|line| Measured {
            value: -line.slope,
            u: with_error(line.u_slope(), line.slope.abs() / self.v_0),
        });
        let left =
            cut.and_then(|(t, half)| self.left(t, half, response.map_or(0.0, |it| it.value)));
        let ramp = match (recorded.has_removed, removed, left) {
            (false, ..) => None,
            (_, None, _) => Some(Ramp::Finished),
            (_, Some(_), None) => Some(Ramp::Finished),
            (.., Some(left)) if left.value <= threshold => Some(Ramp::Finished),
            (.., Some(left)) if left.value > 0.9 * self.v_0 => Some(Ramp::Missing),
            _ => Some(Ramp::CutShort),
        };
        let begins = response.map_or_else(|| cut.map_or(0.0, |it| it.0), |it| it.value);
        let long = (time.value - begins).max(self.sampling);
        let of_time = (time.u.powi(2) + response.map_or(0.0, |it| it.u.powi(2))).sqrt() / long;
        let mean = self.v_0 / long;
        let (peak, window) = self.peak(time.value);
        let floor = (5.0 * self.calm).max(self.step);
        let back = self
            .t
            .iter()
            .zip(&self.f)
            .filter(|(t, _)| **t > time.value)
            .fold(0.0, |least: f64, (_, f)| least.min(*f));
        Ok(Stop {
            file: recorded.file.clone(),
            place: place.clone(),
            speed,
            noise: self.noise,
            step: self.step,
            sampling: self.sampling,
            response,
            slope,
            below,
            time,
            turned: self.turned(time, edge),
            delay,
            left: left.filter(|left| left.value > threshold),
            ramp,
            mean: Measured {
                value: mean,
                u: mean * ((speed.u / self.v_0).powi(2) + of_time.powi(2)).sqrt(),
            },
            peak,
            window,
            rebound: (-back > floor).then_some(Measured {
                value: -back,
                u: with_error(2.0 * self.calm + self.step / 2.0, 1.0),
            }),
            run_down: cut.and_then(|cut| self.run_down(cut)),
            curve: self.curve(time.value),
        })
    }

    /// Speed left when torque goes.
    fn left(&self, t: f64, half: f64, begins: f64) -> Option<Measured> {
        let width = (2.0 * self.plan.filter.si).max(12.0 * self.sampling);
        let from = if begins < t { (t - width).max(begins) } else { t - width };
        let mut points = self.between(from, t - half);
        if points.len() < 4 {
            points = self.between(t - width, t - half);
        }
        let line = straight(&points, self.noise)?;
        let of_edge = line.slope * half;
        let variance = line.variance_at(t) + of_edge * of_edge / 3.0;
        // a speed that hardly changes is always rounded the same way
        let rounded =
            if line.slope.abs() * width < 2.0 * self.step { self.step / 2.0 } else { 0.0 };
        let bounds = self.plan.error.si.powi(2) + rounded * rounded;
        let u = (line.k * line.k * variance + bounds).sqrt();
        Some(Measured { value: line.at(t).max(0.0), u })
    }

    /// The largest deceleration over a window, freed from what noise alone adds to the largest of many.
    fn peak(&self, end: f64) -> (Measured, f64) {
        let window = self.plan.filter.si.max(12.0 * self.sampling);
        let (mut most, mut start, mut spread) = (0.0_f64, 0.0, 0.0);
        while start < end {
            let points = self.between(start, start + window);
            if let Some(line) = straight(&points, self.noise)
                && -line.slope > most
            {
                most = -line.slope;
                spread = line.u_slope() / line.k;
            }
            start += window / 4.0;
        }
        let many = (end / window).max(2.0);
        let lift = spread * (2.0 * logarithm(many)).sqrt();
        let of_error = most * self.plan.error.si / self.v_0;
        let u = ((0.4 * lift + 2.0 * spread).powi(2) + of_error * of_error).sqrt();
        (Measured { value: most - 0.8 * lift, u }, window)
    }

    /// Angle or way from the command to standstill, by trapezia.
    fn turned(&self, time: Measured, edge: f64) -> Measured {
        let first = self.t.partition_point(|t| *t < 0.0);
        let mut before = (0.0, self.v.get(first).copied().unwrap_or(self.v_0));
        let (mut sum, mut squares) = (0.0, 0.0);
        for (t, v) in self.t.iter().zip(&self.v).skip(first) {
            let (t, v) = if *t < time.value { (*t, *v) } else { (time.value, 0.0) };
            let step = t - before.0;
            sum += step * (v + before.1) / 2.0;
            squares += step * step;
            before = (t, v);
            if t >= time.value {
                break;
            }
        }
        let by_edge = self.v_0 * edge.sqrt();
        let by_noise = self.noise * squares.sqrt();
        let by_error = self.plan.error.si * time.value;
        let by_end = self.plan.standstill.si * time.u / 2.0;
        let u =
            (4.0 * (by_edge.powi(2) + by_noise.powi(2)) + by_error.powi(2) + by_end.powi(2)).sqrt();
        Measured { value: sum, u }
    }

    fn run_down(&self, (removed, half): (f64, f64)) -> Option<RunDown> {
        let floor = (2.0 * self.plan.standstill.si).max(0.02 * self.v_0);
        let end = self.last_above(floor)? - self.plan.filter.si / 2.0;
        let points = self.between(removed + half + self.sampling, end);
        let (first, last) = (points.first()?, points.last()?);
        if points.len() < 40 || last.1 > 0.7 * first.1 || first.1 < 4.0 * floor {
            return None;
        }
        run_down(&points, self.noise)
    }

    /// The curve thinned for a picture, a little beyond standstill.
    fn curve(&self, end: f64) -> Vec<(f64, f64)> {
        let points = self.between(-0.05 * end, 1.1 * end);
        let size = points.len().div_ceil(DRAWN).max(1);
        let mean = |part: &[(f64, f64)]| {
            let n = count_f64(part.len().max(1));
            let sum = part.iter().fold((0.0, 0.0), |sum, it| (sum.0 + it.0, sum.1 + it.1));
            (sum.0 / n, sum.1 / n)
        };
        points.chunks(size).map(mean).collect()
    }
}
