//! `standstill run --slopes`: what each result hangs on.

use super::print::{Terminal, wrapped};
use crate::calculation::{Influence, Influences, Step, TRUST, difference, show};
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
    let about = "change of a result for 1 % more of an input (1 K of a temperature), all else standing still; an input \
that is 0 has no percentage and is changed by one of its unit";
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
        let (at_zero, all): (Vec<&Influence>, Vec<&Influence>) =
            found.of(&output.name).partition(|it| matches!(it.step, Step::One(_)));
        let Some(strongest) = all.first().map(|it| it.change.abs()) else {
            let why = if output.rounding.is_empty() {
                "hangs on no input here"
            } else {
                "stands still between its steps"
            };
            if at_zero.is_empty() {
                terminal.say(format!("  {why}"));
            }
            zeros(&at_zero, output, terminal);
            continue;
        };
        let shown: Vec<&&Influence> =
            all.iter().filter(|it| it.change.abs() >= FAINT * strongest).collect();
        let rows: Vec<Vec<String>> = shown
            .iter()
            .map(|it| vec![it.name.clone(), change(it, output), bar(it.change / strongest)])
            .collect();
        terminal.columns(&rows);
        if shown.len() < all.len() {
            let rest: Vec<&str> = all.iter().skip(shown.len()).map(|it| it.name.as_str()).collect();
            terminal.say(format!("  less than a thousandth of the strongest: {}", rest.join(", ")));
        }
        zeros(&at_zero, output, terminal);
    }
    terminal.say("");
    for line in wrapped(TRUST, 100) {
        terminal.say(line);
    }
}

/// Inputs that are zero, each for one of its unit.
fn zeros(at_zero: &[&Influence], output: &Output, terminal: &mut Terminal) {
    let rows: Vec<Vec<String>> = at_zero
        .iter()
        .filter_map(|it| {
            let Step::One(one) = &it.step else { return None };
            Some(vec![it.name.clone(), change(it, output), format!("for {one}, now 0")])
        })
        .collect();
    terminal.columns(&rows);
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
    let count = (0_u16..).take_while(|count| f64::from(*count) < length).count().max(1);
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
        "slopes": found.all().iter().map(|it| one_as_json(program, it, "")).collect::<Vec<_>>(),
    })
}

/// One slope, and the variant that it is of, if it is of one.
pub(super) fn one_as_json(program: &Program, it: &Influence, variant: &str) -> serde_json::Value {
    let Some(output) = program.outputs.get(it.output) else { return serde_json::Value::Null };
    let unit = difference(&output.unit);
    let number =
        |x: f64| Exact::from_f64(x).and_then(|x| x.in_unit(&unit)).map(|x| x.to_f64()).ok();
    let step = match &it.step {
        Step::Percent => "1 %",
        Step::Kelvin => "1 K",
        Step::One(one) => one.as_str(),
    };
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
