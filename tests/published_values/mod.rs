//! Every sheet against figures from outside: a `.cases` file a sheet, each case with its source.
//!
//! A case gives inputs (those left out take their default, else the sheet's example) and says what must
//! come out, within which tolerance, which checks must fail, or in which problem the run must end.

pub(crate) mod cases;
mod credit;
mod unit_factors;

use std::fs;
use std::path::Path;

use cases::{Case, Expectation, read};
use standstill::Sheet;
use standstill::calculation::Verdict;
use standstill::library::SHELVED;
use standstill::number::{Exact, Slot};
use standstill::program::Type;
use standstill::unit::{Literal, split_quantity};

pub(crate) fn case_files() -> Vec<(String, Vec<Case>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published_values");
    let mut files: Vec<(String, Vec<Case>)> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "cases"))
        .map(|path| {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            let (sheet, cases) = read(&fs::read_to_string(&path).unwrap())
                .unwrap_or_else(|trouble| panic!("{name}.cases: {trouble}"));
            assert_eq!(sheet, name, "the file is named after its sheet");
            (sheet, cases)
        })
        .collect();
    files.sort_by(|a, b| a.0.cmp(&b.0));
    files
}

#[test]
fn every_sheet_agrees_with_its_published_and_independent_figures() {
    let mut troubles = Vec::new();
    let mut count = 0;
    for (name, cases) in case_files() {
        let sheet = match Sheet::library(&name) {
            Ok(sheet) => sheet,
            Err(problems) => {
                troubles.push(format!(
                    "{name}: {}",
                    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
                ));
                continue;
            }
        };
        for case in &cases {
            count += 1;
            for trouble in run(&sheet, case) {
                troubles.push(format!("{name}, line {}: {}: {trouble}", case.line, case.title));
            }
        }
    }
    assert!(troubles.is_empty(), "{} of {count} cases:\n{}", troubles.len(), troubles.join("\n"));
    assert!(count > 100, "only {count} cases were read");
}

#[test]
fn every_sheet_of_the_library_has_cases_with_a_source() {
    let files = case_files();
    let bare: Vec<&str> = SHELVED
        .iter()
        .map(|sheet| sheet.name)
        .filter(|name| {
            !files.iter().any(|(file, cases)| {
                file == name
                    && !cases.is_empty()
                    && cases.iter().all(|case| !case.source.is_empty())
            })
        })
        .collect();
    assert_eq!(bare, Vec::<&str>::new());
}

#[test]
fn every_sheet_of_the_library_is_without_problems_and_works_its_own_example() {
    let mut troubles = Vec::new();
    for shelved in SHELVED {
        let sheet = match Sheet::library(shelved.name) {
            Ok(sheet) => sheet,
            Err(problems) => {
                troubles.extend(problems.iter().map(ToString::to_string));
                continue;
            }
        };
        troubles.extend(sheet.cautions().iter().map(ToString::to_string));
        let mut inputs = sheet.inputs();
        inputs.fill_with_examples();
        match sheet.run(&inputs) {
            Ok(results) if results.holds() => {}
            Ok(results) => {
                troubles.push(format!("{}: {}", shelved.name, results.verdict_in_words()))
            }
            Err(problems) => troubles
                .extend(problems.iter().map(|problem| format!("{}: {problem}", shelved.name))),
        }
    }
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
}

