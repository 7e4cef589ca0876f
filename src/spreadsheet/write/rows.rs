//! The rows of one tab read, worked on and written piece by piece; memory does not grow with them.
//!
//! A piece is whole rows. Its new text is scanned again and compared with the old before it is packed;
//! the packed file is read once more by its sum, and [samples](super::samples) of it by the library that
//! reads workbooks.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;

use super::crosscheck::Checksum;
use super::repack::{Content, repack};
use super::samples::Samples;
use super::touched::Touched;
use super::{
    Accepted, Allow, Edit, Stale, dependents, internal, pivots, recalculate, refuse, splice, verify,
};
use crate::diagnostic::{Diagnostic, Problems, put_in_order};
use crate::spreadsheet::model::book::{Book, Tab, merged_among};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::position::{Area, Position};
use crate::spreadsheet::model::views::cover;
use crate::spreadsheet::read::archive::{Archive, relationships_of};
use crate::spreadsheet::read::foreign::careful;
use crate::spreadsheet::read::guard::Limits;
use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::stream::in_order::in_order;
use crate::spreadsheet::read::stream::outline::{PIECE, Parts, RowBook, Stored, styles_of};
use crate::spreadsheet::read::stream::pieces::{Piece, Pieces};
use crate::spreadsheet::read::stream::values::value;
use crate::spreadsheet::read::tables;

/// Cells that must not be written, as many as are reported.
const TOLD: usize = 1000;

/// Which rows belong together.
pub(crate) struct Plan {
    /// The tab.
    pub(crate) tab: String,
    /// The last row of each piece, rising; what stands behind the last of them needs no work.
    pub(crate) last_rows: Vec<u32>,
    /// The cells that may be filled, for the used area that the tab tells.
    pub(crate) reach: Option<Area>,
    /// How many threads work.
    pub(crate) threads: usize,
}

/// What is to be done with a piece: its number, if it has one in the plan, and its rows as a workbook of
/// their own.
pub(crate) type Work<'w, T> = &'w (dyn Fn(Option<usize>, &Book) -> T + Sync);

/// A workbook after its rows were written, and what became of it.
#[derive(Clone, Debug, Default)]
pub struct RowsWritten {
    /// The whole file; the very bytes that came in if nothing had to change.
    pub bytes: Vec<u8>,
    /// How many cells changed.
    pub changed: usize,
    /// The formulas that depend on them, as in [`Written`](super::Written).
    pub to_recalculate: Vec<Stale>,
    /// The cells that show their results, as in [`Written`](super::Written).
    pub outdated: Vec<Stale>,
    /// Cells that may be out of date, as in [`Written`](super::Written).
    pub possible: Vec<Stale>,
    /// What the person should know, as in [`Written`](super::Written).
    pub cautions: Vec<Diagnostic>,
}

impl RowBook<'_> {
    /// Reads the rows of the plan's tab and hands what `work` makes of each piece to `each`, in order.
    pub(crate) fn read_rows<T: Send>(
        &self,
        plan: &Plan,
        work: Work<'_, T>,
        each: &mut dyn FnMut(T),
    ) -> Result<(), Problems> {
        let parts = match &self.stored {
            Stored::Parts(parts) => parts,
            Stored::Lines(lines) => return self.read_lines(lines, plan, work, each),
            Stored::Memory => return self.read_memory(plan, work, each),
            Stored::Ods(archive) => return self.read_ods(archive, plan, work, each),
        };
        let rows = Rows::of(&self.book, parts, plan)?;
        let mut passed = StreamState::default();
        (passed.opening, passed.closing) = rows.each_piece(
            &|piece| rows.piece(piece).map(|known| (work(known.number, &known.book), known)),
            &mut |made: Result<_, String>| {
                let (made, known) = made.map_err(|words| parts.broken(&plan.tab, &words))?;
                let held = known.held(&|_| false);
                passed.held.join(held);
                passed.samples.take(known.text, held, known.sheet.odd);
                each(made);
                Ok(())
            },
        )?;
        rows.crosscheck(self.bytes, &passed, &|_| false)
    }

    /// Writes what `work` says into the rows of the plan's tab, and keeps every other byte of the parts
    /// as [`write_cells`](super::write_cells) does; `each` is handed what else `work` makes, in order.
    pub(crate) fn write_rows<T: Send>(
        &self,
        plan: &Plan,
        work: Work<'_, (Vec<Edit>, T)>,
        each: &mut (dyn FnMut(T) + Send),
    ) -> Result<RowsWritten, Problems> {
        let parts = match &self.stored {
            Stored::Parts(parts) => parts,
            Stored::Lines(lines) => return self.write_lines(lines, plan, work, each),
            Stored::Memory | Stored::Ods(_) => {
                return Err(internal(&self.book.name, "the file is not filled in place").into());
            }
        };
        let rows = Rows::of(&self.book, parts, plan)?;
        let mut writing = RowWriting {
            file: &self.book.name,
            bytes: self.bytes,
            parts,
            rows: &rows,
            touched: Touched::default(),
            passed: StreamState::default(),
            changed: 0,
            problems: Vec::new(),
        };
        writing.run(work, each)
    }
}

