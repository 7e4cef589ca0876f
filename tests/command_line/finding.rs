//! A sheet is found by what the trade calls it: words and questions, each with its right sheet among the first three.
//!
//! The words are common practice, no source; which sheet is right was decided from the sheets' titles, before the
//! search was tried.

use standstill::library::search;

use super::{output_text, standstill};

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
    ("overtravel", &["safe-stop", "run-down", "measured-stops"]), ("how far does my conveyor run on", &["run-down"]), ("how far does the conveyor coast", &["run-down"]), ("counterbalance", &["hoist", "vertical-drop"]),
    ("braking distance", &["ramp-stop", "mechanical-brake-stop", "safe-stop"]), ("stopping time", &["ramp-stop", "measured-stops", "safe-stop", "mechanical-brake-stop", "allowed-stop-time"]),
    ("deceleration", &["ramp-stop", "jerk-ramp"]), ("S-curve", &["jerk-ramp"]), ("DC injection", &["loss-braking"]), ("plugging", &["loss-braking"]),
    ("power failure", &["power-failure"]), ("outage", &["power-failure"]), ("resistor burned", &["resistor-pulse"]), ("how far does the slide fall when power fails", &["vertical-drop"]), ("mains loss", &["power-failure"]), ("field weakening", &["torque-limit"]), ("spindle", &["torque-limit", "reflected-linear"]),
    ("vertical axis", &["vertical-drop", "axis-stop", "ss1-brake"]), ("z-axis drop", &["vertical-drop"]), ("lag", &["response-chain", "standstill-monitor"]),
    // machines
    ("saw", &["run-down", "process-torque", "quickest-stop"]), ("circular saw", &["quickest-stop", "process-torque", "run-down"]), ("mixer", &["process-torque", "run-down"]),
    ("centrifuge", &["run-down", "motor-thermal", "solid-cylinder", "hollow-cylinder", "loss-braking"]), ("fan", &["square-law-load"]), ("pump", &["square-law-load"]), ("hoist", &["hoist"]),
    ("crane", &["hoist", "crane-trolley"]), ("elevator", &["hoist"]), ("winder", &["roll"]), ("unwinder", &["roll"]), ("conveyor", &["conveyor-load", "conveyor-inertia"]),
    ("driven roller", &["conveyor-inertia"]), ("roller conveyor", &["conveyor-inertia"]), ("roller table", &["conveyor-inertia", "gear-train", "reflected-rotary"]), ("robot", &["moving-robot"]), ("AGV", &["moving-field"]), ("shuttle", &["moving-field", "axis-stop"]),
    ("escalator", &["conveyor-load"]), ("lathe", &["process-torque"]), ("mill", &["process-torque"]), ("extruder", &["process-torque"]), ("sheave", &["disc-with-bore"]),
    ("slewing", &["gear-train"]), ("slewing drive", &["gear-train"]),
    ("mechanical press", &["us-press"]), ("gantry", &["reflected-linear"]), ("ball screw", &["reflected-linear"]), ("timing belt", &["belt-drive"]), ("gearbox", &["gear-train"]),
    ("worm gear", &["driven-direction"]), ("flywheel", &["disc-with-bore"]), ("fly wheel", &["disc-with-bore"]), ("grinding wheel", &["run-down", "disc-with-bore", "solid-cylinder"]),
    ("drum", &["hollow-cylinder", "hoist"]), ("shaft", &["solid-cylinder"]), ("crank", &["off-axis", "unbalance"]), ("GD2", &["inertia-data"]), ("WK²", &["inertia-data"]),
    ("moment of inertia", &["solid-cylinder", "block", "hollow-cylinder", "cone", "ring", "rod", "roll", "sphere", "off-axis", "disc-with-bore"]), ("load inertia", &["reflected-rotary", "reflected-linear", "largest-inertia"]),
    ("parallel axis theorem", &["off-axis"]), ("friction", &["bearing-friction", "guide-friction", "run-down"]), ("bearing", &["bearing-friction"]), ("incline", &["slope"]),
    ("drying drum", &["hollow-cylinder", "run-down"]), ("ball mill", &["run-down", "process-torque", "hollow-cylinder"]), ("decanter", &["run-down"]), ("washing machine", &["run-down", "hollow-cylinder"]),
    ("bottle washer", &["conveyor-inertia", "conveyor-load", "process-torque"]), ("stirrer", &["process-torque"]), ("tumbler", &["hollow-cylinder"]), ("wind turbine", &["mechanical-brake-stop"]),
    ("paper cutter", &["two-hand-control"]), ("guillotine", &["two-hand-control"]), ("carousel ride", &["mechanical-brake-stop"]), ("dynamometer", &["return-to-mains"]), ("portal", &["reflected-linear"]),
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
    ("lid", &["guard-locking", "unlocking-monitor"]), ("lid lock", &["guard-locking", "unlocking-monitor"]), ("hatch", &["guard-locking"]), ("enabling switch", &["two-hand-control", "speed-monitor", "response-chain"]), ("trapped key", &["guard-locking"]),
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

