//! Files, reached through one trait that the terminal program hands down.

mod day;
pub mod store;

pub(crate) use day::{day, written_day};

use std::io::{Cursor, Read, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use self::store::Identity;
use crate::diagnostic::{Diagnostic, Name, Place};

/// What the outside world is to the rest of the program.
pub trait Environment: Sync {
    /// The bytes of a file; `-` is standard input.
    ///
    /// # Errors
    /// `unreadable-file`.
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic>;

    /// Replaces a file in one step: either the old one stays as it is, or the new one is whole. `was` are
    /// the bytes that the new ones were made from; a file that has changed since is left alone.
    ///
    /// # Errors
    /// `file-in-use`, `unwritable-file`.
    fn replace(&self, path: &Path, bytes: &[u8], was: Option<&[u8]>) -> Result<(), Diagnostic>;

    /// Writes what a person named as the place of an output: `-` is standard output. A file that is there is
    /// replaced only by `force`, and never one that was read through this.
    ///
    /// # Errors
    /// `unwritable-file`, `file-in-use`.
    fn write(&self, path: &Path, bytes: &[u8], force: bool) -> Result<(), Diagnostic> {
        match self.below() {
            Some(below) => below.write(path, bytes, force),
            None => self.replace(path, bytes, None),
        }
    }

    /// Keeps a text to be looked at, not to be changed, in a folder of the program's own, which is made where it is
    /// not there.
    ///
    /// # Errors
    /// `unwritable-file`.
    fn keep(&self, path: &Path, bytes: &[u8]) -> Result<(), Diagnostic> {
        match self.below() {
            Some(below) => below.keep(path, bytes),
            None => self.replace(path, bytes, None),
        }
    }

    /// Whether a name stands for something that is not a file, such as a device or a pipe.
    fn is_special(&self, path: &Path) -> bool {
        self.below().is_some_and(|below| below.is_special(path))
    }

    /// The bytes of a file that is looked at, not read as an input, such as one that is about to be replaced.
    fn peek(&self, path: &Path) -> Option<Vec<u8>> {
        match self.below() {
            Some(below) => below.peek(path),
            None => self.read(path).ok(),
        }
    }

    /// A file to be read from its beginning, little by little.
    ///
    /// # Errors
    /// `unreadable-file`.
    fn open(&self, path: &Path) -> Result<Box<dyn Read + Send>, Diagnostic> {
        Ok(Box::new(Cursor::new(self.read(path)?)))
    }

    /// The one path of what stands at a path, readable or not; none where there is nothing.
    fn canonical(&self, path: &Path) -> Option<PathBuf> {
        match self.below() {
            Some(below) => below.canonical(path),
            None => self.read(path).ok().map(|_| path.to_owned()),
        }
    }

    /// What stands in a folder, by name; nothing where that is not a folder that can be read.
    fn entries(&self, folder: &Path) -> Vec<PathBuf> {
        self.below().map_or_else(Vec::new, |below| below.entries(folder))
    }

    /// Folders in which sheets are looked for besides those beside what asks.
    fn sheet_folders(&self) -> &[PathBuf] {
        self.below().map_or(&[], |below| below.sheet_folders())
    }

    /// Bytes of a file, without reading it; none where when its length is unknown.
    fn size(&self, path: &Path) -> Option<u64> {
        self.below()?.size(path)
    }

    /// Seconds since the beginning of 1970 in UTC; none without a clock.
    fn clock(&self) -> Option<u64> {
        self.below()?.clock()
    }

    /// The one that this stands before, where it changes a part of it alone: all else is asked there.
    fn below(&self) -> Option<&dyn Environment> {
        None
    }
}

/// The files of this machine.
#[derive(Debug, Default)]
pub struct RealFs {
    /// The files that were read, by what they are.
    read: Mutex<Vec<Identity>>,
    /// Further folders of sheets.
    sheets: Vec<PathBuf>,
}

impl RealFs {
    /// The files of this machine, with further folders of sheets.
    #[must_use]
    pub fn new(sheets: Vec<PathBuf>) -> Self {
        Self { sheets, ..Self::default() }
    }

    fn note(&self, path: &Path) {
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(it) = store::identity_of(path)
            && !read.contains(&it)
        {
            read.push(it);
        }
    }
}

impl Environment for RealFs {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        if path == Path::new("-") {
            return store::read_standard_input().map_err(|problem| *problem);
        }
        let bytes = store::read(path).map_err(|problem| *problem)?;
        self.note(path);
        Ok(bytes)
    }

    fn write(&self, path: &Path, bytes: &[u8], force: bool) -> Result<(), Diagnostic> {
        if path == Path::new("-") {
            let mut out = std::io::stdout().lock();
            return match out.write_all(bytes).and_then(|()| out.flush()) {
                Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
                    let headline = format!("standard output cannot be written: {error}");
                    Err(Diagnostic::error(Name::UnwritableFile, headline)
                        .remedy("make room where it goes, or name a file behind `-o`"))
                }
                _ => Ok(()),
            };
        }
        let read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        store::write_output(path, bytes, force, &read).map_err(|problem| *problem)
    }

    fn replace(&self, path: &Path, bytes: &[u8], was: Option<&[u8]>) -> Result<(), Diagnostic> {
        if path == Path::new("-") {
            let words = "what was read from standard input cannot be written back into it";
            return Err(Diagnostic::error(Name::UnwritableFile, words)
                .at(Place::File { name: "-".to_owned() })
                .remedy("say where it goes: `-o -` for standard output, or a file"));
        }
        store::save_atomically(path, bytes, was).map_err(|problem| *problem)
    }

    fn keep(&self, path: &Path, bytes: &[u8]) -> Result<(), Diagnostic> {
        store::keep(path, bytes).map_err(|problem| *problem)
    }

    fn open(&self, path: &Path) -> Result<Box<dyn Read + Send>, Diagnostic> {
        match store::open(path) {
            Ok(file) => {
                self.note(path);
                Ok(Box::new(file))
            }
            Err(problem) => Err(*problem),
        }
    }

    fn canonical(&self, path: &Path) -> Option<PathBuf> {
        store::canonical(path)
    }

    fn entries(&self, folder: &Path) -> Vec<PathBuf> {
        store::entries(folder)
    }

    fn sheet_folders(&self) -> &[PathBuf] {
        &self.sheets
    }

    fn peek(&self, path: &Path) -> Option<Vec<u8>> {
        store::read(path).ok()
    }

    fn is_special(&self, path: &Path) -> bool {
        store::is_special(path)
    }

    fn size(&self, path: &Path) -> Option<u64> {
        store::size(path)
    }

    fn clock(&self) -> Option<u64> {
        let now = std::time::SystemTime::now();
        now.duration_since(std::time::UNIX_EPOCH).ok().map(|since| since.as_secs())
    }
}

/// No files at all, for sheets that stand alone.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoFs;

impl Environment for NoFs {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        let place = Place::File { name: path.display().to_string() };
        Err(Diagnostic::error(Name::UnreadableFile, "no files are at hand here").at(place))
    }

    fn replace(&self, path: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        let place = Place::File { name: path.display().to_string() };
        Err(Diagnostic::error(Name::UnwritableFile, "no files are at hand here").at(place))
    }
}
