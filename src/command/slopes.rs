//! `standstill run --slopes`: the sensitivities of each result.

use super::chosen::Chosen;
use super::print::Terminal;
use crate::calculation::{Results, Sensitivities};
use crate::report::{self, Release, SENSITIVITY, text};

/// The sensitivities as a person reads them; of the named results, or of all.
pub(super) fn report(
    found: &Sensitivities,
    release: &Release,
    chosen: Chosen<'_>,
    terminal: &mut Terminal,
) {
    let program = found.nominal().program();
    terminal.opening(found.nominal().inputs(), Some(found.nominal()));
    terminal.prose(SENSITIVITY);
    open_checks(found.nominal(), terminal);
    if found.nominal().inputs().any_spread() {
        terminal.paragraph(&format!("over the tolerances: {}", release.verdict()));
    }
    for output in program.outputs.iter().filter(|output| chosen.has(output)) {
        if let Some(table) = report::sensitivities_table(found, output, true) {
            terminal.lines(text::table(&table));
        }
    }
    terminal.closing_of([&**program], release.verdict());
}

/// The checks that do not hold, where a report is about something else.
fn open_checks(results: &Results, terminal: &mut Terminal) {
    let checks = report::checks(results);
    if checks.iter().any(|check| !check.holds()) {
        let table = report::checks_table(&checks, false);
        terminal.lines(table.as_ref().map(text::table).unwrap_or_default());
    }
}
