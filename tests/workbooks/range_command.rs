//! `standstill range` as it is typed: exit codes, what is written, parts, comparison.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use super::range::folder;

pub(super) fn standstill(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_standstill")).current_dir(folder).args(words).output().unwrap()
}

pub(super) fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// The problems, and the cautions that stand in the report.
pub(super) fn output_text(output: &Output) -> String {
    let report = String::from_utf8(output.stdout.clone()).unwrap();
    let cautions = report.lines().filter(|line| line.contains(": caution "));
    let cautions: String = cautions.map(|line| format!("{line}\n")).collect();
    String::from_utf8(output.stderr.clone()).unwrap() + &cautions
}

pub(super) fn json(output: &Output) -> serde_json::Value {
    serde_json::from_slice(&output.stdout).unwrap()
}

/// A folder with the corpus of product lines in it.
pub(super) fn at_work() -> tempfile::TempDir {
    let place = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, place.path().join(path.file_name().unwrap())).unwrap();
    }
    place
}

const HEADED_BOOK: &str = "units_in_headings_xlsxwriter_3.3.1.xlsx";
pub(super) const LINE: &str = "sheet timed-stop\nT_1,40,N·m\nt_max,8,s\n\nname,J / (kg·m²),n_0 / (r/min)\nA,1.5,1450\nB,1,1450\n";

/// Goods count for a heavy roller alone.
const ROLLER: &str = "\
sheet roller
title \"Roller\"
source \"invented\"
takes
  kind  : one of light, heavy like light                      \"roller\"
  m_add : mass in kg = 0 kg from 0 kg                         \"goods on it; counts for heavy\"
  r     : radius in mm = 30 mm above 0 mm                     \"of the roller; counts for heavy\"
  J_0   : inertia in kg·m² above 0 kg·m² like 0.01 kg·m²      \"roller and motor\"
  T_b   : torque in N·m above 0 N·m like 15 N·m               \"brake\"
  n_0   : speed of rotation in r/min above 0 r/min like 1450 r/min \"speed\"
works
  J_all = when kind is light : J_0
          otherwise          : J_0 + m_add * r^2
  t     = J_all * n_0 / T_b  \"until it stands\"
holds
  t < 9 s \"it stands\" else \"a stronger brake\"
gives
  t in s
";

#[test]
fn what_run_refuses_as_without_effect_is_told_row_by_row_and_refused_by_design() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("roller.sheet"), ROLLER).unwrap();
    let line = "sheet roller\n\nname,kind,m_add / kg,J_0 / (kg·m²),T_b / (N·m),n_0 / (r/min)\na,light,30,0.011,15,1440\nb,heavy,30,0.011,16,1440\nc,light,0,0.011,16,1440\n";
    fs::write(place.path().join("l.csv"), line).unwrap();
    let range = standstill(place.path(), &["range", "l.csv", "-o", "o.csv"]);
    let said = out(&range) + &output_text(&range);
    assert!(said.contains("`m_add` is given, and in a (row 4) nothing"), "{said}");
    let written = fs::read_to_string(place.path().join("o.csv")).unwrap();
    let status: Vec<bool> =
        written.lines().skip(3).map(|it| it.contains("without effect here: m_add")).collect();
    assert_eq!(status, [true, false, false], "{written}");
    let ask = ["design", "roller", "t<=9 s", "by", "T_b", "from", "5 N·m", "to", "60 N·m", "in"];
    let ask = [&ask[..], &["steps", "of", "1 N·m", "smallest"]].concat();
    let row =
        |row| standstill(place.path(), &[&ask[..], &["--from", "l.csv", "--row", row]].concat());
    let run = standstill(place.path(), &["run", "roller", "--from", "l.csv", "--row", "a"]);
    let (light, heavy) = (row("a"), row("b"));
    assert_eq!(run.status.code() == Some(0), light.status.code() == Some(0), "{}", out(&light));
    assert_eq!(heavy.status.code(), Some(0), "{}", output_text(&heavy));
    let all = standstill(place.path(), &[&ask[..], &["--line", "l.csv"]].concat());
    let said = out(&all) + &output_text(&all);
    assert!(!said.contains("error input-without-effect"), "{said}");
    assert!(said.contains("`m_add` = 30 kg is given"), "{said}");
}

