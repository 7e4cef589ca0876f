//! A series is read to its end and in one unit, and a value has one unit wherever it is written: what would be
//! passed over is an error in its cell.

use std::fs;
use std::process::Command;

/// The exit code and the messages of a command on a `.csv`.
fn output_text(command: &[&str], text: &str) -> (Option<i32>, String) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.csv"), text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(command)
        .current_dir(folder.path())
        .output()
        .unwrap();
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    if words.contains("Nothing was written") {
        assert_eq!(fs::read_to_string(folder.path().join("a.csv")).unwrap(), text, "{words}");
    }
    (output.status.code(), words)
}

fn fill(text: &str) -> (Option<i32>, String) {
    output_text(&["fill", "a.csv", "-o", "out.xlsx"], text)
}

/// A block of measured stops whose series stands last, with `between` in its middle.
fn stops(between: &str) -> String {
    let before = "312\n,318\n,309\n,321\n,315\n,311".replacen('\n', ",ms\n", 1);
    let after = ",317\n,390\n,314\n,316\n,330\n,313\n";
    format!("sheet measured-stops\nu,2,ms\nt_stop,,ms\nt_k,{before}\n{between}{after}")
}

#[test]
fn values_below_a_gap_of_a_series_are_never_passed_over() {
    let (code, words) = fill(&stops(""));
    assert_eq!(code, Some(0), "{words}");
    let gaps = [
        (",,\n", 11),
        (",,\n,,\n", 12),
        (",,\n,,\n,,\n", 13),
        ("second day,,\n", 11),
        (",,\nsecond day,,\n", 12),
        (",spoilt,\n", 11),
    ];
    for (gap, row) in gaps {
        let (code, words) = fill(&stops(gap));
        assert_eq!(code, Some(2), "{gap:?}: {words}");
        let said = format!("the series `t_k` ends in row 9, and values go on in row {row}");
        assert!(words.contains(&said), "{gap:?}: {words}");
        assert!(words.contains(&format!("B{row}")), "{gap:?}: {words}");
    }
    // a row with a name of its own is not of the series
    let (code, words) = fill(&(stops("") + ",,\n,,\nMean,316,ms\n"));
    assert_eq!(code, Some(0), "{words}");
}

#[test]
fn the_unit_beside_a_later_value_of_a_series_is_that_of_the_series() {
    let (code, words) = fill(&stops(",315,ms\n"));
    assert_eq!(code, Some(0), "{words}");
    for (row, said) in
        [(",0.321,s\n", "s"), (",0.321,sec\n", "sec"), (",321,s (by hand)\n", "s (by hand)")]
    {
        let (code, words) = fill(&stops(row));
        assert_eq!(code, Some(2), "{row:?}: {words}");
        assert!(words.starts_with("error two-statements: "), "{row:?}: {words}");
        assert!(
            words.contains(&format!("is in ms, and beside this value stands \"{said}\"")),
            "{words}"
        );
        assert!(words.contains("B10") || words.contains("C10"), "{row:?}: {words}");
    }
}

#[test]
fn a_value_with_its_tolerance_is_in_the_unit_beside_it() {
    let stop = |inertia: &str, speed: &str| {
        format!("sheet run-down\nJ,{inertia},kg·m²\nn_0,{speed},r/min\nT_0,1.6,N·m\nt_stop,,s\n")
    };
    let (code, words) = fill(&stop("0.35 kg·m² ± 5 %", "1450 r/min ± 10 r/min"));
    assert_eq!(code, Some(0), "{words}");
    let wrong = [
        ("0.35 kg·cm² ± 5 %", "1450", "`J` has two units: kg·cm² and kg·m²"),
        ("0.35", "24 rad/s ± 1 rad/s", "`n_0` has two units: rad/s and r/min"),
        ("0.35", "from 20 rad/s to 24 rad/s", "`n_0` has two units: rad/s and r/min"),
    ];
    for (inertia, speed, said) in wrong {
        let (code, words) = fill(&stop(inertia, speed));
        assert_eq!(code, Some(2), "{inertia} {speed}: {words}");
        assert!(words.starts_with(&format!("error unit-mismatch: {said}")), "{words}");
    }
    let table = "sheet run-down\nn_0,1450,r/min\n\nid,J in kg·m²,T_0 / (N·m),t_stop / s,status\nA,100 kg·cm² ± 5 %,1.6,,\n";
    let (code, words) = output_text(&["range", "a.csv"], table);
    assert_eq!(code, Some(2), "{words}");
    assert!(
        words.contains("`J` has two units: kg·cm² and kg·m²") && words.contains("B5"),
        "{words}"
    );
}

#[test]
fn a_row_of_a_text_with_more_values_than_headings_is_an_error_at_the_row() {
    let table =
        |head: &str, rows: &str| format!("sheet run-down\nn_0,1450,r/min\n\n{head}\n{rows}");
    let bare = "id,J in kg·m²,T_0 / (N·m)";
    let with_results = "id,J in kg·m²,T_0 / (N·m),t_stop / s,status";
    for command in [["range", "a.csv"].as_slice(), &["range", "a.csv", "--decimal-comma"]] {
        for (head, row, said) in [
            (bare, "A,1,5,1,6", "row 5 has 5 values, and 3 headings stand above"),
            (with_results, "A,0,01,1,6,,", "row 5 has 7 values, and 5 headings stand above"),
        ] {
            let (code, words) = output_text(command, &table(head, &format!("{row}\nB,1,2\n")));
            assert_eq!(code, Some(2), "{row}: {words}");
            assert!(words.contains(said), "{row}: {words}");
        }
    }
    let (code, words) = output_text(&["range", "a.csv"], &table(bare, "A,0.01,1.6\n"));
    assert_eq!(code, Some(0), "{words}");
    // the remedy, typed
    let text = "sheet run-down\nn_0;1450;r/min\n\nid;J in kg·m²;T_0 / (N·m)\nA;1,5;1,6\n";
    let (code, words) = output_text(&["range", "a.csv", "--decimal-comma"], text);
    assert_eq!(code, Some(0), "{words}");
}

#[test]
fn a_quote_left_open_is_a_problem_of_the_file_at_its_cell() {
    let head = "sheet run-down\nn_0,1450,r/min\n\nid,J in kg·m²,T_0 / (N·m),t_stop / s,status\n";
    let (code, words) =
        output_text(&["range", "a.csv"], &format!("{head}A,\"0.01,1.6,,\nB,0.02,1.6,,\n"));
    assert_eq!(code, Some(4), "{words}");
    assert!(words.contains("the quote before B5 is opened and not closed"), "{words}");
    let (_, words) = fill("sheet run-down\nJ,\"0.01,kg·m²\nn_0,1450,r/min\n");
    assert!(words.contains("the quote before B2 is opened and not closed"), "{words}");
}
