//! What a person sees of a number, and what the message tells that person to write.
//!
//! A format with words or another scale states a number a second time: where that says something else, it is an error.
//! A remedy that offers a number is typed into its place: the message is gone and the figure is the one meant.

use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::{Book, Position};
use standstill::unit::parse_unit;
use standstill::workbook::compute;

use super::block::{Case, Line, is_number, value};
use super::grid::Content;
use super::{Outcome, Rng, many, slips};

/// Formats, the unit that they show behind the number, and the power of ten of the digits that they show.
const FORMATS: &[(&str, &str, i32)] = &[
    ("0.00", "", 0),
    ("#,##0.00", "", 0),
    ("0.00E+00", "", 0),
    ("# ?/?", "", 0),
    ("@", "", 0),
    ("[Red]0.0;[Blue]-0.0", "", 0),
    ("0.0_)", "", 0),
    ("0\" ms\"", "ms", 0),
    ("0.000\" s\"", "s", 0),
    ("0\\ \\m\\s", "ms", 0),
    ("0.0\"%\"", "%", 0),
    ("0 \"r/s\"", "r/s", 0),
    ("0 \"r/min\"", "r/min", 0),
    ("0.0\" kg·cm²\"", "kg·cm²", 0),
    ("0.0\" kg·m²\"", "kg·m²", 0),
    ("0\" mm\"", "mm", 0),
    ("0.0\" N·m\"", "N·m", 0),
    ("0.0 \"°C\"", "°C", 0),
    ("0,", "", -3),
    ("0.0,,", "", -6),
    ("#,##0.0,", "", -3),
    ("0.0,\" km\"", "km", -3),
    ("\"ca. \"0", "?", 0),
    ("\"> \"0", "?", 0),
    ("[$€-407] 0.00", "?", 0),
    ("0\" h \"00\" min\"", "?", 0),
    (";;;", "?", 0),
    ("-0", "?", 0),
];

/// Whether a format shows the number that is meant in its unit.
fn agrees(line: &Line, (_, unit, ten): (&str, &str, i32)) -> bool {
    let meant = |text: &str| {
        let kind = line.input.as_ref().and_then(|input| input.kind)?;
        let text = if text.is_empty() { "1" } else { text };
        kind.read_unit(text).or_else(|_| parse_unit(text)).ok()
    };
    match (unit, ten) {
        ("", 0) => true,
        ("", _) | ("?", _) => false,
        (unit, 0) => match (meant(unit), meant(&line.unit)) {
            (Some(one), Some(other)) => {
                one.factor == other.factor
                    && one.zero == other.zero
                    && one.dimension == other.dimension
            }
            _ => false,
        },
        // no unit of the sheets here is a thousand times another that a format shows
        (unit, _) => unit == "km" && line.unit == "m",
    }
}

fn shown(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let mut case = Case::new(rng)?;
    let line = case.line(rng, is_number)?;
    let number = value(&mut case, &line);
    let format = *rng.pick(FORMATS);
    let what =
        format!("{}: `{}` is {number} {} shown as {}", case.sheet, line.name, line.unit, format.0);
    case.tab().cells.insert((line.row, 2), Content::Shown(number, format.0));
    let outcome = case.outcome(None);
    let agrees = agrees(&line, format) && !(format.0 == "-0" && number <= 0.0);
    let outcome = match (agrees, outcome) {
        (false, Outcome::Right) if !(number <= 0.0 && format.0 == "-0") => {
            Outcome::Wrong("what is seen is not what is read, unsaid".to_owned())
        }
        (true, Outcome::Refused) => {
            Outcome::Wrong("the same is shown and read, and it is refused".to_owned())
        }
        (_, other) => other,
    };
    Some(("seen: a format", what, outcome))
}

/// Texts for a number; whether one number is meant.
fn text(rng: &mut Rng, number: f64, unit: &str) -> (String, bool) {
    let plain = number.to_string();
    let comma = plain.replace('.', ",");
    let wide: String = plain
        .chars()
        .map(|it| match it.to_digit(10) {
            Some(digit) => char::from_u32(0xff10 + digit).unwrap(),
            None => it,
        })
        .collect();
    let (mantissa, power) = {
        let text = format!("{number:e}");
        let (a, b) = text.split_once('e').unwrap();
        (a.to_owned(), b.to_owned())
    };
    match rng.below(24) {
        0 => (format!("{}E+0{power}", mantissa.replace('.', ",")), !power.starts_with('-')),
        1 => (format!("{comma} {unit}"), true),
        // `601/h` may be 60 1/h
        2 => (format!("{comma}{unit}"), !unit.starts_with('1')),
        3 => (format!("{plain} {unit}"), true),
        4 => (format!("{plain} (nameplate)"), false),
        5 => (format!("{plain} approx"), false),
        6 => (format!("2*{plain}"), false),
        7 => (format!("{plain}O"), false),
        8 => (format!("{plain} kg m"), false),
        9 => (wide, false),
        10 => (format!("~{plain}"), false),
        11 => (format!(">{plain}"), false),
        12 => (format!("{plain}-{plain}"), false),
        13 => (format!("{plain}…{plain}"), false),
        14 => ("28.11.2026".to_owned(), false),
        15 => ("12:30".to_owned(), false),
        16 => ("TRUE".to_owned(), false),
        17 => ("#N/A".to_owned(), false),
        18 => (format!("{plain} / 2"), false),
        19 => (format!("max. {plain}"), false),
        20 => (format!("{plain}?"), false),
        21 => (format!("{plain} {unit} {plain}"), false),
        _ => (slips::number(rng, number, unit), false),
    }
}

