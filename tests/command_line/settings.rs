//! `[defaults]` of standstill.toml, through every door that calculates: taken where nothing is given, and said.

use std::fs;
use std::path::Path;

use super::{output_text, standstill};

const SHEET: &str = "sheet press\ntitle \"A press\"\nsource \"s = v · t\"\ntakes\n  \
    edition : one of 2010, 2024 = 2010\n  t : time in ms = 100 ms from 0 ms to 1 s  \"delay\"\n  \
    v : speed in mm/s like 1600 mm/s\nworks\n  k = when edition is 2010 : 1\n      otherwise : 2\n  s = k * v * t\ngives\n  s in mm\n";

fn laid(settings: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("press.sheet"), SHEET).unwrap();
    fs::write(folder.path().join("standstill.toml"), settings).unwrap();
    folder
}

fn said(folder: &Path, words: &[&str]) -> String {
    output_text(&standstill(folder, words))
}

/// s = k · v · t: 1 · 1600 · 0.1 = 160; 2 · 1600 · 0.1 = 320; 2 · 1600 · 0.2 = 640 mm.
#[test]
fn a_default_is_taken_and_said_where_it_comes_from() {
    let folder = laid("[defaults]\nedition = 2024\n\n[defaults.press]\nt = \"200 ms\"\n");
    let folder = folder.path();
    let run = said(folder, &["run", "press", "v=1600 mm/s"]);
    assert!(run.contains("640 mm"), "{run}");
    assert!(
        run.contains(
            "edition = 2024 (from standstill.toml:2), t = 200 ms (from standstill.toml:5)"
        ),
        "{run}"
    );
    // what is given comes before it
    let run = said(folder, &["run", "press", "v=1600 mm/s", "t=100 ms"]);
    assert!(run.contains("320 mm") && !run.contains("(from standstill.toml:5)"), "{run}");
    let json = standstill(folder, &["run", "press", "v=1600 mm/s", "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(json["inputs"][0]["from"], "standstill.toml:2");
    assert_eq!(json["inputs"][0]["value"], "2024");
    assert_eq!(json["inputs"][0]["given"], false);
    assert_eq!(json["defaults"][1]["from"], "standstill.toml:5");
    assert_eq!(json["inputs"][2].get("from"), None);

    fs::write(folder.join("line.csv"), "sheet press;;\nv / mm/s;s / mm;status\n1600;;\n").unwrap();
    let range = said(folder, &["range", "line.csv"]);
    assert!(range.contains("(from standstill.toml:2)"), "{range}");
    assert!(fs::read_to_string(folder.join("line.csv")).unwrap().contains("1600;640"), "{range}");
    fs::write(folder.join("asked.csv"), "sheet press;;\nv;1600;mm/s\ns;;mm\n").unwrap();
    let fill = said(folder, &["fill", "asked.csv", "-o", "filled.xlsx"]);
    assert!(fill.contains("(from standstill.toml:2)"), "{fill}");
    let again = said(folder, &["run", "press", "--from", "asked.csv"]);
    assert!(again.contains("640 mm") && again.contains("(from standstill.toml:5)"), "{again}");
    fs::write(folder.join("page.md"), "# A press\n\n```sheet press\nv = 1600 mm/s\n```\n").unwrap();
    let review = said(folder, &["review", "page.md"]);
    let page = fs::read_to_string(folder.join("page.html")).unwrap_or_default();
    assert!(page.contains(">standstill.toml:2<") && page.contains("640"), "{review}");
    let design = said(
        folder,
        &[
            "design", "press", "s<=640 mm", "by", "v", "from", "100 mm/s", "to", "3200 mm/s", "in",
            "steps", "of", "100 mm/s", "largest",
        ],
    );
    assert!(design.contains("v = 1600 mm/s"), "{design}");
    for words in [vec!["--worst"], vec!["--slopes"], vec!["--steps"], vec!["--spread", "10"]] {
        let mut all = vec!["run", "press", "v=1600 mm/s ± 1 %"];
        all.extend(words);
        let text = said(folder, &all);
        assert!(text.contains("standstill.toml:2 sets a default: edition = 2024"), "{text}");
    }
    assert!(design.contains("standstill.toml:5 sets a default: t = 200 ms"), "{design}");
    // the sheet itself is proved and shown as it is written
    assert!(said(folder, &["prove", "press.sheet"]).contains("no problems"));
    assert!(!said(folder, &["show", "press"]).contains("2024 (from"));
}

/// The worst of each: the line where the mistake stands, and a remedy.
#[test]
fn what_is_wrong_with_the_settings_stops_everything() {
    for (settings, problem, remedy) in [
        ("default = 1\n", "standstill.toml:1:1", "did you mean `defaults`?"),
        (
            "[defaults]\nedition = 2025\n",
            "`edition` is one of 2010, 2024, found `2025`",
            "write `edition = \"2010\"`",
        ),
        ("[defaults]\nt = 200\n", "`t` is a time and has no unit here", "`t = \"3 s\"`"),
        ("[defaults]\nt = \"2 m\"\n", "`t` is a time, found `2 m`", "[defaults.NAME]"),
        ("[defaults]\nt = true\n", "neither a text nor a number", "edition"),
        (
            "[defaults.press]\neditoin = 2024\n", "`press` has no input `editoin`",
            "did you mean `edition`?",
        ),
        (
            "[defaults.press]\ntt = \"2 ms\"\n",
            "`press` has no input `tt`",
            "`standstill show press` lists its inputs",
        ),
        (
            "[defaults]\neditoin = 2024\n", "no sheet has an input `editoin`",
            "did you mean `edition`?",
        ),
        ("[defaults.pres]\nt = \"2 ms\"\n", "no sheet is called so", "standstill list"),
        ("defaults = 3\n", "`defaults` is not a table", "edition"),
        ("[defaults\n", "line 1 cannot be read", "sheets"),
        ("[defaults]\nt = 2 ms\n", "line 2 cannot be read", "write `t = \"2 ms\"`"),
        (
            "[defaults]\nt = \"2 ms\"\nt = \"3 ms\"\n",
            "duplicate key",
            "one of the two lines of `t`",
        ),
        ("[defaults]\nt = \"2 s\"\n", "out-of-range", "standstill.toml"),
    ] {
        let folder = laid(settings);
        let doors =
            [vec!["run", "press", "v=1600 mm/s"], vec!["fill", "asked.csv"], vec!["prove", "."]];
        for words in doors {
            fs::write(folder.path().join("asked.csv"), "sheet press;;\nv;1600;mm/s\ns;;mm\n")
                .unwrap();
            let output = standstill(folder.path(), &words);
            let text = output_text(&output);
            assert!(
                text.contains(problem) && text.contains(remedy),
                "{settings} {words:?}: {text}"
            );
            assert_ne!(output.status.code(), Some(0), "{settings}");
        }
    }
}

/// Cases are held against what is calculated in their folder, and a folder that is named and missing is a problem.
#[test]
fn cases_are_run_with_the_defaults_of_their_project() {
    let folder = laid("[defaults]\nedition = 2024\n");
    let cases = "sheet press\ncase as it is set here\n  v = 1600 mm/s\n  gives s = 320 mm within 0.001 mm\n";
    fs::write(folder.path().join("press.cases"), cases).unwrap();
    let prove = standstill(folder.path(), &["prove", "."]);
    assert_eq!(prove.status.code(), Some(0), "{}", output_text(&prove));
    fs::write(folder.path().join("standstill.toml"), "sheets = [\"nowhere\"]\n").unwrap();
    let prove = standstill(folder.path(), &["prove", "."]);
    assert_ne!(prove.status.code(), Some(0));
    assert!(output_text(&prove).contains("there is no folder"), "{}", output_text(&prove));
}

#[test]
fn a_default_that_no_sheet_takes_is_said_in_every_report() {
    let folder = laid("[defaults]\nforeign = 2024\nK = \"1600 mm/s\"\n");
    let run = said(folder.path(), &["run", "press", "v=1600 mm/s"]);
    assert!(run.contains("160 mm"), "{run}");
    assert!(
        run.contains("no sheet that is known here has an input `foreign` (standstill.toml:2)"),
        "{run}"
    );
    // sheets of the library have an input K
    let k = run.contains("an input `K`");
    let known = standstill::library::SHEETS.iter().any(|sheet| sheet.text.contains("\n  K "));
    assert_eq!(k, !known, "{run}");
}

/// A used sheet keeps its own default, and the report says that the project's is not taken there.
#[test]
fn a_default_that_a_used_sheet_does_not_take_is_said() {
    let folder = laid("[defaults.press]\nt = \"200 ms\"\n");
    let user = "sheet user\ntitle \"T\"\nsource \"by hand\"\nuses\n  own = press with v = 1600 mm/s\nworks\n  s = own.s\ngives\n  s in mm\n";
    fs::write(folder.path().join("user.sheet"), user).unwrap();
    let run = said(folder.path(), &["run", "user"]);
    // 1 · 1600 · 0.1, by the sheet's own 100 ms
    assert!(run.contains("160 mm"), "{run}");
    let run = run.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        run.contains("sets a default t = 200 ms, which the used sheet `own` does not take"),
        "{run}"
    );
}

/// A check that the tolerances of the example break is seen by `prove`, as by `run`.
#[test]
fn an_example_that_fails_within_its_tolerances_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = |limit: u32| {
        format!(
            "sheet press\ntitle \"A press\"\nsource \"by hand\"\ntakes\n  t : time in ms from 0 ms like 100 ms ± 10 ms\nworks\n  s = 2 * t\nholds\n  s <= {limit} ms \"quick enough\"\ngives\n  s in ms\n"
        )
    };
    for (limit, code) in [(210, 3), (220, 0)] {
        fs::write(folder.path().join("press.sheet"), sheet(limit)).unwrap();
        let prove = standstill(folder.path(), &["prove", "--strict", "press.sheet"]);
        assert_eq!(prove.status.code(), Some(code), "{limit}: {}", output_text(&prove));
    }
}

/// What the remedy for an unreadable file offers, and the block of the paper, are taken by a sheet of the library.
#[test]
fn what_the_remedy_and_the_paper_say_is_taken() {
    let folder = laid("[defaults\n");
    let told = said(folder.path(), &["run", "press", "v=1600 mm/s"]);
    let below = told.split("below `[defaults]`").nth(1).unwrap_or_default();
    let lines: Vec<&str> = below.split('`').filter(|it| it.contains(" = \"")).collect();
    assert_eq!(lines.len(), 2, "{told}");
    let paper = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/language/README.md");
    let paper = fs::read_to_string(paper).unwrap();
    let block = paper.split("```text\n").find(|it| it.starts_with("[defaults]")).unwrap();
    let block = block.split("```").next().unwrap();
    for settings in [format!("[defaults]\n{}\n", lines.join("\n")), block.to_owned()] {
        let folder = laid(&settings);
        let output = standstill(folder.path(), &["run", "safe-stop", "--example"]);
        let told = output_text(&output);
        assert_eq!(output.status.code(), Some(0), "{settings}{told}");
        assert!(told.contains("t_logic = 15 ms (from standstill.toml:"), "{settings}{told}");
    }
}
