//! Numbers of sheets with something straight behind them: letters, a comma, a second value. What may be meant is asked,
//! what is written for it calculates what is meant, and nothing that stands there is passed over.

use std::collections::BTreeSet;

use standstill::calculation::{Case, Cases, Inputs, Results};
use standstill::diagnostic::{Diagnostic, Name, Place, Source};
use standstill::language::{RESERVED, is_built_in, parse};
use standstill::library::SHEETS;
use standstill::program::{Program, compile};
use standstill::project::Project;
use standstill::unit::{catalogue, parse_unit};

use super::Beside;

fn checked(text: &str) -> (Option<std::sync::Arc<Program>>, Vec<Diagnostic>) {
    let folder = std::path::PathBuf::from("/nowhere");
    let name = text.split_whitespace().nth(1).unwrap_or("s");
    let checked =
        compile(&Source::new(format!("{name}.sheet"), text), &Project::new(&Beside(folder)));
    (checked.program, checked.problems)
}

fn quoted(problem: &Diagnostic) -> Vec<&str> {
    problem.remedy.split('`').skip(1).step_by(2).collect()
}

/// The text with what a remedy offers in the place of what is wrong.
fn typed(text: &str, problem: &Diagnostic, new: &str) -> String {
    let Some(Place::Text { span, .. }) = &problem.place else { panic!("{problem}") };
    format!("{}{new}{}", &text[..span.0], &text[span.1..])
}

/// The first result on these values.
fn result(text: &str, values: &[(&str, &str)]) -> String {
    let (program, problems) = checked(text);
    assert!(problems.iter().all(|it| it.name == Name::UnusedInput), "{text}{problems:?}");
    let program = program.unwrap();
    let mut inputs = Inputs::new(&program);
    for (name, value) in values {
        inputs.write(name, value).unwrap();
    }
    inputs.fill_with_examples();
    Results::compute(&program, &inputs).unwrap().to_text(&program.outputs[0])
}

/// A sheet with two times.
fn times(name: &str, formula: &str) -> String {
    format!(
        "sheet s\ntitle \"T\"\nsource \"by hand\"\ntakes\n  {name} : time in s from 0 s like 2 s \"a\"\n  \
         t_dead : time in s from 0 s like 0.1 s \"b\"\nworks\n  t_all = {formula}\ngives\n  t_all in s\n"
    )
}

/// Every unit of the catalogue that a name can be written as: 3·2 s + 0.1 s = 6.1 s is meant, and calculated.
#[test]
fn a_name_behind_a_number_is_offered_as_a_product_whatever_unit_it_reads_as() {
    let symbols = catalogue().iter().map(|entry| entry.symbol);
    let prefixed = ["ms", "kN", "mm", "kg", "MJ", "kW", "mA", "mV"];
    let names: BTreeSet<&str> = symbols
        .chain(prefixed)
        .filter(|it| it.chars().all(|sign| sign.is_ascii_alphabetic()) && !it.is_empty())
        .filter(|it| !RESERVED.contains(it) && !is_built_in(it))
        .collect();
    let mut asked = 0;
    for name in names {
        let text = times(name, &format!("3{name} + t_dead"));
        let (_, problems) = checked(&text);
        let [problem] = problems.as_slice() else { panic!("{name}: {problems:?}") };
        let offered = quoted(problem);
        assert_eq!(offered.first(), Some(&format!("3 * {name}").as_str()), "{problem}");
        assert_eq!(result(&typed(&text, problem, offered[0]), &[]), "6.1 s", "{name}");
        if parse_unit(name).is_err() {
            continue;
        }
        // with the blank it is the unit: never without a word
        assert!(offered.contains(&format!("3 {name}").as_str()), "{problem}");
        let text = times(name, &format!("3 {name} + t_dead"));
        let (_, problems) = checked(&text);
        let asks = problems.iter().find(|it| it.name == Name::NameReadsAsUnit);
        let asks = asks.unwrap_or_else(|| panic!("{name}: {problems:?}"));
        assert_eq!(quoted(asks).first(), Some(&format!("3 * {name}").as_str()), "{asks}");
        assert_eq!(result(&typed(&text, asks, &format!("3 * {name}")), &[]), "6.1 s", "{name}");
        asked += 1;
    }
    assert!(asked > 30, "{asked} names read as units");
}

