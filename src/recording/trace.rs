//! The samples of one stop, looked at as a whole: speed before it, noise, steps, and what keeps it from being judged.

use super::fit::{Straight, after_jump, straight};
use super::measure::{count_f64, digits};
use super::plan::Plan;
use super::smear::Smear;
use super::stop::Recorded;
use crate::diagnostic::{Diagnostic, Name, Place};

/// Samples that a stop needs from command to standstill.
pub(super) const LEAST: usize = 30;

/// A way down that is seen down to a level, and ends flat, goes on for so many times as long as it took from twice that
/// level: 1/(√2 − 1), which noise makes up to a quarter longer.
pub(super) const FLAT: f64 = 3.0;

/// The slowest creep that counts where noise hides it, as a part of `standstill`.
const SLOWEST: f64 = 0.25;

/// Samples that a machine is seen to stand in, at least, however short `hold` is: what it reads at rest is the mean of
/// the later half of them.
pub(super) const AT_REST: usize = 20;

/// Samples from the command on, falling from a positive speed.
pub(super) struct Trace<'a> {
    pub(super) plan: &'a Plan,
    pub(super) t: Vec<f64>,
    pub(super) v: Vec<f64>,
    /// The centred mean of `v`.
    pub(super) f: Vec<f64>,
    /// Samples before the command.
    pub(super) before: usize,
    pub(super) speed: Straight,
    pub(super) v_0: f64,
    pub(super) variance_0: f64,
    pub(super) noise: f64,
    pub(super) step: f64,
    /// Noise of the centred mean.
    pub(super) calm: f64,
    /// How many samples each mean is of.
    counts: Vec<f64>,
    /// So many standard deviations are no chance.
    sure: f64,
    /// The sign of the speed before the stop, as it was recorded.
    forward: f64,
    pub(super) sampling: f64,
    pub(super) longest: f64,
    pub(super) removed: Option<(f64, f64)>,
    pub(super) by_speed: bool,
    /// Where the first sample after the command stands, where every sample is a row.
    place: Option<Place>,
    /// What the channel reads at the end, where the machine stands.
    pub(super) rest: f64,
    /// Standard deviation of what it reads there.
    pub(super) still: f64,
    /// The filter of the recorder; its delay is taken off the times.
    pub(super) smear: Option<&'a Smear>,
    /// For how many samples noise lasts: 1 where each is new.
    pub(super) lasting: f64,
}

/// What a mean at rest must be so that it is no chance.
pub(super) struct Sure {
    /// The sign of the speed before the stop.
    forward: f64,
    rest: f64,
    threshold: f64,
    /// What of one sample is no chance.
    chance: f64,
    lasting: f64,
    step: f64,
}

impl Sure {
    /// What of a mean of so many samples beyond rest is no chance.
    fn beyond(&self, count: f64) -> f64 {
        self.chance / (count / self.lasting).max(1.0).sqrt() + self.step / 2.0
    }

    /// Whether a mean of so many samples is above the threshold, or as far on the other side of rest, by more than
    /// chance.
    pub(super) fn moves(&self, mean: f64, count: f64) -> bool {
        let off = (mean * self.forward - self.rest).abs();
        off > (self.threshold - self.rest).max(self.beyond(count))
    }
}

/// The change between two samples, a second.
fn changed((v, t): (&[f64], &[f64])) -> f64 {
    let difference = |of: &[f64]| of.iter().rev().copied().reduce(|last, first| last - first);
    let (change, long) = (difference(v).unwrap_or(0.0), difference(t).unwrap_or(0.0));
    if long > 0.0 { change / long } else { 0.0 }
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

/// The mean over a width around each moment, and how many samples each has.
fn centred(t: &[f64], v: &[f64], width: f64) -> (Vec<f64>, Vec<f64>) {
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
    (mean, counts)
}

/// How many standard deviations, of a noise that is known from so many values, are no chance where thousands of values
/// are looked at: one in 10^8 is as large.
///
/// Source: Abramowitz and Stegun, 26.7.5, Student's t from the normal distribution (from memory).
fn no_chance(values: f64) -> f64 {
    const Z: f64 = 5.73;
    let n = (values - 2.0).max(10.0);
    let square = Z * Z;
    Z + Z * (square + 1.0) / (4.0 * n)
        + Z * (5.0 * square * square + 16.0 * square + 3.0) / (96.0 * n * n)
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / count_f64(values.len().max(1))
}

/// Standard deviation about the mean.
fn deviation_of(values: &[f64]) -> f64 {
    let mean = mean(values);
    let squares = values.iter().map(|it| (it - mean) * (it - mean)).sum::<f64>();
    (squares / (count_f64(values.len()) - 1.0).max(1.0)).sqrt()
}

/// For how many samples noise lasts, by the correlation of each with the next: (1 + r)/(1 − r), as of a first-order
/// process (from memory).
fn lasting(noise: &[f64]) -> f64 {
    let squares: f64 = noise.iter().map(|it| it * it).sum();
    let products: f64 = noise.iter().zip(noise.iter().skip(1)).map(|(a, b)| a * b).sum();
    let r = if squares > 0.0 { (products / squares).clamp(0.0, 0.97) } else { 0.0 };
    (1.0 + r) / (1.0 - r)
}

/// The samples of the last so many seconds.
fn last_of<'a>(t: &[f64], v: &'a [f64], long: f64) -> &'a [f64] {
    let end = t.last().copied().unwrap_or(0.0);
    v.get(t.partition_point(|it| *it < end - long)..).unwrap_or_default()
}

