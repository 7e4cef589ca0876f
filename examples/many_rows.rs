//! A hundred thousand variants of one machine by column name, in one call.
//!
//! `cargo run --release --example many_rows` sets inertia and speed by row, the friction for all, and reports
//! the slowest stop. The machine is invented.
#![allow(clippy::print_stdout)]

use std::error::Error;

use standstill::Sheet;
use uom::si::f64::{AngularVelocity, Time};
use uom::si::time::second;

const ROWS: u32 = 100_000;

fn main() -> Result<(), Box<dyn Error>> {
    let sheet = Sheet::library("run-down")?;
    // 0.10 kg·m² to 1.09 kg·m², 100 r/min to 1 099 r/min
    let inertia: Vec<f64> = (0..ROWS).map(|row| 0.1 + f64::from(row % 100) / 100.0).collect();
    let speed = |row| f64::from(100 + row / 100) * std::f64::consts::TAU / 60.0;
    let speed: Vec<AngularVelocity> = (0..ROWS)
        .map(|row| AngularVelocity::new::<uom::si::angular_velocity::radian_per_second>(speed(row)))
        .collect();

    let mut rows = sheet.rows();
    rows.column("J", &inertia, "kg·m²")?.quantities("n_0", &speed)?.write("T_0", "24 N·m")?;
    let results = rows.run()?;
    for (row, problems) in results.problems() {
        println!("row {row}: {problems}");
    }
    let stops: Vec<Time> = results.get("t_stop")?;
    let slowest = stops.iter().map(|stop| stop.get::<second>()).fold(0.0, f64::max);
    println!("{} stops, the slowest takes {slowest:.3} s", stops.len());
    println!("{}", standstill::report::DISCLAIMER);
    Ok(())
}