/// What stands behind a number, what is offered first for it, and what then comes out for x = 2 s, t_dead = 0.1 s.
#[test]
fn letters_straight_behind_a_number_are_offered_as_what_they_can_be() {
    for (formula, offered, is) in [
        ("2x + t_dead", "2 * x", "4.1 s"),
        ("t_dead * 2pi", "2 * pi", "0.6283 s"),
        ("t_dead * 2π", "2 * pi", "0.6283 s"),
        ("t_dead * 2 pi", "2 * pi", "0.6283 s"),
        ("t_dead * 2 π", "2 * pi", "0.6283 s"),
        ("2 x + t_dead", "2 * x", "4.1 s"),
        ("sqrt(3x²)", "3 * x", "3.464 s"),
        ("400 * t_dead^2 / 2x", "(2 * x)", "1 s"),
        ("8000 * t_dead^3 / 2x^2", "(2 * x^2)", "1 s"),
        ("8000 * t_dead^3 / 2x²", "(2 * x²)", "1 s"),
        ("400 * t_dead^2 / 2 x", "(2 * x)", "1 s"),
        ("2sqrt(x * x)", "2 * sqrt", "4 s"),
        ("x + 5ms", "5 ms", "2.005 s"),
        ("x + 5sec", "5 s", "7 s"),
        ("x + 1OO ms", "100", "2.1 s"),
        ("x + 5ms*2", "5 ms * 2", "2.01 s"),
        ("x + 1,5 s", "1.5 s", "3.5 s"),
        ("1,5 * x", "1.5", "3 s"),
    ] {
        let text = times("x", formula);
        let mut problems = checked(&text).1;
        problems.retain(|it| it.name != Name::UnusedInput);
        let [problem] = problems.as_slice() else { panic!("{formula}: {problems:?}") };
        assert_eq!(quoted(problem).first(), Some(&offered), "{formula}: {problem}");
        let found = result(&typed(&text, problem, offered), &[]);
        let near = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
        assert!((near(&found) - near(is)).abs() <= 1e-3 * near(is), "{formula}: {found}, not {is}");
    }
    // a parameter of a function, an input of a group
    let text = times("x", "f(x) + t_dead\n  f(h) = 2h");
    let (_, problems) = checked(&text);
    let problem = problems.iter().find(|it| it.name == Name::UnreadableLine).unwrap();
    assert_eq!(quoted(problem).first(), Some(&"2 * h"), "{problem}");
    let text = times("x", "f(x) + t_dead\n  f(h) = h + 2 h");
    let (_, problems) = checked(&text);
    assert!(problems.iter().any(|it| it.name == Name::NameReadsAsUnit), "{problems:?}");
    let text = times("group g\n  x", "3h + x");
    let (_, problems) = checked(&text);
    let problem = problems.iter().find(|it| it.name == Name::UnreadableLine).unwrap();
    assert_eq!(quoted(problem), ["3 h", "3 * h"], "{problem}");
}

