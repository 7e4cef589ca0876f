//! The disk: files read whole, and replaced in one atomic step. The only place that touches it.

#![allow(clippy::disallowed_methods)] // the one place that touches the disk

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Name, Place};

/// Reads a whole file.
///
/// # Errors
/// `unreadable-file` if it is not there or may not be read.
pub fn read(path: &Path) -> Result<Vec<u8>, Box<Diagnostic>> {
    fs::read(path).map_err(|error| unreadable(path, &error))
}

/// Opens a file to be read little by little.
///
/// # Errors
/// As [`read`].
pub fn open(path: &Path) -> Result<File, Box<Diagnostic>> {
    File::open(path).map_err(|error| unreadable(path, &error))
}

fn unreadable(path: &Path, error: &std::io::Error) -> Box<Diagnostic> {
    let (words, remedy) = match error.kind() {
        ErrorKind::NotFound => ("there is no such file".to_owned(), "check the spelling"),
        ErrorKind::PermissionDenied => {
            ("it may not be read".to_owned(), "ask its owner for the right to read it")
        }
        _ => (error.to_string(), "check the disk it lies on"),
    };
    let headline = format!("the file cannot be read: {words}");
    Box::new(Diagnostic::error(Name::UnreadableFile, headline).at(file(path)).remedy(remedy))
}

/// The one path of what stands at a path, followed through links; none where there is nothing. What is there and
/// cannot be followed keeps its path, so that reading it says why.
#[must_use]
pub fn canonical(path: &Path) -> Option<PathBuf> {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    match fs::canonicalize(path) {
        Ok(canonical) => Some(canonical),
        Err(_) => match fs::symlink_metadata(path) {
            Err(error)
                if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) =>
            {
                None
            }
            _ => Some(path.to_owned()),
        },
    }
}

/// Bytes of a file, without reading it; none if it is not there.
#[must_use]
pub fn size(path: &Path) -> Option<u64> {
    fs::metadata(path).ok().map(|known| known.len())
}

/// Says so if another office program has the workbook open: it keeps a lock file beside it.
///
/// # Errors
/// `file-in-use` with the name of the lock file found.
///
/// # Example
/// ```
/// use std::path::Path;
/// assert!(standstill::spreadsheet::store::free_to_write(Path::new("no-such-book.xlsx")).is_ok());
/// ```
pub fn free_to_write(path: &Path) -> Result<(), Box<Diagnostic>> {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    for lock in [format!("~${name}"), format!(".~lock.{name}#")] {
        if path.with_file_name(&lock).exists() {
            return Err(in_use(path, &format!("the lock file `{lock}` lies beside it")));
        }
    }
    Ok(())
}

/// Replaces a file by new bytes in one step: whoever reads it sees either all of the old or all of
/// the new. Permissions stay; a link stays a link and its target is replaced.
///
/// `read` are the bytes that the new ones were made from; if the file has changed since, or is
/// gone, it is left alone. `None` writes a file that need not be there yet.
///
/// # Errors
/// `file-in-use` if another program has it open or has changed it; `unwritable-file` if it is marked
/// read-only or its folder or disk does not take it. The file is as it was, and no other is left.
pub fn save_atomically(
    path: &Path,
    bytes: &[u8],
    read: Option<&[u8]>,
) -> Result<(), Box<Diagnostic>> {
    let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    free_to_write(path)?;
    free_to_write(&real)?;
    if let Some(read) = read
        && fs::read(&real).ok().as_deref() != Some(read)
    {
        return Err(in_use(path, "it has changed since it was read"));
    }
    let permissions = fs::metadata(&real).ok().map(|known| known.permissions());
    if permissions.as_ref().is_some_and(fs::Permissions::readonly) {
        return Err(unwritable(
            path,
            "it is marked read-only",
            "take the mark off, or save a copy",
        ));
    }
    let (temporary, written) = fresh_beside(&real).map_err(|error| failed(path, &error))?;
    let outcome = fill(written, bytes, permissions).and_then(|()| fs::rename(&temporary, &real));
    if let Err(error) = outcome {
        // the file is still as it was; a temporary file that cannot go either is the lesser trouble
        let _ = fs::remove_file(&temporary);
        return Err(failed(path, &error));
    }
    // the new name is already there; a folder that cannot be flushed only risks the newest state
    if let Some(folder) = real.parent().and_then(|folder| File::open(folder).ok()) {
        let _ = folder.sync_all();
    }
    Ok(())
}

