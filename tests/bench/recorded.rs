//! Samples of a recorder passing by, against the `csv` crate reading the same file into numbers.

use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};

use standstill::environment::RealFs;
use standstill::recording::{Plan, read};

use crate::measure::{Pair, paired};

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

/// Stops found, and seconds of both.
pub(crate) fn compare(folder: &Path, samples: u32, repeats: usize) -> (usize, Pair) {
    let path = make(folder, samples);
    let file = path.to_str().unwrap();
    let words = [
        file,
        "time=t",
        "speed=n",
        "stop=stop falls",
        "removed=torque falls",
        "standstill=10 r/min",
        "error=0 r/min",
    ];
    let plan = Plan::read(None, &words.map(str::to_owned)).unwrap();
    let ours = || {
        let found = read(&plan.recordings[0], &plan, &RealFs::default()).unwrap();
        (found.stops.len(), found.samples)
    };
    let other = || {
        let mut rows = csv::ReaderBuilder::new().delimiter(b';').from_path(&path).unwrap();
        let mut record = csv::ByteRecord::new();
        let mut sum = 0.0;
        while rows.read_byte_record(&mut record).unwrap() {
            for field in &record {
                sum += std::str::from_utf8(field).unwrap().parse::<f64>().unwrap();
            }
        }
        sum
    };
    let (stops, read) = ours();
    // the results are compared before the clock starts
    assert_eq!((stops, read), (usize::try_from(samples / 40_000).unwrap(), u64::from(samples)));
    (stops, paired(repeats, ours, other))
}
