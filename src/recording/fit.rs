//! Linear least squares of a few columns, with the errors of what it finds.

use super::measure::{Measured, count_f64};

/// What a fit finds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit<const N: usize> {
    /// The coefficients.
    pub x: [f64; N],
    /// Their covariance, from the residuals; widened where these follow one another (see [`least_squares`]).
    pub covariance: [[f64; N]; N],
    /// Root mean square of the residuals over the degrees of freedom.
    pub rms: f64,
    /// Sum of the squared residuals.
    pub sum: f64,
    /// Factor of the variances for residuals that follow one another.
    pub widened: f64,
    /// Condition of the scaled columns (Frobenius), 1 at best; beyond 1e6 the columns are hardly told apart.
    pub condition: f64,
    /// Rows.
    pub count: usize,
}

/// Solves rows of columns and a value for the coefficients with the least sum of squares.
///
/// Columns are scaled to length one and made orthogonal twice (modified Gram-Schmidt); the residuals give the
/// covariance s²·(XᵀX)⁻¹. Where they follow one another (coarse steps of a recorder do), it is widened by
/// (1 + r)/(1 − r) with their correlation r from row to row, and never narrowed. None where there are not more
/// rows than columns, or a column depends on the others.
///
/// # Source
/// Björck, Numerical Methods for Least Squares Problems, 1996, 2.4 (from memory); checked against numpy's `lstsq`
/// and scipy's `curve_fit` in `tests/reference/recorded.py`.
///
/// # Example
/// A straight line through four points on it, y = 2 − 3·x:
/// ```
/// let rows = [0.0, 1.0, 2.0, 3.0].map(|x| ([1.0, x], 2.0 - 3.0 * x));
/// let fit = standstill::recording::least_squares(&rows).unwrap();
/// assert!((fit.x[0] - 2.0).abs() < 1e-12 && (fit.x[1] + 3.0).abs() < 1e-12);
/// ```
#[must_use]
#[allow(
    clippy::indexing_slicing,
    clippy::needless_range_loop,
    reason = "matrices of N by N, walked from 0 to N"
)]
pub fn least_squares<const N: usize>(rows: &[([f64; N], f64)]) -> Option<Fit<N>> {
    if rows.len() <= N {
        return None;
    }
    let mut scale = [0.0; N];
    for (row, _) in rows {
        for at in 0..N {
            scale[at] += row[at] * row[at];
        }
    }
    for one in &mut scale {
        *one = one.sqrt();
        if !(*one > 0.0 && one.is_finite()) {
            return None;
        }
    }
    let mut columns: Vec<[f64; N]> = rows
        .iter()
        .map(|(row, _)| {
            let mut scaled = *row;
            for at in 0..N {
                scaled[at] /= scale[at];
            }
            scaled
        })
        .collect();
    let mut r = [[0.0; N]; N];
    for at in 0..N {
        for _ in 0..2 {
            for before in 0..at {
                let dot: f64 = columns.iter().map(|row| row[before] * row[at]).sum();
                r[before][at] += dot;
                for row in &mut columns {
                    row[at] -= dot * row[before];
                }
            }
        }
        let length = columns.iter().map(|row| row[at] * row[at]).sum::<f64>().sqrt();
        if length.is_nan() || length <= 1e-10 {
            return None;
        }
        r[at][at] = length;
        for row in &mut columns {
            row[at] /= length;
        }
    }
    let mut right = [0.0; N];
    for (row, (_, y)) in columns.iter().zip(rows) {
        for at in 0..N {
            right[at] += row[at] * y;
        }
    }
    // the inverse of the triangle, column by column
    let mut inverse = [[0.0; N]; N];
    for column in 0..N {
        for at in (0..=column).rev() {
            let mut sum = if at == column { 1.0 } else { 0.0 };
            for k in at + 1..=column {
                sum -= r[at][k] * inverse[k][column];
            }
            inverse[at][column] = sum / r[at][at];
        }
    }
    let mut x = [0.0; N];
    for at in 0..N {
        x[at] = (at..N).map(|k| inverse[at][k] * right[k]).sum::<f64>() / scale[at];
    }
    let (mut sum, mut follow, mut last) = (0.0, 0.0, 0.0);
    for (row, y) in rows {
        let found: f64 = row.iter().zip(&x).map(|(a, b)| a * b).sum();
        let rest = y - found;
        sum += rest * rest;
        follow += rest * last;
        last = rest;
    }
    let variance = sum / count_f64(rows.len() - N);
    // rests that are rounding alone follow one another without meaning anything
    let correlation = if sum > 0.0 { (follow / sum).clamp(0.0, 0.98) } else { 0.0 };
    let widened = (1.0 + correlation) / (1.0 - correlation);
    let mut covariance = [[0.0; N]; N];
    for a in 0..N {
        for b in 0..N {
            let dot: f64 = (a.max(b)..N).map(|k| inverse[a][k] * inverse[b][k]).sum();
            covariance[a][b] = variance * widened * dot / (scale[a] * scale[b]);
        }
    }
    let size = |matrix: &[[f64; N]; N]| -> f64 {
        matrix.iter().flatten().map(|it| it * it).sum::<f64>().sqrt()
    };
    let condition = size(&r) * size(&inverse) / count_f64(N);
    let fit =
        Fit { x, covariance, rms: variance.sqrt(), sum, widened, condition, count: rows.len() };
    fit.x.iter().all(|it| it.is_finite()).then_some(fit)
}

