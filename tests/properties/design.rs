//! The reverse question against forward runs at the answer, one step inside and one step outside.

use standstill::Sheet;
use standstill::calculation::{
    Before, Beyond, Design, FreeInput, Goal, Question, Requirement, Sensitivities, Step,
    asked_bound, asked_value, written,
};
use standstill::library::SHEETS;
use standstill::number::{Exact, InputValue};
use standstill::program::Relation;
use standstill::unit::Literal;

#[test]
fn settings_are_found_as_they_are_typed() {
    // steps that are multiples of π, of an inch, of a foot-pound
    for (name, input, [from, to, step], bound, found) in [
        ("standstill-monitor", "phi_lim", ["1 °", "90 °", "1 °"], "phi_stop<=500 °", "64 °"),
        (
            "standstill-monitor",
            "n_lim",
            ["3 r/min", "99 r/min", "1 r/min"],
            "n_top<=700 r/min",
            "38 r/min",
        ),
        ("axis-stop", "n_0", ["500 r/min", "1450 r/min", "7 r/min"], "S<=1750 mm", "1011 r/min"),
        ("separation-curtain", "d", ["0.1 in", "1.5 in", "0.1 in"], "S_fit<=700 mm", "0.8 in"),
    ] {
        let sheet = Sheet::library(name).unwrap();
        let program = sheet.program();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let (result, limit) = bound.split_once("<=").unwrap();
        let value = |text| asked_value(program, input, text).unwrap();
        let by = FreeInput {
            input: input.to_owned(),
            from: value(from),
            to: value(to),
            step: value(step),
            towards: Some(Goal::Largest),
        };
        let wanted = Requirement {
            result: result.to_owned(),
            relation: Relation::AtMost,
            value: asked_bound(program, result, limit).unwrap(),
        };
        let question = Question { by: vec![by], wanted: vec![wanted], worst: false };
        let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
        let (values, _) = answer.found.unwrap_or_else(|| panic!("{name}, {bound}: nothing fits"));
        assert_eq!(written(&values[0]), found, "{name}, {bound}");
    }
}

#[test]
fn the_answer_fits_and_one_step_further_does_not() {
    for (name, input, from, to, step, bound, wish) in [
        (
            "safe-stop",
            "J_load",
            "0.05 kg·m²",
            "0.5 kg·m²",
            "0.005 kg·m²",
            "S<=2300 mm",
            Goal::Largest,
        ),
        ("safe-stop", "t_ramp", "0.1 s", "0.9 s", "0.01 s", "T_works<=500 ms", Goal::Largest),
        ("safe-stop", "T_0", "0.5 N·m", "5 N·m", "0.01 N·m", "S<=1800 mm", Goal::Smallest),
        ("safe-stop", "n_0", "500 r/min", "1500 r/min", "1 r/min", "S<=2000 mm", Goal::Largest),
        ("run-down", "J", "0.001 kg·m²", "1 kg·m²", "0.0001 kg·m²", "t_stop<=1.5 s", Goal::Largest),
        ("separation-curtain", "T", "50 ms", "900 ms", "1 ms", "S_fit<=600 mm", Goal::Largest),
    ] {
        let sheet = Sheet::library(name).unwrap();
        let program = sheet.program();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let (result, limit) = bound.split_once("<=").unwrap();
        let limit = asked_bound(program, result, limit).unwrap();
        let value = |text| asked_value(program, input, text).unwrap();
        let by = FreeInput {
            input: input.to_owned(),
            from: value(from),
            to: value(to),
            step: value(step),
            towards: Some(wish),
        };
        let wanted = Requirement {
            result: result.to_owned(),
            relation: Relation::AtMost,
            value: limit.clone(),
        };
        let question = Question { by: vec![by], wanted: vec![wanted], worst: false };
        let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
        let (found, _) = answer.found.unwrap_or_else(|| panic!("{name}, {bound}: nothing fits"));
        let fits = |text: &str| {
            let mut one = inputs.clone();
            one.write(input, text).unwrap();
            let Ok(results) = sheet.run(&one) else { return false };
            let value = results.exact(result).unwrap();
            let limit = standstill::number::Exact::from_literal(&limit).unwrap();
            results.holds() && value.stands_to(&limit).is_le()
        };
        let (found, beyond) = (&found[0], answer.beyond[0].clone());
        assert!(fits(&written(found)), "{name}, {bound}: {} does not fit", written(found));
        let Beyond { value: beyond, broken } =
            beyond.unwrap_or_else(|| panic!("{name}, {bound}: the end of the range"));
        assert!(!fits(&written(&beyond)), "{name}, {bound}: {} fits as well", written(&beyond));
        assert!(!broken.is_empty());
        assert!(answer.none_further, "{name}, {bound}: not proved");
        if answer.all_before == Before::All {
            // one step inside, and the middle of what is said to fit
            let end = if wish == Goal::Largest { from } else { to };
            assert!(fits(end), "{name}, {bound}: {end} does not fit");
        }
        if let Before::Not(out) = &answer.all_before {
            assert!(!fits(&written(out)), "{name}, {bound}: {} is said not to fit", written(out));
        }
    }
}

