//! What a run has to say beside its figures, through every door: doors × kinds of remark.
//!
//! A kind is the slip that brings it about and the words by which it is known; each is laid once for values that are
//! typed, once in a workbook and once in a table of variants, and every door must show it, on standard output or in the
//! workbook that is made. No figure is looked at.

use std::fs;
use std::path::Path;

use super::manners::with_input;
use super::standstill;

const SHEET: &str = "sheet turning\ntitle \"A turning load\"\nsource \"t = J·ω/T; by hand\"\ntakes\n  \
    J : inertia in kg·m² above 0 kg·m² like 0.02 kg·m²  \"inertia\"\n  \
    n : speed of rotation in r/min above 0 r/min like 1450 r/min  \"speed\"\n  \
    T : torque in N·m above 0 N·m like 4 N·m  \"braking torque\"\n  \
    w : one of plain, guarded = plain  \"what stands around it\"\n  \
    H : length in mm = 0 mm from 0 mm to 1 m  \"height; counts for guarded\"\n  \
    t_0 : time in ms = 10 ms from 0 ms like 12 ms  \"response\"\n  \
    L : length in mm above 0 mm like 20 mm  \"length; counts for guarded\"\nworks\n  \
    t = J * n / T + t_0  \"time of the stop\"\n  \
    more = when w is guarded and H + L > 200 mm : 1 s\n         otherwise : 0 s\n  \
    t_all = t + more\nholds\n  t_all <= 1 h  \"quick enough\"  else \"brake harder\"\ngives\n  t_all in s\n";

/// How the inputs of a run differ from those that nothing is said of, and what is said.
struct Kind {
    words: &'static str,
    /// Input and value, as typed.
    typed: Option<(&'static str, &'static str)>,
    /// What stands in standstill.toml.
    settings: &'static str,
    /// Words behind the unit of `J` in a workbook or in the head of a table.
    beside: &'static str,
}

const NOTHING: Kind = Kind { words: "", typed: None, settings: "", beside: "" };

/// Kinds that any run can have.
const KINDS: [Kind; 5] = [
    // 4 kN·m beside an example of 4 N·m
    Kind { words: "is it in N·m?", typed: Some(("T", "4 kN·m")), ..NOTHING },
    Kind { words: "`RPM` is read as", typed: Some(("n", "1440 RPM")), ..NOTHING },
    Kind {
        words: "nothing that is calculated here depends on it",
        typed: Some(("H", "300 mm")),
        ..NOTHING
    },
    // an input without a default, which nobody need give in this case
    Kind {
        words: "nothing that is calculated here depends on it",
        typed: Some(("L", "30 mm")),
        ..NOTHING
    },
    Kind { words: "`t_0` is 10 s", settings: "[defaults]\nt_0 = \"10 s\"\n", ..NOTHING },
];

/// Kinds of a workbook.
const OF_A_BOOK: Kind =
    Kind { words: "the remark \"wrong, use 0.5\"", beside: "\"wrong, use 0.5\"", ..NOTHING };

const PLAIN: [(&str, &str); 3] = [("J", "0.03 kg·m²"), ("n", "1440 r/min"), ("T", "5 N·m")];

fn values(kind: &Kind) -> Vec<(&'static str, &'static str)> {
    let mut all = PLAIN.to_vec();
    if let Some((name, value)) = kind.typed {
        all.retain(|(known, _)| *known != name);
        all.push((name, value));
    }
    all
}

fn laid(kind: &Kind) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    put("turning.sheet", SHEET);
    if !kind.settings.is_empty() {
        put("standstill.toml", kind.settings);
    }
    let (mut block, mut line) = ("sheet turning\n".to_owned(), "sheet turning\n".to_owned());
    for (name, value) in values(kind) {
        let (number, unit) = value.split_once(' ').unwrap();
        let beside = if name == "J" { kind.beside } else { "" };
        let row = format!("{name},{number},{unit},{beside}\n");
        block += &row;
        // the speed has a column
        if name != "n" {
            line += &row;
        }
    }
    put("block.csv", &format!("{block}t_all,,s\n"));
    let unit = kind.typed.filter(|it| it.0 == "n").map_or("r/min", |_| "RPM");
    put("line.csv", &format!("{line}\nname,n / ({unit}),t_all / s\nA,1440,\nB,1460,\n"));
    folder
}

