//! Bind files and defined names with a mistake, filled.

use super::block::{Case, Line, says_another};
use super::grid::Content;
use super::{Outcome, Rng, many, refused, slips};

/// The line of a bind file for a row of the case.
fn written(line: &Line) -> String {
    let cells = if line.count > 1 {
        format!("Inputs!C{}:C{}", line.row + 1, line.row + line.count)
    } else {
        format!("Inputs!C{}", line.row + 1)
    };
    let way = if line.input.is_some() { "from" } else { "to" };
    let unit = if line.unit.is_empty() { String::new() } else { format!(" in {}", line.unit) };
    format!("{} {way} {cells}{unit}", line.name)
}

type Rule = (&'static str, fn(&mut Rng, &mut Case, &mut Vec<String>) -> Option<String>);

/// The number of the bind line that belongs to a row of the case, which follow the line of the sheet.
fn one_of(rng: &mut Rng, case: &Case, wanted: impl Fn(&Line) -> bool) -> Option<(usize, Line)> {
    let fit: Vec<usize> = (0..case.lines.len()).filter(|at| wanted(&case.lines[*at])).collect();
    let at = *fit.get(rng.below(fit.len()))?;
    Some((at + 1, case.lines[at].clone()))
}

fn changed(text: &mut [String], at: usize, to: String) -> Option<String> {
    if text[at] == to {
        return None;
    }
    let words = format!("`{}` is written `{to}`", text[at]);
    text[at] = to;
    Some(words)
}

const RULES: &[Rule] = &[
    ("bind: a slip in a name", |rng, case, text| {
        let (at, line) = one_of(rng, case, |_| true)?;
        let slip = slips::name(rng, &line.name);
        if case.knows(slip.trim()) {
            return None;
        }
        let to = text[at].replacen(&line.name, &slip, 1);
        changed(text, at, to)
    }),
    ("bind: a slip in the sheet", |rng, case, text| {
        let sheet = case.sheet;
        let to = match rng.below(9) {
            0 => format!("Sheet {sheet}"),
            1 => format!("sheet: {sheet}"),
            2 => format!("sheet {sheet}:"),
            3 => sheet.to_owned(),
            4 => format!("sheet {}", slips::name(rng, sheet)),
            5 => format!("  sheet   {sheet}"),
            6 => format!("\u{feff}sheet {sheet}"),
            7 => format!("sheet\t{sheet}"),
            _ => format!("sheet {sheet} axis 2"),
        };
        changed(text, 0, to)
    }),
    ("bind: a slip in a word", |rng, case, text| {
        let (at, line) = one_of(rng, case, |_| true)?;
        let (from, to) = *rng.pick(&[
            (" from ", " form "),
            (" from ", " From "),
            (" from ", " to "),
            (" to ", " from "),
            (" in ", " im "),
            (" in ", " unit "),
            (" in ", " "),
            (" from ", " <- "),
            (" from ", " = "),
            (" to ", " -> "),
            (" in ", ", "),
            (" from ", "  from\t"),
            (" in ", " In "),
            (" in ", " in in "),
            (" from ", " from cell "),
        ]);
        let to = text[at].replacen(from, to, 1);
        let _ = line;
        changed(text, at, to)
    }),
    ("bind: another tab", |rng, case, text| {
        let (at, _) = one_of(rng, case, |_| true)?;
        let tab = *rng.pick(&[
            "inputs", "Input", "'Inputs'", "Inputs ", "Second", "", "Inputs.", "\"Inputs\"",
            "Inputs!Inputs",
        ]);
        let to = text[at].replacen("Inputs", tab, 1);
        changed(text, at, to)
    }),
    ("bind: another cell", |rng, case, text| {
        let (at, line) = one_of(rng, case, |_| true)?;
        let cell = format!("C{}", line.row + 1);
        let other = match rng.below(9) {
            0 => format!("$C${}", line.row + 1),
            1 => format!("c{}", line.row + 1),
            2 => format!("B{}", line.row + 1),
            3 => format!("D{}", line.row + 1),
            4 => format!("F{}", line.row + 1),
            5 => format!("R{}C3", line.row + 1),
            6 => format!("C{}:C{}", line.row + 1, line.row + 2),
            7 => format!("C {}", line.row + 1),
            _ => "C".to_owned(),
        };
        if line.count > 1 {
            return None;
        }
        // a result may go anywhere
        if line.input.is_none() && matches!(other.as_bytes().first(), Some(b'F' | b'D' | b'B')) {
            return None;
        }
        let to = text[at].replacen(&cell, &other, 1);
        changed(text, at, to)
    }),
    ("bind: a slip in a unit", |rng, case, text| {
        let (at, line) = one_of(rng, case, |line| line.input.is_some() && !line.unit.is_empty())?;
        let slip = slips::unit(rng, &line.unit);
        if says_another(&line, &slip) {
            return None;
        }
        let to = text[at].replacen(&format!(" in {}", line.unit), &format!(" in {slip}"), 1);
        changed(text, at, to)
    }),
    ("bind: another unit in the cell beside", |rng, case, _| {
        let (_, line) = one_of(rng, case, |line| line.input.is_some() && !line.unit.is_empty())?;
        let unit = *rng.pick(&["mm", "s", "%", "kN", "kg·m²", "r/s", "min"]);
        let row = line.row;
        case.tab().text(row, 3, unit);
        Some(format!("{unit} stands beside `{}`", line.name))
    }),
    ("bind: a line twice", |rng, case, text| {
        let (at, _) = one_of(rng, case, |_| true)?;
        let to = rng.below(text.len()) + 1;
        let copy = text[at].clone();
        let words = format!("`{copy}` stands twice");
        text.insert(to, copy);
        Some(words)
    }),
    ("bind: a value beside a cell", |rng, case, text| {
        let (at, line) = one_of(rng, case, |line| {
            line.input.as_ref().is_some_and(|input| input.kind.is_some())
        })?;
        let unit = if line.unit.is_empty() { String::new() } else { format!(" {}", line.unit) };
        let to = match rng.below(4) {
            0 => format!("{} = 1{unit}", line.name),
            1 => format!("{}=2{unit}", line.name),
            2 => format!("{} == 2{unit}", line.name),
            _ => format!("{}: 2{unit}", line.name),
        };
        text.insert(at + 1, to.clone());
        Some(format!("`{to}` as well"))
    }),
    ("bind: a line taken out", |rng, case, text| {
        let (at, line) = one_of(rng, case, |line| {
            line.input.as_ref().is_some_and(|input| input.default.is_none())
        })?;
        text.remove(at);
        Some(format!("the line of `{}` is out", line.name))
    }),
    ("bind: two lines in one", |rng, case, text| {
        let (at, _) = one_of(rng, case, |_| true)?;
        if at + 1 >= text.len() {
            return None;
        }
        let second = text.remove(at + 1);
        let join = *rng.pick(&[" ", ", ", "; "]);
        let to = format!("{}{join}{}", text[at], second.trim());
        changed(text, at, to)
    }),
    ("bind: words behind a line", |rng, case, text| {
        let (at, _) = one_of(rng, case, |_| true)?;
        let more = *rng.pick(&[
            " # measured", " measured", " (measured)", " ± 5 %", " +- 5 %", " tolerance",
            " tolerance Inputs!Z9", " // old",
        ]);
        // a result has no tolerance
        let to = format!("{}{more}", text[at]);
        if more.ends_with(" 5 %") && case.lines[at - 1].input.is_some() {
            return None;
        }
        changed(text, at, to)
    }),
    ("bind: a remark between", |rng, case, text| {
        let (at, line) = one_of(rng, case, |_| true)?;
        let more =
            (*rng.pick(&["# brake data", "brake data", "", "-----", "[brake]", "end"])).to_owned();
        let _ = line;
        let words = format!("the line `{more}`");
        text.insert(at, more);
        Some(words)
    }),
    ("bind: a value of another sort", |rng, case, _| {
        let (_, line) = one_of(rng, case, |line| {
            line.count == 1 && line.input.as_ref().is_some_and(|input| input.kind.is_some())
        })?;
        let row = line.row;
        let number = match case.tab().cells.get(&(row, 2)) {
            Some(Content::Number(number)) => *number,
            _ => return None,
        };
        let other = match rng.below(5) {
            0 => Content::Date(45_000.0),
            1 => Content::Truth(true),
            2 => Content::Text("n/a".to_owned()),
            3 if line.unit != "°C" => Content::Text(slips::number(rng, number, &line.unit)),
            _ => Content::Shown(number, "0.0\"%\""),
        };
        let words = format!("`{}` is {other:?}", line.name);
        case.tab().cells.insert((row, 2), other);
        Some(words)
    }),
];

/// The block turned into cells without names, and the bind file for them.
pub(super) fn with_bind_file(rng: &mut Rng) -> Option<(Case, Vec<String>)> {
    let mut case = Case::new(rng)?;
    let lines = case.lines.clone();
    case.tab().cells.retain(|(_, column), _| *column == 2 || *column == 4);
    let start = lines[0].row;
    case.tab().cells.retain(|(row, _), _| *row >= start);
    let mut text = vec![format!("sheet {}", case.sheet)];
    text.extend(lines.iter().map(written));
    Some((case, text))
}

fn one(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let (mut case, mut text) = with_bind_file(rng)?;
    let (rule, change) = rng.pick(RULES);
    let what = change(rng, &mut case, &mut text)?;
    let outcome = case.outcome(Some(&text.join(if rng.coin() { "\n" } else { "\r\n" })));
    Some((rule, format!("{}: {what}", case.sheet), outcome))
}

type NameRule = (&'static str, fn(&mut Rng, &mut Case) -> Option<String>);

const NAME_RULES: &[NameRule] = &[
    ("name: a slip", |rng, case| {
        let at = rng.below(case.grid.names.len());
        let (name, _) = case.grid.names[at].clone();
        let (before, what) = name.split_once('.')?;
        let slip = match rng.below(3) {
            0 => format!("{}.{what}", slips::name(rng, before)),
            1 => format!("{before}_{what}"),
            _ => format!("{before}.{}", slips::name(rng, what)),
        };
        let fits = slip.chars().all(|sign| sign.is_ascii_alphanumeric() || "._".contains(sign));
        let known = case.grid.names.iter().any(|(known, _)| known.eq_ignore_ascii_case(&slip));
        if !fits
            || known
            || slip.split_once('.').is_some_and(|(_, what)| case.knows(what))
                && slip.starts_with(before)
        {
            return None;
        }
        case.grid.names[at].0 = slip.clone();
        Some(format!("`{name}` is `{slip}`"))
    }),
    ("name: another cell", |rng, case| {
        let at = rng.below(case.grid.names.len());
        let (name, text) = case.grid.names[at].clone();
        let line =
            case.lines.iter().find(|line| name.ends_with(&format!(".{}", line.name)))?.clone();
        let other = match rng.below(6) {
            0 => text.replace("$C", "$F"),
            1 => text.replace("$C", "$B"),
            2 => text.replace("$C", "$D"),
            3 => text.replace('$', ""),
            4 => format!("=Inputs!$C${}:$D${}", line.row + 1, line.row + 1),
            _ => format!("=Inputs!$C${}*2", line.row + 1),
        };
        if other == text || line.count > 1 || line.input.is_none() {
            return None;
        }
        case.grid.names[at].1 = other.clone();
        Some(format!("`{name}` is {other}"))
    }),
    ("name: two units around", |rng, case| {
        let line = case.lines[rng.below(case.lines.len())].clone();
        let unit = *rng.pick(&["mm", "s", "kN", "r/s", "min", "cm"]);
        let kind = line.input.as_ref()?.kind?;
        // a text that is not a unit of this quantity is no unit of it
        kind.read_unit(unit).ok()?;
        if rng.coin() {
            case.tab().text(line.row, 1, &format!("speed in {unit}"));
        } else {
            case.tab().text(line.row, 1, &format!("value [{unit}]"));
        }
        Some(format!("{unit} before `{}` in {}", line.name, line.unit))
    }),
    ("name: no unit", |rng, case| {
        let line = case.lines[rng.below(case.lines.len())].clone();
        if line.unit == "%" || line.unit.is_empty() {
            return None;
        }
        case.tab().cells.remove(&(line.row, 3));
        Some(format!("no unit beside `{}`", line.name))
    }),
];

fn one_name(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let mut case = Case::new(rng)?;
    let lines = case.lines.clone();
    let start = lines[0].row;
    case.tab().cells.retain(|(row, column), _| *row >= start && matches!(column, 2 | 3));
    let sheet = case.sheet.replace('-', "_");
    for line in &lines {
        let last = line.row + line.count;
        let text = if line.count > 1 {
            format!("=Inputs!$C${}:$C${last}", line.row + 1)
        } else {
            format!("=Inputs!$C${last}")
        };
        let name = format!("{sheet}.{}", line.name);
        // names of a workbook do not tell capitals from small letters
        if case.grid.names.iter().any(|(known, _)| known.eq_ignore_ascii_case(&name)) {
            return None;
        }
        case.grid.names.push((name, text));
    }
    let (rule, change) = rng.pick(NAME_RULES);
    let what = change(rng, &mut case)?;
    let outcome = case.outcome(None);
    Some((rule, format!("{}: {what}", case.sheet), outcome))
}

#[test]
fn a_mistake_in_a_bind_file_is_an_error_or_changes_nothing() {
    let mut refusals = Vec::new();
    for seed in 0..40 {
        let Some((case, text)) = with_bind_file(&mut Rng::of(seed)) else { continue };
        match case.outcome(Some(&text.join("\n"))) {
            Outcome::Right => {}
            Outcome::Refused => {
                refusals.push(format!("{}\n{}", text.join("\n"), case.grid.to_text()))
            }
            Outcome::Wrong(words) => panic!("{words}"),
        }
    }
    assert!(refusals.is_empty(), "{}", refusals[0]);
    assert!(matches!(refused(&[]), Outcome::Wrong(_)));
    many(400, one);
}

#[test]
fn a_mistake_in_a_defined_name_is_an_error_or_changes_nothing() {
    many(900, one_name);
}
