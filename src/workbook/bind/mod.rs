//! What a workbook asks for: which sheets to run, which cells hold their inputs and take their results.
//!
//! Three ways, each looked for: defined names, labelled blocks, and a bind file.

mod about;
pub(in crate::workbook) mod around;
pub(super) mod blocks;
mod cells;
mod change;
mod composed;
mod diameters;
mod factor;
pub(in crate::workbook) mod feed;
mod figures;
mod file;
pub(in crate::workbook) mod flywheels;
pub(in crate::workbook) mod formula;
mod input;
pub(in crate::workbook) mod label;
mod leftover;
pub(in crate::workbook) mod linked;
mod names;
mod near;
pub(in crate::workbook) mod percent;
mod pieces;
pub(in crate::workbook) mod ratio;
pub(in crate::workbook) mod reckoned;
pub(super) mod said;
pub(in crate::workbook) mod series;
pub(super) mod shown;
pub(super) mod slips;
mod spoken;
pub(super) mod strays;
pub(super) mod taken_back;
pub(super) mod text;
mod tolerance;
pub(in crate::workbook) mod unclear;
pub(in crate::workbook) mod unit_words;
pub(super) mod unread;
mod which_end;
pub(super) mod words;

use std::cell::OnceCell;
use std::sync::Arc;

use crate::calculation::Inputs;
use crate::diagnostic::{Diagnostic, Name, Place, Source};
use crate::program::Sheets;
use crate::program::{Line, LineId, LineSource, Program, Type, looks_like, nearest};
use crate::project::name_in;
use crate::spreadsheet::{Book, Position};
use crate::unit::Unit;

pub(super) use flywheels::is_flywheel;
pub(super) use input::is_nothing;
pub use label::{Label, label};
pub(super) use names::as_defined;
pub(super) use tolerance::ToleranceAt;

/// A cell of a tab.
#[derive(Clone, Debug, PartialEq)]
pub struct CellAt {
    /// Tab.
    pub tab: String,
    /// Cell.
    pub position: Position,
}

/// One calculation that a workbook asks for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The sheet.
    pub sheet: String,
    /// Where it is asked for.
    pub place: Place,
    /// The checked sheet.
    pub program: Arc<Program>,
    /// Values of its inputs.
    pub inputs: Inputs,
    /// Results and where they go.
    pub results: Vec<Target>,
    /// Every cell that is read for it.
    pub reads: Vec<ReadCell>,
    /// Inputs whose cells are empty, until it is known whether the case that is chosen leaves them out.
    pub(in crate::workbook) pending: Vec<Pending>,
}

/// An input whose cells are empty.
#[derive(Clone, Debug)]
pub(in crate::workbook) struct Pending {
    /// Its name.
    pub name: String,
    /// Its first cell.
    pub place: Place,
    /// What is wrong with it where it counts.
    pub problems: Vec<Diagnostic>,
}

/// A cell that a calculation reads.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadCell {
    /// The cell.
    pub cell: CellAt,
    /// The input or the result that it is read for; the text itself for a label.
    pub name: String,
    /// As what it is read.
    pub part: Part,
}

/// As what a cell is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The value of an input.
    Value,
    /// The unit of an input or of a result.
    Unit,
    /// The tolerance of an input.
    Tolerance,
    /// A text that says what is asked for.
    Label,
}

impl Request {
    /// Notes that a cell is read.
    pub(super) fn read(&mut self, cell: CellAt, name: &str, part: Part) {
        self.reads.push(ReadCell { cell, name: name.to_owned(), part });
    }

    /// Notes that the cell at a place is read; a place that is not a cell is none that could be written.
    pub(super) fn read_at(&mut self, place: &Place, name: &str, part: Part) {
        let Place::Cell { tab, row, column, .. } = place else { return };
        let position = Position { row: *row, column: *column };
        self.read(CellAt { tab: tab.clone(), position }, name, part);
    }
}

