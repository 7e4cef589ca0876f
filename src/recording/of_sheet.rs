//! What a calculation asks of the device and of the machine: its further settings, and the inputs that count.

use super::measure::{plain, trimmed};
use super::plan::{Plan, Said, Value};
use crate::calculation::Results;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::{InputValue, show};
use crate::program::result_unit_of_plate;
use crate::program::{Input, Type, nearest};
use crate::unit::{Unit, split_typed};

/// A result that is set in a device, or an input of the calculation, and what was read back of it.
#[derive(Clone, Debug)]
pub(super) struct OfSheet {
    pub(super) name: String,
    pub(super) calculated: String,
    /// What was read back, as it was written, and whether it is what was calculated; always said of an input.
    pub(super) set: Option<(String, bool)>,
    pub(super) is_input: bool,
    /// Whether no stop of the calculation is longer with all inputs as they were read back.
    pub(super) no_longer: bool,
}

/// How far two settings may lie apart and still be one: they are written in decimals.
pub(super) const SAME: f64 = 1e-9;

/// Inputs that are measured, or read back by a key of their own.
const OF_A_KEY: [&str; 10] = [
    "n_0", "t_ramp", "n_ref", "tol_ramp", "f", "t_resp", "t_delay", "tol_delay", "t_reserve",
    "t_delay_used",
];

/// Inputs of which `J` in the plan says something.
pub(super) const OF_INERTIA: [&str; 2] = ["J_ref", "J"];

/// Inputs that run-downs show.
pub(super) const OF_FRICTION: [&str; 4] = ["T_0", "T_load", "b", "c"];

/// Results that are read back by a key of their own.
const SET: [&str; 2] = ["t_ramp_set", "t_delay"];

/// Whether an input has a key of its own in the plan, or is measured at every stop.
fn has_a_key(plan: &Plan, name: &str) -> bool {
    is_of_a_key(plan, name) || OF_INERTIA.contains(&name)
}

/// Whether an input is measured, or read back by a key of its own. The response of a brake is neither: friction alone
/// slows the machine before it grips, and no bend of the speed may show when.
pub(super) fn is_of_a_key(plan: &Plan, name: &str) -> bool {
    OF_A_KEY.contains(&name)
        && !(plan.at_once && name == "t_resp")
        && !(plan.at_once && name == "t_delay" && plan.t_delay.is_none())
}

/// Whether something else than friction slows the machine once torque is gone, so that a run-down shows no friction: a
/// torque or force that is not zero, and of which more makes one of these times shorter.
pub(super) fn has_a_brake(results: &Results, depends: &[String], times: &[&str]) -> bool {
    let kinds = || ["torque", "force"].into_iter().filter_map(crate::unit::kind);
    let program = results.program();
    let time = |results: &Results, name: &&str| results.exact(name).map(|it| it.to_f64());
    depends.iter().filter(|name| !OF_FRICTION.contains(&name.as_str())).any(|name| {
        let Some(input) = program.input_named(name) else { return false };
        let Some(InputValue::One(value)) = results.inputs().value(input) else { return false };
        let size = value.si_f64() / input.unit.factor.as_f64();
        if size == 0.0 || !kinds().any(|kind| kind.dimension == input.unit.dimension) {
            return false;
        }
        let mut more = results.inputs().without_tolerances();
        let text = format!("{} {}", plain(1.5 * size), input.unit.symbol);
        more.write_from(name, &text, Place::Argument { text: String::new() }).is_ok()
            && Results::compute(program, &more).is_ok_and(|more| {
                times.iter().any(|name| {
                    time(&more, name).zip(time(results, name)).is_some_and(|(more, it)| more < it)
                })
            })
    })
}

/// The settings of a calculation that have no key of their own in the plan, with what `[settings]` says of them.
pub(super) fn of_sheet(
    plan: &Plan,
    results: &Results,
    problems: &mut Vec<Diagnostic>,
) -> Vec<OfSheet> {
    let outputs = || results.program().outputs.iter().filter(|output| output.setting.is_some());
    let names = || outputs().map(|it| it.name.as_str()).filter(|it| !SET.contains(it));
    let inputs = || {
        let all = results.program().inputs.iter();
        all.filter(|it| !has_a_key(plan, &it.name))
    };
    let mut found = Vec::new();
    for said in &plan.settings {
        if names().any(|name| name == said.key) {
            continue;
        }
        if let Some(input) = inputs().find(|input| input.name == said.key) {
            match of_input(results, input, said) {
                Ok(one) => found.push(one),
                Err(problem) => problems.push(problem),
            }
            continue;
        }
        let all = names().chain(inputs().map(|it| it.name.as_str()));
        let remedy = match nearest(&said.key, all).first() {
            _ if SET.contains(&said.key.as_str()) || has_a_key(plan, &said.key) => {
                "leave it out here: it is measured, or has a key of its own in the plan: `n_ref` and `t_ramp`, `f`, `t_delay`, `t_reserve`, their tolerances, `J`".to_owned()
            }
            Some((near, _)) => format!("did you mean `{near}`?"),
            None => match names().collect::<Vec<_>>().as_slice() {
                [] => "leave it out: ramp, delay and their tolerances have keys of their own"
                    .to_owned(),
                names => format!("it gives {}", names.join(", ")),
            },
        };
        let words = format!(
            "the calculation gives no setting `{0}` and takes no input `{0}` that could be said here",
            said.key
        );
        problems.push(
            Diagnostic::error(Name::UnknownName, words).at(said.place.clone()).remedy(remedy),
        );
    }
    for output in outputs().filter(|output| names().any(|name| name == output.name)) {
        let Some(value) = results.exact(&output.name) else { continue };
        let said = plan.settings.iter().find(|said| said.key == output.name);
        let set = said.and_then(|said| match in_unit_of(&output.unit, said) {
            Ok(set) => {
                let calculated = value.to_f64();
                let same = (set.si - calculated).abs() <= SAME * calculated.abs();
                Some((set.written, same))
            }
            Err(problem) => {
                problems.push(problem);
                None
            }
        });
        found.push(OfSheet {
            name: output.name.clone(),
            calculated: show(&value, &output.unit),
            set,
            is_input: false,
            no_longer: false,
        });
    }
    found
}

