//! The worst case in a review: how far each result goes within the tolerances, and what becomes of the checks.

use super::document::Calculation;
use super::lines::{row_head, tied};
use super::markup::escaped;
use crate::calculation::{Results, Worst, WorstCheck, WorstVerdict, show};

/// One result and how far it goes, in words.
pub(super) struct Row {
    pub(super) name: String,
    pub(super) given: String,
    pub(super) low: String,
    pub(super) high: String,
    /// The corner of the end that lies farther away.
    pub(super) corner: String,
}

/// The worst case of a calculation in words.
pub(super) struct Told {
    /// The tolerances that it is about.
    pub(super) tolerances: Vec<String>,
    /// The results that move.
    pub(super) rows: Vec<Row>,
    /// How many results do not move.
    pub(super) still: usize,
    /// Checks that are not proved to hold.
    pub(super) open: Vec<String>,
    /// How many checks are proved.
    pub(super) proved: usize,
}

/// Works it out; none where no input has a tolerance.
pub(super) fn told(results: &Results) -> Option<Told> {
    if !results.inputs().any_spread() {
        return None;
    }
    let program = results.program();
    // a corner without results is refused by `--worst`, and told there in full
    let worst = match Worst::work_out(program, results.inputs()) {
        Ok(worst) => worst,
        Err(problems) => {
            let open = problems.iter().map(|problem| problem.headline.clone()).collect();
            return Some(Told {
                tolerances: tolerances(results),
                rows: Vec::new(),
                still: 0,
                open,
                proved: 0,
            });
        }
    };
    let mut rows = Vec::new();
    let mut still = 0;
    for range in worst.ranges() {
        let Some(output) = program.outputs.get(range.output) else { continue };
        if range.low.reached == range.high.reached
            && range.low.limit.is_none()
            && range.high.limit.is_none()
        {
            still += 1;
            continue;
        }
        let nominal = range.nominal.to_f64();
        let up = range.high.reached.to_f64() - nominal;
        let down = nominal - range.low.reached.to_f64();
        let element = range.element.map_or_else(String::new, |at| format!("[{}]", at + 1));
        rows.push(Row {
            name: format!("{}{element}", output.name),
            given: show(&range.nominal, &output.unit),
            low: range.low.in_words(output, false),
            high: range.high.in_words(output, true),
            corner: if up >= down { range.high.corner.clone() } else { range.low.corner.clone() },
        });
    }
    let open: Vec<String> = worst
        .checks()
        .iter()
        .filter(|check| check.verdict != WorstVerdict::Holds)
        .map(in_words)
        .collect();
    Some(Told {
        tolerances: tolerances(results),
        rows,
        still,
        proved: worst.checks().len() - open.len(),
        open,
    })
}

fn in_words(check: &WorstCheck) -> String {
    let verdict = match check.verdict {
        WorstVerdict::Holds => "holds",
        WorstVerdict::MayFail => "may fail",
        WorstVerdict::NotProved => "is not proved",
        WorstVerdict::Fails => "FAILS as given",
    };
    let margin = check
        .least_margin
        .as_ref()
        .map_or_else(String::new, |left| format!(", least margin {left}"));
    let corner =
        if check.corner.is_empty() { String::new() } else { format!(", at {}", check.corner) };
    format!("{}: {verdict}{margin}{corner}", check.text)
}

/// The inputs that have a tolerance, each with its ends.
pub(super) fn tolerances(results: &Results) -> Vec<String> {
    let inputs = results.program().inputs.iter();
    inputs
        .filter_map(|input| Some(format!("{} {}", input.name, tolerance(results, input)?)))
        .collect()
}

/// From where to where an input may lie, in words.
pub(super) fn tolerance(results: &Results, input: &crate::program::Input) -> Option<String> {
    let spread = results.inputs().spread(input)?;
    let word = |literal: &crate::unit::Literal| {
        // ends that come from another calculation stand in coherent units
        let unit = if literal.unit.symbol.is_empty() { &input.unit } else { &literal.unit };
        crate::number::Exact::from_literal(literal)
            .map_or_else(|trouble| trouble.words, |value| show(&value, unit))
    };
    let all: Vec<String> = spread
        .ends
        .iter()
        .map(|(low, high)| format!("from {} to {}", word(low), word(high)))
        .collect();
    Some(all.join("; "))
}

/// The words of a check that holds in no proof.
pub(super) const NOT_PROVED: &str = "NOT PROVED";

