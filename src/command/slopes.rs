//! `standstill run --slopes`: the sensitivities of each result.

use super::print::Terminal;
use crate::calculation::Influences;
use crate::report::{self, SENSITIVITY, text};

/// The sensitivities as a person reads them; of the named results, or of all.
pub(super) fn report(found: &Influences, of: &[String], terminal: &mut Terminal) {
    let program = found.nominal().program();
    terminal.lines(report::heading(program));
    terminal.lines(text::wrapped(SENSITIVITY, 100));
    super::run::open_checks(found.nominal(), terminal);
    let wanted = |name: &String| of.is_empty() || of.contains(name);
    for output in program.outputs.iter().filter(|output| wanted(&output.name)) {
        if let Some(table) = report::sensitivities_table(found, output, true) {
            terminal.lines(text::table(&table));
        }
    }
    terminal.closing([&**program]);
}
