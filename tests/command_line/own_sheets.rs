//! Sheets of one's own, kept for years: folders, cases beside them, blanks in order, answers for a build server.

use std::fs;

use super::{GOOD, output_text, standstill};
use standstill::language::{parse, print, tidy};
use standstill::library::SHEETS;

const CASES: &str = "sheet stop\nsource \"t = v/a; by hand\"\ncase half a second # by hand\n  v = 2 m/s\n  a = 4 m/s²\n  \
    gives t = 0.5 s within 1e-12\n  gives t = 500 ms within 1 %\n  gives t = 505 ms within 5 ms\ncase too slow\n  v = 8 m/s\n  a = 4 m/s²\n  \
    fails \"quick enough\"\ncase never\n  a = 0 m/s²\n  error divided-by-zero\n";

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn a_folder_is_proved_with_its_cases() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("axes")).unwrap();
    fs::write(folder.path().join("axes/stop.sheet"), GOOD).unwrap();
    fs::write(folder.path().join("axes/stop.cases"), CASES).unwrap();
    let output = standstill(folder.path(), &["prove", "."]);
    assert_eq!(text(&output.stdout), "1 sheet and 3 cases checked, no problems.\n");
    assert_eq!(output.status.code(), Some(0));

    // each expectation can fail, and is named where it stands
    for (right, wrong, words, line) in [
        ("0.5 s within 1e-12", "0.51 s within 1e-12", "wanted 0.51 s within 1e-12", 6),
        ("500 ms within 1 %", "520 ms within 1 %", "wanted 520 ms within 1 %", 7),
        ("505 ms within 5 ms", "506 ms within 5 ms", "wanted 506 ms within 5 ms", 8),
        (
            "fails \"quick enough\"",
            "fails \"quick\"",
            "\"quick enough\" fails, and is not named",
            9,
        ),
        (
            "  fails \"quick enough\"",
            "  fails \"quick enough\"\n  fails \"cheap\"",
            "there is no check \"cheap\"; write, each in its own line, `fails \"",
            13,
        ),
        ("v = 8 m/s", "v = 2 m/s", "must fail, and holds", 12),
        ("error divided-by-zero", "error out-of-range", "must end in out-of-range", 15),
        ("a = 0 m/s²", "a = 4 m/s²", "must end in divided-by-zero, and runs", 15),
    ] {
        fs::write(folder.path().join("axes/stop.cases"), CASES.replacen(right, wrong, 1)).unwrap();
        let output = standstill(folder.path(), &["prove", "axes", "--form", "line"]);
        let told = text(&output.stderr);
        assert!(told.contains(words), "{wrong}: {told}");
        assert!(told.contains(&format!("stop.cases:{line}:")), "{wrong}: {told}");
        assert_eq!(output.status.code(), Some(1), "{told}");
    }
    for (right, wrong, words) in [
        ("sheet stop", "sheet other", "beside them lies `stop`"),
        ("  fails \"quick enough\"\n", "", "expects nothing"),
        (" within 1 %", "", "is not a line of a case"),
        ("v = 8 m/s", "v 8 m/s", "is not a line of a case"),
        // an error gives no results: what is expected beside it would never be looked at
        ("case never\n", "  a = 0 m/s²\n", "never looked at"),
        ("  error div", "  gives t = 1 s within 1 %\n  error div", "never looked at"),
        ("zero\n", "zero\n  fails \"quick enough\"\n", "never looked at"),
        ("case half a second # by hand\n", "", "stands before the first case"),
    ] {
        fs::write(folder.path().join("axes/stop.cases"), CASES.replacen(right, wrong, 1)).unwrap();
        let output = standstill(folder.path(), &["prove", "axes"]);
        assert!(text(&output.stderr).contains(words), "{wrong}: {}", text(&output.stderr));
        assert_eq!(output.status.code(), Some(3));
    }
}

/// A line that cannot be read hides neither the other lines nor an input that the sheet does not have.
#[test]
fn all_problems_of_a_file_of_cases_come_at_once() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    let cases = "sheet stop\ncase one\n  v = 2 m/s\n  b = 4 m/s²\n  gives t = 0.5 s\n\
        case two\n  v = 2 m/s\n  a = 4 m/s²\n  gives t = 0.5 s within -5 %\n";
    fs::write(folder.path().join("stop.cases"), cases).unwrap();
    let output = standstill(folder.path(), &["prove", "stop.sheet"]);
    let told = text(&output.stderr);
    for words in [
        "say how near it must come: `gives t = 0.5 s within 1 %`",
        "a tolerance is not below zero: write `within 5 %`",
        "unknown-input",
    ] {
        assert!(told.contains(words), "{told}");
    }
    assert!(!told.contains("expects nothing"), "{told}");
    assert_eq!(output.status.code(), Some(3), "{told}");
}

