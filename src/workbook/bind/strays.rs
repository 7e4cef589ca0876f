//! Rows and values that stand apart from what reads them.

use super::label::asked;
use super::slips::{Block, is_word_of};
use super::unit_words::states_again;
use super::{Binder, CellAt, Part, Request};
use crate::calculation::is_tolerance;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::number::InputValue;
use crate::program::{Type, nearest};
use crate::spreadsheet::{Book, Cell, Entry, Position, is_number};

/// Empty cells after the end of a series that are looked over.
const GAP: i64 = 2;

/// Whether a text states the value of an input once more.
fn says_again(request: &Request, name: &str, text: &str) -> bool {
    let input = request.program.input_named(name).filter(|it| request.inputs.is_given(it));
    let value = input.and_then(|it| Some((it.kind?, request.inputs.value(it)?)));
    match value {
        Some((kind, InputValue::One(own))) => states_again(kind, &own.unit, own.si_f64(), text),
        _ => false,
    }
}

impl Binder<'_> {
    /// Rows that stand apart from their block on its tab, and yet bear a name of its sheet with a value.
    pub(in crate::workbook) fn strays(
        &self,
        block: &Block,
        is_apart: &dyn Fn(u32) -> bool,
    ) -> Vec<Diagnostic> {
        let Some(tab) = self.book.tab(&block.start.tab) else { return Vec::new() };
        let program = &block.program;
        let inputs = program.inputs.iter().map(|input| input.name.as_str());
        let outputs = program.outputs.iter().map(|output| output.name.as_str());
        let known: Vec<&str> = inputs.chain(outputs).chain(["checks"]).collect();
        let starts: Vec<Position> = tab
            .entries()
            .filter(|entry| matches!(&entry.cell, Cell::Text(text) if asked(text).is_some()))
            .map(|entry| entry.position)
            .collect();
        let start = block.start.position;
        // rows below another block's head are that block's
        let of_another = |at: Position| {
            let above = starts.iter().filter(|it| it.column == at.column && it.row < at.row);
            above.max_by_key(|it| it.row).is_some_and(|it| *it != start)
        };
        let mut found = Vec::new();
        for entry in tab.entries().filter(|entry| is_apart(entry.position.row)) {
            let Cell::Text(text) = &entry.cell else { continue };
            let name = super::label(text).name;
            // a row moved one column to the right is a row as well
            let moved = entry.position.column == start.column + 1
                && known.contains(&name.as_str())
                && matches!(
                    entry
                        .position
                        .column
                        .checked_sub(1)
                        .map(|column| tab.cell(Position { column, ..entry.position })),
                    Some(Cell::Empty)
                );
            let below =
                (entry.position.column == start.column || moved) && entry.position.row > start.row;
            let exact = known.contains(&name.as_str());
            let near = below
                && name.chars().count() > 2
                && nearest(&name, known.iter().copied())
                    .first()
                    .is_some_and(|(_, slips)| *slips == 1);
            // to the side of the block, a slip in the name of an input that is not in it
            let slip = || {
                let (first, slips) = *nearest(&name, known.iter().copied()).first()?;
                let input = program.input_named(first)?;
                let value =
                    self.beside(&CellAt { tab: tab.name.clone(), position: entry.position }, 0, 1)?;
                let stated = self.unit_stated(input, text, &value).is_some();
                let open = !block.taken.iter().any(|it| it == first);
                (slips == 1 && name.chars().count() > 2 && open && stated).then_some(())
            };
            let near = near || !exact && slip().is_some();
            // a name that the block has already may be listed once more, with what it means
            if !(exact || near) || block.taken.contains(&name) || of_another(entry.position) {
                continue;
            }
            let name_cell = CellAt { tab: tab.name.clone(), position: entry.position };
            let (Some(value), Some(unit)) =
                (self.beside(&name_cell, 0, 1), self.beside(&name_cell, 0, 2))
            else {
                continue;
            };
            let holds = match self.cell(&value) {
                Cell::Number(_) => true,
                Cell::Empty => match self.text_of(&unit) {
                    Some(unit) => crate::unit::is_unit(&unit),
                    None => {
                        // a text before it makes it one heading among others
                        let among = self.beside(&name_cell, 0, -1).and_then(|it| self.text_of(&it));
                        let symbol = among.is_none() && name.contains('_') || name == "checks";
                        // its unit may stand far aside
                        let aside = (3..=5).any(|right| {
                            let text =
                                self.beside(&name_cell, 0, right).and_then(|it| self.text_of(&it));
                            text.is_some_and(|text| crate::unit::is_unit(&text))
                        });
                        exact && (below && name.chars().count() > 1 || symbol || aside)
                    }
                },
                Cell::Text(text) => {
                    let text = text.trim_start();
                    text.starts_with(|it: char| it.is_ascii_digit())
                        || is_tolerance(text)
                        || is_word_of(program, &name, text)
                }
                _ => false,
            };
            if holds && !self.is_bound(&name_cell) && !self.is_bound(&value) {
                found.push(
                    Diagnostic::error(
                        Name::UnknownRow,
                        format!("`{name}` stands apart from the block of `{}`", block.sheet),
                    )
                    .at(self.place(&name_cell))
                    .label(block.place.clone(), "the block begins here")
                    .remedy("move the row up to the block, without empty rows between, or rename it if it is a remark"),
                );
            }
        }
        found
    }

    /// Numbers in the rows of a block, to the right of its units, that nothing reads: an older value, or a newer one.
    pub(super) fn numbers_beside(&self, block: &Block) -> Option<Diagnostic> {
        let request = self.bound.requests.iter().find(|it| it.place == block.place)?;
        let labels = request.reads.iter().filter(|read| read.part == Part::Label);
        let cells = labels
            .filter(|read| read.cell.position.column == block.start.position.column)
            .filter(|read| read.cell != block.start)
            .flat_map(|read| {
                let right = (3..=4).filter_map(|right| self.beside(&read.cell, 0, right));
                right.map(|cell| (read.name.as_str(), cell))
            })
            .filter(|(name, cell)| match self.cell(cell) {
                Cell::Number(_) => !self.is_bound(cell),
                Cell::Text(text) => {
                    is_number(text) && !self.is_bound(cell) && !says_again(request, name, text)
                }
                _ => false,
            })
            .map(|(_, cell)| cell);
        // the cells of another block on the tab are that block's
        let tab = self.book.tab(&block.start.tab)?;
        let asks = |it: &&Entry| matches!(&it.cell, Cell::Text(text) if asked(text).is_some());
        let others: Vec<Position> = tab
            .entries()
            .filter(asks)
            .map(|entry| entry.position)
            .filter(|at| *at != block.start.position)
            .collect();
        let mut cells = cells.filter(|cell| {
            !others.iter().any(|at| (at.column..=at.column + 2).contains(&cell.position.column))
        });
        let first = cells.next()?;
        let more = match cells.count() {
            0 => String::new(),
            more => format!(" and {more} more cells beside the block"),
        };
        let what = self.text_of(&first).map_or("the number".to_owned(), |it| format!("\"{it}\""));
        let words = format!(
            "{what} in {}{more} is not used: values stand next to the names",
            first.position.name()
        );
        Some(
            Diagnostic::caution(Name::UnknownRow, words)
                .at(self.place(&first))
                .remedy("if it is the value that is meant, put it in the cell behind the name"),
        )
    }

    /// Values that go on after the end of a series, or stand before its beginning, and that nothing reads.
    pub(super) fn short_series(&self) -> Vec<Diagnostic> {
        let mut found = Vec::new();
        for request in &self.bound.requests {
            for input in &request.program.inputs {
                if !matches!(input.type_, Type::Number { series: true, .. }) {
                    continue;
                }
                let cells: Vec<&CellAt> = request
                    .reads
                    .iter()
                    .filter(|read| read.part == Part::Value && read.name == input.name)
                    .map(|read| &read.cell)
                    .collect();
                let (Some(first), Some(last)) = (cells.first(), cells.last()) else { continue };
                let down = first.position.column == last.position.column;
                let ends = [(*last, 1_i64), (*first, -1_i64)];
                found.extend(ends.into_iter().find_map(|(end, way)| {
                    let next = self.goes_on_at(end, way, down)?;
                    let words = format!(
                        "the series `{}` ends in {}, and {} holds a value that is not read",
                        input.name,
                        end.position.name(),
                        next.position.name()
                    );
                    let problem = Diagnostic::error(Name::UnknownRow, words).at(self.place(&next));
                    Some(problem.remedy(format!(
                        "let the cells of `{}` reach to the last value, or write a name before what is not of the series",
                        input.name
                    )))
                }));
            }
        }
        found
    }

    /// The next cell in a line of cells that holds a value as those before do, and that nothing reads or writes.
    fn goes_on_at(&self, end: &CellAt, way: i64, down: bool) -> Option<CellAt> {
        let step = |by: i64| match down {
            true => self.beside(end, by * way, 0),
            false => self.beside(end, 0, by * way),
        };
        let next = (1..=GAP + 1).map_while(step).find(|cell| !self.cell(cell).is_empty())?;
        let of_number = |cell: &CellAt| match self.cell(cell) {
            Cell::Number(_) => true,
            Cell::Text(text) => text.trim_start().starts_with(|it: char| it.is_ascii_digit()),
            _ => false,
        };
        // what stands before a value: nothing, a number that counts, or words
        let before = |cell: &CellAt| {
            let side = if down { self.beside(cell, 0, -1) } else { self.beside(cell, -1, 0) };
            side.map_or(0, |side| match self.cell(&side) {
                Cell::Text(_) => 2,
                Cell::Empty => 0,
                _ => 1,
            })
        };
        let total = self
            .book
            .tab(&next.tab)
            .and_then(|tab| tab.entry(next.position))
            .is_some_and(|entry| entry.total);
        let alike = of_number(&next) && !total && before(&next) == before(end);
        (alike && !self.is_bound(&next)).then_some(next)
    }

    /// Whether a calculation reads or writes a cell.
    pub(super) fn is_bound(&self, cell: &CellAt) -> bool {
        self.bound.requests.iter().any(|request| {
            request.reads.iter().any(|read| read.cell == *cell)
                || request.results.iter().any(|target| target.cells.contains(cell))
        })
    }
}

/// The cell below the head of a block, in its column, that bears a name.
pub(in crate::workbook) fn stands_below(book: &Book, head: &Place, name: &str) -> Option<String> {
    let Place::Cell { tab, row, column, .. } = head else { return None };
    let mut below = book
        .tab(tab)?
        .entries()
        .filter(|entry| entry.position.column == *column && entry.position.row > *row);
    let found = below
        .find(|entry| matches!(&entry.cell, Cell::Text(text) if super::label(text).name == name))?;
    Some(found.position.name())
}
