//! A rest of noise alone: no movement is read into it, and one that is there is in the time.

use std::fmt::Write as _;

use standstill::diagnostic::{Diagnostic, Name, Place};
use standstill::recording::{Plan, Stop, judge, read};

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

/// What happens in a recording after the end of a ramp, which is at [`END`]; times from the command in s.
struct After {
    /// Height in r/min, from, until.
    moves: (f64, f64, f64),
    /// When torque comes back, when the command is taken back, when the next run begins.
    torque: f64,
    back: f64,
    runs: f64,
    counts: bool,
}

const END: f64 = 0.33;
const CALM: After =
    After { moves: (0.0, 9.0, 9.0), torque: 9.0, back: 9.0, runs: 9.0, counts: false };

impl After {
    /// Two stops in one file, each followed by this, with a pause of the recorder between them.
    fn recorded(&self, draw: &mut Draw) -> String {
        let mut text = "t / s;n;stop;torque\n".to_owned();
        let mut turned = 0.0;
        for stop in 0..2 {
            let mut t = -0.2 - 0.002 * draw.uniform();
            while t < 1.7 {
                let ramp = (N_0 * (1.0 - (t - 0.015) / (END - 0.015))).clamp(0.0, N_0);
                let (height, from, until) = self.moves;
                let again = if (from..until).contains(&t) { height } else { 0.0 };
                let next = N_0 * ((t - self.runs) / 0.3).clamp(0.0, 1.0);
                let speed = ramp + again + next;
                turned += speed / 60.0 * 0.002 * 65_536.0;
                let value = if self.counts {
                    f64::floor(turned).rem_euclid(16_777_216.0)
                } else {
                    speed + 0.5 * normal(draw)
                };
                let command = u8::from(t < 0.0 || t >= self.back);
                let torque = u8::from(t < 0.36 || t >= self.torque);
                writeln!(
                    text,
                    "{:.6};{value:.4};{command};{torque}",
                    t + 1.0 + 60.0 * f64::from(stop)
                )
                .unwrap();
                t += 0.002;
            }
        }
        text
    }

    /// How many stops are judged, or the problems, each with its time from the command.
    fn judged(&self, draw: &mut Draw) -> Result<usize, Vec<(Diagnostic, f64)>> {
        let text = self.recorded(draw);
        let speed = if self.counts {
            "position=n scale 1 r per 65536 counts wraps 16777216 counts"
        } else {
            "speed=n in r/min"
        };
        let words = [
            "a.csv", "time=t in s", speed, "stop=stop falls", "removed=torque falls",
            "standstill=10 r/min", "error=0 r/min", "filter=20 ms",
        ];
        let plan = Plan::read(None, &words.map(str::to_owned)).unwrap();
        let timed = |problem: &Diagnostic| {
            let Some(Place::Cell { row, .. }) = &problem.place else { panic!("{problem:?}") };
            let line = text.lines().nth(usize::try_from(*row).unwrap()).unwrap();
            let clock: f64 = line.split(';').next().unwrap().parse().unwrap();
            (problem.clone(), (clock - 1.0).rem_euclid(60.0))
        };
        let found = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text.clone()));
        let found = found.map_err(|it| it.into_vec().iter().map(timed).collect::<Vec<_>>())?;
        for stop in &found.stops {
            judge(stop, &plan).map_err(|it| it.iter().map(timed).collect::<Vec<_>>())?;
        }
        Ok(found.stops.len())
    }
}

/// Until the command is taken back a machine that stands goes on to stand, and torque stays away.
#[test]
fn what_moves_again_while_the_stop_is_commanded_is_an_error_with_its_cell() {
    let mut draw = Draw(0x5eed_0018_2026_1130);
    for counts in [false, true] {
        for moves in [
            (15.0, 0.6, 9.0),
            (12.0, 0.65, 9.0),
            (-15.0, 0.9, 9.0),
            (19.0, 0.8, 0.97),
            (-12.0, 0.7, 0.8),
            (100.0, 1.0, 1.02),
            (300.0, 0.7, 0.71),
            (40.0, 1.2, 1.25),
            (1400.0, 1.2, 1.25),
        ] {
            let found = After { moves, counts, ..CALM }.judged(&mut draw);
            let problems = found.expect_err(&format!("{moves:?} {counts}"));
            assert_eq!(problems.len(), 2, "{moves:?} {counts}: {problems:?}");
            for (problem, at) in problems {
                assert_eq!(problem.name, Name::NoStandstill, "{moves:?} {counts}");
                assert!(problem.headline.contains("moves again"), "{}", problem.headline);
                assert!((at - moves.1).abs() < 0.021, "{moves:?} {counts}: {at}");
            }
        }
    }
    for torque in [0.7, 1.0, 1.6] {
        for moves in [CALM.moves, (15.0, torque + 0.1, 9.0)] {
            let found = After { torque, moves, ..CALM }.judged(&mut draw);
            let problems = found.expect_err(&format!("{torque}"));
            assert_eq!(problems.len(), 2, "{torque}: {problems:?}");
            for (problem, at) in problems {
                assert_eq!(problem.name, Name::UnfitRecording, "{torque}");
                assert!(problem.headline.contains("torque comes back"), "{}", problem.headline);
                assert!((at - torque).abs() < 0.003, "{torque}: {at}");
            }
        }
    }
}

/// What follows the command that is taken back is no part of the stop, nor is what noise makes of a rest.
#[test]
fn what_follows_the_command_that_is_taken_back_is_no_movement() {
    let mut draw = Draw(0x5eed_0018_2026_1201);
    for counts in [false, true] {
        for (what, after) in [
            ("to the end", CALM),
            ("below the threshold", After { moves: (8.0, 0.7, 1.2), ..CALM }),
            ("taken back", After { back: 0.8, ..CALM }),
            ("runs again", After { torque: 0.8, back: 0.8, runs: 0.82, ..CALM }),
            ("runs at once", After { torque: 0.8, back: 0.8, runs: 0.8, ..CALM }),
            ("torque is seen first", After { torque: 0.79, back: 0.8, runs: 0.82, ..CALM }),
        ] {
            let found = After { counts, ..after }.judged(&mut draw);
            assert_eq!(found.map_err(|it| format!("{it:?}")), Ok(2), "{what}, counts: {counts}");
        }
    }
}

/// A machine that moves to the end of its recording, in a file of many: nobody took the command back.
#[test]
fn a_recording_that_ends_before_standstill_says_so_also_before_the_next_one() {
    let mut draw = Draw(0x5eed_0018_2026_1202);
    let after = After { moves: (15.0, 0.45, 9.0), ..CALM };
    let problems = after.judged(&mut draw).unwrap_err();
    // what is left open at the end of the file is asked of a file that is right else
    assert_eq!(problems.len(), 1, "{problems:?}");
    for (problem, at) in problems {
        let words = "the recording ends before the machine has stood long enough";
        assert!(problem.headline.starts_with(words) && at < 0.01, "{at} {}", problem.headline);
    }
}