#[test]
fn what_forbids_every_value_is_reported_with_how_near_it_comes() {
    let sheet = Sheet::library("safe-stop").unwrap();
    let program = sheet.program();
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    let value = |text| asked_value(program, "J_load", text).unwrap();
    let by = FreeInput {
        input: "J_load".to_owned(),
        from: value("0.05 kg·m²"),
        to: value("0.5 kg·m²"),
        step: value("0.005 kg·m²"),
        towards: None,
    };
    let wanted = Requirement {
        result: "S".to_owned(),
        relation: Relation::AtMost,
        value: asked_bound(program, "S", "600 mm").unwrap(),
    };
    let question = Question { by: vec![by], wanted: vec![wanted], worst: false };
    let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
    assert!(answer.found.is_none() && answer.none_further);
    assert!(
        answer.forbids[0].starts_with("everywhere: S = 1285 mm, wanted <= 600 mm"),
        "{:?}",
        answer.forbids
    );
}

/// Every sheet of the library, by the inputs that move one of its results most: asked for no more of the result
/// than there is, the value as given fits, so there is an answer.
#[test]
fn the_answer_stands_between_what_fits_and_what_does_not_for_every_sheet() {
    let mut asked = 0;
    let mut ends = 0;
    for shelved in SHEETS {
        let sheet = Sheet::library(shelved.name).unwrap();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let program = sheet.program();
        let found = Sensitivities::compute(program, &inputs).unwrap();
        if !found.nominal().holds() {
            continue;
        }
        let mut taken = Vec::new();
        for sensitivity in found.all() {
            let (input, output) =
                (&program.inputs[sensitivity.input], &program.outputs[sensitivity.output]);
            let Some(InputValue::One(value)) = inputs.value(input) else { continue };
            let count = input.kind.is_some_and(|kind| kind.name == "count");
            let plain =
                sensitivity.step == Step::Percent && !count && !value.digits.is_sign_negative();
            if taken.contains(&sensitivity.input) || !plain || taken.len() == 3 {
                continue;
            }
            taken.push(sensitivity.input);
            // from half to twice the value, in steps of a fortieth of it
            let times = |factor: &str| {
                let factor = factor.parse::<rust_decimal::Decimal>().unwrap();
                Literal { digits: value.digits * factor, ..value.clone() }
            };
            let by = FreeInput {
                input: input.name.clone(),
                from: times("0.5"),
                to: times("2"),
                step: times("0.025"),
                towards: None,
            };
            let nominal = found.nominal().exact(&output.name).unwrap();
            let limit = nominal.in_unit(&output.unit).unwrap();
            let limit = Literal::new(limit.mantissa(), limit.ten(), output.unit.clone());
            let wanted = Requirement {
                result: output.name.clone(),
                relation: Relation::AtMost,
                value: limit.clone(),
            };
            let question = Question { by: vec![by], wanted: vec![wanted], worst: false };
            let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
            let what = format!("{}: {} by {}", shelved.name, output.name, input.name);
            let limit = Exact::from_literal(&limit).unwrap();
            let fits = |value: &Literal| {
                let mut one = inputs.clone();
                one.put(&input.name, InputValue::One(value.clone()), None).unwrap();
                sheet.run(&one).is_ok_and(|results| {
                    // what never exists lies within nothing
                    let within = |it: Exact| it.stands_to(&limit).is_le();
                    results.holds() && results.exact(&output.name).is_some_and(within)
                })
            };
            // a limit on a step of rounding may fall a digit short of the value itself
            let Some((values, _)) = &answer.found else {
                assert!(!fits(&value), "{what}: the value as given fits, and nothing is found");
                continue;
            };
            asked += 1;
            assert!(fits(&values[0]), "{what}: {} does not fit", written(&values[0]));
            let Some(Beyond { value: beyond, broken }) = &answer.beyond[0] else {
                ends += 1;
                continue;
            };
            assert!(!fits(beyond) && !broken.is_empty(), "{what}: {} fits", written(beyond));
            let step = times("0.025");
            let (at, by) =
                (Exact::from_literal(&values[0]).unwrap(), Exact::from_literal(&step).unwrap());
            let inside = match answer.wishes[0] {
                Goal::Largest => at.minus(&by),
                Goal::Smallest => at.plus(&by),
            };
            let inside = inside.unwrap().in_unit(&value.unit).unwrap();
            let inside = Literal::new(inside.mantissa(), inside.ten(), value.unit.clone());
            match &answer.all_before {
                Before::All => assert!(fits(&inside), "{what}: one step inside"),
                Before::Not(out) => assert!(!fits(out), "{what}: {} fits", written(out)),
                Before::Unknown => {}
            }
        }
    }
    assert!(asked > 150, "only {asked} questions had an answer");
    assert!(ends < asked, "every answer is the end of its range");
}

