//! The few changes beside the cells: asking for recalculation, and taking out a list that names a
//! formula that is gone. Both are splices of the text, like those of the cells.

use std::ops::Range;

use quick_xml::events::Event;

use super::with_mark;
use crate::diagnostic::Problems;
use crate::spreadsheet::read::archive::{Archive, resolve};
use crate::spreadsheet::read::layout::Layout;
use crate::spreadsheet::read::xml::{Walk, attribute, attribute_span, flag};

/// The workbook part with the wish to be recalculated on opening, and its number in the container; none
/// if it has the wish already.
pub(super) fn workbook(
    archive: &mut Archive<'_>,
    layout: &Layout,
) -> Result<Option<(usize, Vec<u8>)>, Problems> {
    let part = archive.need(&layout.workbook)?;
    let changed = on_opening(&part.text).map_err(|words| vec![archive.broken(&words)])?;
    let index = archive.find(&layout.workbook);
    Ok(index.zip(changed.map(|text| with_mark(&part, text))))
}

/// The elements before `calcPr` in a workbook part; ISO/IEC 29500-1, 18.2.27 (CT_Workbook).
const BEFORE: &[&str] = &[
    "fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets",
    "functionGroups", "externalReferences", "definedNames",
];

/// The workbook part with the wish to be recalculated on opening; none if it has it already.
fn on_opening(text: &str) -> Result<Option<String>, String> {
    let mut walk = Walk::new(text);
    let mut insert_at = None;
    let mut prefix = String::new();
    while let Some(step) = walk.next()? {
        match &step.event {
            Event::Start(element) | Event::Empty(element) if step.depth == 2 => {
                if element.local_name().as_ref() == "calcPr" {
                    return Ok(asked(text, step.span, flag(element, "fullCalcOnLoad", false)));
                }
                if matches!(step.event, Event::Empty(_)) && before(element.local_name().as_ref()) {
                    insert_at = Some(step.span.end);
                }
            }
            Event::End(element) if step.depth == 2 && before(element.local_name().as_ref()) => {
                insert_at = Some(step.span.end);
            }
            Event::Start(element) if step.depth == 1 => {
                let name = element.name();
                prefix = name.as_ref().strip_suffix("workbook").unwrap_or_default().to_owned();
            }
            _ => {}
        }
    }
    let at = insert_at.ok_or("its workbook part lists no tabs")?;
    let (head, tail) = text.split_at_checked(at).ok_or("its workbook part ends too soon")?;
    Ok(Some(format!("{head}<{prefix}calcPr fullCalcOnLoad=\"1\"/>{tail}")))
}

fn before(name: &str) -> bool {
    BEFORE.contains(&name)
}

fn asked(text: &str, span: Range<usize>, already: bool) -> Option<String> {
    if already {
        return None;
    }
    let mut tag = text.get(span.clone())?.to_owned();
    match attribute_span(&tag, "fullCalcOnLoad") {
        Some(found) => tag.replace_range(found.value, "1"),
        None => {
            let end = if tag.ends_with("/>") { tag.len() - 2 } else { tag.len() - 1 };
            let end = tag.get(..end)?.trim_end().len();
            tag.insert_str(end, " fullCalcOnLoad=\"1\"");
        }
    }
    Some(format!("{}{tag}{}", text.get(..span.start)?, text.get(span.end..)?))
}

/// The text without the elements whose attribute leads to a part.
pub(super) fn without(
    text: &str,
    element: &str,
    attribute_name: &str,
    base: &str,
    part: &str,
) -> Result<String, String> {
    let mut cuts: Vec<Range<usize>> = Vec::new();
    let mut open: Option<usize> = None;
    let mut walk = Walk::new(text);
    while let Some(step) = walk.next()? {
        match &step.event {
            Event::Start(found) | Event::Empty(found) if step.depth == 2 => {
                let target = attribute(found, attribute_name).unwrap_or_default();
                let same = resolve(base, &target).eq_ignore_ascii_case(part);
                if found.local_name().as_ref() == element && same {
                    match step.event {
                        Event::Empty(_) => cuts.push(step.span),
                        _ => open = Some(step.span.start),
                    }
                }
            }
            Event::End(_) if step.depth == 2 => {
                if let Some(start) = open.take() {
                    cuts.push(start..step.span.end);
                }
            }
            _ => {}
        }
    }
    let mut out = text.to_owned();
    for cut in cuts.into_iter().rev() {
        out.replace_range(cut, "");
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wish_is_added_once_and_in_its_place() {
        for (text, expected) in [
            (
                "<workbook><sheets><sheet/></sheets><pivotCaches/></workbook>",
                "<workbook><sheets><sheet/></sheets><calcPr fullCalcOnLoad=\"1\"/><pivotCaches/></workbook>",
            ),
            (
                "<x:workbook><x:sheets/><x:calcPr calcId='1' /></x:workbook>",
                "<x:workbook><x:sheets/><x:calcPr calcId='1' fullCalcOnLoad=\"1\" /></x:workbook>",
            ),
            (
                "<x:workbook><x:sheets/></x:workbook>",
                "<x:workbook><x:sheets/><x:calcPr fullCalcOnLoad=\"1\"/></x:workbook>",
            ),
            (
                "<workbook><sheets/><calcPr fullCalcOnLoad=\"0\"></calcPr></workbook>",
                "<workbook><sheets/><calcPr fullCalcOnLoad=\"1\"></calcPr></workbook>",
            ),
        ] {
            let once = on_opening(text).unwrap().unwrap();
            assert_eq!(once, expected);
            assert_eq!(on_opening(&once).unwrap(), None);
        }
    }

    #[test]
    fn a_part_is_forgotten_wherever_it_is_listed() {
        let types = "<Types><Override PartName=\"/xl/calcChain.xml\"/><Override PartName='/xl/a.xml'/></Types>";
        let left = without(types, "Override", "PartName", "", "xl/calcChain.xml").unwrap();
        assert_eq!(left, "<Types><Override PartName='/xl/a.xml'/></Types>");
        let rels = "<R><Relationship Target='calcChain.xml'></Relationship></R>";
        let left = without(rels, "Relationship", "Target", "xl/workbook.xml", "xl/calcChain.xml");
        assert_eq!(left.unwrap(), "<R></R>");
    }
}
