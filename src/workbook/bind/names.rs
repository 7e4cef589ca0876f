//! Defined names: `brake_resistor.J_load` stands for a cell.

use super::{Binder, CellAt, Request, ToleranceAt, asked_result};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Type, nearest};
use crate::project::name_in;
use crate::spreadsheet::{Area, Cell, DefinedName, Position, Tab, Target};

/// A sheet and the defined names that speak of it.
pub(super) type Group = (String, Vec<DefinedName>);

/// The name of a sheet as a defined name can hold it: hyphens become underlines.
pub(in crate::workbook) fn as_defined(sheet: &str) -> String {
    sheet.replace('-', "_")
}

/// Most cells that a defined name for a series may span.
const MOST_CELLS: u64 = 100_000;

impl Binder<'_> {
    /// The defined names that speak of a sheet, by sheet.
    pub(super) fn groups(&mut self) -> Vec<Group> {
        let file = Place::File { name: self.book.name.clone() };
        let mut found: Vec<Group> = Vec::new();
        let cells = self.book.tabs.iter().flat_map(Tab::entries);
        let cells = cells.filter(|_| !self.book.names.is_empty());
        let blocks: Vec<String> = cells
            .filter_map(|entry| match &entry.cell {
                Cell::Text(text) => super::label::asked(text),
                _ => None,
            })
            .collect();
        for name in &self.book.names {
            if name.built_in {
                continue;
            }
            let Some((before, _)) = name.name.split_once('.') else {
                let slip = self.without_point(name, &blocks);
                self.bound.problems.extend(slip.filter(|_| self.only.is_none()));
                continue;
            };
            let Some(sheet) = self.sheet_of(before, &blocks) else {
                let slip = self.nearly_names(name, before);
                self.bound.problems.extend(slip.filter(|_| self.only.is_none()));
                continue;
            };
            match found.iter_mut().find(|(known, _)| *known == sheet) {
                Some((_, names)) => names.push(name.clone()),
                None => found.push((sheet, vec![name.clone()])),
            }
        }
        found.retain(|(sheet, _)| self.wants(sheet, &file));
        found
    }

    /// The names of a sheet join the one block that asks for it; without one they are a calculation of their own.
    pub(super) fn join(&mut self, groups: Vec<Group>) {
        for (own, (sheet, names)) in groups.into_iter().enumerate() {
            let of_sheet = |request: &&Request| request.sheet == sheet;
            let one = self.bound.requests.iter().filter(of_sheet).count() == 1;
            let block = self.bound.requests.iter().position(|request| request.sheet == sheet);
            let block = block.filter(|_| one);
            let place = Place::File { name: self.book.name.clone() };
            let Some(program) = self.program(&sheet, &place) else { continue };
            let mut request = match block {
                Some(at) => self.bound.requests.remove(at),
                None => self.request(&sheet, place, &program),
            };
            let before = request.results.len();
            for name in &names {
                self.bind_name(&mut request, name);
            }
            // names come in the order of the alphabet, a person reads down the tab
            let book = self.book;
            if let Some(new) = request.results.get_mut(before..) {
                new.sort_by_key(|target| {
                    target.cells.first().map(|cell| {
                        let tab = book.tabs.iter().position(|tab| tab.name == cell.tab);
                        (tab, cell.position.row, cell.position.column)
                    })
                });
            }
            let at = block.unwrap_or(own).min(self.bound.requests.len());
            self.bound.requests.insert(at, request);
        }
    }

    /// The first cell that a name stands for; the file where it stands for none.
    fn place_of(&self, name: &DefinedName) -> Place {
        match &name.target {
            Target::Cells { tab, area } => self.book.place(tab, area.first),
            _ => Place::File { name: self.book.name.clone() },
        }
    }

    /// A defined name whose part before the point is a slip away from a sheet.
    fn nearly_names(&self, defined: &DefinedName, before: &str) -> Option<Diagnostic> {
        let name = defined.name.as_str();
        let known: Vec<String> = self.sheets.names().iter().map(|it| as_defined(it)).collect();
        let near = nearest(before, known.iter().map(String::as_str));
        let (near, _) = near.first().filter(|_| before.chars().count() > 2)?;
        let rest = name.split_once('.').map_or("", |(_, rest)| rest);
        Some(
            Diagnostic::error(Name::UnknownSheet, format!("no sheet belongs to the name `{name}`"))
                .at(self.place_of(defined))
                .remedy(format!("did you mean `{near}.{rest}`?")),
        )
    }

    /// A defined name that has another sign where the point belongs: `run_down_t_stop`.
    fn without_point(&self, defined: &DefinedName, blocks: &[String]) -> Option<Diagnostic> {
        let name = defined.name.as_str();
        let names = self.sheets.names();
        let known = blocks.iter().map(|asked| name_in(asked)).chain(names.iter().cloned());
        let found = known.into_iter().find_map(|sheet| {
            let before = as_defined(&sheet);
            let (begin, rest) = name.split_at_checked(before.len())?;
            let what = rest.trim_start_matches(['_', '-', ':', '\\']);
            if !begin.eq_ignore_ascii_case(&before)
                || what.is_empty()
                || what == rest && !rest.is_empty()
            {
                return None;
            }
            let file = Place::File { name: self.book.name.clone() };
            let program = self.sheets.checked(&sheet, &file).ok()?.program?;
            let is_input = program.input_named(what).is_some();
            (is_input || asked_result(&program, what).is_some()).then(|| format!("{before}.{what}"))
        })?;
        Some(
            Diagnostic::error(
                Name::UnknownRow,
                format!("the name `{name}` has no point between the sheet and what is meant of it"),
            )
            .at(self.place_of(defined))
            .remedy(format!("did you mean `{found}`?")),
        )
    }

    /// The sheet behind the part of a defined name before its point.
    fn sheet_of(&self, before: &str, blocks: &[String]) -> Option<String> {
        // a block may say whose sheet is meant
        let is_meant = |asked: &str| as_defined(&name_in(asked)).eq_ignore_ascii_case(before);
        if let Some(asked) = blocks.iter().find(|asked| is_meant(asked)) {
            return Some(asked.clone());
        }
        let names = self.sheets.names();
        if let Some(known) =
            names.iter().find(|known| as_defined(known).eq_ignore_ascii_case(before))
        {
            return Some(known.clone());
        }
        let file = Place::File { name: self.book.name.clone() };
        [before.to_owned(), before.replace('_', "-")].into_iter().find(|name| {
            match self.sheets.checked(name, &file) {
                Ok(_) => true,
                // one that is there and cannot be had is asked for again, and reported
                Err(problem) => problem.name != Name::UnknownSheet,
            }
        })
    }

    fn bind_name(&mut self, request: &mut Request, name: &DefinedName) {
        let Some((_, what)) = name.name.split_once('.') else { return };
        let input = request.program.input_named(what).cloned();
        let is_result = asked_result(&request.program, what).is_some();
        let file = self.place_of(name);
        if input.is_none() && !is_result {
            self.stranger(request, what, file);
            return;
        }
        let cells = match &name.target {
            Target::Cells { tab, area } if area.cells() <= MOST_CELLS => cells_of(tab, area),
            Target::Cells { .. } => {
                return self.broken(
                    request,
                    name,
                    what,
                    "spans more cells than any series has".to_owned(),
                );
            }
            Target::Broken => {
                return self.broken(
                    request,
                    name,
                    what,
                    "points to cells that were deleted".to_owned(),
                );
            }
            Target::MissingTab(tab) => {
                self.bound.problems.push(
                    Diagnostic::error(Name::MissingTab, format!("the name `{}` points to the tab `{tab}`, which the workbook does not have", name.name))
                        .at(file)
                        .remedy("point the name to a cell of a tab that is there"),
                );
                request.inputs.give_up(what, Place::File { name: self.book.name.clone() });
                return;
            }
            Target::Relative => {
                return self.broken(
                    request,
                    name,
                    what,
                    format!("is relative (`{}`): it means another cell from every cell", name.text),
                );
            }
            Target::NotCells => {
                return self.broken(
                    request,
                    name,
                    what,
                    format!("stands for `{}`, not for a cell", name.text),
                );
            }
        };
        let Some(first) = cells.first().cloned() else { return };
        let series = match &input {
            Some(input) => matches!(input.type_, Type::Number { series: true, .. }),
            None => self.is_series_result(request, what),
        };
        let several =
            if series { None } else { self.one_cell(&name.name, &cells, self.place(&first)) };
        if let Some(problem) = several {
            self.bound.problems.push(problem);
            request.inputs.give_up(what, file);
            return;
        }
        // the unit stands beside the whole range, not inside it
        let last_of_row =
            cells.iter().rfind(|cell| cell.position.row == first.position.row).cloned();
        let kind = input.as_ref().and_then(|input| input.kind);
        let labelled = self.labelled_otherwise(&request.program, what, &first);
        let units = || {
            let last = last_of_row.as_ref().unwrap_or(&first);
            self.two_units(what, kind, last).or_else(|| self.measured_aside(what, kind, &first))
        };
        if let Some(problem) = labelled.or_else(units) {
            self.tell_once(problem);
            request.inputs.give_up(what, file);
            return;
        }
        match input {
            Some(input) => {
                let unit = last_of_row
                    .and_then(|last| self.unit_around(&last, input.kind))
                    .or_else(|| self.unit_around(&first, input.kind));
                self.input(request, what, &cells, unit, &ToleranceAt::Beside);
            }
            None => {
                let unit = self.unit_around(&first, None);
                self.result(request, what, cells, unit);
            }
        }
    }

    fn broken(&mut self, request: &mut Request, name: &DefinedName, what: &str, words: String) {
        let file = Place::File { name: self.book.name.clone() };
        self.bound.problems.push(
            Diagnostic::error(Name::BrokenReference, format!("the name `{}` {words}", name.name))
                .at(file.clone())
                .remedy("point the name to the one cell that is meant"),
        );
        request.inputs.give_up(what, file);
    }
}

/// The cells of an area, row by row.
pub(super) fn cells_of(tab: &str, area: &Area) -> Vec<CellAt> {
    let mut cells = Vec::new();
    for row in area.first.row..=area.last.row {
        for column in area.first.column..=area.last.column {
            if let Some(position) = Position::new(row, column) {
                cells.push(CellAt { tab: tab.to_owned(), position });
            }
        }
    }
    cells
}
