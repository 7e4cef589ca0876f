//! Questions asked of every variant of a product line: the sensitivities of its results, and the reverse question.

use std::collections::BTreeMap;

use super::answer::{Answered, as_json};
use super::arguments::{Design as AskedDesign, Range};
use super::assignments::typed;
use super::chosen::Chosen;
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::question::{asked_text, end_of, end_word};
use super::variants::{LineRun, read};
use super::{ExitStatus, question};
use crate::calculation::{
    Answer, Design, Goal, Inputs, Question, Results, Sensitivities, Sensitivity, Step, written,
};
use crate::diagnostic::{Diagnostic, Problems};
use crate::environment::Environment;
use crate::report::{self, Release, Remark};
use crate::unit::Literal;
use crate::workbook::range::TableRequest;

/// Inputs that are shown for each result of a line.
const STRONGEST: usize = 4;

/// `standstill range --slopes`: for each result the inputs that move it most, each at the variant where it does so
/// most.
pub(super) fn slopes(
    asked: &Range,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let (sheet, tab) = (asked.sheet.clone(), asked.tab.clone());
    let wanted = TableRequest { sheet, tab, ..TableRequest::default() };
    let line = read(&asked.book, &wanted, asked.decimal_comma, environment)?;
    let program = &line.line.program;
    let chosen = Chosen::new(program, &asked.of).map_err(Failure::input)?;
    let found = line.each(asked.json, &|inputs| Sensitivities::compute(program, &inputs));
    let mut strongest = Strongest::new();
    let mut wrong = Vec::new();
    let mut failing = Vec::new();
    for (row, found) in &found {
        match found {
            Ok(found) => {
                if !Release::of(found.nominal()).granted() {
                    failing.push(line.name(*row));
                }
                for it in found.all() {
                    let key = (it.output, matches!(it.step, Step::One(_)), it.input);
                    let stronger = strongest
                        .get(&key)
                        .is_none_or(|(known, _)| it.change.abs() > known.change.abs());
                    if stronger {
                        strongest.insert(key, (it.clone(), *row));
                    }
                }
            }
            Err(problems) => wrong.extend(problems.iter().cloned()),
        }
    }
    let said = found.iter().filter_map(|(_, found)| {
        let nominal = found.as_ref().ok()?.nominal();
        Some(report::remarks(nominal.inputs(), Some(nominal)))
    });
    let said = said_of(&line, said);
    if asked.json {
        let all: Vec<_> = strongest
            .values()
            .filter(|(it, _)| {
                program.outputs.get(it.output).is_some_and(|output| chosen.has(output))
            })
            .map(|(it, row)| report::slope_json(program, it, &line.name(*row)))
            .collect();
        let parts = serde_json::json!({ "book": asked.book, "variants": line.line.variants.len(), "wrong": wrong.len(), "failing": failing, "holds": wrong.is_empty() && failing.is_empty(), "slopes": all, "remarks": report::remarks_json(&said) });
        terminal.json(report::document(program, parts));
    } else {
        terminal.opening_with(program, &said);
        report_slopes(&line, chosen, &strongest, (&wrong, &failing), terminal);
    }
    Ok(if wrong.is_empty() { ExitStatus::of(failing.is_empty()) } else { ExitStatus::WrongInput })
}

/// Of each result, kind of step and input, the strongest sensitivity and its row.
type Strongest = BTreeMap<(usize, bool, usize), (Sensitivity, u32)>;

