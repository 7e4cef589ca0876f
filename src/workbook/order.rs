//! What the calculations of a workbook read and write, as one graph, before anything is calculated.
//!
//! A calculation that reads a cell which another one writes comes after it and takes the new value. A cell that
//! is read as a unit, a tolerance or a name is never written; nor are two results written to one cell.

use std::collections::BTreeMap;

use super::bind::{CellAt, Part, Request, TargetValue};
use crate::diagnostic::{Diagnostic, Name};
use crate::number::InputValue;
use crate::spreadsheet::{Book, Position};
use crate::unit::Unit;

/// One cell through which a calculation feeds another.
pub(super) struct Link {
    /// The calculation that writes the cell, by its place among the requests.
    pub(super) from: usize,
    /// The calculation that reads it.
    pub(super) to: usize,
    /// The cell.
    pub(super) cell: CellAt,
    /// The input that reads it.
    input: String,
    /// The unit in which it is written; none for words and for percentages.
    unit: Option<Unit>,
}

/// The order in which calculations feed each other.
#[derive(Default)]
pub(super) struct Order {
    /// The requests, each after those that feed it.
    pub(super) sequence: Vec<usize>,
    /// The cells through which they do.
    pub(super) links: Vec<Link>,
    /// Cells that cannot be written as they are asked for, and circles.
    pub(super) problems: Vec<Diagnostic>,
}

type Key = (String, Position);

pub(super) fn key(cell: &CellAt) -> Key {
    (cell.tab.to_lowercase(), cell.position)
}

/// Where a result goes: the request, the name of the result, the unit.
struct Writer<'a> {
    request: usize,
    name: String,
    cell: &'a CellAt,
    unit: Option<Unit>,
}

impl Order {
    /// Finds the order of the requests and what stands in its way.
    pub(super) fn of(book: &Book, requests: &[Request]) -> Self {
        let mut order = Self::default();
        let writers = order.writers(book, requests);
        let mut seen = BTreeMap::new();
        for (to, request) in requests.iter().enumerate() {
            for read in &request.reads {
                let Some(writer) = writers.get(&key(&read.cell)) else { continue };
                if read.part == Part::Value && writer.request != to {
                    order.links.push(Link {
                        from: writer.request,
                        to,
                        cell: read.cell.clone(),
                        input: read.name.clone(),
                        unit: writer.unit.clone(),
                    });
                } else if seen.insert(key(&read.cell), ()).is_none() {
                    order.problems.push(overwritten(book, requests, writer, read.part, &read.name));
                }
            }
        }
        order.sort(book, requests);
        order
    }

    fn writers<'a>(&mut self, book: &Book, requests: &'a [Request]) -> BTreeMap<Key, Writer<'a>> {
        let mut writers: BTreeMap<Key, Writer<'a>> = BTreeMap::new();
        for (request, asked) in requests.iter().enumerate() {
            for target in &asked.results {
                let name = target.what.name(&asked.program);
                let unit = match &target.what {
                    TargetValue::Result(_, unit) | TargetValue::Extreme(_, unit, _)
                        if !target.percent =>
                    {
                        Some(unit.clone())
                    }
                    _ => None,
                };
                for cell in &target.cells {
                    let writer = Writer { request, name: name.clone(), cell, unit: unit.clone() };
                    if let Some(before) = writers.get(&key(cell)) {
                        self.problems.push(twice(book, requests, before, &writer));
                    } else {
                        writers.insert(key(cell), writer);
                    }
                }
            }
        }
        writers
    }

    /// Each request after those that feed it; what is left over goes round in a circle.
    fn sort(&mut self, book: &Book, requests: &[Request]) {
        let mut waiting: Vec<usize> = (0..requests.len()).collect();
        loop {
            let ready = waiting.iter().position(|at| {
                !self.links.iter().any(|link| link.to == *at && waiting.contains(&link.from))
            });
            let Some(ready) = ready else { break };
            self.sequence.push(waiting.remove(ready));
        }
        let round: Vec<&Link> = self
            .links
            .iter()
            .filter(|link| waiting.contains(&link.to) && waiting.contains(&link.from))
            .collect();
        let Some(first) = round.first() else { return };
        let mut problem = Diagnostic::error(
            Name::CircularDefinition,
            format!(
                "`{}` reads `{}` from a cell that depends on its own results",
                sheet_of(requests, first.to),
                first.input
            ),
        )
        .at(book.place(&first.cell.tab, first.cell.position));
        for link in round.iter().skip(1) {
            problem = problem.label(
                book.place(&link.cell.tab, link.cell.position),
                format!("read by `{}` for `{}`", sheet_of(requests, link.to), link.input),
            );
        }
        self.problems.push(problem.remedy(format!(
            "let `{}` read `{}` from a cell that no result is written to",
            sheet_of(requests, first.to),
            first.input
        )));
    }

    /// A value is read in the unit in which it is written.
    pub(super) fn units(&self, book: &Book, requests: &[Request], to: usize) -> Vec<Diagnostic> {
        let mut problems: Vec<Diagnostic> = Vec::new();
        let Some(request) = requests.get(to) else { return problems };
        for link in self.links.iter().filter(|link| link.to == to) {
            let Some(written) = &link.unit else { continue };
            let input = request.program.input_named(&link.input);
            let read = match input.and_then(|input| request.inputs.value(input)) {
                Some(InputValue::One(literal)) => literal.unit,
                Some(InputValue::Many(values)) => match values.first() {
                    Some(literal) => literal.unit.clone(),
                    None => continue,
                },
                _ => continue,
            };
            if read.factor == written.factor && read.zero == written.zero {
                continue;
            }
            problems.push(
                Diagnostic::error(
                    Name::UnitMismatch,
                    format!(
                        "`{}` reads this cell in {}, and the result of `{}` is written to it in {}",
                        link.input,
                        read.symbol,
                        sheet_of(requests, link.from),
                        written.symbol
                    ),
                )
                .at(book.place(&link.cell.tab, link.cell.position))
                .remedy(format!("read it in {}, or write it in {}", written.symbol, read.symbol)),
            );
        }
        problems.dedup();
        problems
    }
}

fn sheet_of(requests: &[Request], at: usize) -> &str {
    requests.get(at).map_or("", |request| request.sheet.as_str())
}

fn twice(book: &Book, requests: &[Request], one: &Writer<'_>, other: &Writer<'_>) -> Diagnostic {
    let cell = other.cell.position.name();
    let of = |writer: &Writer<'_>| {
        format!("`{}` of `{}`", writer.name, sheet_of(requests, writer.request))
    };
    Diagnostic::error(
        Name::AskedTwice,
        format!("two results go to one cell: {} and {}", of(one), of(other)),
    )
    .at(book.place(&other.cell.tab, other.cell.position))
    .remedy(format!("let only one result point to {cell}"))
}

fn overwritten(
    book: &Book,
    requests: &[Request],
    writer: &Writer<'_>,
    part: Part,
    name: &str,
) -> Diagnostic {
    let what = match part {
        Part::Value => format!("the value of `{name}`"),
        Part::Unit => format!("the unit of `{name}`"),
        Part::Tolerance => format!("the tolerance of `{name}`"),
        Part::Label => format!("the text `{name}`, which says what is asked for"),
    };
    let result = format!("`{}` of `{}`", writer.name, sheet_of(requests, writer.request));
    Diagnostic::error(
        Name::WrittenAndRead,
        format!("{result} would overwrite {what}, which is read from this cell"),
    )
    .at(book.place(&writer.cell.tab, writer.cell.position))
    .remedy(format!("let the result `{}` point to a cell of its own", writer.name))
}
