//! What a name stands for while a sheet is checked.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::flat::{LineId, Register, TableId, Type};
use crate::diagnostic::{Place, Source};
use crate::language::Tree;
use crate::unit::{Dimension, Kind};

/// A value that a step makes, with what a message may say of it.
#[derive(Clone, Debug)]
pub(super) struct Value {
    pub(super) register: Register,
    pub(super) type_: Type,
    /// The literal 0 without a unit: zero of any kind but a temperature.
    pub(super) zero: bool,
    /// The name it was read from, and where that is defined.
    pub(super) named: Option<(String, Place)>,
    /// What a product was made of, for the lints.
    pub(super) factors: Factors,
}

/// What a product was made of.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Factors {
    /// Product of the numbers without a unit, π included.
    pub(super) number: Option<f64>,
    /// π is among them.
    pub(super) pi: bool,
    /// A speed of rotation or an angle is among the factors.
    pub(super) rotation: bool,
    /// An efficiency is among the factors.
    pub(super) efficiency: bool,
    /// A value with a unit is among the factors.
    pub(super) quantity: bool,
}

impl Value {
    pub(super) fn new(register: Register, type_: Type) -> Self {
        let factors = Factors {
            quantity: carries_unit(&type_),
            rotation: turns(&type_),
            ..Factors::default()
        };
        Self { register, type_, zero: false, named: None, factors }
    }
}

fn carries_unit(type_: &Type) -> bool {
    matches!(type_, Type::Number { dimension, .. } if !dimension.is_none())
}

fn turns(type_: &Type) -> bool {
    let speed = Dimension::of(0, 0, -1, 0, 0, 1);
    matches!(type_, Type::Number { dimension, .. } if *dimension == speed || *dimension == Dimension::ANGLE)
}

/// What a name stands for.
#[derive(Clone, Debug)]
pub(super) enum Named {
    /// A value.
    Value(Value, Option<&'static Kind>),
    /// A local function: index into the tree's `works`.
    Function(usize),
    /// A table, with the dimensions of argument and value.
    Table(TableId, Type, Type),
    /// A used sheet: its results; `None` where their trouble is reported already.
    Use(BTreeMap<String, Option<Value>>),
    /// Something whose trouble is reported already: what depends on it stays silent.
    Silent,
}

/// A sheet while it is checked.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) source: Arc<Source>,
    pub(super) tree: Arc<Tree>,
    /// Index into the program's scopes.
    pub(super) scope: u32,
    /// Path of aliases with a point behind each, empty for the asked sheet.
    pub(super) path: String,
    pub(super) names: BTreeMap<String, Named>,
    /// Where each name is defined.
    pub(super) places: BTreeMap<String, Place>,
    /// In which unit each name is read.
    pub(super) units: BTreeMap<String, String>,
    /// Parameters of functions, roots and integrals, innermost last.
    pub(super) locals: Vec<(String, Value)>,
    /// Series that the body of a `running` reads element by element, innermost last.
    pub(super) running: Vec<Vec<(Register, Value)>>,
    /// Lines of the names, for the program's scope.
    pub(super) lines: BTreeMap<String, LineId>,
    /// Units in which results are given: also for reading the line that makes them.
    pub(super) given_units: BTreeMap<String, String>,
    /// How many sheets use one another above this one.
    pub(super) depth: usize,
}

impl Sheet {
    pub(super) fn place(&self, span: &std::ops::Range<usize>) -> Place {
        Place::text(&self.source, span.clone())
    }

    pub(super) fn text(&self, span: &std::ops::Range<usize>) -> &str {
        self.source.text.get(span.clone()).unwrap_or_default()
    }

    pub(super) fn is_broken(&self, name: &str) -> bool {
        self.tree.broken.contains(name)
    }
}
