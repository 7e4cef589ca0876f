//! A workbook as its owner thinks of it, before it becomes a file.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use rust_xlsxwriter::{ExcelDateTime, Format, FormatScript, Formula, Workbook};

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::workbooks) enum Content {
    Number(f64),
    Shown(f64, &'static str),
    /// A number with a line through it.
    Struck(f64),
    Text(String),
    Truth(bool),
    Date(f64),
    Formula(String, f64),
    /// A text in two pieces, the second raised.
    Raised(&'static str, &'static str),
    /// A text in two pieces, the first with a line through it.
    HalfStruck(String, String),
}

impl From<&str> for Content {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

/// A tab.
#[derive(Clone, Debug, Default)]
pub(in crate::workbooks) struct Tab {
    pub(in crate::workbooks) name: String,
    pub(in crate::workbooks) cells: BTreeMap<(u32, u16), Content>,
    pub(in crate::workbooks) merged: Vec<(u32, u16, u32, u16)>,
    pub(in crate::workbooks) hidden_rows: BTreeSet<u32>,
    pub(in crate::workbooks) hidden_columns: BTreeSet<u16>,
    pub(in crate::workbooks) hidden: bool,
}

/// A workbook.
#[derive(Clone, Debug, Default)]
pub(in crate::workbooks) struct Grid {
    pub(in crate::workbooks) tabs: Vec<Tab>,
    pub(in crate::workbooks) names: Vec<(String, String)>,
}

impl Tab {
    pub(in crate::workbooks) fn text(&mut self, row: u32, column: u16, text: &str) {
        if !text.is_empty() {
            self.cells.insert((row, column), Content::Text(text.to_owned()));
        }
    }

    pub(in crate::workbooks) fn text_at(&self, row: u32, column: u16) -> Option<String> {
        match self.cells.get(&(row, column)) {
            Some(Content::Text(text)) => Some(text.clone()),
            _ => None,
        }
    }

    /// Moves every cell to where `to` says.
    pub(in crate::workbooks) fn remap(&mut self, to: impl Fn(u32, u16) -> (u32, u16)) {
        let cells = std::mem::take(&mut self.cells);
        self.cells =
            cells.into_iter().map(|((row, column), cell)| (to(row, column), cell)).collect();
    }

    pub(in crate::workbooks) fn insert_rows(&mut self, at: u32, count: u32) {
        self.remap(|row, column| (if row >= at { row + count } else { row }, column));
    }

    pub(in crate::workbooks) fn insert_column(&mut self, at: u16) {
        self.remap(|row, column| (row, if column >= at { column + 1 } else { column }));
    }

    /// Takes a row's cells out.
    pub(in crate::workbooks) fn take_row(&mut self, at: u32) -> Vec<(u16, Content)> {
        let taken: Vec<(u16, Content)> = self.row(at);
        self.cells.retain(|(row, _), _| *row != at);
        taken
    }

    pub(in crate::workbooks) fn row(&self, at: u32) -> Vec<(u16, Content)> {
        let row = self.cells.range((at, 0)..(at + 1, 0));
        row.map(|((_, column), cell)| (*column, cell.clone())).collect()
    }

    pub(in crate::workbooks) fn put_row(&mut self, at: u32, cells: Vec<(u16, Content)>) {
        self.cells.extend(cells.into_iter().map(|(column, cell)| ((at, column), cell)));
    }

    pub(in crate::workbooks) fn delete_row(&mut self, at: u32) {
        self.take_row(at);
        self.remap(|row, column| (if row > at { row - 1 } else { row }, column));
    }

    pub(in crate::workbooks) fn swap(&mut self, one: (u32, u16), other: (u32, u16)) {
        let (first, second) = (self.cells.remove(&one), self.cells.remove(&other));
        first.map(|cell| self.cells.insert(other, cell));
        second.map(|cell| self.cells.insert(one, cell));
    }

    pub(in crate::workbooks) fn last_row(&self) -> u32 {
        self.cells.keys().map(|(row, _)| *row).max().unwrap_or(0)
    }
}

impl Grid {
    /// The file.
    pub(in crate::workbooks) fn xlsx(&self) -> Vec<u8> {
        let mut book = Workbook::new();
        for tab in &self.tabs {
            let page = book.add_worksheet();
            page.set_name(&tab.name).unwrap();
            for (row, column, last_row, last_column) in &tab.merged {
                page.merge_range(*row, *column, *last_row, *last_column, "", &Format::new())
                    .unwrap();
            }
            for ((row, column), cell) in &tab.cells {
                let inside = |(top, left, bottom, right): &(u32, u16, u32, u16)| {
                    (top..=bottom).contains(&row)
                        && (left..=right).contains(&column)
                        && (top, left) != (row, column)
                };
                // a merged area keeps its first cell alone
                if tab.merged.iter().any(inside) {
                    continue;
                }
                let (row, column) = (*row, *column);
                match cell {
                    Content::Number(number) => page.write_number(row, column, *number),
                    Content::Shown(number, format) => page.write_number_with_format(
                        row,
                        column,
                        *number,
                        &Format::new().set_num_format(*format),
                    ),
                    Content::Struck(number) => page.write_number_with_format(
                        row,
                        column,
                        *number,
                        &Format::new().set_font_strikethrough(),
                    ),
                    Content::Text(text) => page.write_string(row, column, text),
                    Content::Truth(truth) => page.write_boolean(row, column, *truth),
                    Content::Date(days) => page.write_datetime_with_format(
                        row,
                        column,
                        ExcelDateTime::from_serial_datetime(*days).unwrap(),
                        &Format::new().set_num_format("dd.mm.yyyy"),
                    ),
                    Content::Raised(first, second) => page.write_rich_string(
                        row,
                        column,
                        &[
                            (&Format::new(), *first),
                            (&Format::new().set_font_script(FormatScript::Superscript), *second),
                        ],
                    ),
                    Content::HalfStruck(first, second) => page.write_rich_string(
                        row,
                        column,
                        &[
                            (&Format::new().set_font_strikethrough(), first.as_str()),
                            (&Format::new(), second.as_str()),
                        ],
                    ),
                    Content::Formula(text, saved) => page.write_formula(
                        row,
                        column,
                        Formula::new(text).set_result(saved.to_string()),
                    ),
                }
                .unwrap();
            }
            for row in &tab.hidden_rows {
                page.set_row_hidden(*row).unwrap();
            }
            for column in &tab.hidden_columns {
                page.set_column_hidden(*column).unwrap();
            }
            if tab.hidden {
                page.set_hidden(true);
            }
        }
        for (name, text) in &self.names {
            book.define_name(name, text).unwrap();
        }
        book.save_to_buffer().unwrap()
    }

    /// The first tab as text.
    pub(in crate::workbooks) fn csv(&self, separator: char, comma: bool) -> Vec<u8> {
        let mut text = String::new();
        let tab = &self.tabs[0];
        for row in 0..=tab.last_row() {
            let cells = tab.row(row);
            let last = cells.iter().map(|(column, _)| *column).max().unwrap_or(0);
            for column in 0..=last {
                if column > 0 {
                    text.push(separator);
                }
                let cell = cells.iter().find(|(at, _)| *at == column).map(|(_, cell)| cell);
                match cell {
                    None => {}
                    Some(Content::Text(words)) if words.contains([separator, '"']) => {
                        write!(text, "\"{}\"", words.replace('"', "\"\"")).unwrap();
                    }
                    Some(Content::Text(words)) => text.push_str(words),
                    Some(
                        Content::Number(number)
                        | Content::Shown(number, _)
                        | Content::Struck(number)
                        | Content::Formula(_, number),
                    ) => {
                        let number = number.to_string();
                        text.push_str(&if comma { number.replace('.', ",") } else { number });
                    }
                    Some(Content::Truth(truth)) => {
                        text.push_str(if *truth { "TRUE" } else { "FALSE" })
                    }
                    Some(Content::Raised(first, second)) => {
                        text.push_str(first);
                        text.push_str(second);
                    }
                    Some(Content::HalfStruck(first, second)) => {
                        text.push_str(first);
                        text.push_str(second);
                    }
                    Some(Content::Date(_)) => text.push_str("2024-05-12"),
                }
            }
            text.push('\n');
        }
        text.into_bytes()
    }

    /// All cells of a tab, for a report.
    pub(in crate::workbooks) fn to_text(&self) -> String {
        let mut words = String::new();
        for tab in &self.tabs {
            for row in 0..=tab.last_row() {
                let cells = tab.row(row);
                if !cells.is_empty() {
                    write!(words, "\n      {}!{}", tab.name, row + 1).unwrap();
                    for (column, cell) in cells {
                        write!(
                            words,
                            " {}={cell:?}",
                            char::from(b'A' + u8::try_from(column).unwrap_or(25))
                        )
                        .unwrap();
                    }
                }
            }
        }
        for (name, text) in &self.names {
            write!(words, "\n      {name} {text}").unwrap();
        }
        words
    }
}
