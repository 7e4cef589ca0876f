//! Which formulas depend on a change, directly or through others.
//!
//! Those that certainly do lose their saved results. Those that only may, through a reference that no reading of their
//! text can resolve, keep them: the workbook is recalculated when it is opened.

use std::collections::{BTreeMap, BTreeSet, HashMap, VecDeque};
use std::ops::RangeInclusive;

use super::Stale;
use super::touched::Touched;
use crate::spreadsheet::formula::{Mention, Selection, TableRows, mentions, shifted};
use crate::spreadsheet::model::formulas::Shape;
use crate::spreadsheet::model::position::{Area, COLUMNS, Position};
use crate::spreadsheet::read::layout::Layout;
use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::tables::Table;

/// The formulas found, and every cell whose saved result comes from one of them.
#[derive(Default)]
pub(super) struct Dependents {
    pub(super) formulas: BTreeSet<(usize, Position)>,
    cells: BTreeSet<(usize, Position)>,
    /// Cells of formulas that may depend on the change.
    possible: BTreeSet<(usize, Position)>,
}

impl Dependents {
    /// The formulas, as they are reported.
    pub(super) fn to_text(&self, layout: &Layout) -> Vec<Stale> {
        named(layout, self.formulas.iter())
    }

    /// The cells, as they are reported.
    pub(super) fn cells_text(&self, layout: &Layout) -> Vec<Stale> {
        named(layout, self.cells.iter())
    }

    /// Cells whose formulas may depend on the change, as they are reported.
    pub(super) fn possible_text(&self, layout: &Layout) -> Vec<Stale> {
        named(layout, self.possible.iter())
    }

    /// Whether nothing depends on the change, and nothing may.
    pub(super) fn is_empty(&self) -> bool {
        self.formulas.is_empty() && self.possible.is_empty()
    }

    /// Takes out a formula whose new result is known and is saved with it.
    pub(super) fn keep_result(&mut self, tab: usize, cell: Position) {
        self.cells.remove(&(tab, cell));
        self.possible.remove(&(tab, cell));
    }

    /// The tabs that hold such cells.
    pub(super) fn tabs(&self) -> BTreeSet<usize> {
        self.cells.iter().map(|(tab, _)| *tab).collect()
    }

    /// Those of a tab that stand in some rows.
    pub(super) fn cells_within(&self, tab: usize, rows: RangeInclusive<u32>) -> Vec<Position> {
        let from = (tab, Position { row: *rows.start(), column: 0 });
        let to = (tab, Position { row: *rows.end(), column: COLUMNS });
        self.cells.range(from..=to).map(|(_, position)| *position).collect()
    }

    /// The cells of a tab whose saved results are out of date.
    pub(super) fn cells_of(&self, tab: usize) -> impl Iterator<Item = Position> {
        self.cells.iter().filter(move |(at, _)| *at == tab).map(|(_, position)| *position)
    }
}

fn named<'c>(layout: &Layout, cells: impl Iterator<Item = &'c (usize, Position)>) -> Vec<Stale> {
    let name = |tab: &usize| layout.tabs.get(*tab).map_or("", |tab| tab.name.as_str());
    cells.map(|(tab, position)| Stale { tab: name(tab).to_owned(), position: *position }).collect()
}

/// Finds the formulas that depend on the touched cells; those touched themselves are not formulas
/// any more.
pub(super) fn dependants(
    layout: &Layout,
    tables: &[Table],
    sheets: &BTreeMap<usize, &Sheet>,
    touched: &Touched,
) -> Dependents {
    let mut index = Index::default();
    let book = Owner { layout, tables };
    for (tab, sheet) in sheets {
        index.add_tab(&book, *tab, sheet, touched);
    }
    if index.nodes.is_empty() { Dependents::default() } else { index.spread(sheets, touched) }
}

/// What the names in a formula stand for.
struct Owner<'a> {
    layout: &'a Layout,
    tables: &'a [Table],
}

impl Owner<'_> {
    /// The cells of a table's columns, for a formula that stands in a cell.
    fn cells_of(
        &self,
        name: Option<&str>,
        selection: &Selection,
        (tab, cell): (usize, Position),
    ) -> Option<(usize, Area)> {
        let table = match name {
            Some(name) => {
                let wanted = name.to_lowercase();
                self.tables.iter().find(|table| table.name.to_lowercase() == wanted)?
            }
            None => {
                self.tables.iter().find(|table| table.tab == tab && table.area.contains(cell))?
            }
        };
        Some((table.tab, table.cells(selection, cell)?))
    }
}

/// A formula: where it stands and the cells that show its results.
struct Node {
    tab: usize,
    position: Position,
    results: Area,
}

