//! A workbook as its owner sees it: tabs, cells, names, and what protects it.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use calamine::{DataRef, ExcelDateTime, Reader, Xlsx, XlsxError};

use super::archive::{Archive, unreadable};
use super::cell::Cell;
use super::delimited;
use super::guard::Limits;
use super::hidden::Hidden;
use super::layout::{DefinedName, Layout, TabPart};
use super::ods;
use super::position::{Area, Position};
use super::sheet::{CellSpan, Sheet};
use super::shown::{Shown, shown};
use super::stream::outline::{Filled, Thinned, filled};
use super::stream::values::{Texts, entries};
use super::styles::Styles;
use super::xlsb;
use crate::diagnostic::{Diagnostic, Name, Place, Problems};

/// The kind of a workbook file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// `.xlsx`, or `.xlsm` with macros, which are never read or run.
    Xlsx,
    /// The binary `.xlsb`.
    Xlsb,
    /// OpenDocument `.ods`.
    Ods,
    /// Plain text, one row a line.
    Csv,
}

/// Whether a tab is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Visibility {
    /// Shown.
    Visible,
    /// Hidden; the office program can show it.
    Hidden,
    /// Hidden so that only a macro can show it.
    DeeplyHidden,
}

/// What a tab holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TabKind {
    /// Cells.
    Cells,
    /// A single chart.
    Chart,
    /// A dialogue or a macro sheet of old.
    Other,
}

/// How a file is to be read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reading {
    /// In a `.csv`, `1,5` is one and a half; only when the person says so.
    pub decimal_comma: bool,
    /// How much the file may ask for.
    pub limits: Limits,
}

/// A workbook that has been read.
#[derive(Clone, Debug)]
pub struct Book {
    /// The name as the owner gave it.
    pub name: String,
    /// The kind of file.
    pub form: Form,
    /// The tabs, in their order.
    pub tabs: Vec<Tab>,
    /// The defined names, in their order; several may bear one name in different tabs.
    pub names: Vec<DefinedName>,
    /// Whether it carries a digital signature.
    pub signed: bool,
    /// Whether it carries macros.
    pub macros: bool,
    /// Whether its owner asks others to open it for reading only.
    pub read_only_recommended: bool,
    /// Whether [`write_cells`](super::write_cells) can fill it in place.
    pub writable_in_place: bool,
}

/// A tab of a workbook.
#[derive(Clone, Debug)]
pub struct Tab {
    /// The name on the tab; empty for a `.csv`.
    pub name: String,
    /// Whether it is shown.
    pub visibility: Visibility,
    /// What it holds.
    pub kind: TabKind,
    /// Whether its locked cells are protected.
    pub protected: bool,
    /// Its merged areas.
    pub merged: Vec<Area>,
    pub(crate) entries: Vec<Entry>,
    pub(crate) hidden: Hidden,
    pub(crate) sheet_styles: SheetStyles,
    pub(crate) styles: Arc<Styles>,
    /// Whether the kind of file keeps from us how cells show their numbers.
    pub(crate) formats_unknown: bool,
    /// What is known of rows that are not kept; none if all are.
    pub(crate) thinned: Option<Arc<Thinned>>,
}

/// A cell that the workbook stores, if only for its style.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Where it stands.
    pub position: Position,
    /// What it holds or shows.
    pub cell: Cell,
    /// Whether it is calculated by a formula.
    pub formula: bool,
    /// Whether that formula is a sum, an average or the like over cells of its own column.
    pub(crate) total: bool,
    pub(crate) style: u32,
}

/// The styles that empty cells take from their row or column.
#[derive(Clone, Debug, Default)]
pub(crate) struct SheetStyles {
    pub(crate) rows: Vec<(u32, u32)>,
    pub(crate) columns: Vec<(std::ops::Range<u32>, u32)>,
}

