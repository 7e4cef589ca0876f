//! Whatever is asked to be shown of a calculation: which sheets ran, what fails, and what every report says once.

use std::fs;
use std::path::Path;

use sha2::{Digest as _, Sha256};
use standstill::spreadsheet::{Book, Cell};

use super::{output_text, standstill};

const HALF: &str = "sheet half\ntitle \"Half\"\nsource \"of half\"\ncaution \"half is not a whole\"\ntakes\n  \
    d : length in mm\n  k : ratio = 2 above 0 \"divisor\"\nworks\n  h = d / k\ngives\n  h in mm\n";

/// With 60 mm the result is 4 · 60 mm / 2 = 120 mm, and the check fails.
const FAR: &str = "sheet far\ntitle \"Far\"\nsource \"of far\"\nversion \"3\"\ncaution \"far is not near\"\n\
    uses\n  x = own half with d\ntakes\n  d : length in mm like 60 mm\n  spare : length in mm = 0 mm\nworks\n  \
    e = 4 * x.h + spare\nholds\n  e <= 100 mm \"it is near\" else \"move it\"\ngives\n  e in mm\n";

fn laid() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    file("half.sheet", HALF);
    file("far.sheet", FAR);
    file("asks.csv", "sheet own far,,\nd,60,mm\ne,,mm\n");
    file("line.csv", "sheet own far\n\nname,d / mm,e / mm,status\na,60,,\nb,10,,\n");
    for (at, show) in SHOWS.iter().enumerate() {
        let text = format!("# T\n\n```sheet own far as f\nd = 60 mm ± 1 mm\n{show}\n```\n");
        file(&format!("d{at}.md"), &text);
    }
    file("line.md", "# T\n\n```sheet own far as f\nrange line.csv\n```\n");
    folder
}

const SHOWS: [&str; 9] = [
    "show inputs", "show results", "show checks", "show settings", "show picture", "show steps",
    "show worst", "show slopes", "",
];

