//! Where outputs may go: every kind of target under every command that writes, with one rule for all.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use super::standstill;

const DOCUMENT: &str = "# A stop\n\n```sheet run-down as down\nexamples\n```\n";
const TABLE: &str = "sheet run-down,,,\nname,J / kg·m²,n_0 / (r/min),T_0 / N·m,t_stop / s\na,2,1500,4,\nb,3,1500,4,\n";

/// The words of each command that writes, with `OUT` for the target, and the endings that fit.
const WRITERS: &[(&[&str], &str)] = &[
    (&["fill", "book.xlsx", "-o", "OUT"], ".xlsx"),
    (&["range", "line.csv", "-o", "OUT"], ".csv"),
    (&["range", "line.csv", "-o", "OUT"], ".xlsx"),
    (&["review", "doc.md", "-o", "OUT"], ".html"),
    (&["review", "doc.md", "--to=md", "-o", "OUT"], ".md"),
    (&["form", "run-down", "-o", "OUT"], ".xlsx"),
    (&["run", "run-down", "--example", "-o", "OUT"], ".xlsx"),
];

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    fs::copy(root.join("examples/carton-wrapper.xlsx"), folder.path().join("book.xlsx")).unwrap();
    fs::write(folder.path().join("doc.md"), DOCUMENT).unwrap();
    fs::write(folder.path().join("line.csv"), TABLE).unwrap();
    folder
}

fn with(words: &[&str], target: &str) -> Vec<String> {
    words.iter().map(|word| if *word == "OUT" { target } else { word }.to_owned()).collect()
}

/// Exit code and all that was printed.
fn run(folder: &Path, words: &[String]) -> (i32, String) {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let output = standstill(folder, &words);
    let text = [output.stdout, output.stderr].concat();
    (output.status.code().unwrap(), String::from_utf8_lossy(&text).into_owned())
}

#[test]
fn a_file_that_is_there_is_replaced_by_force_alone() {
    for (words, ending) in WRITERS {
        let folder = folder();
        let target = format!("out{ending}");
        let at = folder.path().join(&target);
        let (code, text) = run(folder.path(), &with(words, &target));
        assert!(code <= 1 && at.exists(), "{words:?}: {text}");
        fs::write(&at, "the owner's own").unwrap();
        let (code, text) = run(folder.path(), &with(words, &target));
        assert_eq!(code, 4, "{words:?}: {text}");
        assert!(text.contains("there is a file of that name already"), "{text}");
        assert_eq!(fs::read_to_string(&at).unwrap(), "the owner's own", "{words:?}");
        let mut forced = with(words, &target);
        forced.push("--force".to_owned());
        let (code, text) = run(folder.path(), &forced);
        assert!(code <= 1, "the remedy is right when typed: {forced:?}: {text}");
        assert_ne!(fs::read(&at).unwrap(), b"the owner's own");
        let left: Vec<_> = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name.ends_with(".part"))
            .collect();
        assert!(left.is_empty(), "{left:?}");
    }
}

#[test]
fn the_ending_says_the_format_and_the_remedy_names_those_that_fit() {
    for (words, ending) in WRITERS {
        for wrong in
            ["out.docx", "out", "out.xls", "out.txt", "out.csv", "out.xlsx", "out.html", "out.md"]
        {
            // `range` and `form` write either of two
            let others: &[&str] = match words[0] {
                "range" => &[".csv", ".xlsx"],
                "form" => &[".xlsx", ".html"],
                _ => &[],
            };
            let fits = wrong.ends_with(ending) || others.iter().any(|other| wrong.ends_with(other));
            if fits {
                continue;
            }
            let folder = folder();
            let (code, text) = run(folder.path(), &with(words, wrong));
            assert!(code == 2 || code == 4, "{words:?} {wrong}: {code} {text}");
            assert!(text.contains(ending), "{words:?} {wrong}: {text}");
            assert!(!folder.path().join(wrong).exists(), "{words:?} {wrong}");
        }
    }
}

#[cfg(unix)]
#[test]
fn what_a_run_reads_is_never_an_output_however_it_is_named() {
    for (words, source) in [
        (&["fill", "book.xlsx", "-o", "OUT", "--force"][..], "book.xlsx"),
        (&["range", "line.csv", "-o", "OUT", "--force"][..], "line.csv"),
        (&["review", "doc.md", "--to=md", "-o", "OUT", "--force"][..], "doc.md"),
    ] {
        let ending = source.rsplit('.').next().unwrap();
        for how in ["same", "dot", "link", "hard"] {
            let folder = folder();
            let before = fs::read(folder.path().join(source)).unwrap();
            let other = format!("other.{ending}");
            let target = match how {
                "same" => source.to_owned(),
                "dot" => format!("./{source}"),
                "link" => {
                    std::os::unix::fs::symlink(source, folder.path().join(&other)).unwrap();
                    other
                }
                _ => {
                    fs::hard_link(folder.path().join(source), folder.path().join(&other)).unwrap();
                    other
                }
            };
            let (code, text) = run(folder.path(), &with(words, &target));
            assert_eq!(code, 4, "{words:?} {how}: {text}");
            assert!(text.contains("this run reads it"), "{words:?} {how}: {text}");
            assert_eq!(fs::read(folder.path().join(source)).unwrap(), before, "{words:?} {how}");
        }
    }
}

