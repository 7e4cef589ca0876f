//! The sensitivities of a report: what a result changes by when one input is changed a little.

use serde_json::{Value, json};

use super::table::{Column, Table};
use super::{Release, calculated, checks, checks_json};
use crate::calculation::{Change, Sensitivities, Sensitivity, Step, difference, show};
use crate::number::Exact;
use crate::program::{Direction, Output, Program, Type};
use crate::unit::Unit;

/// What the sensitivities are, in plain words.
pub const SENSITIVITY: &str = "change for +1 %: what a second calculation gives with 1 % more of an input (1 K more of a temperature), \
all else standing still; an input that is 0 has no percentage and is changed by what stands beside it. Where a result \
moves in steps or bends, its slope without the steps stands beside it";

/// Columns of the longest bar.
const LONGEST: f64 = 24.0;

/// Below this share of the strongest an input is not shown.
const FAINT: f64 = 1e-3;

/// Significant digits of a change.
const DIGITS: u32 = 4;

const COLUMNS: &[Column] = &[
    Column::words("input"),
    Column::figures("change for +1 %"),
    Column::words("without steps"),
    Column::words("bar"),
];

/// The sensitivities of one result, the strongest first; none for what is not one number. In plain text a bar
/// stands beside each.
#[must_use]
pub fn sensitivities_table(found: &Sensitivities, output: &Output, bars: bool) -> Option<Table> {
    if !matches!(output.type_, Type::Number { series: false, .. }) {
        return None;
    }
    let title = format!("{} = {}", output.name, found.nominal().to_text(output));
    let columns = if bars { COLUMNS } else { COLUMNS.get(..3).unwrap_or(COLUMNS) };
    let mut table = Table { title, columns, ..Table::default() };
    if found.nominal().never(output).is_some() {
        return Some(table);
    }
    let (rows, faint) = influences(found, output);
    if rows.is_empty() {
        table.notes.push(UNMOVED.to_owned());
        return Some(table);
    }
    let row = |it: Influence| {
        let mut row = vec![it.name, it.change, it.without_steps];
        row.extend(it.share.map(bar));
        row
    };
    table.rows = rows.into_iter().map(row).collect();
    if !faint.is_empty() {
        table.notes.push(format!("less than a thousandth of the strongest: {}", faint.join(", ")));
    }
    Some(table)
}

/// Said where there is nothing to show.
pub(crate) const UNMOVED: &str = "no input moves it here, by 1 % or by its slope";

/// What one input does to one result, in the words of every report.
pub(crate) struct Influence {
    /// The input.
    pub(crate) name: String,
    /// As a share of the strongest; none where the input is 0 now, which has no percentage.
    pub(crate) share: Option<f64>,
    /// What a second calculation gives.
    pub(crate) change: String,
    /// The slope without steps; empty where it says the same.
    pub(crate) without_steps: String,
}

/// Every input that moves a result, the strongest first, then those that are 0; with the names of the faint ones.
pub(crate) fn influences<'a>(
    found: &'a Sensitivities,
    output: &'a Output,
) -> (Vec<Influence>, Vec<&'a str>) {
    let (at_zero, all): (Vec<&Change>, Vec<&Change>) =
        found.changes_of(&output.name).partition(|it| matches!(it.step, Step::One(_)));
    let strongest = all.iter().map(|it| size(it)).fold(0.0, f64::max);
    let (shown, faint): (Vec<&Change>, Vec<&Change>) =
        all.into_iter().partition(|it| size(it) >= FAINT * strongest);
    let influence = |it: &Change, share: Option<f64>, more: &str| Influence {
        name: it.name.clone(),
        share,
        change: changed(it, output) + more,
        without_steps: without_steps(it, output),
    };
    let shown =
        shown.iter().map(|it| influence(it, Some(it.change.unwrap_or(it.smooth) / strongest), ""));
    let at_zero = at_zero
        .iter()
        .map(|it| influence(it, None, &format!(" for {}, now 0", step_text(&it.step))));
    (shown.chain(at_zero).collect(), faint.iter().map(|it| it.name.as_str()).collect())
}

fn size(it: &Change) -> f64 {
    it.change.unwrap_or(it.smooth).abs().max(it.smooth.abs())
}

/// What the second calculation gives.
fn changed(it: &Change, output: &Output) -> String {
    it.change.map_or_else(|| "no result".to_owned(), |change| signed(change, output))
}

