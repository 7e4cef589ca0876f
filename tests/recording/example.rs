//! The shipped recordings, from files to a protocol and an issued distance in two commands.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use standstill::recording::seal_of_json;

pub(super) const STOPS: &str = "examples/measured-stops/stops.toml";

/// The plan whose distance stands on a ramp that fails, with as many of them as it needs.
const FAILING: &str = "examples/measured-stops/failing.toml";

pub(super) fn standstill(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_standstill")).current_dir(folder).args(words).output().unwrap()
}

pub(super) fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
        + &String::from_utf8(output.stderr.clone()).unwrap()
}

pub(super) fn copied() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let to = folder.path().join("examples/measured-stops");
    fs::create_dir_all(&to).unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/measured-stops");
    for file in fs::read_dir(from).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), to.join(file.file_name())).unwrap();
    }
    folder
}

/// The same stops as if they were measured another time: the last digit of every voltage is another one.
pub(super) fn anew(folder: &Path) {
    for file in fs::read_dir(folder.join("examples/measured-stops")).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_none_or(|it| it != "csv") {
            continue;
        }
        let changed = |line: &str| {
            let mut fields: Vec<String> = line.split(';').map(str::to_owned).collect();
            if let Some(speed) = fields.get_mut(1)
                && let Some(digit) = speed.pop()
            {
                let next = digit
                    .to_digit(10)
                    .map_or(digit, |it| char::from_digit((it + 1) % 10, 10).unwrap());
                speed.push(next);
            }
            fields.join(";") + "\n"
        };
        let text: String = fs::read_to_string(&path).unwrap().lines().map(changed).collect();
        fs::write(&path, text).unwrap();
    }
}

