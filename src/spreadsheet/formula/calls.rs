//! Functions that lead to cells by a text or by an offset: resolved where their arguments are constant.

use super::{Corner, Mention, mentions};
use crate::spreadsheet::model::position::{COLUMNS, ROWS};

/// Functions whose result may come from any cell.
const ANYWHERE: &[&str] = &["INDIRECT", "OFFSET", "CELL", "GETPIVOTDATA", "EVALUATE", "INFO"];

/// What a call leads to.
pub(super) enum Call {
    /// Nothing but its arguments.
    Plain,
    /// Cells that are known; so many bytes of the text, from the bracket on, are its arguments.
    Known(Vec<Mention>, usize),
    /// Any cell.
    Anywhere,
}

/// Looks at a call; `text` begins with the bracket of its arguments.
pub(super) fn look(name: &str, text: &str) -> Call {
    let plain = name.trim_start_matches("_xlfn.").trim_start_matches("_xlws.").to_ascii_uppercase();
    if !ANYWHERE.contains(&plain.as_str()) {
        return Call::Plain;
    }
    let known = arguments(text).and_then(|(arguments, end)| {
        let found = match plain.as_str() {
            "INDIRECT" => indirect(&arguments),
            "OFFSET" => offset(&arguments),
            _ => None,
        };
        Some(Call::Known(found?, end))
    });
    known.unwrap_or(Call::Anywhere)
}

/// The arguments between brackets, and where the closing bracket ends.
fn arguments(text: &str) -> Option<(Vec<&str>, usize)> {
    let (mut depth, mut quote, mut begin) = (0_u32, None, 0);
    let mut found = Vec::new();
    for (at, sign) in text.char_indices() {
        match (quote, sign) {
            (Some(open), _) if sign == open => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(sign),
            (None, '(' | '{' | '[') => {
                depth += 1;
                if depth == 1 {
                    begin = at + 1;
                }
            }
            (None, ',') if depth == 1 => {
                found.push(text.get(begin..at)?.trim());
                begin = at + 1;
            }
            (None, ')' | '}' | ']') => {
                depth = depth.checked_sub(1)?;
                if depth == 0 {
                    found.push(text.get(begin..at)?.trim());
                    return Some((found, at + 1));
                }
            }
            _ => {}
        }
    }
    None
}

/// `INDIRECT("Inputs!C7")`: a constant text in the usual way of naming cells.
fn indirect(arguments: &[&str]) -> Option<Vec<Mention>> {
    let (text, way) = match arguments {
        [text] => (text, "TRUE"),
        [text, way] => (text, *way),
        _ => return None,
    };
    if !way.is_empty() && !way.eq_ignore_ascii_case("true") && way != "1" {
        return None;
    }
    let inside = text.strip_prefix('"')?.strip_suffix('"')?;
    if inside.is_empty() || inside.contains('"') {
        return None;
    }
    let mut found = mentions(inside);
    for mention in &mut found {
        match mention {
            // a text does not move with the formula
            Mention::Cells { first, last, .. } => {
                *first = Corner { row_fixed: true, column_fixed: true, ..*first };
                *last = Corner { row_fixed: true, column_fixed: true, ..*last };
            }
            Mention::Name { .. } | Mention::Table { .. } => {}
            Mention::Unresolved => return None,
        }
    }
    (!found.is_empty()).then_some(found)
}

/// `OFFSET(Inputs!C7, 2, 0)` and with a height and a width, all of them constant.
fn offset(arguments: &[&str]) -> Option<Vec<Mention>> {
    let (reference, rest) = arguments.split_first()?;
    if reference.contains(['(', '[', '+', '&']) || !(2..=4).contains(&rest.len()) {
        return None;
    }
    let found = mentions(reference);
    let [Mention::Cells { tab, first, last }] = found.as_slice() else { return None };
    let number = |at: usize| match rest.get(at) {
        Some(text) if !text.is_empty() => text.parse::<i64>().ok().map(Some),
        _ => Some(None),
    };
    let (rows, columns) = (number(0)?.unwrap_or(0), number(1)?.unwrap_or(0));
    let size = |one: u32, other: u32| i64::from(one.abs_diff(other)) + 1;
    let height = number(2)?.unwrap_or(size(first.cell.row, last.cell.row));
    let width = number(3)?.unwrap_or(size(first.cell.column, last.cell.column));
    let moved = |at: u32, by: i64, end: u32| {
        u32::try_from(i64::from(at).checked_add(by)?).ok().filter(|at| *at < end)
    };
    if height < 1 || width < 1 {
        return None;
    }
    let mut begin = *first;
    begin.cell.row = moved(first.cell.row.min(last.cell.row), rows, ROWS)?;
    begin.cell.column = moved(first.cell.column.min(last.cell.column), columns, COLUMNS)?;
    let mut end = begin;
    end.cell.row = moved(begin.cell.row, height - 1, ROWS)?;
    end.cell.column = moved(begin.cell.column, width - 1, COLUMNS)?;
    Some(vec![Mention::Cells { tab: tab.clone(), first: begin, last: end }])
}
