//! The tables that the owner of a workbook has made of areas of a tab.

use quick_xml::events::Event;

use crate::diagnostic::Problems;
use crate::spreadsheet::formula::{self, Selection, TableRows};
use crate::spreadsheet::model::book::Tab;
use crate::spreadsheet::model::formulas::Formula;
use crate::spreadsheet::model::position::{Area, Position};
use crate::spreadsheet::read::archive::Archive;
use crate::spreadsheet::read::layout::{Layout, Relationships};
use crate::spreadsheet::read::xml::{Walk, attribute};

/// A table; ISO/IEC 29500-1, 18.5.1.2.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Table {
    /// The name by which formulas speak of it.
    pub(crate) name: String,
    /// The tab, by its order in the workbook.
    pub(crate) tab: usize,
    pub(crate) area: Area,
    /// How many of its first rows hold the names of its columns.
    headers: u32,
    /// How many of its last rows hold totals.
    totals: u32,
    columns: Vec<String>,
}

impl Table {
    /// The rows that name its columns, if it shows them.
    pub(crate) fn head(&self) -> Option<Area> {
        let Area { first, last } = self.area;
        let end = first.row.saturating_add(self.headers.checked_sub(1)?).min(last.row);
        Some(Area { first, last: Position { row: end, ..last } })
    }

    /// The rows that hold its totals, if it has them.
    pub(crate) fn foot(&self) -> Option<Area> {
        let Area { first, last } = self.area;
        let begin = last.row.saturating_sub(self.totals.checked_sub(1)?).max(first.row);
        Some(Area { first: Position { row: begin, ..first }, last })
    }

    /// Its rows of data; none where it has none.
    pub(crate) fn data(&self) -> Option<Area> {
        let Area { first, last } = self.area;
        let begin = first.row.saturating_add(self.headers);
        let end = last.row.checked_sub(self.totals)?;
        let area =
            Area { first: Position { row: begin, ..first }, last: Position { row: end, ..last } };
        (begin <= end).then_some(area)
    }

    /// The column of that name.
    pub(crate) fn column(&self, name: &str) -> Option<u32> {
        let wanted = name.to_lowercase();
        let at = self.columns.iter().position(|known| known.to_lowercase() == wanted)?;
        self.area.first.column.checked_add(u32::try_from(at).ok()?)
    }
}

impl Table {
    /// The cells that a selection means, for a formula in a cell.
    pub(crate) fn cells(&self, selection: &Selection, cell: Position) -> Option<Area> {
        let mut area = match selection.rows {
            TableRows::All => self.area,
            TableRows::Data => self.data()?,
            TableRows::Heads => self.head()?,
            TableRows::Totals => self.foot()?,
            TableRows::This => {
                let Area { first, last } = self.area;
                let row = cell.row;
                let within = (first.row..=last.row).contains(&row);
                within.then_some(Area {
                    first: Position { row, ..first },
                    last: Position { row, ..last },
                })?
            }
        };
        if let Some((first, last)) = &selection.columns {
            let (first, last) = (self.column(first)?, self.column(last)?);
            area.first.column = first.min(last);
            area.last.column = first.max(last);
        }
        Some(area)
    }
}

/// Puts cells in the place of references to tables, in the formulas of all tabs: a reader follows them then.
pub(crate) fn resolve(
    archive: &mut Archive<'_>,
    layout: &Layout,
    tabs: &mut [Tab],
) -> Result<(), Problems> {
    if !tabs.iter().any(|tab| tab.formulas.any(|text| text.contains('['))) {
        return Ok(());
    }
    let tables = all(archive, layout)?;
    for (at, tab) in tabs.iter_mut().enumerate() {
        tab.formulas = tab.formulas.each(&|formula| with_cells(formula, &tables, layout, at));
    }
    Ok(())
}

fn with_cells(formula: &Formula, tables: &[Table], layout: &Layout, tab: usize) -> Formula {
    let cell = formula.position;
    let cells = |name: Option<&str>, selection: &Selection| {
        let table = tables.iter().find(|table| match name {
            Some(name) => table.name.to_lowercase() == name.to_lowercase(),
            None => table.tab == tab && table.area.contains(cell),
        })?;
        let Area { first, last } = table.cells(selection, cell)?;
        let quoted = layout.tabs.get(table.tab)?.name.replace('\'', "''");
        // a row of the formula's own moves with it
        let row = if selection.rows == TableRows::This { "" } else { "$" };
        let corner = |at: Position| format!("${}{row}{}", at.column_name(), at.row + 1);
        let area = match first == last {
            true => corner(first),
            false => format!("{}:{}", corner(first), corner(last)),
        };
        Some(if table.tab == tab { area } else { format!("'{quoted}'!{area}") })
    };
    Formula { text: formula::with_cells(&formula.text, &cells), ..formula.clone() }
}

/// The tables of a tab.
pub(crate) fn of_tab(
    archive: &mut Archive<'_>,
    layout: &Layout,
    tab: usize,
) -> Result<Vec<Table>, Problems> {
    let Some(known) = layout.tabs.get(tab) else { return Ok(Vec::new()) };
    let related = Relationships::of(archive, &known.part)?;
    let parts: Vec<String> = related.targets("/table").collect();
    let mut found = Vec::new();
    for part in parts {
        let text = archive.need(&part)?.text;
        let table = read(&text, tab)
            .map_err(|words| archive.broken(&format!("its part `{part}`: {words}")))?;
        found.extend(table);
    }
    Ok(found)
}

/// The tables of all tabs.
pub(crate) fn all(archive: &mut Archive<'_>, layout: &Layout) -> Result<Vec<Table>, Problems> {
    let mut found = Vec::new();
    for tab in 0..layout.tabs.len() {
        found.extend(of_tab(archive, layout, tab)?);
    }
    Ok(found)
}

fn read(text: &str, tab: usize) -> Result<Option<Table>, String> {
    let mut walk = Walk::new(text);
    let mut table: Option<Table> = None;
    while let Some(step) = walk.next()? {
        let (Event::Start(element) | Event::Empty(element)) = &step.event else { continue };
        match (&mut table, element.local_name().as_ref()) {
            (None, _) => {
                let count = |name, missing| {
                    attribute(element, name).and_then(|text| text.parse().ok()).unwrap_or(missing)
                };
                let area = attribute(element, "ref").and_then(|area| Area::parse(&area));
                table = Some(Table {
                    name: attribute(element, "displayName").unwrap_or_default(),
                    tab,
                    area: area.ok_or("a table covers no area")?,
                    headers: count("headerRowCount", 1),
                    totals: count("totalsRowCount", 0),
                    columns: Vec::new(),
                });
            }
            (Some(table), "tableColumn") => {
                table.columns.push(attribute(element, "name").unwrap_or_default());
            }
            _ => {}
        }
    }
    Ok(table)
}
