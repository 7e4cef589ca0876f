//! OpenDocument spreadsheets, read sparsely: repeated empty cells cost nothing.

use std::sync::Arc;

use quick_xml::events::{BytesStart, Event};

use super::archive::{Archive, unreadable};
use super::book::{Book, Entry, Form, Tab, Visibility};
use super::cell::Cell;
use super::guard::Limits;
use super::layout::{DefinedName, target};
use super::position::{COLUMNS, Position, ROWS};
use super::styles::Styles;
use super::xml::{Walk, append, attribute};
use crate::diagnostic::Diagnostic;

/// The most cells that one repeated cell or row may stand for.
const REPEATED: u64 = 1_000_000;
/// The most filled cells of all tabs together.
const CELLS: u64 = 10_000_000;

/// Reads an `.ods` for reading only: values, text, truth, dates, and which cells hold formulas.
pub(super) fn read(name: &str, bytes: &[u8], limits: &Limits) -> Result<Book, Vec<Diagnostic>> {
    let mut archive = Archive::open(name, bytes, limits)?;
    let text = archive.need("content.xml")?.text;
    let mut content = Content::default();
    content.read(&text).map_err(|words| vec![unreadable(name, &words)])?;
    let names = content.names();
    Ok(Book {
        name: name.to_owned(),
        form: Form::Ods,
        tabs: content.tabs,
        names,
        signed: archive.any_under("meta-inf/documentsignatures"),
        macros: archive.any_under("basic/"),
        read_only_recommended: false,
        writable_in_place: false,
    })
}

#[derive(Default)]
struct Content {
    tabs: Vec<Tab>,
    /// Name, tab in which it holds, and address of each named range.
    ranges: Vec<(String, Option<String>, String)>,
    within_tab: bool,
    row: u32,
    rows: u32,
    column: u32,
    /// How many columns have been described.
    known_columns: u32,
    total: u64,
    /// The cells of the row being read, each with the number of times it repeats.
    cells: Vec<(u32, u32, Entry)>,
}

impl Content {
    /// OpenDocument 1.3, part 3, section 9 (tables) and 19.385 (value types).
    fn read(&mut self, text: &str) -> Result<(), String> {
        let mut walk = Walk::new(text);
        while let Some(step) = walk.next()? {
            match &step.event {
                Event::Start(element) | Event::Empty(element) => {
                    let open = matches!(step.event, Event::Start(_));
                    match element.local_name().as_ref() {
                        "table" => self.tab(element),
                        "named-range" => self.range(element),
                        "table-row" => self.begin_row(element)?,
                        "table-column" => self.columns(element)?,
                        "table-cell" | "covered-table-cell" => {
                            let shown = if open { paragraphs(&mut walk)? } else { None };
                            self.cell(element, shown)?;
                        }
                        _ => {}
                    }
                    if !open && element.local_name().as_ref() == "table-row" {
                        self.end_row()?;
                    }
                }
                Event::End(element) => match element.local_name().as_ref() {
                    "table-row" => self.end_row()?,
                    "table" => self.within_tab = false,
                    _ => {}
                },
                _ => {}
            }
        }
        Ok(())
    }

    fn tab(&mut self, element: &BytesStart<'_>) {
        let name = attribute(element, "name").unwrap_or_default();
        let mut tab = Tab::plain(name, Vec::new());
        tab.protected = attribute(element, "protected").as_deref() == Some("true");
        tab.visibility = Visibility::Visible;
        tab.styles = Arc::new(Styles::plain_and_percentage());
        self.tabs.push(tab);
        (self.row, self.known_columns) = (0, 0);
        self.within_tab = true;
    }

    fn range(&mut self, element: &BytesStart<'_>) {
        let tab = self.tabs.last().filter(|_| self.within_tab);
        let name = attribute(element, "name").unwrap_or_default();
        let address = attribute(element, "cell-range-address").unwrap_or_default();
        self.ranges.push((name, tab.map(|tab| tab.name.clone()), address));
    }

    fn names(&self) -> Vec<DefinedName> {
        let tabs: Vec<&str> = self.tabs.iter().map(|tab| tab.name.as_str()).collect();
        let names = self.ranges.iter().map(|(name, scope, address)| DefinedName {
            name: name.clone(),
            scope: scope.clone(),
            hidden: false,
            built_in: name.starts_with("_xlnm."),
            target: target(&with_exclamation_mark(address), &tabs),
            text: address.clone(),
        });
        names.collect()
    }

    fn columns(&mut self, element: &BytesStart<'_>) -> Result<(), String> {
        let first = self.known_columns;
        let count = repeated(element, "number-columns-repeated")?;
        self.known_columns = first.saturating_add(count);
        if let (true, Some(tab)) = (is_hidden(element), self.tabs.last_mut()) {
            tab.hidden.columns.push(first..self.known_columns);
        }
        Ok(())
    }

    fn begin_row(&mut self, element: &BytesStart<'_>) -> Result<(), String> {
        self.rows = repeated(element, "number-rows-repeated")?;
        self.column = 0;
        self.cells.clear();
        if let (true, Some(tab)) = (is_hidden(element), self.tabs.last_mut()) {
            tab.hidden.rows(self.row..self.row.saturating_add(self.rows));
        }
        Ok(())
    }

