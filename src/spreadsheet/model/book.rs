//! A workbook as its owner sees it: tabs, cells, names, and what protects it.

use std::sync::Arc;

use super::cell::Cell;
use super::formulas::Formulas;
use super::hidden::Hidden;
use super::names::DefinedName;
use super::notes::Notes;
use super::pieces::Pieces;
use super::position::Areas;
use super::position::{Area, Position};
use super::room::Room;
use super::styles::{Rule, Styles, is_percent};
use super::thinned::{Filled, Thinned};
use crate::diagnostic::{Diagnostic, Name, Place};

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

impl Form {
    /// Whether [`write_cells`](crate::spreadsheet::write_cells) can fill single cells in place.
    #[must_use]
    pub fn takes_cells(self) -> bool {
        self == Self::Xlsx
    }

    /// Whether the rows of a product line can be written in place.
    #[must_use]
    pub fn takes_rows(self) -> bool {
        matches!(self, Self::Xlsx | Self::Csv)
    }
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
    /// Whether it looks as if none of its formulas was ever calculated: a saved zero may be the mark of that.
    pub(crate) uncalculated: bool,
    /// Whether its program calculates with what cells show instead of what they hold.
    pub(crate) as_shown: bool,
    /// Whether its program calculates only when a person asks for it (ISO/IEC 29500-1, 18.2.2, `calcMode`): a saved
    /// result may be older than the cells that it comes from.
    pub(crate) by_hand: bool,
    /// Whether its numbers are written with a decimal comma, as a `.csv` may be.
    pub(crate) decimal_comma: bool,
    /// Texts of which a part is raised or struck through.
    pub(crate) pieces: Arc<Pieces>,
    /// The ending that goes with what is in the file, where its name has another.
    pub(crate) meant_ending: Option<&'static str>,
}

impl Book {
    /// What is said of a file whose name has another ending than what is in it: office programs open none such.
    pub(crate) fn misnamed(&self) -> Option<Diagnostic> {
        let meant = self.meant_ending?;
        let of_it = match meant {
            "xlsm" => "a workbook with macros",
            "xltx" | "xltm" => "a template",
            _ => "a workbook without macros",
        };
        let stem = self.name.rsplit_once('.').map_or(self.name.as_str(), |(stem, _)| stem);
        let words = format!("what is in the file is {of_it}, and its name ends otherwise");
        let caution = Diagnostic::caution(Name::UnreadableFile, words);
        let caution = caution.at(Place::File { name: self.name.clone() });
        Some(caution.remedy(format!(
            "office programs open it only under the name `{stem}.{meant}`; to change its kind, save it as another there"
        )))
    }

    /// A workbook of nothing but its tabs.
    pub(crate) fn plain(name: &str, form: Form, tabs: Vec<Tab>) -> Self {
        Self {
            name: name.to_owned(),
            form,
            tabs,
            names: Vec::new(),
            uncalculated: false,
            as_shown: false,
            by_hand: false,
            decimal_comma: false,
            pieces: Arc::default(),
            meant_ending: None,
        }
    }
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
    /// How much room it leaves to its cells, where the kind of file lets that be read.
    pub(crate) room: Option<Arc<Room>>,
    /// What its owner noted at cells.
    pub(crate) notes: Notes,
    pub(crate) sheet_styles: SheetStyles,
    pub(crate) styles: Arc<Styles>,
    /// What rules of the workbook lay over the styles of its cells.
    pub(crate) rules: Arc<[Rule]>,
    /// Whether the kind of file keeps from us how cells show their numbers.
    pub(crate) formats_unknown: bool,
    /// What is known of rows that are not kept; none if all are.
    pub(crate) thinned: Option<Arc<Thinned>>,
    /// Its formulas, where the kind of file lets them be read.
    pub(crate) formulas: Formulas,
    /// Whether it holds only some of the rows of the tab.
    pub(crate) partial: bool,
    /// Whether a formula has another saved result than zero or nothing.
    pub(crate) calculated: bool,
}

/// A cell that the workbook stores, if only for its style.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Where it stands.
    pub position: Position,
    /// What it shows: what it holds, or nothing where a merged area covers it.
    pub cell: Cell,
    /// What it holds where a merged area covers it.
    pub(crate) beneath: Option<Box<Cell>>,
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
    /// Further empty cells, with their style for a number.
    pub(crate) blanks: Areas,
}

