//! What the cells of a piece hold, read from its own bytes.

use calamine::ExcelDateTime;
use std::sync::Arc;

use quick_xml::events::Event;

use crate::diagnostic::Problems;
use crate::spreadsheet::model::book::Entry;
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::pieces::Pieces;
use crate::spreadsheet::model::styles::Styles;
use crate::spreadsheet::read::archive::Archive;
use crate::spreadsheet::read::cell_span::{CellSpan, Kind};
use crate::spreadsheet::read::foreign::date_text;
use crate::spreadsheet::read::layout::Layout;
use crate::spreadsheet::read::plain_cell::text_in_place;
use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::xml::{Walk, append, unescape};

/// The texts that all tabs share.
#[derive(Default)]
pub(crate) struct Texts {
    all: Vec<String>,
    /// Those of which a part is raised or struck through.
    pub(crate) pieces: Arc<Pieces>,
}

impl Texts {
    pub(crate) fn read(archive: &mut Archive<'_>, layout: &Layout) -> Result<Self, Problems> {
        let part = match &layout.shared_texts {
            Some(part) => archive.text(part)?,
            None => None,
        };
        let mut pieces = Pieces::default();
        let texts = part.map_or(Ok(Vec::new()), |part| {
            pieces.add(&part.text, "si")?;
            strings(&part.text, "si")
        });
        let all = texts.map_err(|words| vec![archive.broken(&words)])?;
        Ok(Self { all, pieces: Arc::new(pieces) })
    }
}

/// The value of a cell in the text that was scanned. What does not read as its kind says comes out as
/// its plain text; a date as the number it is stored as.
pub(crate) fn value(text: &str, cell: &CellSpan, texts: &Texts) -> Result<Cell, String> {
    let broken = |words: String| format!("cell {}: {words}", cell.position.name());
    if cell.kind == Kind::InlineText {
        let inner = text.get(cell.tag_end as usize..cell.end as usize).unwrap_or_default();
        if let Some((text, b"</c>")) = text_in_place(inner.as_bytes())
            && let Ok(text) = std::str::from_utf8(text)
            && !text.is_empty()
        {
            return Ok(Cell::Text(unescape(text)));
        }
        let element = text.get(cell.start as usize..cell.end as usize).unwrap_or_default();
        let text = strings(element, "is").map_err(broken)?.pop();
        return Ok(text.filter(|text| !text.is_empty()).map_or(Cell::Empty, Cell::Text));
    }
    let element = text.get(cell.value.0 as usize..cell.value.1 as usize).unwrap_or_default();
    let stored = plain(element).map_err(broken)?;
    if stored.is_empty() {
        return Ok(Cell::Empty);
    }
    Ok(match cell.kind {
        Kind::Number => {
            let number = stored.trim().parse().ok().filter(|number: &f64| number.is_finite());
            number.map_or_else(|| Cell::Text(stored.into_owned()), Cell::Number)
        }
        Kind::SharedText => {
            let index: Option<usize> = stored.trim().parse().ok();
            let text = index.and_then(|at| texts.all.get(at)).cloned();
            let text = text.unwrap_or_else(|| stored.into_owned());
            if text.is_empty() { Cell::Empty } else { Cell::Text(text) }
        }
        Kind::Truth => Cell::Truth(matches!(stored.trim(), "1" | "true")),
        Kind::Error => Cell::Error(stored.into_owned()),
        Kind::Date => Cell::Date(stored.into_owned()),
        Kind::FormulaText | Kind::InlineText | Kind::Unknown => Cell::Text(unescape(&stored)),
    })
}

/// All cells of a piece, dates written out; `seen` is shown each as it is stored.
pub(crate) fn entries(
    text: &str,
    sheet: &Sheet,
    texts: &Texts,
    styles: &Styles,
    since_1904: bool,
    seen: &mut dyn FnMut(&CellSpan, &Cell),
) -> Result<Vec<Entry>, String> {
    let mut entries = Vec::with_capacity(sheet.cells.len());
    for span in &sheet.cells {
        if span.kind == Kind::Unknown {
            return Err(format!("its cell {} is of an unknown kind", span.position.name()));
        }
        let mut cell = value(text, span, texts)?;
        seen(span, &cell);
        if let (Cell::Number(number), Some(clock)) = (&cell, styles.clock(span.style)) {
            let clock = ExcelDateTime::new(*number, clock, since_1904);
            cell = Cell::Date(date_text(&clock));
        }
        entries.push(sheet.entry(span, cell));
    }
    Ok(entries)
}

/// The text of an element, entities resolved.
fn plain(element: &str) -> Result<std::borrow::Cow<'_, str>, String> {
    // `<v>12.5</v>`, as nearly all are
    let inner = element.strip_prefix("<v>").and_then(|inner| inner.strip_suffix("</v>"));
    if let Some(inner) = inner
        && !inner.bytes().any(|byte| matches!(byte, b'<' | b'&' | b'\r' | b'>'))
    {
        return Ok(inner.into());
    }
    if let Some((_, inner)) = element.split_once('>')
        && let Some((inner, _)) = inner.split_once('<')
        && element.matches('<').count() == 2
        && !inner.contains(['&', '\r', '>'])
    {
        return Ok(inner.into());
    }
    let mut text = String::new();
    if !element.is_empty() {
        let mut walk = Walk::new(element);
        while let Some(step) = walk.next()? {
            append(&step.event, &mut text)?;
        }
    }
    Ok(text.into())
}

/// The texts of all elements of that name: their `t`, without the reading aids in `rPh`.
fn strings(xml: &str, wanted: &str) -> Result<Vec<String>, String> {
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
