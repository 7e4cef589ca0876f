//! Cells to values: each kind of cell has its own answer, and none becomes a default.

use rust_decimal::Decimal;

use super::super::owners::is_of_a_run;
use super::label::is_remark_word;
use super::shown::{self, Held};
use super::text::UnitAt;
use super::{Binder, CellAt, Label, is_nothing, label, percent, ratio};
use crate::calculation::{scale, with_power};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::shortest;
use crate::program::Input;
use crate::spreadsheet::{Cell, Position};
use crate::unit::{Dimension, Kind, Literal, Unit, parse_number};

impl Binder<'_> {
    pub(super) fn cell(&self, cell: &CellAt) -> &Cell {
        static NOTHING: Cell = Cell::Empty;
        self.book.tab(&cell.tab).map_or(&NOTHING, |tab| tab.cell(cell.position))
    }

    /// The words of a cell; what a run has written in the place of a number is none of its owner's.
    pub(super) fn text_of(&self, cell: &CellAt) -> Option<String> {
        match self.cell(cell) {
            Cell::Text(text) if !text.trim().is_empty() && !is_of_a_run(text) => {
                Some(text.trim().to_owned())
            }
            _ => None,
        }
    }

    pub(super) fn has_formula(&self, cell: &CellAt) -> bool {
        self.book.tab(&cell.tab).is_some_and(|tab| tab.has_formula(cell.position))
    }

    /// Whether a cell shows its number as a percentage.
    pub(super) fn shows_percent(&self, cell: &CellAt) -> bool {
        self.book.tab(&cell.tab).is_some_and(|tab| tab.shows_percent(cell.position))
    }

    /// A cell beside another.
    pub(super) fn beside(&self, cell: &CellAt, down: i64, right: i64) -> Option<CellAt> {
        let row = u32::try_from(i64::from(cell.position.row) + down).ok()?;
        let column = u32::try_from(i64::from(cell.position.column) + right).ok()?;
        Some(CellAt { tab: cell.tab.clone(), position: Position::new(row, column)? })
    }

    /// The cell in which the unit of a value stands: to its right, behind the merged area of the value, and the first
    /// cell of its own merged area.
    pub(super) fn unit_cell(&self, value: &CellAt) -> Option<CellAt> {
        let tab = self.book.tab(&value.tab)?;
        let own = tab.merged_at(value.position).filter(|area| area.first == value.position);
        let last = own.map_or(value.position.column, |area| area.last.column);
        let right = Position::new(value.position.row, last + 1)?;
        let first = tab.merged_at(right).map_or(right, |area| area.first);
        let position = if first == value.position { right } else { first };
        Some(CellAt { tab: value.tab.clone(), position })
    }

    /// The name of the cell into which the unit of a value is to be written.
    pub(super) fn unit_spot(&self, value: &CellAt) -> String {
        self.unit_cell(value).map_or(String::new(), |cell| cell.position.name())
    }

    /// The unit that stands around a cell: to its right, in the label to its left, in a heading above.
    pub(super) fn unit_around(
        &self,
        cell: &CellAt,
        kind: Option<&'static Kind>,
    ) -> Option<(String, Place)> {
        let reads = |text: &str| match kind {
            Some(kind) => kind.read_plate(text).is_ok() || crate::unit::parse_unit(text).is_ok(),
            None => crate::unit::is_unit(text),
        };
        let pure = kind.is_some_and(|kind| kind.dimension.is_none());
        let right = self.unit_cell(cell).and_then(|right| {
            let text = unit_alone(&self.text_of(&right)?).to_owned();
            Some((text, self.place(&right))).filter(|(text, _)| !(pure && says_no_unit(text)))
        });
        if let Some((text, place)) = &right
            && reads(text)
        {
            return Some((text.clone(), place.clone()));
        }
        for beside in [self.beside(cell, 0, -1), self.heading_above(cell)] {
            if let Some((text, place)) =
                beside.and_then(|at| Some((self.text_of(&at)?, self.place(&at))))
                && let Label { unit: Some(unit), .. } = label(&text)
                && reads(&unit)
            {
                return Some((unit, place));
            }
        }
        // a text beside the number that is no unit is still what the person meant as one,
        // if it is short enough to be one
        right.filter(|(text, _)| {
            let unit = text.split_once(['(', '[']).map_or("", |(unit, _)| unit.trim());
            !unit.is_empty() && reads(unit)
                || !text.contains(' ')
                    && text.chars().count() <= 12
                    && !crate::calculation::is_tolerance(text)
        })
    }

    /// The first cell of the merged area that covers a cell, if it is another.
    fn merged_first(&self, cell: &CellAt) -> Option<Position> {
        let area = self.book.tab(&cell.tab)?.merged_at(cell.position)?;
        (area.first != cell.position).then_some(area.first)
    }

    /// What a cell holds where a merged area covers it.
    fn beneath(&self, cell: &CellAt) -> Option<&Cell> {
        self.book.tab(&cell.tab)?.entry(cell.position)?.beneath.as_deref()
    }

    /// The cells of a series up to the last that holds something; at least one.
    pub(super) fn filled(&self, cells: &[CellAt]) -> Vec<CellAt> {
        let holds = |cell: &CellAt| !self.cell(cell).is_empty() || self.has_formula(cell);
        let last = cells.iter().rposition(holds).unwrap_or(0);
        cells.iter().take(last + 1).cloned().collect()
    }

    pub(super) fn word(
        &self,
        input: &Input,
        words: &[String],
        cell: &CellAt,
    ) -> Result<usize, Diagnostic> {
        let list = || words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
        let place = self.place(cell);
        let found = match self.cell(cell) {
            Cell::Text(text) => text.trim().to_owned(),
            // an edition such as 2010 is a word that looks like a number
            Cell::Number(number) => number.to_string(),
            Cell::Truth(truth) => (if *truth { "yes" } else { "no" }).to_owned(),
            Cell::Empty => {
                let spot = self.merged_first(cell).unwrap_or(cell.position).name();
                return Err(Diagnostic::error(
                    Name::EmptyCell,
                    format!(
                        "`{}` needs one of the words {}, the cell is empty",
                        input.name,
                        list()
                    ),
                )
                .at(place)
                .remedy(match spot == cell.position.name() {
                    true => format!("write one of them into {spot}"),
                    false => format!(
                        "the merged area begins in {spot}: write one of them there and read it from there"
                    ),
                }));
            }
            other => {
                return Err(Diagnostic::error(
                    Name::NumberForWord,
                    format!(
                        "`{}` needs one of the words {}, the cell holds {other}",
                        input.name,
                        list()
                    ),
                )
                .at(place)
                .remedy(format!("write one of them into {}", cell.position.name())));
            }
        };
        words.iter().position(|word| word.eq_ignore_ascii_case(&found)).ok_or_else(|| {
            let name = if matches!(self.cell(cell), Cell::Text(_)) {
                Name::UnknownWord
            } else {
                Name::NumberForWord
            };
            Diagnostic::error(
                name,
                format!(
                    "`{}` needs one of the words {}, the cell holds {}",
                    input.name,
                    list(),
                    self.cell(cell)
                ),
            )
            .at(place)
            .remedy(format!("write one of them into {}", cell.position.name()))
        })
    }

    /// The number of a cell with its unit; a series may also stand in one cell as a text.
    pub(super) fn numbers(
        &self,
        input: &Input,
        kind: &'static Kind,
        cell: &CellAt,
        unit: Option<&(String, Place)>,
        series: bool,
    ) -> Result<Vec<Literal>, Diagnostic> {
        let place = self.place(cell);
        let name = &input.name;
        let here = cell.position.name();
        let what = format!("`{name}` ({})", kind.name);
        let error = |code, words: String| Diagnostic::error(code, words).at(place.clone());
        match self.cell(cell) {
            Cell::Number(number) => {
                if let Some(problem) = super::formula::not_its_own(self.book, cell, *number, &what) {
                    return Err(problem);
                }
                let Some((digits, ten)) = shortest(*number) else {
                    return Err(error(Name::ErrorCell, format!("{what} needs a number, the cell holds one beyond all use")));
                };
                let literal = self.quantity(input, kind, cell, (digits, ten), unit)?;
                let tab = self.book.tab(&cell.tab);
                let held = Held { name, kind: Some(kind), unit: &literal.unit, number: *number };
                match tab.and_then(|tab| shown::otherwise(self.book, tab, cell.position, &held)) {
                    Some(problem) => Err(problem),
                    None => Ok(vec![literal]),
                }
            }
            Cell::Text(text) if self.stated(input, kind, text, unit.map(|it| it.0.as_str())).is_some() => {
                Ok(self.stated(input, kind, text, unit.map(|it| it.0.as_str())).into_iter().collect())
            }
            Cell::Text(text) if series && !text.contains(';') && comma_inside(text) => {
                Err(error(Name::TextForNumber, format!("{what} needs numbers, and a comma stands inside of one of them: \"{text}\""))
                    .remedy("write the numbers with a decimal point and `;` between, one decimal point each"))
            }
            Cell::Text(text) if series && text.contains([';', ',']) => {
                let separator = if text.contains(';') { ';' } else { ',' };
                let text = text.trim().trim_end_matches(separator);
                if text.split(separator).any(|part| part.trim().is_empty()) {
                    return Err(error(Name::TextForNumber, format!("{what} needs numbers, and between two `{separator}` of \"{text}\" stands none"))
                        .remedy(format!("write the number that is missing, or take one `{separator}` out")));
                }
                text.split(separator)
                    .map(|part| match crate::unit::parse_number(part.trim()) {
                        Some(_) if crate::unit::may_be_thousands(part).is_some() => {
                            Err(error(Name::TextForNumber, format!("{what} needs numbers, and \"{}\" may be thousands as well", part.trim()))
                                .remedy("write each number into a cell of its own, one below the other"))
                        }
                        Some(number) => self.quantity(input, kind, cell, number, unit),
                        None => Err(error(Name::TextForNumber, format!("{what} needs numbers, the cell holds \"{}\"", part.trim()))
                            .remedy("write plain numbers with `;` between, and the unit beside")),
                    })
                    .collect()
            }
            Cell::Text(text) => {
                let said = unit.and_then(|(text, at)| {
                    let unit = kind.read_plate(text).ok()?;
                    Some((unit, spot(at)))
                });
                let right = self.unit_spot(cell);
                let at = match &said {
                    Some((unit, at)) => UnitAt::Said(unit, at),
                    None => UnitAt::Free(&right),
                };
                let is_unit = kind.read_plate(text.trim()).is_ok();
                let before = self.beside(cell, 0, -1).filter(|it| matches!(self.cell(it), Cell::Number(_)));
                if let (true, Some(before)) = (is_unit, before) {
                    let words = format!("{what} needs a number, and {here} holds the unit \"{text}\"");
                    return Err(error(Name::TextForNumber, words)
                        .remedy(format!("let `{name}` be read from {}, if its value stands there", before.position.name())));
                }
                let formula = self.has_formula(cell);
                let remedy = ratio::remedy(kind, text, (unit.map(|it| it.0.as_str()), &here))
                    .unwrap_or_else(|| super::text::remedy(kind, text, &here, &at));
                let remedy = super::text::as_typed(self.book, text, remedy, formula);
                // a dash says that there is nothing to write
                let default = input.default.as_ref().filter(|_| is_nothing(text));
                let remedy = remedy + &default.map_or(String::new(), super::text::or_default);
                Err(error(Name::TextForNumber, format!("{what} needs a number, the cell holds the text \"{text}\"")).remedy(remedy))
            }
            Cell::Empty if let Some(beneath) = self.beneath(cell) => {
                let area = self.book.tab(&cell.tab).and_then(|tab| tab.merged_at(cell.position)).map_or(String::new(), |area| area.name());
                Err(error(Name::MergedCell, format!("{what} needs a number, and the merged area {area} covers {here}: {beneath} in it is not shown"))
                    .remedy(format!("take the merged cells of {area} apart and make sure of what {here} holds")))
            }
            Cell::Empty if self.merged_first(cell).is_some() => {
                let first = self.merged_first(cell).map(Position::name).unwrap_or_default();
                Err(error(Name::MergedCell, format!("{what} needs a number, and {here} lies inside a merged area whose value stands in {first}"))
                    .remedy(match self.merged_first(cell).map(|at| self.cell(&CellAt { tab: cell.tab.clone(), position: at })) {
                        Some(Cell::Empty) => format!("write the value into {first} and let `{name}` be read from there, or take the merged cells apart"),
                        _ => format!("take the merged cells apart and write the value into {here}"),
                    }))
            }
            Cell::Empty if self.has_formula(cell) => {
                Err(error(Name::EmptyCell, format!("{what} needs a number, and the formula in the cell gives nothing, or its result was never saved"))
                    .remedy(super::formula::nothing_saved(&here)))
            }
            Cell::Empty => {
                let remedy = match &input.default {
                    Some(default) => format!("write a value into {here}{}", super::text::or_default(default)),
                    None => format!("write a value into {here}: {}", if input.note.is_empty() { "it is needed" } else { &input.note }),
                };
                Err(error(Name::EmptyCell, format!("{what} needs a number, the cell is empty; empty is not zero")).remedy(remedy))
            }
            Cell::Error(shown) => Err(error(Name::ErrorCell, format!("{what} needs a number, the cell shows {shown}"))
                .remedy("put the formula behind it right")),
            Cell::Date(shown) => Err(error(Name::DateForNumber, format!("{what} needs a number, the cell holds the date or time {shown}"))
                .remedy(format!("format {here} as a number and write the value again"))),
            Cell::Truth(truth) => {
                let shown = if *truth { "TRUE" } else { "FALSE" };
                Err(error(Name::TruthForNumber, format!("{what} needs a number, the cell holds {shown}"))
                    .remedy(format!("write a number into {here}")))
            }
        }
    }

    /// A number without a sign of its own that may be a share as well as a percentage is asked.
    pub(super) fn one_reading(
        &self,
        input: &Input,
        cell: &CellAt,
        literal: &Literal,
    ) -> Result<(), Diagnostic> {
        let number = Unit::one().to_si(literal.digits, literal.ten);
        if let Some(problem) = scale::doubt(input, number, &literal.unit) {
            return Err(problem.at(self.place(cell)));
        }
        match percent::doubt(input, number, &literal.unit, &cell.position.name()) {
            Some(problem) => Err(problem.at(self.place(cell))),
            None => Ok(()),
        }
    }

    /// A number in a text that states itself what it is: `0.9 %`, `30:1`, `i = 30`; none for any other text.
    fn stated(
        &self,
        input: &Input,
        kind: &'static Kind,
        text: &str,
        unit: Option<&str>,
    ) -> Option<Literal> {
        if kind.dimension != Dimension::NONE {
            return None;
        }
        let none = says_no_unit;
        if let Some(number) = percent::stated(text) {
            let same = unit.is_none_or(|unit| unit == "%" || none(unit));
            let (digits, ten) = parse_number(number).filter(|_| same)?;
            return crate::calculation::with_unit(input, kind, digits, ten, Some("%")).ok();
        }
        // `0.9 –`: a number, and that it has no unit
        let alone = kind.bare.then(|| text.trim().trim_end_matches(crate::unit::is_dash));
        let alone =
            alone.filter(|it| it.len() < text.trim().len() && it.ends_with(char::is_whitespace));
        let alone =
            alone.map(str::trim_end).filter(|it| crate::unit::may_be_thousands(it).is_none());
        let number = alone.and_then(parse_number);
        let number = number.or_else(|| ratio::stated(kind, &input.name, text));
        let (digits, ten) = number.filter(|_| unit.is_none_or(none))?;
        Some(Literal::new(digits, ten, Unit::one()))
    }

    fn quantity(
        &self,
        input: &Input,
        kind: &'static Kind,
        cell: &CellAt,
        (digits, ten): (Decimal, i32),
        unit: Option<&(String, Place)>,
    ) -> Result<Literal, Diagnostic> {
        // a cell formatted as a percentage holds the fraction, whatever sign stands beside it
        let percent = self.shows_percent(cell) && kind.dimension.is_none();
        let unknown = self.book.tab(&cell.tab).is_some_and(|tab| tab.formats_unknown);
        if unknown && unit.is_some_and(|(text, _)| text == "%") {
            let own = cell.position.name();
            return Err(Diagnostic::error(
                Name::UnreadableQuantity,
                format!("a file of this kind does not tell whether {own} shows a percentage: its number may be the fraction"),
            )
            .at(self.place(cell))
            .remedy("save the workbook as .xlsx first"));
        }
        let text = unit.map(|(text, _)| text.as_str()).filter(|text| !(percent && *text == "%"));
        let read = crate::calculation::with_unit(input, kind, digits, ten, text);
        if let (Ok(literal), false) = (&read, percent) {
            self.one_reading(input, cell, literal)?;
        }
        read.map_err(|mut problem| {
            let own = self.place(cell);
            let over = self.book.tab(&cell.tab).and_then(|tab| tab.merged_at(cell.position));
            let over = over.filter(|area| area.last.column > area.first.column);
            if let (Some(area), Some((text, _)), Name::UnknownUnit) = (over, unit, problem.name) {
                let right = self.unit_spot(cell);
                let words = format!(
                    "the merged area {} reaches over the cell behind `{}`, and {right} behind it holds \"{text}\", which is no unit",
                    area.name(),
                    input.name
                );
                return Diagnostic::error(Name::MergedCell, words).at(own).remedy(format!(
                    "take the merged cells of {} apart, and write the unit beside the value",
                    area.name()
                ));
            }
            if problem.name == Name::UnitMismatch {
                let number = Unit::one().to_si(digits, ten);
                problem.remedy = match kind.units {
                    [] => format!("a {} has no unit: take it out", kind.name),
                    _ => match text.and_then(|text| kind.meets_flywheel(text)) {
                        Some(remedy) => remedy.to_owned(),
                        None => scale::unit_question(input, kind, number),
                    },
                };
            }
            let moved = text.and_then(|text| with_power(kind, (digits, ten), text));
            if let (Some((number, meant)), Some((_, place))) = (moved, unit) {
                problem.remedy = format!(
                    "write {number} into {} and `{meant}` into {}",
                    cell.position.name(),
                    spot(place)
                );
            }
            match (unit, problem.name) {
                (Some((_, place)), name) if name != Name::MissingUnit => {
                    if *place == own {
                        problem.at(own)
                    } else {
                        problem.at(place.clone())
                    }
                }
                _ => {
                    let right = self.unit_spot(cell);
                    let units = kind.offered();
                    problem
                        .at(own)
                        .remedy(format!("write {units} into {right}; a unit is never assumed"))
                }
            }
        })
    }
}

