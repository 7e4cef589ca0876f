//! A workbook filled: what it asks for is calculated, and its result cells receive their values.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::bind::shown;
use super::bind::strays::stands_below;
use super::bind::{Bound, CellAt, End, Part, Request, Target, TargetValue, bind_only};
use super::calculated::{Calculated, Unfilled};
use super::calculated_for;
use super::hidden;
use super::legible;
use super::order::{Order, key};
use super::owners;
use crate::calculation::{Extreme, Range, Results, WorstCase, with_questions};
use crate::diagnostic::{Diagnostic, Name, Place, Problems, Severity, Source, put_in_order};
use crate::number::{Exact, Slot};
use crate::program::{Sheets, Type};
use crate::report::{Release, Remark, remarks};
use crate::spreadsheet::rests::{Rest, rests};
use crate::spreadsheet::{Book, Edit, NewValue, Position, Stale, Written, worth};
use crate::unit::Unit;

/// All calculations of a workbook.
#[derive(Clone, Debug, Default)]
pub struct Filling {
    /// The calculations, in the order in which the workbook asks for them.
    pub calculated: Vec<Calculated>,
    /// What a person should know and that stops nothing: inputs and results on hidden tabs.
    pub cautions: Vec<Diagnostic>,
    /// Every cell from which an input, a unit or a tolerance is read.
    pub reads: Vec<ReadBy>,
    /// Remarks beside values that bear figures, and that nothing uses.
    pub(crate) unused: Vec<(CellAt, String)>,
    /// What is written besides the results: what the boxes of its forms hold.
    kept: Vec<Edit>,
    /// How `--only` names each calculation.
    labels: Vec<String>,
}

/// A cell that one calculation of a workbook reads.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadBy {
    /// The calculation, by its place among those that the workbook asks for.
    pub request: usize,
    /// The input.
    pub name: String,
    /// The cell.
    pub cell: CellAt,
}

/// How a workbook is filled.
#[derive(Clone, Copy, Debug, Default)]
pub struct Options<'a> {
    /// The worst case of every calculation, whether or not a cell takes it.
    pub worst: bool,
    /// Only the calculations of this sheet, or the one that this cell asks for: `saw-stop`, `Saw!A1`.
    pub only: Option<&'a str>,
    /// Whether results may be written over numbers that no run has written.
    pub over_numbers: bool,
}

/// Calculates everything that a workbook asks for; nothing is written.
///
/// Calculations run in the order in which they feed each other: one that reads a cell which another writes takes
/// the new value. The worst case is calculated where a cell takes it: `S lowest`, `S highest`, `checks worst`.
///
/// # Errors
/// Every problem of the workbook, of the bind file and of the sheets in one list: unknown sheets and
/// names, cells that do not hold what they should, units that do not fit, values out of range, results that would
/// overwrite what is read.
pub fn compute(
    book: &Book,
    bind_file: Option<&Arc<Source>>,
    sheets: &dyn Sheets,
) -> Result<Filling, Unfilled> {
    compute_with(book, bind_file, sheets, Options::default())
}

