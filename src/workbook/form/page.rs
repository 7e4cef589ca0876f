//! One form: title, block, settings, cautions, sources.

use std::sync::Arc;

use rust_xlsxwriter::{DataValidation, DataValidationErrorStyle, Formula, Worksheet, XlsxError};

use super::super::paper::{Page, Paper};
use super::bounds::Bounds;
use super::{closing, range_in_words};
use crate::program::{Input, Output, Program, Type};
use crate::unit::{Literal, Unit};

const HEADS: [&str; 6] = ["name", "value", "unit", "what it is", "kind", "allowed"];

/// The row of the headings, from 0: title, a line about the form, a line free, the name of the sheet.
const HEADINGS: u32 = 4;

/// Rows offered for a series.
pub(super) const SERIES: u32 = 10;

/// Widths of the columns in digits.
const WIDTHS: [f64; 6] = [17.0, 12.0, 14.0, 41.0, 20.0, 27.0];

/// One row, or several for a series, of the form.
pub(super) struct Field {
    pub(super) input: Input,
    /// First row, from 0.
    pub(super) row: u32,
    pub(super) rows: u32,
    values: Vec<Literal>,
}

/// A form under way.
pub(super) struct Form {
    pub(super) tab: String,
    pub(super) program: Arc<Program>,
    pub(super) fields: Vec<Field>,
}

impl Field {
    /// The unit that is chosen at first.
    pub(super) fn unit(&self) -> Unit {
        self.values.first().map_or_else(|| self.input.unit.clone(), |value| value.unit.clone())
    }

    /// The value or word that stands there at first, as a cell shows it; empty if none does.
    pub(super) fn shown(&self) -> String {
        match (self.values.first(), &self.input.type_) {
            (Some(place), Type::Choice(all)) => {
                let word = usize::try_from(place.digits).ok().and_then(|at| all.get(at));
                word.cloned().unwrap_or_default()
            }
            (Some(value), _) => format!("{:?}", number(value)),
            (None, _) => String::new(),
        }
    }

    /// The value that stands there at first.
    pub(super) fn single(&self) -> Option<&Literal> {
        self.values.first()
    }
}

impl Form {
    pub(super) fn new(tab: String, program: &Arc<Program>, with_examples: bool) -> Self {
        let mut row = HEADINGS + 1;
        let mut fields = Vec::new();
        for input in &program.inputs {
            let mut values: Vec<Literal> = input.default.iter().cloned().collect();
            if with_examples && !input.example.is_empty() {
                values.clone_from(&input.example);
            }
            let series = matches!(input.type_, Type::Number { series: true, .. });
            let needed = values.len().max(input.at_least.unwrap_or(0));
            let rows = if series { SERIES.max(u32::try_from(needed).unwrap_or(SERIES)) } else { 1 };
            fields.push(Field { input: input.clone(), row, rows, values });
            row += rows;
        }
        Self { tab, program: Arc::clone(program), fields }
    }

    fn sheet(&self) -> (&str, &str) {
        self.program.scopes.first().map_or(("", ""), |scope| (&scope.sheet, &scope.title))
    }

    /// The row after the last input.
    fn end(&self) -> u32 {
        self.fields.last().map_or(HEADINGS + 1, |field| field.row + field.rows)
    }

    /// Each result with its first row.
    pub(super) fn output_rows(&self) -> Vec<(u32, &Output)> {
        let mut next = self.end() + 2;
        let mut rows = Vec::new();
        for output in &self.program.outputs {
            rows.push((next, output));
            let series = matches!(output.type_, Type::Number { series: true, .. });
            next += if series { SERIES } else { 1 };
        }
        rows
    }

    pub(super) fn write(
        &self,
        tab: &mut Worksheet,
        bounds: &Bounds,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let (sheet, title) = self.sheet();
        let foot = format!("{title} ({sheet})");
        let page = Page {
            widths: &WIDTHS,
            landscape: false,
            headings: (HEADINGS - 1, HEADINGS),
            foot: &foot,
        };
        tab.set_name(&self.tab)?;
        page.title(tab, 0, title, &paper.title)?;
        let about = "Fill in the boxes and save; `standstill fill` with the name of this file works the sheet out and \
writes the results below.";
        page.across(tab, 1, about, &paper.across)?;
        tab.write_string_with_format(HEADINGS - 1, 0, format!("sheet {sheet}"), &paper.sheet)?;
        page.heads(tab, HEADINGS, &HEADS, paper)?;
        for field in &self.fields {
            self.field(tab, &page, field, bounds, paper)?;
        }
        let end = self.end();
        let row = self.results(tab, &page, paper, end + 1)?;
        let row = self.settings(tab, &page, paper, row + 2)?;
        closing(tab, &page, paper, &self.program, row)?;
        page.set(tab)
    }

