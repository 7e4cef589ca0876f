//! What mechanics and the standards' forms demand of the sheets for any values.

use proptest::prelude::*;
use standstill::Sheet;
use standstill::calculation::{Inputs, Results};
use standstill::library::SHEETS;
use standstill::number::Exact;

fn sheet(name: &str) -> Sheet {
    Sheet::library(name).unwrap()
}

/// Runs a sheet on some inputs, its examples for the rest; the named result in coherent SI.
fn result(sheet: &Sheet, given: &[(&str, String)], name: &str) -> Exact {
    run(sheet, given).exact(name).unwrap_or_else(|| panic!("no `{name}`"))
}

fn run(sheet: &Sheet, given: &[(&str, String)]) -> Results {
    let mut inputs: Inputs = sheet.inputs();
    for (name, text) in given {
        inputs.write(name, text).unwrap();
    }
    inputs.fill_with_examples();
    sheet.run(&inputs).unwrap_or_else(|problems| panic!("{}", problems[0]))
}

/// Equal to 1e-20: both come from exact decimals with 24 digits and more.
fn same(a: &Exact, b: &Exact) -> bool {
    let (x, y) = (a.to_f64(), b.to_f64());
    a.minus(b).unwrap().absolute().to_f64() <= 1e-20 * x.abs().max(y.abs())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Work of the friction torque over the angle turned is the kinetic energy given up.
    #[test]
    fn a_run_down_turns_all_its_energy_into_friction(
        inertia in 1_u32..90_000, speed in 10_u32..6000, torque in 1_u32..90_000
    ) {
        let given = [
            ("J", format!("{inertia}e-4 kg·m²")),
            ("n_0", format!("{speed} r/min")),
            ("T_0", format!("{torque}e-2 N·m")),
        ];
        let results = run(&sheet("run-down"), &given);
        let turned = results.exact("phi_stop").unwrap();
        let torque = results.exact("T_start").unwrap();
        let energy = results.exact("E_stop").unwrap();
        // the integral states 1e-18 of its own
        let work = torque.times(&turned).unwrap().to_f64();
        prop_assert!((work / energy.to_f64() - 1.0).abs() < 1e-14, "{work} {}", energy.to_f64());
    }

    /// Without losses and friction all of the motion's energy reaches the link; with them never more.
    #[test]
    fn no_more_energy_comes_back_than_was_in_the_motion(
        motor in 1_u32..900, load in 1_u32..9000, speed in 100_u32..5000, ramp in 10_u32..5000,
        eta in 1_u32..=100, friction in 0_u32..500
    ) {
        let sheet = sheet("regen-energy");
        let body = |eta: u32, friction: u32| vec![
            ("J_motor", format!("{motor}e-5 kg·m²")),
            ("J_load_ref", format!("{load}e-5 kg·m²")),
            ("n_0", format!("{speed} r/min")),
            ("t_ramp", format!("{ramp} ms")),
            ("eta_back", format!("{eta} %")),
            ("eta_motor", format!("{eta} %")),
            ("T_0", format!("{friction}e-3 N·m")),
        ];
        let ideal = run(&sheet, &body(100, 0));
        prop_assert!(same(&ideal.exact("E").unwrap(), &ideal.exact("E_kin").unwrap()));
        let real = run(&sheet, &body(eta, friction));
        prop_assert!(real.exact("E").unwrap().to_f64() <= real.exact("E_kin").unwrap().to_f64() * (1.0 + 1e-15));
    }

    /// Two reductions one after the other are one of their product.
    #[test]
    fn reflecting_twice_is_reflecting_by_the_product(load in 1_u32..90_000, one in 1_u32..400, two in 1_u32..400) {
        let sheet = sheet("reflected-rotary");
        let ratio = |tenths: u32| format!("{}", rust_decimal::Decimal::new(i64::from(tenths), 1));
        let once = result(&sheet, &[("J_load", format!("{load}e-3 kg·m²")), ("i", ratio(one))], "J_ref");
        let middle = once.to_decimal_string(28, standstill::program::Direction::Nearest);
        let twice = result(&sheet, &[("J_load", format!("{middle} kg·m²")), ("i", ratio(two))], "J_ref");
        let product = rust_decimal::Decimal::new(i64::from(one) * i64::from(two), 2);
        let direct = result(&sheet, &[("J_load", format!("{load}e-3 kg·m²")), ("i", product.to_string())], "J_ref");
        prop_assert!(same(&twice, &direct), "{twice:?} {direct:?}");
    }

    /// The gear train agrees with stage after stage.
    #[test]
    fn a_gear_train_is_its_stages(one in 11_u32..100, two in 11_u32..100, first in 0_u32..900, second in 1_u32..9000) {
        let ratio = |tenths: u32| rust_decimal::Decimal::new(i64::from(tenths), 1).to_string();
        let train = result(&sheet("gear-train"), &[
            ("J_motor", "0 kg·m²".into()),
            ("i_k", format!("{}, {}", ratio(one), ratio(two))),
            ("J_k", format!("{first}e-4 kg·m², {second}e-4 kg·m²")),
            ("eta_k", "100 %, 100 %".into()),
        ], "J_ref").to_f64();
        let (i, k) = (f64::from(one) / 10.0, f64::from(two) / 10.0);
        let by_hand = f64::from(first) * 1e-4 / (i * i) + f64::from(second) * 1e-4 / (i * i * k * k);
        prop_assert!((train / by_hand - 1.0).abs() < 1e-13);
    }

    /// A longer ramp never raises the peak power or the torque asked for.
    #[test]
    fn a_longer_ramp_never_raises_the_peak(short in 1_u32..5000, more in 0_u32..5000, share in 0_u32..=50) {
        let sheet = sheet("ramp-stop");
        let peak = |ms: u32, what: &str| result(
            &sheet,
            &[("t_ramp", format!("{ms} ms")), ("f", format!("{share} %")), ("T_max", "1e6 N·m".into())],
            what,
        ).to_f64();
        for what in ["P_peak", "T_peak"] {
            prop_assert!(peak(short + more, what) <= peak(short, what) * (1.0 + 1e-15));
        }
    }
}

