//! Replaces cell elements in the text of a tab's part; every byte between them stays.

use std::collections::BTreeMap;
use std::ops::Range;

use super::{Accepted, NewValue};
use crate::spreadsheet::model::position::{Area, Position};
use crate::spreadsheet::read::cell_span::CellSpan;
use crate::spreadsheet::read::sheet::{Row, Sheet};
use crate::spreadsheet::read::xml::{attribute_span, escape, remove_attribute};

/// The text with the edits carried out and the saved results of `dependents` taken out.
///
/// `edits` hold each place once; their order has no meaning.
pub(super) fn splice(
    text: &str,
    sheet: &Sheet,
    edits: &[&Accepted<'_>],
    dependents: &[Position],
) -> String {
    let mut cuts = Cuts { text, sheet, cuts: Vec::with_capacity(edits.len() + dependents.len()) };
    cuts.dimension(edits);
    let mut rows: BTreeMap<u32, Vec<&Accepted<'_>>> = BTreeMap::new();
    for edit in edits {
        rows.entry(edit.edit.position.row).or_default().push(edit);
    }
    // new cells side by side are inserted in this order, and a row keeps its cells from left to right
    rows.values_mut().for_each(|edits| edits.sort_by_key(|one| one.edit.position));
    let mut fresh = String::new();
    for (row, edits) in &rows {
        match sheet.row_of(*row).map(|at| sheet.rows.get(at)) {
            Ok(Some(known)) => cuts.known_row(known, edits),
            Ok(None) => {}
            Err(at) => match cuts.new_row(*row, edits) {
                made if cuts.no_rows() => fresh.push_str(&made),
                made => {
                    let next = sheet.rows.get(at).map_or(sheet.data_end, |next| next.tag.start);
                    cuts.insert(next, made);
                }
            },
        }
    }
    cuts.first_rows(&fresh);
    for position in dependents {
        cuts.forget_result(*position);
    }
    cuts.carried_out()
}

/// The beginning of a part with the used area that it tells widened to reach over an area.
pub(super) fn widened(text: &str, sheet: &Sheet, reach: Area) -> String {
    let mut cuts = Cuts { text, sheet, cuts: Vec::new() };
    cuts.widen(|declared| declared.with(reach));
    cuts.carried_out()
}

struct Cuts<'a> {
    text: &'a str,
    sheet: &'a Sheet,
    cuts: Vec<(Range<usize>, String)>,
}

