//! The headings of a worst case: tolerances of inputs, lowest and highest values of results.

use super::super::bind::{End, ResultRequest, asked_result};
use super::{InputColumns, ResultColumn};
use crate::diagnostic::{Diagnostic, Name};
use crate::program::{Output, Program, Type};

/// The result that a heading bears, and which end of it.
pub(super) fn result_of(program: &Program, name: &str) -> Option<(usize, Option<End>)> {
    let (name, end) = match asked_result(program, name)? {
        ResultRequest::Result(name) => (name, None),
        ResultRequest::Extreme(name, end) => (name, Some(end)),
        ResultRequest::Checks | ResultRequest::WorstChecks => return None,
    };
    Some((program.outputs.iter().position(|output| output.name == name)?, end))
}

pub(super) fn is_one_number(output: &Output) -> bool {
    matches!(output.type_, Type::Number { series: false, .. })
}

/// Words and signs of a tolerance beside the name of an input.
const OF_A_TOLERANCE: &[&str] = &["tolerance", "tol.", "tol", "±", "+/-", "+-"];

/// The input whose tolerance a heading says: `T_0 tolerance`, `T_0 ±`, `± T_0`; without its unit.
pub(super) fn tolerance_of(program: &Program, text: &str) -> Option<usize> {
    let text = text.trim();
    let is_word = |it: &str| OF_A_TOLERANCE.iter().any(|word| it.eq_ignore_ascii_case(word));
    OF_A_TOLERANCE.iter().find_map(|word| {
        let before = text.get(word.len()..).filter(|_| text.get(..word.len()).is_some_and(is_word));
        let behind = text.len().checked_sub(word.len());
        let behind = behind.filter(|at| text.get(*at..).is_some_and(is_word));
        let behind = behind.and_then(|at| text.get(..at));
        let named = |rest: &str| {
            let name = rest.trim().trim_start_matches("of ").trim_end_matches('.').trim();
            program.inputs.iter().position(|input| input.name == name)
        };
        before.and_then(named).or_else(|| behind.and_then(named))
    })
}

/// Columns for the lowest and highest value of each result that has one for its value and none for them.
pub(super) fn append_ends(program: &Program, results: &mut Vec<ResultColumn>, next: &mut u32) {
    let with_value: Vec<ResultColumn> =
        results.iter().filter(|result| result.end.is_none()).cloned().collect();
    for result in with_value {
        if !program.outputs.get(result.output).is_some_and(is_one_number) {
            continue;
        }
        for end in [End::Lowest, End::Highest] {
            let there =
                results.iter().any(|known| known.output == result.output && known.end == Some(end));
            if !there {
                results.push(ResultColumn {
                    end: Some(end),
                    column: *next,
                    appended: true,
                    ..result.clone()
                });
                *next += 1;
            }
        }
    }
}

/// Gives the columns of an input the column of its tolerance; what is wrong with that, without a place.
pub(super) fn attach(
    program: &Program,
    inputs: &mut [InputColumns],
    input: usize,
    column: u32,
    unit: Option<&str>,
) -> Option<Diagnostic> {
    let kind = program.inputs.get(input).and_then(|input| input.kind);
    let name = program.inputs.get(input).map_or("", |input| input.name.as_str());
    let (words, remedy) = match inputs.iter_mut().find(|known| known.input == input) {
        Some(known) if known.tolerance.is_none() => {
            // numbers below are read in the unit of the value's column
            let own = &known.unit.symbol;
            let same = unit.is_none_or(|unit| {
                unit == "%"
                    || kind.is_some_and(|it| {
                        it.read_plate(unit).is_ok_and(|it| it.is_same(&known.unit))
                    })
            });
            if !same {
                let words = format!(
                    "the tolerance of `{name}` is headed in {} and its values in {own}",
                    unit.unwrap_or_default()
                );
                return Some(Diagnostic::error(Name::UnitMismatch, words).remedy(format!(
                    "head it in {own} or in parts of the value: `± {name} / {own}`, `± {name} / %`"
                )));
            }
            known.tolerance = Some(column);
            known.tolerance_unit = unit.map(|it| if it == "%" { it } else { own }.to_owned());
            return None;
        }
        Some(_) => ("has two columns", "take one of them out".to_owned()),
        None => (
            "has a column and its values have none",
            format!(
                "give `{name}` a column too, or write the tolerance beside its value above the table"
            ),
        ),
    };
    let words = format!("the tolerance of `{name}` {words}");
    Some(Diagnostic::error(Name::AskedTwice, words).remedy(remedy))
}
