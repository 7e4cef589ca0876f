//! The one place where f64 functions are called that may differ from machine to machine.
//!
//! All are those of the `libm` crate, plain Rust ported from musl and the same bits everywhere.
//! Basic operations and square roots are exact to half a unit by IEEE 754 and need no such place.

#![expect(clippy::disallowed_methods, reason = "this is that place")]

use std::sync::LazyLock;

/// Bound of the relative error of every function here: 4 · 2^-53, two units in the last place.
///
/// The test below holds them to it against exact decimals, which are themselves held to mpmath.
pub(crate) const ERROR: f64 = 4.5e-16;

macro_rules! functions {
    ($($name:ident $from:ident $about:literal;)*) => {
        $(#[doc = $about] #[inline] pub(crate) fn $name(x: f64) -> f64 { libm::$from(x) })*
    };
}

functions! {
    exponential exp "e to the power.";
    logarithm log "Natural logarithm.";
    decimal_logarithm log10 "Logarithm to base ten.";
    sine sin "Sine of an angle in rad.";
    cosine cos "Cosine of an angle in rad.";
    tangent tan "Tangent of an angle in rad.";
    arc_sine asin "Angle in rad whose sine it is.";
    arc_cosine acos "Angle in rad whose cosine it is.";
    arc_tangent atan "Angle in rad whose tangent it is.";
    cube_root cbrt "Cube root.";
}

/// x to the power y.
#[inline]
pub(crate) fn power(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// 10^power, the nearest f64; zero or infinite beyond its range.
pub(crate) fn power_of_ten(power: i32) -> f64 {
    // the standard library's parser rounds correctly, its `powi` promises nothing
    static POWERS: LazyLock<Vec<f64>> = LazyLock::new(|| {
        (-FAR..=FAR).map(|power| format!("1e{power}").parse().unwrap_or(f64::NAN)).collect()
    });
    let place = usize::try_from(power.saturating_add(FAR)).ok();
    let beyond = if power < 0 { 0.0 } else { f64::INFINITY };
    place.and_then(|at| POWERS.get(at)).copied().unwrap_or(beyond)
}

/// Powers of ten kept ready, up and down.
const FAR: i32 = 300;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::{Exact, Outcome};

    /// The f64 itself as an exact decimal: its binary digits, of which 28 decimal ones are kept.
    fn binary(x: f64) -> Exact {
        // head and tail each have few enough bits to be short decimals
        let head = f64::from_bits(x.to_bits() & !0x7ff_ffff);
        let part = |part: f64| {
            let (mut scaled, mut twos) = (part, 0_i32);
            while scaled.fract() != 0.0 {
                scaled *= 2.0;
                twos += 1;
            }
            let whole =
                Exact::from_decimal(rust_decimal::Decimal::from(scaled as i128), 0).unwrap();
            let half = Exact::from_f64(0.5).unwrap();
            (0..twos).fold(whole, |value, _| value.times(&half).unwrap())
        };
        part(head).plus(&part(x - head)).unwrap()
    }

    type Pair = (fn(f64) -> f64, fn(&Exact) -> Outcome, f64, f64);

    #[test]
    fn every_function_keeps_its_bound() {
        let functions: [Pair; 9] = [
            (exponential, Exact::exponential, -30.0, 30.0),
            (logarithm, Exact::logarithm, 0.001, 50.0),
            (decimal_logarithm, Exact::decimal_logarithm, 0.001, 50.0),
            (sine, Exact::sine, -20.0, 20.0),
            (cosine, Exact::cosine, -20.0, 20.0),
            (tangent, Exact::tangent, -20.0, 20.0),
            (arc_sine, Exact::arc_sine, -1.0, 1.0),
            (arc_cosine, Exact::arc_cosine, -1.0, 1.0),
            (arc_tangent, Exact::arc_tangent, -40.0, 40.0),
        ];
        let check = |found: f64, exact: Exact, x: f64| {
            let off = binary(found).over(&exact).unwrap().minus(&Exact::whole(1)).unwrap().to_f64();
            assert!(off.abs() <= ERROR, "{x}: {found}, {exact:?}: {off}");
        };
        for (function, exact, low, high) in functions {
            for k in 0..2000 {
                let x = low + (high - low) * (f64::from(k) + 0.377) / 2000.0;
                check(function(x), exact(&binary(x)).unwrap(), x);
            }
        }
        for k in 0..2000 {
            let (x, y) = (0.01 + f64::from(k) * 0.0137, f64::from(k % 83) * 0.217 - 9.0);
            check(power(x, y), binary(x).raised(&binary(y)).unwrap(), x);
            let third = crate::program::Ratio { numerator: 1, denominator: 3 };
            check(cube_root(x), binary(x).power(third).unwrap(), x);
        }
    }
}
