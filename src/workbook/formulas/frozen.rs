//! Lines that no formula of a cell gives.

use super::express::Express;
use super::plan::{Entry, Holds, Plan, TabOf, short};
use crate::program::LineSource;

/// Names of the lines that stand for these inputs alone, as no formula of a cell gives them.
pub(super) fn frozen(plan: &Plan<'_>) -> Vec<String> {
    let express = Express { plan, tab: TabOf::Working };
    let is_frozen = |entry: &&Entry| match entry.holds {
        Holds::Value(register) => express.formula(register, 0).is_none(),
        _ => false,
    };
    let frozen = plan.entries.iter().filter(is_frozen);
    let lines = frozen.filter_map(|entry| plan.line(entry.line.unwrap_or(entry.of)));
    let mut names: Vec<String> = lines
        .map(|line| match line.says {
            LineSource::Holds(_) => "a check".to_owned(),
            _ => short(&line.name).to_owned(),
        })
        .collect();
    names.dedup();
    names
}
