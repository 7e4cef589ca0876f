//! Stops of one condition together: the figure to go on with, and which of them stand out.

use super::fit::straight;
use super::measure::{Measured, count_f64};

/// Stops that every condition needs.
///
/// Source: ISO 13855:2024, at least ten measurements under every condition (from a published summary).
#[must_use]
pub const fn fewest() -> usize {
    10
}

/// What is said of a series of stops, in the unit of its values.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// How many.
    pub count: usize,
    /// Mean.
    pub mean: f64,
    /// Standard deviation of the sample; not a number where there is one value alone.
    pub s: f64,
    /// The largest.
    pub most: f64,
    /// Mean and three standard deviations.
    pub mean_3s: f64,
    /// The largest expanded uncertainty of a stop.
    pub u: f64,
    /// The figure to go on with: the larger of [`Self::most`] and [`Self::mean_3s`], and [`Self::u`].
    pub figure: f64,
    /// Those that stand out, counted from 0; they count all the same.
    pub outliers: Vec<usize>,
    /// Change from stop to stop, where it is more than chance, and over all of them more than the uncertainty of one.
    pub drift: Option<Measured>,
}

/// Distance from the middle, in units of the middle distance, from which a value stands out.
const FAR: f64 = 3.5;

/// A drift that is so many times its uncertainty is none by chance (common practice, no source).
const CLEARLY: f64 = 1.5;

impl Series {
    /// Of values with their uncertainties; none where there are none.
    ///
    /// # Source
    /// ISO 13855:2010, annex D: the larger of the longest and of mean + 3 standard deviations (from memory).
    /// Outliers: distance from the median over the median distance, 0.6745·|x − m|/MAD above 3.5; Iglewicz and
    /// Hoaglin 1993 (from memory), and farther than its own uncertainty.
    ///
    /// # Example
    /// ```
    /// use standstill::recording::{Measured, Series};
    /// let times = [312.0, 318.0, 305.0, 309.0, 321.0, 315.0, 311.0, 307.0, 319.0, 413.0];
    /// let series = Series::of(&times.map(|value| Measured { value, u: 2.0 })).unwrap();
    /// assert_eq!(series.outliers, [9]);
    /// assert!(series.figure > 413.0 + 2.0);
    /// ```
    #[must_use]
    pub fn of(values: &[Measured]) -> Option<Self> {
        let count = values.len();
        if count == 0 {
            return None;
        }
        let n = count_f64(count);
        let mean = values.iter().map(|it| it.value).sum::<f64>() / n;
        let squares: f64 = values.iter().map(|it| (it.value - mean).powi(2)).sum();
        let s = if count > 1 { (squares / (n - 1.0)).sqrt() } else { f64::NAN };
        let most = values.iter().fold(f64::MIN, |most, it| most.max(it.value));
        let mean_3s = mean + 3.0 * s;
        let u = values.iter().fold(0.0, |most: f64, it| most.max(it.u));
        let points: Vec<(f64, f64)> =
            values.iter().enumerate().map(|(at, it)| (count_f64(at), it.value)).collect();
        // of many series one in twenty lies beyond its uncertainty by chance
        let drifts = |slope: f64, u_slope: f64| {
            slope.abs() > CLEARLY * u_slope && slope.abs() * (n - 1.0) > u
        };
        let drift = straight(&points, 0.0)
            .filter(|line| drifts(line.slope, line.u_slope()))
            .map(|line| Measured { value: line.slope, u: line.u_slope() });
        Some(Self {
            count,
            mean,
            s,
            most,
            mean_3s,
            u,
            figure: most.max(mean_3s) + u,
            outliers: outliers(values),
            drift,
        })
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    let at = |at: usize| values.get(at).copied().unwrap_or(0.0);
    if values.len() % 2 == 1 { at(half) } else { (at(half.saturating_sub(1)) + at(half)) / 2.0 }
}

fn outliers(values: &[Measured]) -> Vec<usize> {
    let middle = median(values.iter().map(|it| it.value).collect());
    let spread = median(values.iter().map(|it| (it.value - middle).abs()).collect());
    // stops that are all the same to the recorder's step still differ by what is not known of them
    let floor = values.iter().fold(0.0, |most: f64, it| most.max(it.u)) / 10.0;
    let spread = spread.max(floor).max(middle.abs() * 1e-9);
    let out = |it: &Measured| {
        let off = (it.value - middle).abs();
        0.6745 * off / spread > FAR && off > it.u
    };
    values.iter().enumerate().filter(|(_, it)| out(it)).map(|(at, _)| at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(values: [f64; 10], u: f64) -> Series {
        Series::of(&values.map(|value| Measured { value, u })).unwrap()
    }

    /// What lies within the uncertainty of a stop neither drifts nor stands out.
    #[test]
    fn what_lies_within_its_own_uncertainty_is_not_said() {
        let even = [324.8, 324.6, 324.9, 324.7, 324.8, 324.6, 325.9, 324.8, 323.5, 324.7];
        assert_eq!(of(even, 1.5).outliers, [] as [usize; 0]);
        assert_eq!(of(even, 0.1).outliers, [6, 8]);
        let falls: [f64; 10] = std::array::from_fn(|at| 466.0 - 0.14 * count_f64(at));
        assert!(of(falls, 1.5).drift.is_none());
        assert!(of(falls, 0.5).drift.is_some());
        let warms: [f64; 10] = std::array::from_fn(|at| 466.0 + 2.0 * count_f64(at));
        assert!(of(warms, 1.5).drift.is_some_and(|it| (it.value - 2.0).abs() < 1e-9));
    }
}
