//! The binary `.xlsb`: its cells, their saved results and its defined names.
//!
//! A writer may store a cell right of the one before it without its column. The library knows only cells
//! with a column, and would pass the others over unseen, so they are given theirs first.
//!
//! Source of the record types: [MS-XLSB], 2.1.7.62 and 2.4 (from memory; checked against the workbooks of
//! another writer).

use std::collections::BTreeSet;
use std::io::{Cursor, Read, Write};

use calamine::{Reader, SheetType, SheetVisible, Xlsb};
use zip::{ZipWriter, write::SimpleFileOptions};

use super::guard::Limits;
use super::notes;
use super::records::{kind, length, records, wide};
use crate::diagnostic::Problems;
use crate::spreadsheet::model::book::{Book, Entry, Form, Tab, TabKind, Visibility, is_calculated};
use crate::spreadsheet::model::names::DefinedName;
use crate::spreadsheet::model::notes::Notes;
use crate::spreadsheet::model::position::Position;
use crate::spreadsheet::read::Reading;
use crate::spreadsheet::read::archive::{Archive, unreadable};
use crate::spreadsheet::read::foreign::{careful, from_library};
use crate::spreadsheet::read::layout::{Relationships, target};

/// The beginning of a row.
const ROW: u16 = 0;

/// The first and last record of a cell with its column: blank … shared text, then those of formulas.
const CELLS: (u16, u16) = (1, 11);

/// The first and last record of a cell without one: blank … shared text.
const SHORT: (u16, u16) = (12, 18);

/// How far the type of a short cell lies behind that of the same cell with its column.
const BEHIND: u16 = 11;

pub(crate) fn read(name: &str, bytes: &[u8], reading: &Reading) -> Result<Book, Problems> {
    let mut archive = Archive::open(name, bytes, &small(&reading.limits))?;
    let with_columns =
        with_columns(&mut archive).map_err(|words| vec![unreadable(name, &words)])?;
    let bytes = with_columns.as_deref().unwrap_or(bytes);
    let (mut tabs, names) = careful(name, || content(bytes))?;
    note(&mut archive, &mut tabs)?;
    for at in 0..tabs.len() {
        // a formula that the library cannot write out leaves its tab without any
        let found = careful(name, || formulas(bytes, tabs.get(at).map_or("", |tab| &tab.name)));
        if let (Ok(found), Some(tab)) = (found, tabs.get_mut(at)) {
            let calculated = tab.entries.iter_mut().filter(|it| found.contains(&it.position));
            calculated.for_each(|entry| entry.formula = true);
            tab.calculated = tab.entries.iter().any(is_calculated);
        }
    }
    Ok(Book {
        uncalculated: !tabs.iter().any(|tab| tab.calculated),
        names,
        ..Book::plain(name, Form::Xlsb, tabs)
    })
}

/// What a record says that names a tab, among those of the workbook: [MS-XLSB], 2.4.314 (from memory).
const TAB: u16 = 156;

/// Gives each tab what its owner noted at its cells.
fn note(archive: &mut Archive<'_>, tabs: &mut [Tab]) -> Result<(), Problems> {
    let Some(workbook) = Relationships::of(archive, "")?.target("/officeDocument") else {
        return Ok(());
    };
    let related = Relationships::of(archive, &workbook)?;
    for (kind, content) in records(&archive.bytes(&workbook)?) {
        // behind its state and its number the id of its part, and its name
        let said = content.get(8..).filter(|_| kind == TAB).and_then(wide);
        let Some((id, (name, _))) = said.and_then(|(id, rest)| Some((id, wide(rest)?))) else {
            continue;
        };
        let Some(tab) = tabs.iter_mut().find(|tab| tab.name == name) else { continue };
        let Some(part) = related.of_id(&id) else { continue };
        let around = Relationships::of(archive, part)?;
        let mut found = notes::of_parts(archive, &around, "/threadedComment")?;
        for part in around.targets("/comments") {
            found.extend(notes::of_records(records(&archive.bytes(&part)?)));
        }
        tab.notes = Notes::of(found);
    }
    Ok(())
}

