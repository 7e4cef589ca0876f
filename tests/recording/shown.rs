//! What is assumed and not shown is not passed; a stop that creeps ends in a true figure or in an error.

use std::fmt::Write as _;
use std::fs;
use std::time::Instant;

use calamine::{Data, Reader as _};
use standstill::diagnostic::{Diagnostic, Name};
use standstill::recording::{Stop, judge, read, seal_of_json};

use super::example::{STOPS, anew, copied, printed, standstill};
use super::held::passing;
use super::{OneFile, plan};

const COASTING: &str = "examples/measured-stops/coasting.toml";

/// All texts of the first tab of a workbook, and the names of its tabs.
fn book(path: &std::path::Path) -> (Vec<String>, Vec<String>) {
    let mut book = calamine::open_workbook_auto(path).unwrap();
    let names = book.sheet_names();
    let tab = book.worksheet_range(&names[0]).unwrap();
    let texts = tab.used_cells().filter_map(|(_, _, cell)| match cell {
        Data::String(text) => Some(text.clone()),
        _ => None,
    });
    (texts.collect(), names)
}

/// Whatever is left out of the removal of torque: no verdict of a calculation stands on it.
#[test]
fn a_removal_that_is_not_shown_is_not_passed() {
    let folder = copied();
    let plan = folder.path().join(STOPS);
    let good = passing(&fs::read_to_string(&plan).unwrap());
    let coasting = fs::read_to_string(folder.path().join(COASTING)).unwrap();
    let removed = "removed = \"torque below 12 V\"\n";
    assert!(good.contains(removed) && coasting.contains("removed = \"torque falls\"\n"));
    for (text, words) in [
        (good.replace(removed, ""), "not confirmed: the removal of torque was not recorded"),
        // a channel that never changes shows nothing
        (
            good.replace(removed, "removed = \"torque below -12 V\"\n"),
            "not confirmed: no removal of torque is seen in 20 stops",
        ),
        (
            coasting.replace("removed = \"torque falls\"\n", ""),
            "torque is removed at once, without a ramp: not confirmed: the removal of torque was not",
        ),
        // one stopping time for both does not make a ramp of a run-down
        (
            coasting
                .replace("category   = \"0\"\n", "")
                .replace(
                    "stops  = \"t_stop\"\nbefore = \"30 ms\"",
                    "works = \"t_stop\"\nfails = \"t_stop\"",
                )
                .replace("calculated stops", "calculated works"),
            "every ramp finishes before torque is removed: 10 of 10 do not",
        ),
    ] {
        fs::write(&plan, &text).unwrap();
        let found = standstill(folder.path(), &["measured", STOPS]);
        let text = printed(&found).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(found.status.code(), Some(1), "{words}: {text}");
        assert!(text.starts_with("NOT PASSED: ") && text.contains(words), "{words}: {text}");
    }
    // a plan without a stopping time of the ramp is shown the other kind of stop
    fs::write(&plan, good.replace("works    = \"t_ramp_works\"\n", "")).unwrap();
    let text = printed(&standstill(folder.path(), &["measured", STOPS]));
    assert!(text.contains("for a stop without a ramp say `category = \"0\"`"), "{text}");
}

