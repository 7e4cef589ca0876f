//! Instructions of columns over those of the same formulas by hand, counted by callgrind: the short form that
//! fails where the ratio has grown by more than one part in twenty.

use std::process::{Command, Stdio};

use standstill::number::Columns;

use crate::columns::{SUBJECTS, Subject};

/// The ratios as they were last kept.
const KEPT: &str = include_str!("counts.txt");
/// What a ratio may grow by.
const ALLOWED: f64 = 1.05;
/// The first argument of a process that is counted.
const CHILD: &str = "--counted";
/// Rows of the shorter and of the longer run: their difference is free of the start.
const ROWS: [usize; 2] = [20_480, 40_960];

/// If this process was started to be counted, it does that.
pub(crate) fn child() -> bool {
    let words: Vec<String> = std::env::args().collect();
    let [_, first, name, way, rows] = words.as_slice() else { return false };
    if first != CHILD {
        return false;
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

/// The ratio of every subject; false if one has grown.
pub(crate) fn look() -> bool {
    let mut good = true;
    println!(
        "instructions a row, ours over by hand; allowed is the kept ratio and {:.0} %",
        (ALLOWED - 1.0) * 100.0
    );
    for subject in SUBJECTS {
        let (ours, by_hand) = (counted(subject, "ours"), counted(subject, "by hand"));
        let ratio = ours / by_hand;
        let kept =
            KEPT.lines().find_map(|line| line.strip_prefix(subject.name)?.strip_prefix(": "));
        let kept: f64 = kept.and_then(|kept| kept.trim().parse().ok()).unwrap_or(f64::NAN);
        let holds = ratio <= kept * ALLOWED;
        good &= holds;
        println!(
            "{}: {ratio:.3}   ({ours:.0} / {by_hand:.0}, kept {kept:.3}{})",
            subject.name,
            if holds { "" } else { ", GROWN" }
        );
    }
    good
}

/// Instructions a row.
fn counted(subject: &Subject, way: &str) -> f64 {
    let [short, long] = ROWS.map(|rows| instructions(subject.name, way, rows));
    (long - short) / (ROWS[1] - ROWS[0]) as f64
}

fn instructions(name: &str, way: &str, rows: usize) -> f64 {
    let own = std::env::current_exe().expect("this program");
    let done = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(own)
        .args([CHILD, name, way, &rows.to_string()])
        .stdout(Stdio::null())
        .output()
        .expect("valgrind");
    let told = String::from_utf8_lossy(&done.stderr);
    let count = told.lines().find_map(|line| line.split_once("Collected : "));
    count.and_then(|(_, count)| count.trim().parse().ok()).expect("a count")
}
