//! Words about a value are read alike wherever they stand: before it, behind it, above it, in a note, about a cell that a
//! block, a name or a bind file binds, about a cell from which a formula takes it, and in a product line.
//!
//! Common practice of offices, no source: the words are those that people write.

use std::fs;

use rust_xlsxwriter::{Formula, Note, Workbook, Worksheet};
use standstill::diagnostic::{Diagnostic, Name, Place, Source};
use standstill::program::{Checked, NoResolver, Sheets, compile};
use standstill::spreadsheet::{Allow, Book, Cell, Edit, Entry, NewValue, Position, write_cells};
use standstill::workbook::{FormOptions, compute, form};

use super::range_command::{out, output_text, standstill};

/// What is answered to words.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Answer {
    Nothing,
    Caution,
    Error,
}

use Answer::{Caution, Error, Nothing};

/// Words beside an input of the machine, and the answer.
const WORDS: &[(&str, &str, Answer)] = &[
    ("J", "GD²", Error),
    ("J", "GD² of the rotor, from the motor's data sheet", Error),
    ("J", "flywheel effect", Error),
    ("J", "not converted from GD²", Error),
    ("J", "J = GD²/4, converted", Nothing),
    ("J", "GD² / 4", Nothing),
    ("J", "WK²", Nothing),
    ("J", "in kg·cm²", Error),
    ("J", "inertia of 12 kg at 44 mm", Nothing),
    ("T_b", "x 1000", Error),
    ("T_b", "value ×10⁻³", Error),
    ("T_b", "in thousands", Error),
    ("T_b", "to be divided by 10", Error),
    ("T_b", "tested for two million stops", Nothing),
    ("T_b", "10 brakes", Caution),
    ("T_b", "brake torque in N·cm", Error),
    ("T_b", "brake torque in N·m", Nothing),
    ("T_b", "[kN·m]", Error),
    ("T_b", "torque of the brake by its maker (N·cm)", Error),
    ("T_b", "22 N·m", Nothing),
    ("T_b", "194.7 lbf·in", Nothing),
    ("T_b", "maximum brake torque", Caution),
    ("T_b", "mean", Caution),
    ("T_b", "nominal torque", Caution),
    ("T_b", "the least, at nominal voltage", Nothing),
    ("T_b", "do not use", Caution),
    ("T_b", "preliminary", Caution),
    ("T_b", "measured: 18 N·m", Caution),
    ("T_b", "measured: 22 N·m", Nothing),
    ("T_b", "from 2024 catalogue", Nothing),
    ("T_b", "from 2 brakes", Nothing),
    ("T_b", "data sheet, page 12", Nothing),
    ("T_b", "kN·m", Error),
    ("T_b", "in lb", Error),
    ("T_b", "divide by 10", Error),
    ("T_b", "27.5 N·m × 0.8 = 22 N·m", Nothing),
    ("T_b", "nominal 28 N·m × 0.8", Nothing),
    ("T_b", "22 N·m × 10", Error),
    ("T_b", "incl. 5 % tolerance", Nothing),
    ("T_b", "from 28 N·m to 34 N·m by its maker", Nothing),
    ("T_b", "TBC", Caution),
    ("J", "kg·cm²", Error),
    ("J", "234 kg·cm²", Nothing),
    ("J", "1/4 GD²", Nothing),
    ("J", "not GD²", Nothing),
    ("J", "not GD²/4", Error),
    ("J", "GD², not /4 yet", Error),
    ("J", "GD²/4, not GD²", Nothing),
    ("J", "GD² = 0.0936 kg·m²", Nothing),
    ("J", "GD² = 0.0234 kg·m²", Error),
    ("t_resp", "s", Error),
    ("t_resp", "0.075 s", Nothing),
    ("t_resp", "the shortest", Caution),
    ("t_resp", "response in s", Error),
    ("t_resp", "the longest of ten", Nothing),
    ("t_resp", "120 stops/h", Nothing),
    ("t_resp", "max. 60/h", Nothing),
    ("t_resp", "bei max. 4/min", Nothing),
    ("t_resp", "at most 75 ms", Nothing),
    ("t_resp", "75 ms max.", Nothing),
    ("T_b", "−20 % already taken", Nothing),
    ("T_b", "22 lb-in (plate)", Error),
    ("T_b", "plate says 22 Ncm", Error),
    ("T_b", "plate: 22 LB-IN", Error),
    ("T_b", "22 LB·IN", Error),
    ("T_b", "LB-IN", Error),
    ("T_b", "22 daNm", Error),
    ("T_b", "22 kgm (plate)", Error),
    ("T_b", "22 MKG", Error),
    ("T_b", "kgm", Error),
    ("T_b", "194.7 LB-IN (PLATE)", Nothing),
    ("T_b", "22 NM (PLATE)", Nothing),
    ("T_b", "22 MNM", Nothing),
    ("T_b", "2.24 KGM", Nothing),
    ("T_b", "2.2 DANM", Nothing),
    ("T_b", "BORE 22 IN STEEL", Nothing),
    ("T_b", "MIN", Nothing),
    ("T_b", "22 AT 24 V DC", Nothing),
    ("T_b", "22 Nm (plate)", Nothing),
    ("T_b", "22 N·m at 24 V", Nothing),
    ("T_b", "2.24 kpm on the plate", Nothing),
    ("T_b", "mNm", Error),
    ("J", "WK² 0.0234 lb-ft²", Error),
    ("J", "WK2 0.0234 LB-FT2", Error),
    ("J", "0.0234 KGCM²", Error),
    ("J", "LB-FT2", Error),
    ("J", "KGCM²", Error),
    ("J", "234 KGCM²", Nothing),
    ("J", "0.0234 KGM²", Nothing),
    ("J", "WK² = 0.555 lb·ft²", Nothing),
    ("t_resp", "75 s after the first start", Caution),
    ("t_resp", "75 stops/min", Nothing),
    ("t_resp", "75 MS", Nothing),
    ("t_resp", "75 MIN", Caution),
    ("t_resp", "75 S.NO. 4", Nothing),
];

