//! An input that lies somewhere between two ends, and the boxes of several.

use crate::number::{Exact, Slot};
use crate::program::{Program, Type};
use crate::unit::{Literal, Unit};

/// An input, or an element of a series, that lies somewhere between two ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertain {
    /// Place in [`Program::inputs`].
    pub input: usize,
    /// Place in the series, from 0.
    pub element: Option<usize>,
    /// Nominal value.
    pub value: Literal,
    /// Lower end.
    pub low: Literal,
    /// Upper end.
    pub high: Literal,
}

/// Where an uncertain input stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::calculation) enum At {
    /// At its lower end.
    Low,
    /// At its nominal value.
    Value,
    /// At its upper end.
    High,
    /// Somewhere inside, in coherent SI.
    Inside(f64),
}

/// A box: from where to where each uncertain input goes.
pub(in crate::calculation) type Sides = Vec<(At, At)>;

/// The sides of a box in numbers that can be compared.
pub(super) type Key = Vec<[u64; 2]>;

impl Uncertain {
    /// The number where it stands, exact, in coherent SI.
    pub(super) fn exact(&self, at: At) -> Option<Exact> {
        match at {
            At::Low => Exact::from_literal(&self.low).ok(),
            At::Value => Exact::from_literal(&self.value).ok(),
            At::High => Exact::from_literal(&self.high).ok(),
            At::Inside(x) => Exact::from_f64(x).ok(),
        }
    }

    /// Puts its value among those of the inputs.
    pub(super) fn put<V, T>(&self, given: &mut [Slot<V, T>], value: V) {
        match (given.get_mut(self.input), self.element) {
            (Some(Slot::Many(all)), Some(element)) => {
                if let Some(slot) = all.get_mut(element) {
                    *slot = value;
                }
            }
            (Some(slot), _) => *slot = Slot::One(value),
            (None, _) => {}
        }
    }

    pub(super) fn literal(&self, at: At, type_: &Type) -> Option<Literal> {
        Some(match at {
            At::Low => self.low.clone(),
            At::Value => self.value.clone(),
            At::High => self.high.clone(),
            At::Inside(x) => {
                let Type::Number { dimension, .. } = type_ else { return None };
                Literal::from_f64(x, Unit { dimension: *dimension, ..Unit::one() })?
            }
        })
    }

    pub(super) fn to_text(&self, program: &Program, at: At) -> Option<String> {
        let input = program.inputs.get(self.input)?;
        let element = self.element.map_or_else(String::new, |element| format!("[{}]", element + 1));
        let value = crate::calculation::show(&self.exact(at)?, &self.value.unit);
        Some(format!("{}{element} = {value}", input.name))
    }
}

impl At {
    pub(super) fn key(self) -> u64 {
        match self {
            Self::Low => 1,
            Self::Value => 2,
            Self::High => 3,
            // no number is so near to −∞ that it comes to 1, 2 or 3: only NaN would
            Self::Inside(x) => x.to_bits().wrapping_add(4),
        }
    }
}
