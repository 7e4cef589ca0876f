//! Opens the filled workbook again and compares it with the original.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read};

use calamine::{DataRef, Reader, Xlsx, XlsxError};
use zip::ZipArchive;

use super::crosscheck::Checksum;
use super::repack::{Content, summed};
use super::{Accepted, Page};
use crate::spreadsheet::model::cell::Cell;
use crate::spreadsheet::model::position::Position;
use crate::spreadsheet::read::archive::Archive;
use crate::spreadsheet::read::cell_span::{CellSpan, Kind};
use crate::spreadsheet::read::foreign::from_library;
use crate::spreadsheet::read::layout::Layout;
use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::stream::values::Texts;

/// Checks that every part that was not replaced has kept its packed bytes, order, time and
/// attributes, and that every replaced part reads as it was meant.
pub(super) fn verify(
    original: &mut Archive<'_>,
    bytes: &[u8],
    parts: &BTreeMap<usize, Content<'_>>,
    dropped: &BTreeSet<usize>,
) -> Result<(), String> {
    let mut fresh = ZipArchive::new(Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let kept: Vec<usize> = (0..original.zip.len()).filter(|at| !dropped.contains(at)).collect();
    if kept.len() != fresh.len() {
        return Err(format!("it has {} parts instead of {}", fresh.len(), kept.len()));
    }
    for (at, before) in kept.into_iter().enumerate() {
        match parts.get(&before) {
            Some(Content::Whole(content)) => reads_as(&mut fresh, at, content)?,
            Some(Content::Flown(length, sum)) => {
                let mut entry = fresh.by_index(at).map_err(|error| error.to_string())?;
                if summed(&mut entry)? != (*length, *sum) {
                    return Err("a replaced part reads differently".to_owned());
                }
            }
            Some(Content::Flowing(_)) => return Err("a part was not written".to_owned()),
            None => same_packed(original, before, &mut fresh, at)?,
        }
        same_attributes(original, before, &mut fresh, at)?;
    }
    Ok(())
}

type Fresh<'a> = ZipArchive<Cursor<&'a [u8]>>;

fn reads_as(fresh: &mut Fresh<'_>, at: usize, content: &[u8]) -> Result<(), String> {
    let mut entry = fresh.by_index(at).map_err(|error| error.to_string())?;
    let mut read = Vec::with_capacity(content.len());
    entry.read_to_end(&mut read).map_err(|error| error.to_string())?;
    if read == content { Ok(()) } else { Err("a replaced part reads differently".to_owned()) }
}

fn same_packed(
    original: &mut Archive<'_>,
    before: usize,
    fresh: &mut Fresh<'_>,
    after: usize,
) -> Result<(), String> {
    let mut old = original.zip.by_index_raw(before).map_err(|error| error.to_string())?;
    let mut new = fresh.by_index_raw(after).map_err(|error| error.to_string())?;
    let (mut one, mut other) = (Vec::new(), Vec::new());
    let same = old.crc32() == new.crc32()
        && old.size() == new.size()
        && old.compressed_size() == new.compressed_size()
        && old.compression() == new.compression();
    if same {
        old.read_to_end(&mut one).map_err(|error| error.to_string())?;
        new.read_to_end(&mut other).map_err(|error| error.to_string())?;
        if one == other {
            return Ok(());
        }
    }
    Err("a part that was not asked to change has changed".to_owned())
}

fn same_attributes(
    original: &mut Archive<'_>,
    before: usize,
    fresh: &mut Fresh<'_>,
    after: usize,
) -> Result<(), String> {
    let old = original.zip.by_index_raw(before).map_err(|error| error.to_string())?;
    let new = fresh.by_index_raw(after).map_err(|error| error.to_string())?;
    let time = old.last_modified().filter(zip::DateTime::is_valid);
    let same_time = time.is_none() || time == new.last_modified();
    let same = old.name_raw() == new.name_raw()
        && same_time
        && old.unix_mode() == new.unix_mode()
        && old.compression() == new.compression();
    if same { Ok(()) } else { Err("a part has lost its name, place or time".to_owned()) }
}

/// Checks that a tab's new text, scanned afresh, differs from the old only in the touched cells, in the
/// tags of their rows and in the used area.
pub(super) fn only_touched_differ(
    (old_text, old): (&str, &Sheet),
    (text, fresh): (&str, &Sheet),
    touched: &dyn Fn(Position) -> bool,
) -> Result<(), String> {
    let untouched = |cell: &&CellSpan| !touched(cell.position);
    let mut before = old.cells.iter().filter(untouched);
    for new in fresh.cells.iter().filter(untouched) {
        let old = before.next().ok_or("a cell has been added")?;
        let one = text.get(new.start as usize..new.end as usize);
        let other = old_text.get(old.start as usize..old.end as usize);
        if new.position != old.position || one != other {
            return Err(format!("cell {} has changed", old.position.name()));
        }
    }
    if before.next().is_some() {
        return Err("a cell has been lost".to_owned());
    }
    if around(text, fresh) == around(old_text, old) {
        Ok(())
    } else {
        Err("something beside the cells has changed".to_owned())
    }
}

/// What stands before and after the cells, without the used area.
fn around<'t>(text: &'t str, sheet: &Sheet) -> (&'t str, &'t str, &'t str) {
    let used = sheet.dimension.as_ref().map_or(0..0, |(span, _)| span.clone());
    let close = format!("</{}sheetData>", sheet.prefix);
    let after = text.get(sheet.data_end..).unwrap_or_default();
    (
        text.get(..used.start).unwrap_or_default(),
        text.get(used.end..sheet.data.start).unwrap_or_default(),
        after.strip_prefix(close.as_str()).unwrap_or(after),
    )
}

