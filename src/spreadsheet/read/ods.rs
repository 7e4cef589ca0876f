//! OpenDocument spreadsheets, read sparsely: repeated empty cells cost nothing.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;
use std::ops::Range;
use std::sync::Arc;

use quick_xml::events::{BytesStart, Event};

use crate::diagnostic::Problems;
use crate::spreadsheet::formula::is_total;
use crate::spreadsheet::model::book::{Book, Entry, Form, Tab, Visibility};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::look::{Colour, Look};
use crate::spreadsheet::model::names::DefinedName;
use crate::spreadsheet::model::notes::Notes;
use crate::spreadsheet::model::position::{Area, COLUMNS, Position, ROWS};
use crate::spreadsheet::model::styles::{Format, Style, Styles};
use crate::spreadsheet::read::archive::{Archive, Zip, unreadable};
use crate::spreadsheet::read::guard::Limits;
use crate::spreadsheet::read::layout::target;
use crate::spreadsheet::read::ods_shown;
use crate::spreadsheet::read::xml::{Flow, append, attribute};

/// The most cells that one repeated cell or row may stand for.
const REPEATED: u64 = 1_000_000;
/// The most filled cells of all tabs together.
const CELLS: u64 = 10_000_000;

/// Reads an `.ods` for reading only: values, text, truth, dates, and which cells hold formulas.
pub(crate) fn read(name: &str, bytes: &[u8], limits: &Limits) -> Result<Book, Problems> {
    let archive = Archive::open(name, bytes, limits)?;
    let mut tabs: Vec<Vec<Entry>> = Vec::new();
    let mut book = each_row(&archive, &mut |tab, entries| {
        tabs.resize(tabs.len().max(tab.at + 1), Vec::new());
        if let Some(known) = tabs.get_mut(tab.at) {
            known.extend(entries);
        }
    })?;
    for (tab, entries) in book.tabs.iter_mut().zip(tabs) {
        tab.entries = entries;
    }
    Ok(book)
}

/// The tab of a row.
pub(crate) struct AtTab<'t> {
    /// Its number.
    pub(crate) at: usize,
    /// All tabs up to it, without their rows.
    pub(crate) known: &'t [Tab],
}

/// Hands each row that holds anything to `take`, with its tab; everything but the rows comes back.
pub(crate) fn each_row(
    archive: &Archive<'_>,
    take: &mut dyn FnMut(AtTab<'_>, Vec<Entry>),
) -> Result<Book, Problems> {
    let broken = |words: String| vec![unreadable(&archive.file, &words)];
    let mut zip = archive.zip.clone();
    let mut rows = Rows::of(archive, &mut zip)?;
    while let Some((at, entries)) = rows.next().map_err(broken)? {
        take(AtTab { at, known: &rows.content.tabs }, entries);
    }
    let names = rows.content.names();
    Ok(Book { names, ..Book::plain(&archive.file, Form::Ods, rows.content.tabs) })
}

/// The rows of an `.ods`, one after the other.
pub(crate) struct Rows<'z> {
    flow: Flow<Box<dyn Read + Send + 'z>>,
    content: Content,
    /// The rows that a repeated row still stands for.
    left: Range<u32>,
}

impl<'z> Rows<'z> {
    pub(crate) fn of(archive: &Archive<'_>, zip: &'z mut Zip<'_>) -> Result<Self, Problems> {
        let index = archive.held("content.xml")?;
        let entry = zip.by_index(index);
        let entry = entry.map_err(|error| vec![archive.broken(&error.to_string())])?;
        let source: Box<dyn Read + Send + 'z> = Box::new(entry);
        let (flow, content) = (Flow::of(source), Content::default());
        Ok(Self { flow, content, left: 0..0 })
    }

    /// The next row that holds anything, with the number of its tab.
    pub(crate) fn next(&mut self) -> Result<Option<(usize, Vec<Entry>)>, String> {
        if self.left.is_empty() {
            match self.content.read(&mut self.flow)? {
                Some(rows) => self.left = rows,
                None => return Ok(None),
            }
        }
        let Some(row) = self.left.next() else { return Ok(None) };
        let mut entries = Vec::with_capacity(self.content.cells.len());
        for (column, times, entry) in &self.content.cells {
            for column in *column..column.saturating_add(*times) {
                let position = Position::new(row, column);
                let position = position.ok_or("a cell lies outside a worksheet")?;
                entries.push(Entry { position, ..entry.clone() });
            }
        }
        Ok(Some((self.content.tabs.len().saturating_sub(1), entries)))
    }
}

