//! Puts values into single cells of a workbook and leaves everything else as it was.
//!
//! The container is copied entry by entry, packed bytes and all; in the part of a touched tab only
//! the touched cell elements are replaced, as text. See [`write_cells`].

mod crosscheck;
mod delimited;
mod dependents;
mod lines;
mod recalculate;
mod refuse;
mod repack;
mod rows;
mod samples;
mod splice;
mod touched;
mod verify;

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

pub(crate) use delimited::field;
pub use delimited::write_fields;
pub(crate) use rows::Plan;
pub use rows::RowsWritten;

use repack::Content;
use touched::Touched;

use crate::diagnostic::{Diagnostic, Name, Place, Problems, put_in_order};
use crate::spreadsheet::model::book::{Book, TabKind};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::position::Position;
use crate::spreadsheet::model::styles::Styles;
use crate::spreadsheet::read::archive::{Archive, Part, unreadable};
use crate::spreadsheet::read::cell_span::Kind;
use crate::spreadsheet::read::foreign::careful;
use crate::spreadsheet::read::guard::Limits;
use crate::spreadsheet::read::layout::{Layout, shared_texts_where_expected};
use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::stream::values::{Texts, value};
use crate::spreadsheet::read::styles::read_styles;
use crate::spreadsheet::read::tables;

/// One cell and what is to stand in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Edit {
    /// The tab, without regard to case.
    pub tab: String,
    /// The cell.
    pub position: Position,
    /// What is to stand in it.
    pub value: NewValue,
    /// The cell whose style a cell takes that the workbook does not store yet; without it the cell
    /// takes the style of its row or column, as it would under a person's hands. A stored cell
    /// always keeps its own style.
    pub style_of: Option<Position>,
    /// Whether it is what the formula that stands there gives, saved for programs that calculate nothing; the formula
    /// stays, and where none stands nothing is written.
    pub of_formula: bool,
}

impl Edit {
    /// An edit that keeps the style of the place.
    #[must_use]
    pub fn new(tab: impl Into<String>, position: Position, value: NewValue) -> Self {
        Self { tab: tab.into(), position, value, style_of: None, of_formula: false }
    }

    /// The saved result of the formula that stands in a cell.
    pub(crate) fn result(tab: impl Into<String>, position: Position, value: NewValue) -> Self {
        Self { of_formula: true, ..Self::new(tab, position, value) }
    }
}

/// What is to stand in a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum NewValue {
    /// A finite number, written with the fewest digits that read back as the same double; a
    /// percentage is its fraction.
    Number(f64),
    /// A text, at most 32 767 characters.
    Text(String),
    /// TRUE or FALSE.
    Truth(bool),
    /// Nothing; the style stays.
    Empty,
}

impl NewValue {
    /// Whether a cell holds it already; an office program keeps 15 digits of a number when it saves.
    pub(crate) fn is_held(&self, held: &Cell) -> bool {
        match (self, held) {
            (Self::Number(new), Cell::Number(held)) => {
                new == held || format!("{new:.14e}").parse() == Ok(*held)
            }
            _ => self.as_cell() == *held,
        }
    }

    /// The value as a cell that holds it reads.
    #[must_use]
    pub fn as_cell(&self) -> Cell {
        match self {
            Self::Number(number) => Cell::Number(*number),
            Self::Text(text) if text.is_empty() => Cell::Empty,
            Self::Text(text) => Cell::Text(text.clone()),
            Self::Truth(truth) => Cell::Truth(*truth),
            Self::Empty => Cell::Empty,
        }
    }
}

/// What the person explicitly allows; nothing by default.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Allow {
    /// Overwriting a formula that stands in a single cell.
    pub formulas: bool,
    /// Writing into locked cells of a protected tab.
    pub locked_cells: bool,
    /// Breaking the digital signature of the workbook.
    pub signature: bool,
}

