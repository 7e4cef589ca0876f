//! Pictures: every kind is drawn, well-formed, in words, with units on its axes; figures by hand.

use standstill::diagnostic::Source;
use standstill::environment::NoFs;
use standstill::review::{page, read};

use super::{is_well_formed, parts};

fn drawn(text: &str) -> Vec<String> {
    let document = read(&Source::new("doc.md", text), &NoFs).unwrap();
    parts(&page(&document, "now"), "svg").into_iter().map(str::to_owned).collect()
}

const ALL: &str = "```sheet safe-stop as stop\nexamples\nT_0 = 1.6 N·m ± 10 %\nU_0 = 565 V ± 2 %\n```\n\n```sheet run-down as coast\nexamples\nJ = 0.0101 kg·m² ± 5 %\n```\n\n```sheet ramp-then-release as cut\nexamples\nt_delay_used = 300 ms ± 5 ms\nlead = 20 mm/r\n```\n\n```sheet brake-resistor as res\nexamples\nt_ramp = 0.4 s ± 5 %\n```\n\n```sheet resistor-pulse as pulse\nexamples\nR_th = 0.8 K/W ± 5 %\n```\n\n```sheet motor-thermal as motor\nexamples\n```\n\n```sheet brake-heating as heat\nexamples\nh = 25 W/(m²·K) ± 20 %\n```\n\n```sheet separation-curtain as curtain\nexamples\n```\n";

#[test]
fn every_picture_is_well_formed_and_said_in_words() {
    let all = drawn(ALL);
    let titles = [
        "Speed and travel over time in a stop",
        "DC-link voltage and power of the braking resistor in a stop",
        "Plan view of danger, light curtain and separation distance",
        "Speed and travel over time in a run-down",
        "Temperature over the duty cycle",
        "Temperature of the brake, stop after stop",
    ];
    for title in titles {
        assert!(
            all.iter().any(|svg| svg.contains(&format!("<title>{title}</title><desc>"))),
            "{title}"
        );
    }
    for svg in &all {
        assert!(is_well_formed(svg), "{svg}");
        assert!(
            svg.contains("role=\"img\"") && !svg.contains("NaN") && !svg.contains("inf"),
            "{svg}"
        );
    }
    for unit in [
        "motor speed / (r/min)", "angle of the load / r", "travel / mm", "time / s", "time / min",
        "DC-link voltage / V", "power / W", "temperature / °C",
    ] {
        assert!(all.iter().any(|svg| svg.contains(&format!(">{unit}</text>"))), "{unit}");
    }
}

#[test]
fn a_band_is_drawn_where_inputs_have_tolerances_and_nowhere_else() {
    let bands = |text: &str| drawn(text).iter().filter(|svg| svg.contains("class=\"bd\"")).count();
    assert_eq!(bands(ALL), 7, "all but those of motor and curtain, and the plan of the stop");
    assert_eq!(bands(&ALL.replace(" ± ", " # ")), 0);
}

// by hand: the link takes up 470 µF · (780² − 565²) V²/2 = 67.95 J of the 80.738 J; power falls straight, so it
// is full after 0.29387 s · (1 − √(1 − 67.95/80.738)) = 0.1769 s; without a chopper √(565² + 2 · 80.738/470e-6) = 814.1 V
#[test]
fn the_link_is_full_when_its_capacitance_says_so() {
    let with = drawn("```sheet safe-stop as stop\nexamples\n```\n");
    assert!(
        with[1].contains("from 0.1769 s on") && with[1].contains("rises from 565 V to 780 V"),
        "{}",
        with[1]
    );
    let without =
        drawn("```sheet safe-stop as stop\nexamples\nchopper = no\nU_trip = 900 V\n```\n");
    assert!(
        without[1].contains("takes it all up")
            && without[1].contains("rises from 565 V to 814.1 V"),
        "{}",
        without[1]
    );
}

// tests/published_values/resistor-pulse.cases: greatest rise by a differential equation marched until nothing changes
#[test]
fn a_temperature_curve_reaches_the_peak_that_the_sheet_gives() {
    let all = drawn("```sheet resistor-pulse as pulse\nexamples\n```\n");
    assert!(all[0].contains("after very many cycles: at most 131.1 °C"), "{}", all[0]);
}

// by hand, ISO 13855:2010 (from memory): 1600 mm/s · (25 + 310) ms = 536 mm, and 1200 mm − 0.4 · 300 mm = 1080 mm, 1616 mm;
// two-hand control 1600 mm/s · (t_device + 100.3 ms) + 250 mm
#[test]
fn every_protective_device_has_its_plan() {
    let field = drawn("```sheet parallel-approach as field\nexamples\n```\n");
    for part in [
        "The outer edge of the field must stand 1616 mm from the danger",
        "K·T = 1600 mm/s · 335 ms = 536 mm",
        "C = 1080 mm: reach towards the danger",
    ] {
        assert!(field[0].contains(part), "{part}: {}", field[0]);
    }
    // the distance as it is given, rounded up, with what rounding adds
    let hands = drawn(
        "```sheet two-hand-control as hands\nexamples\nt_device = 20 ms\nt_stop = 100.3 ms\n```\n",
    );
    for part in ["nearer actuator must stand 443 mm", "= 192.5 mm", "0.52 mm: rounding up"] {
        assert!(hands[0].contains(part), "{part}: {}", hands[0]);
    }
    for sheet in ["pressure-mat", "several-beams", "guard-opening"] {
        let plan = drawn(&format!("```sheet {sheet} as it\nexamples\n```\n"));
        assert!(plan[0].contains("Plan view of danger"), "{sheet}");
    }
}
