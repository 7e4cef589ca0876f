//! The disk: files read whole, and replaced in one atomic step. The only place that touches it.

#![allow(clippy::disallowed_methods)] // the one place that touches the disk

use std::fs::{self, File, Metadata, OpenOptions, TryLockError};
use std::io::{ErrorKind, Read as _, Write};
use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Name, Place};

/// Reads a whole file.
///
/// # Errors
/// `unreadable-file` if it is not there or may not be read.
pub fn read(path: &Path) -> Result<Vec<u8>, Box<Diagnostic>> {
    fs::read(path).map_err(|error| unreadable(path, &error))
}

/// All of standard input.
///
/// # Errors
/// `unreadable-file`.
pub fn read_standard_input() -> Result<Vec<u8>, Box<Diagnostic>> {
    let mut bytes = Vec::new();
    match std::io::stdin().lock().read_to_end(&mut bytes) {
        Ok(_) => Ok(bytes),
        Err(error) => Err(unreadable(Path::new("standard input"), &error)),
    }
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
        ErrorKind::IsADirectory => ("it is a folder".to_owned(), "name a file in it"),
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

/// What stands in a folder, by name; nothing where it cannot be read.
#[must_use]
pub fn entries(folder: &Path) -> Vec<PathBuf> {
    let here = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let names = fs::read_dir(here).into_iter().flatten().flatten().map(|entry| entry.file_name());
    let mut all: Vec<PathBuf> = names.map(|name| folder.join(name)).collect();
    all.sort();
    all
}

/// Says so if another office program has the workbook open: it keeps a lock file beside it.
///
/// # Errors
/// `file-in-use` with the name of the lock file found.
///
/// # Example
/// ```
/// use std::path::Path;
/// assert!(standstill::environment::store::free_to_write(Path::new("no-such-book.xlsx")).is_ok());
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
    // held until the new file has the name: of two runs at once, one finds the file changed
    let held = hold(path, &real)?;
    if let Some(read) = read
        && fs::read(&real).ok().as_deref() != Some(read)
    {
        return Err(in_use(path, "the file was changed meanwhile"));
    }
    let known = fs::metadata(&real).ok();
    if let Some(known) = &known {
        if known.permissions().readonly() {
            return Err(unwritable(
                path, "it is marked read-only", "take the mark off, or save a copy",
            ));
        }
        if names(known) > 1 {
            return Err(unwritable(
                path,
                &format!(
                    "it has {} names (hard links), and only one of them would change",
                    names(known)
                ),
                "write to another file with `-o`",
            ));
        }
    }
    remove_leftovers(&real);
    let (temporary, written) = fresh_beside(&real).map_err(|error| failed(path, &error))?;
    let outcome = match complete(&written, bytes, known.as_ref()) {
        Ok(true) => fs::rename(&temporary, &real).map_err(|error| failed(path, &error)),
        Ok(false) => Err(unwritable(
            path,
            "its group cannot be kept, and others who use it would be locked out",
            "write to another file with `-o`, or have a member of its group do it",
        )),
        Err(error) => Err(failed(path, &error)),
    };
    drop((written, held));
    if let Err(problem) = outcome {
        // the file is still as it was; a temporary file that cannot go either is the lesser trouble
        let _ = fs::remove_file(&temporary);
        return Err(problem);
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

/// Writes the new file and gives it owner, group and permissions of the old one; false where the group cannot be
/// kept. The lock says to other runs that whoever writes it is alive.
fn complete(mut file: &File, bytes: &[u8], known: Option<&Metadata>) -> std::io::Result<bool> {
    let _ = file.try_lock();
    file.write_all(bytes)?;
    if let Some(known) = known {
        if !same_owner(file, known)? {
            return Ok(false);
        }
        file.set_permissions(known.permissions())?;
    }
    file.sync_all()?;
    Ok(true)
}

/// The lock on a file that is there; none where there is none, or the file system has no locks.
fn hold(path: &Path, real: &Path) -> Result<Option<File>, Box<Diagnostic>> {
    let Ok(file) = File::open(real) else { return Ok(None) };
    match file.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => {
            return Err(in_use(path, "another run of Standstill is writing it"));
        }
        Err(TryLockError::Error(_)) => return Ok(None),
    }
    let (locked, there) = (file.metadata().ok(), fs::metadata(real).ok());
    if locked.as_ref().map(identity) == there.as_ref().map(identity) {
        Ok(Some(file))
    } else {
        Err(in_use(path, "the file was changed meanwhile"))
    }
}

/// Removes what a run that was killed has left beside a file: a part that nobody holds.
fn remove_leftovers(real: &Path) {
    let Some(folder) = real.parent() else { return };
    let name = real.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let part = entry.file_name().to_string_lossy().into_owned();
        let of_ours = part
            .strip_prefix(&format!(".{name}."))
            .and_then(|rest| rest.strip_suffix(".part"))
            .and_then(|rest| rest.split_once('-'))
            .is_some_and(|(process, attempt)| {
                process.parse::<u32>().is_ok() && attempt.parse::<u8>().is_ok()
            });
        let alone = of_ours && File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok());
        if alone {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Whether a name stands for something that is neither a file nor a folder.
#[must_use]
pub fn is_special(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|known| !known.is_file() && !known.is_dir())
}

/// What makes a file the same under two names.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Identity(#[cfg(unix)] (u64, u64), #[cfg(not(unix))] PathBuf);

#[cfg(unix)]
fn identity(known: &Metadata) -> Identity {
    use std::os::unix::fs::MetadataExt as _;
    Identity((known.dev(), known.ino()))
}

#[cfg(unix)]
fn names(known: &Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::nlink(known)
}

#[cfg(unix)]
fn same_owner(file: &File, known: &Metadata) -> std::io::Result<bool> {
    use std::os::unix::fs::{MetadataExt as _, fchown};
    let (owner, group) = (known.uid(), known.gid());
    Ok(fchown(file, Some(owner), Some(group)).is_ok()
        || fchown(file, None, Some(group)).is_ok()
        || file.metadata()?.gid() == group)
}

#[cfg(not(unix))]
fn identity(_: &Metadata) -> Identity {
    Identity(PathBuf::new())
}

#[cfg(not(unix))]
fn names(_: &Metadata) -> u64 {
    1
}

#[cfg(not(unix))]
fn same_owner(_: &File, _: &Metadata) -> std::io::Result<bool> {
    Ok(true)
}

/// What a file is, whatever name it is reached by; none where there is none.
#[must_use]
pub fn identity_of(path: &Path) -> Option<Identity> {
    #[cfg(unix)]
    return fs::metadata(path).ok().map(|known| identity(&known));
    #[cfg(not(unix))]
    return fs::canonicalize(path).ok().map(Identity);
}

/// Writes a file that a person named as the place of an output.
///
/// A file that is there is replaced only by `force`, and never one of those in `read`. What is not a file, such as
/// a device or a pipe, is written into.
///
/// # Errors
/// `unwritable-file`, `file-in-use`; whatever was there is as it was.
pub fn write_output(
    path: &Path,
    bytes: &[u8],
    force: bool,
    read: &[Identity],
) -> Result<(), Box<Diagnostic>> {
    let Ok(known) = fs::metadata(path) else {
        // a link that leads nowhere would become a file, or the file that it names
        if fs::symlink_metadata(path).is_ok() {
            return Err(unwritable(
                path, "it is a link that leads nowhere", "remove the link first",
            ));
        }
        // of two runs at once, only one makes the file
        return match OpenOptions::new().write(true).create_new(true).open(path) {
            Ok(made) => {
                drop(made);
                save_atomically(path, bytes, Some(b"")).inspect_err(|_| {
                    let _ = fs::remove_file(path);
                })
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => Err(exists(path)),
            Err(error) => Err(failed(path, &error)),
        };
    };
    if known.is_dir() {
        return Err(unwritable(path, "it is a folder", "name a file in it"));
    }
    if identity_of(path).is_some_and(|it| read.contains(&it)) {
        return Err(unwritable(path, "this run reads it", "name another file behind `-o`"));
    }
    if !known.is_file() {
        let outcome = OpenOptions::new().write(true).open(path).and_then(|mut into| {
            into.write_all(bytes)?;
            into.flush()
        });
        return match outcome {
            Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(failed(path, &error)),
            _ => Ok(()),
        };
    }
    if !force {
        return Err(exists(path));
    }
    save_atomically(path, bytes, None)
}

/// Keeps a text that is to be looked at, not to be changed; its folder is made where it is not there.
///
/// # Errors
/// `unwritable-file`.
pub fn keep(path: &Path, bytes: &[u8]) -> Result<(), Box<Diagnostic>> {
    if fs::read(path).is_ok_and(|there| there == bytes) {
        return Ok(());
    }
    let write = || -> std::io::Result<()> {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        let (fresh, file) = fresh_beside(path)?;
        complete(&file, bytes, None)?;
        let mut permissions = file.metadata()?.permissions();
        permissions.set_readonly(true);
        file.set_permissions(permissions)?;
        fs::rename(fresh, path)
    };
    write().map_err(|error| failed(path, &error))
}

fn exists(path: &Path) -> Box<Diagnostic> {
    unwritable(
        path,
        "there is a file of that name already",
        "choose another name, or add `--force` to write over it",
    )
}

fn file(path: &Path) -> Place {
    Place::File { name: path.display().to_string() }
}

fn in_use(path: &Path, words: &str) -> Box<Diagnostic> {
    let headline = format!("the file is in use: {words}");
    let remedy = "close it where it is open, then try again";
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
        ErrorKind::ReadOnlyFilesystem => {
            unwritable(path, "its disk can only be read", "save it elsewhere")
        }
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
