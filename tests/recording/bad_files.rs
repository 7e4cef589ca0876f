//! Bad files by rule: each mutation of a good recording is an error with its cell, and never a figure.

use standstill::diagnostic::{Diagnostic, Name};
use standstill::recording::{Plan, Recording, Stop, judge, read};

use super::{OneFile, plan};

/// A good recording: time, speed, stop, torque; 2 ms, 1450 r/min, ramp of 0.3 s after 20 ms, torque removed at 360 ms.
#[derive(Clone)]
pub(super) struct File {
    head: Vec<String>,
    pub(super) rows: Vec<Vec<String>>,
    separator: &'static str,
}

/// The first row of samples in the file, counted from 1.
const FIRST: usize = 4;

pub(super) fn good() -> File {
    let row = |k: i32| {
        let t = f64::from(k - 60) * 0.002;
        let wave = f64::from((k * 7919) % 13 - 6) * 0.05;
        let n = (1450.0 - (t - 0.02).max(0.0) / 0.3 * 1450.0).clamp(0.0, 1450.0) + wave;
        let digital = |on: bool| if on { "1" } else { "0" }.to_owned();
        vec![format!("{}", k * 2), format!("{n:.2}"), digital(t < 0.0), digital(t < 0.36)]
    };
    let text = |text: &str| text.to_owned();
    File {
        head: vec![
            text("a recorder"),
            text("day;2026-06-15"),
            text("t / ms;n / (r/min);stop;torque"),
        ],
        rows: (0..400).map(row).collect(),
        separator: ";",
    }
}

impl File {
    pub(super) fn text(&self) -> String {
        let rows = self.rows.iter().map(|row| row.join(self.separator));
        self.head.iter().cloned().chain(rows).map(|line| line + "\n").collect()
    }

    pub(super) fn with(mut self, change: impl FnOnce(&mut Self)) -> Self {
        change(&mut self);
        self
    }

    /// Replaces a field; rows counted from 0.
    pub(super) fn field(self, row: usize, column: usize, text: &str) -> Self {
        self.with(|file| file.rows[row][column] = text.to_owned())
    }

    pub(super) fn headed(self, line: &str) -> Self {
        self.with(|file| file.head[2] = line.to_owned())
    }

    /// Every row changed.
    pub(super) fn each(self, change: impl Fn(usize, &mut Vec<String>)) -> Self {
        self.with(|file| file.rows.iter_mut().enumerate().for_each(|(at, row)| change(at, row)))
    }

    pub(super) fn speed(self, change: impl Fn(usize, f64) -> f64) -> Self {
        self.each(|at, row| row[1] = format!("{:.2}", change(at, row[1].parse().unwrap())))
    }
}

fn judged(
    name: &str,
    bytes: impl Into<Vec<u8>>,
    plan: &Plan,
) -> Result<Vec<Stop>, Vec<Diagnostic>> {
    let recording: &Recording = &plan.recordings[0];
    let file = read(recording, plan, &OneFile::new(name, bytes))
        .map_err(standstill::Problems::into_vec)?;
    file.stops.iter().map(|stop| judge(stop, plan)).collect()
}

pub(super) fn of(file: &File, words: &[&str]) -> Result<Vec<Stop>, Vec<Diagnostic>> {
    judged("a.csv", file.text(), &plan("a.csv", words))
}

#[test]
fn the_good_file_gives_its_figures() {
    for (separator, comma) in [(";", false), (";", true), ("\t", false), (",", false), ("\t", true)]
    {
        let mut file = good();
        file.separator = separator;
        file.head[2] = file.head[2].replace(';', separator);
        let mut text = file.text();
        let mut words = vec!["filter=4 ms"];
        if comma {
            text = text.replace('.', ",");
            words.push("decimal_comma=yes");
        }
        let stops = judged("a.csv", text, &plan("a.csv", &words)).unwrap();
        let [stop] = stops.as_slice() else { panic!("{} stops", stops.len()) };
        // 20 ms + 300 ms, the command between two samples
        assert!((stop.time.value - 0.321).abs() < stop.time.u, "{:?}", stop.time);
        assert!((stop.delay.unwrap().value - 0.36).abs() < 1e-9);
    }
}

