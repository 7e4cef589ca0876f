//! A point with three digits behind it may part thousands: asked at every door where a person types a number, and
//! both answers of the remedy are taken.

use std::fs;

use super::standstill;

/// What a door says of a torque of friction that is typed there: whether it asks, and what it prints.
type Door = fn(&std::path::Path, &str) -> (bool, String);

fn outcome(output: &std::process::Output) -> (bool, String) {
    let printed =
        [&output.stdout, &output.stderr].map(|it| String::from_utf8_lossy(it).into_owned());
    let printed = printed.concat();
    let asks = ["error unreadable-quantity", "error text-for-number"];
    (asks.iter().any(|name| printed.contains(name)), printed)
}

fn terminal(folder: &std::path::Path, number: &str) -> (bool, String) {
    let torque = format!("T_0={number} N·m");
    outcome(&standstill(folder, &["run", "run-down", "J=2 kg·m²", "n_0=1500 r/min", &torque]))
}

fn text_of_cells(folder: &std::path::Path, number: &str) -> (bool, String) {
    let rows =
        format!("name,J / (kg·m²),n_0 / (r/min),T_0 / (N·m),t_stop / s\nA,2,1500,{number},\n");
    fs::write(folder.join("line.csv"), rows).unwrap();
    outcome(&standstill(folder, &["range", "line.csv", "run-down", "-o", "out.csv", "--force"]))
}

fn bind_file(folder: &std::path::Path, number: &str) -> (bool, String) {
    fs::write(folder.join("book.csv"), "2,kg·m²\n1500,r/min\n").unwrap();
    let lines = format!(
        "sheet run-down\n  J from A1 unit B1\n  n_0 from A2 unit B2\n  T_0 = {number} N·m\n  t_stop to A3 in s\n"
    );
    fs::write(folder.join("book.bind"), lines).unwrap();
    outcome(&standstill(folder, &["run", "run-down", "--from", "book.csv", "--bind", "book.bind"]))
}

#[test]
fn a_point_that_may_part_thousands_is_asked_at_every_door() {
    let folder = tempfile::tempdir().unwrap();
    let doors: [(&str, Door); 3] =
        [("terminal", terminal), (".csv", text_of_cells), ("bind file", bind_file)];
    for (door, typed) in doors {
        for (number, either, or) in [
            ("1.450", "1450", "1.45"),
            ("4.125", "4125", "4.1250"),
            ("12.500", "12500", "12.5"),
            ("100.000", "100000", "100"),
        ] {
            let (asks, printed) = typed(folder.path(), number);
            assert!(asks && printed.contains(number), "{door} {number}: {printed}");
            for answer in [either, or] {
                assert!(printed.contains(answer), "{door} {number} {answer}: {printed}");
                let (asks, printed) = typed(folder.path(), answer);
                assert!(!asks && !printed.contains("error "), "{door} {answer}: {printed}");
            }
        }
        for number in ["0.321", "1450.125", "1.45", "1.4500", "1.450e0", "1450"] {
            let (asks, printed) = typed(folder.path(), number);
            assert!(!asks && !printed.contains("error "), "{door} {number}: {printed}");
        }
    }
}