/// As [`compute`], with options.
///
/// # Errors
/// As [`compute`]; with the worst case also corners within the tolerances that have no results.
pub fn compute_with(
    book: &Book,
    bind_file: Option<&Arc<Source>>,
    sheets: &dyn Sheets,
    options: Options<'_>,
) -> Result<Filling, Unfilled> {
    let book = &*calculated_for::without_own(book);
    let bound = bind_only(book, bind_file, sheets, options.only);
    let order = Order::of(book, &bound.requests);
    let mut problems = order.problems.clone();
    let mut work = Work { book: Cow::Borrowed(book), bound, order, done: BTreeMap::new(), options };
    for at in work.order.sequence.clone() {
        let feeds: Vec<usize> =
            work.order.links.iter().filter(|link| link.to == at).map(|link| link.from).collect();
        if feeds.iter().any(|from| !work.done.contains_key(from)) {
            continue;
        }
        if !feeds.is_empty() {
            work.bound = bind_only(&work.book, bind_file, sheets, options.only);
            problems.extend(work.order.units(book, &work.bound.requests, at));
        }
        problems.extend(work.calculate(at));
    }
    // a cell that was to be filled before it is read is not reported for what it held before
    let Work { book: last, bound, order, done, .. } = work;
    let waiting = |place: &Place| {
        order.links.iter().any(|link| {
            !done.contains_key(&link.to) && *place == book.place(&link.cell.tab, link.cell.position)
        })
    };
    problems.extend(
        bound.problems.into_iter().filter(|problem| !problem.place.as_ref().is_some_and(waiting)),
    );
    for problem in &mut problems {
        let clearer = from_results(book, &bound.requests, problem);
        *problem = clearer.unwrap_or_else(|| problem.clone());
    }
    put_in_order(&mut problems);
    if problems.iter().any(Diagnostic::is_error) {
        let problems = the_first_of_each_kind(problems, book);
        let targets = bound.requests.iter().flat_map(|one| &one.results);
        let cells = targets.flat_map(|it| it.cells.iter().cloned()).collect();
        return Err(Unfilled { problems, sheet_is_wrong: bound.sheet_is_wrong, cells });
    }
    let mut filling = Filling { cautions: problems, ..Filling::default() };
    filling.labels = labels(&bound.requests);
    filling.unused = bound.unused;
    for (at, request) in bound.requests.iter().enumerate() {
        filling.reads.extend(
            request.reads.iter().filter(|read| read.part != Part::Label).map(|read| ReadBy {
                request: at,
                name: read.name.clone(),
                cell: read.cell.clone(),
            }),
        );
    }
    for (_, (calculated, cautions)) in done {
        filling.cautions.extend(cautions);
        filling.calculated.push(calculated);
    }
    filling.cautions.sort_by_key(|caution| gravity(caution.name));
    filling.kept = calculated_for::edits(&last, &filling.edits());
    Ok(filling)
}

/// Cautions that may mean another figure stand before those that say how something was read.
fn gravity(name: Name) -> u8 {
    match name {
        Name::CheckFails => 0,
        Name::TwoStatements | Name::StaleFigures => 1,
        Name::UnknownRow => 2,
        Name::PlateNotation => 4,
        _ => 3,
    }
}

/// What is wrong with a formula whose saved result is not its own, where it depends on a result of the run: no office
/// program can renew it before that result is written.
fn from_results(book: &Book, requests: &[Request], problem: &Diagnostic) -> Option<Diagnostic> {
    let Some(Place::Cell { tab, row, column, .. }) = &problem.place else { return None };
    if !matches!(problem.name, Name::StaleFigures | Name::EmptyCell) {
        return None;
    }
    let cell = CellAt { tab: tab.clone(), position: Position { row: *row, column: *column } };
    let worth = worth(book, tab, cell.position);
    let empty = rests(book, tab, cell.position).into_iter().filter_map(|rest| match rest {
        Rest::Empty { cell, .. } => Some(cell),
        _ => None,
    });
    let mut cells: Vec<_> = empty.collect();
    if problem.name == Name::EmptyCell
        && cells.is_empty()
        && worth.as_ref().is_none_or(|it| !it.of_empty)
    {
        return None;
    }
    cells.extend(worth.into_iter().flat_map(|it| it.cells));
    let written: BTreeSet<_> =
        requests.iter().flat_map(|one| &one.results).flat_map(|it| &it.cells).map(key).collect();
    cells.iter().find(|(tab, at)| written.contains(&(tab.to_lowercase(), *at)))?;
    let (request, name) = requests.iter().enumerate().find_map(|(at, request)| {
        let read = request.reads.iter().find(|read| read.cell == cell)?;
        Some((at, read.name.clone()))
    })?;
    let filling = Filling { labels: labels(requests), ..Filling::default() };
    Some(filling.outdated_at(book, &ReadBy { request, name, cell }))
}

/// Problems of one kind that are listed; of more, their number.
const OF_A_KIND: usize = 20;