impl Book {
    /// Reads a workbook from its bytes; the ending of `name` says which kind it is.
    ///
    /// Reads `.xlsx`, `.xlsm`, `.csv` (comma or semicolon), and `.xlsb` and `.ods` for reading only.
    /// Nothing is recalculated: a formula shows the result that was saved with it.
    ///
    /// # Errors
    /// `unreadable-file` and `hostile-file`, as [`guard::check`](super::guard::check) says, and for
    /// content that does not read as a workbook.
    ///
    /// # Example
    /// ```
    /// use standstill::spreadsheet::{Book, Cell, Position};
    /// let book = Book::read("speeds.csv", b"name,speed\nfan,1450\n").unwrap();
    /// let tab = book.tab("").unwrap();
    /// assert_eq!(tab.cell(Position::parse("B2").unwrap()), &Cell::Number(1450.0));
    /// assert_eq!(tab.cell(Position::parse("C2").unwrap()), &Cell::Empty);
    /// ```
    pub fn read(name: &str, bytes: &[u8]) -> Result<Self, Problems> {
        Self::read_as(name, bytes, &Reading::default())
    }

    /// Reads a workbook as [`read`](Self::read) does, in the way that is said.
    ///
    /// # Errors
    /// The same.
    pub fn read_as(name: &str, bytes: &[u8], reading: &Reading) -> Result<Self, Problems> {
        let ending = name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
        match ending.as_str() {
            "xlsx" | "xlsm" | "xltx" | "xltm" => read_xlsx(name, bytes, reading),
            "csv" => delimited::read(name, bytes, reading.decimal_comma),
            "xlsb" => xlsb::read(name, bytes, reading),
            "ods" => ods::read(name, bytes, &reading.limits),
            _ => Err(Diagnostic::error(
                Name::UnreadableFile,
                format!("`{name}` has no ending of a workbook that can be read"),
            )
            .at(Place::File { name: name.to_owned() })
            .remedy("save it as .xlsx, .xlsm, .ods or .csv")
            .into()),
        }
    }

    /// The tab of that name, without regard to case.
    #[must_use]
    pub fn tab(&self, name: &str) -> Option<&Tab> {
        let wanted = name.to_lowercase();
        self.tabs.iter().find(|tab| tab.name.to_lowercase() == wanted)
    }

    /// Puts a value into a cell of this copy of the workbook; its style stays.
    pub(crate) fn put(&mut self, tab: &str, position: Position, cell: Cell) {
        let Some(tab) = self.tab_mut(tab) else { return };
        match tab.entries.binary_search_by_key(&position, |entry| entry.position) {
            Ok(at) => {
                if let Some(entry) = tab.entries.get_mut(at) {
                    entry.cell = cell;
                    entry.formula = false;
                }
            }
            Err(at) => {
                let style = tab.style(position);
                tab.entries.insert(at, Entry { style, ..Entry::plain(position, cell) });
            }
        }
    }

    pub(crate) fn tab_mut(&mut self, name: &str) -> Option<&mut Tab> {
        let wanted = name.to_lowercase();
        self.tabs.iter_mut().find(|tab| tab.name.to_lowercase() == wanted)
    }

    /// A workbook of one tab, with some of its rows.
    pub(crate) fn of_rows(&self, tab: &Tab, entries: Vec<Entry>) -> Self {
        let merged = merged_among(&tab.merged, &entries);
        let plain = Tab::plain(tab.name.clone(), entries);
        let tab = Tab {
            merged,
            protected: tab.protected,
            formats_unknown: tab.formats_unknown,
            sheet_styles: tab.sheet_styles.clone(),
            styles: Arc::clone(&tab.styles),
            ..plain
        };
        self.of_tab(tab)
    }

    /// A workbook of one tab.
    pub(crate) fn of_tab(&self, tab: Tab) -> Self {
        Self { name: self.name.clone(), tabs: vec![tab], names: Vec::new(), ..*self }
    }

    /// The name as seen from a tab: its own before that of the whole workbook.
    #[must_use]
    pub fn name_seen_from(&self, tab: &str, name: &str) -> Option<&DefinedName> {
        let same = |a: &str, b: &str| a.to_lowercase() == b.to_lowercase();
        let of_name = || self.names.iter().filter(|known| same(&known.name, name));
        of_name()
            .find(|known| known.scope.as_deref().is_some_and(|scope| same(scope, tab)))
            .or_else(|| of_name().find(|known| known.scope.is_none()))
    }

