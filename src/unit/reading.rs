//! Units read: what a notation means by itself, and what it means for a declared kind.

use super::catalogue::{Atom, atom};
use super::kind::AngleWritten;
use super::kinds::KINDS;
use super::nearest::units_near;
use super::notation::{self, Quotient};
use super::radian::is_strict;
use super::{Base, Dimension, Factor, Kind, Unit, UnitProblem, UnitReason};
use rust_decimal::Decimal;

const LENGTH: Dimension = Dimension::of(1, 0, 0, 0, 0, 0);
const MASS: Dimension = Dimension::of(0, 1, 0, 0, 0, 0);
const TIME: Dimension = Dimension::of(0, 0, 1, 0, 0, 0);
const FORCE: Dimension = Dimension::of(1, 1, -2, 0, 0, 0);
const RATE: Dimension = Dimension::of(0, 0, -1, 0, 0, 0);
const INERTIA: Dimension = Dimension::of(2, 1, 0, 0, 0, -2);

/// Reads a unit by itself, as it stands behind a number. Nothing is the number one.
///
/// Where the notation leaves the radian out, it is put back: a force times a length (`N·m`,
/// `lbf·ft`) is a torque, a length times a force (`ft·lbf`) an energy, a mass times the square of a
/// length (`kg·m²`) an inertia; `lb·in²` and `oz·in²` count mass, `lb·in·s²` and `oz·in·s²` force.
///
/// # Errors
/// Unknown symbols and notation that does not read. `lb·ft` is refused: pound and pound-force are
/// not the same.
///
/// # Source
/// Notation: SI Brochure, 9th edition, 5.2 to 5.4. The order that tells torque from energy:
/// NIST SP 811, 8.6 and common practice.
///
/// # Example
/// ```
/// use standstill::unit::{kind, parse_unit};
/// let unit = parse_unit("N*m/(r/min)").unwrap();
/// assert_eq!(unit.symbol, "N·m/(r/min)");
/// assert_eq!(unit.dimension, kind("speed-proportional drag").unwrap().dimension);
/// assert_eq!(parse_unit("ft·lbf").unwrap().dimension, kind("energy").unwrap().dimension);
///
/// let problem = parse_unit("Nm").unwrap_err();
/// assert_eq!(problem.remedy, "write `N·m`");
/// ```
pub fn parse_unit(text: &str) -> Result<Unit, UnitProblem> {
    if text.is_empty() {
        return Ok(Unit::one());
    }
    let found = resolve(text, None)?;
    let meant = found.with_pounds_by_time();
    if let Some(force) = meant.pounds_as_torque() {
        let headline = format!("`{text}` does not say whether its pound is a mass or a force");
        let remedy = format!("write `{force}` for a torque");
        return Err(UnitProblem {
            reason: UnitReason::Unknown,
            span: 0..text.len(),
            found: text.to_owned(),
            nearest: vec![force],
            remedy,
            headline,
        });
    }
    let dimension = meant.by_itself(Order::AsWritten);
    match meant.scale(text)? {
        Some(scale) => Ok(Unit { dimension, ..scale }),
        None => meant.unit(text, dimension),
    }
}

