//! Pieces of one calculation on several cores.

use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How many threads this machine runs at once.
pub(crate) fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, NonZero::get)
}

/// What `work` makes of every number below `count`, in their order, whatever the number of threads; a panic is
/// passed on.
pub(crate) fn side_by_side<T: Send>(
    count: usize,
    threads: usize,
    work: &(dyn Fn(usize) -> T + Sync),
) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let own = || -> Vec<(usize, T)> {
        let numbers = std::iter::from_fn(|| Some(next.fetch_add(1, Ordering::Relaxed)));
        numbers.take_while(|at| *at < count).map(|at| (at, work(at))).collect()
    };
    let mut all = std::thread::scope(|scope| {
        let others: Vec<_> =
            (1..threads.clamp(1, 256).min(count)).map(|_| scope.spawn(own)).collect();
        let mut all = own();
        for other in others {
            all.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        }
        all
    });
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, made)| made).collect()
}