/// A pass that leaves something unconfirmed says so in its first words wherever it is read, and gives no form.
#[test]
fn a_pass_with_something_not_confirmed_says_so_first_at_every_door() {
    let folder = copied();
    let plan = folder.path().join(STOPS);
    let good = passing(&fs::read_to_string(&plan).unwrap());
    let (from, to) = (good.find("[calculation]").unwrap(), good.find("[distance]").unwrap());
    let measured_only =
        format!("{}{}", &good[..from], &good[to..]).replace("calculated works", "330 ms");
    let settings = "t_delay   = \"360 ms\"\ntol_delay = \"2 %\"\n";
    let not_read_back = good.replacen(settings, "", 1);
    for (text, open) in [(good.clone(), 0), (measured_only, 1), (not_read_back, 1)] {
        fs::write(&plan, &text).unwrap();
        let words = ["measured", STOPS, "--force", "-o", "a.html", "-o", "a.xlsx", "-o", "a.json"];
        let found = standstill(folder.path(), &words);
        let text = printed(&found);
        assert_eq!(found.status.code(), Some(i32::from(open > 0)), "{text}");
        let begins = if open == 0 { "passed: all " } else { "passed, NOT CONFIRMED: 1 of " };
        assert!(text.starts_with(begins), "{text}");
        let page = fs::read_to_string(folder.path().join("a.html")).unwrap();
        // at the top and above the names
        assert_eq!(page.matches(&format!("<b>{begins}")).count(), 2, "{begins}");
        let json = fs::read_to_string(folder.path().join("a.json")).unwrap();
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert!(json["verdict"].as_str().unwrap().starts_with(begins), "{json}");
        assert_eq!(json["confirmed"], open == 0);
        let findings = json["findings"].as_array().unwrap();
        assert_eq!(findings.iter().filter(|it| it["confirmed"] == false).count(), open);
        let (texts, tabs) = book(&folder.path().join("a.xlsx"));
        assert!(texts.iter().any(|it| it.starts_with(begins)), "{texts:?}");
        assert_eq!(tabs.len(), if open == 0 { 4 } else { 2 }, "{tabs:?}");
    }
}

/// An earlier protocol brings its verdict with it, from the workbook as from JSON.
#[test]
fn an_earlier_check_that_was_not_passed_is_named_with_its_verdict() {
    let folder = copied();
    let plan = folder.path().join(STOPS);
    let good = passing(&fs::read_to_string(&plan).unwrap());
    let failing = good.replace("t_resp   = \"28 ms\"", "t_resp   = \"20 ms\"");
    let last_year = ["measured=2025-06-15", "calibrated=2025-03-02"];
    for ending in ["json", "xlsx"] {
        for (text, verdict) in [(&good, None), (&failing, Some("2025-06-15 NOT PASSED: 1 of "))] {
            let name = format!("before-{}.{ending}", verdict.is_some());
            fs::write(&plan, text).unwrap();
            standstill(
                folder.path(),
                &[&["measured", STOPS, "-o", &name][..], &last_year].concat(),
            );
            fs::write(&plan, &good).unwrap();
            anew(folder.path());
            let found = standstill(folder.path(), &["measured", STOPS, "--before", &name]);
            let text = printed(&found);
            assert_eq!(found.status.code(), Some(0), "{text}");
            let found = text.contains("look    the earlier checks were passed: ");
            assert_eq!(found, verdict.is_some(), "{text}");
            assert!(text.contains(verdict.unwrap_or("2025-06-15")), "{text}");
        }
    }
    // a protocol without its verdict, or without what its stops are known by, is none
    let text = fs::read_to_string(folder.path().join("before-true.json")).unwrap();
    for (key, words) in [
        ("verdict", "does not say whether it was passed"),
        ("prints", "does not say which stops it holds"),
    ] {
        let mut json: serde_json::Value = serde_json::from_str(&text).unwrap();
        json.as_object_mut().unwrap().remove(key);
        json["seal"] = seal_of_json(&json).into();
        fs::write(folder.path().join("cut.json"), json.to_string()).unwrap();
        let found = standstill(folder.path(), &["measured", STOPS, "--before", "cut.json"]);
        assert_eq!(found.status.code(), Some(4), "{}", printed(&found));
        assert!(printed(&found).contains(words), "{}", printed(&found));
    }
}

