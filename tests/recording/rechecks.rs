//! A check held against earlier ones: the same conditions, each against itself, measured alike and in time.

use std::fs;
use std::path::Path;

use standstill::recording::{earlier, seal_of_json};

use super::OneFile;
use super::doubted::{Even, SAW, Saw};
use super::example::{STOPS, copied, printed, standstill};
use super::held::COASTS;

/// The plan of a check in a year, with its conditions.
fn plan(year: u32, conditions: &[&str]) -> String {
    let files: String = conditions
        .iter()
        .enumerate()
        .map(|(at, it)| format!("[[recordings]]\nfile = \"{at}.csv\"\ncondition = \"{it}\"\n"))
        .collect();
    COASTS
        .replacen("[[recordings]]\nfile = \"saw.csv\"\ncondition = \"coasting\"\n", &files, 1)
        .replacen("\"2026-03-02\"", &format!("\"{year}-03-02\""), 1)
        .replacen("\"2027-06-15\"", &format!("\"{}-06-15\"", year + 1), 1)
        .replacen("\"2026-06-15\"", &format!("\"{year}-06-15\""), 1)
        .replacen("T_0 = \"1.6 N·m\"", "T_0 = \"1.4 N·m\"", 1)
}

/// Makes a check: a friction for each condition.
fn check(
    folder: &Path,
    plan: &str,
    seed: u64,
    frictions: &[f64],
    words: &[&str],
) -> (Option<i32>, String) {
    for (at, friction) in frictions.iter().enumerate() {
        let seed = 1000 * seed + u64::try_from(at).unwrap();
        let text = Saw { friction: *friction, seed, ..SAW }.recorded(&|speed, noise| speed + noise);
        fs::write(folder.join(format!("{at}.csv")), text).unwrap();
    }
    fs::write(folder.join("plan.toml"), plan).unwrap();
    let force: &[&str] = if words.contains(&"-o") { &["--force"] } else { &[] };
    let output = standstill(folder, &[&["measured", "plan.toml"], force, words].concat());
    (output.status.code(), printed(&output).split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Another speed, a setting or an input of the distance: each is said with both values, and stops from another speed make
/// no trend. What was left out stays known.
#[test]
fn what_is_said_and_the_speed_are_held_against_the_check_before() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let both = plan(2024, &["idle", "warm, loaded"]);
    let (code, text) =
        check(folder, &both, 1, &[1.72, 1.6], &["-o", "2024.xlsx", "-o", "2024.json"]);
    assert_eq!(code, Some(0), "{text}");
    let left_out = "[left_out]\n\"warm, loaded\" = \"REASON\"\n";
    for ending in ["xlsx", "json"] {
        let (before, then) = (format!("2024.{ending}"), format!("2025.{ending}"));
        for (reason, code) in [("", 2), ("-", 2), ("the blade is lighter now", 0)] {
            let plan = plan(2025, &["idle"]) + &left_out.replace("REASON", reason);
            let (found, text) =
                check(folder, &plan, 2, &[1.66], &["--before", &before, "-o", &then]);
            assert_eq!(found, Some(code), "{reason}: {text}");
        }
        // the earlier protocol forgotten
        let forgotten = plan(2025, &["idle"]) + &left_out.replace("REASON", "lighter now");
        let (found, text) = check(folder, &forgotten, 2, &[1.66], &[]);
        assert!(found == Some(2) && text.contains("`--before FILE`"), "{text}");
        let idle = plan(2026, &["idle"]);
        let slower = idle.replace("n_0 = \"1450 r/min\"", "n_0 = \"1400 r/min\"");
        for (plan, words) in [
            (idle.clone(), "FAILS every condition that was measured before is measured now"),
            (
                idle.replace("t_device = \"44 ms\"", "t_device = \"4 ms\""),
                "`distance: t_device`: 44 ms then, 4 ms now",
            ),
            (slower, "`calculation: n_0`: 1450 r/min then, 1400 r/min now"),
            (idle.replace("T_0 = \"1.4 N·m\"", "T_0 = \"1.3 N·m\""), "`calculation: T_0`: 1.4 N·m"),
            (
                idle + "[settings]\nT_load = \"0 N·m\"\n",
                "`settings: T_load`: not said then, 0 N·m now",
            ),
        ] {
            let (_, text) = check(folder, &plan, 3, &[1.66], &["--before", &then]);
            assert!(text.contains(words), "{words}: {text}");
        }
        let text =
            Saw { friction: 1.6, seed: 9, ..SAW }.recorded(&|speed, noise| speed * 0.9 + noise);
        fs::write(folder.join("0.csv"), text).unwrap();
        let output = standstill(folder, &["measured", "plan.toml", "--before", &then]);
        let text = printed(&output).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("`speed before the stops under idle`: 1450.0"), "{text}");
        assert!(!text.contains("the allowance lasts"), "{text}");
    }
}

