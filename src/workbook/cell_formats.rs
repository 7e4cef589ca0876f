//! The plain look of the workbooks that are written fresh: black on white, thin lines, one grey.

use rust_xlsxwriter::{
    Color, ConditionalFormatFormula, DocProperties, ExcelDateTime, Format, FormatAlign,
    FormatBorder, Workbook, Worksheet, XlsxError,
};
use unicode_width::UnicodeWidthStr as _;

use crate::diagnostic::{Diagnostic, Name};
use crate::number::SHORT;

/// Height of one line of text in points.
const LINE: f64 = 13.5;

/// A4 among the paper sizes of the file format.
pub(super) const A4: u8 = 9;

/// The one grey.
const GREY: Color = Color::RGB(0x0075_7575);

/// The formats of a fresh workbook.
pub(super) struct Paper {
    pub(super) title: Format,
    /// The cell that names the sheet, and a name that matters most.
    pub(super) sheet: Format,
    /// What stands over the first column, and over any other.
    first_head: Format,
    pub(super) column_head: Format,
    /// What stands over a part of the page.
    pub(super) part: Format,
    /// What stands over a column of numbers.
    pub(super) number_head: Format,
    pub(super) name: Format,
    /// A name that matters less than what stands below it.
    pub(super) aside_name: Format,
    /// The unit to the right of its number.
    pub(super) unit: Format,
    pub(super) text: Format,
    /// A text over the whole width.
    pub(super) across: Format,
    /// A text that is read beside the figures: notes, sources.
    pub(super) aside: Format,
    /// A cell to be filled in.
    pub(super) input: Format,
    pub(super) input_text: Format,
    pub(super) number: Format,
    /// A number that matters less than its neighbour: factors, zeros.
    pub(super) side_number: Format,
    pub(super) truth: Format,
    /// A line to write on with a pen.
    pub(super) pen: Format,
    /// A text that must not be passed over.
    pub(super) strong: Format,
    /// The verdict of a page: between two lines.
    pub(super) verdict: Format,
    /// A number that decides.
    pub(super) figure: Format,
}

impl Paper {
    pub(super) fn new() -> Self {
        let plain =
            Format::new().set_font_name("Arial").set_font_size(10).set_align(FormatAlign::Top);
        let beside = plain.clone().set_align(FormatAlign::Left).set_indent(1);
        let text = beside.clone().set_text_wrap();
        let head = plain.clone().set_font_color(GREY).set_border_bottom(FormatBorder::Thin);
        let input = plain.clone().set_border(FormatBorder::Thin).set_unlocked();
        Self {
            title: plain.clone().set_bold().set_font_size(14),
            sheet: plain.clone().set_bold(),
            number_head: head.clone().set_align(FormatAlign::Right),
            first_head: head.clone(),
            column_head: head.set_align(FormatAlign::Left).set_indent(1),
            part: plain.clone().set_bold().set_border_bottom(FormatBorder::Thin),
            name: plain.clone(),
            aside_name: plain.clone().set_font_color(GREY),
            aside: text.clone().set_font_color(GREY),
            unit: beside,
            across: plain.clone().set_text_wrap(),
            input_text: input.clone().set_align(FormatAlign::Left).set_indent(1),
            input: input.set_align(FormatAlign::Right),
            number: plain.clone().set_align(FormatAlign::Right),
            side_number: plain.clone().set_align(FormatAlign::Right).set_font_color(GREY),
            truth: plain.clone().set_align(FormatAlign::Left),
            pen: plain
                .clone()
                .set_border_bottom(FormatBorder::Thin)
                .set_align(FormatAlign::Left)
                .set_indent(1),
            strong: plain.clone().set_text_wrap().set_bold(),
            verdict: plain
                .clone()
                .set_text_wrap()
                .set_bold()
                .set_font_size(11)
                .set_border_top(FormatBorder::Medium)
                .set_border_bottom(FormatBorder::Medium),
            figure: plain.clone().set_align(FormatAlign::Right).set_bold(),
            text,
        }
    }
}

