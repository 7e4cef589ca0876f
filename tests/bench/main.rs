//! `cargo bench`: speed and memory, each as a ratio to something measured in the same run, as one table.
//!
//! `cargo bench -- --counts` is the short form for every change: instructions over those of something counted
//! beside them, which fails where they have grown. `cargo bench -- NAME` measures the lines of the table that
//! begin with a name.

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
mod cold;
mod columns;
mod counts;
mod filling;
mod floor;
mod line;
mod measure;
mod other;
mod recorded;
mod systems;
mod table;

fn main() {
    if floor::child() || counts::child() || recorded::child() {
        return;
    }
    let asked: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if asked.iter().any(|word| word == "--counts") {
        if !counts::look() {
            std::process::exit(1);
        }
        return;
    }
    table::print(&asked);
}