/// A cell, with its tab by the order in the workbook.
type At = (usize, Position);

/// Formulas by what they mention. Rows are cut into blocks of 1, 2, 4 … so that an area is in at
/// most two blocks of each size and a cell is looked up in one block of each size.
#[derive(Default)]
struct Index {
    nodes: Vec<Node>,
    blocks: HashMap<Block, Vec<(u32, u32, usize)>>,
    /// Formulas that may mention any cell.
    anywhere: Vec<usize>,
}

/// A formula and the cell in which it stands.
#[derive(Clone, Copy)]
struct Site {
    node: usize,
    tab: usize,
    cell: Position,
}

/// A tab, a size of block as a power of two, and the block's number among those of its size.
type Block = (usize, u32, u32);

const LEVELS: u32 = 20;

impl Index {
    fn add_tab(&mut self, book: &Owner<'_>, tab: usize, sheet: &Sheet, touched: &Touched) {
        let masters = masters(sheet);
        for formula in sheet.formulas.iter() {
            if touched.contains(tab, formula.position) {
                continue;
            }
            let own = Area::between(formula.position, formula.position);
            let results = match formula.shape {
                Shape::Array(area) | Shape::DataTable(area) => area,
                Shape::Plain | Shape::Shared(_) => own,
            };
            let node = self.nodes.len();
            self.nodes.push(Node { tab, position: formula.position, results });
            let (from, found) = match formula.shape {
                Shape::Shared(shared) if formula.text.is_empty() => match masters.get(&shared) {
                    Some((from, found)) => (*from, found.clone()),
                    None => (formula.position, vec![Mention::Unresolved]),
                },
                // the formulas of a data table stand above it and to its left
                Shape::DataTable(area) => {
                    let first = Position {
                        row: area.first.row.saturating_sub(1),
                        column: area.first.column.saturating_sub(1),
                    };
                    self.add_area(tab, Area { first, last: area.last }, node);
                    continue;
                }
                _ => (formula.position, mentions(&formula.text)),
            };
            let rows = i64::from(formula.position.row) - i64::from(from.row);
            let columns = i64::from(formula.position.column) - i64::from(from.column);
            let site = Site { node, tab, cell: formula.position };
            for mention in &found {
                self.add(book, site, tab, mention, (rows, columns), 0);
            }
        }
    }

    /// Notes that a formula mentions something; `home` is the tab meant where none is named.
    fn add(
        &mut self,
        book: &Owner<'_>,
        site: Site,
        home: usize,
        mention: &Mention,
        shift: (i64, i64),
        depth: u32,
    ) {
        match mention {
            Mention::Unresolved => self.anywhere.push(site.node),
            Mention::Cells { tab: named, first, last } => {
                let area = shifted(*first, *last, shift.0, shift.1);
                let at = |name: &str| book.layout.tab(name).map(|(at, _)| at);
                let tabs = match named.as_deref() {
                    None => Some((home, home)),
                    Some(name) => match name.split_once(':') {
                        Some((first, last)) => at(first).zip(at(last)),
                        None => at(name).map(|at| (at, at)),
                    },
                };
                match tabs {
                    Some((first, last)) => {
                        for tab in first.min(last)..=first.max(last) {
                            self.add_area(tab, area, site.node);
                        }
                    }
                    None => self.anywhere.push(site.node),
                }
            }
            Mention::Table { name, selection } => {
                match book.cells_of(name.as_deref(), selection, (site.tab, site.cell)) {
                    Some((tab, area)) => self.add_area(tab, area, site.node),
                    None => self.anywhere.push(site.node),
                }
            }
            Mention::Name { tab: named, name } => {
                let scope = named.as_deref().and_then(|name| book.layout.tab(name));
                let scope = scope.map_or(home, |(at, _)| at);
                match name_text(book.layout, scope, name).filter(|_| depth < 16) {
                    Some(text) => {
                        // a name without `$` is counted from the cell, as if it stood in A1
                        let shift = (i64::from(site.cell.row), i64::from(site.cell.column));
                        for mention in mentions(text) {
                            self.add(book, site, scope, &mention, shift, depth + 1);
                        }
                    }
                    None => {
                        let whole = Selection { rows: TableRows::Data, columns: None };
                        match book.cells_of(Some(name), &whole, (site.tab, site.cell)) {
                            Some((tab, area)) => self.add_area(tab, area, site.node),
                            None => self.anywhere.push(site.node),
                        }
                    }
                }
            }
        }
    }

