//! A radius where a diameter is meant, and the other way round.

use crate::diagnostic::{Diagnostic, Name};
use crate::unit::Kind;

/// Which of both a length across something round is, where that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Across {
    Radius,
    Diameter,
}

impl Across {
    /// What a name of that kind stands for.
    pub(super) fn of_kind(kind: &Kind) -> Option<Self> {
        match kind.name {
            "radius" => Some(Self::Radius),
            "diameter" => Some(Self::Diameter),
            _ => None,
        }
    }

    /// What it is times a number: half a diameter is a radius.
    pub(super) fn by(self, number: f64) -> Option<Self> {
        let number = number.abs();
        match self {
            it if number == 1.0 => Some(it),
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

    fn to_text(self) -> &'static str {
        match self {
            Self::Radius => "a radius",
            Self::Diameter => "a diameter",
        }
    }
}

/// What is wrong with a value that goes where a kind is declared, without its place: nothing, unless it is the other
/// of both. `text` is the value as it is written.
pub(super) fn mistaken(
    text: &str,
    kind: Option<&Kind>,
    found: Option<Across>,
) -> Option<Diagnostic> {
    let (asked, found) = (Across::of_kind(kind?)?, found?);
    let text = match text.contains(['+', '-', ' ']) {
        true => format!("({text})"),
        false => text.to_owned(),
    };
    let remedy = match asked {
        Across::Radius => format!("write `{text} / 2`"),
        Across::Diameter => format!("write `2 * {text}`"),
    };
    (asked != found).then(|| {
        let (asked, found) = (asked.to_text(), found.to_text());
        Diagnostic::error(Name::WrongPowerOfRad, format!("{found} stands where {asked} is needed"))
            .remedy(remedy)
    })
}

/// A radius and a diameter in one sum, without its place.
pub(super) fn mixed(found: (Option<Across>, Option<Across>)) -> Option<Diagnostic> {
    let (Some(a), Some(b)) = found else { return None };
    (a != b).then(|| {
        Diagnostic::error(Name::WrongPowerOfRad, "a radius and a diameter stand in one sum")
            .remedy("write `d / 2` for the diameter d, or `2 * r` for the radius r")
    })
}
