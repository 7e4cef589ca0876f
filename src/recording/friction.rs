//! A run-down after torque is removed: what slows it, by least squares.

use super::fit::{Fit, least_squares, quantile_of_t};
use super::measure::{Measured, count_f64};

/// Terms by which one more must lower the residuals, as the F of its term: far more than chance does.
const CLEARLY: f64 = 15.0;

/// Beyond it the terms are hardly told apart.
const CONDITION: f64 = 1e6;

/// A part of a run-down of which the mean lies so many standard deviations off the law, or whose residuals are so many
/// times the noise, follows another law; so does one whose parts together lie so far off that chance makes it in one of a
/// hundred thousand (common practice, no source).
const OFF: f64 = 5.0;
const ROUGH: f64 = 2.5;

/// Residuals below this share of what the speed falls do not bend the friction (common practice, no source).
const SLIGHT: f64 = 1e-3;

/// The least samples of a part, and the most parts.
const OF_A_PART: usize = 8;
const PARTS: usize = 16;

/// What a channel makes of a speed that is steady: residuals are held against it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Noise {
    /// Standard deviation of one sample.
    pub one: f64,
    /// For how many samples it lasts; below 1 each is new.
    pub lasting: f64,
    /// Step in which the channel was recorded; zero where none is seen.
    pub step: f64,
}

/// Where a run-down departs most from the law that was fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Departs {
    /// At which speed, in rad/s.
    pub at: f64,
    /// By how much there, in rad/s.
    pub by: f64,
    /// By how much noise and steps alone may, in rad/s.
    pub noise: f64,
}

/// A run-down fitted to dω/dt = −(a + b·ω + c·ω²).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunDown {
    /// How many of the terms it needs: 1, 2 or 3.
    pub terms: usize,
    /// a in rad/s², b in 1/s, c in 1/rad; zero where a term is not needed.
    pub rates: [Measured; 3],
    /// Root mean square of the residuals, in rad/s.
    pub rms: f64,
    /// Samples.
    pub count: usize,
    /// From and to which speed, in rad/s.
    pub span: (f64, f64),
    /// Condition of the scaled columns.
    pub condition: f64,
    /// Where it follows no such law: then it says nothing of friction or inertia.
    pub departs: Option<Departs>,
}

/// Fits a run-down: time in s, speed in rad/s that falls; `noise` is that of the same channel.
///
/// Not the derivative is fitted, which noise would spoil, but its integral from the first sample on,
/// ω = ω_0 − a·t − b·∫ω dt − c·∫ω² dt, linear in what is sought. A term is added only where it lowers the residuals
/// far more than chance does (F above 15); ∫ω² is freed from the noise, σ²·t.
/// The residuals are held against the noise, part by part: as a mean, which shows another shape, and by their size, which
/// shows jerks.
///
/// # Source
/// Angular momentum balance, integrated once; checked against scipy's `curve_fit` on the solved equation in
/// `tests/recording/fits.rs`.
///
/// # Example
/// ```
/// // dω/dt = −4: from 100 rad/s
/// let points: Vec<(f64, f64)> = (0..200_u16).map(|at| f64::from(at) * 0.1).map(|t| (t, 100.0 - 4.0 * t)).collect();
/// use standstill::recording::{Noise, run_down};
/// let found = run_down(&points, &Noise::default()).unwrap();
/// assert_eq!(found.terms, 1);
/// assert!((found.rates[0].value - 4.0).abs() < 1e-9);
/// // a brake drops in at half of the speed
/// let brakes = |t: f64| if t < 12.5 { 100.0 - 4.0 * t } else { 50.0 - 8.0 * (t - 12.5) };
/// let points: Vec<(f64, f64)> = points.iter().map(|it| (it.0, brakes(it.0))).take(180).collect();
/// assert!(run_down(&points, &Noise::default()).unwrap().departs.is_some());
/// ```
#[must_use]
pub fn run_down(points: &[(f64, f64)], noise: &Noise) -> Option<RunDown> {
    let (first, last) = (points.first()?, points.last()?);
    let mut rows: Vec<([f64; 4], f64)> = Vec::with_capacity(points.len());
    let (mut before, mut turned, mut squared) = (*first, 0.0, 0.0);
    for (t, speed) in points {
        let step = t - before.0;
        turned += step * (speed + before.1) / 2.0;
        squared += step * ((speed * speed + before.1 * before.1) / 2.0 - noise.one * noise.one);
        before = (*t, *speed);
        rows.push(([1.0, -(t - first.0), -turned, -squared], *speed));
    }
    let (mut found, mut sum, mut rests) = fitted::<2>(&rows)?;
    for terms in 2..=3 {
        let (next, next_sum, next_rests) = match terms {
            2 => fitted::<3>(&rows)?,
            _ => fitted::<4>(&rows)?,
        };
        let used = terms + 1;
        let free = count_f64(points.len().saturating_sub(used).max(1));
        // rests that only rounding leaves are not worth a term
        let floor = count_f64(points.len()) * (1e-12 * first.1).powi(2);
        let gain = (sum - next_sum) / (next_sum.max(floor) / free);
        if gain > CLEARLY && next.condition < CONDITION && sum > floor {
            (found, sum, rests) = (next, next_sum, next_rests);
        }
    }
    found.span = (first.1, last.1);
    // steps that fall in with the sampling hide a slope of up to one of them over the whole
    let (long, step) = (last.0 - first.0, noise.step);
    if found.rms < 0.5 * step / 12.0_f64.sqrt() && long > 0.0 {
        for (rate, power) in found.rates.iter_mut().take(found.terms).zip(0..) {
            rate.u += step / long / first.1.powi(power);
        }
    }
    found.departs = departs(&rows, &rests, noise, SLIGHT * (first.1 - last.1).abs());
    Some(found)
}

