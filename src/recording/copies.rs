//! Stops that are recorded once and counted twice: no two stops have the same noise.
//!
//! Two stops of one machine look alike, and their noise does not. So the second differences of the samples around
//! the command are compared: they forget an offset, a scale, the clock, the order of the columns and the name of the
//! file, and keep the noise. A kink of the ramp, which two stops share, is cut to the size of the noise.

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

/// A copy recorded at every second sample, up to every eighth.
const THINNED: usize = 8;

/// A stop as it is compared.
struct Shape {
    place: Place,
    speeds: Vec<f64>,
    /// Where among them the stop is commanded.
    command: usize,
    period: f64,
    noise: Vec<f64>,
}

impl Shape {
    fn of(recorded: &Recorded) -> Self {
        let skipped = recorded.before.len().saturating_sub(LOOKED_AT.0);
        let before = recorded.before.iter().skip(skipped);
        let points: Vec<(f64, f64)> =
            before.chain(recorded.points.iter().take(LOOKED_AT.1)).copied().collect();
        let speeds: Vec<f64> = points.iter().map(|it| it.1).collect();
        let steps = points.iter().zip(points.iter().skip(1)).map(|(one, next)| next.0 - one.0);
        let place = recorded.place.clone().unwrap_or(Place::File { name: recorded.file.clone() });
        Self {
            place,
            command: recorded.before.len() - skipped,
            period: middle(steps.collect()),
            noise: noise(&speeds),
            speeds,
        }
    }

    /// Whether two stops are one.
    fn is_copy_of(&self, other: &Self) -> bool {
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
                    let kept = fine.speeds.iter().skip(from).step_by(every).copied();
                    thinned = noise(&kept.collect::<Vec<_>>());
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

/// Second differences; what stands out is cut to the size of the others, where they have one.
fn noise(speeds: &[f64]) -> Vec<f64> {
    let three = speeds.iter().zip(speeds.iter().skip(1)).zip(speeds.iter().skip(2));
    let second: Vec<f64> = three.map(|((a, b), c)| a - 2.0 * b + c).collect();
    let size = 3.0 * middle(second.iter().map(|it| it.abs()).collect());
    if size > 0.0 { second.iter().map(|it| it.clamp(-size, size)).collect() } else { second }
}

/// Whether the two go together, one sample laid on the other.
fn alike(a: (&[f64], usize), b: (&[f64], usize)) -> bool {
    let back = a.1.min(b.1);
    let pairs = || a.0.iter().skip(a.1 - back).zip(b.0.iter().skip(b.1 - back));
    let (mut count, mut ab, mut aa, mut bb) = (0_usize, 0.0, 0.0, 0.0);
    for (x, y) in pairs() {
        count += 1;
        ab += x * y;
        aa += x * x;
        bb += y * y;
    }
    count >= LEAST && aa > 0.0 && bb > 0.0 && ab >= ALIKE * (aa * bb).sqrt()
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
