//! Settings: as measured, as read back, as the calculation takes them.

use super::finding::{Finding, caution, counted, finding, named};
use super::measure::{Measured, digits};
use super::protocol::Protocol;
use super::stop::Stop;

pub(super) fn settings(protocol: &Protocol) -> Vec<Finding> {
    let plan = &protocol.plan;
    let mut found = Vec::new();
    let mut look =
        |what: &str, set: &super::plan::Value, share: f64, values: Vec<(&Stop, Measured)>| {
            let off: Vec<&Stop> = values
                .iter()
                .filter(|(_, it)| (it.value - set.si).abs() > share * set.si + it.u)
                .map(|it| it.0)
                .collect();
            let measured: Vec<Measured> = values.iter().map(|it| it.1).collect();
            let Some(range) = range(&measured) else {
                found.push(caution(
                    &format!("{what} as it was set"),
                    format!("{} was set, and no stop shows it", set.written),
                    "record what shows it, or look at it another way",
                ));
                return;
            };
            let detail = format!(
                "set {}, measured {} ms to {} ms in {}",
                set.written,
                digits(range.0 * 1e3, 5),
                digits(range.1 * 1e3, 5),
                counted(values.len())
            );
            let detail = if off.is_empty() {
                detail
            } else {
                format!("{detail}; beyond its tolerance: {}", named(&off))
            };
            found.push(finding(
                off.is_empty(),
                &format!("{what} as it was set"),
                detail,
                "read the setting back, find the cause, and measure again",
            ));
        };
    if let (Some(set), Some(reference), Some(share)) = (&plan.t_ramp, &plan.n_ref, &plan.tol_ramp) {
        let values =
            protocol.stops().filter_map(|stop| Some((stop, ramp_time(stop, reference.si)?)));
        look("the ramp time is", set, share.si, values.collect());
    }
    if let (Some(set), Some(share)) = (&plan.t_delay, &plan.tol_delay) {
        let values = protocol.stops().filter_map(|stop| Some((stop, stop.delay?)));
        look("the delay is", set, share.si, values.collect());
    }
    found
}

/// The ramp time of a stop, for the speed that the drive's setting refers to.
pub(super) fn ramp_time(stop: &Stop, reference: f64) -> Option<Measured> {
    let slope = stop.slope?;
    let value = reference / slope.value;
    Some(Measured { value, u: value * slope.u / slope.value })
}

fn range(values: &[Measured]) -> Option<(f64, f64)> {
    let low = values.iter().map(|it| it.value).fold(f64::INFINITY, f64::min);
    let high = values.iter().map(|it| it.value).fold(f64::NEG_INFINITY, f64::max);
    (low <= high).then_some((low, high))
}