    fn cell(&mut self, element: &BytesStart<'_>, shown: Option<String>) -> Result<(), String> {
        let times = repeated(element, "number-columns-repeated")?;
        let cell = value(element, shown)?;
        let formula = attribute(element, "formula").is_some();
        if !cell.is_empty() || formula {
            let position = Position::new(self.row, self.column);
            let position = position.ok_or("a cell lies outside a worksheet")?;
            let style = u32::from(kinds(element).iter().any(|kind| kind == "percentage"));
            let entry = Entry { formula, style, ..Entry::plain(position, cell) };
            self.cells.push((self.column, times, entry));
        }
        self.column = self.column.saturating_add(times);
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), String> {
        let count: u64 = self.cells.iter().map(|(_, times, _)| u64::from(*times)).sum();
        if count * u64::from(self.rows) > REPEATED {
            return Err(format!("a row repeats filled cells more than {REPEATED} times"));
        }
        self.total += count * u64::from(self.rows);
        if self.total > CELLS {
            return Err(format!("it holds more than {CELLS} cells"));
        }
        let tab = self.tabs.last_mut().ok_or("a row stands outside a table")?;
        if count > 0 {
            for row in self.row..self.row.saturating_add(self.rows) {
                for (column, times, entry) in &self.cells {
                    for column in *column..column.saturating_add(*times) {
                        let position = Position::new(row, column);
                        let position = position.ok_or("a cell lies outside a worksheet")?;
                        tab.entries.push(Entry { position, ..entry.clone() });
                    }
                }
            }
        }
        self.row = self.row.saturating_add(self.rows);
        self.cells.clear();
        Ok(())
    }
}

/// `$'My tab'.$A$1:.$B$2` as the other family of workbooks spells it, `'My tab'!$A$1:$B$2`.
fn with_exclamation_mark(address: &str) -> String {
    let bare = address.strip_prefix('$').unwrap_or(address).replace(":.", ":");
    match bare.rsplit_once('.') {
        Some((tab, cells)) => format!("{tab}!{cells}"),
        None => bare,
    }
}

/// OpenDocument 1.3, part 3, 19.749 (from memory): `collapse` by hand, `filter` by a filter.
fn is_hidden(element: &BytesStart<'_>) -> bool {
    matches!(attribute(element, "visibility").as_deref(), Some("collapse" | "filter"))
}

fn repeated(element: &BytesStart<'_>, name: &str) -> Result<u32, String> {
    let times = attribute(element, name).map_or(Ok(1), |times| times.parse::<u32>());
    times
        .ok()
        .filter(|times| (1..=ROWS.max(COLUMNS)).contains(times))
        .ok_or_else(|| "a cell or row repeats beyond the bounds of a worksheet".to_owned())
}

/// The paragraphs that a cell shows, one a line; none if it has no paragraph.
fn paragraphs(walk: &mut Walk<'_>) -> Result<Option<String>, String> {
    let mut shown: Option<String> = None;
    let mut depth = 0_u32;
    let mut aside = None;
    while let Some(step) = walk.next()? {
        match &step.event {
            Event::Start(element) => {
                depth += 1;
                match element.local_name().as_ref() {
                    "annotation" => aside = aside.or(Some(depth)),
                    "p" if aside.is_none() => match &mut shown {
                        Some(text) => text.push('\n'),
                        None => shown = Some(String::new()),
                    },
                    _ => {}
                }
            }
            Event::Empty(element) if aside.is_none() => {
                let space = match element.local_name().as_ref() {
                    "s" => {
                        let times = attribute(element, "c").and_then(|c| c.parse().ok());
                        " ".repeat(times.unwrap_or(1_usize).min(32_767))
                    }
                    "tab" => "\t".to_owned(),
                    "line-break" => "\n".to_owned(),
                    _ => String::new(),
                };
                if let Some(text) = &mut shown {
                    text.push_str(&space);
                }
            }
            Event::End(_) => {
                if depth == 0 {
                    break;
                }
                if aside == Some(depth) {
                    aside = None;
                }
                depth -= 1;
            }
            other if aside.is_none() && depth > 0 => {
                if let Some(text) = &mut shown {
                    append(other, text)?;
                }
            }
            _ => {}
        }
    }
    Ok(shown)
}

/// How a cell says its value is to be read.
fn kinds(element: &BytesStart<'_>) -> Vec<String> {
    let mut attributes = element.attributes();
    let parts = attributes.with_checks(false).flatten();
    let kinds = parts.filter(|part| part.key.local_name().as_ref() == "value-type");
    kinds.map(|part| part.value.into_owned()).collect()
}

fn value(element: &BytesStart<'_>, shown: Option<String>) -> Result<Cell, String> {
    // two vocabularies may each name a kind; only one of them knows errors
    let kinds = kinds(element);
    if kinds.iter().any(|kind| kind == "error") {
        return Ok(Cell::Error(shown.unwrap_or_default()));
    }
    Ok(match kinds.first().map(String::as_str) {
        Some("float" | "percentage" | "currency") => {
            let number = attribute(element, "value").and_then(|text| text.parse().ok());
            let number = number.filter(|number: &f64| number.is_finite());
            let number = number.ok_or("a cell says it holds a number and holds none")?;
            match shown.as_deref() {
                // a truth worked out by a formula is stored as a number that is shown as one
                Some("TRUE") => Cell::Truth(true),
                Some("FALSE") => Cell::Truth(false),
                _ => Cell::Number(number),
            }
        }
        Some("boolean") => {
            Cell::Truth(attribute(element, "boolean-value").as_deref() == Some("true"))
        }
        Some("date") => Cell::Date(attribute(element, "date-value").unwrap_or_default()),
        Some("time") => Cell::Date(attribute(element, "time-value").unwrap_or_default()),
        Some("string") => {
            Cell::Text(attribute(element, "string-value").or(shown).unwrap_or_default())
        }
        _ => Cell::Empty,
    })
}
