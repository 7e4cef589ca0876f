//! The stops of one condition together, and which condition decides.

use super::measure::Measured;
use super::series::Series;
use super::stop::Stop;

/// The stops of one condition.
#[derive(Clone, Debug)]
pub struct Condition {
    /// Its name.
    pub name: String,
    /// Its stops, in the order of their files.
    pub stops: Vec<Stop>,
    /// Their times to standstill.
    pub times: Series,
    /// Their angles or ways.
    pub turned: Series,
}

/// A condition with its series; none where it has fewer than two stops.
pub(super) fn condition((name, stops): (String, Vec<Stop>)) -> Option<Condition> {
    let of = |get: fn(&Stop) -> Measured| Series::of(&stops.iter().map(get).collect::<Vec<_>>());
    let (times, turned) = (of(|it| it.time)?, of(|it| it.turned)?);
    Some(Condition { name, stops, times, turned })
}

/// The condition with the largest stopping time.
pub(super) fn decisive(conditions: &[Condition]) -> Option<&Condition> {
    conditions.iter().max_by(|a, b| a.times.figure.total_cmp(&b.times.figure))
}
