//! Which cells a formula mentions: a conservative reading of its text, not a parser of formulas.
//!
//! What is not understood counts as mentioning everything, so that a dependent is never missed.

use super::position::{Area, COLUMNS, Position, ROWS};

/// One corner of a mentioned area; a fixed row or column carries a `$`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Corner {
    pub(crate) cell: Position,
    pub(crate) row_fixed: bool,
    pub(crate) column_fixed: bool,
}

/// Something a formula speaks of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Mention {
    /// Cells, on the tab named or on the formula's own.
    Cells { tab: Option<String>, first: Corner, last: Corner },
    /// A defined name, or the name of a table.
    Name { tab: Option<String>, name: String },
    /// Something that may be any cell: `INDIRECT`, a table's column, a span of tabs.
    Everything,
}

impl Corner {
    /// The corner as a formula shifted by so many rows and columns sees it.
    fn shifted(self, rows: i64, columns: i64) -> Position {
        let moved = |at: u32, by: i64, fixed: bool, size: u32| {
            let by = if fixed { 0 } else { by };
            u32::try_from((i64::from(at) + by).rem_euclid(i64::from(size))).unwrap_or(at)
        };
        Position {
            row: moved(self.cell.row, rows, self.row_fixed, ROWS),
            column: moved(self.cell.column, columns, self.column_fixed, COLUMNS),
        }
    }
}

/// The area between two corners, for a formula shifted by so many rows and columns.
pub(crate) fn shifted(first: Corner, last: Corner, rows: i64, columns: i64) -> Area {
    Area::between(first.shifted(rows, columns), last.shifted(rows, columns))
}

/// Functions whose result may come from any cell.
const ANYWHERE: &[&str] = &["INDIRECT", "OFFSET", "CELL", "GETPIVOTDATA", "EVALUATE", "INFO"];

/// Everything the formula mentions, in its order.
pub(crate) fn mentions(formula: &str) -> Vec<Mention> {
    let mut reading = Reading { rest: formula, found: Vec::new() };
    while let Some(next) = reading.rest.chars().next() {
        match next {
            '"' => drop(reading.quoted('"')),
            '\'' => {
                let tab = reading.quoted('\'');
                reading.after_tab(tab);
            }
            '[' => reading.bracket(),
            '#' => reading.skip_while(|c| c.is_ascii_alphanumeric() || "#/!?".contains(c)),
            ':' => {
                reading.found.push(Mention::Everything);
                reading.skip(1);
            }
            c if is_word(c) => reading.word(None),
            c => reading.skip(c.len_utf8()),
        }
    }
    reading.found
}

struct Reading<'a> {
    rest: &'a str,
    found: Vec<Mention>,
}

impl<'a> Reading<'a> {
    fn skip(&mut self, bytes: usize) {
        self.rest = self.rest.get(bytes..).unwrap_or_default();
    }

    fn skip_while(&mut self, keep: impl Fn(char) -> bool) {
        self.rest = self.rest.trim_start_matches(keep);
    }

    /// The text between quotes, doubled quotes undone; the rest begins after it.
    fn quoted(&mut self, quote: char) -> String {
        let mut text = String::new();
        self.skip(1);
        while let Some(c) = self.rest.chars().next() {
            self.skip(c.len_utf8());
            if c == quote {
                if !self.rest.starts_with(quote) {
                    break;
                }
                self.skip(1);
            }
            text.push(c);
        }
        text
    }

    /// `[1]Tab!A1` of another workbook, or a table's column such as `[@Speed]`.
    fn bracket(&mut self) {
        let content = self.bracketed();
        let word = self.take_word();
        let other_book = !word.is_empty() && self.rest.starts_with('!')
            || content.bytes().all(|b| b.is_ascii_digit()) && self.rest.starts_with('!');
        if other_book {
            self.skip(1);
            self.take_word();
            if self.rest.starts_with(':') {
                self.skip(1);
                self.take_word();
            }
        } else {
            self.found.push(Mention::Everything);
        }
    }

    fn bracketed(&mut self) -> String {
        let mut depth = 0_u32;
        let mut text = String::new();
        while let Some(c) = self.rest.chars().next() {
            self.skip(c.len_utf8());
            match c {
                '\'' => {
                    let escaped = self.rest.chars().next().map_or(0, char::len_utf8);
                    self.skip(escaped);
                }
                '[' => depth += 1,
                ']' if depth <= 1 => break,
                ']' => depth -= 1,
                _ => text.push(c),
            }
        }
        text
    }