/// A longer stop never shortens a separation distance: every sheet that gives one, every time it takes.
#[test]
fn a_longer_stop_never_shortens_the_distance() {
    let mut looked_at = 0;
    for shelved in SHEETS.iter().filter(|sheet| sheet.group == "separation") {
        let sheet = sheet(shelved.name);
        let distances: Vec<&str> = ["S", "D_s", "D_m", "S_p", "S_fit"]
            .into_iter()
            .filter(|name| sheet.program().outputs.iter().any(|output| output.name == *name))
            .collect();
        // what passes before a guard is open or unlocked may be counted off; only that shortens
        let times: Vec<String> = sheet
            .program()
            .inputs
            .iter()
            .filter(|input| {
                input.kind.is_some_and(|kind| kind.name == "time")
                    && !["t_open", "t_early"].contains(&input.name.as_str())
            })
            .map(|input| input.name.clone())
            .collect();
        for time in &times {
            let mut before = vec![0.0; distances.len()];
            // past every clamp and every change of the approach speed, 1 ms at a time where they lie
            for ms in (1..400).chain((400..3000).step_by(50)) {
                let mut inputs = sheet.inputs();
                if inputs.write(time, &format!("{ms} ms")).is_err() {
                    break;
                }
                inputs.fill_with_examples();
                // beyond the range of the sheet there is no distance
                let Ok(results) = sheet.run(&inputs) else { continue };
                for (distance, before) in distances.iter().zip(&mut before) {
                    let now = results.exact(distance).unwrap().to_f64();
                    assert!(
                        now >= *before,
                        "{}: {distance} falls from {before} to {now} at {time} = {ms} ms",
                        shelved.name
                    );
                    *before = now;
                    looked_at += 1;
                }
            }
        }
    }
    assert!(looked_at > 5000, "{looked_at}");
}
