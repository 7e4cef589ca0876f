//! Totals among the numbers that a sum adds: those over which they are totals count twice.

use super::typed::is_total_word;
use super::value::{At, Look, Node, Reader};
use crate::spreadsheet::model::book::{Entry, Tab};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::position::{Area, Position};

/// A total among the numbers of a sum.
pub(super) struct Total<'a> {
    pub(super) tab: &'a Tab,
    pub(super) cell: Position,
    /// Whether it is typed, and no formula.
    pub(super) typed: bool,
}

/// Numbers that are looked at for one sum.
const MOST: usize = 500;

/// Of fewer numbers one is the sum of the others by chance.
const FEW: usize = 3;

/// Columns before a number in which its label stands.
const LABEL: u32 = 3;

/// The totals among what a sum adds: formulas over cells that it adds as well, typed numbers that are called so, and the
/// last typed number where it is the sum of all others.
pub(super) fn totals<'a>(
    look: &mut Look<'a>,
    added: &[(&'a Tab, Area)],
    at: At<'a>,
) -> Vec<Total<'a>> {
    let mut found = Vec::new();
    let mut numbers: Vec<(&'a Tab, &'a Entry, f64)> = Vec::new();
    for (tab, area) in added {
        let last = area.last.row.min(tab.used().map_or(0, |used| used.last.row));
        for row in area.first.row..=last {
            for entry in tab.row(row).iter().filter(|it| area.contains(it.position)) {
                if entry.formula && is_over(look, tab, entry, (added, at)) {
                    found.push(Total { tab, cell: entry.position, typed: false });
                } else if let Cell::Number(number) = entry.cell {
                    numbers.push((tab, entry, number));
                }
            }
            if numbers.len() > MOST {
                return found;
            }
        }
    }
    let typed = |(tab, entry): (&'a Tab, &'a Entry)| {
        (!entry.formula).then_some(Total { tab, cell: entry.position, typed: true })
    };
    let called = numbers.iter().filter(|it| is_called_total(it.0, it.1.position, added));
    let called: Vec<_> = called.filter_map(|it| typed((it.0, it.1))).collect();
    if let ([others @ .., (tab, entry, last)], true) = (numbers.as_slice(), called.is_empty()) {
        let sum: f64 = others.iter().map(|it| it.2).sum();
        let is_sum = others.len() >= FEW && sum != 0.0 && (sum - last).abs() <= 1e-9 * sum.abs();
        found.extend(typed((tab, entry)).filter(|_| is_sum));
    }
    // where all are called so, none is the total of the others
    if called.len() < numbers.len() {
        found.extend(called);
    }
    found
}

/// Whether a formula is a sum or a mean over cells of which some are added as well.
fn is_over<'a>(
    look: &mut Look<'a>,
    tab: &'a Tab,
    entry: &Entry,
    (added, at): (&[(&'a Tab, Area)], At<'a>),
) -> bool {
    let Some((text, moved)) = tab.formulas.text(entry.position) else { return false };
    let Some(Node::Call(name, arguments)) = Reader::new(text).whole() else { return false };
    let there = At { tab, cell: entry.position, moved, depth: at.depth };
    let sums = matches!(name.as_str(), "SUM" | "AVERAGE" | "SUBTOTAL");
    sums && arguments.iter().any(|node| {
        look.area(node, there).is_some_and(|(of, over)| {
            let within = |(tab, area): &(&Tab, Area)| {
                std::ptr::eq(*tab, of) && (area.contains(over.first) || area.contains(over.last))
            };
            !over.is_single() && added.iter().any(within)
        })
    })
}

/// Whether the text before a number calls it a total.
fn is_called_total(tab: &Tab, cell: Position, added: &[(&Tab, Area)]) -> bool {
    let inside =
        |at: Position| added.iter().any(|(of, area)| std::ptr::eq(*of, tab) && area.contains(at));
    let before = (1..=LABEL)
        .map_while(|left| Some(Position { row: cell.row, column: cell.column.checked_sub(left)? }));
    let mut texts = before.filter(|at| !inside(*at)).filter_map(|at| match tab.cell(at) {
        Cell::Text(text) => Some(text),
        _ => None,
    });
    texts.any(|text| {
        let lower = text.to_lowercase();
        let mut words = lower.split(|it: char| it.is_whitespace() || ".:=()[],;".contains(it));
        let whole = lower.trim().trim_end_matches([':', '=']).trim_end();
        is_total_word(whole) || words.find(|word| !word.is_empty()).is_some_and(is_total_word)
    })
}
