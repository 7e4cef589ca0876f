//! `standstill range` against the bare floor: the same cells read by `calamine` and written by
//! `rust_xlsxwriter`, with no calculation between. Each run is a process of its own, so that its peak of
//! memory is its own.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use calamine::{Data, DataRef, Reader, Xlsx, open_workbook};
use rust_xlsxwriter::{Workbook, Worksheet};

/// What one run took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Took {
    /// Wall time.
    pub(crate) seconds: f64,
    /// The most memory held at once, in bytes: `VmHWM` of the process.
    pub(crate) peak: u64,
}

/// A run of the floor and one of ours, side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pair {
    /// Reading all cells into memory, writing them from memory.
    pub(crate) floor: Took,
    /// Reading and writing row by row, the leanest way that both libraries offer.
    pub(crate) streaming: Took,
    /// `standstill range`.
    pub(crate) ours: Took,
}

/// The first argument of a process that is a floor.
pub(crate) const CHILD: &str = "--bare-floor";

/// Inputs of a row, and results that are written for it.
const INPUTS: u16 = 12;
const RESULTS: u16 = 10;

/// Name, kind, unit, least and largest value of the inputs.
const TAKEN: [(&str, &str, f64, f64); INPUTS as usize] = [
    ("J_1", "kg·m²", 1.0, 2.0),
    ("J_2", "kg·m²", 1.0, 3.0),
    ("n_0", "r/min", 100.0, 3000.0),
    ("n_1", "r/min", 100.0, 900.0),
    ("T_1", "N·m", 10.0, 90.0),
    ("T_2", "N·m", 10.0, 40.0),
    ("t_1", "ms", 10.0, 40.0),
    ("t_2", "ms", 10.0, 40.0),
    ("i", "", 1.0, 9.0),
    ("eta", "%", 50.0, 99.0),
    ("r", "mm", 50.0, 300.0),
    ("t_c", "s", 5.0, 60.0),
];

/// The sheet that is calculated.
const SHEET: &str = include_str!("wide.sheet");

/// If this process was started as a floor, it does that and says so.
#[must_use]
pub(crate) fn child() -> bool {
    let words: Vec<String> = std::env::args().collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        [_, CHILD, "whole", from, to] => whole(Path::new(from), Path::new(to)),
        [_, CHILD, "streaming", from, to] => streaming(Path::new(from), Path::new(to)),
        _ => return false,
    }
    true
}

/// Writes a line of so many rows and its sheet into a folder.
pub(crate) fn make_line(folder: &Path, rows: u32) {
    std::fs::write(folder.join("wide.sheet"), SHEET).unwrap();
    let mut book = Workbook::new();
    let tab = book.add_worksheet_with_constant_memory().unwrap();
    tab.set_name("Line").unwrap();
    tab.write(0, 0, "sheet wide").unwrap();
    tab.write(2, 0, "variant").unwrap();
    for (column, (name, unit, ..)) in (1..).zip(TAKEN) {
        let heading = if unit.is_empty() { name.to_owned() } else { format!("{name} / ({unit})") };
        tab.write(2, column, heading).unwrap();
    }
    // a plain congruential sequence, the same each time
    let mut state = 1_u64;
    for row in 0..rows {
        tab.write(3 + row, 0, format!("V{row}")).unwrap();
        for (column, (.., low, high)) in (1..).zip(TAKEN) {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let share = (state >> 40) as f64 / f64::from(1 << 24);
            let value = ((low + share * (high - low)) * 1000.0).round() / 1000.0;
            tab.write(3 + row, column, value).unwrap();
        }
    }
    book.save(folder.join("line.xlsx")).unwrap();
}

/// Runs each once on the line in a folder; `standstill` is the program.
#[must_use]
pub(crate) fn pair(folder: &Path, standstill: &Path) -> Pair {
    let own = std::env::current_exe().unwrap();
    let floor = |how: &str| {
        measured(
            Command::new(&own).args([CHILD, how, "line.xlsx", "floor.xlsx"]).current_dir(folder),
        )
    };
    let ours = ["range", "line.xlsx", "-o", "ours.xlsx", "--force"];
    Pair {
        floor: floor("whole"),
        streaming: floor("streaming"),
        ours: measured(Command::new(standstill).args(ours).current_dir(folder)),
    }
}