/// What is told of one row of a line is told at every door that reads it, and of that row alone.
#[test]
fn a_row_says_at_every_door_what_its_line_says_of_it() {
    let place = tempfile::tempdir().unwrap();
    // what stands in row H: its three numbers and its remark
    let cases = [
        ("0.35,1450,4.2,do not use", "the remark \"do not use\" stands beside it"),
        ("0.35,1450,4.2,\"wrong, use 0.5\"", "the remark \"wrong, use 0.5\""),
        ("1.4,1450,4.2,", "`J` of row 11 is 1.4, 4 times the next"),
        ("0.35,1450,37.2,", "`T_0` of row 11 is 37.2, 8.9 times the next"),
        ("0.35,1450,420,", "`T_0` of row 11 is 420, 100 times the next"),
        ("4.2,1450,0.35,", "each lies among the numbers of the other column"),
        ("0.35,1450,37,lb-in", "its row says lbf·in"),
        ("0.35,1450,37,plate 37 lb-in", "states the same figure in lb-in"),
        ("0.35,1450,37,LB-IN", "its row says lbf·in"),
        ("0.35,1450,37,PLATE 37 LB-IN", "states the same figure in LB-IN"),
    ];
    let by = ["t_stop <= 90 s", "by", "T_0", "from", "4 N·m", "to", "5 N·m"];
    let design = [&["design", "run-down"][..], &by].concat();
    let from = |row| ["--from", "l.csv", "--row", row];
    for (row, words) in cases {
        let mut line =
            "sheet run-down\n\nname,J / (kg·m²),n_0 / (r/min),T_0 / (N·m),remark\n".to_owned();
        for name in 'A'..='P' {
            line.push_str(&match name {
                'H' => format!("H,{row}\n"),
                _ => format!("{name},0.35,1450,4.2,\n"),
            });
        }
        fs::write(place.path().join("l.csv"), line).unwrap();
        for (door, of_the_line) in [
            (["range", "l.csv", "--dry-run"].to_vec(), true),
            (["range", "l.csv", "--slopes"].to_vec(), true),
            ([&design[..], &["--line", "l.csv"]].concat(), true),
            ([&["run", "run-down"][..], &from("H")].concat(), true),
            ([&design[..], &from("H")].concat(), true),
            ([&["run", "run-down"][..], &from("G")].concat(), false),
            ([&design[..], &from("G")].concat(), false),
        ] {
            let answer = standstill(place.path(), &door);
            let said = out(&answer) + &String::from_utf8(answer.stderr).unwrap();
            let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(said.contains(words), of_the_line, "{door:?} {row}\n{said}");
        }
    }
}

/// What a run asks of a variant stands in its status, and is found there again.
#[test]
fn a_status_holds_the_question_to_its_variant() {
    let place = at_work();
    let mut line = LINE.replace("n_0 / (r/min)\n", "n_0 / (r/min),remark\n");
    line = line.replace("A,1.5,1450", "A,1.5,1450,do not use").replace("B,1,1450", "B,1,1450,");
    for row in 0..6 {
        let speed = if row == 3 { "1.45" } else { "1450" };
        line.push_str(&format!("C{row},1.{row},{speed},\n"));
    }
    fs::write(place.path().join("l.csv"), line).unwrap();
    let run = |words: &[&str]| standstill(place.path(), words);
    let whole = run(&["range", "l.csv", "-o", "o.csv"]);
    assert_eq!(whole.status.code(), Some(0), "{}", output_text(&whole));
    let written = fs::read_to_string(place.path().join("o.csv")).unwrap();
    let rows = written.lines().skip(5).enumerate();
    let asked: Vec<usize> =
        rows.filter(|it| it.1.contains("with a question: ")).map(|it| it.0).collect();
    assert_eq!(asked, [0, 5], "{written}");
    let again = run(&["range", "o.csv", "--changed"]);
    assert!(!out(&again).contains("moved, was"), "{}", out(&again));
}

