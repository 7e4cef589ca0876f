//! `standstill run`: one calculation at the terminal.

use super::Ending;
use super::arguments::{Form, Run};
use super::given::start;
use super::print::{Terminal, wrapped};
use super::{output, slopes, spread, worst};
use crate::calculation::{Influences, Inputs, Results, TRUST, Verdict, Worst, sample};
use crate::diagnostic::{Diagnostic, Name, Place, render_json};
use crate::environment::Environment;
use crate::program::Program;
use crate::project::Identity;
use crate::review::steps;
use crate::workbook::{result_book, worst_book};

pub(super) fn run(asked: &Run, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    let (program, mut inputs) = match start(&asked.sheet, &asked.given, environment) {
        Ok(start) => start,
        Err((problems, ending)) => return stop(asked, terminal, &problems, ending),
    };
    let mut problems = Vec::new();
    for word in &asked.inputs {
        if let Err(problem) = give(&mut inputs, word) {
            if let (Some((name, _)), Some(place)) = (word.split_once('='), &problem.place) {
                inputs.give_up(name.trim(), place.clone());
            }
            problems.push(problem);
        }
    }
    if asked.example {
        inputs.fill_with_examples();
    }
    if !problems.is_empty() {
        // what else is wrong is told in the same run
        problems.extend(Results::work_out(&program, &inputs).err().unwrap_or_default());
        return stop(asked, terminal, &problems, Ending::WrongInput);
    }
    let missing: Vec<String> = inputs
        .program()
        .inputs
        .iter()
        .filter(|input| inputs.value(input).is_none())
        .map(sample)
        .collect();
    let nothing_given = asked.inputs.is_empty() && asked.given.from.is_none();
    if nothing_given && !missing.is_empty() && !asked.json {
        needs(asked, &inputs, &missing, terminal);
        return Ending::WrongInput;
    }
    if asked.worst {
        return match Worst::work_out(&program, &inputs) {
            Ok(found) => {
                if let Err((problem, ending)) = save(asked, || worst_book(&found), environment) {
                    return stop(asked, terminal, &[problem], ending);
                }
                if asked.json {
                    terminal.json(&worst::as_json(&found));
                } else {
                    worst::report(&found, terminal);
                    saved(asked, terminal);
                }
                if found.holds() { Ending::Holds } else { Ending::Fails }
            }
            Err(problems) => stop(asked, terminal, &problems, Ending::WrongInput),
        };
    }
    if asked.slopes {
        return match Influences::work_out(&program, &inputs) {
            Ok(found) => {
                if asked.json {
                    terminal.json(&slopes::as_json(&found));
                } else {
                    slopes::report(&found, &asked.of, terminal);
                }
                if found.nominal().holds() { Ending::Holds } else { Ending::Fails }
            }
            Err(problems) => stop(asked, terminal, &problems, Ending::WrongInput),
        };
    }
    if let Some(count) = asked.spread.and_then(|count| usize::try_from(count).ok()) {
        return match spread::draw(&program, &inputs, count, asked.seed, asked.json) {
            Ok(drawn) => {
                if asked.json {
                    terminal.json(&spread::as_json(&drawn, asked.seed));
                } else {
                    spread::report(&drawn, asked.seed, &asked.of, terminal);
                }
                if spread::holds(&drawn) { Ending::Holds } else { Ending::Fails }
            }
            Err(problems) => stop(asked, terminal, &problems, Ending::WrongInput),
        };
    }
    match Results::work_out(&program, &inputs) {
        Ok(results) => {
            if let Err((problem, ending)) = save(asked, || result_book(&results), environment) {
                return stop(asked, terminal, &[problem], ending);
            }
            if asked.json {
                let mut json = as_json(&results);
                if asked.steps
                    && let Some(object) = json.as_object_mut()
                {
                    object.insert("steps".to_owned(), steps::as_json(&results));
                }
                terminal.json(&json);
            } else {
                report(&results, asked.steps, terminal);
                if inputs.any_spread() {
                    terminal.say("");
                    terminal.say("inputs have tolerances; these results are for the values as given: `--worst` shows how far they can go");
                }
                saved(asked, terminal);
            }
            if results.holds() { Ending::Holds } else { Ending::Fails }
        }
        Err(problems) => {
            let ending = stop(asked, terminal, &problems, Ending::WrongInput);
            if !missing.is_empty() && !asked.json {
                terminal.tell("");
                terminal.tell("All that is missing, to be typed with your own values:");
                terminal.tell(format!("  standstill run {} {}", asked.sheet, missing.join(" ")));
            }
            ending
        }
    }
}