impl Kind {
    /// Reads a unit in which a quantity of this kind is given. The result has the kind's dimension.
    ///
    /// The radian may be left out where SI's habit does so. Torque is read in either order of its
    /// factors, and its pound as a pound-force: `lb·ft` is lbf·ft, as the trade has it.
    /// Kinds without a unit of their own read nothing as the number one.
    ///
    /// # Errors
    /// Unknown symbols, notation that does not read, units of other kinds, and units that fit but
    /// for the angle: N·m for an energy, J for a torque, 1/min or Hz for a speed of rotation.
    ///
    /// # Example
    /// ```
    /// use standstill::unit::{UnitReason, kind};
    /// let radius = kind("radius").unwrap();
    /// assert_eq!(radius.read_unit("mm").unwrap().dimension, radius.dimension);
    ///
    /// let problem = kind("energy").unwrap().read_unit("N·m").unwrap_err();
    /// assert_eq!(problem.reason, UnitReason::WrongPowerOfRad);
    /// assert_eq!(problem.headline(), "`N·m` is a unit of torque, not of energy");
    /// assert_eq!(problem.remedy, "an energy is given in J");
    /// ```
    pub fn read_unit(&'static self, text: &str) -> Result<Unit, UnitProblem> {
        if text.is_empty() {
            return if self.dimension.is_none() {
                Ok(Unit::one())
            } else {
                Err(self.refusal(
                    UnitReason::WrongKind,
                    text,
                    format!("{} needs its unit", self.with_article()),
                ))
            };
        }
        let found = resolve(text, Some(self))?;
        match self.fit(&found, text) {
            Some(unit) => unit,
            None if found.has_scale() && found.mentions.len() > 1 => Err(found.scale_problem(text)),
            None => Err(self.misfit(&found, text)),
        }
    }

    /// The unit, if it is one of this kind.
    fn fit(&self, found: &Found, text: &str) -> Option<Result<Unit, UnitProblem>> {
        if self.name == FLYWHEEL_EFFECT {
            return found.flywheel_effect().map(|factor| match factor {
                Some(factor) => Ok(found.named(self.dimension, factor)),
                None => Err(found.too_many_digits(text)),
            });
        }
        if let Some(single) =
            found.single_temperature().filter(|_| self.dimension == single_temperature())
        {
            let zero = if self.point { single.zero } else { Decimal::ZERO };
            return Some(Ok(Unit {
                zero,
                point: self.point,
                ..found.named(self.dimension, single.factor)
            }));
        }
        if found.has_scale() {
            return None;
        }
        let found = found.with_pounds_by_time();
        let readings = [Some(found.clone()), found.with_pounds_as_force()];
        let reading = readings.into_iter().flatten().enumerate().find(|(at, reading)| {
            // a pound is only read as a force where a torque is meant
            (*at == 0 || self.takes_pounds_as_force()) && self.accepts(reading)
        });
        reading.map(|(_, reading)| reading.unit(text, self.dimension))
    }

    fn takes_pounds_as_force(&self) -> bool {
        self.dimension.sixths(Base::Angle) != 0 && self.dimension != INERTIA
    }

    fn accepts(&self, found: &Found) -> bool {
        let written = found.written();
        if written.without_angle() != self.dimension.without_angle() {
            return false;
        }
        let turns = found
            .mentions
            .iter()
            .any(|it| it.atom.dimension.sixths(Base::Angle) != 0 && it.atom.bare != "rad");
        if self.angle == AngleWritten::No && turns {
            return false;
        }
        if self.dimension == RATE && found.has("Hz") != (self.name == FREQUENCY) {
            return false;
        }
        let without = written.sixths(Base::Angle) == 0;
        let angled = self.dimension.sixths(Base::Angle) != 0;
        let order = if angled { Order::Either } else { Order::AsWritten };
        if found.by_itself(order) == self.dimension {
            return true;
        }
        if angled {
            // SI's habit: kg·m² and N·m·s² for an inertia, mm for a radius; never J for a torque
            self.angle == AngleWritten::No && without && !is_strict(self.dimension)
        } else {
            // an energy in lbf·ft, or an area, force, pressure… whose rad is absorbed
            without && (!is_strict(self.dimension) || found.has_customary_moment())
        }
    }

    fn misfit(&'static self, found: &Found, text: &str) -> UnitProblem {
        let named = kinds_of_written(found, text);
        let as_force = found.with_pounds_as_force().filter(|_| self.takes_pounds_as_force());
        let same = [Some(found.clone()), as_force]
            .into_iter()
            .flatten()
            .any(|it| it.written().without_angle() == self.dimension.without_angle());
        let reason = if same { UnitReason::WrongPowerOfRad } else { UnitReason::WrongKind };
        let headline = match listed(&named) {
            Some(kinds) => format!("`{text}` is a unit of {kinds}, not of {}", self.name),
            None => format!("`{text}` is not a unit of {}", self.name),
        };
        self.refusal(reason, text, headline)
    }