const MISSING: &str = "every condition that was measured before is measured now";

/// A condition that is not measured again: it may be the one that decides.
#[test]
fn a_condition_of_an_earlier_check_is_measured_again_or_said() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let both = plan(2025, &["idle", "warm, loaded"]);
    let files = ["-o", "then.json", "-o", "then.xlsx"];
    let (code, text) = check(folder, &both, 1, &[1.72, 1.6], &files);
    assert_eq!(code, Some(0), "{text}");
    let idle = plan(2026, &["idle"]);
    let loaded = plan(2026, &["warm, loaded"]);
    let left_out = "[left_out]\n\"warm, loaded\" = \"the blade is lighter now\"\n";
    for before in ["then.json", "then.xlsx"] {
        for (plan, frictions, code, words) in [
            // the longer one is missing, whatever became of the other
            (
                idle.clone(),
                &[1.66][..],
                1,
                "FAILS every condition that was measured before is measured now: not measured now: `warm, loaded`: ",
            ),
            (
                loaded.clone(),
                &[1.6],
                1,
                "look every condition that was measured before is measured now: not confirmed: not measured now: `idle`: ",
            ),
            (
                idle.clone() + left_out,
                &[1.66],
                0,
                "look conditions that are left out: `warm, loaded`: ",
            ),
            (
                idle.clone() + "[left_out]\n\"warm\" = \"other\"\n",
                &[1.66],
                2,
                "`warm` is left out, and is no condition of an earlier check",
            ),
            (
                loaded.clone() + "[left_out]\n\"Warm (loaded)\" = \"it is light\"\n",
                &[1.6],
                2,
                "is left out, and is measured now",
            ),
            // other words for the same
            (
                plan(2026, &["Idle", "loaded; warm"]),
                &[1.72, 1.6],
                0,
                "holds the allowance lasts until the next check",
            ),
            (
                plan(2026, &["idle", "warm, loaded"]),
                &[1.72, 1.6],
                0,
                "holds the allowance lasts until the next check",
            ),
            (
                plan(2026, &["idle", "warm, loaded", "cold"]),
                &[1.72, 1.6, 1.65],
                0,
                "holds the allowance lasts until the next check",
            ),
        ] {
            let (found, text) = check(folder, &plan, 2, frictions, &["--before", before]);
            assert_eq!(found, Some(code), "{before}: {text}");
            assert!(text.contains(words), "{before}: {words}: {text}");
            assert_eq!(text.contains(MISSING), words.contains(MISSING), "{before}: {text}");
        }
    }
}

/// Checks from year to year, each with the protocol of the year before alone, under some conditions or all: none passes
/// that leaves out what any check before it had measured and its plan does not explain.
#[test]
fn what_was_ever_measured_is_measured_or_explained_at_every_check() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let names = ["idle", "warm, loaded"];
    let [mut passed, mut failed] = [0, 0];
    for (seed, ending) in [(1_u64, "xlsx"), (2, "json")] {
        let mut even = Even(1600 + seed);
        let mut known: Vec<usize> = Vec::new();
        for year in 2024..2030 {
            let mut now: Vec<usize> =
                (0..2).filter(|_| year == 2024 || even.next() < 0.5).collect();
            if now.is_empty() {
                now.push(0);
            }
            let named: Vec<&str> = now.iter().map(|at| names[*at]).collect();
            let open: Vec<usize> = known.iter().copied().filter(|at| !now.contains(at)).collect();
            let explained = !open.is_empty() && even.next() < 0.4;
            let mut text = plan(year, &named);
            if explained {
                let line = |at: &usize| format!("\"{}\" = \"never any more\"\n", names[*at]);
                text += &format!("[left_out]\n{}", open.iter().map(line).collect::<String>());
            }
            let frictions: Vec<f64> = now.iter().map(|at| [1.72, 1.6][*at]).collect();
            let (then, to) = (format!("{}.{ending}", year - 1), format!("{year}.{ending}"));
            let before: &[&str] = if year == 2024 { &[] } else { &["--before", &then] };
            let words = [before, &["-o", &to]].concat();
            let (code, text) =
                check(folder, &text, 50 * seed + u64::from(year), &frictions, &words);
            let right = open.is_empty() || explained;
            assert_eq!(code, Some(i32::from(!right)), "{year} {named:?} {explained}: {text}");
            passed += u32::from(right);
            failed += u32::from(!right);
            known.extend(now.iter().filter(|at| !known.contains(at)).copied().collect::<Vec<_>>());
        }
    }
    assert!(passed > 3 && failed > 2, "{passed} {failed}");
}