/// What becomes of the checks within the tolerances, for running text.
pub(super) fn verdict_in_words(results: &Results) -> String {
    let Some(told) = told(results) else { return "no input has a tolerance".to_owned() };
    match (told.proved, told.open.as_slice()) {
        (0, []) => "nothing is checked".to_owned(),
        (1, []) => "the check is proved to hold within the tolerances".to_owned(),
        (all, []) => format!("all {all} checks are proved to hold within the tolerances"),
        (proved, open) => {
            let all = proved + open.len();
            format!(
                "{} of {all} {NOT_PROVED} within the tolerances: {}",
                open.len(),
                open.join("; ")
            )
        }
    }
}

/// What is said where an input takes its range from another calculation: what both hang on, or two such
/// inputs, is not known to be the same; none where no such input has a range, or it is the only one that has.
pub(super) fn handed_on(calculation: &Calculation) -> Option<String> {
    let results = &calculation.results;
    let mut inputs: Vec<&str> = Vec::new();
    let mut others: Vec<&str> = Vec::new();
    for link in &calculation.links {
        let input = results.program().inputs.get(link.input)?;
        if results.inputs().spread(input).is_none() {
            continue;
        }
        inputs.push(&input.name);
        for (_, origin) in &link.from {
            if !others.contains(&origin.alias.as_str()) {
                others.push(&origin.alias);
            }
        }
    }
    let all = results.program().inputs.iter();
    if all.filter(|input| results.inputs().spread(input).is_some()).count() < 2 {
        return None;
    }
    let (verb, ranges) = match inputs.len() {
        0 => return None,
        1 => ("takes its range", "a range of its own"),
        _ => ("take their ranges", "ranges of their own"),
    };
    Some(format!(
        "{} {verb} from the worst case of {}, as {ranges}. A cause that these ranges share with one another or with other inputs counts in each as if it came alone: the worst case here may be wider than what can happen, on the safe side.",
        listed(&inputs),
        listed(&others)
    ))
}

/// Names in a row: `a`, `a and b`, `a, b and c`.
fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}

/// The same as a part of the page.
pub(super) fn handed_on_here(calculation: &Calculation) -> String {
    handed_on(calculation)
        .map_or_else(String::new, |words| format!("<p class=\"rest ho\">{}</p>", escaped(&words)))
}

/// As a part of the page.
pub(super) fn section(results: &Results) -> String {
    let Some(told) = told(results) else {
        return "<h4>Worst case</h4><p>No input of this calculation has a tolerance.</p>"
            .to_owned();
    };
    let list: Vec<String> = told.tolerances.iter().map(|text| tied_words(text)).collect();
    let rows: String = told
        .rows
        .iter()
        .map(|row| {
            format!(
                "<tr>{}<td class=\"q\">{}</td><td class=\"q\">{}</td><td class=\"q\">{}</td><td>{}</td></tr>",
                row_head(&row.name), tied(&row.low), tied(&row.given), tied(&row.high), tied_words(&row.corner)
            )
        })
        .collect();
    let table = if rows.is_empty() {
        String::new()
    } else {
        format!(
            "<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"worst case\"><table class=\"ws\"><thead><tr><th scope=\"col\">result</th><th scope=\"col\" class=\"q\">least</th><th scope=\"col\" class=\"q\">as given</th><th scope=\"col\" class=\"q\">most</th><th scope=\"col\">the farther end is reached at</th></tr></thead><tbody>{rows}</tbody></table></div>"
        )
    };
    let still = match told.still {
        0 => String::new(),
        1 => " One further result does not move.".to_owned(),
        many => format!(" {many} further results do not move."),
    };
    let open: String = told.open.iter().map(|text| format!("<li>{}</li>", escaped(text))).collect();
    let open = if told.proved + told.open.len() == 0 {
        String::new()
    } else if open.is_empty() {
        format!(
            "<p>Every check holds ({} of them), proved for everything within the tolerances.</p>",
            told.proved
        )
    } else {
        format!(
            "<p>{} checks are proved to hold for everything within the tolerances; these are not:</p><ul>{open}</ul>",
            told.proved
        )
    };
    format!(
        "<h4>Worst case</h4><p class=\"orig\">This part stands for the inputs as they were made: a trial does not work it out again.</p><p>Every input anywhere within its tolerance: {}.{still}</p>{table}{open}",
        list.join("; ")
    )
}

/// Words in which numbers stay with their units.
fn tied_words(text: &str) -> String {
    let mut to = String::new();
    let mut before = ' ';
    let signs: Vec<char> = text.chars().collect();
    for (at, sign) in signs.iter().enumerate() {
        let next = signs.get(at + 1).copied().unwrap_or(' ');
        let tied = *sign == ' '
            && (before.is_ascii_digit() && !next.is_ascii_lowercase()
                || next == '='
                || before == '=');
        to.push(if tied { '\u{a0}' } else { *sign });
        before = *sign;
    }
    escaped(&to)
}