/// Three inputs in the words of mechanical-brake-stop, and little to calculate.
pub(super) const SHEET: &str = "\
sheet machine
title \"Machine\"
source \"invented\"
takes
  J      : inertia in kg·m² above 0 kg·m² like 0.0101 kg·m²  \"all that turns, at the brake shaft\"
  t_resp : time in ms from 0 ms like 60 ms                   \"from the command to first torque, the longest\"
  T_b    : torque in N·m from 0 N·m like 15 N·m              \"full brake torque, the least\"
works
  t_stop = t_resp + J * 1000 rad/s / max(T_b, 1 N·m)         \"until it stands\"
gives
  t_stop in s
";

/// The only sheet there is, by its text.
pub(super) struct Machine(pub(super) &'static str);

impl Sheets for Machine {
    fn checked(&self, _: &str, _: &Place) -> Result<Checked, Box<Diagnostic>> {
        Ok(compile(&Source::new("machine.sheet", self.0), &NoResolver))
    }

    fn names(&self) -> Vec<String> {
        vec!["machine".to_owned()]
    }
}

/// The machine: another than that of the sheet's example.
pub(super) const MACHINE: [(&str, f64, &str); 3] =
    [("J", 0.0234, "kg·m²"), ("t_resp", 75.0, "ms"), ("T_b", 22.0, "N·m")];

/// How the cells are bound, or what a formula makes of them.
const WAYS: [&str; 7] =
    ["block", "names", "bind file", "=", "= without a unit", "sum", "two formulas"];

/// Where words stand about a cell: across from it, below it, and whether as a note.
pub(super) const SPOTS: [(&str, i32, u16, bool); 8] = [
    ("label", 0, 0, false),
    ("remark", 0, 4, false),
    ("remark further right", 0, 5, false),
    ("remark far right", 0, 9, false),
    ("note at a cell behind the unit", 0, 4, true),
    ("note at the value", 0, 2, true),
    ("note at the unit", 0, 3, true),
    ("note at the label", 0, 1, true),
];

fn put(tab: &mut Worksheet, (row, column): (u32, u16), words: &str, note: bool) {
    match note {
        true => drop(tab.insert_note(row, column, &Note::new(words).add_author_prefix(false))),
        false => drop(tab.write_string(row, column, words).unwrap()),
    }
}

/// The answer to words at a spot of the cell of an input, or to nothing.
pub(super) fn answer(way: &str, input: &str, at: (i32, u16, bool), words: Option<&str>) -> Answer {
    let mut book = Workbook::new();
    let behind = ["=", "= without a unit", "sum", "two formulas"].contains(&way);
    let first = 4;
    for name in ["Drive", "Parts", "Between"] {
        book.add_worksheet().set_name(name).unwrap();
    }
    for (row, (name, value, unit)) in (first..).zip(MACHINE) {
        let drive = book.worksheet_from_name("Drive").unwrap();
        // a block needs its symbols, a bound cell has its owner's words
        let label = if ["names", "bind file"].contains(&way) { "value" } else { name };
        drive.write_string(row, 1, label).unwrap();
        drive.write_number(row, 2, value).unwrap();
        drive.write_string(row, 3, unit).unwrap();
        let formula = match way {
            _ if name != input || !behind => None,
            "=" | "= without a unit" => Some(format!("=Parts!C{}", row + 1)),
            "sum" => Some(format!("=SUM(Parts!C20:C21,Parts!C{})", row + 1)),
            _ => Some(format!("=Between!C{}", row + 1)),
        };
        if let Some(formula) = formula {
            let formula = Formula::new(formula).set_result(value.to_string());
            drive.write_formula(row, 2, formula).unwrap();
            let parts = book.worksheet_from_name("Parts").unwrap();
            parts.write_string(row, 1, "part").unwrap();
            parts.write_number(row, 2, value).unwrap();
            if way != "= without a unit" {
                parts.write_string(row, 3, unit).unwrap();
            }
            parts.write_number(19, 2, 0.0).unwrap();
            parts.write_string(19, 3, unit).unwrap();
            parts.write_number(20, 2, 0.0).unwrap();
            parts.write_string(20, 3, unit).unwrap();
            let between = book.worksheet_from_name("Between").unwrap();
            let formula = Formula::new(format!("=Parts!C{}", row + 1));
            between.write_formula(row, 2, formula.set_result(value.to_string())).unwrap();
            between.write_string(row, 3, unit).unwrap();
        }
    }
    let drive = book.worksheet_from_name("Drive").unwrap();
    let result = first + 3;
    let names = ["names", "bind file"].contains(&way);
    if !names {
        drive.write_string(first - 1, 1, "sheet machine").unwrap();
    }
    drive.write_string(result, 1, if names { "time" } else { "t_stop" }).unwrap();
    drive.write_string(result, 3, "s").unwrap();
    let place = MACHINE.iter().position(|it| it.0 == input).unwrap();
    let row = first + u32::try_from(place).unwrap();
    if let Some(words) = words {
        let tab = book.worksheet_from_name(if behind { "Parts" } else { "Drive" }).unwrap();
        let (down, column, note) = at;
        put(tab, (row.checked_add_signed(down).unwrap(), column), words, note);
    }
    let cells = MACHINE.iter().map(|it| it.0).chain(["t_stop"]);
    let mut bind = "sheet machine\n".to_owned();
    for (row, name) in (first + 1..).zip(cells) {
        if way == "names" {
            let name = format!("machine.{name}");
            book.define_name(name, &format!("=Drive!$C${row}")).unwrap();
        }
        let (to, unit) = if name == "t_stop" { ("to", " in s") } else { ("from", "") };
        bind.push_str(&format!("  {name} {to} Drive!C{row}{unit}\n"));
    }
    let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    let source = Source::new("case.bind", &bind);
    let bind = (way == "bind file").then_some(&source);
    let said = match compute(&book, bind, &Machine(SHEET)) {
        Ok(filling) => filling.cautions,
        Err(unfilled) => unfilled.problems,
    };
    worst(&said)
}

/// The answer to words in the first free column of a form, behind those that it hides.
fn in_a_form(input: &str, words: &str) -> Answer {
    let checked = Machine(SHEET).checked("machine", &Place::File { name: String::new() }).unwrap();
    let bytes = form(&[checked.program.unwrap()], FormOptions::default()).unwrap();
    let form = Book::read("Form.xlsx", &bytes).unwrap();
    let tab = &form.tabs[0];
    let row = |name: &str| {
        let named = |it: &&Entry| matches!(&it.cell, Cell::Text(text) if text == name);
        tab.entries().find(named).unwrap().position.row
    };
    let edit = |row, column, value| Edit::new(&tab.name, Position { row, column }, value);
    let values =
        MACHINE.iter().map(|(name, value, _)| edit(row(name), 1, NewValue::Number(*value)));
    let words = edit(row(input), 8, NewValue::Text(words.to_owned()));
    let edits: Vec<Edit> = values.chain([words]).collect();
    let written = write_cells("Form.xlsx", &bytes, &edits, Allow::default()).unwrap();
    let book = Book::read("Form.xlsx", &written.bytes).unwrap();
    let said = match compute(&book, None, &Machine(SHEET)) {
        Ok(filling) => filling.cautions,
        Err(unfilled) => unfilled.problems,
    };
    // where one sheet is all there is, its form speaks of sheets
    let said: Vec<Diagnostic> =
        said.into_iter().filter(|it| it.name != Name::UnknownSheet).collect();
    worst(&said)
}

#[test]
fn every_word_has_the_same_answer_in_a_form() {
    let mut wrong = Vec::new();
    for (input, words, wanted) in WORDS {
        let found = in_a_form(input, words);
        if found != *wanted {
            wrong.push(format!("{input} \"{words}\": {found:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Remarks of a row that name no input.
const OF_A_ROW: &[(&str, Answer)] = &[
    ("x 10", Error),
    ("×10⁻³", Error),
    ("value × 10", Error),
    ("all values x 1000", Error),
    ("in N·cm", Error),
    ("brake torque in N·cm", Error),
    ("GD² values", Error),
    ("preliminary", Caution),
    ("nominal 22 N·m × 0.8", Error),
    ("nominal 27.5 N·m × 0.8", Nothing),
    ("from GD² 0.0234 / 4", Error),
    ("from GD² 0.0936 / 4", Nothing),
    ("J = GD²/4 = 0.00585", Error),
    ("2 rollers × 0.55 kg", Nothing),
    ("2 rollers x 10", Nothing),
    ("brake torque in N·m", Nothing),
    ("length in m", Nothing),
    ("10x", Nothing),
    ("2 x 10 rollers", Nothing),
    ("reserve 20 %", Nothing),
    ("customer 4711", Nothing),
    ("22 lb-in (plate)", Error),
    ("plate 0.0234 lb-ft²", Error),
    ("22 parts of 0.0234 kg", Nothing),
    ("seen 75 min after the start", Caution),
    ("lb-in", Error),
    ("in lb-in", Error),
    ("LB-IN", Error),
    ("22 LB-IN", Error),
    ("PLATE 0.0234 LB-FT2", Error),
    ("22 kgm (plate)", Error),
    ("22 daNm", Error),
    ("0.0234 KGCM²", Error),
    ("22 OFF", Nothing),
    ("22 LB", Nothing),
    ("kpm", Error),
    ("min", Nothing),
    ("T", Nothing),
];

fn worst(said: &[Diagnostic]) -> Answer {
    let mut answer = Nothing;
    for it in said {
        match it.is_error() {
            true => {
                let two = matches!(
                    it.name,
                    Name::TwoStatements | Name::UnitMismatch | Name::UnreadableQuantity
                );
                assert!(two, "{it:?}");
                return Error;
            }
            false => answer = Caution,
        }
    }
    answer
}

#[test]
fn every_word_has_the_same_answer_at_every_door() {
    let mut wrong = Vec::new();
    for way in WAYS {
        for (input, ..) in MACHINE {
            assert_eq!(answer(way, input, (0, 0, false), None), Nothing, "{way} {input}");
        }
        for (input, words, wanted) in WORDS {
            for (spot, down, column, note) in SPOTS {
                // behind the unit all ways read alike
                if spot.ends_with("far right") && way != "block" && way != "names" {
                    continue;
                }
                let found = answer(way, input, (down, column, note), Some(words));
                if found != *wanted {
                    wrong.push(format!("{way}, {spot}: {input} \"{words}\": {found:?}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same words in a product line: in a remark that names the input, in notes at its cell and at its heading, and above
/// several headings.
#[test]
fn every_word_has_the_same_answer_in_a_product_line() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("machine.sheet"), SHEET).unwrap();
    let mut wrong = Vec::new();
    for spot in ["remark", "note", "note at the heading", "group"] {
        let of_a_row = OF_A_ROW.iter().filter(|_| spot == "remark");
        let of_a_row = of_a_row.map(|(words, wanted)| ("", *words, *wanted));
        for (input, words, wanted) in WORDS.iter().copied().chain(of_a_row) {
            let mut book = Workbook::new();
            let tab = book.add_worksheet().set_name("Line").unwrap();
            tab.write_string(0, 0, "sheet machine").unwrap();
            tab.write_string(4, 0, "id").unwrap();
            let mut own = 0;
            for (column, (name, value, unit)) in (1..).zip(MACHINE) {
                tab.write_string(4, column, format!("{name} / ({unit})")).unwrap();
                for row in 5..9 {
                    tab.write_number(row, column, value).unwrap();
                    tab.write_string(row, 0, format!("V{row}")).unwrap();
                }
                own = if name == input { column } else { own };
            }
            tab.write_row(4, 10, ["t_stop / s", "status", "remark"]).unwrap();
            match spot {
                "remark" if input.is_empty() => put(tab, (6, 12), words, false),
                "remark" => put(tab, (6, 12), &format!("{input}: {words}"), false),
                "note" => put(tab, (6, own), words, true),
                "note at the heading" => put(tab, (4, own), words, true),
                _ => put(tab, (3, own), words, false),
            }
            // a heading has no value of its own
            let of_value = [
                "measured", "22 N·m ×", "GD² = 0.0936", "22 lb-in", "plate says 22", "WK² 0.0234",
                "75 s after", "plate: 22", "22 LB·IN", "22 daNm", "22 kgm", "22 MKG", "WK2 0.0234",
                "0.0234 KGCM²",
            ];
            let of_value = of_value.iter().any(|it| words.starts_with(it));
            if of_value && !["remark", "note"].contains(&spot) {
                continue;
            }
            fs::write(folder.path().join("l.xlsx"), book.save_to_buffer().unwrap()).unwrap();
            let output = standstill(folder.path(), &["range", "l.xlsx"]);
            let said = format!("{}{}", out(&output), output_text(&output));
            let found = match (
                said.contains("error two-statements"),
                said.contains("caution two-statements"),
            ) {
                (true, _) => Error,
                (false, true) => Caution,
                (false, false) => Nothing,
            };
            if found != wanted {
                wrong.push(format!("{spot}: {input} \"{words}\": {found:?}\n{said}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What words reckon, with `{q}` for the number before, `{r}` for what it comes to, and 0.8 or a quarter between them.
const RECKONED: &[(&str, &[&str])] = &[
    (
        "T_b",
        &[
            "{q} N·m × 0.8", "{q} N·m x 0,8", "{q} × 0.8 N·m", "{q} N·m · 0.8",
            "{q} N·m times 0.8", "{q} N·m multiplied by 0.8", "0.8 × {q} N·m", "80 % of {q} N·m",
            "{q} N·m / 1.25", "{q} N·m nominal × 0.8", "{q} N·m (24 V) × 0.8",
            "{q} N·m × 0.8 = {r} N·m", "{q} × 0.8 = {r}", "({q} N·m × 0.8)",
        ],
    ),
    (
        "J",
        &[
            "GD² {q} / 4", "GD² {q}, /4", "GD² = {q} kg·m² / 4", "GD² {q} kg·m²/4", "J = {q}/4",
            "J = GD²/4 = {q}/4 = {r}", "{q} kg·m² ÷ 4", "1/4 GD² = {r}", "GD²/4 = {r}",
            "¼ GD² = {r} kg·m²", "converted from GD² = {q}", "aus GD² = {q} umgerechnet",
            "a quarter of GD² {q}", "0.25 × GD² {q} kg·m²", "GD² {q} kg·m²",
        ],
    ),
];

/// What stands before and behind such words and changes nothing of what they come to.
const AROUND: &[(&str, &str)] = &[
    ("", ""),
    ("nominal ", ""),
    ("data sheet ", ", page 12"),
    ("Nennwert ", ""),
    ("rated: ", ", at 20 °C"),
];

/// Words in which numbers stand that reckon nothing about 22 N·m, 0.0234 kg·m² and 75 ms, or come to them.
const NOT_BEFORE: &[(&str, &str)] = &[
    ("T_b", "2 brakes × 11 N·m"),
    ("T_b", "2 × 11 N·m"),
    ("T_b", "4 pads × 5.5 N·m"),
    ("T_b", "drawing 22/4"),
    ("T_b", "100 % of 22 N·m"),
    ("T_b", "10 N × 2.2 m = 22 N·m"),
    ("T_b", "nominal 28 N·m × 0.8"),
    ("T_b", "3 of 22 brakes"),
    ("T_b", "M22 × 1.5"),
    ("t_resp", "60 ms + 15 ms = 75 ms"),
    ("t_resp", "50 ms × 1.5"),
    ("t_resp", "measured at 75 % of 24 V"),
    ("J", "0.5 × 12 kg × 0.0625² m²"),
];

/// What words reckon is the value, or an error where the value is the number before; what stands around changes nothing.
#[test]
fn what_words_reckon_is_held_against_the_value() {
    let mut wrong = Vec::new();
    for (input, all) in RECKONED {
        let (value, times) = if *input == "J" { (0.0234, 0.25) } else { (22.0, 0.8) };
        for (form, (before, behind)) in
            all.iter().flat_map(|it| AROUND.iter().map(move |at| (it, at)))
        {
            for (number, wanted) in [(value, Error), (value / times, Nothing)] {
                let comma = form.contains("0,8") || form.contains("umgerechnet");
                let short = |number: f64| {
                    let text = format!("{}", (number * 1e6).round() / 1e6);
                    if comma { text.replace('.', ",") } else { text }
                };
                let words =
                    form.replace("{q}", &short(number)).replace("{r}", &short(number * times));
                let words = format!("{before}{words}{behind}");
                let found = answer("block", input, (0, 4, false), Some(&words));
                if found != wanted {
                    wrong.push(format!("{input} \"{words}\": {found:?}"));
                }
            }
        }
    }
    for (input, words) in NOT_BEFORE {
        let found = answer("block", input, (0, 4, false), Some(words));
        if found != Nothing {
            wrong.push(format!("{input} \"{words}\": {found:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Words that say that something is taken into a value.
const MADE: &[&str] = &[
    "included", "already applied", "done", "taken", "deducted", "enthalten", "abgezogen",
    "eingerechnet",
];

/// What stands before or behind such words and leaves them open.
const LEFT_OPEN: &[(&str, &str)] = &[
    ("not ", ""),
    ("not yet ", ""),
    ("still not ", ""),
    ("still to be ", ""),
    ("to be ", ""),
    ("yet to be ", ""),
    ("has to be ", ""),
    ("must be ", ""),
    ("should be ", ""),
    ("nicht ", ""),
    ("noch nicht ", ""),
    ("muss noch ", ""),
    ("when ", ""),
    ("if ", ""),
    ("", " yet?"),
    ("", "?"),
    ("", "? ask the maker"),
];

/// Common practice of offices, no source. Words that leave a deduction open never let it pass as made.
#[test]
fn a_deduction_that_is_to_be_made_is_told() {
    let mut wrong = Vec::new();
    let alone = [
        "mal 0,8", "times 0.8", "· 0.8", "mit 0,8 multiplizieren", "minus 20 %", "less 20 %",
        "abzgl. 20 %", "without −20 %", "ohne −20 %", "−20 % will be taken", "−20 % unless taken",
        "−20 % muss noch rein", "not yet derated 20 %", "derating 20 % open",
    ];
    for words in alone {
        if in_block(words) == Nothing {
            wrong.push(words.to_owned());
        }
    }
    for factor in ["× 0.8", "x 0,8", "−20 %"] {
        for (made, (before, behind)) in
            MADE.iter().flat_map(|it| LEFT_OPEN.iter().map(move |open| (it, open)))
        {
            let words = format!("{factor} {before}{made}{behind}");
            if in_block(&words) == Nothing {
                wrong.push(words);
            }
        }
    }
    let right = [
        "× 0.8 included",
        "× 0.8 incl.",
        "× 0.8 already done",
        "× 0,8 bereits enthalten",
        "× 0.8 applied, not to be applied again",
        "× 1.25 included",
        "−20 % already taken",
        "−20 % included",
        "−20 % bereits abgezogen",
        "−20 % is in",
        "+10 % taken",
        "3 mal gemessen",
        "28 N·m less 20 %",
        "incl. 5 % tolerance",
        "tolerance 5 % included",
    ];
    for words in right {
        if in_block(words) != Nothing {
            wrong.push(format!("{words}: told"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The answer to words behind the brake torque.
fn in_block(words: &str) -> Answer {
    answer("block", "T_b", (0, 4, false), Some(words))
}

/// Common practice of offices, no source: a span of temperatures, a day, a number of tests, a tolerance of the supply and
/// the size of a part are of something else than the torque beside which they stand.
#[test]
fn remarks_with_from_and_with_sizes_are_no_tolerances_and_no_factors() {
    let mut told = Vec::new();
    let before = ["", "valid ", "taken ", "measured ", "least ", "rounded down ", "note: valid "];
    let from = ["3 tests", "1.1.2025", "28", "28 N·m", "10 stops"];
    let spans = [
        "from 20 °C to 120 °C", "from 0 to 40 °C", "from +5 °C to +40 °C", "from 24 V to 0 V",
        "from 100 % to 10 %", "from 4 to 20 mA",
    ];
    let others = [
        "24 VDC ±10 %", "24 V ±10 %", "note: ±10 %", "hub bore 22 × 40", "shaft Ø 22 × 40",
        "22 N·m less 10 % already off",
    ];
    let all = before.iter().flat_map(|it| from.iter().map(move |of| format!("{it}from {of}")));
    let all = all.filter(|it| it != "from 28 N·m");
    for words in all.chain(spans.into_iter().chain(others).map(str::to_owned)) {
        if in_block(&words) != Nothing {
            told.push(words);
        }
    }
    // figures that enclose that of the value may be its own in a wrong unit
    let not_made = [
        "from 20 V to 30 V", "20 % ab", "minus 4 N·m", "less 4 N·m", "plus 25 %", "half", "halb",
        "reduce by 20 %", "um 20 % reduzieren", "times 2", "mal 2",
    ];
    let wrong = ["22 × 0.8", "nominal 22 × 0.8", "N·m ± 5 %", "approx. ± 5 %", "tol.: 5 %"];
    for words in wrong.into_iter().chain(not_made) {
        if in_block(words) == Nothing {
            told.push(format!("{words}: not told"));
        }
    }
    assert!(told.is_empty(), "{}", told.join("\n"));
}

/// A bare factor is one on either side of 1; sizes, counts and marks are none.
#[test]
fn a_bare_factor_above_one_is_told() {
    let mut wrong = Vec::new();
    let told = [
        "× 2", "×2", "x2", "2x", "x2 (two brakes)", "× 1.25", "×1.25", "x 1.1", "x1.1", "* 1.25",
        "mal 1,25", "times 1.5", "1.25 ×", "(× 1.25)", "× 1.5 in fault", "× 1.2 for gear",
        "× 1,25 !",
    ];
    for input in ["J", "T_b", "t_resp"] {
        let named = format!("{input} × 1.1");
        for words in told.into_iter().chain([named.as_str()]) {
            let found = answer("block", input, (0, 4, false), Some(words));
            if found == Nothing {
                wrong.push(format!("{input} \"{words}\": {found:?}"));
            }
        }
    }
    let right = [
        "M22 × 1.5", "× 1.5 mm", "x 1.5 m cable", "× 1.25 already in", "× 1.25 incl.",
        "* 1.5 kW motor", "4 × 1.5 mm²", "1.25 × 3 mm", "x1.2.3",
    ];
    for words in right {
        let found = in_block(words);
        if found != Nothing {
            wrong.push(format!("\"{words}\": {found:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
