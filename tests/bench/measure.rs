//! Medians of paired runs.

use std::hint::black_box;
use std::time::Instant;

/// Seconds of two ways to the same thing, and their ratio, medians of runs in turn.
pub(crate) struct Pair {
    pub(crate) ours: f64,
    pub(crate) other: f64,
    pub(crate) ratio: f64,
}

/// Runs both in turn, so that whatever else the machine does falls on both.
pub(crate) fn paired<A, B>(
    repeats: usize,
    mut ours: impl FnMut() -> A,
    mut other: impl FnMut() -> B,
) -> Pair {
    let (mut one, mut two, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..repeats {
        let (a, b) = (seconds(&mut ours), seconds(&mut other));
        one.push(a);
        two.push(b);
        ratios.push(a / b);
    }
    Pair { ours: median(one), other: median(two), ratio: median(ratios) }
}

/// Seconds of one run.
pub(crate) fn seconds<A>(work: &mut impl FnMut() -> A) -> f64 {
    let start = Instant::now();
    let result = black_box(work());
    let seconds = start.elapsed().as_secs_f64();
    drop(result);
    seconds
}

/// The middle of some numbers.
pub(crate) fn median(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    numbers.get(numbers.len() / 2).copied().unwrap_or(f64::NAN)
}
