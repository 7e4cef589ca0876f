//! What many run-downs say of the machine: its friction, or its inertia.

use super::finding::named;
use super::friction::{Departs, RunDown};
use super::measure::{Measured, digits};
use super::plan::Plan;
use super::stop::Stop;

/// Run-downs that follow no T_0 + b·ω + c·ω², in words: which, and where the worst of them departs. None where all do.
pub(super) fn departing<'a>(stops: impl Iterator<Item = &'a Stop>) -> Option<String> {
    let all: Vec<(&Stop, Departs)> =
        stops.filter_map(|stop| Some((stop, stop.run_down?.departs?))).collect();
    let (worst, it) = all.iter().max_by(|a, b| a.1.by.total_cmp(&b.1.by))?;
    let stops: Vec<&Stop> = all.iter().map(|it| it.0).collect();
    let rpm = std::f64::consts::PI / 30.0;
    let r_min = |speed: f64, count| format!("{} r/min", digits(speed / rpm, count));
    Some(format!(
        "{} no T_0 + b·ω + c·ω²: {}; the worst, {}, is off by {} at {}, of which noise makes {}",
        if stops.len() == 1 {
            "1 run-down follows".to_owned()
        } else {
            format!("{} run-downs follow", stops.len())
        },
        named(&stops),
        worst.place.to_text(),
        r_min(it.by, 2),
        r_min(it.at, 3),
        r_min(it.noise, 2),
    ))
}

/// The run-downs of stops, where all of them follow the law of friction.
fn lawful<'a>(stops: impl Iterator<Item = &'a Stop>) -> Vec<RunDown> {
    let all: Vec<RunDown> = stops.filter_map(|stop| stop.run_down).collect();
    if all.iter().any(|it| it.departs.is_some()) { Vec::new() } else { all }
}

/// A term of the friction from every run-down, in coherent SI: 0 constant, 1 with the speed, 2 with its square.
pub(super) fn friction<'a>(
    plan: &Plan,
    stops: impl Iterator<Item = &'a Stop>,
    term: usize,
) -> Vec<Measured> {
    let Some(inertia) = &plan.inertia else { return Vec::new() };
    let share = plan.tol_inertia.as_ref().map_or(0.0, |it| it.si);
    let found = lawful(stops).into_iter().filter_map(|it| it.rates.get(term).copied());
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
    let one_term = lawful(stops).into_iter().filter(|it| it.terms == 1);
    let rates = one_term.filter_map(|it| it.rates.first().copied());
    rates
        .map(|rate| {
            let value = torque.si / rate.value;
            Measured { value, u: value * rate.u / rate.value }
        })
        .collect()
}
