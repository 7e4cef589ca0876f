//! The bands of pictures against values drawn at random within the tolerances.

use super::plot::Points;
use super::*;
use crate::calculation::Sheet;
use crate::calculation::picture_spec::Kind;
use crate::number::InputValue;
use crate::unit::Literal;

/// Values in a row that looks random, the same at every run (linear congruence of Knuth, MMIX; from memory).
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }
}

/// The least and the most of a closed line at a moment; none outside it.
fn within(band: &Points, moment: f64) -> Option<(f64, f64)> {
    let mut found: Option<(f64, f64)> = None;
    let mut take = |y: f64| {
        let (low, high) = found.unwrap_or((y, y));
        found = Some((low.min(y), high.max(y)));
    };
    for (a, b) in band.iter().zip(band.iter().cycle().skip(1)) {
        if (a.0 - moment) * (b.0 - moment) > 0.0 {
            continue;
        }
        if a.0 == b.0 {
            take(a.1);
            take(b.1);
        } else {
            take(a.1 + (b.1 - a.1) * (moment - a.0) / (b.0 - a.0));
        }
    }
    found
}

/// Every curve of every picture of a sheet lies within its band, for corners and for draws within the tolerances.
fn holds(sheet: &str, given: &[(&str, &str)]) {
    let sheet = Sheet::library(sheet).unwrap();
    let mut inputs = sheet.inputs();
    for (name, text) in given {
        inputs.write(name, text).unwrap();
    }
    inputs.fill_with_examples();
    let program = sheet.program();
    let results = Results::compute(program, &inputs).unwrap();
    let bounds = enclosed(program, &inputs);
    let mut draws = Draws(7);
    let pictures = Pictures::of(&results);
    let mut looked = 0;
    for figure in &pictures.all {
        let Some((low, high)) = ends(&bounds, &figure.registers) else { panic!("bounded") };
        let bands = figure.drawn.kind.bands(&low, &high);
        for round in 0..60 {
            let mut tried = inputs.clone();
            for input in &program.inputs {
                let Some(spread) = inputs.spread(input) else { continue };
                let values: Vec<Literal> = spread
                    .ends
                    .iter()
                    .map(|(low, high)| {
                        let part = if round < 20 { draws.next().round() } else { draws.next() };
                        let (a, b) = (low.si_f64(), high.si_f64());
                        let unit = crate::unit::Unit { symbol: String::new(), ..low.unit.clone() };
                        let si = unit.from_si(a + (b - a) * part);
                        Literal::from_f64(si, unit).unwrap()
                    })
                    .collect();
                let value = match inputs.value(input) {
                    Some(InputValue::Many(_)) => InputValue::Many(values),
                    _ => InputValue::One(values[0].clone()),
                };
                tried.store(&input.name, value, None);
            }
            let Ok(tried) = Results::compute(program, &tried) else { panic!("within the ranges") };
            let roles = values(&tried, &figure.registers);
            // a draw whose roles do not exist shows no picture
            let Some(plot) = figure.drawn.kind.plot(&roles) else { continue };
            assert_eq!(plot.panels.len(), bands.len(), "{}", plot.title);
            for (panel, bands) in plot.panels.iter().zip(&bands) {
                assert_eq!(panel.curves.len(), bands.len(), "{}", plot.title);
                let size = panel.span.1 - panel.span.0;
                for (curve, band) in panel.curves.iter().zip(bands) {
                    for (moment, value) in &curve.points {
                        // a curve may be drawn less far than a band, never farther than it
                        let (least, most) = within(band, *moment).unwrap_or_else(|| {
                            panic!("{}: {moment} lies outside {}", plot.title, panel.up)
                        });
                        // chords of at least 12 pieces cut off up to a six-hundredth: a fifth of a pixel
                        let slack = 1.5e-3 * size;
                        assert!(
                            *value >= least - slack && *value <= most + slack,
                            "{}, {}: {value} at {moment} is not within {least} to {most}",
                            plot.title,
                            panel.up
                        );
                        looked += 1;
                    }
                }
            }
        }
    }
    assert!(looked > 500, "{looked} points");
}

#[test]
fn the_curves_of_a_stop_lie_within_their_bands() {
    holds(
        "safe-stop",
        &[
            ("T_0", "1.6 N·m ± 10 %"),
            ("J_load", "0.2 kg·m² ± 5 %"),
            ("n_0", "1450 r/min ± 1 %"),
            ("b", "0.002 N·m·s/rad ± 20 %"),
            ("c", "0.00001 N·m·s²/rad² ± 20 %"),
            ("U_0", "565 V ± 2 %"),
            ("C_link", "470 µF ± 5 %"),
            ("t_resp", "20 ms ± 5 ms"),
            ("f", "10 % ± 2 %"),
            ("i", "5 ± 0.01"),
        ],
    );
}

#[test]
fn the_curves_of_a_ramp_that_is_cut_lie_within_their_bands() {
    holds(
        "ramp-then-release",
        &[
            ("t_delay_used", "300 ms ± 20 ms"),
            ("T_0", "1.6 N·m ± 10 %"),
            ("J_ref", "0.0101 kg·m² ± 5 %"),
            ("n_0", "1450 r/min ± 1 %"),
            ("lead", "20 mm/r ± 0.1 mm/r"),
        ],
    );
}