/// Where a unit stands, in words for a remedy.
fn spot(place: &Place) -> String {
    match place {
        Place::Cell { row, column, .. } => crate::diagnostic::cell_name(*row, *column),
        _ => "its line".to_owned(),
    }
}

/// Whether a comma stands between two digits, where it may be a decimal comma as well as a separator.
fn comma_inside(text: &str) -> bool {
    let signs: Vec<char> = text.chars().collect();
    signs.windows(3).any(|it| matches!(it, [a, ',', b] if a.is_ascii_digit() && b.is_ascii_digit()))
}

/// What stands in the cell of a unit without the brackets of a table and without a remark behind it: `[N·m]` and
/// `N·m (min.)` are N·m.
pub(super) fn unit_alone(text: &str) -> &str {
    let inside = text.trim().strip_prefix('[').and_then(|rest| rest.strip_suffix(']'));
    let text = inside.map_or(text, str::trim);
    let remarked = text.trim_end().strip_suffix(')').and_then(|rest| rest.split_once('('));
    let remarked = remarked.filter(|(unit, remark)| {
        crate::unit::is_unit(unit.trim()) && remark.split_whitespace().all(is_remark_word)
    });
    remarked.map_or(text, |(unit, _)| unit.trim())
}

/// Whether the cell of a unit says that there is none, as tables write it beside pure numbers; common practice, no source.
pub(super) fn says_no_unit(text: &str) -> bool {
    is_nothing(text) || matches!(text.trim(), "1" | "none")
}
