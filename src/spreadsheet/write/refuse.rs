//! Which cells must not be written, and what to do instead.

use std::fmt;

use super::{Allow, Edit, NewValue};
use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::spreadsheet::model::formulas::Shape;
use crate::spreadsheet::model::position::{Area, COLUMNS, Position, ROWS};
use crate::spreadsheet::model::styles::Styles;
use crate::spreadsheet::read::archive::Archive;
use crate::spreadsheet::read::layout::Layout;
use crate::spreadsheet::read::sheet::Sheet;
use crate::spreadsheet::read::tables;

/// The most characters of a cell, in units of UTF-16; ECMA-376 limits of the common office suites.
const TEXT: usize = 32_767;

/// What is known of a tab when an edit of it is judged.
pub(super) struct Refusal<'a> {
    pub(super) file: &'a str,
    pub(super) tab: &'a str,
    /// The cells where it stands.
    pub(super) sheet: &'a Sheet,
    /// What holds in the whole tab: merged areas, areas that one formula fills, protection.
    pub(super) whole: &'a Sheet,
    pub(super) styles: &'a Styles,
    pub(super) allow: Allow,
    /// The rows of tables that hold the names of columns or their totals.
    pub(super) tables: &'a [(String, Area)],
}

/// A cell's name, written only where a message needs it.
#[derive(Clone, Copy)]
struct Called(Position);

impl fmt::Display for Called {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0.name())
    }
}

impl Refusal<'_> {
    /// Why the edit is not done, if it is not.
    pub(super) fn of(&self, edit: &Edit) -> Option<Diagnostic> {
        let (name, headline, remedy) = self.value(edit).or_else(|| self.place(edit))?;
        let place = place(self.file, self.tab, edit.position);
        Some(Diagnostic::error(name, headline).at(place).remedy(remedy))
    }

    fn value(&self, edit: &Edit) -> Option<(Name, String, String)> {
        let cell = Called(edit.position);
        match &edit.value {
            NewValue::Number(number) if !number.is_finite() => Some((
                Name::TooLarge,
                format!("{cell} was to hold {number}, which no cell can hold"),
                "look for the line that grows without bound".to_owned(),
            )),
            NewValue::Text(text) if text.encode_utf16().count() > TEXT => Some((
                Name::TextTooLong,
                format!(
                    "{cell} was to hold a text of {} characters, a cell holds {TEXT}",
                    text.encode_utf16().count()
                ),
                "shorten the text".to_owned(),
            )),
            _ => None,
        }
    }

    fn place(&self, edit: &Edit) -> Option<(Name, String, String)> {
        let cell = Called(edit.position);
        let Position { row, column } = edit.position;
        if row >= ROWS || column >= COLUMNS {
            return Some((
                Name::BrokenReference,
                format!("{cell} lies beyond XFD{ROWS}, the last cell of a tab"),
                "choose a cell within the tab".to_owned(),
            ));
        }
        self.merged(edit.position, cell)
            .or_else(|| self.formula(edit.position, cell))
            .or_else(|| self.table(edit.position, cell))
            .or_else(|| self.locked(edit.position, cell))
    }

    fn merged(&self, position: Position, cell: Called) -> Option<(Name, String, String)> {
        let area = self.whole.merged_at(position)?;
        (area.first != position).then(|| {
            let (area, first) = (area.name(), area.first.name());
            (
                Name::MergedCell,
                format!("{cell} lies inside the merged area {area}, which only {first} can fill"),
                format!("point to {first}, or split the merged area"),
            )
        })
    }

    fn formula(&self, position: Position, cell: Called) -> Option<(Name, String, String)> {
        let sheet = self.sheet;
        if let Some(block) = self.whole.block_at(position) {
            let (first, text) = (block.position.name(), &block.text);
            return Some((
                Name::FormulaInTheWay,
                format!("{cell} is filled by the array formula `={text}` of {first}"),
                "choose an empty cell, or take the array formula out".to_owned(),
            ));
        }
        let at = sheet.cell(position)?.formula?;
        let formula = sheet.formulas.get(at as usize)?;
        let (text, remedy) = match formula.shape {
            Shape::Plain if self.allow.formulas => return None,
            Shape::Plain => (
                format!("{cell} holds the formula `={}`", formula.text),
                "choose an empty cell, or allow it with `--allow formulas`".to_owned(),
            ),
            _ => (
                format!("{cell} shares its formula with other cells"),
                format!("choose an empty cell, or type the formula of {cell} afresh"),
            ),
        };
        Some((Name::FormulaInTheWay, text, remedy))
    }

    fn table(&self, position: Position, cell: Called) -> Option<(Name, String, String)> {
        let (table, _) = self.tables.iter().find(|(_, area)| area.contains(position))?;
        Some((
            Name::TableHeader,
            format!("{cell} holds a column's name or its total in the table `{table}`"),
            format!("choose a cell inside or below the table `{table}`"),
        ))
    }

    fn locked(&self, position: Position, cell: Called) -> Option<(Name, String, String)> {
        let style = self.sheet.style(position).unwrap_or(0);
        let locked = self.whole.protected && self.styles.locked(style);
        (locked && !self.allow.locked_cells).then(|| {
            (
                Name::ProtectedTab,
                format!("{cell} is locked and its tab `{}` is protected", self.tab),
                format!("unlock {cell}, or allow it with `--allow locked`"),
            )
        })
    }
}

