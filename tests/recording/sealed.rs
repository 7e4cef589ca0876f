//! A protocol's workbook that was changed after it was written: nothing is made of it by any door.

use std::fs;

use standstill::recording::{SEAL, is_sealed};
use standstill::spreadsheet::Book;

use super::example::{copied, printed, standstill};
use crate::workbooks::files::{container, entries, part};

const PLAN: &str = "examples/measured-stops/coasting.toml";
const DOC: &str = "# T\n\n```sheet compare-with-calculation as a\nfrom p.xlsx\n```\n";

/// The workbook with one text of one of its parts in the place of another.
pub(super) fn with(book: &[u8], name: &str, from: &str, to: &str) -> Vec<u8> {
    let mut met = 0;
    let all: Vec<(String, Vec<u8>)> = entries(book)
        .into_iter()
        .map(|entry| {
            let mut content = entry.content;
            if entry.name.ends_with(name) && content.contains(from) {
                met += 1;
                content = content.replacen(from, to, 1);
            }
            (entry.name, content.into_bytes())
        })
        .collect();
    assert_eq!(met, 1, "`{from}` stands in {name}");
    let parts: Vec<(&str, &[u8])> = all.iter().map(|(a, b)| (a.as_str(), b.as_slice())).collect();
    container(&parts)
}

/// The workbook without the cells that are empty and hold a look alone.
fn bare(book: &[u8]) -> Vec<u8> {
    let without = |content: &str| {
        let mut parts = content.split("<c ");
        let mut text = parts.next().unwrap().to_owned();
        for part in parts {
            let (cell, after) = part.split_once('>').unwrap();
            match cell.ends_with('/') {
                true => text += after,
                false => text += &format!("<c {part}"),
            }
        }
        text
    };
    let all = entries(book).into_iter().map(|entry| {
        let is_tab = entry.name.starts_with("xl/worksheets/sheet");
        let content = if is_tab { without(&entry.content) } else { entry.content };
        (entry.name, content.into_bytes())
    });
    let all: Vec<(String, Vec<u8>)> = all.collect();
    let parts: Vec<(&str, &[u8])> = all.iter().map(|(a, b)| (a.as_str(), b.as_slice())).collect();
    container(&parts)
}