impl<'a> Cuts<'a> {
    fn slice(&self, range: Range<usize>) -> &'a str {
        self.text.get(range).unwrap_or_default()
    }

    fn insert(&mut self, at: usize, made: String) {
        match self.cuts.last_mut() {
            _ if made.is_empty() => {}
            // new cells side by side are one insertion: a tenth of the memory for ten new columns
            Some((range, before)) if *range == (at..at) => before.push_str(&made),
            _ => self.cuts.push((at..at, made)),
        }
    }

    fn carried_out(mut self) -> String {
        self.cuts.sort_by_key(|(range, _)| (range.start, range.end));
        let grown: usize = self.cuts.iter().map(|(_, made)| made.len()).sum();
        let mut out = String::with_capacity(self.text.len() + grown);
        let mut from = 0;
        for (range, made) in &self.cuts {
            out.push_str(self.slice(from..range.start));
            out.push_str(made);
            from = range.end;
        }
        out.push_str(self.slice(from..self.text.len()));
        out
    }

    /// Whether the container of cells is a single empty element.
    fn no_rows(&self) -> bool {
        self.slice(self.sheet.data.clone()).ends_with("/>")
    }

    fn first_rows(&mut self, fresh: &str) {
        if !fresh.is_empty() {
            let tag = opened(self.slice(self.sheet.data.clone()));
            let made = format!("{tag}{fresh}</{}sheetData>", self.sheet.prefix);
            self.cuts.push((self.sheet.data.clone(), made));
        }
    }

    /// Widens the used area that the tab tells, if a new value lies outside.
    fn dimension(&mut self, edits: &[&Accepted<'_>]) {
        let filled = edits.iter().filter(|one| one.edit.value != NewValue::Empty);
        let cells = filled.map(|one| Area::between(one.edit.position, one.edit.position));
        if let Some(reach) = cells.reduce(Area::with) {
            self.widen(|declared| declared.with(reach));
        }
    }

    fn widen(&mut self, wider: impl Fn(Area) -> Area) {
        let Some((span, declared)) = &self.sheet.dimension else { return };
        let wider = wider(*declared);
        if wider != *declared
            && let Some(found) = attribute_span(self.slice(span.clone()), "ref")
        {
            let range = span.start + found.value.start..span.start + found.value.end;
            self.cuts.push((range, wider.name()));
        }
    }

    fn new_row(&self, row: u32, edits: &[&Accepted<'_>]) -> String {
        let cells: String = edits.iter().map(|one| self.new_cell(one)).collect();
        if cells.is_empty() {
            return cells;
        }
        let prefix = &self.sheet.prefix;
        format!("<{prefix}row r=\"{}\">{cells}</{prefix}row>", row + 1)
    }

    fn known_row(&mut self, row: &Row, edits: &[&Accepted<'_>]) {
        let sheet = self.sheet;
        let cells = sheet.cells.get(row.cells.clone()).unwrap_or_default();
        let mut fresh = String::new();
        for one in edits {
            let column = one.edit.position.column;
            match cells.binary_search_by_key(&column, |cell| cell.position.column) {
                Ok(at) => {
                    if let Some(cell) = cells.get(at) {
                        let made = match one.edit.of_formula {
                            true => self.with_result(cell, &one.edit.value),
                            false => self.changed_cell(cell, &one.edit.value),
                        };
                        self.cuts.push((cell.start as usize..cell.end as usize, made));
                    }
                }
                Err(_) if row.empty => fresh.push_str(&self.new_cell(one)),
                Err(at) => {
                    let next = cells.get(at).map_or(row.close, |next| next.start as usize);
                    self.insert(next, self.new_cell(one));
                }
            }
        }
        self.row_tag(row, edits, &fresh);
    }

    /// Opens an empty row for its first cells, and drops its reach if a new cell lies beyond it.
    fn row_tag(&mut self, row: &Row, edits: &[&Accepted<'_>], fresh: &str) {
        let tag = self.slice(row.tag.clone());
        let mut made = tag.to_owned();
        if let Some(spans) = attribute_span(tag, "spans") {
            let declared = tag.get(spans.value).unwrap_or_default();
            let filled = edits.iter().filter(|one| one.edit.value != NewValue::Empty);
            if filled.into_iter().any(|one| !reaches(declared, one.edit.position.column)) {
                remove_attribute(&mut made, "spans");
            }
        }
        if row.empty && !fresh.is_empty() {
            made = format!("{}{fresh}</{}row>", opened(&made), self.sheet.prefix);
        }
        if made != tag {
            self.cuts.push((row.tag.clone(), made));
        }
    }

    fn new_cell(&self, one: &Accepted<'_>) -> String {
        let mut made = String::with_capacity(64);
        if fills(&one.edit.value) {
            let prefix = &self.sheet.prefix;
            for part in ["<", prefix, "c r=\"", &one.edit.position.name(), "\""] {
                made.push_str(part);
            }
            if let Some(style) = one.style.filter(|style| *style != 0) {
                for part in [" s=\"", &style.to_string(), "\""] {
                    made.push_str(part);
                }
            }
            made.push_str(kind(&one.edit.value));
            made.push('>');
            content(&one.edit.value, prefix, &mut made);
            for part in ["</", prefix, "c>"] {
                made.push_str(part);
            }
        }
        made
    }

    /// A stored cell with a new value: its place and style stay.
    fn changed_cell(&self, cell: &CellSpan, value: &NewValue) -> String {
        let (start, tag_end) = (cell.start as usize, cell.tag_end as usize);
        let mut tag = self.slice(start..tag_end).to_owned();
        for gone in ["t", "cm", "vm"] {
            remove_attribute(&mut tag, gone);
        }
        let prefix = &self.sheet.prefix;
        let tag = opened(&tag);
        let tag = tag.strip_suffix('>').unwrap_or(&tag).trim_end();
        if !fills(value) {
            return format!("{tag}/>");
        }
        let mut made = format!("{tag}{}>", kind(value));
        content(value, prefix, &mut made);
        made.push_str(&format!("</{prefix}c>"));
        made
    }

    /// A stored cell whose formula stays and has a new saved result.
    fn with_result(&self, cell: &CellSpan, value: &NewValue) -> String {
        let prefix = &self.sheet.prefix;
        let mut tag = self.slice(cell.start as usize..cell.tag_end as usize).to_owned();
        remove_attribute(&mut tag, "t");
        let (kind, result) = match value {
            NewValue::Text(text) => (" t=\"str\"", escape(text)),
            NewValue::Number(number) => ("", digits(*number)),
            NewValue::Truth(truth) => (" t=\"b\"", u8::from(*truth).to_string()),
            NewValue::Empty => ("", String::new()),
        };
        let tag = tag.strip_suffix('>').unwrap_or(&tag).trim_end();
        let inner = cell.tag_end as usize..(cell.end as usize).saturating_sub(prefix.len() + 4);
        let (from, to) = (cell.value.0 as usize, cell.value.1 as usize);
        let formula = match cell.value {
            (0, 0) => self.slice(inner).to_owned(),
            _ => format!("{}{}", self.slice(inner.start..from), self.slice(to..inner.end)),
        };
        format!("{tag}{kind}>{formula}<{prefix}v>{result}</{prefix}v></{prefix}c>")
    }

    fn forget_result(&mut self, position: Position) {
        if let Some(cell) = self.sheet.cell(position)
            && cell.value != (0, 0)
        {
            let range = cell.value.0 as usize..cell.value.1 as usize;
            self.cuts.push((range, String::new()));
        }
    }
}

/// The start tag of an element that was empty.
fn opened(tag: &str) -> String {
    match tag.strip_suffix("/>") {
        Some(bare) => format!("{}>", bare.trim_end()),
        None => tag.to_owned(),
    }
}

/// Whether a cell with the value holds anything.
fn fills(value: &NewValue) -> bool {
    match value {
        NewValue::Empty => false,
        NewValue::Text(text) => !text.is_empty(),
        NewValue::Number(_) | NewValue::Truth(_) => true,
    }
}

/// The attribute that says of what kind a value is.
fn kind(value: &NewValue) -> &'static str {
    match value {
        NewValue::Number(_) | NewValue::Empty => "",
        NewValue::Truth(_) => " t=\"b\"",
        NewValue::Text(_) => " t=\"inlineStr\"",
    }
}

/// Appends what stands within the cell's element.
fn content(value: &NewValue, prefix: &str, made: &mut String) {
    let mut push = |parts: &[&str]| parts.iter().for_each(|part| made.push_str(part));
    let mut element = |inner: &str| push(&["<", prefix, "v>", inner, "</", prefix, "v>"]);
    match value {
        NewValue::Empty => {}
        NewValue::Number(number) => element(&digits(*number)),
        NewValue::Truth(truth) => element(if *truth { "1" } else { "0" }),
        NewValue::Text(text) => {
            let (text, p) = (escape(text), prefix);
            push(&["<", p, "is><", p, "t xml:space=\"preserve\">", &text]);
            push(&["</", p, "t></", p, "is>"]);
        }
    }
}

/// The fewest digits that read back as the same double; never a minus before zero.
pub(super) fn digits(number: f64) -> String {
    let size = number.abs();
    if size == 0.0 {
        "0".to_owned()
    } else if (1e-5..1e16).contains(&size) {
        number.to_string()
    } else {
        format!("{number:E}")
    }
}

/// Whether `spans` such as `1:3 6:6` reach over the column.
fn reaches(spans: &str, column: u32) -> bool {
    spans.split_ascii_whitespace().any(|span| {
        let ends = span.split_once(':');
        let ends = ends.and_then(|(a, b)| Some((a.parse::<u32>().ok()?, b.parse::<u32>().ok()?)));
        ends.is_some_and(|(first, last)| (first..=last).contains(&(column + 1)))
    })
}
