//! Samples of a recorder passing by, against the `csv` crate reading the same file into numbers. Each is a process of
//! its own, so that its peak of memory is its own.

use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};
use std::process::Command;

use standstill::environment::RealFs;
use standstill::recording::{Plan, read};

use crate::floor::{Took, measured};
use crate::measure::median;

/// The first argument of a process that reads samples.
pub(crate) const CHILD: &str = "--samples";

/// If this process was started to read samples, it does that and says so.
#[must_use]
pub(crate) fn child() -> bool {
    let words: Vec<String> = std::env::args().collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        [_, CHILD, "ours", path] => drop(ours(path)),
        // a sum that is not a number would be one of a file that was not read
        [_, CHILD, "csv", path] => assert!(other(path).is_finite()),
        _ => return false,
    }
    true
}

/// A file of so many samples at 10 kHz, a stop every four seconds.
pub(crate) fn make(folder: &Path, samples: u32) -> PathBuf {
    let path = folder.join("samples.csv");
    let mut file = BufWriter::new(File::create(&path).unwrap());
    writeln!(file, "t / ms;n / (r/min);stop;torque").unwrap();
    for k in 0..samples {
        let t = f64::from(k % 40_000) * 1e-4 - 2.0;
        let wave = f64::from(k.wrapping_mul(7919) % 13) * 0.1 - 0.6;
        let n = (1450.0 - (t - 0.02).max(0.0) / 0.3 * 1450.0).clamp(0.0, 1450.0) + wave;
        let ms = f64::from(k) * 0.1;
        writeln!(file, "{ms:.1};{n:.2};{};{}", u8::from(t < 0.0), u8::from(t < 0.36)).unwrap();
    }
    path
}

/// Stops and samples of a file.
fn ours(path: &str) -> (usize, u64) {
    let words = [
        path, "time=t", "speed=n", "stop=stop falls", "removed=torque falls",
        "standstill=10 r/min", "error=0 r/min",
    ];
    let plan = Plan::read(None, &words.map(str::to_owned)).unwrap();
    let found = read(&plan.recordings[0], &plan, &RealFs::default()).unwrap();
    (found.stops.len(), found.samples)
}

/// The sum of all numbers of a file.
fn other(path: &str) -> f64 {
    let mut rows = csv::ReaderBuilder::new().delimiter(b';').from_path(path).unwrap();
    let mut record = csv::ByteRecord::new();
    let mut sum = 0.0;
    while rows.read_byte_record(&mut record).unwrap() {
        for field in &record {
            sum += std::str::from_utf8(field).unwrap().parse::<f64>().unwrap();
        }
    }
    sum
}

/// Stops found; medians of both ways, in turn, and of their ratio in time.
pub(crate) struct Found {
    pub(crate) stops: usize,
    pub(crate) ours: Took,
    pub(crate) other: Took,
    pub(crate) ratio: f64,
}

pub(crate) fn compare(folder: &Path, samples: u32, repeats: usize) -> Found {
    let path = make(folder, samples);
    let path = path.to_str().unwrap();
    let (stops, read) = ours(path);
    // the results are compared before the clock starts
    assert_eq!((stops, read), (usize::try_from(samples / 40_000).unwrap(), u64::from(samples)));
    let own = std::env::current_exe().unwrap();
    let run = |how: &str| measured(Command::new(&own).args([CHILD, how, path]));
    let runs: Vec<[Took; 2]> = (0..repeats).map(|_| [run("ours"), run("csv")]).collect();
    let middle = |at: usize| Took {
        seconds: median(runs.iter().map(|it| it[at].seconds).collect()),
        peak: median(runs.iter().map(|it| it[at].peak as f64).collect()) as u64,
    };
    let ratio = median(runs.iter().map(|it| it[0].seconds / it[1].seconds).collect());
    Found { stops, ours: middle(0), other: middle(1), ratio }
}
