//! The doors through which another program comes in: each checks name, kind, unit, count and range.

use standstill::{Problems, Sheet};
use uom::si::angular_velocity::radian_per_second;
use uom::si::f64::{AngularVelocity, Length, MomentOfInertia, Time, Torque};
use uom::si::length::meter;
use uom::si::moment_of_inertia::kilogram_square_meter;
use uom::si::time::{millisecond, second};
use uom::si::torque::newton_meter;

fn names(problems: &Problems) -> Vec<&'static str> {
    problems.iter().map(|problem| problem.name.word()).collect()
}

fn stops() -> Sheet {
    let text = "sheet stops\ntitle \"Stops\"\nsource \"a test\"\ntakes\n  \
                t : series of time in ms above 0 ms\n  k : count from 1 to 9 = 2\n  \
                m : one of quick, slow = quick\n\
                works\n  t_mean = mean(t) * k\n  \
                f = when m is quick : 1\n      when m is slow : 2\n  \
                both = f * t_mean\n  twice = 2 * t\ngives\n  both in ms\n  twice in ms\n";
    Sheet::parse("stops.sheet", text).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn rows_equal_single_runs() {
    let sheet = Sheet::library("run-down").unwrap();
    let inertia = [0.5, 1.0, 2.0, -1.0];
    let mut rows = sheet.rows();
    rows.column("J", &inertia, "kg·m²").unwrap();
    rows.write("n_0", "1500 r/min").unwrap().write("T_0", "4 N·m").unwrap();
    let results = rows.run().unwrap();
    let seconds = results.numbers("t_stop").unwrap();
    let quantities: Vec<Time> = results.get("t_stop").unwrap();
    for (row, inertia) in inertia.into_iter().enumerate() {
        let mut inputs = sheet.inputs();
        inputs.set("J", MomentOfInertia::new::<kilogram_square_meter>(inertia)).unwrap();
        inputs.write("n_0", "1500 r/min").unwrap();
        inputs.write("T_0", "4 N·m").unwrap();
        match sheet.run(&inputs) {
            Ok(alone) => {
                let expected = alone.get::<uom::si::time::Dimension>("t_stop").unwrap();
                let expected = expected.get::<second>();
                // columns promise 1e-9
                assert!((quantities[row].get::<second>() / expected - 1.0).abs() < 1e-9);
                assert!((seconds[row] / expected - 1.0).abs() < 1e-9);
                assert_eq!(results.holds()[row], alone.holds());
            }
            Err(problems) => {
                assert!(seconds[row].is_nan() && !results.holds()[row]);
                assert_eq!(names(&results.problems()[&row]), names(&problems));
            }
        }
    }
    assert_eq!(results.problems().len(), 1);
}

#[test]
fn every_door_of_rows_checks() {
    let sheet = Sheet::library("run-down").unwrap();
    let mut rows = sheet.rows();
    let wrong = |outcome: Result<&mut standstill::Rows, Problems>, expected: &str| {
        assert_eq!(names(&outcome.map(|_| ()).unwrap_err()), [expected]);
    };
    wrong(rows.column("JJ", &[1.0], "kg·m²"), "unknown-input");
    wrong(rows.column("J", &[1.0], "N·m"), "unit-mismatch");
    wrong(rows.column("J", &[1.0], ""), "missing-unit");
    wrong(rows.column("J", &[f64::INFINITY], "kg·m²"), "unreadable-quantity");
    wrong(rows.quantities("J", &[Length::new::<meter>(1.0)]), "unit-mismatch");
    wrong(rows.words("J", &["1 N·m"]), "unit-mismatch");
    rows.column("J", &[1.0, 2.0], "kg·m²").unwrap();
    wrong(rows.column("J", &[1.0, 2.0], "kg·m²"), "two-statements");
    wrong(rows.write("J", "1 kg·m²"), "two-statements");
    assert_eq!(names(&rows.run().map(|_| ()).unwrap_err()), ["missing-input", "missing-input"]);
    rows.quantities("n_0", &[AngularVelocity::new::<radian_per_second>(1.0)]).unwrap();
    rows.set("T_0", Torque::new::<newton_meter>(4.0)).unwrap();
    assert_eq!(names(&rows.run().map(|_| ()).unwrap_err()), ["lengths-differ"]);
}

#[test]
fn counts_words_and_missing_numbers_of_rows_are_reported_by_row() {
    let sheet = stops();
    let mut rows = sheet.rows();
    rows.write("t", "10 ms, 30 ms").unwrap();
    let broken = rows.column("k", &[1.0, 2.5, 3.5], "").map(|_| ()).unwrap_err();
    assert_eq!(names(&broken), ["not-whole", "not-whole"]);
    let unknown = rows.words("m", &["quick", "fast", "slow"]).map(|_| ()).unwrap_err();
    assert_eq!(names(&unknown), ["unknown-word"]);
    assert!(unknown.to_string().contains("row 1"), "{unknown}");
    rows.words("m", &["quick", "slow", "slow"]).unwrap();
    rows.column("k", &[1.0, f64::NAN, 12.0], "").unwrap();
    let results = rows.run().unwrap();
    // mean 20 ms
    assert_eq!(results.numbers("both").unwrap()[0], 20.0);
    assert_eq!(names(&results.problems()[&1]), ["missing-input"]);
    assert_eq!(names(&results.problems()[&2]), ["out-of-range"]);
    assert_eq!(names(&results.numbers("twice").unwrap_err()), ["series-for-number"]);
    assert_eq!(names(&results.numbers("thrice").unwrap_err()), ["unknown-name"]);
}

#[test]
fn series_go_in_and_out_typed() {
    let sheet = stops();
    let mut inputs = sheet.inputs();
    let stops = [312.0, 318.0].map(Time::new::<millisecond>);
    inputs.set_series("t", &stops).unwrap();
    let results = sheet.run(&inputs).unwrap();
    let twice: Vec<Time> = results.get_series("twice").unwrap();
    let twice: Vec<f64> = twice.iter().map(|one| one.get::<millisecond>().round()).collect();
    assert_eq!(twice, [624.0, 636.0]);
    let wrong = |outcome: Result<(), Problems>, expected: &str| {
        assert_eq!(names(&outcome.unwrap_err()), [expected]);
    };
    wrong(inputs.set("t", stops[0]), "series-for-number");
    wrong(inputs.set_series("k", &stops), "unit-mismatch");
    wrong(inputs.set_series("t", &stops[..0]), "missing-input");
    wrong(inputs.set_series("t", &[Time::new::<second>(f64::NAN)]), "unreadable-quantity");
    assert_eq!(
        names(&results.get_series::<uom::si::time::Dimension>("both").unwrap_err()),
        ["series-for-number"]
    );
    assert_eq!(
        names(&results.get_series::<uom::si::length::Dimension>("twice").unwrap_err()),
        ["unit-mismatch"]
    );
}

/// A sheet and what it gives may go to another thread; a compile-time promise.
#[test]
fn sheets_and_results_are_shared_between_threads() {
    fn shared<T: Send + Sync>() {}
    shared::<Sheet>();
    shared::<standstill::Inputs>();
    shared::<standstill::Results>();
    shared::<standstill::Rows>();
    shared::<standstill::RowResults>();
    shared::<Problems>();
}