    /// A cell of this workbook as a place in a message.
    #[must_use]
    pub fn place(&self, tab: &str, position: Position) -> Place {
        let Position { row, column } = position;
        Place::Cell { book: self.name.clone(), tab: tab.to_owned(), row, column }
    }
}

impl Tab {
    /// What the cell holds or shows.
    #[must_use]
    pub fn cell(&self, position: Position) -> &Cell {
        self.entry(position).map_or(&Cell::Empty, |entry| &entry.cell)
    }

    /// The stored cell, if there is one.
    #[must_use]
    pub fn entry(&self, position: Position) -> Option<&Entry> {
        let at = self.entries.binary_search_by_key(&position, |entry| entry.position).ok()?;
        self.entries.get(at)
    }

    /// All stored cells, row by row.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.entries.iter()
    }

    /// The stored cells of one row, from left to right.
    #[must_use]
    pub fn row(&self, row: u32) -> &[Entry] {
        let from = self.entries.partition_point(|entry| entry.position.row < row);
        let to = self.entries.partition_point(|entry| entry.position.row <= row);
        self.entries.get(from..to).unwrap_or_default()
    }

    /// Whether a formula works the cell out.
    #[must_use]
    pub fn has_formula(&self, position: Position) -> bool {
        self.entry(position).is_some_and(|entry| entry.formula)
    }

    /// Whether the tab is protected and the cell locked.
    #[must_use]
    pub fn locked(&self, position: Position) -> bool {
        self.protected && self.styles.locked(self.style(position))
    }

    /// The code of the cell's number format, such as `0.0%`; `General` if it has none.
    #[must_use]
    pub fn format(&self, position: Position) -> &str {
        self.styles.format(self.style(position))
    }

    /// Whether the cell shows its number as a percentage, a hundred times what it holds.
    #[must_use]
    pub fn shows_percent(&self, position: Position) -> bool {
        super::styles::is_percent(self.format(position))
    }

    /// Whether the cell shows numbers as they are, with nothing around them.
    pub(crate) fn shows_plainly(&self, position: Position) -> bool {
        self.styles.plain(self.style(position))
    }

    /// What the cell shows of a number beside its digits.
    pub(crate) fn shown(&self, position: Position, number: f64) -> Shown {
        shown(self.format(position), number)
    }

    /// Whether the cell shows numbers as dates or times.
    pub(crate) fn shows_time(&self, position: Position) -> bool {
        self.styles.clock(self.style(position)).is_some()
    }

    /// The merged area that covers the cell, if there is one.
    #[must_use]
    pub fn merged_at(&self, position: Position) -> Option<Area> {
        self.merged.iter().copied().find(|area| area.contains(position))
    }

    /// The rectangle of all cells that are not empty.
    #[must_use]
    pub fn used(&self) -> Option<Area> {
        if let Some(thinned) = &self.thinned {
            return thinned.used;
        }
        let filled = self.entries.iter().filter(|entry| !entry.cell.is_empty());
        let cells = filled.map(|entry| Area::between(entry.position, entry.position));
        cells.reduce(Area::with)
    }

    fn style(&self, position: Position) -> u32 {
        if let Some(entry) = self.entry(position) {
            return entry.style;
        }
        let SheetStyles { rows, columns } = &self.sheet_styles;
        let row = rows.binary_search_by_key(&position.row, |(row, _)| *row).ok();
        let row = row.and_then(|at| rows.get(at)).map(|(_, style)| *style);
        let column = || columns.iter().find(|(range, _)| range.contains(&position.column));
        row.or_else(|| column().map(|(_, style)| *style)).unwrap_or(0)
    }

    /// A tab without styles, protection or formulas.
    pub(crate) fn plain(name: String, entries: Vec<Entry>) -> Self {
        Self {
            name,
            visibility: Visibility::Visible,
            kind: TabKind::Cells,
            protected: false,
            merged: Vec::new(),
            entries,
            hidden: Hidden::default(),
            sheet_styles: SheetStyles::default(),
            styles: Arc::default(),
            formats_unknown: false,
            thinned: None,
        }
    }

    /// The rows that hold anything, with what they hold.
    pub(crate) fn each_filled(&self, take: &mut dyn FnMut(u32, &[Filled])) {
        match &self.thinned {
            Some(thinned) => thinned.rows().for_each(|(row, cells)| take(row, cells)),
            None => {
                for cells in self.entries.chunk_by(|a, b| a.position.row == b.position.row) {
                    let Some(first) = cells.first() else { continue };
                    let cells = filled(cells);
                    if !cells.is_empty() {
                        take(first.position.row, &cells);
                    }
                }
            }
        }
    }
}

