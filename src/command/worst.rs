//! `standstill run --worst`: nominal and worst case of each result, with the corner that causes it.

use super::print::{Terminal, wrapped};
use crate::calculation::{Extreme, Range, TRUST, Worst, WorstVerdict, show, written};
use crate::program::Output;
use crate::project::Identity;

/// The worst case as a person reads it.
pub(super) fn report(worst: &Worst, terminal: &mut Terminal) {
    report_briefly(worst, terminal);
    terminal.say("");
    for line in wrapped(TRUST, 100) {
        terminal.say(line);
    }
}

/// The worst case without what every report says once.
pub(super) fn report_briefly(worst: &Worst, terminal: &mut Terminal) {
    let program = worst.nominal().program();
    super::run::heading(program, terminal);
    terminal.say("");
    if worst.uncertain().is_empty() {
        terminal.say("no input has a tolerance; write one as `350 ms ± 10 ms`");
    } else {
        terminal.say("inputs with a tolerance");
    }
    let rows: Vec<Vec<String>> = worst
        .uncertain()
        .iter()
        .filter_map(|uncertain| {
            let input = program.inputs.get(uncertain.input)?;
            let element =
                uncertain.element.map_or_else(String::new, |element| format!("[{}]", element + 1));
            let ends = format!("from {} to {}", written(&uncertain.low), written(&uncertain.high));
            Some(vec![
                format!("{}{element}", input.name),
                written(&uncertain.value),
                ends,
                input.note.clone(),
            ])
        })
        .collect();
    terminal.columns(&rows);
    terminal.say("");
    terminal.say("results");
    let mut rows = vec![["name", "as given", "lowest", "highest"].map(str::to_owned).to_vec()];
    let mut causes = Vec::new();
    for range in worst.ranges() {
        let Some(output) = program.outputs.get(range.output) else { continue };
        let name = name_of(range, output);
        rows.push(vec![
            name.clone(),
            show(&range.nominal, &output.unit),
            range.low.in_words(output, false),
            range.high.in_words(output, true),
        ]);
        causes.extend(cause(&name, "lowest", &range.low, output));
        causes.extend(cause(&name, "highest", &range.high, output));
        if let Some(fault) = &range.may {
            causes.push(vec![name, "may not exist".to_owned(), fault.words.clone()]);
        }
    }
    for output in &program.outputs {
        if worst.nominal().never(output).is_some() {
            rows.push(vec![output.name.clone(), worst.nominal().in_words(output)]);
        }
    }
    terminal.columns(&rows);
    if !causes.is_empty() {
        terminal.say("");
        terminal.say("what brings them about");
        terminal.columns(&causes);
    }
    checks(worst, terminal);
}

fn name_of(range: &Range, output: &Output) -> String {
    range
        .element
        .map_or_else(|| output.name.clone(), |element| format!("{}[{}]", output.name, element + 1))
}

fn cause(name: &str, which: &str, extreme: &Extreme, output: &Output) -> Option<Vec<String>> {
    if extreme.corner.is_empty() && extreme.limit.is_none() {
        return None;
    }
    let corner = match extreme.limit {
        None => extreme.corner.clone(),
        Some(_) => format!(
            "{} is reached with {}; between the two nothing is proved",
            show(&extreme.reached, &output.unit),
            extreme.corner
        ),
    };
    Some(vec![name.to_owned(), which.to_owned(), corner])
}

fn checks(worst: &Worst, terminal: &mut Terminal) {
    if worst.checks().is_empty() {
        return;
    }
    terminal.say("");
    terminal.say("checks");
    let rows: Vec<Vec<String>> = worst
        .checks()
        .iter()
        .map(|check| {
            let text = if check.path.is_empty() {
                check.text.clone()
            } else {
                format!("{}: {}", check.path, check.text)
            };
            let mut rest = check
                .least_margin
                .as_ref()
                .map_or_else(String::new, |margin| format!("least margin {margin}"));
            if check.verdict != WorstVerdict::Holds && !check.corner.is_empty() {
                rest = format!(
                    "{rest}{}with {}",
                    if rest.is_empty() { "" } else { ", " },
                    check.corner
                );
            }
            vec![word(check.verdict, check.caution).to_owned(), text, rest]
        })
        .collect();
    terminal.columns(&rows);
    if worst.checks().iter().any(|check| check.verdict == WorstVerdict::NotProved) {
        terminal
            .say("  not proved: neither proved nor refuted within the search; treat it as failing");
    }
    for check in worst.checks() {
        if check.verdict != WorstVerdict::Holds && !check.otherwise.is_empty() {
            terminal.say(format!("  {}: {}", check.text, check.otherwise));
        }
    }
}

fn word(verdict: WorstVerdict, caution: bool) -> &'static str {
    match (verdict, caution) {
        (WorstVerdict::Holds, _) => "holds",
        (WorstVerdict::Fails, true) => "look",
        (WorstVerdict::Fails, false) => "FAILS",
        (WorstVerdict::MayFail, _) => "may fail",
        (WorstVerdict::NotProved, _) => "not proved",
    }
}

/// The worst case for a program.
pub(super) fn as_json(worst: &Worst) -> serde_json::Value {
    let program = worst.nominal().program();
    let end = |extreme: &Extreme, output: &Output, upwards: bool| {
        serde_json::json!({
            "reached": show(&extreme.reached, &output.unit),
            "end": extreme.in_words(output, upwards),
            "proved_to_be_reached": extreme.limit.is_none(),
            "corner": extreme.corner,
        })
    };
    serde_json::json!({
        "sheet": program.scopes.first().map(|scope| &scope.sheet),
        "sheets": Identity::json_of(program),
        "holds": worst.holds(),
        "results": worst.ranges().iter().filter_map(|range| {
            let output = program.outputs.get(range.output)?;
            Some(serde_json::json!({
                "name": name_of(range, output),
                "as_given": show(&range.nominal, &output.unit),
                "lowest": end(&range.low, output, false),
                "highest": end(&range.high, output, true),
                "may_not_exist": range.may.as_ref().map(|fault| &fault.words),
            }))
        }).collect::<Vec<_>>(),
        "checks": worst.checks().iter().map(|check| serde_json::json!({
            "verdict": match check.verdict {
                WorstVerdict::Holds => "holds", WorstVerdict::Fails => "fails",
                WorstVerdict::MayFail => "may-fail", WorstVerdict::NotProved => "not-proved",
            },
            "caution": check.caution, "text": check.text, "path": check.path, "otherwise": check.otherwise,
            "least_margin": check.least_margin, "corner": check.corner,
        })).collect::<Vec<_>>(),
        "trust": TRUST,
    })
}