/// Heads of columns whose cells are numbers.
const OF_NUMBERS: &[&str] = &[
    "value", "as given", "lowest", "highest", "factor", "zero", "in SI", "left side", "right side",
    "step", "least", "most", "value in SI", "least in SI", "most in SI", "from", "to",
    "half the width", "middle", "point", "weight of 31", "weight of 15", "argument", "function",
    "sum of 31", "sum of 15", "sum of magnitudes", "part", "speed in SI", "run-down, not fitted",
    "time / s", "speed / (r/min)",
];

impl Paper {
    fn head(&self, head: &str) -> &Format {
        if OF_NUMBERS.contains(&head) { &self.number_head } else { &self.column_head }
    }
}

/// From which size on a number that is not short has how many decimals: six digits in all, as in a report.
const SIX_DIGITS: [(&str, &str); 11] = [
    ("1E10", "0.00000E+0"),
    ("1E5", "0"),
    ("1E4", "0.0"),
    ("1E3", "0.00"),
    ("100", "0.000"),
    ("10", "0.0000"),
    ("1", "0.00000"),
    ("0.1", "0.000000"),
    ("0.01", "0.0000000"),
    ("0.001", "0.00000000"),
    ("0", "0.00000E+0"),
];

/// Shows the numbers of a tab as a report does: a short one whole, another with six digits. The cells keep their values,
/// and the rule follows them, so that a figure that has become small is not shown as zero.
pub(super) fn show_six_digits(
    tab: &mut Worksheet,
    (first, last): (u32, u32),
    columns: u16,
) -> Result<(), XlsxError> {
    let cell = format!("A{}", first + 1);
    for (least, format) in SIX_DIGITS {
        let rule = format!("=AND(ISNUMBER({cell}),LEN({cell}&\"\")>{SHORT},ABS({cell})>={least})");
        let shown = ConditionalFormatFormula::new()
            .set_rule(rule.as_str())
            .set_format(Format::new().set_num_format(format))
            .set_stop_if_true(true);
        tab.add_conditional_format(first, 0, last, columns.saturating_sub(1), &shown)?;
    }
    Ok(())
}

/// A workbook of which the same calls make the same bytes.
pub(super) fn fresh(title: &str) -> Result<Workbook, XlsxError> {
    let mut book = Workbook::new();
    let day = ExcelDateTime::from_ymd(2026, 1, 1)?;
    book.set_properties(&DocProperties::new().set_title(title).set_creation_datetime(&day));
    Ok(book)
}

/// How a tab is printed: one page wide, with its headings on each page, which also stay in sight.
pub(super) struct Page<'a> {
    /// Widths of the columns in digits.
    pub(super) widths: &'a [f64],
    /// Paper lying on its side.
    pub(super) landscape: bool,
    /// First and last row of the headings, from 0.
    pub(super) headings: (u32, u32),
    /// What the foot of each page says on the left.
    pub(super) foot: &'a str,
}

/// The rows of a tab whose numbers are shown short: more than any report has.
const ROWS: u32 = 9999;

