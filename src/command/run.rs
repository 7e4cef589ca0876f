//! `standstill run`: one calculation at the terminal.

use std::sync::Arc;

use super::ExitStatus;
use super::arguments::{InputSource, Run};
use super::assignments::{Start, give};
use super::chosen::Chosen;
use super::failure::{Ending, Failure};
use super::form::quoted;
use super::print::Terminal;
use super::show::range;
use super::{output, slopes, spread, worst};
use crate::calculation::{Inputs, Results, Sensitivities, WorstCase, is_tolerance, sample};
use crate::diagnostic::{Diagnostic, Place};
use crate::environment::Environment;
use crate::program::{Input, Output, Program};
use crate::report::{self, Release, text};
use crate::workbook::{frozen_lines, result_book, worst_book};

pub(super) fn run(asked: &Run, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    let begun = Start::of(&asked.sheet, &asked.given, &asked.inputs, environment)?;
    let (program, mut inputs) = (Arc::clone(&begun.program), begun.inputs.clone());
    take_words(asked, &program, &mut inputs)?;
    if let Some(spared) = inputs.spared() {
        inputs = spared;
    }
    let all = program.inputs.iter();
    let missing: Vec<String> =
        all.filter(|input| inputs.value(input).is_none()).map(sample).collect();
    let nothing_given = asked.inputs.is_empty() && asked.given.from.is_none();
    if nothing_given && !missing.is_empty() && !asked.json {
        needs(asked, &inputs, missing.len(), terminal);
        return Ok(ExitStatus::WrongInput);
    }
    let ending = answered(asked, &inputs, &missing, environment, terminal);
    if ending.is_err() {
        terminal.asked(&inputs);
    }
    ending
}

/// What was asked of inputs that could be read.
fn answered(
    asked: &Run,
    inputs: &Inputs,
    missing: &[String],
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let program = inputs.program();
    let nominal = Results::compute(program, inputs);
    if asked.worst {
        return worst_case(asked, program, inputs, environment, terminal);
    }
    let chosen = Chosen::new(program, &asked.of).map_err(Failure::input)?;
    if asked.slopes {
        let found = Sensitivities::compute(program, inputs).map_err(Failure::input)?;
        let release = Release::of(found.nominal());
        if asked.json {
            let asks = |output: &Output| chosen.has(output);
            terminal.json(report::sensitivities_json(&found, &release, &asks));
        } else {
            slopes::report(&found, &release, chosen, terminal);
        }
        return Ok(ExitStatus::of(release.granted()));
    }
    if let Some(count) = asked.spread.and_then(|count| usize::try_from(count).ok()) {
        let drawn =
            spread::draw(program, inputs, count, asked.seed, asked.json).map_err(Failure::input)?;
        if asked.json {
            terminal.json(spread::as_json(&drawn, asked.seed, chosen));
        } else {
            spread::report(&drawn, asked.seed, chosen, terminal);
        }
        return Ok(ExitStatus::of(spread::holds(&drawn)));
    }
    let results = nominal.map_err(|problems| {
        let mut failure = Failure::input(problems);
        if !missing.is_empty() {
            failure.advice = vec![
                String::new(),
                "All that is missing, to be typed with your own values:".to_owned(),
                format!("  standstill run {}", retyped(asked, missing)),
            ];
        }
        failure
    })?;
    calculated(asked, &results, inputs, environment, terminal)
}

/// What was typed, and behind it what is missing.
fn retyped(asked: &Run, missing: &[String]) -> String {
    let mut words = vec![quoted(&asked.sheet)];
    let InputSource { from, at, bind, row } = &asked.given;
    let options = [("--from", from), ("--at", at), ("--bind", bind), ("--row", row)];
    let options = options.iter().filter_map(|(name, of)| Some((name, of.as_ref()?)));
    words.extend(options.map(|(name, of)| format!("{name} {}", quoted(of))));
    words.extend(asked.inputs.iter().map(|word| match word.split_once('=') {
        Some((name, value)) => format!("{}={}", name.trim(), quoted(value)),
        None => quoted(word),
    }));
    words.extend(missing.iter().cloned());
    words.join(" ")
}

/// Takes the inputs as they are typed; what else is wrong is reported in the same run.
fn take_words(asked: &Run, program: &Arc<Program>, inputs: &mut Inputs) -> Result<(), Failure> {
    let mut problems = Vec::new();
    // `T_0='± 10 %'` gives an example its tolerance; `from … to …` is a value of its own, the middle
    let of_example = |word: &&String| {
        asked.example
            && word.split_once('=').is_some_and(|(_, text)| {
                is_tolerance(text) && !text.trim_start().starts_with("from")
            })
    };
    let (tolerances, values): (Vec<&String>, Vec<&String>) =
        asked.inputs.iter().partition(of_example);
    for word in values {
        if let Err(problem) = give(inputs, word) {
            if let (Some((name, _)), Some(place)) = (word.split_once('='), &problem.place) {
                inputs.give_up(name.trim(), place.clone());
            }
            problems.push(problem);
        }
    }
    if asked.example {
        inputs.fill_with_examples();
        for (name, text) in tolerances.into_iter().filter_map(|word| word.split_once('=')) {
            let place = Place::Argument { text: format!("{name}={text}") };
            problems.extend(inputs.tolerate_typed(name.trim(), text.trim(), &place).err());
        }
    }
    if problems.is_empty() {
        return Ok(());
    }
    problems.extend(Results::compute(program, inputs).err().unwrap_or_default());
    Err(Failure::input(problems))
}