fn report_slopes(
    line: &LineRun,
    chosen: Chosen<'_>,
    strongest: &Strongest,
    (wrong, failing): (&[Diagnostic], &[String]),
    terminal: &mut Terminal,
) {
    let program = &line.line.program;
    let about = format!(
        "{}: {} variants; what moves each result most, for 1 % more of an input (1 K of a temperature, or one \
unit of what is 0), and the variant where it does so most",
        line.line.sheet,
        line.line.variants.len()
    );
    terminal.prose(&about);
    for (at, output) in program.outputs.iter().enumerate() {
        if !chosen.has(output) {
            continue;
        }
        let mut of_this: Vec<&(Sensitivity, u32)> =
            strongest.iter().filter(|((output, ..), _)| *output == at).map(|(_, it)| it).collect();
        of_this.sort_by(|a, b| {
            let last = |it: &Sensitivity| matches!(it.step, Step::One(_));
            last(&a.0).cmp(&last(&b.0)).then(b.0.change.abs().total_cmp(&a.0.change.abs()))
        });
        terminal.print("");
        terminal.print(&output.name);
        if of_this.is_empty() {
            terminal.print(if output.rounding.is_empty() {
                "  depends on no input here"
            } else {
                "  stands still between its steps"
            });
        }
        let rows: Vec<Vec<String>> = of_this
            .iter()
            .take(STRONGEST)
            .map(|(it, row)| {
                let step = report::step_text(&it.step);
                vec![
                    it.name.clone(),
                    report::slope_text(it, output),
                    format!("for {step}"),
                    line.name(*row),
                ]
            })
            .collect();
        terminal.columns(&rows);
    }
    for problem in wrong {
        terminal.print("");
        terminal.print(crate::diagnostic::render_line(problem));
    }
    let verdict = match failing.first() {
        None => String::new(),
        Some(name) => {
            let (of, many) = (line.line.variants.len(), failing.len());
            format!("FAILS in {many} of {of} variants, first in {name}")
        }
    };
    terminal.closing_of([&**program], &verdict);
}

/// `standstill design --line`: the answer for every variant.
pub(super) fn reverse(
    asked: &AskedDesign,
    book: &str,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let (sheet, given) = (Some(asked.sheet.clone()), typed(&asked.question));
    let wanted = TableRequest { sheet, given, ..TableRequest::default() };
    let line = read(book, &wanted, false, environment)?;
    let program = &line.line.program;
    // values that are given in the question count for every variant
    let mut given = Inputs::new(program);
    let question = question::read(&asked.question, asked.worst, program, &mut given)
        .map_err(Failure::input)?;
    let ask = |question: &Question| {
        line.each(asked.json, &|inputs| {
            let inputs = inputs.taking(&given);
            let answer = Design::new(program, &inputs, question)?.answer()?;
            Ok((inputs, Answered::new(answer)))
        })
    };
    let mut answers = ask(&question);
    let agreed = agreed(&question, &answers);
    let otherwise = |(_, it): &(u32, OfVariant)| {
        let wishes = it.as_ref().map_or(&[][..], |(_, it)| &it.answer.wishes);
        wishes.iter().zip(&agreed.by).any(|(own, by)| by.towards.is_some_and(|it| it != *own))
    };
    if answers.iter().any(otherwise) {
        answers = ask(&agreed);
    }
    let fits = |answer: &OfVariant| answer.as_ref().is_ok_and(|(_, it)| it.holds());
    let said = answers.iter().filter_map(|(_, answer)| {
        let (inputs, answered) = answer.as_ref().ok()?;
        let results = answered.answer.found.as_ref().map(|(_, results)| results);
        Some(report::remarks(results.map_or(inputs, Results::inputs), results))
    });
    let said = said_of(&line, said);
    let all_fit = answers.iter().all(|(_, answer)| fits(answer));
    let any_wrong = answers.iter().any(|(_, answer)| answer.is_err());
    if asked.json {
        let all: Vec<_> = answers
            .iter()
            .map(|(row, answer)| match answer {
                Ok((inputs, answer)) => serde_json::json!({ "variant": line.name(*row), "answer": as_json(inputs, &question, answer, &[], None) }),
                Err(problems) => serde_json::json!({ "variant": line.name(*row), "problems": problems.iter().map(crate::diagnostic::render_json).collect::<Vec<_>>() }),
            })
            .collect();
        let said = report::remarks_json(&said);
        let holds = all_fit && !any_wrong;
        let parts =
            serde_json::json!({ "book": book, "holds": holds, "variants": all, "remarks": said });
        terminal.json(report::document(program, parts));
    } else {
        terminal.opening_with(program, &said);
        report(&line, &question, &answers, terminal);
    }
    Ok(if any_wrong { ExitStatus::WrongInput } else { ExitStatus::of(all_fit) })
}