fn place(file: &str, tab: &str, position: Position) -> Place {
    let Position { row, column } = position;
    Place::Cell { book: file.to_owned(), tab: tab.to_owned(), row, column }
}

/// A kind of file that can be read but not filled in place.
pub(super) fn other_kind(file: &str) -> Option<Diagnostic> {
    let ending = file.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
    matches!(ending.as_str(), "xlsb" | "ods" | "csv").then(|| {
        Diagnostic::error(
            Name::UnwritableFile,
            format!("a .{ending} can be read, but not filled in place"),
        )
        .at(Place::File { name: file.to_owned() })
        .remedy("save it as .xlsx")
    })
}

pub(super) fn signed(file: &str) -> Diagnostic {
    Diagnostic::error(
        Name::SignedWorkbook,
        "the workbook carries a digital signature, which any change would break",
    )
    .at(Place::File { name: file.to_owned() })
    .remedy("fill a copy without the signature, or allow it with `--allow signature`")
}

pub(super) fn asked_twice(file: &str, tab: &str, edit: &Edit) -> Diagnostic {
    let cell = edit.position.name();
    Diagnostic::error(Name::AskedTwice, format!("{cell} was to hold two different values"))
        .at(place(file, tab, edit.position))
        .remedy(format!("let only one result point to {cell}"))
}

pub(super) fn missing_tab(file: &str, tab: &str, why: Option<&str>, layout: &Layout) -> Diagnostic {
    let known: Vec<String> = layout.tabs.iter().map(|tab| format!("`{}`", tab.name)).collect();
    let headline = match why {
        Some(why) => format!("the tab `{tab}` cannot be filled: {why}"),
        None => format!("the workbook has no tab `{tab}`"),
    };
    Diagnostic::error(Name::MissingTab, headline)
        .at(Place::File { name: file.to_owned() })
        .remedy(format!("its tabs are {}", known.join(", ")))
}

/// The header and total rows of a tab's tables, with the table's name.
pub(super) fn tables(
    archive: &mut Archive<'_>,
    layout: &Layout,
    tab: usize,
) -> Result<Vec<(String, Area)>, Problems> {
    let found = tables::of_tab(archive, layout, tab)?.into_iter().flat_map(|table| {
        let rows = [table.head(), table.foot()].into_iter().flatten();
        rows.map(|area| (table.name.clone(), area)).collect::<Vec<_>>()
    });
    Ok(found.collect())
}