/// A workbook after writing, and what became of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Written {
    /// The whole file; the very bytes that came in if nothing had to change.
    pub bytes: Vec<u8>,
    /// The cells that changed, in the order of tab and place.
    pub changed: Vec<Change>,
    /// The formulas that depend on them, whose saved results were taken out so that every office
    /// program works them out afresh.
    pub to_recalculate: Vec<Stale>,
    /// The cells that show the results of those formulas: more than the formulas where one fills an area.
    pub outdated: Vec<Stale>,
    /// Cells of formulas that may depend on the changes through references that cannot be resolved, such as
    /// `INDIRECT(A1)`: their saved results stay, and the workbook is recalculated when it is opened.
    pub possible: Vec<Stale>,
    /// What the person should know: `stale-figures` for pivot tables.
    pub cautions: Vec<Diagnostic>,
}

/// A cell that changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The tab, as the workbook spells it.
    pub tab: String,
    /// The cell.
    pub position: Position,
    /// What it held; a date appears as the number it is stored as.
    pub old: Cell,
    /// What it holds now.
    pub new: Cell,
}

/// A formula whose saved result is out of date.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stale {
    /// The tab.
    pub tab: String,
    /// The cell.
    pub position: Position,
}

/// Writes values into cells of an `.xlsx` or `.xlsm` and keeps every other byte of its parts.
///
/// Untouched parts keep their packed bytes, order, times and attributes. In a touched tab only the
/// touched cells differ, besides the tab's record of its used area and of a row's reach where a new
/// cell lies beyond them. A cell that already holds the value is not touched, so writing twice is
/// writing once. Formulas that depend on a change, through any tab and any defined name, lose their
/// saved results, and the workbook asks to be recalculated when it is opened. The result is opened
/// again and compared with the original before it is returned.
///
/// # Errors
/// All of them in one list, and then nothing is written: `missing-tab`, `asked-twice`,
/// `merged-cell`, `formula-in-the-way`, `protected-tab`, `signed-workbook`, `table-header`,
/// `text-too-long`, `too-large` for a number that is not finite, `unreadable-file`, `hostile-file`;
/// `unwritable-file` for a kind of file that is only read; `ours` if the result does not stand the comparison.
///
/// # Example
/// ```
/// use standstill::spreadsheet::{Allow, Edit, NewValue, Position, write_cells};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// # let mut fresh = rust_xlsxwriter::Workbook::new();
/// # fresh.add_worksheet().set_name("Inputs")?.write(0, 0, 1.5)?;
/// # let original = fresh.save_to_buffer()?;
/// let cell = Position::parse("B1").ok_or("no cell")?;
/// let edit = Edit::new("Inputs", cell, NewValue::Number(0.25));
/// let written = write_cells("Book.xlsx", &original, &[edit.clone()], Allow::default())
///     .map_err(|problems| problems[0].headline.clone())?;
/// assert_eq!(written.changed.len(), 1);
/// let again = write_cells("Book.xlsx", &written.bytes, &[edit], Allow::default())
///     .map_err(|problems| problems[0].headline.clone())?;
/// assert_eq!(again.bytes, written.bytes);
/// # Ok(())
/// # }
/// ```
pub fn write_cells(
    name: &str,
    original: &[u8],
    edits: &[Edit],
    allow: Allow,
) -> Result<Written, Problems> {
    if let Some(problem) = refuse::other_kind(name) {
        return Err(problem.into());
    }
    let mut archive = Archive::open(name, original, &Limits::default())?;
    let layout = Layout::read(&mut archive)?;
    let styles = read_styles(&mut archive, &layout)?;
    shared_texts_where_expected(&archive, &layout)?;
    let mut writing =
        Writing { file: name, archive, layout, styles, allow, pages: BTreeMap::new() };
    let accepted = writing.accept(edits)?;
    if accepted.iter().all(|one| one.edit.of_formula && one.edit.value.is_held(&one.old)) {
        return Ok(writing.unchanged(original));
    }
    writing.finish(original, &accepted)
}

