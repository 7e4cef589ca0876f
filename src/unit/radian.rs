//! The rule of the radian: where an angle counts, and where SI's own habit absorbs it.
//!
//! SI calls the radian the number one, so that a revolution, a torque and a hertz lose what distinguishes
//! them. Here rad is kept, and let go only where the rest of the dimension leaves no doubt.
//! The idea of the radian as a quantity with a dimension: P. Quincey and R. J. C. Brown, "A clearer
//! approach for defining unit systems", Metrologia 54 (2017).

use super::kinds::KINDS;
use super::{Base, Dimension};

/// Remainders, angle set aside, that leave doubt: here a wrong power of rad is an error.
///
/// Pure numbers and pure powers of time come on top.
const STRICT: &[Dimension] = &[
    // speed against speed of rotation times length
    Dimension::of(1, 0, -1, 0, 0, 0),
    // energy, torque, torsional stiffness
    Dimension::of(2, 1, -2, 0, 0, 0),
    // power, torque per time
    Dimension::of(2, 1, -3, 0, 0, 0),
    // angular momentum, speed-proportional drag
    Dimension::of(2, 1, -1, 0, 0, 0),
];

/// Whether quantities of two dimensions may be added, compared or put for one another.
///
/// Everything but the angle must agree; the angle must agree too where the rest leaves doubt
/// (pure numbers, powers of time, speed, energy, power, angular momentum).
///
/// # Example
/// ```
/// use standstill::unit::{fits, kind};
/// let of = |name: &str| kind(name).unwrap().dimension;
/// assert!(fits(of("radius"), of("length")));
/// assert!(!fits(of("torque"), of("energy")));
/// assert!(!fits(of("speed of rotation"), of("rate")));
/// assert!(!fits(of("time"), of("length")));
/// ```
#[must_use]
pub fn fits(a: Dimension, b: Dimension) -> bool {
    a == b || (a.without_angle() == b.without_angle() && !is_strict(a))
}

/// The dimension a finished line takes: what a sheet goes on with.
///
/// Where all kinds with the same rest agree on the angle (mass, area, volume, density, force,
/// acceleration, pressure and the like) the line takes that power of rad, so that π·r² is an area and
/// m·r·ω² a force. A length keeps its rad, for it may be a radius, and so does what has the dimension
/// of an inertia.
///
/// # Example
/// ```
/// use standstill::unit::{kind, settle};
/// let radius = kind("radius").unwrap().dimension;
/// assert_eq!(settle(radius.times(radius)), kind("area").unwrap().dimension);
/// assert_eq!(settle(radius), radius);
/// ```
#[must_use]
pub fn settle(dimension: Dimension) -> Dimension {
    KINDS
        .iter()
        .filter(|kind| kind.settles)
        .map(|kind| kind.dimension)
        .find(|known| known.without_angle() == dimension.without_angle())
        .unwrap_or(dimension)
}

/// Whether a wrong power of rad is an error for what remains of the dimension.
pub(super) fn is_strict(dimension: Dimension) -> bool {
    let rest = dimension.without_angle();
    let only_time = Base::ALL.iter().all(|base| *base == Base::Time || rest.sixths(*base) == 0);
    only_time || STRICT.contains(&rest)
}

#[cfg(test)]
mod tests {
    use super::super::kind;
    use super::*;

    fn of(name: &str) -> Dimension {
        kind(name).unwrap().dimension
    }

    #[test]
    fn the_formulas_of_the_trade_come_out_right() {
        let omega = of("speed of rotation");
        let inertia = of("inertia");
        let torque = of("torque");
        assert_eq!(torque.times(omega), of("power"));
        assert_eq!(inertia.times(omega).times(omega), of("energy"));
        assert_eq!(torque.over(inertia), of("angular acceleration"));
        assert_eq!(of("radius").times(omega), of("speed"));
        assert_eq!(of("travel per turn").times(of("angle")), of("length"));
        assert_eq!(of("force").times(of("radius")), torque);
        assert_eq!(torque.over(of("angle")), of("torsional stiffness"));
        assert_eq!(torque.over(omega), of("speed-proportional drag"));
        assert_eq!(torque.over(omega.times(omega)), of("square-law drag"));
        assert_eq!(of("torque per current").times(of("current")), torque);
        assert_eq!(of("voltage per speed of rotation").times(omega), of("voltage"));
        assert_eq!(inertia.times(omega), of("angular momentum"));
        // the inertia of a disc is m·r²/2 in any notation
        assert!(fits(of("mass").times(of("radius")).times(of("radius")), inertia));
        // centripetal force
        let force = of("mass").times(of("radius")).times(omega).times(omega);
        assert!(fits(force, of("force")));
        assert_eq!(settle(force), of("force"));
    }
}
