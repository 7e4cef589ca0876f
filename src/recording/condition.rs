//! The stops of one condition that ended in one way, and which of them decide.

use super::measure::Measured;
use super::plan::Plan;
use super::series::Series;
use super::stop::{Ramp, Stop};

/// How stops ended: a figure stands on stops of one kind alone, since a working ramp shows nothing of a failing one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// There is one kind alone: no ramp, or nothing was recorded that tells them apart.
    One,
    /// The ramp stood before torque went.
    Works,
    /// Torque went while the ramp still turned.
    CutShort,
    /// The speed was held until torque went.
    Fails,
}

/// All of them, in the order in which they are shown.
pub(super) const MODES: [Mode; 4] = [Mode::One, Mode::Works, Mode::CutShort, Mode::Fails];

impl Mode {
    /// How a stop ended.
    pub(super) fn of(stop: &Stop, plan: &Plan) -> Self {
        match stop.ramp {
            _ if plan.at_once => Self::One,
            None => Self::One,
            Some(Ramp::Finished) => Self::Works,
            Some(Ramp::CutShort) => Self::CutShort,
            Some(Ramp::Missing) => Self::Fails,
        }
    }

    /// In words; none where there is one kind alone.
    #[must_use]
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::One => None,
            Self::Works => Some("ramp works"),
            Self::CutShort => Some("ramp cut short"),
            Self::Fails => Some("ramp fails"),
        }
    }
}

/// A condition with the way in which its stops ended, in words.
pub(super) fn label(name: &str, mode: Option<&str>) -> String {
    mode.map_or_else(|| name.to_owned(), |mode| format!("{name}, {mode}"))
}

/// The stops of one condition that ended in one way.
#[derive(Clone, Debug)]
pub struct Condition {
    /// The name of the condition.
    pub name: String,
    /// How its stops ended.
    pub mode: Mode,
    /// Its stops, in the order of their files.
    pub stops: Vec<Stop>,
    /// Their times to standstill.
    pub times: Series,
    /// Their angles or ways.
    pub turned: Series,
}

impl Condition {
    /// Its name, and how its stops ended.
    #[must_use]
    pub fn label(&self) -> String {
        label(&self.name, self.mode.word())
    }

    /// The speed before its stops: their mean, and the largest uncertainty of one.
    pub(super) fn speed(&self) -> Measured {
        let speeds = || self.stops.iter().map(|it| it.speed);
        let count = super::measure::count_f64(self.stops.len().max(1));
        Measured {
            value: speeds().map(|it| it.value.abs()).sum::<f64>() / count,
            u: speeds().fold(0.0, |most: f64, it| most.max(it.u)),
        }
    }
}

/// The stops under a name, those that ended alike together.
pub(super) fn conditions(name: &str, stops: &[Stop], plan: &Plan) -> Vec<Condition> {
    let of_mode = |mode: Mode| {
        let stops: Vec<Stop> =
            stops.iter().filter(|it| Mode::of(it, plan) == mode).cloned().collect();
        let of =
            |get: fn(&Stop) -> Measured| Series::of(&stops.iter().map(get).collect::<Vec<_>>());
        let (times, turned) = (of(|it| it.time)?, of(|it| it.turned)?);
        Some(Condition { name: name.to_owned(), mode, stops, times, turned })
    };
    MODES.into_iter().filter_map(of_mode).collect()
}

/// On which stops the distance stands, as it was said.
pub(super) fn stands_on(plan: &Plan) -> Option<Mode> {
    let inputs = &plan.distance.as_ref()?.inputs;
    let says = |text: &str| inputs.iter().any(|said| said.text == text);
    if says("calculated fails") {
        Some(Mode::Fails)
    } else {
        says("calculated works").then_some(Mode::Works)
    }
}

/// The condition with the largest stopping time, among those that ended as the distance takes it; where none did, or
/// nothing is said, among all.
pub(super) fn decisive<'a>(conditions: &'a [Condition], plan: &Plan) -> Option<&'a Condition> {
    let longest = |of: &dyn Fn(&Condition) -> bool| {
        let all = conditions.iter().filter(|it| of(it));
        all.max_by(|a, b| a.times.figure.total_cmp(&b.times.figure))
    };
    let mode = stands_on(plan);
    longest(&|it| Some(it.mode) == mode).or_else(|| longest(&|_| true))
}