    fn take_word(&mut self) -> &'a str {
        let end = self.rest.find(|c| !is_word(c)).unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at_checked(end).unwrap_or((self.rest, ""));
        self.rest = rest;
        word
    }

    /// What follows a quoted tab name.
    fn after_tab(&mut self, tab: String) {
        if !self.rest.starts_with('!') {
            self.found.push(Mention::Everything);
            return;
        }
        self.skip(1);
        let other_book = tab.contains('[');
        let before = self.found.len();
        if tab.contains(':') && !other_book {
            self.found.push(Mention::Everything);
        }
        self.word(Some(tab));
        if other_book {
            self.found.truncate(before);
        }
    }

    fn word(&mut self, tab: Option<String>) {
        let word = self.take_word();
        let after = self.rest.trim_start();
        if self.rest.starts_with('!') && tab.is_none() {
            self.skip(1);
            return self.word(Some(word.to_owned()));
        }
        if self.rest.starts_with('[') {
            self.bracketed();
            self.found.push(Mention::Everything);
        } else if after.starts_with('(') {
            let plain = word.trim_start_matches("_xlfn.").trim_start_matches("_xlws.");
            if ANYWHERE.contains(&plain.to_ascii_uppercase().as_str()) {
                self.found.push(Mention::Everything);
            }
        } else if let Some(second) = after.strip_prefix(':') {
            self.range(tab, word, second.trim_start());
        } else if let Some(cell) = corner(word) {
            self.found.push(Mention::Cells { tab, first: cell, last: cell });
        } else if is_name(word) {
            self.found.push(Mention::Name { tab, name: word.to_owned() });
        }
    }

    /// `A1:B2`, `A:B` or `1:2`; any other use of the colon may be anything.
    fn range(&mut self, tab: Option<String>, one: &str, second: &'a str) {
        self.rest = second;
        let other = self.take_word();
        let clean = !self.rest.starts_with(['!', '(', '[']);
        let ends = both(one, other).filter(|_| clean);
        match ends {
            Some((first, last)) => self.found.push(Mention::Cells { tab, first, last }),
            None => self.found.push(Mention::Everything),
        }
        if !clean {
            self.rest = second;
        }
    }
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric()
        || matches!(c, '_' | '.' | '\\' | '?' | '$')
        || (!c.is_ascii() && !c.is_whitespace())
}

fn is_name(word: &str) -> bool {
    let begins = word.starts_with(|c: char| c.is_alphabetic() || c == '_' || c == '\\');
    begins
        && !matches!(word.to_ascii_uppercase().as_str(), "TRUE" | "FALSE")
        && !word.starts_with("_xlpm.")
}

pub(crate) fn corner(word: &str) -> Option<Corner> {
    let cell = Position::parse(word)?;
    let column_fixed = word.starts_with('$');
    Some(Corner { cell, column_fixed, row_fixed: word.get(1..)?.contains('$') })
}

/// Both corners of `A1:B2`, `A:B`, `1:2`.
pub(crate) fn both(one: &str, other: &str) -> Option<(Corner, Corner)> {
    if let (Some(first), Some(last)) = (corner(one), corner(other)) {
        return Some((first, last));
    }
    let area = Area::parse(&format!("{one}:{other}"))?;
    let columns = area.last.row == ROWS - 1 && area.first.row == 0;
    let fixed = |word: &str| word.starts_with('$');
    let end = |cell, word| Corner {
        cell,
        row_fixed: columns || fixed(word),
        column_fixed: !columns || fixed(word),
    };
    Some((end(area.first, one), end(area.last, other)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(formula: &str) -> Vec<String> {
        mentions(formula)
            .into_iter()
            .map(|mention| match mention {
                Mention::Cells { tab, first, last } => {
                    let area = shifted(first, last, 0, 0).name();
                    tab.map_or(area.clone(), |tab| format!("{tab}!{area}"))
                }
                Mention::Name { tab: None, name } => name,
                Mention::Name { tab: Some(tab), name } => format!("{tab}!{name}"),
                Mention::Everything => "*".to_owned(),
            })
            .collect()
    }

    #[test]
    fn mentions_are_found_in_formulas_of_every_shape() {
        for (formula, expected) in [
            ("A1+$B$2*2", vec!["A1", "B2"]),
            ("SUM(A1:B3)/COUNT(C:C)+SUM(2:3)", vec!["A1:B3", "C1:C1048576", "A2:XFD3"]),
            ("Inputs!C7*'My ''own'' tab'!$D$4:$D$9", vec!["Inputs!C7", "My 'own' tab!D4:D9"]),
            ("IF(A1>0,\"A2 is \"\"B3\"\" high\",B4)", vec!["A1", "B4"]),
            ("n_0*2*PI()/60", vec!["n_0"]),
            ("Inputs!n_0", vec!["Inputs!n_0"]),
            ("INDIRECT(\"A1\")", vec!["*"]),
            ("_xlfn.XLOOKUP(A1,B:B,C:C)", vec!["A1", "B1:B1048576", "C1:C1048576"]),
            ("Table1[[#This Row],[Speed]]*2", vec!["*"]),
            ("[@Speed]*A2", vec!["*", "A2"]),
            ("SUM(Jan:Dec!A1)", vec!["*", "Dec!A1"]),
            ("SUM('Jan:Dec'!A1)", vec!["*", "Jan:Dec!A1"]),
            ("[1]Sheet1!A1+A2", vec!["A2"]),
            ("'[1]My tab'!A1:B2+A2", vec!["A2"]),
            ("A1:INDEX(B1:B9,3)", vec!["*", "B1:B9"]),
            ("#REF!+1.5E+3+TRUE", vec![]),
            ("{1,2;3,4}*A1#", vec!["A1"]),
            ("LOG10(A1)", vec!["A1"]),
            ("_xlfn.LET(_xlpm.x,A1,_xlpm.x*2)", vec!["A1"]),
            ("µ_grün*2", vec!["µ_grün"]),
        ] {
            assert_eq!(words(formula), expected, "{formula}");
        }
    }

    #[test]
    fn a_shared_formula_moves_only_what_is_not_fixed() {
        let found = mentions("$A1+B$2");
        let moved: Vec<String> = found
            .iter()
            .map(|mention| match mention {
                Mention::Cells { first, last, .. } => shifted(*first, *last, 3, 1).name(),
                _ => String::new(),
            })
            .collect();
        assert_eq!(moved, ["A4", "C2"]);
    }
}