/// The first problems of each kind, and how many more there are.
fn the_first_of_each_kind(problems: Vec<Diagnostic>, book: &Book) -> Vec<Diagnostic> {
    let mut counts: BTreeMap<Name, usize> = BTreeMap::new();
    let mut kept = Vec::new();
    for problem in problems {
        let count = counts.entry(problem.name).or_default();
        *count += 1;
        if *count <= OF_A_KIND {
            kept.push(problem);
        }
    }
    for (name, count) in counts.into_iter().filter(|(_, count)| *count > OF_A_KIND) {
        let more = Diagnostic::error(name, format!("and {} more of this kind", count - OF_A_KIND));
        kept.push(more.at(Place::File { name: book.name.clone() }));
    }
    kept
}

/// How `--only` names each calculation: its sheet, or its cell where several ask for one sheet.
fn labels(requests: &[Request]) -> Vec<String> {
    let label = |request: &Request| {
        let alone = requests.iter().filter(|other| other.sheet == request.sheet).count() == 1;
        match &request.place {
            Place::Cell { tab, row, column, .. } if !alone => {
                format!("{tab}!{}", crate::diagnostic::cell_name(*row, *column))
            }
            _ => request.sheet.clone(),
        }
    };
    requests.iter().map(label).collect()
}

/// A workbook at work: as it becomes while one calculation after the other is done.
struct Work<'a> {
    book: Cow<'a, Book>,
    bound: Bound,
    order: Order,
    done: BTreeMap<usize, (Calculated, Vec<Diagnostic>)>,
    options: Options<'a>,
}

impl Work<'_> {
    /// One calculation; its results are there for those that read them.
    fn calculate(&mut self, at: usize) -> Vec<Diagnostic> {
        let Some(request) = self.bound.requests.get(at) else { return Vec::new() };
        let asked =
            self.options.worst || request.results.iter().any(|target| target.what.is_of_worst());
        let outcome = if asked {
            WorstCase::compute(&request.program, &request.inputs)
                .map(|worst| (worst.nominal().clone(), Release::of_worst(&worst), Some(worst)))
        } else {
            // a tolerance that is stated counts, whether or not a cell asks for the worst case
            Results::compute(&request.program, &request.inputs).map(|results| {
                let release = Release::of(&results);
                let worst = release.worst().and_then(|worst| worst.as_ref().ok()).cloned();
                (results, release, worst)
            })
        };
        let (results, release, worst) = match outcome {
            Ok(found) => found,
            Err(found) => {
                let problems =
                    found.into_iter().map(|problem| in_block(&self.book, request, problem));
                return problems.chain(owners::words(&self.book, request)).collect();
            }
        };
        let said: Vec<Diagnostic> = remarks(&request.inputs, Some(&results))
            .into_iter()
            .filter_map(|remark| if let Remark::Said(it) = remark { Some(it) } else { None })
            .collect();
        let mut one = match calculated(request, results, release, worst) {
            Ok(one) => one,
            Err(found) => return found.into(),
        };
        // who reads the workbook later has nothing but the cell of the checks
        let asked = said.iter().filter(|it| it.severity == Severity::Caution);
        let asked: Vec<String> = asked.map(|it| it.headline.clone()).collect();
        for (_, _, value) in one.cells.iter_mut().filter(|it| it.0.starts_with("checks")) {
            if let NewValue::Text(words) = value {
                *words = with_questions(words, &asked);
            }
        }
        let (mut problems, rounded): (Vec<_>, Vec<_>) =
            shown::of_results(&self.book, request, &one.cells)
                .into_iter()
                .partition(Diagnostic::is_error);
        problems
            .extend(owners::of_fill(&self.book, request, &one.cells, self.options.over_numbers));
        if !problems.is_empty() {
            return problems;
        }
        let mut cautions = hidden::of_fill(&self.book, request, &one);
        cautions.extend(legible::of_fill(&self.book, &one.cells));
        cautions.extend(rounded);
        cautions.extend(of_withheld(request, &one));
        cautions.extend(said);
        if self.order.links.iter().any(|link| link.from == at) {
            let book = self.book.to_mut();
            for (_, cell, value) in &one.cells {
                book.put(&cell.tab, cell.position, value.as_cell());
            }
        }
        self.done.insert(at, (one, cautions));
        Vec::new()
    }
}

