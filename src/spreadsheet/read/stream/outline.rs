//! A workbook opened for one long table: what a search for the table needs is kept, its rows are not.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::in_order::in_order;
use super::lines::{Lines, Stretches};
use super::pieces::{Piece, Pieces};
use super::values::{Texts, entries};
use crate::diagnostic::Problems;
use crate::spreadsheet::model::book::{
    Book, Entry, SheetStyles, Tab, TabKind, filled, is_calculated,
};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::formulas::{Formulas, Shape};
use crate::spreadsheet::model::position::{Area, Position};
use crate::spreadsheet::model::styles::Styles;
use crate::spreadsheet::model::thinned::{Filled, Thinned};
use crate::spreadsheet::model::views::cover;
use crate::spreadsheet::read::archive::{Archive, unreadable};
use crate::spreadsheet::read::cell_span::CellSpan;
use crate::spreadsheet::read::delimited::{self, Text};
use crate::spreadsheet::read::guard::Limits;
use crate::spreadsheet::read::layout::{Layout, TabPart, shared_texts_where_expected};
use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::styles::read_styles;
use crate::spreadsheet::read::{Reading, ods, tables};

/// Bytes of a piece where nothing else says how large it is to be.
pub(crate) const PIECE: usize = 256 << 10;

/// Says of each row of a tab, given in their order, whether it is kept.
pub(crate) type Keep<'k> = &'k mut dyn FnMut(&Tab, &[Entry]) -> bool;

/// A workbook whose rows are read one after the other.
///
/// `open` of the product line makes it.
pub struct RowBook<'a> {
    pub(crate) bytes: &'a [u8],
    /// Only the rows that were to be kept; of an `.xlsb`, everything.
    pub(crate) book: Book,
    /// How to read the rows.
    pub(crate) stored: Stored<'a>,
}

