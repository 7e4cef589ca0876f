//! Sheets that carry their own expectation.
//!
//! `problems/`: above a line stands `#! COLUMN NAME "words"` for each problem that must be found on it;
//! no other problem may occur. `#! run` runs the sheet on its examples, `#! run a = 3 m; b = 2` on other
//! values. `works/`: nothing may be found, and `#= RESULT VALUE` says what a result must read.

mod expectation;
mod numbers;
mod slips;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use expectation::{Expectation, Wanted};
use standstill::calculation::{Inputs, Results};
use standstill::diagnostic::{
    ALL_NAMES, Diagnostic, Name, Place, Source, put_in_order, render_json, render_line, render_long,
};
use standstill::environment::Environment;
use standstill::program::{Checked, compile};
use standstill::project::Project;

/// The files of one folder, by their names alone: no path of the machine gets into a message.
pub(crate) struct Beside(pub(crate) PathBuf);

impl Environment for Beside {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        fs::read(self.0.join(path)).map_err(|_| {
            Diagnostic::error(Name::UnreadableFile, "there is no such file")
                .at(Place::File { name: path.display().to_string() })
        })
    }

    fn replace(&self, path: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        Err(Diagnostic::error(Name::UnwritableFile, "the tests write no files")
            .at(Place::File { name: path.display().to_string() }))
    }
}

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/language").join(name)
}

fn sheets(name: &str) -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = fs::read_dir(folder(name))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "sheet"))
        .map(|path| {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            (name, fs::read_to_string(&path).unwrap())
        })
        .collect();
    files.sort();
    files
}

fn check(folder_name: &str, file: &str, text: &str) -> Checked {
    let source = Source::new(format!("{file}.sheet"), text);
    compile(&source, &Project::new(&Beside(folder(folder_name))))
}

/// Everything that is found: by checking, and by running where the sheet asks for it.
fn found(file: &str, text: &str, wanted: &Wanted) -> Vec<Diagnostic> {
    let checked = check("problems", file, text);
    let mut problems = checked.problems;
    if let (Some(program), Some(values)) = (&checked.program, &wanted.run) {
        let mut inputs = Inputs::new(program);
        for (name, value) in values {
            inputs.write(name, value).unwrap_or_else(|problems| panic!("{file}: {problems:?}"));
        }
        inputs.fill_with_examples();
        problems.extend(Results::compute(program, &inputs).err().unwrap_or_default());
    }
    put_in_order(&mut problems);
    problems
}

fn place_of(problem: &Diagnostic) -> (usize, usize) {
    match &problem.place {
        Some(Place::Text { source, span }) => source.line_and_column(span.0),
        _ => (0, 0),
    }
}

#[test]
fn every_problem_stands_where_it_is_expected_and_no_other_occurs() {
    let mut troubles = Vec::new();
    for (file, text) in sheets("problems") {
        let wanted = expectation::read(&text);
        let problems = found(&file, &text, &wanted);
        let mut left: Vec<&Diagnostic> = problems.iter().collect();
        for Expectation { line, column, name, words } in &wanted.problems {
            let at = left.iter().position(|problem| {
                place_of(problem) == (*line, *column)
                    && problem.name.word() == name
                    && render_line(problem).contains(words.as_str())
            });
            match at {
                Some(at) => drop(left.remove(at)),
                None => troubles.push(format!(
                    "{file}.sheet:{line}:{column}: {name} \"{words}\" was not found"
                )),
            }
        }
        troubles.extend(left.iter().map(|problem| format!("not expected: {problem}")));
    }
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
}

#[test]
fn every_name_that_belongs_to_a_sheet_has_its_own_file() {
    let of_sheets = |name: Name| {
        (Name::UnreadableLine..=Name::PercentAsNumber).contains(&name)
            || (Name::DividedByZero..=Name::BadStep).contains(&name)
    };
    let files: BTreeSet<String> = sheets("problems")
        .into_iter()
        .filter(|(file, text)| {
            expectation::read(text).problems.iter().any(|wanted| wanted.name == *file)
        })
        .map(|(file, _)| file)
        .collect();
    let missing: Vec<&str> = ALL_NAMES
        .iter()
        .filter(|entry| of_sheets(entry.name) && !files.contains(entry.word))
        .map(|entry| entry.word)
        .collect();
    assert_eq!(missing, Vec::<&str>::new());
}