/// Every key of a protocol for a program is in the schema of what is printed.
#[test]
fn every_key_of_a_protocol_is_in_the_schema() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../src/report/schema.json")).unwrap();
    let both = plan(2025, &["idle", "warm, loaded"]);
    let (code, text) = check(folder, &both, 1, &[1.72, 1.6], &["-o", "then.json"]);
    assert_eq!(code, Some(0), "{text}");
    let now = plan(2026, &["idle"]).replacen("error =", "recorder = \"none\"\nerror =", 1)
        + "[left_out]\n\"warm, loaded\" = \"the blade is lighter now\"\n";
    let (code, text) = check(folder, &now, 2, &[1.7], &["--before", "then.json", "-o", "now.json"]);
    assert_eq!(code, Some(0), "{text}");
    let copied = copied();
    let shipped = standstill(copied.path(), &["measured", STOPS, "--json"]);
    let files = ["then.json", "now.json"].map(|it| fs::read_to_string(folder.join(it)).unwrap());
    let shipped = String::from_utf8(shipped.stdout).unwrap();
    let mut seen = 0;
    for text in files.iter().chain([&shipped]) {
        let json: serde_json::Value = serde_json::from_str(text).unwrap();
        let mut unknown = Vec::new();
        seen += keys(&json, &[&schema["$defs"]["measured"]], &schema, "", &mut unknown);
        assert!(unknown.is_empty(), "{unknown:?}");
    }
    assert!(seen > 1000, "{seen}");
}

/// How many keys a value has, those that no schema of it names listed.
fn keys(
    json: &serde_json::Value,
    schemas: &[&serde_json::Value],
    whole: &serde_json::Value,
    at: &str,
    unknown: &mut Vec<String>,
) -> usize {
    // what is referred to, and every alternative, counts as well
    let mut all = schemas.to_vec();
    let mut next = 0;
    while let Some(one) = all.get(next).copied() {
        if let Some(name) = one["$ref"].as_str() {
            all.push(whole.pointer(name.trim_start_matches('#')).unwrap());
        }
        for key in ["anyOf", "oneOf"] {
            all.extend(one[key].as_array().into_iter().flatten());
        }
        next += 1;
    }
    match json {
        // what a sheet gives is of the form of `run`
        _ if at == "/distance" => 0,
        serde_json::Value::Object(object) => {
            let mut count = object.len();
            for (key, value) in object {
                let mut known: Vec<&serde_json::Value> =
                    all.iter().filter_map(|it| it["properties"].get(key)).collect();
                known.extend(all.iter().filter_map(|it| it.get("additionalProperties")));
                if known.is_empty() && !(at.is_empty() && key == "format") {
                    unknown.push(format!("{at}/{key}"));
                }
                count += keys(value, &known, whole, &format!("{at}/{key}"), unknown);
            }
            count
        }
        serde_json::Value::Array(values) => {
            let items: Vec<&serde_json::Value> =
                all.iter().filter_map(|it| it.get("items")).collect();
            // a row of values has no keys
            values.iter().map(|it| keys(it, &items, whole, &format!("{at}/0"), unknown)).sum()
        }
        _ => 0,
    }
}

