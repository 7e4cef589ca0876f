//! What the boxes of a form held when its results were calculated. The form compares and says so, in whatever program
//! it is opened: a verdict must not stand beside values that it was not calculated for.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::spreadsheet::{
    Area, Book, Cell, Edit, Mention, NewValue, Position, Target, Value, mentions, shifted, worth,
};

/// The name, known on the tab of a form, of the cell that compares its boxes with the area that keeps what they held.
pub(super) const NAME: &str = "calculated_for";

/// The word that a form shows in place of a result that is not of its boxes any more.
pub(super) const TAKEN_BACK: &str = "changed";

/// The workbook without that rule of its forms: who reads the word takes no figure from the cell, and the rule says
/// nothing of how the figure itself is shown.
pub(super) fn without_rules(book: &Book) -> Cow<'_, Book> {
    let mut book = Cow::Borrowed(book);
    if book.tabs.iter().any(|tab| tab.has_rule_showing(TAKEN_BACK)) {
        book.to_mut().tabs.iter_mut().for_each(|tab| tab.drop_rules_showing(TAKEN_BACK));
    }
    book
}

/// What is written besides the results into the forms among some tabs: what their boxes hold, and what the formulas
/// that depend on it will show, so that a preview that calculates nothing shows the verdict.
pub(super) fn edits(book: &Book, results: &[Edit]) -> Vec<Edit> {
    let tabs: BTreeSet<String> = results.iter().map(|edit| edit.tab.to_lowercase()).collect();
    let mut kept = Vec::new();
    let mut after = None;
    for tab in tabs {
        let Some((compares, boxes, copies)) = areas(book, &tab) else { continue };
        let Some(known) = book.tab(&tab) else { continue };
        for row in 0..=boxes.last.row - boxes.first.row {
            for column in 0..=boxes.last.column - boxes.first.column {
                let at = |area: Area| Position {
                    row: area.first.row + row,
                    column: area.first.column + column,
                };
                let value = match known.cell(at(boxes)) {
                    Cell::Number(number) => NewValue::Number(*number),
                    Cell::Text(text) => NewValue::Text(text.clone()),
                    Cell::Truth(truth) => NewValue::Truth(*truth),
                    Cell::Date(_) | Cell::Error(_) | Cell::Empty => NewValue::Empty,
                };
                kept.push(Edit::new(known.name.clone(), at(copies), value));
            }
        }
        let after = after.get_or_insert_with(|| {
            let mut after = book.clone();
            for edit in results {
                after.put(&edit.tab, edit.position, edit.value.as_cell());
            }
            after
        });
        after.put(&tab, compares, Cell::Truth(false));
        kept.push(Edit::result(known.name.clone(), compares, NewValue::Truth(false)));
        let shown = known.entries().filter(|entry| entry.formula && entry.position != compares);
        for entry in shown {
            let value = match worth(after, &tab, entry.position).map(|it| it.value) {
                Some(Value::Number(number)) => NewValue::Number(number),
                Some(Value::Text(text)) => NewValue::Text(text),
                _ => continue,
            };
            if mentions_it(known.formulas.text(entry.position), compares) {
                kept.push(Edit::result(known.name.clone(), entry.position, value));
            }
        }
    }
    kept
}

/// The cell that compares, the boxes, and the cells that keep what they held: as many.
fn areas(book: &Book, tab: &str) -> Option<(Position, Area, Area)> {
    let same = |one: &str| one.to_lowercase() == tab;
    let name = book
        .names
        .iter()
        .find(|known| known.name == NAME && known.scope.as_deref().is_some_and(same))?;
    let Target::Cells { tab: of, area: compares } = &name.target else { return None };
    let compares = compares.first;
    let (text, moved) = book.tab(of).filter(|_| same(of))?.formulas.text(compares)?;
    let cells = mentions(text).into_iter().filter_map(|mention| match mention {
        Mention::Cells { tab: None, first, last } => Some(shifted(first, last, moved.0, moved.1)),
        _ => None,
    });
    let [boxes, copies] = cells.collect::<Vec<_>>().try_into().ok()?;
    (size(boxes) == size(copies)).then_some((compares, boxes, copies))
}

fn size(area: Area) -> (u32, u32) {
    (area.last.row - area.first.row, area.last.column - area.first.column)
}

fn mentions_it(formula: Option<(&str, (i64, i64))>, cell: Position) -> bool {
    let Some((text, moved)) = formula else { return false };
    mentions(text).iter().any(|mention| match mention {
        Mention::Cells { tab: None, first, last } => {
            shifted(*first, *last, moved.0, moved.1).contains(cell)
        }
        _ => false,
    })
}
