//! A default never shortens a distance, a time or a brake, and protective figures round to the safe side.
//!
//! Every input with a default is moved over its range while the others keep the sheet's example; no
//! protective figure may come out on the safer side of what the default gives: then the default is not the safe end.

use standstill::Sheet;
use standstill::calculation::Results;
use standstill::library::SHEETS;
use standstill::number::Slot;
use standstill::program::{Input, Output, Type};

/// Which way a protective figure is safe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Safe {
    /// Distances, times of stopping, speeds left, heat, what a brake must bear.
    Larger,
    /// What is allowed: openings, resolutions, time to spare, grip.
    Smaller,
}

/// Names of protective figures, the first that fits; a star stands for any end.
const PROTECTIVE: &[(&str, Safe)] = &[
    ("S_sound", Safe::Smaller),
    ("S", Safe::Larger),
    ("S_*", Safe::Larger),
    ("D_*", Safe::Larger),
    ("H_min", Safe::Larger),
    ("t_unlock", Safe::Larger),
    ("t_early", Safe::Larger),
    ("t_fails", Safe::Larger),
    ("t_left", Safe::Larger),
    ("t_front", Safe::Larger),
    ("t_filter_min", Safe::Larger),
    ("n_open", Safe::Larger),
    ("n_peak", Safe::Larger),
    ("phi_open", Safe::Larger),
    ("t_stop", Safe::Larger),
    ("t_meas", Safe::Larger),
    ("t_then", Safe::Larger),
    ("J", Safe::Larger),
    ("J_*", Safe::Larger),
    ("E", Safe::Larger),
    ("e_max", Safe::Smaller),
    ("d_max", Safe::Smaller),
    ("t_spare", Safe::Smaller),
    ("t_room", Safe::Smaller),
    ("a_slide", Safe::Smaller),
    ("a_grip", Safe::Smaller),
];

/// Folders that are held to it.
const FOLDERS: &[&str] = &["inertia", "separation", "commissioning"];

/// Defaults that stay although another value would be safer, each with its reason.
const REASONS: &[(&str, &str, &str)] = &[
    ("separation-curtain", "Z", "the 2010 edition knows no supplement"),
    (
        "separation-curtain",
        "D_DS",
        "counts only where the user's own standard asks for more; 2024 above 40 mm fails without it",
    ),
    ("angled-field", "D_DS", "as in separation-curtain"),
    ("vertical-field-height", "D_DS", "as in separation-curtain"),
    (
        "moving-robot",
        "v_h",
        "1600 mm/s is the standard's own figure, checked from below where nothing is measured",
    ),
    (
        "us-general",
        "K",
        "63 in/s is the regulation's own figure and the least that its range allows",
    ),
    ("us-general", "T_bm", "a monitor without its allowance fails a check"),
    (
        "us-general",
        "form",
        "the inch form is the longer one throughout; the metric one rounds 2.5 in up to 64 mm",
    ),
    (
        "reflected-rotary",
        "J_out",
        "part of J_load where its maker counts it; most machines have none",
    ),
    (
        "reflected-rotary",
        "J_brake",
        "most motors have no brake of their own; J_motor must be given",
    ),
    ("reflected-rotary", "J_gear", "part of J_motor where its maker counts it"),
    ("reflected-linear", "d", "nothing moves without it: a check fails"),
    ("reflected-linear", "module", "nothing moves without it: a check fails"),
    ("reflected-linear", "z", "nothing moves without it: a check fails"),
    ("reflected-linear", "lead", "nothing moves without it: a check fails"),
    ("reflected-linear", "s_belt", "a belt without thickness: under 1 % of the radius"),
    ("inertia-data", "GD2", "no inertia without it: a check fails"),
    ("inertia-data", "WK2", "no inertia without it: a check fails"),
    ("inertia-data", "W", "no inertia without it: a check fails"),
    ("inertia-data", "K", "no inertia without it: a check fails"),
    ("disc-with-bore", "d_p", "counts with holes alone"),
];

/// Reasons for all bodies: mass or density, a body without both fails.
const BODIES: &[&str] = &[
    "block", "cone", "disc-with-bore", "hollow-cylinder", "rod", "ring", "solid-cylinder", "sphere",
];

fn excused(sheet: &str, input: &str) -> bool {
    REASONS.iter().any(|(of, name, _)| *of == sheet && *name == input)
        || BODIES.contains(&sheet) && ["m", "rho", "t"].contains(&input)
}

