//! Which cells a formula mentions: a conservative reading of its text, not a parser of formulas.
//!
//! What is not understood is unresolved: the formula may depend on any cell, and is never passed over.

mod calls;
mod catalogue;
pub(crate) mod ends;
mod functions;
mod gathered;
pub(crate) mod link;
pub(crate) mod rests;
mod structured;
pub(crate) mod terms;
mod twice;
mod typed;
pub(crate) mod value;

use calls::Call;
pub(crate) use structured::{Selection, TableRows, with_cells};
pub(crate) use typed::{TOTAL_WORDS, is_number};

use crate::spreadsheet::model::position::{Area, COLUMNS, Position, ROWS};

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
    /// Cells, on the tab named or on the formula's own; `Jan:Dec` names all tabs from one to the other.
    Cells { tab: Option<String>, first: Corner, last: Corner },
    /// A defined name, or the name of a table.
    Name { tab: Option<String>, name: String },
    /// Columns of a table; that in which the formula stands where none is named.
    Table { name: Option<String>, selection: Selection },
    /// Something that may be any cell: `INDIRECT` of another cell's text.
    Unresolved,
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

/// Functions of totals.
const TOTALS: &[&str] = &[
    "SUM", "SUBTOTAL", "AGGREGATE", "AVERAGE", "AVERAGEA", "MAX", "MAXA", "MIN", "MINA", "COUNT",
    "COUNTA", "MEDIAN", "STDEV", "STDEV.S", "STDEV.P", "STDEVP", "VAR", "PRODUCT", "SUMPRODUCT",
    "ROUND", "IFERROR",
];

/// Functions that take one of the cells they look at.
const LOOK_UP: &[&str] = &[
    "INDEX", "LOOKUP", "VLOOKUP", "HLOOKUP", "XLOOKUP", "MATCH", "CHOOSE", "OFFSET", "INDIRECT",
    "IF", "IFS",
];

