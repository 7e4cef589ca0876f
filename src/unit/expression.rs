//! A notation with its symbols looked up, and what the trade means by it.

use std::borrow::Cow;

use super::catalogue::{Atom, atom};
use super::notation::{self, Quotient};
use super::{Base, Dimension, Factor, Unit, UnitProblem, UnitReason};

const LENGTH: Dimension = Dimension::of(1, 0, 0, 0, 0, 0);
const MASS: Dimension = Dimension::of(0, 1, 0, 0, 0, 0);
const TIME: Dimension = Dimension::of(0, 0, 1, 0, 0, 0);
const FORCE: Dimension = Dimension::of(1, 1, -2, 0, 0, 0);
const TEMPERATURE: Dimension = Dimension::of(0, 0, 0, 0, 1, 0);

/// In which order a force and a length make a torque.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    /// Force first.
    AsWritten,
    /// Either first.
    Either,
}

/// A symbol, its power, and where it stands.
#[derive(Clone, Debug)]
pub(super) struct ResolvedSymbol {
    pub(super) atom: Atom,
    pub(super) power: i32,
    /// Parentheses it stands in.
    pub(super) group: usize,
}

impl ResolvedSymbol {
    fn is(&self, dimension: Dimension, power: i32) -> bool {
        self.power == power && self.atom.dimension == dimension
    }
}

/// A notation with its symbols looked up.
#[derive(Clone, Debug)]
pub(super) struct UnitExpression {
    pub(super) shape: Quotient,
    pub(super) mentions: Vec<ResolvedSymbol>,
}

pub(super) fn look_up(text: &str) -> Option<UnitExpression> {
    let shape = notation::read(text).ok()?;
    let mentions = shape.mentions()?.into_iter().map(|mention| {
        Some(ResolvedSymbol {
            atom: atom(text.get(mention.span)?)?,
            power: mention.power,
            group: mention.group,
        })
    });
    let mentions = mentions.collect::<Option<Vec<ResolvedSymbol>>>()?;
    Some(UnitExpression { shape, mentions })
}

impl UnitExpression {
    /// Dimension as written, without what habit leaves out.
    pub(super) fn written(&self) -> Dimension {
        self.mentions.iter().fold(Dimension::NONE, |all, it| {
            all.times(it.atom.dimension.power(it.power, 1).unwrap_or(Dimension::NONE))
        })
    }

    /// Dimension with the radians that habit leaves out put back.
    pub(super) fn by_itself(&self, order: Order) -> Dimension {
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

    /// mass·length², whatever comes after.
    pub(super) fn begins_as_inertia(&self) -> bool {
        matches!(self.mentions.as_slice(), [mass, length, ..] if mass.is(MASS, 1) && length.is(LENGTH, 2))
    }

    /// The power of the first force times length among neighbours; 0 without one.
    fn moment_power(&self, order: Order) -> i32 {
        let pairs = self.mentions.iter().zip(self.mentions.iter().skip(1));
        let moment = pairs.into_iter().find(|(first, second)| {
            let forward = first.atom.dimension == FORCE && second.atom.dimension == LENGTH;
            let backward = first.atom.dimension == LENGTH && second.atom.dimension == FORCE;
            first.power == second.power
                && first.group == second.group
                && (forward || (order == Order::Either && backward))
        });
        moment.map_or(0, |(first, _)| first.power)
    }

    /// lbf or ozf beside ft or in: used for energy and torque alike.
    pub(super) fn has_customary_moment(&self) -> bool {
        let pairs = self.mentions.iter().zip(self.mentions.iter().skip(1));
        pairs.into_iter().any(|(first, second)| {
            matches!(first.atom.bare, "lbf" | "ozf") && matches!(second.atom.bare, "ft" | "in")
        })
    }

    pub(super) fn has(&self, bare: &str) -> bool {
        self.mentions.iter().any(|it| it.atom.bare == bare)
    }

    /// lb·in·s², oz·in·s², lb·ft·s²: their pound or ounce is a force.
    pub(super) fn with_pounds_by_time(&self) -> Cow<'_, Self> {
        match self.mentions.as_slice() {
            [pound, length, time]
                if pound.is(MASS, 1) && length.is(LENGTH, 1) && time.is(TIME, 2) =>
            {
                self.with_pounds_as_force().map_or(Cow::Borrowed(self), Cow::Owned)
            }
            _ => Cow::Borrowed(self),
        }
    }

    /// The same with lb read as lbf and oz as ozf; `None` without any.
    pub(super) fn with_pounds_as_force(&self) -> Option<Self> {
        if !self.mentions.iter().any(|known| matches!(known.atom.bare, "lb" | "oz")) {
            return None;
        }
        let mut changed = self.clone();
        for known in &mut changed.mentions {
            let force = match known.atom.bare {
                "lb" => "lbf",
                "oz" => "ozf",
                _ => continue,
            };
            known.atom = atom(force)?;
        }
        Some(changed)
    }

    /// `lb·ft` and the like by themselves, as the torque that is probably meant.
    pub(super) fn pounds_as_torque(&self) -> Option<String> {
        let [first, second, rest @ ..] = self.mentions.as_slice() else { return None };
        let customary = matches!(second.atom.bare, "ft" | "in");
        // lb·ft/s² is a force, and its pound a mass without doubt
        let force = rest.iter().any(|it| it.is(TIME, -2));
        if first.is(MASS, 1) && second.is(LENGTH, 1) && customary && !force {
            return self.with_pounds_as_force().map(|it| it.symbol());
        }
        None
    }

    pub(super) fn single_temperature(&self) -> Option<&Atom> {
        match self.mentions.as_slice() {
            [one] if one.power == 1 && one.atom.dimension == TEMPERATURE => Some(&one.atom),
            _ => None,
        }
    }

    pub(super) fn has_scale(&self) -> bool {
        self.mentions.iter().any(|it| it.atom.point)
    }

    /// A temperature scale by itself; a problem when it stands among other symbols.
    pub(super) fn scale(&self, text: &str) -> Result<Option<Unit>, UnitProblem> {
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

    pub(super) fn scale_problem(&self, text: &str) -> UnitProblem {
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
            certain: true,
        }
    }

    /// GD² in a weight times the square of a length, as the inertia J = GD²/4; the inner `None` when
    /// the digits are too many.
    pub(super) fn flywheel_effect(&self) -> Option<Option<Factor>> {
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

    pub(super) fn unit(&self, text: &str, dimension: Dimension) -> Result<Unit, UnitProblem> {
        let factor = self
            .mentions
            .iter()
            .try_fold(Factor::ONE, |all, it| all.times(it.atom.factor.power(it.power)?));
        match factor {
            Some(factor) => Ok(self.named(dimension, factor)),
            None => Err(self.too_many_digits(text)),
        }
    }

    pub(super) fn named(&self, dimension: Dimension, factor: Factor) -> Unit {
        Unit { symbol: self.symbol(), dimension, factor, ..Unit::one() }
    }

    pub(super) fn symbol(&self) -> String {
        self.shape.print(&mut self.mentions.iter().map(|it| it.atom.symbol.as_str()))
    }

    pub(super) fn too_many_digits(&self, text: &str) -> UnitProblem {
        UnitProblem {
            reason: UnitReason::TooManyDigits,
            span: 0..text.len(),
            found: text.to_owned(),
            nearest: Vec::new(),
            certain: false,
            remedy: "write the quantity in a unit with smaller powers".to_owned(),
            headline: format!("`{text}` has an exact factor of too many digits to be kept"),
        }
    }
}