impl Page<'_> {
    pub(super) fn set(&self, tab: &mut Worksheet) -> Result<(), XlsxError> {
        for (column, width) in (0_u16..).zip(self.widths) {
            tab.set_column_width(column, *width)?;
        }
        let foot = self.foot.replace('&', "&&");
        tab.set_paper_size(A4);
        tab.set_print_fit_to_pages(1, 0);
        tab.set_margins(0.6, 0.5, 0.6, 0.7, 0.3, 0.35);
        tab.set_footer(format!("&L&8{foot}&R&8&A, page &P of &N"));
        tab.set_screen_gridlines(false);
        tab.set_freeze_panes(self.headings.1 + 1, 0)?;
        tab.set_repeat_rows(self.headings.0, self.headings.1)?;
        if self.landscape {
            tab.set_landscape();
        }
        let columns = u16::try_from(self.widths.len()).unwrap_or(u16::MAX);
        show_six_digits(tab, (0, ROWS), columns)
    }

    /// Gives a row the height that its texts need; each text with the columns it spans.
    pub(super) fn fit(
        &self,
        tab: &mut Worksheet,
        row: u32,
        texts: &[(usize, usize, &str)],
    ) -> Result<(), XlsxError> {
        let width = |first: usize, last: usize| -> f64 {
            self.widths.iter().skip(first).take(last + 1 - first).sum()
        };
        let lines = texts
            .iter()
            .map(|(first, last, text)| lines(text, width(*first, *last)))
            .max()
            .unwrap_or(1);
        tab.set_row_height(row, LINE * f64::from(lines) + 1.5)?;
        Ok(())
    }

    /// The title, over the whole width.
    pub(super) fn title(
        &self,
        tab: &mut Worksheet,
        row: u32,
        text: &str,
        format: &Format,
    ) -> Result<(), XlsxError> {
        tab.write_string_with_format(row, 0, text, format)?;
        tab.set_row_height(row, 22)?;
        Ok(())
    }

    /// What stands over a part of the page, ruled over the whole width.
    pub(super) fn part(
        &self,
        tab: &mut Worksheet,
        row: u32,
        title: &str,
        heads: &[(u16, &str)],
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        for (column, _) in (0_u16..).zip(self.widths) {
            tab.write_blank(row, column, &paper.part)?;
        }
        tab.write_string_with_format(row, 0, title, &paper.part)?;
        for (column, head) in heads {
            tab.write_string_with_format(row, *column, *head, paper.head(head))?;
        }
        Ok(())
    }

    /// What stands over the columns.
    pub(super) fn heads(
        &self,
        tab: &mut Worksheet,
        row: u32,
        heads: &[&str],
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        for (column, head) in (0_u16..).zip(heads) {
            let format = if column == 0 { &paper.first_head } else { paper.head(head) };
            tab.write_string_with_format(row, column, *head, format)?;
        }
        Ok(())
    }

    /// Writes a text that runs over the whole width, as high as it needs.
    pub(super) fn across(
        &self,
        tab: &mut Worksheet,
        row: u32,
        text: &str,
        format: &Format,
    ) -> Result<(), XlsxError> {
        let last = self.widths.len().saturating_sub(1);
        let column = u16::try_from(last).unwrap_or(0);
        tab.merge_range(row, 0, row, column, "", format)?;
        tab.write_string_with_format(row, 0, text, format)?;
        self.fit(tab, row, &[(0, last, text)])
    }
}

/// How many lines a text takes in a column; words stay whole.
fn lines(text: &str, width: f64) -> u32 {
    // widths are counted in digits of a larger face, and letters are narrower than digits on the
    // whole; an indent is kept
    let room = ((width - 1.5) * 1.4).max(4.0);
    let mut lines = 1;
    let mut used = 0.0;
    for word in text.split(' ') {
        let long = f64::from(u32::try_from(word.width()).unwrap_or(u32::MAX));
        if used > 0.0 && used + 1.0 + long > room {
            lines += 1;
            used = 0.0;
        }
        used += long + if used > 0.0 { 1.0 } else { 0.0 };
        while used > room {
            lines += 1;
            used -= room;
        }
    }
    lines
}

/// A name for a tab: at most 31 signs, none that tabs may not have, none used before.
pub(super) fn tab_name(wanted: &str, taken: &[String]) -> String {
    let plain: String = wanted.chars().filter(|sign| !"[]:*?/\\'".contains(*sign)).collect();
    (1..)
        .map(|number| {
            let end = if number == 1 { String::new() } else { format!(" {number}") };
            let room = 31 - end.len();
            format!("{}{end}", plain.chars().take(room).collect::<String>())
        })
        .find(|name| !taken.iter().any(|other| other.eq_ignore_ascii_case(name)))
        .unwrap_or_default()
}

/// What the writing library could not do is our fault.
pub(super) fn internal(problem: &XlsxError) -> Diagnostic {
    Diagnostic::error(Name::Internal, format!("the workbook could not be written: {problem}"))
}
