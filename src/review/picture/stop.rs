//! Speed over time: ramp, delay, removal of torque, run-down.

use super::plot::{Curve, Plot};
use super::{Roles, role, told};

/// Steps of speed in which a run-down is followed.
const STEPS: u32 = 24;

/// r/min in one rad/s, as the page shows speeds.
const RPM: f64 = 30.0 / std::f64::consts::PI;

/// A run-down from a speed, beginning at a time and ending at another.
fn run_down(roles: &Roles, from: f64, start: f64, end: f64) -> Vec<(f64, f64)> {
    let get = |name| role(roles, name);
    let rest = get("n_end").min(from);
    let torque = |w: f64| get("T_0") + get("T_load") + get("b") * w + get("c") * w * w;
    let mut points = vec![(0.0, from)];
    let mut time = 0.0;
    if get("b") == 0.0 && get("c") == 0.0 {
        points.push((1.0, rest));
        time = 1.0;
    } else {
        let part = (from - rest) / f64::from(STEPS);
        for step in 0..STEPS {
            let high = from - part * f64::from(step);
            let low = high - part;
            // Simpson's rule on J/T
            let inverse = |w: f64| get("J") / torque(w).max(1e-12);
            time += part / 6.0 * (inverse(high) + 4.0 * inverse(high - part / 2.0) + inverse(low));
            points.push((time, low));
        }
    }
    let scale = if time > 0.0 { (end - start) / time } else { 0.0 };
    points.into_iter().map(|(t, w)| (start + t * scale, w * RPM)).collect()
}

/// The stop with a ramp that works, with one that fails, and with torque removed at once.
pub(super) fn draw(roles: &Roles) -> String {
    let get = |name| role(roles, name);
    let (n_0, before, cut, ramp, f) =
        (get("n_0"), get("t_before"), get("t_cut"), get("t_ramp"), get("f"));
    let done = get("x");
    let mut works = vec![(0.0, n_0 * RPM), (before, n_0 * RPM)];
    let parts = if f > 0.0 { 24 } else { 1 };
    for part in 1..=parts {
        let x = done * f64::from(part) / f64::from(parts);
        works.push((before + ramp * x, n_0 * left(x, f) * RPM));
    }
    // a run-down that is left begins where the ramp was cut
    if get("n_left") * RPM > 0.001 * n_0 * RPM {
        works.extend(run_down(roles, get("n_left"), cut, get("t_works")));
    }
    let mut fails = vec![(0.0, n_0 * RPM)];
    fails.extend(run_down(roles, n_0, get("t_late"), get("t_fails")));
    let released = run_down(roles, n_0, 0.0, get("t_release"));
    let last = get("t_works").max(get("t_fails")).max(get("t_release"));
    let plot = Plot {
        title: "Speed over time in a stop".to_owned(),
        words: format!(
            "From {} r/min: with a ramp that works standstill after {} s; with a ramp that fails after {} s; with torque removed at once after {} s. Torque is removed between {} s and {} s.",
            told(n_0 * RPM),
            told(get("t_works")),
            told(get("t_fails")),
            told(get("t_release")),
            told(get("t_early")),
            told(get("t_late"))
        ),
        across: "time / s",
        up: "motor speed / (r/min)",
        size: (last, n_0 * RPM),
        curves: vec![
            Curve {
                class: "c1",
                points: works,
                name: format!("ramp works: stands after {} s", told(get("t_works"))),
            },
            Curve {
                class: "c2",
                points: fails,
                name: format!(
                    "ramp fails, full speed until torque goes: stands after {} s",
                    told(get("t_fails"))
                ),
            },
            Curve {
                class: "c3",
                points: released,
                name: format!("torque removed at once: stands after {} s", told(get("t_release"))),
            },
        ],
        marks: vec![(
            get("t_late"),
            format!("torque removed, {} s to {} s", told(get("t_early")), told(get("t_late"))),
        )],
    };
    plot.draw()
}

/// Part of the speed that is left on a ramp of which a part is done; a share f at each end is rounded.
///
/// Source: constant jerk integrated twice (derivation).
fn left(x: f64, f: f64) -> f64 {
    if f > 0.0 && x < f {
        1.0 - x * x / (2.0 * f * (1.0 - f))
    } else if x <= 1.0 - f {
        1.0 - (x - f / 2.0) / (1.0 - f)
    } else {
        (1.0 - x) * (1.0 - x) / (2.0 * f * (1.0 - f))
    }
}

/// A run-down alone.
pub(super) fn draw_run_down(roles: &Roles) -> String {
    let (n_0, t) = (role(roles, "n_0"), role(roles, "t_release"));
    let plot = Plot {
        title: "Speed over time in a run-down".to_owned(),
        words: format!(
            "From {} r/min to {} r/min in {} s.",
            told(n_0 * RPM),
            told(role(roles, "n_end") * RPM),
            told(t)
        ),
        across: "time / s",
        up: "speed / (r/min)",
        size: (t, n_0 * RPM),
        curves: vec![Curve {
            class: "c1",
            points: run_down(roles, n_0, 0.0, t),
            name: format!("torque removed at once: {} s", told(t)),
        }],
        marks: Vec::new(),
    };
    plot.draw()
}
