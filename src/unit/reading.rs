//! Units read: what a notation means by itself, and what it means for a declared kind.

use crate::diagnostic::phrase;
use rust_decimal::Decimal;

use super::catalogue::{Entry, atom};
use super::expression::{Order, ResolvedSymbol, UnitExpression, look_up};
use super::kinds::{AngleWritten, KINDS};
use super::nearest::{Near, asked, units_near};
use super::radian::is_strict;
use super::{Base, Dimension, Kind, Unit, UnitProblem, UnitReason, notation};

const TEMPERATURE: Dimension = Dimension::of(0, 0, 0, 0, 1, 0);
const ANGULAR_MOMENTUM: Dimension = Dimension::of(2, 1, -1, 0, 0, -1);
const RATE: Dimension = Dimension::of(0, 0, -1, 0, 0, 0);
const INERTIA: Dimension = Dimension::of(2, 1, 0, 0, 0, -2);

/// Reads a unit by itself, as it stands after a number; an empty text is the number one.
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
/// Notation: SI Brochure, 9th edition, 5.2 to 5.4. The order that distinguishes torque from energy:
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
/// assert_eq!(problem.remedy, "write `N·m`, a unit of torque");
/// ```
pub fn parse_unit(text: &str) -> Result<Unit, UnitProblem> {
    if text.is_empty() {
        return Ok(Unit::one());
    }
    let found = resolve(text, None)?;
    let meant = found.with_pounds_by_time();
    if let Some(force) = meant.pounds_as_torque() {
        let headline = format!("`{text}` does not say whether its pound is a mass or a force");
        let remedy = match meant.mentions.len() {
            2 => format!("write `{force}` for a torque"),
            _ => format!("write `{force}` where it is a force"),
        };
        return Err(UnitProblem {
            reason: UnitReason::Unknown,
            span: 0..text.len(),
            found: text.to_owned(),
            nearest: vec![force],
            certain: true,
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
        if self.name == COUNT {
            // a part of a whole is not a count
            let words = format!("a count is a whole number and has no unit, found `{text}`");
            return Err(self.refusal(UnitReason::WrongKind, text, words));
        }
        let found = resolve(text, Some(self))?;
        match self.fit(&found, text) {
            Some(unit) => unit,
            None if found.has_scale() && found.mentions.len() > 1 => Err(found.scale_problem(text)),
            None => Err(self.misfit(&found, text)),
        }
    }

    /// The unit, if it is one of this kind.
    fn fit(&self, found: &UnitExpression, text: &str) -> Option<Result<Unit, UnitProblem>> {
        if self.name == FLYWHEEL_EFFECT {
            return found.flywheel_effect().map(|factor| match factor {
                Some(factor) => Ok(found.named(self.dimension, factor)),
                None => Err(found.too_many_digits(text)),
            });
        }
        if let Some(single) = found.single_temperature().filter(|_| self.dimension == TEMPERATURE) {
            let zero = if self.point { single.zero } else { Decimal::ZERO };
            return Some(Ok(Unit {
                zero,
                point: self.point,
                ..found.named(self.dimension, single.factor)
            }));
        }
        if found.has_scale() || self.point {
            return None;
        }
        let found = found.with_pounds_by_time();
        if self.accepts(&found) {
            return Some(found.unit(text, self.dimension));
        }
        // a pound is only read as a force where a torque is meant
        if !self.takes_pounds_as_force() {
            return None;
        }
        let by_force = found.with_pounds_as_force().filter(|reading| self.accepts(reading))?;
        Some(by_force.unit(text, self.dimension))
    }

    pub(crate) fn takes_pounds_as_force(&self) -> bool {
        self.dimension.sixths(Base::Angle) != 0 && self.dimension != INERTIA
    }

    /// Whether a kilogram stands for its weight here, and more than the dimension decides.
    pub(super) fn reads_weights(&self) -> bool {
        self.name == FLYWHEEL_EFFECT
    }

    fn accepts(&self, found: &UnitExpression) -> bool {
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
            // SI's habit: kg·m² and N·m·s² for an inertia, kg·m²/s for an angular momentum, mm for a
            // radius; never J for a torque
            let habit = !is_strict(self.dimension)
                || (self.dimension == ANGULAR_MOMENTUM && found.begins_as_inertia());
            self.angle == AngleWritten::No && without && habit
        } else {
            // an energy in lbf·ft, or an area, force, pressure… whose rad is absorbed
            without && (!is_strict(self.dimension) || found.has_customary_moment())
        }
    }

    fn misfit(&'static self, found: &UnitExpression, text: &str) -> UnitProblem {
        let named = kinds_of_written(found, text);
        let as_force = found.with_pounds_as_force().filter(|_| self.takes_pounds_as_force());
        let same = [Some(found.clone()), as_force]
            .into_iter()
            .flatten()
            .any(|it| it.written().without_angle() == self.dimension.without_angle());
        let reason =
            if same && !self.point { UnitReason::WrongPowerOfRad } else { UnitReason::WrongKind };
        let headline = match listed(&named) {
            Some(kinds) => format!("`{text}` is a unit of {kinds}, not of {}", self.name),
            None => format!("`{text}` is not a unit of {}", self.name),
        };
        let refused = self.refusal(reason, text, headline);
        let remedy = self.four_times(&named).map(str::to_owned);
        match remedy.or_else(|| self.of_its_weight(&named, text)) {
            Some(remedy) => UnitProblem { remedy, certain: false, ..refused },
            None => refused,
        }
    }

    /// What is to be done about a unit of a weight in the place of one of a mass.
    fn of_its_weight(&self, named: &[&str], text: &str) -> Option<String> {
        if self.name != "mass" || !named.contains(&"force") {
            return None;
        }
        let mass = parse_unit(text).ok()?.factor.as_f64() / 9.806_65;
        let mass: f64 = format!("{mass:.5e}").parse().ok()?;
        Some(format!("a mass is given in kg, and 1 {text} is the weight of {mass} kg"))
    }

    /// What is to be done about a unit of a flywheel effect in the place of one of an inertia, wherever it stands.
    pub(crate) fn meets_flywheel(&self, text: &str) -> Option<&'static str> {
        let flywheel = super::kind(FLYWHEEL_EFFECT).filter(|_| self.name == INERTIA_NAME)?;
        flywheel.read_plate(text).ok().map(|_| IS_IT_FOURFOLD)
    }

    /// What is to be done where an inertia meets its flywheel effect: the figure is four times the other, so that
    /// another unit alone would put it right in the wrong place.
    fn four_times(&self, named: &[&str]) -> Option<&'static str> {
        match self.name {
            INERTIA_NAME if named.contains(&FLYWHEEL_EFFECT) => Some(IS_IT_FOURFOLD),
            FLYWHEEL_EFFECT if named.contains(&INERTIA_NAME) => Some(
                "is it WK², WR² or J, the inertia itself, a quarter of GD²? Then give it where an inertia is asked for; GD² itself is given in kgf·m²",
            ),
            _ => None,
        }
    }

    fn given_in(&self, unit: &str) -> String {
        format!("{} is given in {unit}", self.with_article())
    }

    /// A remedy that names the first unit of the kind, with the unit that its place has.
    pub(crate) fn with_own_unit(&self, remedy: &str, own: &Unit) -> String {
        let first = self.units.first().map(|unit| self.given_in(unit));
        match first.is_some_and(|first| first == remedy) {
            true => self.given_in(&own.symbol),
            false => remedy.to_owned(),
        }
    }

    fn refusal(&'static self, reason: UnitReason, text: &str, headline: String) -> UnitProblem {
        let near = units_near(text, |unit| self.reads(unit));
        let certain = near.first().filter(|near| near.certain).map(|near| near.remedy(""));
        let remedy = certain.unwrap_or_else(|| match self.units.first() {
            Some(unit) => self.given_in(unit),
            None => self.without_unit(),
        });
        let is_certain = near.first().is_some_and(|near| near.certain);
        let mut nearest = names(near);
        for unit in self.units {
            if nearest.len() < 3 && !nearest.iter().any(|it| it == unit) {
                nearest.push((*unit).to_owned());
            }
        }
        UnitProblem {
            reason,
            span: 0..text.len(),
            found: text.to_owned(),
            certain: is_certain,
            nearest,
            remedy,
            headline,
        }
    }

    fn without_unit(&self) -> String {
        format!("{} is a pure number; leave the unit out", self.with_article())
    }

    /// The unit, where one of this kind is written; without the search for what is near otherwise.
    pub(crate) fn unit_written(&self, text: &str) -> Option<Unit> {
        if text.is_empty() {
            return self.dimension.is_none().then(Unit::one);
        }
        self.fit(&look_up(text)?, text)?.ok()
    }

    fn reads(&self, text: &str) -> bool {
        self.name != COUNT
            && look_up(text).is_some_and(|found| matches!(self.fit(&found, text), Some(Ok(_))))
    }
}

