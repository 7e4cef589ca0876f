//! Creeps of a step or a count, channels that read no low speeds, rounded ramps: recordings made from speeds that are
//! known, so that the true time is known (kinematics).

use std::fmt::Write as _;

use standstill::diagnostic::Name;
use standstill::recording::{Plan, Stop, judge, read};

use super::{OneFile, WORDS};

const N_0: f64 = 1450.0;
const SAMPLING: f64 = 2e-3;

/// How a speed is written: as it is, in steps, with a least speed that is read, or as counts of 4096 a turn.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Channel {
    Steps(f64),
    From(f64),
    Counts,
}

/// Judges the recording of a speed in r/min over the time from the command in s.
fn judged(speed: &dyn Fn(f64) -> f64, channel: Channel, more: &[&str]) -> Result<Stop, Vec<Name>> {
    let mut text = "t / s;n;stop;torque\n".to_owned();
    let (mut k, mut turned, mut seed) = (-150.0_f64, 0.0, 7_u64);
    while k < 2000.0 {
        let t = (k + 0.3) * SAMPLING;
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let noise = f64::from(u32::try_from(seed >> 40).unwrap()) / f64::from(1 << 24) - 0.5;
        turned += speed(t) / 60.0 * SAMPLING;
        let value = match channel {
            Channel::Steps(step) => ((speed(t) + noise) / step).round() * step,
            Channel::From(least) if speed(t) < least => 0.0,
            Channel::From(_) => speed(t) + noise,
            Channel::Counts => (turned * 4096.0).floor(),
        };
        writeln!(text, "{:.5};{value:.4};{};1", t + 1.0, u8::from(t < 0.0)).unwrap();
        k += 1.0;
    }
    let read_as = match channel {
        Channel::Counts => "position=n scale 1 r per 4096 counts",
        _ => "speed=n in r/min",
    };
    let own = ["a.csv", "time=t in s", read_as, "filter=8 ms"];
    let key = |word: &str| word.split('=').next().unwrap().to_owned();
    let is_said = |word: &&&str| {
        key(word) == "speed" || own.iter().chain(more).any(|it| key(it) == key(word))
    };
    let kept = WORDS.iter().filter(|word| !is_said(word));
    let words = own.iter().chain(kept).chain(more).map(|it| (*it).to_owned());
    let plan = Plan::read(None, &words.collect::<Vec<_>>()).unwrap();
    let names =
        |all: Vec<standstill::diagnostic::Diagnostic>| all.iter().map(|it| it.name).collect();
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text))
        .map_err(|it| names(it.into_vec()))?;
    judge(&file.stops[0], &plan).map_err(names)
}

/// A ramp of 0.3 s down to a creep, for so long.
fn creeping(creep: f64, long: f64) -> impl Fn(f64) -> f64 {
    move |t| {
        let ramp = N_0 * (1.0 - ((t - 0.02) / 0.3).clamp(0.0, 1.0));
        if t < 0.32 + long { ramp.max(creep) } else { ramp }
    }
}

/// A creep of a step of the recorder, or of less than a count a sample, is as long a part of the stop as any other:
/// it is in the time, or the recording is refused. It is never taken for noise.
#[test]
fn a_creep_of_a_step_or_of_some_counts_is_part_of_the_stop() {
    let (mut measured, mut refused) = (0, 0);
    for (channel, creeps) in [
        (Channel::Steps(1.0), [1.0, 2.0, 3.0, 6.0]),
        (Channel::Steps(2.0), [2.0, 3.0, 4.0, 6.0]),
        (Channel::Steps(5.0), [4.0, 5.0, 6.0, 8.0]),
        (Channel::Steps(10.0), [7.0, 10.0, 12.0, 14.0]),
        (Channel::Counts, [1.0, 2.0, 3.0, 5.0]),
    ] {
        for creep in creeps {
            for long in [0.1, 0.19, 0.4, 1.0, 9.0] {
                for hold in ["hold=200 ms", "hold=800 ms"] {
                    let standstill = if channel == Channel::Steps(10.0) {
                        "standstill=25 r/min"
                    } else {
                        "standstill=15 r/min"
                    };
                    match judged(&creeping(creep, long), channel, &[hold, standstill]) {
                        Ok(stop) => {
                            let latest = stop.time.value + stop.time.u;
                            assert!(
                                latest > 0.32 + long,
                                "{channel:?} {creep} {long} {hold}: {:?}",
                                stop.time
                            );
                            measured += 1;
                        }
                        Err(names) => {
                            assert!(
                                names.iter().all(|it| matches!(
                                    it,
                                    Name::UnfitRecording | Name::NoStandstill
                                )),
                                "{names:?}"
                            );
                            refused += 1;
                        }
                    }
                }
            }
        }
    }
    assert!(measured > 40 && refused > 40, "{measured} measured, {refused} refused");
}

