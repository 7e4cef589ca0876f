//! What a recording shows that a measured stop does not, and what a file says of itself: asked, and never of a right one.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use standstill::recording::Protocol;

use super::example::{STOPS, copied, printed, standstill};
use super::held::COASTS;
use super::{OneFile, plan};

/// What a doubt is called.
const DOUBTS: &[&str] = &[
    "the speed is a measured one",
    "zero of the speed is known",
    "the end of the stop is seen",
    "the speed falls after the stop is commanded",
    "the speed falls after torque is removed",
    "the speed rises after torque is removed",
    "the speed changes after torque is removed",
    "the response is about as calculated",
    "the ramp is followed until torque is removed",
    "the files are of",
];

/// Even numbers between 0 and 1, the same in every run.
pub(super) struct Even(pub(super) u64);

impl Even {
    pub(super) fn next(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 40).unwrap()) / f64::from(1 << 24)
    }
}

/// How the saw stops and is recorded.
#[derive(Clone, Copy)]
pub(super) struct Saw {
    /// Constant friction in N·m.
    pub(super) friction: f64,
    pub(super) seed: u64,
    /// Time between samples, and by how much both digital channels are late, in ms.
    pub(super) sampling: i32,
    pub(super) late: f64,
}

pub(super) const SAW: Saw = Saw { friction: 1.65, seed: 7, sampling: 2, late: 0.0 };

impl Saw {
    /// Ten stops, each sample as `read` makes it of speed in r/min and of noise within ±0.5: torque goes 20 ms after the
    /// command, then ω falls by T/J of 0.0101 kg·m², in each stop a little quicker.
    pub(super) fn recorded(self, read: &dyn Fn(f64, f64) -> f64) -> String {
        let mut text = "t in ms;n in r/min;stop;torque\n".to_owned();
        let mut even = Even(self.seed);
        for stop in 0..10 {
            let friction = self.friction + 0.03 * even.next();
            for sample in -600 / self.sampling..4_000 / self.sampling {
                let t = f64::from(sample * self.sampling) + 1.0;
                let after = (t - 20.0).max(0.0) / 1e3;
                let speed = 1450.0 - friction / 0.0101 * after * 30.0 / std::f64::consts::PI;
                let value = read(speed.max(0.0), even.next() - 0.5);
                let (command, torque) = (t < self.late, t < 20.0 + self.late);
                let clock = stop * 60_000 + sample * self.sampling + 600;
                writeln!(text, "{clock};{value:.6};{};{}", u8::from(command), u8::from(torque))
                    .unwrap();
            }
        }
        text
    }
}

fn measured(folder: &Path, text: &str, plan: &str, words: &[&str]) -> (Option<i32>, String) {
    fs::write(folder.join("saw.csv"), text).unwrap();
    fs::write(folder.join("saw.toml"), plan).unwrap();
    let output = standstill(folder, &[&["measured", "saw.toml"], words].concat());
    (output.status.code(), printed(&output).split_whitespace().collect::<Vec<_>>().join(" "))
}

fn noisy(speed: f64, noise: f64) -> f64 {
    speed + noise
}