/// Where the rows of a workbook are.
pub(crate) enum Stored<'a> {
    /// In memory.
    Memory,
    /// In the parts of an `.xlsx`.
    Parts(Box<Parts<'a>>),
    /// In a plain text.
    Lines(Lines<'a>),
    /// In the content of an `.ods`.
    Ods(Archive<'a>),
}

/// The parts of an `.xlsx` and what is known of them.
pub(crate) struct Parts<'a> {
    pub(crate) archive: Archive<'a>,
    pub(crate) layout: Layout,
    pub(crate) styles: Arc<Styles>,
    pub(crate) texts: Texts,
    /// The tabs with cells, by their order in the workbook: everything but their rows.
    pub(crate) sheets: BTreeMap<usize, Sheet>,
}

impl<'a> RowBook<'a> {
    /// Opens a workbook; `keep` says which rows stay in memory.
    pub(crate) fn open(
        name: &str,
        bytes: &'a [u8],
        reading: &Reading,
        threads: usize,
        keep: Keep<'_>,
    ) -> Result<Self, Problems> {
        match crate::spreadsheet::read::ending(name, bytes).as_str() {
            "xlsx" | "xlsm" | "xltx" | "xltm" => {}
            "csv" => return Self::of_lines(name, bytes, reading, threads, keep),
            "ods" => return Self::of_ods(name, bytes, reading, keep),
            _ => {
                let book = Book::read_as(name, bytes, reading)?;
                return Ok(Self { bytes, book, stored: Stored::Memory });
            }
        }
        let limits = Limits { rows_pass: true, ..reading.limits };
        let mut archive = Archive::open(name, bytes, &limits)?;
        let layout = Layout::read(&mut archive)?;
        let styles = Arc::new(read_styles(&mut archive, &layout)?);
        shared_texts_where_expected(&archive, &layout)?;
        let texts = Texts::read(&mut archive, &layout)?;
        let mut parts = Parts { archive, layout, styles, texts, sheets: BTreeMap::new() };
        let mut tabs = Vec::with_capacity(parts.layout.tabs.len());
        for at in 0..parts.layout.tabs.len() {
            let Some(part) = parts.layout.tabs.get(at).cloned() else { continue };
            if part.kind == TabKind::Cells {
                let (tab, sheet) = parts.thinned(&part, threads, keep)?;
                parts.sheets.insert(at, sheet);
                tabs.push(tab);
            } else {
                let plain = Tab::plain(part.name, Vec::new());
                tabs.push(Tab { visibility: part.visibility, kind: part.kind, ..plain });
            }
        }
        tables::resolve(&mut parts.archive, &parts.layout, &mut tabs)?;
        let book = parts.layout.book(name, tabs, Arc::clone(&parts.texts.pieces));
        Ok(Self { bytes, book, stored: Stored::Parts(Box::new(parts)) })
    }

    fn of_lines(
        name: &str,
        bytes: &'a [u8],
        reading: &Reading,
        threads: usize,
        keep: Keep<'_>,
    ) -> Result<Self, Problems> {
        let text = Text::of(name, bytes, reading.decimal_comma)?;
        let mut stretches = Stretches::of(text.clone());
        let mut thinning = Thinning::default();
        let mut runs = None;
        let read = in_order(
            threads,
            &mut || Ok(stretches.next(None, PIECE)),
            &|stretch| text.entries(stretch.text, stretch.first),
            &mut |entries: Result<Vec<Entry>, String>| {
                let entries = entries?;
                runs = runs.or_else(|| first_that_runs(&entries));
                for cells in entries.chunk_by(|a, b| a.position.row == b.position.row) {
                    thinning.row(cells, keep);
                }
                Ok(())
            },
        );
        read.map_err(|words: String| vec![delimited::broken(name, &words)])?;
        let Thinning { mut tab, thinned, .. } = thinning;
        tab.thinned = Some(Arc::new(thinned));
        let book = delimited::book(name, tab, reading.decimal_comma);
        Ok(Self { bytes, book, stored: Stored::Lines(Lines { text, runs }) })
    }

    fn of_ods(
        name: &str,
        bytes: &'a [u8],
        reading: &Reading,
        keep: Keep<'_>,
    ) -> Result<Self, Problems> {
        let archive = Archive::open(name, bytes, &reading.limits)?;
        let mut tabs: Vec<Thinning> = Vec::new();
        let mut book = ods::each_row(&archive, &mut |tab, row| {
            while tabs.len() <= tab.at {
                let known = tab.known.get(tabs.len()).map_or("", |known| known.name.as_str());
                let plain = Tab::plain(known.to_owned(), Vec::new());
                tabs.push(Thinning { tab: plain, ..Thinning::default() });
            }
            if let Some(thinning) = tabs.get_mut(tab.at) {
                thinning.row(&row, keep);
            }
        })?;
        for (tab, thinning) in book.tabs.iter_mut().zip(tabs) {
            let Thinning { tab: Tab { entries, .. }, thinned, .. } = thinning;
            tab.entries = entries;
            tab.thinned = Some(Arc::new(thinned));
        }
        Ok(Self { bytes, book, stored: Stored::Ods(archive) })
    }

    /// Hands the rows of all tabs but one to `take`, tab by tab.
    pub(crate) fn rows_beside(
        &self,
        tab: &str,
        take: &mut dyn FnMut(&Tab, &[Entry]),
    ) -> Result<(), Problems> {
        let beside = |known: &&Tab| !known.name.eq_ignore_ascii_case(tab);
        if let Stored::Ods(archive) = &self.stored {
            ods::each_row(archive, &mut |at, row| {
                if let Some(known) = self.book.tabs.get(at.at).filter(beside) {
                    take(known, &row);
                }
            })?;
            return Ok(());
        }
        for known in self.book.tabs.iter().filter(beside) {
            take(known, &known.entries);
        }
        Ok(())
    }

    /// The first cell of a `.csv` whose text an office program would run as a formula.
    #[must_use]
    pub fn text_that_runs(&self) -> Option<Position> {
        match &self.stored {
            Stored::Lines(lines) => lines.runs,
            _ => None,
        }
    }

    /// What the search for a table has kept of the workbook.
    #[must_use]
    pub fn outline(&self) -> &Book {
        &self.book
    }
}

fn first_that_runs(entries: &[Entry]) -> Option<Position> {
    let runs = |text: &str| text.len() > 1 && text.starts_with(['=', '+', '-', '@']);
    let mut texts =
        entries.iter().filter(|entry| matches!(&entry.cell, Cell::Text(text) if runs(text)));
    texts.next().map(|entry| entry.position)
}

impl Parts<'_> {
    /// A problem of a tab's content.
    pub(crate) fn broken(&self, tab: &str, words: &str) -> Problems {
        unreadable(&self.archive.file, &format!("its tab `{tab}`: {words}")).into()
    }

    fn thinned(
        &mut self,
        part: &TabPart,
        threads: usize,
        keep: Keep<'_>,
    ) -> Result<(Tab, Sheet), Problems> {
        let broken = |words: String| self.broken(&part.name, &words);
        let missing = || vec![self.archive.broken(&format!("its part `{}` is missing", part.part))];
        let index = self.archive.find(&part.part).ok_or_else(missing)?;
        let mut zip = self.archive.zip.clone();
        let entry = zip.by_index(index).map_err(|error| broken(error.to_string()))?;
        let (opening, mut pieces) = Pieces::open(entry).map_err(broken)?;
        let plain = Tab::plain(part.name.clone(), Vec::new());
        let tab = Tab {
            visibility: part.visibility,
            kind: part.kind,
            styles: Arc::clone(&self.styles),
            ..plain
        };
        let mut thinning = Thinning { tab, sheet: opening.sheet, ..Thinning::default() };
        let mut next = 0;
        let read = in_order(
            threads,
            &mut || pieces.next(None, PIECE),
            &|piece: Piece| self.scanned(&piece, &mut |_, _| {}),
            &mut |scanned: Result<(Sheet, Vec<Entry>), String>| {
                let (sheet, entries) = scanned?;
                if let (Some(first), Some(last)) = (sheet.rows.first(), sheet.rows.last()) {
                    if first.row < next {
                        return Err(format!(
                            "its row {} comes twice or out of order",
                            first.row + 1
                        ));
                    }
                    next = last.row + 1;
                }
                thinning.take(sheet, entries, keep);
                Ok(())
            },
        );
        read.map_err(broken)?;
        let closing = pieces.closing().map_err(broken)?;
        let Thinning { mut tab, mut sheet, thinned, .. } = thinning;
        sheet.closing(&sheet.root.clone(), &closing).map_err(broken)?;
        tab.protected = sheet.protected;
        tab.merged.clone_from(&sheet.merged);
        cover(&mut tab.entries, &sheet.merged);
        tab.rules = sheet.conditional.rules(&self.styles);
        tab.hidden.clone_from(&sheet.hidden);
        tab.notes = sheet.room.around(&mut self.archive, &self.layout, part, &sheet.allowed)?;
        tab.room = Some(Arc::new(std::mem::take(&mut sheet.room)));
        let columns = sheet.columns.iter().map(|known| (known.columns.clone(), known.style));
        tab.sheet_styles.columns = columns.collect();
        tab.thinned = Some(Arc::new(thinned));
        tab.formulas = Formulas::of(Arc::clone(&sheet.formulas));
        Ok((tab, sheet))
    }

    /// A piece with its cells.
    pub(crate) fn scanned(
        &self,
        piece: &Piece,
        seen: &mut dyn FnMut(&CellSpan, &Cell),
    ) -> Result<(Sheet, Vec<Entry>), String> {
        let sheet = Sheet::piece(&piece.text, piece.next)?;
        let since = self.layout.since_1904;
        let entries = entries(&piece.text, &sheet, &self.texts, &self.styles, since, seen)?;
        Ok((sheet, entries))
    }
}

