//! Review pages: what they say, what they refuse, and that nothing in them becomes markup.
//!
//! The pages are driven in a browser by `browser.mjs` beside this file: `npm ci && npm test` there.

mod identity;
mod linked;
mod pictures;
mod tray_lift;
mod typed;
mod verdicts;

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use standstill::diagnostic::{Diagnostic, Name, Place, Source, render_line};
use standstill::environment::{Environment, NoFs};
use standstill::review::{Document, moment, page, plain, read};

/// Files held in memory.
struct Files(BTreeMap<&'static str, Vec<u8>>);

impl Environment for Files {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        let found = path.to_str().and_then(|path| self.0.get(path));
        found.cloned().ok_or_else(|| {
            Diagnostic::error(Name::UnreadableFile, "no such file")
                .at(Place::File { name: path.display().to_string() })
        })
    }

    fn replace(&self, _: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        unreachable!("reading writes nothing")
    }
}

fn example(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name)).unwrap()
}

fn carton_wrapper() -> (Arc<Source>, Files) {
    let text = String::from_utf8(example("carton-wrapper-review.md")).unwrap();
    let names = ["carton-wrapper.xlsx", "rollers-on-offer.csv"];
    let files = Files(names.into_iter().map(|name| (name, example(name))).collect());
    (Source::new("carton-wrapper-review.md", text), files)
}

/// A review as Markdown without the links of its calculated figures.
pub(crate) fn unlinked(markdown: &str) -> String {
    let mut pieces = markdown.split("](#");
    let mut to = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        match piece.split_once("\")") {
            Some((place, rest)) if place.contains(" \"") && !place.contains(')') => {
                to.remove(to.rfind('[').unwrap());
                to.push_str(rest);
            }
            _ => to.push_str(&format!("](#{piece}")),
        }
    }
    to
}

fn problems(text: &str) -> Vec<String> {
    let refused = read(&Source::new("doc.md", text), &NoFs).unwrap_err();
    refused.problems.iter().map(render_line).collect()
}

/// Every formula and picture of a page.
fn parts<'a>(html: &'a str, kind: &str) -> Vec<&'a str> {
    let (open, close) = (format!("<{kind}"), format!("</{kind}>"));
    let body = html.split("<script").next().unwrap();
    body.match_indices(&open)
        .filter(|(at, _)| body[at + open.len()..].starts_with(['>', ' ']))
        .map(|(at, _)| &body[at..at + body[at..].find(&close).unwrap() + close.len()])
        .collect()
}

fn is_well_formed(text: &str) -> bool {
    let mut reader = quick_xml::Reader::from_str(text);
    reader.config_mut().check_end_names = true;
    let mut depth = 0_i32;
    loop {
        match reader.read_event() {
            Ok(quick_xml::events::Event::Start(start)) => {
                depth += 1;
                if start.attributes().any(|attribute| attribute.is_err()) {
                    return false;
                }
            }
            Ok(quick_xml::events::Event::End(_)) => depth -= 1,
            Ok(quick_xml::events::Event::Eof) => return depth == 0,
            Ok(_) => {}
            Err(_) => return false,
        }
    }
}

// worked by hand from the machine's data (examples/make_workbook.py):
// J = 0.2/25 + 0.0018 + 0.0003 = 0.0101 kg·m²; n_0 = 151.8436 rad/s; t = J·n_0/T_0 = 0.9585130 s;
// ramp set 0.3 · 1500/1450 up to 0.01: 0.32 s; delay (0.02 + 0.32 · 1450/1500 · 1.05)/0.98 up: 360 ms;
// T = 0.044 + 0.36 · 1.02 + 0.9585130 = 1.3697130 s; S = 1600 · T = 2191.54 mm, up to 5 mm: 2195 mm
#[test]
fn the_example_says_what_a_hand_calculation_says() {
    let (source, files) = carton_wrapper();
    let document = read(&source, &files).unwrap();
    assert!(document.holds());
    let html = page(&document, "2026-11-25 12:00 UTC");
    for value in [
        "2195\u{a0}mm", "360\u{a0}ms", "0.32\u{a0}s", "0.0101\u{a0}kg·m²", "0.958513\u{a0}s",
        "1369.71\u{a0}ms",
    ] {
        assert!(html.contains(value), "{value}");
    }
    let md = unlinked(&plain(&document, "2026-11-25 12:00 UTC"));
    for value in [
        "**2195 mm (nominal; 2000 mm to 2430 mm within the tolerances)** needed",
        "| t\\_delay | 360 ms |",
        "holds at the values given: the curtain stands far enough away: 2195 mm ≤ 2501.9 mm",
    ] {
        assert!(md.contains(value), "{value}");
    }
    assert!(!md.contains("{stop."), "no value is left open");
}