/// The example without a ramp passes, and its one calculated curve begins when torque is removed.
#[test]
fn the_saw_passes_and_its_calculated_curve_begins_at_the_removal() {
    let folder = copied();
    let found = standstill(folder.path(), &["measured", COASTING, "-o", "saw.html"]);
    let text = printed(&found);
    assert_eq!(found.status.code(), Some(0), "{text}");
    assert!(text.starts_with("passed: all "), "{text}");
    let page = fs::read_to_string(folder.path().join("saw.html")).unwrap();
    // angular momentum: J·ω/T = 0.0101 · 151.844 / 1.6 = 958.5 ms, and 30 ms before it (derivation)
    assert!(page.contains("calculated: 988.5 ms"), "{}", &page[..4000]);
    assert!(!page.contains("ramp works"));
    // J ± 2 % makes a band of the calculated curve; without a tolerance there is none
    let band = "grey: worst case within the tolerances of the inputs";
    assert!(page.contains(band));
    let plan = folder.path().join(COASTING);
    let text = fs::read_to_string(&plan).unwrap().replace("kg·m² ± 2 %", "kg·m²");
    fs::write(&plan, text.replace("tol_J = \"2 %\"\n", "")).unwrap();
    standstill(folder.path(), &["measured", COASTING, "-o", "saw.html", "--force"]);
    assert!(!fs::read_to_string(folder.path().join("saw.html")).unwrap().contains(band));
}

/// How a simulated machine comes to rest; speeds in r/min, times in s from the command.
#[derive(Debug)]
struct Shape {
    /// From 1450 r/min down to the creeping in this time.
    ramp: f64,
    /// Speed of the creeping, how long, and how long it then takes to stand.
    creep: (f64, f64, f64),
    /// Noise as a uniform width, and a wave about the full speed.
    noise: f64,
    wave: f64,
    sampling: f64,
}

impl Shape {
    fn time(&self) -> f64 {
        self.ramp + self.creep.1 + self.creep.2
    }

    fn speed(&self, t: f64) -> f64 {
        let (level, long, end) = self.creep;
        if t < self.ramp {
            return 1450.0 - (1450.0 - level) * t.max(0.0) / self.ramp;
        }
        let left = t - self.ramp - long;
        if left < 0.0 { level } else { level * (1.0 - left / end).max(0.0) }
    }

    fn judged(&self, hold: &str, until: f64) -> Result<Stop, Vec<Name>> {
        let speed = |t: f64| {
            let wave = if t < self.ramp / 2.0 { self.wave * (t * 60.0).sin() } else { 0.0 };
            self.speed(t) + wave
        };
        judged(written(11, &speed, self.noise, self.sampling, until), hold)
    }
}

/// The file of a speed over time, with noise of a uniform width from a seed.
fn written(
    mut seed: u64,
    speed: &dyn Fn(f64) -> f64,
    noise: f64,
    sampling: f64,
    until: f64,
) -> String {
    let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
    let mut t = -0.4 + sampling / 3.0;
    while t < until {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let drawn = f64::from(u32::try_from(seed >> 40).unwrap()) / f64::from(1 << 24) - 0.5;
        let n = speed(t) + noise * drawn;
        writeln!(text, "{:.5};{n:.3};{};1", t + 1.0, u8::from(t < 0.0)).unwrap();
        t += sampling;
    }
    text
}

fn judged(text: String, hold: &str) -> Result<Stop, Vec<Name>> {
    let plan = plan("a.csv", &["time=t in s", "filter=8 ms", hold]);
    let names = |all: Vec<Diagnostic>| all.iter().map(|it| it.name).collect();
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text))
        .map_err(|it| names(it.into_vec()))?;
    judge(&file.stops[0], &plan).map_err(names)
}

/// How the times of many stops lie about the truth: how many, how many within their uncertainty, how far beyond it
/// on the short side, and the sum of the uncertainties.
#[derive(Debug, Default)]
struct Lies {
    count: usize,
    within: usize,
    short: f64,
    wide: f64,
}

impl Lies {
    /// Takes a stop whose true time lies between two.
    fn add(&mut self, stop: &Stop, (early, late): (f64, f64)) {
        let (time, u) = (stop.time.value, stop.time.u);
        self.count += 1;
        self.within += usize::from(time + u > early - 1e-4 && time - u < late + 1e-4);
        self.short = self.short.max(early - time - u);
        self.wide += u;
    }

    fn check(&self, short: f64, wide: f64) {
        let count = f64::from(u32::try_from(self.count).unwrap());
        assert!(self.within * 100 >= self.count * 95, "{self:?}");
        assert!(self.short < short && self.wide / count < wide, "{self:?}, {}", self.wide / count);
    }
}

