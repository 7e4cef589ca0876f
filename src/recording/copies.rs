//! Stops that are recorded once and counted twice: no two stops have the same noise.
//!
//! Two stops of one machine look alike, and their noise does not. A copy is laid on the other stop by the middle of
//! the fall, where the speed tells the time best: whatever its clock, scale, offset and sign are, and however many
//! samples were left out, it lies there or within a sample of it. Then the second differences of the samples are
//! compared: what those before say of the next ones is taken out, so that a ripple that two stops share is not their
//! noise, and what stands out, such as the kinks of a ramp, is left out.
//!
//! Where nothing of the noise is seen, the samples themselves must be the same, one by one.

use super::fit::straight;
use super::measure::count_f64;
use super::passing::FileOfStops;
use super::stop::Recorded;
use crate::diagnostic::{Diagnostic, Name, Place};

/// Samples of a stop that are looked at, before the middle of the fall and after it.
const LOOKED_AT: usize = 2304;

/// The least number of moving samples of which a copy holds the same.
const LEAST: usize = 20;

/// Share of them that may have been changed, and what the last digits of scaled ones leave, as a share of the speed.
const CHANGED: f64 = 0.02;
const DIGITS: f64 = 1e-6;

/// How alike what is new in a copy is: rounded to twice the noise 0.86, with as much noise added 0.7; of thousands of
/// simulated pairs, ripple included, none was (`tests/recording/copied.rs`).
const ALIKE: f64 = 0.55;

/// The least number of samples in which one of these is seen.
const FEWEST: usize = 100;

/// Samples that are looked at first, and how alike they must be for all to be looked at.
const FIRST: (usize, f64) = (256, 0.3);

/// How far the course of a copy lies from that of the other, at the middle, in what is new.
const APART: f64 = 1.5;

/// What is so many times the size at the middle stands out; of normal noise one in a thousand does.
const STANDS_OUT: f64 = 5.0;

/// How many samples before say what is not new in one.
const PREDICTED: usize = 12;

/// A copy recorded at every second sample, up to every eighth.
const THINNED: usize = 8;

/// A stop as it is compared.
struct Shape {
    place: Place,
    times: Vec<f64>,
    /// As a share of the speed before the stop, above rest.
    shares: Vec<f64>,
    speeds: Vec<f64>,
    /// When half of the speed is left, how steep the share falls there, and which sample that is.
    half: f64,
    slope: f64,
    middle: usize,
    period: f64,
    /// Whether steps hide the noise.
    coarse: bool,
    first: Fresh,
    whole: Fresh,
}

/// What is new in some samples: what those before do not foretell.
struct Fresh {
    times: Vec<f64>,
    speeds: Vec<f64>,
    weights: Vec<f64>,
    new: Vec<f64>,
}

impl Fresh {
    fn of(times: &[f64], speeds: &[f64], middle: usize, count: usize) -> Self {
        let from = middle.saturating_sub(count / 2);
        let of = |all: &[f64]| -> Vec<f64> { all.iter().skip(from).take(count).copied().collect() };
        let (times, speeds) = (of(times), of(speeds));
        let own = second(&times, &speeds);
        let weights = predicted(&own);
        let new = unforeseen(&own, &weights);
        Self { times, speeds, weights, new }
    }

    /// How alike another stop is, read between its samples at the moments that `at` makes of the times of this one;
    /// nothing where the courses are apart.
    fn alike(&self, other: &Shape, at: impl Fn(f64) -> f64) -> f64 {
        let (first, read) = between(&other.times, &other.speeds, self.times.iter().map(|t| at(*t)));
        let times = self.times.get(first..).unwrap_or_default();
        let new = unforeseen(&second(times, &read), &self.weights);
        let (count, found, size) = likeness(self.new.get(first..).unwrap_or_default(), &new);
        let own = self.speeds.get(first..).unwrap_or_default();
        if count < FEWEST || apart(own, &read) > APART * size { 0.0 } else { found }
    }
}

