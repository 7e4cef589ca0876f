//! The tab of the sheets that a sheet uses: what each is handed, and room for what it gives.
//!
//! What is handed over and stands in a cell is a formula that shows it; each result has a defined name, such
//! as `safe_stop.inertia.J_ref`, by which `fill` finds its cell.

use std::collections::BTreeMap;

use rust_xlsxwriter::{Formula, Workbook, Worksheet, XlsxError};

use super::super::bind::as_defined;
use super::super::cell_formats::{Page, Paper};
use super::page::{Form, SERIES, not_of_these};
use crate::language::one_line;
use crate::program::{Line, LineSource, Op, Program, Register, Scope, Type};
use crate::project::name_in;

/// The row of the headings, from 0: title, a line about the tab, a line free.
const HEADINGS: u32 = 3;

const HEADS: [&str; 5] = ["name", "value", "unit", "what it is", "where it comes from"];

/// Widths of the columns in digits.
const WIDTHS: [f64; 5] = [17.0, 12.0, 14.0, 46.0, 32.0];

/// Where a value stands that is handed over.
#[derive(Clone)]
struct Cell {
    /// The tab as a formula writes it, empty on this one.
    tab: String,
    /// From 0.
    row: u32,
    value: String,
    unit: String,
}

/// The tab of one form, laid out.
pub(super) struct Used<'a> {
    form: &'a Form,
    tab: String,
    cells: BTreeMap<Register, Cell>,
    /// What stands in each row.
    rows: Vec<(u32, Row<'a>)>,
}

