//! A value, or why there is none.

use std::sync::Arc;

use super::{Exact, FIRST, Outcome, magnitude};
use crate::elementary::power_of_ten;
use crate::number::Fault;
use crate::program::LineId;

/// A value, or the first fault on the way to it.
pub type Checked<T = Exact> = Result<T, Arc<Fault>>;

/// Puts the line to a trouble.
pub(super) fn at(line: LineId, outcome: Outcome) -> Checked {
    outcome.map_err(|trouble| Arc::new(Fault::new(trouble.name, line, trouble.words)))
}

/// The size of a value as f64, for tolerances.
pub(super) fn size(value: &Exact) -> f64 {
    magnitude(value.digits()) / magnitude(FIRST) * power_of_ten(value.ten)
}