/// Each condition has a trend of its own; the steepest is said, and the first that is used up.
#[test]
fn a_trend_compares_a_condition_with_itself() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let names = ["idle", "warm, loaded"];
    for (year, frictions) in [(2024, [1.80, 1.58]), (2025, [1.74, 1.60])] {
        let name = format!("{year}.xlsx");
        let seed = u64::from(year);
        let (code, text) = check(folder, &plan(year, &names), seed, &frictions, &["-o", &name]);
        assert_eq!(code, Some(0), "{text}");
    }
    let words = ["--before", "2025.xlsx", "--before", "2024.xlsx", "-o", "now.json"];
    let (_, text) = check(folder, &plan(2026, &names), 3, &[1.66, 1.62], &words);
    assert!(text.contains("ms a year under `idle`"), "{text}");
    let json = fs::read_to_string(folder.join("now.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let figure = |it: &serde_json::Value| it[1].as_f64().unwrap();
    let courses = json["trend"]["conditions"].as_array().unwrap();
    assert_eq!(courses.len(), 2);
    for course in courses {
        let checks = course["checks"].as_array().unwrap();
        assert_eq!(checks.len(), 3, "{course}");
        let rises = course["name"] == "idle";
        assert_eq!(figure(&checks[2]) > figure(&checks[1]), rises, "{course}");
        // a straight line by hand: since the last check, 365 of 365.25 days
        let since = (figure(&checks[2]) - figure(&checks[1])) * 365.25 / 365.0;
        assert!(course["a_year"].as_f64().unwrap() >= since - 1e-9, "{course}");
    }
    assert_eq!(json["trend"]["a_year"], courses[0]["a_year"]);
}

/// What is measured in another way, and too late, is said; what is the same in other words is not.
#[test]
fn another_way_of_measuring_and_a_late_check_are_said() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let then = plan(2025, &["idle"]);
    for file in ["then.json", "then.xlsx"] {
        let (code, text) = check(folder, &then, 1, &[1.65], &["-o", file]);
        assert_eq!(code, Some(0), "{text}");
        for (words, said) in [
            (&[][..], ""),
            (&["hold=0.2 s", "error=60 r/h"], ""),
            (&["standstill=12 r/min"], "`standstill`: 10 r/min then, 12 r/min now"),
            (&["instrument=other"], "`instrument`: recorder (invented) then, other now"),
            (&["filter=8 ms"], "`filter`: 5 ms then, 8 ms now"),
            (&["measured=2026-06-16"], "due 2026-06-15, measured 2026-06-16, 1 day late"),
            (
                &["measured=2026-09-15", "next=2027-09-15"],
                "due 2026-06-15, measured 2026-09-15, 92 days late",
            ),
            (&["measured=2026-06-01"], ""),
        ] {
            let all = [&["--before", file], words].concat();
            let (code, text) = check(folder, &plan(2026, &["idle"]), 2, &[1.65], &all);
            assert_eq!(code, Some(0), "{words:?}: {text}");
            assert!(text.contains(said), "{words:?}: {text}");
            let looks = text.contains("it is measured as in the check before")
                || text.contains("the check comes by the day on which it was due");
            assert_eq!(looks, !said.is_empty(), "{words:?}: {text}");
        }
    }
}

/// Every value of a protocol in JSON is sealed: whichever is changed, taken away or added, it is refused; written by
/// another program as it is, it is taken.
#[test]
fn a_protocol_in_json_that_was_changed_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let then = plan(2025, &["idle"]);
    let (code, text) = check(folder.path(), &then, 1, &[1.65], &["-o", "then.json", "--json"]);
    assert_eq!(code, Some(0), "{text}");
    let text = fs::read_to_string(folder.path().join("then.json")).unwrap();
    let read = |text: &str| earlier("then.json", &OneFile::new("then.json", text));
    read(&text).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["seal"], seal_of_json(&json));
    read(&json.to_string()).unwrap();
    // what the terminal prints is the same protocol
    let output = standstill(folder.path(), &["measured", "plan.toml", "--json"]);
    read(&String::from_utf8(output.stdout).unwrap()).unwrap();
    let mut places = Vec::new();
    leaves(&json, String::new(), &mut places);
    assert!(places.len() > 200, "{}", places.len());
    for place in places.iter().filter(|it| *it != "/format") {
        let mut changed = json.clone();
        let value = changed.pointer_mut(place).unwrap();
        *value = match &*value {
            serde_json::Value::String(text) => format!("{text} ").into(),
            serde_json::Value::Number(it) => (it.as_f64().unwrap() * 1.02 + 1e-9).into(),
            serde_json::Value::Bool(truth) => (!truth).into(),
            _ => 1.into(),
        };
        refused(&read(&changed.to_string()).unwrap_err(), place);
    }
    for key in json.as_object().unwrap().keys() {
        let mut changed = json.clone();
        changed.as_object_mut().unwrap().remove(key);
        refused(&read(&changed.to_string()).unwrap_err(), key);
    }
    let mut changed = json.clone();
    changed["other"] = 1.into();
    refused(&read(&changed.to_string()).unwrap_err(), "a key more");
}

fn refused(problems: &standstill::Problems, what: &str) {
    let first = problems.iter().next().unwrap();
    assert!(first.headline.contains("was CHANGED since"), "{what}: {first:?}");
    assert!(first.remedy.contains("measure the machine again"), "{what}: {first:?}");
}

/// Where the values of a document stand.
fn leaves(json: &serde_json::Value, at: String, found: &mut Vec<String>) {
    match json {
        serde_json::Value::Object(all) => {
            for (key, value) in all {
                let key = key.replace('~', "~0").replace('/', "~1");
                leaves(value, format!("{at}/{key}"), found);
            }
        }
        serde_json::Value::Array(all) => {
            for (key, value) in all.iter().enumerate() {
                leaves(value, format!("{at}/{key}"), found);
            }
        }
        _ => found.push(at),
    }
}