/// A channel that reads nothing below a least speed shows no standstill: whether the machine stands at once or creeps
/// on, it looks the same. One that reads all of it is measured.
#[test]
fn a_channel_that_reads_no_low_speeds_is_refused() {
    for creep in [0.0, 25.0, 90.0] {
        for least in [30.0, 60.0, 100.0, 200.0] {
            let found = judged(&creeping(creep, 0.5), Channel::From(least), &[]);
            assert!(
                found.as_ref().is_err_and(|it| it.contains(&Name::UnfitRecording)),
                "{creep} {least}: {found:?}"
            );
        }
    }
    let stop = judged(&creeping(0.0, 0.0), Channel::From(0.0), &[]).unwrap();
    assert!((stop.time.value - 0.32).abs() <= stop.time.u, "{:?}", stop.time);
}

/// A creep that ends from one sample to the next: a channel that reads low speeds, as is said or as counts do, shows when
/// it ends; one of which that is not known does not.
#[test]
fn a_creep_that_ends_at_once_is_measured_where_low_speeds_are_read() {
    for creep in [20.0, 40.0] {
        for long in [0.1, 0.3] {
            let truth = 0.32 + long;
            let said = |channel, more: &[&str]| judged(&creeping(creep, long), channel, more);
            let unknown = said(Channel::Steps(0.1), &[]);
            assert!(unknown.as_ref().is_err_and(|it| it == &[Name::UnfitRecording]), "{unknown:?}");
            for stop in [
                said(Channel::Steps(0.1), &["least=0.5 r/min"]),
                said(Channel::From(0.0), &["least=0 r/min"]),
                said(Channel::Counts, &[]),
            ] {
                let time = stop.unwrap().time;
                assert!((time.value - truth).abs() <= time.u, "{creep} {long}: {time:?}");
                assert!(time.u < 0.015, "{creep} {long}: {time:?}");
            }
        }
    }
}

/// A channel that reads nothing below a speed above `standstill`: either the fall is seen, or the lowest speed that the
/// samples show says so.
#[test]
fn samples_show_no_lower_speed_than_the_channel_reads() {
    let mut shown = 0;
    for least in [0.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 50.0] {
        for rate in [0.5, 1.0, 3.0] {
            // the ramp, and from the least speed on a way down of another slope
            let speed = |t: f64| {
                let ramp = N_0 * (1.0 - (t - 0.02).max(0.0) / 0.3).min(1.0);
                if ramp >= least { ramp } else { (least + (ramp - least) * rate).max(0.0) }
            };
            if let Ok(stop) = judged(&speed, Channel::From(least), &["standstill=9 r/min"]) {
                let found = stop.lowest * 30.0 / std::f64::consts::PI;
                assert!(found > least, "{least}: {found}");
                assert!(least > 0.0 || found < 12.0, "{found}");
                shown += 1;
            }
        }
    }
    assert!(shown >= 9, "{shown}");
}

/// A rounded ramp: the share f of its time at each end is of constant jerk (kinematics). Response and slope are those of
/// the setting.
#[test]
fn a_rounded_ramp_gives_the_ramp_time_that_is_set() {
    let (begins, ramp) = (0.02, 0.4);
    for (f, said) in
        [(0.0, "f=0 %"), (0.05, "f=5 %"), (0.1, "f=10 %"), (0.2, "f=20 %"), (0.35, "f=35 %")]
    {
        let speed = move |t: f64| {
            let x = ((t - begins) / ramp).clamp(0.0, 1.0);
            let peak = 1.0 / (1.0 - f);
            let fallen =
                |x: f64| if x < f { peak * x * x / (2.0 * f) } else { peak * (x - f / 2.0) };
            N_0 * if x <= 1.0 - f { 1.0 - fallen(x) } else { fallen(1.0 - x) }
        };
        let stop = judged(&speed, Channel::From(0.0), &[said]).unwrap();
        let slope = stop.slope.unwrap();
        let set = N_0 * std::f64::consts::PI / 30.0 / ramp;
        let near = slope.u + 0.002 * set;
        assert!((slope.value - set).abs() < near, "{f}: {slope:?}, {set}");
        let response = stop.response.unwrap();
        let near = response.u + 0.001;
        assert!((response.value - begins).abs() < near, "{f}: {response:?}");
    }
}