/// A result and the cells that take it.
#[derive(Clone, Debug)]
pub struct Target {
    /// What is written.
    pub what: TargetValue,
    /// Where; several cells for a series.
    pub cells: Vec<CellAt>,
    /// Whether the cell shows its number as a percentage.
    pub percent: bool,
}

/// What a cell takes.
#[derive(Clone, Debug, PartialEq)]
pub enum TargetValue {
    /// A result by its line in the program, in a unit; results of used sheets have lines too.
    Result(LineId, Unit),
    /// The least or the most that a result can be within the tolerances: `S lowest`, `S.highest`.
    Extreme(usize, Unit, End),
    /// All checks in words.
    Checks,
    /// All checks in words, over the tolerances: `checks worst`.
    WorstChecks,
}

/// Which end of what a result can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The least.
    Lowest,
    /// The most.
    Highest,
}

impl End {
    /// As a label says it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Lowest => "lowest",
            Self::Highest => "highest",
        }
    }
}

impl TargetValue {
    /// The name under which it is asked for: `S`, `S lowest`, `checks`.
    #[must_use]
    pub fn name(&self, program: &Program) -> String {
        match self {
            Self::Checks => "checks".to_owned(),
            Self::WorstChecks => "checks worst".to_owned(),
            Self::Extreme(at, _, end) => {
                let name = program.outputs.get(*at).map_or("", |output| output.name.as_str());
                format!("{name} {}", end.word())
            }
            Self::Result(LineId(at), _) => {
                let line = usize::try_from(*at).ok().and_then(|at| program.lines.get(at));
                line.map(|line| line.name.clone()).unwrap_or_default()
            }
        }
    }

    /// Whether the worst case must be calculated for it.
    #[must_use]
    pub fn is_of_worst(&self) -> bool {
        matches!(self, Self::Extreme(..) | Self::WorstChecks)
    }
}

/// What a label asks for: the name of a result, or `checks`, and what of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::workbook) enum ResultRequest<'a> {
    /// The result as given.
    Result(&'a str),
    /// One of its ends.
    Extreme(&'a str, End),
    /// All checks.
    Checks,
    /// All checks over the tolerances.
    WorstChecks,
}

/// Reads `S`, `S lowest`, `S.highest`, `checks` or `checks worst`; none where the program gives no such result.
pub(in crate::workbook) fn asked_result<'a>(
    program: &Program,
    name: &'a str,
) -> Option<ResultRequest<'a>> {
    let known = |name: &str| program.output_named(name).is_some();
    if name == "checks" {
        return Some(ResultRequest::Checks);
    }
    if given(program, name).is_some() {
        return Some(ResultRequest::Result(name));
    }
    let (name, word) = name.rsplit_once([' ', '.'])?;
    let name = name.trim_end();
    match word {
        "worst" => (name == "checks").then_some(ResultRequest::WorstChecks),
        "lowest" => known(name).then_some(ResultRequest::Extreme(name, End::Lowest)),
        "highest" => known(name).then_some(ResultRequest::Extreme(name, End::Highest)),
        _ => None,
    }
}

/// What a workbook asks for, and every problem on the way.
#[derive(Clone, Debug, Default)]
pub struct Bound {
    /// The calculations, in the order in which they are found.
    pub requests: Vec<Request>,
    /// Problems; when one of them is an error nothing may be written.
    pub problems: Vec<Diagnostic>,
    /// Whether a problem lies in a sheet rather than in the workbook.
    pub sheet_is_wrong: bool,
    /// Remarks beside values, which nothing uses.
    pub(in crate::workbook) unused: Vec<(CellAt, String)>,
}

/// Finds out what a workbook asks for.
#[must_use]
pub fn bind(book: &Book, bind_file: Option<&Arc<Source>>, sheets: &dyn Sheets) -> Bound {
    bind_only(book, bind_file, sheets, None)
}

