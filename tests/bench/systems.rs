//! One calculation on each number system, beside one row in f64.

use std::sync::Arc;

use standstill::calculation::{Results, Sensitivities, WorstCase};
use standstill::number::{ColumnInput, Columns, run_exact};

use crate::columns::SUBJECTS;
use crate::measure::{median, seconds};

/// Seconds of one calculation of `safe-stop` with drag: f64 within a long run, exact decimals, worst case,
/// slopes.
pub(crate) struct Systems {
    pub(crate) f64_row: f64,
    pub(crate) exact: f64,
    pub(crate) bounds: f64,
    pub(crate) slopes: f64,
    pub(crate) inputs: usize,
}

pub(crate) fn measure() -> Systems {
    let subject = SUBJECTS.last().expect("a subject");
    let rows = 100_000;
    let line = subject.line(rows);
    let given = line.given();
    let ready = Columns::new(line.program(), &given);
    let row = standstill::number::inputs_of_row(&given, 0).expect("a row");
    let program = Arc::clone(line.sheet.program());
    let mut inputs = line.inputs_of(&row);
    let middle = |mut work: &mut dyn FnMut()| median((0..9).map(|_| seconds(&mut work)).collect());
    let f64_row = middle(&mut || drop(ready.run(&program, &given, rows, 1))) / rows as f64;
    let exact = middle(&mut || drop(run_exact(&program, &row)));
    let whole = middle(&mut || drop(Results::compute(&program, &inputs)));
    let slopes = middle(&mut || drop(Sensitivities::compute(&program, &inputs))) - whole;
    for (at, input) in given.iter().enumerate() {
        if matches!(input, ColumnInput::Column { .. }) {
            let place = program.inputs[at].place.clone();
            // a value of zero has no percentage
            drop(inputs.tolerate(&program.inputs[at].name, "± 1 %", &place));
        }
    }
    let bounds =
        middle(&mut || drop(WorstCase::compute(&program, &inputs).expect("a worst case"))) - whole;
    let inputs = given.iter().filter(|input| matches!(input, ColumnInput::Column { .. })).count();
    Systems { f64_row, exact, bounds, slopes, inputs }
}