/// What is in a workbook, as text.
fn cells(path: &Path) -> String {
    use calamine::{Data, Reader as _};
    let mut book = calamine::open_workbook_auto(path).unwrap();
    let range = book.worksheet_range("results").unwrap();
    let texts = range.used_cells().filter(|(.., cell)| **cell != Data::Empty);
    texts.map(|(.., cell)| cell.to_string() + "\n").collect()
}

/// What a door shows where somebody reads who keeps its output; the workbook where it makes one.
fn shown(folder: &Path, words: &[&str]) -> String {
    let output = standstill(folder, words);
    let text = String::from_utf8(output.stdout).unwrap();
    let book = words.iter().find(|it| it.ends_with("made.xlsx"));
    if words.contains(&"--json") {
        let json: serde_json::Value = serde_json::from_str(&text).unwrap();
        return remarks(&json);
    }
    match book.filter(|_| words.contains(&"run")) {
        Some(book) => cells(&folder.join(book)),
        None => text,
    }
}

/// The lists of remarks in a document.
fn remarks(json: &serde_json::Value) -> String {
    match json {
        serde_json::Value::Object(all) => {
            let one = |(key, value): (&String, &serde_json::Value)| match key.as_str() {
                "remarks" => value.to_string().replace("\\\"", "\""),
                _ => remarks(value),
            };
            all.iter().map(one).collect()
        }
        serde_json::Value::Array(all) => all.iter().map(remarks).collect(),
        _ => String::new(),
    }
}

/// The ways to look at one calculation.
const WAYS: [&[&str]; 9] = [
    &[],
    &["--json"],
    &["--worst"],
    &["--worst", "--json"],
    &["--slopes"],
    &["--slopes", "--json"],
    &["--spread", "10"],
    &["--spread", "10", "--json"],
    &["-o", "made.xlsx", "--force"],
];

/// Asks for the time of the response, of which nothing is said.
const QUESTION: [&str; 12] = [
    "t_all<=20 s", "by", "t_0", "from", "0 ms", "to", "1 s", "in", "steps", "of", "0.1 s",
    "largest",
];

/// Another question, where the response is what is said something of.
const OF_SPEED: [&str; 12] = [
    "t_all<=20 s", "by", "n", "from", "1400 r/min", "to", "1500 r/min", "in", "steps", "of",
    "10 r/min", "largest",
];

fn question(kind: &Kind) -> &'static [&'static str] {
    if kind.settings.is_empty() { &QUESTION } else { &OF_SPEED }
}

/// Every way to run one calculation whose inputs come as `begins` says.
fn each_way(folder: &Path, begins: &[&str], question: Option<&[&str]>, wanted: &[&str]) {
    let mut doors: Vec<Vec<&str>> =
        WAYS.iter().map(|more| [&["run", "turning"], begins, more].concat()).collect();
    for more in question.into_iter().flat_map(|_| [&[][..], &["--json"]]) {
        doors.push([&["design", "turning"], question.unwrap_or_default(), begins, more].concat());
    }
    for door in doors {
        let shown = shown(folder, &door);
        for words in wanted {
            assert!(shown.contains(words), "{door:?} does not say {words:?}: {shown}");
        }
    }
}

#[test]
fn every_door_says_it_of_values_that_are_typed() {
    for kind in &KINDS {
        let folder = laid(kind);
        let folder = folder.path();
        let words: Vec<String> =
            values(kind).iter().map(|(name, value)| format!("{name}={value}")).collect();
        let typed: Vec<&str> = words.iter().map(String::as_str).collect();
        let question = kind.settings.is_empty().then_some(&QUESTION[..]);
        each_way(folder, &typed, question, &[kind.words]);
        // a review keeps the strict notation
        if !kind.words.contains("RPM") {
            let lines: String =
                values(kind).iter().map(|(name, value)| format!("{name} = {value}\n")).collect();
            let text = format!("# Review\n\n```sheet turning as it\n{lines}show results\n```\n");
            fs::write(folder.join("review.md"), text).unwrap();
            for (more, kept) in
                [(["-o", "made.html"], "made.html"), (["--to", "md"], "review.review.md")]
            {
                let printed = shown(folder, &[&["review", "review.md"], &more[..]].concat());
                assert!(printed.contains(kind.words), "{kept}: {printed}");
                let page = fs::read_to_string(folder.join(kept)).unwrap();
                let page = page.replace("\u{a0}", " ").replace(['\\', '`'], "");
                let words = kind.words.replace('`', "");
                assert!(page.contains(&words), "{kept} does not say {words:?}");
            }
        }
        let row: serde_json::Map<String, serde_json::Value> =
            values(kind).into_iter().map(|(name, value)| (name.to_owned(), value.into())).collect();
        let asked = serde_json::json!({ "sheet": "turning", "rows": [row] }).to_string();
        let answer = with_input(folder, &["run", "-"], &asked).stdout;
        let answer = remarks(&serde_json::from_slice(&answer).unwrap());
        assert!(answer.contains(kind.words), "{}: {answer}", kind.words);
    }
}

