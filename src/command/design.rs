//! `standstill design`: the reverse question, and a sweep of one input.

use super::arguments::{Design as Asked, Form};
use super::given::start;
use super::print::{Terminal, wrapped};
use super::{Ending, run};
use crate::calculation::{
    Answer, Before, Design, Inputs, Question, Swept, TRUST, Wanted, Wish, asked_bound, asked_value,
    written,
};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Program, Relation};
use crate::surroundings::Surroundings;
use crate::unit::Literal;

/// Steps of a range when none are given.
const STEPS: i64 = 1000;
/// Rows of a sweep.
const ROWS: u32 = 40;

pub(super) fn design(
    asked: &Asked,
    surroundings: &dyn Surroundings,
    terminal: &mut Terminal,
) -> Ending {
    let (program, mut inputs) = match start(&asked.sheet, &asked.given, surroundings) {
        Ok(start) => start,
        Err((problems, ending)) => {
            terminal.problems(&problems, Form::Long, "Nothing was worked out.");
            return ending;
        }
    };
    let question = match read(asked, &program, &mut inputs) {
        Ok(question) => question,
        Err(problems) => {
            terminal.problems(&problems, Form::Long, "Nothing was worked out.");
            return Ending::WrongInput;
        }
    };
    if asked.example {
        inputs.fill_with_examples();
    }
    let worked = Design::new(&program, &inputs, &question).and_then(|design| {
        let answer = design.answer()?;
        let rows = if asked.table { design.sweep(ROWS) } else { Vec::new() };
        Ok((answer, rows))
    });
    match worked {
        Ok((answer, rows)) => {
            if asked.json {
                terminal.json(&as_json(&question, &answer, &rows));
            } else {
                report(&question, &answer, &rows, &asked.of, terminal);
            }
            if answer.found.is_some() { Ending::Holds } else { Ending::Fails }
        }
        Err(problems) => {
            terminal.problems(&problems, Form::Long, "Nothing was worked out.");
            Ending::WrongInput
        }
    }
}

/// Reads `'S<=600 mm' by t_ramp from 0.1 s to 1 s in steps of 0.01 s largest name=value …`.
fn read(
    asked: &Asked,
    program: &Program,
    inputs: &mut Inputs,
) -> Result<Question, Vec<Diagnostic>> {
    let words = &asked.question;
    let mut problems = Vec::new();
    let mut wanted = Vec::new();
    let mut towards = None;
    let (mut input, mut from, mut to, mut step) =
        (None, String::new(), String::new(), String::new());
    // where the words of a quantity go: `from 0.1 s` may be one word or two
    let mut at = 0;
    let mut gather: Option<&mut String> = None;
    while let Some(word) = words.get(at) {
        at += 1;
        let next = words.get(at).map(String::as_str);
        match word.as_str() {
            "by" => {
                input = next.map(str::to_owned);
                at += 1;
                gather = None;
            }
            "from" => gather = Some(&mut from),
            "to" => gather = Some(&mut to),
            "in" if next == Some("steps") => {
                at += if words.get(at + 1).is_some_and(|word| word == "of") { 2 } else { 1 };
                gather = Some(&mut step);
            }
            "largest" => towards = Some(Wish::Largest),
            "smallest" => towards = Some(Wish::Smallest),
            other => {
                let bound = [
                    ("<=", Relation::AtMost),
                    (">=", Relation::AtLeast),
                    ("<", Relation::Below),
                    (">", Relation::Above),
                ]
                .into_iter()
                .find_map(|(sign, relation)| Some((relation, other.split_once(sign)?)));
                if let Some((relation, (name, value))) = bound {
                    gather = None;
                    match asked_bound(program, name.trim(), value) {
                        Ok(value) => {
                            wanted.push(Wanted { result: name.trim().to_owned(), relation, value })
                        }
                        Err(problem) => {
                            problems.push(problem.at(Place::Argument { text: other.to_owned() }))
                        }
                    }
                } else if other.contains('=') {
                    gather = None;
                    if let Err(problem) = run::give(inputs, other) {
                        problems.push(problem);
                    }
                } else if let Some(text) = gather.as_deref_mut() {
                    text.push(' ');
                    text.push_str(other);
                } else {
                    problems.push(unread(other));
                }
            }
        }
    }
    let Some(input) = input else {
        problems.push(unread(&words.join(" ")));
        return Err(problems);
    };
    let mut value = |text: &str, what: &str| -> Option<Literal> {
        if text.trim().is_empty() {
            let words = format!("the question says no `{what}` for `{input}`");
            problems.push(Diagnostic::error(Name::UnreadableQuantity, words).remedy(HOW));
            return None;
        }
        asked_value(program, &input, text).map_err(|problem| problems.push(problem)).ok()
    };
    let (low, high) = (value(&from, "from"), value(&to, "to"));
    let step = if step.trim().is_empty() {
        low.as_ref().zip(high.as_ref()).and_then(|(low, high)| thousandth(low, high))
    } else {
        value(&step, "in steps of")
    };
    match (low, high, step, problems.is_empty()) {
        (Some(from), Some(to), Some(step), true) => {
            Ok(Question { input, from, to, step, wanted, towards })
        }
        _ => Err(problems),
    }
}

const HOW: &str = "write `standstill design SHEET 'S<=600 mm' by t_ramp from '0.1 s' to '1 s' in steps of '0.01 s' name=value`";

fn unread(text: &str) -> Diagnostic {
    Diagnostic::error(Name::UnreadableQuantity, format!("`{text}` is no part of a question"))
        .at(Place::Argument { text: text.to_owned() })
        .remedy(HOW)
}

