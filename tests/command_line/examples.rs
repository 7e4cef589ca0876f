//! A figure of example values is never taken for one of a machine: every door says so.

use super::{GOOD, Output, fs, standstill};

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

const WORDS: &str = "1 of 2 inputs is the sheet's example: not your machine yet";

/// Every way to calculate the sheet at the terminal, with one input given and the other an example.
const WAYS: &[&[&str]] = &[
    &["run", "stop.sheet", "v=1 m/s", "--example"],
    &["run", "stop.sheet", "v=1 m/s", "--example", "--steps"],
    &["run", "stop.sheet", "v=1 m/s ± 1 %", "--example", "--worst"],
    &["run", "stop.sheet", "v=1 m/s ± 1 %", "--example", "--slopes"],
    &["run", "stop.sheet", "v=1 m/s ± 1 %", "--example", "--spread", "100"],
    &["design", "stop.sheet", "by", "v", "from", "1 m/s", "to", "2 m/s", "largest", "--example"],
];

#[test]
fn every_way_of_calculating_says_that_inputs_are_examples() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    for words in WAYS {
        let text = said(&standstill(folder.path(), words));
        assert!(text.contains("1 of 2 inputs is the sheet's example"), "{words:?}: {text}");
        let json = said(&standstill(folder.path(), &[words, &["--json"][..]].concat()));
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(json["examples"], serde_json::json!(["a"]), "{words:?}: {json}");
        // the same with a value of one's own says nothing of the kind
        let own: Vec<&str> =
            words.iter().map(|it| if *it == "--example" { "a=4 m/s²" } else { it }).collect();
        let text = said(&standstill(folder.path(), &own));
        assert!(!text.contains("not your machine"), "{own:?}: {text}");
        let json = said(&standstill(folder.path(), &[&own, &["--json"][..]].concat()));
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(json["examples"], serde_json::json!([]), "{own:?}: {json}");
    }
}

/// A setting of example values is not one to be set, though every check holds.
#[test]
fn a_setting_of_examples_is_not_to_be_set() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    for (words, may) in [("--example", false), ("a=4 m/s²", true)] {
        let run = ["run", "stop.sheet", "v=2 m/s", words];
        let output = standstill(folder.path(), &run);
        assert_eq!(output.status.code(), Some(0));
        let text = said(&output);
        assert_eq!(text.contains("NOT to be set in the drive: inputs are"), !may, "{text}");
        assert_eq!(text.contains("____"), may, "{text}");
        let json = said(&standstill(folder.path(), &[&run, &["--json"][..]].concat()));
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(json["settings"][0]["may_be_set"], may, "{json}");
        assert_eq!(json["results"][0]["may_be_set"], may, "{json}");
        assert_eq!(json["inputs"][0]["example"], false, "{json}");
        assert_eq!(json["inputs"][1]["example"], !may, "{json}");
    }
}

#[test]
fn a_result_workbook_says_which_inputs_are_examples() {
    use calamine::Reader as _;
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), GOOD).unwrap();
    for (words, example) in [("--example", true), ("a=4 m/s²", false)] {
        let run = ["run", "stop.sheet", "v=2 m/s", words, "-o", "out.xlsx", "--force"];
        assert_eq!(standstill(folder.path(), &run).status.code(), Some(0));
        let mut book = calamine::open_workbook_auto(folder.path().join("out.xlsx")).unwrap();
        let mut text = |tab: &str| {
            let range = book.worksheet_range(tab).unwrap();
            range.rows().flatten().map(|cell| format!("{cell}\n")).collect::<String>()
        };
        assert_eq!(text("results").contains(WORDS), example);
        assert_eq!(
            text("inputs").matches("example, not your machine").count(),
            usize::from(example)
        );
    }
}

/// A form with the examples in its boxes is filled: what stands there was typed by nobody.
#[test]
fn a_form_filled_with_its_examples_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let form = ["form", "run-down", "--example", "-o", "form.xlsx"];
    assert_eq!(standstill(folder.path(), &form).status.code(), Some(0));
    let text = said(&standstill(folder.path(), &["fill", "form.xlsx"]));
    assert!(text.contains("inputs hold the value of the sheet's example"), "{text}");
}

