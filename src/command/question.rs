//! A question as it is typed: `'S<=600 mm' by t_ramp from 0.1 s to 1 s in steps of 0.01 s largest name=value …`.

use super::assignments::give;
use crate::calculation::{
    FreeInput, Goal, Inputs, Question, Requirement, asked_bound, asked_value, written,
};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::number::Exact;
use crate::program::{Program, Relation};
use crate::unit::{Literal, Unit};

/// Steps of a range when none are given.
const STEPS: i64 = 1000;

const HOW: &str = "write `standstill design SHEET 'S<=600 mm' by t_ramp from '0.1 s' to '1 s' in steps of '0.01 s' --example`, or your own inputs in the place of `--example`";

/// An input that is asked by, in the words that were typed.
#[derive(Default)]
struct Words {
    input: String,
    from: String,
    to: String,
    step: String,
    towards: Option<Goal>,
}

/// Where the words of a quantity go: `from 0.1 s` may be one word or two.
#[derive(Clone, Copy)]
enum Gather {
    From,
    To,
    Step,
}

/// Reads a question; values of inputs in it go to the inputs.
pub(super) fn read(
    words: &[String],
    worst: bool,
    program: &Program,
    inputs: &mut Inputs,
) -> Result<Question, Problems> {
    let mut problems = Vec::new();
    let mut wanted = Vec::new();
    let mut towards = None;
    let mut all: Vec<Words> = Vec::new();
    let mut at = 0;
    let mut gather = None;
    while let Some(word) = words.get(at) {
        at += 1;
        let next = words.get(at).map(String::as_str);
        let wish = match word.as_str() {
            "by" => {
                let input = next.map(str::to_owned).unwrap_or_default();
                all.push(Words { input, ..Words::default() });
                at += 1;
                gather = None;
                continue;
            }
            "from" => {
                gather = Some(Gather::From);
                continue;
            }
            "to" => {
                gather = Some(Gather::To);
                continue;
            }
            "in" if next == Some("steps") => {
                at += if words.get(at + 1).is_some_and(|word| word == "of") { 2 } else { 1 };
                gather = Some(Gather::Step);
                continue;
            }
            "largest" => Some(Goal::Largest),
            "smallest" => Some(Goal::Smallest),
            _ => None,
        };
        if wish.is_some() {
            let towards = all.last_mut().map_or(&mut towards, |by| &mut by.towards);
            if towards.is_some_and(|before| Some(before) != wish) {
                problems.push(
                    Diagnostic::error(
                        Name::TwoStatements,
                        "`largest` and `smallest` are both asked for one input",
                    )
                    .at(Place::Argument { text: word.clone() })
                    .remedy("leave one of the two out"),
                );
            }
            *towards = wish;
            continue;
        }
        if let Some((relation, (name, value))) = bound(word) {
            gather = None;
            let name = name.trim().to_owned();
            match asked_bound(program, &name, value) {
                Ok(value) => wanted.push(Requirement { result: name, relation, value }),
                Err(problem) => problems.push(problem.at(Place::Argument { text: word.clone() })),
            }
        } else if word.contains('=') {
            gather = None;
            problems.extend(give(inputs, word).err());
        } else if let (Some(gather), Some(by)) = (gather, all.last_mut()) {
            let text = match gather {
                Gather::From => &mut by.from,
                Gather::To => &mut by.to,
                Gather::Step => &mut by.step,
            };
            text.push(' ');
            text.push_str(word);
        } else {
            problems.push(unread(word));
        }
    }
    if all.is_empty() {
        problems.push(unread(&words.join(" ")));
    }
    if let (Some(first), true) = (all.first_mut(), towards.is_some()) {
        first.towards = towards;
    }
    let by: Vec<FreeInput> =
        all.iter().filter_map(|words| free(words, program, &mut problems)).collect();
    for by in &by {
        let declared = program.input_named(&by.input);
        if let Some(place @ Place::Argument { .. }) = declared.map(|input| inputs.place(input)) {
            let words = format!("`{}` has a value, and the question looks for it", by.input);
            problems.push(
                Diagnostic::error(Name::TwoStatements, words)
                    .at(place)
                    .remedy("leave the value out, or ask for another input"),
            );
        }
    }
    if problems.is_empty() { Ok(Question { by, wanted, worst }) } else { Err(problems.into()) }
}

