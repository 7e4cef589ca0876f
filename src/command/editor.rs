//! `standstill editor`: answers an editor over standard input and output.

use std::io::IsTerminal as _;
use std::path::PathBuf;

use lsp_server::Connection;

use super::ExitStatus;
use super::arguments::Editor;
use super::failure::Ending;
use super::print::Terminal;
use crate::editor;
use crate::environment::Environment;

pub(super) fn editor(
    asked: &Editor,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    if asked.grammar {
        terminal.verbatim(editor::GRAMMAR);
        return Ok(ExitStatus::Holds);
    }
    if std::io::stdin().is_terminal() {
        terminal.report(
            "This command is started by an editor, which speaks to it over standard input and output.\n\
             In its settings, name `standstill editor` as the language server for files `*.sheet`.",
        );
        return Ok(ExitStatus::WrongInput);
    }
    let (connection, threads) = Connection::stdio();
    let ended = editor::serve(&connection, environment, library_folder());
    drop(connection);
    // an editor that is killed leaves its end of the pipe open or broken: nothing more can be said to it there
    let joined = threads.join();
    if let Err(error) = &joined {
        terminal.report(format!("what the editor sent cannot be read: {error}"));
    }
    Ok(ExitStatus::of(ended && joined.is_ok()))
}

/// Where copies of the library's sheets are kept to be looked at: the place of the system for what can be made again.
fn library_folder() -> Option<PathBuf> {
    let set = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|it| it.is_absolute());
    let base = set("XDG_CACHE_HOME")
        .or_else(|| set("LOCALAPPDATA"))
        .or_else(|| set("HOME").map(|home| home.join(".cache")))?;
    Some(base.join("standstill").join(env!("CARGO_PKG_VERSION")).join("library"))
}
