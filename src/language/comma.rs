//! A comma between two digits, which is no decimal mark here: `3,2 t`.

use std::sync::Arc;

use super::scan::continues_word;
use super::tree::Span;
use super::words::is_reserved;
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::unit::{choice, split_quantity};

/// What is said of an entry that does not read on at a comma between two digits, or behind it.
pub(super) fn within_a_number(source: &Arc<Source>, entry: &Span, at: usize) -> Option<Diagnostic> {
    let text = source.text.get(entry.start..entry.end)?;
    let at = at.checked_sub(entry.start)?;
    let comma = if text.get(at..)?.starts_with(',') { at } else { at.checked_sub(1)? };
    let behind = text.get(comma..)?.strip_prefix(',')?;
    let before = text.get(..comma)?;
    let is_number = |sign: char| sign.is_ascii_digit() || sign == '.';
    let start = before.trim_end_matches(is_number).len();
    let digit = |text: &str| text.starts_with(|sign: char| sign.is_ascii_digit());
    if !digit(before.get(start..)?)
        || !digit(behind)
        || before.get(..start)?.ends_with(continues_word)
    {
        return None;
    }
    let fraction = behind.len() - behind.trim_start_matches(|it| is_number(it) || it == ',').len();
    let number = behind.get(..fraction)?.trim_end_matches(',');
    let mut end = comma + 1 + number.len();
    let rest = text.get(end..)?;
    let unit = rest.trim_start_matches([' ', '\u{a0}', '\u{202f}', '\u{2009}']);
    let ends = |sign: char| sign.is_whitespace() || matches!(sign, '"' | ',' | ')' | '#' | ':');
    let token = unit.get(..unit.find(ends).unwrap_or(unit.len()))?;
    if token.starts_with(|sign: char| sign.is_alphabetic() || matches!(sign, '°' | '%' | '‰'))
        && !is_reserved(token)
        && token != "normal"
    {
        end += rest.len() - unit.len() + token.len();
    }
    let typed = text.get(start..end)?;
    let problem = split_quantity(typed).err()?;
    let mut meant = problem.meant(typed);
    if text.contains("series of") || before.contains('(') {
        meant.push(typed.replace(',', ", "));
    }
    let place = Place::text(source, entry.start + start..entry.start + end);
    let found = Diagnostic::error(Name::UnreadableLine, problem.headline()).at(place);
    Some(found.remedy(match meant.is_empty() {
        true => problem.remedy,
        false => choice(&meant),
    }))
}

/// Where a list ends that goes on at a comma: before a word of the language, a note or the end of its line.
pub(super) fn end_of_list(source: &Arc<Source>, entry: &Span, comma: usize) -> usize {
    let text = source.text.get(comma..entry.end).unwrap_or_default();
    let (mut end, mut at) = (comma, comma);
    for piece in text.split_inclusive(char::is_whitespace) {
        let word = piece.trim_end();
        if is_reserved(word) && word != "in" || word.starts_with(['"', '#']) {
            break;
        }
        if !word.is_empty() {
            end = at + word.len();
        }
        at += piece.len();
    }
    end
}
