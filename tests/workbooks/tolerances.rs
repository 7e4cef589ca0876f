//! Tolerances in a workbook: in a column of their own, or in the cell as a text.

use standstill::calculation::written;
use standstill::diagnostic::Name;
use standstill::workbook::{Book, Sheets, bind};

struct Library;

impl Sheets for Library {
    fn checked(&self, name: &str) -> Option<standstill::program::Checked> {
        Some(standstill::program::compile(
            &standstill::library::sheet(name)?,
            &standstill::program::EmptyShelf,
        ))
    }

    fn names(&self) -> Vec<String> {
        vec!["run-down".to_owned()]
    }
}

fn ends(rows: &str) -> Result<Vec<String>, Vec<standstill::diagnostic::Diagnostic>> {
    let book =
        Book::read("tolerances.csv", format!("sheet run-down,,,\n{rows}").as_bytes()).unwrap();
    let bound = bind(&book, None, &Library);
    if !bound.problems.is_empty() {
        return Err(bound.problems);
    }
    let request = &bound.requests[0];
    let inputs = &request.program.inputs;
    Ok(inputs
        .iter()
        .filter_map(|input| Some((input, request.inputs.spread(input)?)))
        .map(|(input, spread)| {
            format!(
                "{} {} to {}",
                input.name,
                written(&spread.ends[0].0),
                written(&spread.ends[0].1)
            )
        })
        .collect())
}

#[test]
fn a_tolerance_stands_beside_the_value_or_in_its_cell() {
    let found = ends(
        "J,2,kg·m²,± 5 %\nn_0 / (r/min),1500,from 1450 r/min to 1600 r/min,\nT_0,4 N·m +0 N·m -0.5 N·m,,\nb,0,N·m·s/rad,measured in May\n",
    );
    let wanted =
        ["J 1.9 kg·m² to 2.1 kg·m²", "n_0 1450 r/min to 1600 r/min", "T_0 3.5 N·m to 4 N·m"];
    assert_eq!(found.unwrap(), wanted);
}

#[test]
fn a_tolerance_that_does_not_read_is_an_error_in_its_cell() {
    let problems = ends("J,2,kg·m²,± 5\nn_0,1500,r/min,\nT_0,4,N·m,\n").unwrap_err();
    assert_eq!(problems[0].name, Name::MissingUnit);
    assert!(
        problems[0].place.as_ref().unwrap().in_words().ends_with("D2"),
        "{:?}",
        problems[0].place
    );
}
