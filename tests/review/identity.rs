//! What a review is known by, and that nothing of it is lost or written over without a word.

use std::collections::BTreeMap;
use std::process::Command;

use super::Files;
use standstill::diagnostic::Source;
use standstill::environment::NoFs;
use standstill::review::{is_as_made, page, plain, read};

const TEXT: &str = "# Stop\n\n```sheet run-down as c\nfrom a.csv\n```\n";

fn book(speed: u32) -> Vec<u8> {
    format!("sheet run-down\nn_0,{speed},r/min\nJ,2,kg·m²\nT_0,4,N·m\n").into_bytes()
}

fn made(text: &str, speed: u32) -> String {
    let files = Files(BTreeMap::from([("a.csv", book(speed))]));
    page(&read(&Source::new("doc.md", text), &files).unwrap(), "m")
}

/// What stands at the head of every printed page.
fn head(html: &str) -> &str {
    html.split("@top-left { content: \"").nth(1).unwrap().split("\"; font").next().unwrap()
}

fn of_text(text: &str) -> String {
    page(&read(&Source::new("doc.md", text), &NoFs).unwrap(), "m")
}

#[test]
fn a_review_is_known_by_every_file_that_went_in() {
    let once = made(TEXT, 1450);
    let id = head(&once).rsplit(' ').next().unwrap();
    assert_eq!(id.len(), 12);
    assert_eq!(head(&once), head(&made(TEXT, 1450)));
    assert_ne!(head(&once), head(&made(TEXT, 1460)), "its workbook");
    assert_ne!(head(&once), head(&made(&format!("{TEXT}\nmore\n"), 1450)), "its text");
    // the trial's link, the table of files and the text know it by the same
    assert!(once.contains(&format!("\"id\":\"{id}\"")));
    assert!(once.contains(&format!("The review is known by {id}: ")));
    let files = Files(BTreeMap::from([("a.csv", book(1450))]));
    let text = plain(&read(&Source::new("doc.md", TEXT), &files).unwrap(), "m");
    assert!(text.contains(&format!("The review is known by {id}: ")), "{text}");
}

#[test]
fn a_revision_is_the_one_that_is_stated_and_never_guessed() {
    for (text, revision) in [
        ("Revision C", Some("C")),
        ("- Revision: 2.1.", Some("2.1")),
        ("| Revision | B-3 |", Some("B-3")),
        ("**Revision** D", Some("D")),
        ("Design review of an invented machine. Revision B. Customer: a hall.", Some("B")),
        ("Design review of an invented machine · revision B", Some("B")),
        ("Design review of an invented machine, revision B. Customer: a hall.", None),
        ("Replaces the one before, revision B.", None),
        ("See the drawing, revision 12, for the drum.", None),
        ("Not approved, revision 3, withdrawn.", None),
        ("Revision B is void.", None),
        ("Revision B, of last year", None),
        ("Revision C/3", Some("C/3")),
        ("Revision C (draft)", Some("C (draft)")),
        ("Revision 3 b · an invented hall", Some("3 b")),
        ("This is revision E of it.", None),
        ("Replaces revision B of last year.", None),
        ("The drive has firmware revision 4.2.", None),
        ("This is not yet revision C.", None),
        ("It replaces revision A.\n\nRevision B", Some("B")),
        ("It replaces revision A, and work on revision B goes on.", None),
        ("- Revision A: first issue\n- Revision B: other gear", None),
        ("under revision by the team", None),
        ("provision 3 and previsions 4", None),
        ("Each revision is kept.", None),
        ("", None),
    ] {
        let html = of_text(&format!("# T\n\n{text}\n"));
        let said = head(&html).split(" · ").find_map(|part| part.strip_prefix("revision "));
        assert_eq!(said, revision, "{text}");
    }
}

#[test]
fn the_head_of_a_page_reads_as_its_title_reads() {
    let block = "```sheet solid-cylinder as c\nexamples\n```\n";
    let html = of_text(&format!("# Stop of {{c.J}} & `x` <b>\n\n{block}"));
    let title = html.split("<title>").nth(1).unwrap().split("</title>").next().unwrap();
    assert!(!title.contains('{') && title.contains(" &amp; x &lt;b&gt;"), "{title}");
    assert!(
        title.contains("kg·m² (inputs are the sheet&#39;s examples)"),
        "with its mark: {title}"
    );
    let html = of_text("# A\u{202e}B\n");
    assert!(head(&html).starts_with("A\u{fffd}B · "), "no sign turns the line around");
}