/// A channel that is late, set, cut off or dead, each with what is said of it; and beside it the right one that looks
/// most like it.
#[test]
fn what_no_measured_stop_shows_is_asked() {
    let folder = tempfile::tempdir().unwrap();
    let late = |late: f64| Saw { late, ..SAW }.recorded(&noisy);
    let least = COASTS.replacen("error =", "least = \"0.5 r/min\"\nerror =", 1);
    let counted = COASTS.replacen("error =", "zero = \"counted\"\nerror =", 1);
    let offset = COASTS.replacen("n in r/min\"", "n in r/min offset 0 r/min\"", 1);
    let at_rest = SAW.recorded(&|speed, noise| if speed == 0.0 { 0.0 } else { speed + noise });
    let dead = |from: f64| {
        move |speed: f64, noise: f64| if speed < from { 0.4 * noise } else { speed + noise }
    };
    // the last speeds of the channel within 12 ms, as a filter behind a broken cable leaves them
    let dying = |speed: f64, noise: f64| (speed - 5.0 * (100.0 - speed).max(0.0)).max(0.0) + noise;
    for (what, text, plan, code, words) in [
        ("as it is", SAW.recorded(&noisy), COASTS, 0, ""),
        ("both channels late by less than is seen", late(2.0), COASTS, 0, ""),
        (
            "both channels late",
            late(20.0),
            COASTS,
            1,
            "the speed falls after torque is removed: not confirmed",
        ),
        (
            "later than the response",
            late(40.0),
            COASTS,
            1,
            "FAILS the speed falls after the stop is commanded",
        ),
        (
            "no noise",
            SAW.recorded(&|speed, _| speed),
            COASTS,
            1,
            "the speed is a measured one: not confirmed",
        ),
        ("steps alone", SAW.recorded(&|speed, _| (speed / 1.5).round() * 1.5), COASTS, 0, ""),
        ("hardly any noise", SAW.recorded(&|speed, noise| speed + 0.02 * noise), COASTS, 0, ""),
        (
            "cut off at 0",
            SAW.recorded(&|speed, noise| (speed + noise - 15.0).max(0.0)),
            COASTS,
            1,
            "zero of the speed is known: not confirmed",
        ),
        ("0 at rest, not said", at_rest.clone(), COASTS, 1, "say `zero = \"counted\"`"),
        ("0 at rest, and an offset", at_rest.clone(), offset.as_str(), 1, "one value alone"),
        ("0 at rest, said", at_rest, counted.as_str(), 0, ""),
        (
            "cut off, with a last digit that goes to and fro",
            SAW.recorded(&|speed, noise| {
                (speed + noise - 15.0).max(0.0) + if noise > 0.0 { 0.01 } else { 0.0 }
            }),
            COASTS,
            1,
            "zero of the speed is known: not confirmed",
        ),
        (
            "ten times quieter at rest, on both sides",
            SAW.recorded(&|speed, noise| speed + if speed > 0.0 { noise } else { 0.05 * noise }),
            COASTS,
            0,
            "",
        ),
        (
            "an offset within the error",
            SAW.recorded(&|speed, noise| speed + noise + 0.9),
            COASTS,
            0,
            "look zero of the speed is known: it reads 0.9",
        ),
        (
            "an offset beyond it",
            SAW.recorded(&|speed, noise| speed + noise + 1.9),
            COASTS,
            2,
            "it creeps, or has an offset",
        ),
        ("`least` said", SAW.recorded(&noisy), least.as_str(), 0, ""),
        (
            "dead from 478 r/min on",
            SAW.recorded(&dead(478.0)),
            least.as_str(),
            2,
            "far steeper than before",
        ),
        (
            "dying from 100 r/min on",
            SAW.recorded(&dying),
            least.as_str(),
            1,
            "the end of the stop is seen: not confirmed",
        ),
    ] {
        let (found, text) = measured(folder.path(), &text, plan, &[]);
        assert_eq!(found, Some(code), "{what}: {text}");
        assert!(text.contains(words), "{what}: {text}");
        let doubted = DOUBTS.iter().any(|it| text.contains(it));
        assert!(code == 2 || doubted != words.is_empty(), "{what}: {text}");
    }
}

/// Right channels of every noise, step and time between samples: nothing is doubted.
#[test]
fn nothing_is_doubted_of_a_right_channel() {
    let mut judged = 0;
    for sampling in [1, 2, 4] {
        for noise in [0.2, 1.0, 4.0] {
            for step in [0.0, 0.5, 1.5, 6.0] {
                for hum in [0.0, 3.0] {
                    let mut count = 0.0_f64;
                    let waves = std::cell::RefCell::new(&mut count);
                    let read = |speed: f64, even: f64| {
                        let mut waves = waves.borrow_mut();
                        **waves += 0.4;
                        let value = speed + noise * even + hum * speed / 1450.0 * waves.sin();
                        if step > 0.0 { (value / step).round() * step } else { value }
                    };
                    let text = Saw { sampling, ..SAW }.recorded(&read);
                    let own = [
                        "category=0", "time=t in ms", "speed=n in r/min", "error=1 r/min",
                        "filter=20 ms", "standstill=20 r/min",
                    ];
                    for least in [&[][..], &["least=0.5 r/min"]] {
                        let plan = plan("a.csv", &[&own, least].concat());
                        let Ok(found) =
                            Protocol::make(&plan, &[], &OneFile::new("a.csv", text.clone()))
                        else {
                            continue;
                        };
                        judged += 1;
                        for finding in found.findings() {
                            let what =
                                format!("{sampling} ms, {noise}, {step}, {hum}: {finding:?}");
                            assert!(!DOUBTS.iter().any(|it| finding.text.contains(it)), "{what}");
                        }
                    }
                }
            }
        }
    }
    assert!(judged >= 120, "{judged}");
}