#[test]
fn a_page_names_its_files_by_their_hash_and_its_moment() {
    let (source, files) = carton_wrapper();
    let document = read(&source, &files).unwrap();
    let html = page(&document, "2026-11-25 12:00 UTC");
    // sha256sum of coreutils 9.1 on the same bytes gives the same; here the standard's own example, FIPS 180-2, B.1
    let abc = read(&Source::new("abc.md", "abc"), &NoFs).unwrap();
    assert_eq!(
        abc.files[0].hash,
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    for file in &document.files {
        assert!(html.contains(&file.hash), "{}", file.name);
    }
    let names: Vec<&str> = document.files.iter().map(|file| file.name.as_str()).collect();
    for name in ["carton-wrapper-review.md", "carton-wrapper.xlsx"] {
        assert!(names.contains(&name), "{names:?}");
    }
    // every sheet that took part, those of product lines and those that they use too
    let plain = plain(&document, "2026-11-25 12:00 UTC");
    for sheet in &document.sheets {
        assert!(html.contains(&sheet.sha256) && plain.contains(&sheet.sha256), "{sheet}");
        let written = sheet.origin.starts_with("written in carton-wrapper-review.md, line ");
        assert!(written || sheet.origin.starts_with("library of Standstill "), "{sheet}");
    }
    let sheets: Vec<&str> = document.sheets.iter().map(|sheet| sheet.sheet.as_str()).collect();
    for name in ["safe-stop", "run-down", "regen-energy"] {
        assert!(sheets.contains(&name), "{sheets:?}");
    }
    assert!(html.contains("2026-11-25 12:00 UTC"));
    assert!(html.contains(&format!("by Standstill {}", env!("CARGO_PKG_VERSION"))));
}

// `date -u -d @N` of coreutils 9.1
#[test]
fn moments_read_as_dates() {
    for (seconds, words) in [
        (0, "1970-01-01 00:00 UTC"),
        (1_764_079_199, "2025-11-25 13:59 UTC"),
        (1_709_164_800, "2024-02-29 00:00 UTC"),
        (4_107_542_400, "2100-03-01 00:00 UTC"),
    ] {
        assert_eq!(moment(seconds), words);
    }
}

#[test]
fn formulas_and_pictures_are_well_formed() {
    let mut text = String::new();
    for sheet in standstill::library::SHEETS {
        text.push_str(&format!("```sheet {}\nexamples\n```\n\n", sheet.name));
    }
    let document = read(&Source::new("all.md", text), &NoFs).unwrap();
    let html = page(&document, "now");
    for (kind, least) in [("math", 1000), ("svg", 6)] {
        let found = parts(&html, kind);
        assert!(found.len() >= least, "{kind}: {}", found.len());
        for part in found {
            assert!(is_well_formed(part), "{part}");
        }
    }
    assert!(!is_well_formed("<math><mi>x</math>"), "the check itself can fail");
    for picture in parts(&html, "svg") {
        assert!(
            picture.contains("<title>")
                && picture.contains("<desc>")
                && picture.contains("role=\"img\"")
        );
    }
}

#[test]
fn every_problem_is_reported_in_one_go_and_points_into_the_document() {
    let text = "# Stop\n\n{stop.S in mm} {stp.S} {stop.S in kg} {stop.Sfail} {stop.t_delay in ms rounded up to 0 ms}\n\n```sheet safe-stop as stop\nexamples\nshow resluts\n```\n\n```sheet run-dwon\n```\n\n```sheet run-down as coast\nn_0 = 1450\nJ = 2 kg\n```\n";
    let found = problems(text);
    let starts = [
        "doc.md:3:17: error unknown-name", "doc.md:3:35: error result-unit",
        "doc.md:3:45: error unknown-name", "doc.md:3:86: error bad-step",
        "doc.md:7:6: error review-line", "doc.md:10:10: error unknown-sheet",
        "doc.md:13:1: error missing-input", "doc.md:14:1: error missing-unit",
        "doc.md:15:1: error unit-mismatch",
    ];
    for start in starts {
        assert!(found.iter().any(|line| line.starts_with(start)), "{start} in {found:#?}");
    }
}

#[test]
fn a_brace_in_code_or_after_a_stroke_is_left_alone() {
    let text = "`{stop.S}` \\{stop.S} \\{x} \\{1.5}\n\n    {stop.S}\n";
    let document = read(&Source::new("doc.md", text), &NoFs).unwrap();
    assert!(page(&document, "now").contains("<code>{stop.S}</code> {stop.S} {x} {1.5}"));
}

#[test]
fn a_problem_of_a_sheet_written_out_points_into_the_document() {
    let text = "Text\n\n```sheet\nsheet mine\ntitle \"x\"\nsource \"x\"\n\ntakes\n  a : length in mm like 1 mm \"a\"\n\nworks\n  b = a + 2 s\n\ngives\n  b in mm\n```\n";
    let found = problems(text);
    assert!(
        found.iter().any(|line| line.starts_with("doc.md:12:9: error unit-mismatch")),
        "{found:#?}"
    );
}

#[test]
fn what_a_document_says_never_becomes_markup() {
    let text = "<script>alert(1)</script> <b onclick=x>\n\n[a](javascript:alert(1)) [b](JaVaScRiPt:alert(1)) [c](https://example.org) ![d](https://example.org/x.png)\n\n<div>\n<script>alert(2)</script>\n</div>\n";
    let document = read(&Source::new("doc.md", text), &NoFs).unwrap();
    let html = page(&document, "now");
    let body = html.split("<main>").nth(1).unwrap().split("</main>").next().unwrap();
    for mark in ["<script", "<b ", "<div", "javascript:alert(1)\"", "JaVaScRiPt:alert(1)\"", "<img"]
    {
        assert!(!body.contains(mark), "{mark}");
    }
    assert!(
        body.contains("&lt;script&gt;alert(1)") && body.contains("href=\"https://example.org\"")
    );
}

#[test]
fn markdown_disarms_what_the_page_disarms() {
    let text = "# T\n\n[a](javascript:alert(1)) <javascript:alert(2)> [b](JAVA&#10;script:alert(3)) [c][x] [x] [d](data:text/html,e) \\\n&#x202e;abc [e](https://example.org) [f](other.md) [g](#t) <https://example.org/h>\n\n[x]: vbscript:alert(4)\n";
    let made = read(&Source::new("doc.md", text), &NoFs).map_err(|it| it.problems).unwrap();
    let printed = plain(&made, "now");
    let mut links = Vec::new();
    let mut words = String::new();
    for event in pulldown_cmark::Parser::new(&printed) {
        match event {
            pulldown_cmark::Event::Start(pulldown_cmark::Tag::Link { dest_url, .. }) => {
                links.push(dest_url.to_string());
            }
            pulldown_cmark::Event::Text(text) => words.push_str(&text),
            _ => {}
        }
    }
    assert_eq!(links, ["https://example.org", "other.md", "#t", "https://example.org/h"]);
    assert!(words.contains("\u{fffd}abc") && !words.contains('\u{202e}'), "{words}");
    assert!(words.contains("[a](javascript:alert(1))"), "what was written is read: {words}");
}

#[test]
fn a_kept_review_is_checked_against_its_inputs() {
    let folder = tempfile::tempdir().unwrap();
    let document = folder.path().join("stop.md");
    let kept = folder.path().join("stop.html");
    let write = |text: &str| std::fs::write(&document, text).unwrap();
    let run = |more: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
        let done =
            command.arg("review").arg(&document).arg("-o").arg(&kept).args(more).output().unwrap();
        (done.status.code().unwrap(), String::from_utf8(done.stderr).unwrap())
    };
    let text = "```sheet run-down as coast\nn_0 = 1450 r/min\nJ = 2 kg·m²\nT_0 = 4 N·m\n```\n\n{coast.t_stop in s}\n";
    write(text);
    assert_eq!(run(&["--check"]).0, 4, "nothing is kept yet");
    assert_eq!(run(&[]).0, 0);
    assert!(std::fs::read_to_string(&kept).unwrap().len() < 228_000);
    assert_eq!(run(&["--check"]), (0, String::new()));
    let page = std::fs::read_to_string(&kept).unwrap();
    assert!(!page.contains(folder.path().to_str().unwrap()), "a page names no folder of its maker");
    write(&text.replace("1450", "1460"));
    let (code, printed) = run(&["--check"]);
    assert_eq!(code, 1);
    assert!(
        printed.contains(
            "error stale-review: the review no longer says what its inputs say, from line"
        ) && printed.contains(" on: stop.md has changed"),
        "{printed}"
    );
    // as text too, where the page itself was touched
    write(text);
    let kept_text = folder.path().join("kept.md");
    let run_md = |more: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
        command.arg("review").arg(&document).args(["--to", "md", "-o"]).arg(&kept_text).args(more);
        let done = command.output().unwrap();
        (done.status.code().unwrap(), String::from_utf8(done.stderr).unwrap())
    };
    let (code, printed) = run_md(&["--check"]);
    assert!(code == 4 && printed.contains("make it first, without `--check`"), "{printed}");
    assert_eq!(run_md(&[]).0, 0);
    assert_eq!(run_md(&["--check"]), (0, String::new()));
    let touched = std::fs::read_to_string(&kept_text).unwrap().replacen("75.9", "74.9", 1);
    std::fs::write(&kept_text, &touched).unwrap();
    let (code, printed) = run_md(&["--check"]);
    assert!(
        code == 1
            && printed.contains("none of its files has changed, it was itself changed by hand"),
        "{printed}"
    );
    // what is no whole review of this form says so, and blames no file
    let page = std::fs::read_to_string(&kept).unwrap();
    for (there, words) in [
        ("", "it is empty"),
        (page.get(..3000).unwrap(), "it is cut off"),
        (&std::fs::read_to_string(&kept_text).unwrap(), "it is Markdown (`--to md`), and a page"),
        (&format!("<!-- a remark -->\n{page}"), "it was itself changed by hand"),
    ] {
        std::fs::write(&kept, there).unwrap();
        let (code, printed) = run(&["--check"]);
        assert!(code == 1 && printed.contains(words), "{printed}");
    }
    std::fs::write(&kept, &page).unwrap();
    // a problem leaves what is there as it is
    let before = std::fs::read(&kept).unwrap();
    write(&text.replace("r/min", "kg"));
    assert_eq!(run(&[]).0, 2);
    assert_eq!(std::fs::read(&kept).unwrap(), before);
}