/// The rows of a tab.
struct Rows<'a> {
    book: &'a Book,
    parts: &'a Parts<'a>,
    plan: &'a Plan,
    /// The tab, by its order in the workbook.
    tab: usize,
    /// Everything of it but its rows.
    whole: &'a Sheet,
    /// The part in the container.
    index: usize,
    /// Cells calculated by formulas: their saved results may go.
    formulas: Vec<Position>,
    tables: Vec<(String, Area)>,
}

/// A piece that was read.
struct ScannedPiece {
    text: String,
    next: u32,
    sheet: Sheet,
    /// Its rows as a workbook of their own.
    book: Book,
    /// Which of the plan's pieces it is.
    number: Option<usize>,
    /// Its cells that no formula calculates.
    stored: Vec<(Position, Checksum)>,
}

impl ScannedPiece {
    fn held(&self, touched: &dyn Fn(Position) -> bool) -> Checksum {
        let mut held = Checksum::default();
        for (_, one) in self.stored.iter().filter(|(cell, _)| !touched(*cell)) {
            held.join(*one);
        }
        held
    }
}

type PieceOf = (Option<usize>, Piece);

impl<'a> Rows<'a> {
    fn of(book: &'a Book, parts: &'a Parts<'a>, plan: &'a Plan) -> Result<Self, Problems> {
        let file = parts.archive.file.as_str();
        let lost = || vec![internal(file, "a tab's part is lost")];
        let (tab, part) = parts.layout.tab(&plan.tab).ok_or_else(lost)?;
        let whole = parts.sheets.get(&tab).ok_or_else(lost)?;
        let index = parts.archive.find(&part.part).ok_or_else(lost)?;
        let mut formulas: Vec<Position> =
            whole.formulas.iter().map(|formula| formula.position).collect();
        formulas.extend(&whole.in_blocks);
        formulas.sort_unstable();
        let mut archive = parts.archive.again();
        let tables = refuse::tables(&mut archive, &parts.layout, tab)?;
        Ok(Self { book, parts, plan, tab, whole, index, formulas, tables })
    }

    /// The library that reads workbooks must find the values that were written, and of all others those
    /// that were read here.
    fn crosscheck(
        &self,
        bytes: &[u8],
        passed: &StreamState,
        written: &dyn Fn(Position) -> bool,
    ) -> Result<(), Problems> {
        let passed_over = |cell: Position| self.formulas.binary_search(&cell).is_ok();
        let name = self.parts.layout.tabs.get(self.tab).map_or("", |tab| tab.name.as_str());
        let by_library = |bytes: &[u8]| {
            careful(&self.book.name, || Checksum::by_library(bytes, name, &passed_over, written))
        };
        let (found, held) = match passed.samples.part(&passed.opening, &passed.closing) {
            Some((part, held)) => (by_library(&self.alone(part)?)?, held),
            None => (by_library(bytes)?, passed.held),
        };
        if found == held {
            Ok(())
        } else {
            Err(self.parts.broken(&self.plan.tab, "a cell of it can be read in two ways"))
        }
    }