/// What stands behind `like` of an input, what is offered for it, and the example that comes of it.
#[test]
fn what_stands_behind_an_example_is_read_or_named() {
    for (take, offered, then) in [
        ("x : ratio like 1,5", "1.5", "1.5"),
        ("x : time in ms like 312 ms, 318 ms", "312 ms", "312 ms"),
        ("x : time in ms like 312 ms, 318 ms from 0 ms", "312 ms", "312 ms"),
        ("x : mass in t like 3 t, 2 t \"mass\"", "3 t", "3 t"),
        ("x : mass in t like 3,2 t", "3.2 t", "3.2 t"),
        ("x : mass in t like 3 kg,2 t", "3 kg", "3 kg"),
        ("x : efficiency like 87,5 %", "87.5 %", "87.5 %"),
        ("x : time in s like 1,5 s", "1.5 s", "1.5 s"),
        ("x : time in s = 1,5 s", "1.5 s", "1.5 s"),
        ("x : time in s like 2 s ± 0,5 s", "0.5 s", "2 s"),
        ("x : time in s like 2 s +0,5 s -0 s", "0.5 s", "2 s"),
        ("x : time in s from 0,5 s like 2 s", "0.5 s", "2 s"),
        ("x : time in s like 2 s to 2,5 s", "2.5 s", "2 s"),
        ("x : speed of rotation in r/min like 1,450 r/min", "1450 r/min", "1450 r/min"),
        ("x : series of ratio like 1,5, 2", "1.5", "1.5"),
        ("x : one of fast, slow like fast, slow", "fast", "fast"),
    ] {
        let text = format!(
            "sheet s\ntitle \"T\"\nsource \"by hand\"\ntakes\n  {take}\nworks\n  y = {}\ngives\n  y\n",
            match take {
                _ if take.contains("series") => "sum(x) / sum(x)",
                _ if take.contains("one of") => "when x is fast : 1  otherwise : 2",
                _ => "x / x",
            }
        );
        let (_, problems) = checked(&text);
        let problem = problems
            .iter()
            .find(|it| it.name == Name::UnreadableLine)
            .unwrap_or_else(|| panic!("{take}: {problems:?}"));
        assert!(quoted(problem).contains(&offered), "{take}: {problem}");
        let mended = typed(&text, problem, offered);
        let (_, problems) = checked(&mended);
        let of_the_sheet = [Name::DecidedCheck, Name::ChangesNothing, Name::OpenBelow];
        assert!(
            problems.iter().all(|it| of_the_sheet.contains(&it.name)),
            "{mended}\n{problems:?}"
        );
        let written =
            mended.contains(&format!("like {then}")) || mended.contains(&format!("= {then}"));
        assert!(written, "{mended}");
    }
    for (take, words) in [
        ("x : time in s, at least 3 like 2 s", "counts the values of a series"),
        ("x : series of time in s, at least 3 mm like 2 s, 3 s, 4 s", "does not read on from `mm`"),
    ] {
        let text = format!(
            "sheet s\ntitle \"T\"\nsource \"by hand\"\ntakes\n  {take}\nworks\n  y = x\ngives\n  y in s\n"
        );
        let (_, problems) = checked(&text);
        assert!(problems.iter().any(|it| it.headline.contains(words)), "{take}: {problems:?}");
    }
}

/// What a program does and says, without the places in its text.
fn said(program: &Program) -> String {
    let mut said = format!("{:?}{:?}", program.steps, program.registers);
    for input in &program.inputs {
        let limit = |it: &Option<standstill::program::Limit>| {
            it.as_ref().map(|it| (it.written.clone(), it.included))
        };
        said += &format!(
            "{}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{}{}",
            input.name,
            input.type_,
            input.unit.symbol,
            input.default,
            input.default_tolerance,
            input.example,
            input.example_tolerances,
            limit(&input.low),
            limit(&input.high),
            input.at_least,
            input.note,
            input.heading
        );
    }
    for output in &program.outputs {
        said +=
            &format!("{}{:?}{}{:?}", output.name, output.unit.symbol, output.note, output.register);
    }
    said += &format!("{:?}", program.blocks);
    for table in &program.tables {
        said += &format!("{}{:?}{:?}{:?}", table.name, table.between, table.rows, table.lowest);
    }
    for line in &program.lines {
        said += &format!("{}{:?}{}", line.name, line.unit.symbol, line.note);
    }
    said += &format!(
        "{:?}",
        program.checks.iter().map(|it| (&it.text, &it.otherwise)).collect::<Vec<_>>()
    );
    let first = &program.scopes[0];
    said + &format!(
        "{}{}{}{}{:?}{:?}{:?}",
        first.sheet,
        first.version,
        first.date,
        first.title,
        first.sources,
        first.words,
        first.cautions
    )
}