/// What was read back of an input, against what the calculation takes for it within its tolerance.
fn of_input(results: &Results, input: &Input, said: &Said) -> Result<OfSheet, Diagnostic> {
    let mut read = results.inputs().without_tolerances();
    read.write_typed(&said.key, &said.text, said.place.clone())?;
    let (taken, set) = (results.inputs().value(input), read.value(input));
    let ends = results.inputs().spread(input).and_then(|it| it.ends.first());
    let (same, calculated) = match (&taken, &set) {
        (Some(InputValue::One(one)), Some(InputValue::One(other))) => {
            let si = (one.si_f64(), one.si_f64());
            let (low, high) = ends.map_or(si, |(low, high)| (low.si_f64(), high.si_f64()));
            let (set, slack) = (other.si_f64(), SAME * low.abs().max(high.abs()));
            let factor = input.unit.factor.as_f64();
            let words = format!("{} {}", trimmed(one.si_f64() / factor, 9), input.unit.symbol);
            (set >= low - slack && set <= high + slack, words)
        }
        (Some(InputValue::Word(at)), _) => {
            let word = match &input.type_ {
                Type::Choice(words) => words.get(*at).cloned().unwrap_or_default(),
                _ => String::new(),
            };
            (taken == set, word)
        }
        _ => (taken == set, "another series".to_owned()),
    };
    Ok(OfSheet {
        name: said.key.clone(),
        calculated,
        set: Some((said.text.clone(), same)),
        is_input: true,
        no_longer: false,
    })
}

/// A value that was read back, of the kind of a result.
fn in_unit_of(unit: &Unit, said: &Said) -> Result<Value, Diagnostic> {
    let (number, ten, written) = split_typed(&said.text).map_err(|problem| {
        Diagnostic::error(Name::UnreadableQuantity, problem.headline())
            .at(said.place.clone())
            .remedy(problem.remedy.clone())
    })?;
    let read = result_unit_of_plate(written, unit.dimension, unit.point);
    let Some(read) = read else {
        let words = format!("`{}` = {} is not in a unit of the result", said.key, said.text);
        return Err(Diagnostic::error(Name::UnitMismatch, words)
            .at(said.place.clone())
            .remedy(format!("write it in `{}`", unit.symbol)));
    };
    Ok(Value { si: read.to_si(number, ten), written: said.text.clone(), place: said.place.clone() })
}

/// Sizes that are put in for an input of zero, in its own unit, and for one that is not zero, in its size.
const ZERO: [f64; 6] = [0.001, 1.0, 100.0, -0.001, -1.0, -100.0];
const OTHER: [f64; 2] = [0.5, 1.5];

/// The inputs that change a result when they are half as large or half as large again; where they are zero, when they
/// are anything else; of a choice, when it is another one.
pub(super) fn depends(results: &Results, names: &[&str]) -> Vec<String> {
    let program = results.program();
    let found =
        |results: &Results| names.iter().map(|name| results.exact(name)).collect::<Vec<_>>();
    let nominal = found(results);
    let nowhere = Place::Argument { text: String::new() };
    let changes = |input: &&Input| {
        let others: Vec<String> = match (results.inputs().value(input), &input.type_) {
            (Some(InputValue::One(value)), _) => {
                let si = value.si_f64();
                let size = if si == 0.0 { 1.0 } else { si / input.unit.factor.as_f64() };
                let parts: &[f64] = if si == 0.0 { &ZERO } else { &OTHER };
                let text = |part: &f64| format!("{} {}", plain(size * part), input.unit.symbol);
                parts.iter().map(text).collect()
            }
            (Some(InputValue::Word(_)), Type::Choice(words)) => words.to_vec(),
            _ => return false,
        };
        others.iter().any(|text| {
            let mut inputs = results.inputs().without_tolerances();
            inputs.write_from(&input.name, text, nowhere.clone()).is_ok()
                && Results::compute(program, &inputs).is_ok_and(|other| found(&other) != nominal)
        })
    };
    program.inputs.iter().filter(changes).map(|it| it.name.clone()).collect()
}
