//! What words of a choice leave out need be given nowhere; where it is given all the same, each door calculates and says
//! so. Cases are made by rule: every sheet of the library, each word of its choices in turn.

use std::fmt::Write as _;
use std::sync::Arc;

use standstill::Sheet;
use standstill::calculation::{Inputs, written};
use standstill::environment::NoFs;
use standstill::library::SHEETS;
use standstill::number::InputValue;
use standstill::program::{Input, Program, Type};
use standstill::project::Project;
use standstill::report::{StepRow, worked};
use standstill::spreadsheet::Book;
use standstill::workbook::range::{Outcome, ProductLine, TableRequest, VariantVerdict};
use standstill::workbook::{Filling, compute};

/// A sheet with one word chosen, all else as in its example, and the inputs without a default that nobody need give then.
struct Case {
    sheet: Sheet,
    name: String,
    whole: Inputs,
    left_out: Vec<String>,
    /// The choice and its word.
    choice: (String, String),
}

/// Every `step`-th of the cases in which something is left out.
fn cases(step: usize) -> Vec<Case> {
    let mut found = Vec::new();
    for entry in SHEETS.iter().step_by(2) {
        let sheet = Sheet::library(entry.name).unwrap();
        let inputs = &Arc::clone(sheet.program()).inputs;
        if inputs.iter().any(|it| matches!(it.type_, Type::Number { series: true, .. })) {
            continue;
        }
        for choice in inputs {
            let Type::Choice(words) = &choice.type_ else { continue };
            for word in words.iter() {
                let mut whole = sheet.inputs();
                whole.write(&choice.name, word).unwrap();
                whole.fill_with_examples();
                if sheet.run(&whole).is_err() {
                    continue;
                }
                // what is not asked for where nothing but words and defaults is given
                let numbers = inputs
                    .iter()
                    .filter(|it| it.default.is_none() && !matches!(it.type_, Type::Choice(_)));
                let numbers: Vec<&str> = numbers.map(|it| it.name.as_str()).collect();
                let asked = match sheet.run(&but(&sheet, &whole, &numbers)) {
                    Ok(_) => Vec::new(),
                    Err(problems) => problems.iter().map(|it| it.headline.clone()).collect(),
                };
                let is_asked =
                    |name: &str| asked.iter().any(|it| it.starts_with(&format!("`{name}` ")));
                let left_out = numbers.iter().filter(|it| !is_asked(it));
                let left_out: Vec<String> = left_out.map(|it| (*it).to_owned()).collect();
                if !left_out.is_empty() {
                    let choice = (choice.name.clone(), word.clone());
                    let sheet = sheet.clone();
                    found.push(Case {
                        sheet,
                        name: entry.name.to_owned(),
                        whole,
                        left_out,
                        choice,
                    });
                }
            }
        }
    }
    assert!(found.len() > 20, "{}", found.len());
    found.into_iter().step_by(step).collect()
}

/// The same values without some.
fn but(sheet: &Sheet, whole: &Inputs, without: &[&str]) -> Inputs {
    let mut some = sheet.inputs();
    for input in &sheet.program().inputs {
        if let Some(value) = whole.value(input).filter(|_| !without.contains(&&*input.name)) {
            some.put(&input.name, value, None).unwrap();
        }
    }
    some
}

/// Number or word of an input, and its unit.
fn cells(inputs: &Inputs, input: &Input) -> (String, String) {
    match (inputs.value(input), &input.type_) {
        (Some(InputValue::One(value)), _) => {
            let unit = value.unit.symbol.clone();
            (written(&value).trim_end_matches(unit.as_str()).trim().to_owned(), unit)
        }
        (Some(InputValue::Word(at)), Type::Choice(words)) => (words[at].clone(), String::new()),
        _ => (String::new(), input.unit.symbol.clone()),
    }
}

/// A block of all inputs, some of them with other words in their cells.
fn block(case: &Case, instead: &[(&str, &str)]) -> String {
    let program = case.sheet.program();
    let mut text = format!("sheet {}\n", case.name);
    for input in &program.inputs {
        let (value, unit) = cells(&case.whole, input);
        let other = instead.iter().find(|it| it.0 == input.name);
        let value = other.map_or(value.as_str(), |it| it.1);
        writeln!(text, "{},{value},{unit}", input.name).unwrap();
    }
    for output in &program.outputs {
        writeln!(text, "{},,{}", output.name, output.unit.symbol).unwrap();
    }
    text
}