#[test]
fn a_value_that_stands_where_none_is_read_is_told_when_the_review_is_made() {
    let folder = tempfile::tempdir().unwrap();
    let text = "Read: {c.S in mm}, `{c.S}`.\n\n| a |\n| --- |\n| x | {c.checks} |\n\n<!-- {c.S in m} -->\n\n[a](https://example.org/{c.S})\n\n```sheet two-hand-control as c\nexamples\n```\n";
    std::fs::write(folder.path().join("doc.md"), text).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
    let done = command.args(["review", "doc.md"]).current_dir(folder.path()).output().unwrap();
    let printed = String::from_utf8(done.stdout).unwrap();
    let told: Vec<&str> = printed.lines().filter(|line| line.contains("not calculated")).collect();
    let begins = ["line 5: `{c.checks}` is", "line 7: `{c.S in m}` is", "line 9: `{c.S}` is"];
    assert_eq!(told.len(), begins.len(), "{printed}");
    assert!(told.iter().zip(begins).all(|(line, begin)| line.starts_with(begin)), "{printed}");
}

#[test]
fn what_a_workbook_says_never_becomes_markup() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let tab = book.add_worksheet().set_name("<img src=x onerror=a()>").unwrap();
    let rows = [("n_0", 1450.0, "r/min"), ("J", 2.0, "kg·m²"), ("T_0", 4.0, "N·m")];
    tab.write(0, 0, "sheet run-down").unwrap();
    for (row, (name, value, unit)) in (1..).zip(rows) {
        tab.write(row, 0, name).unwrap();
        tab.write(row, 1, value).unwrap();
        tab.write(row, 2, unit).unwrap();
    }
    let files = Files(BTreeMap::from([("<b>.xlsx", book.save_to_buffer().unwrap())]));
    let text = "```sheet run-down as coast\nfrom <b>.xlsx\n```\n";
    let document = read(&Source::new("doc.md", text), &files).unwrap();
    let html = page(&document, "now");
    let body = html.split("<main>").nth(1).unwrap().split("</main>").next().unwrap();
    assert!(body.contains("&lt;b&gt;.xlsx") && body.contains("&lt;img src=x onerror=a()&gt;"));
    assert!(!body.contains("<img") && !body.contains("<b>.xlsx"));
}

