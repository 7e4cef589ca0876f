//! The built program, as a person starts it: outputs as they were read and accepted, exit codes.

mod editor;
mod examples;
mod finding;
mod identity;
mod manners;
mod one_line;
mod one_verdict;
mod outputs;
mod own_sheets;
mod questions;
mod remarks;
mod remedies;
mod reports;
mod settings;
mod thousands;
mod worst_and_design;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// Runs the program in a folder of its own, so that no path of the machine gets into its output.
fn standstill(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_standstill")).current_dir(folder).args(words).output().unwrap()
}

/// Exit code, then both outputs, as one text: without the hashes: they change with every word of a sheet of the library.
fn output_text(output: &Output) -> String {
    crate::without_hashes(&format!(
        "exit code {}\n--- output\n{}--- problems\n{}",
        output.status.code().unwrap(),
        String::from_utf8(output.stdout.clone()).unwrap(),
        String::from_utf8(output.stderr.clone()).unwrap()
    ))
}

const GOOD: &str = "sheet stop\ntitle \"A stop\"\nsource \"t = v/a; by hand\"\ncaution \"Only for the tests.\"\ntakes\n  \
    v : speed in m/s above 0 m/s like 2 m/s  \"speed before the stop\"\n  \
    a : acceleration in m/s² from 0 m/s² like 4 m/s²  \"deceleration\"\nworks\n  \
    t = v / a  \"time of the stop\"\nholds\n  \
    t <= 1 s  \"quick enough\"  else \"brake harder\"\n  \
    t <= 0.6 s  \"quick\"  else caution \"could be quicker\"\ngives\n  \
    t in ms rounded up to 10 ms, set in steps of 10 ms from 0 ms to 5 s\n";

const WRONG: &str = "sheet wrong\ntitle \"A wrong sheet\"\nsource \"none\"\ntakes\n  \
    v : speed in m/s above 0 m/s like 2 m/s  \"speed\"\n  \
    m : mass in kg above 0 kg like 2 kg  \"nothing depends on it\"\nworks\n  \
    t = v + 1 s\ngives\n  t in s\n";

const CAUTION: &str = "sheet careless\ntitle \"A careless sheet\"\nsource \"none\"\ntakes\n  \
    v : speed in m/s above 0 m/s like 2 m/s  \"speed\"\n  \
    m : mass in kg above 0 kg like 2 kg  \"nothing depends on it\"\nworks\n  \
    w = 2 * v\ngives\n  w in m/s\n";

/// Name of the snapshot, words, exit code.
const CASES: &[(&str, &[&str], i32)] = &[
    ("run", &["run", "stop.sheet", "v=2 m/s", "a=4 m/s²"], 0),
    ("run-example", &["run", "stop.sheet", "--example"], 0),
    ("run-steps", &["run", "stop.sheet", "--example", "--steps"], 0),
    ("run-json", &["run", "stop.sheet", "--example", "--json"], 0),
    ("run-check-fails", &["run", "stop.sheet", "v=6 m/s", "a=4 m/s²"], 1),
    ("run-caution-only", &["run", "stop.sheet", "v=3 m/s", "a=4 m/s²"], 0),
    ("run-missing-input", &["run", "stop.sheet", "v=2 m/s"], 2),
    ("run-wrong-inputs", &["run", "stop.sheet", "v=2", "a=4 m", "x=3", "nothing"], 2),
    ("run-out-of-range", &["run", "stop.sheet", "v=-2 m/s", "a=4 m/s²"], 2),
    ("run-fault", &["run", "stop.sheet", "v=2 m/s", "a=0 m/s²"], 2),
    ("run-fault-json", &["run", "stop.sheet", "v=2 m/s", "a=0 m/s²", "--json"], 2),
    ("run-wrong-sheet", &["run", "wrong.sheet", "--example"], 3),
    ("run-no-file", &["run", "absent.sheet"], 4),
    ("run-not-a-text", &["run", "binary.sheet"], 4),
    ("run-unknown-sheet", &["run", "run-dwon"], 2),
    ("run-library", &["run", "run-down", "J=2 kg·m²", "n_0=1500 r/min", "T_0=4 N·m"], 0),
    ("list-kinds", &["list", "kinds"], 0),
    ("list-problems", &["list", "problems"], 0),
    ("show", &["show", "stop.sheet"], 0),
    ("show-text", &["show", "stop.sheet", "--text"], 0),
    ("show-json", &["show", "stop.sheet", "--json"], 0),
    ("prove-good", &["prove", "stop.sheet"], 0),
    ("prove-long", &["prove", "wrong.sheet", "stop.sheet"], 3),
    ("prove-line", &["prove", "wrong.sheet", "--form", "line"], 3),
    ("prove-json", &["prove", "wrong.sheet", "--form", "json"], 3),
    ("prove-caution", &["prove", "careless.sheet"], 0),
    ("prove-strict", &["prove", "careless.sheet", "--strict"], 3),
    ("prove-no-file", &["prove", "absent.sheet"], 4),
    ("no-such-command", &["stop"], 2),
];

