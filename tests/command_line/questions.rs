//! A value that is right by its kind and its range, and a slip all the same: every door asks the same.

use std::fs;
use std::path::Path;

use super::manners::with_input;
use super::standstill;

/// Ten stops, the fifth with its decimal mark a place off.
const STOPS: [&str; 10] = ["312", "318", "305", "309", "3210", "316", "308", "311", "314", "307"];

/// The same in s.
const IN_SECONDS: &str =
    "0.31 ms, 0.32 ms, 0.31 ms, 0.30 ms, 0.32 ms, 0.31 ms, 0.30 ms, 0.31 ms, 0.31 ms, 0.30 ms";

fn said(folder: &Path, words: &[&str]) -> String {
    let output = standstill(folder, words);
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    format!("{}{}", text(&output.stdout), text(&output.stderr))
}

#[test]
fn every_door_asks_about_a_value_that_is_far_off() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let far = "value 5 of `t_k` is 3210 ms, 10.1 times the next of the series, 318 ms";
    let typed = STOPS.map(|stop| format!("{stop} ms")).join(", ");
    let word = format!("t_k={typed}");
    for more in [&[][..], &["--worst"], &["--slopes"], &["--json"]] {
        let words = [&["run", "measured-stops", &word, "u=0 ms"], more].concat();
        assert!(said(folder, &words).contains(far), "{more:?}");
    }
    let rows = format!(
        r#"{{"sheet": "measured-stops", "inputs": {{"u": "0 ms"}}, "rows": [{{"t_k": "{typed}"}}]}}"#
    );
    let answer = with_input(folder, &["run", "-"], &rows).stdout;
    let answer: serde_json::Value = serde_json::from_slice(&answer).unwrap();
    assert_eq!(answer["rows"][0]["questions"][0]["headline"], far);
    let mut block = "sheet measured-stops\n".to_owned();
    for (at, stop) in STOPS.iter().enumerate() {
        block.push_str(&match at {
            0 => format!("t_k,{stop},ms\n"),
            _ => format!(",{stop},\n"),
        });
    }
    block.push_str("u,0,ms\nt_stop,,ms\n");
    fs::write(folder.join("block.csv"), block).unwrap();
    for words in [
        &["fill", "block.csv", "-o", "filled.xlsx", "--dry-run"][..],
        &["run", "measured-stops", "--from", "block.csv"],
    ] {
        let said = said(folder, words);
        assert!(said.contains(far) && said.contains("B6"), "{words:?}: {said}");
    }
    // a unit a thousand times off
    let word = format!("t_k={IN_SECONDS}");
    let words = said(folder, &["run", "measured-stops", &word, "u=0 ms"]);
    assert!(words.contains("is it in s?"), "{words}");
    let right = typed.replace("3210", "321");
    let words = said(folder, &["run", "measured-stops", &format!("t_k={right}"), "u=0 ms"]);
    assert!(!words.contains("two-statements"), "{words}");
}

#[test]
fn what_a_workbook_says_of_its_values_is_told_by_run_as_well() {
    let folder = tempfile::tempdir().unwrap();
    let block =
        "sheet run-down\nJ,0.35,kg·m²,\"wrong, use 0.5\"\nn_0,1450,r/min\nT_0,4.2,N·m\nt_stop,,s\n";
    fs::write(folder.path().join("block.csv"), block).unwrap();
    for words in [
        &["fill", "block.csv", "-o", "filled.xlsx", "--dry-run"][..],
        &["run", "run-down", "--from", "block.csv"],
        &[
            "design", "run-down", "t_stop<=20 s", "by", "J", "from", "0.1 kg·m²", "to", "1 kg·m²",
            "in", "steps", "of", "0.1 kg·m²", "--from", "block.csv",
        ],
    ] {
        let said = said(folder.path(), words);
        assert!(said.contains("the remark \"wrong, use 0.5\""), "{words:?}: {said}");
    }
}

#[test]
fn a_share_under_percent_an_ac_voltage_and_a_start_at_standstill_are_asked() {
    let folder = tempfile::tempdir().unwrap();
    let asked = |sheet: &str, word: &str| {
        let said = said(folder.path(), &["run", sheet, "--example", word]);
        said.lines().find_map(|it| it.strip_prefix("caution two-statements: ").map(str::to_owned))
    };
    for (sheet, word, words) in [
        (
            "safe-stop",
            "eta_motor=0.9 %",
            "`eta_motor` is 0.9 %, 111 times off the sheet's 100 %: is it 90 %?",
        ),
        (
            "safe-stop",
            "tol_ramp=0.05 %",
            "`tol_ramp` is 0.05 %, 100 times off the sheet's 5 %: is it 5 %?",
        ),
        (
            "link-alone",
            "U_0=400 VAC",
            "`U_0` is 400 V, an alternating voltage, and a direct one is asked for: is it that of the mains?",
        ),
        (
            "link-alone",
            "U_0=400 V AC",
            "`U_0` is 400 V, an alternating voltage, and a direct one is asked for: is it that of the mains?",
        ),
        (
            "link-alone",
            "U_0=400 V~",
            "`U_0` is 400 V, an alternating voltage, and a direct one is asked for: is it that of the mains?",
        ),
        (
            "link-from-mains",
            "U_mains=565 V d.c.",
            "`U_mains` is 565 V, a direct voltage, and an alternating one is asked for: is it that of the link?",
        ),
        (
            "run-down",
            "n_0=0 r/min",
            "`n_0` is 0 r/min, and the sheet's example is 1450 r/min: does it begin at standstill?",
        ),
    ] {
        assert_eq!(asked(sheet, word).as_deref(), Some(words), "{sheet} {word}");
    }
    // as it should be: a share, a narrow one, the mains of a rectifier, the rest speed and the default of nothing
    for (sheet, word) in [
        ("safe-stop", "eta_motor=0.9"),
        ("safe-stop", "tol_ramp=0.5 %"),
        ("link-from-mains", "U_mains=400 VAC"),
        ("link-alone", "U_0=565 VDC"),
        ("link-alone", "U_0=565 V d.c."),
        ("run-down", "T_0=0 N·m"),
    ] {
        assert_eq!(asked(sheet, word), None, "{sheet} {word}");
    }
}

