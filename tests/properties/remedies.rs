//! Remedies are right when typed: what a message says to write is written where it points, and the message is gone.
//!
//! The messages are those of the sheets of `tests/language/problems` and of sheets of the library with one mistake
//! in each; what is expected follows from the messages alone.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use standstill::diagnostic::{Diagnostic, Place, Source};
use standstill::language::{Shape, parse};
use standstill::library::SHEETS;
use standstill::program::compile;
use standstill::project::Project;
use standstill::unit::{KINDS, catalogue, parse_unit};

use crate::language::Beside;

const FILE: &str = "remedy.sheet";

fn problems(text: &str) -> Vec<Diagnostic> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/language/problems");
    compile(&Source::new(FILE, text), &Project::new(&Beside(beside))).problems
}

/// The text with the remedy typed; none where it names nothing that can be typed by itself.
fn typed(text: &str, problem: &Diagnostic) -> Option<String> {
    let Some(Place::Text { source, span }) = &problem.place else { return None };
    if source.name != FILE {
        return None;
    }
    let remedy = problem.remedy.as_str();
    let quoted: Vec<&str> = remedy.split('`').skip(1).step_by(2).collect();
    let there = text.get(span.0..span.1)?;
    let put = |from: usize, to: usize, new: &str| {
        Some(format!("{}{new}{}", text.get(..from)?, text.get(to..)?))
    };
    let line = text[..span.0].rfind('\n').map_or(0, |at| at + 1);
    let line_end = text[span.0..].find('\n').map_or(text.len(), |at| span.0 + at + 1);
    let first = quoted.first().copied();
    if let (true, Some(new)) = (remedy.starts_with("did you mean `"), first) {
        let before = new.split_once('.').map_or("", |(alias, _)| &new[..=alias.len()]);
        let dotted = !before.is_empty() && text[..span.0].ends_with(before);
        return put(span.0 - if dotted { before.len() } else { 0 }, span.1, new);
    }
    if let Some(meant) = quoted.iter().find(|it| it.starts_with("meant ")) {
        let number = meant.split(' ').nth(1)?;
        let (at, _) = text[line..line_end].match_indices(number).find(|(at, _)| {
            let at = line + at;
            let part = |it: char| it.is_alphanumeric() || it == '_' || it == '.';
            !text[..at].ends_with(part) && !text[at + number.len()..].starts_with(part)
        })?;
        return put(line + at, line + at + number.len(), meant);
    }
    if let (true, Some(new)) = (remedy.starts_with("write `"), first) {
        if new.contains('…') || remedy.contains("a thousand times") {
            return None;
        }
        let (tree, _) = parse(&Source::new(FILE, text));
        let name = new.rsplit_once(" as ").or_else(|| new.split_once(" in "));
        let give = name.and_then(|(before, after)| {
            let name = if new.contains(" as ") { after } else { before };
            tree.gives.iter().find(|it| it.name.value == name && it.span.start >= line)
        });
        return match give {
            Some(give) => {
                let unit = give.unit.as_ref().map_or(0, |unit| unit.span.end);
                let start = give.value.as_ref().map_or(give.name.span.start, |it| it.span.start);
                put(start, give.name.span.end.max(unit), new)
            }
            None => put(span.0, span.1, new),
        };
    }
    if let Some((_, rest)) =
        remedy.split_once(" behind the number").and(remedy.split_once("write "))
    {
        let unit = rest.split([',', ' ']).next()?;
        return put(span.1, span.1, &format!(" {unit}"));
    }
    if let Some((_, units)) = remedy.split_once(" is given in ") {
        return put(span.0, span.1, units.split(',').next()?);
    }
    if let Some(new) = remedy.split_once("such as `").and_then(|it| it.1.split('`').next()) {
        let labels = problem.labels.iter().filter_map(|label| match &label.place {
            Place::Text { source, span } if source.name == FILE => Some(*span),
            _ => None,
        });
        let number = |it: &(usize, usize)| {
            let digits = text.get(it.0..it.1).unwrap_or_default();
            let digits = digits.split(' ').next().unwrap_or_default();
            !digits.is_empty() && new.split(' ').next() == Some(digits)
        };
        let (from, to) = std::iter::once(*span).chain(labels).find(number)?;
        return put(from, to, new);
    }
    if let (true, Some(new)) = (remedy.starts_with("call it `"), first) {
        let word = |it: char| it.is_alphanumeric() || it == '_';
        let mut all = String::new();
        let mut rest = text;
        while let Some(at) = rest.find(there) {
            let (before, after) = rest.split_at(at);
            let whole = !before.ends_with(word) && !after[there.len()..].starts_with(word);
            all.push_str(before);
            all.push_str(if whole { new } else { there });
            rest = &after[there.len()..];
        }
        return Some(all + rest);
    }
    let list = remedy.rsplit_once("` to `").filter(|_| remedy.starts_with("add "));
    let list =
        list.and_then(|(said, list)| Some((said.rsplit('`').next()?, list.split('`').next()?)));
    if let Some((input, word @ ("with" | "from"))) = list
        && !input.contains('…')
    {
        // a list stands in the line of the used sheet, or in the head of its course
        let (tree, _) = parse(&Source::new(FILE, text));
        let course = tree.courses.iter().find(|it| it.span.contains(&span.0));
        let head = match (word, course) {
            ("from", Some(course)) => course.span.start,
            _ => line,
        };
        let end = text[head..].find('\n').map_or(text.len(), |at| head + at);
        let before = if text[head..end].contains(&format!(" {word} ")) { "," } else { "" };
        let word = if before.is_empty() { format!(" {word}") } else { String::new() };
        let handed = put(end, end, &format!("{before}{word} {input}"))?;
        let Some(new) = first.filter(|it| *it != input) else { return Some(handed) };
        let takes = |block: &str| handed.find(&format!("\n{block}\n")).map(|at| at + 1);
        let (at, new) = match takes("takes") {
            Some(at) => (at + "takes\n".len(), format!("  {new}\n")),
            None => (takes("works").or(takes("gives"))?, format!("takes\n  {new}\n")),
        };
        return Some(format!("{}{new}{}", handed.get(..at)?, handed.get(at..)?));
    }
    if let (true, Some(new)) = (remedy.starts_with("begin with `"), first) {
        return Some(format!("{new}\n{text}"));
    }
    if remedy.starts_with("leave this line out") || remedy == "leave one of them out" {
        return put(line, line_end, "");
    }
    None
}