/// The fresh workbook, where one is asked for.
fn save(
    asked: &Run,
    book: impl FnOnce() -> Result<Vec<u8>, Diagnostic>,
    environment: &dyn Environment,
) -> Result<(), (Diagnostic, Ending)> {
    let Some(output) = &asked.output else { return Ok(()) };
    let bytes = book().map_err(|problem| (problem, Ending::File))?;
    output::save(output, &bytes, &[".xlsx"], asked.force, environment)
}

fn saved(asked: &Run, terminal: &mut Terminal) {
    if let Some(output) = &asked.output {
        terminal.say("");
        terminal.say(format!("{output} holds every line as a live formula"));
    }
}

pub(super) fn give(inputs: &mut Inputs, word: &str) -> Result<(), Diagnostic> {
    let place = Place::Argument { text: word.to_owned() };
    match word.split_once('=') {
        Some((name, value)) => inputs.write_from(name.trim(), value.trim(), place),
        None => Err(Diagnostic::error(
            Name::UnreadableQuantity,
            format!("`{word}` is not a name with its value"),
        )
        .at(place)
        .remedy(
            "write `name=value`, such as `n_0='1450 r/min'`; a value with a blank stands in quotes",
        )),
    }
}

/// What a sheet needs, where nothing was given.
fn needs(asked: &Run, inputs: &Inputs, missing: &[String], terminal: &mut Terminal) {
    let count = missing.len();
    let words = if count == 1 { "one value" } else { "values" };
    terminal.tell(match count {
        1 => format!("`{}` needs {words}:", asked.sheet),
        _ => format!("`{}` needs {count} {words}:", asked.sheet),
    });
    let rows = inputs.program().inputs.iter().filter(|input| inputs.value(input).is_none());
    let rows: Vec<Vec<String>> = rows
        .map(|input| {
            let unit = match &input.type_ {
                crate::program::Type::Choice(words) => words.join(" or "),
                _ => input.unit.symbol.clone(),
            };
            vec![input.name.clone(), unit, input.note.clone()]
        })
        .collect();
    for line in super::print::aligned(&rows) {
        terminal.tell(format!("  {line}"));
    }
    terminal.tell("");
    terminal.tell("To be typed with your own values; `--example` calculates with these:");
    terminal.tell(format!("  standstill run {} {}", asked.sheet, missing.join(" ")));
}

fn stop(asked: &Run, terminal: &mut Terminal, problems: &[Diagnostic], ending: Ending) -> Ending {
    if asked.json {
        let all: Vec<_> = problems.iter().map(render_json).collect();
        terminal.json(&serde_json::json!({ "sheet": asked.sheet, "problems": all }));
    } else {
        terminal.problems(problems, Form::Long, "Nothing was worked out.");
    }
    ending
}

/// Which sheet it is: its title, and in a line where it comes from.
pub(super) fn heading(program: &Program, terminal: &mut Terminal) {
    if let Some(scope) = program.scopes.first() {
        terminal.say(format!("{}: {}", scope.sheet, scope.title));
        terminal.say(format!("  {}", Identity::of(scope)));
    }
}

/// The results as a person reads them.
pub(super) fn report(results: &Results, with_steps: bool, terminal: &mut Terminal) {
    heading(results.program(), terminal);
    if with_steps {
        for line in steps::as_text(results) {
            terminal.say(line);
        }
    }
    figures(results, terminal);
    checks(results, true, terminal);
    settings(results, terminal);
    cautions(results, terminal);
    terminal.say("");
    for line in wrapped(TRUST, 100) {
        terminal.say(line);
    }
}

/// The results without the sheet's cautions, and of the checks those that do not hold.
pub(super) fn report_briefly(results: &Results, terminal: &mut Terminal) {
    heading(results.program(), terminal);
    figures(results, terminal);
    checks(results, false, terminal);
    settings(results, terminal);
}

