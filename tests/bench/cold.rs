//! How long a person waits: the start of the program, the library, sheets of any length.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use standstill::Sheet;

use crate::measure::{Pair, median, paired};

/// `standstill run safe-stop …` from start to end, beside the start of the same program that only says its
/// version.
pub(crate) fn start(standstill: &Path) -> Pair {
    let run = |words: &[&str]| {
        let done = Command::new(standstill).args(words).stdout(Stdio::null()).status();
        assert!(done.unwrap().code().is_some_and(|code| code < 2));
    };
    let asked = [
        "run", "safe-stop", "J_load=0.2 kg·m²", "i=5", "J_motor=0.0018 kg·m²",
        "J_brake=0.0003 kg·m²", "n_0=1450 r/min", "T_0=1.6 N·m", "t_ramp=0.3 s", "T_max=12 N·m",
        "n_ref=1500 r/min", "t_resp=20 ms", "t_ramp_step=0.01 s", "t_ramp_low=0.01 s",
        "t_ramp_high=600 s", "t_delay_step=10 ms", "t_delay_low=10 ms", "t_delay_high=300000 ms",
        "C_link=470 µF", "U_0=565 V", "U_chop=780 V", "U_trip=820 V", "I_max=5 A", "T_load=0 N·m",
        "f=0 %", "tol_ramp=5 %", "tol_delay=2 %", "chopper=yes", "R_min=0 Ω", "t_network=0 ms",
        "Z=0 mm", "t_cycle=6 s", "t_sensor=14 ms", "t_logic=20 ms", "t_drive=10 ms",
        "edition=2010", "d=14 mm", "S_there=2500 mm",
    ];
    paired(41, || run(&asked), || run(&["--version"]))
}

/// Seconds to read and check every sheet of the library, and how many there are.
pub(crate) fn library() -> (f64, usize) {
    let names: Vec<_> = standstill::library::SHEETS.iter().map(|sheet| sheet.name).collect();
    let all = || names.iter().map(|name| Sheet::library(name).unwrap()).collect::<Vec<_>>();
    let times = (0..15).map(|_| {
        let start = Instant::now();
        let sheets = std::hint::black_box(all());
        let seconds = start.elapsed().as_secs_f64();
        drop(sheets);
        seconds
    });
    (median(times.collect()), names.len())
}

/// Seconds to read and check a sheet of so many lines.
pub(crate) fn lines(count: usize) -> f64 {
    let mut text = String::from(
        "sheet long\ntitle \"Long\"\nsource \"none, for measuring\"\ntakes\n  x_0 : ratio \"first\"\nworks\n",
    );
    for line in 1..count {
        text += &format!("  x_{line} = x_{} * 2 + {line}   \"line {line}\"\n", line - 1);
    }
    text += &format!("gives\n  x_{}\n", count - 1);
    once(|| Sheet::parse("long.sheet", &text).unwrap())
}

/// Seconds to read and check so many sheets.
pub(crate) fn sheets(count: usize) -> f64 {
    let names: Vec<_> = standstill::library::SHEETS.iter().map(|sheet| sheet.name).collect();
    once(|| {
        names
            .iter()
            .cycle()
            .take(count)
            .map(|name| Sheet::library(name).unwrap())
            .collect::<Vec<_>>()
    })
}

fn once<A>(work: impl Fn() -> A) -> f64 {
    let start = Instant::now();
    let done = std::hint::black_box(work());
    let seconds = start.elapsed().as_secs_f64();
    drop(done);
    seconds
}
