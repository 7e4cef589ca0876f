//! An input from its cells: its value, and its tolerance in the cell itself or beside it.

use super::formula::text_not_its_own;
use super::said::About;
use super::taken_back::taken_back;
use super::tolerance::{ToleranceAt, Unit, out_of_brackets, with_words};
use super::unit_words::states_again;
use super::which_end::end_said;
use super::{Binder, CellAt, Part, Pending, Request};
use crate::calculation::{Spread, is_tolerance, read_beside, spread_beside, spread_of, unsettled};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::number::InputValue;
use crate::program::{Input, Type};
use crate::spreadsheet::Cell;
use crate::spreadsheet::ends::End;
use crate::unit::{Kind, Literal, parse_unit};

impl Binder<'_> {
    /// Reads an input from its cells, puts value and tolerance into the request, and looks at the words about it.
    pub(in crate::workbook) fn input(
        &mut self,
        request: &mut Request,
        name: &str,
        cells: &[CellAt],
        unit: Option<(String, Place)>,
        tolerance: &ToleranceAt,
    ) {
        if !self.read_input(request, name, cells, unit, tolerance) {
            return;
        }
        let Some(input) = request.program.input_named(name) else { return };
        let values = match request.inputs.value(input) {
            Some(InputValue::One(value)) => vec![value],
            Some(InputValue::Many(values)) => values,
            _ => Vec::new(),
        };
        let filled = self.filled(cells);
        let said = filled.iter().enumerate().find_map(|(at, cell)| {
            let value = values.get(at).filter(|_| values.len() == filled.len());
            let unit = value.or(values.first()).map(|it| &it.unit);
            let program = &request.program;
            let about = About { program, input, unit, value, as_it_is: true };
            self.label_struck(name, cell).or_else(|| self.spoken(&about, cell, tolerance))
        });
        let open = filled.first().and_then(|cell| self.open_ended(input, cell, values.first()?));
        self.bound.problems.extend(open);
        if let Some(problem) = said {
            self.tell_once(problem);
        }
    }

    /// A range without its second end where a tolerance stands: `from 20 N·m`.
    fn open_ended(&self, input: &Input, value: &CellAt, held: &Literal) -> Option<Diagnostic> {
        let kind = input.kind?;
        let cells = (1..=2).filter_map(|right| self.beside(value, 0, right));
        cells.into_iter().find_map(|cell| {
            let text = self.text_of(&cell)?;
            let from = text.strip_prefix("from ")?;
            let (.., unit) = crate::unit::split_quantity(from).ok()?;
            let stated = !unit.is_empty() && kind.read_plate(unit).is_ok();
            let again = || states_again(kind, &held.unit, held.si_f64(), from);
            let name = format!("`{}`", input.name);
            (stated && !again()).then(|| taken_back(&name, &text, self.place(&cell)))
        })
    }

    /// Reads an input from its cells and puts value and tolerance into the request; whether it could be read.
    pub(in crate::workbook) fn read_input(
        &mut self,
        request: &mut Request,
        name: &str,
        cells: &[CellAt],
        unit: Option<(String, Place)>,
        tolerance: &ToleranceAt,
    ) -> bool {
        let Some(input) = request.program.input_named(name).cloned() else {
            return false;
        };
        let Some(first) = cells.first().cloned() else { return false };
        let place = self.place(&first);
        if request.pending.iter().any(|it| it.name == name && it.place == place) {
            return false;
        }
        if request.inputs.is_given(&input) {
            // a block whose cells bear names as well states each input once
            if request.inputs.place(&input) == place {
                return false;
            }
            self.bound.problems.push(
                Diagnostic::error(Name::AskedTwice, format!("`{name}` has two cells"))
                    .at(place)
                    .label(request.inputs.place(&input), "the other")
                    .remedy("take one of them out"),
            );
            return false;
        }
        self.note_reads(request, name, cells, unit.as_ref(), tolerance);
        let stale = || cells.iter().find_map(|cell| text_not_its_own(self.book, cell));
        let slip =
            self.struck(name, cells).or_else(|| self.raised(name, cells)).or_else(stale).or_else(
                || {
                    let kind = input.kind?;
                    self.nearly_tolerance(&input, kind, &first, unit.as_ref(), tolerance)
                },
            );
        if let Some(problem) = slip {
            request.inputs.give_up(name, place);
            self.bound.problems.push(problem);
            return false;
        }
        let read = match (&input.type_, input.kind) {
            (Type::Choice(words), _) => self
                .word(&input, words, &first)
                .map(|at| (InputValue::Word(at), None))
                .map_err(Problems::from),
            (Type::Number { series: true, .. }, Some(kind)) => {
                let filled = self.filled(cells);
                match self.other_units(&input, kind, &filled, unit.as_ref()) {
                    Some(problem) => Err(problem.into()),
                    None => self.series(&input, kind, &filled, unit.as_ref(), tolerance),
                }
            }
            (Type::Number { .. }, Some(kind)) => {
                self.one(&input, kind, &first, unit.as_ref(), tolerance).map_err(Problems::from)
            }
            _ => return false,
        };
        let read = read.and_then(|(value, spread)| {
            let strange = match &value {
                InputValue::Many(values) => self.not_of_series(&input, &self.filled(cells), values),
                _ => None,
            };
            strange.map_or(Ok((value, spread)), |problem| Err(problem.into()))
        });
        match read {
            Ok((value, spread)) => {
                let filled = self.filled(cells);
                // several values in one cell have its place
                let places = matches!(&value, InputValue::Many(all) if all.len() == filled.len());
                request.inputs.store_spread(name, value, spread, place);
                if places {
                    let places = filled.iter().map(|cell| self.place(cell)).collect();
                    request.inputs.values_at(name, places);
                }
                true
            }
            Err(problems) => {
                let mut problems = problems.into_vec();
                // one unit for a whole series: its problem once
                problems.dedup_by(|a, b| {
                    a.name == b.name && a.place == b.place && a.headline == b.headline
                });
                if cells.iter().all(|cell| self.holds_nothing(cell)) {
                    request.pending.push(Pending { name: name.to_owned(), place, problems });
                } else {
                    request.inputs.give_up(name, place);
                    self.bound.problems.extend(problems);
                }
                false
            }
        }
    }

    /// Whether nothing stands in a cell, or a sign that there is nothing.
    pub(in crate::workbook) fn holds_nothing(&self, cell: &CellAt) -> bool {
        match self.cell(cell) {
            Cell::Empty => true,
            Cell::Text(text) => is_nothing(text),
            _ => false,
        }
    }

    /// A cell that is read and whose content is struck through: its owner has deleted it, or forgotten the line.
    pub(in crate::workbook) fn struck(&self, name: &str, cells: &[CellAt]) -> Option<Diagnostic> {
        let in_part = |cell: &CellAt| matches!(self.cell(cell), Cell::Text(text) if self.book.pieces.struck.contains(text));
        let struck = |cell: &&CellAt| {
            let tab = self.book.tab(&cell.tab);
            let whole = tab.is_some_and(|tab| tab.is_struck(cell.position));
            !self.cell(cell).is_empty() && (whole || in_part(cell))
        };
        let cell = cells.iter().find(struck)?;
        let here = cell.position.name();
        let words = match in_part(cell) {
            true => format!(
                "`{name}` is read from {here}, and a part of what stands there is struck through"
            ),
            false => {
                format!("`{name}` is read from {here}, and what stands there is struck through")
            }
        };
        if in_part(cell) {
            return Some(
                Diagnostic::error(Name::TwoStatements, words)
                    .at(self.place(cell))
                    .remedy(format!("write into {here} what counts, and nothing else")),
            );
        }
        Some(Diagnostic::error(Name::TwoStatements, words).at(self.place(cell)).remedy(format!(
            "if it counts, take the line through it away; if not, write into {here} what does, or empty it"
        )))
    }

    /// A digit behind a number that is raised: read as a plain one, it would make another number.
    fn raised(&self, name: &str, cells: &[CellAt]) -> Option<Diagnostic> {
        let raised = |cell: &CellAt| match self.cell(cell) {
            Cell::Text(text) => self.book.pieces.raised.get(text),
            _ => None,
        };
        let is_power = |shown: &str| {
            let signs: Vec<char> = shown.chars().collect();
            let up = |sign: char| "⁰¹²³⁴⁵⁶⁷⁸⁹⁻".contains(sign);
            signs.windows(2).any(|it| matches!(it, [a, b] if a.is_ascii_digit() && up(*b)))
        };
        let (cell, shown) = cells
            .iter()
            .filter_map(|cell| Some((cell, raised(cell)?)))
            .find(|(_, shown)| is_power(shown))?;
        let words = format!("`{name}` needs a number, and \"{shown}\" has raised digits");
        Some(
            Diagnostic::error(Name::UnreadableQuantity, words)
                .at(self.place(cell))
                .remedy(format!("write the number alone into {}", cell.position.name())),
        )
    }

    /// Whether a text states the value before it once more.
    pub(super) fn says_again(
        &self,
        kind: &'static Kind,
        value: &CellAt,
        unit: Unit<'_>,
        text: &str,
    ) -> bool {
        let held = self.held(kind, value, unit);
        held.is_some_and(|(own, held)| states_again(kind, &own, held, text))
    }

    /// Whether a text is a quantity of more than twice the value: no tolerance reaches so far.
    pub(super) fn is_beyond(
        &self,
        kind: &'static Kind,
        value: &CellAt,
        unit: Unit<'_>,
        text: &str,
    ) -> bool {
        let Some((_, held)) = self.held(kind, value, unit) else { return false };
        crate::unit::split_quantity(text).is_ok_and(|(digits, ten, said)| {
            let said =
                kind.read_plate(said).ok().filter(|it| it.zero.is_zero() && !it.symbol.is_empty());
            said.is_some_and(|said| said.to_si(digits, ten).abs() > 2.0 * held.abs())
        })
    }

    /// Whether a text is a span of which the value is the end that the sheet asks for: `22 … 28 N·m` of the least.
    pub(super) fn is_end_of(
        &self,
        input: &Input,
        value: &CellAt,
        unit: Unit<'_>,
        text: &str,
    ) -> bool {
        let signs = ["...", "..", "…"];
        let two = signs.into_iter().find_map(|sign| text.split_once(sign));
        let (Some((low, high)), Some(kind), Some((end, _))) = (two, input.kind, end_said(input))
        else {
            return false;
        };
        let Ok((.., said)) = crate::unit::split_quantity(high) else { return false };
        match end {
            End::Least if low.trim().ends_with(|it: char| it.is_ascii_digit()) => {
                self.says_again(kind, value, unit, &format!("{} {said}", low.trim()))
            }
            End::Least => self.says_again(kind, value, unit, low),
            _ => self.says_again(kind, value, unit, high),
        }
    }

    /// The number of a cell in the unit that is stated for it, in coherent SI; a pure number needs none.
    pub(super) fn held(
        &self,
        kind: &'static Kind,
        value: &CellAt,
        unit: Unit<'_>,
    ) -> Option<(crate::unit::Unit, f64)> {
        let Cell::Number(number) = self.cell(value) else { return None };
        let own = match unit {
            Some((own, _)) => kind.read_plate(own).ok()?,
            None => kind.dimension.is_none().then(crate::unit::Unit::one)?,
        };
        // a cell that shows a percentage holds the share
        let factor = if self.shows_percent(value) { 1.0 } else { own.factor.as_f64() };
        Some((own, factor * number))
    }

    /// Whether a text is a span with words behind it between whose ends the value of a cell lies: `from 20 N·m to 24 N·m
    /// by the maker`. Without the value between them it is a remark: `from 75 ms to 130 ms after the command`.
    pub(super) fn spans(
        &self,
        kind: &'static Kind,
        value: &CellAt,
        unit: Unit<'_>,
        text: &str,
    ) -> bool {
        let ends = text.strip_prefix("from ").and_then(|rest| rest.split_once(" to "));
        let Some((low, high)) = ends else { return false };
        let read = |text: &str| {
            let two: Vec<&str> = text.split_whitespace().take(2).collect();
            let text = two.join(" ");
            let (digits, ten, unit) = crate::unit::split_quantity(&text).ok()?;
            Some(kind.read_plate(unit).ok()?.to_si(digits, ten))
        };
        let (low, high, held) = (read(low), read(high), self.held(kind, value, unit));
        match (low, high, held) {
            (Some(low), Some(high), Some((_, held))) => (low..=high).contains(&held),
            _ => false,
        }
    }

    /// Notes the cells of an input, of its unit and of its tolerance as read.
    fn note_reads(
        &self,
        request: &mut Request,
        name: &str,
        cells: &[CellAt],
        unit: Unit<'_>,
        tolerance: &ToleranceAt,
    ) {
        for cell in cells {
            request.read(cell.clone(), name, Part::Value);
            if let ToleranceAt::Beside = tolerance {
                let kind = request.program.input_named(name).and_then(|it| it.kind);
                for right in [1, 2].into_iter().filter_map(|right| self.beside(cell, 0, right)) {
                    let text = self.text_of(&right);
                    if text.is_some_and(|text| self.is_tolerance_beside(kind, cell, &text)) {
                        request.read(right, name, Part::Tolerance);
                    }
                }
            }
        }
        if let Some((_, place)) = unit {
            request.inputs.unit_at(name, place.clone());
            request.read_at(place, name, Part::Unit);
        }
        if let ToleranceAt::In(cell) = tolerance {
            request.read(cell.clone(), name, Part::Tolerance);
        }
    }

    /// A text beside a later value of a series that says another unit than that of the series.
    fn other_units(
        &self,
        input: &Input,
        kind: &'static Kind,
        cells: &[CellAt],
        unit: Unit<'_>,
    ) -> Option<Diagnostic> {
        let read = |text: &str| kind.read_plate(text).or_else(|_| parse_unit(text)).ok();
        let first = cells.first()?;
        let ends = cells.chunk_by(|one, next| one.position.row == next.position.row);
        let mut beside = ends.filter_map(|row| self.beside(row.last()?, 0, 1));
        let of_first = self.place(&beside.next()?);
        // beneath a unit stand units; beneath other things what reads as one is one
        let column_of_units = unit.is_some_and(|(_, at)| *at == of_first);
        let said = unit.and_then(|(text, _)| read(text));
        beside.filter(|cell| cell.position.row != first.position.row).find_map(|cell| {
            let text = self.text_of(&cell).filter(|text| !is_tolerance(text))?;
            let own = read(&text);
            let same = match (&own, &said) {
                (Some(own), Some(said)) => own.is_same(said),
                (Some(own), None) => unit.is_some() || own.is_same(&crate::unit::Unit::one()),
                (None, _) => !column_of_units,
            };
            if same {
                return None;
            }
            let words = match unit {
                Some((unit, _)) => format!("the series `{}` is in {unit}, and beside this value stands \"{text}\"", input.name),
                None => format!("the series `{}` has no unit beside its first value, and beside this one stands \"{text}\"", input.name),
            };
            let remedy = match unit {
                Some((unit, _)) => format!("write all values in {unit}, and {unit} or nothing here"),
                None => "write all values in one unit, and that unit beside the first".to_owned(),
            };
            let problem = Diagnostic::error(Name::TwoStatements, words).at(self.place(&cell));
            let problem = problem.remedy(remedy);
            Some(match unit {
                Some((unit, at)) => problem.label(at.clone(), format!("here it is {unit}")),
                None => problem,
            })
        })
    }

    /// A unit in the cell of a value, as in `24 rad/s ± 1 rad/s`, that is not the one beside it.
    fn one_unit(
        &self,
        input: &Input,
        kind: &'static Kind,
        cell: &CellAt,
        given: &InputValue,
        unit: Unit<'_>,
    ) -> Result<(), Diagnostic> {
        let Some((said, at)) = unit else { return Ok(()) };
        let place = self.place(cell);
        let read = kind.read_plate(said).or_else(|_| parse_unit(said));
        let values = match given {
            InputValue::One(value) => std::slice::from_ref(value),
            InputValue::Many(values) => values.as_slice(),
            InputValue::Word(_) => &[],
        };
        let other = values.iter().find(|value| match &read {
            Ok(unit) => !value.unit.is_same(unit),
            Err(_) => true,
        });
        let Some(other) = other.filter(|_| *at != place) else { return Ok(()) };
        let own = &other.unit.symbol;
        let own = if own.is_empty() { "1" } else { own };
        let words = format!("`{}` has two units: {own} and {said}", input.name);
        Err(Diagnostic::error(Name::UnitMismatch, words)
            .at(place)
            .label(at.clone(), format!("here it is {said}"))
            .remedy(format!("write the value and its tolerance in {said}")))
    }

    /// One value and its tolerance.
    fn one(
        &self,
        input: &Input,
        kind: &'static Kind,
        cell: &CellAt,
        unit: Unit<'_>,
        tolerance: &ToleranceAt,
    ) -> Result<(InputValue, Option<Spread>), Diagnostic> {
        let beside = self.tolerance(input, cell, tolerance)?;
        if let Some(text) = self.with_tolerance(cell) {
            self.once(input, cell, beside.as_ref())?;
            return self.toleranced(input, kind, cell, text, unit);
        }
        let mut values = self.numbers(input, kind, cell, unit, false)?;
        let value = InputValue::One(values.pop().ok_or_else(|| {
            Diagnostic::error(Name::Internal, format!("`{}` was read without a value", input.name))
        })?);
        let spread = match beside {
            Some((text, place)) => {
                // the line of a bind file states one unit, for the cell and for its own tolerance
                let of_line = unit.filter(|(_, at)| *at == place).map(|(unit, _)| unit.as_str());
                let reads = |text: &str| spread_beside(input, &value, text, of_line);
                let spread = reads(&text).map_err(|problem| {
                    with_words(input, &text, &|text| reads(text).is_ok()).unwrap_or(problem)
                });
                Some(spread.map_err(|problem| problem.at(place))?)
            }
            None => None,
        };
        Ok((value, spread))
    }

    /// A value with its tolerance in one cell; the unit that stands for the cell covers both.
    fn toleranced(
        &self,
        input: &Input,
        kind: &'static Kind,
        cell: &CellAt,
        text: &str,
        unit: Unit<'_>,
    ) -> Result<(InputValue, Option<Spread>), Diagnostic> {
        if let Some(problem) = unsettled(input, text) {
            return Err(problem.at(self.place(cell)));
        }
        if let Some(typed) = out_of_brackets(text) {
            let words = format!(
                "the tolerance of `{}` stands in brackets: \"{}\"",
                input.name,
                text.trim()
            );
            return Err(Diagnostic::error(Name::UnreadableQuantity, words)
                .at(self.place(cell))
                .remedy(format!("write `{typed}` into {}", cell.position.name())));
        }
        let beside = unit.map(|(unit, _)| unit.as_str());
        let (given, spread) =
            read_beside(input, text, beside).map_err(|problem| problem.at(self.place(cell)))?;
        self.one_unit(input, kind, cell, &given, unit)?;
        if !text.contains('%') {
            let values = match &given {
                InputValue::One(value) => std::slice::from_ref(value),
                InputValue::Many(values) => values.as_slice(),
                InputValue::Word(_) => &[],
            };
            values.iter().try_for_each(|value| self.one_reading(input, cell, value))?;
        }
        Ok((given, spread))
    }

    /// A series; a tolerance beside its first value alone is that of all its values.
    fn series(
        &self,
        input: &Input,
        kind: &'static Kind,
        cells: &[CellAt],
        unit: Unit<'_>,
        tolerance: &ToleranceAt,
    ) -> Result<(InputValue, Option<Spread>), Problems> {
        let mut problems = Vec::new();
        let mut values: Vec<Literal> = Vec::new();
        let mut spread: Option<Spread> = None;
        let mut of_all = None;
        for (at, cell) in cells.iter().enumerate() {
            let here = match tolerance {
                ToleranceAt::Beside => tolerance,
                _ if at == 0 => tolerance,
                _ => &ToleranceAt::Nowhere,
            };
            match self.values(input, kind, cell, unit, here) {
                Ok((found, own, beside)) => {
                    if at == 0 {
                        of_all = beside.filter(|_| cells.len() > 1);
                    } else if beside.is_some() {
                        of_all = None;
                    }
                    let before = values.len();
                    values.extend(found);
                    if let Some(own) = own {
                        let all = spread
                            .get_or_insert_with(|| Spread { ends: Vec::new(), shape: own.shape });
                        let sharp = values.iter().take(before).skip(all.ends.len());
                        let sharp: Vec<_> = sharp.map(|it| (it.clone(), it.clone())).collect();
                        all.ends.extend(sharp);
                        all.ends.extend(own.ends);
                    }
                }
                Err(problem) => problems.push(problem),
            }
        }
        if !problems.is_empty() {
            return Err(problems.into());
        }
        let given = InputValue::Many(values);
        if let Some((text, place)) = of_all {
            let spread = spread_of(input, &given, &text);
            return spread.map(|it| (given, Some(it))).map_err(|problem| problem.at(place).into());
        }
        if let (Some(spread), InputValue::Many(values)) = (&mut spread, &given) {
            let sharp = values.iter().skip(spread.ends.len());
            let sharp: Vec<_> = sharp.map(|it| (it.clone(), it.clone())).collect();
            spread.ends.extend(sharp);
        }
        Ok((given, spread))
    }

    /// The values of one cell of a series, how far they may lie, and the tolerance as it stands beside.
    #[expect(clippy::type_complexity, reason = "three parts of one cell")]
    fn values(
        &self,
        input: &Input,
        kind: &'static Kind,
        cell: &CellAt,
        unit: Unit<'_>,
        tolerance: &ToleranceAt,
    ) -> Result<(Vec<Literal>, Option<Spread>, Option<(String, Place)>), Diagnostic> {
        let beside = self.tolerance(input, cell, tolerance)?;
        if let Some(text) = self.with_tolerance(cell) {
            self.once(input, cell, beside.as_ref())?;
            let (given, spread) = self.toleranced(input, kind, cell, text, unit)?;
            let values = match given {
                InputValue::Many(values) => values,
                InputValue::One(value) => vec![value],
                InputValue::Word(_) => Vec::new(),
            };
            return Ok((values, spread, None));
        }
        let values = self.numbers(input, kind, cell, unit, true)?;
        let spread = match &beside {
            Some((text, place)) => Some(
                spread_of(input, &InputValue::Many(values.clone()), text)
                    .map_err(|problem| problem.at(place.clone()))?,
            ),
            None => None,
        };
        Ok((values, spread, beside))
    }

    /// A value has one tolerance.
    pub(super) fn once(
        &self,
        input: &Input,
        cell: &CellAt,
        beside: Option<&(String, Place)>,
    ) -> Result<(), Diagnostic> {
        match beside {
            None => Ok(()),
            Some((_, place)) => Err(Diagnostic::error(
                Name::AskedTwice,
                format!("`{}` has two tolerances", input.name),
            )
            .at(self.place(cell))
            .label(place.clone(), "the other")
            .remedy("take one of them out")),
        }
    }
}

/// Whether a text says that there is nothing to say: `–`, `n/a`.
pub(in crate::workbook) fn is_nothing(text: &str) -> bool {
    let text = text.trim().to_lowercase();
    text.chars().all(crate::unit::is_dash)
        || matches!(
            text.as_str(),
            "n/a" | "n.a." | "#n/a" | "/" | "not applicable" | "k. a." | "k.a."
        )
}
