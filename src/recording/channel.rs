//! A channel of a recorder: which column, in which unit, on which scale.

use crate::diagnostic::{Diagnostic, Name, Place};
use crate::unit::{Kind, Unit, kind, parse_unit, split_typed};

/// A column with what was said of it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Channel {
    /// The heading, without its unit.
    pub(super) heading: String,
    /// The unit that was said of the column, if any.
    unit: Option<String>,
    scale: Option<Scale>,
    offset: Option<(f64, String)>,
    /// After how much the counter or clock begins again, in a unit of the column.
    wraps: Option<(f64, String)>,
    kinds: &'static [&'static str],
    place: Place,
}

/// `scale 150 r/min per V`, `scale 1 r per 4096 counts`.
#[derive(Clone, Debug, PartialEq)]
struct Scale {
    /// What one unit of the column is, in coherent SI.
    factor: f64,
    unit: Unit,
    /// The unit of the column.
    of: String,
}

/// From the number in a column to coherent SI: (x − zero) · factor.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) factor: f64,
    pub(super) zero: f64,
    /// After how much it begins again, in coherent SI.
    pub(super) wraps: Option<f64>,
    /// The unit in which a person reads it.
    pub(super) unit: Unit,
}

/// When a digital channel says yes.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Edge {
    /// A column that must hold 0 or 1: whether 1 says it.
    Digital { heading: String, one: bool },
    /// A column below or above a level, in the column's own unit.
    Level { heading: String, level: f64, unit: String, above: bool, place: Place },
    /// A moment on the recorder's clock, in s.
    At(f64),
}

/// Words of a person that do not read, with the remedy.
pub(super) fn unread(place: &Place, headline: String, remedy: &str) -> Diagnostic {
    Diagnostic::error(Name::RecordingPlan, headline).at(place.clone()).remedy(remedy)
}

/// A number with its unit as a value of one of some kinds: in coherent SI, and the unit.
pub(super) fn quantity(
    kinds: &[&str],
    text: &str,
    place: &Place,
) -> Result<(f64, Unit), Diagnostic> {
    let (number, ten, written) = split_typed(text).map_err(|problem| {
        Diagnostic::error(Name::UnreadableQuantity, problem.headline())
            .at(place.clone())
            .remedy(problem.remedy.clone())
    })?;
    let unit = unit_of(kinds, written, place)?;
    Ok((unit.to_si(number, ten), unit))
}

fn unit_of(kinds: &[&str], text: &str, place: &Place) -> Result<Unit, Diagnostic> {
    let mut refused = None;
    for kind in kinds.iter().filter_map(|name| kind(name)) {
        match kind.read_plate(text) {
            Ok(unit) => return Ok(unit),
            Err(problem) => refused = refused.or(Some((kind, problem))),
        }
    }
    let Some((kind, problem)) = refused else {
        return Err(Diagnostic::error(Name::Internal, "a channel of no kind").at(place.clone()));
    };
    Err(refusal(kind, text, &problem, place))
}

/// A unit of a column that stands with a number, as in `n / (1000 r/min)`: so many of it, and the unit.
fn times(text: &str) -> (f64, &str) {
    let split = text.trim().split_once(char::is_whitespace);
    split
        .and_then(|(number, unit)| Some((number.parse::<f64>().ok()?, unit.trim())))
        .filter(|(number, _)| *number > 0.0 && number.is_finite())
        .unwrap_or((1.0, text))
}

fn refusal(
    kind: &'static Kind,
    text: &str,
    problem: &crate::unit::UnitProblem,
    place: &Place,
) -> Diagnostic {
    if text.is_empty() {
        return Diagnostic::error(
            Name::MissingUnit,
            format!("{} stands without its unit", kind.with_article()),
        )
        .at(place.clone())
        .remedy(format!(
            "write its unit, such as `in {}`; a unit is never assumed",
            kind.usual_unit().symbol
        ));
    }
    Diagnostic::error(problem.reason.name(), format!("`{text}`: {}", problem.headline()))
        .at(place.clone())
        .remedy(problem.remedy.clone())
}

/// The text before a word, and after it.
fn cut<'a>(text: &'a str, word: &str) -> (&'a str, Option<&'a str>) {
    match text.split_once(word) {
        Some((before, after)) => (before.trim(), Some(after.trim())),
        None => (text.trim(), None),
    }
}

fn is_count(unit: &str) -> bool {
    matches!(unit, "count" | "counts")
}

