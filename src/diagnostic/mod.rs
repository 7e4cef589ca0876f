//! The one value for every problem, in a sheet or in a cell, and its three renderings.
//!
//! A [`Diagnostic`] is found in one place and rendered in another: [`render_long`] for a person,
//! [`render_line`] for an editor, [`render_json`] for a program. No form drops a part.

mod names;
pub(crate) mod phrase;
mod problems;
mod render;

use std::cmp::Ordering;
use std::hash::{Hash, Hasher};
use std::ops::Range;
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

pub use names::{ALL as ALL_NAMES, Entry as NameEntry, Name};
pub use problems::Problems;
pub use render::{Totals, render_json, render_line, render_long, totals};
pub(crate) use render::{printable, turning_marks};

/// How much a problem weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The work cannot go on; nothing is written.
    Error,
    /// The work goes on, the person should look.
    Caution,
}

impl Severity {
    /// The word a person reads: `error` or `caution`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Caution => "caution",
        }
    }
}

/// Where a text comes from. Two texts are the same one when name, origin and text are.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Origin {
    /// Part of the library in the binary.
    Library,
    /// A file, by its canonical path.
    File(PathBuf),
    /// Written out in a document: the line of the document, counted from 1.
    Written(usize),
    /// Handed over as a text; its name says where it would stand.
    Text,
}

/// A text with the name under which its owner knows it.
#[derive(Clone, Debug)]
pub struct Source {
    /// File name as the owner gave it, or the name of a library sheet such as `run-down.sheet`.
    pub name: String,
    /// Where it comes from.
    pub origin: Origin,
    /// The whole text.
    pub text: String,
    /// Where each line begins, found once: a long sheet may have a problem in every line.
    begins: OnceLock<Vec<usize>>,
}

impl Source {
    /// Names a text.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        Self::of(name, Origin::Text, text)
    }

    /// Names a text that comes from somewhere.
    #[must_use]
    pub fn of(name: impl Into<String>, origin: Origin, text: impl Into<String>) -> Arc<Self> {
        Arc::new(Self { name: name.into(), origin, text: text.into(), begins: OnceLock::new() })
    }

    /// Whether both are one sheet, whatever name it was asked for by.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        let origins = match (&self.origin, &other.origin) {
            (Origin::File(a), Origin::File(b)) => a == b,
            // a text that was handed over stands where its name says
            (Origin::File(_), Origin::Text) | (Origin::Text, Origin::File(_)) => {
                self.name == other.name
            }
            (a, b) => a == b && self.name == other.name,
        };
        origins && self.text == other.text
    }

    /// Line and column, both counted from 1 and the column in characters, of a byte offset.
    ///
    /// An offset past the end, or inside a character, is moved back to the nearest border.
    #[must_use]
    pub fn line_and_column(&self, offset: usize) -> (usize, usize) {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        let begins = self.begins();
        let line = begins.partition_point(|begin| *begin <= offset);
        let start = line.checked_sub(1).and_then(|at| begins.get(at)).copied().unwrap_or(0);
        let column = self.text.get(start..offset).unwrap_or_default().chars().count() + 1;
        (line, column)
    }

    /// The text of a line, counted from 1, without its end; nothing where there is no such line.
    fn line(&self, line: usize) -> &str {
        let begins = self.begins();
        let Some(start) = line.checked_sub(1).and_then(|at| begins.get(at)) else { return "" };
        let end = begins.get(line).copied().unwrap_or(self.text.len());
        self.text.get(*start..end).and_then(|text| text.lines().next()).unwrap_or_default()
    }

    fn begins(&self) -> &[usize] {
        self.begins.get_or_init(|| {
            let after = self.text.match_indices('\n').map(|(at, _)| at + 1);
            std::iter::once(0).chain(after).collect()
        })
    }

    fn key(&self) -> (&str, &Origin, &str) {
        (&self.name, &self.origin, &self.text)
    }
}

impl PartialEq for Source {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Source {}

impl PartialOrd for Source {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Source {
    fn cmp(&self, other: &Self) -> Ordering {
        if std::ptr::eq(self, other) { Ordering::Equal } else { self.key().cmp(&other.key()) }
    }
}

impl Hash for Source {
    fn hash<H: Hasher>(&self, state: &mut H) {
        // equal texts are equally long; the whole text for each problem would be too much
        (&self.name, self.text.len()).hash(state);
    }
}

/// Where something stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// A span of bytes in a text.
    Text {
        /// The text.
        source: Arc<Source>,
        /// First byte, and the byte after the last.
        span: (usize, usize),
    },
    /// A cell, named as its owner sees it.
    Cell {
        /// File name of the workbook.
        book: String,
        /// Sheet tab; empty for a `.csv`.
        tab: String,
        /// Row, counted from 0.
        row: u32,
        /// Column, counted from 0.
        column: u32,
    },
    /// A whole file.
    File {
        /// The name as the owner gave it.
        name: String,
    },
    /// A word of the command line.
    Argument {
        /// The word as typed.
        text: String,
    },
}

impl Place {
    /// A place in a text.
    #[must_use]
    pub fn text(source: &Arc<Source>, span: Range<usize>) -> Self {
        Self::Text { source: Arc::clone(source), span: (span.start, span.end) }
    }