/// Everything about a case that is not as it says.
fn run(sheet: &Sheet, case: &Case) -> Vec<String> {
    let mut inputs = sheet.inputs();
    let mut troubles = Vec::new();
    let wanted_error = case.expectations.iter().find_map(|expectation| match expectation {
        Expectation::Error(name) => Some(name.as_str()),
        _ => None,
    });
    let mut problems = Vec::new();
    for (name, value) in &case.inputs {
        if let Err(found) = inputs.write(name, value) {
            problems.extend(found);
        }
    }
    inputs.fill_with_examples();
    let results = if problems.is_empty() { sheet.run(&inputs) } else { Err(problems.into()) };
    let results = match (results, wanted_error) {
        (Err(problems), Some(name)) => {
            if !problems.iter().any(|problem| problem.name.word() == name) {
                troubles.push(format!("must end in {name}, ends in {}", problems[0]));
            }
            return troubles;
        }
        (Ok(_), Some(name)) => return vec![format!("must end in {name}, and runs")],
        (Err(problems), None) => return problems.iter().map(ToString::to_string).collect(),
        (Ok(results), None) => results,
    };
    let mut must_fail: Vec<&str> = Vec::new();
    for expectation in &case.expectations {
        match expectation {
            Expectation::Fails(text) => must_fail.push(text),
            Expectation::Gives { name, value, tolerance } => {
                let Some(output) =
                    sheet.program().outputs.iter().find(|output| output.name == *name)
                else {
                    troubles.push(format!("gives no `{name}`"));
                    continue;
                };
                let found = match results.slot(output) {
                    Some(Slot::One(value)) => vec![*value],
                    Some(Slot::Many(values)) => values.clone(),
                    other => {
                        troubles.push(format!("`{name}` is {other:?}"));
                        continue;
                    }
                };
                let kinds = |text: &str| -> Literal {
                    let (digits, ten, unit) = split_quantity(text).unwrap();
                    let Type::Number { dimension, .. } = output.type_ else {
                        panic!("{name} is no number")
                    };
                    let unit = if unit.is_empty() {
                        standstill::unit::Unit::one()
                    } else {
                        standstill::unit::kinds_of(dimension)
                            .into_iter()
                            .find_map(|kind| kind.read_unit(unit).ok())
                            .or_else(|| standstill::unit::parse_unit(unit).ok())
                            .unwrap_or_else(|| panic!("`{unit}` is no unit of `{name}`"))
                    };
                    Literal::new(digits, ten, unit)
                };
                let separator = if value.contains(';') { ';' } else { ',' };
                let wanted: Vec<&str> = value.split(separator).collect();
                if wanted.len() != found.len() {
                    troubles.push(format!(
                        "`{name}` has {} values, {} are wanted",
                        found.len(),
                        wanted.len()
                    ));
                    continue;
                }
                for (found, wanted) in found.iter().zip(wanted) {
                    let wanted = Exact::from_literal(&kinds(wanted)).unwrap();
                    let difference = found.minus(&wanted).unwrap().absolute().to_f64();
                    let allowed = match tolerance.trim().split_once(' ') {
                        Some(_) => {
                            let tolerance = kinds(tolerance);
                            let plain = standstill::unit::Unit {
                                zero: rust_decimal::Decimal::ZERO,
                                ..tolerance.unit.clone()
                            };
                            Exact::from_literal(&Literal::new(
                                tolerance.digits,
                                tolerance.ten,
                                plain,
                            ))
                            .unwrap()
                            .to_f64()
                        }
                        None => {
                            tolerance.trim().parse::<f64>().unwrap() * wanted.absolute().to_f64()
                        }
                    };
                    // the written tolerance is a decimal: its own rounding is forgiven
                    if difference > allowed * (1.0 + 1e-9) {
                        troubles.push(format!(
                            "`{name}` = {}, wanted {value} within {tolerance}",
                            results.in_words(output)
                        ));
                    }
                }
            }
            Expectation::Error(_) => {}
        }
    }
    for check in results.checks() {
        let wanted = must_fail.contains(&check.text.as_str());
        match (check.verdict, wanted) {
            (Verdict::Fails, false) => {
                troubles.push(format!("the check \"{}\" fails: {:?}", check.text, check.margin))
            }
            (Verdict::Holds, true)
                if !results
                    .checks()
                    .iter()
                    .any(|other| other.text == check.text && other.verdict != Verdict::Holds) =>
            {
                troubles.push(format!("the check \"{}\" must fail and holds", check.text));
            }
            _ => {}
        }
    }
    for text in must_fail {
        if !results.checks().iter().any(|check| check.text == text) {
            troubles.push(format!("there is no check \"{text}\""));
        }
    }
    troubles
}