// friction that brakes harder than the ramp, and a cut that comes or does not
#[test]
fn the_curves_of_a_slow_ramp_lie_within_their_bands() {
    holds(
        "ramp-then-release",
        &[
            ("t_ramp", "1.5 s"),
            ("t_delay_used", "1500 ms ± 300 ms"),
            ("T_0", "1.6 N·m ± 20 %"),
            ("b", "0.01 N·m·s/rad ± 20 %"),
            ("f", "30 % ± 5 %"),
        ],
    );
}

#[test]
fn the_curves_of_a_run_down_lie_within_their_bands() {
    holds(
        "run-down",
        &[
            ("T_0", "1.6 N·m ± 10 %"),
            ("J", "0.0101 kg·m² ± 5 %"),
            ("T_load", "-0.5 N·m ± 0.2 N·m"),
            ("n_end", "100 r/min ± 20 r/min"),
        ],
    );
}

#[test]
fn temperatures_lie_within_their_bands() {
    holds(
        "resistor-pulse",
        &[
            ("P_k", "1800 W ± 5 %, 0 W, 900 W ± 5 %, 0 W"),
            ("R_th", "0.8 K/W ± 10 %"),
            ("tau", "300 s ± 20 %"),
            ("T_air", "30 °C ± 5 K"),
        ],
    );
    // durations too: parts overlap in time
    holds(
        "resistor-pulse",
        &[
            ("t_k", "0.5 s ± 10 %, 5 s ± 10 %, 0.5 s ± 0.2 s, 6 s ± 10 %"),
            ("P_k", "1800 W ± 5 %, 0 W, 900 W ± 5 %, 0 W"),
            ("tau", "3 s ± 20 %"),
        ],
    );
    holds(
        "motor-thermal",
        &[
            ("t_k", "0.5 s ± 0.1 s, 2 s ± 5 %, 0.3 s ± 0.1 s, 1.2 s ± 0.2 s"),
            ("tau", "1 min ± 10 %"),
        ],
    );
    holds("motor-thermal", &[("P_vn", "220 W ± 10 %"), ("tau", "30 min ± 10 %")]);
    holds(
        "brake-heating",
        &[("E", "12000 J ± 10 %"), ("h", "25 W/(m²·K) ± 20 %"), ("z", "60 1/h ± 5 1/h")],
    );
}

// the drawn speed, integrated, against the angle of the program's own integral
#[test]
fn the_area_under_a_drawn_speed_is_the_travel_worked_out() {
    let sheet = Sheet::library("safe-stop").unwrap();
    let mut inputs = sheet.inputs();
    inputs.write("b", "0.004 N·m·s/rad").unwrap();
    inputs.write("f", "20 %").unwrap();
    inputs.fill_with_examples();
    let results = Results::compute(sheet.program(), &inputs).unwrap();
    let pictures = Pictures::of(&results);
    let stop = pictures.all.iter().find(|figure| figure.drawn.kind == Kind::Stop).unwrap();
    let plot = stop::plot(&stop.roles);
    for (curve, wanted) in plot.panels[0].curves.iter().zip(["p_works", "p_fails", "p_release"]) {
        let area: f64 = curve
            .points
            .iter()
            .zip(curve.points.iter().skip(1))
            .map(|(a, b)| (b.0 - a.0) * (a.1 + b.1) / 2.0)
            .sum();
        // r/min · s over 60 are turns; straight pieces between 24 points leave out less than a thousandth
        let turns = stop.roles.get(wanted) / (2.0 * std::f64::consts::PI);
        assert!((area / 60.0 / turns - 1.0).abs() < 1e-3, "{wanted}: {} and {turns}", area / 60.0);
    }
}

// each input at nothing by itself, then all at once: whatever still gives results gives a picture of numbers
#[test]
fn a_quantity_of_nothing_leaves_every_picture_drawn_with_numbers() {
    let mut drawn = 0;
    let mut sheets: Vec<&str> = PICTURES.iter().map(|drawn| drawn.sheet).collect();
    sheets.dedup();
    for name in sheets {
        let sheet = Sheet::library(name).unwrap();
        let program = sheet.program();
        let mut first = sheet.inputs();
        first.fill_with_examples();
        let zero = |inputs: &mut crate::calculation::Inputs, input: &crate::program::Input| {
            let Some(given) = first.value(input) else { return };
            let nothing = Literal::from_f64(0.0, input.unit.clone()).unwrap();
            match given {
                InputValue::One(_) => inputs.store(&input.name, InputValue::One(nothing), None),
                InputValue::Many(many) => {
                    inputs.store(&input.name, InputValue::Many(vec![nothing; many.len()]), None)
                }
                InputValue::Word(_) => {}
            }
        };
        let mut tried: Vec<crate::calculation::Inputs> = Vec::new();
        let mut kept = first.clone();
        for input in &program.inputs {
            let mut one = first.clone();
            zero(&mut one, input);
            // all that may be nothing beside one another
            let mut all = kept.clone();
            zero(&mut all, input);
            if Results::compute(program, &all).is_ok() {
                kept = all;
            }
            tried.push(one);
        }
        tried.push(kept);
        for inputs in tried {
            let Ok(results) = Results::compute(program, &inputs) else { continue };
            let svg = Pictures::of(&results).figures();
            for word in ["NaN", "inf ", " inf", "inf\""] {
                assert!(!svg.contains(word), "{name}: {svg}");
            }
            drawn += 1;
        }
    }
    assert!(drawn > 60, "{drawn}");
}
