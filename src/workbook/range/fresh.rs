//! A product line in a fresh workbook: the owner's values and the results, and a tab that shows how near
//! each variant is to its limits.

use std::collections::BTreeMap;

use rust_xlsxwriter::{
    Chart, ChartType, Color, ConditionalFormatFormula, Format, FormatAlign, FormatBorder, Workbook,
    XlsxError,
};

use super::super::cell_formats::{A4, show_six_digits};
use super::super::fresh::{begun, cannot_be_made, copy, percent, values_only};
use super::{Least, Outcome, ProductLine, Variant, VariantVerdict};
use crate::calculation::OPEN_VERDICTS;
use crate::diagnostic::Problems;
use crate::program::Type;
use crate::spreadsheet::{
    Book, COLUMNS, Cell, Entry, Form, NewValue, Position, RowBook, RowsWritten, Tab, TabKind,
};

/// Variants in the list of margins, the nearest to a limit first.
const LISTED: usize = 1000;

/// Bars that can be told apart in a chart of a page's width.
const BARS: usize = 60;

/// The grey of bars above the limit; those below are black.
const GREY: Color = Color::RGB(0x00A6_A6A6);

/// The fewest and the most characters that a column is made wide for.
const LEAST: usize = 8;
const WIDEST: usize = 40;

impl ProductLine {
    /// Writes the values of a workbook, the results beside them and the margins into a fresh workbook,
    /// while the rows pass by; `work` and `each` as in [`go_through`](Self::go_through).
    ///
    /// # Errors
    /// `unwritable-file` for what a workbook cannot hold; as [`go_through`](Self::go_through).
    pub fn fresh_rows<T: Send>(
        &self,
        file: &RowBook<'_>,
        done: &(dyn Fn(usize) + Sync),
        work: &(dyn Fn(&Book, &Outcome) -> T + Sync),
        each: &mut dyn FnMut(T),
    ) -> Result<RowsWritten, Problems> {
        let book = file.outline();
        let failed = |error: XlsxError| cannot_be_made(book, &error);
        let mut fresh = Fresh::of(self, book).map_err(failed)?;
        let mut wrong = None;
        file.rows_beside(&self.tab, &mut |tab, entries| {
            if let Err(error) = fresh.copy(book, tab, entries) {
                wrong.get_or_insert(error);
            }
        })?;
        let look = |book: &Book, outcome: Outcome| {
            let (cells, changed) = self.cells(book, &outcome);
            (work(book, &outcome), cells, changed, self.nearest(book, &outcome))
        };
        let mut changed = 0;
        self.go_through(file, done, &look, &mut |(made, cells, more, near)| {
            changed += more;
            fresh.margins.join(near);
            if let Err(error) = fresh.put(self, cells) {
                wrong.get_or_insert(error);
            }
            each(made);
        })?;
        let bytes = match wrong {
            None => fresh.finish(self, book).map_err(failed)?,
            Some(error) => return Err(failed(error).into()),
        };
        // a text has no formulas and styles that could stay behind
        let lost = book.form != Form::Csv;
        let cautions = if lost { vec![values_only(book)] } else { Vec::new() };
        Ok(RowsWritten { bytes, changed, cautions, ..RowsWritten::default() })
    }

    /// The cells of some rows with the results among them, and how many of them are new.
    fn cells(&self, book: &Book, outcome: &Outcome) -> (BTreeMap<Position, Put>, usize) {
        let Some(tab) = self.tab(book) else { return (BTreeMap::new(), 0) };
        let mut edits = self.row_edits(book, outcome);
        if !tab.row(self.header).is_empty() {
            edits.extend(self.heading_edits(book));
        }
        let changed = edits.len();
        let put = |position: Position, value: NewValue| {
            let percent = tab.shows_percent(position);
            (position, Put { value, percent })
        };
        let old = tab.entries().filter_map(|entry| {
            let value = match &entry.cell {
                Cell::Empty => return None,
                Cell::Number(number) => NewValue::Number(*number),
                Cell::Truth(truth) => NewValue::Truth(*truth),
                Cell::Text(text) | Cell::Error(text) | Cell::Date(text) => {
                    NewValue::Text(text.clone())
                }
            };
            Some(put(entry.position, value))
        });
        let mut cells: BTreeMap<Position, Put> = old.collect();
        cells.extend(edits.into_iter().map(|edit| put(edit.position, edit.value)));
        (cells, changed)
    }

