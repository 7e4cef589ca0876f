//! Simulated stops with known truth over a grid of noise, steps and sampling: bias and coverage of every figure.
//!
//! The truth is the closed solution of a straight ramp and of a run-down with constant friction (angular momentum
//! balance); the noise comes from a plain generator, the same everywhere.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use standstill::recording::{Measured, Ramp, Stop, judge, read};

use super::{OneFile, plan};

const N_0: f64 = 1450.0;
const J: f64 = 0.0101;
const RPM: f64 = std::f64::consts::PI / 30.0;

/// A generator of xorshift kind; uniform and nearly normal numbers.
pub(super) struct Draw(pub(super) u64);

impl Draw {
    pub(super) fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }

    pub(super) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// What was simulated: response and ramp of n_0 in s, removal, friction.
struct Truth {
    response: f64,
    ramp: f64,
    delay: f64,
    friction: f64,
    /// The ramp never comes.
    missing: bool,
}

impl Truth {
    /// Speed left at the removal, in r/min.
    fn left(&self) -> f64 {
        let ramped =
            if self.missing { 0.0 } else { (self.delay - self.response).max(0.0) / self.ramp };
        (N_0 * (1.0 - ramped)).max(0.0)
    }

    /// Run-down, in r/min a second.
    fn fall(&self) -> f64 {
        self.friction / J / RPM
    }

    fn speed(&self, t: f64) -> f64 {
        if t < self.delay {
            let ramped = if self.missing { 0.0 } else { (t - self.response).max(0.0) / self.ramp };
            (N_0 * (1.0 - ramped)).max(0.0)
        } else {
            (self.left() - self.fall() * (t - self.delay)).max(0.0)
        }
    }

    fn time(&self) -> f64 {
        if self.left() > 0.0 {
            self.delay + self.left() / self.fall()
        } else {
            self.response + self.ramp
        }
    }

    /// Turned until standstill, in rad.
    fn turned(&self) -> f64 {
        let (left, end) = (self.left(), self.delay.min(self.time()));
        let flat = if self.missing { end } else { self.response };
        let on_ramp = if self.missing { 0.0 } else { (end - self.response) * (N_0 + left) / 2.0 };
        (N_0 * flat + on_ramp + left * left / self.fall() / 2.0) * RPM
    }
}

fn simulated(truth: &Truth, noise: f64, step: f64, sampling: f64, draw: &mut Draw) -> String {
    let phase = draw.uniform() * sampling;
    let before = (0.15 / sampling).ceil();
    let count = ((truth.time() + 0.3) / sampling).ceil() + before;
    let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
    let mut k = 0.0;
    while k < count {
        let t = (k - before) * sampling + phase;
        let raw = truth.speed(t) + noise * draw.normal();
        let n = if step > 0.0 { (raw / step).round() * step } else { raw };
        let digital = |on: bool| u8::from(on);
        writeln!(text, "{:.6};{n:.5};{};{}", t + 1.0, digital(t < 0.0), digital(t < truth.delay))
            .unwrap();
        k += 1.0;
    }
    text
}

fn stop(text: &str, sampling: f64) -> Stop {
    let filter = format!("filter={} ms", (8.0 * sampling * 1e3).min(8.0));
    let plan = plan("a.csv", &["time=t in s", &filter, "standstill=20 r/min", "J=0.0101 kg·m²"]);
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text)).unwrap();
    assert_eq!(file.stops.len(), 1);
    judge(&file.stops[0], &plan).unwrap()
}

#[derive(Default)]
struct Tally {
    count: usize,
    covered: usize,
    /// Sum of the errors over their uncertainty.
    bias: f64,
    /// The largest of them.
    most: f64,
}

impl Tally {
    fn add(&mut self, found: Measured, truth: f64) {
        // what the file itself is rounded to
        let u = found.u.max(1e-6 * truth.abs());
        let error = (found.value - truth) / u;
        self.count += 1;
        self.covered += usize::from(error.abs() <= 1.0);
        self.bias += error;
        self.most = self.most.max(error.abs());
    }
}

/// Scenarios: ramp finished, cut short, missing.
fn truths(draw: &mut Draw) -> [Truth; 3] {
    let mut one = |ramp: f64, missing: bool| Truth {
        response: 0.015 + 0.01 * draw.uniform(),
        ramp: ramp * (1.0 + 0.05 * draw.uniform()),
        delay: 0.36 + 0.004 * draw.uniform(),
        friction: 1.6 + 0.5 * draw.uniform(),
        missing,
    };
    [one(0.30, false), one(0.60, false), one(0.30, true)]
}

