//! A recorder's clock, held against what was set.

use super::measure::trimmed;
use super::plan::Plan;
use super::stop::{Stop, ramp_time};
use crate::diagnostic::{Diagnostic, Name};

/// A recorder's clock that counts in another unit than its heading says: what was set takes a thousand times as long.
pub(super) fn another_clock(plan: &Plan, stop: &Stop) -> Option<Diagnostic> {
    let ramp = || Some(("ramp", ramp_time(stop, plan.n_ref.as_ref()?.si)?, plan.t_ramp.as_ref()?));
    let delay = || Some(("delay", stop.delay?, plan.t_delay.as_ref()?));
    let (what, found, set) = ramp().or_else(delay)?;
    let times = found.value / set.si;
    let factor = [60.0, 1e3, 6e4, 1e6].into_iter().find(|factor: &f64| {
        [times, 1.0 / times].iter().any(|times| (0.6..1.6).contains(&(times / factor)))
    })?;
    let words = format!(
        "the {what} takes {} s and {} is set: a factor of {factor}, as if the clock of the recorder counts in another unit",
        trimmed(found.value, 3),
        set.written
    );
    let problem = Diagnostic::error(Name::UnitMismatch, words).at(stop.place.clone());
    Some(problem.remedy(format!(
        "correct the unit in the heading of `{}`, or the setting in the plan",
        plan.time.heading
    )))
}
