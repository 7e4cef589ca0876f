//! What each column of a table holds: an input, a result, a tolerance, the status, or a remark of its owner.

use std::sync::Arc;

use super::super::bind::around::Around;
use super::super::bind::formula::text_not_its_own;
use super::super::bind::{Binder, CellAt, Label, is_flywheel, label};
use super::header::Candidate;
use super::shared::shared;
use super::variants::rows;
use super::write::heading as heading_of;
use super::{InputColumns, ProductLine, ResultColumn, StatusColumn, TableRequest, ends, units};
use crate::calculation::{has_tolerance, scale};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::{Input, Program, Type, nearest};
use crate::spreadsheet::{Book, COLUMNS, Cell, Entry, Position, Tab};
use crate::unit::{self, OF_DIAMETER, PrintedInertia, printed_inertia};

/// What each column of the table holds.
pub(super) fn columns(
    binder: &mut Binder<'_>,
    found: &Candidate<'_>,
    wanted: &TableRequest,
) -> Option<ProductLine> {
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
    let (mut remarks, mut said_units) = (Vec::new(), Vec::new());
    let mut numbered = None;
    let mut problems = Vec::new();
    for entry in headings {
        let Cell::Text(text) = &entry.cell else { continue };
        // the stroke of `+/-` is none before a unit
        let heading = label(&text.replace("+/-", "±"));
        let column = entry.position.column;
        // `J in words` beside a column of J is a remark, not a second J
        let strange = heading.unit.as_deref().is_some_and(|unit| !unit::is_unit(unit));
        if strange && named_elsewhere(headings, column, &heading.name) {
            remarks.push(text.trim().to_owned());
            continue;
        }
        let says = units::HeaderUnit {
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
            let head = CellAt { tab: tab.name.clone(), position: here(column) };
            problems.extend(binder.struck(&input.name, &[head]));
            let unit = units::of_input(input, &says, &place(here(column)));
            let unit = unit.unwrap_or_else(|problem| {
                // reported once: what waits for this input stays silent
                problems.push(*problem);
                input.unit.clone()
            });
            let (columns, unasked) = (vec![column], scale::unasked(input, &unit));
            inputs.push(InputColumns {
                input: at,
                columns,
                unit,
                tolerance: None,
                tolerance_unit: None,
                unasked,
            });
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
            let below = || says.below.as_ref().map(|it| it.0.clone());
            tolerances.push((at, column, heading.unit.or_else(below)));
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
                None => {
                    if matches!(heading.name.to_lowercase().as_str(), "unit" | "units") {
                        said_units.push(column);
                    }
                    remarks.push(text.trim().to_owned());
                    numbered.get_or_insert_with(|| (column, text.trim().to_owned()));
                }
            }
        }
    }
    for (at, column, unit) in tolerances {
        let problem = ends::attach(program, &mut inputs, at, column, unit.as_deref());
        problems.extend(problem.map(|problem| problem.at(place(here(column)))));
    }
    let units = below.map_or(&[][..], |row| tab.row(row));
    problems.extend(headings.iter().chain(units).filter_map(|entry| {
        let cell = CellAt { tab: tab.name.clone(), position: entry.position };
        let in_part =
            matches!(&entry.cell, Cell::Text(text) if binder.book.pieces.struck.contains(text));
        let name = label(&entry.cell.to_string()).name;
        let struck = in_part.then(|| binder.struck(&name, std::slice::from_ref(&cell))).flatten();
        struck.or_else(|| text_not_its_own(binder.book, &cell))
    }));
    problems.extend(said_around(binder, found, &inputs));
    let shared = shared(binder, found, &inputs, headings, &wanted.given);
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
    // a tolerance that is stated counts, whether or not a column asks for the worst case
    let stated = shared.any_spread() || inputs.iter().any(|columns| columns.tolerance.is_some());
    let worst =
        wanted.worst || worst_status || stated || results.iter().any(|result| result.end.is_some());
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
    (line.remarks, line.said_units) = (remarks, said_units);
    line.numbered = numbered;
    let rows = rows(binder.book, tab, &line, found.last);
    binder.bound.problems.extend(rows.headed_otherwise);
    binder.bound.problems.extend(rows.open);
    (line.variants, line.passed_over, line.totals) = (rows.variants, rows.others, rows.totals);
    line.worst |= any_tolerance(tab, &line);
    line.unused = super::said::unused(&line, tab);
    let fed = line.fed_otherwise(binder, tab);
    binder.bound.problems.extend(fed);
    // in a unit that does not read nothing is unusual
    let mut unusual = line.unusual_units(binder.book, tab);
    unusual.retain(|it| {
        let Some(Place::Cell { column, .. }) = it.place else { return true };
        let head = Some(place(here(column)));
        !binder.bound.problems.iter().any(|it| it.is_error() && it.place == head)
    });
    binder.bound.problems.extend(unusual);
    line.said_above(binder.book, tab).into_iter().for_each(|problem| binder.tell_once(problem));
    line.odd = Arc::new(line.odd_formulas(binder.book, tab));
    let typed_over = line.typed_over(binder.book, tab);
    binder.bound.problems.extend(typed_over);
    binder.bound.problems.extend(wide_headings(binder.book, tab, &line));
    binder.bound.problems.extend(line.without_heading(binder.book, tab));
    if line.variants.is_empty() {
        binder.bound.problems.push(
            Diagnostic::error(Name::NothingAsked, "the table has headings and no rows")
                .at(binder.book.place(&tab.name, here(0)))
                .remedy("write one variant a row below the headings"),
        );
    }
    Some(line)
}