/// What a remedy tells to write: `write 24.2 into C7 as a number, and r/s into D7`.
fn told(remedy: &str) -> Vec<(Position, String)> {
    let mut found = Vec::new();
    let words: Vec<&str> = remedy.split([' ', ',', ';']).filter(|it| !it.is_empty()).collect();
    for (at, word) in words.iter().enumerate() {
        let Some(cell) =
            words.get(at + 1).filter(|_| *word == "into").and_then(|it| Position::parse(it))
        else {
            continue;
        };
        let Some(before) = at.checked_sub(1).and_then(|at| words.get(at)) else { continue };
        // `0.9 %` is typed with its sign
        let signed = at.checked_sub(2).and_then(|at| words.get(at)).filter(|_| *before == "%`");
        found.push((cell, signed.map_or((*before).to_owned(), |it| format!("{} %", &it[1..]))));
    }
    found
}

fn typed(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let mut case = Case::new(rng)?;
    let line = case.line(rng, |line| is_number(line) && line.unit != "°C")?;
    let number = value(&mut case, &line);
    let (text, clear) = text(rng, number, &line.unit);
    case.tab().text(line.row, 2, &text);
    let mut what = format!(
        "{}: `{}` is the text \"{text}\", meant {number} {}",
        case.sheet, line.name, line.unit
    );
    if rng.coin() {
        case.tab().cells.remove(&(line.row, 3));
        what.push_str(", without a unit beside");
    }
    if let Outcome::Wrong(words) = case.outcome(None) {
        return Some(("seen: a text", what, Outcome::Wrong(words)));
    }
    let bytes = case.grid.xlsx();
    let book = Book::read("Case.xlsx", &bytes).unwrap();
    let problems = match compute(&book, None, &Project::new(&NoFs)) {
        Ok(_) => return Some(("seen: a text", what, Outcome::Right)),
        Err(unfilled) => unfilled.problems,
    };
    let here = Position { row: line.row, column: 2 };
    let place = book.place("Inputs", here);
    let own = problems.iter().find(|problem| problem.place.as_ref() == Some(&place))?;
    let told = told(&own.remedy);
    let of_number = |(cell, word): &(Position, String)| {
        *cell == here && word.trim_end_matches(" %").parse::<f64>().is_ok()
    };
    let offers = told.iter().find(|it| of_number(it)).cloned();
    let outcome = match offers {
        None if clear => {
            Outcome::Wrong(format!("the number is clear and not offered: {}", own.remedy))
        }
        None => Outcome::Refused,
        // a ratio that was not meant
        Some(_)
            if own.remedy.contains("whichever is meant") && !text.contains(&number.to_string()) =>
        {
            Outcome::Refused
        }
        Some((_, word)) => {
            // of two numbers the writer takes the one that is meant
            let either = own.remedy.contains(&format!("{number} or "))
                || own.remedy.contains(&format!("or {number} "));
            let plain = word.trim_end_matches(" %");
            let number = if either { number } else { plain.parse().unwrap() };
            let typed = match plain == word {
                true => Content::Number(number),
                false => Content::Text(format!("{number} %")),
            };
            case.tab().cells.insert((line.row, 2), typed);
            for (cell, unit) in
                told.iter().filter(|(cell, unit)| *cell != here && !unit.ends_with(')'))
            {
                case.tab().text(cell.row, u16::try_from(cell.column).unwrap(), unit);
            }
            if !case.tab().cells.contains_key(&(line.row, 3)) {
                case.tab().text(line.row, 3, &line.unit);
            }
            match case.outcome(None) {
                Outcome::Right => Outcome::Right,
                Outcome::Refused => {
                    Outcome::Wrong(format!("typed as told, it is refused again: {}", own.remedy))
                }
                Outcome::Wrong(words) => Outcome::Wrong(format!("{}: {words}", own.remedy)),
            }
        }
    };
    Some(("seen: a remedy typed", what, outcome))
}

#[test]
fn a_format_that_shows_another_number_than_is_read_is_an_error() {
    many(400, shown);
}

#[test]
fn a_remedy_for_a_text_is_right_when_it_is_typed() {
    many(400, typed);
}
