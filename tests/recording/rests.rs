//! A rest of noise alone: no movement is read into it, and one that is there is in the time.

use std::fmt::Write as _;

use standstill::recording::{Stop, judge, read};

use super::simulated::Draw;
use super::{OneFile, plan};

const N_0: f64 = 1450.0;

/// Noise whose tail is that of the normal distribution: by two even values (Box and Muller).
fn normal(draw: &mut Draw) -> f64 {
    let (a, b) = (draw.uniform().max(1e-12), draw.uniform());
    (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

/// A recording of a speed in r/min over the time from the command in s.
fn judged(
    speed: &dyn Fn(f64) -> f64,
    end: f64,
    (sampling, noise): (f64, f64),
    filter: &str,
    draw: &mut Draw,
) -> Option<Stop> {
    let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
    let mut t = -0.15 - sampling * draw.uniform();
    while t < end {
        let n = speed(t) + noise * normal(draw);
        writeln!(text, "{:.6};{n:.5};{};{}", t + 1.0, u8::from(t < 0.0), u8::from(t < 0.36))
            .unwrap();
        t += sampling;
    }
    let plan = plan("a.csv", &["time=t in s", filter]);
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text)).unwrap();
    judge(&file.stops[0], &plan).ok()
}

/// Down within `0.32 s` by a ramp, or from 0.36 s on by friction.
fn down(ramp: bool) -> (f64, Box<dyn Fn(f64) -> f64>) {
    if ramp {
        (0.33, Box::new(|t: f64| (N_0 * (1.0 - (t - 0.015) / 0.315)).clamp(0.0, N_0)))
    } else {
        (1.26, Box::new(|t: f64| (N_0 * (1.0 - (t - 0.36) / 0.9)).clamp(0.0, N_0)))
    }
}

/// Noise at rest, of many stops: none is taken for a movement, nor for a way back.
#[test]
fn a_rest_of_noise_is_no_movement() {
    let mut draw = Draw(0x5eed_0016_2026_1130);
    for (sampling, noise, filter, many) in [
        (0.004, 0.5, "filter=8 ms", 60),
        (0.005, 0.7, "filter=20 ms", 60),
        (0.002, 2.0, "filter=8 ms", 20),
    ] {
        for ramp in [true, false] {
            let (truth, speed) = down(ramp);
            for _ in 0..many {
                let stop = judged(&speed, truth + 0.8, (sampling, noise), filter, &mut draw);
                let stop = stop.unwrap_or_else(|| panic!("{sampling} {noise} {ramp}"));
                let time = stop.time;
                assert!(time.u < 0.06, "{sampling} {noise} {ramp}: {time:?}");
                assert!(time.value + time.u > truth - 0.001, "{sampling} {noise} {ramp}: {time:?}");
                assert!(stop.rebound.is_none(), "{sampling} {noise} {ramp}: {:?}", stop.rebound);
            }
        }
    }
}

/// A second movement after a rest, or a creep: where it is more than noise, it is in the time.
#[test]
fn a_movement_after_a_rest_is_in_the_time() {
    let mut draw = Draw(0x5eed_0016_2026_1201);
    for (height, long) in [(8.0, 0.02), (4.0, 0.03), (2.5, 0.08), (-8.0, 0.02), (-4.0, 0.03)] {
        for after in [0.0, 0.05, 0.15] {
            let (truth, first) = down(true);
            let begins = truth + after;
            let speed = move |t: f64| {
                let again = if (begins..begins + long).contains(&t) { height } else { 0.0 };
                first(t) + again
            };
            let stop = judged(&speed, truth + 1.0, (0.002, 0.5), "filter=8 ms", &mut draw);
            // refused is a word as well
            let Some(stop) = stop else { continue };
            let time = stop.time;
            assert!(
                time.value + time.u > begins + long - 0.004,
                "{height} {long} {after}: {time:?}"
            );
        }
    }
}
