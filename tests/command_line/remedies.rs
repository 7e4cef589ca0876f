//! A remedy can be typed where it is read: doors × problems of what they are given.
//!
//! Every option that a remedy names is one of the command that says it, or of the command named beside it.

use std::fs;
use std::path::Path;

use super::standstill;

/// What is wrong, as files of a workbook in plain text.
const FILES: [(&str, &str); 5] = [
    ("bare.csv", "S,500,mm\nv,2,m/s\n"),
    ("comma.csv", "sheet run-down\nname;value;unit\nJ;0,5;kg·m²\nn_0;1450;r/min\nT_0;1,6;N·m\n"),
    ("line.csv", "sheet run-down\nn_0;1450;r/min\n\nid;J in kg·m²;T_0 / (N·m)\nA;1,5;1,6\n"),
    ("wide.csv", "sheet run-down\nn_0,1450,r/min\n\nid,J in kg·m²,T_0 / (N·m)\nA,1,5,1,6\n"),
    ("twice.csv", "sheet run-down\nJ,1,kg·m²\n\nsheet run-down\nJ,2,kg·m²\n"),
];

/// The options in a text, each with the command that was named last before it.
fn options(text: &str) -> Vec<(Option<String>, String)> {
    let mut found = Vec::new();
    let mut command = None;
    for part in text.split('`') {
        let mut words = part.split_whitespace().peekable();
        while let Some(word) = words.next() {
            if word == "standstill" {
                command = words.peek().map(|word| (*word).to_owned());
            } else if word.starts_with("--") {
                let sign = |sign: char| sign != '-' && !sign.is_ascii_alphabetic();
                found.push((command.clone(), word.trim_end_matches(sign).to_owned()));
            }
        }
    }
    found
}

fn has(folder: &Path, command: &str, option: &str) -> bool {
    let help = standstill(folder, &[command, "--help"]);
    let help = String::from_utf8(help.stdout).unwrap();
    help.split(|sign: char| sign != '-' && !sign.is_ascii_alphabetic()).any(|word| word == option)
}

#[test]
fn a_remedy_names_no_option_that_its_door_does_not_have() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (mut remedies, mut named) = (0, 0);
    for (file, text) in FILES {
        fs::write(folder.join(file), text).unwrap();
        let block = |how: &str| format!("# A\n\n```sheet run-down as a\n{how} {file}\n```\n");
        fs::write(folder.join("from.md"), block("from")).unwrap();
        fs::write(folder.join("range.md"), block("range")).unwrap();
        let doors: [&[&str]; 7] = [
            &["run", "run-down", "--from", file],
            &["run", "run-down", "--from", file, "--row", "1"],
            &["design", "run-down", "t_stop <= 1 s", "--from", file],
            &["fill", file],
            &["range", file],
            &["review", "from.md"],
            &["review", "range.md"],
        ];
        for door in doors {
            let said = String::from_utf8(standstill(folder, door).stderr).unwrap();
            for remedy in said.lines().filter_map(|line| line.trim().strip_prefix("remedy: ")) {
                remedies += 1;
                for (command, option) in options(remedy) {
                    named += 1;
                    let command = command.unwrap_or_else(|| door[0].to_owned());
                    assert!(has(folder, &command, &option), "{door:?} {file}: {remedy}");
                }
            }
        }
    }
    assert!(remedies > 20 && named > 4, "{remedies} {named}");
}

/// The remedy for a workbook that asks for no sheet, typed.
#[test]
fn what_a_review_says_of_a_workbook_without_a_sheet_helps_when_it_is_typed() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let own = "```sheet\nsheet my\ntitle \"My\"\nsource \"plain arithmetic\"\ntakes\n  S : length in mm above 0 mm like 600 mm \"S\"\nworks\n  m = 900 mm - S\nholds\n  S <= 900 mm \"fits\" else \"move it\"\ngives\n  m in mm\n```\n";
    fs::write(
        folder.join("doc.md"),
        format!("# A\n\n{own}\n```sheet my as a\nfrom book.csv\n```\n"),
    )
    .unwrap();
    fs::write(folder.join("book.csv"), "S,500,mm\n").unwrap();
    let words = ["review", "doc.md", "-o", "doc.html"];
    let said = String::from_utf8(standstill(folder, &words).stderr).unwrap();
    let typed = said.split_once("write `").and_then(|(_, rest)| rest.split_once('`')).unwrap().0;
    assert_eq!(typed, "sheet my", "{said}");
    fs::write(folder.join("book.csv"), format!("{typed}\nS,500,mm\n")).unwrap();
    let done = standstill(folder, &words);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
}
