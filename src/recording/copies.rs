//! Stops that are recorded once and counted twice: no two stops have the same noise.
//!
//! Two stops of one machine look alike, and their noise does not. So the second differences of the samples around
//! the command are compared: they forget an offset, a scale, the clock, the order of the columns and the name of the
//! file, and keep the noise. A kink of the ramp, which two stops share, is cut to the size of the noise.
//!
//! Both are taken over the times as they are, so that a straight ramp leaves nothing where the samples are irregular.
//!
//! A copy whose samples were made anew, at other times between the old ones, is found by doing the same to the
//! other stop: it is read between its samples, a little earlier and later, until both go together. What a sample
//! says of the next ones is taken out of both before, so that a ripple that two stops share is not their noise.

use super::measure::count_f64;
use super::passing::FileOfStops;
use super::stop::Recorded;
use crate::diagnostic::{Diagnostic, Name, Place};

/// Samples of a stop that are looked at, before the command and after it.
const LOOKED_AT: (usize, usize) = (512, 4096);

/// The least number of samples in which a copy is seen.
const LEAST: usize = 30;

/// How alike the noise of a copy is. Independent noise gives 0 ± 0.2 with thirty samples; rounding to half the noise
/// leaves more than 0.95.
const ALIKE: f64 = 0.95;

/// How alike what is new in a copy is, whose samples were made anew: rounded to twice the noise 0.86, halfway between
/// the old ones and rounded to the noise 0.8; of 7 800 pairs of simulated real noise, ripple included, none was more
/// than 0.4.
const ALIKE_AGAIN: f64 = 0.6;

/// The least number of samples in which one of these is seen.
const FEWEST: usize = 100;

/// Samples that are looked at first, and how alike they must be for more to be looked at.
const FIRST: (usize, f64) = (256, 0.4);

/// How many samples before say what is not new in one.
const PREDICTED: usize = 12;

/// A copy recorded at every second sample, up to every eighth.
const THINNED: usize = 8;

/// A stop as it is compared.
struct Shape {
    place: Place,
    /// From the command on.
    times: Vec<f64>,
    speeds: Vec<f64>,
    /// Where among them the stop is commanded.
    command: usize,
    period: f64,
    noise: Vec<f64>,
    first: Fresh,
}

/// What is new in some samples about the command: what those before do not foretell.
struct Fresh {
    times: Vec<f64>,
    weights: Vec<f64>,
    new: Vec<f64>,
}

impl Fresh {
    fn of(times: &[f64], speeds: &[f64], command: usize, count: usize) -> Self {
        let from = command.saturating_sub(count / 2);
        let own: Vec<f64> = speeds.iter().skip(from).take(count).copied().collect();
        let times: Vec<f64> = times.iter().skip(from).take(count).copied().collect();
        let own = second(&times, &own);
        let weights = predicted(&own);
        let new = cut(unforeseen(&own, &weights));
        Self { times, weights, new }
    }

    /// How alike another stop is, read between its samples at the times of this one and some later.
    fn alike(&self, other: &Shape, late: f64) -> f64 {
        let (first, read) = between(&other.times, &other.speeds, &self.times, late);
        let at = self.times.get(first..).unwrap_or_default();
        let read = unforeseen(&second(at, &read), &self.weights);
        let read = if self.new.len() > FIRST.0 { cut(read) } else { read };
        let (count, found) = likeness(self.new.iter().skip(first).zip(&read));
        if count < FEWEST { 0.0 } else { found }
    }
}

impl Shape {
    fn of(recorded: &Recorded) -> Self {
        let skipped = recorded.before.len().saturating_sub(LOOKED_AT.0);
        let before = recorded.before.iter().skip(skipped);
        let points: Vec<(f64, f64)> =
            before.chain(recorded.points.iter().take(LOOKED_AT.1)).copied().collect();
        // turned the other way it is the same stop
        let sum: f64 = recorded.before.iter().map(|it| it.1).sum();
        let speeds: Vec<f64> = points.iter().map(|it| it.1 * 1.0_f64.copysign(sum)).collect();
        let steps = points.iter().zip(points.iter().skip(1)).map(|(one, next)| next.0 - one.0);
        let place = recorded.place.clone().unwrap_or(Place::File { name: recorded.file.clone() });
        let times: Vec<f64> = points.iter().map(|it| it.0 - recorded.commanded).collect();
        let command = recorded.before.len() - skipped;
        Self {
            place,
            command,
            first: Fresh::of(&times, &speeds, command, FIRST.0),
            period: middle(steps.collect()),
            noise: noise(&times, &speeds),
            times,
            speeds,
        }
    }