/// The question with the end of each input that every variant shows which shows one: a variant that fits everywhere, or
/// nowhere at an end, shows none, and one answer is not to be read the other way round than the rest.
fn agreed(question: &Question, answers: &Answers) -> Question {
    let mut question = question.clone();
    for (at, by) in question.by.iter_mut().enumerate() {
        let answers =
            answers.iter().filter_map(|(_, answer)| Some(&answer.as_ref().ok()?.1.answer));
        let shown = answers.filter(|it| it.shown.get(at) == Some(&true));
        let mut shown = shown.filter_map(|it| it.wishes.get(at).copied());
        let first = shown.next();
        by.towards = by.towards.or(first.filter(|first| shown.all(|it| it == *first)));
    }
    question
}

/// What the variants of a line say beside their figures, each thing once.
fn said_of(line: &LineRun, all: impl Iterator<Item = Vec<Remark>>) -> Vec<Remark> {
    let variants = line.line.variants.len();
    let words = format!("inputs from {}, all {variants} variants", line.book.name);
    let mut said = vec![Remark::Origin(words)];
    let of_rows = line.said_of(&line.line.variants).into_iter().map(Remark::Said);
    for remark in all.flatten().chain(of_rows).filter(|it| !matches!(it, Remark::Origin(_))) {
        if !said.iter().any(|known| known.to_line() == remark.to_line()) {
            said.push(remark);
        }
    }
    said
}

/// The inputs of a variant with its answer.
type OfVariant = Result<(Inputs, Answered), Problems>;

type Answers = [(u32, OfVariant)];

fn report(line: &LineRun, question: &Question, answers: &Answers, terminal: &mut Terminal) {
    let all = || answers.iter().filter_map(|(_, it)| Some(&it.as_ref().ok()?.1.answer.wishes));
    // variants that ask for different ends say each for itself which it is
    let same = |at: usize| {
        let mut wishes = all().filter_map(|it| it.get(at).copied());
        let first = wishes.next();
        first.filter(|first| wishes.all(|it| it == *first))
    };
    let wishes: Vec<Option<Goal>> = (0..question.by.len()).map(same).collect();
    let shown = |values: &[Literal], own: &[Goal]| -> Vec<String> {
        let each = values.iter().map(written).zip(own).zip(&wishes);
        each.map(|((value, own), all)| match all {
            Some(_) => value,
            None => format!("{} {value}", end_word(*own)),
        })
        .collect()
    };
    let words = asked_text(question, &wishes);
    terminal.prose(&format!("for each of {} variants {words}", answers.len()));
    terminal.print("");
    let mut rows = vec![vec!["variant".to_owned()]];
    if let Some(head) = rows.first_mut() {
        head.extend(question.by.iter().map(|by| by.input.clone()));
        head.push("what forbids the next step".to_owned());
    }
    for (row, answer) in answers {
        let mut cells = vec![line.name(*row)];
        match answer {
            Ok((
                _,
                Answered {
                    answer: Answer { found: Some((values, _)), wishes: own, .. },
                    release: Some(release),
                },
            )) if !release.granted() => {
                cells.extend(shown(values, own).iter().map(|value| release.shown(value)));
                cells.push(release.verdict().to_owned());
            }
            Ok((
                _,
                Answered {
                    answer:
                        Answer { found: Some((values, _)), wishes: own, beyond, none_further, .. },
                    ..
                },
            )) => {
                cells.extend(shown(values, own));
                let next = beyond.first().and_then(Option::as_ref);
                let why = match next {
                    Some(next) => {
                        next.broken.first().cloned().unwrap_or_else(|| "nothing".to_owned())
                    }
                    None => {
                        let first = question.by.first().zip(values.first());
                        first.map_or_else(String::new, |(by, value)| end_of(by, value))
                    }
                };
                let sure = if *none_further { "" } else { " (not proved to be the last)" };
                cells.push(format!("{why}{sure}"));
            }
            Ok((_, Answered { answer, .. })) => {
                cells.extend(question.by.iter().map(|_| "none".to_owned()));
                cells.push(answer.forbids.first().cloned().unwrap_or_default());
            }
            Err(problems) => {
                cells.extend(question.by.iter().map(|_| String::new()));
                let first = problems.first().map(|problem| problem.headline.clone());
                cells.push(format!("not calculated: {}", first.unwrap_or_default()));
            }
        }
        rows.push(cells);
    }
    terminal.columns(&rows);
    terminal.closing([&*line.line.program]);
}