/// Reads the changed cells back with the library that reads workbooks, not with our own scan; the numbers
/// on the way to the last of them must be those of our scan.
pub(super) fn reads_back(
    bytes: &[u8],
    layout: &Layout,
    pages: &BTreeMap<usize, Page>,
    accepted: &[Accepted<'_>],
) -> Result<(), String> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let mut by_tab: BTreeMap<usize, BTreeMap<Position, &Accepted<'_>>> = BTreeMap::new();
    for one in accepted {
        by_tab.entry(one.tab).or_default().insert(one.edit.position, one);
    }
    for (tab, mut expected) in by_tab {
        let name = layout.tabs.get(tab).map_or("", |tab| tab.name.as_str());
        let mut cells = book.worksheet_cells_reader(name).map_err(|error| error.to_string())?;
        while !expected.is_empty() {
            let next = match cells.next_cell() {
                Ok(Some(next)) => next,
                Ok(None) => break,
                // an error of another cell that the library does not know by name
                Err(XlsxError::CellError(_)) => continue,
                Err(error) => return Err(error.to_string()),
            };
            let (row, column) = next.get_position();
            let position = Position { row, column };
            let Some(one) = expected.remove(&position) else {
                if let Some(page) = pages.get(&tab) {
                    same_number(page, position, next.get_value())
                        .map_err(|words| format!("{name}!{}: {words}", position.name()))?;
                }
                continue;
            };
            let found = from_library(next.get_value());
            if !agrees(&found, one) {
                let cell = one.edit.position.name();
                return Err(format!("{name}!{cell} reads back as {found}"));
            }
        }
        if let Some(one) = expected.values().find(|one| !one.edit.value.as_cell().is_empty()) {
            return Err(format!("{name}!{} is not there", one.edit.position.name()));
        }
    }
    Ok(())
}

/// A number of the owner's, read in both ways.
fn same_number(page: &Page, position: Position, value: &DataRef<'_>) -> Result<(), String> {
    let Some(cell) = page.sheet.cell(position).filter(|cell| cell.kind == Kind::Number) else {
        return Ok(());
    };
    // the saved result of a formula may have been taken out
    if cell.formula.is_some() || page.sheet.block_at(position).is_some() {
        return Ok(());
    }
    let ours = Checksum::one(position, &super::value(&page.part.text, cell, &Texts::default())?);
    let mut read = Checksum::default();
    read.add_read(position, value, false);
    if ours == read { Ok(()) } else { Err("it can be read in two ways".to_owned()) }
}

fn agrees(found: &Cell, one: &Accepted<'_>) -> bool {
    let date = matches!((found, &one.edit.value), (Cell::Date(_), super::NewValue::Number(_)));
    let lines = match found {
        Cell::Text(text) => Cell::Text(text.replace("\r\n", "\n")),
        other => other.clone(),
    };
    let wanted = one.edit.value.as_cell();
    date || lines == wanted || *found == wanted
}
