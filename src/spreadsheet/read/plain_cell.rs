//! Cells as nearly all are stored, `<c r="B12" s="3"><v>12.5</v></c>` and
//! `<c r="A12" t="inlineStr"><is><t>V9</t></is></c>`, found without a reader of XML.
//!
//! Every other cell, and every cell that anything is wrong with, is left to the reader. A long tab is
//! scanned several times on its way through `fill` and `range`; event by event that was most of their
//! time.

use crate::spreadsheet::model::position::{COLUMNS, Position};
use crate::spreadsheet::read::cell_span::{CellSpan, Kind};

/// The cell that the text begins with, its offsets counted from `at`, and what is left of the text;
/// none where it is not plain, or not the next of its row.
pub(crate) fn plain_cell(text: &[u8], at: u32, row: u32, next: u32) -> Option<(CellSpan, &[u8])> {
    let offset = |rest: &[u8]| Some(at + u32::try_from(text.len().checked_sub(rest.len())?).ok()?);
    let mut rest = text.strip_prefix(b"<c")?;
    let mut cell = CellSpan {
        position: Position { row, column: next },
        start: at,
        tag_end: at,
        end: at,
        style: 0,
        kind: Kind::Number,
        value: (0, 0),
        formula: None,
        filled: false,
    };
    let empty = loop {
        match rest {
            [b'>', after @ ..] => {
                rest = after;
                break false;
            }
            [b'/', b'>', after @ ..] => {
                rest = after;
                break true;
            }
            [b' ', name, b'=', b'"', after @ ..] => {
                let length = after.iter().position(|byte| *byte == b'"')?;
                let (value, behind) = after.split_at_checked(length)?;
                match name {
                    b'r' => cell.position.column = column_in(value, row)?,
                    b's' => cell.style = whole(value)?,
                    b't' => cell.kind = kind(value)?,
                    _ => return None,
                }
                rest = behind.strip_prefix(b"\"")?;
            }
            _ => return None,
        }
    };
    if cell.position.column < next || cell.position.column >= COLUMNS {
        return None;
    }
    cell.tag_end = offset(rest)?;
    if !empty && cell.kind == Kind::InlineText {
        let (text, behind) = text_in_place(rest)?;
        cell.filled = !text.is_empty();
        rest = behind.strip_prefix(b"</c>")?;
    } else if !empty {
        let inner = rest.strip_prefix(b"<v>")?;
        let (value, behind) = plain_text(inner)?;
        cell.filled = !value.is_empty();
        let behind = behind.strip_prefix(b"</v>")?;
        cell.value = (cell.tag_end, offset(behind)?);
        rest = behind.strip_prefix(b"</c>")?;
    }
    cell.end = offset(rest)?;
    Some((cell, rest))
}

/// A text written in place, as it stands, and what is behind its element.
pub(crate) fn text_in_place(element: &[u8]) -> Option<(&[u8], &[u8])> {
    let inner = element.strip_prefix(b"<is><t")?;
    let inner = inner.strip_prefix(b" xml:space=\"preserve\"").unwrap_or(inner);
    let (text, behind) = plain_text(inner.strip_prefix(b">")?)?;
    Some((text, behind.strip_prefix(b"</t></is>")?))
}

/// What stands before the next tag, if a reader of XML would find nothing to do in it.
fn plain_text(text: &[u8]) -> Option<(&[u8], &[u8])> {
    let length = text.iter().position(|byte| matches!(byte, b'<' | b'&' | b'>' | b'\r'))?;
    text.split_at_checked(length)
}

/// The column in the name of a cell of that row, counted from 0.
fn column_in(name: &[u8], row: u32) -> Option<u32> {
    let letters = name.iter().take_while(|byte| byte.is_ascii_uppercase()).count();
    let (letters, digits) = name.split_at_checked(letters)?;
    if letters.is_empty() || letters.len() > 3 || whole(digits)?.checked_sub(1)? != row {
        return None;
    }
    let number = letters.iter().fold(0, |all, byte| all * 26 + u32::from(byte - b'A') + 1);
    number.checked_sub(1)
}

/// A whole number in plain digits, as short as any that is needed here.
fn whole(digits: &[u8]) -> Option<u32> {
    if digits.is_empty() || digits.len() > 9 {
        return None;
    }
    digits
        .iter()
        .try_fold(0, |all, byte| byte.is_ascii_digit().then(|| all * 10 + u32::from(byte - b'0')))
}

fn kind(word: &[u8]) -> Option<Kind> {
    match word {
        b"n" => Some(Kind::Number),
        b"s" => Some(Kind::SharedText),
        b"inlineStr" => Some(Kind::InlineText),
        b"str" => Some(Kind::FormulaText),
        b"b" => Some(Kind::Truth),
        b"e" => Some(Kind::Error),
        _ => None,
    }
}