fn hash(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// All texts of a workbook.
fn texts(path: &Path) -> String {
    let book = Book::read("book.xlsx", &fs::read(path).unwrap()).unwrap();
    let cells = book.tabs.iter().flat_map(|tab| tab.entries());
    let texts = cells.filter_map(|entry| match &entry.cell {
        Cell::Text(text) => Some(text.as_str()),
        _ => None,
    });
    texts.collect::<Vec<_>>().join("\n")
}

#[test]
fn every_report_says_which_sheets_ran_and_what_fails() {
    let folder = laid();
    let at = |name: &str| folder.path().join(name);
    let run = ["run", "far.sheet", "d=60 mm ± 1 mm"];
    let more: [&[&str]; 9] = [
        &[],
        &["--steps"],
        &["--worst"],
        &["--slopes"],
        &["--slopes", "--of", "e"],
        &["--spread", "100"],
        &["--spread", "100", "--of", "e"],
        &["-o", "plain.xlsx"],
        &["-o", "worst.xlsx", "--worst"],
    ];
    let mut commands: Vec<Vec<&str>> = more.iter().map(|more| [&run, *more].concat()).collect();
    commands.push(vec!["fill", "asks.csv", "--dry-run", "-o", "out.xlsx"]);
    commands.push(vec!["fill", "asks.csv", "--dry-run", "-o", "out.xlsx", "--worst"]);
    commands.push(vec!["fill", "asks.csv", "--dry-run", "-o", "out.xlsx", "--only", "far"]);
    commands.push(vec!["range", "line.csv", "--dry-run"]);
    commands.push(vec!["range", "line.csv", "--dry-run", "--worst"]);
    commands.push(vec!["range", "line.csv", "-o", "filled.csv"]);
    let words = ["by", "d", "from", "60 mm", "to", "80 mm", "in", "steps", "of", "10 mm"];
    let none = [&["design", "far.sheet"], words.as_slice()].concat();
    commands.push(none.clone());
    commands.push([none.as_slice(), &["--table"]].concat());
    for words in &commands {
        let plain = standstill(folder.path(), words);
        let text = output_text(&plain);
        assert_eq!(plain.status.code(), Some(1), "{words:?}: {text}");
        let raw = String::from_utf8(plain.stdout).unwrap();
        for sheet in [HALF, FAR] {
            assert!(raw.contains(&hash(sheet)[..12]), "{words:?}: {text}");
        }
        assert!(raw.contains("version 3"), "{words:?}: {text}");
        assert!(raw.contains("it is near"), "{words:?} shows what fails: {text}");
        for caution in ["half is not a whole", "far is not near", "A competent person checks them"]
        {
            assert!(raw.replace('\n', " ").contains(caution), "{words:?}: {caution}: {text}");
        }
        let json = [words.as_slice(), &["--json", "--force"]].concat();
        let json: Vec<&str> =
            json.into_iter().filter(|word| *word != "--force" || words.contains(&"-o")).collect();
        let output = standstill(folder.path(), &json);
        let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(value["format"], 2, "{json:?}");
        let one = value["calculations"].get(0).unwrap_or(&value);
        let hashes: Vec<&str> = one["sheets"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| it["sha256"].as_str().unwrap())
            .collect();
        assert_eq!(hashes, [hash(FAR), hash(HALF)], "{json:?}");
        assert!(one.to_string().contains("it is near"), "{json:?}: {one}");
        assert_eq!(one["sources"], serde_json::json!(["of far", "of half"]), "{json:?}");
        assert!(one["disclaimer"].is_string(), "{json:?}");
    }
    for words in [
        ["range", "line.csv", "--slopes", "--json"].as_slice(),
        &["show", "far.sheet", "--json"],
        &["design", "far.sheet", "by", "d", "from", "10 mm", "to", "80 mm", "--json"],
    ] {
        let output = standstill(folder.path(), words);
        let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(value["format"], 2, "{words:?}");
        assert_eq!(value["sheets"][1]["sha256"], hash(HALF), "{words:?}");
    }
    let form = standstill(folder.path(), &["form", "far.sheet", "-o", "form.xlsx"]);
    assert_eq!(form.status.code(), Some(0), "{}", output_text(&form));
    for book in ["form.xlsx", "plain.xlsx", "worst.xlsx"] {
        let texts = texts(&at(book));
        for needed in [&hash(HALF)[..12], &hash(FAR)[..12], "far is not near", "of half"] {
            assert!(texts.contains(needed), "{book}: {needed}: {texts}");
        }
        assert!(book == "form.xlsx" || texts.contains("FAILS"), "{book}: {texts}");
    }
}

#[test]
fn every_review_says_which_sheets_ran_and_what_fails() {
    let folder = laid();
    let documents = (0..SHOWS.len()).map(|at| format!("d{at}.md")).chain(["line.md".to_owned()]);
    for document in documents {
        for to in ["html", "md"] {
            let output = format!("out.{to}");
            let words = ["review", &document, "--to", to, "-o", &output, "--force"];
            let done = standstill(folder.path(), &words);
            assert_eq!(done.status.code(), Some(1), "{words:?}: {}", output_text(&done));
            let text = fs::read_to_string(folder.path().join(&output)).unwrap();
            let (head, rest) = text.split_at(text.find("half is not a whole").unwrap());
            for needed in [&hash(HALF), &hash(FAR), "of half", "far is not near"] {
                assert!(text.contains(needed), "{words:?}: {needed}");
            }
            assert!(rest.contains("A competent person checks them"), "{words:?}");
            // at the head, and once more where the calculation is shown
            let times = head.matches("it is near").count();
            assert!(head.contains("FAIL") && times >= 1, "{words:?}: {head}");
            assert!(times >= 2 || document == "line.md", "{words:?}: {head}");
        }
    }
}

#[test]
fn defaults_that_are_taken_are_shown() {
    let folder = laid();
    let taken = |words: &[&str]| {
        let output = standstill(folder.path(), words);
        String::from_utf8(output.stdout).unwrap()
    };
    let run = taken(&["run", "far.sheet", "d=20 mm"]);
    assert!(run.contains("defaults taken\n  - spare = 0 mm, x.k = 2\n"), "{run}");
    let given = taken(&["run", "far.sheet", "d=20 mm", "spare=1 mm"]);
    assert!(given.contains("defaults taken\n  - x.k = 2\n"), "{given}");
    let steps = taken(&["run", "far.sheet", "d=20 mm", "--steps"]);
    assert!(
        steps.contains("  k = 2    (divisor; default)\n")
            && steps.contains("  spare = 0 mm    (default)\n")
            && steps.contains("  d = 20 mm\n"),
        "{steps}"
    );
    let prove = taken(&["prove", "far.sheet"]);
    assert!(
        prove.contains("defaults of used sheets that are taken\n  - far.sheet: x.k = 2\n"),
        "{prove}"
    );
    let json: serde_json::Value =
        serde_json::from_str(&taken(&["run", "far.sheet", "d=20 mm", "--json"])).unwrap();
    let names: Vec<&str> = json["defaults"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["spare", "x.k"]);
}

/// `--of` chooses in every form of every answer; a name that the sheet does not give is an error, and so is a
/// choice where nothing is asked that it could choose from.
#[test]
fn results_that_are_chosen_are_chosen_in_every_form() {
    let folder = laid();
    let run = ["run", "run-down", "J=1 kg·m²", "n_0=1500 r/min", "T_0=4 N·m"];
    for (question, list) in [(["--slopes"].as_slice(), "changes"), (&["--spread", "9"], "results")]
    {
        let asked = |more: &[&str]| {
            let output = standstill(folder.path(), &[&run, question, more].concat());
            (output.status.code(), output_text(&output), output.stdout)
        };
        let (code, text, _) = asked(&["--of", "phi_stop"]);
        assert!(code == Some(0) && text.contains("phi_stop") && !text.contains("t_stop"), "{text}");
        let (_, _, json) = asked(&["--of", "phi_stop", "--json"]);
        let value: serde_json::Value = serde_json::from_slice(&json).unwrap();
        let named: Vec<&str> = value[list]
            .as_array()
            .unwrap()
            .iter()
            .filter_map(|it| it.get("result").or(it.get("name"))?.as_str())
            .collect();
        assert!(!named.is_empty() && named.iter().all(|name| *name == "phi_stop"), "{named:?}");
        let (code, text, _) = asked(&["--of", "phi_stpo"]);
        assert!(code == Some(2) && text.contains("did you mean `--of phi_stop`?"), "{text}");
    }
    let output = standstill(folder.path(), &[&run, ["--of", "phi_stop"].as_slice()].concat());
    assert_eq!(output.status.code(), Some(2), "{}", output_text(&output));
}

const CHOSEN: &str = "sheet chosen\ntitle \"Chosen\"\nsource \"of chosen\"\nuses\n  near = own half with d\n  far = own half with d, k = k_2\n\
    takes\n  d : length in mm like 60 mm\n  which : one of first, second\n  k_2 : ratio = 3 above 0 \"other divisor\"\nworks\n  \
    e = when which is first : near.h\n      when which is second : far.h\ngives\n  e in mm\n";

/// A figure of a device that was not chosen does not stand among the steps of the one that was.
#[test]
fn steps_leave_out_the_sheets_on_which_nothing_depends() {
    let folder = laid();
    fs::write(folder.path().join("chosen.sheet"), CHOSEN).unwrap();
    let text = "# T\n\n```sheet own chosen as c\nd = 60 mm\nwhich = second\nshow steps\n```\n";
    fs::write(folder.path().join("c.md"), text).unwrap();
    for (which, idle) in [("first", "far"), ("second", "near")] {
        let which = format!("which={which}");
        let words = ["run", "chosen.sheet", "d=60 mm", which.as_str(), "--steps"];
        let shown = output_text(&standstill(folder.path(), &words));
        let left = format!("no result and no check depends on these in the case chosen: {idle}");
        assert!(shown.contains(&left), "{shown}");
        assert!(!shown.contains(&format!("worked lines of {idle}")), "{shown}");
        let other = if idle == "near" { "far" } else { "near" };
        assert!(shown.contains(&format!("worked lines of {other}")), "{shown}");
    }
    let _ = standstill(folder.path(), &["review", "c.md", "-o", "c.html"]);
    let page = fs::read_to_string(folder.path().join("c.html")).unwrap();
    let (_, folded) = page.split_once("<details class=\"idle\">").unwrap();
    assert!(folded.contains("<b>near</b>") && !folded.contains("<b>far</b>"));
}

/// What a sheet takes as its example or default can be typed back as `show --json` writes it: choices by their words.
#[test]
fn examples_and_defaults_of_show_are_typed_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut choices = 0;
    for name in ["axis-stop", "protective-device", "guide-friction", "quickest-stop"] {
        let shown = super::standstill(folder.path(), &["show", name, "--json"]);
        let shown: serde_json::Value = serde_json::from_slice(&shown.stdout).unwrap();
        let inputs = shown["takes"].as_array().unwrap();
        for input in inputs {
            let Some(words) = input["words"].as_array() else { continue };
            let given = input["default"].as_str().or_else(|| input["example"][0].as_str()).unwrap();
            assert!(words.iter().any(|word| word == given), "{name}: {input}");
            choices += 1;
        }
    }
    assert!(choices > 8, "{choices}");
}