/// What stands above the headings is kept, and asked about where it is not what the plan says.
#[test]
fn what_a_file_says_of_itself_is_kept_and_compared() {
    let folder = tempfile::tempdir().unwrap();
    for (head, code, words) in [
        ("machine;saw 2\ncondition: coasting\n# date;2026-06-15 08:12\noperator;A\n", 0, ""),
        ("machine;press 7\n", 1, "says machine `press 7`, the plan `saw (invented)`"),
        ("Maschine;press 7\n", 1, "says machine `press 7`, the plan `saw (invented)`"),
        ("Anlage: press 7\n", 1, "says machine `press 7`"),
        ("Maschinen-Nr.;7\n", 1, "says machine `7`"),
        ("axis: press 7\n", 1, "says machine `press 7`"),
        ("device under test;press 7\n", 1, "says machine `press 7`"),
        ("Prüfling;press 7\n", 1, "says machine `press 7`"),
        ("serial no.;77-4\n", 1, "says serial number `77-4`, the plan `saw (invented); recorder"),
        (
            "press, hall 9\n",
            0,
            "look what stands above the headings names the machine: `saw.csv` says `press, hall 9`",
        ),
        ("recorder R-3; press, hall 9\n", 0, "says `press, hall 9`, the plan `saw (invented)`"),
        ("saw; press, hall 9\n", 0, ""),
        ("2026-06-15 08:12\nSample rate: 1000 Hz\n", 0, ""),
        ("condition;cold\n", 1, "says condition `cold`, the plan `coasting`"),
        ("Condition: cold\n", 1, "says condition `cold`"),
        ("condition;not coasting\n", 1, "says condition `not coasting`"),
        ("recorded 2019-01-05 08:00\n", 0, "`saw.csv` says 2019-01-05"),
        ("measured on 5 January 2019\n", 0, "`saw.csv` says 2019-01-05"),
        ("Date;06/15/2019\n", 0, "`saw.csv` says 2019-06-15"),
        ("Recorded Sat Jan  5 08:00:00 2019\n", 0, "`saw.csv` says 2019-01-05"),
        ("Date;06/15/2026\ncalibrated 2019-01-05\n", 0, ""),
        ("instrument;R-12\n", 1, "says instrument `R-12`"),
        (
            "date;2019-01-05\n",
            0,
            "look the files are of the day of the measurement: `saw.csv` says 2019-01-05",
        ),
        ("some words of the recorder;1.450\n", 0, ""),
        ("some words of a logger;x7\n", 0, "says `some words of a logger`"),
    ] {
        let text = format!("{head}\n{}", SAW.recorded(&noisy));
        let (found, text) = measured(folder.path(), &text, COASTS, &["-o", "saw.json", "--force"]);
        assert_eq!(found, Some(code), "{head}: {text}");
        assert!(text.contains(words), "{head}: {text}");
        let asked = text.contains("the files are of") || text.contains("above the headings");
        assert!(!words.is_empty() || !asked, "{head}: {text}");
        let json = fs::read_to_string(folder.path().join("saw.json")).unwrap();
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        let kept = json["recordings"][0]["above"].as_array().unwrap();
        assert_eq!(kept.len(), head.lines().count(), "{kept:?}");
    }
    // two files of the shipped example, each in the other's place
    let folder = copied();
    let at = |name: &str| folder.path().join("examples/measured-stops").join(name);
    let (cold, loaded) = (fs::read(at("cold.csv")).unwrap(), fs::read(at("loaded.csv")).unwrap());
    fs::write(at("cold.csv"), loaded).unwrap();
    fs::write(at("loaded.csv"), cold).unwrap();
    let output = standstill(folder.path(), &["measured", STOPS]);
    let text = printed(&output).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("cold.csv` says condition `warm, loaded`, the plan `cold`"), "{text}");
    assert!(text.contains("loaded.csv` says condition `cold`, the plan `warm, loaded`"), "{text}");
    // another number behind a word of the plan, in a heading that bears no label
    for (own, other, words) in [
        ("line 3", "line 4", "says machine `line 4`, the plan `carton wrapper, line 3"),
        ("R-12", "R-19", "says instrument `r 19`, the plan `tachogenerator G-4"),
        ("line 3", "line 3, hall 9, stop 1 of 10", ""),
        ("carton wrapper, line 3", "1000 samples a second", ""),
    ] {
        let folder = copied();
        let file = folder.path().join("examples/measured-stops/cold.csv");
        let text = fs::read_to_string(&file).unwrap().replacen(own, other, 1);
        fs::write(&file, text).unwrap();
        let output = standstill(folder.path(), &["measured", STOPS]);
        let text = printed(&output).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(words), "{other}: {text}");
        assert!(!words.is_empty() || !text.contains("the files are of this"), "{other}: {text}");
    }
}