impl Shape {
    fn of(recorded: &Recorded) -> Option<Self> {
        let all = || recorded.before.iter().chain(&recorded.points);
        // turned the other way it is the same stop
        let sum: f64 = recorded.before.iter().map(|it| it.1).sum();
        let sign = 1.0_f64.copysign(sum);
        let level = middle(recorded.before.iter().map(|it| sign * it.1).collect());
        let tail = recorded.points.iter().rev().take(recorded.points.len() / 8 + 1);
        let rest = middle(tail.map(|it| sign * it.1).collect());
        let share = |speed: f64| (sign * speed - rest) / (level - rest);
        let below = |limit: f64| {
            let after = recorded.points.iter().position(|it| share(it.1) < limit)?;
            Some(recorded.before.len() + after)
        };
        let (from, to) = (below(0.7)?, below(0.3)?);
        let fall: Vec<(f64, f64)> =
            all().take(to).skip(from).map(|it| (it.0 - recorded.commanded, share(it.1))).collect();
        let line = straight(&fall, 0.0)?;
        let half = line.middle + (0.5 - line.level) / line.slope;
        let at = below(0.5)?;
        let skipped = at.saturating_sub(LOOKED_AT);
        let points: Vec<(f64, f64)> = all().skip(skipped).take(2 * LOOKED_AT).copied().collect();
        let times: Vec<f64> = points.iter().map(|it| it.0 - recorded.commanded).collect();
        let speeds: Vec<f64> = points.iter().map(|it| it.1 * sign).collect();
        let steps = times.iter().zip(times.iter().skip(1)).map(|(one, next)| next - one);
        let (period, at) = (middle(steps.collect()), at - skipped);
        Some(Self {
            place: recorded.place.clone().unwrap_or(Place::File { name: recorded.file.clone() }),
            shares: points.iter().map(|it| share(it.1)).collect(),
            half,
            slope: line.slope,
            middle: at,
            period,
            coarse: is_coarse(&second(&times, &speeds)),
            first: Fresh::of(&times, &speeds, at, FIRST.0),
            whole: Fresh::of(&times, &speeds, at, 2 * LOOKED_AT),
            times,
            speeds,
        })
    }

    /// Whether two stops are one.
    fn is_copy_of(&self, other: &Self) -> bool {
        self.holds_samples_of(other)
            || other.holds_samples_of(self)
            // where steps hide the noise of both, their pattern is that of the ramp
            || !(self.coarse && other.coarse)
                && (self.has_noise_of(other) || other.has_noise_of(self))
    }

    /// Whether the samples of this stop are such of the other, as they are or on another scale, each or every so many.
    fn holds_samples_of(&self, other: &Self) -> bool {
        let moves = |share: &&f64| (0.03..0.97).contains(*share);
        let count = self.shares.iter().filter(moves).count();
        if count < LEAST {
            return false;
        }
        let most = CHANGED * count_f64(count);
        let limit = DIGITS * self.speeds.iter().fold(0.0_f64, |most, it| most.max(it.abs()));
        let same = |every: usize, late: usize, own: &[f64], of: &[f64], limit: f64| {
            let mut missed = 0.0;
            for (at, (share, value)) in self.shares.iter().zip(own).enumerate() {
                if !moves(&share) {
                    continue;
                }
                let at = (other.middle + late + every * at).checked_sub(every * (self.middle + 2));
                let found = at.and_then(|at| of.get(at));
                if found.is_none_or(|it| (it - value).abs() > limit) {
                    missed += 1.0;
                    if missed > most {
                        return false;
                    }
                }
            }
            true
        };
        (1..=THINNED).any(|every| {
            (0..=4 * every).any(|late| {
                same(every, late, &self.speeds, &other.speeds, limit)
                    || same(every, late, &self.shares, &other.shares, DIGITS)
            })
        })
    }

