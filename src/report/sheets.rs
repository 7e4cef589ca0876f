//! What a report says of its sheets: which they are, what they took by default, what they stand on.

use serde_json::{Value, json};

use super::examples::{examples, left_as_examples};
use super::{DISCLAIMER, Identity, Release, checks, checks_json, figures, remarks, remarks_json};
use crate::calculation::{Inputs, Results, written};
use crate::diagnostic::{Origin, render_json};
use crate::number::InputValue;
use crate::program::{Input, Line, LineSource, Op, Program, Scope, Type};
use crate::unit::Literal;

/// An input that nobody gave or handed over, with the default that stands in for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Default {
    /// Its name, with the path of the used sheet that it belongs to.
    pub name: String,
    /// The default.
    pub value: String,
    /// What it is.
    pub note: String,
    /// Where it was set, if not in its sheet.
    pub from: Option<String>,
}

/// The defaults that a calculation took: of the sheet itself, then of the sheets it uses.
#[must_use]
pub fn defaults(results: &Results) -> Vec<Default> {
    let (program, inputs) = (results.program(), results.inputs());
    let own = program.inputs.iter().filter(|input| !inputs.is_given(input)).map(|input| Default {
        name: input.name.clone(),
        value: results.register_text(input.register, &input.type_, &input.unit),
        note: input.note.clone(),
        from: input.default_source(),
    });
    own.chain(defaults_of_used(program)).collect()
}

/// The defaults that a sheet takes for inputs that are not given, and those that the sheets used by it take.
#[must_use]
pub fn defaults_without(program: &Program, is_given: &dyn Fn(&Input) -> bool) -> Vec<Default> {
    let own = program.inputs.iter().filter(|input| !is_given(input)).filter_map(|input| {
        let default = input.default.as_ref()?;
        let value = to_text(default, &input.type_);
        Some(Default {
            name: input.name.clone(),
            value,
            note: input.note.clone(),
            from: input.default_source(),
        })
    });
    own.chain(defaults_of_used(program)).collect()
}

/// A default or an example as it is typed: a choice by its word.
pub(crate) fn to_text(value: &Literal, type_: &Type) -> String {
    let word = match type_ {
        Type::Choice(words) => usize::try_from(value.digits).ok().and_then(|at| words.get(at)),
        Type::Number { .. } | Type::Truth => None,
    };
    word.cloned().unwrap_or_else(|| written(value))
}

/// The defaults that the sheets used by a sheet take, whatever the inputs.
#[must_use]
pub fn defaults_of_used(program: &Program) -> Vec<Default> {
    let value = |line: &Line| {
        let literal = program.steps.iter().find_map(|step| match &step.op {
            Op::Literal(literal) if step.to == line.register => Some(literal),
            _ => None,
        })?;
        Some(to_text(literal, &line.type_))
    };
    let lines = program.lines.iter().filter(|line| line.says == LineSource::Default);
    lines
        .map(|line| Default {
            name: line.name.clone(),
            value: value(line).unwrap_or_default(),
            note: line.note.clone(),
            from: None,
        })
        .collect()
}

/// Defaults in a row: `T_load = 0 N·m, coast.b = 0 N·m·s/rad`; none where there are none.
#[must_use]
pub fn defaults_text(defaults: &[Default]) -> Option<String> {
    let words: Vec<String> = defaults
        .iter()
        .map(|it| match &it.from {
            None => format!("{} = {}", it.name, it.value),
            Some(from) => format!("{} = {} (from {from})", it.name, it.value),
        })
        .collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// The sources of some calculations, each once.
#[must_use]
pub fn sources<'a>(programs: impl IntoIterator<Item = &'a Program>) -> Vec<&'a str> {
    once(programs, |scope| &scope.sources)
}

/// The cautions of some calculations, each once.
#[must_use]
pub fn cautions<'a>(programs: impl IntoIterator<Item = &'a Program>) -> Vec<&'a str> {
    once(programs, |scope| &scope.cautions)
}

fn once<'a>(
    programs: impl IntoIterator<Item = &'a Program>,
    of: fn(&Scope) -> &Vec<String>,
) -> Vec<&'a str> {
    let mut found: Vec<&str> = Vec::new();
    for text in programs.into_iter().flat_map(|program| &program.scopes).flat_map(of) {
        if !found.contains(&text.as_str()) {
            found.push(text);
        }
    }
    found
}

/// The sheets of some calculations, each once.
#[must_use]
pub fn identities<'a>(programs: impl IntoIterator<Item = &'a Program>) -> Vec<Identity> {
    let mut found: Vec<Identity> = Vec::new();
    for identity in programs.into_iter().flat_map(Identity::all) {
        if !found.contains(&identity) {
            found.push(identity);
        }
    }
    found
}