/// The change along the slope, where roundings stand between.
fn without_steps(it: &Change, output: &Output) -> String {
    let alone = it.change.is_none() || it.differs();
    if alone { signed(it.smooth, output) } else { String::new() }
}

/// A change with its sign and its unit.
fn signed(x: f64, output: &Output) -> String {
    format!("{}{}", if x > 0.0 { "+" } else { "" }, to_text(x, &difference(&output.unit)))
}

fn to_text(x: f64, unit: &Unit) -> String {
    let number = Exact::from_f64(x).and_then(|x| x.in_unit(unit));
    let number = number
        .map_or_else(|fault| fault.words, |x| x.to_decimal_string(DIGITS, Direction::Nearest));
    format!("{number} {}", unit.symbol).trim_end().to_owned()
}

/// A slope with its sign and its unit, or both slopes of a kink.
#[must_use]
pub fn slope_text(it: &Sensitivity, output: &Output) -> String {
    let unit = difference(&output.unit);
    if it.within.width() > 1e-6 * it.change.abs() {
        let [low, high] = [it.within.low, it.within.high].map(|x| to_text(x, &unit));
        return format!("from {low} to {high}: it has a kink or a step here");
    }
    signed(it.change, output)
}

/// A bar to the right for more, to the left for less.
fn bar(share: f64) -> String {
    let longest = LONGEST / 2.0;
    let length = (share.abs().min(1.0) * longest).round();
    let least = usize::from(share != 0.0);
    let count = (0_u16..).take_while(|count| f64::from(*count) < length).count().max(least);
    let blank = (0_u16..).take_while(|count| f64::from(*count) < longest).count();
    if share < 0.0 {
        format!("{}{}|", " ".repeat(blank - count), "=".repeat(count))
    } else {
        format!("{}|{}", " ".repeat(blank), "=".repeat(count))
    }
}

/// What an input is changed by.
#[must_use]
pub fn step_text(step: &Step) -> &str {
    match step {
        Step::Percent => "1 %",
        Step::Kelvin => "1 K",
        Step::One(one) => one.as_str(),
    }
}

/// The sensitivities for a program, of the results that `is_asked` for.
#[must_use]
pub fn sensitivities_json(
    found: &Sensitivities,
    release: &Release,
    is_asked: &dyn Fn(&Output) -> bool,
) -> Value {
    let program = found.nominal().program();
    let changes = program.outputs.iter().filter(|output| is_asked(output)).flat_map(|output| {
        found.changes_of(&output.name).map(|it| change_json(output, it)).collect::<Vec<_>>()
    });
    calculated(
        found.nominal().inputs(),
        Some(found.nominal()),
        json!({
            "holds": release.granted(), "verdict": release.verdict(),
            "checks": checks_json(&checks(found.nominal())),
            "changes": changes.collect::<Vec<_>>(),
            "slopes": found.all().iter().filter(|it| program.outputs.get(it.output).is_some_and(is_asked)).map(|it| slope_json(program, it, "")).collect::<Vec<_>>(),
        }),
    )
}

fn number(x: f64, unit: &Unit) -> Option<f64> {
    Exact::from_f64(x).and_then(|x| x.in_unit(unit)).map(|x| x.to_f64()).ok()
}

/// What a second calculation gives, and what the slope says without roundings.
fn change_json(output: &Output, it: &Change) -> Value {
    let unit = difference(&output.unit);
    json!({
        "result": output.name, "input": it.name, "for": step_text(&it.step), "unit": unit.symbol,
        "change": it.change.and_then(|x| number(x, &unit)), "without_steps": number(it.smooth, &unit),
        "differs": it.differs(),
    })
}

/// One slope, and the variant that it is of, if it is of one.
#[must_use]
pub fn slope_json(program: &Program, it: &Sensitivity, variant: &str) -> Value {
    let Some(output) = program.outputs.get(it.output) else { return Value::Null };
    let unit = difference(&output.unit);
    let value = Exact::from_f64(it.change).ok().map(|change| show(&change, &unit));
    let mut to = json!({
        "result": output.name, "input": it.name, "for": step_text(&it.step), "unit": unit.symbol, "value": value,
        "change": number(it.change, &unit), "low": number(it.within.low, &unit), "high": number(it.within.high, &unit),
    });
    if let (false, Some(object)) = (variant.is_empty(), to.as_object_mut()) {
        object.insert("variant".to_owned(), json!(variant));
    }
    to
}