#[test]
fn links_and_pictures_that_the_page_cannot_carry_are_named() {
    let html =
        of_text("# T\n\n![the guard](https://example.org/guard.png) and [the plan](../plan.pdf)\n");
    assert!(
        html.contains(
            "[picture: the guard (https://example.org/guard.png), not part of this page]"
        )
    );
    assert!(html.contains("the plan (../plan.pdf)"));
    assert!(
        of_text("[law](https://example.org/law)").contains("<a href=\"https://example.org/law\">")
    );
}

/// The signature of PNG and the first bytes of JPEG, GIF and WebP are those of their specifications.
#[test]
fn a_picture_beside_the_document_goes_into_the_page_with_its_hash() {
    let sheet = "```sheet\nsheet half\ntitle \"Half\"\nsource \"invented\"\ntakes\n  d : length in mm\nworks\n  r = d / 2\ngives\n  r in mm\n```\n\n```sheet half as c\nd = 60 mm\n```\n";
    let read_with = |line: &str, name: &'static str, bytes: &[u8]| {
        let files = super::Files([(name, bytes.to_vec())].into_iter().collect());
        read(&Source::new("doc.md", format!("# T\n\n{line}\n\n{sheet}")), &files)
    };
    let svg = b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>";
    for (name, bytes, media) in [
        ("a.png", &b"\x89PNG\r\n\x1a\n"[..], "image/png"),
        ("a.jpg", &b"\xff\xd8\xff\xe0"[..], "image/jpeg"),
        ("a.gif", &b"GIF89a"[..], "image/gif"),
        ("a.webp", &b"RIFF\0\0\0\0WEBP"[..], "image/webp"),
        ("a.svg", &svg[..], "image/svg+xml"),
    ] {
        let document = read_with(&format!("![the *guard*]({name})"), name, bytes).unwrap();
        let html = page(&document, "now");
        let shown = format!("<img alt=\"the guard\" src=\"data:{media};base64,");
        assert!(html.contains(&shown), "{name}");
        let file = document.files.iter().find(|file| file.name == name).unwrap();
        assert!(html.contains(&file.hash), "{name}: its hash is on the page");
    }
    // a value in the title follows a trial; in the text it is a value as well, quotes and all
    let line = "![at {c.r}](a%20b.svg \"Drawn at {c.r}\")";
    let document = read_with(line, "a b.svg", svg).unwrap();
    let html = page(&document, "now");
    let value = html.split("<span class=\"cap\">Drawn at ").nth(1).unwrap();
    assert!(value.starts_with("<a class=\"cf\" href=\"#calc0"), "{value:.60}");
    assert!(value.contains("title=\"c.r\"><span class=\"v\" data-c=\"0\" data-r="), "{value:.99}");
    assert!(html.contains("aria-labelledby=\"alt-0\""));
    let text = plain(&document, "now");
    assert!(text.contains("![at 30 mm](a%20b.svg \"Drawn at 30 mm\")"), "{text}");
    for (line, place, words, remedy) in [
        (
            "![g](gone.png)", "doc.md:3:1", "the picture `gone.png`: no such file",
            "correct its name",
        ),
        ("x ![g](a.svg \"{c.q}\")", "doc.md:3:18", "`c` has no value `q`", "standstill show half"),
        ("![g](a.svg '{c.r} \\'x')", "doc.md:3:1", "written elsewhere", "write the title behind"),
    ] {
        let problems = read_with(line, "a.svg", svg).unwrap_err().problems;
        let told = standstill::diagnostic::render_line(&problems[0]);
        for part in [place, words, remedy] {
            assert!(told.contains(part), "{line}: {told}");
        }
    }
    let told = read_with("![g](a.svg)", "a.svg", b"%PDF-1.7").unwrap_err().problems;
    assert!(told[0].headline.contains("`a.svg` is no picture that a page can show"), "{told:?}");
}