/// Markup, ends of what may stand around it, and signs that turn the reading direction round.
const HOSTILE: &str = "\"'><img src=x onerror=a()></script></style></text></title>]]>--><svg onload=b()>\u{202e}0001\u{202c}\u{2066}\u{0}";

/// Nothing of it has become an element, in the page and in the text for a repository.
fn is_harmless(document: &Document) {
    let html = page(document, "now");
    assert_eq!(html.matches("<script").count(), 2, "the data and the program");
    assert_eq!(html.matches("</script>").count(), 2);
    assert_eq!(html.matches("</style>").count(), 1);
    for mark in ["<img", "<svg onload", "onerror=\"", "\u{202e}", "\u{202c}", "\u{2066}", "\u{0}"] {
        assert!(!html.contains(mark), "{mark:?}");
    }
    for svg in parts(&html, "svg").into_iter().chain(parts(&html, "math")) {
        assert!(is_well_formed(svg), "{svg}");
    }
    assert!(html.contains("&lt;img src=x onerror=a()"), "it is shown as text");
    let text = plain(document, "now");
    assert!(!text.contains('\u{202e}') && !text.contains('\u{2066}'), "{text}");
    // what stands in the document itself is its author's; what is put into it is not
    let put: Vec<&str> = text.lines().filter(|line| line.starts_with(['|', '-'])).collect();
    assert!(put.iter().any(|line| line.contains("\\<img src=x onerror=a()")), "{text}");
    assert!(put.iter().all(|line| !line.replace("\\<", "").contains("<img")), "{text}");
}

