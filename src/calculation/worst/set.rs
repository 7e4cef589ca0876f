//! A value that is set in the drive stays as it was set, whatever the inputs turn out to be within their
//! tolerances: the worst case is sought with it kept as well as with it following the inputs.

use std::sync::Arc;

use super::{Extreme, Range, WorstCase, WorstCheck};
use crate::calculation::{Results, show};
use crate::number::Slot;
use crate::program::{Op, Output, Program};
use crate::unit::{Literal, Unit};

/// A program in which the settings whose range is not a point are the numbers that were calculated for the nominal
/// values, with these in words; none where there are none.
pub(super) fn kept(nominal: &Results, ranges: &[Range]) -> Option<(Arc<Program>, String)> {
    let program = nominal.program();
    let mut changed = Program::clone(program);
    let mut words = Vec::new();
    let moves = |at: usize| {
        ranges.iter().any(|range| {
            range.output == at && (range.may.is_some() || range.low.reached != range.high.reached)
        })
    };
    for (at, output) in program.outputs.iter().enumerate() {
        if output.setting.is_none() || !moves(at) {
            continue;
        }
        let Some(Slot::One(value)) = nominal.slot(output) else { continue };
        let Some(step) = changed.steps.iter_mut().find(|step| step.to == output.register) else {
            continue;
        };
        let unit = Unit { dimension: output.unit.dimension, ..Unit::one() };
        step.op = Op::Literal(Literal::new(value.mantissa(), value.ten(), unit));
        words.push(format!("{} set to {}", output.name, show(value, &output.unit)));
    }
    (!words.is_empty()).then(|| (Arc::new(changed), words.join(", ")))
}

/// The worse of both in everything.
pub(super) fn worse(following: WorstCase, kept: WorstCase, set: &str) -> WorstCase {
    let WorstCase { nominal, uncertain, mut ranges, mut checks } = following;
    for other in kept.ranges {
        let same =
            |range: &&mut Range| (range.output, range.element) == (other.output, other.element);
        let Some(range) = ranges.iter_mut().find(same) else { continue };
        let output = nominal.program().outputs.get(range.output);
        if output.is_some_and(|output: &Output| output.setting.is_some()) {
            continue;
        }
        if end(&other.low) < end(&range.low) {
            range.low = marked(other.low, set);
        }
        if end(&other.high) > end(&range.high) {
            range.high = marked(other.high, set);
        }
        range.may = range.may.take().or(other.may);
    }
    for mut other in kept.checks {
        let same =
            |check: &&mut WorstCheck| (&check.path, &check.text) == (&other.path, &other.text);
        let found = checks.iter_mut().find(same);
        let worse = found
            .as_ref()
            .is_none_or(|check| (other.verdict, check.rank()) > (check.verdict, other.rank()));
        if !worse {
            continue;
        }
        let gap = if other.corner.is_empty() { "" } else { ", " };
        other.corner.push_str(gap);
        other.corner.push_str(set);
        match found {
            Some(check) => *check = other,
            None => checks.push(other),
        }
    }
    WorstCase { nominal, uncertain, ranges, checks }
}

fn end(extreme: &Extreme) -> f64 {
    extreme.limit.unwrap_or_else(|| extreme.reached.to_f64())
}

fn marked(mut extreme: Extreme, set: &str) -> Extreme {
    let gap = if extreme.corner.is_empty() { "" } else { ", " };
    extreme.corner.push_str(gap);
    extreme.corner.push_str(set);
    extreme
}
