//! One failing worst case through every door: no output shows the number of a setting as one that may be set.
//!
//! The sheet is made for it: with the nominal values every check holds, at the end of a tolerance one fails.

use std::fs;
use std::path::{Path, PathBuf};

use super::{output_text, standstill};

/// t = 2 m/s / 4 m/s² = 0.5 s, set as 500 ms; with a = 3 m/s² the stop of 2/3 s is longer than 0.6 s (by hand).
const SHEET: &str = "sheet stop\ntitle \"A stop\"\nsource \"t = v/a; by hand\"\ntakes\n  \
    v : speed in m/s above 0 m/s like 2 m/s  \"speed before the stop\"\n  \
    a : acceleration in m/s² above 0 m/s² like 4 m/s²  \"deceleration\"\nworks\n  \
    t = v / a  \"time of the stop\"\n  \
    t_set = t rounded up to 10 ms  \"time of the ramp\"\nholds\n  \
    t <= 0.6 s  \"quick enough\"  else \"brake harder\"\ngives\n  \
    t_set in ms, set in steps of 10 ms from 0 ms to 5 s  \"time of the ramp\"\n";

const GOOD: &str = "a=4 m/s² ± 0.5 m/s²";
const BAD: &str = "a=4 m/s² ± 1 m/s²";

fn folder(name: &str) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("standstill-verdict-{name}-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("stop.sheet"), SHEET).unwrap();
    folder
}

/// Exit code and what was printed.
fn run(folder: &Path, words: &[&str]) -> (i32, String) {
    let output = standstill(folder, words);
    let text =
        String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    (output.status.code().unwrap(), text)
}

/// The cells of a workbook, each with its number or text.
fn cells(path: &Path) -> Vec<String> {
    use calamine::{Data, Reader as _};
    let mut book = calamine::open_workbook_auto(path).unwrap();
    let names = book.sheet_names();
    let mut found = Vec::new();
    for name in names {
        let range = book.worksheet_range(&name).unwrap();
        let (top, left) = range.start().unwrap_or_default();
        for (row, column, cell) in range.used_cells() {
            if *cell != Data::Empty {
                let (row, column) = (row + top as usize, column + left as usize);
                found.push(format!("{name} {row} {column}: {cell}"));
            }
        }
    }
    found
}

/// Whether a line or cell shows the setting as a bare number; where it is said why, it does not.
fn bare(line: &str) -> bool {
    let marked = ["NOT to be set", "MAY FAIL", "may fail", "not proved", "may_be_set\": false"];
    let number = |word: &str| {
        matches!(word.trim_matches(|it: char| !it.is_ascii_digit() && it != '.'), "500" | "500.0")
    };
    !marked.iter().any(|mark| line.contains(mark))
        && line.split([' ', '\u{a0}', '|', '<', '>', ',', '"', ':']).any(number)
}

/// Lines about the setting: the checks and what follows from it have numbers of their own.
fn of_setting(text: &str) -> Vec<&str> {
    let about = |line: &&str| line.contains("t_set") || line.contains("t\\_set");
    text.lines().filter(about).filter(|line| bare(line) && !line.contains("can be set")).collect()
}

