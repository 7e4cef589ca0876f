//! The sheet that is asked for, and its inputs as a workbook has them.

use std::path::Path;
use std::sync::Arc;

use super::arguments::InputSource;
use super::failure::Failure;
use super::{checked_sheet, find_sheet, read_sheet};
use crate::calculation::Inputs;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::environment::Environment;
use crate::program::Program;
use crate::project::Project;
use crate::recording::ProtocolVerdict;
use crate::spreadsheet::Book;
use crate::workbook::range::TableRequest;
use crate::workbook::{Request, bind, result_book_refused};

/// The sheet that a command asks for, with the inputs that it begins with.
pub(super) struct Start {
    pub(super) program: Arc<Program>,
    pub(super) inputs: Inputs,
}

impl Start {
    /// The checked sheet, and its inputs: none yet, or those of the workbook, which need not have what the words give.
    pub(super) fn of(
        sheet: &str,
        given: &InputSource,
        words: &[String],
        environment: &dyn Environment,
    ) -> Result<Self, Failure> {
        let Some(book) = &given.from else {
            let program = checked_sheet(sheet, environment)?;
            let inputs = Inputs::new(&program);
            return Ok(Self { program, inputs });
        };
        if let Some(variant) = &given.row {
            let (sheet, given) = (Some(sheet.to_owned()), typed(words));
            let wanted = TableRequest { sheet, given, ..TableRequest::default() };
            let line = super::variants::read(book, &wanted, false, environment)?;
            let inputs = line.variant(variant)?;
            return Ok(Self { program: line.line.program, inputs });
        }
        let (found, protocol, said) = request(sheet, book, given, &typed(words), environment)?;
        let Request { program, mut inputs, place, .. } = found;
        // as a review says it
        let protocol =
            protocol.map_or_else(String::new, |it| format!(" (protocol {})", it.verdict));
        let by = match &place {
            Place::Text { .. } => format!("{book}, as {} asks for them", place.to_text()),
            _ => place.to_text(),
        };
        inputs.came_from(by + &protocol, said);
        Ok(Self { program, inputs })
    }
}

fn request(
    sheet: &str,
    name: &str,
    given: &InputSource,
    typed: &[String],
    environment: &dyn Environment,
) -> Result<(Request, Option<ProtocolVerdict>, Vec<Diagnostic>), Failure> {
    let bytes = environment.read(Path::new(name)).map_err(Failure::file)?;
    let bind_file = given.bind.as_ref().map(|file| read_sheet(file, environment)).transpose()?;
    let book = Book::read(name, &bytes).map_err(Failure::file)?;
    ProtocolVerdict::refused(&book).map_or(Ok(()), |it| Err(Failure::input(it)))?;
    let sheets = Project::new(environment);
    let mut bound = bind(&book, bind_file.as_ref(), &sheets);
    // what is typed takes precedence over a box that nobody has filled
    let typed: Vec<String> = typed.iter().map(|name| format!("`{name}` ")).collect();
    bound.problems.retain(|problem| {
        let about = |name: &String| problem.headline.starts_with(name);
        problem.name != Name::EmptyCell || !typed.iter().any(about)
    });
    for problem in &mut bound.problems {
        // which sheet is asked for is known here
        if problem.name == Name::NothingAsked {
            problem.remedy = format!(
                "write `sheet {sheet}` into a cell and below it rows of name, value, unit, or begin with `standstill form {sheet} -o FORM.xlsx`"
            );
        }
    }
    if bound.problems.iter().any(Diagnostic::is_error) {
        result_book_refused(&book).map_or(Ok(()), |it| Err(Failure::input(it)))?;
        return Err(Failure::workbook(bound.problems, bound.sheet_is_wrong));
    }
    let wrong = |words: String, remedy: String| {
        let problem = Diagnostic::error(Name::NothingAsked, words)
            .at(Place::File { name: name.to_owned() })
            .remedy(remedy);
        Failure::input(problem)
    };
    let places = |requests: &[Request]| {
        let all: Vec<String> = requests
            .iter()
            .map(|it| format!("`{}` at {}", it.sheet, cell_of(&it.place, name)))
            .collect();
        all.join(", ")
    };
    let asked = sheet;
    let source = find_sheet(sheet, environment)?;
    let (of_sheet, others): (Vec<Request>, Vec<Request>) = bound
        .requests
        .into_iter()
        .partition(|it| it.program.scopes.first().is_some_and(|it| it.source.is_same(&source)));
    let mut found: Vec<Request> = of_sheet
        .iter()
        .filter(|it| given.at.as_ref().is_none_or(|at| cell_of(&it.place, name) == *at))
        .cloned()
        .collect();
    match (found.pop(), found.is_empty()) {
        (Some(only), true) => Ok((only, ProtocolVerdict::of(&book), bound.problems)),
        (Some(_), false) => Err(wrong(
            format!("the workbook asks for `{asked}` more than once: {}", places(&of_sheet)),
            "say which with `--at`, such as `--at 'Second axis!B2'`".to_owned(),
        )),
        (None, _) if of_sheet.is_empty() => {
            let asks = format!("it asks for {}", places(&others));
            Err(wrong(format!("the workbook does not ask for `{asked}`"), asks))
        }
        (None, _) => {
            let at = given.at.as_deref().unwrap_or_default();
            Err(wrong(
                format!("the workbook does not ask for `{asked}` at {at}"),
                format!("it asks for {}", places(&of_sheet)),
            ))
        }
    }
}

/// `Tab!B2`, or what else the place is called.
fn cell_of(place: &Place, book: &str) -> String {
    if matches!(place, Place::File { .. }) {
        return "named cells".to_owned();
    }
    let words = place.to_text();
    words
        .strip_prefix(book)
        .map_or(words.clone(), |rest| rest.trim_start_matches([' ', '▸']).to_owned())
}

/// The inputs of which words of the command line say something: `name=value`, and `by name` of a question.
pub(super) fn typed(words: &[String]) -> Vec<String> {
    let given = words.iter().filter(|word| !word.contains(['<', '>']));
    let given = given.filter_map(|word| Some(word.split_once('=')?.0.trim().to_owned()));
    let asked = words.iter().zip(words.iter().skip(1)).filter(|(by, _)| *by == "by");
    given.chain(asked.map(|(_, name)| name.clone())).collect()
}

/// Takes a word of the command line, `name=value`, as an input.
pub(super) fn give(inputs: &mut Inputs, word: &str) -> Result<(), Diagnostic> {
    let place = Place::Argument { text: word.to_owned() };
    match word.split_once('=') {
        Some((name, value)) => {
            let (name, value) = (name.trim(), value.trim());
            let declared = inputs.program().input_named(name);
            if let Some(before @ Place::Argument { .. }) = declared.map(|input| inputs.place(input))
            {
                let words = format!("`{name}` is given twice");
                return Err(Diagnostic::error(Name::TwoStatements, words)
                    .at(place)
                    .label(before, "given here already")
                    .remedy("leave one of them out"));
            }
            inputs.write_typed(name, value, place)
        }
        None => Err(Diagnostic::error(
            Name::UnreadableQuantity,
            format!("`{word}` is not a name with its value"),
        )
        .at(place)
        .remedy(
            "write `name=value`, such as `n_0='1450 r/min'`; a value with a blank stands in quotes",
        )),
    }
}
