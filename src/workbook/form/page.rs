//! One form: title, block, settings, cautions, sources.

use std::collections::BTreeSet;
use std::sync::Arc;

use rust_xlsxwriter::{
    ConditionalFormatFormula, DataValidation, DataValidationErrorStyle, Format, Formula, Worksheet,
    XlsxError,
};

use super::super::calculated_for::TAKEN_BACK;
use super::super::cell_formats::{Page, Paper};
use super::super::formulas::words;
use super::bounds::Bounds;
use super::{FormOptions, closing};
use crate::calculation::{Inputs, OPEN_VERDICTS, Results, tolerance_text};
use crate::program::{Input, Output, Program, Tolerance, Type};
use crate::report::{LEFT_OUT, NOT_TO_BE_SET};
use crate::spreadsheet::Position;
use crate::unit::{Literal, Unit};

const HEADS: [&str; 6] = ["name", "value", "unit", "what it is", "kind", "allowed"];

/// With room for the worst case: the tolerance of an input stands where the lowest value of a result does.
const WORST_HEADS: [&str; 8] =
    ["name", "value", "unit", "tolerance", "", "what it is", "kind", "allowed"];

const WORST_WIDTHS: [f64; 8] = [17.0, 12.0, 14.0, 19.0, 14.0, 36.0, 20.0, 26.0];

/// The row of the headings, from 0: title, a line about the form, the verdict, the name of the sheet.
const HEADINGS: u32 = 4;

/// The row of the verdict, above the block.
const VERDICT: u32 = 2;

/// What a form says of results that its boxes have left behind.
const CHANGED: &str = "CHANGED since it was calculated: fill again";

/// Rows offered for a series.
pub(super) const SERIES: u32 = 10;

/// Signs of a formula, at most 8192 (ECMA-376 leaves it open; common practice, no source).
const LONGEST: usize = 8000;

/// Widths of the columns in digits.
const WIDTHS: [f64; 6] = [17.0, 12.0, 14.0, 41.0, 20.0, 27.0];

/// One row, or several for a series, of the form.
pub(super) struct Field {
    pub(super) input: Input,
    /// First row, from 0.
    pub(super) row: u32,
    pub(super) rows: u32,
    values: Vec<Literal>,
    /// The tolerance that stands beside each value at first.
    tolerances: Vec<Option<Tolerance>>,
}

/// A form under way.
pub(super) struct Form {
    pub(super) tab: String,
    pub(super) program: Arc<Program>,
    /// The words by which the workbook asks for it.
    pub(super) asked: String,
    pub(super) fields: Vec<Field>,
    /// Columns for the worst case, between the unit and what it is.
    more: u16,
    /// Inputs that some words of the choices leave out: their boxes may stay empty then.
    spareable: BTreeSet<usize>,
}

