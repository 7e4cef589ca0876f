//! A product line in a fresh workbook: the owner's values and the results, and a tab that shows how near
//! each variant is to its limits.

use rust_xlsxwriter::{
    Chart, ChartType, Color, Format, FormatAlign, FormatBorder, Workbook, XlsxError,
};

use super::super::fresh::{cannot_be_made, copied, values_only};
use super::super::paper::A4;
use super::super::{Book, COLUMNS, Cell, Edit, Form, NewValue, RowsWritten, Tab};
use super::{Outcome, ProductLine, Variant};
use crate::diagnostic::Diagnostic;
use crate::program::Type;

/// Variants in the list of margins, the nearest to a limit first.
const LISTED: usize = 1000;

/// Bars that can be told apart in a chart of a page's width.
const BARS: usize = 60;

/// The grey of bars above the limit; those below are black.
const GREY: Color = Color::RGB(0x00A6_A6A6);

/// The most characters that a column is made wide for.
const WIDEST: usize = 40;

impl ProductLine {
    /// Writes the values of a workbook, the results beside them and the margins into a fresh workbook.
    ///
    /// # Errors
    /// `unwritable-file` for what a workbook cannot hold.
    pub fn fresh_book(
        &self,
        book: &Book,
        outcome: &Outcome,
    ) -> Result<RowsWritten, Vec<Diagnostic>> {
        let mut edits = self.heading_edits(book);
        edits.extend(self.row_edits(book, outcome));
        let bytes = self.made(book, outcome, &edits);
        let bytes = bytes.map_err(|error| vec![cannot_be_made(book, &error)])?;
        // a text has no formulas and styles that could stay behind
        let lost = book.form != Form::Csv;
        let cautions = if lost { vec![values_only(book)] } else { Vec::new() };
        Ok(RowsWritten { bytes, changed: edits.len(), to_recalculate: Vec::new(), cautions })
    }

    fn made(&self, book: &Book, outcome: &Outcome, edits: &[Edit]) -> Result<Vec<u8>, XlsxError> {
        let mut workbook = copied(book, edits)?;
        if let Some(tab) = self.tab(book) {
            self.dress(&mut workbook, book, tab, edits)?;
        }
        self.margins(&mut workbook, book, outcome)?;
        workbook.save_to_buffer()
    }

    /// Headings that stay in sight, columns wide enough to be read.
    fn dress(
        &self,
        workbook: &mut Workbook,
        book: &Book,
        tab: &Tab,
        edits: &[Edit],
    ) -> Result<(), XlsxError> {
        let cells = book.tabs.iter().filter(|tab| tab.kind == super::super::TabKind::Cells);
        let at = cells.map(|tab| tab.name.as_str()).position(|name| name == tab.name).unwrap_or(0);
        let sheet = workbook.worksheet_from_index(at)?;
        let head = Format::new().set_bold();
        let last = self.units.unwrap_or(self.header);
        let under = head.clone().set_border_bottom(FormatBorder::Thin);
        let old =
            tab.row(self.header).iter().chain(self.units.iter().flat_map(|row| tab.row(*row)));
        let old = old.filter_map(|entry| match &entry.cell {
            Cell::Text(text) => Some((entry.position, text)),
            _ => None,
        });
        let new = edits.iter().filter(|edit| edit.position.row <= last);
        let new = new.filter_map(|edit| match &edit.value {
            NewValue::Text(text) => Some((edit.position, text)),
            _ => None,
        });
        for (position, text) in old.chain(new).filter(|(at, _)| at.row >= self.header) {
            let format = if position.row == last { &under } else { &head };
            // over numbers, at their end
            let numbers = self.of_numbers(position.column);
            let right = format.clone().set_align(FormatAlign::Right);
            let format = if numbers { &right } else { format };
            let Ok(column) = u16::try_from(position.column) else { continue };
            sheet.write_string_with_format(position.row, column, text, format)?;
            let wide = if position.column == self.status.column { WIDEST } else { 0 };
            let width = text.chars().count().clamp(8, WIDEST).max(wide);
            sheet.set_column_width(column, f64::from(u32::try_from(width + 2).unwrap_or(0)))?;
        }
        sheet.set_freeze_panes(last + 1, 0)?.set_repeat_rows(self.header, last)?;
        sheet.set_landscape().set_paper_size(A4).set_print_fit_to_pages(1, 0);
        Ok(())
    }

