//! The tables that the owner of a workbook has made of areas of a tab.

use quick_xml::events::Event;

use crate::diagnostic::Problems;
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