fn fresh_beside(path: &Path) -> std::io::Result<(PathBuf, File)> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let own = std::process::id();
    let mut outcome = Err(std::io::Error::from(ErrorKind::AlreadyExists));
    for attempt in 0..100 {
        let temporary = path.with_file_name(format!(".{name}.{own}-{attempt}.part"));
        match OpenOptions::new().write(true).create_new(true).open(&temporary) {
            Ok(file) => return Ok((temporary, file)),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => outcome = Err(error),
            Err(error) => return Err(error),
        }
    }
    outcome
}

fn fill(mut file: File, bytes: &[u8], permissions: Option<fs::Permissions>) -> std::io::Result<()> {
    file.write_all(bytes)?;
    if let Some(permissions) = permissions {
        file.set_permissions(permissions)?;
    }
    file.sync_all()
}

fn file(path: &Path) -> Place {
    Place::File { name: path.display().to_string() }
}

fn in_use(path: &Path, words: &str) -> Box<Diagnostic> {
    let headline = format!("another program has the file open: {words}");
    let remedy = "close it there, then try again";
    Box::new(Diagnostic::error(Name::FileInUse, headline).at(file(path)).remedy(remedy))
}

fn unwritable(path: &Path, words: &str, remedy: &str) -> Box<Diagnostic> {
    let headline = format!("the file cannot be written: {words}");
    Box::new(Diagnostic::error(Name::UnwritableFile, headline).at(file(path)).remedy(remedy))
}

fn failed(path: &Path, error: &std::io::Error) -> Box<Diagnostic> {
    match error.kind() {
        ErrorKind::PermissionDenied => {
            unwritable(path, "its folder takes no new file", "save it into another folder")
        }
        ErrorKind::NotFound => unwritable(path, "its folder is not there", "make the folder first"),
        _ => unwritable(path, &error.to_string(), "make room on the disk, or save it elsewhere"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_else_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("Book.xlsx");
        fs::write(&book, b"old").unwrap();
        save_atomically(&book, b"new", Some(b"old")).unwrap();
        assert_eq!(read(&book).unwrap(), b"new");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        let changed = save_atomically(&book, b"newer", Some(b"old")).unwrap_err();
        assert_eq!(changed.name, Name::FileInUse);
        assert_eq!(read(&book).unwrap(), b"new");
    }

    #[test]
    fn a_lock_file_of_either_office_program_stops_us() {
        for lock in ["~$Book.xlsx", ".~lock.Book.xlsx#"] {
            let folder = tempfile::tempdir().unwrap();
            let book = folder.path().join("Book.xlsx");
            fs::write(&book, b"old").unwrap();
            fs::write(folder.path().join(lock), b"").unwrap();
            let problem = save_atomically(&book, b"new", None).unwrap_err();
            assert_eq!(problem.name, Name::FileInUse);
            assert!(problem.headline.contains(lock), "{}", problem.headline);
            assert_eq!(fs::read(&book).unwrap(), b"old");
        }
    }

    #[test]
    fn a_read_only_file_stays_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("Book.xlsx");
        fs::write(&book, b"old").unwrap();
        let mut permissions = fs::metadata(&book).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&book, permissions).unwrap();
        let problem = save_atomically(&book, b"new", None).unwrap_err();
        assert_eq!(problem.name, Name::UnwritableFile);
        assert_eq!(fs::read(&book).unwrap(), b"old");
    }

    #[cfg(unix)]
    #[test]
    fn permissions_and_links_stay() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("Book.xlsx");
        let link = folder.path().join("Link.xlsx");
        fs::write(&book, b"old").unwrap();
        fs::set_permissions(&book, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&book, &link).unwrap();
        save_atomically(&link, b"new", Some(b"old")).unwrap();
        assert_eq!(fs::metadata(&book).unwrap().permissions().mode() & 0o777, 0o640);
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&book).unwrap(), b"new");
    }
}
