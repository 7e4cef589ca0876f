//! A measured value with its uncertainty, and how it is written.

use crate::elementary::{decimal_logarithm, power_of_ten};

/// A value with its expanded uncertainty (k = 2, or Student's t for 95 %), in coherent SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// What it may be off.
    pub u: f64,
}

/// A number to so many digits, plain.
pub(super) fn digits(x: f64, count: i32) -> String {
    if x == 0.0 || !x.is_finite() {
        return if x == 0.0 { "0".to_owned() } else { "not bounded".to_owned() };
    }
    let places = count - 1 - floor(x);
    fixed(x, places)
}

/// The power of ten at or below the size of a number.
#[allow(
    clippy::cast_possible_truncation,
    reason = "the decimal logarithm of a float lies within ±330"
)]
fn floor(x: f64) -> i32 {
    (decimal_logarithm(x.abs()) + 1e-12).floor() as i32
}

fn fixed(x: f64, places: i32) -> String {
    let scale = power_of_ten(places.max(-12));
    let rounded = if places < 0 { (x * scale).round() / scale } else { x };
    format!("{rounded:.*}", usize::try_from(places.max(0)).unwrap_or(0).min(12))
}

/// The same without zeros at the end.
pub(super) fn trimmed(x: f64, count: i32) -> String {
    let text = digits(x, count);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A limit beside a measured value: with as many digits after the point, and more where it takes them to see on
/// which side of it the value lies.
pub(super) fn limit(limit: f64, beside: Measured, scale: f64) -> String {
    let (limit, x, u) = (limit / scale, beside.value / scale, beside.u / scale);
    if u.is_nan() || u <= 0.0 || u.is_infinite() {
        return digits(limit, 5);
    }
    let places = 1 - floor(u);
    let ten = power_of_ten(places);
    // what is shown of the value, at its farther end
    let shown = (x * ten).round() / ten + (u * ten - 1e-9).ceil() / ten;
    let agrees = |places: &i32| {
        let ten = power_of_ten(*places);
        ((limit * ten).round() / ten >= shown - 1e-9 * shown.abs()) == (limit >= x + u)
    };
    fixed(limit, (places..places + 3).find(agrees).unwrap_or(places + 3))
}

/// A number to so many digits, rounded up, without zeros at the end.
pub(super) fn rounded_up(x: f64, count: i32) -> String {
    let scale = power_of_ten(count - 1 - if x == 0.0 { 0 } else { floor(x) });
    // what is a number of so many digits stays it
    trimmed((x * scale * (1.0 - 1e-12 * x.signum())).ceil() / scale, count)
}

/// The same, rounded down.
pub(super) fn rounded_down(x: f64, count: i32) -> String {
    let up = rounded_up(-x, count);
    up.strip_prefix('-')
        .map_or_else(|| if up == "0" { up.clone() } else { format!("-{up}") }, str::to_owned)
}

/// A number as it is written for a sheet: nine digits.
pub(super) fn plain(x: f64) -> String {
    digits(x, 9)
}

/// `312.4 ± 1.8`: the uncertainty to two digits, rounded up, the value as far.
pub(super) fn with_u(value: Measured, scale: f64) -> String {
    let (x, u) = (value.value / scale, value.u / scale);
    if u.is_nan() || u <= 0.0 || u.is_infinite() {
        return digits(x, 5);
    }
    let places = 1 - floor(u);
    let scale = power_of_ten(places);
    let up = (u * scale - 1e-9).ceil() / scale;
    format!("{} ± {}", fixed(x, places), fixed(up, places))
}

pub(super) fn optional(value: Option<Measured>, scale: f64) -> String {
    value.map_or_else(|| "–".to_owned(), |value| with_u(value, scale))
}

/// Values that lie apart as one: their middle, and how far it is to the furthest, its uncertainty added.
pub(super) fn apart(values: &[Measured]) -> Option<Measured> {
    let low = values.iter().map(|it| it.value - it.u).fold(f64::INFINITY, f64::min);
    let high = values.iter().map(|it| it.value + it.u).fold(f64::NEG_INFINITY, f64::max);
    let found = Measured { value: (low + high) / 2.0, u: (high - low) / 2.0 };
    (found.value.is_finite() && found.u.is_finite()).then_some(found)
}

/// A number of samples as a float: they are far fewer than 2^52.
#[allow(clippy::cast_precision_loss, reason = "counts of samples in memory")]
pub(super) fn count_f64(count: usize) -> f64 {
    count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_to_type_lies_on_its_side() {
        for (x, count, down, up) in [
            (1.6987, 3, "1.69", "1.7"),
            (1.7, 3, "1.7", "1.7"),
            (0.309_333_333, 6, "0.309333", "0.309334"),
            (27.81, 4, "27.81", "27.81"),
            (999.96, 4, "999.9", "1000"),
            (-4.907, 3, "-4.91", "-4.9"),
            (0.0, 3, "0", "0"),
        ] {
            assert_eq!(rounded_down(x, count), down, "{x}");
            assert_eq!(rounded_up(x, count), up, "{x}");
        }
    }
}