    /// Whether a column holds numbers of the sheet.
    fn of_numbers(&self, column: u32) -> bool {
        let inputs = self.inputs.iter().filter(|input| input.columns.contains(&column));
        let inputs = inputs.filter_map(|input| self.program.inputs.get(input.input));
        let results = self.results.iter().filter(|result| result.column == column);
        let results = results.filter_map(|result| self.program.outputs.get(result.output));
        let mut types = inputs.map(|input| &input.type_).chain(results.map(|one| &one.type_));
        types.any(|type_| matches!(type_, Type::Number { .. }))
    }

    /// The tab of margins, where any check is a comparison.
    fn margins(
        &self,
        workbook: &mut Workbook,
        book: &Book,
        outcome: &Outcome,
    ) -> Result<(), XlsxError> {
        let mut known: Vec<(&Variant, super::Least)> =
            outcome.variants.iter().filter_map(|one| Some((one, one.least?))).collect();
        if known.is_empty() {
            return Ok(());
        }
        known.sort_by(|(_, one), (_, other)| one.share.total_cmp(&other.share));
        let (all, name) = (known.len(), free_name(book, "margins"));
        known.truncate(LISTED);
        let (bold, head) = (
            Format::new().set_bold(),
            Format::new().set_bold().set_border_bottom(FormatBorder::Thin),
        );
        let percent = Format::new().set_num_format("0.0");
        let sheet = workbook.add_worksheet();
        sheet.set_name(&name)?;
        sheet.write_with_format(0, 0, "What is left of the nearest limit, least first", &bold)?;
        let words = "In per cent of the larger side of the check; below zero the check fails.";
        sheet.write(1, 0, words)?;
        if all > known.len() {
            sheet.write(2, 0, format!("The nearest {} of {all} variants.", known.len()))?;
        }
        for (column, text) in (0..).zip(["variant", "holds / %", "fails / %", "check"]) {
            sheet.write_with_format(HEAD, column, text, &head)?;
        }
        for (row, (variant, least)) in (HEAD + 1..).zip(&known) {
            sheet.write(row, 0, self.variant_in_words(book, variant.row))?;
            let column = if least.share < 0.0 { 2 } else { 1 };
            sheet.write_with_format(row, column, 100.0 * least.share, &percent)?;
            let check = self.program.checks.get(least.check);
            sheet.write(row, 3, check.map_or("", |check| check.text.as_str()))?;
        }
        sheet.set_column_width(0, 24)?.set_column_width(3, 48)?.set_freeze_panes(HEAD + 1, 0)?;
        let bars = u32::try_from(known.len().min(BARS)).unwrap_or(0);
        sheet.set_landscape().set_paper_size(A4).set_print_fit_to_pages(1, 0);
        sheet.insert_chart(HEAD, 5, &chart(&name, bars, all))?;
        Ok(())
    }
}

/// The row of the headings in the tab of margins.
const HEAD: u32 = 3;

fn chart(tab: &str, bars: u32, all: usize) -> Chart {
    let mut chart = Chart::new(ChartType::Column);
    for (column, color, name) in [(1, GREY, "holds"), (2, Color::Black, "fails")] {
        chart
            .add_series()
            .set_name(name)
            .set_categories((tab, HEAD + 1, 0, HEAD + bars, 0))
            .set_values((tab, HEAD + 1, column, HEAD + bars, column))
            .set_format(
                rust_xlsxwriter::ChartFormat::new()
                    .set_solid_fill(rust_xlsxwriter::ChartSolidFill::new().set_color(color)),
            )
            .set_overlap(100)
            .set_gap(40);
    }
    let of = u32::try_from(all).unwrap_or(u32::MAX);
    let title = if bars < of {
        format!("Margin to the nearest limit: the {bars} nearest of {all} variants")
    } else {
        "Margin to the nearest limit".to_owned()
    };
    chart.title().set_name(title.as_str());
    chart.x_axis().set_label_position(rust_xlsxwriter::ChartAxisLabelPosition::Low);
    chart.y_axis().set_name("left of the limit in %").set_num_format("0");
    chart.legend().set_position(rust_xlsxwriter::ChartLegendPosition::Bottom);
    chart.set_width(960).set_height(480);
    chart
}

/// A name that no tab of the book has.
fn free_name(book: &Book, name: &str) -> String {
    let numbered = (2..COLUMNS).map(|at| format!("{name} {at}"));
    let mut names = std::iter::once(name.to_owned()).chain(numbered);
    names.find(|name| book.tab(name).is_none()).unwrap_or_default()
}
