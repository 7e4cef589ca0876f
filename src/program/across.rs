//! A radius, a diameter and a travel per turn: all are lengths per angle, and none stands for another.

use crate::diagnostic::{Diagnostic, Name};
use crate::unit::{Dimension, Kind, kind};

/// Which of them a value is, where that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Across {
    Radius,
    Diameter,
    /// A travel per turn: a length only when it is multiplied by an angle.
    Lead,
}

pub(super) const LENGTH: Dimension = Dimension::of(1, 0, 0, 0, 0, 0);

impl Across {
    /// What a name of that kind stands for.
    pub(super) fn of_kind(kind: &Kind) -> Option<Self> {
        match kind.name {
            "radius" => Some(Self::Radius),
            "diameter" => Some(Self::Diameter),
            "travel per turn" => Some(Self::Lead),
            _ => None,
        }
    }

    /// Its kind.
    pub(super) fn kind(self) -> Option<&'static Kind> {
        kind(match self {
            Self::Radius => "radius",
            Self::Diameter => "diameter",
            Self::Lead => "travel per turn",
        })
    }

    /// What it is times a number: half a diameter is a radius.
    pub(super) fn by(self, number: f64) -> Option<Self> {
        let number = number.abs();
        match self {
            it if number == 1.0 => Some(it),
            Self::Lead => Some(Self::Lead),
            Self::Diameter if number == 0.5 => Some(Self::Radius),
            Self::Radius if number == 2.0 => Some(Self::Diameter),
            _ => None,
        }
    }

    /// What one of several is: of those that are known, all must be the same.
    pub(super) fn of_one_of(all: impl Iterator<Item = Option<Self>>) -> Option<Self> {
        let mut known = all.flatten();
        let first = known.next()?;
        known.all(|other| other == first).then_some(first)
    }

    pub(super) fn to_text(self) -> &'static str {
        match self {
            Self::Radius => "a radius",
            Self::Diameter => "a diameter",
            Self::Lead => "a travel per turn",
        }
    }
}

/// What is wrong with a value that goes where a kind is declared, without its place: nothing, unless it is another of
/// the three, or a travel per turn for a length. `text` is the value as it is written.
pub(super) fn mistaken(
    text: &str,
    kind: Option<&Kind>,
    found: Option<Across>,
) -> Option<Diagnostic> {
    let (kind, found) = (kind?, found?);
    let text = match text.contains(['+', '-', ' ']) {
        true => format!("({text})"),
        false => text.to_owned(),
    };
    let remedy = match (Across::of_kind(kind), found) {
        (None, Across::Lead) if kind.dimension == LENGTH => turned(&text),
        (None, _) => return None,
        // a pulley goes its radius a radian
        (Some(Across::Lead), Across::Radius) => return None,
        (Some(asked), found) if asked == found => return None,
        (Some(Across::Radius | Across::Lead), Across::Diameter) => format!("write `{text} / 2`"),
        (Some(Across::Diameter), Across::Radius) => format!("write `2 * {text}`"),
        (Some(_), _) => {
            "where it is the travel per turn, declare it as `travel per turn`".to_owned()
        }
    };
    Some(
        Diagnostic::error(
            Name::WrongPowerOfRad,
            format!("{} stands where {} is needed", found.to_text(), kind.with_article()),
        )
        .remedy(remedy),
    )
}

/// How a travel per turn becomes a length.
fn turned(text: &str) -> String {
    format!("multiply it by the angle that is turned, such as `1 r * {text}`")
}

/// A value with what it is, and its text and dimension.
pub(super) type Side<'a> = (Option<Across>, &'a str, Dimension);

/// Two of the three where both must be one, or a travel per turn and a length, without its place; `done` is what was
/// tried.
pub(super) fn unlike(done: &str, a: Side<'_>, b: Side<'_>) -> Option<Diagnostic> {
    let (first, second, remedy) = match (a.0, b.0) {
        (Some(x), Some(y)) if x != y => {
            let remedy = match (x, y) {
                (Across::Lead, _) | (_, Across::Lead) => {
                    "write `d / 2` or the radius where the travel per turn of a pulley is meant"
                        .to_owned()
                }
                _ => "write `d / 2` for the diameter d, or `2 * r` for the radius r".to_owned(),
            };
            (x.to_text(), y.to_text(), remedy)
        }
        (Some(Across::Lead), None) if b.2 == LENGTH => {
            (Across::Lead.to_text(), "a length", turned(a.1))
        }
        (None, Some(Across::Lead)) if a.2 == LENGTH => {
            ("a length", Across::Lead.to_text(), turned(b.1))
        }
        _ => return None,
    };
    Some(
        Diagnostic::error(Name::WrongPowerOfRad, format!("{first} and {second} cannot be {done}"))
            .remedy(remedy),
    )
}
