//! Conditional formats of a tab's part: the cells that they cover and what they lay over them.

use quick_xml::events::{BytesStart, Event};

use super::styles::Laid;
use super::xml::{Step, append, attribute, flag};
use crate::spreadsheet::model::position::Area;
use crate::spreadsheet::model::styles::{Rule, Style, Styles};

/// The conditional formats of a tab; ECMA-376 Part 1, 18.3.1.18, and [MS-XLSX], 2.6.1 (both from memory).
#[derive(Default)]
pub(crate) struct Conditional {
    rules: Vec<Known>,
    areas: Vec<Area>,
    /// The rules of the format that is open.
    open: Vec<Known>,
    /// How deep that format stands.
    depth: usize,
    /// The areas of a format that says them behind its rules.
    named: Option<String>,
}

/// A rule, as it is said.
#[derive(Default)]
struct Known {
    areas: Vec<Area>,
    /// What it lays over cells, by the number in the styles or in place.
    number: Option<u32>,
    laid: Laid,
    bare: bool,
}

impl Conditional {
    /// Takes in what stands beside the cells.
    pub(crate) fn take(&mut self, step: &Step<'_>) -> Result<(), String> {
        match &step.event {
            Event::Start(element) => self.element(element, step.depth, true)?,
            Event::Empty(element) => self.element(element, step.depth, false)?,
            Event::End(element) if self.depth > 0 => {
                if element.local_name().as_ref() == "sqref" {
                    self.areas = areas(&self.named.take().unwrap_or_default())?;
                }
                if step.depth == self.depth {
                    self.close();
                }
            }
            other => {
                if let Some(named) = &mut self.named {
                    append(other, named)?;
                }
            }
        }
        Ok(())
    }

    fn element(&mut self, it: &BytesStart<'_>, depth: usize, open: bool) -> Result<(), String> {
        let name = it.local_name();
        if name.as_ref() == "conditionalFormatting" && open {
            self.depth = depth;
            self.areas = attribute(it, "sqref").map_or(Ok(Vec::new()), |text| areas(&text))?;
            return Ok(());
        }
        if self.depth == 0 {
            return Ok(());
        }
        match (name.as_ref(), self.open.last_mut()) {
            ("cfRule", _) => {
                let number = attribute(it, "dxfId").and_then(|number| number.parse().ok());
                self.open.push(Known { number, ..Known::default() });
            }
            ("sqref", _) if open => self.named = Some(String::new()),
            ("dataBar" | "iconSet", Some(rule)) => rule.bare |= !flag(it, "showValue", true),
            // within a `dxf` in place, which stands below its rule
            (_, Some(rule)) if depth > self.depth + 2 => {
                rule.laid.take(it, depth == self.depth + 3);
            }
            _ => {}
        }
        Ok(())
    }

    fn close(&mut self) {
        self.depth = 0;
        let areas = std::mem::take(&mut self.areas);
        for rule in self.open.drain(..) {
            self.rules.push(Known { areas: areas.clone(), ..rule });
        }
    }

    /// The rules, with the styles of the workbook.
    pub(crate) fn rules(&self, styles: &Styles) -> std::sync::Arc<[Rule]> {
        let rules = self.rules.iter().map(|known| {
            let mut over = styles.laid_over(known.number);
            let Style { format, look, .. } = known.laid.style.clone();
            over.format = format.or(over.format);
            over.look = over.look.under(&look);
            Rule { areas: known.areas.clone(), over, bare: known.bare }
        });
        rules.filter(Rule::says).collect()
    }
}

fn areas(text: &str) -> Result<Vec<Area>, String> {
    let areas = text.split_ascii_whitespace().map(Area::parse).collect::<Option<Vec<Area>>>();
    areas.ok_or_else(|| format!("a conditional format covers `{text}`, outside of a worksheet"))
}
