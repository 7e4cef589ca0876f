//! Laws of a stop, for any values: what helps never lengthens it, what delays never shortens it, a phase cut in two
//! is the phase, energy is kept. Source: Newton's second law and the comparison of two motions (derivation).

use proptest::prelude::*;
use standstill::Sheet;
use standstill::calculation::{Inputs, Results};
use standstill::library::SHEETS;

fn run(sheet: &Sheet, given: &[(&str, String)]) -> Results {
    let mut inputs: Inputs = sheet.inputs();
    for (name, text) in given {
        inputs.write(name, text).unwrap();
    }
    inputs.fill_with_examples();
    sheet.run(&inputs).unwrap_or_else(|problems| panic!("{problems:?}"))
}

fn number(results: &Results, name: &str) -> f64 {
    results.exact(name).unwrap_or_else(|| panic!("no `{name}`")).to_f64()
}

/// Sheet, what is drawn (name, unit), inputs that help, inputs that delay, results that may only follow.
type Law = (
    &'static str,
    &'static [(&'static str, &'static str)],
    &'static [&'static str],
    &'static [&'static str],
    &'static [&'static str],
);

const LAWS: &[Law] = &[
    (
        "axis-stop",
        &[
            ("T_0", "N·m"),
            ("T_b", "N·m"),
            ("T_load", "N·m"),
            ("t_b", "ms"),
            ("t_b_build", "ms"),
            ("t_resp", "ms"),
            ("t_sensor", "ms"),
            ("t_logic", "ms"),
            ("t_network", "ms"),
            ("t_drive", "ms"),
        ],
        &["T_0", "T_b", "T_load"],
        &["t_b", "t_b_build", "t_resp", "t_sensor", "t_logic", "t_network", "t_drive"],
        &[
            "t_works", "t_fails", "t_lost", "s_works", "s_fails", "s_lost", "n_peak", "E_b",
            "T_used", "S", "t_unlock",
        ],
    ),
    (
        "mechanical-brake-stop",
        &[("T_f", "N·m"), ("T_b", "N·m"), ("t_resp", "ms"), ("t_build", "ms"), ("n_0", "r/min")],
        &["T_f", "T_b"],
        &["t_resp", "t_build", "n_0"],
        &["t_stop", "phi_stop", "n_peak"],
    ),
    (
        "run-down",
        &[("J", "kg·m²"), ("T_0", "N·m"), ("b", "N·m·s/rad"), ("n_0", "r/min")],
        &["T_0", "b"],
        &["J", "n_0"],
        &["t_stop", "phi_stop"],
    ),
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn what_helps_never_lengthens_and_what_delays_never_shortens(
        draw in proptest::collection::vec(1_u32..400, 12), more in 1_u32..300, which in 0_usize..100
    ) {
        for (name, drawn, helps, delays, results) in LAWS {
            let sheet = Sheet::library(name).unwrap();
            let moved = helps.iter().chain(delays.iter()).nth(which % (helps.len() + delays.len())).unwrap();
            let given = |extra: u32| -> Vec<(&str, String)> {
                let mut given: Vec<_> = drawn
                    .iter()
                    .zip(&draw)
                    .map(|((input, unit), value)| {
                        // the load stays below the brake, or it never stands
                        let base = match *input {
                            "T_load" => value * 10,
                            "T_b" => value * 10 + 8000,
                            _ => value * 10 + 50,
                        };
                        let value = f64::from(base + if input == moved { extra } else { 0 });
                        // a load drives: more of it, plus, drives less
                        let value = if *input == "T_load" { value - 4400.0 } else { value };
                        (*input, format!("{} {unit}", value / if *unit == "r/min" { 1.0 } else { 100.0 }))
                    })
                    .collect();
                if *name == "mechanical-brake-stop" {
                    given.push(("T_load", "-0.5 N·m".into()));
                }
                if *name == "axis-stop" {
                    given.push(("T_max", "1e6 N·m".into()));
                }
                given
            };
            let (before, after) = (run(&sheet, &given(0)), run(&sheet, &given(more)));
            for result in *results {
                let (a, b) = (number(&before, result), number(&after, result));
                let slack = 1e-12 * a.abs().max(b.abs());
                let follows = if helps.contains(moved) { b <= a + slack } else { b >= a - slack };
                prop_assert!(follows, "{name}: {moved} up, {result} from {a} to {b}, {:?}", given(0));
            }
        }
    }

    #[test]
    fn a_run_down_cut_in_two_is_the_run_down(
        friction in 1_u32..900, drag in 0_u32..90, windage in 0_u32..90, load in -50_i32..50, speed in 20_u32..6000, cut in 1_u32..99
    ) {
        let sheet = Sheet::library("run-down").unwrap();
        let middle = f64::from(speed) * f64::from(cut) / 100.0;
        let part = |from: f64, to: f64| {
            let given = [
                ("n_0", format!("{from} r/min")),
                ("n_end", format!("{to} r/min")),
                ("T_0", format!("{} N·m", f64::from(friction) / 100.0 + 0.6)),
                ("T_load", format!("{} N·m", f64::from(load) / 100.0)),
                ("b", format!("{drag}e-4 N·m·s/rad")),
                ("c", format!("{windage}e-6 N·m·s²/rad²")),
            ];
            let results = run(&sheet, &given);
            (number(&results, "t_stop"), number(&results, "phi_stop"))
        };
        let (whole, first, second) = (part(speed.into(), 0.0), part(speed.into(), middle), part(middle, 0.0));
        prop_assert!((first.0 + second.0 - whole.0).abs() < 1e-12 * whole.0, "{first:?} {second:?} {whole:?}");
        prop_assert!((first.1 + second.1 - whole.1).abs() < 1e-12 * whole.1, "{first:?} {second:?} {whole:?}");
    }

    /// Along a straight ramp on which the motor brakes all the time, over the angle n_0·t/2.
    #[test]
    fn energy_of_motion_and_load_goes_into_friction_and_motor(
        inertia in 1_u32..900, friction in 0_u32..300, load in -300_i32..300, speed in 100_u32..6000, ramp in 1_u32..300
    ) {
        let omega = f64::from(speed) * std::f64::consts::PI / 30.0;
        let (j, time) = (f64::from(inertia) / 1000.0, f64::from(ramp) / 100.0);
        let (friction, load) = (f64::from(friction) / 100.0, f64::from(load) / 100.0);
        prop_assume!(j * omega / time > friction + load);
        let results = run(&Sheet::library("regen-energy").unwrap(), &[
            ("J_motor", format!("{j} kg·m²")), ("J_load_ref", "0 kg·m²".into()), ("n_0", format!("{speed} r/min")),
            ("t_ramp", format!("{time} s")), ("T_0", format!("{friction} N·m")), ("T_load", format!("{load} N·m")),
        ]);
        let wanted = j * omega * omega / 2.0 - (friction + load) * omega * time / 2.0;
        prop_assert!((number(&results, "E_shaft") - wanted).abs() <= 1e-9 * j * omega * omega);
    }
}

