//! What is close to something that we know and is not it: never passed over.

use std::sync::Arc;

use super::label::is_remark_word;
use super::{Binder, CellAt};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Program, Type, nearest};
use crate::unit::{Kind, parse_unit, slips};

/// The word behind `Sheet`, `sheet:`, `shet` and the like, and the rest of the text.
pub(in crate::workbook) fn asked_nearly(text: &str) -> Option<&str> {
    let text = text.trim();
    let end = text.find(|it: char| it.is_whitespace() || matches!(it, ':' | '=' | '-'))?;
    let (first, rest) = text.split_at(end);
    let lower = first.to_lowercase();
    let near = lower == "sheet" || (4..=6).contains(&lower.len()) && slips(&lower, "sheet") <= 1;
    let second = rest
        .trim_start_matches(|it: char| it.is_whitespace() || matches!(it, ':' | '=' | '-'))
        .split(|it: char| it.is_whitespace() || matches!(it, ',' | ';' | ':' | '('))
        .next()?;
    (near && !second.is_empty()).then_some(second)
}

/// Signs that people put around or after a name.
const AROUND: &[char] = &['"', '\'', '“', '”', '„', '`', ':', ';', ',', '.', '=', '(', ')'];

/// The longest run of words from the beginning that is the name of a sheet: `run down (axis 2)` is `run-down`.
fn sheet_among<'n>(words: &str, names: &'n [String]) -> Option<&'n String> {
    let words: Vec<String> = words
        .split([' ', '\u{a0}', '_', '\t'])
        .map(|word| word.trim_matches(AROUND).to_lowercase())
        .filter(|word| !word.is_empty())
        .collect();
    (1..=words.len().min(6)).rev().find_map(|count| {
        let name = words.get(..count)?.join("-");
        names.iter().find(|known| **known == name)
    })
}

/// Whether a text without a value and a unit is meant as a name of the sheet: one slip away, with words around it, or
/// short as a symbol.
pub(super) fn speaks_of(program: &Program, text: &str) -> bool {
    let inputs = program.inputs.iter().map(|input| input.name.as_str());
    let outputs = program.outputs.iter().map(|output| output.name.as_str());
    let known: Vec<&str> = inputs.chain(outputs).chain(["checks"]).collect();
    let bare = text.trim_matches(|sign: char| sign.is_whitespace() || AROUND.contains(&sign));
    let letters =
        |text: &str| text.replace(|sign: char| !sign.is_alphanumeric(), "").to_lowercase();
    let long = bare.chars().count() > 2;
    let near =
        long && nearest(bare, known.iter().copied()).first().is_some_and(|(_, slips)| *slips == 1);
    let alike = known.iter().any(|name| *name == bare || long && letters(name) == letters(bare));
    let is_symbol = !bare.contains(char::is_whitespace)
        && bare.starts_with(char::is_alphabetic)
        && (bare.contains('_') || !long);
    let within = |word: &str| {
        let word = word.trim_matches(AROUND);
        known.contains(&word) && (word.contains('_') || word == "checks")
    };
    // `share, measured`: a name, and behind it what would stand in its brackets
    let remarked = text.split_once([',', ';', ':', '=', '-', '–']).is_some_and(|(name, rest)| {
        known.contains(&name.trim()) && rest.split_whitespace().all(is_remark_word)
    });
    let few = text.split_whitespace().count() <= 4;
    near || alike || is_symbol || remarked || few && text.split_whitespace().any(within)
}

/// A block that was bound.
pub(in crate::workbook) struct Block {
    pub(in crate::workbook) program: Arc<Program>,
    pub(in crate::workbook) sheet: String,
    pub(in crate::workbook) place: Place,
    /// The names of its rows.
    pub(in crate::workbook) taken: Vec<String>,
    /// The cell that names its sheet.
    pub(in crate::workbook) start: CellAt,
}

