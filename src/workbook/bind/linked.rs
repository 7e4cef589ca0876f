//! What feeds the cell of an input: another input's cell, or through its formula a cell of another unit or name.

use std::collections::BTreeMap;

use super::feed::{
    Fed, NOT_QUARTERED, OtherInput, Times, UnitOf, Way, differs, short, size, symbol,
};
use super::said::About;
use super::shown::{Held, otherwise, rounded_off};
use super::tolerance::ToleranceAt;
use super::which_end::{end_measured, end_of_limit, note_of};
use super::{Binder, CellAt, Part, Request};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::{InputValue, shortest};
use crate::spreadsheet::ends::{End, Taken, ends};
use crate::spreadsheet::rests::sources;
use crate::spreadsheet::terms::terms;
use crate::spreadsheet::{Cell, Position, link};
use crate::unit::{Literal, Unit};
use crate::workbook::legible::disallowed;

/// Formulas that lead to formulas, for one input.
const DEEPEST: usize = 40;

type Key = (String, Position);

fn key(cell: &CellAt) -> Key {
    (cell.tab.to_lowercase(), cell.position)
}

impl Binder<'_> {
    /// Inputs of a calculation that share one cell, or that are fed from what they are not.
    pub(in crate::workbook) fn fed_otherwise(&self, request: &Request) -> Vec<Diagnostic> {
        let mut readers: BTreeMap<Key, &str> = BTreeMap::new();
        let mut found = Vec::new();
        let values = || request.reads.iter().filter(|read| read.part == Part::Value);
        for read in values() {
            let first = *readers.entry(key(&read.cell)).or_insert(&read.name);
            if first != read.name {
                found.push(two_inputs(&read.cell, first, &read.name, self.place(&read.cell)));
            }
        }
        for read in values() {
            let input = request.program.input_named(&read.name);
            let Some(input) = input.filter(|input| request.inputs.is_given(input)) else {
                continue;
            };
            let unit = match request.inputs.value(input) {
                Some(InputValue::One(value)) => Some(value.unit),
                Some(InputValue::Many(values)) => values.into_iter().next().map(|it| it.unit),
                _ => None,
            };
            let program = &request.program;
            let fed = Fed { program, input, unit: unit.as_ref(), cell: &read.cell };
            let other = |cell: &CellAt| {
                let name = readers.get(&key(cell)).copied();
                name.filter(|name| *name != read.name).map(str::to_owned)
            };
            let unit_of = |cell: &CellAt| {
                let said = self.unit_about(cell, input.kind?);
                self.unit_fed(cell, input, unit.as_ref(), said)
            };
            found.extend(self.unchecked(&read.cell, &read.name));
            let is_read = |cell: &CellAt| readers.contains_key(&key(cell));
            found.extend(self.of_sources(&read.cell, &fed, &is_read));
            found.extend(self.another_end(&fed));
            found.extend(self.book.tab(&read.cell.tab).and_then(|tab| {
                let name = format!("`{}`", read.name);
                disallowed(self.book, tab, read.cell.position, &name, self.cell(&read.cell))
            }));
            found.extend(self.seen_rounded(&read.cell, &read.name, unit.as_ref()));
            found.extend(self.linked_otherwise(&fed, &other, &unit_of));
        }
        found
    }

    /// What stands at the cells behind the formula of an input and would be told at its own: a line through it, words that
    /// speak against it, a format that shows another number. Cells that are read themselves are told there.
    pub(in crate::workbook) fn of_sources(
        &self,
        cell: &CellAt,
        fed: &Fed<'_>,
        is_read: &dyn Fn(&CellAt) -> bool,
    ) -> Option<Diagnostic> {
        let (input, program) = (fed.input, fed.program);
        let sources = sources(self.book, &cell.tab, cell.position).into_iter();
        let cells = sources.map(|(tab, position)| CellAt { tab, position });
        let cells: Vec<CellAt> = cells.filter(|it| it != cell && !is_read(it)).collect();
        if cells.is_empty() {
            return None;
        }
        let struck = cells.iter().find_map(|it| self.struck(&input.name, std::slice::from_ref(it)));
        let handed_on = self.handed_on(cell);
        let told = || {
            let found = cells.iter().filter_map(|it| {
                let about = About { program, input, unit: None, value: None, as_it_is: false };
                let own = self.unit_beside(it, &about);
                let about_it = input.kind.and_then(|kind| self.unit_about(it, kind)).map(|it| it.0);
                let mut factors = handed_on.iter().filter(|one| one.0 == *it);
                let as_it_is = factors.next().is_some_and(|(_, factor)| {
                    Self::is_same_quantity(fed.unit, about_it.as_ref(), *factor)
                });
                // a number that is handed on as it is has the unit of the input, where nothing beside it says one
                let own = own.or_else(|| about_it.clone());
                let own = own.or_else(|| fed.unit.filter(|_| as_it_is).cloned());
                let value = own.as_ref().and_then(|unit| match self.cell(it) {
                    Cell::Number(number) => {
                        let (digits, ten) = shortest(*number)?;
                        Some(Literal::new(digits, ten, unit.clone()))
                    }
                    _ => None,
                });
                let (unit, value) = (own.as_ref(), value.as_ref());
                let about = About { unit, value, as_it_is, ..about };
                let shown = || {
                    let tab = self.book.tab(&it.tab)?;
                    let Cell::Number(number) = self.cell(it) else { return None };
                    let unit = about_it.as_ref().or(fed.unit.filter(|_| as_it_is))?;
                    let (name, kind) = (input.name.as_str(), input.kind);
                    let held = Held { name, kind, unit, number: *number };
                    otherwise(self.book, tab, it.position, &held)
                };
                let label = || self.label_struck(&input.name, it);
                label().or_else(shown).or_else(|| self.spoken(&about, it, &ToleranceAt::Nowhere))
            });
            let mut found: Vec<Diagnostic> = found.collect();
            found.sort_by_key(|it| !it.is_error());
            found.into_iter().next()
        };
        let found = struck.or_else(told)?;
        Some(found.label(self.place(cell), format!("the formula of `{}` takes it", input.name)))
    }

    /// A formula that takes another of several values than the sheet says that the input is: the mean for the least.
    pub(in crate::workbook) fn another_end(&self, fed: &Fed<'_>) -> Option<Diagnostic> {
        let (name, cell) = (&fed.input.name, fed.cell);
        let limit = end_of_limit(fed.program, fed.input);
        let (wanted, word) = end_measured(fed.input).or(limit)?;
        let taken = ends(self.book, &cell.tab, cell.position).into_iter();
        let Taken { by, function, instead: [least, greatest], .. } =
            taken.into_iter().find(|it| it.end != wanted)?;
        let by = CellAt { tab: by.0, position: by.1 };
        let there = self.there(fed, &by);
        let words = match (limit, wanted) {
            (None, _) => format!(
                "the formula of {there} takes {function} for `{name}`, of which the sheet says \"{}\"",
                note_of(fed.input)
            ),
            (_, End::Least) => format!(
                "the formula of {there} takes {function} for `{name}`, and a higher `{name}` only ever helps the checks: of several limits the least holds"
            ),
            _ => format!(
                "the formula of {there} takes {function} for `{name}`, and a lower `{name}` only ever helps the checks: of several demands the greatest holds"
            ),
        };
        let asks = match limit {
            None => format!("the sheet asks for the {word}"),
            Some(_) => format!("the {word} of them is the limit"),
        };
        let meant = if wanted == End::Least { least } else { greatest };
        let caution = Diagnostic::caution(Name::TwoStatements, words).at(self.place(cell));
        let caution = caution.label(self.place(&by), asks);
        Some(caution.remedy(format!("write `{meant}` there, or make sure that it is the {word}")))
    }

    /// The number of an input that its cell shows rounded.
    pub(in crate::workbook) fn seen_rounded(
        &self,
        cell: &CellAt,
        name: &str,
        unit: Option<&Unit>,
    ) -> Option<Diagnostic> {
        let tab = self.book.tab(&cell.tab)?;
        let Cell::Number(number) = self.cell(cell) else { return None };
        let held = Held { name, kind: None, unit: unit?, number: *number };
        rounded_off(self.book, tab, cell.position, &held)
    }

    /// A formula of an input that takes its value from a cell which, by what stands about it, holds something else.
    pub(in crate::workbook) fn linked_otherwise(
        &self,
        fed: &Fed<'_>,
        other: OtherInput<'_>,
        unit_of: UnitOf<'_>,
    ) -> Option<Diagnostic> {
        let name = &fed.input.name;
        let mut at = fed.cell.clone();
        let (mut times, mut plain) = (Times::one(), true);
        let mut passed = vec![key(fed.cell)];
        for _ in 0..DEEPEST {
            let Some(next) = link(self.book, self.book.tab(&at.tab)?, at.position) else {
                let way = Way { at: &at, own: fed.unit?, times: &times, depth: 0 };
                return self.composed_otherwise(fed, way, other, unit_of);
            };
            let numbers = terms(self.book, self.book.tab(&at.tab)?, at.position);
            let numbers = numbers.and_then(|it| it.terms.into_iter().next());
            times = times.with(next.factor, &numbers.map_or_else(Vec::new, |it| it.plain));
            plain &= next.is_plain();
            at = CellAt { tab: next.tab, position: next.cell };
            if passed.contains(&key(&at)) {
                let words =
                    format!("the formula of `{name}` leads back to {}", self.there(fed, &at));
                let label = "it takes its value from itself".to_owned();
                return Some(self.asked_of_formula(fed, &at, words, label));
            }
            passed.push(key(&at));
            let there = self.there(fed, &at);
            if let Some(other) = other(&at).filter(|_| plain) {
                let words = format!(
                    "the formula of `{name}` takes {there}, which is the cell of `{other}`"
                );
                return Some(self.asked_of_formula(
                    fed,
                    &at,
                    words,
                    format!("`{other}` is read from here"),
                ));
            }
            if let Some((said, text)) = self
                .named_otherwise(fed.program, name, &at)
                .filter(|(said, _)| plain && fed.program.input_named(said).is_some())
            {
                let words = format!(
                    "the formula of `{name}` takes {there}, and the text in {} calls it `{said}`",
                    text.position.name()
                );
                return Some(self.asked_of_formula(
                    fed,
                    &text,
                    words,
                    format!("here it is `{said}`"),
                ));
            }
            if let (Some(own), Some((said, text))) = (fed.unit, unit_of(&at)) {
                let percent = |cell: &CellAt| self.shows_percent(cell);
                let one = Unit::one();
                let own = if own.dimension.is_none() && percent(fed.cell) { &one } else { own };
                let said =
                    if said.dimension.is_none() && percent(&at) { one.clone() } else { said };
                if let Some(what) = differs(own, &said, &times) {
                    let factor = times.factor;
                    let by = if factor == 1.0 {
                        String::new()
                    } else {
                        format!(" times {}", short(factor))
                    };
                    let words = format!(
                        "`{name}` is in {}, and its formula takes {there}{by}, which is in {}: {what}",
                        symbol(own),
                        symbol(&said)
                    );
                    let label = format!("here it is {}", symbol(&said));
                    let asked = self.asked_of_formula(fed, &text, words, label);
                    let alone = factor == 1.0 || what == NOT_QUARTERED;
                    let sure = alone && own.dimension == said.dimension && !own.point;
                    let by = size(&said) / size(own) / factor;
                    let by = if what == NOT_QUARTERED { size(&said) / size(own) } else { by };
                    return Some(match sure {
                        true => self.asked_with_factor(fed, asked, by),
                        false => asked,
                    });
                }
            }
        }
        None
    }
}

/// One cell from which two inputs of a calculation are read.
fn two_inputs(cell: &CellAt, one: &str, other: &str, place: Place) -> Diagnostic {
    let here = cell.position.name();
    let words = format!("`{one}` and `{other}` are both read from {here}");
    Diagnostic::error(Name::AskedTwice, words).at(place).remedy(format!(
        "point one of them elsewhere; if both have this value, give `{other}` a cell of its own with the number in it"
    ))
}
