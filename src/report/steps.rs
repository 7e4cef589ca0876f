//! Worked steps: every line as formula, values, result.

use crate::calculation::Results;
use crate::diagnostic::Name;
use crate::language::{Body, Expression, Node, Span, one_line};
use crate::program::{Line, LineSource, Program, Register, Scope};

/// One worked line.
#[derive(Clone, Debug, PartialEq)]
pub struct StepRow {
    /// Name, with the path of `uses` before it.
    pub name: String,
    /// Formula as written, in one line; empty for an input.
    pub formula: String,
    /// The formula with the values of its names put in; empty where nothing changes.
    pub values: String,
    /// Result with its unit.
    pub result: String,
    /// Note.
    pub note: String,
    /// Where it stands.
    pub place: String,
    /// Whether it is a default that nobody gave or handed over.
    pub default: bool,
    /// Whether its sheet has a line on which something shown depends, in the case that was chosen.
    pub needed: bool,
}

/// Every line that was calculated, in the order in which it was, without those that rest on what nobody gave.
#[must_use]
pub fn worked(results: &Results) -> Vec<StepRow> {
    let program = results.program();
    let idle = results.idle_scopes();
    let of_example = results.rests_on_spared();
    let shown = Shown { results, of_example: &of_example };
    program
        .lines
        .iter()
        .filter(|line| !of_example(line.register))
        .filter_map(|line| {
            let scope = program.scopes.get(usize::try_from(line.scope).ok()?)?;
            let (formula, values) = match &line.says {
                LineSource::Takes | LineSource::Default => (String::new(), String::new()),
                LineSource::Works(definition) => match &definition.body {
                    Body::Value(tree) => both(&shown, scope, tree),
                    _ => return None,
                },
                LineSource::Hands(tree) => match &tree.node {
                    Node::Name(_) | Node::Number { .. } | Node::Dotted(..) => return None,
                    _ => both(&shown, scope, tree),
                },
                LineSource::Holds(_) | LineSource::Gives => return None,
            };
            Some(StepRow {
                name: line.name.clone(),
                formula,
                values,
                result: results.line_text(line),
                note: line.note.clone(),
                place: line.place.to_text(),
                default: is_default(results, line),
                needed: usize::try_from(line.scope).is_ok_and(|at| !idle.contains(&at)),
            })
        })
        .collect()
}

fn is_default(results: &Results, line: &Line) -> bool {
    let inputs = &results.program().inputs;
    match line.says {
        LineSource::Default => true,
        LineSource::Takes => inputs
            .iter()
            .any(|input| input.register == line.register && !results.inputs().is_given(input)),
        _ => false,
    }
}

/// The used sheets on which nothing depends in the case that was chosen, in words; empty where there are none.
#[must_use]
pub fn idle_text(results: &Results) -> String {
    let scopes = &results.program().scopes;
    let idle = results.idle_scopes();
    let paths = idle.iter().filter_map(|at| scopes.get(*at)).map(|scope| scope.path.as_str());
    let paths: Vec<&str> = paths.collect();
    if paths.is_empty() {
        return String::new();
    }
    format!("no result and no check depends on these in the case chosen: {}", paths.join(", "))
}

/// The worked lines for a terminal, without those of sheets on which nothing depends in the case that was chosen.
#[must_use]
pub fn as_text(results: &Results) -> Vec<String> {
    let mut text = Vec::new();
    let mut last_sheet = String::new();
    for step in worked(results).into_iter().filter(|step| step.needed) {
        let sheet = step.name.rsplit_once('.').map_or(String::new(), |(path, _)| path.to_owned());
        if sheet != last_sheet || text.is_empty() {
            text.push(String::new());
            text.push(if sheet.is_empty() {
                "worked lines".to_owned()
            } else {
                format!("worked lines of {sheet}")
            });
            last_sheet = sheet;
        }
        let short = step.name.rsplit('.').next().unwrap_or(&step.name).to_owned();
        let note = match (step.note.as_str(), step.default) {
            ("", false) => String::new(),
            ("", true) => "    (default)".to_owned(),
            (note, false) => format!("    ({note})"),
            (note, true) => format!("    ({note}; default)"),
        };
        if step.formula.is_empty() {
            text.push(format!("  {short} = {}{note}", step.result));
            continue;
        }
        let pad = " ".repeat(short.chars().count());
        text.push(format!("  {short} = {}{note}", step.formula));
        if !step.values.is_empty() && step.values != step.formula {
            text.push(format!("  {pad} = {}", step.values));
        }
        text.push(format!("  {pad} = {}", step.result));
    }
    let idle = idle_text(results);
    if !idle.is_empty() {
        text.extend([String::new(), idle]);
    }
    text
}

