//! Contacts of the stop command, and of what removes torque, that bounce: made by rule, with the true time known.

use std::fmt::Write as _;

use standstill::diagnostic::Diagnostic;
use standstill::recording::{Stop, judge, read};

use super::{OneFile, plan};

const N_0: f64 = 1450.0;

/// Pulses after an edge at 0: from when to when the contact is away, in ms.
type Away = &'static [(f64, f64)];

/// A ramp of 0.3 s from 20 ms after the command; contacts that are away now and then, and a command that is given up at
/// 0.9 s, with the same bounce.
fn recorded(command: Away, torque: Away, sampling: f64) -> String {
    let on = |t: f64, away: Away| {
        t >= 0.0 && !away.iter().any(|(from, to)| t >= from * 1e-3 && t < to * 1e-3)
    };
    let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
    let mut seed = 3_u64;
    let mut k = -0.3 / sampling;
    while k * sampling < 1.3 {
        let t = (k + 0.4) * sampling;
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let noise = f64::from(u32::try_from(seed >> 40).unwrap()) / f64::from(1 << 24) - 0.5;
        let n = N_0 * (1.0 - ((t - 0.02) / 0.3).clamp(0.0, 1.0)) + noise;
        let stop = on(t, command) && !on(t - 0.9, command);
        writeln!(
            text,
            "{:.6};{n:.3};{};{}",
            t + 1.0,
            u8::from(!stop),
            u8::from(!on(t - 0.4, torque))
        )
        .unwrap();
        k += 1.0;
    }
    text
}

fn judged(command: Away, torque: Away, sampling: f64) -> Result<Stop, Vec<String>> {
    let names = |all: Vec<Diagnostic>| all.iter().map(|it| it.headline.clone()).collect();
    let plan = plan("a.csv", &["time=t in s", "standstill=20 r/min"]);
    let file = OneFile::new("a.csv", recorded(command, torque, sampling));
    let file = read(&plan.recordings[0], &plan, &file).map_err(|it| names(it.into_vec()))?;
    assert_eq!(file.stops.len(), 1, "a bounce is no second stop");
    judge(&file.stops[0], &plan).map_err(names)
}

#[test]
fn the_first_edge_of_a_contact_that_bounces_counts() {
    let bounces: [Away; 4] = [
        &[(1.0, 3.0)],
        &[(2.2, 3.4), (4.5, 6.8), (8.0, 9.1)],
        &[(3.0, 15.0)],
        &[(2.0, 9.0), (11.0, 28.0)],
    ];
    for sampling in [0.0001, 0.0005, 0.001, 0.002] {
        for away in bounces {
            let what = format!("{away:?} every {sampling} s");
            let stop = judged(away, away, sampling).unwrap_or_else(|it| panic!("{what}: {it:?}"));
            let what = format!("{what}: {stop:?}");
            assert!((stop.time.value - 0.32).abs() <= stop.time.u, "{what}");
            let response = stop.response.unwrap();
            assert!((response.value - 0.02).abs() <= response.u, "{what}");
            // torque may have gone at any edge of its contact
            let last = away.last().unwrap().1 * 1e-3;
            let delay = stop.delay.unwrap();
            assert!(delay.value - delay.u <= 0.4 && delay.value + delay.u >= 0.4, "{what}");
            let seen = away.iter().any(|(from, to)| to - from >= 1e3 * sampling);
            if seen {
                assert!(stop.bounced > 0.0 && stop.bounced <= last + 2.0 * sampling, "{what}");
            }
        }
        assert_eq!(judged(&[], &[], sampling).unwrap().bounced, 0.0);
    }
}

#[test]
fn a_command_that_is_taken_back_is_no_bounce() {
    let taken: [Away; 4] =
        [&[(5.0, 40.0)], &[(100.0, 110.0)], &[(60.0, 400.0)], &[(1.0, 2.0), (30.0, 75.0)]];
    for sampling in [0.0005, 0.001, 0.002] {
        for away in taken {
            assert!(judged(away, &[], sampling).is_err(), "{away:?} every {sampling} s");
            let torque = judged(&[], away, sampling);
            assert!(torque.is_err() || away == taken[1], "{away:?} every {sampling} s: {torque:?}");
        }
    }
}
