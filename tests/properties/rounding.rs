//! Every rounding of the library goes to the safe side, and every symbol means one thing.

use std::collections::{BTreeMap, BTreeSet};

use standstill::Sheet;
use standstill::library::SHEETS;
use standstill::program::Type;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Up,
    Down,
}

/// Which side of each rounded figure is the safe one, and why. A rounding that is not listed fails the test.
const SAFE: &[(&str, Side, &str)] = &[
    ("S", Side::Up, "a distance to be kept"),
    ("S_fit", Side::Up, "the same, for mounting"),
    ("S_calc", Side::Up, "a distance"),
    ("S_limit", Side::Up, "a distance"),
    ("S_free", Side::Up, "a distance"),
    ("S_p", Side::Up, "a distance"),
    ("S_RT", Side::Up, "a distance"),
    ("S_RO", Side::Up, "a distance"),
    ("H_min", Side::Up, "the lowest height: nobody crawls under a higher one that is coarser"),
    ("d_max", Side::Down, "the coarsest field"),
    ("t_stop", Side::Up, "a measured stop to go on with"),
    ("t_least", Side::Up, "the least delay of unlocking that lasts"),
    ("s_own", Side::Up, "a way that is added to a distance"),
    ("v_own", Side::Up, "the speed of an axis that comes nearer"),
    ("t_meas", Side::Up, "a measured stop"),
    ("t_other", Side::Up, "a stop that nobody measured"),
    ("t_worn", Side::Up, "the same, with a worn brake"),
    ("r_other", Side::Up, "by how much it grows"),
    ("s_other", Side::Up, "a way that is added to a distance"),
    ("v_other", Side::Up, "the speed of an axis that comes nearer"),
    ("t_b", Side::Up, "a brake that grips later stops later"),
    ("T_b", Side::Down, "a weaker brake stops later"),
    ("t_unlock", Side::Up, "unlocking, after standstill"),
    ("t_delay", Side::Up, "removal of torque, after the slowest ramp"),
    ("t_delay_least", Side::Up, "the same"),
    (
        "t_ramp_set",
        Side::Up,
        "a slower ramp asks less of the motor; times are counted with the setting",
    ),
    ("t_ramp_slow", Side::Up, "the longest ramp that a recording allows"),
    ("t_ramp_1", Side::Down, "the slowest ramp that fits"),
    ("t_ramp_2", Side::Down, "the slowest ramp that fits"),
    ("t_longest", Side::Down, "the longest delay that fits"),
    ("T_stop", Side::Down, "time that is left for a stop"),
    ("t_close", Side::Up, "the drive holds on until the brake does"),
    ("t_open", Side::Up, "the set value waits until the brake is open"),
    ("P_mean", Side::Up, "power that a resistor must bear"),
    ("E_cyc", Side::Up, "stops that one cycle may hold"),
    ("R", Side::Down, "the largest resistance that still takes the peak"),
    ("stops_life", Side::Down, "stops that a lining lasts"),
    ("stops_reset", Side::Down, "stops until the gap is set again"),
];

/// Names of what is rounded in a text, with the words of the rounding.
fn roundings(text: &str) -> Vec<(String, &'static str)> {
    const WORDS: [&str; 6] = [
        "rounded up to", "rounded down to", "rounded to", "next above", "next below", "nearest to",
    ];
    let is_name = |word: &str| {
        !word.is_empty() && word.chars().all(|letter| letter.is_alphanumeric() || letter == '_')
    };
    let (mut found, mut defined, mut gives) = (Vec::new(), String::new(), false);
    for line in text.lines() {
        gives |= line == "gives";
        // without notes and titles
        let bare: String = line.split('"').step_by(2).collect();
        if !gives && let Some((left, _)) = bare.split_once('=') {
            let name = left.split(':').next().unwrap_or_default().trim();
            if is_name(name) {
                name.clone_into(&mut defined);
            }
        }
        for words in WORDS {
            for (at, _) in bare.match_indices(words) {
                let before = &bare[..at];
                let name = if gives {
                    let part = before.rsplit(',').next().unwrap_or_default();
                    part.split_whitespace().next().unwrap_or_default().to_owned()
                } else {
                    defined.clone()
                };
                found.push((name, words));
            }
        }
    }
    found
}