#[test]
fn exit_codes_tell_holding_failing_and_wrong_rows_apart() {
    let place = at_work();
    let run = |text: &str| {
        fs::write(place.path().join("line.csv"), text).unwrap();
        standstill(place.path(), &["range", "line.csv"])
    };
    let found = run(LINE);
    assert_eq!(found.status.code(), Some(0), "{}", output_text(&found));
    assert!(out(&found).contains("2 variants: 2 hold, 0 fail"));
    assert!(out(&found).contains("8 s") && out(&found).contains("A (row 6)"), "{}", out(&found));
    assert_eq!(output_text(&found), "", "no bar in a pipe");
    assert_eq!(run(&LINE.replace("A,1.5", "A,15")).status.code(), Some(1));
    let wrong = run(&LINE.replace("A,1.5", "A,1.5 kg·m²"));
    assert_eq!(wrong.status.code(), Some(2));
    assert!(output_text(&wrong).starts_with("line.csv ▸ B6: error text-for-number: `J` (inertia) needs a number, the cell holds the text \"1.5 kg·m²\"; write 1.5 into B6 as a number"), "{}", output_text(&wrong));
    let written = fs::read_to_string(place.path().join("line.csv")).unwrap();
    assert!(
        written.contains("A,1.5 kg·m²,1450,,,,") && written.contains("B,1,1450,3.796"),
        "{written}"
    );
    // a wrong head: nothing is written
    let text = LINE.replace("n_0 / (r/min)", "speed");
    let wrong = run(&text);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(output_text(&wrong).contains("Nothing was written"), "{}", output_text(&wrong));
    assert_eq!(fs::read_to_string(place.path().join("line.csv")).unwrap(), text);
    let missing = standstill(place.path(), &["range", "no.csv"]);
    assert_eq!(missing.status.code(), Some(4));
}

#[test]
fn a_second_run_leaves_the_very_bytes() {
    let place = at_work();
    let words = ["range", HEADED_BOOK, "timed-stop"];
    let file = place.path().join(HEADED_BOOK);
    let dry = standstill(place.path(), &["range", HEADED_BOOK, "timed-stop", "--dry-run"]);
    assert!(out(&dry).contains("12 cells of"), "{}", out(&dry));
    assert_eq!(fs::read(&file).unwrap(), fs::read(folder().join(HEADED_BOOK)).unwrap());
    standstill(place.path(), &words);
    let once = fs::read(&file).unwrap();
    assert_ne!(once, fs::read(folder().join(HEADED_BOOK)).unwrap());
    let again = standstill(place.path(), &words);
    assert!(
        out(&again).contains("holds these results already; nothing was written"),
        "{}",
        out(&again)
    );
    assert_eq!(fs::read(&file).unwrap(), once);
}

/// Where the owner's columns stand decides nothing: results that have a column, results that get one, and the status.
#[test]
fn results_and_status_may_have_columns_in_any_order() {
    let place = tempfile::tempdir().unwrap();
    let columns = ["status", "T_0 / (N·m)", "t_stop / s", "J / (kg·m²)", "remark", "n_0 / (r/min)"];
    for shift in 0..columns.len() {
        for taken in ["", "status", "t_stop / s"] {
            let mut turned = columns;
            turned.rotate_left(shift);
            let mut book = rust_xlsxwriter::Workbook::new();
            let tab = book.add_worksheet();
            tab.write(0, 0, "sheet run-down").unwrap();
            for (at, heading) in (0..).zip(turned.iter().filter(|it| **it != taken)) {
                tab.write(2, at, *heading).unwrap();
                let value = match heading.split(' ').next() {
                    Some("T_0") => 4.2,
                    Some("J") => 0.35,
                    Some("n_0") => 1450.0,
                    _ => continue,
                };
                tab.write(3, at, value).unwrap();
            }
            book.save(place.path().join("line.xlsx")).unwrap();
            for words in [&["--worst"][..], &["--all"], &["--all", "--worst"]] {
                let words = [&["range", "line.xlsx", "-o", "out.xlsx", "--force"], words].concat();
                let found = standstill(place.path(), &words);
                let said = output_text(&found);
                assert_eq!(found.status.code(), Some(0), "{turned:?} {taken} {words:?}: {said}");
                let bytes = fs::read(place.path().join("out.xlsx")).unwrap();
                let book = standstill::spreadsheet::Book::read("out.xlsx", &bytes).unwrap();
                let times = book.tabs[0].entries().filter(|entry| match entry.cell {
                    // J·ω / T = 0.35 · 151.844 / 4.2, worked by hand
                    standstill::spreadsheet::Cell::Number(it) => (it - 12.6536).abs() < 1e-3,
                    _ => false,
                });
                assert!(times.count() > 0, "{turned:?} {taken} {words:?}");
            }
        }
    }
}