impl Binder<'_> {
    /// A cell that nearly asks for a sheet: `Sheet run-down`, `sheet: run-down`, `sheet run-down of the saw`, or
    /// `sheet` with the name in the cell beside; the name alone, or among other words, above names of its sheet.
    pub(in crate::workbook) fn nearly_asks(
        &self,
        cell: &CellAt,
        text: &str,
        names: &[String],
    ) -> Option<Diagnostic> {
        let alone = text.trim().trim_end_matches([':', '=']).trim_end();
        let known = if alone.eq_ignore_ascii_case("sheet") {
            self.meant(cell, &self.text_of(&self.beside(cell, 0, 1)?)?, names)?
        } else if let Some(second) = asked_nearly(text) {
            let rest = text.split_at(text.find(second)?).1;
            match sheet_among(rest, names) {
                Some(known) => known.clone(),
                None => self.meant(cell, second, names)?,
            }
        } else {
            // `Machine 2: sheet run-down`; "by the sheet run-down" is prose
            let mut begins = true;
            let mut words = text.split_whitespace().skip_while(|word| {
                let found = begins && word.trim_matches(AROUND).eq_ignore_ascii_case("sheet");
                begins = word.ends_with([':', ';', ',', '-', '–', '.']);
                !found
            });
            let after = words.nth(1).map(|word| word.trim_matches(AROUND));
            let asks = names.iter().any(|known| Some(known.as_str()) == after);
            // spelled as a sheet is, with its hyphens, and hardly more: "Safe stop: results" is a heading
            if text.split_whitespace().count() > 3 && !asks {
                return None;
            }
            let mut words = text.split_whitespace().map(|word| word.trim_matches(AROUND));
            let found = words.find_map(|word| names.iter().find(|known| *known == word))?;
            self.heads_names(cell, found).then(|| found.clone())?
        };
        Some(
            Diagnostic::error(
                Name::UnknownSheet,
                format!("\"{text}\" looks like the name of a sheet and does not read as one"),
            )
            .at(self.place(cell))
            .remedy(format!(
                "write `sheet {known}` into {}, with nothing else",
                cell.position.name()
            )),
        )
    }

    /// The sheet that a word means, by its letters or a slip away.
    fn meant(&self, cell: &CellAt, word: &str, names: &[String]) -> Option<String> {
        if let Some(known) = sheet_among(word, names) {
            return Some(known.clone());
        }
        if self.sheets.checked(word, &self.place(cell)).is_ok() {
            return Some(word.to_owned());
        }
        let wanted = word.to_lowercase().replace('_', "-");
        let near = nearest(&wanted, names.iter().map(String::as_str));
        near.first().filter(|(_, slips)| *slips <= 1).map(|(name, _)| (*name).to_owned())
    }

    /// Whether names of a sheet stand in the rows below a cell.
    fn heads_names(&self, cell: &CellAt, sheet: &str) -> bool {
        let below: Vec<String> = (1..=3)
            .filter_map(|down| self.text_of(&self.beside(cell, down, 0)?))
            .map(|text| super::label(&text).name)
            .collect();
        if below.is_empty() {
            return false;
        }
        let checked = self.sheets.checked(sheet, &self.place(cell)).ok();
        checked.and_then(|checked| checked.program).is_some_and(|program| {
            program.inputs.iter().any(|input| below.contains(&input.name))
                || program.outputs.iter().any(|output| below.contains(&output.name))
        })
    }

    /// Units to the right of a cell and before or above it that differ.
    pub(super) fn two_units(
        &self,
        name: &str,
        kind: Option<&'static Kind>,
        cell: &CellAt,
    ) -> Option<Diagnostic> {
        let right = self.beside(cell, 0, 1)?;
        let right = (self.text_of(&right)?, self.place(&right));
        let beside = [self.beside(cell, 0, -1), self.heading_above(cell)].into_iter().flatten();
        let differs = |beside: CellAt| {
            let unit = super::label(&self.text_of(&beside)?).unit?;
            self.units_differ(name, kind, &right, &(unit, self.place(&beside)))
        };
        let mut beside = beside.filter_map(differs);
        beside.next().or_else(|| self.another_unit_near(name, kind, cell, &right))
    }

    /// Two units of one value that differ; what does not read as a unit is left to the reader of the unit.
    pub(super) fn units_differ(
        &self,
        name: &str,
        kind: Option<&'static Kind>,
        one: &(String, Place),
        other: &(String, Place),
    ) -> Option<Diagnostic> {
        let read = |text: &str| match kind {
            Some(kind) => kind.read_plate(text).ok().or_else(|| parse_unit(text).ok()),
            None => parse_unit(text).ok(),
        };
        let (first, second) = (read(&one.0)?, read(&other.0)?);
        let same = first.is_same(&second);
        if same || one.1 == other.1 {
            return None;
        }
        Some(
            Diagnostic::error(
                Name::UnitMismatch,
                format!("`{name}` has two units: {} and {}", one.0, other.0),
            )
            .at(one.1.clone())
            .label(other.1.clone(), format!("here it is {}", other.0))
            .remedy(format!("take one of them out, or write {} in both places", one.0)),
        )
    }

    /// What the brackets of a label or heading say beside its unit, if that is neither the same unit nor a remark.
    pub(in crate::workbook) fn aside_of(
        &self,
        name: &str,
        kind: Option<&'static Kind>,
        (said, place): &(String, Place),
    ) -> Option<Diagnostic> {
        let reads = match kind {
            Some(kind) => kind.read_plate(said).is_ok() || parse_unit(said).is_ok(),
            None => crate::unit::is_unit(said),
        };
        if reads {
            return None;
        }
        super::label::unclear(name, kind, said).map(|problem| problem.at(place.clone()))
    }

    /// As [`Self::aside_of`], of the label before a bound cell and the heading above it, which may be its owner's own
    /// words: only what counts or measures is asked.
    pub(super) fn measured_aside(
        &self,
        name: &str,
        kind: Option<&'static Kind>,
        cell: &CellAt,
    ) -> Option<Diagnostic> {
        let beside = [self.beside(cell, 0, -1), self.heading_above(cell)].into_iter().flatten();
        let found = beside.filter_map(|beside| {
            let unit = super::label(&self.text_of(&beside)?).unit?;
            let measured = super::label::scales(&unit)
                || unit.contains(|it: char| it.is_ascii_digit() || "²³⁻×·^/".contains(it));
            measured.then(|| self.aside_of(name, kind, &(unit, self.place(&beside))))?
        });
        found.into_iter().next().or_else(|| self.factor_near(name, kind, cell))
    }

    /// Several cells where one is meant; the cells of one merged area are one.
    pub(super) fn one_cell(
        &self,
        name: &str,
        cells: &[CellAt],
        place: Place,
    ) -> Option<Diagnostic> {
        let (first, last) = (cells.first()?, cells.last()?);
        let merged = self.book.tab(&first.tab).and_then(|tab| tab.merged_at(first.position));
        if cells.len() == 1 || merged.is_some_and(|area| area.contains(last.position)) {
            return None;
        }
        Some(
            Diagnostic::error(
                Name::BrokenReference,
                format!("`{name}` is one value, and {} cells are given for it", cells.len()),
            )
            .at(place)
            .remedy(format!(
                "point it to one cell: {} is the first of them",
                first.position.name()
            )),
        )
    }
}

/// Whether a text is one of the words between which an input chooses.
pub(in crate::workbook) fn is_word_of(program: &Program, name: &str, text: &str) -> bool {
    program.inputs.iter().any(|input| match &input.type_ {
        Type::Choice(words) => {
            input.name == name && words.iter().any(|word| word.eq_ignore_ascii_case(text.trim()))
        }
        _ => false,
    })
}
