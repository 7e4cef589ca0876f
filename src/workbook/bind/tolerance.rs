//! The tolerance of an input: in its own cell, beside it, in a column, and what only looks like one.

use super::change::is_of_thing;
use super::words::{is_made, is_taken};
use super::{Binder, CellAt};
use crate::calculation::{has_tolerance, is_tolerance, scale, tolerance_begins, unsettled};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::Input;
use crate::spreadsheet::Cell;
use crate::unit::{Kind, parse_unit};

/// A unit, and where it is written.
pub(super) type Unit<'a> = Option<&'a (String, Place)>;

/// Where the tolerance of an input stands.
#[derive(Clone, Debug)]
pub(in crate::workbook) enum ToleranceAt {
    /// In one of the two cells to the right of the value, if it reads as one.
    Beside,
    /// In this cell, if it is not empty.
    In(CellAt),
    /// Written here.
    Said(String, Place),
    /// In the cell of the value, or nowhere.
    Nowhere,
}

impl Binder<'_> {
    /// A text beside a value that is meant as its tolerance and is not read as one.
    pub(super) fn nearly_tolerance(
        &self,
        input: &Input,
        kind: &'static Kind,
        value: &CellAt,
        unit: Unit<'_>,
        tolerance: &ToleranceAt,
    ) -> Option<Diagnostic> {
        // where a heading says the column of the tolerances, the cells between belong to others
        let (look, beside) = match tolerance {
            ToleranceAt::Beside => (1..=5, true),
            ToleranceAt::Said(..) => (1..=2, false),
            ToleranceAt::In(_) | ToleranceAt::Nowhere => return None,
        };
        for right in look {
            let Some(cell) = self.beside(value, 0, right) else { break };
            let Some(text) = self.text_of(&cell) else { continue };
            let place = self.place(&cell);
            let is_unit = unit.is_some_and(|(_, at)| *at == place);
            // further away a range may stand, such as a form's `from 0 r/min`
            let (taken, stray) = match (beside, right <= 2) {
                (true, true) => (
                    self.is_tolerance_beside(Some(kind), value, &text),
                    is_nearly_tolerance(kind, &text)
                        && !self.is_condition(Some(kind), value, &text)
                        && !self.says_again(kind, value, unit, &text)
                        && !self.is_beyond(kind, value, unit, &text)
                        && !self.is_end_of(input, value, unit, &text)
                        || speaks_of_tolerance(input, &text)
                        || !is_tolerance(&text) && self.spans(kind, value, unit, &text),
                ),
                (true, false) => (false, is_tolerance(&text) && !text.starts_with("from")),
                (false, _) => (false, is_tolerance(&text)),
            };
            if taken || is_unit || !stray {
                continue;
            }
            let words = format!(
                "\"{text}\" looks like the tolerance of `{}` and is not read as one",
                input.name
            );
            return Some(Diagnostic::error(Name::UnreadableQuantity, words).at(place).remedy(
                "write `± 5 %` or `+20 ms -0 ms` into the cell after the unit, once; begin it with `note:` if it is a remark",
            ));
        }
        None
    }

    /// Whether a text beside a value of a kind is its tolerance.
    pub(super) fn is_tolerance_beside(
        &self,
        kind: Option<&'static Kind>,
        value: &CellAt,
        text: &str,
    ) -> bool {
        is_tolerance(text) && !self.is_condition(kind, value, text)
    }

    /// Whether a text says under what the value holds: a share of a thing that is named, `+10 % volt`, or a span of another
    /// kind, one that falls, `from 24 V to 0 V`, `from 100 % to 10 %`, or whose figures do not enclose that of the value,
    /// `-10…+40 °C`; else the unit may be wrong.
    fn is_condition(&self, kind: Option<&'static Kind>, value: &CellAt, text: &str) -> bool {
        if let (Some(kind), Some((_, behind))) = (kind, text.rsplit_once('%'))
            && is_of_thing(kind, behind)
        {
            return true;
        }
        let of_another = || {
            let (low, high) = match text.strip_prefix("from ") {
                Some(rest) => rest.rsplit_once(" to ")?,
                None => {
                    [" to ", " bis ", "…", "...", ".."].iter().find_map(|it| text.split_once(it))?
                }
            };
            // `from 50 Hz to 0: 0.5 s`
            let high = high.split(": ").next()?;
            let (digits, _, unit) =
                crate::unit::split_quantity(high.trim().trim_start_matches('+')).ok()?;
            let of_low = low.trim().rsplit_once(' ').map_or("", |it| it.1);
            let unit = if unit.is_empty() { of_low } else { unit };
            let said = parse_unit(unit).ok().filter(|_| !unit.is_empty())?;
            if kind.is_some_and(|kind| kind.read_plate(unit).is_ok()) {
                return None;
            }
            let low = low.split(' ').next()?.replace(',', ".").replace('−', "-");
            let low = low.parse::<f64>().ok()?;
            let high: f64 = digits.to_string().parse().ok()?;
            let encloses = |it: f64| (low.min(high)..=low.max(high)).contains(&it);
            let held = match self.cell(value) {
                Cell::Number(number) => Some(*number),
                _ => None,
            };
            let outside = || !said.zero.is_zero() || held.is_some_and(|it| !encloses(it));
            let apart = high < low || unit != "%" && outside();
            apart.then_some(())
        };
        of_another().is_some()
    }

    /// The text of a cell that holds a value with its tolerance: `350 ms ± 10 ms`.
    pub(super) fn with_tolerance(&self, cell: &CellAt) -> Option<&str> {
        match self.cell(cell) {
            Cell::Text(text) if has_tolerance(text) => Some(text),
            _ => None,
        }
    }

    /// The tolerance of a value as it stands outside its cell: `± 10 ms`.
    pub(super) fn tolerance(
        &self,
        input: &Input,
        value: &CellAt,
        at: &ToleranceAt,
    ) -> Result<Option<(String, Place)>, Diagnostic> {
        let found = self.tolerance_text(input, value, at)?;
        match &found {
            Some((text, place)) => match unsettled(input, text) {
                Some(problem) => Err(problem.at(place.clone())),
                None => Ok(found),
            },
            None => Ok(None),
        }
    }

    pub(super) fn tolerance_text(
        &self,
        input: &Input,
        value: &CellAt,
        at: &ToleranceAt,
    ) -> Result<Option<(String, Place)>, Diagnostic> {
        let text_at = |cell: &CellAt| Some((self.text_of(cell)?, self.place(cell)));
        match at {
            ToleranceAt::Nowhere => Ok(None),
            ToleranceAt::Said(text, place) => Ok(Some((text.clone(), place.clone()))),
            ToleranceAt::Beside => Ok([1, 2].into_iter().find_map(|right| {
                let found = text_at(&self.beside(value, 0, right)?);
                found.filter(|(text, _)| self.is_tolerance_beside(input.kind, value, text))
            })),
            ToleranceAt::In(cell) => match self.cell(cell) {
                Cell::Empty => Ok(None),
                Cell::Text(text) if text.trim().is_empty() => Ok(None),
                // below a heading for tolerances an amount is one without its sign
                Cell::Text(text) if is_amount(input, text) => {
                    Ok(Some((format!("± {}", text.trim()), self.place(cell))))
                }
                Cell::Text(text) => Ok(Some((text.trim().to_owned(), self.place(cell)))),
                Cell::Number(share) if self.shows_percent(cell) => {
                    let percent = scale::hundredfold(*share).unwrap_or(f64::NAN);
                    Ok(Some((format!("± {percent} %"), self.place(cell))))
                }
                other => Err(Diagnostic::error(
                    Name::UnreadableQuantity,
                    format!(
                        "the tolerance of `{}` is a text with its unit, the cell holds {other}",
                        input.name
                    ),
                )
                .at(self.place(cell))
                .remedy(match other {
                    Cell::Number(number) => format!(
                        "write `± {number} {}` or `± {number} %`, whichever is meant",
                        input.unit.symbol
                    ),
                    _ => "write `± 10 ms`, `± 3 %`, `+20 ms -0 ms` or `from 340 ms to 360 ms`"
                        .to_owned(),
                })),
            },
        }
    }
}

