//! A remark beside a value that bears a figure, a ratio, a number in words or a word of leaving out is understood, or it is
//! refused at its cell and passes below a heading that says `remark`, from where it is quoted as not used. Made by rule:
//! words by things by places.
//!
//! Common practice of offices, no source: the words are those that people write.

use std::fs;

use standstill::diagnostic::{Diagnostic, Name};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::Book;
use standstill::workbook::compute;

use super::range_command::{out, output_text, standstill};
use super::spoken::{Answer, MACHINE, Machine, SHEET, SPOTS, answer};

const LEAVING_OUT: &[&str] = &[
    "without", "excl.", "excluding", "except the", "minus the", "plus the", "only the", "not the",
    "incl.", "ohne", "exkl.", "nur", "zzgl.",
];

/// Things of which no list can hold all.
const THINGS: &[&str] = &["chuck", "magnet", "fly cutter", "Spannfutter", "second half-shell"];

/// Numbers in words, ratios and figures of which nothing says what they are.
const FIGURES: &[&str] = &[
    "half only", "times two for both drums", "both", "twice", "1:5", "4:1", "0.31 + 0.11",
    "at 80 %", "10 % in fact", "min; max 97 %", "with safety factor 1.5", "2 of 4",
    "less than 20 %", "duty 1.5", "per side", "each", "inverse", "× 3 in fact", "wanted 17",
];

/// What is understood, or speaks of another thing.
const CLEAR: &[&str] = &[
    "from the data sheet", "see page 12", "drawing 4711/2", "measured 2024", "at 24 V", "at 20 °C",
    "after 200 h", "M8 screws", "IP54", "12 tests", "twice a year", "at half load",
    "per data sheet", "rev. 3", "40 % ED", "-10…+40 °C", "tested after each stop",
    "customer 4711, hall 3",
];

fn unclear() -> Vec<String> {
    let made = LEAVING_OUT.iter().flat_map(|it| THINGS.iter().map(move |of| format!("{it} {of}")));
    made.chain(FIGURES.iter().map(|it| (*it).to_owned())).collect()
}

