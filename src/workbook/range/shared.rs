//! Inputs that stand above a table once for all its rows.

use std::sync::Arc;

use super::super::bind::slips::{Block, is_word_of};
use super::super::bind::unread::Taken;
use super::super::bind::{Binder, CellAt, Part, ReadCell, Request, label};
use super::InputColumns;
use super::header::Candidate;
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Program, nearest};
use crate::spreadsheet::{Cell, Entry, Position, Tab};
use crate::unit::is_unit;
use crate::workbook::fill::asked_by_sheet;

/// The inputs that stand above the table once for all rows; names every input that stands nowhere.
pub(super) fn shared(
    binder: &mut Binder<'_>,
    found: &Candidate<'_>,
    inputs: &[InputColumns],
    headings: &[Entry],
    elsewhere: &[String],
) -> Option<(Inputs, Vec<ReadCell>)> {
    let Candidate { tab, program, header, .. } = found;
    let at = found.anchor.unwrap_or(Position { row: *header, column: 0 });
    let cell = CellAt { tab: tab.name.clone(), position: at };
    let mut request: Request = binder.request(&found.sheet, binder.place(&cell), program);
    let before = binder.bound.problems.len();
    if *header > 0 {
        let below = found.anchor.map(|anchor| Position { row: anchor.row + 1, ..anchor });
        let first = below.or_else(|| first_labelled(tab, program, *header));
        let mut taken = Vec::new();
        let rows = first.map(|first| binder.rows(&tab.name, first, header - 1));
        for row in rows.into_iter().flatten() {
            taken.push(row.name.clone());
            binder.bind_row(&mut request, row);
        }
        let block = Block {
            program: Arc::clone(program),
            sheet: found.sheet.clone(),
            place: request.place.clone(),
            taken,
            start: CellAt { position: found.anchor.or(first).unwrap_or(at), ..cell.clone() },
        };
        // above the table, and below its head what is no variant with all its values
        let is_variant = |row| {
            let mut columns = inputs.iter().flat_map(|input| &input.columns);
            columns.all(|column| match tab.cell(Position { row, column: *column }) {
                Cell::Empty => false,
                Cell::Text(text) => !is_unit(text.trim()),
                _ => true,
            })
        };
        let is_apart = |row| row < *header || row > *header + 1 && !is_variant(row);
        let strays = binder.strays(&block, &is_apart);
        binder.bound.problems.extend(strays);
    }
    let stale = binder.texts_not_their_own(&request);
    binder.bound.problems.extend(stale);
    for target in &request.results {
        if let Some(cell) = target.cells.first() {
            binder.bound.problems.push(
                Diagnostic::error(
                    Name::UnknownRow,
                    "a result stands above the table, where inputs stand that all rows share",
                )
                .at(binder.place(cell))
                .remedy(format!(
                    "give the result a column of the table, one value a variant; a form of one calculation is filled: `standstill fill {}`",
                    binder.book.name
                )),
            );
        }
    }
    let fed = binder.fed_otherwise(&request);
    binder.bound.problems.extend(fed);
    let mut shared = request.inputs.clone();
    shared.in_a_head();
    let mut given = shared.clone();
    for columns in inputs {
        let input = program.inputs.get(columns.input);
        let heading = Position { row: *header, column: 0 };
        if let Some(input) = input {
            given.give_up(&input.name, binder.book.place(&tab.name, heading));
        }
    }
    let taken = Taken { program, inputs: &given, reads: &request.reads, but: Some(&tab.name) };
    let unread = binder.unread(&taken, &|_| false);
    binder.bound.problems.extend(unread);
    for columns in inputs {
        let Some(input) = program.inputs.get(columns.input) else { continue };
        let heading =
            Position { row: *header, column: columns.columns.first().copied().unwrap_or(0) };
        let heading = binder.book.place(&tab.name, heading);
        if shared.is_given(input) {
            binder.bound.problems.push(
                Diagnostic::error(
                    Name::AskedTwice,
                    format!("`{}` has a column and a row above the table", input.name),
                )
                .at(heading.clone())
                .label(shared.place(input), "the other")
                .remedy("take one of them out"),
            );
        }
        request.inputs.give_up(&input.name, heading);
    }
    for name in elsewhere {
        request.inputs.give_up(name, request.place.clone());
    }
    binder.settle(&mut request);
    // what words above the table leave out in every row need not be given
    if let Some(spared) = request.inputs.spared() {
        program.inputs.iter().filter(|it| spared.is_spared(it)).for_each(|it| shared.spare(it));
    }
    if let Err(problems) = Results::compute(program, &request.inputs) {
        for problem in problems {
            binder.bound.problems.push(if problem.name == Name::MissingInput {
                told_of_table(problem, program, &request.place, headings, *header > 0)
            } else {
                problem
            });
        }
    }
    let wrong = binder.bound.problems.iter().skip(before).any(Diagnostic::is_error);
    let cells = request.reads.into_iter().filter(|read| read.part != Part::Label).collect();
    (!wrong).then_some((shared, cells))
}

/// Where the rows that all variants share begin above a table whose sheet no cell names: at the first that bears the
/// name of an input, or nearly, with a value behind it.
fn first_labelled(tab: &Tab, program: &Program, header: u32) -> Option<Position> {
    let labelled = |entry: &&Entry| {
        let Cell::Text(text) = &entry.cell else { return false };
        let name = label(text).name;
        let first = name.split([' ', '.', '±']).next().unwrap_or_default();
        let column = entry.position.column + 1;
        let right = |by| tab.cell(Position { column: column + by, ..entry.position });
        let (value, unit) = (right(0), right(1));
        let has_unit = matches!(unit, Cell::Text(text) if is_unit(text.trim()));
        match (program.input_named(first), value) {
            (_, Cell::Empty) => false,
            (Some(_), Cell::Text(value)) => {
                let value = value.trim_start();
                value.starts_with(|it: char| it.is_ascii_digit() || "+-−±".contains(it))
                    || has_unit
                    || is_word_of(program, first, value)
            }
            (Some(_), _) => true,
            (None, Cell::Number(_)) if first.chars().count() > 2 => {
                let names = program.inputs.iter().map(|input| input.name.as_str());
                nearest(first, names).first().is_some_and(|(_, slips)| *slips == 1)
            }
            _ => false,
        }
    };
    let mut above = tab.entries().filter(|entry| entry.position.row < header);
    above.find(labelled).map(|entry| entry.position)
}

/// An input that stands nowhere is the table's trouble.
fn told_of_table(
    problem: Diagnostic,
    program: &Program,
    place: &Place,
    headings: &[Entry],
    anchored: bool,
) -> Diagnostic {
    let name = &problem.input;
    let unit = program.input_named(name).map_or("", |input| input.unit.symbol.as_str());
    let texts: Vec<String> = headings
        .iter()
        .filter_map(|entry| match &entry.cell {
            Cell::Text(text) => Some(label(text).name),
            _ => None,
        })
        .filter(|text| program.input_named(text).is_none())
        .collect();
    let near = nearest(name, texts.iter().map(String::as_str));
    let heading = super::write::heading(name, unit);
    let row = if anchored {
        format!(", or a row above the table: {name}, its value, {unit}")
            .trim_end_matches(", ")
            .to_owned()
    } else {
        String::new()
    };
    let remedy = match near.first() {
        Some((near, _)) => format!("the heading `{near}` is close; write `{heading}`"),
        None => format!("add a column `{heading}`{row}"),
    };
    let headline = format!("{}; it has no column", problem.headline);
    asked_by_sheet(Diagnostic { headline, ..problem }, place, remedy)
}
