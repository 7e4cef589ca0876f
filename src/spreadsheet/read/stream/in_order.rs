//! Pieces worked on by several threads at once and handed on in their order, few at a time.

use std::any::Any;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Mutex;
use std::sync::mpsc::{channel, sync_channel};

type PanicPayload = Box<dyn Any + Send>;

/// Takes pieces from `source` until it has none left, hands each to `work` on one of `threads`, and what
/// comes out to `sink` in the order of the source. The first error ends it.
///
/// No more than three pieces a thread are under way at any time.
pub(crate) fn in_order<I: Send, O: Send, E: Send>(
    threads: usize,
    source: &mut (dyn FnMut() -> Result<Option<I>, E> + Send),
    work: &(dyn Fn(I) -> O + Sync),
    sink: &mut dyn FnMut(O) -> Result<(), E>,
) -> Result<(), E> {
    let threads = threads.clamp(1, 256);
    std::thread::scope(|scope| {
        let (give, take) = sync_channel::<(usize, I)>(threads);
        let (done, found) = channel::<Result<(usize, O), PanicPayload>>();
        // one for each piece that may be under way
        let (free, room) = channel::<()>();
        for _ in 0..3 * threads {
            let _ = free.send(());
        }
        let take = std::sync::Arc::new(Mutex::new(take));
        for _ in 0..threads {
            let (take, done) = (std::sync::Arc::clone(&take), done.clone());
            scope.spawn(move || {
                loop {
                    let next = take.lock().ok().and_then(|take| take.recv().ok());
                    let Some((at, piece)) = next else { return };
                    let made = catch_unwind(AssertUnwindSafe(|| (at, work(piece))));
                    if done.send(made).is_err() {
                        return;
                    }
                }
            });
        }
        drop((take, done));
        let reading = scope.spawn(move || {
            let mut at = 0;
            while room.recv().is_ok() {
                match source() {
                    Ok(Some(piece)) => {
                        if give.send((at, piece)).is_err() {
                            break;
                        }
                        at += 1;
                    }
                    Ok(None) => break,
                    Err(error) => return Err(error),
                }
            }
            Ok(())
        });
        let outcome = sorted(&found, &free, sink);
        // whoever still waits sees that nobody listens
        drop((found, free));
        match reading.join() {
            Ok(read) => outcome.and(read),
            Err(panic) => resume_unwind(panic),
        }
    })
}

fn sorted<O, E>(
    found: &std::sync::mpsc::Receiver<Result<(usize, O), PanicPayload>>,
    free: &std::sync::mpsc::Sender<()>,
    sink: &mut dyn FnMut(O) -> Result<(), E>,
) -> Result<(), E> {
    let mut waiting = BTreeMap::new();
    let mut next = 0;
    while let Ok(made) = found.recv() {
        let (at, made) = made.unwrap_or_else(|panic| resume_unwind(panic));
        waiting.insert(at, made);
        while let Some(made) = waiting.remove(&next) {
            sink(made)?;
            next += 1;
            let _ = free.send(());
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_out_is_in_order_whatever_the_number_of_threads() {
        for threads in [1, 2, 7] {
            let mut numbers = 0..100_u64;
            let mut sum = Vec::new();
            in_order::<u64, u64, ()>(
                threads,
                &mut || Ok(numbers.next()),
                &|number| {
                    // the first of each ten takes longest
                    let turns = if number % 10 == 0 { 20_000 } else { 10 };
                    for turn in 0..turns {
                        std::hint::black_box(turn);
                    }
                    number * 2
                },
                &mut |double| {
                    sum.push(double);
                    Ok(())
                },
            )
            .unwrap();
            assert_eq!(sum, (0..100).map(|number| number * 2).collect::<Vec<_>>());
        }
    }

    #[test]
    fn an_error_of_either_end_stops_it() {
        let mut left = 5;
        let outcome = in_order::<u32, u32, &str>(
            2,
            &mut || {
                left -= 1;
                if left > 0 { Ok(Some(left)) } else { Err("read") }
            },
            &|number| number,
            &mut |_| Ok(()),
        );
        assert_eq!(outcome, Err("read"));
        let outcome =
            in_order::<u32, u32, &str>(2, &mut || Ok(Some(1)), &|number| number, &mut |_| {
                Err("written")
            });
        assert_eq!(outcome, Err("written"));
    }

    #[test]
    #[should_panic(expected = "broken piece")]
    fn a_panic_of_a_piece_is_passed_on() {
        let _ = in_order::<u32, u32, ()>(
            2,
            &mut || Ok(Some(1)),
            &|_| panic!("broken piece"),
            &mut |_| Ok(()),
        );
    }
}