/// A tab whose rows pass by.
struct Thinning {
    tab: Tab,
    sheet: Sheet,
    thinned: Thinned,
    shapes: HashMap<Vec<Filled>, Arc<[Filled]>>,
    /// Areas filled by one formula each whose end has not passed yet.
    blocks: Vec<Area>,
}

impl Default for Thinning {
    fn default() -> Self {
        Self {
            tab: Tab::plain(String::new(), Vec::new()),
            sheet: Sheet::default(),
            thinned: Thinned::default(),
            shapes: HashMap::new(),
            blocks: Vec::new(),
        }
    }
}

impl Thinning {
    fn take(&mut self, piece: Sheet, entries: Vec<Entry>, keep: Keep<'_>) {
        let areas = piece.formulas.iter().filter_map(|formula| match formula.shape {
            Shape::Array(area) | Shape::DataTable(area) if !area.is_single() => Some(area),
            _ => None,
        });
        self.blocks.extend(areas);
        if !self.blocks.is_empty() {
            let inside = piece.cells.iter().map(|cell| cell.position);
            let inside = inside.filter(|cell| self.blocks.iter().any(|area| area.contains(*cell)));
            self.sheet.in_blocks.extend(inside);
            let passed = piece.rows.last().map_or(0, |row| row.row);
            self.blocks.retain(|area| area.last.row > passed);
        }
        Arc::make_mut(&mut self.sheet.formulas).extend(Arc::unwrap_or_clone(piece.formulas));
        self.sheet.room.heights(piece.room.rows);
        piece.hidden.rows.into_iter().for_each(|rows| self.sheet.hidden.rows(rows));
        let styled: HashMap<u32, u32> =
            piece.rows.iter().filter_map(|row| Some((row.row, row.style?))).collect();
        for cells in entries.chunk_by(|a, b| a.position.row == b.position.row) {
            let Some(row) = cells.first().map(|entry| entry.position.row) else { continue };
            if self.row(cells, keep)
                && let Some(style) = styled.get(&row)
            {
                self.tab.sheet_styles.rows.push((row, *style));
            }
        }
    }