#[test]
fn changed_says_which_variants_moved_and_by_how_much() {
    let place = at_work();
    let file = place.path().join("line.csv");
    fs::write(&file, LINE).unwrap();
    let run = |words: &[&str]| standstill(place.path(), &[&["range", "line.csv"], words].concat());
    assert_eq!(run(&["--changed"]).status.code(), Some(2));
    run(&[]);
    assert!(out(&run(&["--changed"])).contains("No variant has moved."));
    let text = fs::read_to_string(&file).unwrap().replace("A,1.5,", "A,3,");
    fs::write(&file, &text).unwrap();
    let moved = run(&["--changed", "--json"]);
    assert_eq!(moved.status.code(), Some(1));
    let found = json(&moved);
    let names: Vec<&str> = found["moved"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["t_stop", "E", "S", "status"]);
    let first = &found["moved"][0];
    assert_eq!((first["variant"].as_str(), first["unit"].as_str()), (Some("A (row 6)"), Some("s")));
    // twice the inertia, twice the time: 5.6941366846315 s more (Python 3)
    assert!((first["by"].as_f64().unwrap() - 5.6941366846315).abs() < 1e-9);
    assert!(out(&run(&["--changed"])).contains("1 of 2 variants have moved. Nothing was written."));
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
}

#[test]
fn the_summary_for_programs_names_counts_columns_and_worst_variants() {
    let place = at_work();
    fs::write(place.path().join("line.csv"), LINE).unwrap();
    let found = json(&standstill(place.path(), &["range", "line.csv", "--json"]));
    assert_eq!(
        (found["variants"].as_u64(), found["holding"].as_u64(), found["wrong"].as_u64()),
        (Some(2), Some(2), Some(0))
    );
    assert_eq!(
        found["columns"][0],
        serde_json::json!({ "name": "t_stop", "unit": "s", "column": 4, "appended": true })
    );
    let worst = &found["checks"][0]["worst"];
    // 8 s - 5.6941366846315 s
    assert_eq!(
        (worst["variant"].as_str(), worst["left"].as_str()),
        (Some("A (row 6)"), Some("2.30586 s"))
    );
}

#[test]
fn the_example_is_worked_out() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("roller-line.xlsx");
    fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/roller-line.xlsx"), &file)
        .unwrap();
    let found = json(&standstill(place.path(), &["range", "roller-line.xlsx", "--json"]));
    assert_eq!((found["variants"].as_u64(), found["wrong"].as_u64()), (Some(40), Some(0)));
    let line = standstill(place.path(), &["range", "roller-line.xlsx"]);
    assert!(
        out(&line).contains("the curtain stands far enough away")
            && out(&line).contains("FAILS in 7"),
        "{}",
        out(&line)
    );
    assert_eq!(line.status.code(), Some(1));
    // the first roller typed by hand gives what its row holds: 1700 mm
    let alone = standstill(
        place.path(),
        &[
            "run", "safe-stop", "--json", "J_load=0.031 kg·m²", "i=3", "J_motor=12 kg·cm²",
            "J_brake=3 kg·cm²", "n_0=1450 r/min", "T_0=1.04 N·m", "T_max=8 N·m", "t_ramp=250 ms",
            "n_ref=1500 r/min", "t_resp=20 ms", "t_ramp_step=0.01 s", "t_ramp_low=0.01 s",
            "t_ramp_high=600 s", "t_delay_step=10 ms", "t_delay_low=10 ms", "t_delay_high=300 s",
            "C_link=470 µF", "U_0=565 V", "U_chop=780 V", "U_trip=820 V", "I_max=5 A",
            "t_cycle=6 s", "t_sensor=14 ms", "t_logic=20 ms", "t_drive=10 ms", "edition=2010",
            "d=14 mm", "stands_on=fails", "S_there=2700 mm", "T_load=0 N·m", "tol_ramp=5 %",
            "tol_delay=2 %", "f=0 %", "chopper=yes", "R_min=0 Ω", "tol_R=5 %", "t_network=0 ms",
            "Z=0 mm",
        ],
    );
    let alone = json(&alone);
    let distance =
        alone["results"].as_array().unwrap().iter().find(|one| one["name"] == "S").unwrap();
    let book =
        standstill::spreadsheet::Book::read("roller-line.xlsx", &fs::read(&file).unwrap()).unwrap();
    let cell = book
        .tab("Rollers")
        .unwrap()
        .cell(standstill::spreadsheet::Position::parse("Q35").unwrap())
        .clone();
    assert_eq!(
        cell,
        standstill::spreadsheet::Cell::Number(distance["value"]["number"].as_f64().unwrap())
    );
}