/// The cells of a tab that hold formulas.
fn formulas(bytes: &[u8], tab: &str) -> Result<BTreeSet<Position>, String> {
    let mut book: Xlsb<_> = Xlsb::new(Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let range = book.worksheet_formula(tab).map_err(|error| error.to_string())?;
    let (row, column) = range.start().unwrap_or_default();
    let cells = range.used_cells().filter_map(|(down, right, _)| {
        let (down, right) = (u32::try_from(down).ok()?, u32::try_from(right).ok()?);
        Position::new(row.checked_add(down)?, column.checked_add(right)?)
    });
    Ok(cells.collect())
}

fn content(bytes: &[u8]) -> Result<(Vec<Tab>, Vec<DefinedName>), String> {
    let mut book: Xlsb<_> = Xlsb::new(Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let mut tabs = Vec::new();
    for known in book.sheets_metadata().to_vec() {
        let mut entries = Vec::new();
        let cells = known.typ == SheetType::WorkSheet;
        if cells {
            let mut values = book.worksheet_cells_reader(&known.name).map_err(|e| e.to_string())?;
            while let Some(next) = values.next_cell().map_err(|error| error.to_string())? {
                let (row, column) = next.get_position();
                let position = Position::new(row, column)
                    .ok_or_else(|| "a cell lies outside a worksheet".to_owned())?;
                entries.push(Entry::plain(position, from_library(next.get_value())));
            }
        }
        entries.sort_by_key(|entry| entry.position);
        let mut tab = Tab::plain(known.name.clone(), entries);
        tab.formats_unknown = true;
        tab.kind = if cells { TabKind::Cells } else { TabKind::Other };
        tab.visibility = match known.visible {
            SheetVisible::Visible => Visibility::Visible,
            SheetVisible::Hidden => Visibility::Hidden,
            SheetVisible::VeryHidden => Visibility::DeeplyHidden,
        };
        tabs.push(tab);
    }
    let known: Vec<&str> = tabs.iter().map(|tab: &Tab| tab.name.as_str()).collect();
    let names = book.defined_names().iter().map(|(name, text)| DefinedName {
        name: name.clone(),
        scope: None,
        hidden: false,
        built_in: name.starts_with("_xlnm."),
        target: target(text, &known),
        text: text.clone(),
    });
    let names = names.collect();
    Ok((tabs, names))
}

/// The same container in which every cell has its column; none if that is so already.
fn with_columns(archive: &mut Archive<'_>) -> Result<Option<Vec<u8>>, String> {
    let mut parts = Vec::new();
    for index in 0..archive.zip.len() {
        let mut entry = archive.zip.by_index(index).map_err(|error| error.to_string())?;
        let name = entry.name().map_err(|error| error.to_string())?.to_ascii_lowercase();
        if !(name.contains("sheets/") && name.ends_with(".bin")) {
            continue;
        }
        let mut part = Vec::new();
        entry.read_to_end(&mut part).map_err(|error| error.to_string())?;
        if let Some(long) = lengthened(&part).ok_or(format!("its part `{name}` ends too early"))? {
            parts.push((index, long));
        }
    }
    if parts.is_empty() {
        return Ok(None);
    }
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    for index in 0..archive.zip.len() {
        let entry = archive.zip.by_index_raw(index).map_err(|error| error.to_string())?;
        let Some((_, long)) = parts.iter().find(|(at, _)| *at == index) else {
            out.raw_copy_file(entry).map_err(|error| error.to_string())?;
            continue;
        };
        let name = entry.name().map_err(|error| error.to_string())?.into_owned();
        drop(entry);
        out.start_file(name, SimpleFileOptions::default()).map_err(|error| error.to_string())?;
        out.write_all(long).map_err(|error| error.to_string())?;
    }
    Ok(Some(out.finish().map_err(|error| error.to_string())?.into_inner()))
}

/// A part whose short cells have their column; the inner none if there are no short cells, the outer if a
/// record goes on beyond the end.
fn lengthened(part: &[u8]) -> Option<Option<Vec<u8>>> {
    let mut long = Vec::new();
    let (mut rest, mut shorts, mut next) = (part, 0, 0_u32);
    while !rest.is_empty() {
        let (kind, after) = kind(rest)?;
        let (length, after) = length(after)?;
        let (content, after) = after.split_at_checked(length)?;
        if kind == ROW {
            next = 0;
        }
        if (SHORT.0..=SHORT.1).contains(&kind) {
            shorts += 1;
            long.push(u8::try_from(kind - BEHIND).ok()?);
            put_length(&mut long, length + 4);
            long.extend(next.to_le_bytes());
            long.extend(content);
            next = next.checked_add(1)?;
        } else {
            if (CELLS.0..=CELLS.1).contains(&kind) {
                next = u32::from_le_bytes(content.first_chunk().copied()?).checked_add(1)?;
            }
            long.extend(rest.get(..rest.len() - after.len())?);
        }
        rest = after;
    }
    Some((shorts > 0).then_some(long))
}

fn put_length(to: &mut Vec<u8>, mut length: usize) {
    loop {
        let low = u8::try_from(length & 0x7f).unwrap_or(0);
        length >>= 7;
        to.push(if length == 0 { low } else { low | 0x80 });
        if length == 0 {
            return;
        }
    }
}

/// What a file of the binary kind may ask for: its reader keeps more in memory.
fn small(limits: &Limits) -> Limits {
    Limits { unpacked: limits.unpacked.min(64 << 20), ..*limits }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_cell_gets_the_column_after_the_one_before() {
        // row 0, a long blank in column 4, a short number, a short blank; row 1, a short number in column 0
        let row = |row: u8| [&[0, 25, row][..], &[0; 24]].concat();
        let number = [&[16_u8, 12, 0, 0, 0, 0][..], &1.5_f64.to_le_bytes()].concat();
        let long = |column: u8| {
            [&[5_u8, 16, column, 0, 0, 0, 0, 0, 0, 0][..], &1.5_f64.to_le_bytes()].concat()
        };
        let blank = vec![1, 8, 4, 0, 0, 0, 0, 0, 0, 0];
        let short_blank = vec![12, 4, 0, 0, 0, 0];
        let before = [row(0), blank.clone(), number.clone(), short_blank, row(1), number].concat();
        let long_blank = vec![1, 8, 6, 0, 0, 0, 0, 0, 0, 0];
        let after = [row(0), blank.clone(), long(5), long_blank, row(1), long(0)].concat();
        assert_eq!(lengthened(&before), Some(Some(after)));
        assert_eq!(lengthened(&[row(0), blank].concat()), Some(None));
        assert_eq!(lengthened(&row(0)[..9]), None);
        assert_eq!(lengthened(&[0x81]), None);
    }

    #[test]
    fn lengths_take_as_many_bytes_as_they_need() {
        for number in [0_usize, 1, 127, 128, 16_383, 16_384, 2_097_151, 2_097_152, 268_435_455] {
            let mut bytes = Vec::new();
            put_length(&mut bytes, number);
            assert_eq!(length(&bytes), Some((number, &[][..])));
        }
    }
}
