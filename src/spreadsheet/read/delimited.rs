//! Plain text with one row a line, its values parted by commas, semicolons or tabs.

use std::ops::Range;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Name, Place, Problems, cell_name};
use crate::spreadsheet::model::book::{Book, Entry, Form, Tab};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::position::Position;
use crate::spreadsheet::read::archive::unreadable;
use crate::unit::{is_decimal, may_be_thousands};

/// Lines that are looked at for what parts the values.
const LINES: usize = 100;

/// Reads a `.csv`, its values parted by commas, semicolons or tabs.
pub(crate) fn read(name: &str, bytes: &[u8], decimal_comma: bool) -> Result<Book, Problems> {
    let text = Text::of(name, bytes, decimal_comma)?;
    let entries = text.entries(text.body, 0).map_err(|words| vec![broken(name, &words)])?;
    Ok(book(name, Tab::plain(String::new(), entries), decimal_comma))
}

/// A `.csv` with one tab.
pub(crate) fn book(name: &str, tab: Tab, decimal_comma: bool) -> Book {
    Book { decimal_comma, ..Book::plain(name, Form::Csv, vec![tab]) }
}

/// The text of a `.csv` and how it is to be read.
#[derive(Clone)]
pub(crate) struct Text<'a> {
    /// All of it but the byte order mark.
    pub(crate) body: &'a str,
    pub(crate) marked: bool,
    pub(crate) separator: u8,
    pub(crate) decimal_comma: bool,
    /// Where the numbers show that the point is a decimal point; elsewhere `1.450` stays a text.
    pointed: Pointed,
}

impl<'a> Text<'a> {
    pub(crate) fn of(name: &str, bytes: &'a [u8], decimal_comma: bool) -> Result<Self, Problems> {
        let text = std::str::from_utf8(bytes).map_err(|error| {
            vec![broken(name, &format!("byte {} is not UTF-8", error.valid_up_to() + 1))]
        })?;
        let body = text.strip_prefix('\u{feff}').unwrap_or(text);
        let separator = separator(body, decimal_comma);
        // a decimal comma that is said is no question
        let pointed = if decimal_comma { Pointed::default() } else { pointed(body, separator) };
        Ok(Self { body, marked: body.len() < text.len(), separator, decimal_comma, pointed })
    }

    /// The cells of whole rows, the first of which is `first`. Where the rows and fields are cut, the
    /// library and [`row_end`] must agree.
    pub(crate) fn entries(&self, rows: &str, first: u32) -> Result<Vec<Entry>, String> {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.separator)
            .from_reader(rows.as_bytes());
        let mut entries = Vec::new();
        let mut record = csv::StringRecord::new();
        let (mut from, mut row) = (0, first);
        while from < rows.len() {
            let (mut fields, mut filled, mut last) = (0, false, 0..0);
            from = row_end(rows, from, self.separator, &mut |field| {
                fields += 1;
                filled |= fields > 1 || !field.is_empty();
                last = field;
            });
            // only at the end of the text may a field still lack its second quote
            let last = rows.get(last).filter(|_| from == rows.len()).unwrap_or_default();
            if last.starts_with('"') && last.matches('"').count() % 2 == 1 {
                let column = u32::try_from(fields - 1).unwrap_or(u32::MAX);
                let cell = cell_name(row, column);
                return Err(format!("the quote before {cell} is opened and not closed"));
            }
            // the library passes over empty lines, which still are rows
            if filled {
                let read = reader.read_record(&mut record).map_err(|error| error.to_string())?;
                if !read || record.len() != fields {
                    return Err(format!("its line {} can be read in two ways", row + 1));
                }
                // looked at where a number asks for it alone
                let pointed = |column: usize| {
                    self.decimal_comma || self.pointed.at(column, value_of_its_own(record.iter()))
                };
                for (at, field) in record.iter().enumerate() {
                    let column = u32::try_from(at).unwrap_or(u32::MAX);
                    let position = Position::new(row, column)
                        .ok_or("it has more rows or columns than a worksheet")?;
                    let cell = match cell(field, self.decimal_comma) {
                        Cell::Number(_) if may_be_thousands(field).is_some() && !pointed(at) => {
                            Cell::Text(field.to_owned())
                        }
                        cell => cell,
                    };
                    if !cell.is_empty() {
                        entries.push(Entry::plain(position, cell));
                    }
                }
            }
            row += 1;
        }
        Ok(entries)
    }
}