    /// Whether the noise of this stop is that of the other, whose samples are as close or closer.
    fn has_noise_of(&self, other: &Self) -> bool {
        let stretched = self.slope / other.slope;
        if self.period * stretched < 0.9 * other.period {
            return false;
        }
        // a third of the closer samples apart, over a sample and a half of the others
        let (step, reach) = (self.period.min(other.period) / 3.0, 0.75 * self.period);
        [1.0, stretched].into_iter().any(|times| {
            let at = |late: f64| move |t: f64| other.half + times * (t - self.half) + late;
            let mut best = (0.0, FIRST.1);
            for side in [-1.0, 1.0] {
                let mut late = 0.0;
                while late <= reach {
                    let found = self.first.alike(other, at(side * late));
                    if found > best.1 {
                        best = (side * late, found);
                    }
                    late += step;
                }
            }
            best.1 > FIRST.1 && {
                let near = [-0.5, -0.25, 0.0, 0.25, 0.5].map(|part| best.0 + part * step);
                near.into_iter().any(|late| self.whole.alike(other, at(late)) > ALIKE)
            }
        })
    }
}

fn is_coarse(noise: &[f64]) -> bool {
    let size = noise.iter().fold(0.0_f64, |most, it| most.max(it.abs()));
    // what the last digits of the times leave is nothing
    3 * noise.iter().filter(|it| it.abs() <= 1e-3 * size).count() > noise.len()
}

fn middle(mut values: Vec<f64>) -> f64 {
    let at = values.len() / 2;
    if values.is_empty() { 0.0 } else { *values.select_nth_unstable_by(at, f64::total_cmp).1 }
}

/// Second differences: twice how far each speed lies below the straight line between its neighbours, at its time.
pub(super) fn second(times: &[f64], speeds: &[f64]) -> Vec<f64> {
    let points = || times.iter().zip(speeds);
    let three = points().zip(points().skip(1)).zip(points().skip(2));
    let below = three.map(|(((t_a, a), (t_b, b)), (t_c, c))| {
        2.0 * (a + (c - a) * (t_b - t_a) / (t_c - t_a) - b)
    });
    below.collect()
}

/// What stands out is cut to the size of the others, where they have one.
fn cut(values: Vec<f64>) -> Vec<f64> {
    let size = 3.0 * middle(values.iter().map(|it| it.abs()).collect());
    if size > 0.0 { values.iter().map(|it| it.clamp(-size, size)).collect() } else { values }
}

/// The speeds at some times, straight between samples, as far as there are any; and where among the times they begin.
fn between(t: &[f64], v: &[f64], at: impl Iterator<Item = f64>) -> (usize, Vec<f64>) {
    let first = t.first().copied().unwrap_or(f64::INFINITY);
    let mut at = at.peekable();
    let mut skipped = 0;
    while at.next_if(|time| *time < first).is_some() {
        skipped += 1;
    }
    let mut upper = 1;
    let mut found = Vec::new();
    for time in at {
        while t.get(upper).is_some_and(|it| *it < time) {
            upper += 1;
        }
        let (Some(a), Some(b)) = (t.get(upper - 1), t.get(upper)) else { break };
        let (Some(x), Some(y)) = (v.get(upper - 1), v.get(upper)) else { break };
        found.push(x + (y - x) * (time - a) / (b - a));
    }
    (skipped, found)
}

/// The weights by which the values before foretell one.
///
/// Source: Levinson's recursion on the correlations from sample to sample (from memory).
fn predicted(values: &[f64]) -> Vec<f64> {
    let values = cut(values.to_vec());
    let product = |lag: usize| values.iter().zip(values.iter().skip(lag)).map(|(a, b)| a * b).sum();
    let products: Vec<f64> = (0..=PREDICTED).map(product).collect();
    let mut weights: Vec<f64> = Vec::new();
    let mut rest = products.first().copied().unwrap_or(0.0);
    for order in 0..PREDICTED {
        let foretold: f64 =
            weights.iter().zip(products.iter().skip(1).take(order).rev()).map(|(a, b)| a * b).sum();
        let next = products.get(order + 1).copied().unwrap_or(0.0);
        if rest <= 0.0 {
            break;
        }
        let reflected = (next - foretold) / rest;
        let turned: Vec<f64> = weights.iter().rev().copied().collect();
        weights.iter_mut().zip(&turned).for_each(|(a, b)| *a -= reflected * b);
        weights.push(reflected);
        rest *= 1.0 - reflected * reflected;
    }
    weights
}

