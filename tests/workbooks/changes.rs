//! Words that tell a person to change a value are told wherever they stand, and words that say that it is changed, or that
//! speak of something else, are not. Both are made by rule: verbs, amounts and what stands around them.
//!
//! Common practice of offices, no source: the words are those that people write.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use rust_xlsxwriter::Workbook;

use super::range_command::{output_text, standstill};
use super::spoken::{Answer, MACHINE, SHEET, SPOTS, answer};

/// Where amounts stand as `#`. The value is 22 N·m.
const ASKED: &[&str] = &[
    "deduct #", "subtract #", "add #", "add another #", "take # off", "take off #", "knock off #",
    "knock # off", "reduce by #", "reduce it by #", "reduce the torque by #", "lower by #",
    "increase by #", "raise the value by #", "cut by #", "drop #", "# less", "# more", "# off",
    "# lower", "# too high", "less #", "minus #", "plus #", "minus another #", "allow #",
    "allow for #", "derate #", "derate by #", "# to be deducted", "# still to be added",
    "# not yet deducted", "must be reduced by #", "to be increased by #", "# to subtract",
    "don't forget to deduct #", "abzgl. #", "abzüglich #", "zzgl. #", "# abziehen", "# abzuziehen",
    "um # reduzieren", "um # erhöhen", "# weniger", "noch # abziehen",
    "muss um # reduziert werden", "deduct # for the gear", "add # because of wear",
];

/// As [`ASKED`], of what is done, or is not to be.
const DONE: &[&str] = &[
    "# deducted", "# already deducted", "already reduced by #", "reduced by #", "# taken off",
    "incl. # reserve", "# included", "less #, included", "deduct # (done)", "deduct #, done",
    "deduct #: already in", "minus #, already applied", "increased by #", "# abgezogen",
    "um # reduziert", "# bereits abgezogen", "do not deduct #", "don't add #", "never add #",
    "no need to deduct #", "need not be reduced by #", "nicht # abziehen", "margin #", "# reserve",
    "# of wear seen",
];

const AMOUNTS: &[&str] =
    &["4 N·m", "4 Nm", "20 %", "20%", "12.5 %", "12,5 %", "35 lb-in", "0.4 kpm"];

/// Around words, and it changes nothing of what they ask for.
const AROUND: &[(&str, &str)] = &[
    ("", ""),
    ("note: ", ""),
    ("", "!"),
    ("", " when warm"),
    ("please ", ""),
    ("", ", see page 12"),
    ("maker says ", ""),
    ("", " (cold)"),
    ("data sheet; ", ""),
];

/// Changes that are no amount.
const FACTORS: &[&str] = &[
    "÷ 1.25", "÷1.25", "/ 1.25", "/1.25", ": 1.25", "÷ 2", "/ 4", "T_b / 2", "T_b × 2", "T_b x 2",
    "T_b / 1.25", "2 × T_b", "factor 1.25", "apply factor 1.25", "apply a service factor of 1.4",
    "half", "halve it", "to be halved", "double for two brakes", "half of it", "reduce by half",
    "reduce by a third", "reduce to 18 N·m", "take 18 N·m", "use 18 N·m", "set to 18 N·m",
    "22 N·m minus 4 N·m", "22 N·m - 4 N·m", "22 N·m + 4 N·m", "22 N·m less 20 %",
    "deduct 4 N·m from 22 N·m", "- 4 N·m", "+ 4 N·m", "reads low by 4 N·m", "off by 4 N·m",
    "factor two", "times two", "a safety factor of 2 must be applied", "take 80 %", "use 80 %",
    "only 80 %", "count 80 %", "→ 18 N·m", "-> 18 N·m", "changed to 18 N·m", "too high", "too low",
    "gearbox not included", "to be verified", "unverified", "check!", "in inch pounds",
];

/// Words that are told beside a value, and that in a row may be of anything where they do not name one.
const OF_ONE_VALUE: &[&str] = &[
    "18 N·m!", "worn 18 N·m", "18 N·m new", "drops to 18 N·m when hot", "18 N·m when worn", "each",
    "per brake", "per pad", "one of two", "both together", "negative", "less than 20 %", "1:4",
    "at 80 %", "double disc brake", "2 of 4", "M8 / 10.9", "plus spare pads", "minus pole left",
    "set 12 of 2024", "with safety factor 1.5", "two times tested", "not too high",
];

/// Words with figures that ask for no change of 22 N·m.
const OTHERS: &[&str] = &[
    "-10…+40 °C", "−10 … +40 °C", "-10...+40 °C", "12…14 A", "12 … 14 A", "+10 % volt",
    "-15 % voltage", "+10 % mains voltage", "+10 % load", "±10 % voltage", "±10 % mains",
    "at +10 % voltage", "at −20 °C", "minus 10 °C", "plus 40 °C", "less 10 % volt",
    "20 % more load", "20 % less voltage", "add 5 mm of shim", "take off 3 screws",
    "add 2 drops of oil", "add oil every 200 h", "deduct 24 V", "allow 5 min for cooling",
    "not less than 22 N·m", "no less than 22 N·m", "26 N·m minus 4 N·m", "26 N·m - 4 N·m = 22 N·m",
    "18 N·m plus 4 N·m", "deduct 4 N·m from 26 N·m", "28 N·m less 20 %", "28 N·m reduced by 20 %",
    "half load", "at half speed", "twice a year", "half of 44 N·m", "24 V / 2 A", "drawing 4711/2",
    "take 3 tests", "use M8 screws", "add to the list", "more on page 12", "off at 24 V",
    "22 N·m off the shelf", "40 % ED", "60 % RH", "duty 40 %", "5 % of 440 N·m", "wear 20 %",
    "224 kpcm (plate)", "KPCM 224", "+5 °C to +40 °C", "raise at 200 h", "cut 4 of the pads",
    "28 N·m when new", "30 N·m cold", "was 18 N·m", "each year", "per drawing 4", "per data sheet",
    "only 40 % ED", "tested after each stop", "more than 20 stops", "lower brake", "less wear",
    "extra brake, 24 V",
];

