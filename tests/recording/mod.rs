//! Recorded stops: fits against other programs, bad files, simulated stops with known truth, the shipped example.
//!
//! There is no check against open recordings: PyPI, npm and crates.io were searched by name for run-down, coast-down
//! and deceleration, and no package that ships recorded stops was found; other registries were not searched.

mod bad_files;
mod bounces;
mod confirmed;
mod copied;
mod counters;
mod creeps;
mod doors;
mod doubted;
mod example;
mod filtered;
mod fits;
mod held;
mod kinds;
mod lost;
mod machines;
mod rechecks;
mod refusals;
mod rests;
mod run_downs;
mod sealed;
mod shown;
mod simulated;
mod unbraked;

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use standstill::diagnostic::{Diagnostic, Name};
use standstill::environment::Environment;
use standstill::recording::Plan;

/// One file in memory.
struct OneFile {
    name: String,
    bytes: Vec<u8>,
    asked: Mutex<usize>,
}

impl OneFile {
    fn new(name: &str, text: impl Into<Vec<u8>>) -> Self {
        Self { name: name.to_owned(), bytes: text.into(), asked: Mutex::new(0) }
    }
}

impl Environment for OneFile {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        *self.asked.lock().unwrap() += 1;
        if path == Path::new(&self.name) {
            return Ok(self.bytes.clone());
        }
        Err(Diagnostic::error(Name::UnreadableFile, "no such file"))
    }

    fn replace(&self, _: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        unreachable!("nothing is written")
    }

    fn canonical(&self, path: &Path) -> Option<PathBuf> {
        (path == Path::new(&self.name)).then(|| path.to_owned())
    }
}

const WORDS: &[&str] = &[
    "time=t", "speed=n", "stop=stop falls", "removed=torque falls", "standstill=10 r/min",
    "error=0 r/min",
];

/// A plan for one file, with words in the place of others of the same key.
fn plan(file: &str, more: &[&str]) -> Plan {
    let key = |word: &str| word.split('=').next().unwrap().to_owned();
    let kept = WORDS.iter().filter(|word| !more.iter().any(|other| key(other) == key(word)));
    let words: Vec<String> = std::iter::once(file)
        .chain(kept.copied())
        .chain(more.iter().copied())
        .map(str::to_owned)
        .collect();
    Plan::read(None, &words).unwrap()
}