/// What no formula keeps above zero is a check of its own, for each kind that has nothing below it.
#[test]
fn a_time_a_length_a_mass_and_an_inertia_below_zero_fail() {
    let folder = tempfile::tempdir().unwrap();
    let code = |kind: &str, unit: &str, formula: &str, check: &str, a: &str, b: &str| {
        let text = format!(
            "sheet less\ntitle \"A difference\"\nsource \"a - b; by hand\"\ntakes\n  \
             a : {kind} in {unit} from 0 {unit} \"one\"\n  b : {kind} in {unit} from 0 {unit} \"other\"\n\
             works\n  x = {formula}\nholds\n  {check}\n  a <= 9 {unit} \"not too much\"\ngives\n  x in {unit}\n"
        );
        fs::write(folder.path().join("less.sheet"), text).unwrap();
        let given = [format!("a={a} {unit}"), format!("b={b} {unit}")];
        let output = standstill(folder.path(), &["run", "less.sheet", &given[0], &given[1]]);
        let text = said(&output) + &String::from_utf8_lossy(&output.stderr);
        (output.status.code().unwrap(), text.contains("`x` is not below zero"), text)
    };
    for (kind, unit) in [("time", "s"), ("length", "m"), ("mass", "kg"), ("inertia", "kg·m²")] {
        let nothing = format!("b <= 9 {unit} \"not too much\"");
        let is = |formula: &str, check: &str, a: &str, b: &str| {
            let (code, said, text) = code(kind, unit, formula, check, a, b);
            (code, said, format!("{kind} {formula} {check} {a} {b}: {text}"))
        };
        let (ending, asked, text) = is("a - b", &nothing, "1", "2");
        assert_eq!((ending, asked), (1, true), "{text}");
        let (ending, asked, text) = is("a - b", &nothing, "2", "1");
        assert_eq!((ending, asked), (0, true), "{text}");
        // by hand: none of these can be below zero for a, b from zero, so none is asked
        for formula in [
            "a + b", "2 * a", "abs(a - b)", "max(a - b, b)", "a^2 / (a + b)", "sqrt(a * b)",
            "a * ln(1 + a / (a + b))", "max(a, b) - a", "a - min(a, b)",
        ] {
            let (ending, asked, text) = is(formula, &nothing, "2", "1");
            assert_eq!((ending, asked), (0, false), "{text}");
        }
        // the sheet says itself what is below zero
        let caution =
            format!("x >= 0 {unit} \"something is left\" else caution \"nothing is left\"");
        let (ending, asked, text) = is("a - b", &caution, "1", "2");
        assert_eq!((ending, asked), (0, false), "{text}");
        let held = "b <= a \"enough\" else \"take more\"";
        let (ending, asked, text) = is("a - b", held, "1", "2");
        assert_eq!((ending, asked), (1, false), "{text}");
    }
}

/// Other kinds have a sign that means something.
#[test]
fn a_force_below_zero_is_a_force() {
    let folder = tempfile::tempdir().unwrap();
    let text = "sheet pull\ntitle \"A difference\"\nsource \"a - b; by hand\"\ntakes\n  \
        a : force in N from 0 N \"one\"\n  b : force in N from 0 N \"other\"\nworks\n  x = a - b\ngives\n  x in N\n";
    fs::write(folder.path().join("pull.sheet"), text).unwrap();
    let output = standstill(folder.path(), &["run", "pull.sheet", "a=1 N", "b=2 N"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
}

/// The words of a line as a shell would part them: quotes hold blanks together.
fn parted(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in line.trim().chars() {
        match letter {
            '\'' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            other => words.last_mut().unwrap().push(other),
        }
    }
    words
}

/// The line that `run SHEET` prints is the example: typed as it stands it gives what `--example` gives.
#[test]
fn the_line_to_copy_gives_what_the_example_gives() {
    let folder = tempfile::tempdir().unwrap();
    let mut typed = 0;
    for name in standstill::library::SHEETS.iter().map(|sheet| sheet.name) {
        let asked = standstill(folder.path(), &["run", name]);
        let words = String::from_utf8_lossy(&asked.stderr).into_owned();
        let Some(line) = words.lines().find_map(|it| it.trim().strip_prefix("standstill ")) else {
            continue;
        };
        let mut words = parted(line);
        words.push("--json".to_owned());
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let results = |words: &[&str]| {
            let json = said(&standstill(folder.path(), words));
            let json: serde_json::Value = serde_json::from_str(&json).unwrap();
            json["results"].as_array().unwrap_or_else(|| panic!("{words:?}: {json:#}")).clone()
        };
        let mut own = results(&words);
        let mut example = results(&["run", name, "--example", "--json"]);
        for result in own.iter_mut().chain(&mut example) {
            // what is set is withheld from an example, and not from what is typed
            result.as_object_mut().unwrap().retain(|key, _| key == "name" || key == "value");
        }
        assert_eq!(own, example, "{line}");
        typed += 1;
    }
    assert!(typed > 100, "{typed}");
}