impl Channel {
    /// Reads `t in ms`, `u in V scale 150 r/min per V offset 0.02 V`, `pos scale 1 r per 4096 counts`.
    pub(super) fn read(
        text: &str,
        kinds: &'static [&'static str],
        place: &Place,
    ) -> Result<Self, Diagnostic> {
        let (rest, wraps) = cut(text, " wraps ");
        let (rest, offset) = cut(rest, " offset ");
        let (rest, scale) = cut(rest, " scale ");
        let (heading, unit) = cut(rest, " in ");
        if heading.is_empty() || heading.starts_with("in ") {
            return Err(unread(
                place,
                "no column is named".to_owned(),
                "write the heading of the column, such as `n in r/min`",
            ));
        }
        let scale = match scale {
            Some(text) => Some(Scale::read(text, kinds, place)?),
            None => None,
        };
        let number = |text: Option<&str>| {
            let read = |text| {
                let (number, ten, unit) = split_typed(text).map_err(|problem| {
                    Diagnostic::error(Name::UnreadableQuantity, problem.headline())
                        .at(place.clone())
                        .remedy(problem.remedy.clone())
                })?;
                Ok((Unit::one().to_si(number, ten), unit.to_owned()))
            };
            text.map(read).transpose()
        };
        let (offset, wraps) = (number(offset)?, number(wraps)?);
        if wraps.as_ref().is_some_and(|it| it.0 <= 0.0)
            || wraps.is_some() && kinds.contains(&"speed")
        {
            return Err(unread(
                place,
                format!(
                    "`{text}`: only a position or a clock begins again, after more than nothing"
                ),
                "write after how much, such as `p scale 1 r per 4096 counts wraps 65536 counts` or `t in ms wraps 65536 ms`",
            ));
        }
        let found = Self {
            heading: heading.to_owned(),
            unit: unit.map(str::to_owned),
            scale,
            offset,
            wraps,
            kinds,
            place: place.clone(),
        };
        // what is said of the unit is looked at before any file is opened
        if found.unit.is_some() || found.scale.is_some() {
            found.resolve(None, place)?;
        }
        Ok(found)
    }

    /// The unit of a column that holds a voltage or a current.
    pub(super) fn is_electrical(&self) -> Option<&str> {
        let unit = self.scale.as_ref().map(|it| it.of.as_str())?;
        let read = parse_unit(unit).ok()?;
        let is = |name: &str| kind(name).is_some_and(|it| it.dimension == read.dimension);
        (is("voltage") || is("current")).then_some(unit)
    }

    /// The line of the column, with the unit that its heading states.
    pub(super) fn resolve(&self, stated: Option<&str>, at: &Place) -> Result<Line, Diagnostic> {
        let said = match (self.unit.as_deref(), stated) {
            (Some(said), Some(stated)) if !same_unit(said, stated) => {
                return Err(Diagnostic::error(
                    Name::TwoStatements,
                    format!("`{}` is said to be in `{said}`, and its heading says `{stated}`", self.heading),
                )
                .at(at.clone())
                .label(self.place.clone(), format!("`{said}` is said here"))
                .remedy(match self.of_turns(stated) {
                    Some(remedy) => remedy,
                    None => format!("say `in {stated}`, or leave the unit out: the heading holds it; correct the heading if it is wrong"),
                }));
            }
            (said, stated) => stated.or(said),
        };
        let Some(scale) = &self.scale else {
            let (times, name) = times(said.unwrap_or_default());
            let unit = unit_of(self.kinds, name, at).map_err(|problem| {
                match said.and_then(|said| self.of_turns(said)) {
                    Some(remedy) => problem.remedy(remedy),
                    None => problem,
                }
            })?;
            let factor = unit.factor.as_f64() * times;
            let zero = match &self.offset {
                None => 0.0,
                Some((number, written)) if said.is_some_and(|it| same_unit(it, written)) => *number,
                Some((number, written)) => {
                    number * unit_of(self.kinds, written, &self.place)?.factor.as_f64() / factor
                }
            };
            let wraps = match &self.wraps {
                None => None,
                Some((number, written)) if said.is_some_and(|it| same_unit(it, written)) => {
                    Some(number * factor)
                }
                Some((number, written)) => {
                    Some(number * unit_of(self.kinds, written, &self.place)?.factor.as_f64())
                }
            };
            return Ok(Line { factor, zero, wraps, unit });
        };
        if let Some(said) = said.filter(|said| !same_unit(said, &scale.of)) {
            return Err(Diagnostic::error(
                Name::UnitMismatch,
                format!("`{}` is in `{said}`, and its scale is per `{}`", self.heading, scale.of),
            )
            .at(at.clone())
            .label(self.place.clone(), "the scale is said here")
            .remedy(format!("write the scale per `{said}`")));
        }
        let of_column = |what: &str, said: &Option<(f64, String)>| match said {
            None => Ok(None),
            Some((number, unit)) if same_unit(unit, &scale.of) => Ok(Some(*number)),
            Some((_, unit)) => Err(Diagnostic::error(
                Name::UnitMismatch,
                format!("`{what}` is in `{unit}`, and the column in `{}`", scale.of),
            )
            .at(self.place.clone())
            .remedy(format!("write it in `{}`", scale.of))),
        };
        let zero = of_column("offset", &self.offset)?.unwrap_or(0.0);
        let wraps = of_column("wraps", &self.wraps)?.map(|it| it * scale.factor.abs());
        Ok(Line { factor: scale.factor, zero, wraps, unit: scale.unit.clone() })
    }
}

