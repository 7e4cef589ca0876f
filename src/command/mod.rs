//! The terminal program: a file a command, one table of them all; the only place that prints.

mod answer;
mod arguments;
mod assignments;
mod chosen;
mod design;
mod editor;
mod failure;
mod fill;
mod form;
mod line;
mod list;
mod machines;
mod manual;
mod measured;
mod output;
mod plot;
mod print;
mod prove;
mod question;
mod range;
mod review;
mod rows;
mod run;
mod show;
mod slopes;
mod spread;
mod variants;
mod worst;

use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use clap::Parser as _;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use serde_json::json;

use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::environment::{Environment, RealFs};
use crate::program::{Checked, Program, compile};
use crate::project::Project;
use arguments::{Arguments, Command};
use failure::Failure;
use print::Terminal;

/// How a command ends; the numbers are the exit codes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExitStatus {
    /// All holds.
    Holds = 0,
    /// A line of `holds` fails.
    Fails = 1,
    /// The input is wrong.
    WrongInput = 2,
    /// The sheet is wrong.
    WrongSheet = 3,
    /// A file could not be read or written.
    File = 4,
}

impl ExitStatus {
    fn of(holds: bool) -> Self {
        if holds { Self::Holds } else { Self::Fails }
    }
}

/// The terminal program, on this machine's files and terminal.
#[must_use]
pub fn main() -> ExitCode {
    // a value below zero is no option: a minus before a digit is read as the minus sign that it is
    let typed =
        std::env::args_os().map(|it| match it.to_str().and_then(|it| it.strip_prefix('-')) {
            Some(value) if value.starts_with(|it: char| it.is_ascii_digit()) => {
                format!("\u{2212}{value}").into()
            }
            _ => it,
        });
    let arguments = match Arguments::try_parse_from(typed) {
        Ok(arguments) => arguments,
        Err(mut problem) => {
            advise(&mut problem);
            let printed = problem.print();
            return ExitCode::from(match (problem.use_stderr(), printed) {
                (true, _) => ExitStatus::WrongInput as u8,
                (false, Err(error)) if error.kind() != std::io::ErrorKind::BrokenPipe => {
                    ExitStatus::File as u8
                }
                (false, _) => ExitStatus::Holds as u8,
            });
        }
    };
    // a library that gives up on a broken file is reported by a message, not by the text of its panic
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if !crate::spreadsheet::is_careful() {
            hook(panic);
        }
    }));
    let mut terminal = Terminal::default();
    let environment = RealFs::new(arguments.folders.clone());
    let ending = perform(&arguments.command, &environment, &mut terminal);
    if ending == ExitStatus::Fails {
        terminal.failing();
    }
    terminal.flush();
    // what could not be printed was not said, whatever came out
    ExitCode::from(if terminal.failed() { ExitStatus::File as u8 } else { ending as u8 })
}

/// What helps where the words of a command cannot be read: an input has no dashes, and a number below zero is no option.
fn advise(problem: &mut clap::Error) {
    let wrong = match problem.get(ContextKind::InvalidArg) {
        Some(ContextValue::String(wrong)) => wrong.clone(),
        Some(ContextValue::Strings(all)) if all.iter().any(|it| it.contains("SHEETS")) => {
            let all_of_it = "or say `--all` for the whole library".into();
            problem.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![all_of_it]));
            return;
        }
        _ => return,
    };
    if problem.kind() != ErrorKind::UnknownArgument {
        return;
    }
    problem.remove(ContextKind::Suggested);
    let name = wrong.trim_start_matches('-');
    if problem.get(ContextKind::SuggestedArg).is_some() || !name.starts_with(char::is_alphabetic) {
        return;
    }
    let words: Vec<String> = std::env::args().skip(1).collect();
    let whole =
        words.iter().find(|it| it.starts_with(&wrong) && it.contains('.') && !it.contains('='));
    let tip = match whole {
        Some(file) => format!("a file whose name begins with a dash is written `./{file}`"),
        None if arguments::takes_inputs(&words) => {
            format!("an input is written without dashes: {name}='VALUE UNIT'")
        }
        None => return,
    };
    problem.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![tip.into()]));
}