/// For how long a machine is seen to stand.
fn held(plan: &Plan, sampling: f64) -> f64 {
    plan.hold.si.max(count_f64(AT_REST) * sampling)
}

impl<'a> Trace<'a> {
    pub(super) fn new(recorded: &Recorded, plan: &'a Plan) -> Self {
        let sum = recorded.before.iter().map(|it| it.1).sum::<f64>();
        let sign = if sum < 0.0 { -1.0 } else { 1.0 };
        let all = || recorded.before.iter().chain(&recorded.points);
        let smear = plan.recorder.as_ref().filter(|it| it.delay() > 0.0);
        let late = smear.map_or(0.0, Smear::delay);
        let t: Vec<f64> = all().map(|it| it.0 - recorded.commanded - late).collect();
        let v: Vec<f64> = all().map(|it| it.1 * sign).collect();
        let (f, counts) = centred(&t, &v, plan.filter.si);
        let count = middle_of(counts.clone());
        let level: Vec<(f64, f64)> =
            t.iter().copied().zip(v.iter().copied()).take(recorded.before.len()).collect();
        let speed = straight(&level, 0.0).unwrap_or(Straight::flat(sum.abs()));
        let n = count_f64(level.len().max(1));
        let v_0 = level.iter().map(|it| it.1).sum::<f64>() / n;
        let step = step_of(&v);
        let noise = speed.rms;
        let coarse = if noise < step / 2.0 { step * step / 12.0 } else { 0.0 };
        let gaps = recorded.points.iter().zip(recorded.points.iter().skip(1));
        let sampling = middle_of(gaps.map(|(a, b)| b.0 - a.0).collect());
        let noise = noise.max(step / 12.0_f64.sqrt());
        let standing = last_of(&t, &v, held(plan, sampling) / 2.0);
        let rest = mean(standing);
        // of the calmer half: the end of a creep in the other is no noise
        let (early, late) = standing.split_at(standing.len() / 2);
        let still = deviation_of(early).min(deviation_of(late));
        // what the last digits leave of a level is no noise
        let lasting = if speed.rms > 1e-6 * v_0.abs() {
            lasting(&level.iter().map(|(t, v)| v - speed.at(*t)).collect::<Vec<_>>())
        } else {
            1.0
        };
        // behind a filter noise lasts, and a mean of it is less calm
        let of_a_mean = if smear.is_some() { (count / lasting).max(1.0) } else { count };
        Self {
            plan,
            smear,
            t,
            v,
            f,
            before: recorded.before.len(),
            speed,
            v_0,
            variance_0: speed.rms * speed.rms / n + coarse,
            noise,
            step,
            calm: noise / of_a_mean.sqrt(),
            counts,
            sure: no_chance(n),
            forward: sign,
            sampling,
            longest: recorded.longest,
            removed: recorded.removed.map(|(t, half)| (t - recorded.commanded, half)),
            by_speed: recorded.by_speed,
            place: recorded.place.clone().filter(|_| recorded.joined <= 1),
            rest,
            still,
            lasting,
        }
    }

    /// A speed as a person reads it, in the unit of the threshold.
    pub(super) fn words(&self, speed: f64) -> String {
        let unit = if self.plan.standstill.written.contains("m/s") {
            ("m/s", 1.0)
        } else {
            ("r/min", 30.0 / std::f64::consts::PI)
        };
        format!("{} {}", digits(speed * unit.1, 4), unit.0)
    }

