//! Rows of a table that stands in a file beside its sheet.

use crate::spreadsheet::{Area, Book, Cell, Position, Tab};
use crate::unit::unsettled_point;

/// Two columns of a `.csv`, or of a range `Tab!A2:B20` of a workbook, as texts.
///
/// # Errors
/// In the reader's words: the file does not read, the tab or the range is not there, a cell is empty.
pub fn table_rows(
    file: &str,
    bytes: &[u8],
    range: Option<&str>,
) -> Result<Vec<(String, String)>, String> {
    let book = Book::read(file, bytes).map_err(|problems| {
        problems
            .first()
            .map_or_else(|| format!("`{file}` cannot be read"), |problem| problem.headline.clone())
    })?;
    let (tab, area) = match range {
        Some(range) => {
            let (tab, cells) = range.rsplit_once('!').unwrap_or(("", range));
            let tab = tab.trim_matches('\'');
            let area = Area::parse(cells)
                .ok_or_else(|| format!("`{range}` is not a range such as `Curve!A2:B20`"))?;
            let found = if tab.is_empty() { book.tabs.first() } else { book.tab(tab) };
            (found.ok_or_else(|| format!("`{file}` has no tab `{tab}`"))?, area)
        }
        None => {
            let tab = book.tabs.first().ok_or_else(|| format!("`{file}` holds nothing"))?;
            (tab, tab.used().ok_or_else(|| format!("`{file}` holds nothing"))?)
        }
    };
    if area.last.column < area.first.column + 1 {
        return Err(format!("`{file}` needs two columns, argument and value"));
    }
    (area.first.row..=area.last.row)
        .map(|row| {
            let beyond = Position::new(row, area.first.column + 2).map(|it| tab.cell(it));
            if range.is_none() && beyond.is_some_and(|cell| !cell.is_empty()) {
                let words = "holds a third value, where two are read: argument and value";
                return Err(format!("`{file}`, row {} {words}", row + 1));
            }
            let text = |column: u32| {
                text_of(tab, row, column).map_err(|words| format!("`{file}`, {words}"))
            };
            Ok((text(area.first.column)?, text(area.first.column + 1)?))
        })
        .collect()
}

fn text_of(tab: &Tab, row: u32, column: u32) -> Result<String, String> {
    let position = Position::new(row, column).ok_or("beyond the last cell")?;
    match tab.cell(position) {
        Cell::Number(number) => Ok(number.to_string()),
        Cell::Text(text) => match unsettled_point(text) {
            Some(problem) => Err(format!(
                "cell {} holds `{}`, which may be thousands or have a decimal point: {}",
                position.name(),
                text.trim(),
                problem.remedy
            )),
            None => Ok(text.trim().to_owned()),
        },
        other => Err(format!("cell {} needs a number, it holds {other}", position.name())),
    }
}