/// Of each figure the median over so many pairs.
#[must_use]
pub(crate) fn median(pairs: &[Pair]) -> Pair {
    let middle = |of: &dyn Fn(&Pair) -> Took| {
        let mut seconds: Vec<f64> = pairs.iter().map(|pair| of(pair).seconds).collect();
        let mut peaks: Vec<u64> = pairs.iter().map(|pair| of(pair).peak).collect();
        seconds.sort_by(f64::total_cmp);
        peaks.sort_unstable();
        Took { seconds: seconds[seconds.len() / 2], peak: peaks[peaks.len() / 2] }
    };
    Pair {
        floor: middle(&|pair| pair.floor),
        streaming: middle(&|pair| pair.streaming),
        ours: middle(&|pair| pair.ours),
    }
}

/// Runs a process to its end and watches its peak of memory.
pub(crate) fn measured(command: &mut Command) -> Took {
    let start = Instant::now();
    let mut running = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    let status = format!("/proc/{}/status", running.id());
    let mut peak = 0;
    let ended = loop {
        // the kernel keeps the highest mark itself; the last reading is the peak but for the last moment
        let printed = std::fs::read_to_string(&status).unwrap_or_default();
        let mark = printed.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kilobytes = mark.and_then(|mark| mark.trim().trim_end_matches(" kB").parse().ok());
        peak = kilobytes.map_or(peak, |kilobytes: u64| kilobytes * 1024).max(peak);
        if let Some(ended) = running.try_wait().unwrap() {
            break ended;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    // a line in which checks fail ends with 1
    assert!(ended.code().is_some_and(|code| code < 2), "{command:?} ended with {ended}");
    Took { seconds: start.elapsed().as_secs_f64(), peak }
}

/// What a result column holds where nothing is calculated: digits as many as ours.
fn result(column: u16, row: u32) -> f64 {
    f64::from(row + 1) / (7.0 + f64::from(column))
}

/// What the status column holds.
const STATUS: &str = "both checks hold";

fn results(tab: &mut Worksheet, row: u32) {
    for column in 0..RESULTS {
        let at = 1 + INPUTS + column;
        if row == 2 {
            tab.write(row, at, format!("result {column}")).unwrap();
        } else {
            tab.write(row, at, result(column, row)).unwrap();
        }
    }
    let words = if row == 2 { "status" } else { STATUS };
    tab.write(row, 1 + INPUTS + RESULTS, words).unwrap();
}

fn whole(from: &Path, to: &Path) {
    let mut book: Xlsx<_> = open_workbook(from).unwrap();
    let cells = book.worksheet_range("Line").unwrap();
    let mut fresh = Workbook::new();
    let tab = fresh.add_worksheet();
    for (row, column, cell) in cells.used_cells() {
        let (row, column) = (u32::try_from(row).unwrap(), u16::try_from(column).unwrap());
        match cell {
            Data::Float(number) => drop(tab.write(row, column, *number).unwrap()),
            Data::String(text) => drop(tab.write(row, column, text).unwrap()),
            other => panic!("{other}"),
        }
    }
    (2..u32::try_from(cells.height()).unwrap()).for_each(|row| results(tab, row));
    fresh.save(to).unwrap();
}

fn streaming(from: &Path, to: &Path) {
    let mut book: Xlsx<_> = open_workbook(from).unwrap();
    let mut cells = book.worksheet_cells_reader("Line").unwrap();
    let mut fresh = Workbook::new();
    let tab = fresh.add_worksheet_with_constant_memory().unwrap();
    let mut last = 0;
    while let Some(cell) = cells.next_cell().unwrap() {
        let (row, column) = cell.get_position();
        if row > last && last >= 2 {
            results(tab, last);
        }
        last = row;
        let column = u16::try_from(column).unwrap();
        match cell.get_value() {
            DataRef::Float(number) => drop(tab.write(row, column, *number).unwrap()),
            DataRef::String(text) => drop(tab.write(row, column, text).unwrap()),
            DataRef::SharedString(text) => drop(tab.write(row, column, *text).unwrap()),
            other => panic!("{other:?}"),
        }
    }
    results(tab, last);
    fresh.save(to).unwrap();
}
