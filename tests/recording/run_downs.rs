//! Run-downs that follow T_0 + b·ω + c·ω² and run-downs that do not, over a grid of noise, steps and sampling. The truth is
//! the angular momentum balance, integrated with a step of a hundredth of a sample.

use std::fmt::Write as _;
use std::fs;

use standstill::recording::{Noise, RunDown, run_down};

use super::example::{copied, printed, standstill};
use super::simulated::Draw;

const RPM: f64 = std::f64::consts::PI / 30.0;
const N_0: f64 = 1450.0;

/// Samples of a run-down down to 40 r/min from a deceleration in r/min/s over speed in r/min and time in s.
fn samples(
    fall: &dyn Fn(f64, f64) -> f64,
    (noise, step, sampling): (f64, f64, f64),
    draw: &mut Draw,
) -> Vec<(f64, f64)> {
    let (mut n, mut t, mut found) = (N_0, 0.0, Vec::new());
    let fine = sampling / 100.0;
    let mut k = 0_u32;
    while n > 40.0 && t < 60.0 {
        if k.is_multiple_of(100) {
            let raw = n + noise * draw.normal();
            let read = if step > 0.0 { (raw / step).round() * step } else { raw };
            found.push((t, read * RPM));
        }
        n -= fall(n, t) * fine;
        t += fine;
        k += 1;
    }
    found
}

const GRID: [(f64, f64, f64); 10] = [
    (0.0, 0.0, 0.001),
    (0.0, 0.0, 0.004),
    (0.3, 0.0, 0.0005),
    (0.3, 0.5, 0.001),
    (1.0, 0.0, 0.001),
    (3.0, 0.0, 0.002),
    (0.0, 1.0, 0.001),
    (0.0, 6.0, 0.002),
    (2.0, 4.0, 0.001),
    (2.0, 4.0, 0.004),
];

fn fitted(points: &[(f64, f64)], (noise, step, _): (f64, f64, f64)) -> RunDown {
    let one = RPM * noise.max(step / 12.0_f64.sqrt());
    run_down(points, &Noise { one, lasting: 1.0, step: step * RPM }).unwrap()
}

/// Deceleration that is found at a speed in r/min, and its uncertainty, in r/min/s.
fn at(found: &RunDown, n: f64) -> (f64, f64) {
    let [a, b, c] = found.rates;
    let w = n * RPM;
    let u = (a.u.powi(2) + (b.u * w).powi(2) + (c.u * w * w).powi(2)).sqrt();
    ((a.value + b.value * w + c.value * w * w) / RPM, u / RPM)
}

#[test]
fn a_run_down_that_follows_the_law_is_never_refused() {
    let mut draw = Draw(0x16_01);
    let (mut count, mut refused) = (0, Vec::new());
    for grid in GRID {
        for _ in 0..40 {
            let constant = 300.0 + 2500.0 * draw.uniform();
            let (b, c) = match count % 4 {
                0 => (0.0, 0.0),
                1 => (2.0 * draw.uniform(), 0.0),
                2 => (0.0, 2e-3 * draw.uniform()),
                _ => (draw.uniform(), 1e-3 * draw.uniform()),
            };
            let points = samples(&|n, _| constant + b * n + c * n * n, grid, &mut draw);
            let found = fitted(&points, grid);
            count += 1;
            if found.departs.is_some() {
                refused.push(format!("{grid:?} {constant:.0} {b:.2} {c:.5}: {found:?}"));
            }
        }
    }
    assert!(refused.is_empty(), "{} of {count}\n{}", refused.len(), refused.join("\n"));
}

type Fall = Box<dyn Fn(f64, f64) -> f64>;