/// Which sheet a person reads of: its title, where it comes from, and which others it uses.
#[must_use]
pub fn heading(program: &Program) -> Vec<String> {
    let Some(scope) = program.scopes.first() else { return Vec::new() };
    let mut lines = vec![format!("{}: {}", scope.sheet, scope.title)];
    lines.push(format!("  {}", Identity::of(scope)));
    if scope.source.origin == Origin::Library {
        // uses sheets of the same library alone
        return lines;
    }
    let mut shelved = Vec::new();
    for used in Identity::all(program).into_iter().skip(1) {
        if program
            .scopes
            .iter()
            .any(|it| it.sheet == used.sheet && it.source.origin == Origin::Library)
        {
            shelved.push(used.sheet);
        } else {
            lines.push(format!("  uses {}: {used}", used.sheet));
        }
    }
    if !shelved.is_empty() {
        lines.push(format!("  uses {} of the library", shelved.join(", ")));
    }
    lines
}

/// A report on a calculation for a program: what is said of it beside the figures, and which of its inputs are examples.
#[must_use]
pub fn calculated(inputs: &Inputs, results: Option<&Results>, parts: Value) -> Value {
    let mut to = document(inputs.program(), parts);
    if let Value::Object(to) = &mut to {
        to.insert("remarks".to_owned(), remarks_json(&remarks(inputs, results)));
        to.insert("examples".to_owned(), examples(inputs).map(|it| it.name.as_str()).collect());
        let left = Some(left_as_examples(inputs));
        to.insert("left_as_examples".to_owned(), json!(left.filter(|words| !words.is_empty())));
    }
    to
}

/// A report for a program: which sheets took part, what they took by default, sources and cautions, and what is
/// said of them.
#[must_use]
pub fn document(program: &Program, parts: Value) -> Value {
    let scope = program.scopes.first();
    let mut to = json!({
        "sheet": scope.map(|scope| &scope.sheet),
        "title": scope.map(|scope| &scope.title),
        "sheets": Identity::json_of(program),
        "sources": sources([program]),
        "cautions": cautions([program]),
        "meant": program.meant.iter().map(|it| json!({
            "number": it.written, "why": it.why, "at": it.place.to_text(),
        })).collect::<Vec<_>>(),
        "disclaimer": DISCLAIMER,
    });
    if let (Value::Object(to), Value::Object(parts)) = (&mut to, parts) {
        to.extend(parts);
    }
    to
}

/// A calculation for a program: numbers as text with all their digits, and as f64.
///
/// `holds` is the verdict on all of it, over the tolerances where inputs have one.
#[must_use]
pub fn results_json(results: &Results, release: &Release) -> Value {
    let mut parts = json!({
        "holds": release.granted(), "over_tolerances": release.over_tolerances(),
        "checks": checks_json(&checks(results)), "defaults": defaults_json(defaults(results)),
        "inputs": inputs_json(results), "read_as": results.inputs().plates().iter().map(render_json).collect::<Vec<_>>(),
        "questions": results.inputs().questions().iter().map(render_json).collect::<Vec<_>>(),
    });
    if let Value::Object(parts) = &mut parts {
        parts
            .extend(figures::as_json(results, release).map(|(key, value)| (key.to_owned(), value)));
    }
    calculated(results.inputs(), Some(results), parts)
}

/// The inputs of a calculation, for a program: as they were read, and whether they were given; none that is left out.
fn inputs_json(results: &Results) -> Value {
    let inputs = results.inputs();
    let one = |input: &Input| {
        let value = match (inputs.value(input)?, &input.type_) {
            (InputValue::One(value), _) => written(&value),
            (InputValue::Many(values), _) => {
                values.iter().map(written).collect::<Vec<_>>().join(", ")
            }
            (InputValue::Word(at), Type::Choice(words)) => words.get(at)?.clone(),
            (InputValue::Word(_), _) => return None,
        };
        let given = inputs.is_given(input);
        let example = inputs.is_example(input);
        let mut one =
            json!({ "name": input.name, "value": value, "given": given, "example": example });
        if let (false, Some(from), Some(one)) = (given, input.default_source(), one.as_object_mut())
        {
            one.insert("from".to_owned(), json!(from));
        }
        Some(one)
    };
    results.program().inputs.iter().filter(|it| !inputs.is_spared(it)).filter_map(one).collect()
}

/// Defaults that were taken, for a program.
#[must_use]
pub fn defaults_json(defaults: Vec<Default>) -> Value {
    let one = |it: Default| {
        let mut one = json!({ "name": it.name, "value": it.value, "note": it.note });
        if let (Some(from), Some(one)) = (it.from, one.as_object_mut()) {
            one.insert("from".to_owned(), json!(from));
        }
        one
    };
    defaults.into_iter().map(one).collect()
}