fn json(path: &Path) -> serde_json::Value {
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

#[test]
fn one_command_leads_from_files_to_a_protocol_and_a_distance() {
    let folder = copied();
    let words =
        ["measured", STOPS, "-o", "protocol.html", "-o", "protocol.xlsx", "-o", "protocol.json"];
    let first = standstill(folder.path(), &words);
    let text = printed(&first);
    // the ramp that fails and the late response fail the protocol
    assert_eq!(first.status.code(), Some(1), "{text}");
    assert!(text.starts_with("NOT PASSED: 2 of "), "{text}");
    assert!(
        text.contains("FAILS   every ramp finishes before torque is removed: 1 of 30 do not"),
        "{text}"
    );
    assert!(text.contains("stops that stand out"), "{text}");

    let found = json(&folder.path().join("protocol.json"));
    let conditions = found["conditions"].as_array().unwrap();
    // the ramp that fails is a kind of its own, and no figure is made of one
    let counts: Vec<(&str, usize)> = conditions
        .iter()
        .map(|it| (it["ramp"].as_str().unwrap(), it["stops"].as_array().unwrap().len()))
        .collect();
    let works = "ramp works";
    assert_eq!(counts, [(works, 10), (works, 10), (works, 9), ("ramp fails", 1)]);
    assert!(text.contains("`warm, loaded`: 1 stop") && text.contains("no distance"), "{text}");
    assert!(found["distance"].is_null() && !text.contains("S = "), "{text}");
    for condition in conditions {
        for stop in condition["stops"].as_array().unwrap() {
            // what the recordings were made with: examples/make_recordings.py
            let speed = stop["speed"]["value"].as_f64().unwrap() * 30.0 / std::f64::consts::PI;
            assert!((speed - 1450.0).abs() < 2.1, "{speed}");
            let delay = stop["delay"]["value"].as_f64().unwrap();
            assert!((delay - 0.36).abs() < 0.004, "{delay}");
        }
    }
    // friction 1.70 N·m, 0.0101 kg·m²
    let failing = &conditions[3]["stops"][0];
    assert_eq!(failing["ramp"], "missing");
    let rate = &failing["run_down"]["a"];
    let (value, u) = (rate["value"].as_f64().unwrap(), rate["u"].as_f64().unwrap());
    assert!((value - 1.70 / 0.0101).abs() < u + 0.3, "{value} ± {u}");
    // 360 ms + J·ω/T = 0.36 + 0.0101 · 151.844 / 1.7 = 1.2621 s
    let time = failing["time"]["value"].as_f64().unwrap();
    assert!((time - 1.2621).abs() < 0.004, "{time}");

    // ten of them, with the ramp switched off, and ten with it
    let output = standstill(folder.path(), &["measured", FAILING, "-o", "failing.json"]);
    let text = printed(&output);
    assert_eq!(output.status.code(), Some(0), "{text}");
    assert!(text.contains("from the stops under `cold, ramp fails`, "), "{text}");
    let found = json(&folder.path().join("failing.json"));
    let conditions = found["conditions"].as_array().unwrap();
    assert_eq!(conditions.len(), 2);

    // the figure to go on with, worked from the single stops: ISO 13855:2010, annex D, from memory
    let times: Vec<f64> = conditions[1]["stops"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["time"]["value"].as_f64().unwrap())
        .collect();
    let u = conditions[1]["stops"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["time"]["u"].as_f64().unwrap())
        .fold(0.0, f64::max);
    let mean = times.iter().sum::<f64>() / 10.0;
    let s = (times.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / 9.0).sqrt();
    let figure = (mean + 3.0 * s).max(times.iter().copied().fold(0.0, f64::max)) + u;
    assert!((found["stopping_time"]["value"].as_f64().unwrap() - figure).abs() < 1e-9);
    // curtain of 14 mm: 2000 mm/s gives more than 500 mm, so 1600 mm/s · (44 ms + t), rounded up
    let distance = (1600.0 * (0.044 + figure)).ceil();
    let issued = found["distance"]["results"]
        .as_array()
        .unwrap()
        .iter()
        .find(|it| it["name"] == "S")
        .unwrap();
    assert_eq!(issued["value"]["number"].as_f64().unwrap(), distance);
}

#[test]
fn the_page_stands_alone_with_verdict_first_curves_and_names_to_sign() {
    let folder = copied();
    standstill(folder.path(), &["measured", STOPS, "-o", "protocol.html"]);
    let page = fs::read_to_string(folder.path().join("protocol.html")).unwrap();
    assert_eq!(page.matches("<svg ").count(), 4);
    let (verdict, picture) = (page.find("NOT PASSED").unwrap(), page.find("<svg ").unwrap());
    assert!(verdict < picture);
    assert!(page.contains("recorded, the longest") && page.contains("calculated, ramp fails"));
    assert!(page.contains(">Signatures</h2>") && page.contains("SHA-256"));
    for outside in ["<script", "src=\"", "href=\"http", "@import", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
}

#[test]
fn a_year_later_the_trend_says_when_the_allowance_is_used_up() {
    let folder = copied();
    for ending in ["json", "xlsx"] {
        let name = format!("before.{ending}");
        standstill(
            folder.path(),
            &["measured", FAILING, "-o", &name, "measured=2025-06-15", "calibrated=2025-03-02"],
        );
        // last year's recordings are no check of today
        let found = standstill(folder.path(), &["measured", FAILING, "--before", &name, "--json"]);
        let text = printed(&found);
        assert_eq!(found.status.code(), Some(2), "{text}");
        let words = format!(
            "20 stops of this check, such as this one, are in the protocol of 2025-06-15 already: `{name}`"
        );
        assert!(text.contains("asked-twice") && text.contains(&words), "{text}");
        anew(folder.path());
        let found = standstill(folder.path(), &["measured", FAILING, "--before", &name, "--json"]);
        let text = printed(&found);
        let json: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(json["trend"]["checks"].as_array().unwrap().len(), 2, "{text}");
        // the same stops but for their last digit: no trend
        assert!(json["trend"]["a_year"].as_f64().unwrap().abs() < 2e-3);
    }
    // 100 ms less a year before: the rest of the allowance lasts spare / 0.1 s years
    let before = fs::read_to_string(folder.path().join("before.json")).unwrap();
    let mut before: serde_json::Value = serde_json::from_str(&before).unwrap();
    let figure = before["stopping_time"]["value"].as_f64().unwrap();
    before["stopping_time"]["value"] = serde_json::json!(figure - 0.1);
    for condition in before["conditions"].as_array_mut().unwrap() {
        let figure = condition["figure"].as_f64().unwrap();
        condition["figure"] = serde_json::json!(figure - 0.1);
    }
    before["seal"] = seal_of_json(&before).into();
    fs::write(folder.path().join("earlier.json"), before.to_string()).unwrap();
    let found =
        standstill(folder.path(), &["measured", FAILING, "--before", "earlier.json", "--json"]);
    let json: serde_json::Value = serde_json::from_str(&printed(&found)).unwrap();
    let spare = json["distance"]["results"]
        .as_array()
        .unwrap()
        .iter()
        .find(|it| it["name"] == "t_spare")
        .unwrap()["value"]["number"]
        .as_f64()
        .unwrap()
        / 1e3;
    // 365 days for 0.1 s; counted in whole days
    let days = (spare / 0.1 * 365.0).floor();
    let used = json["trend"]["used_up"].as_str().unwrap();
    // 2028 has a day more
    let year = (2026..).zip([199.0, 564.0, 930.0, 1295.0]).find(|it| days <= it.1).unwrap().0;
    assert!(used.starts_with(&format!("{year}-")), "{used}, {days} days after 2026-06-15");
    let other = standstill(
        folder.path(),
        &["measured", FAILING, "--before", "earlier.json", "machine=another"],
    );
    assert_eq!(other.status.code(), Some(2));
    assert!(printed(&other).contains("protocol-mismatch"));
}

#[test]
fn nine_stops_are_refused_and_nothing_is_written() {
    let folder = copied();
    let path = folder.path().join("examples/measured-stops/cold.csv");
    let text = fs::read_to_string(&path).unwrap();
    // the tenth stop begins at nine minutes
    let cut: String = text
        .lines()
        .filter(|line| {
            line.split(';')
                .next()
                .and_then(|it| it.parse::<f64>().ok())
                .is_none_or(|it| it < 540_000.0)
        })
        .map(|line| format!("{line}\n"))
        .collect();
    fs::write(&path, cut).unwrap();
    let found = standstill(folder.path(), &["measured", STOPS, "-o", "protocol.xlsx"]);
    assert_eq!(found.status.code(), Some(2));
    let text = printed(&found);
    assert!(
        text.contains("error too-few-values: 9 stops of `cold`, and every condition needs 10"),
        "{text}"
    );
    assert!(!folder.path().join("protocol.xlsx").exists());
}

#[test]
fn a_recording_in_a_workbook_gives_the_same_figures() {
    let folder = copied();
    standstill(folder.path(), &["measured", STOPS, "-o", "text.json"]);
    for name in ["cold", "warm", "loaded"] {
        let path = folder.path().join(format!("examples/measured-stops/{name}.csv"));
        let mut book = rust_xlsxwriter::Workbook::new();
        let tab = book.add_worksheet();
        for (row, line) in (0_u32..).zip(fs::read_to_string(&path).unwrap().lines()) {
            for (column, field) in (0_u16..).zip(line.split(';')) {
                match field.parse::<f64>() {
                    Ok(number) => tab.write_number(row, column, number).unwrap(),
                    Err(_) => tab.write_string(row, column, field).unwrap(),
                };
            }
        }
        book.save(path.with_extension("xlsx")).unwrap();
    }
    let plan = folder.path().join("examples/measured-stops/books.toml");
    let text = fs::read_to_string(folder.path().join(STOPS)).unwrap().replace(".csv\"", ".xlsx\"");
    fs::write(&plan, text).unwrap();
    standstill(
        folder.path(),
        &["measured", "examples/measured-stops/books.toml", "-o", "book.json"],
    );
    let (a, b) = (json(&folder.path().join("text.json")), json(&folder.path().join("book.json")));
    assert_eq!(a["stopping_time"], b["stopping_time"]);
    assert_eq!(a["conditions"][1]["stops"][4]["turned"], b["conditions"][1]["stops"][4]["turned"]);
}

/// What is wrong with the sheets of a plan is an error at its line, and no protocol is written.
#[test]
fn a_plan_whose_sheets_are_wrong_writes_nothing() {
    let folder = copied();
    let plan = folder.path().join(FAILING);
    let good = fs::read_to_string(&plan).unwrap();
    for (from, to, words) in [
        (
            "t_k      = \"measured times\"",
            "t_k      = \"312 ms\"",
            "recording-plan: no input of `distance` takes the measured times",
        ),
        (
            "u        = \"measured uncertainty\"",
            "u        = \"0 ms\"",
            "recording-plan: no input of `distance` takes the uncertainty",
        ),
        ("Z        = \"0 mm\"", "Z        = \"0 mm +5 mm -0 mm\"", "`Z` has a tolerance"),
        ("\"calculated fails\"", "\"calculated fail\"", "did you mean `calculated fails`?"),
        ("sheet    = \"ramp-then-release\"", "sheet    = \"ramp-then-relase\"", "unknown-sheet"),
        (
            "works    = \"t_ramp_works\"", "works    = \"t_ramp_work\"",
            "did you mean `t_ramp_works`?",
        ),
        ("works    = \"t_ramp_works\"", "works    = \"n_left\"", "gives no stopping time `n_left`"),
        ("J_ref    = \"0.0101 kg·m² ± 3 %\"", "J_ref    = \"0.0101 kg\"", "unit-mismatch"),
        ("S_built  = \"2500 mm\"\n", "", "missing-input"),
        ("file = \"cold-off.csv\"", "file = \"cold-of.csv\"", "unreadable-file"),
        ("condition = \"cold\"", "conditon = \"cold\"", "a recording has no `conditon`"),
        ("standstill = \"10 r/min\"", "standstil = \"10 r/min\"", "did you mean `standstill`?"),
        ("error      = \"2 r/min\"", "error      = 2", "is not a text in quotes"),
        ("[calculation]", "[calculation", "the plan cannot be read"),
    ] {
        assert!(good.contains(from), "{from}");
        fs::write(&plan, good.replacen(from, to, 1)).unwrap();
        let found = standstill(folder.path(), &["measured", FAILING, "-o", "protocol.xlsx"]);
        let text = printed(&found);
        assert!(matches!(found.status.code(), Some(2..=4)), "{to}: {text}");
        assert!(text.contains(words), "{to}:\n{text}");
        assert!(text.contains("remedy: "), "{to}:\n{text}");
        assert!(!folder.path().join("protocol.xlsx").exists(), "{to}");
    }
}

/// Ten good stops are no protocol where the distance is compared with a failing ramp that nobody recorded, where they
/// began slower than was calculated for, or where the calculation fails by itself.
#[test]
fn stops_that_show_another_case_do_not_pass() {
    let folder = copied();
    let plan = folder.path().join(STOPS);
    let shipped = fs::read_to_string(&plan).unwrap();
    let failing = "[[recordings]]\nfile = \"loaded.csv\"\ncondition = \"warm, loaded\"\n";
    assert!(shipped.contains(failing) && shipped.contains("\"calculated fails\""));
    let working = shipped
        .replace(failing, "")
        .replace("\"calculated fails\"", "\"calculated works\"")
        .replace("\"20 ms\"", "\"28 ms\"");
    let run = |text: &str| {
        fs::write(&plan, text).unwrap();
        let output = standstill(folder.path(), &["measured", STOPS]);
        (output.status.code(), printed(&output))
    };
    let (code, text) = run(&working);
    assert!(code == Some(0) && text.contains("passed"), "{text}");
    for (text, found) in [
        (shipped.replace(failing, ""), "stops whose ramp fails were recorded"),
        (
            working.replace("n_0      = \"1450 r/min\"", "n_0      = \"1700 r/min\""),
            "the stops begin at the speed of the calculation",
        ),
        (
            working.replace("[calculation]\n", "[calculation]\nt_delay_used = \"300 ms\"\n"),
            "the calculation holds its own checks",
        ),
    ] {
        let (code, printed) = run(&text);
        assert_eq!(code, Some(1), "{found}: {printed}");
        assert!(printed.contains("NOT PASSED") && printed.contains(found), "{found}: {printed}");
    }
}

/// Several plans are one table: a distance for what is released alone, a row for what cannot be judged.
#[test]
fn several_plans_are_a_line_of_machines() {
    let plan = |name: &str| format!("examples/measured-stops/{name}.toml");
    let (coasting, stops) = (plan("coasting"), plan("stops"));
    let ran = |words: &[&str]| {
        let output = standstill(Path::new(env!("CARGO_MANIFEST_DIR")), words);
        let text = |of: &[u8]| String::from_utf8(of.to_vec()).unwrap();
        (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
    };
    let (code, out, problems) = ran(&["measured", &coasting, &stops]);
    assert_eq!(code, 1, "{out}{problems}");
    let row = |name: &str| out.lines().find(|it| it.trim_start().starts_with(name)).unwrap();
    assert!(out.starts_with("NOT PASSED or NOT CONFIRMED: 1 of 2 plans"), "{out}");
    assert!(row(&coasting).contains(" mm ") && row(&coasting).contains("passed"), "{out}");
    assert!(!row(&stops).contains(" mm ") && row(&stops).contains("NOT PASSED"), "{out}");
    let (code, out, problems) = ran(&["measured", &coasting, "examples/none.toml"]);
    assert!(code > 1 && out.contains("NO PROTOCOL: 1 problem"), "{out}{problems}");
    for one in ["--stops", "machine=saw"] {
        let (code, out, problems) = ran(&["measured", &coasting, &stops, one]);
        let said = format!("{out}{problems}");
        assert!(code > 1 && said.contains("belongs to one plan"), "{one}: {said}");
    }
    let (code, ..) = ran(&["measured", &coasting, &coasting]);
    assert!(code > 1);
    assert!(problems_name_their_plan(&ran(&["measured", &coasting, "examples/none.toml"]).2));
    let folder = copied();
    let text = fs::read_to_string(folder.path().join(&coasting)).unwrap();
    let machine = text.lines().find(|it| it.starts_with("machine")).unwrap();
    let other = text.replace(machine, "machine = \"another saw (invented)\"");
    fs::write(folder.path().join(plan("other")), other).unwrap();
    let output = standstill(folder.path(), &["measured", &coasting, &plan("other")]);
    let said = printed(&output);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("other.toml` holds") && said.contains("of `examples"), "{said}");
    let next = text.lines().find(|it| it.starts_with("next")).unwrap();
    let late = text.replace(next, "next = \"2026-06-16\"").replace("\"44 ms\"", "\"20 ms\"");
    fs::write(folder.path().join(plan("other")), late).unwrap();
    let output = standstill(folder.path(), &["measured", &coasting, &plan("other")]);
    let said = printed(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.lines().next().unwrap().contains("OVERDUE: 1"), "{said}");
}

fn problems_name_their_plan(problems: &str) -> bool {
    problems.lines().any(|it| it.starts_with("error") && it.contains(": `examples/none.toml`: "))
}