/// Two inputs: what is said of the first, whatever the second is set to, is tried on the whole plane.
#[test]
fn the_first_of_two_inputs_goes_as_far_as_any_setting_of_the_second_allows() {
    let sheet = Sheet::library("safe-stop").unwrap();
    let program = sheet.program();
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    let by = |input: &str, from, to, step, towards| {
        let value = |text| asked_value(program, input, text).unwrap();
        let (from, to, step) = (value(from), value(to), value(step));
        FreeInput { input: input.to_owned(), from, to, step, towards: Some(towards) }
    };
    let wanted = Requirement {
        result: "S".to_owned(),
        relation: Relation::AtMost,
        value: asked_bound(program, "S", "2300 mm").unwrap(),
    };
    let question = Question {
        by: vec![
            by("J_load", "0.2 kg·m²", "0.3 kg·m²", "0.01 kg·m²", Goal::Largest),
            by("t_ramp", "0.1 s", "0.4 s", "0.02 s", Goal::Smallest),
        ],
        wanted: vec![wanted],
        worst: false,
    };
    let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
    let mut best: Option<(u32, u32)> = None;
    for inertia in 20..=30_u32 {
        for ramp in (10..=40_u32).step_by(2) {
            let mut one = inputs.clone();
            one.write("J_load", &format!("0.{inertia} kg·m²")).unwrap();
            one.write("t_ramp", &format!("0.{ramp} s")).unwrap();
            let fits = sheet.run(&one).is_ok_and(|results| {
                results.holds() && results.exact("S").unwrap().to_f64() <= 2.3
            });
            if fits && best.is_none_or(|(most, _)| inertia > most) {
                best = Some((inertia, ramp));
            }
        }
    }
    let (inertia, ramp) = best.unwrap();
    let (values, _) = answer.found.unwrap();
    let words: Vec<String> = values.iter().map(written).collect();
    let unpadded = format!("{}", f64::from(ramp) / 100.0);
    assert_eq!(words, [format!("0.{inertia} kg·m²"), format!("{unpadded} s")]);
    assert!(answer.none_further);
    assert!(
        answer.beyond.iter().all(|beyond| beyond.as_ref().is_some_and(|it| !it.broken.is_empty()))
    );
}

/// Over tolerances: at the answer no draw fails; one step further the corner that is named does.
#[test]
fn over_tolerances_the_answer_holds_for_every_draw() {
    let sheet = Sheet::library("run-down").unwrap();
    let program = sheet.program();
    let mut inputs = sheet.inputs();
    inputs.write("n_0", "1500 r/min").unwrap();
    inputs.write("T_0", "4 N·m ± 0.5 N·m").unwrap();
    let value = |text| asked_value(program, "J", text).unwrap();
    let by = FreeInput {
        input: "J".to_owned(),
        from: value("0.1 kg·m²"),
        to: value("5 kg·m²"),
        step: value("0.01 kg·m²"),
        towards: None,
    };
    let wanted = Requirement {
        result: "t_stop".to_owned(),
        relation: Relation::AtMost,
        value: asked_bound(program, "t_stop", "60 s").unwrap(),
    };
    let mut question = Question { by: vec![by], wanted: vec![wanted], worst: true };
    let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
    // J = t·T/ω with the least friction: 60 · 3.5 / 157.0796327 = 1.3369
    assert_eq!(written(&answer.found.as_ref().unwrap().0[0]), "1.33 kg·m²");
    assert!(answer.none_further && answer.all_before == Before::All);
    let Beyond { value: next, broken } = answer.beyond[0].clone().unwrap();
    // 1.34 · 157.0796327 / 3.5 = 60.1391
    assert_eq!(
        (written(&next).as_str(), broken[0].as_str()),
        ("1.34 kg·m²", "t_stop = 60.1391 s, wanted <= 60 s, with T_0 = 3.5 N·m")
    );
    question.worst = false;
    let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
    // as given: 60 · 4 / 157.0796327 = 1.5279
    assert_eq!(written(&answer.found.unwrap().0[0]), "1.52 kg·m²");
}