/// What is wrong, the file, words of the plan, the name of the problem, its cell (nothing: the file).
pub(super) type Case = (&'static str, File, &'static [&'static str], Name, &'static str);

pub(super) fn cases() -> Vec<Case> {
    use Name::*;
    let none: &[&str] = &[];
    vec![
        ("no heading is known", good().headed("a;b;c;d"), none, UnreadableFile, ""),
        (
            "no column of the speed",
            good().headed("t / ms;x / (r/min);stop;torque"),
            none,
            UnknownRow,
            "A3",
        ),
        (
            "no column of the command",
            good().headed("t / ms;n / (r/min);x;torque"),
            none,
            UnknownRow,
            "A3",
        ),
        (
            "no column of the torque",
            good().headed("t / ms;n / (r/min);stop;x"),
            none,
            UnknownRow,
            "A3",
        ),
        (
            "two columns of one heading",
            good().headed("t / ms;n / (r/min);stop;stop"),
            none,
            UnknownRow,
            "A3",
        ),
        (
            "two speeds",
            good().headed("t / ms;n / (r/min);stop;torque;n / (r/min)"),
            none,
            DefinedTwice,
            "E3",
        ),
        ("no unit", good().headed("t / ms;n;stop;torque"), none, MissingUnit, "B3"),
        (
            "an unknown unit",
            good().headed("t / ms;n / (u/min);stop;torque"),
            none,
            UnknownUnit,
            "B3",
        ),
        ("a unit of mass", good().headed("t / ms;n / kg;stop;torque"), none, UnitMismatch, "B3"),
        ("a time in mm", good().headed("t / mm;n / (r/min);stop;torque"), none, UnitMismatch, "A3"),
        ("two units", good(), &["speed=n in rad/s"], TwoStatements, "B3"),
        (
            "volts with a scale per mV",
            good().headed("t / ms;n / V;stop;torque"),
            &["speed=n scale 150 r/min per mV"],
            UnitMismatch,
            "B3",
        ),
        (
            "heading and row of units differ",
            good()
                .with(|it| it.rows.insert(0, ["s", "r/min", "-", "-"].map(str::to_owned).to_vec()))
                .headed("t / ms;n;stop;torque"),
            none,
            TwoStatements,
            "A3",
        ),
        (
            "time and speed in one column",
            good().headed("t / ms;n / (r/min);stop;torque"),
            &["speed=t scale 1 r/min per ms"],
            AskedTwice,
            "A3",
        ),
        (
            "a level in another unit",
            good().headed("t / ms;n / (r/min);stop / V;torque"),
            &["stop=stop below 12 A"],
            UnitMismatch,
            "C3",
        ),
        (
            "a level with a unit, a heading without",
            good(),
            &["stop=stop below 12 V"],
            UnitMismatch,
            "C3",
        ),
        (
            "a row of units that is no unit",
            good()
                .with(|it| it.rows.insert(0, ["ms", "speed!", "", ""].map(str::to_owned).to_vec()))
                .headed("t;n;stop;torque"),
            none,
            UnknownUnit,
            "B3",
        ),
        ("no sample", good().with(|it| it.rows.clear()), none, TooFewSamples, "A3"),
        (
            "decimal commas that nobody said",
            good().each(|_, row| row[1] = row[1].replace('.', ",")),
            none,
            TextForNumber,
            "B4",
        ),
        (
            "decimal points where commas are said",
            good(),
            &["decimal_comma=yes"],
            TextForNumber,
            "B4",
        ),
        (
            "commas that part and mark",
            good()
                .with(|it| it.separator = ",")
                .headed("t / ms,n / (r/min),stop,torque")
                .each(|_, row| row[1] = row[1].replace('.', ",")),
            none,
            UnknownRow,
            "E4",
        ),
        (
            "time stands still",
            good().with(|it| it.rows[200][0] = it.rows[199][0].clone()),
            none,
            TimeNotRising,
            "A204",
        ),
        ("time runs back", good().field(200, 0, "10"), none, TimeNotRising, "A204"),
        (
            "a second recording with its clock at zero",
            good().with(|it| {
                let again = it.rows.clone();
                it.rows.extend(again)
            }),
            none,
            TimeNotRising,
            "A404",
        ),
        (
            "a gap within the stop",
            good().with(|it| {
                it.rows.drain(100..120);
            }),
            none,
            MissingSamples,
            "B64",
        ),
        (
            "a gap at the stop command",
            good().with(|it| {
                it.rows.drain(50..70);
            }),
            none,
            MissingSamples,
            "B54",
        ),
        (
            "begins within the stop",
            good().with(|it| {
                it.rows.drain(..80);
            }),
            none,
            TooFewSamples,
            "B4",
        ),
        (
            "too little before the stop",
            good().with(|it| {
                it.rows.drain(..55);
            }),
            none,
            TooFewSamples,
            "B9",
        ),
        ("no stop", good().each(|_, row| row[2] = "1".to_owned()), none, NoStopCommand, "B3"),
        ("the command the wrong way round", good(), &["stop=stop rises"], TooFewSamples, "B4"),
        (
            "the command taken from the speed",
            good(),
            &["stop=n below 1400 r/min"],
            NoStopCommand,
            "B80",
        ),
        (
            "torque gone before the command",
            good().each(|at, row| {
                if at > 30 {
                    row[3] = "0".to_owned()
                }
            }),
            none,
            NoStopCommand,
            "B64",
        ),
        ("torque the wrong way round", good(), &["removed=torque rises"], NoStopCommand, "B64"),
        (
            "torque comes back",
            good().each(|at, row| {
                if at > 300 {
                    row[3] = "1".to_owned()
                }
            }),
            &["hold=300 ms"],
            UnfitRecording,
            "B305",
        ),
        ("ends on the ramp", good().with(|it| it.rows.truncate(180)), none, NoStandstill, "B64"),
        ("ends just after it", good().with(|it| it.rows.truncate(230)), none, NoStandstill, "B64"),
        (
            "the command taken back on the ramp",
            good().each(|at, row| {
                if at > 150 {
                    row[2] = "1".to_owned()
                }
            }),
            none,
            NoStandstill,
            "B64",
        ),
        (
            "moves again while it should stand",
            good().speed(|at, n| if (350..380).contains(&at) { 90.0 } else { n }),
            none,
            NoStandstill,
            "B354",
        ),
        (
            "never comes to rest: an offset",
            good().speed(|_, n| n + 40.0),
            none,
            NoStandstill,
            "B64",
        ),
        ("a small offset", good().speed(|_, n| n + 7.0), none, UnfitRecording, "B64"),
        ("clipped at the top", good().speed(|_, n| n.min(1400.0)), none, SignalLimit, "B64"),
        (
            "noise above the threshold",
            good()
                .speed(|at, n| n + f64::from(u32::try_from(at * 7919 % 41).unwrap()) * 2.0 - 40.0),
            &["hold=100 ms"],
            UnfitRecording,
            "B64",
        ),
        (
            "does not turn before the stop",
            good().speed(|_, n| n / 30.0),
            none,
            UnfitRecording,
            "B64",
        ),
        (
            "still speeding up",
            good().speed(|at, n| {
                if at < 60 {
                    n * (0.9 + 0.1 * f64::from(u32::try_from(at).unwrap()) / 60.0)
                } else {
                    n
                }
            }),
            none,
            UnfitRecording,
            "B64",
        ),
        (
            "sampling too coarse",
            good().with(|it| it.rows = it.rows.iter().step_by(10).cloned().collect::<Vec<_>>()),
            &["filter=0 ms"],
            TooFewSamples,
            "B",
        ),
        (
            "a stop of a few samples",
            good().speed(|at, n| if at > 75 { n % 1.0 } else { n }),
            none,
            TooFewSamples,
            "B64",
        ),
        (
            "steps as coarse as the threshold",
            good().speed(|_, n| (n / 30.0).round() * 30.0),
            none,
            UnfitRecording,
            "B64",
        ),
        ("a digital channel between 0 and 1", good().field(20, 2, "0.5"), none, NotANumber, "C24"),
        (
            "a row that is too short",
            good().with(|it| it.rows[80].truncate(2)),
            none,
            EmptyCell,
            "C84",
        ),
        (
            "a row that is too long",
            good().with(|it| it.rows[80].push("7".to_owned())),
            none,
            UnknownRow,
            "E84",
        ),
        (
            "a last line of words",
            good().with(|it| it.rows.push(vec!["end of record".to_owned()])),
            none,
            TextForNumber,
            "A404",
        ),
    ]
}

#[test]
fn every_kind_of_bad_file_is_an_error_with_its_cell() {
    let all = cases();
    assert!(all.len() >= 40, "{}", all.len());
    let mut troubles = Vec::new();
    for (what, file, words, name, cell) in all {
        match of(&file, words) {
            Ok(stops) => troubles.push(format!("{what}: {} stops, and no problem", stops.len())),
            Err(problems) => {
                let found = |problem: &Diagnostic| {
                    let place = problem.place.as_ref().map(|it| it.to_text()).unwrap_or_default();
                    let wanted = if cell.is_empty() {
                        "a.csv".to_owned()
                    } else {
                        format!("a.csv ▸ {cell}")
                    };
                    let at = if cell == "B" { place.starts_with(&wanted) } else { place == wanted };
                    problem.name == name && at && !problem.remedy.is_empty()
                };
                if !problems.iter().any(found) {
                    let all: Vec<String> =
                        problems.iter().map(standstill::diagnostic::render_line).collect();
                    troubles.push(format!(
                        "{what}: wanted {} at {cell}, found\n    {}",
                        name.word(),
                        all.join("\n    ")
                    ));
                }
            }
        }
    }
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
}

/// Fields that are not numbers, in every column and in every part of the stop: always the cell itself.
#[test]
fn a_field_that_is_not_a_number_is_an_error_wherever_it_stands() {
    let fields = [
        "", " ", "abc", "NaN", "nan", "inf", "-inf", "1e999", "1 450", "1'450", "1,450", "0x1F",
        "1.4.5", "1e", "--1", "+-1", "#DIV/0!", "12:30:01", "2026-06-15", "OVERFLOW", "1450rpm",
        "½", "１",
    ];
    let mut count = 0;
    for field in fields {
        for row in [0, 59, 60, 150, 399] {
            for (column, letter) in ["A", "B", "C", "D"].into_iter().enumerate() {
                let problems = of(&good().field(row, column, field), &[]).expect_err(field);
                let cell = format!("a.csv ▸ {letter}{}", row + FIRST);
                let found = problems
                    .iter()
                    .any(|it| it.place.as_ref().is_some_and(|it| it.to_text() == cell));
                assert!(found, "`{field}` in {cell}: {problems:?}");
                count += 1;
            }
        }
    }
    assert_eq!(count, fields.len() * 20);
}

#[test]
fn what_is_not_a_text_is_said() {
    let wide: Vec<u8> = good().text().encode_utf16().flat_map(u16::to_le_bytes).collect();
    let marked: Vec<u8> = [0xff, 0xfe].into_iter().chain(wide.iter().copied()).collect();
    for (name, bytes) in [
        ("a.csv", Vec::new()),
        ("a.csv", marked),
        ("a.csv", wide),
        ("a.xlsx", good().text().into_bytes()),
        ("a.ods", b"PK".to_vec()),
    ] {
        let plan = plan(name, &[]);
        let problems = judged(name, bytes, &plan).unwrap_err();
        assert_eq!(problems[0].name, Name::UnreadableFile, "{problems:?}");
    }
}

/// A hostile file says no more than twenty problems.
#[test]
fn a_file_full_of_words_ends_soon() {
    let file = good().each(|_, row| row[1] = "x".to_owned());
    assert_eq!(of(&file, &[]).unwrap_err().len(), 20);
}

/// Plans that are wrong: each is an error before any file is opened.
#[test]
fn a_wrong_plan_is_an_error_before_a_file_is_opened() {
    for (words, name) in [
        (&["a.csv", "sped=n"] as &[&str], Name::RecordingPlan),
        (&["a.csv"], Name::RecordingPlan),
        (&["a.csv", "a.csv"], Name::AskedTwice),
        (&["a.csv", "time=t in ms", "time=t in s"], Name::TwoStatements),
        (&["a.csv", "speed=n", "position=p"], Name::TwoStatements),
        (&["a.csv", "standstill=10"], Name::MissingUnit),
        (&["a.csv", "standstill=0 r/min"], Name::OutOfRange),
        (&["a.csv", "standstill=10 Hz"], Name::WrongPowerOfRad),
        (&["a.csv", "stop=cmd"], Name::RecordingPlan),
        (&["a.csv", "t_ramp=0.3 s"], Name::RecordingPlan),
        (&["a.csv", "measured=15.06.2026"], Name::RecordingPlan),
        (&["a.csv", "measured=2026-06-15", "next=2026-06-14"], Name::RecordingPlan),
        (&["a.csv", "J=1 kg·m²", "torque=1 N·m"], Name::TwoStatements),
        (&["a.csv", "decimal_comma=maybe"], Name::RecordingPlan),
        (&["a.csv", "filter=8"], Name::MissingUnit),
        (&["a.csv", "least=12 r/min", "standstill=10 r/min"], Name::OutOfRange),
        (&["a.csv", "least=1 r/min", "position=p"], Name::RecordingPlan),
        (
            &[
                "time=t in ms", "speed=n in r/min", "stop=s falls", "standstill=10 r/min",
                "error=0 r/min",
            ],
            Name::RecordingPlan,
        ),
    ] {
        let words: Vec<String> = words.iter().map(|&it| it.to_owned()).collect();
        let problems = Plan::read(None, &words).unwrap_err();
        assert!(problems.iter().any(|it| it.name == name), "{words:?}: {problems}");
        assert!(problems.iter().all(|it| !it.remedy.is_empty()));
    }
}

/// A stop whose delay ends long after the machine stands still shows its delay.
#[test]
fn a_delay_that_ends_long_after_standstill_is_measured() {
    let late = good().each(|at, row| row[3] = if at < 380 { "1" } else { "0" }.to_owned());
    let stops = of(&late, &["hold=100 ms"]).unwrap();
    // rows 379 and 380 lie 639 ms after the command, which lies between rows 59 and 60
    assert!((stops[0].delay.unwrap().value - 0.64).abs() < 1e-9, "{:?}", stops[0].delay);
}

/// A point with three digits behind it may part thousands: asked wherever a person types a quantity into a plan.
#[test]
fn a_point_that_may_part_thousands_is_asked_in_a_plan() {
    for word in ["standstill", "error"] {
        for (number, asked) in [
            ("1.450", true),
            ("12.125", true),
            ("0.321", false),
            ("1.45", false),
            ("12.1250", false),
        ] {
            let words = ["a.csv".to_owned(), format!("{word}={number} r/min")];
            let read =
                Plan::read(None, &words).map(|_| ()).map_err(|problems| format!("{problems:?}"));
            let found = read.err().is_some_and(|problems| problems.contains("may be thousands"));
            assert_eq!(found, asked, "{word}={number}");
        }
    }
}