#[test]
fn the_terminal_marks_a_setting_whose_worst_case_fails() {
    let folder = folder("terminal");
    for more in [&[][..], &["--worst"]] {
        let words = |a: &'static str| [&["run", "stop.sheet", "v=2 m/s", a], more].concat();
        let (code, text) = run(&folder, &words(BAD));
        assert_eq!(code, 1, "{text}");
        assert!(text.contains("NOT to be set (500 ms)"), "{text}");
        assert_eq!(of_setting(&text), Vec::<&str>::new(), "{text}");
        // the same that holds over its tolerances is shown as it is
        let (code, text) = run(&folder, &words(GOOD));
        assert_eq!(code, 0, "{text}");
        assert!(!text.contains("NOT to be set"), "{text}");
        assert!(text.contains("500 ms"), "{text}");
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn json_says_of_every_setting_whether_it_may_be_set() {
    let folder = folder("json");
    for (a, may) in [(GOOD, true), (BAD, false)] {
        let (_, text) = run(&folder, &["run", "stop.sheet", "v=2 m/s", a, "--json"]);
        let json: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(json["holds"], may);
        assert_eq!(json["over_tolerances"]["holds"], may);
        assert_eq!(json["settings"][0]["may_be_set"], may);
        assert_eq!(json["results"][0]["may_be_set"], may);
        let (_, text) = run(&folder, &["run", "stop.sheet", "v=2 m/s", a, "--worst", "--json"]);
        let json: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(json["results"][0]["may_be_set"], may, "{text}");
        assert_eq!(json["results"][0]["nominal"] == "500 ms", may, "{text}");
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_result_workbook_shows_no_setting_whose_worst_case_fails() {
    let folder = folder("results");
    for more in [&[][..], &["--worst"]] {
        for (a, code) in [(GOOD, 0), (BAD, 1)] {
            let words =
                [&["run", "stop.sheet", "v=2 m/s", a, "-o", "out.xlsx", "--force"], more].concat();
            assert_eq!(run(&folder, &words).0, code);
            let cells = cells(&folder.join("out.xlsx"));
            let front: Vec<_> = cells
                .iter()
                .filter(|it| !it.starts_with("worst case ") && !it.starts_with("working "))
                .collect();
            // beside the checks, on what can be set, a number stands for the comparison
            let shown = front.iter().filter(|it| bare(it) && !it.contains(" 3: ")).count();
            let marks = cells.iter().filter(|it| it.ends_with(": NOT to be set")).count();
            let checks = front.iter().filter(|it| it.ends_with("can be set")).count();
            assert_eq!(
                (shown - checks, marks),
                if code == 0 { (3, 0) } else { (0, 8) },
                "{cells:#?}"
            );
        }
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_filled_form_shows_no_setting_whose_worst_case_fails() {
    let folder = folder("form");
    for (form, fill) in
        [(&["--worst"][..], &[][..]), (&["--worst"], &["--worst"]), (&[], &["--worst"]), (&[], &[])]
    {
        for (a, code) in [("± 0.5 m/s²", 0), ("± 1 m/s²", 1)] {
            let made = [&["form", "stop.sheet", "-o", "form.xlsx", "--force"], form].concat();
            assert_eq!(run(&folder, &made).0, 0);
            write_input(&folder.join("form.xlsx"), a);
            let (got, text) = run(&folder, &[&["fill", "form.xlsx"], fill].concat());
            assert_eq!(got, code, "{text}");
            let cells = cells(&folder.join("form.xlsx"));
            let marked = cells.iter().any(|it| it.contains("NOT to be set (500 ms)"));
            assert_eq!(marked, code == 1, "{cells:#?}");
            assert_eq!(cells.iter().any(|it| it.ends_with(": 500")), code == 0, "{cells:#?}");
            assert_eq!(text.contains("NOT to be set"), code == 1, "{text}");
        }
    }
    fs::remove_dir_all(folder).unwrap();
}

/// Both inputs, with a tolerance where the form has room for it, or beside the unit.
fn write_input(path: &Path, tolerance: &str) {
    use standstill::spreadsheet::{Allow, Edit, NewValue, Position, write_cells};
    let bytes = fs::read(path).unwrap();
    let edit = |row, column, value| Edit::new("stop", Position { row, column }, value);
    let edits = [
        edit(5, 1, NewValue::Number(2.0)),
        edit(6, 1, NewValue::Number(4.0)),
        edit(6, 3, NewValue::Text(tolerance.to_owned())),
    ];
    let written =
        write_cells("form.xlsx", &bytes, &edits, Allow { locked_cells: true, ..Allow::default() })
            .unwrap();
    fs::write(path, written.bytes).unwrap();
}

#[test]
fn a_product_line_marks_the_settings_of_rows_that_fail_over_their_tolerances() {
    let folder = folder("range");
    let table = "name,v / m/s,a / m/s²,a ±\ngood,2,4,± 0.5 m/s²\nbad,2,4,± 1 m/s²\n";
    fs::write(folder.join("line.csv"), table).unwrap();
    for ending in ["csv", "xlsx"] {
        for more in [&[][..], &["--worst"]] {
            let out = format!("out.{ending}");
            let words =
                [&["range", "line.csv", "stop.sheet", "-o", &out, "--force"], more].concat();
            let (code, text) = run(&folder, &words);
            assert_eq!(code, 1, "{text}");
            let written = match ending {
                "csv" => fs::read_to_string(folder.join(&out)).unwrap(),
                _ => cells(&folder.join(&out)).join("\n"),
            };
            assert!(written.contains("NOT to be set (500 ms)"), "{written}");
            let bare: Vec<&str> = written.lines().filter(|line| bare(line)).collect();
            assert_eq!(bare.len(), 1, "the good row alone: {written}");
        }
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_review_marks_a_setting_whose_worst_case_fails() {
    let folder = folder("review");
    for (a, code) in [("4 m/s² ± 0.5 m/s²", 0), ("4 m/s² ± 1 m/s²", 1)] {
        let text = format!(
            "# A stop\n\nSet {{s.t_set}} in the drive.\n\n```sheet stop as s\nv = 2 m/s\na = {a}\nshow inputs, results, checks, settings, worst\n```\n"
        );
        fs::write(folder.join("a.md"), text).unwrap();
        for to in ["a.html", "out.md"] {
            let md = if to == "out.md" { &["--to", "md"][..] } else { &[] };
            let words = [&["review", "a.md", "-o", to, "--force"], md].concat();
            let (got, said) = run(&folder, &words);
            assert_eq!(got, code, "{said}");
            let written = fs::read_to_string(folder.join(to)).unwrap();
            if to == "out.md" {
                let bare = of_setting(&written);
                assert_eq!(written.contains("NOT to be set (500 ms)"), code == 1, "{written}");
                assert_eq!(bare.is_empty(), code == 1, "{written}");
                let words = "[500 ms](#calculation-s \"s.t_set\") (NOT to be set: a check is not proved within the tolerances)";
                assert_eq!(written.contains(words), code == 1, "{written}");
                continue;
            }
            let verdict = written.split("<section class=\"verdict\"").nth(1).unwrap();
            let verdict = verdict.split("</section>").next().unwrap();
            assert_eq!(verdict.contains("NOT PROVED"), code == 1, "{verdict}");
            let signed = written.split("id=\"signatures\"").nth(1).unwrap();
            let signed = signed.split("</section>").next().unwrap();
            assert_eq!(signed.contains("NOT PROVED"), code == 1, "above the signatures");
            // the mark is there in both, and seen where it counts
            assert_eq!(
                written.matches("<b class=\"ns\">NOT to be set").count(),
                if code == 1 { 2 } else { 0 }
            );
            assert_eq!(
                written.matches("<b class=\"ns\" hidden>NOT to be set").count(),
                if code == 1 { 0 } else { 2 }
            );
            let mark = "<span class=\"why\"> (NOT to be set: a check is not proved within the tolerances)</span>";
            assert_eq!(written.contains(mark), code == 1);
        }
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_page_of_a_form_marks_a_setting_whose_worst_case_fails() {
    let folder = folder("page");
    for (tolerance, fails) in [("± 0.5 m/s²", false), ("± 1 m/s²", true)] {
        let with = SHEET.replace("like 4 m/s²", &format!("like 4 m/s² {tolerance}"));
        fs::write(folder.join("stop.sheet"), with).unwrap();
        let (code, text) = run(&folder, &["form", "stop.sheet", "-o", "form.html", "--force"]);
        assert_eq!(code, 0, "{text}");
        let page = fs::read_to_string(folder.join("form.html")).unwrap();
        // of the form, whose markup stands in the page as JSON; its figures are those of the example
        assert!(page.contains("ns'>NOT to be set"), "{page}");
        assert!(page.contains("data-xg='0'>2 of 2 inputs are"), "{page}");
        assert_eq!(
            page.contains(
                "<p class='gate bad'><b class='no'>NOT to be set. </b>\\u003cspan data-wg="
            ),
            fails,
            "{page}"
        );
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_question_and_its_answer_say_what_they_know_of_tolerances_by_two_names() {
    let folder = folder("design");
    let ask = ["design", "stop.sheet", "by", "v", "from", "1 m/s", "to", "2 m/s", GOOD, "--json"];
    for (more, asked) in [(&[][..], false), (&["--worst"], true)] {
        let (_, text) = run(&folder, &[&ask[..], more].concat());
        let json: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(json["asked_over_tolerances"], asked, "{text}");
        assert_eq!(json.get("over_tolerances"), None, "{text}");
        assert!(json["run"]["over_tolerances"].is_object(), "{text}");
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn an_answer_that_fails_within_the_tolerances_is_not_one() {
    let folder = folder("answer");
    fs::write(
        folder.join("line.csv"),
        "sheet stop.sheet\n\nname,v / (m/s),a / (m/s²)\none,2,4 m/s² ± 1 m/s²\ntwo,2,4 m/s² ± 0.5 m/s²\n",
    )
    .unwrap();
    let question = ["by", "v", "from", "1 m/s", "to", "2 m/s"];
    for (tolerance, code) in [(GOOD, 0), (BAD, 1)] {
        let ask = [&["design", "stop.sheet"][..], &question, &[tolerance]].concat();
        let (found, text) = run(&folder, &ask);
        assert_eq!((found, text.contains("MAY FAIL")), (code, code == 1), "{text}");
        assert_eq!(text.lines().any(bare), code == 0, "{text}");
        let (found, text) = run(&folder, &[&ask[..], &["--json"]].concat());
        let json: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!((found, &json["run"]["holds"]), (code, &(code == 0).into()), "{text}");
    }
    // asked over the tolerances, the answer is the largest speed that 3 m/s² stops in 0.6 s: 1.8 m/s
    let (code, text) = run(
        &folder,
        &[&["design", "stop.sheet"][..], &question, &["largest", BAD, "--worst"]].concat(),
    );
    assert!(code == 0 && text.contains("v = 1.8"), "{text}");
    let (code, text) =
        run(&folder, &[&["design", "stop.sheet", "--line", "line.csv"][..], &question].concat());
    let of = |name: &str| text.lines().find(|line| line.contains(name)).unwrap().to_owned();
    assert!(
        code == 1 && of("one").contains("NOT to be set") && !of("two").contains("NOT"),
        "{text}"
    );
    fs::remove_dir_all(folder).unwrap();
}

/// A value that a form's file marks as the sheet's example is one: what is set waits until it is somebody's own.
#[test]
fn a_mark_of_an_example_in_a_file_withholds_the_settings() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), SHEET).unwrap();
    let run = |mark: &str, more: &[&str]| {
        let rows = format!(
            "sheet stop\nname,value,unit,what it is,from\nv,2,m/s,,own\na,4,m/s²,,{mark}\n"
        );
        fs::write(folder.path().join("in.csv"), rows).unwrap();
        let words = [&["run", "stop.sheet", "--from", "in.csv", "--json"], more].concat();
        let output = standstill(folder.path(), &words);
        let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        (json["examples"].to_string(), json["results"][0]["may_be_set"].as_bool().unwrap())
    };
    assert_eq!(run("example", &[]), ("[\"a\"]".to_owned(), false));
    assert_eq!(run("own", &[]), ("[]".to_owned(), true));
    assert_eq!(run("example", &["a=4 m/s²"]), ("[]".to_owned(), true));
}

/// As the line `a ± 10 %` of a review has it: an example stays one, and takes its tolerance.
#[test]
fn an_example_takes_a_tolerance_without_a_value() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop.sheet"), SHEET).unwrap();
    for tolerance in ["± 10 %", "± 0.4 m/s²", "+0.4 m/s² -0.4 m/s²"] {
        let word = format!("a={tolerance}");
        let words = ["run", "stop.sheet", "v=2 m/s", &word, "--example", "--worst"];
        let text = output_text(&standstill(folder.path(), &words));
        assert!(text.contains("from 3.6 m/s² to 4.4 m/s²"), "{text}");
        assert!(text.contains("1 of 2 inputs is the sheet's example"), "{text}");
        let text =
            output_text(&standstill(folder.path(), &["run", "stop.sheet", "v=2 m/s", &word]));
        assert!(text.contains("error unreadable-quantity"), "{text}");
    }
}

/// What a document names beside itself is found from the folder where its review is written.
#[test]
fn a_review_in_another_folder_leads_back_to_its_pictures() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["docs", "a (b)"] {
        fs::create_dir(folder.path().join(name)).unwrap();
    }
    let text = "# T\n\n![guard](g.svg \"a g.svg\") [notes](notes.md) [site](https://example.org/g.svg) [here](#t) ![other][o]\n\n[o]: g.svg \"g.svg\"\n";
    fs::write(folder.path().join("docs/doc.md"), text).unwrap();
    fs::write(folder.path().join("docs/g.svg"), "<svg xmlns=\"http://www.w3.org/2000/svg\"/>")
        .unwrap();
    let review = |output: &str| {
        let words = ["review", "docs/doc.md", "--to", "md", "-o", output];
        assert_eq!(standstill(folder.path(), &words).status.code(), Some(0));
        fs::read_to_string(folder.path().join(output)).unwrap()
    };
    let beside = review("docs/out.md");
    assert!(beside.contains("![guard](g.svg \"a g.svg\") [notes](notes.md)"), "{beside}");
    let away = review("a (b)/out.md");
    for part in [
        "![guard](../docs/g.svg \"a g.svg\") [notes](../docs/notes.md) [site](https://example.org/g.svg) [here](#t) ![other][o]",
        "[o]: ../docs/g.svg \"g.svg\"",
    ] {
        assert!(away.contains(part), "{away}");
    }
}

/// A sheet without checks: what was not looked at does not hold.
#[test]
fn where_nothing_is_checked_no_door_says_that_it_holds() {
    let folder = folder("bare");
    let bare = SHEET.split_once("holds\n").unwrap().0.replace("sheet stop", "sheet bare");
    fs::write(folder.join("bare.sheet"), bare + "gives\n  t in ms\n").unwrap();
    fs::write(
        folder.join("line.csv"),
        "sheet bare\na,4,m/s²\n\nname,v / (m/s),t / ms\nA,2,\nB,3,\n",
    )
    .unwrap();
    let document = "# Stop\n\n```sheet bare as it\nv = 2 m/s\na = 4 m/s²\nshow results\n```\n\n```sheet bare as line\nrange line.csv\n```\n";
    fs::write(folder.join("d.md"), document).unwrap();
    let given = ["v=2 m/s", "a=4 m/s²"];
    for (door, kept) in [
        (&["run", "bare", given[0], given[1], "-o", "made.xlsx", "--force"][..], "made.xlsx"),
        (&["range", "line.csv", "-o", "line.xlsx", "--force"], "line.xlsx"),
        (&["review", "d.md", "-o", "d.html", "--force"], "d.html"),
        (&["review", "d.md", "--to", "md", "--force"], "d.review.md"),
        (&["form", "bare", "-o", "bare.html", "--force"], "bare.html"),
    ] {
        let (code, printed) = run(&folder, door);
        assert_eq!(code, 0, "{door:?}: {printed}");
        let path = folder.join(kept);
        let made = match kept.ends_with(".xlsx") {
            true => cells(&path).join("\n"),
            // what a page says by itself stands before its program
            false => fs::read_to_string(&path).unwrap().split("<script").next().unwrap().to_owned(),
        };
        for text in [&printed, &made] {
            let text = text.to_lowercase();
            let holds = ["every check holds", "checks hold", "variants hold", "variant holds"];
            assert!(!holds.iter().any(|it| text.contains(it)), "{door:?}: {text}");
        }
    }
}
