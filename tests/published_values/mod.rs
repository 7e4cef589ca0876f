//! Every sheet against figures from outside: a `.cases` file a sheet, each case with its source.
//!
//! A case gives inputs (those left out take their default, else the sheet's example) and says what must
//! come out, within which tolerance, which checks must fail, or in which problem the run must end.

mod credit;
mod unit_factors;

use std::fs;
use std::path::Path;

use standstill::Sheet;
use standstill::calculation::Cases;
use standstill::diagnostic::Source;
use standstill::library::SHEETS;

/// The files of cases, in the order of their sheets.
pub(crate) fn case_files() -> Vec<Cases> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published_values");
    let mut files: Vec<Cases> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "cases"))
        .map(|path| {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            let source = Source::new(format!("{name}.cases"), fs::read_to_string(&path).unwrap());
            let (cases, problems) = Cases::read(&source);
            assert!(problems.is_empty(), "{problems:?}");
            assert_eq!(cases.sheet, name, "the file is named after its sheet");
            cases
        })
        .collect();
    files.sort_by(|a, b| a.sheet.cmp(&b.sheet));
    files
}

#[test]
fn every_sheet_agrees_with_its_published_and_independent_figures() {
    let mut troubles = Vec::new();
    let mut count = 0;
    for file in case_files() {
        let sheet = match Sheet::library(&file.sheet) {
            Ok(sheet) => sheet,
            Err(problems) => {
                troubles.push(format!("{}: {problems}", file.sheet));
                continue;
            }
        };
        for case in &file.cases {
            count += 1;
            troubles.extend(case.run(sheet.program()).iter().map(ToString::to_string));
        }
    }
    assert!(troubles.is_empty(), "{} of {count} cases:\n{}", troubles.len(), troubles.join("\n"));
    assert!(count > 100, "only {count} cases were read");
}

#[test]
fn every_sheet_of_the_library_has_cases_with_a_source() {
    let files = case_files();
    let bare: Vec<&str> = SHEETS
        .iter()
        .map(|sheet| sheet.name)
        .filter(|name| {
            !files.iter().any(|file| {
                file.sheet == *name
                    && !file.cases.is_empty()
                    && file.cases.iter().all(|case| !case.source.is_empty())
            })
        })
        .collect();
    assert_eq!(bare, Vec::<&str>::new());
}

#[test]
fn every_sheet_of_the_library_is_without_problems_and_works_its_own_example() {
    let mut troubles = Vec::new();
    for shelved in SHEETS {
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
            Ok(results) => troubles.push(format!("{}: {}", shelved.name, results.verdict_text())),
            Err(problems) => troubles
                .extend(problems.iter().map(|problem| format!("{}: {problem}", shelved.name))),
        }
    }
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
}
