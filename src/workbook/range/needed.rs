//! Which rows of a workbook are kept in memory while its table is looked for.

use std::collections::{BTreeMap, BTreeSet};

use super::super::bind::label;
use super::super::bind::label::asked;
use super::TableRequest;
use super::header::has_value_beside;
use super::variants::names_no_variant;
use crate::diagnostic::Place;
use crate::program::{Program, Sheets};
use crate::project::name_in;
use crate::spreadsheet::{Cell, Entry, Tab};

/// Says of each row of a workbook whether the search for a table needs it.
pub(super) struct Needed<'a> {
    asked: &'a TableRequest,
    book: &'a str,
    sheets: &'a dyn Sheets,
    names: BTreeMap<String, Names>,
    /// The tab of the row before; none before the first row, since the tab of a `.csv` has an empty name.
    tab: Option<String>,
    /// The sheets whose names may stand in the rows that follow.
    known: Vec<String>,
    /// Whether a cell above names the sheet.
    anchored: bool,
    /// Whether a row since then looks like the head of a table.
    headed: bool,
    /// Whether the row before held names.
    named: bool,
    /// Whether the first row with numbers below names is still to come: the first variant, whose numbers are looked at in
    /// the units of their columns.
    awaited: bool,
    /// How many rows have followed the last row with a single name, which may be the head of a table of
    /// one input.
    since_single: Option<usize>,
    /// How many rows of the tab have passed.
    rows: usize,
}

/// Rows of a tab without a table that are kept: formulas of the table may take their cells.
const BESIDE: usize = 1000;

/// Rows that are kept behind a head of one name, so that what is strange there is reported. Behind them only
/// rows with names are.
const BEHIND_A_SINGLE: usize = 1000;

/// The names of a sheet.
struct Names {
    inputs: BTreeSet<String>,
    outputs: BTreeSet<String>,
}

impl<'a> Needed<'a> {
    pub(super) fn new(asked: &'a TableRequest, book: &'a str, sheets: &'a dyn Sheets) -> Self {
        Self {
            asked,
            book,
            sheets,
            names: BTreeMap::new(),
            tab: None,
            known: Vec::new(),
            anchored: false,
            headed: false,
            named: false,
            awaited: false,
            since_single: None,
            rows: 0,
        }
    }

    /// Rows come in their order, tab by tab. Kept are the cells that name a sheet, the rows from there to
    /// the head of the table, every row that holds names, with the one below it and the first variant, and the first rows
    /// of a tab without a table. Behind a head of one name, rows without names pass by.
    pub(super) fn row(&mut self, tab: &Tab, cells: &[Entry]) -> bool {
        if self.tab.as_ref() != Some(&tab.name) {
            self.tab = Some(tab.name.clone());
            self.known = self.asked.sheet.iter().cloned().collect();
            (self.anchored, self.headed) = (false, false);
            (self.named, self.awaited) = (false, false);
            self.since_single = None;
            self.rows = 0;
        }
        self.rows += 1;
        if self.asked.tab.as_ref().is_some_and(|wanted| !wanted.eq_ignore_ascii_case(&tab.name)) {
            return self.rows <= BESIDE;
        }
        let mut anchor = false;
        for entry in cells {
            let Cell::Text(text) = &entry.cell else { continue };
            let Some(sheet) = asked(text) else { continue };
            anchor = true;
            if self.asked.sheet.as_ref().is_none_or(|wanted| name_in(wanted) == name_in(&sheet)) {
                (self.anchored, self.headed, self.since_single) = (true, false, None);
                self.known = vec![sheet];
            }
        }
        let Counted { names, inputs, valued } = self.count(cells);
        let below = std::mem::replace(&mut self.named, names > 0);
        let above = self.anchored && !self.headed;
        self.since_single = match self.since_single {
            _ if inputs > 0 && names == 1 => Some(0),
            since => since.map(|rows| rows + 1),
        };
        let passes = self.since_single.is_some_and(|rows| rows > BEHIND_A_SINGLE);
        let no_variant = (self.headed || self.awaited)
            && cells
                .iter()
                .any(|it| matches!(&it.cell, Cell::Text(text) if names_no_variant(text)));
        let totals = self.headed && no_variant;
        let numbers = cells.iter().any(|it| matches!(it.cell, Cell::Number(_)));
        // headings and units that stand again
        let words = self.headed && !numbers;
        let first = self.awaited && numbers && !no_variant;
        self.awaited = names > 0 || self.awaited && !first;
        let kept = totals
            || words
            || first
            || anchor
            || names > 0
            || valued
            || below
            || above && (!passes || self.any_name(cells))
            || !self.anchored && !self.headed && self.rows <= BESIDE;
        self.headed |= inputs > 0 && names > 1;
        kept
    }

    /// Whether a cell begins with a name: a value that all rows share may stand beside it.
    fn any_name(&self, cells: &[Entry]) -> bool {
        cells.iter().any(|entry| {
            let Cell::Text(text) = &entry.cell else { return false };
            let name = label(text).name;
            let first = name.split([' ', '.', '±']).next().unwrap_or_default();
            let known = self.known.iter().filter_map(|sheet| self.names.get(sheet));
            known.into_iter().any(|names| {
                [name.as_str(), first]
                    .iter()
                    .any(|name| names.inputs.contains(*name) || names.outputs.contains(*name))
            })
        })
    }

    /// What of a row are names.
    fn count(&mut self, cells: &[Entry]) -> Counted {
        let mut counted = Counted::default();
        for sheet in &self.known {
            if !self.names.contains_key(sheet) {
                let place = match self.anchored {
                    true => Place::File { name: self.book.to_owned() },
                    false => self.asked.asked_at(),
                };
                let program =
                    self.sheets.checked(sheet, &place).ok().and_then(|checked| checked.program);
                self.names.insert(sheet.clone(), Names::of(program.as_deref()));
            }
            let Some(known) = self.names.get(sheet) else { continue };
            for (at, entry) in cells.iter().enumerate() {
                let Cell::Text(text) = &entry.cell else { continue };
                let name = label(text).name;
                let is_input = known.inputs.contains(&name);
                if !is_input && !known.outputs.contains(&name) {
                    continue;
                }
                if has_value_beside(cells, at) {
                    counted.valued |= is_input;
                } else {
                    counted.names += 1;
                    counted.inputs += usize::from(is_input);
                }
            }
        }
        counted
    }
}

/// The names in a row.
#[derive(Clone, Copy, Debug, Default)]
struct Counted {
    /// Names that may be headings.
    names: usize,
    /// Those of inputs.
    inputs: usize,
    /// Whether an input has its value beside it: a value that all rows share, or one that stands astray.
    valued: bool,
}

impl Names {
    fn of(program: Option<&Program>) -> Self {
        let inputs = program.iter().flat_map(|program| &program.inputs);
        let outputs = program.iter().flat_map(|program| &program.outputs);
        Self {
            inputs: inputs.map(|input| input.name.clone()).collect(),
            outputs: outputs.map(|output| output.name.clone()).collect(),
        }
    }
}
