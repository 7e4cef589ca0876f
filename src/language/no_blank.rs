//! A number straight before letters, and what may be meant by it: `5mm`, `3s`, `2x`, `2pi`, `1OOO`.

use std::collections::BTreeSet;

use super::layout::{Block, Entry};
use super::scan::{continues_word, is_superscript};
use super::words::{is_built_in, is_reserved};
use crate::unit::{KINDS, parse_unit};

/// The words that a sheet may call something by, as far as they stand in its text.
#[derive(Debug, Default)]
pub(super) struct Names {
    own: BTreeSet<String>,
    /// Inputs of groups are named in files of their own.
    groups: bool,
}

impl Names {
    /// Inputs, lines and aliases, parameters of functions and of searches.
    pub(super) fn of(text: &str, entries: &[Entry]) -> Self {
        let mut names = Self::default();
        for entry in entries {
            let line = text.get(entry.span.clone()).unwrap_or_default();
            let words: Vec<&str> = words(line).collect();
            names.groups |=
                entry.block == Block::Takes && words.iter().take(2).any(|it| *it == "group");
            names.own.extend(words.first().map(|it| (*it).to_owned()));
            if entry.block != Block::Works {
                continue;
            }
            let head = line.split_once('=').map_or("", |(head, _)| head);
            let parameters = head.split_once('(').map_or("", |(_, inside)| inside);
            names.own.extend(self::words(parameters).map(str::to_owned));
            let bound = words.windows(2).filter_map(|pair| match pair {
                ["for" | "running", name] => Some((*name).to_owned()),
                _ => None,
            });
            names.own.extend(bound);
        }
        names.own.retain(|it| !is_reserved(it));
        names
    }

    fn has(&self, word: &str) -> bool {
        self.own.contains(word) || is_built_in(word) || word == "π"
    }
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|sign| !continues_word(sign)).filter(|it| !it.is_empty())
}

/// What to write for a number with letters straight behind it, and how many bytes that stands for.
///
/// `unit` is what would be read as its unit, `before` the entry up to the number, `text` from the number on. A product
/// never becomes a quantity: where the letters are a name, it is the product that is offered.
pub(super) fn meant(
    (number, unit): (&str, &str),
    (before, text): (&str, &str),
    block: Block,
    names: &Names,
) -> (usize, String) {
    let word = words(unit).next().filter(|it| unit.starts_with(it)).unwrap_or_default();
    let is_unit = parse_unit(unit).is_ok();
    let literal = stands_alone(before, block);
    let whole = number.len() + unit.len();
    let quantity = match unit {
        "C" | "F" => format!("`{number} °{unit}` for a temperature, or `{number} {unit}`"),
        _ => format!("`{number} {unit}`"),
    };
    if !literal && names.has(word) {
        let (length, product) = product(number, before, text);
        return match is_unit {
            true => (
                length,
                format!(
                    "write {product} if the name is meant; if the unit is, write {quantity}, and give what is called so another name"
                ),
            ),
            false => (length, format!("write {product}")),
        };
    }
    if is_unit && names.groups && !literal {
        let (_, product) = product(number, before, text);
        return (
            whole,
            format!(
                "write {quantity} for the unit, or {product} if an input of a group is called so"
            ),
        );
    }
    let digits = digits(unit).map(|digits| format!("`{number}{digits}`, with digits for letters"));
    let remedy = match (digits, is_unit) {
        (Some(digits), true) => format!("write {digits}, or {quantity}"),
        (Some(digits), false) => format!("write {digits}"),
        (None, true) => format!("write {quantity}"),
        (None, false) => return unknown((number, unit), (before, text), literal),
    };
    (whole, remedy)
}

/// Letters that are neither a name nor a unit of sheets: as plates write one, a slip, or a name that is to come.
fn unknown(
    (number, unit): (&str, &str),
    (before, text): (&str, &str),
    literal: bool,
) -> (usize, String) {
    let whole = number.len() + unit.len();
    if let Some(plate) = KINDS.iter().find_map(|kind| kind.unit_of_plate(unit)) {
        return (whole, format!("write `{number} {}`", plate.symbol));
    }
    // `5mm*x`: the unit ends before the sign
    let signs = unit.match_indices(['*', '·', '×', '⋅', '/']);
    let split =
        signs.rev().find(|(at, _)| unit.get(..*at).is_some_and(|it| parse_unit(it).is_ok()));
    if let Some((at, sign)) = split {
        let (first, rest) = (unit.get(..at).unwrap_or_default(), unit.get(at + sign.len()..));
        return (whole, format!("write `{number} {first} {sign} {}`", rest.unwrap_or_default()));
    }
    let near = parse_unit(unit).err().and_then(|it| it.nearest.into_iter().next());
    match (near, literal) {
        (Some(near), true) => (whole, format!("did you mean `{number} {near}`?")),
        (None, true) => (
            whole,
            "a unit stands behind the number and a blank; `standstill list units` shows all units"
                .to_owned(),
        ),
        (_, false) => {
            let (length, product) = product(number, before, text);
            (length, format!("write {product} for a name, or a unit behind a blank"))
        }
    }
}

/// The product that is meant, in backticks; in parentheses where it stands below a line or in a power. A factor of 1 is
/// left out, and of 0 nobody knows what is meant.
pub(crate) fn product(number: &str, before: &str, text: &str) -> (usize, String) {
    let behind = text.get(number.len()..).unwrap_or_default();
    let part =
        |text: &str, is: &dyn Fn(char) -> bool| text.find(|sign| !is(sign)).unwrap_or(text.len());
    let mut end = part(behind, &continues_word);
    let after = |end: usize| behind.get(end..).unwrap_or_default();
    if let Some(result) = after(end).strip_prefix('.') {
        end += 1 + part(result, &continues_word);
    }
    let name = match behind.get(..end).unwrap_or_default() {
        "π" => "pi",
        name => name,
    };
    let product = match number.parse::<f64>() {
        Ok(0.0) => format!("… * {name}"),
        Ok(1.0) => name.to_owned(),
        _ => format!("{number} * {name}"),
    };
    if !before.trim_end().ends_with(['/', '^']) {
        return (number.len() + end, format!("`{product}`"));
    }
    if after(end).starts_with('(') {
        return (number.len() + end, format!("`({product}(…))`"));
    }
    let mut power = part(after(end), &is_superscript);
    if let Some(raised) = after(end).strip_prefix('^') {
        power = 1 + part(raised, &|sign| continues_word(sign) || sign == '.');
    }
    let raised = after(end).get(..power).unwrap_or_default();
    (number.len() + end + power, format!("`({product}{raised})`"))
}

/// Whether a number stands where no formula can: a default, an example, a row of a table.
fn stands_alone(before: &str, block: Block) -> bool {
    match block {
        Block::Works => words(before).next() == Some("table"),
        Block::Takes => {
            let spaced = before.replace('=', " = ");
            let clause = spaced.split_whitespace().rev();
            clause
                .into_iter()
                .find(|it| ["=", "like", "from", "to", "above", "below"].contains(it))
                .is_some_and(|it| ["=", "like"].contains(&it))
        }
        _ => false,
    }
}

/// The digits that letters are taken for: `1OOO`.
fn digits(letters: &str) -> Option<String> {
    let digit = |letter: char| match letter {
        'O' | 'o' => Some('0'),
        'l' | 'I' => Some('1'),
        _ => Some(letter).filter(char::is_ascii_digit),
    };
    letters.chars().map(digit).collect()
}