    /// Takes a row in, and says whether it is kept.
    fn row(&mut self, cells: &[Entry], keep: Keep<'_>) -> bool {
        self.shape(cells);
        self.tab.calculated |= cells.iter().any(is_calculated);
        let kept = keep(&self.tab, cells);
        if kept {
            self.tab.entries.extend_from_slice(cells);
        }
        kept
    }

    fn shape(&mut self, cells: &[Entry]) {
        let Some(row) = cells.first().map(|entry| entry.position.row) else { return };
        let filled = filled(cells);
        let (Some(first), Some(last)) = (filled.first(), filled.last()) else { return };
        let area = Area {
            first: Position { row, column: first.column },
            last: Position { row, column: last.column },
        };
        self.thinned.used = Some(self.thinned.used.map_or(area, |used| used.with(area)));
        if let Some((rows, known)) = self.thinned.runs.last_mut()
            && rows.end == row
            && **known == *filled
        {
            rows.end += 1;
            return;
        }
        let shape = match self.shapes.get(&filled) {
            Some(known) => Arc::clone(known),
            None => {
                let shape: Arc<[Filled]> = Arc::from(filled.as_slice());
                self.shapes.insert(filled, Arc::clone(&shape));
                shape
            }
        };
        self.thinned.runs.push((row..row + 1, shape));
    }
}

/// The styles of a piece's rows and of the tab's columns.
pub(crate) fn styles_of(piece: &Sheet, whole: &Sheet) -> SheetStyles {
    SheetStyles {
        rows: piece.rows.iter().filter_map(|row| Some((row.row, row.style?))).collect(),
        columns: whole.columns.iter().map(|known| (known.columns.clone(), known.style)).collect(),
        ..SheetStyles::default()
    }
}
