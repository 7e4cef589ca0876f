//! `standstill run`: one calculation at the terminal.

use super::ExitStatus;
use super::arguments::{Form, Run};
use super::assignments::{give, start};
use super::chosen::Chosen;
use super::print::Terminal;
use super::show::range;
use super::{output, slopes, spread, worst};
use crate::calculation::{Inputs, Results, Sensitivities, WorstCase, sample};
use crate::diagnostic::{Diagnostic, render_json};
use crate::environment::Environment;
use crate::report::{self, Release, text};
use crate::workbook::{result_book, worst_book};

pub(super) fn run(
    asked: &Run,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> ExitStatus {
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
        // what else is wrong is reported in the same run
        problems.extend(Results::compute(&program, &inputs).err().unwrap_or_default());
        return stop(asked, terminal, &problems, ExitStatus::WrongInput);
    }
    for caution in inputs.plates() {
        terminal.report(format!("note: {}", caution.headline));
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
        return ExitStatus::WrongInput;
    }
    let otherwise = asked.worst || asked.slopes || asked.spread.is_some();
    if otherwise && let Ok(results) = Results::compute(&program, &inputs) {
        let unused = results.unused_errors();
        if !unused.is_empty() {
            return stop(asked, terminal, &unused, ExitStatus::WrongInput);
        }
    }
    if asked.worst {
        return match WorstCase::compute(&program, &inputs) {
            Ok(found) => {
                if let Err((problem, ending)) = save(asked, || worst_book(&found), environment) {
                    return stop(asked, terminal, &[problem], ending);
                }
                if asked.json {
                    terminal.json(report::worst_json(&found));
                } else {
                    worst::report(&found, terminal);
                    saved(asked, terminal);
                }
                if found.holds() { ExitStatus::Holds } else { ExitStatus::Fails }
            }
            Err(problems) => stop(asked, terminal, &problems, ExitStatus::WrongInput),
        };
    }
    let chosen = match Chosen::new(&program, &asked.of) {
        Ok(chosen) => chosen,
        Err(problems) => return stop(asked, terminal, &problems, ExitStatus::WrongInput),
    };
    if asked.slopes {
        return match Sensitivities::compute(&program, &inputs) {
            Ok(found) => {
                if asked.json {
                    terminal.json(report::sensitivities_json(&found, &|output| chosen.has(output)));
                } else {
                    slopes::report(&found, chosen, terminal);
                }
                if found.nominal().holds() { ExitStatus::Holds } else { ExitStatus::Fails }
            }
            Err(problems) => stop(asked, terminal, &problems, ExitStatus::WrongInput),
        };
    }
    if let Some(count) = asked.spread.and_then(|count| usize::try_from(count).ok()) {
        return match spread::draw(&program, &inputs, count, asked.seed, asked.json) {
            Ok(drawn) => {
                if asked.json {
                    terminal.json(spread::as_json(&drawn, asked.seed, chosen));
                } else {
                    spread::report(&drawn, asked.seed, chosen, terminal);
                }
                if spread::holds(&drawn) { ExitStatus::Holds } else { ExitStatus::Fails }
            }
            Err(problems) => stop(asked, terminal, &problems, ExitStatus::WrongInput),
        };
    }
    match Results::compute(&program, &inputs) {
        Ok(results) if !results.unused_errors().is_empty() => {
            stop(asked, terminal, &results.unused_errors(), ExitStatus::WrongInput)
        }
        Ok(results) => {
            let release = Release::of(&results);
            if let Err((problem, ending)) = save(asked, || result_book(&results), environment) {
                return stop(asked, terminal, &[problem], ending);
            }
            if asked.json {
                let mut json = report::results_json(&results, &release);
                if asked.steps
                    && let Some(object) = json.as_object_mut()
                {
                    object.insert("steps".to_owned(), report::steps_json(&results));
                }
                terminal.json(json);
            } else {
                report(&results, &release, asked.steps, terminal);
                for caution in results.unused() {
                    terminal.print("");
                    terminal.print(crate::diagnostic::render_long(&caution));
                }
                if inputs.any_spread() {
                    terminal.print("");
                    terminal.print("inputs have tolerances; these results are for the nominal values: `--worst` shows how far they can go");
                    terminal.print(format!("over the tolerances: {}", release.verdict()));
                }
                saved(asked, terminal);
            }
            if release.granted() { ExitStatus::Holds } else { ExitStatus::Fails }
        }
        Err(problems) => {
            let ending = stop(asked, terminal, &problems, ExitStatus::WrongInput);
            if !missing.is_empty() && !asked.json {
                terminal.report("");
                terminal.report("All that is missing, to be typed with your own values:");
                terminal.report(format!("  standstill run {} {}", asked.sheet, missing.join(" ")));
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
) -> Result<(), (Diagnostic, ExitStatus)> {
    let Some(output) = &asked.output else { return Ok(()) };
    let bytes = book().map_err(|problem| (problem, ExitStatus::File))?;
    output::save(output, &bytes, &[".xlsx"], asked.force, environment)
}

fn saved(asked: &Run, terminal: &mut Terminal) {
    if let Some(output) = &asked.output {
        terminal.print("");
        terminal.print(format!("{output} holds every line as a live formula"));
    }
}

/// What a sheet needs, where no value was given.
fn needs(asked: &Run, inputs: &Inputs, missing: &[String], terminal: &mut Terminal) {
    let count = missing.len();
    let words = if count == 1 { "one value" } else { "values" };
    terminal.report(match count {
        1 => format!("`{}` needs {words}:", asked.sheet),
        _ => format!("`{}` needs {count} {words}:", asked.sheet),
    });
    let head = ["name", "unit", "allowed", "example", "what"].map(str::to_owned).to_vec();
    let needed = inputs.program().inputs.iter().filter(|input| inputs.value(input).is_none());
    let rows = needed.map(|input| {
        let allowed = match &input.type_ {
            crate::program::Type::Choice(words) => words.join(" or "),
            _ => range(input),
        };
        let example = sample(input);
        let example = example.split_once('=').map_or("", |(_, value)| value.trim_matches('\''));
        let unit = input.unit.symbol.clone();
        vec![input.name.clone(), unit, allowed, example.to_owned(), input.note.clone()]
    });
    let rows: Vec<Vec<String>> = std::iter::once(head).chain(rows).collect();
    for line in text::aligned(&rows) {
        terminal.report(format!("  {line}"));
    }
    terminal.report("");
    terminal.report("To be typed with your own values; `--example` calculates with these:");
    terminal.report(format!("  standstill run {} {}", asked.sheet, missing.join(" ")));
}

fn stop(
    asked: &Run,
    terminal: &mut Terminal,
    problems: &[Diagnostic],
    ending: ExitStatus,
) -> ExitStatus {
    if asked.json {
        let all: Vec<_> = problems.iter().map(render_json).collect();
        terminal.json(serde_json::json!({ "sheet": asked.sheet, "problems": all }));
    } else {
        terminal.problems(problems, Form::Long, "Nothing was calculated.");
    }
    ending
}

/// The results as a person reads them.
fn report(results: &Results, release: &Release, with_steps: bool, terminal: &mut Terminal) {
    terminal.lines(report::heading(results.program()));
    if with_steps {
        terminal.lines(report::steps_text(results));
    }
    figures(results, release, true, terminal);
    if let Some(words) = report::defaults_text(&report::defaults(results)) {
        terminal.lines(text::list("defaults taken", &[words]));
    }
    terminal.closing([&**results.program()]);
}

/// The results without what every report says once, and of the checks those that do not hold.
pub(super) fn report_briefly(results: &Results, release: &Release, terminal: &mut Terminal) {
    terminal.lines(report::heading(results.program()));
    figures(results, release, false, terminal);
}

fn figures(results: &Results, release: &Release, all_checks: bool, terminal: &mut Terminal) {
    let checks = report::checks_table(&report::checks(results), all_checks);
    let figures = report::figures_table(results, release);
    let tables = [Some(figures), checks, report::settings_table(results, release)];
    for table in tables.into_iter().flatten() {
        terminal.lines(text::table(&table));
    }
}