impl Entry {
    /// Names of the kinds of quantity that are given in this unit as it stands.
    ///
    /// # Example
    /// ```
    /// let inch = standstill::unit::catalogue().iter().find(|entry| entry.symbol == "in").unwrap();
    /// assert_eq!(inch.kinds(), ["length", "radius", "diameter"]);
    /// ```
    #[must_use]
    pub fn kinds(&self) -> Vec<&'static str> {
        look_up(self.symbol).map(|found| kinds_of_written(&found, self.symbol)).unwrap_or_default()
    }
}

fn kinds_of_written(found: &UnitExpression, text: &str) -> Vec<&'static str> {
    KINDS
        .iter()
        .filter(|kind| matches!(kind.fit(found, text), Some(Ok(_))))
        .map(|kind| kind.name)
        .collect()
}

const FLYWHEEL_EFFECT: &str = "flywheel effect";

const IS_IT_FOURFOLD: &str = "is it GD², four times the inertia? `standstill list GD2` finds the sheet that reads it; an inertia itself is given in kg·m²";

/// What data sheets print in the place of an inertia.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PrintedInertia {
    /// With the diameter of gyration: four times it as a rule (DIN 1304 and common practice), on some sheets it itself.
    Diameter,
    /// With the radius of gyration: it itself.
    Radius,
}

