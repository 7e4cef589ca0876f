//! What each picture is drawn as. Which sheet has which, and where their numbers stand, is four_digits by
//! `calculation::picture_spec`.

use super::plot::{Bands, Plot};
use super::{Roles, course, heat, power, stop};
use crate::calculation::picture_spec::Kind;

impl Kind {
    /// The picture as curves of its roles; none for a plan, and for courses.
    pub(super) fn plot(self, roles: &Roles) -> Option<Plot> {
        Some(match self {
            Self::Stop => stop::plot(roles),
            Self::RunDown => stop::plot_run_down(roles),
            Self::Power => power::plot(roles),
            Self::Heat => heat::plot(roles),
            Self::Brake => heat::plot_brake(roles),
            Self::Plan | Self::Course => return None,
        })
    }

    /// Where its curves can lie between two ends of its roles.
    pub(super) fn bands(self, low: &Roles, high: &Roles) -> Bands {
        match self {
            Self::Stop => stop::bands(low, high),
            Self::RunDown => stop::bands_run_down(low, high),
            Self::Power => power::bands(low, high),
            Self::Heat => heat::bands(low, high),
            Self::Brake => heat::bands_brake(low, high),
            Self::Plan | Self::Course => Bands::new(),
        }
    }
}

/// How a picture is made.
pub(super) fn how(kind: Kind) -> &'static str {
    match kind {
        Kind::Stop => {
            "Speed and travel over time. Corner points are the program's own values; the ramp is drawn at its slowest; run-downs between them are the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to the time and the travel calculated."
        }
        Kind::RunDown => {
            "Speed and travel over time. The ends are the program's own values; the curve is the angular momentum balance with the sheet's friction, in 24 steps of speed, fitted to them."
        }
        Kind::Power => {
            "Power drawn as a straight fall from the program's own peak to zero within the quickest ramp. The sheet lets the resistor convert all of the energy, on the safe side; what the DC link takes up first is drawn from the energy of a capacitor."
        }
        Kind::Heat => {
            "The ends of each part are the program's own values; between them the rise moves to its last value with the sheet's time constant. A band spans at each moment what every part that may run then allows."
        }
        Kind::Brake => {
            "Two lines that the temperature goes to and fro between. The greatest rise is the program's own value; the way to it is a geometric series of like stops."
        }
        Kind::Course => course::HOW,
        Kind::Plan => {
            "Plan view to scale. The parts of the sum are the program's own values; what the distance has beyond them comes from rounding up or from the least distance."
        }
    }
}