#[test]
fn every_door_says_it_of_values_of_a_workbook() {
    for kind in KINDS.iter().chain([&OF_A_BOOK]) {
        let folder = laid(kind);
        let folder = folder.path();
        let from = ["--from", "block.csv"];
        let origin = "inputs from block.csv";
        each_way(folder, &from, Some(question(kind)), &[kind.words, origin]);
        let over = ["--from", "block.csv", "J=0.04 kg·m²"];
        let over_words = "typed in the place of those there: J";
        let wanted = [kind.words, over_words];
        let wanted = if kind.beside.is_empty() { &wanted[..] } else { &wanted[1..] };
        each_way(folder, &over, None, wanted);
        for more in [&[][..], &["--json"]] {
            let door = [&["fill", "block.csv", "-o", "made.xlsx", "--dry-run"], more].concat();
            let shown = shown(folder, &door);
            assert!(shown.contains(kind.words), "{door:?} does not say {:?}: {shown}", kind.words);
        }
    }
}

#[test]
fn every_door_says_it_of_a_table_of_variants() {
    for kind in KINDS.iter().chain([&OF_A_BOOK]) {
        let folder = laid(kind);
        let folder = folder.path();
        let row = ["--from", "line.csv", "--row", "2"];
        let origin = "inputs from line.csv, variant 2: B (row";
        each_way(folder, &row, Some(question(kind)), &[kind.words, origin]);
        let words = kind.words.replace("here ", "");
        let line = [&["design", "turning"], question(kind), &["--line", "line.csv"]].concat();
        let doors =
            [vec!["range", "line.csv", "--dry-run"], vec!["range", "line.csv", "--slopes"], line];
        for door in &doors {
            for more in [&[][..], &["--json"]] {
                let door = [door, more].concat();
                let shown = shown(folder, &door);
                let said = shown.contains(kind.words) || shown.contains(&words);
                assert!(said, "{door:?} does not say {words:?}: {shown}");
            }
        }
    }
}

/// A row says in its status what words leave out there; the others say nothing.
#[test]
fn the_status_of_a_row_says_what_has_no_effect_there() {
    let folder = laid(&NOTHING);
    let folder = folder.path();
    let table = "sheet turning,,,,,\nJ,0.03,kg·m²,,,\nT,5,N·m,,,\nL,20,mm,,,\n,,,,,\nname,n / (r/min),w,H / mm,t_all / s,status\n\
        A,1440,plain,300,,\nB,1440,guarded,300,,\nC,1440,plain,0,,\n";
    fs::write(folder.join("mixed.csv"), table).unwrap();
    for worst in [&[][..], &["--worst"]] {
        let words = [&["range", "mixed.csv", "-o", "out.csv", "--force"], worst].concat();
        let said = shown(folder, &words);
        assert!(said.contains("in A (row 7) nothing that is calculated depends on it"), "{said}");
        let written = fs::read_to_string(folder.join("out.csv")).unwrap();
        let marked: Vec<&str> =
            written.lines().filter(|it| it.contains("without effect")).collect();
        assert_eq!(marked.len(), 1, "{written}");
        assert!(marked[0].starts_with("A,") && marked[0].contains("without effect here: H"));
        // a second run knows its own status
        let again = standstill(folder, &[&["range", "out.csv", "--check"], worst].concat());
        assert_eq!(again.status.code(), Some(0), "{again:?}");
    }
}

