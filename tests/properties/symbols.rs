//! One symbol, one meaning: the same name is the same kind of quantity on every sheet, and moves a stop the same way.

use std::collections::BTreeMap;

use standstill::Sheet;
use standstill::calculation::Sensitivities;
use standstill::library::SHEETS;
use standstill::number::InputValue;

/// Symbols that printed standards and handbooks use for two quantities; each sheet keeps the letter of its source.
const TWO_KINDS: &[(&str, &str)] = &[
    ("C", "a reach in ISO 13855, a capacitance elsewhere"),
    ("K", "a hand speed in 29 CFR 1910.217, a radius of gyration in WK²"),
    ("T_m", "the monitor's allowance in 29 CFR 1910.217, a torque elsewhere"),
    ("T_max", "a temperature of a brake, a torque elsewhere"),
    ("a", "a side or distance of a body, an acceleration"),
    ("b", "a side, the arm of a lever, drag that grows with the speed"),
    ("c", "a side, the arm of a lever, drag by the square"),
    ("d", "a detection capability in ISO 13855, a diameter elsewhere"),
    ("e", "an opening in ISO 13857, an eccentricity"),
    ("h", "a height, heat given off by a surface"),
    ("n", "how many bodies there are, a speed of rotation"),
    ("t", "a wall, a web, or a time"),
    ("v_0", "a share of losses without torque, a speed elsewhere"),
    ("z", "a rate of stops, a number of teeth, rope parts or carriages"),
];

/// What a stop becomes; more of it is worse.
const STOP: &[&str] = &[
    "t_stop", "t_works", "t_fails", "t_lost", "t_monitored", "t_worst", "t_ramp_works",
    "t_ramp_fails", "t_release", "phi_stop", "s_stop", "s_works", "s_fails", "s_lost", "n_peak",
    "S",
];

/// Names and kinds of all inputs, with the sheets where they stand.
#[test]
fn a_symbol_is_one_kind_of_quantity() {
    let mut kinds: BTreeMap<String, BTreeMap<&str, Vec<&str>>> = BTreeMap::new();
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        for input in &sheet.program().inputs {
            let Some(kind) = input.kind else { continue };
            // numbers without a unit differ in what they are called alone
            let number = ["ratio", "share", "efficiency", "count", "coefficient of friction"];
            let name = if number.contains(&kind.name) { "number" } else { kind.name };
            kinds
                .entry(input.name.clone())
                .or_default()
                .entry(name)
                .or_default()
                .push(shelved.name);
        }
    }
    let two: Vec<_> = kinds.iter().filter(|(_, kinds)| kinds.len() > 1).collect();
    let named: Vec<_> = two.iter().map(|(name, _)| name.as_str()).collect();
    let known: Vec<_> = TWO_KINDS.iter().map(|(name, _)| *name).collect();
    assert_eq!(named, known, "{two:#?}");
}

/// Plus helps a stop, minus drives: said in the same words wherever a load is typed, and so it acts.
#[test]
fn a_load_has_one_sign() {
    let mut sheets = 0;
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        for input in sheet.program().inputs.iter().filter(|input| input.name == "T_load") {
            sheets += 1;
            let says = input.note.split(';').next().unwrap_or_default();
            assert!(
                ["load", "load at the motor"].contains(&says.split(':').next().unwrap_or_default())
                    && says.contains(": plus helps the stop, minus drives"),
                "{}: {}",
                shelved.name,
                input.note
            );
        }
    }
    assert!(sheets >= 20, "{sheets}");
}

/// The slope of each result of a stop by each input, at the examples: never up in one sheet and down in another.
#[test]
fn a_symbol_moves_a_stop_the_same_way_on_every_sheet() {
    let mut ways: BTreeMap<(String, &str), [Vec<&str>; 2]> = BTreeMap::new();
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        // a load drives where it may
        let driving = sheet.program().inputs.iter().find(|input| input.name == "T_load");
        if driving.is_some() {
            let mut driven = inputs.clone();
            driven.write("T_load", "-0.3 N·m").unwrap();
            if sheet.run(&driven).is_ok() {
                inputs = driven;
            }
        }
        let Ok(found) = Sensitivities::compute(sheet.program(), &inputs) else { continue };
        for result in STOP {
            for slope in found.of(result).filter(|slope| slope.change != 0.0) {
                let input = &sheet.program().inputs[slope.input];
                // 1 % of a value below zero goes down
                let below = matches!(inputs.value(input), Some(InputValue::One(value)) if value.digits.is_sign_negative());
                let up = (slope.change > 0.0) != below;
                ways.entry((slope.name.clone(), result)).or_default()[usize::from(up)]
                    .push(shelved.name);
            }
        }
    }
    let both: Vec<_> =
        ways.iter().filter(|(_, [down, up])| !down.is_empty() && !up.is_empty()).collect();
    assert!(both.is_empty(), "{both:#?}");
    let of_loads = ways.iter().filter(|((name, _), _)| name == "T_load");
    let (down, up) =
        of_loads.fold((0, 0), |(down, up), (_, ways)| (down + ways[0].len(), up + ways[1].len()));
    assert!(down >= 20 && up == 0, "{down} {up}");
}

/// A list of symbols has words for each: of every input, and of every result, its own or those of the used sheet it
/// comes from.
#[test]
fn every_input_and_every_result_of_the_library_has_words() {
    let mut without = Vec::new();
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        let program = sheet.program();
        let inputs = program.inputs.iter().map(|it| (&it.name, &it.note));
        let results = program.outputs.iter().map(|it| (&it.name, &it.note));
        let bare = inputs.chain(results).filter(|(_, note)| note.trim().is_empty());
        without.extend(bare.map(|(name, _)| format!("{}: {name}", shelved.name)));
    }
    assert!(without.is_empty(), "{without:#?}");
}