/// A drop of the channel behind a filter of the recorder looks as a brake does: what such an end shows is no low speed.
#[test]
fn a_smoothed_drop_shows_no_low_speeds() {
    for (least, tau) in [(60.0, 2e-3), (60.0, 3e-3), (100.0, 2e-3), (100.0, 3e-3), (200.0, 3e-3)] {
        // the ramp read down to `least` at `gone`; from there the filter forgets what it held
        let gone = 0.02 + 0.3 * (1.0 - least / N_0);
        let speed = |t: f64| {
            let ramp = N_0 * (1.0 - (t - 0.02).max(0.0) / 0.3).min(1.0);
            if t < gone { ramp } else { least * (-(t - gone) / tau).exp() }
        };
        if let Ok(stop) = judged(&speed, Channel::From(0.0), &[]) {
            let found = stop.lowest * 30.0 / std::f64::consts::PI;
            assert!(found > 12.0, "{least} {tau}: {found}");
        }
    }
    // a rounded end, and one that flattens, are no drops
    for end in [0.1, 0.2] {
        let speed = |t: f64| {
            let ramp = N_0 * (1.0 - (t - 0.02).max(0.0) / 0.3);
            let bend = N_0 / 0.3 * end / 2.0;
            if ramp > bend {
                ramp
            } else {
                let left = (1.0 - (bend - ramp) / (2.0 * bend)).max(0.0);
                bend * left * left
            }
        };
        let stop = judged(&speed, Channel::From(0.0), &[]).unwrap();
        assert!(stop.lowest * 30.0 / std::f64::consts::PI < 12.0, "{end}: {}", stop.lowest);
    }
}

/// A creep of less than half a step shows now and then: it is in the uncertainty where it ends before `hold` does, and
/// where it does not, samples a step above rest and none below say so.
#[test]
fn a_creep_that_steps_show_now_and_then_is_in_the_uncertainty_or_named() {
    let mut short = Vec::new();
    for creep in [0.2, 0.3, 0.4] {
        for long in [0.05, 0.1, 0.15] {
            let found = judged(&creeping(creep, long), Channel::Steps(1.0), &["hold=500 ms"]);
            let time = found.unwrap().time;
            if time.value + time.u < 0.32 + long {
                short.push((creep, long, time));
            }
        }
        let stop = judged(&creeping(creep, 9.0), Channel::Steps(1.0), &[]).unwrap();
        let [ahead, back] = stop.flickers;
        assert!(ahead >= 5 && ahead > 4 * back, "{creep}: {ahead} {back}");
    }
    // it goes on for more than three times what lies between two such samples in one of twenty
    assert!(
        short.len() < 3 && short.iter().all(|it| it.2.value + it.2.u > 0.3 + it.1),
        "{short:?}"
    );
    let stop = judged(&creeping(0.0, 0.0), Channel::Steps(1.0), &[]).unwrap();
    assert!(stop.flickers == [0, 0] && stop.time.u < 0.01, "{stop:?}");
}

/// One sample, or some, far off the way down: refused with the cell of the first of them.
#[test]
fn a_disturbed_sample_is_refused_wherever_it_stands() {
    for at in [0.05, 0.1, 0.2, 0.25, 0.29] {
        for long in [0.5, 2.5, 5.5] {
            for value in [0.0, 300.0, 900.0, 1450.0, 1900.0, -400.0] {
                let ramp = creeping(0.0, 0.0);
                if (value - ramp(at)).abs() < 150.0 {
                    continue;
                }
                let begins = (at / SAMPLING).floor() * SAMPLING;
                let speed = |t: f64| {
                    let off = t >= begins && t < begins + long * SAMPLING;
                    if off { value } else { ramp(t) }
                };
                let found = judged(&speed, Channel::Steps(0.1), &[]);
                assert!(
                    found
                        .as_ref()
                        .is_err_and(|it| it.contains(&Name::UnfitRecording)
                            || it.contains(&Name::NoStandstill)),
                    "{at} {long} {value}: {found:?}"
                );
            }
        }
    }
}

