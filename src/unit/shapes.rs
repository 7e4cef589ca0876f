//! Units as sequences of symbols, for a reader that has these tables alone: the page reads by them, in any product of
//! the catalogue, what [`Kind::read_plate`] reads beside the units that are offered.

use std::sync::LazyLock;

use super::catalogue::catalogue;
use super::expression::look_up;
use super::reading::COUNT;
use super::{Dimension, Kind};

/// Symbols that are not what their dimension says: each is a class of its own.
const APART: &[&str] = &["Hz", "rad", "lb", "oz"];

const FORCE: Dimension = Dimension::of(1, 1, -2, 0, 0, 0);
const LENGTH: Dimension = Dimension::of(1, 0, 0, 0, 0, 0);

/// A class of symbols that stand for one another, and its power.
pub(crate) type Shape = Vec<(usize, i32)>;

/// A symbol of the catalogue: its spellings, its class, what one is in coherent SI, whether it takes prefixes.
pub(crate) struct Symbol {
    pub(crate) spellings: Vec<&'static str>,
    pub(crate) class: usize,
    pub(crate) factor: f64,
    pub(crate) prefixes: bool,
}

type Class = (Dimension, &'static str);

fn class(dimension: Dimension, bare: &str) -> Class {
    (dimension, APART.iter().find(|it| **it == bare).copied().unwrap_or_default())
}

static CLASSES: LazyLock<Vec<Class>> = LazyLock::new(|| {
    let mut all = Vec::new();
    for entry in catalogue().iter().filter(|entry| !entry.point) {
        let own = class(entry.dimension, entry.symbol);
        if !all.contains(&own) {
            all.push(own);
        }
    }
    all
});

/// The symbols without those of a temperature scale.
pub(crate) fn symbols() -> Vec<Symbol> {
    let entries = catalogue().iter().filter(|entry| !entry.point);
    let found = entries.filter_map(|entry| {
        let own = class(entry.dimension, entry.symbol);
        Some(Symbol {
            spellings: std::iter::once(entry.symbol)
                .chain(entry.spellings.iter().copied())
                .collect(),
            class: CLASSES.iter().position(|it| *it == own)?,
            factor: entry.factor.as_f64(),
            prefixes: entry.prefixes,
        })
    });
    found.collect()
}

impl Kind {
    /// The offered units of this kind as sequences of classes; none where the order of force and length, a zero or
    /// a part of the symbol decides.
    pub(crate) fn shapes(&'static self) -> Vec<Shape> {
        let mut all: Vec<Shape> = Vec::new();
        if self.point || self.name == COUNT || self.reads_weights() {
            return all;
        }
        if self.dimension.is_none() {
            // a part of a hundred, of a thousand, of a million
            let own = class(self.dimension, "%");
            return CLASSES
                .iter()
                .position(|it| *it == own)
                .map(|it| vec![(it, 1)])
                .into_iter()
                .collect();
        }
        for text in self.units {
            let Some(found) = look_up(text) else { continue };
            let power = |of: Dimension| {
                found.mentions.iter().find(|it| it.atom.dimension == of).map(|it| it.power)
            };
            // N·m is no energy, m·N neither; in a longer product it is plain which is which
            let moment = power(FORCE).is_some()
                && power(FORCE) == power(LENGTH)
                && found.mentions.len() == 2;
            if moment && !self.takes_pounds_as_force() || found.has_scale() {
                continue;
            }
            let shape = found.mentions.iter().map(|it| {
                let own = class(it.atom.dimension, it.atom.bare);
                CLASSES.iter().position(|class| *class == own).map(|class| (class, it.power))
            });
            let shape = shape.collect::<Option<Shape>>();
            all.extend(shape.filter(|shape| !all.contains(shape)));
        }
        all
    }
}
