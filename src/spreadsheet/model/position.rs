//! Where a cell stands, and rectangles of cells, within the bounds of a worksheet.

use crate::diagnostic::cell_name;

/// Rows of a worksheet; exact, ECMA-376 Part 1, SpreadsheetML limits of the common office suites.
pub const ROWS: u32 = 1_048_576;
/// Columns of a worksheet (A to XFD); exact, same source.
pub const COLUMNS: u32 = 16_384;

/// The place of a cell on its tab, row and column counted from 0.
///
/// # Example
/// ```
/// use standstill::spreadsheet::Position;
/// let cell = Position::parse("C7").unwrap();
/// assert_eq!((cell.row, cell.column), (6, 2));
/// assert_eq!(cell.name(), "C7");
/// assert!(Position::parse("XFE1").is_none());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position {
    /// Row, counted from 0.
    pub row: u32,
    /// Column, counted from 0.
    pub column: u32,
}

impl Position {
    /// A place within the bounds of a worksheet, or none.
    #[must_use]
    pub fn new(row: u32, column: u32) -> Option<Self> {
        (row < ROWS && column < COLUMNS).then_some(Self { row, column })
    }

    /// Reads the common notation, `C7` or `$C$7`, in capital or small letters.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let (column, rest) = letters(text.strip_prefix('$').unwrap_or(text))?;
        let row = digits(rest.strip_prefix('$').unwrap_or(rest))?;
        Self::new(row, column)
    }

    /// The common notation, `C7`.
    #[must_use]
    pub fn name(self) -> String {
        cell_name(self.row, self.column)
    }

    /// The letters of its column, `C`.
    pub(crate) fn column_name(self) -> String {
        cell_name(0, self.column).trim_end_matches('1').to_owned()
    }
}

/// A rectangle of cells, both corners included.
///
/// # Example
/// ```
/// use standstill::spreadsheet::{Area, Position};
/// let area = Area::parse("$B$2:C7").unwrap();
/// assert!(area.contains(Position::parse("C7").unwrap()));
/// assert_eq!(area.cells(), 12);
/// assert_eq!(area.name(), "B2:C7");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Area {
    /// The upper left cell.
    pub first: Position,
    /// The lower right cell.
    pub last: Position,
}

impl Area {
    /// The rectangle spanned by two cells, in any order.
    #[must_use]
    pub fn between(one: Position, other: Position) -> Self {
        Self {
            first: Position { row: one.row.min(other.row), column: one.column.min(other.column) },
            last: Position { row: one.row.max(other.row), column: one.column.max(other.column) },
        }
    }

    /// The smallest rectangle that holds both.
    pub(crate) fn with(self, other: Self) -> Self {
        Self {
            first: Position {
                row: self.first.row.min(other.first.row),
                column: self.first.column.min(other.first.column),
            },
            last: Position {
                row: self.last.row.max(other.last.row),
                column: self.last.column.max(other.last.column),
            },
        }
    }

    /// Reads `B2`, `B2:C7`, whole columns `B:C` or whole rows `2:7`, with or without `$`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let Some((one, other)) = text.split_once(':') else {
            let cell = Position::parse(text)?;
            return Some(Self::between(cell, cell));
        };
        if let (Some(one), Some(other)) = (Position::parse(one), Position::parse(other)) {
            return Some(Self::between(one, other));
        }
        let bare = |end: &str| end.strip_prefix('$').unwrap_or(end).to_owned();
        let (one, other) = (bare(one), bare(other));
        if let (Some((left, "")), Some((right, ""))) = (letters(&one), letters(&other)) {
            return Some(Self::between(Position::new(0, left)?, Position::new(ROWS - 1, right)?));
        }
        let (top, bottom) = (digits(&one)?, digits(&other)?);
        Some(Self::between(Position::new(top, 0)?, Position::new(bottom, COLUMNS - 1)?))
    }

    /// Whether the cell lies inside.
    #[must_use]
    pub fn contains(&self, cell: Position) -> bool {
        (self.first.row..=self.last.row).contains(&cell.row)
            && (self.first.column..=self.last.column).contains(&cell.column)
    }

    /// How many cells it has.
    #[must_use]
    pub fn cells(&self) -> u64 {
        u64::from(self.last.row - self.first.row + 1)
            * u64::from(self.last.column - self.first.column + 1)
    }

    /// Whether it is a single cell.
    #[must_use]
    pub fn is_single(&self) -> bool {
        self.first == self.last
    }

    /// The common notation, `B2:C7`, or `B2` for a single cell.
    #[must_use]
    pub fn name(&self) -> String {
        if self.is_single() {
            self.first.name()
        } else {
            format!("{}:{}", self.first.name(), self.last.name())
        }
    }
}