/// What the values before did not foretell; nothing finite where one of them stands out, as the bends of a stop do.
fn unforeseen(values: &[f64], weights: &[f64]) -> Vec<f64> {
    let limit = STANDS_OUT * size(values);
    let rest = values.windows(weights.len() + 1).map(|part| match part.split_last() {
        Some((last, before)) if part.iter().all(|it| it.abs() <= limit) => {
            last - before.iter().rev().zip(weights).map(|(a, b)| a * b).sum::<f64>()
        }
        _ => f64::INFINITY,
    });
    rest.collect()
}

/// The size of values at the middle, which what stands out does not move.
fn size(values: &[f64]) -> f64 {
    middle(values.iter().map(|it| it.abs()).filter(|it| it.is_finite()).collect())
}

/// How many pairs there are without what stands out in one of them, their correlation about zero, and the larger size.
fn likeness(a: &[f64], b: &[f64]) -> (usize, f64, f64) {
    let (of_a, of_b) = (size(a), size(b));
    let (mut count, mut ab, mut aa, mut bb) = (0_usize, 0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(b) {
        if x.abs() <= STANDS_OUT * of_a && y.abs() <= STANDS_OUT * of_b {
            count += 1;
            ab += x * y;
            aa += x * x;
            bb += y * y;
        }
    }
    let found = if aa > 0.0 && bb > 0.0 { ab / (aa * bb).sqrt() } else { 0.0 };
    (count, found, of_a.max(of_b))
}

/// How far one course lies from the other at the middle, on a scale and with an offset that bring them together.
fn apart(own: &[f64], read: &[f64]) -> f64 {
    let pairs: Vec<(f64, f64)> = read.iter().copied().zip(own.iter().copied()).collect();
    let Some(line) = straight(&pairs, 0.0) else { return f64::INFINITY };
    middle(pairs.iter().map(|(x, y)| (y - line.at(*x)).abs()).collect())
}

/// One problem for every two files that hold a stop in common, and for every file that holds one twice.
pub(super) fn copies(files: &[FileOfStops]) -> Vec<Diagnostic> {
    let shapes: Vec<(&str, Vec<Shape>)> = files
        .iter()
        .map(|it| (it.recording.file.as_str(), it.stops.iter().filter_map(Shape::of).collect()))
        .collect();
    let mut problems = Vec::new();
    for (later, (file, stops)) in shapes.iter().enumerate() {
        for (earlier, (other, others)) in shapes.iter().enumerate().take(later + 1) {
            let mut found = stops.iter().enumerate().filter_map(|(at, stop)| {
                let before = if earlier == later { at } else { others.len() };
                Some((stop, others.iter().take(before).find(|it| stop.is_copy_of(it))?))
            });
            let Some((copy, first)) = found.next() else { continue };
            let count = 1 + found.count();
            let what = if count == 1 { "a stop".to_owned() } else { format!("{count} stops") };
            let words = if earlier == later {
                format!(
                    "`{file}` holds {what} twice: the samples, or the noise in them, are the same, and it would count twice"
                )
            } else {
                format!(
                    "`{file}` holds {what} of `{other}`: the samples, or the noise in them, are the same, and what was recorded once would count twice"
                )
            };
            problems.push(
                Diagnostic::error(Name::AskedTwice, words)
                    .at(copy.place.clone())
                    .label(first.place.clone(), "recorded here already")
                    .remedy("leave the copy out, and record another stop in its place"),
            );
        }
    }
    problems
}
