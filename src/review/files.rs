//! Which files a review is made from, with their hashes, and when it was made.

use crate::environment::written_day;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use sha2::{Digest as _, Sha256};

use crate::diagnostic::Diagnostic;
use crate::environment::Environment;
use crate::report::sha256;

/// A file that a review is made from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UsedFile {
    /// Name, without the folders above the document.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub hash: String,
}

/// SHA-256 in base 64, as a content security policy names a script.
pub(super) fn hash_base64(bytes: &[u8]) -> String {
    super::markup::base64(&Sha256::digest(bytes))
}

/// SHA-256 of a file; of a text, in which no byte is zero, with line feeds as line ends, which an editor or a
/// repository may have changed.
fn hash(bytes: &[u8]) -> String {
    if bytes.contains(&0) {
        return sha256(bytes);
    }
    let next = bytes.iter().skip(1).map(Some).chain([None]);
    let ends = bytes.iter().zip(next);
    let kept = ends.filter(|(one, next)| (**one, *next) != (b'\r', Some(&b'\n')));
    sha256(&kept.map(|(one, _)| *one).collect::<Vec<u8>>())
}

/// What stands before the sum of a page or text at its end.
const SEAL: &str = "<!-- as made: sha256 ";

/// A page or text with the sum of itself at its end, by which it is known to be as it was made.
pub(super) fn sealed(mut text: String) -> String {
    if !text.ends_with('\n') {
        text.push('\n');
    }
    let sum = sha256(text.as_bytes());
    text + &format!("{SEAL}{sum} -->\n")
}

/// Whether bytes are a page or a text as it was made here, which may be made again in its place: nobody has changed
/// it since, its line ends aside.
///
/// # Example
/// ```
/// assert!(!standstill::review::is_as_made(b"somebody's own page"));
/// ```
#[must_use]
pub fn is_as_made(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes).replace("\r\n", "\n");
    text.rfind(SEAL).and_then(|at| text.get(..at)).is_some_and(|own| sealed(own.to_owned()) == text)
}

/// An environment that notes every file that is read through it.
pub(super) struct Noted<'a> {
    inner: &'a dyn Environment,
    read: Mutex<BTreeMap<String, String>>,
}

impl<'a> Noted<'a> {
    pub(super) fn new(inner: &'a dyn Environment) -> Self {
        Self { inner, read: Mutex::new(BTreeMap::new()) }
    }

    /// The files read, by name.
    pub(super) fn files(&self) -> Vec<UsedFile> {
        let read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        read.iter()
            .map(|(name, hash)| UsedFile { name: name.clone(), hash: hash.clone() })
            .collect()
    }
}

impl Environment for Noted<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        let bytes = self.inner.read(path)?;
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        read.insert(path.display().to_string(), hash(&bytes));
        Ok(bytes)
    }

    fn replace(&self, path: &Path, bytes: &[u8], was: Option<&[u8]>) -> Result<(), Diagnostic> {
        self.inner.replace(path, bytes, was)
    }

    fn below(&self) -> Option<&dyn Environment> {
        Some(self.inner)
    }
}

/// A moment in UTC: `2026-11-25 14:05 UTC`.
///
/// # Example
/// ```
/// assert_eq!(standstill::review::moment(951_782_400), "2000-02-29 00:00 UTC");
/// ```
#[must_use]
pub fn moment(seconds: u64) -> String {
    let (days, rest) = (seconds / 86_400, seconds % 86_400);
    let day = written_day(i64::try_from(days).unwrap_or(i64::MAX));
    format!("{day} {:02}:{:02} UTC", rest / 3600, rest % 3600 / 60)
}

#[cfg(test)]
mod tests {
    use super::hash;

    // the digests are those of `printf … | sha256sum` (GNU coreutils)
    #[test]
    fn line_ends_count_in_binary_files_alone() {
        assert_ne!(hash(b"\0a\r\nb\n"), hash(b"\0a\nb\n"));
        let text = "911169ddaaf146aff539f58c26c489af3b892dff0fe283c1c264c65ae5aa59a2";
        assert_eq!([hash(b"a\r\nb\n"), hash(b"a\nb\n")], [text, text]);
        assert_ne!(hash(b"a\rb\n"), hash(b"ab\n"));
    }
}
