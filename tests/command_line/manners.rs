//! What every terminal program does: help, completions, a manual, standard input, exit codes for a build server.

use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use standstill::report::text::fitted;
use unicode_width::UnicodeWidthStr as _;

use super::{GOOD, output_text, standstill};

pub(super) fn with_input(folder: &Path, words: &[&str], given: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .current_dir(folder)
        .args(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let written = child.stdin.take().unwrap().write_all(given.as_bytes());
    // a program that refuses its words may end before it reads what is given
    let unread = |error: std::io::Error| error.kind() == std::io::ErrorKind::BrokenPipe;
    assert!(written.err().is_none_or(unread));
    child.wait_with_output().unwrap()
}

/// Of files that have no name the content says the kind.
#[test]
fn workbooks_and_lines_come_from_standard_input_and_go_to_standard_output() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let run = |words: &[&str], given: &[u8]| {
        let file = folder.join("given");
        fs::write(&file, given).unwrap();
        let given = fs::File::open(&file).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
        command.current_dir(folder).args(words).stdin(given).output().unwrap()
    };
    let workbook = fs::read(examples.join("carton-wrapper.xlsx")).unwrap();
    let by_name = standstill(
        folder,
        &["fill", examples.join("carton-wrapper.xlsx").to_str().unwrap(), "-o", "named.xlsx"],
    );
    assert_eq!(by_name.status.code(), Some(0), "{}", text(&by_name.stderr));
    let piped = run(&["fill", "-", "-o", "-"], &workbook);
    assert_eq!(piped.status.code(), Some(0), "{}", text(&piped.stderr));
    assert_eq!(piped.stdout, fs::read(folder.join("named.xlsx")).unwrap());
    assert!(text(&piped.stderr).contains("written to -"), "{}", text(&piped.stderr));
    let refused = run(&["fill", "-"], &workbook);
    assert_eq!(refused.status.code(), Some(4));
    assert!(text(&refused.stderr).contains("`-o -`"), "{}", text(&refused.stderr));

    fs::write(folder.join("stop.sheet"), GOOD).unwrap();
    // t = v/a: 0.5 s
    let line = b"sheet stop;;\nv / (m/s);a / (m/s2);t / ms\n2;4;\n";
    let piped = run(&["range", "-", "-o", "-"], line);
    assert_eq!(
        text(&piped.stdout),
        "sheet stop;;\nv / (m/s);a / (m/s2);t / ms;status\n2;4;500;all 5 checks hold\n",
        "{}",
        text(&piped.stderr)
    );
    let line = fs::read(examples.join("roller-line.xlsx")).unwrap();
    let piped = run(&["range", "-", "-o", "-"], &line);
    assert!(piped.stdout.starts_with(b"PK"), "{}", text(&piped.stderr));
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn help_is_a_command_and_so_are_completions_and_the_manual() {
    let folder = tempfile::tempdir().unwrap();
    let output = standstill(folder.path(), &["help", "prove"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(text(&output.stdout).contains("--tidy"));
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let output = standstill(folder.path(), &["completions", shell]);
        let script = text(&output.stdout);
        for word in ["prove", "range", "review", "worst"] {
            assert!(script.contains(word), "{shell}: {word}");
        }
        // once for each of the five commands that take one; fish says it for all five at once
        let offered = script.matches("separation-curtain").count();
        assert!(
            offered >= if shell == "fish" { 1 } else { 5 },
            "{shell} offers the sheets: {offered}"
        );
        assert_eq!(output.status.code(), Some(0));
    }
    fs::create_dir(folder.path().join("man1")).unwrap();
    assert_eq!(standstill(folder.path(), &["manual", "man1"]).status.code(), Some(0));
    for page in ["standstill", "standstill-run", "standstill-prove", "standstill-review"] {
        let page = fs::read_to_string(folder.path().join(format!("man1/{page}.1"))).unwrap();
        assert!(page.contains(".SH NAME") && page.contains(".SH SYNOPSIS"), "{page}");
    }
}

/// What is printed at a terminal, for every width and every line that the papers show: nothing is lost or turned round,
/// nothing goes beyond the width where a blank could have prevented it, and no number stands apart from its unit unless
/// nothing else fits.
#[test]
fn lines_are_broken_between_columns_and_words() {
    let folder = tempfile::tempdir().unwrap();
    let mut lines: Vec<String> = Vec::new();
    for call in [&["run", "safe-stop"][..], &["run", "safe-stop", "--example"], &["list", "kinds"]]
    {
        let output = standstill(folder.path(), call);
        lines.extend(
            text(&output.stdout).lines().chain(text(&output.stderr).lines()).map(str::to_owned),
        );
    }
    assert!(lines.len() > 150, "{}", lines.len());
    let words = |line: &str| line.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    for line in &lines {
        for width in [20, 37, 40, 60, 80, 120] {
            let parts = fitted(line, width);
            assert_eq!(words(&parts.join(" ")), words(line), "{width}: {line}");
            let command = line.trim_start().starts_with("standstill ");
            for part in parts.iter().filter(|_| !command && !line.contains('│')) {
                // only a word that does not fit below its column goes beyond
                let blanks = part.len() - part.trim_start().len();
                let first = words(part).first().map_or(0, |word| word.width());
                assert!(part.width() <= width || blanks + first > width, "{width}: {part:?}");
            }
        }
    }
    // the last column goes on below its own start
    let row = "  T_0    N·m   above 0 N·m   1.6 N·m  constant friction, the least measured";
    let below = " ".repeat(38);
    assert_eq!(
        fitted(row, 66),
        [&row[..row.find(" measured").unwrap()], &format!("{below}measured")]
    );
}

#[test]
fn a_sheet_comes_from_standard_input() {
    let folder = tempfile::tempdir().unwrap();
    let output = with_input(folder.path(), &["prove", "-"], GOOD);
    assert_eq!(text(&output.stdout), "1 sheet checked, no problems.\n");
    let output = with_input(
        folder.path(),
        &["prove", "-", "--form", "line"],
        &GOOD.replace("v / a", "v / b"),
    );
    assert!(
        text(&output.stderr).contains("\n-:9:11: error unknown-name"),
        "{}",
        text(&output.stderr)
    );
    assert_eq!(output.status.code(), Some(3));
    let output = with_input(
        folder.path(),
        &["prove", "-", "--tidy"],
        &GOOD.replace("  t = v / a", "\tt=v / a "),
    );
    assert!(text(&output.stdout).contains("\n  t = v / a"), "{}", text(&output.stdout));
    let output = with_input(folder.path(), &["show", "-"], GOOD);
    assert!(text(&output.stdout).contains("speed before the stop"));
}

#[test]
fn many_rows_go_in_and_out_as_json() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    let given = r#"{"sheet": "stop.sheet", "inputs": {"a": "4 m/s2"}, "rows": [{"v": "2 m/s"}, {"v": "8 m/s"}, {"v": 2}]}"#;
    let output = with_input(folder.path(), &["run", "-"], given);
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    // t = v/a: 0.5 s and 2 s
    assert_eq!(answer["rows"][0]["results"][0]["value"]["number"], 500.0);
    assert_eq!(answer["rows"][1]["results"][0]["value"]["number"], 2000.0);
    assert_eq!(answer["rows"][0]["holds"], true);
    assert_eq!(answer["rows"][1]["holds"], false);
    assert_eq!(answer["rows"][2]["problems"][0]["name"], "missing-unit");
    assert_eq!(answer["rows"][0]["read_as"][0]["name"], "plate-notation");
    assert_eq!(answer["rows"][0]["inputs"][1]["value"], "4 m/s²");
    assert_eq!(output.status.code(), Some(2));
    // a mark of the byte order, as some shells pipe it
    let again = with_input(folder.path(), &["run", "-"], &format!("\u{feff}{given}"));
    assert_eq!(again.stdout, output.stdout);
    for (given, words) in [
        ("", "EOF while parsing"),
        ("[]", "expected an object of `sheet`, `inputs` and `rows`"),
        ("{}", "missing field `sheet`"),
        (
            r#"{"sheet": "stop.sheet", "row": []}"#,
            "unknown field `row`, expected one of `sheet`, `inputs`, `rows`",
        ),
        (r#"{"sheet": "stop.sheet", "rows": [1]}"#, "expected an object of names and values"),
        (r#"{"sheet": "stop.sheet", "rows": []}"#, "`rows` is empty"),
        (
            r#"{"sheet": "stop.sheet", "inputs": {"a": "4 m/s2", "v": "9 m/s", "v": "2 m/s"}}"#,
            "`v` stands twice",
        ),
        (r#"{"sheet": "absent"}"#, "no sheet is called `absent`"),
    ] {
        let output = with_input(folder.path(), &["run", "-"], given);
        let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let headline = answer["problems"][0]["headline"].as_str().unwrap();
        assert!(headline.contains(words), "{given}: {headline}");
        assert_eq!(output.status.code(), Some(2), "{given}");
    }
    for (word, words) in [("a=9 m/s2", "in `inputs`"), ("v=9 m/s", "in row 1")] {
        let output = with_input(folder.path(), &["run", "-", word], given);
        let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let headline = answer["problems"][0]["headline"].as_str().unwrap();
        assert!(headline.contains(words), "{word}: {headline}");
    }
    let output = with_input(folder.path(), &["run", "-", "--worst"], given);
    assert_eq!(output.status.code(), Some(2));
}

// torque = power over angular velocity, worked here in f64
#[test]
fn the_example_in_python_runs() {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/many_rows.py");
    let output = Command::new("python3")
        .arg(example)
        .arg(env!("CARGO_BIN_EXE_standstill"))
        .env("PYTHONIOENCODING", "utf-8")
        .output()
        .unwrap();
    let mut wanted = String::new();
    for power in [0.75, 1.5, 4.0, 11.0] {
        for speed in [960.0, 1450.0] {
            let torque = power * 1000.0 / (speed * std::f64::consts::TAU / 60.0);
            let torque = (torque * 1000.0_f64).round() / 1000.0;
            wanted.push_str(&format!("{power} kW {speed} RPM | T_n = {torque} N·m\n"));
        }
    }
    assert_eq!(text(&output.stdout), wanted, "{}", text(&output.stderr));
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn a_build_server_sees_what_would_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/carton-wrapper.xlsx");
    let book = folder.path().join("book.xlsx");
    fs::copy(example, &book).unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    let line = folder.path().join("line.csv");
    fs::write(&line, "v / (m/s),a / (m/s²),t / ms\n2,4,\n3,6,\n").unwrap();
    for (file, words) in
        [(&book, vec!["fill", "book.xlsx"]), (&line, vec!["range", "line.csv", "stop.sheet"])]
    {
        let before = fs::read(file).unwrap();
        let asked: Vec<&str> = words.iter().copied().chain(["--check"]).collect();
        assert_eq!(standstill(folder.path(), &asked).status.code(), Some(1), "{asked:?}");
        assert_eq!(fs::read(file).unwrap(), before);
        assert_eq!(standstill(folder.path(), &words).status.code(), Some(0));
        let after = fs::read(file).unwrap();
        assert_ne!(after, before);
        assert_eq!(standstill(folder.path(), &asked).status.code(), Some(0), "{asked:?}");
        assert_eq!(fs::read(file).unwrap(), after);
    }
}

/// A text that was read neither moves the cursor nor hides what stands on the line.
#[test]
fn no_text_reaches_the_terminal_as_a_command() {
    let folder = tempfile::tempdir().unwrap();
    let sneaky = "near\r  holds  near\u{1b}[0K\u{202e}";
    let sheet = GOOD
        .replace("title \"A stop\"", &format!("title \"{sneaky}\""))
        .replace("caution \"Only for the tests.\"", &format!("caution \"{sneaky}\""));
    fs::write(folder.path().join("stop.sheet"), &sheet).unwrap();
    for words in [
        &["run", "stop.sheet", "--example"][..],
        &["show", "stop.sheet"],
        &["prove", "stop.sheet"],
        &["run", "stop.sheet", "v=\u{1b}[2K"],
    ] {
        let output = standstill(folder.path(), words);
        let all = format!("{}{}", text(&output.stdout), text(&output.stderr));
        assert!(!all.contains(['\u{1b}', '\r', '\u{202e}']), "{words:?}: {all:?}");
        assert!(all.lines().count() > 0);
    }
}

/// What is said where the words of a command cannot be read is right when typed.
#[test]
fn an_input_with_dashes_is_answered_with_how_it_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let answer = |words: &[&str]| {
        let output = standstill(folder.path(), words);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        output_text(&output)
    };
    let text = answer(&["run", "run-down", "--J=0.035"]);
    assert!(text.contains("tip: an input is written without dashes: J='VALUE UNIT'"), "{text}");
    assert!(!answer(&["run", "run-down", "--spread", "-5"]).contains("tip"));
    // where no input is taken none is offered
    for words in [&["manual", "-o", "man"][..], &["list", "-x"], &["fill", "--nothing"]] {
        assert!(!answer(words).contains("an input is written"), "{words:?}");
    }
    assert!(answer(&["fill", "-x.xlsx"]).contains("is written `./-x.xlsx`"));
    assert!(answer(&["run", "run-down", "--wosrt"]).contains("'--worst'"));
    assert!(answer(&["form", "-o", "x.html"]).contains("`--all` for the whole library"));
}

/// The cell that is named where a plate is read is the one in which the unit stands: what is to be written there,
/// written there, leaves nothing to be read into it.
#[test]
fn the_cell_of_a_plate_is_that_of_its_unit() {
    let folder = tempfile::tempdir().unwrap();
    let asked = |rows: &str| {
        let text = format!("sheet rated-torque;;\nP_n;1.5;kW\n{rows}\nT_n;;N·m\n");
        fs::write(folder.path().join("asked.csv"), text).unwrap();
        let output =
            standstill(folder.path(), &["fill", "asked.csv", "-o", "filled.xlsx", "--force"]);
        output_text(&output)
    };
    for (rows, cell, mended) in
        [("n_n;1450;RPM", "C3", "n_n;1450;r/min"), ("n_n / RPM;1450;", "A3", "n_n / (r/min);1450;")]
    {
        let told = asked(rows);
        assert!(told.contains("`RPM` is read as r/min"), "{told}");
        let note = told.split("is read as r/min").nth(1).unwrap_or_default();
        let place = note.lines().nth(1).unwrap_or_default();
        assert_eq!(place.trim(), format!("asked.csv ▸ {cell}"), "{told}");
        let told = asked(mended);
        assert!(!told.contains("is read as") && told.contains("9.87"), "{told}");
    }
}