#[test]
fn a_review_changed_by_hand_is_written_over_on_demand_alone() {
    let folder = tempfile::tempdir().unwrap();
    let document = folder.path().join("stop.md");
    std::fs::write(&document, TEXT.replace("from a.csv", "examples")).unwrap();
    let run = |words: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
        let done =
            command.current_dir(folder.path()).args(["review", "stop.md"]).args(words).output();
        let done = done.unwrap();
        (done.status.code().unwrap(), String::from_utf8(done.stderr).unwrap())
    };
    for (words, name) in [(&[][..], "stop.html"), (&["--to", "md"][..], "stop.review.md")] {
        let kept = folder.path().join(name);
        assert_eq!(run(words), (0, String::new()), "{name}");
        assert_eq!(run(words), (0, String::new()), "as it was made, it is made again");
        let text = std::fs::read_to_string(&kept).unwrap();
        assert!(is_as_made(text.as_bytes()));
        assert!(is_as_made(text.replace('\n', "\r\n").as_bytes()), "an editor's line ends");
        let touched = text.replacen("holds", "Holds", 1);
        let touched = if touched == text { text.replacen("Stop", "Halt", 1) } else { touched };
        assert!(!is_as_made(touched.as_bytes()));
        assert!(!is_as_made(format!("{text}\nseen by me\n").as_bytes()));
        std::fs::write(&kept, &touched).unwrap();
        let (code, said) = run(words);
        assert!(code > 1 && said.contains("--force"), "{code} {said}");
        assert_eq!(std::fs::read_to_string(&kept).unwrap(), touched);
        let (code, said) = run(&[words, &["--check"]].concat());
        assert!(code == 1 && said.contains("it was itself changed by hand"), "{code} {said}");
        assert_eq!(run(&[words, &["--force"]].concat()), (0, String::new()));
        assert!(is_as_made(&std::fs::read(&kept).unwrap()));
    }
}

#[test]
fn a_name_that_says_the_other_form_is_told_the_option() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("d.md"), "# T\n").unwrap();
    for (words, remedy, mended) in [
        (&["-o", "x.md"][..], "add `--to md`", &["-o", "x.md", "--to", "md"][..]),
        (&["-o", "x.html", "--to", "md"][..], "leave out `--to md`", &["-o", "x.html"][..]),
    ] {
        for check in [&[][..], &["--check"][..]] {
            let run = |words: &[&str]| {
                let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
                let done = command.current_dir(folder.path()).args(["review", "d.md"]);
                done.args(words).args(check).output().unwrap()
            };
            let done = run(words);
            let said = String::from_utf8(done.stderr).unwrap();
            assert!(!done.status.success() && said.contains(remedy), "{said}");
            if check.is_empty() {
                assert!(!folder.path().join(words[1]).exists());
                assert!(run(mended).status.success(), "the remedy works as typed");
                std::fs::remove_file(folder.path().join(words[1])).unwrap();
            }
        }
    }
}

#[test]
fn a_review_is_the_same_from_wherever_it_is_made() {
    const SHEET: &str = "sheet NAME\ntitle \"x\"\nsource \"arithmetic\"\ntakes\n  a : length in m like 2 m \"w\"\nworks\n  y = 2 * a\nholds\n  y > 1 m \"ok\"\ngives\n  y in m \"twice\"\n";
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    };
    write("lib/beside.sheet", &SHEET.replace("NAME", "beside"));
    write("job/standstill.toml", "sheets = [\"../lib\"]\n");
    let own = SHEET.replace("NAME", "own");
    write(
        "job/d.md",
        &format!(
            "# T\n\n```sheet\n{own}```\n\n```sheet own as o\nexamples\n```\n\n```sheet beside as b\nexamples\n```\n"
        ),
    );
    let whole = folder.path().canonicalize().unwrap().join("job/d.md");
    let ways = [
        ("job", "d.md".to_owned()),
        ("job", "./d.md".to_owned()),
        ("", "job/d.md".to_owned()),
        ("lib", "../job/d.md".to_owned()),
        ("lib", whole.to_string_lossy().into_owned()),
    ];
    for to in ["html", "md"] {
        for (at, (from, name)) in ways.iter().enumerate() {
            let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
            command.current_dir(folder.path().join(from)).args(["review", name, "--to", to]);
            // made once, then checked under every other name
            let done = command.args((at > 0).then_some("--check")).output().unwrap();
            let said = String::from_utf8(done.stderr).unwrap();
            assert_eq!((done.status.code(), said.as_str()), (Some(0), ""), "{name} {to}");
        }
        let kept = if to == "html" { "job/d.html" } else { "job/d.review.md" };
        let text = std::fs::read_to_string(folder.path().join(kept)).unwrap();
        let above = folder.path().file_name().unwrap().to_str().unwrap();
        assert!(!text.contains(above) && text.contains("../lib/beside.sheet"), "{kept}");
        assert!(text.contains("written in d.md, line "), "{kept}");
    }
}