/// Questions in the words of the trade, of people at a machine; common practice, no source.
#[rustfmt::skip]
const QUESTIONS: &[(&str, &[&str])] = &[
    ("web break", &["roll", "run-down", "quickest-stop"]),
    ("paper web tears", &["roll"]),
    ("winder brake", &["roll"]),
    ("dancer", &["roll"]),
    ("web tension", &["roll"]),
    ("many motors on one link", &["shared-link"]),
    ("slack rope", &["hoist"]),
    ("how long until the fan may be touched", &["square-law-load", "run-down"]),
    ("two brakes", &["hoist", "mechanical-brake-stop", "brake-torque"]),
    ("creep", &["standstill-monitor", "vertical-drop", "holding-test"]),
    ("overrun", &["safe-stop", "run-down", "measured-stops"]),
    ("coasting down", &["run-down"]),
    ("how far away must the light curtain be", &["separation-curtain"]),
    ("how long does the spindle run on", &["run-down"]),
    ("time to standstill without power", &["run-down", "power-failure"]),
    ("stop after safe torque off", &["run-down"]),
    ("the drive trips on overvoltage", &["dc-link-rise", "ramp-without-resistor", "link-alone"]),
    ("do I need a braking resistor", &["brake-resistor", "ramp-without-resistor", "link-alone", "resistor-for-ramp"]),
    ("what resistor for my drive", &["brake-resistor", "resistor-window", "resistor-for-ramp"]),
    ("resistor gets too hot", &["resistor-pulse"]),
    ("rated power of the resistor at 20 % duty", &["resistor-catalogue", "brake-resistor"]),
    ("how strong must the brake be", &["brake-torque"]),
    ("brake slips", &["holding-test", "brake-torque", "vertical-drop"]),
    ("brake opens too late", &["spring-set-release"]),
    ("brake closes too late", &["spring-set-release"]),
    ("brake pads worn", &["brake-wear"]),
    ("when to replace the lining", &["brake-wear"]),
    ("how often may I brake per hour", &["stops-per-hour"]),
    ("brake fade", &["brake-heating"]),
    ("load drops before the brake holds", &["vertical-drop"]),
    ("hook travels on after stop", &["hoist", "vertical-drop", "axis-stop"]),
    ("trolley stop distance", &["crane-trolley", "moving-field", "ramp-stop"]),
    ("emergency stop of a conveyor", &["conveyor-load", "emergency-or-normal", "conveyor-inertia"]),
    ("goods slide on the belt", &["conveyor-load"]),
    ("belt slips", &["belt-drive", "conveyor-load"]),
    ("how heavy may the workpiece be", &["largest-inertia"]),
    ("inertia of a chuck", &["solid-cylinder", "hollow-cylinder", "disc-with-bore"]),
    ("inertia of a turntable", &["block", "solid-cylinder", "disc-with-bore"]),
    ("inertia of a roll of paper", &["roll"]),
    ("inertia at the motor shaft", &["reflected-rotary", "reflected-linear", "gear-train"]),
    ("data sheet gives WR2", &["inertia-data"]),
    ("rack and pinion", &["reflected-linear"]),
    ("lead screw back drives", &["driven-direction"]),
    ("worm gear self locking", &["driven-direction"]),
    ("gear efficiency backwards", &["driven-direction"]),
    ("off centre mass", &["off-axis", "unbalance"]),
    ("pendulum arm gravity", &["unbalance"]),
    ("car on a slope", &["slope"]),
    ("lift counterweight", &["hoist"]),
    ("pump stops", &["square-law-load"]),
    ("windage", &["square-law-load"]),
    ("bearing drag", &["bearing-friction"]),
    ("seal friction", &["bearing-friction"]),
    ("linear guide friction", &["guide-friction"]),
    ("saw blade coming to rest", &["run-down", "process-torque", "quickest-stop"]),
    ("ten second rule", &["quickest-stop"]),
    ("planer", &["quickest-stop", "run-down"]),
    ("DC brake on an induction motor", &["loss-braking"]),
    ("crane load swings", &["crane-swing"]),
    ("how far does the load swing", &["crane-swing"]),
    ("servo with shorted windings", &["winding-brake"]),
    ("dynamic braking of a servo motor", &["winding-brake"]),
    ("reverse current braking", &["loss-braking"]),
    ("mains failure ride through", &["power-failure"]),
    ("uninterruptible stop in a blackout", &["power-failure"]),
    ("link voltage at 400 V mains", &["link-from-mains"]),
    ("how long is the dc bus live", &["link-discharge"]),
    ("five minute wait label", &["link-discharge"]),
    ("drives sharing a dc bus", &["shared-link"]),
    ("energy saving of feedback", &["return-to-mains"]),
    ("lowering a load continuously", &["lowering"]),
    ("jerk limited stop", &["jerk-ramp"]),
    ("smooth stop for bottles", &["jerk-ramp"]),
    ("field weakening range", &["torque-limit"]),
    ("constant power range", &["torque-limit"]),
    ("delay of SS1", &["best-delay", "ramp-then-release", "allowed-ramp", "ss1-brake"]),
    ("SS1 timer setting", &["best-delay", "ramp-then-release"]),
    ("ramp monitored", &["ramp-then-release", "speed-monitor", "standstill-monitor"]),
    ("delay too short", &["ramp-cut", "best-delay"]),
    ("safe operating stop", &["standstill-monitor"]),
    ("standstill threshold", &["standstill-monitor", "unlocking-monitor"]),
    ("drive runs away", &["standstill-monitor", "speed-monitor"]),
    ("safely limited speed", &["speed-monitor"]),
    ("door opens while it still turns", &["unlocking-monitor", "guard-locking", "gate-with-locking"]),
    ("unlock time", &["guard-locking"]),
    ("guard without locking how far", &["guard-opening", "gate-with-locking"]),
    ("distance of an interlocked door", &["guard-opening", "gate-with-locking"]),
    ("minimum distance ISO 13855", &["separation-curtain", "hand-approach", "protective-device", "parallel-approach"]),
    ("resolution 14 mm", &["separation-curtain", "detection-capability"]),
    ("resolution 30 mm curtain", &["separation-curtain"]),
    ("reach over the curtain", &["vertical-field-height"]),
    ("crawl under", &["vertical-field-height"]),
    ("foot detection", &["parallel-approach", "detection-capability", "pressure-mat"]),
    ("scanner at ankle height", &["parallel-approach"]),
    ("mat distance", &["pressure-mat"]),
    ("two hand buttons distance", &["two-hand-control"]),
    ("finger through the mesh", &["reach-through"]),
    ("gap in the fence", &["reach-through"]),
    ("depth penetration factor", &["us-general"]),
    ("press brake monitor", &["us-general", "us-psdi", "us-press", "next-check-allowance"]),
    ("PSDI", &["us-psdi"]),
    ("full revolution clutch", &["us-two-hand-trip"]),
    ("robot and person", &["moving-robot"]),
    ("speed and separation monitoring", &["moving-robot"]),
    ("AGV protective field", &["moving-field"]),
    ("stop time measurement", &["measured-stops", "compare-with-calculation"]),
    ("how many measurements", &["measured-stops"]),
    ("does the measurement fit the calculation", &["compare-with-calculation"]),
    ("yearly check", &["next-check-allowance"]),
    ("is the unlocking delay still long enough", &["guard-locking-check"]),
    ("wear until the next inspection", &["next-check-allowance"]),
    ("motor overload in cycle", &["rms-torque", "equivalent-power", "motor-thermal", "duty-type"]),
    ("intermittent duty", &["duty-type"]),
    ("winding overheats", &["motor-thermal"]),
    ("nameplate torque", &["rated-torque"]),
    ("torque from kW and rpm", &["rated-torque"]),
    ("how fast must it stop", &["allowed-stop-time"]),
    ("longest allowed ramp", &["allowed-ramp"]),
    ("torque to stop in 2 s", &["torque-for-time"]),
    ("bucket elevator runs backwards", &["hoist", "conveyor-load", "vertical-drop"]),
    ("backstop", &["hoist", "driven-direction", "conveyor-load"]),
    ("centrifuge run out", &["run-down"]),
    ("hanging load with SS1", &["ss1-brake", "axis-stop"]),
    ("robot axis brake test", &["holding-test"]),
    ("reaction time of PLC and sensor", &["response-chain"]),
    ("press stopping time", &["us-press", "measured-stops"]),
];