#[test]
fn bias_and_coverage_of_every_figure() {
    let mut draw = Draw(0x5eed_0016_2026_0615);
    let mut tallies: BTreeMap<(&str, &str), Tally> = BTreeMap::new();
    let mut all: BTreeMap<&str, Tally> = BTreeMap::new();
    for (grid, noise, step, sampling) in [
        ("clean, 1 ms", 0.0, 0.0, 0.001),
        ("clean, 4 ms", 0.0, 0.0, 0.004),
        ("noise 1 r/min, 0.5 ms", 1.0, 0.0, 0.0005),
        ("noise 3 r/min, 1 ms", 3.0, 0.0, 0.001),
        ("noise 3 r/min, 2 ms", 3.0, 0.0, 0.002),
        ("steps 3 r/min, 1 ms", 0.0, 3.0, 0.001),
        ("steps 6 r/min, 2 ms", 0.0, 6.0, 0.002),
        ("noise 2, steps 4 r/min, 1 ms", 2.0, 4.0, 0.001),
        ("noise 2, steps 4 r/min, 4 ms", 2.0, 4.0, 0.004),
    ] {
        for _ in 0..8 {
            for (at, truth) in truths(&mut draw).iter().enumerate() {
                let stop = stop(&simulated(truth, noise, step, sampling, &mut draw), sampling);
                let ramp = [Ramp::Finished, Ramp::CutShort, Ramp::Missing][at];
                assert_eq!(stop.ramp, Some(ramp), "{grid}: {stop:?}");
                let mut add = |figure: &'static str, found: Measured, truth: f64| {
                    tallies.entry((figure, grid)).or_default().add(found, truth);
                    all.entry(figure).or_default().add(found, truth);
                };
                add("speed before", stop.speed, N_0 * RPM);
                add("standstill", stop.time, truth.time());
                add("turned", stop.turned, truth.turned());
                add("removal", stop.delay.unwrap(), truth.delay);
                let fall = N_0 / truth.ramp * RPM;
                if truth.missing {
                    assert!(stop.response.is_none() && stop.slope.is_none(), "{stop:?}");
                    add("largest deceleration", stop.peak, truth.fall() * RPM);
                } else {
                    add("response", stop.response.unwrap(), truth.response);
                    add("slope of the ramp", stop.slope.unwrap(), fall);
                    add(
                        "largest deceleration",
                        stop.peak,
                        fall.max(if truth.left() > 0.0 { truth.fall() * RPM } else { 0.0 }),
                    );
                    add(
                        "mean deceleration",
                        stop.mean,
                        N_0 * RPM / (truth.time() - truth.response),
                    );
                }
                if truth.left() > 0.0 {
                    add("speed left", stop.left.unwrap(), truth.left() * RPM);
                    let found = stop.run_down.expect("a run-down");
                    // where a term too many was taken, its own limits hold
                    if found.terms == 1 {
                        let rate = found.rates[0];
                        add(
                            "friction",
                            Measured { value: rate.value * J, u: rate.u * J },
                            truth.friction,
                        );
                    }
                } else {
                    assert!(stop.left.is_none());
                }
                assert!(stop.rebound.is_none(), "{grid}: {:?}", stop.rebound);
            }
        }
    }
    let mut table =
        "figure, number, within its uncertainty, mean error over its uncertainty, largest\n"
            .to_owned();
    let count = |count: usize| f64::from(u32::try_from(count).unwrap());
    for (figure, tally) in &all {
        let covered = 100.0 * count(tally.covered) / count(tally.count);
        let bias = tally.bias / count(tally.count);
        writeln!(table, "{figure}, {}, {covered:.0} %, {bias:+.2}, {:.1}", tally.count, tally.most)
            .unwrap();
    }
    println!("{table}");
    for ((figure, grid), tally) in &tallies {
        println!(
            "{figure} | {grid} | {}/{} | {:+.2} | {:.1}",
            tally.covered,
            tally.count,
            tally.bias / count(tally.count),
            tally.most
        );
    }
    for (figure, tally) in &all {
        assert!(count(tally.covered) >= 0.95 * count(tally.count), "{figure}:\n{table}");
        // the sharp ends that are simulated lie early between a sharp and a rounded one, which noise would hide
        let of_the_end = ["standstill", "mean deceleration"].contains(figure);
        let most = if of_the_end { 0.7 } else { 0.3 };
        assert!((tally.bias / count(tally.count)).abs() < most, "{figure}:\n{table}");
        assert!(tally.most < 3.0, "{figure}:\n{table}");
    }
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("coverage", table);
    });
}