/// Creeping of every height and length before standstill, with an end that is sharp or soft: measured within its
/// uncertainty or refused, and never an endless run.
#[test]
fn creeping_before_standstill_is_measured_or_refused_and_never_too_short() {
    let begun = Instant::now();
    let (mut above, mut below) = (Lies::default(), Lies::default());
    for level in [4.0, 9.0, 11.0, 12.0, 15.0, 25.0, 60.0, 140.0, 500.0] {
        for long in [0.02, 0.1, 1.0] {
            for end in [0.0005, 0.005, 0.02, 0.06, 0.3] {
                for (noise, sampling) in [(0.0, 1e-3), (4.0, 1e-3), (2.0, 2e-3)] {
                    let creep = (level, long, end);
                    let shape = Shape { ramp: 0.3, creep, noise, wave: 0.0, sampling };
                    let Ok(stop) = shape.judged("hold=300 ms", shape.time() + 0.8) else {
                        continue;
                    };
                    // `standstill` is 10 r/min: creeping below it may count as standing
                    if level > 10.0 {
                        above.add(&stop, (shape.time(), shape.time()));
                    } else {
                        below.add(&stop, (0.29, shape.time()));
                    }
                }
            }
        }
    }
    // a creep below it that is seen at the end of `hold` is refused, and an end within one sample: a channel that reads
    // no low speeds looks so too
    assert!(above.count > 180 && below.count > 40, "{above:?} {below:?}");
    above.check(1e-3, 0.03);
    below.check(1e-3, 0.1);
    assert!(begun.elapsed().as_secs() < 120, "{:?}", begun.elapsed());
}

/// A ramp that is rounded at its ends, by the share `f` of its time at each, as the sheets of the library have it.
fn rounded(f: f64, ramp: f64, t: f64) -> f64 {
    let (x, g) = ((t / ramp).clamp(0.0, 1.0), 1.0 / (2.0 * f * (1.0 - f)));
    let left = match x {
        x if x < f => 1.0 - x * x * g,
        x if x <= 1.0 - f => 1.0 - (x - f / 2.0) / (1.0 - f),
        x => (1.0 - x).powi(2) * g,
    };
    1450.0 * left
}

/// Drag that grows with the speed beside constant friction: dω/dt = −(a + b·ω), solved.
fn dragged(a: f64, b: f64, t: f64) -> f64 {
    ((1450.0 + a / b) * (-b * t).exp() - a / b).max(0.0)
}

/// A way down that is not straight at its end, as a drive with limited jerk makes it, or drag; and straight ones.
#[test]
fn a_rounded_end_is_within_the_uncertainty_and_never_too_short() {
    let mut lies = Lies::default();
    for (seed, noise, sampling) in [
        (11, 0.0, 1e-3),
        (11, 2.0, 1e-3),
        (988, 2.0, 1e-3),
        (11, 6.0, 1e-3),
        (988, 8.0, 1e-3),
        (11, 6.0, 2e-3),
        (988, 3.0, 2e-3),
        (11, 1.0, 4e-3),
    ] {
        for ramp in [0.25, 0.6, 0.9, 1.8, 3.0] {
            for kind in [0.02, 0.05, 0.1, 0.2, 0.5, 0.0, -1.0] {
                let (a, b) = (1450.0 / ramp, 1.0 / ramp);
                let speed = |t: f64| match kind {
                    0.0 => dragged(a, b, t.max(0.0)),
                    -1.0 => 1450.0 * (1.0 - t.max(0.0) / ramp).max(0.0),
                    f => rounded(f, ramp, t),
                };
                let time = if kind == 0.0 { (1.0 + 1450.0 * b / a).ln() / b } else { ramp };
                let text = written(seed, &speed, noise, sampling, time + 1.5);
                match judged(text, "hold=1 s") {
                    Ok(stop) => lies.add(&stop, (time, time)),
                    Err(names) => panic!("{kind}, {ramp} s, {noise}, {sampling}: {names:?}"),
                }
            }
        }
    }
    assert_eq!(lies.count, 280);
    lies.check(1e-4, 0.02);
}