/// Formats that are told apart in a tab; further ones count as the last.
const CODES: usize = 200;

fn styles(codes: &[(String, Look)]) -> Styles {
    let style = |(code, look): &(String, Look)| Style {
        format: Some(Format::of(0, code)),
        look: look.clone(),
        ..Style::default()
    };
    Styles::of(codes.iter().map(style).collect(), Vec::new())
}

#[derive(Default)]
struct Content {
    /// The number formats of the tab being read, by their number, and how what they show looks.
    codes: Vec<(String, Look)>,
    tabs: Vec<Tab>,
    /// Name, tab in which it holds, and address of each named range.
    ranges: Vec<(String, Option<String>, String)>,
    within_tab: bool,
    /// The style that is being described, how cells look with those that say it, and those that hide a tab.
    style: Option<String>,
    looks: BTreeMap<String, Look>,
    hiding: BTreeSet<String>,
    row: u32,
    rows: u32,
    column: u32,
    /// How many columns have been described.
    known_columns: u32,
    total: u64,
    /// What is noted at cells of the tab being read.
    notes: Vec<(Area, String)>,
    /// The cells of the row being read, each with the number of times it repeats.
    cells: Vec<(u32, u32, Entry)>,
}

impl Content {
    /// Reads up to the end of a row that holds anything: which rows it stands for.
    ///
    /// OpenDocument 1.3, part 3, section 9 (tables) and 19.385 (value types).
    fn read<R: Read>(&mut self, flow: &mut Flow<R>) -> Result<Option<Range<u32>>, String> {
        loop {
            let Some(event) = flow.next()? else { return Ok(None) };
            let open = matches!(event, Event::Start(_));
            match event {
                Event::Start(element) | Event::Empty(element) => {
                    match element.local_name().as_ref() {
                        "style" => self.style = attribute(&element, "name"),
                        // OpenDocument 1.3, part 3, 20.373 and 20.375 (from memory)
                        "text-properties" => {
                            let ink = attribute(&element, "color");
                            let ink = ink.as_deref().and_then(Colour::parse);
                            self.looks(Look { ink, struck: strikes(&element), ..Look::NONE });
                        }
                        "table-cell-properties" => {
                            let ground = attribute(&element, "background-color");
                            let ground = ground.as_deref().and_then(Colour::parse);
                            self.looks(Look { ground, ..Look::NONE });
                        }
                        // the attribute `table:display` (from memory)
                        "table-properties"
                            if attribute(&element, "display").as_deref() == Some("false") =>
                        {
                            self.hiding.extend(self.style.clone());
                        }
                        "table" => self.tab(&element),
                        "named-range" => self.range(&element),
                        "table-row" => {
                            self.begin_row(&element)?;
                            if !open {
                                self.end_row()?;
                            }
                        }
                        "table-column" => self.columns(&element)?,
                        "table-cell" | "covered-table-cell" => {
                            let element = element.into_owned();
                            self.merged(&element);
                            let (shown, note) = if open { paragraphs(flow)? } else { (None, None) };
                            self.note(&element, note)?;
                            self.cell(&element, shown)?;
                        }
                        _ => {}
                    }
                }
                Event::End(element) => match element.local_name().as_ref() {
                    "table-row" => {
                        let rows = self.end_row()?;
                        if !self.cells.is_empty() {
                            return Ok(Some(rows));
                        }
                    }
                    "style" => self.style = None,
                    "table" => {
                        self.within_tab = false;
                        if let Some(tab) = self.tabs.last_mut() {
                            tab.notes = Notes::of(std::mem::take(&mut self.notes));
                        }
                    }
                    _ => {}
                },
                _ => {}
            }
        }
    }

    fn tab(&mut self, element: &BytesStart<'_>) {
        let name = attribute(element, "name").unwrap_or_default();
        let mut tab = Tab::plain(name, Vec::new());
        tab.protected = attribute(element, "protected").as_deref() == Some("true");
        let hidden = attribute(element, "style-name").is_some_and(|it| self.hiding.contains(&it));
        tab.visibility = if hidden { Visibility::Hidden } else { Visibility::Visible };
        self.codes = ["General", "0%"].map(|code| (code.to_owned(), Look::NONE)).to_vec();
        tab.styles = Arc::new(styles(&self.codes));
        self.tabs.push(tab);
        (self.row, self.known_columns) = (0, 0);
        self.within_tab = true;
    }