/// Units of a heading that are no speed by themselves: what the remedy says is typed, and it reads.
#[test]
fn a_unit_of_a_heading_is_read_as_the_remedy_says() {
    let folder = tempfile::tempdir().unwrap();
    for (heading, size, asked, typed) in [
        (
            "n / (1/s)",
            60.0,
            "`n scale 1 r/s per 1/s` or `n scale 1 rad/s per 1/s`",
            "n scale 1 r/s per 1/s",
        ),
        ("n / (1/min)", 1.0, "`n scale 1 r/min per 1/min`", "n scale 1 r/min per 1/min"),
        (
            "n / (1000 r/min)",
            1000.0,
            "say `in 1000 r/min`, or leave the unit out",
            "n in 1000 r/min",
        ),
        ("n / (1000 r/min)", 1000.0, "say `in 1000 r/min`, or leave the unit out", "n"),
    ] {
        let text = SAW.recorded(&|speed, noise| (speed + noise) / size);
        let text = text.replacen("n in r/min", heading, 1).replacen("t in ms", "t / ms", 1);
        let (code, found) = measured(folder.path(), &text, COASTS, &[]);
        assert_eq!(code, Some(2), "{heading}: {found}");
        assert!(found.contains(asked), "{heading}: {found}");
        let typed = COASTS.replacen("n in r/min", typed, 1);
        let (code, found) = measured(folder.path(), &text, &typed, &[]);
        assert_eq!(code, Some(0), "{heading}: {found}");
    }
}

/// A stop that is joined to the end of another without a pause: what is said is the speed before the command, and it is all
/// that is said of that stop.
#[test]
fn a_stop_that_is_joined_to_another_is_said_to_be() {
    let folder = tempfile::tempdir().unwrap();
    let text = SAW.recorded(&noisy);
    for joined in [30, 100, 300, 480] {
        // the machine is seen to stand until so long before its first command
        let rows = text.lines().map(|row| {
            let cells: Vec<&str> = row.split(';').collect();
            match cells[0].parse::<i32>() {
                Ok(clock) if clock < 600 - joined => {
                    let noise = f64::from(clock * 7 % 5) / 10.0 - 0.2;
                    format!("{clock};{noise};{};{}", cells[2], cells[3])
                }
                _ => row.to_owned(),
            }
        });
        let rows = rows.collect::<Vec<_>>().join("\n");
        let (code, found) = measured(folder.path(), &rows, COASTS, &[]);
        assert_eq!(code, Some(2), "{joined}: {found}");
        assert!(found.contains("the speed is not steady before the command"), "{joined}: {found}");
        assert!(found.contains("1 problem."), "{joined}: {found}");
    }
}

/// Coarse sampling is named as such, and a drop where it is one.
#[test]
fn too_few_samples_are_named_as_what_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let coarse = Saw { sampling: 40, ..SAW }.recorded(&noisy);
    let (code, text) = measured(folder.path(), &coarse, COASTS, &[]);
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("samples from the command to standstill, 30 are needed"), "{text}");
    assert!(!text.contains("still reads"), "{text}");
}

/// What is said last is what is said first, and a value that is typed for a measured one is named.
#[test]
fn the_end_says_what_the_beginning_says() {
    let folder = tempfile::tempdir().unwrap();
    let (calculation, _) = COASTS.split_once("[calculation]").unwrap();
    let (code, text) = measured(folder.path(), &SAW.recorded(&noisy), calculation, &[]);
    assert!(code == Some(1) && text.starts_with("passed, NOT CONFIRMED"), "{text}");
    assert!(!text.contains("FAILS"), "{text}");
    let later = COASTS
        .replace("\"2026-06-15\"", "\"2996-06-15\"")
        .replace("2027", "2997")
        .replace("2026-03-02", "2996-03-02");
    let (_, text) = measured(folder.path(), &SAW.recorded(&noisy), &later, &[]);
    assert!(
        text.contains("look the measurement is not in the future: measured 2996-06-15"),
        "{text}"
    );
    let (code, text) = measured(folder.path(), &SAW.recorded(&noisy), COASTS, &["-o", "p.xlsx"]);
    assert_eq!(code, Some(0), "{text}");
    for (words, said) in
        [(&[][..], false), (&["t_k=300 ms, 310 ms"], true), (&["t_device=0 ms"], true)]
    {
        let all = [&["run", "compare-with-calculation", "--from", "p.xlsx"], words].concat();
        let text = printed(&standstill(folder.path(), &all));
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("(protocol passed: all "), "{words:?}: {text}");
        assert_eq!(text.contains("typed in the place of those there: "), said, "{words:?}: {text}");
    }
}