#[test]
fn nothing_from_a_document_a_sheet_a_workbook_or_a_line_becomes_markup() {
    // a sheet of its own, in every place where it may speak
    let turning = |it: char| !matches!(it, '\u{202a}'..='\u{2069}');
    let word: String = HOSTILE.replace('"', "”").chars().filter(|it| turning(*it)).collect();
    let sheet = format!(
        "```sheet\nsheet mine\ntitle \"{word}\"\nsource \"{word}\"\ncaution \"{word}\"\n\ntakes\n  a : length in mm from 0 mm like 3 mm \"{word}\"\n\nworks\n  b = 2 * a \"{word}\"\n\nholds\n  b > 1 mm \"{word}\" else \"{word}\"\n\ngives\n  b in mm \"{word}\"\n```\n\n"
    );
    let own = format!(
        "{sheet}```sheet mine as m\na = 3 mm ± 10 %\nshow inputs results checks worst slopes steps\n```\n"
    );
    is_harmless(&read(&Source::new("doc.md", own.clone()), &NoFs).unwrap());
    // with a mark that turns the writing direction it is refused, once a mark
    let turned = own.replace("like 3 mm \"", "like 3 mm \"\u{202e}");
    let problems = read(&Source::new("doc.md", turned), &NoFs).unwrap_err().problems;
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert!(render_line(&problems[0]).contains("turns the writing direction"));

    // a product line: names of variants, few and many, that hold and fail
    for count in [3, 60] {
        let mut csv = String::from("sheet mine\n\nname,a / mm\n");
        for row in 0..count {
            csv.push_str(&format!("\"{}{row}\",{row}\n", HOSTILE.replace('"', "\"\"")));
        }
        let files = Files(BTreeMap::from([("<img src=x onerror=a()>.csv", csv.into_bytes())]));
        let text =
            format!("{sheet}```sheet mine as line\nrange <img src=x onerror=a()>.csv\n```\n");
        is_harmless(&read(&Source::new("doc.md", text), &files).unwrap());
    }

    // a workbook: names of tabs
    let mut book = rust_xlsxwriter::Workbook::new();
    let tab = book.add_worksheet().set_name("<img src=x onerror=a()>\u{202e}").unwrap();
    for (row, text) in (0..).zip(["sheet mine", "a"]) {
        tab.write(row, 0, text).unwrap();
    }
    tab.write(1, 1, 3.0).unwrap();
    tab.write(1, 2, "mm").unwrap();
    tab.write(1, 3, HOSTILE.trim_end_matches('\u{0}')).unwrap();
    let files = Files(BTreeMap::from([("book.xlsx", book.save_to_buffer().unwrap())]));
    let text = format!("{sheet}```sheet mine as m\nfrom book.xlsx\n```\n");
    is_harmless(&read(&Source::new("doc.md", text), &files).unwrap());
}