/// What a symbol such as `GD²`, `PD^2` or `WK2` stands for on a data sheet.
pub(crate) fn printed_inertia(word: &str) -> Option<PrintedInertia> {
    let name = ["²", "^2", "2"].iter().find_map(|ending| word.strip_suffix(ending))?;
    match name {
        "GD" | "WD" | "PD" | "MD" => Some(PrintedInertia::Diameter),
        "WK" | "WR" | "MK" | "MR" => Some(PrintedInertia::Radius),
        _ => None,
    }
}

/// What is to be done about a figure with the diameter of gyration.
pub(crate) const OF_DIAMETER: &str = "`inertia-data` reads GD² in kgf·m², kg·m² or N·m²; some data sheets print one that is the inertia already: check one rotor by hand";
const INERTIA_NAME: &str = "inertia";

/// The kind of whole numbers.
pub(super) const COUNT: &str = "count";
const FREQUENCY: &str = "frequency";

/// `a`, `a or b`, `a, b or c`; long lists end after three.
fn listed(names: &[&str]) -> Option<String> {
    (!names.is_empty()).then(|| phrase::joined(names.get(..3).unwrap_or(names), "or"))
}

fn resolve(text: &str, kind: Option<&'static Kind>) -> Result<UnitExpression, UnitProblem> {
    let fits = |unit: &str| match kind {
        Some(kind) => kind.reads(unit),
        None => parse_unit(unit).is_ok(),
    };
    let asked = kind.and_then(|kind| asked(text, kind.name));
    let near = |text: &str| match asked {
        Some(_) => Vec::new(),
        None => units_near(text, fits),
    };
    let remedy = |near: &[Near], kind, text: &str| match asked {
        Some(asked) => asked.to_owned(),
        None => remedy(near, kind, text),
    };
    let shape = notation::read(text).map_err(|slip| {
        let mut near = near(text);
        // kg·m²/s²·r is a quantity over an angle or times one: what the kind reads is meant
        if let Some(unit) = slip.better.into_iter().chain(above_the_line(text)).find(|it| fits(it))
        {
            let at = near.iter().take_while(|near| near.certain).count();
            near.retain(|near| near.unit != unit);
            near.insert(at.min(near.len()), Near { unit, certain: true, thousand: false });
            near.truncate(3);
        }
        UnitProblem {
            reason: UnitReason::Unreadable,
            found: text.get(slip.span.clone()).unwrap_or_default().to_owned(),
            span: slip.span,
            remedy: remedy(&near, kind, text),
            certain: near.first().is_some_and(|it| it.certain || it.thousand),
            nearest: names(near),
            headline: format!("`{text}` does not read as a unit: {}", slip.words),
        }
    })?;
    let mut mentions = Vec::new();
    for mention in shape.mentions().unwrap_or_default() {
        let name = text.get(mention.span.clone()).unwrap_or_default();
        if let Some(atom) = atom(name) {
            mentions.push(ResolvedSymbol { atom, power: mention.power, group: mention.group });
            continue;
        }
        let near = near(text);
        return Err(UnitProblem {
            reason: UnitReason::Unknown,
            span: mention.span,
            found: name.to_owned(),
            remedy: remedy(&near, kind, text),
            certain: near.first().is_some_and(|it| it.certain || it.thousand),
            nearest: names(near),
            headline: format!("nothing is called `{name}` among the units"),
        });
    }
    Ok(UnitExpression { shape, mentions })
}