    fn field(
        &self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        field: &Field,
        bounds: &Bounds,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let (row, last) = (field.row, field.row + field.rows - 1);
        let input = &field.input;
        let allowed = range_in_words(input).unwrap_or_default();
        tab.write_string_with_format(row, 0, &input.name, &paper.name)?;
        tab.write_string_with_format(row, 3, &input.note, &paper.text)?;
        let kind = kind_in_words(input);
        tab.write_string_with_format(row, 4, &kind, &paper.aside)?;
        tab.write_string_with_format(row, 5, &allowed, &paper.aside)?;
        page.fit(tab, row, &[(3, 3, &input.note), (4, 4, &kind), (5, 5, &allowed)])?;
        for at in row..=last {
            tab.write_blank(at, 1, &paper.input)?;
            if at > row {
                tab.write_string_with_format(
                    at,
                    3,
                    format!("value {}", at - row + 1),
                    &paper.aside,
                )?;
            }
        }
        let message = message(input, &allowed)?;
        if let Type::Choice(all) = &input.type_ {
            if let Some(word) =
                field.values.first().and_then(|place| all.get(usize::try_from(place.digits).ok()?))
            {
                tab.write_string_with_format(row, 1, word, &paper.input)?;
            }
            let refused = format!("{} is {allowed}.", input.name);
            let validation =
                message.allow_list_strings(all)?.set_error_title("not one of the words")?;
            tab.add_data_validation(
                row,
                1,
                row,
                1,
                &validation.set_error_message(cut(&refused, 255))?,
            )?;
            return Ok(());
        }
        for (at, value) in (row..).zip(&field.values) {
            tab.write_number_with_format(at, 1, number(value), &paper.input)?;
        }
        let refused = if allowed.is_empty() {
            format!("{} is a number.", input.name)
        } else {
            format!("{} is a number, {allowed}.", input.name)
        };
        let rule = bounds.rule(&self.tab, field);
        let validation = message
            .allow_custom(Formula::new(rule))
            .set_error_title(cut(&format!("{} is not allowed", input.name), 32))?
            .set_error_message(cut(&refused, 255))?;
        tab.add_data_validation(row, 1, last, 1, &validation)?;
        let offered = bounds.offered(field);
        if offered.is_empty() {
            return Ok(());
        }
        tab.write_string_with_format(row, 2, field.unit().symbol, &paper.input_text)?;
        let kind = input.kind.map_or("", |kind| kind.name);
        let words = format!(
            "This unit is not in the list. It is read all the same if it is a unit of the kind {kind}; its range is then \
checked by fill alone."
        );
        let validation = DataValidation::new()
            .allow_list_strings(&offered)?
            .set_error_style(DataValidationErrorStyle::Warning)
            .set_error_title("another unit")?
            .set_error_message(cut(&words, 255))?;
        tab.add_data_validation(row, 2, row, 2, &validation)?;
        Ok(())
    }

    fn results(
        &self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
        mut row: u32,
    ) -> Result<u32, XlsxError> {
        page.part(tab, row, "results", &[], paper)?;
        for output in &self.program.outputs {
            row += 1;
            let about = match (output.note.is_empty(), output.setting.is_some()) {
                (false, true) => format!("{}, to be set", output.note),
                (true, true) => "to be set".to_owned(),
                (_, false) => output.note.clone(),
            };
            tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
            tab.write_blank(row, 1, &paper.number)?;
            tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
            tab.write_string_with_format(row, 3, &about, &paper.text)?;
            tab.write_string_with_format(row, 5, &output.rounding, &paper.aside)?;
            page.fit(tab, row, &[(3, 3, &about), (5, 5, &output.rounding)])?;
            if matches!(output.type_, Type::Number { series: true, .. }) {
                for at in 1..SERIES {
                    row += 1;
                    tab.write_blank(row, 1, &paper.number)?;
                    tab.write_string_with_format(
                        row,
                        3,
                        format!("value {}", at + 1),
                        &paper.aside,
                    )?;
                }
            }
        }
        row += 1;
        tab.write_string_with_format(row, 0, "checks", &paper.name)?;
        tab.merge_range(row, 1, row, 5, "", &paper.text)?;
        tab.set_row_height(row, 30)?;
        Ok(row + 1)
    }

    /// What is set in the drive, with a line to confirm each.
    fn settings(
        &self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
        mut row: u32,
    ) -> Result<u32, XlsxError> {
        let settings: Vec<_> =
            self.output_rows().into_iter().filter(|(_, output)| output.setting.is_some()).collect();
        if settings.is_empty() {
            return Ok(row);
        }
        page.part(
            tab,
            row,
            "to be set",
            &[(3, "what it is"), (4, "read back, date, name")],
            paper,
        )?;
        for (result, output) in settings {
            row += 1;
            let cell = result + 1;
            let value = Formula::new(format!("=IF(B{cell}=\"\",\"not yet\",B{cell})"))
                .set_result("not yet");
            tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
            tab.write_formula_with_format(row, 1, value, &paper.number)?;
            tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
            tab.write_string_with_format(row, 3, &output.note, &paper.text)?;
            tab.write_blank(row, 4, &paper.pen)?;
            tab.write_blank(row, 5, &paper.pen)?;
            tab.set_row_height(row, 30)?;
        }
        Ok(row + 2)
    }
}

/// A number as it is given, without its unit.
fn number(value: &Literal) -> f64 {
    format!("{}e{}", value.digits, value.ten).parse().unwrap_or(f64::NAN)
}

/// The kind of quantity that an input takes.
fn kind_in_words(input: &Input) -> String {
    let kind = input.kind.map_or("a choice", |kind| kind.name);
    match input.type_ {
        Type::Number { series: true, .. } => format!("series of {kind}"),
        _ => kind.to_owned(),
    }
}

/// What is said when the cell is chosen.
fn message(input: &Input, allowed: &str) -> Result<DataValidation, XlsxError> {
    let words = match (input.note.is_empty(), allowed.is_empty()) {
        (false, false) => format!("{}\n{allowed}", input.note),
        (false, true) => input.note.clone(),
        (true, _) => allowed.to_owned(),
    };
    let validation = DataValidation::new().set_input_title(cut(&input.name, 32))?;
    if words.is_empty() { Ok(validation) } else { validation.set_input_message(cut(&words, 255)) }
}

/// A text of at most so many signs.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(most - 1).collect();
    short.push('…');
    short
}