fn perform(
    command: &Command,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> ExitStatus {
    terminal.aside = output::is_standard(match command {
        Command::Run(asked) => asked.output.as_ref(),
        Command::Form(asked) => Some(&asked.output),
        Command::Fill(asked) => asked.output.as_ref(),
        Command::Range(asked) => asked.output.as_ref(),
        Command::Review(asked) => asked.output.as_ref(),
        Command::Measured(asked) => asked.output.iter().find(|it| *it == "-"),
        _ => None,
    });
    let outcome = match command {
        Command::Run(asked) if asked.sheet == "-" => rows::run(asked, environment, terminal),
        Command::Run(asked) => run::run(asked, environment, terminal),
        Command::Completions(asked) => manual::completions(asked, terminal),
        Command::Manual(asked) => manual::manual(asked, environment, terminal),
        Command::Editor(asked) => editor::editor(asked, environment, terminal),
        Command::List(asked) => list::list(asked, environment, terminal),
        Command::Show(asked) => show::show(asked, environment, terminal),
        Command::Prove(asked) => prove::prove(asked, environment, terminal),
        Command::Form(asked) => form::form(asked, environment, terminal),
        Command::Design(asked) => design::design(asked, environment, terminal),
        Command::Fill(asked) => fill::fill(asked, environment, terminal),
        Command::Range(asked) => range::range(asked, environment, terminal),
        Command::Review(asked) => review::review(asked, environment, terminal),
        Command::Measured(asked) => measured::measured(asked, environment, terminal),
    };
    outcome.unwrap_or_else(|failure| {
        let (json, last) = without_results(command);
        terminal.failure(&failure, json, last);
        failure.status
    })
}

/// What is said of a run that gave up: what a program reads beside the problems, and a person after them.
fn without_results(command: &Command) -> (Option<serde_json::Value>, &'static str) {
    let left_alone = |book: &str, json: bool| {
        (json.then(|| json!({ "book": book, "written": false })), "Nothing was written.")
    };
    match command {
        Command::Run(asked) if asked.sheet == "-" => (Some(json!({})), ""),
        Command::Run(asked) => {
            (asked.json.then(|| json!({ "sheet": asked.sheet })), "Nothing was calculated.")
        }
        Command::Design(asked) => match &asked.line {
            Some(book) => left_alone(book, asked.json),
            None => {
                (asked.json.then(|| json!({ "sheet": asked.sheet })), "Nothing was calculated.")
            }
        },
        Command::Show(asked) => (asked.json.then(|| json!({ "sheet": asked.sheet })), ""),
        Command::List(asked) => (asked.json.then(|| json!({ "asked": asked.what })), ""),
        Command::Form(asked) => left_alone(&asked.output, asked.json),
        Command::Fill(asked) => left_alone(&asked.book, asked.json),
        Command::Range(asked) => left_alone(&asked.book, asked.json),
        Command::Measured(asked) => {
            (asked.json.then(|| json!({ "written": false })), "Nothing was written.")
        }
        Command::Review(_) => (None, "Nothing was written."),
        _ => (None, ""),
    }
}

/// The sheet that a word of the command line stands for.
fn find_sheet(name: &str, environment: &dyn Environment) -> Result<Arc<Source>, Failure> {
    let place = Place::Argument { text: name.to_owned() };
    if is_workbook(name) {
        return Err(Failure::input(no_sheet(name, "a sheet, by its name,").at(place)));
    }
    Project::new(environment).find(name, &place).map_err(|problem| match problem.name {
        Name::UnreadableFile => Failure::file(problem),
        _ => Failure::input(problem),
    })
}

/// Whether a name is that of a workbook or of a table.
fn is_workbook(name: &str) -> bool {
    crate::spreadsheet::is_workbook(name)
        || Path::new(name).extension().is_some_and(|it| it.eq_ignore_ascii_case("csv"))
}

/// What is said where a workbook stands in the place of a sheet or of a document.
fn no_sheet(book: &str, wanted: &str) -> Diagnostic {
    let words = format!("`{book}` is a workbook, and {wanted} is asked for here");
    Diagnostic::error(Name::UnknownSheet, words).remedy(format!(
        "what it asks for is calculated by `standstill fill {book}`, a table of variants by `standstill range {book}`; `standstill run SHEET --from {book}` takes its inputs"
    ))
}

/// The text of a file.
fn read_sheet(name: &str, environment: &dyn Environment) -> Result<Arc<Source>, Failure> {
    Project::new(environment).file(Path::new(name)).map_err(Failure::file)
}

/// A sheet checked with its library and its folder.
fn check_sheet(source: &Arc<Source>, environment: &dyn Environment) -> Checked {
    compile(source, &Project::new(environment))
}

/// A checked sheet with the defaults that the settings of the working folder have for its inputs.
fn preset_sheet(source: &Arc<Source>, environment: &dyn Environment) -> Checked {
    let place = Place::Argument { text: source.name.clone() };
    Project::new(environment).with_defaults(check_sheet(source, environment), &place)
}

/// The checked sheet of a name.
fn checked_sheet(name: &str, environment: &dyn Environment) -> Result<Arc<Program>, Failure> {
    let Checked { program, problems, .. } =
        preset_sheet(&find_sheet(name, environment)?, environment);
    program.ok_or_else(|| {
        // settings are not the sheet's
        let mut errors = problems.iter().filter(|problem| problem.is_error());
        match errors.all(|problem| problem.name == Name::SettingsFile) {
            true => Failure::input(problems),
            false => Failure::sheet(problems),
        }
    })
}