/// Whether it is the same problem in the same line: one that is reported once is found again in the next.
fn same(one: &Diagnostic, other: &Diagnostic) -> bool {
    let line = |it: &Diagnostic| match &it.place {
        Some(Place::Text { source, span }) => source.line_and_column(span.0).0,
        _ => 0,
    };
    (one.name, &one.headline, line(one)) == (other.name, &other.headline, line(other))
}

/// A remedy with what is quoted left out.
fn shape(remedy: &str) -> String {
    let outside = remedy.split('`').enumerate();
    outside.map(|(at, part)| if at % 2 == 0 { part } else { "`" }).collect()
}

/// Tries every remedy of a text; returns how many were typed.
fn tried(text: &str, troubles: &mut Vec<String>, others: &mut BTreeSet<String>) -> usize {
    let before = problems(text);
    let mut count = 0;
    for problem in &before {
        let Some(new) = typed(text, problem) else {
            if problem.remedy.contains('`') {
                others.insert(shape(&problem.remedy));
            }
            continue;
        };
        count += 1;
        let after = problems(&new);
        let many = |all: &[Diagnostic]| all.iter().filter(|it| same(it, problem)).count();
        if many(&after) >= many(&before) {
            let line = new.lines().zip(text.lines()).find(|(new, old)| new != old);
            troubles.push(format!("{problem}\n    typed: {}", line.unwrap_or_default().0));
        }
    }
    count
}

