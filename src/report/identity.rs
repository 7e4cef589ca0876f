//! Which sheets took part: of each its name, where it comes from, its version and the hash of its text.

use std::fmt;

use sha2::{Digest as _, Sha256};

use super::table::{Column, Table};
use crate::diagnostic::{Origin, Source};
use crate::program::{Program, Scope};

const COLUMNS: &[Column] = &[
    Column::words("sheet"),
    Column::words("where it comes from"),
    Column::words("version"),
    Column::words("SHA-256"),
];

/// SHA-256 in hexadecimal digits (FIPS 180-4).
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Which sheet ran: what a result says of it wherever it is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identity {
    /// Name of the sheet.
    pub sheet: String,
    /// Where it comes from.
    pub origin: String,
    /// What it says as its version and date; empty where it says none.
    pub version: String,
    /// SHA-256 of its text, line ends as a line feed.
    pub sha256: String,
}

impl Identity {
    /// Of one sheet of a program.
    #[must_use]
    pub fn of(scope: &Scope) -> Self {
        let (origin, hash) = Self::of_text(&scope.source);
        // the rows of a file beside the sheet are no part of its text
        let origin = scope.outside.iter().fold(origin, |origin, (file, rows)| {
            let hash = sha256(rows.as_bytes());
            format!("{origin} with {file} (rows sha256 {})", hash.get(..12).unwrap_or_default())
        });
        let version = [scope.version.as_str(), scope.date.as_str()];
        let version = version.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>();
        Self { sheet: scope.sheet.clone(), origin, version: version.join(", "), sha256: hash }
    }

    /// Where a text comes from, and its hash.
    fn of_text(source: &Source) -> (String, String) {
        let of = |text: &str| sha256(text.as_bytes());
        match &source.origin {
            Origin::Library => (
                concat!("library of Standstill ", env!("CARGO_PKG_VERSION")).to_owned(),
                of(&source.text),
            ),
            Origin::File(_) => (source.name.clone(), of(&source.text)),
            // as the same sheet in a file of its own
            Origin::Written(line) => (
                format!("written in {}, line {line}", source.name),
                of(&format!("{}\n", source.text.trim())),
            ),
            Origin::Text => (format!("text `{}`", source.name), of(&source.text)),
        }
    }

    /// Of every sheet of a program, the one that was asked for first, then of the groups of inputs; each once.
    #[must_use]
    pub fn all(program: &Program) -> Vec<Self> {
        let mut sources: Vec<&Source> = Vec::new();
        let mut found = Vec::new();
        for scope in &program.scopes {
            if !sources.iter().any(|known| known.is_same(&scope.source)) {
                sources.push(&scope.source);
                found.push(Self::of(scope));
            }
        }
        for (name, source) in program.scopes.iter().flat_map(|scope| &scope.groups) {
            if !sources.iter().any(|known| known.is_same(source)) {
                sources.push(source);
                let (origin, sha256) = Self::of_text(source);
                let sheet = format!("group {name}");
                found.push(Self { sheet, origin, version: String::new(), sha256 });
            }
        }
        found
    }

    /// Sheets as a table, with their whole hashes.
    #[must_use]
    pub fn table(all: &[Self]) -> Table {
        let row = |it: &Self| {
            vec![it.sheet.clone(), it.origin.clone(), it.version.clone(), it.sha256.clone()]
        };
        Table {
            title: "sheets".to_owned(),
            columns: COLUMNS,
            headed: true,
            rows: all.iter().map(row).collect(),
            notes: Vec::new(),
        }
    }

    /// Of every sheet of a program, for a program that reads it.
    #[must_use]
    pub fn json_of(program: &Program) -> serde_json::Value {
        Self::all(program).iter().map(Self::json).collect()
    }

    /// For a program that reads it.
    #[must_use]
    pub fn json(&self) -> serde_json::Value {
        serde_json::json!({
            "sheet": self.sheet, "origin": self.origin, "version": self.version, "sha256": self.sha256,
        })
    }
}

impl fmt::Display for Identity {
    /// `library of Standstill 0.1.0, sha256 3f2a90c1d4e5`
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let short = self.sha256.get(..12).unwrap_or_default();
        write!(to, "{}", self.origin)?;
        if !self.version.is_empty() {
            write!(to, ", version {}", self.version)?;
        }
        write!(to, ", sha256 {short}")
    }
}