/// Every heading is an input, a result, a remark that is listed, or an error: of a column passed over the default
/// would be taken. Oracle: each input of the table misspelt, in every way a hand misspells.
#[test]
fn no_heading_that_looks_like_a_quantity_is_passed_over() {
    let place = tempfile::tempdir().unwrap();
    let run = |head: &str| {
        let values = head.split(',').count();
        let row = ["a,2,1500,4", "0.5", "0.1", "7"];
        let row: Vec<&str> = row.iter().flat_map(|part| part.split(',')).take(values).collect();
        std::fs::write(
            place.path().join("line.csv"),
            format!("sheet run-down\n{head}\n{}\n", row.join(",")),
        )
        .unwrap();
        Command::new(env!("CARGO_BIN_EXE_standstill"))
            .args(["range", "line.csv", "--dry-run"])
            .current_dir(place.path())
            .output()
            .unwrap()
    };
    let good = "name,J / kg·m²,n_0 / (r/min),T_0 / N·m";
    for (more, cell) in [
        ("T_laod / N·m", "E2"), // two letters exchanged
        ("T_lod / N·m", "E2"),
        ("T_Load / N·m", "E2"),
        ("T load / N·m", "E2"),
        ("load torque / N·m", "E2"),
        ("T_laod", "E2"),
        ("± T_0 / mN·m", "E2"),
        ("± T_laod / N·m", "E2"),
        ("T_laod tolerance", "E2"),
        ("t_stpo / s", "E2"),
        ("t_stop highst / s", "E2"),
        ("stop time / s", "E2"),
    ] {
        let output = run(&format!("{good},{more}"));
        let printed = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{more}: {printed}");
        assert!(printed.contains(&format!("line.csv ▸ {cell}")), "{more}: {printed}");
    }
    // a tolerance that is stated counts, in the unit of its heading: 0.5 N·m of 4, or 0.5 % of it; without one it is an error
    for (more, code, words) in [
        ("T_0 tolerance", 2, "write `± 0.5 N·m` or `± 0.5 %`, whichever is meant"),
        ("± T_0 / N·m", 0, "T_0 = 3.5 N·m"),
        ("± T_0 / %", 0, "T_0 = 3.98 N·m"),
    ] {
        let output = run(&format!("{good},{more}"));
        let printed = out(&output) + &String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(code), "{more}: {printed}");
        assert!(printed.contains(words), "{more}: {printed}");
    }
    for more in ["note", "machine", "price / EUR"] {
        let output = run(&format!("{good},{more}"));
        let printed = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!(output.status.code(), Some(0), "{more}: {printed}");
        let listed = printed.contains("not used:") && printed.contains(&format!("`{more}`"));
        assert!(listed, "{more}: {printed}");
    }
}

