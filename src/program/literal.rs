//! Literals set against one another, and those that the language brings along.

use std::cmp::Ordering;

use rust_decimal::Decimal;

use crate::unit::{Dimension, Literal, Unit};

/// Standard gravity, 9.80665 m/s², exact by definition (3rd CGPM 1901; ISO 80000-3).
#[must_use]
pub(super) fn standard_gravity() -> Literal {
    let unit = Unit {
        symbol: "m/s²".to_owned(),
        dimension: Dimension::of(1, 0, -2, 0, 0, 0),
        ..Unit::one()
    };
    Literal::new(Decimal::new(980_665, 5), 0, unit)
}

/// How two literals stand to each other: exact in one unit, else to 1·10⁻¹² of the larger.
#[must_use]
pub(super) fn compare(a: &Literal, b: &Literal) -> Ordering {
    if a.unit.factor == b.unit.factor && a.unit.zero == b.unit.zero && a.ten == b.ten {
        return a.digits.cmp(&b.digits);
    }
    let (x, y) = (a.si_f64(), b.si_f64());
    if (x - y).abs() <= 1e-12 * x.abs().max(y.abs()) {
        return Ordering::Equal;
    }
    x.partial_cmp(&y).unwrap_or(Ordering::Equal)
}