impl Entry {
    pub(crate) fn plain(position: Position, cell: Cell) -> Self {
        Self { position, cell, formula: false, total: false, style: 0 }
    }
}

/// The merged areas that reach into the rows of some cells, which stand in their order.
pub(crate) fn merged_among(merged: &[Area], entries: &[Entry]) -> Vec<Area> {
    let Some((first, last)) = entries.first().zip(entries.last()) else { return Vec::new() };
    let (first, last) = (first.position.row, last.position.row);
    let reaches = |area: &&Area| area.first.row <= last && area.last.row >= first;
    merged.iter().filter(reaches).copied().collect()
}

/// What a file of the binary kind may ask for: its reader keeps more in memory.
pub(crate) fn small(limits: &Limits) -> Limits {
    Limits { unpacked: limits.unpacked.min(64 << 20), ..*limits }
}

fn read_xlsx(name: &str, bytes: &[u8], reading: &Reading) -> Result<Book, Problems> {
    read_from(name, bytes, reading, LONG)
}

/// Reads it; of tabs whose part is longer than `long` the library does not read the values.
fn read_from(name: &str, bytes: &[u8], reading: &Reading, long: usize) -> Result<Book, Problems> {
    let mut archive = Archive::open(name, bytes, &reading.limits)?;
    let layout = Layout::read(&mut archive)?;
    let styles = Arc::new(read_styles(&mut archive, &layout)?);
    shared_texts_where_expected(&archive, &layout)?;
    let mut values = Values { bytes, long, library: None, texts: None };
    let mut tabs = Vec::with_capacity(layout.tabs.len());
    for part in &layout.tabs {
        tabs.push(match part.kind {
            TabKind::Cells => read_tab(&mut archive, &layout, &mut values, part, &styles)?,
            TabKind::Chart | TabKind::Other => Tab {
                visibility: part.visibility,
                kind: part.kind,
                ..Tab::plain(part.name.clone(), Vec::new())
            },
        });
    }
    Ok(Book {
        name: name.to_owned(),
        form: Form::Xlsx,
        tabs,
        names: layout.names,
        signed: layout.signed,
        macros: layout.macros,
        read_only_recommended: layout.read_only_recommended,
        writable_in_place: true,
    })
}

/// The library looks for the shared texts under one fixed name.
pub(crate) fn shared_texts_where_expected(
    archive: &Archive<'_>,
    layout: &Layout,
) -> Result<(), Problems> {
    let folder = layout.workbook.rsplit_once('/').map_or("", |(folder, _)| folder);
    let expected = format!("{folder}/sharedStrings.xml");
    let found = layout.shared_texts.as_deref();
    let same = found.map_or_else(
        || archive.find(&expected).is_none(),
        |found| archive.find(found) == archive.find(&expected),
    );
    if same { Ok(()) } else { Err(archive.broken("its texts lie in an unusual place").into()) }
}

pub(crate) fn read_styles(archive: &mut Archive<'_>, layout: &Layout) -> Result<Styles, Problems> {
    let Some(part) = &layout.styles else { return Ok(Styles::default()) };
    let Some(text) = archive.text(part)? else { return Ok(Styles::default()) };
    Styles::read(&text.text)
        .map_err(|words| archive.broken(&format!("its part `{part}`: {words}")).into())
}

