//! `styles.xml`: whether a cell is locked or struck through, and its number format.

use std::collections::BTreeMap;

use quick_xml::events::Event;

use super::archive::Archive;
use super::layout::Layout;
use super::xml::{Walk, attribute, flag};
use crate::diagnostic::Problems;
use crate::spreadsheet::model::number_format::built_in;
use crate::spreadsheet::model::styles::Styles;

pub(crate) fn read_styles(archive: &mut Archive<'_>, layout: &Layout) -> Result<Styles, Problems> {
    let Some(part) = &layout.styles else { return Ok(Styles::default()) };
    let Some(text) = archive.text(part)? else { return Ok(Styles::default()) };
    Styles::read(&text.text)
        .map_err(|words| archive.broken(&format!("its part `{part}`: {words}")).into())
}

impl Styles {
    /// Reads `styles.xml`.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let mut formats: BTreeMap<u32, String> = BTreeMap::new();
        let mut styles: Vec<(bool, bool, u32)> = Vec::new();
        let mut struck: Vec<bool> = Vec::new();
        let (mut among_cells, mut among_fonts) = (false, false);
        let mut walk = Walk::new(text);
        while let Some(step) = walk.next()? {
            let (Event::Start(element) | Event::Empty(element)) = &step.event else { continue };
            let number =
                |name| attribute(element, name).and_then(|id| id.parse().ok()).unwrap_or(0);
            match (step.depth, element.local_name().as_ref()) {
                (2, section) => {
                    (among_cells, among_fonts) = (section == "cellXfs", section == "fonts")
                }
                (3, "font") if among_fonts => struck.push(false),
                (4, "strike") if among_fonts => {
                    if let Some(last) = struck.last_mut() {
                        *last = flag(element, "val", true);
                    }
                }
                (3, "numFmt") => {
                    let code = attribute(element, "formatCode").unwrap_or_default();
                    formats.insert(number("numFmtId"), code);
                }
                (3, "xf") if among_cells => {
                    let font = usize::try_from(number("fontId")).unwrap_or(usize::MAX);
                    let is_struck = struck.get(font) == Some(&true);
                    styles.push((true, is_struck, number("numFmtId")));
                }
                (4, "protection") if among_cells => {
                    if let Some(style) = styles.last_mut() {
                        style.0 = flag(element, "locked", true);
                    }
                }
                _ => {}
            }
        }
        let format = |id: &u32| formats.get(id).cloned().unwrap_or_else(|| built_in(*id).into());
        let styles = styles.iter();
        Ok(Self::of(styles.map(|(locked, struck, id)| (*locked, *struck, *id, format(id)))))
    }
}