    fn refusal(&'static self, reason: UnitReason, text: &str, headline: String) -> UnitProblem {
        let mut nearest = units_near(text, |unit| self.reads(unit));
        for unit in self.units {
            if nearest.len() < 3 && !nearest.iter().any(|it| it == unit) {
                nearest.push((*unit).to_owned());
            }
        }
        let remedy = match self.units.first() {
            Some(unit) => format!("{} is given in {unit}", self.with_article()),
            None => format!("{} is a pure number; leave the unit out", self.with_article()),
        };
        UnitProblem {
            reason,
            span: 0..text.len(),
            found: text.to_owned(),
            nearest,
            remedy,
            headline,
        }
    }

    fn reads(&self, text: &str) -> bool {
        look_up(text).is_some_and(|found| matches!(self.fit(&found, text), Some(Ok(_))))
    }
}

/// Names of the kinds that are given in this unit as it stands.
pub(super) fn kinds_written_in(text: &str) -> Vec<&'static str> {
    look_up(text).map(|found| kinds_of_written(&found, text)).unwrap_or_default()
}

fn kinds_of_written(found: &Found, text: &str) -> Vec<&'static str> {
    KINDS
        .iter()
        .filter(|kind| matches!(kind.fit(found, text), Some(Ok(_))))
        .map(|kind| kind.name)
        .collect()
}

const FLYWHEEL_EFFECT: &str = "flywheel effect";
const FREQUENCY: &str = "frequency";

/// `a`, `a or b`, `a, b or c`; long lists end after three.
fn listed(names: &[&str]) -> Option<String> {
    match names {
        [] => None,
        [one] => Some((*one).to_owned()),
        [first, second] => Some(format!("{first} or {second}")),
        [first, second, third, ..] => Some(format!("{first}, {second} or {third}")),
    }
}

/// In which order a force and a length make a torque.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Order {
    /// Force first.
    AsWritten,
    /// Either first.
    Either,
}

/// A symbol, its power, and where it stands.
#[derive(Clone, Debug)]
struct Known {
    atom: Atom,
    power: i32,
}

impl Known {
    fn is(&self, dimension: Dimension, power: i32) -> bool {
        self.power == power && self.atom.dimension == dimension
    }
}

/// A notation with its symbols looked up.
#[derive(Clone, Debug)]
struct Found {
    shape: Quotient,
    mentions: Vec<Known>,
}

fn look_up(text: &str) -> Option<Found> {
    let shape = notation::read(text).ok()?;
    let mentions = shape
        .mentions()?
        .into_iter()
        .map(|mention| Some(Known { atom: atom(text.get(mention.span)?)?, power: mention.power }));
    let mentions = mentions.collect::<Option<Vec<Known>>>()?;
    Some(Found { shape, mentions })
}

fn resolve(text: &str, kind: Option<&'static Kind>) -> Result<Found, UnitProblem> {
    let useful = |unit: &str| match kind {
        Some(kind) => kind.reads(unit),
        None => parse_unit(unit).is_ok(),
    };
    let near = |text: &str| {
        let near = units_near(text, useful);
        if near.is_empty() { units_near(text, |unit| look_up(unit).is_some()) } else { near }
    };
    let shape = notation::read(text).map_err(|slip| {
        let better = slip.better.filter(|it| look_up(it).is_some());
        let nearest: Vec<String> =
            if better.is_some() { better.into_iter().collect() } else { near(text) };
        UnitProblem {
            reason: UnitReason::Unreadable,
            found: text.get(slip.span.clone()).unwrap_or_default().to_owned(),
            span: slip.span,
            nearest,
            remedy: String::new(),
            headline: format!("`{text}` does not read as a unit: {}", slip.words),
        }
        .with_remedy_from_nearest()
    })?;
    let mut mentions = Vec::new();
    for mention in shape.mentions().unwrap_or_default() {
        let name = text.get(mention.span.clone()).unwrap_or_default();
        if let Some(atom) = atom(name) {
            mentions.push(Known { atom, power: mention.power });
            continue;
        }
        let mut nearest = near(text);
        if nearest.is_empty() && name != text {
            nearest = units_near(name, |unit| look_up(unit).is_some());
        }
        let remedy = match (nearest.first(), kind) {
            (None, Some(kind)) if !kind.units.is_empty() => {
                format!("{} is given in {}", kind.with_article(), kind.units.join(", "))
            }
            _ => String::new(),
        };
        return Err(UnitProblem {
            reason: UnitReason::Unknown,
            span: mention.span,
            found: name.to_owned(),
            nearest,
            remedy,
            headline: format!("nothing is called `{name}` among the units"),
        }
        .with_remedy_from_nearest());
    }
    Ok(Found { shape, mentions })
}

