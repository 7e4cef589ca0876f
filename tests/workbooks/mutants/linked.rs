//! Inputs that are fed from a cell which is not theirs, and what an earlier run or an owner has left behind.

use super::bind::with_bind_file;
use super::block::{Case, Line, NAME, UNIT, VALUE, is_number, value};
use super::grid::{Content, Tab};
use super::{Outcome, Rng, many};

type Rule = (&'static str, fn(&mut Rng, &mut Case) -> Option<String>);

fn name_of(row: u32, column: u16) -> String {
    format!("{}{}", char::from(b'A' + u8::try_from(column).unwrap()), row + 1)
}

/// Another unit of the same kind.
fn other_unit(rng: &mut Rng, line: &Line) -> Option<&'static str> {
    let kind = line.input.as_ref()?.kind?;
    let own = kind.read_unit(&line.unit).ok()?;
    let others = kind.units.iter().copied().filter(|unit| {
        kind.read_unit(unit)
            .is_ok_and(|it| it.factor != own.factor && it.dimension == own.dimension)
    });
    let others: Vec<&str> = others.collect();
    (!others.is_empty()).then(|| *rng.pick(&others))
}

/// A cell apart from the block that holds a number, with a text before it and one behind it; where it stands.
fn apart(rng: &mut Rng, case: &mut Case, number: f64, before: &str, behind: &str) -> (String, u32) {
    let row = case.tab().last_row() + 4 + u32::try_from(rng.below(4)).unwrap();
    if rng.coin() {
        case.tab().text(row, 7, before);
        case.tab().cells.insert((row, 8), Content::Number(number));
        case.tab().text(row, 9, behind);
        return (name_of(row, 8), row);
    }
    let mut data = Tab { name: "Data sheet".to_owned(), ..Tab::default() };
    data.text(row, 1, before);
    data.cells.insert((row, 2), Content::Number(number));
    data.text(row, 3, behind);
    case.grid.tabs.push(data);
    (format!("'Data sheet'!{}", name_of(row, 2)), row)
}

/// Whether a line holds one number in a unit that is converted by a factor.
fn is_converted(line: &Line) -> bool {
    is_number(line) && !matches!(line.unit.as_str(), "" | "%" | "°C")
}

/// Numbers with their units, one below the other on a tab of their own; the column in which they stand.
fn parts_on_a_tab(case: &mut Case, parts: &[(f64, String)]) -> String {
    let mut data = Tab { name: "Data sheet".to_owned(), ..Tab::default() };
    for (row, (number, unit)) in (0..).zip(parts) {
        data.cells.insert((row, 1), Content::Number(*number));
        data.text(row, 2, unit);
    }
    case.grid.tabs.push(data);
    "'Data sheet'!B".to_owned()
}

/// A formula that looks a number up in a table of two sizes, below a heading.
fn looked_up(rng: &mut Rng, case: &mut Case, heading: &str, number: f64, by_name: bool) -> String {
    let mut data = Tab { name: "Sizes".to_owned(), ..Tab::default() };
    data.text(0, 0, "size");
    data.text(0, 1, heading);
    for (row, (size, number)) in (1..).zip([("M1", number), ("M2", number * 2.0)]) {
        data.text(row, 0, size);
        data.cells.insert((row, 1), Content::Number(number));
    }
    case.grid.tabs.push(data);
    let forms = [
        "=VLOOKUP(\"M1\",Sizes!A2:B3,2,FALSE)",
        "=VLOOKUP(\"M1\",Sizes!$A$2:$B$3,2,0)",
        "=INDEX(Sizes!B2:B3,MATCH(\"M1\",Sizes!A2:A3,0))",
        "=INDEX(Sizes!A2:B3,MATCH(\"M1\",Sizes!A2:A3,0),2)",
        "=_xlfn.XLOOKUP(\"M1\",Sizes!A2:A3,Sizes!B2:B3)",
        "=CHOOSE(1,Sizes!B2,Sizes!B3)",
        "=IF(1>0,Sizes!B2,Sizes!B3)",
    ];
    // what is chosen by hand may be meant, whatever it is called
    let end = if by_name { forms.len() - 2 } else { forms.len() };
    forms[rng.below(end)].to_owned()
}

