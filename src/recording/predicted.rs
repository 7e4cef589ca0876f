//! The calculation that recorded stops are held against.

use super::of_sheet::OfSheet;
use crate::calculation::Results;
use crate::number::InputValue;
use crate::report::Check;

/// The calculation that the stops are held against.
#[derive(Clone, Debug)]
pub struct Predicted {
    /// With nominal values.
    pub results: Results,
    /// Its checks that fail, with nominal values or anywhere within the tolerances, or that are not proved there.
    pub open: Vec<Check>,
    /// Highest stopping time within the tolerances, where the ramp works and where it fails, in s.
    pub works: f64,
    /// The same where it fails; of a stop without a ramp, both are its stopping time.
    pub fails: f64,
    /// The longest stop by torque lost within the tolerances, where the sheet has one.
    pub(super) lost: Option<f64>,
    /// Time from the stop command to the removal of torque that was added to both, where one was said.
    pub before: Option<f64>,
    /// The inputs on which the stopping times that count depend.
    pub(super) depends: Vec<String>,
    /// Whether a brake slows the machine once torque is gone.
    pub(super) has_a_brake: bool,
    pub(super) settings: Vec<OfSheet>,
    /// The words on which it rests that torque lost is no longer stop.
    pub(super) by_word: Vec<ByWord>,
}

/// A word of the calculation: with another one the stop by torque lost, which nobody measures, would be the longest.
#[derive(Clone, Debug)]
pub(super) struct ByWord {
    pub(super) name: String,
    pub(super) word: String,
    pub(super) other: String,
    /// How long the stop is then, in s; none where it does not end.
    pub(super) longest: Option<f64>,
}

impl Predicted {
    /// The longest stop by torque lost, where the calculation has one that is longer than a ramp that fails; in s.
    pub(super) fn longest_is_lost(&self) -> Option<f64> {
        let fails = self.fails - self.before.unwrap_or(0.0);
        self.lost.filter(|lost| *lost > fails * (1.0 + 1e-9))
    }
}

/// What a calculation takes or finds for a name, within the tolerances of its inputs, in coherent SI.
pub(super) fn taken(predicted: &Predicted, name: &str) -> Option<(f64, f64)> {
    let results = &predicted.results;
    if let Some(found) = results.exact(name) {
        let found = found.to_f64();
        return Some((found, found));
    }
    let inputs = results.inputs();
    let input = results.program().input_named(name)?;
    if let Some((low, high)) = inputs.spread(input).and_then(|it| it.ends.first()) {
        return Some((low.si_f64(), high.si_f64()));
    }
    match inputs.value(input)? {
        InputValue::One(value) => Some((value.si_f64(), value.si_f64())),
        _ => None,
    }
}
