//! The one place where f64 functions are called that may differ from machine to machine.
//!
//! All are those of the `libm` crate, plain Rust ported from musl and the same bits everywhere. Its
//! authors state errors below one unit in the last place for each of them but `pow` (below 0.7 more).
//! Basic operations and square roots are exact to half a unit by IEEE 754 and need no such place.

use std::sync::LazyLock;

/// Bound of the relative error of every function here where its value is not near a zero: 4 · 2^-53.
///
/// Source: at most 1 unit in the last place in a comparison of 200 000 arguments each; doubled twice.
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