/// A part of a run-down: its speed, the mean of its residuals and what noise makes of it, their size and what noise makes
/// of that.
struct Part {
    speed: f64,
    mean: (f64, f64),
    size: (f64, f64),
}

/// Where the residuals are more than those of noise and steps; what is `slight` does not count.
fn departs(rows: &[([f64; 4], f64)], rests: &[f64], noise: &Noise, slight: f64) -> Option<Departs> {
    let parts = (rests.len() / OF_A_PART).clamp(1, PARTS);
    let size = rests.len().div_ceil(parts).max(1);
    let of_a_step = noise.step / 4.0;
    let part = |(rows, rests): (&[([f64; 4], f64)], &[f64])| {
        let n = count_f64(rests.len());
        let of_noise = noise.one * (noise.lasting.max(1.0) / n).min(1.0).sqrt();
        Part {
            speed: rows.iter().map(|it| it.1).sum::<f64>() / n,
            mean: (rests.iter().sum::<f64>() / n, of_noise),
            size: ((rests.iter().map(|it| it * it).sum::<f64>() / n).sqrt(), ROUGH * noise.one),
        }
    };
    let whole = rows.chunks(size).zip(rests.chunks(size)).filter(|it| it.1.len() >= OF_A_PART);
    let all: Vec<Part> = whole.map(part).collect();
    let least = (of_a_step + slight).max(1e-9);
    let rough = all.iter().filter(|it| it.size.0 > it.size.1.max(least));
    let rough = rough.max_by(|a, b| a.size.0.total_cmp(&b.size.0));
    let far = all.iter().max_by(|a, b| a.mean.0.abs().total_cmp(&b.mean.0.abs()))?;
    // how far all of them lie off, beyond what steps make, in standard deviations
    let count = count_f64(all.len());
    let off = |it: &Part| ((it.mean.0.abs() - of_a_step).max(0.0) / it.mean.1.max(1e-12)).powi(2);
    let together: f64 = all.iter().map(off).sum();
    let chance = count + 6.0 * (2.0 * count).sqrt() + 10.0;
    let of_noise = OFF * far.mean.1 + of_a_step;
    let bent = far.mean.0.abs() > least && (far.mean.0.abs() > of_noise || together > chance);
    if bent {
        return Some(Departs { at: far.speed, by: far.mean.0.abs(), noise: of_noise });
    }
    rough.map(|it| Departs { at: it.speed, by: it.size.0, noise: noise.one })
}

/// The fit with its sum of squares and its residuals.
fn fitted<const N: usize>(rows: &[([f64; 4], f64)]) -> Option<(RunDown, f64, Vec<f64>)> {
    let cut: Vec<([f64; N], f64)> = rows
        .iter()
        .map(|(row, y)| {
            let mut short = [0.0; N];
            for (to, from) in short.iter_mut().zip(row) {
                *to = *from;
            }
            (short, *y)
        })
        .collect();
    let fit: Fit<N> = least_squares(&cut)?;
    let rest =
        |(row, y): &([f64; N], f64)| y - row.iter().zip(&fit.x).map(|(a, b)| a * b).sum::<f64>();
    Some((as_run_down(&fit), fit.sum, cut.iter().map(rest).collect()))
}

fn as_run_down<const N: usize>(fit: &Fit<N>) -> RunDown {
    let k = quantile_of_t(fit.count.saturating_sub(N));
    let mut rates = [Measured { value: 0.0, u: 0.0 }; 3];
    let found = fit.x.iter().zip(fit.covariance.iter().enumerate()).skip(1);
    for (to, (value, (at, row))) in rates.iter_mut().zip(found) {
        let variance = row.get(at).copied().unwrap_or(0.0);
        *to = Measured { value: *value, u: k * variance.sqrt() };
    }
    RunDown {
        terms: N - 1,
        rates,
        rms: fit.rms,
        count: fit.count,
        span: (0.0, 0.0),
        condition: fit.condition,
        departs: None,
    }
}
