//! `standstill run --spread N`: percentiles of each result over random draws.

use std::sync::Arc;

use super::chosen::Chosen;
use super::print::{Terminal, bar};
use crate::calculation::{DrawResults, Inputs, Verdict, difference};
use crate::diagnostic::Problems;
use crate::number::Exact;
use crate::program::{Direction, Program};
use crate::report;
use crate::unit::Unit;

/// Shares of the draws whose limits are shown.
const SHARES: &[(f64, &str)] =
    &[(0.01, "1 %"), (0.05, "5 %"), (0.5, "50 %"), (0.95, "95 %"), (0.99, "99 %")];

/// Draws on all cores, with a bar for a person at a terminal.
pub(super) fn draw(
    program: &Arc<Program>,
    inputs: &Inputs,
    count: usize,
    seed: u64,
    quiet: bool,
) -> Result<DrawResults, Problems> {
    let bar = bar(count, "draws", quiet);
    let progress = |done: usize| bar.set_position(u64::try_from(done).unwrap_or(u64::MAX));
    let drawn = DrawResults::compute(program, inputs, count, seed, &progress);
    bar.finish_and_clear();
    drawn
}

/// Percentiles as a person reads them; of the named results, or of all.
pub(super) fn report(drawn: &DrawResults, seed: u64, chosen: Chosen<'_>, terminal: &mut Terminal) {
    let program = drawn.nominal().program();
    terminal.opening(drawn.nominal().inputs(), Some(drawn.nominal()));
    terminal.print(format!(
        "{} draws with seed {seed}; below each value lies the share of the draws in its heading",
        drawn.count
    ));
    terminal.print("");
    let mut rows = vec![["name", "nominal", "mean", "deviation"].map(str::to_owned).to_vec()];
    if let Some(head) = rows.first_mut() {
        head.extend(SHARES.iter().map(|(_, words)| (*words).to_owned()));
    }
    for sample in drawn.samples() {
        let Some(output) = program.outputs.get(sample.output) else { continue };
        if !chosen.has(output) {
            continue;
        }
        let plain = difference(&output.unit);
        let mut row = vec![
            output.name.clone(),
            drawn.nominal().to_text(output),
            words(sample.mean, &output.unit, 6),
            words(sample.deviation, &plain, 3),
        ];
        row.extend(
            SHARES.iter().map(|(share, _)| words(sample.percentile(*share), &output.unit, 6)),
        );
        rows.push(row);
    }
    terminal.columns(&rows);
    let failing: Vec<Vec<String>> = program
        .checks
        .iter()
        .zip(&drawn.failing)
        .filter(|(_, failing)| **failing > 0)
        .map(|(check, failing)| {
            let verdict = if check.caution { Verdict::Caution } else { Verdict::Fails };
            vec![
                verdict.word().to_owned(),
                format!("in {failing} of {} draws", drawn.count - drawn.without),
                check.label(),
            ]
        })
        .collect();
    if !failing.is_empty() {
        terminal.print("");
        terminal.print("checks that fail in some draws");
        terminal.columns(&failing);
    }
    let never = drawn
        .never
        .iter()
        .map(|(words, draws)| vec![format!("in {draws} of {} draws", drawn.count), words.clone()]);
    let never: Vec<Vec<String>> = never.collect();
    if !never.is_empty() {
        terminal.print("");
        terminal
            .print("values that never exist in some draws; the figures above are of the others");
        terminal.columns(&never);
    }
    if drawn.without > 0 {
        terminal.print("");
        terminal.print(format!(
            "{} draws have no results: they leave the range of an input, or a value is outside its domain",
            drawn.without
        ));
    }
    terminal.print("");
    terminal.print("a spread is not a worst case: `--worst` says how far results can go");
    terminal.closing([&**program]);
}

/// Whether no check that is more than a caution fails in any draw, and every draw has its results.
pub(super) fn holds(drawn: &DrawResults) -> bool {
    let checks = &drawn.nominal().program().checks;
    drawn.without == 0
        && drawn.never.is_empty()
        && checks.iter().zip(&drawn.failing).all(|(check, failing)| check.caution || *failing == 0)
}

fn words(x: f64, unit: &Unit, digits: u32) -> String {
    Exact::from_f64(x).and_then(|x| x.in_unit(unit)).map_or_else(
        |_| "none".to_owned(),
        |x| {
            format!("{} {}", x.to_decimal_string(digits, Direction::Nearest), unit.symbol)
                .trim_end()
                .to_owned()
        },
    )
}

/// The same for a program.
pub(super) fn as_json(drawn: &DrawResults, seed: u64, chosen: Chosen<'_>) -> serde_json::Value {
    let program = drawn.nominal().program();
    let parts = serde_json::json!({
        "draws": drawn.count, "seed": seed, "without_results": drawn.without, "never": drawn.never, "holds": holds(drawn),
        "results": drawn.samples().iter().filter_map(|sample| {
            let output = program.outputs.get(sample.output).filter(|output| chosen.has(output))?;
            let number = |x: f64, unit: &Unit| Exact::from_f64(x).and_then(|x| x.in_unit(unit)).map(|x| x.to_f64()).ok();
            Some(serde_json::json!({
                "name": output.name, "unit": output.unit.symbol, "draws": sample.count(),
                "mean": number(sample.mean, &output.unit), "deviation": number(sample.deviation, &difference(&output.unit)),
                "percentiles": SHARES.iter().map(|(share, words)| serde_json::json!({
                    "share": words, "value": number(sample.percentile(*share), &output.unit),
                })).collect::<Vec<_>>(),
            }))
        }).collect::<Vec<_>>(),
        "checks": program.checks.iter().zip(&drawn.failing).map(|(check, failing)| serde_json::json!({
            "text": check.text, "path": check.path, "caution": check.caution, "failing": failing,
        })).collect::<Vec<_>>(),
    });
    report::calculated(drawn.nominal().inputs(), Some(drawn.nominal()), parts)
}