pub(crate) fn broken(name: &str, words: &str) -> Diagnostic {
    let mut problem = unreadable(name, words);
    problem.remedy = if words.contains("quote") {
        "close the quote behind the value, or take it out".to_owned()
    } else {
        "save it again as .csv in UTF-8".to_owned()
    };
    problem
}

/// The rows of variants that have more fields than their headings: what stands in which column is open then,
/// as where a comma is the decimal mark and parts the values as well.
///
/// # Errors
/// `unreadable-file` where the bytes are not UTF-8.
pub(crate) fn wider_than_headings(
    name: &str,
    bytes: &[u8],
    decimal_comma: bool,
    header: u32,
    variants: &[u32],
) -> Result<Vec<Diagnostic>, Problems> {
    let text = Text::of(name, bytes, decimal_comma)?;
    let mut problems = Vec::new();
    let (mut from, mut row, mut headings) = (0, 0, u32::MAX);
    while from < text.body.len() {
        let mut fields = 0_u32;
        from = row_end(text.body, from, text.separator, &mut |_| fields = fields.saturating_add(1));
        if row == header {
            headings = fields;
        }
        if fields > headings && row > header && variants.binary_search(&row).is_ok() {
            let place =
                Place::Cell { book: name.to_owned(), tab: String::new(), row, column: headings };
            let words =
                format!("row {} has {fields} values, and {headings} headings stand above", row + 1);
            problems.push(Diagnostic::error(Name::UnknownRow, words).at(place).remedy(
                "write one value for each heading; if commas are decimal marks, part the values with semicolons, headings too, as `standstill range --decimal-comma` alone reads them",
            ));
        }
        row += 1;
    }
    Ok(problems)
}

/// The end, with its line end, of the row that begins at `from`; `field` receives where each of its fields
/// stands, quotes included. An empty line has one.
pub(crate) fn row_end(
    text: &str,
    from: usize,
    separator: u8,
    field: &mut dyn FnMut(Range<usize>),
) -> usize {
    let bytes = text.as_bytes();
    let (mut at, mut start, mut quoted) = (from, from, false);
    while let Some(byte) = bytes.get(at) {
        let next = bytes.get(at + 1);
        match byte {
            // a doubled quote is one that stays
            b'"' if quoted && next == Some(&b'"') => at += 1,
            b'"' if quoted => quoted = false,
            b'"' if at == start => quoted = true,
            _ if quoted => {}
            byte if *byte == separator => {
                field(start..at);
                start = at + 1;
            }
            b'\r' | b'\n' => {
                field(start..at);
                return at + 1 + usize::from(*byte == b'\r' && next == Some(&b'\n'));
            }
            _ => {}
        }
        at += 1;
    }
    field(start..at);
    at
}

/// A semicolon if the first line that has either has more of them than commas; where the decimal mark is a
/// comma, if any of the first lines has one. A tab where the first line that has any of the three has more tabs.
fn separator(text: &str, decimal_comma: bool) -> u8 {
    let count = |line: &str| {
        let bare: String = line.split('"').step_by(2).collect();
        (bare.matches(';').count(), bare.matches(',').count(), bare.matches('\t').count())
    };
    let counts = || text.lines().take(LINES).map(count);
    let first = counts().find(|found| *found != (0, 0, 0)).unwrap_or_default();
    if first.2 > first.0.max(first.1) {
        return b'\t';
    }
    let mut lines = counts().map(|(semicolons, commas, _)| (semicolons, commas));
    let semicolon = if decimal_comma {
        lines.any(|(semicolons, _)| semicolons > 0)
    } else {
        lines.find(|found| *found != (0, 0)).is_some_and(|(one, other)| one > other)
    };
    if semicolon { b';' } else { b',' }
}

