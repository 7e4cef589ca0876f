//! `standstill run --worst`: nominal and worst case of each result, with the inputs at which it occurs.

use super::print::Terminal;
use crate::calculation::WorstCase;
use crate::report::{self, WorstCaseReport, text};

/// The worst case as a person reads it.
pub(super) fn report(worst: &WorstCase, terminal: &mut Terminal) {
    terminal.opening(worst.nominal().inputs(), Some(worst.nominal()));
    report_briefly(worst, terminal);
    terminal.closing_of([&**worst.nominal().program()], &worst.verdict_text());
}

/// The worst case without what stands before it and what every report says once.
pub(super) fn report_briefly(worst: &WorstCase, terminal: &mut Terminal) {
    let case = WorstCaseReport::of(worst);
    let tables = [Some(case.inputs()), Some(case.results()), case.causes()];
    let checks = report::checks_table(&case.checks, true);
    for table in tables.into_iter().chain([checks]).flatten() {
        terminal.lines(text::table(&table));
    }
}