/// `a·c/b` for `a/b·c`.
fn above_the_line(text: &str) -> Option<String> {
    let (above, below) = text.split_once('/')?;
    let (first, rest) = below.split_once(notation::is_product)?;
    let plain = !text.contains(['(', ')']) && !below.contains('/');
    plain.then(|| format!("{above}·{rest}/{first}"))
}

/// The best of what is near, else the units of the kind, else the way units are written.
fn remedy(near: &[Near], kind: Option<&'static Kind>, text: &str) -> String {
    match (near.first(), kind) {
        (Some(best), Some(kind)) => match either(&best.unit, kind, text).as_slice() {
            [] => best.remedy(""),
            others => {
                format!("write `{}` or `{}`, whichever is meant", best.unit, others.join("` or `"))
            }
        },
        // by itself a unit says nothing of what is meant: the kinds that it could be do
        (Some(best), None) => {
            let kinds = could_be(&best.unit).map(|kinds| format!(", a unit of {kinds}"));
            best.remedy(&kinds.unwrap_or_default())
        }
        (None, Some(kind)) if kind.units.is_empty() => kind.without_unit(),
        (None, Some(kind)) => {
            format!("{} is given in {}", kind.with_article(), kind.units.join(", "))
        }
        (None, None) => "a unit is made of symbols such as `N·m`, `kg·m²`, `r/min`".to_owned(),
    }
}

/// Units of a kind that the same letters may stand for: where one begins with m or M the other, and horsepower of
/// another sort.
fn either(unit: &str, kind: &Kind, text: &str) -> Vec<String> {
    let turned = match (unit.strip_prefix('m'), unit.strip_prefix('M')) {
        (Some(rest), _) => Some(format!("M{rest}")),
        (_, Some(rest)) => Some(format!("m{rest}")),
        _ => None,
    };
    let turned =
        turned.filter(|it| text.starts_with(['m', 'M']) && kind.unit_written(it).is_some());
    let sort = format!("{unit}_");
    let sorts = kind.units.iter().filter(|it| it.starts_with(&sort)).map(|it| (*it).to_owned());
    turned.into_iter().chain(sorts).collect()
}

/// The kinds that read a unit, in words.
fn could_be(unit: &str) -> Option<String> {
    let reads = |kind: &&Kind| kind.name != FLYWHEEL_EFFECT && !kind.units.is_empty();
    let kinds: Vec<&str> =
        KINDS.iter().filter(reads).filter(|kind| kind.reads(unit)).map(|kind| kind.name).collect();
    listed(&kinds)
}

fn names(near: Vec<Near>) -> Vec<String> {
    near.into_iter().map(|near| near.unit).collect()
}
