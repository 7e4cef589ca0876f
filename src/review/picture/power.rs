//! Power into the braking resistor over one cycle.

use super::plot::{Curve, Plot};
use super::{Roles, role, told};

/// Peak, fall and mean.
pub(super) fn draw(roles: &Roles) -> String {
    let (peak, mean, ramp, cycle) = (
        role(roles, "P_peak"),
        role(roles, "P_mean"),
        role(roles, "t_ramp"),
        role(roles, "t_cycle"),
    );
    let plot = Plot {
        title: "Power of the braking resistor over one cycle".to_owned(),
        words: format!(
            "From a peak of {} W to zero within {} s; mean over the cycle of {} s: {} W.",
            told(peak),
            told(ramp),
            told(cycle),
            told(mean)
        ),
        across: "time / s",
        up: "power / W",
        size: (cycle, peak),
        curves: vec![
            Curve {
                class: "c1",
                points: vec![(0.0, 0.0), (0.0, peak), (ramp, 0.0), (cycle, 0.0)],
                name: format!("power: peak {} W", told(peak)),
            },
            Curve {
                class: "c2",
                points: vec![(0.0, mean), (cycle, mean)],
                name: format!("mean over the cycle: {} W", told(mean)),
            },
        ],
        marks: Vec::new(),
    };
    plot.draw()
}