/// A product line with a row of the case for each list of other words in its cells; some inputs have no column.
fn line(case: &Case, rows: &[&[(&str, &str)]], without: &[&str]) -> (Book, ProductLine) {
    let inputs = case.sheet.program().inputs.iter();
    let inputs: Vec<&Input> = inputs.filter(|it| !without.contains(&&*it.name)).collect();
    let mut text = format!("sheet {}\n\nname", case.name);
    for input in &inputs {
        let (_, unit) = cells(&case.whole, input);
        let unit = if unit.is_empty() { unit } else { format!(" / ({unit})") };
        write!(text, ",{}{unit}", input.name).unwrap();
    }
    for (at, instead) in rows.iter().enumerate() {
        write!(text, "\nrow {at}").unwrap();
        for input in &inputs {
            let (value, _) = cells(&case.whole, input);
            let other = instead.iter().find(|it| it.0 == input.name);
            write!(text, ",{}", other.map_or(value.as_str(), |it| it.1)).unwrap();
        }
    }
    text.push('\n');
    let book = Book::read("l.csv", text.as_bytes()).unwrap();
    let asked = TableRequest::default();
    let line = ProductLine::find(&book, &asked, &Project::new(&NoFs));
    let line = line.unwrap_or_else(|it| panic!("{text}{:#?}", it.problems));
    (book, line)
}

fn all_of(book: &Book, line: &ProductLine) -> Outcome {
    line.compute(book, 0..line.variants.len(), 1, &|_| {})
}

fn filled(text: &str) -> Result<Filling, Vec<standstill::Diagnostic>> {
    let book = Book::read("b.csv", text.as_bytes()).unwrap();
    compute(&book, None, &Project::new(&NoFs)).map_err(|it| it.problems)
}

fn is_idle(problem: &standstill::Diagnostic) -> bool {
    problem.name.word() == "input-without-effect"
}

#[test]
fn what_words_leave_out_may_stay_empty() {
    for case in cases(4) {
        let of = format!("{} with {} = {}", case.name, case.choice.0, case.choice.1);
        let names: Vec<&str> = case.left_out.iter().map(String::as_str).collect();
        let direct = case.sheet.run(&but(&case.sheet, &case.whole, &names));
        let direct = direct.unwrap_or_else(|it| panic!("{of}: {it:?}"));
        for nothing in ["", "–", "n/a"] {
            let instead: Vec<(&str, &str)> = names.iter().map(|it| (*it, nothing)).collect();
            let filling = filled(&block(&case, &instead));
            let filling = filling.unwrap_or_else(|it| panic!("{of}, {nothing:?}: {it:#?}"));
            let results = &filling.calculated[0].results;
            for output in &direct.program().outputs {
                assert_eq!(results.to_text(output), direct.to_text(output), "{of}");
            }
            let of_empty = |it: &&standstill::Diagnostic| {
                is_idle(it)
                    && names.iter().any(|name| it.headline.starts_with(&format!("`{name}`")))
            };
            let said: Vec<_> =
                filling.cautions.iter().filter(of_empty).map(|it| &it.headline).collect();
            assert!(said.is_empty(), "{of}: {said:#?}");
            // and beside a variant whose cells are all filled
            let (book, found) = line(&case, &[&instead, &[]], &[]);
            let outcome = all_of(&book, &found);
            let [one, whole] = &outcome.variants[..] else { panic!("{of}") };
            assert_ne!(one.verdict, VariantVerdict::Wrong, "{of}: {one:#?}");
            assert_eq!(format!("{:?}", one.values), format!("{:?}", whole.values), "{of}");
        }
        let (book, found) = line(&case, &[&[]], &names);
        let alone = all_of(&book, &found);
        assert_ne!(alone.variants[0].verdict, VariantVerdict::Wrong, "{of}: {alone:#?}");
    }
}