impl Found {
    /// Dimension as written, without what habit leaves out.
    fn written(&self) -> Dimension {
        self.mentions.iter().fold(Dimension::NONE, |all, it| {
            all.times(it.atom.dimension.power(it.power, 1).unwrap_or(Dimension::NONE))
        })
    }

    /// Dimension with the radians that habit leaves out put back.
    fn by_itself(&self, order: Order) -> Dimension {
        let written = self.written();
        let left_out = if written.sixths(Base::Angle) == 0 && self.is_inertia() {
            2
        } else {
            self.moment_power(order)
        };
        written.over(Dimension::ANGLE.power(left_out, 1).unwrap_or(Dimension::NONE))
    }

    /// mass·length², or force·length·time², and nothing else.
    fn is_inertia(&self) -> bool {
        match self.mentions.as_slice() {
            [mass, length] => mass.is(MASS, 1) && length.is(LENGTH, 2),
            [force, length, time] => force.is(FORCE, 1) && length.is(LENGTH, 1) && time.is(TIME, 2),
            _ => false,
        }
    }

    /// The power of the first force times length among neighbours; 0 without one.
    fn moment_power(&self, order: Order) -> i32 {
        let pairs = self.mentions.iter().zip(self.mentions.iter().skip(1));
        let moment = pairs.into_iter().find(|(first, second)| {
            let forward = first.atom.dimension == FORCE && second.atom.dimension == LENGTH;
            let backward = first.atom.dimension == LENGTH && second.atom.dimension == FORCE;
            first.power == second.power && (forward || (order == Order::Either && backward))
        });
        moment.map_or(0, |(first, _)| first.power)
    }

    /// lbf or ozf beside ft or in: used for energy and torque alike.
    fn has_customary_moment(&self) -> bool {
        let pairs = self.mentions.iter().zip(self.mentions.iter().skip(1));
        pairs.into_iter().any(|(first, second)| {
            matches!(first.atom.bare, "lbf" | "ozf") && matches!(second.atom.bare, "ft" | "in")
        })
    }

    fn has(&self, bare: &str) -> bool {
        self.mentions.iter().any(|it| it.atom.bare == bare)
    }

    /// lb·in·s², oz·in·s², lb·ft·s²: their pound or ounce is a force.
    fn with_pounds_by_time(&self) -> Self {
        match self.mentions.as_slice() {
            [pound, length, time]
                if pound.is(MASS, 1) && length.is(LENGTH, 1) && time.is(TIME, 2) =>
            {
                self.with_pounds_as_force().unwrap_or_else(|| self.clone())
            }
            _ => self.clone(),
        }
    }

    /// The same with lb read as lbf and oz as ozf; `None` without any.
    fn with_pounds_as_force(&self) -> Option<Self> {
        let mut changed = self.clone();
        let mut any = false;
        for known in &mut changed.mentions {
            let force = match known.atom.bare {
                "lb" => "lbf",
                "oz" => "ozf",
                _ => continue,
            };
            known.atom = atom(force)?;
            any = true;
        }
        any.then_some(changed)
    }