/// Where the values of cells come from, each made ready when the first tab asks for it.
struct Values<'a> {
    bytes: &'a [u8],
    long: usize,
    library: Option<Xlsx<Cursor<&'a [u8]>>>,
    texts: Option<Texts>,
}

/// A part above this size is a long table: its values are read on the way, as those of a product line
/// are. Writing reads them with the library, up to the last cell that is written.
const LONG: usize = 8 << 20;

fn read_tab(
    archive: &mut Archive<'_>,
    layout: &Layout,
    values: &mut Values<'_>,
    part: &TabPart,
    styles: &Arc<Styles>,
) -> Result<Tab, Problems> {
    let text = archive.need(&part.part)?.text;
    let file = archive.file.clone();
    let broken =
        |words: String| vec![unreadable(&file, &format!("its tab `{}`: {words}", part.name))];
    let sheet = Sheet::scan(&text).map_err(broken)?;
    let entries = if text.len() > values.long {
        if values.texts.is_none() {
            values.texts = Some(Texts::read(archive, layout)?);
        }
        let (none, since) = (Texts::default(), layout.since_1904);
        let texts = values.texts.as_ref().unwrap_or(&none);
        entries(&text, &sheet, texts, styles, since, &mut |_, _| {}).map_err(broken)?
    } else {
        let library = match &mut values.library {
            Some(library) => library,
            none => none.insert(careful(&file, || Xlsx::new(Cursor::new(values.bytes)))?),
        };
        careful(&file, || read_entries(library, part, &sheet))?
    };
    let rows = sheet.rows.iter().filter_map(|row| Some((row.row, row.style?))).collect();
    let columns = sheet.columns.iter().map(|known| (known.columns.clone(), known.style)).collect();
    Ok(Tab {
        name: part.name.clone(),
        visibility: part.visibility,
        kind: part.kind,
        protected: sheet.protected,
        merged: sheet.merged,
        entries,
        hidden: sheet.hidden,
        sheet_styles: SheetStyles { rows, columns },
        styles: Arc::clone(styles),
        formats_unknown: false,
        thinned: None,
    })
}

/// Takes the values from the library and everything else from our own scan; the two must agree
/// on where the cells stand and on which of them hold anything.
fn read_entries(
    cells: &mut Xlsx<Cursor<&[u8]>>,
    part: &TabPart,
    sheet: &Sheet,
) -> Result<Vec<Entry>, String> {
    let mut entries = Vec::with_capacity(sheet.cells.len());
    if sheet.cells.is_empty() {
        return Ok(entries);
    }
    let mut values = cells.worksheet_cells_reader(&part.name).map_err(|error| error.to_string())?;
    for span in &sheet.cells {
        let cell = match values.next_cell() {
            Ok(Some(next)) => {
                let cell = from_library(next.get_value());
                let lost = span.filled && span.value != (0, 0) && cell.is_empty();
                let Position { row, column } = span.position;
                if next.get_position() != (row, column) || lost && span.formula.is_none() {
                    return Err(disagreement(part, span));
                }
                cell
            }
            // an error of the cell that the library does not know by name
            Err(XlsxError::CellError(words)) => Cell::Error(words),
            Ok(None) => return Err(disagreement(part, span)),
            Err(error) => return Err(error.to_string()),
        };
        entries.push(Entry {
            position: span.position,
            cell,
            formula: span.formula.is_some(),
            total: sheet.is_total(span),
            style: span.style,
        });
    }
    Ok(entries)
}

fn disagreement(part: &TabPart, span: &CellSpan) -> String {
    format!("cell {} of its tab `{}` can be read in two ways", span.position.name(), part.name)
}

