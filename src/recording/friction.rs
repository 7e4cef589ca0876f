//! A run-down after torque is removed: what slows it, by least squares.

use super::fit::{Fit, least_squares, quantile_of_t};
use super::measure::{Measured, count_f64};

/// Terms by which one more must lower the residuals, as the F of its term: far more than chance does.
const CLEARLY: f64 = 15.0;

/// Beyond it the terms are hardly told apart.
const CONDITION: f64 = 1e6;

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
}

/// Fits a run-down: time in s, speed in rad/s that falls; `noise` is that of one sample.
///
/// Not the derivative is fitted, which noise would spoil, but its integral from the first sample on,
/// ω = ω_0 − a·t − b·∫ω dt − c·∫ω² dt, linear in what is sought. A term is added only where it lowers the residuals
/// far more than chance does (F above 15); ∫ω² is freed from the noise, σ²·t.
///
/// # Source
/// Angular momentum balance, integrated once; checked against scipy's `curve_fit` on the solved equation in
/// `tests/recording/fits.rs`.
///
/// # Example
/// ```
/// // dω/dt = −4: from 100 rad/s
/// let points: Vec<(f64, f64)> = (0..200_u16).map(|at| f64::from(at) * 0.1).map(|t| (t, 100.0 - 4.0 * t)).collect();
/// let found = standstill::recording::run_down(&points, 0.0).unwrap();
/// assert_eq!(found.terms, 1);
/// assert!((found.rates[0].value - 4.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn run_down(points: &[(f64, f64)], noise: f64) -> Option<RunDown> {
    let (first, last) = (points.first()?, points.last()?);
    let mut rows: Vec<([f64; 4], f64)> = Vec::with_capacity(points.len());
    let (mut before, mut turned, mut squared) = (*first, 0.0, 0.0);
    for (t, speed) in points {
        let step = t - before.0;
        turned += step * (speed + before.1) / 2.0;
        squared += step * ((speed * speed + before.1 * before.1) / 2.0 - noise * noise);
        before = (*t, *speed);
        rows.push(([1.0, -(t - first.0), -turned, -squared], *speed));
    }
    let mut found = as_run_down(&fit_of::<2>(&rows)?);
    let mut sum = fit_of::<2>(&rows)?.sum;
    for terms in 2..=3 {
        let (next, next_sum, used) = match terms {
            2 => {
                let fit = fit_of::<3>(&rows)?;
                (as_run_down(&fit), fit.sum, 3)
            }
            _ => {
                let fit = fit_of::<4>(&rows)?;
                (as_run_down(&fit), fit.sum, 4)
            }
        };
        let free = count_f64(points.len().saturating_sub(used).max(1));
        // rests that only rounding leaves are not worth a term
        let floor = count_f64(points.len()) * (1e-12 * first.1).powi(2);
        let gain = (sum - next_sum) / (next_sum.max(floor) / free);
        if gain > CLEARLY && next.condition < CONDITION && sum > floor {
            (found, sum) = (next, next_sum);
        }
    }
    found.span = (first.1, last.1);
    Some(found)
}

fn fit_of<const N: usize>(rows: &[([f64; 4], f64)]) -> Option<Fit<N>> {
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
    least_squares(&cut)
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
    }
}
