//! The notes of a tab, in the parts of their own that two families of workbooks keep them in.

use quick_xml::events::Event;

use super::archive::Archive;
use super::layout::Relationships;
use super::records::wide;
use super::xml::{Walk, attribute};
use crate::diagnostic::Problems;
use crate::spreadsheet::model::position::{Area, Position};

/// Notes with the cells that bear them.
pub(crate) type Found = Vec<(Area, String)>;

/// The notes in those parts that a tab relates to under a kind; a part that nobody can read is shown by nobody.
pub(crate) fn of_parts(
    archive: &mut Archive<'_>,
    related: &Relationships,
    kind: &str,
) -> Result<Found, Problems> {
    let mut found = Found::new();
    for part in related.targets(kind) {
        if let Some(text) = archive.text(&part)? {
            found.extend(of_text(&text.text).unwrap_or_default());
        }
    }
    Ok(found)
}

/// ECMA-376 Part 1, 18.7, and [MS-XLSX], 2.6.205 (both from memory).
fn of_text(text: &str) -> Result<Found, String> {
    let mut found = Found::new();
    let mut walk = Walk::new(text);
    let mut threaded = false;
    while let Some(step) = walk.next()? {
        let Event::Start(element) = &step.event else { continue };
        let name = element.local_name();
        match name.as_ref() {
            "comment" | "threadedComment" => {
                threaded = name.as_ref() == "threadedComment";
                let cells = attribute(element, "ref").and_then(|it| Area::parse(&it));
                found.extend(cells.map(|cells| (cells, String::new())));
            }
            "t" | "text" if threaded == (name.as_ref() == "text") => {
                let more = walk.text()?;
                found.iter_mut().last().into_iter().for_each(|(_, known)| known.push_str(&more));
            }
            _ => {}
        }
    }
    found.retain(|(_, text)| !is_of_a_talk(text));
    Ok(found)
}

/// Of talks an older form is kept beside, with words of the program around it.
fn is_of_a_talk(text: &str) -> bool {
    text.starts_with("[Threaded comment]")
}

/// The notes of a binary part: [MS-XLSB], 2.1.7.11, 2.4.38 and 2.4.342 (from memory). A record is its type and its
/// content; a part that ends too early has the notes before its end.
pub(crate) fn of_records<'r>(records: impl Iterator<Item = (u16, &'r [u8])>) -> Found {
    const COMMENT: u16 = 635;
    const TEXT: u16 = 637;
    let mut found = Found::new();
    for (kind, content) in records {
        match kind {
            COMMENT => found.extend(cells_of(content).map(|cells| (cells, String::new()))),
            TEXT => {
                let text = content.get(1..).and_then(wide).map(|(text, _)| text);
                let last = found.last_mut().zip(text);
                last.into_iter().for_each(|((_, known), text)| known.push_str(&text));
            }
            _ => {}
        }
    }
    found.retain(|(_, text)| !is_of_a_talk(text));
    found
}

/// The cells of a note, behind the number of its author: first and last row, first and last column.
fn cells_of(content: &[u8]) -> Option<Area> {
    let numbers = content.get(4..20)?.chunks_exact(4).filter_map(|it| it.first_chunk());
    let numbers: Vec<u32> = numbers.map(|it| u32::from_le_bytes(*it)).collect();
    let [top, bottom, left, right] = numbers.as_slice() else { return None };
    Some(Area::between(Position::new(*top, *left)?, Position::new(*bottom, *right)?))
}