/// Where the numbers of a `.csv` show that the point is a decimal point.
#[derive(Clone, Default)]
struct Pointed {
    /// The columns of tables, the numbers of each of one quantity.
    columns: Arc<[bool]>,
    /// The values that stand in a row of their own, where all are written with three digits behind the point.
    alone: bool,
}

impl Pointed {
    fn at(&self, column: usize, alone: bool) -> bool {
        if alone { self.alone } else { self.columns.get(column) == Some(&true) }
    }
}

/// Whether a row is one value with its unit, as in a block: what stands above and below it in its column is another
/// quantity, whose notation shows nothing of this one.
fn value_of_its_own<'a>(fields: impl Iterator<Item = &'a str>) -> bool {
    let (mut numbers, mut behind) = (0, false);
    for field in fields.map(str::trim).filter(|it| !it.is_empty()) {
        match number(field, false) {
            Some(_) => numbers += 1,
            None => behind |= numbers > 0,
        }
    }
    numbers == 1 && behind
}

/// See [`Pointed`]; nothing where no number asks for it.
fn pointed(body: &str, separator: u8) -> Pointed {
    let mut columns = Vec::new();
    let (mut thirds, mut others) = (false, false);
    let asks =
        |field: &str| field.bytes().any(|it| it == b'.') && may_be_thousands(field).is_some();
    let mut fields = body.split([char::from(separator), '\n', '\r', '"']);
    if !fields.any(asks) {
        return Pointed::default();
    }
    let mut from = 0;
    while from < body.len() {
        let mut row = Vec::new();
        from = row_end(body, from, separator, &mut |field| {
            row.push(body.get(field).unwrap_or_default().trim().trim_matches('"').trim());
        });
        let alone = value_of_its_own(row.iter().copied());
        for (column, field) in row.into_iter().enumerate() {
            if !is_decimal(field) || number(field, false).is_none() {
                continue;
            }
            if alone {
                let third = field.rsplit_once('.').is_some_and(|(_, digits)| digits.len() == 3);
                thirds |= third;
                others |= !third;
            } else {
                columns.resize(columns.len().max(column + 1), false);
                if let Some(pointed) = columns.get_mut(column) {
                    *pointed = true;
                }
            }
        }
    }
    Pointed { columns: columns.into(), alone: thirds && !others }
}

fn cell(field: &str, decimal_comma: bool) -> Cell {
    let bare = field.trim();
    match bare {
        "" => return Cell::Empty,
        "TRUE" => return Cell::Truth(true),
        "FALSE" => return Cell::Truth(false),
        _ => {}
    }
    match number(bare, decimal_comma) {
        Some(number) => Cell::Number(number),
        None => Cell::Text(field.to_owned()),
    }
}

