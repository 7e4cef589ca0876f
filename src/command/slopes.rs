//! `standstill run --slopes`: what each result hangs on.

use super::print::{Terminal, wrapped};
use crate::calculation::{Change, Influence, Influences, Step, TRUST, difference, show};
use crate::number::Exact;
use crate::program::{Output, Program, Type};
use crate::project::Identity;

/// Columns of the longest bar.
const LONGEST: f64 = 24.0;
/// Below this share of the strongest an input is not shown.
const FAINT: f64 = 1e-3;

/// What each result hangs on, as a person reads it; of the named results, or of all.
pub(super) fn report(found: &Influences, of: &[String], terminal: &mut Terminal) {
    let program = found.nominal().program();
    super::run::heading(program, terminal);
    let about = "change for +1 %: what a second calculation gives with 1 % more of an input (1 K more of a temperature), \
all else standing still; an input that is 0 has no percentage and is changed by one of its unit. Where a result \
moves in steps or bends, its slope without the steps stands beside it";
    for line in wrapped(about, 100) {
        terminal.say(line);
    }
    for output in program.outputs.iter().filter(|output| of.is_empty() || of.contains(&output.name))
    {
        if !matches!(output.type_, Type::Number { series: false, .. }) {
            continue;
        }
        terminal.say("");
        terminal.say(format!("{} = {}", output.name, found.nominal().in_words(output)));
        if found.nominal().never(output).is_some() {
            continue;
        }
        let (at_zero, all): (Vec<&Change>, Vec<&Change>) =
            found.changes_of(&output.name).partition(|it| matches!(it.step, Step::One(_)));
        if all.is_empty() && at_zero.is_empty() {
            terminal.say("  no input moves it here, by 1 % or by its slope");
            continue;
        }
        let strongest = all.iter().map(|it| size(it)).fold(0.0, f64::max);
        let shown: Vec<&&Change> = all.iter().filter(|it| size(it) >= FAINT * strongest).collect();
        let rows: Vec<Vec<String>> = shown
            .iter()
            .map(|it| {
                let share = it.change.unwrap_or(it.smooth) / strongest;
                vec![it.name.clone(), second(it, output), bar(share), without_steps(it, output)]
            })
            .collect();
        terminal.columns(&rows);
        if shown.len() < all.len() {
            let rest: Vec<&str> = all
                .iter()
                .filter(|it| size(it) < FAINT * strongest)
                .map(|it| it.name.as_str())
                .collect();
            terminal.say(format!("  less than a thousandth of the strongest: {}", rest.join(", ")));
        }
        let rows: Vec<Vec<String>> = at_zero
            .iter()
            .filter_map(|it| {
                let Step::One(one) = &it.step else { return None };
                let about = format!("for {one}, now 0");
                Some(vec![it.name.clone(), second(it, output), about, without_steps(it, output)])
            })
            .collect();
        terminal.columns(&rows);
    }
    terminal.say("");
    for line in wrapped(TRUST, 100) {
        terminal.say(line);
    }
}

fn size(it: &Change) -> f64 {
    it.change.unwrap_or(it.smooth).abs().max(it.smooth.abs())
}

/// What the second calculation gives.
fn second(it: &Change, output: &Output) -> String {
    it.change.map_or_else(|| "no result".to_owned(), |change| signed(change, output))
}

/// The change along the slope, where roundings stand between.
fn without_steps(it: &Change, output: &Output) -> String {
    if it.differs() {
        format!("its slope, without steps: {}", signed(it.smooth, output))
    } else {
        String::new()
    }
}

fn signed(x: f64, output: &Output) -> String {
    let unit = difference(&output.unit);
    let words = Exact::from_f64(x).map_or_else(
        |_| "without end".to_owned(),
        |x| {
            x.in_unit(&unit).map_or_else(
                |trouble| trouble.words,
                |x| x.to_decimal_string(4, crate::program::Direction::Nearest),
            )
        },
    );
    let sign = if x > 0.0 { "+" } else { "" };
    format!("{sign}{words} {}", unit.symbol).trim_end().to_owned()
}

pub(super) fn change(it: &Influence, output: &Output) -> String {
    let unit = difference(&output.unit);
    let words = |x: f64| {
        Exact::from_f64(x).map_or_else(
            |_| "without end".to_owned(),
            |x| {
                let number = x.in_unit(&unit).map_or_else(
                    |trouble| trouble.words,
                    |x| x.to_decimal_string(4, crate::program::Direction::Nearest),
                );
                format!("{number} {}", unit.symbol).trim_end().to_owned()
            },
        )
    };
    if it.within.width() > 1e-6 * it.change.abs() {
        return format!(
            "from {} to {}: it has a kink or a step here",
            words(it.within.low),
            words(it.within.high)
        );
    }
    let sign = if it.change > 0.0 { "+" } else { "" };
    format!("{sign}{}", words(it.change))
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

/// The same for a program.
pub(super) fn as_json(found: &Influences) -> serde_json::Value {
    let program = found.nominal().program();
    serde_json::json!({
        "sheet": program.scopes.first().map(|scope| &scope.sheet),
        "sheets": Identity::json_of(program),
        "changes": program.outputs.iter().flat_map(|output| {
            found.changes_of(&output.name).map(|it| second_as_json(output, it)).collect::<Vec<_>>()
        }).collect::<Vec<_>>(),
        "slopes": found.all().iter().map(|it| one_as_json(program, it, "")).collect::<Vec<_>>(),
    })
}

/// What a second calculation gives, and what the slope says without roundings.
fn second_as_json(output: &Output, it: &Change) -> serde_json::Value {
    let unit = difference(&output.unit);
    let number =
        |x: f64| Exact::from_f64(x).and_then(|x| x.in_unit(&unit)).map(|x| x.to_f64()).ok();
    serde_json::json!({
        "result": output.name, "input": it.name, "for": step_in_words(&it.step), "unit": unit.symbol,
        "change": it.change.and_then(number), "without_steps": number(it.smooth), "differs": it.differs(),
    })
}

fn step_in_words(step: &Step) -> &str {
    match step {
        Step::Percent => "1 %",
        Step::Kelvin => "1 K",
        Step::One(one) => one.as_str(),
    }
}

/// One slope, and the variant that it is of, if it is of one.
pub(super) fn one_as_json(program: &Program, it: &Influence, variant: &str) -> serde_json::Value {
    let Some(output) = program.outputs.get(it.output) else { return serde_json::Value::Null };
    let unit = difference(&output.unit);
    let number =
        |x: f64| Exact::from_f64(x).and_then(|x| x.in_unit(&unit)).map(|x| x.to_f64()).ok();
    let step = step_in_words(&it.step);
    let value = Exact::from_f64(it.change).ok().map(|change| show(&change, &unit));
    let mut json = serde_json::json!({
        "result": output.name, "input": it.name, "for": step, "unit": unit.symbol, "value": value,
        "change": number(it.change), "low": number(it.within.low), "high": number(it.within.high),
    });
    if let (false, Some(object)) = (variant.is_empty(), json.as_object_mut()) {
        object.insert("variant".to_owned(), serde_json::json!(variant));
    }
    json
}
