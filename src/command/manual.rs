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

/// The commands after which a sheet of the library may stand.
const TAKES_A_SHEET: [&str; 5] = ["run", "show", "design", "form", "prove"];

/// A script with more behind the line that begins what may follow each command which takes a sheet.
fn after_each(script: &str, before: &str, behind: &str, more: &str) -> String {
    TAKES_A_SHEET.iter().fold(script.to_owned(), |script, command| {
        let line = format!("{before}{command}{behind}");
        script.replacen(&line, &format!("{line}{more}"), 1)
    })
}

/// The words that may follow, for a shell.
pub(super) fn completions(asked: &Completions, terminal: &mut Terminal) -> Ending {
    let mut script = Vec::new();
    clap_complete::generate(asked.shell, &mut Arguments::command(), "standstill", &mut script);
    let mut script = String::from_utf8_lossy(&script).into_owned();
    // the generator leaves out what may stand without a name before it, in three shells
    let names = || SHEETS.iter().map(|it| it.name);
    match asked.shell {
        Shell::Fish => {
            let after = format!(
                "complete -c standstill -n \"__fish_seen_subcommand_from {}\"",
                TAKES_A_SHEET.join(" ")
            );
            script += &format!("{after} -a \"{}\"\n", names().collect::<Vec<_>>().join(" "));
        }
        Shell::Elvish => {
            let sheets = names().map(|it| format!("\n            cand {it} {it}"));
            script = after_each(&script, "&'standstill;", "'= {", &sheets.collect::<String>());
        }
        Shell::PowerShell => {
            let sheets = names().map(|it| {
                let kind = "[CompletionResultType]::ParameterValue";
                format!("\n            [CompletionResult]::new('{it}', '{it}', {kind}, '{it}')")
            });
            script = after_each(&script, "'standstill;", "' {", &sheets.collect::<String>());
        }
        _ => {}
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
