//! A workbook of the .xlsx family read whole: its values by the library, where they stand by our own scan.

use std::io::Cursor;
use std::sync::Arc;

use calamine::{Reader, Xlsx, XlsxError};

use super::Reading;
use super::archive::{Archive, unreadable};
use super::cell_span::CellSpan;
use super::foreign::{careful, from_library};
use super::layout::{Layout, TabPart, shared_texts_where_expected};
use super::sheet::Sheet;
use super::stream::values::{Texts, entries};
use super::styles::read_styles;
use super::tables;
use crate::diagnostic::Problems;
use crate::spreadsheet::model::book::{Book, Entry, SheetStyles, Tab, TabKind, is_calculated};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::formulas::Formulas;
use crate::spreadsheet::model::pieces::Pieces;
use crate::spreadsheet::model::position::Position;
use crate::spreadsheet::model::styles::Styles;
use crate::spreadsheet::model::views::cover;

pub(super) fn read(name: &str, bytes: &[u8], reading: &Reading) -> Result<Book, Problems> {
    read_from(name, bytes, reading, LONG)
}

/// Reads it; of tabs whose part is longer than `long` the library does not read the values.
fn read_from(name: &str, bytes: &[u8], reading: &Reading, long: usize) -> Result<Book, Problems> {
    let mut archive = Archive::open(name, bytes, &reading.limits)?;
    let layout = Layout::read(&mut archive)?;
    let styles = Arc::new(read_styles(&mut archive, &layout)?);
    shared_texts_where_expected(&archive, &layout)?;
    let mut pieces = Pieces::default();
    if let Some(part) = &layout.shared_texts
        && let Some(part) = archive.text(part)?
    {
        pieces.add(&part.text, "si").map_err(|words| vec![archive.broken(&words)])?;
    }
    let mut values = Values { bytes, long, library: None, texts: None, pieces };
    let mut tabs = Vec::with_capacity(layout.tabs.len());
    for part in &layout.tabs {
        tabs.push(match part.kind {
            TabKind::Cells => read_tab(&mut archive, &layout, &mut values, part, &styles)?,
            TabKind::Chart | TabKind::Other => Tab {
                visibility: part.visibility,
                kind: part.kind,
                ..Tab::plain(part.name.clone(), Vec::new())
            },
        });
    }
    tables::resolve(&mut archive, &layout, &mut tabs)?;
    Ok(layout.book(name, tabs, Arc::new(values.pieces)))
}

/// Where the values of cells come from, each made ready when the first tab asks for it.
struct Values<'a> {
    bytes: &'a [u8],
    long: usize,
    library: Option<Xlsx<Cursor<&'a [u8]>>>,
    texts: Option<Texts>,
    /// Texts of which a part is raised or struck through.
    pieces: Pieces,
}

/// A part above this size is a long table: its values are read on the way, as those of a product line
/// are. Writing reads them with the library, up to the last cell that is written.
const LONG: usize = 8 << 20;

fn read_tab(
    archive: &mut Archive<'_>,
    layout: &Layout,
    values: &mut Values<'_>,
    part: &TabPart,
    styles: &Arc<Styles>,
) -> Result<Tab, Problems> {
    let text = archive.need(&part.part)?.text;
    let file = archive.file.clone();
    let broken =
        |words: String| vec![unreadable(&file, &format!("its tab `{}`: {words}", part.name))];
    let mut sheet = Sheet::scan(&text).map_err(broken)?;
    let notes = sheet.room.around(archive, layout, part, &sheet.allowed)?;
    values.pieces.add(&text, "is").map_err(broken)?;
    let mut entries = if text.len() > values.long {
        if values.texts.is_none() {
            values.texts = Some(Texts::read(archive, layout)?);
        }
        let (none, since) = (Texts::default(), layout.since_1904);
        let texts = values.texts.as_ref().unwrap_or(&none);
        entries(&text, &sheet, texts, styles, since, &mut |_, _| {}).map_err(broken)?
    } else {
        let library = match &mut values.library {
            Some(library) => library,
            none => none.insert(careful(&file, || Xlsx::new(Cursor::new(values.bytes)))?),
        };
        careful(&file, || read_entries(library, part, &sheet))?
    };
    cover(&mut entries, &sheet.merged);
    let rows = sheet.rows.iter().filter_map(|row| Some((row.row, row.style?))).collect();
    let columns = sheet.columns.iter().map(|known| (known.columns.clone(), known.style)).collect();
    Ok(Tab {
        name: part.name.clone(),
        visibility: part.visibility,
        kind: part.kind,
        protected: sheet.protected,
        merged: sheet.merged,
        calculated: entries.iter().any(is_calculated),
        formulas: Formulas::of(sheet.formulas),
        partial: false,
        entries,
        hidden: sheet.hidden,
        room: Some(Arc::new(sheet.room)),
        notes,
        sheet_styles: SheetStyles { rows, columns, ..SheetStyles::default() },
        rules: sheet.conditional.rules(styles),
        styles: Arc::clone(styles),
        formats_unknown: false,
        thinned: None,
    })
}