/// All words that are to be told, or all that are not.
fn made(told: bool) -> Vec<String> {
    let templates = if told { ASKED } else { DONE };
    let mut all: Vec<String> = Vec::new();
    for template in templates {
        for amount in AMOUNTS {
            // what is done when something happens is left open
            for (before, behind) in AROUND.iter().filter(|it| told || it.1 != " when warm") {
                all.push(format!("{before}{}{behind}", template.replace('#', amount)));
            }
        }
    }
    all.extend((if told { FACTORS } else { OTHERS }).iter().map(|it| (*it).to_owned()));
    all
}

/// Every `step`-th of the words, all of them in a long run.
fn some(told: bool, step: usize) -> impl Iterator<Item = (usize, String)> {
    let long = std::env::var("STANDSTILL_MUTANTS").is_ok();
    let step = if long { 1 } else { step };
    made(told).into_iter().enumerate().filter(move |(at, _)| at % step == 0)
}

fn step_of(words: &str, told: bool) -> bool {
    let all = if told { FACTORS } else { OTHERS };
    all.contains(&words)
}

#[test]
fn words_that_change_a_value_are_told_at_every_spot() {
    let mut wrong = String::new();
    let mut tried = 0;
    for told in [true, false] {
        let whole = made(told).into_iter().enumerate().filter(|it| step_of(&it.1, told));
        let beside = OF_ONE_VALUE.iter().filter(|_| told).map(|it| (*it).to_owned());
        for (at, words) in some(told, 7).chain(whole).chain(beside.enumerate()) {
            let way = ["block", "names", "bind file"][at % 3];
            let (spot, down, column, note) = SPOTS[at / 3 % SPOTS.len()];
            if spot.ends_with("far right") && way == "bind file" {
                continue;
            }
            let found = answer(way, "T_b", (down, column, note), Some(&words));
            tried += 1;
            if (found == Answer::Nothing) == told {
                let _ = writeln!(wrong, "{way}, {spot}: \"{words}\": {found:?}");
            }
        }
    }
    assert!(wrong.is_empty() && tried > 700, "{tried}\n{wrong}");
}

/// How many rows of a product line are told that a remark speaks against them, each with other words.
fn told_rows(folder: &Path, all: &[String]) -> usize {
    let mut book = Workbook::new();
    let tab = book.add_worksheet().set_name("Line").unwrap();
    tab.write_string(0, 0, "sheet machine").unwrap();
    tab.write_string(4, 0, "id").unwrap();
    for (column, (name, _, unit)) in (1..).zip(MACHINE) {
        tab.write_string(4, column, format!("{name} / ({unit})")).unwrap();
    }
    tab.write_row(4, 10, ["t_stop / s", "status", "", "remark"]).unwrap();
    for (row, words) in (5..).zip(all) {
        tab.write_string(row, 0, format!("V{row}")).unwrap();
        for (column, (_, value, _)) in (1..).zip(MACHINE) {
            tab.write_number(row, column, value).unwrap();
        }
        tab.write_string(row, 13, words).unwrap();
    }
    fs::write(folder.join("l.xlsx"), book.save_to_buffer().unwrap()).unwrap();
    let output = standstill(folder, &["range", "l.xlsx"]);
    let said = output_text(&output);
    // those that are alike are told once, with their number
    let told = said.lines().filter(|it| it.contains(" two-statements: "));
    let more = |line: &str| {
        let (_, rest) = line.split_once("(and so in ")?;
        rest.split(' ').next()?.parse::<usize>().ok()
    };
    told.map(|line| 1 + more(line).unwrap_or(0)).sum()
}

/// Those of some words whose rows are told, or are not, against what is wanted.
fn wrong_rows(folder: &Path, all: &[String], wanted: bool) -> Vec<String> {
    let right = if wanted { all.len() } else { 0 };
    if told_rows(folder, all) == right {
        return Vec::new();
    }
    match all {
        [one] => vec![format!("row: \"{one}\", {wanted}")],
        _ => {
            let (one, other) = all.split_at(all.len() / 2);
            [one, other].iter().flat_map(|it| wrong_rows(folder, it, wanted)).collect()
        }
    }
}

/// All the words in one product line, a row each, in a column of remarks.
#[test]
fn words_that_change_a_value_are_told_in_the_row_of_a_product_line() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("machine.sheet"), SHEET).unwrap();
    let mut wrong = Vec::new();
    let mut tried = 0;
    for told in [true, false] {
        let whole = made(told).into_iter().filter(|it| step_of(it, told));
        let all: Vec<String> = some(told, 5).map(|it| it.1).chain(whole).collect();
        wrong.extend(wrong_rows(folder.path(), &all, told));
        tried += all.len();
    }
    assert!(wrong.is_empty() && tried > 900, "{tried}\n{}", wrong.join("\n"));
}
