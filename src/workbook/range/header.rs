//! The table recognised: which sheet it asks for, which row is its head, what each column holds.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::super::Unfilled;
use super::super::bind::blocks::asked;
use super::super::bind::slips::Block;
use super::super::bind::{Binder, CellAt, Label, Part, ReadCell, Request, label};
use super::{Asked, InputColumns, ProductLine, ResultColumn, StatusColumn, ends, units};
use crate::calculation::{Inputs, Results};
use crate::diagnostic::{Diagnostic, Name, Place, put_in_order};
use crate::program::{Program, Sheets, Type, nearest};
use crate::project::name_in;
use crate::report::Identity;
use crate::spreadsheet::{Book, COLUMNS, Cell, Entry, Position, Tab, TabKind};
use crate::unit;

/// Finds the table of variants that a workbook holds.
pub(super) fn find(
    book: &Book,
    wanted: &Asked,
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
    let mut problems = binder.bound.problems;
    put_in_order(&mut problems);
    match line {
        Some(line) if !problems.iter().any(Diagnostic::is_error) => Ok(line),
        _ => Err(Unfilled { problems, sheet_is_wrong: binder.bound.sheet_is_wrong }),
    }
}

/// A table that may be the one.
struct Candidate<'a> {
    tab: &'a Tab,
    sheet: String,
    program: Arc<Program>,
    /// The cell that names the sheet.
    anchor: Option<Position>,
    header: u32,
    /// How many cells of the header row are names.
    names: usize,
    /// The last row that may belong to it.
    last: u32,
}

type Problem = Option<Box<Diagnostic>>;

fn candidate<'a>(binder: &mut Binder<'a>, wanted: &Asked) -> Result<Candidate<'a>, Problem> {
    let book = binder.book;
    let file = Place::File { name: book.name.clone() };
    let tabs: Vec<&Tab> = match &wanted.tab {
        Some(name) => vec![book.tab(name).ok_or_else(|| missing_tab(book, name))?],
        None => book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells).collect(),
    };
    let mut found: Vec<Candidate<'a>> = Vec::new();
    let mut any_sheet = wanted.sheet.is_some();
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
                found.push(Candidate { tab, sheet, program, anchor, header, names, last });
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
        .map(|one| book.place(&one.tab.name, Position { row: one.header, column: 0 }).in_words())
        .collect();
    if whole.len() > 1 {
        return Err(Some(Box::new(
            Diagnostic::error(Name::SeveralTables, format!("{} tables of variants are found: {}", whole.len(), whole.join(", ")))
                .at(file)
                .remedy("say which: `--tab NAME`, or the sheet's name behind the workbook; one table a tab for each sheet"),
        )));
    }
    found
        .into_iter()
        .find(|one| one.names == most)
        .ok_or_else(|| Some(Box::new(nothing(&file, any_sheet))))
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