/// What is said of a tolerance with words behind it: `± 0.1 N·m measured`.
pub(super) fn with_words(
    input: &Input,
    text: &str,
    reads: &dyn Fn(&str) -> bool,
) -> Option<Diagnostic> {
    let blanks = text.match_indices(char::is_whitespace).rev();
    let mut before = blanks.filter_map(|(at, _)| text.get(..at).map(str::trim_end));
    let alone = before.find(|it| reads(it))?;
    let words =
        format!("\"{text}\" begins as the tolerance of `{}` and goes on in words", input.name);
    Some(Diagnostic::error(Name::UnreadableQuantity, words).remedy(format!(
        "write `{alone}` alone, and the words into another cell; if all of it is a remark, put a word before it"
    )))
}

/// Whether a text is an amount without a sign of a tolerance: `5 %`, `10 ms`.
fn is_amount(input: &Input, text: &str) -> bool {
    let reads = |unit: &str| {
        matches!(unit, "" | "%") || input.kind.is_some_and(|kind| kind.read_plate(unit).is_ok())
    };
    !has_tolerance(text) && crate::unit::split_quantity(text).is_ok_and(|(.., unit)| reads(unit))
}

/// A value with its tolerance without the brackets around that: `15 ±2` of `15 (±2)`.
pub(super) fn out_of_brackets(text: &str) -> Option<String> {
    let inside = text.trim().strip_suffix(')')?;
    let at = crate::calculation::tolerance_begins(inside)?;
    let (before, tolerance) = inside.split_at_checked(at)?;
    let value = before.trim_end().strip_suffix('(')?.trim_end();
    Some(format!("{value} {tolerance}"))
}

