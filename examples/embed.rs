//! The engine inside a program of one's own: `uom` quantities in and out.
//!
//! `cargo run --example embed` calculates, for three motors, how long a flywheel runs down and how far away
//! people must be kept. The machine is invented.
#![allow(clippy::print_stdout)]

use std::error::Error;
use std::process::ExitCode;

use standstill::Sheet;
use uom::si::angular_velocity::revolution_per_minute;
use uom::si::f64::{AngularVelocity, Length, MomentOfInertia, Time, Torque};
use uom::si::length::millimeter;
use uom::si::moment_of_inertia::kilogram_square_meter;
use uom::si::time::{millisecond, second};
use uom::si::torque::newton_meter;

fn main() -> ExitCode {
    match stops() {
        Ok(()) => ExitCode::SUCCESS,
        Err(problems) => {
            println!("{problems}");
            ExitCode::FAILURE
        }
    }
}

fn stops() -> Result<(), Box<dyn Error>> {
    let run_down = Sheet::library("run-down")?;
    let curtain = Sheet::library("separation-curtain")?;
    for (motor, inertia) in [("small", 0.0021), ("middle", 0.0065), ("large", 0.019)] {
        let mut inputs = run_down.inputs();
        inputs.set("J", MomentOfInertia::new::<kilogram_square_meter>(inertia + 0.35))?;
        inputs.set("n_0", AngularVelocity::new::<revolution_per_minute>(300.0))?;
        inputs.set("T_0", Torque::new::<newton_meter>(24.0))?;
        let results = run_down.run(&inputs)?;
        let t_stop: Time = results.get("t_stop")?;

        let mut inputs = curtain.inputs();
        inputs.write("edition", "2010")?;
        inputs.set("T", t_stop + Time::new::<millisecond>(44.0))?;
        inputs.set("d", Length::new::<millimeter>(14.0))?;
        let results = curtain.run(&inputs)?;
        let distance: Length = results.get("S_fit")?;
        println!(
            "{motor:7} stops in {:.3} s, keep people {:.0} mm away; {}",
            t_stop.get::<second>(),
            distance.get::<millimeter>(),
            results.verdict_text()
        );
    }
    println!("{}", standstill::report::DISCLAIMER);
    Ok(())
}