/// A straight line y = level + slope·(t − middle) through points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Straight {
    pub(super) middle: f64,
    pub(super) level: f64,
    pub(super) slope: f64,
    variance_of_level: f64,
    variance_of_slope: f64,
    /// Student's factor for 95 %.
    pub(super) k: f64,
    pub(super) rms: f64,
}

/// The line through points; `noise` is the least that its rests are taken to be.
pub(super) fn straight(points: &[(f64, f64)], noise: f64) -> Option<Straight> {
    let middle = points.iter().map(|it| it.0).sum::<f64>() / count_f64(points.len().max(1));
    let rows: Vec<([f64; 2], f64)> = points.iter().map(|(t, y)| ([1.0, t - middle], *y)).collect();
    let fit = least_squares(&rows)?;
    let ([level, slope], [[of_level, _], [_, of_slope]]) = (fit.x, fit.covariance);
    let square: f64 = points.iter().map(|(t, _)| (t - middle).powi(2)).sum();
    // a few samples may lie on a line by chance: their noise is that of the others
    let k = quantile_of_t(points.len().saturating_sub(2));
    Some(Straight {
        middle,
        level,
        slope,
        variance_of_level: of_level.max(noise * noise / count_f64(points.len())),
        variance_of_slope: of_slope.max(noise * noise / square),
        k,
        rms: fit.rms,
    })
}

impl Straight {
    /// A level without any slope, of which nothing else is known.
    pub(super) fn flat(level: f64) -> Self {
        Self {
            middle: 0.0,
            level,
            slope: 0.0,
            variance_of_level: 0.0,
            variance_of_slope: 0.0,
            k: 2.0,
            rms: 0.0,
        }
    }

    pub(super) fn at(&self, t: f64) -> f64 {
        self.level + self.slope * (t - self.middle)
    }

    /// Variance of its value at a moment.
    pub(super) fn variance_at(&self, t: f64) -> f64 {
        self.variance_of_level + (t - self.middle).powi(2) * self.variance_of_slope
    }

    /// Expanded uncertainty of its slope.
    pub(super) fn u_slope(&self) -> f64 {
        self.k * self.variance_of_slope.sqrt()
    }

    /// When it reaches a value, and the expanded uncertainty of that; `variance` is that of the value itself.
    pub(super) fn reaches(&self, value: f64, variance: f64) -> (f64, f64) {
        let t = self.middle + (value - self.level) / self.slope;
        (t, self.k * (self.variance_at(t) + variance).sqrt() / self.slope.abs())
    }
}

/// A parabola y = level + slope·x + bend·(x² − m), x = t − middle, m the mean of x².
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bent {
    pub(super) line: Straight,
    bend: f64,
    u_bend: f64,
    square: f64,
}

/// The parabola through points; `noise` is the least that its rests are taken to be.
pub(super) fn bent(points: &[(f64, f64)], noise: f64) -> Option<Bent> {
    let n = count_f64(points.len().max(1));
    let middle = points.iter().map(|it| it.0).sum::<f64>() / n;
    let square = points.iter().map(|(t, _)| (t - middle).powi(2)).sum::<f64>() / n;
    let row = |t: f64| [1.0, t - middle, (t - middle).powi(2) - square];
    let rows: Vec<([f64; 3], f64)> = points.iter().map(|(t, y)| (row(*t), *y)).collect();
    let fit = least_squares(&rows)?;
    let ([level, slope, bend], [[of_level, ..], [_, of_slope, _], [.., of_bend]]) =
        (fit.x, fit.covariance);
    let fourth: f64 = rows.iter().map(|it| it.0[2].powi(2)).sum();
    let k = quantile_of_t(points.len().saturating_sub(3));
    let line = Straight {
        middle,
        level,
        slope,
        variance_of_level: of_level.max(noise * noise / n),
        variance_of_slope: of_slope.max(noise * noise / (n * square)),
        k,
        rms: fit.rms,
    };
    Some(Bent { line, bend, u_bend: k * of_bend.max(noise * noise / fourth).sqrt(), square })
}

/// When a fall reaches a value, and how steep it is there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reached {
    pub(super) time: Measured,
    pub(super) steep: f64,
}