#[test]
fn a_check_that_fails_is_seen_whatever_is_shown() {
    // one line of a sheet whose check fails with these inputs
    let sheet = "```sheet\nsheet far\ntitle \"Far\"\nsource \"invented\"\ntakes\n  d : length in mm\nworks\n  e = 2 * d\nholds\n  e <= 100 mm \"it is near\" else \"move it\"\ngives\n  e in mm\n```\n";
    for shown in
        ["show results", "show inputs", "show steps", "show settings", "show picture", "show"]
    {
        let text = format!(
            "# A title\n\nIt is {{far.e}}.\n\n{sheet}\n```sheet far\nd = 60 mm\n{shown}\n```\n"
        );
        let document = read(&Source::new("doc.md", text), &NoFs).unwrap();
        assert!(!document.holds());
        let (page, plain) = (page(&document, "now"), unlinked(&plain(&document, "now")));
        let (before, after) = page.split_once("It is ").unwrap();
        assert!(
            before.contains("1 of 2 checks FAILS: far: it is near: move it."),
            "{shown}: the verdict stands at the head"
        );
        assert!(before.contains("it is near: move it"), "{shown}: with what fails");
        assert!(
            after.contains("120\u{a0}mm</span></a><span class=\"why\"> (a check FAILS)</span>"),
            "{shown}: the figure is marked"
        );
        let signed = after.split_once("Signatures").unwrap().1;
        assert!(
            signed.contains("1 of 2 checks FAILS: far: it is near: move it."),
            "{shown}: the verdict stands above the signatures"
        );
        if shown != "show" {
            assert!(
                after.contains("<li class=\"bad\" id=\"calc0k0\""),
                "{shown}: the check itself"
            );
        }
        assert!(
            plain.contains("**Verdict: 1 of 2 checks FAILS: far: it is near: move it.**"),
            "{plain}"
        );
        assert!(plain.contains("It is 120 mm (a check FAILS)."), "{plain}");
    }
}

#[test]
fn the_ends_of_the_worst_case_stand_in_the_text() {
    // ½·m·r² = ½·(10 kg ± 1 kg)·(0.1 m)² (any handbook)
    let sheet = "```sheet\nsheet half\ntitle \"Half\"\nsource \"invented\"\ntakes\n  m : mass in kg\n  r : length in m\nworks\n  J = 0.5 * m * r^2\ngives\n  J in kg·m²\n```\n";
    let half = "```sheet half as c\nm = 10 kg ± 10 %\nr = 0.1 m\nshow\n```\n";
    let text = format!("Between {{c.J lowest}} and {{c.J highest}}.\n\n{sheet}\n{half}");
    let document = read(&Source::new("doc.md", text), &NoFs).unwrap();
    assert!(unlinked(&plain(&document, "now")).contains("Between 0.045 kg·m² and 0.055 kg·m²."));
    let page = page(&document, "now");
    assert!(page.contains("<span class=\"v wo\">0.045\u{a0}kg·m²</span>"), "struck out on a trial");
    for (written, remedy) in [
        ("{c.J highest in kg·m²}", "write `{c.J highest}`"),
        ("{c.m highest}", "write `{c.m}`"),
        ("{c.K highest}", "`standstill show half`"),
    ] {
        let text = format!("{written}\n\n{sheet}\n{half}");
        let problems = read(&Source::new("doc.md", text), &NoFs).unwrap_err().problems;
        assert!(problems[0].remedy.contains(remedy), "{written}: {}", problems[0].remedy);
    }
    let without = half.replace(" ± 10 %", "");
    let problems =
        read(&Source::new("doc.md", format!("{{c.J lowest}}\n\n{sheet}\n{without}")), &NoFs);
    assert!(problems.unwrap_err().problems[0].headline.contains("has a tolerance"));
}

#[test]
fn headings_are_places_and_a_long_page_has_contents_and_running_heads() {
    let parts: String = (1..9).map(|at| format!("## Part {at} <b>\n\ntext\n\n")).collect();
    let text = format!(
        "# A \"title\" <\n\nRevision C. [there](#part-2-b)\n\n{parts}## Part 1 b\n\n## Calc0\n\n## calc0\n"
    );
    let page = page(&read(&Source::new("doc.md", text), &NoFs).unwrap(), "2026-01-01 00:00 UTC");
    for id in ["part-1-b", "part-2-b", "part-1-b-1", "text-calc0", "text-calc0-1"] {
        assert_eq!(page.matches(&format!("id=\"{id}\"")).count(), 1, "{id}");
        assert_eq!(page.matches(&format!("<li><a href=\"#{id}\">")).count(), 1, "{id}");
    }
    assert!(page.contains("@top-left { content: \"A \\22 title\\22  \\3c  · revision C · 2026-01-01 00:00 UTC · sha256 "));
}

