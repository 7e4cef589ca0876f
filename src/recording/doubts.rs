//! What a stop shows that a measured one does not.

use super::measure::Measured;

/// What is doubtful of one stop, in coherent SI.
#[derive(Clone, Debug, Default)]
pub(super) struct Doubts {
    /// Whether it holds neither noise nor a step.
    pub(super) no_noise: bool,
    /// Whether it reads zero alone at rest, and noise at speed.
    pub(super) cut_off: bool,
    /// What it reads at rest, where that is more than its noise and no more than the error that is said.
    pub(super) offset: Option<f64>,
    /// From which speed the end is steeper than the way down before it, and how many times.
    pub(super) steep: Option<(f64, f64)>,
    /// Speed lost before the command.
    pub(super) commanded: Option<Measured>,
    /// Speed lost before torque was removed, where no ramp brakes; below zero where a load drove it up.
    pub(super) removed: Option<Measured>,
    /// Speed lost before torque was removed, where no ramp brakes: of one stop it may be noise.
    pub(super) sooner: Option<Sooner>,
    /// Speed with which it moved off, after the ramp was over, before torque was removed.
    pub(super) moved_off: Option<Measured>,
    /// How far the speed lay off the line of the ramp when torque was removed.
    pub(super) off_ramp: Option<Measured>,
}

/// Speed lost before torque was removed, in coherent SI.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sooner {
    /// Until the removal.
    pub(super) lost: f64,
    /// How far the recorder's filter may show the speed off.
    pub(super) smeared: f64,
    /// Until a time between samples and [`Self::LEFT`] before it.
    pub(super) early: f64,
    /// How much the speed falls in a second after it.
    pub(super) falls: f64,
    /// What of it may be a ripple that all stops share.
    pub(super) least: f64,
}

impl Sooner {
    /// What the times between samples leave, in s, beside one of them.
    pub(super) const LEFT: f64 = 1e-3;

    /// The same seen along a way on which it falls; `way` is 1, or -1 where it rises.
    pub(super) fn turned(self, way: f64) -> Self {
        Self { lost: self.lost * way, early: self.early * way, falls: self.falls * way, ..self }
    }
}
