//! Where the output of a command goes: one rule for all of them.

use std::path::Path;

use super::ExitStatus;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::environment::Environment;

/// Whether an output goes to standard output, so that what is said goes to standard error.
pub(super) fn is_standard(output: Option<&String>) -> bool {
    output.is_some_and(|output| output == "-")
}

/// Whether the name of an output says a format that fits; `-` and what is not a file take any.
///
/// # Errors
/// `unwritable-file` with the names that fit.
pub(super) fn check(
    output: &str,
    fits: &[&str],
    environment: &dyn Environment,
) -> Result<(), (Diagnostic, ExitStatus)> {
    let lower = output.to_lowercase();
    let path = Path::new(output);
    if output == "-" || environment.is_special(path) || fits.iter().any(|it| lower.ends_with(it)) {
        return Ok(());
    }
    let stem = match path.extension() {
        Some(_) => output.rsplit_once('.').map_or(output, |(stem, _)| stem),
        None => output,
    };
    let names: Vec<String> = fits.iter().map(|it| format!("`-o {stem}{it}`")).collect();
    let problem = Diagnostic::error(
        Name::UnwritableFile,
        format!("what is written here is {}, and the name says another format", fits.join(" or ")),
    )
    .at(Place::File { name: output.to_owned() })
    .remedy(format!("write {}", names.join(" or ")));
    Err((problem, ExitStatus::WrongInput))
}

/// Checks the name and writes; a file that is there stays unless `force` says otherwise.
pub(super) fn save(
    output: &str,
    bytes: &[u8],
    fits: &[&str],
    force: bool,
    environment: &dyn Environment,
) -> Result<(), (Diagnostic, ExitStatus)> {
    check(output, fits, environment)?;
    environment
        .write(Path::new(output), bytes, force)
        .map_err(|problem| (problem, ExitStatus::File))
}
