//! One or two free inputs through their ranges: what holds where.

use std::rc::Rc;

use super::{Design, Unmet};
use crate::calculation::Results;
use crate::unit::Literal;

/// One point of a sweep.
#[derive(Clone, Debug)]
pub struct Swept {
    /// Values of the free inputs, in the order of the question.
    pub values: Vec<Literal>,
    /// The calculation with them, or why there is none.
    pub results: Result<Rc<Results>, String>,
    /// What it does not keep.
    pub broken: Vec<Unmet>,
}

impl Design<'_> {
    /// The first free input at so many values at most, evenly chosen from its range; for each, the second one at
    /// `rows` values of its own; further ones stand at the lower end of their ranges.
    #[must_use]
    pub fn sweep(&self, columns: u32, rows: u32) -> Vec<Vec<Swept>> {
        let along = |free: usize, most: u32| -> Vec<u32> {
            let Some(free) = self.frees.get(free) else { return vec![0] };
            let parts = most.saturating_sub(1).min(free.last);
            (0..=parts).map(|part| free.part(part, parts)).collect()
        };
        let seconds = along(1, rows);
        along(0, columns)
            .into_iter()
            .map(|first| {
                seconds
                    .iter()
                    .map(|second| {
                        let mut at = vec![0; self.frees.len()];
                        for (place, value) in at.iter_mut().zip([first, *second]) {
                            *place = value;
                        }
                        let outcome = self.run(&at);
                        Swept {
                            values: self.at(&at).0,
                            results: outcome.results.clone(),
                            broken: outcome.broken.clone(),
                        }
                    })
                    .collect()
            })
            .collect()
    }
}