    /// A workbook of this tab with that part, and of what the library needs beside it.
    fn alone(&self, part: String) -> Result<Vec<u8>, Problems> {
        let Parts { archive, layout, .. } = self.parts;
        let related = relationships_of(&layout.workbook);
        let beside = [Some("[Content_Types].xml"), Some("_rels/.rels"), Some(related.as_str())];
        let named = [Some(&layout.workbook), layout.styles.as_ref(), layout.shared_texts.as_ref()];
        let named = named.into_iter().map(|part| part.map(String::as_str));
        let mut needed: BTreeSet<usize> = beside
            .into_iter()
            .chain(named)
            .flatten()
            .filter_map(|part| archive.find(part))
            .collect();
        needed.insert(self.index);
        let dropped = (0..archive.zip.len()).filter(|index| !needed.contains(index)).collect();
        let mut parts = BTreeMap::from([(self.index, Content::Whole(part.into_bytes()))]);
        repack(&mut archive.again(), &mut parts, &dropped)
            .map_err(|words| internal(&self.book.name, &words).into())
    }

    /// Cuts the tab into the pieces of the plan and those behind; what stands before and behind them.
    fn each_piece<O: Send>(
        &self,
        work: &(dyn Fn(PieceOf) -> O + Sync),
        sink: &mut dyn FnMut(O) -> Result<(), Problems>,
    ) -> Result<(String, String), Problems> {
        let broken = |words: String| self.parts.broken(&self.plan.tab, &words);
        let mut zip = self.parts.archive.zip.clone();
        let entry = zip.by_index(self.index).map_err(|error| broken(error.to_string()))?;
        let (opening, mut pieces) = Pieces::open(entry).map_err(broken)?;
        let mut lasts = self.plan.last_rows.iter().copied().enumerate();
        let mut source = || {
            let (number, last) = lasts.next().unzip();
            let piece = pieces.next(last, PIECE).map_err(broken)?;
            Ok(piece.map(|piece| (number, piece)))
        };
        in_order(self.plan.threads, &mut source, work, sink)?;
        Ok((opening.text, pieces.closing().map_err(broken)?))
    }

    fn piece(&self, (number, piece): PieceOf) -> Result<ScannedPiece, String> {
        let mut stored = Vec::new();
        let (mut sheet, mut entries) = self.parts.scanned(&piece, &mut |span, cell| {
            if span.formula.is_none() && self.formulas.binary_search(&span.position).is_err() {
                stored.push((span.position, Checksum::one(span.position, cell)));
            }
        })?;
        sheet.columns.clone_from(&self.whole.columns);
        sheet.prefix.clone_from(&self.whole.prefix);
        let merged = merged_among(&self.whole.merged, &entries);
        cover(&mut entries, &merged);
        let plain = Tab::plain(self.plan.tab.clone(), entries);
        let outline = self.book.tab(&self.plan.tab);
        let formulas = outline.map(|tab| tab.formulas.clone()).unwrap_or_default();
        let tab = Tab {
            merged,
            protected: self.whole.protected,
            sheet_styles: styles_of(&sheet, self.whole),
            styles: std::sync::Arc::clone(&self.parts.styles),
            rules: outline.map(|tab| std::sync::Arc::clone(&tab.rules)).unwrap_or_default(),
            formulas,
            room: outline.and_then(|tab| tab.room.clone()),
            notes: outline.map(|tab| tab.notes.clone()).unwrap_or_default(),
            partial: true,
            ..plain
        };
        let book = self.book.of_tab(tab);
        let Piece { text, next } = piece;
        Ok(ScannedPiece { text, next, sheet, book, number, stored })
    }
}

/// What has passed by of a tab, for the library to read as well.
#[derive(Default)]
struct StreamState {
    opening: String,
    closing: String,
    held: Checksum,
    samples: Samples,
}

