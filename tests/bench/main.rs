//! Speed and memory, each as a ratio to something measured in the same run.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::print_stderr,
    clippy::disallowed_methods,
    clippy::cast_precision_loss,
    reason = "a program for whoever works on the project, on inputs of its own"
)]

mod by_hand;
mod columns;
mod floor;
mod line;
mod measure;

fn main() {
    if floor::child() {
        return;
    }
    let asked: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let rows = 100_000;
    for subject in columns::SUBJECTS {
        if !asked.is_empty() && !asked.iter().any(|word| word == subject.name) {
            continue;
        }
        let pair = columns::compare(subject, rows, 5);
        println!(
            "{}: {:.3} s, by hand {:.3} s: {:.2}",
            subject.name, pair.ours, pair.other, pair.ratio
        );
    }
}