fn safe_side(output: &Output) -> Option<Safe> {
    let name = output.name.as_str();
    let fits = |pattern: &str| match pattern.strip_suffix('*') {
        Some(start) => name.starts_with(start),
        None => name == pattern,
    };
    PROTECTIVE.iter().find(|(pattern, _)| fits(pattern)).map(|(_, safe)| *safe)
}

/// Values to try in place of a default, as they would be typed.
fn others(input: &Input) -> Vec<String> {
    match &input.type_ {
        Type::Choice(words) => words.to_vec(),
        Type::Number { series: true, .. } => Vec::new(),
        _ => {
            let unit = &input.unit.symbol;
            [-1000, -10, 0, 1, 2, 5, 10, 30, 50, 100, 300, 1000, 3000]
                .iter()
                .flat_map(|number| {
                    [format!("{number} {unit}"), format!("{} {unit}", f64::from(*number) / 1000.0)]
                })
                .map(|text| text.trim().to_owned())
                .collect()
        }
    }
}

fn figures(results: &Results) -> Vec<(String, Safe, f64)> {
    results
        .program()
        .outputs
        .iter()
        .filter_map(|output| {
            let Some(Slot::One(value)) = results.slot(output) else { return None };
            Some((output.name.clone(), safe_side(output)?, value.to_f64()))
        })
        .collect()
}

#[test]
fn no_default_is_on_the_short_side() {
    let mut troubles = Vec::new();
    let mut tried = 0;
    for shelved in SHEETS.iter().filter(|sheet| FOLDERS.contains(&sheet.group)) {
        let sheet = Sheet::library(shelved.name).unwrap();
        let base = {
            let mut inputs = sheet.inputs();
            inputs.fill_with_examples();
            inputs
        };
        for input in sheet.program().inputs.iter().filter(|input| input.default.is_some()) {
            // the sheet with this input left to its default, everything else as in the example
            let mut inputs = sheet.inputs();
            for other in sheet.program().inputs.iter().filter(|other| other.name != input.name) {
                if let Some(value) = base.value(other) {
                    inputs.put(&other.name, value, None).unwrap();
                }
            }
            let Ok(plain) = sheet.run(&inputs) else { continue };
            let plain = figures(&plain);
            for text in others(input) {
                let mut changed = inputs.clone();
                if changed.write(&input.name, &text).is_err() {
                    continue;
                }
                let Ok(results) = sheet.run(&changed) else { continue };
                tried += 1;
                for ((name, safe, with_default), (_, _, with_other)) in
                    plain.iter().zip(figures(&results))
                {
                    let slack = 1e-9 * with_default.abs().max(with_other.abs());
                    let safer = match safe {
                        Safe::Larger => with_other > with_default + slack,
                        Safe::Smaller => with_other < with_default - slack,
                    };
                    if safer && !excused(shelved.name, &input.name) {
                        troubles.push(format!(
                            "{}: {} = {text} moves {name} from {with_default} to the safe side, {with_other}",
                            shelved.name, input.name
                        ));
                    }
                }
            }
        }
    }
    troubles.dedup_by(|a, b| {
        a.split(" moves ").next().map(|t| t.split('=').next())
            == b.split(" moves ").next().map(|t| t.split('=').next())
    });
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
    assert!(tried > 100, "only {tried} values were tried");
}

#[test]
fn every_reason_belongs_to_a_default() {
    for (name, input, _) in REASONS {
        let sheet = Sheet::library(name).unwrap();
        let found = sheet.program().inputs.iter().find(|one| one.name == *input);
        assert!(found.is_some_and(|one| one.default.is_some()), "{name}: {input}");
    }
}

#[test]
fn protective_figures_round_to_the_safe_side() {
    let mut rounded = 0;
    for shelved in SHEETS.iter().filter(|sheet| FOLDERS.contains(&sheet.group)) {
        let sheet = Sheet::library(shelved.name).unwrap();
        for output in &sheet.program().outputs {
            let words = &output.rounding;
            let Some(safe) = safe_side(output).filter(|_| !words.is_empty()) else { continue };
            rounded += 1;
            let wanted = if safe == Safe::Larger { "rounded up" } else { "rounded down" };
            assert!(words.starts_with(wanted), "{}: {} is {words}", shelved.name, output.name);
        }
    }
    assert!(rounded > 20, "only {rounded} figures are rounded");
}
