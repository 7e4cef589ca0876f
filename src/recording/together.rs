//! What many run-downs say of the machine: its friction, or its inertia.

use super::measure::Measured;
use super::plan::Plan;
use super::stop::Stop;

/// A term of the friction from every run-down, in coherent SI: 0 constant, 1 with the speed, 2 with its square.
pub(super) fn friction<'a>(
    plan: &Plan,
    stops: impl Iterator<Item = &'a Stop>,
    term: usize,
) -> Vec<Measured> {
    let Some(inertia) = &plan.inertia else { return Vec::new() };
    let share = plan.tol_inertia.as_ref().map_or(0.0, |it| it.si);
    let found = stops.filter_map(|stop| stop.run_down?.rates.get(term).copied());
    found
        .map(|rate| {
            let value = rate.value * inertia.si;
            let u = ((rate.u * inertia.si).powi(2) + (share * value).powi(2)).sqrt();
            Measured { value, u }
        })
        .collect()
}

/// The inertia from every run-down that one constant torque brakes.
pub(super) fn inertias<'a>(plan: &Plan, stops: impl Iterator<Item = &'a Stop>) -> Vec<Measured> {
    let Some(torque) = &plan.torque else { return Vec::new() };
    let rates =
        stops.filter_map(|stop| stop.run_down.filter(|it| it.terms == 1)?.rates.first().copied());
    rates
        .map(|rate| {
            let value = torque.si / rate.value;
            Measured { value, u: value * rate.u / rate.value }
        })
        .collect()
}
