//! Values written into single fields of a plain text; every other byte stays.

use std::collections::BTreeMap;
use std::ops::Range;

use super::splice::digits;
use super::{Change, Edit, NewValue, Written, ours};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::workbook::delimited::{read, separator};
use crate::workbook::position::Position;

/// Writes values into fields of a `.csv` and keeps every other byte: separator, quotes and line ends of
/// all other fields are those of the owner.
///
/// A line that is too short gets separators up to the field. With `decimal_comma` numbers are written
/// with a comma. A text is written as it is: nothing tells it from a formula, so the caller decides what
/// may begin with `=`.
///
/// # Errors
/// `unreadable-file`; `broken-reference` for a row that the text does not have; `too-large` for a number
/// that is not finite; `ours` if the result does not read back.
///
/// # Example
/// ```
/// use standstill::workbook::{Edit, NewValue, Position, write_fields};
/// let edit = Edit::new("", Position::parse("C2").unwrap(), NewValue::Number(0.5));
/// let written = write_fields("a.csv", b"a;b\r\n\"1\";2\r\n", &[edit], true).unwrap();
/// assert_eq!(written.bytes, b"a;b\r\n\"1\";2;0,5\r\n");
/// ```
pub fn write_fields(
    name: &str,
    original: &[u8],
    edits: &[Edit],
    decimal_comma: bool,
) -> Result<Written, Vec<Diagnostic>> {
    let book = read(name, original, decimal_comma)?;
    let text = std::str::from_utf8(original).unwrap_or_default();
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mark = text.len() - body.len();
    let separator = char::from(separator(body));
    let lines = lines(body, separator);
    let mut by_row: BTreeMap<u32, BTreeMap<u32, &Edit>> = BTreeMap::new();
    for edit in edits {
        by_row.entry(edit.position.row).or_default().insert(edit.position.column, edit);
    }
    let mut out = String::with_capacity(text.len() + 16 * edits.len());
    out.push_str(text.get(..mark).unwrap_or_default());
    let mut from = 0;
    let mut changed = Vec::new();
    let mut problems = Vec::new();
    for (row, edits) in &by_row {
        let Some(fields) = usize::try_from(*row).ok().and_then(|row| lines.get(row)) else {
            let place =
                Place::Cell { book: name.to_owned(), tab: String::new(), row: *row, column: 0 };
            problems.push(
                Diagnostic::error(
                    Name::BrokenReference,
                    format!("the text has no line {}", row + 1),
                )
                .at(place)
                .remedy("choose a line that is there"),
            );
            continue;
        };
        let mut last = fields.len();
        let end = fields.last().map_or(0, |field| field.end);
        for (column, edit) in edits {
            let made = match field(&edit.value, separator, decimal_comma) {
                Some(made) => made,
                None => {
                    let place = Place::Cell {
                        book: name.to_owned(),
                        tab: String::new(),
                        row: *row,
                        column: *column,
                    };
                    problems.push(
                        Diagnostic::error(Name::TooLarge, "a number to be written is not finite")
                            .at(place),
                    );
                    continue;
                }
            };
            let at = usize::try_from(*column).unwrap_or(usize::MAX);
            match fields.get(at) {
                Some(field) => {
                    out.push_str(body.get(from..field.start).unwrap_or_default());
                    from = field.end;
                }
                None => {
                    out.push_str(body.get(from..end).unwrap_or_default());
                    from = end;
                    // an empty line has one empty field already
                    out.extend(std::iter::repeat_n(separator, at + 1 - last));
                    last = at + 1;
                }
            }
            out.push_str(&made);
            let old =
                book.tabs.first().map(|tab| tab.cell(edit.position).clone()).unwrap_or_default();
            changed.push(Change {
                tab: String::new(),
                position: edit.position,
                old,
                new: edit.value.as_cell(),
            });
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    out.push_str(body.get(from..).unwrap_or_default());
    let written = out.get(mark..).unwrap_or_default();
    reads_back(body, written, separator, &by_row, decimal_comma)
        .map_err(|words| vec![ours(name, &words)])?;
    Ok(Written {
        bytes: out.into_bytes(),
        changed,
        to_recalculate: Vec::new(),
        cautions: Vec::new(),
    })
}

/// Every field of the old text stands in the new one unless it was to change, and the others hold what
/// they were to.
fn reads_back(
    old: &str,
    new: &str,
    separator: char,
    edits: &BTreeMap<u32, BTreeMap<u32, &Edit>>,
    decimal_comma: bool,
) -> Result<(), String> {
    let (before, after) = (lines(old, separator), lines(new, separator));
    if before.len() != after.len() {
        return Err("a line has been lost or added".to_owned());
    }
    for (row, (before, after)) in before.iter().zip(&after).enumerate() {
        let edits = u32::try_from(row).ok().and_then(|row| edits.get(&row));
        for (column, field) in after.iter().enumerate() {
            let found = new.get(field.clone()).unwrap_or_default();
            let edit = edits.and_then(|edits| edits.get(&u32::try_from(column).ok()?));
            let wanted = match edit {
                Some(edit) => {
                    self::field(&edit.value, separator, decimal_comma).unwrap_or_default()
                }
                None => before
                    .get(column)
                    .and_then(|field| old.get(field.clone()))
                    .unwrap_or_default()
                    .to_owned(),
            };
            if found != wanted {
                return Err(format!(
                    "{} reads back as {found}",
                    Position::new(
                        u32::try_from(row).unwrap_or(0),
                        u32::try_from(column).unwrap_or(0)
                    )
                    .map_or_else(String::new, Position::name)
                ));
            }
        }
        if after.len() < before.len() {
            return Err("a field has been lost".to_owned());
        }
    }
    Ok(())
}

/// A value as a field; none for a number that is not finite.
pub(in crate::workbook) fn field(
    value: &NewValue,
    separator: char,
    decimal_comma: bool,
) -> Option<String> {
    let plain = match value {
        NewValue::Number(number) if !number.is_finite() => return None,
        NewValue::Number(number) if decimal_comma => digits(*number).replace('.', ","),
        NewValue::Number(number) => digits(*number),
        NewValue::Text(text) => text.clone(),
        NewValue::Truth(truth) => (if *truth { "TRUE" } else { "FALSE" }).to_owned(),
        NewValue::Empty => String::new(),
    };
    let needs_quotes = plain.contains([separator, '"', '\n', '\r'])
        || plain.starts_with(' ')
        || plain.ends_with(' ');
    Some(if needs_quotes { format!("\"{}\"", plain.replace('"', "\"\"")) } else { plain })
}

/// The fields of every line, quotes included, as the reader parts them; an empty line has one.
fn lines(text: &str, separator: char) -> Vec<Vec<Range<usize>>> {
    let mut lines = Vec::new();
    let mut fields = Vec::new();
    let mut start = 0;
    let mut signs = text.char_indices().peekable();
    let (mut quoted, mut was_quoted) = (false, false);
    while let Some((at, sign)) = signs.next() {
        match sign {
            // a doubled quote is one that stays
            '"' if quoted => quoted = signs.next_if(|(_, next)| *next == '"').is_some(),
            '"' if at == start && !was_quoted => {
                quoted = true;
                was_quoted = true;
            }
            _ if quoted => {}
            sign if sign == separator => {
                fields.push(start..at);
                start = at + sign.len_utf8();
                was_quoted = false;
            }
            '\r' | '\n' => {
                fields.push(start..at);
                lines.push(std::mem::take(&mut fields));
                start = at + 1;
                if sign == '\r' && signs.next_if(|(_, next)| *next == '\n').is_some() {
                    start += 1;
                }
                was_quoted = false;
            }
            _ => {}
        }
    }
    if start < text.len() || !fields.is_empty() {
        fields.push(start..text.len());
        lines.push(fields);
    }
    lines
}