#[test]
fn what_a_message_says_to_write_can_be_written() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/language/problems");
    let mut files: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|it| it.unwrap().path()).collect();
    files.sort();
    let (mut troubles, mut others, mut count) = (Vec::new(), BTreeSet::new(), 0);
    for file in files.iter().filter(|it| it.extension().is_some_and(|ending| ending == "sheet")) {
        let text = std::fs::read_to_string(file).unwrap();
        count += tried(&text, &mut troubles, &mut others);
    }
    assert!(troubles.is_empty(), "{} of {count}:\n{}", troubles.len(), troubles.join("\n"));
    assert!(count > 60, "{count}");
    // what cannot be typed by a rule is advice: this list is read when it grows
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("advice", others.into_iter().collect::<Vec<_>>().join("\n"));
    });
}

/// A name with its last letter doubled, or two of its letters changed over.
fn misspelt(word: &str, turn: usize) -> String {
    let mut letters: Vec<char> = word.chars().collect();
    match turn % 2 {
        0 => letters.extend(word.chars().last()),
        _ if letters.len() > 2 => letters.swap(1, 2),
        _ => letters.insert(0, letters[0]),
    }
    letters.into_iter().collect()
}

/// Texts of a sheet with one mistake in each.
fn mistakes(text: &str, turn: usize) -> Vec<String> {
    let (tree, _) = parse(&Source::new(FILE, text));
    let mut all = Vec::new();
    let mut put = |from: usize, to: usize, new: &str| {
        all.push(format!("{}{new}{}", &text[..from], &text[to..]));
    };
    let units = ["m/s", "Nmm", "rmp", "kg·m²/s²·r", "kg", "rpmm", "mm/sec", "N.m", "J·rad"];
    for (at, give) in tree.gives.iter().enumerate() {
        put(give.name.span.start, give.name.span.end, &misspelt(&give.name.value, at));
        if let Some(unit) = &give.unit {
            put(give.name.span.end, unit.span.end, "");
            put(unit.span.start, unit.span.end, units[(at + turn) % units.len()]);
            put(unit.span.start, unit.span.end, &misspelt(&unit.value, at));
        }
    }
    for (at, take) in tree.takes.iter().enumerate() {
        if let Some(unit) = &take.unit {
            put(unit.span.start, unit.span.end, &misspelt(&unit.value, at));
            put(unit.span.start, unit.span.end, units[(at + turn) % units.len()]);
        }
        if let Shape::Kind(kind) | Shape::Series(kind) = &take.shape {
            put(kind.span.start, kind.span.end, &misspelt(&kind.value, at));
        }
        for given in take.default.iter().chain(&take.example) {
            let written = &text[given.span.clone()];
            if let Some((number, _)) = written.split_once(' ') {
                put(given.span.start, given.span.end, number);
                put(given.span.start, given.span.end, &format!("{number} m/s²"));
            }
        }
    }
    let names = tree.takes.iter().map(|it| &it.name.value);
    let names: Vec<&String> = names.chain(tree.works.iter().map(|it| &it.name.value)).collect();
    if let Some(first) = tree.works.first() {
        let start = first.span.start;
        for (at, name) in names.iter().enumerate() {
            let other = names[(at * 7 + turn) % names.len()];
            let wrong = misspelt(name, at);
            for (formula, unit) in [
                (format!("2 * {wrong}"), ""),
                (format!("{name} + 3"), ""),
                (format!("3 - {name}"), ""),
                (format!("{name} + 3 kg"), ""),
                (format!("{name} + {other}"), ""),
                (format!("sqrt({name}) + 3"), ""),
                (format!("{name} rounded up to 5"), ""),
                (format!("exp({name})"), ""),
                (format!("sin({name})"), ""),
                (format!("mx({name}, {other})"), ""),
                (format!("{name}({other})"), ""),
                (format!("{name}.{other}"), ""),
                (format!("{name} * {other}"), " in m"),
                (format!("sqrt({name})"), " in m"),
                (format!("cbrt({name}) * {other}"), " in rmp"),
                (format!("{name}^2 / {other}"), " in N·m·min"),
            ] {
                all.push(format!("{}zz_zz = {formula}\n  {}", &text[..start], &text[start..]));
                // as a result it needs a unit, or has another one
                for unit in ["", unit] {
                    let given = all.last().unwrap().trim_end().to_owned();
                    all.push(format!("{given}\n  zz_zz{unit}\n"));
                }
            }
        }
    }
    all
}