/// A factor, or another unit, that a title or a remark above a table states for all its values.
fn said_around(
    binder: &Binder<'_>,
    found: &Candidate<'_>,
    inputs: &[InputColumns],
) -> Option<Diagnostic> {
    let Candidate { tab, program, header, .. } = found;
    let first = found.anchor.map_or(*header, |at| at.row).saturating_sub(1);
    let known = |name: &str| program.input_named(name).is_some();
    // the rows that all variants share state their own units
    let is_own = |at: Position| {
        at.row >= *header
            || tab
                .row(at.row)
                .iter()
                .any(|entry| matches!(&entry.cell, Cell::Text(text) if known(&label(text).name)))
    };
    let units = inputs.iter().filter_map(|columns| {
        let kind = program.inputs.get(columns.input)?.kind;
        Some((kind, columns.unit.symbol.clone()))
    });
    binder.said_of_all(&Around {
        tab: &tab.name,
        rows: first.min(header.saturating_sub(1))..=header.saturating_sub(1),
        columns: 0..=COLUMNS,
        is_own: &is_own,
        units: units.collect(),
    })
}

/// Whether a value of an input bears its tolerance in its own cell.
fn any_tolerance(tab: &Tab, line: &ProductLine) -> bool {
    let numbers = line.inputs.iter().filter(|known| {
        let input = line.program.inputs.get(known.input);
        input.is_some_and(|input| matches!(input.type_, Type::Number { .. }))
    });
    let numbers: Vec<u32> = numbers.flat_map(|known| known.columns.clone()).collect();
    let mut cells = line.variants.iter().flat_map(|row| tab.row(*row));
    cells.any(|entry| match &entry.cell {
        Cell::Text(text) => numbers.contains(&entry.position.column) && has_tolerance(text),
        _ => false,
    })
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

/// Whether a unit may be that of an input or a result: a `mass / kg` of a sheet without masses is its owner's own.
fn may_be_of(program: &Program, unit: &str) -> bool {
    let read = |input: &Input| input.kind.is_some_and(|kind| kind.read_plate(unit).is_ok());
    let alike = |parsed: unit::Unit| {
        let mut results = program.outputs.iter();
        parsed.dimension.is_none()
            || results.any(|output| output.unit.dimension == parsed.dimension)
    };
    program.inputs.iter().any(read) || unit::parse_unit(unit).is_ok_and(alike)
}

/// What is wrong with a heading that is neither an input nor a result; none for a plain remark.
///
/// With a unit of the sheet it looks like a quantity, and a name close to one of the sheet like a slip: passed over, either would
/// leave a default in the place of what its owner wrote.
fn not_taken(
    program: &Program,
    sheet: &str,
    heading: &Label,
    below: Option<&str>,
) -> Option<Diagnostic> {
    let of_sheet = |unit: &str| unit::is_unit(unit) && may_be_of(program, unit);
    let measured = heading.unit.as_deref().is_some_and(of_sheet) || below.is_some_and(of_sheet);
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
    // `speed n_0`: words, and a name behind them
    let last = heading.name.rsplit([' ', '\u{a0}', '\n', ',']).next();
    let last = last.filter(|last| last.chars().count() > 1);
    let mut led = known.clone().filter(|name| Some(*name) == first || Some(*name) == last);
    let led = led.next().map(str::to_owned);
    let near = nearest(bare, known).first().map(|(name, slips)| ((*name).to_owned(), *slips));
    let word = !bare.contains(char::is_whitespace);
    let alike = word && near.as_ref().is_some_and(|(_, slips)| *slips == 1);
    let near = near.map(|(name, _)| name);
    let (near, led) = (led.clone().or(near), led.is_some());
    if !(measured || ranged || led || near.is_some() && (symbol || alike)) {
        return None;
    }
    let inertia = |input: &&Input| input.kind.is_some_and(|kind| kind.name == "inertia");
    let inertia = program.inputs.iter().find(inertia).map(|input| input.name.as_str());
    if is_flywheel(&heading.name) {
        let words =
            format!("`{}` is a flywheel effect, as a rule four times an inertia", heading.name);
        let name = inertia.unwrap_or("J");
        let remedy =
            format!("write the inertia below a heading such as `{name} / (kg·m²)`: {OF_DIAMETER}");
        return Some(Diagnostic::error(Name::TwoStatements, words).remedy(remedy));
    }
    if let (Some(name), Some(PrintedInertia::Radius)) = (inertia, printed_inertia(bare)) {
        let words = format!("`{}` is neither an input nor a result of `{sheet}`", heading.name);
        let unit = heading.unit.as_deref().or(below).unwrap_or("lb·ft²");
        let remedy = format!("it is the inertia itself: head it `{name} / ({unit})`");
        return Some(Diagnostic::error(Name::UnknownRow, words).remedy(remedy));
    }
    let remedy = match near {
        Some(near) => {
            // a unit that stands in it goes with it
            let kind = program.input_named(&near).and_then(|input| input.kind);
            let reads =
                |it: &&str| kind.is_some_and(|kind| !kind.bare && kind.read_plate(it).is_ok());
            let mut said = heading.unit.iter().map(String::as_str).chain(below).chain(
                heading
                    .name
                    .split([' ', '\u{a0}', '\n', '/', '(', ')', '[', ']', ',', ';'])
                    .skip(1),
            );
            let meant = heading_of(&near, said.find(reads).unwrap_or_default());
            format!("did you mean `{meant}`? A remark of your own has no unit and another name")
        }
        None if ranged && bare.is_empty() => {
            let name = inertia.or_else(|| program.inputs.first().map(|input| input.name.as_str()));
            let name = name.unwrap_or("J");
            format!("say of which input: head it `{name} tolerance` or `± {name}`, by its own name")
        }
        None => format!(
            "head it with an input or a result of `{sheet}`, or leave the unit out where it is a remark of your own"
        ),
    };
    let words = format!("`{}` is neither an input nor a result of `{sheet}`", heading.name);
    Some(Diagnostic::error(Name::UnknownRow, words).remedy(remedy))
}
