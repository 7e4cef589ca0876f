//! A fresh workbook of reports: tabs of tables, and a form that is filled in already.

use std::sync::Arc;

use rust_xlsxwriter::{Workbook, Worksheet, XlsxError};

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
    /// Whether it is signed: names stand above its tables.
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
    if free.signed {
        row = signatures(tab, &page, row, paper)?;
    }
    for table in &free.tables {
        let spans = if free.signed { spans(table, &widths) } else { vec![1; table.columns.len()] };
        page.part(tab, row, &table.title, &[], paper)?;
        row += 1;
        if table.headed {
            let mut texts = Vec::new();
            for ((column, last), head) in places(&spans).into_iter().zip(table.columns) {
                let format = if head.figures { &paper.number_head } else { &paper.column_head };
                let format = format.clone().set_text_wrap();
                if last > column {
                    tab.merge_range(row, column, row, last, "", &format)?;
                }
                tab.write_string_with_format(row, column, head.head, &format)?;
                texts.push((usize::from(column), usize::from(last), head.head));
            }
            page.fit(tab, row, &texts)?;
            row += 1;
        }
        for cells in &table.rows {
            let mut texts = Vec::new();
            let there = places(&spans);
            for ((place, last), (text, column)) in
                there.into_iter().zip(cells.iter().zip(table.columns))
            {
                if last > place {
                    tab.merge_range(row, place, row, last, "", &paper.text)?;
                }
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
                texts.push((usize::from(place), usize::from(last), text.as_str()));
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
        page.across(tab, row, DISCLAIMER, &paper.strong)?;
    }
    Ok(())
}

/// Names to sign, below what is signed in a word: both stand on the first page that is printed. The row after them.
fn signatures(
    tab: &mut Worksheet,
    page: &Page<'_>,
    mut row: u32,
    paper: &Paper,
) -> Result<u32, XlsxError> {
    page.part(tab, row, "signatures", &[(1, "name"), (2, "date"), (3, "signature")], paper)?;
    for name in ["measured", "checked", "approved"] {
        row += 1;
        tab.write_string_with_format(row, 0, name, &paper.name)?;
        for column in 1..=5 {
            tab.write_blank(row, column, &paper.pen)?;
        }
        tab.set_row_height(row, 24)?;
    }
    Ok(row + 2)
}

/// How many columns of the tab each column of a table takes: what is left of the width goes to the words that need it
/// most.
fn spans(table: &Table, widths: &[f64]) -> Vec<usize> {
    let mut spans = vec![1_usize; table.columns.len()];
    let longest = |at: usize| {
        let texts = table.rows.iter().filter_map(|cells| cells.get(at));
        texts.map(|text| text.chars().count()).max().unwrap_or(0)
    };
    // where something is filled in by hand, what stands before it keeps its place: a seal leaves that cell out
    let by_hand = table.rows.iter().flatten().any(|text| text.starts_with("____"));
    let fixed = if by_hand { table.columns.len().saturating_sub(1) } else { 0 };
    for _ in table.columns.len()..widths.len() {
        let lines = |at: usize, spans: &[usize]| {
            let first: usize = spans.iter().take(at).sum();
            let count = spans.get(at).copied().unwrap_or(1);
            let width: f64 = widths.iter().skip(first).take(count).sum();
            f64::from(u32::try_from(longest(at)).unwrap_or(u32::MAX)) / width
        };
        let words = table.columns.iter().enumerate().skip(fixed);
        let words = words.filter(|(_, column)| !column.figures);
        let needed = words.map(|(at, _)| (at, lines(at, &spans))).filter(|(_, lines)| *lines > 0.9);
        let Some((most, _)) = needed.max_by(|(_, one), (_, other)| one.total_cmp(other)) else {
            break;
        };
        if let Some(span) = spans.get_mut(most) {
            *span += 1;
        }
    }
    spans
}

/// First and last column of the tab for each column of a table.
fn places(spans: &[usize]) -> Vec<(u16, u16)> {
    let column = |at: usize| u16::try_from(at).unwrap_or(u16::MAX);
    let places = spans.iter().scan(0, |next, span| {
        let first = *next;
        *next += span;
        Some((column(first), column(*next - 1)))
    });
    places.collect()
}