fn bound(word: &str) -> Option<(Relation, (&str, &str))> {
    [
        ("<=", Relation::AtMost),
        (">=", Relation::AtLeast),
        ("<", Relation::Below),
        (">", Relation::Above),
    ]
    .into_iter()
    .find_map(|(sign, relation)| Some((relation, word.split_once(sign)?)))
}

fn free(words: &Words, program: &Program, problems: &mut Vec<Diagnostic>) -> Option<FreeInput> {
    let Words { input, from, to, step, towards } = words;
    let mut value = |text: &str, what: &str| -> Option<Literal> {
        if text.trim().is_empty() {
            let words = format!("the question says no `{what}` for `{input}`");
            problems.push(Diagnostic::error(Name::UnreadableQuantity, words).remedy(HOW));
            return None;
        }
        asked_value(program, input, text).map_err(|problem| problems.push(problem)).ok()
    };
    let (mut low, mut high) = (value(from, "from"), value(to, "to"));
    let [from, to] = [&low, &high].map(|end| Exact::from_literal(end.as_ref()?).ok());
    if from.as_ref().zip(to.as_ref()).is_some_and(|(from, to)| from.stands_to(to).is_gt()) {
        // a range is the same whichever end is said first
        std::mem::swap(&mut low, &mut high);
    }
    let step = if step.trim().is_empty() {
        low.as_ref().zip(high.as_ref()).and_then(|(low, high)| thousandth(low, high))
    } else {
        value(step, "in steps of")
    };
    Some(FreeInput { input: input.clone(), from: low?, to: high?, step: step?, towards: *towards })
}

fn unread(text: &str) -> Diagnostic {
    Diagnostic::error(Name::UnreadableQuantity, format!("`{text}` is not a part of a question"))
        .at(Place::Argument { text: text.to_owned() })
        .remedy(HOW)
}

/// A thousandth of a range, in the unit of its lower end.
fn thousandth(low: &Literal, high: &Literal) -> Option<Literal> {
    let plain = Unit { zero: rust_decimal::Decimal::ZERO, point: false, ..low.unit.clone() };
    let width = Exact::from_literal(high).ok()?.minus(&Exact::from_literal(low).ok()?).ok()?;
    let step = width.over(&Exact::whole(STEPS)).ok()?.in_unit(&plain).ok()?;
    Some(Literal::new(step.mantissa(), step.ten(), plain))
}

pub(super) fn end_word(wish: Goal) -> &'static str {
    if wish == Goal::Largest { "largest" } else { "smallest" }
}

/// The question in words; where an input has no wish, each answer says for itself which end it is.
pub(super) fn asked_text<Wish>(question: &Question, wishes: &[Wish]) -> String
where
    Wish: Copy + Into<Option<Goal>>,
{
    let inputs: Vec<String> = question
        .by
        .iter()
        .zip(wishes)
        .map(|(FreeInput { input, from, to, step, .. }, wish)| {
            let wish = (*wish).into();
            format!(
                "the {} {input} from {} to {} in steps of {}",
                wish.map_or("largest or smallest (each line says which)", end_word),
                written(from),
                written(to),
                written(step)
            )
        })
        .collect();
    let bounds: Vec<String> = question
        .wanted
        .iter()
        .map(|wanted| {
            format!("{} {} {}", wanted.result, wanted.relation.sign(), written(&wanted.value))
        })
        .collect();
    let with =
        if bounds.is_empty() { String::new() } else { format!(" and {}", bounds.join(" and ")) };
    let over = if question.worst { " over the tolerances" } else { "" };
    format!("{} with which every check holds{with}{over}", inputs.join(", then "))
}

/// What is said of a value behind which the range has no further step.
pub(super) fn end_of(by: &FreeInput, value: &Literal) -> String {
    let near = |end: &Literal| {
        let (end, value) = (end.si_f64(), value.si_f64());
        (end - value).abs() <= 1e-9 * end.abs().max(value.abs())
    };
    match near(&by.from) || near(&by.to) {
        true => "it is the end of the range".to_owned(),
        false => format!("it is the last step of the range, which ends at {}", written(&by.to)),
    }
}
