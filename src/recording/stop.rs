//! One recorded stop: its figures, each with its expanded uncertainty.

use sha2::{Digest as _, Sha256};

use super::doubts::Doubts;
use super::friction::RunDown;
use super::measure::Measured;
use super::unbraked::Unbraked;
use crate::diagnostic::Place;

/// The samples of one stop, in coherent SI.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// The file.
    pub file: String,
    /// Where it begins.
    pub(super) place: Option<Place>,
    pub(super) row: u32,
    /// When the stop was commanded, on the recorder's clock, and half of what lies between two samples there.
    pub(super) commanded: f64,
    pub(super) half: f64,
    pub(super) before: Vec<(f64, f64)>,
    pub(super) points: Vec<(f64, f64)>,
    /// When torque was removed, likewise.
    pub(super) removed: Option<(f64, f64)>,
    pub(super) has_removed: bool,
    /// Whether the command was seen in the speed itself.
    pub(super) by_speed: bool,
    /// How many samples became one.
    pub(super) joined: usize,
    /// The longest time between two samples.
    pub(super) longest: f64,
    /// How long after its first edge the contact of the command came back for the last time; zero where it did not.
    pub(super) bounced: f64,
}

/// What became of the ramp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ramp {
    /// It stood before torque went.
    Finished,
    /// Torque went while it still turned.
    CutShort,
    /// The speed had hardly fallen when torque went.
    Missing,
}

impl Ramp {
    /// As a person reads it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Finished => "finished",
            Self::CutShort => "cut short",
            Self::Missing => "missing",
        }
    }
}

/// The figures of one stop, in coherent SI, from the stop command on.
#[derive(Clone, Debug)]
pub struct Stop {
    /// The file.
    pub file: String,
    /// Where in it the stop begins.
    pub place: Place,
    /// Speed before the stop.
    pub speed: Measured,
    /// Noise of one sample, as a standard deviation.
    pub noise: f64,
    /// Step in which the speed was recorded; zero where none is seen.
    pub step: f64,
    /// The least speed that the samples are sure to show.
    pub lowest: f64,
    /// Samples at the end of `hold` that read a step above rest, and below it.
    pub flickers: [usize; 2],
    /// Time between samples, the middle one.
    pub sampling: f64,
    /// From the command to the start of the ramp: where the line of the ramp meets the speed before it.
    pub response: Option<Measured>,
    /// Deceleration of the ramp's line.
    pub slope: Option<Measured>,
    /// Time from the command until the speed stays below the threshold.
    pub below: Measured,
    /// Time from the command to standstill: the line of the last speeds, down to zero.
    pub time: Measured,
    /// Angle, or way, from the command to where it was furthest before it stood.
    pub turned: Measured,
    /// From the command to the removal of torque.
    pub delay: Option<Measured>,
    /// Speed left then; none where it stood, or nothing was recorded.
    pub left: Option<Measured>,
    /// What became of the ramp; none where the removal was not recorded.
    pub ramp: Option<Ramp>,
    /// Deceleration from the start of the ramp to standstill.
    pub mean: Measured,
    /// Largest deceleration over [`Stop::window`].
    pub peak: Measured,
    /// Window of the peak, in s.
    pub window: f64,
    /// Largest speed backwards after the command; none above what noise makes.
    pub rebound: Option<Measured>,
    /// What a measured stop does not show.
    pub(super) doubts: Doubts,
    /// What moves it between the removal of torque and the grip of a brake.
    pub(super) unbraked: Option<Unbraked>,
    /// What a brake loses as it heats, of a stop whose ramp fails.
    pub(super) fading: Option<Measured>,
    /// What follows the removal of torque.
    pub run_down: Option<RunDown>,
    /// How long the contact of the command bounced after its first edge, which counts; zero where it did not.
    pub bounced: f64,
    /// The curve for a picture, times from the command.
    pub curve: Vec<(f64, f64)>,
    /// What its samples are known by again: a hash of their times from the command and of their speeds.
    pub print: String,
}

impl Recorded {
    /// A hash of the samples: what was recorded once is known by it in a later protocol, whatever the file is called.
    pub(super) fn print(&self) -> String {
        let mut hash = Sha256::new();
        for (t, v) in self.before.iter().chain(&self.points) {
            // what a clock that starts elsewhere leaves in the last digits does not count
            hash.update(format!("{:.7} {v:.6e};", t - self.commanded));
        }
        hash.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect()
    }
}

/// The ramp time of a stop, for the speed that the drive's setting refers to.
pub(super) fn ramp_time(stop: &Stop, reference: f64) -> Option<Measured> {
    let slope = stop.slope?;
    let value = reference / slope.value;
    Some(Measured { value, u: value * slope.u / slope.value })
}