fn nothing(file: &Place, any_sheet: bool) -> Diagnostic {
    if any_sheet {
        Diagnostic::error(Name::NoHeaderRow, "no row holds names of the sheet's inputs as headings")
            .at(file.clone())
            .remedy("head the columns with the names and units of the inputs, such as `J_load / (kg·m²)`; `standstill show SHEET` lists them")
    } else {
        Diagnostic::error(Name::NothingAsked, "nothing says which sheet is to be worked out for the variants")
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
            let is_input = program.inputs.iter().any(|input| input.name == name);
            inputs += usize::from(is_input);
            names +=
                usize::from(is_input || program.outputs.iter().any(|output| output.name == name));
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

/// What each column of the table holds.
fn columns(binder: &mut Binder<'_>, found: &Candidate<'_>, wanted: &Asked) -> Option<ProductLine> {
    let Candidate { tab, program, header, .. } = found;
    let headings = tab.row(*header);
    let below = units::row_below(tab, program, headings, *header);
    let here = |column: u32| Position { row: *header, column };
    let place = |position: Position| binder.book.place(&tab.name, position);
    let mut inputs: Vec<InputColumns> = Vec::new();
    let mut results: Vec<ResultColumn> = Vec::new();
    let mut status = None;
    let mut worst_status = false;
    let mut tolerances = Vec::new();
    let mut remarks = Vec::new();
    let mut problems = Vec::new();
    for entry in headings {
        let Cell::Text(text) = &entry.cell else { continue };
        let heading = label(text);
        let column = entry.position.column;
        // `J in words` beside a column of J is a remark, not a second J
        let strange = heading.unit.as_deref().is_some_and(|unit| unit::parse_unit(unit).is_err());
        if strange && named_elsewhere(headings, column, &heading.name) {
            remarks.push(text.trim().to_owned());
            continue;
        }
        let says = units::Says {
            heading: heading.unit.as_deref().map(|unit| (unit, place(here(column)))),
            below: below.and_then(|row| {
                units::text_at(tab, row, column).map(|unit| (unit, place(Position { row, column })))
            }),
        };
        if let Some((at, input)) =
            program.inputs.iter().enumerate().find(|(_, input)| input.name == heading.name)
        {
            let many = matches!(input.type_, Type::Number { series: true, .. });
            if let Some(known) = inputs.iter_mut().find(|known| known.input == at) {
                if many {
                    known.columns.push(column);
                } else {
                    let other = known.columns.first().copied().unwrap_or(0);
                    problems.push(
                        Diagnostic::error(
                            Name::AskedTwice,
                            format!("`{}` has two columns", input.name),
                        )
                        .at(place(here(column)))
                        .label(place(here(other)), "the other")
                        .remedy("take one of them out"),
                    );
                }
                continue;
            }
            match units::of_input(input, &says, &place(here(column))) {
                Ok(unit) => inputs.push(InputColumns {
                    input: at,
                    columns: vec![column],
                    unit,
                    tolerance: None,
                }),
                Err(problem) => {
                    // told once: what waits for this input stays silent
                    problems.push(*problem);
                    inputs.push(InputColumns {
                        input: at,
                        columns: vec![column],
                        unit: input.unit.clone(),
                        tolerance: None,
                    });
                }
            }
        } else if let Some((at, end)) = ends::result_of(program, &heading.name) {
            let Some(output) = program.outputs.get(at) else { continue };
            if let (Some(end), false) = (end, ends::is_one_number(output)) {
                let words = format!(
                    "`{}` is not one number, so it has no {} value",
                    output.name,
                    end.word()
                );
                problems.push(
                    Diagnostic::error(Name::UnknownRow, words)
                        .at(place(here(column)))
                        .remedy(format!("head the column `{}`", output.name)),
                );
                continue;
            }
            match units::of_result(output, &says, &place(here(column))) {
                Ok(unit) => {
                    results.push(ResultColumn { output: at, end, column, unit, appended: false })
                }
                Err(problem) => problems.push(*problem),
            }
        } else if let Some(at) = ends::tolerance_of(program, &heading.name) {
            tolerances.push((at, column, heading.unit));
        } else if heading.name.eq_ignore_ascii_case("checks worst") {
            worst_status = true;
            status = status.or(Some(column));
        } else if status.is_none()
            && ["status", "checks"].iter().any(|word| heading.name.eq_ignore_ascii_case(word))
        {
            status = Some(column);
        } else {
            match not_taken(
                program,
                &found.sheet,
                &heading,
                says.below.as_ref().map(|it| it.0.as_str()),
            ) {
                Some(problem) => problems.push(problem.at(place(here(column)))),
                None => remarks.push(text.trim().to_owned()),
            }
        }
    }
    for (at, column, unit) in tolerances {
        let problem = ends::attach(program, &mut inputs, at, column, unit.as_deref());
        problems.extend(problem.map(|problem| problem.at(place(here(column)))));
    }
    let shared = shared(binder, found, &inputs, headings);
    binder.bound.problems.extend(problems);
    let (shared, shared_cells) = shared?;
    let mut next = tab.used().map_or(0, |used| used.last.column + 1);
    let headed = !results.is_empty();
    for (at, output) in program.outputs.iter().enumerate() {
        let has_column = results.iter().any(|result| result.output == at && result.end.is_none());
        if has_column || headed && !wanted.all {
            continue;
        }
        results.push(ResultColumn {
            output: at,
            end: None,
            column: next,
            unit: output.unit.clone(),
            appended: true,
        });
        next += 1;
    }
    let worst = wanted.worst || worst_status || results.iter().any(|result| result.end.is_some());
    if wanted.worst {
        ends::append_ends(program, &mut results, &mut next);
    }
    let status = match status {
        Some(column) => StatusColumn { column, appended: false },
        None => {
            next += 1;
            StatusColumn { column: next - 1, appended: true }
        }
    };
    if next > COLUMNS {
        binder.bound.problems.push(
            Diagnostic::error(
                Name::BrokenReference,
                "the results do not fit behind the last column of the tab",
            )
            .at(binder.book.place(&tab.name, here(0)))
            .remedy("head the results that you want in columns nearer by"),
        );
        return None;
    }
    let mut line =
        ProductLine::new(found.sheet.clone(), Arc::clone(program), tab.name.clone(), *header);
    line.units = below;
    line.inputs = inputs;
    line.results = results;
    line.status = status;
    line.shared = shared;
    line.shared_cells = shared_cells;
    line.worst = worst;
    line.remarks = remarks;
    (line.variants, line.passed_over) = rows(tab, &line, headings, found.last);
    binder.bound.problems.extend(wide_headings(binder.book, tab, &line));
    if line.variants.is_empty() {
        binder.bound.problems.push(
            Diagnostic::error(Name::NothingAsked, "the table has headings and no rows")
                .at(binder.book.place(&tab.name, here(0)))
                .remedy("write one variant a row below the headings"),
        );
    }
    Some(line)
}

/// Headings that are merged over a further column in which numbers stand: whose numbers they are, none can know.
fn wide_headings(book: &Book, tab: &Tab, line: &ProductLine) -> Vec<Diagnostic> {
    let inputs = line.inputs.iter().flat_map(|input| input.columns.iter().copied());
    let results = line.results.iter().filter(|it| !it.appended).map(|it| it.column);
    let mut found = Vec::new();
    for column in inputs.chain(results) {
        let heading = Position { row: line.header, column };
        let Some(area) = tab.merged_at(heading) else { continue };
        let stray = (column + 1..=area.last.column).find_map(|column| {
            line.variants
                .iter()
                .map(|row| Position { row: *row, column })
                .find(|at| tab.merged_at(*at).is_none() && !matches!(tab.cell(*at), Cell::Empty))
        });
        if let Some(stray) = stray {
            let words = format!(
                "the heading in {} is merged over another column, and {} holds something",
                heading.name(),
                stray.name()
            );
            found.push(
                Diagnostic::error(Name::MergedCell, words)
                    .at(book.place(&tab.name, heading))
                    .remedy(
                        "take the merged cells apart and give each column a heading of its own",
                    ),
            );
        }
    }
    found
}

fn named_elsewhere(headings: &[Entry], column: u32, name: &str) -> bool {
    headings.iter().any(|entry| match &entry.cell {
        Cell::Text(text) => entry.position.column != column && label(text).name == name,
        _ => false,
    })
}

/// What is wrong with a heading that is neither an input nor a result; none for a plain remark.
///
/// With a unit it looks like a quantity, and a name close to one of the sheet like a slip: passed over, either would
/// leave a default in the place of what its owner wrote.
fn not_taken(
    program: &Program,
    sheet: &str,
    heading: &Label,
    below: Option<&str>,
) -> Option<Diagnostic> {
    let is_unit = |text: &str| unit::parse_unit(text).is_ok();
    let measured = heading.unit.as_deref().is_some_and(is_unit) || below.is_some_and(is_unit);
    let of_ends = ["±", "+/-", "+-", "tolerance", "tol.", "tol", "lowest", "highest"];
    let bare = of_ends.iter().fold(heading.name.trim(), |name, word| {
        name.trim_start_matches(word).trim_end_matches(word).trim()
    });
    let ranged = bare != heading.name.trim();
    let symbol = bare.contains('_') && !bare.contains(' ');
    let known = program.inputs.iter().map(|input| input.name.as_str());
    let known = known.chain(program.outputs.iter().map(|output| output.name.as_str()));
    // `E_trip / (J) measured`, `d [mm] of the shaft`: a name, and words behind it
    let first = heading.name.split([' ', '\u{a0}', '\n', '/', '(', '[', ',', ';', ':']).next();
    let first = first.filter(|first| {
        let rest = heading.name.get(first.len()..).unwrap_or_default().trim_start();
        first.chars().count() > 1 || rest.starts_with(['/', '(', '['])
    });
    let led = known.clone().find(|name| Some(*name) == first).map(str::to_owned);
    let near = nearest(bare, known).first().map(|(name, slips)| ((*name).to_owned(), *slips));
    let word = !bare.contains(char::is_whitespace);
    let alike = word && near.as_ref().is_some_and(|(_, slips)| *slips == 1);
    let near = near.map(|(name, _)| name);
    let (near, led) = (led.clone().or(near), led.is_some());
    if !(measured || ranged || led || near.is_some() && (symbol || alike)) {
        return None;
    }
    let remedy = match near {
        Some(near) => {
            format!("did you mean `{near}`? A remark of your own has no unit and another name")
        }
        None => format!(
            "head it with an input or a result of `{sheet}`, or leave the unit out where it is a remark of your own"
        ),
    };
    let words = format!("`{}` is neither an input nor a result of `{sheet}`", heading.name);
    Some(Diagnostic::error(Name::UnknownRow, words).remedy(remedy))
}

/// The inputs that stand above the table once for all rows; names every input that stands nowhere.
fn shared(
    binder: &mut Binder<'_>,
    found: &Candidate<'_>,
    inputs: &[InputColumns],
    headings: &[Entry],
) -> Option<(Inputs, Vec<ReadCell>)> {
    let Candidate { tab, program, header, .. } = found;
    let at = found.anchor.unwrap_or(Position { row: *header, column: 0 });
    let cell = CellAt { tab: tab.name.clone(), position: at };
    let mut request: Request = binder.request(&found.sheet, binder.place(&cell), program);
    let before = binder.bound.problems.len();
    if let (Some(anchor), true) = (found.anchor, *header > 0) {
        let mut taken = Vec::new();
        for row in binder.rows(&tab.name, anchor, header - 1) {
            taken.push(row.name.clone());
            binder.bind_row(&mut request, row);
        }
        let block = Block {
            program: Arc::clone(program),
            sheet: found.sheet.clone(),
            place: request.place.clone(),
            taken,
            start: cell.clone(),
        };
        // above the table, and below its head what is no variant
        let is_variant = |row| {
            let columns = inputs.iter().flat_map(|input| &input.columns);
            columns
                .into_iter()
                .any(|column| *tab.cell(Position { row, column: *column }) != Cell::Empty)
        };
        let is_apart = |row| row < *header || row > *header + 1 && !is_variant(row);
        let strays = binder.strays(&block, &is_apart);
        binder.bound.problems.extend(strays);
    }
    for target in &request.results {
        if let Some(cell) = target.cells.first() {
            binder.bound.problems.push(
                Diagnostic::error(
                    Name::UnknownRow,
                    "a result stands above the table, where inputs stand that all rows share",
                )
                .at(binder.place(cell))
                .remedy("give the result a column of the table, one value a variant"),
            );
        }
    }
    let shared = request.inputs.clone();
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
    if let Err(problems) = Results::work_out(program, &request.inputs) {
        for problem in problems {
            binder.bound.problems.push(if problem.name == Name::MissingInput {
                told_of_table(problem, program, &request.place, headings, found.anchor.is_some())
            } else {
                problem
            });
        }
    }
    let wrong = binder.bound.problems.iter().skip(before).any(Diagnostic::is_error);
    let cells = request.reads.into_iter().filter(|read| read.part != Part::Label).collect();
    (!wrong).then_some((shared, cells))
}

/// An input that stands nowhere is the table's trouble.
fn told_of_table(
    problem: Diagnostic,
    program: &Program,
    place: &Place,
    headings: &[Entry],
    anchored: bool,
) -> Diagnostic {
    let name = problem.headline.split('`').nth(1).unwrap_or_default().to_owned();
    let unit = program
        .inputs
        .iter()
        .find(|input| input.name == name)
        .map(|input| input.unit.symbol.clone())
        .unwrap_or_default();
    let texts: Vec<String> = headings
        .iter()
        .filter_map(|entry| match &entry.cell {
            Cell::Text(text) => Some(label(text).name),
            _ => None,
        })
        .filter(|text| !program.inputs.iter().any(|input| input.name == *text))
        .collect();
    let near = nearest(&name, texts.iter().map(String::as_str));
    let heading = super::write::heading(&name, &unit);
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
    let mut told =
        Diagnostic::error(problem.name, format!("{}; it has no column", problem.headline))
            .at(place.clone())
            .remedy(remedy);
    if let Some(line) = problem.place {
        told = told.label(line, "the sheet asks for it here");
    }
    told
}

/// The rows that are variants, and those that hold something else.
fn rows(tab: &Tab, line: &ProductLine, headings: &[Entry], last: u32) -> (Vec<u32>, Vec<u32>) {
    let (mut variants, mut others) = (Vec::new(), Vec::new());
    let first = line.units.unwrap_or(line.header) + 1;
    let inputs: Vec<u32> =
        line.inputs.iter().flat_map(|input| input.columns.iter().copied()).collect();
    let ours: Vec<u32> =
        line.results.iter().map(|result| result.column).chain([line.status.column]).collect();
    let heading_of = |column: u32| {
        headings.iter().find(|entry| entry.position.column == column).map(|entry| &entry.cell)
    };
    tab.each_filled(&mut |row, cells| {
        if !(first..=last).contains(&row) {
            return;
        }
        let mut of_inputs = cells.iter().filter(|cell| inputs.contains(&cell.column)).peekable();
        let any = of_inputs.peek().is_some();
        let headed_again = of_inputs.all(|cell| {
            let held = tab.cell(Position { row, column: cell.column });
            cell.text && heading_of(cell.column) == Some(held)
        });
        // its inputs may be gone while its results are still there
        let holds_ours = || cells.iter().any(|cell| ours.contains(&cell.column) && !cell.formula);
        if any && !headed_again || !any && holds_ours() {
            variants.push(row);
        } else {
            others.push(row);
        }
    });
    (variants, others)
}

/// Says of each row of a workbook whether the search for a table needs it.
pub(super) struct Needed<'a> {
    asked: &'a Asked,
    book: &'a str,
    sheets: &'a dyn Sheets,
    names: BTreeMap<String, Names>,
    /// The tab of the row before; none before the first row, since the tab of a `.csv` has an empty name.
    tab: Option<String>,
    /// The sheets whose names may stand in the rows that follow.
    known: Vec<String>,
    /// Whether a cell above names the sheet.
    anchored: bool,
    /// Whether a row since then looks like the head of a table.
    headed: bool,
    /// Whether the row before held names.
    named: bool,
    /// How many rows have followed the last row with a single name, which may be the head of a table of
    /// one input.
    since_single: Option<usize>,
}

/// Rows that are kept behind a head of one name, so that what is strange there is told. Behind them only
/// rows with names are.
const BEHIND_A_SINGLE: usize = 1000;

/// The names of a sheet.
struct Names {
    inputs: BTreeSet<String>,
    outputs: BTreeSet<String>,
}

impl<'a> Needed<'a> {
    pub(super) fn new(asked: &'a Asked, book: &'a str, sheets: &'a dyn Sheets) -> Self {
        Self {
            asked,
            book,
            sheets,
            names: BTreeMap::new(),
            tab: None,
            known: Vec::new(),
            anchored: false,
            headed: false,
            named: false,
            since_single: None,
        }
    }

    /// Rows come in their order, tab by tab. Kept are the cells that name a sheet, the rows from there to
    /// the head of the table, and every row that holds names, with the one below it. Behind a head of one
    /// name, rows without names pass by.
    pub(super) fn row(&mut self, tab: &Tab, cells: &[Entry]) -> bool {
        if self.tab.as_ref() != Some(&tab.name) {
            self.tab = Some(tab.name.clone());
            self.known = self.asked.sheet.iter().cloned().collect();
            (self.anchored, self.headed, self.named) = (false, false, false);
            self.since_single = None;
        }
        if self.asked.tab.as_ref().is_some_and(|wanted| !wanted.eq_ignore_ascii_case(&tab.name)) {
            return false;
        }
        let mut anchor = false;
        for entry in cells {
            let Cell::Text(text) = &entry.cell else { continue };
            let Some(sheet) = asked(text) else { continue };
            anchor = true;
            if self.asked.sheet.as_ref().is_none_or(|wanted| name_in(wanted) == name_in(&sheet)) {
                (self.anchored, self.headed, self.since_single) = (true, false, None);
                self.known = vec![sheet];
            }
        }
        let Counted { names, inputs, valued } = self.count(cells);
        let below = std::mem::replace(&mut self.named, names > 0);
        let above = self.anchored && !self.headed;
        self.since_single = match self.since_single {
            _ if inputs > 0 && names == 1 => Some(0),
            since => since.map(|rows| rows + 1),
        };
        let passes = self.since_single.is_some_and(|rows| rows > BEHIND_A_SINGLE);
        let kept =
            anchor || names > 0 || valued || below || above && (!passes || self.any_name(cells));
        self.headed |= inputs > 0 && names > 1;
        kept
    }

    /// Whether a cell begins with a name: a value that all rows share may stand beside it.
    fn any_name(&self, cells: &[Entry]) -> bool {
        cells.iter().any(|entry| {
            let Cell::Text(text) = &entry.cell else { return false };
            let name = label(text).name;
            let first = name.split([' ', '.', '±']).next().unwrap_or_default();
            let known = self.known.iter().filter_map(|sheet| self.names.get(sheet));
            known.into_iter().any(|names| {
                [name.as_str(), first]
                    .iter()
                    .any(|name| names.inputs.contains(*name) || names.outputs.contains(*name))
            })
        })
    }

    /// What of a row are names.
    fn count(&mut self, cells: &[Entry]) -> Counted {
        let mut counted = Counted::default();
        for sheet in &self.known {
            if !self.names.contains_key(sheet) {
                let place = match self.anchored {
                    true => Place::File { name: self.book.to_owned() },
                    false => self.asked.asked_at(),
                };
                let program =
                    self.sheets.checked(sheet, &place).ok().and_then(|checked| checked.program);
                self.names.insert(sheet.clone(), Names::of(program.as_deref()));
            }
            let Some(known) = self.names.get(sheet) else { continue };
            for (at, entry) in cells.iter().enumerate() {
                let Cell::Text(text) = &entry.cell else { continue };
                let name = label(text).name;
                let is_input = known.inputs.contains(&name);
                if !is_input && !known.outputs.contains(&name) {
                    continue;
                }
                if has_value_beside(cells, at) {
                    counted.valued |= is_input;
                } else {
                    counted.names += 1;
                    counted.inputs += usize::from(is_input);
                }
            }
        }
        counted
    }
}

/// The names in a row.
#[derive(Clone, Copy, Debug, Default)]
struct Counted {
    /// Names that may be headings.
    names: usize,
    /// Those of inputs.
    inputs: usize,
    /// Whether an input has its value beside it: a value that all rows share, or one that stands astray.
    valued: bool,
}

impl Names {
    fn of(program: Option<&Program>) -> Self {
        let inputs = program.iter().flat_map(|program| &program.inputs);
        let outputs = program.iter().flat_map(|program| &program.outputs);
        Self {
            inputs: inputs.map(|input| input.name.clone()).collect(),
            outputs: outputs.map(|output| output.name.clone()).collect(),
        }
    }
}

/// A name with its value beside it is a labelled row, not a heading.
fn has_value_beside(cells: &[Entry], at: usize) -> bool {
    let column = cells.get(at).map_or(0, |entry| entry.position.column);
    let beside = cells.get(at + 1).filter(|next| next.position.column == column + 1);
    beside.is_some_and(|next| matches!(next.cell, Cell::Number(_)))
}
