//! A fresh workbook of reports: tabs of tables, and a form that is filled in already.

use std::sync::Arc;

use rust_xlsxwriter::{Workbook, XlsxError};

use super::cell_formats::{Page, Paper, fresh, internal};
use super::form::{FormOptions, add_forms};
use crate::calculation::Inputs;
use crate::diagnostic::Diagnostic;
use crate::number::InputValue;
use crate::program::Program;
use crate::report::{DISCLAIMER, Table};
use crate::unit::{Literal, Unit};

/// A tab of tables below one another.
#[derive(Clone, Debug, Default)]
pub struct FreeTab {
    /// Its name.
    pub name: String,
    /// What stands over it.
    pub title: String,
    /// Sentences below the title, the first of which must not be passed over.
    pub lead: Vec<String>,
    /// The tables.
    pub tables: Vec<Table>,
    /// Whether names are signed below them.
    pub signed: bool,
}

/// Columns of a tab.
const COLUMNS: usize = 13;

/// The bytes of a fresh `.xlsx` with tabs of tables, and a form for `fill` that holds some inputs already.
///
/// # Errors
/// `internal` if the workbook cannot be written.
pub fn tabs_and_form(
    title: &str,
    tabs: &[FreeTab],
    asked: Option<(&Inputs, &str)>,
) -> Result<Vec<u8>, Diagnostic> {
    written(title, tabs, asked).map_err(|problem| internal(&problem))
}

fn written(
    title: &str,
    tabs: &[FreeTab],
    asked: Option<(&Inputs, &str)>,
) -> Result<Vec<u8>, XlsxError> {
    let paper = Paper::new();
    let mut book = fresh(title)?;
    for tab in tabs {
        write(&mut book, tab, &paper)?;
    }
    if let Some((inputs, name)) = asked {
        let taken = tabs.iter().map(|tab| tab.name.clone()).collect();
        let programs = [(holding(inputs), name.to_owned())];
        let options = FormOptions { examples: true, ..FormOptions::default() };
        add_forms(&mut book, &programs, options, taken)?;
    }
    book.save_to_buffer()
}

/// The program with the given values in the place of its examples.
fn holding(inputs: &Inputs) -> Arc<Program> {
    let mut program = Program::clone(inputs.program());
    for input in &mut program.inputs {
        let given = inputs.is_given(input).then(|| inputs.value(input)).flatten();
        input.example = match given {
            Some(InputValue::One(literal)) => vec![literal],
            Some(InputValue::Many(all)) => all,
            Some(InputValue::Word(at)) => vec![Literal::new(at.into(), 0, Unit::one())],
            None => Vec::new(),
        };
        input.example_tolerances = Vec::new();
    }
    Arc::new(program)
}

fn write(book: &mut Workbook, free: &FreeTab, paper: &Paper) -> Result<(), XlsxError> {
    let mut widths = vec![13.0; COLUMNS];
    if let Some(first) = widths.first_mut() {
        *first = 34.0;
    }
    if let Some(second) = widths.get_mut(1) {
        *second = 24.0;
    }
    // what is to be signed bears its verdict, the first line below the title, on every page
    let headings = (0, u32::from(free.signed && !free.lead.is_empty()));
    let page = Page { widths: &widths, landscape: true, headings, foot: &free.title };
    let tab = book.add_worksheet();
    tab.set_name(&free.name)?;
    page.set(tab)?;
    page.title(tab, 0, &free.title, &paper.title)?;
    let mut row = 1;
    for (at, text) in free.lead.iter().enumerate() {
        page.across(tab, row, text, if at == 0 { &paper.strong } else { &paper.across })?;
        row += 1;
    }
    row += 1;
    for table in &free.tables {
        page.part(tab, row, &table.title, &[], paper)?;
        row += 1;
        if table.headed {
            for (column, head) in (0_u16..).zip(table.columns) {
                tab.write_string_with_format(row, column, head.head, &paper.aside)?;
            }
            row += 1;
        }
        for cells in &table.rows {
            let mut texts = Vec::new();
            for (at, (text, column)) in cells.iter().zip(table.columns).enumerate() {
                let place = u16::try_from(at).unwrap_or(u16::MAX);
                match text.parse::<f64>() {
                    Ok(number) if column.figures && number.is_finite() => {
                        tab.write_number_with_format(row, place, number, &paper.number)?;
                    }
                    _ if column.figures => {
                        tab.write_string_with_format(row, place, text, &paper.number)?;
                    }
                    _ => {
                        tab.write_string_with_format(row, place, text, &paper.text)?;
                    }
                }
                texts.push((at, at, text.as_str()));
            }
            page.fit(tab, row, &texts)?;
            row += 1;
        }
        for note in &table.notes {
            page.across(tab, row, note, &paper.aside)?;
            row += 1;
        }
        row += 1;
    }
    if free.signed {
        for line in &free.lead {
            page.across(tab, row, line, &paper.strong)?;
            row += 1;
        }
        page.part(tab, row, "signatures", &[(1, "name"), (2, "date"), (3, "signature")], paper)?;
        for name in ["measured", "checked", "approved"] {
            row += 1;
            tab.write_string_with_format(row, 0, name, &paper.name)?;
            for column in 1..=5 {
                tab.write_blank(row, column, &paper.pen)?;
            }
            tab.set_row_height(row, 24)?;
        }
        row += 2;
        page.across(tab, row, DISCLAIMER, &paper.strong)?;
    }
    Ok(())
}