/// A value as the library gives it, each kind for itself.
pub(crate) fn from_library(value: &DataRef<'_>) -> Cell {
    match value {
        DataRef::Empty => Cell::Empty,
        #[allow(clippy::cast_precision_loss, reason = "a cell holds no more than a double")]
        DataRef::Int(number) => Cell::Number(*number as f64),
        DataRef::Float(number) if number.is_finite() => Cell::Number(*number),
        DataRef::Float(number) => Cell::Text(number.to_string()),
        DataRef::String(text) => Cell::Text(text.clone()),
        DataRef::SharedString(text) => Cell::Text((*text).to_owned()),
        DataRef::Bool(truth) => Cell::Truth(*truth),
        DataRef::Error(error) => Cell::Error(error.to_string()),
        DataRef::DateTime(date) => Cell::Date(date_text(date)),
        DataRef::DateTimeIso(date) | DataRef::DurationIso(date) => Cell::Date(date.clone()),
    }
}

pub(crate) fn date_text(date: &ExcelDateTime) -> String {
    if date.is_duration() {
        let seconds = (date.as_f64() * 86_400.0).round();
        let (hours, rest) = ((seconds / 3600.0).floor(), seconds.rem_euclid(3600.0));
        return format!("PT{hours}H{}M{}S", (rest / 60.0).floor(), rest.rem_euclid(60.0));
    }
    let (year, month, day, hour, minute, second, _) = date.to_ymd_hms_milli();
    let clock = format!("{hour:02}:{minute:02}:{second:02}");
    if date.as_f64() < 1.0 {
        return clock;
    }
    let day = format!("{year:04}-{month:02}-{day:02}");
    if clock == "00:00:00" { day } else { format!("{day} {clock}") }
}

thread_local! {
    /// Whether a library works on bytes that are not ours.
    static CAREFUL: std::cell::Cell<bool> = const { std::cell::Cell::new(false) };
}

/// Whether a panic of this thread becomes a message: it has no text of its own then.
pub(crate) fn is_careful() -> bool {
    CAREFUL.get()
}

/// Runs a library on bytes that are not ours: its errors and its panics become one of ours.
pub(crate) fn careful<T, E: ToString>(
    name: &str,
    run: impl FnOnce() -> Result<T, E>,
) -> Result<T, Problems> {
    let before = CAREFUL.replace(true);
    let outcome = catch_unwind(AssertUnwindSafe(run));
    CAREFUL.set(before);
    match outcome {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err(unreadable(name, &error.to_string()).into()),
        Err(_) => Err(unreadable(name, "its content is not what its parts promise").into()),
    }
}

#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "a test that reads the workbooks of all writers")]
mod tests {
    use super::*;

    /// What both say of a cell; of an error and of the spaces around a text readers may differ.
    fn shown(cell: &Cell) -> String {
        match cell {
            Cell::Error(_) => "an error".to_owned(),
            Cell::Text(text) => text.replace("\r\n", "\n").trim().to_owned(),
            Cell::Empty => String::new(),
            other => other.to_string(),
        }
    }

    #[test]
    fn a_long_tab_is_read_as_the_library_reads_a_short_one() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks");
        let mut folders = vec![folder];
        let mut compared = 0;
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() && !path.ends_with("node_modules") {
                    folders.push(path);
                    continue;
                }
                let name = path.file_name().unwrap().to_str().unwrap().to_owned();
                if !name.ends_with(".xlsx") && !name.ends_with(".xlsm") {
                    continue;
                }
                let bytes = std::fs::read(&path).unwrap();
                let reading = Reading::default();
                let Ok(library) = read_from(&name, &bytes, &reading, usize::MAX) else { continue };
                let own = read_from(&name, &bytes, &reading, 0).unwrap();
                for (one, other) in library.tabs.iter().zip(&own.tabs) {
                    assert_eq!(one.entries.len(), other.entries.len(), "{name} {}", one.name);
                    for (one, other) in one.entries.iter().zip(&other.entries) {
                        let cell = one.position.name();
                        assert_eq!(shown(&one.cell), shown(&other.cell), "{name} {cell}");
                        assert_eq!((one.formula, one.style), (other.formula, other.style));
                        compared += 1;
                    }
                }
            }
        }
        assert!(compared > 700, "{compared}");
    }
}