/// Takes the values from the library and everything else from our own scan; the two must agree
/// on where the cells stand and on which of them hold anything.
fn read_entries(
    cells: &mut Xlsx<Cursor<&[u8]>>,
    part: &TabPart,
    sheet: &Sheet,
) -> Result<Vec<Entry>, String> {
    let mut entries = Vec::with_capacity(sheet.cells.len());
    if sheet.cells.is_empty() {
        return Ok(entries);
    }
    let mut values = cells.worksheet_cells_reader(&part.name).map_err(|error| error.to_string())?;
    for span in &sheet.cells {
        let cell = match values.next_cell() {
            Ok(Some(next)) => {
                let cell = from_library(next.get_value());
                let lost = span.filled && span.value != (0, 0) && cell.is_empty();
                let Position { row, column } = span.position;
                if next.get_position() != (row, column) || lost && span.formula.is_none() {
                    return Err(disagreement(part, span));
                }
                cell
            }
            // an error of the cell that the library does not know by name
            Err(XlsxError::CellError(words)) => Cell::Error(words),
            Ok(None) => return Err(disagreement(part, span)),
            Err(error) => return Err(error.to_string()),
        };
        entries.push(sheet.entry(span, cell));
    }
    Ok(entries)
}

fn disagreement(part: &TabPart, span: &CellSpan) -> String {
    format!("cell {} of its tab `{}` can be read in two ways", span.position.name(), part.name)
}

#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "a test that reads the workbooks of all writers")]
mod tests {
    use super::*;

    /// What both say of a cell; of an error and of the spaces around a text readers may differ.
    fn shown(cell: &Cell) -> String {
        match cell {
            Cell::Error(_) => "an error".to_owned(),
            Cell::Text(text) => text.replace("\r\n", "\n").trim().to_owned(),
            Cell::Empty => String::new(),
            other => other.to_string(),
        }
    }

    #[test]
    fn a_long_tab_is_read_as_the_library_reads_a_short_one() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks");
        let mut folders = vec![folder];
        let mut compared = 0;
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() && !path.ends_with("node_modules") {
                    folders.push(path);
                    continue;
                }
                let name = path.file_name().unwrap().to_str().unwrap().to_owned();
                if !name.ends_with(".xlsx") && !name.ends_with(".xlsm") {
                    continue;
                }
                let bytes = std::fs::read(&path).unwrap();
                let reading = Reading::default();
                let Ok(library) = read_from(&name, &bytes, &reading, usize::MAX) else { continue };
                let own = read_from(&name, &bytes, &reading, 0).unwrap();
                for (one, other) in library.tabs.iter().zip(&own.tabs) {
                    assert_eq!(one.entries.len(), other.entries.len(), "{name} {}", one.name);
                    for (one, other) in one.entries.iter().zip(&other.entries) {
                        let cell = one.position.name();
                        assert_eq!(shown(&one.cell), shown(&other.cell), "{name} {cell}");
                        assert_eq!((one.formula, one.style), (other.formula, other.style));
                        compared += 1;
                    }
                }
            }
        }
        assert!(compared > 700, "{compared}");
    }
}