/// A missing input is a mistake in the workbook, reported where the workbook asks for the sheet.
fn in_block(book: &Book, request: &Request, problem: Diagnostic) -> Diagnostic {
    if problem.name != Name::MissingInput {
        return problem;
    }
    let name = &problem.input;
    let unit = request
        .program
        .input_named(name)
        .and_then(|input| input.kind)
        .and_then(|kind| kind.units.first().copied())
        .unwrap_or_default();
    let remedy = match &request.place {
        Place::Cell { .. } => match stands_below(book, &request.place, name) {
            Some(cell) => format!(
                "the row of `{name}` in {cell} stands apart from the block: leave no empty cells and rows above it"
            ),
            None => format!("add a row to the block: {name}, its value, {unit}")
                .trim_end_matches(", ")
                .to_owned(),
        },
        Place::Text { .. } => {
            format!(
                "add a line to the bind file: `{name} = VALUE {unit}`, or `{name} from TAB!CELL in {unit}`"
            )
        }
        _ => format!("name a cell `{}.{name}`", request.sheet.replace('-', "_")),
    };
    asked_by_sheet(problem, &request.place, remedy)
}

/// A problem of the sheet, reported where the workbook asks for it, with the line of the sheet beside it.
pub(super) fn asked_by_sheet(mut problem: Diagnostic, place: &Place, remedy: String) -> Diagnostic {
    problem.remedy = remedy;
    match problem.place.replace(place.clone()) {
        Some(line) => problem.label(line, "the sheet asks for it here"),
        None => problem,
    }
}

fn calculated(
    request: &Request,
    results: Results,
    release: Release,
    worst: Option<WorstCase>,
) -> Result<Calculated, Problems> {
    let mut cells = Vec::new();
    let mut problems = Vec::new();
    for target in &request.results {
        let found = match target.what {
            TargetValue::Checks => Ok(checks(request, &results, &release, target)),
            _ => values(&results, worst.as_ref(), target),
        };
        match found {
            Ok(found) => match withheld(request, &results, &release, &target.what) {
                Some(words) if found.iter().any(|(_, _, it)| matches!(it, NewValue::Number(_))) => {
                    let name = target.what.name(results.program());
                    cells.extend(spread_out(&name, vec![NewValue::Text(words)], &target.cells)?);
                }
                _ => cells.extend(found),
            },
            Err(problem) => problems.push(problem.at(request.place.clone())),
        }
    }
    if problems.is_empty() {
        let tolerances = request.inputs.any_spread();
        let place = request.place.clone();
        return Ok(Calculated { place, results, release, worst, tolerances, cells });
    }
    Err(problems.into())
}

/// The cell of the checks: the verdict on all of it, unless the tolerances have a cell of their own.
fn checks(
    request: &Request,
    results: &Results,
    release: &Release,
    target: &Target,
) -> Vec<(String, CellAt, NewValue)> {
    let words = match takes(request, &TargetValue::WorstChecks) {
        true => results.verdict_text(),
        false => release.verdict().to_owned(),
    };
    let first = target.cells.first().cloned();
    first.map(|cell| ("checks".to_owned(), cell, NewValue::Text(words))).into_iter().collect()
}

fn takes(request: &Request, wanted: &TargetValue) -> bool {
    request.results.iter().any(|target| target.what == *wanted)
}