/// Whether words say that what they speak of is in the value already: `tolerance 5 % included`.
fn is_included(text: &str) -> bool {
    let done = ["incl", "included", "includes", "including", "inclusive", "already", "bereits"];
    is_made(text, &done) || is_taken(text)
}

/// Whether words say of themselves that they are a remark, `note: ±10 %`, or are of another quantity than a value of the
/// kind: `24 VDC ±10 %`.
fn is_remark_on_another(kind: &'static Kind, text: &str) -> bool {
    let of_note = text.split_once(':').is_some_and(|(first, rest)| {
        let word = !first.is_empty() && first.chars().all(char::is_alphabetic);
        word && !first.to_lowercase().starts_with("tol") && !rest.trim().is_empty()
    });
    let before = tolerance_begins(text).and_then(|at| text.get(..at)).unwrap_or_default();
    let mut words = before.split_whitespace();
    let number = words.next().is_some_and(|it| it.starts_with(|it: char| it.is_ascii_digit()));
    let unit: Vec<&str> = words.collect();
    let symbol = |it: &&str| it.starts_with(char::is_alphabetic);
    let of_kind = |it: &&str| kind.read_plate(it).is_ok();
    let other = number && unit.first().is_some_and(symbol) && !unit.iter().any(of_kind);
    of_note || other
}

/// Whether words say how far a value may lie: `tolerance of 5 % by the maker`, and not what the input itself is.
fn speaks_of_tolerance(input: &Input, text: &str) -> bool {
    let speaks = |text: &str| text.to_lowercase().contains("toleran");
    speaks(text)
        && !is_included(text)
        && text.contains(|sign: char| sign.is_ascii_digit())
        && !speaks(&input.note)
}

/// Whether a text is meant as a tolerance: `5 %`, `tol. 5 %`, `+5%/-5%`, `340 ... 360`, a quantity of the same kind.
fn is_nearly_tolerance(kind: &'static Kind, text: &str) -> bool {
    let text = text.trim();
    let lower = text.to_lowercase();
    let digit = text.contains(|sign: char| sign.is_ascii_digit());
    let signed = text
        .strip_prefix(['+', '-', '−'])
        .is_some_and(|rest| rest.trim_start().starts_with(|sign: char| sign.is_ascii_digit()));
    let begins = text.starts_with(|sign: char| sign.is_ascii_digit());
    let between = begins && (text.contains("..") || text.contains('…'));
    let quantity = || {
        crate::unit::split_quantity(text).is_ok_and(|(_, _, unit)| {
            !unit.is_empty() && (unit == "%" || kind.read_plate(unit).is_ok())
        })
    };
    let few = text.split_whitespace().count() <= 4 && !is_included(text);
    // `from 2024 catalogue` has no second end
    let sided = has_tolerance(&text.replace("from ", ""));
    let stated =
        sided || has_tolerance(text) && text.contains(" to ") && !text.starts_with("from ");
    few && digit
        && !is_remark_on_another(kind, text)
        && (lower.starts_with("tol") || stated || signed || between || quantity())
}
