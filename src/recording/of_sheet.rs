//! What a calculation asks of the device and of the machine: its further settings, and the inputs that count.

use super::measure::plain;
use super::plan::{Plan, Said, Value};
use crate::calculation::Results;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::{InputValue, show};
use crate::program::{Input, nearest};
use crate::unit::{Unit, parse_unit, split_typed};

/// A result that is set in a device, and what was read back of it.
#[derive(Clone, Debug)]
pub(super) struct OfSheet {
    pub(super) name: String,
    pub(super) si: f64,
    pub(super) calculated: String,
    pub(super) set: Option<Value>,
}

/// The settings of a calculation that have no key of their own in the plan, with what `[settings]` says of them.
pub(super) fn of_sheet(
    plan: &Plan,
    results: &Results,
    problems: &mut Vec<Diagnostic>,
) -> Vec<OfSheet> {
    let outputs = || results.program().outputs.iter().filter(|output| output.setting.is_some());
    let names = || {
        outputs().map(|it| it.name.as_str()).filter(|it| !["t_ramp_set", "t_delay"].contains(it))
    };
    for said in &plan.settings {
        if names().any(|name| name == said.key) {
            continue;
        }
        let remedy = match nearest(&said.key, names()).first() {
            Some((near, _)) => format!("did you mean `{near}`?"),
            None if ["t_ramp_set", "t_delay"].contains(&said.key.as_str()) => {
                "say `n_ref` and `t_ramp`, or `t_delay`, with their tolerances".to_owned()
            }
            None => match names().collect::<Vec<_>>().as_slice() {
                [] => "leave it out: ramp, delay and their tolerances have keys of their own"
                    .to_owned(),
                names => format!("it gives {}", names.join(", ")),
            },
        };
        let words = format!("the calculation gives no setting `{}`", said.key);
        problems.push(
            Diagnostic::error(Name::UnknownName, words).at(said.place.clone()).remedy(remedy),
        );
    }
    let mut found = Vec::new();
    for output in outputs().filter(|output| names().any(|name| name == output.name)) {
        let Some(value) = results.exact(&output.name) else { continue };
        let said = plan.settings.iter().find(|said| said.key == output.name);
        let set = said.and_then(|said| match in_unit_of(&output.unit, said) {
            Ok(set) => Some(set),
            Err(problem) => {
                problems.push(problem);
                None
            }
        });
        found.push(OfSheet {
            name: output.name.clone(),
            si: value.to_f64(),
            calculated: show(&value, &output.unit),
            set,
        });
    }
    found
}

/// A value that was read back, of the kind of a result.
fn in_unit_of(unit: &Unit, said: &Said) -> Result<Value, Diagnostic> {
    let (number, ten, written) = split_typed(&said.text).map_err(|problem| {
        Diagnostic::error(Name::UnreadableQuantity, problem.headline())
            .at(said.place.clone())
            .remedy(problem.remedy.clone())
    })?;
    let read = parse_unit(written).ok().filter(|read| read.dimension == unit.dimension);
    let Some(read) = read else {
        let words = format!("`{}` = {} is not in a unit of the result", said.key, said.text);
        return Err(Diagnostic::error(Name::UnitMismatch, words)
            .at(said.place.clone())
            .remedy(format!("write it in `{}`", unit.symbol)));
    };
    Ok(Value { si: read.to_si(number, ten), written: said.text.clone(), place: said.place.clone() })
}

/// The inputs that change a result when they are half as large or half as large again; none that are zero, which a
/// calculation takes where there is no such thing.
pub(super) fn depends(results: &Results, names: &[&str]) -> Vec<String> {
    let program = results.program();
    let found =
        |results: &Results| names.iter().map(|name| results.exact(name)).collect::<Vec<_>>();
    let nominal = found(results);
    let nowhere = Place::Argument { text: String::new() };
    let changes = |input: &&Input| {
        let Some(InputValue::One(value)) = results.inputs().value(input) else { return false };
        let factor = input.unit.factor.as_f64();
        [0.5, 1.5].into_iter().any(|part| {
            let mut inputs = results.inputs().without_tolerances();
            let text = format!("{} {}", plain(value.si_f64() / factor * part), input.unit.symbol);
            inputs.write_from(&input.name, &text, nowhere.clone()).is_ok()
                && Results::compute(program, &inputs).is_ok_and(|other| found(&other) != nominal)
        })
    };
    program.inputs.iter().filter(changes).map(|it| it.name.clone()).collect()
}