struct RowWriting<'a> {
    file: &'a str,
    bytes: &'a [u8],
    parts: &'a Parts<'a>,
    rows: &'a Rows<'a>,
    touched: Touched,
    passed: StreamState,
    changed: usize,
    problems: Vec<Diagnostic>,
}

/// A piece that was worked on.
struct RewrittenPiece<T> {
    text: String,
    touched: Vec<Position>,
    held: Checksum,
    /// How many rows and cells are stored in an unusual way.
    odd: usize,
    problems: Vec<Diagnostic>,
    report: T,
}

impl RowWriting<'_> {
    fn run<T: Send>(
        &mut self,
        work: Work<'_, (Vec<Edit>, T)>,
        each: &mut (dyn FnMut(T) + Send),
    ) -> Result<RowsWritten, Problems> {
        let file = self.file;
        let rows = self.rows;
        let mut archive = self.parts.archive.again();
        let (bytes, flown) = self.packed(&mut archive, work, each)?;
        if self.changed > 0 && self.parts.layout.signed {
            self.problems.push(refuse::signed(file));
        }
        if !self.problems.is_empty() {
            put_in_order(&mut self.problems);
            return Err(std::mem::take(&mut self.problems).into());
        }
        if self.changed == 0 {
            // the rows were read for nothing but to say so; the library has to agree all the same
            let bytes = self.bytes.to_vec();
            self.crosscheck(&bytes)?;
            return Ok(self.written(bytes, &dependents::Dependents::default()));
        }
        let mut contents = BTreeMap::from([(rows.index, flown)]);
        let sheets = self.parts.sheets.iter().map(|(tab, sheet)| (*tab, sheet)).collect();
        let tables = tables::all(&mut self.parts.archive.again(), &self.parts.layout)?;
        let found = dependents::dependants(&self.parts.layout, &tables, &sheets, &self.touched);
        let bytes = if found.is_empty() {
            bytes
        } else {
            self.without_results(&bytes, &found, &mut contents)?
        };
        std::thread::scope(|scope| {
            let crosscheck = scope.spawn(|| self.crosscheck(&bytes));
            let same = verify::verify(&mut archive, &bytes, &contents, &BTreeSet::new())
                .map_err(|words| internal(file, &words).into());
            let crosscheck =
                crosscheck.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
            same.and(crosscheck)
        })?;
        Ok(self.written(bytes, &found))
    }

    /// The file with the tab's new text, and length and sum of that.
    fn packed<T: Send>(
        &mut self,
        archive: &mut Archive<'_>,
        work: Work<'_, (Vec<Edit>, T)>,
        each: &mut (dyn FnMut(T) + Send),
    ) -> Result<(Vec<u8>, Content<'static>), Problems> {
        let (file, index) = (self.file, self.rows.index);
        let mut failed = Problems::default();
        let (packed, flown) = {
            let flow = |out: &mut dyn Write| {
                self.flow(work, each, out).map_err(|problems| {
                    failed = problems;
                    String::new()
                })
            };
            let mut contents = BTreeMap::from([(index, Content::Flowing(Box::new(flow)))]);
            let packed = repack(archive, &mut contents, &BTreeSet::new());
            let flown = match contents.remove(&index) {
                Some(Content::Flown(length, sum)) => Content::Flown(length, sum),
                _ => Content::Flown(0, 0),
            };
            (packed, flown)
        };
        match packed {
            _ if !failed.is_empty() => Err(failed),
            Ok(bytes) => Ok((bytes, flown)),
            Err(words) => Err(internal(file, &words).into()),
        }
    }

    fn written(&self, bytes: Vec<u8>, found: &dependents::Dependents) -> RowsWritten {
        let layout = &self.parts.layout;
        let dependents = self.changed > 0 && layout.pivots;
        RowsWritten {
            bytes,
            changed: self.changed,
            to_recalculate: found.to_text(layout),
            outdated: found.cells_text(layout),
            possible: found.possible_text(layout),
            cautions: if dependents { vec![pivots(self.file)] } else { Vec::new() },
        }
    }

    fn crosscheck(&self, bytes: &[u8]) -> Result<(), Problems> {
        let written = |cell: Position| self.touched.contains(self.rows.tab, cell);
        self.rows.crosscheck(bytes, &self.passed, &written)
    }

    /// The tab's new text, piece by piece.
    fn flow<T: Send>(
        &mut self,
        work: Work<'_, (Vec<Edit>, T)>,
        each: &mut (dyn FnMut(T) + Send),
        out: &mut dyn Write,
    ) -> Result<(), Problems> {
        let rows = self.rows;
        let broken = |words: String| rows.parts.broken(&rows.plan.tab, &words);
        let cut = |error: std::io::Error| vec![internal(&rows.book.name, &error.to_string())];
        let mut zip = rows.parts.archive.zip.clone();
        let entry = zip.by_index(rows.index).map_err(|error| broken(error.to_string()))?;
        let (opening, mut pieces) = Pieces::open(entry).map_err(broken)?;
        if opening.marked {
            out.write_all("\u{feff}".as_bytes()).map_err(cut)?;
        }
        let head = match rows.plan.reach {
            Some(reach) => splice::widened(&opening.text, &opening.sheet, reach),
            None => opening.text,
        };
        out.write_all(head.as_bytes()).map_err(cut)?;
        let mut lasts = rows.plan.last_rows.iter().copied().enumerate();
        let mut source = || {
            let (number, last) = lasts.next().unzip();
            let piece = pieces.next(last, PIECE).map_err(broken)?;
            Ok::<_, Vec<Diagnostic>>(piece.map(|piece| (number, piece)))
        };
        let mut sink = |made: Result<RewrittenPiece<T>, Problems>| {
            let made = made?;
            self.changed += made.touched.len();
            for cell in made.touched {
                self.touched.insert(rows.tab, cell);
            }
            self.passed.held.join(made.held);
            let room = TOLD.saturating_sub(self.problems.len());
            self.problems.extend(made.problems.into_iter().take(room));
            each(made.report);
            out.write_all(made.text.as_bytes()).map_err(cut)?;
            self.passed.samples.take(made.text, made.held, made.odd);
            Ok(())
        };
        in_order(rows.plan.threads, &mut source, &|piece| rows.made(piece, work), &mut sink)?;
        let closing = pieces.closing().map_err(broken)?;
        out.write_all(closing.as_bytes()).map_err(cut)?;
        (self.passed.opening, self.passed.closing) = (head, closing);
        Ok(())
    }

    /// The file once more, without the saved results of formulas that depend on what was written.
    fn without_results(
        &self,
        bytes: &[u8],
        found: &dependents::Dependents,
        contents: &mut BTreeMap<usize, Content<'_>>,
    ) -> Result<Vec<u8>, Problems> {
        let parts = self.parts;
        let limits = Limits { rows_pass: true, ..Limits::default() };
        let mut archive = Archive::open(self.file, bytes, &limits)?;
        let source = archive.again();
        let mut fresh = BTreeMap::new();
        for tab in found.tabs() {
            let part = parts.layout.tabs.get(tab).map_or("", |tab| tab.part.as_str());
            let Some(index) = archive.find(part) else { continue };
            let zip = source.zip.clone();
            let flow = move |out: &mut dyn Write| forget(zip, index, tab, found, out);
            fresh.insert(index, Content::Flowing(Box::new(flow)));
        }
        let (index, text) = match recalculate::workbook(&mut archive.again(), &parts.layout)? {
            Some(changed) => changed,
            None => (usize::MAX, Vec::new()),
        };
        if index != usize::MAX {
            fresh.insert(index, Content::Whole(text));
        }
        let bytes = repack(&mut archive, &mut fresh, &BTreeSet::new())
            .map_err(|words| vec![internal(self.file, &words)])?;
        for (index, content) in fresh {
            let done = match content {
                Content::Whole(text) => Content::Whole(text),
                Content::Flown(length, sum) => Content::Flown(length, sum),
                Content::Flowing(_) => {
                    return Err(internal(self.file, "a part was not written").into());
                }
            };
            contents.insert(index, done);
        }
        Ok(bytes)
    }
}

