//! The table found: which tab and sheet, and which row is its head.

use std::sync::Arc;

use super::super::Unfilled;
use super::super::bind::Binder;
use super::super::bind::label;
use super::super::bind::label::asked;
use super::columns::columns;
use super::{ProductLine, TableRequest};
use crate::diagnostic::{Diagnostic, Name, Place, put_in_order};
use crate::program::{Program, Sheets};
use crate::project::name_in;
use crate::report::Identity;
use crate::spreadsheet::{Book, Cell, Entry, Position, Tab, TabKind};

/// Finds the table of variants that a workbook holds.
pub(super) fn find(
    book: &Book,
    wanted: &TableRequest,
    sheets: &dyn Sheets,
) -> Result<ProductLine, Unfilled> {
    let mut binder = Binder::new(book, sheets);
    let found = candidate(&mut binder, wanted);
    let line = match found {
        Ok(found) => columns(&mut binder, &found, wanted),
        Err(problem) => {
            binder.bound.problems.extend(problem.map(|problem| *problem));
            None
        }
    };
    binder.bound.problems.extend(book.misnamed());
    let mut problems = binder.bound.problems;
    put_in_order(&mut problems);
    match line {
        Some(line) if !problems.iter().any(Diagnostic::is_error) => {
            Ok(ProductLine { cautions: problems, ..line })
        }
        _ => Err(Unfilled {
            problems,
            sheet_is_wrong: binder.bound.sheet_is_wrong,
            cells: Vec::new(),
        }),
    }
}

/// A table that may be the one.
pub(super) struct Candidate<'a> {
    pub(super) tab: &'a Tab,
    pub(super) sheet: String,
    pub(super) program: Arc<Program>,
    /// The cell that names the sheet.
    pub(super) anchor: Option<Position>,
    pub(super) header: u32,
    /// How many cells of the header row are names.
    names: usize,
    /// The last row that may belong to it.
    pub(super) last: u32,
}

type Problem = Option<Box<Diagnostic>>;

fn candidate<'a>(binder: &mut Binder<'a>, wanted: &TableRequest) -> Result<Candidate<'a>, Problem> {
    let book = binder.book;
    let file = Place::File { name: book.name.clone() };
    let tabs: Vec<&Tab> = match &wanted.tab {
        Some(name) => vec![book.tab(name).ok_or_else(|| missing_tab(book, name))?],
        None => book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells).collect(),
    };
    let mut found: Vec<Candidate<'a>> = Vec::new();
    let mut any_sheet = wanted.sheet.is_some();
    let mut form: Option<Place> = None;
    for tab in tabs {
        let anchors = anchors(tab);
        let used = tab.used().map_or(0, |used| used.last.row);
        let mut starts: Vec<(Option<Position>, String)> = match &wanted.sheet {
            None => anchors.iter().map(|(at, sheet)| (Some(*at), sheet.clone())).collect(),
            Some(wanted) => anchors
                .iter()
                .filter(|(_, sheet)| name_in(sheet) == name_in(wanted))
                .map(|(at, sheet)| (Some(*at), sheet.clone()))
                .collect(),
        };
        any_sheet |= !starts.is_empty();
        if let (Some(sheet), true) = (&wanted.sheet, starts.is_empty()) {
            starts.push((None, sheet.clone()));
        }
        for (anchor, sheet) in starts {
            let place = anchor.map_or_else(|| file.clone(), |at| book.place(&tab.name, at));
            let by = wanted.asked_at();
            let place = if anchor.is_some() { place } else { by.clone() };
            let Some(program) = binder.program(&sheet, &place) else { continue };
            // a cell that asks for another sheet of the same name is not passed over
            if let (Some(wanted), true) = (&wanted.sheet, anchor.is_some()) {
                let Some(asked) = binder.program(wanted, &by) else { continue };
                if !is_same(&asked, &program) {
                    binder.bound.problems.push(another(&asked, &program, &place, &by));
                    continue;
                }
            }
            let below = anchors
                .iter()
                .map(|(at, _)| at.row)
                .find(|row| anchor.is_some_and(|at| *row > at.row));
            let last = below.map_or(used, |row| row - 1);
            let first = anchor.map_or(0, |at| at.row + 1);
            if let Some((header, names)) = header_row(tab, &program, first, last) {
                // a cell above that asks for another sheet is not passed over
                let above = anchors.iter().take_while(|(at, _)| at.row < header).last();
                if let (None, Some((at, other))) = (anchor, above) {
                    let here = book.place(&tab.name, *at);
                    binder.bound.problems.push(two_sheets(&sheet, other, here, &by));
                    continue;
                }
                found.push(Candidate { tab, sheet, program, anchor, header, names, last });
            } else if let (Some(at), None) = (anchor, &form)
                && is_form(tab, &program, Position { row: first, ..at }, last)
            {
                form = Some(book.place(&tab.name, at));
            }
        }
    }
    if !binder.bound.problems.is_empty() && found.is_empty() {
        return Err(None);
    }
    let most = found.iter().map(|one| one.names).max().unwrap_or(0);
    let whole: Vec<String> = found
        .iter()
        .filter(|one| one.names > 1 || most == 1)
        .map(|one| book.place(&one.tab.name, Position { row: one.header, column: 0 }).to_text())
        .collect();
    if whole.len() > 1 {
        return Err(Some(Box::new(
            Diagnostic::error(Name::SeveralTables, format!("{} tables of variants are found: {}", whole.len(), whole.join(", ")))
                .at(file)
                .remedy(format!(
                    "calculate one of them with `standstill range {} --tab NAME`; where a variant is taken from a workbook, keep one table of the sheet in it",
                    book.name
                )),
        )));
    }
    found
        .into_iter()
        .find(|one| one.names == most)
        .ok_or_else(|| Some(Box::new(nothing(&file, any_sheet, form))))
}

