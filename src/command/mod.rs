//! The terminal program: a file a command, one table of them all; the only place that prints.

mod arguments;
mod design;
mod fill;
mod form;
mod given;
mod line;
mod list;
mod plot;
mod print;
mod prove;
mod question;
mod range;
mod review;
mod run;
mod show;
mod slopes;
mod spread;
mod worst;

use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use clap::Parser as _;

use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::environment::{Environment, RealFs};
use crate::library::{self, Shelves};
use crate::program::{Checked, Program, compile, nearest};
use arguments::{Arguments, Command};
use print::Terminal;

/// How a command ends; the numbers are the exit codes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
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

/// The terminal program, on this machine's files and terminal.
#[must_use]
pub fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(problem) => {
            let _ = problem.print();
            return ExitCode::from(if problem.use_stderr() { Ending::WrongInput as u8 } else { 0 });
        }
    };
    let mut terminal = Terminal::default();
    let ending = perform(&arguments.command, &RealFs, &mut terminal);
    terminal.flush();
    ExitCode::from(ending as u8)
}

fn perform(command: &Command, environment: &dyn Environment, terminal: &mut Terminal) -> Ending {
    match command {
        Command::Run(asked) => run::run(asked, environment, terminal),
        Command::List(asked) => list::list(asked, terminal),
        Command::Show(asked) => show::show(asked, environment, terminal),
        Command::Prove(asked) => prove::prove(asked, environment, terminal),
        Command::Form(asked) => form::form(asked, environment, terminal),
        Command::Design(asked) => design::design(asked, environment, terminal),
        Command::Fill(asked) => fill::fill(asked, environment, terminal),
        Command::Range(asked) => range::range(asked, environment, terminal),
        Command::Review(asked) => review::review(asked, environment, terminal),
    }
}

/// The text of a sheet: a file when the name looks like one, else a sheet of the library.
fn find_sheet(
    name: &str,
    environment: &dyn Environment,
) -> Result<Arc<Source>, (Diagnostic, Ending)> {
    let looks_like_file = name.ends_with(".sheet") || name.contains(['/', '\\']);
    if looks_like_file {
        return read_sheet(name, environment);
    }
    library::sheet(name).ok_or_else(|| {
        let names = library::SHELVED.iter().map(|sheet| sheet.name);
        let remedy = match nearest(name, names).first() {
            Some((near, _)) => format!("`{near}` is close"),
            None => "`standstill list` shows all sheets; a sheet of your own is given as its file, `name.sheet`".to_owned(),
        };
        let problem = Diagnostic::error(Name::UnknownSheet, format!("no sheet of the library is called `{name}`"))
            .at(Place::Argument { text: name.to_owned() })
            .remedy(remedy);
        (problem, Ending::WrongInput)
    })
}

/// The text of a sheet file.
fn read_sheet(
    name: &str,
    environment: &dyn Environment,
) -> Result<Arc<Source>, (Diagnostic, Ending)> {
    let bytes = environment.read(Path::new(name)).map_err(|problem| (problem, Ending::File))?;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").map_or(bytes.clone(), <[u8]>::to_vec);
    String::from_utf8(bytes).map(|text| Source::new(name, text.replace("\r\n", "\n"))).map_err(
        |_| {
            let problem =
                Diagnostic::error(Name::UnreadableFile, "the file is not a text in UTF-8")
                    .at(Place::File { name: name.to_owned() })
                    .remedy("save it as UTF-8");
            (problem, Ending::File)
        },
    )
}

/// A sheet checked with its library and its folder.
fn check_sheet(source: &Arc<Source>, environment: &dyn Environment) -> Checked {
    compile(source, &Shelves { environment })
}

/// The checked sheet behind a name, or its problems and how the command ends.
fn checked_sheet(
    name: &str,
    environment: &dyn Environment,
) -> Result<Arc<Program>, (Vec<Diagnostic>, Ending)> {
    let source =
        find_sheet(name, environment).map_err(|(problem, ending)| (vec![problem], ending))?;
    let checked = check_sheet(&source, environment);
    checked.program.ok_or((checked.problems, Ending::WrongSheet))
}
