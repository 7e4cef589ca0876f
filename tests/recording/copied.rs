//! A stop that counts twice, its samples made anew in between, and real pairs that share all but their noise.

use std::fmt::Write as _;

use std::path::{Path, PathBuf};

use standstill::diagnostic::{Diagnostic, Name};
use standstill::environment::Environment;
use standstill::recording::{Plan, Protocol};

use super::plan;

/// A plain generator, the same everywhere.
struct Draw(u64);

impl Draw {
    fn uniform(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }

    /// Nearly normal, of standard deviation 1.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// What a recorder adds to the speed: noise, how much of it stays from sample to sample, ripples, steps.
#[derive(Clone, Copy, Debug, Default)]
struct Adds {
    noise: f64,
    stays: f64,
    /// Frequency and size.
    ripples: [(f64, f64); 2],
    /// Waves a turn, and size at full speed.
    of_the_shaft: (f64, f64),
    step: f64,
}

/// A stop as time from the command in ms and speed in r/min, every millisecond.
fn stop(adds: &Adds, draw: &mut Draw) -> Vec<(f64, f64)> {
    let (response, ramp) = (15.0 + 10.0 * draw.uniform(), 300.0 + 9.0 * draw.uniform());
    let phases =
        [draw.uniform(), draw.uniform(), draw.uniform()].map(|it| it * std::f64::consts::TAU);
    let late = draw.uniform();
    let (mut kept, mut turned) = (0.0, 0.0);
    let row = |k: i32| {
        let t = f64::from(k) - 400.0 + late;
        let n = 1450.0 * (1.0 - ((t - response) / ramp).clamp(0.0, 1.0));
        turned += n / 60e3;
        kept = adds.stays * kept + adds.noise * draw.normal();
        let wave = |(hertz, size): (f64, f64), phase: f64| {
            size * (std::f64::consts::TAU * hertz * t / 1e3 + phase).sin()
        };
        let [one, other] = adds.ripples;
        let (waves, size) = adds.of_the_shaft;
        let shaft = size * n / 1450.0 * (std::f64::consts::TAU * waves * turned + phases[2]).sin();
        let n = n + kept + wave(one, phases[0]) + wave(other, phases[1]) + shaft;
        (t, if adds.step > 0.0 { (n / adds.step).round() * adds.step } else { n })
    };
    (0..1000).map(row).collect()
}

/// Files in memory.
struct Files(Vec<(&'static str, String)>);

impl Environment for Files {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        let found = self.0.iter().find(|it| Path::new(it.0) == path);
        let text = found.map(|it| it.1.clone().into_bytes());
        text.ok_or_else(|| Diagnostic::error(Name::UnreadableFile, "no such file"))
    }

    fn replace(&self, _: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        unreachable!("nothing is written")
    }

    fn canonical(&self, path: &Path) -> Option<PathBuf> {
        Some(path.to_owned())
    }
}

/// Stops a minute apart, as a recorder writes them.
fn recorded(stops: &[Vec<(f64, f64)>]) -> String {
    let mut text = "t / ms;n / (r/min);stop;torque\n".to_owned();
    let mut clock = 1000.0;
    for stop in stops {
        for (t, n) in stop {
            let (stop, torque) = (u8::from(*t < 0.0), u8::from(*t < 360.0));
            writeln!(text, "{:.4};{n:.5};{stop};{torque}", clock + t).unwrap();
        }
        clock += 60_000.0;
    }
    text
}

/// The problems of a file of stops.
fn problems(stops: &[Vec<(f64, f64)>]) -> Vec<Name> {
    problems_of(&plan("a.csv", &["standstill=30 r/min"]), vec![("a.csv", recorded(stops))])
}

fn problems_of(plan: &Plan, files: Vec<(&'static str, String)>) -> Vec<Name> {
    match Protocol::make(plan, &[], &Files(files)) {
        Ok(_) => Vec::new(),
        Err(problems) => problems.into_vec().iter().map(|it| it.name).collect(),
    }
}

fn kinds() -> Vec<Adds> {
    let white = Adds { noise: 1.0, ..Adds::default() };
    vec![
        white,
        Adds { step: 0.5, ..white },
        Adds { noise: 0.5, stays: 0.9, ..white },
        Adds { ripples: [(24.2, 2.0), (0.0, 0.0)], ..white },
        Adds { ripples: [(300.0, 5.0), (100.0, 3.0)], ..white },
        Adds { of_the_shaft: (6.0, 3.0), ..white },
        // ripple, or steps, and hardly any noise
        Adds { noise: 0.05, ripples: [(150.0, 5.0), (0.0, 0.0)], ..white },
        Adds { noise: 0.2, step: 3.0, ..white },
    ]
}

/// False alarms: none among 1 520 pairs of stops that share speed, ramp, ripple and steps.
#[test]
fn two_real_stops_are_not_taken_for_one() {
    let mut draw = Draw(20_260_615);
    let mut pairs = 0;
    for adds in kinds() {
        let stops: Vec<_> = (0..20).map(|_| stop(&adds, &mut draw)).collect();
        pairs += stops.len() * (stops.len() - 1) / 2;
        let found = problems(&stops);
        assert!(!found.contains(&Name::AskedTwice), "{adds:?}");
        assert!(found.is_empty(), "{adds:?}: {found:?}");
    }
    assert_eq!(pairs, 1520);
}

/// A copy whose samples are other ones: read straight between the old ones at other times, scaled, shifted, rounded.
#[test]
fn a_copy_with_samples_made_anew_is_found() {
    let mut draw = Draw(7);
    let mut missed = Vec::new();
    let mut count = 0;
    for adds in [0, 2, 4].map(|at| kinds()[at]) {
        let stops: Vec<_> = (0..10).map(|_| stop(&adds, &mut draw)).collect();
        for (every, first, round) in [
            (1.0, 0.0, 0.0),
            (1.0, 0.5, 0.0),
            (1.0, 0.3, 0.0),
            (0.7, 0.2, 0.0),
            (0.4, 0.1, 0.0),
            (1.5, 0.1, 0.0),
            (2.5, 0.4, 0.0),
            (2.0, 0.5, 0.0),
            (1.0, 0.0, 0.8),
            (1.0, 0.5, 0.4),
            (1.5, 0.2, 0.4),
        ] {
            let old = &stops[3];
            let mut copy = Vec::new();
            let mut t = old[0].0 + first;
            while t < old[old.len() - 1].0 {
                let upper = old.iter().position(|it| it.0 > t).unwrap();
                let (a, b) = (old[upper - 1], old[upper]);
                let n = (a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0)) * 1.003 + 0.02;
                copy.push((t, if round > 0.0 { (n / round).round() * round } else { n }));
                t += every;
            }
            // the channel may have been turned round as well
            if count % 2 == 1 {
                copy.iter_mut().for_each(|it| it.1 = -it.1);
            }
            let mut all = stops.clone();
            all.push(copy);
            count += 1;
            if !problems(&all).contains(&Name::AskedTwice) {
                missed.push(format!("{adds:?}: every {every} from {first}, rounded {round}"));
            }
        }
    }
    assert_eq!(count, 33);
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

/// The same stops with sample times that jitter, or with samples left out, which takes some of the curve between two
/// samples that are not there: what a straight ramp leaves then is no noise.
fn irregular(stop: &[(f64, f64)], jitter: f64, missing: f64, draw: &mut Draw) -> Vec<(f64, f64)> {
    let ideal = |t: f64| {
        let upper = stop.iter().position(|it| it.0 > t).unwrap_or(stop.len() - 1).max(1);
        let (a, b) = (stop[upper - 1], stop[upper]);
        a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0)
    };
    let mut found = Vec::new();
    for (at, (t, _)) in stop.iter().enumerate() {
        let left_out = at > 0 && draw.uniform() < missing;
        let t = t + jitter * (2.0 * draw.uniform() - 1.0);
        if !left_out {
            found.push((t, ideal(t)));
        }
    }
    found
}

/// Ten stops of an irregular clock: the curve without noise, noise drawn for every sample.
#[test]
fn real_stops_with_irregular_samples_are_not_taken_for_one() {
    let mut draw = Draw(31);
    let quiet = Adds::default();
    for (jitter, missing) in
        [(0.1, 0.0), (0.3, 0.0), (0.45, 0.0), (0.0, 0.02), (0.0, 0.1), (0.3, 0.1)]
    {
        for (noise, step) in [(0.05, 0.0), (0.2, 0.0), (1.0, 0.0), (0.2, 0.5), (0.2, 3.0)] {
            let what = format!("jitter {jitter}, missing {missing}, noise {noise}, step {step}");
            let mut noisy = |_| {
                let mut one = irregular(&stop(&quiet, &mut draw), jitter, missing, &mut draw);
                for (_, n) in &mut one {
                    let raw = *n + noise * draw.normal();
                    *n = if step > 0.0 { (raw / step).round() * step } else { raw };
                }
                one
            };
            let stops: Vec<_> = (0..10).map(&mut noisy).collect();
            let found = problems(&stops);
            assert!(!found.contains(&Name::AskedTwice), "{what}");
            if step > 0.0 {
                continue;
            }
            // a copy of one of them is found all the same
            let copy = stops[3].iter().map(|(t, n)| (*t, n * 1.003 + 0.02)).collect();
            let copied: Vec<_> = stops.into_iter().chain([copy]).collect();
            assert!(problems(&copied).contains(&Name::AskedTwice), "copy: {what}");
        }
    }
}

/// Thinned to every second to every sixth sample, from each of the first ones, in the file of the stop and in another,
/// with the clock as it was and 37.3 ms on, as it was and turned, scaled and shifted.
#[test]
fn a_copy_that_is_thinned_out_is_found_in_every_phase() {
    let mut draw = Draw(11);
    let adds = Adds { noise: 0.45, ..Adds::default() };
    let stops: Vec<_> = (0..10).map(|_| stop(&adds, &mut draw)).collect();
    let (mut missed, mut count) = (Vec::new(), 0);
    for every in 2..=6 {
        for from in 0..every {
            for (late, factor, more) in [(0.0, 1.0, 0.0), (37.3, -1.003, 0.02)] {
                let thinned = stops[count % 10].iter().skip(from).step_by(every);
                let copy: Vec<_> = thinned.map(|(t, n)| (t + late, n * factor + more)).collect();
                let mut all = stops.clone();
                all.push(copy.clone());
                let two = vec![("a.csv", recorded(&stops)), ("b.csv", recorded(&[copy]))];
                let plan = plan("a.csv", &["standstill=30 r/min", "b.csv"]);
                for found in [problems(&all), problems_of(&plan, two)] {
                    if !found.contains(&Name::AskedTwice) {
                        missed.push(format!("every {every} from {from}, {late} ms late"));
                    }
                }
                count += 1;
            }
        }
    }
    assert_eq!(count, 40);
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

/// A clock that runs 1 % or 5 % faster or slower, whose samples are as they were or read anew by another clock; noise
/// added as large as that of the recorder.
#[test]
fn a_copy_with_another_clock_or_more_noise_is_found() {
    let mut draw = Draw(12);
    let adds = Adds { noise: 0.45, ..Adds::default() };
    let stops: Vec<_> = (0..10).map(|_| stop(&adds, &mut draw)).collect();
    let old = &stops[6];
    let read = |t: f64| {
        let upper = old.iter().position(|it| it.0 > t).unwrap_or(old.len() - 1).max(1);
        let (a, b) = (old[upper - 1], old[upper]);
        (t, a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0))
    };
    let mut copies =
        vec![("noise", old.iter().map(|it| (it.0, it.1 + 0.45 * draw.normal())).collect())];
    for times in [0.95, 0.99, 1.01, 1.05] {
        copies.push(("the same", old.iter().map(|it| (it.0 * times, it.1)).collect::<Vec<_>>()));
        let anew = old.iter().skip(30).take(940).map(|it| (it.0, read(it.0 / times).1));
        copies.push(("anew", anew.collect()));
    }
    for (what, copy) in copies {
        let mut all = stops.clone();
        all.push(copy);
        assert!(problems(&all).contains(&Name::AskedTwice), "{what}");
    }
}

/// What shows a copy is the samples, not that their noise is not seen: stops of a ramp without any, and of a steep
/// brake in steps and with bends far above the noise.
#[test]
fn stops_that_hardly_show_noise_are_not_taken_for_one() {
    let mut draw = Draw(13);
    for digits in [0.0, 0.01, 1.0] {
        let adds = Adds { step: digits, ..Adds::default() };
        let stops: Vec<_> = (0..10).map(|_| stop(&adds, &mut draw)).collect();
        assert_eq!(problems(&stops), [], "ramp without noise, steps of {digits}");
    }
    for (every, step, noise) in [
        (1.0, 1.0, 0.05),
        (2.0, 1.0, 0.05),
        (4.0, 1.0, 0.05),
        (4.0, 1.0, 0.3),
        (4.0, 0.1, 0.05),
        (4.0, 0.0, 0.3),
        (4.0, 3.0, 0.3),
    ] {
        let mut brake = |_| {
            // 60 ms until it brakes, 40 ms until it brakes wholly, then 14.18 r/min a ms
            let (full, begins) = (1450.0 + 1.45 * draw.normal(), 60.0 + 1.2 * draw.normal());
            let late = every * draw.uniform();
            let row = |k: i32| {
                let t = f64::from(k - 100) * every + late;
                let braked = (t - begins).max(0.0);
                let way = if braked < 40.0 { braked * braked / 80.0 } else { braked - 20.0 };
                let n = (full - 1.5 * t.max(0.0) - 14.18 * way).max(0.0) + noise * draw.normal();
                (t, if step > 0.0 { (n / step).round() * step } else { n })
            };
            (0..300).map(row).collect::<Vec<_>>()
        };
        let stops: Vec<_> = (0..10).map(&mut brake).collect();
        let found = problems(&stops);
        assert!(!found.contains(&Name::AskedTwice), "brake: every {every} ms, {step}, {noise}");
    }
}