fn figures(results: &Results, terminal: &mut Terminal) {
    terminal.say("");
    terminal.say("results");
    let rows: Vec<Vec<String>> = results
        .program()
        .outputs
        .iter()
        .map(|output| {
            let rounding = if output.rounding.is_empty() {
                String::new()
            } else {
                format!("({})", output.rounding)
            };
            let about = match (output.note.is_empty(), rounding.is_empty()) {
                (true, _) => rounding,
                (false, true) => output.note.clone(),
                (false, false) => format!("{} {rounding}", output.note),
            };
            vec![output.name.clone(), results.in_words(output), about]
        })
        .collect();
    terminal.columns(&rows);
}

fn checks(results: &Results, all: bool, terminal: &mut Terminal) {
    if results.checks().is_empty() {
        return;
    }
    terminal.say("");
    let holding = results.checks().iter().filter(|check| check.verdict == Verdict::Holds).count();
    terminal.say(if all {
        "checks".to_owned()
    } else {
        format!("checks: {holding} of {} hold", results.checks().len())
    });
    let rows: Vec<Vec<String>> = results
        .checks()
        .iter()
        .filter(|check| all || check.verdict != Verdict::Holds)
        .map(|check| {
            let word = match check.verdict {
                Verdict::Holds => "holds",
                Verdict::Fails => "FAILS",
                Verdict::Caution => "look",
            };
            let text = if check.path.is_empty() {
                check.text.clone()
            } else {
                format!("{}: {}", check.path, check.text)
            };
            let margin = check.margin.as_ref().map_or(String::new(), |margin| match &margin.left {
                Some(left) => format!("{}, margin {left}", margin.sides),
                None => margin.sides.clone(),
            });
            vec![word.to_owned(), text, margin]
        })
        .collect();
    terminal.columns(&rows);
    for check in results.checks() {
        if check.verdict != Verdict::Holds && !check.otherwise.is_empty() {
            terminal.say(format!("  {}: {}", check.text, check.otherwise));
        }
    }
}

fn settings(results: &Results, terminal: &mut Terminal) {
    let settings = results.settings();
    if settings.is_empty() {
        return;
    }
    terminal.say("");
    terminal.say("to be set in the drive");
    let mut rows = vec![
        ["name", "value", "step", "least", "most", "what it is", "read back, date, name"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for setting in settings {
        rows.push(vec![
            setting.name,
            setting.value,
            setting.step,
            setting.low,
            setting.high,
            setting.note,
            "____________________".to_owned(),
        ]);
    }
    terminal.columns(&rows);
}

fn cautions(results: &Results, terminal: &mut Terminal) {
    let mut seen: Vec<&str> = Vec::new();
    for scope in &results.program().scopes {
        for caution in &scope.cautions {
            if !seen.contains(&caution.as_str()) {
                seen.push(caution);
            }
        }
    }
    if seen.is_empty() {
        return;
    }
    terminal.say("");
    terminal.say("cautions");
    for caution in seen {
        for (at, line) in wrapped(caution, 96).iter().enumerate() {
            terminal.say(format!("{}{line}", if at == 0 { "  - " } else { "    " }));
        }
    }
}

/// The results for a program: numbers as text with all their digits, and as f64.
pub(super) fn as_json(results: &Results) -> serde_json::Value {
    let program = results.program();
    let scope = program.scopes.first();
    serde_json::json!({
        "sheet": scope.map(|scope| &scope.sheet),
        "title": scope.map(|scope| &scope.title),
        "sheets": Identity::json_of(program),
        "holds": results.holds(),
        "results": program.outputs.iter().map(|output| results.output_json(output)).collect::<Vec<_>>(),
        "checks": results.checks().iter().map(|check| serde_json::json!({
            "verdict": match check.verdict { Verdict::Holds => "holds", Verdict::Fails => "fails", Verdict::Caution => "caution" },
            "text": check.text,
            "path": check.path,
            "otherwise": check.otherwise,
            "sides": check.margin.as_ref().map(|margin| &margin.sides),
            "margin": check.margin.as_ref().and_then(|margin| margin.left.as_ref()),
        })).collect::<Vec<_>>(),
        "settings": results.settings().iter().map(|setting| serde_json::json!({
            "name": setting.name, "value": setting.value, "step": setting.step,
            "least": setting.low, "most": setting.high, "what": setting.note,
        })).collect::<Vec<_>>(),
        "sources": program.scopes.iter().flat_map(|scope| &scope.sources).collect::<Vec<_>>(),
        "cautions": program.scopes.iter().flat_map(|scope| &scope.cautions).collect::<std::collections::BTreeSet<_>>(),
        "trust": TRUST,
    })
}