/// A value that is wanted has a unit as every other has, a point for its decimal mark, and there is one.
#[test]
fn what_a_case_wants_is_read_as_everything_else() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    for (line, words) in [
        ("gives t = 0.5 within 1 %", "a unit is never assumed: write `t = 0.5 "),
        ("gives t = 0,5 s within 1 %", "a decimal mark is a point: write `t = 0.5 s`"),
        // a bare 1 is the whole value, a bare part of it is not
        ("gives t = 0.5 s within 1", "write `within 1 %` or `within 1 "),
        ("gives t = 0.5 s within 1.0", "1.0 times the value itself"),
        ("gives t = 0.5 s within 2", "2 times the value itself"),
        ("gives t = 0.6 s within 0.1", "wanted 0.6 s within 0.1"),
        ("", "there is no case in this file"),
    ] {
        let case = format!("case one\n  v = 2 m/s\n  a = 4 m/s²\n  {line}\n");
        let cases = if line.is_empty() { String::new() } else { case };
        fs::write(folder.path().join("stop.cases"), format!("sheet stop\n{cases}")).unwrap();
        let output = standstill(folder.path(), &["prove", "stop.sheet"]);
        let told = text(&output.stderr);
        assert!(told.contains(words), "{line}: {told}");
        assert_ne!(output.status.code(), Some(0), "{line}");
    }
}

#[test]
fn a_file_and_the_sheet_in_it_bear_one_name() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("coast.sheet"), GOOD).unwrap();
    let output = standstill(folder.path(), &["prove", "coast.sheet"]);
    let told = text(&output.stderr) + &text(&output.stdout);
    assert!(told.contains("the file is called `coast`, and the sheet in it `stop`"), "{told}");
    assert!(told.contains("write `sheet coast`, or call the file `stop.sheet`"), "{told}");
}

#[test]
fn problems_for_programs_go_to_standard_output() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD.replace("t = v / a", "t = v / b")).unwrap();
    let output = standstill(folder.path(), &["prove", "stop.sheet", "--form", "json"]);
    let lines: Vec<serde_json::Value> =
        text(&output.stdout).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(lines.iter().any(|problem| problem["name"] == "unknown-name"), "{lines:?}");
    assert_eq!(text(&output.stderr), "");
    assert_eq!(output.status.code(), Some(3));
}

#[test]
fn an_empty_folder_is_not_a_proof() {
    let folder = tempfile::tempdir().unwrap();
    let output = standstill(folder.path(), &["prove", "."]);
    assert!(text(&output.stderr).contains("no sheet lies in the folder"));
    assert_eq!(output.status.code(), Some(4));
}

#[test]
fn blanks_are_put_in_order_once() {
    let folder = tempfile::tempdir().unwrap();
    let loose =
        GOOD.replace("works\n  t = v / a  \"time of the stop\"", "works\n\n\n\tt=v/a # why   ");
    fs::write(folder.path().join("stop.sheet"), &loose).unwrap();
    let asked = ["prove", "stop.sheet", "--tidy", "--check"];
    assert_eq!(standstill(folder.path(), &asked).status.code(), Some(1));
    assert_eq!(fs::read_to_string(folder.path().join("stop.sheet")).unwrap(), loose);
    let output = standstill(folder.path(), &["prove", "stop.sheet", "--tidy"]);
    assert_eq!(text(&output.stdout), "stop.sheet put in order\n");
    let tidied = fs::read_to_string(folder.path().join("stop.sheet")).unwrap();
    assert!(tidied.contains("\n\nworks\n  t = v / a"), "{tidied}");
    assert!(tidied.contains("# why\n"), "{tidied}");
    assert_eq!(standstill(folder.path(), &asked).status.code(), Some(0));
}

/// A sheet's text with blanks strewn and taken by rule where they say nothing.
fn loosened(text: &str, seed: u64) -> String {
    let mut state = seed;
    let mut next = |below: u64| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % below
    };
    let mut made = String::new();
    for line in text.lines() {
        let mut line = line.to_owned();
        if line.starts_with("  ") && next(2) == 0 {
            line = format!("   {line}");
        } else if line.starts_with("  ") {
            line = format!("   {line}").replacen("     ", "\t ", 1);
        }
        if !line.contains('"') && next(4) == 0 {
            line = line.replace(" * ", "*").replace(" + ", "  +  ");
        }
        if line.starts_with("  ") && !line.contains('#') && next(6) == 0 {
            line.push_str(" # remark");
        }
        for _ in 0..next(3) {
            line.push(' ');
        }
        made.push_str(&line);
        made.push_str(if next(9) == 0 { "\r\n" } else { "\n" });
        for _ in 0..next(12) / 10 {
            made.push_str("\n\n");
        }
    }
    made
}