#[test]
fn remedies_of_single_mistakes_in_the_library_are_right() {
    let (mut troubles, mut others, mut count) = (Vec::new(), BTreeSet::new(), 0);
    for (turn, sheet) in SHEETS.iter().enumerate() {
        let mistakes = mistakes(sheet.text, turn);
        // of every sheet a share, so that all of them take part
        let step = (mistakes.len() / 10).max(1);
        for text in mistakes.iter().skip(turn % step).step_by(step) {
            count += tried(text, &mut troubles, &mut others);
        }
    }
    assert!(troubles.is_empty(), "{} of {count}:\n{}", troubles.len(), troubles.join("\n"));
    assert!(count > 400, "{count}");
}

/// What is recommended for a unit is one, of the kind that is asked for.
#[test]
fn a_recommended_unit_is_one() {
    let symbols = catalogue().iter().map(|entry| entry.symbol);
    let offered = KINDS.iter().flat_map(|kind| kind.units.iter().copied());
    let all: BTreeSet<&str> = symbols.chain(offered).filter(|it| !it.is_empty()).collect();
    let (mut troubles, mut count) = (Vec::new(), 0);
    for (turn, unit) in all.iter().enumerate() {
        let wrong = [
            unit.replace('·', ""),
            unit.replace('·', "-"),
            unit.replace(['²', '³'], "2"),
            unit.to_uppercase(),
            unit.to_lowercase(),
            misspelt(unit, 0),
            misspelt(unit, 1),
            format!("{unit}."),
            format!("k{unit}"),
            format!("{unit} / s"),
            format!("{unit}/s·m"),
        ];
        for wrong in wrong {
            let quoted = |remedy: &str| remedy.split('`').nth(1).map(str::to_owned);
            if let Err(problem) = parse_unit(&wrong) {
                count += 1;
                let said = problem.remedy.starts_with("write `")
                    || problem.remedy.starts_with("did you mean `");
                if let (true, Some(new)) = (said, quoted(&problem.remedy))
                    && parse_unit(&new).is_err()
                {
                    troubles.push(format!("{wrong}: {}", problem.remedy));
                }
            }
            for kind in KINDS.iter().skip(turn % 11).step_by(11) {
                let Err(problem) = kind.read_unit(&wrong) else { continue };
                count += 1;
                let said = problem.remedy.starts_with("write `")
                    || problem.remedy.starts_with("did you mean `");
                let given = problem.remedy.split_once(" is given in ");
                let new = match given {
                    Some((_, units)) => units.split(',').next().map(str::to_owned),
                    None => quoted(&problem.remedy).filter(|_| said),
                };
                if let Some(new) = new
                    && kind.read_unit(&new).is_err()
                {
                    troubles.push(format!("{wrong} for {}: {}", kind.name, problem.remedy));
                }
            }
        }
    }
    assert!(troubles.is_empty(), "{} of {count}:\n{}", troubles.len(), troubles.join("\n"));
    assert!(count > 5000, "{count}");
}

/// A recommendation is near to what was typed: never most of its letters are others.
#[test]
fn what_is_recommended_is_near() {
    let far: BTreeMap<&str, &str> = [
        ("turn/min", "speed of rotation"),
        ("cycles/min", "speed of rotation"),
        ("sek", "speed"),
        ("kg/min", "speed"),
        ("abc", "torque"),
        ("m2", "time"),
    ]
    .into();
    for (typed, name) in far {
        let kind = standstill::unit::kind(name).unwrap();
        let problem = kind.read_unit(typed).unwrap_err();
        assert!(!problem.remedy.contains("did you mean"), "{typed}: {}", problem.remedy);
    }
    let names = ["T_0", "n_0", "t_ramp", "P_mean", "S"];
    for (typed, near) in
        [("qx", None), ("T0", Some("T_0")), ("Tx", None), ("t_rmap", Some("t_ramp"))]
    {
        let found = standstill::program::nearest(typed, names.into_iter());
        assert_eq!(found.first().map(|it| it.0), near, "{typed}");
    }
}