/// A position in counts of an encoder gives the same stop as the speed itself.
#[test]
fn counts_of_an_encoder_give_the_stop() {
    let mut draw = Draw(77);
    let [truth, ..] = truths(&mut draw);
    let mut text = "t / ms;p / counts;stop;torque\n".to_owned();
    let (mut turned, mut k) = (0.0, -200.0_f64);
    while k < 700.0 {
        let t = k * 1e-3 + 0.0004;
        // the angle by the trapezium over a millisecond, straight but for one corner
        turned += (truth.speed(t) + truth.speed(t - 1e-3)) / 2.0 / 60.0 * 1e-3;
        let counts = (turned * 4096.0).floor();
        writeln!(
            text,
            "{};{counts};{};{}",
            k + 300.0,
            u8::from(t < 0.0),
            u8::from(t < truth.delay)
        )
        .unwrap();
        k += 1.0;
    }
    let words: Vec<String> = [
        "a.csv", "time=t in ms", "position=p scale 1 r per 4096 counts", "stop=stop falls",
        "removed=torque falls", "standstill=20 r/min", "error=0 r/min", "filter=10 ms",
    ]
    .map(str::to_owned)
    .to_vec();
    let plan = standstill::recording::Plan::read(None, &words).unwrap();
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text)).unwrap();
    assert_eq!(file.unit.symbol, "r/min");
    let stop = judge(&file.stops[0], &plan).unwrap();
    for (what, found, truth) in [
        ("standstill", stop.time, truth.time()),
        ("response", stop.response.unwrap(), truth.response),
        ("turned", stop.turned, truth.turned()),
        ("slope", stop.slope.unwrap(), N_0 / truth.ramp * RPM),
    ] {
        assert!((found.value - truth).abs() <= found.u, "{what}: {found:?}, truth {truth}");
    }
    // a step of 1/4096 r in a millisecond is 14.6 r/min: the uncertainty is no decoration
    assert!(stop.time.u < 0.006 && stop.time.u > 1e-4, "{:?}", stop.time);
}

/// An axis that turns backwards and swings back: the sign of the speed does not matter, the rebound is seen.
#[test]
fn a_speed_that_changes_its_sign_is_a_rebound() {
    let mut draw = Draw(78);
    let [truth, ..] = truths(&mut draw);
    let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
    let mut k = -200.0_f64;
    while k < 900.0 {
        let t = k * 1e-3;
        let after = t - truth.time();
        // a swing back of 60 r/min, dead after 60 ms
        let back = if (0.0..0.06).contains(&after) {
            -60.0 * (after / 0.06 * std::f64::consts::PI).sin()
        } else {
            0.0
        };
        let n = -(truth.speed(t) + back) + 0.3 * draw.normal();
        writeln!(text, "{:.3};{n:.3};{};{}", t + 0.3, u8::from(t < 0.0), u8::from(t < 0.6))
            .unwrap();
        k += 1.0;
    }
    let stop = stop(&text, 0.001);
    let rebound = stop.rebound.expect("a rebound");
    // a mean over 8 ms takes 3 % off the top of the swing
    assert!((rebound.value / RPM - 60.0).abs() < 3.0, "{rebound:?}");
    assert!(stop.speed.value > 0.0);
}