impl Book {
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
                    entry.beneath = None;
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
            formulas: tab.formulas.clone(),
            partial: true,
            sheet_styles: tab.sheet_styles.clone(),
            visibility: tab.visibility,
            hidden: tab.hidden.clone(),
            room: tab.room.clone(),
            notes: tab.notes.clone(),
            styles: Arc::clone(&tab.styles),
            rules: Arc::clone(&tab.rules),
            ..plain
        };
        self.of_tab(tab)
    }

    /// A workbook of one tab.
    pub(crate) fn of_tab(&self, tab: Tab) -> Self {
        Self {
            name: self.name.clone(),
            tabs: vec![tab],
            names: Vec::new(),
            pieces: Arc::clone(&self.pieces),
            ..*self
        }
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

    /// Whether a formula's saved result may stand there because nothing ever calculated it.
    pub(crate) fn may_be_uncalculated(&self, saved: &Cell) -> bool {
        self.uncalculated && *saved == Cell::Number(0.0)
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

    /// Whether its row is here: of a tab that was thinned out, a row that is not may hold anything.
    pub(crate) fn keeps(&self, row: u32) -> bool {
        let passed = |thinned: &Arc<Thinned>| thinned.holds(row);
        let kept = !self.partial && !self.thinned.as_ref().is_some_and(passed);
        kept || !self.row(row).is_empty()
    }

    /// Whether a formula calculates the cell.
    #[must_use]
    pub fn has_formula(&self, position: Position) -> bool {
        self.entry(position).is_some_and(|entry| entry.formula)
    }

    /// The code of the cell's number format, such as `0.0%`; `General` if it has none.
    #[must_use]
    pub fn format(&self, position: Position) -> &str {
        self.styles.format(self.style(position))
    }

    /// Whether a line goes through what the cell shows.
    #[must_use]
    pub fn is_struck(&self, position: Position) -> bool {
        self.styles.struck(self.style(position))
    }

    /// Whether the cell shows its number as a percentage, a hundred times what it holds.
    #[must_use]
    pub fn shows_percent(&self, position: Position) -> bool {
        is_percent(self.format(position))
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
        let filled = self.entries.iter().filter(|entry| !entry.held().is_empty());
        let cells = filled.map(|entry| Area::between(entry.position, entry.position));
        cells.reduce(Area::with)
    }

    pub(crate) fn style(&self, position: Position) -> u32 {
        if let Some(entry) = self.entry(position) {
            return entry.style;
        }
        let SheetStyles { rows, columns, blanks } = &self.sheet_styles;
        if let Some((_, style)) = blanks.at(position) {
            return u32::try_from(style).unwrap_or(0);
        }
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
            room: None,
            notes: Notes::default(),
            sheet_styles: SheetStyles::default(),
            styles: Arc::default(),
            rules: Arc::default(),
            formats_unknown: false,
            thinned: None,
            formulas: Formulas::default(),
            partial: false,
            calculated: false,
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
    /// Hides what it holds: a merged area covers it.
    pub(crate) fn cover(&mut self) {
        let held = std::mem::take(&mut self.cell);
        if !held.is_empty() {
            self.beneath = Some(Box::new(held));
        }
    }

    /// What it holds, whether or not it is shown.
    pub(crate) fn held(&self) -> &Cell {
        self.beneath.as_deref().unwrap_or(&self.cell)
    }

    pub(crate) fn plain(position: Position, cell: Cell) -> Self {
        Self { position, cell, beneath: None, formula: false, total: false, style: 0 }
    }
}

/// The merged areas that reach into the rows of some cells, which stand in their order.
pub(crate) fn merged_among(merged: &[Area], entries: &[Entry]) -> Vec<Area> {
    let Some((first, last)) = entries.first().zip(entries.last()) else { return Vec::new() };
    let (first, last) = (first.position.row, last.position.row);
    let reaches = |area: &&Area| area.first.row <= last && area.last.row >= first;
    merged.iter().filter(reaches).copied().collect()
}

/// Whether an entry's formula has a saved result that only a program that calculates can have written.
pub(crate) fn is_calculated(entry: &Entry) -> bool {
    entry.formula && !matches!(entry.held(), Cell::Empty | Cell::Number(0.0))
}

/// What is filled in a row.
pub(crate) fn filled(cells: &[Entry]) -> Vec<Filled> {
    let filled = cells.iter().filter(|entry| !entry.held().is_empty());
    let filled = filled.map(|entry| Filled {
        column: entry.position.column,
        text: matches!(entry.cell, Cell::Text(_)),
        formula: entry.formula,
        total: entry.total,
    });
    filled.collect()
}