/// The same behind the words of the library's cases: a line of a case that is read otherwise is held against the sheet.
#[test]
fn nothing_behind_a_word_of_a_case_is_passed_over() {
    const JUNK: [&str; 6] = [",5", ", 318 ms", " 5", "x", " %", " junk"];
    let (mut tried, mut silent) = (0_usize, Vec::new());
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published_values");
    for (at, sheet) in SHEETS.iter().enumerate() {
        let path = folder.join(format!("{}.cases", sheet.name));
        let Ok(text) = std::fs::read_to_string(path) else { continue };
        let Some(program) = checked(sheet.text).0 else { continue };
        let read = |text: &str| Cases::read(&Source::new("s.cases", text));
        let said = |case: &Case| {
            let inputs: Vec<_> = case.inputs.iter().map(|it| (&it.0, &it.1)).collect();
            let wanted: Vec<_> = case.expectations.iter().map(|it| &it.0).collect();
            format!("{inputs:?}{wanted:?}")
        };
        let before: Vec<String> = read(&text).0.cases.iter().map(said).collect();
        let in_a_line = |it: &usize| {
            let line = text[..*it].rfind('\n').map_or(0, |at| at + 1);
            let line = text[line..].lines().next().unwrap_or_default().trim_start();
            let code = text[..*it].rsplit('\n').next().unwrap_or_default();
            !code.contains('#') && !line.starts_with("case ") && !line.starts_with("source ")
        };
        let ends: Vec<usize> = text
            .match_indices(char::is_whitespace)
            .map(|(end, _)| end)
            .filter(|end| text[..*end].ends_with(|sign: char| !sign.is_whitespace()))
            .filter(in_a_line)
            .collect();
        for (turn, junk) in JUNK.iter().enumerate() {
            for end in ends.iter().skip((turn * 7 + at) % 97).step_by(97) {
                let text = format!("{}{junk}{}", &text[..*end], &text[*end..]);
                tried += 1;
                let (cases, problems) = read(&text);
                // a tolerance in % is another one, and may be met as well
                let rest = text[end + junk.len()..].lines().next().unwrap_or_default();
                if *junk == " %"
                    && rest.trim().is_empty()
                    && text[..*end].ends_with(|it: char| it.is_ascii_digit())
                {
                    continue;
                }
                if !problems.is_empty() || cases.sheet != sheet.name {
                    continue;
                }
                let mut pairs = cases.cases.iter().zip(&before);
                let changed = pairs.find(|(case, before)| said(case) != **before);
                if changed.is_none_or(|(case, _)| case.run(&program).is_empty()) {
                    let line = text[..*end].rfind('\n').map_or(0, |at| at + 1);
                    let rest = text[line..].lines().next().unwrap_or_default();
                    silent.push(format!("{}: {junk}: {rest}", sheet.name));
                }
            }
        }
    }
    assert!(tried > 1_000, "{tried} tried");
    assert_eq!(silent, Vec::<String>::new(), "of {tried}");
}

/// Junk behind every part of every line of the library: it is named, or it means something, never passed over.
#[test]
fn nothing_behind_a_part_of_a_line_is_passed_over() {
    const JUNK: [&str; 7] = [",5", ", 318 ms", " 5", "x", " %", " junk", " \"more\""];
    let (mut tried, mut silent) = (0_usize, Vec::new());
    for sheet in SHEETS {
        let (Some(program), _) = checked(sheet.text) else { continue };
        let before = said(&program);
        let mut ends: Vec<usize> = Vec::new();
        let mut at = 0;
        for line in sheet.text.split_inclusive('\n') {
            let code = line.split('#').next().unwrap_or_default();
            let mut outside = true;
            let mut last = ' ';
            for (byte, sign) in code.char_indices() {
                let ends_part = outside
                    && (sign.is_whitespace() || matches!(sign, ',' | ')'))
                    && !(last.is_whitespace()
                        || matches!(last, ',' | '(' | '=' | ':' | '+' | '*' | '/' | '-'));
                if ends_part {
                    ends.push(at + byte);
                }
                if sign == '"' {
                    outside = !outside;
                }
                last = sign;
            }
            at += line.len();
        }
        // every 23rd place of a sheet, others for each sheet and each junk
        for (turn, junk) in JUNK.iter().enumerate() {
            for end in ends.iter().skip((turn * 5 + sheet.name.len()) % 23).step_by(23) {
                let text = format!("{}{junk}{}", &sheet.text[..*end], &sheet.text[*end..]);
                tried += 1;
                if !parse(&Source::new("", text.as_str())).1.is_empty() {
                    continue;
                }
                let (program, problems) = checked(&text);
                if problems.is_empty() && program.is_none_or(|program| said(&program) == before) {
                    let line = text[..*end].rfind('\n').map_or(0, |at| at + 1);
                    let rest = text[line..].lines().next().unwrap_or_default();
                    silent.push(format!("{}: {junk}: {rest}", sheet.name));
                }
            }
        }
    }
    assert!(tried > 2_000, "{tried} tried");
    assert_eq!(silent, Vec::<String>::new(), "of {tried}");
}