    /// Takes in what the style that is being described says of the look of a cell.
    fn looks(&mut self, look: Look) {
        let Some(style) = self.style.clone().filter(|_| look != Look::NONE) else { return };
        let known = self.looks.remove(&style).unwrap_or(Look::NONE);
        self.looks.insert(style, known.under(&look));
    }

    /// The number of a style that shows numbers in the way of that code, and looks so.
    fn style(&mut self, code: Option<String>, percent: bool, look: Look) -> u32 {
        if code.is_none() && look == Look::NONE {
            return u32::from(percent);
        }
        let plain = if percent { "0%" } else { "General" };
        let code = (code.unwrap_or_else(|| plain.to_owned()), look);
        let at = self.codes.iter().position(|known| *known == code);
        let at = at.unwrap_or_else(|| {
            if self.codes.len() < CODES {
                self.codes.push(code);
                if let Some(tab) = self.tabs.last_mut() {
                    tab.styles = Arc::new(styles(&self.codes));
                }
            }
            self.codes.len() - 1
        });
        u32::try_from(at).unwrap_or(0)
    }

    /// Takes in what is noted at a cell, and at all for which it stands.
    fn note(&mut self, element: &BytesStart<'_>, note: Option<String>) -> Result<(), String> {
        let Some(note) = note else { return Ok(()) };
        let times = repeated(element, "number-columns-repeated")?;
        let last = (self.row.saturating_add(self.rows), self.column.saturating_add(times));
        let first = Position::new(self.row, self.column);
        let last = Position::new(last.0.saturating_sub(1), last.1.saturating_sub(1));
        let (first, last) = first.zip(last).ok_or("a cell lies outside a worksheet")?;
        self.notes.push((Area { first, last }, note));
        Ok(())
    }

    /// Takes in the merged area of which the cell is the first.
    fn merged(&mut self, element: &BytesStart<'_>) {
        let count = |name| attribute(element, name).and_then(|it| it.parse::<u32>().ok());
        let rows = count("number-rows-spanned").unwrap_or(1).max(1);
        let columns = count("number-columns-spanned").unwrap_or(1).max(1);
        let last = (self.row.saturating_add(rows - 1), self.column.saturating_add(columns - 1));
        let corners = Position::new(self.row, self.column).zip(Position::new(last.0, last.1));
        if let (Some((first, last)), true, Some(tab)) =
            (corners, rows > 1 || columns > 1, self.tabs.last_mut())
        {
            tab.merged.push(Area { first, last });
        }
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
        let percent = kinds(element).iter().any(|kind| kind == "percentage");
        let cell = value(element, shown.clone())?;
        let code = match (&cell, shown) {
            (Cell::Number(number), Some(text)) => ods_shown::code(*number, percent, &text),
            _ => None,
        };
        let text = attribute(element, "formula");
        let formula = text.is_some();
        if !cell.is_empty() || formula {
            let position = Position::new(self.row, self.column);
            let position = position.ok_or("a cell lies outside a worksheet")?;
            let look = attribute(element, "style-name").and_then(|it| self.looks.get(&it).cloned());
            let style = self.style(code, percent, look.unwrap_or(Look::NONE));
            let total = text.is_some_and(|text| {
                // `of:=SUM([.B5:.B8])`
                let text = text.split_once('=').map_or("", |(_, text)| text);
                let text =
                    text.replace("[.", "").replace(":.", ":").replace(']', "").replace(';', ",");
                is_total(&text, position.column)
            });
            let mut entry = Entry { formula, total, style, ..Entry::plain(position, cell) };
            if element.local_name().as_ref() == "covered-table-cell" {
                entry.cover();
            }
            self.cells.push((self.column, times, entry));
        }
        self.column = self.column.saturating_add(times);
        Ok(())
    }