/// The working holds every line from which a result follows, as where all is given; what nobody gave is no number in it.
#[test]
fn what_words_leave_out_takes_no_result_out_of_the_working() {
    for case in cases(2) {
        let of = format!("{} with {} = {}", case.name, case.choice.0, case.choice.1);
        let program = case.sheet.program();
        let mut without: Vec<&str> = case.left_out.iter().map(String::as_str).collect();
        for input in &program.inputs {
            let word = matches!(input.type_, Type::Choice(_)) && input.name != case.choice.0;
            let with = [&without[..], &[input.name.as_str()]].concat();
            let fewer = || case.sheet.run(&but(&case.sheet, &case.whole, &with)).is_ok();
            if word && input.default.is_none() && fewer() {
                without = with;
            }
        }
        let whole = worked(&case.sheet.run(&case.whole).unwrap());
        let some = worked(&case.sheet.run(&but(&case.sheet, &case.whole, &without)).unwrap());
        for output in &program.outputs {
            let line = |of: &[StepRow]| of.iter().find(|it| it.name == output.name).cloned();
            let (all, found) = (line(&whole), line(&some));
            let result = |it: Option<StepRow>| it.map(|it| (it.formula, it.result));
            assert_eq!(result(found), result(all), "{of}: {}", output.name);
        }
        let named = some.iter().find(|it| without.contains(&it.name.as_str()));
        assert_eq!(named, None, "{of}");
    }
    let (sheet, inputs) = super::typed("protective-device", super::PRESS);
    let some = worked(&sheet.run(&inputs).unwrap());
    for name in ["C_dev", "C", "S", "S_fit"] {
        assert!(some.iter().any(|it| it.name == name), "{name}");
    }
    let reach = some.iter().find(|it| it.name == "C_dev").unwrap();
    assert!(reach.values.contains("when press is curtain and d > 40 mm"), "{}", reach.values);
}

/// Where the word asks for it, an empty cell is an error, at its cell; a word that is misspelt is the one error.
#[test]
fn what_counts_must_be_given_and_a_misspelt_word_is_one_error() {
    for case in cases(7) {
        let of = format!("{} with {} = {}", case.name, case.choice.0, case.choice.1);
        let program: &Program = case.sheet.program();
        let counts = |it: &&Input| {
            it.default.is_none() && it.name != case.choice.0 && !case.left_out.contains(&it.name)
        };
        if let Some(input) = program.inputs.iter().find(counts) {
            for nothing in ["", "–"] {
                let problems = filled(&block(&case, &[(&input.name, nothing)])).unwrap_err();
                let said = problems.iter().any(|it| it.headline.contains(&input.name));
                assert!(said, "{of}: {problems:#?}");
            }
            let (book, found) = line(&case, &[&[(&input.name, "")], &[]], &[]);
            let outcome = all_of(&book, &found);
            assert_eq!(outcome.variants[0].verdict, VariantVerdict::Wrong, "{of}");
            assert_ne!(outcome.variants[1].verdict, VariantVerdict::Wrong, "{of}");
        }
        let mut instead: Vec<(&str, &str)> =
            case.left_out.iter().map(|it| (it.as_str(), "")).collect();
        instead.push((&case.choice.0, "misspelt"));
        let problems = filled(&block(&case, &instead)).unwrap_err();
        assert_eq!(problems.len(), 1, "{of}: {problems:#?}");
    }
}

/// What is given and left out is calculated, and said, by each door.
#[test]
fn what_is_given_and_left_out_is_a_caution_at_every_door() {
    for case in cases(4) {
        let of = format!("{} with {} = {}", case.name, case.choice.0, case.choice.1);
        for name in &case.left_out {
            let input = case.sheet.program().input_named(name).unwrap();
            let Some(InputValue::One(value)) = case.whole.value(input) else { continue };
            let (text, unit) = cells(&case.whole, input);
            let Ok(number) = text.parse::<f64>() else { continue };
            let other = format!("{:?}", 0.875 * number);
            let mut inputs = case.whole.clone();
            let typed = inputs.write(name, &format!("{other} {unit}"));
            // beyond its range it is an error even where it does not count
            let Ok(results) = typed.and_then(|()| case.sheet.run(&inputs)) else { continue };
            if value.si_f64() == 0.0 {
                continue;
            }
            let unused = results.unused();
            let told = unused.iter().find(|it| it.headline.contains(&format!("`{name}`")));
            let told = told.unwrap_or_else(|| panic!("{of}: nothing of {name}"));
            assert!(
                !told.is_error() && told.remedy.contains("leaves it out")
                    || told.remedy.contains("what leaves it out"),
                "{of}: {told:#?}"
            );
            let filling = filled(&block(&case, &[(name, &other)]));
            let filling = filling.unwrap_or_else(|it| panic!("{of}, {name}: {it:#?}"));
            let said = filling.cautions.iter().filter(|it| is_idle(it));
            assert!(said.into_iter().any(|it| it.headline.contains(name)), "{of}: {name}");
            let (book, found) = line(&case, &[&[(name, &other)]], &[]);
            let outcome = all_of(&book, &found);
            let status = &outcome.variants[0].status;
            assert!(status.contains("without effect here: "), "{of}, {name}: {status}");
        }
    }
}