/// The words that stand in place of a figure: its calculation fails a check, with the nominal values or within the
/// tolerances, and no cell of the workbook says so. Refusing the whole run would leave the figure of an earlier
/// one, which nobody would take for a failing one either; words stop every formula and every calculation that goes
/// on with it. A setting never stands as a number where it may not be set, whatever other cells say.
fn withheld(
    request: &Request,
    results: &Results,
    release: &Release,
    what: &TargetValue,
) -> Option<String> {
    let worst_said = takes(request, &TargetValue::WorstChecks);
    let said = worst_said || takes(request, &TargetValue::Checks);
    let outputs = &results.program().outputs;
    let (setting, said) = match what {
        TargetValue::Checks | TargetValue::WorstChecks => return None,
        TargetValue::Extreme(at, ..) => (outputs.get(*at), worst_said),
        TargetValue::Result(at, _) => {
            let line = usize::try_from(at.0).ok().and_then(|at| results.program().lines.get(at));
            (outputs.iter().find(|it| line.is_some_and(|line| line.register == it.register)), said)
        }
    };
    match setting.filter(|output| output.setting.is_some()) {
        // of an example none is set either
        Some(output) => (!release.may_be_set()).then(|| release.shown(&results.to_text(output))),
        None => (!said && !release.granted()).then(|| release.verdict().to_owned()),
    }
}

/// That figures were withheld, and how to have them all the same.
fn of_withheld(request: &Request, one: &Calculated) -> Option<Diagnostic> {
    if one.holds() {
        return None;
    }
    let unsaid = |what: &TargetValue| match what {
        TargetValue::Extreme(..) => !takes(request, &TargetValue::WorstChecks),
        _ => !takes(request, &TargetValue::WorstChecks) && !takes(request, &TargetValue::Checks),
    };
    let of = |target: &Target| {
        withheld(request, &one.results, &one.release, &target.what)
            .filter(|_| unsaid(&target.what))
            .map(|_| matches!(target.what, TargetValue::Extreme(..)))
    };
    let is_worst = request.results.iter().filter_map(of).min()?;
    let row = if is_worst { "checks worst" } else { "checks" };
    let words = format!(
        "a check of `{}` fails and no cell takes `{row}`: the verdict was written in place of its figures",
        request.sheet
    );
    let remedy = match &request.place {
        Place::Cell { .. } => {
            format!("add a row `{row}` to the block; then the figures are written")
        }
        Place::Text { .. } => {
            format!("add a line `{row} to TAB!CELL` to the bind file; then the figures are written")
        }
        _ => format!(
            "name a cell `{}.{}`; then the figures are written",
            request.sheet.replace('-', "_"),
            row.replace(' ', ".")
        ),
    };
    Some(Diagnostic::caution(Name::CheckFails, words).at(request.place.clone()).remedy(remedy))
}

/// What the cells of one target take.
fn values(
    results: &Results,
    worst: Option<&WorstCase>,
    target: &Target,
) -> Result<Vec<(String, CellAt, NewValue)>, Diagnostic> {
    let first = target.cells.first().cloned();
    match &target.what {
        TargetValue::Checks => Ok(Vec::new()),
        TargetValue::WorstChecks => Ok(worst
            .zip(first)
            .map(|(worst, cell)| {
                let words = NewValue::Text(worst.verdict_text());
                ("checks worst".to_owned(), cell, words)
            })
            .into_iter()
            .collect()),
        TargetValue::Extreme(at, unit, end) => {
            let (Some(output), Some(worst)) = (results.program().outputs.get(*at), worst) else {
                return Ok(Vec::new());
            };
            let name = format!("{} {}", output.name, end.word());
            if results.never(output).is_some() {
                let words = NewValue::Text(results.to_text(output));
                return spread_out(&name, vec![words], &target.cells);
            }
            let values = worst
                .ranges()
                .iter()
                .filter(|range| range.output == *at)
                .map(|range| extreme(range, *end, unit, &name))
                .collect::<Result<Vec<_>, _>>()?;
            spread_out(&name, values, &target.cells)
        }
        TargetValue::Result(at, unit) => {
            let line = usize::try_from(at.0).ok().and_then(|at| results.program().lines.get(at));
            let Some(line) = line else { return Ok(Vec::new()) };
            let name = line.name.clone();
            match (results.run().register(line.register).ok(), &line.type_) {
                (Some(Slot::One(value)), Type::Number { .. }) => {
                    let value = NewValue::Number(number(value, unit, &name)?);
                    Ok(first.map(|cell| (name, cell, value)).into_iter().collect())
                }
                (Some(Slot::Many(values)), _) => series(&name, values, unit, &target.cells),
                (Some(_), _) => {
                    let words = results.line_text(line);
                    Ok(first.map(|cell| (name, cell, NewValue::Text(words))).into_iter().collect())
                }
                // a figure of before must not stay where there is none
                (None, _) => {
                    let words = vec![NewValue::Text(results.line_text(line))];
                    spread_out(&name, words, &target.cells)
                }
            }
        }
    }
}