/// One call at work.
struct Writing<'a> {
    file: &'a str,
    archive: Archive<'a>,
    layout: Layout,
    styles: Styles,
    allow: Allow,
    /// The tabs read so far, by their order in the workbook.
    pages: BTreeMap<usize, Page>,
}

/// A tab's part and its scan.
struct Page {
    part: Part,
    sheet: Sheet,
}

/// An edit that will be carried out.
struct Accepted<'e> {
    tab: usize,
    edit: &'e Edit,
    old: Cell,
    /// The style for a cell that is not stored yet.
    style: Option<u32>,
}

impl<'e> Accepted<'e> {
    /// An edit of a cell that holds `old`, or why it must not be done; none where it changes nothing.
    fn of(
        tab: usize,
        edit: &'e Edit,
        old: Cell,
        refusal: &refuse::Refusal<'_>,
    ) -> Option<Result<Self, Diagnostic>> {
        let cell = refusal.sheet.cell(edit.position);
        let has_formula = cell.is_some_and(|cell| cell.formula.is_some());
        let style = refusal.sheet.style(edit.style_of.unwrap_or(edit.position));
        if edit.of_formula {
            return has_formula.then_some(Ok(Self { tab, edit, old, style }));
        }
        if edit.value.is_held(&old) && !has_formula {
            return None;
        }
        Some(refusal.of(edit).map_or(Ok(Self { tab, edit, old, style }), Err))
    }
}

impl<'a> Writing<'a> {
    fn unchanged(&self, original: &[u8]) -> Written {
        Written { bytes: original.to_vec(), ..Written::default() }
    }

