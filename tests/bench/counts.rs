//! Instructions counted by callgrind, each as a ratio to something counted in the same run: the short form
//! that fails where a ratio has grown by more than one part in twenty.
//!
//! Columns stand over the same formulas by hand, a row of a product line over its cells read and written by
//! the libraries, a row of a filled tab over that tab unpacked and packed, a recorded sample over the row of its
//! file read into numbers, a line of a long sheet over one of a short.

use std::path::Path;
use std::process::{Command, Stdio};

use standstill::number::Columns;

use crate::columns::SUBJECTS;
use crate::{cold, filling, floor, recorded};

/// The ratios as they were last kept.
const KEPT: &str = include_str!("counts.txt");
/// What a ratio may grow by.
const ALLOWED: f64 = 1.05;
/// The first argument of a process that is counted.
const CHILD: &str = "--counted";
/// Rows of the shorter and of the longer run: their difference is free of the start.
const ROWS: [usize; 2] = [20_480, 40_960];
/// Rows of a product line, long enough that the library reads samples.
const LINE_ROWS: [u32; 2] = [8000, 14_000];
/// Rows of a tab that is filled, long enough that its values are read on the way.
const TAB_ROWS: [u32; 2] = [30_000, 40_000];
/// Samples of a recording, in whole stops.
const SAMPLES: [u32; 2] = [80_000, 160_000];
/// Lines of a sheet: short and long.
const LINES: [usize; 3] = [500, 1500, 40_000];

/// If this process was started to be counted, it does that.
pub(crate) fn child() -> bool {
    let words: Vec<String> = std::env::args().collect();
    let [_, first, name, way, rows] = words.as_slice() else { return false };
    if first != CHILD {
        return false;
    }
    match name.as_str() {
        "sheet" => {
            cold::lines(rows.parse().expect("a number"));
            return true;
        }
        "fill" => {
            filling::repacked(Path::new(way), Path::new(rows));
            return true;
        }
        _ => {}
    }
    let subject = SUBJECTS.iter().find(|subject| subject.name == name).expect("a subject");
    let rows: usize = rows.parse().expect("a number");
    let line = subject.line(ROWS[1]);
    if way == "ours" {
        let given = line.given();
        let ready = Columns::new(line.program(), &given);
        drop(std::hint::black_box(ready.run(line.program(), &given, rows, 1)));
    } else {
        drop(std::hint::black_box((subject.by_hand)(&line, 0..rows)));
    }
    true
}

/// Every ratio; false if one has grown.
pub(crate) fn look() -> bool {
    println!(
        "instructions, ours over the other; allowed is the kept ratio and {:.0} %",
        (ALLOWED - 1.0) * 100.0
    );
    let mut good = true;
    for subject in SUBJECTS {
        let row = |way: &str| {
            let run = |rows: usize| {
                of_own(&[CHILD, subject.name, way, &rows.to_string()], Path::new("."))
            };
            (run(ROWS[1]) - run(ROWS[0])) / (ROWS[1] - ROWS[0]) as f64
        };
        good &= holds(subject.name, row("ours"), row("by hand"));
    }
    let standstill = Path::new(env!("CARGO_BIN_EXE_standstill"));
    good &= of_range(standstill) & of_fill(standstill) & of_recorded() & of_sheet();
    good
}

/// A row of `range` over its cells read and written by the libraries.
fn of_range(standstill: &Path) -> bool {
    let [short, long] = LINE_ROWS.map(|rows| {
        let folder = tempfile::tempdir().unwrap();
        floor::make_line(folder.path(), rows);
        let ours = ["range", "line.xlsx", "-o", "ours.xlsx", "--force"];
        let other = [floor::CHILD, "whole", "line.xlsx", "floor.xlsx"];
        (instructions(standstill, &ours, folder.path()), of_own(&other, folder.path()))
    });
    let rows = f64::from(LINE_ROWS[1] - LINE_ROWS[0]);
    holds("range, a row", (long.0 - short.0) / rows, (long.1 - short.1) / rows)
}

/// A row of a filled tab over that tab unpacked and packed.
fn of_fill(standstill: &Path) -> bool {
    let [short, long] = TAB_ROWS.map(|rows| {
        let folder = tempfile::tempdir().unwrap();
        filling::make(&folder.path().join("book.xlsx"), rows);
        let ours = ["fill", "book.xlsx", "-o", "filled.xlsx", "--force"];
        let other = [CHILD, "fill", "book.xlsx", "repacked.xlsx"];
        (instructions(standstill, &ours, folder.path()), of_own(&other, folder.path()))
    });
    let rows = f64::from(TAB_ROWS[1] - TAB_ROWS[0]);
    holds("fill, a row of the tab", (long.0 - short.0) / rows, (long.1 - short.1) / rows)
}

/// A recorded sample over the same row read into numbers by the `csv` crate.
fn of_recorded() -> bool {
    let [short, long] = SAMPLES.map(|samples| {
        let folder = tempfile::tempdir().unwrap();
        let path = recorded::make(folder.path(), samples);
        let run =
            |how: &str| of_own(&[recorded::CHILD, how, path.to_str().unwrap()], folder.path());
        (run("ours"), run("csv"))
    });
    let samples = f64::from(SAMPLES[1] - SAMPLES[0]);
    holds("a recorded sample", (long.0 - short.0) / samples, (long.1 - short.1) / samples)
}

/// A line of a long sheet over one of a short.
fn of_sheet() -> bool {
    let [short, middle, long] =
        LINES.map(|lines| of_own(&[CHILD, "sheet", "-", &lines.to_string()], Path::new(".")));
    let line = |from: f64, to: f64, lines: usize| (to - from) / lines as f64;
    holds(
        "a line of a sheet of 40 000",
        line(middle, long, LINES[2] - LINES[1]),
        line(short, middle, LINES[1] - LINES[0]),
    )
}

/// Says what was counted, and whether the ratio is what was kept.
fn holds(name: &str, ours: f64, other: f64) -> bool {
    let ratio = ours / other;
    let kept = KEPT.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(": "));
    let kept: f64 = kept.and_then(|kept| kept.trim().parse().ok()).unwrap_or(f64::NAN);
    let holds = ratio <= kept * ALLOWED;
    println!(
        "{name}: {ratio:.3}   ({ours:.0} / {other:.0}, kept {kept:.3}{})",
        if holds { "" } else { ", GROWN" }
    );
    holds
}

fn of_own(words: &[&str], folder: &Path) -> f64 {
    instructions(&std::env::current_exe().expect("this program"), words, folder)
}

fn instructions(program: &Path, words: &[&str], folder: &Path) -> f64 {
    let done = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(program)
        .args(words)
        .current_dir(folder)
        .stdout(Stdio::null())
        .output()
        .expect("valgrind");
    let printed = String::from_utf8_lossy(&done.stderr);
    let count = printed.lines().find_map(|line| line.split_once("Collected : "));
    count.and_then(|(_, count)| count.trim().parse().ok()).expect("a count")
}