#[test]
fn every_rendering_is_as_it_was_read_and_accepted() {
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        for (file, text) in sheets("problems") {
            let problems = found(&file, &text, &expectation::read(&text));
            let long: String = problems.iter().map(|problem| render_long(problem) + "\n").collect();
            let lines: String = problems.iter().map(|problem| render_line(problem) + "\n").collect();
            insta::assert_snapshot!(file.as_str(), format!("{long}{lines}"));
        }
    });
}

#[test]
fn the_form_for_programs_drops_no_part() {
    let text = fs::read_to_string(folder("problems/several.sheet")).unwrap();
    let problems = found("several", &text, &expectation::read(&text));
    let json: Vec<serde_json::Value> = problems.iter().map(render_json).collect();
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("several-json", serde_json::to_string_pretty(&json).unwrap());
    });
    for (problem, json) in problems.iter().zip(&json) {
        let whole = json.to_string();
        for part in [&problem.headline, &problem.words, &problem.remedy]
            .into_iter()
            .chain(problem.labels.iter().map(|label| &label.words))
        {
            let quoted = serde_json::to_string(part).unwrap();
            assert!(whole.contains(&quoted), "{whole} lacks {quoted}");
            assert!(render_line(problem).contains(part.as_str()));
            assert!(render_long(problem).contains(part.as_str()));
        }
    }
}

#[test]
fn what_is_written_as_the_language_says_is_read_and_gives_its_results() {
    let mut troubles = Vec::new();
    for (file, text) in sheets("works") {
        let checked = check("works", &file, &text);
        troubles.extend(checked.problems.iter().map(ToString::to_string));
        let Some(program) = checked.program else { continue };
        let wanted = expectation::read(&text);
        let results = match run(&program, wanted.run.as_deref().unwrap_or_default()) {
            Ok(results) => results,
            Err(problems) => {
                troubles.extend(problems.iter().map(ToString::to_string));
                continue;
            }
        };
        assert!(!wanted.results.is_empty(), "{file}.sheet expects no result");
        for (name, value) in &wanted.results {
            let output = program
                .outputs
                .iter()
                .find(|output| output.name == *name)
                .unwrap_or_else(|| panic!("{file}.sheet gives no {name}"));
            let printed = results.to_text(output);
            if printed != *value {
                troubles.push(format!("{file}.sheet: {name} is {printed}, expected {value}"));
            }
        }
        if !results.holds() {
            troubles.push(format!("{file}.sheet: a check fails"));
        }
    }
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
}

#[test]
fn the_rows_of_a_table_may_stand_in_a_workbook() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = rust_xlsxwriter::Workbook::new();
    let tab = book.add_worksheet().set_name("Curve").unwrap();
    for (row, (speed, torque)) in [(0.0, 12.0), (750.0, 9.5), (1500.0, 9.0)].into_iter().enumerate()
    {
        let row = u32::try_from(row).unwrap() + 1;
        tab.write(row, 0, speed).unwrap().write(row, 1, torque).unwrap();
    }
    book.save(folder.path().join("Motor.xlsx")).unwrap();
    let text = "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n  n : speed of rotation in r/min from 0 r/min like 375 r/min\nworks\n  \
        table T (n : speed of rotation in r/min) : torque in N·m, straight, in \"Motor.xlsx\" at Curve!A2:B4\n  \
        T_n = T(n)\ngives\n  T_n in N·m\n";
    let environment = Beside(folder.path().to_owned());
    let source = Source::new("s.sheet", text);
    let checked = compile(&source, &Project::new(&environment));
    assert_eq!(checked.problems, vec![]);
    let program = checked.program.unwrap();
    let results = run(&program, &[]).unwrap();
    // halfway between 12 and 9.5
    assert_eq!(results.to_text(&program.outputs[0]), "10.75 N·m");
}

fn run(
    program: &Arc<standstill::program::Program>,
    values: &[(String, String)],
) -> Result<Results, standstill::Problems> {
    let mut inputs = Inputs::new(program);
    for (name, value) in values {
        inputs.write(name, value)?;
    }
    inputs.fill_with_examples();
    Results::compute(program, &inputs)
}