#[derive(Clone, Copy)]
enum Row<'a> {
    Part(&'a Scope),
    Head(&'static str),
    Handed(&'a Line),
    Result(&'a Line),
}

impl<'a> Used<'a> {
    /// The tab of a form whose sheet uses others.
    pub(super) fn new(form: &'a Form, tab: String) -> Self {
        let program = form.program.as_ref();
        let mut rows = Vec::new();
        let mut cells = given(form);
        let mut row = HEADINGS + 1;
        for scope in program.scopes.iter().filter(|scope| !scope.path.is_empty()) {
            rows.push((row, Row::Part(scope)));
            row += 1;
            let own = || program.lines.iter().filter(|line| own_name(line, scope).is_some());
            let handed = own().filter(|line| {
                matches!(line.says, LineSource::Hands(_) | LineSource::Takes | LineSource::Default)
            });
            rows.push((row, Row::Head("it is handed")));
            for line in handed {
                row += 1;
                rows.push((row, Row::Handed(line)));
            }
            row += 1;
            rows.push((row, Row::Head("it gives")));
            for line in own().filter(|line| matches!(line.says, LineSource::Gives)) {
                row += 1;
                rows.push((row, Row::Result(line)));
                let here = |value: &str, unit: &str| Cell {
                    tab: String::new(),
                    row,
                    value: value.to_owned(),
                    unit: unit.to_owned(),
                };
                if is_series(line) {
                    row += SERIES - 1;
                } else {
                    cells.entry(line.register).or_insert_with(|| here("", &line.unit.symbol));
                }
            }
            row += 2;
        }
        Self { form, tab, cells, rows }
    }

    /// Names the cells of the results, so that `fill` finds them.
    pub(super) fn name_cells(&self, book: &mut Workbook) -> Result<(), XlsxError> {
        let sheet = name_in(&self.form.asked);
        for (row, what) in &self.rows {
            let Row::Result(line) = what else { continue };
            let first = row + 1;
            let cells = if is_series(line) {
                format!("$B${first}:$B${}", first + SERIES - 1)
            } else {
                format!("$B${first}")
            };
            let name = format!("{}.{}", as_defined(&sheet), line.name);
            book.define_name(name, &format!("={}{cells}", quoted(&self.tab)))?;
        }
        Ok(())
    }

    pub(super) fn write(&self, tab: &mut Worksheet, paper: &Paper) -> Result<(), XlsxError> {
        let program = self.form.program.as_ref();
        let (sheet, title) =
            program.scopes.first().map_or(("", ""), |scope| (&scope.sheet, &scope.title));
        let foot = format!("sheets that {sheet} uses");
        let page =
            Page { widths: &WIDTHS, landscape: false, headings: (HEADINGS, HEADINGS), foot: &foot };
        tab.set_name(&self.tab)?;
        page.title(tab, 0, &format!("{title}: the sheets it uses"), &paper.title)?;
        let about = format!(
            "Nothing is to be filled in here: each sheet shows what it is handed from the tab {}, and `standstill fill` writes what it gives.",
            self.form.tab
        );
        page.across(tab, 1, &about, &paper.across)?;
        page.heads(tab, HEADINGS, &HEADS, paper)?;
        for (row, what) in &self.rows {
            match what {
                Row::Part(scope) => {
                    let text = format!("{}: {} ({})", scope.path, scope.title, scope.sheet);
                    page.part(tab, *row, &text, &[], paper)?;
                }
                Row::Head(text) => {
                    tab.write_string_with_format(*row, 0, *text, &paper.aside_name)?;
                }
                Row::Handed(line) => self.handed(tab, &page, *row, line, paper)?,
                Row::Result(line) => result(tab, &page, *row, line, (program, paper))?,
            }
        }
        let last = self.rows.last().map_or(HEADINGS, |(row, _)| row + SERIES);
        let changed = format!("{}{}", quoted(&self.form.tab), self.form.changed());
        not_of_these(tab, &changed, (HEADINGS + 1, last), (1, 1))?;
        page.set(tab)
    }

    fn handed(
        &self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        row: u32,
        line: &Line,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let program = self.form.program.as_ref();
        let from = match &line.says {
            LineSource::Hands(tree) => {
                let scope = usize::try_from(line.scope).ok().and_then(|at| program.scopes.get(at));
                let text = scope.and_then(|scope| {
                    let text = one_line(scope.source.text.get(tree.span.clone())?);
                    Some(if scope.path.is_empty() {
                        text
                    } else {
                        format!("{text}, of {}", scope.path)
                    })
                });
                text.unwrap_or_default()
            }
            _ => "as the sheet has it".to_owned(),
        };
        tab.write_string_with_format(row, 0, short(line), &paper.name)?;
        tab.write_string_with_format(row, 3, &line.note, &paper.text)?;
        tab.write_string_with_format(row, 4, &from, &paper.aside)?;
        page.fit(tab, row, &[(3, 3, &line.note), (4, 4, &from)])?;
        if let Some(cell) = self.cells.get(&line.register) {
            let look = |column: char, now: &str| {
                let at = format!("{}{column}{}", cell.tab, cell.row + 1);
                Formula::new(format!("=IF({at}=\"\",\"\",{at})")).set_result(now)
            };
            tab.write_formula_with_format(row, 1, look('B', &cell.value), &paper.number)?;
            if matches!(line.type_, Type::Number { .. }) && !cell.unit.is_empty() {
                tab.write_formula_with_format(row, 2, look('C', &cell.unit), &paper.unit)?;
            }
            return Ok(());
        }
        let step = program.steps.iter().find(|step| step.to == line.register);
        if let Some(Op::Literal(value)) = step.map(|step| &step.op) {
            if let Type::Choice(all) = &line.type_ {
                let word = usize::try_from(value.digits).ok().and_then(|at| all.get(at));
                tab.write_string_with_format(
                    row,
                    1,
                    word.map_or("", String::as_str),
                    &paper.number,
                )?;
                return Ok(());
            }
            let number: f64 = format!("{}e{}", value.digits, value.ten).parse().unwrap_or(f64::NAN);
            tab.write_number_with_format(row, 1, number, &paper.number)?;
            tab.write_string_with_format(row, 2, &value.unit.symbol, &paper.unit)?;
        }
        Ok(())
    }
}

fn result(
    tab: &mut Worksheet,
    page: &Page<'_>,
    row: u32,
    line: &Line,
    (program, paper): (&Program, &Paper),
) -> Result<(), XlsxError> {
    let mut settings = program.outputs.iter().filter(|it| it.setting.is_some());
    let is_set = settings.any(|it| it.register == line.register);
    tab.write_string_with_format(row, 0, short(line), &paper.name)?;
    tab.write_blank(row, 1, if is_set { &paper.across } else { &paper.number })?;
    tab.write_string_with_format(row, 2, &line.unit.symbol, &paper.unit)?;
    tab.write_string_with_format(row, 3, &line.note, &paper.text)?;
    page.fit(tab, row, &[(3, 3, &line.note)])?;
    if is_set {
        tab.set_row_height(row, 30)?;
    }
    if is_series(line) {
        for at in 1..SERIES {
            tab.write_blank(row + at, 1, &paper.number)?;
            let words = format!("value {}", at + 1);
            tab.write_string_with_format(row + at, 3, words, &paper.aside)?;
        }
    }
    Ok(())
}

/// The cells of the form itself, by what they hold.
fn given(form: &Form) -> BTreeMap<Register, Cell> {
    let program: &Program = form.program.as_ref();
    let tab = quoted(&form.tab);
    let mut cells = BTreeMap::new();
    for field in form.fields.iter().filter(|field| field.rows == 1) {
        let value = field.shown();
        let cell =
            Cell { tab: tab.clone(), row: field.row, value, unit: field.unit().symbol.clone() };
        for (id, input) in (0_u32..).zip(&program.inputs) {
            if input.name != field.input.name {
                continue;
            }
            cells.insert(input.register, cell.clone());
            for step in &program.steps {
                if matches!(step.op, Op::Input(read) if read.0 == id) {
                    cells.insert(step.to, cell.clone());
                }
            }
        }
    }
    for (row, output) in form.output_rows() {
        if !matches!(output.type_, Type::Number { series: true, .. }) {
            cells.entry(output.register).or_insert_with(|| Cell {
                tab: tab.clone(),
                row,
                value: String::new(),
                unit: output.unit.symbol.clone(),
            });
        }
    }
    cells
}

/// The name of a line within a scope, if it is one of its own.
fn own_name<'l>(line: &'l Line, scope: &Scope) -> Option<&'l str> {
    line.name.strip_prefix(&scope.path)?.strip_prefix('.').filter(|name| !name.contains('.'))
}

fn short(line: &Line) -> &str {
    line.name.rsplit('.').next().unwrap_or(&line.name)
}

fn is_series(line: &Line) -> bool {
    matches!(line.type_, Type::Number { series: true, .. })
}

/// A tab as a formula writes it, with its mark.
fn quoted(tab: &str) -> String {
    format!("'{}'!", tab.replace('\'', "''"))
}