/// Run-downs of minutes, waves about the full speed, and files that end too soon.
#[test]
fn long_run_downs_waves_and_files_that_end_too_soon() {
    let long = Shape { ramp: 240.0, creep: (0.0, 0.0, 1.0), noise: 1.0, wave: 0.0, sampling: 4e-3 };
    let stop = long.judged("hold=4 s", 250.0).unwrap();
    assert!((stop.time.value - 240.0).abs() < stop.time.u, "{:?}", stop.time);
    for until in [0.1, 120.0, 239.0, 241.0] {
        assert_eq!(long.judged("hold=4 s", until).unwrap_err(), [Name::NoStandstill], "{until}");
    }
    // too short a hold takes creeping for standing: it moves on while the stop is commanded
    let slow = Shape { ramp: 0.3, creep: (13.0, 0.1, 20.0), noise: 6.0, wave: 0.0, sampling: 2e-3 };
    assert_eq!(slow.judged("hold=200 ms", 25.0).unwrap_err(), [Name::NoStandstill]);
    // a wave as large as `standstill` could hide movement
    let wave = Shape { ramp: 0.4, creep: (0.0, 0.0, 1.0), noise: 1.0, wave: 20.0, sampling: 1e-3 };
    assert_eq!(wave.judged("hold=300 ms", 1.0).unwrap_err(), [Name::UnfitRecording]);
    let wave = Shape { wave: 4.0, ..wave };
    let stop = wave.judged("hold=300 ms", 1.0).unwrap();
    assert!((stop.time.value - 0.4).abs() < stop.time.u + 1e-3, "{:?}", stop.time);
}

/// A machine that turns back does not stand at the first zero crossing; the way counts to where it was furthest.
#[test]
fn a_machine_that_turns_back_stands_when_it_stays() {
    for (noise, back) in [(0.0, 1000.0), (2.0, 1000.0), (2.0, 400.0), (2.0, 60.0)] {
        // down in 0.3 s, then backwards faster and slower until 0.6 s
        let speed = |t: f64| match t {
            t if t < 0.0 => 1450.0,
            t if t < 0.3 => 1450.0 * (1.0 - t / 0.3),
            t if t < 0.6 => -back * (1.0 - ((t - 0.45) / 0.15).abs()),
            _ => 0.0,
        };
        let stop = judged(written(11, &speed, noise, 1e-3, 1.5), "hold=300 ms").unwrap();
        assert!((stop.time.value - 0.6).abs() < stop.time.u, "{back}: {:?}", stop.time);
        assert!(stop.time.u < 0.03, "{back}: {:?}", stop.time);
        let rpm = std::f64::consts::PI / 30.0;
        let seen = stop.rebound.unwrap().value / rpm;
        assert!((seen / back - 1.0).abs() < 0.05, "{back}: {seen}");
        // 1450 r/min · 0.15 s = 3.625 r forwards, back · 0.15 s backwards (areas of triangles)
        let turned = stop.turned.value / std::f64::consts::TAU;
        assert!((turned - 3.625).abs() < 0.05, "{back}: {turned}");
    }
}

/// A loss of torque at the command is on no recording: stops with their ramp off are not compared with it.
#[test]
fn a_stop_with_its_ramp_off_is_held_against_the_result_of_that_name() {
    let folder = copied();
    let path = folder.path().join(STOPS);
    let plan = fs::read_to_string(&path).unwrap();
    let swapped = plan.replace("\"t_ramp_fails\"", "\"t_late\"");
    assert_ne!(plan, swapped);
    fs::write(&path, swapped).unwrap();
    let found = standstill(folder.path(), &["measured", STOPS]);
    let text = printed(&found);
    assert_eq!(found.status.code(), Some(2), "{text}");
    assert!(
        text.contains("`fails` is `t_late`, and `ramp-then-release` gives `t_ramp_fails`"),
        "{text}"
    );
    assert!(text.contains("write `fails = \"t_ramp_fails\"`"), "{text}");
}
