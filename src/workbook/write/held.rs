//! What a cell of the original holds, read from its own bytes.

use quick_xml::events::Event;

use super::{NewValue, Page};
use crate::diagnostic::Diagnostic;
use crate::workbook::archive::Archive;
use crate::workbook::cell::Cell;
use crate::workbook::layout::Layout;
use crate::workbook::sheet::{CellSpan, Kind};
use crate::workbook::xml::{Walk, append, unescape};

/// Whether writing the value would leave the cell as it is.
pub(super) fn same(old: &Cell, new: &NewValue) -> bool {
    *old == new.as_cell()
}

/// Reads values; the shared texts are read once, when the first cell needs them.
#[derive(Default)]
pub(super) struct Held {
    texts: Option<Vec<String>>,
}

impl Held {
    /// The value of a cell. What does not read as its kind says comes out as its plain text.
    pub(super) fn value(
        &mut self,
        archive: &mut Archive<'_>,
        layout: &Layout,
        page: &Page,
        cell: &CellSpan,
    ) -> Result<Cell, Vec<Diagnostic>> {
        let broken = |words: String| {
            vec![archive.broken(&format!("cell {}: {words}", cell.position.name()))]
        };
        let element = page.part.text.get(cell.start as usize..cell.end as usize);
        let element = element.unwrap_or_default();
        if cell.kind == Kind::InlineText {
            let text = strings(element, "is").map_err(broken)?.pop();
            return Ok(text.filter(|text| !text.is_empty()).map_or(Cell::Empty, Cell::Text));
        }
        let (from, to) = (cell.value.0 as usize, cell.value.1 as usize);
        let stored = plain(page.part.text.get(from..to).unwrap_or_default()).map_err(broken)?;
        if stored.is_empty() {
            return Ok(Cell::Empty);
        }
        Ok(match cell.kind {
            Kind::Number => {
                let number = stored.trim().parse().ok().filter(|number: &f64| number.is_finite());
                number.map_or(Cell::Text(stored), Cell::Number)
            }
            Kind::SharedText => {
                let index: Option<usize> = stored.trim().parse().ok();
                let texts = self.texts(archive, layout)?;
                let text = index.and_then(|at| texts.get(at)).cloned().unwrap_or(stored);
                if text.is_empty() { Cell::Empty } else { Cell::Text(text) }
            }
            Kind::Truth => Cell::Truth(matches!(stored.trim(), "1" | "true")),
            Kind::Error => Cell::Error(stored),
            Kind::Date => Cell::Date(stored),
            Kind::FormulaText | Kind::InlineText | Kind::Unknown => Cell::Text(unescape(&stored)),
        })
    }

    fn texts(
        &mut self,
        archive: &mut Archive<'_>,
        layout: &Layout,
    ) -> Result<&[String], Vec<Diagnostic>> {
        if self.texts.is_none() {
            let part = match &layout.shared_texts {
                Some(part) => archive.text(part)?,
                None => None,
            };
            let texts = part.map_or(Ok(Vec::new()), |part| strings(&part.text, "si"));
            self.texts = Some(texts.map_err(|words| vec![archive.broken(&words)])?);
        }
        Ok(self.texts.as_deref().unwrap_or_default())
    }
}

/// The text of an element, entities resolved.
fn plain(element: &str) -> Result<String, String> {
    let mut text = String::new();
    if !element.is_empty() {
        let mut walk = Walk::new(element);
        while let Some(step) = walk.next()? {
            append(&step.event, &mut text)?;
        }
    }
    Ok(text)
}

/// The texts of all elements of that name: their `t`, without the reading aids in `rPh`.
pub(super) fn strings(xml: &str, wanted: &str) -> Result<Vec<String>, String> {
    let mut texts: Vec<String> = Vec::new();
    let (mut within, mut aside) = (false, false);
    let mut walk = Walk::new(xml);
    while let Some(step) = walk.next()? {
        match &step.event {
            Event::Start(element) => match element.local_name().as_ref() {
                name if name == wanted => {
                    texts.push(String::new());
                    within = true;
                }
                "rPh" => aside = true,
                "t" if within && !aside => {
                    let text = unescape(&walk.text()?);
                    if let Some(last) = texts.last_mut() {
                        last.push_str(&text);
                    }
                }
                _ => {}
            },
            Event::Empty(element) if element.local_name().as_ref() == wanted => {
                texts.push(String::new());
            }
            Event::End(element) => match element.local_name().as_ref() {
                name if name == wanted => within = false,
                "rPh" => aside = false,
                _ => {}
            },
            _ => {}
        }
    }
    Ok(texts)
}