/// The worked lines for a program.
#[must_use]
pub fn as_json(results: &Results) -> serde_json::Value {
    worked(results)
        .into_iter()
        .map(|step| {
            serde_json::json!({
                "name": step.name, "formula": step.formula, "values": step.values,
                "result": step.result, "note": step.note, "place": step.place, "default": step.default, "needed": step.needed,
            })
        })
        .collect()
}

/// What is put in for a name.
struct Shown<'a> {
    results: &'a Results,
    /// Whether it rests on what nobody gave: its name then stays.
    of_example: &'a dyn Fn(Register) -> bool,
}

/// A formula as written, and with values in the place of its names.
fn both(shown: &Shown<'_>, scope: &Scope, tree: &Expression) -> (String, String) {
    let text = |span: Span| scope.source.text.get(span).unwrap_or_default();
    let mut names: Vec<(Span, String)> = Vec::new();
    let mut hidden: Vec<&str> = Vec::new();
    collect(shown, scope, tree, false, &mut hidden, &mut names);
    names.sort_by_key(|(span, _)| span.start);
    let mut values = String::new();
    let mut at = tree.span.start;
    for (span, value) in names {
        if span.start < at {
            continue;
        }
        values.push_str(text(at..span.start));
        values.push_str(&value);
        at = span.end;
    }
    values.push_str(text(at..tree.span.end));
    (one_line(text(tree.span.clone())), one_line(&values))
}

/// The names of a formula with their values; parameters keep their names. `is_raised` if it is the base of a power.
fn collect<'a>(
    shown: &Shown<'_>,
    scope: &Scope,
    tree: &'a Expression,
    is_raised: bool,
    hidden: &mut Vec<&'a str>,
    found: &mut Vec<(Span, String)>,
) {
    let name = match &tree.node {
        Node::Name(name) if !hidden.contains(&name.as_str()) => Some(name.clone()),
        Node::Dotted(alias, result) => Some(format!("{}.{}", alias.value, result.value)),
        _ => None,
    };
    if let Some(name) = &name {
        let path =
            if scope.path.is_empty() { name.to_owned() } else { format!("{}.{name}", scope.path) };
        if let Some(value) = value_of(shown, scope, name, &path) {
            let value = if value.contains(' ') && is_raised
                || value.starts_with('-')
                || value.contains(", ")
            {
                format!("({value})")
            } else {
                value
            };
            found.push((tree.span.clone(), value));
        }
    }
    let raised = match &tree.node {
        Node::Power(base, ..) => Some(&**base),
        _ => None,
    };
    for (own, part) in tree.scoped_parts() {
        hidden.extend(own.map(|name| name.value.as_str()));
        let is_raised = raised.is_some_and(|base| std::ptr::eq(base, part));
        collect(shown, scope, part, is_raised, hidden, found);
        hidden.truncate(hidden.len() - usize::from(own.is_some()));
    }
}

fn value_of(shown: &Shown<'_>, scope: &Scope, name: &str, path: &str) -> Option<String> {
    let program: &Program = shown.results.program();
    let line: Option<&Line> = match scope.names.get(name) {
        Some(id) => program.line(*id),
        // a result of a used sheet: the last line of its name is the rounded one
        None => program.lines.iter().rev().find(|line| line.name == path),
    };
    // what is put in for a name is short; why it never exists stands in its own line
    let line = line.filter(|line| !(shown.of_example)(line.register));
    line.map(|line| match shown.results.run().register(line.register) {
        Err(fault) if fault.name == Name::Never => "never".to_owned(),
        _ => shown.results.line_text(line),
    })
}
