//! What the owner of a workbook allows in a cell.

use super::position::Area;

/// A rule of the owner's for what may stand in cells.
#[derive(Clone, Debug)]
pub(crate) struct Allowed {
    pub(crate) areas: Vec<Area>,
    pub(crate) what: What,
}

/// What may stand there.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum What {
    /// One of these.
    Words(Vec<String>),
    /// What stands in one of these cells, of the rule's own tab where none is named.
    Cells(Option<String>, Area),
    /// A number, whole if so said.
    Number { whole: bool, limits: Limits },
    /// A text of so many signs.
    Length(Limits),
    /// A number, whole if so said, beside what formulas give, which are written for the first cell.
    Beside { whole: bool, relation: String, first: String, second: String },
    /// What a formula finds true, which is written for the first cell.
    Formula(String),
}

/// From where to where, or everywhere but there.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Limits {
    pub(crate) outside: bool,
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// Whether the limits themselves are allowed.
    pub(crate) closed: bool,
}

impl Limits {
    /// The limits of a relation, and of two numbers where it has two; ECMA-376 Part 1, 18.18.20 (from memory).
    pub(crate) fn of(relation: &str, first: f64, second: Option<f64>) -> Option<Self> {
        let (below, above) = (f64::NEG_INFINITY, f64::INFINITY);
        let (outside, from, to, closed) = match relation {
            "notBetween" => (true, first, second?, true),
            "equal" => (false, first, first, true),
            "notEqual" => (true, first, first, true),
            "greaterThan" => (false, first, above, false),
            "greaterThanOrEqual" => (false, first, above, true),
            "lessThan" => (false, below, first, false),
            "lessThanOrEqual" => (false, below, first, true),
            _ => (false, first, second?, true),
        };
        Some(Self { outside, from, to, closed })
    }

    pub(super) fn allow(&self, number: f64) -> bool {
        let within = match self.closed {
            true => (self.from..=self.to).contains(&number),
            false => self.from < number && number < self.to,
        };
        within != self.outside
    }

    pub(super) fn to_text(&self) -> String {
        let not = if self.outside { "not " } else { "" };
        let or = if self.closed { "or" } else { "but not" };
        match (self.from.is_finite(), self.to.is_finite()) {
            (true, true) if self.from == self.to => format!("{not}{}", self.from),
            (true, true) => format!("{not}{} to {}", self.from, self.to),
            (true, false) => format!("more than {} {or} that", self.from),
            _ => format!("less than {} {or} that", self.to),
        }
    }
}