#[test]
fn every_rounding_goes_to_the_safe_side() {
    let (mut troubles, mut used) = (Vec::new(), BTreeSet::new());
    for shelved in SHEETS {
        for (name, words) in roundings(shelved.text) {
            let side = match words {
                "rounded up to" | "next above" => Some(Side::Up),
                "rounded down to" | "next below" => Some(Side::Down),
                _ => None,
            };
            match SAFE.iter().find(|(listed, ..)| *listed == name) {
                None => troubles
                    .push(format!("{}: the safe side of `{name}` is not listed", shelved.name)),
                Some((_, safe, why)) if side != Some(*safe) => {
                    troubles.push(format!("{}: `{name}` ({why}) is {words} …", shelved.name));
                }
                Some((listed, ..)) => {
                    used.insert(*listed);
                }
            }
        }
    }
    for (listed, ..) in SAFE.iter().filter(|(listed, ..)| !used.contains(listed)) {
        troubles.push(format!("`{listed}` is listed and rounded nowhere"));
    }
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
}

#[test]
fn a_rounding_is_found_wherever_it_stands() {
    let text = "works\n  a : time = when x is y : b rounded up to 1 ms\n      otherwise : c rounded to 2 ms  \"rounded down to\"\n\
  R = next below q in E24\ngives\n  S in mm, s in mm rounded down to 1 mm\n";
    let found = roundings(text);
    let wanted = [
        ("a", "rounded up to"),
        ("a", "rounded to"),
        ("R", "next below"),
        ("s", "rounded down to"),
    ];
    assert_eq!(found, wanted.map(|(name, words)| (name.to_owned(), words)));
}

/// Symbols of inputs that stand for two kinds, each with the reason: letters that the trade itself uses twice.
const TWICE: &[(&str, &str)] = &[
    ("C", "capacitance of a DC link; C, the reach of ISO 13855"),
    ("K", "K of WK², a radius of gyration; K, the approach speed of the standards"),
    ("T_m", "torque of a holding test; T_m, a time of 29 CFR 1910.217"),
    ("T_max", "largest torque; in brake-heating the largest temperature, to be renamed"),
    ("a", "side of a body, lever arm; acceleration"),
    ("b", "side of a body, width; drag that grows with the speed"),
    ("c", "lever arm of a brake; drag that grows with the square of the speed"),
    ("d", "detection capability of ISO 13855; diameter"),
    ("e", "opening of ISO 13857; eccentricity"),
    ("f", "share of a ramp that is rounded; effective friction of a conveyor"),
    ("h", "height; heat transfer coefficient"),
    ("n", "number; speed of rotation"),
    ("t", "wall; time"),
    ("v_0", "first speed; share of the losses without torque"),
    ("z", "stops an hour; number of teeth or carriages"),
];

#[test]
fn a_symbol_is_one_quantity_throughout() {
    let mut kinds: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for shelved in SHEETS {
        for input in &Sheet::library(shelved.name).unwrap().program().inputs {
            // a choice is held to its words by what it is handed to
            if !matches!(input.type_, Type::Choice(_)) {
                let kind = input.kind.map_or("none", |kind| kind.name);
                kinds.entry(input.name.clone()).or_default().insert(kind.to_owned());
            }
        }
    }
    assert!(kinds.len() > 300, "{}", kinds.len());
    let doubtful: Vec<String> = kinds
        .iter()
        .filter(|(name, kinds)| kinds.len() > 1 && !TWICE.iter().any(|(listed, _)| listed == name))
        .map(|(name, kinds)| format!("`{name}` is {kinds:?}"))
        .collect();
    assert!(doubtful.is_empty(), "{}", doubtful.join("\n"));
    for (listed, _) in TWICE {
        assert!(kinds.get(*listed).is_some_and(|kinds| kinds.len() > 1), "`{listed}` has one kind");
    }
}