/// What is no friction of that law: brakes that drop in or let go, jerks, roots, a friction that rises towards rest.
fn others(draw: &mut Draw) -> Vec<(String, Fall)> {
    let base = 600.0 + 1200.0 * draw.uniform();
    let at = 300.0 + 800.0 * draw.uniform();
    let mut all: Vec<(String, Fall)> = Vec::new();
    for more in [0.3, 0.5, 1.0, 3.0, -0.3, -0.6] {
        let fall = move |n: f64, _: f64| base * if n < at { 1.0 + more } else { 1.0 };
        all.push((format!("{base:.0}, {more:+} below {at:.0}"), Box::new(fall)));
    }
    for more in [0.5, 1.0, 3.0] {
        let fall = move |n: f64, _: f64| base * (1.0 + more * (n / N_0).sqrt());
        all.push((format!("{base:.0} and {more} of the root"), Box::new(fall)));
        let rises = move |n: f64, _: f64| base * (1.0 + more * (-n / 80.0).exp());
        all.push((format!("{base:.0}, {more} more towards rest"), Box::new(rises)));
    }
    for often in [7.0, 20.0, 60.0] {
        let jerks = move |n: f64, t: f64| {
            let slips = (t * often).fract() < 0.5;
            base * if slips { 0.2 } else { 1.8 } + 0.0 * n
        };
        all.push((format!("{base:.0} jerks {often} Hz"), Box::new(jerks)));
    }
    all
}

/// Either it is said that it departs, or noise hides it: then the deceleration that is found is that of the machine within
/// its uncertainty, or within a part of it that is stated here.
#[test]
fn what_follows_another_law_is_found_or_hidden_by_noise() {
    let mut draw = Draw(0x16_02);
    let (mut count, mut said, mut wrong) = (0, 0, Vec::new());
    for grid in GRID {
        for _ in 0..6 {
            for (name, fall) in others(&mut draw) {
                let points = samples(&fall, grid, &mut draw);
                let found = fitted(&points, grid);
                count += 1;
                if found.departs.is_some() {
                    said += 1;
                    continue;
                }
                // the mean over fifths of the speed
                let off = (0..5).map(|part| {
                    let top = N_0 - 280.0 * f64::from(part);
                    let middle = top - 140.0;
                    let of_time = |v: f64| points.partition_point(|it| it.1 > v * RPM);
                    let (a, b) = (of_time(top), of_time(top - 280.0).min(points.len() - 1));
                    let long = points[b].0 - points[a].0;
                    let real = 280.0 / long;
                    let (value, u) = at(&found, middle);
                    ((value - real).abs() - u) / real
                });
                let most = off.fold(0.0, f64::max);
                if most > 0.1 {
                    wrong.push(format!("{grid:?} {name}: {:.0} % off, {found:?}", 100.0 * most));
                }
            }
        }
    }
    println!("{said} of {count} said");
    assert!(
        wrong.is_empty(),
        "{said} of {count} said, {} wrong\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// Ten stops of the saw of which one meets a brake at 700 r/min: no friction is taken from any of them.
#[test]
fn of_a_run_down_that_departs_no_friction_is_taken() {
    let folder = copied();
    let plan = folder.path().join("examples/measured-stops/coasting.toml");
    let mut draw = Draw(0x16_04);
    let mut text = "t / ms;n / (r/min);stop;torque\n".to_owned();
    let mut clock = 0.0;
    for stop in 0..10 {
        let brakes = stop == 6;
        let (mut n, mut t) = (N_0, -400.0);
        while t < 1800.0 {
            let read = n + 0.4 * draw.normal();
            let on = |on: bool| u8::from(on);
            writeln!(text, "{:.0};{read:.2};{};{}", clock + t, on(t < 0.0), on(t < 20.0)).unwrap();
            let fall = if brakes && n < 700.0 { 3.2 } else { 1.6 };
            n = if t < 20.0 { N_0 } else { (n - 2.0 * fall).max(0.0) };
            t += 2.0;
        }
        clock += 2500.0;
    }
    fs::write(folder.path().join("examples/measured-stops/saw.csv"), text).unwrap();
    let told = || {
        let found =
            standstill(folder.path(), &["measured", "examples/measured-stops/coasting.toml"]);
        (found.status.code(), printed(&found).split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let (code, words) = told();
    assert_eq!(code, Some(1), "{words}");
    let departs = "the friction is not less than the calculation takes: not confirmed: 1 run-down follows no T_0 + b·ω + c·ω²";
    assert!(words.contains(departs), "{words}");
    let said = fs::read_to_string(&plan).unwrap();
    let measured = said.replacen("T_0    = \"1.6 N·m\"", "T_0    = \"measured T_0\"", 1);
    assert_ne!(said, measured);
    fs::write(&plan, measured).unwrap();
    let (code, words) = told();
    assert_eq!(code, Some(2), "{words}");
    assert!(words.contains("`measured T_0`: 1 run-down follows no T_0 + b·ω + c·ω²"), "{words}");
}