/// Every way in which a block is fed otherwise.
const RULES: &[Rule] = &[
    ("linked: its own number elsewhere", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && line.unit != "%")?;
        let number = value(case, &line);
        let (before, behind) = match rng.below(4) {
            0 => ("", ""),
            1 => (line.name.as_str(), ""),
            2 => ("measured", ""),
            _ => (line.name.as_str(), line.unit.as_str()),
        };
        let (cell, _) = apart(rng, case, number, before, behind);
        let text = match rng.below(4) {
            0 => format!("={cell}"),
            1 => format!("=+{cell}"),
            2 => format!("={cell}*1"),
            _ => format!("=ROUND({cell},30)"),
        };
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        Some(format!("`{}` is {text}", line.name))
    }),
    ("linked: the cell of another input", |rng, case| {
        let line = case.line(rng, is_number)?;
        let other = case.line(rng, |other| is_number(other) && other.name != line.name)?;
        let number = value(case, &other);
        let own = name_of(other.row, VALUE);
        let text = if rng.coin() {
            format!("={own}")
        } else {
            let row = case.tab().last_row() + 5;
            case.tab().cells.insert((row, 9), Content::Formula(format!("={own}"), number));
            format!("={}", name_of(row, 9))
        };
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` is {text}", line.name))
    }),
    ("linked: another unit", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && line.unit != "%")?;
        let unit = other_unit(rng, &line)?;
        let number = value(case, &line);
        let (before, behind) = match rng.below(3) {
            0 => (String::new(), unit.to_owned()),
            1 => (format!("measured / ({unit})"), String::new()),
            _ => (format!("measured [{unit}]"), String::new()),
        };
        let (cell, _) = apart(rng, case, number, &before, &behind);
        let text = format!("={cell}");
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` in {} is {text}, a number in {unit}", line.name, line.unit))
    }),
    ("linked: converted and not converted", |rng, case| {
        let line =
            case.line(rng, |line| is_number(line) && !line.unit.is_empty() && line.unit != "%")?;
        let number = value(case, &line);
        let (factor, sign) =
            *rng.pick(&[(1e3, "/1000"), (1e-3, "*1000"), (60.0, "/60"), (1e6, "/10^6")]);
        let (cell, _) = apart(rng, case, number * factor, "", &line.unit.clone());
        let text = format!("={cell}{sign}");
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = number != 0.0;
        Some(format!("`{}` in {} is {text} of the same unit", line.name, line.unit))
    }),
    ("linked: the name of another input", |rng, case| {
        let line = case.line(rng, is_number)?;
        let other = case.line(rng, |other| is_number(other) && other.name != line.name)?;
        // a letter may be a unit
        if other.name.chars().count() < 2 {
            return None;
        }
        let number = value(case, &line);
        let (cell, _) = apart(rng, case, number, &other.name, "");
        let text = format!("={cell}");
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` is {text}, labelled `{}`", line.name, other.name))
    }),
    ("composed: a part in another unit", |rng, case| {
        let line = case.line(rng, is_converted)?;
        let unit = other_unit(rng, &line)?;
        let number = value(case, &line);
        let parts = [(number * 0.25, line.unit.clone()), (number * 0.75, unit.to_owned())];
        let cells = parts_on_a_tab(case, &parts);
        let text = match rng.below(5) {
            0 => format!("={0}1+{0}2", cells),
            1 => format!("={0}2+{0}1", cells),
            2 => format!("=SUM({0}1:{0}2)", cells).replace(":'Data sheet'!", ":"),
            3 => format!("=SUM({0}1,{0}2)", cells),
            _ => format!("=ROUND({0}1+{0}2,30)", cells),
        };
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` in {} is {text}, parts in {parts:?}", line.name, line.unit))
    }),
    ("composed: a product of another kind", |rng, case| {
        let line = case.line(rng, is_converted)?;
        let number = value(case, &line);
        let other = if line.unit == "kg" { "A" } else { "kg" };
        let cells = parts_on_a_tab(case, &[(number, line.unit.clone()), (1.0, other.to_owned())]);
        let sign = *rng.pick(&["*", "/"]);
        let text = format!("={0}1{sign}{0}2", cells);
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` in {} is {text}, the second in {other}", line.name, line.unit))
    }),
    ("composed: looked up in another unit", |rng, case| {
        let line = case.line(rng, is_converted)?;
        let unit = other_unit(rng, &line)?;
        let number = value(case, &line);
        let text = looked_up(rng, case, &format!("size / ({unit})"), number, false);
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` in {} is {text}, a column in {unit}", line.name, line.unit))
    }),
    ("composed: looked up in the column of another input", |rng, case| {
        let line = case.line(rng, is_converted)?;
        let other = case.line(rng, |other| is_number(other) && other.name != line.name)?;
        if other.name.chars().count() < 2 {
            return None;
        }
        let number = value(case, &line);
        let text = looked_up(rng, case, &format!("{} / ({})", other.name, line.unit), number, true);
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` is {text}, the column of `{}`", line.name, other.name))
    }),
    ("linked: itself", |rng, case| {
        let line = case.line(rng, is_number)?;
        let number = value(case, &line);
        let text = format!("={}", name_of(line.row, VALUE));
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        case.asked = true;
        Some(format!("`{}` is {text}", line.name))
    }),
    ("left: a block copied without its head", |rng, case| {
        let (first, last) = (case.lines[0].row, case.tab().last_row());
        let verdict = rng.coin();
        let below = last + 4 - first;
        for row in first..=last {
            let cells = case.tab().row(row);
            case.tab().put_row(row + below, cells);
        }
        if verdict {
            let text = *rng.pick(&[
                "all 3 checks hold", "the check holds", "FAILS: too long", "MAY FAIL: too long",
            ]);
            case.tab().text(last + below, VALUE, text);
            case.asked = true;
        }
        Some(format!("rows {first} to {last} again, with a verdict: {verdict}"))
    }),
    ("left: an old verdict", |rng, case| {
        let row = case.tab().last_row() + 3;
        let text = *rng.pick(&["all 3 checks hold", "FAILS: too long", "no checks"]);
        case.tab().text(row, VALUE, text);
        case.asked = true;
        Some(format!("a verdict in row {}", row + 1))
    }),
    ("left: the owner's number in a result", |rng, case| {
        let line = case.line(rng, |line| line.input.is_none() && line.name != "checks")?;
        let number = *rng.pick(&[30.0, 0.5, 12.65, 1e6, 0.001_25]);
        case.tab().cells.insert((line.row, VALUE), Content::Number(number));
        case.asked = true;
        Some(format!("{number} stands in the cell of `{}`", line.name))
    }),
    ("series: its mean among its values", |rng, case| {
        let line = case.line(rng, |line| line.count > 2)?;
        let last = line.row + line.count - 1;
        let text = format!("=AVERAGE({}:{})", name_of(line.row, VALUE), name_of(last - 1, VALUE));
        let numbers = (line.row..last).map(|row| match case.tab().cells.get(&(row, VALUE)) {
            Some(Content::Number(number)) => *number,
            _ => 0.0,
        });
        let mean = numbers.sum::<f64>() / f64::from(line.count - 1);
        case.tab().cells.insert((last, VALUE), Content::Formula(text.clone(), mean));
        case.asked = true;
        Some(format!("the last of `{}` is {text}", line.name))
    }),
    ("series: pasted twice", |rng, case| {
        let line = case.line(rng, |line| line.count >= 10)?;
        for row in 0..line.count / 2 {
            let cell = case.tab().cells.get(&(line.row + row, VALUE))?.clone();
            case.tab().cells.insert((line.row + line.count / 2 + row, VALUE), cell);
        }
        case.asked = true;
        Some(format!("the values of `{}` twice", line.name))
    }),
];

fn one(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let mut case = Case::new(rng)?;
    let (rule, change) = rng.pick(RULES);
    let what = change(rng, &mut case)?;
    Some((rule, format!("{}: {what}", case.sheet), case.outcome(None)))
}

/// A bind file that reads two inputs from one cell, or one from a cell about which another name stands.
fn one_bound(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let (mut case, mut text) = with_bind_file(rng)?;
    let line = case.line(rng, is_number)?;
    let other = case.line(rng, |other| is_number(other) && other.name != line.name)?;
    let at = text.iter().position(|it| it.starts_with(&format!("{} from", line.name)))?;
    case.asked = true;
    if rng.coin() {
        let cell = |line: &Line| format!("Inputs!{}", name_of(line.row, VALUE));
        text[at] = text[at].replace(&cell(&line), &cell(&other));
        let what = format!("{}: {}", case.sheet, text[at]);
        return Some(("bound: two inputs to one cell", what, case.outcome(Some(&text.join("\n")))));
    }
    if other.name.chars().count() < 2 {
        return None;
    }
    match rng.below(4) {
        0 => case.tab().text(line.row, NAME, &other.name),
        1 => {
            case.tab().text(line.row, NAME, "words");
            case.tab().text(line.row, NAME - 1, &other.name);
        }
        2 => case.tab().text(line.row, NAME, &format!("{} (measured)", other.name)),
        _ if other.name.contains('_') => {
            case.tab().text(line.row, NAME, &format!("value of {}", other.name));
        }
        _ => return None,
    }
    let what = format!("{}: `{}` is labelled `{}`", case.sheet, line.name, other.name);
    Some(("bound: labelled as another", what, case.outcome(Some(&text.join("\n")))))
}

#[test]
fn what_feeds_an_input_is_its_own_or_it_is_asked() {
    assert_eq!(UNIT, VALUE + 1);
    many(600, one);
}

#[test]
fn a_formula_of_parts_in_their_own_units_is_taken() {
    let mut taken = 0;
    for seed in 0..200 {
        let rng = &mut Rng::of(seed);
        let Some(mut case) = Case::new(rng) else { continue };
        let Some(line) = case.line(rng, is_converted) else { continue };
        let (number, unit) = (value(&mut case, &line), line.unit.clone());
        let text = match rng.below(5) {
            0 => {
                let cells = parts_on_a_tab(&mut case, &[(number, unit), (0.0, line.unit.clone())]);
                format!("={0}1+{0}2", cells)
            }
            1 => {
                let cells = parts_on_a_tab(&mut case, &[(number, unit), (2.0, "1".to_owned())]);
                format!("={0}1*{0}2/2", cells)
            }
            2 => {
                let parts = [(number, unit), (4.0, "kg".to_owned()), (8.0, "kg".to_owned())];
                let cells = parts_on_a_tab(&mut case, &parts);
                format!("={0}1*{0}2/{0}3*2", cells)
            }
            3 => {
                let cells = parts_on_a_tab(&mut case, &[(number, unit), (3.0, String::new())]);
                format!("={0}1*{0}2/3", cells)
            }
            _ => looked_up(rng, &mut case, &format!("{} / ({unit})", line.name), number, false),
        };
        case.tab().cells.insert((line.row, VALUE), Content::Formula(text.clone(), number));
        match case.outcome(None) {
            Outcome::Right => taken += 1,
            Outcome::Refused => panic!("{}: `{}` is {text} and refused", case.sheet, line.name),
            Outcome::Wrong(words) => panic!("{words}"),
        }
    }
    assert!(taken > 100, "{taken}");
}

#[test]
fn a_bound_cell_is_one_inputs_and_bears_no_other_name() {
    let count = std::env::var("STANDSTILL_MUTANTS").ok().and_then(|it| it.parse().ok());
    let mut counts = (0, 0);
    for seed in 0..count.unwrap_or(300_u64) {
        let Some((rule, what, outcome)) = one_bound(&mut Rng::of(seed)) else { continue };
        match outcome {
            Outcome::Refused => counts.0 += 1,
            Outcome::Right => panic!("seed {seed}, {rule}: {what} is passed over"),
            Outcome::Wrong(words) => panic!("seed {seed}, {rule}: {what}\n    {words}"),
        }
        counts.1 += 1;
    }
    assert!(counts.0 == counts.1 && counts.1 > 50, "{counts:?}");
}
