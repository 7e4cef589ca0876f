//! `cargo bench --bench range`: `standstill range` on 100 000 rows × 12 inputs × 10 results, xlsx to xlsx,
//! against the bare floor. `cargo bench --bench range -- 10000` for another number of rows.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, clippy::print_stdout)]
#![allow(clippy::disallowed_methods, missing_docs)]

mod floor;

fn main() {
    if floor::child() {
        return;
    }
    let rows = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(100_000);
    let folder = tempfile::tempdir().unwrap();
    floor::make_line(folder.path(), rows);
    let standstill = std::path::Path::new(env!("CARGO_BIN_EXE_standstill"));
    let pairs: Vec<_> = (0..3).map(|_| floor::pair(folder.path(), standstill)).collect();
    let floor::Pair { floor, streaming, ours } = floor::median(&pairs);
    let mib = |bytes: u64| bytes as f64 / f64::from(1 << 20);
    println!("{rows} rows × 12 inputs × 10 results, xlsx to xlsx, medians of three");
    for (name, took) in
        [("floor, cells in memory", floor), ("floor, streaming", streaming), ("range", ours)]
    {
        println!("  {name:24} {:6.2} s  {:6.1} MiB", took.seconds, mib(took.peak));
    }
    for (name, floor) in [("floor, cells in memory", floor), ("floor, streaming", streaming)] {
        println!(
            "  range against the {name:24} time {:.2}, memory {:.2}",
            ours.seconds / floor.seconds,
            mib(ours.peak) / mib(floor.peak)
        );
    }
}