/// As [`bind`]; with `only`, of that sheet alone, or what that cell asks for: `Saw!A1`.
pub(super) fn bind_only(
    book: &Book,
    bind_file: Option<&Arc<Source>>,
    sheets: &dyn Sheets,
    only: Option<&str>,
) -> Bound {
    let mut binder = Binder::new(book, sheets);
    binder.only = only.map(str::to_owned);
    let groups = binder.groups();
    let blocks = binder.blocks();
    binder.join(groups);
    if let Some(source) = bind_file {
        binder.file(source);
    }
    let mut requests = std::mem::take(&mut binder.bound.requests);
    requests.iter_mut().for_each(|request| binder.settle(request));
    binder.bound.requests = requests;
    for at in 0..binder.bound.requests.len() {
        let problems = binder.bound.requests.get(at).map(|request| binder.fed_otherwise(request));
        binder.bound.problems.extend(problems.into_iter().flatten());
    }
    let strays: Vec<Diagnostic> =
        blocks.iter().flat_map(|block| binder.strays(block, &|_| true)).collect();
    binder.bound.problems.extend(strays);
    let apart = binder.short_series();
    binder.bound.problems.extend(apart);
    let beside: Vec<Diagnostic> =
        blocks.iter().filter_map(|block| binder.numbers_beside(block)).collect();
    binder.bound.problems.extend(beside);
    let requests = binder.bound.requests.iter();
    let stale: Vec<Diagnostic> =
        requests.flat_map(|request| binder.texts_not_their_own(request)).collect();
    binder.bound.problems.extend(stale);
    binder.bound.problems.extend(book.misnamed());
    if only.is_none() {
        let unread = binder.rows_apart();
        binder.bound.problems.extend(unread);
        let left = binder.left_over(bind_file.is_some());
        binder.bound.problems.extend(left);
    }
    let unused = binder.remarks_unused();
    let mut bound = binder.bound;
    bound.unused = unused;
    if let (Some(only), true) = (only, bound.requests.is_empty() && bound.problems.is_empty()) {
        bound.problems.push(
            Diagnostic::error(
                Name::NothingAsked,
                format!("no calculation of the workbook is `{only}`"),
            )
            .at(Place::File { name: book.name.clone() })
            .remedy(
                "give the name of the sheet, or the cell that names it, such as `--only Saw!A1`",
            ),
        );
    }
    if bound.requests.is_empty() && bound.problems.is_empty() {
        bound.problems.push(
            Diagnostic::error(Name::NothingAsked, "nothing in the workbook says which sheet to run")
                .at(Place::File { name: book.name.clone() })
                .remedy(
                    "write `sheet brake-resistor` into a cell and below it rows of name, value, unit; or name cells \
                     `brake_resistor.J_load`; or say it in a bind file (`--bind`)",
                ),
        );
    }
    bound
}

/// A result of the sheet, or of a sheet it uses with the path before it: `inertia.J_ref`.
pub(super) fn given<'p>(program: &'p Program, name: &str) -> Option<(LineId, &'p Line)> {
    let lines = (0_u32..).map(LineId).zip(&program.lines);
    let mut found = lines.filter(|(_, line)| line.name == name);
    found.find(|(_, line)| matches!(line.says, LineSource::Gives))
}

/// The state of binding.
pub(super) struct Binder<'a> {
    pub(super) book: &'a Book,
    pub(super) sheets: &'a dyn Sheets,
    pub(super) bound: Bound,
    /// The sheet, or the cell that names it, if only that is wanted.
    only: Option<String>,
    /// Sheets that were checked already, and whether the workbook itself asked for them.
    known: Vec<(String, bool, Option<Arc<Program>>)>,
    /// Where blocks begin, each with its tab; looked for once.
    starts: OnceCell<Vec<(String, Position)>>,
}

impl<'a> Binder<'a> {
    pub(super) fn new(book: &'a Book, sheets: &'a dyn Sheets) -> Self {
        let starts = OnceCell::new();
        Self { book, sheets, bound: Bound::default(), only: None, known: Vec::new(), starts }
    }
}

