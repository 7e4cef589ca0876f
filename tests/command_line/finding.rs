//! A sheet is found by what the trade calls it: words and questions, each with its right sheet among the first three.
//!
//! The words are common practice, no source; which sheet is right was decided from the sheets' titles, before the
//! search was tried.

use standstill::library::search;

/// What is asked, and the sheets of which one must be among the first three.
#[rustfmt::skip]
const ASKED: &[(&str, &[&str])] = &[
    // how it stops
    ("coast", &["run-down"]), ("coasting time", &["run-down"]), ("how long does it coast", &["run-down"]),
    ("free wheel", &["run-down"]), ("spin down", &["run-down"]), ("STO", &["run-down"]), ("SS1", &["safe-stop", "ramp-then-release"]),
    ("SS1-t", &["ramp-then-release", "ss1-brake", "safe-stop"]), ("SS2", &["standstill-monitor", "ramp-stop"]), ("SOS", &["standstill-monitor"]),
    ("SLS", &["speed-monitor"]), ("SBC", &["ss1-brake", "spring-set-release", "axis-stop"]), ("SBT", &["holding-test"]),
    ("stop category 0", &["run-down", "mechanical-brake-stop", "emergency-or-normal"]), ("category 1", &["safe-stop", "ramp-stop", "emergency-or-normal"]),
    ("e-stop", &["emergency-or-normal"]), ("emergency stop", &["emergency-or-normal"]), ("overrun", &["safe-stop", "run-down", "ramp-stop", "vertical-drop", "measured-stops"]),
    ("braking distance", &["ramp-stop", "mechanical-brake-stop", "safe-stop"]), ("stopping time", &["ramp-stop", "measured-stops", "safe-stop", "mechanical-brake-stop", "allowed-stop-time"]),
    ("deceleration", &["ramp-stop", "jerk-ramp"]), ("S-curve", &["jerk-ramp"]), ("DC injection", &["loss-braking"]), ("plugging", &["loss-braking"]),
    ("power failure", &["power-failure"]), ("outage", &["power-failure"]), ("resistor burned", &["resistor-pulse"]), ("how far does the slide fall when power fails", &["vertical-drop"]), ("mains loss", &["power-failure"]), ("field weakening", &["torque-limit"]), ("spindle", &["torque-limit", "reflected-linear"]),
    ("vertical axis", &["vertical-drop", "axis-stop", "ss1-brake"]), ("z-axis drop", &["vertical-drop"]), ("lag", &["response-chain", "standstill-monitor"]),
    // machines
    ("saw", &["run-down", "process-torque", "quickest-stop"]), ("circular saw", &["quickest-stop", "process-torque", "run-down"]), ("mixer", &["process-torque", "run-down"]),
    ("centrifuge", &["run-down", "motor-thermal", "solid-cylinder", "hollow-cylinder", "loss-braking"]), ("fan", &["square-law-load"]), ("pump", &["square-law-load"]), ("hoist", &["hoist"]),
    ("crane", &["hoist", "crane-trolley"]), ("elevator", &["hoist"]), ("winder", &["roll"]), ("unwinder", &["roll"]), ("conveyor", &["conveyor-load", "conveyor-inertia"]),
    ("roller table", &["conveyor-inertia", "gear-train", "reflected-rotary"]), ("robot", &["moving-robot"]), ("AGV", &["moving-field"]), ("shuttle", &["moving-field", "axis-stop"]),
    ("mechanical press", &["us-press"]), ("gantry", &["reflected-linear"]), ("ball screw", &["reflected-linear"]), ("timing belt", &["belt-drive"]), ("gearbox", &["gear-train"]),
    ("worm gear", &["driven-direction"]), ("flywheel", &["disc-with-bore"]), ("fly wheel", &["disc-with-bore"]), ("grinding wheel", &["run-down", "disc-with-bore", "solid-cylinder"]),
    ("drum", &["hollow-cylinder", "hoist"]), ("shaft", &["solid-cylinder"]), ("crank", &["off-axis", "unbalance"]), ("GD2", &["inertia-data"]), ("WK²", &["inertia-data"]),
    ("moment of inertia", &["solid-cylinder", "block", "hollow-cylinder", "cone", "ring", "rod", "roll", "sphere", "off-axis", "disc-with-bore"]), ("load inertia", &["reflected-rotary", "reflected-linear", "largest-inertia"]),
    ("parallel axis theorem", &["off-axis"]), ("friction", &["bearing-friction", "guide-friction", "run-down"]), ("bearing", &["bearing-friction"]), ("incline", &["slope"]),
    // energy
    ("braking resistor", &["brake-resistor", "resistor-window", "resistor-for-ramp"]), ("brake chopper", &["brake-resistor", "resistor-window"]), ("ohms", &["brake-resistor", "resistor-window", "resistor-for-ramp"]),
    ("regen", &["regen-energy", "lowering"]), ("regenerative braking", &["regen-energy", "return-to-mains"]), ("overvoltage", &["dc-link-rise", "ramp-without-resistor", "link-alone"]),
    ("dc bus", &["dc-link-rise", "link-from-mains", "shared-link"]), ("discharge time of the capacitors", &["link-discharge"]), ("safe to touch", &["link-discharge"]), ("active front end", &["return-to-mains"]),
    // brake and duty
    ("holding brake", &["spring-set-release", "holding-test", "brake-torque", "mechanical-brake-stop", "vertical-drop"]), ("brake sizing", &["brake-torque"]), ("brake too hot", &["brake-heating"]),
    ("brake wear", &["brake-wear"]), ("lining", &["brake-wear", "block-band"]), ("air gap", &["brake-wear"]), ("disc brake", &["disc-brake"]), ("drum brake", &["drum-brake"]),
    ("starts per hour", &["stops-per-hour"]), ("duty cycle", &["duty-type", "motor-thermal", "equivalent-power", "rms-torque"]), ("S3 40 %", &["duty-type"]), ("motor too hot", &["motor-thermal"]),
    ("RMS torque", &["rms-torque"]), ("name plate", &["rated-torque"]), ("motor torque from power", &["rated-torque"]),
    // keeping away
    ("light curtain", &["separation-curtain"]), ("curtain", &["separation-curtain", "protective-device"]), ("light curtian", &["separation-curtain"]), ("lightcurtain", &["separation-curtain"]),
    ("AOPD", &["separation-curtain"]), ("scanner", &["parallel-approach", "moving-field"]), ("laser scanner", &["parallel-approach"]), ("light grid", &["several-beams"]),
    ("single beam", &["several-beams"]), ("two-hand", &["two-hand-control"]), ("twohand", &["two-hand-control"]), ("safety mat", &["pressure-mat"]), ("gate", &["gate-with-locking", "guard-opening"]),
    ("door", &["gate-with-locking", "guard-locking", "guard-opening"]), ("interlock", &["gate-with-locking", "guard-locking", "guard-opening"]), ("guard locking", &["guard-locking"]),
    ("when may the door open", &["guard-locking"]), ("zero speed", &["unlocking-monitor"]), ("overspeed", &["speed-monitor"]), ("cobot", &["moving-robot"]), ("children", &["detection-capability"]),
    ("reaction time", &["response-chain"]), ("response time", &["response-chain"]), ("safety distance", &["separation-curtain", "protective-device", "hand-approach", "parallel-approach"]),
    ("minimum distance", &["separation-curtain", "protective-device", "hand-approach"]), ("how far away must the curtain be", &["separation-curtain"]), ("reaching over", &["vertical-field-height"]),
    ("fence", &["reach-through"]), ("mesh opening", &["reach-through"]), ("walking speed", &["hand-approach", "parallel-approach"]), ("1600 mm/s", &["hand-approach", "separation-curtain", "parallel-approach"]),
    ("OSHA", &["us-press", "us-general", "us-opening"]), ("B11.19", &["us-general"]), ("1910.217", &["us-press", "us-opening", "us-psdi", "us-two-hand-trip"]),
    // standards
    ("13855", &["separation-curtain", "protective-device", "parallel-approach", "hand-approach", "detection-capability"]), ("ISO 13855", &["separation-curtain", "protective-device", "parallel-approach", "hand-approach", "detection-capability"]), ("ISO 14119", &["gate-with-locking", "guard-locking", "unlocking-monitor", "guard-opening"]),
    ("13857", &["reach-through"]), ("13850", &["emergency-or-normal"]), ("13851", &["two-hand-control"]), ("60034-1", &["duty-type"]), ("3691-4", &["moving-field"]), ("15066", &["moving-robot"]),
    // design and commissioning
    ("largest load", &["largest-inertia"]), ("longest ramp", &["allowed-ramp"]), ("delay setting", &["best-delay"]), ("required torque", &["torque-for-time"]),
    ("measured stop", &["measured-stops", "compare-with-calculation"]), ("acceptance test", &["compare-with-calculation"]), ("linear regression", &["ramp-fit"]), ("slope of a recorded ramp", &["ramp-fit"]), ("annual inspection", &["next-check-allowance"]), ("standard deviation", &["measured-stops"]),
    ("whole machine", &["whole-axis", "axis-stop", "safe-stop"]),
    // slips
    ("fliwheel", &["disc-with-bore"]), ("breaking resistor", &["brake-resistor", "resistor-window", "resistor-for-ramp"]), ("conveyer", &["conveyor-load", "conveyor-inertia"]), ("regenerativ", &["regen-energy", "return-to-mains"]), ("intertia", &["solid-cylinder", "block", "reflected-rotary", "reflected-linear", "largest-inertia", "off-axis", "conveyor-inertia"]),
];

