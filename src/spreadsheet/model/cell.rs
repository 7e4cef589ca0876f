//! What a cell shows: each kind has its own answer and none becomes a default.

use std::fmt;

/// What a cell holds, or shows as the result of its formula.
#[derive(Clone, Debug, PartialEq, Default)]
pub enum Cell {
    /// Nothing, or a formula whose result was not saved. Empty is not zero.
    #[default]
    Empty,
    /// A number; a percentage is its fraction, 12.5 % is 0.125.
    Number(f64),
    /// A text.
    Text(String),
    /// TRUE or FALSE.
    Truth(bool),
    /// An error as it is shown, such as `#DIV/0!`.
    Error(String),
    /// A date, a clock time or a duration, written out: `2026-11-25`, `2026-11-25 06:30:00`,
    /// `PT6H30M`.
    Date(String),
}

impl Cell {
    /// Whether the cell holds nothing.
    ///
    /// # Example
    /// ```
    /// use standstill::spreadsheet::Cell;
    /// assert!(Cell::Empty.is_empty());
    /// assert!(!Cell::Number(0.0).is_empty());
    /// ```
    #[must_use]
    pub fn is_empty(&self) -> bool {
        matches!(self, Self::Empty)
    }
}

impl fmt::Display for Cell {
    /// The content in words for a message: `the number 0.5`, `the text "1450rpm"`, `nothing`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => out.write_str("nothing"),
            Self::Number(number) => write!(out, "the number {number}"),
            Self::Text(text) => write!(out, "the text \"{text}\""),
            Self::Truth(true) => out.write_str("TRUE"),
            Self::Truth(false) => out.write_str("FALSE"),
            Self::Error(error) => write!(out, "the error {error}"),
            Self::Date(date) => write!(out, "the date or time {date}"),
        }
    }
}
