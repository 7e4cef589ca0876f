//! A sheet from a string, shared by eight threads.
//!
//! `cargo run --example threads` checks a sheet once and runs it on eight threads, each with inputs of its own.
#![allow(clippy::print_stdout)]

use std::error::Error;
use std::thread;

use standstill::{Problems, Sheet};
use uom::si::f64::Length;
use uom::si::length::millimeter;

const GUARD: &str = "\
sheet guard
title \"How far people are kept away\"
source \"ISO 13855:2010, 5: S = K·T + C\"
takes
  T : time in ms above 0 ms
  C : length in mm = 850 mm from 0 mm
works
  S = 1600 mm/s * T + C rounded up to 5 mm
gives
  S in mm
";

fn main() -> Result<(), Box<dyn Error>> {
    let sheet = Sheet::parse("guard.sheet", GUARD)?;
    let sheet = &sheet;
    let distances: Vec<Result<Length, Problems>> = thread::scope(|scope| {
        let workers: Vec<_> = (1..=8)
            .map(|worker| {
                scope.spawn(move || {
                    let mut inputs = sheet.inputs();
                    inputs.write("T", &format!("{} ms", worker * 100))?;
                    sheet.run(&inputs)?.get("S")
                })
            })
            .collect();
        workers.into_iter().filter_map(|worker| worker.join().ok()).collect()
    });
    for (time, distance) in (100..).step_by(100).zip(distances) {
        println!("stops within {time} ms: {:.0} mm", distance?.get::<millimeter>());
    }
    println!("{}", standstill::report::DISCLAIMER);
    Ok(())
}