impl Binder<'_> {
    /// Whether the calculation that asks for a sheet at a place is wanted.
    pub(super) fn wants(&self, sheet: &str, place: &Place) -> bool {
        let Some(only) = &self.only else { return true };
        let cell = match place {
            Place::Cell { tab, row, column, .. } => {
                format!("{tab}!{}", crate::diagnostic::cell_name(*row, *column))
            }
            _ => String::new(),
        };
        sheet == only || name_in(sheet) == *only || cell.eq_ignore_ascii_case(only)
    }

    /// A checked sheet, its problems reported once.
    pub(super) fn program(&mut self, name: &str, place: &Place) -> Option<Arc<Program>> {
        // a cell asks from the folder of its workbook, others from where they stand
        let in_book = matches!(place, Place::Cell { .. } | Place::File { .. });
        let known = self.known.iter().find(|(known, by, _)| known == name && *by == in_book);
        if let Some((.., program)) = known {
            return program.clone();
        }
        let program = match self.sheets.checked(name, place) {
            Ok(checked) => {
                if checked.program.is_none() {
                    self.bound.sheet_is_wrong = true;
                    self.bound.problems.extend(checked.problems);
                }
                checked.program
            }
            Err(problem) => {
                self.bound.problems.push(*problem);
                None
            }
        };
        self.known.push((name.to_owned(), in_book, program.clone()));
        program
    }

    pub(super) fn place(&self, cell: &CellAt) -> Place {
        Place::Cell {
            book: self.book.name.clone(),
            tab: cell.tab.clone(),
            row: cell.position.row,
            column: cell.position.column,
        }
    }

    /// A request with no values yet.
    pub(super) fn request(&self, sheet: &str, place: Place, program: &Arc<Program>) -> Request {
        Request {
            sheet: sheet.to_owned(),
            place,
            program: Arc::clone(program),
            inputs: Inputs::new(program),
            results: Vec::new(),
            reads: Vec::new(),
            pending: Vec::new(),
        }
    }

    /// Once all of a calculation is read: of the inputs whose cells are empty, those that the chosen words leave out are
    /// taken as not given; the others are problems.
    pub(in crate::workbook) fn settle(&mut self, request: &mut Request) {
        let pending = std::mem::take(&mut request.pending);
        if pending.is_empty() {
            return;
        }
        let left_out = request.inputs.left_out_by_any_word();
        for Pending { name, place, problems } in pending {
            let at = request.program.inputs.iter().position(|input| input.name == name);
            if !at.is_some_and(|at| left_out.contains(&at)) {
                request.inputs.give_up(&name, place);
                self.bound.problems.extend(problems);
            }
        }
    }

    /// A name that the sheet knows neither as an input nor as a result.
    pub(super) fn stranger(&mut self, request: &mut Request, name: &str, place: Place) {
        let program = &request.program;
        let inputs = program.inputs.iter().map(|input| input.name.as_str());
        let outputs = program.outputs.iter().map(|output| output.name.as_str());
        let used = program.lines.iter().filter(|line| {
            name.contains('.') && line.name.contains('.') && matches!(line.says, LineSource::Gives)
        });
        let used = used.map(|line| line.name.as_str());
        let known: Vec<&str> = inputs.chain(outputs).chain(["checks"]).chain(used).collect();
        let alike = known.iter().find(|known| looks_like(known) == looks_like(name));
        let near = nearest(name, known.iter().copied());
        let inside = |it: char| it.is_alphanumeric() || matches!(it, '_' | '.');
        let among = name
            .split(|it: char| !inside(it))
            .find(|word| known.contains(word) && (word.contains('_') || name.starts_with(*word)));
        let remedy = match near.first() {
            _ if let Some(own) = among => format!(
                "write `{own}` alone, and the other words into a column behind its unit or before its name"
            ),
            _ if let Some(alike) = alike => format!(
                "write `{alike}` anew: it looks the same, and a letter of this one is another, such as a Cyrillic for a Latin one"
            ),
            Some((near, _)) => format!("`{near}` is close"),
            None => format!("`standstill show {}` lists its inputs and results", request.sheet),
        };
        // what it may be meant for is not asked for once more
        let meant = among.or(alike.copied()).map(str::to_owned);
        if let Some(meant) = meant.filter(|meant| {
            request.program.input_named(meant).is_some_and(|input| !request.inputs.is_given(input))
        }) {
            request.inputs.give_up(&meant, place.clone());
        }
        self.bound.problems.push(
            Diagnostic::error(
                Name::UnknownRow,
                format!("`{name}` is neither an input nor a result of `{}`", request.sheet),
            )
            .at(place)
            .remedy(remedy),
        );
    }

    /// Whether a name asks for a result that is a series.
    pub(super) fn is_series_result(&self, request: &Request, name: &str) -> bool {
        let name = match asked_result(&request.program, name) {
            Some(ResultRequest::Result(name) | ResultRequest::Extreme(name, _)) => name,
            _ => return false,
        };
        given(&request.program, name)
            .is_some_and(|(_, line)| matches!(line.type_, Type::Number { series: true, .. }))
    }

    /// Ties a result to its cells; the unit is read as the result's kind reads it.
    pub(super) fn result(
        &mut self,
        request: &mut Request,
        name: &str,
        cells: Vec<CellAt>,
        unit: Option<(String, Place)>,
    ) {
        let Some(first) = cells.first().cloned() else { return };
        if let Some((_, place)) = &unit {
            request.read_at(place, name, Part::Unit);
        }
        let percent = self.shows_percent(&first);
        let (name, end) = match asked_result(&request.program, name) {
            Some(ResultRequest::Checks) => {
                request.results.push(Target { what: TargetValue::Checks, cells, percent: false });
                return;
            }
            Some(ResultRequest::WorstChecks) => {
                request.results.push(Target {
                    what: TargetValue::WorstChecks,
                    cells,
                    percent: false,
                });
                return;
            }
            Some(ResultRequest::Result(name)) => (name, None),
            Some(ResultRequest::Extreme(name, end)) => (name, Some(end)),
            None => return,
        };
        let Some((line, output)) = given(&request.program, name) else { return };
        if let (Some(end), false) = (end, matches!(output.type_, Type::Number { .. })) {
            let words = format!("`{name}` is no number, so it has no {} value", end.word());
            self.bound.problems.push(
                Diagnostic::error(Name::UnknownRow, words)
                    .at(self.place(&first))
                    .remedy(format!("ask for `{name}` itself")),
            );
            return;
        }
        let unit = match self.unit_of_result(output, unit, &first) {
            Ok(unit) => unit,
            Err(problem) => {
                self.bound.problems.push(problem);
                return;
            }
        };
        let ratio = unit.dimension.is_none() && percent;
        let unit = if ratio { Unit::one() } else { unit };
        let what = match end {
            None => TargetValue::Result(line, unit),
            Some(end) => {
                let known = request.program.outputs.iter().position(|known| known.name == name);
                let Some(at) = known else { return };
                TargetValue::Extreme(at, unit, end)
            }
        };
        request.results.push(Target { what, cells, percent });
    }

    fn unit_of_result(
        &self,
        output: &Line,
        unit: Option<(String, Place)>,
        cell: &CellAt,
    ) -> Result<Unit, Diagnostic> {
        let Type::Number { dimension, point, .. } = output.type_ else { return Ok(Unit::one()) };
        let Some((text, place)) = unit else {
            if dimension.is_none() {
                return Ok(Unit::one());
            }
            let right = self.unit_spot(cell);
            return Err(Diagnostic::error(
                Name::MissingUnit,
                format!(
                    "the result `{}` is {} and its cell says no unit",
                    output.name,
                    crate::unit::name_of(dimension)
                ),
            )
            .at(self.place(cell))
            .remedy(format!("write {} into {right}", output.unit.symbol)));
        };
        crate::program::result_unit_or(&text, (&output.name, dimension, point), &place)
    }
}