    fn add_area(&mut self, tab: usize, area: Area, node: usize) {
        let columns = (area.first.column, area.last.column);
        let (mut from, mut to) = (area.first.row, area.last.row + 1);
        for level in 0..=LEVELS {
            let mut put = |block| {
                let key = (tab, level, block);
                self.blocks.entry(key).or_default().push((columns.0, columns.1, node));
            };
            if from >= to {
                break;
            }
            if from & 1 == 1 {
                put(from);
                from += 1;
            }
            if to & 1 == 1 && from < to {
                to -= 1;
                put(to);
            }
            if level == LEVELS && from < to {
                put(from);
            }
            from >>= 1;
            to >>= 1;
        }
    }

    fn spread(mut self, sheets: &BTreeMap<usize, &Sheet>, touched: &Touched) -> Dependents {
        let mut found = Dependents::default();
        let mut reached = vec![false; self.nodes.len()];
        let mut waiting = VecDeque::new();
        for (tab, position) in touched.iter() {
            self.take_mentioning(tab, position, &mut |node| waiting.push_back(node));
        }
        self.follow(waiting, &mut reached, sheets, &mut |node, cells| {
            found.formulas.insert(node);
            found.cells.extend(cells);
        });
        let anywhere = std::mem::take(&mut self.anywhere).into();
        self.follow(anywhere, &mut reached, sheets, &mut |_, cells| found.possible.extend(cells));
        found
    }

    /// Follows formulas from one to the next, each once.
    fn follow(
        &mut self,
        mut waiting: VecDeque<usize>,
        reached: &mut [bool],
        sheets: &BTreeMap<usize, &Sheet>,
        take: &mut dyn FnMut(At, Vec<At>),
    ) {
        while let Some(at) = waiting.pop_front() {
            if reached.get_mut(at).is_none_or(|seen| std::mem::replace(seen, true)) {
                continue;
            }
            let Some(Node { tab, position, results }) = self.nodes.get(at) else { continue };
            let (tab, position, results) = (*tab, *position, *results);
            let stored = sheets.get(&tab).map(|sheet| sheet.stored_in(results));
            let cells: Vec<(usize, Position)> =
                stored.unwrap_or_default().into_iter().map(|cell| (tab, cell)).collect();
            for (tab, cell) in &cells {
                self.take_mentioning(*tab, *cell, &mut |node| waiting.push_back(node));
            }
            take((tab, position), cells);
        }
    }

    /// Takes out every formula that mentions the cell; none needs to be found twice.
    fn take_mentioning(&mut self, tab: usize, cell: Position, take: &mut impl FnMut(usize)) {
        for level in 0..=LEVELS {
            if let Some(block) = self.blocks.get_mut(&(tab, level, cell.row >> level)) {
                block.retain(|(first, last, node)| {
                    let mentioned = (*first..=*last).contains(&cell.column);
                    if mentioned {
                        take(*node);
                    }
                    !mentioned
                });
            }
        }
    }
}

/// The first formula of each shared group, and what it mentions.
fn masters(sheet: &Sheet) -> BTreeMap<u32, (Position, Vec<Mention>)> {
    let mut masters = BTreeMap::new();
    for formula in sheet.formulas.iter() {
        if let Shape::Shared(shared) = formula.shape
            && !formula.text.is_empty()
        {
            masters.entry(shared).or_insert_with(|| (formula.position, mentions(&formula.text)));
        }
    }
    masters
}

fn name_text<'a>(layout: &'a Layout, tab: usize, name: &str) -> Option<&'a str> {
    let tab = layout.tabs.get(tab).map(|tab| tab.name.as_str());
    let wanted = name.to_lowercase();
    let same = || layout.names.iter().filter(|known| known.name.to_lowercase() == wanted);
    let local = same().find(|known| known.scope.is_some() && known.scope.as_deref() == tab);
    let found = local.or_else(|| same().find(|known| known.scope.is_none()));
    found.map(|known| known.text.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_of_an_area_is_found_in_its_blocks_and_no_other() {
        for (text, inside, outside) in [
            ("A1:A1048576", vec!["A1", "A1048576", "A777"], vec!["B1"]),
            ("B3:D9", vec!["B3", "D9", "C5", "B8"], vec!["B2", "A5", "E5", "B10"]),
            ("C7", vec!["C7"], vec!["C6", "C8", "B7", "D7"]),
            ("A2:XFD4", vec!["A2", "XFD4", "M3"], vec!["A1", "A5"]),
        ] {
            for (cells, expected) in [(inside, 1), (outside, 0)] {
                for cell in cells {
                    let mut index = Index::default();
                    index.add_area(0, Area::parse(text).unwrap(), 0);
                    let mut hits = 0;
                    let position = Position::parse(cell).unwrap();
                    index.take_mentioning(0, position, &mut |_| hits += 1);
                    assert_eq!(hits, expected, "{cell} in {text}");
                }
            }
        }
    }
}