/// A thousandth of a range, in the unit of its lower end.
fn thousandth(low: &Literal, high: &Literal) -> Option<Literal> {
    use crate::number::Exact;
    let plain =
        crate::unit::Unit { zero: rust_decimal::Decimal::ZERO, point: false, ..low.unit.clone() };
    let width = Exact::from_literal(high).ok()?.minus(&Exact::from_literal(low).ok()?).ok()?;
    let step = width.over(&Exact::whole(STEPS)).ok()?.in_unit(&plain).ok()?;
    Some(Literal::new(step.mantissa(), step.ten(), plain))
}

fn asked_in_words(question: &Question, wish: Wish) -> String {
    let which = if wish == Wish::Largest { "largest" } else { "smallest" };
    let bounds: Vec<String> = question
        .wanted
        .iter()
        .map(|wanted| {
            format!("{} {} {}", wanted.result, wanted.relation.sign(), written(&wanted.value))
        })
        .collect();
    let with =
        if bounds.is_empty() { String::new() } else { format!(" and {}", bounds.join(" and ")) };
    format!(
        "the {which} {} from {} to {} in steps of {} with which every check holds{with}",
        question.input,
        written(&question.from),
        written(&question.to),
        written(&question.step)
    )
}

fn report(
    question: &Question,
    answer: &Answer,
    rows: &[Swept],
    of: &[String],
    terminal: &mut Terminal,
) {
    for line in wrapped(&asked_in_words(question, answer.wish), 100) {
        terminal.say(line);
    }
    terminal.say("");
    match &answer.found {
        Some((value, results)) => {
            terminal.say(format!("{} = {}", question.input, written(value)));
            let further = if answer.wish == Wish::Largest { "larger" } else { "smaller" };
            match &answer.beyond {
                Some((next, broken)) => {
                    terminal
                        .say(format!("  one step further, {}, it does not hold:", written(next)));
                    for what in broken {
                        terminal.say(format!("    {what}"));
                    }
                    terminal.say(if answer.none_further {
                        format!("  no {further} value of the range fits: proved, for every step")
                    } else {
                        format!(
                            "  that no {further} value fits is not proved: too many were left open"
                        )
                    });
                }
                None => terminal.say("  it is the end of the range"),
            }
            let other = if answer.wish == Wish::Largest { "from" } else { "to" };
            let end = if answer.wish == Wish::Largest { &question.from } else { &question.to };
            terminal.say(match &answer.all_before {
                Before::All => format!("  every value {other} {} fits: proved", written(end)),
                Before::Not(out) => format!(
                    "  not every value {other} {} fits: {} does not",
                    written(end),
                    written(out)
                ),
                Before::Unknown => {
                    format!("  whether every value {other} {} fits is not proved", written(end))
                }
            });
            terminal.say("");
            run::report_briefly(results, terminal);
        }
        None => {
            terminal.say(if answer.none_further {
                "nothing fits: proved, for every step"
            } else {
                "nothing was found that fits"
            });
            terminal.say("what forbids it, the nearest first");
            for what in &answer.forbids {
                terminal.say(format!("  {what}"));
            }
        }
    }
    table(question, rows, of, terminal);
    terminal.say("");
    for line in wrapped(TRUST, 100) {
        terminal.say(line);
    }
}

/// The sweep: a row a value, `+` where all holds and `-` where not, the results asked for, and what fails.
fn table(question: &Question, rows: &[Swept], of: &[String], terminal: &mut Terminal) {
    if rows.is_empty() {
        return;
    }
    let mut names: Vec<&str> =
        question.wanted.iter().map(|wanted| wanted.result.as_str()).collect();
    names.extend(
        of.iter()
            .map(String::as_str)
            .filter(|name| !question.wanted.iter().any(|wanted| wanted.result == *name)),
    );
    terminal.say("");
    let mut lines = vec![vec![question.input.clone(), String::new()]];
    if let Some(head) = lines.first_mut() {
        head.extend(names.iter().map(|name| (*name).to_owned()));
        head.push("does not hold".to_owned());
    }
    for row in rows {
        let mut line =
            vec![written(&row.value), if row.broken.is_empty() { "+" } else { "-" }.to_owned()];
        for name in &names {
            line.push(
                row.results
                    .as_ref()
                    .ok()
                    .and_then(|results| {
                        let output =
                            results.program().outputs.iter().find(|output| output.name == *name)?;
                        Some(results.in_words(output))
                    })
                    .unwrap_or_default(),
            );
        }
        line.push(row.broken.join("; "));
        lines.push(line);
    }
    terminal.columns(&lines);
}

fn as_json(question: &Question, answer: &Answer, rows: &[Swept]) -> serde_json::Value {
    serde_json::json!({
        "asked": asked_in_words(question, answer.wish),
        "input": question.input,
        "value": answer.found.as_ref().map(|(value, _)| written(value)),
        "beyond": answer.beyond.as_ref().map(|(value, broken)| serde_json::json!({ "value": written(value), "broken": broken })),
        "none_further_proved": answer.none_further,
        "all_before": match &answer.all_before {
            Before::All => serde_json::json!(true),
            Before::Not(value) => serde_json::json!(written(value)),
            Before::Unknown => serde_json::Value::Null,
        },
        "forbids": answer.forbids,
        "run": answer.found.as_ref().map(|(_, results)| run::as_json(results)),
        "table": rows.iter().map(|row| serde_json::json!({ "value": written(&row.value), "broken": row.broken })).collect::<Vec<_>>(),
    })
}
