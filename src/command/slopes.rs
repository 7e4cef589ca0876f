//! `standstill run --slopes`: the sensitivities of each result.

use super::chosen::Chosen;
use super::print::Terminal;
use crate::calculation::Sensitivities;
use crate::report::{self, SENSITIVITY, text};

/// The sensitivities as a person reads them; of the named results, or of all.
pub(super) fn report(found: &Sensitivities, chosen: Chosen<'_>, terminal: &mut Terminal) {
    let program = found.nominal().program();
    terminal.lines(report::heading(program));
    terminal.lines(text::wrapped(SENSITIVITY, 100));
    super::run::open_checks(found.nominal(), terminal);
    for output in program.outputs.iter().filter(|output| chosen.has(output)) {
        if let Some(table) = report::sensitivities_table(found, output, true) {
            terminal.lines(text::table(&table));
        }
    }
    terminal.closing([&**program]);
}
