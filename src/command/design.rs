//! `standstill design`: the reverse question, and a sweep of one or two inputs.

use std::sync::Arc;

use super::answer::{Answered, as_json};
use super::arguments::Design as Arguments;
use super::assignments::Start;
use super::chosen::Chosen;
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::question::{asked_text, end_of};
use super::{ExitStatus, line, plot, question, run};
use crate::calculation::{Answer, Before, Beyond, Design, Goal, Inputs, Question, Swept, written};
use crate::diagnostic::phrase;
use crate::environment::Environment;

/// Rows of a table over the range.
const ROWS: u32 = 40;

pub(super) fn design(
    asked: &Arguments,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    if let Some(book) = &asked.line {
        return line::reverse(asked, book, environment, terminal);
    }
    let begun = Start::of(&asked.sheet, &asked.given, &asked.question, environment)?;
    let (program, mut inputs) = (Arc::clone(&begun.program), begun.inputs.clone());
    let question = question::read(&asked.question, asked.worst, &program, &mut inputs)
        .map_err(Failure::input)?;
    if asked.example {
        inputs.fill_with_examples();
    }
    let ending = answered(asked, &inputs, &question, terminal);
    if ending.is_err() {
        terminal.asked(&inputs);
    }
    ending
}

/// The answer to a question about inputs that could be read.
fn answered(
    asked: &Arguments,
    inputs: &Inputs,
    question: &Question,
    terminal: &mut Terminal,
) -> Ending {
    let program = inputs.program();
    Chosen::new(program, &asked.of).map_err(Failure::input)?;
    let design = Design::new(program, inputs, question).map_err(Failure::input)?;
    let answer = Answered::new(design.answer().map_err(Failure::input)?);
    let rows: Vec<Swept> = if asked.table {
        design.sweep(ROWS, 1).into_iter().flatten().collect()
    } else {
        Vec::new()
    };
    let picture = asked.plot.then(|| plot::points(&design, question));
    if asked.json {
        terminal.json(as_json(inputs, question, &answer, &rows, picture.as_deref()));
    } else {
        report(inputs, question, &answer, terminal);
        if let Some(words) = left_out(question, inputs) {
            terminal.paragraph(&words);
        }
        table(question, &rows, &asked.of, terminal);
        if let Some(points) = &picture {
            plot::show(question, program, points, terminal);
        }
        terminal.closing([&**program]);
    }
    Ok(ExitStatus::of(answer.holds()))
}

/// Tolerances that do not count.
pub(super) fn left_out(question: &Question, inputs: &Inputs) -> Option<String> {
    let tolerated: Vec<&str> = inputs
        .program()
        .inputs
        .iter()
        .filter(|input| inputs.spread(input).is_some())
        .map(|input| input.name.as_str())
        .collect();
    let free: Vec<&str> = tolerated
        .iter()
        .copied()
        .filter(|name| question.by.iter().any(|by| by.input == *name))
        .collect();
    let listed = |names: &[&str]| phrase::quoted(names).join(", ");
    if !question.worst && !tolerated.is_empty() {
        return Some(format!(
            "The tolerances of {} do not count in the search: `--worst` asks it over them.",
            listed(&tolerated)
        ));
    }
    if free.is_empty() {
        return None;
    }
    Some(format!("The tolerance of {} does not count: it is what is set.", listed(&free)))
}