/// Takes saved results out of a tab's part.
fn forget(
    mut zip: crate::spreadsheet::read::archive::Zip<'_>,
    index: usize,
    tab: usize,
    found: &dependents::Dependents,
    out: &mut dyn Write,
) -> Result<(), String> {
    let entry = zip.by_index(index).map_err(|error| error.to_string())?;
    let (opening, mut pieces) = Pieces::open(entry)?;
    let mut put = |text: &str| out.write_all(text.as_bytes()).map_err(|error| error.to_string());
    if opening.marked {
        put("\u{feff}")?;
    }
    put(&opening.text)?;
    while let Some(piece) = pieces.next(None, PIECE)? {
        let sheet = Sheet::piece(&piece.text, piece.next)?;
        let (Some(first), Some(last)) = (sheet.rows.first(), sheet.rows.last()) else {
            put(&piece.text)?;
            continue;
        };
        let cells = found.cells_within(tab, first.row..=last.row);
        let text = splice::splice(&piece.text, &sheet, &[], &cells);
        let fresh = Sheet::piece(&text, piece.next)?;
        verify::only_touched_differ((&piece.text, &sheet), (&text, &fresh), &|cell| {
            cells.contains(&cell)
        })?;
        put(&text)?;
    }
    put(&pieces.closing()?)
}

