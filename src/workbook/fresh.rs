//! A fresh `.xlsx` from a workbook that cannot be filled in place: its values, with ours among them.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::spreadsheet::{Book, Cell, Change, Edit, Entry, NewValue, Tab, TabKind, Written};

/// Writes the values of a `.csv`, `.ods` or `.xlsb` and the edits into a fresh workbook.
///
/// Formulas come as the values that were saved with them; styles, charts and names stay behind, and the
/// caution says so. A text never becomes a formula.
///
/// # Errors
/// `missing-tab` for an edit of a tab that the book does not have; `unwritable-file` for what a workbook
/// cannot hold.
pub fn fresh_copy(book: &Book, edits: &[Edit]) -> Result<Written, Problems> {
    let problems: Vec<Diagnostic> = edits
        .iter()
        .filter(|edit| book.tab(&edit.tab).is_none())
        .map(|edit| {
            Diagnostic::error(
                Name::MissingTab,
                format!("`{}` has no tab `{}`", book.name, edit.tab),
            )
            .at(Place::File { name: book.name.clone() })
        })
        .collect();
    if !problems.is_empty() {
        return Err(problems.into());
    }
    let bytes = copied(book, edits).and_then(|mut workbook| workbook.save_to_buffer());
    let bytes = bytes.map_err(|error| vec![cannot_be_made(book, &error)])?;
    let changed = edits
        .iter()
        .filter_map(|edit| {
            let old = book.tab(&edit.tab)?.cell(edit.position).clone();
            let new = edit.value.as_cell();
            (old != new).then(|| Change {
                tab: edit.tab.clone(),
                position: edit.position,
                old,
                new,
            })
        })
        .collect();
    let cautions = vec![values_only(book)];
    Ok(Written { bytes, changed, cautions, ..Written::default() })
}

pub(super) fn cannot_be_made(book: &Book, error: &XlsxError) -> Diagnostic {
    let words = format!("the fresh workbook cannot be made: {error}");
    Diagnostic::error(Name::UnwritableFile, words).at(Place::File { name: book.name.clone() })
}

/// What stays behind when a workbook is written afresh.
pub(super) fn values_only(book: &Book) -> Diagnostic {
    let mut formulas = book.tabs.iter().flat_map(|tab| {
        tab.entries()
            .filter(|entry| entry.formula)
            .map(|entry| book.place(&tab.name, entry.position))
    });
    let words = "the fresh workbook holds the values of the old one, not its formulas and styles";
    let (words, place) = match formulas.next() {
        Some(first) => (
            format!(
                "{words}: {} became the values saved with them, and do not follow the new results",
                match formulas.count() {
                    0 => "1 formula".to_owned(),
                    more => format!("{} formulas", more + 1),
                }
            ),
            first,
        ),
        None => (words.to_owned(), Place::File { name: book.name.clone() }),
    };
    Diagnostic::caution(Name::ValuesOnly, words)
        .at(place)
        .remedy("save the workbook as .xlsx in an office program and fill that, to keep everything")
}

/// A fresh workbook without tabs. Its date is fixed, so that the same input makes the same bytes.
pub(super) fn begun() -> Result<Workbook, XlsxError> {
    let mut workbook = Workbook::new();
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&created));
    Ok(workbook)
}

pub(super) fn percent() -> Format {
    Format::new().set_num_format("0.##%")
}

/// Values of a tab in a fresh one.
pub(super) fn copy(sheet: &mut Worksheet, tab: &Tab, entries: &[Entry]) -> Result<(), XlsxError> {
    let percent = percent();
    for entry in entries {
        let (row, column) =
            (entry.position.row, u16::try_from(entry.position.column).unwrap_or(u16::MAX));
        match &entry.cell {
            Cell::Empty => {}
            // the number is the fraction: without its sign it would be read as another
            Cell::Number(number) if tab.shows_percent(entry.position) => {
                sheet.write_number_with_format(row, column, *number, &percent)?;
            }
            Cell::Number(number) => {
                sheet.write_number(row, column, *number)?;
            }
            Cell::Truth(truth) => {
                sheet.write_boolean(row, column, *truth)?;
            }
            Cell::Text(text) | Cell::Error(text) | Cell::Date(text) => {
                sheet.write_string(row, column, text)?;
            }
        }
    }
    Ok(())
}

/// The values of a workbook and the edits in a fresh one, tab by tab.
fn copied(book: &Book, edits: &[Edit]) -> Result<Workbook, XlsxError> {
    let mut workbook = begun()?;
    let percent = percent();
    for tab in book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells) {
        let sheet = workbook.add_worksheet();
        if !tab.name.is_empty() {
            sheet.set_name(&tab.name)?;
        }
        copy(sheet, tab, &tab.entries)?;
        for edit in edits.iter().filter(|edit| edit.tab.eq_ignore_ascii_case(&tab.name)) {
            let (row, column) =
                (edit.position.row, u16::try_from(edit.position.column).unwrap_or(u16::MAX));
            match &edit.value {
                NewValue::Number(number) if tab.shows_percent(edit.position) => {
                    sheet.write_number_with_format(row, column, *number, &percent)?
                }
                NewValue::Number(number) => sheet.write_number(row, column, *number)?,
                NewValue::Text(text) => sheet.write_string(row, column, text)?,
                NewValue::Truth(truth) => sheet.write_boolean(row, column, *truth)?,
                NewValue::Empty => sheet.write_string(row, column, "")?,
            };
        }
    }
    Ok(workbook)
}