/// A plain number: sign, digits, at most one decimal mark, exponent; nothing grouped.
fn number(text: &str, decimal_comma: bool) -> Option<f64> {
    let (mark, other) = if decimal_comma { (',', '.') } else { ('.', ',') };
    let plain = |c: char| c.is_ascii_digit() || "+-eE".contains(c) || c == mark;
    if text.contains(other) || !text.chars().all(plain) {
        return None;
    }
    text.replace(mark, ".").parse().ok().filter(|number: &f64| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str, decimal_comma: bool) -> Vec<(String, Cell)> {
        let book = read("a.csv", text.as_bytes(), decimal_comma).unwrap();
        let tab = book.tabs[0].clone();
        tab.entries().map(|entry| (entry.position.name(), entry.cell.clone())).collect()
    }

    #[test]
    fn a_decimal_comma_counts_only_when_it_is_said() {
        let text = "speed;time\n1450;0,25\n";
        assert_eq!(cells(text, true)[3], ("B2".to_owned(), Cell::Number(0.25)));
        assert_eq!(cells(text, false)[3], ("B2".to_owned(), Cell::Text("0,25".to_owned())));
    }

    #[test]
    fn a_point_with_three_digits_behind_it_is_a_number_where_its_column_shows_what_it_is() {
        let text = |text: &str| Cell::Text(text.to_owned());
        for (column, first) in [
            (["1.450", "950", "1500"], text("1.450")),
            (["1.450", "1.500", "2.250"], text("1.450")),
            (["1.450", "0.321", "2.250"], Cell::Number(1.45)),
            (["1.450", "950.5", "1"], Cell::Number(1.45)),
            (["1.450", "1450.125", ""], Cell::Number(1.45)),
            (["\"1.450\"", "\"1.5\"", ""], Cell::Number(1.45)),
            (["1.1250", "950", "1500"], Cell::Number(1.125)),
        ] {
            let [a, b, c] = column;
            let found = cells(&format!("name,n,o\nA,{a},0.5\nB,{b},1.5\nC,{c},2.5\n"), false);
            assert_eq!(found[4], ("B2".to_owned(), first), "{column:?}");
        }
        let said = cells("n;t\n1,450;2\n", true);
        assert_eq!(said[2], ("A2".to_owned(), Cell::Number(1.45)));
    }

    #[test]
    fn a_value_in_a_row_of_its_own_is_not_settled_by_other_quantities() {
        let first = |text: &str| cells(text, false)[1].1.clone();
        let asked = Cell::Text("1.450".to_owned());
        assert_eq!(first("n_0,1.450,r/min\nJ,0.35,kg·m²\n"), asked);
        assert_eq!(first("n_0,1.450,r/min\nT_0,4.2,N·m\n\nx,P_n / kW,i\na,0.75,1.5\n"), asked);
        // written by a program, all with three digits
        assert_eq!(first("n_0,1.450,r/s\nJ,0.350,kg·m²\n"), Cell::Number(1.45));
        assert_eq!(first("n_0,1.450,r/s\nJ,0.350,kg·m²\nT_0,4.2,N·m\n"), asked);
    }

    #[test]
    fn empty_lines_are_rows_and_quotes_hold_separators() {
        let found = cells("\u{feff}a,\"b,c\"\r\n\r\n\n1.5e3,TRUE\n", false);
        let text = |text: &str| Cell::Text(text.to_owned());
        assert_eq!(
            found,
            [
                ("A1".to_owned(), text("a")),
                ("B1".to_owned(), text("b,c")),
                ("A4".to_owned(), Cell::Number(1500.0)),
                ("B4".to_owned(), Cell::Truth(true)),
            ]
        );
    }

    #[test]
    fn what_parts_the_values_is_seen_in_the_first_line_that_has_any() {
        let found = cells("sheet run-down\n\nT_0;4,5;N·m\n", true);
        assert_eq!(found[2], ("B3".to_owned(), Cell::Number(4.5)));
        let found = cells("sheet run-down\nT_0;4.5;N·m\n", false);
        assert_eq!(found[2], ("B2".to_owned(), Cell::Number(4.5)));
        let found = cells("sheet run-down\n\"a;b;c\",d\n", false);
        assert_eq!(found[2], ("B2".to_owned(), Cell::Text("d".to_owned())));
    }

    #[test]
    fn line_ends_of_all_kinds_are_rows() {
        let found = cells("a\r\r\"b\r\nc\"\n\n\r\nd", false);
        let places: Vec<&str> = found.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(places, ["A1", "A3", "A6"]);
        assert_eq!(found[1].1, Cell::Text("b\r\nc".to_owned()));
    }

    #[test]
    fn what_is_not_plainly_a_number_stays_text() {
        for field in ["1450rpm", "1'450", "1 450", "inf", "NaN", "1e999", "0x10", "--1", "1.5.2"] {
            assert_eq!(cell(field, false), Cell::Text(field.to_owned()));
        }
    }
}
