//! The same inputs give the same figures, whatever else runs at the same time.

use std::thread;

use standstill::Sheet;
use standstill::library::SHEETS;

/// Every result, every margin and every verdict of a sheet's example, as text with all certain digits; or the
/// problems it ends in.
fn output_text(name: &str) -> String {
    let sheet = Sheet::library(name).unwrap();
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    match sheet.run(&inputs) {
        Ok(results) => {
            let figures: Vec<String> = sheet
                .program()
                .outputs
                .iter()
                .map(|output| results.output_json(output).to_string())
                .collect();
            format!("{figures:?} {:?}", results.checks())
        }
        Err(problems) => problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"),
    }
}

#[test]
fn every_thread_and_every_run_reports_the_same() {
    let all = || SHEETS.iter().map(|sheet| output_text(sheet.name)).collect::<Vec<_>>();
    let first = all();
    let others = thread::scope(|scope| {
        let runs: Vec<_> = (0..3).map(|_| scope.spawn(all)).collect();
        runs.into_iter().map(|run| run.join().unwrap()).collect::<Vec<_>>()
    });
    for other in others {
        for ((sheet, a), b) in SHEETS.iter().zip(&first).zip(&other) {
            assert_eq!(a, b, "{}", sheet.name);
        }
    }
}

#[test]
fn a_fault_is_a_fault_every_time() {
    let text = "sheet fan\ntitle \"t\"\nsource \"s\"\ntakes\n  T_1 : torque in N·m from 0 N·m\n  n : speed of rotation in r/min above 0 r/min\nworks\n  c = T_1 / n^2\n  n_c = sqrt(1 N·m / c)\ngives\n  n_c in r/min\n";
    for _ in 0..300 {
        let sheet = Sheet::parse("fan.sheet", text).unwrap();
        let mut inputs = sheet.inputs();
        inputs.write("T_1", "0 N·m").unwrap();
        inputs.write("n", "725 r/min").unwrap();
        assert_eq!(sheet.run(&inputs).unwrap_err()[0].name.word(), "divided-by-zero");
    }
}