#[test]
fn of_a_protocol_that_was_changed_nothing_is_made() {
    let folder = copied();
    let at = |name: &str| folder.path().join(name);
    let run = |words: &[&str]| standstill(folder.path(), words);
    assert_eq!(run(&["measured", PLAN, "-o", "made.xlsx"]).status.code(), Some(0));
    let made = fs::read(at("made.xlsx")).unwrap();
    let book = |bytes: &[u8]| Book::read("p.xlsx", bytes).unwrap();
    assert!(is_sealed(&book(&made)));
    // title and verdict stand on every printed page
    assert!(part(&made, "xl/workbook.xml").contains(
        "<definedName name=\"_xlnm.Print_Titles\" localSheetId=\"0\">protocol!$1:$2</definedName>"
    ));
    fs::write(at("doc.md"), DOC).unwrap();
    let doors: [(&[&str], bool); 4] = [
        (&["fill", "p.xlsx", "--dry-run"], false),
        (&["run", "compare-with-calculation", "--from", "p.xlsx"], false),
        (&["review", "doc.md", "-o", "doc.html", "--force"], false),
        // an earlier check is a file that cannot be read
        (&["measured", PLAN, "measured=2027-06-15", "--before", "p.xlsx"], true),
    ];
    fs::write(at("p.xlsx"), &made).unwrap();
    for (words, _) in doors.iter().filter(|it| !it.1) {
        let output = run(words);
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", printed(&output));
    }
    let tab = |title: &str| {
        let found = book(&made).tabs.iter().position(|tab| tab.name == title).unwrap();
        format!("sheet{}.xml", found + 1)
    };
    let (form, next) = (tab("compare-with-calculation"), tab("for the next check"));
    let first = tab("protocol");
    let strings = "sharedStrings.xml".to_owned();
    // values that stand on the form, a unit, words of the verdict and of the next check, the distance that is issued
    for (part, from, to) in [
        (&form, "<v>941.382</v>", "<v>541.382</v>"),
        (&form, "<v>5.561</v>", "<v>0.268</v>"),
        (&form, "<v>2500.0</v>", "<v>1500.0</v>"),
        (&strings, "passed: all 1", "passed: all 2"),
        (&strings, "passed: all", "NOT PASSED: not"),
        (&strings, "S = 1604 mm", "S = 604 mm"),
        (&next, "0.958207653", "0.558207653"),
        (&strings, "longest 24.0", "longest 14.0"),
        // what people read of machine, days, distance, conditions and single stops
        (&strings, ">1604 mm<", ">1504 mm<"),
        (&strings, ">saw, shop 2 (invented)<", ">saw, shop 3 (invented)<"),
        (&strings, ">2026-03-02<", ">2026-05-02<"),
        (&strings, ">949.4 ± 5.3<", ">849.4 ± 5.3<"),
        (&strings, "t_k = 941.382 ms", "t_k = 841.382 ms"),
        (&first, "<v>958.3</v>", "<v>858.3</v>"),
        (&strings, SEAL, "remark"),
    ] {
        fs::write(at("p.xlsx"), with(&made, part, from, to)).unwrap();
        for (words, unreadable) in &doors {
            let output = run(words);
            let text = printed(&output);
            let code = if *unreadable { 4 } else { 2 };
            assert_eq!(output.status.code(), Some(code), "{from} → {to}, {words:?}: {text}");
            assert!(text.contains("was CHANGED since"), "{from} → {to}, {words:?}: {text}");
        }
    }
    // without the tab that holds the seal it is still the protocol that its first rows show
    let tab = "name=\"for the next check\"";
    fs::write(at("p.xlsx"), with(&made, "workbook.xml", tab, "name=\"other\"")).unwrap();
    for (words, unreadable) in &doors {
        let output = run(words);
        let code = if *unreadable { 4 } else { 2 };
        assert_eq!(output.status.code(), Some(code), "{words:?}: {}", printed(&output));
    }
    // another program keeps what is shown, and drops cells that hold a look alone
    fs::write(at("p.xlsx"), bare(&made)).unwrap();
    for (words, _) in doors.iter().filter(|it| !it.1) {
        let output = run(words);
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", printed(&output));
    }
    for (part, from, to) in [
        (&form, "<v>2500.0</v>", ""),
        (&form, "<v>941.382</v>", "<v>541.382</v>"),
        (&strings, "longest 24.0", "longest 14.0"),
    ] {
        let changed = bare(&with(&made, part, from, to));
        assert!(!is_sealed(&book(&changed)), "{from} → {to}");
    }
    // what is filled in afterwards is no change: results, names, settings read back
    fs::write(at("p.xlsx"), &made).unwrap();
    assert_eq!(run(&["fill", "p.xlsx"]).status.code(), Some(0));
    assert!(is_sealed(&book(&fs::read(at("p.xlsx")).unwrap())));
    assert_eq!(run(&["fill", "p.xlsx", "--dry-run", "--check"]).status.code(), Some(0));
    let signed = with(&made, &strings, ">approved<", ">approved by A, 2026-06-16<");
    assert!(is_sealed(&book(&signed)));
    let blank = ">____________________<";
    let read_back = with(&made, &strings, blank, ">read back by B, 2026-06-16<");
    assert!(is_sealed(&book(&read_back)));
    // a day that the plan leaves open is filled in by hand
    let text =
        fs::read_to_string(at(PLAN)).unwrap().replacen("next       = \"2027-06-15\"\n", "", 1);
    fs::write(at(PLAN), text).unwrap();
    assert_eq!(run(&["measured", PLAN, "-o", "open.xlsx"]).status.code(), Some(0));
    let filled = with(&fs::read(at("open.xlsx")).unwrap(), &strings, blank, ">by hand<");
    assert!(is_sealed(&book(&filled)));
}

/// Not confirmed and not passed are said as such, and nothing astray beside it.
#[test]
fn a_protocol_that_is_open_says_so_by_every_door() {
    let folder = copied();
    let plan = folder.path().join("examples/measured-stops/stops.toml");
    let run = |words: &[&str]| standstill(folder.path(), words);
    let output = run(&["measured", "examples/measured-stops/stops.toml", "-o", "p.xlsx"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(fs::read_to_string(&plan).unwrap().contains("loaded.csv"));
    fs::write(folder.path().join("doc.md"), DOC).unwrap();
    for words in [
        &["fill", "p.xlsx"][..],
        &["run", "compare-with-calculation", "--from", "p.xlsx"],
        &["review", "doc.md"],
    ] {
        let output = run(words);
        let text = printed(&output);
        assert_eq!(output.status.code(), Some(2), "{text}");
        assert!(text.contains("holds a protocol that is NOT PASSED: "), "{text}");
        assert_eq!(text.matches("error ").count(), 1, "{text}");
    }
}
