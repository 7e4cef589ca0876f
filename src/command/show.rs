//! `standstill show`: what a sheet takes, gives, and is based on.

use super::arguments::Show;
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, check_sheet, find_sheet};
use crate::calculation::tolerance_text;
use crate::environment::Environment;
use crate::program::{Input, Program, Type};
use crate::report::{self, text};

pub(super) fn show(asked: &Show, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    let source = find_sheet(&asked.sheet, environment)?;
    if asked.text {
        terminal.verbatim(&source.text);
        return Ok(ExitStatus::Holds);
    }
    let checked = check_sheet(&source, environment);
    let program = checked.program.ok_or_else(|| Failure::sheet(checked.problems))?;
    if asked.json {
        terminal.json(as_json(&program));
        return Ok(ExitStatus::Holds);
    }
    let Some(scope) = program.scopes.first() else { return Ok(ExitStatus::WrongSheet) };
    terminal.lines(report::heading(&program));
    terminal.print("");
    terminal.print("takes");
    let rows: Vec<Vec<String>> = program.inputs.iter().map(input_row).collect();
    for (at, line) in text::aligned(&rows).into_iter().enumerate() {
        if let Some(heading) = program.heading_above(at) {
            terminal.print(format!("  {heading}:"));
        }
        terminal.print(format!("  {line}"));
    }
    if !program.checks.is_empty() {
        terminal.print("");
        terminal.print("holds");
    }
    let rows: Vec<Vec<String>> = program
        .checks
        .iter()
        .filter(|check| check.path.is_empty())
        .map(|check| {
            vec![
                check.text.clone(),
                if check.caution { "caution only".to_owned() } else { String::new() },
            ]
        })
        .collect();
    terminal.columns(&rows);
    let inherited = program.checks.iter().filter(|check| !check.path.is_empty()).count();
    if inherited > 0 {
        terminal.print(format!("  and {inherited} checks of the sheets it uses"));
    }
    terminal.print("");
    terminal.print("gives");
    let rows: Vec<Vec<String>> = program
        .outputs
        .iter()
        .map(|output| {
            let setting = if output.setting.is_some() { "set in the drive" } else { "" };
            vec![
                output.name.clone(),
                output.unit.symbol.clone(),
                output.rounding.clone(),
                output.note.clone(),
                setting.to_owned(),
            ]
        })
        .collect();
    terminal.columns(&rows);
    let used: Vec<&str> = program.scopes.iter().skip(1).map(|scope| scope.sheet.as_str()).collect();
    if !used.is_empty() {
        let mut names = used.clone();
        names.dedup();
        terminal.print("");
        terminal.print(format!("uses {}", names.join(", ")));
    }
    for (what, texts) in
        [("words", &scope.words), ("sources", &scope.sources), ("cautions", &scope.cautions)]
    {
        terminal.list(what, texts);
    }
    Ok(ExitStatus::Holds)
}

fn input_row(input: &Input) -> Vec<String> {
    let what = match (&input.type_, input.kind) {
        (Type::Choice(words), _) => format!("one of {}", words.join(", ")),
        (Type::Number { series: true, .. }, Some(kind)) => format!("series of {}", kind.name),
        (_, Some(kind)) => kind.name.to_owned(),
        _ => String::new(),
    };
    let value = |literal| report::to_text(literal, &input.type_);
    let example_tolerance = input.example_tolerances.first().and_then(Option::as_ref);
    let given = match (&input.default, input.example.first()) {
        (Some(default), _) => {
            format!("= {}{}", value(default), tolerance_text(input.default_tolerance.as_ref()))
        }
        (None, Some(example)) => {
            format!("like {}{}", value(example), tolerance_text(example_tolerance))
        }
        (None, None) => String::new(),
    };
    vec![
        input.name.clone(),
        what,
        input.unit.symbol.clone(),
        given,
        range(input),
        input.note.clone(),
    ]
}

/// The range of an input in words.
pub(super) fn range(input: &Input) -> String {
    let mut words = vec![input.limits_text()];
    if let Some(least) = input.at_least {
        words.push(if least == 1 {
            "at least 1 value".to_owned()
        } else {
            format!("at least {least} values")
        });
    }
    words.join(" ").trim().to_owned()
}

fn as_json(program: &Program) -> serde_json::Value {
    let parts = serde_json::json!({
        "takes": program.inputs.iter().map(|input| serde_json::json!({
            "name": input.name,
            "kind": input.kind.map(|kind| kind.name),
            "words": match &input.type_ { Type::Choice(words) => Some(words.to_vec()), _ => None },
            "series": matches!(input.type_, Type::Number { series: true, .. }),
            "unit": input.unit.symbol,
            "default": input.default.as_ref().map(|value| {
                report::to_text(value, &input.type_) + &tolerance_text(input.default_tolerance.as_ref())
            }),
            "example": input.example.iter().zip(&input.example_tolerances)
                .map(|(value, tolerance)| report::to_text(value, &input.type_) + &tolerance_text(tolerance.as_ref()))
                .collect::<Vec<_>>(),
            "range": range(input),
            "note": input.note,
            "heading": input.heading,
        })).collect::<Vec<_>>(),
        "checks": program.checks.iter().map(|check| serde_json::json!({
            "text": check.text, "path": check.path, "caution": check.caution, "otherwise": check.otherwise,
        })).collect::<Vec<_>>(),
        "gives": program.outputs.iter().map(|output| serde_json::json!({
            "name": output.name, "unit": output.unit.symbol, "rounding": output.rounding, "note": output.note,
        })).collect::<Vec<_>>(),
        "defaults": report::defaults_of_used(program).into_iter().map(|it| serde_json::json!({
            "name": it.name, "value": it.value, "note": it.note,
        })).collect::<Vec<_>>(),
    });
    report::document(program, parts)
}
