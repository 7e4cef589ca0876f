//! The bind file, for a workbook whose layout cannot be touched.
//!
//! ```text
//! sheet brake-resistor
//!   J_load  from Inputs!C7 in kg·m²        # unit said here
//!   n_0     from Inputs!C8 unit Inputs!D8  # or in a cell
//!   t_r     from Inputs!C9 in ms ± 2 ms    # with its tolerance
//!   eta_b   from Inputs!C10 tolerance Inputs!E10
//!   t_k     from Measured!B2:B11 in ms
//!   eta     = 95 %
//!   R       to   Results!C4 in Ω
//!   R.highest to Results!D4 in Ω           # what R can be at most, within the tolerances
//!   checks  to   Results!C9
//! ```

use std::sync::Arc;

use super::names::cells_of;
use super::slips::asked_nearly;
use super::{Binder, CellAt, Request, ToleranceAt, asked_result};
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::program::Type;
use crate::spreadsheet::{Area, TabKind};

impl Binder<'_> {
    /// Every calculation that the bind file asks for.
    pub(super) fn file(&mut self, source: &Arc<Source>) {
        let mut request: Option<Request> = None;
        let mut silent = false;
        let mut at = 0;
        for line in source.text.split_inclusive('\n') {
            let start = at;
            at += line.len();
            let content = crate::language::without_comment(line);
            let text = content.trim();
            if text.is_empty() {
                continue;
            }
            let begin = start + content.len() - content.trim_start().len();
            let place = Place::text(source, begin..begin + text.len());
            if let Some(second) = asked_nearly(text)
                && !text.starts_with("sheet ")
                && text.split_whitespace().count() <= 3
            {
                self.bound.problems.push(
                    Diagnostic::error(Name::BindFile, format!("`{text}` does not name a sheet"))
                        .at(place)
                        .remedy(format!("write `sheet {second}`")),
                );
                self.bound.requests.extend(request.take());
                silent = true;
                continue;
            }
            if let Some(sheet) = text.strip_prefix("sheet ") {
                self.bound.requests.extend(request.take());
                let sheet = sheet.trim();
                if !self.wants(sheet, &place) {
                    silent = true;
                    continue;
                }
                request =
                    self.program(sheet, &place).map(|program| self.request(sheet, place, &program));
                silent = request.is_none();
                continue;
            }
            match &mut request {
                Some(request) => self.bind_line(request, text, &place),
                None if silent => {}
                None => self.bound.problems.push(
                    Diagnostic::error(
                        Name::BindFile,
                        "a line stands before the first `sheet name`",
                    )
                    .at(place)
                    .remedy("begin with the sheet: `sheet brake-resistor`"),
                ),
            }
        }
        self.bound.requests.extend(request);
    }

    fn bind_line(&mut self, request: &mut Request, text: &str, place: &Place) {
        if let Some((name, value)) =
            text.split_once('=').filter(|(name, _)| !name.trim().contains(' '))
        {
            let input = request.program.input_named(name.trim());
            if let Some(other) = input.filter(|input| request.inputs.is_given(input)) {
                let other = request.inputs.place(other);
                self.bound.problems.push(
                    Diagnostic::error(
                        Name::AskedTwice,
                        format!("`{}` is given twice", name.trim()),
                    )
                    .at(place.clone())
                    .label(other, "the other")
                    .remedy("take one of them out"),
                );
                return;
            }
            if let Err(problem) =
                request.inputs.write_typed(name.trim(), value.trim(), place.clone())
            {
                request.inputs.give_up(name.trim(), place.clone());
                self.bound.problems.push(problem);
            }
            return;
        }
        let Some(line) = read_line(text) else {
            self.bound.problems.push(
                Diagnostic::error(Name::BindFile, "this line of the bind file does not read")
                    .at(place.clone())
                    .remedy("write `J_load from Inputs!C7 in kg·m²`, `n_0 from Inputs!C8 unit Inputs!D8`, `t_r from Inputs!C9 in ms ± 2 ms`, `eta = 95 %`, `R to Results!C4 in Ω` or `R.highest to Results!D4 in Ω`"),
            );
            return;
        };
        let Some(cells) = self.reference(request, line.name, line.cells, place) else { return };
        let unit = match line.unit {
            UnitSaid::Here(unit) => Some((unit.to_owned(), place.clone())),
            UnitSaid::In(cell) => {
                let Some(cells) = self.reference(request, line.name, cell, place) else { return };
                cells.first().and_then(|cell| Some((self.text_of(cell)?, self.place(cell))))
            }
            UnitSaid::Nowhere => {
                let kind = request.program.input_named(line.name).and_then(|input| input.kind);
                cells.first().and_then(|cell| self.unit_around(cell, kind))
            }
        };
        let input = request.program.input_named(line.name);
        let is_input = input.is_some();
        let series =
            input.is_some_and(|input| matches!(input.type_, Type::Number { series: true, .. }));
        let kind = input.and_then(|input| input.kind);
        let is_result = asked_result(&request.program, line.name).is_some();
        let series = series || !is_input && self.is_series_result(request, line.name);
        let said_twice = match (&unit, cells.first()) {
            (Some(said), Some(cell)) => {
                let beside = self.unit_around(cell, kind);
                beside.and_then(|beside| self.units_differ(line.name, kind, said, &beside))
            }
            _ => None,
        };
        let several = if series { None } else { self.one_cell(line.name, &cells, place.clone()) };
        let labelled = cells
            .first()
            .and_then(|cell| self.labelled_otherwise(&request.program, line.name, cell));
        let aside = cells.first().and_then(|cell| self.measured_aside(line.name, kind, cell));
        if let Some(problem) = said_twice.or(several).or(labelled).or(aside) {
            self.tell_once(problem);
            request.inputs.give_up(line.name, place.clone());
            return;
        }
        let tolerance = match line.tolerance {
            ToleranceSaid::Here(text) => ToleranceAt::Said(text.to_owned(), place.clone()),
            ToleranceSaid::In(cell) => {
                let Some(cells) = self.reference(request, line.name, cell, place) else { return };
                cells.first().map_or(ToleranceAt::Nowhere, |cell| ToleranceAt::In(cell.clone()))
            }
            ToleranceSaid::Nowhere => ToleranceAt::Beside,
        };
        match (line.takes, is_input, is_result) {
            (true, true, _) => self.input(request, line.name, &cells, unit, &tolerance),
            (false, _, true) => self.result(request, line.name, cells, unit),
            (true, false, true) => self.bound.problems.push(
                Diagnostic::error(
                    Name::BindFile,
                    format!("`{}` is a result and cannot be taken from a cell", line.name),
                )
                .at(place.clone())
                .remedy("write `to` in place of `from`"),
            ),
            (false, true, false) => self.bound.problems.push(
                Diagnostic::error(
                    Name::BindFile,
                    format!("`{}` is an input and cannot be written to a cell", line.name),
                )
                .at(place.clone())
                .remedy("write `from` in place of `to`"),
            ),
            _ => self.stranger(request, line.name, place.clone()),
        }
    }

    /// The cells that a bind line names.
    fn reference(
        &mut self,
        request: &mut Request,
        name: &str,
        text: &str,
        place: &Place,
    ) -> Option<Vec<CellAt>> {
        let (tab, cells) = text.rsplit_once('!').unwrap_or(("", text));
        let tab = tab.trim_matches('\'').replace("''", "'");
        let area = Area::parse(cells);
        let known =
            self.book.tabs.iter().find(|known| known.name == tab && known.kind == TabKind::Cells);
        let problem = match (known, area) {
            (Some(_), Some(area)) => return Some(cells_of(&tab, &area)),
            (None, _) => {
                let tabs: Vec<String> =
                    self.book.tabs.iter().map(|tab| format!("`{}`", tab.name)).collect();
                Diagnostic::error(
                    Name::MissingTab,
                    format!("`{}` has no tab `{tab}`", self.book.name),
                )
                .remedy(format!("it has {}", tabs.join(", ")))
            }
            (Some(_), None) => Diagnostic::error(
                Name::BrokenReference,
                format!("`{cells}` is not a cell"),
            )
            .remedy(format!(
                "write the tab and the cell, `{tab}!CELL`, or `{tab}!FIRST:LAST` for a series"
            )),
        };
        self.bound.problems.push(problem.at(place.clone()));
        request.inputs.give_up(name, place.clone());
        None
    }
}

