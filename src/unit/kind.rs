//! Kinds of quantity looked up: by name, by dimension, with their usual unit.

use crate::diagnostic::phrase;
use std::sync::{LazyLock, OnceLock};

use super::kinds::{KINDS, Kind};
use super::nearest::{nearest, slips};
use super::radian::is_strict;
use super::{Dimension, Factor, Unit};

/// Names by which other texts know a kind, for suggestions alone.
#[rustfmt::skip]
const OTHER_NAMES: &[(&str, &str)] = &[
    ("distance", "length"), ("travel", "length"), ("height", "length"), ("width", "length"),
    ("duration", "time"), ("velocity", "speed"),
    ("rotational speed", "speed of rotation"), ("angular velocity", "speed of rotation"),
    ("angular speed", "speed of rotation"), ("rotation speed", "speed of rotation"),
    ("revolutions", "angle"), ("pitch", "travel per turn"), ("lead", "travel per turn"),
    ("moment of inertia", "inertia"), ("mass moment of inertia", "inertia"),
    ("gd2", "flywheel effect"), ("gd²", "flywheel effect"), ("weight", "mass"),
    ("moment", "torque"), ("work", "energy"), ("heat", "energy"), ("stress", "pressure"),
    ("friction coefficient", "coefficient of friction"), ("friction", "coefficient of friction"),
    ("number", "ratio"), ("percentage", "share"), ("duty", "share"), ("integer", "count"),
    ("viscous friction", "speed-proportional drag"), ("torque constant", "torque per current"),
    ("voltage constant", "voltage per speed of rotation"), ("temperature rise", "temperature difference"),
    ("heat flow", "power"), ("spring rate", "stiffness"), ("flow", "volume flow"),
];

/// The kind of that name, spelled exactly.
///
/// # Example
/// ```
/// assert_eq!(standstill::unit::kind("torque").unwrap().units.first(), Some(&"N·m"));
/// assert!(standstill::unit::kind("torqe").is_none());
/// ```
#[must_use]
pub fn kind(name: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.name == name)
}

/// Names of kinds that may have been meant, the nearest first, at most three.
///
/// # Example
/// ```
/// use standstill::unit::nearest_kinds;
/// assert_eq!(nearest_kinds("torqe")[0], "torque");
/// assert_eq!(nearest_kinds("angular velocity")[0], "speed of rotation");
/// assert!(nearest_kinds("xyzzy").is_empty());
/// ```
#[must_use]
pub fn nearest_kinds(name: &str) -> Vec<&'static str> {
    let name = name.to_lowercase();
    let mut found: Vec<&'static str> = Vec::new();
    found.extend(OTHER_NAMES.iter().filter(|(other, _)| *other == name).map(|(_, kind)| *kind));
    for near in nearest(&name, KINDS.iter().map(|kind| kind.name)) {
        if !found.contains(&near) {
            found.push(near);
        }
    }
    for (other, kind) in OTHER_NAMES {
        if slips(&name, other) == 1 && !found.contains(kind) {
            found.push(kind);
        }
    }
    found.truncate(3);
    found
}

/// Kinds of exactly that dimension, angle included.
///
/// # Example
/// ```
/// use standstill::unit::{Dimension, kinds_of};
/// let names: Vec<&str> = kinds_of(Dimension::of(0, 0, -1, 0, 0, 0)).iter().map(|kind| kind.name).collect();
/// assert_eq!(names, ["rate", "frequency"]);
/// ```
#[must_use]
pub fn kinds_of(dimension: Dimension) -> Vec<&'static Kind> {
    KINDS.iter().filter(|kind| kind.dimension == dimension).collect()
}

/// What a quantity of that dimension is called in a message, with its article.
///
/// # Example
/// ```
/// use standstill::unit::{Dimension, name_of};
/// assert_eq!(name_of(Dimension::of(2, 1, -2, 0, 0, -1)), "a torque");
/// assert_eq!(name_of(Dimension::of(2, 1, -2, 0, 0, 0)), "an energy");
/// assert_eq!(name_of(Dimension::NONE), "a pure number");
/// assert_eq!(name_of(Dimension::of(2, 0, 1, 0, 0, 0)), "a quantity in m²·s");
/// ```
#[must_use]
pub fn name_of(dimension: Dimension) -> String {
    if dimension.is_none() {
        return "a pure number".to_owned();
    }
    match nearest_kind_of(dimension) {
        Some(kind) => kind.with_article(),
        None => format!("a quantity in {dimension}"),
    }
}

/// The unit in which a person reads a quantity of that dimension: N·m, r/min, kg·m².
///
/// `point` is a temperature on the scale. Where no kind has the dimension it is the coherent unit.
///
/// # Example
/// ```
/// use standstill::unit::{Dimension, usual_unit};
/// assert_eq!(usual_unit(Dimension::of(0, 0, -1, 0, 0, 1), false).symbol, "r/min");
/// assert_eq!(usual_unit(Dimension::of(0, 0, 0, 0, 1, 0), true).symbol, "°C");
/// assert_eq!(usual_unit(Dimension::of(2, 0, 1, 0, 0, 0), false).symbol, "m²·s");
/// ```
#[must_use]
pub fn usual_unit(dimension: Dimension, point: bool) -> Unit {
    if dimension.is_none() {
        return Unit::one();
    }
    let exact = KINDS.iter().find(|kind| kind.dimension == dimension && kind.point == point);
    match exact.or_else(|| nearest_kind_of(dimension).filter(|kind| kind.point == point)) {
        Some(kind) => Unit { dimension, ..kind.usual_unit() },
        None => coherent_unit(dimension),
    }
}

impl Kind {
    /// The unit in which a person reads it; the number one for kinds without a unit.
    ///
    /// # Example
    /// ```
    /// assert_eq!(standstill::unit::kind("inertia").unwrap().usual_unit().symbol, "kg·m²");
    /// assert_eq!(standstill::unit::kind("ratio").unwrap().usual_unit().symbol, "");
    /// ```
    #[must_use]
    pub fn usual_unit(&'static self) -> Unit {
        static READ: LazyLock<Vec<OnceLock<Unit>>> =
            LazyLock::new(|| KINDS.iter().map(|_| OnceLock::new()).collect());
        let read = || match self.units.first() {
            None => Unit { dimension: self.dimension, ..Unit::one() },
            Some(text) => self.read_unit(text).unwrap_or_else(|_| coherent_unit(self.dimension)),
        };
        let own = KINDS.iter().position(|kind| std::ptr::eq(kind, self));
        match own.and_then(|at| READ.get(at)) {
            Some(once) => once.get_or_init(read).clone(),
            None => read(),
        }
    }

    /// Its customary units: `r/min, rad/s or r/s`.
    #[must_use]
    pub fn offered(&self) -> String {
        match self.units {
            [] => "its unit".to_owned(),
            units => phrase::joined(units, "or"),
        }
    }

    /// The name with its article: `a torque`, `an inertia`.
    #[must_use]
    pub fn with_article(&self) -> String {
        phrase::with_article(self.name)
    }
}

/// The first kind of that dimension, or the first that absorbs its rad.
pub(crate) fn nearest_kind_of(dimension: Dimension) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.dimension == dimension).or_else(|| {
        let rest = dimension.without_angle();
        let absorbs = |kind: &&Kind| !is_strict(rest) && kind.dimension.without_angle() == rest;
        KINDS.iter().find(absorbs)
    })
}

fn coherent_unit(dimension: Dimension) -> Unit {
    Unit { symbol: dimension.to_string(), dimension, factor: Factor::ONE, ..Unit::one() }
}
