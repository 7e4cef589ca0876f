//! Values written into single fields of a plain text; every other byte stays.

use std::collections::BTreeMap;
use std::ops::Range;

use super::splice::digits;
use super::{Change, Edit, NewValue, Written, internal};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::spreadsheet::model::position::Position;
use crate::spreadsheet::read::delimited::{Text, read, row_end};
use crate::unit::never_thousands;

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
/// use standstill::spreadsheet::{Edit, NewValue, Position, write_fields};
/// let edit = Edit::new("", Position::parse("C2").unwrap(), NewValue::Number(0.5));
/// let written = write_fields("a.csv", b"a;b\r\n\"1\";2\r\n", &[edit], true).unwrap();
/// assert_eq!(written.bytes, b"a;b\r\n\"1\";2;0,5\r\n");
/// ```
pub fn write_fields(
    name: &str,
    original: &[u8],
    edits: &[Edit],
    decimal_comma: bool,
) -> Result<Written, Problems> {
    let text = Text::of(name, original, decimal_comma)?;
    let book = read(name, original, decimal_comma)?;
    let mut out = String::with_capacity(original.len() + 16 * edits.len());
    if text.marked {
        out.push('\u{feff}');
    }
    out.push_str(&spliced(name, &text, (text.body, 0), edits)?);
    let changes = edits.iter().map(|edit| Change {
        tab: String::new(),
        position: edit.position,
        old: book.tabs.first().map(|tab| tab.cell(edit.position).clone()).unwrap_or_default(),
        new: edit.value.as_cell(),
    });
    Ok(Written { bytes: out.into_bytes(), changed: changes.collect(), ..Written::default() })
}

/// The new text of whole rows, the first of which is `first`.
pub(super) fn spliced(
    name: &str,
    text: &Text<'_>,
    (body, first): (&str, u32),
    edits: &[Edit],
) -> Result<String, Problems> {
    let (separator, decimal_comma) = (text.separator, text.decimal_comma);
    let lines = lines(body, separator);
    let sign = char::from(separator);
    let place = |row: u32, column: u32| Place::Cell {
        book: name.to_owned(),
        tab: String::new(),
        row,
        column,
    };
    let mut by_row: BTreeMap<u32, BTreeMap<u32, &Edit>> = BTreeMap::new();
    for edit in edits {
        by_row.entry(edit.position.row).or_default().insert(edit.position.column, edit);
    }
    let mut out = String::with_capacity(body.len() + 16 * edits.len());
    let mut from = 0;
    let mut problems = Vec::new();
    for (row, edits) in &by_row {
        let at = row.checked_sub(first).and_then(|row| usize::try_from(row).ok());
        let Some(fields) = at.and_then(|row| lines.get(row)) else {
            problems.push(
                Diagnostic::error(
                    Name::BrokenReference,
                    format!("the text has no line {}", row + 1),
                )
                .at(place(*row, 0))
                .remedy("choose a line that is there"),
            );
            continue;
        };
        let mut last = fields.len();
        let end = fields.last().map_or(0, |field| field.end);
        for (column, edit) in edits {
            let Some(made) = field(&edit.value, sign, decimal_comma) else {
                let words = "a number to be written is not finite";
                problems.push(Diagnostic::error(Name::TooLarge, words).at(place(*row, *column)));
                continue;
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
                    out.extend(std::iter::repeat_n(sign, at + 1 - last));
                    last = at + 1;
                }
            }
            out.push_str(&made);
        }
    }
    if !problems.is_empty() {
        return Err(problems.into());
    }
    out.push_str(body.get(from..).unwrap_or_default());
    reads_back((body, first), &out, text, &by_row).map_err(|words| vec![internal(name, &words)])?;
    Ok(out)
}

/// Every field of the old text stands in the new one unless it was to change, and the others hold what
/// they were to.
fn reads_back(
    (old, first): (&str, u32),
    new: &str,
    text: &Text<'_>,
    edits: &BTreeMap<u32, BTreeMap<u32, &Edit>>,
) -> Result<(), String> {
    let (before, after) = (lines(old, text.separator), lines(new, text.separator));
    if before.len() != after.len() {
        return Err("a line has been lost or added".to_owned());
    }
    for ((row, before), after) in (first..).zip(&before).zip(&after) {
        let edits = edits.get(&row);
        for ((column, field), at) in (0..).zip(after).zip(0_usize..) {
            let found = new.get(field.clone()).unwrap_or_default();
            let edit = edits.and_then(|edits| edits.get(&column));
            let same = match edit {
                Some(edit) => {
                    let sign = char::from(text.separator);
                    self::field(&edit.value, sign, text.decimal_comma).as_deref() == Some(found)
                }
                None => {
                    let known = before.get(at).and_then(|field| old.get(field.clone()));
                    known.unwrap_or_default() == found
                }
            };
            if !same {
                let cell = Position::new(row, column).map_or_else(String::new, Position::name);
                return Err(format!("{cell} reads back as {found}"));
            }
        }
        if after.len() < before.len() {
            return Err("a field has been lost".to_owned());
        }
    }
    Ok(())
}

/// A value as a field; none for a number that is not finite.
pub(crate) fn field(value: &NewValue, separator: char, decimal_comma: bool) -> Option<String> {
    let plain = match value {
        NewValue::Number(number) if !number.is_finite() => return None,
        NewValue::Number(number) => {
            let plain = never_thousands(digits(*number));
            if decimal_comma { plain.replace('.', ",") } else { plain }
        }
        NewValue::Text(text) => text.clone(),
        NewValue::Truth(truth) => (if *truth { "TRUE" } else { "FALSE" }).to_owned(),
        NewValue::Empty => String::new(),
    };
    let needs_quotes = plain.contains([separator, '"', '\n', '\r'])
        || plain.starts_with(' ')
        || plain.ends_with(' ');
    Some(if needs_quotes { format!("\"{}\"", plain.replace('"', "\"\"")) } else { plain })
}

/// The fields of every line, quotes included, as the reader parts them.
fn lines(text: &str, separator: u8) -> Vec<Vec<Range<usize>>> {
    let mut lines = Vec::new();
    let mut from = 0;
    while from < text.len() {
        let mut fields = Vec::new();
        from = row_end(text, from, separator, &mut |field| fields.push(field));
        lines.push(fields);
    }
    lines
}