fn report(inputs: &Inputs, question: &Question, answered: &Answered, terminal: &mut Terminal) {
    let Answered { answer, release } = answered;
    if answer.found.is_none() {
        terminal.opening(inputs, None);
        terminal.print("");
    }
    terminal.prose(&asked_text(question, &answer.wishes));
    terminal.print("");
    let Some((values, results)) = &answer.found else {
        terminal.print(if answer.none_further {
            "nothing fits: proved, for every step"
        } else {
            "nothing was found that fits"
        });
        terminal.print("what forbids it, the nearest first");
        for what in &answer.forbids {
            terminal.print(format!("  {what}"));
        }
        return;
    };
    for (at, (by, value)) in question.by.iter().zip(values).enumerate() {
        terminal.print(format!("{} = {}", by.input, written(value)));
        match answer.beyond.get(at).and_then(Option::as_ref) {
            Some(Beyond { value, broken }) if broken.is_empty() => {
                // the inputs before it would have to give way
                terminal.print(format!("  one step further, {}, it holds as well", written(value)));
            }
            Some(Beyond { value, broken }) => {
                terminal
                    .print(format!("  one step further, {}, it does not hold:", written(value)));
                for what in broken {
                    terminal.print(format!("    {what}"));
                }
            }
            None => terminal.print(format!("  {}", end_of(by, value))),
        }
        if at == 0 && answer.beyond.first().is_some_and(Option::is_some) {
            further(question, answer, terminal);
        }
    }
    before(question, answer, terminal);
    terminal.print("");
    let Some(release) = release else { return };
    if !release.granted() {
        let words = format!("the answer is not one within the tolerances: {}", release.verdict());
        terminal.prose(&words);
        terminal.print("");
    }
    terminal.opening(results.inputs(), Some(results));
    run::report_briefly(results, release, terminal);
}

/// What is proved of the values beyond the answer.
fn further(question: &Question, answer: &Answer, terminal: &mut Terminal) {
    let larger = if answer.wishes.first() == Some(&Goal::Largest) { "larger" } else { "smaller" };
    let others: Vec<&str> = question.by.iter().skip(1).map(|by| by.input.as_str()).collect();
    let whatever = if others.is_empty() {
        String::new()
    } else {
        format!(", whatever {} is set to", others.join(" and "))
    };
    terminal.print(if answer.none_further {
        format!("  no {larger} value of the range fits{whatever}: proved, for every step")
    } else {
        format!("  that no {larger} value fits{whatever} is not proved: too many were left open")
    });
}

/// What is proved of the values on the other side of the answer.
fn before(question: &Question, answer: &Answer, terminal: &mut Terminal) {
    let (Some(by), Some(wish)) = (question.by.last(), answer.wishes.last()) else { return };
    let (from, end) = if *wish == Goal::Largest { ("from", &by.from) } else { ("to", &by.to) };
    let end = written(end);
    let of = if question.by.len() > 1 { format!(" of {}", by.input) } else { String::new() };
    terminal.print(match &answer.all_before {
        Before::All => format!("  every value{of} {from} {end} fits: proved"),
        Before::Not(out) => {
            format!("  not every value{of} {from} {end} fits: {} does not", written(out))
        }
        Before::Unknown => format!("  whether every value{of} {from} {end} fits is not proved"),
    });
}

/// The sweep: a row a value, `+` where all holds and `-` where not, the results asked for, and what fails.
fn table(question: &Question, rows: &[Swept], of: &[String], terminal: &mut Terminal) {
    let (false, Some(by)) = (rows.is_empty(), question.by.first()) else { return };
    let mut names: Vec<&str> =
        question.wanted.iter().map(|wanted| wanted.result.as_str()).collect();
    names.extend(
        of.iter()
            .map(String::as_str)
            .filter(|name| !question.wanted.iter().any(|wanted| wanted.result == *name)),
    );
    terminal.print("");
    let mut lines = vec![vec![by.input.clone(), String::new()]];
    if let Some(head) = lines.first_mut() {
        head.extend(names.iter().map(|name| (*name).to_owned()));
        head.push("does not hold".to_owned());
    }
    for row in rows {
        let value = row.values.first().map(written).unwrap_or_default();
        let mut line = vec![value, if row.broken.is_empty() { "+" } else { "-" }.to_owned()];
        for name in &names {
            line.push(
                row.results
                    .as_ref()
                    .ok()
                    .and_then(|results| {
                        let output = results.program().output_named(name)?;
                        Some(results.to_text(output))
                    })
                    .unwrap_or_default(),
            );
        }
        line.push(to_text(row));
        lines.push(line);
    }
    terminal.columns(&lines);
}

fn to_text(row: &Swept) -> String {
    row.broken.iter().map(|broken| broken.what.as_str()).collect::<Vec<_>>().join("; ")
}
