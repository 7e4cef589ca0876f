//! The words about a value, wherever they stand, handed to the one reader of them; those at the sources of its formula too.

use super::feed::near;
use super::label::asked;
use super::said::{About, Said};
use super::taken_back::name_struck;
use super::tolerance::ToleranceAt;
use super::words::{bears_figure, heads_remarks};
use super::{Binder, CellAt, Part, is_nothing, label};
use crate::diagnostic::Diagnostic;
use crate::spreadsheet::terms::terms;
use crate::spreadsheet::{Cell, Position};
use crate::unit::Unit;

/// Formulas that lead to formulas.
const DEEPEST: usize = 40;

/// Rows above a remark in which its heading is looked for.
const REMARKS: usize = 200;

impl Binder<'_> {
    /// The texts about a value and the notes at their cells: labels, the cell of the unit, remarks, headings.
    fn words_about(&self, value: &CellAt) -> Vec<(String, CellAt)> {
        let mut cells = self.labels(value);
        cells.extend(self.unit_cell(value));
        // a cell above that says it holds nothing speaks of itself alone
        let says = |cell: &CellAt| !self.text_of(cell).is_some_and(|it| is_nothing(&it));
        cells.extend(self.headings(value).into_iter().filter(says));
        for behind in self.behind(value) {
            if !cells.contains(&behind) {
                cells.push(behind);
            }
        }
        let mut found: Vec<(String, CellAt)> = Vec::new();
        for cell in std::iter::once(value).chain(&cells) {
            let tab = self.book.tab(&cell.tab);
            let notes = tab.into_iter().flat_map(|tab| tab.notes.at(cell.position));
            found.extend(notes.map(|text| (text.to_owned(), cell.clone())));
        }
        found.extend(cells.into_iter().filter_map(|cell| Some((self.text_of(&cell)?, cell))));
        found
    }

    /// The cells behind a value, up to what begins anew in its row: a number, the name before one or before a unit, another
    /// block.
    pub(super) fn behind(&self, value: &CellAt) -> Vec<CellAt> {
        let Some(tab) = self.book.tab(&value.tab) else { return Vec::new() };
        let Position { row, column } = value.position;
        let own = tab.merged_at(value.position).map_or(column, |area| area.last.column);
        let is_number = |cell: &CellAt| matches!(self.cell(cell), Cell::Number(_));
        let is_unit =
            |cell: &CellAt| self.text_of(cell).is_some_and(|it| crate::unit::is_unit(&it));
        let other = self.starts(&value.tab).into_iter();
        let other = other.filter(|it| it.row <= row && it.column > own).map(|it| it.column).min();
        let filled = tab.row(row).iter().map(|entry| entry.position.column);
        let noted = tab.notes.in_row(row).map(|(area, _)| area.first.column);
        let mut columns: Vec<u32> = filled.chain(noted).filter(|it| *it > own).collect();
        columns.sort_unstable();
        columns.dedup();
        let mut before = own;
        let mut found = Vec::new();
        for column in columns.into_iter().take_while(|it| other.is_none_or(|other| *it < other)) {
            let cell = CellAt { tab: tab.name.clone(), position: Position { row, column } };
            let next = |right| self.beside(&cell, 0, right);
            let heads = next(1).is_some_and(|it| is_number(&it))
                || next(1).is_some_and(|it| self.cell(&it).is_empty())
                    && next(2).is_some_and(|it| is_unit(&it));
            if is_number(&cell) || column > before + 1 && heads {
                break;
            }
            before = column;
            found.push(cell);
        }
        found
    }

    /// Where the blocks of a tab begin.
    fn starts(&self, tab: &str) -> Vec<Position> {
        let starts = self.starts.get_or_init(|| {
            let tabs = self.book.tabs.iter();
            let all = tabs.flat_map(|tab| tab.entries().map(move |entry| (tab, entry)));
            let starts = all.filter_map(|(tab, entry)| match &entry.cell {
                Cell::Text(text) => asked(text).map(|_| (tab.name.clone(), entry.position)),
                _ => None,
            });
            starts.collect()
        });
        starts.iter().filter(|it| it.0 == tab).map(|it| it.1).collect()
    }

    /// What the words about a value say against it: what is an error first. The cell of its tolerance says no words.
    pub(super) fn spoken(
        &self,
        about: &About<'_>,
        value: &CellAt,
        tolerance: &ToleranceAt,
    ) -> Option<Diagnostic> {
        let is_tolerance = |it: &CellAt| matches!(tolerance, ToleranceAt::In(cell) if cell == it);
        // what stands above may be the value of another row
        let is_value = |it: &CellAt| {
            let name = self.beside(it, 0, -1).and_then(|at| self.text_of(&at));
            it.position.row < value.position.row
                && it.position.column == value.position.column
                && name.is_some_and(|it| about.program.input_named(&label(&it).name).is_some())
        };
        let texts = self.words_about(value).into_iter();
        let texts = texts.filter(|it| !is_tolerance(&it.1) && !is_value(&it.1));
        let remarks = self.behind(value);
        let unit = self.unit_cell(value);
        let is_remark = |cell: &CellAt| {
            remarks.contains(cell) && Some(cell) != unit.as_ref() && !self.is_below_remarks(cell)
        };
        let mut said = texts.filter_map(|(text, cell)| {
            let noted = self.text_of(&cell).is_none_or(|own| own != text);
            let unclear = || (noted || is_remark(&cell)).then(|| about.unclear(&text)).flatten();
            Some((about.said(&text).or_else(unclear)?, cell))
        });
        let first = said.next()?;
        let (found, cell): (Said, CellAt) = match first.0.is_error() {
            true => first,
            false => said.find(|it| it.0.is_error()).unwrap_or(first),
        };
        Some(found.at(self.place(&cell)))
    }

    /// Whether a cell stands below a heading that says that its texts are remarks.
    pub(super) fn is_below_remarks(&self, cell: &CellAt) -> bool {
        let Some(tab) = self.book.tab(&cell.tab) else { return false };
        let above = (0..cell.position.row).rev().take(REMARKS);
        let mut texts = above.filter_map(|row| match tab.cell(Position { row, ..cell.position }) {
            Cell::Text(text) => Some(text),
            _ => None,
        });
        texts.any(|text| heads_remarks(text))
    }

    /// The remarks beside the values of all calculations, which nothing uses.
    pub(super) fn remarks_unused(&self) -> Vec<(CellAt, String)> {
        let mut found: Vec<(CellAt, String)> = Vec::new();
        for request in &self.bound.requests {
            for read in request.reads.iter().filter(|read| read.part == Part::Value) {
                let Some(input) = request.program.input_named(&read.name) else { continue };
                let about = About {
                    program: &request.program,
                    input,
                    unit: None,
                    value: None,
                    as_it_is: false,
                };
                for cell in self.behind(&read.cell) {
                    let text = self.text_of(&cell).filter(|text| {
                        bears_figure(text) && !about.is_named(text) && !self.is_bound(&cell)
                    });
                    let Some(text) = text.filter(|_| found.iter().all(|it| it.0 != cell)) else {
                        continue;
                    };
                    found.push((cell, text));
                }
            }
        }
        found
    }

    /// A line through the words before a value.
    pub(super) fn label_struck(&self, name: &str, value: &CellAt) -> Option<Diagnostic> {
        let struck =
            |it: &CellAt| self.book.tab(&it.tab).is_some_and(|tab| tab.is_struck(it.position));
        let label = self.labels(value).into_iter().find(struck)?;
        Some(name_struck(&format!("`{name}`"), &self.text_of(&label)?, self.place(&label)))
    }

    /// The unit beside a value alone, without what is stated above it or before it.
    pub(super) fn unit_beside(&self, cell: &CellAt, about: &About<'_>) -> Option<Unit> {
        let kind = about.input.kind?;
        let text = self.unit_cell(cell).and_then(|at| self.text_of(&at));
        let right = text.and_then(|text| kind.read_plate(super::cells::unit_alone(&text)).ok());
        let label = || {
            let before = self.beside(cell, 0, -1).and_then(|at| self.text_of(&at))?;
            kind.read_plate(&label(&before).unit?).ok()
        };
        right.or_else(label)
    }

    /// The cells whose numbers the formula of a cell hands on as they are, through any number of formulas, each with the
    /// factor by which they are multiplied.
    pub(super) fn handed_on(&self, cell: &CellAt) -> Vec<(CellAt, f64)> {
        let mut found: Vec<(CellAt, f64)> = vec![(cell.clone(), 1.0)];
        let mut at = 0;
        while let Some((from, factor)) = found.get(at).filter(|_| at < DEEPEST).cloned() {
            at += 1;
            let of_it = self.book.tab(&from.tab);
            let of_it = of_it.and_then(|tab| terms(self.book, tab, from.position));
            for term in of_it.iter().flat_map(|it| &it.terms) {
                let Some((tab, position)) = term.cell() else { continue };
                let next = CellAt { tab: tab.to_owned(), position };
                if !found.iter().any(|it| it.0 == next) {
                    found.push((next, factor * term.factor));
                }
            }
        }
        found.remove(0);
        found
    }

    /// Whether a number times a factor is the same quantity in another unit.
    pub(super) fn is_same_quantity(own: Option<&Unit>, said: Option<&Unit>, factor: f64) -> bool {
        match (own, said) {
            (Some(own), Some(said)) if own.dimension == said.dimension => {
                near(factor * super::feed::size(own) / super::feed::size(said), 1.0)
            }
            (Some(_), Some(_)) => false,
            _ => near(factor, 1.0),
        }
    }
}