/// A series goes one value a cell where there are cells enough, else into the first as a text.
fn series(
    name: &str,
    values: &[Exact],
    unit: &Unit,
    cells: &[CellAt],
) -> Result<Vec<(String, CellAt, NewValue)>, Diagnostic> {
    let numbers = values
        .iter()
        .map(|value| number(value, unit, name).map(NewValue::Number))
        .collect::<Result<Vec<_>, _>>()?;
    spread_out(name, numbers, cells)
}

/// Values over the cells that are there for them.
fn spread_out(
    name: &str,
    values: Vec<NewValue>,
    cells: &[CellAt],
) -> Result<Vec<(String, CellAt, NewValue)>, Diagnostic> {
    if cells.len() >= values.len() {
        // cells left over from a longer series before
        let left_over = std::iter::repeat(NewValue::Empty);
        return Ok(cells
            .iter()
            .zip(values.into_iter().chain(left_over))
            .map(|(cell, value)| (name.to_owned(), cell.clone(), value))
            .collect());
    }
    let words = values.iter().map(|value| match value {
        NewValue::Number(number) => number.to_string(),
        NewValue::Text(text) => text.clone(),
        NewValue::Truth(_) | NewValue::Empty => String::new(),
    });
    let text = words.collect::<Vec<_>>().join("; ");
    Ok(cells
        .first()
        .map(|cell| (name.to_owned(), cell.clone(), NewValue::Text(text)))
        .into_iter()
        .collect())
}

/// What a cell takes for the least or the most; a text where there is no such number.
fn extreme(range: &Range, end: End, unit: &Unit, name: &str) -> Result<NewValue, Diagnostic> {
    if range.may.is_some() {
        return Ok(NewValue::Text("may not exist".to_owned()));
    }
    let Extreme { reached, limit, .. } = if end == End::Lowest { &range.low } else { &range.high };
    let Some(limit) = limit else { return Ok(NewValue::Number(number(reached, unit, name)?)) };
    if !limit.is_finite() {
        return Ok(NewValue::Text(format!("no {} value is proved", end.word())));
    }
    let limit = Exact::from_f64(*limit).map_err(|trouble| {
        Diagnostic::error(trouble.name, format!("`{name}`: {}", trouble.words))
    })?;
    let near = number(&limit, unit, name)?;
    // what is never gone beyond is rounded outward
    Ok(NewValue::Number(if end == End::Lowest { near.next_down() } else { near.next_up() }))
}

fn number(value: &Exact, unit: &Unit, name: &str) -> Result<f64, Diagnostic> {
    let too_large =
        || Diagnostic::error(Name::TooLarge, format!("`{name}` is larger than a cell can hold"));
    let number = value.in_unit(unit).map_err(|_| too_large())?.to_f64();
    if number.is_finite() { Ok(number) } else { Err(too_large()) }
}

impl Filling {
    /// Inputs that are read from formulas which depend on results that change with this run: what they show was
    /// saved before. Nothing may be written then.
    #[must_use]
    pub fn outdated(&self, book: &Book, written: &Written) -> Vec<Diagnostic> {
        self.read_from(&written.outdated).map(|read| self.outdated_at(book, read)).collect()
    }