    /// What keeps the stop from being judged, before any figure is looked at.
    pub(super) fn problems(&self) -> Vec<Diagnostic> {
        let mut problems = Vec::new();
        let mut say = |name, words: String, remedy: &str| {
            problems.push(Diagnostic::error(name, words).remedy(remedy));
        };
        let threshold = self.plan.standstill.si;
        if let Some((before, at)) = self.jump() {
            let jumps = self.v.get(at).copied().unwrap_or(0.0);
            let words = format!(
                "from one sample to the next the {} jumps from {} to {}",
                if self.plan.is_position { "speed that the position makes" } else { "speed" },
                self.words(before),
                self.words(jumps)
            );
            let remedy = if self.plan.is_position {
                "where the counter begins again, say after how much, such as `position = \"p scale 1 r per 4096 counts wraps 65536 counts\"`; else find what disturbs it and record again"
            } else {
                "find what disturbs the channel, or a value below zero that is read without its sign, and record again"
            };
            let mut problem = Diagnostic::error(Name::UnfitRecording, words).remedy(remedy);
            if let Some(place) = self.place_of(at) {
                problem = problem.at(place);
            }
            return vec![problem];
        }
        if self.by_speed {
            say(
                Name::NoStopCommand,
                "the stop command is taken from the speed itself: nothing is known of the time before it falls".to_owned(),
                "record the command on a channel of its own, and name that in `stop`",
            );
        }
        if let Some(change) = self.unsteady() {
            let words = format!(
                "the speed is not steady before the command: it changes by {}",
                self.words(change)
            );
            let remedy = "let the machine reach its speed, then stop it; where one stop is joined to the end of another, keep the pause between them in the clock, or their files apart";
            // its noise and its way down are those of something else
            problems.push(Diagnostic::error(Name::UnfitRecording, words).remedy(remedy));
            return problems;
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
        let floor = 4.0 * self.calm + self.step / 2.0;
        if threshold < floor {
            say(
                Name::UnfitRecording,
                format!(
                    "`standstill` = {} lies within noise and steps of the recording, {}",
                    self.plan.standstill.written,
                    self.words(floor)
                ),
                &if self.plan.is_position {
                    let every = (1.2e3 * self.sampling * floor / threshold).ceil();
                    format!(
                        "write a sample every {every} ms or more, so that more counts lie between two; take an encoder of more counts, or set `standstill` above them"
                    )
                } else {
                    "widen `filter`, record with finer steps, or set `standstill` above them"
                        .to_owned()
                },
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
        let tail = self.standing();
        let mut distinct: Vec<f64> = tail.iter().rev().take(20).copied().collect();
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
        // of few samples those at rest may hold some of the way down: nothing else is said of them
        let count = self.between(0.0, self.last_forward(threshold).unwrap_or(0.0)).len();
        if count < LEAST {
            problems.push(Self::too_few(count));
            return problems;
        }
        if let Some(from) = self.unread_end() {
            say(
                Name::UnfitRecording,
                format!(
                    "from one sample to the next the speed falls from {} to rest, far steeper than before: how the machine stopped from there is not seen",
                    self.words(from)
                ),
                if from > self.high() {
                    "look at cable, encoder and drive, and record again with shorter times between samples; where a brake stops it so, record a position, whose counts are read at any speed"
                } else {
                    "where its manual says down to which speed the channel reads, say that, such as `least = \"0.5 r/min\"`; else record with shorter times between samples, or on a channel that reads low speeds too"
                },
            );
        }
        let (early, late) = tail.split_at(tail.len() / 2);
        let (rest, slowing) = (self.rest, mean(early) - mean(late));
        let hidden = 0.02 * threshold;
        if slowing.abs() > (self.unsure(late.len()) * 2.0_f64.sqrt()).max(hidden) {
            say(
                Name::UnfitRecording,
                format!(
                    "the machine still slows down while it should stand: by {}, {} ms after the speed fell below `standstill`",
                    self.words(slowing),
                    digits(self.held() * 1e3, 3),
                ),
                &self.longer_hold(),
            );
        }
        // a creep and an offset look alike: what is seen is never cut off as one of them without a word
        // what the instrument may be off is said, and shown beside the verdict
        if rest.abs() > (self.unread_rest() + self.plan.error.si).min(threshold / 2.0) {
            say(
                Name::UnfitRecording,
                format!(
                    "{} ms after the speed fell below `standstill` the channel still reads {}, more than its noise: it creeps, or has an offset",
                    digits(self.held() * 1e3, 3),
                    self.words(rest)
                ),
                &format!(
                    "where the machine still turns then, {}; where it stands, put the offset of the channel right, `offset …`",
                    self.longer_hold()
                ),
            );
        }
        problems
    }

    /// By how much the speed changes before the command, where that is no chance.
    fn unsteady(&self) -> Option<f64> {
        let all = self.t.iter().copied().zip(self.v.iter().copied());
        let before: Vec<(f64, f64)> = all.take(self.before).collect();
        let (first, last) = (before.first()?, before.last()?);
        let steady = after_jump(&before);
        let mean = steady.iter().map(|it| it.1).sum::<f64>() / count_f64(steady.len());
        let window = last.0 - first.0;
        let (change, least) = if steady.len() < before.len() {
            ((mean - first.1).abs(), 0.0)
        } else {
            let change = (self.speed.slope * window).abs();
            (change, 0.02 * self.v_0 + self.speed.u_slope() * window)
        };
        // of one that hardly turns that is said
        (change > least && mean > 10.0 * self.plan.standstill.si).then_some(change)
    }

    /// How much the channel may read at rest by its noise and steps alone: a speed that is recorded in steps reads
    /// nothing of what is less than half a step, and a position of less than two counts.
    pub(super) fn unread_rest(&self) -> f64 {
        let threshold = self.plan.standstill.si;
        let count = self.standing().len();
        let unread =
            if self.is_position() { 2.0 * self.step / count_f64(count) } else { 0.5 * self.step };
        (unread + self.unsure(count)).max(0.02 * threshold).min(threshold / 2.0)
    }

    /// Too few samples from the command to standstill.
    pub(super) fn too_few(count: usize) -> Diagnostic {
        Diagnostic::error(
            Name::TooFewSamples,
            format!("{count} samples from the command to standstill, {LEAST} are needed: the sampling is too coarse"),
        )
        .remedy("record with shorter times between samples")
    }

    /// Where a sample stands.
    fn place_of(&self, at: usize) -> Option<Place> {
        let Place::Cell { book, tab, row, column } = self.place.clone()? else { return None };
        let row = (u32::try_from(at).ok()? + row).checked_sub(u32::try_from(self.before).ok()?)?;
        Some(Place::Cell { book, tab, row, column })
    }

    /// A change from one sample to the next that is no part of the way down: far more than between those before and those
    /// after, and not the end of it; of a position also one that turns round at speed, as a counter that begins again
    /// does. The speed before it, and which sample it is.
    fn jump(&self) -> Option<(f64, usize)> {
        let usual = self.v_0.abs();
        let changes: Vec<f64> = self.v.windows(2).zip(self.t.windows(2)).map(changed).collect();
        let changes: Vec<f64> = changes.iter().map(|it| it * self.sampling).collect();
        let last = self.v.iter().rposition(|v| v.abs() > self.plan.standstill.si).unwrap_or(0);
        // the second largest of four: a jump and the way back are two
        let of = |from: usize| -> f64 {
            let mut part: Vec<f64> = changes.iter().skip(from).take(4).map(|it| it.abs()).collect();
            part.sort_by(f64::total_cmp);
            part.get(2).copied().unwrap_or(0.0)
        };
        let least =
            (0.02 * usual).max(10.0 * self.noise.max(self.still)).max(self.plan.standstill.si);
        let jumps = |at: &usize| {
            let change = changes.get(*at).map_or(0.0, |it| it.abs());
            *at != last
                && change > least
                && change > least + 5.0 * of(at.saturating_sub(4)).max(of(at + 1))
        };
        let turns = |at: &usize| {
            let pair = (self.v.get(*at), self.v.get(at + 1));
            let (Some(a), Some(b)) = pair else { return false };
            *a * *b < 0.0 && a.abs().min(b.abs()) > least.max(0.25 * usual)
        };
        let all = || 0..changes.len();
        let found =
            all().find(jumps).or_else(|| all().filter(|_| self.plan.is_position).find(turns));
        found.and_then(|at| Some((*self.v.get(at)?, at + 1)))
    }

    /// When the mean is above a level for the last time, or as far on the other side of what it reads at rest: a
    /// machine that turns back does not stand.
    pub(super) fn last_above(&self, level: f64) -> Option<f64> {
        self.last_beyond(|f| (f - self.rest).abs() + self.rest, level)
    }

    /// The same, without what turns back.
    pub(super) fn last_forward(&self, level: f64) -> Option<f64> {
        self.last_beyond(|f| f, level)
    }

    /// What of a mean beyond rest is no chance, by the noise before the stop: at rest something may move.
    pub(super) fn sure_at(&self, at: usize) -> f64 {
        self.sure().beyond(self.counts.get(at).copied().unwrap_or(1.0))
    }

    /// The same for means of what follows the stop.
    pub(super) fn sure(&self) -> Sure {
        Sure {
            forward: self.forward,
            rest: self.rest,
            threshold: self.plan.standstill.si,
            chance: self.sure * self.noise,
            lasting: if self.smear.is_some() { self.lasting } else { 1.0 },
            step: self.step,
        }
    }

    fn last_beyond(&self, size: impl Fn(f64) -> f64, level: f64) -> Option<f64> {
        let height = level - self.rest;
        // of many values at rest some lie above a low level by chance: it is left after it was surely left, and no later
        // than a way down that ends flat goes on
        let last = |times: f64| {
            let mut all = self.f.iter().enumerate();
            let is = |(at, f): (usize, &f64)| {
                size(*f) - self.rest > times * height.max(self.sure_at(at))
            };
            all.rposition(is)
        };
        let moment = |at: usize| self.t.get(at).copied();
        let until = last(1.0).and_then(moment).map(|sure| {
            let before = last(2.0).and_then(moment).unwrap_or(sure);
            sure + 3.0 * (sure - before) + self.plan.filter.si + self.settles() + self.sampling
        });
        let within = |t: f64| until.is_none_or(|it| t <= it);
        let at = self.f.iter().zip(&self.t).rposition(|(f, t)| size(*f) > level && within(*t))?;
        let (t, f) = (self.t.get(at)?, size(*self.f.get(at)?));
        let (Some(next_t), Some(next)) = (self.t.get(at + 1), self.f.get(at + 1)) else {
            return Some(*t);
        };
        let next = size(*next);
        // where the last is cut off by what is sure, the next one may lie above the level too
        Some(if next < level { t + (f - level) / (f - next) * (next_t - t) } else { *t })
    }

    pub(super) fn is_position(&self) -> bool {
        self.plan.is_position
    }

    /// How far the mean of some samples may lie from what is read, by noise and steps alone: five times its standard
    /// deviation. The sum over samples of a position holds the noise of its two ends only.
    fn unsure(&self, samples: usize) -> f64 {
        5.0 * self.deviation(samples)
    }

    fn deviation(&self, samples: usize) -> f64 {
        let n = count_f64(samples.max(1));
        self.noise.max(self.still)
            / if self.is_position() { n } else { (n / self.lasting).max(1.0).sqrt() }
    }

    /// The last of the movement that is sure to be seen: between which two moments it was. Over more and more samples
    /// the mean is looked at, so that a creep of less than the noise, a step or a count is seen as well.
    pub(super) fn moving(&self) -> Option<(f64, f64)> {
        let (from, to, mean) = self.last_movement(1.0)?;
        // of a position what is less than a count may follow
        let count = if self.is_position() { self.step * self.sampling / mean } else { 0.0 };
        Some((from, to + count))
    }

    /// How long what is seen no longer may go on after a creep that ends flat: a parabola from where it was twice as fast.
    pub(super) fn fades_out(&self, to: f64) -> f64 {
        let before = self.last_movement(2.0).map_or(to, |it| it.1);
        FLAT * (to - before).max(0.0)
    }

    /// The last samples in which it is seen to stand: a quarter of them, or as many as are needed, but none of the way
    /// down.
    fn tail(&self) -> &[f64] {
        let quarter = last_of(&self.t, &self.v, self.held() / 4.0).len().max(AT_REST);
        let half = self.standing();
        half.get(half.len().saturating_sub(quarter)..).unwrap_or_default()
    }

    /// From when on the samples after a moment show that nothing goes on: a creep as slow as counts would have lifted
    /// their mean by more than three of its standard deviations beyond what is read.
    pub(super) fn stands_by(&self, moment: f64) -> Option<f64> {
        // of a speed in steps less than half of one is not read; counts add up
        let unread = if self.is_position() { 0.0 } else { self.step / 2.0 };
        let slowest = (SLOWEST * self.plan.standstill.si).max(unread);
        let rest = mean(self.tail());
        let start = self.t.partition_point(|t| *t <= moment);
        let mut sum = 0.0;
        let after = self.v.get(start..)?.iter().zip(self.t.get(start..)?);
        let mut means = after.enumerate().map(|(at, (v, t))| {
            sum += v - rest;
            (at + 1, sum / count_f64(at + 1), *t)
        });
        let stands = means.find(|(n, mean, _)| mean + 3.0 * self.deviation(*n) < slowest);
        Some(stands.map_or_else(|| self.t.last().copied().unwrap_or(moment), |it| it.2))
    }

    /// The last of it that is so many times what is sure to be seen.
    fn last_movement(&self, times: f64) -> Option<(f64, f64, f64)> {
        let tail = self.tail();
        let (rest, tail) = (mean(tail), tail.len());
        let start = self.v.len() - tail;
        let mut sums = Vec::with_capacity(self.v.len() + 1);
        sums.push(0.0);
        let mut sum = 0.0;
        for v in &self.v {
            sum += v - rest;
            sums.push(sum);
        }
        let mean_of = |end: usize, n: usize| -> Option<f64> {
            Some((sums.get(end)? - sums.get(end.checked_sub(n)?)?) / count_f64(n))
        };
        let mut found: Option<(f64, f64, f64)> = None;
        let mut n = 1;
        while n <= tail {
            // noise that is not even, such as a hum, is seen while it stands
            let still = (start + n..=self.v.len()).filter_map(|end| mean_of(end, n));
            let still = still.fold(0.0, |most: f64, it| most.max(it.abs()));
            let own = count_f64(n) / count_f64(tail);
            let limit = (self.sure * self.deviation(n) * (1.0 + own).sqrt())
                .max(1.5 * still)
                .max(self.faint())
                * times;
            let last = (n..=self.v.len())
                .rev()
                .find(|end| mean_of(*end, n).is_some_and(|it| it.abs() > limit));
            if let Some(end) = last
                && let (Some(from), Some(to)) = (self.t.get(end - n), self.t.get(end - 1))
                && found.is_none_or(|it| *from > it.0)
            {
                found = Some((*from, *to, mean_of(end, n).unwrap_or(limit).abs()));
            }
            n *= 2;
        }
        found
    }

    fn held(&self) -> f64 {
        held(self.plan, self.sampling)
    }

    /// The samples of the later half of the time in which it is seen to stand.
    pub(super) fn standing(&self) -> &[f64] {
        last_of(&self.t, &self.v, self.held() / 2.0)
    }

    fn longer_hold(&self) -> String {
        format!(
            "say a longer `hold`, such as `hold = \"{} s\"`, and record until it stands",
            digits(10.0 * self.held(), 2)
        )
    }

    /// A speed below which noise and steps hide whether anything moves.
    pub(super) fn floor(&self) -> f64 {
        let threshold = self.plan.standstill.si;
        let unread = self.plan.least.as_ref().map_or(0.0, |it| it.si);
        (5.0 * self.calm + self.step / 2.0).max(0.02 * threshold).max(unread).min(threshold)
    }

    /// How far before a bend the mean already feels it, and how long after it still does.
    pub(super) fn ahead(&self) -> f64 {
        self.plan.filter.si / 2.0 + self.late()
    }

    pub(super) fn behind(&self) -> f64 {
        self.plan.filter.si / 2.0 + self.settles()
    }

    /// By how much the recorder's filter shows the speed late, and how long after a bend it still shows it.
    pub(super) fn late(&self) -> f64 {
        self.smear.map_or(0.0, Smear::delay)
    }

    pub(super) fn settles(&self) -> f64 {
        self.smear.map_or(0.0, Smear::settles)
    }

    /// What the recorder's filter goes on to show of a stop that is over, for long.
    pub(super) fn faint(&self) -> f64 {
        if self.smear.is_some() { 0.02 * self.floor() } else { 0.0 }
    }

    /// The mean at a moment.
    pub(super) fn mean_at(&self, t: f64) -> f64 {
        let at = self.t.partition_point(|it| *it < t).min(self.f.len().saturating_sub(1));
        self.f.get(at).copied().unwrap_or(0.0)
    }

    /// When the mean falls below a level for the first time after the command.
    pub(super) fn first_below(&self, level: f64) -> Option<f64> {
        let at = self.t.iter().zip(&self.f).position(|(t, f)| *t >= 0.0 && *f < level)?;
        self.t.get(at).copied()
    }

    /// The samples between two moments.
    pub(super) fn between(&self, from: f64, to: f64) -> Vec<(f64, f64)> {
        let start = self.t.partition_point(|t| *t < from);
        let points = self.t.iter().zip(&self.v).skip(start);
        points.take_while(|(t, _)| **t <= to).map(|(t, v)| (*t, *v)).collect()
    }
}