    /// `lb·ft` and the like by themselves, as the torque that is probably meant.
    fn pounds_as_torque(&self) -> Option<String> {
        match self.mentions.as_slice() {
            [first, second, ..] if first.is(MASS, 1) && second.is(LENGTH, 1) => {
                matches!(second.atom.bare, "ft" | "in")
                    .then(|| self.with_pounds_as_force())?
                    .map(|it| it.symbol())
            }
            _ => None,
        }
    }

    fn single_temperature(&self) -> Option<&Atom> {
        match self.mentions.as_slice() {
            [one] if one.power == 1 && one.atom.dimension == single_temperature() => {
                Some(&one.atom)
            }
            _ => None,
        }
    }

    fn has_scale(&self) -> bool {
        self.mentions.iter().any(|it| it.atom.point)
    }

    /// A temperature scale by itself; a problem when it stands among other symbols.
    fn scale(&self, text: &str) -> Result<Option<Unit>, UnitProblem> {
        if !self.has_scale() {
            return Ok(None);
        }
        let single = self.single_temperature().ok_or_else(|| self.scale_problem(text))?;
        Ok(Some(Unit {
            zero: single.zero,
            point: true,
            ..self.named(single.dimension, single.factor)
        }))
    }

    fn scale_problem(&self, text: &str) -> UnitProblem {
        let difference =
            |symbol: &str| if symbol == "°F" { "°R".to_owned() } else { "K".to_owned() };
        let mut found = String::new();
        let symbols: Vec<String> = self
            .mentions
            .iter()
            .map(|it| {
                if it.atom.point {
                    found.clone_from(&it.atom.symbol);
                    difference(it.atom.bare)
                } else {
                    it.atom.symbol.clone()
                }
            })
            .collect();
        let better = self.shape.print(&mut symbols.iter().map(String::as_str));
        UnitProblem {
            reason: UnitReason::TemperaturePoint,
            span: 0..text.len(),
            headline: format!("`{found}` is a point on a scale and cannot be a part of `{text}`"),
            found,
            remedy: format!("write `{better}`"),
            nearest: vec![better],
        }
    }

    /// GD² in a weight times the square of a length, as the inertia J = GD²/4; the inner `None` when
    /// the digits are too many.
    fn flywheel_effect(&self) -> Option<Option<Factor>> {
        let [weight, length] = self.mentions.as_slice() else { return None };
        if !length.is(LENGTH, 2) || length.atom.bare != "m" {
            return None;
        }
        let free_fall = atom("g_n")?.factor;
        let mass = match weight.atom.bare {
            "g" | "t" => Some(weight.atom.factor),
            "N" | "kgf" => weight.atom.factor.over(free_fall),
            _ => return None,
        };
        if weight.power != 1 {
            return None;
        }
        Some(
            mass.zip(length.atom.factor.power(2))
                .and_then(|(mass, square)| mass.times(square)?.over(Factor::decimal(4, 0))),
        )
    }

    fn unit(&self, text: &str, dimension: Dimension) -> Result<Unit, UnitProblem> {
        let factor = self
            .mentions
            .iter()
            .try_fold(Factor::ONE, |all, it| all.times(it.atom.factor.power(it.power)?));
        match factor {
            Some(factor) => Ok(self.named(dimension, factor)),
            None => Err(self.too_many_digits(text)),
        }
    }

    fn named(&self, dimension: Dimension, factor: Factor) -> Unit {
        Unit { symbol: self.symbol(), dimension, factor, ..Unit::one() }
    }

    fn symbol(&self) -> String {
        self.shape.print(&mut self.mentions.iter().map(|it| it.atom.symbol.as_str()))
    }

    fn too_many_digits(&self, text: &str) -> UnitProblem {
        UnitProblem {
            reason: UnitReason::TooManyDigits,
            span: 0..text.len(),
            found: text.to_owned(),
            nearest: Vec::new(),
            remedy: "write the quantity in a unit with smaller powers".to_owned(),
            headline: format!("`{text}` has an exact factor of too many digits to be kept"),
        }
    }
}

fn single_temperature() -> Dimension {
    Dimension::of(0, 0, 0, 0, 1, 0)
}