#[test]
fn every_question_has_its_sheet_among_the_first_three() {
    assert!(QUESTIONS.len() > 100);
    let missed: Vec<String> = QUESTIONS
        .iter()
        .filter_map(|(asked, right)| {
            let found = search(asked);
            let first: Vec<&str> = found.iter().take(3).map(|it| it.name.as_str()).collect();
            let hit = first.iter().any(|name| right.contains(name));
            (!hit).then(|| format!("{asked}: {first:?}, right is {right:?}"))
        })
        .collect();
    assert!(missed.is_empty(), "{} of {}:\n{}", missed.len(), QUESTIONS.len(), missed.join("\n"));
}

/// What no sheet knows is said beside what was found for the rest.
#[test]
fn words_that_no_sheet_knows_are_named() {
    let folder = tempfile::tempdir().unwrap();
    for (asked, said) in [
        ("zeppelin hoist", Some("No sheet speaks of `zeppelin`.")),
        ("hoist with a slack rope", None),
        ("fly wheel", None),
        ("xylophone zeppelin fan", Some("No sheet speaks of `xylophone` or `zeppelin`.")),
    ] {
        let text = super::output_text(&super::standstill(folder.path(), &["list", asked]));
        assert_eq!(text.contains("No sheet speaks of"), said.is_some(), "{asked}: {text}");
        assert!(said.is_none_or(|said| text.contains(said)), "{asked}: {text}");
    }
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

/// The name that stands before a problem is looked up by itself, and a group is called what it is.
#[test]
fn a_problem_is_looked_up_and_a_group_is_no_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let output = standstill(folder.path(), &["list", "hidden-conversion"]);
    let text = output_text(&output);
    assert!(output.status.code() == Some(0) && text.contains("9550"), "{text}");
    assert!(
        !text.contains("percent-as-number") && text.contains("  hidden-conversion  "),
        "{text}"
    );
    let output = standstill(folder.path(), &["show", "dc_link"]);
    let text = output_text(&output);
    assert!(output.status.code() != Some(0) && text.contains("`group dc_link`"), "{text}");
}
