//! Files and clock, reached through one trait that the terminal program hands down.

use std::io;
use std::path::Path;

/// What the outside world is to the rest of the program.
pub trait Surroundings: Sync {
    /// The bytes of a file.
    ///
    /// # Errors
    /// What the system says.
    fn read(&self, path: &Path) -> io::Result<Vec<u8>>;

    /// Writes a file in one step: either the old one stays as it is, or the new one is whole.
    ///
    /// # Errors
    /// What the system says.
    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Whether a file exists.
    fn exists(&self, path: &Path) -> bool;

    /// Whether a file may be written, as far as the system tells without trying.
    fn is_writable(&self, path: &Path) -> bool;
}

/// The files of this machine.
#[derive(Clone, Copy, Debug, Default)]
pub struct Machine;

/// No files at all, for sheets that stand alone.
#[derive(Clone, Copy, Debug, Default)]
pub struct Nowhere;

impl Surroundings for Nowhere {
    fn read(&self, _: &Path) -> io::Result<Vec<u8>> {
        Err(io::ErrorKind::NotFound.into())
    }

    fn write(&self, _: &Path, _: &[u8]) -> io::Result<()> {
        Err(io::ErrorKind::Unsupported.into())
    }

    fn exists(&self, _: &Path) -> bool {
        false
    }

    fn is_writable(&self, _: &Path) -> bool {
        false
    }
}

impl Surroundings for Machine {
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        std::fs::read(path)
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        std::fs::write(path, bytes)
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }

    fn is_writable(&self, path: &Path) -> bool {
        std::fs::metadata(path).is_ok_and(|data| !data.permissions().readonly())
    }
}