    /// Inputs that are read from formulas which may depend on results that change with this run: through a
    /// reference that cannot be resolved, such as `INDIRECT(A1)`, or in a file whose formulas are not followed.
    ///
    /// An error where another calculation of this run writes results, so that the saved figure may be an old one of
    /// it; else a caution.
    #[must_use]
    pub fn uncertain(&self, book: &Book, written: &Written) -> Vec<Diagnostic> {
        let followed = book.form.takes_cells();
        let of_formulas: Vec<Stale> = if followed {
            written.possible.clone()
        } else {
            let is_formula = |cell: &CellAt| {
                book.tab(&cell.tab).is_some_and(|tab| tab.has_formula(cell.position))
            };
            let reads = self.reads.iter().filter(|read| is_formula(&read.cell));
            reads
                .map(|read| Stale { tab: read.cell.tab.clone(), position: read.cell.position })
                .collect()
        };
        let why = match followed {
            true => "its reference cannot be resolved",
            false => "formulas are not followed in a file of this kind",
        };
        let problems = self.read_from(&of_formulas).map(|read| {
            let cell = read.cell.position.name();
            let words = format!(
                "`{}` comes from a formula that may depend on a result of this run: {why}",
                read.name
            );
            let others = !self.others(read.request).is_empty() && !written.changed.is_empty();
            let problem = match others {
                true => Diagnostic::error(Name::StaleFigures, words),
                false => Diagnostic::caution(
                    Name::StaleFigures,
                    format!("{words}, and its saved figure is taken"),
                ),
            };
            let remedy = match (followed, others) {
                (false, _) => "save it as .xlsx and fill that".to_owned(),
                (true, true) => format!(
                    "name the cell itself in the formula of {cell}, or {}",
                    self.two_steps(read.request, &cell)
                ),
                (true, false) => format!(
                    "open the workbook so that it calculates {cell}, save it, and fill it again: nothing may change"
                ),
            };
            problem.at(book.place(&read.cell.tab, read.cell.position)).remedy(remedy)
        });
        problems.collect()
    }

    /// The other calculations of the run, as `--only` names them.
    fn others(&self, request: usize) -> Vec<&str> {
        let labels = self.labels.iter().enumerate().filter(|(at, _)| *at != request);
        labels.map(|(_, label)| label.as_str()).collect()
    }

    /// How a calculation that reads from a formula over results of others is done.
    fn two_steps(&self, request: usize, cell: &str) -> String {
        let only: Vec<String> =
            self.others(request).iter().map(|other| format!("`--only {other}`")).collect();
        format!(
            "take two steps: fill with {}, open the workbook in an office program so that it calculates {cell}, save it, then fill again without it",
            only.join(" or ")
        )
    }

    /// The reads of some cells, each once.
    fn read_from(&self, cells: &[Stale]) -> impl Iterator<Item = &ReadBy> {
        let cells: BTreeSet<_> =
            cells.iter().map(|stale| (stale.tab.to_lowercase(), stale.position)).collect();
        let mut seen = BTreeSet::new();
        let reads = self.reads.iter().filter(move |read| cells.contains(&key(&read.cell)));
        reads.filter(move |read| seen.insert((read.request, key(&read.cell))))
    }

    fn outdated_at(&self, book: &Book, read: &ReadBy) -> Diagnostic {
        let cell = read.cell.position.name();
        let reader = self.labels.get(read.request).map_or("", String::as_str);
        let remedy = match self.others(read.request).is_empty() {
            true => format!("let the formula of {cell} not depend on a result of `{reader}`"),
            false => self.two_steps(read.request, &cell),
        };
        Diagnostic::error(
            Name::StaleFigures,
            format!(
                "`{}` of `{reader}` comes from a formula that depends on a result of this run, so its saved figure is out of date",
                read.name
            ),
        )
        .at(book.place(&read.cell.tab, read.cell.position))
        .remedy(remedy)
    }

    /// What is to be written.
    #[must_use]
    pub fn edits(&self) -> Vec<Edit> {
        self.calculated
            .iter()
            .flat_map(|one| &one.cells)
            .map(|(_, cell, value)| Edit::new(cell.tab.clone(), cell.position, value.clone()))
            .chain(self.kept.iter().cloned())
            .collect()
    }

    /// Whether every check of every calculation holds, over the tolerances where the worst case was asked for.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.calculated.iter().all(Calculated::holds)
    }
}