#[cfg(unix)]
#[test]
fn a_device_and_standard_output_are_written_into() {
    for (words, _) in WRITERS {
        let folder = folder();
        let (code, text) = run(folder.path(), &with(words, "/dev/null"));
        assert!(code <= 1, "{words:?}: {text}");
        let words = with(words, "-");
        let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
            .current_dir(folder.path())
            .args(&words)
            .output()
            .unwrap();
        assert!(output.status.code().unwrap() <= 1, "{}", String::from_utf8_lossy(&output.stderr));
        let begins: &[u8] = match words[0].as_str() {
            "review" if words[2] == "--to=md" => b"# A stop",
            "review" => b"<!doctype html>",
            "range" => b"sheet run-down",
            _ => b"PK",
        };
        assert!(output.stdout.starts_with(begins), "{words:?}: the file and nothing else");
        assert!(!output.stderr.is_empty(), "{words:?}: what is said stands beside it");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn what_cannot_be_printed_ends_with_4_and_a_closed_pipe_does_not() {
    for words in [
        &["list"][..],
        &["--help"],
        &["show", "run-down"],
        &["run", "run-down", "--example"],
        &["run", "run-down", "--example", "--json"],
        &["fill", "book.xlsx", "--dry-run"],
        &["range", "line.csv", "--dry-run"],
        &["review", "doc.md", "-o", "/dev/full"],
        &["fill", "book.xlsx", "-o", "-"],
        &[
            "design", "run-down", "t_stop<=200 s", "by", "T_0", "from", "1 N·m", "to", "8 N·m",
            "in", "steps", "of", "1 N·m", "--example",
        ],
    ] {
        let folder = folder();
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
            .current_dir(folder.path())
            .args(words)
            .stdout(Stdio::from(full))
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(4), "{words:?}");
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
            .current_dir(folder.path())
            .args(words.iter().map(|word| if *word == "/dev/full" { "a.html" } else { word }))
            .stdout(Stdio::from(writer))
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        assert!(output.status.code().unwrap_or(9) <= 1, "{words:?}: {output:?}");
    }
}

#[test]
fn of_two_runs_at_once_one_fails_or_both_wrote_the_same_whole_file() {
    for _ in 0..12 {
        let folder = folder();
        let start = || {
            Command::new(env!("CARGO_BIN_EXE_standstill"))
                .current_dir(folder.path())
                .args(["form", "run-down", "-o", "new.xlsx"])
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .unwrap()
        };
        let mut both = [start(), start()];
        let codes: Vec<i32> =
            both.iter_mut().map(|one| one.wait().unwrap().code().unwrap()).collect();
        assert_eq!(codes.iter().filter(|code| **code == 0).count(), 1, "{codes:?}");
        assert!(fs::read(folder.path().join("new.xlsx")).unwrap().starts_with(b"PK"));
    }
}

#[cfg(unix)]
#[test]
fn what_a_killed_run_left_is_removed_and_what_a_living_one_holds_is_not() {
    let folder = folder();
    let (dead, living, other) =
        (".book.xlsx.4194301-0.part", ".book.xlsx.4194302-0.part", ".other.xlsx.7-0.part");
    for name in [dead, living, other] {
        fs::write(folder.path().join(name), "half").unwrap();
    }
    let held = fs::File::open(folder.path().join(living)).unwrap();
    held.lock().unwrap();
    let (code, text) = run(folder.path(), &["fill".to_owned(), "book.xlsx".to_owned()]);
    assert!(code <= 1, "{text}");
    assert!(!folder.path().join(dead).exists(), "nobody holds it");
    assert!(folder.path().join(living).exists(), "somebody holds it");
    assert!(folder.path().join(other).exists(), "it belongs to another file");
}

#[cfg(unix)]
#[test]
fn a_second_name_of_a_file_is_not_torn_off() {
    let folder = folder();
    fs::hard_link(folder.path().join("book.xlsx"), folder.path().join("twin.xlsx")).unwrap();
    let before = fs::read(folder.path().join("book.xlsx")).unwrap();
    let (code, text) = run(folder.path(), &["fill".to_owned(), "book.xlsx".to_owned()]);
    assert_eq!(code, 4, "{text}");
    assert!(text.contains("2 names"), "{text}");
    assert_eq!(fs::read(folder.path().join("twin.xlsx")).unwrap(), before);
}

#[test]
fn draws_beyond_reason_are_refused() {
    let folder = folder();
    let words = ["run", "run-down", "--example", "--spread", "100000000000000"].map(str::to_owned);
    let (code, text) = run(folder.path(), &words);
    assert_eq!(code, 2, "{text}");
    assert!(text.contains("1000000"), "{text}");
}
