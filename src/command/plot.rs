//! Where each check holds, drawn in signs: a line a check over one input, a plane over two.

use super::print::Terminal;
use crate::calculation::{Design, Question, Swept, Which, written};
use crate::program::{Check, Program};

/// Columns and rows of a picture.
const COLUMNS: u32 = 61;
const ROWS: u32 = 19;
/// The same over tolerances, where each point takes a worst case of its own.
const WORST: (u32, u32) = (31, 11);
/// Signs for what does not hold, in the order in which it is first met.
const SIGNS: &str = "abcdefghijklmnopqrstuvwxyz";

/// The points of the picture, a column each.
pub(super) fn points(design: &Design<'_>, question: &Question) -> Vec<Vec<Swept>> {
    let (columns, rows) = if question.worst { WORST } else { (COLUMNS, ROWS) };
    design.sweep(columns, if question.by.len() > 1 { rows } else { 1 })
}

pub(super) fn show(
    question: &Question,
    program: &Program,
    points: &[Vec<Swept>],
    terminal: &mut Terminal,
) {
    let Some(by) = question.by.first() else { return };
    let mut met: Vec<Which> = Vec::new();
    let two = question.by.len() > 1;
    for point in points.iter().flatten() {
        let all = point.broken.iter().map(|broken| broken.which);
        // on a plane only the first is drawn
        let drawn: Vec<Which> = if two { all.min().into_iter().collect() } else { all.collect() };
        for which in drawn {
            if !met.contains(&which) {
                met.push(which);
            }
        }
    }
    met.sort();
    terminal.print("");
    terminal.print(if two {
        "+ where all of it holds, else the first that does not"
    } else {
        "+ where it holds"
    });
    match question.by.get(1) {
        None => lines(&met, question, program, points, terminal),
        Some(second) => plane(&second.input, &met, question, program, points, terminal),
    }
    let ends = |at: Option<&Vec<Swept>>| {
        at.and_then(|column| column.first())
            .and_then(|point| point.values.first().map(written))
            .unwrap_or_default()
    };
    terminal.print(format!(
        "{} from {} on the left to {} on the right",
        by.input,
        ends(points.first()),
        ends(points.last())
    ));
}

/// One input: for all together and for each that does not hold everywhere a line of signs.
fn lines(
    met: &[Which],
    question: &Question,
    program: &Program,
    points: &[Vec<Swept>],
    terminal: &mut Terminal,
) {
    let line = |holds: &dyn Fn(&Swept) -> bool| -> String {
        points
            .iter()
            .filter_map(|column| column.first())
            .map(|point| if holds(point) { '+' } else { '-' })
            .collect()
    };
    let mut rows = vec![vec![line(&|point| point.broken.is_empty()), "all of it".to_owned()]];
    for which in met {
        let holds = |point: &Swept| {
            point
                .broken
                .iter()
                .all(|broken| broken.which != *which && broken.which != Which::Nothing)
        };
        rows.push(vec![line(&holds), name(*which, question, program)]);
    }
    terminal.columns(&rows);
}

/// Two inputs: `+` where all holds, else the sign of the first that does not.
fn plane(
    second: &str,
    met: &[Which],
    question: &Question,
    program: &Program,
    points: &[Vec<Swept>],
    terminal: &mut Terminal,
) {
    let height = points.iter().map(Vec::len).max().unwrap_or(0);
    let mut rows = vec![vec![second.to_owned(), String::new()]];
    for at in (0..height).rev() {
        let here = points.iter().filter_map(|column| column.get(at));
        let value = here.clone().next().and_then(|point| point.values.get(1).map(written));
        let signs = here
            .map(|point| match point.broken.iter().map(|broken| broken.which).min() {
                None => '+',
                Some(which) => sign(met, which),
            })
            .collect();
        rows.push(vec![value.unwrap_or_default(), signs]);
    }
    terminal.columns(&rows);
    let legend: Vec<Vec<String>> = met
        .iter()
        .map(|which| vec![sign(met, *which).to_string(), name(*which, question, program)])
        .collect();
    terminal.columns(&legend);
}

fn sign(met: &[Which], which: Which) -> char {
    let at = met.iter().position(|known| *known == which).unwrap_or(usize::MAX);
    SIGNS.chars().nth(at).unwrap_or('-')
}

fn name(which: Which, question: &Question, program: &Program) -> String {
    let unknown = || "it".to_owned();
    match which {
        Which::Requirement(at) => question.wanted.get(at).map_or_else(unknown, |wanted| {
            format!("{} {} {}", wanted.result, wanted.relation.sign(), written(&wanted.value))
        }),
        Which::Check(at) => program.checks.get(at).map_or_else(unknown, Check::label),
        Which::Exists(at) => {
            let output = program.outputs.get(at).map_or("it", |output| output.name.as_str());
            format!("{output} surely exists")
        }
        Which::Nothing => "there are results".to_owned(),
    }
}