impl Rows<'_> {
    /// A piece with its new text.
    fn made<T>(
        &self,
        piece: PieceOf,
        work: Work<'_, (Vec<Edit>, T)>,
    ) -> Result<RewrittenPiece<T>, Problems> {
        let broken = |words: String| self.parts.broken(&self.plan.tab, &words);
        let known = self.piece(piece).map_err(broken)?;
        let (edits, report) = work(known.number, &known.book);
        let (accepted, problems) = self.accept(&known, &edits).map_err(broken)?;
        let mut touched: Vec<Position> = accepted.iter().map(|one| one.edit.position).collect();
        touched.sort_unstable();
        let is_touched = |cell: Position| touched.binary_search(&cell).is_ok();
        let mut held = known.held(&is_touched);
        for one in &accepted {
            held.add_written(one.edit.position, &one.edit.value);
        }
        let text = if accepted.is_empty() {
            known.text
        } else {
            let edits: Vec<&Accepted<'_>> = accepted.iter().collect();
            let text = splice::splice(&known.text, &known.sheet, &edits, &[]);
            let before = (known.text.as_str(), &known.sheet);
            Sheet::piece(&text, known.next)
                .and_then(|fresh| verify::only_touched_differ(before, (&text, &fresh), &is_touched))
                .map_err(|words| internal(&self.book.name, &words))?;
            text
        };
        Ok(RewrittenPiece { text, touched, held, odd: known.sheet.odd, problems, report })
    }

    /// Sorts out the edits that change nothing and refuses those that must not be done.
    fn accept<'e>(
        &self,
        known: &ScannedPiece,
        edits: &'e [Edit],
    ) -> Result<(Vec<Accepted<'e>>, Vec<Diagnostic>), String> {
        let (mut accepted, mut problems) = (Vec::with_capacity(edits.len()), Vec::new());
        let refusal = refuse::Refusal {
            file: &self.book.name,
            tab: &self.plan.tab,
            sheet: &known.sheet,
            whole: self.whole,
            styles: &self.parts.styles,
            allow: Allow::default(),
            tables: &self.tables,
        };
        for edit in edits {
            let cell = known.sheet.cell(edit.position);
            let old = match cell {
                Some(cell) => value(&known.text, cell, &self.parts.texts)?,
                None => Cell::Empty,
            };
            match Accepted::of(self.tab, edit, old, &refusal) {
                Some(Ok(one)) => accepted.push(one),
                Some(Err(problem)) if problems.len() < TOLD => problems.push(problem),
                _ => {}
            }
        }
        Ok((accepted, problems))
    }
}