impl Field {
    /// The unit that is chosen at first: that of the value, or for a pure number the one its example has (%).
    pub(super) fn unit(&self) -> Unit {
        let pure = self.input.unit.symbol.is_empty();
        let value = self.values.first().or(self.input.example.first().filter(|_| pure));
        value.map_or_else(|| self.input.unit.clone(), |value| value.unit.clone())
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
    pub(super) fn new(
        tab: String,
        program: &Arc<Program>,
        asked: &str,
        options: FormOptions,
    ) -> Self {
        let mut row = HEADINGS + 1;
        let mut fields = Vec::new();
        // an example that goes one of several ways holds no values of the others
        let mut shown = Inputs::new(program);
        shown.fill_with_examples();
        let left_out = Results::compute(program, &shown).map(|it| it.left_out_here());
        let left_out = left_out.unwrap_or_default();
        for (at, input) in program.inputs.iter().enumerate() {
            row += u32::from(program.heading_above(at).is_some());
            let mut values: Vec<Literal> = input.default.iter().cloned().collect();
            let mut tolerances = vec![input.default_tolerance.clone()];
            let is_idle = input.default.is_some() && left_out.contains_key(&at);
            if options.examples && !input.example.is_empty() && !is_idle {
                values.clone_from(&input.example);
                tolerances.clone_from(&input.example_tolerances);
            }
            let series = matches!(input.type_, Type::Number { series: true, .. });
            let needed = values.len().max(input.at_least.unwrap_or(0));
            let rows = if series { SERIES.max(u32::try_from(needed).unwrap_or(SERIES)) } else { 1 };
            fields.push(Field { input: input.clone(), row, rows, values, tolerances });
            row += rows;
        }
        let tolerated = fields.iter().any(|field| field.tolerances.iter().any(Option::is_some));
        let more = if options.worst || tolerated { 2 } else { 0 };
        let mut open = Inputs::new(program);
        let choices = program.inputs.iter().filter(|it| matches!(it.type_, Type::Choice(_)));
        choices.for_each(|it| open.give_up(&it.name, it.place.clone()));
        let spareable = open.left_out_by_any_word();
        let program = Arc::clone(program);
        Self { tab, program, asked: asked.to_owned(), fields, more, spareable }
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

    /// Writes the form, one of those of its workbook.
    pub(super) fn write(
        &self,
        tab: &mut Worksheet,
        forms: &[Self],
        bounds: &Bounds,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let (sheet, title) = self.sheet();
        let foot = format!("{title} ({sheet})");
        let page = Page {
            widths: if self.more == 0 { &WIDTHS } else { &WORST_WIDTHS },
            landscape: false,
            headings: (HEADINGS - 1, HEADINGS),
            foot: &foot,
        };
        tab.set_name(&self.tab)?;
        page.title(tab, 0, title, &paper.title)?;
        let about = "Fill in the boxes and save: a name in bold asks for a value of your machine, the others hold what is taken otherwise. \
`standstill fill` with the name of this file works the sheet out and fills in what has no box.";
        page.across(tab, 1, about, &paper.across)?;
        tab.write_string_with_format(
            HEADINGS - 1,
            0,
            format!("sheet {}", self.asked),
            &paper.sheet,
        )?;
        let heads: &[&str] = if self.more == 0 { &HEADS } else { &WORST_HEADS };
        page.heads(tab, HEADINGS, heads, paper)?;
        for (at, field) in self.fields.iter().enumerate() {
            if let Some(heading) = self.program.heading_above(at) {
                page.part(tab, field.row - 1, heading, &[], paper)?;
            }
            self.field(tab, &page, field, bounds, paper)?;
        }
        let end = self.end();
        let row = self.results(tab, &page, paper, end + 1)?;
        self.verdict(tab, &page, paper, row - 1)?;
        for (at, field) in self.fields.iter().enumerate() {
            if self.spareable.contains(&at) {
                self.left_out(tab, &page, field, paper, row - 1)?;
            }
        }
        self.calculated_for(tab, forms, row - 1)?;
        let row = self.settings(tab, &page, paper, row)?;
        closing(tab, &page, paper, &self.program, row)?;
        page.set(tab)
    }

    /// The cell that says whether a box has changed since the results beside it were calculated, here or on a form whose
    /// results are taken here. It stands in hidden columns, above what the boxes held then, and below the one that speaks of
    /// the boxes of this form alone: `fill` writes what they held, see [`super::super::calculated_for`].
    pub(super) fn changed(&self) -> String {
        format!("${}${}", letters(self.kept()), HEADINGS + 1)
    }

    /// The cell that speaks of the boxes of this form alone.
    fn changed_here(&self) -> String {
        format!("${}${HEADINGS}", letters(self.kept()))
    }

    /// The first column of what the boxes held.
    fn kept(&self) -> u16 {
        self.asides().2 + 1
    }

    /// Compares the boxes with what they held, and shows no figure that is not theirs; the results end with `last`.
    fn calculated_for(
        &self,
        tab: &mut Worksheet,
        forms: &[Self],
        last: u32,
    ) -> Result<(), XlsxError> {
        let (boxes, kept) = (1, self.kept());
        let more = if self.more > 0 { 2 } else { 1 };
        let area = |first: u16| {
            let (from, to) = (letters(first), letters(first + more));
            format!("{from}{}:{to}{}", HEADINGS + 2, self.end())
        };
        // `<>` compares texts without regard to case, which makes one of mΩ and MΩ: EXACT does not
        let formula = format!("=SUMPRODUCT(1-EXACT({}&\"\",{}&\"\"))>0", area(boxes), area(kept));
        let calculated = |formula: String| Formula::new(formula).set_result("TRUE");
        tab.write_formula(HEADINGS - 1, kept, calculated(formula))?;
        // below what is kept stands beside each other form whether its results are taken here
        let others = forms.iter().filter(|it| it.tab != self.tab);
        let mut formula = format!("=OR({}", self.changed_here());
        for (row, other) in (self.end()..).zip(others) {
            let (name, here) = (other.tab.replace('\'', "''"), letters(kept));
            let more = format!(",AND(${here}${},'{name}'!{})", row + 1, other.changed_here());
            // no program takes a longer formula
            if formula.len() + more.len() < LONGEST {
                formula.push_str(&more);
                tab.write_number(row, kept, 0.0)?;
            }
        }
        tab.write_formula(HEADINGS, kept, calculated(formula + ")"))?;
        for column in kept..=kept + more {
            tab.set_column_hidden(column)?;
        }
        let rows = (self.end() + 2, last);
        if self.more > 0 {
            not_of_these(tab, &self.changed(), rows, (3, 4))?;
        }
        not_of_these(tab, &self.changed(), rows, (1, 1))
    }

    /// The columns of what it is, of its kind, and of what is allowed.
    fn asides(&self) -> (u16, u16, u16) {
        (3 + self.more, 4 + self.more, 5 + self.more)
    }

    /// Says beside an empty box, in the place of what is allowed, that the words chosen leave it out: nothing would have
    /// been calculated otherwise. The checks end in the row `checked`.
    fn left_out(
        &self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        field: &Field,
        paper: &Paper,
        checked: u32,
    ) -> Result<(), XlsxError> {
        let allowed = field.input.allowed_text().unwrap_or_default();
        let (what, _, aside) = self.asides();
        fit(
            page,
            tab,
            field.row,
            &[(what, &field.input.note), (aside, &allowed), (aside, LEFT_OUT)],
        )?;
        // no program takes a longer text in a formula
        let signs: Vec<char> = allowed.chars().collect();
        let parts = signs.chunks(200).map(|part| words(&part.iter().collect::<String>()));
        let shown = parts.collect::<Vec<_>>().join("&");
        let shown = if shown.is_empty() { words("") } else { shown };
        let boxes = (field.row + 1..=field.row + field.rows).map(|row| format!("B{row}<>\"\""));
        let boxes = boxes.collect::<Vec<_>>().join(",");
        let changed = self.changed();
        let formula =
            format!("=IF(OR({boxes},B{}=\"\",{changed}),{shown},{})", checked + 1, words(LEFT_OUT));
        let formula = Formula::new(formula).set_result(allowed);
        tab.write_formula_with_format(field.row, aside, formula, &paper.aside)?;
        Ok(())
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
        let allowed = input.allowed_text().unwrap_or_default();
        let (what, kind, aside) = self.asides();
        // what has no default is to be filled in
        let name = if input.default.is_none() { &paper.sheet } else { &paper.name };
        tab.write_string_with_format(row, 0, &input.name, name)?;
        let of_kind = kind_text(input);
        tab.write_string_with_format(row, what, &input.note, &paper.text)?;
        tab.write_string_with_format(row, kind, &of_kind, &paper.aside)?;
        tab.write_string_with_format(row, aside, &allowed, &paper.aside)?;
        fit(page, tab, row, &[(what, &input.note), (kind, &of_kind), (aside, &allowed)])?;
        for at in row..=last {
            tab.write_blank(at, 1, &paper.input)?;
            if at > row {
                tab.write_string_with_format(
                    at,
                    what,
                    format!("value {}", at - row + 1),
                    &paper.aside,
                )?;
            }
            if self.more > 0 && !matches!(input.type_, Type::Choice(_)) {
                let place = usize::try_from(at - row).unwrap_or(usize::MAX);
                let tolerance = field.tolerances.get(place).and_then(Option::as_ref);
                // the first of a series alone would speak for all of it
                let sharp = field.tolerances.first().is_some_and(Option::is_some)
                    && at > row
                    && tolerance.is_none();
                let words = match field.values.get(place) {
                    Some(value) if sharp => format!("± 0 {}", value.unit.symbol),
                    _ => tolerance_text(tolerance),
                };
                tab.write_string_with_format(at, 3, words.trim_start(), &paper.input_text)?;
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
        let (what, _, aside) = self.asides();
        let worst = self.more > 0;
        let mut heads = vec![(what, "filled in for you")];
        if worst {
            heads.extend([(1, "value"), (2, "unit"), (3, "lowest"), (4, "highest")]);
        }
        page.part(tab, row, "results", &heads, paper)?;
        for output in &self.program.outputs {
            row += 1;
            let about = match (output.note.is_empty(), output.setting.is_some()) {
                (false, true) => format!("{}, to be set", output.note),
                (true, true) => "to be set".to_owned(),
                (_, false) => output.note.clone(),
            };
            tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
            // of what is written in the place of a setting its beginning counts: "NOT"
            let format = if output.setting.is_some() { &paper.across } else { &paper.number };
            tab.write_blank(row, 1, format)?;
            tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
            tab.write_string_with_format(row, what, &about, &paper.text)?;
            tab.write_string_with_format(row, aside, &output.rounding, &paper.aside)?;
            fit(page, tab, row, &[(what, &about), (aside, &output.rounding)])?;
            if worst {
                // all of a series stand in one cell each
                let series = matches!(output.type_, Type::Number { series: true, .. });
                let format = if series { &paper.across } else { format };
                tab.write_blank(row, 3, format)?;
                tab.write_blank(row, 4, format)?;
            }
            if output.setting.is_some() {
                tab.set_row_height(row, 30)?;
            }
            if matches!(output.type_, Type::Number { series: true, .. }) {
                for at in 1..SERIES {
                    row += 1;
                    tab.write_blank(row, 1, &paper.number)?;
                    tab.write_string_with_format(
                        row,
                        what,
                        format!("value {}", at + 1),
                        &paper.aside,
                    )?;
                }
            }
        }
        row += 1;
        // what tells of the tolerances first: it is never the better one
        let checks: &[&str] = if worst { &["checks worst", "checks"] } else { &["checks"] };
        for (row, name) in (row..).zip(checks) {
            tab.write_string_with_format(row, 0, *name, &paper.name)?;
            tab.merge_range(row, 1, row, aside, "", &paper.text)?;
            tab.set_row_height(row, 30)?;
        }
        Ok(row + if worst { 2 } else { 1 })
    }

    /// What the checks came to, on the first page, however many results there are; they end above `checked`.
    fn verdict(
        &self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
        checked: u32,
    ) -> Result<(), XlsxError> {
        let rows = (checked - u32::from(self.more > 0) + 1)..=checked + 1;
        let cells: Vec<String> = rows.map(|row| format!("B{row}")).collect();
        let all = cells.join("&\"; with the values themselves: \"&");
        let first = cells.first().map_or("", String::as_str);
        let changed = self.changed();
        let formula =
            format!("=IF({first}=\"\",\"not yet calculated\",IF({changed},\"{CHANGED}\",{all}))");
        let formula = Formula::new(formula).set_result("not yet calculated");
        let last = page.widths.len().saturating_sub(1);
        let column = u16::try_from(last).unwrap_or(0);
        tab.merge_range(VERDICT, 0, VERDICT, column, "", &paper.strong)?;
        tab.write_formula_with_format(VERDICT, 0, formula, &paper.strong)?;
        tab.set_row_height(VERDICT, 30)?;
        Ok(())
    }

    /// What is set in the drive, with a line to confirm each; none where the checks that end above `checked` fail.
    fn settings(
        &self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
        checked: u32,
    ) -> Result<u32, XlsxError> {
        let mut row = checked + 2;
        let settings: Vec<_> =
            self.output_rows().into_iter().filter(|(_, output)| output.setting.is_some()).collect();
        if settings.is_empty() {
            return Ok(row);
        }
        let (what, kind, aside) = self.asides();
        let heads = [(what, "what it is"), (kind, "read back, date, name")];
        page.part(tab, row, "to be set", &heads, paper)?;
        for (result, output) in settings {
            row += 1;
            let cell = result + 1;
            // the cell of the checks, or the one of the tolerances above it
            let failing = (checked - u32::from(self.more > 0)..=checked)
                .flat_map(|row| OPEN_VERDICTS.map(|word| (row, word.trim_end())))
                .map(|(row, word)| format!("LEFT(B{row},{})=\"{word}\"", word.len()));
            let failing = format!("OR({})", failing.collect::<Vec<_>>().join(","));
            let changed = self.changed();
            let value = Formula::new(format!(
                "=IF(B{cell}=\"\",\"not yet\",IF({changed},\"{NOT_TO_BE_SET}: {CHANGED}\",IF({failing},\"{NOT_TO_BE_SET}\",B{cell})))"
            ))
            .set_result("not yet");
            tab.write_string_with_format(row, 0, &output.name, &paper.name)?;
            tab.write_formula_with_format(row, 1, value, &paper.across)?;
            tab.write_string_with_format(row, 2, &output.unit.symbol, &paper.unit)?;
            tab.write_string_with_format(row, what, &output.note, &paper.text)?;
            tab.write_blank(row, kind, &paper.pen)?;
            tab.write_blank(row, aside, &paper.pen)?;
            tab.set_row_height(row, 30)?;
        }
        Ok(row + 2)
    }
}

/// Writes a word in place of every figure of some rows and columns while `changed` says that they are those of other
/// values. The cells keep what they hold, so that `fill` finds them as it left them.
pub(super) fn not_of_these(
    tab: &mut Worksheet,
    changed: &str,
    (first, last): (u32, u32),
    (left, right): (u16, u16),
) -> Result<(), XlsxError> {
    let words = [format!("\"{TAKEN_BACK}\"").as_str(); 4].join(";");
    let shown = ConditionalFormatFormula::new()
        .set_rule(format!("={changed}").as_str())
        .set_format(Format::new().set_num_format(words))
        .set_stop_if_true(true);
    tab.add_conditional_format(first, left, last, right, &shown)?;
    Ok(())
}

/// The letters of a column, from 0.
fn letters(column: u16) -> String {
    Position { row: 0, column: u32::from(column) }.column_name()
}

/// A number as it is given, without its unit.
fn number(value: &Literal) -> f64 {
    format!("{}e{}", value.digits, value.ten).parse().unwrap_or(f64::NAN)
}

/// The kind of quantity that an input takes.
fn kind_text(input: &Input) -> String {
    let kind = input.kind.map_or("a choice", |kind| kind.name);
    match input.type_ {
        Type::Number { series: true, .. } => format!("series of {kind}"),
        _ => kind.to_owned(),
    }
}

/// Makes a row as high as the texts of some columns need.
fn fit(
    page: &Page<'_>,
    tab: &mut Worksheet,
    row: u32,
    texts: &[(u16, &str)],
) -> Result<(), XlsxError> {
    let texts: Vec<(usize, usize, &str)> = texts
        .iter()
        .map(|(column, text)| (usize::from(*column), usize::from(*column), *text))
        .collect();
    page.fit(tab, row, &texts)
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