/// Whether the cells from one on downwards name inputs, as a form for one calculation does.
fn is_form(tab: &Tab, program: &Program, from: Position, last: u32) -> bool {
    (from.row..=last).any(|row| match tab.cell(Position { row, ..from }) {
        Cell::Text(text) => {
            let name = label(text).name;
            program.input_named(&name).is_some()
        }
        _ => false,
    })
}

/// Whether two programs are of one sheet.
fn is_same(a: &Program, b: &Program) -> bool {
    match (a.scopes.first(), b.scopes.first()) {
        (Some(a), Some(b)) => a.source.is_same(&b.source),
        _ => false,
    }
}

/// The command and a cell ask for two sheets of one name.
fn another(asked: &Program, here: &Program, place: &Place, by: &Place) -> Diagnostic {
    let of = |program: &Program| {
        program.scopes.first().map_or(String::new(), |scope| Identity::of(scope).origin)
    };
    let headline = format!("this cell asks for another sheet of that name: {}", of(here));
    Diagnostic::error(Name::AmbiguousSheet, headline)
        .at(place.clone())
        .label(by.clone(), of(asked))
        .remedy("leave the sheet out of the command, or write the same one into the cell")
}

/// The command asks for one sheet and the cell above the table for another.
fn two_sheets(asked: &str, here: &str, place: Place, by: &Place) -> Diagnostic {
    let words = format!(
        "this cell asks for `{here}`, and the table below it is to be calculated with `{asked}`"
    );
    Diagnostic::error(Name::TwoStatements, words)
        .at(place)
        .label(by.clone(), format!("`{asked}` is asked for here"))
        .remedy(format!("take the one out that is not meant; where the cell is of another block, write `sheet {asked}` into a cell between it and the table"))
}

fn nothing(file: &Place, any_sheet: bool, form: Option<Place>) -> Diagnostic {
    if let Some(form) = form {
        Diagnostic::error(Name::NoHeaderRow, "a form for one calculation begins here, and no row below it is headed with names of inputs")
            .at(form)
            .remedy(format!("`standstill fill {}` calculates a form; for many variants head the columns with the names and units of the inputs, a row for each variant", file.to_text()))
    } else if any_sheet {
        Diagnostic::error(Name::NoHeaderRow, "no row holds names of the sheet's inputs as headings")
            .at(file.clone())
            .remedy("head the columns with the names and units of the inputs, such as `J_load / (kg·m²)`; `standstill show SHEET` lists them")
    } else {
        Diagnostic::error(Name::NothingAsked, "nothing says which sheet is to be calculated for the variants")
            .at(file.clone())
            .remedy("write `sheet brake-resistor` into a cell above the table, or the sheet's name behind the workbook")
    }
}

fn missing_tab(book: &Book, name: &str) -> Option<Box<Diagnostic>> {
    let known: Vec<String> = book.tabs.iter().map(|tab| format!("`{}`", tab.name)).collect();
    Some(Box::new(
        Diagnostic::error(Name::MissingTab, format!("the workbook has no tab `{name}`"))
            .at(Place::File { name: book.name.clone() })
            .remedy(format!("its tabs are {}", known.join(", "))),
    ))
}

/// The cells that name a sheet, from top to bottom.
fn anchors(tab: &Tab) -> Vec<(Position, String)> {
    let named = tab.entries().filter_map(|entry| match &entry.cell {
        Cell::Text(text) => asked(text).map(|sheet| (entry.position, sheet)),
        _ => None,
    });
    named.collect()
}

/// The row in which the most cells are names, and how many are.
fn header_row(tab: &Tab, program: &Program, first: u32, last: u32) -> Option<(u32, usize)> {
    let mut best: Option<(u32, usize)> = None;
    let from = tab.entries.partition_point(|entry| entry.position.row < first);
    let to = tab.entries.partition_point(|entry| entry.position.row <= last);
    let rows = tab
        .entries
        .get(from..to)
        .unwrap_or_default()
        .chunk_by(|a, b| a.position.row == b.position.row);
    for cells in rows {
        let Some(row) = cells.first().map(|entry| entry.position.row) else { continue };
        let (mut names, mut inputs) = (0, 0);
        for (at, entry) in cells.iter().enumerate() {
            let Cell::Text(text) = &entry.cell else { continue };
            if has_value_beside(cells, at) {
                continue;
            }
            let name = label(text).name;
            let is_input = program.input_named(&name).is_some();
            inputs += usize::from(is_input);
            names += usize::from(is_input || program.output_named(&name).is_some());
        }
        let better = match best {
            // rows with one name each are labelled rows; the table stands below them
            Some((_, most)) => names > most || names == most && most == 1,
            None => true,
        };
        if inputs > 0 && better {
            best = Some((row, names));
        }
    }
    best
}

/// A name with its value beside it is a labelled row, not a heading.
pub(super) fn has_value_beside(cells: &[Entry], at: usize) -> bool {
    let column = cells.get(at).map_or(0, |entry| entry.position.column);
    let beside = cells.get(at + 1).filter(|next| next.position.column == column + 1);
    beside.is_some_and(|next| matches!(next.cell, Cell::Number(_)))
}