#[test]
fn braces_and_fences_that_mean_a_value_or_a_sheet_are_never_text() {
    let block = "```sheet solid-cylinder as c\nexamples\n```\n";
    for (text, remedy) in [
        ("{c}", "write `{c."),
        ("{ c }", "write `{c."),
        ("{J}", "write `{name.result}`"),
        ("{}", "write `{name.result}`"),
        ("{c.J", "close it with `}`"),
        ("{d.J}", "name a calculation"),
    ] {
        let refused =
            read(&Source::new("doc.md", format!("{text}\n\n{block}")), &NoFs).unwrap_err();
        let words = standstill::diagnostic::render_long(&refused.problems[0]);
        assert_eq!(refused.problems.len(), 1, "{words}");
        assert!(words.contains(remedy), "{text}: {words}");
    }
    for text in ["{ c.J }", "{c.J in kg·m²}", "\\{c}", "`{c}`"] {
        assert!(
            read(&Source::new("doc.md", format!("{text}\n\n{block}")), &NoFs).is_ok(),
            "{text}"
        );
    }
    for fence in ["Sheet", "SHEET", "sheets", "shet", "sheet:"] {
        let text = format!("```{fence} solid-cylinder as c\nexamples\n```\n");
        let refused = read(&Source::new("doc.md", text), &NoFs).unwrap_err();
        let words = standstill::diagnostic::render_long(&refused.problems[0]);
        assert!(words.contains("write `sheet solid-cylinder as c`"), "{fence}: {words}");
    }
    for fence in [
        "solid-cylinder as c", "sheet=solid-cylinder as c", "sheet:solid-cylinder as c",
        "json sheet solid-cylinder as c",
    ] {
        let text = format!("{block}\n```{fence}\nexamples\n```\n");
        let refused = read(&Source::new("doc.md", text), &NoFs).unwrap_err();
        let words = standstill::diagnostic::render_long(&refused.problems[0]);
        assert!(words.contains("write `sheet solid-cylinder as c`"), "{fence}: {words}");
    }
    for fence in ["range roller-line.xlsx", "design safe-stop", "mine as c", "standstill run"] {
        let text = format!("{block}\n```{fence}\n```\n");
        let refused = read(&Source::new("doc.md", text), &NoFs).unwrap_err();
        assert!(refused.problems[0].headline.contains("is not calculated"), "{fence}");
    }
    for fence in ["", "text", "text sheet as shown", "console", "toml", "mermaid"] {
        let text = format!("{block}\n```{fence}\nrun-down\n```\n");
        assert!(read(&Source::new("doc.md", text), &NoFs).is_ok(), "{fence}");
    }
    // where the text's own marks make a block into text, it is said, and nothing is signed without it
    let fenced = "```sheet solid-cylinder as d\nexamples\n```\n";
    for text in [
        format!("<!-- to be looked at\n\n{fenced}"),
        format!("<!--\n{fenced}-->\n"),
        format!("<div>\n{fenced}</div>\n"),
        format!("<pre>\n{fenced}</pre>\n"),
        format!("````text\n{fenced}````\n"),
        format!("~~~\n{fenced}~~~\n"),
        "text\n\n    ```sheet solid-cylinder as d\n    examples\n    ```\n".to_owned(),
        "```{sheet} solid-cylinder as d\nexamples\n```\n".to_owned(),
        "> <!--\n> ```sheet solid-cylinder as d\n> examples\n> ```\n".to_owned(),
    ] {
        let refused = read(&Source::new("doc.md", format!("{block}\n{text}")), &NoFs).unwrap_err();
        let words = standstill::diagnostic::render_long(&refused.problems[0]);
        assert!(words.contains("is text and is not calculated"), "{text}: {words}");
    }
    let empty = page(&read(&Source::new("doc.md", "# Nothing\n"), &NoFs).unwrap(), "today");
    assert!(!empty.contains("approved"), "nothing to be signed: {empty}");
    for fence in ["text", "console", "rust", ""] {
        assert!(read(&Source::new("doc.md", format!("```{fence}\n{{c}}\n```\n")), &NoFs).is_ok());
    }
}