/// Values left at the example: of a form each, of a product line where some are shared by all variants.
#[test]
fn every_door_says_which_values_are_left_at_the_example() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let head = "sheet mechanical-brake-stop\nT_load,-3,N·m\nt_resp,75,ms\nt_build,35,ms\nn_max,1800,r/min\nE_max,500,J\nT_b,26,N·m\n\n";
    let table = "drive,J / (kg·m²),n_0 / (r/min),T_f / (N·m),t_stop / s\na,0.02,960,0.9,\nb,0.021,970,0.8,\n";
    fs::write(folder.join("line.csv"), format!("{head}{table}")).unwrap();
    let words = "n_max, E_max, T_load are as in the sheet's example";
    for more in [&[][..], &["--json"]] {
        for door in [
            &["range", "line.csv", "--dry-run"][..],
            &["range", "line.csv", "--slopes"],
            &["run", "mechanical-brake-stop", "--from", "line.csv", "--row", "1"],
        ] {
            let shown = shown(folder, &[door, more].concat());
            assert!(shown.contains(words), "{door:?}{more:?}: {shown}");
        }
    }
    // one or two may be chance
    let others = head.replace("-3,", "-4,").replace("1800", "2100");
    fs::write(folder.join("line.csv"), format!("{others}{table}")).unwrap();
    let shown = shown(folder, &["range", "line.csv", "--dry-run"]);
    assert!(!shown.contains("example"), "{shown}");
}

/// A word that a program asks for bears one type wherever it stands.
#[test]
fn a_key_of_the_verdict_has_one_type_in_every_document() {
    let folder = laid(&NOTHING);
    let folder = folder.path();
    let typed = PLAIN.map(|(name, value)| format!("{name}={value}"));
    let typed: Vec<&str> = typed.iter().map(String::as_str).collect();
    let mut doors: Vec<Vec<&str>> = vec![
        vec!["show", "turning", "--json"],
        vec!["fill", "block.csv", "-o", "made.xlsx", "--dry-run", "--json"],
        vec!["range", "line.csv", "--dry-run", "--json"],
        vec!["range", "line.csv", "--slopes", "--json"],
        [&["design", "turning"], &QUESTION[..], &["--line", "line.csv", "--json"]].concat(),
        [&["design", "turning"], &typed[..], &QUESTION[..], &["--json"]].concat(),
    ];
    let json = WAYS.iter().filter(|more| more.contains(&"--json"));
    doors.extend(json.map(|more| [&["run", "turning"], &typed[..], more].concat()));
    let mut known = std::collections::BTreeMap::new();
    for door in doors {
        let output = standstill(folder, &door).stdout;
        let json: serde_json::Value = serde_json::from_slice(&output).unwrap();
        kinds(&json, &mut |key, kind| {
            if ["holds", "fails", "cautions", "remarks", "checks", "written"].contains(&key) {
                let before = *known.entry(key.to_owned()).or_insert(kind);
                assert_eq!(before, kind, "`{key}` in {door:?}");
            }
        });
    }
    assert_eq!(known.get("holds"), Some(&"boolean"), "{known:?}");
    assert!(known.len() > 4, "{known:?}");
}

fn kinds(json: &serde_json::Value, each: &mut dyn FnMut(&str, &'static str)) {
    use serde_json::Value;
    match json {
        Value::Object(all) => {
            for (key, value) in all {
                let kind = match value {
                    Value::Bool(_) => "boolean",
                    Value::Number(_) => "number",
                    Value::String(_) => "text",
                    Value::Array(_) => "list",
                    Value::Object(_) | Value::Null => "object",
                };
                each(key, kind);
                kinds(value, each);
            }
        }
        Value::Array(all) => all.iter().for_each(|it| kinds(it, each)),
        _ => {}
    }
}

/// What all rows share is given once: a row that says it again is refused, as what is typed and stands there too.
#[test]
fn a_row_does_not_replace_what_all_rows_share() {
    let folder = laid(&NOTHING);
    let asked = r#"{"sheet": "turning", "inputs": {"J": "0.03 kg·m²", "n": "1440 r/min", "T": "5 N·m"}, "rows": [{"T": "50 N·m"}, {}]}"#;
    let output = with_input(folder.path(), &["run", "-"], asked);
    assert_eq!(output.status.code(), Some(2));
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["rows"][0]["problems"][0]["name"], "asked-twice", "{answer}");
    assert_eq!(answer["rows"][1]["holds"], true, "{answer}");
}