    /// The variants with their margins, by name.
    fn nearest(&self, book: &Book, outcome: &Outcome) -> Nearest {
        let known = outcome.variants.iter();
        let known = known.filter_map(|one| {
            let (text, least) = (self.variant_text(book, one.row), one.least?);
            let fails = one.verdict != VariantVerdict::Holds;
            let text = if fails { format!("{text}: {}", said(one.verdict)) } else { text };
            Some((least, text, fails))
        });
        let first: Vec<(Least, String, bool)> = known.collect();
        let is_bare = |one: &&Variant| one.verdict != VariantVerdict::Holds && one.least.is_none();
        let bare = outcome.variants.iter().filter(is_bare).count();
        Nearest { of: first.len(), bare, first }
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
        nearest: &Nearest,
    ) -> Result<(), XlsxError> {
        let Nearest { of: all, bare, first: known } = nearest;
        let all = *all;
        if known.is_empty() && *bare == 0 {
            return Ok(());
        }
        let name = free_name(book, "margins");
        let (bold, head) = (
            Format::new().set_bold(),
            Format::new().set_bold().set_border_bottom(FormatBorder::Thin),
        );
        let percent = Format::new().set_num_format("0.0");
        let sheet = workbook.add_worksheet();
        sheet.set_name(&name)?;
        sheet.write_with_format(0, 0, "What is left of the nearest limit, least first", &bold)?;
        let words = "In per cent of the larger side of the check; below zero the check fails. A check without two figures has no margin: what fails by it alone says so.";
        sheet.write(1, 0, words)?;
        if *bare > 0 {
            let words = format!(
                "Not here, without any margin: {bare} that fail, are not proved or are not calculated; the table's status says which."
            );
            sheet.write_with_format(2, 3, words, &bold)?;
        }
        if all > known.len() {
            sheet.write(2, 0, format!("The nearest {} of {all} variants.", known.len()))?;
        }
        for (column, text) in (0..).zip(["variant", "holds / %", "fails / %", "check"]) {
            sheet.write_with_format(HEAD, column, text, &head)?;
        }
        for (row, (least, variant, fails)) in (HEAD + 1..).zip(known) {
            sheet.write(row, 0, variant)?;
            let column = if *fails { 2 } else { 1 };
            sheet.write_with_format(row, column, 100.0 * least.share, &percent)?;
            let check = self.program.checks.get(least.check);
            sheet.write(row, 3, check.map_or("", |check| check.text.as_str()))?;
        }
        sheet.set_column_width(0, 24)?.set_column_width(3, 48)?.set_freeze_panes(HEAD + 1, 0)?;
        let bars = u32::try_from(known.len().min(BARS)).unwrap_or(0);
        sheet.set_landscape().set_paper_size(A4).set_print_fit_to_pages(1, 0);
        if bars > 0 {
            sheet.insert_chart(HEAD, 5, &chart(&name, bars, all))?;
        }
        Ok(())
    }
}

/// How a variant that does not hold is marked.
fn said(verdict: VariantVerdict) -> &'static str {
    match verdict {
        VariantVerdict::NotProved => "NOT PROVED",
        _ => "FAILS",
    }
}

/// The variants that are nearest to a limit, the nearest first.
#[derive(Default)]
struct Nearest {
    /// How many have a margin.
    of: usize,
    /// How many have none, and do not hold.
    bare: usize,
    /// The margin, the variant with its verdict where it does not hold, and whether that is so.
    first: Vec<(Least, String, bool)>,
}

impl Nearest {
    fn join(&mut self, more: Self) {
        self.of += more.of;
        self.bare += more.bare;
        self.first.extend(more.first);
        // what does not hold first, whatever is left of the limits that have one
        self.first.sort_by(|(one, _, fails), (other, _, too)| {
            too.cmp(fails).then(one.share.total_cmp(&other.share))
        });
        self.first.truncate(LISTED);
    }
}

/// A value for a cell of the fresh workbook.
struct Put {
    value: NewValue,
    percent: bool,
}

/// The fresh workbook while its rows come in.
struct Fresh {
    workbook: Workbook,
    /// The table's tab, by its order.
    tab: usize,
    margins: Nearest,
    looks: Looks,
    /// The last row of the table, from 0.
    end: u32,
    /// How wide its columns are, in digits.
    widths: BTreeMap<u16, usize>,
}

/// How many letters a mark before the name of a variant takes: `MAY FAIL` and what parts it from the name.
const MARK: usize = 12;

/// How many digits side by side can be read on a page that lies on its side.
const READABLE: usize = 190;

/// How cells of the table look.
struct Looks {
    head: Format,
    /// A heading over numbers stands at their end.
    head_of_numbers: Format,
    /// A text that is not to stand tight beside the number before it.
    apart: Format,
    percent: Format,
}

