//! The reverse question against forward runs at the answer, one step inside and one step outside.

use standstill::Sheet;
use standstill::calculation::{
    Before, Design, Question, Wanted, Wish, asked_bound, asked_value, written,
};
use standstill::program::Relation;

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
            Wish::Largest,
        ),
        ("safe-stop", "t_ramp", "0.1 s", "0.9 s", "0.01 s", "T_works<=500 ms", Wish::Largest),
        ("safe-stop", "T_0", "0.5 N·m", "5 N·m", "0.01 N·m", "S<=1800 mm", Wish::Smallest),
        ("safe-stop", "n_0", "500 r/min", "1500 r/min", "1 r/min", "S<=2000 mm", Wish::Largest),
        ("run-down", "J", "0.001 kg·m²", "1 kg·m²", "0.0001 kg·m²", "t_stop<=1.5 s", Wish::Largest),
        ("separation-curtain", "T", "50 ms", "900 ms", "1 ms", "S_fit<=600 mm", Wish::Largest),
    ] {
        let sheet = Sheet::library(name).unwrap();
        let program = sheet.program();
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        let (result, limit) = bound.split_once("<=").unwrap();
        let limit = asked_bound(program, result, limit).unwrap();
        let value = |text| asked_value(program, input, text).unwrap();
        let question = Question {
            input: input.to_owned(),
            from: value(from),
            to: value(to),
            step: value(step),
            wanted: vec![Wanted {
                result: result.to_owned(),
                relation: Relation::AtMost,
                value: limit.clone(),
            }],
            towards: Some(wish),
        };
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
        assert!(fits(&written(&found)), "{name}, {bound}: {} does not fit", written(&found));
        let (beyond, broken) =
            answer.beyond.unwrap_or_else(|| panic!("{name}, {bound}: the end of the range"));
        assert!(!fits(&written(&beyond)), "{name}, {bound}: {} fits as well", written(&beyond));
        assert!(!broken.is_empty());
        assert!(answer.none_further, "{name}, {bound}: not proved");
        if answer.all_before == Before::All {
            // one step inside, and the middle of what is said to fit
            let end = if wish == Wish::Largest { from } else { to };
            assert!(fits(end), "{name}, {bound}: {end} does not fit");
        }
        if let Before::Not(out) = &answer.all_before {
            assert!(!fits(&written(out)), "{name}, {bound}: {} is said not to fit", written(out));
        }
    }
}

#[test]
fn what_forbids_every_value_is_told_with_how_near_it_comes() {
    let sheet = Sheet::library("safe-stop").unwrap();
    let program = sheet.program();
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    let value = |text| asked_value(program, "J_load", text).unwrap();
    let question = Question {
        input: "J_load".to_owned(),
        from: value("0.05 kg·m²"),
        to: value("0.5 kg·m²"),
        step: value("0.005 kg·m²"),
        wanted: vec![Wanted {
            result: "S".to_owned(),
            relation: Relation::AtMost,
            value: asked_bound(program, "S", "600 mm").unwrap(),
        }],
        towards: None,
    };
    let answer = Design::new(program, &inputs, &question).unwrap().answer().unwrap();
    assert!(answer.found.is_none() && answer.none_further);
    assert!(
        answer.forbids[0].starts_with("everywhere: S = 1285 mm, wanted <= 600 mm"),
        "{:?}",
        answer.forbids
    );
}