    /// Whether two stops are one.
    fn is_copy_of(&self, other: &Self) -> bool {
        // where steps hide the noise of both, their pattern is that of the ramp
        if self.is_coarse() && other.is_coarse() {
            return self.is_thinned(other);
        }
        [(self, other), (other, self)].into_iter().any(|(one, other)| {
            if one.period < 0.9 * other.period {
                return false;
            }
            // a third of the finer samples apart, over a sample and a half of the coarser ones
            let (step, reach) = (one.period.min(other.period) / 3.0, 1.7 * one.period);
            let mut best = (0.0, FIRST.1);
            let mut late = -reach;
            while late <= reach {
                let found = one.first.alike(other, late);
                if found > best.1 {
                    best = (late, found);
                }
                late += step;
            }
            best.1 > FIRST.1 && {
                let whole = Fresh::of(&one.times, &one.speeds, one.command, LOOKED_AT.1);
                let near = [-0.5, -0.25, 0.0, 0.25, 0.5].map(|part| best.0 + part * step);
                near.into_iter().any(|late| whole.alike(other, late) > ALIKE_AGAIN)
            }
        })
    }

    fn is_coarse(&self) -> bool {
        let size = self.noise.iter().fold(0.0_f64, |most, it| most.max(it.abs()));
        // what the last digits of the times leave is nothing
        let still = self.noise.iter().filter(|it| it.abs() <= 1e-3 * size).count();
        3 * still > self.noise.len()
    }

    fn is_thinned(&self, other: &Self) -> bool {
        let (fine, coarse) =
            if self.period <= other.period { (self, other) } else { (other, self) };
        for every in 1..=THINNED {
            if (coarse.period / fine.period / count_f64(every) - 1.0).abs() > 0.01 {
                continue;
            }
            return (0..every).any(|from| {
                let thinned: Vec<f64>;
                let noise_of = if every == 1 {
                    &fine.noise
                } else {
                    let kept = |of: &[f64]| -> Vec<f64> {
                        of.iter().skip(from).step_by(every).copied().collect()
                    };
                    thinned = noise(&kept(&fine.times), &kept(&fine.speeds));
                    &thinned
                };
                let command = fine.command.saturating_sub(from) / every;
                (0..3).any(|late| {
                    // the sample of the command may be the next one, where samples were left out
                    alike((noise_of, command + late), (&coarse.noise, coarse.command + 1))
                })
            });
        }
        false
    }
}

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// Second differences: twice how far each speed lies below the straight line between its neighbours, at its time.
fn second(times: &[f64], speeds: &[f64]) -> Vec<f64> {
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

/// Second differences without what stands out.
fn noise(times: &[f64], speeds: &[f64]) -> Vec<f64> {
    cut(second(times, speeds))
}

/// The speeds at some times, straight between samples, as far as there are any; and where among the times they begin.
fn between(t: &[f64], v: &[f64], at: &[f64], late: f64) -> (usize, Vec<f64>) {
    let first = t.first().map_or(0, |first| at.partition_point(|time| time + late < *first));
    let mut upper = 1;
    let mut found = Vec::new();
    for time in at.iter().skip(first).map(|time| time + late) {
        while t.get(upper).is_some_and(|it| *it < time) {
            upper += 1;
        }
        let (Some(a), Some(b)) = (t.get(upper - 1), t.get(upper)) else { break };
        let (Some(x), Some(y)) = (v.get(upper - 1), v.get(upper)) else { break };
        found.push(x + (y - x) * (time - a) / (b - a));
    }
    (first, found)
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

/// What the values before did not foretell.
fn unforeseen(values: &[f64], weights: &[f64]) -> Vec<f64> {
    let rest = values.windows(weights.len() + 1).map(|part| {
        let Some((last, before)) = part.split_last() else { return 0.0 };
        last - before.iter().rev().zip(weights).map(|(a, b)| a * b).sum::<f64>()
    });
    rest.collect()
}

/// Whether the two go together, one sample laid on the other.
fn alike(a: (&[f64], usize), b: (&[f64], usize)) -> bool {
    let back = a.1.min(b.1);
    let pairs = a.0.iter().skip(a.1 - back).zip(b.0.iter().skip(b.1 - back));
    let (count, found) = likeness(pairs);
    count >= LEAST && found >= ALIKE
}

/// How many pairs there are, and their correlation about zero.
fn likeness<'a>(pairs: impl Iterator<Item = (&'a f64, &'a f64)>) -> (usize, f64) {
    let (mut count, mut ab, mut aa, mut bb) = (0_usize, 0.0, 0.0, 0.0);
    for (x, y) in pairs {
        count += 1;
        ab += x * y;
        aa += x * x;
        bb += y * y;
    }
    (count, if aa > 0.0 && bb > 0.0 { ab / (aa * bb).sqrt() } else { 0.0 })
}

/// One problem for every two files that hold a stop in common, and for every file that holds one twice.
pub(super) fn copies(files: &[FileOfStops]) -> Vec<Diagnostic> {
    let shapes: Vec<(&str, Vec<Shape>)> = files
        .iter()
        .map(|it| (it.recording.file.as_str(), it.stops.iter().map(Shape::of).collect()))
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
                    "`{file}` holds {what} twice: the noise of the samples is the same, and it would count twice"
                )
            } else {
                format!(
                    "`{file}` holds {what} of `{other}`: the noise of the samples is the same, and what was recorded once would count twice"
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
