//! What a stop shows between the removal of torque and the grip of a brake.

use super::measure::Measured;

/// The straight line between removal and grip of one stop, in coherent SI.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unbraked {
    /// How steeply the speed rises.
    pub(super) slope: Measured,
    /// How much steeper its second half rises than the whole.
    pub(super) bend: Measured,
    /// How long the line is, and the speed in its middle.
    pub(super) long: f64,
    pub(super) speed: f64,
    /// Mean square of slopes over as long a time while the speed is held: noise, and what the speed goes up and down.
    pub(super) held: f64,
}