/// Of a column the unit is asked about wherever it stands: in the heading, in the row below, above a row set aside.
#[test]
fn a_column_is_asked_about_its_unit_wherever_that_stands() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    for (sheet, headed, below, first, words) in [
        (
            "run-down",
            "drive,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)",
            "drive,J,n_0,T_0\n,kg·m²,r/min,N·m",
            "310,1450,4",
            "`J` is 310 kg·m², 30693 times off the sheet's example of 0.0101 kg·m²: is it in",
        ),
        (
            "run-down",
            "drive,J / (kg·cm²),n_0 / (r/min),T_0 / (N·m)",
            "drive,J,n_0,T_0\n,kg·cm²,r/min,N·m",
            "310,1.45,4",
            "does its point part thousands?",
        ),
        (
            "rated-torque",
            "drive,P_n / (kV·A),n_n / (r/min)",
            "drive,P_n,n_n\n,kV·A,r/min",
            "7.5,1450",
            "`P_n` is 7.5 kV·A, an apparent power: is it a power in W?",
        ),
    ] {
        for head in [headed, below] {
            for aside in ["", "spare,1,1,1\n"] {
                let aside = if first.matches(',').count() == 2 { aside } else { "" };
                let table = format!("sheet {sheet}\n\n{head}\n{aside}A,{first}\nB,{first}\n");
                fs::write(folder.join("line.csv"), table).unwrap();
                let run = said(folder, &["range", "line.csv", "-o", "out.csv", "--force"]);
                assert!(run.contains(words), "{head}{aside}: {run}");
                let written = fs::read_to_string(folder.join("out.csv")).unwrap();
                let asked = written.lines().filter(|it| it.contains(words)).count();
                assert_eq!(asked, 2, "{written}");
                let row = said(folder, &["run", sheet, "--from", "line.csv", "--row", "A"]);
                assert_eq!(row.matches(words).count(), 1, "{row}");
            }
        }
    }
}

/// Where names are numbers, another number is none of them: counted, it would be the neighbour of the one that is meant.
#[test]
fn a_number_that_names_no_variant_is_refused_where_names_are_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let asked = |names: &[&str], row: &str| {
        let mut table =
            "sheet run-down\n\ndrive,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n".to_owned();
        names.iter().for_each(|name| table.push_str(&format!("{name},0.01,1450,4\n")));
        fs::write(folder.join("line.csv"), table).unwrap();
        said(folder, &["run", "run-down", "--from", "line.csv", "--row", row])
    };
    for names in [["1", "2", "4", "5"], ["01", "02", "04", "05"]] {
        let refused = asked(&names, "3");
        assert!(refused.contains("all variants are named by numbers, and none is 3"), "{refused}");
        assert!(refused.contains("`--row 'row 5'` or `--row 'row 6'`"), "{refused}");
        assert!(asked(&names, "row 6").contains("t_stop"));
        assert!(asked(&names, "2").contains("t_stop"));
        let two = asked(&names, "4");
        assert!(two.contains("is the name of a variant"), "{two}");
    }
    // names that no count comes near, and names with words, leave the count as it is
    assert!(asked(&["101", "102", "103", "104"], "3").contains("t_stop"));
    assert!(asked(&["A", "B", "C", "D"], "3").contains("t_stop"));
}

/// Words of cells that stand for another value of the same kind: an inertia brought to another shaft, a ratio the other way
/// round, a time that the heading asks for at its longest. All of them shorten a stop.
#[test]
fn words_of_another_value_are_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let shown = standstill(folder, &["show", "safe-stop", "--json"]).stdout;
    let shown: serde_json::Value = serde_json::from_slice(&shown).unwrap();
    let told = |name: &str, value: &str, words: &str| {
        let mut text = "sheet safe-stop\n".to_owned();
        for input in shown["takes"].as_array().unwrap() {
            let (own, example) = (input["name"].as_str().unwrap(), input["example"][0].as_str());
            match example {
                _ if own == name => text.push_str(&format!("{name},{value},{words}\n")),
                Some(it) => text.push_str(&format!("{own},{}\n", it.replacen(' ', ",", 1))),
                None => {}
            }
        }
        fs::write(folder.join("a.csv"), text).unwrap();
        let said = said(folder, &["run", "safe-stop", "--from", "a.csv"]);
        assert!(!said.contains("error "), "{said}");
        said.contains("stands beside `")
    };
    for (name, value, wrong, right) in [
        ("J_load", "0.2,kg·m²", "roller brought to the motor shaft", "roller"),
        ("J_load", "0.2,kg·m²", "load inertia referred to motor", "about its own shaft"),
        ("J_load", "0.2,kg·m²", "seen from the motor", "about the roller's shaft"),
        ("i", "4,", "load speed over motor speed", "motor speed over load speed"),
        ("t_logic", "20,ms", "safety relay with its shortest response", "safety relay"),
        ("t_logic", "20,ms", "mean response", "longest response"),
        ("t_network", "20,ms", "typical", "longest"),
        ("t_sensor", "14,ms", "typ.", "max."),
    ] {
        assert!(told(name, value, wrong), "{name}: {wrong}");
        assert!(!told(name, value, right), "{name}: {right}");
    }
}