impl Channel {
    /// What is to be said of a speed whose column is in a rate such as `1/s`: turns and radians write it alike.
    fn of_turns(&self, unit: &str) -> Option<String> {
        let rate = crate::unit::kind("rate").map(|kind| kind.dimension);
        let is_rate = Some(parse_unit(unit).ok()?.dimension) == rate;
        (is_rate && self.kinds.contains(&"speed of rotation")).then(|| {
            let turns = unit.strip_prefix("1/").unwrap_or("s");
            format!("say what one of it is, turns or radians: `{0} scale 1 r/{turns} per {unit}` or `{0} scale 1 rad/{turns} per {unit}`", self.heading)
        })
    }
}

/// Whether two notations are one unit; counts are the number one.
fn same_unit(one: &str, other: &str) -> bool {
    let read = |text: &str| parse_unit(if is_count(text) { "" } else { text }).ok();
    one == other || read(one).zip(read(other)).is_some_and(|(a, b)| a.is_same(&b))
}

impl Scale {
    fn read(text: &str, kinds: &[&str], place: &Place) -> Result<Self, Diagnostic> {
        let remedy = "write it such as `scale 150 r/min per V` or `scale 1 r per 4096 counts`";
        let (value, Some(per)) = cut(text, " per ") else {
            return Err(unread(place, format!("the scale `{text}` has no `per`"), remedy));
        };
        let (value, unit) = quantity(kinds, value, place)?;
        // `1/s` is a unit, `4096 counts` a number of them
        let begins = !per.starts_with("1/")
            && per.starts_with(|sign: char| sign.is_ascii_digit() || sign == '.');
        let (count, of) = if begins {
            let (number, ten, unit) = split_typed(per).map_err(|problem| {
                unread(place, format!("the scale `{text}`: {}", problem.headline()), remedy)
            })?;
            (Unit::one().to_si(number, ten), unit)
        } else {
            (1.0, per)
        };
        if !is_count(of) {
            parse_unit(of).map_err(|problem| {
                Diagnostic::error(problem.reason.name(), problem.headline())
                    .at(place.clone())
                    .remedy(problem.remedy.clone())
            })?;
        }
        let factor = value / count;
        if factor == 0.0 || !factor.is_finite() {
            return Err(unread(
                place,
                format!("the scale `{text}` makes every value the same"),
                remedy,
            ));
        }
        Ok(Self { factor, unit, of: of.to_owned() })
    }
}

impl Edge {
    /// Reads `stop falls`, `stop rises`, `U_cmd below 12 V`, `torque above 0.5`, `at 1.25 s`.
    pub(super) fn read(text: &str, place: &Place) -> Result<Self, Diagnostic> {
        let text = text.trim();
        if let Some(moment) = text.strip_prefix("at ") {
            return Ok(Self::At(quantity(&["time"], moment.trim(), place)?.0));
        }
        for (word, one) in [(" falls", false), (" rises", true)] {
            if let Some(heading) = text.strip_suffix(word) {
                return Ok(Self::Digital { heading: heading.trim().to_owned(), one });
            }
        }
        for (word, above) in [(" below ", false), (" above ", true)] {
            let (heading, Some(level)) = cut(text, word) else { continue };
            let (number, ten, unit) = split_typed(level).map_err(|problem| {
                Diagnostic::error(Name::UnreadableQuantity, problem.headline())
                    .at(place.clone())
                    .remedy(problem.remedy.clone())
            })?;
            return Ok(Self::Level {
                heading: heading.to_owned(),
                level: Unit::one().to_si(number, ten),
                unit: unit.to_owned(),
                above,
                place: place.clone(),
            });
        }
        Err(unread(
            place,
            format!("`{text}` does not say when a channel says yes"),
            "write `HEADING falls`, `HEADING rises`, `HEADING below 12 V`, `HEADING above 0.5` or `at 1.25 s`",
        ))
    }