impl Bent {
    /// The curve itself, of one that was read through a filter that smears it: its bend lifts what is shown.
    pub(super) fn unsmeared(mut self, square: f64) -> Self {
        self.line.level -= self.bend * square;
        self
    }

    pub(super) fn at(&self, t: f64) -> f64 {
        self.line.at(t) + self.bend * ((t - self.line.middle).powi(2) - self.square)
    }

    /// When a fall reaches a value, between the earliest and the latest that its level, slope and bend allow; one
    /// that turns before it gets there reaches it where it turns.
    pub(super) fn reaches(&self, value: f64) -> Reached {
        let line = &self.line;
        let at = |level: f64, slope: f64, bend: f64| {
            let level = level - bend * self.square - value;
            // the bend with which it would turn just there
            let most = slope * slope / (4.0 * level.max(f64::MIN_POSITIVE));
            let root = (slope * slope - 4.0 * bend.min(most) * level).max(0.0).sqrt();
            (line.middle + 2.0 * level / (root - slope), root)
        };
        let (t, root) = at(line.level, line.slope, self.bend);
        // one that seems to end ever steeper may do so by chance alone
        let straight = self.bend.max(0.0);
        let latest = at(line.level, line.slope, straight).0;
        // an end that is nearly flat moves by the root of what its level is off: each is put in, not its slope alone
        let (u_level, u_slope) = (line.k * line.variance_of_level.sqrt(), line.u_slope());
        let flattest = line.slope / 3.0;
        let (mut early, mut late) = (0.0_f64, 0.0_f64);
        for sign in [-1.0, 1.0] {
            for (level, slope, bend) in
                [(u_level, 0.0, 0.0), (0.0, u_slope, 0.0), (0.0, 0.0, self.u_bend)]
            {
                let (level, slope) = (line.level + sign * level, line.slope + sign * slope);
                let moved = |bend_0: f64| at(level, slope.min(flattest), bend_0 + sign * bend).0;
                early += (t - moved(self.bend)).max(0.0).powi(2);
                late += (moved(straight) - latest).max(0.0).powi(2);
            }
        }
        let (early, late) = (t - early.sqrt(), latest + late.sqrt());
        let time = Measured { value: (early + late) / 2.0, u: (late - early) / 2.0 };
        Reached { time, steep: root }
    }

    /// How steep a fall is at a moment.
    pub(super) fn steep_at(&self, t: f64) -> f64 {
        -(self.line.slope + 2.0 * self.bend * (t - self.line.middle))
    }
}

/// Student's t for 95 % on both sides, by degrees of freedom.
///
/// # Source
/// Abramowitz and Stegun, 26.7.5 (from memory), within 0.4 % from three degrees of freedom on; one and two are exact.
/// Checked against scipy in `tests/recording/fits.rs`.
///
/// # Example
/// ```
/// assert!((standstill::recording::quantile_of_t(8) - 2.306).abs() < 1e-3);
/// ```
#[must_use]
pub fn quantile_of_t(freedom: usize) -> f64 {
    const Z: f64 = 1.959_963_984_540_054;
    match freedom {
        0 => f64::INFINITY,
        1 => 12.706_204_736_432_1,
        2 => 4.302_652_729_696_14,
        _ => {
            let v = count_f64(freedom);
            let z = |power: i32| Z.powi(power);
            Z + (z(3) + z(1)) / (4.0 * v)
                + (5.0 * z(5) + 16.0 * z(3) + 3.0 * z(1)) / (96.0 * v * v)
                + (3.0 * z(7) + 19.0 * z(5) + 17.0 * z(3) - 15.0 * z(1)) / (384.0 * v.powi(3))
                + (79.0 * z(9) + 776.0 * z(7) + 1482.0 * z(5) - 1920.0 * z(3) - 945.0 * z(1))
                    / (92_160.0 * v.powi(4))
        }
    }
}
/// The least samples from which the speed before a stop is taken.
pub(super) const LEAST_BEFORE: usize = 10;

/// The samples after a jump of the speed: one stop may be joined to another, and what lies apart by it is no noise.
pub(super) fn after_jump(before: &[(f64, f64)]) -> &[(f64, f64)] {
    let whole: f64 = before.iter().map(|it| it.1).sum();
    let (mut sum, mut jump) = (0.0, None::<(f64, usize)>);
    for (at, (_, speed)) in (1..).zip(before) {
        sum += speed;
        let later = before.len() - at;
        if later < LEAST_BEFORE {
            break;
        }
        let (early, late) = (sum / count_f64(at), (whole - sum) / count_f64(later));
        let by = (late - early).abs();
        if by > late.abs() / 2.0 && jump.is_none_or(|it| by > it.0) {
            jump = Some((by, at));
        }
    }
    jump.and_then(|it| before.get(it.1..)).unwrap_or(before)
}