#[test]
fn every_command_reports_what_was_accepted_and_ends_with_its_code() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("stop", GOOD), ("wrong", WRONG), ("careless", CAUTION)] {
        fs::write(folder.path().join(format!("{name}.sheet")), text).unwrap();
    }
    fs::write(folder.path().join("binary.sheet"), [0xff, 0xfe, 0x00, 0x80]).unwrap();
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        for (name, words, code) in CASES {
            let output = standstill(folder.path(), words);
            insta::assert_snapshot!(*name, output_text(&output));
            assert_eq!(output.status.code(), Some(*code), "{name}");
        }
    });
}

#[test]
fn the_list_names_every_sheet_of_the_library_under_its_step() {
    let folder = tempfile::tempdir().unwrap();
    let output = standstill(folder.path(), &["list"]);
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    for sheet in standstill::library::SHEETS {
        let named = text.lines().any(|line| line.split_whitespace().next() == Some(sheet.name));
        assert!(named, "{} is not listed:\n{text}", sheet.name);
    }
}

const CONVERTS: &str = "sheet converts\ntitle \"t\"\nsource \"s\"\ntakes\n  \
    n : speed of rotation in r/min above 0 r/min like 1450 r/min ± 2 %\n  \
    P : power in kW like 4 kW\nworks\n  T = 9550 * P / n\nholds\n  T > 1 N·m \"x\" else \"y\"\n\
    gives\n  T in N·m\n";

#[test]
fn a_number_that_converts_stops_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    fs::write(file("converts.sheet"), CONVERTS).unwrap();
    fs::write(file("line.csv"), "n / (r/min),P / kW,T / N·m\n1450,4,\n").unwrap();
    fs::write(file("d.md"), "# Press\n\n```sheet converts\nn = 1450 r/min\nP = 4 kW\n```\n")
        .unwrap();
    let mut book = rust_xlsxwriter::Workbook::new();
    let tab = book.add_worksheet();
    tab.write(0, 0, "sheet converts").unwrap();
    for (row, (name, value, unit)) in
        [("n", 1450.0, "r/min"), ("P", 4.0, "kW")].into_iter().enumerate()
    {
        let row = u32::try_from(row).unwrap() + 1;
        tab.write(row, 0, name).unwrap().write(row, 1, value).unwrap().write(row, 2, unit).unwrap();
    }
    tab.write(3, 0, "T").unwrap().write(3, 2, "N·m").unwrap();
    book.save(file("b.xlsx")).unwrap();
    let commands: [&[&str]; 11] = [
        &["run", "converts", "--example"],
        &["run", "converts", "--example", "--worst"],
        &["run", "converts", "--example", "--slopes"],
        &["run", "converts", "--example", "--spread", "100"],
        &["prove", "converts.sheet"],
        &["show", "converts"],
        &["form", "converts", "-o", "form.xlsx"],
        &["fill", "b.xlsx"],
        &["range", "line.csv", "converts"],
        &["review", "d.md"],
        &["design", "converts", "by", "P", "from", "1 kW", "to", "9 kW", "largest", "--example"],
    ];
    for words in commands {
        let output = standstill(folder.path(), words);
        let printed = output_text(&output);
        assert_eq!(output.status.code(), Some(3), "{words:?}: {printed}");
        assert!(printed.contains("hidden-conversion"), "{words:?}: {printed}");
    }
    assert!(!file("form.xlsx").exists());
}