    /// The column, if there is one.
    pub(super) fn heading(&self) -> Option<&str> {
        match self {
            Self::Digital { heading, .. } | Self::Level { heading, .. } => Some(heading),
            Self::At(_) => None,
        }
    }

    /// Holds the unit of the column against that of the level.
    pub(super) fn check(&self, stated: Option<&str>, at: &Place) -> Result<(), Diagnostic> {
        let Self::Level { heading, unit, place, .. } = self else { return Ok(()) };
        let stated = stated.unwrap_or_default();
        if same_unit(stated, unit) {
            return Ok(());
        }
        let words = match stated {
            "" => format!("the heading `{heading}` states no unit, and its level is in `{unit}`"),
            _ => format!("the column `{heading}` is in `{stated}`, and its level in `{unit}`"),
        };
        Err(Diagnostic::error(Name::UnitMismatch, words)
            .at(at.clone())
            .label(place.clone(), "the level is said here")
            .remedy(match stated {
                "" => "write the level without a unit, or the unit into the heading".to_owned(),
                _ => format!("write the level in `{stated}`"),
            }))
    }

    /// Whether a value of the column says yes; none where it is not a digital value.
    pub(super) fn says(&self, value: f64) -> Option<bool> {
        match self {
            Self::Digital { one, .. } if value == 0.0 => Some(!one),
            Self::Digital { one, .. } if value == 1.0 => Some(*one),
            Self::Digital { .. } | Self::At(_) => None,
            Self::Level { level, above, .. } => Some((value > *level) == *above && value != *level),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPEED: &[&str] = &["speed of rotation", "speed"];

    fn place() -> Place {
        Place::Argument { text: "speed=…".to_owned() }
    }

    // by hand: 150 r/min = 15.70796 rad/s
    #[test]
    fn a_scale_turns_volts_into_speed() {
        let text = "u in V scale 150 r/min per V offset 0.02 V";
        let line = Channel::read(text, SPEED, &place()).unwrap().resolve(Some("V"), &place());
        let line = line.unwrap();
        assert!((line.factor - 15.707_963).abs() < 1e-6 && line.zero == 0.02);
        let millivolts =
            Channel::read(text, SPEED, &place()).unwrap().resolve(Some("mV"), &place());
        assert_eq!(millivolts.unwrap_err().name, Name::TwoStatements);
        let counts = Channel::read("p scale 1 r per 4096 counts", &["angle"], &place()).unwrap();
        let factor = counts.resolve(Some("counts"), &place()).unwrap().factor;
        assert!((factor - std::f64::consts::TAU / 4096.0).abs() < 1e-15);
    }

    #[test]
    fn what_is_said_of_a_channel_is_looked_at_before_a_file_is() {
        for (text, name) in [
            ("u scale 150 r/min", Name::RecordingPlan),
            ("u scale 0 r/min per V", Name::RecordingPlan),
            ("u scale 150 Hz per V", Name::RotationMeetsRate),
            ("u in V scale 150 r/min per mV", Name::UnitMismatch),
            ("u in V scale 150 r/min per V offset 3 A", Name::UnitMismatch),
            ("n in kg", Name::UnitMismatch),
            (" in r/min", Name::UnreadableQuantity),
        ] {
            let found = Channel::read(text, SPEED, &place());
            assert!(found.is_err(), "{text}");
            let found = found.unwrap_err().name;
            assert!(
                found == name || text.contains("Hz") || text.starts_with(' '),
                "{text}: {found:?}"
            );
        }
    }

    #[test]
    fn a_level_has_the_unit_of_its_column() {
        let edge = Edge::read("cmd below 12 V", &place()).unwrap();
        assert_eq!(
            (edge.says(3.0), edge.says(24.0), edge.says(12.0)),
            (Some(true), Some(false), Some(false))
        );
        assert!(edge.check(Some("mV"), &place()).is_err());
        assert!(edge.check(Some("V"), &place()).is_ok());
        let edge = Edge::read("stop falls", &place()).unwrap();
        assert_eq!(
            (edge.says(0.0), edge.says(1.0), edge.says(0.5)),
            (Some(true), Some(false), None)
        );
    }
}