/// Whether a formula in a column is a total over several cells of that column: `SUM(B5:B8)`, `B5+B6`,
/// `SUMPRODUCT(B5:B8,H5:H8)/SUM(H5:H8)` in B.
pub(crate) fn is_total(formula: &str, column: u32) -> bool {
    let formula = formula.trim_start_matches(['=', '+', ' ']).trim_start_matches("_xlfn.");
    let name = formula.split_once('(').map_or("", |(name, _)| name.trim()).to_ascii_uppercase();
    let of_table = matches!(name.as_str(), "SUBTOTAL" | "AGGREGATE");
    let called = |text: &str| {
        let words = text.split(|it: char| !it.is_ascii_alphanumeric() && it != '.');
        words.map(str::to_ascii_uppercase).collect::<Vec<_>>()
    };
    let looks_up = !TOTALS.contains(&name.as_str())
        && called(formula).iter().any(|word| {
            LOOK_UP.contains(&word.trim_start_matches("_XLFN.").trim_start_matches("_xlfn."))
        });
    let mentions = mentions(formula);
    let rows = mentions.iter().filter_map(|mention| match mention {
        Mention::Cells { tab: None, first, last } => {
            let area = Area::between(first.cell, last.cell);
            let own = (area.first.column..=area.last.column).contains(&column);
            own.then_some(area.first.row..=area.last.row)
        }
        _ => None,
    });
    let of_table = mentions.iter().any(|mention| match mention {
        Mention::Table { selection, .. } => of_table && selection.rows != TableRows::This,
        _ => false,
    });
    // one row behind the other: the cell above and a step of its own are no total
    let mut rows: Vec<_> = rows.collect();
    rows.sort_by_key(|rows| *rows.start());
    let joined = rows.windows(2).all(|two| match two {
        [one, other] => *other.start() == one.end() + 1,
        _ => true,
    });
    let count: u32 =
        rows.iter().map(|rows| rows.end() - rows.start() + 1).fold(0, u32::saturating_add);
    of_table || !looks_up && count > 1 && (joined || TOTALS.contains(&name.as_str()))
}

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
                reading.found.push(Mention::Unresolved);
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

    /// `[1]Tab!A1` of another workbook, `[0]!name` of this one, or a table's column such as `[@Speed]`.
    fn bracket(&mut self) {
        let content = self.bracketed();
        let after = self.rest;
        let word = self.take_word();
        let numbered = !content.is_empty() && content.bytes().all(|b| b.is_ascii_digit());
        if numbered && content == "0" && word.is_empty() && self.rest.starts_with('!') {
            self.skip(1);
            return self.word(None);
        }
        let other_book =
            self.rest.starts_with('!') && (numbered || !word.is_empty()) && !content.contains('[');
        if other_book {
            self.skip(1);
            self.take_word();
            if self.rest.starts_with(':') {
                self.skip(1);
                self.take_word();
            }
        } else {
            self.rest = after;
            self.table(None, content);
        }
    }

    /// A reference to columns of a table by what stands in its brackets.
    fn table(&mut self, name: Option<String>, content: &str) {
        self.found.push(match structured::read(content) {
            Some(selection) => Mention::Table { name, selection },
            None => Mention::Unresolved,
        });
    }

    /// What stands between the brackets that begin here; the rest begins after them.
    fn bracketed(&mut self) -> &'a str {
        self.skip(1);
        let end = structured::closing(self.rest).unwrap_or(self.rest.len());
        let (content, _) = self.rest.split_at_checked(end).unwrap_or((self.rest, ""));
        self.skip((end + 1).min(self.rest.len()));
        content
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
            self.found.push(Mention::Unresolved);
            return;
        }
        self.skip(1);
        let other_book = tab.contains('[');
        let before = self.found.len();
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
            let content = self.bracketed();
            self.table(Some(word.to_owned()), content);
        } else if after.starts_with('(') {
            match calls::look(word, after) {
                Call::Plain => {}
                Call::Anywhere => self.found.push(Mention::Unresolved),
                Call::Known(found, end) => {
                    self.found.extend(found);
                    self.rest = after.get(end..).unwrap_or_default();
                }
            }
        } else if let Some(second) = after.strip_prefix(':') {
            self.range(tab, word, second.trim_start());
        } else if let Some(cell) = corner(word) {
            self.found.push(Mention::Cells { tab, first: cell, last: cell });
        } else if is_name(word) {
            self.found.push(Mention::Name { tab, name: word.to_owned() });
        }
    }

    /// `A1:B2`, `A:B`, `1:2`, or `Jan:Dec!A1`; any other use of the colon may be anything.
    fn range(&mut self, tab: Option<String>, one: &str, second: &'a str) {
        self.rest = second;
        let other = self.take_word();
        if self.rest.starts_with('!') {
            self.skip(1);
            return match tab {
                None => self.word(Some(format!("{one}:{other}"))),
                // `Inputs!A1:Inputs!B2`
                Some(tab) if tab.eq_ignore_ascii_case(other) => {
                    let last = self.take_word();
                    self.ends(Some(tab), one, last, true);
                }
                Some(_) => self.found.push(Mention::Unresolved),
            };
        }
        let clean = !self.rest.starts_with(['(', '[']);
        self.ends(tab, one, other, clean);
        if !clean {
            self.rest = second;
        }
    }

    fn ends(&mut self, tab: Option<String>, one: &str, other: &str, clean: bool) {
        self.found.push(match both(one, other).filter(|_| clean) {
            Some((first, last)) => Mention::Cells { tab, first, last },
            None => Mention::Unresolved,
        });
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
                Mention::Table { name, selection: Selection { rows, columns } } => {
                    let name = name.unwrap_or_default();
                    let columns = columns.map_or(String::new(), |(a, b)| format!("{a}..{b}"));
                    format!("{name}[{rows:?} {columns}]")
                }
                Mention::Unresolved => "*".to_owned(),
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
            ("INDIRECT(\"A1\")+B2", vec!["A1", "B2"]),
            ("INDIRECT(\"'My tab'!A1:B2\",TRUE)", vec!["My tab!A1:B2"]),
            ("INDIRECT(\"R1C1\",FALSE)", vec!["*"]),
            ("INDIRECT(A1)", vec!["*", "A1"]),
            ("INDIRECT(\"A\"&B1)", vec!["*", "B1"]),
            ("INDIRECT(\"n_0\")", vec!["n_0"]),
            ("OFFSET(Inputs!$A$1,2,1)*C1", vec!["Inputs!B3", "C1"]),
            ("SUM(OFFSET(B2,-1,0,3,2))", vec!["B1:C3"]),
            ("OFFSET(A1:A3,,1)", vec!["B1:B3"]),
            ("OFFSET(A1,-1,0)", vec!["*", "A1"]),
            ("OFFSET(A1,B1,0)", vec!["*", "A1", "B1"]),
            ("CELL(\"contents\",A1)", vec!["*", "A1"]),
            ("_xlfn.XLOOKUP(A1,B:B,C:C)", vec!["A1", "B1:B1048576", "C1:C1048576"]),
            ("Table1[[#This Row],[Speed]]*2", vec!["Table1[This Speed..Speed]"]),
            ("SUM(Table1[Speed])", vec!["Table1[Data Speed..Speed]"]),
            ("Table1[[a b]:[c]]+Table1[#All]", vec!["Table1[Data a b..c]", "Table1[All ]"]),
            ("Table1[[#Headers],[Speed '[m'/s']]]", vec!["Table1[Heads Speed [m/s]..Speed [m/s]]"]),
            ("[@Speed]*A2", vec!["[This Speed..Speed]", "A2"]),
            ("[@[a b]]+Line[@[a]:[b]]", vec!["[This a b..a b]", "Line[This a..b]"]),
            ("SUM(Jan:Dec!A1)", vec!["Jan:Dec!A1"]),
            ("SUM('Jan:Dec'!A1:B2)", vec!["Jan:Dec!A1:B2"]),
            ("Inputs!A1:Inputs!B2", vec!["Inputs!A1:B2"]),
            ("[0]!n_0*A1", vec!["n_0", "A1"]),
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