/// By hand: 2 kg·m² at 1500 r/min against 4 N·m. What the owner wrote stays; what a run wrote is written again.
#[test]
fn words_of_the_owner_are_never_written_over() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("line.csv");
    let range = |more: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_standstill"))
            .args(["range", "line.csv"])
            .args(more)
            .current_dir(place.path())
            .output()
            .unwrap()
    };
    let line = |t_stop: &str, status: &str| {
        format!(
            "sheet run-down,,,,\nJ / kg·m²,n_0 / (r/min),T_0 / N·m,t_stop / s,status\n2,1500,4,{t_stop},{status}\n"
        )
    };
    for (t_stop, status, cell) in [
        ("", "ordered 12 May", "E3"),
        ("measured 0.9", "", "D3"),
        ("", "all of them sent back", "E3"),
        ("78.5", "allowed by the office", "E3"),
    ] {
        let before = line(t_stop, status);
        fs::write(&file, &before).unwrap();
        for more in [&[][..], &["-o", "out.csv"], &["-o", "out.xlsx"]] {
            let output = range(more);
            let printed = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(2), "{status}: {printed}");
            assert!(printed.contains("owners-words") && printed.contains(cell), "{printed}");
            assert_eq!(fs::read_to_string(&file).unwrap(), before);
            assert!(
                !place.path().join("out.csv").exists() && !place.path().join("out.xlsx").exists()
            );
        }
    }
    fs::write(&file, line("", "")).unwrap();
    assert_eq!(range(&[]).status.code(), Some(0));
    let once = fs::read_to_string(&file).unwrap();
    assert!(once.contains("78.5398"), "{once}");
    // a wrong row, and the right one again: each status is one of ours
    fs::write(&file, once.replace("2,1500,4", "2,1500,x")).unwrap();
    assert_eq!(range(&[]).status.code(), Some(2));
    let wrong = fs::read_to_string(&file).unwrap();
    fs::write(&file, wrong.replace("2,1500,x", "2,1500,4")).unwrap();
    assert_eq!(range(&[]).status.code(), Some(0), "{wrong}");
    assert_eq!(fs::read_to_string(&file).unwrap(), once);
}

#[test]
fn nothing_holds_in_all_where_not_all_is_calculated() {
    let place = tempfile::tempdir().unwrap();
    let head = "sheet run-down,,\nJ / kg·m²,n_0 / (r/min),T_0 / N·m\n";
    for (rows, words) in [
        ("2,1500,x\n", "holds in 0 of 0 calculated"),
        ("2,1500,4\n2,1500,x\n", "holds in 1 of 1 calculated"),
        ("2,1500,4\n", "holds in all"),
    ] {
        fs::write(place.path().join("line.csv"), format!("{head}{rows}")).unwrap();
        let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
            .args(["range", "line.csv", "--dry-run"])
            .current_dir(place.path())
            .output()
            .unwrap();
        let printed = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(printed.contains(words), "{words}: {printed}");
        assert_eq!(words.contains("in all"), printed.contains("in all"), "{printed}");
    }
}

/// A column in a unit that no input and no result of the sheet has is its owner's own; one that may be meant for one of
/// the sheet is refused.
#[test]
fn an_owners_column_is_passed_over_where_it_can_be_none_of_the_sheet() {
    let place = at_work();
    let line = |head: &str| {
        LINE.replace("(r/min)\n", &format!("(r/min),{head}\n"))
            .replace("A,1.5,1450\n", "A,1.5,1450,12\n")
            .replace("B,1,1450\n", "B,1,1450,14\n")
    };
    for head in ["mass / kg", "U / V", "Gewicht [kg]", "T oil / °C", "supply / A"] {
        fs::write(place.path().join("line.csv"), line(head)).unwrap();
        let found = standstill(place.path(), &["range", "line.csv", "--dry-run"]);
        let said = out(&found);
        assert_eq!(found.status.code(), Some(0), "{head}: {}", output_text(&found));
        let unused = said.lines().find(|it| it.starts_with("columns that are not used"));
        assert!(unused.is_some_and(|it| it.contains(head)), "{head}: {said}");
    }
    for head in
        ["Ø / mm", "load / (N·m)", "time / ms", "speed / (rad/s)", "heat / J", "T_2 / kg", "± / kg"]
    {
        fs::write(place.path().join("line.csv"), line(head)).unwrap();
        let found = standstill(place.path(), &["range", "line.csv", "--dry-run"]);
        assert_eq!(found.status.code(), Some(2), "{head}: {}", out(&found));
        assert!(output_text(&found).contains("unknown-row"), "{head}: {}", output_text(&found));
    }
}
