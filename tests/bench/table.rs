//! The table: what, how long, against what, ratio, goal.

use std::path::Path;

use crate::columns::SUBJECTS;
use crate::{cold, columns, filling, floor, other, recorded, systems};

/// Rows of the columns.
const ROWS: usize = 1_000_000;
/// Samples of a recording.
const SAMPLES: u32 = 10_000_000;
/// Rows of the workbooks.
const BOOK_ROWS: u32 = 100_000;

/// Measures and prints every line that begins with one of the words; all without any.
pub(crate) fn print(asked: &[String]) {
    let wanted =
        |name: &str| asked.is_empty() || asked.iter().any(|word| name.starts_with(word.as_str()));
    let folder = tempfile::tempdir().unwrap();
    let standstill = Path::new(env!("CARGO_BIN_EXE_standstill"));
    println!("| what | measured | against | ratio | goal |");
    println!("| --- | --- | --- | --- | --- |");
    if wanted("columns") {
        on_columns();
    }
    if wanted("units library") {
        with_units_library(folder.path(), standstill);
    }
    if wanted("range") {
        of_range(folder.path(), standstill);
    }
    if wanted("fill") {
        let pair = filling::compare(folder.path(), standstill, BOOK_ROWS, 5);
        let ratio = pair.ratio;
        line(
            "`fill` of one block in a tab of 100 000 rows",
            &s(pair.ours),
            &format!("unzipping and zipping that tab {}", s(pair.other)),
            &format!("{ratio:.2}"),
            "1.3",
        );
    }
    if wanted("recorded") {
        of_recorded(folder.path());
    }
    if wanted("start") {
        of_start(standstill);
    }
    if wanted("number systems") {
        of_systems();
    }
    if wanted("what-if") {
        match other::what_if(folder.path(), standstill) {
            Some(found) => {
                line("what-if, one change of `safe-stop`", &format!("{found}"), "", "", "4 ms")
            }
            None => line(
                "what-if, one change of `safe-stop`", "not measured: no browser", "", "", "4 ms",
            ),
        }
    }
}

fn on_columns() {
    for subject in SUBJECTS {
        let found = columns::compare(subject, ROWS, 5);
        let name = subject.name;
        line(
            &format!(
                "columns, `{name}`, 1 000 000 rows, {:.1} % of them with a tie",
                found.settled * 100.0
            ),
            &s(found.by_hand.ours),
            &format!(
                "by hand in plain f64 {}, {:.1} % of the rows wrong at a tie",
                s(found.by_hand.other),
                found.wrong_by_hand * 100.0
            ),
            &format!("{:.2}", found.by_hand.ratio),
            "1.25",
        );
        line(
            &format!("columns, `{name}`, two threads"),
            &s(found.threads.other),
            &format!("one thread {}", s(found.threads.ours)),
            &format!("{:.2} × faster", found.threads.ratio),
            "1.8 × faster",
        );
    }
}

fn with_units_library(folder: &Path, standstill: &Path) {
    let what = "units library, `ramp-stop` in a workbook of 5000 rows, `range`";
    let Some(found) = other::units_library(folder, standstill) else {
        line(what, "not measured: no pint, openpyxl, numpy", "", "", "report");
        return;
    };
    let seconds = |name: &str| found[name].as_f64().unwrap_or(f64::NAN);
    for name in ["row by row", "by columns"] {
        line(
            what,
            &s(seconds("ours")),
            &format!("pint {name} with openpyxl {}", s(seconds(name))),
            &format!("{:.1} × faster", seconds(name) / seconds("ours")),
            "report",
        );
    }
}

