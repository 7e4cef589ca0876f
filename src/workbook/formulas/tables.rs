//! The tab of tables: those of the sheet, and the preferred numbers that it looks in.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{Shown, write as put};
use super::plan::{FIRST, Plan, TABLE_HEAD, TabOf};
use super::{factor, heading};
use crate::program::Between;
use crate::unit::{Literal, Unit};
use crate::workbook::cell_formats::{Page, Paper};

pub(super) fn write(tab: &mut Worksheet, plan: &Plan<'_>, paper: &Paper) -> Result<(), XlsxError> {
    let page = Page {
        widths: &[24.0, 24.0, 18.0, 18.0],
        landscape: false,
        headings: (0, 1),
        foot: "tables as the sheet gives them; in SI = (as given + zero) · factor",
    };
    tab.set_name(TabOf::Tables.name())?;
    heading(tab, plan, paper, (TabOf::Tables.name(), "In SI = (as given + zero) · factor"), 0)?;
    for (id, table) in (0_u32..).zip(&plan.program.tables) {
        let Some((arguments, _)) = plan.tables.get(&id) else { continue };
        let top = arguments.row - TABLE_HEAD;
        let way = match table.between {
            Between::Straight => "a straight line joins neighbouring rows",
            Between::StepFrom => "a row holds from its own argument up to the next",
            Between::StepUpTo => {
                "a row holds above the row before, up to and with its own argument"
            }
        };
        page.part(tab, top, &format!("{}: {way}", table.name), &[], paper)?;
        let (argument, value) = (&table.argument_unit, &table.value_unit);
        let heads = [
            format!("argument{}", in_unit(argument)),
            format!("value{}", in_unit(value)),
            "argument in SI".to_owned(),
            "value in SI".to_owned(),
        ];
        for (column, head) in (0_u16..).zip(heads) {
            tab.write_string_with_format(top + 1, column, head, &paper.side_number)?;
        }
        for (column, unit) in [(0, argument), (1, value)] {
            factor_and_zero(tab, top + 2, column, unit, paper)?;
        }
        tab.write_string_with_format(top + 2, 2, "factors of the units", &paper.aside)?;
        tab.write_string_with_format(top + 3, 2, "zeros of the units", &paper.aside)?;
        for (at, (x, y)) in (0_u32..).zip(&table.rows) {
            let row = arguments.row + at;
            entry(tab, row, top, (0, 2), x, argument, paper)?;
            entry(tab, row, top, (1, 3), y, value, paper)?;
        }
    }
    for (which, home) in &plan.decades {
        let series = crate::number::series(*which);
        let text = format!(
            "{}: one decade of the preferred numbers, closed by ten; {}",
            series.name,
            source(series.name)
        );
        page.part(tab, home.row - 1, &text, &[], paper)?;
        let numbers = series.hundredths.iter().copied().chain([1000]);
        for (row, number) in (home.row..).zip(numbers) {
            tab.write_number_with_format(row, 0, f64::from(number) / 100.0, &paper.number)?;
        }
    }
    page.set(tab)?;
    tab.set_freeze_panes(FIRST - 2, 0)?;
    Ok(())
}

fn source(series: &str) -> &'static str {
    if series.starts_with('E') { "IEC 60063" } else { "ISO 3" }
}

fn in_unit(unit: &Unit) -> String {
    if unit.symbol.is_empty() { String::new() } else { format!(" in {}", unit.symbol) }
}

fn factor_and_zero(
    tab: &mut Worksheet,
    row: u32,
    column: u16,
    unit: &Unit,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let text = factor(unit.factor).text;
    let formula = text.contains(['*', '/', '(']).then_some(text.as_str());
    put(tab, (row, column), formula, &Shown::Number(unit.factor.as_f64()), &paper.side_number)?;
    let zero = unit.zero.to_string().parse().unwrap_or(0.0);
    put(tab, (row + 1, column), None, &Shown::Number(zero), &paper.side_number)
}

fn entry(
    tab: &mut Worksheet,
    row: u32,
    top: u32,
    (given, si): (u16, u16),
    literal: &Literal,
    unit: &Unit,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let number: f64 = format!("{}e{}", literal.digits, literal.ten).parse().unwrap_or(f64::NAN);
    let value = Shown::Number(literal.si_f64());
    if literal.unit.factor != unit.factor || literal.unit.zero != unit.zero {
        // a row with a unit of its own stands in SI alone
        return put(tab, (row, si), None, &value, &paper.number);
    }
    put(tab, (row, given), None, &Shown::Number(number), &paper.number)?;
    let letter = if given == 0 { 'A' } else { 'B' };
    let text = format!("({letter}{}+{letter}${})*{letter}${}", row + 1, top + 4, top + 3);
    put(tab, (row, si), Some(&text), &value, &paper.number)
}
