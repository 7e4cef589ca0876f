//! What the boxes of a form held when its results were calculated. The form compares and says so, in whatever program
//! it is opened: a verdict must not stand beside values that it was not calculated for.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::spreadsheet::rests::sources;
use crate::spreadsheet::{
    Area, Book, Cell, DefinedName, Edit, Mention, NewValue, Position, Target, Value, mentions,
    shifted, worth,
};

/// The name, known on the tab of a form, of the cell that compares its boxes with the area that keeps what they held;
/// on the tab of the sheets that it uses it names the same cell.
pub(super) const NAME: &str = "calculated_for";

/// The word that a form shows in place of a result that is not of its boxes any more.
pub(super) const TAKEN_BACK: &str = "changed";

/// The workbook as its owner filled it in, without what a form says beside that of its own accord: the rule that shows
/// that word, since who reads it takes no figure from the cell, and the rule says nothing of how the figure itself is
/// shown; what the boxes held; the names of what a used sheet is handed and gives, which repeat values and ask for none.
pub(super) fn without_own(book: &Book) -> Cow<'_, Book> {
    let mut seen = Cow::Borrowed(book);
    if book.tabs.iter().any(|tab| tab.has_rule_showing(TAKEN_BACK)) {
        seen.to_mut().tabs.iter_mut().for_each(|tab| tab.drop_rules_showing(TAKEN_BACK));
    }
    let named = book.names.iter().filter(|it| it.name == NAME);
    for tab in named.filter_map(|it| book.tab(it.scope.as_deref()?)) {
        let of_form = Compared::on(book, &tab.name);
        let own = |at: Position| match &of_form {
            Some(form) => {
                form.copies.contains(at) || form.others.iter().any(|(flag, ..)| *flag == at)
            }
            None => at.column == 0,
        };
        for entry in tab.entries().filter(|it| own(it.position)) {
            seen.to_mut().put(&tab.name, entry.position, Cell::Empty);
        }
    }
    seen
}

/// What is written besides the results into the forms among some tabs: what their boxes hold, and what the formulas
/// that depend on it will show, so that a preview that calculates nothing shows the verdict.
pub(super) fn edits(book: &Book, results: &[Edit]) -> Vec<Edit> {
    let tabs: BTreeSet<String> = results.iter().map(|edit| edit.tab.to_lowercase()).collect();
    let mut kept = Vec::new();
    let mut after = None;
    for tab in tabs.iter() {
        let (Some(form), Some(known)) = (Compared::on(book, tab), book.tab(tab)) else { continue };
        let mut keep = |at, value| kept.push(Edit::new(known.name.clone(), at, value));
        let (boxes, copies) = (form.boxes, form.copies);
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
                keep(at(copies), value);
            }
        }
        let taken = taken_from(book, tab, &form);
        let mut changed = false;
        for (flag, other, compares) in &form.others {
            let is_taken = taken.contains(other);
            keep(*flag, NewValue::Number(f64::from(u8::from(is_taken))));
            // what this run leaves out stays as it is
            let left = is_taken && !tabs.contains(other);
            changed |= left
                && matches!(book.tab(other).map(|it| it.cell(*compares)), Some(Cell::Truth(true)));
        }
        let after = after.get_or_insert_with(|| {
            let mut after = book.clone();
            for edit in results {
                after.put(&edit.tab, edit.position, edit.value.as_cell());
            }
            after
        });
        for (cell, truth) in [(form.here, false), (form.changed, changed)] {
            after.put(tab, cell, Cell::Truth(truth));
            kept.push(Edit::result(known.name.clone(), cell, NewValue::Truth(truth)));
        }
        let own = [form.here, form.changed];
        let shown = known.entries().filter(|it| it.formula && !own.contains(&it.position));
        for entry in shown {
            let value = match worth(after, tab, entry.position).map(|it| it.value) {
                Some(Value::Number(number)) => NewValue::Number(number),
                Some(Value::Text(text)) => NewValue::Text(text),
                _ => continue,
            };
            if mentions_it(known.formulas.text(entry.position), form.changed) {
                kept.push(Edit::result(known.name.clone(), entry.position, value));
            }
        }
    }
    kept
}

/// The tabs of the forms whose results the boxes of a form take, directly or through other forms, in lower case.
fn taken_from(book: &Book, tab: &str, form: &Compared) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    if form.others.is_empty() {
        return found;
    }
    let mut open = vec![tab.to_owned()];
    while let Some((tab, form)) =
        open.pop().and_then(|it| Some((it.clone(), Compared::on(book, &it)?)))
    {
        let Some(known) = book.tab(&tab) else { continue };
        let linked = known.entries().filter(|it| it.formula && form.boxes.contains(it.position));
        for (of, at) in linked.flat_map(|it| sources(book, &tab, it.position)) {
            let Some(of) = form_of(book, &of) else { continue };
            // what stands in a box is compared here as well
            let is_box = Compared::on(book, &of).is_some_and(|it| it.boxes.contains(at));
            if !is_box && of != tab && found.insert(of.clone()) {
                open.push(of);
            }
        }
    }
    found
}

/// The tab of the form to which a tab belongs: itself, or the one whose used sheets stand on it.
fn form_of(book: &Book, tab: &str) -> Option<String> {
    let name = name_on(book, tab)?;
    let Target::Cells { tab, .. } = &name.target else { return None };
    Some(tab.to_lowercase())
}

fn name_on<'b>(book: &'b Book, tab: &str) -> Option<&'b DefinedName> {
    let same = |one: &str| one.to_lowercase() == tab.to_lowercase();
    book.names.iter().find(|known| known.name == NAME && known.scope.as_deref().is_some_and(same))
}

/// The cells with which a form compares.
struct Compared {
    /// The one that says whether its results are of other values.
    changed: Position,
    /// The one that compares its own boxes.
    here: Position,
    boxes: Area,
    /// The cells that keep what the boxes held: as many.
    copies: Area,
    /// Of each other form: the cell beside it that says whether its results are taken here, its tab in lower case, and the
    /// cell there that compares its boxes.
    others: Vec<(Position, String, Position)>,
}

impl Compared {
    fn on(book: &Book, tab: &str) -> Option<Self> {
        let Target::Cells { tab: of, area } = &name_on(book, tab)?.target else { return None };
        let known = book.tab(of).filter(|it| it.name.to_lowercase() == tab.to_lowercase())?;
        let changed = area.first;
        let cells = |at: Position| {
            let (text, moved) = known.formulas.text(at)?;
            let cells = mentions(text).into_iter().filter_map(move |mention| match mention {
                Mention::Cells { tab, first, last } => {
                    Some((tab, shifted(first, last, moved.0, moved.1)))
                }
                _ => None,
            });
            Some(cells.collect::<Vec<_>>())
        };
        let all = cells(changed)?;
        let [(None, here), others @ ..] = all.as_slice() else { return None };
        let here = here.first;
        let pairs = others.chunks(2).filter_map(|pair| match pair {
            [(None, flag), (Some(tab), compares)] => {
                Some((flag.first, tab.to_lowercase(), compares.first))
            }
            _ => None,
        });
        let others = pairs.collect();
        match cells(here)?.as_slice() {
            [(None, boxes), (None, copies)] if size(*boxes) == size(*copies) => {
                Some(Self { changed, here, boxes: *boxes, copies: *copies, others })
            }
            _ => None,
        }
    }
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
