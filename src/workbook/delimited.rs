//! Plain text with one row a line, its values parted by commas or semicolons.

use super::archive::unreadable;
use super::book::{Book, Entry, Form, Tab};
use super::cell::Cell;
use super::position::Position;
use crate::diagnostic::Diagnostic;

/// Reads a `.csv`; a semicolon parts the values if the first line has more of them than commas.
pub(super) fn read(name: &str, bytes: &[u8], decimal_comma: bool) -> Result<Book, Vec<Diagnostic>> {
    let broken = |words: String| {
        let mut problem = unreadable(name, &words);
        problem.remedy = "save it again as .csv in UTF-8".to_owned();
        vec![problem]
    };
    let text = std::str::from_utf8(bytes)
        .map_err(|error| broken(format!("byte {} is not UTF-8", error.valid_up_to() + 1)))?;
    let text = text.trim_start_matches('\u{feff}');
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator(text))
        .from_reader(text.as_bytes());
    let mut entries = Vec::new();
    let mut record = csv::StringRecord::new();
    let mut row = 0;
    loop {
        // the reader passes over empty lines, which still are rows
        let from = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
        if !reader.read_record(&mut record).map_err(|error| broken(error.to_string()))? {
            break;
        }
        row += empty_lines(text, from);
        for (column, field) in record.iter().enumerate() {
            let column = u32::try_from(column).unwrap_or(u32::MAX);
            let position = Position::new(row, column)
                .ok_or_else(|| broken("it has more rows or columns than a worksheet".to_owned()))?;
            let cell = cell(field, decimal_comma);
            if !cell.is_empty() {
                entries.push(Entry::plain(position, cell));
            }
        }
        row += 1;
    }
    Ok(Book {
        name: name.to_owned(),
        form: Form::Csv,
        tabs: vec![Tab::plain(String::new(), entries)],
        names: Vec::new(),
        signed: false,
        macros: false,
        read_only_recommended: false,
        writable_in_place: false,
    })
}

/// How many empty lines begin at `from`, just behind the previous row.
fn empty_lines(text: &str, from: usize) -> u32 {
    let (before, after) = text.split_at_checked(from).unwrap_or((text, ""));
    let after =
        if before.ends_with('\r') { after.strip_prefix('\n').unwrap_or(after) } else { after };
    let empty = after.bytes().take_while(|byte| matches!(byte, b'\r' | b'\n'));
    u32::try_from(empty.filter(|byte| *byte == b'\n').count()).unwrap_or(u32::MAX)
}

pub(super) fn separator(text: &str) -> u8 {
    let first = text.trim_start().lines().next().unwrap_or_default();
    let bare: String = first.split('"').step_by(2).collect();
    if bare.matches(';').count() > bare.matches(',').count() { b';' } else { b',' }
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
    fn what_is_not_plainly_a_number_stays_text() {
        for field in ["1450rpm", "1'450", "1 450", "inf", "NaN", "1e999", "0x10", "--1", "1.5.2"] {
            assert_eq!(cell(field, false), Cell::Text(field.to_owned()));
        }
    }
}