/// A ramp whose end a controller lets creep, e to the power of −t/τ from a share of the speed on, at the slope of the ramp:
/// below a tenth of the speed, where no line is taken any more, it leaves slope and response as they are.
#[test]
fn a_controller_that_creeps_below_a_tenth_of_the_speed_bends_no_ramp() {
    let (begins, ramp) = (0.02, 0.3);
    for share in [0.0, 0.02, 0.04, 0.06, 0.08] {
        let (bend, tau) = (begins + ramp * (1.0 - share), share * ramp);
        let speed = move |t: f64| {
            let straight = N_0 * (1.0 - (t - begins).max(0.0) / ramp);
            let creeps = share * N_0 * (-(t - bend) / tau.max(1e-9)).exp();
            if t < bend { straight } else { creeps }
        };
        let stop = judged(&speed, Channel::From(0.0), &["hold=400 ms"]).unwrap();
        let (slope, response) = (stop.slope.unwrap(), stop.response.unwrap());
        let set = N_0 * std::f64::consts::PI / 30.0 / ramp;
        assert!((slope.value - set).abs() <= slope.u, "{share}: {slope:?}, {set}");
        assert!((response.value - begins).abs() <= response.u, "{share}: {response:?}");
        assert!(stop.time.value + stop.time.u > begins + ramp, "{share}: {:?}", stop.time);
    }
}

/// A standard normal number of a seed (Box and Muller).
fn normal(seed: &mut u64) -> f64 {
    let mut even = || {
        *seed =
            seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (f64::from(u32::try_from(*seed >> 40).unwrap()) + 0.5) / f64::from(1 << 24)
    };
    (-2.0 * even().ln()).sqrt() * (std::f64::consts::TAU * even()).cos()
}

/// Judges the recording of a speed with noise, in samples that lie so far apart.
fn judged_in_noise(
    speed: &dyn Fn(f64) -> f64,
    (sampling, noise, step): (f64, f64, f64),
    seed: &mut u64,
    more: &[&str],
) -> Result<Stop, Vec<Name>> {
    let mut text = "t / s;n;stop;torque\n".to_owned();
    let phase = (normal(seed) * 7.3).rem_euclid(1.0);
    let mut t = -40.0 * sampling - phase * sampling;
    while t < 1.6 + 60.0 * sampling {
        let value = speed(t) + noise * normal(seed);
        let value = if step > 0.0 { (value / step).round() * step } else { value };
        writeln!(text, "{:.5};{value:.4};{};1", t + 3.0, u8::from(t < 0.0)).unwrap();
        t += sampling;
    }
    let own = ["a.csv", "time=t in s", "speed=n in r/min"];
    let key = |word: &str| word.split('=').next().unwrap().to_owned();
    let is_said = |word: &&&str| own.iter().chain(more).any(|it| key(it) == key(word));
    let kept = WORDS.iter().filter(|word| !is_said(word));
    let words = own.iter().chain(kept).chain(more).map(|it| (*it).to_owned());
    let plan = Plan::read(None, &words.collect::<Vec<_>>()).unwrap();
    let names =
        |all: Vec<standstill::diagnostic::Diagnostic>| all.iter().map(|it| it.name).collect();
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text))
        .map_err(|it| names(it.into_vec()))?;
    judge(&file.stops[0], &plan).map_err(names)
}

/// A creep of a quarter of `standstill` or more, in noise, steps and coarse samples: it is in the uncertainty, or the
/// recording is refused; and a stop without one is hardly less certain for it. Just at a quarter one of a hundred may pass.
#[test]
fn a_creep_in_noise_is_in_the_uncertainty() {
    let mut seed = 11;
    let (mut measured, mut short, mut plain) = (0, Vec::new(), Vec::new());
    for sampling in [0.002, 0.005, 0.01] {
        for noise in [0.2, 1.0, 2.0, 4.0] {
            for step in [0.0, 1.0, 5.0] {
                for creep in [0.0, 3.75, 5.25, 7.5, 12.0, 20.0] {
                    for long in [0.08, 0.2, 0.4].into_iter().take(if creep > 0.0 { 3 } else { 1 }) {
                        let long = if creep > 0.0 { long } else { 0.0 };
                        let recorded = (sampling, noise, step);
                        let more = ["standstill=15 r/min", "filter=20 ms", "hold=600 ms"];
                        let speed = creeping(creep, long);
                        let Ok(stop) = judged_in_noise(&speed, recorded, &mut seed, &more) else {
                            continue;
                        };
                        measured += 1;
                        if 0.32 + long > stop.time.value + stop.time.u {
                            short.push((recorded, creep, long, stop.time));
                        }
                        if creep == 0.0 {
                            plain.push(stop.time.u);
                        }
                    }
                }
            }
        }
    }
    assert!(short.len() * 100 < measured && short.iter().all(|it| it.1 == 3.75), "{short:?}");
    assert!(measured > 200 && plain.len() > 20, "{measured} {}", plain.len());
    plain.sort_by(f64::total_cmp);
    let [middle, most] = [plain.len() / 2, plain.len() * 9 / 10].map(|at| plain[at]);
    assert!(middle < 0.01 && most < 0.05, "{plain:?}");
}
