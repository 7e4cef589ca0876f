//! Why a value does not exist.

use rust_decimal::Decimal;

use super::Exact;
use crate::diagnostic::Name;
use crate::program::LineId;

/// Why a value does not exist, and which line asked for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Stable name.
    pub name: Name,
    /// Line of the sheet whose step failed first.
    pub line: LineId,
    /// What was found, in coherent SI where no unit is said; may be empty.
    pub words: String,
    /// The arguments of a search that the words are about, as digits and a power of ten, in coherent SI.
    pub near: Vec<(Decimal, i32)>,
}

impl Fault {
    /// Names a fault.
    #[must_use]
    pub fn new(name: Name, line: LineId, words: impl Into<String>) -> Self {
        Self { name, line, words: words.into(), near: Vec::new() }
    }

    /// The same with the arguments that it is about.
    #[must_use]
    pub fn at(mut self, arguments: &[Exact]) -> Self {
        self.near = arguments.iter().map(|x| (x.mantissa(), x.ten())).collect();
        self
    }
}
