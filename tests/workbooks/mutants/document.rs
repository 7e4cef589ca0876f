//! Review documents with a mistake.

use std::collections::BTreeMap;

use standstill::Results;
use standstill::diagnostic::Source;
use standstill::environment::NoFs;
use standstill::number::InputValue;
use standstill::program::{Input, Type};
use standstill::review::read;

use super::block::{SHEETS, number, says};
use super::{Outcome, Rng, example, figures, many, refused, slips};

/// A document with a block of a sheet, a second block beside it, and what is shown in its text.
struct Case {
    sheet: &'static str,
    head: String,
    lines: Vec<(Input, String)>,
    shown: String,
    shows: String,
    wanted: BTreeMap<String, String>,
}

impl Case {
    fn new(rng: &mut Rng) -> Option<Self> {
        let sheet = *rng.pick(SHEETS);
        let (inputs, results) = example(rng, sheet)?;
        let mut lines = Vec::new();
        for input in &inputs.program().inputs {
            let text = match (inputs.value(input)?, &input.type_) {
                (InputValue::Word(at), Type::Choice(words)) => words[at].clone(),
                (InputValue::One(one), _) => format!("{} {}", number(&one), one.unit.symbol),
                (InputValue::Many(all), _) => {
                    let all: Vec<_> = all
                        .iter()
                        .map(|one| format!("{} {}", number(one), one.unit.symbol))
                        .collect();
                    all.join(", ")
                }
                _ => return None,
            };
            lines.push((input.clone(), format!("{} = {}", input.name, text.trim())));
        }
        let output = results.program().outputs.first()?;
        let shown = format!("{{one.{}}}", output.name);
        let wanted = figures(&results);
        let head = format!("sheet {sheet} as one");
        let shows = "show results checks".to_owned();
        Some(Self { sheet, head, lines, shown, shows, wanted })
    }

    fn text(&self) -> String {
        let lines: Vec<&str> = self.lines.iter().map(|(_, line)| line.as_str()).collect();
        format!(
            "# Report\n\nThe figure is {}.\n\n```{}\n{}\n{}\n```\n\n```sheet sphere as two\nexamples\nshow results\n```\n",
            self.shown,
            self.head,
            lines.join("\n"),
            self.shows,
        )
    }

    fn outcome(&self) -> Outcome {
        let document = match read(&Source::new("doc.md", self.text()), &NoFs) {
            Ok(document) => document,
            Err(unreviewed) => return refused(&unreviewed.problems),
        };
        let of_sheet = |results: &Results| {
            results.program().scopes.first().is_some_and(|scope| scope.sheet == self.sheet)
        };
        let Some(found) = document.calculations.iter().find(|one| of_sheet(&one.results)) else {
            return Outcome::Wrong(format!("not calculated:\n{}", self.text()));
        };
        let found = figures(&found.results);
        match self.wanted.iter().find(|(name, figure)| found.get(*name) != Some(figure)) {
            Some((name, figure)) => Outcome::Wrong(format!(
                "{name} is {:?}, not {figure}\n{}",
                found.get(name),
                self.text()
            )),
            None => Outcome::Right,
        }
    }

    fn line(&self, rng: &mut Rng) -> usize {
        rng.below(self.lines.len())
    }
}

