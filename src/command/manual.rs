//! `standstill completions` and `standstill manual`: what a shell and a system's manual know of the program.

use std::path::Path;

use clap::CommandFactory as _;
use clap_complete::Shell;

use super::ExitStatus;
use super::arguments::{Arguments, Completions, Manual};
use super::failure::{Ending, Failure};
use super::print::Terminal;
use crate::environment::Environment;
use crate::library::SHEETS;

/// The words that may follow, for a shell.
pub(super) fn completions(asked: &Completions, terminal: &mut Terminal) -> Ending {
    let mut script = Vec::new();
    clap_complete::generate(asked.shell, &mut Arguments::command(), "standstill", &mut script);
    let mut script = String::from_utf8_lossy(&script).into_owned();
    if asked.shell == Shell::Fish {
        // the generator leaves out what may stand without a name before it
        let sheets: Vec<&str> = SHEETS.iter().map(|it| it.name).collect();
        let after =
            "complete -c standstill -n \"__fish_seen_subcommand_from run show design form prove\"";
        script += &format!("{after} -a \"{}\"\n", sheets.join(" "));
    }
    terminal.verbatim(script);
    Ok(ExitStatus::Holds)
}

/// The pages of the manual, one a command, into a folder.
pub(super) fn manual(
    asked: &Manual,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let mut command = Arguments::command();
    command.build();
    let mut pages = vec![("standstill".to_owned(), command.clone())];
    for sub in command.get_subcommands() {
        let name = format!("standstill-{}", sub.get_name());
        pages.push((name, sub.clone()));
    }
    let count = pages.len();
    for (name, page) in pages {
        let mut text = Vec::new();
        let file = Path::new(&asked.folder).join(format!("{name}.1"));
        let written = clap_mangen::Man::new(page).render(&mut text);
        let outcome = match written {
            Ok(()) => environment.write(&file, &text, true),
            Err(_) => Ok(()),
        };
        outcome.map_err(Failure::file)?;
    }
    terminal.print(format!("{count} pages written to {}", asked.folder));
    Ok(ExitStatus::Holds)
}