#[test]
fn the_formatter_changes_blanks_alone_and_once() {
    let program = |text: &str| {
        let (tree, slips) = parse(&standstill::diagnostic::Source::new("", text));
        (print(&tree), slips.len())
    };
    let bare = |text: &str| text.chars().filter(|sign| !sign.is_whitespace()).collect::<String>();
    let mut moved = 0;
    for sheet in SHEETS {
        // the library is in order, so that a change of one line is seen as one line
        assert_eq!(tidy(sheet.text), sheet.text, "{}", sheet.name);
        for seed in 0..6 {
            let loose = loosened(sheet.text, seed);
            let tidied = tidy(&loose);
            assert_eq!(program(&tidied), program(&loose), "{} {seed}", sheet.name);
            assert_eq!(bare(&tidied), bare(&loose), "{} {seed}", sheet.name);
            assert_eq!(tidy(&tidied), tidied, "{} {seed}", sheet.name);
            moved += usize::from(tidied != loose.replace("\r\n", "\n"));
        }
    }
    assert!(moved > 5 * SHEETS.len(), "{moved}");
}

/// The library, its groups among it, is in order; ends of lines and a mark of the byte order are no blanks.
#[test]
fn a_file_in_order_stays_as_it_is_whatever_ends_its_lines() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let output = standstill(root, &["prove", "--tidy", "--check", "sheets", "examples"]);
    assert_eq!(output.status.code(), Some(0), "{}", output_text(&output));
    let folder = tempfile::tempdir().unwrap();
    for (begin, end) in [("", "\n"), ("", "\r\n"), ("\u{feff}", "\n"), ("\u{feff}", "\r\n")] {
        let ended = |text: &str| format!("{begin}{}", text.replace('\n', end));
        let path = folder.path().join("rated-torque.sheet");
        let text = fs::read_to_string(root.join("sheets/duty/rated-torque.sheet")).unwrap();
        fs::write(&path, ended(&text)).unwrap();
        let output = standstill(folder.path(), &["prove", "--tidy", "--check", "."]);
        assert_eq!(output.status.code(), Some(0), "{}", output_text(&output));
        fs::write(&path, ended(&text.replace("\ngives", "gives   "))).unwrap();
        let output = standstill(folder.path(), &["prove", "--tidy", "--check", "."]);
        assert_eq!(output.status.code(), Some(1), "{}", output_text(&output));
        assert_eq!(standstill(folder.path(), &["prove", "--tidy", "."]).status.code(), Some(0));
        assert_eq!(fs::read_to_string(&path).unwrap(), ended(&text));
    }
}

/// Cases that bear the name of no sheet beside them would never run: an error, with the name that is meant.
#[test]
fn cases_without_their_sheet_are_an_error() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    fs::write(folder.path().join("stpo.cases"), CASES).unwrap();
    for strict in [&[][..], &["--strict"]] {
        let output = standstill(folder.path(), &[&["prove", "."], strict].concat());
        assert_eq!(output.status.code(), Some(3));
        let told = text(&output.stderr) + &text(&output.stdout);
        assert!(told.contains("no sheet `stpo.sheet` lies beside its cases"), "{told}");
        assert!(told.contains("did you mean `stop.cases`?"), "{told}");
    }
    fs::rename(folder.path().join("stpo.cases"), folder.path().join("stop.cases")).unwrap();
    assert_eq!(standstill(folder.path(), &["prove", "."]).status.code(), Some(0));
}

/// A straight chain of sheets is too deep at its end, and not a circle.
#[test]
fn a_long_chain_of_uses_is_too_deep() {
    let folder = tempfile::tempdir().unwrap();
    for at in 0..30 {
        let uses = format!("uses\n  b = own s{} with d\n", at + 1);
        let (uses, inner) = if at < 29 { (uses.as_str(), "b.e") } else { ("", "d") };
        let sheet = format!(
            "sheet s{at}\ntitle \"S\"\nsource \"a test\"\n{uses}takes\n  d : length in mm from 0 mm\nworks\n  e = 2 * {inner}\ngives\n  e in mm\n"
        );
        fs::write(folder.path().join(format!("s{at}.sheet")), sheet).unwrap();
    }
    let output = standstill(folder.path(), &["run", "s0.sheet", "d=1 mm"]);
    let problems = text(&output.stderr);
    assert!(problems.starts_with("error too-deep: "), "{problems}");
    assert!(problems.contains("more than 24 deep") && !problems.contains("circular"), "{problems}");
    // a chain of sixteen is fine: 2^16 mm
    let output = standstill(folder.path(), &["run", "s14.sheet", "d=1 mm"]);
    assert!(text(&output.stdout).contains("e  65536 mm"), "{}", text(&output.stdout));
}