/// A line of a bind file.
struct BindLine<'a> {
    name: &'a str,
    /// `from` rather than `to`.
    takes: bool,
    cells: &'a str,
    unit: UnitSaid<'a>,
    tolerance: ToleranceSaid<'a>,
}

enum ToleranceSaid<'a> {
    Here(&'a str),
    In(&'a str),
    Nowhere,
}

enum UnitSaid<'a> {
    Here(&'a str),
    In(&'a str),
    Nowhere,
}

fn read_line(text: &str) -> Option<BindLine<'_>> {
    let (name, rest) = text.split_once(char::is_whitespace)?;
    let (way, rest) = rest.trim_start().split_once(char::is_whitespace)?;
    let takes = match way {
        "from" => true,
        "to" => false,
        _ => return None,
    };
    let rest = rest.trim();
    let (rest, tolerance) = if let Some((rest, cell)) = rest.rsplit_once(" tolerance ") {
        (rest, ToleranceSaid::In(cell.trim()))
    } else if let Some(at) = crate::calculation::tolerance_begins(rest) {
        let (rest, text) = rest.split_at(at);
        (rest, ToleranceSaid::Here(text.trim()))
    } else {
        (rest, ToleranceSaid::Nowhere)
    };
    // a tab may have blanks in its name, so the cells end where ` in ` or ` unit ` begins
    let (cells, unit) = if let Some((cells, unit)) = rest.rsplit_once(" unit ") {
        (cells, UnitSaid::In(unit.trim()))
    } else if let Some((cells, unit)) = rest.rsplit_once(" in ") {
        (cells, UnitSaid::Here(unit.trim()))
    } else {
        (rest, UnitSaid::Nowhere)
    };
    Some(BindLine { name, takes, cells: cells.trim(), unit, tolerance })
}
