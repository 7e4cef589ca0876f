//! Which formulas depend on a change, directly or through others: conservative, never too few.

use std::collections::{BTreeMap, BTreeSet, HashMap, VecDeque};
use std::ops::RangeInclusive;

use super::Stale;
use super::touched::Touched;
use crate::spreadsheet::formula::{Mention, mentions, shifted};
use crate::spreadsheet::layout::Layout;
use crate::spreadsheet::position::{Area, COLUMNS, Position};
use crate::spreadsheet::sheet::{Shape, Sheet};

/// The formulas found, and every cell whose saved result comes from one of them.
#[derive(Default)]
pub(super) struct Found {
    pub(super) formulas: BTreeSet<(usize, Position)>,
    cells: BTreeSet<(usize, Position)>,
}

impl Found {
    /// The formulas, as they are reported.
    pub(super) fn in_words(&self, layout: &Layout) -> Vec<Stale> {
        named(layout, self.formulas.iter())
    }

    /// The cells, as they are reported.
    pub(super) fn cells_in_words(&self, layout: &Layout) -> Vec<Stale> {
        named(layout, self.cells.iter())
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
    sheets: &BTreeMap<usize, &Sheet>,
    touched: &Touched,
) -> Found {
    let mut index = Index::default();
    for (tab, sheet) in sheets {
        index.add_tab(layout, *tab, sheet, touched);
    }
    if index.nodes.is_empty() { Found::default() } else { index.spread(sheets, touched) }
}

/// A formula: where it stands and the cells that show its results.
struct Node {
    tab: usize,
    position: Position,
    results: Area,
}

/// Formulas by what they mention. Rows are cut into blocks of 1, 2, 4 … so that an area is in at
/// most two blocks of each size and a cell is looked up in one block of each size.
#[derive(Default)]
struct Index {
    nodes: Vec<Node>,
    blocks: HashMap<Block, Vec<(u32, u32, usize)>>,
    /// Formulas that may mention any cell.
    anywhere: Vec<usize>,
}

/// A tab, a size of block as a power of two, and the block's number among those of its size.
type Block = (usize, u32, u32);

const LEVELS: u32 = 20;

impl Index {
    fn add_tab(&mut self, layout: &Layout, tab: usize, sheet: &Sheet, touched: &Touched) {
        let masters = masters(sheet);
        for formula in &sheet.formulas {
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
                    None => (formula.position, vec![Mention::Everything]),
                },
                Shape::DataTable(_) => (formula.position, vec![Mention::Everything]),
                _ => (formula.position, mentions(&formula.text)),
            };
            let rows = i64::from(formula.position.row) - i64::from(from.row);
            let columns = i64::from(formula.position.column) - i64::from(from.column);
            for mention in &found {
                self.add(layout, tab, node, mention, (rows, columns), 0);
            }
        }
    }

    fn add(
        &mut self,
        layout: &Layout,
        tab: usize,
        node: usize,
        mention: &Mention,
        shift: (i64, i64),
        depth: u32,
    ) {
        match mention {
            Mention::Everything => self.anywhere.push(node),
            Mention::Cells { tab: named, first, last } => {
                let area = shifted(*first, *last, shift.0, shift.1);
                match named {
                    None => self.add_area(tab, area, node),
                    Some(name) => match layout.tab(name) {
                        Some((at, _)) => self.add_area(at, area, node),
                        None => self.anywhere.push(node),
                    },
                }
            }
            Mention::Name { tab: named, name } => {
                let scope = named.as_deref().and_then(|name| layout.tab(name));
                let scope = scope.map_or(tab, |(at, _)| at);
                let text = name_text(layout, scope, name);
                match text.filter(|_| depth < 16) {
                    Some(text) => {
                        for mention in mentions(text) {
                            self.add(layout, scope, node, &mention, (0, 0), depth + 1);
                        }
                    }
                    None => self.anywhere.push(node),
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

    fn spread(mut self, sheets: &BTreeMap<usize, &Sheet>, touched: &Touched) -> Found {
        let mut found = Found::default();
        let mut reached = vec![false; self.nodes.len()];
        let mut waiting: VecDeque<usize> = VecDeque::new();
        let mut reach = |node: usize, waiting: &mut VecDeque<usize>| {
            if let Some(seen) = reached.get_mut(node)
                && !std::mem::replace(seen, true)
            {
                waiting.push_back(node);
            }
        };
        for node in std::mem::take(&mut self.anywhere) {
            reach(node, &mut waiting);
        }
        for (tab, position) in touched.iter() {
            self.take_mentioning(tab, position, &mut |node| reach(node, &mut waiting));
        }
        while let Some(at) = waiting.pop_front() {
            let Some(Node { tab, position, results }) = self.nodes.get(at) else { continue };
            let (tab, results) = (*tab, *results);
            found.formulas.insert((tab, *position));
            let stored = sheets.get(&tab).map(|sheet| sheet.stored_in(results));
            for cell in stored.unwrap_or_default() {
                found.cells.insert((tab, cell));
                self.take_mentioning(tab, cell, &mut |node| reach(node, &mut waiting));
            }
        }
        found
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
    for formula in &sheet.formulas {
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
