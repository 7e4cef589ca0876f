//! The f64 nearest to a decimal, by pairs of doubles.
//!
//! Source: T. J. Dekker, "A floating-point technique for extending the available precision", Numerische Mathematik 18
//! (1971), from memory; the test at the end as in A. Ziv, ACM TOMS 17 (1991), from memory.

use crate::elementary::power_of_ten;

/// Largest power of ten that an f64 holds exactly.
const EXACT: i32 = 22;
/// More than the relative error of a product or a quotient of pairs, which is below 2^-100.
const MARGIN: f64 = 5e-29;

/// The f64 nearest to `digits` · 10^`exponent`; none where pairs of doubles cannot say which it is.
#[expect(clippy::cast_precision_loss, reason = "what is lost is the tail")]
#[expect(clippy::cast_possible_truncation, reason = "back from what came from an i128")]
pub(super) fn nearest_f64(digits: i128, exponent: i32) -> Option<f64> {
    if digits == 0 || exponent.abs() > 2 * EXACT || digits.unsigned_abs() >= 1 << 100 {
        return (digits == 0).then_some(0.0);
    }
    let head = digits as f64;
    let tail = (digits - head as i128) as f64;
    let small = exponent.abs().min(EXACT);
    let ten = product(power_of_ten(small), power_of_ten(exponent.abs() - small));
    let (high, low) = if exponent < 0 { over((head, tail), ten) } else { times((head, tail), ten) };
    let margin = high.abs() * MARGIN;
    (high + (low + margin) == high && high + (low - margin) == high).then_some(high)
}

/// Product and its error.
fn product(a: f64, b: f64) -> (f64, f64) {
    let halves = |x: f64| {
        let scaled = x * 134_217_729.0;
        let high = scaled - (scaled - x);
        (high, x - high)
    };
    let ((a1, a2), (b1, b2)) = (halves(a), halves(b));
    let product = a * b;
    (product, ((a1 * b1 - product) + a1 * b2 + a2 * b1) + a2 * b2)
}

/// The nearest double, and what is left.
fn settled(high: f64, low: f64) -> (f64, f64) {
    let sum = high + low;
    (sum, low - (sum - high))
}

fn times(x: (f64, f64), y: (f64, f64)) -> (f64, f64) {
    let (high, error) = product(x.0, y.0);
    settled(high, error + (x.0 * y.1 + x.1 * y.0))
}

fn over(x: (f64, f64), y: (f64, f64)) -> (f64, f64) {
    let quotient = x.0 / y.0;
    let (high, error) = product(quotient, y.0);
    let rest = ((x.0 - high) - error) + x.1 - quotient * y.1;
    settled(quotient, rest / y.0)
}

#[cfg(test)]
mod tests {
    use super::nearest_f64;

    /// Against the parser of the standard library, which rounds correctly.
    #[test]
    fn the_nearest_is_that_of_the_parser() {
        let mut state = 7_u64;
        let mut draw = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            state
        };
        let mut left = 0;
        for _ in 0..200_000 {
            let wide = i128::from(draw() >> 1) << 31 | i128::from(draw() >> 33);
            let digits = wide >> (draw() % 94);
            let digits = if draw() % 2 == 0 { digits } else { -digits };
            let exponent = i32::try_from(draw() % 100).unwrap() - 50;
            let parsed: f64 = format!("{digits}e{exponent}").parse().unwrap();
            match nearest_f64(digits, exponent) {
                Some(found) => assert_eq!(found.to_bits(), parsed.to_bits(), "{digits}e{exponent}"),
                None => left += usize::from(exponent.abs() <= 44),
            }
        }
        assert!(left < 2_000, "{left}");
        // halfway between two doubles nobody but the parser decides
        assert_eq!(nearest_f64(9_007_199_254_740_993, 0), None);
        assert_eq!(nearest_f64(9_007_199_254_740_992, 0), Some(9_007_199_254_740_992.0));
        assert_eq!(nearest_f64(1, -1), Some(0.1));
    }
}