impl Fresh {
    /// A workbook with all tabs. They are empty and take their rows in order, which go to nameless files
    /// of the system until the end.
    fn of(line: &ProductLine, book: &Book) -> Result<Self, XlsxError> {
        let mut workbook = begun()?;
        let cells = book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells);
        let mut tab = 0;
        for (at, known) in cells.enumerate() {
            if known.name.eq_ignore_ascii_case(&line.tab) {
                tab = at;
            }
            let sheet = workbook.add_worksheet_with_low_memory()?;
            if !known.name.is_empty() {
                sheet.set_name(&known.name)?;
            }
        }
        let head = Format::new().set_bold();
        let looks = Looks {
            head_of_numbers: head.clone().set_align(FormatAlign::Right),
            head,
            apart: Format::new().set_align(FormatAlign::Left).set_indent(1),
            percent: percent(),
        };
        Ok(Self {
            workbook,
            tab,
            margins: Nearest::default(),
            looks,
            end: 0,
            widths: BTreeMap::new(),
        })
    }

    /// Values of a tab beside that of the table.
    fn copy(&mut self, book: &Book, tab: &Tab, entries: &[Entry]) -> Result<(), XlsxError> {
        let mut cells = book.tabs.iter().filter(|tab| tab.kind == TabKind::Cells);
        match cells.position(|known| known.name == tab.name) {
            Some(at) => copy(self.workbook.worksheet_from_index(at)?, tab, entries),
            None => Ok(()),
        }
    }

    fn put(&mut self, line: &ProductLine, cells: BTreeMap<Position, Put>) -> Result<(), XlsxError> {
        let sheet = self.workbook.worksheet_from_index(self.tab)?;
        let last = line.units.unwrap_or(line.header);
        let mut number = None;
        for (Position { row, column }, Put { value, percent }) in cells {
            let beside = number
                .is_some_and(|known| Some(known) == column.checked_sub(1).map(|left| (row, left)));
            if matches!(value, NewValue::Number(_)) {
                number = Some((row, column));
            }
            let Ok(at) = u16::try_from(column) else { continue };
            self.end = self.end.max(row);
            if row >= line.header
                && let NewValue::Text(text) = &value
            {
                let wide = self.widths.entry(at).or_insert(LEAST);
                *wide = (*wide).max(text.chars().count()).min(WIDEST);
            }
            let is_status = column == line.status.column;
            match value {
                NewValue::Text(text) if (line.header..=last).contains(&row) => {
                    let looks = match is_status {
                        true => &self.looks.apart.clone().set_bold(),
                        false if line.of_numbers(column) => &self.looks.head_of_numbers,
                        false => &self.looks.head,
                    };
                    let under = looks.clone().set_border_bottom(FormatBorder::Thin);
                    let looks = if row == last { &under } else { looks };
                    sheet.write_string_with_format(row, at, &text, looks)?;
                }
                NewValue::Text(text) if is_status || beside => {
                    sheet.write_string_with_format(row, at, &text, &self.looks.apart)?;
                }
                NewValue::Text(text) => {
                    sheet.write_string(row, at, &text)?;
                }
                // the number is the fraction: without its sign it would be read as another
                NewValue::Number(number) if percent => {
                    sheet.write_number_with_format(row, at, number, &self.looks.percent)?;
                }
                NewValue::Number(number) => {
                    sheet.write_number(row, at, number)?;
                }
                NewValue::Truth(truth) => {
                    sheet.write_boolean(row, at, truth)?;
                }
                NewValue::Empty => {}
            }
        }
        Ok(())
    }

    /// Headings that stay in sight, a page that can be printed, the margins.
    fn finish(mut self, line: &ProductLine, book: &Book) -> Result<Vec<u8>, XlsxError> {
        let sheet = self.workbook.worksheet_from_index(self.tab)?;
        let last = line.units.unwrap_or(line.header);
        sheet.set_freeze_panes(last + 1, 0)?.set_repeat_rows(line.header, last)?;
        let end = self.end;
        let column = self.widths.keys().last().copied().unwrap_or(0);
        for (column, width) in &self.widths {
            sheet.set_column_width(*column, f64::from(u32::try_from(width + 2).unwrap_or(0)))?;
        }
        let wide: usize = self.widths.values().map(|width| width + 2).sum();
        show_six_digits(sheet, (0, end), column.saturating_add(1))?;
        if end > last {
            sheet.autofilter(last, 0, end, column)?;
        }
        // a page too full to be read is none: the first column stands on each
        let pages = u16::try_from(wide.div_ceil(READABLE)).unwrap_or(u16::MAX).max(1);
        sheet.set_landscape().set_paper_size(A4).set_print_fit_to_pages(pages, 0);
        if pages > 1 {
            sheet.set_repeat_columns(0, 0)?;
            // the first column stands on every page, the status on the last: what does not hold is marked beside its name
            let name = self.widths.get(&0).map_or(LEAST, |width| *width) + MARK;
            sheet.set_column_width(0, f64::from(u32::try_from(name).unwrap_or(0)))?;
            let status = line.status.column;
            let status = Position { row: last + 1, column: status }.column_name();
            for begins in OPEN_VERDICTS {
                let mark = begins.trim_end_matches(": ").to_uppercase();
                let look = Format::new().set_bold().set_num_format(format!("\"{mark}  \"@"));
                let rule = format!("=LEFT(${status}{},{})=\"{begins}\"", last + 2, begins.len());
                let rule = ConditionalFormatFormula::new().set_rule(rule.as_str()).set_format(look);
                sheet.add_conditional_format(last + 1, 0, self.end.max(last + 1), 0, &rule)?;
            }
        }
        line.margins(&mut self.workbook, book, &self.margins)?;
        self.workbook.save_to_buffer()
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