/// Areas of a tab that do not overlap, found quickly by a cell.
#[derive(Clone, Debug, Default)]
pub(crate) struct Areas {
    /// By their first row, each with a number of its owner's.
    areas: Vec<(Area, usize)>,
    /// The height of the highest.
    height: u32,
}

impl Areas {
    pub(crate) fn new(mut areas: Vec<(Area, usize)>) -> Self {
        areas.sort_unstable();
        let heights = areas.iter().map(|(area, _)| area.last.row - area.first.row);
        Self { height: heights.max().unwrap_or(0), areas }
    }

    /// The area that covers the cell, and its number.
    pub(crate) fn at(&self, cell: Position) -> Option<(Area, usize)> {
        let earliest = cell.row.saturating_sub(self.height);
        let from = self.areas.partition_point(|(area, _)| area.first.row < earliest);
        let near = self.areas.iter().skip(from);
        let mut near = near.take_while(|(area, _)| area.first.row <= cell.row);
        near.find(|(area, _)| area.contains(cell)).copied()
    }
}

/// A column from its letters, and what follows them.
fn letters(text: &str) -> Option<(u32, &str)> {
    let end = text.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(text.len());
    let (name, rest) = text.split_at_checked(end)?;
    if name.is_empty() || name.len() > 3 {
        return None;
    }
    let number = name
        .bytes()
        .fold(0, |sum, letter| sum * 26 + u32::from(letter.to_ascii_uppercase() - b'A') + 1);
    (number <= COLUMNS).then_some((number - 1, rest))
}

/// A row, counted from 0, from its number.
fn digits(text: &str) -> Option<u32> {
    if text.is_empty() || text.len() > 7 || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    text.parse::<u32>().ok()?.checked_sub(1).filter(|row| *row < ROWS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_cell_is_read_and_the_next_is_not() {
        let last = Position::parse("XFD1048576").unwrap();
        assert_eq!((last.row, last.column), (ROWS - 1, COLUMNS - 1));
        for beyond in
            ["XFE1", "A1048577", "A0", "ZZZZZZZZZ2", "A99999999999", "A", "7", "", "A-1", "A1 "]
        {
            assert_eq!(Position::parse(beyond), None, "{beyond}");
        }
    }

    #[test]
    fn names_survive_the_way_there_and_back() {
        for name in ["A1", "Z9", "AA10", "AZ52", "XFD1048576", "ZZ702"] {
            assert_eq!(Position::parse(name).unwrap().name(), name);
        }
    }

    #[test]
    fn the_area_around_a_cell_is_found_among_many() {
        let named = ["B2:C3", "E1:E9", "A5", "C5:D7"];
        let areas = named.iter().enumerate().map(|(at, name)| (Area::parse(name).unwrap(), at));
        let areas = Areas::new(areas.collect());
        for (cell, expected) in
            [("C3", Some(0)), ("E9", Some(1)), ("A5", Some(2)), ("D7", Some(3)), ("C4", None)]
        {
            let found = areas.at(Position::parse(cell).unwrap());
            assert_eq!(found.map(|(_, at)| at), expected, "{cell}");
        }
    }

    #[test]
    fn whole_columns_and_rows_are_areas() {
        assert_eq!(Area::parse("$B:$C").unwrap().name(), "B1:C1048576");
        assert_eq!(Area::parse("2:7").unwrap().name(), "A2:XFD7");
        assert_eq!(Area::parse("C7:B2").unwrap().name(), "B2:C7");
        assert_eq!(Area::parse("B2:"), None);
        assert_eq!(Area::parse("B2:3"), None);
    }
}