    /// Sorts out the edits that change nothing and refuses those that must not be done.
    fn accept<'e>(&mut self, edits: &'e [Edit]) -> Result<Vec<Accepted<'e>>, Problems> {
        let mut problems = Vec::new();
        let by_place = self.by_place(edits, &mut problems);
        // they may be many: read once the first cell needs them
        let mut texts: Option<Texts> = None;
        let none = Texts::default();
        let mut accepted = Vec::new();
        let mut tables = BTreeMap::new();
        for ((tab, position), edit) in by_place {
            self.load(tab)?;
            let tables = match tables.entry(tab) {
                Entry::Occupied(known) => known.into_mut(),
                Entry::Vacant(free) => {
                    free.insert(refuse::tables(&mut self.archive, &self.layout, tab)?)
                }
            };
            let Some(page) = self.pages.get(&tab) else { continue };
            let cell = page.sheet.cell(position);
            let old = match cell {
                Some(cell) => {
                    if cell.kind == Kind::SharedText && texts.is_none() {
                        texts = Some(Texts::read(&mut self.archive, &self.layout)?);
                    }
                    value(&page.part.text, cell, texts.as_ref().unwrap_or(&none))
                        .map_err(|words| vec![self.archive.broken(&words)])?
                }
                None => Cell::Empty,
            };
            let refusal = refuse::Refusal {
                file: self.file,
                tab: self.tab_name(tab),
                sheet: &page.sheet,
                whole: &page.sheet,
                styles: &self.styles,
                allow: self.allow,
                tables,
            };
            match Accepted::of(tab, edit, old, &refusal) {
                Some(Ok(one)) => accepted.push(one),
                Some(Err(problem)) => problems.push(problem),
                None => {}
            }
        }
        if !accepted.is_empty() && self.layout.signed && !self.allow.signature {
            problems.push(refuse::signed(self.file));
        }
        put_in_order(&mut problems);
        if problems.is_empty() { Ok(accepted) } else { Err(problems.into()) }
    }

    /// The edits by tab and place; names the tabs that are not there and the cells asked twice.
    fn by_place<'e>(
        &self,
        edits: &'e [Edit],
        problems: &mut Vec<Diagnostic>,
    ) -> BTreeMap<(usize, Position), &'e Edit> {
        let mut by_place: BTreeMap<(usize, Position), &Edit> = BTreeMap::new();
        let mut missing = BTreeSet::new();
        for edit in edits {
            match self.layout.tab(&edit.tab) {
                Some((at, tab)) if tab.kind == TabKind::Cells => {
                    let before = by_place.insert((at, edit.position), edit);
                    if before.is_some_and(|before| before.value != edit.value) {
                        problems.push(refuse::asked_twice(self.file, &tab.name, edit));
                    }
                }
                found => {
                    if missing.insert(edit.tab.to_lowercase()) {
                        let known = found.map(|_| "it holds a chart or a dialogue, not cells");
                        problems
                            .push(refuse::missing_tab(self.file, &edit.tab, known, &self.layout));
                    }
                }
            }
        }
        by_place
    }

    fn tab_name(&self, tab: usize) -> &str {
        self.layout.tabs.get(tab).map_or("", |tab| tab.name.as_str())
    }

    fn load(&mut self, tab: usize) -> Result<(), Problems> {
        if self.pages.contains_key(&tab) {
            return Ok(());
        }
        let Some(known) = self.layout.tabs.get(tab) else { return Ok(()) };
        let part = self.archive.need(&known.part)?;
        let sheet = Sheet::scan(&part.text).map_err(|words| {
            vec![unreadable(self.file, &format!("its tab `{}`: {words}", known.name))]
        })?;
        self.pages.insert(tab, Page { part, sheet });
        Ok(())
    }

    fn finish(mut self, original: &[u8], accepted: &[Accepted<'_>]) -> Result<Written, Problems> {
        for tab in 0..self.layout.tabs.len() {
            if self.layout.tabs.get(tab).is_some_and(|tab| tab.kind == TabKind::Cells) {
                self.load(tab)?;
            }
        }
        let mut touched = Touched::default();
        let (of_formulas, values): (Vec<_>, Vec<_>) =
            accepted.iter().partition(|one| one.edit.of_formula);
        values.iter().for_each(|one| touched.insert(one.tab, one.edit.position));
        let sheets = self.pages.iter().map(|(tab, page)| (*tab, &page.sheet)).collect();
        let tables = tables::all(&mut self.archive, &self.layout)?;
        let mut dependents = dependents::dependants(&self.layout, &tables, &sheets, &touched);
        of_formulas.iter().for_each(|one| dependents.keep_result(one.tab, one.edit.position));
        let mut parts = self.spliced(accepted, &dependents)?;
        if !dependents.is_empty()
            && let Some((index, text)) = recalculate::workbook(&mut self.archive, &self.layout)?
        {
            parts.insert(index, Content::Whole(text));
        }
        let mut dropped = BTreeSet::new();
        if values.iter().any(|one| self.has_formula(one)) {
            self.drop_calc_chain(&mut parts, &mut dropped)?;
        }
        let bytes = repack::repack(&mut self.archive, &mut parts, &dropped)
            .map_err(|words| internal(self.file, &words))?;
        verify::verify(&mut self.archive, &bytes, &parts, &dropped)
            .map_err(|words| internal(self.file, &words))?;
        careful(self.file, || verify::reads_back(&bytes, &self.layout, &self.pages, accepted))
            .map_err(
                // the reader may be stricter than our scan, but then it refuses the original as well
                |words| match Book::read(self.file, original) {
                    Ok(_) => {
                        let words = words.first().map_or("", |problem| problem.headline.as_str());
                        internal(self.file, words).into()
                    }
                    Err(problems) => problems,
                },
            )?;
        Ok(self.written(bytes, accepted, &dependents))
    }

    fn written(
        &self,
        bytes: Vec<u8>,
        accepted: &[Accepted<'_>],
        dependents: &dependents::Dependents,
    ) -> Written {
        let values = accepted.iter().filter(|one| !one.edit.of_formula);
        let changed = values.map(|one| Change {
            tab: self.tab_name(one.tab).to_owned(),
            position: one.edit.position,
            old: one.old.clone(),
            new: one.edit.value.as_cell(),
        });
        let cautions = if self.layout.pivots { vec![pivots(self.file)] } else { Vec::new() };
        let to_recalculate = dependents.to_text(&self.layout);
        let outdated = dependents.cells_text(&self.layout);
        let possible = dependents.possible_text(&self.layout);
        Written { bytes, changed: changed.collect(), to_recalculate, outdated, possible, cautions }
    }

    fn has_formula(&self, one: &Accepted<'_>) -> bool {
        let page = self.pages.get(&one.tab);
        let cell = page.and_then(|page| page.sheet.cell(one.edit.position));
        cell.is_some_and(|cell| cell.formula.is_some())
    }

    /// The new text of every tab that changes.
    fn spliced(
        &self,
        accepted: &[Accepted<'_>],
        dependents: &dependents::Dependents,
    ) -> Result<BTreeMap<usize, Content<'static>>, Problems> {
        let mut parts = BTreeMap::new();
        for (tab, page) in &self.pages {
            let edits: Vec<&Accepted<'_>> = accepted.iter().filter(|one| one.tab == *tab).collect();
            let cells: Vec<Position> = dependents.cells_of(*tab).collect();
            if edits.is_empty() && cells.is_empty() {
                continue;
            }
            let text = splice::splice(&page.part.text, &page.sheet, &edits, &cells);
            let touched: BTreeSet<Position> =
                edits.iter().map(|one| one.edit.position).chain(cells).collect();
            let before = (page.part.text.as_str(), &page.sheet);
            Sheet::scan(&text)
                .and_then(|fresh| {
                    let after = (text.as_str(), &fresh);
                    verify::only_touched_differ(before, after, &|cell| touched.contains(&cell))
                })
                .map_err(|words| internal(self.file, &words))?;
            let known = self.layout.tabs.get(*tab);
            let index = known.and_then(|known| self.archive.find(&known.part));
            let index = index.ok_or_else(|| vec![internal(self.file, "a tab's part is lost")])?;
            parts.insert(index, Content::Whole(with_mark(&page.part, text)));
        }
        Ok(parts)
    }

    /// The order of calculation names a formula that is gone; the part is a cache and may go.
    fn drop_calc_chain(
        &mut self,
        parts: &mut BTreeMap<usize, Content<'static>>,
        dropped: &mut BTreeSet<usize>,
    ) -> Result<(), Problems> {
        let Some(chain) = self.layout.calc_chain.clone() else { return Ok(()) };
        let Some(index) = self.archive.find(&chain) else { return Ok(()) };
        let related = crate::spreadsheet::read::archive::relationships_of(&self.layout.workbook);
        for (name, element, attribute) in
            [("[Content_Types].xml", "Override", "PartName"), (&related, "Relationship", "Target")]
        {
            let part = self.archive.need(name)?;
            let base = if element == "Override" { "" } else { self.layout.workbook.as_str() };
            let text = recalculate::without(&part.text, element, attribute, base, &chain)
                .map_err(|words| vec![unreadable(self.file, &words)])?;
            if let Some(index) = self.archive.find(name) {
                parts.insert(index, Content::Whole(with_mark(&part, text)));
            }
        }
        dropped.insert(index);
        Ok(())
    }
}

fn with_mark(part: &Part, text: String) -> Vec<u8> {
    if part.marked { format!("\u{feff}{text}").into_bytes() } else { text.into_bytes() }
}

fn internal(file: &str, words: &str) -> Diagnostic {
    Diagnostic::error(
        Name::Internal,
        format!("the filled workbook is not what it should be: {words}"),
    )
    .at(Place::File { name: file.to_owned() })
    .remedy("nothing was written; please report it with the workbook")
}

fn pivots(file: &str) -> Diagnostic {
    Diagnostic::caution(
        Name::StaleFigures,
        "its pivot tables show the figures of before until they are refreshed",
    )
    .at(Place::File { name: file.to_owned() })
    .remedy("open the workbook and refresh all pivot tables")
}