    /// The rows that the row just read stands for.
    fn end_row(&mut self) -> Result<Range<u32>, String> {
        let count: u64 = self.cells.iter().map(|(_, times, _)| u64::from(*times)).sum();
        if count * u64::from(self.rows) > REPEATED {
            return Err(format!("a row repeats filled cells more than {REPEATED} times"));
        }
        self.total += count * u64::from(self.rows);
        if self.total > CELLS {
            return Err(format!("it holds more than {CELLS} cells"));
        }
        if self.tabs.is_empty() {
            return Err("a row stands outside a table".to_owned());
        }
        let first = self.row;
        self.row = first.saturating_add(self.rows);
        Ok(first..self.row)
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

/// Whether the style of a text draws a line through it.
fn strikes(element: &BytesStart<'_>) -> bool {
    ["text-line-through-style", "text-line-through-type"]
        .iter()
        .any(|name| attribute(element, name).is_some_and(|line| line != "none"))
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

/// The paragraphs that a cell shows and those of its note, one a line; none if it has no paragraph, or no note.
fn paragraphs<R: Read>(flow: &mut Flow<R>) -> Result<(Option<String>, Option<String>), String> {
    let (mut shown, mut note): (Option<String>, Option<String>) = (None, None);
    let mut depth = 0_u32;
    // how deep a note began, and whether one of its paragraphs is open: its author and date are none of its words
    let (mut aside, mut noted) = (None, false);
    while let Some(event) = flow.next()? {
        let to = if aside.is_some() { &mut note } else { &mut shown };
        match &event {
            Event::Start(element) => {
                depth += 1;
                match element.local_name().as_ref() {
                    "annotation" => aside = aside.or(Some(depth)),
                    "p" => {
                        noted = aside.is_some();
                        match to {
                            Some(text) => text.push('\n'),
                            None => *to = Some(String::new()),
                        }
                    }
                    _ => {}
                }
            }
            Event::Empty(element) => {
                let space = match element.local_name().as_ref() {
                    "s" => {
                        let times = attribute(element, "c").and_then(|c| c.parse().ok());
                        " ".repeat(times.unwrap_or(1_usize).min(32_767))
                    }
                    "tab" => "\t".to_owned(),
                    "line-break" => "\n".to_owned(),
                    // a paragraph of nothing is one: the cell shows nothing
                    "p" if to.is_none() => {
                        *to = Some(String::new());
                        String::new()
                    }
                    _ => String::new(),
                };
                if let Some(text) = to {
                    text.push_str(&space);
                }
            }
            Event::End(element) => {
                if depth == 0 {
                    break;
                }
                noted &= element.local_name().as_ref() != "p";
                if aside == Some(depth) {
                    aside = None;
                }
                depth -= 1;
            }
            other if depth > 0 && (aside.is_none() || noted) => {
                if let Some(text) = to {
                    append(other, text)?;
                }
            }
            _ => {}
        }
    }
    Ok((shown, note))
}

/// How a cell says its value is to be read.
fn kinds(element: &BytesStart<'_>) -> Vec<String> {
    let mut attributes = element.attributes();
    let parts = attributes.with_checks(false).flatten();
    let kinds = parts.filter(|part| part.key.local_name().as_ref() == "value-type");
    kinds.map(|part| part.value.into_owned()).collect()
}

/// `#DIV/0!`, `#N/A`, `Err:502`
fn is_error(shown: &str) -> bool {
    let name = shown.strip_prefix('#').and_then(|rest| rest.chars().next());
    name.is_some_and(|sign| sign.is_ascii_uppercase()) || shown.starts_with("Err:")
}

fn value(element: &BytesStart<'_>, shown: Option<String>) -> Result<Cell, String> {
    // two vocabularies may each name a kind; only one of them knows errors
    let kinds = kinds(element);
    if kinds.iter().any(|kind| kind == "error") {
        return Ok(Cell::Error(shown.unwrap_or_default()));
    }
    if attribute(element, "formula").is_some() {
        match shown.as_deref() {
            // an error that is stored as the number 0 or as an empty text
            Some(text) if is_error(text) => return Ok(Cell::Error(text.to_owned())),
            // a program that calculates stores what the cell shows as well
            None if attribute(element, "value").is_some_and(|it| it.parse() == Ok(0.0)) => {
                return Ok(Cell::Empty);
            }
            _ => {}
        }
    }
    Ok(match kinds.first().map(String::as_str) {
        Some("float" | "percentage" | "currency") => {
            let number = attribute(element, "value").and_then(|text| text.parse().ok());
            let number = number.filter(|number: &f64| number.is_finite());
            let number = number.ok_or("a cell says it holds a number and holds none")?;
            match shown.as_deref() {
                // a truth calculated by a formula is stored as a number that is shown as one
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
