//! The formulas of a tab as they are stored.

use std::collections::HashMap;
use std::sync::Arc;

use super::position::{Area, Position};

/// A formula and the area it fills.
#[derive(Clone, Debug)]
pub(crate) struct Formula {
    pub(crate) position: Position,
    pub(crate) shape: Shape,
    pub(crate) text: String,
}

/// The formulas of a tab, in the order of their cells.
#[derive(Clone, Debug, Default)]
pub(crate) struct Formulas {
    list: Arc<Vec<Formula>>,
    /// Which of them the others of a shared formula follow.
    shared: Arc<HashMap<u32, usize>>,
}

impl Formulas {
    pub(crate) fn of(list: Arc<Vec<Formula>>) -> Self {
        let written = list.iter().enumerate().filter(|(_, formula)| !formula.text.is_empty());
        let shared = written.filter_map(|(at, formula)| match formula.shape {
            Shape::Shared(number) => Some((number, at)),
            _ => None,
        });
        let shared = Arc::new(shared.collect());
        Self { list, shared }
    }

    /// Whether one of them is so.
    pub(crate) fn any(&self, is: impl Fn(&str) -> bool) -> bool {
        self.list.iter().any(|formula| is(&formula.text))
    }

    /// The same, each changed.
    pub(crate) fn each(&self, change: &dyn Fn(&Formula) -> Formula) -> Self {
        Self {
            list: Arc::new(self.list.iter().map(change).collect()),
            shared: Arc::clone(&self.shared),
        }
    }

    /// The text of a cell's formula, and how many rows and columns from its cell that was written.
    pub(crate) fn text(&self, cell: Position) -> Option<(&str, (i64, i64))> {
        let at = self.list.binary_search_by_key(&cell, |formula| formula.position).ok()?;
        let own = self.list.get(at)?;
        let written = match own.shape {
            Shape::Plain => own,
            // newer office programs store what may give several cells so, though it fills one
            Shape::Array(area) if area.is_single() => own,
            Shape::Shared(_) if !own.text.is_empty() => own,
            Shape::Shared(number) => self.list.get(*self.shared.get(&number)?)?,
            Shape::Array(_) | Shape::DataTable(_) => return None,
        };
        let by = |to: u32, from: u32| i64::from(to) - i64::from(from);
        let moved = (by(cell.row, written.position.row), by(cell.column, written.position.column));
        Some((&written.text, moved))
    }
}

/// How a formula is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shape {
    Plain,
    Shared(u32),
    Array(Area),
    DataTable(Area),
}
