//! Where the output of a command goes: one rule for all of them.

use std::path::Path;

use super::failure::Failure;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::environment::Environment;
use crate::review::is_as_made;

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
) -> Result<(), Failure> {
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
    Err(Failure::input(problem))
}

/// Checks the name and writes; a file that is there stays unless `force` says otherwise.
pub(super) fn save(
    output: &str,
    bytes: &[u8],
    fits: &[&str],
    force: bool,
    environment: &dyn Environment,
) -> Result<(), Failure> {
    check(output, fits, environment)?;
    environment.write(Path::new(output), bytes, force).map_err(Failure::file)
}

/// The same for a page: one that is as it was made here is made again; anything else of that name stays, one that
/// somebody has changed by hand as well.
pub(super) fn save_page(
    output: &str,
    bytes: &[u8],
    fits: &[&str],
    force: bool,
    environment: &dyn Environment,
) -> Result<(), Failure> {
    let path = Path::new(output);
    let before = if environment.is_special(path) { None } else { environment.peek(path) };
    let force = force || before.is_some_and(|bytes| is_as_made(&bytes));
    save(output, bytes, fits, force, environment)
}