type Rule = (&'static str, fn(&mut Rng, &mut Case) -> Option<String>);

const RULES: &[Rule] = &[
    ("document: a slip in a name", |rng, case| {
        let at = case.line(rng);
        let (input, line) = case.lines[at].clone();
        let slip = slips::name(rng, &input.name);
        if case.lines.iter().any(|(input, _)| input.name == slip.trim()) {
            return None;
        }
        case.lines[at].1 = line.replacen(&input.name, &slip, 1);
        Some(case.lines[at].1.clone())
    }),
    ("document: a slip in a unit", |rng, case| {
        let at = case.line(rng);
        let (input, line) = case.lines[at].clone();
        let kind = input.kind?;
        let (before, unit) = line.rsplit_once(' ')?;
        let slip = slips::unit(rng, unit);
        let bare = unit.parse::<f64>().is_ok();
        if bare || unit == "=" || line.contains(',') || says(kind, unit, slip.trim()) {
            return None;
        }
        case.lines[at].1 = format!("{before} {slip}");
        Some(case.lines[at].1.clone())
    }),
    ("document: a number in another way", |rng, case| {
        let at = case.line(rng);
        let (input, line) = case.lines[at].clone();
        input.kind?;
        let (name, value) = line.split_once(" = ")?;
        let (figure, unit) = value.split_once(' ').unwrap_or((value, ""));
        if line.contains(',') || unit == "°C" {
            return None;
        }
        let text = slips::number(rng, figure.parse().ok()?, unit);
        // without its sign a percentage is another number that could be meant
        if unit == "%" && !text.contains('%') {
            return None;
        }
        case.lines[at].1 = format!("{name} = {text}");
        Some(case.lines[at].1.clone())
    }),
    ("document: a line twice", |rng, case| {
        let (from, to) = (case.line(rng), case.line(rng));
        let copy = case.lines[from].clone();
        let words = copy.1.clone();
        case.lines.insert(to, copy);
        Some(words)
    }),
    ("document: a line taken out", |rng, case| {
        let at = case.line(rng);
        if case.lines[at].0.default.is_some() {
            return None;
        }
        Some(case.lines.remove(at).1)
    }),
    ("document: another sign", |rng, case| {
        let at = case.line(rng);
        let sign = *rng.pick(&[" : ", " ", " == ", " := ", "=", " =  ", " is ", "\t=\t", " = = "]);
        case.lines[at].1 = case.lines[at].1.replacen(" = ", sign, 1);
        Some(case.lines[at].1.clone())
    }),
    ("document: words behind a value", |rng, case| {
        let at = case.line(rng);
        let more =
            *rng.pick(&[" # measured", " measured", " (measured)", ";", ",", " !", " // old"]);
        case.lines[at].1.push_str(more);
        Some(case.lines[at].1.clone())
    }),
    ("document: two lines in one", |rng, case| {
        let at = case.line(rng);
        if at + 1 >= case.lines.len() {
            return None;
        }
        let (_, second) = case.lines.remove(at + 1);
        let join = *rng.pick(&[" ", ", ", "; "]);
        case.lines[at].1 = format!("{}{join}{second}", case.lines[at].1);
        Some(case.lines[at].1.clone())
    }),
    ("document: a line between", |rng, case| {
        let at = case.line(rng);
        let line =
            *rng.pick(&["", "brake data", "# brake data", "examples:", "- item", "from", "range"]);
        let input = case.lines[at].0.clone();
        case.lines.insert(at, (input, line.to_owned()));
        Some(line.to_owned())
    }),
    ("document: the head of the block", |rng, case| {
        let sheet = case.sheet;
        case.head = match rng.below(10) {
            0 => format!("Sheet {sheet} as one"),
            1 => format!("sheet: {sheet} as one"),
            2 => format!("sheet {sheet}"),
            3 => format!("sheet {sheet} as  one"),
            4 => format!("sheet {sheet} AS one"),
            5 => format!("sheet {} as one", slips::name(rng, sheet)),
            6 => format!("{} {sheet} as one", slips::name(rng, "sheet")),
            7 => sheet.to_owned(),
            8 => format!("sheet {sheet} as two"),
            _ => format!("sheet {sheet} as one 2"),
        };
        Some(case.head.clone())
    }),
    ("document: what the text shows", |rng, case| {
        let inner = case.shown.trim_matches(['{', '}']).to_owned();
        case.shown = match rng.below(7) {
            0 => format!("{{ {inner} }}"),
            1 => format!("{{{}}}", inner.replace("one", "tow")),
            2 => format!("{{{inner}x}}"),
            3 => format!("{{{inner} in banana}}"),
            4 => format!("{{one.{}}}", slips::name(rng, inner.trim_start_matches("one."))),
            5 => "{one}".to_owned(),
            _ => format!("{{{inner}"),
        };
        Some(case.shown.clone())
    }),
    ("document: what the block shows", |rng, case| {
        case.shows = (*rng.pick(&[
            "show result", "show results, checks", "Show results", "shows results", "show",
            "show = results",
        ]))
        .to_owned();
        Some(case.shows.clone())
    }),
];

fn one(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let mut case = Case::new(rng)?;
    let (rule, change) = rng.pick(RULES);
    let what = change(rng, &mut case)?;
    Some((rule, format!("{}: {what}", case.sheet), case.outcome()))
}

#[test]
fn a_mistake_in_a_document_is_an_error_or_changes_nothing() {
    for seed in 0..30 {
        let Some(case) = Case::new(&mut Rng::of(seed)) else { continue };
        match case.outcome() {
            Outcome::Right => {}
            Outcome::Refused => panic!("well-formed and refused:\n{}", case.text()),
            Outcome::Wrong(words) => panic!("{words}"),
        }
    }
    many(200, one);
}