fn of_range(folder: &Path, standstill: &Path) {
    floor::make_line(folder, BOOK_ROWS);
    let pairs: Vec<_> = (0..3).map(|_| floor::pair(folder, standstill)).collect();
    let floor::Pair { floor, streaming, ours } = floor::median(&pairs);
    for (name, floor, goals) in
        [("in memory", floor, ["1.10", "1.2"]), ("streaming", streaming, ["report"; 2])]
    {
        line(
            "`range`, 100 000 rows × 12 inputs × 10 results, time",
            &s(ours.seconds),
            &format!("calamine and rust_xlsxwriter {name} {}", s(floor.seconds)),
            &format!("{:.2}", ours.seconds / floor.seconds),
            goals[0],
        );
        line(
            "`range`, peak of memory",
            &mib(ours.peak),
            &format!("the same, {name} {}", mib(floor.peak)),
            &format!("{:.2}", ours.peak as f64 / floor.peak as f64),
            goals[1],
        );
    }
}

fn of_recorded(folder: &Path) {
    let recorded::Found { stops, ours, other, ratio } = recorded::compare(folder, SAMPLES, 3);
    line(
        &format!("recorded samples, 10 000 000, with {stops} stops in them, time"),
        &s(ours.seconds),
        &format!("`csv` reading the same file into numbers {}", s(other.seconds)),
        &format!("{ratio:.2}"),
        "1.6",
    );
    line(
        "recorded samples, peak of memory",
        &mib(ours.peak),
        &format!("the same {}", mib(other.peak)),
        &format!("{:.1}", ours.peak as f64 / other.peak as f64),
        "report",
    );
}

fn of_start(standstill: &Path) {
    let start = cold::start(standstill);
    line(
        "start, `run safe-stop …` to its end",
        &ms(start.ours),
        &format!("the same program with `--version` {}", ms(start.other)),
        &format!("{:.1}", start.ratio),
        "15 ms",
    );
    let (library, count) = cold::library();
    line(
        "start, the whole library read and checked",
        &ms(library),
        &format!("a sheet of it {}", us(library / count as f64)),
        "",
        "20 ms",
    );
    let sheets = [1000, 10_000].map(|count| cold::sheets(count) / count as f64);
    line(
        "start, a sheet among 10 000",
        &us(sheets[1]),
        &format!("among 1000 {}", us(sheets[0])),
        &format!("{:.2}", sheets[1] / sheets[0]),
        "1",
    );
    let lines = [1000, 10_000, 100_000].map(|count| cold::lines(count) / count as f64);
    for (at, count) in ["10 000", "100 000"].iter().enumerate() {
        line(
            &format!("start, a line of a sheet of {count}"),
            &us(lines[at + 1]),
            &format!("of 1000 {}", us(lines[0])),
            &format!("{:.2}", lines[at + 1] / lines[0]),
            "1",
        );
    }
}

fn of_systems() {
    let found = systems::measure();
    let against = format!("one row in f64 columns {}", us(found.f64_row));
    let goal = 1.0 + 0.5 * found.inputs as f64;
    for (name, seconds, goal) in [
        ("exact decimals", found.exact, "report".to_owned()),
        ("bounds, ± on every column", found.bounds, "6".to_owned()),
        ("slopes of every input", found.slopes, format!("{goal:.0}")),
    ] {
        line(
            &format!("number systems, `safe-stop` with drag, {name}"),
            &ms(seconds),
            &against,
            &format!("{:.0}", seconds / found.f64_row),
            &goal,
        );
    }
    line(
        "number systems, bounds and slopes beside exact decimals",
        &format!("{} and {}", ms(found.bounds), ms(found.slopes)),
        &format!("exact decimals {}", ms(found.exact)),
        &format!("{:.1} and {:.1}", found.bounds / found.exact, found.slopes / found.exact),
        "report",
    );
}

fn line(what: &str, measured: &str, against: &str, ratio: &str, goal: &str) {
    println!("| {what} | {measured} | {against} | {ratio} | {goal} |");
}

fn mib(bytes: u64) -> String {
    format!("{:.0} MiB", bytes as f64 / f64::from(1 << 20))
}

fn s(seconds: f64) -> String {
    format!("{seconds:.3} s")
}

fn ms(seconds: f64) -> String {
    format!("{:.1} ms", seconds * 1e3)
}

fn us(seconds: f64) -> String {
    format!("{:.2} µs", seconds * 1e6)
}
