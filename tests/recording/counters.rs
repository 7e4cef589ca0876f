//! Counters and clocks that begin again: read right where it is said, asked where it is not, and never a wrong figure.

use std::fmt::Write as _;

use standstill::diagnostic::Name;
use standstill::recording::{Plan, Stop, judge, read};

use super::{OneFile, WORDS};

/// 1450 r/min down to standstill in 0.3 s, from 20 ms after the command.
const TIME: f64 = 0.32;
const N_0: f64 = 1450.0;

/// Turned since the command, in r.
fn turned(t: f64) -> f64 {
    let s = (t - 0.02).clamp(0.0, 0.3);
    N_0 / 60.0 * (t.min(0.02) + s - s * s / 0.6)
}

/// A recording of a counter, one sample a millisecond: counts, the clock, its row of headings.
fn text(count: &dyn Fn(f64) -> i64, clock: &dyn Fn(i64) -> i64, unit: &str) -> String {
    let mut text = format!("t / {unit};p / counts;stop;torque\n");
    for k in -700..900_i64 {
        let t = (k as f64 + 0.4) * 1e-3;
        let counts = count(turned(t) * 4096.0);
        writeln!(text, "{};{counts};{};1", clock(k), u8::from(t < 0.0)).unwrap();
    }
    text
}

/// The stop with how often clock and counter began again, or the names of the problems.
fn judged(text: String, time: &str, wraps: &str) -> Result<(Stop, [u64; 2]), Vec<Name>> {
    let position = format!("position=p scale 1 r per 4096 counts{wraps}");
    let own = ["a.csv", &format!("time={time}"), &position, "filter=10 ms", "standstill=20 r/min"]
        .map(str::to_owned);
    let rest = ["speed=", "time=", "standstill=", "removed="];
    let rest = WORDS.iter().filter(|it| !rest.iter().any(|key| it.starts_with(key)));
    let words: Vec<String> = own.into_iter().chain(rest.map(|it| (*it).to_owned())).collect();
    let plan = Plan::read(None, &words).unwrap();
    let names = |it: Vec<standstill::diagnostic::Diagnostic>| {
        assert!(it.iter().all(|it| !it.remedy.is_empty()));
        it.iter().map(|it| it.name).collect::<Vec<_>>()
    };
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text))
        .map_err(|it| names(it.into_vec()))?;
    Ok((judge(&file.stops[0], &plan).map_err(names)?, file.wraps))
}

fn is_right(stop: &Stop) -> bool {
    let angle = stop.turned.value / std::f64::consts::TAU - turned(TIME);
    (stop.time.value - TIME).abs() <= stop.time.u
        && stop.time.u < 8e-3
        && angle.abs() * std::f64::consts::TAU <= stop.turned.u
}

fn floor(x: f64) -> i64 {
    x.floor() as i64
}

/// Counters of 12, 16 and 32 bits that count up or down, with and without a sign, from many starts.
#[test]
fn a_counter_that_begins_again_is_read_on_or_asked() {
    let (mut read_on, mut asked) = (0, 0);
    for bits in [12, 16, 32] {
        let all = 1_i64 << bits;
        for start in 0..24 {
            for (sign, down) in [(0, false), (0, true), (all / 2, false), (all / 2, true)] {
                let count = |counts: f64| {
                    let way = if down { -counts } else { counts };
                    // the whole way is about 17 r before the command and 4.2 r after it
                    let from = all - start * 4096;
                    (floor(way) + from).rem_euclid(all) - sign
                };
                let text = text(&count, &|k| k + 5000, "ms");
                let said = format!(" wraps {all} counts");
                let (stop, wraps) = judged(text.clone(), "t", &said).unwrap();
                assert!(is_right(&stop), "{bits} {start} {sign} {down}: {stop:?}");
                read_on += usize::from(wraps[1] > 0);
                for wrong in ["", " wraps 5000 counts", &format!(" wraps {} counts", all / 2 + 1)] {
                    match judged(text.clone(), "t", wrong) {
                        Ok((stop, _)) => {
                            assert!(is_right(&stop), "{bits} {start} {sign} {down} `{wrong}`");
                        }
                        Err(_) => asked += 1,
                    }
                }
            }
        }
    }
    assert!(read_on > 150 && asked > 150, "{read_on} {asked}");
    // a position that passes zero is no counter that begins again
    for start in [-20_000, -60_000, 5_000] {
        let text = text(&|counts| floor(counts) + start, &|k| k, "ms");
        let (stop, wraps) = judged(text, "t", "").unwrap();
        assert!(is_right(&stop) && wraps == [0, 0], "{start}: {stop:?}");
    }
    // one turn alone, and so few samples that more than half of it lies between two: which way is not known
    let slow = |k: i64| k * 17;
    let text = text(&|counts| floor(counts * 17.0).rem_euclid(4096), &slow, "ms");
    for wraps in ["", " wraps 4096 counts"] {
        assert!(judged(text.clone(), "t", wraps).is_err(), "`{wraps}`");
    }
}

/// Clocks of 16 and 32 bits, and of a day, that begin again at any moment.
#[test]
fn a_clock_that_begins_again_is_read_on_or_asked() {
    let count = |counts: f64| floor(counts) + 100_000;
    for (unit, all, tick) in [("ms", 1_i64 << 16, 1), ("µs", 1 << 32, 1000), ("ms", 86_400_000, 1)]
    {
        for k_0 in [-600, -300, -1, 0, 1, 20, 150, 300, 319, 330, 500, 800] {
            let clock = |k: i64| ((k - k_0) * tick).rem_euclid(all);
            let text = text(&count, &clock, unit);
            let said = format!("t wraps {all} {unit}");
            let (stop, wraps) = judged(text.clone(), &said, "").unwrap();
            assert!(is_right(&stop) && wraps == [1, 0], "{unit} {k_0}: {stop:?}");
            assert_eq!(judged(text, "t", "").unwrap_err(), [Name::TimeNotRising], "{unit} {k_0}");
        }
        // a clock that starts again at another moment than it is said to
        let clock = |k: i64| if k < 100 { k + 5000 } else { k - 100 } * tick;
        let text = text(&count, &clock, unit);
        assert!(judged(text, &format!("t wraps {all} {unit}"), "").is_err(), "{unit}");
    }
}