#[test]
fn the_whole_library_is_proved_without_a_caution() {
    let folder = tempfile::tempdir().unwrap();
    let output = standstill(folder.path(), &["prove", "--strict"]);
    let text = output_text(&output);
    assert_eq!(output.status.code(), Some(0), "{text}");
    assert!(text.contains("sheets checked, no problems."), "{text}");
}

#[test]
fn json_is_json_and_nothing_else_is_on_that_output() {
    let folder = tempfile::tempdir().unwrap();
    for words in [
        &["run", "safe-stop", "--example", "--json", "--steps"][..],
        &["show", "safe-stop", "--json"],
        &["list", "--json"],
        &["list", "kinds", "--json"],
        &["run", "safe-stop", "--json"],
    ] {
        let output = standstill(folder.path(), words);
        let read: Result<serde_json::Value, _> = serde_json::from_slice(&output.stdout);
        assert!(read.is_ok(), "{words:?}: {}", output_text(&output));
    }
}

/// By hand: 750 r/min stands in the table with 9.5 mm.
#[test]
fn a_table_in_a_file_says_nothing_that_is_passed_over() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = "sheet curve\ntitle \"Curve\"\nsource \"by hand\"\ntakes\n  n : speed of rotation in r/min\nworks\n  table e (n : speed of rotation in r/min) : length in mm, straight, in \"curve.csv\"\n  x = e(n)\ngives\n  x in mm\n";
    fs::write(folder.path().join("curve.sheet"), sheet).unwrap();
    for (rows, words) in [
        ("n,e\n0,12\n750,9.5\n1500,9\n", ""),
        ("n / (r/min),e / mm\n0,12\n750,9.5\n1500,9\n", ""),
        ("n [r/min],e in mm\n0,12\n750,9.5\n1500,9\n", ""),
        ("n / (r/min),e / m\n0,12\n750,9.5\n1500,9\n", "heads a column in m"),
        ("n / (rad/s),e / mm\n0,12\n750,9.5\n1500,9\n", "heads a column in rad/s"),
        ("n,e (cm)\n0,12\n750,9.5\n1500,9\n", "heads a column in cm"),
        ("n,e\n0,12\n750,9,5\n1500,9\n", "row 3 holds a third value"),
        ("e,n\n0,12\n750,9.5\n1500,9\n", "the argument `n` comes first"),
        ("e / mm,n / (r/min)\n0,12\n750,9.5\n1500,9\n", "the argument `n` comes first"),
        ("l0,500\n750,9.5\n1500,9\n", "row 1 of `curve.csv` does not read as two numbers"),
        ("1O,500\n750,9.5\n1500,9\n", "row 1 of `curve.csv` does not read as two numbers"),
        ("4,2O\n750,9.5\n1500,9\n", "row 1 of `curve.csv` does not read as two numbers"),
        ("4 r/min,2 mm\n750,9.5\n1500,9\n", "row 1 of `curve.csv` does not read as two numbers"),
        ("n;e\n0;12.000\n750;9.500\n1500;9.000\n", "may be thousands or have a decimal point"),
    ] {
        fs::write(folder.path().join("curve.csv"), rows).unwrap();
        let output = standstill(folder.path(), &["run", "curve.sheet", "n=750 r/min"]);
        let text = output_text(&output);
        if words.is_empty() {
            assert!(text.contains("9.5 mm"), "{rows}: {text}");
            // the rows are no part of the sheet's text, and of its identity they are
            let hash = |output: &Output| {
                let text = String::from_utf8_lossy(&output.stdout).into_owned();
                let (_, hash) = text.split_once("curve.csv (rows sha256 ").unwrap();
                hash.split_once(')').unwrap().0.to_owned()
            };
            let before = hash(&output);
            fs::write(folder.path().join("curve.csv"), rows.replace("1500,9", "1500,8")).unwrap();
            let output = standstill(folder.path(), &["run", "curve.sheet", "n=750 r/min"]);
            assert_ne!(hash(&output), before, "{rows}");
        } else {
            assert_eq!(output.status.code(), Some(3), "{rows}: {text}");
            assert!(text.contains(words), "{rows}: {text}");
        }
    }
}