// CommonMark 0.31: HTML blocks (4.6), indented code (4.4), fenced code (4.5) and block quotes (5.1) take in what
// stands in them; each would take a calculation, and the check that it fails, out of the document
#[test]
fn a_block_that_would_not_be_calculated_is_a_problem_wherever_it_stands() {
    let block = |fence: &str, info: &str| {
        format!("{fence}{info} run-down as bad\nexamples\nT_load = -9 N·m\nshow results\n{fence}\n")
    };
    let indented = |text: &str, with: &str| {
        text.lines().map(|line| format!("{with}{line}\n")).collect::<String>()
    };
    let sheet = block("```", "sheet");
    let none = [
        format!("<!-- to be looked at\n\n{sheet}"),
        format!("<!--\n{sheet}-->\n"),
        format!("<div>\n{sheet}</div>\n"),
        format!("<pre>\n\n{sheet}</pre>\n"),
        format!("<script>\n{sheet}</script>\n"),
        format!("`````\n{sheet}`````\n"),
        format!("````text\n{sheet}````\n"),
        indented(&sheet, "    "),
        indented(&sheet, "> "),
        indented(&block("~~~", "sheet"), "> 1. "),
        block("```", "{sheet}"),
        block("```", "{.sheet}"),
        block("```", "Sheet"),
        block("~~~~", "sheets"),
        block("``", "sheet"),
    ];
    let first = "# A stop\n\n```sheet run-down as ok\nexamples\n```\n\n";
    for text in none {
        let source = Source::new("doc.md", format!("{first}{text}"));
        let problems = read(&source, &NoFs).err().unwrap_or_else(|| panic!("{text}")).problems;
        let about: Vec<_> =
            problems.iter().filter(|it| it.headline.contains("calculated")).collect();
        assert_eq!(about.len(), 1, "{text}\n{problems:?}");
        assert_eq!(problems.len(), 1, "one problem, one message: {text}\n{problems:?}");
        assert!(!about[0].remedy.is_empty());
    }
    // what is calculated, and what is no block
    let sheet = sheet.replace("-9", "0");
    for (text, count) in [
        (sheet.clone(), 2),
        (indented(&sheet, "   "), 2),
        (format!("1. first\n\n{}", indented(&sheet, "   ")), 2),
        (block("~~~~", "sheet").replace("-9", "0"), 2),
        ("Write ```sheet run-down as bad``` and `sheet` at its head.\n".to_owned(), 1),
        ("```text\nsheet run-down\n```\n".to_owned(), 1),
    ] {
        let document = read(&Source::new("doc.md", format!("{first}{text}")), &NoFs).unwrap();
        assert_eq!(document.calculations.len(), count, "{text}");
    }
}

#[test]
fn html_hides_nothing_of_a_text_and_nothing_is_signed_where_nothing_is_calculated() {
    let text = "# A note\n\n<!-- never closed\n\nA value <b>stands</b> here.\n";
    let document = read(&Source::new("doc.md", text.to_owned()), &NoFs).unwrap();
    let (page, plain) = (page(&document, "now"), plain(&document, "now"));
    assert!(plain.contains("\\<!-- never closed") && plain.contains("\\<b>stands"), "{plain}");
    assert!(!page.contains("id=\"signatures\"") && !page.contains("approved"), "no place to sign");
}

/// Every input and result, and every line that the text speaks of, is in the list of symbols once for each meaning,
/// with words, unit and kind; each link leads to a place of the page.
#[test]
fn the_list_of_symbols_has_words_for_everything() {
    let sheet = "```sheet\nsheet far\ntitle \"Far\"\nsource \"invented\"\ntakes\n  d : length in mm \"from here\"\n  way : one of near, far \"how far\"\nworks\n  g = 2 * d\n  e = when way is near : g\n      otherwise : 3 * d\ngives\n  e in mm\n```\n";
    let text = format!(
        "{{b.g}}\n\n{sheet}\n```sheet far as a\nd = 60 mm\nway = near\nshow inputs results\n```\n\n```sheet far as b\nd = 70 mm\nway = far\nshow\n```\n"
    );
    let document = read(&Source::new("doc.md", text), &NoFs).unwrap();
    let (page, plain) = (page(&document, "now"), plain(&document, "now"));
    for row in [
        "| d | from here | mm | length | input of a, b |",
        // without words of its own it has its formula
        "| e | calculated as e = when way is near : g otherwise : 3 \\* d | mm | length | result of a, b |",
        "| g | calculated as g = 2 \\* d | mm | length | line of b |",
        "| way | how far |  | one of near, far | input of a, b |",
    ] {
        assert!(plain.contains(row), "{row}\n{plain}");
    }
    let list =
        page.split_once("<h2 id=\"symbols\">").unwrap().1.split_once("</section>").unwrap().0;
    assert_eq!(list.matches("<tr").count(), 5, "{list}");
    let links: Vec<&str> =
        list.split("href=\"#").skip(1).map(|it| it.split('"').next().unwrap()).collect();
    assert_eq!(links, ["calc0i0", "calc0r0", "calc0i1"]);
    for link in links {
        assert_eq!(page.matches(&format!(" id=\"{link}\"")).count(), 1, "{link}");
    }
}