/// Samples that are far apart: what is read at rest is of samples at rest alone, so that no stop is refused, none seems to
/// turn back, and none is short or long, whether its end is sharp, as of friction, or rounded, as of a ramp.
#[test]
fn samples_far_apart_show_the_same_stop() {
    let mut draw = Draw(80);
    let mut refused = 0;
    let mut off = Vec::new();
    for sampling in [0.01, 0.016, 0.02, 0.026, 0.05] {
        for round in [0.0, 0.1, 0.3] {
            for hold in ["hold=200 ms", "hold=20 ms"] {
                let (noise, delay) = (0.2, 0.02);
                let long = (2.0 + draw.uniform()) * (1.0_f64).max(40.0 * sampling);
                // of a share of the time the end is a parabola
                let top = N_0 / (1.0 - round / 2.0);
                let speed = |t: f64| {
                    let x = ((t - delay) / long).clamp(0.0, 1.0);
                    let left = 1.0 - x;
                    if left < round { top * left * left / (2.0 * round) } else { N_0 - top * x }
                };
                let before = 15.0 * sampling + sampling * draw.uniform();
                let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
                let mut t = -before;
                while t < delay + long + 24.0 * sampling + 0.3 {
                    let n = speed(t) + noise * draw.normal();
                    let on = |on: bool| u8::from(on);
                    writeln!(text, "{:.6};{n:.4};{};{}", t + 5.0, on(t < 0.0), on(t < delay))
                        .unwrap();
                    t += sampling;
                }
                let filter = format!("filter={} ms", 4e3 * sampling);
                let plan = plan("a.csv", &["time=t in s", &filter, "standstill=10 r/min", hold]);
                let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text)).unwrap();
                let what = format!("{sampling} s, rounded {round}, {hold}");
                match judge(&file.stops[0], &plan) {
                    Ok(stop) => {
                        let apart = (stop.time.value - delay - long).abs();
                        if apart > stop.time.u || stop.rebound.is_some() {
                            off.push(format!("{what}: {:?}, {:?}", stop.time, stop.rebound));
                        }
                    }
                    // an end that is flat for so long is over later than `hold` begins to look
                    Err(found) if round > 0.1 && found[0].headline.contains("still slows") => {
                        refused += 1;
                    }
                    Err(found) => off.push(format!("{what}: {}", found[0].headline)),
                }
            }
        }
    }
    assert!(off.is_empty() && refused < 2, "{} off:\n{}", off.len(), off.join("\n"));
}

/// A creep after the ramp, level or falling, at any part of `standstill`: it lengthens the stop or is refused.
#[test]
fn a_creep_that_is_seen_is_never_cut_off() {
    let mut draw = Draw(79);
    let (mut short, mut count) = (Vec::new(), [0, 0]);
    for creep in [1.0, 2.0, 3.0, 4.0, 5.0, 8.0] {
        for long in [0.1, 0.15, 0.25, 0.5] {
            for falls in [false, true] {
                for (noise, step, sampling) in
                    [(0.05, 0.0, 0.001), (0.2, 0.0, 0.002), (0.2, 0.5, 0.002), (0.0, 1.0, 0.001)]
                {
                    let speed = |t: f64| {
                        let ramp = N_0 * (1.0 - ((t - 0.02) / 0.15).clamp(0.0, 1.0));
                        let part = ((0.17 + long - t) / long).max(0.0);
                        let level = if part > 0.0 { creep } else { 0.0 };
                        ramp.max(if falls { creep * part.min(1.0) } else { level })
                    };
                    let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
                    let mut t = -0.3 + sampling * draw.uniform();
                    while t < 1.4 {
                        let raw = speed(t) + noise * draw.normal();
                        let n = if step > 0.0 { (raw / step).round() * step } else { raw };
                        let on = |on: bool| u8::from(on);
                        writeln!(text, "{:.6};{n:.5};{};{}", t + 1.0, on(t < 0.0), on(t < 0.9))
                            .unwrap();
                        t += sampling;
                    }
                    let plan =
                        plan("a.csv", &["time=t in s", "filter=8 ms", "standstill=10 r/min"]);
                    let file =
                        read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text)).unwrap();
                    count[0] += 1;
                    let Ok(stop) = judge(&file.stops[0], &plan) else { continue };
                    count[1] += 1;
                    // a falling creep is seen down to its noise alone
                    let seen = 5.0 * noise + step;
                    let hidden = if falls { long * (seen / creep).min(1.0) } else { 0.0 };
                    if creep > seen && stop.time.value + 2.0 * stop.time.u < 0.17 + long - hidden {
                        short.push(format!("{creep} r/min for {long} s, falls {falls}, noise {noise}, step {step}: {:?}", stop.time));
                    }
                }
            }
        }
    }
    assert!(short.is_empty(), "{count:?}, {} short:\n{}", short.len(), short.join("\n"));
}
