//! Hostile files, met by the program as a person starts it, in a bounded address space: each ends in a
//! message. How soon and in how much memory is measured by `tests/bench/hostile_files.py`.

use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use super::files::{container, smallest, worksheet};

/// The address space that the program may use, in KiB: half of what the files unpack to.
const SPACE: u32 = 512 << 10;

/// After this time a run counts as hanging; an answer takes a small part of it.
const HANGS: Duration = Duration::from_secs(60);

fn finished(mut child: Child, name: &str) -> std::process::Output {
    let begun = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begun.elapsed() > HANGS {
            child.kill().unwrap();
            panic!("{name}: no answer after {HANGS:?}");
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    child.wait_with_output().unwrap()
}

fn fill(folder: &Path, name: &str) -> (Option<i32>, String) {
    run(folder, &["fill", name])
}

fn run(folder: &Path, words: &[&str]) -> (Option<i32>, String) {
    let name = words[1];
    let program = env!("CARGO_BIN_EXE_standstill");
    // the shell's own limit holds for what it becomes
    let child = Command::new("sh")
        .arg("-c")
        .arg(format!("ulimit -v {SPACE} && exec \"$0\" \"$@\" -o out.xlsx --force"))
        .arg(program)
        .args(words)
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let output = finished(child, name);
    (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
}

/// A deflated part of so many MiB of blanks between two texts, in a container: a few MiB that say a GiB.
fn blanks(part: &str, before: &str, mebibytes: usize, after: &str) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options =
        zip::write::SimpleFileOptions::default().compression_level(Some(1)).large_file(true);
    zip.start_file(part, options).unwrap();
    zip.write_all(before.as_bytes()).unwrap();
    let block = vec![b' '; 1 << 20];
    for _ in 0..mebibytes {
        zip.write_all(&block).unwrap();
    }
    zip.write_all(after.as_bytes()).unwrap();
    zip.finish().unwrap().into_inner()
}

/// A workbook whose tab has so many MiB of rows without a blank too many, each KiB with `noise` signs that do
/// not repeat: the more of them, the worse it packs.
fn dense(mebibytes: usize, noise: usize) -> Vec<u8> {
    let plain = smallest(&worksheet("<sheetData/>"), &[]);
    let mut from = zip::ZipArchive::new(std::io::Cursor::new(plain)).unwrap();
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    for index in 0..from.len() {
        let entry = from.by_index_raw(index).unwrap();
        let name = entry.name().unwrap().into_owned();
        if name != "xl/worksheets/sheet1.xml" {
            zip.raw_copy_file(entry).unwrap();
            continue;
        }
        zip.start_file(name, options).unwrap();
        zip.write_all(b"<worksheet><sheetData>").unwrap();
        let mut state = 88_172_645_463_325_252_u64;
        for row in 0..mebibytes << 10 {
            let mut text = format!("<row><c><v>{row}</v></c><c><is>");
            for _ in 0..noise {
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                text.push(char::from(b'a' + u8::try_from(state % 26).unwrap()));
            }
            text.push_str(&"x".repeat(1024 - 17 - text.len()));
            text.push_str("</is></c></row>\r\n");
            zip.write_all(text.as_bytes()).unwrap();
        }
        zip.write_all(b"</sheetData></worksheet>").unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[test]
fn a_large_part_that_is_no_blanks_is_measured_by_the_file_and_by_what_memory_holds() {
    let folder = tempfile::tempdir().unwrap();
    let printed = |bytes: &[u8]| {
        fs::write(folder.path().join("dense.xlsx"), bytes).unwrap();
        let (code, printed) = fill(folder.path(), "dense.xlsx");
        assert_eq!(code, Some(4), "{printed}");
        printed
    };
    // below the ratio at which any part is refused, above what the file explains
    let bytes = dense(400, 1);
    let ratio = (400 << 20) / bytes.len();
    assert!((60..200).contains(&ratio), "{ratio}");
    let words = format!("it unpacks to 400 MiB, {ratio} times its size and above 60");
    let found = printed(&bytes);
    assert!(found.starts_with("error hostile-file: ") && found.contains(&words), "{found}");
    // packed as an honest one, and more than is held in memory
    let bytes = dense(260, 24);
    let ratio = (260 << 20) / bytes.len();
    assert!(ratio < 60, "{ratio}");
    let found = printed(&bytes);
    assert!(
        found.contains("its part `xl/worksheets/sheet1.xml` unpacks to 260 MiB; at most 256 MiB are held in memory"),
        "{found}"
    );
}

fn asking(more: &str) -> String {
    let text = |cell: &str, value: &str| {
        format!("<c r=\"{cell}\" t=\"inlineStr\"><is><t>{value}</t></is></c>")
    };
    let number = |cell: &str, value: &str| format!("<c r=\"{cell}\"><v>{value}</v></c>");
    let rows = [
        text("A1", "sheet run-down"),
        format!("{}{}{}", text("A2", "J"), number("B2", "2"), text("C2", "kg*m^2")),
        format!("{}{}{}", text("A3", "n_0"), number("B3", "1500"), text("C3", "r/min")),
        format!("{}{}{}", text("A4", "T_0"), number("B4", "4"), text("C4", "N*m")),
        format!("{}{}", text("A5", "t_stop"), text("C5", "s")),
    ];
    let rows: Vec<String> =
        (1..).zip(rows).map(|(row, cells)| format!("<row r=\"{row}\">{cells}</row>")).collect();
    worksheet(&format!("<sheetData>{}{more}</sheetData>", rows.concat()))
}

#[test]
fn each_hostile_file_ends_in_a_message_in_bounded_memory() {
    let whole = smallest(&asking(""), &[]);
    let laughs: String = (1..=10)
        .map(|level| format!("<!ENTITY a{level} \"{}\">", format!("&a{};", level - 1).repeat(10)))
        .collect();
    let laughs =
        format!("<!DOCTYPE sst [<!ENTITY a0 \"ha\">{laughs}]><sst><si><t>&a10;</t></si></sst>");
    let cell = |cell: &str, row: &str| {
        smallest(
            &worksheet(&format!(
                "<sheetData><row r=\"{row}\"><c r=\"{cell}\"><v>1</v></c></row></sheetData>"
            )),
            &[],
        )
    };
    let head = "<worksheet><sheetData>";
    let files: &[(&str, Vec<u8>, &str)] = &[
        ("zip-bomb.xlsx", blanks("xl/workbook.xml", "", 100, ""), "hostile-file"),
        (
            "blanks.xlsx",
            blanks("xl/worksheets/sheet1.xml", head, 1024, "</sheetData></worksheet>"),
            "hostile-file",
        ),
        ("truncated.xlsx", whole[..whole.len() / 2].to_vec(), "unreadable-file"),
        (
            "entities.xlsx",
            smallest(&worksheet("<sheetData/>"), &[("xl/sharedStrings.xml", &laughs)]),
            "hostile-file",
        ),
        ("column-a-million.xlsx", cell("BDWGN1", "1"), "unreadable-file"),
        ("beyond-XFD.xlsx", cell("XFE1", "1"), "unreadable-file"),
        ("row-beyond.xlsx", cell("A1048577", "1048577"), "unreadable-file"),
        ("climbing.xlsx", container(&[("../evil.xml", b"<a/>")]), "hostile-file"),
        ("rooted.xlsx", container(&[("/etc/evil.xml", b"<a/>")]), "hostile-file"),
        (
            "nested.xlsx",
            smallest(&format!("{}{}", "<a>".repeat(200_000), "</a>".repeat(200_000)), &[]),
            "unreadable-file",
        ),
    ];
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes, word) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
        for words in [vec!["fill", name], vec!["range", name, "run-down"]] {
            let (code, printed) = run(folder.path(), &words);
            assert_eq!(code, Some(4), "{words:?}: {printed}");
            assert!(printed.starts_with(&format!("error {word}: ")), "{words:?}: {printed}");
            assert!(
                printed.contains("  remedy: ") && printed.contains("Nothing was written."),
                "{words:?}: {printed}"
            );
            let left: Vec<_> = fs::read_dir(folder.path()).unwrap().collect();
            assert_eq!(left.len(), 1, "{words:?}: {left:?}");
        }
        fs::remove_file(folder.path().join(name)).unwrap();
    }
}

#[test]
fn a_gigabyte_of_blanks_on_the_disk_is_not_even_read() {
    let folder = tempfile::tempdir().unwrap();
    // a hole is as long as what it stands for, and takes no room
    let file = fs::File::create(folder.path().join("blanks.csv")).unwrap();
    file.set_len(1 << 30).unwrap();
    let (code, printed) = fill(folder.path(), "blanks.csv");
    assert_eq!(code, Some(4), "{printed}");
    assert!(
        printed.starts_with(
            "error hostile-file: the file has 1024 MiB, to be filled it may have 16 MiB"
        ),
        "{printed}"
    );
    let (code, printed) = run(folder.path(), &["range", "blanks.csv", "run-down"]);
    assert_eq!(code, Some(4), "{printed}");
    let words = "error hostile-file: the file has 1024 MiB, a product line may have 512 MiB";
    assert!(printed.starts_with(words), "{printed}");
}

#[test]
fn functions_in_functions_are_followed_or_refused_never_a_hang() {
    let folder = tempfile::tempdir().unwrap();
    for levels in [10, 64, 10_000] {
        let formula = format!("{}B5{}", "ABS(".repeat(levels), ")".repeat(levels));
        let sheet = asking(&format!("<row r=\"6\"><c r=\"E6\"><f>{formula}</f><v>1</v></c></row>"));
        fs::write(folder.path().join("deep.xlsx"), smallest(&sheet, &[])).unwrap();
        let (code, printed) = fill(folder.path(), "deep.xlsx");
        assert_eq!(code, Some(0), "{levels}: {printed}");
    }
    // in a sheet: each of ten functions calls the one before ten times
    let mut sheet = "sheet deep\ntitle \"Deep\"\nsource \"none\"\ntakes\n  x : ratio above 0 like 1\nworks\n  f0(z) = z + 1\n".to_owned();
    for level in 1..=10 {
        let calls: Vec<String> = (1..=10).map(|it| format!("f{}(z + {it})", level - 1)).collect();
        let calls = calls.join(" + ");
        sheet.push_str(&format!("  f{level}(z) = {calls}\n"));
    }
    sheet.push_str("  y = f10(x)\ngives\n  y\n");
    fs::write(folder.path().join("deep.sheet"), sheet).unwrap();
    let asks = worksheet(
        "<sheetData><row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>sheet deep</t></is></c></row><row r=\"2\"><c r=\"A2\" t=\"inlineStr\"><is><t>x</t></is></c><c r=\"B2\"><v>1</v></c></row></sheetData>",
    );
    fs::write(folder.path().join("asks.xlsx"), smallest(&asks, &[])).unwrap();
    let (code, printed) = fill(folder.path(), "asks.xlsx");
    assert_eq!(code, Some(3), "{printed}");
    assert!(printed.starts_with("error too-deep: "), "{printed}");
}