    /// The place in one line: `brake.sheet:14:19`, `Book.xlsx ▸ Inputs!C7`, a file, an argument.
    #[must_use]
    pub fn to_text(&self) -> String {
        match self {
            Self::Text { source, span } => {
                let (line, column) = source.line_and_column(span.0);
                format!("{}:{line}:{column}", source.name)
            }
            Self::Cell { book, tab, row, column } if tab.is_empty() => {
                format!("{book} ▸ {}", cell_name(*row, *column))
            }
            Self::Cell { book, tab, row, column } => {
                format!("{book} ▸ {tab}!{}", cell_name(*row, *column))
            }
            Self::File { name } => name.clone(),
            Self::Argument { text } => format!("`{text}`"),
        }
    }
}

/// The name of a cell in the common notation, row and column counted from 0.
///
/// # Example
/// ```
/// assert_eq!(standstill::diagnostic::cell_name(6, 2), "C7");
/// assert_eq!(standstill::diagnostic::cell_name(0, 26), "AA1");
/// ```
#[must_use]
pub fn cell_name(row: u32, column: u32) -> String {
    // written a million times in a product line: from the last sign to the first, without a formatter
    let mut signs = [0_u8; 18];
    let mut from = signs.len();
    let mut put = |sign: u64| {
        from -= 1;
        if let Some(slot) = signs.get_mut(from) {
            *slot = u8::try_from(sign).unwrap_or(b'?');
        }
    };
    let mut number = u64::from(row) + 1;
    while number > 0 {
        put(u64::from(b'0') + number % 10);
        number /= 10;
    }
    let mut rest = u64::from(column) + 1;
    while rest > 0 {
        put(u64::from(b'A') + (rest - 1) % 26);
        rest = (rest - 1) / 26;
    }
    signs.get(from..).unwrap_or_default().iter().copied().map(char::from).collect()
}

/// A secondary place and what stands there.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Label {
    /// Where.
    pub place: Place,
    /// What was found there, such as `length, from line 9`.
    pub words: String,
}

/// One problem: what is the matter, where, and how to put it right.
///
/// # Example
/// ```
/// use standstill::diagnostic::{Diagnostic, Name, Place, render_line};
/// let problem = Diagnostic::error(Name::TextForNumber, "`n_0` (speed of rotation) needs a number, the cell holds the text \"1450rpm\"")
///     .at(Place::Cell { book: "Presses.xlsx".into(), tab: "Inputs".into(), row: 6, column: 2 })
///     .remedy("put 1450 into C7 and r/min into D7");
/// assert!(render_line(&problem).starts_with("Presses.xlsx ▸ Inputs!C7: error text-for-number:"));
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub struct Diagnostic {
    /// How much it weighs.
    pub severity: Severity,
    /// The stable name.
    pub name: Name,
    /// What is the matter, in lower case and without a full stop.
    pub headline: String,
    /// The primary place.
    pub place: Option<Place>,
    /// What stands at the primary place, if more than the headline says.
    pub words: String,
    /// Secondary places.
    pub labels: Vec<Label>,
    /// How to put it right; can be typed as it stands.
    pub remedy: String,
    /// The input that it is about; empty where it is about none.
    pub(crate) input: String,
}

impl Diagnostic {
    /// A problem that stops the work.
    #[must_use]
    pub fn error(name: Name, headline: impl Into<String>) -> Self {
        Self::new(Severity::Error, name, headline)
    }

    /// A problem that the person should look at.
    #[must_use]
    pub fn caution(name: Name, headline: impl Into<String>) -> Self {
        Self::new(Severity::Caution, name, headline)
    }

    fn new(severity: Severity, name: Name, headline: impl Into<String>) -> Self {
        Self {
            severity,
            name,
            headline: headline.into(),
            place: None,
            words: String::new(),
            labels: Vec::new(),
            remedy: String::new(),
            input: String::new(),
        }
    }

    /// Says where.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// Says which input it is about.
    #[must_use]
    pub(crate) fn about(mut self, input: impl Into<String>) -> Self {
        self.input = input.into();
        self
    }

    /// Says what stands at the primary place.
    #[must_use]
    pub fn saying(mut self, words: impl Into<String>) -> Self {
        self.words = words.into();
        self
    }

    /// Adds a secondary place.
    #[must_use]
    pub fn label(mut self, place: Place, words: impl Into<String>) -> Self {
        self.labels.push(Label { place, words: words.into() });
        self
    }

    /// Says how to put it right.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = remedy.into();
        self
    }

    /// Whether this stops the work.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// Puts problems in the order of file and place and drops exact repetitions.
#[allow(clippy::mutable_key_type, reason = "where a source's lines begin is no part of its key")]
pub fn put_in_order(problems: &mut Vec<Diagnostic>) {
    problems.sort_by(|a, b| match (&a.place, &b.place) {
        (Some(x), Some(y)) => x.cmp(y),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => Ordering::Equal,
    });
    let mut seen = std::collections::HashSet::new();
    problems.retain(|problem| seen.insert(problem.clone()));
}