/// How many at the end of them hold a slip already.
const SLIPS: usize = 5;

#[test]
fn every_trade_word_has_its_sheet_among_the_first_three() {
    let missed: Vec<String> = ASKED
        .iter()
        .filter_map(|(asked, right)| {
            let found = search(asked);
            let first: Vec<&str> = found.iter().take(3).map(|it| it.name.as_str()).collect();
            let hit = first.iter().any(|name| right.contains(name));
            (!hit).then(|| format!("{asked}: {first:?}, right is {right:?}"))
        })
        .collect();
    assert!(missed.is_empty(), "{} of {}:\n{}", missed.len(), ASKED.len(), missed.join("\n"));
}

/// A sheet that became a choice of another is found there by its old name.
#[test]
fn a_sheet_that_was_merged_is_found_by_its_old_name() {
    for (old, new) in [
        ("pulley-mass", "reflected-linear"),
        ("rack-mass", "reflected-linear"),
        ("screw-mass", "reflected-linear"),
        ("gd2-data", "inertia-data"),
        ("wk2-data", "inertia-data"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let words = super::output_text(&super::standstill(folder.path(), &["run", old]));
        assert!(words.contains(&format!("did you mean `{new}`")), "{old}: {words}");
        let found = search(old);
        assert_eq!(found.first().map(|it| it.name.as_str()), Some(new), "{old}");
    }
}

#[test]
fn what_belongs_to_no_machine_finds_nothing() {
    for asked in ["zzzz", "xqvw 00000", "!!", ""] {
        assert!(search(asked).is_empty(), "{asked}");
    }
}

// Damerau's four slips: a letter too many, too few, another one, two neighbours changed over
#[test]
fn a_slip_in_a_long_word_finds_what_the_word_finds() {
    let (mut tried, mut missed) = (0, Vec::new());
    for (word, right) in ASKED[..ASKED.len() - SLIPS].iter().filter(|(word, _)| {
        word.len() >= 7 && word.chars().all(|letter| letter.is_ascii_lowercase())
    }) {
        for at in (1..word.len() - 1).step_by(2) {
            let (before, after) = word.split_at(at);
            let rest = &after[1..];
            let swapped = format!("{before}{}{}{}", &rest[..1], &after[..1], &rest[1..]);
            for slip in [
                format!("{before}{rest}"),
                format!("{before}q{after}"),
                format!("{before}q{rest}"),
                swapped,
            ] {
                tried += 1;
                let found = search(&slip);
                let first: Vec<&str> = found.iter().take(4).map(|it| it.name.as_str()).collect();
                if !first.iter().any(|name| right.contains(name)) {
                    missed.push(format!("{slip}: {first:?}"));
                }
            }
        }
    }
    assert!(tried > 150, "{tried}");
    assert!(missed.is_empty(), "{} of {tried}:\n{}", missed.len(), missed.join("\n"));
}