fn worst_case(
    asked: &Run,
    program: &Arc<Program>,
    inputs: &Inputs,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let found = WorstCase::compute(program, inputs).map_err(Failure::input)?;
    save(asked, || worst_book(&found), environment)?;
    if asked.json {
        terminal.json(report::worst_json(&found));
    } else {
        worst::report(&found, terminal);
        saved(asked, found.nominal(), terminal);
    }
    Ok(ExitStatus::of(found.holds()))
}

/// The results of the nominal values.
fn calculated(
    asked: &Run,
    results: &Results,
    inputs: &Inputs,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let release = Release::of(results);
    save(asked, || result_book(results), environment)?;
    if asked.json {
        let mut json = report::results_json(results, &release);
        if asked.steps
            && let Some(object) = json.as_object_mut()
        {
            object.insert("steps".to_owned(), report::steps_json(results));
        }
        terminal.json(json);
    } else {
        report(results, &release, asked.steps, terminal);
        if inputs.any_spread() {
            terminal.print("");
            terminal.print("inputs have tolerances; these results are for the nominal values: `--worst` shows how far they can go");
            terminal.print(format!("over the tolerances: {}", release.verdict()));
        }
        saved(asked, results, terminal);
    }
    Ok(ExitStatus::of(release.granted()))
}

/// The fresh workbook, where one is asked for.
fn save(
    asked: &Run,
    book: impl FnOnce() -> Result<Vec<u8>, Diagnostic>,
    environment: &dyn Environment,
) -> Result<(), Failure> {
    let Some(output) = &asked.output else { return Ok(()) };
    let bytes = book().map_err(Failure::file)?;
    output::save(output, &bytes, &[".xlsx"], asked.force, environment)
}

fn saved(asked: &Run, results: &Results, terminal: &mut Terminal) {
    if let Some(output) = &asked.output {
        terminal.print("");
        let frozen = match frozen_lines(results) {
            names if names.is_empty() => String::new(),
            names => format!(
                " but for {}: what no formula of a cell gives stands for these inputs, and is #N/A once one changes",
                names.join(", ")
            ),
        };
        terminal.print(format!("{output} holds every line as a live formula{frozen}"));
    }
}

/// What a sheet needs, where no value was given, and what its example sets besides.
fn needs(asked: &Run, inputs: &Inputs, missing: usize, terminal: &mut Terminal) {
    let values = if missing == 1 { "value" } else { "values" };
    let all = inputs.program().inputs.iter();
    let shown: Vec<&Input> = all
        .filter(|input| {
            let of_example = !input.example.is_empty() && input.default_from.is_none();
            inputs.value(input).is_none() || of_example
        })
        .collect();
    terminal.report(match shown.len().saturating_sub(missing) {
        0 => format!("`{}` needs {missing} {values}:", asked.sheet),
        more => {
            format!("`{}` needs {missing} {values}; its example sets {more} more:", asked.sheet)
        }
    });
    let head = ["name", "unit", "allowed", "example", "what"].map(str::to_owned).to_vec();
    let rows = shown.iter().map(|input| {
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
    // what the example leaves out need not be typed
    let mut examples = inputs.clone();
    examples.fill_with_examples();
    let left_out = Results::compute(inputs.program(), &examples).map(|it| it.left_out_here());
    let left_out: Vec<&str> = left_out
        .unwrap_or_default()
        .keys()
        .filter_map(|at| inputs.program().inputs.get(*at))
        .map(|input| input.name.as_str())
        .collect();
    let needed = shown.into_iter().filter(|input| !left_out.contains(&input.name.as_str()));
    let line: Vec<String> = needed.map(sample).collect();
    terminal.report(format!("  standstill run {} {}", asked.sheet, line.join(" ")));
}

/// The results as a person reads them.
fn report(results: &Results, release: &Release, with_steps: bool, terminal: &mut Terminal) {
    terminal.opening(results.inputs(), Some(results));
    if with_steps {
        terminal.lines(report::steps_text(results));
    }
    figures(results, release, true, terminal);
    if let Some(words) = report::defaults_text(&report::defaults(results)) {
        terminal.list("defaults taken", &[words]);
    }
    terminal.closing_of([&**results.program()], release.verdict());
}

/// The results without what stands before them and what every report says once, and of the checks those that do not hold.
pub(super) fn report_briefly(results: &Results, release: &Release, terminal: &mut Terminal) {
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
