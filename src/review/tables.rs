//! Tables of a sheet with the row that was used marked.

use super::client_data::Formats;
use super::markup::escaped;
use crate::calculation::{Results, digits};
use crate::language::Body;
use crate::number::{Exact, Slot};
use crate::program::{Between, LineId, LineSource, Op, Register, Scope, Table};
use crate::unit::Literal;

/// The tables that the lines of a sheet read.
pub(super) fn of(results: &Results, _formats: &Formats, scope: &Scope, at: usize) -> String {
    let program = results.program();
    let mut to = String::new();
    for (number, table) in program.tables.iter().enumerate() {
        let reads: Vec<(Register, LineId)> = program
            .steps
            .iter()
            .filter_map(|step| match &step.op {
                Op::Read(id, x) if usize::try_from(id.0) == Ok(number) => Some((*x, step.line)),
                _ => None,
            })
            .collect();
        let stands_here = match &table.place {
            Some(crate::diagnostic::Place::Text { source, .. }) if *source == scope.source => {
                program.scopes.iter().position(|other| other.source == scope.source) == Some(at)
                    || reads.iter().any(|(_, line)| scope_of(results, *line) == Some(at))
            }
            _ => reads.iter().any(|(_, line)| scope_of(results, *line) == Some(at)),
        };
        if stands_here {
            to.push_str(&written(results, scope, number, table, &reads));
        }
    }
    to
}

fn scope_of(results: &Results, line: LineId) -> Option<usize> {
    let line = results.program().line(line)?;
    usize::try_from(line.scope).ok()
}

fn written(
    results: &Results,
    scope: &Scope,
    number: usize,
    table: &Table,
    reads: &[(Register, LineId)],
) -> String {
    let used: Vec<usize> = reads
        .iter()
        .filter_map(|(x, _)| match results.run().register(*x) {
            Ok(Slot::One(x)) => row_of(table, x),
            _ => None,
        })
        .flat_map(|row| {
            if table.between == Between::Straight {
                vec![row.saturating_sub(1), row]
            } else {
                vec![row]
            }
        })
        .collect();
    let way = match table.between {
        Between::Straight => "a straight line joins neighbouring rows",
        Between::StepFrom => "a row holds from its own argument up to the next one's",
        Between::StepUpTo => {
            "a row holds for arguments above the one before, up to and including its own"
        }
    };
    let note = results.program().lines.iter().find_map(|line| match &line.says {
        LineSource::Works(definition)
            if matches!(definition.body, Body::Table(_)) && definition.name.value == table.name =>
        {
            Some(definition.note.clone())
        }
        _ => None,
    });
    let rows: String = table
        .rows
        .iter()
        .enumerate()
        .map(|(at, (x, y))| {
            let (class, mark) = if used.contains(&at) { (" class=\"us\"", "◂ used") } else { ("", "") };
            format!("<tr{class}><td class=\"q\">{}</td><td class=\"q\">{}</td><td class=\"mk\">{mark}</td></tr>", plain(x), plain(y))
        })
        .collect();
    let head = |unit: &str| if unit.is_empty() { "1".to_owned() } else { escaped(unit) };
    let registers: Vec<String> = reads.iter().map(|(x, _)| x.0.to_string()).collect();
    let _ = scope;
    format!(
        "<table class=\"tb\" data-t=\"{number}\" data-x=\"{}\"><caption>Table {}: {way}. {}</caption><thead><tr><th scope=\"col\" class=\"q\">argument / ({})</th><th scope=\"col\" class=\"q\">value / ({})</th><td></td></tr></thead><tbody>{rows}</tbody></table>",
        registers.join(" "),
        escaped(&table.name),
        escaped(&note.unwrap_or_default()),
        head(&table.argument_unit.symbol),
        head(&table.value_unit.symbol)
    )
}

fn plain(literal: &Literal) -> String {
    escaped(&digits(literal.digits, literal.ten))
}

/// The row that holds for an argument; of a straight table the upper one of two.
pub(super) fn row_of(table: &Table, x: &Exact) -> Option<usize> {
    let orders: Vec<std::cmp::Ordering> = table
        .rows
        .iter()
        .map(|(argument, _)| Exact::from_literal(argument).map(|argument| x.stands_to(&argument)))
        .collect::<Result<_, _>>()
        .ok()?;
    match table.between {
        Between::StepFrom => orders.iter().rposition(|order| order.is_ge()),
        Between::StepUpTo | Between::Straight => orders.iter().position(|order| order.is_le()),
    }
}