#[test]
fn what_never_stands_has_no_figure() {
    let sheet = Sheet::library("axis-stop").unwrap();
    // a delay that ends before the slowest ramp: no ramp works, it fails or torque is lost
    let results = run(&sheet, &[("t_delay_used", "300 ms".into())]);
    assert!(!results.holds());
    for missing in ["t_works", "s_works", "s_slip", "t_monitored"] {
        assert!(results.exact(missing).is_none(), "{missing}");
    }
    // friction and brake do not hold the load
    for text in ["4 N·m", "4.4 N·m"] {
        let mut inputs = sheet.inputs();
        inputs.write("T_b", text).unwrap();
        inputs.fill_with_examples();
        assert!(sheet.run(&inputs).is_err(), "{text}");
    }
    // just more than friction and brake can hold, and somewhat less
    assert!(run(&sheet, &[("T_b", "4.6 N·m".into())]).exact("S").is_some());
}

/// A ramp that fails is not the longest stop where a load drives: torque lost is. No sheet knows the one alone.
#[test]
fn whoever_counts_a_ramp_that_fails_counts_torque_lost() {
    let speaks = |text: &str, words: &[&str]| words.iter().any(|it| text.contains(it));
    let fails = [
        "ramp fails", "ramp failed", "ramp has failed", "ramp that fails", "ramp may fail",
        "failed ramp", "failed stop",
    ];
    let lost = ["torque lost", "torque is lost", "loss of torque", "lost torque"];
    let (mut one_sided, mut both) = (Vec::new(), 0);
    for shelved in SHEETS {
        let text = shelved.text.to_lowercase();
        match (speaks(&text, &fails), speaks(&text, &lost)) {
            (true, false) => one_sided.push(shelved.name),
            (knows, _) => both += usize::from(knows),
        }
    }
    assert!(one_sided.is_empty() && both > 15, "{one_sided:?}, {both} know both");
}