#[test]
fn a_remark_that_is_not_understood_is_refused_wherever_it_stands() {
    let mut wrong = Vec::new();
    for (at, words) in unclear().iter().enumerate() {
        for input in ["J", "T_b"] {
            let way = ["block", "names", "bind file"][at % 3];
            let behind: Vec<_> = SPOTS
                .iter()
                .filter(|it| it.0.contains("remark") && !it.0.ends_with("far right"))
                .collect();
            let (spot, down, column, note) = *behind[at % behind.len()];
            let found = answer(way, input, (down, column, note), Some(words));
            if found == Answer::Nothing {
                wrong.push(format!("{way}, {spot}, {input}: \"{words}\": {found:?}"));
            }
        }
    }
    for words in CLEAR {
        for input in ["J", "T_b", "t_resp"] {
            let found = answer("block", input, (0, 4, false), Some(words));
            if found != Answer::Nothing {
                wrong.push(format!("{input}: \"{words}\": {found:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A block of the machine with a remark beside each of its values, below a heading.
fn block(heading: &str, words: &str) -> Result<Vec<Diagnostic>, Vec<Diagnostic>> {
    let mut text = format!(",,,{heading}\nsheet machine\n");
    for (name, value, unit) in MACHINE {
        text.push_str(&format!("{name},{value},{unit},\"{words}\"\n"));
    }
    text.push_str("t_stop,,s\n");
    let book = Book::read("Case.csv", text.as_bytes()).unwrap();
    compute(&book, None, &Machine(SHEET)).map(|it| it.cautions).map_err(|it| it.problems)
}

/// The remedy is right when it is followed: below such a heading the same words pass.
#[test]
fn below_a_heading_of_remarks_the_same_words_pass() {
    let mut wrong = Vec::new();
    for words in unclear() {
        if let Ok(found) = block("", &words) {
            if found.is_empty() {
                wrong.push(format!("\"{words}\" is silent"));
            }
            continue;
        }
        for heading in ["remark", "Remarks", "note", "source", "comment:", "Bemerkung"] {
            if let Err(found) = block(heading, &words) {
                let not_read = |it: &&Diagnostic| it.headline.contains("is not understood");
                if found.iter().any(|it| not_read(&it)) {
                    wrong.push(format!("{heading}: {}", found[0].headline));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_ratio_is_turned_round_or_of_another_gear_only_with_a_word() {
    let ratio = |words: &str| {
        let text = format!("sheet reflected-rotary\ni,5,,\"{words}\"\n");
        let book = Book::read("Case.csv", text.as_bytes()).unwrap();
        let problems = compute(&book, None, &Project::new(&NoFs)).err().map(|it| it.problems);
        let all = problems.unwrap_or_default();
        all.into_iter().find(|it| it.name == Name::TwoStatements)
    };
    for words in
        ["1:5", "inverse", "gear 4:1", "reciprocal", "1 : 5", "ratio 1/5", "times 1.5 belt"]
    {
        let found = ratio(words).unwrap_or_else(|| panic!("\"{words}\" is silent"));
        assert!(!found.remedy.contains("``"), "{words}: {}", found.remedy);
        assert!(found.headline.contains(words), "{words}: {}", found.headline);
    }
    for words in ["5:1", "gear 5:1", "from the plate", "see page 4", "i = 5"] {
        assert!(ratio(words).is_none(), "{words}: {:?}", ratio(words));
    }
}

#[test]
fn a_remark_that_is_left_is_quoted_as_not_used() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("machine.sheet"), SHEET).unwrap();
    let mut text = ",,,remark\nsheet machine\n".to_owned();
    for (name, value, unit) in MACHINE {
        text.push_str(&format!("{name},{value},{unit},without chuck {name}\n"));
    }
    text.push_str("t_stop,,s\n");
    fs::write(folder.path().join("b.csv"), text).unwrap();
    let said = out(&standstill(folder.path(), &["fill", "b.csv", "-o", "b.xlsx"]));
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("remarks with figures that are not used"), "{said}");
    for (name, ..) in MACHINE {
        assert!(said.contains(&format!("\"without chuck {name}\"")), "{said}");
    }
}

/// What `range` says of a row with a remark.
fn row(heading: &str, words: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("machine.sheet"), SHEET).unwrap();
    let heads: Vec<String> =
        MACHINE.iter().map(|(name, _, unit)| format!("{name} / ({unit})")).collect();
    let values: Vec<String> = MACHINE.iter().map(|it| it.1.to_string()).collect();
    let text = format!(
        "sheet machine\n\nid,{},t_stop / s,status,{heading}\nA,{},,,\"{words}\"\nB,{},,,\n",
        heads.join(","),
        values.join(","),
        values.join(",")
    );
    fs::write(folder.path().join("l.csv"), text).unwrap();
    let output = standstill(folder.path(), &["range", "l.csv"]);
    out(&output) + &output_text(&output)
}

#[test]
fn a_remark_of_a_row_is_refused_or_quoted_as_not_used() {
    let all = [
        "T_b = 29", "29 N·m", "ramp 0.3 s", "J in kg·cm²", "without drum", "excl. chuck",
        "half only", "times two for both drums", "0.7 lb·ft²",
    ];
    for words in all {
        for heading in ["", "info", "remark"] {
            let said = row(heading, words);
            let told = said.contains("two-statements");
            let quoted = said.contains("remarks with figures that are not used")
                && said
                    .split_whitespace()
                    .collect::<Vec<_>>()
                    .join(" ")
                    .contains(&format!("\"{words}\""));
            assert!(told || heading == "remark" && quoted, "{heading}: {words}\n{said}");
        }
    }
    for words in ["22 N·m", "from the data sheet", "customer 4711", "0.075 s", "hall 3, at 24 V"] {
        let said = row("info", words);
        assert!(!said.contains("two-statements"), "{words}\n{said}");
    }
}
